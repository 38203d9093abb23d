//! A map of a site: what one receiver makes of an aircraft that hovers at each place of it.
//!
//! The aircraft hangs level at every cell's middle, its nose to the north, at one height above the ground: the antenna
//! stands as it is mounted, without the lean of a turn. (An antenna that is mounted aslant therefore hears north and south
//! differently.) It is moved by as much as the plan's flight line, so that close phases wash out as they do in a lap.
//! Nothing is left out against a lap's sample: the same paths, the same draws of the crowd, the same fading. The
//! receiver's switching rule holds without its hysteresis, which needs a past: a slow receiver listens to the port with
//! the better mean, a fast one is out when all ports are.
//!
//! A [`Map`] is a value that is computed step by step ([`Map::step`]), coarse cells first. Every cell is computed once and
//! by itself, so that the numbers are the same, bit for bit, for any size of step and any number of workers that take a
//! share each.
//!
//! ```
//! use lapmargin::link::Evaluator;
//! use lapmargin::link::map::MapRequest;
//! let plan = lapmargin::plan::demo::demo();
//! let request = MapRequest { cells: 100, ..MapRequest::usual(&plan, 0) };
//! let mut map = Evaluator::default().map(&plan, &request)?;
//! while map.step(25).is_pending() {}
//! assert!(map.values().iter().any(|value| value.is_some_and(|reserve| reserve > 0.0)));
//! # Ok::<(), lapmargin::link::map::MapError>(())
//! ```

mod contour;
mod grid;
mod reading;
mod spot;

use std::ops::RangeInclusive;
use std::rc::Rc;

use super::lap::Goal;
use super::place::Place;
use super::progress::Progress;
use super::report::Notice;
use crate::plan::document::Plan;
use crate::plan::limits::GATE_HEIGHT_M;
use crate::rf::Vec3;
use crate::rf::polarization::Hand;
use crate::site::BounceOrder;
use crate::units::Metres;

pub use contour::{Contour, Label, SitePoint, contour, labels};
pub use grid::{CELLS, Grid, STRIDES, USUAL_CELLS};
pub use reading::{
    HAND_DECIDES_DB, HAND_HARDLY_DB, Summary, class, class_words, emphasis, level_text, levels, limits, on_scale,
    summary, value_text,
};
use spot::Spot;

/// Heights at which an aircraft may hover: those of gates.
pub const HEIGHT: RangeInclusive<Metres> = Metres(GATE_HEIGHT_M.min)..=Metres(GATE_HEIGHT_M.max);

/// What a map shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Mean level over the threshold, dB.
    Margin,
    /// Probability that fading takes the level under the threshold, 0 to 1.
    Outage,
    /// What this place could lose before it fails by itself, dB: the largest drop of its level with which its outage is
    /// still no more than the target allows (one less the wanted picture share). Negative where it fails already. A lap
    /// may pass such places, since its share is a mean; it cannot have many.
    Reserve,
    /// How much the hand matters, dB: margin with an antenna of the ports' hand on the aircraft less margin with the other
    /// hand, each heard by the port that is then the better. The antenna is the entry's own, or a typical circular omni
    /// in place of a linear one.
    HandMatters,
}

impl Quantity {
    /// Its unit; empty for a probability.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Margin | Self::Reserve | Self::HandMatters => "dB",
            Self::Outage => "",
        }
    }
}

/// The antenna on the aircraft of a map. [`Quantity::HandMatters`] compares both hands and does not ask.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MapHand {
    /// The entry's own; of an unknown hand the worse at every place.
    AsStated,
    /// Turned to a hand, or to linear, as [`super::Evaluator::compare_hands`] turns it.
    Turned(Option<Hand>),
}

/// What to map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapRequest {
    /// Position of the entry, whose receiver hears.
    pub entry: usize,
    /// What to show.
    pub quantity: Quantity,
    /// The antenna on the aircraft.
    pub hand: MapHand,
    /// Height above ground, within [`HEIGHT`].
    pub height: Metres,
    /// About how many cells, within [`CELLS`].
    pub cells: usize,
    /// How often paths bounce.
    pub bounces: BounceOrder,
}

impl MapRequest {
    /// The reserve of an entry as it is, at the mean height of the gates, with [`USUAL_CELLS`] and one bounce.
    pub fn usual(plan: &Plan, entry: usize) -> Self {
        let gates = &plan.course.gates;
        let mean = gates.iter().map(|gate| gate.height_m).sum::<f64>() / gates.len().max(1) as f64;
        // To a tenth of a metre, as a person would say it.
        let height = ((mean * 10.0).round() / 10.0).clamp(GATE_HEIGHT_M.min, GATE_HEIGHT_M.max);
        Self {
            entry,
            quantity: Quantity::Reserve,
            hand: MapHand::AsStated,
            height: Metres(height),
            cells: USUAL_CELLS,
            bounces: BounceOrder::Single,
        }
    }
}

/// Why there is no map.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MapError {
    /// There is no such entry.
    #[error("there is no entry {got}; this plan has {count}")]
    Entry {
        /// The entry asked for.
        got: usize,
        /// How many there are.
        count: usize,
    },
    /// The height is out of range.
    #[error("a height of {got} is outside {} to {}", HEIGHT.start(), HEIGHT.end())]
    Height {
        /// The height asked for.
        got: Metres,
    },
    /// Too few or too many cells.
    #[error("a map of {got} cells is outside {} to {}", CELLS.start(), CELLS.end())]
    Cells {
        /// The number asked for.
        got: usize,
    },
    /// The site has no area.
    #[error("a site of {width} by {depth} m has no area to map")]
    Site {
        /// Its width, metres.
        width: f64,
        /// Its depth, metres.
        depth: f64,
    },
    /// The hand was asked about, and there is none at the receiver.
    #[error("every port of this receiver is linear and hears both hands alike")]
    NoHand,
    /// A part of the plan cannot be computed with.
    #[error("{path}: {text}")]
    Plan {
        /// Path of the part.
        path: String,
        /// What is wrong with it.
        text: String,
    },
}

impl From<Notice> for MapError {
    fn from(Notice { path, text, .. }: Notice) -> Self {
        Self::Plan { path, text }
    }
}

/// A map, whole or in the making.
#[derive(Debug)]
pub struct Map {
    grid: Grid,
    height: f64,
    bounces: BounceOrder,
    goal: Goal,
    place: Rc<Result<Place, Notice>>,
    spot: Spot,
    /// The cells of this map's share, in the order in which they are computed.
    order: Vec<u32>,
    done: usize,
    values: Vec<Option<f64>>,
}

impl Map {
    /// A map of which nothing is computed yet. `place` is the plan's own.
    ///
    /// # Errors
    /// [`MapError`], before memory is taken for the cells.
    pub(super) fn new(plan: &Plan, request: &MapRequest, place: Rc<Result<Place, Notice>>) -> Result<Self, MapError> {
        let grid = Grid::new(plan.site.width_m, plan.site.depth_m, request.cells)?;
        if !HEIGHT.contains(&request.height) {
            return Err(MapError::Height { got: request.height });
        }
        let goal = Goal::of(plan);
        let spot = Spot::new(plan, request, &goal)?;
        let prepared = place.as_ref().as_ref().map_err(Notice::clone)?;
        prepared.in_the_open(spot.receiver()).map_err(|why| Notice::blocking("seats", why))?;
        prepared.scene.tuned(spot.frequency()).map_err(|error| Notice::blocking("site", error.to_string()))?;
        let values = vec![None; grid.cells()];
        Ok(Self {
            height: request.height.0,
            bounces: request.bounces,
            goal,
            order: grid.order(),
            done: 0,
            values,
            grid,
            place,
            spot,
        })
    }

    /// Takes a share of the cells only, of every `of` cells of each level one (see [`Grid::share`]), and passes over the
    /// first `skip` of them. To be called before the first step.
    pub fn take_share(&mut self, share: usize, of: usize, skip: usize) {
        self.order = self.grid.share(share, of);
        self.done = skip.min(self.order.len());
    }

    /// Computes up to so many cells more.
    ///
    /// A step begins with some tenths of a millisecond of preparation: steps of some hundred cells are good ones.
    pub fn step(&mut self, budget: usize) -> Progress {
        let until = self.order.len().min(self.done.saturating_add(budget.max(1)));
        let cells: Vec<usize> = self.order[self.done..until].iter().map(|&cell| cell as usize).collect();
        let places: Vec<SitePoint> = cells.iter().map(|&cell| self.grid.centre(cell)).collect();
        for (cell, value) in cells.into_iter().zip(self.values_at(&places)) {
            self.values[cell] = value;
        }
        self.done = until;
        self.progress()
    }

    /// The numbers at places on the site, east and north in metres, which need not be middles of cells.
    pub fn values_at(&mut self, places: &[SitePoint]) -> Vec<Option<f64>> {
        let place = self.place.as_ref().as_ref().expect("a map is only begun on a place that could be prepared");
        let tuned = place.scene.tuned(self.spot.frequency()).expect("tried when the map was begun");
        let images = place.scene.images(self.spot.receiver(), self.bounces);
        let mut value =
            |&(east, north): &SitePoint| self.spot.value(place, &tuned, &images, &Vec3::new(east, north, self.height));
        places.iter().map(&mut value).collect()
    }

    /// How far it has come.
    pub fn progress(&self) -> Progress {
        Progress { done: self.done, of: self.order.len() }
    }

    /// The cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Where the receiver's antennas are: east and north, metres.
    pub fn receiver(&self) -> SitePoint {
        (self.spot.receiver().x, self.spot.receiver().y)
    }

    /// The cells of this map's share in their order; the first [`Progress::done`] are computed or were passed over.
    pub fn order(&self) -> &[u32] {
        &self.order
    }

    /// The number of every cell, row after row from the south-west corner; `None` where it is not computed yet, inside
    /// a building, and on the receiving antenna.
    pub fn values(&self) -> &[Option<f64>] {
        &self.values
    }

    /// What the numbers are measured by.
    pub fn goal(&self) -> &Goal {
        &self.goal
    }
}
