//! What a frame is made of, in microseconds, whether its family is in the table or free. `read.rs`
//! reads by it; it knows no numbers and no pulses.

use std::sync::LazyLock;

use super::family::{Family, Modulation, RepeatKind, families};
use super::free::{FreeFamily, FreeRepeat};
use super::read::{GAP_US, SHORT_FRAME_GAP_US, STRETCH_US};

/// The frame of a family.
#[derive(Debug)]
pub(super) struct Shape {
    /// The mark and the space it opens with.
    pub(super) leader_us: Option<(f64, f64)>,
    pub(super) coding: Coding,
    /// How many bits it has.
    pub(super) count: usize,
    /// The mark that closes the last bit.
    pub(super) stop_us: Option<f64>,
    pub(super) again: Again,
    /// How far a duration may be off at first sight, as a share of it.
    pub(super) slack: f64,
    /// A space longer than this is none of the frame's.
    pub(super) inner_us: f64,
    /// A space this long ends the frame.
    pub(super) gap_us: f64,
    /// A space this long follows a short repeat frame.
    pub(super) short_gap_us: f64,
    /// The most that a receiver stretches marks by, as far as these spaces bear it.
    pub(super) stretch_us: f64,
}

/// What tells a 1 from a 0.
#[derive(Debug)]
pub(super) enum Coding {
    /// A mark and a space for each bit.
    Pairs {
        /// Of a 0.
        zero_us: (f64, f64),
        /// Of a 1.
        one_us: (f64, f64),
    },
    /// Half a bit of mark, half a bit of space.
    BiPhase {
        /// Half of each bit.
        halves_us: Vec<f64>,
        /// Whether a 1 is mark then space.
        one_opens_with_mark: bool,
    },
}

/// What is sent while held, where it differs from the frame.
#[derive(Debug)]
pub(super) enum Again {
    /// It doesn't, or nothing is sent.
    Frame,
    /// Mark, space, mark.
    Short([f64; 3]),
    /// The bits alone.
    Bare,
}

/// Each row of the table with its shape.
pub(super) fn shapes() -> impl Iterator<Item = (&'static Family, &'static Shape)> {
    static SHAPES: LazyLock<Vec<Shape>> = LazyLock::new(|| families().iter().map(Shape::of).collect());
    families().iter().zip(SHAPES.iter())
}

/// The shape of one family of the table.
pub(super) fn shape_of(family: &Family) -> Option<&'static Shape> {
    shapes().find(|(row, _)| row.id == family.id).map(|(_, shape)| shape)
}

impl Shape {
    /// Of a row.
    fn of(family: &Family) -> Self {
        let us = |units: f64| units * family.unit_us;
        let coding = match family.modulation {
            Modulation::PulseDistance { mark, zero_space, one_space } => {
                Coding::Pairs { zero_us: (us(mark), us(zero_space)), one_us: (us(mark), us(one_space)) }
            }
            Modulation::PulseWidth { zero_mark, one_mark, space } => {
                Coding::Pairs { zero_us: (us(zero_mark), us(space)), one_us: (us(one_mark), us(space)) }
            }
            Modulation::BiPhase { one_opens_with_mark } => {
                let halves = family
                    .fields
                    .iter()
                    .flat_map(|field| std::iter::repeat_n(us(f64::from(field.stretch)), field.width.into()));
                Coding::BiPhase { halves_us: halves.collect(), one_opens_with_mark }
            }
        };
        let again = match family.repeat {
            RepeatKind::ShortFrame { mark, space } => Again::Short([mark, space, 1.0].map(us)),
            RepeatKind::WithoutLeader => Again::Bare,
            RepeatKind::WholeFrame | RepeatKind::Once => Again::Frame,
        };
        Self {
            leader_us: family.leader_units.map(|(mark, space)| (us(mark), us(space))),
            coding,
            count: family.bit_count(),
            stop_us: family.stop_mark.then_some(family.unit_us),
            again,
            slack: family.slack,
            inner_us: GAP_US,
            gap_us: GAP_US,
            short_gap_us: SHORT_FRAME_GAP_US,
            stretch_us: STRETCH_US,
        }
    }

    /// Of a free family.
    pub(super) fn free(free: &FreeFamily) -> Self {
        /// A space this much longer than the longest of the bits is none of theirs.
        const LONGER: f64 = 1.3;
        /// A gap shortened by so much is still one.
        const SHORTER: f64 = 0.8;
        /// The share of its shortest space that a receiver may take.
        const BORNE: f64 = 0.4;
        let (zero, one) = (free.zero_us, free.one_us);
        let longest_us = zero.1.max(one.1);
        let stretch_us = STRETCH_US.min(BORNE * zero.1.min(one.1));
        let inner_us = LONGER * longest_us + stretch_us;
        let least_gap_us = SHORTER * (free.period_us - free.longest_us());
        let gap_us = if free.repeat == FreeRepeat::Once { inner_us } else { inner_us.min(least_gap_us) };
        let again = match (free.repeat, free.leader_us) {
            (FreeRepeat::ShortFrame, Some((mark, space))) => Again::Short([mark, space / 2.0, zero.0]),
            (FreeRepeat::WithoutLeader, Some(_)) => Again::Bare,
            _ => Again::Frame,
        };
        Self {
            leader_us: free.leader_us,
            coding: Coding::Pairs { zero_us: zero, one_us: one },
            count: free.bit_count(),
            stop_us: free.stop_mark.then_some(zero.0),
            again,
            slack: super::family::SLACK,
            inner_us,
            gap_us,
            short_gap_us: gap_us,
            stretch_us,
        }
    }
}
