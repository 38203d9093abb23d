//! A picture that stands still after a lost field: a field is gone when it, or one of so many before it, is lost.
//!
//! What is slow (people, tilts, the phase of two waves) stays as it is while a picture recovers, so that fields that follow
//! each other are lost together or not at all as far as that goes; what is fast differs from field to field. So for each
//! state of what is slow the expected number of losses in the fields before is summed, and its exponential averaged. A loss
//! that goes on from the field before is no new one: losses begin so much more seldom as one field is like the next.

use super::{Fading, Nodes, Prepared, Threshold};
use crate::link::crowd_cells::{CELLS, CrowdCases, share_of};
use crate::rf::fading::channel::NODES;

/// More alike than this no two fields are taken: the number of losses that begin is worked out from it.
const MOST_ALIKE: f64 = 0.99;

/// Share of fields that are lost or frozen, with the threshold at so many times its own power.
pub(super) fn lost_share(fading: &Fading, threshold: Threshold) -> f64 {
    let draws = if fading.samples.iter().all(|sample| sample.crowd == CrowdCases::ONE) { 1 } else { CELLS.len() };
    let tilts = fading.samples.iter().map(|sample| sample.tilts).max().unwrap_or(1);
    let states = draws * tilts * NODES;
    let count = fading.samples.len();
    // Expected losses in each sample and state, with what comes before; each sample after the other, twice round.
    let mut losses = vec![0.0; count * states];
    let mut shares = vec![[1.0 / NODES as f64; NODES]; count * draws * tilts];
    let mut any = false;
    let mut likeness = vec![0.0; count];
    let (mut nodes, mut memory) = (Nodes::default(), Prepared::default());
    for (index, sample) in fading.samples.iter().enumerate() {
        let fields = sample.weight * fading.lap;
        likeness[index] = fading.case(sample.case(0), &mut memory).ports[0].going_on(0, threshold.0).min(MOST_ALIKE);
        for draw in 0..sample.crowd.count() {
            for tilt in 0..sample.tilts {
                let case = fading.case(sample.case(draw * sample.tilts + tilt), &mut memory);
                let is_lost = nodes.fill(fading.selection, case, threshold);
                any |= is_lost;
                let mean = nodes.mean().lost;
                let mut lost_at: [f64; NODES] = std::array::from_fn(|node| nodes.losses[node].lost);
                if nodes.count == NODES {
                    // What is slow against a field may still turn while a picture stands.
                    let turning = case.ports.iter().find(|port| port.count() == NODES);
                    turning.inspect(|port| port.smear(&mut lost_at, fading.frozen + 1.0));
                }
                // A state of the whole lap that the sample does not know is like any that it does.
                for draw in sample.crowd.cells(draw).take(draws) {
                    for tilt in (tilt..tilts).step_by(sample.tilts) {
                        let world = draw * tilts + tilt;
                        for node in 0..NODES {
                            let (share, lost) = if nodes.count == NODES {
                                (nodes.shares[node], lost_at[node])
                            } else {
                                (1.0 / NODES as f64, mean)
                            };
                            shares[index * draws * tilts + world][node] = share;
                            if is_lost {
                                losses[index * states + world * NODES + node] =
                                    -libm::log1p(-lost.min(1.0 - 1e-9)) * fields * (1.0 - likeness[index]);
                            }
                        }
                    }
                }
            }
        }
    }
    if !any {
        return 0.0;
    }
    let mut gone = 0.0;
    for world in 0..draws * tilts {
        let likely = if draws == 1 { 1.0 } else { share_of(world / tilts) };
        for node in 0..NODES {
            let column = |index: usize| losses[(index % count) * states + world * NODES + node];
            gone += likely * standing(fading, &likeness, &column, |index| shares[index * draws * tilts + world][node]);
        }
    }
    gone / tilts as f64
}

/// The share of the lap in which one state has lost its picture: `losses` are expected in each sample, `share` is how
/// likely the state is there.
fn standing(fading: &Fading, likeness: &[f64], losses: &impl Fn(usize) -> f64, share: impl Fn(usize) -> f64) -> f64 {
    let count = fading.samples.len();
    let length = |index: usize| (fading.samples[index % count].weight * fading.lap).max(1e-12);
    let reach = (fading.frozen + 1.0).min(fading.lap);
    let mut gone = 0.0;
    // A window of the fields up to the end of a sample, its first sample in part.
    let (mut first, mut inside, mut sum) = (0, 0.0, 0.0);
    for index in 0..2 * count {
        inside += length(index);
        sum += losses(index);
        while inside - length(first) >= reach && first < index {
            inside -= length(first);
            sum -= losses(first);
            first += 1;
        }
        if index >= count {
            let beyond = (inside - reach).max(0.0) / length(first);
            // A loss of this field that began before counts with those that begin in it.
            let alike = likeness[index - count];
            let going_on = losses(index) / length(index) * alike / (1.0 - alike);
            let expected = (sum - losses(first) * beyond).max(0.0) + going_on;
            if expected > 0.0 {
                gone += share(index - count) * fading.samples[index - count].weight * -libm::expm1(-expected);
            }
        }
    }
    gone
}
