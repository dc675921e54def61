//! The link's side of a box: its conversation, what has to be done to the port for it, and its samples
//! as readings of the link. Bytes and time are arguments; knows no port and no thread.

use super::ticks::Ticks;
use crate::device::{BoxReport, BoxRequest, BoxSession, Step};
use crate::signal::RawReading;
use crate::wire::{Sample, SampleBlock};

/// How many wires a box is taken to have until its samples say.
pub(super) const FIRST_WIRES: u8 = 2;

/// What follows from a conversation.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Heard {
    /// Something to be done to the port, in order.
    Do(Act),
    /// Something to be told.
    Tell(BoxReport),
    /// Readings, and how many are missing before them.
    Readings(Vec<RawReading>, u64),
    /// The readings that come have so many wires, which is new.
    Wires(u8),
}

/// Something to be done to the port.
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
    ticks: Ticks,
    /// How many wires its samples have; what was told before some came.
    wires: Option<u8>,
    /// Whether it was asked to start anew, and has not said since who it is.
    is_restarting: bool,
    /// Samples that wait for their number of wires to be told.
    block: Option<SampleBlock>,
}

impl BoxTalk {
    /// A conversation that begins now. Its readings are later than `newest_ms`.
    pub(super) fn new(now_ms: f64, newest_ms: f64) -> Self {
        Self {
            session: BoxSession::new(now_ms),
            ticks: Ticks::after(newest_ms),
            wires: Some(FIRST_WIRES),
            is_restarting: false,
            block: None,
        }
    }

    /// The newest reading's time, in milliseconds.
    pub(super) fn newest_ms(&self) -> f64 {
        self.ticks.newest_ms()
    }

    /// Asks the box for something.
    pub(super) fn ask(&mut self, request: BoxRequest) {
        self.is_restarting |= request == BoxRequest::Restart;
        self.session.ask(request);
    }

    /// The port went away: what was under way has failed, which comes next.
    pub(super) fn unplugged(&mut self) {
        self.session.unplugged();
    }

    /// Takes bytes that have just arrived.
    pub(super) fn take(&mut self, bytes: &[u8], now_ms: f64) {
        self.session.take(bytes, now_ms);
    }

    /// The next thing that follows.
    pub(super) fn next(&mut self, now_ms: f64) -> Option<Heard> {
        if let Some(block) = self.block.take() {
            return Some(self.readings(&block, now_ms));
        }
        Some(match self.session.poll(now_ms)? {
            Step::StreamBegan => {
                self.ticks.begin();
                return self.next(now_ms);
            }
            Step::Send(bytes) => Heard::Do(Act::Send(bytes)),
            Step::SetRate(rate) => Heard::Do(Act::SetRate(rate)),
            Step::PulseReset => Heard::Do(Act::PulseReset),
            Step::Discard => Heard::Do(Act::Discard),
            Step::Report(report) => {
                let is_anew = match report {
                    BoxReport::Restarted(_) => true,
                    BoxReport::Identity(_) => std::mem::take(&mut self.is_restarting),
                    _ => false,
                };
                if is_anew {
                    self.ticks.restart();
                }
                Heard::Tell(report)
            }
            Step::Samples(block) => {
                let wires = if block.two_wires { 2 } else { 1 };
                if self.wires.replace(wires) != Some(wires) {
                    self.block = Some(block);
                    return Some(Heard::Wires(wires));
                }
                self.readings(&block, now_ms)
            }
        })
    }

    fn readings(&mut self, block: &SampleBlock, now_ms: f64) -> Heard {
        let placed = self.ticks.place(block.tick, block.samples.len(), block.lost, now_ms);
        let reading = |(at, sample): (usize, &Sample)| RawReading {
            t_ms: placed.from_ms + at as f64,
            raw: [sample.raw[0], if block.two_wires { sample.raw[1] } else { RawReading::NONE }],
            feed: sample.feed.unwrap_or(RawReading::NONE),
        };
        Heard::Readings(block.samples.iter().enumerate().map(reading).collect(), placed.lost)
    }
}
