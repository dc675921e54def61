//! Codes as the image keeps them: which family by number, in how many bytes, or timings as a few
//! durations. Knows no pairs and no buttons.

use super::free;
use super::model::{FreeFamily, FreeRepeat, Image, ImageCode, Misfit, RawRecord};
use super::raw::{self, LEAST_PULSE_US, RAW_STEP_US};
use crate::remote::{Code, Family, RAW_EDGES_MAX, encode, families, family};

/// A group's number for the free family.
pub(super) const FREE: u8 = 14;
/// A group's number for raw codes.
pub(super) const RAW: u8 = 15;
/// The most commands of one group.
pub(super) const GROUP_MAX: usize = 16;
/// The most distinct durations of a raw code.
pub(super) const DISTINCT_MAX: usize = 8;
/// A raw code's period goes in steps of this, in microseconds.
pub(super) const PERIOD_STEP_US: f64 = 16.0;
/// The most timings of a raw code.
pub(super) const TIMINGS_MAX: usize = RAW_EDGES_MAX - 1;
/// Bytes of a raw record before its durations.
pub(super) const RAW_HEAD: usize = 4;

/// Half microseconds of the shortest mark or space.
const LEAST_HALF_US: u16 = 100;
/// What the infrared LED can be driven at, in kilohertz; 0 leaves it to the box.
const CARRIER_KHZ: std::ops::RangeInclusive<u8> = 20..=100;

/// A family of the table by its number, from 1.
pub(super) fn family_row(number: u8) -> Option<&'static Family> {
    families().get(usize::from(number).checked_sub(1)?)
}

/// How wide addresses and commands are: bits each.
#[derive(Clone, Copy, Debug)]
pub(super) struct Widths {
    pub(super) address_bits: u8,
    pub(super) command_bits: u8,
}

impl Widths {
    /// Of a group, by its number; none for raw codes and for families that aren't there.
    pub(super) fn of(group: u8, free: Option<&FreeFamily>) -> Option<Self> {
        if group == FREE {
            return free
                .map(|free| Self { address_bits: free.address_bits, command_bits: free.command_bits });
        }
        let bits = |max: u32| (u32::BITS - max.leading_zeros()) as u8;
        family_row(group)
            .map(|row| Self { address_bits: bits(row.address_max()), command_bits: bits(row.command_max()) })
    }

    pub(super) fn address_bytes(self) -> usize {
        usize::from(self.address_bits).div_ceil(8)
    }

    pub(super) fn command_bytes(self) -> usize {
        usize::from(self.command_bits).div_ceil(8)
    }
}

/// Whether a number fits so many bits.
fn fits(number: u32, bits: u8) -> bool {
    bits >= 32 || number >> bits == 0
}

impl ImageCode {
    /// What commands of one group have in common: family and address.
    pub(super) fn group(&self) -> (u8, u16) {
        match *self {
            Self::Family { family, address, .. } => (family, address),
            Self::Free { address, .. } => (FREE, address),
            Self::Raw(_) => (RAW, 0),
        }
    }

    /// Bytes of it in its group, beside the group's head.
    pub(super) fn bytes(&self, free: Option<&FreeFamily>) -> usize {
        match self {
            Self::Raw(record) => record.bytes(),
            _ => Widths::of(self.group().0, free).map_or(0, Widths::command_bytes),
        }
    }

    /// The same code as a project keeps it; `free` is its image's free family. `None` for a family that
    /// this program doesn't know, or that the image hasn't.
    #[must_use]
    pub fn code(&self, free: Option<&FreeFamily>) -> Option<Code> {
        match self {
            Self::Family { family, address, command } => Some(Code::Family {
                family: family_row(*family)?.family_id(),
                address: u32::from(*address),
                command: *command,
            }),
            Self::Free { address, command } => {
                Some(Code::Free { free: free?.remote(), address: u32::from(*address), command: *command })
            }
            Self::Raw(record) => Some(Code::Raw {
                pulses_us: record.steps().map(|steps| f64::from(steps) * RAW_STEP_US).collect(),
                repeat_us: (record.period > 0).then(|| f64::from(record.period) * PERIOD_STEP_US),
            }),
        }
    }

    /// What is wrong with it, if anything: a number out of its range, timings that can't be sent.
    pub(super) fn fault(&self, free: Option<&FreeFamily>) -> Option<String> {
        let (address, command) = match self {
            Self::Raw(record) => return record.fault(),
            Self::Family { address, command, .. } | Self::Free { address, command } => (*address, *command),
        };
        let (group, _) = self.group();
        let Some(widths) = Widths::of(group, free) else {
            return Some(if group == FREE {
                "A command is of the free family, and the image has none.".to_owned()
            } else {
                format!("A command is of family {group}, and there are {}.", families().len())
            });
        };
        if !fits(u32::from(address), widths.address_bits) {
            return Some(format!("Address {address:X} is wider than {} bits.", widths.address_bits));
        }
        if !fits(command, widths.command_bits) {
            return Some(format!("Command {command:X} is wider than {} bits.", widths.command_bits));
        }
        None
    }
}

impl RawRecord {
    /// Its timings in steps of 2 µs; a symbol without a duration gives 0.
    pub(super) fn steps(&self) -> impl Iterator<Item = u16> + '_ {
        self.symbols.iter().map(|&symbol| self.durations.get(usize::from(symbol)).copied().unwrap_or(0))
    }

    /// Bytes of it.
    #[must_use]
    pub fn bytes(&self) -> usize {
        RAW_HEAD + 2 * self.durations.len() + (3 * self.symbols.len()).div_ceil(8)
    }

    fn fault(&self) -> Option<String> {
        let (timings, durations) = (self.symbols.len(), self.durations.len());
        if timings.is_multiple_of(2) || timings > TIMINGS_MAX {
            return Some(format!(
                "A raw code has {timings} timings; an odd number up to {TIMINGS_MAX} fits."
            ));
        }
        if durations == 0 || durations > DISTINCT_MAX {
            return Some(format!("A raw code has {durations} durations; 1 to {DISTINCT_MAX} fit."));
        }
        if let Some(symbol) = self.symbols.iter().find(|&&symbol| usize::from(symbol) >= durations) {
            return Some(format!("A raw code names duration {symbol} of {durations}."));
        }
        let least = (LEAST_PULSE_US / RAW_STEP_US) as u16;
        if let Some(short) = self.steps().find(|&steps| steps < least) {
            return Some(format!(
                "A raw code has a timing of {} µs; {LEAST_PULSE_US} µs is the shortest that can be sent.",
                f64::from(short) * RAW_STEP_US
            ));
        }
        let total_us: f64 = self.steps().map(|steps| f64::from(steps) * RAW_STEP_US).sum();
        let period_us = f64::from(self.period) * PERIOD_STEP_US;
        if self.period > 0 && period_us < total_us + LEAST_PULSE_US {
            return Some(format!("A raw code repeats every {period_us} µs but lasts {total_us} µs."));
        }
        None
    }
}

impl FreeFamily {
    /// What is wrong with it, if anything.
    pub(super) fn fault(&self) -> Option<String> {
        let short = |duration: u16| duration < LEAST_HALF_US;
        if [self.zero.0, self.zero.1, self.one.0, self.one.1].into_iter().any(short) {
            return Some(format!("A bit of the free family is shorter than {LEAST_PULSE_US} µs."));
        }
        if self.leader != (0, 0) && (short(self.leader.0) || short(self.leader.1)) {
            return Some(format!("The free family's leader is shorter than {LEAST_PULSE_US} µs."));
        }
        if self.repeat == FreeRepeat::ShortFrame && self.leader.1 < 2 * LEAST_HALF_US {
            return Some("The free family's short frame has no leader to halve.".to_owned());
        }
        if self.carrier_khz != 0 && !CARRIER_KHZ.contains(&self.carrier_khz) {
            let (low, high) = (CARRIER_KHZ.start(), CARRIER_KHZ.end());
            return Some(format!(
                "The free family's carrier is {} kHz; {low} to {high} kHz can be driven.",
                self.carrier_khz
            ));
        }
        if self.address_bits > 16 || !(1..=32).contains(&self.command_bits) {
            return Some(format!(
                "The free family has {} address and {} command bits; up to 16 and 1 to 32 fit.",
                self.address_bits, self.command_bits
            ));
        }
        None
    }
}

/// A code as the image keeps it. `place` is the code's path in the project, `free` the image's free
/// family: a code of another one is kept as timings.
pub(super) fn image_code(code: &Code, place: &str, free: Option<&FreeFamily>) -> Result<ImageCode, Misfit> {
    let misfit =
        |what: String, advice: &str| Misfit { place: place.to_owned(), what, advice: advice.to_owned() };
    let refused = |said: String| {
        // What is wrong, and what to do: the first sentence and the rest.
        let (what, advice) = said.split_once(". ").unwrap_or((&said, ""));
        misfit(format!("{}.", what.trim_end_matches('.')), advice)
    };
    let frame = encode(code, false).map_err(|error| refused(error.to_string()))?;
    let timings = |pulses_us: &[f64], repeat_us: Option<f64>| {
        raw::record(pulses_us, repeat_us).map(ImageCode::Raw).map_err(|fault| refused(fault.to_string()))
    };
    match code {
        Code::Family { family: id, address, command } => {
            let number = families().iter().position(|row| family(id).is_some_and(|ours| ours.id == row.id));
            let number = number.and_then(|index| u8::try_from(index + 1).ok()).unwrap_or(FREE);
            let address = u16::try_from(*address).unwrap_or(u16::MAX);
            Ok(ImageCode::Family { family: number, address, command: *command })
        }
        Code::Free { .. } => match free::of_family(code, free) {
            Some(ours) => Ok(ours),
            None => timings(&frame.pulses_us, frame.repeat.period_us),
        },
        Code::Raw { pulses_us, repeat_us } => timings(pulses_us, *repeat_us),
    }
}

/// A code as a group of one, as the message `send` carries it. A free code goes as timings: the message
/// carries no family's parameters.
///
/// # Errors
/// [`Misfit`] if the code can't be sent or kept.
pub fn record(code: &Code) -> Result<Vec<u8>, Misfit> {
    let code = image_code(code, "code", None)?;
    let mut bytes = Vec::new();
    super::bytes::put_group(&mut bytes, &[&code], None);
    Ok(bytes)
}

impl Image {
    /// Bytes that each command's code takes in the body, its group's head left out.
    #[must_use]
    pub fn code_bytes(&self) -> Vec<usize> {
        self.commands.iter().map(|command| command.code.bytes(self.free.as_ref())).collect()
    }
}
