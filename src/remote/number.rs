//! A code as a 32-bit number in either bit order, and numbers as they are typed.
//!
//! Numbers in this room's texts are hex, as codes are written. Forums give a NEC code as one 32-bit
//! number, some with the first bit sent written first, some with the last: the same digits then mean
//! two codes. The bytes of a `nec` frame turned end for end are again inverses of each other, so
//! usually no check can tell which was meant, and this says so instead of guessing.

use std::fmt;

use super::code::Code;
use super::describe::describe;
use super::family::{Family, family};
use super::frame::encode;
use super::raw::shortened;

/// One frame of 32 bits as a number, both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ThirtyTwo {
    /// The first bit sent is the most significant.
    pub first_bit_first: u32,
    /// The last bit sent is the most significant.
    pub last_bit_first: u32,
}

/// Which bit of the frame a number is written to begin with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NumberOrder {
    /// The first bit sent is the most significant.
    FirstBitFirst,
    /// The last bit sent is the most significant.
    LastBitFirst,
}

/// A number read in one order.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderReading {
    /// The order.
    pub order: NumberOrder,
    /// The code: `nec` if both inverses match, `nec16` if only the command's does, else `None`.
    pub code: Option<Code>,
    /// Whether the second byte is the inverse of the first.
    pub address_inverse: bool,
    /// Whether the fourth byte is the inverse of the third.
    pub command_inverse: bool,
}

/// What a typed number may mean.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberReading {
    /// The number.
    pub number: u32,
    /// Read with the first bit first.
    pub first_bit_first: OrderReading,
    /// Read with the last bit first.
    pub last_bit_first: OrderReading,
    /// Which of the two is meant, as far as it can be told.
    pub likely: Likely,
}

/// Which order a number was meant in, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Likely {
    /// Both orders give the same code.
    Same,
    /// Only in this order does the command match its inverse.
    Inverse(NumberOrder),
    /// Both are codes, and only this order's address is in use already.
    AddressInUse(NumberOrder),
    /// Both are codes, and nothing tells them apart.
    NoCheckCanTell,
    /// In neither order is it a code of the table.
    Neither,
}

/// Why typed text is no number.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NumberError {
    /// Nothing typed.
    #[error("There is no number. Type it in hex, like {example}.")]
    Empty {
        /// What would do.
        example: &'static str,
    },
    /// A character that is no hex digit.
    #[error(
        "\"{text}\" is not a hex number: '{found}' is no digit of 0 to 9 or A to F. Type it like {example}."
    )]
    NotHex {
        /// What was typed.
        text: String,
        /// The first character that doesn't belong.
        found: char,
        /// What would do.
        example: &'static str,
    },
    /// Too many digits.
    #[error(
        "\"{text}\" has {digits} hex digits, and 8 at most fit. Type it like {example}; decimal is not read here."
    )]
    TooLong {
        /// What was typed.
        text: String,
        /// How many digits it has.
        digits: usize,
        /// What would do.
        example: &'static str,
    },
    /// Too few digits for a whole frame.
    #[error(
        "\"{text}\" has {digits} hex digits, and a whole frame has 8. Type all 8, or put 0x in front if zeros were left out."
    )]
    TooShort {
        /// What was typed.
        text: String,
        /// How many digits it has.
        digits: usize,
    },
}

/// The code's frame as a 32-bit number; `None` for codes whose frame has not 32 bits, raw ones and
/// ones out of range.
#[must_use]
pub fn thirty_two(code: &Code) -> Option<ThirtyTwo> {
    let bits = encode(code, false).ok()?.bits;
    let first_bit_first = bits.iter().fold(0, |number: u32, bit| number << 1 | u32::from(bit.value));
    let whole = bits.len() == 32;
    whole.then(|| ThirtyTwo { first_bit_first, last_bit_first: first_bit_first.reverse_bits() })
}

/// What a number means in either bit order. `in_use` are codes known to be right, such as those the
/// stereo has already: an address among them tells the orders apart where no check can.
#[must_use]
pub fn read_number<'a>(number: u32, in_use: impl IntoIterator<Item = &'a Code>) -> NumberReading {
    let first = read_order(number, NumberOrder::FirstBitFirst);
    let last = read_order(number, NumberOrder::LastBitFirst);
    let likely = match (&first.code, &last.code) {
        (None, None) => Likely::Neither,
        (Some(_), None) => Likely::Inverse(first.order),
        (None, Some(_)) => Likely::Inverse(last.order),
        (Some(a), Some(b)) if a == b => Likely::Same,
        (Some(a), Some(b)) => {
            let (mut first_used, mut last_used) = (false, false);
            for code in in_use {
                first_used |= same_address(code, a);
                last_used |= same_address(code, b);
            }
            match (first_used, last_used) {
                (true, false) => Likely::AddressInUse(first.order),
                (false, true) => Likely::AddressInUse(last.order),
                _ => Likely::NoCheckCanTell,
            }
        }
    };
    NumberReading { number, first_bit_first: first, last_bit_first: last, likely }
}

/// A 32-bit code number as typed: 8 hex digits, blanks anywhere between them, `0x` in front or `h`
/// behind or neither (`20DF10EF`, `20 DF 10 EF`, `0x20DF10EF`, `20DF10EFh`). With `0x` zeros in front
/// may be left out.
///
/// # Errors
/// [`NumberError`], saying what to type.
pub fn parse_number(text: &str) -> Result<u32, NumberError> {
    let typed = Typed::of(text, "20DF10EF")?;
    if typed.digits.len() < 8 && !typed.prefixed {
        return Err(NumberError::TooShort { text: shortened(text.trim()), digits: typed.digits.len() });
    }
    typed.value()
}

/// An address or command as typed: hex, always, whether `0x` stands in front, `h` behind, or neither
/// (`59`, `0x59`, `59h`). Decimal is not read here: `16` is sixteen and six.
///
/// # Errors
/// [`NumberError`], saying what to type.
pub fn parse_u32_field(text: &str) -> Result<u32, NumberError> {
    Typed::of(text, "59")?.value()
}

impl NumberReading {
    /// The reading that is likely meant, if anything tells.
    #[must_use]
    pub fn likely_reading(&self) -> Option<&OrderReading> {
        match self.likely {
            Likely::Same => Some(&self.first_bit_first),
            Likely::Inverse(order) | Likely::AddressInUse(order) => Some(self.reading(order)),
            Likely::NoCheckCanTell | Likely::Neither => None,
        }
    }

    /// The reading in this order.
    #[must_use]
    pub fn reading(&self, order: NumberOrder) -> &OrderReading {
        match order {
            NumberOrder::FirstBitFirst => &self.first_bit_first,
            NumberOrder::LastBitFirst => &self.last_bit_first,
        }
    }
}

/// Why the likely reading is likely, or what would tell.
impl fmt::Display for NumberReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = |reading: &OrderReading| reading.code.as_ref().map_or("no code".to_owned(), describe);
        match self.likely {
            Likely::Same => write!(f, "{} in either bit order.", words(&self.first_bit_first)),
            Likely::Inverse(order) => {
                write!(f, "{}: only {order} does the command match its inverse.", words(self.reading(order)))
            }
            Likely::AddressInUse(order) => write!(
                f,
                "{}: its address is in use already. Read {} it would be {}, and its inverses match too.",
                words(self.reading(order)),
                order.other(),
                words(self.reading(order.other()))
            ),
            Likely::NoCheckCanTell => write!(
                f,
                "{} it is {}, {} it is {}. The inverses match both ways, so no check can tell: \
                 a capture decides, or an address already in use.",
                capital(NumberOrder::FirstBitFirst),
                words(&self.first_bit_first),
                NumberOrder::LastBitFirst,
                words(&self.last_bit_first)
            ),
            Likely::Neither => f.write_str(
                "In neither bit order does the command match its inverse. \
                 Check the digits, or press the remote and capture it.",
            ),
        }
    }
}

impl NumberOrder {
    /// The other order.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::FirstBitFirst => Self::LastBitFirst,
            Self::LastBitFirst => Self::FirstBitFirst,
        }
    }
}

impl fmt::Display for NumberOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::FirstBitFirst => "first bit first",
            Self::LastBitFirst => "last bit first",
        })
    }
}

fn capital(order: NumberOrder) -> &'static str {
    match order {
        NumberOrder::FirstBitFirst => "First bit first",
        NumberOrder::LastBitFirst => "Last bit first",
    }
}

fn read_order(number: u32, order: NumberOrder) -> OrderReading {
    let low_first = match order {
        NumberOrder::FirstBitFirst => number.reverse_bits(),
        NumberOrder::LastBitFirst => number,
    };
    // The bytes in the order they are sent, each with its lowest bit sent first.
    let [first, second, third, fourth] = low_first.to_le_bytes();
    let (address_inverse, command_inverse) = (second == !first, fourth == !third);
    let coded = |family: &Family, address: u32| Code::Family {
        family: family.family_id(),
        address,
        command: u32::from(third),
    };
    let code = match (address_inverse, command_inverse) {
        (true, true) => family("nec").map(|nec| coded(nec, u32::from(first))),
        (false, true) => {
            family("nec16").map(|nec16| coded(nec16, u32::from(u16::from_le_bytes([first, second]))))
        }
        (_, false) => None,
    };
    OrderReading { order, code, address_inverse, command_inverse }
}

fn same_address(a: &Code, b: &Code) -> bool {
    match (a, b) {
        (
            Code::Family { family: one, address: here, .. },
            Code::Family { family: other, address: there, .. },
        ) => one == other && here == there,
        _ => false,
    }
}

/// Hex digits as typed.
struct Typed {
    text: String,
    digits: String,
    prefixed: bool,
    example: &'static str,
}

impl Typed {
    fn of(text: &str, example: &'static str) -> Result<Self, NumberError> {
        let text = text.trim();
        let prefixless = text.strip_prefix("0x").or_else(|| text.strip_prefix("0X"));
        let body = match prefixless {
            Some(rest) => rest,
            None => text.strip_suffix(['h', 'H']).unwrap_or(text),
        };
        let digits: String = body.chars().filter(|c| !c.is_whitespace()).collect();
        if digits.is_empty() {
            return Err(NumberError::Empty { example });
        }
        if let Some(found) = digits.chars().find(|c| !c.is_ascii_hexdigit()) {
            return Err(NumberError::NotHex { text: shortened(text), found, example });
        }
        Ok(Self { text: shortened(text), digits, prefixed: prefixless.is_some(), example })
    }

    fn value(self) -> Result<u32, NumberError> {
        let Self { text, digits, example, .. } = self;
        if digits.len() > 8 {
            return Err(NumberError::TooLong { text, digits: digits.len(), example });
        }
        // Eight hex digits always fit.
        u32::from_str_radix(&digits, 16).map_err(|_| NumberError::Empty { example })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nec(address: u32, command: u32) -> Code {
        Code::Family { family: family("nec").unwrap().family_id(), address, command }
    }

    fn nec16(address: u32, command: u32) -> Code {
        Code::Family { family: family("nec16").unwrap().family_id(), address, command }
    }

    #[test]
    fn a_number_whose_inverses_match_both_ways_is_not_guessed() {
        let reading = read_number(0x9A65_6897, []);
        assert_eq!(reading.first_bit_first.code, Some(nec(0x59, 0x16)));
        assert_eq!(reading.last_bit_first.code, Some(nec(0x97, 0x65)));
        assert_eq!(reading.likely, Likely::NoCheckCanTell);
        assert_eq!(reading.likely_reading(), None);
        assert_eq!(
            reading.to_string(),
            "First bit first it is nec address 59 command 16, last bit first it is nec address 97 command 65. \
             The inverses match both ways, so no check can tell: a capture decides, or an address already in use."
        );
    }

    #[test]
    fn an_address_in_use_tells_the_orders_apart() {
        let known = [nec(0x59, 0x17), nec(0x04, 0x65), nec16(0x97, 1)];
        let reading = read_number(0x9A65_6897, &known);
        assert_eq!(reading.likely, Likely::AddressInUse(NumberOrder::FirstBitFirst));
        assert_eq!(reading.likely_reading().unwrap().code, Some(nec(0x59, 0x16)));
        assert_eq!(
            reading.to_string(),
            "nec address 59 command 16: its address is in use already. \
             Read last bit first it would be nec address 97 command 65, and its inverses match too."
        );
        let both = [nec(0x59, 0x17), nec(0x97, 0x17)];
        assert_eq!(read_number(0x9A65_6897, &both).likely, Likely::NoCheckCanTell);
    }

    #[test]
    fn a_16_bit_address_has_one_order_only() {
        let reading = read_number(0xA956_1234, []);
        assert_eq!(reading.likely, Likely::Inverse(NumberOrder::LastBitFirst));
        assert_eq!(reading.last_bit_first.code, Some(nec16(0x1234, 0x56)));
        assert!(!reading.last_bit_first.address_inverse && reading.last_bit_first.command_inverse);
        assert_eq!(
            reading.to_string(),
            "nec16 address 1234 command 56: only last bit first does the command match its inverse."
        );
        assert_eq!(read_number(0x2C48_6A95, []).likely, Likely::Inverse(NumberOrder::FirstBitFirst));
    }

    #[test]
    fn a_number_that_is_its_own_mirror_needs_no_order() {
        // Bytes 4D B2 4D B2 as sent: the mirror of B2 is 4D.
        let number: u32 = 0x4DB2_4DB2;
        assert_eq!(number.reverse_bits(), number);
        let reading = read_number(number, []);
        assert_eq!(reading.likely, Likely::Same);
        assert_eq!(reading.to_string(), "nec address B2 command B2 in either bit order.");
    }

    #[test]
    fn a_number_without_inverses_is_no_code() {
        let reading = read_number(0x1234_5678, []);
        assert_eq!(reading.likely, Likely::Neither);
        assert_eq!(
            reading.to_string(),
            "In neither bit order does the command match its inverse. \
             Check the digits, or press the remote and capture it."
        );
    }

    #[test]
    fn every_code_is_found_again_in_its_own_number() {
        for address in 0..=0xFF {
            for command in 0..=0xFF {
                let code = nec(address, command);
                let ThirtyTwo { first_bit_first, last_bit_first } = thirty_two(&code).unwrap();
                assert_eq!(read_number(first_bit_first, []).first_bit_first.code.as_ref(), Some(&code));
                assert_eq!(read_number(last_bit_first, []).last_bit_first.code.as_ref(), Some(&code));
                // What was typed in one order is what the other order gives back turned end for end.
                assert!(read_number(last_bit_first, []).first_bit_first.command_inverse);
            }
        }
    }

    #[test]
    fn numbers_read_however_they_are_spaced_and_marked() {
        for text in ["0x20DF10EF", "20DF10EF", "20 DF 10 EF", " 20df 10ef ", "20DF10EFh", "0X20DF10EF"] {
            assert_eq!(parse_number(text), Ok(0x20DF_10EF), "{text}");
        }
        assert_eq!(parse_number("0xFFB54A"), Ok(0x00FF_B54A));
    }

    #[test]
    fn a_number_that_cannot_be_read_says_what_to_type() {
        let said = |text: &str| parse_number(text).unwrap_err().to_string();
        assert_eq!(said(""), "There is no number. Type it in hex, like 20DF10EF.");
        assert_eq!(said("0x"), "There is no number. Type it in hex, like 20DF10EF.");
        assert_eq!(
            said("20DF1OEF"),
            "\"20DF1OEF\" is not a hex number: 'O' is no digit of 0 to 9 or A to F. Type it like 20DF10EF."
        );
        assert_eq!(
            said("551489775"),
            "\"551489775\" has 9 hex digits, and 8 at most fit. Type it like 20DF10EF; decimal is not read here."
        );
        assert_eq!(
            said("FFB54A"),
            "\"FFB54A\" has 6 hex digits, and a whole frame has 8. \
             Type all 8, or put 0x in front if zeros were left out."
        );
        assert!(parse_number(&"F".repeat(1_000_000)).unwrap_err().to_string().len() < 200);
    }

    #[test]
    fn a_field_is_hex_with_or_without_a_sign_of_it() {
        for (text, value) in
            [("59", 0x59), ("0x59", 0x59), ("59h", 0x59), ("16", 0x16), (" a ", 0xA), ("FFFFFFFF", u32::MAX)]
        {
            assert_eq!(parse_u32_field(text), Ok(value), "{text}");
        }
        let said = |text: &str| parse_u32_field(text).unwrap_err().to_string();
        assert_eq!(said(" "), "There is no number. Type it in hex, like 59.");
        assert_eq!(
            said("-5"),
            "\"-5\" is not a hex number: '-' is no digit of 0 to 9 or A to F. Type it like 59."
        );
        assert!(matches!(parse_u32_field("123456789"), Err(NumberError::TooLong { digits: 9, .. })));
    }
}
