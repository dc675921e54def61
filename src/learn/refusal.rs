//! Why a press was not taken, in words that quote the reading. Knows no screen.

use crate::project::ButtonId;
use crate::signal::NotSettled;
use crate::units::{count_text, time_text};

/// Why a press was not taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// It settled where another button was learned.
    OnRung {
        /// The button asked for.
        asked: String,
        /// Whose rung it is.
        other: ButtonId,
        /// What that button is called.
        other_name: String,
        /// Where it settled, in counts.
        count: f64,
        /// That rung's lower edge, in counts.
        low_count: f64,
        /// That rung's upper edge, in counts.
        high_count: f64,
    },
    /// It held still, but not for long enough.
    TooShort {
        /// For how long, in milliseconds.
        settled_ms: f64,
        /// What is wanted, in milliseconds.
        wanted_ms: f64,
    },
    /// It held still for too few readings.
    TooFew {
        /// How many.
        readings: u32,
        /// What is wanted.
        wanted: u32,
    },
    /// Too noisy to learn from.
    TooNoisy {
        /// Standard deviation, in counts.
        spread_count: f64,
        /// The limit, in counts.
        limit_count: f64,
    },
    /// It settled where the converter sees no further.
    AtTop {
        /// Where, in counts.
        count: f64,
    },
    /// It settled elsewhere than this button's first press.
    Differs {
        /// The button asked for.
        asked: String,
        /// Where it settled, in counts.
        count: f64,
        /// Where the first press settled, in counts.
        first_count: f64,
    },
    /// It settled at two places.
    TwoPlaces {
        /// The first, in counts.
        first_count: f64,
        /// The second, in counts.
        second_count: f64,
    },
    /// It moved a wire that is not this button's.
    OtherWire {
        /// The button asked for.
        asked: String,
        /// Where it settled, in counts.
        count: f64,
        /// The wire that moved, 1 or 2.
        wire: u8,
        /// The button's wire.
        wanted: u8,
    },
    /// It moved all the time.
    NeverSettled {
        /// Where it began, in counts.
        from_count: f64,
        /// Where it ended, in counts.
        to_count: f64,
    },
}

impl Refusal {
    /// The whole reason with its reading, and what to do.
    #[must_use]
    pub fn text(&self) -> String {
        let whole = |count: &f64| count_text(*count, 0);
        match self {
            Self::OnRung { asked, other_name, count, low_count, high_count, .. } => format!(
                "Not taken for {asked}. It settled at {}, on {other_name}'s rung, {} to {}. Press {asked} again.",
                whole(count),
                whole(low_count),
                whole(high_count)
            ),
            Self::TooShort { settled_ms, wanted_ms } => {
                format!("Too short: {} settled, {} wanted.", time_text(*settled_ms), time_text(*wanted_ms))
            }
            Self::TooFew { readings, wanted } => {
                format!("Too few readings: {readings} settled, {wanted} wanted. Hold the button longer.")
            }
            Self::TooNoisy { spread_count, limit_count } => format!(
                "Too noisy: ± {} counts, at most {} wanted. Check the return wire and the ground.",
                count_text(*spread_count, 1),
                count_text(*limit_count, 1)
            ),
            Self::AtTop { count } => {
                format!("At the top of the range: {}. Check the return wire.", whole(count))
            }
            Self::Differs { asked, count, first_count } => format!(
                "Not taken for {asked}. It settled at {}, {} counts from its first press at {}. Press {asked} again.",
                whole(count),
                whole(&(count - first_count).abs()),
                whole(first_count)
            ),
            Self::TwoPlaces { first_count, second_count } => format!(
                "It settled at two places, {} and {}. Press one button, and hold it still.",
                whole(first_count),
                whole(second_count)
            ),
            Self::OtherWire { asked, count, wire, wanted } => format!(
                "Not taken for {asked}. Wire {wire} moved, to {}; {asked} is on wire {wanted}. Press {asked} again.",
                whole(count)
            ),
            Self::NeverSettled { from_count, to_count } => format!(
                "It never settled: from {} to {}. Hold the button still.",
                whole(from_count),
                whole(to_count)
            ),
        }
    }

    /// The reason in a few words, for the state panel under the reading.
    #[must_use]
    pub fn headline(&self) -> String {
        match self {
            Self::OnRung { other_name, .. } => format!("On {other_name}'s rung"),
            Self::TooShort { .. } => "Too short".to_owned(),
            Self::TooFew { .. } => "Too few readings".to_owned(),
            Self::TooNoisy { .. } => "Too noisy".to_owned(),
            Self::AtTop { .. } => "At the top of the range".to_owned(),
            Self::Differs { .. } => "Not where it was first".to_owned(),
            Self::TwoPlaces { .. } => "Settled at two places".to_owned(),
            Self::OtherWire { wire, .. } => format!("On wire {wire}"),
            Self::NeverSettled { .. } => "Never settled".to_owned(),
        }
    }

    /// The reading it quotes, in counts, where there is one.
    #[must_use]
    pub fn count(&self) -> Option<f64> {
        match self {
            Self::OnRung { count, .. }
            | Self::AtTop { count }
            | Self::Differs { count, .. }
            | Self::OtherWire { count, .. } => Some(*count),
            Self::TwoPlaces { second_count, .. } => Some(*second_count),
            Self::NeverSettled { to_count, .. } => Some(*to_count),
            Self::TooShort { .. } | Self::TooFew { .. } | Self::TooNoisy { .. } => None,
        }
    }
}

impl From<NotSettled> for Refusal {
    fn from(why: NotSettled) -> Self {
        match why {
            NotSettled::Empty => Self::TooFew { readings: 0, wanted: 1 },
            NotSettled::TooShort { settled_ms, wanted_ms } => Self::TooShort { settled_ms, wanted_ms },
            NotSettled::TooFew { readings, wanted } => Self::TooFew { readings, wanted },
            NotSettled::TooNoisy { spread_count, limit_count } => {
                Self::TooNoisy { spread_count, limit_count }
            }
            NotSettled::Moving { from_count, to_count } => Self::NeverSettled { from_count, to_count },
            NotSettled::AtTop { count } => Self::AtTop { count },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_is_said_with_its_reading() {
        let mute = || "Mute".to_owned();
        let said = [
            Refusal::OnRung {
                asked: mute(),
                other: ButtonId("source".to_owned()),
                other_name: "Source".to_owned(),
                count: 552.0,
                low_count: 540.0,
                high_count: 614.0,
            },
            Refusal::TooShort { settled_ms: 120.0, wanted_ms: 300.0 },
            Refusal::TooFew { readings: 3, wanted: 5 },
            Refusal::TooNoisy { spread_count: 11.23, limit_count: 8.0 },
            Refusal::AtTop { count: 1023.0 },
            Refusal::Differs { asked: mute(), count: 552.0, first_count: 849.0 },
            Refusal::TwoPlaces { first_count: 552.0, second_count: 849.0 },
            Refusal::OtherWire { asked: mute(), count: 552.0, wire: 2, wanted: 1 },
            Refusal::NeverSettled { from_count: 950.0, to_count: 310.0 },
        ]
        .map(|refusal| refusal.text());
        assert_eq!(
            said,
            [
                "Not taken for Mute. It settled at 552, on Source's rung, 540 to 614. Press Mute again.",
                "Too short: 0.12 s settled, 0.30 s wanted.",
                "Too few readings: 3 settled, 5 wanted. Hold the button longer.",
                "Too noisy: ± 11.2 counts, at most 8.0 wanted. Check the return wire and the ground.",
                "At the top of the range: 1023. Check the return wire.",
                "Not taken for Mute. It settled at 552, 297 counts from its first press at 849. Press Mute again.",
                "It settled at two places, 552 and 849. Press one button, and hold it still.",
                "Not taken for Mute. Wire 2 moved, to 552; Mute is on wire 1. Press Mute again.",
                "It never settled: from 950 to 310. Hold the button still.",
            ]
        );
    }
}
