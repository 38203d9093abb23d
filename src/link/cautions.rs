//! Cautions in plain words, the same on the page, on paper and in the command. They remind; local rules and licensed operators
//! decide.

/// What to go through before anyone flies.
pub const BEFORE_YOU_FLY: [&str; 8] = [
    "Ask whoever is responsible for the place and the airspace, and follow what they say. Local rules come before this plan.",
    "Check that channel and radiated power are allowed here, for you, with your licence.",
    "Keep everybody behind a net or far enough off, and never fly over people. A pilot in goggles has a spotter.",
    "Propellers off whenever an aircraft is powered on the ground, on a walk with it, and for every test of hands.",
    "Try the control link and what happens when it is lost, before the picture: control must outlast video.",
    "Inspect batteries; never charge unattended. Carry them in something fireproof; a damaged one stays on the ground.",
    "Power one aircraft at a time in the pits, on its own channel, with its antenna screwed on.",
    "Walk the lap with one aircraft and the goggles and compare with this plan. A plan is a calculation, not a promise.",
];

/// Who says whether a power may be radiated.
pub const WHO_DECIDES: &str =
    "Check your local rules and what your licence covers; a licensed operator or the authority decides, not this plan.";
