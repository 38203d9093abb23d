//! The paths of an instant and of a lap at one frequency, before any antenna is chosen: *traced* paths are geometry alone,
//! *carried* ones know what the way does to a wave.

use nalgebra::Matrix3;
use num_complex::Complex64;

use super::flight::Flight;
use super::place::Place;
use crate::rf::free_space::{field_factor, wavenumber};
use crate::rf::{Vec3, phasor};
use crate::site::{BounceOrder, Paths, SlabModel, TunedScene};
use crate::units::{Db, Hertz, Metres};

/// A path at one frequency, between two places, before any antenna is chosen.
#[derive(Clone, Debug)]
pub struct CarriedPath {
    /// Unit direction in which the wave leaves the transmitter.
    pub depart: Vec3,
    /// Unit direction in which it travels when it reaches the receiver.
    pub arrive: Vec3,
    /// From the field vector radiated to the field vector that arrives: `(λ/4πd) e^{-jkd}` times the product of
    /// interaction matrices times the amplitude that obstructions leave.
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
    /// How many traced paths were left out as too weak to matter.
    pub faint: u32,
    /// Amplitudes that people leave: draw after draw, each with one amplitude per path. Empty when nobody is near.
    pub people: Vec<f64>,
}

impl Carried {
    /// The number of draws of the crowd that matter here; at least one.
    pub fn draws(&self) -> usize {
        if self.people.is_empty() { 1 } else { self.people.len() / self.paths.len().max(1) }
    }

    /// Mean over the draws of the power that people leave on a path.
    pub fn people_factor(&self, path: usize) -> f64 {
        if self.people.is_empty() {
            return 1.0;
        }
        let each = self.people.chunks_exact(self.paths.len());
        let draws = each.len() as f64;
        each.map(|amplitudes| amplitudes[path] * amplitudes[path]).sum::<f64>() / draws
    }
}

/// How the phases of paths and the scatter mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixing {
    /// Wavenumber, rad/m.
    pub wavenumber: f64,
    /// Standard deviation of the flown position, in metres; zero gives the exact coherent sum.
    pub line_sigma: f64,
    /// K-factor of the surroundings between isotropic ends, as a power ratio.
    pub surroundings_k: f64,
    /// Cross-polarization ratio of the scatter.
    pub xpr: Db,
}

/// The paths from every sample of a lap, and from the start pad behind them, to one place.
#[derive(Clone, Debug)]
pub struct Geometry {
    /// One item per sample, then the pad's.
    pub paths: Vec<Paths>,
}

/// Traces a lap and the pad to a place.
///
/// # Errors
/// A sentence when the place lies inside a building.
pub fn trace_lap(place: &Place, flight: &Flight, to: &Vec3, bounces: BounceOrder) -> Result<Geometry, String> {
    place.in_the_open(to)?;
    let images = place.scene.images(to, bounces);
    let trace = |from: &Vec3| {
        let mut paths = Paths::new();
        images.trace(from, &mut paths);
        paths
    };
    Ok(Geometry { paths: flight.places.iter().chain(std::iter::once(&flight.pad_place)).map(trace).collect() })
}

/// A bounced path this much below the scatter of the surroundings, both between isotropic ends, is left out: even with
/// antennas that favour it by 10 dB it would change the level by less than 0.05 dB.
pub const FAINT: Db = Db(30.0);

/// Carries a traced lap at one frequency. Empty when a material of the site has no properties there.
pub fn carry_lap(place: &Place, geometry: &Geometry, frequency: Hertz, mixing: &Mixing) -> Vec<Carried> {
    let Ok(tuned) = place.scene.tuned(frequency) else { return Vec::new() };
    let faint = faint(mixing);
    geometry.paths.iter().map(|paths| carry(place, &tuned, paths, faint)).collect()
}

/// The power below which a bounced path is left out, over that of the direct distance through free space; see [`FAINT`].
pub fn faint(mixing: &Mixing) -> f64 {
    (-FAINT).ratio() / mixing.surroundings_k
}

/// Carries one instant, its crowd included; `faint` as in [`carry_paths`].
pub fn carry(place: &Place, tuned: &TunedScene<'_>, paths: &Paths, faint: f64) -> Carried {
    let mut carried = carry_paths(tuned, paths, SlabModel::Averaged, faint);
    place.crowd.amplitudes(paths, tuned.wavelength(), &mut carried.people);
    if carried.faint > 0 {
        let kept = |amplitudes: &[f64]| carried.paths.iter().map(|path| amplitudes[path.traced]).collect::<Vec<_>>();
        carried.people = carried.people.chunks_exact(paths.len()).flat_map(kept).collect();
    }
    carried
}

/// Carries traced paths at a scene's carrier, without a crowd. Bounced paths whose power is less than `faint` times that
/// of the direct distance through free space, whatever their polarization, are left out.
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
        let unobstructed = bounced.norm_squared() * spread * spread;
        let least = if is_direct { 0.0 } else { faint * carried.free_space };
        let amplitude = tuned.path_amplitude_above(&path, least / unobstructed);
        if amplitude * amplitude * unobstructed < least {
            carried.faint += 1;
            continue;
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
