//! The factor of a two-sided normal tolerance interval: how many standard deviations either side
//! of a mean of a few presses hold a stated share of all future readings, with a stated
//! confidence. Knows no counts and no buttons.
//!
//! The interval is `x̄ ± k·s`, where `x̄` is the mean of n presses and `s` has ν degrees of freedom
//! of its own, pooled over other buttons too. The exact factor is the k that solves
//!
//! ```text
//! confidence = ∫ φ(t) · P( χ²_ν ≥ ν·r(t/√n)² / k² ) dt
//! ```
//!
//! where `r(z)` is the half-width that holds the coverage when the mean is off by z standard
//! deviations: `Φ(z + r) − Φ(z − r) = coverage` (ISO 16269-6; Odeh & Owen, Tables for Normal
//! Tolerance Limits, 1980). The integrand is smooth and even and falls like a bell, for which
//! equally spaced nodes converge fastest: for 2 to 128 degrees of freedom the result agrees with
//! an adaptive quadrature to 1 part in 10⁵ (`tests/golden/tolerance`). From 500 degrees on the
//! integrand turns into a step and the factor comes out up to 1 % wide; no wheel has that many
//! presses. Howe's approximation, which the NIST/SEMATECH e-Handbook gives in section 7.2.6.3,
//! only starts the search: it holds for one sample with ν = n − 1, but with a pooled spread it is
//! off by −31 % to +22 % over the same table.

use statrs::distribution::{ChiSquared, ContinuousCDF};
use statrs::function::gamma::{checked_gamma_ur, ln_gamma};

use super::gaussian::upper_tail;

/// Between two nodes of the integral over the mean's error, in its standard deviations.
const STEP: f64 = 1.0 / 3.0;

/// Nodes on one side: the last lies at 6.3 standard deviations, past which lies 3 · 10⁻¹⁰.
const NODES: usize = 20;

/// Coverage and confidence are held within these, the range in which a project may choose them.
pub const SHARE_RANGE: (f64, f64) = (0.5, 0.999_999);

/// What a tolerance factor needs besides the degrees of freedom; the costly part of it, shared
/// between rungs with the same number of presses.
#[derive(Clone, Debug)]
pub struct Tolerance {
    coverage: f64,
    confidence: f64,
    presses: f64,
    /// Weight and required half-width of each node.
    nodes: [(f64, f64); NODES],
}

impl Tolerance {
    /// For an interval about the mean of `presses` (0 is taken as 1) that holds the share
    /// `coverage` of future readings with probability `confidence`; both are held within
    /// [`SHARE_RANGE`], and what is not a number is taken as the lower end.
    #[must_use]
    pub fn new(coverage: f64, confidence: f64, presses: u32) -> Self {
        let coverage = held(coverage);
        let confidence = held(confidence);
        let presses = f64::from(presses.max(1));
        let mut nodes = [(0.0, 0.0); NODES];
        let mut start = 0.0;
        let stride = STEP / presses.sqrt();
        for (index, node) in nodes.iter_mut().enumerate() {
            let t = index as f64 * STEP;
            let sides = if index == 0 { 1.0 } else { 2.0 };
            let density = (-0.5 * t * t).exp() / (2.0 * std::f64::consts::PI).sqrt();
            let half = half_width(coverage, t / presses.sqrt(), start + stride);
            *node = (sides * STEP * density, half);
            start = half;
        }
        Self { coverage, confidence, presses, nodes }
    }

    /// The exact factor for a spread with `freedom` degrees of freedom (held at 1 or more; whole
    /// or not).
    #[must_use]
    pub fn factor(&self, freedom: f64) -> f64 {
        let freedom = if freedom >= 1.0 { freedom } else { 1.0 };
        if freedom > 1e6 {
            return self.factor_of_known_spread();
        }
        let mut low = 0.0_f64;
        let mut high = f64::INFINITY;
        let mut k = howe_factor(self.coverage, self.confidence, self.presses, freedom);
        for _ in 0..60 {
            let (reached, slope) = self.confidence_of(k, freedom);
            let miss = reached - self.confidence;
            if miss > 0.0 {
                high = high.min(k);
            } else {
                low = low.max(k);
            }
            // Newton in ln k, held inside the bracket found so far.
            let mut next = k * (-miss / slope).clamp(-1.0, 1.0).exp();
            if !next.is_finite() || next <= low || next >= high {
                next = if high.is_finite() { f64::midpoint(low, high) } else { 2.0 * k };
            }
            let moved = (next - k).abs();
            k = next;
            if moved <= 1e-6 * k {
                break;
            }
        }
        k
    }

    /// The factor where the spread is known, or assumed, and only the mean is in doubt.
    #[must_use]
    pub fn factor_of_known_spread(&self) -> f64 {
        let off = tail_quantile(0.5 * (1.0 - self.confidence)) / self.presses.sqrt();
        half_width(self.coverage, off, off + self.nodes[0].1)
    }

    /// The confidence that `x̄ ± k·s` reaches, and its derivative by ln k.
    fn confidence_of(&self, k: f64, freedom: f64) -> (f64, f64) {
        let shape = 0.5 * freedom;
        let ln_gamma = ln_gamma(shape);
        self.nodes.iter().fold((0.0, 0.0), |(reached, slope), &(weight, half)| {
            let x = shape * (half / k).powi(2);
            let tail = if x > 0.0 { checked_gamma_ur(shape, x).unwrap_or(0.0) } else { 1.0 };
            let density = (shape * x.ln() - x - ln_gamma).exp();
            (reached + weight * tail, slope + 2.0 * weight * density)
        })
    }
}

/// Howe's approximation of the two-sided factor, `z · √(ν(1 + 1/n) / χ²)`, with the lower
/// `1 − confidence` quantile of χ² at ν degrees of freedom (NIST/SEMATECH e-Handbook, 7.2.6.3).
#[must_use]
pub fn howe_factor(coverage: f64, confidence: f64, presses: f64, freedom: f64) -> f64 {
    let z = tail_quantile(0.5 * (1.0 - held(coverage)));
    let chi = ChiSquared::new(freedom).map_or(f64::NAN, |chi| chi.inverse_cdf(1.0 - held(confidence)));
    z * (freedom * (1.0 + 1.0 / presses) / chi).sqrt()
}

/// Holds a coverage or confidence within its range.
fn held(share: f64) -> f64 {
    let (least, most) = SHARE_RANGE;
    if share.is_nan() { least } else { share.clamp(least, most) }
}

/// The x with `Q(x) = tail`, for tails of 10⁻⁷ to 0.5.
fn tail_quantile(tail: f64) -> f64 {
    half_width(1.0 - 2.0 * tail, 0.0, 1.0)
}

/// The half-width about a point `off` standard deviations from the mean that holds `coverage`.
///
/// Newton on the logarithm of what is left out, which is nearly a parabola, so that a coverage
/// close to 1 costs no digits. `start` must not lie below the answer, unless `off` is 0: towards
/// smaller half-widths the parabola holds, and the steps can't overshoot.
fn half_width(coverage: f64, off: f64, start: f64) -> f64 {
    let wanted = (1.0 - coverage).ln();
    let density = |x: f64| (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let mut half = start;
    for _ in 0..60 {
        let left_out = upper_tail(half - off) + upper_tail(half + off);
        let slope = -(density(half - off) + density(half + off)) / left_out;
        let step = (left_out.ln() - wanted) / slope;
        half = (half - step).max(1e-6);
        if step.abs() <= 1e-13 * half {
            break;
        }
    }
    half
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exact(coverage: f64, confidence: f64, presses: u32, freedom: f64) -> f64 {
        Tolerance::new(coverage, confidence, presses).factor(freedom)
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3: N = 43, coverage 0.90,
    /// confidence 0.99, χ² = 23.650, k = 2.217 by Howe's method, and Guenther's correction
    /// w = 1.0022 times that.
    #[test]
    fn the_handbooks_worked_example_comes_out() {
        let howe = howe_factor(0.90, 0.99, 43.0, 42.0);
        assert!((howe - 2.217).abs() < 5e-4, "{howe}");
        let chi = ChiSquared::new(42.0).unwrap().inverse_cdf(0.01);
        assert!((chi - 23.650).abs() < 5e-4, "{chi}");
        let guenther = howe * (1.0_f64 + (43.0 - 3.0 - chi) / (2.0 * 44.0_f64.powi(2))).sqrt();
        let factor = exact(0.90, 0.99, 43, 42.0);
        assert!((guenther - factor).abs() < 2e-3, "exact {factor}, corrected {guenther}");
    }

    /// Berthouex & Brown, Statistics for Environmental Engineers, table 21.1: two-sided tolerance
    /// factors at 95 % confidence for coverages of 0.90, 0.95 and 0.99, to two decimals.
    #[test]
    fn the_textbook_table_comes_out() {
        let table = [
            (4, [5.37, 6.34, 8.22]),
            (5, [4.29, 5.08, 6.60]),
            (6, [3.73, 4.42, 5.76]),
            (7, [3.39, 4.02, 5.24]),
            (8, [3.16, 3.75, 4.89]),
            (9, [2.99, 3.55, 4.63]),
            (10, [2.86, 3.39, 4.44]),
            (12, [2.67, 3.17, 4.16]),
            (20, [2.32, 2.76, 3.62]),
            (30, [2.15, 2.55, 3.35]),
            (60, [1.96, 2.34, 3.07]),
        ];
        for (n, factors) in table {
            for (coverage, printed) in [0.90, 0.95, 0.99].into_iter().zip(factors) {
                let k = exact(coverage, 0.95, n, f64::from(n - 1));
                assert!((k - printed).abs() < 0.0125, "n = {n}, {coverage}: {k}, printed {printed}");
            }
        }
    }

    /// Last line of the same table: with the spread and the mean known, the normal's own quantiles.
    #[test]
    fn with_endless_presses_the_factor_is_the_normal_quantile() {
        for (coverage, printed) in [(0.90, 1.64), (0.95, 1.96), (0.99, 2.58)] {
            let k = exact(coverage, 0.95, u32::MAX, f64::INFINITY);
            assert!((k - printed).abs() < 0.01, "{k}");
        }
    }

    #[test]
    fn a_known_spread_is_the_limit_of_many_degrees_of_freedom() {
        for presses in [1, 3, 9] {
            let tolerance = Tolerance::new(0.999, 0.95, presses);
            let many = tolerance.factor(9e5);
            let known = tolerance.factor_of_known_spread();
            assert!(many >= known && many < 1.01 * known, "{many}, known {known}");
        }
    }

    #[test]
    fn more_presses_and_less_confidence_narrow_the_interval() {
        let base = exact(0.999, 0.95, 3, 14.0);
        assert!(exact(0.999, 0.95, 4, 14.0) < base);
        assert!(exact(0.999, 0.95, 3, 20.0) < base);
        assert!(exact(0.999, 0.90, 3, 14.0) < base);
        assert!(exact(0.99, 0.95, 3, 14.0) < base);
    }

    #[test]
    fn absurd_settings_still_give_a_factor() {
        for share in [f64::NAN, -1.0, 0.0, 1.0, 7.0, f64::INFINITY, SHARE_RANGE.0, SHARE_RANGE.1] {
            for freedom in [f64::NAN, -3.0, 0.0, 0.5, 1.0, 2.5, 1e5, f64::INFINITY] {
                for presses in [0, 1, u32::MAX] {
                    let k = exact(share, share, presses, freedom);
                    assert!(k.is_finite() && k > 0.6, "{share} {freedom} {presses}: {k}");
                }
            }
        }
    }
}
