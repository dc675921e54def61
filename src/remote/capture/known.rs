//! A capture that a family explains, of the table or free: its frames put together.

use super::super::code::Code;
use super::super::decode::{DecodeError, decode_as};
use super::super::describe::describe;
use super::super::family::{families, family};
use super::super::frame::encode;
use super::super::raw::as_heard;
use super::frames::short_of;
use super::guess::leader;
use super::scheme::{Of, Read, Said, Scheme};
use super::sure::{Doubt, Ground, Sure};
use super::{HearError, Heard, alike, stretch};

/// Why no family's code comes of a capture.
pub(super) enum Unknown {
    /// For a person to read.
    Refused(HearError),
    /// No family is anything like it: it may be kept raw. The reason that its first frame is none.
    NoFamily(DecodeError),
}

/// The capture as a code of the table, or of the one free family.
pub(super) fn hear(timings_us: &[f64], scheme: &Scheme<'_>) -> Result<Heard, Unknown> {
    let reads = scheme.reads(timings_us);
    let says = |read: &&Read<'_>, bare: bool| {
        read.said.as_ref().is_ok_and(|said| said.code.is_some() && (bare || !said.repeat))
    };
    let first =
        reads.iter().find(|read| says(read, false)).or_else(|| reads.iter().find(|read| says(read, true)));
    let Some((said, code)) =
        first.and_then(|read| read.said.as_ref().ok()).and_then(|said| Some((said, said.code.as_ref()?)))
    else {
        return Err(none(&reads));
    };
    let mut tally = Tally::default();
    for (at, read) in reads.iter().enumerate() {
        tally.take(read, at == 0, scheme, said, code)?;
    }
    // In long noise a frame is found in the end. One without a leader and without an inverse has to be
    // most of the capture, any other a third.
    let vouched = said.of.has_leader() && !said.repeat || said.of.has_inverse();
    let all: usize = reads.iter().map(|read| read.piece.pulses_us.len()).sum();
    let most = if vouched { 3 * tally.timings } else { 2 * tally.timings };
    if most < all {
        return Err(none(&reads));
    }
    // With no leader to vouch for it, one bare repeat is soon found in noise.
    if tally.frames == 0 && tally.repeats < 2 {
        let raw = tally.like_first.first().and_then(|pulses_us| as_heard(pulses_us)).map(Box::new);
        return Err(Unknown::Refused(only_repeats(said, &reads, raw)));
    }
    Ok(put_together(said, code.clone(), &tally))
}

/// No frame carries a code: why.
fn none(reads: &[Read<'_>]) -> Unknown {
    // The frame that got furthest: a piece of noise before it is no reason.
    let failed = reads.iter().filter_map(|read| read.said.as_ref().err().map(|reason| (read.piece, reason)));
    let furthest = failed.rev().max_by_key(|(piece, _)| piece.pulses_us.len());
    // Without a leader it may be the end of the frame that these repeats belong to.
    let begins = furthest.is_some_and(|(piece, _)| leader(piece.pulses_us));
    if let Some(repeat) = reads.iter().filter_map(|read| read.said.as_ref().ok()).find(|said| said.repeat)
        && !begins
    {
        let raw = furthest.and_then(|(piece, _)| as_heard(piece.pulses_us)).map(Box::new);
        return Unknown::Refused(only_repeats(repeat, reads, raw));
    }
    let Some((piece, reason)) = furthest else { return Unknown::NoFamily(DecodeError::Empty) };
    let same = reads.iter().filter(|read| alike(read.piece.pulses_us, piece.pulses_us)).count();
    match reason {
        // A family without a leader begins like much; what it explains has to be most of the capture.
        DecodeError::Cut { family: id, .. }
            if family(id).is_some_and(|row| row.leader_units.is_none())
                && 2 * piece.pulses_us.len() < reads.iter().map(|read| read.piece.pulses_us.len()).sum() =>
        {
            Unknown::NoFamily(reason.clone())
        }
        // Frames that end alike were not cut: they are of a family that isn't in the table.
        DecodeError::Cut { .. } if same > 1 => Unknown::NoFamily(reason.clone()),
        DecodeError::Cut { .. } | DecodeError::Disagrees { .. } | DecodeError::Fixed { .. } => {
            Unknown::Refused(HearError::refused(reason.clone(), piece.pulses_us))
        }
        _ => Unknown::NoFamily(reason.clone()),
    }
}

fn only_repeats(repeat: &Said, reads: &[Read<'_>], raw: Option<Box<Code>>) -> HearError {
    let count = reads.iter().filter(|read| read.said.as_ref().is_ok_and(|said| said.repeat)).count();
    HearError::OnlyRepeats { family: repeat.of.name(), count, raw }
}

/// What the pieces of one press come to.
#[derive(Default)]
struct Tally<'a> {
    /// The frames like the first, to be averaged.
    like_first: Vec<&'a [f64]>,
    frames: usize,
    repeats: usize,
    unread: usize,
    toggled: bool,
    /// How many timings the frames and repeats have.
    timings: usize,
    periods_us: Vec<f64>,
}

impl<'a> Tally<'a> {
    fn take(
        &mut self,
        read: &Read<'a>,
        opens: bool,
        scheme: &Scheme<'_>,
        first: &Said,
        code: &Code,
    ) -> Result<(), Unknown> {
        let piece = read.piece;
        let closes = piece.period_us.is_none();
        let bare = || scheme.bare(first, piece.pulses_us).filter(|said| said.code.as_ref() == Some(code));
        let said = match &read.said {
            Ok(said) if said.code.as_ref() == Some(code) => said.clone(),
            Ok(said) if said.code.is_none() && said.of.repeats_like(first.of) => said.clone(),
            // The receiver's memory was full: a longer frame's beginning.
            Ok(said) if closes && said.of.bit_count() < first.of.bit_count() => return Ok(()),
            Ok(said) => {
                let then =
                    said.code.as_ref().map_or_else(|| format!("{} repeat frame", said.of.name()), describe);
                let raw = self.like_first.first().and_then(|pulses_us| as_heard(pulses_us)).map(Box::new);
                return Err(Unknown::Refused(HearError::Differ { first: describe(code), then, raw }));
            }
            Err(reason) => match bare() {
                Some(said) => said,
                // Some remotes of a family that sends whole frames send short ones all the same.
                None if self.like_first.first().is_some_and(|first| short_of(piece.pulses_us, first)) => {
                    Said { code: None, repeat: true, ..first.clone() }
                }
                None => {
                    let checked = matches!(reason, DecodeError::Disagrees { .. } | DecodeError::Fixed { .. });
                    // Listening began in the middle of a frame, or the receiver's memory was full.
                    self.unread += usize::from(checked || !(opens || closes));
                    self.periods_us.extend(piece.period_us.filter(|_| !opens));
                    return Ok(());
                }
            },
        };
        self.periods_us.extend(piece.period_us);
        self.timings += piece.pulses_us.len();
        if said.repeat {
            self.repeats += 1;
        } else {
            self.frames += 1;
            self.toggled |= said.toggle != first.toggle;
        }
        if (said.repeat, said.toggle, &said.code) == (first.repeat, first.toggle, &first.code) {
            self.like_first.push(piece.pulses_us);
        }
        Ok(())
    }
}

fn put_together(first: &Said, code: Code, tally: &Tally<'_>) -> Heard {
    let due_us = encode(&code, first.toggle.unwrap_or(false))
        .map(|frame| if first.repeat { frame.repeat.pulses_us } else { frame.pulses_us });
    let due_us = due_us.unwrap_or_default();
    let mean_us = stretch::mean(&tally.like_first);
    let stretch_us = stretch::stretch_us(&mean_us, &due_us);
    let heard_us = tally.like_first.first().copied().unwrap_or_default();
    let period_us = stretch::median(&tally.periods_us);
    Heard {
        sure: sure(first, &code, tally, period_us),
        also: also(first.of, &code),
        code,
        family: first.of.table(),
        toggle: first.toggle,
        frames: tally.frames,
        repeats: tally.repeats,
        stretch_us,
        clean_us: stretch::without(&mean_us, stretch_us),
        off_us: heard_us.iter().zip(&due_us).map(|(us, due)| us - due).collect(),
        period_us,
    }
}

fn sure(first: &Said, code: &Code, tally: &Tally<'_>, period_us: Option<f64>) -> Sure {
    let (mut grounds, mut doubts) = (Vec::new(), Vec::new());
    if first.of.has_inverse() {
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
        if families().iter().any(|longer| first.of.begins_like(longer)) {
            doubts.push(Doubt::MayBeLonger);
        }
    }
    if tally.unread > 0 {
        doubts.push(Doubt::Unread(tally.unread));
    }
    if tally.toggled {
        doubts.push(Doubt::Toggled);
    }
    if first.of.parity_fails(code) {
        doubts.push(Doubt::Parity);
    }
    if let (Some(heard_us), Some((due_us, slack_us))) = (period_us, first.of.period_us())
        && (heard_us - due_us).abs() > slack_us
    {
        let ms = |us: f64| (us / 1e3).round() as u32;
        doubts.push(Doubt::Period { heard_ms: ms(heard_us), due_ms: ms(due_us) });
    }
    Sure::of(grounds, doubts)
}

/// What else the same frame could be: another family of the table. (A free family can be made like any
/// of them, which tells nothing.)
fn also(of: Of, code: &Code) -> Vec<Code> {
    let Ok(frame) = encode(code, false) else { return Vec::new() };
    let others = families().iter().filter(|other| of.table().is_none_or(|family| family.id != other.id));
    others.filter_map(|other| decode_as(other, &frame.pulses_us)).collect()
}
