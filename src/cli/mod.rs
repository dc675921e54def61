//! The command line: one file per command.

pub mod bands;
pub mod check;
pub mod code;
pub mod node;
pub mod predict;
