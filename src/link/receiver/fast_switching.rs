//! A receiver that changes ports within a fade.
//!
//! What two antennas of one receiver hear of the traced paths fades alike: they stand a few centimetres apart, and a line
//! that is flown half a metre off turns the phases of both. Only the scatter from all round differs. So the ports' outages
//! are multiplied for each state of what they share, and then averaged over those states: `E_g[Π P(|m + g|² + scatter)]`,
//! with `|m + g|²` as a Rice channel of its own, at quantiles that lie close where it is low.

use super::{Cases, level};
use crate::link::hear::k_of;
use crate::link::kit::Kit;
use crate::link::outage::Fading;
use crate::rf::fading::fade_margin;
use crate::units::Db;

/// The edges of the states by probability, each four times the one before.
const EDGES: [f64; 8] = [0.0, 2.4e-4, 9.8e-4, 3.9e-3, 0.015_6, 0.062_5, 0.25, 1.0];

/// Shares of the paths' power below which what the ports share does not fade.
const NOTHING_SHARED: f64 = 1e-3;

/// Adds one of a sample's equally likely cases to each of `fadings`, every one with its own threshold, so many decibels
/// above the kit's.
pub fn push_case(fadings: &mut [(&mut Fading, Db)], kit: &Kit, cases: &Cases<'_>, case: usize) {
    let weight = 1.0 / cases.count() as f64;
    let ports = cases.at_all_ports(case).map(|heard| &heard.case);
    let fades = ports.clone().any(|case| case.shared > NOTHING_SHARED * (case.steady + case.shared));
    let states = if fades { &EDGES[..] } else { &[0.0, 1.0] };
    for edges in states.windows(2) {
        let [low, high] = [edges[0], edges[1]];
        // The middle of a state by logarithm; of the lowest, which reaches to zero, and of the highest by probability.
        let middle = if low > 0.0 && high < 1.0 { (low * high).sqrt() } else { 0.5 * (low + high) };
        for (port, case) in ports.clone().enumerate() {
            let paths = case.steady + case.shared;
            let now = if fades && case.shared > 0.0 {
                paths * (-fade_margin(case.steady / case.shared, middle)).ratio()
            } else {
                paths
            };
            let scatter = (case.mean - paths).max(0.0);
            let k = k_of(now, now + scatter);
            for (fading, higher) in fadings.iter_mut() {
                fading.push_term(k, level(kit, port, now + scatter) - kit.threshold - *higher);
            }
        }
        for (fading, _) in fadings.iter_mut() {
            fading.weigh_case(weight * (high - low));
        }
    }
}
