//! The command line: one file per command.

pub mod node;
pub mod predict;
pub mod check;
pub mod code;
