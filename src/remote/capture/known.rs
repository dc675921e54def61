//! A capture that a family of the table explains.

use super::super::code::Code;
use super::super::decode::{DecodeError, Decoded, decode};
use super::super::describe::describe;
use super::super::family::{Family, Holds, RepeatKind, families, nibble_parity};
use super::super::frame::encode;
use super::super::raw::as_heard;
use super::frames::{Piece, split};
use super::sure::{Doubt, Ground, Sure};
use super::{HearError, Heard, stretch};

/// Why no family's code comes of a capture.
pub(super) enum Unknown {
    /// For a person to read.
    Refused(HearError),
    /// No family is anything like it: it may be kept raw. The reason that its first frame is none.
    NoFamily(DecodeError),
}

/// A piece of a capture and what it says.
struct Read<'a> {
    piece: Piece<'a>,
    said: Result<Decoded, DecodeError>,
}

impl Read<'_> {
    fn of(piece: Piece<'_>) -> Read<'_> {
        // With its gap, which shows that it is whole.
        let mut pulses_us = piece.pulses_us.to_vec();
        pulses_us.extend(piece.gap_us);
        Read { piece, said: decode(&pulses_us) }
    }

    fn decoded(&self) -> Option<&Decoded> {
        self.said.as_ref().ok()
    }

    /// A frame that carries numbers, whole or without its leader.
    fn carries(&self) -> Option<(&Decoded, Code)> {
        self.decoded().and_then(|decoded| decoded.code().map(|code| (decoded, code)))
    }
}

/// The capture as a code of the table.
pub(super) fn hear(timings_us: &[f64]) -> Result<Heard, Unknown> {
    let reads: Vec<_> = split(timings_us).into_iter().map(Read::of).collect();
    let whole = reads.iter().find(|read| read.carries().is_some_and(|(decoded, _)| !decoded.repeat));
    let Some(first) = whole.or_else(|| reads.iter().find(|read| read.carries().is_some())) else {
        return Err(none(&reads));
    };
    let Some((decoded, code)) = first.carries() else { return Err(none(&reads)) };
    let mut tally = Tally::default();
    for read in &reads {
        tally.take(read, decoded, &code)?;
    }
    Ok(put_together(decoded, code, &tally))
}

/// No frame carries a code: why.
fn none(reads: &[Read<'_>]) -> Unknown {
    let repeats = || reads.iter().filter_map(Read::decoded).filter(|decoded| decoded.repeat);
    if let Some(repeat) = repeats().next() {
        let (family, count) = (repeat.family.id, repeats().count());
        return Unknown::Refused(HearError::OnlyRepeats { family, count });
    }
    let Some((piece, reason)) =
        reads.iter().find_map(|read| read.said.as_ref().err().map(|reason| (read.piece, reason.clone())))
    else {
        return Unknown::NoFamily(DecodeError::Empty);
    };
    match reason {
        DecodeError::Cut { .. } | DecodeError::Disagrees { .. } | DecodeError::Fixed { .. } => {
            Unknown::Refused(HearError::Refused { reason, raw: as_heard(piece.pulses_us) })
        }
        _ => Unknown::NoFamily(reason),
    }
}

/// What the pieces of one press come to.
#[derive(Default)]
struct Tally<'a> {
    whole: Vec<&'a [f64]>,
    frames: usize,
    repeats: usize,
    unread: usize,
    toggled: bool,
    periods_us: Vec<f64>,
}

impl<'a> Tally<'a> {
    fn take(&mut self, read: &Read<'a>, first: &Decoded, code: &Code) -> Result<(), Unknown> {
        let last = read.piece.period_us.is_none();
        match &read.said {
            Ok(decoded) if decoded.code().as_ref() == Some(code) => {
                if decoded.repeat {
                    self.repeats += 1;
                } else {
                    self.frames += 1;
                    self.toggled |= decoded.toggle != first.toggle;
                }
                if (decoded.repeat, decoded.toggle) == (first.repeat, first.toggle) {
                    self.whole.push(read.piece.pulses_us);
                }
                self.periods_us.extend(read.piece.period_us);
            }
            Ok(decoded) if decoded.code().is_none() && decoded.family.repeat == first.family.repeat => {
                self.repeats += 1;
                self.periods_us.extend(read.piece.period_us);
            }
            // The receiver's memory was full: a longer frame's beginning.
            Ok(decoded) if last && decoded.family.bit_count() < first.family.bit_count() => self.unread += 1,
            Ok(decoded) => {
                let then = decoded.code().map_or_else(|| decoded.to_string(), |code| describe(&code));
                let raw = self.whole.first().and_then(|pulses_us| as_heard(pulses_us));
                return Err(Unknown::Refused(HearError::Differ { first: describe(code), then, raw }));
            }
            // The last may be cut: the capture is full, or the person let go.
            Err(DecodeError::Cut { .. }) if last => {}
            Err(_) => self.unread += 1,
        }
        Ok(())
    }
}

fn put_together(first: &Decoded, code: Code, tally: &Tally<'_>) -> Heard {
    let family = first.family;
    let due_us = encode(&code, first.toggle.unwrap_or(false))
        .map(|frame| if first.repeat { frame.repeat.pulses_us } else { frame.pulses_us });
    let due_us = due_us.unwrap_or_default();
    let mean_us = stretch::mean(&tally.whole);
    let fit = stretch::fit(&mean_us, &due_us);
    let clean_us = stretch::without(&mean_us, fit.stretch_us);
    let heard_us = tally.whole.first().copied().unwrap_or_default();
    let off_us = heard_us.iter().zip(&due_us).map(|(us, due)| us - due).collect();
    let period_us = stretch::median(&tally.periods_us);
    let sure = sure(first, &code, tally, period_us);
    Heard {
        also: also(family, &code),
        code,
        family: Some(family),
        toggle: first.toggle,
        frames: tally.frames,
        repeats: tally.repeats,
        stretch_us: fit.stretch_us,
        clean_us,
        off_us,
        period_us,
        sure,
    }
}

fn sure(first: &Decoded, code: &Code, tally: &Tally<'_>, period_us: Option<f64>) -> Sure {
    let family = first.family;
    let (mut grounds, mut doubts) = (Vec::new(), Vec::new());
    let inverse = |holds| matches!(holds, Holds::AddressInverse(_) | Holds::CommandInverse(_));
    if family.fields.iter().any(|field| field.width > 1 && inverse(field.holds)) {
        grounds.push(Ground::Inverses);
    }
    if tally.frames > 1 {
        grounds.push(Ground::Frames(tally.frames));
    }
    if tally.repeats > 0 {
        grounds.push(Ground::Repeats(tally.repeats));
    }
    if tally.frames == 0 {
        doubts.push(Doubt::OnlyRepeats);
    } else if tally.frames + tally.repeats < 2 {
        doubts.push(Doubt::HeardOnce);
        if families().iter().any(|longer| begins_the_same(family, longer)) {
            doubts.push(Doubt::MayBeLonger);
        }
    }
    if tally.unread > 0 {
        doubts.push(Doubt::Unread(tally.unread));
    }
    if tally.toggled {
        doubts.push(Doubt::Toggled);
    }
    if parity_fails(family, code) {
        doubts.push(Doubt::Parity);
    }
    let slack_us = family.period_slack * family.repeat_period_us;
    if let Some(heard_us) = period_us
        && family.repeat != RepeatKind::Once
        && (heard_us - family.repeat_period_us).abs() > slack_us
    {
        let ms = |us: f64| (us / 1e3).round() as u32;
        doubts.push(Doubt::Period { heard_ms: ms(heard_us), due_ms: ms(family.repeat_period_us) });
    }
    Sure::of(grounds, doubts)
}

/// Whether a frame of `longer`, cut, is one of `family`.
fn begins_the_same(family: &Family, longer: &Family) -> bool {
    !family.stop_mark
        && longer.bit_count() > family.bit_count()
        && (longer.leader_units, longer.modulation, longer.order)
            == (family.leader_units, family.modulation, family.order)
        && (longer.unit_us - family.unit_us).abs() < f64::EPSILON
}

fn parity_fails(family: &Family, code: &Code) -> bool {
    let Code::Family { address, command, .. } = code else { return false };
    family.fields.iter().any(|field| match field.holds {
        Holds::CommandParity(from) => (command >> from) & field.mask() != nibble_parity(*address),
        _ => false,
    })
}

/// What else the same frame could be.
fn also(family: &Family, code: &Code) -> Vec<Code> {
    let Ok(frame) = encode(code, false) else { return Vec::new() };
    let others = families().iter().filter(|other| other.id != family.id);
    let read = others.filter_map(|other| super::super::decode::decode_as(other, &frame.pulses_us));
    read.collect()
}
