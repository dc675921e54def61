//! A capture that no family explains, kept as it is if chance can't have made it. Knows no family.

use super::super::code::Code;
use super::super::decode::DecodeError;
use super::super::free::{FREE_TIMING_MIN_US, FreeRepeat};
use super::super::raw::{as_heard, clusters, joined};
use super::frames::{Piece, alike, short_of, split, split_at};
use super::guess::guessed;
use super::sure::Sure;
use super::{HearError, Heard, stretch};

/// Fewer timings than any code has.
const LEAST_TIMINGS: usize = 8;
/// What the box can keep of one raw code.
const DISTINCT_MAX: usize = 8;
/// So many powers of ten have to stand between a capture and chance.
const DECADES: f64 = 8.0;
/// A family that read so many bits and then stumbled is the family, and the frame is spoilt.
const TOLD_BITS: usize = 8;

/// The capture as raw timings.
pub(super) fn hear(timings_us: &[f64], reason: &DecodeError) -> Result<Heard, HearError> {
    let found = frames(timings_us);
    let first_us = found.alike.first().map_or(&[][..], |piece| piece.pulses_us);
    let like_first: Vec<_> = found.alike.iter().map(|piece| piece.pulses_us).collect();
    let count = like_first.len();
    let mean_us = stretch::mean(&like_first);
    let raw = as_heard(&mean_us).map(Box::new);
    let half = 2 * found.covered() < timings_us.len();
    if first_us.len() < LEAST_TIMINGS {
        return Err(HearError::Short { count: timings_us.len(), raw });
    }
    if count < 2
        && let DecodeError::Bit { bit, .. } = reason
        && *bit > TOLD_BITS
    {
        return Err(HearError::refused(reason.clone(), first_us));
    }
    let (by_clusters, distinct) = decades(&mean_us);
    let by_frames = (count.saturating_sub(1) * first_us.len()) as f64 * -AGAIN.log10();
    if half || distinct > DISTINCT_MAX || by_clusters + by_frames < DECADES {
        return Err(HearError::Noise { count: timings_us.len(), distinct, raw });
    }
    let periods_us: Vec<_> = found.alike.iter().filter_map(|piece| piece.period_us).collect();
    let period_us = stretch::median(&periods_us);
    let clean_us = joined(&mean_us);
    let also = guessed(&mean_us, found.repeat, period_us).into_iter().collect();
    let code = raw_code(&clean_us, period_us);
    if let Err(error) = super::super::frame::encode(&code, false) {
        return Err(HearError::NotSendable { reason: error.to_string() });
    }
    Ok(Heard {
        code,
        family: None,
        toggle: None,
        frames: count,
        repeats: found.repeats,
        stretch_us: 0.0,
        clean_us,
        off_us: Vec::new(),
        period_us,
        sure: Sure::Raw { frames: count },
        also,
    })
}

/// Cleaned timings as a code, sent again while held as often as it was heard; what else follows a frame
/// can't be kept.
pub(super) fn raw_code(clean_us: &[f64], period_us: Option<f64>) -> Code {
    /// Less can't be sent between two frames: the shortest space of a free family, with a margin.
    const GAP_US: f64 = 2.0 * FREE_TIMING_MIN_US;
    let total_us: f64 = clean_us.iter().sum();
    // Joining durations may have made the frame a little longer than it was.
    let repeat_us = period_us.map(|us| us.round().max(total_us + GAP_US));
    Code::Raw { pulses_us: clean_us.to_vec(), repeat_us }
}

/// The chance that a timing of noise is like the one before it in its place: 20 % either way of what
/// is spread evenly over a decade is a sixth; noise is not spread evenly.
const AGAIN: f64 = 0.25;

/// The frames of a capture and what follows them.
struct Frames<'a> {
    /// The frames that are alike, the first of which counts.
    alike: Vec<Piece<'a>>,
    /// How many pieces follow that are shorter frames of their own.
    repeats: usize,
    /// How many timings these have, gaps counted.
    follow: usize,
    /// What these are.
    repeat: FreeRepeat,
}

impl Frames<'_> {
    /// How many timings are explained, gaps counted.
    fn covered(&self) -> usize {
        let frames: usize = self.alike.iter().map(|piece| piece.pulses_us.len() + 1).sum();
        frames + self.follow
    }
}

/// Splits where the most frames come out alike.
fn frames<'a>(timings_us: &'a [f64]) -> Frames<'a> {
    let steps = thresholds(timings_us).into_iter().map(|gap_us| split_at(timings_us, gap_us));
    let whole = split_at(timings_us, f64::INFINITY);
    let ways = std::iter::once(split(timings_us)).chain(steps).chain([whole]).map(group);
    let told = |frames: &Frames<'a>| {
        let first_us = frames.alike.first().map_or(&[][..], |piece| piece.pulses_us);
        let again = frames.covered().saturating_sub(first_us.len() + 1);
        if first_us.len() < LEAST_TIMINGS || 2 * frames.covered() < timings_us.len() {
            (-1.0, 0.0)
        } else if again > 0 {
            (again as f64, 0.0)
        } else {
            // Where nothing comes again, the frame that is least like chance.
            (0.0, decades(first_us).0)
        }
    };
    // Of equals the first: the split at a gap that is one.
    let best = ways.map(|frames| (told(&frames), frames)).reduce(
        |best, next| {
            if next.0 > best.0 { next } else { best }
        },
    );
    best.map_or(
        Frames { alike: Vec::new(), repeats: 0, follow: 0, repeat: FreeRepeat::Once },
        |(_, frames)| frames,
    )
}

/// Where a gap may begin: between two lengths of space of which one is distinctly longer.
fn thresholds(timings_us: &[f64]) -> Vec<f64> {
    /// Shorter than any gap.
    const LEAST_US: f64 = 1_500.0;
    /// A gap is this many times as long as a space that is none.
    const LONGER: f64 = 1.3;
    let mut spaces_us: Vec<f64> = timings_us.iter().skip(1).step_by(2).copied().collect();
    spaces_us.sort_by(f64::total_cmp);
    let steps = spaces_us.windows(2).filter(|pair| pair[1] >= LEAST_US && pair[1] > LONGER * pair[0]);
    steps.map(|pair| (pair[0] * pair[1]).sqrt()).collect()
}

/// The pieces like the first of the longest, and the shorter ones.
fn group(pieces: Vec<Piece<'_>>) -> Frames<'_> {
    let longest = pieces.iter().map(|piece| piece.pulses_us.len()).max().unwrap_or(0);
    let first_us = pieces.iter().map(|piece| piece.pulses_us).find(|us| us.len() == longest).unwrap_or(&[]);
    let (like_first, others): (Vec<_>, Vec<_>) =
        pieces.into_iter().partition(|piece| alike(piece.pulses_us, first_us));
    let bare = |piece: &&Piece<'_>| first_us.len() > 2 && alike(piece.pulses_us, &first_us[2..]);
    let short = |piece: &&Piece<'_>| short_of(piece.pulses_us, first_us);
    let (bares, shorts) = (others.iter().filter(bare).count(), others.iter().filter(short).count());
    let repeat = match (bares, shorts) {
        (0, 0) => FreeRepeat::WholeFrame,
        (0, _) => FreeRepeat::ShortFrame,
        _ => FreeRepeat::WithoutLeader,
    };
    let follow = others.iter().filter(|piece| bare(piece) || short(piece));
    let follow = follow.map(|piece| piece.pulses_us.len() + 1).sum();
    Frames { alike: like_first, repeats: bares + shorts, follow, repeat }
}

/// By how many powers of ten chance would miss these durations, and how many durations there are. A
/// frame's marks fall into a few narrow bands of the range they span, and so do its spaces; noise fills
/// the range.
fn decades(pulses_us: &[f64]) -> (f64, usize) {
    // The leader is left aside: it widens the range for free.
    let body = pulses_us.get(2..).unwrap_or_default();
    let decades = (0..2).map(|from| banded(body, from)).sum();
    let distinct = (0..2).map(|from| clusters(pulses_us, from).len()).sum();
    (decades, distinct)
}

/// The same for the marks (from 0) or spaces (from 1) alone.
fn banded(body_us: &[f64], from: usize) -> f64 {
    /// No band is taken for narrower than this, as a logarithm: what a receiver's step leaves.
    const NARROW: f64 = 0.04;
    /// No range is taken for narrower than this: chance makes durations of twice a length, too.
    const SPAN: f64 = std::f64::consts::LN_2;
    /// A band may have lain a little to either side.
    const WIDER: f64 = 1.5;
    let bands = clusters(body_us, from);
    let ends = |band: &Vec<usize>| match band[..] {
        [first, .., last] => (body_us[last] / body_us[first]).ln(),
        _ => 0.0,
    };
    let all: Vec<usize> = bands.iter().flatten().copied().collect();
    let covered: f64 = bands.iter().map(|band| ends(band).max(NARROW)).sum();
    let chance = (WIDER * covered / ends(&all).max(SPAN)).min(1.0);
    // Which of the durations the bands were laid round can be chosen in so many ways.
    let ways: f64 = (0..bands.len()).map(|i| ((all.len() - i) as f64 / (i + 1) as f64).log10()).sum();
    let free = (all.len() - bands.len()) as f64;
    (-free * chance.log10() - ways).max(0.0)
}
