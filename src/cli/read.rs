//! `spokewire read`: what the box holds, its bytes into a file, and field by field against a project.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::box_errand::{BoxArgs, BoxErrand};
use super::image::unfit;
use super::write::{check_text, slot_name};
use super::{CliError, Io};
use crate::device::{BoxReport, BoxRequest, Job, SlotBytes};
use crate::image::{Image, Row, build, check, compare};
use crate::project::{Project, bands};

/// Where the box is, and what to do with what it holds.
#[derive(Clone, Debug, clap::Args)]
pub struct ReadArgs {
    /// Where the box is
    #[command(flatten)]
    pub at: BoxArgs,
    /// Save the image's bytes here
    #[arg(short, long, value_name = "OUT.bin")]
    pub out: Option<PathBuf>,
    /// Compare it with this project, field by field; the exit status is 1 where they differ
    #[arg(long, value_name = "FILE")]
    pub against: Option<PathBuf>,
    /// Print one JSON document: {"check","bytes","same","rows":[{"what","project","held","same"}]};
    /// without a project to compare with, "same" is null
    #[arg(long)]
    pub json: bool,
}

/// The JSON document.
#[derive(Serialize)]
struct Document<'a> {
    check: String,
    bytes: usize,
    same: Option<bool>,
    rows: Vec<Line<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    what: &'a str,
    project: &'a str,
    held: &'a str,
    same: bool,
}

/// Reads the box.
///
/// # Errors
/// There is no box, it holds no image or one this program can't read, or a file can't be read or
/// written.
pub fn run(args: &ReadArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    // What can't be read is found before the box is spoken to.
    let project = args.against.as_ref().map(|file| io.open(file)).transpose()?.map(|opened| opened.project);
    let mut errand = BoxErrand::to_box(&args.at, io)?;
    let mut contents: Option<SlotBytes> = None;
    errand.ask(BoxRequest::Read, Job::Read, |report| {
        if let BoxReport::Contents(held) = report {
            contents.clone_from(held);
        }
        Ok(())
    })?;
    let Some(held) = contents else {
        return Err(CliError::Failed(format!(
            "The box at {} holds no image. Fill it: spokewire write FILE",
            errand.place()
        )));
    };
    if let Some(path) = &args.out {
        std::fs::write(path, &held.body).map_err(|error| {
            CliError::Failed(format!(
                "\"{}\" can't be written: {error}. Choose another place.",
                path.display()
            ))
        })?;
    }
    let rows = project.map(|project| rows(&project, &held)).transpose()?;
    let same = rows.as_ref().map(|rows| rows.iter().all(|row| row.same));
    if args.json {
        let rows = rows.iter().flatten().map(Line::from).collect();
        let check = check_text(check(&held.body));
        io.print_json(&Document { check, bytes: held.body.len(), same, rows })?;
    } else {
        print(args, io, &held, rows.as_deref())?;
    }
    Ok(if same == Some(false) { ExitCode::FAILURE } else { ExitCode::SUCCESS })
}

impl<'a> From<&'a Row> for Line<'a> {
    fn from(Row { what, project, held, same }: &'a Row) -> Self {
        Self { what, project, held, same: *same }
    }
}

/// The box against a project.
fn rows(project: &Project, held: &SlotBytes) -> Result<Vec<Row>, CliError> {
    let image = Image::from_body(&held.body).map_err(CliError::failed)?;
    let built = build(project, &bands(project)).map_err(|misfits| unfit(&misfits))?;
    Ok(compare(project, &built, &image))
}

fn print(args: &ReadArgs, io: &mut Io<'_>, held: &SlotBytes, rows: Option<&[Row]>) -> Result<(), CliError> {
    let (bytes, check) = (held.body.len(), check_text(check(&held.body)));
    writeln!(
        io.out,
        "Slot {}, number {}: {bytes} bytes, check {check}.",
        slot_name(held.number),
        held.sequence
    )?;
    if let Some(path) = &args.out {
        writeln!(io.out, "Saved in \"{}\".", path.display())?;
    }
    let Some(rows) = rows else { return Ok(()) };
    let width =
        |column: fn(&Row) -> &str| rows.iter().map(|row| column(row).chars().count()).max().unwrap_or(0);
    let (what, project) = (width(|row| &row.what), width(|row| &row.project).max("project".len()));
    writeln!(io.out, "     {:what$}  {:project$}  box", "", "project")?;
    for row in rows {
        let mark = if row.same { "same" } else { "  ≠ " };
        writeln!(io.out, "{mark} {:what$}  {:project$}  {}", row.what, row.project, row.held)?;
    }
    let others = rows.iter().filter(|row| !row.same).count();
    let told = match others {
        0 => "The box holds what the project says.".to_owned(),
        1 => "1 line differs. Write the project to the box, or learn why.".to_owned(),
        _ => format!("{others} lines differ. Write the project to the box, or learn why."),
    };
    Ok(writeln!(io.out, "{told}")?)
}
