//! The seat check: every button in turn, so many times, with the engine off and again running; the box's
//! decisions in, prompts and results out. Time is in the decisions. Knows no port, no screen and no file.

mod order;
#[cfg(test)]
mod tests;

use crate::project::{ButtonId, CommandId, Gesture, SeatOutcome, SeatPress};

/// A button to be checked.
#[derive(Clone, Debug, PartialEq)]
pub struct SeatButton {
    /// Its id in the project.
    pub id: ButtonId,
    /// The lowest count the box takes for it.
    pub low_count: f64,
    /// The highest count the box takes for it.
    pub high_count: f64,
}

/// One of the four rounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Round {
    /// Whether the engine runs.
    pub running: bool,
    /// Whether the buttons come at random.
    pub random: bool,
}

/// The rounds, in order.
pub const ROUNDS: [Round; 4] = [
    Round { running: false, random: false },
    Round { running: false, random: true },
    Round { running: true, random: false },
    Round { running: true, random: true },
];

impl Round {
    /// `Engine off, in order`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match (self.running, self.random) {
            (false, false) => "Engine off, in order",
            (false, true) => "Engine off, at random",
            (true, false) => "Running, in order",
            (true, true) => "Running, at random",
        }
    }
}

/// What the box decided, in the project's terms.
#[derive(Clone, Debug, PartialEq)]
pub struct Decided {
    /// What.
    pub kind: DecidedKind,
    /// Which button, by its place among those checked; `None` where it is none of them.
    pub button: Option<usize>,
    /// Where the reading had settled, in counts.
    pub count: Option<f64>,
    /// Since the wire left rest, in milliseconds.
    pub latency_ms: u16,
    /// What was sent.
    pub sent: Option<CommandId>,
}

/// What the box decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecidedKind {
    /// A button is pressed.
    Pressed,
    /// It was let go.
    Released,
    /// A gesture.
    Gesture(Gesture),
    /// A press that never settled in a band.
    Undecided,
}

/// What a person does meanwhile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeatCommand {
    /// Wait: presses aren't counted.
    Pause,
    /// Go on.
    Resume,
    /// The stereo did nothing at the last press; or the box noticed nothing of this one.
    Nothing,
    /// The last press was of another button by mistake: it doesn't count, and is asked for again.
    TakeBack,
    /// Leave out this press.
    Skip,
    /// The engine runs: go on with the rounds that want it so.
    EngineRuns,
    /// No more.
    Stop,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeatPrompt {
    /// Press this button, by its place among those checked.
    Press(usize),
    /// Start the engine, then say so.
    StartEngine,
    /// Nothing: it is paused.
    Paused,
    /// All are done, or it was stopped.
    Done,
}

/// How far a round is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoundMarks {
    /// Which.
    pub round: Round,
    /// For each press made or left out: whether it was right; `None` for one left out.
    pub done: Vec<Option<bool>>,
    /// How many there are in all.
    pub of: usize,
}

/// A running seat check.
#[derive(Clone, Debug)]
pub struct SeatSession {
    buttons: Vec<SeatButton>,
    /// For each round, which button comes when.
    orders: Vec<Vec<usize>>,
    /// Round and place in it of what is asked for.
    at: (usize, usize),
    engine_runs: bool,
    paused: bool,
    stopped: bool,
    presses: Vec<SeatPress>,
    /// For each press or skip: which round, and the press it is.
    steps: Vec<(usize, Option<usize>)>,
    /// A press that the box recognised and that isn't let go yet.
    held: Option<SeatPress>,
    /// Whether a gesture may still come for the last press.
    waits: bool,
    taken_back: u32,
}

impl SeatSession {
    /// Every button so many times a round, 1 to 9; `seed` gives the order of the random rounds.
    #[must_use]
    pub fn new(buttons: Vec<SeatButton>, presses: u32, seed: u64) -> Self {
        let orders = ROUNDS
            .iter()
            .zip(0_u64..)
            .map(|(round, number)| {
                let seed = round.random.then_some(seed.wrapping_add(number));
                order::order(buttons.len(), presses as usize, seed)
            })
            .collect();
        Self {
            buttons,
            orders,
            at: (0, 0),
            engine_runs: false,
            paused: false,
            stopped: false,
            presses: Vec::new(),
            steps: Vec::new(),
            held: None,
            waits: false,
            taken_back: 0,
        }
    }

    /// What is asked for now.
    #[must_use]
    pub fn prompt(&self) -> SeatPrompt {
        match self.asked() {
            _ if self.stopped => SeatPrompt::Done,
            None => SeatPrompt::Done,
            Some(_) if self.paused => SeatPrompt::Paused,
            Some((round, _)) if round.running && !self.engine_runs => SeatPrompt::StartEngine,
            Some((_, button)) => SeatPrompt::Press(button),
        }
    }

    /// The presses made, in order; the last one may still get its gesture.
    #[must_use]
    pub fn presses(&self) -> &[SeatPress] {
        &self.presses
    }

    /// The buttons checked.
    #[must_use]
    pub fn buttons(&self) -> &[SeatButton] {
        &self.buttons
    }

    /// How many presses there are in all.
    #[must_use]
    pub fn planned(&self) -> usize {
        self.orders.iter().map(Vec::len).sum()
    }

    /// How many were taken back by the person.
    #[must_use]
    pub fn taken_back(&self) -> u32 {
        self.taken_back
    }

    /// How far each round is.
    #[must_use]
    pub fn rounds(&self) -> Vec<RoundMarks> {
        ROUNDS
            .iter()
            .zip(&self.orders)
            .enumerate()
            .map(|(number, (&round, order))| {
                let done = self.steps.iter().filter(|(at, _)| *at == number);
                let right = |press: usize| self.presses.get(press).map(|press| !press.outcome.is_error());
                RoundMarks { round, done: done.map(|&(_, press)| right(press?)).collect(), of: order.len() }
            })
            .collect()
    }

    /// Takes what the box decided.
    pub fn decided(&mut self, decided: &Decided) {
        let SeatPrompt::Press(asked) = self.prompt() else {
            self.follow(decided);
            return;
        };
        match decided.kind {
            DecidedKind::Pressed => {
                self.waits = false;
                self.held = Some(self.press_of(asked, decided));
            }
            DecidedKind::Gesture(gesture) => match &mut self.held {
                Some(press) => {
                    press.gesture.get_or_insert((gesture, decided.latency_ms));
                    press.sent = press.sent.take().or_else(|| decided.sent.clone());
                }
                None => self.follow(decided),
            },
            DecidedKind::Released => {
                if let Some(press) = self.held.take() {
                    self.waits = press.gesture.is_none();
                    self.keep(Some(press));
                }
            }
            DecidedKind::Undecided => {
                self.held = None;
                let press = self.press_of(asked, decided);
                self.keep(Some(SeatPress { outcome: SeatOutcome::Unnoticed, latency_ms: None, ..press }));
            }
        }
    }

    /// Takes what the person does.
    pub fn command(&mut self, command: SeatCommand) {
        match command {
            SeatCommand::Pause => {
                self.paused = true;
                self.held = None;
            }
            SeatCommand::Resume => self.paused = false,
            SeatCommand::EngineRuns => self.engine_runs = true,
            SeatCommand::Stop => {
                self.stopped = true;
                self.held = None;
            }
            SeatCommand::Skip => {
                if matches!(self.prompt(), SeatPrompt::Press(_)) {
                    self.held = None;
                    self.waits = false;
                    self.keep(None);
                }
            }
            SeatCommand::Nothing => self.nothing(),
            SeatCommand::TakeBack => self.take_back(),
        }
    }

    /// The stereo did nothing at the last press, if that one was recognised; else the box noticed nothing
    /// of the one asked for.
    fn nothing(&mut self) {
        let just_right = self.steps.last().and_then(|&(_, press)| press);
        match just_right.and_then(|press| self.presses.get_mut(press)) {
            Some(press) if press.outcome == SeatOutcome::Right && self.held.is_none() => {
                press.outcome = SeatOutcome::StereoSilent;
            }
            _ => {
                if let (SeatPrompt::Press(asked), None) = (self.prompt(), &self.held) {
                    let unnoticed = Decided {
                        kind: DecidedKind::Undecided,
                        button: None,
                        count: None,
                        latency_ms: 0,
                        sent: None,
                    };
                    let press = self.press_of(asked, &unnoticed);
                    self.keep(Some(SeatPress { latency_ms: None, ..press }));
                }
            }
        }
    }

    fn take_back(&mut self) {
        let Some(&(round, Some(_))) = self.steps.last() else { return };
        self.steps.pop();
        self.presses.pop();
        self.held = None;
        self.waits = false;
        self.taken_back += 1;
        self.at = (round, self.steps.iter().filter(|(at, _)| *at == round).count());
        self.stopped = false;
    }

    /// A gesture that comes once the button is let go, as a tap does where a double tap is possible.
    fn follow(&mut self, decided: &Decided) {
        let DecidedKind::Gesture(gesture) = decided.kind else { return };
        if let Some(press) = self.presses.last_mut().filter(|_| self.waits) {
            press.gesture = Some((gesture, decided.latency_ms));
            press.sent.clone_from(&decided.sent);
            self.waits = false;
        }
    }

    /// Round and button of what is asked for.
    fn asked(&self) -> Option<(Round, usize)> {
        let (round, place) = self.at;
        Some((*ROUNDS.get(round)?, *self.orders.get(round)?.get(place)?))
    }

    fn press_of(&self, asked: usize, decided: &Decided) -> SeatPress {
        let round = self.asked().map_or(ROUNDS[0], |(round, _)| round);
        let recognised = decided.button.and_then(|button| self.buttons.get(button));
        let outcome = match (decided.button, recognised) {
            (Some(button), _) if button == asked => SeatOutcome::Right,
            (_, Some(other)) => SeatOutcome::TakenAs(other.id.clone()),
            _ => SeatOutcome::Unnoticed,
        };
        let count = decided.count.filter(|count| count.is_finite());
        let edge_count = recognised
            .zip(count)
            .map(|(button, count)| (count - button.low_count).min(button.high_count - count));
        SeatPress {
            asked: self.buttons[asked].id.clone(),
            running: round.running,
            random: round.random,
            outcome,
            count,
            edge_count,
            latency_ms: Some(decided.latency_ms),
            gesture: None,
            sent: decided.sent.clone(),
        }
    }

    /// Keeps a press, or that it was left out, and goes on to the next.
    fn keep(&mut self, press: Option<SeatPress>) {
        let number = press.map(|press| {
            self.presses.push(press);
            self.presses.len() - 1
        });
        let (round, place) = self.at;
        self.steps.push((round, number));
        let last = self.orders.get(round).is_none_or(|order| place + 1 >= order.len());
        self.at = if last { (round + 1, 0) } else { (round, place + 1) };
    }
}
