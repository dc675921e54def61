//! The image kept in the box: a project as bytes, and back; what doesn't fit, and by how much; the C
//! header for people who build a firmware of their own. Knows no port.
//!
//! The layout is written down in DEVELOPERS.md, "The image"; the box reads it with
//! `assets/firmware/core/image.c`.
//!
//! # What fits
//!
//! A slot has 480 bytes, 8 of them its header. Guaranteed together:
//!
//! | part | how many | bytes each | bytes |
//! | --- | --- | --- | --- |
//! | settings | 1 | 16 | 16 |
//! | rests | 2 wires | 4 | 8 |
//! | buttons | 16 | 4 | 64 |
//! | pairs | 48 | 2 | 96 |
//! | free family | 1 | 18 | 18 |
//! | raw codes | 2 of 100 edges (99 timings, 8 durations) and their head | 58, and 1 | 117 |
//! | left for the other 30 commands | | | 153 |
//!
//! Thirty commands take, with as many addresses as fit in those 153 bytes (a group has up to 16 commands
//! of one address):
//!
//! | family | a group's head | a command | one address | 30 addresses |
//! | --- | --- | --- | --- | --- |
//! | nec, rc5, rc6, sirc12, sirc15, pd16 | 2 | 1 | 34 | 90 |
//! | nec16, sirc20 | 3 | 1 | 36 | 120 |
//! | aeha | 3 | 4 | 126 | 210: too long; 11 groups are 153 |
//! | free, at its widest | 3 | 4 | 126 | 210: too long; 11 groups are 153 |
//!
//! So 30 commands of any family fit whatever their addresses, but for aeha and a free family of more than
//! 2 bytes of command, where they may be of 11 groups. A test computes these sums.

mod bytes;
mod codes;
mod compare;
mod delays;
mod free;
#[cfg(test)]
mod free_tests;
mod header;
mod make;
mod model;
mod raw;
mod read;
mod replay;
mod rules;
#[cfg(test)]
mod samples;
#[cfg(test)]
mod tests;

pub use bytes::{HEADER_BYTES, MAGIC, check, slot_bytes};
pub use codes::record;
pub use compare::compare;
pub use delays::Delays;
pub use free::free_as_timings;
pub use header::header;
pub use make::{build, mark};
pub use model::{
    BODY_MAX, BUTTONS_MAX, Built, COMMANDS_MAX, EVERY_STEP_MS, FORMAT, FreeFamily, FreeRepeat, Image,
    ImageBand, ImageButton, ImageCode, ImageCommand, ImagePair, Misfit, PAIRS_MAX, RawRecord, ReferenceUse,
    Row,
};
pub use raw::{MOST_SHARE, MOST_US};
pub use read::BodyError;
pub use replay::replay;
