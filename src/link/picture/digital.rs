//! A digital picture: it is there or it is not.
//!
//! The level is averaged over a frame, as a wide signal with interleaving does. The loss of frames falls off a cliff
//! ([`frame_loss`]); a lost frame leaves the last picture standing for a stated time. Near the cliff slices of frames that
//! come through are damaged, with the chance that a frame would be lost 1 dB lower. The curve is our own: steep, as coded
//! transmissions are, and tied to the required ratio at one frame in a hundred (common practice, no source).

use super::{FIELD, HEIGHT, ReceiverScreen, Shown, WIDTH};
use crate::units::{Db, Seconds};

/// Side of a block in pixels.
pub const BLOCK: usize = 16;
const ACROSS: usize = WIDTH / BLOCK;
/// How far under the required ratio half of all frames are lost.
const HALF_LOST: Db = Db(-1.0);
/// Width of the cliff: the standard deviation that puts one frame in a hundred at the required ratio. 2.326 is the 99 %
/// quantile of the normal distribution.
const WIDTH_OF_CLIFF: Db = Db(1.0 / 2.326_347_874);

/// The share of frames that is lost at a margin over the required carrier-to-noise ratio: 1 % at none, half at 1 dB under.
pub fn frame_loss(margin: Db) -> f64 {
    0.5 * libm::erfc((margin - HALF_LOST) / WIDTH_OF_CLIFF * std::f64::consts::FRAC_1_SQRT_2)
}

/// What a receiver remembers from frame to frame.
#[derive(Clone, Debug, Default)]
pub(super) struct FrameMemory {
    /// The picture shown last; empty before the first.
    held: Vec<u8>,
    /// Seconds for which it still stands.
    still: f64,
}

impl ReceiverScreen {
    /// Draws a frame whose lines have their carrier-to-noise ratios in `self.lines`.
    pub(super) fn digital_field(&mut self, required: Db, freeze: Seconds, passed: Seconds, pixels: &mut [u8]) -> Shown {
        let mean = self.lines.iter().sum::<f64>() / HEIGHT as f64;
        let margin = Db::from_ratio(mean) - required;
        if self.digital.held.is_empty() {
            // Dark until the first frame has come.
            self.digital.held = [16, 18, 22, 255].repeat(WIDTH * HEIGHT);
        }
        self.digital.still -= passed.0;
        // Any frame since the last drawing may have been lost.
        let all_came = libm::pow(1.0 - frame_loss(margin), passed.0 / FIELD.0);
        if self.random.uniform() >= all_came {
            // On average in the middle of the time that has passed; for the next field, just now.
            self.digital.still = freeze.0 + FIELD.0 - 0.5 * (passed.0 - FIELD.0);
        }
        // Half a field of tolerance: the time is a sum of roundings.
        if self.digital.still > 0.5 * FIELD.0 {
            pixels[..self.digital.held.len()].copy_from_slice(&self.digital.held);
            return Shown { is_frozen: true, ..Shown::default() };
        }
        let damage = frame_loss(margin - Db(1.0));
        let mut blocks = 0;
        for (row, from) in self.card.pixels().chunks_exact(WIDTH * BLOCK).enumerate() {
            let out = &mut pixels[row * WIDTH * BLOCK * 4..][..WIDTH * BLOCK * 4];
            let first = if self.random.uniform() < damage { self.random.below(ACROSS) } else { ACROSS };
            blocks += ACROSS - first;
            let before = &self.digital.held[row * WIDTH * BLOCK * 4..][..WIDTH * BLOCK * 4];
            let moved = self.random.below(3 * BLOCK);
            for (index, (pixel, colour)) in out.chunks_exact_mut(4).zip(from).enumerate() {
                let (x, y) = (index % WIDTH, index / WIDTH);
                if x / BLOCK < first {
                    pixel[..3].copy_from_slice(colour);
                } else {
                    // Old picture at a wrong place, coarse and of few shades.
                    let (coarse_x, coarse_y) = (((x + moved) % WIDTH) & !7, y & !7);
                    for (channel, old) in pixel.iter_mut().zip(&before[(coarse_y * WIDTH + coarse_x) * 4..][..3]) {
                        *channel = (old & 0xc0) | 0x20;
                    }
                }
                pixel[3] = 255;
            }
        }
        self.digital.held.copy_from_slice(&pixels[..WIDTH * HEIGHT * 4]);
        Shown { torn: blocks as f64 / (ACROSS * (HEIGHT / BLOCK)) as f64, ..Shown::default() }
    }
}
