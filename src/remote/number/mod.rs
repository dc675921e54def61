//! A code as a number of 16, 32 or 48 bits in either bit order, or as a list of bytes: what it may mean,
//! and why. Knows no
//! stereo and no screen; how numbers are typed is in `typed`.
//!
//! Numbers in this room's texts are hex, as codes are written. Forums give a code as one number, some
//! with the first bit sent written first, some with the last: the same digits then mean two codes. The
//! bytes of a `nec` frame turned end for end are again inverses of each other, `pd16` has no check at
//! all, and the parity of `aeha` may match by chance: where no check can tell which was meant, this says
//! so instead of guessing.

mod reading;
#[cfg(test)]
mod tests;
mod typed;
mod words;

use super::code::Code;
use super::frame::encode;

pub use reading::{Likely, NumberCheck, NumberChecks, NumberField, NumberReading, OrderReading, read_number};
pub use typed::{NumberError, parse_number, parse_u32_field};

/// How many bits a number stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NumberWidth {
    /// 16 bits, 4 hex digits: `pd16`.
    Sixteen,
    /// 32 bits, 8 hex digits: `nec`, `nec16`.
    ThirtyTwo,
    /// 48 bits, 12 hex digits: `aeha`.
    FortyEight,
}

/// A frame's bits as one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CodeNumber {
    width: NumberWidth,
    value: u64,
}

/// One frame as a number, both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BothOrders {
    /// The first bit sent is the most significant.
    pub first_bit_first: CodeNumber,
    /// The last bit sent is the most significant.
    pub last_bit_first: CodeNumber,
}

/// In which order a number is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NumberOrder {
    /// The first bit sent is the most significant.
    FirstBitFirst,
    /// The last bit sent is the most significant.
    LastBitFirst,
    /// A list of bytes in the order they are sent, each by its value: the first bit sent of each is its
    /// least significant. Captures and `aeha` codes are often written so.
    BytesAsSent,
}

impl NumberWidth {
    /// All of them, the narrowest first.
    pub const ALL: [Self; 3] = [Self::Sixteen, Self::ThirtyTwo, Self::FortyEight];

    /// How many bits.
    #[must_use]
    pub const fn bits(self) -> u32 {
        match self {
            Self::Sixteen => 16,
            Self::ThirtyTwo => 32,
            Self::FortyEight => 48,
        }
    }

    /// How many hex digits.
    #[must_use]
    pub const fn digits(self) -> usize {
        self.bits() as usize / 4
    }
}

impl CodeNumber {
    /// A number of so many bits; `None` if it has more.
    #[must_use]
    pub const fn new(width: NumberWidth, value: u64) -> Option<Self> {
        if value >> width.bits() == 0 { Some(Self { width, value }) } else { None }
    }

    /// How many bits it stands for.
    #[must_use]
    pub const fn width(self) -> NumberWidth {
        self.width
    }

    /// Its value.
    #[must_use]
    pub const fn value(self) -> u64 {
        self.value
    }

    /// The same bytes turned end for end.
    #[must_use]
    pub const fn bytes_turned(self) -> Self {
        Self { width: self.width, value: self.value.swap_bytes() >> (u64::BITS - self.width.bits()) }
    }

    /// The same bits turned end for end.
    #[must_use]
    pub const fn turned(self) -> Self {
        Self { width: self.width, value: self.value.reverse_bits() >> (u64::BITS - self.width.bits()) }
    }
}

impl From<u32> for CodeNumber {
    fn from(number: u32) -> Self {
        Self { width: NumberWidth::ThirtyTwo, value: u64::from(number) }
    }
}

impl NumberOrder {
    /// The two orders of a whole number.
    pub const BOTH: [Self; 2] = [Self::FirstBitFirst, Self::LastBitFirst];
}

/// The code's frame as a number; `None` for codes whose frame has not 16, 32 or 48 bits, raw ones and
/// ones out of range.
#[must_use]
pub fn both_orders(code: &Code) -> Option<BothOrders> {
    let bits = encode(code, false).ok()?.bits;
    let width = NumberWidth::ALL.into_iter().find(|width| width.bits() as usize == bits.len())?;
    let value = bits.iter().fold(0, |number: u64, bit| number << 1 | u64::from(bit.value));
    let first_bit_first = CodeNumber { width, value };
    Some(BothOrders { first_bit_first, last_bit_first: first_bit_first.turned() })
}
