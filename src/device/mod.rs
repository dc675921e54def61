//! Conversations with the box, without a port: bytes and the time in, bytes and what happened out.
//! Knows no thread, no port and no screen.
//!
//! [`BoxSession`] speaks the link of room `wire` and carries out one [`BoxRequest`] after another;
//! [`Probe`] tells a box from a printer of plain numbers. Flashing is a job like the others, though it
//! speaks the bootloader's language (Atmel application note AVR061).

mod capture;
mod errand;
mod exchange;
mod finding;
mod firmware;
mod flash;
mod hex;
mod job;
mod read;
mod session;
mod stk;
#[cfg(test)]
mod tests;
pub mod timing;
mod write;

pub use finding::Probe;
pub use firmware::firmware;
pub use flash::{BOOTLOADER_RATES, FIRMWARE_MAX, FlashError};
pub use hex::{HexError, HexFault, firmware_bytes};
pub use job::{BoxReport, BoxRequest, Failure, Job, Phase, SlotBytes};
pub use session::{BoxSession, Step};
