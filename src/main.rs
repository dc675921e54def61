//! Spokewire's program: a command in the terminal, or the window.

#[cfg(feature = "window")]
use std::path::Path;
use std::process::ExitCode;

use clap::Parser;
use spokewire::cli::{CliError, Io, Program, WindowArgs};

fn main() -> ExitCode {
    let Program { command, window } = Program::parse();
    Io::of_process(|io| match command {
        Some(command) => command.run(io),
        None => open_window(&window),
    })
}

#[cfg(feature = "window")]
fn open_window(window: &WindowArgs) -> Result<ExitCode, CliError> {
    let file = window.file()?.map(Path::to_owned);
    let options = spokewire::shell::Options { file, demo: window.demo, ..Default::default() };
    match spokewire::shell::run(options) {
        Ok(()) => Ok(ExitCode::SUCCESS),
        Err(error) => Err(CliError::Failed(format!("{error:#}"))),
    }
}

#[cfg(not(feature = "window"))]
fn open_window(window: &WindowArgs) -> Result<ExitCode, CliError> {
    window.file()?;
    Err(CliError::Use(
        "This Spokewire was built without its window. `spokewire --help` lists what works in a terminal; \
         build it with the feature `window` for the rest."
            .to_owned(),
    ))
}
