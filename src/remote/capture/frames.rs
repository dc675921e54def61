//! A capture split at its gaps. Knows no family.

use super::super::read::GAP_US;

/// A stretch between two gaps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece<'a> {
    /// Mark, space, …, mark.
    pub(super) pulses_us: &'a [f64],
    /// Where its first timing stands in the capture.
    pub(super) at: usize,
    /// From its start to the start of the next; `None` for the last.
    pub(super) period_us: Option<f64>,
    /// The gap after it, if there is one.
    pub(super) gap_us: Option<f64>,
}

/// The space behind the first mark of a piece may be a leader's: no leader of the table has a longer
/// one (4500 µs, 15 % and a receiver's stretch), no gap behind a lone mark is as short.
const LEADER_SPACE_US: f64 = 5_300.0;
/// A leader of another family may have a space this many times as long as its mark.
const LEADER_SHARE: f64 = 3.0;

/// The capture's pieces, in order.
pub(super) fn split(timings_us: &[f64]) -> Vec<Piece<'_>> {
    split_but(timings_us, GAP_US, [LEADER_SPACE_US, LEADER_SHARE])
}

/// The same, a gap being any space of at least so much.
pub(super) fn split_at(timings_us: &[f64], gap_us: f64) -> Vec<Piece<'_>> {
    split_but(timings_us, gap_us, [0.0, 0.0])
}

/// A leader's space of up to so much, or so many times its mark, is no gap.
fn split_but(timings_us: &[f64], gap_us: f64, [leader_us, share]: [f64; 2]) -> Vec<Piece<'_>> {
    let is_gap = |at: usize, from: usize| {
        let us = timings_us[at];
        let leader =
            at == from + 1 && us <= leader_us.max(share * timings_us[from]) && at + 1 < timings_us.len();
        us >= gap_us && !leader
    };
    let mut pieces = Vec::new();
    let mut from = 0;
    while from < timings_us.len() {
        let gap = (from + 1..timings_us.len()).step_by(2).find(|&at| is_gap(at, from));
        // A last space is a gap, however short: the capture ends there.
        let last_space = timings_us.len() - usize::from((timings_us.len() - from).is_multiple_of(2));
        let to = gap.unwrap_or(last_space);
        let next = gap.map_or(timings_us.len(), |at| at + 1);
        pieces.push(Piece {
            pulses_us: &timings_us[from..to],
            at: from,
            period_us: (next < timings_us.len()).then(|| timings_us[from..next].iter().sum()),
            gap_us: gap.map(|at| timings_us[at]),
        });
        from = next;
    }
    pieces
}

/// How far the same pulse may be off from frame to frame, as a share of it.
const ALIKE: f64 = 0.2;
/// The same, whatever its length: a cycle or two of the carrier, in microseconds.
const ALIKE_US: f64 = 60.0;

/// Whether two frames are the same as far as a receiver can tell.
pub(super) fn alike(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= (ALIKE * a.min(*b)).max(ALIKE_US))
}

/// Whether a piece is a short repeat of a frame: its leader's mark, a space, and its last mark.
pub(super) fn short_of(pulses_us: &[f64], frame_us: &[f64]) -> bool {
    match (pulses_us, frame_us) {
        ([mark, _, end], [first, _, _, .., last]) => alike(&[*mark, *end], &[*first, *last]),
        _ => false,
    }
}
