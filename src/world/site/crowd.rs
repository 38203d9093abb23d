//! People in crowd areas: where they might stand, and what they leave of a path.
//!
//! Nobody knows where each spectator stands, so a few seeded draws stand for all. A draw is a Poisson number of people per
//! area at its density, each at a random place and each a screen of the standard's width (3GPP TR 38.901, section
//! 7.6.4.2, blockage model B; several screens multiply). The same draws serve a whole lap.

use std::f64::consts::{FRAC_1_PI, FRAC_PI_2, PI};

use super::obstacle::PlanPoint;
use super::outline::{self, cross};
use super::scene::{Scene, enclosing_circle};
use super::trace::{Paths, TracedPath};
use crate::rf::Vec3;
use crate::rf::absorption::PERSON_WIDTH;
use crate::rf::random::Random;
use crate::units::Metres;

/// A person fades out of a path between so many first Fresnel radii of clearance: the standard's formula tends to no loss
/// only slowly, and always as a loss, where the exact field swings about free space from 0.55 on. 0.6 is where ITU-R P.526
/// and P.530 call a path free.
const CLEAR_FROM: f64 = 0.6;
const CLEAR_AT: f64 = 1.2;

/// Nobody stands closer to an antenna than the first, metres in plan; from the second on people count fully. Common
/// practice, no source: pilots keep elbow room, and the formula has no meaning nearer.
const ELBOW_ROOM: (f64, f64) = (0.3, 0.6);

/// Side of the cells by which people are found, metres; larger in huge areas.
const CELL: f64 = 1.0;
/// Most cells of one area: with [`CELL`] a square of 64 m.
const MOST_CELLS: f64 = 4096.0;

/// A crowd area, prepared.
#[derive(Clone, Debug)]
pub(super) struct CrowdArea {
    obstacle: u16,
    triangles: Vec<[PlanPoint; 3]>,
    area: f64,
    density: f64,
    head_height: f64,
    centre: PlanPoint,
    radius: f64,
    low: PlanPoint,
    high: PlanPoint,
}

impl CrowdArea {
    /// `corners` run counter-clockwise.
    pub fn new(obstacle: u16, corners: Vec<PlanPoint>, density: f64, head_height: f64) -> Self {
        let mut triangles = Vec::new();
        for piece in outline::convex_pieces(&corners) {
            for index in 1..piece.len() - 1 {
                triangles.push([piece[0], piece[index], piece[index + 1]]);
            }
        }
        let (centre, radius) = enclosing_circle(&corners);
        let low = corners.iter().fold(corners[0], |low, corner| low.inf(corner));
        let high = corners.iter().fold(corners[0], |high, corner| high.sup(corner));
        let area = outline::signed_area(&corners).abs();
        Self { obstacle, triangles, area, density, head_height, centre, radius, low, high }
    }

    /// How many people stand here on average.
    pub fn people(&self) -> f64 {
        self.density * self.area
    }

    /// Whether people here could matter to a leg.
    fn touches(&self, leg: &Sightline, room: f64) -> bool {
        let centre = self.centre - leg.origin;
        let (along, aside) = (leg.heading.dot(&centre), cross(&leg.heading, &centre));
        leg.lowest < self.head_height + room
            && aside.abs() < self.radius + room
            && along > -self.radius
            && along < leg.plan_length + self.radius
    }

    fn place(&self, random: &mut Random) -> PlanPoint {
        let mut rest = random.uniform() * self.area;
        let (root, share) = (random.uniform().sqrt(), random.uniform());
        let size = |[a, b, c]: &[PlanPoint; 3]| cross(&(b - a), &(c - a)) / 2.0;
        let last = self.triangles.len() - 1;
        let index = self.triangles.iter().take(last).position(|triangle| {
            rest -= size(triangle);
            rest < 0.0
        });
        let [a, b, c] = self.triangles[index.unwrap_or(last)];
        a * (1.0 - root) + b * (root * (1.0 - share)) + c * (root * share)
    }
}

/// Draws of where the people of every crowd area stand.
#[derive(Clone, Debug)]
pub struct CrowdDraws {
    count: usize,
    fields: Vec<Field>,
}

/// The people of one area in all draws, sorted into cells.
#[derive(Clone, Debug)]
struct Field {
    area: CrowdArea,
    cell: f64,
    columns: usize,
    rows: usize,
    /// Where the people of a cell start; one more than there are cells.
    starts: Vec<u32>,
    people: Vec<Person>,
}

#[derive(Clone, Copy, Debug)]
struct Person {
    place: PlanPoint,
    draw: u32,
}

impl CrowdDraws {
    /// Draws `count` crowds. The same seed gives the same people, more draws leave the first ones as they are, and a change
    /// of one area leaves the people of the others in place.
    pub fn new(scene: &Scene, seed: u64, count: usize) -> Self {
        let fields = scene.crowds.iter().filter(|area| area.people() > 0.0).map(|area| Field::new(area, seed, count));
        Self { count, fields: fields.collect() }
    }

    /// The number of draws.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Where the people of one draw stand, with the crowd area that each belongs to. None for a draw that there is not.
    pub fn people(&self, draw: usize) -> impl Iterator<Item = (u16, PlanPoint)> + '_ {
        self.fields.iter().flat_map(move |field| {
            field
                .people
                .iter()
                .filter(move |person| person.draw as usize == draw)
                .map(|person| (field.area.obstacle, person.place))
        })
    }

    /// Whether people could matter to a path: it passes an area below the heads, or not far above.
    pub fn touches(&self, path: &TracedPath, wavelength: Metres) -> bool {
        let room = room(path.length, wavelength.0);
        sightlines(path).any(|leg| self.fields.iter().any(|field| field.area.touches(&leg, room)))
    }

    /// The factors on the field amplitudes of all paths that people leave, draw after draw, each with one number per path;
    /// nothing when nobody stands near any path. `out` is emptied first and its memory used again.
    pub fn amplitudes(&self, paths: &Paths, wavelength: Metres, out: &mut Vec<f64>) {
        out.clear();
        let mut met = false;
        for (index, path) in paths.iter().enumerate() {
            let room = room(path.length, wavelength.0);
            for leg in sightlines(&path) {
                for field in &self.fields {
                    if !field.area.touches(&leg, room) {
                        continue;
                    }
                    if out.is_empty() {
                        out.resize(self.count * paths.len(), 1.0);
                    }
                    field.each_near(&leg, room, wavelength.0, |person| {
                        if let Some(factor) = leg.person(&person.place, field.area.head_height, wavelength.0) {
                            out[person.draw as usize * paths.len() + index] *= factor;
                            met = true;
                        }
                    });
                }
            }
        }
        if !met {
            out.clear();
        }
    }
}

/// Distance within which a person can matter to a path, metres.
fn room(length: f64, wavelength: f64) -> f64 {
    CLEAR_AT * (wavelength * length).sqrt() / 2.0 + PERSON_WIDTH.0 / 2.0
}

/// A leg as people see it.
struct Sightline {
    origin: PlanPoint,
    heading: PlanPoint,
    plan_length: f64,
    start_height: f64,
    slope: f64,
    lowest: f64,
    stretch: f64,
    ahead: f64,
    total: f64,
}

fn sightlines<'a>(path: &'a TracedPath) -> impl Iterator<Item = Sightline> + 'a {
    let total = path.length;
    let mut ahead = 0.0;
    path.points().zip(path.points().skip(1)).map(move |(from, to)| {
        let leg = Sightline::new(&from, &to, ahead, total);
        ahead += (to - from).norm_squared().sqrt();
        leg
    })
}

impl Sightline {
    fn new(from: &Vec3, to: &Vec3, ahead: f64, total: f64) -> Self {
        let plan = to.xy() - from.xy();
        // A plumb leg passes nobody sideways; a heading of a nanometre keeps the arithmetic finite.
        let plan_length = plan.norm_squared().sqrt().max(1e-9);
        Self {
            origin: from.xy(),
            heading: plan / plan_length,
            plan_length,
            start_height: from.z,
            slope: (to.z - from.z) / plan_length,
            lowest: from.z.min(to.z),
            stretch: (to - from).norm_squared().sqrt() / plan_length,
            ahead,
            total,
        }
    }

    /// As [`room`], for a part of the leg.
    fn room_between(&self, from: f64, to: f64, wavelength: f64) -> f64 {
        let (from, to) = (self.ahead + from * self.stretch, self.ahead + to * self.stretch);
        let widest = (self.total / 2.0).clamp(from, to.max(from));
        CLEAR_AT * (wavelength * widest * (self.total - widest).max(0.0) / self.total).sqrt() + PERSON_WIDTH.0 / 2.0
    }

    /// What one person leaves of the amplitude; none when the person does not matter.
    fn person(&self, place: &PlanPoint, head_height: f64, wavelength: f64) -> Option<f64> {
        let relative = place - self.origin;
        let along = self.heading.dot(&relative);
        if along < 0.0 || along > self.plan_length {
            return None;
        }
        let aside = cross(&self.heading, &relative);
        let height = self.start_height + self.slope * along;
        let before = self.ahead + along * self.stretch;
        let after = (self.total - before).max(0.0);
        let free_aside = (aside.abs() - PERSON_WIDTH.0 / 2.0).max(0.0);
        let free_above = (height - head_height).max(0.0);
        let free = free_aside * free_aside + free_above * free_above;
        let fresnel = wavelength * before * after / self.total;
        if free >= CLEAR_AT * CLEAR_AT * fresnel {
            return None;
        }
        let clearance = (free / fresnel).sqrt();
        let near = before.min(after);
        let share = ((CLEAR_AT - clearance) / (CLEAR_AT - CLEAR_FROM)).min(1.0)
            * ((near - ELBOW_ROOM.0) / (ELBOW_ROOM.1 - ELBOW_ROOM.0)).clamp(0.0, 1.0);
        if share <= 0.0 {
            return None;
        }
        // (π/2) √((π/λ) x² (1/d1 + 1/d2)/2): the detour of the standard's formula for x small against d.
        let scale = FRAC_PI_2 * (PI * (before + after) / (2.0 * wavelength * before * after)).sqrt();
        let half = PERSON_WIDTH.0 / 2.0;
        let width = angle(scale * (aside - half), scale * (aside + half));
        let tall = angle(-scale * height, scale * (head_height - height));
        Some(1.0 - share * width * tall * (FRAC_1_PI * FRAC_1_PI))
    }
}

/// `atan upper - atan lower` for `upper ≥ lower`, within 2e-5: far finer than anybody knows a crowd, and several times as
/// fast as two exact arc tangents.
fn angle(lower: f64, upper: f64) -> f64 {
    arc_tangent(upper) - arc_tangent(lower)
}

/// Polynomial for the arc tangent with an error below 1.2e-5 (Abramowitz and Stegun, 4.4.47, from memory; checked below).
fn arc_tangent(x: f64) -> f64 {
    let size = x.abs();
    let y = if size > 1.0 { 1.0 / size } else { size };
    let z = y * y;
    let inner = y * (0.999_866_0 + z * (-0.330_299_5 + z * (0.180_141_0 + z * (-0.085_133_0 + z * 0.020_835_1))));
    let value = if size > 1.0 { FRAC_PI_2 - inner } else { inner };
    if x < 0.0 { -value } else { value }
}

impl Field {
    fn new(area: &CrowdArea, seed: u64, count: usize) -> Self {
        let size = area.high - area.low;
        let cell = (size.x * size.y / MOST_CELLS).sqrt().max(size.x.max(size.y) / MOST_CELLS).max(CELL);
        let (columns, rows) = ((size.x / cell) as usize + 1, (size.y / cell) as usize + 1);
        let mut people = Vec::new();
        for draw in 0..count as u64 {
            // Any odd multipliers do: the generator's own seeding spreads the bits.
            let stream =
                (draw + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ (u64::from(area.obstacle) + 1).rotate_right(16);
            let mut random = Random::new(seed ^ stream);
            for _ in 0..random.poisson(area.people()) {
                people.push(Person { place: area.place(&mut random), draw: draw as u32 });
            }
        }
        let index = |person: &Person| {
            let column = ((person.place.x - area.low.x) / cell).max(0.0) as usize;
            let row = ((person.place.y - area.low.y) / cell).max(0.0) as usize;
            row.min(rows - 1) * columns + column.min(columns - 1)
        };
        let mut starts = vec![0_u32; columns * rows + 1];
        for person in &people {
            starts[index(person) + 1] += 1;
        }
        for cell in 1..starts.len() {
            starts[cell] += starts[cell - 1];
        }
        // Everybody to the next free place of their cell; those of one cell keep their order.
        let mut free = starts.clone();
        let mut sorted = people.clone();
        for person in people {
            let place = &mut free[index(&person)];
            sorted[*place as usize] = person;
            *place += 1;
        }
        Self { area: area.clone(), cell, columns, rows, starts, people: sorted }
    }

    /// Visits everybody who stands within `room` of the part of a leg that runs low enough, and some others.
    fn each_near(&self, leg: &Sightline, room: f64, wavelength: f64, mut visit: impl FnMut(&Person)) {
        let area = &self.area;
        // The part of the leg beside the area and low enough; there the Fresnel zone may be much thinner than at its widest.
        let middle = leg.heading.dot(&(area.centre - leg.origin));
        let beside = ((middle - area.radius).max(0.0), (middle + area.radius).min(leg.plan_length));
        let Some((from, to)) = below(leg.start_height, leg.slope, area.head_height + room, beside) else { return };
        let room = leg.room_between(from, to, wavelength);
        let low = area.low;
        let start = leg.origin - low;
        let (ends_low, ends_high) = {
            let (one, two) = (start.y + leg.heading.y * from, start.y + leg.heading.y * to);
            (one.min(two) - room, one.max(two) + room)
        };
        let Some((first_row, last_row)) = cells(ends_low, ends_high, self.cell, self.rows) else { return };
        for row in first_row..=last_row {
            let (bottom, top) = (row as f64 * self.cell - room, (row + 1) as f64 * self.cell + room);
            let Some(part) = below(start.y, leg.heading.y, top, (from, to)) else { continue };
            let Some((one, two)) = below(-start.y, -leg.heading.y, -bottom, part) else { continue };
            let (one, two) = (start.x + leg.heading.x * one, start.x + leg.heading.x * two);
            let Some((left, right)) = cells(one.min(two) - room, one.max(two) + room, self.cell, self.columns) else {
                continue;
            };
            let from = self.starts[row * self.columns + left] as usize;
            let to = self.starts[row * self.columns + right + 1] as usize;
            self.people[from..to].iter().for_each(&mut visit);
        }
    }
}

/// The part of a range in which `start + slope · s` is at most `limit`.
fn below(start: f64, slope: f64, limit: f64, (from, to): (f64, f64)) -> Option<(f64, f64)> {
    let (first, last) = (start + slope * from, start + slope * to);
    if first > limit && last > limit {
        return None;
    }
    let meets = || ((limit - start) / slope).clamp(from, to);
    if first > limit {
        Some((meets(), to))
    } else if last > limit {
        Some((from, meets()))
    } else {
        Some((from, to))
    }
}

/// The cells that a range of coordinates touches.
fn cells(low: f64, high: f64, cell: f64, count: usize) -> Option<(usize, usize)> {
    if high < 0.0 || low > count as f64 * cell {
        return None;
    }
    let index = |value: f64| ((value / cell).max(0.0) as usize).min(count - 1);
    Some((index(low), index(high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::absorption::person_screen_factor;
    use crate::rf::material::Material;
    use crate::site::{BounceOrder, Crowd, Ground, Obstacle, PERSON_HEIGHT, Site};
    use crate::units::Hertz;

    fn scene(corners: &[(f64, f64)], density: f64) -> Scene {
        let footprint = corners.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect();
        let crowd = Obstacle::Crowd(Crowd { footprint, density, head_height: PERSON_HEIGHT });
        let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
        Scene::new(&Site { ground, obstacles: vec![crowd] }, Hertz(5.6e9)).expect("the site is possible")
    }

    const ANGLE: [(f64, f64); 6] = [(0., 0.), (12., 0.), (12., 3.), (3., 3.), (3., 9.), (0., 9.)];
    const WAVELENGTH: Metres = Metres(0.0517);

    #[test]
    fn the_number_of_people_is_poisson_and_they_stand_inside() {
        let draws = CrowdDraws::new(&scene(&ANGLE, 1.5), 7, 400);
        let corners: Vec<PlanPoint> = ANGLE.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect();
        let counts: Vec<f64> = (0..400)
            .map(|draw| {
                assert!(
                    draws.people(draw).all(|(obstacle, place)| obstacle == 0 && outline::contains(&corners, &place))
                );
                draws.people(draw).count() as f64
            })
            .collect();
        // 54 m² at 1.5 per m²: mean and variance are 81. Standard error of the mean 0.45, of the variance 5.7.
        let mean = counts.iter().sum::<f64>() / 400.0;
        let variance = counts.iter().map(|count| (count - mean) * (count - mean)).sum::<f64>() / 399.0;
        assert!((mean - 81.0).abs() < 4.0 * 0.45, "{mean}");
        assert!((variance - 81.0).abs() < 4.0 * 5.7, "{variance}");
        // The lower arm has 36 of the 54 m².
        let lower = (0..400).flat_map(|draw| draws.people(draw)).filter(|(_, place)| place.y < 3.0).count() as f64;
        assert!((lower / (400.0 * 81.0) - 2.0 / 3.0).abs() < 0.02);
    }

    #[test]
    fn the_cells_find_everybody_that_a_search_of_all_finds() {
        let scene = scene(&ANGLE, 2.0);
        let draws = CrowdDraws::new(&scene, 11, 3);
        let mut paths = Paths::new();
        let (mut found, mut crossed) = (Vec::new(), 0);
        for step in 0..200 {
            let turn = f64::from(step) * 0.37;
            let from = Vec3::new(
                6.0 + 14.0 * libm::cos(turn),
                4.0 + 11.0 * libm::sin(1.3 * turn),
                0.4 + 0.01 * f64::from(step),
            );
            let to = Vec3::new(5.0 - 12.0 * libm::sin(turn), 3.0 + 9.0 * libm::cos(turn), 2.5 - 0.01 * f64::from(step));
            scene.trace(&from, &to, BounceOrder::Single, &mut paths);
            draws.amplitudes(&paths, WAVELENGTH, &mut found);
            for (index, path) in paths.iter().enumerate() {
                for draw in 0..3 {
                    let mut expected = 1.0;
                    for leg in sightlines(&path) {
                        for (_, place) in draws.people(draw) {
                            expected *= leg.person(&place, PERSON_HEIGHT.0, WAVELENGTH.0).unwrap_or(1.0);
                        }
                    }
                    let got = found.get(draw * paths.len() + index).copied().unwrap_or(1.0);
                    assert!((got - expected).abs() < 1e-12, "step {step} draw {draw}: {got} not {expected}");
                    assert!(got == 1.0 || draws.touches(&path, WAVELENGTH));
                    crossed += usize::from(got < 1.0);
                }
            }
        }
        assert!(crossed > 300, "the lines were meant to cross the crowd: {crossed}");
    }

    #[test]
    fn a_path_far_above_the_heads_meets_nobody() {
        let scene = scene(&ANGLE, 3.0);
        let draws = CrowdDraws::new(&scene, 1, 4);
        let mut paths = Paths::new();
        scene.trace(&Vec3::new(-5.0, 1.0, 6.0), &Vec3::new(20.0, 2.0, 6.0), BounceOrder::Direct, &mut paths);
        let mut amplitudes = vec![0.5];
        draws.amplitudes(&paths, WAVELENGTH, &mut amplitudes);
        assert!(amplitudes.is_empty());
    }

    #[test]
    fn a_person_costs_what_the_standard_says() {
        // Against the formula of 3GPP TR 38.901, section 7.6.4.2, with its detours in full; cut short they are a few
        // hundredths of a decibel off where the person stands within a metre or two of an end.
        for (z, before, after, aside) in [
            (1.0, 25.0, 25.0, 0.0),
            (1.5, 5.0, 45.0, 0.0),
            (1.2, 5.0, 45.0, 0.2),
            (1.5, 1.0, 49.0, 0.05),
            (1.65, 0.7, 9.0, 0.1),
        ] {
            let leg = Sightline::new(&Vec3::new(0.0, 0.0, z), &Vec3::new(before + after, 0.0, z), 0.0, before + after);
            let got =
                leg.person(&PlanPoint::new(before, aside), PERSON_HEIGHT.0, WAVELENGTH.0).expect("it stands near");
            let exact = person_screen_factor(aside, z - PERSON_HEIGHT.0, before, after, WAVELENGTH.0);
            assert!((20.0 * libm::log10(got / exact)).abs() < 0.1, "{z} {before}/{after} {aside}: {got} not {exact}");
        }
        for step in -4000..=4000 {
            let x = f64::from(step) * 0.005;
            assert!((arc_tangent(x) - libm::atan(x)).abs() < 1.2e-5, "{x}");
        }
    }

    #[test]
    fn more_draws_keep_the_first_ones() {
        let scene = scene(&ANGLE, 1.0);
        let (few, many) = (CrowdDraws::new(&scene, 5, 2), CrowdDraws::new(&scene, 5, 9));
        let places = |draws: &CrowdDraws, draw| draws.people(draw).map(|(_, place)| place).collect::<Vec<_>>();
        assert_eq!(places(&few, 1), places(&many, 1));
        assert_ne!(places(&few, 0), places(&few, 1));
    }
}
