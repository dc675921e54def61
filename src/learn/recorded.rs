//! Presses found in readings recorded without a prompt: each is held to be of the button in whose band it
//! settled. Knows no file.

use super::attempt::{Attempt, Outcome};
use super::rest::RestWatch;
use super::trace::{Keeper, Owner};
use crate::bands::{BandSet, PressTrace, Rung, Touch};
use crate::project::Project;
use crate::signal::{Reading, Settling, Stretch};
use crate::units::WIRES;

/// A press that took longer than this until it settled was a slow one, in milliseconds: twice what a light
/// touch takes. Common practice, no source.
const SLOW_MS: f64 = 250.0;
/// No noise is taken to be less than this, in counts.
const NOISE_FLOOR_COUNT: f64 = 0.5;

/// What was found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// The presses, in order of time.
    pub traces: Vec<PressTrace>,
    /// Presses that settled in no button's band, or nowhere.
    pub unplaced: u32,
    /// Presses of a button whose readings are no trace: too far apart, or with a gap.
    pub untraced: u32,
}

/// The presses in a recording of a wheel that was learned.
#[must_use]
pub fn presses_in(readings: &[Reading], project: &Project, bands: &BandSet) -> Found {
    let mut watches = [const { None }; WIRES];
    for (wire, watch) in (1_u8..).zip(&mut watches) {
        *watch = project.rests.get(&wire).map(|rest| RestWatch::new(rest, NOISE_FLOOR_COUNT));
    }
    let mut finder =
        Finder { project, bands, watches, keeper: Keeper::default(), attempt: None, found: Found::default() };
    for reading in readings {
        finder.take(reading);
    }
    finder.found
}

struct Finder<'a> {
    project: &'a Project,
    bands: &'a BandSet,
    watches: [Option<RestWatch>; WIRES],
    keeper: Keeper,
    attempt: Option<Attempt>,
    found: Found,
}

impl Finder<'_> {
    fn take(&mut self, reading: &Reading) {
        let Reading { t_ms, wire: levels } = *reading;
        self.keeper.push(t_ms, levels);
        let Some(attempt) = &mut self.attempt else {
            for (wire, watch) in self.watches.iter_mut().enumerate() {
                if watch.as_mut().is_some_and(|watch| watch.has_left(t_ms, levels[wire])) {
                    let noise =
                        self.project.rests.get(&(wire as u8 + 1)).map_or(0.0, |rest| rest.spread_count);
                    let limits = Settling::default().with_noise(noise.max(NOISE_FLOOR_COUNT));
                    self.attempt = Some(Attempt::new(wire, t_ms, levels[wire], limits));
                    self.keeper.begin();
                    return;
                }
            }
            return;
        };
        if attempt.take(t_ms, levels, &self.watches) {
            self.end();
        }
    }

    fn end(&mut self) {
        self.keeper.let_go();
        self.watches.iter_mut().flatten().for_each(RestWatch::settle_again);
        let Some(attempt) = self.attempt.take() else { return };
        let (wire, from_ms) = (attempt.wire as u8 + 1, attempt.from_ms);
        match attempt.finish(NOISE_FLOOR_COUNT) {
            Outcome::Blip => {}
            Outcome::Refused(_) => self.found.unplaced += 1,
            Outcome::Settled(stretch) => self.settled(&stretch, wire, from_ms),
        }
    }

    fn settled(&mut self, stretch: &Stretch, wire: u8, from_ms: f64) {
        let button = match self.bands.which(wire, stretch.median_count) {
            Some(Rung::Button(place)) => self.project.wheel.buttons.get(place),
            Some(Rung::Rest(_)) | None => None,
        };
        let Some(button) = button else {
            self.found.unplaced += 1;
            return;
        };
        let touch = if stretch.from_ms - from_ms > SLOW_MS { Touch::Slow } else { Touch::Picked };
        match self.keeper.end(stretch, Owner { button: &button.id, wire, touch }) {
            Some(trace) => self.found.traces.push(trace),
            None => self.found.untraced += 1,
        }
    }
}
