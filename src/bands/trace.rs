//! A press as it was read, reading by reading, for replay through the recogniser; and its text in the
//! project's file. Knows no names but the button's id.
//!
//! # The text
//!
//! Digits of 5 bits, `A`-`Z`, `a`-`z`, `0`-`9`, `-`, `_` for 0 to 63: those from 32 on have more to come.
//! A number is its digits, lowest first, as in base-64 VLQ. First stand the unit (how many steps of 1/32
//! count one difference is) and the first level in steps; then, for each further reading, its difference
//! from the one before in units, with its sign in the lowest bit (0, -1, 1, -2, … are 0, 1, 2, 3, …).
//! A whole count of a 10-bit converter differs from the next by a unit of 32, so that noise takes one
//! letter a reading.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Touch;
use crate::signal::Level;

/// The most readings kept of one press: it takes up to three seconds on its way down.
pub const TRACE_READINGS_MAX: usize = 4_000;

/// The most letters of all traces of a project together: 64 kB.
pub const TRACES_BYTES_MAX: usize = 65_536;

/// The highest level, in steps: 1024 counts.
const TOP_STEPS: i32 = 32_768;

/// Bits of a digit that are the number's; the next one says whether more follow.
const DIGIT_BITS: u32 = 5;

/// One press as it was read: one wire, a reading a millisecond, from some rest before it to some after.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PressTrace {
    /// The id of the button.
    pub button: String,
    /// Its wire, 1 or 2. The other one was at rest.
    pub wire: u8,
    /// Which of the button's presses it is, from 0.
    pub press: u8,
    /// How the press was asked for.
    pub touch: Touch,
    /// At which reading, from 0, its settled part begins.
    pub settled_from: u16,
    /// The reading behind its settled part; no more than there are.
    pub settled_to: u16,
    /// How many milliseconds were left out in the middle of the settled part.
    pub left_out_ms: u32,
    /// The readings.
    pub readings: TraceText,
}

/// Readings as text, see the module. Copies share it: a step of undo costs nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub struct TraceText(Arc<str>);

/// Why a text is no readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TraceError {
    /// A letter that is no digit.
    #[error("its letter {at} is none that stands for a number")]
    Letter {
        /// Which, from 1.
        at: usize,
    },
    /// It ends within a number.
    #[error("it ends within a number")]
    Cut,
    /// A level beyond the scale, or a unit that is none.
    #[error("its letter {at} leads beyond 0 to 1024 counts")]
    Range {
        /// Where the number ends, from 1.
        at: usize,
    },
    /// More readings than are kept.
    #[error("it has more than {TRACE_READINGS_MAX} readings")]
    Long,
    /// No reading at all.
    #[error("it has no readings")]
    Empty,
}

impl Default for TraceText {
    fn default() -> Self {
        Self("".into())
    }
}

impl From<String> for TraceText {
    fn from(text: String) -> Self {
        Self(text.into())
    }
}

impl From<TraceText> for String {
    fn from(text: TraceText) -> Self {
        text.0.as_ref().to_owned()
    }
}

impl TraceText {
    /// Readings as text; those that are no level repeat the one before.
    #[must_use]
    pub fn of(levels: &[Level]) -> Self {
        let steps: Vec<i32> = levels
            .iter()
            .filter(|level| **level != Level::NONE)
            .map(|level| i32::from(level.steps()).min(TOP_STEPS))
            .collect();
        let Some(&first) = steps.first() else { return Self::default() };
        let differences = || steps.windows(2).map(|pair| pair[1] - pair[0]);
        let unit = differences().fold(0, |unit, difference| common(unit, difference.abs())).max(1);
        let mut text = String::with_capacity(steps.len() + 8);
        put(&mut text, unit as u32);
        put(&mut text, first as u32);
        for difference in differences() {
            let units = difference / unit;
            put(&mut text, ((units << 1) ^ (units >> 31)) as u32);
        }
        Self(text.into())
    }

    /// The readings.
    ///
    /// # Errors
    /// [`TraceError`] for a text that is none.
    pub fn levels(&self) -> Result<Vec<Level>, TraceError> {
        let mut digits = Digits { text: self.0.as_bytes(), at: 0 };
        let Some(unit) = digits.number()? else { return Err(TraceError::Empty) };
        let Some(first) = digits.number()? else { return Err(TraceError::Empty) };
        let (Some(unit), Some(mut steps)) = (in_scale(unit).filter(|&unit| unit > 0), in_scale(first)) else {
            return Err(TraceError::Range { at: digits.at });
        };
        let mut levels = vec![Level::from_steps(steps as u16)];
        while let Some(number) = digits.number()? {
            if levels.len() >= TRACE_READINGS_MAX {
                return Err(TraceError::Long);
            }
            let units = (number >> 1) as i32 ^ -((number & 1) as i32);
            let moved = units.checked_mul(unit).and_then(|moved| steps.checked_add(moved));
            steps = moved
                .filter(|steps| (0..=TOP_STEPS).contains(steps))
                .ok_or(TraceError::Range { at: digits.at })?;
            levels.push(Level::from_steps(steps as u16));
        }
        Ok(levels)
    }

    /// How many bytes it takes in the file.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.0.len()
    }
}

impl PressTrace {
    /// What is wrong with it, for a file that isn't ours.
    ///
    /// # Errors
    /// Says what, in the words of a sentence's end.
    pub fn check(&self) -> Result<(), String> {
        if !(1..=2).contains(&self.wire) {
            return Err(format!("it names wire {}, and wires are numbered 1 and 2", self.wire));
        }
        let readings = self.readings.levels().map_err(|error| error.to_string())?.len();
        if self.settled_from >= self.settled_to || usize::from(self.settled_to) > readings {
            let (from, to) = (self.settled_from, self.settled_to);
            return Err(format!("its settled part is readings {from} to {to}, and it has {readings}"));
        }
        Ok(())
    }
}

/// Lets go of the oldest traces of those buttons that have most, until the rest are within
/// [`TRACES_BYTES_MAX`].
pub fn bound_traces(traces: &mut Vec<PressTrace>) {
    let mut bytes: usize = traces.iter().map(|trace| trace.readings.bytes()).sum();
    while bytes > TRACES_BYTES_MAX {
        let of = |trace: &PressTrace| traces.iter().filter(|other| other.button == trace.button).count();
        // The first of equals: the oldest.
        let mut most: Option<(usize, usize)> = None;
        for (at, trace) in traces.iter().enumerate() {
            let count = of(trace);
            if most.is_none_or(|(_, before)| count > before) {
                most = Some((at, count));
            }
        }
        let Some((at, _)) = most else { return };
        bytes -= traces.remove(at).readings.bytes();
    }
}

/// The greatest common divisor; `b` where `a` is 0.
fn common(a: i32, b: i32) -> i32 {
    if b == 0 { a } else { common(b, a % b) }
}

fn in_scale(number: u32) -> Option<i32> {
    i32::try_from(number).ok().filter(|number| *number <= TOP_STEPS)
}

const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

fn put(text: &mut String, mut number: u32) {
    loop {
        let digit = number & ((1 << DIGIT_BITS) - 1);
        number >>= DIGIT_BITS;
        let more = u32::from(number != 0) << DIGIT_BITS;
        text.push(char::from(ALPHABET[(digit | more) as usize]));
        if number == 0 {
            return;
        }
    }
}

struct Digits<'a> {
    text: &'a [u8],
    at: usize,
}

impl Digits<'_> {
    /// The next number, `None` at the end.
    fn number(&mut self) -> Result<Option<u32>, TraceError> {
        let mut number = 0_u32;
        let mut shift = 0;
        while let Some(&letter) = self.text.get(self.at) {
            self.at += 1;
            let digit = match letter {
                b'A'..=b'Z' => letter - b'A',
                b'a'..=b'z' => letter - b'a' + 26,
                b'0'..=b'9' => letter - b'0' + 52,
                b'-' => 62,
                b'_' => 63,
                _ => return Err(TraceError::Letter { at: self.at }),
            };
            // Four digits hold twice the scale with its sign.
            if shift > 3 * DIGIT_BITS {
                return Err(TraceError::Range { at: self.at });
            }
            number |= u32::from(digit & 31) << shift;
            shift += DIGIT_BITS;
            if digit < 32 {
                return Ok(Some(number));
            }
        }
        if shift == 0 { Ok(None) } else { Err(TraceError::Cut) }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn levels(counts: &[f64]) -> Vec<Level> {
        counts.iter().map(|&count| Level::from_count(count)).collect()
    }

    #[test]
    fn a_still_wire_of_a_ten_bit_converter_takes_a_letter_a_reading() {
        // By the module's words: unit 32 is 0 and more, 1; 959 · 32 = 30688 is 0, 31, 29 by fives from the
        // lowest; then 0, +1, -1, -1, +2.
        let text = TraceText::of(&levels(&[959.0, 959.0, 960.0, 959.0, 958.0, 960.0]));
        assert_eq!(String::from(text.clone()), "gBg_dACBBE");
        assert_eq!(text.levels().unwrap(), levels(&[959.0, 959.0, 960.0, 959.0, 958.0, 960.0]));
    }

    #[test]
    fn what_is_no_trace_says_where_and_why() {
        let said = |text: &str| TraceText::from(text.to_owned()).levels().unwrap_err().to_string();
        assert_eq!(said(""), "it has no readings");
        assert_eq!(said("gB"), "it has no readings");
        assert_eq!(said("gBg_d A"), "its letter 6 is none that stands for a number");
        assert_eq!(said("gBg_dg"), "it ends within a number");
        assert_eq!(said("gBg_d-_"), "it ends within a number");
        assert_eq!(said("gBgAD"), "its letter 5 leads beyond 0 to 1024 counts");
        assert_eq!(said("AgA"), "its letter 3 leads beyond 0 to 1024 counts");
        assert_eq!(said("gB______"), "its letter 7 leads beyond 0 to 1024 counts");
        assert_eq!(said(&format!("gBA{}", "A".repeat(TRACE_READINGS_MAX))), "it has more than 4000 readings");
    }

    #[test]
    fn a_press_with_a_part_that_is_not_there_is_refused() {
        let mut trace = PressTrace {
            wire: 1,
            settled_from: 1,
            settled_to: 3,
            readings: TraceText::of(&levels(&[900.0, 200.0, 200.0])),
            ..PressTrace::default()
        };
        assert_eq!(trace.check(), Ok(()));
        trace.settled_to = 4;
        assert_eq!(trace.check(), Err("its settled part is readings 1 to 4, and it has 3".to_owned()));
        trace.wire = 3;
        assert_eq!(trace.check(), Err("it names wire 3, and wires are numbered 1 and 2".to_owned()));
    }

    #[test]
    fn the_oldest_trace_of_the_button_with_most_goes_first() {
        let trace = |button: &str, at: u16, letters: usize| PressTrace {
            button: button.to_owned(),
            settled_from: at,
            readings: TraceText::from("A".repeat(letters)),
            ..PressTrace::default()
        };
        let mut traces =
            vec![trace("a", 0, 20_000), trace("b", 1, 20_000), trace("b", 2, 20_000), trace("a", 3, 5_000)];
        bound_traces(&mut traces);
        assert_eq!(traces.len(), 4, "65 000 of 65 536 letters");
        traces.push(trace("b", 4, 1_000));
        bound_traces(&mut traces);
        let left: Vec<_> = traces.iter().map(|trace| trace.settled_from).collect();
        assert_eq!(left, [0, 2, 3, 4]);
    }

    proptest! {
        #[test]
        fn any_readings_come_back_as_they_were(steps in proptest::collection::vec(0_u16..=32_768, 1..600)) {
            let levels: Vec<Level> = steps.into_iter().map(Level::from_steps).collect();
            prop_assert_eq!(TraceText::of(&levels).levels().unwrap(), levels);
        }

        #[test]
        fn any_garbage_is_read_without_harm(text in ".{0,80}") {
            let read = TraceText::from(text).levels();
            if let Ok(levels) = read {
                prop_assert!(levels.iter().all(|level| level.count().is_some_and(|count| count <= 1024.0)));
            }
        }

        #[test]
        fn any_letters_of_the_alphabet_are_read_without_harm(text in "[A-Za-z0-9_-]{0,120}") {
            if let Ok(levels) = TraceText::from(text).levels() {
                prop_assert_eq!(TraceText::of(&levels).levels().unwrap(), levels);
            }
        }
    }
}
