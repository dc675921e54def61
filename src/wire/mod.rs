//! Bytes and frames of the link to the box, its messages and its faults with their words. Knows no
//! port, no clock and no project.
//!
//! The layouts are written down in DEVELOPERS.md, "The link"; the box's own side is
//! `assets/firmware/core/messages.h` and `frame.h`, and a test holds the two together.

mod blinks;
mod chip;
mod message;
mod wiring;

pub use blinks::{BLINKS, Blink, Light, STEP_MS};
pub use chip::{BrownOut, chip_name, fuse_words};
pub use message::{
    BoxEvent, CALIBRATE_RANGE_MV, CapturePart, Counters, DecisionKind, DecisionSeen, Identity,
    NamedReference, PAYLOAD_MAX, ReferenceKind, ResetCause, Sample, SampleBlock, Slot, Tally,
};
pub use wiring::{PINS, POWER_CAUTIONS, Pin};
