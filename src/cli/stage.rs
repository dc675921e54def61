//! `spokewire stage`: one output stage without a project. Computes nothing of its own.

use std::process::ExitCode;

use serde::{Deserialize, Serialize};

use super::{CliError, Io};
use crate::circuit::{Device, OutputStage, Source, StageLine, StageReport, THRESHOLD_SHARE, mark_text};
use crate::units::{amp_text, ohm_text, volt_text};

/// What the output stage does to the stereo's line, read as JSON from standard input
///
/// The keys, all of them needed: drive_v (what the pin drives), base_ohm (pin to base or gate),
/// base_pulldown_ohm (base or gate to ground), series_ohm (collector to line, 0 for none),
/// pull_up_ohm and pull_up_v (the stereo's own), line_farad (what hangs on the line), mark_us (the
/// shortest mark sent), device ("2N3904", "2N2222A" or "BSS138").
#[derive(Clone, Debug, clap::Args)]
pub struct StageArgs {
    /// Print one JSON document: {"low_v","mark_at_line_us","turn_off_us","saturated"}
    #[arg(long)]
    pub json: bool,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum StageError {
    /// Nothing was given.
    #[error(
        "Nothing came on standard input. Give the output stage there as JSON: spokewire stage < stage.json"
    )]
    Nothing,
    /// The JSON is not this command's.
    #[error("The output stage can't be read: {0}. Correct it there; the help lists the keys.")]
    Json(#[from] serde_json::Error),
    /// No such transistor.
    #[error("{0:?} is no transistor of the table. Give one of {names}.", names = names())]
    Device(String),
    /// A value that can't be.
    #[error("{key} is {value}. Give {what}, {least}.")]
    Value {
        /// Which key.
        key: &'static str,
        /// Its value.
        value: f64,
        /// What it is.
        what: &'static str,
        /// What it may be.
        least: &'static str,
    },
    /// A value that no stage has, with which nothing can be told.
    #[error("{key} is {value:e}. Give {what}, {most:e} at most.")]
    TooMuch {
        /// Which key.
        key: &'static str,
        /// Its value.
        value: f64,
        /// What it is.
        what: &'static str,
        /// The most it may be.
        most: f64,
    },
}

/// The most volts, ohms, farads and microseconds that are answered for: far beyond any stage's, so that a
/// slip is told and no answer is a number's overflow.
const MOST: [f64; 4] = [1e6, 1e15, 1.0, 1e12];

impl From<StageError> for CliError {
    fn from(error: StageError) -> Self {
        Self::bad_use(error)
    }
}

/// The command's input, key by key.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Question {
    drive_v: f64,
    base_ohm: f64,
    base_pulldown_ohm: f64,
    series_ohm: f64,
    pull_up_ohm: f64,
    pull_up_v: f64,
    line_farad: f64,
    mark_us: f64,
    device: String,
}

/// The command's JSON output, key by key.
#[derive(Debug, PartialEq, Serialize)]
struct Answer {
    low_v: f64,
    mark_at_line_us: f64,
    turn_off_us: f64,
    saturated: bool,
}

impl From<&StageReport> for Answer {
    fn from(report: &StageReport) -> Self {
        Self {
            low_v: report.point.low_v,
            mark_at_line_us: report.mark_at_line_us,
            turn_off_us: report.turn_off_us,
            saturated: report.point.saturated,
        }
    }
}

/// Prints what the output stage on standard input does.
///
/// # Errors
/// What [`report`] says, or nothing can be read or printed.
pub fn run(args: &StageArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let report = report(&io.read_input("the output stage as JSON")?)?;
    if args.json {
        io.print_json(&Answer::from(&report))?;
    } else {
        write!(io.out, "{}", text(&report))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// What the stage in this JSON text comes to.
///
/// # Errors
/// Text that is not this command's input, or values that cannot be.
pub fn report(json: &str) -> Result<StageReport, StageError> {
    if json.trim().is_empty() {
        return Err(StageError::Nothing);
    }
    let question: Question = serde_json::from_str(json)?;
    let Question { drive_v, base_ohm, base_pulldown_ohm, series_ohm, .. } = question;
    let Question { pull_up_ohm, pull_up_v, line_farad, mark_us, device, .. } = question;
    let [volts, ohms, farads, micros] = MOST;
    for (key, value, what, at_least_0, most) in [
        ("drive_v", drive_v, "what the pin drives in volts", true, volts),
        ("base_ohm", base_ohm, "the resistor from pin to base in ohms", false, ohms),
        ("base_pulldown_ohm", base_pulldown_ohm, "the resistor from base to ground in ohms", false, ohms),
        ("series_ohm", series_ohm, "the resistor from collector to line in ohms", true, ohms),
        ("pull_up_ohm", pull_up_ohm, "the stereo's pull-up in ohms", false, ohms),
        ("pull_up_v", pull_up_v, "what the line stands at by itself in volts", true, volts),
        ("line_farad", line_farad, "the line's capacitance in farads", true, farads),
        ("mark_us", mark_us, "the shortest mark in microseconds", false, micros),
    ] {
        let fits = value.is_finite() && if at_least_0 { value >= 0.0 } else { value > 0.0 };
        if !fits {
            let least = if at_least_0 { "0 or more" } else { "above 0" };
            return Err(StageError::Value { key, value, what, least });
        }
        if value > most {
            return Err(StageError::TooMuch { key, value, what, most });
        }
    }
    let device = Device::named(&device).ok_or(StageError::Device(device))?;
    let stage = OutputStage { drive_v, base_ohm, base_pulldown_ohm, series_ohm, device };
    let source = Source { volt: pull_up_v, ohm: pull_up_ohm };
    Ok(stage.report(StageLine { source, farad: line_farad, mark_us }))
}

/// The answer for people.
#[must_use]
pub fn text(report: &StageReport) -> String {
    let StageReport { line, point, pull, warnings, .. } = report;
    let on = if point.saturated { "on fully" } else { "not on fully" };
    let beta = point.forced_beta().map_or_else(
        || "the gate takes none".to_owned(),
        |beta| format!("base {}, forced beta {beta:.1}", amp_text(point.base_a)),
    );
    let sure = match pull.low_v {
        Some(low_v) => format!("at most {} by the datasheet", volt_text(low_v)),
        None => format!("the datasheet promises no more than {}", amp_text(pull.limit_a)),
    };
    let mut text = format!(
        "The line goes to {}, {sure}; {} at rest behind {}.\n\
         The transistor is {on}: collector {}, {beta}; the pin gives {}.\n\
         The line is high again {} after the pin, {} of that the transistor's: at {:.0} % of its idle volts.\n\
         A mark of {} is {} at the line, {:+.1} %.\n",
        volt_text(point.low_v),
        volt_text(line.source.volt),
        ohm_text(line.source.ohm),
        amp_text(point.collector_a),
        amp_text(point.pin_a),
        mark_text(report.turn_off_us),
        mark_text(report.release_us()),
        THRESHOLD_SHARE * 100.0,
        mark_text(line.mark_us),
        mark_text(report.mark_at_line_us),
        report.stretch() * 100.0,
    );
    for warning in warnings {
        text.push_str(&format!("{} {}\n", warning.what(), warning.advice()));
    }
    if report.is_good() {
        text.push_str("It will do.\n");
    }
    text
}

/// The table's names in a sentence.
fn names() -> String {
    Device::ALL.map(Device::name).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIRED: &str = r#"{"drive_v":5,"base_ohm":4700,"base_pulldown_ohm":47000,"series_ohm":0,
        "pull_up_ohm":10000,"pull_up_v":5,"line_farad":1e-9,"mark_us":562.5,"device":"2N3904"}"#;

    fn said(json: &str) -> String {
        report(json).unwrap_err().to_string()
    }

    /// The stage above with one more key or another value.
    fn with(key: &str, value: &str) -> String {
        let mut stage: serde_json::Map<_, _> = serde_json::from_str(WIRED).unwrap();
        stage.insert(key.to_owned(), serde_json::from_str(value).unwrap());
        serde_json::to_string(&stage).unwrap()
    }

    fn without(key: &str) -> String {
        let mut stage: serde_json::Map<_, _> = serde_json::from_str(WIRED).unwrap();
        stage.remove(key).unwrap();
        serde_json::to_string(&stage).unwrap()
    }

    #[test]
    fn the_answer_has_exactly_the_promised_keys() {
        let answer = serde_json::to_value(Answer::from(&report(WIRED).unwrap())).unwrap();
        let keys: Vec<_> = answer.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(keys, ["low_v", "mark_at_line_us", "saturated", "turn_off_us"]);
        assert_eq!(answer["saturated"], true);
        assert!(answer["low_v"].as_f64().unwrap() < 0.2);
    }

    #[test]
    fn every_key_is_needed_and_null_is_none_of_them() {
        let keys: serde_json::Map<_, _> = serde_json::from_str(WIRED).unwrap();
        for key in keys.keys() {
            let said_without = said(&without(key));
            assert!(said_without.contains(&format!("missing field `{key}`")), "{said_without}");
            assert!(said(&with(key, "null")).contains("invalid type: null"), "{key}");
        }
    }

    #[test]
    fn what_is_not_the_commands_input_is_said_with_what_to_do() {
        assert!(
            said(" \n").starts_with("Nothing came on standard input. Give the output stage there as JSON")
        );
        for (json, words) in [
            ("{", "EOF while parsing"),
            ("[]", "invalid length 0"),
            (&with("colour", "1"), "unknown field `colour`"),
            (&with("drive_v", "\"5 V\""), "expected f64"),
            (&with("device", "3904"), "expected a string"),
            (&WIRED.replace("4700,", "1e400,"), "number out of range"),
            (&WIRED.replace("4700,", "NaN,"), "expected value"),
            (&format!("{WIRED}{WIRED}"), "trailing characters"),
            (&WIRED.replacen('{', "{\"drive_v\":5,", 1), "duplicate field `drive_v`"),
        ] {
            let said = said(json);
            assert!(
                said.starts_with("The output stage can't be read: ") && said.contains(words),
                "{json}: {said}"
            );
        }
    }

    #[test]
    fn values_that_cannot_be_are_said_with_what_to_do() {
        for (key, value, words) in [
            ("drive_v", "-1", "drive_v is -1. Give what the pin drives in volts, 0 or more."),
            ("base_ohm", "0", "base_ohm is 0. Give the resistor from pin to base in ohms, above 0."),
            (
                "base_pulldown_ohm",
                "-3",
                "base_pulldown_ohm is -3. Give the resistor from base to ground in ohms, above 0.",
            ),
            (
                "series_ohm",
                "-3",
                "series_ohm is -3. Give the resistor from collector to line in ohms, 0 or more.",
            ),
            ("pull_up_ohm", "0", "pull_up_ohm is 0. Give the stereo's pull-up in ohms, above 0."),
            (
                "pull_up_v",
                "-5",
                "pull_up_v is -5. Give what the line stands at by itself in volts, 0 or more.",
            ),
            (
                "line_farad",
                "-1e-9",
                "line_farad is -0.000000001. Give the line's capacitance in farads, 0 or more.",
            ),
            ("mark_us", "0", "mark_us is 0. Give the shortest mark in microseconds, above 0."),
            ("drive_v", "1e308", "drive_v is 1e308. Give what the pin drives in volts, 1e6 at most."),
            ("line_farad", "1.5", "line_farad is 1.5e0. Give the line's capacitance in farads, 1e0 at most."),
            (
                "device",
                "\"2n3904\"",
                "\"2n3904\" is no transistor of the table. Give one of 2N3904, 2N2222A, BSS138.",
            ),
        ] {
            assert_eq!(said(&with(key, value)), words);
        }
    }

    #[test]
    fn whatever_can_be_gets_an_answer_in_numbers() {
        for (key, value) in [
            ("drive_v", "0"),
            ("drive_v", "1000"),
            ("base_ohm", "1e-6"),
            ("base_ohm", "1e15"),
            ("base_pulldown_ohm", "1e-6"),
            ("series_ohm", "1e12"),
            ("pull_up_ohm", "1e-6"),
            ("pull_up_ohm", "1e12"),
            ("pull_up_v", "0"),
            ("pull_up_v", "1e6"),
            ("line_farad", "0"),
            ("line_farad", "1"),
            ("mark_us", "1e-6"),
            ("mark_us", "1e12"),
        ] {
            for device in Device::ALL {
                let mut stage: serde_json::Value = serde_json::from_str(&with(key, value)).unwrap();
                stage["device"] = device.name().into();
                let report = report(&stage.to_string()).unwrap();
                let Answer { low_v, mark_at_line_us, turn_off_us, .. } = Answer::from(&report);
                for figure in [low_v, mark_at_line_us, turn_off_us] {
                    assert!(figure.is_finite(), "{key} {value} {}: {figure}", device.name());
                }
                assert!(!text(&report).contains("NaN"));
            }
        }
    }

    #[test]
    fn people_get_words_and_a_verdict() {
        let told = text(&report(WIRED).unwrap());
        assert!(told.starts_with("The line goes to 0.0"), "{told}");
        assert!(told.contains("A mark of 562 µs is 57") && told.ends_with("It will do.\n"), "{told}");
        let told = text(&report(&with("pull_up_ohm", "150")).unwrap());
        assert!(told.ends_with("Make the base resistor 1.20 kΩ or less.\n"), "{told}");
    }
}
