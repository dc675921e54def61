//! The box's own recogniser and what goes with it, compiled from the same C files: what the laptop
//! replays is what the box decides. A safe face; knows no project, port or clock.

mod types;

pub use types::{Band, Event, EventKind, Has, Label, Rules, Wires};
