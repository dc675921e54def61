//! The box's own recogniser and what goes with it, compiled from the same C files: what the laptop
//! replays is what the box decides. A safe face; knows no project, port or clock.

mod feed;
mod ffi;
mod recogniser;
#[cfg(test)]
mod tests;
mod types;

pub use feed::{Feed, plain};
pub use recogniser::{DWELL_MAX_TICKS, Recogniser, RulesError, replay};
pub use types::{Band, Event, EventKind, Has, Label, Rules, Wires};
