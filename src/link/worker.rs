//! The thread that owns the port. It reads with short waits, hears requests between reads, never
//! blocks on whoever takes its reports, and ends soon after it is told to. What the bytes mean is
//! decided in `session.rs`.

use std::collections::HashMap;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::{Duration, Instant};

use super::demo::DemoRun;
use super::message::{PortInfo, Report, Request, Target};
use super::outbox::{BATCH_EVERY, Outbox};
use super::port::{BytePort, OpenError, Ports};
use super::rate::Search;
use super::replay::ReplayRun;
use super::session::{Event, Session};

/// How often the ports are listed.
const LIST_EVERY: Duration = Duration::from_millis(500);

/// How often an open port's path is looked for, and a port that went away is tried.
const LOOK_EVERY: Duration = Duration::from_millis(250);

/// Bytes of one read: a pseudo-terminal gives 4 KiB at most, and 1 MB/s makes 15 KiB in the time
/// a read waits.
const READ_BYTES: usize = 16 * 1024;

/// Paths whose rate is remembered.
const REMEMBERED: usize = 64;

pub(super) struct Worker {
    pub(super) ports: Box<dyn Ports>,
    pub(super) requests: Receiver<Request>,
    pub(super) out: Outbox,
    pub(super) stop: Arc<AtomicBool>,
}

/// What is open.
enum Source {
    Nothing,
    Port(Box<OpenPort>),
    Away(AwayPort),
    Demo(Box<DemoRun>),
    Replay(Box<ReplayRun>),
}

/// What stays the same over unplugging and coming back.
#[derive(Clone)]
struct Place {
    path: String,
    /// The rate the person gave.
    given: Option<u32>,
    /// Time 0 of the readings.
    opened: Instant,
}

struct OpenPort {
    place: Place,
    port: Box<dyn BytePort>,
    session: Session,
    look_due: Instant,
}

struct AwayPort {
    place: Place,
    look_due: Instant,
    /// Why it can't be opened although it is there, as told last.
    told: Option<OpenError>,
}

/// The worker between two steps.
struct State {
    source: Source,
    /// The rate that was right last, by path.
    rates: HashMap<String, u32>,
    listed: Option<Vec<PortInfo>>,
    list_due: Instant,
    buffer: Vec<u8>,
}

impl Worker {
    /// Runs until it is told to stop or nobody can send requests any more.
    pub(super) fn run(mut self) {
        let mut state = State {
            source: Source::Nothing,
            rates: HashMap::new(),
            listed: None,
            list_due: Instant::now(),
            buffer: vec![0; READ_BYTES],
        };
        while !self.stop.load(Ordering::Relaxed) {
            loop {
                match self.requests.try_recv() {
                    Ok(request) => self.obey(request, &mut state),
                    Err(TryRecvError::Empty) => break,
                    Err(TryRecvError::Disconnected) => return,
                }
            }
            self.list(&mut state);
            state.source = match std::mem::replace(&mut state.source, Source::Nothing) {
                Source::Nothing => Source::Nothing,
                Source::Port(open) => self.read(open, &mut state.rates, &mut state.buffer),
                Source::Away(away) => self.look(away, &state.rates),
                Source::Demo(mut demo) => {
                    demo.step(&mut self.out);
                    Source::Demo(demo)
                }
                Source::Replay(replay) => self.play(replay),
            };
            let waits = match &state.source {
                Source::Port(_) => false, // reading has waited
                Source::Replay(replay) => replay.is_paced(),
                Source::Nothing | Source::Away(_) | Source::Demo(_) => true,
            };
            if waits {
                match self.requests.recv_timeout(BATCH_EVERY) {
                    Ok(request) => self.obey(request, &mut state),
                    Err(RecvTimeoutError::Timeout) => {}
                    Err(RecvTimeoutError::Disconnected) => return,
                }
            }
            self.out.flush_if_due();
        }
    }

    fn obey(&mut self, request: Request, state: &mut State) {
        match request {
            Request::Open(target) => {
                // What was open is closed before the next is opened: it may be the same port.
                state.source = Source::Nothing;
                self.out.show_broken(None);
                state.source = match target {
                    Target::Serial { path, rate } => {
                        self.open(Place { path, given: rate, opened: Instant::now() }, &state.rates)
                    }
                    Target::Demo { speed } => Source::Demo(Box::new(DemoRun::open(speed, &mut self.out))),
                    Target::Replay { path, speed } => match ReplayRun::open(&path, speed, &mut self.out) {
                        Ok(replay) => Source::Replay(Box::new(replay)),
                        Err(error) => {
                            self.out.tell(error.report());
                            Source::Nothing
                        }
                    },
                };
            }
            Request::Close => {
                state.source = Source::Nothing;
                self.out.tell(Report::Closed);
            }
            Request::Box(_) => {}
            Request::Demo(touch) => {
                if let Source::Demo(demo) = &mut state.source {
                    demo.touch(touch);
                }
            }
        }
    }

    fn list(&mut self, state: &mut State) {
        let now = Instant::now();
        if now < state.list_due {
            return;
        }
        state.list_due = now + LIST_EVERY;
        let ports = self.ports.list();
        if state.listed.as_ref() != Some(&ports) {
            self.out.tell(Report::Ports(ports.clone()));
            state.listed = Some(ports);
        }
    }

    fn open(&mut self, place: Place, rates: &HashMap<String, u32>) -> Source {
        match self.try_open(place, rates, false) {
            Ok(open) => Source::Port(Box::new(open)),
            Err(error) => {
                self.out.tell(Report::Failed { what: error.to_string(), advice: error.advice() });
                Source::Nothing
            }
        }
    }

    /// Opens a port at the rate that is tried first. `lasting` if it made sense before.
    fn try_open(
        &mut self,
        place: Place,
        rates: &HashMap<String, u32>,
        lasting: bool,
    ) -> Result<OpenPort, OpenError> {
        let search = match place.given {
            Some(rate) => Search::only(rate),
            None => Search::new(rates.get(&place.path).copied()),
        };
        let rate = search.rate();
        let port = self.ports.open(&place.path, rate)?;
        let now = Instant::now();
        let session = Session::new(search, lasting, ms_since(place.opened, now));
        self.out.tell(Report::Trying { rate });
        Ok(OpenPort { place, port, session, look_due: now + LOOK_EVERY })
    }

    /// One read, and what follows from it.
    fn read(
        &mut self,
        mut open: Box<OpenPort>,
        rates: &mut HashMap<String, u32>,
        buffer: &mut [u8],
    ) -> Source {
        let bytes = match open.port.read(buffer) {
            Ok(0) => return self.gone(open.place, "it ended".to_owned()),
            Ok(count) => &buffer[..count],
            Err(error) if is_wait(error.kind()) => &[],
            Err(error) => return self.gone(open.place, error.to_string()),
        };
        let now = Instant::now();
        if now >= open.look_due {
            open.look_due = now + LOOK_EVERY;
            if !self.ports.is_there(&open.place.path) {
                return self.gone(open.place, "its path is no longer there".to_owned());
            }
        }
        let now_ms = ms_since(open.place.opened, now);
        let mut event = open.session.take(bytes, now_ms, &mut self.out.batch);
        if self.out.batch.broken_lines > 0 {
            self.out.show_broken(open.session.broken_sample());
        }
        while let Some(happened) = event.take() {
            match happened {
                Event::Try { rate } => {
                    self.out.tell(Report::Trying { rate });
                    if open.port.set_rate(rate).is_err() {
                        // This port can't; if it went away instead, the next read says so.
                        event = open.session.refused(now_ms);
                    }
                    open.port.discard_input();
                }
                Event::Connected { rate, wires } => {
                    if rates.len() >= REMEMBERED {
                        rates.clear();
                    }
                    rates.insert(open.place.path.clone(), rate);
                    let target = Target::Serial { path: open.place.path.clone(), rate: open.place.given };
                    // Before the readings that were gathered while the rate was tried.
                    self.out.tell_first(Report::Connected { target, rate: Some(rate), wires });
                }
                Event::Silent { ms, bytes_came } => self.out.tell(Report::Silent { ms, bytes_came }),
                Event::Hopeless => {
                    self.out.tell(hopeless(&open.place.path, open.session.broken_sample()));
                    return Source::Nothing;
                }
            }
        }
        Source::Port(open)
    }

    fn gone(&mut self, place: Place, reason: String) -> Source {
        self.out.tell(Report::Gone { path: place.path.clone(), reason });
        Source::Away(AwayPort { place, look_due: Instant::now() + LOOK_EVERY, told: None })
    }

    /// Opens a port that went away, if it is back.
    fn look(&mut self, mut away: AwayPort, rates: &HashMap<String, u32>) -> Source {
        let now = Instant::now();
        if now < away.look_due {
            return Source::Away(away);
        }
        away.look_due = now + LOOK_EVERY;
        if !self.ports.is_there(&away.place.path) {
            return Source::Away(away);
        }
        match self.try_open(away.place.clone(), rates, true) {
            Ok(open) => return Source::Port(Box::new(open)),
            // A port that comes back can fail in many ways for a moment. Only what a person can
            // change is told, and once.
            Err(error @ (OpenError::Busy { .. } | OpenError::Denied { .. })) => {
                if away.told.as_ref() != Some(&error) {
                    let reason = format!("{error} {}", error.advice());
                    self.out.tell(Report::Gone { path: away.place.path.clone(), reason });
                    away.told = Some(error);
                }
            }
            Err(_) => {}
        }
        Source::Away(away)
    }

    fn play(&mut self, mut replay: Box<ReplayRun>) -> Source {
        match replay.step(&mut self.out) {
            Ok(false) => return Source::Replay(replay),
            Ok(true) => self.out.tell(Report::Closed),
            Err(error) => self.out.tell(error.report()),
        }
        Source::Nothing
    }
}

fn ms_since(start: Instant, now: Instant) -> f64 {
    now.saturating_duration_since(start).as_secs_f64() * 1e3
}

/// Whether a read has only waited in vain.
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
