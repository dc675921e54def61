//! Remote codes: what a family's marks and spaces mean, and back. Knows no wire, no stereo and no
//! names.
//!
//! A frame is marks and spaces in microseconds, mark first, as `[mark, space, mark, …]`. Families are
//! rows of one table; everything here works from the row, so that a new family is its row and its
//! published frames.

mod capture;
mod code;
mod decode;
mod decode_free;
mod describe;
mod family;
mod frame;
mod free;
mod number;
mod raw;
mod read;
mod shape;
mod sweep;
mod table;

pub use capture::{Consensus, Doubt, Ground, HearError, Heard, Sure, consensus, hear, hear_with};
pub use code::{Code, FamilyId, Origin};
pub use decode::{DECODE_TIMINGS_MAX, DecodeError, Decoded, decode, heard_as};
pub use describe::describe;
pub use family::{
    BitOrder, Family, FieldSpec, Holds, Modulation, PERIOD_SLACK, RepeatKind, SLACK, families, family,
};
pub use frame::{CodeError, Field, Frame, FrameBit, Repeat, encode};
pub use free::{
    FREE_ADDRESS_BITS_MAX, FREE_COMMAND_BITS_MAX, FREE_PERIOD_MAX_US, FREE_TIMING_MAX_US, FREE_TIMING_MIN_US,
    FreeError, FreeFamily, FreePart, FreeRepeat,
};
pub use number::{
    BothOrders, CodeNumber, Likely, NumberCheck, NumberChecks, NumberError, NumberField, NumberOrder,
    NumberReading, NumberWidth, OrderReading, both_orders, parse_number, parse_u32_field, read_number,
};
pub use raw::{RAW_EDGES_MAX, RAW_EDGES_MIN, RAW_TIMING_MAX_US, RAW_TIMING_MIN_US, RawError, raw_from_text};
pub use sweep::{Part as SweepPart, SWEEP_MAX, SweepError, SweepRange};
