//! Which bodies stand near a leg: boxes in plan, halved and halved again, so that a leg looks at few of many.

use super::obstacle::PlanPoint;
use super::outline::cross;
use super::scene::Body;

/// Bodies that one box still holds without being halved: a look at a circle costs about half of one at a box.
const MOST_IN_LEAF: usize = 16;

/// The boxes, parents before their children.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    boxes: Vec<Box>,
    /// What stands around the bodies; a leaf holds a range of it.
    rounds: Vec<Round>,
}

/// The upright cylinder around a body.
#[derive(Clone, Copy, Debug)]
struct Round {
    centre: PlanPoint,
    radius: f64,
    base: f64,
    top: f64,
    body: u16,
}

#[derive(Clone, Debug)]
struct Box {
    centre: PlanPoint,
    half: PlanPoint,
    base: f64,
    top: f64,
    /// The box to go on with when nothing of this one is near.
    next: u32,
    /// Range of [`Index::rounds`]; empty unless this is a leaf.
    held: (u32, u32),
}

/// A straight line in plan with a room about it, between two heights.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corridor {
    pub origin: PlanPoint,
    pub heading: PlanPoint,
    pub length: f64,
    /// Room on either side and at either end.
    pub room: f64,
    /// Cosine of its rise: the room above and below is larger by it.
    pub cosine: f64,
    pub lowest: f64,
    pub highest: f64,
}

impl Corridor {
    fn misses(&self, other: &Box) -> bool {
        let middle = other.centre - self.origin;
        let (along, aside) = (self.heading.dot(&middle), self.heading.x * middle.y - self.heading.y * middle.x);
        let (cosine, sine) = (self.heading.x.abs(), self.heading.y.abs());
        let half_along = other.half.x * cosine + other.half.y * sine + self.room;
        let half_aside = other.half.x * sine + other.half.y * cosine + self.room;
        aside.abs() > half_aside
            || along < -half_along
            || along > self.length + half_along
            || (self.lowest - other.top) * self.cosine > self.room
            || (other.base - self.highest) * self.cosine > self.room
    }

    /// Whether a body is too far away, in plan or in height, to matter.
    fn passes(&self, round: &Round) -> bool {
        let centre = round.centre - self.origin;
        cross(&self.heading, &centre).abs() > round.radius + self.room || {
            let along = self.heading.dot(&centre);
            along < -round.radius
                || along > self.length + round.radius
                || (self.lowest - round.top) * self.cosine > self.room
                || (round.base - self.highest) * self.cosine > self.room
        }
    }
}

impl Index {
    /// The bodies that are wanted.
    pub fn new(bodies: &[Body], wanted: impl Fn(&Body) -> bool) -> Self {
        let wanted = bodies.iter().zip(0..).filter(|(body, _)| wanted(body));
        let rounds: Vec<Round> = wanted
            .map(|(&Body { centre, radius, base, top, .. }, body)| Round { centre, radius, base, top, body })
            .collect();
        let count = rounds.len();
        let mut index = Self { boxes: Vec::new(), rounds };
        if count > 0 {
            index.halve(0, count);
        }
        index
    }

    fn halve(&mut self, from: usize, to: usize) {
        let held = &self.rounds[from..to];
        let (mut low, mut high) = (PlanPoint::repeat(f64::INFINITY), PlanPoint::repeat(f64::NEG_INFINITY));
        let (mut base, mut top) = (f64::INFINITY, f64::NEG_INFINITY);
        for round in held {
            let radius = PlanPoint::repeat(round.radius);
            low = low.inf(&(round.centre - radius));
            high = high.sup(&(round.centre + radius));
            (base, top) = (base.min(round.base), top.max(round.top));
        }
        let number = self.boxes.len();
        let half = (high - low) / 2.0;
        let centre = (low + high) / 2.0;
        let is_leaf = held.len() <= MOST_IN_LEAF;
        let mut middle = from;
        if !is_leaf {
            // By the middle of the longer side: no sort, and the halves do not overlap more than their bodies do.
            let axis = usize::from(half.y > half.x);
            for place in from..to {
                if self.rounds[place].centre[axis] < centre[axis] {
                    self.rounds.swap(place, middle);
                    middle += 1;
                }
            }
            if middle == from || middle == to {
                middle = (from + to) / 2;
            }
        }
        let held = if is_leaf { (from as u32, to as u32) } else { (0, 0) };
        self.boxes.push(Box { centre, half, base, top, next: 0, held });
        if !is_leaf {
            self.halve(from, middle);
            self.halve(middle, to);
        }
        self.boxes[number].next = self.boxes.len() as u32;
    }

    /// Visits the bodies whose cylinders reach into the corridor; in no particular order.
    pub fn each_near(&self, corridor: &Corridor, mut visit: impl FnMut(u16)) {
        let mut number = 0;
        while let Some(here) = self.boxes.get(number) {
            // One box that holds all is no help.
            if self.boxes.len() > 1 && corridor.misses(here) {
                number = here.next as usize;
                continue;
            }
            number += 1;
            for round in &self.rounds[here.held.0 as usize..here.held.1 as usize] {
                if !corridor.passes(round) {
                    visit(round.body);
                }
            }
        }
    }
}
