//! An open port: what comes is read and what has to go is sent, without waiting longer than a read
//! waits. What the bytes mean is decided in `session.rs` until a box is found, and by the box's
//! conversation from then on.

use std::collections::{HashMap, VecDeque};
use std::io;
use std::time::{Duration, Instant};

use super::box_talk::{Act, BoxTalk, FIRST_WIRES, Heard};
use super::message::{Report, Target};
use super::outbox::Outbox;
use super::port::{BytePort, OpenError, Ports};
use super::rate::Search;
use super::session::{BOX_RATE, Event, Session};
use crate::device::{BoxReport, BoxRequest, Failure, Probe};

/// How often an open port's path is looked for.
const LOOK_EVERY: Duration = Duration::from_millis(250);

/// Paths whose rate is remembered.
const REMEMBERED: usize = 64;

/// After so long without a byte a board has no program, as far as can be told: its own start takes
/// 2 s at most.
const MUTE_MS: u64 = 4_000;

/// Before a box is asked for at a rate: a probe that prints numbers has begun to by then, and is left
/// alone.
const CALL_AFTER_MS: f64 = 100.0;

/// The most that waits to be sent, in bytes. What nobody takes is thrown away: the conversation asks
/// again, or fails by its own timeouts.
const WAITING_BYTES: usize = 8_192;

/// What stays the same over unplugging and coming back.
#[derive(Clone)]
pub(super) struct Place {
    pub(super) path: String,
    /// The rate the person gave.
    pub(super) given: Option<u32>,
    /// Time 0 of the readings.
    pub(super) opened: Instant,
    /// The newest reading of a box, by the box's own clock.
    pub(super) newest_ms: f64,
}

impl Place {
    pub(super) fn new(path: String, given: Option<u32>) -> Self {
        Self { path, given, opened: Instant::now(), newest_ms: 0.0 }
    }

    fn ms_at(&self, now: Instant) -> f64 {
        now.saturating_duration_since(self.opened).as_secs_f64() * 1e3
    }
}

pub(super) struct OpenPort {
    place: Place,
    port: Box<dyn BytePort>,
    session: Session,
    probe: Probe,
    talk: Option<BoxTalk>,
    /// Whether a box has said who it is in this conversation.
    is_box: bool,
    /// Whether nobody asked for this conversation: the board was mute.
    is_call: bool,
    /// Whether the bootloader was called because nothing else answered: once is enough.
    was_called: bool,
    /// What is still to be done to the port, in order.
    acts: VecDeque<Act>,
    look_due: Instant,
}

/// What became of a port.
pub(super) enum Left {
    /// It is open.
    Open,
    /// It went away.
    Gone(Place),
    /// Nothing made sense; the reason was told.
    GivenUp,
}

impl OpenPort {
    /// Opens a port at the rate that is tried first. `lasting` if it made sense before.
    pub(super) fn open(
        ports: &mut dyn Ports,
        place: Place,
        rates: &HashMap<String, u32>,
        lasting: bool,
        out: &mut Outbox,
    ) -> Result<Self, OpenError> {
        let search = match place.given {
            Some(rate) => Search::only(rate),
            None => Search::new(rates.get(&place.path).copied()),
        };
        let rate = search.rate();
        let port = ports.open(&place.path, rate)?;
        let now = Instant::now();
        let now_ms = place.ms_at(now);
        let session = Session::new(search, lasting, now_ms);
        out.tell(Report::Trying { rate });
        Ok(Self {
            place,
            port,
            session,
            probe: Probe::new(now_ms + CALL_AFTER_MS),
            talk: None,
            is_box: false,
            is_call: false,
            was_called: false,
            acts: VecDeque::new(),
            look_due: now + LOOK_EVERY,
        })
    }

    /// Asks the box for something. A board that is no box can be made one.
    pub(super) fn ask(&mut self, request: BoxRequest, out: &mut Outbox) {
        if self.talk.is_none() && matches!(request, BoxRequest::Flash(_)) {
            self.begin_talk(self.place.ms_at(Instant::now()));
        }
        self.is_call = false;
        match &mut self.talk {
            Some(talk) => talk.ask(request),
            None => refuse(&request, out),
        }
    }

    /// One read, and what follows from it.
    pub(super) fn step(
        &mut self,
        ports: &dyn Ports,
        rates: &mut HashMap<String, u32>,
        out: &mut Outbox,
        buffer: &mut [u8],
    ) -> Left {
        let bytes = match self.port.read(buffer) {
            Ok(0) => return self.gone("it ended".to_owned(), out),
            Ok(count) => &buffer[..count],
            Err(error) if is_wait(error.kind()) => &[],
            Err(error) => return self.gone(error.to_string(), out),
        };
        let now = Instant::now();
        if now >= self.look_due {
            self.look_due = now + LOOK_EVERY;
            if !ports.is_there(&self.place.path) {
                return self.gone("its path is no longer there".to_owned(), out);
            }
        }
        let now_ms = self.place.ms_at(now);
        // While a board is called because it was mute, it may have come to its numbers after all.
        if self.is_call && !self.is_box && bytes.iter().any(u8::is_ascii_digit) {
            self.search_again(now_ms, out);
        }
        if self.talk.is_none() && !self.search(bytes, now_ms, rates, out) {
            return Left::GivenUp;
        }
        if let Some(talk) = &mut self.talk {
            talk.take(bytes, now_ms);
            self.converse(now_ms, rates, out);
        }
        match self.act() {
            Ok(()) => Left::Open,
            Err(error) => self.gone(error.to_string(), out),
        }
    }

    /// The search for a rate, or the plain numbers once it is found. False where it is given up.
    fn search(
        &mut self,
        bytes: &[u8],
        now_ms: f64,
        rates: &mut HashMap<String, u32>,
        out: &mut Outbox,
    ) -> bool {
        if self.session.may_be_box() {
            if self.probe.take(bytes) {
                self.begin_talk(now_ms);
                return true;
            }
            if !self.session.hears_lines()
                && let Some(bytes) = self.probe.poll(now_ms)
            {
                self.send(bytes);
            }
        }
        let mut event = self.session.take(bytes, now_ms, &mut out.batch);
        if out.batch.broken_lines > 0 {
            out.show_broken(self.session.broken_sample());
        }
        while let Some(happened) = event.take() {
            match happened {
                Event::Try { rate } => {
                    out.tell(Report::Trying { rate });
                    self.acts.clear();
                    self.probe = Probe::new(now_ms + CALL_AFTER_MS);
                    if self.port.set_rate(rate).is_err() {
                        // This port can't; if it went away instead, the next read says so.
                        event = self.session.refused(now_ms);
                    }
                    self.port.discard_input();
                }
                Event::Connected { rate, wires } => self.found(rates, rate, wires, out),
                Event::Silent { ms, bytes_came } => {
                    out.tell(Report::Silent { ms, bytes_came });
                    // A board without a program says nothing, but its bootloader may.
                    let is_mute = !bytes_came && ms >= MUTE_MS && self.session.is_searching();
                    if is_mute && !std::mem::replace(&mut self.was_called, true) {
                        self.begin_talk(now_ms);
                        self.is_call = true;
                    }
                }
                Event::Hopeless => {
                    out.tell(hopeless(&self.place.path, self.session.broken_sample()));
                    return false;
                }
            }
        }
        true
    }

    /// It makes sense at this rate. Told before the readings that were gathered while it was tried.
    fn found(&self, rates: &mut HashMap<String, u32>, rate: u32, wires: u8, out: &mut Outbox) {
        if rates.len() >= REMEMBERED {
            rates.clear();
        }
        rates.insert(self.place.path.clone(), rate);
        let target = Target::Serial { path: self.place.path.clone(), rate: self.place.given };
        out.tell_first(Report::Connected { target, rate: Some(rate), wires });
    }

    fn begin_talk(&mut self, now_ms: f64) {
        self.acts.clear();
        self.talk = Some(BoxTalk::new(now_ms, self.place.newest_ms));
        (self.is_box, self.is_call) = (false, false);
    }

    /// What follows from the conversation.
    fn converse(&mut self, now_ms: f64, rates: &mut HashMap<String, u32>, out: &mut Outbox) {
        while let Some(heard) = self.talk.as_mut().and_then(|talk| talk.next(now_ms)) {
            match heard {
                Heard::Do(Act::Send(bytes)) => self.send(bytes),
                Heard::Do(act) => self.acts.push_back(act),
                Heard::Wires(wires) => {
                    out.flush();
                    self.found(rates, BOX_RATE, wires, out);
                }
                Heard::Readings(readings, lost) => {
                    if lost > 0 {
                        out.flush();
                        out.batch.lost_readings += lost;
                    }
                    out.batch.readings.extend(readings);
                }
                Heard::Tell(report) => {
                    if matches!(report, BoxReport::Identity(_)) && !std::mem::replace(&mut self.is_box, true)
                    {
                        self.found(rates, BOX_RATE, FIRST_WIRES, out);
                    }
                    let is_none = matches!(report, BoxReport::NoProgram { .. });
                    out.tell(Report::Box(report));
                    if is_none {
                        self.search_again(now_ms, out);
                        return;
                    }
                }
            }
        }
    }

    /// There is no box, or none any more: whatever is there is looked for anew.
    fn search_again(&mut self, now_ms: f64, out: &mut Outbox) {
        if let Some(talk) = self.talk.take() {
            self.place.newest_ms = talk.newest_ms();
        }
        let lasting = std::mem::take(&mut self.is_box);
        (self.is_call, self.was_called) = (false, true);
        self.acts.clear();
        let search = self.place.given.map_or_else(|| Search::new(None), Search::only);
        let rate = search.rate();
        self.session = Session::new(search, lasting, now_ms);
        self.probe = Probe::new(now_ms + CALL_AFTER_MS);
        self.acts.push_back(Act::SetRate(rate));
        out.tell(Report::Trying { rate });
    }

    fn send(&mut self, bytes: Vec<u8>) {
        let waiting: usize =
            self.acts.iter().map(|act| if let Act::Send(bytes) = act { bytes.len() } else { 0 }).sum();
        if waiting + bytes.len() <= WAITING_BYTES {
            self.acts.push_back(Act::Send(bytes));
        }
    }

    /// Does what is to be done to the port, as far as that goes without waiting.
    fn act(&mut self) -> io::Result<()> {
        while let Some(act) = self.acts.pop_front() {
            match act {
                Act::Send(mut bytes) => match self.port.write(&bytes) {
                    Ok(count) if count >= bytes.len() => {}
                    Ok(0) => {
                        self.acts.push_front(Act::Send(bytes));
                        return Ok(());
                    }
                    Ok(count) => self.acts.push_front(Act::Send(bytes.split_off(count))),
                    Err(error) if is_wait(error.kind()) => {
                        self.acts.push_front(Act::Send(bytes));
                        return Ok(());
                    }
                    Err(error) => return Err(error),
                },
                // A port that can't run at a rate hears nothing that makes sense at it, and one that
                // can't be reset is not: the conversation notices either.
                Act::SetRate(rate) => drop(self.port.set_rate(rate)),
                Act::PulseReset => drop(self.port.pulse_reset()),
                Act::Discard => self.port.discard_input(),
            }
        }
        Ok(())
    }

    /// It went away. What the box was doing is not done.
    fn gone(&mut self, reason: String, out: &mut Outbox) -> Left {
        let mut place = self.place.clone();
        if let Some(mut talk) = self.talk.take() {
            place.newest_ms = talk.newest_ms();
            talk.unplugged();
            while let Some(heard) = talk.next(f64::MAX) {
                if let Heard::Tell(report) = heard {
                    out.tell(Report::Box(report));
                }
            }
        }
        out.tell(Report::Gone { path: place.path.clone(), reason });
        Left::Gone(place)
    }
}

/// Says that there is no box to do that.
pub(super) fn refuse(request: &BoxRequest, out: &mut Outbox) {
    let Some(job) = request.job() else { return };
    out.tell(Report::Box(BoxReport::Failed(Failure {
        job,
        what: "There is no box at the other end of the link.".to_owned(),
        advice: "Connect one, and wait until it has said who it is.".to_owned(),
        half_flashed: false,
    })));
}

/// Whether a read or a write has only waited in vain.
fn is_wait(kind: io::ErrorKind) -> bool {
    matches!(kind, io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted)
}

fn hopeless(path: &str, sample: Option<String>) -> Report {
    let seen = sample.map(|line| format!(" The last line read as \"{line}\".")).unwrap_or_default();
    Report::Failed {
        what: format!("Bytes come from {path}, but at none of the rates are they lines of numbers.{seen}"),
        advice:
            "Let the probe print one or two numbers from 0 to 4095 on each line and nothing else, at one \
                 of the usual rates, and connect again."
                .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_search_without_end_says_what_was_read_and_what_to_do() {
        let Report::Failed { what, advice } = hopeless("/dev/ttyX9", Some(r"volt\xff".to_owned())) else {
            panic!("it has failed");
        };
        assert_eq!(
            what,
            "Bytes come from /dev/ttyX9, but at none of the rates are they lines of numbers. The last line \
             read as \"volt\\xff\"."
        );
        assert!(advice.starts_with("Let the probe print one or two numbers from 0 to 4095"));
    }
}
