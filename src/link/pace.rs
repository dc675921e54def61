//! Time for what is played rather than read: the demo and replays. Knows not what is played.

use std::time::{Duration, Instant};

/// The longest step of real time that counts: after a machine has slept, what is played goes on
/// where it was.
const LONGEST_STEP: Duration = Duration::from_millis(250);

/// Played time, so many times faster than life.
#[derive(Clone, Debug)]
pub(super) struct Pace {
    speed: u32,
    at: Instant,
    played_ms: f64,
}

impl Pace {
    /// Begins at 0 ms. A speed of 0 has no pace: everything is due at once.
    pub(super) fn new(speed: u32, now: Instant) -> Self {
        Self { speed, at: now, played_ms: 0.0 }
    }

    /// Up to where it has to be played by now, in milliseconds.
    pub(super) fn due_ms(&mut self, now: Instant) -> f64 {
        if self.speed == 0 {
            return f64::INFINITY;
        }
        let step = now.saturating_duration_since(self.at).min(LONGEST_STEP);
        self.at = now;
        self.played_ms += step.as_secs_f64() * 1e3 * f64::from(self.speed);
        self.played_ms
    }

    /// It was played only so far, because nobody took it: time has stood still.
    pub(super) fn hold_at(&mut self, played_ms: f64) {
        self.played_ms = self.played_ms.min(played_ms);
    }

    /// Whether there is any waiting to do between steps.
    pub(super) fn is_paced(&self) -> bool {
        self.speed != 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn played_time_runs_at_its_speed_and_stands_still_where_nobody_takes_it() {
        let start = Instant::now();
        let mut pace = Pace::new(10, start);
        assert_eq!(pace.due_ms(start + Duration::from_millis(20)), 200.0);
        pace.hold_at(150.0);
        assert_eq!(pace.due_ms(start + Duration::from_millis(30)), 250.0);
        assert_eq!(pace.due_ms(start + Duration::from_secs(3600)), 250.0 + 2_500.0, "the machine slept");
        assert_eq!(Pace::new(0, start).due_ms(start), f64::INFINITY);
    }
}
