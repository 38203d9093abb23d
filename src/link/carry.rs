//! From traced paths to carried ones: the geometry of a lap seen from one place, then the same at one frequency.

use nalgebra::Matrix3;

use super::evaluator::Place;
use super::explain::Met;
use super::flight::Flight;
use super::hear::{Carried, CarriedPath};
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

/// Traces a lap and the pad to a place, with up to one bounce.
///
/// # Errors
/// A sentence when the place lies inside a building.
pub fn trace_lap(place: &Place, flight: &Flight, to: &Vec3) -> Result<Geometry, String> {
    if let Some(obstacle) = place.scene.inside(to) {
        let name = place.names.get(usize::from(obstacle)).map_or("a building", String::as_str);
        return Err(format!("this seat stands inside {name}: move it outside"));
    }
    let trace = |from: &Vec3| {
        let mut paths = Paths::new();
        place.scene.trace(from, to, BounceOrder::Single, &mut paths);
        paths
    };
    Ok(Geometry { paths: flight.places.iter().chain(std::iter::once(&flight.pad_place)).map(trace).collect() })
}

/// Carries a traced lap at one frequency. Empty when a material of the site has no properties there.
pub fn carry_lap(place: &Place, geometry: &Geometry, frequency: Hertz) -> Vec<Carried> {
    let Ok(tuned) = place.scene.tuned(frequency) else { return Vec::new() };
    geometry.paths.iter().map(|paths| carry(place, &tuned, paths)).collect()
}

/// Carries one instant, its crowd included.
fn carry(place: &Place, tuned: &TunedScene<'_>, paths: &Paths) -> Carried {
    let mut carried = carry_paths(tuned, paths, SlabModel::Averaged);
    place.crowd.amplitudes(paths, tuned.wavelength(), &mut carried.people);
    carried
}

/// Carries traced paths at a scene's carrier, without a crowd.
pub fn carry_paths(tuned: &TunedScene<'_>, paths: &Paths, slabs: SlabModel) -> Carried {
    let frequency = tuned.frequency();
    let wavenumber = wavenumber(frequency);
    let mut carried = Carried { paths: Vec::with_capacity(paths.len()), ..Carried::default() };
    for path in paths.iter() {
        let amplitude = tuned.path_amplitude(&path);
        let spread = field_factor(Metres(path.length), frequency);
        let factor = phasor(-wavenumber * path.length) * (spread * amplitude);
        let transfer = if path.bounces.is_empty() {
            carried.free_space = spread * spread;
            Matrix3::from_diagonal_element(factor)
        } else {
            tuned.interaction(&path, slabs) * factor
        };
        carried.paths.push(CarriedPath {
            depart: path.depart,
            arrive: path.arrive,
            transfer,
            length: path.length,
            obstruction: amplitude * amplitude,
        });
    }
    carried
}

/// What every path of an instant met, in words.
pub fn met(place: &Place, paths: &Paths, frequency: Hertz) -> Vec<Met> {
    let Ok(tuned) = place.scene.tuned(frequency) else { return Vec::new() };
    paths.iter().map(|path| met_path(place, &tuned, &path)).collect()
}

/// What the direct path met, at the place's own carrier.
pub fn met_direct(place: &Place, tuned: &TunedScene<'_>, paths: &Paths) -> Met {
    paths.get(0).map(|path| met_path(place, tuned, &path)).unwrap_or_default()
}

fn met_path(place: &Place, tuned: &TunedScene<'_>, path: &TracedPath<'_>) -> Met {
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
