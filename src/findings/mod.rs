//! Whole-project findings: what is missing or unsafe, and what to do about it. Each says what was
//! found, with the values, and the next step. Knows no screen and no file.
//!
//! What a project may not hold at all is refused when it is read (`project::Project::check_values`);
//! findings are about projects that can be held, and aren't finished or aren't wise.

mod bands;
mod cautions;
mod circuit;
mod codes;
mod free;
mod learn;
mod pair;
#[cfg(test)]
mod tests;
mod the_box;
mod together;
mod wheel;

pub use cautions::CAUTIONS;
pub use the_box::{FeedShift, LAPTOP_FEED_V, VEHICLE_FEED_V, feed_shift, fuses};

use crate::project::Project;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Level {
    /// A button would do nothing, or the wrong thing.
    Error,
    /// It may work, and may not: look at it.
    Caution,
    /// Good to know.
    Note,
}

/// A station of the path, in the order a press travels: where a finding is dealt with, and where
/// the window takes a person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Station {
    /// The wheel, its wires and buttons.
    #[default]
    Wheel,
    /// The sense circuit.
    Circuit,
    /// What each button reads.
    Learn,
    /// What the stereo obeys.
    Codes,
    /// Which gesture sends which command.
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

    /// Its name.
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

    /// Its place in the order, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// One thing that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub level: Level,
    /// Where it is dealt with.
    pub station: Station,
    /// What it is about, as a path: `wheel.buttons.mute`, `rests.1`.
    pub where_: String,
    /// What was found, in one or two sentences.
    pub what: String,
    /// What to do, in one sentence.
    pub do_: String,
}

/// Everything found in a project: what matters most first, then along the path.
#[must_use]
pub fn findings(project: &Project) -> Vec<Finding> {
    let mut found = Vec::new();
    wheel::look(project, &mut found);
    circuit::look(project, &mut found);
    together::look(project, &mut found);
    learn::look(project, &mut found);
    bands::look(project, &mut found);
    codes::look(project, &mut found);
    free::look(project, &mut found);
    pair::look(project, &mut found);
    the_box::look(project, &mut found);
    found.sort_by_key(|finding| (finding.level, finding.station));
    found
}

impl Level {
    /// Its word on the command line.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }
}

impl Finding {
    fn new(
        level: Level,
        station: Station,
        where_: impl Into<String>,
        what: impl Into<String>,
        do_: &str,
    ) -> Self {
        Self { level, station, where_: where_.into(), what: what.into(), do_: do_.to_owned() }
    }
}

/// Names for a sentence: `Mute`, `Mute and Source`, `Mute, Source and Next`; of many the first few and how
/// many more.
fn listed(names: &[&str]) -> String {
    const MOST: usize = 12;
    const NAMED: usize = 8;
    match names {
        [first @ .., _] if names.len() > MOST => {
            let first = first.get(..NAMED).unwrap_or(first);
            format!("{} and {} more", first.join(", "), names.len() - first.len())
        }
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// What a person calls it: its name, or its id where it has none.
fn called<'a>(name: &'a str, id: &'a str) -> &'a str {
    if name.trim().is_empty() { id } else { name }
}
