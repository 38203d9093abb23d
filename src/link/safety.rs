//! Where the flown line comes too near to people and things: said at once, with the place.
//!
//! The line is looked at as it is drawn, and with what an aircraft strays from it ([`STRAY_SIGMAS`]). From people the level
//! distance counts, however high the line is: what falls does not fall straight down, and above a crowd it is *over people*. It
//! reads geometry alone. It finds what the drawing shows, and nothing of what a net, a marshal or a rule would ask for.

use super::finding::{Danger, SafetyFinding, Thing};
use super::flight::Flight;
use super::verdict::order;
use crate::plan::convert;
use crate::plan::document::{Gate, ObstacleShape, Placement, Plan, Seat};
use crate::plan::presets::KEEP_AWAY_M;
use crate::rf::Vec3;
use crate::site::{PlanPoint, Solid};
use crate::units::Metres;

/// How many standard deviations of the line's spread an aircraft may stray: 95 of 100 passes keep within, by each coordinate.
pub const STRAY_SIGMAS: f64 = 2.0;
/// From an aircraft's middle to the tips of its propellers. Common practice, no source: a quadcopter with 5 inch propellers.
pub const AIRCRAFT_RADIUS: Metres = Metres(0.2);
/// Half the width of a person who sits or stands. Common practice, no source.
const PERSON_RADIUS: Metres = Metres(0.3);
/// How far a head reaches above the antennas on it. Common practice, no source.
const HEAD_ABOVE_ANTENNA: Metres = Metres(0.15);
/// Radius of a trunk. Common practice, no source.
const TRUNK_RADIUS: Metres = Metres(0.2);
/// The line is looked at in steps no longer than this.
const STEP: Metres = Metres(0.3);

/// What the line is held against.
struct Held {
    solid: Solid,
    thing: Thing,
    id: String,
    /// How it is called in a sentence.
    called: String,
    /// Who is hurt there, as the end of a sentence; nothing where nobody is.
    people: Option<&'static str>,
}

/// Everything that the flown line comes too near to, the worst first.
pub fn findings(plan: &Plan, flight: &Flight) -> Vec<SafetyFinding> {
    let strays = STRAY_SIGMAS * plan.course.line_sigma_m;
    let reach = strays + AIRCRAFT_RADIUS.0;
    let keep = plan.rules.keep_away_m.unwrap_or(KEEP_AWAY_M);
    let line = Line::of(flight);
    let mut findings = Vec::new();
    for held in &held(plan) {
        let wanted = if held.people.is_some() { reach.max(keep + strays) } else { reach };
        let mut worst: Option<(Danger, f64, usize)> = None;
        for (index, place) in line.places.iter().enumerate() {
            let below = PlanPoint::new(place.x, place.y);
            if !held.solid.may_be_within(&below, Metres(wanted)) {
                continue;
            }
            let level = held.solid.level_distance(&below).0;
            let apart = libm::hypot(level, held.solid.upright_distance(Metres(place.z)).0);
            let found = match held.people {
                Some(_) if apart <= reach => Some((Danger::IntoPeople, apart)),
                Some(_) if level <= reach => Some((Danger::OverPeople, level)),
                Some(_) if level - strays < keep => Some((Danger::NearPeople, level)),
                None if apart <= reach => Some((Danger::IntoObstacle, apart)),
                _ => None,
            };
            let Some((danger, distance)) = found else { continue };
            let is_worse =
                worst.is_none_or(|(known, nearest, _)| danger > known || (danger == known && distance < nearest));
            if is_worse {
                worst = Some((danger, distance, index));
            }
        }
        if let Some((danger, _, index)) = worst {
            findings.push(line.finding(plan, held, danger, index, strays, keep));
        }
    }
    // Within a danger the nearest comes first; no distance is as long as this.
    let rank = |finding: &SafetyFinding| finding.distance_m - 1e9 * f64::from(finding.danger as u8);
    let ranks: Vec<f64> = findings.iter().map(rank).collect();
    order(&ranks).into_iter().map(|index| findings[index].clone()).collect()
}

/// Seats and obstacles of a plan, as solids.
fn held(plan: &Plan) -> Vec<Held> {
    let mut held: Vec<Held> = plan.seats.iter().map(|seat| held_seat(plan, seat)).collect();
    let built = convert::site(&plan.site).obstacles;
    for (item, built) in plan.site.obstacles.iter().zip(&built) {
        let (id, called) = (item.id.clone(), item.name.clone());
        let people = matches!(item.shape, ObstacleShape::Crowd(_)).then_some("people stand there");
        if let ObstacleShape::Tree(tree) = &item.shape {
            let trunk = Solid::post(PlanPoint::from(tree.centre_m), TRUNK_RADIUS, Metres(tree.base_m));
            let called = format!("the trunk of {called}");
            held.push(Held { solid: trunk, thing: Thing::Obstacle, id: id.clone(), called, people: None });
        }
        held.push(Held { solid: Solid::of(built), thing: Thing::Obstacle, id, called, people });
    }
    held
}

/// A seat with whoever sits there. Where nothing but receivers stand, nobody does; a seat without anything may be somebody's.
fn held_seat(plan: &Plan, seat: &Seat) -> Held {
    let here = || plan.receivers.iter().filter(|receiver| receiver.seat == seat.id);
    let is_box = here().next().is_some() && here().all(|receiver| receiver.place == Placement::Standing);
    let pilots: Vec<&str> = plan
        .entries
        .iter()
        .filter(|entry| here().any(|worn| worn.place == Placement::Worn && worn.id == entry.receiver))
        .map(|entry| entry.name.as_str())
        .collect();
    let called = match pilots.as_slice() {
        [] => seat.name.clone(),
        [pilot] => format!("the chair of {pilot}"),
        [before @ .., last] => format!("the chair of {} and {last}", before.join(", ")),
    };
    let at = PlanPoint::new(seat.x_m, seat.y_m);
    Held {
        solid: Solid::post(at, PERSON_RADIUS, Metres(seat.height_m) + HEAD_ABOVE_ANTENNA),
        thing: Thing::Seat,
        id: seat.id.clone(),
        called,
        people: (!is_box).then_some("a person sits there"),
    }
}

/// The drawn line in short steps.
struct Line<'a> {
    flight: &'a Flight,
    places: Vec<Vec3>,
    /// Steps between two samples.
    between: usize,
    /// Length of a step.
    step: f64,
}

impl<'a> Line<'a> {
    fn of(flight: &'a Flight) -> Self {
        let count = flight.places.len();
        let spacing = flight.columns.length_m / count.max(1) as f64;
        let between = ((spacing / STEP.0).ceil() as usize).max(1);
        let mut places = Vec::with_capacity(count * between);
        for sample in 0..count {
            let next = (sample + 1) % count;
            let (from, to) = (flight.places[sample], flight.places[next]);
            // A cubic with the directions of both samples, as long as the way between them.
            let along = |sample: usize| {
                let velocity = flight.velocities[sample];
                velocity * (spacing / velocity.norm().max(1e-9))
            };
            let (out, into) = (along(sample), along(next));
            for part in 0..between {
                let t = part as f64 / between as f64;
                let (square, cube) = (t * t, t * t * t);
                places.push(
                    from * (2.0 * cube - 3.0 * square + 1.0)
                        + out * (cube - 2.0 * square + t)
                        + to * (3.0 * square - 2.0 * cube)
                        + into * (cube - square),
                );
            }
        }
        Self { flight, places, between, step: spacing / between as f64 }
    }

    fn finding(
        &self,
        plan: &Plan,
        held: &Held,
        danger: Danger,
        index: usize,
        strays_m: f64,
        keep_m: f64,
    ) -> SafetyFinding {
        let place = self.places[index];
        let at_m = self.flight.columns.distance_m[index / self.between] + self.step * (index % self.between) as f64;
        let (gate, after_gate_m) =
            nearest_gate(&self.flight.columns.gate_distance_m, self.flight.columns.length_m, at_m);
        let level = held.solid.level_distance(&PlanPoint::new(place.x, place.y)).0;
        let upright = held.solid.upright_distance(Metres(place.z)).0;
        let distance_m = if held.people.is_some() { level } else { libm::hypot(level, upright) };
        let mut finding = SafetyFinding {
            danger,
            thing: held.thing,
            id: held.id.clone(),
            distance_m,
            strays_m,
            x_m: place.x,
            y_m: place.y,
            height_m: place.z,
            at_m,
            gate,
            after_gate_m,
            sentence: String::new(),
        };
        finding.sentence = sentence(&finding, held, &plan.course.gates, keep_m);
        finding
    }
}

/// The gate that is nearest along a closed lap, and how far after it a place is; negative before it.
fn nearest_gate(gates: &[f64], length: f64, at: f64) -> (usize, f64) {
    let after = |gate: f64| {
        let ahead = (at - gate).rem_euclid(length.max(1e-9));
        if ahead > 0.5 * length { ahead - length } else { ahead }
    };
    let offsets = gates.iter().map(|gate| after(*gate)).enumerate();
    offsets.min_by(|(_, one), (_, other)| one.abs().total_cmp(&other.abs())).unwrap_or((0, 0.0))
}

/// A gate by number and name: "gate 4 (Fountain)".
pub fn gate_words(gates: &[Gate], index: usize) -> String {
    let number = index + 1;
    let name = gates.get(index).map_or("", |gate| gate.name.trim());
    let plain = [format!("gate {number}"), number.to_string(), String::new()];
    if plain.contains(&name.to_ascii_lowercase()) {
        format!("gate {number}")
    } else {
        format!("gate {number} ({name})")
    }
}

/// Where along the lap: "3 m after gate 2 (Loft gate)".
fn place_words(finding: &SafetyFinding, gates: &[Gate]) -> String {
    let gate = gate_words(gates, finding.gate);
    match finding.after_gate_m.round() {
        0.0 => format!("at {gate}"),
        after if after > 0.0 => format!("{after:.0} m after {gate}"),
        before => format!("{:.0} m before {gate}", -before),
    }
}

fn sentence(finding: &SafetyFinding, held: &Held, gates: &[Gate], keep_m: f64) -> String {
    let place = place_words(finding, gates);
    let called = &held.called;
    // Rounded down: a distance never reads longer than it is.
    let distance = (10.0 * finding.distance_m).floor() / 10.0;
    let strays = finding.strays_m;
    let who = held.people.unwrap_or_default();
    match finding.danger {
        Danger::IntoPeople if distance > 0.0 => {
            format!("The line passes {distance:.1} m from {called}, {place}: {who}. An aircraft that strays hits them.")
        }
        Danger::IntoPeople => format!("The line runs into {called}, {place}: {who}."),
        Danger::OverPeople => {
            format!(
                "The line passes {:.1} m up over {called}, {place}: {who}. Never fly over people.",
                finding.height_m
            )
        }
        Danger::IntoObstacle if finding.distance_m > 0.0 => format!(
            "The line passes {distance:.1} m from {called}, {place}: an aircraft that strays by {strays:.1} m hits it."
        ),
        Danger::IntoObstacle => format!("The line runs into {called}, {place}."),
        Danger::NearPeople => format!(
            "The line passes {distance:.1} m from {called}, {place}, and may stray by {strays:.1} m: {who}; keep {keep_m} m."
        ),
    }
}

#[cfg(test)]
mod tests;
