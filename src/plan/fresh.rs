//! What a new plan and a new part look like before anybody has measured anything.
//!
//! Sizes are what such things commonly have at fairs and race grounds: common practice, no source.

use super::chair::ROW_M;
use super::channels::first_carriers;
use super::check::{self, PlanProblem};
use super::document::{
    AntennaKind, AntennaKit, BarrierShape, BlockShape, CanopyShape, CoursePlan, CrowdShape, Entry, FIRST_VERSION,
    FORMAT, Feed, Gate, GateFrame, Mounting, Obstacle, ObstacleShape, PacePlan, Pad, Picture, Placement, Plan, Port,
    Purpose, Radio, Receiver, ReceiverNoise, Rules, Seat, SitePlan, StatedHand, Switching, Targets, TreeShape,
    WallShape,
};
use super::edit::{Edit, apply};
use super::layout::{gate_name, heading, next_name, unique_id};
use super::limits;
use super::part::{Part, PlacedPart};
use super::presets::{ANALOGUE_BANDWIDTH, CROWD_DENSITY_PER_M2, crown_losses, typical_thickness};
use super::shape::{hundredths, tenths};
use crate::rf::fading::Surroundings;
use crate::rf::feed::FeedLine;
use crate::rf::material::Material;
use crate::site::PERSON_HEIGHT;
use crate::units::Hertz;

/// Height of a barrier that holds back spectators: common practice, no source.
pub const BARRIER_HEIGHT_M: f64 = 1.1;
/// Share of such a barrier that its bars cover: 14 to 20 mm of bar for every 100 to 120 mm, and the tube around. Common
/// practice, no source.
pub const BARRIER_COVERED_SHARE: f64 = 0.2;

/// A frame of metal tube as gates commonly have it: common practice, no source.
pub const FRAME: GateFrame = GateFrame { opening_m: [1.5, 1.5], tube_m: 0.03 };

/// Kinds of parts that can be put on the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A gate, flown after all others.
    Gate,
    /// A seat.
    Seat,
    /// A wall, fence or board.
    Wall,
    /// A building.
    Building,
    /// A stall or van.
    Stall,
    /// A fabric roof.
    Canopy,
    /// A tree.
    Tree,
    /// An area with people.
    Crowd,
    /// A barrier of steel bars.
    Barrier,
}

impl Kind {
    /// All kinds, commonest first.
    pub const ALL: [Self; 9] = [
        Self::Gate,
        Self::Wall,
        Self::Building,
        Self::Stall,
        Self::Canopy,
        Self::Tree,
        Self::Crowd,
        Self::Barrier,
        Self::Seat,
    ];

    /// Its name, as it starts a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Gate => "Gate",
            Self::Seat => "Seat",
            Self::Wall => "Wall",
            Self::Building => "Building",
            Self::Stall => "Stall",
            Self::Canopy => "Canopy",
            Self::Tree => "Tree",
            Self::Crowd => "Crowd",
            Self::Barrier => "Barrier",
        }
    }

    const fn stem(self) -> &'static str {
        match self {
            Self::Gate => "gate",
            Self::Seat => "seat",
            Self::Wall => "wall",
            Self::Building => "building",
            Self::Stall => "stall",
            Self::Canopy => "canopy",
            Self::Tree => "tree",
            Self::Crowd => "crowd",
            Self::Barrier => "barrier",
        }
    }
}

/// A place of which nothing is known yet but this.
#[derive(Clone, Debug, PartialEq)]
pub struct NewSite {
    /// Name of the plan.
    pub name: String,
    /// Extent to the east, within [`limits::SITE_SIDE_M`].
    pub width_m: f64,
    /// Extent to the north, within [`limits::SITE_SIDE_M`].
    pub depth_m: f64,
    /// The class of the surroundings.
    pub surroundings: Surroundings,
    /// What the ground is made of.
    pub ground: Material,
}

/// The carrier of the first entry of a new plan: the middle of the band that small aircraft commonly use.
const CARRIER: Hertz = Hertz(5.8e9);
/// Power of the first entry of a new plan, 25 mW: what many places allow without a licence. Local rules decide.
const POWER_DBM: f64 = 14.0;

/// A plan of an empty place: two gates on an oval, a start pad, one seat at the south edge with goggles of which nobody
/// knows anything, and one entry that they follow.
///
/// # Errors
/// What of the site is out of range.
pub fn plan(site: &NewSite) -> Result<Plan, PlanProblem> {
    let &NewSite { width_m, depth_m, surroundings, ground, .. } = site;
    let [east, north] = [width_m, depth_m];
    let gate = |index: usize, share: f64, heading_deg| Gate {
        id: format!("gate-{}", index + 1),
        name: gate_name(index),
        x_m: tenths(east / 2.0),
        y_m: tenths(north * share),
        height_m: GATE_HEIGHT_M,
        heading_deg,
        frame: None,
    };
    let (entry, receiver) = first_pilot();
    let made = Plan {
        format: FORMAT.to_owned(),
        version: FIRST_VERSION,
        name: site.name.clone(),
        note: String::new(),
        site: SitePlan {
            width_m,
            depth_m,
            ground,
            roughness_m: 0.01,
            surroundings,
            k_db: None,
            xpr_db: None,
            shadowing_db: None,
            wet: false,
            obstacles: Vec::new(),
        },
        course: CoursePlan {
            gates: vec![gate(0, 0.35, 90.0), gate(1, 0.7, 270.0)],
            pace: PacePlan::Limits { top_speed_m_per_s: 12.0, sideways_m_per_s2: 10.0, forward_m_per_s2: 6.0 },
            drag_per_m: 0.025,
            // On a long strip of a site the first two gates are near each other, and a lap has samples all the same.
            step_m: step(width_m + depth_m).min(0.07 * depth_m),
            line_sigma_m: 0.3,
            pad: Pad { x_m: tenths(east * 0.4), y_m: tenths(north * 0.2), height_m: 0.06, heading_deg: 90.0 },
        },
        seats: vec![first_seat([tenths(east / 2.0), tenths(north * 0.06)])],
        receivers: vec![receiver],
        entries: vec![entry],
        rules: Rules::default(),
        targets: Targets { picture_share: 0.99, wanted_reserve_db: 6.0 },
        seed: 1,
    };
    match check::problems(&made).into_iter().next() {
        Some(problem) => Err(problem),
        None => Ok(made),
    }
}

/// The same for so many pilots, whose chairs stand in a row; each has goggles and a channel of its own.
///
/// # Errors
/// What of the site is out of range, or how many they are.
pub fn plan_for(site: &NewSite, pilots: usize) -> Result<Plan, PlanProblem> {
    let mut made = plan(site)?;
    let carriers = first_carriers(pilots);
    // No wider than the site, and in whole centimetres.
    let apart = hundredths(ROW_M.min(0.9 * site.width_m / pilots.max(1) as f64));
    let (entries, receivers, seats) = (made.entries, made.receivers, made.seats);
    let row = || carriers.iter().enumerate();
    let middle = (pilots as f64 - 1.0) / 2.0;
    let seat = |(index, _): (usize, &f64)| Seat {
        id: format!("seat-{}", index + 1),
        name: format!("Seat {}", index + 1),
        x_m: hundredths(seats[0].x_m + apart * (index as f64 - middle)),
        ..seats[0].clone()
    };
    let receiver = |(index, _): (usize, &f64)| Receiver {
        id: format!("goggles-{}", index + 1),
        name: format!("Goggles {}", index + 1),
        seat: format!("seat-{}", index + 1),
        ..receivers[0].clone()
    };
    let entry = |(index, carrier): (usize, &f64)| Entry {
        id: format!("entry-{}", index + 1),
        name: format!("Entry {}", index + 1),
        receiver: format!("goggles-{}", index + 1),
        channel_hz: *carrier,
        ..entries[0].clone()
    };
    made.seats = row().map(seat).collect();
    made.receivers = row().map(receiver).collect();
    made.entries = row().map(entry).collect();
    match check::problems(&made).into_iter().next() {
        Some(problem) => Err(problem),
        None => Ok(made),
    }
}

/// The first seat of a plan.
pub(super) fn first_seat([x_m, y_m]: [f64; 2]) -> Seat {
    Seat { id: "seat-1".to_owned(), name: "Seat 1".to_owned(), x_m, y_m, height_m: SEAT_HEIGHT_M, facing_deg: 0.0 }
}

/// The first pilot of a plan with goggles, of whose kit nothing is known, at the first seat.
pub(super) fn first_pilot() -> (Entry, Receiver) {
    let feed = || Feed { line: FeedLine::Rg316, length_m: 0.0, connectors: 1 };
    let antenna = |kind| AntennaKit::of_kind(kind, StatedHand::Unknown);
    let port = |kind, aim_up_deg| Port { antenna: antenna(kind), feed: feed(), aim_off_deg: 0.0, aim_up_deg };
    let receiver = Receiver {
        id: "goggles-1".to_owned(),
        name: "Goggles 1".to_owned(),
        seat: "seat-1".to_owned(),
        place: Placement::Worn,
        ports: vec![port(AntennaKind::CircularPatch, 10.0), port(AntennaKind::CircularOmni, 0.0)],
        switching: Switching::Slow,
        picture: Picture::Analogue { bandwidth_hz: ANALOGUE_BANDWIDTH.0, required_cn_db: None },
        noise: ReceiverNoise::NoiseFigure { noise_figure_db: None },
    };
    let entry = Entry {
        id: "entry-1".to_owned(),
        name: "Entry 1".to_owned(),
        receiver: "goggles-1".to_owned(),
        channel_hz: CARRIER.0,
        radios: vec![Radio {
            purpose: Purpose::Video,
            power_dbm: POWER_DBM,
            power_is_measured: false,
            feed: feed(),
            antenna: antenna(AntennaKind::CircularOmni),
            mounting: Mounting { lean_back_deg: 0.0, lean_right_deg: 0.0, frame_loss_db: None },
        }],
    };
    (entry, receiver)
}

/// Height of a gate's centre.
const GATE_HEIGHT_M: f64 = 2.0;
/// Height of the antennas on the head of somebody who sits.
const SEAT_HEIGHT_M: f64 = 1.25;

/// Distance of the samples on a site whose sides sum to so much. A lap of ten times as much still keeps within
/// [`limits::LAP_SAMPLES`].
fn step(sides_m: f64) -> f64 {
    (sides_m / 400.0).clamp(0.25, limits::STEP_M.max)
}

/// A new part of a kind. With one place it stands there in its usual size; with two, a wall runs from the one to the
/// other, what is rectangular has them as corners, a crown reaches from the one to the other, and a gate or a seat looks
/// from the one to the other. Coordinates are held within where the kind may stand.
pub fn part(plan: &Plan, kind: Kind, place_m: [f64; 2], other_m: Option<[f64; 2]>) -> PlacedPart {
    let sides = [plan.site.width_m, plan.site.depth_m];
    let beyond = if matches!(kind, Kind::Gate | Kind::Seat) { 0.0 } else { limits::OBSTACLE_BEYOND_M };
    let held = |place: [f64; 2]| [0, 1].map(|axis| hundredths(place[axis].clamp(-beyond, sides[axis] + beyond)));
    let (place, other) = (held(place_m), other_m.map(held));
    match kind {
        Kind::Gate => {
            let gates = &plan.course.gates;
            let looks = other.and_then(|other| heading(place, other)).or_else(|| {
                // On the way from the gate before to the first one.
                let [last, first] = [gates.last()?, gates.first()?].map(|gate| [gate.x_m, gate.y_m]);
                heading(last, first)
            });
            let gate = Gate {
                id: unique_id(gates.iter().map(|gate| gate.id.as_str()), kind.stem()),
                name: gate_name(gates.len()),
                x_m: place[0],
                y_m: place[1],
                height_m: gates.last().map_or(GATE_HEIGHT_M, |last| last.height_m),
                heading_deg: looks.unwrap_or(0.0),
                frame: gates.last().and_then(|last| last.frame.clone()),
            };
            PlacedPart::Gate(gates.len(), gate)
        }
        Kind::Seat => {
            // Toward the middle of the site, where the course is.
            let looks = heading(place, other.unwrap_or(sides.map(|side| side / 2.0)));
            let seat = Seat {
                id: unique_id(plan.seats.iter().map(|seat| seat.id.as_str()), kind.stem()),
                name: next_name(plan.seats.iter().map(|seat| seat.name.as_str()), kind.name()),
                x_m: place[0],
                y_m: place[1],
                height_m: SEAT_HEIGHT_M,
                facing_deg: looks.unwrap_or(0.0),
            };
            PlacedPart::Seat(plan.seats.len(), seat)
        }
        _ => {
            let obstacles = &plan.site.obstacles;
            let obstacle = Obstacle {
                id: unique_id(obstacles.iter().map(|obstacle| obstacle.id.as_str()), kind.stem()),
                name: next_name(obstacles.iter().map(|obstacle| obstacle.name.as_str()), kind.name()),
                shape: shape(kind, place, other, sides),
            };
            PlacedPart::Obstacle(obstacles.len(), obstacle)
        }
    }
}

/// A new part of a kind as near to a place as it may stand by itself: not on the middle of another part, and where nothing
/// is wrong with the plan for it. At that very place where there is none.
pub fn part_near(plan: &Plan, kind: Kind, place_m: [f64; 2]) -> PlacedPart {
    let taken: Vec<[f64; 2]> =
        Part::all(plan).into_iter().filter_map(|part| Some(PlacedPart::of(plan, part)?.pose().place_m)).collect();
    let sides = [plan.site.width_m, plan.site.depth_m];
    let rings = (0..12).flat_map(|ring: i32| {
        let around = (-ring..=ring).flat_map(move |east| (-ring..=ring).map(move |north| [east, north]));
        around.filter(move |[east, north]| east.abs().max(north.abs()) == ring)
    });
    let places = rings.map(|steps| [0, 1].map(|axis| place_m[axis] + f64::from(steps[axis])));
    let is_apart = |place: &[f64; 2]| {
        let is_on_site = (0..2).all(|axis| (0.0..=sides[axis]).contains(&place[axis]));
        let apart = |other: &[f64; 2]| libm::hypot(other[0] - place[0], other[1] - place[1]) > 0.9;
        is_on_site && taken.iter().all(apart)
    };
    let mut parts = places.filter(is_apart).map(|place| part(plan, kind, place, None));
    let found = parts.find(|new| apply(plan, &Edit::Add(new.clone())).is_ok());
    found.unwrap_or_else(|| part(plan, kind, place_m, None))
}

/// The shape of a new obstacle of a kind; kinds that are no obstacles count as walls.
fn shape(kind: Kind, place: [f64; 2], other: Option<[f64; 2]>, sides: [f64; 2]) -> ObstacleShape {
    // No larger than fits a small yard.
    let usual = |size: [f64; 2]| [0, 1].map(|axis| tenths(size[axis].min(sides[axis] * 0.4)));
    let rectangle = |size: [f64; 2]| match other {
        None => (place, usual(size)),
        Some(other) => (
            [0, 1].map(|axis| hundredths((place[axis] + other[axis]) / 2.0)),
            [0, 1].map(|axis| side(other[axis] - place[axis])),
        ),
    };
    let ends = |length: f64| match other {
        Some(other) => (place, other),
        None => {
            let half = usual([length; 2])[0] / 2.0;
            ([place[0] - half, place[1]], [place[0] + half, place[1]])
        }
    };
    let block = |size, height_m, material| {
        let (centre_m, size_m) = rectangle(size);
        let thickness_m = typical_thickness(material).value;
        BlockShape { centre_m, size_m, turn_deg: 0.0, height_m, thickness_m, material }
    };
    match kind {
        Kind::Building => ObstacleShape::Building(block([8.0, 5.0], 6.0, Material::Brick)),
        Kind::Stall => ObstacleShape::Stall(block([3.0, 2.4], 2.1, Material::Plywood)),
        Kind::Canopy => {
            let (centre_m, size_m) = rectangle([3.0, 3.0]);
            ObstacleShape::Canopy(CanopyShape { centre_m, size_m, turn_deg: 0.0, base_m: 2.1, height_m: 3.0 })
        }
        Kind::Tree => {
            let reach = other.map(|other| libm::hypot(other[0] - place[0], other[1] - place[1]));
            let range = limits::CROWN_RADIUS_M;
            ObstacleShape::Tree(TreeShape {
                centre_m: place,
                radius_m: hundredths(reach.unwrap_or(2.0).clamp(range.min, range.max)),
                base_m: 2.0,
                height_m: 7.0,
                loss_db_per_m: hundredths(crown_losses(CARRIER)[1].value),
            })
        }
        Kind::Crowd => {
            let (centre_m, size_m) = rectangle([6.0, 3.0]);
            ObstacleShape::Crowd(CrowdShape {
                centre_m,
                size_m,
                turn_deg: 0.0,
                head_height_m: PERSON_HEIGHT.0,
                density_per_m2: CROWD_DENSITY_PER_M2[1].value,
            })
        }
        Kind::Barrier => {
            let (from_m, to_m) = ends(2.5);
            ObstacleShape::Barrier(BarrierShape {
                from_m,
                to_m,
                height_m: BARRIER_HEIGHT_M,
                covered_share: BARRIER_COVERED_SHARE,
            })
        }
        Kind::Wall | Kind::Gate | Kind::Seat => {
            let (from_m, to_m) = ends(4.0);
            let material = Material::Wood;
            let thickness_m = typical_thickness(material).value;
            ObstacleShape::Wall(WallShape { from_m, to_m, height_m: 2.0, thickness_m, material })
        }
    }
}

fn side(length: f64) -> f64 {
    hundredths(length.abs()).max(limits::OBSTACLE_SIDE_M.min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::load;

    fn site(width_m: f64, depth_m: f64) -> NewSite {
        let (surroundings, ground) = (Surroundings::OpenField, Material::MediumDryGround);
        NewSite { name: "Yard".into(), width_m, depth_m, surroundings, ground }
    }

    #[test]
    fn a_new_plan_of_any_allowed_size_can_be_computed_and_kept() {
        let range = limits::SITE_SIDE_M;
        for sides in [[range.min, range.min], [range.max, range.max], [range.min, range.max], [30.0, 20.0]] {
            let made = plan(&site(sides[0], sides[1])).unwrap_or_else(|problem| panic!("{sides:?}: {problem}"));
            assert_eq!(load::load(&load::save(&made)), Ok(made.clone()));
            assert!(made.site.obstacles.is_empty());
            assert_eq!((made.entries.len(), made.receivers.len(), made.seats.len()), (1, 1, 1));
        }
        assert_eq!(plan(&site(range.min.next_down(), 20.0)).unwrap_err().path, "site.width_m");
        assert_eq!(plan(&site(20.0, f64::NAN)).unwrap_err().path, "site.depth_m");
        assert_eq!(plan(&NewSite { name: String::new(), ..site(20.0, 20.0) }).unwrap_err().path, "name");
    }

    #[test]
    fn a_new_plan_has_as_many_pilots_as_were_said_each_with_what_they_need() {
        let range = limits::SITE_SIDE_M;
        for sides in [[range.min, range.min], [30.0, 20.0], [range.max, range.min]] {
            assert_eq!(plan_for(&site(sides[0], sides[1]), 1), plan(&site(sides[0], sides[1])));
            for pilots in 0..=limits::ENTRIES.max {
                let made = plan_for(&site(sides[0], sides[1]), pilots).unwrap_or_else(|why| panic!("{why}"));
                assert_eq!((made.entries.len(), made.receivers.len(), made.seats.len()), (pilots, pilots, pilots));
                assert_eq!(load::load(&load::save(&made)), Ok(made));
            }
        }
        assert_eq!(plan_for(&site(30.0, 20.0), limits::ENTRIES.max + 1).unwrap_err().path, "receivers");
    }

    #[test]
    fn a_part_stands_where_it_was_put() {
        let empty = plan(&site(30.0, 20.0)).unwrap();
        for kind in Kind::ALL {
            for other in [None, Some([9.0, 7.5])] {
                let new = part(&empty, kind, [6.0, 5.5], other);
                let changed = apply(&empty, &Edit::Add(new.clone())).unwrap_or_else(|problem| panic!("{problem}"));
                let place = new.pose().place_m;
                let stays = other.is_none() || matches!(kind, Kind::Gate | Kind::Seat | Kind::Tree);
                assert_eq!(place, if stays { [6.0, 5.5] } else { [7.5, 6.5] }, "{kind:?}");
                assert_ne!(changed, empty);
            }
        }
    }

    #[test]
    fn parts_that_are_added_at_one_place_stand_side_by_side() {
        let mut yard = plan(&site(30.0, 20.0)).unwrap();
        for round in 0..40 {
            let new = part_near(&yard, Kind::ALL[round % 8], [15.0, 10.0]);
            yard = apply(&yard, &Edit::Add(new)).unwrap_or_else(|problem| panic!("{problem}"));
        }
        let places: Vec<[f64; 2]> =
            Part::all(&yard).into_iter().map(|part| PlacedPart::of(&yard, part).unwrap().pose().place_m).collect();
        for (index, one) in places.iter().enumerate() {
            for other in &places[index + 1..] {
                assert!(libm::hypot(one[0] - other[0], one[1] - other[1]) > 0.89, "{one:?} {other:?}");
            }
        }
    }

    #[test]
    fn two_places_give_a_rectangle_its_sides_and_a_seat_its_facing() {
        let empty = plan(&site(30.0, 20.0)).unwrap();
        let PlacedPart::Obstacle(_, stall) = part(&empty, Kind::Stall, [9.0, 7.5], Some([6.0, 5.5])) else {
            panic!("an obstacle")
        };
        let ObstacleShape::Stall(block) = stall.shape else { panic!("a stall") };
        assert_eq!((block.centre_m, block.size_m), ([7.5, 6.5], [3.0, 2.0]));
        let PlacedPart::Seat(_, seat) = part(&empty, Kind::Seat, [5.0, 5.0], Some([9.0, 5.0])) else {
            panic!("a seat")
        };
        assert_eq!((seat.facing_deg, seat.name.as_str(), seat.id.as_str()), (90.0, "Seat 2", "seat-2"));
    }

    #[test]
    fn places_beyond_the_border_are_held() {
        let empty = plan(&site(30.0, 20.0)).unwrap();
        for kind in Kind::ALL {
            for place in [[-1e6, 1e6], [f64::MAX, f64::MIN]] {
                let new = part(&empty, kind, place, None);
                // What would stick out beyond the very last metre is refused; nothing panics.
                if let Err(problem) = apply(&empty, &Edit::Add(new)) {
                    assert!(matches!(kind, Kind::Wall | Kind::Barrier), "{problem}");
                }
            }
        }
    }
}
