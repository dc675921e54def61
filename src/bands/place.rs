//! Where each rung lies: its centre, how much its readings vary, its tolerance interval. Knows no
//! neighbours.

use crate::circuit::{Drift, Shift, drift, seen_ohm};
use crate::units::TOP_COUNT;

use super::RestLevel;
use super::band::{Band, BetweenSpread, Reach, Rung};
use super::chance::Chance;
use super::compute::{Input, Settings};
use super::contributions::Contributions;
use super::divider::Divider;
use super::edges::MovedEdges;
use super::layout::Slot;
use super::spread::{
    ASSUMED_BETWEEN_COUNT, ASSUMED_BETWEEN_OHM, ASSUMED_WITHIN_COUNT, Group, LEAST_FREEDOM, Pool, Presses,
    ROUNDING_COUNT, pooled_within,
};
use super::tolerance::Tolerance;
use super::verdict::Verdict;

/// Standard deviation of what a meter and a sense resistor of 1 % predict, as a share of the
/// resistance (common practice, no source).
const PLANNED_SHARE: f64 = 0.01;

/// A rung that has a place.
pub(super) struct Placed {
    pub(super) band: Band,
    pub(super) slot: Slot,
    pub(super) drift: Drift,
    /// Whose band it shares.
    pub(super) shares: Option<Rung>,
    /// A press of its own outside its tolerance interval.
    pub(super) stray_count: Option<f64>,
}

/// What all rungs have in common.
pub(super) struct Placer<'a> {
    pub(super) input: &'a Input<'a>,
    pub(super) divider: Option<Divider>,
    presses: Vec<Presses>,
    pool: Pool,
    within_count: f64,
    pub(super) converter_error_count: f64,
    pub(super) floor: i32,
}

impl<'a> Placer<'a> {
    pub(super) fn new(input: &'a Input<'a>) -> Self {
        let divider = input.circuit.and_then(Divider::new);
        let presses: Vec<_> = input.buttons.iter().map(|button| Presses::of(button.presses)).collect();
        let within_count = pooled_within(&presses);
        let groups: Vec<_> = presses
            .iter()
            .filter_map(|presses| {
                let within = presses.within_count(within_count);
                let slope = slope(divider, presses.centre_count());
                let to_unit = |count| divider.map_or(count, |divider| divider.ohm(count));
                Group::of(presses, within, slope, to_unit)
            })
            .collect();
        let held = |count: f64, least: f64| if count >= least { count.min(TOP_COUNT) } else { least };
        Self {
            input,
            divider,
            presses,
            pool: Pool::of(&groups),
            within_count,
            converter_error_count: held(input.settings.converter_error_count, 0.0),
            floor: held(input.settings.reject_floor_count, 1.0).ceil() as i32,
        }
    }

    fn assumed_between(&self) -> f64 {
        if self.divider.is_some() { ASSUMED_BETWEEN_OHM } else { ASSUMED_BETWEEN_COUNT }
    }

    pub(super) fn between(&self) -> BetweenSpread {
        let assumed = self.pool.freedom < LEAST_FREEDOM;
        let measured = self.pool.variance.sqrt();
        let spread = if assumed { measured.max(self.assumed_between()) } else { measured };
        BetweenSpread {
            ohm: self.divider.map(|_| spread),
            count: if self.divider.is_none() { Some(spread) } else { None },
            degrees_of_freedom: self.pool.freedom as u32,
            assumed,
        }
    }

    /// Every rung that has a place, buttons first.
    pub(super) fn placed(&self) -> Vec<Placed> {
        let mut factors = Factors::new(self.input.settings);
        let mut placed = Vec::with_capacity(self.input.buttons.len() + self.input.rests.len());
        for (index, (button, presses)) in self.input.buttons.iter().zip(&self.presses).enumerate() {
            let Some(wire) = button.wire else { continue };
            if !presses.medians.is_empty() {
                placed.push(self.measured(Rung::Button(index), wire, presses, &mut factors));
            } else if button.presses.is_empty()
                && let Some(count) = button.planned_count.filter(|count| count.is_finite())
            {
                placed.push(self.planned(Rung::Button(index), wire, count, &mut factors));
            }
        }
        for (index, &(wire, level)) in self.input.rests.iter().enumerate() {
            let twice = self.input.rests[..index].iter().any(|&(other, _)| other == wire);
            if !twice && level.median_count.is_finite() {
                placed.push(self.rest(wire, level, &mut factors));
            }
        }
        placed
    }

    fn measured(&self, rung: Rung, wire: u8, presses: &Presses, factors: &mut Factors) -> Placed {
        let centre = presses.centre_count();
        let within = presses.within_count(self.within_count);
        let gain = slope(self.divider, centre).powi(2);
        let freedom = self.pool.freedom_at(gain, gain * self.pool.variance + within * within).round();
        let assumed = freedom < LEAST_FREEDOM;
        let floor = if assumed { self.assumed_between().powi(2) } else { 0.0 };
        let sigma = (gain * self.pool.variance.max(floor) + within * within).sqrt();
        let freedom = if assumed { f64::INFINITY } else { freedom };
        let spread = Spread { sigma, within, freedom, assumed };
        let half = factors.factor(presses.medians.len(), freedom) * sigma;
        let mean = presses.mean_count();
        let mut placed = self.place(rung, wire, centre, mean, half, spread);
        placed.band.presses = presses.medians.len();
        placed.band.tolerance_factor = half / sigma;
        // A press it was learned from is never refused, however far it strayed.
        let reach = half.max(self.converter_error_count);
        placed.stray_count = presses
            .medians
            .iter()
            .copied()
            .filter(|median| (median - centre).abs() > reach)
            .max_by(|a, b| (a - centre).abs().total_cmp(&(b - centre).abs()));
        let low = presses.medians.iter().copied().fold(placed.band.tolerance_low_count, f64::min);
        let high = presses.medians.iter().copied().fold(placed.band.tolerance_high_count, f64::max);
        placed.stretch(low, high);
        placed
    }

    fn planned(&self, rung: Rung, wire: u8, count: f64, factors: &mut Factors) -> Placed {
        let centre = count.clamp(0.0, TOP_COUNT);
        let slope = slope(self.divider, centre);
        let ohm = self.divider.map_or(0.0, |divider| divider.ohm(centre));
        let predicted = if ohm.is_finite() { slope * PLANNED_SHARE * ohm } else { 0.0 };
        let sigma = (slope * self.assumed_between()).hypot(predicted).hypot(ASSUMED_WITHIN_COUNT);
        let half = factors.factor(1, f64::INFINITY) * sigma;
        let spread = Spread { sigma, within: ASSUMED_WITHIN_COUNT, freedom: f64::INFINITY, assumed: true };
        let mut placed = self.place(rung, wire, centre, centre, half, spread);
        placed.band.measured = false;
        placed.band.tolerance_factor = half / sigma;
        placed
    }

    /// Rest is one long press without a contact in it: noise alone, which is known well.
    fn rest(&self, wire: u8, level: &RestLevel, factors: &mut Factors) -> Placed {
        let centre = level.median_count.clamp(0.0, TOP_COUNT);
        let known = level.readings > 1 && (0.0..=TOP_COUNT).contains(&level.spread_count);
        let sigma = if known { level.spread_count.max(ROUNDING_COUNT) } else { self.within_count };
        let half = factors.factor(1, f64::INFINITY) * sigma;
        let spread = Spread { sigma, within: sigma, freedom: f64::INFINITY, assumed: !known };
        let mut placed = self.place(Rung::Rest(wire), wire, centre, centre, half, spread);
        placed.band.presses = 1;
        placed.band.tolerance_factor = half / sigma;
        placed
    }

    fn place(&self, rung: Rung, wire: u8, centre: f64, mean: f64, half: f64, spread: Spread) -> Placed {
        let error = self.converter_error_count;
        let band = Band {
            rung,
            wire,
            measured: true,
            presses: 0,
            centre_count: centre,
            accept: None,
            tolerance_low_count: (mean - half).min(centre - error),
            tolerance_high_count: (mean + half).max(centre + error),
            sigma_count: spread.sigma,
            within_count: spread.within,
            tolerance_factor: 0.0,
            degrees_of_freedom: spread.freedom,
            spread_assumed: spread.assumed,
            below: None,
            above: None,
            separation_sigma: None,
            nearest_gap_count: None,
            headroom_count: None,
            headroom_ohm: None,
            headroom_feed: None,
            contributions: Contributions::default(),
            drift: Shift::default(),
            chance: None::<Chance>,
            moved: MovedEdges::default(),
            verdict: Verdict::Unlearned { of: rung },
        };
        let drift = self.drift(rung, centre);
        let slot = Slot::new(centre, spread.sigma, band.tolerance_low_count, band.tolerance_high_count);
        let mut placed = Placed { band, slot, drift, shares: None, stray_count: None };
        placed.stretch(f64::INFINITY, f64::NEG_INFINITY);
        placed
    }

    /// What a reading of this rung can drift by; nothing where circuit or parts aren't known.
    fn drift(&self, rung: Rung, centre: f64) -> Drift {
        let (Some(circuit), Some(parts), Some(_)) = (self.input.circuit, self.input.parts, self.divider)
        else {
            return Drift::default();
        };
        let wears = matches!(rung, Rung::Button(_));
        drift(circuit, parts, seen_ohm(circuit, centre), wears, self.converter_error_count)
    }

    /// Whether gaps may be given out: not while a button of this wire could still lie anywhere.
    pub(super) fn reach(&self, wire: u8, placed: &[Placed]) -> Reach {
        if !placed.iter().any(|entry| entry.band.rung == Rung::Rest(wire)) {
            return Reach::RestUnknown;
        }
        let unknown = self.input.buttons.iter().enumerate().position(|(index, button)| {
            button.wire.is_none_or(|own| own == wire)
                && !placed.iter().any(|entry| entry.band.rung == Rung::Button(index))
        });
        unknown.map_or(Reach::Widened, Reach::ButtonUnknown)
    }

    /// How a button stands that has no place.
    pub(super) fn verdict_without_place(&self, button: usize) -> Verdict {
        let of = Rung::Button(button);
        if self.input.buttons[button].presses.is_empty() {
            Verdict::Unlearned { of }
        } else if self.presses[button].medians.is_empty() {
            Verdict::Unusable { of }
        } else {
            Verdict::NoWire { of }
        }
    }
}

impl Placed {
    pub(super) fn stretch(&mut self, low: f64, high: f64) {
        self.band.tolerance_low_count = self.band.tolerance_low_count.min(low);
        self.band.tolerance_high_count = self.band.tolerance_high_count.max(high);
        let band = &mut self.band;
        let (low, high) = (band.tolerance_low_count, band.tolerance_high_count);
        self.slot = Slot::new(band.centre_count, band.sigma_count, low, high).drifting(self.drift.whole);
        let interval = Shift {
            down_count: (band.centre_count - low).max(0.0),
            up_count: (high - band.centre_count).max(0.0),
        };
        let within_share = (band.within_count / band.sigma_count).powi(2).min(1.0);
        band.contributions = Contributions::of(interval, within_share, &self.drift);
        band.drift = self.drift.whole;
    }
}

/// How a rung's readings spread.
struct Spread {
    sigma: f64,
    within: f64,
    freedom: f64,
    assumed: bool,
}

/// Tolerance factors, each worked out once in a run: buttons mostly share the number of presses.
struct Factors {
    settings: Settings,
    tolerances: Vec<(usize, Tolerance)>,
    factors: Vec<(usize, f64, f64)>,
}

impl Factors {
    fn new(settings: Settings) -> Self {
        Self { settings, tolerances: Vec::new(), factors: Vec::new() }
    }

    /// The factor for a mean of `presses` and this many degrees of freedom.
    fn factor(&mut self, presses: usize, freedom: f64) -> f64 {
        if let Some(known) = self.factors.iter().find(|known| known.0 == presses && known.1 == freedom) {
            return known.2;
        }
        let index = self.tolerances.iter().position(|known| known.0 == presses).unwrap_or_else(|| {
            let of_mean = u32::try_from(presses).unwrap_or(u32::MAX);
            let Settings { coverage, confidence, .. } = self.settings;
            self.tolerances.push((presses, Tolerance::new(coverage, confidence, of_mean)));
            self.tolerances.len() - 1
        });
        let factor = self.tolerances[index].1.factor(freedom);
        self.factors.push((presses, freedom, factor));
        factor
    }
}

/// Counts per unit of contact spread: per ohm where the circuit is known, else one.
fn slope(divider: Option<Divider>, count: f64) -> f64 {
    divider.map_or(1.0, |divider| divider.slope_count_per_ohm(count))
}
