//! Which bodies stand near a leg: boxes in plan, halved and halved again, so that a leg looks at few of many.

use super::obstacle::PlanPoint;
use super::scene::Body;

/// Bodies that one box still holds without being halved.
const MOST_IN_LEAF: usize = 4;

/// The boxes, parents before their children.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    boxes: Vec<Box>,
    /// Numbers of the bodies; a leaf holds a range of it.
    bodies: Vec<u16>,
}

#[derive(Clone, Debug)]
struct Box {
    centre: PlanPoint,
    half: PlanPoint,
    base: f64,
    top: f64,
    /// The box to go on with when nothing of this one is near.
    next: u32,
    /// Range of [`Index::bodies`]; empty unless this is a leaf.
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
    /// Room above and below.
    pub room_in_height: f64,
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
            || self.lowest - other.top > self.room_in_height
            || other.base - self.highest > self.room_in_height
    }
}

impl Index {
    /// The bodies that are wanted.
    pub fn new(bodies: &[Body], wanted: impl Fn(&Body) -> bool) -> Self {
        let held: Vec<u16> = (0..bodies.len() as u16).filter(|&body| wanted(&bodies[usize::from(body)])).collect();
        let count = held.len();
        let mut index = Self { boxes: Vec::new(), bodies: held };
        if count > 0 {
            index.halve(bodies, 0, count);
        }
        index
    }

    fn halve(&mut self, bodies: &[Body], from: usize, to: usize) {
        let held = &self.bodies[from..to];
        let (mut low, mut high) = (PlanPoint::repeat(f64::INFINITY), PlanPoint::repeat(f64::NEG_INFINITY));
        let (mut base, mut top) = (f64::INFINITY, f64::NEG_INFINITY);
        for body in held.iter().map(|&body| &bodies[usize::from(body)]) {
            let radius = PlanPoint::repeat(body.radius);
            low = low.inf(&(body.centre - radius));
            high = high.sup(&(body.centre + radius));
            (base, top) = (base.min(body.base), top.max(body.top));
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
                if bodies[usize::from(self.bodies[place])].centre[axis] < centre[axis] {
                    self.bodies.swap(place, middle);
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
            self.halve(bodies, from, middle);
            self.halve(bodies, middle, to);
        }
        self.boxes[number].next = self.boxes.len() as u32;
    }

    /// Visits the bodies whose boxes reach into the corridor, and perhaps a few more.
    pub fn each_near(&self, corridor: &Corridor, mut visit: impl FnMut(u16)) {
        let mut number = 0;
        while let Some(here) = self.boxes.get(number) {
            if corridor.misses(here) {
                number = here.next as usize;
                continue;
            }
            number += 1;
            self.bodies[here.held.0 as usize..here.held.1 as usize].iter().for_each(|&body| visit(body));
        }
    }
}
