//! The paths between two points by the image method: direct, off the ground, off every face.

use super::obstruction::Obstruction;
use super::outline;
use super::scene::{Face, Scene, Shape};
use super::shadow::Leg;
use crate::rf::Vec3;

/// How often a path may bounce.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BounceOrder {
    /// The direct path alone.
    Direct,
    /// The direct path, the ground bounce, and one bounce off every face.
    Single,
}

/// Ends closer than this have no path, metres: nothing here holds within a few centimetres of an antenna.
pub const SHORTEST_PATH: f64 = 0.01;

/// One bounce of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounce {
    /// Where the wave bounces.
    pub point: Vec3,
    /// Unit normal of the surface, on the side that the wave comes from.
    pub normal: Vec3,
    /// Direction of travel before the bounce, a unit vector.
    pub incoming: Vec3,
    /// Cosine of the angle of incidence, from the normal: 0 grazing, 1 head-on.
    pub cos_incidence: f64,
    /// Number of the surface, see [`Scene::surfaces`]; 0 is the ground.
    pub surface: u16,
    /// The obstacle whose face it is; none for the ground.
    pub obstacle: Option<u16>,
}

/// Measures of one path; its bounces and obstructions stand in [`Paths`].
#[derive(Clone, Copy, Debug)]
struct Record {
    length: f64,
    depart: Vec3,
    arrive: Vec3,
    bounces: (u32, u32),
    obstructions: (u32, u32),
}

/// The paths between two points; kept by the caller and filled again and again without new memory.
#[derive(Clone, Debug, Default)]
pub struct Paths {
    ends: Option<(Vec3, Vec3)>,
    records: Vec<Record>,
    bounces: Vec<Bounce>,
    obstructions: Vec<Obstruction>,
}

/// One path from a transmitting end to a receiving end: its geometry, which knows no frequency.
#[derive(Clone, Copy, Debug)]
pub struct TracedPath<'a> {
    /// The transmitting end.
    pub from: Vec3,
    /// The receiving end.
    pub to: Vec3,
    /// Length of the whole path, metres.
    pub length: f64,
    /// Direction of travel on leaving the transmitting end, a unit vector.
    pub depart: Vec3,
    /// Direction of travel on reaching the receiving end, a unit vector.
    pub arrive: Vec3,
    /// The bounces in order of travel; empty for the direct path.
    pub bounces: &'a [Bounce],
    /// What stands on or near the legs, see [`Obstruction::leg`]; each leg's in no particular order.
    pub obstructions: &'a [Obstruction],
}

impl TracedPath<'_> {
    /// Its corners in order: transmitting end, bounces, receiving end.
    pub fn points(&self) -> impl Iterator<Item = Vec3> + '_ {
        std::iter::once(self.from).chain(self.bounces.iter().map(|bounce| bounce.point)).chain(std::iter::once(self.to))
    }
}

impl Paths {
    /// No paths and no memory yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// How many paths there are.
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there are none: the ends coincide or are not numbers.
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// The path with this number; the direct path has number 0.
    pub fn get(&self, index: usize) -> Option<TracedPath<'_>> {
        let record = self.records.get(index)?;
        let (from, to) = self.ends?;
        Some(TracedPath {
            from,
            to,
            length: record.length,
            depart: record.depart,
            arrive: record.arrive,
            bounces: &self.bounces[record.bounces.0 as usize..record.bounces.1 as usize],
            obstructions: &self.obstructions[record.obstructions.0 as usize..record.obstructions.1 as usize],
        })
    }

    /// All paths: direct, ground, then faces in the order of their obstacles.
    pub fn iter(&self) -> impl Iterator<Item = TracedPath<'_>> {
        (0..self.len()).filter_map(|index| self.get(index))
    }

    fn clear(&mut self) {
        self.ends = None;
        self.records.clear();
        self.bounces.clear();
        self.obstructions.clear();
    }
}

impl Scene {
    /// Finds the paths between two points and what obstructs each, by geometry alone.
    ///
    /// A bounce counts when its specular point lies on the face and both ends are in front of it (a wall or panel has two
    /// fronts, a building only its outside). Obstructed paths are listed too; see
    /// [`TunedScene::path_amplitude`](super::TunedScene::path_amplitude) for what is left of them. Ends closer than
    /// [`SHORTEST_PATH`], or that are not numbers, have no paths; an end below ground has no ground bounce.
    /// Swapping the ends gives the same paths the other way round.
    pub fn trace(&self, from: &Vec3, to: &Vec3, order: BounceOrder, out: &mut Paths) {
        out.clear();
        let straight = to - from;
        let distance_squared = straight.norm_squared();
        // Written so that NaN ends up here as well.
        if !(distance_squared >= SHORTEST_PATH * SHORTEST_PATH && distance_squared.is_finite()) {
            return;
        }
        out.ends = Some((*from, *to));
        let distance = distance_squared.sqrt();
        let direction = straight / distance;
        let start = out.obstructions.len() as u32;
        self.obstruct(&Leg::whole(from, to, distance), None, &mut out.obstructions);
        let obstructions = (start, out.obstructions.len() as u32);
        out.records.push(Record {
            length: distance,
            depart: direction,
            arrive: direction,
            bounces: (0, 0),
            obstructions,
        });
        if order == BounceOrder::Direct {
            return;
        }
        if from.z > 0.0 && to.z > 0.0 {
            self.ground_bounce(from, to, distance_squared, out);
        }
        for face in &self.faces {
            self.face_bounce(face, from, to, distance_squared, out);
        }
    }

    fn ground_bounce(&self, from: &Vec3, to: &Vec3, distance_squared: f64, out: &mut Paths) {
        let mirrored = Mirrored::new(&Vec3::z(), from.z, to.z, from, to, distance_squared);
        let start = out.obstructions.len() as u32;
        let (first, last) = mirrored.legs(from, to);
        self.obstruct_ground_bounce(&first, &last, &mut out.obstructions);
        out.record(&mirrored, start, Vec3::z(), 0, None);
    }

    fn face_bounce(&self, face: &Face, from: &Vec3, to: &Vec3, distance_squared: f64, out: &mut Paths) {
        let near = face.normal.dot(from) - face.offset;
        let far = face.normal.dot(to) - face.offset;
        if near * far <= 0.0 || (near < 0.0 && !face.both_sides) {
            return;
        }
        let share = near / (near + far);
        let inside = |axis: &Vec3, (low, high): (f64, f64)| {
            let value = axis.dot(from) * (1.0 - share) + axis.dot(to) * share;
            value >= low && value <= high
        };
        if !inside(&face.along, face.along_range) || !inside(&face.across, face.across_range) {
            return;
        }
        let mirrored = Mirrored::new(&face.normal, near, far, from, to, distance_squared);
        if face.outline.is_some_and(|outline| !outline::contains(self.range(outline), &mirrored.point.xy())) {
            return;
        }
        let (first, last) = mirrored.legs(from, to);
        if self.own_body_blocks(face, &first) || self.own_body_blocks(face, &last) {
            return;
        }
        let start = out.obstructions.len() as u32;
        self.obstruct(&first, Some(face.body), &mut out.obstructions);
        self.obstruct(&last, Some(face.body), &mut out.obstructions);
        let normal = if near > 0.0 { face.normal } else { -face.normal };
        out.record(&mirrored, start, normal, face.surface, Some(face.obstacle));
    }

    /// Whether another wing of the building that the leg bounces off stands in the leg's way: such a path is no path. Only
    /// a building with inner corners can.
    fn own_body_blocks(&self, face: &Face, leg: &Leg) -> bool {
        let body = &self.bodies[usize::from(face.body)];
        match &body.shape {
            Shape::Upright { pieces, .. } if pieces.len() > 1 => {
                pieces.iter().any(|&piece| leg.passes_through(self.range(piece), body.base, body.top))
            }
            _ => false,
        }
    }
}

/// The mirror image's straight line, folded at the surface.
struct Mirrored {
    point: Vec3,
    length: f64,
    /// Part of the length before the bounce.
    share: f64,
    depart: Vec3,
    arrive: Vec3,
    cos_incidence: f64,
}

impl Mirrored {
    /// `near` and `far` are the signed distances of the ends from the plane, of equal sign.
    fn new(normal: &Vec3, near: f64, far: f64, from: &Vec3, to: &Vec3, distance_squared: f64) -> Self {
        let share = near / (near + far);
        let image = from - normal * (2.0 * near);
        let length = (distance_squared + 4.0 * near * far).sqrt();
        let arrive = (to - image) / length;
        let along_normal = (near + far) / length;
        Self {
            point: image + (to - image) * share,
            length,
            share,
            depart: arrive - normal * (2.0 * along_normal),
            arrive,
            cos_incidence: along_normal.abs().min(1.0),
        }
    }

    fn legs(&self, from: &Vec3, to: &Vec3) -> (Leg, Leg) {
        let first = Leg::first(from, &self.point, self.length * self.share, self.length);
        (first, first.last(to))
    }
}

impl Paths {
    fn record(&mut self, mirrored: &Mirrored, start: u32, normal: Vec3, surface: u16, obstacle: Option<u16>) {
        let bounce = self.bounces.len() as u32;
        self.bounces.push(Bounce {
            point: mirrored.point,
            normal,
            incoming: mirrored.depart,
            cos_incidence: mirrored.cos_incidence,
            surface,
            obstacle,
        });
        self.records.push(Record {
            length: mirrored.length,
            depart: mirrored.depart,
            arrive: mirrored.arrive,
            bounces: (bounce, bounce + 1),
            obstructions: (start, self.obstructions.len() as u32),
        });
    }
}
