//! Slow presses of the demo van's wheel, and the study of dwell and settle limit over them.

use std::collections::BTreeMap;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use spokewire::bands::Touch;
use spokewire::demo::{VirtualWheel, demo_van};
use spokewire::image;
use spokewire::project;
use spokewire::recognise::{EventKind, Recogniser, Rules};
use spokewire::signal::Level;

/// Seeded noise.
pub(crate) struct Draws(ChaCha8Rng);

impl Draws {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }
}

/// What the box goes by for the kept demo project.
pub(crate) fn demo_rules() -> Rules {
    let text = include_str!("../../projects/demo-van.ron");
    let project = project::read(text).unwrap().project;
    image::build(&project, &project::bands(&project)).unwrap().image.rules()
}

/// The exact count of what the wire sees, the demo's rest where that is less.
pub(crate) fn count_of(ohm: f64) -> f64 {
    let van = demo_van();
    van.count(ohm.min(van.rest_ohm[0]))
}

/// One reading: noise of 0.9 counts before the converter rounds down.
pub(crate) fn noisy(source: &mut Draws, count: f64) -> [Level; 2] {
    let read = (count + 0.9 * source.0.sample::<f64, _>(StandardNormal)).floor().clamp(0.0, 1_023.0);
    [Level::from_count(read), Level::NONE]
}

/// A contact that falls from 15 kOhm to 6 Ohm, exponentially.
#[derive(Debug)]
pub(crate) struct SlowPress {
    ohm: f64,
    fall_ms: f64,
}

impl SlowPress {
    /// A quarter takes the slowest, 1 s; the others anything from 0.1 to 1 s.
    pub(crate) fn drawn(source: &mut Draws, button: usize) -> Self {
        let slowest = source.0.random_range(0..4) == 0;
        let fall_ms = if slowest { 1e3 } else { source.0.random_range(100.0..1e3) };
        Self { ohm: demo_van().buttons[button].ohm, fall_ms }
    }

    /// Readings: 70 ms of rest, the fall, 150 ms held.
    pub(crate) fn readings(&self, source: &mut Draws) -> Vec<[Level; 2]> {
        let van = demo_van();
        (0..70 + self.fall_ms as u32 + 150)
            .map(|ms| {
                let share = ((f64::from(ms) - 70.0) / self.fall_ms).min(1.0);
                let contact = if share < 0.0 { f64::INFINITY } else { 15e3 * (6.0_f64 / 15e3).powf(share) };
                noisy(source, van.count((self.ohm + contact).min(van.rest_ohm[0])))
            })
            .collect()
    }

    /// The button that was recognised first.
    pub(crate) fn decided(&self, rules: &Rules, source: &mut Draws) -> Option<u8> {
        first_pressed(rules, &self.readings(source)).map(|(button, _)| button)
    }
}

/// The first button recognised, and the tick.
fn first_pressed(rules: &Rules, readings: &[[Level; 2]]) -> Option<(u8, usize)> {
    let mut recogniser = Recogniser::new(rules).unwrap();
    readings.iter().enumerate().find_map(|(tick, &levels)| {
        let pressed = recogniser.tick(levels).find(|event| event.kind == EventKind::Pressed);
        pressed.and_then(|event| event.button).map(|button| (button, tick))
    })
}

/// The least slope, in counts a millisecond, at which a slow press of 1 s crosses another button's
/// band, with both buttons.
fn least_slope(rules: &Rules) -> (f64, usize, usize) {
    let van = demo_van();
    let mut least = (f64::INFINITY, 0, 0);
    for (button, plan) in van.buttons.iter().enumerate() {
        for (other, &(_, band, _)) in rules.buttons.iter().enumerate().filter(|(other, _)| *other != button) {
            for count in band.low..=band.high {
                let Some(ohm) = van.circuit.ohm_from_count(f64::from(count)) else { continue };
                let contact = ohm - plan.ohm;
                if contact < 6.0 {
                    continue;
                }
                // R falls by a share of ln(15000 / 6) / T a millisecond.
                let slope =
                    van.circuit.slope_count_per_ohm(ohm).abs() * contact * (15e3_f64 / 6.0).ln() / 1e3;
                if slope < least.0 {
                    least = (slope, button, other);
                }
            }
        }
    }
    least
}

#[test]
fn a_dwell_of_a_slow_press_spans_more_than_the_settle_limit_and_the_noise() {
    let rules = demo_rules();
    let (slope, button, other) = least_slope(&rules);
    let spanned = slope * f64::from(rules.dwell_ticks - 1);
    let settle = rules.settle.count().unwrap();
    println!("rules {rules:?}");
    println!(
        "least slope {slope:.3} counts/ms (button {button} in {other}'s band), a dwell spans {spanned:.1}, settle {settle}"
    );
    assert!(spanned > settle + 2.0 * 0.9, "{spanned} of {settle}");
}

/// The table of dwell and settle limit. Some minutes: `cargo test --test recogniser study -- --ignored
/// --nocapture`.
#[test]
#[ignore = "a study of some minutes, run by hand"]
fn study_of_dwell_and_settle_limit() {
    let presses: u32 = std::env::var("PRESSES").ok().and_then(|n| n.parse().ok()).unwrap_or(20_000);
    let base = demo_rules();
    /// By dwell and settle limit: wrong, missed, firm presses missed, and latencies.
    type Tables = BTreeMap<(u8, u32), (u32, u32, u32, Vec<usize>)>;
    let mut tables = Tables::new();
    let with = |dwell: u8, settle: u32| Rules {
        dwell_ticks: dwell,
        settle: Level::from_count(f64::from(settle)),
        ..base.clone()
    };
    let cells: Vec<_> = [8, 12, 16, 20, 24, 28, 32, 48, 64]
        .into_iter()
        .flat_map(|dwell| (3..=8).map(move |settle| (dwell, settle)))
        .collect();
    let mut source = Draws::new(1);
    for press in 0..presses {
        let button = (press % 7) as usize;
        let readings = SlowPress::drawn(&mut source, button).readings(&mut source);
        for &(dwell, settle) in &cells {
            let cell = tables.entry((dwell, settle)).or_default();
            match first_pressed(&with(dwell, settle), &readings) {
                Some((found, _)) => cell.0 += u32::from(usize::from(found) != button),
                None => cell.1 += 1,
            }
        }
    }
    let mut wheel = VirtualWheel::new(demo_van(), 5);
    let firm = presses / 20;
    for press in 0..firm {
        let mut readings = Vec::new();
        let mut take = |wheel: &mut VirtualWheel, ms: u32| {
            for _ in 0..ms {
                readings.push([Level::from_count(f64::from(wheel.next().raw[0])), Level::NONE]);
            }
        };
        take(&mut wheel, 70);
        wheel.press((press % 7) as usize, Touch::Firm);
        take(&mut wheel, 150);
        wheel.release();
        take(&mut wheel, 40);
        for &(dwell, settle) in &cells {
            let cell = tables.entry((dwell, settle)).or_default();
            match first_pressed(&with(dwell, settle), &readings) {
                Some((found, tick)) if usize::from(found) == (press % 7) as usize => cell.3.push(tick - 70),
                _ => cell.2 += 1,
            }
        }
    }
    println!(
        "{presses} slow, {firm} firm: dwell settle | slow: wrong missed | firm of 150 ms: missed, ms median 95 % max"
    );
    for ((dwell, settle), (wrong, missed, firm_missed, mut ms)) in tables {
        ms.sort_unstable();
        let at =
            |share: f64| ms.get((ms.len().saturating_sub(1) as f64 * share) as usize).copied().unwrap_or(0);
        println!(
            "{dwell:3} {settle} | {wrong:5} {missed:5} | {firm_missed:4} {:3} {:3} {:3}",
            at(0.5),
            at(0.95),
            at(1.0)
        );
    }
}
