//! How far a learned reading can drift: what the feed, the temperature, wear, the reference and the
//! converter move it by, in counts. Knows no buttons and no bands.
//!
//! A reading that was learned holds the parts' tolerance already, whatever it is. What is left is what
//! changes afterwards, and each of it is worked out by the circuit itself at its corners, never by a
//! slope times a change:
//!
//! * **Feed**: a reading goes with the feed, `1024 · V / V_ref` (ATmega328P datasheet, ADC Conversion
//!   Result). With the supply as reference, or with a feed monitor, it is a ratio and stays. Where a
//!   factory module feeds the ladder it goes with the module's supply.
//! * **Temperature**: learned at 25 °C, used from the coldest to the hottest. The ladder's resistors are
//!   of one lot and follow each other (50 ppm/K apart at most: resistor maker's note, FACTS B2), so they
//!   drift as one; the sense resistor was bought elsewhere, and nothing says that it follows them: the
//!   worst is the one at its limit up, the other at its limit down. Each rung is held against bands that
//!   do not move, so that its neighbours drift along does not help it.
//! * **Wear**: a contact only ever gains resistance, so this goes one way. All of it is taken in series
//!   with what the wire shows; behind an end-of-line resistor it would show as less.
//! * **Reference**: how far a reference other than the supply moves with temperature. Its tolerance is in
//!   the learned reading. A feed monitor takes the reference out of a reading and puts its own two
//!   resistors in. Beside a factory module the box's supply is a reference that moves as any feed does.
//! * **Converter**: its stated error, all of it: how much of it changes with time isn't printed.

use super::{Circuit, Parts, Reference, Sense};
use crate::units::TOP_COUNT;

/// Where a wheel is learned, in °C: the datasheets' 25 °C.
pub const LEARNED_AT_C: f64 = 25.0;

/// How far the chip's own reference, or a small one from outside, moves with temperature, in 1/K:
/// 1 % from 25 °C to -40 or 85 °C (ATmega328P datasheet 8161D, typical characteristics, from memory: no
/// limit is printed).
pub const REFERENCE_PER_K: f64 = 150e-6;

/// How far two resistors of one lot drift apart at most, in 1/K: thick film (resistor maker's note, FACTS
/// B2).
pub const TRACKING_PER_K: f64 = 50e-6;

/// How far something moves a reading, in counts, to either side; each 0 or more.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shift {
    /// Towards 0.
    pub down_count: f64,
    /// Towards full scale.
    pub up_count: f64,
}

impl Shift {
    /// As far to either side.
    #[must_use]
    pub fn even(count: f64) -> Self {
        Self { down_count: count, up_count: count }
    }

    /// From a reading to the lowest and the highest it becomes.
    fn between(now: f64, low: f64, high: f64) -> Self {
        Self { down_count: (now - low).max(0.0), up_count: (high - now).max(0.0) }
    }

    /// One after the other.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self { down_count: self.down_count + other.down_count, up_count: self.up_count + other.up_count }
    }
}

/// What a learned reading can drift by.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drift {
    /// The feed off its nominal value.
    pub feed: Shift,
    /// Cold and heat on sense resistor and ladder.
    pub temperature: Shift,
    /// The contact's gain in resistance.
    pub wear: Shift,
    /// The reference, by temperature.
    pub reference: Shift,
    /// The converter's own error.
    pub converter: Shift,
    /// All at once, at the worst corner: near the sum of the others, not the same, for the circuit is
    /// not a straight line.
    pub whole: Shift,
}

/// One state of a circuit away from the one it was learned in; each 0 where nothing has changed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stress {
    /// The contact's gain in resistance, in ohms; 0 or more.
    pub wear_ohm: f64,
    /// The ladder's resistors, off by this share of themselves.
    pub ladder_share: f64,
    /// The sense resistor, likewise.
    pub sense_share: f64,
    /// The feed, likewise; moves nothing where a reading is a ratio.
    pub feed_share: f64,
    /// The reference, likewise; with a feed monitor, its divider.
    pub reference_share: f64,
}

impl Stress {
    /// The worst that these parts allow in one direction, each of it times `share` (0 to 1): towards full
    /// scale, or towards 0.
    #[must_use]
    pub fn worst(circuit: &Circuit, parts: &Parts, wears: bool, up: bool, share: f64) -> Self {
        let limits = Limits::of(circuit, parts, wears);
        let sign = if up { share } else { -share };
        let by_wear = up == (circuit.sense == Sense::PullUp);
        let lower_leg = if circuit.sense == Sense::PullUp { sign } else { -sign };
        Self {
            wear_ohm: if by_wear { share * limits.wear_ohm } else { 0.0 },
            ladder_share: lower_leg * limits.ladder_share,
            sense_share: -lower_leg * limits.sense_share,
            feed_share: sign * limits.feed_share,
            reference_share: -sign * limits.reference_share,
        }
    }
}

/// The largest changes, none below 0.
struct Limits {
    wear_ohm: f64,
    ladder_share: f64,
    sense_share: f64,
    feed_share: f64,
    reference_share: f64,
}

/// What no part's share may reach: at 1 a resistor would be gone.
const MOST_SHARE: f64 = 0.9;

impl Limits {
    fn of(circuit: &Circuit, parts: &Parts, wears: bool) -> Self {
        let held = |value: f64, most: f64| if value > 0.0 { value.min(most) } else { 0.0 };
        let away_k = held(LEARNED_AT_C - parts.cold_c, 1e3).max(held(parts.hot_c - LEARNED_AT_C, 1e3));
        let ratio = is_ratio(circuit);
        Self {
            wear_ohm: if wears { held(parts.wear_ohm, 1e9) } else { 0.0 },
            ladder_share: held(parts.ladder_per_k * away_k, MOST_SHARE),
            sense_share: held(parts.sense_per_k * away_k, MOST_SHARE),
            feed_share: if ratio { 0.0 } else { held(parts.feed_tolerance, MOST_SHARE) },
            reference_share: if circuit.has_two_supplies() {
                held(parts.feed_tolerance, MOST_SHARE)
            } else {
                held(reference_per_k(circuit) * away_k, MOST_SHARE)
            },
        }
    }
}

/// Whether a reading is a ratio, so that the feed cancels out of it: with the supply as reference, or
/// with a feed monitor. Never where a factory module feeds the ladder: neither reaches its supply.
#[must_use]
pub fn is_ratio(circuit: &Circuit) -> bool {
    circuit.module.is_none() && (circuit.reference == Reference::Supply || circuit.feed_monitor.is_some())
}

/// How far what readings are measured against moves with temperature, in 1/K: a reference of its own, or
/// with a feed monitor the monitor's divider, by its upper resistor's share of the difference of the two;
/// 0 with the supply.
#[must_use]
pub fn reference_per_k(circuit: &Circuit) -> f64 {
    match (circuit.reference, circuit.feed_monitor) {
        (Reference::Supply, _) => 0.0,
        (_, Some(monitor)) if is_ratio(circuit) => {
            TRACKING_PER_K * monitor.upper_ohm / (monitor.upper_ohm + monitor.lower_ohm)
        }
        _ => REFERENCE_PER_K,
    }
}

/// The reading of a resistance seen in a state of the circuit, in counts, 0 to 1023, fraction kept.
///
/// `seen_ohm` is what the wire shows when nothing has changed, the contact included; infinite for an open
/// wire.
#[must_use]
pub fn stressed_count(circuit: &Circuit, seen_ohm: f64, stress: &Stress) -> f64 {
    let contact_ohm = circuit.contact_ohm.clamp(0.0, seen_ohm.max(0.0));
    let ladder_ohm = seen_ohm - contact_ohm;
    let ohm = if seen_ohm.is_finite() {
        ladder_ohm * (1.0 + stress.ladder_share) + contact_ohm + stress.wear_ohm
    } else {
        seen_ohm
    };
    let changed = Circuit { sense_ohm: circuit.sense_ohm * (1.0 + stress.sense_share), ..circuit.clone() };
    let feed = if is_ratio(circuit) { 1.0 } else { 1.0 + stress.feed_share };
    let reference = if circuit.is_ratiometric() { 1.0 } else { 1.0 + stress.reference_share };
    (changed.ideal_count(ohm) * feed / reference).clamp(0.0, TOP_COUNT)
}

/// The resistance seen at a count, in ohms; past the ends of the curve a short or an open wire.
#[must_use]
pub fn seen_ohm(circuit: &Circuit, count: f64) -> f64 {
    circuit.ohm_from_count(count).unwrap_or(match (circuit.sense, count > 0.5 * TOP_COUNT) {
        (Sense::PullUp, true) | (Sense::PullDown, false) => f64::INFINITY,
        (Sense::PullUp, false) | (Sense::PullDown, true) => 0.0,
    })
}

/// What a reading of `seen_ohm` can drift by. `wears` is whether a contact is in it: not at rest.
/// `converter_error_count` is the converter's stated error.
///
/// Total: what is no number moves nothing.
#[must_use]
pub fn drift(
    circuit: &Circuit,
    parts: &Parts,
    seen_ohm: f64,
    wears: bool,
    converter_error_count: f64,
) -> Drift {
    let now = stressed_count(circuit, seen_ohm, &Stress::default());
    if now.is_nan() {
        return Drift::default();
    }
    let worst = |up: bool| Stress::worst(circuit, parts, wears, up, 1.0);
    let by = |only: fn(&Stress) -> Stress| {
        let [low, high] = [false, true].map(|up| stressed_count(circuit, seen_ohm, &only(&worst(up))));
        Shift::between(now, low, high)
    };
    let error = if converter_error_count > 0.0 { converter_error_count.min(TOP_COUNT) } else { 0.0 };
    let converter = Shift::between(now, (now - error).max(0.0), (now + error).min(TOP_COUNT));
    let all = by(|stress| *stress);
    Drift {
        feed: by(|s| Stress { feed_share: s.feed_share, ..Stress::default() }),
        temperature: by(|s| Stress {
            ladder_share: s.ladder_share,
            sense_share: s.sense_share,
            ..Stress::default()
        }),
        wear: by(|s| Stress { wear_ohm: s.wear_ohm, ..Stress::default() }),
        reference: by(|s| Stress { reference_share: s.reference_share, ..Stress::default() }),
        converter,
        whole: Shift {
            down_count: (all.down_count + error).min(now),
            up_count: (all.up_count + error).min(TOP_COUNT - now),
        },
    }
}

#[cfg(test)]
mod tests;
