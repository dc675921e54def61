//! Numbers and what they may mean, in words.

use std::fmt;

use super::super::describe::describe;
use super::reading::{Likely, NumberChecks, NumberField, NumberReading, OrderReading};
use super::{CodeNumber, NumberOrder, NumberWidth};

/// All its digits, in hex: `20DF10EF`.
impl fmt::Display for CodeNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:0digits$X}", self.value(), digits = self.width().digits())
    }
}

impl CodeNumber {
    /// Its bytes apart: `20 DF 10 EF`.
    #[must_use]
    pub fn spaced(self) -> String {
        let bytes = self.value().to_be_bytes();
        let from = bytes.len() - self.width().bits() as usize / 8;
        bytes.iter().skip(from).map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
    }
}

impl NumberWidth {
    /// The families a number of this width may be of: `nec or nec16`.
    #[must_use]
    pub fn families_text(self) -> String {
        let rows = super::super::family::families().iter();
        let ids = rows.filter(|row| row.bit_count() == self.bits() as usize).map(|row| row.id);
        ids.collect::<Vec<_>>().join(" or ")
    }
}

impl NumberField {
    /// Its value in whole digits of hex.
    #[must_use]
    pub fn text(&self) -> String {
        hex(self.value, self.width)
    }

    /// The value of what checks it, in whole digits of hex.
    #[must_use]
    pub fn check_text(&self) -> Option<String> {
        self.check.map(|check| hex(check.value, check.width))
    }
}

fn hex(value: u32, bits: u32) -> String {
    format!("{value:0digits$X}", digits = bits.div_ceil(4) as usize)
}

impl fmt::Display for NumberOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::FirstBitFirst => "first bit first",
            Self::LastBitFirst => "last bit first",
        })
    }
}

impl NumberOrder {
    /// Its name at the beginning of a sentence or as a label.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::FirstBitFirst => "First bit first",
            Self::LastBitFirst => "Last bit first",
        }
    }
}

impl NumberReading {
    /// Why one order is likely or what would tell, as a head and what more there is to say.
    #[must_use]
    pub fn reason(&self) -> (String, String) {
        let said = |head: &str, more: &str| (head.to_owned(), more.to_owned());
        match (self.likely, self.checks()) {
            (Likely::Same, _) => said("Both orders give the same code.", "Nothing has to be chosen."),
            (Likely::Inverse(order), _) => (
                format!("{} is proposed.", order.label()),
                "Only in this order does the command match its inverse.".to_owned(),
            ),
            (Likely::Parity(order), _) => (
                format!("{} is proposed: only then does the parity match.", order.label()),
                "By chance it matches once in 16, so a capture is surer. Choose the other if you know better."
                    .to_owned(),
            ),
            (Likely::AddressInUse(order), checks) => (
                format!("{} is proposed: its address is in use already.", order.label()),
                format!("{} Choose the other if you know better.", self.no_check(checks)),
            ),
            (Likely::NoCheckCanTell, checks) => (
                format!("Choose one: {}", lower(&self.no_check(checks))),
                "A capture decides, or an address already in use. The page the number came from may say which bit is first."
                    .to_owned(),
            ),
            (Likely::Neither, _) => match self.decimal() {
                Some(decimal) => (
                    "In neither order does the command match its inverse.".to_owned(),
                    format!("As a decimal number its digits are {decimal} in hex, where it does: type that."),
                ),
                None => said(
                    "In neither order does the command match its inverse.",
                    "Check the digits first. If they are right, choose an order: the 32 bits are sent as they are, with the timing of nec.",
                ),
            },
        }
    }

    /// Why no check tells the orders apart.
    fn no_check(&self, checks: NumberChecks) -> String {
        match checks {
            NumberChecks::Nothing => {
                format!("{} has nothing to check, so no check can tell.", self.number.width().families_text())
            }
            NumberChecks::Inverses => "The inverses match both ways, so no check can tell.".to_owned(),
            NumberChecks::Parity(true, true) => {
                "The parity matches both ways, so no check can tell.".to_owned()
            }
            NumberChecks::Parity(false, false) => {
                "The parity matches neither way, so no check can tell.".to_owned()
            }
            NumberChecks::Parity(..) => {
                "The parity, which may match by chance, matches one way only.".to_owned()
            }
        }
    }
}

fn lower(sentence: &str) -> String {
    // A family's name stays as it is: it has no capital.
    let mut letters = sentence.chars();
    let first = letters.next().map(char::to_lowercase).into_iter().flatten();
    first.chain(letters).collect()
}

/// What it is in either order, and why one is likely or what would tell.
impl fmt::Display for NumberReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = |reading: &OrderReading| reading.code.as_ref().map_or("no code".to_owned(), describe);
        let (head, more) = self.reason();
        match self.likely {
            Likely::Same => write!(f, "{} in either bit order.", words(&self.first_bit_first)),
            Likely::Neither => write!(f, "{head} {more}"),
            _ => write!(
                f,
                "{} {}, {} {}. {head} {more}",
                NumberOrder::FirstBitFirst.label(),
                words(&self.first_bit_first),
                NumberOrder::LastBitFirst,
                words(&self.last_bit_first)
            ),
        }
    }
}
