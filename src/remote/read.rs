//! From pulses to the bits of one family. Judges durations only; what the bits say is decided in
//! `decode.rs`.
//!
//! A receiver stretches every mark and shortens the space after it by as much, and a remote's clock
//! makes everything a little longer or shorter. A frame is therefore read twice: first with room for
//! both, pulse-distance bits by mark plus space, where the stretch cancels; from these bits stretch
//! and clock are estimated over the whole frame and taken out; then strictly, every mark and every
//! space.

use super::shape::{Again, Coding, Shape};

/// The stretch of a mark that has to decode, and a little: a 38 kHz receiver may stretch by 6
/// cycles, 158 µs, at worst and by 40 to 80 µs as a rule (TSOP48 data sheet, pulse-width
/// tolerance).
pub(super) const STRETCH_US: f64 = 110.0;

/// How far a duration may be off once stretch and clock are taken out, as the logarithm of its share:
/// 15 % of jitter, and what the estimate may be off.
const STRICT: f64 = 0.235;

/// The same, whatever the length: a cycle of the carrier, in microseconds, which is how finely a
/// receiver cuts.
const STRICT_US: f64 = 40.0;

/// The most that marks and spaces may be off taken together, root mean square: even jitter of 15 % is
/// 0.087, and of twenty of them more than this once in a million.
const MISFIT: f64 = 0.125;

/// Of fewer durations than these it says nothing.
const MISFIT_OF: f64 = 12.0;

/// Of two durations, one is taken for the longer beyond the point that leaves both the same room
/// when the shorter is this share too long and the longer this share too short.
const JITTER: f64 = 0.15;

/// A space this long ends a frame of the table. Longer than any space within one but a leader's
/// (1687.5 µs and 15 %, plus 100 µs for a receiver that shortens marks), shorter than any gap between
/// two (6 units of 444 µs less 15 %).
pub(super) const GAP_US: f64 = 2_200.0;

/// A space this long follows a short repeat frame: 96 ms are sent, of which a receiver that gives up
/// early still shows this much.
pub(super) const SHORT_FRAME_GAP_US: f64 = 10_000.0;

/// Readings of a frame until stretch, clock and bits agree. Two do as a rule; AEHA, whose unit may be
/// a fifth off, may take one more.
const READINGS: usize = 4;

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
    /// How far marks and spaces are off once stretch and clock are taken out, as a share of them, root
    /// mean square.
    pub(super) misfit: f64,
    /// How many pulses it has, counted from the first.
    pub(super) taken: usize,
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
    pub(super) fn bits(self, shape: &Shape) -> usize {
        match self {
            Self::Leader => 0,
            Self::Bit { bits, .. } | Self::Cut { bits, .. } => bits,
            Self::TooLong => shape.count,
        }
    }
}

/// Reads the first frame as one of this family, or as what it sends while a button is held.
pub(super) fn read(shape: &Shape, pulses_us: &[f64]) -> Result<Bits, Refusal> {
    let Some((mark_us, space_us)) = shape.leader_us else { return body(shape, pulses_us, 0, false) };
    let is = |at: usize, due_us: f64| pulses_us.get(at).is_some_and(|&us| shape.near(us, due_us));
    // Three pulses are soon found in noise: what follows has to be as long as between frames.
    let ended = pulses_us.get(3).map(|&us| us >= shape.short_gap_us);
    if let Again::Short(short_us) = shape.again
        && ended != Some(false)
        && (0..3).all(|at| is(at, short_us[at]))
    {
        let (pace, ended) = (Pace::NONE, ended.is_some());
        return Ok(Bits { bits: Vec::new(), repeat: true, pace, ended, misfit: 0.0, taken: 3 });
    }
    if is(0, mark_us) && is(1, space_us) {
        return body(shape, pulses_us, 2, false);
    }
    match shape.again {
        Again::Bare => lone_bare(shape, pulses_us),
        _ if is(0, mark_us) && pulses_us.len() < 2 => Err(Refusal::Cut { bits: 0, pace: Pace::NONE }),
        _ => Err(Refusal::Leader),
    }
}

/// A repeat that has no leader, known from the frame before it to be one.
pub(super) fn read_bare(shape: &Shape, pulses_us: &[f64]) -> Result<Bits, Refusal> {
    match shape.again {
        Again::Bare => body(shape, pulses_us, 0, true),
        _ => Err(Refusal::Leader),
    }
}

/// A repeat that has no leader. With no leader to vouch for it the pace has to: the end of another
/// family's frame, heard from the middle on, is no repeat.
fn lone_bare(shape: &Shape, pulses_us: &[f64]) -> Result<Bits, Refusal> {
    const PACE: f64 = 0.05;
    match body(shape, pulses_us, 0, true) {
        Ok(bits) if bits.pace.off() <= PACE => Ok(bits),
        _ => Err(Refusal::Leader),
    }
}

/// The frame from its first bit on: read with room, then strictly until nothing changes.
fn body(shape: &Shape, pulses_us: &[f64], from: usize, repeat: bool) -> Result<Bits, Refusal> {
    let mut reader = Reader::new(shape, pulses_us, from);
    let mut ended = reader.read()?;
    for _ in 1..READINGS {
        let mut again = Reader { sight: reader.seen(), ..Reader::new(shape, pulses_us, from) };
        ended = again.read()?;
        let settled = again.bits == reader.bits;
        reader = again;
        if settled {
            break;
        }
    }
    let misfit = reader.estimate.misfit(reader.sight.stretch_us, reader.sight.scale);
    if misfit > MISFIT && reader.estimate.count >= MISFIT_OF {
        return Err(Refusal::Bit { bits: reader.worst.bits, pulse: reader.worst.pulse });
    }
    Ok(Bits { pace: reader.pace(), bits: reader.bits, repeat, ended, misfit, taken: reader.at })
}

impl Shape {
    /// Whether a lone mark or space can be so long, whatever stretch and clock do.
    fn near(&self, us: f64, due_us: f64) -> bool {
        (us - due_us).abs() <= self.slack * due_us + self.stretch_us
    }
}

/// Where a duration stops being the shorter of two and begins to be the longer.
fn between(shorter: f64, longer: f64) -> f64 {
    (shorter * (1.0 + JITTER) + longer * (1.0 - JITTER)) / 2.0
}

/// What a reading takes stretch and clock to be, and how far a duration may then be off.
#[derive(Clone, Copy, Debug)]
struct Sight {
    /// Marks are longer by this, in microseconds.
    stretch_us: f64,
    /// Everything is this many times as long.
    scale: f64,
    /// May be off, as the logarithm of its share,
    off: f64,
    /// and whatever its length, in microseconds.
    off_us: f64,
}

impl Sight {
    /// A mark as sent.
    fn mark(&self, us: f64) -> f64 {
        (us - self.stretch_us) / self.scale
    }

    /// A space as sent.
    fn space(&self, us: f64) -> f64 {
        (us + self.stretch_us) / self.scale
    }

    /// How far a duration is off beyond what it may be whatever its length, as the logarithm of its
    /// share.
    fn off(&self, us: f64, due_us: f64) -> f64 {
        let far_us = us - due_us;
        if far_us.abs() <= self.off_us {
            return 0.0;
        }
        log_share(us - self.off_us.copysign(far_us), due_us)
    }
}

/// How far a duration is from what it should be, as the logarithm of its share.
fn log_share(us: f64, due_us: f64) -> f64 {
    if us > 0.0 { (us / due_us).ln().abs() } else { f64::INFINITY }
}

/// Sums for the estimate of stretch and clock by least squares, each duration weighted by what it may
/// be off, which is a share of it: `heard = scale * due ± stretch`.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Estimate {
    count: f64,
    /// Sum of ± 1 / due.
    signs: f64,
    /// Sum of 1 / due².
    squares: f64,
    /// Sum of heard / due.
    heard: f64,
    /// Sum of ± heard / due².
    signed: f64,
    /// Sum of (heard / due)².
    spread: f64,
}

impl Estimate {
    /// Takes in a mark or a space.
    pub(super) fn take(&mut self, heard_us: f64, due_us: f64, mark: bool) {
        let sign = if mark { 1.0 } else { -1.0 };
        self.count += 1.0;
        self.signs += sign / due_us;
        self.squares += 1.0 / (due_us * due_us);
        self.heard += heard_us / due_us;
        self.signed += sign * heard_us / (due_us * due_us);
        self.spread += (heard_us / due_us).powi(2);
    }

    /// The scale where the stretch is given.
    fn scale(&self, stretch_us: f64) -> f64 {
        (self.heard - stretch_us * self.signs) / self.count.max(1.0)
    }

    /// How far durations are off with this stretch and scale, as a share of them, root mean square.
    fn misfit(&self, stretch_us: f64, scale: f64) -> f64 {
        let Self { count, signs, squares, heard, signed, spread } = *self;
        let sum = spread + scale * scale * count + stretch_us * stretch_us * squares
            - 2.0 * scale * heard
            - 2.0 * stretch_us * signed
            + 2.0 * scale * stretch_us * signs;
        (sum / count.max(1.0)).max(0.0).sqrt()
    }

    /// Stretch in microseconds, and scale; none, if what was taken in can't tell them apart.
    pub(super) fn found(&self) -> Option<(f64, f64)> {
        let Self { count, signs, squares, heard, signed, .. } = *self;
        let determinant = count * squares - signs * signs;
        // Of marks alone, all of one length, it is nothing but rounding.
        (determinant > 1e-6 * count * squares).then(|| {
            ((signed * count - heard * signs) / determinant, (heard * squares - signed * signs) / determinant)
        })
    }
}

/// By how much marks are longer than sent, at first sight: bi-phase bits are half mark and half
/// space, so over a whole frame marks and spaces last alike. `idle_start` says that the first half
/// bit is a space that can't be seen; the same at the end is as likely as not.
fn balance(pulses_us: &[f64], half_us: f64, idle_start: bool) -> f64 {
    let length = pulses_us.iter().skip(1).step_by(2).position(|&us| us >= GAP_US);
    let frame = &pulses_us[..length.map_or(pulses_us.len(), |pairs| 2 * pairs + 1)];
    let marks_us: f64 = frame.iter().step_by(2).sum();
    let spaces_us: f64 = frame.iter().skip(1).step_by(2).sum();
    let unseen_us = half_us * if idle_start { 1.5 } else { 0.5 };
    let stretch_us = (marks_us - spaces_us - unseen_us) / frame.len().max(1) as f64;
    stretch_us.clamp(-STRETCH_US, STRETCH_US)
}

/// The duration that is off most.
#[derive(Clone, Copy, Debug, Default)]
struct Worst {
    off: f64,
    pulse: usize,
    bits: usize,
}

struct Reader<'a> {
    shape: &'a Shape,
    pulses_us: &'a [f64],
    /// The next pulse.
    at: usize,
    sight: Sight,
    bits: Vec<bool>,
    estimate: Estimate,
    worst: Worst,
    /// Sums of what each stretch judged took against what it should have: count, shares, squares.
    paces: (f64, f64, f64),
}

impl<'a> Reader<'a> {
    fn new(shape: &'a Shape, pulses_us: &'a [f64], at: usize) -> Self {
        /// At first sight, a little beyond the slack: a strict reading follows.
        const ROOM: f64 = 1.05;
        let off = ((1.0 + shape.slack) * ROOM).ln();
        let stretch_us = match &shape.coding {
            Coding::Pairs { .. } => 0.0,
            Coding::BiPhase { halves_us, one_opens_with_mark } => {
                let half_us = halves_us.first().copied().unwrap_or_default();
                balance(pulses_us.get(at..).unwrap_or_default(), half_us, !one_opens_with_mark)
            }
        };
        let sight = Sight { stretch_us, scale: 1.0, off, off_us: shape.stretch_us };
        let bits = Vec::with_capacity(shape.count);
        let (estimate, worst) = (Estimate::default(), Worst::default());
        Self { shape, pulses_us, at, sight, bits, estimate, worst, paces: (0.0, 0.0, 0.0) }
    }

    /// How to look at it again after this reading.
    fn seen(&self) -> Sight {
        let most_us = self.shape.stretch_us;
        let (stretch_us, scale) = match self.estimate.found() {
            Some((stretch_us, scale)) if stretch_us.abs() <= most_us => (stretch_us, scale),
            // More than any receiver does: another family may explain it better.
            Some((stretch_us, _)) => {
                let stretch_us = stretch_us.clamp(-most_us, most_us);
                (stretch_us, self.estimate.scale(stretch_us))
            }
            None => (self.sight.stretch_us, 1.0),
        };
        let off_us = STRICT_US.min(self.shape.stretch_us * STRICT_US / STRETCH_US);
        Sight { stretch_us, scale, off: STRICT, off_us }
    }

    /// All bits and the stop mark; whether a gap was seen after it.
    fn read(&mut self) -> Result<bool, Refusal> {
        match &self.shape.coding {
            Coding::Pairs { zero_us, one_us } => {
                for left in (0..self.shape.count).rev() {
                    let alone = left == 0 && self.shape.stop_us.is_none();
                    self.pair([*zero_us, *one_us], alone)?;
                }
            }
            Coding::BiPhase { halves_us, one_opens_with_mark } => {
                self.bi_phase(halves_us, *one_opens_with_mark)?;
            }
        }
        if let Some(stop_us) = self.shape.stop_us {
            let mark_us = self.next().ok_or_else(|| self.cut())?;
            if self.sight.off(self.sight.mark(mark_us), stop_us) > self.sight.off {
                return Err(self.bad(1));
            }
        }
        match self.peek() {
            None => Ok(false),
            Some(us) if us >= self.shape.gap_us => Ok(true),
            Some(_) => Err(Refusal::TooLong),
        }
    }

    /// A bit that is a mark and a space. The last one's space runs into the gap where no mark closes
    /// it.
    fn pair(&mut self, dues_us: [(f64, f64); 2], alone: bool) -> Result<(), Refusal> {
        let mark_us = self.next().ok_or_else(|| self.cut())?;
        let sight = self.sight;
        let mark_off = |due_us: f64| sight.off(sight.mark(mark_us), due_us);
        let [zero_us, one_us] = dues_us;
        if alone {
            let offs = [mark_off(zero_us.0), mark_off(one_us.0)];
            let bit = offs[1] < offs[0];
            if offs[usize::from(bit)] > sight.off {
                return Err(self.bad(1));
            }
            self.bits.push(bit);
            self.estimate.take(mark_us, dues_us[usize::from(bit)].0, true);
            return Ok(());
        }
        let space_us = match self.next() {
            Some(us) if us <= self.shape.inner_us => us,
            _ => {
                // Where the mark tells, a frame cut in the space after it has this bit.
                if zero_us.0 != one_us.0 {
                    self.bits.push(mark_off(one_us.0) < mark_off(zero_us.0));
                }
                return Err(self.cut());
            }
        };
        let period_us = mark_us + space_us;
        let offs = dues_us.map(|(due_mark_us, due_space_us)| {
            let due_us = due_mark_us + due_space_us;
            let (mark, space) = (mark_off(due_mark_us), sight.off(sight.space(space_us), due_space_us));
            let period = log_share(period_us / sight.scale, due_us);
            (mark, space, period)
        });
        let worst = offs.map(|(mark, space, period)| mark.max(space).max(period));
        let bit = worst[1] < worst[0];
        let (mark, space, period) = offs[usize::from(bit)];
        if mark > sight.off {
            return Err(self.bad(2));
        }
        if space.max(period) > sight.off {
            return Err(self.bad(1));
        }
        let (due_mark_us, due_space_us) = dues_us[usize::from(bit)];
        self.estimate.take(mark_us, due_mark_us, true);
        self.estimate.take(space_us, due_space_us, false);
        self.note(mark, 2);
        self.note(space, 1);
        self.count(period_us, due_mark_us + due_space_us);
        self.bits.push(bit);
        Ok(())
    }

    /// Follows the level through the bits. A run begins either with a bit or in its middle; from the
    /// middle it ends with the bit, or in the middle of the next if that opens with the same level.
    fn bi_phase(&mut self, halves_us: &[f64], one_opens_with_mark: bool) -> Result<(), Refusal> {
        // The first bit is a start bit, 1; if its first half is idle, the frame begins in its middle.
        let mut middle = !one_opens_with_mark;
        let (mut i, mut mark) = (0, true);
        if middle {
            self.bits.push(true);
        }
        while let Some(&half_us) = halves_us.get(i) {
            let next_us = halves_us.get(i + 1).copied();
            if middle && next_us.is_none() && !mark {
                // The last half is idle: it runs into the gap.
                return Ok(());
            }
            let pulse_us = match self.next() {
                Some(us) if mark || us < self.shape.inner_us => us,
                _ => return Err(self.cut()),
            };
            let us = if mark { self.sight.mark(pulse_us) } else { self.sight.space(pulse_us) };
            let joined = match next_us {
                Some(next_us) if middle => Some(half_us + next_us),
                _ => None,
            };
            let joined = joined.filter(|&both_us| us > between(half_us, both_us));
            let due_us = joined.unwrap_or(half_us);
            let off = self.sight.off(us, due_us);
            if off > self.sight.off {
                return Err(self.bad(1));
            }
            self.note(off, 1);
            self.estimate.take(pulse_us, due_us, mark);
            let stretch_us = if mark { self.sight.stretch_us } else { -self.sight.stretch_us };
            self.count(pulse_us - stretch_us, due_us);
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

    fn peek(&self) -> Option<f64> {
        self.pulses_us.get(self.at).copied()
    }

    fn next(&mut self) -> Option<f64> {
        let us = self.peek();
        self.at += usize::from(us.is_some());
        us
    }

    /// Takes down how far a pulse is off, so many before the next.
    fn note(&mut self, off: f64, back: usize) {
        if off >= self.worst.off {
            self.worst = Worst { off, pulse: self.at.saturating_sub(back), bits: self.bits.len() };
        }
    }

    fn count(&mut self, taken_us: f64, due_us: f64) {
        let share = taken_us / due_us;
        self.paces.0 += 1.0;
        self.paces.1 += share;
        self.paces.2 += share * share;
    }

    fn pace(&self) -> Pace {
        let (count, sum, squares) = self.paces;
        if count < 2.0 {
            return Pace::NONE;
        }
        let mean = sum / count;
        let variance = (squares / count - mean * mean).max(0.0);
        Pace { mean, error: (variance / (count - 1.0)).sqrt() }
    }

    fn cut(&self) -> Refusal {
        Refusal::Cut { bits: self.bits.len(), pace: self.pace() }
    }

    /// The bit being read is neither 0 nor 1, to be seen at the pulse so many before the next.
    fn bad(&self, back: usize) -> Refusal {
        Refusal::Bit { bits: self.bits.len(), pulse: self.at.saturating_sub(back) }
    }
}
