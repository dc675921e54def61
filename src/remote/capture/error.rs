//! Why a capture is no code, and what to do.

use super::super::code::Code;
use super::super::decode::DecodeError;
use super::super::free::FreeRepeat;
use super::super::raw::as_heard;
use super::guess::guessed;

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
        raw: Option<Box<Code>>,
        /// The same frame as one of a free family, where it looks like one.
        free: Option<Box<Code>>,
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
        raw: Option<Box<Code>>,
    },
    /// Nothing but repeat frames that could be read.
    #[error(
        "Only repeat frames of {family} were heard, {count} of them, not the frame that begins a press. \
         Let go of the remote, listen again, then press."
    )]
    OnlyRepeats {
        /// The family.
        family: &'static str,
        /// How many.
        count: usize,
        /// What was heard beside them and could not be read.
        raw: Option<Box<Code>>,
    },
    /// Too little to tell from noise.
    #[error(
        "{} heard, and no family has so few: chance may have made them. \
         Hold the remote near the receiver and press a little longer.",
        few(*count)
    )]
    Short {
        /// How many.
        count: usize,
        /// What may be kept all the same.
        raw: Option<Box<Code>>,
    },
    /// Timings that no raw code can have.
    #[error("No family explains it, and it can't be kept raw. {reason}")]
    NotSendable {
        /// What is wrong, and what to do.
        reason: String,
    },
    /// Timings without an order that a code has.
    #[error(
        "No family explains it, and its {count} timings repeat too little to tell them from noise: \
         {distinct} different durations. Hold the remote near the receiver, away from lamps and sunlight, \
         and press a little longer."
    )]
    Noise {
        /// How many timings.
        count: usize,
        /// How many durations.
        distinct: usize,
        /// What may be kept all the same.
        raw: Option<Box<Code>>,
    },
}

impl HearError {
    /// A frame that was refused, offered as it is.
    pub(super) fn refused(reason: DecodeError, pulses_us: &[f64]) -> Self {
        let free = guessed(pulses_us, FreeRepeat::WholeFrame, None);
        Self::Refused { reason, raw: as_heard(pulses_us).map(Box::new), free: free.map(Box::new) }
    }

    /// The frame as one of a free family without the check that failed, for a person who knows that
    /// their remote sends none; `None` where it looks like none.
    #[must_use]
    pub fn free(&self) -> Option<Code> {
        match self {
            Self::Refused { free, .. } => free.as_deref().cloned(),
            _ => None,
        }
    }

    /// The timings as they are, for a person who keeps them knowingly; `None` where they are none that
    /// can be sent.
    #[must_use]
    pub fn raw(&self) -> Option<Code> {
        match self {
            Self::NoTimings(_) | Self::NotSendable { .. } => None,
            Self::Refused { raw, .. }
            | Self::OnlyRepeats { raw, .. }
            | Self::Differ { raw, .. }
            | Self::Short { raw, .. }
            | Self::Noise { raw, .. } => raw.as_deref().cloned(),
        }
    }
}

fn few(count: usize) -> String {
    match count {
        1 => "A single timing was".to_owned(),
        many => format!("Only {many} timings were"),
    }
}
