//! What every command is handed and what it gives back: standard input, output and error, whether
//! a person sits at them, and a failure with its exit status. Knows no command.

use std::io::{self, IsTerminal, Read, Write};
use std::path::Path;
use std::process::ExitCode;

use serde::Serialize;

use crate::files::load;
use crate::project::{Opened, read};

/// The most that is read from standard input, in bytes: far beyond the longest capture.
const INPUT_MAX: u64 = 4 << 20;

/// Where a command reads and writes.
pub struct Io<'a> {
    /// Standard input.
    pub input: &'a mut dyn Read,
    /// Standard output.
    pub out: &'a mut dyn Write,
    /// Standard error.
    pub aside: &'a mut dyn Write,
    /// Whether input would have to be typed.
    pub is_typed: bool,
    /// Whether output is seen by a person as it comes, so that a line may be drawn over.
    pub is_watched: bool,
}

/// Why a command gave nothing, or not all.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// It was asked for what can't be meant; exit status 2.
    #[error("{0}")]
    Use(String),
    /// The job failed; exit status 1.
    #[error("{0}")]
    Failed(String),
    /// Nobody reads standard output any more; exit status 1, and nothing to say about it.
    #[error("standard output was closed")]
    Closed,
}

impl CliError {
    /// The job failed for this reason.
    pub(super) fn failed(reason: impl ToString) -> Self {
        Self::Failed(reason.to_string())
    }

    /// The command was used badly.
    pub(super) fn bad_use(reason: impl ToString) -> Self {
        Self::Use(reason.to_string())
    }

    /// 2 for bad use, 1 for a job that failed.
    #[must_use]
    pub const fn exit_status(&self) -> u8 {
        match self {
            Self::Use(_) => 2,
            Self::Failed(_) | Self::Closed => 1,
        }
    }
}

/// What went wrong in writing standard output.
impl From<io::Error> for CliError {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::Closed
        } else {
            Self::Failed(format!(
                "Standard output could not be written: {error}. Free some room there, or send it elsewhere."
            ))
        }
    }
}

impl Io<'_> {
    /// Runs a command on this process's own input and output. A failure is told on standard error.
    pub fn of_process(run: impl FnOnce(&mut Io<'_>) -> Result<ExitCode, CliError>) -> ExitCode {
        // Not locked: the window's threads may have something to print.
        let (mut stdin, mut stdout, mut stderr) = (io::stdin(), io::stdout(), io::stderr());
        let (is_typed, is_watched) = (stdin.is_terminal(), stdout.is_terminal());
        let mut io = Io { input: &mut stdin, out: &mut stdout, aside: &mut stderr, is_typed, is_watched };
        let ended = run(&mut io).and_then(|code| {
            io.out.flush()?;
            Ok(code)
        });
        match ended {
            Ok(code) => code,
            Err(error) => {
                if !matches!(error, CliError::Closed) {
                    io.remark(&error);
                }
                ExitCode::from(error.exit_status())
            }
        }
    }

    /// Says something beside the result, on standard error. Where that is closed there is nobody to
    /// tell.
    pub(super) fn remark(&mut self, what: impl std::fmt::Display) {
        let _ = writeln!(self.aside, "{what}").and_then(|()| self.aside.flush());
    }

    /// All of standard input, which is `wanted`.
    pub(super) fn read_input(&mut self, wanted: &str) -> Result<String, CliError> {
        if self.is_typed {
            self.remark(format_args!(
                "Reading {wanted} from the keyboard; end with Ctrl-D on a line of its own."
            ));
        }
        let mut text = String::new();
        let mut input = (&mut self.input).take(INPUT_MAX + 1);
        input.read_to_string(&mut text).map_err(|error| {
            CliError::Failed(format!("Standard input could not be read: {error}. Pipe {wanted} in."))
        })?;
        if text.len() as u64 > INPUT_MAX {
            return Err(CliError::Failed(format!(
                "Standard input is longer than {} MiB. Pipe in nothing but {wanted}.",
                INPUT_MAX >> 20
            )));
        }
        Ok(text)
    }

    /// Prints one JSON document on a line of its own.
    pub(super) fn print_json(&mut self, document: &impl Serialize) -> Result<(), CliError> {
        let text = serde_json::to_string(document).map_err(CliError::failed)?;
        Ok(writeln!(self.out, "{text}")?)
    }

    /// The project in a file. What a person should know of the file itself is told aside.
    pub(super) fn open(&mut self, file: &Path) -> Result<Opened, CliError> {
        let text = load(file).map_err(CliError::failed)?;
        let opened = read_named(file, &text)?;
        for warning in &opened.warnings {
            self.remark(warning);
        }
        if let Some(reason) = &opened.read_only {
            self.remark(reason);
        }
        Ok(opened)
    }
}

/// The project in a file's text.
pub(super) fn read_named(file: &Path, text: &str) -> Result<Opened, CliError> {
    read(text).map_err(|error| CliError::Failed(format!("\"{}\" can't be read: {error}", file.display())))
}

/// What a command under test gave, printed and said aside.
#[cfg(test)]
pub(super) type Ran = (Result<ExitCode, CliError>, String, String);

/// Runs a command on this input.
#[cfg(test)]
pub(super) fn on(mut input: &[u8], run: impl FnOnce(&mut Io<'_>) -> Result<ExitCode, CliError>) -> Ran {
    let (mut out, mut aside) = (Vec::new(), Vec::new());
    let ended = run(&mut Io {
        input: &mut input,
        out: &mut out,
        aside: &mut aside,
        is_typed: false,
        is_watched: false,
    });
    (ended, String::from_utf8(out).unwrap(), String::from_utf8(aside).unwrap())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(input: &[u8]) -> String {
        let mut said = String::new();
        let (ended, _, _) = on(input, |io| {
            said = io.read_input("the timings").unwrap_err().to_string();
            Ok(ExitCode::SUCCESS)
        });
        assert_eq!(ended.unwrap(), ExitCode::SUCCESS);
        said
    }

    #[test]
    fn input_that_is_endless_or_no_text_is_refused() {
        assert_eq!(
            said(&vec![b' '; 5 << 20]),
            "Standard input is longer than 4 MiB. Pipe in nothing but the timings."
        );
        let told = said(&[0xFF, 0xFE]);
        assert!(told.starts_with("Standard input could not be read: "), "{told}");
        assert!(told.ends_with(" Pipe the timings in."), "{told}");
    }

    #[test]
    fn a_closed_output_is_no_fault_to_speak_of_and_a_full_one_is() {
        let closed = CliError::from(io::Error::from(io::ErrorKind::BrokenPipe));
        assert!(matches!(closed, CliError::Closed));
        let full = CliError::from(io::Error::from(io::ErrorKind::StorageFull));
        assert!(full.to_string().starts_with("Standard output could not be written: "), "{full}");
        assert_eq!((closed.exit_status(), full.exit_status()), (1, 1));
        assert_eq!(CliError::bad_use("x").exit_status(), 2);
    }
}
