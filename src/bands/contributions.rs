//! What a band is made of: how far each cause moves a reading, to either side. Knows no names.

use crate::circuit::{Drift, Shift};

/// How far each cause moves a reading from its centre, in counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Contributions {
    /// The noise within a press.
    pub noise: Shift,
    /// From press to press.
    pub between: Shift,
    /// The feed off its plan.
    pub feed: Shift,
    /// Cold and heat.
    pub temperature: Shift,
    /// The contact's wear.
    pub wear: Shift,
    /// What the converter measures against.
    pub reference: Shift,
    /// The converter's own error.
    pub converter: Shift,
}

impl Contributions {
    /// The names, in the order of [`Contributions::parts`].
    pub const NAMES: [&'static str; 7] =
        ["noise", "between presses", "feed", "temperature", "wear", "reference", "converter"];

    /// From a rung's tolerance interval, of which noise and spread between presses each have the share of
    /// the variance that is theirs, and from what the circuit can drift.
    pub(super) fn of(interval: Shift, within_share: f64, drift: &Drift) -> Self {
        let share = |share: f64| Shift {
            down_count: interval.down_count * share,
            up_count: interval.up_count * share,
        };
        Self {
            noise: share(within_share),
            between: share(1.0 - within_share),
            feed: drift.feed,
            temperature: drift.temperature,
            wear: drift.wear,
            reference: drift.reference,
            converter: drift.converter,
        }
    }

    /// Each of them, from the centre outwards as a stacked bar has them.
    #[must_use]
    pub const fn parts(&self) -> [Shift; 7] {
        [self.noise, self.between, self.feed, self.temperature, self.wear, self.reference, self.converter]
    }

    /// One after the other: how long the bar is.
    #[must_use]
    pub fn sum(&self) -> Shift {
        self.parts().into_iter().fold(Shift::default(), Shift::plus)
    }
}
