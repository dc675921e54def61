//! Readings on their way in: what a converter gave, the bounded recording, its envelope for
//! drawing, and settled stretches. Knows no buttons, no port and no clock: time is in the
//! readings.

mod reading;
mod settle;

pub use reading::{Converter, Level, RawReading, Reading};
pub use settle::{NotSettled, Settle, Settling, Stretch, Tracker, at_top, settled_part};
