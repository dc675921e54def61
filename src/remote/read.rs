//! From pulses to the bits of one family. Judges durations only; what the bits say is decided in
//! `decode.rs`.
//!
//! A receiver stretches every mark and shortens the space after it by as much, so a mark and its
//! space together are as they were sent. Pulse-distance bits are therefore told by that period, the
//! 0 and 1 of a pulse-width family by the mark alone (the last has no space of its own), and the
//! runs of a bi-phase family after the stretch is taken out.

use super::family::{Family, Modulation, RepeatKind};

/// The stretch of a mark that has to decode, and a little: a 38 kHz receiver may stretch by 6
/// cycles, 158 µs, at worst and by 40 to 80 µs as a rule (TSOP48 data sheet, pulse-width
/// tolerance).
const STRETCH_US: f64 = 110.0;

/// Of two durations, one is taken for the longer beyond the point that leaves both the same room
/// when the shorter is this share too long and the longer this share too short.
const JITTER: f64 = 0.15;

/// A space this long ends a frame. Longer than any space within one but a leader's (1687.5 µs and
/// 15 %, plus 100 µs for a receiver that shortens marks), shorter than any gap between two (6 units
/// of 444 µs less 15 %).
pub(super) const GAP_US: f64 = 2_200.0;

/// A space this long follows a short repeat frame: 96 ms are sent, of which a receiver that gives up
/// early still shows this much.
const SHORT_FRAME_GAP_US: f64 = 10_000.0;

/// What was read of a frame.
#[derive(Debug, PartialEq)]
pub(super) struct Bits {
    /// The bits in the order they were sent; none for a short repeat frame.
    pub(super) bits: Vec<bool>,
    /// Whether the frame is one that is only sent while a button is held.
    pub(super) repeat: bool,
    /// How long its bits were against what the family says.
    pub(super) pace: Pace,
    /// Whether a gap was seen after it, so that nothing of it can be missing.
    pub(super) ended: bool,
}

/// How long bits were, as a multiple of what the family says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pace {
    /// The mean.
    pub(super) mean: f64,
    /// Its standard error.
    pub(super) error: f64,
}

impl Pace {
    /// Of a frame without bits.
    const NONE: Self = Self { mean: 1.0, error: f64::INFINITY };

    /// How far from what the family says.
    pub(super) fn off(self) -> f64 {
        (self.mean - 1.0).abs()
    }
}

/// Why pulses are no frame of a family.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Refusal {
    /// It opens otherwise.
    Leader,
    /// A bit is neither 0 nor 1; the pulse, counted from 0.
    Bit { bits: usize, pulse: usize },
    /// It ends after this many bits.
    Cut { bits: usize, pace: Pace },
    /// It goes on after the last bit.
    TooLong,
}

impl Refusal {
    /// How many bits were read before it.
    pub(super) fn bits(self, family: &Family) -> usize {
        match self {
            Self::Leader => 0,
            Self::Bit { bits, .. } | Self::Cut { bits, .. } => bits,
            Self::TooLong => family.bit_count(),
        }
    }
}

/// Reads the first frame as one of this family, or as what it sends while a button is held.
pub(super) fn read(family: &Family, pulses_us: &[f64]) -> Result<Bits, Refusal> {
    match family.leader_units {
        None => Reader::new(family, pulses_us, 0).body(false),
        Some((mark, space)) => {
            let pulse = |i: usize| pulses_us.get(i).copied();
            let is = |i: usize, units: f64| pulse(i).is_some_and(|us| near(family, us, units));
            if is(0, mark) && is(1, space) {
                return Reader::new(family, pulses_us, 2).body(false);
            }
            match family.repeat {
                RepeatKind::ShortFrame { mark, space } if is(0, mark) && is(1, space) && is(2, 1.0) => {
                    // Three pulses are soon found in noise: what follows has to be as long as between frames.
                    let ended = match pulse(3) {
                        None => false,
                        Some(us) if us >= SHORT_FRAME_GAP_US => true,
                        Some(_) => return Err(Refusal::Leader),
                    };
                    Ok(Bits { bits: Vec::new(), repeat: true, pace: Pace::NONE, ended })
                }
                RepeatKind::WithoutLeader => bare(family, pulses_us),
                _ if is(0, mark) && pulses_us.len() < 2 => Err(Refusal::Cut { bits: 0, pace: Pace::NONE }),
                _ => Err(Refusal::Leader),
            }
        }
    }
}

/// A repeat that has no leader. With no leader to vouch for it the pace has to: the end of another
/// family's frame, heard from the middle on, is no repeat.
fn bare(family: &Family, pulses_us: &[f64]) -> Result<Bits, Refusal> {
    const PACE: f64 = 0.05;
    match Reader::new(family, pulses_us, 0).body(true) {
        Ok(bits) if bits.pace.off() <= PACE => Ok(bits),
        _ => Err(Refusal::Leader),
    }
}

/// Whether a lone mark or space can be this many units.
fn near(family: &Family, us: f64, units: f64) -> bool {
    let due_us = units * family.unit_us;
    (us - due_us).abs() <= family.slack * due_us + STRETCH_US
}

/// Where a duration stops being the shorter of two and begins to be the longer.
fn between(shorter: f64, longer: f64) -> f64 {
    (shorter * (1.0 + JITTER) + longer * (1.0 - JITTER)) / 2.0
}

/// What stands after a frame: `Some(true)` a gap, `Some(false)` nothing, `None` more of it.
fn end(next_us: Option<f64>) -> Option<bool> {
    match next_us {
        None => Some(false),
        Some(us) if us >= GAP_US => Some(true),
        Some(_) => None,
    }
}

struct Reader<'a> {
    family: &'a Family,
    pulses_us: &'a [f64],
    /// The next pulse.
    at: usize,
    bits: Vec<bool>,
    /// What each stretch judged took against what it should have.
    ratios: Vec<f64>,
}

impl<'a> Reader<'a> {
    fn new(family: &'a Family, pulses_us: &'a [f64], at: usize) -> Self {
        Self { family, pulses_us, at, bits: Vec::new(), ratios: Vec::new() }
    }

    fn body(mut self, repeat: bool) -> Result<Bits, Refusal> {
        match self.family.modulation {
            Modulation::PulseDistance { mark, zero_space, one_space } => {
                for _ in 0..self.family.bit_count() {
                    self.distance_bit(mark, [mark + zero_space, mark + one_space])?;
                }
            }
            Modulation::PulseWidth { zero_mark, one_mark, space } => {
                for left in (0..self.family.bit_count()).rev() {
                    self.width_bit([zero_mark, one_mark], space, left == 0)?;
                }
            }
            Modulation::BiPhase { one_opens_with_mark } => self.bi_phase(one_opens_with_mark)?,
        }
        if self.family.stop_mark {
            let mark_us = self.next().ok_or_else(|| self.cut())?;
            if !near(self.family, mark_us, 1.0) {
                return Err(self.bad(1));
            }
        }
        let ended = end(self.peek()).ok_or(Refusal::TooLong)?;
        Ok(Bits { pace: self.pace(), bits: self.bits, repeat, ended })
    }

    fn distance_bit(&mut self, mark: f64, periods: [f64; 2]) -> Result<(), Refusal> {
        let mark_us = self.next().ok_or_else(|| self.cut())?;
        let space_us = self.inner_space()?;
        let period_us = mark_us + space_us;
        let [zero, one] = periods;
        let bit = period_us > self.family.unit_us * between(zero, one);
        let period = if bit { one } else { zero };
        if !near(self.family, mark_us, mark) {
            return Err(self.bad(2));
        }
        if !near(self.family, period_us, period) {
            return Err(self.bad(1));
        }
        self.count(period_us, period);
        self.bits.push(bit);
        Ok(())
    }

    fn width_bit(&mut self, marks: [f64; 2], space: f64, last: bool) -> Result<(), Refusal> {
        let mark_us = self.next().ok_or_else(|| self.cut())?;
        let [zero, one] = marks;
        let bit = mark_us > self.family.unit_us * between(zero, one);
        let mark = if bit { one } else { zero };
        if !near(self.family, mark_us, mark) {
            return Err(self.bad(1));
        }
        // Before its space is looked at: a frame cut there has this bit.
        self.bits.push(bit);
        if !last {
            let space_us = self.inner_space()?;
            if !near(self.family, space_us, space) {
                return Err(self.bad(1));
            }
            self.count(mark_us + space_us, mark + space);
        }
        Ok(())
    }

    /// Follows the level through the bits. A run begins either with a bit or in its middle; from the
    /// middle it ends with the bit, or in the middle of the next if that opens with the same level.
    fn bi_phase(&mut self, one_opens_with_mark: bool) -> Result<(), Refusal> {
        let stretches = self.family.fields.iter();
        let halves: Vec<f64> = stretches
            .flat_map(|field| std::iter::repeat_n(f64::from(field.stretch), field.width.into()))
            .collect();
        // The first bit is a start bit, 1; if its first half is idle, the frame begins in its middle.
        let mut middle = !one_opens_with_mark;
        let stretch_us = self.stretch_us(middle);
        let (mut i, mut mark) = (0, true);
        if middle {
            self.bits.push(true);
        }
        while let Some(&half) = halves.get(i) {
            let next_half = halves.get(i + 1).copied();
            if middle && next_half.is_none() && !mark {
                // The last half is idle: it runs into the gap.
                return Ok(());
            }
            let pulse_us = if mark { self.next().ok_or_else(|| self.cut())? } else { self.inner_space()? };
            let us = if mark { pulse_us - stretch_us } else { pulse_us + stretch_us };
            let joined = match next_half {
                Some(next) if middle => Some(half + next),
                _ => None,
            };
            let joined = joined.filter(|&both| us > self.family.unit_us * between(half, both));
            let units = joined.unwrap_or(half);
            if !near(self.family, us, units) {
                return Err(self.bad(1));
            }
            self.count(us, units);
            if joined.is_some() {
                i += 1;
                self.bits.push(mark == one_opens_with_mark);
            } else if middle {
                i += 1;
                middle = false;
            } else {
                self.bits.push(mark == one_opens_with_mark);
                middle = true;
            }
            mark = !mark;
        }
        Ok(())
    }

    /// By how much marks are longer than sent: bi-phase bits are half mark and half space, so over a
    /// whole frame marks and spaces last alike. `idle_start` says that the first half bit is a space
    /// that can't be seen; the same at the end is as likely as not.
    fn stretch_us(&self, idle_start: bool) -> f64 {
        let rest = self.pulses_us.get(self.at..).unwrap_or_default();
        let length = rest.iter().skip(1).step_by(2).position(|&us| us >= GAP_US);
        let frame = &rest[..length.map_or(rest.len(), |pairs| 2 * pairs + 1)];
        let marks_us: f64 = frame.iter().step_by(2).sum();
        let spaces_us: f64 = frame.iter().skip(1).step_by(2).sum();
        let unseen_us = self.family.unit_us * if idle_start { 1.5 } else { 0.5 };
        let stretch_us = (marks_us - spaces_us - unseen_us) / frame.len().max(1) as f64;
        stretch_us.clamp(-STRETCH_US, STRETCH_US)
    }

    fn peek(&self) -> Option<f64> {
        self.pulses_us.get(self.at).copied()
    }

    fn next(&mut self) -> Option<f64> {
        let us = self.peek();
        self.at += usize::from(us.is_some());
        us
    }

    /// The next space, which has to belong to the frame.
    fn inner_space(&mut self) -> Result<f64, Refusal> {
        match self.next() {
            Some(us) if us < GAP_US => Ok(us),
            _ => Err(self.cut()),
        }
    }

    fn count(&mut self, taken_us: f64, due_units: f64) {
        self.ratios.push(taken_us / (due_units * self.family.unit_us));
    }

    fn pace(&self) -> Pace {
        let count = self.ratios.len() as f64;
        if count < 2.0 {
            return Pace::NONE;
        }
        let mean = self.ratios.iter().sum::<f64>() / count;
        let squares: f64 = self.ratios.iter().map(|ratio| (ratio - mean).powi(2)).sum();
        Pace { mean, error: (squares / (count - 1.0) / count).sqrt() }
    }

    fn cut(&self) -> Refusal {
        Refusal::Cut { bits: self.bits.len(), pace: self.pace() }
    }

    /// The bit being read is neither 0 nor 1, to be seen at the pulse so many before the next.
    fn bad(&self, back: usize) -> Refusal {
        Refusal::Bit { bits: self.bits.len(), pulse: self.at.saturating_sub(back) }
    }
}
