//! A pilot's card: what a phone shows that scans the code beside an entry. Plain text in short lines, for somebody who
//! has the phone in hand and not the sheet.

use super::course::seat_tag;
use super::qr::{Code, CodeRoom};
use crate::format::{self, DisplayUnits};
use crate::link::report::EntryReport;
use crate::parts;
use crate::plan::channels::channel_at;
use crate::plan::document::{AntennaKit, Plan, Radio, Receiver, StatedHand};
use crate::plan::presets::{has_hand, is_directional, resolve_antenna, resolve_receiver};
use crate::rf::polarization::Hand;
use crate::units::Hertz;

/// A card and its code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PilotCard {
    /// What it says.
    pub text: String,
    /// Whether something was left out for want of room. It says so itself, by "..." or "+2 more".
    pub is_shortened: bool,
    /// The same for a phone.
    pub code: Code,
}

/// When and of which plan a card was made.
#[derive(Clone, Copy, Debug)]
pub struct Stamp<'a> {
    /// The plan's mark, see [`super::mark`].
    pub mark: &'a str,
    /// The day, such as 2026-11-25.
    pub date: &'a str,
}

impl PilotCard {
    /// The card of an entry, by its position in the plan; `judged` is its part of the report, if it has one.
    ///
    /// It begins with a word of ours, so that no name can pass for an address or an order to the phone, and no name can
    /// begin a line. It says whose hand it names, and what of the kit is not known. Where it would take more than the room of
    /// a code ([`CodeRoom::FULL_CARD`], 154 bytes), the aims of all antennas but the first become a number, "+1 more"; where
    /// that is not enough, the end of the pilot's name becomes "...", and then the aims are left out.
    /// Everything else is short by nature, so that there always is a card.
    pub fn of(plan: &Plan, entry: usize, judged: Option<&EntryReport>, stamp: Stamp, units: DisplayUnits) -> Self {
        let lines = Lines::of(plan, entry, judged, stamp, units);
        let name = plan.entries.get(entry).map_or("", |entry| entry.name.as_str());
        let aims = [lines.aims.join("; "), short_aims(&lines.aims)];
        let in_full = aims.iter().map(|aims| lines.text(name, aims));
        // From the whole name down to none.
        let ends = name.char_indices().map(|(end, _)| end).rev();
        let cut = |end: usize| format!("{}...", &name[..end]);
        let shorter = ends.clone().map(|end| lines.text(&cut(end), &aims[1]));
        let shortest = ends.map(|end| lines.text(&cut(end), ""));
        for (position, text) in in_full.chain(shorter).chain(shortest).enumerate() {
            if let Some(code) = Code::of(&text, CodeRoom::CARD).or_else(|| Code::of(&text, CodeRoom::FULL_CARD)) {
                return Self { text, is_shortened: position > 0 && aims[0] != aims[1] || position > 1, code };
            }
        }
        unreachable!("without a name and aims a card has some 150 bytes at most")
    }

    /// What the code is called where it cannot be seen.
    pub fn spoken(&self) -> String {
        format!("QR code with this card: {}", self.text.replace('\n', "; "))
    }
}

/// The lines of a card, but for the name in the first and the aims in the fourth.
struct Lines {
    verdict: &'static str,
    air: String,
    hand: &'static str,
    seat: String,
    aims: Vec<String>,
    /// What of the kit is not known; empty where all is.
    unknown: String,
    worst: String,
    stamp: String,
}

impl Lines {
    fn of(plan: &Plan, index: usize, judged: Option<&EntryReport>, stamp: Stamp, units: DisplayUnits) -> Self {
        let entry = &plan.entries[index];
        let radio = parts::video_radio(entry);
        let carrier = Hertz(entry.channel_hz);
        let channel = channel_at(carrier).map_or_else(String::new, |channel| format!(" {channel}"));
        let power = radio.map_or_else(
            || "no transmitter".to_owned(),
            |radio| format::power(radio.power_dbm, units).split(" (").next().unwrap_or_default().to_owned(),
        );
        let receiver = parts::receiver_of(plan, index).map(|receiver| &plan.receivers[receiver]);
        let seat = receiver.and_then(|receiver| plan.seats.iter().position(|seat| seat.id == receiver.seat));
        let aims = receiver.zip(seat).map_or_else(Vec::new, |(receiver, seat)| {
            let directional = receiver.ports.iter().filter(|port| is_directional(port.antenna.kind));
            directional.map(|port| aim(plan.seats[seat].facing_deg + port.aim_off_deg, port.aim_up_deg)).collect()
        });
        Self {
            verdict: judged.map_or("not judged", |judged| judged.verdict.word()),
            air: plain(&format!("{}{channel}, {power}", format::megahertz(entry.channel_hz))),
            hand: radio.map_or("no antenna", |radio| hand(&radio.antenna)),
            seat: seat.map_or_else(|| "No seat".to_owned(), |seat| format!("Seat {}", seat_tag(seat))),
            aims,
            unknown: unknown(radio, receiver),
            worst: judged.map_or_else(|| "Worst place unknown".to_owned(), worst),
            stamp: format!("Plan {} {}", stamp.mark, stamp.date),
        }
    }

    fn text(&self, name: &str, aims: &str) -> String {
        let Self { verdict, air, hand, seat, worst, unknown, stamp, .. } = self;
        let line = |words: &str, rest: &str| if rest.is_empty() { String::new() } else { format!("{words}: {rest}\n") };
        let (hand, unknown) = (line("Aircraft", hand), line("Unknown", unknown));
        let name = plain(name);
        let aims = if aims.is_empty() { String::new() } else { format!(" aim {aims}") };
        format!("Pilot {name}: {verdict}\n{air}\n{hand}{seat}{aims}\n{worst}\n{unknown}{stamp}")
    }
}

fn short_aims(aims: &[String]) -> String {
    match aims {
        [first, _, ..] => format!("{first}; +{} more", aims.len() - 1),
        _ => aims.concat(),
    }
}

/// The hand of the antenna on the aircraft; empty where nobody knows it, which has a line of its own.
fn hand(antenna: &AntennaKit) -> &'static str {
    match antenna.hand {
        _ if !has_hand(antenna.kind) => "linear",
        StatedHand::Right => "right",
        StatedHand::Left => "left",
        StatedHand::Unknown => "",
    }
}

/// What of the kit is not known: "goggles hand, 7 values".
fn unknown(radio: Option<&Radio>, receiver: Option<&Receiver>) -> String {
    let is_open = |antenna: &AntennaKit| has_hand(antenna.kind) && antenna.hand == StatedHand::Unknown;
    // Either hand stands for one that nobody knows; what is typical of the antenna is the same.
    let values = |antenna: &AntennaKit| resolve_antenna(antenna, Hand::Right).map_or(0, |found| found.assumed.len());
    let mut count =
        radio.map_or(0, |radio| values(&radio.antenna) + usize::from(radio.mounting.frame_loss_db.is_none()));
    let mut said = Vec::new();
    let mut is_open_there = false;
    if let Some(Receiver { ports, picture, noise, .. }) = receiver {
        count += ports.iter().map(|port| values(&port.antenna)).sum::<usize>();
        count += resolve_receiver(picture, noise).assumed.len();
        is_open_there = ports.iter().any(|port| is_open(&port.antenna));
    }
    match (radio.is_some_and(|radio| is_open(&radio.antenna)), is_open_there) {
        (true, true) => said.push("both hands".to_owned()),
        (true, false) => said.push("aircraft hand".to_owned()),
        (false, true) => said.push("goggles hand".to_owned()),
        (false, false) => {}
    }
    if count > 0 {
        said.push(if count == 1 { "1 value".to_owned() } else { format!("{count} values") });
    }
    said.join(", ")
}

/// Where an antenna looks, from north and up.
fn aim(heading_deg: f64, up_deg: f64) -> String {
    let heading = format::fixed(heading_deg.round().rem_euclid(360.0), 0);
    let side = if up_deg < 0.0 { "down" } else { "up" };
    format!("{heading}, {} {side}", format::fixed(up_deg.abs(), 0))
}

/// The worst stretch by the numbers of its gates.
fn worst(judged: &EntryReport) -> String {
    let [after, before] = [judged.worst.after_gate, judged.worst.before_gate].map(|gate| gate + 1);
    if after == before { format!("Worst at gate {after}") } else { format!("Worst gates {after}-{before}") }
}

/// A text of one line in letters that take one byte where there are such: no line breaks, plain spaces and signs.
fn plain(text: &str) -> String {
    let plain = |letter: char| match letter {
        '\u{a0}' | '\u{2009}' | '\u{202f}' => ' ',
        '\u{2212}' => '-',
        // U+2028 and U+2029 break lines, too, and the others change the direction of what follows.
        '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => ' ',
        other if other.is_control() => ' ',
        other => other,
    };
    text.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::super::qr::tests::read;
    use super::*;
    use crate::drawing::lap_columns::entry_report;
    use crate::format::PowerUnit;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;
    use crate::plan::fresh::{self, NewSite};
    use crate::plan::limits;
    use crate::rf::fading::Surroundings;
    use crate::rf::material::Material;

    const STAMP: Stamp = Stamp { mark: "97f4 db0a", date: "2026-11-25" };

    fn cards(plan: &Plan) -> Vec<PilotCard> {
        let report = Evaluator::default().report(plan, Effort::FULL);
        let card = |index| PilotCard::of(plan, index, entry_report(&report, index), STAMP, DisplayUnits::default());
        (0..plan.entries.len()).map(card).collect()
    }

    /// As it is read off the paper.
    fn scanned(card: &PilotCard) -> String {
        read(&card.code.drawn(CodeRoom::CARD.side_mm(), "card"), 4).unwrap()
    }

    #[test]
    fn the_demos_cards_say_what_a_pilot_needs_and_are_read_off_the_drawing() {
        let cards = cards(&demo());
        assert_eq!(
            cards[2].text,
            "Pilot Moth: short\n5843 MHz R6, 6.31 mW\nAircraft: left\nSeat S3 aim 40, 10 up\nWorst gates 5-6\nPlan 97f4 db0a 2026-11-25"
        );
        assert_eq!(cards[1].text.lines().nth(2), Some("Aircraft: linear"));
        for card in &cards {
            assert!(!card.is_shortened && card.text.len() <= 122, "{}", card.text);
            // Of the demo's kit everything is known.
            assert!(!card.text.contains("Unknown"), "{}", card.text);
            assert_eq!(scanned(card), card.text);
        }
        assert!(cards[0].spoken().contains("Pilot Linnet: clear; 5658 MHz R1"), "{}", cards[0].spoken());
    }

    #[test]
    fn a_beginners_card_says_what_nobody_knows() {
        let site = NewSite {
            name: "Yard".to_owned(),
            width_m: 30.0,
            depth_m: 20.0,
            surroundings: Surroundings::Village,
            ground: Material::MediumDryGround,
        };
        let mut plan = fresh::plan_for(&site, 4).unwrap();
        let lines = |plan: &Plan| {
            let card = cards(plan).remove(0);
            assert!(!card.is_shortened, "{}", card.text);
            assert_eq!(scanned(&card), card.text);
            card.text.lines().map(str::to_owned).collect::<Vec<_>>()
        };
        // Gain, axial ratio and null of two omnis, gain, axial ratio, beamwidth and front-to-back ratio of a patch, frame loss,
        // noise figure and carrier-to-noise ratio.
        assert_eq!(lines(&plan)[4], "Unknown: both hands, 13 values");
        plan.entries[0].radios[0].antenna.hand = StatedHand::Left;
        assert_eq!(lines(&plan)[2], "Aircraft: left");
        assert_eq!(lines(&plan)[5], "Unknown: goggles hand, 13 values");
        for port in &mut plan.receivers[0].ports {
            port.antenna.hand = StatedHand::Right;
        }
        assert_eq!(lines(&plan)[5], "Unknown: 13 values");
    }

    #[test]
    fn what_would_be_too_long_is_shortened_and_says_so() {
        let mut plan = demo();
        // As long as names may be, in letters of three bytes; as many antennas as there may be, each to be aimed.
        plan.entries[0].name = "飛".repeat(limits::NAME.max);
        let port = plan.receivers[0].ports[0].clone();
        plan.receivers[0].ports = vec![port; limits::PORTS.max];
        plan.entries[1].name = "Wilhelmina of the seven hills".to_owned();
        plan.entries[2].name = "é".repeat(limits::NAME.max);
        let [first, second, third, ..] = &cards(&plan)[..] else { panic!("cards are missing") };
        assert!(
            first.is_shortened && first.text.contains("飛...: ") && first.text.contains("10 up; +3 more\n"),
            "{}",
            first.text
        );
        assert!(!second.is_shortened && second.text.contains("seven hills: "), "{}", second.text);
        assert!(
            third.is_shortened && third.text.starts_with("Pilot éé") && third.text.contains("é...: "),
            "{}",
            third.text
        );
        for card in [first, second, third] {
            assert!(card.text.len() <= 154, "{}", card.text);
            assert_eq!(scanned(card), card.text);
        }
    }

    #[test]
    fn a_name_is_text_in_one_line_behind_a_word_of_ours() {
        let mut plan = demo();
        plan.entries[0].name = "https://races.example/?a=<script>".to_owned();
        plan.entries[1].name = "Tansy\n5800 MHz\u{2028}1\u{202e} W".to_owned();
        let cards = cards(&plan);
        assert!(cards[0].text.starts_with("Pilot https://races.example/?a=<script>: "), "{}", cards[0].text);
        assert!(cards[1].text.starts_with("Pilot Tansy 5800 MHz 1  W: "), "{}", cards[1].text);
        for card in cards {
            assert_eq!(card.text.lines().count(), 6);
            assert_eq!(scanned(&card), card.text);
        }
    }

    #[test]
    fn there_is_a_card_of_every_entry_whatever_it_lacks() {
        let mut plan = demo();
        plan.entries[0].receiver = "nobody".to_owned();
        plan.entries[1].radios.clear();
        plan.entries[2].radios[0].antenna.hand = StatedHand::Unknown;
        plan.entries[3].channel_hz = 1_280_123_000.0;
        plan.entries[3].radios[0].power_dbm = -8.25;
        plan.receivers[3].ports[0].aim_up_deg = -5.0;
        let report = Evaluator::default().report(&plan, Effort::FULL);
        let units = DisplayUnits { power: PowerUnit::Dbm, ..DisplayUnits::default() };
        let card = |index| PilotCard::of(&plan, index, entry_report(&report, index), STAMP, units).text;
        assert!(
            card(0).contains("not judged\n") && card(0).contains("\nNo seat\nWorst place unknown\n"),
            "{}",
            card(0)
        );
        assert!(card(1).contains(", no transmitter\nAircraft: no antenna\n"), "{}", card(1));
        assert!(card(2).contains("\nUnknown: aircraft hand\n"), "{}", card(2));
        assert!(card(3).contains("\n1280.123 MHz, -8.") && card(3).contains(" 5 down\n"), "{}", card(3));
    }
}
