//! The places of a lap in three classes, and the stretches that lie in one of them.

use crate::plan::document::Targets;

use super::path_text::Point;

/// What counts as good enough at one place of the lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Margin, in dB.
    pub reserve_db: f64,
    /// Most outage: what the target leaves of a whole picture.
    pub outage: f64,
}

impl Wanted {
    /// What a plan's targets ask of every place.
    pub fn of(targets: &Targets) -> Self {
        Self { reserve_db: targets.wanted_reserve_db, outage: 1.0 - targets.picture_share }
    }
}

/// How a place of the lap stands to the threshold and to what is wanted.
///
/// The margin of the local mean level alone would call places ample where bounces make the level flicker, although the
/// verdict turns on them; so outage counts too.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarginClass {
    /// The level is below the threshold.
    Below,
    /// Above it, but with less margin or more outage than wanted.
    Close,
    /// Margin and outage are as wanted.
    Ample,
}

impl MarginClass {
    /// All classes, best first, as the key lists them.
    pub const ALL: [Self; 3] = [Self::Ample, Self::Close, Self::Below];

    /// The class of a place with a margin and an outage. A margin that is no number counts as below.
    pub fn of(margin_db: f64, outage: f64, wanted: Wanted) -> Self {
        if margin_db >= wanted.reserve_db.max(0.0) && outage <= wanted.outage {
            Self::Ample
        } else if margin_db >= 0.0 {
            Self::Close
        } else {
            Self::Below
        }
    }

    /// The end of the class names in the style sheets.
    pub fn suffix(self) -> &'static str {
        match self {
            Self::Ample => "ample",
            Self::Close => "close",
            Self::Below => "below",
        }
    }

    /// What the class says, for the key.
    pub fn words(self) -> &'static str {
        match self {
            Self::Ample => "clear",
            Self::Close => "thin",
            Self::Below => "short",
        }
    }
}

/// Neighbouring samples of the same class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClassRun {
    /// Their class.
    pub class: MarginClass,
    /// The first of them.
    pub start: usize,
    /// One beyond the last of them.
    pub end: usize,
}

/// The runs of a column of classes, in order; together they cover it without a gap.
pub fn runs(classes: &[MarginClass]) -> Vec<ClassRun> {
    let mut runs: Vec<ClassRun> = Vec::new();
    for (index, class) in classes.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if run.class == *class => run.end = index + 1,
            _ => runs.push(ClassRun { class: *class, start: index, end: index + 1 }),
        }
    }
    runs
}

/// A stroke of the flight line that lies in one class.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Its class.
    pub class: MarginClass,
    /// Its points in flight order.
    pub points: Vec<Point>,
}

/// The closed line through the samples, cut where the class changes: halfway between two samples. Samples and classes
/// must be equally many; what is beyond the shorter of the two is left out.
pub fn closed_strokes(points: &[Point], classes: &[MarginClass]) -> Vec<Stroke> {
    let count = points.len().min(classes.len());
    if count < 2 {
        return Vec::new();
    }
    let (points, classes) = (&points[..count], &classes[..count]);
    let after = |index: usize| points[(index + 1) % count];
    let before = |index: usize| points[(index + count - 1) % count];
    runs(classes)
        .into_iter()
        .map(|run| {
            let mut stroke = Vec::with_capacity(run.end - run.start + 2);
            stroke.push(halfway(before(run.start), points[run.start]));
            stroke.extend_from_slice(&points[run.start..run.end]);
            stroke.push(halfway(points[run.end - 1], after(run.end - 1)));
            Stroke { class: run.class, points: stroke }
        })
        .collect()
}

fn halfway(from: Point, to: Point) -> Point {
    [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0]
}

#[cfg(test)]
mod tests {
    use super::MarginClass::{Ample, Below, Close};
    use super::*;

    #[test]
    fn limits_belong_to_the_better_class() {
        let wanted = Wanted { reserve_db: 6.0, outage: 0.01 };
        let classes = [6.0, 5.99, 0.0, -0.01, f64::NAN].map(|margin| MarginClass::of(margin, 0.0, wanted));
        assert_eq!(classes, [Ample, Close, Close, Below, Below]);
        assert_eq!([0.01, 0.0101, f64::NAN].map(|outage| MarginClass::of(9.0, outage, wanted)), [Ample, Close, Close]);
        // A wanted reserve below nothing does not turn a lost picture into an ample one.
        assert_eq!(MarginClass::of(-1.0, 0.0, Wanted { reserve_db: -3.0, outage: 1.0 }), Below);
    }

    #[test]
    fn runs_cover_the_column_without_a_gap() {
        let classes = [Ample, Ample, Close, Below, Below, Below, Ample];
        let runs = runs(&classes);
        assert_eq!(runs.iter().map(|run| run.end - run.start).collect::<Vec<_>>(), [2, 1, 3, 1]);
        assert!(runs.windows(2).all(|pair| pair[0].end == pair[1].start && pair[0].class != pair[1].class));
        assert_eq!((runs[0].start, runs[3].end), (0, classes.len()));
        assert!(super::runs(&[]).is_empty());
    }

    #[test]
    fn strokes_meet_halfway_and_close_the_lap() {
        let points = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        let strokes = closed_strokes(&points, &[Ample, Ample, Below, Ample]);
        assert_eq!(strokes.len(), 3);
        assert_eq!(strokes[0].points.last(), Some(&[10.0, 5.0]));
        assert_eq!(strokes[1].points, [[10.0, 5.0], [10.0, 10.0], [5.0, 10.0]]);
        // The last stroke ends where the first begins.
        assert_eq!(strokes[2].points.last(), strokes[0].points.first());
    }
}
