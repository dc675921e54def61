//! A conversation with one box, without its port: bytes and the time in, steps out.
//!
//! Whoever owns the port gives it what came ([`BoxSession::take`]) and carries out what it wants
//! ([`BoxSession::poll`], until it gives nothing). It begins by asking who is there, and turns the
//! stream on as soon as the box knows its reference. What goes wrong ends the job it belongs to, with
//! what to do; the session itself goes on.

mod absent;
mod hearing;
mod talking;

use std::collections::VecDeque;

use crate::wire::limits::RATE;
use crate::wire::{Deframer, SampleBlock};

use super::capture::Capture;
use super::errand::{Errand, Known, Trouble, doing_at};
use super::exchange::Exchange;
use super::finding::Finding;
use super::flash::Flasher;
use super::job::{BoxReport, BoxRequest, Failure, Job};
use super::timing::WAITING_MOST;

/// What is to be done at the port, or told.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Send these bytes.
    Send(Vec<u8>),
    /// Set the port to so many bits per second.
    SetRate(u32),
    /// Reset the board: a pulse on DTR and RTS, where the port has them.
    PulseReset,
    /// Throw away what the system holds of what came.
    Discard,
    /// Tell this.
    Report(BoxReport),
    /// From here on samples are of a stream begun anew: what is missing before them is no loss.
    StreamBegan,
    /// Samples came.
    Samples(SampleBlock),
}

/// A conversation with one box.
#[derive(Debug)]
pub struct BoxSession {
    mode: Mode,
    known: Known,
    deframer: Deframer,
    capture: Capture,
    waiting: VecDeque<BoxRequest>,
    errand: Option<Box<dyn Errand>>,
    exchange: Option<Exchange>,
    /// Until when the box is waited for to start, where it is.
    boot_ms: Option<f64>,
    sequence: u8,
    heard_ms: f64,
    now_ms: f64,
    broken: u64,
    out: VecDeque<Step>,
}

#[derive(Debug)]
enum Mode {
    /// Is a box there?
    Finding(Finding),
    /// It is.
    Talking,
    /// The bootloader is talked to.
    Flashing(Flasher),
    /// No box is there, or the port is gone.
    Absent,
}

impl BoxSession {
    /// Begins by looking for a box. Time is any clock's, in milliseconds, as long as it never runs
    /// backwards.
    #[must_use]
    pub fn new(now_ms: f64) -> Self {
        Self {
            mode: Mode::Finding(Finding::new(now_ms, None)),
            known: Known::default(),
            deframer: Deframer::new(),
            capture: Capture::default(),
            waiting: VecDeque::new(),
            errand: None,
            exchange: None,
            boot_ms: None,
            sequence: 0,
            heard_ms: now_ms,
            now_ms,
            broken: 0,
            out: VecDeque::from([Step::SetRate(RATE)]),
        }
    }

    /// Frames that came broken so far.
    #[must_use]
    pub const fn broken_frames(&self) -> u64 {
        self.broken
    }

    /// Whether a box has said who it is.
    #[must_use]
    pub const fn is_found(&self) -> bool {
        self.known.identity.is_some()
    }

    /// Asks for something. One job runs at a time, the others wait in order.
    pub fn ask(&mut self, request: BoxRequest) {
        let Some(job) = request.job() else {
            self.cancel();
            return;
        };
        if self.waiting.len() >= WAITING_MOST {
            let what = format!("{} was not begun: {WAITING_MOST} requests wait already.", job.doing());
            self.fail(job, Trouble::new(what, "Wait until they are done, or cancel them."), false);
        } else {
            self.waiting.push_back(request);
        }
    }

    /// Takes bytes as they came from the port.
    pub fn take(&mut self, bytes: &[u8], now_ms: f64) {
        self.now_ms = now_ms;
        if let Mode::Flashing(flasher) = &mut self.mode {
            flasher.take(bytes, now_ms);
            return;
        }
        let mut frames = Vec::new();
        self.deframer.feed(bytes, |frame| frames.push(frame));
        for frame in frames {
            match frame {
                Ok(frame) => self.hear(frame, now_ms),
                Err(_) => self.broken += 1,
            }
        }
    }

    /// What to do next; to be called until it gives nothing, and again within some ten milliseconds.
    pub fn poll(&mut self, now_ms: f64) -> Option<Step> {
        self.now_ms = now_ms;
        loop {
            if let Some(step) = self.out.pop_front() {
                return Some(step);
            }
            if !self.advance(now_ms) {
                return None;
            }
        }
    }

    /// The port went away: what runs and what waits has failed. Poll for the reports.
    pub fn unplugged(&mut self) {
        let advice = "Plug the box in again. It keeps the image it had; then start again.";
        self.give_up("the port went away", advice);
        self.mode = Mode::Absent;
        self.known = Known::default();
    }

    fn cancel(&mut self) {
        let is_flashing = matches!(&self.mode, Mode::Flashing(flasher) if !flasher.is_look());
        self.give_up("it was cancelled", "Start it again when ready.");
        if is_flashing {
            self.look_again(None);
        }
    }

    /// Ends the job under way and those that wait.
    fn give_up(&mut self, why: &str, advice: &str) {
        self.exchange = None;
        self.boot_ms = None;
        let (running, place, half_flashed) = match &self.mode {
            Mode::Flashing(flasher) if !flasher.is_look() => {
                (Some(Job::Flash), flasher.whereabouts(), flasher.touched())
            }
            Mode::Finding(finding) => (finding.after(), String::new(), false),
            _ => {
                let errand = self.errand.take();
                let place = errand.as_ref().map_or_else(String::new, |errand| errand.whereabouts());
                (errand.and_then(|errand| errand.job()), place, false)
            }
        };
        if let Mode::Finding(finding) = &mut self.mode {
            finding.forget();
        }
        if let Some(job) = running {
            let what = format!("{}: {why}.", doing_at(job, &place));
            let advice = if half_flashed {
                format!("Flash again: the box has no whole program until then. {advice}")
            } else {
                advice.to_owned()
            };
            self.fail(job, Trouble { what, advice }, half_flashed);
        }
        for job in std::mem::take(&mut self.waiting).iter().filter_map(BoxRequest::job) {
            let what = format!("{}: {why} before it was begun.", job.doing());
            self.fail(job, Trouble::new(what, advice), false);
        }
    }

    fn report(&mut self, report: BoxReport) {
        self.out.push_back(Step::Report(report));
    }

    fn fail(&mut self, job: Job, trouble: Trouble, half_flashed: bool) {
        let Trouble { what, advice } = trouble;
        self.report(BoxReport::Failed(Failure { job, what, advice, half_flashed }));
    }

    fn end_errand(&mut self, end: Result<(), Trouble>) {
        let job = self.errand.take().and_then(|errand| errand.job());
        match (end, job) {
            (Ok(()), Some(job)) => self.report(BoxReport::Done(job)),
            (Ok(()), None) => {}
            (Err(trouble), job) => self.fail(job.unwrap_or(Job::Identify), trouble, false),
        }
    }

    /// One thing; whether there may be more.
    fn advance(&mut self, now_ms: f64) -> bool {
        match &mut self.mode {
            Mode::Finding(_) => self.advance_finding(now_ms),
            Mode::Flashing(flasher) => match flasher.poll(now_ms) {
                Some(step) => {
                    self.flashed(step);
                    true
                }
                None => self.begin_flash(now_ms),
            },
            Mode::Absent => self.advance_absent(now_ms),
            Mode::Talking => self.advance_talking(now_ms),
        }
    }
}
