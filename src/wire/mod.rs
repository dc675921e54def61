//! Bytes and frames of the link to the box, its messages and its faults with their words; and what a
//! box is apart from its bytes: its pins, its blinks, its fuses. Knows no port, no clock and no
//! project.
//!
//! The layouts are written down in DEVELOPERS.md, "The link"; the box's own side is
//! `assets/firmware/core/messages.h` and `frame.h`, and a test holds the two together.

mod answer;
mod ask;
mod blinks;
mod bytes;
mod chip;
mod event;
mod fault;
mod frame;
pub mod limits;
mod message;
#[cfg(test)]
mod tests;
mod wiring;

pub use answer::{Answer, AnswerFault};
pub use ask::{Ask, REPLY};
pub use blinks::{BLINKS, Blink, Light, STEP_MS};
pub use chip::{BrownOut, chip_name, fuse_words};
pub use event::EventFault;
pub use fault::Fault;
pub use frame::{Deframer, Frame, FrameFault, WireError, crc16, encode_frame};
pub use message::{
    BoxEvent, CALIBRATE_RANGE_MV, CapturePart, Counters, DecisionKind, DecisionSeen, Identity,
    NamedReference, PAYLOAD_MAX, ReferenceKind, ResetCause, Sample, SampleBlock, Slot, Tally,
};
pub use wiring::{PINS, POWER_CAUTIONS, Pin, REMOTE_LINE, RemoteLine};
