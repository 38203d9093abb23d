//! A scene at one carrier: how surfaces bounce, and what is left of an obstructed path.
//!
//! # Several obstacles on one path
//!
//! Each opaque obstacle is a screen: a field round its sides, a field over its top (with the excess of a second top edge
//! where a building is deep), and the power that goes through. Alone on a path, the power left is
//! `|sides + top|² + |T|² |share of the field that it covers|²`: the phase of what goes through a wall is not known, so
//! powers add.
//!
//! With several on one path the one that reaches deepest into the ray is the main one. Its part over the top goes along a
//! string stretched over its upper edge: the others are weighed on the two halves of the string, where they block less or
//! not at all, each half less the correction of form (ii) for two edges that are not independent (ITU-R P.526-16, section
//! 4.3). Its parts round the sides and through meet the others on the straight ray. The halves are treated in the same
//! way, inwards. For screens without ends this is the cascade of the standards; no loss of a finite one is added to that
//! of another on a way that leads past it. Obstacles that do not block, by more than the first full field of an edge, are
//! multiplied in as they are; in between, both results are blended, as they are between main ones of equal depth, so that
//! nothing jumps.
//!
//! Tubes, and barriers of bars, are too narrow or too open to lift a string: each leaves `|1 - share · field through its
//! rectangle|²` of the power (ITU-R P.526-16, section 5.2, eq. 89) and is multiplied in.
//!
//! The ripple on the lit side of an edge fades out between two and three first Fresnel radii of clearance: real edges are
//! neither straight nor sharp to a wavelength, and what stands farther off then costs exactly nothing.

mod cascade;

use cascade::Line;
use nalgebra::Matrix3;
use num_complex::Complex64;

use super::obstacle::Layer;
use super::obstruction::{Edge, Effect, Obstruction, Screen, Strip};
use super::scene::{Scene, Surface};
use super::shadow::{FARTHEST_CLEARANCE, LEAST_DISTANCE};
use super::trace::TracedPath;
use crate::rf::SPEED_OF_LIGHT;
use crate::rf::diffraction::{FIRST_FULL_FIELD_NU, LIT_MAXIMUM, aperture_field, knife_edge_field, second_edge_excess};
use crate::rf::material::MaterialError;
use crate::rf::reflection::{Coefficients, half_space, reflection_matrix, rough_surface_factor, slab, slab_averaged};
use crate::units::{Db, Hertz, Metres};

/// How a wall's thickness counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum SlabModel {
    /// Averaged over the interference inside the wall, whose thickness nobody knows to a millimetre.
    #[default]
    Averaged,
    /// The thickness taken at its word, for checks.
    Exact,
}

/// The way that carries most of what is left behind an obstacle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Way {
    /// The path is not blocked.
    Clear,
    /// Over the top (or under a hanging wall).
    Over,
    /// Round a side.
    Round,
    /// Through walls, foliage or fabric.
    Through,
}

/// What one obstacle does to a path at one frequency, as if it stood there alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// Free space between the ray and the obstacle as a fraction of the first Fresnel radius there; negative when the ray
    /// meets the obstacle, then by how far it would have to move to come clear. At most [`WIDEST_CLEARANCE`].
    pub clearance: f64,
    /// What it costs; negative for the little that an edge beside the ray can gain.
    pub loss: Db,
    /// The way that carries most of what is left.
    pub way: Way,
}

/// Clearances are told up to this many first Fresnel radii; more is open space.
pub const WIDEST_CLEARANCE: f64 = 10.0;

/// The taper of the lit ripple starts at this clearance and ends at [`FARTHEST_CLEARANCE`].
const TAPER_START: f64 = 2.0;

/// Steps of the table of transmitted power over the cosine of incidence: linear between them, wrong by less than 1 %.
const TRANSMISSION_STEPS: usize = 128;

/// Difference in the diffraction parameter over which one main obstacle hands over to another (our own choice: half a
/// unit is about 3 dB of a single edge).
const HANDOVER: f64 = 0.5;

/// The most that obstacles leave of a path's power: the lit maximum of a single edge.
const MOST_POWER: f64 = LIT_MAXIMUM * LIT_MAXIMUM;

/// A scene at one carrier, with everything that depends on the frequency alone worked out. Cheap to ask, made once per
/// carrier.
#[derive(Clone, Debug)]
pub struct TunedScene<'a> {
    scene: &'a Scene,
    frequency: Hertz,
    wavelength: f64,
    /// `√(2/λ)`.
    root: f64,
    permittivities: Vec<Complex64>,
    /// Power through each surface over the cosine of incidence, mean of TE and TM.
    transmitted: Vec<[f64; TRANSMISSION_STEPS + 1]>,
}

impl Scene {
    /// This scene at one carrier.
    ///
    /// # Errors
    /// When a material has no properties at that frequency.
    pub fn tuned(&self, frequency: Hertz) -> Result<TunedScene<'_>, MaterialError> {
        let mut permittivities = Vec::with_capacity(self.layers.len());
        let mut transmitted = Vec::with_capacity(self.layers.len());
        for surface in &self.layers {
            let (material, thickness) = match surface {
                Surface::HalfSpace { material, .. } => (*material, None),
                Surface::Slab(Layer { material, thickness }) => (*material, Some(*thickness)),
            };
            let permittivity = material.permittivity(frequency)?.value;
            permittivities.push(permittivity);
            transmitted.push(std::array::from_fn(|step| {
                let cosine = step as f64 / TRANSMISSION_STEPS as f64;
                thickness.map_or(0.0, |thickness| {
                    let through = slab_averaged(permittivity, thickness, frequency, cosine).transmitted;
                    (through.te.norm_sqr() + through.tm.norm_sqr()) / 2.0
                })
            }));
        }
        let wavelength = SPEED_OF_LIGHT / frequency.0;
        Ok(TunedScene {
            scene: self,
            frequency,
            wavelength,
            root: (2.0 / wavelength).sqrt(),
            permittivities,
            transmitted,
        })
    }
}

impl TunedScene<'_> {
    /// The scene itself.
    pub fn scene(&self) -> &Scene {
        self.scene
    }

    /// The carrier.
    pub fn frequency(&self) -> Hertz {
        self.frequency
    }

    /// Its wavelength.
    pub fn wavelength(&self) -> Metres {
        Metres(self.wavelength)
    }

    /// Reflection of a layer, by its number ([`Scene::layers`]), at a cosine of incidence; the ground's with its roughness. An unknown number
    /// reflects nothing.
    pub fn reflection(&self, layer: u16, cos_incidence: f64, model: SlabModel) -> Coefficients {
        let index = usize::from(layer);
        let (Some(kind), Some(&permittivity)) = (self.scene.layers.get(index), self.permittivities.get(index)) else {
            return Coefficients::ZERO;
        };
        match kind {
            Surface::HalfSpace { roughness, .. } => {
                let smooth = half_space(permittivity, cos_incidence);
                if roughness.0 == 0.0 {
                    smooth
                } else {
                    smooth.scaled(rough_surface_factor(*roughness, self.wavelength(), cos_incidence))
                }
            }
            Surface::Slab(layer) => match model {
                SlabModel::Averaged => {
                    slab_averaged(permittivity, layer.thickness, self.frequency, cos_incidence).reflected
                }
                SlabModel::Exact => slab(permittivity, layer.thickness, self.frequency, cos_incidence).reflected,
            },
        }
    }

    /// What the bounces of a path do to the field vector, in world coordinates: the product of the reflection matrices, the
    /// identity for the direct path. Obstructions are not in it.
    pub fn interaction(&self, path: &TracedPath, model: SlabModel) -> Matrix3<Complex64> {
        let mut bounces = path.bounces.iter().map(|bounce| {
            let coefficients = self.reflection(bounce.layer, bounce.cos_incidence, model);
            reflection_matrix(&bounce.incoming, &bounce.normal, coefficients)
        });
        match bounces.next() {
            None => Matrix3::identity(),
            Some(first) => bounces.fold(first, |before, next| next * before),
        }
    }

    /// The factor on a path's field amplitude of the faces that it bounces off being no larger than they are: 1 for the
    /// direct path and the ground, about a half with the mirror point on an edge; see [`Aperture`](super::Aperture).
    pub fn faces_amplitude(&self, path: &TracedPath) -> f64 {
        path.bounces.iter().map(|bounce| bounce.aperture.amplitude(self.root)).product()
    }

    /// The factor on a path's field amplitude of everything that obstructs it: 1 for a free path, at most the lit maximum
    /// of a single edge, never negative.
    pub fn path_amplitude(&self, path: &TracedPath) -> f64 {
        self.path_amplitude_above(path, 0.0)
    }

    /// The same, for who does not care how little is left once the power is below `least`: then any amplitude whose power
    /// is. Long paths past many obstacles take the most work and leave the least.
    pub fn path_amplitude_above(&self, path: &TracedPath, least: f64) -> f64 {
        let loss: f64 = path.obstructions.iter().map(Obstruction::damping).sum();
        let strips = path.obstructions.iter().filter_map(Obstruction::strip);
        let strips: f64 = strips.map(|strip| self.strip_power(strip)).product();
        let dampened = if loss > 0.0 { Db(-loss).ratio() } else { 1.0 };
        let mut rest = path.obstructions;
        let mut power = 1.0;
        while let Some(first) = rest.first() {
            let same_run = rest.iter().position(|other| other.run != first.run).unwrap_or(rest.len());
            let (run, after) = rest.split_at(same_run);
            // Screens come first in a run.
            let screens = run.iter().position(|one| one.screen().is_none()).unwrap_or(run.len());
            if screens > 0 {
                // Two more runs, of three legs, can raise it to this.
                let elsewhere = power * dampened * strips * MOST_POWER * MOST_POWER;
                let left = self.screens_power(&run[..screens], &Line::whole(first.total), 0, least / elsewhere);
                power *= left;
                if left * elsewhere < least {
                    break;
                }
            }
            rest = after;
        }
        ((power * strips).min(MOST_POWER) * dampened).sqrt()
    }

    /// What one obstruction does on its own: for lists and explanations. The obstructions of a path together are worth
    /// [`TunedScene::path_amplitude`], which is not the sum of these.
    pub fn shadow(&self, obstruction: &Obstruction) -> Shadow {
        match &obstruction.effect {
            Effect::Screen(screen) => {
                let string = Line::whole(obstruction.total);
                let parts = self.parts(screen, &string);
                let (over, round, through) = (parts.top.norm_sqr(), parts.sides.norm_sqr(), parts.through);
                let way = if parts.depth <= FIRST_FULL_FIELD_NU {
                    Way::Clear
                } else if through > over && through > round {
                    Way::Through
                } else if over >= round {
                    Way::Over
                } else {
                    Way::Round
                };
                Shadow { clearance: parts.clearance, loss: Db(-Db::from_ratio(parts.alone()).0), way }
            }
            Effect::Strip(strip) => {
                let clearance = (strip.clearance() * self.root * std::f64::consts::FRAC_1_SQRT_2)
                    .clamp(-WIDEST_CLEARANCE, WIDEST_CLEARANCE);
                let way = if clearance >= -FIRST_FULL_FIELD_NU * std::f64::consts::FRAC_1_SQRT_2 {
                    Way::Clear
                } else if strip.covered < 1.0 {
                    Way::Through
                } else {
                    Way::Round
                };
                Shadow { clearance, loss: Db(-Db::from_ratio(self.strip_power(strip)).0), way }
            }
            Effect::Foliage { loss, gap } | Effect::Fabric { loss, gap } => {
                let way = if *loss > 0.0 { Way::Through } else { Way::Clear };
                Shadow { clearance: self.clearance(gap), loss: Db(*loss), way }
            }
        }
    }

    /// Power left behind a strip alone.
    fn strip_power(&self, strip: &Strip) -> f64 {
        let clearance = strip.clearance() * self.root * std::f64::consts::FRAC_1_SQRT_2;
        let taper = smooth_step((FARTHEST_CLEARANCE - clearance) / (FARTHEST_CLEARANCE - TAPER_START));
        if taper == 0.0 {
            return 1.0;
        }
        let [(low, high), (bottom, top)] =
            [strip.sides, strip.ends].map(|(one, two)| (one * self.root, two * self.root));
        let hidden = aperture_field(low, high, bottom, top) * (strip.covered * taper);
        (1.0 - hidden).norm_sqr().min(MOST_POWER)
    }

    /// A gap as a fraction of the first Fresnel radius.
    fn clearance(&self, gap: &Edge) -> f64 {
        (gap.measure * self.root * std::f64::consts::FRAC_1_SQRT_2).clamp(-WIDEST_CLEARANCE, WIDEST_CLEARANCE)
    }

    fn top_nu(&self, edge: &Edge, string: &Line) -> f64 {
        if string.is_whole {
            edge.measure * self.root
        } else {
            (edge.offset - string.height(edge.at)) * string.scale(edge.at) * self.root
        }
    }

    /// How a screen stands about a string.
    fn stance(&self, screen: &Screen, string: &Line) -> Stance {
        // The side edges are the corners that matter most on the whole path. A shorter string sharpens both alike, by its
        // distances at the middle, so that nothing jumps when another corner takes over.
        let sharper = if string.is_whole {
            self.root
        } else {
            let middle = (screen.entry.at + screen.exit.at) / 2.0;
            self.root * string.scale(middle) / Line::whole(string.total).scale(middle)
        };
        let (low, high) = (sharper * screen.low, sharper * screen.high);
        let bottom = self.top_nu(&screen.bottom, string);
        let top = self
            .top_nu(&screen.entry, string)
            .max(self.top_nu(&screen.exit, string))
            .max(self.top_nu(&screen.shoulder, string));
        let depth = top.min(high).min(-low).min(-bottom);
        let aside = low.max(-high).max(0.0);
        let above = bottom.max(-top).max(0.0);
        let clearance = if depth > 0.0 {
            -depth
        } else if above.is_infinite() || aside.is_infinite() {
            f64::INFINITY
        } else {
            (aside * aside + above * above).sqrt()
        } * std::f64::consts::FRAC_1_SQRT_2;
        let taper = smooth_step((FARTHEST_CLEARANCE - clearance) / (FARTHEST_CLEARANCE - TAPER_START));
        let clearance = clearance.clamp(-WIDEST_CLEARANCE, WIDEST_CLEARANCE);
        Stance { low, high, bottom, top, depth, clearance, taper }
    }

    /// How much of a screen counts: what is far from the ray itself does not come into play when the string is lifted to
    /// it, as it may not even have been looked at.
    fn taper(&self, screen: &Screen, string: &Line) -> f64 {
        self.stance(screen, &Line::whole(string.total)).taper
    }

    /// The parts of the field behind one screen.
    fn parts(&self, screen: &Screen, string: &Line) -> Parts {
        let Stance { low, high, bottom, top, depth, clearance, mut taper } = self.stance(screen, string);
        if !string.is_whole {
            taper = taper.min(self.taper(screen, string));
        }
        if taper == 0.0 {
            return Parts { depth, clearance, ..Parts::FREE };
        }
        let one = Complex64::new(1.0, 0.0);
        let left_open = knife_edge_field(low);
        let width = left_open - knife_edge_field(high);
        let over = knife_edge_field(top);
        let under = if bottom == f64::NEG_INFINITY { Complex64::new(0.0, 0.0) } else { one - knife_edge_field(bottom) };
        let excess = self.depth_excess(screen, string, top);
        let over = if excess > 0.0 { over * Db(-excess).amplitude() } else { over };
        let covered = width * (one - over - under);
        Parts {
            sides: (one - width) * taper + (1.0 - taper),
            top: width * (over + under) * taper,
            through: covered.norm_sqr() * taper * self.through(screen),
            depth,
            clearance,
        }
    }

    /// What the second top edge of a deep obstacle adds, dB.
    fn depth_excess(&self, screen: &Screen, string: &Line, top: f64) -> f64 {
        let between = screen.exit.at - screen.entry.at;
        if between <= LEAST_DISTANCE || top <= FIRST_FULL_FIELD_NU {
            return 0.0;
        }
        let (a, c) = (string.distances(screen.entry.at).0, string.distances(screen.exit.at).1);
        let heights = [&screen.entry, &screen.exit].map(|edge| {
            // An edge that is clear for good lies far below; a finite depth keeps the arithmetic finite.
            Metres((edge.offset - string.height(edge.at)).max(-1e3))
        });
        second_edge_excess(Metres(a), Metres(between), Metres(c), heights, Metres(self.wavelength)).0
    }

    /// Share of the power that passes the walls of a screen.
    fn through(&self, screen: &Screen) -> f64 {
        let Some(table) = self.transmitted.get(usize::from(screen.layer)) else { return 0.0 };
        let one_wall = |cosine: f64| {
            let place = cosine.clamp(0.0, 1.0) * TRANSMISSION_STEPS as f64;
            let step = (place as usize).min(TRANSMISSION_STEPS - 1);
            let share = place - step as f64;
            table[step] * (1.0 - share) + table[step + 1] * share
        };
        let first = one_wall(screen.cosines[0]);
        if screen.walls == 2 { first * one_wall(screen.cosines[1]) } else { first }
    }
}

impl Obstruction {
    fn screen(&self) -> Option<&Screen> {
        match &self.effect {
            Effect::Screen(screen) => Some(screen),
            Effect::Foliage { .. } | Effect::Fabric { .. } | Effect::Strip(_) => None,
        }
    }

    fn strip(&self) -> Option<&Strip> {
        if let Effect::Strip(strip) = &self.effect { Some(strip) } else { None }
    }

    /// What it takes from a path by itself, whatever else stands there, dB.
    fn damping(&self) -> f64 {
        match self.effect {
            Effect::Screen(_) | Effect::Strip(_) => 0.0,
            Effect::Foliage { loss, .. } | Effect::Fabric { loss, .. } => loss,
        }
    }
}

/// The field behind a screen: round the sides, over the top, and the power through.
#[derive(Clone, Copy)]
struct Parts {
    sides: Complex64,
    top: Complex64,
    through: f64,
    /// How deep the ray is inside the outline, as a diffraction parameter; negative outside.
    depth: f64,
    clearance: f64,
}

impl Parts {
    /// Nothing in the way.
    const FREE: Self = Self {
        sides: Complex64::new(1.0, 0.0),
        top: Complex64::new(0.0, 0.0),
        through: 0.0,
        depth: f64::NEG_INFINITY,
        clearance: WIDEST_CLEARANCE,
    };

    /// Power left behind this screen alone.
    fn alone(&self) -> f64 {
        self.combined(1.0, 1.0).min(MOST_POWER)
    }

    /// Power left behind it where the others leave so much of what goes over its top, and so much of what goes round it
    /// and through.
    fn combined(&self, over: f64, straight: f64) -> f64 {
        (self.top * over.sqrt() + self.sides * straight.sqrt()).norm_sqr() + self.through * straight
    }

    /// The same with the two fields in phase: not exceeded by smaller shares either.
    fn most_combined(&self, over: f64, straight: f64) -> f64 {
        let amplitude = (self.top.norm_sqr() * over).sqrt() + (self.sides.norm_sqr() * straight).sqrt();
        amplitude * amplitude + self.through * straight
    }
}

/// The edges of a screen about a string, as diffraction parameters, and what follows from them.
struct Stance {
    low: f64,
    high: f64,
    bottom: f64,
    top: f64,
    /// How deep the string is inside the outline; negative outside.
    depth: f64,
    clearance: f64,
    taper: f64,
}

/// From 0 at 0 to 1 at 1 without a kink.
pub(super) fn smooth_step(place: f64) -> f64 {
    let place = place.clamp(0.0, 1.0);
    place * place * (3.0 - 2.0 * place)
}
