//! What a plan may hold: the range of every number and the size of every list, each with its reason.
//!
//! They are written here and nowhere else: the loader, the check of an edit, the messages and the fields of the page all
//! read these constants. Ends belong to a range. A range is what can be *computed*; whether it is wise or allowed where
//! somebody flies is another matter, and local rules decide it.
//!
//! The layers below have limits of their own, of what their formulas take. Where a plan's is the same, it is theirs; where
//! it is narrower, a `const` assertion at the end of this file holds it, so that a plan without problems is one that the
//! layers below take.

use std::fmt;
use std::ops::RangeInclusive;

use crate::course::{self, MIN_GATE_SPACING};
use crate::rf::{antenna, material};
use crate::site::{self, SHORTEST_SIDE};

/// An allowed range of a number with its unit; both ends belong to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The least value allowed.
    pub min: f64,
    /// The greatest value allowed.
    pub max: f64,
    /// The unit as it is printed; empty for pure numbers.
    pub unit: &'static str,
}

impl Range {
    const fn new(min: f64, max: f64, unit: &'static str) -> Self {
        Self { min, max, unit }
    }

    /// Whether the value lies in the range; never true for NaN.
    pub fn contains(&self, value: f64) -> bool {
        self.min <= value && value <= self.max
    }
}

impl fmt::Display for Range {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} to {}", plain(self.min), with_unit(plain(self.max), self.unit))
    }
}

/// A number with its unit behind it.
pub(super) fn with_unit(mut number: String, unit: &str) -> String {
    if !["", "°"].contains(&unit) {
        number.push(' ');
    }
    number + unit
}

/// A number as a message shows it: a frequency in hertz with an exponent rather than with ten digits.
pub(super) fn plain(value: f64) -> String {
    if value.is_finite() && value.abs() >= 1e5 { format!("{value:e}") } else { value.to_string() }
}

/// How many items a list may have, or characters a text; both ends belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// The fewest allowed.
    pub min: usize,
    /// The most allowed.
    pub max: usize,
    /// What is counted, in the plural.
    pub of: &'static str,
}

impl Count {
    const fn new(min: usize, max: usize, of: &'static str) -> Self {
        Self { min, max, of }
    }

    /// Whether so many are allowed.
    pub fn contains(&self, count: usize) -> bool {
        (self.min..=self.max).contains(&count)
    }
}

impl fmt::Display for Count {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.min == self.max {
            write!(formatter, "exactly {} {}", self.min, self.of)
        } else {
            write!(formatter, "{} to {} {}", self.min, self.max, self.of)
        }
    }
}

// The document.

/// Bytes of a stored plan, refused before anything is parsed. A full plan (every list at its limit, texts long) takes
/// about 200 kB. Parsing takes memory in proportion to the text, a few times its size at most, because every item of
/// every list has fields that must be written out; so this limit bounds the memory too, and the list limits below are
/// checked after.
pub const TEXT_BYTES: usize = 1_000_000;
/// Bytes of a table of a measured antenna: 361 rows with many a column beside the three that are read.
pub const ANTENNA_CSV_BYTES: usize = 200_000;
/// Characters of the part of a plan link that carries the plan. Every browser in use keeps an address of this length
/// (common practice, no source); programs that pass messages on may cut one much earlier, so the page says how long it is.
pub const LINK_CHARACTERS: usize = 64_000;
/// How deep brackets may nest; a plan needs 8. It keeps the reader's stack small in a browser.
pub const TEXT_DEPTH: usize = 16;

/// Characters of a name: what fits a list on a phone in two lines.
pub const NAME: Count = Count::new(1, 80, "characters");
/// Characters of an id: short enough to be read out over a table.
pub const ID: Count = Count::new(1, 24, "characters");
/// Characters of the plan's note: a page of text.
pub const NOTE: Count = Count::new(0, 4000, "characters");
/// Characters of the words in which a rule's source is given.
pub const RULE_SOURCE: Count = Count::new(0, 400, "characters");

// Lists. Work grows with obstacles x samples x ports x entries; these keep the longest evaluation within seconds.

/// Obstacles; the time for one link grows with their number, and with its square once paths bounce.
pub const OBSTACLES: Count = Count::new(0, 400, "obstacles");
/// Gates; a closed line needs two.
pub const GATES: Count = Count::new(2, 40, "gates");
/// Seats.
pub const SEATS: Count = Count::new(0, 32, "seats");
/// Receivers.
pub const RECEIVERS: Count = Count::new(0, 16, "receivers");
/// Entries; more than eight analogue pictures do not fit a band, a plan may compare some more.
pub const ENTRIES: Count = Count::new(0, 16, "entries");
/// Inputs of a receiver.
pub const PORTS: Count = Count::new(1, 4, "ports");
/// Video radios of an entry: the picture has one source.
pub const VIDEO_RADIOS: Count = Count::new(1, 1, "video radio");
/// Samples of a lap, by the length of the gates' polygon over the step. The least still shows every gate of a short
/// course, the most keeps columns and pictures small.
pub const LAP_SAMPLES: Count = Count::new(8, 4000, "samples along the lines between the gates");
/// People standing in all crowds together, by area times density: each is a screen that is drawn and tested.
pub const PEOPLE: Range = Range::new(0.0, 4000.0, "people in all crowds together");

// The site.

/// Either side of the site. Below it there is no course; above it the ground is no plane and no one sees the aircraft.
pub const SITE_SIDE_M: Range = Range::new(5.0, 1000.0, "m");
/// Roughness of the ground: from a polished floor to ploughed land.
pub const ROUGHNESS_M: Range = Range::new(0.0, 0.3, "m");
/// K-factor of the scatter: from almost Rayleigh to hardly any scatter.
pub const SCATTER_K_DB: Range = Range::new(-10.0, 40.0, "dB");
/// Cross-polarization ratio of the scatter: from both hands alike to none turned.
pub const SCATTER_XPR_DB: Range = Range::new(0.0, 40.0, "dB");
/// Standard deviation of shadowing: zero switches it off; measured values stay below 12 dB.
pub const SHADOWING_DB: Range = Range::new(0.0, 15.0, "dB");
/// How far outside the site's border the centre of an obstacle may stand: buildings around the yard reflect into it.
pub const OBSTACLE_BEYOND_M: f64 = 50.0;
/// Height of the top of an obstacle: from a kerb to a tower.
pub const OBSTACLE_HEIGHT_M: Range = Range::new(0.1, 150.0, "m");
/// Sides of a block, canopy or crowd, and length of a wall. The least is a post.
pub const OBSTACLE_SIDE_M: Range = Range::new(0.1, 1000.0, "m");
/// Thickness of a wall: from sheet metal to a fortress.
pub const WALL_THICKNESS_M: Range = Range::new(0.0002, 2.0, "m");
/// Turn of a rectangle, and any heading: a full turn to either side, so that a person may write either.
pub const TURN_DEG: Range = Range::new(-360.0, 360.0, "°");
/// Lower edge of a canopy or of a crown.
pub const BASE_HEIGHT_M: Range = Range::new(0.0, 100.0, "m");
/// How far the top of a canopy or of a crown is above its lower edge, at least, in metres.
pub const LEAST_RISE_M: f64 = SHORTEST_SIDE;
/// Radius of a tree's crown.
pub const CROWN_RADIUS_M: Range = Range::new(0.2, 25.0, "m");
/// Attenuation of a crown: nothing to the densest hedge. Published single crowns stay below 5 dB/m.
pub const CROWN_LOSS_DB_PER_M: Range = Range::new(0.0, 10.0, "dB/m");
/// Height of the heads: seated children to people on a step.
pub const HEAD_HEIGHT_M: Range = Range::new(0.8, 3.0, "m");
/// People per square metre. Above about five a crowd is itself a danger; nobody plans one.
pub const CROWD_DENSITY_PER_M2: Range = Range::new(0.0, 5.0, "people per m²");

/// Share of a barrier that bars cover: none to a closed sheet.
pub const COVERED_SHARE: Range = Range::new(0.0, 1.0, "");

// The course.

/// Clear width and height of a gate's opening: from a hoop that an aircraft just passes to an arch.
pub const GATE_OPENING_M: Range = Range::new(0.3, 20.0, "m");
/// Tube of a gate's frame: from a wire to a lattice girder.
pub const FRAME_TUBE_M: Range = Range::new(0.003, 0.6, "m");
/// Height of a gate's centre: from the grass to the top of a flag pole.
pub const GATE_HEIGHT_M: Range = Range::new(0.2, 60.0, "m");
/// Distance from a gate to the next. Nearer gates are one gate, and the line between them would have no direction.
pub const GATE_SPACING_M: Range = Range::new(MIN_GATE_SPACING.0, 1000.0, "m");
/// A lap time: from a dash round a room to a long patrol.
pub const LAP_TIME_S: Range = Range::new(2.0, 600.0, "s");
/// Top speed.
pub const TOP_SPEED_M_PER_S: Range = Range::new(1.0, 100.0, "m/s");
/// Sideways acceleration; 100 m/s² is ten times gravity, more than any small aircraft turns with for long.
pub const SIDEWAYS_M_PER_S2: Range = Range::new(0.5, 100.0, "m/s²");
/// Acceleration and braking along the line.
pub const FORWARD_M_PER_S2: Range = Range::new(0.5, 100.0, "m/s²");
/// Quadratic drag: a top speed of 40 m/s at four times gravity is 0.025 per metre.
pub const DRAG_PER_M: Range = Range::new(0.0, 0.5, "per m");
/// Distance between samples. Below it they repeat each other, above it they jump gates.
pub const STEP_M: Range = Range::new(0.05, 5.0, "m");
/// How exactly the line is flown; zero is the exact coherent sum, for study.
pub const LINE_SIGMA_M: Range = Range::new(0.0, 3.0, "m");
/// Height of the antenna while the aircraft stands on the pad.
pub const PAD_HEIGHT_M: Range = Range::new(0.02, 3.0, "m");

// Receivers.

/// Height of a receiving antenna: from the grass to a mast.
pub const SEAT_HEIGHT_M: Range = Range::new(0.1, 40.0, "m");
/// Turn of a port's antenna away from the seat's facing.
pub const AIM_OFF_DEG: Range = Range::new(-180.0, 180.0, "°");
/// Elevation of a port's look.
pub const AIM_UP_DEG: Range = Range::new(-90.0, 90.0, "°");
/// Bandwidth: from a narrow data channel to the widest picture.
pub const BANDWIDTH_HZ: Range = Range::new(100e3, 100e6, "Hz");
/// Carrier-to-noise ratio that a picture needs; spread signals go a little below zero.
pub const REQUIRED_CN_DB: Range = Range::new(-10.0, 40.0, "dB");
/// How long a digital picture stays frozen after a break.
pub const FREEZE_S: Range = Range::new(0.0, 30.0, "s");
/// Noise figure: zero is the noiseless ideal.
pub const NOISE_FIGURE_DB: Range = Range::new(0.0, 30.0, "dB");
/// A stated sensitivity; the lower end is the thermal noise of the narrowest bandwidth.
pub const SENSITIVITY_DBM: Range = Range::new(-124.0, -30.0, "dBm");

// Antennas, feed lines, radios.

/// Peak gain: from a poor stub to the longest helix anyone carries to a yard.
pub const GAIN_DBI: Range = Range::new(-10.0, 20.0, "dBi");
/// Axial ratio of a circular antenna; above 20 dB it is linear and has another kind.
pub const AXIAL_RATIO_DB: Range = Range::new(antenna::AXIAL_RATIO.start().0, antenna::AXIAL_RATIO.end().0, "dB");
/// Rows of all measured tables of a plan together: eight antennas degree by degree, so that the plan still fits its file and
/// its link. What a row may say is [`crate::rf::antenna::MEASURED_GAIN`] and its neighbours.
pub const TABLE_ROWS: Count = Count::new(0, 3000, "rows in all measured tables together");
/// Half-power beamwidth of patches and helices.
pub const BEAMWIDTH_DEG: Range = Range::new(antenna::BEAMWIDTH.start().0, antenna::BEAMWIDTH.end().0, "°");
/// Front-to-back ratio, or depth of the null overhead.
pub const REJECTION_DB: Range = Range::new(antenna::FRONT_TO_BACK.start().0, antenna::FRONT_TO_BACK.end().0, "dB");
/// Length of a feed line; zero is an antenna straight on its connector.
pub const FEED_LENGTH_M: Range = Range::new(0.0, 50.0, "m");
/// Pairs of connectors in a run.
pub const CONNECTORS: Range = Range::new(0.0, 10.0, "pairs");
/// A carrier: the range in which the ground's constants are stated (ITU-R P.2040-4, table 3: 1 to 10 GHz).
pub const CHANNEL_HZ: Range = Range::new(1e9, 10e9, "Hz");
/// Conducted power: 40 dBm are 10 W, far more than anything that belongs on a small aircraft.
pub const POWER_DBM: Range = Range::new(-30.0, 40.0, "dBm");
/// Lean of an antenna on the aircraft: upright to lying flat, either way.
pub const LEAN_DEG: Range = Range::new(-90.0, 90.0, "°");
/// Loss through the aircraft's own frame.
pub const FRAME_LOSS_DB: Range = Range::new(0.0, 40.0, "dB");

// Rules and targets.

/// A limit of radiated power that a person picked.
pub const EIRP_LIMIT_DBM: Range = Range::new(-30.0, 60.0, "dBm");
/// A distance to keep from people: nothing, for a drill without any, to more than any site has.
pub const KEEP_AWAY_M: Range = Range::new(0.0, 500.0, "m");
/// Share of the lap with a picture. A share of exactly one no finite level reaches, because fading has no floor.
pub const PICTURE_SHARE: Range = Range::new(0.5, 0.9999, "");
/// Reserve above which an entry is called clear.
pub const WANTED_RESERVE_DB: Range = Range::new(0.0, 40.0, "dB");

// What the layers below take.

/// Whether a range lies within the two ends that a layer below takes.
const fn within(range: Range, min: f64, max: f64) -> bool {
    min <= range.min && range.max <= max
}

/// Whether so many lie within what a layer below takes.
const fn counted(count: Count, taken: &RangeInclusive<usize>) -> bool {
    *taken.start() <= count.min && count.max <= *taken.end()
}

/// The farthest coordinate of a plan: the far corner of the longest side, turned, beyond the border of the largest site.
const FARTHEST_M: f64 = SITE_SIDE_M.max + OBSTACLE_BEYOND_M + OBSTACLE_SIDE_M.max;

// The course.
const _: () = assert!(counted(GATES, &course::GATE_COUNT));
const _: () = assert!(SITE_SIDE_M.max <= course::GATE_COORDINATE.end().0 && 0.0 >= course::GATE_COORDINATE.start().0);
const _: () = assert!(within(GATE_HEIGHT_M, course::GATE_HEIGHT.start().0, course::GATE_HEIGHT.end().0));
const _: () = assert!(within(LAP_TIME_S, course::LAP_TIME.start().0, course::LAP_TIME.end().0));
const _: () = assert!(within(TOP_SPEED_M_PER_S, course::TOP_SPEED.start().0, course::TOP_SPEED.end().0));
const _: () = assert!(within(SIDEWAYS_M_PER_S2, course::ACCELERATION.start().0, course::ACCELERATION.end().0));
const _: () = assert!(within(FORWARD_M_PER_S2, course::ACCELERATION.start().0, course::ACCELERATION.end().0));
const _: () = assert!(within(DRAG_PER_M, *course::DRAG_PER_METRE.start(), *course::DRAG_PER_METRE.end()));
const _: () = assert!(within(STEP_M, course::STEP.start().0, course::STEP.end().0));
const _: () = assert!(LAP_SAMPLES.max <= course::MAX_SAMPLES);

// The site. Rectangles have four corners, cross nothing and stand on the ground.
// Every gate may have a frame.
const _: () = assert!(OBSTACLES.max + GATES.max <= site::MOST_OBSTACLES && 4 <= site::MOST_CORNERS);
const _: () = assert!(FARTHEST_M <= site::FARTHEST && OBSTACLE_HEIGHT_M.max <= site::FARTHEST);
const _: () = assert!(OBSTACLE_SIDE_M.min > site::SHORTEST_SIDE && CROWN_RADIUS_M.min >= site::SHORTEST_SIDE);
const _: () = assert!(OBSTACLE_HEIGHT_M.min >= site::SHORTEST_SIDE && HEAD_HEIGHT_M.min >= site::SHORTEST_SIDE);
const _: () = assert!(BASE_HEIGHT_M.min >= 0.0 && CROWN_LOSS_DB_PER_M.min >= 0.0);
const _: () = assert!(WALL_THICKNESS_M.min > 0.0 && WALL_THICKNESS_M.max <= site::FARTHEST);
const _: () = assert!(within(ROUGHNESS_M, 0.0, site::ROUGHEST_GROUND));
const _: () = assert!(within(CROWD_DENSITY_PER_M2, 0.0, site::DENSEST_CROWD) && PEOPLE.max <= site::MOST_PEOPLE);

// Antennas and carriers. One number of a kit is the front-to-back ratio of one kind and the null of another.
const _: () = assert!(within(GAIN_DBI, antenna::PEAK_GAIN.start().0, antenna::PEAK_GAIN.end().0));
const _: () = assert!(within(REJECTION_DB, antenna::NULL_DEPTH.start().0, antenna::NULL_DEPTH.end().0));
const _: () = assert!(within(CHANNEL_HZ, material::COMPUTABLE.start().0, material::COMPUTABLE.end().0));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_belong_to_a_range_and_nothing_else_does() {
        assert!(POWER_DBM.contains(-30.0) && POWER_DBM.contains(40.0));
        assert!(!POWER_DBM.contains(40.0_f64.next_up()) && !POWER_DBM.contains((-30.0_f64).next_down()));
        assert!(!POWER_DBM.contains(f64::NAN) && !POWER_DBM.contains(f64::INFINITY));
    }

    #[test]
    fn ranges_and_counts_print_as_a_person_writes_them() {
        assert_eq!(POWER_DBM.to_string(), "-30 to 40 dBm");
        assert_eq!(CHANNEL_HZ.to_string(), "1e9 to 1e10 Hz");
        assert_eq!(PICTURE_SHARE.to_string(), "0.5 to 0.9999");
        assert_eq!(VIDEO_RADIOS.to_string(), "exactly 1 video radio");
        assert_eq!(GATES.to_string(), "2 to 40 gates");
    }
}
