//! The filter between the sense node and the converter: a resistor and a capacitor, how fast it settles
//! and what it does to a fault on the wire. Knows no ladder.

use serde::{Deserialize, Serialize};

use super::settling::settle_s;
use crate::units::{SCALE_COUNT, Series};

/// A resistor from the sense node to the pin, and a capacitor from the pin to ground.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Filter {
    /// From the node to the pin, in ohms; 0 where there is none. It also limits what a short to the
    /// battery drives into the pin.
    pub series_ohm: f64,
    /// From the pin to ground, in farads; 0 where there is none.
    pub farad: f64,
}

impl Default for Filter {
    /// As the box is wired: 10 kΩ and 10 nF.
    fn default() -> Self {
        Self { series_ohm: 10e3, farad: 10e-9 }
    }
}

/// The converter's sample-and-hold capacitor, in farads, and the most that stands before it inside the
/// chip, in ohms (analog input circuitry, ATmega169P datasheet, a sister part; the same text in the
/// ATmega328P's from memory).
const HOLD_FARAD: f64 = 14e-12;
/// See [`HOLD_FARAD`].
const HOLD_OHM: f64 = 100e3;
/// How long it samples: 1.5 cycles of a converter clock of 125 kHz (ATmega328P datasheet, ADC prescaler
/// and timing).
pub const HOLD_S: f64 = 12e-6;
/// What a pin leaks at most, in amperes (ATmega328P datasheet 8271H, DC characteristics).
const PIN_LEAK_AMP: f64 = 1e-6;
/// The most that may be driven into a pin's clamping diode, in amperes (application note AVR182, from
/// memory).
pub const PIN_AMP: f64 = 1e-3;
/// A short of the wire to the vehicle's supply, in volts, at its highest: code A to C of ISO 16750-2:2010,
/// table 1.
pub const SHORT_V: f64 = 16.0;
/// A pin's clamping diode lets it rise to this much above the supply, in volts (ATmega328P datasheet,
/// absolute maximum ratings).
const CLAMP_V: f64 = 0.5;
/// Settling may take this share of a dwell, so that most of its readings are settled (common practice, no
/// source).
pub const SETTLE_SHARE: f64 = 0.25;

/// What a filter does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilterReport {
    /// Until a step is within half a count, in seconds, at the highest source resistance.
    pub settle_s: f64,
    /// The same as a share of the dwell.
    pub dwell_share: f64,
    /// Until the converter's own capacitor is within half a count, in seconds. With a capacitor at the pin
    /// it fills from that; without one, through everything before it.
    pub hold_s: f64,
    /// How far the converter's capacitor pulls the pin's when it held the other end of the scale, in
    /// counts; 0 without one at the pin.
    pub kick_count: f64,
    /// What the pin's leakage moves a reading by at most, in counts.
    pub leak_count: f64,
    /// What a short of the wire to 16 V drives into the pin's own diode without another clamp, in amperes;
    /// infinite without a resistor.
    pub short_amp: f64,
    /// Where it passes as much as it stops, in hertz; infinite without one of both.
    pub corner_hz: f64,
}

impl Filter {
    /// What this filter does behind a source of `source_ohm` at its highest, with the box's supply and
    /// reference in volts, and a dwell in seconds.
    #[must_use]
    pub fn report(&self, source_ohm: f64, supply_v: f64, reference_v: f64, dwell_s: f64) -> FilterReport {
        let whole_ohm = source_ohm + self.series_ohm;
        let settle = settle_s(whole_ohm, self.farad, 10);
        let before_hold_ohm = if self.farad > 0.0 { 0.0 } else { whole_ohm };
        let corner = 1.0 / (std::f64::consts::TAU * whole_ohm * self.farad);
        FilterReport {
            settle_s: settle,
            dwell_share: settle / dwell_s,
            hold_s: settle_s(before_hold_ohm + HOLD_OHM, HOLD_FARAD, 10),
            kick_count: if self.farad > 0.0 {
                SCALE_COUNT * HOLD_FARAD / (self.farad + HOLD_FARAD)
            } else {
                0.0
            },
            leak_count: SCALE_COUNT * PIN_LEAK_AMP * whole_ohm / reference_v,
            short_amp: (SHORT_V - supply_v - CLAMP_V).max(0.0) / self.series_ohm,
            corner_hz: corner,
        }
    }

    /// A filter that holds a short to 16 V under the pin's 1 mA by its resistor alone, and whose capacitor
    /// is large enough that the converter's own moves it by less than half a count: the least of E24 and
    /// the least of E6 that do. `None` where the two would settle too slowly for the dwell (beyond
    /// [`SETTLE_SHARE`] of it), or a number is none.
    #[must_use]
    pub fn proposed(source_ohm: f64, supply_v: f64, dwell_s: f64) -> Option<Self> {
        let least_ohm = (SHORT_V - supply_v - CLAMP_V) / PIN_AMP;
        // The series are of numbers: picofarads as well as ohms.
        let least_pf = HOLD_FARAD * (2.0 * SCALE_COUNT - 1.0) * 1e12;
        let next = |series: Series, least: f64| series.within(least, 100.0 * least).first().copied();
        let filter =
            Self { series_ohm: next(Series::E24, least_ohm)?, farad: next(Series::E6, least_pf)? * 1e-12 };
        (settle_s(source_ohm + filter.series_ohm, filter.farad, 10) <= SETTLE_SHARE * dwell_s)
            .then_some(filter)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FACTS C16 (computed there from the datasheet's figures) and C17: without a capacitor at the pin
    /// 10 kΩ of source leave 11.7 of the 12 µs; 10 kΩ and 100 nF take 7.62 ms.
    #[test]
    fn a_filter_settles_as_computed_for_the_datasheet() {
        let bare = Filter { series_ohm: 0.0, farad: 0.0 }.report(10e3, 5.0, 5.0, 0.032);
        assert!((bare.hold_s - 11.7e-6).abs() < 0.1e-6 && bare.hold_s < HOLD_S, "{bare:?}");
        assert_eq!((bare.settle_s, bare.kick_count, bare.short_amp), (0.0, 0.0, f64::INFINITY));
        let slow = Filter { series_ohm: 10e3, farad: 100e-9 }.report(0.0, 5.0, 5.0, 0.032);
        assert!((slow.settle_s - 7.62e-3).abs() < 0.01e-3);
        assert!((slow.dwell_share - 7.62 / 32.0).abs() < 1e-3);
    }

    /// FACTS A: 10 kΩ hold a short to 16 V to 1.05 mA (computed there); 1 µA of leakage across 10 kΩ is
    /// 10 mV, 3.6 steps of 2.78 mV (a reference of 2.85 V).
    #[test]
    fn a_short_and_a_leaking_pin_are_told_as_computed_for_the_datasheet() {
        let report = Filter::default().report(0.0, 5.0, 2.846, 0.032);
        assert!((report.short_amp - 1.05e-3).abs() < 1e-6, "{}", report.short_amp);
        assert!(report.short_amp > PIN_AMP, "alone, 10 kΩ do not hold it under 1 mA");
        assert!((report.leak_count - 3.6).abs() < 0.05, "{}", report.leak_count);
    }

    #[test]
    fn what_is_proposed_holds_the_pin_and_settles_within_the_dwell() {
        let proposed = Filter::proposed(1_000.0, 5.0, 0.032).unwrap();
        assert_eq!(proposed.series_ohm, 11e3);
        assert!((proposed.farad - 33e-9).abs() < 1e-15);
        let report = proposed.report(1_000.0, 5.0, 5.0, 0.032);
        assert!(report.short_amp <= PIN_AMP && report.kick_count < 0.5 && report.dwell_share < SETTLE_SHARE);
        assert_eq!(Filter::proposed(1_000.0, 5.0, 0.002), None, "too slow for a dwell of 2 ms");
        assert_eq!(Filter::proposed(f64::NAN, 5.0, 0.032), None);
    }
}
