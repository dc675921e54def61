//! The thread that owns the port. It reads with short waits, hears requests between reads, never
//! blocks on whoever takes its reports, and ends soon after it is told to. A port that is open is in
//! `open_port.rs`.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::{Duration, Instant};

use super::demo::DemoRun;
use super::message::{PortInfo, Report, Request, Target};
use super::open_port::{Left, OpenPort, Place, refuse};
use super::outbox::{BATCH_EVERY, Outbox};
use super::port::{OpenError, Ports};
use super::replay::ReplayRun;

/// How often the ports are listed.
const LIST_EVERY: Duration = Duration::from_millis(500);

/// How often a port that went away is tried.
const LOOK_EVERY: Duration = Duration::from_millis(250);

/// Bytes of one read: a pseudo-terminal gives 4 KiB at most, and 1 MB/s makes 15 KiB in the time
/// a read waits.
const READ_BYTES: usize = 16 * 1024;

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
                    Target::Serial { path, rate } => self.open(Place::new(path, rate), &state.rates),
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
            Request::Box(request) => match &mut state.source {
                Source::Port(open) => open.ask(request, &mut self.out),
                Source::Demo(demo) => demo.ask(request),
                Source::Nothing | Source::Away(_) | Source::Replay(_) => refuse(&request, &mut self.out),
            },
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
        match OpenPort::open(&mut *self.ports, place, rates, false, &mut self.out) {
            Ok(open) => Source::Port(Box::new(open)),
            Err(error) => {
                self.out.tell(Report::Failed { what: error.to_string(), advice: error.advice() });
                Source::Nothing
            }
        }
    }

    /// One read, and what follows from it.
    fn read(
        &mut self,
        mut open: Box<OpenPort>,
        rates: &mut HashMap<String, u32>,
        buffer: &mut [u8],
    ) -> Source {
        match open.step(&*self.ports, rates, &mut self.out, buffer) {
            Left::Open => Source::Port(open),
            Left::Gone(place) => {
                Source::Away(AwayPort { place, look_due: Instant::now() + LOOK_EVERY, told: None })
            }
            Left::GivenUp => Source::Nothing,
        }
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
        let place = away.place.clone();
        match OpenPort::open(&mut *self.ports, place, rates, true, &mut self.out) {
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
