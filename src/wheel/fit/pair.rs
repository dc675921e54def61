//! Two buttons pressed at once: what each topology promises, which two to ask for, and what their
//! reading says. Knows no parts.

use super::odd::Odd;
use super::{Reading, meter_sigma_ohm};

/// How far a reading may lie from a promise, in standard deviations of both: two errors that are never
/// more than √3 of theirs each come to √6 together, which is 2.45.
const AGREES_SIGMA: f64 = 3.0;
/// What a contact may add or take where two are closed instead of one, in ohms (FACTS B2: a metal contact,
/// typical).
const CONTACT_OHM: f64 = 15.0;

/// A reading of two buttons pressed at once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairSeen {
    /// Which, from 0.
    pub buttons: (usize, usize),
    /// In ohms.
    pub ohm: f64,
}

/// Two buttons that would tell a chain from resistors of their own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairQuestion {
    /// Which, from 0.
    pub buttons: (usize, usize),
    /// What a chain reads: the tap nearest its start wins.
    pub series_ohm: f64,
    /// What resistors of their own read.
    pub parallel_ohm: f64,
}

/// What a reading of two at once said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PairAnswer {
    /// As only a chain reads.
    Series,
    /// As only resistors of their own read.
    Parallel,
    /// The two promises are too near to each other.
    Both,
    /// As neither reads: one of the three readings is wrong.
    Neither,
}

/// Both promises for two readings, with their standard deviations.
struct Promise {
    series: (f64, f64),
    parallel: (f64, f64),
}

impl Promise {
    fn of(a: f64, b: f64, rest_ohm: Option<f64>) -> Option<Self> {
        // Each reading has the end's resistor beside it already: it counts once.
        let siemens = 1.0 / a + 1.0 / b - rest_ohm.map_or(0.0, |rest| 1.0 / rest);
        if !(siemens > 0.0 && siemens.is_finite()) {
            return None;
        }
        let ohm = 1.0 / siemens;
        let by = |reading: f64| (ohm / reading).powi(2) * meter_sigma_ohm(reading);
        let by_rest = rest_ohm.map_or(0.0, by);
        let lower = a.min(b);
        Some(Self {
            series: (lower, meter_sigma_ohm(lower)),
            parallel: (ohm, by(a).hypot(by(b)).hypot(by_rest)),
        })
    }

    /// How far apart the two are, in standard deviations of both and of the reading to come.
    fn apart(&self) -> f64 {
        let (series, parallel) = (self.series, self.parallel);
        let sigma = series.1.hypot(parallel.1).hypot(meter_sigma_ohm(series.0));
        (series.0 - parallel.0).abs() / sigma.hypot(CONTACT_OHM / 3_f64.sqrt())
    }
}

/// What the reading of two at once says; `None` where one of them has no reading of its own.
pub(super) fn answer(readings: &[Reading], rest_ohm: Option<f64>, pair: PairSeen) -> Option<PairAnswer> {
    let of = |button: usize| readings.iter().find(|reading| reading.button == button);
    let (a, b) = (of(pair.buttons.0)?, of(pair.buttons.1)?);
    if a.button == b.button || !super::is_reading(pair.ohm) {
        return None;
    }
    let promise = Promise::of(a.ohm, b.ohm, rest_ohm)?;
    let agrees = |(ohm, sigma): (f64, f64)| {
        let sigma = sigma.hypot(meter_sigma_ohm(pair.ohm)).hypot(CONTACT_OHM / 3_f64.sqrt());
        (pair.ohm - ohm).abs() <= AGREES_SIGMA * sigma
    };
    Some(match (agrees(promise.series), agrees(promise.parallel)) {
        (true, false) => PairAnswer::Series,
        (false, true) => PairAnswer::Parallel,
        (true, true) => PairAnswer::Both,
        (false, false) => PairAnswer::Neither,
    })
}

/// The two whose promises lie farthest apart, of those whose readings aren't odd.
pub(super) fn ask(readings: &[Reading], rest_ohm: Option<f64>, odd: &[Odd]) -> Option<PairQuestion> {
    let sound: Vec<_> =
        readings.iter().filter(|reading| odd.iter().all(|odd| odd.button != reading.button)).collect();
    let pairs = sound.iter().enumerate().flat_map(|(at, a)| {
        sound.iter().skip(at + 1).filter_map(move |b| {
            let promise = Promise::of(a.ohm, b.ohm, rest_ohm)?;
            Some((promise.apart(), (a.button, b.button), promise))
        })
    });
    let (_, buttons, promise) = pairs.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(PairQuestion { buttons, series_ohm: promise.series.0, parallel_ohm: promise.parallel.0 })
}
