//! Two bell curves on the count axis: how much of one lies past a point, where to cut between
//! two of them, and how often that cut is wrong. Knows no buttons.

use statrs::function::erf::erfc;

/// The upper tail of the standard normal distribution, `Q(x) = P(Z > x)`.
///
/// Any `x`; NaN gives NaN. Checked against Abramowitz & Stegun, table 26.1.
#[must_use]
pub fn upper_tail(x: f64) -> f64 {
    0.5 * erfc(x / std::f64::consts::SQRT_2)
}

/// A normal distribution on the count axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Normal {
    /// Its mean, in counts.
    pub mean_count: f64,
    /// Its standard deviation, in counts; above 0.
    pub sigma_count: f64,
}

impl Normal {
    /// The share of readings at or above `count`.
    #[must_use]
    pub fn above(&self, count: f64) -> f64 {
        upper_tail((count - self.mean_count) / self.sigma_count)
    }

    /// The share of readings below `count`.
    #[must_use]
    pub fn below(&self, count: f64) -> f64 {
        upper_tail((self.mean_count - count) / self.sigma_count)
    }
}

/// Where to cut between two distributions of equal prior so that misreadings cost least.
///
/// `cost_ratio` is what it costs to take a reading of `upper` for `lower`, over what the opposite
/// costs: 1 gives the least error, more moves the cut down. With equal spreads that is the
/// midpoint, less `σ² · ln(cost_ratio) / (upper − lower)`; else the root of the quadratic in which
/// the likelihoods' ratio equals `cost_ratio`, on the branch where `lower` gives way to `upper`
/// (Fukunaga, Introduction to Statistical Pattern Recognition, chapter 3).
///
/// `None` where there is no such cut: one distribution is likelier everywhere, or a number is not
/// finite, a spread or the ratio not above 0, or `upper` does not lie above `lower`.
#[must_use]
pub fn minimum_error_threshold(lower: Normal, upper: Normal, cost_ratio: f64) -> Option<f64> {
    let apart = upper.mean_count - lower.mean_count;
    let usable = [apart, lower.sigma_count, upper.sigma_count, cost_ratio]
        .iter()
        .all(|number| number.is_finite() && *number > 0.0);
    if !usable {
        return None;
    }
    // With x counted from the lower mean, ln(lower / upper) − ln(cost_ratio) = a·x² + b·x + c.
    let lower_weight = 1.0 / lower.sigma_count.powi(2);
    let upper_weight = 1.0 / upper.sigma_count.powi(2);
    let a = 0.5 * (upper_weight - lower_weight);
    let b = -apart * upper_weight;
    let c =
        0.5 * apart * apart * upper_weight + (upper.sigma_count / lower.sigma_count).ln() - cost_ratio.ln();
    let discriminant = b * b - 4.0 * a * c;
    if discriminant < 0.0 {
        return None;
    }
    // The falling root, in the form that stays exact as a goes to 0: b is negative.
    let at = lower.mean_count + 2.0 * c / (-b + discriminant.sqrt());
    at.is_finite().then_some(at)
}

/// The mean share of readings taken for the wrong one of two equally frequent distributions when
/// cut at `threshold`.
#[must_use]
pub fn mean_error(lower: Normal, upper: Normal, threshold: f64) -> f64 {
    0.5 * (lower.above(threshold) + upper.below(threshold))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normal(mean_count: f64, sigma_count: f64) -> Normal {
        Normal { mean_count, sigma_count }
    }

    fn near(value: f64, wanted: f64, within: f64) {
        assert!((value - wanted).abs() <= within, "{value} instead of {wanted} ± {within}");
    }

    /// Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.1 (from memory).
    #[test]
    fn the_upper_tail_agrees_with_the_handbook() {
        for (x, q) in
            [(0.0, 0.5), (2.0, 0.02275), (3.0, 1.350e-3), (4.0, 3.167e-5), (5.0, 2.867e-7), (6.0, 9.866e-10)]
        {
            near(upper_tail(x) / q, 1.0, 5e-4);
        }
    }

    /// FACTS C18: Fukunaga, Introduction to Statistical Pattern Recognition, example 4 and table 3-1: two
    /// classes N(−1, 1) and N(+1, 1).
    #[test]
    fn the_threshold_moves_with_the_cost_as_in_the_textbook() {
        let (lower, upper) = (normal(-1.0, 1.0), normal(1.0, 1.0));
        let table = [
            (4.0, -0.693, 0.0452),
            (2.0, -0.347, 0.0891),
            (1.0, 0.0, 0.1587),
            (0.5, 0.347, 0.2567),
            (0.25, 0.693, 0.3795),
        ];
        for (ratio, at, upper_error) in table {
            let threshold = minimum_error_threshold(lower, upper, ratio).unwrap();
            near(threshold, at, 5e-4);
            near(upper.below(threshold), upper_error, 5e-5);
        }
        near(mean_error(lower, upper, 0.0), 0.1587, 5e-5);
    }

    /// FACTS C19: Fukunaga, chapter 3: with equal spreads and costs the threshold is the midpoint.
    #[test]
    fn equal_spreads_are_cut_in_the_middle() {
        for (low, high, sigma) in [(492.0, 552.0, 1.2), (0.0, 1.0, 40.0), (1000.0, 1023.0, 0.3)] {
            let at = minimum_error_threshold(normal(low, sigma), normal(high, sigma), 1.0).unwrap();
            near(at, f64::midpoint(low, high), 1e-9);
        }
    }

    /// FACTS C20: N(100, 2) against N(120, 6), the quadratic of Fukunaga, chapter 3, worked by hand.
    #[test]
    fn unequal_spreads_are_cut_nearer_to_the_narrow_one() {
        let (lower, upper) = (normal(100.0, 2.0), normal(120.0, 6.0));
        let at = minimum_error_threshold(lower, upper, 1.0).unwrap();
        near(at, 105.6325, 5e-5);
        near(mean_error(lower, upper, at), 0.005375, 5e-7);
        near(mean_error(lower, upper, 110.0), 0.0239, 5e-5);
    }

    #[test]
    fn no_other_cut_has_less_error() {
        for (sigma_low, sigma_high) in [(1.0, 1.0), (0.5, 4.0), (4.0, 0.5), (2.0, 2.000_000_1)] {
            let (lower, upper) = (normal(100.0, sigma_low), normal(108.0, sigma_high));
            let at = minimum_error_threshold(lower, upper, 1.0).unwrap();
            let least = mean_error(lower, upper, at);
            for step in 0..=800 {
                let tried = 100.0 + f64::from(step) / 100.0;
                assert!(mean_error(lower, upper, tried) >= least - 1e-12, "{tried} beats {at}");
            }
        }
    }

    #[test]
    fn there_is_no_cut_between_what_is_not_apart() {
        let one = normal(500.0, 2.0);
        assert_eq!(minimum_error_threshold(one, one, 1.0), None);
        assert_eq!(minimum_error_threshold(one, normal(499.0, 2.0), 1.0), None);
        assert_eq!(minimum_error_threshold(one, normal(520.0, 0.0), 1.0), None);
        assert_eq!(minimum_error_threshold(one, normal(520.0, f64::NAN), 1.0), None);
        assert_eq!(minimum_error_threshold(one, normal(f64::INFINITY, 1.0), 1.0), None);
        assert_eq!(minimum_error_threshold(one, normal(520.0, 1.0), 0.0), None);
        // So dear to take the narrow one for the wide one that the wide one is never chosen.
        assert_eq!(minimum_error_threshold(normal(500.0, 9.0), normal(501.0, 8.0), 1e-6), None);
    }
}
