//! An analogue picture: frequency modulation, a discriminator, and a screen that looks for its lines.
//!
//! - Above the threshold of the discriminator the noise of a line follows [`crate::rf::noise::fm_gain`].
//! - Below it the signal weakens by `1 - e^{-γ}`, and *clicks* set in: noise takes the carrier once round, and the picture
//!   gets a spike of one whole turn. Their rates are Rice's, `B/(2√3) erfc √γ` of the carrier at rest and `|Δf| e^{-γ}` more
//!   for one that is `Δf` off the middle, these against the side it is off to. Both from memory; a simulation of carrier
//!   and noise in the tests counts as many.
//! - A line under [`SYNC`] loses its place, colour goes below [`BURST`] (both common practice, no source); a field with
//!   more than a quarter of its lines lost rolls.

use super::card::Colour;
use super::{HEIGHT, ReceiverScreen, Shown, TAPE, WIDTH};
use crate::link::flown::BAD_PART;
use crate::rf::noise::fm_gain;
use crate::units::{Db, Hertz, Seconds};

/// Peak-to-peak deviation of the video carrier (common practice, no source).
pub const DEVIATION: Hertz = Hertz(8e6);
/// Highest frequency of the video (common practice for 625 lines).
pub const TOP_FREQUENCY: Hertz = Hertz(5e6);
/// Visible part of a line: 52 of 64 µs (625-line television, from memory).
pub const LINE: Seconds = Seconds(52e-6);
/// Luminance as a share of the whole swing; the rest is for the pulses that hold the lines.
const LUMINANCE: f64 = 0.7;
/// Mean distance of the carrier from its middle: a quarter of the luminance's swing, for a picture of many greys.
const OFF_MIDDLE: Hertz = Hertz(0.25 * LUMINANCE * DEVIATION.0);
/// Carrier-to-noise ratio under which a line is no longer held, as a power ratio: 4 dB (common practice).
pub const SYNC: Db = Db(4.0);
/// Carrier-to-noise ratio under which colour goes: 6 dB (common practice).
pub const BURST: Db = Db(6.0);

/// What a discriminator makes of one line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineQuality {
    /// What is left of the signal's swing, 0 to 1.
    pub signal: f64,
    /// Root mean square of the noise, clicks apart, over the swing of the luminance from black to white.
    pub noise: f64,
    /// Expected number of clicks.
    pub clicks: f64,
    /// Share of the clicks that go against the side the carrier is off to.
    pub leaning: f64,
}

/// How often per second a discriminator clicks at a carrier-to-noise ratio (a power ratio): of a carrier in the middle of
/// its band, and in addition of one that is `off` from there.
pub fn click_rate(carrier_to_noise: f64, bandwidth: Hertz, off: Hertz) -> [Hertz; 2] {
    let resting = bandwidth.0 / (2.0 * 3.0_f64.sqrt()) * libm::erfc(carrier_to_noise.sqrt());
    [Hertz(resting), Hertz(off.0 * libm::exp(-carrier_to_noise))]
}

impl LineQuality {
    /// A line at a carrier-to-noise ratio, given as a power ratio of zero or more.
    pub fn at(carrier_to_noise: f64, bandwidth: Hertz) -> Self {
        let signal = -libm::expm1(-carrier_to_noise);
        let gain = fm_gain(DEVIATION, TOP_FREQUENCY, bandwidth).ratio();
        // Noise weakens along with the signal (Rice): without any carrier all of it is clicks.
        let noise = if carrier_to_noise > 0.0 { signal / (carrier_to_noise * gain).sqrt() } else { 0.0 };
        let [resting, leaning] = click_rate(carrier_to_noise, bandwidth, OFF_MIDDLE).map(|rate| rate.0 * LINE.0);
        Self { signal, noise, clicks: resting + leaning, leaning: leaning / (resting + leaning).max(f64::MIN_POSITIVE) }
    }

    /// Height of a click in a picture of [`WIDTH`] pixels a line, over the luminance's swing: one turn of the carrier within
    /// the time of a pixel.
    pub fn click_height() -> f64 {
        WIDTH as f64 / LINE.0 / (LUMINANCE * DEVIATION.0)
    }
}

/// What a screen remembers from line to line and field to field.
#[derive(Clone, Debug, Default)]
pub(super) struct SyncMemory {
    /// How far the present line is off its place, in pixels.
    shift: f64,
    /// How far the picture has rolled, in lines.
    roll: f64,
}

impl ReceiverScreen {
    /// Draws a field of which each line has its carrier-to-noise ratio in `self.lines`.
    pub(super) fn analogue_field(&mut self, bandwidth: Hertz, pixels: &mut [u8]) -> Shown {
        let (sync, burst) = (SYNC.ratio(), BURST.ratio());
        let mut lost = 0;
        let mut added = [0.0_f32; WIDTH];
        for number in 0..HEIGHT {
            let carrier_to_noise = self.lines[number];
            let line = LineQuality::at(carrier_to_noise, bandwidth);
            let from = self.place();
            for (added, noise) in added.iter_mut().zip(&self.tape[from..]) {
                *added = 255.0 * line.noise as f32 * noise;
            }
            let drawn = self.random.normal();
            if carrier_to_noise < sync {
                lost += 1;
                // The weaker, the farther it wanders: some six pixels a line at the limit, thirty without a signal.
                let stride = 6.0 + 24.0 * (1.0 - carrier_to_noise / sync);
                self.analogue.shift = (self.analogue.shift + stride * drawn.re) % WIDTH as f64;
            } else {
                self.analogue.shift *= 0.7;
            }
            // Noise on the edge of the pulse: its slope crosses three tenths of the swing in a pixel and a quarter.
            let shift = self.analogue.shift + 3.0 * line.noise * drawn.im;
            let row = (number + self.analogue.roll as usize) % HEIGHT * WIDTH;
            let first = (shift.round().rem_euclid(WIDTH as f64)) as usize % WIDTH;
            let height = (255.0 * LineQuality::click_height()) as f32;
            for _ in 0..self.random.poisson(line.clicks) {
                let (at, chance) = (self.random.below(WIDTH), self.random.uniform());
                let is_up = if chance < line.leaning {
                    luminance(self.card.pixels()[row + (at + first) % WIDTH]) < 127.0
                } else {
                    chance < 0.5 * (1.0 + line.leaning)
                };
                added[at] += if is_up { height } else { -height };
            }
            let colour = if carrier_to_noise < burst { 0.0 } else { 1.0 };
            let hue = (from + TAPE / 2) % (TAPE - 2 * WIDTH);
            let source = &self.card.pixels()[row..row + WIDTH];
            let out = &mut pixels[number * WIDTH * 4..][..WIDTH * 4];
            for (x, (pixel, added)) in out.chunks_exact_mut(4).zip(&added).enumerate() {
                let from = source[(x + first) % WIDTH];
                let grey = luminance(from);
                let value = 127.0 + (grey - 127.0) * line.signal as f32 + added;
                // Colour has a fifth of the bandwidth and sits where the noise is strongest.
                let blotch = 255.0 * line.noise as f32;
                for (part, (channel, from)) in pixel.iter_mut().zip(from).enumerate() {
                    let noise = blotch * self.tape[hue + x / 5 + 61 * part];
                    *channel = (value + colour * (f32::from(from) - grey + noise)) as u8;
                }
                pixel[3] = 255;
            }
        }
        let torn = lost as f64 / HEIGHT as f64;
        if torn * BAD_PART > 1.0 {
            self.analogue.roll = (self.analogue.roll + 8.0 + 40.0 * self.random.uniform()) % HEIGHT as f64;
        } else {
            // Found again: the picture snaps back by the shorter way.
            let back = if self.analogue.roll > 0.5 * HEIGHT as f64 { HEIGHT as f64 } else { 0.0 };
            self.analogue.roll = (back + (self.analogue.roll - back) * 0.6).floor() % HEIGHT as f64;
        }
        Shown { torn, ..Shown::default() }
    }
}

/// Brightness of a colour, 0 to 255 (weights of ITU-R BT.601).
fn luminance([red, green, blue]: Colour) -> f32 {
    0.299 * f32::from(red) + 0.587 * f32::from(green) + 0.114 * f32::from(blue)
}
