//! `spokewire bands`: each button's accept band, and how it stands. Computes nothing of its own.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::bands::{Band, BandSet, Reach, Rung, odds_text};
use crate::project::banding::{bands, edges_text, rung_name, verdict_text};
use crate::project::{ButtonId, Project, feed_off};
use crate::units::{count_text, ohm_text};

/// Which project.
#[derive(Clone, Debug, clap::Args)]
pub struct BandsArgs {
    /// The project file
    pub file: PathBuf,
    /// Print one JSON document: {"buttons":[{"id","wire","centre_count","low_count",
    /// "high_count","separation_sigma","headroom_ohm","verdict"}]}
    #[arg(long)]
    pub json: bool,
}

/// Every button of the project, in the wheel's order; as JSON exactly the command's keys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandsReport {
    /// The buttons.
    pub buttons: Vec<BandsLine>,
}

/// One button; what is not known yet is `null`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandsLine {
    /// Its id.
    pub id: ButtonId,
    /// Its wire, 1 or 2.
    pub wire: Option<u8>,
    /// Median of its press medians, in counts.
    pub centre_count: Option<f64>,
    /// The lowest whole count accepted; `null` too where it has no band of its own.
    pub low_count: Option<u16>,
    /// The highest whole count accepted.
    pub high_count: Option<u16>,
    /// Least distance to another rung on its wire, in standard deviations of both.
    pub separation_sigma: Option<f64>,
    /// Contact resistance it can gain before it leaves its band, in ohms; `null` too where no wear
    /// can push it out.
    pub headroom_ohm: Option<f64>,
    /// How it stands, in a sentence.
    pub verdict: String,
}

/// Prints the bands of a project.
///
/// # Errors
/// The file can't be loaded or read, or nothing can be printed.
pub fn run(args: &BandsArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    if args.json {
        io.print_json(&report(&project))?;
    } else {
        writeln!(io.out, "{}", text(&project))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The bands of a project's buttons. What is only planned has no numbers here.
#[must_use]
pub fn report(project: &Project) -> BandsReport {
    let set = bands(project);
    let buttons = project.wheel.buttons.iter().enumerate().map(|(index, button)| {
        let band = set.band(Rung::Button(index)).filter(|band| band.measured);
        let accept = band.and_then(|band| band.accept);
        BandsLine {
            id: button.id.clone(),
            wire: button.wire,
            centre_count: band.map(|band| band.centre_count),
            low_count: accept.map(|accept| accept.low_count),
            high_count: accept.map(|accept| accept.high_count),
            separation_sigma: band.and_then(|band| band.separation_sigma),
            headroom_ohm: band.and_then(|band| band.headroom_ohm).filter(|ohm| ohm.is_finite()),
            verdict: set.verdict(index).map_or_else(String::new, |verdict| verdict_text(project, verdict)),
        }
    });
    BandsReport { buttons: buttons.collect() }
}

/// The bands for people: a line per rung, rest among them, then what all of them rest on.
#[must_use]
pub fn text(project: &Project) -> String {
    if project.wheel.buttons.is_empty() {
        return "No buttons yet. Learn some: spokewire learn.".to_owned();
    }
    let set = bands(project);
    let names: Vec<String> = (0..project.wheel.buttons.len())
        .map(|index| rung_name(project, Rung::Button(index)))
        .chain(set.rests.iter().map(|rest| rung_name(project, rest.rung)))
        .collect();
    let width = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
    let mut lines =
        vec![format!("{:width$}  wire  centre  accepts      apart    headroom", "", width = width)];
    let rungs =
        (0..project.wheel.buttons.len()).map(Rung::Button).chain(set.rests.iter().map(|rest| rest.rung));
    for (rung, name) in rungs.zip(names) {
        let band = set.band(rung);
        let verdict = match (rung, band) {
            (Rung::Button(index), _) => set.verdict(index),
            (Rung::Rest(_), band) => band.map(|band| &band.verdict),
        };
        lines.push(row(&name, width, band, &verdict.map_or_else(String::new, |v| verdict_text(project, v))));
    }
    lines.extend(footnotes(project, &set));
    lines.join("\n")
}

fn row(name: &str, width: usize, band: Option<&Band>, verdict: &str) -> String {
    let none = || "-".to_owned();
    let wire = band.map_or_else(none, |band| band.wire.to_string());
    let centre = band.map_or_else(none, |band| count_text(band.centre_count, 0));
    let accepts = match band.map(|band| (band.accept, band.measured)) {
        Some((Some(accept), true)) => format!("{} to {}", accept.low_count, accept.high_count),
        Some((Some(_), false)) => "planned".to_owned(),
        Some((None, _)) | None => none(),
    };
    let apart =
        band.and_then(|band| band.separation_sigma).map_or_else(none, |sigma| format!("{sigma:.0} σ"));
    let headroom = match band.and_then(|band| band.headroom_ohm) {
        Some(ohm) if ohm.is_infinite() => "any".to_owned(),
        Some(ohm) => ohm_text(ohm),
        None => none(),
    };
    format!("{name:width$}  {wire:>4}  {centre:>6}  {accepts:11}  {apart:>7}  {headroom:>8}  {verdict}")
}

/// The spread all bands rest on, and why a wire's bands are narrow.
fn footnotes(project: &Project, set: &BandSet) -> Vec<String> {
    let spread = match (set.between.ohm, set.between.count) {
        (Some(ohm), _) => ohm_text(ohm),
        (None, count) => format!("{} counts", count_text(count.unwrap_or(0.0), 1)),
    };
    let source = if set.between.assumed {
        "assumed for want of presses".to_owned()
    } else {
        format!("{} degrees of freedom", set.between.degrees_of_freedom)
    };
    let mut notes = vec![format!("Spread between presses: {spread}, {source}.")];
    for wire in &set.wires {
        let why = match wire.reach {
            Reach::Widened => continue,
            Reach::RestUnknown => "its rest is learned".to_owned(),
            Reach::ButtonUnknown(index) => {
                format!("{} is learned", rung_name(project, Rung::Button(index)))
            }
        };
        notes.push(format!("Wire {}: no band reaches past its own presses until {why}.", wire.wire));
    }
    notes.extend(drifted(project, set));
    notes.extend(set.buttons.iter().flat_map(|band| edges_text(project, set, band)));
    if let Some(off) = feed_off(project) {
        notes.push(format!("{} The bands are provisional.", off.text()));
    }
    notes
}

/// The buttons that the circuit can drift out of their bands, and how often a press of each then goes
/// wrong; and the feed that the least of them bears, where readings go with it.
fn drifted(project: &Project, set: &BandSet) -> Vec<String> {
    let told = |band: &Band| {
        let chance = band.chance?;
        let name = rung_name(project, band.rung);
        let taken = chance.taken_for.filter(|_| chance.drifted_taken >= TOLD);
        match taken {
            Some(other) => Some(format!(
                "{name} is taken for {} in {}",
                rung_name(project, other),
                odds_text(chance.drifted_taken)
            )),
            None if chance.drifted_ignored >= TOLD => {
                Some(format!("{name} is ignored in {}", odds_text(chance.drifted_ignored)))
            }
            None => None,
        }
    };
    let mut notes = Vec::new();
    if set.buttons.iter().any(|band| band.drift.up_count + band.drift.down_count > 0.0) {
        let said: Vec<String> = set.buttons.iter().filter_map(told).collect();
        notes.push(match said.as_slice() {
            [] => "Drifted as far as the circuit can: every press is still taken.".to_owned(),
            said => format!("Drifted as far as the circuit can, of presses: {}.", said.join("; ")),
        });
    }
    let feed = set.buttons.iter().filter_map(|band| Some((band.headroom_feed?, band.rung)));
    if let Some((share, rung)) =
        feed.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(share, _)| share.is_finite())
    {
        let name = rung_name(project, rung);
        notes.push(format!(
            "The feed may be {:.1} % off its plan, then {name} leaves its band.",
            share * 100.0
        ));
    }
    notes
}

/// Chances below this are not told here.
const TOLD: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::{Press, RestLevel, Touch};
    use crate::project::{Button, LearnedButton};

    fn project() -> Project {
        let mut project = Project::new("Brindle Linnet", "Tarn R40");
        project.rests.insert(1, RestLevel { median_count: 959.0, spread_count: 0.9, readings: 2_000 });
        for (id, name, medians) in [
            ("next", "Next", vec![357.0, 358.0, 358.0]),
            ("mute", "Mute", vec![848.0, 849.0, 850.0]),
            ("source", "Source", vec![551.0, 552.0, 552.0]),
            ("answer", "Answer", vec![]),
        ] {
            let id = ButtonId(id.to_owned());
            let wire = if medians.is_empty() { None } else { Some(1) };
            project.wheel.buttons.push(Button {
                id: id.clone(),
                name: name.to_owned(),
                wire,
                meter_ohm: None,
            });
            let press = |median_count| Press {
                median_count,
                spread_count: 0.9,
                readings: 400,
                touch: Touch::Firm,
                tally: Vec::new(),
            };
            let presses = medians.into_iter().map(press).collect();
            project.learned.insert(id, LearnedButton { presses, indistinct_from: None });
        }
        project
    }

    #[test]
    fn json_has_exactly_the_promised_keys() {
        let value = serde_json::to_value(report(&project())).unwrap();
        let buttons = value["buttons"].as_array().unwrap();
        assert_eq!(value.as_object().unwrap().len(), 1);
        assert_eq!(buttons.len(), 4);
        for button in buttons {
            let mut keys: Vec<_> = button.as_object().unwrap().keys().map(String::as_str).collect();
            keys.sort_unstable();
            assert_eq!(
                keys,
                [
                    "centre_count",
                    "headroom_ohm",
                    "high_count",
                    "id",
                    "low_count",
                    "separation_sigma",
                    "verdict",
                    "wire"
                ]
            );
        }
        assert_eq!(buttons[0]["centre_count"], 358.0);
        assert!(buttons[0]["low_count"].as_u64().unwrap() <= 356);
        assert!(buttons[0]["high_count"].as_u64().unwrap() >= 360);
    }

    #[test]
    fn what_is_not_learned_is_null_and_says_so() {
        let value = serde_json::to_value(report(&project())).unwrap();
        let answer = &value["buttons"][3];
        for key in ["wire", "centre_count", "low_count", "high_count", "separation_sigma", "headroom_ohm"] {
            assert!(answer[key].is_null(), "{key}");
        }
        assert_eq!(answer["verdict"], "Answer is not learned: press it.");
    }

    #[test]
    fn people_are_told_why_the_bands_are_narrow() {
        let mut project = project();
        let told = text(&project);
        assert!(
            told.ends_with("Wire 1: no band reaches past its own presses until Answer is learned."),
            "{told}"
        );
        project.wheel.buttons.pop();
        let told = text(&project);
        assert!(told.ends_with("6 degrees of freedom."), "{told}");
        assert!(told.contains("Next and Source are 194 counts apart: safe to "), "{told}");
        project.wheel.buttons.clear();
        assert_eq!(text(&project), "No buttons yet. Learn some: spokewire learn.");
    }
}
