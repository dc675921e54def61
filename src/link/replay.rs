//! A recorded file played through the link as if its readings came just now. It is read as it is
//! played, however long it is. Its first reading is at 0 ms.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use std::time::Instant;

use super::message::{Report, Target};
use super::outbox::Outbox;
use super::pace::Pace;
use crate::signal::{CsvReader, RawReading};

/// Batches handed over before the worker looks at its requests again.
const BATCHES_A_STEP: usize = 16;

/// Why a recording is not played, or not to its end.
#[derive(Debug, thiserror::Error)]
pub(super) enum ReplayError {
    #[error("{path} could not be opened: {why}.")]
    Open { path: String, why: String },
    /// `why` says in whole sentences what is wrong and what to do.
    #[error("{path} could not be read.")]
    Read { path: String, why: String },
    #[error("{path} holds no reading.")]
    Empty { path: String },
}

impl ReplayError {
    /// What to do next, in a sentence.
    fn advice(&self) -> String {
        match self {
            Self::Open { .. } => "Check the path and that the file may be read.".to_owned(),
            Self::Read { why, .. } => why.clone(),
            Self::Empty { .. } => {
                "A recording is a CSV file with the columns t_ms,wire1 or t_ms,wire1,wire2.".to_owned()
            }
        }
    }

    /// As the worker tells it.
    pub(super) fn report(&self) -> Report {
        Report::Failed { what: self.to_string(), advice: self.advice() }
    }
}

pub(super) struct ReplayRun {
    path: String,
    rows: CsvReader<BufReader<File>>,
    /// The next reading to be handed over, with its own time.
    next: Option<RawReading>,
    first_ms: f64,
    /// Rows without a reading that were told already.
    bad_rows: u64,
    pace: Pace,
}

impl ReplayRun {
    /// Opens a recording and reads to its first reading.
    pub(super) fn open(path: &Path, speed: u32, out: &mut Outbox) -> Result<Self, ReplayError> {
        let name = path.display().to_string();
        let file =
            File::open(path).map_err(|e| ReplayError::Open { path: name.clone(), why: e.to_string() })?;
        let read = |e: crate::signal::CsvError| ReplayError::Read { path: name.clone(), why: e.to_string() };
        let mut rows = CsvReader::new(BufReader::new(file)).map_err(read)?;
        let next = rows.next_reading().map_err(read)?;
        let Some(first) = next else { return Err(ReplayError::Empty { path: name }) };
        let wires = if rows.wires() == 2 { 2 } else { 1 };
        let target = Target::Replay { path: path.to_owned(), speed };
        out.tell(Report::Connected { target, rate: None, wires });
        let pace = Pace::new(speed, Instant::now());
        Ok(Self { path: name, rows, next, first_ms: first.t_ms, bad_rows: 0, pace })
    }

    /// Whether there is any waiting to do between steps.
    pub(super) fn is_paced(&self) -> bool {
        self.pace.is_paced()
    }

    /// Plays what is due. True at the end of the file.
    pub(super) fn step(&mut self, out: &mut Outbox) -> Result<bool, ReplayError> {
        let Self { path, rows, next, first_ms, bad_rows, pace } = self;
        let due_ms = pace.due_ms(Instant::now());
        let is_due = |reading: &RawReading| reading.t_ms - *first_ms <= due_ms;
        for _ in 0..BATCHES_A_STEP {
            if !next.as_ref().is_some_and(is_due) {
                break;
            }
            let mut failed = None;
            let took = out.hand_over(|| {
                let reading = next.take_if(|reading| is_due(reading))?;
                *next = rows.next_reading().unwrap_or_else(|error| {
                    failed = Some(error);
                    None
                });
                Some(RawReading { t_ms: reading.t_ms - *first_ms, ..reading })
            });
            out.batch.broken_lines += rows.bad_row_count() - *bad_rows;
            *bad_rows = rows.bad_row_count();
            if let Some(error) = failed {
                return Err(ReplayError::Read { path: path.clone(), why: error.to_string() });
            }
            if let (false, Some(next)) = (took, next.as_ref()) {
                pace.hold_at(next.t_ms - *first_ms);
                break;
            }
        }
        Ok(next.is_none())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_error_says_what_failed_and_what_to_do() {
        let path = || "drive.csv".to_owned();
        let said: Vec<_> = [
            ReplayError::Open { path: path(), why: "No such file".to_owned() },
            ReplayError::Read { path: path(), why: "The file is empty. Choose another.".to_owned() },
            ReplayError::Empty { path: path() },
        ]
        .map(|error| format!("{error} {}", error.advice()))
        .to_vec();
        assert_eq!(
            said,
            [
                "drive.csv could not be opened: No such file. Check the path and that the file may be read.",
                "drive.csv could not be read. The file is empty. Choose another.",
                "drive.csv holds no reading. A recording is a CSV file with the columns t_ms,wire1 or \
                 t_ms,wire1,wire2.",
            ]
        );
    }
}
