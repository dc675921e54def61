//! A press: when it begins and ends, and whether it is taken. Knows no commands.

use super::super::attempt::{Attempt, Outcome};
use super::super::prompt::{Event, Offer};
use super::super::refusal::Refusal;
use super::super::rest::RestWatch;
use super::super::rungs::{middle, same_count};
use super::super::trace::Owner;
use super::{COUNTED_MS, OFFER_AFTER, Refused, Session, Shown};
use crate::bands::{Press, PressTrace, Touch};
use crate::signal::{Level, Reading, Stretch, at_top};

impl Session {
    pub(super) fn take_press(&mut self, reading: &Reading, events: &mut Vec<Event>) {
        let Reading { t_ms, wire: levels } = *reading;
        let Some(attempt) = &mut self.attempt else {
            for (wire, watch) in self.watches.iter_mut().enumerate() {
                let left = watch.as_mut().is_some_and(|watch| watch.has_left(t_ms, levels[wire]));
                if left {
                    self.begin_attempt(wire, t_ms, levels[wire]);
                    return;
                }
            }
            return;
        };
        if attempt.take(t_ms, levels, &self.watches) {
            self.end_attempt(t_ms, events);
        }
    }

    pub(super) fn begin_attempt(&mut self, wire: usize, t_ms: f64, level: Level) {
        let noise_count = self.rests.get(&(wire as u8 + 1)).map_or(0.0, |rest| rest.spread_count);
        let limits = self.setup.settling.clone().with_noise(noise_count.max(self.setup.noise_floor_count));
        self.attempt = Some(Attempt::new(wire, t_ms, level, limits));
        self.keeper.begin();
        self.stirred_ms = t_ms;
    }

    pub(super) fn end_attempt(&mut self, t_ms: f64, events: &mut Vec<Event>) {
        self.watches.iter_mut().flatten().for_each(RestWatch::settle_again);
        self.keeper.let_go();
        let Some(attempt) = self.attempt.take() else { return };
        if attempt.void {
            return;
        }
        self.stirred_ms = t_ms;
        let (wire, from_ms, to_ms) = (attempt.wire as u8 + 1, attempt.from_ms, attempt.to_ms);
        match attempt.finish(self.setup.noise_floor_count) {
            Outcome::Blip => {}
            Outcome::Refused(reason) => self.refuse(reason, (from_ms, to_ms), wire, events),
            Outcome::Settled(stretch) => {
                let touch = self.touch();
                let owner = Owner { button: &self.results[self.current].id, wire, touch };
                let trace = self.keeper.end(&stretch, owner);
                match self.judge(wire, stretch.median_count, stretch.spread_count) {
                    Ok(()) => self.count(&stretch, touch, wire, trace, events),
                    Err(reason) => {
                        self.refused.push(Refused { reason: reason.clone(), stretch, touch, wire, trace });
                        self.refuse(reason, (stretch.from_ms, stretch.to_ms), wire, events);
                    }
                }
            }
        }
    }

    pub(super) fn refuse(
        &mut self,
        reason: Refusal,
        (from_ms, to_ms): (f64, f64),
        wire: u8,
        events: &mut Vec<Event>,
    ) {
        let button = self.results[self.current].id.clone();
        events.push(Event::Refused { button, reason: reason.clone(), from_ms, to_ms, wire });
        if let Some(offer) = self.offer_for(&reason, wire) {
            events.push(Event::Offer { offer: offer.clone() });
            self.offer = Some(offer);
        }
        self.shown = Shown::Refused(reason);
    }

    /// Whether a settled press is taken for the button asked for.
    pub(super) fn judge(&self, wire: u8, count: f64, spread_count: f64) -> Result<(), Refusal> {
        if at_top(count) {
            return Err(Refusal::AtTop { count });
        }
        let ask = &self.setup.buttons[self.current];
        let result = &self.results[self.current];
        let rungs = self.rungs_but(Some(self.current));
        let on = rungs
            .iter()
            .filter(|rung| rung.holds(wire, count) && rung.id != ask.id && !self.allowed.contains(&rung.id))
            .min_by(|a, b| (a.centre_count - count).abs().total_cmp(&(b.centre_count - count).abs()));
        if let Some(rung) = on {
            return Err(Refusal::OnRung {
                asked: ask.name.clone(),
                other: rung.id.clone(),
                other_name: self.setup.name_of(&rung.id),
                count,
                low_count: rung.low_count,
                high_count: rung.high_count,
            });
        }
        if let Some(wanted) = result.wire.or(ask.wire).filter(|&wanted| wanted != wire) {
            return Err(Refusal::OtherWire { asked: ask.name.clone(), count, wire, wanted });
        }
        let same_count =
            same_count(spread_count.max(self.setup.noise_floor_count), self.between(), &self.setup);
        match (result.presses.first(), middle(&result.presses)) {
            (Some(first), Some(middle_count)) if (count - middle_count).abs() > same_count => {
                Err(Refusal::Differs { asked: ask.name.clone(), count, first_count: first.median_count })
            }
            _ => Ok(()),
        }
    }

    pub(super) fn offer_for(&self, reason: &Refusal, wire: u8) -> Option<Offer> {
        let button = self.setup.buttons[self.current].name.clone();
        match reason {
            Refusal::OnRung { other, other_name, count, .. } => {
                let again = |refused: &&Refused| matches!(&refused.reason, Refusal::OnRung { other: before, .. } if before == other);
                (self.refused.iter().filter(again).count() >= OFFER_AFTER).then(|| Offer::Indistinct {
                    button,
                    from: other.clone(),
                    from_name: other_name.clone(),
                    count: *count,
                })
            }
            Refusal::Differs { count, first_count, .. } => {
                let last = self.refused.last()?;
                let noise_count = last.stretch.spread_count.max(self.setup.noise_floor_count);
                let near_count = same_count(noise_count, self.between(), &self.setup);
                let again = |refused: &&Refused| {
                    matches!(refused.reason, Refusal::Differs { .. })
                        && refused.wire == wire
                        && (refused.stretch.median_count - count).abs() <= near_count
                };
                (self.refused.iter().filter(again).count() >= OFFER_AFTER).then_some(Offer::StartOver {
                    button,
                    first_count: *first_count,
                    count: *count,
                })
            }
            _ => None,
        }
    }

    pub(super) fn count(
        &mut self,
        stretch: &Stretch,
        touch: Touch,
        wire: u8,
        trace: Option<PressTrace>,
        events: &mut Vec<Event>,
    ) {
        let index = self.current;
        let taken = Press {
            median_count: stretch.median_count,
            spread_count: stretch.spread_count,
            readings: stretch.readings,
            touch,
            tally: Vec::new(),
        };
        let result = &mut self.results[index];
        result.presses.push(taken.clone());
        result.traces.push(trace.map(|trace| PressTrace { touch, ..trace }));
        result.wire = Some(wire);
        let (button, press) = (result.id.clone(), result.presses.len() as u32);
        self.taken.push(index);
        self.offer = None;
        self.shown = Shown::Counted {
            index,
            press,
            median_count: taken.median_count,
            spread_count: taken.spread_count,
            until_ms: self.now_ms + COUNTED_MS,
        };
        let (from_ms, to_ms) = (stretch.from_ms, stretch.to_ms);
        events.push(Event::Pressed { button: button.clone(), press, taken, from_ms, to_ms, wire });
        if self.is_learned(index) {
            events.push(Event::Learned { button });
            self.say_near(index, events);
            self.advance(events);
        } else {
            self.ask(events);
        }
    }

    /// Two buttons whose rungs overlap are never merged without a word.
    pub(super) fn say_near(&self, index: usize, events: &mut Vec<Event>) {
        let Some(own) = self.rung(index, self.between()) else { return };
        for other in self.rungs_but(Some(index)) {
            let apart = own.high_count < other.low_count || own.low_count > other.high_count;
            if other.wire == own.wire && other.id != own.id && !apart {
                events.push(Event::Near {
                    button: own.id.clone(),
                    gap_count: (own.centre_count - other.centre_count).abs(),
                    other: other.id,
                });
            }
        }
    }
}
