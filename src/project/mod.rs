//! The saved document: one vehicle. Text to value plus warnings, and back. Knows no file, no
//! clock and no screen.

pub mod banding;
mod ids;
mod list;
mod model;
mod outline;
mod place;
mod predict;
mod readings;
#[cfg(test)]
pub(crate) mod samples;
mod scan;
mod text;
#[cfg(test)]
mod text_tests;
mod values;
mod words;

pub use banding::bands;
pub use ids::unique_id;
pub use list::{
    LineFault, ListFormat, ListMerge, ListRead, Listed, MAX_COMMAND_NAME, MAX_FAULTS, MAX_LIST_BYTES,
    read_list, write_list,
};
pub use model::{
    Button, ButtonId, Command, CommandId, FORMAT, Gesture, HeardPress, LearnedButton, Pair, Plan, Project,
    ReturnWire, Stereo, Sweep, SweepMark, Together, Vehicle, Wheel, WireInfo,
};
pub use place::{Place, Step};
pub use predict::{ButtonPrediction, PredictError, Prediction, RestPrediction};
pub use readings::{Limit, OddReading, ReadingRow, Readings, WireReadings, meter_text, odd_text};
pub use text::{MAX_BYTES, Opened, ReadError, ReadOnly, UnknownField, Warning, read, write};
pub use values::{
    EVERY_STEP_MS, Fault, MAX_BUTTONS, MAX_COMMANDS, MAX_HEARD, MAX_ID, MAX_NAME, MAX_NOTE, MAX_PAIRS,
    MAX_PRESSES, MAX_PULSES, MOST_ASKED, Range, can_repeat_every,
};
