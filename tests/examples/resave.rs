//! Writes project files anew as a save writes them, after a field was added to the project:
//! `cargo run --example resave -- projects/*.ron`. Gives up at the first that doesn't open for writing.

use std::process::ExitCode;

use spokewire::project::{read, write};

fn main() -> ExitCode {
    for path in std::env::args().skip(1) {
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) => return failed(&path, &error.to_string()),
        };
        let opened = match read(&text) {
            Ok(opened) => opened,
            Err(error) => return failed(&path, &error.to_string()),
        };
        if opened.read_only.is_some() {
            return failed(&path, "It holds what this program doesn't know, and would lose it.");
        }
        if let Err(error) = std::fs::write(&path, write(&opened.project)) {
            return failed(&path, &error.to_string());
        }
    }
    ExitCode::SUCCESS
}

fn failed(path: &str, why: &str) -> ExitCode {
    eprintln!("{path}: {why}");
    ExitCode::FAILURE
}
