//! `spokewire manual` and `spokewire completions SHELL`: the man page and what a shell completes, both
//! from the same definition that `--help` prints. Knows no command of its own.

use std::process::ExitCode;

use clap::CommandFactory;

use super::{CliError, Io, Program};

/// The man page.
#[derive(Clone, Debug, clap::Args)]
pub struct ManualArgs {}

/// Which shell.
#[derive(Clone, Debug, clap::Args)]
pub struct CompletionsArgs {
    /// The shell they are for
    pub shell: clap_complete::Shell,
}

/// Prints the man page, every command in it.
///
/// # Errors
/// Nothing can be printed.
pub fn manual(_: &ManualArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let mut program = Program::command();
    program.build();
    let mut page = Vec::new();
    let man = clap_mangen::Man::new(program.clone());
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    command_sections(&program, "", &mut page)?;
    io.out.write_all(&page)?;
    Ok(ExitCode::SUCCESS)
}

/// A section for each command that does something, its own headings one step lower.
fn command_sections(parent: &clap::Command, words: &str, page: &mut Vec<u8>) -> std::io::Result<()> {
    for command in parent.get_subcommands().filter(|command| command.get_name() != "help") {
        let words = format!("{words} {}", command.get_name());
        if command.has_subcommands() {
            command_sections(command, &words, page)?;
            continue;
        }
        let man = clap_mangen::Man::new(command.clone());
        let mut section = Vec::new();
        man.render_synopsis_section(&mut section)?;
        man.render_description_section(&mut section)?;
        man.render_options_section(&mut section)?;
        page.extend_from_slice(format!(".SH SPOKEWIRE{}\n", words.to_uppercase()).as_bytes());
        page.extend_from_slice(String::from_utf8_lossy(&section).replace(".SH ", ".SS ").as_bytes());
    }
    Ok(())
}

/// Prints what a shell completes.
///
/// # Errors
/// Nothing can be printed.
pub fn completions(args: &CompletionsArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Program::command(), "spokewire", &mut script);
    io.out.write_all(&script)?;
    Ok(ExitCode::SUCCESS)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(run: impl FnOnce(&mut Io<'_>) -> Result<ExitCode, CliError>) -> String {
        let (ended, out, aside) = crate::cli::io::on(b"", run);
        assert_eq!((ended.unwrap(), aside.as_str()), (ExitCode::SUCCESS, ""));
        out
    }

    #[test]
    fn every_command_that_help_names_has_its_section() {
        let page = printed(|io| manual(&ManualArgs {}, io));
        for command in Program::command().get_subcommands() {
            let heading = format!(".SH SPOKEWIRE {}", command.get_name().to_uppercase());
            assert!(page.contains(&heading), "{heading} is missing");
        }
        assert!(page.contains(".TH spokewire 1"));
    }

    #[test]
    fn every_shell_is_given_every_command() {
        for shell in [clap_complete::Shell::Bash, clap_complete::Shell::Zsh, clap_complete::Shell::Fish] {
            let script = printed(|io| completions(&CompletionsArgs { shell }, io));
            for command in Program::command().get_subcommands() {
                assert!(script.contains(command.get_name()), "{shell}: {}", command.get_name());
            }
        }
    }
}
