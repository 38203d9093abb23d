//! The paths between two points, as they are kept: [`Images`](super::Images) finds them.

use super::aperture::Aperture;
use super::images::Images;
use super::obstruction::Obstruction;
use super::scene::Scene;
use crate::rf::Vec3;

/// How often a path may bounce.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BounceOrder {
    /// The direct path alone.
    Direct,
    /// The direct path, the ground bounce, and one bounce off every face.
    Single,
    /// These, and two bounces off every two surfaces in both orders: wall and wall, wall and ground, ground and wall.
    Double,
}

impl BounceOrder {
    /// All orders, from none to two.
    pub const ALL: [Self; 3] = [Self::Direct, Self::Single, Self::Double];

    /// The most bounces that a path may have.
    pub const fn most_bounces(self) -> u8 {
        match self {
            Self::Direct => 0,
            Self::Single => 1,
            Self::Double => 2,
        }
    }
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
    /// Number of the face: of all faces of the site, like ones too, one of its own; 0 is the ground. Both sides of a wall
    /// without a body are one face.
    pub face: u16,
    /// Number of what the face is made of, which like faces share, see [`Scene::layers`]; 0 is the ground.
    pub layer: u16,
    /// The obstacle whose face it is; none for the ground.
    pub obstacle: Option<u16>,
    /// How the edges of the face stand about the point, which may lie a little beside it.
    pub aperture: Aperture,
}

/// Ways of bouncing that were tried between two points and gave no path, by reason.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pruned {
    /// The two surfaces cannot hand a wave to each other and on to the receiving end, wherever the transmitting end is.
    pub out_of_sight: u32,
    /// An end or the other bounce is behind a surface.
    pub behind: u32,
    /// The mirror point lies so far beside a surface that nothing comes of it.
    pub beside: u32,
    /// Another wing of the building that the wave bounces off stands in the way.
    pub own_walls: u32,
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
    pub(super) obstructions: Vec<Obstruction>,
    pub(super) pruned: Pruned,
    /// Signed distances of the transmitting end from all faces.
    pub(super) distances: Vec<f64>,
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
    /// Whether every bounce lies on its face, so that ray optics has this path too.
    pub fn is_of_rays(&self) -> bool {
        self.bounces.iter().all(|bounce| bounce.aperture.holds_mirror_point())
    }

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

    /// The same in no more memory than they take, to be kept; bytes of that, about.
    pub fn to_keep(&self) -> (Self, usize) {
        let kept = Self { distances: Vec::new(), ..self.clone() };
        let bytes = size_of::<Self>()
            + size_of_val(&*kept.records)
            + size_of_val(&*kept.bounces)
            + size_of_val(&*kept.obstructions);
        (kept, bytes)
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

    /// The ways of bouncing that gave no path, by reason.
    pub fn pruned(&self) -> Pruned {
        self.pruned
    }

    /// All paths: direct; ground, then faces in the order of their obstacles; then those of two bounces in the order of the
    /// last surface before the receiving end.
    pub fn iter(&self) -> impl Iterator<Item = TracedPath<'_>> {
        (0..self.len()).filter_map(|index| self.get(index))
    }

    /// Begins anew between two points.
    pub(super) fn begin(&mut self, ends: Option<(Vec3, Vec3)>) {
        self.ends = ends;
        self.records.clear();
        self.bounces.clear();
        self.obstructions.clear();
        self.pruned = Pruned::default();
    }

    /// Makes room for so many paths, most of which bounce once, where there is none yet.
    pub(super) fn expect(&mut self, paths: usize) {
        if self.records.capacity() == 0 {
            self.records.reserve(paths);
            self.bounces.reserve(paths);
            self.obstructions.reserve(paths);
        }
    }

    /// Adds a path whose obstructions, from number `first_obstruction` on, are in place already.
    pub(super) fn add(
        &mut self,
        length: f64,
        depart: Vec3,
        arrive: Vec3,
        bounces: &[Bounce],
        first_obstruction: usize,
    ) {
        let first_bounce = self.bounces.len() as u32;
        self.bounces.extend_from_slice(bounces);
        self.records.push(Record {
            length,
            depart,
            arrive,
            bounces: (first_bounce, self.bounces.len() as u32),
            obstructions: (first_obstruction as u32, self.obstructions.len() as u32),
        });
    }
}

impl Scene {
    /// Finds the paths between two points and what obstructs each, by geometry alone. For many points and one other end,
    /// [`Scene::images`] does the common part once.
    ///
    /// See [`Images::trace`]. Swapping the ends gives the same paths the other way round.
    pub fn trace(&self, from: &Vec3, to: &Vec3, order: BounceOrder, out: &mut Paths) {
        Images::new(self, to, order).trace(from, out);
    }
}
