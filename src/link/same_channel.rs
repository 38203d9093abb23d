//! Pilots on one channel: carriers that are the same, or so near that their channels meet.

use super::finding::SharedChannel;
use super::kit;
use crate::plan::document::{Picture, Plan};

/// The other entries whose channels meet that of entry `index`, in the plan's order. A channel reaches half the bandwidth of
/// its receiver's picture to either side of its carrier; two that only touch do not meet. How strongly they disturb each
/// other is another question: two that meet can hardly fly together.
pub fn shared_channels(plan: &Plan, index: usize) -> Vec<SharedChannel> {
    let Some(own) = plan.entries.get(index) else { return Vec::new() };
    let own_width = bandwidth_hz(plan, index);
    let others = plan.entries.iter().enumerate().filter(|(other, _)| *other != index);
    others
        .filter_map(|(position, other)| {
            let apart_hz = (own.channel_hz - other.channel_hz).abs();
            let is_same = apart_hz == 0.0;
            let meets = apart_hz < 0.5 * (own_width + bandwidth_hz(plan, position));
            let sentence = if is_same {
                format!(
                    "{} is on the same channel, {} MHz: both cannot fly together.",
                    other.name,
                    own.channel_hz / 1e6
                )
            } else {
                format!(
                    "{}'s channel at {} MHz is only {:.1} MHz away and overlaps: both can hardly fly together.",
                    other.name,
                    other.channel_hz / 1e6,
                    apart_hz / 1e6
                )
            };
            (is_same || meets).then(|| SharedChannel { entry: other.id.clone(), apart_hz, sentence })
        })
        .collect()
}

/// Bandwidth of the picture of an entry's receiver; zero where it has none.
pub fn bandwidth_hz(plan: &Plan, index: usize) -> f64 {
    let seating = plan.entries.get(index).and_then(|entry| kit::seating(plan, index, entry).ok());
    seating.map_or(0.0, |(receiver, _)| match receiver.picture {
        Picture::Analogue { bandwidth_hz, .. } | Picture::Digital { bandwidth_hz, .. } => bandwidth_hz,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn equal_and_overlapping_channels_are_said_on_both_sides() {
        let mut plan = demo();
        let shared = |plan: &Plan| -> Vec<usize> {
            (0..plan.entries.len()).map(|entry| shared_channels(plan, entry).len()).collect()
        };
        assert_eq!(shared(&plan), [0; 4]);
        plan.entries[1].channel_hz = plan.entries[0].channel_hz;
        assert_eq!(shared(&plan), [1, 1, 0, 0]);
        assert_eq!(
            shared_channels(&plan, 1)[0].sentence,
            "Linnet is on the same channel, 5658 MHz: both cannot fly together."
        );
        // Two channels of 18 MHz meet below 18 MHz and only touch at 18.
        plan.entries[1].channel_hz = plan.entries[0].channel_hz + 17.5e6;
        let said = shared_channels(&plan, 0);
        assert_eq!((said.len(), said[0].entry.as_str(), said[0].apart_hz), (1, "tansy", 17.5e6));
        assert!(said[0].sentence.starts_with("Tansy's channel at 5675.5 MHz is only 17.5 MHz away"), "{said:?}");
        plan.entries[1].channel_hz = plan.entries[0].channel_hz + 18e6;
        assert_eq!(shared(&plan), [0; 4]);
    }
}
