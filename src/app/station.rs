//! The stations along the wire as the rail shows them. Knows what each answers, not what it shows.

pub use crate::findings::Station;

/// What it answers, shown on the rail before there is anything to say.
#[must_use]
pub const fn question(station: Station) -> &'static str {
    match station {
        Station::Wheel => "Is it a ladder?",
        Station::Circuit => "Which resistor to buy",
        Station::Learn => "What each button reads",
        Station::Codes => "What the stereo obeys",
        Station::Pair => "Which press does what",
        Station::Box => "Fill it, then prove it",
        Station::Sheet => "Leave it behind",
    }
}

/// The one line a station says while it isn't built.
#[must_use]
pub const fn to_come(station: Station) -> Option<&'static str> {
    match station {
        Station::Sheet => Some("Here the build sheet to leave in the glovebox will be shown as it prints."),
        Station::Wheel
        | Station::Circuit
        | Station::Learn
        | Station::Codes
        | Station::Pair
        | Station::Box => None,
    }
}

/// How far a station's work is, as its node on the wire shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Progress {
    /// Not begun.
    Idle,
    /// In hand, by the share that is done, 0 to 1.
    Part(f32),
    /// Done.
    Done,
    /// Something wants a look.
    Look,
    /// Something is broken.
    Broken,
}

/// One station's node on the rail.
#[derive(Clone, Debug, PartialEq)]
pub struct RailEntry {
    /// Which station.
    pub station: Station,
    /// How far.
    pub progress: Progress,
    /// One line of truth.
    pub truth: String,
}
