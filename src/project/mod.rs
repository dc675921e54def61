//! The saved document: one vehicle. Text to value plus warnings, and back. Knows no file, no
//! clock and no screen.

pub mod banding;
mod boxes;
mod dwell;
mod feed;
mod ids;
mod list;
#[cfg(test)]
mod meter_tests;
mod model;
pub mod netlist;
mod outline;
mod place;
mod predict;
mod readings;
mod recheck;
#[cfg(test)]
pub(crate) mod samples;
mod scan;
mod seat;
mod sense_choice;
mod stage;
mod text;
#[cfg(test)]
mod text_tests;
pub mod together;
#[cfg(test)]
mod together_tests;
mod values;
mod words;

pub use banding::bands;
pub use boxes::{Basis, BoxesError, BoxesPlan, BuiltBoxes, BuiltRung};
pub use dwell::{DwellChoice, DwellError, ReplayedPress, dwell_choice, dwell_input, replayed, settle_count};
pub use feed::{FEED_NOTICED_SHARE, FeedOff, feed_off, feed_off_at, planned_feed_v};
pub use ids::unique_id;
pub use list::{
    LineFault, ListFormat, ListMerge, ListRead, Listed, MAX_COMMAND_NAME, MAX_FAULTS, MAX_LIST_BYTES,
    read_list, write_list,
};
pub use model::{
    Button, ButtonId, Command, CommandId, FORMAT, Gesture, HeardPress, LearnedButton, Pair, Plan, Project,
    Recheck, ReturnWire, Stereo, Sweep, SweepMark, TwoMetered, Vehicle, Wheel, WireInfo,
};
pub use netlist::Netlist;
pub use place::{Place, Step};
pub use predict::{ButtonPrediction, PredictError, Prediction, RestPrediction};
pub use readings::{Limit, OddReading, ReadingRow, Readings, WireReadings, meter_text, odd_text};
pub use recheck::{Checked, checked};
pub use seat::{SeatCheck, SeatCount, SeatOutcome, SeatPress};
pub use sense_choice::{SenseChoice, SenseChoiceError, SenseCosts, bag_text};
pub use stage::{ASSUMED, ProjectStage, output_stage};
pub use text::{MAX_BYTES, Opened, ReadError, ReadOnly, UnknownField, Warning, read, write};
pub use together::{Falls, Harm, Reaches, Together, TogetherError, TwoButtons, together};
pub use values::{
    EVERY_STEP_MS, Fault, MAX_BUTTONS, MAX_COMMANDS, MAX_HEARD, MAX_ID, MAX_NAME, MAX_NOTE, MAX_PAIRS,
    MAX_PRESSES, MAX_PULSES, MOST_ASKED, Range, can_repeat_every,
};
