//! The command line: one file per command. What they share is in `io.rs`.

pub mod bands;
mod box_errand;
pub mod check;
pub mod code;
mod code_free;
pub mod dwell;
pub mod fit;
pub mod flash;
pub mod image;
mod io;
pub mod learn;
pub mod manual;
pub mod node;
pub mod plan;
pub mod predict;
pub mod read;
pub mod replay;
pub mod stage;
pub mod together;
pub mod write;
pub mod yield_;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use crate::link::{Ports, SystemPorts};

pub use box_errand::BoxArgs;
pub use io::{CliError, Io};

/// A bench for fitting a replacement stereo to a vehicle's wheel buttons
///
/// Without a command the window opens. Errors go to standard error; the exit status is 2 for bad
/// use and 1 for a job that failed.
#[derive(Debug, clap::Parser)]
#[command(
    name = "spokewire",
    version,
    args_conflicts_with_subcommands = true,
    max_term_width = 100,
    override_usage = "spokewire [FILE]\n       spokewire --demo\n       spokewire <COMMAND>"
)]
pub struct Program {
    /// What to do in the terminal; nothing opens the window
    #[command(subcommand)]
    pub command: Option<Command>,
    /// How the window opens
    #[command(flatten)]
    pub window: WindowArgs,
}

/// How the window opens.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct WindowArgs {
    /// The project to open in the window
    #[arg(value_name = "FILE")]
    words: Vec<PathBuf>,
    /// Open the window with the demo van, already streaming
    #[arg(long, conflicts_with = "words")]
    pub demo: bool,
}

/// The commands.
#[derive(Debug, clap::Subcommand)]
pub enum Command {
    /// Learn a wheel's buttons in the terminal, prompted press by press
    #[command(long_about = learn::ABOUT)]
    Learn(learn::LearnArgs),
    /// Which counts each button accepts, and how far it is from its neighbours
    Bands(bands::BandsArgs),
    /// The shortest dwell that is safe, by the presses recorded while learning
    #[command(long_about = dwell::ABOUT)]
    Dwell(dwell::DwellArgs),
    /// What every button should read, from the meter's resistances and the sense circuit
    Predict(predict::PredictArgs),
    /// What every two buttons read at once, and whose band that is
    Together(together::TogetherArgs),
    /// Which sense resistor to buy: the choice of a series, and what limits it
    Plan(plan::PlanArgs),
    /// Of so many boxes, how many would ever misread which button
    #[command(long_about = yield_::ABOUT)]
    Yield(yield_::YieldArgs),
    /// Which ladder the meter's readings fit, with its parts, and which readings are odd
    Fit(fit::FitArgs),
    /// What is missing or unsafe in a project, and what to do about it
    Check(check::CheckArgs),
    /// What the sense node stands at for one circuit, without a project
    Node(node::NodeArgs),
    /// What the output stage does to the stereo's line, without a project
    Stage(stage::StageArgs),
    /// Codes to pulses, and pulses to codes
    Code(code::CodeArgs),
    /// Fill the box with a project, and read it back
    Write(write::WriteArgs),
    /// What the box holds, and how it differs from a project
    Read(read::ReadArgs),
    /// Put the firmware into a board
    #[command(long_about = flash::ABOUT)]
    Flash(flash::FlashArgs),
    /// The box's image: its size, its bytes, or a C header for a firmware of your own
    Image(image::ImageArgs),
    /// What the box would decide over recorded readings
    Replay(replay::ReplayArgs),
    /// The man page: spokewire manual > spokewire.1
    Manual(manual::ManualArgs),
    /// What a shell completes: spokewire completions bash
    Completions(manual::CompletionsArgs),
}

impl Command {
    /// Runs it.
    ///
    /// # Errors
    /// [`CliError`], to be told on standard error; its exit status says whose fault it is.
    pub fn run(&self, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
        match self {
            Self::Learn(args) => learn::run(args, io),
            Self::Bands(args) => bands::run(args, io),
            Self::Dwell(args) => dwell::run(args, io),
            Self::Predict(args) => predict::run(args, io),
            Self::Together(args) => together::run(args, io),
            Self::Plan(args) => plan::run(args, io),
            Self::Yield(args) => yield_::run(args, io),
            Self::Fit(args) => fit::run(args, io),
            Self::Check(args) => check::run(args, io),
            Self::Node(args) => node::run(args, io),
            Self::Stage(args) => stage::run(args, io),
            Self::Code(args) => code::run(args, io),
            Self::Write(args) => write::run(args, io),
            Self::Read(args) => read::run(args, io),
            Self::Flash(args) => flash::run(args, io),
            Self::Image(args) => image::run(args, io),
            Self::Replay(args) => replay::run(args, io),
            Self::Manual(args) => manual::manual(args, io),
            Self::Completions(args) => manual::completions(args, io),
        }
    }
}

impl WindowArgs {
    /// The project to open. A word that is neither a command nor a file must have been meant as a
    /// command.
    ///
    /// # Errors
    /// [`CliError::Use`] for such a word, and for more than one file.
    pub fn file(&self) -> Result<Option<&Path>, CliError> {
        let Some(first) = self.words.first() else { return Ok(None) };
        let is_word = first.extension().is_none() && first.components().count() == 1;
        if is_word && !first.exists() {
            return Err(CliError::Use(format!(
                "\"{}\" is no command, and no file of that name is here. `spokewire --help` lists the commands.",
                first.display()
            )));
        }
        if self.words.len() > 1 {
            return Err(CliError::Use(format!(
                "A window opens one project, and {} were named. Start one for each: spokewire FILE",
                self.words.len()
            )));
        }
        Ok(Some(first))
    }
}

/// The ports of this machine in a sentence, for a path that was none.
fn ports_here() -> String {
    let ports = SystemPorts.list();
    if ports.is_empty() {
        return "No port is listed on this machine.".to_owned();
    }
    let named: Vec<String> = ports
        .into_iter()
        .map(|port| if port.about.is_empty() { port.path } else { format!("{} ({})", port.path, port.about) })
        .collect();
    format!("Ports here: {}.", named.join(", "))
}
