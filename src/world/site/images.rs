//! The image method: one end mirrored in every surface, prepared for many other ends.
//!
//! A path that bounces off a plane is as long as the straight line to the mirror image of its end. With two bounces the
//! image is mirrored once more. An image depends on one end only, and so does which two surfaces can hand a wave on to it;
//! a lap has hundreds of places for one seat.

use super::outline;
use super::scene::{Face, Scene, Shape};
use super::shadow::Leg;
use super::trace::{Bounce, BounceOrder, Paths, SHORTEST_PATH};
use crate::rf::Vec3;

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

    fn pair_faces(&mut self) {
        let faces = &self.scene.faces;
        self.behind += self.behind * (faces.len() as u32 - 1);
        for last in &self.singles {
            let second = &faces[usize::from(last.face)];
            let image = self.to - second.normal * (2.0 * last.distance);
            let window = Window::new(&image, second);
            let number = self.seconds.len() as u16;
            self.seconds.push((*last, image));
            for (index, first) in faces.iter().enumerate() {
                if index == usize::from(last.face) {
                    continue;
                }
                let seen = Image::of(&image, index, first);
                if !first.bounces(seen.distance) {
                    self.behind += 1;
                } else if window.hides(first, second, last.distance) {
                    self.out_of_sight += 1;
                } else {
                    self.doubles.push(DoubleImage { first: seen, second: number });
                }
            }
        }
    }

    /// Finds the paths from a point to this end and what obstructs each, by geometry alone.
    ///
    /// A bounce counts when its specular point lies on the face and both ends (or the end and the other bounce) are in front
    /// of it (a wall or panel has two fronts, a building only its outside). Obstructed paths are listed too; see
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
        let share = match image.meets(near, from, face) {
            Meeting::Behind => return out.pruned.behind += 1,
            Meeting::Beside => return out.pruned.beside += 1,
            Meeting::At(share) => share,
        };
        let mirrored = Mirrored::new(&face.normal, near, image.distance, from, &self.to, distance_squared);
        if !self.scene.is_within_outline(face, &mirrored.point) {
            return out.pruned.beside += 1;
        }
        let first = Leg::first(from, &mirrored.point, mirrored.length * share, mirrored.length);
        let last = first.last(&self.to);
        let bounce = face.bounce(mirrored.point, near, mirrored.depart, mirrored.cos_incidence);
        self.add(&[first, last], &[face], mirrored.length, mirrored.arrive, &[bounce], out);
    }

    fn bounce_twice(&self, image: &DoubleImage, from: &Vec3, out: &mut Paths) {
        let first = &self.scene.faces[usize::from(image.first.face)];
        let near = out.distances[usize::from(image.first.face)];
        let share = match image.first.meets(near, from, first) {
            Meeting::Behind => return out.pruned.behind += 1,
            Meeting::Beside => return out.pruned.beside += 1,
            Meeting::At(share) => share,
        };
        let (last, image_place) = &self.seconds[usize::from(image.second)];
        let second = &self.scene.faces[usize::from(last.face)];
        let distance_squared = (image_place - from).norm_squared();
        let mirrored = Mirrored::new(&first.normal, near, image.first.distance, from, image_place, distance_squared);
        if !self.scene.is_within_outline(first, &mirrored.point) {
            return out.pruned.beside += 1;
        }
        let between = second.distance(&mirrored.point);
        let later_share = match last.meets(between, &mirrored.point, second) {
            Meeting::Behind => return out.pruned.behind += 1,
            Meeting::Beside => return out.pruned.beside += 1,
            Meeting::At(share) => share,
        };
        let point = mirrored.point + (image_place - mirrored.point) * later_share;
        if !self.scene.is_within_outline(second, &point) {
            return out.pruned.beside += 1;
        }
        let first_leg = Leg::first(from, &mirrored.point, mirrored.length * share, mirrored.length);
        let middle_leg = first_leg.next(&point, mirrored.length * (1.0 - share) * later_share);
        let last_leg = middle_leg.last(&self.to);
        let along_normal = second.normal.dot(&mirrored.arrive);
        let arrive = mirrored.arrive - second.normal * (2.0 * along_normal);
        let bounces = [
            first.bounce(mirrored.point, near, mirrored.depart, mirrored.cos_incidence),
            second.bounce(point, between, mirrored.arrive, along_normal.abs().min(1.0)),
        ];
        let legs = [first_leg, middle_leg, last_leg];
        self.add(&legs, &[first, second], mirrored.length, arrive, &bounces, out);
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

/// Whether the straight way from a point to an image behind a face goes through the face.
enum Meeting {
    Behind,
    Beside,
    /// Yes, after this share of the way.
    At(f64),
}

impl Image {
    fn of(point: &Vec3, index: usize, face: &Face) -> Self {
        let (along, across) = (face.along.dot(point), face.across.dot(point));
        Self { face: index as u16, distance: face.distance(point), along, across }
    }

    /// `near` is the signed distance of the point. An image that a face sees in front of it is the mirror image, as far
    /// behind it.
    fn meets(&self, near: f64, point: &Vec3, face: &Face) -> Meeting {
        if near * self.distance <= 0.0 {
            return Meeting::Behind;
        }
        let share = near / (near + self.distance);
        let inside = |axis: &Vec3, far: f64, (low, high): (f64, f64)| {
            let value = axis.dot(point) * (1.0 - share) + far * share;
            value >= low && value <= high
        };
        if inside(&face.along, self.along, face.along_range) && inside(&face.across, self.across, face.across_range) {
            Meeting::At(share)
        } else {
            Meeting::Beside
        }
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

    /// A bounce for a wave that comes from the side of this signed distance.
    fn bounce(&self, point: Vec3, distance: f64, incoming: Vec3, cos_incidence: f64) -> Bounce {
        let normal = if distance > 0.0 { self.normal } else { -self.normal };
        Bounce { point, normal, incoming, cos_incidence, face: self.number, layer: self.layer, obstacle: self.obstacle }
    }
}

impl Scene {
    /// Whether a point in the plane of a face lies inside its outline, if it has one (a roof).
    fn is_within_outline(&self, face: &Face, point: &Vec3) -> bool {
        face.outline.is_none_or(|outline| outline::contains(self.range(outline), &point.xy()))
    }

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
    length: f64,
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
    fn new(eye: &Vec3, face: &Face) -> Self {
        let sides = face.corners().map(|corners| {
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
    /// at `distance` from it. May miss some that are hidden, never hides one that is seen.
    fn hides(&self, other: &Face, second: &Face, distance: f64) -> bool {
        let Some(corners) = other.corners() else { return false };
        if corners.iter().all(|corner| second.distance(corner) * distance <= 0.0) {
            return true;
        }
        let Some(sides) = &self.sides else { return false };
        sides.iter().any(|side| corners.iter().all(|corner| side.dot(&(corner - self.eye)) < 0.0))
    }
}

impl Face {
    /// The corners of its rectangle, one after the other; none for the ground, which has no ends.
    fn corners(&self) -> Option<[Vec3; 4]> {
        let ends = [self.along_range.0, self.along_range.1, self.across_range.0, self.across_range.1];
        ends.iter().all(|end| end.is_finite()).then(|| {
            let place = |along: f64, across: f64| self.normal * self.offset + self.along * along + self.across * across;
            [place(ends[0], ends[2]), place(ends[1], ends[2]), place(ends[1], ends[3]), place(ends[0], ends[3])]
        })
    }
}
