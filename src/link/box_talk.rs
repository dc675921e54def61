//! The link's side of a box: its conversation, what has to be done to the port for it, and its
//! samples as readings with the link's time. Bytes and time are arguments; knows no port and no
//! thread.

use std::collections::VecDeque;

use super::message::Batch;
use crate::device::{BoxReport, BoxRequest, BoxSession, Step};
use crate::signal::RawReading;
use crate::units::WIRES;
use crate::wire::SampleBlock;

/// The most bytes that wait to be sent. What nobody takes is thrown away: the conversation asks
/// again, or fails by its own timeouts.
const WAITING_BYTES: usize = 4096;

/// A gap in the box's ticks up to this is readings that were lost; a longer one is a stream that
/// paused, and only what the box itself counted is lost.
const LONGEST_GAP_TICKS: u32 = 2_000;

/// Something to be done to the port, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Act {
    /// Send this.
    Send(Vec<u8>),
    /// Set this rate, in bits per second.
    SetRate(u32),
    /// Start the board anew.
    PulseReset,
    /// Throw away what has arrived and was not read.
    Discard,
}

/// A conversation with the box at the other end.
pub(super) struct BoxTalk {
    session: BoxSession,
    clock: Clock,
    acts: VecDeque<Act>,
    reports: VecDeque<BoxReport>,
    /// How many wires the samples have, once some came.
    wires: Option<u8>,
}

impl BoxTalk {
    /// A conversation that begins now. Its readings are later than `newest_ms`.
    pub(super) fn new(now_ms: f64, newest_ms: f64) -> Self {
        Self {
            session: BoxSession::new(now_ms),
            clock: Clock { newest_ms, next: None, offset_ms: 0.0 },
            acts: VecDeque::new(),
            reports: VecDeque::new(),
            wires: None,
        }
    }
}

/// Turns the box's ticks into the link's time: 1 ms each, whatever the line did to them.
#[derive(Clone, Copy, Debug)]
struct Clock {
    /// The newest reading's time.
    newest_ms: f64,
    /// The tick that comes next; `None` before the first, and after a restart.
    next: Option<u32>,
    /// The link's time of tick 0.
    offset_ms: f64,
}

impl Clock {
    /// The time of a block's first sample, and how many readings are missing before it. A tick that
    /// runs backwards is of a box that has restarted.
    fn place(&mut self, first: u32, count: u32, lost: u8, now_ms: f64) -> (f64, u64) {
        let gap = self.next.map(|next| first.wrapping_sub(next)).filter(|gap| *gap < u32::MAX / 2);
        let lost = match gap {
            Some(gap) if gap <= LONGEST_GAP_TICKS => u64::from(gap),
            Some(_) | None => u64::from(lost),
        };
        let at_ms = match gap {
            Some(gap) => self.newest_ms + 1.0 + f64::from(gap),
            // The last sample of the block has just been taken.
            None => (now_ms - f64::from(count.saturating_sub(1))).max(self.newest_ms + 1.0),
        };
        self.next = Some(first.wrapping_add(count));
        self.newest_ms = at_ms + f64::from(count.saturating_sub(1));
        (at_ms, lost)
    }
}
