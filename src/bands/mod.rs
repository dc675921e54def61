//! Bands: from presses to the ranges of counts in which a button is accepted, the reject gaps
//! between them, and how far each is from being mistaken. Knows no names, no file and no clock.
//!
//! Each rung has a centre (the median of its presses), a tolerance interval that holds a stated
//! share of all future readings with a stated confidence, and an accept band: the interval,
//! widened into the part of the gaps that no rung needs, but only once the place of every button
//! on the wire is known. What lies between two bands is rejected, never given to the nearer one.
//! Where the circuit's parts are known, a band reaches as far as they can drift it, and never to where
//! a neighbour can drift; a person may move its edges within that.

mod band;
mod chance;
mod compute;
mod contributions;
mod divider;
pub mod dwell;
mod edges;
mod gaussian;
mod layout;
mod learned_on;
mod meeting;
mod place;
mod press;
mod settle;
mod spread;
mod standing;
mod tolerance;
mod trace;
mod verdict;

pub use band::{Accept, Band, BandSet, BetweenSpread, Gap, Reach, Rung, Wire};
pub use chance::{Chance, misread, odds_text};
pub use compute::{ButtonInput, Input, Settings, bands};
pub use contributions::Contributions;
pub use edges::{DraggedEdges, Edge, EdgeStop, MovedEdge, MovedEdges};
pub use gaussian::{Normal, mean_error, minimum_error_threshold, upper_tail};
pub use learned_on::LearnedOn;
pub use meeting::Meeting;
pub use press::{Press, RestLevel, Touch};
pub use settle::{auto_settle_count, noise_count};
pub use spread::{ASSUMED_BETWEEN_COUNT, ASSUMED_BETWEEN_OHM, ASSUMED_WITHIN_COUNT, LEAST_FREEDOM};
pub use tolerance::{SHARE_RANGE, Tolerance, howe_factor};
pub use trace::{PressTrace, TRACE_READINGS_MAX, TRACES_BYTES_MAX, TraceError, TraceText, bound_traces};
pub use verdict::{Grade, Verdict};
