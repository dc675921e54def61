//! A press of a remote as its receiver gave it: which code it is, how sure that is, and what else it
//! could be. Knows no receiver, no box and no names; `decode.rs` reads single frames.
//!
//! A capture is split at its gaps. Frames that one family explains are put together, what follows
//! while the button is held is told from new frames, the stretch of the marks is estimated and taken
//! out. What no family explains is kept raw, if chance can't have made it.

mod consensus;
mod error;
mod frames;
mod guess;
mod keep_raw;
mod known;
mod scheme;
mod stretch;
mod sure;
#[cfg(test)]
mod tests;

pub use consensus::{Consensus, consensus};
pub use error::HearError;
pub use sure::{Doubt, Ground, Sure};

use super::code::Code;
use super::decode::refuse_nonsense;
use super::family::Family;
use super::free::FreeFamily;
use frames::alike;
use known::Unknown;
use scheme::Scheme;

/// One press of a remote, understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Heard {
    /// The code: a family's, a free family's, or raw: cleaned, one frame, with its period.
    pub code: Code,
    /// The family of the table; `None` for a free or raw code.
    pub family: Option<&'static Family>,
    /// The toggle bit of the first frame; `None` where there is none.
    pub toggle: Option<bool>,
    /// How many whole frames were heard.
    pub frames: usize,
    /// How many frames that are only sent while a button is held were heard.
    pub repeats: usize,
    /// By how much the receiver makes marks longer and spaces shorter, in microseconds; negative
    /// where it makes them shorter. 0 for raw codes: nothing tells it there.
    pub stretch_us: f64,
    /// The first frame, each pulse the mean over whole frames, with the stretch taken out, in
    /// microseconds: mark, space, …, mark.
    pub clean_us: Vec<f64>,
    /// Each pulse of the first frame as heard, stretch and all, minus what the code's own frame has
    /// there, in microseconds. Empty for raw codes.
    pub off_us: Vec<f64>,
    /// From the start of one frame to the start of the next, in microseconds, the median over the
    /// capture; `None` with one frame.
    pub period_us: Option<f64>,
    /// How sure the code is, and why.
    pub sure: Sure,
    /// What else it could be, the likeliest first.
    pub also: Vec<Code>,
}

impl Heard {
    /// The first frame as heard, with the stretch, in microseconds; for raw codes the same as
    /// [`Self::clean_us`].
    #[must_use]
    pub fn heard_us(&self) -> Vec<f64> {
        let signed = |at: usize| if at.is_multiple_of(2) { self.stretch_us } else { -self.stretch_us };
        self.clean_us.iter().enumerate().map(|(at, us)| us + signed(at)).collect()
    }
}

/// Understands one capture, which is one press of a remote: mark, space, mark, … in microseconds, with
/// the gaps between frames. A last space may stand there or not.
///
/// # Errors
/// [`HearError`]: a frame of a known family that is cut or fails its check, two codes in one capture,
/// or timings that chance may have made. [`HearError::raw`] offers what may be kept all the same.
pub fn hear(timings_us: &[f64]) -> Result<Heard, HearError> {
    hear_with(timings_us, &[])
}

/// The same with free families that are in use, each tried where the table explains nothing.
///
/// # Errors
/// As [`hear`].
pub fn hear_with(timings_us: &[f64], free: &[FreeFamily]) -> Result<Heard, HearError> {
    refuse_nonsense(timings_us).map_err(HearError::NoTimings)?;
    let unknown = match known::hear(timings_us, &Scheme::Table) {
        Ok(heard) => return Ok(heard),
        Err(unknown) => unknown,
    };
    let frees = free.iter().filter(|free| free.check().is_ok());
    let by_free = frees.filter_map(|free| known::hear(timings_us, &Scheme::of(free)).ok());
    // The family that explains the most of it.
    if let Some(heard) = by_free.max_by_key(|heard| heard.frames + heard.repeats) {
        return Ok(heard);
    }
    match unknown {
        Unknown::Refused(error) => Err(error),
        Unknown::NoFamily(reason) => keep_raw::hear(timings_us, &reason),
    }
}
