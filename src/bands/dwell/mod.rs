//! The shortest dwell that is safe: every recorded press, the same presses as short taps, spikes and slow
//! presses that pass other rungs, sent through the box's own recogniser at each dwell from 1 to 64 ms.
//! Knows no names, no file and no clock.

mod bounds;
mod runs;
mod table;
mod trials;

pub use bounds::{CONFIDENCE, trials_for, upper_bound};
pub use runs::{chance_of_run, mean_wait};
pub use table::{DwellRow, DwellTable, Latency, Tally, Wanting, table};
pub use trials::{
    Input, PASS_MS, Played, SPIKE_MS, TAP_MS, Trial, TrialKind, Wheel, decide, passes, spikes, tap_of, trials,
};

#[cfg(test)]
mod tests;
