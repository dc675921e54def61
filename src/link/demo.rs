//! The demo behind the link: the wheel's readings at 1 kHz of its own time, pressed by requests, and a
//! box on the same wire, spoken to in the same bytes as a real one. Readings nobody takes are not made:
//! the demo waits instead of losing them.

use std::time::Instant;

use super::box_talk::{Act, BoxTalk, Heard};
use super::message::{DemoTouch, Report, Target};
use super::outbox::Outbox;
use super::pace::Pace;
use crate::demo::{VirtualBox, VirtualWheel, demo_van};
use crate::device::BoxRequest;
use crate::signal::RawReading;

/// Always the same van, noise and presses included, so that what was seen once is seen again.
const SEED: u64 = 2008;

/// How often the conversation is looked after while nothing comes, in readings.
const LOOK_EVERY: u32 = 8;

pub(super) struct DemoRun {
    wheel: VirtualWheel,
    bench: Bench,
    pace: Pace,
}

/// The box and the laptop's conversation with it. Their time is the wheel's.
struct Bench {
    virtual_box: VirtualBox,
    talk: BoxTalk,
    reports: Vec<Report>,
    look_in: u32,
}

impl DemoRun {
    /// Opens the demo; a speed of 0 is taken as 1.
    pub(super) fn open(speed: u32, out: &mut Outbox) -> Self {
        let wheel = VirtualWheel::new(demo_van(), SEED);
        let wires = wheel.plan().wires;
        out.tell(Report::Connected { target: Target::Demo { speed }, rate: None, wires });
        Self { wheel, bench: Bench::new(), pace: Pace::new(speed.max(1), Instant::now()) }
    }

    /// Moves the hand on the wheel, or on the remote.
    pub(super) fn touch(&mut self, touch: DemoTouch) {
        match touch {
            DemoTouch::Press { button, touch } => self.wheel.press(button, touch),
            DemoTouch::Release => self.wheel.release(),
            DemoTouch::Remote(button) => self.bench.virtual_box.hold_remote(button),
        }
    }

    /// Asks the demo's box for something.
    pub(super) fn ask(&mut self, request: BoxRequest) {
        self.bench.talk.ask(request);
    }

    /// Makes the readings that are due.
    pub(super) fn step(&mut self, out: &mut Outbox) {
        let due_ms = self.pace.due_ms(Instant::now());
        let Self { wheel, bench, pace } = self;
        while wheel.now_ms() < due_ms {
            let made = out.hand_over(|| {
                // What the box has to say is said between the readings it lies between.
                if wheel.now_ms() >= due_ms || !bench.reports.is_empty() {
                    return None;
                }
                let reading = wheel.next();
                bench.tick(reading);
                Some(reading)
            });
            for report in bench.reports.drain(..) {
                out.tell(report);
            }
            if !made {
                pace.hold_at(wheel.now_ms());
                return;
            }
        }
    }
}

impl Bench {
    fn new() -> Self {
        Self { virtual_box: VirtualBox::new(), talk: BoxTalk::new(0.0, 0.0), reports: Vec::new(), look_in: 0 }
    }

    /// One reading later.
    fn tick(&mut self, reading: RawReading) {
        self.virtual_box.tick(reading);
        let bytes = self.virtual_box.bytes_out();
        self.look_in = self.look_in.saturating_sub(1);
        if bytes.is_empty() && self.look_in > 0 {
            return;
        }
        self.look_in = LOOK_EVERY;
        let Self { virtual_box, talk, reports, .. } = self;
        if !bytes.is_empty() {
            talk.take(&bytes, reading.t_ms);
        }
        while let Some(heard) = talk.next(reading.t_ms) {
            match heard {
                Heard::Do(Act::Send(bytes)) => virtual_box.take(&bytes),
                Heard::Do(Act::SetRate(rate)) => virtual_box.set_line_rate(rate),
                Heard::Do(Act::PulseReset) => virtual_box.reset(),
                Heard::Do(Act::Discard) => drop(virtual_box.bytes_out()),
                Heard::Tell(report) => reports.push(Report::Box(report)),
                // The wheel's readings are handed over as they are: the same ones whether the box
                // streams or not.
                Heard::Readings(..) | Heard::Wires(_) => {}
            }
        }
    }
}
