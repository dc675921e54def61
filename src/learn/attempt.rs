//! One press from leaving rest to being back: its settled stretches, and which of them stands for
//! it. Knows no buttons.

use super::refusal::Refusal;
use super::rest::RestWatch;
use crate::signal::{Level, Settle, Settling, Stretch, Tracker};
use crate::units::WIRES;

/// Back at rest for this long, in milliseconds, and [`BACK_READINGS`] readings, it is over: longer
/// than a contact bounces (metal domes under 10 ms, switch makers' guides).
const BACK_MS: f64 = 20.0;
/// See [`BACK_MS`].
const BACK_READINGS: u32 = 2;
/// What was away for less than this and settled nowhere was no finger, in milliseconds.
const BLIP_MS: f64 = 40.0;
/// Stretches whose medians lie further apart than this are two places, in counts…
const TWO_PLACES_COUNT: f64 = 6.0;
/// … and in standard deviations of the noise.
const TWO_PLACES_SIGMA: f64 = 6.0;
/// Held for longer than this it is asked whether anything is pressed at all, in milliseconds.
const VERY_LONG_MS: f64 = 10_000.0;
/// The most stretches kept of one press.
const MOST_STRETCHES: usize = 8;

/// A press in hand.
#[derive(Clone, Debug)]
pub(super) struct Attempt {
    /// The wire that left rest first, from 0.
    pub(super) wire: usize,
    pub(super) from_ms: f64,
    /// Its last reading away from rest.
    pub(super) to_ms: f64,
    /// Whether it counts for nothing: it was told to be dropped.
    pub(super) void: bool,
    tracker: Tracker,
    stretches: Vec<Stretch>,
    first_count: f64,
    last_count: f64,
    back: Option<Back>,
}

#[derive(Clone, Copy, Debug)]
struct Back {
    since_ms: f64,
    readings: u32,
}

/// What became of a press.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Outcome {
    /// No finger: too brief to be one.
    Blip,
    Settled(Stretch),
    Refused(Refusal),
}

impl Attempt {
    pub(super) fn new(wire: usize, t_ms: f64, level: Level, limits: Settling) -> Self {
        let count = level.count().unwrap_or(0.0);
        let mut tracker = Tracker::new(limits);
        tracker.push(t_ms, level);
        Self {
            wire,
            from_ms: t_ms,
            to_ms: t_ms,
            void: false,
            tracker,
            stretches: Vec::new(),
            first_count: count,
            last_count: count,
            back: None,
        }
    }

    /// Takes a reading of every wire: true where the press is over.
    pub(super) fn take(
        &mut self,
        t_ms: f64,
        levels: [Level; WIRES],
        watches: &[Option<RestWatch>; WIRES],
    ) -> bool {
        let away = |wire: usize| watches[wire].as_ref().is_some_and(|watch| watch.is_away(levels[wire]));
        if levels[self.wire] == Level::NONE {
            self.lost();
        } else if away(self.wire) {
            self.push(t_ms, levels[self.wire]);
        } else if (0..WIRES).any(away) {
            self.not_back();
        } else {
            return self.is_over(t_ms);
        }
        false
    }

    /// Takes a reading of its wire away from rest.
    fn push(&mut self, t_ms: f64, level: Level) {
        self.back = None;
        self.to_ms = t_ms;
        self.last_count = level.count().unwrap_or(self.last_count);
        let ended = self.tracker.push(t_ms, level);
        self.keep(ended);
    }

    /// Takes note of a reading with every wire at rest: true where the press is over.
    fn is_over(&mut self, t_ms: f64) -> bool {
        let back = self.back.get_or_insert(Back { since_ms: t_ms, readings: 0 });
        back.readings += 1;
        back.readings > BACK_READINGS && t_ms - back.since_ms >= BACK_MS
    }

    /// A reading that says nothing about being back: another wire is still away.
    fn not_back(&mut self) {
        self.back = None;
    }

    pub(super) fn lost(&mut self) {
        let ended = self.tracker.lost();
        self.keep(ended);
        self.back = None;
    }

    pub(super) fn state(&self) -> Settle {
        self.tracker.state()
    }

    pub(super) fn last_count(&self) -> f64 {
        self.last_count
    }

    /// Noise of its readings, in counts: what stands for the spread until it is over.
    pub(super) fn noise_count(&self) -> f64 {
        self.tracker.noise_count()
    }

    /// Where it has been held for very long, in counts.
    pub(super) fn held_very_long(&self) -> Option<f64> {
        (self.to_ms - self.from_ms > VERY_LONG_MS).then_some(self.last_count)
    }

    /// Ends it.
    pub(super) fn finish(mut self, noise_floor_count: f64) -> Outcome {
        let ended = self.tracker.end();
        self.keep(ended);
        let longest = self.stretches.iter().max_by(|a, b| a.length_ms().total_cmp(&b.length_ms()));
        let Some(longest) = longest else {
            let total_ms = self.to_ms - self.from_ms;
            if total_ms < BLIP_MS {
                return Outcome::Blip;
            }
            let why = self.tracker.why_not(self.first_count, self.last_count, total_ms);
            return Outcome::Refused(why.into());
        };
        let noise_count = longest.spread_count.max(noise_floor_count);
        let apart_count = (TWO_PLACES_SIGMA * noise_count).max(TWO_PLACES_COUNT);
        let elsewhere = |s: &&Stretch| (s.median_count - longest.median_count).abs() > apart_count;
        match self.stretches.iter().find(elsewhere) {
            Some(other) => {
                let (first, second) =
                    if other.from_ms < longest.from_ms { (other, longest) } else { (longest, other) };
                Outcome::Refused(Refusal::TwoPlaces {
                    first_count: first.median_count,
                    second_count: second.median_count,
                })
            }
            None => Outcome::Settled(*longest),
        }
    }

    fn keep(&mut self, stretch: Option<Stretch>) {
        self.stretches.extend(stretch);
        if self.stretches.len() > MOST_STRETCHES {
            let shortest = (0..self.stretches.len())
                .min_by(|&a, &b| self.stretches[a].length_ms().total_cmp(&self.stretches[b].length_ms()));
            self.stretches.remove(shortest.unwrap_or(0));
        }
    }
}
