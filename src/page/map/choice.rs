//! What a person chooses of a map, and a part of it as the worker is asked for it.

use std::rc::Rc;

use crate::link::map::{MapHand, MapRequest, Quantity};
use crate::plan::document::Plan;
use crate::rf::polarization::Hand;
use crate::site::BounceOrder;
use crate::units::Metres;

/// The quantities in the order of the list, with their names there.
pub const QUANTITIES: [(Quantity, &str); 4] = [
    (Quantity::Reserve, "dB to spare at each point"),
    (Quantity::Margin, "mean level over the threshold (margin)"),
    (Quantity::Outage, "how often the picture is lost (outage)"),
    (Quantity::HandMatters, "how much the hand matters"),
];

/// The hands in the order of the list, with their names there.
pub const HANDS: [(MapHand, &str); 4] = [
    (MapHand::AsStated, "as it is"),
    (MapHand::Turned(Some(Hand::Right)), "right hand"),
    (MapHand::Turned(Some(Hand::Left)), "left hand"),
    (MapHand::Turned(None), "linear"),
];

/// What is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapChoice {
    /// Which quantity.
    pub quantity: Quantity,
    /// Which antenna on the aircraft.
    pub hand: MapHand,
    /// How high it hovers, in whole millimetres.
    pub height_mm: u32,
}

impl MapChoice {
    /// What is shown at first: the reserve at the mean height of the gates, all as it is.
    pub fn usual(plan: &Plan) -> Self {
        let MapRequest { quantity, hand, height, .. } = MapRequest::usual(plan, 0);
        Self { quantity, hand, height_mm: 0 }.at_height(height.0)
    }

    /// The same at another height, in metres; rounded to a millimetre.
    pub fn at_height(self, metres: f64) -> Self {
        // The cast holds a number that is out of range at the range's end.
        Self { height_mm: (metres * 1000.0).round() as u32, ..self }
    }

    /// The height in metres.
    pub fn height_m(self) -> f64 {
        f64::from(self.height_mm) / 1000.0
    }

    /// The request to the core.
    pub fn request(self, plan: &Plan, entry: usize, bounces: BounceOrder) -> MapRequest {
        MapRequest {
            quantity: self.quantity,
            hand: self.hand,
            height: Metres(self.height_m()),
            bounces,
            ..MapRequest::usual(plan, entry)
        }
    }

    /// The choice as three numbers: positions in the lists, and the height.
    pub fn numbers(self) -> [usize; 3] {
        let place = |found: Option<usize>| found.unwrap_or_default();
        [
            place(QUANTITIES.iter().position(|(quantity, _)| *quantity == self.quantity)),
            place(HANDS.iter().position(|(hand, _)| *hand == self.hand)),
            self.height_mm as usize,
        ]
    }

    /// The choice of three numbers; `None` when the lists are shorter.
    pub fn of_numbers([quantity, hand, height_mm]: [usize; 3]) -> Option<Self> {
        let (quantity, _) = QUANTITIES.get(quantity)?;
        let (hand, _) = HANDS.get(hand)?;
        Some(Self { quantity: *quantity, hand: *hand, height_mm: u32::try_from(height_mm).ok()? })
    }
}

/// Everything that a map depends on.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Position of the entry.
    pub entry: usize,
    /// What is shown.
    pub choice: MapChoice,
    /// How often paths bounce.
    pub bounces: BounceOrder,
}

impl PartialEq for Subject {
    /// Another plan is another subject even if nothing in it differs: comparing plans costs more than it saves.
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && (self.entry, self.choice, self.bounces) == (other.entry, other.choice, other.bounces)
    }
}

/// A part of a map for one worker: so many cells of its share, after those that it has done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapPart {
    /// Position of the entry.
    pub entry: usize,
    /// What is shown.
    pub choice: MapChoice,
    /// Number of the share.
    pub share: usize,
    /// How many shares there are.
    pub shares: usize,
    /// Cells of the share that are done.
    pub skip: usize,
    /// Cells to do.
    pub budget: usize,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo;

    #[test]
    fn a_choice_is_told_by_three_numbers() {
        let usual = MapChoice::usual(&demo());
        assert_eq!(usual.height_m(), MapRequest::usual(&demo(), 0).height.0);
        for (quantity, _) in QUANTITIES {
            for (hand, _) in HANDS {
                let choice = MapChoice { quantity, hand, ..usual.at_height(2.345) };
                assert_eq!(MapChoice::of_numbers(choice.numbers()), Some(choice));
                assert_eq!(choice.request(&demo(), 1, BounceOrder::Direct).height, Metres(2.345));
            }
        }
        for numbers in [[4, 0, 0], [0, 4, 0], [0, 0, usize::MAX]] {
            assert_eq!(MapChoice::of_numbers(numbers), None);
        }
    }
}
