//! Five short demonstrations, each a prepared link with two sentences and one thing to try, and the table mode that steps
//! through them by itself.

#[cfg(target_arch = "wasm32")]
mod bar;
#[cfg(target_arch = "wasm32")]
mod table;
#[cfg(target_arch = "wasm32")]
mod tilt;

#[cfg(target_arch = "wasm32")]
pub use bar::{ShowBar, ShowBarProps};
#[cfg(target_arch = "wasm32")]
pub use table::{Table, TableProps, ask_for_whole_screen};
#[cfg(target_arch = "wasm32")]
pub use tilt::{TiltPanel, TiltPanelProps};

use crate::bench::wave::{WaveEnd, meeting};
use crate::format::{decibel_change, share};
use crate::link::pair::hearing::PairReport;
use crate::link::pair::{PairEnd, PairLink, beside};
use crate::plan::document::{AntennaKind, AntennaKit, StatedHand};
use crate::plan::plan_link::carried;
use crate::rf::material::Material;
use crate::units::{Degrees, Hertz, Radians};

/// Seconds for which the table mode shows each demonstration: long enough to read it twice.
pub const EACH_S: u32 = 20;

/// A demonstration.
pub struct Show {
    /// Its name.
    pub name: &'static str,
    /// What is seen, and why.
    pub sentences: [&'static str; 2],
    /// One thing to try.
    pub to_try: &'static str,
    /// The link that is prepared.
    pub link: fn() -> PairLink,
}

/// All five.
pub const SHOWS: [Show; 5] = [
    Show {
        name: "Matched",
        sentences: [
            "Both antennas are right-handed, so the receiver takes nearly all of the wave.",
            "The two turn the same way, each seen from behind its own antenna.",
        ],
        to_try: "Turn one antenna about the line: with circles nothing changes.",
        link: matched,
    },
    Show {
        name: "Crossed",
        sentences: [
            "The sender is right-handed and the receiver left-handed, so hardly anything of the direct wave is taken.",
            "What is left comes from ellipses that are no perfect circles, and from scatter.",
        ],
        to_try: "Raise both axial ratios: the wrong hand leaks more.",
        link: crossed,
    },
    Show {
        name: "Linear to circular",
        sentences: [
            "The sender’s wave swings to and fro in a line; a line is half right hand and half left.",
            "The circular receiver takes about one half, 3 dB less, whichever way the line is turned.",
        ],
        to_try: "Turn the sender about the line: the loss hardly changes.",
        link: linear_to_circular,
    },
    Show {
        name: "Bounce",
        sentences: [
            "A metal wall beside the line turns the hand of the wave over.",
            "So a left-handed receiver hears the bounce of a right-handed sender and hardly its direct wave.",
        ],
        to_try: "Take concrete and make the angle flat: under some 23° the hand is kept.",
        link: bounce,
    },
    Show {
        name: "Bank and tilt",
        sentences: [
            "Two linear antennas agree as long as both stand upright; this sender banks by 65°, as in a turn.",
            "The tilt of a line counts, the tilt of a circle does not.",
        ],
        to_try: "Turn the sender upright, and on to 90°.",
        link: bank,
    },
];

fn antenna(kind: AntennaKind, hand: StatedHand, axial_ratio_db: Option<f64>) -> PairEnd {
    let kit = AntennaKit { axial_ratio_db, ..AntennaKit::of_kind(kind, hand) };
    // Both at one height, so that each sees the other level, where its ellipse is what it is sold for.
    PairEnd { antenna: kit, height_m: 2.0, ..PairEnd::default() }
}

fn omni(hand: StatedHand) -> PairEnd {
    antenna(AntennaKind::CircularOmni, hand, Some(1.0))
}

fn pair(transmitter: PairEnd, receiver: PairEnd) -> PairLink {
    // Far enough for the picture to show what a few decibels do.
    PairLink { distance_m: 120.0, transmitter, receiver, ..PairLink::default() }
}

fn matched() -> PairLink {
    pair(omni(StatedHand::Right), omni(StatedHand::Right))
}

fn crossed() -> PairLink {
    pair(omni(StatedHand::Right), omni(StatedHand::Left))
}

fn linear() -> PairEnd {
    antenna(AntennaKind::Dipole, StatedHand::Unknown, None)
}

fn linear_to_circular() -> PairLink {
    pair(linear(), omni(StatedHand::Right))
}

fn bounce() -> PairLink {
    beside::put(&crossed(), Some((Material::Metal, Degrees(40.0))))
}

fn bank() -> PairLink {
    pair(PairEnd { turn_deg: 65.0, ..linear() }, linear())
}

/// Which demonstration a link is, if it is one as it was prepared.
pub fn of(link: &PairLink) -> Option<usize> {
    SHOWS.iter().position(|show| (show.link)() == *link)
}

/// What follows an address that asks for the table mode.
pub const TABLE: &str = "&table=1";

/// Whether an address asks for the table mode.
pub fn asks_for_table(fragment: &str) -> bool {
    carried(fragment, "table") == Some("1")
}

/// How a device is held: its bank to the right, and how far its top comes toward whoever looks at it; from upright, both in
/// degrees and within a quarter and a half turn. Out of the angles `beta` and `gamma` of the browser's event (W3C, Device
/// Orientation Event: turns about the device's own axes, the last two of three). These are of no use by themselves: with the
/// device upright, its bank is in the third.
pub fn held([beta, gamma]: [Degrees; 2]) -> [Degrees; 2] {
    let [(sin_beta, cos_beta), (sin_gamma, cos_gamma)] = [beta, gamma].map(|angle| libm::sincos(angle.radians().0));
    // Where up is, as the device sees it: to its right, to its top, out of its screen.
    let [right, top, out] = [-cos_beta * sin_gamma, sin_beta, cos_beta * cos_gamma];
    let (bank, back) = (libm::asin((-right).clamp(-1.0, 1.0)), -libm::atan2(out, top));
    [bank, back].map(|angle| Radians(angle).degrees())
}

/// The two figures that a table shows: what they are called, and what they read.
pub fn figures(link: &PairLink, report: &PairReport) -> [(&'static str, String); 2] {
    use crate::link::pair::Side;
    let [sender, receiver] = Side::ALL.map(|side| WaveEnd::of(link, report, side));
    let taken = meeting(&sender, &receiver, None, Hertz(link.frequency_hz)).direct.taken.total().norm_sqr();
    [
        ("of the direct wave taken", share(taken)),
        ("over what the picture needs", decibel_change(report.explanation.margin_db)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pair::hearing::hear;

    #[test]
    fn every_demonstration_can_be_heard_and_shows_what_it_says() {
        let margin = |at: usize| hear(&(SHOWS[at].link)()).unwrap().explanation.margin_db;
        let taken = |at: usize| {
            let link = (SHOWS[at].link)();
            let report = hear(&link).unwrap();
            let [(_, taken), _] = figures(&link, &report);
            taken.split('\u{a0}').next().unwrap().parse::<f64>().unwrap()
        };
        assert!(taken(0) > 97.0 && taken(1) < 3.0);
        // A line and an ellipse of 1 dB: 2.54 to 3.54 dB over all turns (table of the mismatch of two ellipses).
        assert!((44.2..55.8).contains(&taken(2)) && taken(3) < 3.0);
        // cos² 65° of the wave.
        assert!((taken(4) - 17.8).abs() < 1.0, "{}", taken(4));
        assert!(margin(0) > margin(2) && margin(2) > margin(1) && margin(3) > margin(1) + 3.0);
        assert!(margin(0) > margin(4) + 4.0);
        for (at, show) in SHOWS.iter().enumerate() {
            assert_eq!(of(&(show.link)()), Some(at));
            assert!(show.sentences.iter().all(|sentence| sentence.ends_with('.') && sentence.len() < 130));
        }
        assert_eq!(of(&PairLink::default()), None);
    }

    #[test]
    fn the_bounce_turns_the_hand_over_and_flat_on_concrete_it_does_not() {
        let turned = |link: &PairLink| {
            let report = hear(link).unwrap();
            let [sender, receiver] = crate::link::pair::Side::ALL.map(|side| WaveEnd::of(link, &report, side));
            let wall = beside::wall(link);
            meeting(&sender, &receiver, wall.as_ref(), Hertz(link.frequency_hz)).bounce.unwrap().is_turned_over()
        };
        assert_eq!(turned(&bounce()), Some(true));
        assert_eq!(turned(&beside::put(&bounce(), Some((Material::Concrete, Degrees(15.0))))), Some(false));
        assert_eq!(turned(&beside::put(&bounce(), Some((Material::Concrete, Degrees(30.0))))), Some(true));
    }

    #[test]
    fn a_device_banks_like_an_aircraft_whether_it_is_upright_or_flat() {
        let check = |beta: f64, gamma: f64, bank: f64, back: f64| {
            let got = held([Degrees(beta), Degrees(gamma)]);
            assert!((got[0].0 - bank).abs() < 1e-9 && (got[1].0 - back).abs() < 1e-9, "{beta} {gamma}: {got:?}");
        };
        check(90.0, 0.0, 0.0, 0.0);
        // Flat on a table, and there tilted to the right.
        check(0.0, 0.0, 0.0, -90.0);
        check(0.0, 20.0, 20.0, -90.0);
        // Leaning at ease, and with its top toward the holder.
        check(60.0, 0.0, 0.0, -30.0);
        check(110.0, 0.0, 0.0, 20.0);
        // On its right edge: a quarter turn of bank.
        assert!((held([Degrees(0.0), Degrees(90.0)])[0].0 - 90.0).abs() < 1e-9);
    }

    #[test]
    fn an_address_asks_for_the_table() {
        assert!(asks_for_table("#view=bench&table=1"));
        assert!(!asks_for_table("#view=bench") && !asks_for_table("#view=bench&table=0"));
    }
}
