//! What is sent through the recogniser: recorded presses, and what is made of them or made up. Knows no
//! dwell.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use crate::bands::{PressTrace, Touch};
use crate::circuit::Circuit;
use crate::recognise::{EventKind, Recogniser, Rules, RulesError};
use crate::signal::Level;
use crate::units::{TOP_COUNT, WIRES};

/// The shortest whole tap that is made of a press keeps both of its edges, and so much of the settled part
/// between them, in milliseconds. Hands that type hold a key for 116 ms in the mean (Dhakal and others,
/// "Observations on typing from 136 million keystrokes", CHI 2018; from memory); eight readings 10 ms apart
/// take 70 ms and up to 10 until the first.
pub const TAP_MS: usize = 80;
/// How long a spike lasts, in milliseconds: from a single reading to one more than the filter takes away.
pub const SPIKE_MS: [usize; 3] = [1, 2, 3];
/// How long the contact of a slow press takes to close, in milliseconds. Common practice, no source.
pub const PASS_MS: [u32; 8] = [100, 200, 350, 500, 650, 800, 900, 1_000];
/// How often each slow press is made, each time with other noise…
const PASS_TIMES: u64 = 4;
/// … and the slowest, which goes wrong first.
const SLOWEST_TIMES: u64 = 16;
/// A contact that is only just touched, and one that is pressed home, in ohms: between them it falls
/// exponentially (common practice, no source).
const CONTACT_OHM: (f64, f64) = (15_000.0, 6.0);
/// Rest before and after what is made up, in milliseconds: more than the longest dwell and the filter.
const REST_MS: usize = 80;
/// How long a made-up press is held once it is down, in milliseconds.
const HELD_MS: u32 = 120;

/// What is known of the wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct Wheel {
    /// Each button's centre in counts, by its place in the rules; `None` where it takes nothing.
    pub centre_count: Vec<Option<f64>>,
    /// What each wire reads at rest, in counts.
    pub rest_count: [f64; WIRES],
    /// The sense circuit, where it is known: a slow press then falls in ohms, else in counts.
    pub circuit: Option<Circuit>,
    /// Noise of one reading, as a standard deviation in counts.
    pub noise_count: f64,
}

/// What the dwell is chosen for.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What the box goes by; its dwell is the planned one.
    pub rules: Rules,
    /// The wheel.
    pub wheel: Wheel,
    /// Each recorded press, with its button's place in the rules.
    pub traces: Vec<(u8, PressTrace)>,
}

/// Where a trial comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrialKind {
    /// A press as it was recorded.
    Recorded(Touch),
    /// A recorded press cut to the shortest whole tap.
    Tap(Touch),
    /// A slow press made up.
    Pass,
    /// A spike made up: no button is right.
    Spike,
}

/// Readings that are sent through the recogniser, and what would be right.
#[derive(Clone, Debug)]
pub struct Trial {
    /// Where it comes from.
    pub kind: TrialKind,
    /// The button that is right.
    pub button: Option<u8>,
    /// Its wire, from 0.
    pub wire: usize,
    /// One reading a millisecond.
    pub levels: Vec<Level>,
    /// The reading with which the wire left rest.
    pub left_at: usize,
}

/// What the recogniser made of a trial.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Played {
    /// From leaving rest to the first decision for the right button, in milliseconds.
    pub decided_ms: Option<u32>,
    /// The first decision that was wrong: another button, or the right one a second time.
    pub wrong: Option<u8>,
}

/// Sends a trial through the box's recogniser, by rules with any dwell.
///
/// # Errors
/// [`RulesError`] for rules the box has no room for.
pub fn decide(rules: &Rules, trial: &Trial, other_rest: Level) -> Result<Played, RulesError> {
    let mut recogniser = Recogniser::new(rules)?;
    let mut played = Played::default();
    for (at, &level) in trial.levels.iter().enumerate() {
        let mut levels = [other_rest; WIRES];
        levels[trial.wire] = level;
        if !recogniser.advance(levels) {
            continue;
        }
        let pressed = recogniser.told().find(|event| event.kind == EventKind::Pressed);
        let Some(button) = pressed.and_then(|event| event.button) else { continue };
        if Some(button) == trial.button && played.decided_ms.is_none() {
            // Both the reading that left and the one that decided count: they were all waited for.
            played.decided_ms = Some((at + 1).saturating_sub(trial.left_at) as u32);
        } else {
            played.wrong.get_or_insert(button);
        }
    }
    Ok(played)
}

/// Every trial of an input: recorded presses, taps, slow presses, spikes, in that order. Traces that can't
/// be read, or are shorter than they say, are left out.
#[must_use]
pub fn trials(input: &Input) -> Vec<Trial> {
    let recorded: Vec<(Trial, (usize, usize))> =
        input.traces.iter().filter_map(|(button, trace)| recorded(input, *button, trace)).collect();
    let taps: Vec<Trial> = recorded.iter().filter_map(|(trial, settled)| tap_of(trial, *settled)).collect();
    let mut all: Vec<Trial> = recorded.into_iter().map(|(trial, _)| trial).collect();
    all.extend(taps);
    all.extend(passes(input));
    all.extend(spikes(input));
    all
}

/// A recorded press as a trial, with its settled part; some of its own rest is put before and behind it,
/// so that even the longest dwell is over.
fn recorded(input: &Input, button: u8, trace: &PressTrace) -> Option<(Trial, (usize, usize))> {
    trace.check().ok()?;
    let kept = trace.readings.levels().ok()?;
    let wire = usize::from(trace.wire) - 1;
    let rest = input.rules.rests[wire];
    let is_rest = |level: &Level| {
        let count = level.steps() / Level::PER_COUNT as u16;
        (rest.low..=rest.high).contains(&count)
    };
    // A lone reading off rest is a spike before the press.
    let left = (0..usize::from(trace.settled_from))
        .find(|&at| {
            kept.iter().skip(at).take(3).filter(|level| !is_rest(level)).count() >= 2 && !is_rest(&kept[at])
        })
        .unwrap_or(usize::from(trace.settled_from));
    let own: Vec<Level> = kept[..left].iter().copied().filter(is_rest).collect();
    let rest_level = Level::from_count(input.wheel.rest_count[wire]);
    let resting = |at: usize| own.get(at % own.len().max(1)).copied().unwrap_or(rest_level);
    let mut levels: Vec<Level> = (0..REST_MS).map(resting).collect();
    levels.extend(&kept);
    levels.extend((0..REST_MS).map(resting));
    let settled = (usize::from(trace.settled_from) + REST_MS, usize::from(trace.settled_to) + REST_MS);
    let kind = TrialKind::Recorded(trace.touch);
    Some((Trial { kind, button: Some(button), wire, levels, left_at: left + REST_MS }, settled))
}

/// The shortest whole tap of a recorded press with its settled part, of which the first [`TAP_MS`] are left.
/// `None` for a slow press: no one taps so.
#[must_use]
pub fn tap_of(trial: &Trial, (from, to): (usize, usize)) -> Option<Trial> {
    let TrialKind::Recorded(touch @ (Touch::Firm | Touch::Light | Touch::Picked)) = trial.kind else {
        return None;
    };
    let kept = TAP_MS.min(to.checked_sub(from)?);
    let mut levels = trial.levels[..from + kept].to_vec();
    levels.extend_from_slice(&trial.levels[to..]);
    Some(Trial { kind: TrialKind::Tap(touch), levels, ..*trial })
}

/// Slow presses of every button, made up: [`PASS_MS`] long, each four times with noise of its own, the
/// slowest sixteen times.
#[must_use]
pub fn passes(input: &Input) -> Vec<Trial> {
    let mut made = Vec::new();
    for (button, wire, centre_count) in buttons(input) {
        let rest_count = input.wheel.rest_count[wire];
        let way = Way::new(&input.wheel, rest_count, centre_count);
        for fall_ms in PASS_MS {
            let is_slowest = Some(&fall_ms) == PASS_MS.last();
            for time in 0..if is_slowest { SLOWEST_TIMES } else { PASS_TIMES } {
                let seed = (u64::from(button) << 32 | u64::from(fall_ms)) << 8 | time;
                let mut noise = Noise::new(seed, input.wheel.noise_count);
                let mut levels = rest_of(rest_count, REST_MS, &mut noise);
                let down = (0..fall_ms + HELD_MS).map(|ms| (f64::from(ms) / f64::from(fall_ms)).min(1.0));
                levels.extend(down.map(|share| noise.on(way.count(share))));
                levels.extend(rest_of(rest_count, REST_MS, &mut noise));
                made.push(Trial {
                    kind: TrialKind::Pass,
                    button: Some(button),
                    wire,
                    levels,
                    left_at: REST_MS,
                });
            }
        }
    }
    made
}

/// Spikes from rest, made up: 1 to 3 readings that stand at a button's centre, for each button.
#[must_use]
pub fn spikes(input: &Input) -> Vec<Trial> {
    let mut made = Vec::new();
    for (button, wire, centre_count) in buttons(input) {
        for length in SPIKE_MS {
            let rest_count = input.wheel.rest_count[wire];
            let mut noise = Noise::new(u64::from(button) << 8 | length as u64, input.wheel.noise_count);
            let mut levels = rest_of(rest_count, REST_MS, &mut noise);
            levels.extend((0..length).map(|_| noise.on(centre_count)));
            levels.extend(rest_of(rest_count, REST_MS, &mut noise));
            made.push(Trial { kind: TrialKind::Spike, button: None, wire, levels, left_at: REST_MS });
        }
    }
    made
}

/// The buttons that can be recognised: place, wire from 0, centre.
fn buttons(input: &Input) -> impl Iterator<Item = (u8, usize, f64)> + '_ {
    let centres = input.wheel.centre_count.iter().copied();
    (0_u8..).zip(input.rules.buttons.iter().zip(centres)).filter_map(|(place, ((wire, band, _), centre))| {
        (band.low <= band.high).then_some((place, usize::from(*wire == 2), centre?))
    })
}

/// The way of a count from rest to a button.
enum Way {
    /// The contact's resistance falls exponentially.
    Ohms { circuit: Box<Circuit>, own_ohm: f64, rest_count: f64, closed_count: f64 },
    /// No circuit is known: the count itself goes evenly.
    Counts { rest_count: f64, centre_count: f64 },
}

impl Way {
    fn new(wheel: &Wheel, rest_count: f64, centre_count: f64) -> Self {
        let in_ohms = wheel.circuit.as_ref().and_then(|circuit| {
            // A centre is of whole counts, which drop the fraction.
            let seen_ohm = circuit.ohm_from_count(centre_count + 0.5).filter(|ohm| ohm.is_finite())?;
            let own_ohm = (seen_ohm - CONTACT_OHM.1).max(0.0);
            let closed_count = circuit.ideal_count(own_ohm + CONTACT_OHM.1);
            let circuit = Box::new(circuit.clone());
            closed_count.is_finite().then_some(Self::Ohms { circuit, own_ohm, rest_count, closed_count })
        });
        in_ohms.unwrap_or(Self::Counts { rest_count, centre_count })
    }

    /// The exact count after this share of the time.
    fn count(&self, share: f64) -> f64 {
        match self {
            Self::Counts { rest_count, centre_count } => rest_count + (centre_count - rest_count) * share,
            Self::Ohms { circuit, own_ohm, rest_count, closed_count } => {
                let (open, closed) = CONTACT_OHM;
                let count = circuit.ideal_count(own_ohm + open * (closed / open).powf(share));
                // What lies on the far side of rest is rest: the ladder's end holds the wire there.
                let (low, high) = (rest_count.min(*closed_count), rest_count.max(*closed_count));
                if count.is_finite() { count.clamp(low, high) } else { *rest_count }
            }
        }
    }
}

/// Seeded noise, and the converter's rounding.
struct Noise {
    source: ChaCha8Rng,
    noise_count: f64,
}

impl Noise {
    fn new(seed: u64, noise_count: f64) -> Self {
        Self { source: ChaCha8Rng::seed_from_u64(seed), noise_count: noise_count.max(0.0) }
    }

    /// A reading of this exact count: noise, then whole counts.
    fn on(&mut self, count: f64) -> Level {
        let noise: f64 = self.source.sample(StandardNormal);
        Level::from_count((count + self.noise_count * noise).floor().clamp(0.0, TOP_COUNT))
    }
}

fn rest_of(rest_count: f64, readings: usize, noise: &mut Noise) -> Vec<Level> {
    (0..readings).map(|_| noise.on(rest_count + 0.5)).collect()
}
