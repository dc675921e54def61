//! `spokewire check FILE`: what is missing or unsafe in a project, and what to do. Computes nothing.

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::findings::{Finding, Level, findings};

/// Which project.
#[derive(Debug, clap::Args)]
pub struct CheckArgs {
    /// The project file
    pub file: PathBuf,
    /// Print one JSON document: {"findings":[{"level","where","what","do"}]}
    #[arg(long)]
    pub json: bool,
}

/// Prints what was found. The exit code is 1 if any finding is an error.
///
/// # Errors
/// The file can't be loaded or read, or nothing can be printed.
pub fn run(args: &CheckArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let found = findings(&io.open(&args.file)?.project);
    if args.json {
        io.print_json(&Report { findings: found.iter().map(Line::from).collect() })?;
    } else {
        print(&found, io.out)?;
    }
    let wrong = found.iter().any(|finding| finding.level == Level::Error);
    Ok(if wrong { ExitCode::FAILURE } else { ExitCode::SUCCESS })
}

/// The JSON document.
#[derive(Serialize)]
struct Report<'a> {
    findings: Vec<Line<'a>>,
}

#[derive(Serialize)]
struct Line<'a> {
    level: &'static str,
    r#where: &'a str,
    what: &'a str,
    r#do: &'a str,
}

impl<'a> From<&'a Finding> for Line<'a> {
    fn from(Finding { level, station: _, where_, what, do_ }: &'a Finding) -> Self {
        Self { level: level.word(), r#where: where_, what, r#do: do_ }
    }
}

fn print(found: &[Finding], out: &mut dyn Write) -> std::io::Result<()> {
    for Finding { level, station: _, where_, what, do_ } in found {
        writeln!(out, "{:<8} {where_}\n         {what}\n         {do_}", level.word())?;
    }
    let count = |level| found.iter().filter(|finding| finding.level == level).count();
    let counted = [(Level::Error, "errors"), (Level::Caution, "cautions"), (Level::Note, "notes")].map(
        |(level, several)| match count(level) {
            1 => format!("1 {}", level.word()),
            number => format!("{number} {several}"),
        },
    );
    writeln!(out, "{}", counted.join(", "))
}

#[cfg(test)]
mod tests {
    use super::super::io::{Ran, on};
    use super::*;
    use crate::project::samples::van;
    use crate::project::write;

    /// The van with everything done, a seat check too.
    fn proven_van() -> crate::project::Project {
        let mut project = van();
        let bands = crate::project::bands(&project);
        let body = crate::image::build(&project, &bands).unwrap().image.to_body().unwrap();
        project.seat_check =
            Some(crate::project::SeatCheck { image_check: crate::image::check(&body), ..Default::default() });
        project
    }

    fn checked(text: &str, json: bool) -> Ran {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("van.ron");
        std::fs::write(&file, text).unwrap();
        on(&[], |io| run(&CheckArgs { file, json }, io))
    }

    #[test]
    fn a_finished_project_has_no_findings_and_exits_well() {
        let (code, out, aside) = checked(&write(&proven_van()), true);
        assert_eq!(code.unwrap(), ExitCode::SUCCESS);
        assert_eq!((out.as_str(), aside.as_str()), ("{\"findings\":[]}\n", ""));
        assert_eq!(checked(&write(&proven_van()), false).1, "0 errors, 0 cautions, 0 notes\n");
    }

    #[test]
    fn an_error_is_one_json_line_of_four_keys_and_exits_with_1() {
        let mut project = van();
        project.learned.clear();
        project.wheel.buttons.pop();
        project.pairs.pop();
        project.stereo.commands.pop();
        let (code, out, _) = checked(&write(&project), true);
        assert_eq!(code.unwrap(), ExitCode::FAILURE);
        assert_eq!(
            out,
            "{\"findings\":[{\"level\":\"error\",\"where\":\"learned.mute\",\"what\":\"Mute isn't learned: no press of it is kept.\",\"do\":\"Learn it, prompted or from the trace.\"}]}\n"
        );
        let (_, out, _) = checked(&write(&project), false);
        assert_eq!(
            out,
            "error    learned.mute\n         Mute isn't learned: no press of it is kept.\n         Learn it, prompted or from the trace.\n1 error, 0 cautions, 0 notes\n"
        );
    }

    #[test]
    fn what_concerns_the_file_goes_aside_and_leaves_the_json_whole() {
        let text = write(&proven_van()).replacen("tried: true", "tried: true, colour: 1", 1);
        let (code, out, aside) = checked(&text, true);
        assert_eq!(code.unwrap(), ExitCode::SUCCESS);
        assert_eq!(out, "{\"findings\":[]}\n");
        let line = text.lines().position(|line| line.contains("colour: 1")).unwrap() + 1;
        assert!(aside.contains(&format!("`stereo.commands[1].colour` in line {line}.")), "{aside}");
    }

    #[test]
    fn a_file_that_cannot_be_read_names_itself_and_the_line() {
        let (code, out, _) = checked("(format: 1,\n vehicle: 7)", true);
        let told = code.unwrap_err().to_string();
        assert!(told.contains("van.ron\" can't be read: Line 2, column 11: Found `7)`."), "{told}");
        assert_eq!(out, "");
    }
}
