//! Numbers that carry their slopes along: what a device's current does as its two voltages move, exact and
//! without a formula of its own. Knows no device.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value, and how it moves with the voltage at the control electrode and at the collector.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Slope {
    /// The value.
    pub(super) value: f64,
    /// Its slope per volt at the control electrode, and at the collector.
    pub(super) by: [f64; 2],
}

impl Slope {
    /// What doesn't move.
    pub(super) const fn fixed(value: f64) -> Self {
        Self { value, by: [0.0; 2] }
    }

    /// The voltage at the control electrode.
    pub(super) const fn control(volt: f64) -> Self {
        Self { value: volt, by: [1.0, 0.0] }
    }

    /// The voltage at the collector.
    pub(super) const fn collector(volt: f64) -> Self {
        Self { value: volt, by: [0.0, 1.0] }
    }

    /// A function of it, from the function's value and slope there.
    fn through(self, value: f64, slope: f64) -> Self {
        Self { value, by: self.by.map(|by| by * slope) }
    }

    /// e to it. Beyond [`STEEPEST`] it goes on as a straight line, so that a first guess far off stays a
    /// number.
    pub(super) fn exp(self) -> Self {
        let steep = self.value.min(STEEPEST).exp();
        self.through(steep * (1.0 + (self.value - STEEPEST).max(0.0)), steep)
    }

    /// Its square root; it is above 0.
    pub(super) fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.through(root, 0.5 / root)
    }

    /// It to a fixed power; it is above 0.
    pub(super) fn powf(self, power: f64) -> Self {
        self.through(self.value.powf(power), power * self.value.powf(power - 1.0))
    }
}

/// Where [`Slope::exp`] becomes a straight line: no junction of a solution comes near.
const STEEPEST: f64 = 80.0;

impl Add for Slope {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { value: self.value + other.value, by: pairwise(self.by, other.by, |a, b| a + b) }
    }
}

impl Sub for Slope {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Neg for Slope {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}

#[expect(clippy::suspicious_arithmetic_impl, reason = "the product rule adds")]
impl Mul for Slope {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            by: pairwise(self.by, other.by, |a, b| a * other.value + b * self.value),
        }
    }
}

impl Mul<f64> for Slope {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        self.through(self.value * factor, factor)
    }
}

#[expect(clippy::suspicious_arithmetic_impl, reason = "the quotient rule subtracts and multiplies")]
impl Div for Slope {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let value = self.value / other.value;
        Self { value, by: pairwise(self.by, other.by, |a, b| (a - b * value) / other.value) }
    }
}

fn pairwise(a: [f64; 2], b: [f64; 2], of: impl Fn(f64, f64) -> f64) -> [f64; 2] {
    let ([a0, a1], [b0, b1]) = (a, b);
    [of(a0, b0), of(a1, b1)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the difference of two nearby values.
    #[test]
    fn a_slope_is_what_the_value_does_nearby() {
        let of = |x: f64, y: f64| {
            let (x, y) = (Slope::control(x), Slope::collector(y));
            (x * y - x / y + (x * 0.5).exp() * y.sqrt()) * y.powf(-0.4) + Slope::fixed(3.0)
        };
        let (x, y, step) = (0.7, 1.9, 1e-6);
        let nearby = [
            (of(x + step, y).value - of(x - step, y).value) / (2.0 * step),
            (of(x, y + step).value - of(x, y - step).value) / (2.0 * step),
        ];
        for (ours, theirs) in of(x, y).by.into_iter().zip(nearby) {
            assert!((ours - theirs).abs() < 1e-7, "{ours} {theirs}");
        }
    }

    #[test]
    fn a_first_guess_far_off_stays_a_number() {
        let far = Slope::control(1e4).exp();
        assert!(far.value.is_finite() && far.by[0].is_finite() && far.by[0] > 0.0);
    }
}
