//! What a box of ours can hold and how fine it measures, as its own `limits.h` says. A real box tells
//! these of itself and is believed; they stand here for the virtual box, and for what is said about a
//! box that isn't there.

/// The link's version.
pub const PROTOCOL: u8 = 1;
/// Samples a second.
pub const SAMPLE_HZ: u16 = 1_000;
/// Edges a capture keeps.
pub const CAPTURE_EDGES: u8 = 200;
/// The step of a captured timing, in nanoseconds.
pub const CAPTURE_STEP_NS: u16 = 2_000;
/// A space this long ends a capture, in microseconds.
pub const CAPTURE_GAP_US: u32 = 125_000;
/// The step of a sent timing, in nanoseconds: Timer 1 at 16 MHz / 8.
pub const PULSE_STEP_NS: u16 = 500;
/// The shortest mark or space that is sent, in microseconds.
pub const LEAST_PULSE_US: u16 = 50;
/// The converter's highest number.
pub const CONVERTER_TOP: u16 = 1_023;
/// Bytes of a slot, its header included.
pub const SLOT_BYTES: u16 = 480;
/// Bytes of a slot's header.
pub const SLOT_HEADER: u16 = 8;
/// The most bytes one message reads or writes of a slot.
pub const STRETCH_MAX: usize = 64;
/// Timings in one capture event at most.
pub const CAPTURE_TIMINGS_MAX: usize = 40;
/// The rate the link starts at, in bits per second.
pub const RATE: u32 = 115_200;
/// The faster rate, on request.
pub const RATE_FAST: u32 = 500_000;
/// A label: the wire is at rest.
pub const LABEL_REST: u8 = 16;
/// A label: no band holds the reading.
pub const LABEL_NONE: u8 = 17;
