//! What a row of the family table can say: leader, modulation, order of bits, fields, what follows
//! while a button is held. Knows no family by name; those are in `table.rs`.

use super::code::FamilyId;
use super::table::TABLE;

/// One family of codes: how an address and a command become marks and spaces.
#[derive(Debug, PartialEq)]
pub struct Family {
    /// Its id: `nec`, `nec16`, ….
    pub id: &'static str,
    /// What it is, in one line.
    pub about: &'static str,
    /// The carrier an infrared remote sends its marks on, in hertz. A wired line carries none.
    pub carrier_hz: u32,
    /// The unit all durations of the row are multiples of, in microseconds.
    pub unit_us: f64,
    /// The mark and the space a frame opens with, in units; `None` where bits come at once.
    pub leader_units: Option<(f64, f64)>,
    /// What tells a 1 from a 0.
    pub modulation: Modulation,
    /// Which bit of a field is sent first.
    pub order: BitOrder,
    /// The fields, in the order they are sent.
    pub fields: &'static [FieldSpec],
    /// Whether a mark of one unit closes the last bit.
    pub stop_mark: bool,
    /// What is sent while a button is held.
    pub repeat: RepeatKind,
    /// From the start of one frame to the start of the next while held, in microseconds.
    pub repeat_period_us: f64,
    /// How far that time may be off before it speaks against the family, as a share of it.
    pub period_slack: f64,
    /// How far a duration may be off, as a share of it, beside the stretch of the receiver:
    /// [`SLACK`] unless remotes of the family differ in their unit.
    pub slack: f64,
}

/// The usual [`Family::slack`]: a little beyond the 15 % jitter that has to decode.
pub const SLACK: f64 = 0.18;

/// The usual [`Family::period_slack`], where a document gives the period: remotes run on resonators
/// and on RC clocks alike (common practice, no source).
pub const PERIOD_SLACK: f64 = 0.15;

/// What tells a 1 from a 0. Durations in units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Modulation {
    /// A mark of one length; the space after it tells.
    PulseDistance {
        /// Every bit's mark.
        mark: f64,
        /// The space after a 0.
        zero_space: f64,
        /// The space after a 1.
        one_space: f64,
    },
    /// The mark's length tells; the space after it is the same.
    PulseWidth {
        /// The mark of a 0.
        zero_mark: f64,
        /// The mark of a 1.
        one_mark: f64,
        /// Every bit's space; after the last bit it runs into the gap.
        space: f64,
    },
    /// Half a bit of mark and half a bit of space, each of one unit; which comes first tells.
    BiPhase {
        /// Whether a 1 is mark then space (else space then mark).
        one_opens_with_mark: bool,
    },
}

/// Which bit of a field is sent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BitOrder {
    /// The least significant bit first.
    LowFirst,
    /// The most significant bit first.
    HighFirst,
}

impl BitOrder {
    /// The bits of `value` in the order they are sent.
    pub(super) fn bits(self, value: u32, width: u8) -> impl Iterator<Item = bool> + use<> {
        self.places(width).map(move |place| (value >> place) & 1 == 1)
    }

    /// The value of so many bits in the order they were sent.
    pub(super) fn gather(self, bits: &mut impl Iterator<Item = bool>, width: u8) -> u32 {
        self.places(width).zip(bits).fold(0, |value, (place, bit)| value | u32::from(bit) << place)
    }

    /// The places of a field's bits in the order they are sent.
    fn places(self, width: u8) -> impl Iterator<Item = u32> + use<> {
        let width = u32::from(width);
        (0..width).map(move |i| match self {
            Self::LowFirst => i,
            Self::HighFirst => width - 1 - i,
        })
    }
}

/// What is sent while a button is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RepeatKind {
    /// A frame without bits: mark, space, and a mark of one unit. Durations in units.
    ShortFrame {
        /// The mark it opens with.
        mark: f64,
        /// The space after it.
        space: f64,
    },
    /// The whole frame again, with the same toggle bit.
    WholeFrame,
    /// The bits again, without the leader.
    WithoutLeader,
    /// Nothing: the frame is sent once.
    Once,
}

/// A field of a family's frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FieldSpec {
    /// What it is called on screen.
    pub label: &'static str,
    /// Its width in bits, 1 to 32.
    pub width: u8,
    /// How long its bits are, in bits: 2 for the toggle bit that is twice as long, else 1.
    pub stretch: u8,
    /// What its bits say.
    pub holds: Holds,
}

/// What the bits of a field say. A bit of the address or command that is carried twice must agree:
/// that is the check an inverse gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Always the same value.
    Fixed(u32),
    /// The toggle bit: changes with every new press, stays while held.
    Toggle,
    /// Bits of the address, from this one up.
    Address(u8),
    /// The inverse of bits of the address, from this one up.
    AddressInverse(u8),
    /// Bits of the command, from this one up.
    Command(u8),
    /// The inverse of bits of the command, from this one up.
    CommandInverse(u8),
    /// Bits of the command, from this one up, expected to be the exclusive or of the address's
    /// nibbles. Shown when they are not, never insisted on: the rule's source could not be re-read.
    CommandParity(u8),
}

/// The families, in the order they are tried.
#[must_use]
pub fn families() -> &'static [Family] {
    TABLE
}

/// The family with this id.
#[must_use]
pub fn family<Id: AsRef<str> + ?Sized>(id: &Id) -> Option<&'static Family> {
    TABLE.iter().find(|family| family.id == id.as_ref())
}

impl AsRef<str> for FamilyId {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

impl Family {
    /// The highest address it can carry.
    #[must_use]
    pub fn address_max(&self) -> u32 {
        self.fields.iter().fold(0, |all, field| match field.holds {
            Holds::Address(from) | Holds::AddressInverse(from) => all | (field.mask() << from),
            _ => all,
        })
    }

    /// The highest command it can carry.
    #[must_use]
    pub fn command_max(&self) -> u32 {
        self.fields.iter().fold(0, |all, field| match field.holds {
            Holds::Command(from) | Holds::CommandInverse(from) | Holds::CommandParity(from) => {
                all | (field.mask() << from)
            }
            _ => all,
        })
    }

    /// Hex digits that hold any of its addresses; two at least.
    #[must_use]
    pub fn address_digits(&self) -> usize {
        hex_digits(self.address_max())
    }

    /// Hex digits that hold any of its commands; two at least.
    #[must_use]
    pub fn command_digits(&self) -> usize {
        hex_digits(self.command_max())
    }

    /// Whether its frames have a toggle bit.
    #[must_use]
    pub fn has_toggle(&self) -> bool {
        self.fields.iter().any(|field| field.holds == Holds::Toggle)
    }

    /// How many bits a frame has.
    #[must_use]
    pub fn bit_count(&self) -> usize {
        self.fields.iter().map(|field| usize::from(field.width)).sum()
    }

    /// The same family's id as the project keeps it.
    #[must_use]
    pub fn family_id(&self) -> FamilyId {
        FamilyId(self.id.to_owned())
    }
}

impl FieldSpec {
    /// All its bits set.
    #[must_use]
    pub const fn mask(&self) -> u32 {
        u32::MAX >> (32 - self.width as u32)
    }

    /// The field's value in a frame with this address, command and toggle bit.
    #[must_use]
    pub fn value(&self, address: u32, command: u32, toggle: bool) -> u32 {
        let bits = match self.holds {
            Holds::Fixed(value) => value,
            Holds::Toggle => u32::from(toggle),
            Holds::Address(from) => address >> from,
            Holds::AddressInverse(from) => !(address >> from),
            Holds::Command(from) | Holds::CommandParity(from) => command >> from,
            Holds::CommandInverse(from) => !(command >> from),
        };
        bits & self.mask()
    }

    /// Its bits of `value` in the order they are sent.
    pub(super) fn bits(&self, value: u32, order: BitOrder) -> impl Iterator<Item = bool> + use<> {
        order.bits(value, self.width)
    }

    /// Its value from bits in the order they were sent.
    pub(super) fn gather(&self, bits: &mut impl Iterator<Item = bool>, order: BitOrder) -> u32 {
        order.gather(bits, self.width)
    }
}

/// The exclusive or of the nibbles of `value`.
pub(super) fn nibble_parity(value: u32) -> u32 {
    (0..8).fold(0, |parity, nibble| parity ^ (value >> (4 * nibble) & 0xF))
}

/// Hex digits for any value up to `max`, in whole bytes.
fn hex_digits(max: u32) -> usize {
    let bytes = (u32::BITS - max.leading_zeros()).div_ceil(8).max(1);
    2 * bytes as usize
}
