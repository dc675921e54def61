//! `spokewire flash`: puts the firmware that comes with this program into a board, through the board's
//! serial bootloader.

use std::process::ExitCode;

use serde::Serialize;

use super::box_errand::{BoxArgs, BoxErrand, Going};
use super::{CliError, Io};
use crate::device::{BoxReport, BoxRequest, Job, Phase};

/// What `spokewire flash --help` says first.
pub(super) const ABOUT: &str = "\
Put the firmware into a board through its serial bootloader.

The board is reset, its bootloader is called at 115200 and 57600 bits per second, the firmware goes over and is \
read back. A board that was left half-way is flashed again in the same way. The image in the box is kept.

With --json, one line per event as it happens:
  {\"event\":\"progress\",\"phase\",\"done\",\"of\"}
  {\"event\":\"done\",\"firmware\"}";

/// Where the board is.
#[derive(Clone, Debug, clap::Args)]
pub struct FlashArgs {
    /// Where the board is
    #[command(flatten)]
    pub at: BoxArgs,
    /// Print one JSON line per event as it happens, and nothing else
    #[arg(long)]
    pub json: bool,
}

/// One JSON line.
#[derive(Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum Line {
    Progress { phase: &'static str, done: usize, of: usize },
    Done { firmware: Option<String> },
}

/// Flashes.
///
/// # Errors
/// No bootloader answers, or the board doesn't keep what is written.
pub fn run(args: &FlashArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let firmware = crate::device::firmware().map_err(CliError::failed)?;
    let mut errand = BoxErrand::to_board(&args.at)?;
    let mut going = Going::new();
    errand.ask(BoxRequest::Flash(firmware), Job::Flash, |report| match *report {
        BoxReport::Progress { phase, done, of, .. } if args.json => {
            io.print_json(&Line::Progress { phase: phase_id(phase), done, of })?;
            Ok(io.out.flush()?)
        }
        _ => {
            if let Some(line) = going.line(report) {
                io.remark(line);
            }
            Ok(())
        }
    })?;
    let firmware =
        errand.identity().map(|identity| format!("{}.{}", identity.firmware.0, identity.firmware.1));
    if args.json {
        io.print_json(&Line::Done { firmware })?;
    } else {
        let version = firmware.map(|version| format!(" {version}")).unwrap_or_default();
        writeln!(io.out, "The board at {} has the firmware{version} now.", errand.place())?;
    }
    Ok(ExitCode::SUCCESS)
}

/// A phase's word in JSON.
const fn phase_id(phase: Phase) -> &'static str {
    match phase {
        Phase::Calling => "calling",
        Phase::Writing => "writing",
        Phase::Checking => "checking",
        Phase::Starting => "starting",
    }
}
