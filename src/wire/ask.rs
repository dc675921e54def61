//! What the laptop asks, as bytes and back.

use super::bytes::Bytes;
use super::fault::Fault;
use super::limits::STRETCH_MAX;
use super::message::{CALIBRATE_RANGE_MV, NamedReference, PAYLOAD_MAX, ReferenceKind};

/// Set in the number of an answer.
pub const REPLY: u8 = 0x80;
/// The slot's number that stands for the one in use, or for none.
pub(super) const NO_SLOT: u8 = 255;

/// A message to the box.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Who are you?
    Identify,
    /// Whether samples are told.
    Stream(bool),
    /// What the converter measures against.
    Reference(NamedReference),
    /// Whether remotes are listened to.
    Listen(bool),
    /// Send a code.
    Send {
        /// For how long the button is held, in milliseconds.
        held_ms: u16,
        /// The toggle bit.
        toggle: bool,
        /// One command as the image keeps it; 1 to 93 bytes.
        record: Vec<u8>,
    },
    /// Stop sending.
    StopSending,
    /// An image comes.
    WriteBegin {
        /// Bytes of its body.
        length: u16,
        /// Its checksum.
        check: u16,
    },
    /// A stretch of its body.
    WriteData {
        /// Where in the body it lies.
        offset: u16,
        /// 1 to 64 bytes.
        bytes: Vec<u8>,
    },
    /// That was all of it.
    WriteEnd,
    /// Read a slot.
    Read {
        /// Which, 0 or 1; `None` for the one in use.
        slot: Option<u8>,
        /// From the slot's first byte, header included.
        offset: u16,
        /// 1 to 64.
        count: u8,
    },
    /// Whether decisions are told.
    Watch(bool),
    /// What happened since power came?
    Counters,
    /// Whether the link runs at 500 000 bits per second.
    Rate500k(bool),
    /// What the bandgap truly is, in millivolts; `None` forgets it.
    Calibrate(Option<u16>),
    /// Start anew.
    Restart,
}

impl Ask {
    /// Its number on the link.
    #[must_use]
    pub const fn number(&self) -> u8 {
        match self {
            Self::Identify => 0x01,
            Self::Stream(_) => 0x02,
            Self::Reference(_) => 0x03,
            Self::Listen(_) => 0x04,
            Self::Send { .. } | Self::StopSending => 0x05,
            Self::WriteBegin { .. } => 0x06,
            Self::WriteData { .. } => 0x07,
            Self::WriteEnd => 0x08,
            Self::Read { .. } => 0x09,
            Self::Watch(_) => 0x0A,
            Self::Counters => 0x0B,
            Self::Rate500k(_) => 0x0C,
            Self::Calibrate(_) => 0x0D,
            Self::Restart => 0x0E,
        }
    }

    /// Its payload.
    #[must_use]
    pub fn payload(&self) -> Vec<u8> {
        match self {
            Self::Identify | Self::StopSending | Self::WriteEnd | Self::Counters | Self::Restart => {
                Vec::new()
            }
            Self::Stream(on) | Self::Listen(on) | Self::Watch(on) | Self::Rate500k(on) => vec![u8::from(*on)],
            Self::Reference(NamedReference { kind, feed_monitor }) => {
                vec![reference_number(*kind), u8::from(*feed_monitor)]
            }
            Self::Send { held_ms, toggle, record } => {
                [&held_ms.to_le_bytes()[..], &[u8::from(*toggle)], record].concat()
            }
            Self::WriteBegin { length, check } => [length.to_le_bytes(), check.to_le_bytes()].concat(),
            Self::WriteData { offset, bytes } => [&offset.to_le_bytes()[..], bytes].concat(),
            Self::Read { slot, offset, count } => {
                let [low, high] = offset.to_le_bytes();
                vec![slot.unwrap_or(NO_SLOT), low, high, *count]
            }
            Self::Calibrate(bandgap_mv) => bandgap_mv.unwrap_or(0).to_le_bytes().to_vec(),
        }
    }

    /// The message as the box takes it.
    ///
    /// # Errors
    /// The fault the box answers: an unknown number, a wrong length, a value out of range.
    pub fn parse(number: u8, payload: &[u8]) -> Result<Self, Fault> {
        let whole = match number {
            0x01 | 0x08 | 0x0B | 0x0E => payload.is_empty(),
            0x02 | 0x04 | 0x0A | 0x0C => payload.len() == 1,
            0x03 | 0x0D => payload.len() == 2,
            0x05 => payload.is_empty() || (4..=PAYLOAD_MAX).contains(&payload.len()),
            0x06 | 0x09 => payload.len() == 4,
            0x07 => (3..=2 + STRETCH_MAX).contains(&payload.len()),
            _ => return Err(Fault::Unknown),
        };
        if !whole {
            return Err(Fault::Length);
        }
        Self::values(number, payload).ok_or(Fault::Value)
    }

    fn values(number: u8, payload: &[u8]) -> Option<Self> {
        let mut bytes = Bytes(payload);
        Some(match number {
            0x01 => Self::Identify,
            0x02 => Self::Stream(bytes.switch()?),
            0x03 => Self::Reference(NamedReference {
                kind: reference_from(bytes.u8()?)?,
                feed_monitor: bytes.switch()?,
            }),
            0x04 => Self::Listen(bytes.switch()?),
            0x05 if payload.is_empty() => Self::StopSending,
            0x05 => {
                Self::Send { held_ms: bytes.u16()?, toggle: bytes.switch()?, record: bytes.rest().to_vec() }
            }
            0x06 => Self::WriteBegin { length: bytes.u16()?, check: bytes.u16()? },
            0x07 => Self::WriteData { offset: bytes.u16()?, bytes: bytes.rest().to_vec() },
            0x08 => Self::WriteEnd,
            0x09 => {
                let slot = match bytes.u8()? {
                    NO_SLOT => None,
                    slot @ 0..=1 => Some(slot),
                    _ => return None,
                };
                let (offset, count) = (bytes.u16()?, bytes.u8()?);
                if !(1..=STRETCH_MAX).contains(&usize::from(count)) {
                    return None;
                }
                Self::Read { slot, offset, count }
            }
            0x0A => Self::Watch(bytes.switch()?),
            0x0B => Self::Counters,
            0x0C => Self::Rate500k(bytes.switch()?),
            0x0D => match bytes.u16()? {
                0 => Self::Calibrate(None),
                mv if (CALIBRATE_RANGE_MV.0..=CALIBRATE_RANGE_MV.1).contains(&mv) => {
                    Self::Calibrate(Some(mv))
                }
                _ => return None,
            },
            _ => Self::Restart,
        })
    }
}

const fn reference_number(kind: ReferenceKind) -> u8 {
    match kind {
        ReferenceKind::Supply => 0,
        ReferenceKind::Internal => 1,
        ReferenceKind::External => 2,
    }
}

const fn reference_from(number: u8) -> Option<ReferenceKind> {
    match number {
        0 => Some(ReferenceKind::Supply),
        1 => Some(ReferenceKind::Internal),
        2 => Some(ReferenceKind::External),
        _ => None,
    }
}
