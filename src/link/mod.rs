//! The link: one worker thread owns the port and talks to the rest in [`Request`]s down and
//! [`Report`]s up, both over bounded channels.

mod box_talk;
mod demo;
mod handle;
mod message;
mod open_port;
mod outbox;
mod pace;
mod plain;
mod port;
mod queue;
mod rate;
mod replay;
mod serial;
mod session;
mod ticks;
mod worker;

pub use handle::{Link, SendError};
pub use message::{Batch, DemoTouch, PortInfo, RATES, Report, Request, Target};
pub use plain::{LONGEST_LINE, PlainParser, TOP_NUMBER, Tally};
pub use port::{BytePort, OpenError, Ports, READ_WAIT};
pub use rate::{Search, Verdict, judge};
pub use serial::SystemPorts;
