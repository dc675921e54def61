//! Looking for a box: calls at intervals, until one answers or it has been long enough. And the probe:
//! the same calls while it isn't known yet whether a box or a printer of plain numbers is there.

use crate::wire::{Answer, Ask, BoxEvent, Deframer, Frame, REPLY, encode_frame};

use super::job::Job;
use super::session::Step;
use super::timing::{CALL_EVERY_MS, FIND_MS, NUDGE_MS};

/// A zero, which ends what may have been sent in part, and the question who is there.
fn call(sequence: &mut u8) -> Vec<u8> {
    *sequence = sequence.wrapping_add(1);
    let mut bytes = vec![0];
    bytes.extend(encode_frame(Ask::Identify.number(), *sequence, &[]).unwrap_or_default());
    bytes
}

/// A search under way.
#[derive(Clone, Debug)]
pub(super) struct Finding {
    since_ms: f64,
    next_ms: f64,
    /// The job that ends when it is found.
    after: Option<Job>,
    is_nudged: bool,
}

impl Finding {
    pub(super) const fn new(now_ms: f64, after: Option<Job>) -> Self {
        Self { since_ms: now_ms, next_ms: now_ms, after, is_nudged: false }
    }

    pub(super) const fn after(&self) -> Option<Job> {
        self.after
    }

    /// The job was given up; the search goes on.
    pub(super) const fn forget(&mut self) {
        self.after = None;
    }

    pub(super) fn is_over(&self, now_ms: f64) -> bool {
        now_ms - self.since_ms >= FIND_MS
    }

    /// The box has just started: no need to wait.
    pub(super) const fn call_now(&mut self, now_ms: f64) {
        self.next_ms = now_ms;
    }

    pub(super) fn poll(&mut self, now_ms: f64, sequence: &mut u8) -> Vec<Step> {
        let mut steps = Vec::new();
        if self.after.is_some() && !self.is_nudged && now_ms - self.since_ms >= NUDGE_MS {
            self.is_nudged = true;
            steps.push(Step::PulseReset);
        }
        if now_ms >= self.next_ms {
            self.next_ms = now_ms + CALL_EVERY_MS;
            steps.push(Step::Send(call(sequence)));
        }
        steps
    }
}

/// Finds out whether a box of ours is at the port. A probe that prints plain numbers pays no heed to
/// what it is sent.
#[derive(Clone, Debug)]
pub struct Probe {
    next_ms: f64,
    sequence: u8,
    deframer: Deframer,
}

impl Probe {
    /// One that calls at once.
    #[must_use]
    pub fn new(now_ms: f64) -> Self {
        Self { next_ms: now_ms, sequence: 0, deframer: Deframer::new() }
    }

    /// The bytes to send now, where it is time: every [`CALL_EVERY_MS`].
    pub fn poll(&mut self, now_ms: f64) -> Option<Vec<u8>> {
        (now_ms >= self.next_ms).then(|| {
            self.next_ms = now_ms + CALL_EVERY_MS;
            call(&mut self.sequence)
        })
    }

    /// Takes what came; whether it is a box: a whole frame with a message only a box sends. Plain
    /// numbers hold no zeros, so they never end a frame.
    pub fn take(&mut self, bytes: &[u8]) -> bool {
        let mut is_box = false;
        self.deframer.feed(bytes, |frame| {
            if let Ok(Frame { number, payload, .. }) = frame {
                is_box |= BoxEvent::parse(number, &payload).is_ok()
                    || matches!(Answer::parse(number & !REPLY, &payload), Ok(Answer::Identity(_)) if number & REPLY != 0);
            }
        });
        is_box
    }
}
