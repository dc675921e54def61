//! `spokewire code list`: the families, a stereo's commands, and lists of them out of and into a project.
//! Computes nothing of its own.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde::Serialize;

use super::super::{CliError, Io};
use crate::app::Edit;
use crate::app::edit::apply;
use crate::files::{load_list, save, save_list};
use crate::project::{self, Command, LineFault, ListFormat, ListMerge, read_list, write_list};
use crate::remote::{self, Code, Family, FreeFamily, Origin, RepeatKind, families};
use crate::units::number_of;

/// What to list, and how; or which list to take in.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct ListArgs {
    /// The project whose commands are listed; without one, the families are
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Print one JSON document: {"commands":[{"id","name","family","address","command","origin","tried",
    /// "pulses_us","repeat_us","free"}]}, null where a code has none; without FILE {"families":[{"id",
    /// "about","address_max","command_max","carrier_hz","toggle","repeat","repeat_period_us"}]}; with
    /// --import {"taken":[id,...],"same":[name,...],"faults":[{"line","what"}],"saved"}
    #[arg(long, group = "form")]
    pub json: bool,
    /// Print the commands as a list in CSV, for spreadsheets
    #[arg(long, group = "form", requires = "file", conflicts_with = "import")]
    pub csv: bool,
    /// Print the commands as a list in RON, with what was heard of the remote
    #[arg(long, group = "form", requires = "file", conflicts_with = "import")]
    pub ron: bool,
    /// Write here instead of printing; ending in .csv, .ron or .json it says the form, too
    #[arg(short, long, value_name = "OUT", conflicts_with = "import")]
    pub out: Option<PathBuf>,
    /// Take this list of commands, CSV or RON, into FILE and save it; nothing is taken from a list with a
    /// fault in it
    #[arg(long, value_name = "LIST", requires = "file")]
    pub import: Option<PathBuf>,
    /// Take what can be taken of a list with faults in it
    #[arg(long, requires = "import")]
    pub keep_good: bool,
}

/// In what form a list is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Text,
    Json,
    List(ListFormat),
}

/// Lists, or takes a list in.
///
/// # Errors
/// A file can't be read or written, it is asked for what can't be meant, or the list has faults.
pub(super) fn run(args: &ListArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    match (&args.file, &args.import) {
        (Some(file), Some(list)) => return import(file, list, args, io),
        (None, Some(_)) => {
            return Err(CliError::bad_use("--import needs the project to take the list into."));
        }
        _ => {}
    }
    let form = form(args)?;
    let text = match &args.file {
        Some(file) => {
            let project = io.open(file)?.project;
            match form {
                Form::Text => commands_text(&project.stereo.commands),
                Form::Json => json(&Commands::of(&project.stereo.commands))?,
                Form::List(format) => write_list(&project.stereo, format),
            }
        }
        None => match form {
            Form::Text => families_text(),
            Form::Json => json(&Families { families: families().iter().map(FamilyRow::of).collect() })?,
            Form::List(_) => {
                return Err(CliError::bad_use(
                    "A list of commands is a project's: name its FILE. Without one, the families are listed as \
                     text or with --json.",
                ));
            }
        },
    };
    match &args.out {
        None => io.out.write_all(text.as_bytes())?,
        Some(out) => {
            save_list(out, &text).map_err(CliError::failed)?;
            writeln!(io.out, "Saved in \"{}\".", out.display())?;
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// What was asked for, or what the name of the file to be written says.
fn form(args: &ListArgs) -> Result<Form, CliError> {
    let ends = |path: &Path| path.extension().and_then(|end| end.to_str()).map(str::to_ascii_lowercase);
    match args {
        ListArgs { json: true, .. } => Ok(Form::Json),
        ListArgs { csv: true, .. } => Ok(Form::List(ListFormat::Csv)),
        ListArgs { ron: true, .. } => Ok(Form::List(ListFormat::Ron)),
        ListArgs { out: None, .. } => Ok(Form::Text),
        ListArgs { out: Some(out), .. } => match (ListFormat::of_path(out), ends(out).as_deref()) {
            (Some(format), _) => Ok(Form::List(format)),
            (None, Some("json")) => Ok(Form::Json),
            (None, Some("txt")) => Ok(Form::Text),
            _ => Err(CliError::bad_use(format!(
                "\"{}\" ends in none of .csv, .ron, .json and .txt. Name it so, or say --csv, --ron or --json.",
                out.display()
            ))),
        },
    }
}

fn json(document: &impl Serialize) -> Result<String, CliError> {
    serde_json::to_string(document).map(|text| text + "\n").map_err(CliError::failed)
}

/// Takes a list into a project.
fn import(file: &Path, list: &Path, args: &ListArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let opened = io.open(file)?;
    if opened.read_only.is_some() {
        return Err(CliError::Failed(format!("\"{}\" was left as it was: it is read-only.", file.display())));
    }
    let mut project = opened.project;
    let read = read_list(&load_list(list).map_err(CliError::failed)?);
    let merge = read.merge(&project.stereo.commands);
    let faults = merge.fault_count();
    let refused = faults > 0 && !args.keep_good;
    let before = project.stereo.commands.len();
    if !refused && !merge.fresh.is_empty() {
        apply(&mut project, &Edit::AddCommands(merge.fresh.clone())).map_err(CliError::failed)?;
        save(file, &project::write(&project)).map_err(CliError::failed)?;
    }
    let taken = project.stereo.commands.get(before..).unwrap_or_default();
    if args.json {
        let taken: Vec<&str> = taken.iter().map(|command| command.id.0.as_str()).collect();
        let saved = !taken.is_empty();
        let faults =
            merge.faults.iter().map(|LineFault { line, what }| Fault { line: *line, what }).collect();
        io.print_json(&Imported { taken, same: &merge.same, faults, saved })?;
    } else {
        for fault in &merge.faults {
            io.remark(fault);
        }
        if merge.more_faults > 0 {
            io.remark(format_args!("And {} more.", merge.more_faults));
        }
        if !refused {
            writeln!(io.out, "{}", summary(&merge, taken.len(), file))?;
        }
    }
    if refused {
        let can = match merge.fresh.len() {
            0 => String::new(),
            1 => ", or take the one that is good with --keep-good".to_owned(),
            count => format!(", or take the {count} that are good with --keep-good"),
        };
        return Err(CliError::Failed(format!(
            "Nothing was taken: the list has {}. Mend it{can}.",
            number_of(faults, "fault")
        )));
    }
    Ok(ExitCode::SUCCESS)
}

fn summary(merge: &ListMerge, taken: usize, file: &Path) -> String {
    let mut text = match taken {
        0 => format!("Nothing new for \"{}\".", file.display()),
        _ => format!("{} taken into \"{}\".", number_of(taken, "command"), file.display()),
    };
    let same = match merge.same.as_slice() {
        [] => String::new(),
        [one] => format!(" {one} was there already, with the same code."),
        all => format!(" {} were there already, with the same codes.", all.len()),
    };
    text.push_str(&same);
    if merge.fault_count() > 0 {
        // Writing into a String can't fail.
        let _ = write!(text, " {} left out.", number_of(merge.fault_count(), "fault"));
    }
    text
}

/// The commands for people: name, code, where it is from.
fn commands_text(commands: &[Command]) -> String {
    if commands.is_empty() {
        return "The stereo has no commands yet. Take a list in with --import LIST.\n".to_owned();
    }
    let shown = |command: &Command| command.name.replace(char::is_control, "\u{FFFD}");
    let wide = commands.iter().map(|command| shown(command).chars().count()).max().unwrap_or(0);
    let codes: Vec<String> = commands.iter().map(|command| remote::describe(&command.code)).collect();
    let deep = codes.iter().map(String::len).max().unwrap_or(0);
    let lines = commands.iter().zip(&codes).map(|(command, code)| {
        let origin = match command.origin {
            Origin::Typed => "typed",
            Origin::Captured => "captured",
            Origin::Swept => "swept",
        };
        let tried = if command.tried { "" } else { ", not tried" };
        format!("{:wide$}  {code:deep$}  {origin}{tried}\n", shown(command))
    });
    lines.collect()
}

/// The families for people.
fn families_text() -> String {
    let deep =
        families().iter().map(|family| range(family.address_max(), "address").len()).max().unwrap_or(0);
    let wide =
        families().iter().map(|family| range(family.command_max(), "command").len()).max().unwrap_or(0);
    let lines = families().iter().map(|family| {
        format!(
            "{:6}  {:deep$}  {:wide$}  {:>2} kHz  {:29}  {}\n",
            family.id,
            range(family.address_max(), "address"),
            range(family.command_max(), "command"),
            family.carrier_hz / 1_000,
            held(family),
            family.about
        )
    });
    lines.collect::<String>()
        + "Numbers are in hex. A code of no family is kept as raw timings, or as a free family.\n"
}

fn range(max: u32, what: &str) -> String {
    format!("{what} 0 to {max:X}")
}

/// What a family sends while held.
fn held(family: &Family) -> String {
    let what = match family.repeat {
        RepeatKind::ShortFrame { .. } => "short frame",
        RepeatKind::WholeFrame => "whole frame",
        RepeatKind::WithoutLeader => "without leader",
        RepeatKind::Once => return "once".to_owned(),
    };
    format!("{what} every {:.1} ms", family.repeat_period_us / 1e3)
}

#[derive(Serialize)]
struct Families {
    families: Vec<FamilyRow>,
}

#[derive(Serialize)]
struct FamilyRow {
    id: &'static str,
    about: &'static str,
    address_max: u32,
    command_max: u32,
    carrier_hz: u32,
    toggle: bool,
    repeat: &'static str,
    repeat_period_us: Option<f64>,
}

impl FamilyRow {
    fn of(family: &Family) -> Self {
        let repeat = match family.repeat {
            RepeatKind::ShortFrame { .. } => "short_frame",
            RepeatKind::WholeFrame => "whole_frame",
            RepeatKind::WithoutLeader => "without_leader",
            RepeatKind::Once => "once",
        };
        Self {
            id: family.id,
            about: family.about,
            address_max: family.address_max(),
            command_max: family.command_max(),
            carrier_hz: family.carrier_hz,
            toggle: family.has_toggle(),
            repeat,
            repeat_period_us: (family.repeat != RepeatKind::Once).then_some(family.repeat_period_us),
        }
    }
}

#[derive(Serialize)]
struct Commands<'a> {
    commands: Vec<CommandRow<'a>>,
}

#[derive(Serialize)]
struct CommandRow<'a> {
    id: &'a str,
    name: &'a str,
    family: &'a str,
    address: Option<u32>,
    command: Option<u32>,
    origin: Origin,
    tried: bool,
    pulses_us: Option<&'a [f64]>,
    repeat_us: Option<f64>,
    free: Option<&'a FreeFamily>,
}

impl<'a> Commands<'a> {
    fn of(commands: &'a [Command]) -> Self {
        let row = |there: &'a Command| {
            let Command { id, name, code, origin, tried, heard: _ } = there;
            let row = CommandRow {
                id: &id.0,
                name,
                family: "",
                address: None,
                command: None,
                origin: *origin,
                tried: *tried,
                pulses_us: None,
                repeat_us: None,
                free: None,
            };
            match code {
                Code::Family { family, address, command } => {
                    CommandRow { family: &family.0, address: Some(*address), command: Some(*command), ..row }
                }
                Code::Free { free, address, command } => CommandRow {
                    family: "free",
                    address: Some(*address),
                    command: Some(*command),
                    free: Some(free),
                    ..row
                },
                Code::Raw { pulses_us, repeat_us } => {
                    CommandRow { family: "raw", pulses_us: Some(pulses_us), repeat_us: *repeat_us, ..row }
                }
            }
        };
        Self { commands: commands.iter().map(row).collect() }
    }
}

#[derive(Serialize)]
struct Imported<'a> {
    taken: Vec<&'a str>,
    same: &'a [String],
    faults: Vec<Fault<'a>>,
    saved: bool,
}

#[derive(Serialize)]
struct Fault<'a> {
    line: usize,
    what: &'a str,
}
