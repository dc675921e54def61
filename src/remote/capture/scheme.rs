//! What frames are read by: the table, or one free family. Knows no capture as a whole.

use super::super::code::Code;
use super::super::decode::{DecodeError, decode, understand};
use super::super::decode_free::decode_free;
use super::super::family::{Family, Holds, RepeatKind, nibble_parity};
use super::super::free::{FreeFamily, FreeRepeat};
use super::super::read;
use super::super::shape::{Shape, shape_of};
use super::frames::{Piece, split};

/// What one frame says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Said {
    /// Its code; `None` for a short repeat frame.
    pub(super) code: Option<Code>,
    pub(super) toggle: Option<bool>,
    /// Whether it is sent only while a button is held.
    pub(super) repeat: bool,
    pub(super) of: Of,
}

/// Whose frame it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Of {
    Table(&'static Family),
    Free(FreeFamily),
}

impl Of {
    pub(super) fn table(self) -> Option<&'static Family> {
        match self {
            Self::Table(family) => Some(family),
            Self::Free(_) => None,
        }
    }

    /// What errors and notes call it.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Table(family) => family.id,
            Self::Free(_) => "the free family",
        }
    }

    pub(super) fn bit_count(self) -> usize {
        match self {
            Self::Table(family) => family.bit_count(),
            Self::Free(free) => free.bit_count(),
        }
    }

    /// From frame to frame in microseconds, and by how much it may be off; `None` if sent once.
    pub(super) fn period_us(self) -> Option<(f64, f64)> {
        let (period_us, slack, once) = match self {
            Self::Table(row) => (row.repeat_period_us, row.period_slack, row.repeat == RepeatKind::Once),
            Self::Free(free) => {
                (free.period_us, super::super::family::PERIOD_SLACK, free.repeat == FreeRepeat::Once)
            }
        };
        (!once).then_some((period_us, slack * period_us))
    }

    /// Whether its frames open with a leader.
    pub(super) fn has_leader(self) -> bool {
        match self {
            Self::Table(row) => row.leader_units.is_some(),
            Self::Free(free) => free.leader_us.is_some(),
        }
    }

    /// Whether part of a frame is sent with its inverse.
    pub(super) fn has_inverse(self) -> bool {
        let inverse = |holds| matches!(holds, Holds::AddressInverse(_) | Holds::CommandInverse(_));
        match self {
            Self::Table(row) => row.fields.iter().any(|field| field.width > 1 && inverse(field.holds)),
            Self::Free(free) => free.command_inverse || free.address_inverse && free.address_bits > 0,
        }
    }

    /// Whether the code breaks a rule that its family expects and no check insists on.
    pub(super) fn parity_fails(self, code: &Code) -> bool {
        let (Self::Table(row), Code::Family { address, command, .. }) = (self, code) else { return false };
        row.fields.iter().any(|field| match field.holds {
            Holds::CommandParity(from) => (command >> from) & field.mask() != nibble_parity(*address),
            _ => false,
        })
    }

    /// Whether a frame of `longer`, cut, is one of this.
    pub(super) fn begins_like(self, longer: &Family) -> bool {
        let Self::Table(row) = self else { return false };
        !row.stop_mark
            && longer.bit_count() > row.bit_count()
            && (longer.leader_units, longer.modulation, longer.order)
                == (row.leader_units, row.modulation, row.order)
            && (longer.unit_us - row.unit_us).abs() < f64::EPSILON
    }

    /// Whether a short repeat frame of the other is one of this too.
    pub(super) fn repeats_like(self, other: Self) -> bool {
        match (self, other) {
            (Self::Table(a), Self::Table(b)) => a.repeat == b.repeat,
            (a, b) => a == b,
        }
    }
}

/// What pieces are read by.
pub(super) enum Scheme<'a> {
    Table,
    Free(&'a FreeFamily, Shape),
}

/// A piece of a capture and what it says.
#[derive(Debug)]
pub(super) struct Read<'a> {
    pub(super) piece: Piece<'a>,
    pub(super) said: Result<Said, DecodeError>,
}

impl Scheme<'_> {
    pub(super) fn of(free: &FreeFamily) -> Scheme<'_> {
        Scheme::Free(free, Shape::free(free))
    }

    /// All pieces of a capture.
    pub(super) fn reads<'t>(&self, timings_us: &'t [f64]) -> Vec<Read<'t>> {
        match self {
            Self::Table => split(timings_us).into_iter().map(from_table).collect(),
            Self::Free(free, shape) => free_reads(free, shape, timings_us),
        }
    }

    /// What a piece says that follows a frame of `first`: without a leader it is that frame's repeat.
    pub(super) fn bare(&self, first: &Said, pulses_us: &[f64]) -> Option<Said> {
        let Of::Table(family) = first.of else { return None };
        let bits = read::read_bare(shape_of(family)?, pulses_us).ok()?;
        let decoded = understand(family, &bits).ok()?;
        Some(Said { code: decoded.code(), toggle: decoded.toggle, repeat: true, of: first.of })
    }
}

fn from_table(piece: Piece<'_>) -> Read<'_> {
    // With its gap, which shows that it is whole.
    let mut pulses_us = piece.pulses_us.to_vec();
    pulses_us.extend(piece.gap_us);
    let said = decode(&pulses_us).map(|decoded| Said {
        code: decoded.code(),
        toggle: decoded.toggle,
        repeat: decoded.repeat,
        of: Of::Table(decoded.family),
    });
    Read { piece, said }
}

/// The pieces of a free family's capture. Its gaps may be no longer than spaces of its frames, so that
/// each frame is read to its last bit, and the space behind that is the gap.
fn free_reads<'t>(free: &FreeFamily, shape: &Shape, timings_us: &'t [f64]) -> Vec<Read<'t>> {
    let mut reads: Vec<Read<'t>> = Vec::new();
    let mut from = 0;
    while from < timings_us.len() {
        let rest_us = &timings_us[from..];
        let after_leader = reads.iter().any(|read| read.said.is_ok());
        let decoded = decode_free(free, shape, rest_us, after_leader);
        let taken = match &decoded {
            Ok(decoded) => decoded.taken,
            Err(_) => to_gap(rest_us, shape),
        };
        let next = (from + taken + 1).min(timings_us.len());
        let piece = Piece {
            pulses_us: &rest_us[..taken],
            at: from,
            period_us: (next < timings_us.len()).then(|| timings_us[from..next].iter().sum()),
            gap_us: rest_us.get(taken).copied(),
        };
        let said = decoded.map(|decoded| Said {
            code: decoded.numbers.map(|(address, command)| Code::Free { free: *free, address, command }),
            toggle: None,
            repeat: decoded.repeat,
            of: Of::Free(*free),
        });
        reads.push(Read { piece, said });
        from = next;
    }
    reads
}

/// How many timings lie before the next gap; the space of a leader is none.
fn to_gap(rest_us: &[f64], shape: &Shape) -> usize {
    let first = if shape.leader_us.is_some() { 3 } else { 1 };
    let gap = (first..rest_us.len()).step_by(2).find(|&at| rest_us[at] > shape.inner_us);
    gap.unwrap_or(rest_us.len() - usize::from(rest_us.len().is_multiple_of(2)))
}
