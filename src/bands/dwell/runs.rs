//! Runs of equal outcomes in independent trials: how long until one comes, and how likely one is. What a
//! dwell would do against readings that are wrong one by one and know nothing of each other. Slow presses
//! know: their readings are wrong together, and it is the settle limit that stands against them.
//! Knows no readings.
//!
//! Feller, *An Introduction to Probability Theory and Its Applications*, vol. 1, third edition 1968,
//! chapter XIII.7.

/// The mean wait, in trials, until `run` successes in a row have come, each of them with probability
/// `share`, from 0 to 1: (1 - pʳ) / (q pʳ) (Feller, XIII.7, equation 7.7). Infinite where none can come.
#[must_use]
pub fn mean_wait(share: f64, run: u32) -> f64 {
    let share = share.clamp(0.0, 1.0);
    let whole = share.powi(run.min(i32::MAX as u32) as i32);
    if share >= 1.0 {
        return f64::from(run);
    }
    if whole <= 0.0 {
        return f64::INFINITY;
    }
    (1.0 - whole) / ((1.0 - share) * whole)
}

/// The probability that `trials` independent trials have `run` successes in a row somewhere, each a
/// success with probability `share`, from 0 to 1. Exact, by recursion over the trial at which the first
/// such run ends: it ends at `n` where the `run` before were successes, the one before those was none, and
/// no run had ended until then. Its cost grows with the trials.
#[must_use]
pub fn chance_of_run(share: f64, run: u32, trials: u64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    let Ok(length) = usize::try_from(run) else { return 0.0 };
    if length == 0 {
        return 1.0;
    }
    if trials < u64::from(run) {
        return 0.0;
    }
    let whole = share.powi(run.min(i32::MAX as u32) as i32);
    let end = whole * (1.0 - share);
    // by[n % (run + 1)]: the chance that a run has ended by trial n.
    let mut by = vec![0.0; length + 1];
    let at = |trial: u64| (trial % (u64::from(run) + 1)) as usize;
    by[at(u64::from(run))] = whole;
    for trial in u64::from(run) + 1..=trials {
        let before = by[at(trial - 1)];
        // One trial more, and the oldest kept is the one before the run that might end now.
        let until = by[at(trial - u64::from(run) - 1)];
        by[at(trial)] = before + end * (1.0 - until);
    }
    by[at(trials)].min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_heads_are_as_likely_as_in_feller() {
        // FACTS C22: Feller 1968, p. 300, via MathWorld "Run".
        for (run, trials, wanted) in [(3, 8, 107.0 / 256.0), (2, 8, 201.0 / 256.0), (3, 5, 8.0 / 32.0)] {
            let found = chance_of_run(0.5, run, trials);
            assert!((found - wanted).abs() < 1e-12, "{run} of {trials}: {found}");
        }
        // FACTS C24: 100 tosses, six heads or more, by exact recursion.
        assert!((chance_of_run(0.5, 6, 100) - 0.546_09).abs() < 5e-6);
    }

    #[test]
    fn the_mean_wait_for_heads_in_a_row_is_fellers() {
        // FACTS C23: Feller, vol. 1, XIII.7.
        for (run, wanted) in (1..=6).zip([2.0, 6.0, 14.0, 30.0, 62.0, 126.0]) {
            assert!((mean_wait(0.5, run) - wanted).abs() < 1e-9);
        }
        // FACTS C25: a hundredth a reading, four in a row.
        assert!((mean_wait(0.01, 4) / 1.0101e8 - 1.0).abs() < 1e-5);
        let found = chance_of_run(0.01, 4, 36_000);
        assert!((found - 3.56e-4).abs() < 5e-7, "{found}");
    }

    #[test]
    fn every_short_row_of_trials_counted_one_by_one_agrees() {
        // All outcomes of up to twelve trials of a biased coin, added up.
        for share in [0.1_f64, 0.37, 0.9] {
            for run in 1..=5_u32 {
                for trials in 0..=12_u32 {
                    let mut counted = 0.0;
                    for outcome in 0..1_u32 << trials {
                        let longest = (0..trials).fold((0_u32, 0_u32), |(now, most), at| {
                            let now = if outcome >> at & 1 == 1 { now + 1 } else { 0 };
                            (now, most.max(now))
                        });
                        if longest.1 >= run {
                            let heads = outcome.count_ones() as i32;
                            counted += share.powi(heads) * (1.0 - share).powi(trials as i32 - heads);
                        }
                    }
                    let found = chance_of_run(share, run, trials.into());
                    assert!((found - counted).abs() < 1e-12, "{share} {run} {trials}: {found}, {counted}");
                }
            }
        }
    }

    #[test]
    fn what_cannot_come_is_waited_for_without_end() {
        assert_eq!(mean_wait(0.0, 3), f64::INFINITY);
        assert_eq!(mean_wait(1.0, 3), 3.0);
        assert_eq!(chance_of_run(0.0, 3, 1_000), 0.0);
        assert_eq!(chance_of_run(1.0, 3, 3), 1.0);
        assert_eq!(chance_of_run(0.5, 0, 0), 1.0);
    }
}
