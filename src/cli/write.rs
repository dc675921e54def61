//! `spokewire write FILE`: fills the box with a project and reads it back.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::box_errand::{BoxArgs, BoxErrand, Going};
use super::image::{built, unfit};
use super::{CliError, Io};
use crate::device::{BoxReport, BoxRequest, Job, SlotBytes};
use crate::image::check;

/// Which project, and where the box is.
#[derive(Clone, Debug, clap::Args)]
pub struct WriteArgs {
    /// The project file
    pub file: PathBuf,
    /// Where the box is
    #[command(flatten)]
    pub at: BoxArgs,
    /// Print one JSON document: {"check","bytes","slot","sequence"}
    #[arg(long)]
    pub json: bool,
}

/// The JSON document.
#[derive(Serialize)]
struct Written {
    check: String,
    bytes: usize,
    slot: &'static str,
    sequence: u8,
}

/// Fills the box. What goes on is told on standard error.
///
/// # Errors
/// The project can't be read or doesn't fit the box, there is no box, or it doesn't keep what is
/// written.
pub fn run(args: &WriteArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let (_, body) = built(&project).map_err(|misfits| unfit(&misfits))?;
    let mut errand = BoxErrand::to_box(&args.at, io)?;
    let mut held: Option<SlotBytes> = None;
    let mut going = Going::new();
    errand.ask(BoxRequest::Write(body.clone()), Job::Write, |report| {
        if let BoxReport::Contents(contents) = report {
            held.clone_from(contents);
        }
        if let Some(line) = going.line(report) {
            io.remark(line);
        }
        Ok(())
    })?;
    let Some(held) = held.filter(|held| held.body == body) else {
        return Err(CliError::Failed(format!(
            "The box at {} took the image but does not give it back. Write it again.",
            errand.place()
        )));
    };
    let slot = slot_name(held.number);
    let (check, bytes) = (check_text(check(&body)), body.len());
    if args.json {
        io.print_json(&Written { check, bytes, slot, sequence: held.sequence })?;
    } else {
        writeln!(
            io.out,
            "Written to slot {slot} and read back: {bytes} bytes, check {check}. The box works without the laptop now."
        )?;
    }
    Ok(ExitCode::SUCCESS)
}

/// A slot as it is shown.
pub(super) const fn slot_name(number: u8) -> &'static str {
    if number == 0 { "A" } else { "B" }
}

/// An image's checksum as it is shown.
pub(super) fn check_text(check: u16) -> String {
    format!("{check:04X}")
}
