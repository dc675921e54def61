//! `spokewire check FILE`: what is missing or unsafe in a project, and what to do. Computes nothing.

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use serde::Serialize;

use crate::files::load;
use crate::findings::{Finding, Level, findings};
use crate::project::read;

/// Look a project over: what is missing or unsafe, and what to do about it
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The project file
    file: PathBuf,
    /// Print one JSON document: {"findings":[{"level","where","what","do"}]}
    #[arg(long)]
    json: bool,
}

/// Prints what was found to `out`, and what a person should know of the file itself to `aside`.
/// The exit code is 1 if any finding is an error.
///
/// # Errors
/// The file can't be loaded or read, or `out` can't be written.
pub fn run(args: &Args, out: &mut dyn Write, aside: &mut dyn Write) -> anyhow::Result<ExitCode> {
    let text = load(&args.file)?;
    let opened = read(&text).with_context(|| format!("\"{}\" can't be read", args.file.display()))?;
    for warning in &opened.warnings {
        writeln!(aside, "{warning}")?;
    }
    if let Some(reason) = &opened.read_only {
        writeln!(aside, "{reason}")?;
    }
    let found = findings(&opened.project);
    if args.json {
        let report = Report { findings: found.iter().map(Line::from).collect() };
        writeln!(out, "{}", serde_json::to_string(&report)?)?;
    } else {
        print(&found, out)?;
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
    use super::*;
    use crate::project::samples::van;
    use crate::project::write;

    fn checked(text: &str, json: bool) -> (anyhow::Result<ExitCode>, String, String) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("van.ron");
        std::fs::write(&file, text).unwrap();
        let (mut out, mut aside) = (Vec::new(), Vec::new());
        let code = run(&Args { file, json }, &mut out, &mut aside);
        (code, String::from_utf8(out).unwrap(), String::from_utf8(aside).unwrap())
    }

    #[test]
    fn a_finished_project_has_no_findings_and_exits_well() {
        let (code, out, aside) = checked(&write(&van()), true);
        assert_eq!(code.unwrap(), ExitCode::SUCCESS);
        assert_eq!((out.as_str(), aside.as_str()), ("{\"findings\":[]}\n", ""));
        assert_eq!(checked(&write(&van()), false).1, "0 errors, 0 cautions, 0 notes\n");
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
        let text = write(&van()).replacen("tried: true", "tried: true, colour: 1", 1);
        let (code, out, aside) = checked(&text, true);
        assert_eq!(code.unwrap(), ExitCode::SUCCESS);
        assert_eq!(out, "{\"findings\":[]}\n");
        assert!(aside.contains("`stereo.commands[1].colour` in line 54"), "{aside}");
    }

    #[test]
    fn a_file_that_cannot_be_read_names_itself_and_the_line() {
        let (code, out, _) = checked("(format: 1,\n vehicle: 7)", true);
        let told = format!("{:#}", code.unwrap_err());
        assert!(told.contains("van.ron\" can't be read: Line 2, column 11: Found `7)`."), "{told}");
        assert_eq!(out, "");
    }
}
