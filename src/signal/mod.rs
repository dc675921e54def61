//! Readings on their way in: what a converter gave, the bounded recording, its envelope for
//! drawing, and settled stretches. Knows no buttons, no port and no clock: time is in the
//! readings.

mod chunk;
mod csv_fault;
mod csv_file;
mod door;
mod envelope;
mod lane;
mod reading;
mod recording;
mod settle;
#[cfg(test)]
mod tests;
mod times;

pub use csv_fault::{BadRow, CsvError, RowFault};
pub use csv_file::{CsvReader, CsvRecording, csv_header, csv_rows, read_csv};
pub use door::{Door, Taken};
pub use envelope::Column;
pub use reading::{Converter, Level, RawReading, Reading};
pub use recording::{FellOut, Recording};
pub use settle::{NotSettled, Settle, Settling, Stretch, Tracker, at_top, settled_part};
