//! A project as text, and back. Reading is total: it gives a project that every other room can
//! trust, or says what is wrong and in which line. Knows no file.

use thiserror::Error;

use crate::remote::SweepError;

use super::model::{FORMAT, Project, Sweep};
use super::outline::{Losses, Outline};
use super::place::Place;
use super::values::Fault;
use super::words;

/// The longest text that is read, in bytes: 4 MB, some hundred times a well-filled project.
pub const MAX_BYTES: usize = 4 * 1024 * 1024;

/// The first line of a written project.
const HEADER: &str = "// Spokewire project: one vehicle's wheel, circuit, stereo and pairs. Comments below this line are not kept.";

/// What a text held.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// The project, in this program's format, with every value in its range.
    pub project: Project,
    /// What a person should know before they save.
    pub warnings: Vec<Warning>,
    /// Why it must not be saved over its file; `None` where it may.
    pub read_only: Option<ReadOnly>,
}

/// Something in the text that is no error.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Warning {
    /// Comments, which are not part of the project.
    #[error(
        "Line {line}: comments in the file are not kept when it is saved. Move what matters to the vehicle's note."
    )]
    Comments {
        /// The line of the first.
        line: usize,
    },
    /// A sweep through codes of a family that this program doesn't have.
    #[error(
        "Line {line}: the sweep kept in the file runs through codes of \"{family}\", which this program doesn't know. It is left out here; everything else is there."
    )]
    UnknownSweep {
        /// The line it begins in.
        line: usize,
        /// The family's id, as it is written.
        family: String,
    },
}

/// Why a project is open for reading only: saving would lose what this program doesn't know.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ReadOnly {
    /// A later program wrote it.
    #[error(
        "The file has format {found}, this program writes format {FORMAT}: it is open for reading only, so that nothing in it is lost.{} Use a newer version to change it, or save a copy under another name.",
        unknown_sentence(.unknown)
    )]
    Newer {
        /// Its format.
        found: u32,
        /// Fields this program doesn't know.
        unknown: Vec<UnknownField>,
    },
    /// It has fields of its own.
    #[error(
        "The file is open for reading only, so that nothing in it is lost.{} Correct the spelling in a text editor, or save a copy under another name.",
        unknown_sentence(.unknown)
    )]
    UnknownFields {
        /// Which.
        unknown: Vec<UnknownField>,
    },
}

/// A field that this program doesn't know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownField {
    /// Where it stands.
    pub place: Place,
    /// Its line, from 1.
    pub line: usize,
}

/// Why a text is no project. The text stays as it is.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ReadError {
    /// Too long to be a project.
    #[error(
        "The file has {bytes} bytes and a project at most {MAX_BYTES}. Choose the project's own file; this one was left as it was."
    )]
    TooLong {
        /// Its length in bytes.
        bytes: usize,
    },
    /// Not RON, or not the shape of a project.
    #[error("Line {line}, column {column}: {what} {advice} The file was left as it was.")]
    Text {
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What was found, in one sentence.
        what: String,
        /// What to do, in one sentence.
        advice: String,
    },
    /// A value that a project may not hold.
    #[error("Line {line}, column {column}: {fault} {}The file was left as it was.", others_text(*.others))]
    Value {
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What is wrong with it.
        fault: Fault,
        /// How many more there are, further down.
        others: usize,
    },
    /// A later program wrote it, and this one can't follow it.
    #[error(
        "The file has format {found} and this program reads up to {FORMAT}; it stops at line {line}, column {column}: {what} Open it with a newer version. The file was left as it was."
    )]
    Newer {
        /// Its format.
        found: u32,
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What was found there.
        what: String,
    },
}

/// Reads a project. Nothing in any text makes it panic.
///
/// # Errors
/// [`ReadError`] says what is wrong, in which line, and what to do.
pub fn read(text: &str) -> Result<Opened, ReadError> {
    if text.len() > MAX_BYTES {
        return Err(ReadError::TooLong { bytes: text.len() });
    }
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    let outline = Outline::of(text);
    let mut project: Project = ron::from_str(text).map_err(|error| {
        let words::Misread { line, column, what, advice } = words::of(&error, text);
        match outline.as_ref().ok().and_then(|outline| written_format(text, outline)) {
            Some(found) if found > FORMAT => ReadError::Newer { found, line, column, what },
            _ => ReadError::Text { line, column, what, advice },
        }
    })?;
    let outline = outline.map_err(|at| {
        let (line, column) = line_column(text, at);
        let what = "This can't be followed.".to_owned();
        ReadError::Text { line, column, what, advice: "Write it in a simpler way.".to_owned() }
    })?;
    // Formats below FORMAT are lifted here, one step after the other, once there are any.
    let newer = Some(project.format).filter(|&found| found > FORMAT);
    if newer.is_some() {
        project.format = FORMAT;
    }

    // What the sweep was for is lost to this program, and nothing else is: to a save it counts as a field
    // that isn't known.
    let sweep = unknown_sweep(&mut project).map(|family| {
        let at = outline.find(text, &Place::top("stereo").field("sweep"));
        Warning::UnknownSweep { line: line_column(text, at).0, family }
    });
    let kept_text = write(&project);
    let losses = match Outline::of(&kept_text) {
        Ok(kept) => outline.losses(text, &kept, &kept_text),
        Err(_) => Losses::all(),
    };
    let mut faults: Vec<(usize, Fault)> = losses.doubled.into_iter().map(doubled).collect();
    faults.extend(project.check_values().into_iter().map(|fault| (outline.find(text, &fault.place), fault)));
    faults.sort_by_key(|(at, _)| *at);
    let others = faults.len().saturating_sub(1);
    if let Some((at, fault)) = faults.into_iter().next() {
        let (line, column) = line_column(text, at);
        return Err(match newer {
            Some(found) => ReadError::Newer { found, line, column, what: fault.what },
            None => ReadError::Value { line, column, fault, others },
        });
    }
    let unknown = with_lines(text, losses.unknown);
    let read_only = match newer {
        Some(found) => Some(ReadOnly::Newer { found, unknown }),
        None if unknown.is_empty() => None,
        None => Some(ReadOnly::UnknownFields { unknown }),
    };
    let warnings = sweep.into_iter().chain(comments(text, &outline)).collect();
    Ok(Opened { project, warnings, read_only })
}

/// Takes out a sweep of an unknown family; gives the family.
fn unknown_sweep(project: &mut Project) -> Option<String> {
    let sweep = &project.stereo.sweep;
    let is_unknown = |sweep: &&Sweep| matches!(sweep.range.check(), Err(SweepError::Family { .. }));
    let family = sweep.as_ref().filter(is_unknown).map(|sweep| sweep.range.family.0.clone())?;
    project.stereo.sweep = None;
    Some(family)
}

/// Writes a project: one entry a line, always in the same order, floats to the last bit.
///
/// [`read`] gives back the same project if [`Project::check_values`] finds nothing.
#[must_use]
pub fn write(project: &Project) -> String {
    // Deeper than this, what belongs together stands on one line: a button, a pair, a press.
    const DEPTH: usize = 3;
    let style = ron::ser::PrettyConfig::new().depth_limit(DEPTH).new_line("\n").indentor("    ");
    // Plain structs of numbers, texts, lists and maps: writing them to memory can't fail.
    let body = ron::ser::to_string_pretty(project, style).unwrap_or_default();
    format!("{HEADER}\n{body}\n")
}

/// Line and column of a byte offset, both from 1; columns are counted in characters.
fn line_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let column = 1 + before.rsplit('\n').next().unwrap_or_default().chars().count();
    (1 + before.matches('\n').count(), column)
}

/// Unknown fields with their lines; the text is counted through once, however many there are.
fn with_lines(text: &str, unknown: Vec<(Place, usize)>) -> Vec<UnknownField> {
    let ends: Vec<usize> = text.match_indices('\n').map(|(end, _)| end).collect();
    unknown
        .into_iter()
        .map(|(place, at)| UnknownField { place, line: 1 + ends.partition_point(|&end| end < at) })
        .collect()
}

/// The format the text says it has.
fn written_format(text: &str, outline: &Outline) -> Option<u32> {
    ron::from_str(outline.scalar(text, "format")?).ok()
}

fn doubled((place, at): (Place, usize)) -> (usize, Fault) {
    let what = format!("`{place}` stands here a second time.");
    (at, Fault { place, what, advice: "Keep one of them.".to_owned() })
}

/// Comments a person wrote; our own first line isn't one.
fn comments(text: &str, outline: &Outline) -> Option<Warning> {
    let at = outline.comments.iter().find(|&&at| !(at == 0 && text.starts_with(HEADER)))?;
    Some(Warning::Comments { line: line_column(text, *at).0 })
}

fn others_text(count: usize) -> String {
    match count {
        0 => String::new(),
        1 => "One more value is wrong further down. ".to_owned(),
        _ => format!("{count} more values are wrong further down. "),
    }
}

/// The unknown fields as a sentence behind another: the first few with their lines, then how many
/// more.
fn unknown_sentence(unknown: &[UnknownField]) -> String {
    const NAMED: usize = 4;
    if unknown.is_empty() {
        return String::new();
    }
    let named: Vec<String> = unknown
        .iter()
        .take(NAMED)
        .map(|UnknownField { place, line }| format!("`{place}` in line {line}"))
        .collect();
    let more = match unknown.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!(" This program doesn't know {}{more}.", named.join(", "))
}
