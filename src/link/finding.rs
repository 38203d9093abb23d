//! What a report says of safety and of channels that two share.

use serde::{Deserialize, Serialize};

/// What may happen where the flown line comes too near to something, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Danger {
    /// It is nearer to people than the distance to keep.
    NearPeople,
    /// It runs into a thing, or comes so near that an aircraft that strays does.
    IntoObstacle,
    /// It is over people.
    OverPeople,
    /// It runs into people, or comes so near that an aircraft that strays does.
    IntoPeople,
}

/// The list of the plan in which a thing stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Thing {
    /// `seats`.
    Seat,
    /// `site.obstacles`.
    Obstacle,
}

/// A place where the flown line comes too near to something: one per seat and obstacle, where it is worst.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SafetyFinding {
    /// What may happen.
    pub danger: Danger,
    /// In which list the thing stands.
    pub thing: Thing,
    /// Its id.
    pub id: String,
    /// How far the drawn line is from it: level from people, in space from anything else; zero over and in it.
    pub distance_m: f64,
    /// How far an aircraft may stray from the drawn line.
    pub strays_m: f64,
    /// Place of the drawn line there, east.
    pub x_m: f64,
    /// North.
    pub y_m: f64,
    /// Above ground.
    pub height_m: f64,
    /// Distance along the lap.
    pub at_m: f64,
    /// Index of the nearest gate along the lap.
    pub gate: usize,
    /// How far after that gate; negative before it.
    pub after_gate_m: f64,
    /// All of it in a sentence.
    pub sentence: String,
}

/// Another entry whose channel is the same, or meets this one's.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedChannel {
    /// Id of the other entry.
    pub entry: String,
    /// Distance of the two carriers.
    pub apart_hz: f64,
    /// All of it in a sentence.
    pub sentence: String,
}
