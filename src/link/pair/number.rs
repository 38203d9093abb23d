//! Every number of a link: its key in a text, its name, its range, and where it stands. Written here and nowhere else.

use super::{PairError, PairLink, PairObstacle};
use crate::plan::document::{Picture, ReceiverNoise};
use crate::plan::limits::{self, Range};

/// Distance of the two antennas: from an arm's length, below which far-field patterns say nothing, to the farthest that a
/// flat ground allows.
pub const DISTANCE_M: Range = Range { min: 0.5, max: 2000.0, unit: "m" };
/// Height of an antenna: from the grass to a mast, or an aircraft high above the gates.
pub const HEIGHT_M: Range = Range { min: 0.02, max: 150.0, unit: "m" };
/// Any angle of an antenna or an obstacle: half a turn either way is every one there is.
pub const ANGLE_DEG: Range = Range { min: -180.0, max: 180.0, unit: "°" };
/// Where the middle of an obstacle may stand along the line: also beyond an end, as long walls do.
pub const ALONG_M: Range = Range { min: -1000.0, max: 3000.0, unit: "m" };
/// Where the middle of an obstacle may stand beside the line.
pub const ASIDE_M: Range = Range { min: -1000.0, max: 1000.0, unit: "m" };
/// Speed of the transmitter.
pub const SPEED_M_PER_S: Range = Range { min: 0.0, max: 100.0, unit: "m/s" };

/// Where a number stands in a link.
struct Row {
    key: &'static str,
    name: &'static str,
    range: Range,
    get: fn(&PairLink) -> Option<f64>,
    set: fn(&mut PairLink, Option<f64>),
}

/// How a number is kept: always there, there or not known, or as a whole number.
macro_rules! place {
    (always $($part:ident).+) => {
        (|link| Some(link.$($part).+), |link, value| if let Some(value) = value { link.$($part).+ = value })
    };
    (known $($part:ident).+) => {
        (|link| link.$($part).+, |link, value| link.$($part).+ = value)
    };
    (whole $($part:ident).+) => {
        // The range of the number fits the type.
        (|link| Some(f64::from(link.$($part).+)), |link, value| if let Some(value) = value { link.$($part).+ = value as u8 })
    };
    (obstacle $part:ident) => {
        (
            |link| link.obstacle.as_ref().map(|obstacle| obstacle.$part),
            |link, value| if let Some(value) = value {
                // A number of an obstacle that there is not yet puts the usual one there.
                link.obstacle.get_or_insert_with(PairObstacle::default).$part = value;
            },
        )
    };
}

macro_rules! numbers {
    ($($number:ident, $key:literal, $name:literal, $range:expr, ($($place:tt)+);)+) => {
        /// A number of a link.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum PairNumber {
            $(#[doc = $name] $number,)+
        }

        impl PairNumber {
            /// Every number.
            pub const ALL: &'static [PairNumber] = &[$(PairNumber::$number),+];

            fn row(self) -> Row {
                match self {
                    $(PairNumber::$number => {
                        type Place = (fn(&PairLink) -> Option<f64>, fn(&mut PairLink, Option<f64>));
                        let (get, set): Place = numbers!(@place $($place)+);
                        Row { key: $key, name: $name, range: $range, get, set }
                    })+
                }
            }
        }
    };
    (@place with $get:path, $set:path) => { ($get, $set) };
    (@place $($place:tt)+) => { place!($($place)+) };
}

numbers! {
    Distance, "d", "a distance", DISTANCE_M, (always distance_m);
    Frequency, "f", "a carrier", limits::CHANNEL_HZ, (always frequency_hz);
    Power, "p", "a power", limits::POWER_DBM, (always power_dbm);
    TransmitFeedLength, "tl", "a feed line at the transmitter", limits::FEED_LENGTH_M, (always transmitter.feed.length_m);
    TransmitConnectors, "tc", "a number of connectors at the transmitter", limits::CONNECTORS, (whole transmitter.feed.connectors);
    TransmitGain, "tg", "a gain of the transmitter's antenna", limits::GAIN_DBI, (known transmitter.antenna.gain_dbi);
    TransmitAxialRatio, "ta", "an axial ratio of the transmitter's antenna", limits::AXIAL_RATIO_DB, (known transmitter.antenna.axial_ratio_db);
    TransmitBeamwidth, "tb", "a beamwidth of the transmitter's antenna", limits::BEAMWIDTH_DEG, (known transmitter.antenna.beamwidth_deg);
    TransmitRejection, "tr", "a rejection of the transmitter's antenna", limits::REJECTION_DB, (known transmitter.antenna.rejection_db);
    TransmitHeight, "th", "a height of the transmitter's antenna", HEIGHT_M, (always transmitter.height_m);
    TransmitTurn, "tt", "a turn of the transmitter's antenna", ANGLE_DEG, (always transmitter.turn_deg);
    TransmitTilt, "ti", "a tilt of the transmitter's antenna", ANGLE_DEG, (always transmitter.tilt_deg);
    TransmitAside, "ts", "an aim of the transmitter's antenna", ANGLE_DEG, (always transmitter.aside_deg);
    ReceiveFeedLength, "rl", "a feed line at the receiver", limits::FEED_LENGTH_M, (always receiver.feed.length_m);
    ReceiveConnectors, "rc", "a number of connectors at the receiver", limits::CONNECTORS, (whole receiver.feed.connectors);
    ReceiveGain, "rg", "a gain of the receiver's antenna", limits::GAIN_DBI, (known receiver.antenna.gain_dbi);
    ReceiveAxialRatio, "ra", "an axial ratio of the receiver's antenna", limits::AXIAL_RATIO_DB, (known receiver.antenna.axial_ratio_db);
    ReceiveBeamwidth, "rb", "a beamwidth of the receiver's antenna", limits::BEAMWIDTH_DEG, (known receiver.antenna.beamwidth_deg);
    ReceiveRejection, "rr", "a rejection of the receiver's antenna", limits::REJECTION_DB, (known receiver.antenna.rejection_db);
    ReceiveHeight, "rh", "a height of the receiver's antenna", HEIGHT_M, (always receiver.height_m);
    ReceiveTurn, "rt", "a turn of the receiver's antenna", ANGLE_DEG, (always receiver.turn_deg);
    ReceiveTilt, "ri", "a tilt of the receiver's antenna", ANGLE_DEG, (always receiver.tilt_deg);
    ReceiveAside, "rs", "an aim of the receiver's antenna", ANGLE_DEG, (always receiver.aside_deg);
    FrameLoss, "fl", "a loss through the frame", limits::FRAME_LOSS_DB, (always frame_loss_db);
    WearerOff, "w", "a look of the wearer past the transmitter", ANGLE_DEG, (known wearer_off_deg);
    Roughness, "gr", "a roughness of the ground", limits::ROUGHNESS_M, (always roughness_m);
    ScatterK, "k", "a K-factor of the scatter", limits::SCATTER_K_DB, (known scatter_k_db);
    ScatterXpr, "x", "a cross-polarization ratio of the scatter", limits::SCATTER_XPR_DB, (known scatter_xpr_db);
    LineSigma, "ls", "a wavering of the transmitter's place", limits::LINE_SIGMA_M, (always line_sigma_m);
    Speed, "v", "a speed", SPEED_M_PER_S, (always speed_m_per_s);
    ObstacleDistance, "od", "a distance of the obstacle", ALONG_M, (obstacle distance_m);
    ObstacleAside, "os", "a distance of the obstacle from the line", ASIDE_M, (obstacle aside_m);
    ObstacleWidth, "ow", "a width of the obstacle", limits::OBSTACLE_SIDE_M, (obstacle width_m);
    ObstacleDepth, "oe", "a depth of the obstacle", limits::OBSTACLE_SIDE_M, (obstacle depth_m);
    ObstacleTurn, "ot", "a turn of the obstacle", ANGLE_DEG, (obstacle turn_deg);
    ObstacleHeight, "oh", "a height of the obstacle", limits::OBSTACLE_HEIGHT_M, (obstacle height_m);
    ObstacleBase, "ob", "a height where the crown begins", limits::BASE_HEIGHT_M, (obstacle base_m);
    ObstacleThickness, "on", "a thickness of the obstacle's walls", limits::WALL_THICKNESS_M, (obstacle thickness_m);
    ObstacleLoss, "ol", "an attenuation of the crown", limits::CROWN_LOSS_DB_PER_M, (obstacle loss_db_per_m);
    Bandwidth, "b", "a bandwidth", limits::BANDWIDTH_HZ, (with bandwidth, set_bandwidth);
    RequiredCn, "c", "a carrier-to-noise ratio", limits::REQUIRED_CN_DB, (with required_cn, set_required_cn);
    Freeze, "z", "a time that the picture stays frozen", limits::FREEZE_S, (with freeze, set_freeze);
    NoiseFigure, "n", "a noise figure", limits::NOISE_FIGURE_DB, (with noise_figure, set_noise_figure);
    Sensitivity, "s", "a sensitivity", limits::SENSITIVITY_DBM, (with sensitivity, set_sensitivity);
}

impl PairNumber {
    /// Its key in a text.
    pub fn key(self) -> &'static str {
        self.row().key
    }

    /// The number with this key.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|number| number.key() == key)
    }

    /// What it is, as a sentence begins with it: "a distance".
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// What it may be.
    pub fn range(self) -> Range {
        self.row().range
    }

    /// Its value in a link; `None` where it is not known, or where the link has no such part.
    pub fn get(self, link: &PairLink) -> Option<f64> {
        (self.row().get)(link)
    }

    /// Puts it into a link. `None` makes it unknown where that is an answer, and is nothing elsewhere.
    ///
    /// # Errors
    /// As [`PairNumber::check`]; the link is then untouched.
    pub fn set(self, link: &mut PairLink, value: Option<f64>) -> Result<(), PairError> {
        if let Some(got) = value {
            self.check(got)?;
        }
        (self.row().set)(link, value);
        Ok(())
    }

    /// Whether it may be so.
    ///
    /// # Errors
    /// [`PairError::Value`] outside its range, [`PairError::NotWhole`] for a broken count.
    pub fn check(self, got: f64) -> Result<(), PairError> {
        let allowed = self.range();
        if !allowed.contains(got) {
            return Err(PairError::Value { number: self, got, allowed });
        }
        let is_count = matches!(self, Self::TransmitConnectors | Self::ReceiveConnectors);
        if is_count && got.floor() != got {
            return Err(PairError::NotWhole { number: self, got });
        }
        Ok(())
    }
}

fn bandwidth(link: &PairLink) -> Option<f64> {
    match link.picture {
        Picture::Analogue { bandwidth_hz, .. } | Picture::Digital { bandwidth_hz, .. } => Some(bandwidth_hz),
    }
}

fn set_bandwidth(link: &mut PairLink, value: Option<f64>) {
    let (Picture::Analogue { bandwidth_hz, .. } | Picture::Digital { bandwidth_hz, .. }) = &mut link.picture;
    *bandwidth_hz = value.unwrap_or(*bandwidth_hz);
}

fn required_cn(link: &PairLink) -> Option<f64> {
    match link.picture {
        Picture::Analogue { required_cn_db, .. } | Picture::Digital { required_cn_db, .. } => required_cn_db,
    }
}

fn set_required_cn(link: &mut PairLink, value: Option<f64>) {
    let (Picture::Analogue { required_cn_db, .. } | Picture::Digital { required_cn_db, .. }) = &mut link.picture;
    *required_cn_db = value;
}

fn freeze(link: &PairLink) -> Option<f64> {
    match link.picture {
        Picture::Digital { freeze_s, .. } => Some(freeze_s),
        Picture::Analogue { .. } => None,
    }
}

/// A picture that stands still is a digital one.
fn set_freeze(link: &mut PairLink, value: Option<f64>) {
    let Some(value) = value else { return };
    match &mut link.picture {
        Picture::Digital { freeze_s, .. } => *freeze_s = value,
        Picture::Analogue { bandwidth_hz, required_cn_db } => {
            let (bandwidth_hz, required_cn_db) = (*bandwidth_hz, *required_cn_db);
            link.picture = Picture::Digital { bandwidth_hz, required_cn_db, freeze_s: value };
        }
    }
}

fn noise_figure(link: &PairLink) -> Option<f64> {
    match link.noise {
        ReceiverNoise::NoiseFigure { noise_figure_db } => noise_figure_db,
        ReceiverNoise::Sensitivity { .. } => None,
    }
}

fn set_noise_figure(link: &mut PairLink, value: Option<f64>) {
    link.noise = ReceiverNoise::NoiseFigure { noise_figure_db: value };
}

fn sensitivity(link: &PairLink) -> Option<f64> {
    match link.noise {
        ReceiverNoise::Sensitivity { level_dbm } => Some(level_dbm),
        ReceiverNoise::NoiseFigure { .. } => None,
    }
}

fn set_sensitivity(link: &mut PairLink, value: Option<f64>) {
    if let Some(level_dbm) = value {
        link.noise = ReceiverNoise::Sensitivity { level_dbm };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_has_a_key_of_its_own_and_comes_back_from_where_it_was_put() {
        for (index, number) in PairNumber::ALL.iter().enumerate() {
            assert_eq!(PairNumber::of_key(number.key()), Some(*number));
            assert_eq!(PairNumber::ALL.iter().position(|other| other.key() == number.key()), Some(index));
            for value in [number.range().min, number.range().max] {
                let mut link = PairLink::default();
                assert_eq!(number.set(&mut link, Some(value)), Ok(()));
                assert_eq!(number.get(&link), Some(value), "{number:?}");
            }
            for value in [number.range().min.next_down(), number.range().max.next_up(), f64::NAN, f64::INFINITY] {
                let mut link = PairLink::default();
                assert!(matches!(number.set(&mut link, Some(value)), Err(PairError::Value { .. })), "{number:?}");
                assert_eq!(link, PairLink::default());
            }
        }
        assert!(matches!(PairNumber::TransmitConnectors.check(1.5), Err(PairError::NotWhole { .. })));
    }

    #[test]
    fn the_usual_link_keeps_its_own_ranges() {
        assert_eq!(PairLink::default().check(), Ok(()));
        let with_obstacle = PairLink { obstacle: Some(PairObstacle::default()), ..PairLink::default() };
        assert_eq!(with_obstacle.check(), Ok(()));
    }
}
