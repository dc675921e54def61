//! Thevenin's equivalent: any resistive source is one voltage behind one resistance. Knows no
//! ladder and no converter.

use crate::wheel::beside;

/// A voltage behind a resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// With nothing connected, in volts.
    pub volt: f64,
    /// Behind it, in ohms; 0 or more, infinite for nothing at all.
    pub ohm: f64,
}

impl Source {
    /// A divider seen from its middle: `upper_ohm` from the feed, `lower_ohm` to ground. One of
    /// them is above 0.
    #[must_use]
    pub fn divider(feed_v: f64, upper_ohm: f64, lower_ohm: f64) -> Self {
        Self { volt: feed_v * lower_ohm / (upper_ohm + lower_ohm), ohm: beside(upper_ohm, lower_ohm) }
    }

    /// Two sources on one node (Millman's theorem). Of two without resistance the first is kept:
    /// they can't both hold the node.
    #[must_use]
    pub fn beside(self, other: Self) -> Self {
        let ohm = beside(self.ohm, other.ohm);
        let whole = self.ohm + other.ohm;
        let volt = if self.ohm == 0.0 || other.ohm == f64::INFINITY {
            self.volt
        } else if self.ohm == f64::INFINITY {
            other.volt
        } else {
            self.volt * (other.ohm / whole) + other.volt * (self.ohm / whole)
        };
        Self { volt, ohm }
    }

    /// Across a load to ground, in volts; the load is 0 Ω or more, infinite for none. A source
    /// without resistance does not move.
    #[must_use]
    pub fn loaded_v(&self, load_ohm: f64) -> f64 {
        if self.ohm == 0.0 || load_ohm == f64::INFINITY {
            self.volt
        } else {
            self.volt * load_ohm / (self.ohm + load_ohm)
        }
    }

    /// Into a load to ground, in amperes.
    #[must_use]
    pub fn load_amp(&self, load_ohm: f64) -> f64 {
        self.volt / (self.ohm + load_ohm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-12 * b.abs()
    }

    /// FACTS C7: circuit theorems tutorial. 12 V, 1 + 5 Ω over 4 Ω.
    #[test]
    fn a_divider_is_a_source_behind_both_legs() {
        let source = Source::divider(12.0, 1.0 + 5.0, 4.0);
        assert!(near(source.volt, 4.8) && near(source.ohm, 2.4));
        assert!(near(source.load_amp(0.8), 1.5));
        assert!(near(source.loaded_v(0.8), 1.2));
    }

    /// FACTS C8: Thevenin worked example. 24 V, 1 kΩ over 2 kΩ.
    #[test]
    fn a_second_divider_agrees() {
        let source = Source::divider(24.0, 1_000.0, 2_000.0);
        assert!(near(source.volt, 16.0));
        assert!((source.ohm - 666.67).abs() < 0.005);
    }

    /// FACTS C9: Thevenin worked example, 28 V behind 4 Ω and 7 V behind 1 Ω: 11.2 V; the 0.8 Ω
    /// from memory of it.
    #[test]
    fn two_sources_on_one_node_are_one() {
        let source = Source { volt: 28.0, ohm: 4.0 }.beside(Source { volt: 7.0, ohm: 1.0 });
        assert!(near(source.volt, 11.2) && near(source.ohm, 0.8));
    }

    #[test]
    fn a_source_without_resistance_holds_and_one_that_is_open_does_nothing() {
        let held = Source { volt: 5.0, ohm: 0.0 };
        let nothing = Source { volt: 9.0, ohm: f64::INFINITY };
        let weak = Source { volt: 1.0, ohm: 100.0 };
        assert_eq!(held.beside(weak), held);
        assert_eq!(weak.beside(held), held);
        assert_eq!(weak.beside(nothing), weak);
        assert_eq!(nothing.beside(weak), weak);
        assert_eq!((held.loaded_v(10.0), weak.loaded_v(f64::INFINITY)), (5.0, 1.0));
        assert_eq!(weak.load_amp(f64::INFINITY), 0.0);
    }
}
