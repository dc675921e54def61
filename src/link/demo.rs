//! The demo's wheel behind the link: readings at 1 kHz of its own time, pressed by requests.
//! Readings nobody takes are not made: the demo waits instead of losing them.

use std::time::Instant;

use super::message::{DemoTouch, Report, Target};
use super::outbox::Outbox;
use super::pace::Pace;
use crate::demo::{VirtualWheel, demo_van};

/// Always the same van, noise and presses included, so that what was seen once is seen again.
const SEED: u64 = 2008;

pub(super) struct DemoRun {
    wheel: VirtualWheel,
    pace: Pace,
}

impl DemoRun {
    /// Opens the demo; a speed of 0 is taken as 1.
    pub(super) fn open(speed: u32, out: &mut Outbox) -> Self {
        let wheel = VirtualWheel::new(demo_van(), SEED);
        let wires = wheel.plan().wires;
        out.tell(Report::Connected { target: Target::Demo { speed }, rate: None, wires });
        Self { wheel, pace: Pace::new(speed.max(1), Instant::now()) }
    }

    /// Moves the hand on the wheel.
    pub(super) fn touch(&mut self, touch: DemoTouch) {
        match touch {
            DemoTouch::Press { button, touch } => self.wheel.press(button, touch),
            DemoTouch::Release => self.wheel.release(),
        }
    }

    /// Makes the readings that are due.
    pub(super) fn step(&mut self, out: &mut Outbox) {
        let due_ms = self.pace.due_ms(Instant::now());
        let Self { wheel, pace } = self;
        while wheel.now_ms() < due_ms {
            if !out.hand_over(|| (wheel.now_ms() < due_ms).then(|| wheel.next())) {
                pace.hold_at(wheel.now_ms());
                return;
            }
        }
    }
}
