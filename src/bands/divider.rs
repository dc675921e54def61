//! The sense circuit read backwards: from a count to the ohms that make it, and how many counts
//! an ohm moves it there. Knows no buttons.

use crate::circuit::{Circuit, Sense};
use crate::units::SCALE_COUNT;

/// Resistances that a sense circuit can have, in ohms: far wider than any, and narrow enough that
/// no square of a slope leaves the numbers a computer has.
const USABLE_OHM: std::ops::RangeInclusive<f64> = 1e-3..=1e12;

/// Ends of the curve that a circuit can have, in counts, likewise.
const USABLE_COUNT: std::ops::RangeInclusive<f64> = 1e-3..=1e9;

/// A circuit's curve of counts over ohms, which is a divider's whatever the reference or leak:
/// `F·R / (R + P)` with a pull-up, `F·P / (R + P)` with a pull-down, where P is the sense resistor
/// with the leak across it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Divider {
    sense: Sense,
    /// F: the count at the far end of the curve.
    end_count: f64,
    /// P, in ohms.
    parallel_ohm: f64,
}

impl Divider {
    /// `None` where the circuit's numbers are not those of a circuit.
    pub(super) fn new(circuit: &Circuit) -> Option<Self> {
        let leak = circuit.leak_ohm.map_or(0.0, |leak| 1.0 / leak);
        let parallel_ohm = 1.0 / (1.0 / circuit.sense_ohm + leak);
        let scale = SCALE_COUNT * circuit.feed_v / circuit.reference_v();
        let end_count = match circuit.sense {
            Sense::PullUp => scale * parallel_ohm / circuit.sense_ohm,
            Sense::PullDown => scale,
        };
        let usable = USABLE_OHM.contains(&parallel_ohm) && USABLE_COUNT.contains(&end_count);
        usable.then_some(Self { sense: circuit.sense, end_count, parallel_ohm })
    }

    /// Which way a worn contact, which adds ohms, moves a reading.
    pub(super) fn wear(&self) -> Wear {
        match self.sense {
            Sense::PullUp => Wear::Up,
            Sense::PullDown => Wear::Down,
        }
    }

    /// The ohms that read `count`: infinite at or past the end that no resistance reaches.
    pub(super) fn ohm(&self, count: f64) -> f64 {
        let (lower, upper) = match self.sense {
            Sense::PullUp => (count, self.end_count - count),
            Sense::PullDown => (self.end_count - count, count),
        };
        if upper > 0.0 { self.parallel_ohm * lower / upper } else { f64::INFINITY }
    }

    /// How many counts one ohm more moves a reading of `count`, without its sign; 0 where the
    /// curve has ended.
    pub(super) fn slope_count_per_ohm(&self, count: f64) -> f64 {
        let open = match self.sense {
            Sense::PullUp => self.end_count - count,
            Sense::PullDown => count,
        };
        open.max(0.0).powi(2) / (self.end_count * self.parallel_ohm)
    }
}

/// Which way added ohms move a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wear {
    Up,
    Down,
    /// No circuit is known.
    Unknown,
}

impl Wear {
    /// The part of a gap's spare room that goes to the band below it. Wear moves readings one
    /// way only, so the band it leaves gets two thirds (common practice, no source).
    pub(super) const fn share_of_lower(self) -> f64 {
        match self {
            Self::Up => 2.0 / 3.0,
            Self::Down => 1.0 / 3.0,
            Self::Unknown => 0.5,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Reference;

    fn circuits() -> Vec<Circuit> {
        let mut circuits = Vec::new();
        for sense in [Sense::PullUp, Sense::PullDown] {
            for leak_ohm in [None, Some(47_000.0)] {
                for reference in
                    [Reference::Supply, Reference::External { volt: 3.3, series_ohm: 5_000.0, pin_v: None }]
                {
                    circuits.push(Circuit {
                        feed_monitor: None,
                        filter: Default::default(),
                        module: None,
                        sense,
                        sense_ohm: 1_000.0,
                        feed_v: 5.0,
                        reference,
                        contact_ohm: 6.0,
                        leak_ohm,
                    });
                }
            }
        }
        circuits
    }

    #[test]
    fn a_count_read_backwards_is_the_resistance_that_made_it() {
        for circuit in circuits() {
            let divider = Divider::new(&circuit).unwrap();
            for ohm in [0.5, 82.0, 922.0, 4_862.0, 14_862.0] {
                let count = circuit.ideal_count(ohm);
                assert!((divider.ohm(count) / ohm - 1.0).abs() < 1e-9, "{circuit:?}: {ohm}");
                let slope = (circuit.ideal_count(ohm + 1e-3) - circuit.ideal_count(ohm - 1e-3)).abs() / 2e-3;
                assert!(
                    (divider.slope_count_per_ohm(count) / slope - 1.0).abs() < 1e-5,
                    "{circuit:?}: {ohm}"
                );
            }
        }
    }

    #[test]
    fn past_the_end_of_the_curve_the_wire_is_open() {
        let divider = Divider::new(&circuits()[0]).unwrap();
        assert_eq!(divider.ohm(1024.0), f64::INFINITY);
        assert_eq!(divider.slope_count_per_ohm(1030.0), 0.0);
    }

    #[test]
    fn a_circuit_of_nonsense_is_no_circuit() {
        for (sense_ohm, feed_v) in [(0.0, 5.0), (f64::NAN, 5.0), (1e3, 0.0), (1e3, f64::NAN), (-1e3, 5.0)] {
            let circuit = Circuit {
                sense_ohm,
                feed_v,
                reference: Reference::Internal { volt: 1.1 },
                ..circuits().remove(0)
            };
            assert!(Divider::new(&circuit).is_none(), "{circuit:?}");
        }
    }
}
