//! What a receiver's screen shows at a carrier-to-noise ratio: an illustration, by a model that is stated here.
//!
//! A [`ReceiverScreen`] draws field after field of a test card ([`card`]) as an analogue receiver ([`analogue`]) or a
//! digital one ([`digital`]) would. The level fades from line to line as a direct wave with scatter does ([`crate::rf::fading::scatter`]),
//! so that fades of the level stand in the picture as bands. Everything random comes from the seed: the same seed and the
//! same reception draw the same bits.
//!
//! ```
//! use lapmargin::link::picture::{BYTES, FIELD, Reception, ReceiverScreen, Standard};
//! use lapmargin::units::{Db, Hertz, MetresPerSecond};
//! let reception = Reception {
//!     carrier_to_noise: Db(14.0),
//!     k: 20.0,
//!     speed: MetresPerSecond(15.0),
//!     frequency: Hertz(5.8e9),
//!     standard: Standard::Analogue { bandwidth: Hertz(18e6) },
//! };
//! let mut screen = ReceiverScreen::new(1);
//! let mut pixels = vec![0; BYTES];
//! screen.field(&reception, FIELD, &mut pixels);
//! assert!(pixels.iter().skip(3).step_by(4).all(|&alpha| alpha == 255));
//! ```

mod analogue;
pub mod card;
mod digital;
#[cfg(test)]
mod tests;

use num_complex::Complex64;

use super::report::{EntryReport, Report};
use crate::plan::document::{Picture, Plan};
use crate::plan::presets::{ANALOGUE_REQUIRED_CN_DB, DIGITAL_REQUIRED_CN_DB, Typical};
use crate::rf::fading::scatter::{Phases, Scatter};
use crate::rf::random::{Random, seed_of};
use crate::rf::{SPEED_OF_LIGHT, Vec3};
use crate::units::{Db, Hertz, MetresPerSecond, Seconds};

pub use analogue::{LineQuality, click_rate};
pub use digital::frame_loss;

/// Pixels in a line.
pub const WIDTH: usize = 256;
/// Lines of a field.
pub const HEIGHT: usize = 192;
/// Bytes of a picture: red, green, blue and opacity of each pixel, line by line.
pub const BYTES: usize = WIDTH * HEIGHT * 4;
/// Time of a field, as in [`crate::link::track::FIELD`].
pub const FIELD: Seconds = Seconds(0.02);
/// How many numbers of the noise are drawn in advance: a prime, so that no pattern repeats from line to line.
const TAPE: usize = 65_521;

/// How pictures come over the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standard {
    /// Frequency modulation.
    Analogue {
        /// Bandwidth of the receiver, greater than zero.
        bandwidth: Hertz,
    },
    /// Blocks in frames.
    Digital {
        /// Carrier-to-noise ratio at which one frame in a hundred is lost.
        required: Db,
        /// How long the picture stands still after a lost frame.
        freeze: Seconds,
    },
}

/// What arrives at the receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reception {
    /// Mean carrier-to-noise ratio in the receiver's bandwidth.
    pub carrier_to_noise: Db,
    /// Power of the strongest path over the rest, 0 (no direct wave) to infinite (no fading).
    pub k: f64,
    /// How fast the aircraft moves through its scatter; standing still, a fade stays.
    pub speed: MetresPerSecond,
    /// Carrier, greater than zero.
    pub frequency: Hertz,
    /// How the picture comes over.
    pub standard: Standard,
}

impl Reception {
    /// What arrives at an entry's receiver at a sample of the lap, at the port that it listens to. `None` where the plan or
    /// the report has no such receiver or sample.
    pub fn on_lap(plan: &Plan, report: &Report, entry: &EntryReport, sample: usize) -> Option<Self> {
        let port = entry.ports.get(usize::from(*entry.together.port.get(sample)?))?;
        let receiver = plan.receivers.iter().find(|receiver| receiver.id == entry.receiver)?;
        Some(Self::at_margin(
            Db(*port.margin_db.get(sample)?),
            Db(*port.k_db.get(sample)?).ratio(),
            MetresPerSecond(*report.lap.speed_m_per_s.get(sample)?),
            Hertz(entry.frequency_hz),
            &receiver.picture,
        ))
    }

    /// What arrives at a receiver for this kind of picture, with a margin over the level that it needs: where nobody stated
    /// what carrier-to-noise ratio that is, the typical one.
    pub fn at_margin(margin: Db, k: f64, speed: MetresPerSecond, frequency: Hertz, picture: &Picture) -> Self {
        let stated = |cn: Option<f64>, typical: &Typical| Db(cn.unwrap_or(typical.value));
        let (required, standard) = match *picture {
            Picture::Analogue { bandwidth_hz, required_cn_db } => {
                let required = stated(required_cn_db, &ANALOGUE_REQUIRED_CN_DB);
                (required, Standard::Analogue { bandwidth: Hertz(bandwidth_hz) })
            }
            Picture::Digital { required_cn_db, freeze_s, .. } => {
                let required = stated(required_cn_db, &DIGITAL_REQUIRED_CN_DB);
                (required, Standard::Digital { required, freeze: Seconds(freeze_s) })
            }
        };
        Self { carrier_to_noise: required + margin, k, speed, frequency, standard }
    }
}

/// What became of a field.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shown {
    /// Least carrier-to-noise ratio of the field, as a power ratio.
    pub least: f64,
    /// Share of the lines without synchronization, or of the blocks that are damaged.
    pub torn: f64,
    /// Whether an earlier picture stands still.
    pub is_frozen: bool,
}

/// A receiver's screen, and the receiver behind it.
#[derive(Clone, Debug)]
pub struct ReceiverScreen {
    random: Random,
    card: card::Card,
    /// Normal numbers of variance 1, each less the one before and over √2: their spectrum rises from zero with the
    /// frequency, as that of a discriminator's noise does.
    tape: Vec<f32>,
    scatter: Scatter,
    phases: Phases,
    /// Carrier-to-noise ratio of every line, as a power ratio.
    lines: Vec<f64>,
    /// Seconds on the screen's own clock.
    now: f64,
    analogue: analogue::SyncMemory,
    digital: digital::FrameMemory,
}

impl ReceiverScreen {
    /// A screen whose noise and fades this seed decides.
    pub fn new(seed: u64) -> Self {
        let mut random = Random::new(seed_of(&[seed]));
        let mut white = Vec::with_capacity(TAPE + 1);
        while white.len() <= TAPE {
            let Complex64 { re, im } = random.normal() * std::f64::consts::SQRT_2;
            white.extend([re as f32, im as f32]);
        }
        let tape =
            white.windows(2).take(TAPE).map(|pair| (pair[1] - pair[0]) * std::f32::consts::FRAC_1_SQRT_2).collect();
        // Places are counted in wavelengths here, so that one draw of the scatter serves every carrier.
        let scatter = Scatter::draw(&mut random, std::f64::consts::TAU, 1);
        let phases = scatter.phases(&Vec3::zeros());
        Self {
            random,
            card: card::Card::new(),
            tape,
            scatter,
            phases,
            lines: vec![0.0; HEIGHT],
            now: 0.0,
            analogue: analogue::SyncMemory::default(),
            digital: digital::FrameMemory::default(),
        }
    }

    /// Draws the field that is on the screen `passed` after the one drawn before: the next one after [`FIELD`]; fields in
    /// between are not drawn, but may be what a digital picture stands still for. `pixels` is [`BYTES`] long.
    ///
    /// # Panics
    /// When `pixels` is shorter.
    pub fn field(&mut self, reception: &Reception, passed: Seconds, pixels: &mut [u8]) -> Shown {
        let passed = if passed.0 > FIELD.0 { passed } else { FIELD };
        self.fade(reception);
        self.card.turn(self.now);
        self.now += passed.0;
        let shown = match reception.standard {
            Standard::Analogue { bandwidth } => self.analogue_field(bandwidth, pixels),
            Standard::Digital { required, freeze } => self.digital_field(required, freeze, passed, pixels),
        };
        Shown { least: self.lines.iter().copied().fold(f64::INFINITY, f64::min), ..shown }
    }

    /// The carrier-to-noise ratio of every line of the next field, as power ratios whose mean over long times is that of
    /// the reception: direct wave and scatter, `|√(K/(K+1)) + √(1/(K+1)) s|²`.
    fn fade(&mut self, reception: &Reception) {
        let mean = reception.carrier_to_noise.ratio();
        let k = reception.k.max(0.0);
        let (direct, scattered) = ((1.0 / (1.0 + 1.0 / k)).sqrt(), (1.0 / (1.0 + k)).sqrt());
        let wavelengths = reception.speed.0 * FIELD.0 / HEIGHT as f64 * reception.frequency.0 / SPEED_OF_LIGHT;
        let step = self.scatter.phases(&Vec3::new(wavelengths, 0.0, 0.0));
        for line in &mut self.lines {
            self.phases.turn(&step);
            *line = mean * (self.scatter.field(0, &self.phases) * scattered + direct).norm_sqr();
        }
    }

    /// A place on the tape of noise.
    fn place(&mut self) -> usize {
        self.random.below(TAPE - 2 * WIDTH)
    }
}
