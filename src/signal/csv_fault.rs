//! What can be wrong with a file of readings, and the words for it. Knows nothing of how a file is
//! read.

use std::io;

use thiserror::Error;

/// No row of ours comes near this many bytes; what does is no recording.
pub(super) const LONGEST_LINE: usize = 64 * 1024;

/// Characters of a faulty field that are quoted.
const QUOTED: usize = 24;

/// Why a file gives no recording.
#[derive(Debug, Error)]
pub enum CsvError {
    /// Not even a line of names.
    #[error("The file is empty. A recording begins with the line t_ms,wire1 or t_ms,wire1,wire2.")]
    Empty,
    /// The first line lacks a column that is needed.
    #[error(
        "The first line is “{found}”, without a column {wanted}. A recording begins with the line \
         t_ms,wire1 or t_ms,wire1,wire2: add it above the readings, or choose another file."
    )]
    Header {
        /// The column missing.
        wanted: &'static str,
        /// The line as found, shortened.
        found: String,
    },
    /// Names, but no reading under them.
    #[error("None of {rows} rows holds a reading.{} Choose another file, or mend this one.", first_text(.first.as_ref()))]
    NoReading {
        /// Rows under the names.
        rows: u64,
        /// What is wrong with the first of them.
        first: Option<BadRow>,
    },
    /// A line far too long for a recording.
    #[error(
        "A line near line {line} is longer than {LONGEST_LINE} bytes, so this is not a recording. \
         Choose another file."
    )]
    LongLine {
        /// The last line that could be read.
        line: u64,
    },
    /// The file could not be read.
    #[error("Reading stopped after line {line}: {source}. Copy the file to this computer and open the copy.")]
    Read {
        /// The last line that could be read.
        line: u64,
        /// What the system said.
        source: io::Error,
    },
}

/// A row that holds no reading.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("Line {line}: {fault}.")]
pub struct BadRow {
    /// Its line in the file, from 1.
    pub line: u64,
    /// What is wrong with it.
    pub fault: RowFault,
}

/// What is wrong with a row.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RowFault {
    /// The time is no number of milliseconds, from 0 to 10¹⁰.
    #[error("the time is “{0}”, not a number of milliseconds")]
    Time(String),
    /// The time is before that of the last row taken.
    #[error("the time runs backwards, from {from_ms} to {to_ms} ms")]
    Backwards {
        /// The time of the last row taken, in milliseconds.
        from_ms: f64,
        /// The time in this row, in milliseconds.
        to_ms: f64,
    },
    /// A wire's field is no converter's number.
    #[error("wire {wire} is “{text}”, not a whole number from 0 to 4095")]
    Number {
        /// Which wire, from 1.
        wire: usize,
        /// The field, shortened.
        text: String,
    },
    /// The feed monitor's field is no converter's number.
    #[error("the feed is “{0}”, not a whole number from 0 to 4095")]
    Feed(String),
    /// No wire has a number.
    #[error("no wire has a number")]
    NoNumber,
}

/// What stops the reading of a line beyond [`LONGEST_LINE`].
#[derive(Debug, Error)]
#[error("a line is longer than {LONGEST_LINE} bytes")]
pub(super) struct LongLine;

/// A faulty text, short enough to be shown and without anything that could upset a terminal.
pub(super) fn quoted(text: &[u8]) -> String {
    let text = String::from_utf8_lossy(text);
    let mut short: String = text
        .chars()
        .take(QUOTED)
        .map(|c| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c })
        .collect();
    if text.chars().nth(QUOTED).is_some() {
        short.push('…');
    }
    short
}

fn first_text(first: Option<&BadRow>) -> String {
    first.map_or(String::new(), |row| format!(" {row}"))
}
