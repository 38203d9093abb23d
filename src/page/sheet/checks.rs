//! What to look at on the spot, from what the worst stretch suffers from.

use crate::link::report::Cause;
use crate::link::sheet::obstacle_name;
use crate::plan::document::Plan;

/// What to do, for whoever stands there with the sheet, to go on after "On site:". Each asks for something that can be seen or read without flying, or
/// on a lap that is flown anyway. Common practice, no source.
pub fn on_site(cause: &Cause, plan: &Plan) -> String {
    let sentence = match cause {
        Cause::CrossHand => "read the hand printed on both antennas; else swap one and see which is stronger.",
        Cause::PatternNull => {
            "see that the aircraft’s antenna does not point at the seat in flight, nor lie along the frame."
        }
        Cause::OffAim => "look along the port’s antenna: does it see this stretch? Turn it and read again.",
        Cause::OwnHead => {
            "sit as on the day: can you face this stretch? Turn the seat, or take the receiver off the head."
        }
        Cause::OwnFrame => "see that the antenna stands clear of frame and battery; raise it and read again.",
        Cause::ObstructedBy { obstacle } => {
            let name = obstacle_name(plan, obstacle);
            return format!("from the seat, does {name} hide this stretch? Move or raise the seat and read again.");
        }
        Cause::People => "ask where people will stand; raise the receiving antennas above their heads.",
        Cause::Range => "pace off the way from seat to stretch, and read here before the race.",
        Cause::Scatter => "carry the aircraft along here, propellers off: does the level swing? Try another seat.",
    };
    sentence.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn every_cause_has_something_to_look_at() {
        let plan = demo();
        let obstacle = plan.site.obstacles[0].clone();
        let causes = [
            Cause::CrossHand,
            Cause::PatternNull,
            Cause::OffAim,
            Cause::OwnHead,
            Cause::OwnFrame,
            Cause::ObstructedBy { obstacle: obstacle.id },
            Cause::People,
            Cause::Range,
            Cause::Scatter,
        ];
        let said: Vec<String> = causes.iter().map(|cause| on_site(cause, &plan)).collect();
        for (index, sentence) in said.iter().enumerate() {
            assert!(sentence.ends_with('.') && !said[..index].contains(sentence), "{sentence}");
        }
        assert!(said[5].contains(&obstacle.name), "{}", said[5]);
    }
}
