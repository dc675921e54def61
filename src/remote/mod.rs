//! Remote codes: what a family's marks and spaces mean, and back. Knows no wire, no stereo and no
//! names.
//!
//! A frame is marks and spaces in microseconds, mark first, as `[mark, space, mark, …]`.

mod code;

pub use code::{Code, FamilyId, Origin};
