//! `spokewire yield`: of so many boxes built of a project's parts, how many would ever misread which
//! button. Computes nothing of its own.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::bands::Rung;
use crate::project::banding::rung_name;
use crate::project::{Basis, BoxesError, BuiltBoxes, BuiltRung, ButtonId, Project};
use crate::work::{BoxesTask, threads_here};

/// What it does, for `--help`.
pub const ABOUT: &str = "Of so many boxes, how many would ever misread which button

Each box is built of parts as a shop sells them: every resistor somewhere within its tolerance, every \
temperature coefficient within its limits, contacts that wear, a feed and a reference that are off, a \
converter with its error; each of them as likely anywhere within its limits. All boxes carry this project's \
bands. Each is read cold, at 25 degrees and hot, new and worn, and what it ever does in any of the six \
counts. Once every button is learned, tolerances no longer count, for what was learned holds them already.

The same seed gives the same boxes, on any number of threads.";

/// Which project, and how many boxes.
#[derive(Clone, Debug, clap::Args)]
pub struct YieldArgs {
    /// The project file
    pub file: PathBuf,
    /// How many boxes to build, 1 to 1000000000
    #[arg(long, value_name = "N", default_value_t = 1_000_000, allow_negative_numbers = true)]
    pub boxes: u64,
    /// Where their chance begins
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// How many threads build them, 1 to 64; as many as this machine runs at once unless said
    #[arg(long, value_name = "T", value_parser = clap::value_parser!(u8).range(1..=64))]
    pub threads: Option<u8>,
    /// Print one JSON document: {"boxes","misreading_boxes","per_button":[{"id","ignored","misread",
    /// "as":{ID:COUNT}}]}; ignored and misread count boxes where the button ever is
    #[arg(long)]
    pub json: bool,
}

/// What came of it; exactly the command's keys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YieldReport {
    /// How many boxes were built.
    pub boxes: u64,
    /// Boxes that ever misread a button as another, or rest as a button.
    pub misreading_boxes: u64,
    /// The buttons, in the wheel's order.
    pub per_button: Vec<YieldLine>,
}

/// One button.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YieldLine {
    /// Its id.
    pub id: ButtonId,
    /// Boxes where it ever falls in nobody's band, or in rest's.
    pub ignored: u64,
    /// Boxes where it ever falls in another button's band; the same box may count in both.
    pub misread: u64,
    /// Which buttons it is then taken for, and in how many boxes.
    #[serde(rename = "as")]
    pub misread_as: BTreeMap<ButtonId, u64>,
}

/// Builds the boxes and prints what came of them.
///
/// # Errors
/// The file can't be loaded or read, no such number of boxes can be built, the project lacks what a box
/// needs, or nothing can be printed.
pub fn run(args: &YieldArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let threads = args.threads.map_or_else(threads_here, usize::from);
    let task = BoxesTask { project: Box::new(project.clone()), boxes: args.boxes, seed: args.seed };
    let built = task.run(threads, &|| false, &mut |_| ()).map_err(|error| match error {
        BoxesError::Boxes(_) => CliError::bad_use(error),
        _ => CliError::failed(error),
    })?;
    if args.json {
        io.print_json(&report(&project, &built))?;
    } else {
        writeln!(io.out, "{}", text(&project, &built))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// What came of the boxes, by the buttons' ids.
#[must_use]
pub fn report(project: &Project, built: &BuiltBoxes) -> YieldReport {
    let id = |rung| match rung {
        Rung::Button(index) => project.wheel.buttons.get(index).map(|button| button.id.clone()),
        Rung::Rest(_) => None,
    };
    let line = |rung: &BuiltRung| YieldLine {
        id: id(rung.rung).unwrap_or_default(),
        ignored: rung.ignored,
        misread: rung.misread,
        misread_as: rung
            .misread_as
            .iter()
            .filter_map(|&(index, boxes)| Some((id(Rung::Button(index))?, boxes)))
            .collect(),
    };
    YieldReport {
        boxes: built.boxes,
        misreading_boxes: built.misreading_boxes,
        per_button: built.buttons.iter().map(line).collect(),
    }
}

/// What came of the boxes, for people: a line per rung, worst case and root sum square beside.
#[must_use]
pub fn text(project: &Project, built: &BuiltBoxes) -> String {
    let rungs: Vec<&BuiltRung> = built.buttons.iter().chain(&built.rests).collect();
    let names: Vec<String> = rungs.iter().map(|rung| rung_name(project, rung.rung)).collect();
    let width = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
    let mut lines =
        vec![format!("{:width$}  accepts      worst case   root sum sq.  {:>9}  misread", "", "ignored")];
    for (rung, name) in rungs.iter().zip(&names) {
        let accepts = rung.accept.map_or_else(
            || "-".to_owned(),
            |accept| format!("{} to {}", accept.low_count, accept.high_count),
        );
        let mut line = format!(
            "{name:width$}  {accepts:11}  {:11}  {:12}  {:>9}  {}",
            counts(rung.worst_count),
            counts(rung.rss_count),
            rung.ignored,
            rung.misread
        );
        let mut others = rung.misread_as.clone();
        others.sort_by_key(|&(_, boxes)| std::cmp::Reverse(boxes));
        for (place, (index, boxes)) in others.into_iter().enumerate() {
            let joint = if place == 0 { " as" } else { "," };
            line.push_str(&format!("{joint} {} ({boxes})", rung_name(project, Rung::Button(index))));
        }
        lines.push(line);
    }
    lines.push(format!(
        "Of {} boxes, seed {}, {} ever misread a button and {} ever ignore one, in any of cold, 25 °C and \
         hot, new and worn.",
        built.boxes, built.seed, built.misreading_boxes, built.ignoring_boxes
    ));
    lines.push(
        match built.basis {
            Basis::Planned => "Not all is learned yet: all tolerances count, around what the meter shows.",
            Basis::Learned => {
                "All is learned, which holds the parts' tolerances: what is left is drift, wear and noise."
            }
        }
        .to_owned(),
    );
    lines.join("\n")
}

/// Two ends in whole counts, as the converter gives them.
fn counts((low, high): (f64, f64)) -> String {
    format!("{:.0} to {:.0}", low.floor(), high.floor())
}

#[cfg(test)]
mod tests;
