//! The two slots that keep an image, as the box looks at them when it starts. Knows no body.

use std::sync::Arc;

use super::ffi_image::{SwSlot, reading, sw_slot_body, sw_slot_choose};

/// What the box finds in its memory.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slots {
    /// The slot in use: whole, and the later one where both are.
    pub in_use: Option<SlotInUse>,
    /// Whether a slot begins like an image and its check fails.
    pub damaged: bool,
}

/// A slot that holds a whole image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SlotInUse {
    /// Which, 0 or 1.
    pub number: u8,
    /// The image's sequence number.
    pub sequence: u8,
    /// Where its body starts, in bytes from the memory's first.
    pub body: u16,
    /// Bytes of its body.
    pub length: u16,
    /// Its check.
    pub check: u16,
}

/// Looks at the slots in the box's memory: both slots, then the tail. What is missing reads as erased.
#[must_use]
pub fn look_at_slots(memory: &[u8]) -> Slots {
    let mut slot = SwSlot::default();
    let mut damaged = 0;
    let number = reading(&Arc::from(memory), |read| sw_slot_choose(read, &mut slot, &mut damaged));
    let in_use = (number < 2).then_some(SlotInUse {
        number,
        sequence: slot.sequence,
        body: sw_slot_body(number),
        length: slot.length,
        check: slot.check,
    });
    Slots { in_use, damaged: damaged != 0 }
}
