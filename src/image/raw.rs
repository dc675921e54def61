//! Timings that no family explains, cut down to a few durations. Knows no bytes.
//!
//! A timing is kept in steps of 2 µs. Where a code has eight distinct ones or fewer, each is kept as it
//! is. Otherwise those near each other become one: no timing moves by more than [`MOST_SHARE`] of
//! itself, or [`MOST_US`] where that is more, and by no more than it takes to come down to eight.

use std::collections::BTreeMap;

use super::codes::{DISTINCT_MAX, PERIOD_STEP_US};
use super::model::RawRecord;

/// A timing goes in steps of this, in microseconds.
pub(super) const RAW_STEP_US: f64 = 2.0;
/// The shortest mark or space that is sent, in microseconds: `SW_LEAST_PULSE_US` of the firmware.
pub(super) const LEAST_PULSE_US: f64 = 50.0;
/// The most a timing moves, as a share of it: well within the 18 % that receivers of the families take.
pub const MOST_SHARE: f64 = 0.10;
/// The most a short timing moves, in microseconds: half a cycle and a little more of a 36 kHz carrier,
/// which is how finely a receiver cuts.
pub const MOST_US: f64 = 20.0;

/// The tolerance is widened in so many steps, so that nothing moves further than it must.
const TRIES: u32 = 16;

/// Why timings don't fit. The first sentence says what, the rest what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum RawFault {
    #[error(
        "Timing {position} is {us} µs, {} µs shorter than the {LEAST_PULSE_US} µs that can be sent. Capture the code again.",
        LEAST_PULSE_US - us
    )]
    Short { position: usize, us: f64 },
    #[error(
        "It has {distinct} distinct durations even where those within {} % are taken as one, {} more than the {DISTINCT_MAX} that fit. Capture it again with the remote held still and near, or choose a family.",
        MOST_SHARE * 100.0, distinct - DISTINCT_MAX
    )]
    Distinct { distinct: usize },
    #[error(
        "It repeats every {period_us} µs, and {} µs is the longest that can be kept. Repeat it sooner, or send it once.",
        f64::from(u16::MAX) * PERIOD_STEP_US
    )]
    LongPeriod { period_us: f64 },
    #[error(
        "It repeats every {period_us} µs and lasts {total_us} µs, which leaves less than {LEAST_PULSE_US} µs between two frames. Repeat it later, or send it once."
    )]
    Tight { period_us: f64, total_us: f64 },
}

/// Timings as the image keeps them. They have passed `remote::encode`.
pub(super) fn record(pulses_us: &[f64], repeat_us: Option<f64>) -> Result<RawRecord, RawFault> {
    if let Some(at) = pulses_us.iter().position(|&us| steps(us) < steps(LEAST_PULSE_US)) {
        return Err(RawFault::Short { position: at + 1, us: pulses_us[at] });
    }
    let (durations, symbols) = few(pulses_us)?;
    let mut record = RawRecord { durations, symbols, period: 0 };
    if let Some(period_us) = repeat_us {
        let asked_us: f64 = pulses_us.iter().sum();
        if period_us < asked_us + LEAST_PULSE_US {
            return Err(RawFault::Tight { period_us, total_us: asked_us });
        }
        let total_us: f64 = record.steps().map(|steps| f64::from(steps) * RAW_STEP_US).sum();
        // Joining durations may have made the frame a little longer.
        let least = ((total_us + LEAST_PULSE_US) / PERIOD_STEP_US).ceil();
        let period = (period_us / PERIOD_STEP_US).round().max(least);
        if period > f64::from(u16::MAX) {
            return Err(RawFault::LongPeriod { period_us });
        }
        record.period = period as u16;
    }
    Ok(record)
}

fn steps(us: f64) -> u16 {
    // Held at the ends by the cast.
    (us / RAW_STEP_US).round() as u16
}

/// The durations, and which of them each timing is.
fn few(pulses_us: &[f64]) -> Result<(Vec<u16>, Vec<u8>), RawFault> {
    let mut often: BTreeMap<u16, f64> = BTreeMap::new();
    for &us in pulses_us {
        *often.entry(steps(us)).or_default() += 1.0;
    }
    let mut clusters = clusters(&often, 0.0);
    for tried in 1..=TRIES {
        if clusters.len() <= DISTINCT_MAX {
            break;
        }
        clusters = self::clusters(&often, f64::from(tried) / f64::from(TRIES));
    }
    if clusters.len() > DISTINCT_MAX {
        return Err(RawFault::Distinct { distinct: clusters.len() });
    }
    let symbol = |us: &f64| {
        let at = clusters.iter().position(|cluster| cluster.last >= steps(*us)).unwrap_or(0);
        at as u8
    };
    let symbols = pulses_us.iter().map(symbol).collect();
    Ok((clusters.iter().map(|cluster| cluster.centre).collect(), symbols))
}

/// Durations taken as one.
struct Cluster {
    last: u16,
    centre: u16,
}

/// The fewest clusters of which no member moves by more than its tolerance, times `scale`: the
/// intervals round the durations are stabbed from the left, each as far right as it allows.
fn clusters(often: &BTreeMap<u16, f64>, scale: f64) -> Vec<Cluster> {
    let reach = |steps: u16| (f64::from(steps) * MOST_SHARE).max(MOST_US / RAW_STEP_US) * scale;
    let durations: Vec<(u16, f64)> = often.iter().map(|(&steps, &times)| (steps, times)).collect();
    let mut clusters = Vec::new();
    let mut at = 0;
    while let Some(&(first, _)) = durations.get(at) {
        let furthest = f64::from(first) + reach(first);
        let members =
            durations[at..].iter().take_while(|(steps, _)| f64::from(*steps) - reach(*steps) <= furthest);
        let members: Vec<(u16, f64)> = members.copied().collect();
        let last = members.last().map_or(first, |(steps, _)| *steps);
        let times: f64 = members.iter().map(|(_, times)| times).sum();
        let mean = members.iter().map(|(steps, times)| f64::from(*steps) * times).sum::<f64>() / times;
        // The mean, held where the outermost members still reach.
        let centre = mean.max(f64::from(last) - reach(last)).min(furthest);
        clusters.push(Cluster { last, centre: centre.round() as u16 });
        at += members.len();
    }
    clusters
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn kept(record: &RawRecord) -> Vec<f64> {
        record.steps().map(|steps| f64::from(steps) * RAW_STEP_US).collect()
    }

    #[test]
    fn a_code_of_eight_durations_or_fewer_is_kept_as_it_is() {
        let pulses = [9000.0, 4500.0, 562.0, 562.0, 562.0, 1688.0, 564.0, 2250.0, 600.0, 3000.0, 562.0];
        let record = record(&pulses, None).unwrap();
        assert_eq!(kept(&record), pulses);
        assert_eq!(record.durations.len(), 8);
        // 11 timings: 4 + 16 + 5.
        assert_eq!(record.bytes(), 25);
    }

    #[test]
    fn a_captured_code_comes_down_to_the_durations_it_is_made_of() {
        // NEC timing as a receiver gives it, every timing a little off.
        let mut pulses = vec![9012.0, 4478.0];
        for bit in 0..32_u32 {
            pulses.push(590.0 + f64::from(bit * 7 % 23));
            pulses.push(if bit % 3 == 0 { 1640.0 } else { 520.0 } + f64::from(bit * 11 % 37));
        }
        pulses.push(588.0);
        let record = record(&pulses, Some(108_000.0)).unwrap();
        assert!(record.durations.len() <= 8, "{:?}", record.durations);
        for (was, is) in pulses.iter().zip(kept(&record)) {
            assert!((was - is).abs() <= (was * MOST_SHARE).max(MOST_US) + RAW_STEP_US, "{was} became {is}");
        }
        assert_eq!(record.period, 6_750);
    }

    #[test]
    fn what_does_not_fit_says_by_how_much() {
        let said = |pulses: &[f64], repeat| record(pulses, repeat).unwrap_err().to_string();
        assert_eq!(
            said(&[900.0, 46.0, 500.0], None),
            "Timing 2 is 46 µs, 4 µs shorter than the 50 µs that can be sent. Capture the code again."
        );
        let spread: Vec<f64> = (0..11).map(|n| 300.0 * 1.4_f64.powi(n)).collect();
        assert_eq!(
            said(&spread, None),
            "It has 11 distinct durations even where those within 10 % are taken as one, 3 more than the 8 \
             that fit. Capture it again with the remote held still and near, or choose a family."
        );
        assert_eq!(
            said(&[900.0], Some(2e6)),
            "It repeats every 2000000 µs, and 1048560 µs is the longest that can be kept. Repeat it sooner, \
             or send it once."
        );
        assert_eq!(
            said(&[900.0], Some(920.0)),
            "It repeats every 920 µs and lasts 900 µs, which leaves less than 50 µs between two frames. \
             Repeat it later, or send it once."
        );
    }

    proptest! {
        #[test]
        fn no_timing_moves_by_more_than_is_said(
            half in proptest::collection::vec(50.0_f64..125_000.0, 0..99),
            repeats in any::<bool>(),
        ) {
            let mut pulses = half.clone();
            pulses.push(600.0);
            pulses.extend(half.iter().rev());
            let total: f64 = pulses.iter().sum();
            match record(&pulses, repeats.then_some(total + 60.0)) {
                Ok(record) => {
                    prop_assert_eq!(record.symbols.len(), pulses.len());
                    prop_assert!(record.durations.len() <= DISTINCT_MAX);
                    for (was, is) in pulses.iter().zip(kept(&record)) {
                        prop_assert!((was - is).abs() <= (was * MOST_SHARE).max(MOST_US) + RAW_STEP_US);
                    }
                }
                Err(RawFault::Distinct { distinct }) => prop_assert!(distinct > DISTINCT_MAX),
                Err(RawFault::LongPeriod { period_us }) => prop_assert!(period_us > 1_048_000.0),
                Err(other) => prop_assert!(false, "{other}"),
            }
        }
    }
}
