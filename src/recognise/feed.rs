//! Readings to levels as the box does it: as they are, or scaled by the monitored feed.

use super::ffi::{self, CFeed};
use crate::signal::Level;

/// The feed as its monitor reads it, smoothed over about 8 readings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Feed(CFeed);

impl Feed {
    /// Takes one reading of the monitor, 0 to 1023.
    pub fn take(&mut self, raw: u16) {
        self.0.take(raw);
    }

    /// A reading scaled by nominal feed / measured feed; [`Level::NONE`] before the monitor was read, or
    /// with a feed under a quarter of the nominal.
    #[must_use]
    pub fn scale(&self, raw: u16, nominal: Level) -> Level {
        Level::from_steps(self.0.scaled(raw, nominal.steps()))
    }
}

/// A reading as it is, 0 to 1023: the supply is the reference.
#[must_use]
pub fn plain(raw: u16) -> Level {
    Level::from_steps(ffi::plain(raw))
}
