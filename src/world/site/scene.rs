//! A site prepared for tracing: plane faces that bounce, bodies that obstruct, constants taken out of the loops.

use nalgebra::Vector2;

use super::crowd::CrowdArea;
use super::index::Index;
use super::obstacle::{
    Barrier, Frame, Layer, MOST_OBSTACLES, MOST_PEOPLE, Obstacle, ObstacleKind, PlanPoint, ROUGHEST_GROUND, Site,
    SiteError,
};
use super::outline;
use super::trace::Bounce;
use crate::rf::material::Material;
use crate::rf::{SPEED_OF_LIGHT, Vec3};
use crate::units::{Hertz, Metres};

/// What a wave bounces off.
#[derive(Clone, Debug, PartialEq)]
pub enum Surface {
    /// The ground: a half-space, rough by so much (root-mean-square).
    HalfSpace {
        /// What it is made of.
        material: Material,
        /// Root-mean-square height of its unevenness.
        roughness: Metres,
    },
    /// A wall, roof or panel.
    Slab(Layer),
}

/// A [`Site`] checked and prepared; see [`Scene::trace`](super::Scene::trace).
#[derive(Clone, Debug)]
pub struct Scene {
    pub(super) layers: Vec<Surface>,
    /// The ground first.
    pub(super) faces: Vec<Face>,
    pub(super) bodies: Vec<Body>,
    /// What bends waves round itself: walls and buildings.
    pub(super) uprights: Index,
    /// Panels, crowns and fabric.
    pub(super) others: Index,
    pub(super) crowds: Vec<CrowdArea>,
    /// Corners of all outlines; bodies hold ranges of it.
    pub(super) corners: Vec<PlanPoint>,
    kinds: Vec<ObstacleKind>,
    /// Half the root of the longest wavelength: times the root of a path's length it is the widest first Fresnel radius.
    pub(super) half_root_wavelength: f64,
}

/// A plane face: a rectangle along two unit vectors, or the part of it inside an outline (a roof), or the endless ground.
#[derive(Clone, Debug)]
pub(super) struct Face {
    pub normal: Vec3,
    /// `normal · x` of every point `x` of the plane.
    pub offset: f64,
    pub along: Vec3,
    /// Range of `along · x` inside the rectangle.
    pub along_range: (f64, f64),
    pub across: Vec3,
    pub across_range: (f64, f64),
    /// Which of its ends along it are inner corners of a building, where another face goes on.
    pub closed: (bool, bool),
    /// Whether it stands on the ground. Its foot is no edge either: what a wave loses there comes by way of the ground.
    pub stands: bool,
    pub both_sides: bool,
    /// The outline of a roof, as a range of [`Scene::corners`]; none when it is the rectangle.
    pub outline: Option<(u32, u32)>,
    /// Its index in [`Scene::faces`].
    pub number: u16,
    /// Index of what it is made of in [`Scene::layers`].
    pub layer: u16,
    /// Index of the obstacle; none for the ground.
    pub obstacle: Option<u16>,
    /// Index of the body that this face belongs to; none for the ground.
    pub body: Option<u16>,
}

impl Face {
    fn ground() -> Self {
        let endless = (f64::NEG_INFINITY, f64::INFINITY);
        Self {
            normal: Vec3::z(),
            offset: 0.0,
            along: Vec3::x(),
            along_range: endless,
            across: Vec3::y(),
            across_range: endless,
            closed: (false, false),
            stands: false,
            both_sides: false,
            outline: None,
            number: 0,
            layer: 0,
            obstacle: None,
            body: None,
        }
    }

    /// The upright rectangle between two plan points; its outside is to the right of the way from one to the other.
    fn upright((from, to): (PlanPoint, PlanPoint), heights: (f64, f64)) -> Self {
        let side = to - from;
        let along = side / side.norm();
        let normal = Vec3::new(along.y, -along.x, 0.0);
        let start = along.dot(&from);
        Self {
            normal,
            offset: normal.xy().dot(&from),
            along: Vec3::new(along.x, along.y, 0.0),
            along_range: (start, start + side.norm()),
            across: Vec3::z(),
            across_range: heights,
            ..Self::ground()
        }
    }
}

/// What obstructs, with an upright cylinder around it for quick rejection.
#[derive(Clone, Debug)]
pub(super) struct Body {
    pub obstacle: u16,
    pub kind: ObstacleKind,
    pub centre: PlanPoint,
    pub radius: f64,
    pub base: f64,
    pub top: f64,
    pub shape: Shape,
}

/// The part of a body that its kind needs.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    /// A wall or building: its outline, the convex pieces of it, and what it is made of.
    Upright { outline: (u32, u32), pieces: Vec<(u32, u32)>, layer: u16, walls: u8 },
    /// A flat rectangle of any orientation: index of its face.
    Flat { face: u16, layer: u16 },
    /// A tree's crown: loss per metre and the most it costs, dB.
    Crown { per_metre: f64, most: f64 },
    /// A barrier of bars: its rectangle, and the share of it that is covered.
    Bars { face: Box<Face>, covered: f64 },
    /// A straight tube from one point to another, or from the ground up.
    Tube { from: Vec3, to: Vec3, width: f64 },
    /// A fabric roof: its outline's convex pieces and the loss of one passage, dB.
    Fabric { pieces: Vec<(u32, u32)>, loss: f64 },
}

impl Scene {
    /// Checks a site and prepares it for carriers from `lowest_carrier` upwards.
    ///
    /// The lowest carrier decides how far from a path an obstacle is still looked at: three first Fresnel radii. Asked for
    /// losses at a lower carrier, a scene may miss the outermost ripple of far obstacles, never a shadow.
    ///
    /// # Errors
    /// The first [`SiteError`] found.
    pub fn new(site: &Site, lowest_carrier: Hertz) -> Result<Self, SiteError> {
        if site.obstacles.len() > MOST_OBSTACLES {
            return Err(SiteError::TooManyObstacles { got: site.obstacles.len() });
        }
        let roughness = site.ground.roughness.0;
        if !(0.0..=ROUGHEST_GROUND).contains(&roughness) {
            return Err(SiteError::Roughness { got: roughness });
        }
        if !(lowest_carrier.0 > 0.0 && lowest_carrier.0.is_finite()) {
            return Err(SiteError::Carrier { got: lowest_carrier.0 });
        }
        for (index, obstacle) in site.obstacles.iter().enumerate() {
            obstacle.check().map_err(|fault| SiteError::Obstacle { obstacle: index, fault })?;
        }
        let ground = Surface::HalfSpace { material: site.ground.material, roughness: site.ground.roughness };
        let mut scene = Scene {
            layers: vec![ground],
            faces: vec![Face::ground()],
            bodies: Vec::new(),
            uprights: Index::default(),
            others: Index::default(),
            crowds: Vec::new(),
            corners: Vec::new(),
            kinds: site.obstacles.iter().map(Obstacle::kind).collect(),
            half_root_wavelength: (SPEED_OF_LIGHT / lowest_carrier.0).sqrt() / 2.0,
        };
        for (index, obstacle) in site.obstacles.iter().enumerate() {
            scene.add(index as u16, obstacle);
        }
        let is_upright = |body: &Body| matches!(body.shape, Shape::Upright { .. });
        scene.uprights = Index::new(&scene.bodies, is_upright);
        scene.others = Index::new(&scene.bodies, |body| !is_upright(body));
        let people: f64 = scene.crowds.iter().map(CrowdArea::people).sum();
        if people > MOST_PEOPLE {
            return Err(SiteError::TooManyPeople { got: people });
        }
        Ok(scene)
    }

    /// What the faces are made of, by number; number 0 is the ground. Like faces share one.
    pub fn layers(&self) -> &[Surface] {
        &self.layers
    }

    /// The kind of an obstacle, by its index in [`Site::obstacles`].
    pub fn kind(&self, obstacle: u16) -> Option<ObstacleKind> {
        self.kinds.get(usize::from(obstacle)).copied()
    }

    /// Where a wave meets the face that it bounces off: the bounce's point, or the nearest point of the face's rectangle to
    /// one that lies beside it.
    pub fn meeting_point(&self, bounce: &Bounce) -> Vec3 {
        let Some(face) = self.faces.get(usize::from(bounce.face)) else { return bounce.point };
        let toward = |axis: &Vec3, (low, high): (f64, f64)| {
            let here = axis.dot(&bounce.point);
            axis * (here.max(low).min(high) - here)
        };
        bounce.point + toward(&face.along, face.along_range) + toward(&face.across, face.across_range)
    }

    /// How many faces bounce, the ground left out.
    pub fn face_count(&self) -> usize {
        self.faces.len() - 1
    }

    /// The closed building or stall that a point is inside of, if any: nothing that stands there can be planned.
    pub fn inside(&self, point: &Vec3) -> Option<u16> {
        let plan = point.xy();
        self.bodies
            .iter()
            .filter(|body| point.z >= body.base && point.z < body.top)
            .find(|body| match &body.shape {
                Shape::Upright { outline, walls: 2, .. } => outline::contains(self.range(*outline), &plan),
                _ => false,
            })
            .map(|body| body.obstacle)
    }

    pub(super) fn range(&self, (from, to): (u32, u32)) -> &[PlanPoint] {
        &self.corners[from as usize..to as usize]
    }

    fn add(&mut self, obstacle: u16, input: &Obstacle) {
        match input {
            Obstacle::Wall(wall) => {
                let layer = self.layer(&wall.layer);
                let heights = (wall.base.0, wall.top.0);
                self.upright_face(obstacle, layer, (wall.from, wall.to), heights, (false, false), true);
                let outline = self.keep(&[wall.from, wall.to]);
                let shape = Shape::Upright { outline, pieces: vec![outline], layer, walls: 1 };
                self.body(obstacle, ObstacleKind::Wall, &[wall.from, wall.to], (wall.base.0, wall.top.0), shape);
            }
            Obstacle::Panel(panel) => {
                let layer = self.layer(&panel.layer);
                let along = panel.side.normalize();
                // What the check lets pass as a right angle is made one here.
                let across = panel.other_side - along * along.dot(&panel.other_side);
                let (across, width) = (across.normalize(), across.norm());
                let normal = along.cross(&across);
                let (start_along, start_across) = (along.dot(&panel.corner), across.dot(&panel.corner));
                self.face(Face {
                    normal,
                    offset: normal.dot(&panel.corner),
                    along,
                    along_range: (start_along, start_along + panel.side.norm()),
                    across,
                    across_range: (start_across, start_across + width),
                    closed: (false, false),
                    stands: false,
                    both_sides: true,
                    outline: None,
                    number: 0,
                    layer,
                    obstacle: Some(obstacle),
                    body: Some(self.bodies.len() as u16),
                });
                let corners = [
                    panel.corner,
                    panel.corner + panel.side,
                    panel.corner + panel.side + panel.other_side,
                    panel.corner + panel.other_side,
                ];
                let heights = corners.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(base, top), corner| {
                    (base.min(corner.z), top.max(corner.z))
                });
                let shape = Shape::Flat { face: (self.faces.len() - 1) as u16, layer };
                let plan = corners.map(|corner| corner.xy());
                self.body(obstacle, ObstacleKind::Panel, &plan, heights, shape);
            }
            Obstacle::Building(building) | Obstacle::Stall(building) => {
                let layer = self.layer(&building.layer);
                let corners = counter_clockwise(&building.footprint);
                let at = |index: usize| corners[index % corners.len()];
                let is_inner = |index: usize| {
                    let (before, here, next) = (at(index + corners.len() - 1), at(index), at(index + 1));
                    outline::cross(&(here - before), &(next - here)) < 0.0
                };
                for index in 0..corners.len() {
                    let closed = (is_inner(index), is_inner(index + 1));
                    let heights = (0.0, building.height.0);
                    self.upright_face(obstacle, layer, (at(index), at(index + 1)), heights, closed, false);
                }
                let outline = self.keep(&corners);
                self.roof(obstacle, layer, outline, building.height.0);
                let pieces = outline::convex_pieces(&corners).iter().map(|piece| self.keep(piece)).collect();
                let shape = Shape::Upright { outline, pieces, layer, walls: 2 };
                self.body(obstacle, input.kind(), &corners, (0.0, building.height.0), shape);
            }
            Obstacle::Canopy(canopy) => {
                let corners = counter_clockwise(&canopy.footprint);
                let pieces = outline::convex_pieces(&corners).iter().map(|piece| self.keep(piece)).collect();
                let shape = Shape::Fabric { pieces, loss: canopy.loss.0 };
                self.body(obstacle, ObstacleKind::Canopy, &corners, (canopy.base.0, canopy.top.0), shape);
            }
            Obstacle::Tree(tree) => {
                let shape = Shape::Crown { per_metre: tree.loss_per_metre.0, most: tree.most_loss.0 };
                self.bodies.push(Body {
                    obstacle,
                    kind: ObstacleKind::Tree,
                    centre: tree.centre,
                    radius: tree.radius.0,
                    base: tree.base.0,
                    top: tree.top.0,
                    shape,
                });
            }
            Obstacle::Barrier(Barrier { from, to, top, covered }) => {
                let heights = (0.0, top.0);
                let face = Box::new(Face::upright((*from, *to), heights));
                let shape = Shape::Bars { face, covered: *covered };
                self.body(obstacle, ObstacleKind::Barrier, &[*from, *to], heights, shape);
            }
            Obstacle::Frame(Frame { from, to, top, tube }) => {
                let at = |plan: &PlanPoint, height: f64| Vec3::new(plan.x, plan.y, height);
                let mut tube = |from: Vec3, to: Vec3| {
                    let half = tube.0 / 2.0;
                    let heights = (from.z - half, to.z + half);
                    let shape = Shape::Tube { from, to, width: tube.0 };
                    self.body(obstacle, ObstacleKind::Frame, &[from.xy(), to.xy()], heights, shape);
                };
                tube(at(from, 0.0), at(from, top.0));
                tube(at(to, 0.0), at(to, top.0));
                tube(at(from, top.0), at(to, top.0));
            }
            Obstacle::Crowd(crowd) => {
                let corners = counter_clockwise(&crowd.footprint);
                self.crowds.push(CrowdArea::new(obstacle, corners, crowd.density, crowd.head_height.0));
            }
        }
    }

    /// Adds a face that is complete but for its number.
    fn face(&mut self, face: Face) {
        let number = self.faces.len() as u16;
        self.faces.push(Face { number, ..face });
    }

    fn layer(&mut self, layer: &Layer) -> u16 {
        let surface = Surface::Slab(layer.clone());
        let index = self.layers.iter().position(|known| *known == surface).unwrap_or_else(|| {
            self.layers.push(surface);
            self.layers.len() - 1
        });
        index as u16
    }

    fn keep(&mut self, corners: &[PlanPoint]) -> (u32, u32) {
        let from = self.corners.len() as u32;
        self.corners.extend_from_slice(corners);
        (from, self.corners.len() as u32)
    }

    /// An upright face whose outside is to the right of the way from one plan point to the other.
    fn upright_face(
        &mut self,
        obstacle: u16,
        layer: u16,
        (from, to): (PlanPoint, PlanPoint),
        heights: (f64, f64),
        closed: (bool, bool),
        both_sides: bool,
    ) {
        self.face(Face {
            closed,
            stands: heights.0 == 0.0,
            both_sides,
            layer,
            obstacle: Some(obstacle),
            body: Some(self.bodies.len() as u16),
            ..Face::upright((from, to), heights)
        });
    }

    fn roof(&mut self, obstacle: u16, layer: u16, outline: (u32, u32), height: f64) {
        let corners = self.range(outline);
        let side = |index: usize| corners[(index + 1) % corners.len()] - corners[index];
        // Along the longest side, so that a rectangle is one.
        let longest = (0..corners.len()).map(side).fold(PlanPoint::x() * 1e-9, |longest, side| {
            if side.norm_squared() > longest.norm_squared() { side } else { longest }
        });
        let along = longest.normalize();
        let across = PlanPoint::new(-along.y, along.x);
        let range = |axis: &PlanPoint| {
            let places = corners.iter().map(|corner| axis.dot(corner));
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
        };
        let (along_range, across_range) = (range(&along), range(&across));
        let all = (along_range.1 - along_range.0) * (across_range.1 - across_range.0);
        let is_rectangle = corners.len() == 4 && outline::signed_area(corners).abs() > (1.0 - 1e-9) * all;
        self.face(Face {
            normal: Vec3::z(),
            offset: height,
            along: Vec3::new(along.x, along.y, 0.0),
            along_range,
            across: Vec3::new(across.x, across.y, 0.0),
            across_range,
            closed: (false, false),
            stands: false,
            both_sides: false,
            outline: (!is_rectangle).then_some(outline),
            number: 0,
            layer,
            obstacle: Some(obstacle),
            body: Some(self.bodies.len() as u16),
        });
    }

    fn body(
        &mut self,
        obstacle: u16,
        kind: ObstacleKind,
        corners: &[PlanPoint],
        (base, top): (f64, f64),
        shape: Shape,
    ) {
        let (centre, radius) = enclosing_circle(corners);
        self.bodies.push(Body { obstacle, kind, centre, radius, base, top, shape });
    }
}

/// A circle that holds all corners: about the middle of their bounding box.
pub(super) fn enclosing_circle(corners: &[PlanPoint]) -> (PlanPoint, f64) {
    let mut low = Vector2::repeat(f64::INFINITY);
    let mut high = Vector2::repeat(f64::NEG_INFINITY);
    for corner in corners {
        low = low.inf(corner);
        high = high.sup(corner);
    }
    let centre = (low + high) / 2.0;
    let radius = corners.iter().map(|corner| (corner - centre).norm()).fold(0.0, f64::max);
    (centre, radius)
}

fn counter_clockwise(corners: &[PlanPoint]) -> Vec<PlanPoint> {
    let mut corners = corners.to_vec();
    if outline::signed_area(&corners) < 0.0 {
        corners.reverse();
    }
    corners
}
