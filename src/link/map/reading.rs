//! How the numbers of a map are read: classes, levels of contours, a summary.

use super::Quantity;
use crate::link::lap::Goal;
use crate::link::verdict::order;

/// A hand that changes the level by less hardly matters: half the power.
pub const HAND_HARDLY_DB: f64 = 3.0;
/// A hand that changes the level by more decides: what two antennas of 3 dB axial ratio keep apart at the worst tilt, in
/// round numbers ([`crate::rf::polarization::worst_isolation`]).
pub const HAND_DECIDES_DB: f64 = 10.0;

/// Decibels from one numbered contour to the next.
const STEP_DB: f64 = 10.0;
/// A round level this near to a class limit is left out: two lines side by side read as one.
const TOO_NEAR_DB: f64 = 5.0;
/// Outages are told apart down to this: below it nothing but the model's own errors would show.
const LEAST_OUTAGE: f64 = 1e-6;

/// A number of a map on the scale on which it is interpolated, and on which classes are counted: decibels as they are; an
/// outage as minus its decimal logarithm, because fading is even on that scale, and so that more is better.
pub fn on_scale(quantity: Quantity, value: f64) -> f64 {
    match quantity {
        Quantity::Outage => -libm::log10(value.max(LEAST_OUTAGE)),
        Quantity::Margin | Quantity::Reserve | Quantity::HandMatters => value,
    }
}

/// The two limits between the three classes, on the scale. A value on a limit belongs to the class above.
///
/// Margin and reserve: nothing, and the wanted reserve, as for verdicts. Outage: what the target allows, and a tenth of it.
/// The hand: [`HAND_HARDLY_DB`] and [`HAND_DECIDES_DB`].
pub fn limits(quantity: Quantity, goal: &Goal) -> [f64; 2] {
    match quantity {
        Quantity::Margin | Quantity::Reserve => [0.0, goal.reserve.0],
        Quantity::Outage => {
            let allowed = on_scale(quantity, 1.0 - goal.picture_share);
            [allowed, allowed + 1.0]
        }
        Quantity::HandMatters => [HAND_HARDLY_DB, HAND_DECIDES_DB],
    }
}

/// The class of a value: 0 below both limits, 1 between them, 2 above.
pub fn class(limits: &[f64; 2], scaled: f64) -> usize {
    limits.iter().filter(|&&limit| scaled >= limit).count()
}

/// Which levels get a contour, on the scale, from the least to the greatest: both limits of the classes, and round
/// numbers between `least` and `most`.
pub fn levels(quantity: Quantity, limits: &[f64; 2], least: f64, most: f64) -> Vec<f64> {
    let (step, too_near) = match quantity {
        Quantity::Outage => (1.0, 0.2),
        Quantity::Margin | Quantity::Reserve | Quantity::HandMatters => (STEP_DB, TOO_NEAR_DB),
    };
    let mut levels = Vec::new();
    // A contour on the least value itself would surround nothing.
    let first = (least / step).floor() as i64 + 1;
    // Nor does one on the greatest.
    let last = (most / step).ceil() as i64 - 1;
    for number in first..=last {
        let level = number as f64 * step;
        if limits.iter().all(|limit| (limit - level).abs() >= too_near) {
            levels.push(level);
        }
    }
    levels.extend(limits.iter().filter(|&&limit| (least..=most).contains(&limit)));
    let order = order(&levels);
    order.into_iter().map(|place| levels[place]).collect()
}

/// A level of a contour as its number is written on it, without the unit.
pub fn level_text(quantity: Quantity, level: f64) -> String {
    let value = match quantity {
        // In percent: 2 on the scale is 1 %.
        Quantity::Outage => libm::exp10(2.0 - level),
        Quantity::Margin | Quantity::Reserve | Quantity::HandMatters => level,
    };
    // Three digits are enough for a line, and none that say nothing.
    let digits = 3.0 - libm::floor(libm::log10(value.abs().max(1e-9))) - 1.0;
    let unit = libm::exp10(digits.max(0.0));
    ((value * unit).round() / unit + 0.0).to_string()
}

/// What the three classes are called: their limits with the unit.
pub fn class_words(quantity: Quantity, limits: &[f64; 2]) -> [String; 3] {
    let [low, high] = limits.map(|limit| level_text(quantity, limit));
    match quantity {
        Quantity::Outage => [format!("above {low} %"), format!("{high} to {low} %"), format!("up to {high} %")],
        Quantity::Margin | Quantity::Reserve | Quantity::HandMatters => {
            [format!("below {low} dB"), format!("{low} to {high} dB"), format!("{high} dB or more")]
        }
    }
}

/// How strongly a class is to be marked, 0 to 2: most where the picture is lost, or where the hand decides.
pub fn emphasis(quantity: Quantity, class: usize) -> usize {
    match quantity {
        Quantity::HandMatters => class.min(2),
        Quantity::Margin | Quantity::Outage | Quantity::Reserve => 2 - class.min(2),
    }
}

/// A number of the map in words, with its unit.
pub fn value_text(quantity: Quantity, value: f64) -> String {
    match quantity {
        Quantity::Outage if value < LEAST_OUTAGE => "below 0.0001 %".to_owned(),
        Quantity::Outage => format!("{} %", level_text(quantity, on_scale(quantity, value))),
        Quantity::Margin | Quantity::Reserve | Quantity::HandMatters => {
            // Without the sign of a zero.
            format!("{:.1} dB", (value * 10.0).round() / 10.0 + 0.0)
        }
    }
}

/// A map in a few numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// The least value, in the map's unit.
    pub least: f64,
    /// The value that half the cells are below.
    pub median: f64,
    /// The greatest value.
    pub most: f64,
    /// Share of the area with a value that lies in each class, from the lowest class on the scale.
    pub shares: [f64; 3],
}

/// Sums a map up; `None` when no cell has a value.
pub fn summary(quantity: Quantity, limits: &[f64; 2], values: &[Option<f64>]) -> Option<Summary> {
    let known: Vec<f64> = values.iter().flatten().copied().collect();
    let sorted = order(&known);
    let (&first, &last) = (sorted.first()?, sorted.last()?);
    let mut shares = [0.0; 3];
    for &value in &known {
        shares[class(limits, on_scale(quantity, value))] += 1.0 / known.len() as f64;
    }
    Some(Summary { least: known[first], median: known[sorted[sorted.len() / 2]], most: known[last], shares })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Db;

    const GOAL: Goal = Goal { picture_share: 0.99, reserve: Db(6.0) };

    #[test]
    fn a_value_on_a_limit_belongs_to_the_class_above() {
        let reserve = limits(Quantity::Reserve, &GOAL);
        assert_eq!([-0.1, 0.0, 5.9, 6.0].map(|value| class(&reserve, value)), [0, 1, 1, 2]);
        let outage = limits(Quantity::Outage, &GOAL);
        let of = |value| class(&outage, on_scale(Quantity::Outage, value));
        assert_eq!([0.5, 0.0101, 0.0099, 0.00101, 0.00099, 0.0].map(of), [0, 0, 1, 1, 2, 2]);
    }

    #[test]
    fn levels_are_round_numbers_and_the_limits() {
        let reserve = limits(Quantity::Reserve, &GOAL);
        assert_eq!(levels(Quantity::Reserve, &reserve, -23.0, 31.0), [-20.0, -10.0, 0.0, 6.0, 20.0, 30.0]);
        assert_eq!(levels(Quantity::Reserve, &reserve, 7.0, 9.0), [] as [f64; 0]);
        let outage = limits(Quantity::Outage, &GOAL);
        let texts: Vec<String> = levels(Quantity::Outage, &outage, 0.0, 4.2)
            .into_iter()
            .map(|level| level_text(Quantity::Outage, level))
            .collect();
        assert_eq!(texts, ["10", "1", "0.1", "0.01"]);
        assert_eq!(level_text(Quantity::Margin, -10.0), "-10");
        assert_eq!(level_text(Quantity::Margin, 4.5), "4.5");
        assert_eq!(level_text(Quantity::Margin, -0.0), "0");
    }

    #[test]
    fn a_summary_counts_cells_with_a_value_only() {
        let values = [Some(-4.0), None, Some(2.0), Some(8.0), Some(40.0), None];
        let summary = summary(Quantity::Margin, &limits(Quantity::Margin, &GOAL), &values).unwrap();
        assert_eq!((summary.least, summary.median, summary.most), (-4.0, 8.0, 40.0));
        assert_eq!(summary.shares, [0.25, 0.25, 0.5]);
        assert_eq!(super::summary(Quantity::Margin, &[0.0, 6.0], &[None]), None);
    }
}
