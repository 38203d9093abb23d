//! The link on the bench, what came before it, and how both stand in the address. Pure; the browser is in `app`.

use std::rc::Rc;

use crate::history::History;
use crate::link::pair::PairLink;
use crate::link::pair::sweep::Along;
use crate::link::pair::text;
use crate::plan::plan_link::carried;

/// Where in the plan on the desk a link came from, or an antenna goes to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EntryPort {
    /// Position of the entry.
    pub entry: usize,
    /// Port of its receiver.
    pub port: usize,
}

/// The bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Bench {
    /// The link.
    pub link: Rc<PairLink>,
    /// What the curves go along.
    pub along: Along,
    /// Whether the last act moved something that is still in the hand.
    is_sliding: bool,
    /// A link takes a kilobyte, and one with two measured tables at most 18.
    history: History<PairLink>,
}

/// What a person does to the bench.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Change the link.
    Set(Box<PairLink>),
    /// Change the link by a slider or the tilt of a device: what moves on step by step is taken back at once.
    Slide(Box<PairLink>),
    /// Take the last change back.
    Undo,
    /// Make it again.
    Redo,
    /// Draw the curves along something else.
    Along(Along),
}

impl Bench {
    /// A bench with a link and no history.
    pub fn new(link: PairLink) -> Self {
        Self { link: Rc::new(link), along: Along::Distance, is_sliding: false, history: History::default() }
    }

    /// Whether there is something to take back.
    pub fn can_undo(&self) -> bool {
        self.history.last().is_some()
    }

    /// Whether there is something to make again.
    pub fn can_redo(&self) -> bool {
        self.history.next().is_some()
    }

    /// The bench after an act; `None` when that changes nothing.
    pub fn after(&self, act: Act) -> Option<Self> {
        let mut next = self.clone();
        next.is_sliding = matches!(act, Act::Slide(_));
        match act {
            Act::Set(link) | Act::Slide(link) if *link == *self.link => return None,
            Act::Slide(link) if self.is_sliding => next.link = Rc::new(*link),
            Act::Set(link) | Act::Slide(link) => {
                next.history.keep(self.link.clone(), ());
                next.link = Rc::new(*link);
            }
            Act::Undo => next.link = next.history.undo(self.link.clone())?.value,
            Act::Redo => next.link = next.history.redo(self.link.clone())?.value,
            Act::Along(along) if along == self.along => return None,
            Act::Along(along) => next.along = along,
        }
        Some(next)
    }
}

/// What the part of an address behind `#` asks the bench for.
#[derive(Clone, Debug, PartialEq)]
pub enum BenchAddress {
    /// Nothing in particular: the usual link.
    Usual,
    /// A link.
    Link(Box<PairLink>),
    /// What it carries is no link; the sentence says why.
    Refused(String),
    /// A sample of the lap of the plan on the desk.
    Instant {
        /// Whose.
        seat: EntryPort,
        /// Which sample.
        sample: usize,
    },
}

/// Reads the part of an address behind `#`.
pub fn asked(fragment: &str) -> BenchAddress {
    if let Some(text) = carried(fragment, "link") {
        return match text::read(text) {
            Ok(link) => BenchAddress::Link(Box::new(link)),
            Err(why) => BenchAddress::Refused(format!("The link in the address cannot be read: {why}.")),
        };
    }
    match number(fragment, "sample") {
        Some(sample) => BenchAddress::Instant { seat: seat(fragment), sample },
        None => BenchAddress::Usual,
    }
}

/// The seat that an address names; the first entry's first port where it names none.
pub fn seat(fragment: &str) -> EntryPort {
    let number = |name| number(fragment, name).unwrap_or(0);
    EntryPort { entry: number("entry"), port: number("port") }
}

fn number(fragment: &str, name: &str) -> Option<usize> {
    carried(fragment, name)?.parse().ok()
}

/// The part of the address behind `#` for a link.
pub fn fragment(link: &PairLink, seat: EntryPort) -> String {
    let mut address = format!("#view=bench&link={}", text::write(link));
    if seat != EntryPort::default() {
        address += &format!("&entry={}&port={}", seat.entry, seat.port);
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::STEPS;

    fn at(distance_m: f64) -> PairLink {
        PairLink { distance_m, ..PairLink::default() }
    }

    #[test]
    fn every_change_can_be_taken_back_and_made_again() {
        let bench = Bench::new(at(10.0));
        assert_eq!(bench.after(Act::Undo), None);
        assert_eq!(bench.after(Act::Set(Box::new(at(10.0)))), None, "nothing changed");
        let changed = bench.after(Act::Set(Box::new(at(20.0)))).unwrap();
        let back = changed.after(Act::Undo).unwrap();
        assert_eq!((back.link.distance_m, back.can_undo(), back.can_redo()), (10.0, false, true));
        assert_eq!(back.after(Act::Redo).unwrap(), changed);
        assert!(!back.after(Act::Set(Box::new(at(5.0)))).unwrap().can_redo());
        let mut bench = bench;
        for step in 0..STEPS + 5 {
            bench = bench.after(Act::Set(Box::new(at(30.0 + step as f64)))).unwrap();
        }
        let mut steps = 0;
        while let Some(back) = bench.after(Act::Undo) {
            (bench, steps) = (back, steps + 1);
        }
        assert_eq!(steps, STEPS);
    }

    #[test]
    fn what_slides_is_taken_back_at_once() {
        let slide = |bench: &Bench, distance_m: f64| bench.after(Act::Slide(Box::new(at(distance_m)))).unwrap();
        let bench = Bench::new(at(10.0)).after(Act::Set(Box::new(at(20.0)))).unwrap();
        let slid = slide(&slide(&slide(&bench, 21.0), 22.0), 23.0);
        let back = slid.after(Act::Undo).unwrap();
        assert_eq!((slid.link.distance_m, back.link.distance_m), (23.0, 20.0));
        let again = slide(&back.after(Act::Redo).unwrap(), 24.0);
        assert_eq!(again.after(Act::Undo).unwrap().link.distance_m, 23.0, "another slide is another step");
    }

    #[test]
    fn an_address_carries_a_link_or_names_an_instant() {
        let link = at(35.5);
        let seat = EntryPort { entry: 2, port: 1 };
        let address = fragment(&link, seat);
        assert_eq!(asked(&address), BenchAddress::Link(Box::new(link)));
        assert_eq!(super::seat(&address), seat);
        assert_eq!(fragment(&PairLink::default(), EntryPort::default()), "#view=bench&link=1");
        assert_eq!(asked("#view=bench&entry=2&port=1&sample=130"), BenchAddress::Instant { seat, sample: 130 });
        assert_eq!(asked("#view=bench"), BenchAddress::Usual);
        assert_eq!(asked("#view=bench&sample=-4"), BenchAddress::Usual);
        let BenchAddress::Refused(why) = asked("#view=bench&link=1~d:9e9") else { panic!("out of range") };
        assert_eq!(why, "The link in the address cannot be read: a distance of 9000000000 is outside 0.5 to 2000 m.");
    }
}
