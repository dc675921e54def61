//! From a code to its frame: the pulses on the wire, and which of them mean what. Draws nothing
//! and times nothing; a window draws the waveform from exactly this.

use std::ops::Range;

use super::code::{Code, FamilyId};
use super::family::{
    BitOrder, Family, FieldSpec, Holds, Modulation, RepeatKind, families, family, nibble_parity,
};
use super::free::{FreeError, FreeFamily, FreeRepeat};
use super::raw::{self, RawError, us_text};

/// One frame as it goes over the wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Mark, space, mark, … in microseconds, beginning and ending with a mark.
    pub pulses_us: Vec<f64>,
    /// Leader, fields and stop mark in the order they are sent; none for a raw code.
    pub fields: Vec<Field>,
    /// Every bit in the order it is sent; none for a raw code.
    pub bits: Vec<FrameBit>,
    /// What follows while the button is held.
    pub repeat: Repeat,
}

/// A stretch of a frame with a meaning of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// What it is: `leader`, `address`, `its inverse`, `command`, `stop mark`, ….
    pub label: &'static str,
    /// What its bits say, as sent; `None` for the leader and the stop mark.
    pub value: Option<u32>,
    /// How many bits it has; 0 for the leader and the stop mark.
    pub width: u8,
    /// The pulses it touches. Where bits are bi-phase, one pulse may touch two fields.
    pub pulses: Range<usize>,
    /// Where it begins, in microseconds from the first mark.
    pub start_us: f64,
    /// How long it is. Idle time before the first mark and after the last is not counted.
    pub length_us: f64,
    /// Whether it agrees with what it repeats; `None` if it repeats nothing.
    pub checked: Option<bool>,
}

/// One bit of a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrameBit {
    /// Where its period begins, in microseconds from the first mark.
    pub start_us: f64,
    /// How long its period is. Idle time before the first mark and after the last is not counted.
    pub length_us: f64,
    /// 1 or 0.
    pub value: bool,
}

/// What follows a frame while the button is held.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeat {
    /// Of what kind it is.
    pub kind: RepeatKind,
    /// From the start of one frame to the start of the next, in microseconds; `None` if the frame
    /// is sent once.
    pub period_us: Option<f64>,
    /// What is sent each time, as in [`Frame::pulses_us`]; empty if the frame is sent once.
    pub pulses_us: Vec<f64>,
}

/// Why a code cannot be sent.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CodeError {
    /// No such family.
    #[error("There is no code family \"{family}\". Choose one of {}.", ids(|_| true))]
    UnknownFamily {
        /// The id that was asked for.
        family: String,
    },
    /// The address doesn't fit the family.
    #[error("{}", out_of_range("Address", family, *given, *max, |other| other.address_max()))]
    Address {
        /// The family.
        family: &'static str,
        /// The address that was asked for.
        given: u32,
        /// The highest it takes.
        max: u32,
    },
    /// The command doesn't fit the family.
    #[error("{}", out_of_range("Command", family, *given, *max, |other| other.command_max()))]
    Command {
        /// The family.
        family: &'static str,
        /// The command that was asked for.
        given: u32,
        /// The highest it takes.
        max: u32,
    },
    /// A free family's parameters can't be.
    #[error(transparent)]
    Free(#[from] FreeError),
    /// A number doesn't fit a free family's bits.
    #[error(
        "{what} {given:X} does not fit {bits} bits, which take up to {:X}, in hex. Check the number, or the family's bits.",
        u32::MAX.checked_shr(32 - u32::from(*bits)).unwrap_or(0)
    )]
    FreeNumber {
        /// `Address` or `Command`.
        what: &'static str,
        /// The number that was asked for.
        given: u32,
        /// How many bits it has.
        bits: u8,
    },
    /// The timings of a raw code can't be sent.
    #[error(transparent)]
    Raw(#[from] RawError),
    /// A raw code that would repeat before it ends.
    #[error(
        "The raw code repeats every {} but lasts {}. Repeat it later, or send it once.",
        us_text(*period_us), us_text(*total_us)
    )]
    RawRepeat {
        /// The period that was asked for.
        period_us: f64,
        /// The length of the frame.
        total_us: f64,
    },
}

impl Frame {
    /// From the first mark to the end of the last, in microseconds.
    #[must_use]
    pub fn total_us(&self) -> f64 {
        self.pulses_us.iter().sum()
    }
}

impl Field {
    /// Its value as written on screen: hex in whole digits, a single bit as 0 or 1.
    #[must_use]
    pub fn value_text(&self) -> Option<String> {
        let digits = usize::from(self.width).div_ceil(4);
        self.value.map(|value| format!("{value:0digits$X}"))
    }
}

/// The frame of a code. `toggle` sets the toggle bit; families without one send the same frame
/// either way.
///
/// # Errors
/// [`CodeError`] if the family is unknown, a number is out of its range, or raw timings can't be
/// sent.
pub fn encode(code: &Code, toggle: bool) -> Result<Frame, CodeError> {
    match code {
        Code::Family { family, address, command } => {
            let family = checked(family, *address, *command)?;
            Ok(family_frame(family, *address, *command, toggle))
        }
        Code::Free { free, address, command } => {
            free.check()?;
            let numbers = [
                ("Address", *address, free.address_max(), free.address_bits),
                ("Command", *command, free.command_max(), free.command_bits),
            ];
            if let Some(&(what, given, _, bits)) = numbers.iter().find(|(_, given, max, _)| given > max) {
                return Err(CodeError::FreeNumber { what, given, bits });
            }
            Ok(free_frame(free, *address, *command))
        }
        Code::Raw { pulses_us, repeat_us } => raw_frame(pulses_us, *repeat_us),
    }
}

/// The family, if it is known and takes these numbers.
pub(super) fn checked(id: &FamilyId, address: u32, command: u32) -> Result<&'static Family, CodeError> {
    let family = family(id).ok_or_else(|| CodeError::UnknownFamily { family: id.0.clone() })?;
    if address > family.address_max() {
        return Err(CodeError::Address { family: family.id, given: address, max: family.address_max() });
    }
    if command > family.command_max() {
        return Err(CodeError::Command { family: family.id, given: command, max: family.command_max() });
    }
    Ok(family)
}

fn family_frame(family: &'static Family, address: u32, command: u32, toggle: bool) -> Frame {
    let line = Line::of(family, address, command, toggle, true);
    let again_us = match family.repeat {
        RepeatKind::ShortFrame { mark, space } => [mark, space, 1.0].map(|n| n * family.unit_us).to_vec(),
        RepeatKind::WholeFrame => line.pulses().0,
        RepeatKind::WithoutLeader => Line::of(family, address, command, toggle, false).pulses().0,
        RepeatKind::Once => Vec::new(),
    };
    let period_us = (family.repeat != RepeatKind::Once).then_some(family.repeat_period_us);
    line.frame(Repeat { kind: family.repeat, period_us, pulses_us: again_us })
}

fn free_frame(free: &FreeFamily, address: u32, command: u32) -> Frame {
    let line = Line::free(free, address, command, true);
    let (kind, again_us) = match (free.repeat, free.leader_us) {
        (FreeRepeat::Once, _) => (RepeatKind::Once, Vec::new()),
        (FreeRepeat::ShortFrame, Some((mark, space))) => {
            let unit_us = free.zero_us.0;
            let kind = RepeatKind::ShortFrame { mark: mark / unit_us, space: space / 2.0 / unit_us };
            (kind, vec![mark, space / 2.0, unit_us])
        }
        (FreeRepeat::WithoutLeader, Some(_)) => {
            (RepeatKind::WithoutLeader, Line::free(free, address, command, false).pulses().0)
        }
        _ => (RepeatKind::WholeFrame, line.pulses().0),
    };
    let period_us = (free.repeat != FreeRepeat::Once).then_some(free.period_us);
    line.frame(Repeat { kind, period_us, pulses_us: again_us })
}

fn raw_frame(pulses_us: &[f64], repeat_us: Option<f64>) -> Result<Frame, CodeError> {
    raw::check(pulses_us)?;
    let total_us: f64 = pulses_us.iter().sum();
    let repeat = match repeat_us {
        None => Repeat { kind: RepeatKind::Once, period_us: None, pulses_us: Vec::new() },
        // Not `period <= total`: a period that is no number has to be refused too.
        Some(period_us) if !(period_us.is_finite() && period_us > total_us) => {
            return Err(CodeError::RawRepeat { period_us, total_us });
        }
        Some(_) => {
            Repeat { kind: RepeatKind::WholeFrame, period_us: repeat_us, pulses_us: pulses_us.to_vec() }
        }
    };
    Ok(Frame { pulses_us: pulses_us.to_vec(), fields: Vec::new(), bits: Vec::new(), repeat })
}

/// Whether a field agrees with what it repeats; `None` if it repeats nothing.
fn agrees(spec: &FieldSpec, address: u32, command: u32) -> Option<bool> {
    match spec.holds {
        // A lone inverse bit may be the only carrier of a command bit; then it checks nothing.
        Holds::AddressInverse(_) | Holds::CommandInverse(_) if spec.width > 1 => Some(true),
        Holds::CommandParity(from) => Some((command >> from) & spec.mask() == nibble_parity(address)),
        _ => None,
    }
}

/// The pulses that overlap a stretch.
fn touched(pulses_us: &[f64], start_us: f64, end_us: f64) -> Range<usize> {
    /// Far below a pulse, far above what a sum of them loses.
    const TINY_US: f64 = 1e-3;
    let mut at_us = 0.0;
    let mut range = pulses_us.len()..0;
    for (i, &length_us) in pulses_us.iter().enumerate() {
        if at_us + length_us > start_us + TINY_US && at_us < end_us - TINY_US {
            range = range.start.min(i)..i + 1;
        }
        at_us += length_us;
    }
    range
}

/// A frame being laid out: levels in order, with neighbours of one level not yet joined.
#[derive(Default)]
struct Line {
    runs: Vec<(bool, f64)>,
    now_us: f64,
    fields: Vec<Part>,
    bits: Vec<(f64, f64, bool)>,
}

struct Part {
    label: &'static str,
    value: Option<u32>,
    width: u8,
    checked: Option<bool>,
    start_us: f64,
    end_us: f64,
}

impl Line {
    fn of(family: &'static Family, address: u32, command: u32, toggle: bool, leader: bool) -> Self {
        let mut line = Self::default();
        if let (Some((mark, space)), true) = (family.leader_units, leader) {
            line.part("leader", None, |line| line.mark_space(family.unit_us, mark, space));
        }
        for spec in family.fields {
            let value = spec.value(address, command, toggle);
            let field = (value, spec.width, agrees(spec, address, command));
            line.part(spec.label, Some(field), |line| {
                for bit in spec.bits(value, family.order) {
                    let start_us = line.now_us;
                    line.bit(family, spec, bit);
                    line.bits.push((start_us, line.now_us, bit));
                }
            });
        }
        if family.stop_mark {
            line.part("stop mark", None, |line| line.run(true, family.unit_us));
        }
        line
    }

    /// A free family's frame, with or without its leader.
    fn free(free: &FreeFamily, address: u32, command: u32, leader: bool) -> Self {
        let mut line = Self::default();
        if let (Some((mark, space)), true) = (free.leader_us, leader) {
            line.part("leader", None, |line| line.mark_space(1.0, mark, space));
        }
        let order = if free.high_first { BitOrder::HighFirst } else { BitOrder::LowFirst };
        for field in free.fields(address, command) {
            let said = (field.value, field.width, field.checks.then_some(true));
            line.part(field.label, Some(said), |line| {
                for bit in order.bits(field.value, field.width) {
                    let start_us = line.now_us;
                    let (mark, space) = if bit { free.one_us } else { free.zero_us };
                    line.mark_space(1.0, mark, space);
                    line.bits.push((start_us, line.now_us, bit));
                }
            });
        }
        if free.stop_mark {
            line.part("stop mark", None, |line| line.run(true, free.zero_us.0));
        }
        line
    }

    /// A stretch with a meaning of its own; a field with its value, its width and whether it agrees with
    /// what it repeats.
    fn part(
        &mut self,
        label: &'static str,
        field: Option<(u32, u8, Option<bool>)>,
        lay: impl FnOnce(&mut Self),
    ) {
        let start_us = self.now_us;
        lay(self);
        let (value, width, checked) =
            field.map_or((None, 0, None), |(value, width, checked)| (Some(value), width, checked));
        self.fields.push(Part { label, value, width, checked, start_us, end_us: self.now_us });
    }

    /// The frame it makes.
    fn frame(&self, repeat: Repeat) -> Frame {
        let (pulses_us, idle_us) = self.pulses();
        let total_us: f64 = pulses_us.iter().sum();
        let clip = |start: f64, end: f64| {
            let start_us = (start - idle_us).clamp(0.0, total_us);
            (start_us, (end - idle_us).clamp(0.0, total_us) - start_us)
        };
        let fields = self.fields.iter().map(|part| {
            let (start_us, length_us) = clip(part.start_us, part.end_us);
            let pulses = touched(&pulses_us, start_us, start_us + length_us);
            let &Part { label, value, width, checked, .. } = part;
            Field { label, value, width, pulses, start_us, length_us, checked }
        });
        let fields = fields.collect();
        let bits = self.bits.iter().map(|&(start, end, value)| {
            let (start_us, length_us) = clip(start, end);
            FrameBit { start_us, length_us, value }
        });
        let bits = bits.collect();
        Frame { pulses_us, fields, bits, repeat }
    }

    fn bit(&mut self, family: &Family, spec: &FieldSpec, bit: bool) {
        let unit_us = family.unit_us * f64::from(spec.stretch);
        match family.modulation {
            Modulation::PulseDistance { mark, zero_space, one_space } => {
                self.mark_space(unit_us, mark, if bit { one_space } else { zero_space });
            }
            Modulation::PulseWidth { zero_mark, one_mark, space } => {
                self.mark_space(unit_us, if bit { one_mark } else { zero_mark }, space);
            }
            Modulation::BiPhase { one_opens_with_mark } => {
                let mark_first = bit == one_opens_with_mark;
                self.run(mark_first, unit_us);
                self.run(!mark_first, unit_us);
            }
        }
    }

    fn mark_space(&mut self, unit_us: f64, mark: f64, space: f64) {
        self.run(true, mark * unit_us);
        self.run(false, space * unit_us);
    }

    fn run(&mut self, mark: bool, length_us: f64) {
        self.runs.push((mark, length_us));
        self.now_us += length_us;
    }

    /// Joined into pulses that begin and end with a mark, and the idle time cut off before them.
    fn pulses(&self) -> (Vec<f64>, f64) {
        let idle_us = self.runs.iter().take_while(|run| !run.0).map(|run| run.1).sum();
        let mut pulses_us: Vec<f64> = Vec::with_capacity(self.runs.len());
        for &(mark, length_us) in self.runs.iter().skip_while(|run| !run.0) {
            let last_is_mark = pulses_us.len() % 2 == 1;
            match pulses_us.last_mut() {
                Some(last) if last_is_mark == mark => *last += length_us,
                _ => pulses_us.push(length_us),
            }
        }
        if pulses_us.len().is_multiple_of(2) {
            pulses_us.pop();
        }
        (pulses_us, idle_us)
    }
}

/// The ids of the families that fit, as words.
fn ids(fits: impl Fn(&Family) -> bool) -> String {
    let ids: Vec<_> = families().iter().filter(|family| fits(family)).map(|family| family.id).collect();
    ids.join(", ")
}

fn out_of_range(what: &str, family: &str, given: u32, max: u32, takes: impl Fn(&Family) -> u32) -> String {
    let digits = format!("{max:X}").len();
    let fitting = ids(|other| takes(other) >= given);
    let remedy = if fitting.is_empty() {
        "Check the number: no family takes it.".to_owned()
    } else {
        format!("Check the number, or choose a family that takes it: {fitting}.")
    };
    format!(
        "{what} {given:X} is out of range for {family}, which takes {:0digits$X} to {max:X}, in hex. {remedy}",
        0
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coded(id: &str, address: u32, command: u32) -> Code {
        Code::Family { family: FamilyId(id.to_owned()), address, command }
    }

    #[test]
    fn the_fields_of_a_frame_lie_end_to_end_and_cover_it() {
        for family in families() {
            let code = coded(family.id, family.address_max() / 3, family.command_max() / 5);
            let frame = encode(&code, true).unwrap();
            let mut at_us = 0.0;
            for field in &frame.fields {
                assert!((field.start_us - at_us).abs() < 1e-6, "{}: {} at {at_us}", family.id, field.label);
                assert!(!field.pulses.is_empty(), "{}: {}", family.id, field.label);
                at_us += field.length_us;
            }
            assert!((at_us - frame.total_us()).abs() < 1e-6, "{}", family.id);
            assert_eq!(frame.bits.len(), family.bit_count());
            assert_eq!(frame.pulses_us.len() % 2, 1, "{}: begins and ends with a mark", family.id);
        }
    }

    #[test]
    fn a_nec_frame_names_every_stretch_of_it() {
        let frame = encode(&coded("nec", 0x59, 0x16), false).unwrap();
        let named: Vec<_> = frame
            .fields
            .iter()
            .map(|field| {
                (field.label, field.value_text().unwrap_or_default(), field.pulses.clone(), field.checked)
            })
            .collect();
        assert_eq!(
            named,
            [
                ("leader", String::new(), 0..2, None),
                ("address", "59".to_owned(), 2..18, None),
                ("its inverse", "A6".to_owned(), 18..34, Some(true)),
                ("command", "16".to_owned(), 34..50, None),
                ("its inverse", "E9".to_owned(), 50..66, Some(true)),
                ("stop mark", String::new(), 66..67, None),
            ]
        );
        let bit = frame.bits[0];
        assert_eq!((bit.start_us, bit.length_us, bit.value), (13_500.0, 2_250.0, true));
        assert_eq!(frame.repeat.pulses_us, [9000.0, 2250.0, 562.5]);
        assert_eq!(frame.repeat.period_us, Some(108_000.0));
    }

    #[test]
    fn a_frame_ends_before_its_repeat_is_due() {
        for family in families() {
            for (address, command) in
                [(0, 0), (family.address_max(), family.command_max()), (0, family.command_max())]
            {
                let frame = encode(&coded(family.id, address, command), true).unwrap();
                assert!(frame.total_us() < family.repeat_period_us, "{}", family.id);
            }
        }
    }

    #[test]
    fn a_number_out_of_range_is_refused_with_the_range_and_what_to_do() {
        let said = |code: &Code| encode(code, false).unwrap_err().to_string();
        assert_eq!(
            said(&coded("nec", 0x1_0000, 0)),
            "Address 10000 is out of range for nec, which takes 00 to FF, in hex. \
             Check the number: no family takes it."
        );
        assert!(said(&coded("nec", 0x1234, 0)).starts_with(
            "Address 1234 is out of range for nec, which takes 00 to FF, in hex. \
             Check the number, or choose a family that takes it: nec16"
        ));
        assert!(said(&coded("nec16", 0, 0x100)).starts_with(
            "Command 100 is out of range for nec16, which takes 00 to FF, in hex. Check the number"
        ));
        assert!(
            said(&coded("NEC", 0, 0))
                .starts_with("There is no code family \"NEC\". Choose one of nec, nec16")
        );
    }

    #[test]
    fn a_raw_code_is_sent_as_it_is() {
        let pulses_us = vec![3000.0, 1000.0, 500.0];
        let once = encode(&Code::Raw { pulses_us: pulses_us.clone(), repeat_us: None }, false).unwrap();
        assert_eq!(once.pulses_us, pulses_us);
        assert_eq!((once.repeat.kind, once.repeat.period_us), (RepeatKind::Once, None));
        let held =
            encode(&Code::Raw { pulses_us: pulses_us.clone(), repeat_us: Some(60_000.0) }, false).unwrap();
        assert_eq!(held.repeat.pulses_us, pulses_us);
        for repeat_us in [4_500.0, 0.0, -1.0, f64::NAN, f64::INFINITY] {
            let refused =
                encode(&Code::Raw { pulses_us: pulses_us.clone(), repeat_us: Some(repeat_us) }, false);
            assert!(matches!(refused, Err(CodeError::RawRepeat { .. })), "{repeat_us}");
        }
        let tight = Code::Raw { pulses_us, repeat_us: Some(4_000.0) };
        assert_eq!(
            encode(&tight, false).unwrap_err().to_string(),
            "The raw code repeats every 4000 µs but lasts 4500 µs. Repeat it later, or send it once."
        );
        let open = Code::Raw { pulses_us: vec![500.0, 500.0], repeat_us: None };
        assert!(matches!(encode(&open, false), Err(CodeError::Raw(RawError::EndsWithSpace { count: 2 }))));
        let absurd = Code::Raw { pulses_us: vec![f64::NAN], repeat_us: None };
        assert!(matches!(encode(&absurd, false), Err(CodeError::Raw(RawError::OutOfRange { .. }))));
    }
}
