//! The stations along the wire. Knows their order and names, not what they show.

/// A station, in the order a press travels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Station {
    /// The wheel itself; while nothing is open, the start.
    #[default]
    Wheel,
    /// The sense circuit.
    Circuit,
    /// What each button reads.
    Learn,
    /// What the stereo obeys.
    Codes,
    /// Which press sends what.
    Pair,
    /// The box.
    Box,
    /// The build sheet.
    Sheet,
}

impl Station {
    /// All of them, in order.
    pub const ALL: [Self; 7] =
        [Self::Wheel, Self::Circuit, Self::Learn, Self::Codes, Self::Pair, Self::Box, Self::Sheet];

    /// Its name on the rail.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Wheel => "Wheel",
            Self::Circuit => "Circuit",
            Self::Learn => "Learn",
            Self::Codes => "Codes",
            Self::Pair => "Pair",
            Self::Box => "Box",
            Self::Sheet => "Sheet",
        }
    }

    /// What it answers, shown on the rail before there is anything to say.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Wheel => "Is it a ladder?",
            Self::Circuit => "Which resistor to buy",
            Self::Learn => "What each button reads",
            Self::Codes => "What the stereo obeys",
            Self::Pair => "Which press does what",
            Self::Box => "Fill it, then prove it",
            Self::Sheet => "Leave it behind",
        }
    }

    /// The one line a station says while it isn't built.
    #[must_use]
    pub const fn to_come(self) -> Option<&'static str> {
        match self {
            Self::Wheel => Some(
                "Here the wheel's ladder will be checked with a meter, step by step, before anything is connected.",
            ),
            Self::Circuit => Some(
                "Here the sense resistor will be chosen, and the circuit proven over tolerance, heat and wear.",
            ),
            Self::Box => Some(
                "Here the box will be filled with this project, watched, and proven button by button in the seat.",
            ),
            Self::Sheet => Some("Here the build sheet to leave in the glovebox will be shown as it prints."),
            Self::Learn | Self::Codes | Self::Pair => None,
        }
    }

    /// Its place in the order, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
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
