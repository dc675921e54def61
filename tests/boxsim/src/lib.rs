//! The box's own program, byte for byte, in a simulated ATmega328P at 16 MHz: its wires, its converter,
//! its link, its memory over a cut of power. For tests alone: it links simavr (GPL-3) and is never
//! published.
//!
//! The simulator's timing is corrected where it is known to be wrong; `tests/corrections.rs` pins each
//! correction. Not modelled at all, so nothing here speaks for them: brown-out, the converter's real
//! noise and source impedance, the capture noise canceller, baud tolerance, reset by DTR.

mod bench;
mod boot;
mod chip;
mod heard;
mod hex;
mod ladder;
mod pty;
mod served;

pub use bench::{Bench, MS, built, bursts, demo_body, demo_project, write_steps};
pub use boot::{Bootloader, bootloader};
pub use chip::{Chip, EEPROM_BYTES, Edge, FLASH_BYTES, HZ, TRUE_TIMING, Timing, Torn};
pub use heard::{BANDGAP_CHANNEL, Power};
pub use hex::parse_hex;
pub use ladder::{Contact, Ladder, Supply};
pub use served::{Order, Served, serve};

/// The firmware as it is kept beside its sources.
#[must_use]
pub fn firmware() -> Vec<u8> {
    kept("box.hex")
}

/// The plain-number probe as it is kept beside its source.
#[must_use]
pub fn probe() -> Vec<u8> {
    kept("probe/probe.hex")
}

fn kept(name: &str) -> Vec<u8> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../assets/firmware").join(name);
    match std::fs::read_to_string(&path) {
        Ok(text) => parse_hex(&text),
        Err(error) => panic!("{}: {error}. Build it with make in assets/firmware.", path.display()),
    }
}
