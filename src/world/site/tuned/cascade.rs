//! Several screens on one path: a string stretched over the main one, and the others on its halves.

use super::{HANDOVER, MOST_POWER, Parts, TunedScene, smooth_step};
use crate::rf::diffraction::{FIRST_FULL_FIELD_NU, second_edge_excess, shadow_loss};
use crate::site::obstruction::{Edge, Obstruction, Screen};
use crate::site::shadow::LEAST_DISTANCE;
use crate::units::{Db, Metres};

/// Screens on one string whose parts are kept; those of more are worked out again when needed.
const MOST_KEPT: usize = 8;

/// How often the string is divided; deeper parts are multiplied.
const DEEPEST_DIVISION: u32 = 3;

impl TunedScene<'_> {
    /// Power left behind several screens, in order, on one string; when it is certainly below `least`, something below it.
    pub(super) fn screens_power(&self, run: &[Obstruction], string: &Line, division: u32, least: f64) -> f64 {
        let mut product = 1.0;
        let (mut deepest, mut second) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let mut kept = [Parts::FREE; MOST_KEPT];
        for (index, screen) in run.iter().enumerate().filter_map(|(index, one)| Some((index, one.screen()?))) {
            let parts = self.parts(screen, string);
            product *= parts.alone();
            second = second.max(parts.depth.min(deepest));
            deepest = deepest.max(parts.depth);
            if let Some(place) = kept.get_mut(index) {
                *place = parts;
            }
        }
        let both = smooth_step((second - FIRST_FULL_FIELD_NU) / -FIRST_FULL_FIELD_NU);
        if both == 0.0 || division == DEEPEST_DIVISION {
            return product.min(MOST_POWER);
        }
        let together = Together { run, string, kept: &kept, division };
        let mains = || {
            run.iter().enumerate().filter_map(|(index, one)| {
                let parts = self.kept_parts(&together, index, one.screen()?);
                let weight = smooth_step((parts.depth - (deepest - HANDOVER)) / HANDOVER);
                (weight > 0.0).then_some((index, one.screen()?, parts, weight))
            })
        };
        let blend = |behind_main: f64| (both * behind_main + (1.0 - both) * product).min(MOST_POWER);
        if least > 0.0 {
            // Neither half of a string over the main one can leave more than all.
            let most = MOST_POWER * MOST_POWER;
            let bound = mains().map(|(index, _, parts, _)| parts.most_combined(most, self.others(&together, index)));
            let bound = blend(bound.fold(0.0, f64::max));
            if bound < least {
                return bound;
            }
        }
        let (mut sum, mut weights) = (0.0, 0.0);
        for (index, screen, parts, weight) in mains() {
            sum += weight * self.over_main(&together, index, screen, &parts);
            weights += weight;
        }
        blend(sum / weights)
    }

    /// Power left on the straight ray behind all screens but one.
    fn others(&self, together: &Together, index: usize) -> f64 {
        let screens = together.run.iter().enumerate().filter_map(|(other, one)| Some((other, one.screen()?)));
        let others = screens.filter(|&(other, _)| other != index);
        others.map(|(other, screen)| self.kept_parts(together, other, screen).alone()).product()
    }

    fn kept_parts(&self, together: &Together, index: usize, screen: &Screen) -> Parts {
        together.kept.get(index).copied().unwrap_or_else(|| self.parts(screen, together.string))
    }

    /// Power left when the screen with this index is the main one.
    fn over_main(&self, together: &Together, index: usize, screen: &Screen, parts: &Parts) -> f64 {
        let Together { run, string, division, .. } = *together;
        // The string runs over the higher of the two top edges, or between them while one hands over to the other.
        let lean = self.top_nu(&screen.exit, string) - self.top_nu(&screen.entry, string);
        let lean = if lean.is_nan() { 0.5 } else { (0.5 + lean / (2.0 * HANDOVER)).clamp(0.0, 1.0) };
        let between = |one: f64, two: f64| {
            if lean == 0.0 {
                one
            } else if lean == 1.0 {
                two
            } else {
                one + lean * (two - one)
            }
        };
        let at = between(screen.entry.at, screen.exit.at);
        let height = between(screen.entry.offset, screen.exit.offset).max(string.height(at));
        let (first, last) = string.over(at, height);
        let (before, after) = (&run[..index], &run[index + 1..]);
        let over = self.half_power(before, &first, division, (at, height), string)
            * self.half_power(after, &last, division, (at, height), string);
        parts.combined(over, self.others(together, index))
    }

    /// Power left on one half of the string, less the correction for edges that are not independent of the main one.
    fn half_power(&self, run: &[Obstruction], half: &Line, division: u32, main: (f64, f64), whole: &Line) -> f64 {
        let power = self.screens_power(run, half, division + 1, 0.0);
        if power >= 1.0 {
            return power;
        }
        let mut relief = 0.0f64;
        for screen in run.iter().filter_map(Obstruction::screen) {
            let most = [screen.entry, screen.exit].map(|edge| self.relief(&edge, half, main, whole));
            let most = most[0].max(most[1]);
            if most > relief {
                relief = relief.max(self.taper(screen, whole) * most);
            }
        }
        if relief > 0.0 { (power * Db(relief).ratio()).min(1.0) } else { power }
    }

    /// By how much the loss of an edge on its half of the string overstates what it adds to the main edge, dB.
    fn relief(&self, edge: &Edge, half: &Line, main: (f64, f64), whole: &Line) -> f64 {
        let nu = self.top_nu(edge, half);
        if nu <= FIRST_FULL_FIELD_NU {
            return 0.0;
        }
        let single = shadow_loss(nu).0;
        let main_height = main.1 - whole.height(main.0);
        let edge_height = edge.offset - whole.height(edge.at);
        let ((first, second), heights) = if edge.at < main.0 {
            ((edge.at, main.0), [edge_height, main_height])
        } else {
            ((main.0, edge.at), [main_height, edge_height])
        };
        let (a, c) = (whole.distances(first).0, whole.distances(second).1);
        let b = (second - first).max(LEAST_DISTANCE);
        let added = second_edge_excess(Metres(a), Metres(b), Metres(c), heights.map(Metres), Metres(self.wavelength)).0;
        (single - added).max(0.0)
    }
}

/// Screens on one string, with their parts as far as they are kept.
struct Together<'a> {
    run: &'a [Obstruction],
    string: &'a Line,
    kept: &'a [Parts; MOST_KEPT],
    division: u32,
}

/// A straight part of the string over the obstacles: places along the path and heights above the ray.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub(super) start: (f64, f64),
    pub(super) end: (f64, f64),
    /// Length of the whole path.
    pub(super) total: f64,
    /// Whether it is the ray itself, not lifted.
    pub(super) is_whole: bool,
}

impl Line {
    /// The ray itself.
    pub(super) fn whole(total: f64) -> Self {
        Self { start: (0.0, 0.0), end: (total, 0.0), total, is_whole: true }
    }

    pub(super) fn distances(&self, at: f64) -> (f64, f64) {
        ((at - self.start.0).max(LEAST_DISTANCE), (self.end.0 - at).max(LEAST_DISTANCE))
    }

    pub(super) fn scale(&self, at: f64) -> f64 {
        let (before, after) = self.distances(at);
        (1.0 / before + 1.0 / after).sqrt()
    }

    pub(super) fn height(&self, at: f64) -> f64 {
        let length = (self.end.0 - self.start.0).max(LEAST_DISTANCE);
        let share = ((at - self.start.0) / length).clamp(0.0, 1.0);
        self.start.1 + share * (self.end.1 - self.start.1)
    }

    /// The two halves of the string lifted to a point.
    fn over(&self, at: f64, height: f64) -> (Self, Self) {
        let point = (at.clamp(self.start.0, self.end.0), height);
        (Self { end: point, is_whole: false, ..*self }, Self { start: point, is_whole: false, ..*self })
    }
}
