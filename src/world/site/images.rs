//! The image method: one end mirrored in every surface, prepared for many other ends.
//!
//! A path that bounces off a plane is as long as the straight line to the mirror image of its end. With two bounces the
//! image is mirrored once more. An image depends on one end only, and so does which two surfaces can hand a wave on to it;
//! a lap has hundreds of places for one seat.

use super::aperture::{Aperture, Seen};
use super::scene::{Face, Scene, Shape};
use super::shadow::Leg;
use super::trace::{Bounce, BounceOrder, Paths, SHORTEST_PATH};
use crate::rf::Vec3;

/// How far beside its edges a face still hands a wave on to another, over half the root of the wavelength: 1.4 m at 5.6 GHz.
/// It fades from half of it on, so that pairs of faces that are hidden from each other can be left out beforehand; there
/// 15 dB are gone on a path of 50 m.
const EDGE_ROOM: f64 = 12.0;

/// The receiving end and its mirror images, ready for [`Images::trace`].
#[derive(Clone, Debug)]
pub struct Images<'a> {
    scene: &'a Scene,
    to: Vec3,
    order: BounceOrder,
    /// The end itself as each face sees it, for one bounce; those in front of their face.
    singles: Vec<Image>,
    /// Images of the end in `seconds` as other faces see them, for two bounces.
    doubles: Vec<DoubleImage>,
    /// Faces that may bounce last, with the image of the end behind them.
    seconds: Vec<(Image, Vec3)>,
    /// Pairs of faces left out because they cannot hand a wave on to this end.
    out_of_sight: u32,
    /// Faces, or pairs of them, left out because this end is behind them.
    behind: u32,
}

/// A point (the end, or an image of it) as a face sees it.
#[derive(Clone, Copy, Debug)]
struct Image {
    face: u16,
    /// Signed distance from the face's plane.
    distance: f64,
    /// Its place along the two sides of the face.
    along: f64,
    across: f64,
}

#[derive(Clone, Copy, Debug)]
struct DoubleImage {
    first: Image,
    /// Number in [`Images::seconds`].
    second: u16,
}

impl Scene {
    /// Prepares one end for [`Images::trace`] from many others.
    pub fn images(&self, to: &Vec3, order: BounceOrder) -> Images<'_> {
        Images::new(self, to, order)
    }
}

impl<'a> Images<'a> {
    pub(super) fn new(scene: &'a Scene, to: &Vec3, order: BounceOrder) -> Self {
        let mut images = Self {
            scene,
            to: *to,
            order,
            singles: Vec::new(),
            doubles: Vec::new(),
            seconds: Vec::new(),
            out_of_sight: 0,
            behind: 0,
        };
        // Points that are no numbers are in front of nothing.
        if order >= BounceOrder::Single {
            for (index, face) in scene.faces.iter().enumerate() {
                let image = Image::of(to, index, face);
                if face.bounces(image.distance) {
                    images.singles.push(image);
                } else {
                    images.behind += 1;
                }
            }
        }
        if order >= BounceOrder::Double {
            images.pair_faces();
        }
        images
    }

    /// How often a path may bounce.
    pub fn order(&self) -> BounceOrder {
        self.order
    }

    /// Ways of bouncing that are tried from every other end.
    pub fn ways(&self) -> usize {
        self.singles.len() + self.doubles.len()
    }

    fn pair_faces(&mut self) {
        let faces = &self.scene.faces;
        self.behind += self.behind * (faces.len() as u32 - 1);
        let room = EDGE_ROOM * self.scene.half_root_wavelength;
        for last in &self.singles {
            let second = &faces[usize::from(last.face)];
            let image = self.to - second.normal * (2.0 * last.distance);
            let window = Window::new(&image, second, room);
            let number = self.seconds.len() as u16;
            self.seconds.push((*last, image));
            for (index, first) in faces.iter().enumerate() {
                if index == usize::from(last.face) {
                    continue;
                }
                let seen = Image::of(&image, index, first);
                if !first.bounces(seen.distance) {
                    self.behind += 1;
                } else if window.hides(first, second, last.distance, room) {
                    self.out_of_sight += 1;
                } else {
                    self.doubles.push(DoubleImage { first: seen, second: number });
                }
            }
        }
    }

    /// Finds the paths from a point to this end and what obstructs each, by geometry alone.
    ///
    /// A bounce counts when both ends (or the end and the other bounce) are in front of its face (a wall or panel has two
    /// fronts, a building only its outside), and its mirror point lies on the face or not so far beside it that nothing
    /// comes of it; see [`TunedScene::faces_amplitude`](super::TunedScene::faces_amplitude) for what does. Obstructed paths are listed too; see
    /// [`TunedScene::path_amplitude`](super::TunedScene::path_amplitude) for what is left of them. Ends closer than
    /// [`SHORTEST_PATH`], or that are not numbers, have no paths; an end below ground has no ground bounce.
    pub fn trace(&self, from: &Vec3, out: &mut Paths) {
        out.begin(None);
        let straight = self.to - from;
        let distance_squared = straight.norm_squared();
        // Written so that NaN ends up here as well.
        if !(distance_squared >= SHORTEST_PATH * SHORTEST_PATH && distance_squared.is_finite()) {
            return;
        }
        out.begin(Some((*from, self.to)));
        out.expect(1 + self.singles.len());
        out.pruned.out_of_sight = self.out_of_sight;
        out.pruned.behind = self.behind;
        let distance = distance_squared.sqrt();
        let direction = straight / distance;
        self.scene.obstruct(&[Leg::whole(from, &self.to, distance)], &[], &mut out.obstructions);
        out.add(distance, direction, direction, &[], 0);
        if self.order == BounceOrder::Direct {
            return;
        }
        out.distances.clear();
        out.distances.extend(self.scene.faces.iter().map(|face| face.distance(from)));
        for image in &self.singles {
            self.bounce_once(image, from, distance_squared, out);
        }
        for image in &self.doubles {
            self.bounce_twice(image, from, out);
        }
    }

    fn bounce_once(&self, image: &Image, from: &Vec3, distance_squared: f64, out: &mut Paths) {
        let face = &self.scene.faces[usize::from(image.face)];
        let near = out.distances[usize::from(image.face)];
        if near * image.distance <= 0.0 {
            return out.pruned.behind += 1;
        }
        let length = (distance_squared + 4.0 * near * image.distance).sqrt();
        let Some(aperture) = self.scene.aperture(face, &face.sees(from, near), &image.seen(), length) else {
            return out.pruned.beside += 1;
        };
        let mirrored = Mirrored::new(&face.normal, near, image.distance, from, &self.to, length);
        let first = Leg::first(from, &mirrored.point, length * mirrored.share, length);
        let last = first.last(&self.to);
        let bounce = face.bounce(mirrored.point, near, mirrored.depart, mirrored.cos_incidence, aperture);
        self.add(&[first, last], &[face], length, mirrored.arrive, &[bounce], out);
    }

    fn bounce_twice(&self, image: &DoubleImage, from: &Vec3, out: &mut Paths) {
        let first = &self.scene.faces[usize::from(image.first.face)];
        let near = out.distances[usize::from(image.first.face)];
        if near * image.first.distance <= 0.0 {
            return out.pruned.behind += 1;
        }
        let (last, image_place) = &self.seconds[usize::from(image.second)];
        let second = &self.scene.faces[usize::from(last.face)];
        let distance_squared = (image_place - from).norm_squared();
        let length = (distance_squared + 4.0 * near * image.first.distance).sqrt();
        let sees = first.sees(from, near);
        let Some(first_aperture) = self.scene.aperture(first, &sees, &image.first.seen(), length) else {
            return out.pruned.beside += 1;
        };
        let mirrored = Mirrored::new(&first.normal, near, image.first.distance, from, image_place, length);
        let between = second.distance(&mirrored.point);
        if between * last.distance <= 0.0 {
            return out.pruned.behind += 1;
        }
        // The second face sees the way from the mirror image of the start, straight through the first.
        let start = from - first.normal * (2.0 * near);
        let sees = second.sees(&start, second.distance(&start));
        let Some(second_aperture) = self.scene.aperture(second, &sees, &last.seen(), length) else {
            return out.pruned.beside += 1;
        };
        let later_share = between / (between + last.distance);
        let point = mirrored.point + (image_place - mirrored.point) * later_share;
        let room = EDGE_ROOM * self.scene.half_root_wavelength;
        let first_aperture = first_aperture.within(room, first, &mirrored.point);
        let second_aperture = second_aperture.within(room, second, &point);
        let Some((first_aperture, second_aperture)) = first_aperture.zip(second_aperture) else {
            return out.pruned.beside += 1;
        };
        let first_leg = Leg::first(from, &mirrored.point, length * mirrored.share, length);
        let middle_leg = first_leg.next(&point, length * (1.0 - mirrored.share) * later_share);
        let last_leg = middle_leg.last(&self.to);
        let along_normal = second.normal.dot(&mirrored.arrive);
        let arrive = mirrored.arrive - second.normal * (2.0 * along_normal);
        let later_cosine = along_normal.abs().min(1.0);
        let bounces = [
            first.bounce(mirrored.point, near, mirrored.depart, mirrored.cos_incidence, first_aperture),
            second.bounce(point, between, mirrored.arrive, later_cosine, second_aperture),
        ];
        let legs = [first_leg, middle_leg, last_leg];
        self.add(&legs, &[first, second], length, arrive, &bounces, out);
    }

    /// Adds a path with what obstructs its legs, unless the buildings that it bounces off stand in its own way.
    fn add(&self, legs: &[Leg], faces: &[&Face], length: f64, arrive: Vec3, bounces: &[Bounce], out: &mut Paths) {
        let own_walls = faces
            .iter()
            .zip(legs.windows(2))
            .any(|(face, legs)| legs.iter().any(|leg| self.scene.own_body_blocks(face, leg)));
        if own_walls {
            return out.pruned.own_walls += 1;
        }
        let first_obstruction = out.obstructions.len();
        self.scene.obstruct(legs, faces, &mut out.obstructions);
        out.add(length, bounces[0].incoming, arrive, bounces, first_obstruction);
    }
}

impl Image {
    fn of(point: &Vec3, index: usize, face: &Face) -> Self {
        let (along, across) = (face.along.dot(point), face.across.dot(point));
        Self { face: index as u16, distance: face.distance(point), along, across }
    }

    fn seen(&self) -> Seen {
        Seen { along: self.along, across: self.across, distance: self.distance.abs() }
    }
}

impl Face {
    /// Signed distance of a point from the plane.
    fn distance(&self, point: &Vec3) -> f64 {
        self.normal.dot(point) - self.offset
    }

    /// Whether the side on which a point at this signed distance lies bounces.
    fn bounces(&self, distance: f64) -> bool {
        distance > 0.0 || (distance < 0.0 && self.both_sides)
    }

    /// A point at this signed distance.
    fn sees(&self, point: &Vec3, distance: f64) -> Seen {
        Seen { along: self.along.dot(point), across: self.across.dot(point), distance: distance.abs() }
    }

    /// A bounce for a wave that comes from the side of this signed distance.
    fn bounce(&self, point: Vec3, distance: f64, incoming: Vec3, cos_incidence: f64, aperture: Aperture) -> Bounce {
        let normal = if distance > 0.0 { self.normal } else { -self.normal };
        let Self { number: face, layer, obstacle, .. } = *self;
        Bounce { point, normal, incoming, cos_incidence, face, layer, obstacle, aperture }
    }
}

impl Scene {
    /// Whether another wing of the building that the leg bounces off stands in the leg's way: such a path is no path. Only
    /// a building with inner corners can.
    fn own_body_blocks(&self, face: &Face, leg: &Leg) -> bool {
        let Some(body) = face.body.map(|body| &self.bodies[usize::from(body)]) else { return false };
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
    /// Share of the way before the point.
    share: f64,
    depart: Vec3,
    arrive: Vec3,
    cos_incidence: f64,
}

impl Mirrored {
    /// `near` and `far` are the signed distances of the ends from the plane, of equal sign; `length` the whole way's.
    fn new(normal: &Vec3, near: f64, far: f64, from: &Vec3, to: &Vec3, length: f64) -> Self {
        let share = near / (near + far);
        let image = from - normal * (2.0 * near);
        let arrive = (to - image) / length;
        let along_normal = (near + far) / length;
        Self {
            point: image + (to - image) * share,
            share,
            depart: arrive - normal * (2.0 * along_normal),
            arrive,
            cos_incidence: along_normal.abs().min(1.0),
        }
    }
}

/// A face as a window that an image behind it looks out of.
struct Window {
    eye: Vec3,
    /// Inward normals of the four planes through the eye and a side; none when the face has no ends.
    sides: Option<[Vec3; 4]>,
}

impl Window {
    fn new(eye: &Vec3, face: &Face, room: f64) -> Self {
        let sides = face.corners(room).map(|corners| {
            let middle = (corners[0] + corners[2]) / 2.0 - eye;
            std::array::from_fn(|index| {
                let (one, two) = (corners[index] - eye, corners[(index + 1) % 4] - eye);
                let normal = one.cross(&two);
                if normal.dot(&middle) >= 0.0 { normal } else { -normal }
            })
        });
        Self { eye: *eye, sides }
    }

    /// Whether nothing of another face can be seen through this one (`second`), by someone at the image of an end that is
    /// at `distance` from it; both faces have `room` about them. May miss some that are hidden, never hides one that is seen.
    fn hides(&self, other: &Face, second: &Face, distance: f64, room: f64) -> bool {
        let Some(corners) = other.corners(room) else { return false };
        if corners.iter().all(|corner| second.distance(corner) * distance <= 0.0) {
            return true;
        }
        let Some(sides) = &self.sides else { return false };
        sides.iter().any(|side| corners.iter().all(|corner| side.dot(&(corner - self.eye)) < 0.0))
    }
}

impl Face {
    /// The corners of its rectangle with some room about it, one after the other; none for the ground, which has no ends.
    fn corners(&self, room: f64) -> Option<[Vec3; 4]> {
        let (along, across) = (self.along_range, self.across_range);
        let ends = [along.0 - room, along.1 + room, across.0 - room, across.1 + room];
        ends.iter().all(|end| end.is_finite()).then(|| {
            let place = |along: f64, across: f64| self.normal * self.offset + self.along * along + self.across * across;
            [place(ends[0], ends[2]), place(ends[1], ends[2]), place(ends[1], ends[3]), place(ends[0], ends[3])]
        })
    }
}
