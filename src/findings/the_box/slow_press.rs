//! A slow press on its way through other buttons' bands: whether the dwell and the settle limit keep it
//! from being taken for one of them. Knows no recogniser: it bounds what any press of that slowness does.

use super::finding;
use crate::bands::{Band, BandSet, Rung, noise_count};
use crate::circuit::{Circuit, converter_count};
use crate::findings::{Finding, Level};
use crate::project::{Project, banding};
use crate::units::count_text;

/// A contact that is only just touched, in ohms.
const OPEN_OHM: f64 = 15_000.0;
/// The same, pressed home.
const CLOSED_OHM: f64 = 6.0;
/// The slowest press looked at, in ticks of 1 ms: its resistance falls exponentially all the way. Common
/// practice, no source.
const TICKS: u32 = 1_000;
/// The longest dwell the box keeps, in ticks.
const LONGEST_DWELL: usize = 64;

/// The worst way a slow press can go wrong.
struct Risk {
    pressed: Rung,
    taken: Rung,
    /// How many readings on its way lie within the settle limit of each other, in the other's band.
    ticks: usize,
}

/// Standard deviations of the noise that may hide movement from the settle limit. With the limit itself
/// alone a dwell of 24 ms seemed to do on the demo's wheel, and 335 of 21 000 slow presses went wrong; with
/// this it is 30 ms or more, and none did (tests/recogniser/study.rs).
const NOISE_SIGMA: f64 = 2.5;

pub(super) fn look(project: &Project, bands: &BandSet, settle_count: f64, found: &mut Vec<Finding>) {
    let Some(circuit) = &project.circuit else { return };
    if circuit.check().iter().any(|problem| problem.is_error()) {
        return;
    }
    let Some(risk) = worst(circuit, bands, settle_count + NOISE_SIGMA * noise_count(bands)) else { return };
    let dwell = usize::from(project.plan.dwell_ms);
    if risk.ticks < dwell {
        return;
    }
    let name = |rung: Rung| banding::rung_name(project, rung);
    let (pressed, taken) = (name(risk.pressed), name(risk.taken));
    let do_ = if risk.ticks < LONGEST_DWELL {
        format!("Set the dwell to {} ms or more, or the settle limit lower.", risk.ticks + 1)
    } else {
        "Set the settle limit lower: the longest dwell, 64 ms, would not do.".to_owned()
    };
    found.push(finding(
        Level::Caution,
        "plan.dwell_ms",
        format!(
            "A press of {pressed} that takes a second could settle on {taken} on its way: for {} ms it reads within the settle limit of {} counts and the noise there, and the dwell is {dwell} ms.",
            risk.ticks,
            count_text(settle_count, 0)
        ),
        &do_,
    ));
}

/// Over every button that can be slowly pressed and every other one on its wire, the longest stay.
fn worst(circuit: &Circuit, bands: &BandSet, settle_count: f64) -> Option<Risk> {
    let buttons = || bands.buttons.iter().filter(|band| band.measured);
    let risks = buttons().flat_map(|pressed| {
        let readings = readings(circuit, pressed);
        let others = buttons().filter(move |other| other.wire == pressed.wire && other.rung != pressed.rung);
        others.map(move |other| Risk {
            pressed: pressed.rung,
            taken: other.rung,
            ticks: longest_stay(&readings, other, settle_count),
        })
    });
    risks.max_by_key(|risk| risk.ticks)
}

/// What the converter reads tick by tick while the contact closes; empty where the button's own
/// resistance can't be told.
fn readings(circuit: &Circuit, pressed: &Band) -> Vec<u16> {
    let Some(seen_ohm) = circuit.ohm_from_count(pressed.centre_count) else { return Vec::new() };
    let own_ohm = (seen_ohm - CLOSED_OHM).max(0.0);
    let fall = CLOSED_OHM / OPEN_OHM;
    (0..=TICKS)
        .filter_map(|tick| {
            let contact_ohm = OPEN_OHM * fall.powf(f64::from(tick) / f64::from(TICKS));
            converter_count(circuit.ideal_count(own_ohm + contact_ohm))
        })
        .collect()
}

/// The most readings in a row that lie in a band and within the settle limit of each other. The readings
/// only ever rise, or only ever fall, so the first and the last of them span the rest.
fn longest_stay(readings: &[u16], other: &Band, settle_count: f64) -> usize {
    let Some(accept) = other.accept else { return 0 };
    let (mut from, mut longest) = (0, 0);
    for (at, &count) in readings.iter().enumerate() {
        if !accept.holds(f64::from(count)) {
            from = at + 1;
            continue;
        }
        while f64::from(readings[from].abs_diff(count)) > settle_count {
            from += 1;
        }
        longest = longest.max(at + 1 - from);
    }
    longest
}
