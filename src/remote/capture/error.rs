//! Why a capture is no code, and what to do.

use super::super::code::Code;
use super::super::decode::DecodeError;

/// Why one press of a remote was not understood.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HearError {
    /// What came can be no timings.
    #[error(transparent)]
    NoTimings(DecodeError),
    /// A frame of a known family that is cut or fails a check, or one that begins like a family.
    #[error("{reason}")]
    Refused {
        /// Why.
        reason: DecodeError,
        /// What may be kept all the same.
        raw: Option<Code>,
    },
    /// Two codes in one capture.
    #[error(
        "Two different codes are in one capture: {first}, then {then}. \
         Listen again and press one button of the remote, once."
    )]
    Differ {
        /// The code of the first frame.
        first: String,
        /// The first that differs.
        then: String,
        /// The first frame as raw timings.
        raw: Option<Code>,
    },
    /// Nothing but repeat frames, which say nothing of their own.
    #[error(
        "Only repeat frames of {family} were heard, {count} of them, and they carry no numbers. \
         Let go of the remote, listen again, then press."
    )]
    OnlyRepeats {
        /// The family.
        family: &'static str,
        /// How many.
        count: usize,
    },
    /// Too little to tell from noise.
    #[error(
        "Only {count} timings were heard, and no family has so few: chance may have made them. \
         Hold the remote near the receiver and press a little longer."
    )]
    Short {
        /// How many.
        count: usize,
        /// What may be kept all the same.
        raw: Option<Code>,
    },
    /// Timings without an order that a code has.
    #[error(
        "No family explains it, and its {count} timings have no order that a remote's have: \
         {distinct} different durations. Hold the remote near the receiver, away from lamps and sunlight, and press again."
    )]
    Noise {
        /// How many timings.
        count: usize,
        /// How many durations.
        distinct: usize,
        /// What may be kept all the same.
        raw: Option<Code>,
    },
}

impl HearError {
    /// The timings as they are, for a person who keeps them knowingly; `None` where they are none that
    /// can be sent.
    #[must_use]
    pub fn raw(&self) -> Option<Code> {
        match self {
            Self::NoTimings(_) | Self::OnlyRepeats { .. } => None,
            Self::Refused { raw, .. }
            | Self::Differ { raw, .. }
            | Self::Short { raw, .. }
            | Self::Noise { raw, .. } => raw.clone(),
        }
    }
}
