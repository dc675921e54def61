//! Rungs while learning: where presses taken so far are expected to be seen again. The bands room
//! computes the real thing once all is learned. Knows no prompts.

use super::setup::{KnownRung, Setup};
use crate::bands::Press;
use crate::project::ButtonId;

/// A rung reaches at least this far to either side of its centre, in counts: common practice, no
/// source.
const FLOOR_COUNT: f64 = 4.0;
/// And this many standard deviations of a reading's noise.
const NOISE_SIGMA: f64 = 4.0;
/// And this many of the spread between presses, once that is known.
const BETWEEN_SIGMA: f64 = 3.0;
/// And this far past its outermost press, in counts.
const PAST_COUNT: f64 = 2.0;
/// The spread between presses is known once it is pooled over this many degrees of freedom.
const KNOWN_FREEDOM: usize = 4;
/// Two presses of one button differ by no more than this many standard deviations of the spread
/// between presses (√2 of it for a difference, 3.5 of that).
const SAME_SIGMA: f64 = 5.0;
/// And never by less than this many of a reading's noise.
const SAME_NOISE_SIGMA: f64 = 6.0;

/// Where a button with these presses is expected; `None` without any.
pub(super) fn rung_of(
    id: &ButtonId,
    wire: u8,
    presses: &[Press],
    between_count: Option<f64>,
    setup: &Setup,
) -> Option<KnownRung> {
    let centre_count = middle(presses)?;
    let noise_count = presses.iter().map(|p| p.spread_count).fold(setup.noise_floor_count, f64::max);
    let reach_count =
        presses.iter().map(|p| (p.median_count - centre_count).abs() + PAST_COUNT).fold(0.0, f64::max);
    let half_count = [
        setup.converter_error_count,
        FLOOR_COUNT,
        NOISE_SIGMA * noise_count,
        BETWEEN_SIGMA * between_count.unwrap_or(0.0),
        reach_count,
    ]
    .into_iter()
    .fold(0.0, f64::max);
    Some(KnownRung {
        id: id.clone(),
        wire,
        low_count: centre_count - half_count,
        high_count: centre_count + half_count,
        centre_count,
    })
}

/// The median of the presses' medians, in counts; `None` without any.
pub(super) fn middle(presses: &[Press]) -> Option<f64> {
    let mut medians: Vec<f64> =
        presses.iter().map(|p| p.median_count).filter(|count| count.is_finite()).collect();
    medians.sort_by(f64::total_cmp);
    let half = medians.len() / 2;
    let upper = *medians.get(half)?;
    if medians.len() % 2 == 1 { Some(upper) } else { Some(f64::midpoint(upper, *medians.get(half - 1)?)) }
}

/// The spread between presses of one button, pooled over buttons (standard deviation, in counts);
/// `None` while there is too little to go by.
pub(super) fn between_count<'a>(buttons: impl Iterator<Item = &'a [Press]>) -> Option<f64> {
    let (mut squares, mut freedom) = (0.0, 0);
    for presses in buttons.filter(|presses| presses.len() > 1) {
        let mean = presses.iter().map(|p| p.median_count).sum::<f64>() / presses.len() as f64;
        squares += presses.iter().map(|p| (p.median_count - mean).powi(2)).sum::<f64>();
        freedom += presses.len() - 1;
    }
    (freedom >= KNOWN_FREEDOM).then(|| (squares / freedom as f64).sqrt())
}

/// How far two presses of one button may lie apart, in counts.
pub(super) fn same_count(noise_count: f64, between_count: Option<f64>, setup: &Setup) -> f64 {
    let between_count = between_count.unwrap_or(0.0).max(setup.between_count);
    (SAME_SIGMA * between_count).max(SAME_NOISE_SIGMA * noise_count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Touch;

    fn presses(medians: &[f64]) -> Vec<Press> {
        medians
            .iter()
            .map(|&median_count| Press {
                median_count,
                spread_count: 0.9,
                readings: 500,
                touch: Touch::Firm,
                tally: Vec::new(),
            })
            .collect()
    }

    #[test]
    fn a_rung_is_as_wide_as_its_widest_reason() {
        let setup = Setup::default();
        let rung = |medians: &[f64], between| {
            rung_of(&ButtonId::default(), 1, &presses(medians), between, &setup)
                .map(|r| (r.low_count, r.high_count))
        };
        assert_eq!(rung(&[552.0, 551.0, 552.0], None), Some((548.0, 556.0)));
        assert_eq!(rung(&[552.0, 542.0, 552.0], None), Some((540.0, 564.0)));
        assert_eq!(rung(&[552.0], Some(3.0)), Some((543.0, 561.0)));
        assert_eq!(rung(&[], None), None);
    }

    #[test]
    fn the_spread_between_presses_is_pooled_by_degrees_of_freedom() {
        // Squares about the means: 2, 8 and 0 over 1 + 1 + 2 degrees: √(10/4).
        let buttons = [presses(&[10.0, 12.0]), presses(&[20.0, 24.0]), presses(&[7.0, 7.0, 7.0])];
        let pooled = between_count(buttons.iter().map(Vec::as_slice)).unwrap();
        assert!((pooled - 2.5_f64.sqrt()).abs() < 1e-12);
        assert_eq!(between_count(buttons[..2].iter().map(Vec::as_slice)), None);
    }
}
