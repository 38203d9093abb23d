//! The test card: a fairground at dusk, invented and drawn here, with a big wheel that turns.
//!
//! The wheel shows whether the picture stands still, the fence how fine it is, bunting and stalls what becomes of colours.

use std::f64::consts::{PI, TAU};

use super::{HEIGHT, WIDTH};

/// Red, green, blue.
pub type Colour = [u8; 3];

const SKY: [Colour; 2] = [[44, 58, 104], [238, 176, 128]];
const GROUND: Colour = [74, 88, 62];
const WOOD: Colour = [92, 66, 48];
const CANVAS: Colour = [244, 236, 216];
const RED: Colour = [198, 58, 52];
const BLUE: Colour = [58, 104, 176];
const YELLOW: Colour = [240, 196, 72];
const GREEN: Colour = [76, 148, 104];
const IRON: Colour = [226, 226, 232];
const CLOTHS: [Colour; 4] = [RED, YELLOW, BLUE, GREEN];

/// Where the ground begins.
const HORIZON: usize = 148;
/// The hub of the wheel, its rim, and how many spokes it has.
const HUB: [f32; 2] = [84.0, 86.0];
const RIM: f32 = 54.0;
const SPOKES: u8 = 12;
/// Seconds for one turn of the wheel.
const ROUND_S: f64 = 12.0;
/// Half the side of the square around the hub in which the wheel turns.
const REACH: usize = 62;

/// The card with its wheel at some place of its turn.
#[derive(Clone, Debug)]
pub struct Card {
    still: Vec<Colour>,
    now: Vec<Colour>,
    /// Distance from the hub and angle in spokes, for each pixel of the wheel's square.
    around: Vec<[f32; 2]>,
}

impl Default for Card {
    fn default() -> Self {
        Self::new()
    }
}

impl Card {
    /// The card, its wheel at rest.
    pub fn new() -> Self {
        let mut still = vec![GROUND; WIDTH * HEIGHT];
        draw_still(&mut still);
        let corner = [HUB[0] - REACH as f32, HUB[1] - REACH as f32];
        let around = (0..4 * REACH * REACH)
            .map(|index| {
                let (x, y) = ((index % (2 * REACH)) as f32, (index / (2 * REACH)) as f32);
                let (x, y) = (x + 0.5 + corner[0] - HUB[0], y + 0.5 + corner[1] - HUB[1]);
                let angle = libm::atan2(f64::from(y), f64::from(x));
                [(x * x + y * y).sqrt(), (angle / TAU + 1.0) as f32 * f32::from(SPOKES)]
            })
            .collect();
        let mut card = Self { now: still.clone(), still, around };
        card.turn(0.0);
        card
    }

    /// Turns the wheel to where it is after so many seconds.
    pub fn turn(&mut self, seconds: f64) {
        self.now.copy_from_slice(&self.still);
        let turned = ((seconds / ROUND_S).rem_euclid(1.0) * f64::from(SPOKES)) as f32;
        let (left, top) = (HUB[0] as usize - REACH, HUB[1] as usize - REACH);
        for (index, &[radius, angle]) in self.around.iter().enumerate() {
            let pixel = &mut self.now[(top + index / (2 * REACH)) * WIDTH + left + index % (2 * REACH)];
            let between = (angle + turned) % 1.0;
            let off = between.min(1.0 - between) * TAU as f32 / f32::from(SPOKES) * radius;
            let rim = (radius - RIM).abs().min((radius - 0.55 * RIM).abs() + 0.6);
            let iron = if radius < RIM { off.min(rim) } else { rim };
            blend(pixel, IRON, 1.6 - iron);
            if radius < 5.0 {
                blend(pixel, YELLOW, 5.0 - radius);
            }
        }
        for gondola in 0..SPOKES {
            let (sine, cosine) = libm::sincos(f64::from(f32::from(gondola) - turned) * TAU / f64::from(SPOKES));
            let (sine, cosine) = (sine as f32, cosine as f32);
            // Gondolas hang: their middle is below the rim.
            let (x, y) = (HUB[0] + RIM * cosine, HUB[1] + RIM * sine + 3.0);
            rectangle(
                &mut self.now,
                [x - 3.0, y - 2.0],
                [x + 3.0, y + 3.0],
                CLOTHS[usize::from(gondola) % CLOTHS.len()],
            );
        }
    }

    /// The pixels, line by line.
    pub fn pixels(&self) -> &[Colour] {
        &self.now
    }
}

/// Mixes a colour in; `share` is kept to 0..=1.
fn blend(pixel: &mut Colour, colour: Colour, share: f32) {
    let share = share.clamp(0.0, 1.0);
    for (old, new) in pixel.iter_mut().zip(colour) {
        *old = (f32::from(*old) + (f32::from(new) - f32::from(*old)) * share) as u8;
    }
}

/// Paints the pixels for which `colour` has one.
fn paint(pixels: &mut [Colour], colour: impl Fn(f32, f32) -> Option<Colour>) {
    for (index, pixel) in pixels.iter_mut().enumerate() {
        if let Some(colour) = colour((index % WIDTH) as f32 + 0.5, (index / WIDTH) as f32 + 0.5) {
            *pixel = colour;
        }
    }
}

fn rectangle(pixels: &mut [Colour], from: [f32; 2], to: [f32; 2], colour: Colour) {
    for y in from[1].max(0.0) as usize..(to[1].max(0.0) as usize).min(HEIGHT) {
        for x in from[0].max(0.0) as usize..(to[0].max(0.0) as usize).min(WIDTH) {
            pixels[y * WIDTH + x] = colour;
        }
    }
}

/// The sine that the rest of the project has in its program already, rather than one for short numbers.
fn sine(angle: f32) -> f32 {
    libm::sin(f64::from(angle)) as f32
}

/// All that does not move.
fn draw_still(pixels: &mut [Colour]) {
    paint(pixels, |_, y| {
        let mut sky = SKY[0];
        blend(&mut sky, SKY[1], y / HORIZON as f32);
        (y < HORIZON as f32).then_some(sky)
    });
    // Hills behind the fair.
    paint(pixels, |x, y| {
        let ridge = 132.0 + 7.0 * sine(x / 31.0) + 4.0 * sine(x / 13.0 + 1.0);
        (y > ridge && y < HORIZON as f32).then_some([98, 92, 110])
    });
    // The wheel's legs.
    paint(pixels, |x, y| {
        let leg = 0.42 * (y - HUB[1]);
        let is_leg = y > HUB[1] && y < 158.0 && ((x - HUB[0]).abs() - leg).abs() < 2.0;
        is_leg.then_some(WOOD)
    });
    // A slide: a tower with a track that winds down round it.
    paint(pixels, |x, y| {
        let (off, half) = (x - 206.0, 8.0 + (y - 62.0) * 0.14);
        if y > 46.0 && y <= 62.0 {
            return (off.abs() < (y - 46.0) * 0.75).then_some(RED);
        }
        let winding = ((y + off * 0.9) / 11.0).rem_euclid(1.0) < 0.42;
        (y > 62.0 && y < 152.0 && off.abs() < half).then_some(if winding { BLUE } else { CANVAS })
    });
    // Stalls under striped roofs with scalloped edges.
    for (stall, (left, width)) in [(8.0, 58.0), (104.0, 66.0), (182.0, 66.0)].into_iter().enumerate() {
        let cloth = CLOTHS[(3 * stall) % CLOTHS.len()];
        paint(pixels, |x, y| {
            let along = (x - left) / width;
            if !(0.0..1.0).contains(&along) {
                return None;
            }
            let lean = 0.5 + (along - 0.5) * (1.0 + (y - 138.0) * 0.012);
            let scallop = 157.0 + 3.0 * sine(along * 8.0 * PI as f32).abs();
            let roof = 138.0 + 8.0 * (2.0 * along - 1.0).abs();
            match y {
                y if y < roof => None,
                y if y < scallop => Some(if ((lean * 8.0) as usize).is_multiple_of(2) { cloth } else { CANVAS }),
                y if y < 168.0 => Some([52, 40, 46]),
                y if y < 180.0 => Some(WOOD),
                _ => None,
            }
        });
    }
    // A fence of pickets, six pixels apart at the left and two at the right: the integral of one over the distance counts them.
    paint(pixels, |x, y| {
        let finer = 6.0 - 4.0 * x / WIDTH as f32;
        let pickets = libm::log(f64::from(6.0 / finer)) as f32 * WIDTH as f32 / 4.0;
        (y > 182.0 && pickets.fract() < 0.5).then_some(CANVAS)
    });
    // Two strings of bunting, and their pennants.
    for (string, (sag, top)) in [(22.0, 8.0), (14.0, 26.0)].into_iter().enumerate() {
        paint(pixels, |x, y| {
            let along = x / WIDTH as f32;
            let line = top + 4.0 * sag * along * (1.0 - along);
            let pennant = x / 15.0 + 0.5 * string as f32;
            let drop = y - line;
            if drop.abs() < 0.8 {
                return Some(WOOD);
            }
            let narrowing = 0.36 * (1.0 - drop / 12.0);
            let is_cloth = drop > 0.0 && (pennant.fract() - 0.5).abs() < narrowing;
            is_cloth.then(|| CLOTHS[(pennant as usize + string) % CLOTHS.len()])
        });
    }
}
