//! How much a reading of a button varies: the noise within a press, and the contact's own
//! resistance from press to press. Knows no names and no bands.
//!
//! The contact is the same kind for every button, so its spread is pooled over all of them, in
//! ohms where the circuit is known (else in counts). An ohm shows far less on a rung high up a
//! pull-up's curve than on one at its start, and there the converter's whole counts hide it: with
//! 0.03 counts per ohm a rounding error looks like 10 Ω. So the medians of button j are modelled
//! with the variance `v_j = g_j²·θ + m_j`, where θ is the contact's variance, g the slope there
//! and m what a median's own error adds, and θ is the maximum-likelihood estimate, found by
//! scoring. Where m is nothing that is the pooled variance with Σ(n − 1) degrees of freedom.

use statrs::statistics::Statistics;

use super::Press;

/// Standard deviation of the rounding to whole counts, `1/√12`: no reading varies less.
pub(super) const ROUNDING_COUNT: f64 = 0.288_675_134_594_812_9;

/// The contact's spread where the presses cannot tell it: a third of the 15 Ω typical of a metal
/// contact in a rubber key (silicone keypad design guides).
pub const ASSUMED_BETWEEN_OHM: f64 = 5.0;

/// The same in counts where no circuit is known: what 5 Ω move a reading of 600 Ω under a sense
/// resistor of 1 kΩ.
pub const ASSUMED_BETWEEN_COUNT: f64 = 2.0;

/// Noise within a press where nothing was read.
pub const ASSUMED_WITHIN_COUNT: f64 = 1.0;

/// With fewer degrees of freedom the spread between presses is assumed, not measured: a tolerance
/// factor for 3 would be twice that for 6.
pub const LEAST_FREEDOM: f64 = 4.0;

/// The presses of one button, as far as they are numbers.
pub(super) struct Presses {
    pub(super) medians: Vec<f64>,
    /// Sum of (readings − 1)·spread², and of readings − 1.
    squares: f64,
    freedom: f64,
}

impl Presses {
    /// What of these presses is usable: medians of 0 to 1024, spreads of 0 to 1024.
    pub(super) fn of(presses: &[Press]) -> Self {
        let mut kept = Self { medians: Vec::with_capacity(presses.len()), squares: 0.0, freedom: 0.0 };
        let scale = 0.0..=crate::units::SCALE_COUNT;
        for press in presses.iter().filter(|press| scale.contains(&press.median_count)) {
            kept.medians.push(press.median_count);
            if press.readings > 1 && scale.contains(&press.spread_count) {
                let freedom = f64::from(press.readings - 1);
                kept.squares += freedom * press.spread_count.powi(2);
                kept.freedom += freedom;
            }
        }
        kept
    }

    /// The median of the medians; 0 without presses.
    pub(super) fn centre_count(&self) -> f64 {
        let mut sorted = self.medians.clone();
        sorted.sort_by(f64::total_cmp);
        match sorted.len() {
            0 => 0.0,
            n if n % 2 == 1 => sorted[n / 2],
            n => f64::midpoint(sorted[n / 2 - 1], sorted[n / 2]),
        }
    }

    /// The mean of the medians.
    pub(super) fn mean_count(&self) -> f64 {
        self.medians.iter().mean()
    }

    /// The noise within this button's presses; `otherwise` where none of them has two readings.
    pub(super) fn within_count(&self, otherwise: f64) -> f64 {
        if self.freedom > 0.0 { (self.squares / self.freedom).sqrt().max(ROUNDING_COUNT) } else { otherwise }
    }

    /// The mean number of readings of a press, at least 1.
    fn readings(&self) -> f64 {
        1.0 + self.freedom / self.medians.len().max(1) as f64
    }
}

/// The noise within a press over all buttons, for those that have none of their own.
pub(super) fn pooled_within(all: &[Presses]) -> f64 {
    let freedom: f64 = all.iter().map(|presses| presses.freedom).sum();
    let squares: f64 = all.iter().map(|presses| presses.squares).sum();
    if freedom > 0.0 { (squares / freedom).sqrt().max(ROUNDING_COUNT) } else { ASSUMED_WITHIN_COUNT }
}

/// The medians of one button as the pool takes them.
pub(super) struct Group {
    /// n − 1.
    freedom: f64,
    /// Sample variance of the medians, in counts².
    variance: f64,
    /// What the contact's variance is multiplied by to be one in counts²: the slope squared.
    gain: f64,
    /// Variance of a median's own error, in counts².
    error: f64,
}

impl Group {
    /// `None` with fewer than two presses, or where an ohm does not show. `to_unit` turns a count
    /// into what is pooled (ohms, or the count itself), `slope` is counts per that unit here.
    pub(super) fn of(
        presses: &Presses,
        within_count: f64,
        slope: f64,
        to_unit: impl Fn(f64) -> f64,
    ) -> Option<Self> {
        let gain = slope * slope;
        let variance = gain * presses.medians.iter().map(|&median| to_unit(median)).variance();
        // A median's variance is π/2 that of a mean (normal readings, many of them); and it is
        // rounded to a whole count.
        let error =
            ROUNDING_COUNT.powi(2) + std::f64::consts::FRAC_PI_2 * within_count.powi(2) / presses.readings();
        let freedom = presses.medians.len() as f64 - 1.0;
        (freedom > 0.0 && gain > 0.0 && variance.is_finite()).then_some(Self {
            freedom,
            variance,
            gain,
            error,
        })
    }
}

/// The contact's spread, pooled.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pool {
    /// θ, in ohms² or counts².
    pub(super) variance: f64,
    /// Σ(n − 1).
    pub(super) freedom: f64,
    /// Σ ν·(g²/v)²: twice the Fisher information on θ.
    information: f64,
}

impl Pool {
    pub(super) fn of(groups: &[Group]) -> Self {
        let freedom = groups.iter().map(|group| group.freedom).sum();
        let mut pool = Self { variance: 0.0, freedom, information: 0.0 };
        // The likelihood has one hill, and scoring climbs it within a few steps from its foot. There
        // the rungs that show an ohm best weigh most, as they should: weighed alike, the rounding
        // of a rung that hardly shows one would drown them.
        for _ in 0..50 {
            let (mut total, mut sum) = (0.0, 0.0);
            for group in groups {
                let weight = group.information(pool.variance);
                total += weight;
                sum += weight * (group.variance - group.error) / group.gain;
            }
            if total <= 0.0 {
                break;
            }
            let variance = (sum / total).max(0.0);
            let moved = (variance - pool.variance).abs();
            pool.variance = variance;
            if moved <= 1e-9 * variance {
                break;
            }
        }
        pool.information = groups.iter().map(|group| group.information(pool.variance)).sum();
        pool
    }

    /// Degrees of freedom of a rung's whole variance `total = gain·θ + within²` (Satterthwaite:
    /// twice its square over its own variance), held at Σ(n − 1), for noise is not known better
    /// than that either when the car is running.
    pub(super) fn freedom_at(&self, gain: f64, total: f64) -> f64 {
        let spread = (total / gain).powi(2) * self.information;
        if spread.is_nan() { self.freedom } else { spread.min(self.freedom) }
    }
}

impl Group {
    fn information(&self, variance: f64) -> f64 {
        self.freedom * (self.gain / (self.gain * variance + self.error)).powi(2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Touch;

    fn press(median_count: f64, spread_count: f64, readings: u32) -> Press {
        Press { median_count, spread_count, readings, touch: Touch::Firm, tally: Vec::new() }
    }

    #[test]
    fn a_steep_wheel_pools_as_the_textbook_does() {
        // Two buttons on curves so steep that rounding is nothing: pooled variance
        // Σ(n − 1)s² / Σ(n − 1) = (2·100 + 1·50) / 3 Ω².
        let first = Presses::of(&[press(100.0, 0.1, 999), press(110.0, 0.1, 999), press(120.0, 0.1, 999)]);
        let second = Presses::of(&[press(400.0, 0.1, 999), press(410.0, 0.1, 999)]);
        let groups: Vec<_> =
            [&first, &second].into_iter().filter_map(|p| Group::of(p, 0.1, 1.0, |count| count)).collect();
        let pool = Pool::of(&groups);
        assert!((pool.variance - 250.0 / 3.0).abs() < 0.3, "{pool:?}");
        assert_eq!(pool.freedom, 3.0);
        assert!((pool.freedom_at(1.0, pool.variance + 0.1) - 3.0).abs() < 1e-2);
    }

    #[test]
    fn rungs_that_show_no_ohm_do_not_drown_the_ones_that_do() {
        // Presses of a simulated wheel, 1 kΩ to the feed, contacts drawn with a spread of 3 Ω: the
        // low rungs move by several counts, the high ones by none. Pooled alike this came out as 0 Ω.
        let learned = [
            [78.0, 87.0, 82.0],
            [213.0, 215.0, 217.0],
            [356.0, 358.0, 355.0],
            [492.0, 493.0, 493.0],
            [552.0, 552.0, 553.0],
            [700.0, 700.0, 700.0],
            [849.0, 849.0, 849.0],
        ];
        let groups: Vec<_> = learned
            .iter()
            .filter_map(|medians| {
                let presses = Presses::of(&medians.map(|median| press(median, 1.0, 1_500)));
                let open = 1024.0 - medians[1];
                Group::of(&presses, 1.0, open * open / 1_024_000.0, |count| 1000.0 * count / (1024.0 - count))
            })
            .collect();
        let between_ohm = Pool::of(&groups).variance.sqrt();
        assert!((2.5..5.0).contains(&between_ohm), "{between_ohm} Ω");
    }

    #[test]
    fn whole_counts_on_a_flat_rung_do_not_pass_for_worn_contacts() {
        // 3 Ω of contact spread on a rung of 0.9 counts per ohm; and one of 0.01, where medians
        // one count apart would be 100 Ω apart.
        let steep = Presses::of(&[press(83.0, 0.5, 300), press(85.0, 0.5, 300), press(88.0, 0.5, 300)]);
        let flat = Presses::of(&[press(900.0, 0.5, 300), press(901.0, 0.5, 300), press(900.0, 0.5, 300)]);
        let groups = [
            Group::of(&steep, 0.5, 0.9, |count| count / 0.9).unwrap(),
            Group::of(&flat, 0.5, 0.01, |count| count / 0.01).unwrap(),
        ];
        let pool = Pool::of(&groups);
        let between_ohm = pool.variance.sqrt();
        assert!((2.0..4.0).contains(&between_ohm), "{between_ohm} Ω");
        // The flat one tells nothing of the steep one's spread: two degrees of freedom, not four.
        assert!(pool.freedom_at(0.81, 0.81 * pool.variance + 0.25) < 2.5);
    }

    #[test]
    fn identical_presses_leave_only_the_rounding() {
        let presses = Presses::of(&vec![press(500.0, 0.0, 100); 3]);
        assert_eq!(presses.within_count(1.0), ROUNDING_COUNT);
        let pool = Pool::of(&[Group::of(&presses, ROUNDING_COUNT, 1.0, |count| count).unwrap()]);
        assert_eq!(pool.variance, 0.0);
        assert!(pool.freedom_at(1.0, ROUNDING_COUNT.powi(2)) > 1.9);
    }

    #[test]
    fn what_is_no_number_is_left_out() {
        let presses = Presses::of(&[
            press(f64::NAN, 1.0, 10),
            press(-5.0, 1.0, 10),
            press(1e9, 1.0, 10),
            press(500.0, f64::NAN, 10),
            press(502.0, f64::INFINITY, 10),
            press(504.0, 2.0, 0),
        ]);
        assert_eq!(presses.medians, [500.0, 502.0, 504.0]);
        assert_eq!(presses.within_count(0.7), 0.7);
        assert_eq!(Presses::of(&[]).centre_count(), 0.0);
        assert_eq!(pooled_within(&[]), ASSUMED_WITHIN_COUNT);
        assert_eq!(Pool::of(&[]).variance, 0.0);
    }
}
