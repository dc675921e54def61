//! The prompted learning session: readings and commands in; events, a prompt and results out.
//! Time is in the readings. Knows no port, no screen and no file.
//!
//! Rest is learned first. Then each button is asked for, press by press; a press begins when a
//! wire leaves rest and counts once it is back. Rest is learned again at the end.

mod attempt;
mod prompt;
mod recorded;
mod refusal;
mod rest;
mod rungs;
pub mod seat;
mod session;
mod setup;
mod trace;

pub use prompt::{Command, Event, Hint, Mark, MarkState, Offer, Phase, PressState, Prompt};
pub use recorded::{Found, presses_in};
pub use refusal::Refusal;
pub use session::{ButtonResult, Session};
pub use setup::{Ask, KnownRung, Setup, touches};
pub use trace::{Owner, trace_around, trace_of};
