//! How much work it is to judge an entry, from a few instants of its lap: what would take too long is refused before it is begun,
//! with what to change.
//!
//! The estimate counts and does not look at a clock: it says the same on every machine, on the page and in the command.

use super::flight::Flight;
use super::kit::Kit;
use super::outage::FIELD;
use super::paths::{self, Mixing};
use super::place::Place;
use super::receiver::{Hearing, ReceiverPorts, aircraft_end};
use super::report::Notice;
use crate::plan::document::Plan;
use crate::plan::limits;
use crate::site::{BounceOrder, Images, Paths};

/// So many instants stand for a lap.
const PROBES: usize = 12;

/// Samples times ways of bouncing: a lap of no more is judged without an estimate, in less than a second.
const SMALL: usize = 250_000;

/// The most nanoseconds that judging an entry may take on one core of a desk's computer, by the estimate, which is seldom too low:
/// about twice as many in a browser, so that the first verdict comes within ten seconds there.
pub const MOST: f64 = 5e9;

/// The field of a plan that a refusal names: the number to raise.
pub const PATH: &str = "course.step_m";

/// What an instant of a lap takes on average; counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Work {
    /// Ways of bouncing that are tried.
    pub ways: f64,
    /// Paths found.
    pub paths: f64,
    /// What stands in their way.
    pub obstructions: f64,
    /// Ports times cases, for all choices of hands.
    pub cases: f64,
    /// The same, each times the paths that matter.
    pub carried: f64,
    /// The same, each times the pairs of paths that matter.
    pub pairs: f64,
    /// Choices of hands with a picture that freezes.
    pub freezing: f64,
}

impl Work {
    /// Nanoseconds for an instant; fitted to what `benches/limits.rs` measures, and a third more.
    pub fn cost(&self) -> f64 {
        let tracing = 20.0 * self.ways + 1000.0 * self.paths + 480.0 * self.obstructions;
        let hearing = 3000.0 * self.cases + 30.0 * self.carried + 8.0 * self.pairs;
        tracing + hearing + 300_000.0 * self.freezing
    }

    /// What an instant takes on average, from some of them. `images` are the receiver's; the kit is that
    /// of the first of so many choices of hands.
    pub fn of(
        (place, flight): (&Place, &Flight),
        images: &Images<'_>,
        (kit, choices): (&Kit, usize),
        mixing: &Mixing,
    ) -> Self {
        let mut work = Self { ways: images.ways() as f64, ..Self::default() };
        let Ok(tuned) = place.scene.tuned(kit.frequency) else { return work };
        let (faint, mut paths, mut hearing) = (paths::faint(mixing), Paths::new(), Hearing::default());
        let receiver = ReceiverPorts::of(kit);
        let (samples, choices) = (flight.places.len(), choices as f64);
        let probes = PROBES.min(samples);
        for probe in 0..probes {
            let sample = (2 * probe + 1) * samples / (2 * probes);
            images.trace(&flight.places[sample], &mut paths);
            let carried = paths::carry(place, &tuned, &paths, faint);
            let pose = &flight.poses[sample];
            hearing.hear(&receiver, (&aircraft_end(kit, &pose.attitude), &pose.velocity), &carried, mixing);
            let share = 1.0 / probes as f64;
            let cases: usize = hearing.heard().iter().map(|heard| heard.cases.len()).sum();
            let (cases, matter) = (share * cases as f64 * choices, carried.paths.len() as f64);
            work.paths += share * paths.len() as f64;
            work.obstructions += share * paths.iter().map(|path| path.obstructions.len()).sum::<usize>() as f64;
            work.cases += cases;
            work.carried += cases * matter;
            work.pairs += cases * matter * matter;
        }
        work.freezing = if receiver.fading(FIELD).freezes() { choices } else { 0.0 };
        work
    }
}

/// Refuses an entry that would take too long.
///
/// # Errors
/// A blocking notice that says what to change.
pub fn allow(
    plan: &Plan,
    (place, flight): (&Place, &Flight),
    images: &Images<'_>,
    kit: (&Kit, usize),
    mixing: &Mixing,
) -> Result<(), Notice> {
    let samples = flight.places.len();
    if samples * images.ways() <= SMALL {
        return Ok(());
    }
    let work = Work::of((place, flight), images, kit, mixing);
    let share = work.cost() * samples as f64 / MOST;
    if share <= 1.0 { Ok(()) } else { Err(too_much(plan, samples, work.paths, share, images.order())) }
}

/// Work is as good as in proportion to the number of samples.
fn too_much(plan: &Plan, samples: usize, paths: f64, share: f64, order: BounceOrder) -> Notice {
    let step = (plan.course.step_m * share * 100.0).ceil() / 100.0;
    let fewer = if order == BounceOrder::Double { "follow fewer reflections" } else { "take obstacles away" };
    let cure = if limits::STEP_M.contains(step) && samples as f64 / share > limits::LAP_SAMPLES.min as f64 {
        format!("raise the course step from {:.2} to {step:.2} m, or {fewer}", plan.course.step_m)
    } else {
        fewer.to_owned()
    };
    Notice::blocking(
        PATH,
        format!("{samples} samples of the lap with about {paths:.0} paths each would take too long; {cure}"),
    )
}
