//! A pulse-distance family that isn't in the table: its parameters, their ranges, and its frame's
//! fields. Knows no stereo and no box.

use serde::{Deserialize, Serialize};

use super::raw::us_text;

/// The most bits of a free family's address.
pub const FREE_ADDRESS_BITS_MAX: u8 = 16;
/// The most bits of a free family's command.
pub const FREE_COMMAND_BITS_MAX: u8 = 32;
/// The shortest mark or space of a free family, in microseconds: what the box can still send.
pub const FREE_TIMING_MIN_US: f64 = 50.0;
/// The longest mark or space of a free family, in microseconds.
pub const FREE_TIMING_MAX_US: f64 = 32_000.0;
/// The longest time from frame to frame of a free family, in microseconds.
pub const FREE_PERIOD_MAX_US: f64 = 1_000_000.0;

/// What a time may lose on its way to milliseconds and back, in microseconds.
const TINY_US: f64 = 1e-6;

/// The parameters of a pulse-distance (or pulse-width) family that isn't in the table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct FreeFamily {
    /// The mark and the space a frame opens with, in microseconds; `None` where bits come at once.
    pub leader_us: Option<(f64, f64)>,
    /// The mark and the space of a 0, in microseconds.
    pub zero_us: (f64, f64),
    /// The mark and the space of a 1, in microseconds.
    pub one_us: (f64, f64),
    /// Whether a mark (as long as a 0's) closes the last bit.
    pub stop_mark: bool,
    /// Whether the most significant bit of a field is sent first.
    pub high_first: bool,
    /// Bits of the address, 0 to 16; the address is sent first.
    pub address_bits: u8,
    /// Whether the address is followed by its inverse.
    pub address_inverse: bool,
    /// Bits of the command, 1 to 32.
    pub command_bits: u8,
    /// Whether the command is followed by its inverse.
    pub command_inverse: bool,
    /// What is sent while held.
    pub repeat: FreeRepeat,
    /// From the start of one frame to the start of the next while held, in microseconds.
    pub period_us: f64,
    /// The carrier of an infrared LED, in kilohertz, 20 to 100.
    pub carrier_khz: u8,
}

/// What a free family sends while a button is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FreeRepeat {
    /// The whole frame again.
    #[default]
    WholeFrame,
    /// The bits again, without the leader.
    WithoutLeader,
    /// The leader with half its space, and a mark as long as a 0's.
    ShortFrame,
    /// Nothing: the frame is sent once.
    Once,
}

/// The timing that most pulse-distance families share, 16 bits of address and 8 of command.
impl Default for FreeFamily {
    fn default() -> Self {
        Self {
            leader_us: Some((9_000.0, 4_500.0)),
            zero_us: (562.5, 562.5),
            one_us: (562.5, 1_687.5),
            stop_mark: true,
            high_first: false,
            address_bits: 16,
            address_inverse: false,
            command_bits: 8,
            command_inverse: true,
            repeat: FreeRepeat::WholeFrame,
            period_us: 108_000.0,
            carrier_khz: 38,
        }
    }
}

/// A parameter of a free family that can't be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FreeError {
    /// A mark or space out of range.
    #[error(
        "The {what} is {}; {FREE_TIMING_MIN_US} to {FREE_TIMING_MAX_US} µs can be sent. Check it, and that it is in microseconds.",
        us_text(*given_us)
    )]
    Timing {
        /// Which.
        what: &'static str,
        /// Its value.
        given_us: f64,
    },
    /// A 0 and a 1 that look the same.
    #[error("A 0 and a 1 have the same mark and the same space. Give the 1 another mark or another space.")]
    SameBits,
    /// Too many or too few bits.
    #[error(
        "The family has {address} address bits and {command} command bits; up to 16 and 1 to 32 fit. Change them."
    )]
    Bits {
        /// Bits of the address.
        address: u8,
        /// Bits of the command.
        command: u8,
    },
    /// Without a leader, nothing tells such a repeat.
    #[error(
        "A repeat without the leader, or with half of it, needs a leader. Give one, or repeat the whole frame."
    )]
    NoLeader,
    /// The carrier is out of range.
    #[error("The carrier is {given} kHz; 20 to 100 kHz can be driven. 38 is usual.")]
    Carrier {
        /// Its value.
        given: u8,
    },
    /// A frame may last longer than the time to the next.
    #[error(
        "A frame lasts up to {} and is sent every {}. Give a time from frame to frame of {} or more, up to 1 s.",
        us_text(*longest_us), us_text(*period_us), us_text(*longest_us + FREE_TIMING_MIN_US)
    )]
    Period {
        /// The longest frame.
        longest_us: f64,
        /// The time from frame to frame.
        period_us: f64,
    },
}

/// A part of a free family's parameters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FreePart {
    /// The leader.
    Leader,
    /// The mark and space of a 0.
    Zero,
    /// The mark and space of a 1.
    One,
    /// How many bits the address has.
    AddressBits,
    /// How many bits the command has.
    CommandBits,
    /// What is sent while held.
    Repeat,
    /// From frame to frame.
    Period,
    /// The infrared LED's carrier.
    Carrier,
}

impl FreeError {
    /// The part that has to change.
    #[must_use]
    pub fn part(&self) -> FreePart {
        match self {
            Self::Timing { what, .. } if what.ends_with("of a 0") => FreePart::Zero,
            Self::Timing { what, .. } if what.ends_with("of a 1") => FreePart::One,
            Self::Timing { .. } => FreePart::Leader,
            Self::SameBits => FreePart::One,
            Self::Bits { address, .. } if *address > FREE_ADDRESS_BITS_MAX => FreePart::AddressBits,
            Self::Bits { .. } => FreePart::CommandBits,
            Self::NoLeader => FreePart::Repeat,
            Self::Carrier { .. } => FreePart::Carrier,
            Self::Period { .. } => FreePart::Period,
        }
    }
}

impl FreeFamily {
    /// The first thing that is wrong with it.
    ///
    /// # Errors
    /// [`FreeError`]: a value out of its range, bits that can't be told apart, or a frame longer than
    /// its period.
    pub fn check(&self) -> Result<(), FreeError> {
        let leader = self.leader_us.map(|(mark, space)| [("leader's mark", mark), ("leader's space", space)]);
        let bits = [
            ("mark of a 0", self.zero_us.0),
            ("space of a 0", self.zero_us.1),
            ("mark of a 1", self.one_us.0),
            ("space of a 1", self.one_us.1),
        ];
        for (what, given_us) in leader.into_iter().flatten().chain(bits) {
            if !(FREE_TIMING_MIN_US..=FREE_TIMING_MAX_US).contains(&given_us) {
                return Err(FreeError::Timing { what, given_us });
            }
        }
        if self.zero_us == self.one_us {
            return Err(FreeError::SameBits);
        }
        if self.address_bits > FREE_ADDRESS_BITS_MAX
            || !(1..=FREE_COMMAND_BITS_MAX).contains(&self.command_bits)
        {
            return Err(FreeError::Bits { address: self.address_bits, command: self.command_bits });
        }
        let leans = matches!(self.repeat, FreeRepeat::WithoutLeader | FreeRepeat::ShortFrame);
        if leans && self.leader_us.is_none() {
            return Err(FreeError::NoLeader);
        }
        // The short frame's space has to be sendable, too.
        if let (FreeRepeat::ShortFrame, Some((_, space))) = (self.repeat, self.leader_us)
            && space < 2.0 * FREE_TIMING_MIN_US
        {
            return Err(FreeError::Timing { what: "half of the leader's space", given_us: space / 2.0 });
        }
        if !(20..=100).contains(&self.carrier_khz) {
            return Err(FreeError::Carrier { given: self.carrier_khz });
        }
        // The shortest space has to be left between two frames.
        let longest_us = self.longest_us();
        let least_us = longest_us + FREE_TIMING_MIN_US;
        let fits = (least_us - TINY_US..=FREE_PERIOD_MAX_US + TINY_US).contains(&self.period_us);
        if self.repeat != FreeRepeat::Once && !fits {
            return Err(FreeError::Period { longest_us, period_us: self.period_us });
        }
        Ok(())
    }

    /// The highest address it can carry.
    #[must_use]
    pub fn address_max(&self) -> u32 {
        ones(self.address_bits)
    }

    /// The highest command it can carry.
    #[must_use]
    pub fn command_max(&self) -> u32 {
        ones(self.command_bits)
    }

    /// How many bits a frame has.
    #[must_use]
    pub fn bit_count(&self) -> usize {
        self.fields(0, 0).map(|field| usize::from(field.width)).sum()
    }

    /// The longest a frame can be, in microseconds: every bit the longer one.
    #[must_use]
    pub fn longest_us(&self) -> f64 {
        let leader_us = self.leader_us.map_or(0.0, |(mark, space)| mark + space);
        let bit_us = (self.zero_us.0 + self.zero_us.1).max(self.one_us.0 + self.one_us.1);
        let stop_us = if self.stop_mark { self.zero_us.0 } else { 0.0 };
        leader_us + bit_us * self.bit_count() as f64 + stop_us
    }

    /// Its fields with these numbers, in the order they are sent.
    pub(super) fn fields(&self, address: u32, command: u32) -> impl Iterator<Item = FreeField> + use<> {
        let field = |label, width, value: u32, checks, there: bool| {
            (there && width > 0).then(|| FreeField { label, width, value: value & ones(width), checks })
        };
        [
            field("address", self.address_bits, address, false, true),
            field("its inverse", self.address_bits, !address, true, self.address_inverse),
            field("command", self.command_bits, command, false, true),
            field("its inverse", self.command_bits, !command, true, self.command_inverse),
        ]
        .into_iter()
        .flatten()
    }
}

/// One field of a free family's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct FreeField {
    pub(super) label: &'static str,
    pub(super) width: u8,
    pub(super) value: u32,
    /// Whether it repeats the field before it, inverted.
    pub(super) checks: bool,
}

/// So many bits set.
fn ones(bits: u8) -> u32 {
    u32::MAX.checked_shr(32_u32.saturating_sub(u32::from(bits))).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parameters_that_can_not_be_sent_are_refused_with_their_value() {
        let said = |change: fn(&mut FreeFamily)| {
            let mut free = FreeFamily::default();
            change(&mut free);
            free.check().unwrap_err().to_string()
        };
        assert_eq!(FreeFamily::default().check(), Ok(()));
        assert_eq!(
            said(|free| free.zero_us.1 = 20.0),
            "The space of a 0 is 20 µs; 50 to 32000 µs can be sent. Check it, and that it is in microseconds."
        );
        assert!(
            said(|free| free.leader_us = Some((f64::NAN, 1.0))).starts_with("The leader's mark is no number")
        );
        assert!(said(|free| free.one_us = free.zero_us).starts_with("A 0 and a 1 have the same"));
        assert!(said(|free| free.command_bits = 0).contains("0 command bits"));
        assert!(said(|free| free.carrier_khz = 0).starts_with("The carrier is 0 kHz"));
        assert!(
            said(|free| {
                free.leader_us = None;
                free.repeat = FreeRepeat::WithoutLeader;
            })
            .ends_with("Give one, or repeat the whole frame.")
        );
        assert_eq!(
            said(|free| free.period_us = 60_000.0),
            "A frame lasts up to 86062.5 µs and is sent every 60000 µs. Give a time from frame to frame of 86112.5 µs or more, up to 1 s."
        );
    }

    #[test]
    fn every_fault_names_the_part_that_has_to_change() {
        let part = |change: fn(&mut FreeFamily)| {
            let mut free = FreeFamily::default();
            change(&mut free);
            free.check().unwrap_err().part()
        };
        assert_eq!(part(|free| free.leader_us = Some((9_000.0, 40_000.0))), FreePart::Leader);
        assert_eq!(part(|free| free.zero_us.0 = 0.0), FreePart::Zero);
        assert_eq!(part(|free| free.one_us.1 = f64::INFINITY), FreePart::One);
        assert_eq!(part(|free| free.one_us = free.zero_us), FreePart::One);
        assert_eq!(part(|free| free.address_bits = 17), FreePart::AddressBits);
        assert_eq!(part(|free| free.command_bits = 33), FreePart::CommandBits);
        assert_eq!(part(|free| free.period_us = f64::NAN), FreePart::Period);
        assert_eq!(part(|free| free.carrier_khz = 101), FreePart::Carrier);
        assert_eq!(
            part(|free| {
                free.leader_us = None;
                free.repeat = FreeRepeat::ShortFrame;
            }),
            FreePart::Repeat
        );
        let half = |free: &mut FreeFamily| {
            free.repeat = FreeRepeat::ShortFrame;
            free.leader_us = Some((9_000.0, 80.0));
        };
        assert_eq!(part(half), FreePart::Leader);
    }

    #[test]
    fn the_highest_numbers_are_as_wide_as_the_bits() {
        let free = FreeFamily { address_bits: 0, command_bits: 32, ..FreeFamily::default() };
        assert_eq!((free.address_max(), free.command_max()), (0, u32::MAX));
        assert_eq!(free.bit_count(), 64);
    }
}
