//! Where the people of a crowd stand, draw after draw.
//!
//! Every person has a *mark*: the density, in people per square metre, from which on they are there. An area shows those
//! with marks below its density, so that a denser crowd is the same people and some more. Marks come in layers, each as
//! high as all below it, and each layer is laid out in square cells on a grid of the world that hold [`PER_CELL`] people on
//! average in each draw. A cell's people follow from the seed, the layer and the cell's place alone: what happens
//! elsewhere on the site moves nobody.
//!
//! Each draw by itself is a Poisson crowd. In one cell the number of people is Poisson, exactly; numbers of different cells
//! are independent; places and marks are uniform. What is not independent are the draws of one seed among each other:
//!
//! - the numbers of a cell in the draws are the quantiles of the distribution at even steps from a random start, shared
//!   out at random, so that their sum is the mean within a person or two;
//! - places and marks of all people of a cell, over all draws, are a sequence that fills the cell evenly from a random
//!   start.
//!
//! A draw of several people in one cell gets places of one even sequence, which are hardly ever the same spot; that is the
//! only thing in a single draw that is not Poisson, and no less like a crowd. A mean over the draws has the mean of Poisson
//! crowds (every draw's marginal is right) and scatters less than one over independent draws.

use crate::rf::random::{Random, seed_of};
use crate::site::obstacle::PlanPoint;
use crate::site::outline;

/// Height of the first layer, people per square metre.
const FIRST_LAYER: f64 = 1.0 / 32.0;

/// People of a cell in one draw, on average.
const PER_CELL: f64 = 4.0;

/// Fractions of the powers of the root of `x⁴ = x + 1`: multiples of them fill a cube evenly (the sequence `R3`, from
/// memory).
const EVEN: [f64; 3] = [0.819_172_513_396_164_4, 0.671_043_606_703_789_3, 0.549_700_477_901_970_3];

/// One person in one draw.
#[derive(Clone, Copy, Debug)]
pub(super) struct Person {
    pub place: PlanPoint,
    pub draw: u32,
}

/// An outline with people at a density.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing<'a> {
    pub corners: &'a [PlanPoint],
    pub density: f64,
}

impl Standing<'_> {
    fn holds(&self, place: &PlanPoint) -> bool {
        outline::contains(self.corners, place)
    }
}

/// Everybody on an area in so many draws. Where areas overlap, those that come first have the lower marks: `before` is
/// those ahead of this one.
pub(super) fn settle(area: &Standing, before: &[Standing], seed: u64, draws: usize) -> Vec<Person> {
    let mut people = Vec::new();
    let mut cell = Cell::default();
    let all: f64 = area.density + before.iter().map(|other| other.density).sum::<f64>();
    let (mut layer, mut from, mut to) = (0, 0.0, FIRST_LAYER);
    while from < all {
        let side = (PER_CELL / (to - from)).sqrt();
        let low = area.corners.iter().fold(f64::INFINITY, |low, corner| low.min(corner.y));
        let high = area.corners.iter().fold(f64::NEG_INFINITY, |high, corner| high.max(corner.y));
        for row in floor(low / side)..=floor(high / side) {
            let Some((left, right)) = extent(area.corners, row as f64 * side, (row + 1) as f64 * side) else {
                continue;
            };
            for column in floor(left / side)..=floor(right / side) {
                cell.fill(seed_of(&[seed, layer, column as u64, row as u64]), draws);
                cell.each(|[x, y, height], draw| {
                    let place = PlanPoint::new((column as f64 + x) * side, (row as f64 + y) * side);
                    let mut mark = from + height * (to - from);
                    if mark >= all || !area.holds(&place) {
                        return;
                    }
                    mark -= before.iter().filter(|other| other.holds(&place)).map(|other| other.density).sum::<f64>();
                    if (0.0..area.density).contains(&mark) {
                        people.push(Person { place, draw });
                    }
                });
            }
        }
        (layer, from, to) = (layer + 1, to, 2.0 * to);
    }
    people
}

fn floor(value: f64) -> i64 {
    libm::floor(value) as i64
}

/// Least and greatest x of the part of an outline between two y.
fn extent(corners: &[PlanPoint], bottom: f64, top: f64) -> Option<(f64, f64)> {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut before = corners[corners.len() - 1];
    for &corner in corners {
        let (low, high) = if before.y < corner.y { (before, corner) } else { (corner, before) };
        if low.y <= top && high.y >= bottom {
            let rise = high.y - low.y;
            let at = |y: f64| if rise > 0.0 { low.x + (high.x - low.x) * ((y - low.y) / rise) } else { low.x };
            for x in [at(bottom.max(low.y)), if rise > 0.0 { at(top.min(high.y)) } else { high.x }] {
                (left, right) = (left.min(x), right.max(x));
            }
        }
        before = corner;
    }
    (left <= right).then_some((left, right))
}

/// The people of one cell in all draws; memory that is used again.
#[derive(Debug, Default)]
struct Cell {
    /// Whose draw each of the even sequence is.
    deck: Vec<u32>,
    order: Vec<u32>,
    start: [f64; 3],
}

impl Cell {
    fn fill(&mut self, seed: u64, draws: usize) {
        let mut random = Random::new(seed);
        self.order.clear();
        self.order.extend(0..draws as u32);
        shuffle(&mut self.order, &mut random);
        let turn = random.uniform();
        self.deck.clear();
        // Quantiles of the Poisson distribution: the number rises with the rank.
        let (mut number, mut part) = (0, libm::exp(-PER_CELL));
        let mut below = part;
        for (rank, &draw) in self.order.iter().enumerate() {
            let quantile = (rank as f64 + turn) / draws as f64;
            while quantile >= below && number < 30 {
                number += 1;
                part *= PER_CELL / f64::from(number);
                below += part;
            }
            self.deck.extend((0..number).map(|_| draw));
        }
        shuffle(&mut self.deck, &mut random);
        self.start = std::array::from_fn(|_| random.uniform());
    }

    fn each(&self, mut visit: impl FnMut([f64; 3], u32)) {
        let mut place = self.start;
        for &draw in &self.deck {
            visit(place, draw);
            for (value, step) in place.iter_mut().zip(EVEN) {
                *value += step;
                if *value >= 1.0 {
                    *value -= 1.0;
                }
            }
        }
    }
}

fn shuffle(deck: &mut [u32], random: &mut Random) {
    for last in (1..deck.len()).rev() {
        deck.swap(last, random.below(last + 1));
    }
}
