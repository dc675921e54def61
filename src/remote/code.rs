//! A code as the project keeps it, and what it is called.

use serde::{Deserialize, Serialize};

use super::free::FreeFamily;

/// The id of a family in the table: `nec`, `nec16`, …. Lower case, as on the command line.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct FamilyId(pub String);

/// One remote code: a family's fields, or the timings themselves where no family explains them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Code {
    /// A code of a family of the table.
    Family {
        /// Which family.
        family: FamilyId,
        /// The address, in the family's own range.
        address: u32,
        /// The command, in the family's own range.
        command: u32,
    },
    /// A code of a pulse-distance family that isn't in the table, with its parameters.
    Free {
        /// The family's parameters.
        free: FreeFamily,
        /// The address, as wide as the parameters say.
        address: u32,
        /// The command, as wide as the parameters say.
        command: u32,
    },
    /// Timings, as marks and spaces.
    Raw {
        /// One frame: mark, space, mark, … in microseconds, beginning and ending with a mark.
        pulses_us: Vec<f64>,
        /// From the start of one frame to the start of the next while held, in microseconds;
        /// `None` sends it once.
        repeat_us: Option<f64>,
    },
}

/// Where a code came from: shown beside it, because a typed code is only as good as its source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Typed in.
    #[default]
    Typed,
    /// Captured from the hand-held remote.
    Captured,
    /// Found by sweeping.
    Swept,
}
