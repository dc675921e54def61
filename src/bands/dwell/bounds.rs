//! What a count of errors says of the errors that were not seen: exact binomial bounds. Knows no
//! recogniser.

use statrs::distribution::{Beta, ContinuousCDF};

/// How sure a bound is: common practice, no source.
pub const CONFIDENCE: f64 = 0.95;

/// The highest share of errors that `errors` out of `of` independent trials still allow with this
/// confidence, from 0 to 1, one-sided and exact: the Beta(errors + 1, of - errors) quantile (Clopper and
/// Pearson, "The use of confidence or fiducial limits illustrated in the case of the binomial",
/// Biometrika 26, 1934, p. 404). Without an error it is 1 - (1 - confidence)^(1/of). 1 without trials.
#[must_use]
pub fn upper_bound(errors: u32, of: u32, confidence: f64) -> f64 {
    if errors >= of {
        return 1.0;
    }
    let doubt = (1.0 - confidence).clamp(0.0, 1.0);
    if errors == 0 {
        return 1.0 - doubt.powf(1.0 / f64::from(of));
    }
    match Beta::new(f64::from(errors) + 1.0, f64::from(of - errors)) {
        Ok(beta) => polished(&beta, beta.inverse_cdf(1.0 - doubt).clamp(0.0, 1.0), 1.0 - doubt),
        Err(_) => 1.0,
    }
}

/// A quantile to the last digits: the library's is a bisection that ends early.
fn polished(beta: &Beta, near: f64, wanted: f64) -> f64 {
    const WIDTH: f64 = 1e-3;
    let (mut low, mut high) = ((near - WIDTH).max(0.0), (near + WIDTH).min(1.0));
    if beta.cdf(low) > wanted || beta.cdf(high) < wanted {
        (low, high) = (0.0, 1.0);
    }
    while high - low > f64::EPSILON * high.max(1e-3) {
        let middle = low.midpoint(high);
        if middle <= low || middle >= high {
            break;
        }
        if beta.cdf(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    low.midpoint(high)
}

/// How many trials without an error it takes until [`upper_bound`] is no more than `share`.
#[must_use]
pub fn trials_for(share: f64, confidence: f64) -> u32 {
    let trials = (1.0 - confidence).ln() / (-share).ln_1p();
    if trials.is_finite() && trials > 0.0 { trials.ceil().min(f64::from(u32::MAX)) as u32 } else { u32::MAX }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_without_an_error_are_those_of_the_rule_of_three() {
        // FACTS C26: 1 - 0.05^(1/n); 3/n is near for many.
        for (of, wanted) in [(10, 0.2589), (100, 0.029_51), (300, 0.009_94)] {
            assert!((upper_bound(0, of, 0.95) - wanted).abs() < 5e-5, "{of}");
        }
        assert_eq!(trials_for(0.01, 0.95), 299);
        assert!(upper_bound(0, 299, 0.95) <= 0.01 && upper_bound(0, 298, 0.95) > 0.01);
    }

    #[test]
    fn bounds_are_those_of_scipy() {
        // tests/golden/binomial/make.py: scipy.stats.beta.ppf.
        let golden = include_str!("../../../tests/golden/binomial/upper.csv");
        let mut compared = 0;
        for line in golden.lines().skip(1) {
            let fields: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
            let found = upper_bound(fields[0] as u32, fields[1] as u32, fields[2]);
            assert!((found / fields[3] - 1.0).abs() < 1e-9, "{line}: {found}");
            compared += 1;
        }
        assert!(compared >= 60, "{compared}");
    }

    /// The bound's own definition: at that rate, so many errors or fewer come up once in twenty.
    #[test]
    fn so_few_errors_come_up_once_in_twenty_at_the_bound() {
        use statrs::distribution::{Binomial, DiscreteCDF};
        for (errors, of) in [(0_u32, 84_u32), (1, 84), (3, 20), (7, 300), (19, 20)] {
            let rate = upper_bound(errors, of, 0.95);
            let chance = Binomial::new(rate, u64::from(of)).unwrap().cdf(u64::from(errors));
            assert!((chance - 0.05).abs() < 1e-9, "{errors} of {of}: {rate} gives {chance}");
        }
    }

    #[test]
    fn nothing_tried_and_nothing_but_errors_bound_nothing() {
        assert_eq!(upper_bound(0, 0, 0.95), 1.0);
        assert_eq!(upper_bound(7, 7, 0.95), 1.0);
        assert_eq!(upper_bound(9, 7, 0.95), 1.0);
        assert_eq!(trials_for(0.0, 0.95), u32::MAX);
    }
}
