//! One question on its way: sent, sent again, answered or given up. Knows nothing of jobs.

use crate::wire::{Ask, Frame, REPLY, encode_frame};

use super::timing::{ANSWER_MS, STORE_MS, TRIES};

/// A question that waits for its answer.
#[derive(Clone, Debug)]
pub(super) struct Exchange {
    ask: Ask,
    /// A sequence for each time it was sent: an answer to any of them is its answer.
    sequences: Vec<u8>,
    due_ms: f64,
}

impl Exchange {
    pub(super) fn new(ask: Ask) -> Self {
        Self { ask, sequences: Vec::with_capacity(TRIES), due_ms: f64::NEG_INFINITY }
    }

    pub(super) const fn ask(&self) -> &Ask {
        &self.ask
    }

    /// Whether it was sent before.
    pub(super) const fn is_retry(&self) -> bool {
        self.sequences.len() > 1
    }

    /// Whether it waits in vain.
    pub(super) fn is_due(&self, now_ms: f64) -> bool {
        now_ms >= self.due_ms
    }

    /// Whether it was sent as often as it is sent at all.
    pub(super) const fn is_spent(&self) -> bool {
        self.sequences.len() >= TRIES
    }

    /// Waits before it is sent again.
    pub(super) const fn put_off(&mut self, until_ms: f64) {
        self.due_ms = until_ms;
    }

    /// Its bytes, under a sequence of their own. When it is sent again a zero goes ahead: it ends
    /// what may have arrived in part.
    pub(super) fn send(&mut self, sequence: u8, now_ms: f64) -> Vec<u8> {
        let mut bytes = if self.sequences.is_empty() { Vec::new() } else { vec![0] };
        self.sequences.push(sequence);
        self.due_ms = now_ms + self.patience_ms();
        // What does not fit a frame is never asked: a record is at most what the image holds.
        bytes.extend(encode_frame(self.ask.number(), sequence, &self.ask.payload()).unwrap_or_default());
        bytes
    }

    /// Whether a frame answers it.
    pub(super) fn is_answered_by(&self, frame: &Frame) -> bool {
        frame.number == self.ask.number() | REPLY && self.sequences.contains(&frame.sequence)
    }

    /// How long an answer may take, in milliseconds.
    pub(super) const fn patience_ms(&self) -> f64 {
        match self.ask {
            Ask::WriteBegin { .. } | Ask::WriteData { .. } | Ask::WriteEnd | Ask::Calibrate(_) => STORE_MS,
            _ => ANSWER_MS,
        }
    }
}
