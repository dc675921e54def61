//! How often a press is ignored, or taken for another button: one bell curve over the bands of a wire,
//! where it was learned and where it can drift to. Knows no circuit and no names.
//!
//! A press reads whole counts about its centre with the band's standard deviation, so a band from 540 to
//! 614 takes what lies from 539.5 to 614.5 of the bell. Nothing is promised of its far tails: past six
//! standard deviations no converter, contact or hand is a bell, and [`odds_text`] stops at 1 in a billion.

use crate::circuit::Shift;
use crate::units::TOP_COUNT;

use super::band::{Accept, Rung};
use super::gaussian::Normal;

/// The chances of one press going wrong, each 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Chance {
    /// Of being ignored, as it was learned.
    pub ignored: f64,
    /// Of being taken for another button, as it was learned.
    pub taken: f64,
    /// Of being ignored, at the worst of what the circuit can drift.
    pub drifted_ignored: f64,
    /// Of being taken for another, at the worst.
    pub drifted_taken: f64,
    /// The button it would most likely be taken for, at the worst; `None` where that is none.
    pub taken_for: Option<Rung>,
}

/// Half a count: how far a whole count reaches on the line.
const HALF_COUNT: f64 = 0.5;

/// The share of readings that a band takes. A band at an end of the scale takes what lies beyond it, for
/// the converter clips it there.
fn share_in(reading: Normal, accept: Accept) -> f64 {
    let low =
        if accept.low_count == 0 { f64::NEG_INFINITY } else { f64::from(accept.low_count) - HALF_COUNT };
    let top = f64::from(accept.high_count) >= TOP_COUNT;
    let high = if top { f64::INFINITY } else { f64::from(accept.high_count) + HALF_COUNT };
    share_between(reading, low, high)
}

/// The share of readings from `low` to `high`: by the tails on the side where they are small, or a chance
/// of 1 in a billion would drown in rounding.
fn share_between(reading: Normal, low: f64, high: f64) -> f64 {
    if low >= high {
        return 0.0;
    }
    if reading.mean_count > high {
        (reading.below(high) - reading.below(low)).max(0.0)
    } else if reading.mean_count < low {
        (reading.above(low) - reading.above(high)).max(0.0)
    } else {
        (1.0 - reading.below(low) - reading.above(high)).clamp(0.0, 1.0)
    }
}

/// The chances of a reading about `mean_count` being nobody's, and being another's: `own` is the place of
/// its own band among `bands`, the buttons' bands of its wire, upwards and not overlapping.
///
/// Checked against SciPy (`tests/golden/chance`).
#[must_use]
pub fn misread(mean_count: f64, sigma_count: f64, own: usize, bands: &[Accept]) -> (f64, f64) {
    let reading = Normal { mean_count, sigma_count };
    if !(sigma_count > 0.0 && mean_count.is_finite()) {
        return (0.0, 0.0);
    }
    let others = bands.iter().enumerate().filter(|&(index, _)| index != own);
    let taken: f64 = others.map(|(_, &accept)| share_in(reading, accept)).sum();
    // What no band takes, piece by piece.
    let (mut ignored, mut from) = (0.0, f64::NEG_INFINITY);
    for accept in bands {
        if accept.low_count > 0 {
            ignored += share_between(reading, from, f64::from(accept.low_count) - HALF_COUNT);
        }
        from = f64::from(accept.high_count) + HALF_COUNT;
    }
    if from < TOP_COUNT {
        ignored += share_between(reading, from, f64::INFINITY);
    }
    (ignored.clamp(0.0, 1.0), taken.clamp(0.0, 1.0))
}

/// Both chances of a rung, and for whom it would be taken. `bands` as for [`misread`], with the rung each
/// belongs to.
pub(super) fn chance_of(
    centre_count: f64,
    sigma_count: f64,
    drift: Shift,
    own: usize,
    bands: &[(Rung, Accept)],
) -> Chance {
    let accepts: Vec<Accept> = bands.iter().map(|&(_, accept)| accept).collect();
    let (ignored, taken) = misread(centre_count, sigma_count, own, &accepts);
    let (low, high) = (centre_count - drift.down_count, centre_count + drift.up_count);
    let mut found =
        Chance { ignored, taken, drifted_ignored: ignored, drifted_taken: taken, taken_for: None };
    // The worst is at an end of the drift, or on the way where it crosses another's band or a gap.
    let middles = accepts.iter().map(|a| f64::midpoint(a.low_count.into(), a.high_count.into()));
    let gaps =
        accepts.windows(2).map(|pair| f64::midpoint(pair[0].high_count.into(), pair[1].low_count.into()));
    for at in [low, high].into_iter().chain(middles).chain(gaps).filter(|at| (low..=high).contains(at)) {
        let (ignored, taken) = misread(at, sigma_count, own, &accepts);
        found.drifted_ignored = found.drifted_ignored.max(ignored);
        if taken > found.drifted_taken {
            found.drifted_taken = taken;
            let reading = Normal { mean_count: at, sigma_count };
            let likeliest = bands
                .iter()
                .enumerate()
                .filter(|&(index, _)| index != own)
                .max_by(|a, b| share_in(reading, a.1.1).total_cmp(&share_in(reading, b.1.1)));
            found.taken_for = likeliest.map(|(_, &(rung, _))| rung);
        }
    }
    found
}

/// Below this a chance is no longer told: 1 in a billion.
const LEAST_TOLD: f64 = 1e-9;

/// A chance in words: `1 in 40 million`, `1 in 3`, `under 1 in a billion`; two figures, no more is known.
#[must_use]
pub fn odds_text(chance: f64) -> String {
    if chance.is_nan() {
        return "not known".to_owned();
    }
    if chance < LEAST_TOLD {
        return "under 1 in a billion".to_owned();
    }
    if chance > 0.95 {
        return "nearly every".to_owned();
    }
    if chance > 0.4 {
        return "every other".to_owned();
    }
    let of = 1.0 / chance;
    let step = 10_f64.powf(of.log10().floor() - 1.0);
    let of = if of < 10.0 { of.round() } else { (of / step).round() * step };
    match of {
        of if of >= 1e9 => "1 in a billion".to_owned(),
        of if of >= 1e6 => format!("1 in {} million", trimmed(of / 1e6)),
        of if of >= 1e4 => format!("1 in {} thousand", trimmed(of / 1e3)),
        of => format!("1 in {of:.0}"),
    }
}

fn trimmed(value: f64) -> String {
    if value < 9.95 && (value - value.round()).abs() > 0.04 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn accept(low_count: u16, high_count: u16) -> Accept {
        Accept { low_count, high_count }
    }

    #[test]
    fn odds_are_told_in_two_figures() {
        for (chance, said) in [
            (0.0, "under 1 in a billion"),
            (4e-10, "under 1 in a billion"),
            (1e-9, "1 in a billion"),
            (2.5e-8, "1 in 40 million"),
            (4.1e-7, "1 in 2.4 million"),
            (1.0 / 31_574.0, "1 in 32 thousand"),
            (1.0 / 5_230.0, "1 in 5200"),
            (0.022_75, "1 in 44"),
            (0.3, "1 in 3"),
            (0.5, "every other"),
            (1.0, "nearly every"),
            (f64::NAN, "not known"),
        ] {
            assert_eq!(odds_text(chance), said, "{chance}");
        }
    }

    #[test]
    fn the_chances_of_own_band_and_the_rest_add_up_to_one() {
        let bands = [accept(0, 90), accept(110, 130), accept(140, 1_023)];
        for (mean, sigma) in [(95.0, 7.0), (120.0, 3.0), (-40.0, 20.0), (1_200.0, 50.0), (135.0, 90.0)] {
            let reading = Normal { mean_count: mean, sigma_count: sigma };
            for own in 0..3 {
                let (ignored, taken) = misread(mean, sigma, own, &bands);
                let all = ignored + taken + share_in(reading, bands[own]);
                assert!((all - 1.0).abs() < 1e-12, "{mean} {sigma} {own}: {all}");
            }
        }
    }

    #[test]
    fn what_drifts_across_a_narrow_band_is_found_on_the_way() {
        let bands = [
            (Rung::Button(0), accept(90, 110)),
            (Rung::Button(1), accept(120, 130)),
            (Rung::Button(2), accept(200, 210)),
        ];
        let drift = Shift { down_count: 0.0, up_count: 60.0 };
        let chance = chance_of(100.0, 1.0, drift, 0, &bands);
        assert!(chance.taken < 1e-9 && chance.drifted_taken > 0.99, "{chance:?}");
        assert_eq!(chance.taken_for, Some(Rung::Button(1)));
        assert!(chance.drifted_ignored > 0.99, "the gap at 160 ignores it: {chance:?}");
    }

    #[test]
    fn nonsense_has_no_chance() {
        assert_eq!(misread(f64::NAN, 1.0, 0, &[accept(1, 2)]), (0.0, 0.0));
        assert_eq!(misread(5.0, 0.0, 0, &[accept(1, 2)]), (0.0, 0.0));
        assert_eq!(misread(5.0, 1.0, 0, &[]), (1.0, 0.0));
    }
}
