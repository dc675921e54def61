//! `spokewire image`: a project as the box keeps it, into a file, or as a C header. Computes nothing of
//! its own.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde::Serialize;

use super::write::check_text;
use super::{CliError, Io};
use crate::files::save;
use crate::image::{BODY_MAX, Built, Misfit, build, check, header, slot_bytes};
use crate::project::{Project, bands};
use crate::units::number_of;

/// Which project, and where its image goes.
#[derive(Clone, Debug, clap::Args)]
pub struct ImageArgs {
    /// The project file
    pub file: PathBuf,
    /// Save the image here, as it lies in a slot of the box: 8 bytes of header (magic B5, format,
    /// sequence 0 and its inverse, length, check) and the body
    #[arg(short, long, value_name = "OUT.bin")]
    pub out: Option<PathBuf>,
    /// Save a C header here: bands, dwell, settle limit, pairs and pulse tables
    #[arg(long, value_name = "OUT.h")]
    pub header: Option<PathBuf>,
    /// Print one JSON document: {"bytes","of","check","fits"}; bytes of the body, of how many, its
    /// checksum in hex. Where it doesn't fit, "bytes" and "check" are null
    #[arg(long)]
    pub json: bool,
}

/// The JSON document.
#[derive(Serialize)]
struct Document {
    bytes: Option<usize>,
    of: usize,
    check: Option<String>,
    fits: bool,
}

/// Makes the image.
///
/// # Errors
/// The file can't be loaded or read, the project doesn't fit, or a file can't be written.
pub fn run(args: &ImageArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let (built, body) = match built(&project) {
        Ok(made) => made,
        Err(misfits) => {
            if args.json {
                io.print_json(&Document { bytes: None, of: BODY_MAX, check: None, fits: false })?;
            }
            return Err(unfit(&misfits));
        }
    };
    if let Some(path) = &args.out {
        write_bytes(path, &slot_bytes(&body, 0))?;
    }
    if let Some(path) = &args.header {
        save(path, &header(&project, &built)).map_err(CliError::failed)?;
    }
    let check = check_text(check(&body));
    if args.json {
        io.print_json(&Document { bytes: Some(body.len()), of: BODY_MAX, check: Some(check), fits: true })?;
        return Ok(ExitCode::SUCCESS);
    }
    writeln!(
        io.out,
        "The image has {} of {BODY_MAX} bytes, check {check}: {}, {}, {}.",
        body.len(),
        number_of(built.image.buttons.len(), "button"),
        number_of(built.image.pairs.len(), "pair"),
        number_of(built.image.commands.len(), "command")
    )?;
    for path in [&args.out, &args.header].into_iter().flatten() {
        writeln!(io.out, "Saved in \"{}\".", path.display())?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The image with its body.
pub(super) fn built(project: &Project) -> Result<(Built, Vec<u8>), Vec<Misfit>> {
    let built = build(project, &bands(project))?;
    let body = built.image.to_body().map_err(|misfit| vec![misfit])?;
    Ok((built, body))
}

/// What keeps a project out of the box, a line each.
pub(super) fn unfit(misfits: &[Misfit]) -> CliError {
    let lines = misfits.iter().map(|Misfit { place, what, advice }| format!("\n  {place}: {what} {advice}"));
    CliError::Failed(format!("The project doesn't fit the box:{}", lines.collect::<String>()))
}

fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    std::fs::write(path, bytes).map_err(|error| {
        CliError::Failed(format!("\"{}\" can't be written: {error}. Choose another place.", path.display()))
    })
}
