//! Where things lie on the strip, and which gate names find room under it.

use super::ruler::{Scale, round_step};

/// Room left of the plot for the numbers of the level axis, in pixels.
const LEFT: f64 = 58.0;
const RIGHT: f64 = 12.0;
/// Height of the outage plot, the class band, the level plot and the rows under it.
const TOP: f64 = 17.0;
const OUTAGE: f64 = 26.0;
const BAND_GAP: f64 = 5.0;
const BAND: f64 = 10.0;
const BREAKUPS: f64 = 16.0;
const SPREAD: f64 = 26.0;
/// Room for the title of the level axis.
const TITLE: f64 = 17.0;
const WORST_ROW: f64 = 24.0;
const GATE_ROW: f64 = 17.0;
const DISTANCE_ROW: f64 = 18.0;

/// The strip's layout for a width and the ranges of its axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripLayout {
    /// Width of the drawing.
    pub width: f64,
    /// Height of the drawing.
    pub height: f64,
    /// Distance along the line, in metres.
    pub along: Scale,
    /// Level, in dBm, upward.
    pub level: Scale,
    /// Outage, from zero to one, upward.
    pub outage: Scale,
    /// Upper edge of the band of margin classes.
    pub band_top: f64,
    /// Its height.
    pub band_height: f64,
    /// Probability of a breakup, from zero to one, upward.
    pub breakups: Scale,
    /// Spread of delays, in nanoseconds, upward; none when it is not shown.
    pub spread: Option<Scale>,
    /// Where the bracket of the worst stretch lies.
    pub worst_row: f64,
    /// Base line of the gates' names.
    pub gate_row: f64,
    /// Base line of the numbers of the distance axis.
    pub distance_row: f64,
}

impl StripLayout {
    /// The layout for a width and a height of the levels in pixels, a lap's length, a range of levels, and the widest spread
    /// of delays if there is to be a row for it.
    pub fn new(
        width: f64,
        level_height: f64,
        length_m: f64,
        (least_dbm, most_dbm): (f64, f64),
        spread_ns: Option<f64>,
    ) -> Self {
        let width = width.max(LEFT + RIGHT + 100.0);
        let band_top = TOP + OUTAGE + BAND_GAP;
        let breakups_bottom = band_top + BAND + BREAKUPS;
        let spread_bottom = breakups_bottom + if spread_ns.is_some() { BAND_GAP + SPREAD } else { 0.0 };
        let level_top = spread_bottom + TITLE;
        let level_bottom = level_top + level_height;
        let length_m = if length_m > 0.0 { length_m } else { 1.0 };
        Self {
            width,
            height: level_bottom + WORST_ROW + GATE_ROW + DISTANCE_ROW,
            along: Scale { least: 0.0, most: length_m, at_least: LEFT, at_most: width - RIGHT },
            level: Scale { least: least_dbm, most: most_dbm, at_least: level_bottom, at_most: level_top },
            outage: Scale { least: 0.0, most: 1.0, at_least: TOP + OUTAGE, at_most: TOP },
            band_top,
            band_height: BAND,
            breakups: Scale {
                least: 0.0,
                most: 1.0,
                at_least: breakups_bottom,
                at_most: breakups_bottom - BREAKUPS + 2.0,
            },
            spread: spread_ns.map(|most| Scale {
                least: 0.0,
                most: round_step(most),
                at_least: spread_bottom,
                at_most: spread_bottom - SPREAD,
            }),
            worst_row: level_bottom + 7.0,
            gate_row: level_bottom + WORST_ROW + 14.0,
            distance_row: level_bottom + WORST_ROW + GATE_ROW + 14.0,
        }
    }
}

/// Width of a text in pixels, near enough to keep texts apart: the page's figures and small letters are about this wide.
pub fn text_width(text: &str) -> f64 {
    text.chars().count() as f64 * 6.6
}

/// The labels under ticks that are shown, given their places and a long and a short text each: all long ones if they
/// fit side by side, else the short ones, else those short ones that do not touch the one before.
pub fn fitting_labels(places: &[f64], long: &[String], short: &[String]) -> Vec<Option<String>> {
    let apart = |texts: &[String]| {
        places
            .windows(2)
            .zip(texts.windows(2))
            .all(|(place, text)| place[1] - place[0] >= (text_width(&text[0]) + text_width(&text[1])) / 2.0 + 6.0)
    };
    if apart(long) {
        return long.iter().cloned().map(Some).collect();
    }
    let mut end = f64::NEG_INFINITY;
    places
        .iter()
        .zip(short)
        .map(|(place, text)| {
            let half = text_width(text) / 2.0;
            let fits = place - half >= end;
            if fits {
                end = place + half + 4.0;
            }
            fits.then(|| text.clone())
        })
        .collect()
}

/// Where a text of some width is centred so that it stays between two edges, as near as possible to where it belongs.
pub fn held_within(wanted: f64, width: f64, left: f64, right: f64) -> f64 {
    let half = width / 2.0;
    if right - left <= width { (left + right) / 2.0 } else { wanted.clamp(left + half, right - half) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(list: &[&str]) -> Vec<String> {
        list.iter().map(|text| (*text).to_owned()).collect()
    }

    #[test]
    fn names_give_way_to_numbers_and_numbers_to_each_other() {
        let (long, short) = (texts(&["Fountain", "Arch", "Well"]), texts(&["1", "2", "3"]));
        let shown = fitting_labels(&[0.0, 100.0, 200.0], &long, &short);
        assert_eq!(shown, [Some("Fountain".into()), Some("Arch".into()), Some("Well".into())]);
        assert_eq!(fitting_labels(&[0.0, 40.0, 80.0], &long, &short)[0], Some("1".into()));
        assert_eq!(fitting_labels(&[0.0, 3.0, 80.0], &long, &short), [Some("1".into()), None, Some("3".into())]);
    }

    #[test]
    fn rows_follow_each_other_down_the_strip() {
        for spread_ns in [None, Some(33.0)] {
            let layout = StripLayout::new(900.0, 150.0, 120.0, (-100.0, -50.0), spread_ns);
            let spread = layout.spread.iter().flat_map(|spread| [spread.at_most, spread.at_least]);
            let above = [
                layout.outage.at_most,
                layout.outage.at_least,
                layout.band_top,
                layout.breakups.at_most,
                layout.breakups.at_least,
            ];
            let below = [
                layout.level.at_most,
                layout.level.at_least,
                layout.worst_row,
                layout.gate_row,
                layout.distance_row,
                layout.height,
            ];
            let rows: Vec<f64> = above.into_iter().chain(spread).chain(below).collect();
            assert!(rows.windows(2).all(|pair| pair[0] < pair[1]), "{rows:?}");
            assert_eq!(layout.spread.map(|spread| spread.most), spread_ns.map(|_| 50.0));
        }
    }

    #[test]
    fn a_text_stays_on_the_drawing() {
        assert_eq!(held_within(5.0, 60.0, 0.0, 200.0), 30.0);
        assert_eq!(held_within(190.0, 60.0, 0.0, 200.0), 170.0);
        assert_eq!(held_within(100.0, 300.0, 0.0, 200.0), 100.0);
    }
}
