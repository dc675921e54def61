//! What is kept of a press: its settled stretch in a few numbers.

use serde::{Deserialize, Serialize};

/// How a press was asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Touch {
    /// As one presses without thinking.
    #[default]
    Firm,
    /// Taking a second on the way down.
    Slow,
    /// Only just pressed.
    Light,
    /// Taken from the trace by hand.
    Picked,
}

/// One press of one button, as its settled stretch: between-press and within-press spread are
/// kept apart, because contact resistance moves the median and noise does not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Press {
    /// Median of the settled readings, in counts, 0 to 1024.
    pub median_count: f64,
    /// Standard deviation of the settled readings about their median, in counts; 0 or more.
    pub spread_count: f64,
    /// How many readings the settled stretch had; at least 1.
    pub readings: u32,
    /// How it was asked for.
    pub touch: Touch,
    /// How many settled readings fell on each whole count, for drawing them as they were; empty
    /// where that was not kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tally: Vec<(u16, u32)>,
}

/// What a wire reads with no button pressed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RestLevel {
    /// Median, in counts.
    pub median_count: f64,
    /// Standard deviation, in counts.
    pub spread_count: f64,
    /// How many readings.
    pub readings: u32,
}
