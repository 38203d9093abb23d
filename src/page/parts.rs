//! Finds the parts of a plan that belong to an entry.

use crate::plan::document::{Entry, Plan, Purpose, Radio};

/// The radio of an entry that sends the picture.
pub fn video_radio(entry: &Entry) -> Option<&Radio> {
    entry.radios.iter().find(|radio| radio.purpose == Purpose::Video)
}

/// Position of the receiver that follows an entry.
pub fn receiver_of(plan: &Plan, entry: usize) -> Option<usize> {
    let id = &plan.entries.get(entry)?.receiver;
    plan.receivers.iter().position(|receiver| receiver.id == *id)
}

/// Names of the other entries that the same receiver follows.
pub fn sharing(plan: &Plan, entry: usize) -> Vec<&str> {
    let Some(own) = plan.entries.get(entry) else { return Vec::new() };
    let others =
        plan.entries.iter().enumerate().filter(|(index, other)| *index != entry && other.receiver == own.receiver);
    others.map(|(_, other)| other.name.as_str()).collect()
}

/// A list in words: "Ash, Birch and Cedar".
pub fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_reads_like_a_sentence() {
        assert_eq!(listed(&[]), "");
        assert_eq!(listed(&["Ash"]), "Ash");
        assert_eq!(listed(&["Ash", "Birch"]), "Ash and Birch");
        assert_eq!(listed(&["Ash", "Birch", "Cedar"]), "Ash, Birch and Cedar");
    }
}
