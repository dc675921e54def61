//! Plain numbers: one or two decimal numbers per line, as any probe can print them.
//!
//! Takes bytes in whatever pieces they arrive and gives whole lines; keeps no line and allocates
//! nothing per line. Knows no port, no rate and no clock.
//!
//! A line is one or two numbers from 0 to 4095 with blanks, tabs, commas or semicolons between
//! them, blanks and tabs around them, and ends at CR or LF. Blank lines are nothing, so CR LF,
//! LF CR, CR and LF all end a line once. Whatever else stands in a line breaks it, also an empty
//! field before the first number or after the last: `512,` may be a line that lost its end.

use crate::units::WIRES;

/// The longest line that can be numbers, in bytes without its end. Two numbers with a generous
/// run of separators take a third of it; longer lines are broken, so memory is bounded.
pub const LONGEST_LINE: usize = 64;

/// The highest number a 12-bit converter gives.
pub const TOP_NUMBER: u16 = 4095;

/// How many bytes of a broken line are kept to be shown.
const SAMPLE: usize = 24;

/// What was seen since the parser was made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Lines of one number, taken or not.
    pub one: u64,
    /// Lines of two numbers, taken or not.
    pub two: u64,
    /// Broken lines: anything else that isn't blank, and good lines with the wrong number of
    /// numbers once [`PlainParser::expect`] has said how many there should be.
    pub broken: u64,
    /// Bytes.
    pub bytes: u64,
    /// Bytes that never stand in a line of numbers.
    pub foreign: u64,
}

/// What a byte can be to a line of numbers.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Digit,
    End,
    Blank,
    Mark,
    Foreign,
}

const KINDS: [Kind; 256] = {
    let mut kinds = [Kind::Foreign; 256];
    let mut digit = b'0';
    while digit <= b'9' {
        kinds[digit as usize] = Kind::Digit;
        digit += 1;
    }
    kinds[b'\r' as usize] = Kind::End;
    kinds[b'\n' as usize] = Kind::End;
    kinds[b' ' as usize] = Kind::Blank;
    kinds[b'\t' as usize] = Kind::Blank;
    kinds[b',' as usize] = Kind::Mark;
    kinds[b';' as usize] = Kind::Mark;
    kinds
};

/// The line being read.
#[derive(Clone, Copy, Debug, Default)]
struct Line {
    /// Bytes so far, no further than one over [`LONGEST_LINE`].
    len: usize,
    /// Numbers begun.
    found: usize,
    numbers: [u16; WIRES],
    /// The last byte was a digit.
    in_number: bool,
    /// A comma or semicolon stands after the last number.
    dangling: bool,
    broken: bool,
    /// It has been counted as broken already, before its end.
    counted: bool,
}

/// Turns bytes into numbers, line by line.
#[derive(Clone, Debug)]
pub struct PlainParser {
    expected: Option<u8>,
    /// The first line may have been cut by opening in its middle: it counts for nothing.
    first: bool,
    line: Line,
    start: [u8; SAMPLE],
    broken_start: [u8; SAMPLE],
    /// How much of `broken_start` is of the last broken line; 0 before the first.
    broken_len: usize,
    tally: Tally,
}

impl Default for PlainParser {
    fn default() -> Self {
        Self::new()
    }
}

impl PlainParser {
    /// A parser for a stream just opened: its first line, possibly cut, is dropped silently.
    #[must_use]
    pub fn new() -> Self {
        Self {
            expected: None,
            first: true,
            line: Line::default(),
            start: [0; SAMPLE],
            broken_start: [0; SAMPLE],
            broken_len: 0,
            tally: Tally::default(),
        }
    }

    /// Begins anew, as for a stream just opened; only the sample of a broken line stays.
    pub fn start_over(&mut self) {
        let Self { broken_start, broken_len, .. } = *self;
        *self = Self { broken_start, broken_len, ..Self::new() };
    }

    /// From here on a line has this many numbers (1 or 2); others are broken. `None` takes both.
    pub fn expect(&mut self, wires: Option<u8>) {
        self.expected = wires;
    }

    /// What was seen so far.
    #[must_use]
    pub fn tally(&self) -> Tally {
        self.tally
    }

    /// The beginning of the last broken line, with what can't be printed written as `\x1b`.
    #[must_use]
    pub fn broken_sample(&self) -> Option<String> {
        let kept = &self.broken_start[..self.broken_len];
        (self.broken_len > 0).then(|| kept.escape_ascii().to_string())
    }

    /// Takes the next bytes. `good` is given every good line: its first number and its second, or
    /// `None` where the line has only one. Where the bytes are cut makes no difference.
    pub fn feed(&mut self, bytes: &[u8], mut good: impl FnMut(u16, Option<u16>)) {
        let mut line = self.line;
        self.tally.bytes += bytes.len() as u64;
        for &byte in bytes {
            let kind = KINDS[usize::from(byte)];
            if kind == Kind::End {
                self.end(&line, &mut good);
                line = Line::default();
                continue;
            }
            if let Some(kept) = self.start.get_mut(line.len) {
                *kept = byte;
            }
            if line.len == LONGEST_LINE {
                line.broken = true;
                if !line.counted && !self.first {
                    line.counted = true;
                    self.count_broken(line.len);
                }
            } else {
                line.len += 1;
            }
            match kind {
                Kind::Digit => line.digit(byte - b'0'),
                Kind::Blank => line.in_number = false,
                Kind::Mark => {
                    line.in_number = false;
                    line.dangling = true;
                    line.broken |= line.found == 0;
                }
                Kind::Foreign | Kind::End => {
                    line.broken = true;
                    self.tally.foreign += 1;
                }
            }
        }
        self.line = line;
    }

    fn end(&mut self, line: &Line, good: &mut impl FnMut(u16, Option<u16>)) {
        if self.first {
            self.first = false;
            return;
        }
        if line.counted || (line.found == 0 && !line.broken) {
            return;
        }
        if line.broken || line.dangling {
            self.count_broken(line.len);
            return;
        }
        let [first, second] = line.numbers;
        let two = line.found == 2;
        if two {
            self.tally.two += 1;
        } else {
            self.tally.one += 1;
        }
        if self.expected.is_some_and(|wires| usize::from(wires) != line.found) {
            self.count_broken(line.len);
        } else {
            good(first, two.then_some(second));
        }
    }

    fn count_broken(&mut self, len: usize) {
        self.tally.broken += 1;
        self.broken_len = len.min(SAMPLE);
        self.broken_start = self.start;
    }
}

impl Line {
    fn digit(&mut self, digit: u8) {
        if !self.in_number {
            if self.found == WIRES {
                self.broken = true;
                return;
            }
            self.in_number = true;
            self.dangling = false;
            self.found += 1;
        }
        // Held just above the top, where it can't overflow and is broken all the same.
        let Some(number) = self.found.checked_sub(1).and_then(|last| self.numbers.get_mut(last)) else {
            return;
        };
        *number = (*number * 10 + u16::from(digit)).min(TOP_NUMBER + 1);
        self.broken |= *number > TOP_NUMBER;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    type Numbers = Vec<(u16, Option<u16>)>;

    /// The good lines after the dropped first one, and how many were broken.
    fn read(text: &[u8]) -> (Numbers, u64) {
        let mut parser = PlainParser::new();
        let mut got = vec![];
        parser.feed(b"cut off\n", |_, _| unreachable!("the first line counts for nothing"));
        parser.feed(text, |first, second| got.push((first, second)));
        (got, parser.tally().broken)
    }

    #[test]
    fn one_or_two_numbers_are_read_with_every_separator() {
        let (got, broken) =
            read(b"0\n1023\n12 34\n12,34\n12;34\n12\t34\n12 ,; \t34\n  7  \n\t8 , 9\t\n0042\n");
        let both = Some(34);
        assert_eq!(
            got,
            [
                (0, None),
                (1023, None),
                (12, both),
                (12, both),
                (12, both),
                (12, both),
                (12, both),
                (7, None),
                (8, Some(9)),
                (42, None)
            ]
        );
        assert_eq!(broken, 0);
    }

    #[test]
    fn every_mix_of_cr_and_lf_ends_a_line_once() {
        let (got, broken) = read(b"1\r\n2\n\r3\r4\n\n\r\r\n5\r\n \r\n6\n");
        assert_eq!(got.iter().map(|g| g.0).collect::<Vec<_>>(), [1, 2, 3, 4, 5, 6]);
        assert_eq!(broken, 0);
    }

    #[test]
    fn anything_else_is_broken_and_never_a_reading() {
        for line in [
            "4096",
            "99999999999999999999",
            "-1",
            "+5",
            "1.5",
            "1e2",
            "0x10",
            "12a",
            "a12",
            "1 2 3",
            ",5",
            "5,",
            "5;",
            "5, ",
            ",",
            "\0",
            "5\u{7}",
            "1:2",
            "५",
            "1\u{a0}2",
            "1/2",
        ] {
            assert_eq!(read(format!("{line}\n").as_bytes()), (vec![], 1), "{line:?}");
        }
    }

    #[test]
    fn the_first_line_is_dropped_silently_even_if_it_is_broken() {
        for first in ["12", "x", &"9".repeat(500), "", "\r"] {
            let mut parser = PlainParser::new();
            let mut got = vec![];
            parser.feed(format!("{first}\n300\n").as_bytes(), |one, _| got.push(one));
            assert_eq!((got, parser.tally().broken), (vec![300], 0), "{first:?}");
        }
    }

    #[test]
    fn a_line_of_64_bytes_is_read_and_one_of_65_is_broken() {
        let long = |len: usize| format!("{:>len$}\n", 77);
        assert_eq!(read(long(64).as_bytes()), (vec![(77, None)], 0));
        assert_eq!(read(long(65).as_bytes()), (vec![], 1));
        assert_eq!(read(&[b'7'; 1 << 20]), (vec![], 1), "counted once, before its end is seen");
    }

    #[test]
    fn a_line_with_the_wrong_number_of_numbers_is_broken_once_decided() {
        let mut parser = PlainParser::new();
        let mut got = vec![];
        parser.feed(b"\n1 2\n3\n", |first, second| got.push((first, second)));
        parser.expect(Some(2));
        parser.feed(b"4 5\n6\n", |first, second| got.push((first, second)));
        assert_eq!(got, [(1, Some(2)), (3, None), (4, Some(5))]);
        assert_eq!(parser.tally(), Tally { one: 2, two: 2, broken: 1, bytes: 13, foreign: 0 });
        assert_eq!(parser.broken_sample().as_deref(), Some("6"));
    }

    #[test]
    fn the_sample_of_a_broken_line_is_short_and_printable() {
        let mut parser = PlainParser::new();
        assert_eq!(parser.broken_sample(), None);
        parser.feed(b"\nvolt=\x1b[2m4.7\xff\n512\n", |_, _| ());
        assert_eq!(parser.broken_sample().as_deref(), Some(r"volt=\x1b[2m4.7\xff"));
        parser.feed(&[b'x'; 999], |_, _| ());
        assert_eq!(parser.broken_sample().map(|s| s.len()), Some(SAMPLE));
    }

    /// Bytes as garbage, and as lines that are nearly right.
    fn streams() -> impl Strategy<Value = Vec<u8>> {
        let likely = prop::sample::select(b"0123456789 ,;\t\r\n\n\nx".to_vec());
        prop_oneof![prop::collection::vec(any::<u8>(), 0..600), prop::collection::vec(likely, 0..600)]
    }

    proptest! {
        #[test]
        fn where_the_bytes_are_cut_makes_no_difference(
            bytes in streams(),
            cuts in prop::collection::vec(1..40_usize, 1..60),
            wires in prop::option::of(1..=2_u8),
        ) {
            let mut whole = PlainParser::new();
            let mut pieces = PlainParser::new();
            whole.expect(wires);
            pieces.expect(wires);
            let (mut expected, mut got) = (vec![], vec![]);
            whole.feed(&bytes, |a, b| expected.push((a, b)));
            let mut rest = &bytes[..];
            for cut in cuts.iter().cycle() {
                if rest.is_empty() {
                    break;
                }
                let (piece, after) = rest.split_at((*cut).min(rest.len()));
                pieces.feed(piece, |a, b| got.push((a, b)));
                rest = after;
            }
            prop_assert_eq!(&got, &expected);
            prop_assert_eq!(pieces.tally(), whole.tally());
            prop_assert_eq!(pieces.broken_sample(), whole.broken_sample());
            for (first, second) in got {
                prop_assert!(first <= TOP_NUMBER && second.is_none_or(|n| n <= TOP_NUMBER));
                prop_assert!(wires.is_none_or(|w| (w == 2) == second.is_some()));
            }
        }

        #[test]
        fn what_is_printed_is_what_is_read(
            lines in prop::collection::vec((0..=TOP_NUMBER, prop::option::of(0..=TOP_NUMBER)), 0..50),
            between in "[ ,;\t]{1,6}",
            end in prop::sample::select(vec!["\n", "\r\n", "\r", "\n\r", "\n\n"]),
        ) {
            let text: String = lines.iter().map(|(first, second)| match second {
                Some(second) => format!("{first}{between}{second}{end}"),
                None => format!("{first}{end}"),
            }).collect();
            prop_assert_eq!(read(text.as_bytes()), (lines, 0));
        }
    }
}
