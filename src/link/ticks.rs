//! The box's ticks as the link's time: 1 ms each, whatever the line did to them on the way. Pure.

/// A gap in the ticks up to this is readings that were lost; a longer one is a stream that paused, and
/// then only what the box itself counted is lost.
const LONGEST_GAP: u32 = 2_000;

/// Where a block of samples lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placed {
    /// The time of its first sample, in milliseconds.
    pub(super) from_ms: f64,
    /// Samples missing before it.
    pub(super) lost: u64,
}

/// Keeps the two clocks together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ticks {
    /// The newest sample's time; time never runs backwards.
    newest_ms: f64,
    /// The tick that comes next; `None` before the first, and after a restart.
    next: Option<u32>,
    /// Whether the next block is the first of a stream: nothing before it was asked for.
    is_first: bool,
}

impl Ticks {
    /// Samples that come are later than `newest_ms`.
    pub(super) const fn after(newest_ms: f64) -> Self {
        Self { newest_ms, next: None, is_first: true }
    }

    /// The newest sample's time, in milliseconds.
    pub(super) const fn newest_ms(&self) -> f64 {
        self.newest_ms
    }

    /// A stream was begun, maybe in the middle of another: what is missing before its first block is no
    /// loss.
    pub(super) const fn begin(&mut self) {
        self.is_first = true;
    }

    /// The box has restarted: its ticks begin at 0 again.
    pub(super) const fn restart(&mut self) {
        self.next = None;
    }

    /// Places a block of `count` samples that begins with tick `first` and has just come. A tick that
    /// runs backwards is of a box that has restarted.
    pub(super) fn place(&mut self, first: u32, count: usize, lost: u8, now_ms: f64) -> Placed {
        let rest = count.saturating_sub(1) as f64;
        let gap = self.next.map(|next| first.wrapping_sub(next)).filter(|gap| *gap < u32::MAX / 2);
        let from_ms = match gap {
            Some(gap) => self.newest_ms + 1.0 + f64::from(gap),
            // The last sample has just been taken. Whole milliseconds, so that steps stay exact.
            None => (now_ms - rest).max(self.newest_ms + 1.0).ceil(),
        };
        let lost = if std::mem::take(&mut self.is_first) {
            0
        } else {
            gap.filter(|gap| *gap <= LONGEST_GAP).map_or(u64::from(lost), u64::from)
        };
        self.newest_ms = from_ms + rest;
        self.next = Some(first.wrapping_add(count as u32));
        Placed { from_ms, lost }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_exact_milliseconds_whenever_their_blocks_come() {
        let mut ticks = Ticks::after(0.0);
        let placed = [(5_000, 1_007.0), (5_008, 1_040.0), (5_016, 1_041.0)]
            .map(|(first, now_ms)| ticks.place(first, 8, 0, now_ms));
        assert_eq!(placed.map(|placed| placed.from_ms), [1_000.0, 1_008.0, 1_016.0]);
        assert_eq!(ticks.newest_ms(), 1_023.0);
        assert!(placed.iter().all(|placed| placed.lost == 0));
    }

    #[test]
    fn a_gap_is_lost_readings_and_keeps_its_place_in_time() {
        let mut ticks = Ticks::after(0.0);
        ticks.place(100, 8, 0, 107.0);
        assert_eq!(ticks.place(124, 8, 16, 140.0), Placed { from_ms: 124.0, lost: 16 });
        // A frame that broke on the way is in no count of the box's.
        assert_eq!(ticks.place(140, 8, 0, 150.0), Placed { from_ms: 140.0, lost: 8 });
        // A pause of the stream is no loss.
        assert_eq!(ticks.place(9_148, 8, 0, 9_200.0), Placed { from_ms: 9_148.0, lost: 0 });
    }

    #[test]
    fn what_came_before_the_first_block_of_a_stream_is_no_loss() {
        let mut ticks = Ticks::after(0.0);
        assert_eq!(ticks.place(100, 8, 3, 107.0).lost, 0, "the box counted it for somebody else");
        // A stream begun in the middle of another: the box drops the block it had begun.
        ticks.begin();
        assert_eq!(ticks.place(111, 8, 0, 118.0), Placed { from_ms: 111.0, lost: 0 });
        assert_eq!(ticks.place(122, 8, 0, 130.0).lost, 3, "from then on every gap counts");
    }

    #[test]
    fn a_restart_begins_a_new_offset_and_time_never_runs_backwards() {
        let mut ticks = Ticks::after(0.0);
        ticks.place(70_000, 8, 0, 1_007.0);
        assert_eq!(ticks.place(3, 8, 0, 3_000.0).from_ms, 2_993.0, "ticks ran backwards");
        ticks.restart();
        assert_eq!(ticks.place(90_000, 8, 0, 2_900.0).from_ms, 3_001.0, "later than the last one");
    }

    #[test]
    fn ticks_that_wrap_go_on() {
        let mut ticks = Ticks::after(0.0);
        ticks.place(u32::MAX - 7, 8, 0, 107.0);
        assert_eq!(ticks.place(0, 8, 0, 110.0), Placed { from_ms: 108.0, lost: 0 });
    }
}
