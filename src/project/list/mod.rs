//! Lists: a stereo's commands as a text of their own, to be kept, handed on and taken into another
//! project. Two formats, CSV and RON, both described in README.md. Reading takes nothing silently: what
//! it can't take is told with its line. Knows no file and no screen.

mod columns;
mod csv;
mod ron;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;

use super::model::{Command, Stereo};
use super::values::{MAX_COMMANDS, MAX_HEARD, MAX_PULSES, Range};
use crate::remote::{self, Code, CodeError};

/// The longest list that is read, in bytes: 4 MB, a thousand times a well-filled one.
pub const MAX_LIST_BYTES: usize = 4 * 1024 * 1024;

/// The most characters of a command's name in a list: what the window takes of one.
pub const MAX_COMMAND_NAME: usize = 40;

/// Faults are told up to this many; beyond, they are only counted.
pub const MAX_FAULTS: usize = 1_000;

/// A format of lists.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ListFormat {
    /// One command a row under a line of names, for spreadsheets; what was heard of a remote is left
    /// out.
    #[default]
    Csv,
    /// All of it.
    Ron,
}

impl ListFormat {
    /// The format that a file's name asks for; `None` if it asks for neither.
    #[must_use]
    pub fn of_path(path: &Path) -> Option<Self> {
        let extension = path.extension()?.to_str()?.to_ascii_lowercase();
        [Self::Csv, Self::Ron].into_iter().find(|format| format.extension() == extension)
    }

    /// What its files end in.
    #[must_use]
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Ron => "ron",
        }
    }
}

/// Something in a list that can't be taken, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineFault {
    /// Its line, from 1.
    pub line: usize,
    /// What is wrong with it, and what to do.
    pub what: String,
}

impl fmt::Display for LineFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Line {}: {}", self.line, self.what)
    }
}

/// A command of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// Its line, from 1.
    pub line: usize,
    /// The command, without an id: that is the project's to give.
    pub command: Command,
}

/// What a list holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ListRead {
    /// The stereo it says it is of.
    pub stereo: Option<String>,
    /// The commands that can be taken, at most [`MAX_COMMANDS`], each name once.
    pub commands: Vec<Listed>,
    /// What can't, in the order of the lines; at most [`MAX_FAULTS`].
    pub faults: Vec<LineFault>,
    /// How many more faults there are.
    pub more_faults: usize,
}

/// A list held against the commands that are there already.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ListMerge {
    /// The commands that can be added.
    pub fresh: Vec<Command>,
    /// The names of those that are there already, with the same code.
    pub same: Vec<String>,
    /// What can't be taken, in the order of the lines.
    pub faults: Vec<LineFault>,
    /// How many more faults there are.
    pub more_faults: usize,
}

/// Reads a list in either format. Nothing in any bytes makes it panic.
#[must_use]
pub fn read_list(bytes: &[u8]) -> ListRead {
    let mut gather = Gather::default();
    if bytes.len() > MAX_LIST_BYTES {
        let what = format!(
            "The list has {} bytes, and one has at most {MAX_LIST_BYTES}. Choose a list of commands.",
            bytes.len()
        );
        gather.fault(1, what);
        return gather.done();
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        gather.fault(1, "The list is written in UTF-16. Save it as UTF-8: spreadsheets call it CSV UTF-8.");
        return gather.done();
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let begins = bytes.iter().find(|byte| !byte.is_ascii_whitespace());
    match begins {
        None => gather.fault(1, "The list is empty. Choose one with a line of names and a row a command."),
        Some(b'(' | b'#' | b'/') => ron::read(bytes, &mut gather),
        Some(_) => csv::read(bytes, &mut gather),
    }
    gather.done()
}

/// Writes a stereo's commands as a list.
///
/// [`read_list`] gives back the same commands (without ids; from CSV without what was heard) where
/// each can be sent and has a name that a list can hold.
#[must_use]
pub fn write_list(stereo: &Stereo, format: ListFormat) -> String {
    match format {
        ListFormat::Csv => csv::write(&stereo.commands),
        ListFormat::Ron => ron::write(stereo),
    }
}

impl ListRead {
    /// Holds it against the commands that are there: what has the same name and the same code is
    /// there already; the same name with another code is a fault, and so is what there is no room for.
    #[must_use]
    pub fn merge(&self, there: &[Command]) -> ListMerge {
        let mut merge = ListMerge { more_faults: self.more_faults, ..ListMerge::default() };
        let known: BTreeMap<String, &Command> =
            there.iter().map(|command| (key(&command.name), command)).collect();
        let mut gather = Gather { faults: self.faults.clone(), more: self.more_faults, ..Gather::default() };
        let room = MAX_COMMANDS.saturating_sub(there.len());
        for Listed { line, command } in &self.commands {
            match known.get(&key(&command.name)) {
                Some(old) if old.code == command.code => merge.same.push(command.name.clone()),
                Some(old) => gather.fault(
                    *line,
                    format!(
                        "{} is there already with another code: {} there, {} in the list. Remove the one \
                         there first, or give this one another name.",
                        quoted(&command.name),
                        remote::describe(&old.code),
                        remote::describe(&command.code)
                    ),
                ),
                None if merge.fresh.len() == room => gather.left_out(*line),
                None => merge.fresh.push(command.clone()),
            }
        }
        let done = gather.done();
        ListMerge { faults: done.faults, more_faults: done.more_faults, ..merge }
    }
}

impl ListMerge {
    /// How many faults there are, told or counted.
    #[must_use]
    pub fn fault_count(&self) -> usize {
        self.faults.len() + self.more_faults
    }
}

/// What was read so far.
#[derive(Default)]
struct Gather {
    stereo: Option<String>,
    commands: Vec<Listed>,
    /// The line of each name, as names are compared.
    lines: BTreeMap<String, usize>,
    faults: Vec<LineFault>,
    more: usize,
    /// The first command there was no room for, and how many there were.
    beyond: Option<(usize, usize)>,
}

impl Gather {
    fn fault(&mut self, line: usize, what: impl Into<String>) {
        if self.faults.len() < MAX_FAULTS {
            self.faults.push(LineFault { line, what: what.into() });
        } else {
            self.more += 1;
        }
    }

    fn left_out(&mut self, line: usize) {
        let (first, count) = self.beyond.unwrap_or((line, 0));
        self.beyond = Some((first, count + 1));
    }

    /// A command as read from a line.
    fn command(&mut self, line: usize, mut command: Command) {
        if self.commands.len() == MAX_COMMANDS {
            self.left_out(line);
            return;
        }
        command.name = command.name.trim().to_owned();
        if let Err(what) = check(&command) {
            self.fault(line, what);
            return;
        }
        let name = key(&command.name);
        if let Some(first) = self.lines.get(&name) {
            let what = format!(
                "{} stands in line {first} already. Give one of them another name, or take one out.",
                quoted(&command.name)
            );
            self.fault(line, what);
            return;
        }
        self.lines.insert(name, line);
        self.commands.push(Listed { line, command });
    }

    fn done(self) -> ListRead {
        let Self { stereo, commands, lines: _, mut faults, more: more_faults, beyond } = self;
        if let Some((line, count)) = beyond {
            let others = match count {
                1 => "this one is".to_owned(),
                _ => format!("this one and {} more are", count - 1),
            };
            let what = format!(
                "A project keeps {MAX_COMMANDS} commands, and {others} beyond. Take out what no button sends."
            );
            faults.push(LineFault { line, what });
        }
        faults.sort_by_key(|fault| fault.line);
        ListRead { stereo, commands, faults, more_faults }
    }
}

/// Why a command can't be taken; a sentence that says what to do.
fn check(command: &Command) -> Result<(), String> {
    let length = command.name.chars().count();
    if !command.name.chars().any(char::is_alphanumeric) {
        return Err("The name needs at least one letter or digit.".to_owned());
    }
    if length > MAX_COMMAND_NAME {
        return Err(format!(
            "The name {} has {length} characters, and one has at most {MAX_COMMAND_NAME}. Shorten it.",
            quoted(&command.name)
        ));
    }
    match remote::encode(&command.code, false) {
        Ok(_) => {}
        Err(error @ CodeError::UnknownFamily { .. }) => {
            return Err(format!("{error} Timings are raw; a family of your own is free."));
        }
        Err(error) => return Err(error.to_string()),
    }
    // What a project may hold beyond what can be sent.
    if let Code::Raw { repeat_us: Some(us), .. } = command.code
        && !Range::REPEAT_US.holds(us)
    {
        return Err(format!("The code repeats every {us} µs; it must be {}.", Range::REPEAT_US));
    }
    if command.heard.len() > MAX_HEARD {
        return Err(format!(
            "{} presses of the remote are kept of it; at most {MAX_HEARD} can be. Take some out.",
            command.heard.len()
        ));
    }
    for press in &command.heard {
        if press.timings_us.len() > MAX_PULSES {
            return Err(format!(
                "A press of the remote has {} marks and spaces; at most {MAX_PULSES} can be kept.",
                press.timings_us.len()
            ));
        }
        if let Some(us) = press.timings_us.iter().find(|us| !Range::PULSE_US.holds(**us)) {
            return Err(format!("A press of the remote has {us:?} µs; it must be {}.", Range::PULSE_US));
        }
    }
    Ok(())
}

/// A name as names are compared.
fn key(name: &str) -> String {
    name.trim().to_ascii_lowercase()
}

/// A text as a message quotes it: its odd characters visible, cut where it is long.
fn quoted(text: &str) -> String {
    const SHOWN: usize = 40;
    match text.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{:?}…", &text[..end]),
        None => format!("{text:?}"),
    }
}
