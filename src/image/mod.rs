//! The image kept in the box: a project as bytes, and back; what doesn't fit, and by how much; the C
//! header for people who build a firmware of their own. Knows no port.
//!
//! The layout is written down in DEVELOPERS.md, "The image"; the box reads it with
//! `assets/firmware/core/image.c`, which tests run on the same bytes.

mod model;

pub use model::{
    BODY_MAX, BUTTONS_MAX, Built, COMMANDS_MAX, EVERY_STEP_MS, FORMAT, FreeFamily, FreeRepeat, Image,
    ImageBand, ImageButton, ImageCode, ImageCommand, ImagePair, Misfit, PAIRS_MAX, RawRecord, ReferenceUse,
    Row,
};
