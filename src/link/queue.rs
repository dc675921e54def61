//! The way up: reports in order, bounded, between the worker and whoever takes them.
//!
//! Readings are what a flood is made of, so only they are refused when too many wait; everything
//! else is always taken, and of the kinds that repeat only the newest is kept, which bounds them
//! too. One queue for both keeps their order: `Connected` before its readings, `Gone` after them.

use std::collections::VecDeque;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use super::message::{Batch, Report};

/// The most readings in one batch.
pub(super) const BATCH_READINGS: usize = 512;

/// The most readings that wait to be taken: two minutes at 1 kHz, 2 MB.
pub(super) const WAITING_READINGS: usize = 131_072;

/// The most reports that wait; those that are not readings may go over it, see [`Queue::push`].
const WAITING_REPORTS: usize = 1024;

#[derive(Default)]
pub(super) struct Queue {
    waiting: Mutex<Waiting>,
    /// Something came, or went.
    changed: Condvar,
}

#[derive(Default)]
struct Waiting {
    reports: VecDeque<Report>,
    readings: usize,
}

impl Queue {
    /// Offers readings; gives them back if too many wait already. True if the taker has to be
    /// woken: a batch that joins one still waiting needs no second call.
    pub(super) fn offer(&self, batch: Batch) -> Result<bool, Batch> {
        let mut waiting = self.lock();
        let count = batch.readings.len();
        if waiting.readings + count > WAITING_READINGS || waiting.reports.len() >= WAITING_REPORTS {
            return Err(batch);
        }
        waiting.readings += count;
        if let Some(Report::Readings(last)) = waiting.reports.back_mut()
            && batch.lost_readings == 0
            && last.readings.len() + count <= BATCH_READINGS
        {
            last.readings.extend(batch.readings);
            last.broken_lines += batch.broken_lines;
            return Ok(false);
        }
        waiting.reports.push_back(Report::Readings(batch));
        drop(waiting);
        self.changed.notify_all();
        Ok(true)
    }

    /// Adds a report that is never refused. A list of ports, a rate being tried, or a silence
    /// replaces one of its kind that still waits. The rest come in turns of the link's state: past
    /// the limit on waiting reports, the oldest `Connected` and `Gone` make way, which nobody can
    /// miss who has let a thousand of them pass.
    pub(super) fn push(&self, report: Report) {
        let mut waiting = self.lock();
        if matches!(report, Report::Ports(_)) {
            waiting.reports.retain(|old| !matches!(old, Report::Ports(_)));
        } else if let Some(last) = waiting.reports.back_mut()
            && repeats(last, &report)
        {
            *last = report;
            return;
        } else if waiting.reports.len() >= 2 * WAITING_REPORTS
            && let Some(oldest) = waiting.reports.iter().position(|r| !matches!(r, Report::Readings(_)))
        {
            waiting.reports.remove(oldest);
        }
        waiting.reports.push_back(report);
        drop(waiting);
        self.changed.notify_all();
    }

    /// The next report, if there is one.
    pub(super) fn take(&self) -> Option<Report> {
        let taken = self.lock().take();
        if taken.is_some() {
            self.changed.notify_all();
        }
        taken
    }

    /// The next report, waiting for it no longer than this.
    pub(super) fn take_within(&self, limit: Duration) -> Option<Report> {
        let waiting = self.lock();
        let (mut waiting, _) = self
            .changed
            .wait_timeout_while(waiting, limit, |waiting| waiting.reports.is_empty())
            .unwrap_or_else(PoisonError::into_inner);
        let taken = waiting.take();
        drop(waiting);
        if taken.is_some() {
            self.changed.notify_all();
        }
        taken
    }

    /// Waits until this many readings would be taken, no longer than `limit`. True if they would.
    pub(super) fn wait_for_room(&self, readings: usize, limit: Duration) -> bool {
        let full = |waiting: &mut Waiting| {
            waiting.readings + readings > WAITING_READINGS || waiting.reports.len() >= WAITING_REPORTS
        };
        let (mut waiting, _) =
            self.changed.wait_timeout_while(self.lock(), limit, full).unwrap_or_else(PoisonError::into_inner);
        !full(&mut waiting)
    }

    fn lock(&self) -> MutexGuard<'_, Waiting> {
        // A taker that panicked leaves the reports whole.
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Waiting {
    fn take(&mut self) -> Option<Report> {
        let report = self.reports.pop_front()?;
        if let Report::Readings(batch) = &report {
            self.readings -= batch.readings.len();
        }
        Some(report)
    }
}

/// Whether the newer says the same thing anew.
fn repeats(older: &Report, newer: &Report) -> bool {
    matches!(
        (older, newer),
        (Report::Trying { .. }, Report::Trying { .. })
            | (Report::Silent { .. }, Report::Silent { .. })
            | (Report::Closed, Report::Closed)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::RawReading;

    fn batch(readings: usize) -> Batch {
        Batch {
            readings: vec![
                RawReading { feed: RawReading::NONE, t_ms: 0.0, raw: [1, RawReading::NONE] };
                readings
            ],
            ..Batch::default()
        }
    }

    #[test]
    fn small_batches_that_wait_become_one() {
        let queue = Queue::default();
        assert_eq!(queue.offer(batch(15)), Ok(true));
        assert_eq!(queue.offer(batch(15)), Ok(false), "no second call");
        let lost = Batch { lost_readings: 1, ..batch(15) };
        assert_eq!(queue.offer(lost.clone()), Ok(true), "the gap stays where it is");
        assert_eq!(queue.take(), Some(Report::Readings(batch(30))));
        assert_eq!(queue.take(), Some(Report::Readings(lost)));
        assert_eq!(queue.take(), None);
    }

    #[test]
    fn readings_are_refused_when_too_many_wait_but_nothing_else_is() {
        let queue = Queue::default();
        let mut taken = 0;
        while queue.offer(batch(BATCH_READINGS)).is_ok() {
            taken += BATCH_READINGS;
        }
        assert_eq!(taken, WAITING_READINGS);
        assert!(!queue.wait_for_room(1, Duration::ZERO));
        let gone = Report::Gone { path: "p".into(), reason: "r".into() };
        queue.push(gone.clone());
        let mut last = None;
        while let Some(report) = queue.take() {
            last = Some(report);
        }
        assert_eq!(last, Some(gone), "in its order, after the readings");
        assert!(queue.wait_for_room(WAITING_READINGS, Duration::ZERO));
    }

    #[test]
    fn reports_that_repeat_do_not_pile_up() {
        let queue = Queue::default();
        for second in 0..100_000_u32 {
            queue.push(Report::Silent { ms: u64::from(second), bytes_came: false });
            queue.push(Report::Ports(vec![]));
            queue.push(Report::Connected {
                target: super::super::Target::Demo { speed: 1 },
                rate: None,
                wires: 1,
            });
        }
        let waiting = std::iter::from_fn(|| queue.take()).count();
        assert!(waiting <= 2 * WAITING_REPORTS, "{waiting}");
    }
}
