//! From traced paths to carried ones: the geometry of a lap seen from one place, then the same at one frequency.

use super::evaluator::Place;
use super::explain::Met;
use super::flight::Flight;
use super::hear::{Carried, CarriedPath, Mixing};
use crate::rf::free_space::{field_factor, wavenumber};
use crate::rf::{Vec3, phasor};
use crate::site::{BounceOrder, Paths, SlabModel, TracedPath, TunedScene};
use crate::units::{Db, Hertz, Metres};

/// An obstacle outside the first Fresnel zone that costs less than this is not worth naming.
const NO_LOSS: Db = Db(0.05);

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
    in_the_open(place, to)?;
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

/// Refuses a seat inside a building.
///
/// # Errors
/// A sentence that names the building.
pub fn in_the_open(place: &Place, seat: &Vec3) -> Result<(), String> {
    let Some(obstacle) = place.scene.inside(seat) else { return Ok(()) };
    let name = place.names.get(usize::from(obstacle)).map_or("a building", String::as_str);
    Err(format!("this seat stands inside {name}: move it outside"))
}

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

/// What a path met on its way, in words; `tuned` is the place's scene at the carrier.
pub fn met(place: &Place, tuned: &TunedScene<'_>, path: &TracedPath<'_>) -> Met {
    let name = |obstacle: u16| place.names.get(usize::from(obstacle)).cloned().unwrap_or_default();
    let via = path.bounces.iter().map(|bounce| bounce.obstacle.map_or_else(|| "the ground".to_owned(), name)).collect();
    let mut worst: Option<(u16, f64, Db)> = None;
    for obstruction in path.obstructions {
        let shadow = tuned.shadow(obstruction);
        if shadow.loss.0.abs() < NO_LOSS.0 && shadow.clearance > 1.0 {
            continue;
        }
        if worst.is_none_or(|(_, clearance, loss)| (shadow.loss.0, -shadow.clearance) > (loss.0, -clearance)) {
            worst = Some((obstruction.obstacle, shadow.clearance, shadow.loss));
        }
    }
    Met {
        via,
        points_m: path.points().map(|point| [point.x, point.y, point.z]).collect(),
        clearance: worst.map(|(_, clearance, _)| clearance),
        obstructed_by: worst.map(|(obstacle, ..)| name(obstacle)),
    }
}

/// The obstacle that takes most of the direct path, if one takes anything.
pub fn most_in_the_way(tuned: &TunedScene<'_>, paths: &Paths) -> Option<u16> {
    let direct = paths.get(0)?;
    direct
        .obstructions
        .iter()
        .map(|obstruction| (obstruction.obstacle, tuned.shadow(obstruction).loss.0))
        .filter(|&(_, loss)| loss > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(obstacle, _)| obstacle)
}
