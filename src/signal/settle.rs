//! Settled stretches: where a wire holds still long enough for its median to stand for a press.
//! Knows no buttons and no clock: time is in the readings.
//!
//! A stretch grows reading by reading. It is settled when its last window is long enough, has
//! enough readings, and the medians of the window's early and late halves agree: a slow slide
//! fails that however quiet it is. One stray reading is a spike and is dropped; a second one next
//! to it ends the stretch.

use std::collections::VecDeque;

use super::Level;
use crate::units::{TOP_COUNT, time_text};

/// What counts as settled. The figures are common practice of this trade unless a source is named.
#[derive(Clone, Debug, PartialEq)]
pub struct Settling {
    /// How long the wire must hold still, in milliseconds; above 0.
    pub window_ms: f64,
    /// How many readings that must at least be, so that a slow probe is not believed too soon.
    pub min_readings: u32,
    /// Noise of one reading to start from (standard deviation at rest), in counts. The tracker
    /// measures its own as well and believes the larger: a wire that rests at the rail shows none.
    pub noise_count: f64,
    /// A reading further than this from the median is a stray, in standard deviations of the
    /// noise; 5 leaves one reading in 1.7 million outside (Abramowitz and Stegun, table 26.1).
    pub range_sigma: f64,
    /// No reading nearer than this is a stray, in counts: room for the converter's steps.
    pub range_floor_count: f64,
    /// How far the halves' medians may differ, in standard errors of that difference.
    pub slope_sigma: f64,
    /// They may always differ by this much, in counts: a median of whole numbers moves by one.
    pub slope_floor_count: f64,
    /// More noise than this is too noisy to learn from, in counts.
    pub noise_limit_count: f64,
    /// A gap in time longer than this ends a stretch, in milliseconds.
    pub gap_ms: f64,
}

impl Default for Settling {
    fn default() -> Self {
        Self {
            window_ms: 300.0,
            min_readings: 5,
            noise_count: 0.5,
            range_sigma: 5.0,
            range_floor_count: 3.0,
            slope_sigma: 4.0,
            slope_floor_count: 1.5,
            noise_limit_count: 8.0,
            gap_ms: 300.0,
        }
    }
}

impl Settling {
    /// The same, starting from a measured noise, in counts; what is not a number changes nothing.
    #[must_use]
    pub fn with_noise(mut self, noise_count: f64) -> Self {
        self.noise_count = self.noise_count.max(noise_count);
        self
    }

    fn range_steps(&self, noise_count: f64) -> f64 {
        (self.range_sigma * noise_count).max(self.range_floor_count) * Level::PER_COUNT
    }

    /// The standard error of a median of `n` readings is about 1.253 σ/√n (large samples, normal
    /// noise), so that of the difference of two medians of n/2 readings each is 2.507 σ/√n.
    fn slope_steps(&self, noise_count: f64, readings: usize) -> f64 {
        let error_count = 2.507 * noise_count / (readings.max(1) as f64).sqrt();
        (self.slope_sigma * error_count).max(self.slope_floor_count) * Level::PER_COUNT
    }
}

/// A settled stretch in a few numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Its first reading, in milliseconds of the recording.
    pub from_ms: f64,
    /// Its last reading.
    pub to_ms: f64,
    /// Median of its readings, in counts.
    pub median_count: f64,
    /// Standard deviation of its readings about the median, in counts; strays are not in it.
    pub spread_count: f64,
    /// How many readings it is made of.
    pub readings: u32,
}

impl Stretch {
    /// How long it is, in milliseconds.
    #[must_use]
    pub fn length_ms(&self) -> f64 {
        self.to_ms - self.from_ms
    }
}

/// What a wire is doing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Settle {
    /// Not holding still, or no readings yet.
    Moving,
    /// Holding still, not yet for long enough.
    Settling {
        /// The median so far, in counts.
        count: f64,
        /// How much of what is wanted, 0 to 1.
        progress: f64,
    },
    /// Settled.
    Settled {
        /// The median of the last window, in counts.
        count: f64,
    },
}

/// Why nothing in a stretch of readings is settled.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotSettled {
    /// There are no readings.
    #[error("no readings here: drag over a part of the trace that has some")]
    Empty,
    /// It held still, but not for long enough.
    #[error("too short: {} settled, {} wanted", time_text(*settled_ms), time_text(*wanted_ms))]
    TooShort {
        /// The longest time it held still, in milliseconds.
        settled_ms: f64,
        /// What is wanted, in milliseconds.
        wanted_ms: f64,
    },
    /// It held still, but with too few readings to be believed.
    #[error("too few readings: {readings} settled, {wanted} wanted; hold longer or read faster")]
    TooFew {
        /// The most readings in which it held still.
        readings: u32,
        /// What is wanted.
        wanted: u32,
    },
    /// Its noise is larger than can be learned from.
    #[error(
        "too noisy: ± {spread_count:.1} counts, at most {limit_count:.1} can be learned from; look at the ground and the return wire"
    )]
    TooNoisy {
        /// The standard deviation of its readings, in counts.
        spread_count: f64,
        /// The limit, in counts.
        limit_count: f64,
    },
    /// It moved all the time.
    #[error("never settled: it went from {from_count:.0} to {to_count:.0}; hold the button still")]
    Moving {
        /// Where it began, in counts.
        from_count: f64,
        /// Where it ended, in counts.
        to_count: f64,
    },
    /// It settled where the converter cannot see any further.
    #[error("at the top of the range: {count:.0}; check the return wire")]
    AtTop {
        /// Where it settled, in counts.
        count: f64,
    },
}

/// Half a step below the top: a settled median above this says nothing but "at least the top".
const TOP_FROM_COUNT: f64 = TOP_COUNT - 0.5;

/// Whether a settled median is at the top of the range, where every resistance reads the same.
#[must_use]
pub fn at_top(count: f64) -> bool {
    count >= TOP_FROM_COUNT
}

/// The longest settled part of readings chosen by hand, as (milliseconds, counts) in order of time.
/// What `is_rest` says of a median is taken only where nothing else is settled: whoever drags over a
/// press drags over some rest beside it.
///
/// # Errors
/// Says why nothing in it is settled, or that it is settled at the top of the range.
pub fn settled_part(
    readings: impl Iterator<Item = (f64, f64)>,
    limits: &Settling,
    is_rest: impl Fn(f64) -> bool,
) -> Result<Stretch, NotSettled> {
    let mut tracker = Tracker::new(limits.clone());
    let mut best: Option<Stretch> = None;
    let mut ends: Option<((f64, f64), (f64, f64))> = None;
    let mut keep = |stretch: Option<Stretch>| {
        let worth = |s: &Stretch| (!is_rest(s.median_count), s.length_ms());
        let better = |s: &Stretch| best.is_none_or(|b| worth(s) > worth(&b));
        if let Some(stretch) = stretch.filter(better) {
            best = Some(stretch);
        }
    };
    for (t_ms, count) in readings {
        if t_ms.is_finite() && count.is_finite() {
            ends = Some((ends.map_or((t_ms, count), |(first, _)| first), (t_ms, count)));
        }
        keep(tracker.push(t_ms, Level::from_count(count)));
    }
    keep(tracker.end());
    let Some(((from_ms, from_count), (to_ms, to_count))) = ends else { return Err(NotSettled::Empty) };
    match best {
        Some(stretch) if at_top(stretch.median_count) && !is_rest(stretch.median_count) => {
            Err(NotSettled::AtTop { count: stretch.median_count })
        }
        Some(stretch) => Ok(stretch),
        None => Err(tracker.why_not(from_count, to_count, to_ms - from_ms)),
    }
}

/// Follows one wire and finds its settled stretches, reading by reading. Its cost a reading is
/// bounded by the window, whatever came before.
#[derive(Clone, Debug)]
pub struct Tracker {
    limits: Settling,
    noise: NoiseMeter,
    run: Option<Run>,
    /// A reading that did not fit, kept until the next one says whether it was a spike.
    stray: Option<(f64, u16)>,
    /// The longest that the wire held still without being settled, and the most readings of it.
    held_ms: f64,
    held_readings: u32,
}

impl Tracker {
    /// Nothing read yet.
    #[must_use]
    pub fn new(limits: Settling) -> Self {
        let noise = NoiseMeter::new(limits.noise_count);
        Self { limits, noise, run: None, stray: None, held_ms: 0.0, held_readings: 0 }
    }

    /// Takes a reading. Gives the settled stretch that it ended, if it ended one. A reading
    /// without a level is a loss; one without a time is not taken.
    pub fn push(&mut self, t_ms: f64, level: Level) -> Option<Stretch> {
        if !t_ms.is_finite() {
            return None;
        }
        if level == Level::NONE {
            return self.lost();
        }
        let steps = level.steps();
        let jumped = self.run.as_ref().is_some_and(|run| {
            let gap_ms = t_ms - run.to_ms;
            gap_ms < 0.0 || gap_ms > self.limits.gap_ms
        });
        let broken = if jumped { self.lost() } else { None };
        self.noise.push(steps);
        let noise_count = self.noise.count().min(self.limits.noise_limit_count);
        let range_steps = self.limits.range_steps(noise_count);
        let Some(run) = &mut self.run else {
            self.run = Some(Run::start(t_ms, steps));
            return broken;
        };
        if (f64::from(steps) - run.centre_steps()).abs() <= range_steps {
            self.stray = None;
            run.push(t_ms, steps, &self.limits);
            let slid = run.judge(noise_count, &self.limits);
            return if slid { self.end_with(None) } else { broken };
        }
        match self.stray.take() {
            None => {
                self.stray = Some((t_ms, steps));
                broken
            }
            Some((stray_ms, stray)) => {
                let ended = self.end_with(Some((t_ms, steps)));
                if f64::from(stray.abs_diff(steps)) <= range_steps {
                    let mut run = Run::start(stray_ms, stray);
                    run.push(t_ms, steps, &self.limits);
                    self.run = Some(run);
                }
                ended.or(broken)
            }
        }
    }

    /// Readings were lost, or the wire went away: what was settled so far ends here.
    pub fn lost(&mut self) -> Option<Stretch> {
        self.noise.forget();
        self.end()
    }

    /// Ends what is settled so far, and begins anew.
    pub fn end(&mut self) -> Option<Stretch> {
        let ended = self.end_with(None);
        self.run = None;
        ended
    }

    /// What the wire is doing now.
    #[must_use]
    pub fn state(&self) -> Settle {
        match &self.run {
            None => Settle::Moving,
            Some(run) if run.settled => Settle::Settled { count: run.window_count() },
            Some(run) if run.window.ring.len() < 3 => Settle::Moving,
            Some(run) => Settle::Settling { count: run.window_count(), progress: run.progress(&self.limits) },
        }
    }

    /// The settled stretch so far, where it is settled now.
    #[must_use]
    pub fn stretch(&self) -> Option<Stretch> {
        self.run.as_ref().filter(|run| run.settled).map(Run::stretch)
    }

    /// Noise of one reading as it is now, in counts: the given one or the measured, whichever is
    /// larger.
    #[must_use]
    pub fn noise_count(&self) -> f64 {
        self.noise.count()
    }

    /// Why it never settled, where it went from one count to another in `total_ms` milliseconds.
    #[must_use]
    pub fn why_not(&self, from_count: f64, to_count: f64, total_ms: f64) -> NotSettled {
        let (mut held_ms, mut readings) = (self.held_ms, self.held_readings);
        if let Some(run) = &self.run {
            held_ms = held_ms.max(run.to_ms - run.from_ms);
            readings = readings.max(run.values.len() as u32);
        }
        let Settling { window_ms, min_readings, noise_limit_count, .. } = self.limits;
        if self.noise.count() > noise_limit_count && total_ms >= window_ms {
            NotSettled::TooNoisy { spread_count: self.noise.count(), limit_count: noise_limit_count }
        } else if held_ms >= window_ms && readings < min_readings {
            NotSettled::TooFew { readings, wanted: min_readings }
        } else if total_ms < 2.0 * window_ms {
            NotSettled::TooShort { settled_ms: held_ms.min(window_ms), wanted_ms: window_ms }
        } else {
            NotSettled::Moving { from_count, to_count }
        }
    }

    /// Closes the run and gives its stretch if it was settled; the next run starts with `first`,
    /// or with the closed run's late half where it slid.
    fn end_with(&mut self, first: Option<(f64, u16)>) -> Option<Stretch> {
        let run = self.run.take()?;
        let ended = run.settled.then(|| run.stretch());
        if !run.settled {
            self.held_ms = self.held_ms.max(run.to_ms - run.from_ms);
            self.held_readings = self.held_readings.max(run.values.len() as u32);
        }
        self.stray = None;
        self.run = match first {
            Some((t_ms, steps)) => Some(Run::start(t_ms, steps)),
            None => run.late_half(),
        };
        ended
    }
}

/// The most readings a stretch keeps; what comes later still holds it settled but adds nothing.
const MOST_READINGS: usize = 16_384;

/// The most readings a window keeps, whatever the times say: three seconds at 5000 a second.
const MOST_IN_WINDOW: usize = 16_384;

/// Readings that fit each other, in a row.
#[derive(Clone, Debug)]
struct Run {
    from_ms: f64,
    to_ms: f64,
    values: Vec<u16>,
    window: Window,
    settled: bool,
    /// The window's median when it settled, in steps.
    anchor_steps: f64,
}

impl Run {
    fn start(t_ms: f64, steps: u16) -> Self {
        let mut window = Window::default();
        window.push(t_ms, steps);
        Self { from_ms: t_ms, to_ms: t_ms, values: vec![steps], window, settled: false, anchor_steps: 0.0 }
    }

    fn push(&mut self, t_ms: f64, steps: u16, limits: &Settling) {
        self.to_ms = t_ms;
        if self.values.len() < MOST_READINGS {
            self.values.push(steps);
        }
        self.window.push(t_ms, steps);
        self.window.shorten(limits);
    }

    /// Settles it if it is time to. True where a settled run has slid away and must end.
    fn judge(&mut self, noise_count: f64, limits: &Settling) -> bool {
        if !self.settled && !self.window.is_full(limits) {
            return false;
        }
        let slope_steps = limits.slope_steps(noise_count, self.window.ring.len());
        let (early, late) = (median_of(&self.window.early), median_of(&self.window.late));
        if self.settled {
            return (late - self.anchor_steps).abs() > 2.0 * slope_steps;
        }
        if (early - late).abs() > slope_steps {
            // Still sliding: what came first does not belong to it.
            let gone = self.window.early.len();
            self.window.drop_early();
            self.values.drain(..gone.min(self.values.len()));
            self.from_ms = self.window.start_ms().unwrap_or(self.to_ms);
        } else {
            self.settled = true;
            self.anchor_steps = (early + late) / 2.0;
        }
        false
    }

    fn centre_steps(&self) -> f64 {
        median_of(&self.window.late)
    }

    fn window_count(&self) -> f64 {
        let (early, late) = (&self.window.early, &self.window.late);
        if early.is_empty() {
            return median_of(late) / Level::PER_COUNT;
        }
        (median_of(early) + median_of(late)) / 2.0 / Level::PER_COUNT
    }

    fn progress(&self, limits: &Settling) -> f64 {
        let time = (self.to_ms - self.from_ms) / limits.window_ms;
        let number = self.values.len() as f64 / f64::from(limits.min_readings.max(1));
        time.min(number).clamp(0.0, 1.0)
    }

    fn late_half(mut self) -> Option<Self> {
        self.window.drop_early();
        let from_ms = self.window.start_ms()?;
        let values = self.window.ring.iter().map(|&(_, steps)| steps).collect();
        Some(Self { from_ms, values, settled: false, ..self })
    }

    fn stretch(&self) -> Stretch {
        let mut values = self.values.clone();
        let half = values.len() / 2;
        let (below, &mut upper, _) = values.select_nth_unstable(half);
        let lower = below.iter().max().filter(|_| self.values.len().is_multiple_of(2)).unwrap_or(&upper);
        let median_count = f64::midpoint(f64::from(*lower), f64::from(upper)) / Level::PER_COUNT;
        let squares: f64 =
            values.iter().map(|&v| (f64::from(v) / Level::PER_COUNT - median_count).powi(2)).sum();
        Stretch {
            from_ms: self.from_ms,
            to_ms: self.to_ms,
            median_count,
            spread_count: (squares / (values.len().max(2) - 1) as f64).sqrt(),
            readings: values.len() as u32,
        }
    }
}

/// The last readings in order, and sorted by halves, so that both medians are at hand.
#[derive(Clone, Debug, Default)]
struct Window {
    ring: VecDeque<(f64, u16)>,
    /// The first `early.len()` of the ring, sorted.
    early: Vec<u16>,
    /// The others, sorted; as many, or one more.
    late: Vec<u16>,
}

impl Window {
    fn push(&mut self, t_ms: f64, steps: u16) {
        self.ring.push_back((t_ms, steps));
        insert(&mut self.late, steps);
        self.balance();
    }

    /// Drops what the window can do without: it stays as long as is wanted.
    fn shorten(&mut self, limits: &Settling) {
        while let (Some(&(second_ms, _)), Some(&(last_ms, _))) = (self.ring.get(1), self.ring.back()) {
            let spare = last_ms - second_ms >= limits.window_ms
                && self.ring.len() > limits.min_readings.max(2) as usize;
            if !spare && self.ring.len() <= MOST_IN_WINDOW {
                break;
            }
            if let Some((_, steps)) = self.ring.pop_front() {
                remove(if self.early.is_empty() { &mut self.late } else { &mut self.early }, steps);
                self.balance();
            }
        }
    }

    fn is_full(&self, limits: &Settling) -> bool {
        let long = match (self.ring.front(), self.ring.back()) {
            (Some((first_ms, _)), Some((last_ms, _))) => last_ms - first_ms >= limits.window_ms,
            _ => false,
        };
        long && self.ring.len() >= limits.min_readings.max(2) as usize
    }

    fn start_ms(&self) -> Option<f64> {
        self.ring.front().map(|&(t_ms, _)| t_ms)
    }

    fn drop_early(&mut self) {
        self.ring.drain(..self.early.len());
        self.early.clear();
        self.late.clear();
        self.late.extend(self.ring.iter().map(|&(_, steps)| steps));
        let half = self.late.len() / 2;
        self.early.extend(self.late.drain(..half));
        self.early.sort_unstable();
        self.late.sort_unstable();
    }

    fn balance(&mut self) {
        while self.late.len() > self.early.len() + 1 {
            let Some(&(_, steps)) = self.ring.get(self.early.len()) else { return };
            remove(&mut self.late, steps);
            insert(&mut self.early, steps);
        }
    }
}

fn insert(sorted: &mut Vec<u16>, value: u16) {
    let at = sorted.partition_point(|&v| v < value);
    sorted.insert(at, value);
}

fn remove(sorted: &mut Vec<u16>, value: u16) {
    let at = sorted.partition_point(|&v| v < value);
    if sorted.get(at) == Some(&value) {
        sorted.remove(at);
    }
}

/// The median of sorted steps: the middle one, or the mean of the two in the middle; 0 of none.
fn median_of(sorted: &[u16]) -> f64 {
    let half = sorted.len() / 2;
    match (sorted.len() % 2, sorted.get(half), half.checked_sub(1).and_then(|k| sorted.get(k))) {
        (1, Some(&middle), _) => f64::from(middle),
        (_, Some(&upper), Some(&lower)) => f64::midpoint(f64::from(lower), f64::from(upper)),
        _ => 0.0,
    }
}

/// Measures noise from second differences, which a steady slide leaves at zero. For white noise a
/// second difference has a standard deviation of √6 σ and a mean size of √(12/π) σ.
#[derive(Clone, Debug)]
struct NoiseMeter {
    floor_count: f64,
    before: [Option<u16>; 2],
    size_steps: f64,
}

impl NoiseMeter {
    /// √(12/π).
    const SIZE_PER_SIGMA: f64 = 1.954_410_047_611_678;
    /// The weight of a new reading.
    const WEIGHT: f64 = 1.0 / 16.0;

    fn new(floor_count: f64) -> Self {
        let floor_count = if floor_count.is_finite() { floor_count.max(0.0) } else { 0.0 };
        let size_steps = floor_count * Level::PER_COUNT * Self::SIZE_PER_SIGMA;
        Self { floor_count, before: [None; 2], size_steps }
    }

    fn push(&mut self, steps: u16) {
        if let [Some(first), Some(second)] = self.before {
            let second_difference = f64::from(first) - 2.0 * f64::from(second) + f64::from(steps);
            // An edge or a spike may raise it, but only by so much a reading.
            let most = 3.0 * self.size_steps + Level::PER_COUNT;
            self.size_steps += (second_difference.abs().min(most) - self.size_steps) * Self::WEIGHT;
        }
        self.before = [self.before[1], Some(steps)];
    }

    fn forget(&mut self) {
        self.before = [None; 2];
    }

    fn count(&self) -> f64 {
        (self.size_steps / Level::PER_COUNT / Self::SIZE_PER_SIGMA).max(self.floor_count)
    }
}

#[cfg(test)]
#[path = "settle_tests.rs"]
mod tests;
