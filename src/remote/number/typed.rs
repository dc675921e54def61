//! Numbers as they are typed or pasted: hex digits with or without a sign of it, in one piece or with
//! their bytes apart.

use super::super::raw::shortened;
use super::{CodeNumber, NumberWidth};

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
        "\"{text}\" is not a hex number: '{found}' is no digit of 0 to 9 or A to F. {}Type it like {example}.",
        meant_digit(*found)
    )]
    NotHex {
        /// What was typed.
        text: String,
        /// The first character that doesn't belong.
        found: char,
        /// What would do.
        example: &'static str,
    },
    /// Too many digits for an address or a command.
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
    /// Not as many digits as a whole frame has.
    #[error("\"{text}\" has {digits} hex digits, and a whole frame has 4, 8 or 12. {}", length_advice(*digits, *decimal))]
    Length {
        /// What was typed.
        text: String,
        /// How many digits it has.
        digits: usize,
        /// The same digits as a decimal number, where they may be one.
        decimal: Option<CodeNumber>,
    },
}

/// A digit that looks like this letter.
fn meant_digit(found: char) -> &'static str {
    match found {
        'O' | 'o' => "Is it a zero? ",
        'I' | 'i' | 'l' | 'L' => "Is it a one? ",
        _ => "",
    }
}

fn length_advice(digits: usize, decimal: Option<CodeNumber>) -> String {
    let whole = |width: &NumberWidth| width.digits() > digits;
    match (decimal, NumberWidth::ALL.into_iter().find(whole)) {
        (Some(decimal), _) => {
            format!(
                "If it is decimal, type {decimal}, which is the same in hex; else count the digits again."
            )
        }
        (None, Some(width)) => {
            let shorter = if digits < 6 {
                " Shorter frames, as of sirc12 or rc5, are typed as address and command."
            } else {
                ""
            };
            format!("Type all {}, or put 0x in front if zeros were left out.{shorter}", width.digits())
        }
        (None, None) => "Keep one frame; a longer one is typed as timings.".to_owned(),
    }
}

/// The fewest decimal digits that are more than a slip: below them a number is as short in hex.
const DECIMAL_DIGITS: usize = 5;

/// A frame's number as typed: 4, 8 or 12 hex digits, in one piece or with blanks, commas, colons, dashes
/// or underlines between them, `0x` in front or `h` behind or neither (`20DF10EF`, `20 DF 10 EF`,
/// `0x20DF10EF`, `20DF10EFh`, `0x20, 0xDF, 0x10, 0xEF`). With `0x` in front of it all zeros may be left
/// out behind it: the number then has as many bits as it needs.
///
/// # Errors
/// [`NumberError`], saying what to type.
pub fn parse_number(text: &str) -> Result<CodeNumber, NumberError> {
    let typed = Typed::of(text, "20DF10EF", |c| c.is_whitespace() || ",;:-_[](){}".contains(c))?;
    let count = typed.digits.len();
    let fits =
        |width: &NumberWidth| width.digits() == count || (typed.zeros_left_out && width.digits() > count);
    let number = NumberWidth::ALL
        .into_iter()
        .find(fits)
        .and_then(|width| CodeNumber::new(width, u64::from_str_radix(&typed.digits, 16).ok()?));
    number.ok_or_else(|| NumberError::Length { decimal: typed.decimal(), text: typed.text, digits: count })
}

/// An address or command as typed: hex, always, whether `0x` stands in front, `h` behind, or neither
/// (`59`, `0x59`, `59h`). Decimal is not read here: `16` is sixteen and six.
///
/// # Errors
/// [`NumberError`], saying what to type.
pub fn parse_u32_field(text: &str) -> Result<u32, NumberError> {
    const EXAMPLE: &str = "59";
    let Typed { text, digits, .. } = Typed::of(text, EXAMPLE, char::is_whitespace)?;
    if digits.len() > 8 {
        return Err(NumberError::TooLong { text, digits: digits.len(), example: EXAMPLE });
    }
    // Eight hex digits always fit.
    u32::from_str_radix(&digits, 16).map_err(|_| NumberError::Empty { example: EXAMPLE })
}

/// Hex digits as typed.
struct Typed {
    text: String,
    digits: String,
    /// One piece with `0x` in front.
    zeros_left_out: bool,
}

impl Typed {
    fn of(text: &str, example: &'static str, parts: impl Fn(char) -> bool) -> Result<Self, NumberError> {
        let text = text.trim();
        let refused = |found| NumberError::NotHex { text: shortened(text), found, example };
        if text.starts_with(['-', '+']) {
            return Err(refused(text.chars().next().unwrap_or_default()));
        }
        let pieces: Vec<&str> = text.split(parts).filter(|piece| !piece.is_empty()).collect();
        let mut digits = String::new();
        let mut marked = false;
        for piece in &pieces {
            let plain = piece.strip_prefix("0x").or_else(|| piece.strip_prefix("0X"));
            let body = match plain {
                // As in a program's text.
                Some(rest) => rest.trim_end_matches(['u', 'U', 'l', 'L']),
                None => piece.strip_suffix(['h', 'H']).unwrap_or(piece),
            };
            if let Some(found) = body.chars().find(|c| !c.is_ascii_hexdigit()) {
                return Err(refused(found));
            }
            marked |= plain.is_some();
            // A byte of its own may be one digit: 0x8.
            if plain.is_some() && pieces.len() > 1 && body.len() == 1 {
                digits.push('0');
            }
            digits.push_str(body);
        }
        if digits.is_empty() {
            return Err(NumberError::Empty { example });
        }
        Ok(Self { text: shortened(text), digits, zeros_left_out: marked && pieces.len() == 1 })
    }

    /// The number these digits are in decimal, if they may be one.
    fn decimal(&self) -> Option<CodeNumber> {
        if self.zeros_left_out || self.digits.len() < DECIMAL_DIGITS {
            return None;
        }
        let value: u64 = self.digits.parse().ok()?;
        NumberWidth::ALL.into_iter().find_map(|width| CodeNumber::new(width, value))
    }
}
