//! What can be wrong with a sense circuit's values, each with what to do. Knows no ladder.

use super::{Circuit, Reference, Sense};
use crate::units::{ohm_text, volt_text};

/// The least reference the converter works with: ATmega328P datasheet 8161D, table 28-7.
pub const LEAST_REFERENCE_V: f64 = 1.0;

/// The highest feed that the feed monitor has to take, in volts: the supply's upper limit (ATmega328P
/// datasheet 8161D, 28.3: 5.5 V).
pub const HIGHEST_FEED_V: f64 = 5.5;

/// The highest idle voltage of a factory module that a box of 5 V takes on its pins: its own supply.
pub const HIGHEST_IDLE_V: f64 = 5.0;

/// A value of the sense circuit that cannot be, or that costs readings.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Problem {
    /// The sense resistor.
    #[error("The sense resistor is {ohm} Ω. Give its value by the meter, above 0 Ω.")]
    Sense {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// The feed.
    #[error("The feed is {volt} V. Give the voltage that feeds the ladder, above 0 V.")]
    Feed {
        /// Its value, in volts.
        volt: f64,
    },
    /// The reference.
    #[error("The reference is {volt} V. Give what the converter measures against, above 0 V.")]
    Reference {
        /// Its value, in volts.
        volt: f64,
    },
    /// The resistor before the reference input.
    #[error("The resistor into the reference input is {ohm} Ω. Give 0 Ω or more.")]
    ReferenceSeries {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// The contact.
    #[error("The contact is {ohm} Ω. Give 0 Ω or more.")]
    Contact {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// The leak of a saved circuit: none at all reads nothing.
    #[error("The leak to ground is {ohm} Ω. Give its value above 0 Ω, or leave it out.")]
    Leak {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// A resistor of the feed monitor.
    #[error("A resistor of the feed monitor is {ohm} Ω. Give its value by the meter, above 0 Ω.")]
    Monitor {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// The filter's resistor.
    #[error("The filter's resistor is {ohm} Ω. Give 0 Ω or more.")]
    FilterOhm {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// The filter's capacitor.
    #[error("The filter's capacitor is {farad} F. Give 0 F or more, like 1e-8 for 10 nF.")]
    FilterFarad {
        /// Its value, in farads.
        farad: f64,
    },
    /// A feed monitor whose pin reaches the reference.
    #[error(
        "With a feed of {} the feed monitor stands at {}, not below the reference of {}: a high feed can't \
         be measured. Make its lower resistor smaller.",
        volt_text(HIGHEST_FEED_V),
        volt_text(*pin_v),
        volt_text(*reference_v)
    )]
    MonitorHigh {
        /// Volts at the monitor's pin with the highest feed.
        pin_v: f64,
        /// Volts at the converter's reference.
        reference_v: f64,
    },
    /// A factory module that idles higher than the box's pins take.
    #[error(
        "The factory module holds the wire at {} at rest, and the box's pins take {} at most. Disconnect the \
         module and pull the wire up to the box's own supply, or leave it alone.",
        volt_text(*volt),
        volt_text(HIGHEST_IDLE_V)
    )]
    ModuleIdle {
        /// Its idle voltage.
        volt: f64,
    },
    /// A factory module beside a resistor to ground.
    #[error(
        "A factory module pulls the wire up, and the circuit has a sense resistor to ground. Choose the \
         module's pull-up, or disconnect the module."
    )]
    ModuleSense,
    /// A feed monitor beside a factory module.
    #[error(
        "A factory module feeds the ladder, and a feed monitor can't reach its supply from the wire: it would \
         watch another feed and shift every reading. Take the feed monitor out."
    )]
    ModuleMonitor,
    /// The box's supply beside a factory module.
    #[error("The box's own supply is {volt} V. Give its voltage by the meter, above 0 V.")]
    ModuleSupply {
        /// Its value, in volts.
        volt: f64,
    },
    /// A reference below what the converter works with.
    #[error(
        "The converter's reference is {}, and it needs {} or more. Raise the reference.",
        volt_text(*volt),
        volt_text(LEAST_REFERENCE_V)
    )]
    ReferenceLow {
        /// Volts at the converter.
        volt: f64,
    },
    /// A reference below the feed: part of the ladder reads the same.
    #[error(
        "The reference of {} is below the feed of {}: every resistance {} {} reads 1023 and can't be \
         told apart. Use the supply as the reference, or change the sense resistor.",
        volt_text(*reference_v),
        volt_text(*feed_v),
        match sense { Sense::PullDown => "up to", Sense::PullUp => "from" },
        ohm_text(*ohm)
    )]
    Saturates {
        /// Which way round.
        sense: Sense,
        /// Volts at the converter's reference.
        reference_v: f64,
        /// Volts of the feed.
        feed_v: f64,
        /// Where it begins, in ohms seen; contact included.
        ohm: f64,
    },
}

impl Problem {
    /// Whether nothing can be computed with it; otherwise it is a warning.
    #[must_use]
    pub fn is_error(&self) -> bool {
        !matches!(self, Self::ReferenceLow { .. } | Self::Saturates { .. } | Self::MonitorHigh { .. })
    }
}

impl Circuit {
    /// What is wrong with the values, errors before warnings; warnings only where there is no
    /// error. A reference above the feed is no problem: it leaves the top of the scale unused.
    #[must_use]
    pub fn check(&self) -> Vec<Problem> {
        let Self { sense, sense_ohm, feed_v, reference, contact_ohm, leak_ohm, feed_monitor, filter, module } =
            *self;
        let mut problems = Vec::new();
        let mut refuse = |wrong: bool, problem: Problem| {
            if wrong {
                problems.push(problem);
            }
        };
        refuse(!is_above_zero(sense_ohm), Problem::Sense { ohm: sense_ohm });
        refuse(!is_above_zero(feed_v), Problem::Feed { volt: feed_v });
        match reference {
            Reference::Supply => {}
            Reference::Internal { volt } => refuse(!is_above_zero(volt), Problem::Reference { volt }),
            Reference::External { volt, series_ohm, pin_v } => {
                refuse(!is_above_zero(volt), Problem::Reference { volt });
                if let Some(volt) = pin_v {
                    refuse(!is_above_zero(volt), Problem::Reference { volt });
                }
                refuse(!is_zero_or_more(series_ohm), Problem::ReferenceSeries { ohm: series_ohm });
            }
        }
        refuse(!is_zero_or_more(contact_ohm), Problem::Contact { ohm: contact_ohm });
        if let Some(ohm) = leak_ohm {
            refuse(!is_above_zero(ohm), Problem::Leak { ohm });
        }
        if let Some(monitor) = feed_monitor {
            for ohm in [monitor.upper_ohm, monitor.lower_ohm] {
                refuse(!is_above_zero(ohm), Problem::Monitor { ohm });
            }
        }
        if let Some(module) = module {
            refuse(!is_above_zero(module.supply_v), Problem::ModuleSupply { volt: module.supply_v });
            refuse(feed_v > HIGHEST_IDLE_V, Problem::ModuleIdle { volt: feed_v });
            refuse(sense == Sense::PullDown, Problem::ModuleSense);
            refuse(feed_monitor.is_some(), Problem::ModuleMonitor);
        }
        refuse(!is_zero_or_more(filter.series_ohm), Problem::FilterOhm { ohm: filter.series_ohm });
        refuse(!is_zero_or_more(filter.farad), Problem::FilterFarad { farad: filter.farad });
        if !problems.is_empty() {
            return problems;
        }
        let reference_v = self.reference_v();
        if reference_v < LEAST_REFERENCE_V {
            problems.push(Problem::ReferenceLow { volt: reference_v });
        }
        if let Some(ohm) = self.saturates_at_ohm() {
            problems.push(Problem::Saturates { sense, reference_v, feed_v, ohm });
        }
        if let Some(pin_v) = feed_monitor.map(|monitor| monitor.pin_v(HIGHEST_FEED_V))
            && pin_v >= reference_v
        {
            problems.push(Problem::MonitorHigh { pin_v, reference_v });
        }
        problems
    }
}

/// A finite number above 0.
pub(super) fn is_above_zero(value: f64) -> bool {
    value > 0.0 && value.is_finite()
}

/// A finite number, 0 or more.
pub(super) fn is_zero_or_more(value: f64) -> bool {
    value >= 0.0 && value.is_finite()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::FeedMonitor;

    fn good() -> Circuit {
        Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: Sense::PullDown,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 0.0,
            leak_ohm: None,
        }
    }

    fn said(circuit: &Circuit) -> Vec<String> {
        circuit.check().iter().map(Problem::to_string).collect()
    }

    #[test]
    fn a_feed_monitor_beside_a_factory_module_is_refused_for_it_watches_another_feed() {
        let circuit = Circuit {
            sense: Sense::PullUp,
            module: Some(crate::circuit::Module { supply_v: 5.0 }),
            feed_monitor: Some(FeedMonitor { upper_ohm: 1e4, lower_ohm: 1e4 }),
            ..good()
        };
        assert_eq!(circuit.check(), [Problem::ModuleMonitor]);
        assert!(Problem::ModuleMonitor.is_error());
        assert!(said(&circuit)[0].ends_with("Take the feed monitor out."), "{:?}", said(&circuit));
        assert!(Circuit { feed_monitor: None, ..circuit }.check().is_empty());
    }

    #[test]
    fn the_recommended_circuit_has_nothing_wrong() {
        assert!(good().check().is_empty());
        assert!(Circuit { sense: Sense::PullUp, leak_ohm: Some(1e6), ..good() }.check().is_empty());
    }

    #[test]
    fn every_value_that_cannot_be_is_said_with_its_value() {
        let circuit = Circuit {
            sense_ohm: 0.0,
            feed_v: f64::NAN,
            reference: Reference::External { volt: -3.3, series_ohm: f64::INFINITY, pin_v: None },
            contact_ohm: -1.0,
            leak_ohm: Some(0.0),
            ..good()
        };
        assert_eq!(
            said(&circuit),
            [
                "The sense resistor is 0 Ω. Give its value by the meter, above 0 Ω.",
                "The feed is NaN V. Give the voltage that feeds the ladder, above 0 V.",
                "The reference is -3.3 V. Give what the converter measures against, above 0 V.",
                "The resistor into the reference input is inf Ω. Give 0 Ω or more.",
                "The contact is -1 Ω. Give 0 Ω or more.",
                "The leak to ground is 0 Ω. Give its value above 0 Ω, or leave it out.",
            ]
        );
        assert!(circuit.check().iter().all(Problem::is_error));
        let circuit = Circuit { reference: Reference::Internal { volt: 0.0 }, ..good() };
        assert_eq!(circuit.check(), [Problem::Reference { volt: 0.0 }]);
    }

    /// FACTS section 0, item 3: with 2.85 V and a 5 V feed every tap below 0.757 of the sense
    /// resistor reads 1023 (2.846 V, from 3.3 V through 5.1 kΩ).
    #[test]
    fn a_reference_below_the_feed_names_what_it_makes_one() {
        let circuit = Circuit {
            reference: Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: None },
            ..good()
        };
        assert_eq!(
            said(&circuit),
            ["The reference of 2.85 V is below the feed of 5.00 V: every resistance up to 758 Ω reads \
              1023 and can't be told apart. Use the supply as the reference, or change the sense resistor."]
        );
        assert!(!circuit.check().iter().any(Problem::is_error));
        let up = Circuit { sense: Sense::PullUp, ..circuit };
        assert!(said(&up)[0].contains("every resistance from 1.32 kΩ reads 1023"), "{:?}", said(&up));
    }

    #[test]
    fn a_feed_monitor_keeps_the_highest_feed_below_the_reference() {
        let with = |upper_ohm, lower_ohm| Circuit {
            feed_monitor: Some(FeedMonitor { upper_ohm, lower_ohm }),
            reference: Reference::External { volt: 2.5, series_ohm: 0.0, pin_v: None },
            feed_v: 2.4,
            ..good()
        };
        assert_eq!(said(&with(20_000.0, 10_000.0)), [""; 0]);
        let high = with(10_000.0, 10_000.0);
        assert_eq!(
            said(&high),
            [
                "With a feed of 5.50 V the feed monitor stands at 2.75 V, not below the reference of 2.50 V: a \
              high feed can't be measured. Make its lower resistor smaller."
            ]
        );
        assert!(!high.check()[0].is_error());
        assert_eq!(
            said(&with(0.0, f64::NAN)),
            [
                "A resistor of the feed monitor is 0 Ω. Give its value by the meter, above 0 Ω.",
                "A resistor of the feed monitor is NaN Ω. Give its value by the meter, above 0 Ω.",
            ]
        );
    }

    #[test]
    fn a_reference_above_the_feed_is_allowed_and_one_below_a_volt_is_warned_of() {
        assert!(Circuit { reference: Reference::Internal { volt: 5.5 }, ..good() }.check().is_empty());
        let circuit = Circuit { feed_v: 0.5, reference: Reference::Internal { volt: 0.9 }, ..good() };
        assert_eq!(
            said(&circuit),
            ["The converter's reference is 0.90 V, and it needs 1.00 V or more. Raise the reference."]
        );
        assert!(!circuit.check()[0].is_error());
    }
}
