//! A capture that no family explains, kept as it is if chance can't have made it.

use super::super::code::Code;
use super::super::decode::DecodeError;
use super::super::raw::{as_heard, distinct, joined};
use super::frames::{Piece, split};
use super::sure::Sure;
use super::{HearError, Heard, stretch};

/// Fewer timings than any code has.
const LEAST_TIMINGS: usize = 12;
/// What the box can keep of one raw code.
const DISTINCT_MAX: usize = 8;
/// How far the same pulse may be off from frame to frame, as a share of it.
const ALIKE: f64 = 0.2;
/// The same, whatever its length: a cycle or two of the carrier, in microseconds.
const ALIKE_US: f64 = 60.0;

/// The capture as raw timings.
pub(super) fn hear(timings_us: &[f64], reason: &DecodeError) -> Result<Heard, HearError> {
    let pieces = split(timings_us);
    let alike = longest_alike(&pieces);
    let frames: Vec<_> = alike.iter().map(|piece| piece.pulses_us).collect();
    let mean_us = stretch::mean(&frames);
    let raw = as_heard(&mean_us);
    if timings_us.len() < LEAST_TIMINGS || mean_us.len() < LEAST_TIMINGS {
        return Err(HearError::Short { count: timings_us.len(), raw });
    }
    if matches!(reason, DecodeError::Bit { .. }) && frames.len() < 2 {
        return Err(HearError::Refused { reason: reason.clone(), raw });
    }
    let distinct = distinct(&mean_us);
    let clean_us = joined(&mean_us);
    if distinct > DISTINCT_MAX {
        return Err(HearError::Noise { count: timings_us.len(), distinct, raw });
    }
    let periods_us: Vec<_> = alike.iter().filter_map(|piece| piece.period_us).collect();
    let period_us = stretch::median(&periods_us);
    let code = Code::Raw { pulses_us: clean_us.clone(), repeat_us: period_us };
    Ok(Heard {
        code,
        family: None,
        toggle: None,
        frames: frames.len(),
        repeats: 0,
        stretch_us: 0.0,
        clean_us,
        off_us: Vec::new(),
        period_us,
        sure: Sure::Raw { frames: frames.len() },
        also: Vec::new(),
    })
}

/// The pieces like the first of the longest.
fn longest_alike<'a>(pieces: &[Piece<'a>]) -> Vec<Piece<'a>> {
    let longest = pieces.iter().map(|piece| piece.pulses_us.len()).max().unwrap_or(0);
    let Some(first) = pieces.iter().find(|piece| piece.pulses_us.len() == longest) else { return Vec::new() };
    pieces.iter().filter(|piece| alike(piece.pulses_us, first.pulses_us)).copied().collect()
}

/// Whether two frames are the same as far as a receiver can tell.
pub(super) fn alike(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= (ALIKE * a.min(*b)).max(ALIKE_US))
}
