//! Tolerance: how far a reading may be off when nothing is quite what is printed on it, in three ways.
//! The worst case, at the corners that make it; the root sum square, by the law of propagation; and
//! by chance, box by box. Knows no buttons by name, no project and no thread.
//!
//! What is drawn for each box, and from what, is written at [`BoxModel`]; every draw is uniform between
//! its limits. Where only limits are known, any value between them is as likely as any other (NIST
//! TN 1297 §4.6; FACTS C5), and a resistor's maker promises no more than its limits.

mod engine;
mod lanes;
mod model;
mod tally;

pub use engine::{Limits, Propagated, root_sum_square, worst_case};
pub use model::{BoxDraws, BoxModel, BoxRung, BoxWire, CONDITIONS, Condition, Drifts, ModelError};
pub use tally::{BINS, BoxRun, BoxTally, CHUNK_BOXES, MOST_BOXES, MOST_RUNGS, RungTally};

#[cfg(test)]
mod tests;
