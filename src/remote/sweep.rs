//! Which codes a sweep tries, one after the other. Sends nothing and knows no pace.

use serde::{Deserialize, Serialize};

use super::code::{Code, FamilyId};

/// The most codes of one run.
pub const SWEEP_MAX: u32 = 256;

/// The candidates of a sweep: every command of every address, addresses outermost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SweepRange {
    /// The family of all of them.
    pub family: FamilyId,
    /// The first address and the last, both tried.
    pub addresses: (u32, u32),
    /// The first command and the last, both tried.
    pub commands: (u32, u32),
}

impl SweepRange {
    /// The candidate with this number, from 0; `None` beyond the last.
    #[must_use]
    pub fn code(&self, at: u32) -> Option<Code> {
        let wide = self.commands.1.checked_sub(self.commands.0)?.checked_add(1)?;
        let address = self.addresses.0.checked_add(at / wide)?;
        let command = self.commands.0 + at % wide;
        (address <= self.addresses.1).then(|| Code::Family { family: self.family.clone(), address, command })
    }
}
