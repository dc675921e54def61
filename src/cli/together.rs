//! `spokewire together`: what every two buttons read at once, and whose band that is. Computes nothing
//! of its own.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::bands::Rung;
use crate::project::banding::rung_name;
use crate::project::{ButtonId, Falls, Harm, Project, Together, bands, together};
use crate::units::{number_of, ohm_text, volt_text};

/// Which project.
#[derive(Clone, Debug, clap::Args)]
pub struct TogetherArgs {
    /// The project file
    pub file: PathBuf,
    /// Print one JSON document: {"pairs":[{"buttons":[a,b],"wire","ohm","volt","count","falls_on"}]};
    /// falls_on is a button, "rest", or null for nobody's band
    #[arg(long)]
    pub json: bool,
}

/// Every two buttons of one wire, in the wheel's order; as JSON exactly the command's keys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TogetherReport {
    /// The pairs.
    pub pairs: Vec<PairLine>,
}

/// Two buttons at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PairLine {
    /// Their ids.
    pub buttons: [ButtonId; 2],
    /// Their wire.
    pub wire: u8,
    /// Seen across wire and return, in ohms; `null` where nothing closes the path.
    pub ohm: Option<f64>,
    /// At the sense node, in volts.
    pub volt: f64,
    /// As the converter gives it, 0 to 1023.
    pub count: u16,
    /// Whose band holds it: a button's id, `rest`, or `null` for nobody's.
    pub falls_on: Option<String>,
}

/// Prints what every two buttons read.
///
/// # Errors
/// The file can't be loaded or read, the project lacks what it takes, or nothing can be printed.
pub fn run(args: &TogetherArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let told = together(&project, &bands(&project)).map_err(CliError::failed)?;
    if args.json {
        io.print_json(&report(&project, &told))?;
    } else {
        writeln!(io.out, "{}", text(&project, &told))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The pairs as they are printed for programs.
#[must_use]
pub fn report(project: &Project, told: &Together) -> TogetherReport {
    let id = |button: usize| {
        project.wheel.buttons.get(button).map_or_else(ButtonId::default, |button| button.id.clone())
    };
    let pairs = told.pairs.iter().map(|pair| PairLine {
        buttons: pair.buttons.map(id),
        wire: pair.wire,
        ohm: pair.ohm.is_finite().then_some(pair.ohm),
        volt: pair.volt,
        count: pair.count,
        falls_on: pair.falls_on(project),
    });
    TogetherReport { pairs: pairs.collect() }
}

/// The pairs for people: the dangerous ones in sentences first, then a line each of the others.
#[must_use]
pub fn text(project: &Project, told: &Together) -> String {
    let name = |button: usize| rung_name(project, Rung::Button(button));
    let named = |buttons: [usize; 2]| buttons.map(name).join(" + ");
    let pairs = told.by_harm();
    let width = pairs.iter().map(|pair| named(pair.buttons).chars().count()).max().unwrap_or(0);
    let mut lines: Vec<String> = Vec::new();
    let mut listed = false;
    for pair in pairs {
        if matches!(pair.harm(), Harm::Mistaken | Harm::MayBeMistaken) {
            let word = if pair.harm() == Harm::Mistaken { "danger" } else { "caution" };
            lines.push(format!("{word:<8} {}", pair.text(project)));
            continue;
        }
        if !listed && !lines.is_empty() {
            lines.push(String::new());
        }
        listed = true;
        let falls = match (pair.harm(), pair.falls_on(project).as_deref()) {
            (Harm::Masked, Some(_)) => format!("as {}", owner(project, pair.falls)),
            (_, Some(_)) => "as at rest, ignored".to_owned(),
            (_, None) => "nobody's, ignored".to_owned(),
        };
        lines.push(format!(
            "{:width$}  wire {}  {:>8}  {}  count {:>4}  {falls}",
            named(pair.buttons),
            pair.wire,
            ohm_text(pair.ohm),
            volt_text(pair.volt),
            pair.count,
        ));
    }
    lines.extend(footnotes(project, told));
    lines.join("\n")
}

/// Whose band it is, by name.
fn owner(project: &Project, falls: Falls) -> String {
    match falls {
        Falls::One(button) => rung_name(project, Rung::Button(button)),
        _ => String::new(),
    }
}

/// What holds for all of them.
fn footnotes(project: &Project, told: &Together) -> Vec<String> {
    let name = |button: &usize| rung_name(project, Rung::Button(*button));
    let mut notes = Vec::new();
    match told.mistaken() {
        [0, 0] if told.pairs.is_empty() => {}
        [0, 0] => notes.push("No two buttons at once are taken for a third.".to_owned()),
        [sure, may] => {
            notes.push(format!(
                "{} taken for a third button, {may} more may be. The box can't know a pair from that \
                 button: give the button a hold or a double tap, learn the pair as a button of its own, or \
                 choose another sense resistor.",
                number_of(sure, "pair")
            ));
        }
    }
    if !told.apart.is_empty() {
        notes.push(format!(
            "{} on two wires: the first wire to leave rest owns the press, the other is ignored until both \
             rest.",
            number_of(told.apart.len(), "pair")
        ));
    }
    if !told.left_out.is_empty() {
        let names: Vec<_> = told.left_out.iter().map(name).collect();
        notes.push(format!("Left out, no resistance is known: {}.", names.join(", ")));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Circuit, Reference, Sense};
    use crate::project::Button;
    use crate::wheel::Topology;

    /// The parallel example of FACTS B1, and a fourth button where two of them read together.
    fn project() -> Project {
        let mut project = Project::new("van", "stereo");
        project.wheel.topology = Topology::Parallel;
        project.circuit = Some(Circuit {
            feed_monitor: None,
            filter: Default::default(),
            sense: Sense::PullDown,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::External { volt: 3.3, series_ohm: 5_100.0 },
            contact_ohm: 0.0,
            leak_ohm: None,
        });
        for (id, ohm, wire) in
            [("up", 2_200.0, 1), ("down", 4_700.0, 1), ("mute", 1_500.0, 1), ("next", 300.0, 2)]
        {
            project.wheel.buttons.push(Button {
                id: ButtonId(id.to_owned()),
                meter_ohm: Some(ohm),
                wire: Some(wire),
                ..Button::default()
            });
        }
        project
    }

    fn told(project: &Project) -> Together {
        together(project, &bands(project)).unwrap()
    }

    #[test]
    fn json_has_exactly_the_promised_keys() {
        let project = project();
        let report = serde_json::to_value(report(&project, &told(&project))).unwrap();
        let pairs = report["pairs"].as_array().unwrap();
        assert_eq!((report.as_object().unwrap().len(), pairs.len()), (1, 3));
        for pair in pairs {
            let mut keys: Vec<_> = pair.as_object().unwrap().keys().map(String::as_str).collect();
            keys.sort_unstable();
            assert_eq!(keys, ["buttons", "count", "falls_on", "ohm", "volt", "wire"]);
        }
        assert_eq!(pairs[0]["buttons"], serde_json::json!(["up", "down"]));
        assert_eq!((&pairs[0]["count"], &pairs[0]["falls_on"]), (&719.into(), &"mute".into()));
        // Up and Mute: 892 Ω by hand, beyond every band.
        assert_eq!((&pairs[1]["count"], &pairs[1]["falls_on"]), (&950.into(), &serde_json::Value::Null));
    }

    #[test]
    fn people_get_the_dangerous_pairs_first_and_what_to_do() {
        let project = project();
        let text = text(&project, &told(&project));
        let lines: Vec<_> = text.lines().collect();
        assert!(lines[0].starts_with("danger   up and down at once read 719, in mute's band"), "{text}");
        assert_eq!(lines[1], "");
        assert!(
            lines[2].starts_with("up + mute    wire 1     892 Ω  2.64 V  count  950  nobody's"),
            "{text}"
        );
        assert!(text.contains("1 pair taken for a third button, 0 more may be."), "{text}");
        assert!(text.ends_with(
            "3 pairs on two wires: the first wire to leave rest owns the press, the other is ignored until \
             both rest."
        ));
    }
}
