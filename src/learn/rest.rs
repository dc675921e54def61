//! Rest: learning it, and telling when a wire leaves it and is back. Knows no buttons.

use crate::bands::RestLevel;
use crate::signal::{Level, Reading, Settle, Settling, Stretch, Tracker};
use crate::units::{TOP_COUNT, WIRES};

/// A reading this many standard deviations from rest is away: two of three in a row are needed,
/// which noise alone gives once in some 10¹⁰ readings.
const LEAVE_SIGMA: f64 = 4.5;
/// No reading nearer than this is away, in counts.
const LEAVE_FLOOR_COUNT: f64 = 3.0;
/// At a rail half of the noise is cut off, and what is left looks this much smaller.
const RAIL_FACTOR: f64 = 2.0;
/// Rest follows slow drift with this time constant, in milliseconds: heat, not fingers.
const DRIFT_MS: f64 = 5_000.0;
/// A step in time counts for no more than this, in milliseconds.
const STEP_LIMIT_MS: f64 = 100.0;
/// How many readings rest must at least be learned from.
const REST_READINGS: u32 = 8;
/// A gap that ends the learning of rest, in milliseconds.
const REST_GAP_MS: f64 = 500.0;
/// After this without holding still, it is said that rest is unsteady, in milliseconds.
const UNSTEADY_MS: f64 = 4_000.0;

/// Rest of one wire while presses are waited for: cheap, because most readings are idle.
#[derive(Clone, Debug)]
pub(super) struct RestWatch {
    centre_steps: f64,
    leave_steps: f64,
    /// One bit a reading, the last one lowest: set where it was away.
    away: u8,
    last_ms: f64,
}

impl RestWatch {
    pub(super) fn new(level: &RestLevel, noise_floor_count: f64) -> Self {
        let mut noise_count = level.spread_count.max(noise_floor_count);
        let room_count = LEAVE_SIGMA * noise_count;
        if level.median_count < room_count || level.median_count > TOP_COUNT - room_count {
            noise_count *= RAIL_FACTOR;
        }
        let leave_count = (LEAVE_SIGMA * noise_count).max(LEAVE_FLOOR_COUNT);
        Self {
            centre_steps: level.median_count * Level::PER_COUNT,
            leave_steps: leave_count * Level::PER_COUNT,
            away: 0,
            last_ms: f64::NEG_INFINITY,
        }
    }

    /// Whether this reading is away from rest.
    pub(super) fn is_away(&self, level: Level) -> bool {
        level != Level::NONE && (f64::from(level.steps()) - self.centre_steps).abs() > self.leave_steps
    }

    /// Takes a reading while nothing is pressed: true where the wire has left rest.
    pub(super) fn has_left(&mut self, t_ms: f64, level: Level) -> bool {
        if level == Level::NONE {
            return false;
        }
        let off_steps = f64::from(level.steps()) - self.centre_steps;
        let away = off_steps.abs() > self.leave_steps;
        self.away = self.away << 1 | u8::from(away);
        if away {
            return (self.away & 0b111).count_ones() >= 2;
        }
        let step_ms = (t_ms - self.last_ms).clamp(0.0, STEP_LIMIT_MS);
        self.centre_steps += off_steps * step_ms / DRIFT_MS;
        self.last_ms = t_ms;
        false
    }

    /// Forgets what was away.
    pub(super) fn settle_again(&mut self) {
        self.away = 0;
    }
}

/// Learns rest, of each wire that there is.
#[derive(Clone, Debug)]
pub(super) struct RestLearner {
    trackers: [Tracker; WIRES],
    seen: [bool; WIRES],
    /// Wires that buttons are asked for on; all where none is named.
    wanted: [bool; WIRES],
    left_out: [bool; WIRES],
    from_ms: Option<f64>,
    now_ms: f64,
    want_ms: f64,
}

impl RestLearner {
    pub(super) fn new(settling: &Settling, rest_ms: f64, wanted: [bool; WIRES]) -> Self {
        let limits = Settling {
            window_ms: rest_ms,
            min_readings: REST_READINGS.max(settling.min_readings),
            gap_ms: REST_GAP_MS.max(settling.gap_ms),
            ..settling.clone()
        };
        let trackers = [(); WIRES].map(|()| Tracker::new(limits.clone()));
        Self {
            trackers,
            seen: [false; WIRES],
            wanted,
            left_out: [false; WIRES],
            from_ms: None,
            now_ms: 0.0,
            want_ms: rest_ms,
        }
    }

    pub(super) fn push(&mut self, reading: &Reading) {
        self.from_ms.get_or_insert(reading.t_ms);
        self.now_ms = reading.t_ms;
        for (wire, &level) in reading.wire.iter().enumerate() {
            if level != Level::NONE {
                self.seen[wire] = true;
            }
            if self.seen[wire] {
                self.trackers[wire].push(reading.t_ms, level);
            }
        }
    }

    /// Begins again, knowing which wires there are.
    pub(super) fn begin_again(&mut self) {
        for tracker in &mut self.trackers {
            tracker.lost();
        }
        self.from_ms = None;
    }

    /// The wires that matter, from 0: those wanted, or all where none of those is there.
    fn wires(&self) -> impl Iterator<Item = usize> + '_ {
        let there = move |wire: usize| self.seen[wire] && !self.left_out[wire];
        let any_wanted = (0..WIRES).any(|wire| there(wire) && self.wanted[wire]);
        (0..WIRES).filter(move |&wire| there(wire) && (self.wanted[wire] || !any_wanted))
    }

    /// Whether all wires that matter hold still: cheap, asked after every reading.
    pub(super) fn is_done(&self) -> bool {
        let mut wires = self.wires().peekable();
        wires.peek().is_some()
            && wires.all(|wire| matches!(self.trackers[wire].state(), Settle::Settled { .. }))
    }

    /// What each wire that matters reads, once all hold still.
    pub(super) fn levels(&self) -> Vec<(u8, RestLevel)> {
        let level = |stretch: Stretch| RestLevel {
            median_count: stretch.median_count,
            spread_count: stretch.spread_count,
            readings: stretch.readings,
        };
        self.wires()
            .filter_map(|wire| Some((wire as u8 + 1, level(self.trackers[wire].stretch()?))))
            .collect()
    }

    /// How far it is, 0 to 1.
    pub(super) fn progress(&self) -> f64 {
        let of = |wire: usize| match self.trackers[wire].state() {
            Settle::Moving => 0.0,
            Settle::Settling { progress, .. } => progress,
            Settle::Settled { .. } => 1.0,
        };
        self.wires().map(of).reduce(f64::min).unwrap_or(0.0)
    }

    /// The wire that keeps rest from being learned, with its noise in counts, once that has lasted
    /// too long.
    pub(super) fn unsteady(&self) -> Option<(u8, f64)> {
        let waited_ms = self.now_ms - self.from_ms?;
        if waited_ms < UNSTEADY_MS.max(2.0 * self.want_ms) {
            return None;
        }
        let moving = |&wire: &usize| !matches!(self.trackers[wire].state(), Settle::Settled { .. });
        self.wires().find(moving).map(|wire| (wire as u8 + 1, self.trackers[wire].noise_count()))
    }

    /// The unsteady wire where another one is steady, so that one can go on without it.
    pub(super) fn can_leave_out(&self) -> Option<u8> {
        let (wire, _) = self.unsteady()?;
        self.wires()
            .any(|other| matches!(self.trackers[other].state(), Settle::Settled { .. }))
            .then_some(wire)
    }

    pub(super) fn leave_out(&mut self, wire: u8) {
        if let Some(left_out) = usize::from(wire).checked_sub(1).and_then(|w| self.left_out.get_mut(w)) {
            *left_out = true;
        }
    }

    pub(super) fn left_out(&self) -> [bool; WIRES] {
        self.left_out
    }
}
