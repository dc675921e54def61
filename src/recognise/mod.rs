//! The box's own recogniser and what goes with it, compiled from the same C files: what the laptop
//! replays is what the box decides. A safe face; knows no project, port or clock.

#[cfg(test)]
mod blink_tests;
mod box_image;
#[cfg(test)]
mod box_tests;
mod feed;
mod ffi;
#[cfg(test)]
mod ffi_blink;
mod ffi_image;
#[cfg(test)]
mod frame_tests;
#[cfg(test)]
mod fuzz_tests;
#[cfg(test)]
mod pulse_tests;
mod recogniser;
mod sender;
#[cfg(test)]
mod sender_tests;
mod slots;
#[cfg(test)]
mod test_body;
#[cfg(test)]
mod tests;
mod types;

pub use box_image::{
    BoxCommand, BoxGesture, BoxImage, BoxPair, BoxSettings, PlannedFrame, Which, plan_record,
};
pub use feed::{Feed, plain};
pub use recogniser::{DWELL_MAX_TICKS, Recogniser, RulesError, replay};
pub use sender::{Sender, Start};
pub use slots::{SlotInUse, Slots, look_at_slots};
pub use types::{Band, Event, EventKind, Has, Label, Rules, Wires};
