//! Between the bench and the plan on the desk: a link out of its lap, an antenna back into it.
//!
//! The plan that goes back travels in an address, as any plan link does: the planner puts it into its list beside the
//! plan it came from, so that nothing is lost.

use super::state::EntryPort;
use crate::address;
use crate::link::pair::exchange::{self, LeftBehind, TakenLink};
use crate::link::pair::{PairLink, Side};
use crate::plan::document::Plan;
use crate::plan::plan_link;

/// What the bench says about a link that was taken out of a lap.
pub fn taken_words(plan: &Plan, seat: EntryPort, taken: &TakenLink) -> String {
    let name = plan.entries.get(seat.entry).map_or("", |entry| entry.name.as_str());
    let mut words = format!("Taken from the lap of {name}, port {}.", seat.port + 1);
    for left in &taken.left_behind {
        words.push(' ');
        words += &match left {
            LeftBehind::Bounces(1) => "One bounce off other things was not copied.".to_owned(),
            LeftBehind::Bounces(count) => format!("{count} bounces off other things were not copied."),
            LeftBehind::Obstacles(names) => format!("Not copied, as it stands elsewhere: {}.", names.join(", ")),
            LeftBehind::Soft(name) => format!("{name} was not copied: the bench has no canopies, crowds or barriers."),
            LeftBehind::HandOf(side) => {
                format!("The hand of the {}’s antenna is not marked; the worse one was copied.", side.word())
            }
        };
    }
    words
}

/// Takes an instant of a plan's lap.
///
/// # Errors
/// A sentence that says why it is none for a bench.
pub fn take(plan: &Plan, seat: EntryPort, sample: usize) -> Result<(PairLink, String), String> {
    let taken = exchange::take(plan, seat.entry, seat.port, sample)
        .map_err(|why| format!("That instant cannot be taken to the bench: {why}."))?;
    let words = taken_words(plan, seat, &taken);
    Ok((taken.link, words))
}

/// The address of the planner with the antenna of one end of a link put into a plan.
///
/// # Errors
/// A sentence that says why it cannot stand there.
pub fn put(plan: &Plan, seat: EntryPort, side: Side, link: &PairLink) -> Result<String, String> {
    let antenna = &link.end(side).antenna;
    let changed = exchange::put(plan, seat.entry, seat.port, side, antenna)
        .map_err(|problem| format!("The antenna cannot stand there: {problem}."))?;
    let carried = plan_link::write(&changed).map_err(|why| format!("The plan does not fit an address: {why}."))?;
    Ok(address::with_plan("", &carried))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn an_instant_comes_and_an_antenna_goes_back_in_an_address() {
        let plan = demo();
        let seat = EntryPort { entry: 1, port: 0 };
        let (link, words) = take(&plan, seat, 40).unwrap();
        assert!(words.starts_with(&format!("Taken from the lap of {}, port 1.", plan.entries[1].name)), "{words}");
        let mut changed = link.clone();
        changed.transmitter.antenna.gain_dbi = Some(2.75);
        let address = put(&plan, seat, Side::Transmitter, &changed).unwrap();
        let carried = plan_link::carried(&address, "plan").unwrap();
        let opened = plan_link::read(carried).unwrap();
        assert_eq!(opened.entries[1].radios[0].antenna, changed.transmitter.antenna);
        assert!(put(&plan, EntryPort { entry: 99, port: 0 }, Side::Receiver, &link).is_err());
        let why = take(&plan, seat, usize::MAX).unwrap_err();
        assert!(why.starts_with("That instant cannot be taken to the bench: there is no sample"), "{why}");
    }
}
