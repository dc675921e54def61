//! What is drawn along the count axis, and what is drawn along a code's time. Each takes plain
//! values and a rectangle; none knows the model.

pub mod axis;
pub mod density;
pub mod gap;
pub mod loom;
pub mod overview;
pub mod rungs;
pub mod trace;
pub mod wave;

/// A button's place on the count axis, or rest's, as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct RungRow {
    /// Which button, from 0; `None` for rest.
    pub index: Option<usize>,
    /// What it is called.
    pub name: String,
    /// Its middle, in counts.
    pub centre: f64,
    /// The accept band's lower edge, in counts.
    pub low: f64,
    /// The accept band's upper edge, in counts.
    pub high: f64,
    /// How far it is learned.
    pub state: RungState,
    /// The tolerance interval, where there is one.
    pub tolerance: Option<(f64, f64)>,
    /// Its readings: counts with how many fell there.
    pub tally: Vec<(f64, f64)>,
    /// Standard deviation of one reading, in counts.
    pub sigma: f64,
    /// Which way wear moves it, where that is known.
    pub wear: Wear,
    /// The second line of its label: counts, headroom, or how it is known.
    pub detail: String,
    /// The count alone, for labels of one line.
    pub count: String,
    /// Extra contact resistance it can gain, as text.
    pub headroom: Option<String>,
    /// What a screen reader says.
    pub spoken: String,
}

/// How far a rung is learned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RungState {
    /// Only planned: dashed.
    Planned,
    /// Some of its presses are in.
    Partly {
        /// How many are in.
        presses: u32,
        /// Of how many.
        of: u32,
    },
    /// Measured: solid.
    Measured,
}

impl RungState {
    /// Whether its band is drawn solid.
    #[must_use]
    pub const fn is_measured(self) -> bool {
        matches!(self, Self::Measured)
    }

    /// Whether any press is in.
    #[must_use]
    pub const fn has_presses(self) -> bool {
        !matches!(self, Self::Planned)
    }
}

/// Which way contact wear moves a rung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wear {
    /// To higher counts.
    Up,
    /// To lower counts.
    Down,
    /// Not known: the circuit isn't.
    Unknown,
}
