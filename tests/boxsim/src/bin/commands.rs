//! Spokewire's commands as a program of their own, as its `main.rs` runs them: cargo builds a program
//! for the tests of its own package alone.

use std::process::ExitCode;

use clap::Parser;
use spokewire::cli::{CliError, Io, Program};

fn main() -> ExitCode {
    let Program { command, .. } = Program::parse();
    Io::of_process(|io| match command {
        Some(command) => command.run(io),
        None => Err(CliError::Use("There is no window here.".to_owned())),
    })
}
