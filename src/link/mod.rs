//! The link: one worker thread owns the port and talks to the rest in [`Request`]s down and
//! [`Report`]s up, both over bounded channels.

mod message;
mod plain;
mod rate;

pub use message::{Batch, DemoTouch, PortInfo, RATES, Report, Request, Target};
pub use plain::{LONGEST_LINE, PlainParser, TOP_NUMBER, Tally};
pub use rate::{Search, Verdict, judge};
