//! Which of the values tried to take. Knows what they came out as, not how.

use super::{PlanPair, PlanValue};

/// Values whose smallest separation in noise units is at least this share of the best one's are as good:
/// no noise is known to 5 % (the converter's error is a typical value, wear a guess; common practice, no
/// source for the share).
pub const NEAR_BEST: f64 = 0.95;

/// Why a value can't be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ruled {
    /// This button reads the converter's top, and so the same as whatever is above it.
    Saturates(usize),
    /// Less than a whole count is free between what the bands of these two must hold (the rule by which
    /// bands call two buttons not told apart).
    Indistinct(PlanPair),
}

/// Why no value can be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoChoice {
    /// A button saturates over every value.
    #[error(
        "Over every value a button reads the converter's top and can't be told from the next: the reference is too \
         far below the feed. Measure against the supply, or raise the reference."
    )]
    Saturate,
    /// Two rungs can't be told apart over any value.
    #[error(
        "Over no value can all buttons be told apart: two of them, or one and rest, are too much alike. Meter \
         them again; if that is what they are, take the two as one."
    )]
    Indistinct(PlanPair),
    /// Nothing to choose from.
    #[error("There is no value to choose from. Take a series with more values.")]
    Nothing,
}

pub(super) fn choice(values: &[PlanValue]) -> Result<usize, NoChoice> {
    let open = || values.iter().enumerate().filter(|(_, value)| value.ruled.is_none());
    let best = open().map(|(_, value)| value.separation_sigma).fold(0.0, f64::max);
    let good = open().filter(|(_, value)| value.separation_sigma >= NEAR_BEST * best);
    let chosen = good.max_by(|(_, one), (_, other)| {
        one.gap_count
            .cmp(&other.gap_count)
            .then(one.separation_sigma.total_cmp(&other.separation_sigma))
            .then(one.ohm.total_cmp(&other.ohm))
    });
    chosen.map(|(index, _)| index).ok_or_else(|| why_none(values))
}

/// Of the values that are ruled out, the one where the two that are alike stand furthest apart says why.
fn why_none(values: &[PlanValue]) -> NoChoice {
    let alike = values.iter().filter_map(|value| match value.ruled {
        Some(Ruled::Indistinct(pair)) => Some((value.separation_sigma, pair)),
        _ => None,
    });
    match alike.max_by(|one, other| one.0.total_cmp(&other.0)) {
        Some((_, pair)) => NoChoice::Indistinct(pair),
        None if values.is_empty() => NoChoice::Nothing,
        None => NoChoice::Saturate,
    }
}
