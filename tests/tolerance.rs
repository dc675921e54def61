//! Tolerance against what is known of it outside: worked examples, closed forms, the same model in
//! numpy, and the ladder and circuit as the other rooms compute them.
#![expect(clippy::expect_used, clippy::unwrap_used, reason = "the helpers of a test may fail it")]

#[path = "tolerance/case.rs"]
mod case;
#[path = "tolerance/chance.rs"]
mod chance;
#[path = "tolerance/corners.rs"]
mod corners;
#[path = "tolerance/numpy.rs"]
mod numpy;
