//! Spokewire's program: a command in the terminal, or the window.

use std::process::ExitCode;

use clap::Parser;
use spokewire::cli::{CliError, Io, Program, WindowArgs};

fn main() -> ExitCode {
    let Program { command, window } = Program::parse();
    Io::of_process(|io| match command {
        Some(command) => command.run(io),
        None => window.check().and_then(|()| open_window(window)),
    })
}

#[cfg(feature = "window")]
fn open_window(window: WindowArgs) -> Result<ExitCode, CliError> {
    let WindowArgs { file, demo } = window;
    let options = spokewire::shell::Options { file, demo, ..Default::default() };
    match spokewire::shell::run(options) {
        Ok(()) => Ok(ExitCode::SUCCESS),
        Err(error) => Err(CliError::Failed(format!("{error:#}"))),
    }
}

#[cfg(not(feature = "window"))]
fn open_window(_window: WindowArgs) -> Result<ExitCode, CliError> {
    Err(CliError::Use(
        "This Spokewire was built without its window. `spokewire --help` lists what works in a terminal; \
         build it with the feature `window` for the rest."
            .to_owned(),
    ))
}
