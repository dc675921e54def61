//! What a project's buttons should read, from the meter's resistances and the sense circuit. Knows
//! no presses: what was learned may differ.

use serde::Serialize;

use super::{Button, ButtonId, Project};
use crate::circuit::{Circuit, Problem};
use crate::units::WIRES;

/// What every button and every wire at rest should read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Prediction {
    /// The buttons, in the project's order.
    pub buttons: Vec<ButtonPrediction>,
    /// The wires at rest, by number.
    pub rests: Vec<RestPrediction>,
    /// The smallest distance between two readings on one wire, rest included, in counts; `None`
    /// where no wire has two.
    pub smallest_gap_count: Option<u16>,
}

/// What one button should read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ButtonPrediction {
    /// Which button.
    pub id: ButtonId,
    /// Its wire; 1 where the project does not say.
    pub wire: u8,
    /// Seen across its wire and the return, contact included, in ohms.
    pub ohm: f64,
    /// At the sense node, in volts.
    pub volt: f64,
    /// As the converter gives it, 0 to 1023.
    pub count: u16,
}

/// What one wire should read at rest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RestPrediction {
    /// The wire's number.
    pub wire: u8,
    /// At the sense node, in volts.
    pub volt: f64,
    /// As the converter gives it, 0 to 1023.
    pub count: u16,
}

/// Why nothing can be predicted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PredictError {
    /// No sense circuit.
    #[error(
        "The project has no sense circuit. Enter the sense resistor, the feed and the reference at the \
         Circuit station."
    )]
    NoCircuit,
    /// A sense circuit that cannot be.
    #[error(transparent)]
    Circuit(#[from] Problem),
    /// Buttons whose resistance is not known.
    #[error("No resistance is known for {}. Meter each while pressed and enter it at the Wheel station.", ids(.0))]
    NoMeter(Vec<ButtonId>),
    /// A resistance that cannot be.
    #[error("The resistance of {} is {ohm} Ω. Give what the meter shows, 0 Ω or more.", id.0)]
    Meter {
        /// Which button.
        id: ButtonId,
        /// Its value, in ohms.
        ohm: f64,
    },
    /// A wire that is not there.
    #[error("{} is on wire {wire}. Wires are numbered 1 to {WIRES}: choose one of those.", id.0)]
    Wire {
        /// Which button.
        id: ButtonId,
        /// The number it has.
        wire: u8,
    },
    /// A resistance at rest that cannot be.
    #[error("The resistance of wire {wire} at rest is {ohm} Ω. Give 0 Ω or more, or leave it out if open.")]
    Rest {
        /// The wire's number.
        wire: u8,
        /// Its value, in ohms.
        ohm: f64,
    },
}

impl Project {
    /// What every button, pressed alone, and every wire at rest should read: the meter's resistance
    /// across wire and return, with what contact and slip ring add to it in use
    /// ([`Circuit::pressed_ohm`]). A wire is at rest open unless
    /// the project says otherwise.
    ///
    /// # Errors
    /// What is missing, or the first value that cannot be.
    pub fn predict(&self) -> Result<Prediction, PredictError> {
        let circuit = self.circuit.as_ref().ok_or(PredictError::NoCircuit)?;
        if let Some(&problem) = circuit.check().iter().find(|problem| problem.is_error()) {
            return Err(problem.into());
        }
        let unknown: Vec<_> =
            self.wheel.buttons.iter().filter(|b| b.meter_ohm.is_none()).map(|b| b.id.clone()).collect();
        if !unknown.is_empty() {
            return Err(PredictError::NoMeter(unknown));
        }
        let buttons: Vec<_> =
            self.wheel.buttons.iter().map(|button| pressed(circuit, button)).collect::<Result<_, _>>()?;
        let used = |wire: u8| buttons.iter().any(|button| button.wire == wire);
        let rests: Vec<_> = (1..=WIRES as u8)
            .filter(|wire| self.wheel.wires.contains_key(wire) || used(*wire))
            .map(|wire| self.at_rest(circuit, wire))
            .collect::<Result<_, _>>()?;
        let smallest_gap_count = smallest_gap(&buttons, &rests);
        Ok(Prediction { buttons, rests, smallest_gap_count })
    }

    fn at_rest(&self, circuit: &Circuit, wire: u8) -> Result<RestPrediction, PredictError> {
        let ohm = self.wheel.wires.get(&wire).and_then(|info| info.rest_ohm).unwrap_or(f64::INFINITY);
        let error = PredictError::Rest { wire, ohm };
        if ohm.is_nan() || ohm < 0.0 {
            return Err(error);
        }
        let count = circuit.count(ohm).ok_or(error)?;
        Ok(RestPrediction { wire, volt: circuit.node_v(ohm), count })
    }
}

fn pressed(circuit: &Circuit, button: &Button) -> Result<ButtonPrediction, PredictError> {
    let id = button.id.clone();
    let wire = button.wire.unwrap_or(1);
    if !(1..=WIRES as u8).contains(&wire) {
        return Err(PredictError::Wire { id, wire });
    }
    let meter_ohm = button.meter_ohm.unwrap_or(f64::NAN);
    let ohm = circuit.pressed_ohm(meter_ohm);
    match circuit.pressed_count(meter_ohm) {
        Some(count) => Ok(ButtonPrediction { id, wire, ohm, volt: circuit.node_v(ohm), count }),
        None => Err(PredictError::Meter { id, ohm: meter_ohm }),
    }
}

/// The smallest distance between two readings of one wire.
fn smallest_gap(buttons: &[ButtonPrediction], rests: &[RestPrediction]) -> Option<u16> {
    let of_wire = |rest: &RestPrediction| {
        let mut counts: Vec<u16> =
            buttons.iter().filter(|b| b.wire == rest.wire).map(|b| b.count).chain([rest.count]).collect();
        counts.sort_unstable();
        counts.windows(2).map(|pair| pair[1] - pair[0]).min()
    };
    rests.iter().filter_map(of_wire).min()
}

fn ids(ids: &[ButtonId]) -> String {
    ids.iter().map(|id| id.0.as_str()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Reference, Sense};
    use crate::project::WireInfo;

    /// The hook-up of FACTS B1: 5 V, 1 kΩ to ground, 3.3 V through 5.1 kΩ as reference.
    fn project(buttons: &[(&str, Option<u8>, Option<f64>)]) -> Project {
        let mut project = Project::new("van", "stereo");
        project.circuit = Some(Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: Sense::PullDown,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: None },
            contact_ohm: 0.0,
            leak_ohm: None,
        });
        for &(id, wire, meter_ohm) in buttons {
            project.wheel.buttons.push(Button {
                id: ButtonId(id.to_owned()),
                name: id.to_owned(),
                wire,
                meter_ohm,
            });
        }
        project
    }

    /// FACTS B1, series-tap examples (computed there).
    #[test]
    fn a_chain_of_taps_reads_as_computed() {
        let ohms = [1200.0, 2020.0, 3220.0, 5420.0, 9320.0];
        let ids = ["a", "b", "c", "d", "e"];
        let buttons: Vec<_> = ids.iter().zip(ohms).map(|(&id, ohm)| (id, None, Some(ohm))).collect();
        let prediction = project(&buttons).predict().unwrap();
        let counts: Vec<_> = prediction.buttons.iter().map(|button| button.count).collect();
        assert_eq!(counts, [817, 595, 426, 280, 174]);
        assert!(prediction.buttons.iter().all(|button| button.wire == 1));
        assert_eq!(prediction.rests, [RestPrediction { wire: 1, volt: 0.0, count: 0 }]);
        assert_eq!(prediction.smallest_gap_count, Some(280 - 174));
    }

    /// FACTS B1, end-of-line example (computed there), on the second wire: its meter readings are
    /// each button beside 22 kΩ.
    #[test]
    fn each_wire_is_compared_within_itself_and_with_its_own_rest() {
        let beside = |ohm| crate::wheel::beside(ohm, 22_000.0);
        let mut project = project(&[
            ("a", Some(2), Some(beside(1_000.0))),
            ("b", Some(2), Some(beside(2_200.0))),
            ("c", Some(1), Some(beside(2_200.0))),
            ("d", Some(2), Some(beside(10_000.0))),
        ]);
        project.wheel.wires.insert(2, WireInfo { rest_ohm: Some(22_000.0), ..WireInfo::default() });
        let prediction = project.predict().unwrap();
        let counts: Vec<_> = prediction.buttons.iter().map(|button| button.count).collect();
        assert_eq!(counts, [919, 599, 599, 228]);
        let rests: Vec<_> = prediction.rests.iter().map(|rest| (rest.wire, rest.count)).collect();
        assert_eq!(rests, [(1, 0), (2, 78)]);
        assert_eq!(prediction.smallest_gap_count, Some(228 - 78));
    }

    #[test]
    fn contact_is_in_series_with_each_button_and_not_with_rest() {
        let mut project = project(&[("a", None, Some(1_000.0))]);
        project.wheel.wires.insert(1, WireInfo { rest_ohm: Some(3_000.0), ..WireInfo::default() });
        let circuit = project.circuit.as_mut().unwrap();
        circuit.reference = Reference::Supply;
        circuit.contact_ohm = 200.0;
        let prediction = project.predict().unwrap();
        // FACTS B2 (computed there): 512 new, 465 with 200 Ω of contact.
        assert_eq!((prediction.buttons[0].ohm, prediction.buttons[0].count), (1_200.0, 465));
        assert_eq!((prediction.rests[0].volt, prediction.rests[0].count), (1.25, 256));
    }

    #[test]
    fn buttons_that_saturate_have_no_gap() {
        let prediction = project(&[("a", None, Some(0.0)), ("b", None, Some(700.0))]).predict().unwrap();
        assert_eq!(prediction.smallest_gap_count, Some(0));
    }

    #[test]
    fn with_nothing_to_compare_there_is_no_gap() {
        assert_eq!(project(&[]).predict().unwrap().smallest_gap_count, None);
        let mut project = project(&[]);
        project.wheel.wires.insert(1, WireInfo::default());
        let prediction = project.predict().unwrap();
        assert_eq!((prediction.rests.len(), prediction.smallest_gap_count), (1, None));
    }

    #[test]
    fn what_is_missing_is_named_with_what_to_do() {
        let said = |project: &Project| project.predict().unwrap_err().to_string();
        let mut bare = project(&[("next", None, None), ("mute", None, Some(1.0)), ("source", None, None)]);
        assert_eq!(
            said(&bare),
            "No resistance is known for next, source. Meter each while pressed and enter it at the Wheel \
             station."
        );
        bare.circuit = None;
        assert_eq!(
            said(&bare),
            "The project has no sense circuit. Enter the sense resistor, the feed and the reference at the \
             Circuit station."
        );
    }

    #[test]
    fn what_cannot_be_is_said_with_its_value() {
        let said = |project: &Project| project.predict().unwrap_err().to_string();
        assert_eq!(
            said(&project(&[("mute", None, Some(-4.0))])),
            "The resistance of mute is -4 Ω. Give what the meter shows, 0 Ω or more."
        );
        assert!(said(&project(&[("mute", None, Some(f64::NAN))])).contains("NaN Ω"));
        assert!(said(&project(&[("mute", None, Some(f64::INFINITY))])).contains("inf Ω"));
        assert_eq!(
            said(&project(&[("mute", Some(3), Some(4.0))])),
            "mute is on wire 3. Wires are numbered 1 to 2: choose one of those."
        );
        let mut rest = project(&[("mute", None, Some(4.0))]);
        rest.wheel.wires.insert(1, WireInfo { rest_ohm: Some(-1.0), ..WireInfo::default() });
        assert_eq!(
            said(&rest),
            "The resistance of wire 1 at rest is -1 Ω. Give 0 Ω or more, or leave it out if open."
        );
        let mut sense = project(&[]);
        sense.circuit.as_mut().unwrap().sense_ohm = -1.0;
        assert!(said(&sense).starts_with("The sense resistor is -1 Ω."));
    }
}
