//! What the box tells of itself, as bytes and back.

use super::answer::{cause_from, cause_number};
use super::bytes::Bytes;
use super::limits::{CAPTURE_STEP_NS, CAPTURE_TIMINGS_MAX, PROTOCOL};
use super::message::{BoxEvent, CapturePart, DecisionKind, DecisionSeen, PAYLOAD_MAX, Sample, SampleBlock};

const BOOTED: u8 = 0xC0;
const SAMPLES: u8 = 0xC1;
const DECISION: u8 = 0xC2;
const CAPTURE: u8 = 0xC3;
const SENT: u8 = 0xC4;

/// Stands for no button, or no label, in six bits.
const NO_BUTTON: u8 = 63;
/// Stands for no command.
const NO_COMMAND: u8 = 255;
/// Stands for no level: a lost or impossible reading.
const NO_LEVEL: u16 = 0xFFFF;
/// A level's steps to a count.
const LEVEL_PER_COUNT: f64 = 32.0;
/// A captured timing's step, in microseconds.
const STEP_US: u32 = CAPTURE_STEP_NS as u32 / 1_000;
/// The raw number's bits of a sample's word; the six above carry a label or a button.
const RAW_BITS: u16 = 0x03FF;
/// Tick, lost and flags in front of the samples.
const SAMPLES_HEAD: usize = 6;

/// Why an event can't be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "the box's message {number:02X} with {length} bytes can't be read. Flash the firmware that comes with this program."
)]
pub struct EventFault {
    /// Its number.
    pub number: u8,
    /// Bytes of its payload.
    pub length: usize,
}

impl BoxEvent {
    /// The event in a frame.
    ///
    /// # Errors
    /// Where the number is no event's, or the payload is not laid out as this program knows it.
    pub fn parse(number: u8, payload: &[u8]) -> Result<Self, EventFault> {
        let mut bytes = Bytes(payload);
        let event = match number {
            BOOTED => booted(&mut bytes),
            SAMPLES => samples(&mut bytes).map(Self::Samples),
            DECISION => decision(&mut bytes).map(Self::Decision),
            CAPTURE => capture(&mut bytes).map(Self::Capture),
            SENT => bytes.u8().map(|frames| Self::Sent { frames }),
            _ => None,
        };
        event.and_then(|event| bytes.end(event)).ok_or(EventFault { number, length: payload.len() })
    }

    /// Its number on the link.
    #[must_use]
    pub const fn number(&self) -> u8 {
        match self {
            Self::Booted(_) => BOOTED,
            Self::Samples(_) => SAMPLES,
            Self::Decision(_) => DECISION,
            Self::Capture(_) => CAPTURE,
            Self::Sent { .. } => SENT,
        }
    }

    /// Its payload: the box's side, for a virtual one. A box that starts says its firmware's version
    /// here, too; it is left at 0, since only the identity's is believed. Samples and timings beyond
    /// what a frame holds are left out; [`SampleBlock::most`] says how many samples it holds.
    #[must_use]
    pub fn encode(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(PAYLOAD_MAX);
        match self {
            Self::Booted(cause) => out.extend([cause_number(*cause), PROTOCOL, 0, 0]),
            Self::Samples(block) => put_samples(&mut out, block),
            Self::Decision(decision) => put_decision(&mut out, decision),
            Self::Capture(part) => put_capture(&mut out, part),
            Self::Sent { frames } => out.push(*frames),
        }
        out
    }
}

fn booted(bytes: &mut Bytes<'_>) -> Option<BoxEvent> {
    let cause = cause_from(bytes.u8()?)?;
    bytes.take(3)?; // protocol and version: asked again by identify, which is believed
    Some(BoxEvent::Booted(cause))
}

impl SampleBlock {
    /// The most samples a frame holds.
    #[must_use]
    pub const fn most(has_feed: bool) -> usize {
        (PAYLOAD_MAX - SAMPLES_HEAD) / if has_feed { 6 } else { 4 }
    }
}

fn samples(bytes: &mut Bytes<'_>) -> Option<SampleBlock> {
    let (tick, lost, flags) = (bytes.u32()?, bytes.u8()?, bytes.u8()?);
    let has_feed = flags & 2 != 0;
    let mut samples = Vec::with_capacity(SampleBlock::most(has_feed));
    while !bytes.0.is_empty() {
        let (first, second) = (bytes.u16()?, bytes.u16()?);
        let feed = if has_feed { Some(bytes.u16()? & RAW_BITS) } else { None };
        samples.push(Sample {
            raw: [first & RAW_BITS, second & RAW_BITS],
            feed,
            label: six_bits(first),
            pressed: six_bits(second),
        });
    }
    Some(SampleBlock { tick, lost, two_wires: flags & 1 != 0, samples })
}

fn six_bits(word: u16) -> Option<u8> {
    u8::try_from(word >> 10).ok().filter(|&bits| bits != NO_BUTTON)
}

fn put_samples(out: &mut Vec<u8>, block: &SampleBlock) {
    let has_feed = block.samples.first().is_some_and(|sample| sample.feed.is_some());
    out.extend(block.tick.to_le_bytes());
    out.extend([block.lost, u8::from(block.two_wires) | u8::from(has_feed) << 1]);
    let word = |raw: u16, bits: Option<u8>| raw & RAW_BITS | u16::from(bits.unwrap_or(NO_BUTTON) & 63) << 10;
    for sample in block.samples.iter().take(SampleBlock::most(has_feed)) {
        out.extend(word(sample.raw[0], sample.label).to_le_bytes());
        out.extend(word(sample.raw[1], sample.pressed).to_le_bytes());
        if has_feed {
            out.extend((sample.feed.unwrap_or(0) & RAW_BITS).to_le_bytes());
        }
    }
}

const KINDS: [(u8, DecisionKind); 6] = [
    (1, DecisionKind::Pressed),
    (2, DecisionKind::Released),
    (3, DecisionKind::Tap),
    (4, DecisionKind::Hold),
    (5, DecisionKind::DoubleTap),
    (6, DecisionKind::Undecided),
];

fn decision(bytes: &mut Bytes<'_>) -> Option<DecisionSeen> {
    let tick = bytes.u32()?;
    let kind = bytes.u8()?;
    let kind = KINDS.iter().find(|(number, _)| *number == kind)?.1;
    let button = Some(bytes.u8()?).filter(|&button| button != NO_BUTTON);
    let wire = bytes.u8()?;
    if !(1..=2).contains(&wire) {
        return None;
    }
    let level = bytes.u16()?;
    let count = if level == NO_LEVEL { f64::NAN } else { f64::from(level) / LEVEL_PER_COUNT };
    let latency_ms = bytes.u16()?;
    let command = Some(bytes.u8()?).filter(|&command| command != NO_COMMAND);
    Some(DecisionSeen { tick, kind, button, wire, count, latency_ms, command })
}

fn put_decision(out: &mut Vec<u8>, decision: &DecisionSeen) {
    let kind = KINDS.iter().find(|(_, kind)| *kind == decision.kind).map_or(0, |(number, _)| *number);
    let level = if decision.count.is_nan() {
        NO_LEVEL
    } else {
        (decision.count * LEVEL_PER_COUNT).round().clamp(0.0, f64::from(NO_LEVEL - 1)) as u16
    };
    out.extend(decision.tick.to_le_bytes());
    out.extend([kind, decision.button.unwrap_or(NO_BUTTON), decision.wire]);
    out.extend(level.to_le_bytes());
    out.extend(decision.latency_ms.to_le_bytes());
    out.push(decision.command.unwrap_or(NO_COMMAND));
}

fn capture(bytes: &mut Bytes<'_>) -> Option<CapturePart> {
    let (from, flags) = (bytes.u8()?, bytes.u8()?);
    let mut timings_us = Vec::with_capacity(CAPTURE_TIMINGS_MAX);
    while !bytes.0.is_empty() {
        timings_us.push(u32::from(bytes.u16()?) * STEP_US);
    }
    let fits = timings_us.len() <= CAPTURE_TIMINGS_MAX;
    fits.then_some(CapturePart { from, last: flags & 1 != 0, overflow: flags & 2 != 0, timings_us })
}

fn put_capture(out: &mut Vec<u8>, part: &CapturePart) {
    out.extend([part.from, u8::from(part.last) | u8::from(part.overflow) << 1]);
    for timing_us in part.timings_us.iter().take(CAPTURE_TIMINGS_MAX) {
        let steps = u16::try_from(timing_us / STEP_US).unwrap_or(u16::MAX);
        out.extend(steps.to_le_bytes());
    }
}
