//! What is known of each button, and what is shown of it. Changes nothing.

use super::super::prompt::{Hint, Mark, MarkState, Offer, Phase, PressState, Prompt};
use super::super::rungs::{between_count, rung_of};
use super::super::setup::KnownRung;
use super::{NOT_MOVED_MS, Session, Shown, Stage};
use crate::bands::Touch;
use crate::project::ButtonId;
use crate::signal::Settle;

impl Session {
    /// What is shown now.
    #[must_use]
    pub fn prompt(&self) -> Prompt {
        let mut prompt = Prompt {
            phase: Phase::Paused,
            upcoming: Vec::new(),
            marks: Vec::new(),
            offer: self.offer.clone(),
            hint: None,
        };
        prompt.phase = match &self.stage {
            Stage::Stopped => Phase::Stopped,
            Stage::Done => Phase::Done { learned: self.learned() },
            _ if self.paused => Phase::Paused,
            Stage::Rest(learner) => Phase::LearnRest { progress: learner.progress() },
            Stage::RestAgain(learner) => Phase::RestAgain { progress: learner.progress() },
            Stage::Press => self.press_phase(),
        };
        if let Stage::Rest(learner) | Stage::RestAgain(learner) = &self.stage {
            prompt.hint =
                learner.unsteady().map(|(wire, spread_count)| Hint::RestUnsteady { wire, spread_count });
            if let Some((wire, count)) = self.let_go {
                prompt.hint = Some(Hint::LetGo { wire, count });
            }
            prompt.offer = learner.can_leave_out().map(|wire| Offer::LeaveOut { wire });
        }
        if matches!(self.stage, Stage::Press) {
            let shown = self.shown_index();
            prompt.marks = self.marks(shown);
            prompt.upcoming = (0..self.results.len())
                .filter(|&index| index > shown && self.is_open(index))
                .map(|index| self.results[index].id.clone())
                .collect();
            prompt.hint = self.press_hint();
        }
        if self.is_over() {
            prompt.offer = None;
        }
        prompt
    }
    pub(super) fn is_learned(&self, index: usize) -> bool {
        let result = &self.results[index];
        !result.skipped && result.presses.len() >= self.setup.presses()
    }

    /// Whether it is still to be asked for.
    pub(super) fn is_open(&self, index: usize) -> bool {
        !self.results[index].skipped && !self.is_learned(index)
    }

    pub(super) fn touch(&self) -> Touch {
        let presses = self.results.get(self.current).map_or(0, |result| result.presses.len());
        self.touches.get(presses).copied().unwrap_or_default()
    }

    pub(super) fn between(&self) -> Option<f64> {
        between_count(self.results.iter().map(|result| result.presses.as_slice()))
    }

    pub(super) fn rung(&self, index: usize, between_count: Option<f64>) -> Option<KnownRung> {
        let result = &self.results[index];
        rung_of(&result.id, result.wire?, &result.presses, between_count, &self.setup)
    }

    pub(super) fn rungs_but(&self, index: Option<usize>) -> Vec<KnownRung> {
        let asked = |id: &ButtonId| self.setup.buttons.iter().any(|ask| ask.id == *id);
        let known = self.setup.known.iter().filter(|rung| !asked(&rung.id)).cloned();
        let between_count = self.between();
        let others = (0..self.results.len()).filter(|&other| Some(other) != index);
        let learned = others.filter_map(|other| self.rung(other, between_count));
        known.chain(learned).collect()
    }

    /// The counted press that is still shown.
    pub(super) fn counted(&self) -> Option<(usize, PressState)> {
        match self.shown {
            Shown::Counted { index, press, median_count, spread_count, until_ms }
                if self.now_ms < until_ms && self.attempt.is_none() =>
            {
                let of = self.setup.presses() as u32;
                Some((index, PressState::Counted { press, of, median_count, spread_count }))
            }
            _ => None,
        }
    }

    pub(super) fn shown_index(&self) -> usize {
        self.counted().map_or(self.current, |(index, _)| index)
    }

    pub(super) fn press_phase(&self) -> Phase {
        let (index, state) = self.counted().unwrap_or_else(|| (self.current, self.press_state()));
        let result = &self.results[index];
        let of = self.setup.presses();
        let press = match state {
            PressState::Counted { press, .. } => press as usize,
            _ => result.presses.len() + 1,
        };
        Phase::Press {
            button: result.id.clone(),
            name: self.setup.buttons[index].name.clone(),
            press: press.min(of) as u32,
            of: of as u32,
            touch: self.touches.get(press - 1).copied().unwrap_or_default(),
            state,
        }
    }

    pub(super) fn press_state(&self) -> PressState {
        match (&self.attempt, &self.shown) {
            (Some(attempt), _) if !attempt.void => match attempt.state() {
                Settle::Settled { count } => {
                    match self.judge(attempt.wire as u8 + 1, count, attempt.noise_count()) {
                        Ok(()) => PressState::Settled { count },
                        Err(reason) => PressState::Refused { reason },
                    }
                }
                Settle::Settling { count, progress } => PressState::Settling { count, progress },
                Settle::Moving => PressState::Settling { count: attempt.last_count(), progress: 0.0 },
            },
            (None, Shown::Refused(reason)) => PressState::Refused { reason: reason.clone() },
            _ => PressState::Waiting,
        }
    }

    pub(super) fn marks(&self, index: usize) -> Vec<Mark> {
        let presses = &self.results[index].presses;
        let now = || match (index == self.current).then(|| self.press_state()) {
            Some(PressState::Refused { .. }) => MarkState::Refused,
            Some(PressState::Settling { progress, .. }) => MarkState::Now { progress },
            Some(PressState::Settled { .. }) => MarkState::Now { progress: 1.0 },
            _ => MarkState::Now { progress: 0.0 },
        };
        self.touches
            .iter()
            .enumerate()
            .map(|(number, &touch)| {
                let state = match presses.get(number) {
                    Some(press) => MarkState::Counted { median_count: press.median_count },
                    None if number == presses.len() => now(),
                    None => MarkState::ToCome,
                };
                Mark { touch, state }
            })
            .collect()
    }

    pub(super) fn press_hint(&self) -> Option<Hint> {
        match &self.attempt {
            Some(attempt) => {
                attempt.held_very_long().map(|count| Hint::StillHeld { wire: attempt.wire as u8 + 1, count })
            }
            None => (self.now_ms - self.stirred_ms >= NOT_MOVED_MS).then_some(Hint::NotMoved),
        }
    }
}
