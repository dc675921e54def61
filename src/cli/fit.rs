//! `spokewire fit FILE`: which ladder the meter's readings fit, with its parts, and which readings are odd.
//! Computes nothing of its own.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::bands::Rung;
use crate::project::{ButtonId, Project, ReadingRow, WireReadings, bands, meter_text, odd_text};
use crate::units::ohm_text;
use crate::wheel::{Fit, Sureness, Topology};

/// Which project.
#[derive(Clone, Debug, clap::Args)]
pub struct FitArgs {
    /// The project file
    pub file: PathBuf,
    /// Print one JSON document: {"wires":[{"wire","topology","sureness","ratio","contact_ohm",
    /// "steps":[{"button","ohm","preferred_ohm","share"}],"end","ask"}],"odd":[{"where","what"}]}
    #[arg(long)]
    pub json: bool,
}

/// What the readings fit; as JSON exactly the command's keys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitReport {
    /// The wires with readings.
    pub wires: Vec<FitWire>,
    /// Readings to be looked at.
    pub odd: Vec<FitOdd>,
}

/// One wire's ladder.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitWire {
    /// Its number, 1 or 2.
    pub wire: u8,
    /// The likelier topology.
    pub topology: Topology,
    /// `can't tell`, `likely` or `certain`.
    pub sureness: &'static str,
    /// How much likelier it is, by how near to preferred values its parts are; 1 or more.
    pub ratio: f64,
    /// Contact and leads, in ohms.
    pub contact_ohm: f64,
    /// Its resistors, the smallest reading first.
    pub steps: Vec<FitStep>,
    /// The resistor at its end; `null` where it rests open.
    pub end: Option<FitStep>,
    /// The two buttons whose reading together decides it; `null` with fewer than two.
    pub ask: Option<FitAsk>,
}

/// One resistor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitStep {
    /// Whose; `null` at the end.
    pub button: Option<ButtonId>,
    /// As metered, in ohms.
    pub ohm: f64,
    /// The preferred value it likely is; `null` where nothing can be said.
    pub preferred_ohm: Option<f64>,
    /// How sure that is, 0 to 1.
    pub share: f64,
}

/// Two buttons to be pressed at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitAsk {
    /// Which.
    pub buttons: [ButtonId; 2],
    /// What a chain reads.
    pub series_ohm: f64,
    /// What resistors of their own read.
    pub parallel_ohm: f64,
}

/// A reading to be looked at.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitOdd {
    /// The button's id, or `rest`.
    pub r#where: String,
    /// What is odd.
    pub what: String,
}

/// Prints what the readings of a project fit.
///
/// # Errors
/// The file can't be loaded or read, no button has a reading, or nothing can be printed.
pub fn run(args: &FitArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    if project.wheel.buttons.iter().all(|button| button.meter_ohm.is_none()) {
        return Err(CliError::Failed(
            "No button has a meter's reading. Meter each while pressed and enter it at the Wheel station."
                .to_owned(),
        ));
    }
    let report = report(&project);
    if args.json {
        io.print_json(&report)?;
    } else {
        writeln!(io.out, "{}", text(&project, &report))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// What the readings of a project fit.
#[must_use]
pub fn report(project: &Project) -> FitReport {
    let readings = project.readings(&bands(project));
    let id = |index: usize| project.wheel.buttons.get(index).map(|button| button.id.clone());
    let metered = |wire: &&WireReadings| wire.rows.iter().any(|row| row.meter_ohm.is_some());
    let wires =
        readings.wires.iter().filter(metered).map(|wire| wire_report(wire.wire, &wire.fit, &id)).collect();
    let odd = readings.odd().filter_map(|row| odd_report(project, row, &id)).collect();
    FitReport { wires, odd }
}

fn wire_report(wire: u8, fit: &Fit, id: &impl Fn(usize) -> Option<ButtonId>) -> FitWire {
    let parts = fit.parts(fit.topology);
    FitWire {
        wire,
        topology: fit.topology,
        sureness: match fit.sureness {
            Sureness::CannotTell => "can't tell",
            Sureness::Likely => "likely",
            Sureness::Certain => "certain",
        },
        ratio: fit.ratio,
        contact_ohm: parts.contact_ohm,
        steps: parts
            .parts
            .iter()
            .map(|part| FitStep {
                button: id(part.button),
                ohm: part.ohm,
                preferred_ohm: part.preferred_ohm,
                share: part.share,
            })
            .collect(),
        end: parts.end.map(|end| FitStep {
            button: None,
            ohm: end.ohm,
            preferred_ohm: end.preferred_ohm,
            share: end.share,
        }),
        ask: fit.ask.and_then(|ask| {
            let buttons = [id(ask.buttons.0)?, id(ask.buttons.1)?];
            Some(FitAsk { buttons, series_ohm: ask.series_ohm, parallel_ohm: ask.parallel_ohm })
        }),
    }
}

fn odd_report(
    project: &Project,
    row: &ReadingRow,
    id: &impl Fn(usize) -> Option<ButtonId>,
) -> Option<FitOdd> {
    let (head, body) = odd_text(project, row)?;
    let place = match row.rung {
        Rung::Button(index) => id(index)?.0,
        Rung::Rest(_) => "rest".to_owned(),
    };
    Some(FitOdd { r#where: place, what: format!("{head} {body}") })
}

/// The report for people: a line a wire, a line a part, and what is odd.
fn text(project: &Project, report: &FitReport) -> String {
    let mut lines = Vec::new();
    for wire in &report.wires {
        let kind = match wire.topology {
            Topology::Series => "a chain with taps",
            Topology::Parallel => "a resistor of its own for each button",
        };
        let ratio = if wire.ratio >= 1_000.0 { "over 1000".to_owned() } else { format!("{:.0}", wire.ratio) };
        lines.push(match wire.sureness {
            "certain" => format!("Wire {}: {kind}, certain by two pressed at once.", wire.wire),
            "likely" => format!("Wire {}: {kind}, likely, {ratio} to 1.", wire.wire),
            _ => format!("Wire {}: can't tell; rather {kind}, {ratio} to 1.", wire.wire),
        });
        let steps = wire.steps.iter().map(|step| (step.button.as_ref(), step));
        for (button, step) in steps.chain(wire.end.iter().map(|end| (None, end))) {
            let name = button.map_or("end", |id| id.0.as_str());
            let sold = step.preferred_ohm.map_or_else(
                || "can't tell".to_owned(),
                |ohm| format!("{}, {:.0} %", ohm_text(ohm), (100.0 * step.share).min(99.0)),
            );
            lines.push(format!("  {name:16} {:>8}  {sold}", ohm_text(step.ohm)));
        }
        if let (Some(ask), true) = (&wire.ask, wire.sureness != "certain") {
            let name =
                |id: &ButtonId| project.button(id).map_or(id.0.clone(), |(_, button)| button.name.clone());
            lines.push(format!(
                "  Press {} and {} at once: {} is a chain, {} is not.",
                name(&ask.buttons[0]),
                name(&ask.buttons[1]),
                meter_text(ask.series_ohm),
                meter_text(ask.parallel_ohm)
            ));
        }
    }
    lines.extend(report.odd.iter().map(|odd| odd.what.clone()));
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::demo_project;

    #[test]
    fn the_demos_chain_is_told_with_its_parts_and_the_pair_to_press() {
        let project = demo_project();
        let said = text(&project, &report(&project));
        assert!(said.starts_with("Wire 1: a chain with taps, likely, "), "{said}");
        assert!(said.contains("volume_up            84 Ω  82 Ω, "), "{said}");
        assert!(said.contains("end               10.0 kΩ  10.0 kΩ, "), "{said}");
        assert!(
            said.contains("Press Previous and Source at once: 920 Ω is a chain, 533 Ω is not."),
            "{said}"
        );
    }

    #[test]
    fn json_has_exactly_the_promised_keys() {
        let json = serde_json::to_value(report(&demo_project())).unwrap();
        let keys = |value: &serde_json::Value| -> Vec<String> {
            value.as_object().unwrap().keys().cloned().collect()
        };
        assert_eq!(keys(&json), ["odd", "wires"]);
        let wire = &json["wires"][0];
        assert_eq!(
            keys(wire),
            ["ask", "contact_ohm", "end", "ratio", "steps", "sureness", "topology", "wire"]
        );
        assert_eq!(keys(&wire["steps"][0]), ["button", "ohm", "preferred_ohm", "share"]);
        assert_eq!(wire["topology"], "series");
        assert_eq!(wire["ask"]["buttons"], serde_json::json!(["previous", "source"]));
    }
}
