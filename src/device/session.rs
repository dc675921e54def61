//! A conversation with one box, without its port: bytes and the time in, steps out.
//!
//! Whoever owns the port gives it what came ([`BoxSession::take`]) and carries out what it wants
//! ([`BoxSession::poll`], until it gives nothing). It begins by asking who is there, and turns the
//! stream on as soon as the box knows its reference. What goes wrong ends the job it belongs to, with
//! what to do; the session itself goes on.

use std::collections::VecDeque;

use crate::wire::limits::{PROTOCOL, RATE};
use crate::wire::{
    Answer, AnswerFault, Ask, BoxEvent, CALIBRATE_RANGE_MV, Deframer, Fault, Frame, REPLY, ResetCause,
    SampleBlock,
};

use super::capture::{Capture, Heard as Caught};
use super::errand::{Errand, Greet, Heard, Known, Simple, Trouble, Turn, other_protocol};
use super::exchange::Exchange;
use super::finding::Finding;
use super::flash::{FlashStep, Flasher};
use super::job::{BoxReport, BoxRequest, Failure, Job, Phase};
use super::read::Read;
use super::timing::{BOOT_MS, BUSY_MS, QUIET_MS, TRIES, WAITING_MOST};
use super::write::Write;

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
            let place = if place.is_empty() { place } else { format!(", {place}") };
            let what = format!("{}{place}: {why}.", job.doing());
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

    // What came.

    fn hear(&mut self, frame: Frame, now_ms: f64) {
        let Frame { number, payload, .. } = &frame;
        let is_answer = (REPLY..0xC0).contains(number);
        if is_answer {
            self.heard_ms = now_ms;
            self.hear_answer(&frame, now_ms);
        } else {
            match BoxEvent::parse(*number, payload) {
                Ok(event) => {
                    self.heard_ms = now_ms;
                    self.hear_event(event, now_ms);
                }
                Err(_) => self.broken += 1,
            }
        }
    }

    fn hear_answer(&mut self, frame: &Frame, now_ms: f64) {
        let answer = || Answer::parse(frame.number & !REPLY, &frame.payload);
        match &mut self.mode {
            Mode::Finding(finding) => {
                if let Ok(Answer::Identity(identity)) = answer() {
                    let after = finding.after();
                    self.known.identity = Some(*identity);
                    self.errand = Some(Box::new(Greet::known(after)));
                    self.mode = Mode::Talking;
                }
            }
            Mode::Talking => {
                let Some(exchange) = self.exchange.as_mut().filter(|exchange| exchange.is_answered_by(frame))
                else {
                    return; // late: an answer to a question that was given up or answered
                };
                let answer = answer();
                if answer == Err(AnswerFault::Fault(Fault::Busy)) && !exchange.is_spent() {
                    exchange.put_off(now_ms + BUSY_MS);
                    return;
                }
                let heard = Heard { answer, is_retry: exchange.is_retry() };
                self.exchange = None;
                if let Some(errand) = &mut self.errand
                    && let Err(trouble) = errand.hear(heard, &mut self.known)
                {
                    self.end_errand(Err(trouble));
                }
            }
            Mode::Absent => self.look_again(None),
            Mode::Flashing(_) => {}
        }
    }

    fn hear_event(&mut self, event: BoxEvent, now_ms: f64) {
        match &mut self.mode {
            Mode::Finding(finding) => {
                if matches!(event, BoxEvent::Booted(_)) {
                    finding.call_now(now_ms);
                }
                return;
            }
            Mode::Absent => {
                self.look_again(None);
                return;
            }
            Mode::Flashing(_) => return,
            Mode::Talking => {}
        }
        match event {
            BoxEvent::Booted(cause) => self.booted(cause),
            BoxEvent::Samples(block) => self.out.push_back(Step::Samples(block)),
            BoxEvent::Decision(decision) => self.report(BoxReport::Decision(decision)),
            BoxEvent::Sent { frames } => self.report(BoxReport::Sent { frames }),
            BoxEvent::Capture(part) => match self.capture.take(&part) {
                Caught::NotYet => {}
                Caught::Whole { timings_us, overflow } => {
                    self.report(BoxReport::Captured { timings_us, overflow });
                }
                Caught::Torn { at, from } => {
                    let what = format!(
                        "A part of the remote's code was lost on the way: timing {at} was to come, {from} came."
                    );
                    self.fail(Job::Listen, Trouble::new(what, "Press the remote's button again."), false);
                }
            },
        }
    }

    fn booted(&mut self, cause: ResetCause) {
        self.exchange = None;
        self.boot_ms = None;
        self.capture = Capture::default();
        self.known.is_streaming = false;
        if self.errand.as_mut().is_some_and(|errand| errand.booted()) {
            return;
        }
        self.report(BoxReport::Restarted(cause));
        if let Some(errand) = self.errand.take()
            && let Some(job) = errand.job()
        {
            let place = match errand.whereabouts() {
                place if place.is_empty() => place,
                place => format!(", {place}"),
            };
            let what = format!("{}{place}: the box started anew ({}).", job.doing(), cause_words(cause));
            self.fail(job, Trouble::new(what, cause_advice(cause)), false);
        }
        self.errand = Some(Box::new(Greet::new(None)));
    }

    // What is next.

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

    fn advance_finding(&mut self, now_ms: f64) -> bool {
        if self.begin_flash(now_ms) {
            return true;
        }
        let Mode::Finding(finding) = &mut self.mode else { return false };
        if !finding.is_over(now_ms) {
            let steps = finding.poll(now_ms, &mut self.sequence);
            let is_something = !steps.is_empty();
            self.out.extend(steps);
            return is_something;
        }
        if finding.after().is_some() {
            self.known.identity = None;
            let trouble = Trouble::new(
                "Flashing the firmware: every byte was read back right, but the program does not answer.",
                "Press the board's reset button. If nothing happens, flash again.",
            );
            self.fail(Job::Flash, trouble, true);
        }
        self.known.identity = None;
        self.mode = Mode::Flashing(Flasher::look(now_ms));
        true
    }

    /// A flash needs no box that answers: where none does it goes ahead of what waits.
    fn begin_flash(&mut self, now_ms: f64) -> bool {
        let is_free = match &self.mode {
            Mode::Talking => false,
            Mode::Flashing(flasher) => flasher.is_look(),
            Mode::Finding(finding) => finding.after().is_none(),
            Mode::Absent => true,
        };
        let place = self.waiting.iter().position(|request| matches!(request, BoxRequest::Flash(_)));
        match place.filter(|_| is_free).and_then(|place| self.waiting.remove(place)) {
            Some(BoxRequest::Flash(bytes)) => {
                self.start_flash(bytes, now_ms);
                true
            }
            _ => false,
        }
    }

    fn start_flash(&mut self, bytes: Vec<u8>, now_ms: f64) {
        self.known.identity = None;
        self.known.is_streaming = false;
        self.exchange = None;
        self.errand = None;
        self.mode = Mode::Flashing(Flasher::new(bytes, now_ms));
    }

    fn flashed(&mut self, step: FlashStep) {
        let Mode::Flashing(flasher) = &self.mode else { return };
        let (is_look, touched) = (flasher.is_look(), flasher.touched());
        match step {
            FlashStep::Send(bytes) => self.out.push_back(Step::Send(bytes)),
            FlashStep::SetRate(rate) => self.out.push_back(Step::SetRate(rate)),
            FlashStep::PulseReset => self.out.push_back(Step::PulseReset),
            FlashStep::Discard => self.out.push_back(Step::Discard),
            FlashStep::Progress { phase, done, of } => {
                self.report(BoxReport::Progress { job: Job::Flash, phase, done, of });
            }
            FlashStep::Flashed => {
                self.look_again(Some(Job::Flash));
                self.report(BoxReport::Progress { job: Job::Flash, phase: Phase::Starting, done: 0, of: 1 });
            }
            FlashStep::Found => self.absent(true),
            FlashStep::Failed(_) if is_look => self.absent(false),
            FlashStep::Failed(error) => {
                let trouble = Trouble::new(error.to_string(), error.advice(touched));
                self.fail(Job::Flash, trouble, touched);
                self.look_again(None);
            }
        }
    }

    /// At the link's own rate again, and nothing of the bootloader's left.
    fn back_to_the_link(&mut self) {
        self.deframer.clear();
        self.out.extend([Step::SetRate(RATE), Step::Discard]);
    }

    fn look_again(&mut self, after: Option<Job>) {
        if matches!(self.mode, Mode::Flashing(_)) {
            self.back_to_the_link();
        }
        self.known.is_streaming = false;
        self.mode = Mode::Finding(Finding::new(self.now_ms, after));
    }

    fn absent(&mut self, bootloader: bool) {
        self.back_to_the_link();
        self.mode = Mode::Absent;
        self.report(BoxReport::NoProgram { bootloader });
    }

    fn advance_absent(&mut self, now_ms: f64) -> bool {
        if self.begin_flash(now_ms) {
            return true;
        }
        match self.waiting.pop_front() {
            None => false,
            Some(BoxRequest::Identify) => {
                self.mode = Mode::Finding(Finding::new(now_ms, None));
                true
            }
            Some(request) => {
                if let Some(job) = request.job() {
                    let what = format!("{}: no box answers.", job.doing());
                    let advice = "Check the cable, or flash the firmware if this board has none yet.";
                    self.fail(job, Trouble::new(what, advice), false);
                }
                true
            }
        }
    }

    fn advance_talking(&mut self, now_ms: f64) -> bool {
        if let Some(exchange) = &mut self.exchange {
            if !exchange.is_due(now_ms) {
                return false;
            }
            if exchange.is_spent() {
                self.unanswered(now_ms);
            } else {
                self.send(now_ms);
            }
            return true;
        }
        if let Some(until_ms) = self.boot_ms {
            if now_ms < until_ms {
                return false;
            }
            // The box may have started without being heard: asking it tells.
            self.boot_ms = None;
            if let Some(errand) = &mut self.errand {
                errand.booted();
            }
            return true;
        }
        if let Some(errand) = &mut self.errand {
            match errand.next(&mut self.known) {
                Turn::Ask(ask) => {
                    self.exchange = Some(Exchange::new(ask));
                    self.send(now_ms);
                }
                Turn::AwaitBoot => self.boot_ms = Some(now_ms + BOOT_MS),
                Turn::Report(report) => self.report(report),
                Turn::Done => self.end_errand(Ok(())),
                Turn::Failed(trouble) => self.end_errand(Err(trouble)),
            }
            return true;
        }
        if let Some(request) = self.waiting.pop_front() {
            self.begin(request, now_ms);
            return true;
        }
        if self.known.is_streaming && now_ms - self.heard_ms > QUIET_MS {
            self.known.is_streaming = false;
            self.errand = Some(Box::new(Greet::new(None)));
            return true;
        }
        false
    }

    fn send(&mut self, now_ms: f64) {
        if let Some(exchange) = &mut self.exchange {
            self.sequence = self.sequence.wrapping_add(1);
            self.out.push_back(Step::Send(exchange.send(self.sequence, now_ms)));
        }
    }

    /// The box has not answered, however often it was asked.
    fn unanswered(&mut self, now_ms: f64) {
        let Some(exchange) = self.exchange.take() else { return };
        let is_greeting = self.errand.as_ref().is_none_or(|errand| errand.job().is_none());
        let is_identify = *exchange.ask() == Ask::Identify;
        if is_greeting && is_identify {
            self.errand = None;
            self.mode = Mode::Finding(Finding::new(now_ms, None));
            return;
        }
        let place = self.errand.as_ref().map_or_else(String::new, |errand| errand.whereabouts());
        let place = if place.is_empty() { place } else { format!(", {place}") };
        let job = self.errand.as_ref().and_then(|errand| errand.job()).unwrap_or(Job::Identify);
        let what = format!(
            "{}{place}: no answer within {:.0} ms, asked {TRIES} times.",
            job.doing(),
            exchange.patience_ms()
        );
        self.end_errand(Err(Trouble::new(what, "Check the cable and the box's supply, then try again.")));
        if !is_greeting {
            self.errand = Some(Box::new(Greet::new(None))); // is it there at all?
        }
    }

    fn end_errand(&mut self, end: Result<(), Trouble>) {
        let job = self.errand.take().and_then(|errand| errand.job());
        match (end, job) {
            (Ok(()), Some(job)) => self.report(BoxReport::Done(job)),
            (Ok(()), None) => {}
            (Err(trouble), job) => self.fail(job.unwrap_or(Job::Identify), trouble, false),
        }
    }

    fn begin(&mut self, request: BoxRequest, now_ms: f64) {
        let spoken = self.known.identity.as_ref().map_or(PROTOCOL, |identity| identity.protocol);
        if spoken != PROTOCOL
            && let Some(job) = request.job()
            && !matches!(job, Job::Identify | Job::Flash)
        {
            self.fail(job, other_protocol(spoken), false);
            return;
        }
        let errand: Box<dyn Errand> = match request {
            BoxRequest::Identify => Box::new(Greet::new(Some(Job::Identify))),
            BoxRequest::Write(body) => Box::new(Write::new(body)),
            BoxRequest::Read => Box::new(Read::new()),
            BoxRequest::Watch(on) => Box::new(Simple::new(Job::Watch, Ask::Watch(on))),
            BoxRequest::Try { record, held_ms, toggle } => {
                let ask = Ask::Send { held_ms, toggle, record };
                let (length, most) = (ask.payload().len(), self.payload_max());
                if length > most {
                    let what = format!("The code takes {length} bytes, a message to this box {most}.");
                    let advice = "Write it to the box and press its button instead.";
                    self.fail(Job::Try, Trouble::new(what, advice), false);
                    return;
                }
                Box::new(Simple::new(Job::Try, ask))
            }
            BoxRequest::StopTry => Box::new(Simple::new(Job::Try, Ask::StopSending)),
            BoxRequest::Counters => Box::new(Simple::new(Job::Counters, Ask::Counters)),
            BoxRequest::Listen(on) => {
                self.capture = Capture::default();
                Box::new(Simple::new(Job::Listen, Ask::Listen(on)))
            }
            BoxRequest::Reference(reference) => {
                self.known.reference = Some(reference);
                let names_its_own =
                    |identity: &crate::wire::Identity| identity.has_image && identity.reference_named;
                if self.known.identity.as_ref().is_some_and(names_its_own) {
                    // The image in use says what is wired; another reference beside it could short a pin.
                    self.report(BoxReport::Done(Job::Reference));
                    return;
                }
                Box::new(Simple::then_greet(Job::Reference, Ask::Reference(reference)))
            }
            BoxRequest::Calibrate(bandgap_mv) => {
                let (least, most) = CALIBRATE_RANGE_MV;
                if let Some(mv) = bandgap_mv
                    && !(least..=most).contains(&mv)
                {
                    let what = format!(
                        "A bandgap of {mv} mV can't be: this chip's lies within {least} to {most} mV."
                    );
                    self.fail(
                        Job::Calibrate,
                        Trouble::new(what, "Measure the 5 V again and type it anew."),
                        false,
                    );
                    return;
                }
                Box::new(Simple::then_greet(Job::Calibrate, Ask::Calibrate(bandgap_mv)))
            }
            BoxRequest::Restart => Box::new(Simple::restart()),
            BoxRequest::Flash(bytes) => {
                self.start_flash(bytes, now_ms);
                return;
            }
            BoxRequest::Cancel => return,
        };
        self.errand = Some(errand);
    }

    fn payload_max(&self) -> usize {
        let said = self.known.identity.as_ref().map_or(0, |identity| usize::from(identity.payload_max));
        said.min(crate::wire::PAYLOAD_MAX)
    }
}

const fn cause_words(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "power came",
        ResetCause::External => "its reset pin",
        ResetCause::BrownOut => "its supply fell too low",
        ResetCause::Watchdog => "its watchdog",
    }
}

const fn cause_advice(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "Check the plugs and the cable, then start again.",
        ResetCause::External => "Close other programs that use the port, then start again.",
        ResetCause::BrownOut => "Take a shorter cable or another port of the laptop, then start again.",
        ResetCause::Watchdog => "Start again. If it stays, flash the firmware that comes with this program.",
    }
}
