//! The saved document: one vehicle. Text to value plus warnings, and back. Knows no file, no
//! clock and no screen.

pub mod banding;
mod model;

pub use model::{
    Button, ButtonId, Command, CommandId, FORMAT, Gesture, LearnedButton, Pair, Plan, Project, Stereo,
    Vehicle, Wheel, WireInfo,
};
