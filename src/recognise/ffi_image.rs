//! The box's C files for image, codes, frames and sending, as the compiler sees them: declarations,
//! structures laid out alike, and where the C side's callbacks read from and write to. Gives numbers
//! no meaning; the files beside it do.
#![expect(unsafe_code, reason = "declares the box's own C functions; each takes what a reference can give")]

use std::cell::RefCell;
use std::sync::Arc;

/// Gives the byte at an offset.
pub(super) type Reader = extern "C" fn(u16) -> u8;

/// `struct sw_slot`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwSlot {
    magic: u8,
    format: u8,
    pub(super) sequence: u8,
    inverse: u8,
    pub(super) length: u16,
    pub(super) check: u16,
}

/// `struct sw_band`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwBand {
    pub(super) low: u16,
    pub(super) high: u16,
}

/// `SW_RULES_…`.
pub(super) mod flags {
    pub(in super::super) const REFERENCE: u8 = 0x03;
    pub(in super::super) const MONITOR: u8 = 0x04;
    pub(in super::super) const ROLLOVER: u8 = 0x08;
    pub(in super::super) const TWO_WIRES: u8 = 0x10;
    pub(in super::super) const INFRARED: u8 = 0x20;
}
/// `SW_ON_SECOND_WIRE`.
pub(super) const ON_SECOND_WIRE: u16 = 0x8000;

/// `struct sw_rules`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwRules {
    pub(super) has: [u8; 16],
    pub(super) wires: u8,
    pub(super) spare: u8,
    pub(super) flags: u8,
    pub(super) dwell_ticks: u8,
    pub(super) settle_levels: u16,
    pub(super) hold_ticks: u16,
    pub(super) double_ticks: u16,
    pub(super) feed_level: u16,
    pub(super) buttons: u8,
    pub(super) pairs: u8,
    pub(super) commands: u8,
    pub(super) mark: [u8; 2],
    pub(super) zero: u8,
    pub(super) band: [SwBand; 18],
}

/// `struct sw_image`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwImage {
    pairs_at: u16,
    pub(super) free_at: u16,
    commands_at: u16,
    pub(super) rules: SwRules,
}

/// `struct sw_command`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwCommand {
    pub(super) command: u32,
    pub(super) address: u16,
    pub(super) record: u16,
    pub(super) family: u8,
}

/// `struct sw_family`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwFamily {
    period: u16,
    flags: u8,
    pub(super) carrier_khz: u8,
    address_bits: u8,
    command_bits: u8,
    more_ticks: u8,
    pub(super) least_frames: u8,
    kind: u8,
    time: [u16; 8],
}

/// `SW_SYMBOL_BYTES(SW_TIMINGS_MAX) + 1`.
const SYMBOL_BYTES: usize = 76;

/// `struct sw_frame`.
#[repr(C)]
#[derive(Clone, Debug)]
pub(super) struct SwFrame {
    pub(super) row: SwFamily,
    pub(super) gap_ticks: u32,
    unit: u16,
    pub(super) count: u8,
    at: u8,
    rest: u8,
    symbol: [u8; SYMBOL_BYTES],
}

impl Default for SwFrame {
    fn default() -> Self {
        Self {
            row: SwFamily::default(),
            gap_ticks: 0,
            unit: 0,
            count: 0,
            at: 0,
            rest: 0,
            symbol: [0; SYMBOL_BYTES],
        }
    }
}

/// `struct sw_event`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwEvent {
    pub(super) level: u16,
    pub(super) ticks: u16,
    pub(super) kind: u8,
    pub(super) button: u8,
    pub(super) wire: u8,
    pub(super) spare: u8,
}

/// `struct sw_turn`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwTurn {
    pub(super) command: u8,
    button: u8,
    repeats: u8,
    every_50ms: u8,
}

/// `struct sw_sender`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SwSender {
    held_ticks: u16,
    left_ticks: u16,
    pub(super) now: SwTurn,
    next: SwTurn,
    held: u8,
    frames: u8,
    pub(super) toggle: u8,
    down: u8,
}

// Every pointer is to one structure that is filled or read before the call returns, and kept nowhere:
// a reference is what each asks for. The readers and writers are the functions below, which hold
// for any offset.
unsafe extern "C" {
    pub(super) safe fn sw_slot_choose(read: Reader, out: &mut SwSlot, damaged: &mut u8) -> u8;
    pub(super) safe fn sw_slot_body(number: u8) -> u16;
    pub(super) safe fn sw_image_load(read: Reader, body: u16, length: u16, out: &mut SwImage) -> u8;
    pub(super) safe fn sw_image_pair(read: Reader, image: &SwImage, button: u8, gesture: u8) -> u16;
    pub(super) safe fn sw_image_command(read: Reader, image: &SwImage, number: u8, out: &mut SwCommand)
    -> u8;
    pub(super) safe fn sw_record_command(
        read: Reader,
        at: u16,
        length: u16,
        free: u16,
        out: &mut SwCommand,
    ) -> u8;
    pub(super) safe fn sw_frame_plan(
        read: Reader,
        command: &SwCommand,
        toggle: u8,
        which: u8,
        out: &mut SwFrame,
    ) -> u8;
    pub(super) safe fn sw_frame_timing(frame: &SwFrame, at: u8) -> u32;
    pub(super) safe fn sw_frame_start(frame: &mut SwFrame);
    pub(super) safe fn sw_frame_next(frame: &mut SwFrame) -> u32;
    pub(super) safe fn sw_sender_start(sender: &mut SwSender);
    pub(super) safe fn sw_sender_event(
        sender: &mut SwSender,
        read: Reader,
        image: &SwImage,
        event: &SwEvent,
    ) -> u8;
    pub(super) safe fn sw_sender_ask(sender: &mut SwSender, command: u8, held_ticks: u16);
    pub(super) safe fn sw_sender_tick(sender: &mut SwSender);
    pub(super) safe fn sw_sender_next(sender: &mut SwSender, least_frames: u8) -> u8;
}

thread_local! {
    /// What the C side reads while a call of this thread runs.
    static MEMORY: RefCell<Option<Arc<[u8]>>> = const { RefCell::new(None) };
}

/// Calls with a reader over `memory`. What lies outside reads as erased: FF.
pub(super) fn reading<T>(memory: &Arc<[u8]>, call: impl FnOnce(Reader) -> T) -> T {
    MEMORY.with_borrow_mut(|place| *place = Some(Arc::clone(memory)));
    let answer = call(byte_at);
    MEMORY.with_borrow_mut(Option::take);
    answer
}

extern "C" fn byte_at(offset: u16) -> u8 {
    let byte = MEMORY.with_borrow(|memory| memory.as_ref()?.get(usize::from(offset)).copied());
    #[cfg(test)]
    if byte.is_none() {
        testing::OUTSIDE.set(testing::OUTSIDE.get() + 1);
    }
    byte.unwrap_or(0xFF)
}

/// The link's frames as the box writes and reads them, and what tests ask of a reader.
#[cfg(test)]
pub(super) mod testing {
    use std::cell::Cell;

    thread_local! {
        /// How often the C side has read outside its memory.
        pub(in super::super) static OUTSIDE: Cell<u32> = const { Cell::new(0) };
    }

    /// `struct sw_deframer`.
    #[repr(C)]
    pub(in super::super) struct SwDeframer {
        length: u8,
        ended: u8,
        line: [u8; 102],
    }

    impl SwDeframer {
        pub(in super::super) fn new() -> Self {
            let mut deframer = Self { length: 0, ended: 0, line: [0; 102] };
            sw_deframer_start(&mut deframer);
            deframer
        }

        /// The frame, its check included.
        pub(in super::super) fn frame(&self) -> &[u8] {
            &self.line[1..][..usize::from(self.length)]
        }
    }

    // As above; the payload's length is checked against the array before the call.
    unsafe extern "C" {
        pub(in super::super) safe fn sw_crc(crc: u16, byte: u8) -> u16;
        safe fn sw_deframer_start(deframer: &mut SwDeframer);
        pub(in super::super) safe fn sw_deframer_take(deframer: &mut SwDeframer, byte: u8) -> u8;
        pub(in super::super) safe fn sw_frame_room(payload_length: u8) -> u8;
        safe fn sw_frame_write(ring: &mut [u8; 128], at: u8, frame: &mut [u8; 100], payload_length: u8)
        -> u8;
    }

    /// What the box writes for a frame; a payload of at most 96 bytes.
    pub(in super::super) fn written(number: u8, sequence: u8, payload: &[u8]) -> Vec<u8> {
        let mut frame = [0; 100];
        frame[0] = number;
        frame[1] = sequence;
        frame[2..][..payload.len()].copy_from_slice(payload);
        // From a place where a longer frame goes round the ring's end.
        let mut ring = [0; 128];
        let begin = 100;
        let end = sw_frame_write(&mut ring, begin, &mut frame, payload.len() as u8);
        ring.rotate_left(begin.into());
        ring[..usize::from((end + 128 - begin) % 128)].to_vec()
    }
}
