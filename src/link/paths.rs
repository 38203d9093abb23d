//! The paths of an instant and of a lap at one frequency, before any antenna is chosen: *traced* paths are geometry alone,
//! *carried* ones know what the way does to a wave.

use nalgebra::Matrix3;
use num_complex::Complex64;

use super::crowd_cells::{CELLS, CrowdCases};
use super::flight::Flight;
use super::place::Place;
use super::report::Notice;
use super::stage::Weighed;
use crate::rf::diffraction::LIT_MAXIMUM;
use crate::rf::fading::{Surroundings, behind_buildings, scatter_share};
use crate::rf::free_space::{field_factor, wavenumber};
use crate::rf::{SPEED_OF_LIGHT, Vec3, phasor};
use crate::site::{BounceOrder, Images, ObstacleKind, Paths, SlabModel, TracedPath, TunedScene};
use crate::units::{Db, Hertz, Metres};

/// A path at one frequency, between two places, before any antenna is chosen.
#[derive(Clone, Debug)]
pub struct CarriedPath {
    /// Unit direction in which the wave leaves the transmitter.
    pub depart: Vec3,
    /// Unit direction in which it travels when it reaches the receiver.
    pub arrive: Vec3,
    /// From the field vector radiated to the field vector that arrives: `(λ/4πd) e^{-jkd}` times the product of
    /// interaction matrices times the amplitude that small faces and obstructions leave.
    pub transfer: Matrix3<Complex64>,
    /// Length, in metres.
    pub length: f64,
    /// Power that obstructions leave, people apart (1 when nothing is near).
    pub obstruction: f64,
    /// Number of the traced path that it is.
    pub traced: usize,
}

/// All paths of an instant at one frequency, before any antenna is chosen.
#[derive(Clone, Debug, Default)]
pub struct Carried {
    /// The direct path first, then the bounces.
    pub paths: Vec<CarriedPath>,
    /// Free-space power gain of the direct distance between isotropic ends, `(λ/4πd)²`; obstructions do not lower it.
    pub free_space: f64,
    /// How far this is behind buildings, from 0 to 1, see [`behind_buildings`]: there the scatter falls too.
    pub behind: f64,
    /// How many traced paths were left out as too weak to matter.
    pub faint: u32,
    /// Amplitudes that people leave, for outage at this instant: the cases of `crowd` one after the other, each with one
    /// amplitude per path. Each stands for several draws that are alike *here*; a case has nothing to do with that of the
    /// same number elsewhere on the lap. Empty when nobody is near.
    pub people: Vec<f64>,
    /// How likely each of them is.
    pub crowd: CrowdCases,
    /// Mean over all draws of the crowd of the power that people leave on each path; empty when nobody is near.
    pub people_power: Vec<f64>,
}

impl Carried {
    /// The number of cases of the crowd that matter here; at least one.
    pub fn people_cases(&self) -> usize {
        self.crowd.count()
    }

    /// Mean over the draws of the power that people leave on a path.
    pub fn people_factor(&self, path: usize) -> f64 {
        self.people_power.get(path).copied().unwrap_or(1.0)
    }

    /// Sets what people leave, draw after draw.
    ///
    /// Draws are put in order of what arrives between isotropic ends, and so many in a row make a cell: what they leave on
    /// one path differs little, except for paths that hardly count. Of a path's amplitudes the cell has the harmonic mean,
    /// because the outage of a fading level goes between its inverse and its inverse square; cells that differ by less than
    /// [`ALIKE`] are one case. Against all draws a reserve moves by less than 0.05 dB.
    fn set_people(&mut self, draws: &[f64]) {
        let count = self.paths.len().max(1);
        let weights: Vec<f64> = self.paths.iter().map(|path| path.transfer.norm_squared()).collect();
        let arriving = |draw: &[f64]| draw.iter().zip(&weights).map(|(left, weight)| left * left * weight).sum::<f64>();
        let mut order: Vec<(f64, &[f64])> = draws.chunks_exact(count).map(|draw| (arriving(draw), draw)).collect();
        // A stable sort: equal ones stay in the order of their draws.
        order.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mean = |path: usize| {
            let each = draws.iter().skip(path).step_by(count);
            each.map(|left| left * left).sum::<f64>() * count as f64 / draws.len() as f64
        };
        self.people_power = (0..count).map(mean).collect();
        self.people.clear();
        self.crowd = CrowdCases::none();
        let alike = ALIKE * weights.iter().sum::<f64>().sqrt();
        let amplitudes: Vec<f64> = weights.iter().map(|weight| weight.sqrt()).collect();
        let inverse = |cells: &[(f64, &[f64])], path: usize| {
            cells.iter().map(|(_, draw)| 1.0 / draw[path].max(LEAST_LEFT)).sum::<f64>()
        };
        // The case that is being made: where it begins among the draws, and the last of its cells.
        let (mut start, mut end) = (0, 0);
        let mut last: Vec<f64> = Vec::with_capacity(count);
        for (cell, size) in CELLS.into_iter().enumerate() {
            let draws = &order[end..(end + size).min(order.len())];
            let left = (0..count).map(|path| draws.len() as f64 / inverse(draws, path));
            let here: Vec<f64> = left.collect();
            let differs = |(path, left): (usize, &f64)| amplitudes[path] * (left - last[path]).abs() > alike;
            if cell > 0 && here.iter().enumerate().any(differs) {
                self.end_case(&order[start..end], cell, inverse);
                start = end;
                last = here;
            } else if cell == 0 {
                last = here;
            }
            end += draws.len();
        }
        self.end_case(&order[start..end], CELLS.len(), inverse);
        if self.crowd == CrowdCases::ONE && self.people.iter().all(|&left| left == 1.0) {
            self.people.clear();
        }
    }

    /// Ends a case of such draws before a cell.
    fn end_case(&mut self, draws: &[(f64, &[f64])], cell: usize, inverse: impl Fn(&[(f64, &[f64])], usize) -> f64) {
        self.people.extend((0..self.paths.len().max(1)).map(|path| draws.len() as f64 / inverse(draws, path)));
        self.crowd.push(cell);
    }
}

/// Cells that leave every path the same to within this part of the amplitude that arrives over all of them are one case:
/// 0.02 dB.
const ALIKE: f64 = 0.0023;

/// What people leave of an amplitude is taken as no less: keeps inverses finite.
const LEAST_LEFT: f64 = 1e-6;

/// How the phases of paths and the scatter mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixing {
    /// Wavenumber, rad/m.
    pub wavenumber: f64,
    /// Standard deviation of the flown position, in metres; zero gives the exact coherent sum.
    pub line_sigma: f64,
    /// K-factor of the surroundings between isotropic ends, as a power ratio.
    pub surroundings_k: f64,
    /// The class of the surroundings, for what is left of their scatter behind buildings; `None` leaves it as it is.
    pub surroundings: Option<Surroundings>,
    /// Cross-polarization ratio of the scatter.
    pub xpr: Db,
}

/// The paths from every sample of a lap, and from the start pad behind them, to one place.
#[derive(Clone, Debug)]
pub struct Geometry {
    /// One item per sample, then the pad's; none where they would take more than [`MOST_KEPT`].
    kept: Vec<Paths>,
    bytes: usize,
    to: Vec3,
    bounces: BounceOrder,
}

/// Traced paths of a lap that take more bytes are not kept but traced again when asked for.
const MOST_KEPT: usize = 48 << 20;

/// Looks at the paths of one instant after the other.
#[derive(Debug)]
pub struct Look<'a> {
    geometry: &'a Geometry,
    flight: &'a Flight,
    /// For what is not kept, and where it is put.
    images: Option<Images<'a>>,
    memory: Paths,
}

impl Geometry {
    /// Of the lap that it was traced for.
    pub fn look<'a>(&'a self, place: &'a Place, flight: &'a Flight) -> Look<'a> {
        let images = self.kept.is_empty().then(|| place.scene.images(&self.to, self.bounces));
        Look { geometry: self, flight, images, memory: Paths::new() }
    }
}

impl Weighed for Result<Geometry, Notice> {
    fn bytes(&self) -> usize {
        self.as_ref().map_or(0, |geometry| geometry.bytes)
    }
}

impl Look<'_> {
    /// The paths of a sample of the flight; behind the last, of the pad.
    pub fn at(&mut self, sample: usize) -> &Paths {
        let Some(images) = &self.images else { return &self.geometry.kept[sample] };
        images.trace(self.flight.places.get(sample).unwrap_or(&self.flight.pad_place), &mut self.memory);
        &self.memory
    }
}

/// Traces a lap and the pad to a place.
///
/// # Errors
/// A sentence when the place lies inside a building.
pub fn trace_lap(place: &Place, flight: &Flight, to: &Vec3, bounces: BounceOrder) -> Result<Geometry, String> {
    place.in_the_open(to)?;
    let mut geometry = Geometry { kept: Vec::new(), bytes: 0, to: *to, bounces };
    let mut kept = Vec::new();
    let mut look = geometry.look(place, flight);
    let mut bytes = 0;
    for sample in 0..=flight.places.len() {
        let (paths, size) = look.at(sample).to_keep();
        bytes += size;
        if bytes > MOST_KEPT {
            return Ok(geometry);
        }
        kept.push(paths);
    }
    (geometry.kept, geometry.bytes) = (kept, bytes);
    Ok(geometry)
}

/// A bounced path this much below the scatter of the surroundings, both between isotropic ends, is left out: even with
/// antennas that favour it by 10 dB it would change the level by less than 0.05 dB.
pub const FAINT: Db = Db(30.0);

/// Share of the limit for faint paths that holds where all is behind buildings: there scatter is about 10 dB weaker at 100 m.
pub const FAINT_BEHIND: f64 = 0.1;

/// Carries a traced lap at one frequency. Empty when a material of the site has no properties there.
pub fn carry_lap(
    (place, flight): (&Place, &Flight),
    geometry: &Geometry,
    frequency: Hertz,
    mixing: &Mixing,
) -> Vec<Carried> {
    let Ok(tuned) = place.scene.tuned(frequency) else { return Vec::new() };
    let (faint, mut look) = (faint(mixing), geometry.look(place, flight));
    let carried = |sample| {
        let mut carried = carry(place, &tuned, look.at(sample), faint);
        // Most of what was traced is faint.
        carried.paths.shrink_to_fit();
        carried
    };
    (0..=flight.places.len()).map(carried).collect()
}

impl Weighed for Vec<Carried> {
    fn bytes(&self) -> usize {
        let of = |carried: &Carried| {
            size_of_val(carried)
                + size_of_val(&*carried.paths)
                + size_of_val(&*carried.people)
                + size_of_val(&*carried.people_power)
        };
        self.iter().map(of).sum()
    }
}

impl Mixing {
    /// Scattered power between isotropic ends over that of the direct distance through free space.
    pub fn scatter_share(&self, carried: &Carried) -> f64 {
        match (self.surroundings, carried.paths.first()) {
            (Some(class), Some(direct)) if carried.behind > 0.0 => {
                let frequency = Hertz(self.wavenumber * SPEED_OF_LIGHT / std::f64::consts::TAU);
                let excess = class.blocked_excess(Metres(direct.length), frequency);
                scatter_share(self.surroundings_k, carried.behind, excess)
            }
            _ => 1.0 / self.surroundings_k,
        }
    }
}

/// The power below which a bounced path is left out, over that of the direct distance through free space; see [`FAINT`].
pub fn faint(mixing: &Mixing) -> f64 {
    (-FAINT).ratio() / mixing.surroundings_k
}

/// Carries one instant, its crowd included; `faint` as in [`carry_paths`].
pub fn carry(place: &Place, tuned: &TunedScene<'_>, paths: &Paths, faint: f64) -> Carried {
    let mut carried = carry_paths(tuned, paths, SlabModel::Averaged, faint);
    let mut draws = Vec::new();
    people_draws(place, paths, &carried, tuned.wavelength(), &mut draws);
    if !draws.is_empty() {
        carried.set_people(&draws);
    }
    carried
}

/// A path whose power, whatever the antennas, is less than this part of the strongest one's is minor to the crowd.
const MINOR: f64 = 0.1;

/// The amplitudes that people leave of the paths of an instant in every draw of the crowd, the same people all round a lap: draw
/// after draw, each with one amplitude per path; empty when nobody is near.
pub fn people_draws(place: &Place, paths: &Paths, carried: &Carried, wavelength: Metres, draws: &mut Vec<f64>) {
    let power = |path: &CarriedPath| path.transfer.norm_squared();
    let strongest = carried.paths.iter().map(power).fold(0.0, f64::max);
    let kept = carried.paths.iter().map(|path| (path.traced, power(path) < MINOR * strongest));
    place.crowd.amplitudes(paths, kept, wavelength, draws);
}

/// Carries traced paths at a scene's carrier, without a crowd. Bounced paths whose power is less than `faint` times that
/// of the direct distance through free space, whatever their polarization, are left out; behind buildings, where the scatter
/// is weaker, less than [`FAINT_BEHIND`] of it.
pub fn carry_paths(tuned: &TunedScene<'_>, paths: &Paths, slabs: SlabModel, faint: f64) -> Carried {
    let frequency = tuned.frequency();
    let wavenumber = wavenumber(frequency);
    let mut carried = Carried { paths: Vec::with_capacity(paths.len()), ..Carried::default() };
    for (traced, path) in paths.iter().enumerate() {
        let spread = field_factor(Metres(path.length), frequency);
        let bounced = tuned.interaction(&path, slabs);
        let is_direct = path.bounces.is_empty();
        if is_direct {
            carried.free_space = spread * spread;
        }
        // What the bounces leave is known cheaply, and tells how little obstacles have to leave for the path to be faint.
        let spread = spread * tuned.faces_amplitude(&path);
        let unobstructed = bounced.norm_squared() * spread * spread;
        let least =
            if is_direct { 0.0 } else { faint * carried.free_space * (1.0 - (1.0 - FAINT_BEHIND) * carried.behind) };
        if unobstructed * LIT_MAXIMUM * LIT_MAXIMUM < least {
            carried.faint += 1;
            continue;
        }
        let amplitude = tuned.path_amplitude_above(&path, least / unobstructed);
        if amplitude * amplitude * unobstructed < least {
            carried.faint += 1;
            continue;
        }
        if is_direct {
            carried.behind = behind(tuned, &path, amplitude * amplitude);
        }
        let transfer = bounced * (phasor(-wavenumber * path.length) * (spread * amplitude));
        carried.paths.push(CarriedPath {
            depart: path.depart,
            arrive: path.arrive,
            transfer,
            length: path.length,
            obstruction: amplitude * amplitude,
            traced,
        });
    }
    carried
}

/// How far the direct path is behind buildings, when obstacles leave so much of its power: only what buildings cost counts,
/// and no more than the whole.
fn behind(tuned: &TunedScene<'_>, direct: &TracedPath<'_>, left: f64) -> f64 {
    let buildings = direct.obstructions.iter().filter(|obstruction| obstruction.kind == ObstacleKind::Building);
    let total = -Db::from_ratio(left).0;
    if total <= 10.0 {
        return 0.0;
    }
    let most = buildings.map(|obstruction| tuned.shadow(obstruction).loss.0).fold(0.0, f64::max);
    behind_buildings(Db(total.min(most)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rf::material::Material;
    use crate::site::{Building, Ground, Layer, Obstacle, PlanPoint, Scene, Site, Wall};

    const CARRIER: Hertz = Hertz(5.8e9);

    fn layer() -> Layer {
        Layer { material: Material::Concrete, thickness: Metres(0.3) }
    }

    fn block() -> Building {
        let footprint = [(12.0, -9.0), (18.0, -9.0), (18.0, 9.0), (12.0, 9.0)];
        Building {
            footprint: footprint.map(|(x, y)| PlanPoint::new(x, y)).to_vec(),
            height: Metres(6.0),
            layer: layer(),
        }
    }

    fn wall() -> Obstacle {
        let (from, to) = (PlanPoint::new(22.0, -9.0), PlanPoint::new(22.0, 9.0));
        Obstacle::Wall(Wall { from, to, base: Metres(0.0), top: Metres(4.0), layer: layer() })
    }

    fn scene(obstacles: Vec<Obstacle>) -> Scene {
        let ground = Ground { material: Material::MediumDryGround, roughness: Metres(0.0) };
        Scene::new(&Site { ground, obstacles }, CARRIER).expect("the site is possible")
    }

    /// A street: K 9 dB.
    fn street() -> Mixing {
        let surroundings = Surroundings::StreetOrSquare;
        Mixing {
            wavenumber: wavenumber(CARRIER),
            line_sigma: 0.3,
            surroundings_k: surroundings.k().ratio(),
            surroundings: Some(surroundings),
            xpr: surroundings.xpr(),
        }
    }

    /// An aircraft at this height, 30 m from a seat at 1.5 m.
    fn carried(scene: &Scene, height: f64) -> Carried {
        let tuned = scene.tuned(CARRIER).expect("the materials have properties at the carrier");
        let mut paths = Paths::new();
        scene.trace(&Vec3::new(0.0, 0.0, 1.5), &Vec3::new(30.0, 0.0, height), BounceOrder::Direct, &mut paths);
        carry_paths(&tuned, &paths, SlabModel::Averaged, 0.0)
    }

    #[test]
    fn scatter_falls_behind_a_building_and_behind_nothing_else() {
        let share = |obstacles| Db::from_ratio(street().scatter_share(&carried(&scene(obstacles), 1.5))).0;
        // At 30 m the class loses 35.3 log 30 + 22.4 + 21.3 log 5.8 = 90.80 dB without line of sight and 32.4 + 21 log 30 +
        // 20 log 5.8 = 78.69 dB with it: 12.11 dB, against a K of 9.
        assert!((share(vec![Obstacle::Building(block())]) + 12.115).abs() < 0.01);
        for other in [Obstacle::Stall(block()), wall()] {
            assert!((share(vec![other]) + 9.0).abs() < 1e-9);
        }
        assert!((share(Vec::new()) + 9.0).abs() < 1e-9);
        // Another class is another matter: a village's paths without line of sight are hardly weaker.
        let village = Mixing { surroundings: Some(Surroundings::Village), ..street() };
        let behind = carried(&scene(vec![Obstacle::Building(block())]), 1.5);
        assert!((Db::from_ratio(village.scatter_share(&behind)).0 + 9.0).abs() < 1e-9);
        let unknown = Mixing { surroundings: None, ..street() };
        assert!((Db::from_ratio(unknown.scatter_share(&behind)).0 + 9.0).abs() < 1e-9);
    }

    #[test]
    fn the_scatter_does_not_jump_as_an_aircraft_dives_behind_a_building() {
        let yards = [vec![Obstacle::Building(block())], vec![Obstacle::Building(block()), wall()]];
        for yard in yards.map(scene) {
            let (mut before, mut least, mut most) = (None, f64::INFINITY, f64::NEG_INFINITY);
            for step in 0..=6000 {
                let height = 30.0 - 0.004_75 * f64::from(step);
                let share = Db::from_ratio(street().scatter_share(&carried(&yard, height))).0;
                if let Some(before) = before {
                    let jump: f64 = share - before;
                    assert!(jump.abs() < 0.1, "at {height} m: {jump} dB");
                }
                (before, least, most) = (Some(share), least.min(share), most.max(share));
            }
            assert!((most + 9.0).abs() < 1e-9 && least < -12.0, "{least} to {most}");
        }
    }
}
