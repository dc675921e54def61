//! `spokewire node`: one what-if without a project. Computes nothing of its own.

use std::process::ExitCode;

use serde::Deserialize;

use super::{CliError, Io};
use crate::circuit::{EndReturn, Hookup, HookupError, NodePoint, Sense};
use crate::units::volt_text;
use crate::wheel::{Ladder, LadderError, Topology};

/// What the sense node stands at for one circuit, read as JSON from standard input
///
/// The keys are feed_v, sense ("pull_down" or "pull_up"), topology ("series" or "parallel"),
/// ladder_ohm (the chain's steps, or each button's own resistor), sense_ohm, and where there are
/// any contact_ohm, leak_ohm (sense node to ground), end_ohm (far end of the chain to ground) and
/// pressed (button numbers from 1).
#[derive(Clone, Debug, clap::Args)]
pub struct NodeArgs {
    /// Print one JSON document: {"volt","feed_amp"}
    #[arg(long)]
    pub json: bool,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum NodeError {
    /// Nothing was given.
    #[error("Nothing came on standard input. Give the circuit there as JSON: spokewire node < circuit.json")]
    Nothing,
    /// The JSON is not this command's.
    #[error("The circuit can't be read: {0}. Correct it there; the help lists the keys.")]
    Json(#[from] serde_json::Error),
    /// The values cannot be.
    #[error(transparent)]
    Hookup(#[from] HookupError),
}

impl From<NodeError> for CliError {
    fn from(error: NodeError) -> Self {
        if error.is_bad_use() { Self::bad_use(error) } else { Self::failed(error) }
    }
}

impl NodeError {
    /// Whether the command was given something that is not its input at all; otherwise the values
    /// are refused.
    #[must_use]
    pub fn is_bad_use(&self) -> bool {
        matches!(self, Self::Nothing | Self::Json(_))
    }
}

/// The command's input, key by key.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Question {
    feed_v: f64,
    sense: Sense,
    topology: Topology,
    ladder_ohm: Vec<f64>,
    sense_ohm: f64,
    #[serde(default)]
    contact_ohm: Option<f64>,
    #[serde(default)]
    leak_ohm: Option<f64>,
    #[serde(default)]
    end_ohm: Option<f64>,
    /// Signed, so that a number below 1 is refused as a button and not as JSON.
    #[serde(default)]
    pressed: Option<Vec<i64>>,
}

/// Prints the sense node for the circuit on standard input.
///
/// # Errors
/// What [`answer`] says, or nothing can be read or printed.
pub fn run(args: &NodeArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let point = answer(&io.read_input("the circuit as JSON")?)?;
    if args.json {
        io.print_json(&point)?;
    } else {
        writeln!(io.out, "{}", text(&point))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The sense node for the circuit in this JSON text. The end-of-line resistor goes from the far
/// end to ground whichever way round ([`EndReturn::Ground`]): of the chain, or for a parallel
/// ladder, which has none, of the rail its resistors share at the start.
///
/// # Errors
/// Text that is not this command's input, or values that cannot be.
pub fn answer(json: &str) -> Result<NodePoint, NodeError> {
    if json.trim().is_empty() {
        return Err(NodeError::Nothing);
    }
    let question: Question = serde_json::from_str(json)?;
    let Question { feed_v, sense, topology, ladder_ohm, sense_ohm, contact_ohm, leak_ohm, end_ohm, pressed } =
        question;
    let buttons = ladder_ohm.len();
    let pressed: Vec<usize> = pressed
        .unwrap_or_default()
        .into_iter()
        .map(|number| usize::try_from(number).map_err(|_| LadderError::NoSuchButton { number, buttons }))
        .collect::<Result<_, _>>()
        .map_err(HookupError::from)?;
    let hookup = Hookup {
        feed_v,
        sense,
        sense_ohm,
        ladder: Ladder { topology, ohm: ladder_ohm, end_ohm },
        end_return: EndReturn::Ground,
        contact_ohm: contact_ohm.unwrap_or(0.0),
        leak_ohm,
    };
    Ok(hookup.node(&pressed)?)
}

/// The answer for people.
#[must_use]
pub fn text(point: &NodePoint) -> String {
    format!("{} at the sense node, {:.3} mA from the feed.", volt_text(point.volt), point.feed_amp * 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(json: &str) -> String {
        answer(json).unwrap_err().to_string()
    }

    const REST: &str =
        r#"{"feed_v":5,"sense":"pull_down","topology":"series","ladder_ohm":[1000,2000],"sense_ohm":1000}"#;

    /// The circuit above with one more key or another value.
    fn with(key: &str, value: &str) -> String {
        let mut circuit: serde_json::Map<_, _> = serde_json::from_str(REST).unwrap();
        circuit.insert(key.to_owned(), serde_json::from_str(value).unwrap());
        serde_json::to_string(&circuit).unwrap()
    }

    #[test]
    fn the_answer_has_exactly_the_promised_keys() {
        let json = |question: &str| serde_json::to_string(&answer(question).unwrap()).unwrap();
        assert_eq!(json(REST), r#"{"volt":0.0,"feed_amp":0.0}"#);
        assert_eq!(json(&with("pressed", "[1]")), r#"{"volt":2.5,"feed_amp":0.0025}"#);
        assert_eq!(json(&with("pressed", "[2, 1]")), r#"{"volt":2.5,"feed_amp":0.0025}"#);
    }

    #[test]
    fn null_is_as_good_as_absent() {
        for key in ["contact_ohm", "leak_ohm", "end_ohm", "pressed"] {
            assert_eq!(answer(&with(key, "null")).unwrap(), answer(REST).unwrap(), "{key}");
        }
    }

    /// By hand, in kΩ: 5 V through the chain's 3 into an end of 3 to ground; with button 2 its tap
    /// is 3 beside contact and sense of 1.5.
    #[test]
    fn the_end_returns_to_ground_for_a_pull_down_too() {
        let question = with("end_ohm", "3000");
        let rest = answer(&question).unwrap();
        assert!(rest.volt.abs() < 1e-15 && (rest.feed_amp - 5.0 / 6_000.0).abs() < 1e-15);
        let mut pressed: serde_json::Value = serde_json::from_str(&question).unwrap();
        pressed["pressed"] = serde_json::json!([2]);
        pressed["contact_ohm"] = serde_json::json!(500);
        let pressed = answer(&pressed.to_string()).unwrap();
        assert!((pressed.feed_amp - 5.0 / 4_000.0).abs() < 1e-15);
        assert!((pressed.volt - 1.25 / 1.5).abs() < 1e-15);
    }

    #[test]
    fn what_is_not_the_commands_input_is_said_with_what_to_do() {
        assert!(said(" \n").starts_with("Nothing came on standard input. Give the circuit there as JSON"));
        for (json, words) in [
            ("{", "EOF while parsing"),
            ("[]", "invalid length 0"),
            (&with("colour", "1"), "unknown field `colour`"),
            (&with("sense", "\"sideways\""), "unknown variant `sideways`, expected `pull_down` or `pull_up`"),
            (&with("topology", "\"ring\""), "unknown variant `ring`, expected `series` or `parallel`"),
            (&with("sense_ohm", "\"1k\""), "expected f64"),
            (&with("sense_ohm", "null"), "invalid type: null"),
            (&with("pressed", "[1.5]"), "expected i64"),
            (r#"{"feed_v":5}"#, "missing field `sense`"),
            (&REST.replace("5,", "1e400,"), "number out of range"),
            (&REST.replace("5,", "NaN,"), "expected value"),
            (&format!("{REST}{REST}"), "trailing characters"),
            (&REST.replacen('{', "{\"feed_v\":5,", 1), "duplicate field `feed_v`"),
        ] {
            let said = said(json);
            assert!(
                said.starts_with("The circuit can't be read: ") && said.contains(words),
                "{json}: {said}"
            );
            assert!(answer(json).unwrap_err().is_bad_use());
        }
    }

    #[test]
    fn values_that_cannot_be_are_said_with_what_to_do() {
        for (key, value, words) in [
            ("feed_v", "0", "The feed is 0 V. Give the voltage that feeds the ladder, above 0 V."),
            ("sense_ohm", "-3", "The sense resistor is -3 Ω. Give its value by the meter, above 0 Ω."),
            ("contact_ohm", "-3", "The contact is -3 Ω. Give 0 Ω or more."),
            ("leak_ohm", "-3", "The leak to ground is -3 Ω. Give its value above 0 Ω, or leave it out."),
            ("end_ohm", "-3", "The end-of-line resistor is -3 Ω. Give 0 Ω or more, or leave it out."),
            ("ladder_ohm", "[]", "The ladder has no resistors. Give one for each button."),
            ("ladder_ohm", "[1, -3]", "Resistor 2 of the ladder is -3 Ω. Give 0 Ω or more."),
            (
                "pressed",
                "[0]",
                "Button 0 is pressed, but the ladder's buttons are 1 to 2. Press one of those.",
            ),
            (
                "pressed",
                "[3]",
                "Button 3 is pressed, but the ladder's buttons are 1 to 2. Press one of those.",
            ),
            (
                "pressed",
                "[-1]",
                "Button -1 is pressed, but the ladder's buttons are 1 to 2. Press one of those.",
            ),
            ("pressed", "[1, 1]", "Button 1 is pressed twice at once. Name each pressed button once."),
        ] {
            assert_eq!(said(&with(key, value)), words);
            assert!(!answer(&with(key, value)).unwrap_err().is_bad_use());
        }
    }

    #[test]
    fn people_get_volts_and_milliamperes() {
        let text = text(&answer(&with("pressed", "[1]")).unwrap());
        assert_eq!(text, "2.50 V at the sense node, 2.500 mA from the feed.");
    }
}
