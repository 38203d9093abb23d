//! Reading a report's columns for the drawings: the port in use, the place of the cursor, and the ranges of axes.

use crate::link::report::{EntryReport, LapColumns, PortColumns, Report};

use super::margin_class::{MarginClass, Wanted};
use super::path_text::{PathText, Point};
use super::ruler::Scale;

/// The report of the entry at a position in the plan; `None` when it could not be judged.
pub fn entry_report(report: &Report, entry: usize) -> Option<&EntryReport> {
    report.entries.iter().find(|candidate| candidate.index == entry)
}

/// A quantity of the port in use, over the lap's samples.
pub fn in_use(entry: &EntryReport, quantity: fn(&PortColumns) -> &Vec<f64>) -> Vec<f64> {
    let value = |(sample, port): (usize, &u8)| {
        let column = entry.ports.get(usize::from(*port)).map(quantity);
        column.and_then(|column| column.get(sample)).copied().unwrap_or(f64::NAN)
    };
    entry.together.port.iter().enumerate().map(value).collect()
}

/// The classes of the lap's samples: margin of the port in use, outage of the receiver.
pub fn classes(entry: &EntryReport, wanted: Wanted) -> Vec<MarginClass> {
    let margins = in_use(entry, |port| &port.margin_db);
    let places = margins.into_iter().zip(&entry.together.outage);
    places.map(|(margin, outage)| MarginClass::of(margin, *outage, wanted)).collect()
}

/// The sample nearest to a distance along the line, which is taken round the lap; zero for a lap without samples.
pub fn sample_at(lap: &LapColumns, distance_m: f64) -> usize {
    if !(lap.length_m > 0.0 && distance_m.is_finite()) || lap.distance_m.is_empty() {
        return 0;
    }
    let wanted = distance_m.rem_euclid(lap.length_m);
    let after = lap.distance_m.partition_point(|distance| *distance < wanted);
    // The neighbour after the last sample is the first one, a lap further on.
    let gap_after = lap.distance_m.get(after).copied().unwrap_or(lap.length_m + lap.distance_m[0]) - wanted;
    let gap_before = after.checked_sub(1).map_or(f64::INFINITY, |before| wanted - lap.distance_m[before]);
    if gap_before <= gap_after { after - 1 } else { after % lap.distance_m.len() }
}

/// The gates before and after a distance along the line; they are the same when a course has one gate. `None` without
/// gates.
pub fn gates_around(lap: &LapColumns, distance_m: f64) -> Option<(usize, usize)> {
    let count = lap.gate_distance_m.len();
    let passed = lap.gate_distance_m.partition_point(|gate| *gate <= distance_m + 1e-9);
    (count > 0).then(|| ((passed + count - 1) % count, passed % count))
}

/// The samples of a stretch that starts at a distance and may run over the end of the lap, in flight order.
pub fn stretch_samples(lap: &LapColumns, start_m: f64, length_m: f64) -> Vec<usize> {
    let count = lap.distance_m.len();
    if count == 0 || length_m.is_nan() || length_m < 0.0 {
        return Vec::new();
    }
    let first = sample_at(lap, start_m);
    let last = if length_m >= lap.length_m { (first + count - 1) % count } else { sample_at(lap, start_m + length_m) };
    let steps = (last + count - first) % count;
    (0..=steps).map(|step| (first + step) % count).collect()
}

/// Least and most of the levels that the strip shows: all that matter round the threshold, in whole tens, and what is
/// far below it cut off, because it is equally lost. Columns may be empty or of other laps.
pub fn level_range<'a>(threshold_dbm: f64, good_dbm: f64, columns: impl Iterator<Item = &'a [f64]>) -> (f64, f64) {
    let levels = columns.flatten().copied().filter(|level| level.is_finite());
    let (least, most) = levels
        .fold((threshold_dbm - 6.0, good_dbm.max(threshold_dbm) + 6.0), |(least, most), level| {
            (least.min(level), most.max(level))
        });
    let floor = threshold_dbm - 24.0;
    (((least.max(floor) - 2.0) / 10.0).floor() * 10.0, ((most + 2.0) / 10.0).ceil() * 10.0)
}

/// A column drawn over distance; values outside the scale are held at its ends, and what is no number breaks the line.
pub fn curve(distance_m: &[f64], values: &[f64], along: Scale, up: Scale) -> String {
    let mut path = PathText::new();
    let mut pen_down = false;
    for (distance, value) in distance_m.iter().zip(values) {
        if value.is_finite() {
            let point = [along.place(*distance), up.place_within(*value)];
            if pen_down {
                path.line_to(point)
            } else {
                path.move_to(point)
            };
        }
        pen_down = value.is_finite();
    }
    path.text()
}

/// Distance between two bars of [`bars`] and the height of the lowest, in pixels.
const BAR: f64 = 4.0;

/// Upright strokes from zero wherever a column over distance is above it, as tall as the largest value near each; never
/// too low to be seen.
pub fn bars(distance_m: &[f64], values: &[f64], along: Scale, up: Scale) -> String {
    let mut path = PathText::new();
    let mut tallest = (f64::NAN, 0.0);
    let mut draw = |(x, value): (f64, f64)| {
        if value > 0.0 {
            path.polyline(&[[x, up.at_least], [x, up.place_within(value).min(up.at_least - BAR)]]);
        }
    };
    for (distance, value) in distance_m.iter().zip(values) {
        let x = ((along.place(*distance) - along.at_least) / BAR).floor() * BAR + along.at_least + BAR / 2.0;
        if x != tallest.0 {
            draw(tallest);
            tallest = (x, 0.0);
        }
        tallest.1 = value.max(tallest.1);
    }
    draw(tallest);
    path.text()
}

/// The area between two columns over distance, as one outline.
pub fn area(distance_m: &[f64], lower: &[f64], upper: &[f64], along: Scale, up: Scale) -> String {
    let place = |(distance, value): (&f64, &f64)| [along.place(*distance), up.place_within(*value)];
    let mut outline: Vec<Point> = distance_m.iter().zip(upper).map(place).collect();
    let back: Vec<Point> = distance_m.iter().zip(lower).map(place).collect();
    outline.extend(back.into_iter().rev());
    outline.retain(|[_, y]| y.is_finite());
    let mut path = PathText::new();
    path.polygon(&outline);
    path.text()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lap() -> LapColumns {
        LapColumns {
            distance_m: (0..10).map(|index| f64::from(index) * 2.0).collect(),
            gate_distance_m: vec![0.0, 7.0, 15.0],
            length_m: 20.0,
            ..LapColumns::default()
        }
    }

    #[test]
    fn the_nearest_sample_is_found_round_the_lap() {
        let lap = lap();
        for (distance, sample) in [(0.0, 0), (0.9, 0), (1.1, 1), (18.9, 9), (19.2, 0), (20.0, 0), (-2.0, 9), (41.8, 1)]
        {
            assert_eq!(sample_at(&lap, distance), sample, "{distance}");
        }
        assert_eq!(sample_at(&LapColumns::default(), 3.0), 0);
        assert_eq!(sample_at(&lap, f64::NAN), 0);
    }

    #[test]
    fn a_place_lies_between_the_gates_around_it() {
        let lap = lap();
        assert_eq!(gates_around(&lap, 3.0), Some((0, 1)));
        assert_eq!(gates_around(&lap, 7.0), Some((1, 2)));
        assert_eq!(gates_around(&lap, 16.0), Some((2, 0)));
        assert_eq!(gates_around(&LapColumns::default(), 1.0), None);
    }

    #[test]
    fn a_stretch_runs_over_the_end_of_the_lap() {
        assert_eq!(stretch_samples(&lap(), 16.0, 6.0), [8, 9, 0, 1]);
        assert_eq!(stretch_samples(&lap(), 4.0, 0.0), [2]);
        assert_eq!(stretch_samples(&lap(), 4.0, 20.0).len(), 10);
        assert!(stretch_samples(&LapColumns::default(), 0.0, 3.0).is_empty());
    }

    #[test]
    fn the_strip_keeps_the_threshold_in_sight_and_cuts_what_is_lost_anyway() {
        assert_eq!(level_range(-85.0, -77.0, [[-60.0, -70.0].as_slice()].into_iter()), (-100.0, -50.0));
        assert_eq!(level_range(-85.0, -77.0, [[-60.0, -250.0].as_slice()].into_iter()), (-120.0, -50.0));
        assert_eq!(level_range(-85.0, -77.0, [[f64::NAN].as_slice()].into_iter()), (-100.0, -60.0));
    }

    #[test]
    fn bars_stand_where_a_column_is_above_zero_and_the_lowest_is_seen() {
        let along = Scale { least: 0.0, most: 10.0, at_least: 100.0, at_most: 200.0 };
        let up = Scale { least: 0.0, most: 1.0, at_least: 20.0, at_most: 0.0 };
        // Ten pixels a metre: 0.05 and 0.3 m share the first bar, 0.5 m has the next.
        let text = bars(&[0.05, 0.3, 0.5, 2.0, 9.9], &[0.25, 0.5, 0.001, 0.0, 2.0], along, up);
        assert_eq!(text, "M102 20L102 10M106 20L106 16M198 20L198 0");
        assert_eq!(bars(&[], &[], along, up), "");
    }

    #[test]
    fn a_gap_breaks_the_curve() {
        let along = Scale { least: 0.0, most: 3.0, at_least: 0.0, at_most: 3.0 };
        let up = Scale { least: 0.0, most: 10.0, at_least: 10.0, at_most: 0.0 };
        let text = curve(&[0.0, 1.0, 2.0, 3.0], &[1.0, f64::NAN, 2.0, 30.0], along, up);
        assert_eq!(text, "M0 9M2 8L3 0");
        assert_eq!(area(&[0.0, 1.0], &[1.0, 1.0], &[2.0, 3.0], along, up), "M0 8L1 7L1 9L0 9Z");
    }
}
