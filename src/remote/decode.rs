//! From pulses to the code they carry, or the reason why they carry none. Whatever comes in, a
//! reading comes out only if every check of its family holds.

use super::code::Code;
use super::family::{Family, Holds};
use super::frame::encode;
use super::raw::us_text;
use super::read::{self, Bits, Pace, Refusal};
use super::shape::{Shape, shape_of, shapes};

/// The most timings one call looks at: a minute of a held button.
pub const DECODE_TIMINGS_MAX: usize = 50_000;

/// The longest timing of a capture, in microseconds: a gap of a minute.
const TIMING_MAX_US: f64 = 60e6;

/// What a frame says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decoded {
    /// The family whose checks hold.
    pub family: &'static Family,
    /// The address; `None` for a short repeat frame, which carries none.
    pub address: Option<u32>,
    /// The command; `None` for a short repeat frame, which carries none.
    pub command: Option<u32>,
    /// The toggle bit; `None` for a family without one.
    pub toggle: Option<bool>,
    /// Whether the frame is one that is only sent while a button is held. A family that repeats its
    /// whole frame looks the same every time: there it is always false.
    pub repeat: bool,
}

/// Why pulses carry no code of the table. Positions and bits count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DecodeError {
    /// No timings.
    #[error("There are no timings to decode. Give one frame: mark, space, mark, … in microseconds.")]
    Empty,
    /// More than any capture.
    #[error("There are {count} timings, and 50000 at most are looked at. Keep the first frames only.")]
    TooMany {
        /// How many there are.
        count: usize,
    },
    /// A timing that can be none.
    #[error(
        "Timing {position} is {}; it has to be above 0 and at most a minute. \
         Give marks and spaces in microseconds, without signs.",
        us_text(*given_us)
    )]
    Timing {
        /// Which one.
        position: usize,
        /// Its value.
        given_us: f64,
    },
    /// No family opens like this.
    #[error(
        "No family begins with {}. Press the remote again, nearer to the receiver, or keep it as raw timings.",
        opening(*mark_us, *space_us)
    )]
    Opening {
        /// The first mark.
        mark_us: f64,
        /// The space after it, if there is one.
        space_us: Option<f64>,
    },
    /// The frame ends early.
    #[error(
        "It begins like {family} and ends after {bits} of {of} bits. Press the remote again, and hold it a little longer."
    )]
    Cut {
        /// The family it began like.
        family: &'static str,
        /// How many bits there are.
        bits: usize,
        /// How many there should be.
        of: usize,
    },
    /// A bit that is neither 0 nor 1.
    #[error(
        "It begins like {family}, but timing {position}, {}, fits neither a 0 nor a 1 as bit {bit}. \
         Press the remote again, nearer to the receiver, or keep it as raw timings.",
        us_text(*given_us)
    )]
    Bit {
        /// The family it began like.
        family: &'static str,
        /// Which bit.
        bit: usize,
        /// The timing where it shows.
        position: usize,
        /// Its value.
        given_us: f64,
    },
    /// The frame goes on.
    #[error(
        "It begins like {family} and goes on after {of} bits without a gap. \
         It is another family's: keep it as raw timings."
    )]
    TooLong {
        /// The family it began like.
        family: &'static str,
        /// How many bits the family has.
        of: usize,
    },
    /// A field doesn't agree with the one it repeats.
    #[error(
        "It looks like {family}, but the {label} is sent as {sent:02X} and then as {again:02X}. \
         Press the remote again; if it stays so, keep it as raw timings."
    )]
    Disagrees {
        /// The family it looks like.
        family: &'static str,
        /// `address` or `command`.
        label: &'static str,
        /// What was sent first.
        sent: u32,
        /// What its repetition says, already turned back if it is an inverse.
        again: u32,
    },
    /// A field that is always the same is another.
    #[error(
        "It looks like {family}, but its {label} is {given:X} where {due:X} is due. \
         It is another family's: keep it as raw timings."
    )]
    Fixed {
        /// The family it looks like.
        family: &'static str,
        /// The field.
        label: &'static str,
        /// What it says.
        given: u32,
        /// What it has to say.
        due: u32,
    },
}

impl Decoded {
    /// The code it carries; `None` for a short repeat frame.
    #[must_use]
    pub fn code(&self) -> Option<Code> {
        match (self.address, self.command) {
            (Some(address), Some(command)) => {
                Some(Code::Family { family: self.family.family_id(), address, command })
            }
            _ => None,
        }
    }
}

/// What the first frame of these pulses says: mark, space, mark, … in microseconds, mark first. A gap
/// and further frames may follow and are not looked at.
///
/// Marks stretched by a receiver by up to 100 µs and a jitter of 15 % still decode. Where two families
/// explain a frame, it is the one's that it fits better. Where the formats can't be told apart the first
/// family of the table is taken:
///
/// * a `nec16` frame whose address bytes are inverses of each other is a `nec` frame, see [`heard_as`];
/// * the short repeat frame of `nec` and `nec16` is the same;
/// * a `sirc15` or `sirc20` frame cut exactly after 12 or 15 bits is a frame of that length.
///
/// # Errors
/// [`DecodeError`]: no reading at all is better than a wrong one.
pub fn decode(pulses_us: &[f64]) -> Result<Decoded, DecodeError> {
    /// Two families that fit this alike have the same timing, but for rounding.
    const SAME_FIT: f64 = 1e-6;
    refuse_nonsense(pulses_us)?;
    let mut found: Option<(Decoded, Bits)> = None;
    let mut refused = Vec::new();
    for (family, shape) in shapes() {
        match read::read(shape, pulses_us) {
            Ok(bits) => match understand(family, &bits) {
                Ok(decoded) => match &found {
                    Some((_, better)) if better.misfit <= bits.misfit + SAME_FIT => {}
                    _ => found = Some((decoded, bits)),
                },
                Err((bits, error)) => refused.push(Refused { family, bits, pace: None, error }),
            },
            Err(refusal) => refused.extend(named(family, shape, refusal, pulses_us)),
        }
    }
    let Some((decoded, bits)) = found else {
        // The family that got furthest; of equals the first, which has the most checks.
        let furthest = refused.into_iter().rev().max_by_key(|refused| refused.bits);
        let mark_us = pulses_us.first().copied().unwrap_or_default();
        let opening = DecodeError::Opening { mark_us, space_us: pulses_us.get(1).copied() };
        return Err(furthest.map_or(opening, |refused| refused.error));
    };
    match refused.into_iter().find(|longer| longer.is_cut_short_to(&bits)) {
        Some(longer) => Err(longer.error),
        None => Ok(decoded),
    }
}

/// What the first frame of these pulses says if it is one of this family; `None` for a repeat frame
/// that carries no numbers.
pub(super) fn decode_as(family: &'static Family, pulses_us: &[f64]) -> Option<Code> {
    let bits = read::read(shape_of(family)?, pulses_us).ok()?;
    understand(family, &bits).ok()?.code()
}

/// What a receiver takes this code for, where that is another code: the frames are the same.
#[must_use]
pub fn heard_as(code: &Code) -> Option<Code> {
    let frame = encode(code, false).ok()?;
    decode(&frame.pulses_us).ok()?.code().filter(|heard| heard != code)
}

pub(super) fn refuse_nonsense(pulses_us: &[f64]) -> Result<(), DecodeError> {
    if pulses_us.is_empty() {
        return Err(DecodeError::Empty);
    }
    if pulses_us.len() > DECODE_TIMINGS_MAX {
        return Err(DecodeError::TooMany { count: pulses_us.len() });
    }
    // Not `us <= 0`: what is no number has to be refused too.
    match pulses_us.iter().position(|&us| !(us > 0.0 && us <= TIMING_MAX_US)) {
        Some(i) => Err(DecodeError::Timing { position: i + 1, given_us: pulses_us[i] }),
        None => Ok(()),
    }
}

/// A family that began to fit.
struct Refused {
    family: &'static Family,
    bits: usize,
    /// The pace of its bits, if it was cut.
    pace: Option<Pace>,
    error: DecodeError,
}

impl Refused {
    /// Whether what was found is rather the beginning of this family's frame: nothing shows that it
    /// is whole, and its pace fits this family better by more than chance explains. (The first 16 bits
    /// of `nec` look like a family of 16 bits that is 7 % slow.)
    fn is_cut_short_to(&self, found: &Bits) -> bool {
        /// What remotes of one family may differ by.
        const LEAST: f64 = 0.03;
        /// Five standard errors, as there are few bits to tell the error from.
        const ERRORS: f64 = 5.0;
        let longer = self.family.bit_count() > found.bits.len() && self.bits >= found.bits.len();
        let distinctly = LEAST.max(ERRORS * found.pace.error);
        let better = self.pace.is_some_and(|pace| pace.off() + distinctly < found.pace.off());
        !found.ended && longer && better
    }
}

/// The refusal in words, if the pulses got far enough to name the family.
fn named(family: &'static Family, shape: &Shape, refusal: Refusal, pulses_us: &[f64]) -> Option<Refused> {
    /// Without a leader the first bits alone may be anything.
    const TELLING_BITS: usize = 4;
    let bits = refusal.bits(shape);
    if family.leader_units.is_none() && bits < TELLING_BITS {
        return None;
    }
    let (pace, error) = match refusal {
        Refusal::Leader => return None,
        Refusal::Bit { bits, pulse } => {
            let given_us = pulses_us.get(pulse).copied().unwrap_or_default();
            (None, DecodeError::Bit { family: family.id, bit: bits + 1, position: pulse + 1, given_us })
        }
        Refusal::Cut { bits, pace } => {
            (Some(pace), DecodeError::Cut { family: family.id, bits, of: family.bit_count() })
        }
        Refusal::TooLong => (None, DecodeError::TooLong { family: family.id, of: family.bit_count() }),
    };
    Some(Refused { family, bits, pace, error })
}

/// What the bits say, if all that is carried twice agrees; else the bits looked at, and the reason.
pub(super) fn understand(family: &'static Family, read: &Bits) -> Result<Decoded, (usize, DecodeError)> {
    if read.bits.is_empty() {
        return Ok(Decoded { family, address: None, command: None, toggle: None, repeat: read.repeat });
    }
    let mut address = Number { label: "address", value: 0, seen: 0 };
    let mut command = Number { label: "command", value: 0, seen: 0 };
    let mut toggle = None;
    let mut bits = read.bits.iter().copied();
    let mut looked_at = 0;
    for spec in family.fields {
        let value = spec.gather(&mut bits, family.order);
        looked_at += usize::from(spec.width);
        let inverse = !value & spec.mask();
        let agrees = match spec.holds {
            Holds::Fixed(due) if value != due => {
                Err(DecodeError::Fixed { family: family.id, label: spec.label, given: value, due })
            }
            Holds::Fixed(_) => Ok(()),
            Holds::Toggle => {
                toggle = Some(value == 1);
                Ok(())
            }
            Holds::Address(from) => address.take(family, value, spec.mask(), from),
            Holds::AddressInverse(from) => address.take(family, inverse, spec.mask(), from),
            Holds::Command(from) | Holds::CommandParity(from) => {
                command.take(family, value, spec.mask(), from)
            }
            Holds::CommandInverse(from) => command.take(family, inverse, spec.mask(), from),
        };
        agrees.map_err(|error| (looked_at, error))?;
    }
    let (address, command) = (Some(address.value), Some(command.value));
    Ok(Decoded { family, address, command, toggle, repeat: read.repeat })
}

/// An address or command being put together from its fields.
struct Number {
    label: &'static str,
    value: u32,
    seen: u32,
}

impl Number {
    fn take(&mut self, family: &Family, bits: u32, mask: u32, from: u8) -> Result<(), DecodeError> {
        let again = self.seen & (mask << from);
        if (self.value ^ (bits << from)) & again != 0 {
            let (sent, again) = ((self.value & again) >> from, bits);
            return Err(DecodeError::Disagrees { family: family.id, label: self.label, sent, again });
        }
        self.value |= bits << from;
        self.seen |= mask << from;
        Ok(())
    }
}

fn opening(mark_us: f64, space_us: Option<f64>) -> String {
    match space_us {
        Some(space_us) => format!("a mark of {} and a space of {}", us_text(mark_us), us_text(space_us)),
        None => format!("a single mark of {}", us_text(mark_us)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remote::family;

    /// Bits with the mark and the spaces of the NEC note.
    fn nec_frame(bytes: [u8; 4]) -> Vec<f64> {
        let mut pulses_us = vec![9000.0, 4500.0];
        for byte in bytes {
            for place in 0..8 {
                pulses_us.extend([562.5, if byte >> place & 1 == 1 { 1687.5 } else { 562.5 }]);
            }
        }
        pulses_us.push(562.5);
        pulses_us
    }

    fn said(pulses_us: &[f64]) -> String {
        decode(pulses_us).unwrap_err().to_string()
    }

    #[test]
    fn what_can_be_no_timing_is_refused_with_its_place() {
        assert_eq!(
            said(&[]),
            "There are no timings to decode. Give one frame: mark, space, mark, … in microseconds."
        );
        for (bad, text) in [
            (f64::NAN, "no number"),
            (-562.5, "-562.5 µs"),
            (0.0, "0 µs"),
            (f64::INFINITY, "inf µs"),
            (1e300, "1e300 µs"),
        ] {
            let mut pulses_us = nec_frame([0x59, 0xA6, 0x16, 0xE9]);
            pulses_us[8] = bad;
            assert_eq!(
                said(&pulses_us),
                format!(
                    "Timing 9 is {text}; it has to be above 0 and at most a minute. \
                     Give marks and spaces in microseconds, without signs."
                )
            );
        }
        assert_eq!(
            said(&vec![562.5; 1_000_000]),
            "There are 1000000 timings, and 50000 at most are looked at. Keep the first frames only."
        );
    }

    #[test]
    fn an_unknown_opening_is_quoted() {
        assert_eq!(
            said(&[1234.5, 300.0, 562.5]),
            "No family begins with a mark of 1234.5 µs and a space of 300 µs. \
             Press the remote again, nearer to the receiver, or keep it as raw timings."
        );
        assert_eq!(
            said(&[20.0]),
            "No family begins with a single mark of 20 µs. \
             Press the remote again, nearer to the receiver, or keep it as raw timings."
        );
    }

    #[test]
    fn a_frame_that_was_cut_is_never_taken_for_a_whole_one() {
        let pulses_us = nec_frame([0x59, 0xA6, 0x16, 0xE9]);
        for length in 1..pulses_us.len() {
            assert!(decode(&pulses_us[..length]).is_err(), "{length} timings");
        }
        assert_eq!(
            said(&pulses_us[..42]),
            "It begins like nec and ends after 20 of 32 bits. Press the remote again, and hold it a little longer."
        );
        let mut gap = pulses_us;
        gap[21] = 40_000.0;
        assert_eq!(
            said(&gap),
            "It begins like nec and ends after 9 of 32 bits. Press the remote again, and hold it a little longer."
        );
    }

    #[test]
    fn a_bit_that_is_neither_0_nor_1_is_named() {
        let mut pulses_us = nec_frame([0x59, 0xA6, 0x16, 0xE9]);
        pulses_us[10] = 1_150.0;
        assert_eq!(
            said(&pulses_us),
            "It begins like nec, but timing 11, 1150 µs, fits neither a 0 nor a 1 as bit 5. \
             Press the remote again, nearer to the receiver, or keep it as raw timings."
        );
    }

    #[test]
    fn inverses_have_to_match() {
        assert_eq!(
            said(&nec_frame([0x59, 0xA6, 0x16, 0xE8])),
            "It looks like nec, but the command is sent as 16 and then as 17. \
             Press the remote again; if it stays so, keep it as raw timings."
        );
        assert!(
            said(&nec_frame([0x59, 0xA7, 0x16, 0xE8])).starts_with("It looks like nec16, but the command")
        );
        let wider = decode(&nec_frame([0x59, 0xA7, 0x16, 0xE9])).unwrap();
        assert_eq!((wider.family.id, wider.address, wider.command), ("nec16", Some(0xA759), Some(0x16)));
    }

    #[test]
    fn a_frame_that_goes_on_is_another_familys() {
        let mut pulses_us = nec_frame([0x59, 0xA6, 0x16, 0xE9]);
        pulses_us.extend([562.5, 562.5]);
        assert_eq!(
            said(&pulses_us),
            "It begins like nec and goes on after 32 bits without a gap. It is another family's: keep it as raw timings."
        );
    }

    #[test]
    fn a_short_repeat_frame_carries_no_numbers() {
        let repeat = decode(&[9000.0, 2250.0, 562.5]).unwrap();
        assert_eq!(repeat.family, family("nec").unwrap());
        assert_eq!((repeat.address, repeat.command, repeat.toggle), (None, None, None));
        assert!(repeat.repeat);
        assert_eq!(repeat.code(), None);
        assert_eq!(repeat.to_string(), "nec repeat frame");
    }

    #[test]
    fn what_follows_the_gap_is_not_looked_at() {
        let mut pulses_us = nec_frame([0x59, 0xA6, 0x16, 0xE9]);
        pulses_us.extend([39_937.5, 9000.0, 2250.0, 562.5, 96_187.5, 3.0, 1e6]);
        let first = decode(&pulses_us).unwrap();
        assert_eq!(first.to_string(), "nec address 59 command 16");
        assert!(!first.repeat);
    }

    #[test]
    fn a_nec16_code_whose_address_bytes_are_inverses_is_heard_as_nec() {
        let coded = |id: &str, address| Code::Family {
            family: family(id).unwrap().family_id(),
            address,
            command: 0x16,
        };
        assert_eq!(heard_as(&coded("nec16", 0xA659)), Some(coded("nec", 0x59)));
        assert_eq!(heard_as(&coded("nec16", 0xA759)), None);
        assert_eq!(heard_as(&coded("nec", 0x59)), None);
    }
}
