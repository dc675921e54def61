//! What the recogniser is told and what it says, as values.

use crate::signal::Level;

/// An accept band: whole counts, both ends taken. `low` above `high` takes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// The lowest count taken, 0 to 1023.
    pub low: u16,
    /// The highest count taken.
    pub high: u16,
}

/// Which gestures of a button lead anywhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Has {
    /// A tap.
    pub tap: bool,
    /// A hold.
    pub hold: bool,
    /// A double tap.
    pub double_tap: bool,
}

/// How many wires there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Wires {
    /// One.
    #[default]
    One,
    /// Two.
    Two,
}

/// What the recogniser goes by.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// How many wires.
    pub wires: Wires,
    /// What each wire reads at rest.
    pub rests: [Band; 2],
    /// The buttons: wire (1 or 2), band, and which gestures it has; 16 at most.
    pub buttons: Vec<(u8, Band, Has)>,
    /// How long a band must hold, in ticks of 1 ms, 1 to 64.
    pub dwell_ticks: u8,
    /// How far the levels of that dwell may spread.
    pub settle: Level,
    /// From recognition to a hold, in ticks.
    pub hold_ticks: u16,
    /// Between two taps of a double tap, in ticks.
    pub double_ticks: u16,
    /// Whether a press may roll over to the next button without rest in between.
    pub rollover: bool,
}

/// What a level lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Label {
    /// A button, by its place.
    Button(u8),
    /// Rest.
    Rest,
    /// Nothing.
    Nothing,
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EventKind {
    /// A button was recognised.
    Pressed,
    /// It was let go.
    Released,
    /// A tap.
    Tap,
    /// A hold.
    Hold,
    /// A double tap.
    DoubleTap,
    /// A wire left rest and came back without settling on a button.
    Undecided,
}

/// One thing that happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// What.
    pub kind: EventKind,
    /// Which button; `None` for [`EventKind::Undecided`].
    pub button: Option<u8>,
    /// Its wire, 1 or 2.
    pub wire: u8,
    /// Where it had settled.
    pub level: Level,
    /// Ticks since the wire left rest.
    pub ticks: u16,
}
