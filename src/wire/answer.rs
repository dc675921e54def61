//! What the box answers, as bytes and back. The first byte of an answer is a fault.

use super::ask::NO_SLOT;
use super::bytes::Bytes;
use super::fault::Fault;
use super::limits::{RATE, RATE_FAST, STRETCH_MAX};
use super::message::{Counters, Identity, ResetCause, Slot, Tally};

/// Bytes of an identity. A later firmware may add to them; what is added is passed over.
const IDENTITY_BYTES: usize = 38;

/// An answer without fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Done, and there is nothing to say.
    Done,
    /// Who it is.
    Identity(Box<Identity>),
    /// It takes an image.
    WriteBegun {
        /// Into this slot.
        slot: u8,
    },
    /// The image is whole and in use.
    Written {
        /// The slot.
        slot: u8,
        /// Its sequence number.
        sequence: u8,
    },
    /// Bytes of a slot.
    Bytes {
        /// The slot.
        slot: u8,
        /// From its first byte, header included.
        offset: u16,
        /// The bytes.
        bytes: Vec<u8>,
    },
    /// Its counters.
    Counters(Counters),
}

/// Why there is no answer in an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AnswerFault {
    /// The box says what is wrong; never [`Fault::None`].
    #[error("{0}")]
    Fault(Fault),
    /// It can't be read.
    #[error(
        "The answer to message {number:02X} can't be read: {length} bytes. Flash the firmware that comes with this program."
    )]
    Malformed {
        /// The message asked.
        number: u8,
        /// Bytes of the answer.
        length: usize,
    },
}

impl Answer {
    /// The answer to the message `number` (without [`super::REPLY`]).
    ///
    /// # Errors
    /// The box's fault, or that the answer can't be read.
    pub fn parse(number: u8, payload: &[u8]) -> Result<Self, AnswerFault> {
        let malformed = AnswerFault::Malformed { number, length: payload.len() };
        let (&fault, rest) = payload.split_first().ok_or(malformed)?;
        match Fault::from_number(fault) {
            Some(Fault::None) => Self::values(number, rest).ok_or(malformed),
            Some(fault) if rest.is_empty() => Err(AnswerFault::Fault(fault)),
            _ => Err(malformed),
        }
    }

    fn values(number: u8, payload: &[u8]) -> Option<Self> {
        let mut bytes = Bytes(payload);
        match number {
            0x01 => Some(Self::Identity(Box::new(identity(&mut bytes)?))),
            0x06 => {
                let slot = slot_number(bytes.u8()?)?;
                bytes.end(Self::WriteBegun { slot })
            }
            0x08 => {
                let (slot, sequence) = (slot_number(bytes.u8()?)?, bytes.u8()?);
                bytes.end(Self::Written { slot, sequence })
            }
            0x09 => {
                let (slot, offset) = (slot_number(bytes.u8()?)?, bytes.u16()?);
                let read = bytes.rest();
                (1..=STRETCH_MAX).contains(&read.len()).then(|| Self::Bytes {
                    slot,
                    offset,
                    bytes: read.to_vec(),
                })
            }
            0x0B => {
                let counters = counters(&mut bytes)?;
                bytes.end(Self::Counters(counters))
            }
            0x02..=0x0E => bytes.end(Self::Done),
            _ => None,
        }
    }

    /// The answer's payload, its fault byte included: the box's side, for a virtual one.
    #[must_use]
    pub fn payload(&self) -> Vec<u8> {
        let mut out = vec![Fault::None.number()];
        match self {
            Self::Done => {}
            Self::Identity(identity) => put_identity(&mut out, identity),
            Self::WriteBegun { slot } => out.push(*slot),
            Self::Written { slot, sequence } => out.extend([*slot, *sequence]),
            Self::Bytes { slot, offset, bytes } => {
                out.push(*slot);
                out.extend(offset.to_le_bytes());
                out.extend(bytes);
            }
            Self::Counters(counters) => put_counters(&mut out, counters),
        }
        out
    }
}

fn slot_number(number: u8) -> Option<u8> {
    (number <= 1).then_some(number)
}

pub(super) const fn cause_from(number: u8) -> Option<ResetCause> {
    match number {
        0 => Some(ResetCause::PowerOn),
        1 => Some(ResetCause::External),
        2 => Some(ResetCause::BrownOut),
        3 => Some(ResetCause::Watchdog),
        _ => None,
    }
}

pub(super) const fn cause_number(cause: ResetCause) -> u8 {
    match cause {
        ResetCause::PowerOn => 0,
        ResetCause::External => 1,
        ResetCause::BrownOut => 2,
        ResetCause::Watchdog => 3,
    }
}

/// The rates by their bits.
const RATES: [(u8, u32); 2] = [(1, RATE), (2, RATE_FAST)];

fn identity(bytes: &mut Bytes<'_>) -> Option<Identity> {
    let protocol = bytes.u8()?;
    let firmware = (bytes.u8()?, bytes.u8()?);
    let signature = bytes.array()?;
    let flags = bytes.u8()?;
    let fuses = bytes.array()?;
    let most = (bytes.u8()?, bytes.u8()?, bytes.u8()?);
    let (body_max, payload_max, converter_top) = (bytes.u16()?, bytes.u8()?, bytes.u16()?);
    let (sample_hz, capture_edges) = (bytes.u16()?, bytes.u8()?);
    let (capture_step_ns, pulse_step_ns, least_pulse_us) = (bytes.u16()?, bytes.u16()?, bytes.u16()?);
    let rates = bytes.u8()?;
    let (slot, sequence, length, check) = (bytes.u8()?, bytes.u8()?, bytes.u16()?, bytes.u16()?);
    let slot = match slot {
        NO_SLOT => None,
        number => Some(Slot { number: slot_number(number)?, sequence, length, check }),
    };
    let supply_mv = bytes.u16()?;
    let reset = cause_from(bytes.u8()?)?;
    Some(Identity {
        protocol,
        firmware,
        signature,
        has_image: flags & 1 != 0,
        has_damage: flags & 2 != 0,
        reference_named: flags & 4 != 0,
        calibrated: flags & 8 != 0,
        fuses,
        most,
        body_max,
        payload_max,
        converter_top,
        sample_hz,
        capture_edges,
        capture_step_ns,
        pulse_step_ns,
        least_pulse_us,
        rates: RATES.iter().filter(|(bit, _)| rates & bit != 0).map(|&(_, rate)| rate).collect(),
        slot,
        supply_mv: (supply_mv != 0).then_some(supply_mv),
        reset,
    })
}

fn put_identity(out: &mut Vec<u8>, identity: &Identity) {
    let start = out.len();
    let Identity { protocol, firmware, signature, fuses, most, rates, slot, .. } = identity;
    let flags = [identity.has_image, identity.has_damage, identity.reference_named, identity.calibrated];
    out.extend([*protocol, firmware.0, firmware.1]);
    out.extend(signature);
    out.push((0..).zip(flags).map(|(bit, is_set)| u8::from(is_set) << bit).sum());
    out.extend(fuses);
    out.extend([most.0, most.1, most.2]);
    out.extend(identity.body_max.to_le_bytes());
    out.push(identity.payload_max);
    out.extend(identity.converter_top.to_le_bytes());
    out.extend(identity.sample_hz.to_le_bytes());
    out.push(identity.capture_edges);
    out.extend(identity.capture_step_ns.to_le_bytes());
    out.extend(identity.pulse_step_ns.to_le_bytes());
    out.extend(identity.least_pulse_us.to_le_bytes());
    out.push(RATES.iter().filter(|(_, rate)| rates.contains(rate)).map(|&(bit, _)| bit).sum());
    let (number, slot) = slot.map_or((NO_SLOT, Slot::default()), |slot| (slot.number, slot));
    out.extend([number, slot.sequence]);
    out.extend(slot.length.to_le_bytes());
    out.extend(slot.check.to_le_bytes());
    out.extend(identity.supply_mv.unwrap_or(0).to_le_bytes());
    out.push(cause_number(identity.reset));
    debug_assert_eq!(out.len() - start, IDENTITY_BYTES, "the identity's layout");
}

fn counters(bytes: &mut Bytes<'_>) -> Option<Counters> {
    Some(Counters {
        up_ms: bytes.u32()?,
        resets: Tally {
            power_on: bytes.u16()?,
            external: bytes.u16()?,
            brown_out: bytes.u16()?,
            watchdog: bytes.u16()?,
        },
        link_errors: bytes.u16()?,
        frames_lost: bytes.u16()?,
        longest_loop_us: bytes.u16()?,
        presses: bytes.u16()?,
        rejected: bytes.u32()?,
        undecided: bytes.u16()?,
        sent: bytes.u16()?,
        writes: bytes.u16()?,
    })
}

fn put_counters(out: &mut Vec<u8>, counters: &Counters) {
    let Counters { up_ms, resets, rejected, .. } = counters;
    out.extend(up_ms.to_le_bytes());
    for tally in [resets.power_on, resets.external, resets.brown_out, resets.watchdog] {
        out.extend(tally.to_le_bytes());
    }
    for count in [counters.link_errors, counters.frames_lost, counters.longest_loop_us, counters.presses] {
        out.extend(count.to_le_bytes());
    }
    out.extend(rejected.to_le_bytes());
    for count in [counters.undecided, counters.sent, counters.writes] {
        out.extend(count.to_le_bytes());
    }
}
