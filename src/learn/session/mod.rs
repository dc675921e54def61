//! The session: which button is asked for, which presses are taken, and what comes next. Knows no
//! screen and no port.

mod press;
mod shown;
mod steps;

use std::collections::BTreeMap;

use super::attempt::Attempt;
use super::prompt::{Command, Event, Offer};
use super::refusal::Refusal;
use super::rest::{RestLearner, RestWatch};
use super::setup::{KnownRung, Setup, touches};
use super::trace::{Keeper, quartered};
use crate::bands::{Press, PressTrace, RestLevel, Touch};
use crate::project::ButtonId;
use crate::signal::{Reading, Stretch};
use crate::units::WIRES;

/// How long a counted press is shown before the next is asked for, in milliseconds.
const COUNTED_MS: f64 = 400.0;
/// With nothing moving for this long, it is asked whether it is the right wire, in milliseconds.
const NOT_MOVED_MS: f64 = 8_000.0;
/// So many refusals at one place bring an offer.
const OFFER_AFTER: usize = 2;

/// What a session knows of one button asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ButtonResult {
    /// Which button.
    pub id: ButtonId,
    /// Its presses, in the order they were made.
    pub presses: Vec<Press>,
    /// Each press as it was read, in the same order; `None` where that is no trace.
    pub traces: Vec<Option<PressTrace>>,
    /// The wire they moved, 1 or 2; `None` without any.
    pub wire: Option<u8>,
    /// The button it cannot be told apart from, where it was taken as such.
    pub indistinct_from: Option<ButtonId>,
    /// Whether it was skipped.
    pub skipped: bool,
}

/// A prompted session. Takes readings and commands in order; never waits, never fails.
#[derive(Clone, Debug)]
pub struct Session {
    setup: Setup,
    touches: Vec<Touch>,
    results: Vec<ButtonResult>,
    rests: BTreeMap<u8, RestLevel>,
    rests_again: BTreeMap<u8, RestLevel>,
    watches: [Option<RestWatch>; WIRES],
    left_out: [bool; WIRES],
    stage: Stage,
    paused: bool,
    /// The press in hand.
    attempt: Option<Attempt>,
    /// The readings around it.
    keeper: Keeper,
    /// The button asked for; meaningful in [`Stage::Press`].
    current: usize,
    /// Whose presses were counted, in order.
    taken: Vec<usize>,
    /// What was refused since the button was first asked for.
    refused: Vec<Refused>,
    /// Rungs that this button was taken as indistinct from.
    allowed: Vec<ButtonId>,
    shown: Shown,
    offer: Option<Offer>,
    now_ms: f64,
    /// When something last moved or was asked.
    stirred_ms: f64,
    /// A wire that stood on a rung when rest was to be learned again.
    let_go: Option<(u8, f64)>,
}

#[derive(Clone, Debug)]
enum Stage {
    Rest(RestLearner),
    Press,
    RestAgain(RestLearner),
    Done,
    Stopped,
}

/// What is shown while nothing is pressed.
#[derive(Clone, Debug)]
enum Shown {
    Waiting,
    Counted { index: usize, press: u32, median_count: f64, spread_count: f64, until_ms: f64 },
    Refused(Refusal),
}

/// A refused press, kept in case it is taken after all.
#[derive(Clone, Debug)]
struct Refused {
    reason: Refusal,
    stretch: Stretch,
    touch: Touch,
    wire: u8,
    trace: Option<PressTrace>,
}

impl Session {
    /// Begins with learning rest.
    #[must_use]
    pub fn new(setup: Setup) -> Self {
        let results =
            setup.buttons.iter().map(|ask| ButtonResult { id: ask.id.clone(), ..Default::default() });
        Self {
            results: results.collect(),
            touches: touches(setup.presses),
            stage: Stage::Rest(rest_learner(&setup)),
            setup,
            rests: BTreeMap::new(),
            rests_again: BTreeMap::new(),
            watches: [const { None }; WIRES],
            left_out: [false; WIRES],
            paused: false,
            attempt: None,
            keeper: Keeper::default(),
            current: 0,
            taken: Vec::new(),
            refused: Vec::new(),
            allowed: Vec::new(),
            shown: Shown::Waiting,
            offer: None,
            now_ms: f64::NEG_INFINITY,
            stirred_ms: f64::NEG_INFINITY,
            let_go: None,
        }
    }

    /// What it was told at the beginning.
    #[must_use]
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// What is known of each button asked for, in the order of [`Setup::buttons`].
    #[must_use]
    pub fn results(&self) -> &[ButtonResult] {
        &self.results
    }

    /// What each wire read at rest: at the end where it was learned again, else at the beginning.
    #[must_use]
    pub fn rests(&self) -> BTreeMap<u8, RestLevel> {
        let mut rests = self.rests.clone();
        rests.extend(self.rests_again.iter().map(|(&wire, level)| (wire, level.clone())));
        rests
    }

    /// Whether it is over: done or stopped.
    #[must_use]
    pub fn is_over(&self) -> bool {
        matches!(self.stage, Stage::Done | Stage::Stopped)
    }

    /// How many buttons have all their presses.
    #[must_use]
    pub fn learned(&self) -> u32 {
        (0..self.results.len()).filter(|&index| self.is_learned(index)).count() as u32
    }

    /// The rungs known now: those known before and those of presses taken in this session.
    #[must_use]
    pub fn rungs(&self) -> Vec<KnownRung> {
        self.rungs_but(None)
    }

    /// Takes readings, in order. Says what has happened.
    pub fn take(&mut self, readings: &[Reading], events: &mut Vec<Event>) {
        for reading in readings {
            if !reading.t_ms.is_finite() {
                continue;
            }
            if reading.t_ms < self.now_ms {
                self.loss();
                self.stirred_ms = reading.t_ms;
            }
            self.now_ms = reading.t_ms;
            if self.paused {
                continue;
            }
            self.keeper.push(reading.t_ms, reading.wire);
            match &mut self.stage {
                Stage::Press => self.take_press(reading, events),
                Stage::Rest(learner) | Stage::RestAgain(learner) => {
                    learner.push(reading);
                    if learner.is_done() {
                        self.end_rest(events);
                    }
                }
                Stage::Done | Stage::Stopped => return,
            }
        }
    }

    /// Readings were lost here: what was settling ends.
    pub fn loss(&mut self) {
        if let Some(attempt) = &mut self.attempt {
            attempt.lost();
        }
        self.keeper.lost();
        if let Stage::Rest(learner) | Stage::RestAgain(learner) = &mut self.stage {
            learner.begin_again();
        }
        self.watches.iter_mut().flatten().for_each(RestWatch::settle_again);
    }

    /// The probe turned out to count to 4095: all that was learned so far is a quarter of what it
    /// seemed. Rungs known before the session are in counts already.
    pub fn rescale_quarter(&mut self) {
        let rests = self.rests.values_mut().chain(self.rests_again.values_mut());
        rests.for_each(|rest| {
            rest.median_count /= 4.0;
            rest.spread_count /= 4.0;
        });
        for press in self.results.iter_mut().flat_map(|result| &mut result.presses) {
            press.median_count /= 4.0;
            press.spread_count /= 4.0;
        }
        for trace in self.results.iter_mut().flat_map(|result| &mut result.traces) {
            *trace = trace.as_ref().and_then(quartered);
        }
        self.loss();
        self.watch_rests();
        self.attempt = None;
        self.keeper.let_go();
        self.refused.clear();
        self.offer = None;
        self.shown = Shown::Waiting;
    }

    /// Does what the person asks. A command that makes no sense now does nothing.
    pub fn command(&mut self, command: Command, events: &mut Vec<Event>) {
        if self.is_over() {
            return;
        }
        match command {
            Command::Pause => self.paused = true,
            Command::Resume => self.resume(),
            Command::Stop => {
                self.stage = Stage::Stopped;
                self.attempt = None;
                self.keeper.let_go();
                events.push(Event::Stopped);
            }
            Command::Redo => self.redo(events),
            Command::Skip => self.skip(events),
            Command::StartOver => self.start_over(events),
            Command::TakeIndistinct => self.take_indistinct(events),
            Command::Accept => self.accept(events),
            Command::LeaveOut => self.leave_out(events),
            Command::LearnRest => {
                self.attempt = None;
                self.keeper.let_go();
                if matches!(self.stage, Stage::Press) {
                    self.stage = Stage::Rest(self.rest_learner());
                }
            }
        }
    }
}

fn rest_learner(setup: &Setup) -> RestLearner {
    let named = |wire: u8| setup.buttons.iter().any(|ask| ask.wire == Some(wire));
    let all_named = setup.buttons.iter().all(|ask| ask.wire.is_some());
    let wanted = [1_u8, 2].map(|wire| !all_named || named(wire));
    let noisy = setup.settling.clone().with_noise(setup.noise_floor_count);
    RestLearner::new(&noisy, setup.rest_ms, wanted)
}

#[cfg(test)]
mod tests;
