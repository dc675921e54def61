//! What a number means in either bit order and as a list of bytes, and which is meant as far as it can be
//! told.

use super::super::code::Code;
use super::super::family::{Family, Holds, families, nibble_parity};
use super::super::free::{FreeFamily, FreeRepeat};
use super::{CodeNumber, NumberOrder, NumberWidth};

/// A number read in one order.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderReading {
    /// The order.
    pub order: NumberOrder,
    /// The code: of the first family of the table with so many bits whose inverses match; `None` if
    /// there is none.
    pub code: Option<Code>,
    /// The same frame as other families name it.
    pub also: Vec<Code>,
    /// Address and command, in the table's order, with what checks them.
    pub fields: Vec<NumberField>,
    /// Of 32 bits: whether the second byte is the inverse of the first.
    pub address_inverse: bool,
    /// Of 32 bits: whether the fourth byte is the inverse of the third.
    pub command_inverse: bool,
}

/// The address or the command in a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NumberField {
    /// `address` or `command`.
    pub label: &'static str,
    /// Its value.
    pub value: u32,
    /// Its width in bits.
    pub width: u32,
    /// What checks it; `None` where nothing does.
    pub check: Option<NumberCheck>,
}

/// What checks an address or a command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NumberCheck {
    /// `inverse` or `parity`.
    pub label: &'static str,
    /// Its value, as sent.
    pub value: u32,
    /// Its width in bits.
    pub width: u32,
    /// Whether it matches.
    pub holds: bool,
}

/// What a typed number may mean.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberReading {
    /// The number.
    pub number: CodeNumber,
    /// Read with the first bit first.
    pub first_bit_first: OrderReading,
    /// Read with the last bit first.
    pub last_bit_first: OrderReading,
    /// Read as bytes in the order they are sent; `None` where that is no code, or one of those above.
    pub bytes_as_sent: Option<OrderReading>,
    /// Which of them is meant, as far as it can be told.
    pub likely: Likely,
}

/// Which order a number was meant in, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Likely {
    /// Both bit orders give the same code.
    Same,
    /// Only in this bit order does the command match its inverse.
    Inverse(NumberOrder),
    /// Only in this order does the parity match. Its rule is from memory, so it proposes and never
    /// refuses.
    Parity(NumberOrder),
    /// Both are codes, and only this order's address is in use already.
    AddressInUse(NumberOrder),
    /// Both are codes, and nothing tells them apart.
    NoCheckCanTell,
    /// In neither order is it a code of the table.
    Neither,
}

/// What a number carries to check it by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberChecks {
    /// Nothing.
    Nothing,
    /// Inverses, of which the command's has to match.
    Inverses,
    /// A parity, and in how many of the ways to read it matches.
    Parity {
        /// In how many it matches.
        matching: usize,
        /// How many ways there are.
        of: usize,
    },
}

/// What a number means in either bit order. `in_use` are codes known to be right, such as those the
/// stereo has already: an address among them tells the orders apart where no check can.
#[must_use]
pub fn read_number<'a>(
    number: impl Into<CodeNumber>,
    in_use: impl IntoIterator<Item = &'a Code>,
) -> NumberReading {
    let number = number.into();
    let [first, last] = NumberOrder::BOTH.map(|order| read_order(number, order));
    let bytes = read_order(number, NumberOrder::BytesAsSent);
    let another = bytes.code.is_some() && bytes.code != first.code && bytes.code != last.code;
    let bytes = another.then_some(bytes);
    let in_use: Vec<&Code> = in_use.into_iter().collect();
    let likely = likely(&first, &last, bytes.as_ref(), &in_use);
    NumberReading { number, first_bit_first: first, last_bit_first: last, bytes_as_sent: bytes, likely }
}

fn likely(
    first: &OrderReading,
    last: &OrderReading,
    bytes: Option<&OrderReading>,
    in_use: &[&Code],
) -> Likely {
    // The one of those that are codes for which this holds.
    let only = |holds: &dyn Fn(&OrderReading) -> bool| {
        let codes = [first, last].into_iter().chain(bytes).filter(|reading| reading.code.is_some());
        let mut those = codes.filter(|reading| holds(reading));
        those.next().filter(|_| those.next().is_none()).map(|reading| reading.order)
    };
    let used = only(&|reading| in_use.iter().any(|code| reading.has_address_of(code)));
    match (&first.code, &last.code) {
        (None, None) => Likely::Neither,
        _ if used.is_some() => used.map_or(Likely::NoCheckCanTell, Likely::AddressInUse),
        (Some(a), Some(b)) if a == b => Likely::Same,
        // Inverses stay inverses where each byte is turned, so they can't speak against a list of bytes.
        (Some(_), None) => Likely::Inverse(first.order),
        (None, Some(_)) => Likely::Inverse(last.order),
        (Some(_), Some(_)) => {
            only(&|reading| reading.parity() == Some(true)).map_or(Likely::NoCheckCanTell, Likely::Parity)
        }
    }
}

impl NumberReading {
    /// The reading that is likely meant, if anything tells.
    #[must_use]
    pub fn likely_reading(&self) -> Option<&OrderReading> {
        match self.likely {
            Likely::Same => Some(&self.first_bit_first),
            Likely::Inverse(order) | Likely::Parity(order) | Likely::AddressInUse(order) => {
                self.as_ordered(order)
            }
            Likely::NoCheckCanTell | Likely::Neither => None,
        }
    }

    /// The reading in this bit order. As a list of bytes it may be none: then the first bit first.
    #[must_use]
    pub fn reading(&self, order: NumberOrder) -> &OrderReading {
        self.as_ordered(order).unwrap_or(&self.first_bit_first)
    }

    /// The reading in this order, where there is one.
    #[must_use]
    pub fn as_ordered(&self, order: NumberOrder) -> Option<&OrderReading> {
        match order {
            NumberOrder::FirstBitFirst => Some(&self.first_bit_first),
            NumberOrder::LastBitFirst => Some(&self.last_bit_first),
            NumberOrder::BytesAsSent => self.bytes_as_sent.as_ref(),
        }
    }

    /// What it carries to check it by.
    #[must_use]
    pub fn checks(&self) -> NumberChecks {
        let readings = [&self.first_bit_first, &self.last_bit_first].into_iter().chain(&self.bytes_as_sent);
        let parities: Vec<bool> = readings.filter_map(OrderReading::parity).collect();
        match parities.iter().filter(|holds| **holds).count() {
            matching if !parities.is_empty() => NumberChecks::Parity { matching, of: parities.len() },
            _ if self.number.width() == NumberWidth::ThirtyTwo => NumberChecks::Inverses,
            _ => NumberChecks::Nothing,
        }
    }

    /// The code to keep in this order: the family's, or, where no inverse matches in either order, the
    /// 32 bits as they are, 16 of address and 16 of command with the timing of `nec` and no check.
    #[must_use]
    pub fn code(&self, order: NumberOrder) -> Option<Code> {
        let known = self.as_ordered(order)?.code.clone();
        let unchecked = self.likely == Likely::Neither && self.number.width() == NumberWidth::ThirtyTwo;
        known.or_else(|| unchecked.then(|| unchecked_code(self.number, order)))
    }

    /// The number that its digits mean in decimal, where its inverses match and those of the digits
    /// taken as hex don't: then it was probably a decimal number.
    #[must_use]
    pub fn decimal(&self) -> Option<CodeNumber> {
        if self.likely != Likely::Neither {
            return None;
        }
        let value: u32 = format!("{}", self.number).parse().ok()?;
        let number = CodeNumber::from(value);
        let makes_sense = |order| read_order(number, order).code.is_some();
        NumberOrder::BOTH.into_iter().any(makes_sense).then_some(number)
    }
}

impl OrderReading {
    /// Whether the parity matches; `None` where there is none.
    #[must_use]
    pub fn parity(&self) -> Option<bool> {
        let checks = self.fields.iter().filter_map(|field| field.check);
        checks.into_iter().find(|check| check.label == PARITY).map(|check| check.holds)
    }

    fn has_address_of(&self, known: &Code) -> bool {
        let Code::Family { family: id, address: there, .. } = known else { return false };
        self.code.iter().chain(&self.also).any(|code| match code {
            Code::Family { family, address, .. } => family == id && address == there,
            Code::Free { .. } | Code::Raw { .. } => false,
        })
    }
}

const INVERSE: &str = "inverse";
const PARITY: &str = "parity";

/// The bits in the order they are sent, the first one the least significant.
fn sent(number: CodeNumber, order: NumberOrder) -> u64 {
    match order {
        NumberOrder::FirstBitFirst => number.turned().value(),
        NumberOrder::LastBitFirst => number.value(),
        NumberOrder::BytesAsSent => number.bytes_turned().value(),
    }
}

fn read_order(number: CodeNumber, order: NumberOrder) -> OrderReading {
    let sent = sent(number, order);
    let rows = families().iter().filter(|row| row.bit_count() == number.width().bits() as usize);
    let read: Vec<Fields> = rows.map(|row| Fields::read(row, sent)).collect();
    let mut codes = read.iter().filter(|read| read.matches()).map(Fields::code);
    let code = codes.next();
    let also = codes.collect();
    // Where no family's checks hold, the first one's show what is wrong.
    let shown = read.iter().find(|read| read.matches()).or(read.first());
    let byte = |place: u32| (sent >> (8 * place)) as u8;
    let wide = number.width() == NumberWidth::ThirtyTwo;
    OrderReading {
        order,
        code,
        also,
        fields: shown.map_or_else(Vec::new, Fields::rows),
        address_inverse: wide && byte(1) == !byte(0),
        command_inverse: wide && byte(3) == !byte(2),
    }
}

/// A frame's bits as a family's fields say them.
struct Fields {
    family: &'static Family,
    address: u32,
    command: u32,
    /// Fixed bits are as they have to be.
    fixed: bool,
    address_check: Option<NumberCheck>,
    command_check: Option<NumberCheck>,
}

impl Fields {
    fn read(family: &'static Family, sent: u64) -> Self {
        let mut read =
            Self { family, address: 0, command: 0, fixed: true, address_check: None, command_check: None };
        let mut bits = (0..u64::BITS).map(|place| sent >> place & 1 == 1);
        for spec in family.fields {
            let value = spec.gather(&mut bits, family.order);
            let check =
                |label, holds| Some(NumberCheck { label, value, width: u32::from(spec.width), holds });
            let inverse = !value & spec.mask();
            match spec.holds {
                Holds::Fixed(due) => read.fixed &= value == due,
                Holds::Toggle => {}
                Holds::Address(from) => read.address |= value << from,
                Holds::Command(from) => read.command |= value << from,
                Holds::AddressInverse(from) => {
                    read.address_check = check(INVERSE, read.address >> from & spec.mask() == inverse);
                }
                Holds::CommandInverse(from) => {
                    read.command_check = check(INVERSE, read.command >> from & spec.mask() == inverse);
                }
                Holds::CommandParity(from) => {
                    read.command |= value << from;
                    read.address_check = check(PARITY, value == nibble_parity(read.address));
                }
            }
        }
        read
    }

    /// Whether it may be of the family: inverses decide, a parity doesn't.
    fn matches(&self) -> bool {
        let checks = [self.address_check, self.command_check];
        self.fixed && checks.iter().flatten().all(|check| check.holds || check.label == PARITY)
    }

    fn code(&self) -> Code {
        Code::Family { family: self.family.family_id(), address: self.address, command: self.command }
    }

    fn rows(&self) -> Vec<NumberField> {
        let width = |max: u32| u32::BITS - max.leading_zeros();
        vec![
            NumberField {
                label: "address",
                value: self.address,
                width: width(self.family.address_max()),
                check: self.address_check,
            },
            NumberField {
                label: "command",
                value: self.command,
                width: width(self.family.command_max()),
                check: self.command_check,
            },
        ]
    }
}

/// 32 bits as they are, with the timing of `nec`. Some stereos send such frames without any check
/// (Linux kernel, rc-protos.rst, the 32-bit variant).
fn unchecked_code(number: CodeNumber, order: NumberOrder) -> Code {
    let sent = sent(number, order);
    let free = FreeFamily {
        address_bits: 16,
        address_inverse: false,
        command_bits: 16,
        command_inverse: false,
        high_first: false,
        repeat: FreeRepeat::ShortFrame,
        ..FreeFamily::default()
    };
    Code::Free { free, address: (sent & 0xFFFF) as u32, command: (sent >> 16 & 0xFFFF) as u32 }
}
