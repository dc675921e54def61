//! Conversations with the box, without a port: bytes and the time in, bytes and what happened out.
//! Knows no thread, no port and no screen.

mod job;

pub use job::{BoxReport, BoxRequest, Failure, Job, Phase, SlotBytes};
