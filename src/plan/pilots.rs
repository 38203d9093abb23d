//! Pilots who come, go and change places, and what they bring: a receiver, a seat, a channel, their kit.
//!
//! What comes has an id of its own and stands in the open; what goes takes along what nobody else uses. What none of that
//! can mend is refused with a sentence.

use super::chair;
use super::channels::free_carrier;
use super::check::PlanProblem;
use super::document::{Entry, Plan, Receiver, Seat};
use super::fresh;
use super::layout::{next_name, unique_id};
use super::limits;

/// A change of who flies. Numbers are positions in the plan's entries, or in the receivers where it says so.
#[derive(Clone, Debug, PartialEq)]
pub enum PilotEdit {
    /// One more after all others: a receiver and a chair of its own, a free channel, the kit of the pilot at this position.
    /// Without any pilot it has the kit of a new plan.
    Add(usize),
    /// The same right behind that pilot and named after it.
    Copy(usize),
    /// One less. Its receiver goes with it if nobody else uses that, and the seat if that stays empty.
    Remove(usize),
    /// Another position.
    Reorder {
        /// Where it is.
        from: usize,
        /// Where it is then.
        to: usize,
    },
    /// The kit of one for others: aircraft, and what its receiver is; names, channels and seats stay.
    Kit {
        /// Whose.
        of: usize,
        /// For whom.
        to: Vec<usize>,
    },
    /// A receiver of its own, like the one that it shares, at the same seat.
    OwnReceiver(usize),
    /// A new seat beside the last, for the receiver of this pilot.
    NewSeat(usize),
    /// One receiver less, by its position among the receivers; nobody uses it.
    DropReceiver(usize),
}

/// Makes the change.
///
/// # Errors
/// An index that names nothing, a full list, a site without a free place, a receiver in use.
pub(super) fn apply(plan: &mut Plan, edit: &PilotEdit) -> Result<(), PlanProblem> {
    match edit {
        PilotEdit::Add(like) => come(plan, *like, None)?,
        PilotEdit::Copy(index) => {
            entry(plan, *index)?;
            come(plan, *index, Some(index + 1))?;
        }
        PilotEdit::Remove(index) => {
            let gone = entry(plan, *index)?.receiver.clone();
            plan.entries.remove(*index);
            if let Some(unused) = unused(plan, &gone) {
                let seat = plan.receivers.remove(unused).seat;
                if plan.receivers.iter().all(|other| other.seat != seat) {
                    plan.seats.retain(|other| other.id != seat);
                }
            }
        }
        PilotEdit::Reorder { from, to } => {
            entry(plan, *from)?;
            entry(plan, *to)?;
            let moved = plan.entries.remove(*from);
            plan.entries.insert(*to, moved);
        }
        PilotEdit::Kit { of, to } => {
            let radios = entry(plan, *of)?.radios.clone();
            let kit = receiver(plan, *of)?.clone();
            for index in to {
                entry(plan, *index)?;
                plan.entries[*index].radios.clone_from(&radios);
                let theirs = plan.entries[*index].receiver.clone();
                for other in plan.receivers.iter_mut().filter(|other| other.id == theirs) {
                    *other = Receiver {
                        id: theirs.clone(),
                        name: other.name.clone(),
                        seat: other.seat.clone(),
                        ..kit.clone()
                    };
                }
            }
        }
        PilotEdit::OwnReceiver(index) => {
            let like = receiver(plan, *index)?.clone();
            let seat = like.seat.clone();
            plan.entries[*index].receiver = new_receiver(plan, like, seat)?;
        }
        PilotEdit::NewSeat(index) => {
            let id = receiver(plan, *index)?.id.clone();
            let seat = new_seat(plan)?;
            plan.receivers.iter_mut().filter(|receiver| receiver.id == id).for_each(|own| own.seat.clone_from(&seat));
        }
        PilotEdit::DropReceiver(index) => {
            let count = plan.receivers.len();
            let Some(gone) = plan.receivers.get(*index) else {
                return Err(PlanProblem::missing_index("receivers", *index, count));
            };
            if unused(plan, &gone.id).is_none() {
                let said = format!("{} is in use; give its pilots another receiver first", gone.name);
                return Err(PlanProblem::new(format!("receivers[{index}]"), said));
            }
            plan.receivers.remove(*index);
        }
    }
    Ok(())
}

/// What a change does, as it starts a sentence: "Wren removed, with Goggles 2 and Seat 2".
pub fn told(plan: &Plan, edit: &PilotEdit) -> String {
    let name = |index: &usize| plan.entries.get(*index).map_or("", |entry| entry.name.as_str());
    match edit {
        PilotEdit::Add(like) if plan.entries.is_empty() || name(like).is_empty() => "Pilot added".to_owned(),
        PilotEdit::Add(like) => format!("Pilot added with the kit of {}", name(like)),
        PilotEdit::Copy(index) => format!("{} copied", name(index)),
        PilotEdit::Remove(index) => {
            let mut after = plan.clone();
            // What cannot go takes nothing along.
            let _ = apply(&mut after, edit);
            let receivers = plan.receivers.iter().map(|receiver| (&receiver.id, &receiver.name));
            let receivers = receivers.filter(|(id, _)| after.receivers.iter().all(|other| other.id != **id));
            let seats = plan.seats.iter().map(|seat| (&seat.id, &seat.name));
            let seats = seats.filter(|(id, _)| after.seats.iter().all(|other| other.id != **id));
            let along: Vec<&str> = receivers.chain(seats).map(|(_, name)| name.as_str()).collect();
            let along = if along.is_empty() { String::new() } else { format!(", with {}", along.join(" and ")) };
            format!("{} removed{along}", name(index))
        }
        PilotEdit::Reorder { from, to } => format!("{} put at position {}", name(from), to + 1),
        PilotEdit::Kit { of, to } if to.len() + 1 >= plan.entries.len() => format!("Kit of {} for all", name(of)),
        PilotEdit::Kit { of, to } => {
            let names: Vec<&str> = to.iter().map(name).collect();
            format!("Kit of {} copied to {}", name(of), names.join(", "))
        }
        PilotEdit::OwnReceiver(index) => format!("Receiver of its own for {}", name(index)),
        PilotEdit::NewSeat(index) => format!("New seat for {}", name(index)),
        PilotEdit::DropReceiver(index) => {
            let receiver = plan.receivers.get(*index);
            format!("{} removed", receiver.map_or("Receiver", |receiver| receiver.name.as_str()))
        }
    }
}

fn entry(plan: &Plan, index: usize) -> Result<&Entry, PlanProblem> {
    let missing = || PlanProblem::missing_index("entries", index, plan.entries.len());
    plan.entries.get(index).ok_or_else(missing)
}

/// The receiver that follows an entry.
fn receiver(plan: &Plan, index: usize) -> Result<&Receiver, PlanProblem> {
    let id = &entry(plan, index)?.receiver;
    let path = || PlanProblem::new(format!("entries[{index}].receiver"), "this receiver is not there");
    plan.receivers.iter().find(|receiver| receiver.id == *id).ok_or_else(path)
}

/// Position of a receiver that no entry uses.
fn unused(plan: &Plan, id: &str) -> Option<usize> {
    let is_used = plan.entries.iter().any(|entry| entry.receiver == id);
    plan.receivers.iter().position(|receiver| receiver.id == id).filter(|_| !is_used)
}

/// One more pilot with the kit of the one at `like`, at the end or at a position; named after that one if it has a position.
fn come(plan: &mut Plan, like: usize, position: Option<usize>) -> Result<(), PlanProblem> {
    room(plan.entries.len(), limits::ENTRIES, "entries", "pilots; remove one first")?;
    let (mut new, kit) = match plan.entries.is_empty() {
        true => fresh::first_pilot(),
        false => (entry(plan, like)?.clone(), receiver(plan, like)?.clone()),
    };
    let carriers: Vec<f64> = plan.entries.iter().map(|entry| entry.channel_hz).collect();
    new.channel_hz = free_carrier(&carriers, new.channel_hz);
    // Numbered pilots go on being numbered; a name of somebody's own is lent to nobody but a copy.
    let is_numbered = new.name.ends_with(|letter: char| letter.is_ascii_digit());
    new.name = if is_numbered || position.is_none() {
        let stem =
            if is_numbered { new.name.trim_end_matches(|letter: char| letter.is_ascii_digit()) } else { "Pilot " };
        let is_taken = |name: &String| plan.entries.iter().any(|entry| entry.name == *name);
        // A number may take a letter more than it had.
        let stem: String = stem.chars().take(limits::NAME.max - 4).collect();
        let mut names = (plan.entries.len() + 1..).map(|number| format!("{stem}{number}"));
        names.find(|name| !is_taken(name)).unwrap_or_default()
    } else {
        next_name(plan.entries.iter().map(|entry| entry.name.as_str()), &new.name)
    };
    new.id = unique_id(plan.entries.iter().map(|entry| entry.id.as_str()), "entry");
    let seat = new_seat(plan)?;
    new.receiver = new_receiver(plan, kit, seat)?;
    plan.entries.insert(position.unwrap_or(plan.entries.len()), new);
    Ok(())
}

/// Puts a seat beside the last one; its id.
fn new_seat(plan: &mut Plan) -> Result<String, PlanProblem> {
    room(plan.seats.len(), limits::SEATS, "seats", "seats; delete one first")?;
    let Some([x_m, y_m]) = chair::free_place(plan) else {
        let said = "no free place for another chair: outside obstacles, off the flown line, on the site";
        return Err(PlanProblem::new("seats", said));
    };
    let id = unique_id(plan.seats.iter().map(|seat| seat.id.as_str()), "seat");
    let name = next_name(plan.seats.iter().map(|seat| seat.name.as_str()), "Seat");
    let like = plan.seats.last().cloned().unwrap_or_else(|| fresh::first_seat([x_m, y_m]));
    plan.seats.push(Seat { id: id.clone(), name, x_m, y_m, ..like });
    Ok(id)
}

/// Puts a receiver like another one at a seat; its id.
fn new_receiver(plan: &mut Plan, like: Receiver, seat: String) -> Result<String, PlanProblem> {
    let full = "receivers; share one, or remove one that nobody uses";
    room(plan.receivers.len(), limits::RECEIVERS, "receivers", full)?;
    let id = unique_id(plan.receivers.iter().map(|receiver| receiver.id.as_str()), "goggles");
    let name = next_name(plan.receivers.iter().map(|receiver| receiver.name.as_str()), &like.name);
    plan.receivers.push(Receiver { id: id.clone(), name, seat, ..like });
    Ok(id)
}

/// Whether a list has room for one more.
fn room(length: usize, count: limits::Count, path: &str, rest: &str) -> Result<(), PlanProblem> {
    if length < count.max {
        return Ok(());
    }
    Err(PlanProblem::new(path, format!("a plan has at most {} {rest}", count.max)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;
    use crate::plan::edit::{Edit, apply};

    fn changed(plan: &Plan, edit: PilotEdit) -> Plan {
        apply(plan, &Edit::Pilots(edit)).unwrap_or_else(|problem| panic!("{problem}"))
    }

    fn refused(plan: &Plan, edit: PilotEdit) -> String {
        apply(plan, &Edit::Pilots(edit)).unwrap_err().to_string()
    }

    #[test]
    fn a_new_pilot_brings_a_receiver_a_chair_and_a_channel_and_the_kit_of_the_chosen_one() {
        let plan = demo();
        let more = changed(&plan, PilotEdit::Add(2));
        let (new, like) = (more.entries.last().unwrap(), &plan.entries[2]);
        assert_eq!((new.name.as_str(), &new.radios), ("Pilot 5", &like.radios));
        assert!(plan.entries.iter().all(|other| other.channel_hz != new.channel_hz && other.id != new.id));
        let receiver = more.receivers.last().unwrap();
        let theirs = plan.receivers.iter().find(|receiver| receiver.id == like.receiver).unwrap();
        assert_eq!((&receiver.id, &receiver.ports), (&new.receiver, &theirs.ports));
        let seat = more.seats.last().unwrap();
        assert_eq!(receiver.seat, seat.id);
        assert!(plan.seats.iter().all(|other| libm::hypot(other.x_m - seat.x_m, other.y_m - seat.y_m) > 0.5));

        let copied = changed(&plan, PilotEdit::Copy(1));
        assert_eq!(copied.entries[2].name, format!("{} 2", plan.entries[1].name));
        assert_eq!(copied.entries[3], plan.entries[2]);
    }

    #[test]
    fn who_goes_takes_along_what_nobody_else_uses() {
        let plan = demo();
        let edit = PilotEdit::Remove(0);
        let less = changed(&plan, edit.clone());
        assert_eq!((less.entries.len(), less.receivers.len(), less.seats.len()), (3, 3, plan.seats.len() - 1));
        let (receiver, seat) = (&plan.receivers[0].name, &plan.seats[0].name);
        assert_eq!(told(&plan, &edit), format!("{} removed, with {receiver} and {seat}", plan.entries[0].name));
        // A shared receiver stays.
        let mut shared = plan.clone();
        shared.entries[1].receiver.clone_from(&plan.entries[0].receiver);
        let less = changed(&shared, PilotEdit::Remove(0));
        assert_eq!((less.receivers.len(), less.seats.len()), (4, plan.seats.len()));
        // Down to nobody and up again.
        let nobody = (0..4).fold(plan.clone(), |plan, _| changed(&plan, PilotEdit::Remove(0)));
        assert!(nobody.entries.is_empty() && nobody.receivers.is_empty());
        let first = changed(&nobody, PilotEdit::Add(0));
        assert_eq!(first.entries[0].name, "Entry 1");
        assert_eq!(told(&nobody, &PilotEdit::Add(0)), "Pilot added");
    }

    #[test]
    fn kit_is_copied_but_for_names_channels_and_seats() {
        let plan = demo();
        let same = changed(&plan, PilotEdit::Kit { of: 3, to: vec![0, 1, 2] });
        for index in 0..3 {
            let (entry, was) = (&same.entries[index], &plan.entries[index]);
            assert_eq!((&entry.radios, entry.channel_hz), (&plan.entries[3].radios, was.channel_hz));
            assert_eq!((&entry.name, &entry.receiver), (&was.name, &was.receiver));
            assert_eq!(same.receivers[index].ports, plan.receivers[3].ports);
            assert_eq!(same.receivers[index].seat, plan.receivers[index].seat);
        }
        assert_eq!(told(&plan, &PilotEdit::Kit { of: 3, to: vec![0, 1, 2] }), "Kit of Bramble for all");
        let some = PilotEdit::Kit { of: 0, to: vec![1] };
        assert_eq!(told(&plan, &some), format!("Kit of {} copied to {}", plan.entries[0].name, plan.entries[1].name));
    }

    #[test]
    fn receivers_and_seats_come_and_go() {
        let mut plan = demo();
        let free = plan.entries[1].receiver.clone();
        plan.entries[1].receiver = plan.entries[0].receiver.clone();
        let own = changed(&plan, PilotEdit::OwnReceiver(1));
        let (first, second) = (&own.entries[0].receiver, &own.entries[1].receiver);
        assert_ne!(first, second);
        let seat = |plan: &Plan, id: &str| plan.receivers.iter().find(|one| one.id == id).unwrap().seat.clone();
        assert_eq!(seat(&own, first), seat(&own, second));
        let apart = changed(&own, PilotEdit::NewSeat(1));
        assert_ne!(seat(&apart, first), seat(&apart, second));
        let unused = plan.receivers.iter().position(|receiver| receiver.id == free).unwrap();
        assert_eq!(changed(&plan, PilotEdit::DropReceiver(unused)).receivers.len(), 3);
        assert!(refused(&plan, PilotEdit::DropReceiver(0)).contains("is in use"));
    }

    #[test]
    fn full_lists_and_wrong_numbers_are_said() {
        let mut plan = demo();
        plan.site.obstacles.clear();
        while plan.entries.len() < limits::ENTRIES.max {
            plan = changed(&plan, PilotEdit::Add(0));
        }
        assert_eq!(refused(&plan, PilotEdit::Add(0)), "a plan has at most 16 pilots; remove one first (entries)");
        assert!(refused(&plan, PilotEdit::OwnReceiver(0)).starts_with("a plan has at most 16 receivers"));
        for edit in [
            PilotEdit::Copy(16),
            PilotEdit::Remove(16),
            PilotEdit::Reorder { from: 0, to: 16 },
            PilotEdit::Kit { of: 0, to: vec![16] },
            PilotEdit::NewSeat(99),
            PilotEdit::DropReceiver(99),
        ] {
            assert!(refused(&plan, edit).contains(" is asked for, and there are 16"));
        }
    }
}
