//! The virtual box's EEPROM: two slots for images and the tail, written a byte at a time at the
//! chip's speed. Knows no link.

use crate::image::{BODY_MAX, FORMAT, check};
use crate::recognise::{BoxImage, SlotInUse, look_at_slots};
use crate::wire::{Fault, Slot};

const BYTES: usize = 1024;
const SLOT_BYTES: usize = 480;
const HEADER: usize = 8;
const MAGIC: u8 = 0xB5;
const EMPTY: u8 = 0xFF;

/// Where the calibration lies: the bandgap in millivolts, and its inverse.
const CALIBRATION: usize = 1008;

/// An EEPROM byte takes this long to write (ATmega328P datasheet, table 8-2: 3.4 ms).
const BYTE_US: u32 = 3_400;
const TICK_US: u32 = 1_000;

/// A write under way.
#[derive(Clone, Copy, Debug)]
struct Writing {
    slot: u8,
    length: u16,
    check: u16,
    /// Bytes of the body that came.
    came: u16,
}

#[derive(Clone, Debug)]
pub(super) struct Memory {
    bytes: Vec<u8>,
    writing: Option<Writing>,
    /// Bytes on their way into the memory, the next one last.
    storing: Vec<(usize, u8)>,
    /// How long the byte being stored has taken.
    spent_us: u32,
}

impl Memory {
    pub(super) fn new() -> Self {
        Self { bytes: vec![EMPTY; BYTES], writing: None, storing: Vec::new(), spent_us: 0 }
    }

    /// Power went: what was on its way is lost.
    pub(super) fn cut(&mut self) {
        self.writing = None;
        self.storing.clear();
    }

    /// The slot in use: whole, and the later one where both are.
    pub(super) fn in_use(&self) -> Option<Slot> {
        let SlotInUse { number, sequence, length, check, .. } = look_at_slots(&self.bytes).in_use?;
        Some(Slot { number, sequence, length, check })
    }

    pub(super) fn has_damage(&self) -> bool {
        look_at_slots(&self.bytes).damaged
    }

    /// The body of the slot in use.
    pub(super) fn body(&self) -> Option<Vec<u8>> {
        let slot = self.in_use()?;
        let start = body_of(slot.number);
        self.bytes.get(start..start + usize::from(slot.length)).map(<[u8]>::to_vec)
    }

    /// Bytes of a slot, from its header on; nothing past its end.
    pub(super) fn read(&self, slot: u8, offset: u16, count: u8) -> Option<Vec<u8>> {
        let (offset, count) = (usize::from(offset), usize::from(count));
        let is_inside = slot < 2 && offset + count <= SLOT_BYTES;
        let start = usize::from(slot) * SLOT_BYTES + offset;
        if is_inside { self.bytes.get(start..start + count).map(<[u8]>::to_vec) } else { None }
    }

    /// What the chip's bandgap truly is, in millivolts, where a meter has told.
    pub(super) fn calibration(&self) -> Option<u16> {
        let word = |at: usize| Some(u16::from_le_bytes([*self.bytes.get(at)?, *self.bytes.get(at + 1)?]));
        let value = word(CALIBRATION)?;
        (word(CALIBRATION + 2)? == !value).then_some(value)
    }

    pub(super) fn calibrate(&mut self, bandgap_mv: Option<u16>) {
        let kept = bandgap_mv.map(|value| [value.to_le_bytes(), (!value).to_le_bytes()].concat());
        for (at, byte) in kept.unwrap_or_else(|| vec![EMPTY; 4]).into_iter().enumerate() {
            self.bytes[CALIBRATION + at] = byte;
        }
    }

    /// Begins to fill the slot that is not in use.
    pub(super) fn begin(&mut self, length: u16, check: u16) -> Result<u8, Fault> {
        if usize::from(length) > BODY_MAX {
            return Err(Fault::TooLong);
        }
        let slot = self.in_use().map_or(0, |slot| 1 - slot.number);
        self.cut();
        self.writing = Some(Writing { slot, length, check, came: 0 });
        self.store(&[(usize::from(slot) * SLOT_BYTES, EMPTY)]);
        Ok(slot)
    }

    /// Takes the next bytes of the body.
    pub(super) fn data(&mut self, offset: u16, bytes: &[u8]) -> Result<(), Fault> {
        let writing = self.writing.as_mut().ok_or(Fault::Order)?;
        let count = bytes.len() as u16;
        if offset != writing.came || offset + count > writing.length {
            return Err(Fault::Order);
        }
        writing.came += count;
        let start = body_of(writing.slot) + usize::from(offset);
        let bytes: Vec<_> = bytes.iter().enumerate().map(|(at, byte)| (start + at, *byte)).collect();
        self.store(&bytes);
        Ok(())
    }

    /// Looks at what came, and makes it the image in use: the magic byte is stored last. Gives the
    /// slot and its sequence number.
    pub(super) fn end(&mut self) -> Result<(u8, u8), Fault> {
        let Writing { slot, length, check: wanted, came } = self.writing.take().ok_or(Fault::Order)?;
        if came != length {
            return Err(Fault::Order);
        }
        let start = body_of(slot);
        let body = self.bytes.get(start..start + usize::from(length)).unwrap_or_default();
        if check(body) != wanted {
            return Err(Fault::Check);
        }
        BoxImage::new(body.to_vec()).map_err(|fault| Fault::from_number(fault).unwrap_or(Fault::Contents))?;
        let sequence = self.in_use().map_or(0, |other| other.sequence.wrapping_add(1));
        let [length_low, length_high] = length.to_le_bytes();
        let [check_low, check_high] = wanted.to_le_bytes();
        let header = [MAGIC, FORMAT, sequence, !sequence, length_low, length_high, check_low, check_high];
        let base = usize::from(slot) * SLOT_BYTES;
        let order = [1, 2, 3, 4, 5, 6, 7, 0];
        self.store(&order.map(|at| (base + at, header[at])));
        Ok((slot, sequence))
    }

    /// Whether bytes are still on their way.
    pub(super) fn is_storing(&self) -> bool {
        !self.storing.is_empty()
    }

    /// Whether an image is being written.
    pub(super) fn is_writing(&self) -> bool {
        self.writing.is_some() || self.is_storing()
    }

    /// One tick later.
    pub(super) fn tick(&mut self) {
        if self.storing.is_empty() {
            self.spent_us = 0;
            return;
        }
        self.spent_us += TICK_US;
        while self.spent_us >= BYTE_US
            && let Some((at, byte)) = self.storing.pop()
        {
            self.spent_us -= BYTE_US;
            self.bytes[at] = byte;
        }
    }

    fn store(&mut self, bytes: &[(usize, u8)]) {
        self.storing.splice(0..0, bytes.iter().rev().copied());
    }
}

/// Where a slot's body lies.
fn body_of(slot: u8) -> usize {
    usize::from(slot) * SLOT_BYTES + HEADER
}
