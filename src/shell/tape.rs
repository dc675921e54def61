//! The recording's file: a thread that writes readings as they came, so that all are kept however
//! long it takes.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread::JoinHandle;

use crate::app::{Action, FileAction};
use crate::signal::{RawReading, csv_header, csv_rows};

/// Batches that wait to be written: some seconds of a fast stream.
const WAITING: usize = 1024;

/// A file being written.
pub(super) struct Tape {
    batches: Option<SyncSender<Vec<RawReading>>>,
    thread: Option<JoinHandle<()>>,
    answers: SyncSender<Action>,
}

impl Tape {
    /// Begins the file; what goes wrong is told by an action.
    pub(super) fn start(path: PathBuf, wires: u8, answers: SyncSender<Action>) -> Self {
        let (batches, inbox) = sync_channel(WAITING);
        let told = answers.clone();
        let thread = std::thread::Builder::new().name("tape".to_owned()).spawn(move || {
            if let Err(error) = write(&path, wires, &inbox) {
                let why = format!("{error} Choose another place.");
                drop(told.try_send(Action::File(FileAction::TapeFailed(why))));
            }
        });
        Self { batches: Some(batches), thread: thread.ok(), answers }
    }

    /// Writes readings; never waits.
    pub(super) fn write(&self, readings: Vec<RawReading>) {
        let Some(batches) = &self.batches else { return };
        if let Err(TrySendError::Full(lost)) = batches.try_send(readings) {
            let why = format!(
                "The disk is too slow: {} readings could not be written. Choose another place.",
                lost.len()
            );
            drop(self.answers.try_send(Action::File(FileAction::TapeFailed(why))));
        }
    }
}

impl Drop for Tape {
    /// What was taken is written before the file is closed.
    fn drop(&mut self) {
        self.batches = None;
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}

/// Writes the file to its end; says what could not be done, as a sentence.
fn write(path: &Path, wires: u8, batches: &Receiver<Vec<RawReading>>) -> Result<(), String> {
    let name = path.display();
    let file =
        File::create(path).map_err(|error| format!("\"{name}\" could not be begun: {}.", plain(&error)))?;
    write_all(BufWriter::new(file), usize::from(wires), batches).map_err(|error| {
        format!("\"{name}\" could not be written: {}. What was written before is kept.", plain(&error))
    })
}

/// The system's reason without its number, which says nothing to a person.
fn plain(error: &std::io::Error) -> String {
    let said = error.to_string();
    said.split(" (os error").next().unwrap_or_default().to_lowercase()
}

fn write_all(
    mut file: BufWriter<File>,
    wires: usize,
    batches: &Receiver<Vec<RawReading>>,
) -> std::io::Result<()> {
    let mut rows = String::new();
    // Whether there is a feed monitor shows in the first readings.
    let mut has_feed = None;
    while let Ok(readings) = batches.recv() {
        rows.clear();
        let has_feed = *has_feed.get_or_insert_with(|| {
            let has_feed = readings.iter().any(|reading| reading.feed != RawReading::NONE);
            rows.push_str(csv_header(wires, has_feed));
            has_feed
        });
        csv_rows(&readings, wires, has_feed, &mut rows);
        file.write_all(rows.as_bytes())?;
        file.flush()?;
    }
    if has_feed.is_none() {
        file.write_all(csv_header(wires, false).as_bytes())?;
    }
    file.into_inner().map_err(std::io::IntoInnerError::into_error)?.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_recording_that_cannot_be_begun_says_so_in_plain_words() {
        let (sender, batches) = sync_channel(1);
        drop(sender);
        let said = write(Path::new("/nowhere/at all/recording.csv"), 1, &batches);
        let wanted = "\"/nowhere/at all/recording.csv\" could not be begun: no such file or directory.";
        assert_eq!(said, Err(wanted.to_owned()));
    }
}
