//! Contours of a map: lines of one level, the areas above them, and where their numbers stand.
//!
//! Between the middles of cells the numbers are interpolated on triangles: every square of four middles is cut along one
//! diagonal, so that no level can run through a square in two ways. Areas reach to the site's border, and half way to the
//! next cell where there is no value; lines end a little earlier, at the last place that has one.

use super::grid::Grid;

/// A place on the site: east and north, metres.
pub type SitePoint = (f64, f64);

/// One level of a map.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// The level, on the scale of the numbers it was drawn from.
    pub level: f64,
    /// The outlines of everything at the level or above it, each closed (its first point follows its last), with it on
    /// their left: what surrounds a hollow runs clockwise and cuts a hole.
    pub outlines: Vec<Vec<SitePoint>>,
    /// The line itself: the outlines without what runs along borders, and without rings round a cell or two, which are
    /// specks beside a line. A line that closes ends in its first point.
    pub lines: Vec<Vec<SitePoint>>,
}

/// A line of a contour is at least as long as so many cells are wide.
const SHORTEST_LINE: f64 = 4.0;

/// Where a contour's number stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// The contour's level.
    pub level: f64,
    /// Its middle.
    pub at: SitePoint,
    /// Direction of the line there, in degrees counter-clockwise from east, -90 to 90: a number along it is never upside
    /// down.
    pub turn_deg: f64,
}

/// The contour of a level through every `stride`-th cell of a grid along both axes; other cells are not looked at.
///
/// `values` has a number or nothing for every cell. A level of minus infinity outlines all cells with a value.
pub fn contour(grid: &Grid, stride: usize, values: &[Option<f64>], level: f64) -> Contour {
    let lattice = Lattice::new(grid, stride.max(1), values, level);
    let mut contour = Contour { level, outlines: Vec::new(), lines: Vec::new() };
    // Whatever an outline surrounds has a westernmost cell: every outline crosses an edge that runs east.
    let shortest = SHORTEST_LINE * stride.max(1) as f64 * grid.cell_width();
    let mut seen = vec![false; lattice.width * lattice.height];
    for row in 0..lattice.height {
        for column in 0..lattice.width - 1 {
            let start = Edge { column, row, run: Run::East };
            if lattice.is_crossed(start) && !seen[row * lattice.width + column] {
                let ring = lattice.walk(start, &mut seen);
                contour.lines.extend(lines(&ring).into_iter().filter(|line| length(line) >= shortest));
                contour.outlines.push(ring.into_iter().map(|(point, _)| point).collect());
            }
        }
    }
    contour
}

/// Places for numbers on contours: one on every line longer than `room`, and one for every further `spacing` metres;
/// at least `room` apart.
pub fn labels(contours: &[Contour], room: f64, spacing: f64) -> Vec<Label> {
    let mut labels: Vec<Label> = Vec::new();
    for contour in contours {
        for line in &contour.lines {
            let length = length(line);
            if length < room {
                continue;
            }
            let count = (length / spacing.max(room)).max(1.0).floor();
            for number in 0..count as usize {
                let middle = length * (number as f64 + 0.5) / count;
                // A little to either side where another number is in the way.
                let places = [0.0, 0.5, -0.5, 1.0, -1.0].map(|shift| middle + shift * room);
                let free = places.into_iter().filter(|place| (0.0..=length).contains(place)).find(|&place| {
                    let at = along(line, place);
                    labels.iter().all(|label| apart(label.at, at) >= room)
                });
                if let Some(place) = free {
                    let (from, to) = (along(line, place - room / 4.0), along(line, place + room / 4.0));
                    let turn = libm::atan2(to.1 - from.1, to.0 - from.0).to_degrees();
                    let turn_deg = if turn > 90.0 {
                        turn - 180.0
                    } else if turn < -90.0 {
                        turn + 180.0
                    } else {
                        turn
                    };
                    labels.push(Label { level: contour.level, at: along(line, place), turn_deg });
                }
            }
        }
    }
    labels
}

fn length(line: &[SitePoint]) -> f64 {
    line.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
}

fn apart(first: SitePoint, second: SitePoint) -> f64 {
    let (east, north) = (first.0 - second.0, first.1 - second.1);
    (east * east + north * north).sqrt()
}

/// The point of a line after so many metres; its ends before and behind.
fn along(line: &[SitePoint], distance: f64) -> SitePoint {
    let mut rest = distance.max(0.0);
    for pair in line.windows(2) {
        let step = apart(pair[0], pair[1]);
        if rest <= step && step > 0.0 {
            return between(pair[0], pair[1], rest / step);
        }
        rest -= step;
    }
    line.last().copied().unwrap_or_default()
}

fn between(from: SitePoint, to: SitePoint, share: f64) -> SitePoint {
    (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share)
}

/// The parts of a ring whose points are marked, in order.
fn lines(ring: &[(SitePoint, bool)]) -> Vec<Vec<SitePoint>> {
    let Some(gap) = ring.iter().position(|&(_, is_line)| !is_line) else {
        return vec![ring.iter().chain(ring.first()).map(|&(point, _)| point).collect()];
    };
    let turned = ring[gap..].iter().chain(&ring[..gap]);
    let mut lines = Vec::new();
    let mut line = Vec::new();
    for &(point, is_line) in turned.chain(&ring[gap..=gap]) {
        if is_line {
            line.push(point);
        } else if line.len() > 1 {
            lines.push(std::mem::take(&mut line));
        } else {
            line.clear();
        }
    }
    lines
}

/// The way an edge runs from its first node.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Run {
    East,
    North,
    /// North-east, the diagonal of a square.
    Across,
}

/// An edge between two neighbouring nodes, by the first of them.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    column: usize,
    row: usize,
    run: Run,
}

/// One half of a square of nodes, by its south-western node.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Triangle {
    column: usize,
    row: usize,
    /// Below the diagonal, or above it.
    is_lower: bool,
}

impl Edge {
    /// The triangles on either side.
    fn sides(self) -> [Triangle; 2] {
        let Self { column, row, run } = self;
        // The lattice's margin is never crossed, so that nothing is asked of it here.
        let at = |column: usize, row: usize, is_lower| Triangle { column, row, is_lower };
        match run {
            Run::East => [at(column, row, true), at(column, row.wrapping_sub(1), false)],
            Run::North => [at(column, row, false), at(column.wrapping_sub(1), row, true)],
            Run::Across => [at(column, row, true), at(column, row, false)],
        }
    }
}

impl Triangle {
    fn edges(self) -> [Edge; 3] {
        let Self { column, row, is_lower } = self;
        let at = |column, row, run| Edge { column, row, run };
        let others = if is_lower {
            [at(column, row, Run::East), at(column + 1, row, Run::North)]
        } else {
            [at(column, row + 1, Run::East), at(column, row, Run::North)]
        };
        [others[0], others[1], at(column, row, Run::Across)]
    }
}

/// The nodes of a contour: every so many cells, and a margin without values around them.
struct Lattice {
    level: f64,
    width: usize,
    height: usize,
    values: Vec<Option<f64>>,
    easts: Vec<f64>,
    norths: Vec<f64>,
}

impl Lattice {
    fn new(grid: &Grid, stride: usize, values: &[Option<f64>], level: f64) -> Self {
        let (easts, norths) = (
            positions(grid.columns, stride, grid.cell_width(), grid.width),
            positions(grid.rows, stride, grid.cell_depth(), grid.depth),
        );
        let (width, height) = (easts.len(), norths.len());
        let mut nodes = vec![None; width * height];
        for row in 1..height - 1 {
            for column in 1..width - 1 {
                let cell = (row - 1) * stride * grid.columns + (column - 1) * stride;
                nodes[row * width + column] = values.get(cell).copied().flatten();
            }
        }
        Self { level, width, height, values: nodes, easts, norths }
    }

    fn value(&self, column: usize, row: usize) -> Option<f64> {
        self.values[row * self.width + column]
    }

    fn ends(&self, Edge { column, row, run }: Edge) -> [(usize, usize); 2] {
        let other = match run {
            Run::East => (column + 1, row),
            Run::North => (column, row + 1),
            Run::Across => (column + 1, row + 1),
        };
        [(column, row), other]
    }

    fn is_crossed(&self, edge: Edge) -> bool {
        let [first, second] =
            self.ends(edge).map(|(column, row)| self.value(column, row).is_some_and(|value| value >= self.level));
        first != second
    }

    /// Where the level crosses an edge, and whether it does so between two values.
    fn crossing(&self, edge: Edge) -> (SitePoint, bool) {
        let ends = self.ends(edge);
        let [from, to] = ends.map(|(column, row)| (self.easts[column], self.norths[row]));
        match ends.map(|(column, row)| self.value(column, row)) {
            [Some(first), Some(second)] => (between(from, to, (self.level - first) / (second - first)), true),
            _ => (between(from, to, 0.5), false),
        }
    }

    /// Follows the level from an edge that runs east through triangle after triangle until it is back.
    fn walk(&self, start: Edge, seen: &mut [bool]) -> Vec<(SitePoint, bool)> {
        let mut ring = Vec::new();
        // With what is above on the left.
        let [first, _] = self.ends(start);
        let is_high = self.value(first.0, first.1).is_some_and(|value| value >= self.level);
        let (mut edge, mut triangle) = (start, start.sides()[usize::from(!is_high)]);
        loop {
            if edge.run == Run::East {
                seen[edge.row * self.width + edge.column] = true;
            }
            ring.push(self.crossing(edge));
            let onward = triangle.edges().into_iter().find(|&other| other != edge && self.is_crossed(other));
            // A level that enters a triangle leaves it again.
            let Some(next) = onward else { return ring };
            let sides = next.sides();
            triangle = if sides[0] == triangle { sides[1] } else { sides[0] };
            edge = next;
            if edge == start {
                return ring;
            }
        }
    }
}

/// Positions of the nodes along one axis: the middles of every so many cells, and at both ends one so far outside that
/// half way to it is the site's border.
fn positions(count: usize, stride: usize, step: f64, extent: f64) -> Vec<f64> {
    let middles = (0..count).step_by(stride).map(|cell| (cell as f64 + 0.5) * step);
    let mut positions: Vec<f64> = std::iter::once(-0.5 * step).chain(middles).collect();
    let last = positions[positions.len() - 1];
    positions.push(2.0 * extent - last);
    positions
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid() -> Grid {
        Grid::new(80.0, 50.0, 16_000).unwrap()
    }

    fn on(grid: &Grid, value: impl Fn(f64, f64) -> f64) -> Vec<Option<f64>> {
        (0..grid.cells())
            .map(|cell| {
                let (east, north) = grid.centre(cell);
                Some(value(east, north))
            })
            .collect()
    }

    fn area(outlines: &[Vec<SitePoint>]) -> f64 {
        let ring = |ring: &Vec<SitePoint>| {
            let next = ring.iter().cycle().skip(1);
            ring.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>() / 2.0
        };
        outlines.iter().map(ring).sum::<f64>().abs()
    }

    #[test]
    fn the_contours_of_a_cone_are_circles_within_half_a_cell() {
        let grid = grid();
        let middle = (37.3, 26.1);
        let cone = on(&grid, |east, north| 30.0 - apart((east, north), middle));
        for stride in [1, 2, 4, 8] {
            let half = 0.5 * stride as f64 * grid.cell_width();
            for level in [10.0, 15.0, 20.0] {
                let contour = contour(&grid, stride, &cone, level);
                assert_eq!((contour.lines.len(), contour.outlines.len()), (1, 1), "stride {stride} level {level}");
                let line = &contour.lines[0];
                assert_eq!(line.first(), line.last());
                assert!(line.iter().all(|&point| (apart(point, middle) - (30.0 - level)).abs() < half));
            }
        }
        let round = contour(&grid, 1, &cone, 10.0);
        let circle = std::f64::consts::PI * 400.0;
        assert!((area(&round.outlines) - circle).abs() < 0.002 * circle);
    }

    #[test]
    fn areas_reach_the_border_and_leave_out_what_has_no_value() {
        let grid = grid();
        let mut plane = on(&grid, |east, _| east);
        assert!((area(&contour(&grid, 1, &plane, f64::NEG_INFINITY).outlines) - 4000.0).abs() < 1.0);
        let east_of = contour(&grid, 1, &plane, 60.0);
        assert!((area(&east_of.outlines) - 1000.0).abs() < 1.0);
        assert_eq!(east_of.lines.len(), 1);
        assert!(east_of.lines[0].iter().all(|point| (point.0 - 60.0).abs() < 1e-9), "the border is no contour");
        // A building of 10 by 5 m astride the line cuts it in two.
        for (cell, value) in plane.iter_mut().enumerate() {
            let (east, north) = grid.centre(cell);
            if (55.0..65.0).contains(&east) && (20.0..25.0).contains(&north) {
                *value = None;
            }
        }
        let cut = contour(&grid, 1, &plane, 60.0);
        assert_eq!(cut.lines.len(), 2);
        assert!((area(&cut.outlines) - 975.0).abs() < 2.0);
    }

    #[test]
    fn two_hills_and_a_hollow_are_rings_of_their_own() {
        let grid = grid();
        let hills = on(&grid, |east, north| {
            let (one, other) = (apart((east, north), (20.0, 25.0)), apart((east, north), (60.0, 25.0)));
            // The second is a crater.
            if one < other { 15.0 - one } else { 10.0 - (other - 8.0).abs() }
        });
        let rings = contour(&grid, 1, &hills, 5.0);
        assert_eq!((rings.outlines.len(), rings.lines.len()), (3, 3));
        let crater = std::f64::consts::PI * (13.0 * 13.0 - 3.0 * 3.0);
        // The rings wind round what is above them, the hollow's the other way.
        assert!((area(&rings.outlines) - (std::f64::consts::PI * 100.0 + crater)).abs() < 2.0);
        assert_eq!(contour(&grid, 1, &hills, 99.0).outlines.len(), 0);
        assert_eq!(contour(&grid, 1, &vec![None; grid.cells()], f64::NEG_INFINITY).outlines.len(), 0);
    }

    #[test]
    fn numbers_stand_on_their_lines_apart_and_never_upside_down() {
        let grid = grid();
        let cone = on(&grid, |east, north| 30.0 - apart((east, north), (40.0, 25.0)));
        let contours: Vec<Contour> =
            [10.0, 15.0, 20.0, 29.9].map(|level| contour(&grid, 1, &cone, level)).into_iter().collect();
        let labels = labels(&contours, 4.0, 40.0);
        for level in [10.0, 15.0, 20.0] {
            assert!(labels.iter().any(|label| label.level == level), "{level}");
        }
        assert!(labels.iter().all(|label| label.level != 29.9), "a tiny ring has no room for a number");
        for (index, label) in labels.iter().enumerate() {
            let distance = apart(label.at, (40.0, 25.0));
            assert!((distance - (30.0 - label.level)).abs() < 0.25);
            assert!((-90.0..=90.0).contains(&label.turn_deg));
            // On a circle the line runs across the way from the middle.
            let outward = ((label.at.0 - 40.0) / distance, (label.at.1 - 25.0) / distance);
            let (sine, cosine) = libm::sincos(label.turn_deg.to_radians());
            assert!((outward.0 * cosine + outward.1 * sine).abs() < 0.1);
            assert!(labels[..index].iter().all(|other| apart(other.at, label.at) >= 4.0));
        }
    }
}
