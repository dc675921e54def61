//! `spokewire predict`: what every button of a project should read. Computes nothing of its
//! own.

use std::path::PathBuf;
use std::process::ExitCode;

use super::{CliError, Io};
use crate::project::Prediction;
use crate::units::{ohm_text, volt_text};

/// Which project.
#[derive(Clone, Debug, clap::Args)]
pub struct PredictArgs {
    /// The project file
    pub file: PathBuf,
    /// Print one JSON document: {"buttons":[{"id","wire","ohm","volt","count"}],
    /// "rests":[{"wire","volt","count"}],"smallest_gap_count"}
    #[arg(long)]
    pub json: bool,
}

/// Prints what a project's buttons should read; the prediction as JSON has exactly the command's keys.
///
/// # Errors
/// The file can't be loaded or read, the project lacks what a prediction needs, or nothing can be
/// printed.
pub fn run(args: &PredictArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let prediction = io.open(&args.file)?.project.predict().map_err(CliError::failed)?;
    if args.json {
        io.print_json(&prediction)?;
    } else {
        writeln!(io.out, "{}", text(&prediction))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The prediction for people: a line per button, then the wires at rest and the smallest gap.
#[must_use]
pub fn text(prediction: &Prediction) -> String {
    let Prediction { buttons, rests, smallest_gap_count } = prediction;
    let width = buttons.iter().map(|button| button.id.0.chars().count()).max().unwrap_or(0).max(4);
    let mut lines = Vec::new();
    for button in buttons {
        lines.push(format!(
            "{:width$}  wire {}  {:>8}  {}  count {:>4}",
            button.id.0,
            button.wire,
            ohm_text(button.ohm),
            volt_text(button.volt),
            button.count
        ));
    }
    for rest in rests {
        lines.push(format!(
            "{:width$}  wire {}  {:>8}  {}  count {:>4}",
            "rest",
            rest.wire,
            "",
            volt_text(rest.volt),
            rest.count
        ));
    }
    lines.push(match smallest_gap_count {
        Some(1) => "Smallest gap: 1 count.".to_owned(),
        Some(gap) => format!("Smallest gap: {gap} counts."),
        None => "Nothing to compare: enter the wheel's buttons first.".to_owned(),
    });
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Circuit, Reference, Sense};
    use crate::project::{Button, ButtonId, Project};

    fn project() -> Project {
        let mut project = Project::new("van", "stereo");
        project.circuit = Some(Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: Sense::PullUp,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 0.0,
            leak_ohm: None,
        });
        for (id, ohm) in [("mute", 0.0), ("next", 3_000.0)] {
            project.wheel.buttons.push(Button {
                id: ButtonId(id.to_owned()),
                meter_ohm: Some(ohm),
                ..Button::default()
            });
        }
        project
    }

    #[test]
    fn json_has_exactly_the_promised_keys() {
        let json = serde_json::to_string(&project().predict().unwrap()).unwrap();
        assert_eq!(
            json,
            r#"{"buttons":[{"id":"mute","wire":1,"ohm":0.0,"volt":0.0,"count":0},{"id":"next","wire":1,"ohm":3000.0,"volt":3.75,"count":768}],"rests":[{"wire":1,"volt":5.0,"count":1023}],"smallest_gap_count":255}"#
        );
        let empty = Project { wheel: Default::default(), ..project() };
        let empty = serde_json::to_string(&empty.predict().unwrap());
        assert_eq!(empty.unwrap(), r#"{"buttons":[],"rests":[],"smallest_gap_count":null}"#);
    }

    #[test]
    fn people_get_a_line_per_button() {
        assert_eq!(
            text(&project().predict().unwrap()),
            "mute  wire 1       0 Ω  0.00 V  count    0\n\
             next  wire 1   3.00 kΩ  3.75 V  count  768\n\
             rest  wire 1            5.00 V  count 1023\n\
             Smallest gap: 255 counts."
        );
        let empty = Prediction { buttons: vec![], rests: vec![], smallest_gap_count: None };
        assert_eq!(text(&empty), "Nothing to compare: enter the wheel's buttons first.");
    }
}
