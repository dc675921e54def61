//! The seat check as it is kept: each press that was asked for in the seat, and what the box made of it.
//! Knows no box and no clock: when and on what it was done are handed in.

use serde::{Deserialize, Serialize};

use super::{ButtonId, CommandId, Gesture};
use crate::bands::dwell::{CONFIDENCE, upper_bound};

/// A seat check, whole or as far as it came.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SeatCheck {
    /// When it ended, as a person writes it.
    pub on: String,
    /// The firmware it was done on, as the box says it.
    pub firmware: String,
    /// The checksum of the image it was done on.
    pub image_check: u16,
    /// How many presses were planned.
    pub planned: u32,
    /// How many presses the person took back because it was the wrong button by mistake.
    #[serde(default)]
    pub taken_back: u32,
    /// Each press, in the order they were made.
    pub presses: Vec<SeatPress>,
}

/// One press that was asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SeatPress {
    /// The button asked for.
    pub asked: ButtonId,
    /// Whether the engine was running.
    pub running: bool,
    /// Whether the buttons came at random.
    pub random: bool,
    /// What came of it.
    pub outcome: SeatOutcome,
    /// Where the reading had settled, in counts, 0 to 1024; `None` where nothing was recognised.
    #[serde(default)]
    pub count: Option<f64>,
    /// How far that is from the nearer edge of the recognised button's band, in counts.
    #[serde(default)]
    pub edge_count: Option<f64>,
    /// From leaving rest to being recognised, in milliseconds.
    #[serde(default)]
    pub latency_ms: Option<u16>,
    /// The gesture that followed, and from leaving rest to it, in milliseconds.
    #[serde(default)]
    pub gesture: Option<(Gesture, u16)>,
    /// What the stereo was sent.
    #[serde(default)]
    pub sent: Option<CommandId>,
}

/// What came of a press.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SeatOutcome {
    /// Recognised as what was asked for.
    #[default]
    Right,
    /// Recognised as another button.
    TakenAs(ButtonId),
    /// Not recognised.
    Unnoticed,
    /// Recognised, but the stereo did nothing: the person said so.
    StereoSilent,
}

impl SeatOutcome {
    /// Whether it counts as an error.
    #[must_use]
    pub fn is_error(&self) -> bool {
        *self != Self::Right
    }
}

/// So many presses, so many errors, and how many there may be at most.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SeatCount {
    /// Presses made.
    pub presses: u32,
    /// Errors among them.
    pub errors: u32,
    /// With 95 % confidence no more than this share of presses goes wrong, 0 to 1; 1 without presses.
    pub at_most: f64,
}

impl SeatCount {
    /// Of these presses.
    #[must_use]
    pub fn of<'a>(presses: impl IntoIterator<Item = &'a SeatPress>) -> Self {
        let (mut made, mut errors) = (0, 0);
        for press in presses {
            made += 1;
            errors += u32::from(press.outcome.is_error());
        }
        Self { presses: made, errors, at_most: upper_bound(errors, made, CONFIDENCE) }
    }

    /// So many presses and no error.
    #[must_use]
    pub fn without_error(presses: u32) -> Self {
        Self { presses, errors: 0, at_most: upper_bound(0, presses, CONFIDENCE) }
    }

    /// `at most 3.6 in 100`, rounded up, so that it never promises more than was shown.
    #[must_use]
    pub fn share_words(&self) -> String {
        let per_hundred = (self.at_most * 1_000.0 - 1e-9).ceil().min(1_000.0) / 10.0;
        format!("at most {per_hundred:.1} in 100")
    }

    /// `84 presses, 0 errors.`
    #[must_use]
    pub fn counted(&self) -> String {
        let errors = match self.errors {
            1 => "1 error".to_owned(),
            errors => format!("{errors} errors"),
        };
        let presses =
            if self.presses == 1 { "1 press".to_owned() } else { format!("{} presses", self.presses) };
        format!("{presses}, {errors}.")
    }

    /// The bound in words.
    #[must_use]
    pub fn bound(&self) -> String {
        if self.presses == 0 {
            return "Nothing is shown yet.".to_owned();
        }
        format!("At 95 % confidence {} presses go wrong.", self.share_words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(outcome: SeatOutcome) -> SeatPress {
        SeatPress {
            asked: ButtonId("next".to_owned()),
            running: false,
            random: false,
            outcome,
            count: None,
            edge_count: None,
            latency_ms: None,
            gesture: None,
            sent: None,
        }
    }

    #[test]
    fn the_statement_says_presses_errors_and_a_bound_that_is_rounded_up() {
        let all = vec![press(SeatOutcome::Right); 84];
        let count = SeatCount::of(&all);
        assert_eq!(
            format!("{} {}", count.counted(), count.bound()),
            "84 presses, 0 errors. At 95 % confidence at most 3.6 in 100 presses go wrong."
        );
        let mut all = vec![press(SeatOutcome::Right); 19];
        all.push(press(SeatOutcome::Unnoticed));
        // Clopper-Pearson, scipy.stats.beta.ppf(0.95, 2, 19) = 0.216106...
        assert_eq!(
            format!("{} {}", SeatCount::of(&all).counted(), SeatCount::of(&all).bound()),
            "20 presses, 1 error. At 95 % confidence at most 21.7 in 100 presses go wrong."
        );
        assert_eq!(SeatCount::of(&[]).bound(), "Nothing is shown yet.");
    }
}
