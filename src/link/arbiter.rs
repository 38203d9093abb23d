//! Simulated laps beside the verdict: whether they put it on the same side of its edges, and what to believe where not.
//!
//! The closed form judges while things move; simulated laps are the arbiter. Their interval covers the draws of the laps, so
//! that an edge within it is too near to call.

use super::breakups::Breakups;
use super::report::{EntryReport, Verdict};
use super::verdict::verdict;
use crate::units::Db;

/// How simulated laps stand to a verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Opinion {
    /// They say the same.
    Alike,
    /// They lie on the other side of an edge, and their interval does not reach it: this is what they say.
    Otherwise(Verdict),
    /// They lie on the other side of an edge that lies within their interval: this edge.
    TooNear(Db),
}

/// How laps with a reserve of `laps` and its interval from `low` to `high` stand to the verdict on a reserve of the closed form.
/// The edges of a verdict are no reserve at all and the wanted one.
pub fn opinion(closed: Db, laps: Db, (low, high): (Db, Db), wanted: Db) -> Opinion {
    let says = verdict(laps, wanted);
    if says == verdict(closed, wanted) {
        return Opinion::Alike;
    }
    let is_between = |edge: &Db| (closed < *edge) != (laps < *edge);
    // With both edges between the two, the one that is nearer to what the laps say decides.
    let is_within = |edge: &Db| low <= *edge && *edge <= high;
    let off = |edge: &Db| (*edge - laps).0.abs();
    let edges = [Db(0.0), wanted].into_iter().filter(is_between).filter(is_within);
    match edges.min_by(|one, other| off(one).total_cmp(&off(other))) {
        Some(edge) => Opinion::TooNear(edge),
        None => Opinion::Otherwise(says),
    }
}

/// What laps say where the verdict is another, with both figures and what to believe; nothing where they agree.
pub fn sentence(entry: &EntryReport, laps: &Breakups, wanted: Db) -> Option<String> {
    let (closed, simulated) = (Db(entry.reserve_db), Db(laps.reserve_db));
    let figures = || {
        format!(
            "The formula says {} ({}), simulated laps say {} ({})",
            entry.verdict.word(),
            spare_words(closed.0, None),
            verdict(simulated, wanted).word(),
            spare_words(simulated.0, None),
        )
    };
    match opinion(closed, simulated, (Db(laps.reserve_low_db), Db(laps.reserve_high_db)), wanted) {
        Opinion::Alike => None,
        Opinion::Otherwise(says) => {
            Some(format!("{}. Simulated laps are the arbiter: take it as {}.", figures(), says.word()))
        }
        Opinion::TooNear(edge) => {
            let edge = if edge == Db(0.0) { "0 dB".to_owned() } else { format!("the wanted {:.1} dB", edge.0) };
            Some(format!("{}: too near to call, {edge} lie within their interval. Plan for the worse.", figures()))
        }
    }
}

/// A reserve, with its band if there is one: "4.1 ± 4.0 dB to spare", "2.0 dB too little".
pub fn spare_words(reserve: f64, sigma: Option<f64>) -> String {
    let band = sigma.map_or_else(String::new, |sigma| format!(" ± {sigma:.1}"));
    let words = if reserve < 0.0 { "too little" } else { "to spare" };
    format!("{:.1}{band} dB {words}", reserve.abs())
}

/// The reserve of simulated laps with its interval: "9.5 dB to spare (likely 9.1 to 9.9)".
pub fn reserve_words(laps: &Breakups) -> String {
    let Breakups { reserve_db, reserve_low_db: low, reserve_high_db: high, .. } = laps;
    let interval = match (*low < 0.0, *high < 0.0) {
        (false, _) => format!("{low:.1} to {high:.1}"),
        (true, true) if *reserve_db < 0.0 => format!("{:.1} to {:.1}", -high, -low),
        (true, _) => format!("{:.1} too little to {:.1} to spare", -low, high.max(0.0)),
    };
    format!("{} (likely {interval})", spare_words(*reserve_db, None))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;

    fn of(closed: f64, laps: f64, low: f64, high: f64) -> Opinion {
        opinion(Db(closed), Db(laps), (Db(low), Db(high)), Db(6.0))
    }

    #[test]
    fn laps_on_the_same_side_say_nothing_and_on_the_other_decide() {
        assert_eq!(of(5.4, 4.9, 4.5, 5.5), Opinion::Alike);
        // The interval reaches over the edge, but both figures lie on one side.
        assert_eq!(of(5.4, 5.9, 5.5, 6.3), Opinion::Alike);
        assert_eq!(of(5.4, 6.8, 6.4, 7.2), Opinion::Otherwise(Verdict::Clear));
        assert_eq!(of(5.4, 6.3, 5.9, 6.7), Opinion::TooNear(Db(6.0)));
        assert_eq!(of(-0.8, 0.6, 0.2, 1.0), Opinion::Otherwise(Verdict::Thin));
        assert_eq!(of(-0.8, 0.6, -0.1, 1.2), Opinion::TooNear(Db(0.0)));
        assert_eq!(of(0.4, -0.3, -0.9, -0.1), Opinion::Otherwise(Verdict::Short));
        // Both edges between the two: the one at the laps counts.
        assert_eq!(of(-1.0, 6.2, 5.8, 6.6), Opinion::TooNear(Db(6.0)));
        assert_eq!(of(-1.0, 7.0, 6.6, 7.5), Opinion::Otherwise(Verdict::Clear));
    }

    #[test]
    fn edges_belong_to_the_better_verdict_on_both_sides() {
        assert_eq!(of(6.0, 6.0, 5.5, 6.5), Opinion::Alike);
        assert_eq!(of(0.0, 0.0, -0.5, 0.5), Opinion::Alike);
        assert_eq!(of(6.0, 5.999, 5.5, 6.5), Opinion::TooNear(Db(6.0)));
        // Without a reserve wanted, short and clear have one edge.
        assert_eq!(opinion(Db(-0.5), Db(0.5), (Db(0.2), Db(0.8)), Db(0.0)), Opinion::Otherwise(Verdict::Clear));
    }

    #[test]
    fn a_reserve_is_said_as_what_is_left_or_missing() {
        assert_eq!(spare_words(4.13, Some(3.96)), "4.1 ± 4.0 dB to spare");
        assert_eq!(spare_words(-2.0, None), "2.0 dB too little");
        assert_eq!(spare_words(-0.01, None), "0.0 dB too little", "a short entry has nothing to spare");
    }

    #[test]
    fn both_figures_and_what_to_believe_are_said() {
        let plan = demo();
        let mut evaluator = Evaluator::default();
        let report = evaluator.report(&plan, Effort::FULL);
        let mut laps = evaluator.breakups(&plan, &report, Effort::FULL, 2).remove(0);
        let mut entry = report.entries[0].clone();
        (entry.reserve_db, entry.verdict) = (5.4, Verdict::Thin);
        (laps.reserve_db, laps.reserve_low_db, laps.reserve_high_db) = (6.8, 6.4, 7.2);
        assert_eq!(
            sentence(&entry, &laps, Db(6.0)).as_deref(),
            Some(
                "The formula says thin (5.4 dB to spare), simulated laps say clear (6.8 dB to spare). Simulated laps are the arbiter: take it as clear."
            )
        );
        assert_eq!(reserve_words(&laps), "6.8 dB to spare (likely 6.4 to 7.2)");
        (laps.reserve_db, laps.reserve_low_db) = (6.2, 5.8);
        assert_eq!(
            sentence(&entry, &laps, Db(6.0)).as_deref(),
            Some(
                "The formula says thin (5.4 dB to spare), simulated laps say clear (6.2 dB to spare): too near to call, the wanted 6.0 dB lie within their interval. Plan for the worse."
            )
        );
        assert_eq!(sentence(&entry, &laps, Db(5.0)), None);
        (laps.reserve_db, laps.reserve_low_db, laps.reserve_high_db) = (-0.4, -1.1, 0.2);
        assert_eq!(reserve_words(&laps), "0.4 dB too little (likely 1.1 too little to 0.2 to spare)");
        laps.reserve_high_db = -0.1;
        assert_eq!(reserve_words(&laps), "0.4 dB too little (likely 0.1 to 1.1)");
    }
}
