//! The link: one worker thread owns the port and talks to the rest in [`Request`]s down and
//! [`Report`]s up, both over bounded channels.

mod message;

pub use message::{Batch, DemoTouch, PortInfo, RATES, Report, Request, Target};
