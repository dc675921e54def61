//! From rest to the first press, from button to button, to rest again; and what a person may say
//! on the way. Knows no readings but rest.

use super::super::prompt::{Event, Offer};
use super::super::refusal::Refusal;
use super::super::rest::{RestLearner, RestWatch};
use super::super::rungs::{middle, same_count};
use super::{ButtonResult, Refused, Session, Shown, Stage, rest_learner};
use crate::bands::RestLevel;

/// Rest has moved when it differs by more than this many standard deviations…
const MOVED_SIGMA: f64 = 3.0;
/// … and by more than this, in counts.
const MOVED_COUNT: f64 = 2.0;

impl Session {
    pub(super) fn rest_learner(&self) -> RestLearner {
        let mut learner = rest_learner(&self.setup);
        (1_u8..).zip(self.left_out).filter(|&(_, left_out)| left_out).for_each(|(w, _)| learner.leave_out(w));
        learner
    }

    pub(super) fn end_rest(&mut self, events: &mut Vec<Event>) {
        match &mut self.stage {
            Stage::Rest(learner) => {
                let levels = learner.levels();
                self.left_out = learner.left_out();
                self.rests = levels.iter().cloned().collect();
                self.watch_rests();
                events.extend(levels.into_iter().map(|(wire, level)| Event::Rest { wire, level }));
                self.stage = Stage::Press;
                self.advance(events);
            }
            Stage::RestAgain(learner) => {
                let levels = learner.levels();
                let rungs = self.rungs_but(None);
                let held = |(wire, level): &&(u8, RestLevel)| {
                    self.rests.get(wire).is_none_or(|was| moved(was, level))
                        && rungs.iter().any(|rung| rung.holds(*wire, level.median_count))
                };
                self.let_go = levels.iter().find(held).map(|(wire, level)| (*wire, level.median_count));
                if self.let_go.is_some() {
                    if let Stage::RestAgain(learner) = &mut self.stage {
                        learner.begin_again();
                    }
                    return;
                }
                for (wire, is) in levels {
                    events.push(Event::Rest { wire, level: is.clone() });
                    if let Some(was) = self.rests.get(&wire).filter(|was| moved(was, &is)) {
                        events.push(Event::RestMoved { wire, was: was.clone(), is: is.clone() });
                    }
                    self.rests_again.insert(wire, is);
                }
                self.finish(events);
            }
            Stage::Press | Stage::Done | Stage::Stopped => {}
        }
    }

    pub(super) fn watch_rests(&mut self) {
        for (wire, watch) in (1_u8..).zip(&mut self.watches) {
            *watch = self.rests.get(&wire).map(|rest| RestWatch::new(rest, self.setup.noise_floor_count));
        }
    }

    /// Asks for the first button that is still to be learned; learns rest again where none is.
    pub(super) fn advance(&mut self, events: &mut Vec<Event>) {
        self.refused.clear();
        self.allowed.clear();
        self.offer = None;
        match (0..self.results.len()).find(|&index| self.is_open(index)) {
            Some(index) => {
                self.current = index;
                self.stage = Stage::Press;
                self.ask(events);
            }
            None if self.results.is_empty() => self.finish(events),
            None => self.stage = Stage::RestAgain(self.rest_learner()),
        }
    }

    pub(super) fn ask(&mut self, events: &mut Vec<Event>) {
        self.stirred_ms = self.now_ms;
        let result = &self.results[self.current];
        events.push(Event::Prompt {
            button: result.id.clone(),
            press: result.presses.len() as u32 + 1,
            of: self.setup.presses() as u32,
            touch: self.touch(),
        });
    }

    pub(super) fn finish(&mut self, events: &mut Vec<Event>) {
        self.stage = Stage::Done;
        events.push(Event::Done { learned: self.learned() });
    }
}

impl Session {
    pub(super) fn resume(&mut self) {
        if !self.paused {
            return;
        }
        self.paused = false;
        self.stirred_ms = self.now_ms;
        // What happened meanwhile was not seen: a press that is down now counts for nothing.
        self.void_attempt();
        self.loss();
    }

    pub(super) fn void_attempt(&mut self) {
        if let Some(attempt) = &mut self.attempt {
            attempt.void = true;
        }
    }

    pub(super) fn redo(&mut self, events: &mut Vec<Event>) {
        if matches!(self.stage, Stage::Rest(_)) {
            return;
        }
        self.shown = Shown::Waiting;
        if self.attempt.as_ref().is_some_and(|attempt| !attempt.void) {
            self.void_attempt();
            return;
        }
        let Some(index) = self.taken.pop() else { return };
        let result = &mut self.results[index];
        result.presses.pop();
        result.traces.pop();
        result.skipped = false;
        if result.presses.is_empty() {
            result.wire = None;
            result.indistinct_from = None;
        }
        events.push(Event::Dropped { button: result.id.clone() });
        self.go_to(index, events);
    }

    pub(super) fn skip(&mut self, events: &mut Vec<Event>) {
        if !matches!(self.stage, Stage::Press) || self.results.get(self.current).is_none() {
            return;
        }
        self.void_attempt();
        let result = &mut self.results[self.current];
        result.skipped = true;
        events.push(Event::Skipped { button: result.id.clone() });
        self.shown = Shown::Waiting;
        self.advance(events);
    }

    pub(super) fn start_over(&mut self, events: &mut Vec<Event>) {
        if !matches!(self.stage, Stage::Press) {
            return;
        }
        let index = self.current;
        let Some(result) = self.results.get_mut(index) else { return };
        let id = result.id.clone();
        *result = ButtonResult { id: id.clone(), ..Default::default() };
        self.taken.retain(|&taken| taken != index);
        self.void_attempt();
        self.shown = Shown::Waiting;
        events.push(Event::Dropped { button: id });
        self.go_to(index, events);
    }

    pub(super) fn take_indistinct(&mut self, events: &mut Vec<Event>) {
        let Some(Offer::Indistinct { from, .. }) = self.offer.clone() else { return };
        let on_rung =
            |refused: &Refused| matches!(&refused.reason, Refusal::OnRung { other, .. } if *other == from);
        let Some(at) = self.refused.iter().rposition(on_rung) else { return };
        let refused = self.refused.remove(at);
        self.allowed.push(from.clone());
        self.drop_unlike(&refused, events);
        let result = &mut self.results[self.current];
        result.indistinct_from.get_or_insert(from);
        self.void_attempt();
        self.count(&refused.stretch, self.touch(), refused.wire, refused.trace, events);
    }

    /// Drops presses that lie elsewhere than one that is taken as indistinct: they were not this
    /// button's, or it could be told apart.
    fn drop_unlike(&mut self, refused: &Refused, events: &mut Vec<Event>) {
        let noise_count = refused.stretch.spread_count.max(self.setup.noise_floor_count);
        let same_count = same_count(noise_count, self.between(), &self.setup);
        let index = self.current;
        let result = &mut self.results[index];
        let unlike = middle(&result.presses)
            .is_some_and(|count| (count - refused.stretch.median_count).abs() > same_count);
        if unlike {
            result.presses.clear();
            result.traces.clear();
            self.taken.retain(|&taken| taken != index);
            events.push(Event::Dropped { button: result.id.clone() });
        }
    }

    pub(super) fn accept(&mut self, events: &mut Vec<Event>) {
        let differs = |refused: &Refused| matches!(refused.reason, Refusal::Differs { .. });
        if !matches!(self.stage, Stage::Press) {
            return;
        }
        let Some(at) = self.refused.iter().rposition(differs) else { return };
        let refused = self.refused.remove(at);
        self.void_attempt();
        self.count(&refused.stretch, refused.touch, refused.wire, refused.trace, events);
    }

    pub(super) fn leave_out(&mut self, events: &mut Vec<Event>) {
        let (Stage::Rest(learner) | Stage::RestAgain(learner)) = &mut self.stage else { return };
        if let Some(wire) = learner.can_leave_out() {
            learner.leave_out(wire);
            if learner.is_done() {
                self.end_rest(events);
            }
        }
    }

    /// Asks for this button next, whatever was asked for.
    pub(super) fn go_to(&mut self, index: usize, events: &mut Vec<Event>) {
        self.refused.clear();
        self.allowed = self.results[index].indistinct_from.iter().cloned().collect();
        self.offer = None;
        self.let_go = None;
        self.current = index;
        self.stage = Stage::Press;
        self.ask(events);
    }
}

/// Whether rest has moved.
fn moved(was: &RestLevel, is: &RestLevel) -> bool {
    let by_count = (was.median_count - is.median_count).abs();
    by_count > MOVED_COUNT && by_count > MOVED_SIGMA * was.spread_count.max(is.spread_count)
}
