//! A remote's code put together from the parts it comes in. Knows nothing of codes.

use crate::wire::CapturePart;
use crate::wire::limits::CAPTURE_EDGES;

/// What a part led to.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Heard {
    /// More is to come, or the part belongs to nothing.
    NotYet,
    /// The code is whole.
    Whole { timings_us: Vec<f64>, overflow: bool },
    /// A part is missing: timing `at` was to come next, and `from` came.
    Torn { at: usize, from: usize },
}

/// Parts so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Capture {
    timings_us: Vec<f64>,
    overflow: bool,
    /// A part was missing: nothing counts until the next code begins.
    is_torn: bool,
}

impl Capture {
    pub(super) fn take(&mut self, part: &CapturePart) -> Heard {
        let from = usize::from(part.from);
        if from == 0 {
            *self = Self::default();
        }
        let at = self.timings_us.len();
        if self.is_torn {
            return Heard::NotYet;
        }
        if from != at || at + part.timings_us.len() > usize::from(CAPTURE_EDGES) {
            *self = Self { is_torn: true, ..Self::default() };
            return Heard::Torn { at, from };
        }
        self.timings_us.extend(part.timings_us.iter().map(|&us| f64::from(us)));
        self.overflow |= part.overflow;
        if !part.last {
            return Heard::NotYet;
        }
        let Self { timings_us, overflow, .. } = std::mem::take(self);
        if timings_us.is_empty() { Heard::NotYet } else { Heard::Whole { timings_us, overflow } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(from: u8, count: usize, last: bool) -> CapturePart {
        CapturePart { from, last, overflow: false, timings_us: vec![560; count] }
    }

    #[test]
    fn parts_in_order_are_one_code() {
        let mut capture = Capture::default();
        assert_eq!(capture.take(&part(0, 40, false)), Heard::NotYet);
        let overflow = CapturePart { overflow: true, ..part(40, 27, true) };
        assert_eq!(capture.take(&overflow), Heard::Whole { timings_us: vec![560.0; 67], overflow: true });
        assert_eq!(
            capture.take(&part(0, 1, true)),
            Heard::Whole { timings_us: vec![560.0], overflow: false }
        );
    }

    #[test]
    fn a_missing_part_is_said_once_and_the_next_code_is_heard() {
        let mut capture = Capture::default();
        capture.take(&part(0, 40, false));
        assert_eq!(capture.take(&part(80, 40, false)), Heard::Torn { at: 40, from: 80 });
        assert_eq!(capture.take(&part(120, 10, true)), Heard::NotYet);
        assert_eq!(
            capture.take(&part(0, 3, true)),
            Heard::Whole { timings_us: vec![560.0; 3], overflow: false }
        );
    }

    #[test]
    fn more_than_the_box_can_keep_is_torn_and_an_empty_code_is_none() {
        let mut capture = Capture::default();
        for from in [0, 40, 80, 120, 160] {
            assert_eq!(capture.take(&part(from, 40, false)), Heard::NotYet);
        }
        assert_eq!(capture.take(&part(200, 1, true)), Heard::Torn { at: 200, from: 200 });
        assert_eq!(capture.take(&part(0, 0, true)), Heard::NotYet);
    }
}
