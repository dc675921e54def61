//! The worker's end of the way up: gathers readings into batches, wakes the taker once a batch,
//! and counts what could not be handed over. Knows no port.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::message::{Batch, Report};
use super::queue::{BATCH_READINGS, Queue};
use crate::signal::RawReading;

/// How long readings are gathered before they travel: a frame of a 60 Hz screen.
pub(super) const BATCH_EVERY: Duration = Duration::from_millis(15);

/// The beginning of the last broken line, shared with whoever shows it.
pub(super) type Sample = Arc<Mutex<Option<String>>>;

pub(super) struct Outbox {
    queue: Arc<Queue>,
    wake: Box<dyn Fn() + Send>,
    /// What is gathered for the next batch, and what was lost or broken since the last.
    pub(super) batch: Batch,
    sent: Instant,
    sample: Sample,
}

impl Outbox {
    pub(super) fn new(queue: Arc<Queue>, sample: Sample, wake: Box<dyn Fn() + Send>) -> Self {
        Self { queue, wake, batch: Batch::default(), sent: Instant::now(), sample }
    }

    /// Tells something that is never dropped, after the readings gathered so far.
    pub(super) fn tell(&mut self, report: Report) {
        self.flush();
        self.tell_first(report);
    }

    /// Tells something that comes before the readings gathered so far.
    pub(super) fn tell_first(&mut self, report: Report) {
        self.queue.push(report);
        (self.wake)();
    }

    /// Hands over what was gathered, if it is time.
    pub(super) fn flush_if_due(&mut self) {
        if self.batch.readings.len() >= BATCH_READINGS || self.sent.elapsed() >= BATCH_EVERY {
            self.flush();
        }
    }

    /// Hands over what was gathered, in batches; what is refused is counted as lost, and the count
    /// travels with the next batch that is taken.
    pub(super) fn flush(&mut self) {
        self.sent = Instant::now();
        let Batch { readings, mut broken_lines, mut lost_readings } = std::mem::take(&mut self.batch);
        if readings.is_empty() && broken_lines == 0 && lost_readings == 0 {
            return;
        }
        let mut wake = false;
        // Without readings there is one batch all the same, for the counts.
        let pieces = if readings.is_empty() { 1 } else { readings.len().div_ceil(BATCH_READINGS) };
        for at in 0..pieces {
            let end = readings.len().min((at + 1) * BATCH_READINGS);
            let piece = readings[at * BATCH_READINGS..end].to_vec();
            match self.queue.offer(Batch { readings: piece, broken_lines, lost_readings }) {
                Ok(first) => {
                    wake |= first;
                    (broken_lines, lost_readings) = (0, 0);
                }
                Err(refused) => lost_readings += refused.readings.len() as u64,
            }
        }
        self.batch = Batch { readings: vec![], broken_lines, lost_readings };
        if wake {
            (self.wake)();
        }
    }

    /// Hands over readings that can wait: as many as there is room for, at most a batch, made by
    /// `next` until it has no more. Waits a moment for room; false if there was none.
    pub(super) fn hand_over(&mut self, mut next: impl FnMut() -> Option<RawReading>) -> bool {
        if !self.queue.wait_for_room(BATCH_READINGS, BATCH_EVERY) {
            return false;
        }
        self.batch.readings.extend(std::iter::from_fn(&mut next).take(BATCH_READINGS));
        self.flush();
        true
    }

    /// Keeps the beginning of the last broken line where it can be seen.
    pub(super) fn show_broken(&self, sample: Option<String>) {
        *self.sample.lock().unwrap_or_else(PoisonError::into_inner) = sample;
    }
}
