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
            Self::BytesAsSent => "as bytes in the order sent",
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
            Self::BytesAsSent => "Bytes as sent",
        }
    }
}

impl NumberReading {
    /// Why one order is likely or what would tell, as a head and what more there is to say.
    #[must_use]
    pub fn reason(&self) -> (String, String) {
        let said = |head: &str, more: &str| (head.to_owned(), more.to_owned());
        match self.likely {
            Likely::Same => {
                ("Both bit orders give the same code.".to_owned(), format!("Nothing has to be chosen.{}", self.as_list()))
            }
            Likely::Inverse(order) => (
                format!("{} is proposed.", order.label()),
                format!("Of the two bit orders only in this one does the command match its inverse.{}", self.as_list()),
            ),
            Likely::Parity(order) => (
                format!("{} is proposed: only then does the parity match.", order.label()),
                "By chance it matches once in 16, so a capture is surer. Choose another if you know better."
                    .to_owned(),
            ),
            Likely::AddressInUse(order) => (
                format!("{} is proposed: its address is in use already.", order.label()),
                format!("{} Choose another if you know better.", self.no_check()),
            ),
            Likely::NoCheckCanTell => (
                format!("Choose one: {}", lower(&self.no_check())),
                "A capture decides, or an address already in use. The page the number came from may say how it is written."
                    .to_owned(),
            ),
            Likely::Neither => match self.decimal() {
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

    /// That a list of bytes can't be told from the first bit first.
    fn as_list(&self) -> &'static str {
        if self.bytes_as_sent.is_some() {
            " If it is a list of bytes in the order they are sent, choose that."
        } else {
            ""
        }
    }

    /// Why no check tells the orders apart.
    fn no_check(&self) -> String {
        match self.checks() {
            NumberChecks::Nothing => {
                format!("{} has nothing to check, so no check can tell.", self.number.width().families_text())
            }
            NumberChecks::Inverses => match self.likely {
                Likely::AddressInUse(_) if self.only_one_order() => {
                    "The command matches its inverse in one bit order, and as a list of bytes.".to_owned()
                }
                _ if self.bytes_as_sent.is_some() => {
                    "The inverses match every way, so no check can tell.".to_owned()
                }
                _ => "The inverses match both ways, so no check can tell.".to_owned(),
            },
            NumberChecks::Parity { matching: 0, .. } => {
                "The parity matches no way, so no check can tell.".to_owned()
            }
            NumberChecks::Parity { matching: 1, .. } => {
                "The parity, which may match by chance, matches one way.".to_owned()
            }
            NumberChecks::Parity { matching, of } => {
                format!("The parity matches in {matching} of {of} ways, so no check can tell.")
            }
        }
    }

    fn only_one_order(&self) -> bool {
        self.first_bit_first.code.is_some() != self.last_bit_first.code.is_some()
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
            _ => {
                let (first, last) = (words(&self.first_bit_first), words(&self.last_bit_first));
                write!(f, "First bit first {first}, last bit first {last}")?;
                if let Some(bytes) = &self.bytes_as_sent {
                    write!(f, ", {} {}", bytes.order, words(bytes))?;
                }
                write!(f, ". {head} {more}")
            }
        }
    }
}
