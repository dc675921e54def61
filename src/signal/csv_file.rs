//! Raw readings as a CSV file, `t_ms,wire1[,wire2][,feed]`: how a recording is kept whole, and how it is
//! replayed. Knows no paths: it writes into text and reads from anything that gives bytes.

use std::{
    fmt::Write as _,
    io::{self, Read},
};

use csv::{ByteRecord, ReaderBuilder};

use super::{
    RawReading,
    csv_fault::{BadRow, CsvError, LONGEST_LINE, LongLine, RowFault, quoted},
};
use crate::units::WIRES;

/// Rows that could not be taken are listed up to this many; beyond, they are only counted.
const BAD_ROWS_LISTED: usize = 100;

/// The most readings [`read_csv`] holds: four hours at 1 kHz, 230 MB.
const READINGS_HELD: usize = 14_400_000;

/// A time beyond this many milliseconds, 115 days, is a slip: taking it would make every later
/// row run backwards.
const LATEST_MS: f64 = 1e10;

/// A file's readings, with what could not be read.
#[derive(Clone, Debug, PartialEq)]
pub struct CsvRecording {
    /// The readings, in order.
    pub readings: Vec<RawReading>,
    /// How many wires the file has columns for: 1 or 2.
    pub wires: usize,
    /// Whether the file has a column for the feed monitor.
    pub has_feed: bool,
    /// The first hundred rows that hold no reading.
    pub bad_rows: Vec<BadRow>,
    /// How many rows hold no reading, listed or not.
    pub bad_row_count: u64,
    /// Whether the file has more readings than can be held, four hours at 1 kHz; the rest was left
    /// in the file.
    pub cut_short: bool,
}

/// The line of names for recordings of 1 or 2 wires, with or without the feed monitor.
#[must_use]
pub const fn csv_header(wires: usize, has_feed: bool) -> &'static str {
    match (wires < WIRES, has_feed) {
        (true, false) => "t_ms,wire1\n",
        (true, true) => "t_ms,wire1,feed\n",
        (false, false) => "t_ms,wire1,wire2\n",
        (false, true) => "t_ms,wire1,wire2,feed\n",
    }
}

/// Adds one row per reading to `out`, under [`csv_header`] of the same columns. Times are
/// written to the microsecond; what is not there is left empty.
pub fn csv_rows(readings: &[RawReading], wires: usize, has_feed: bool, out: &mut String) {
    for reading in readings {
        if reading.t_ms.is_finite() {
            // Writing into a String can't fail.
            let _ = write!(out, "{}", (reading.t_ms * 1e3).round() / 1e3);
        }
        let feed = has_feed.then_some(&reading.feed);
        for &number in reading.raw[..wires.clamp(1, WIRES)].iter().chain(feed) {
            out.push(',');
            if number != RawReading::NONE {
                let _ = write!(out, "{number}");
            }
        }
        out.push('\n');
    }
}

/// Reads a whole file. Rows that hold no reading are listed and left out; a file that holds none
/// at all is an error.
///
/// # Errors
/// [`CsvError`] where the file is empty, has no names, no reading, or can't be read to its end.
pub fn read_csv(input: impl Read) -> Result<CsvRecording, CsvError> {
    let mut reader = CsvReader::new(input)?;
    let mut readings = Vec::new();
    let mut cut_short = false;
    while let Some(reading) = reader.next_reading()? {
        if readings.len() == READINGS_HELD {
            cut_short = true;
            break;
        }
        readings.push(reading);
    }
    let has_feed = reader.has_feed();
    let CsvReader { wires, bad_rows, bad_row_count, .. } = reader;
    if readings.is_empty() {
        return Err(CsvError::NoReading { rows: bad_row_count, first: bad_rows.into_iter().next() });
    }
    Ok(CsvRecording { readings, wires, has_feed, bad_rows, bad_row_count, cut_short })
}

/// Reads a file reading by reading, however long it is.
pub struct CsvReader<R> {
    rows: csv::Reader<LineGuard<R>>,
    row: ByteRecord,
    time_column: usize,
    wire_columns: [Option<usize>; WIRES],
    feed_column: Option<usize>,
    wires: usize,
    last_ms: f64,
    bad_rows: Vec<BadRow>,
    bad_row_count: u64,
}

impl<R: Read> CsvReader<R> {
    /// Reads the line of names. Names may stand in any order and case; other columns are passed
    /// over.
    ///
    /// # Errors
    /// [`CsvError`] where there is no line, or a name is missing in it.
    pub fn new(input: R) -> Result<Self, CsvError> {
        // Quotes are not obeyed, so that a stray one can't swallow the rest of the file; those
        // that a spreadsheet puts round a field are taken off in `field`.
        let mut rows = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .quoting(false)
            .buffer_capacity(1 << 16)
            .from_reader(LineGuard { input, line_len: 0 });
        let mut row = ByteRecord::new();
        if !read_row(&mut rows, &mut row)? {
            return Err(CsvError::Empty);
        }
        let column = |name: &str| {
            (0..row.len()).find(|&at| field(&row, Some(at)).eq_ignore_ascii_case(name.as_bytes()))
        };
        let needed = |name: &'static str| {
            column(name).ok_or_else(|| {
                let found: Vec<&[u8]> = row.iter().map(<[u8]>::trim_ascii).collect();
                CsvError::Header { wanted: name, found: quoted(&found.join(&b',')) }
            })
        };
        let time_column = needed("t_ms")?;
        let wire_columns = [Some(needed("wire1")?), column("wire2")];
        let feed_column = column("feed");
        let wires = wire_columns.iter().flatten().count();
        Ok(Self {
            rows,
            row,
            time_column,
            wire_columns,
            feed_column,
            wires,
            last_ms: 0.0,
            bad_rows: Vec::new(),
            bad_row_count: 0,
        })
    }

    /// How many wires the file has columns for: 1 or 2.
    #[must_use]
    pub fn wires(&self) -> usize {
        self.wires
    }

    /// Whether the file has a column for the feed monitor.
    #[must_use]
    pub fn has_feed(&self) -> bool {
        self.feed_column.is_some()
    }

    /// The first hundred rows so far that hold no reading.
    #[must_use]
    pub fn bad_rows(&self) -> &[BadRow] {
        &self.bad_rows
    }

    /// How many rows so far hold no reading, listed or not.
    #[must_use]
    pub fn bad_row_count(&self) -> u64 {
        self.bad_row_count
    }

    /// The next reading, or `None` at the end of the file. Rows that hold none are passed over
    /// and counted.
    ///
    /// # Errors
    /// [`CsvError::Read`] or [`CsvError::LongLine`] where the file can't be read on.
    pub fn next_reading(&mut self) -> Result<Option<RawReading>, CsvError> {
        while read_row(&mut self.rows, &mut self.row)? {
            match self.reading() {
                Ok(reading) => {
                    self.last_ms = reading.t_ms;
                    return Ok(Some(reading));
                }
                Err(fault) => {
                    self.bad_row_count += 1;
                    if self.bad_rows.len() < BAD_ROWS_LISTED {
                        let line = self.row.position().map_or(0, csv::Position::line);
                        self.bad_rows.push(BadRow { line, fault });
                    }
                }
            }
        }
        Ok(None)
    }

    /// The reading in the current row.
    fn reading(&self) -> Result<RawReading, RowFault> {
        let t_ms = self
            .row
            .get(self.time_column)
            .and_then(plain_ms)
            .or_else(|| parsed::<f64>(field(&self.row, Some(self.time_column))))
            .filter(|t_ms| (0.0..=LATEST_MS).contains(t_ms))
            .ok_or_else(|| RowFault::Time(quoted(field(&self.row, Some(self.time_column)))))?;
        if t_ms < self.last_ms {
            return Err(RowFault::Backwards { from_ms: self.last_ms, to_ms: t_ms });
        }
        let mut raw = [RawReading::NONE; WIRES];
        for (wire, number) in raw.iter_mut().enumerate() {
            *number = self
                .number(self.wire_columns[wire])
                .map_err(|text| RowFault::Number { wire: wire + 1, text: quoted(text) })?;
        }
        if raw == [RawReading::NONE; WIRES] {
            return Err(RowFault::NoNumber);
        }
        let feed = self.number(self.feed_column).map_err(|text| RowFault::Feed(quoted(text)))?;
        Ok(RawReading { t_ms, raw, feed })
    }

    /// The converter's number in a column of the current row, [`RawReading::NONE`] where there is none;
    /// else what stands there.
    fn number(&self, column: Option<usize>) -> Result<u16, &[u8]> {
        let Some(text) = column.and_then(|column| self.row.get(column)) else { return Ok(RawReading::NONE) };
        plain_number(text).map_or_else(
            || {
                let text = field(&self.row, column);
                reading_in(text).ok_or(text)
            },
            Ok,
        )
    }
}

/// The converter's number in a field, [`RawReading::NONE`] where it is empty.
fn reading_in(text: &[u8]) -> Option<u16> {
    if text.is_empty() {
        Some(RawReading::NONE)
    } else {
        parsed(text).filter(|number| *number <= RawReading::TOP)
    }
}

/// A converter's number of up to four digits and nothing else, like nearly all; `None` for any other way
/// to write one, which is then left to [`reading_in`].
fn plain_number(text: &[u8]) -> Option<u16> {
    if !(1..=4).contains(&text.len()) {
        return None;
    }
    let mut number = 0;
    for byte in text {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            return None;
        }
        number = 10 * number + u16::from(digit);
    }
    (number <= RawReading::TOP).then_some(number)
}

/// A time of digits and at most one point, like nearly all: `None` for any other way to write one, which
/// is then left to [`parsed`]. As exact as that: both the digits as one whole number, below 2⁵³, and the
/// power of ten have no error, and so the one division rounds once (Clinger, "How to read floating point
/// numbers accurately", PLDI 1990).
fn plain_ms(text: &[u8]) -> Option<f64> {
    const TENS: [f64; 16] =
        [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    if text.len() > TENS.len() {
        return None;
    }
    let (mut whole, mut behind, mut point) = (0_u64, 0, false);
    for &byte in text {
        match byte {
            b'0'..=b'9' => {
                whole = 10 * whole + u64::from(byte - b'0');
                behind += usize::from(point);
            }
            b'.' if !point => point = true,
            _ => return None,
        }
    }
    let digits = text.len() - usize::from(point);
    // Fifteen digits are below 2⁵³.
    (1..TENS.len())
        .contains(&digits)
        .then(|| if behind == 0 { whole as f64 } else { whole as f64 / TENS[behind] })
}

/// Reads the next row into `row`; `false` at the end.
fn read_row<R: Read>(rows: &mut csv::Reader<LineGuard<R>>, row: &mut ByteRecord) -> Result<bool, CsvError> {
    rows.read_byte_record(row).map_err(|error| {
        let line = rows.position().line();
        let source = match error.into_kind() {
            csv::ErrorKind::Io(source) => source,
            other => io::Error::other(format!("{other:?}")),
        };
        if source.get_ref().is_some_and(|inner| inner.is::<LongLine>()) {
            CsvError::LongLine { line }
        } else {
            CsvError::Read { line, source }
        }
    })
}

/// A row's field without the quotes round it; empty where it is not there.
fn field(row: &ByteRecord, column: Option<usize>) -> &[u8] {
    // Trimmed here: for the reader to do it, it would make a new row of each.
    let text = column.and_then(|column| row.get(column)).unwrap_or_default().trim_ascii();
    match text {
        [b'"', inner @ .., b'"'] => inner.trim_ascii(),
        _ => text,
    }
}

fn parsed<T: std::str::FromStr>(text: &[u8]) -> Option<T> {
    std::str::from_utf8(text).ok()?.parse().ok()
}

/// Hands bytes through, and stops at a line no recording has, before it fills the memory.
struct LineGuard<R> {
    input: R,
    line_len: usize,
}

impl<R: Read> Read for LineGuard<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let len = self.input.read(buffer)?;
        let read = &buffer[..len];
        let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
        self.line_len = match read.iter().rposition(is_end) {
            Some(end) => len - end,
            None => self.line_len + len,
        };
        if self.line_len > LONGEST_LINE {
            return Err(io::Error::new(io::ErrorKind::InvalidData, LongLine));
        }
        Ok(len)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> CsvRecording {
        read_csv(text.as_bytes()).unwrap()
    }

    fn error(text: &str) -> String {
        read_csv(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn a_file_is_read_whatever_ends_its_lines_and_whatever_else_it_holds() {
        let wanted = [
            RawReading { feed: RawReading::NONE, t_ms: 0.0, raw: [512, 3] },
            RawReading { feed: RawReading::NONE, t_ms: 1.5, raw: [RawReading::NONE, 4] },
            RawReading { feed: RawReading::NONE, t_ms: 1.5, raw: [4095, RawReading::NONE] },
        ];
        for text in [
            "t_ms,wire1,wire2\n0,512,3\n1.5,,4\n1.5,4095,\n",
            "t_ms,wire1,wire2,volt\r\n0,512,3,4.9\r\n\r\n1.5,,4,4.9\r\n1.5,4095,,x",
            "\u{feff}T_ms, Wire1 ,wire2\r0, 512 ,3\r1.5, ,4\r1.5,4095\r",
            "\"wire2\",\"t_ms\",\"wire1\"\n3,0,512\n\"4\",\"1.5\",\"\"\n,1.5,4095\n",
        ] {
            let recording = read(text);
            assert_eq!(recording.readings, wanted, "{text}");
            assert_eq!((recording.wires, recording.bad_row_count, recording.cut_short), (2, 0, false));
        }
    }

    #[test]
    fn the_feed_monitors_number_is_read_where_there_is_a_column_for_it() {
        let recording = read("t_ms,wire1,wire2,feed\n0,512,3,900\n1,512,3,\n2,1,2,4096\n");
        let feeds: Vec<u16> = recording.readings.iter().map(|reading| reading.feed).collect();
        assert_eq!((recording.wires, recording.has_feed), (2, true));
        assert_eq!(feeds, [900, RawReading::NONE]);
        assert_eq!(
            recording.bad_rows[0].to_string(),
            "Line 4: the feed is “4096”, not a whole number from 0 to 4095."
        );
        let one = read("feed,t_ms,wire1\n7,5,6\n");
        assert_eq!((one.wires, one.has_feed, one.readings[0].feed), (1, true, 7));
        assert!(!read("t_ms,wire1\n5,6\n").has_feed);
    }

    #[test]
    fn a_row_that_holds_no_reading_is_listed_with_its_line_and_the_rest_is_taken() {
        let recording = read(
            "t_ms,wire1,wire2\n1,2,3\nnoon,4,5\n-1,4,5\nNaN,4,5\n2,4096,5\n2,4,5.5\n2,,\n0.5,4,5\n3\n4,6,7\n\"5,6,7\n",
        );
        let good: Vec<f64> = recording.readings.iter().map(|reading| reading.t_ms).collect();
        assert_eq!(good, [1.0, 4.0]);
        let said: Vec<String> = recording.bad_rows.iter().map(BadRow::to_string).collect();
        assert_eq!(
            said,
            [
                "Line 3: the time is “noon”, not a number of milliseconds.",
                "Line 4: the time is “-1”, not a number of milliseconds.",
                "Line 5: the time is “NaN”, not a number of milliseconds.",
                "Line 6: wire 1 is “4096”, not a whole number from 0 to 4095.",
                "Line 7: wire 2 is “5.5”, not a whole number from 0 to 4095.",
                "Line 8: no wire has a number.",
                "Line 9: the time runs backwards, from 1 to 0.5 ms.",
                "Line 10: no wire has a number.",
                "Line 12: the time is “\"5”, not a number of milliseconds.",
            ]
        );
    }

    #[test]
    fn bad_rows_without_end_are_counted_but_not_piled_up() {
        let text = format!("t_ms,wire1\n0,1\n{}", "x\n".repeat(5_000));
        let recording = read(&text);
        assert_eq!((recording.bad_rows.len(), recording.bad_row_count), (100, 5_000));
    }

    #[test]
    fn a_file_without_a_recording_says_what_is_wrong_and_what_to_do() {
        let begins = "A recording begins with the line t_ms,wire1 or t_ms,wire1,wire2";
        assert_eq!(error(""), format!("The file is empty. {begins}."));
        assert_eq!(error("\r\n\r\n"), format!("The file is empty. {begins}."));
        assert_eq!(
            error("0,512\n1,513\n"),
            format!(
                "The first line is “0,512”, without a column t_ms. {begins}: add it above the readings, or \
                 choose another file."
            )
        );
        assert_eq!(
            error("t_ms;wire1\n"),
            format!(
                "The first line is “t_ms;wire1”, without a column t_ms. {begins}: add it above the readings, \
                 or choose another file."
            )
        );
        assert_eq!(
            error("t_ms,wire1\n0;512\n"),
            "None of 1 rows holds a reading. Line 2: the time is “0;512”, not a number of milliseconds. \
             Choose another file, or mend this one."
        );
        assert_eq!(
            error("t_ms,wire1\n"),
            "None of 0 rows holds a reading. Choose another file, or mend this one."
        );
    }

    #[test]
    fn a_line_without_end_is_refused_before_it_fills_the_memory() {
        let endless = "t_ms,wire1\n0,1\n".as_bytes().chain(io::repeat(b'7'));
        assert_eq!(
            read_csv(endless).unwrap_err().to_string(),
            "A line near line 3 is longer than 65536 bytes, so this is not a recording. Choose another file."
        );
        assert!(matches!(read_csv(io::repeat(0)), Err(CsvError::LongLine { .. })));
    }

    #[test]
    fn a_file_that_goes_away_while_it_is_read_says_where() {
        struct Gone;
        impl Read for Gone {
            fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
                Err(io::Error::other("the device is gone"))
            }
        }
        let input = "t_ms,wire1\n0,1\n1,2\n".as_bytes().chain(Gone);
        assert_eq!(
            read_csv(input).unwrap_err().to_string(),
            "Reading stopped after line 4: the device is gone. Copy the file to this computer and open the copy."
        );
    }

    proptest! {
        #[test]
        fn a_time_is_read_to_the_last_digit(text in "[0-9]{0,12}[.]?[0-9]{0,6}|[0-9.eE+-]{0,18}") {
            let std: Option<f64> = text.parse().ok();
            if let Some(plain) = plain_ms(text.as_bytes()) {
                prop_assert_eq!(Some(plain.to_bits()), std.map(f64::to_bits), "{}", text);
            } else {
                // What is left to the other way is short of nothing usual.
                let is_usual = text.len() < 15 && text.bytes().all(|byte| byte.is_ascii_digit());
                prop_assert!(text.is_empty() || !is_usual, "{}", text);
            }
        }

        #[test]
        fn a_number_is_read_as_any_whole_number_is(text in "[+]?[0-9]{1,7}") {
            let std = text.parse::<u16>().ok().filter(|number| *number <= RawReading::TOP);
            prop_assert_eq!(plain_number(text.as_bytes()).or_else(|| reading_in(text.as_bytes())), std);
            let is_plain = text.len() <= 4 && !text.starts_with('+') && std.is_some();
            prop_assert_eq!(plain_number(text.as_bytes()).is_some(), is_plain, "{}", text);
        }

        #[test]
        fn what_is_written_is_read_back(
            rows in proptest::collection::vec((0_u32..5_000_000, 0..=4095_u16, 0..=4095_u16), 1..200),
            wires in 1..=WIRES,
            has_feed in any::<bool>(),
        ) {
            let mut t_us = 0.0;
            let readings: Vec<RawReading> = rows.iter().map(|&(step_us, first, second)| {
                t_us += f64::from(step_us);
                let feed = if has_feed { second } else { RawReading::NONE };
                let second = if wires == 2 { second } else { RawReading::NONE };
                RawReading { feed, t_ms: t_us / 1e3, raw: [first, second] }
            }).collect();
            let mut text = csv_header(wires, has_feed).to_owned();
            csv_rows(&readings, wires, has_feed, &mut text);
            let recording = read(&text);
            prop_assert_eq!((recording.wires, recording.has_feed), (wires, has_feed));
            prop_assert_eq!(recording.bad_row_count, 0);
            prop_assert_eq!(recording.readings, readings);
        }

        #[test]
        fn no_bytes_whatever_bring_it_down(
            mut bytes in proptest::collection::vec(any::<u8>(), 0..300),
            with_header: bool,
        ) {
            if with_header {
                bytes.splice(0..0, csv_header(2, false).bytes());
            }
            if let Ok(recording) = read_csv(&bytes[..]) {
                prop_assert!(recording.readings.is_sorted_by(|a, b| a.t_ms <= b.t_ms));
            }
        }

        #[test]
        fn rows_of_any_fields_give_only_readings_in_range(
            text in "([0-9.,\\-e \"\r\n]|NaN|inf){0,120}",
        ) {
            if let Ok(recording) = read_csv(format!("t_ms,wire1,wire2\n{text}").as_bytes()) {
                for reading in recording.readings {
                    prop_assert!(reading.t_ms.is_finite());
                    prop_assert!(reading.raw.iter().all(|&raw| raw <= 4095 || raw == RawReading::NONE));
                }
            }
        }
    }
}
