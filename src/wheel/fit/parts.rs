//! The parts of a ladder from its readings, each with the preferred value it likely is. Knows no pair.

use crate::units::Series;

use super::{Reading, meter_sigma_ohm};

/// The resistors of a ladder as the readings give them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LadderParts {
    /// One a button, by rising resistance: of a chain, from its start.
    pub parts: Vec<Part>,
    /// The resistor at the end, where a rest was read.
    pub end: Option<EndPart>,
    /// Contact and leads, in series with every reading, in ohms: what makes the parts most likely.
    pub contact_ohm: f64,
    /// Natural logarithm of how much likelier the parts are preferred values than any values.
    pub(super) log_ratio: f64,
}

/// One resistor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Whose, from 0.
    pub button: usize,
    /// As the readings give it, contact and leads in it.
    pub ohm: f64,
    /// How sure that is, as a standard deviation, in ohms.
    pub sigma_ohm: f64,
    /// The preferred value it likely is, contact and leads taken off; `None` where nothing can be said:
    /// the readings are too near to each other.
    pub preferred_ohm: Option<f64>,
    /// How sure that value is, 0 to 1.
    pub share: f64,
}

/// The resistor at the ladder's end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndPart {
    /// As the readings give it.
    pub ohm: f64,
    /// The preferred value it likely is.
    pub preferred_ohm: Option<f64>,
    /// How sure that value is, 0 to 1.
    pub share: f64,
}

/// Contact and leads looked at, in ohms: a metal contact is under 15 Ω, typical (FACTS B2, silicone keypad
/// design guides); worse ones look like part of the first resistor.
const CONTACT_OHM: std::ops::RangeInclusive<u32> = 0..=30;
/// How fast more of it gets less likely, in ohms (common practice, no source).
const CONTACT_MEAN_OHM: f64 = 6.0;
/// Tolerance of the parts as bought, and how many are such: chip resistors are ±1 %, the plainest ±5 %
/// (FACTS B2, chip resistor datasheet; the shares are an assumption).
const TOLERANCES: [(f64, f64); 2] = [(0.01, 0.7), (0.05, 0.3)];
/// The share of parts taken from E12, which is half of E24 (an assumption: it is what shops stock).
const SHARE_OF_E12: f64 = 2.0 / 3.0;
/// Above this share of a part its value says nothing, for E24's values are 10 % apart.
const BLURRED: f64 = 0.25;

/// Values farther from a part than this many standard deviations add nothing to its chance.
const FAR_SIGMA: f64 = 6.0;

/// The preferred values of a decade with their chances: E12's more often than the rest of E24.
struct Preferred {
    /// In units of the decade: 1 to 10, and the chance of each; all together 1.
    chances: Vec<(f64, f64)>,
}

impl Preferred {
    fn new() -> Self {
        let e12: Vec<u32> = Series::E12.hundredths().collect();
        let chance = |value: u32| if e12.contains(&value) { SHARE_OF_E12 } else { 1.0 - SHARE_OF_E12 } / 12.0;
        Self { chances: Series::E24.hundredths().map(|v| (f64::from(v) / 100.0, chance(v))).collect() }
    }

    /// The values near a part with the density each gives at `ohm`, per ohm.
    fn near(&self, ohm: f64, sigma_ohm: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let decade = ohm.log10().floor() as i32;
        (decade - 1..=decade + 1).flat_map(move |decade| {
            let one = 10_f64.powi(decade);
            self.chances.iter().filter_map(move |(value, chance)| {
                let value = value * one;
                // Any value within the tolerance is as likely (FACTS C5, a/√3).
                let sigma = |tolerance: f64| sigma_ohm.hypot(tolerance * value / 3_f64.sqrt());
                let widest = TOLERANCES.iter().map(|(tolerance, _)| *tolerance).fold(0.0, f64::max);
                if (ohm - value).abs() > FAR_SIGMA * sigma(widest) {
                    return None;
                }
                let normal = |sigma: f64| {
                    (-0.5 * ((ohm - value) / sigma).powi(2)).exp() / (sigma * std::f64::consts::TAU.sqrt())
                };
                let density: f64 =
                    TOLERANCES.iter().map(|(tolerance, share)| share * normal(sigma(*tolerance))).sum();
                Some((value, chance * density))
            })
        })
    }

    fn density(&self, ohm: f64, sigma_ohm: f64) -> f64 {
        self.near(ohm, sigma_ohm).map(|(_, density)| density).sum()
    }
}

/// The density of any value, per ohm: as many in each decade, `1 / (R · ln 10)`.
fn any_density(ohm: f64) -> f64 {
    1.0 / (ohm * std::f64::consts::LN_10)
}

/// A part before its value is looked for: ohms without the contact, and its standard deviation.
#[derive(Clone, Copy)]
struct Raw {
    ohm: f64,
    sigma_ohm: f64,
}

impl Raw {
    /// How much likelier its value is among preferred ones than among any, as a logarithm; 0 where it says
    /// nothing.
    fn log_ratio(self, preferred: &Preferred) -> f64 {
        if self.is_blurred() {
            return 0.0;
        }
        (preferred.density(self.ohm, self.sigma_ohm) / any_density(self.ohm)).ln()
    }

    fn is_blurred(self) -> bool {
        !(self.ohm > 0.0 && self.sigma_ohm < BLURRED * self.ohm)
    }

    /// The likeliest preferred value and its chance among all of them.
    fn preferred(self, preferred: &Preferred) -> Option<(f64, f64)> {
        if self.is_blurred() {
            return None;
        }
        let all = preferred.density(self.ohm, self.sigma_ohm);
        let (value, density) =
            preferred.near(self.ohm, self.sigma_ohm).max_by(|(_, a), (_, b)| a.total_cmp(b))?;
        // The value as sold, free of the arithmetic's last digit.
        Some((Series::E24.nearest(value)?, density / all))
    }
}

/// The steps of a chain: the differences of the readings in their order. The contact is in the first
/// alone; the end's is the rest less the last tap.
pub(super) fn chain(readings: &[Reading], rest_ohm: Option<f64>) -> LadderParts {
    let step = |from: f64, to: f64| Raw { ohm: to - from, sigma_ohm: between(from, to) };
    let befores = [0.0].into_iter().chain(readings.iter().map(|reading| reading.ohm));
    let raws: Vec<Raw> = befores.zip(readings).map(|(before, reading)| step(before, reading.ohm)).collect();
    let last = readings.last().map_or(0.0, |reading| reading.ohm);
    let end = rest_ohm.filter(|rest| *rest > last).map(|rest| step(last, rest));
    solve(readings, &raws, end, |place| place == 0)
}

/// A resistor of its own for each button: its reading, less what the resistor at the end adds beside it.
pub(super) fn own(readings: &[Reading], rest_ohm: Option<f64>) -> LadderParts {
    let raws: Vec<Raw> = readings.iter().map(|reading| own_ohm(reading.ohm, rest_ohm)).collect();
    let end = rest_ohm.map(|ohm| Raw { ohm, sigma_ohm: meter_sigma_ohm(ohm) });
    solve(readings, &raws, end, |_| true)
}

/// What stands beside the end's resistor to give a reading: `m·E / (E − m)`, and its standard deviation by
/// the law of propagation (FACTS C6).
fn own_ohm(ohm: f64, rest_ohm: Option<f64>) -> Raw {
    let sigma = meter_sigma_ohm(ohm);
    match rest_ohm {
        Some(rest) if rest > ohm => {
            let (by_reading, by_rest) = ((rest / (rest - ohm)).powi(2), (ohm / (rest - ohm)).powi(2));
            let sigma_ohm = (by_reading * sigma).hypot(by_rest * meter_sigma_ohm(rest));
            Raw { ohm: ohm * rest / (rest - ohm), sigma_ohm }
        }
        _ => Raw { ohm, sigma_ohm: sigma },
    }
}

fn between(from: f64, to: f64) -> f64 {
    let before = if from > 0.0 { meter_sigma_ohm(from) } else { 0.0 };
    before.hypot(meter_sigma_ohm(to))
}

/// Looks for contact and leads, and for the value of each part; `has_contact` says whether the part at a
/// place has the contact in it.
fn solve(
    readings: &[Reading],
    raws: &[Raw],
    end: Option<Raw>,
    has_contact: impl Fn(usize) -> bool,
) -> LadderParts {
    let preferred = Preferred::new();
    let without = |place: usize, raw: &Raw, contact_ohm: f64| Raw {
        ohm: if has_contact(place) { raw.ohm - contact_ohm } else { raw.ohm },
        ..*raw
    };
    // What doesn't change with the contact is looked at once.
    let fixed: f64 = raws
        .iter()
        .enumerate()
        .filter(|(place, _)| !has_contact(*place))
        .map(|(_, raw)| raw)
        .chain(&end)
        .map(|raw| raw.log_ratio(&preferred))
        .sum();
    let tries: Vec<(f64, f64)> = CONTACT_OHM
        .map(|contact| {
            let contact = f64::from(contact);
            let moved: f64 = raws
                .iter()
                .enumerate()
                .filter(|(place, _)| has_contact(*place))
                .map(|(place, raw)| without(place, raw, contact).log_ratio(&preferred))
                .sum();
            (contact, moved - contact / CONTACT_MEAN_OHM)
        })
        .collect();
    let best = tries.iter().map(|(_, log)| *log).fold(f64::NEG_INFINITY, f64::max);
    let weights: f64 = tries.iter().map(|(_, log)| (log - best).exp()).sum();
    let before: f64 = tries.iter().map(|(contact, _)| (-contact / CONTACT_MEAN_OHM).exp()).sum();
    let mean = tries.iter().map(|(contact, log)| contact * (log - best).exp()).sum::<f64>() / weights;
    let contact_ohm = if readings.is_empty() { 0.0 } else { mean };
    let parts = readings
        .iter()
        .zip(raws)
        .enumerate()
        .map(|(place, (reading, raw))| {
            let value = without(place, raw, contact_ohm).preferred(&preferred);
            Part {
                button: reading.button,
                ohm: raw.ohm,
                sigma_ohm: raw.sigma_ohm,
                preferred_ohm: value.map(|(ohm, _)| ohm),
                share: value.map_or(0.0, |(_, share)| share),
            }
        })
        .collect();
    let end = end.map(|raw| {
        let value = raw.preferred(&preferred);
        EndPart {
            ohm: raw.ohm,
            preferred_ohm: value.map(|(ohm, _)| ohm),
            share: value.map_or(0.0, |(_, share)| share),
        }
    });
    let log_ratio = if readings.is_empty() { 0.0 } else { fixed + best + (weights / before).ln() };
    LadderParts { parts, end, contact_ohm, log_ratio }
}
