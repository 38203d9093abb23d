//! People in crowd areas: where they might stand, and what they leave of a path.
//!
//! Nobody knows where each spectator stands, so seeded draws stand for all. A draw is a Poisson crowd at the area's density (see
//! [`people`]), each person a screen of the standard's width (3GPP TR 38.901, section 7.6.4.2, blockage model B; several
//! screens multiply). The same draws serve a whole lap.

mod people;
mod screens;

use super::obstacle::PlanPoint;
use super::outline::{self, cross};
use super::scene::{Scene, enclosing_circle};
use super::trace::{Paths, TracedPath};
use crate::units::Metres;
use people::{Person, Standing};
use screens::{Sightline, below, each_line, is_under_direct, room};

/// Side of the cells by which people are found, metres; larger in huge areas.
const CELL: f64 = 0.5;
/// Most cells of one area: with [`CELL`] a square of 32 m.
const MOST_CELLS: f64 = 4096.0;

/// A crowd area, prepared.
#[derive(Clone, Debug)]
pub(super) struct CrowdArea {
    obstacle: u16,
    corners: Vec<PlanPoint>,
    density: f64,
    head_height: f64,
    centre: PlanPoint,
    radius: f64,
    low: PlanPoint,
    high: PlanPoint,
}

impl CrowdArea {
    pub fn new(obstacle: u16, corners: Vec<PlanPoint>, density: f64, head_height: f64) -> Self {
        let (centre, radius) = enclosing_circle(&corners);
        let low = corners.iter().fold(corners[0], |low, corner| low.inf(corner));
        let high = corners.iter().fold(corners[0], |high, corner| high.sup(corner));
        Self { obstacle, corners, density, head_height, centre, radius, low, high }
    }

    /// How many people stand here on average.
    pub fn people(&self) -> f64 {
        self.density * outline::signed_area(&self.corners).abs()
    }

    fn standing(&self) -> Standing<'_> {
        Standing { corners: &self.corners, density: self.density }
    }

    /// Whether people here could matter to the legs above a line.
    fn touches(&self, line: &Sightline, room: f64) -> bool {
        let centre = self.centre - line.origin;
        let (along, aside) = (line.heading.dot(&centre), cross(&line.heading, &centre));
        aside.abs() < self.radius + room
            && along > -self.radius
            && along < line.plan_length + self.radius
            && line.legs().iter().any(|leg| leg.lowest() < self.head_height + room)
    }

    /// Whether the boxes about two areas overlap.
    fn meets(&self, other: &Self) -> bool {
        self.low.x < other.high.x && other.low.x < self.high.x && self.low.y < other.high.y && other.low.y < self.high.y
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

/// Of a minor path every so many draws are worked out.
const MINOR_STEP: usize = 4;

impl CrowdDraws {
    /// Draws `count` crowds. The same seed gives the same people; see [`people`] for what stays when a site changes.
    pub fn new(scene: &Scene, seed: u64, count: usize) -> Self {
        let crowded = scene.crowds.iter().enumerate().filter(|(_, area)| area.people() > 0.0);
        let fields = crowded.map(|(index, area)| Field::new(area, &scene.crowds[..index], seed, count));
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
        let mut met = false;
        each_line(path, 0, None, |line| met |= self.fields.iter().any(|field| field.area.touches(line, room)));
        met
    }

    /// The factors on the field amplitudes of the paths with the numbers `kept` that people leave: draw after draw, each
    /// with one number per path; nothing when nobody stands near any of them. `out` is emptied first and its memory used
    /// again.
    ///
    /// With each number goes whether the path is a minor one: then every fourth draw is worked out and stands for the three
    /// after it.
    pub fn amplitudes(
        &self,
        paths: &Paths,
        kept: impl ExactSizeIterator<Item = (usize, bool)>,
        wavelength: Metres,
        out: &mut Vec<f64>,
    ) {
        out.clear();
        let (count, mut met) = (kept.len(), false);
        if self.fields.is_empty() {
            return;
        }
        let known = |(place, (number, is_minor))| Some((place, paths.get(number)?, is_minor));
        let mut kept = kept.enumerate().filter_map(known).peekable();
        while let Some((place, path, is_minor)) = kept.next() {
            let under = path.bounces.is_empty().then(|| kept.next_if(|(_, next, _)| is_under_direct(next))).flatten();
            let longest = under.as_ref().map_or(path.length, |(_, under, _)| under.length.max(path.length));
            let room = room(longest, wavelength.0);
            // The direct path and the ground's bounce under it are worked out together.
            let step = if is_minor && under.is_none() { MINOR_STEP } else { 1 };
            each_line(&path, place, under.as_ref().map(|(place, under, _)| (under, *place)), |line| {
                for field in &self.fields {
                    if !field.area.touches(line, room) {
                        continue;
                    }
                    if out.is_empty() {
                        out.resize(self.count * count, 1.0);
                    }
                    let head_height = field.area.head_height;
                    field.each_near(line, room, wavelength.0, |person| {
                        let draw = person.draw as usize;
                        if !draw.is_multiple_of(step) {
                            return;
                        }
                        line.person(&person.place, head_height, wavelength.0, |path, factor| {
                            for alike in draw..(draw + step).min(self.count) {
                                out[alike * count + path] *= factor;
                            }
                            met = true;
                        });
                    });
                }
            });
        }
        if !met {
            out.clear();
        }
    }
}

impl Field {
    fn new(area: &CrowdArea, before: &[CrowdArea], seed: u64, count: usize) -> Self {
        let before: Vec<_> = before.iter().filter(|other| other.meets(area)).map(CrowdArea::standing).collect();
        Self::sorted(area, people::settle(&area.standing(), &before, seed, count))
    }

    fn sorted(area: &CrowdArea, people: Vec<Person>) -> Self {
        let size = area.high - area.low;
        let cell = (size.x * size.y / MOST_CELLS).sqrt().max(size.x.max(size.y) / MOST_CELLS).max(CELL);
        let (columns, rows) = ((size.x / cell) as usize + 1, (size.y / cell) as usize + 1);
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

    /// Visits everybody who stands within `room` of the part of a line above which a leg runs low enough, and some others.
    fn each_near(&self, line: &Sightline, room: f64, wavelength: f64, mut visit: impl FnMut(&Person)) {
        let area = &self.area;
        // The part of the line beside the area and low enough; there the Fresnel zone may be much thinner than at its
        // widest.
        let middle = line.heading.dot(&(area.centre - line.origin));
        let beside = ((middle - area.radius).max(0.0), (middle + area.radius).min(line.plan_length));
        let (mut from, mut to, mut widest) = (f64::INFINITY, f64::NEG_INFINITY, 0.0_f64);
        for leg in line.legs() {
            if let Some(part) = leg.part_below(area.head_height + room, beside) {
                (from, to) = (from.min(part.0), to.max(part.1));
                widest = widest.max(leg.room_between(part, wavelength));
            }
        }
        if from > to {
            return;
        }
        let room = widest;
        let low = area.low;
        let start = line.origin - low;
        let (ends_low, ends_high) = {
            let (one, two) = (start.y + line.heading.y * from, start.y + line.heading.y * to);
            (one.min(two) - room, one.max(two) + room)
        };
        let Some((first_row, last_row)) = cells(ends_low, ends_high, self.cell, self.rows) else { return };
        for row in first_row..=last_row {
            let (bottom, top) = (row as f64 * self.cell - room, (row + 1) as f64 * self.cell + room);
            let Some(part) = below(start.y, line.heading.y, top, (from, to)) else { continue };
            let Some((one, two)) = below(-start.y, -line.heading.y, -bottom, part) else { continue };
            let (one, two) = (start.x + line.heading.x * one, start.x + line.heading.x * two);
            let Some((left, right)) = cells(one.min(two) - room, one.max(two) + room, self.cell, self.columns) else {
                continue;
            };
            let from = self.starts[row * self.columns + left] as usize;
            let to = self.starts[row * self.columns + right + 1] as usize;
            self.people[from..to].iter().for_each(&mut visit);
        }
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
    use std::collections::BTreeSet;

    use super::*;
    use crate::rf::Vec3;
    use crate::rf::material::Material;
    use crate::rf::random::Random;
    use crate::site::{BounceOrder, Crowd, Ground, Obstacle, PERSON_HEIGHT, Site};
    use crate::units::Hertz;

    fn crowd(corners: &[(f64, f64)], density: f64) -> Obstacle {
        let footprint = corners.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect();
        Obstacle::Crowd(Crowd { footprint, density, head_height: PERSON_HEIGHT })
    }

    fn site_of(obstacles: Vec<Obstacle>) -> Scene {
        let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
        Scene::new(&Site { ground, obstacles }, Hertz(5.6e9)).expect("the site is possible")
    }

    fn scene(corners: &[(f64, f64)], density: f64) -> Scene {
        site_of(vec![crowd(corners, density)])
    }

    const ANGLE: [(f64, f64); 6] = [(0., 0.), (12., 0.), (12., 3.), (3., 3.), (3., 9.), (0., 9.)];
    const WAVELENGTH: Metres = Metres(0.0517);

    /// The crowds of so many seeds.
    fn crowds(scene: &Scene, seeds: u64) -> impl Iterator<Item = CrowdDraws> + '_ {
        (0..seeds).map(|seed| CrowdDraws::new(scene, seed, 32))
    }

    #[test]
    fn the_number_of_people_is_poisson_and_they_stand_inside() {
        let scene = scene(&ANGLE, 1.5);
        let corners: Vec<PlanPoint> = ANGLE.iter().map(|&(x, y)| PlanPoint::new(x, y)).collect();
        let (mut counts, mut sums, mut lower) = (Vec::new(), Vec::new(), 0.0);
        for draws in crowds(&scene, 60) {
            let of_draw = |draw| {
                let people: Vec<_> = draws.people(draw).collect();
                assert!(people.iter().all(|(obstacle, place)| *obstacle == 0 && outline::contains(&corners, place)));
                people.len() as f64
            };
            counts.extend((0..32).map(of_draw));
            sums.push(counts[counts.len() - 32..].iter().sum::<f64>());
            lower += (0..32).flat_map(|draw| draws.people(draw)).filter(|(_, place)| place.y < 3.0).count() as f64;
        }
        // 54 m² at 1.5 per m²: mean and variance of one draw are 81; 1920 draws, of one seed not independent. Standard error
        // of the variance 81 √(2/1920).
        let moments = |values: &[f64]| {
            let count = values.len() as f64;
            let mean = values.iter().sum::<f64>() / count;
            (mean, values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (count - 1.0))
        };
        let (mean, variance) = moments(&counts);
        assert!((variance - 81.0).abs() < 4.0 * 81.0 * (2.0 / 1920.0_f64).sqrt(), "{variance}");
        // All draws of a seed together hold the mean far better than 32 Poisson ones, whose variance would be 2592.
        let (_, of_sums) = moments(&sums);
        assert!(of_sums < 0.15 * 2592.0, "{of_sums}");
        assert!((mean - 81.0).abs() < 4.0 * (0.15 * 2592.0 / 60.0_f64).sqrt() / 32.0, "{mean}");
        // The lower arm has 36 of the 54 m².
        assert!((lower / (1920.0 * 81.0) - 2.0 / 3.0).abs() < 0.003);
    }

    #[test]
    fn people_behind_a_line_are_those_of_plain_poisson_crowds() {
        // What the draws leave of a path is held against crowds without any order, drawn in the simplest way there is.
        for density in [0.3, 1.1, 2.5] {
            let scene = scene(&[(2., -3.), (6., -3.), (6., 3.), (2., 3.)], density);
            let (low, side) = (PlanPoint::new(2.0, -3.0), PlanPoint::new(4.0, 6.0));
            let mut paths = Paths::new();
            let (from, to) = (Vec3::new(0.0, 0.2, 1.25), Vec3::new(26.0, 2.0, 2.4));
            scene.trace(&from, &to, BounceOrder::Single, &mut paths);
            // Mean power of the direct path and of the ground's, and how often the direct one is free, 3 dB and 10 dB down.
            let figures = |draws: &CrowdDraws| {
                let mut left = Vec::new();
                draws.amplitudes(&paths, (0..2).map(|number| (number, false)), WAVELENGTH, &mut left);
                let mut sums = [0.0; 5];
                for both in left.chunks(2) {
                    let power = both[0] * both[0];
                    let is = |so: bool| f64::from(u8::from(so));
                    let of_draw = [power, both[1] * both[1], is(power > 0.99), is(power < 0.5), is(power < 0.1)];
                    sums.iter_mut().zip(of_draw).for_each(|(sum, value)| *sum += value / draws.count() as f64);
                }
                sums
            };
            let mut random = Random::new(5);
            let plain = (0..400).map(|_| {
                let mut people = Vec::new();
                for draw in 0..32 {
                    for _ in 0..random.poisson(density * side.x * side.y) {
                        let share = PlanPoint::new(random.uniform(), random.uniform());
                        people.push(Person { place: low + side.component_mul(&share), draw });
                    }
                }
                CrowdDraws { count: 32, fields: vec![Field::sorted(&scene.crowds[0], people)] }
            });
            let plain: Vec<_> = plain.map(|draws| figures(&draws)).collect();
            let even: Vec<_> = crowds(&scene, 400).map(|draws| figures(&draws)).collect();
            for figure in 0..5 {
                let moments = |values: &[[f64; 5]]| {
                    let mean = values.iter().map(|value| value[figure]).sum::<f64>() / 400.0;
                    let squares = values.iter().map(|value| (value[figure] - mean) * (value[figure] - mean));
                    (mean, squares.sum::<f64>() / 399.0)
                };
                let ((expected, plainly), (got, evenly)) = (moments(&plain), moments(&even));
                let error = ((plainly + evenly) / 400.0).sqrt();
                assert!((got - expected).abs() <= 3.5 * error, "{density}, {figure}: {got} not {expected} ± {error}");
                // Of what is rare, one draw in fifty, the variance is that of Poisson crowds.
                let is_mean = figure < 2;
                assert!(!is_mean || evenly < 0.8 * plainly, "{density}, {figure}: {evenly} against {plainly}");
            }
        }
    }

    #[test]
    fn nobody_moves_when_others_come() {
        let key = |(_, place): (u16, PlanPoint)| (place.x.to_bits(), place.y.to_bits());
        let places = |scene: &Scene| {
            let draws = CrowdDraws::new(scene, 5, 3);
            (0..3).map(|draw| draws.people(draw).map(key).collect::<BTreeSet<_>>()).collect::<Vec<_>>()
        };
        let some = places(&scene(&ANGLE, 0.7));
        assert_ne!(some[0], some[1]);
        // A denser crowd, and a wider one, is the same people and more.
        let wider = [(-2., 0.), (12., 0.), (12., 3.), (3., 3.), (3., 9.), (-2., 9.)];
        for more in [places(&scene(&ANGLE, 0.75)), places(&scene(&wider, 0.7))] {
            assert!(some.iter().zip(&more).all(|(some, more)| some.is_subset(more) && some.len() < more.len()));
        }
        // Two areas in the same place are one as dense as both.
        let both = site_of(vec![crowd(&ANGLE, 0.3), crowd(&ANGLE, 0.4)]);
        assert_eq!(places(&both), some);
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
            draws.amplitudes(&paths, (0..paths.len()).map(|number| (number, false)), WAVELENGTH, &mut found);
            for (index, path) in paths.iter().enumerate() {
                for draw in 0..3 {
                    let mut expected = 1.0;
                    each_line(&path, 0, None, |line| {
                        for (_, place) in draws.people(draw) {
                            line.person(&place, PERSON_HEIGHT.0, WAVELENGTH.0, |_, factor| expected *= factor);
                        }
                    });
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
        draws.amplitudes(&paths, (0..paths.len()).map(|number| (number, false)), WAVELENGTH, &mut amplitudes);
        assert!(amplitudes.is_empty());
    }
}
