//! The box's own recogniser and what goes with it, compiled from the same C files: what the laptop
//! replays is what the box decides. A safe face; knows no project, port or clock.

mod box_image;
#[cfg(test)]
mod box_tests;
mod ffi_image;
#[cfg(test)]
mod frame_tests;
#[cfg(test)]
mod fuzz_tests;
#[cfg(test)]
mod pulse_tests;
mod sender;
#[cfg(test)]
mod sender_tests;
mod slots;
#[cfg(test)]
mod test_body;
mod types;

pub use box_image::{
    BoxCommand, BoxGesture, BoxImage, BoxPair, BoxSettings, PlannedFrame, Which, plan_record,
};
pub use sender::{Sender, Start};
pub use slots::{SlotInUse, Slots, look_at_slots};
pub use types::{Band, Event, EventKind, Has, Label, Rules, Wires};
