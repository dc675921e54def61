//! From presses to bands. Knows no names, no file and no clock.

use crate::circuit::Circuit;
use crate::units::TOP_COUNT;

use super::band::{Band, BandSet, BetweenSpread, Gap, Reach, Rung, Wire};
use super::divider::{Divider, Wear};
use super::layout::{Rules, Slot, accept_bands};
use super::spread::{
    ASSUMED_BETWEEN_COUNT, ASSUMED_BETWEEN_OHM, ASSUMED_WITHIN_COUNT, Group, LEAST_FREEDOM, Pool, Presses,
    ROUNDING_COUNT, pooled_within,
};
use super::tolerance::Tolerance;
use super::verdict::Verdict;
use super::{Press, RestLevel};

/// Standard deviation of what a meter and a sense resistor of 1 % predict, as a share of the
/// resistance (common practice, no source).
const PLANNED_SHARE: f64 = 0.01;

/// A button, as the bands need it. Its place in the input is its name.
#[derive(Clone, Copy, Debug, Default)]
pub struct ButtonInput<'a> {
    /// Its wire, 1 or 2; `None` where that is not known yet.
    pub wire: Option<u8>,
    /// Its presses.
    pub presses: &'a [Press],
    /// The button it was taken as one with, by its place in the input.
    pub indistinct_from: Option<usize>,
    /// Where the meter says it should read, in counts, for a button without presses.
    pub planned_count: Option<f64>,
}

/// How bands are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// The share of future readings that a band must hold; 0.5 to 0.999 999.
    pub coverage: f64,
    /// How sure of that one wants to be; 0.5 to 0.999 999.
    pub confidence: f64,
    /// The converter's stated error, in counts: no band reaches less far either side of its
    /// centre.
    pub converter_error_count: f64,
    /// The least reject gap, in counts.
    pub reject_floor_count: f64,
}

/// Everything the bands are made from.
#[derive(Clone, Debug)]
pub struct Input<'a> {
    /// The buttons.
    pub buttons: &'a [ButtonInput<'a>],
    /// What each wire read at rest.
    pub rests: &'a [(u8, &'a RestLevel)],
    /// The sense circuit, where it is known.
    pub circuit: Option<&'a Circuit>,
    /// How bands are made.
    pub settings: Settings,
}

/// Computes the bands of a wheel.
///
/// Total: whatever the numbers, every button gets a verdict, bands never overlap, and what is no
/// number is left out.
#[must_use]
pub fn bands(input: &Input<'_>) -> BandSet {
    let maker = Maker::new(input);
    let mut placed = maker.placed();
    let mut verdicts: Vec<Verdict> =
        (0..input.buttons.len()).map(|button| maker.verdict_without_place(button)).collect();
    share_marked(input, &mut placed);
    let mut set = BandSet {
        wires: Vec::new(),
        buttons: Vec::new(),
        rests: Vec::new(),
        gaps: Vec::new(),
        between: maker.between(),
        verdicts: Vec::new(),
        converter_error_count: maker.converter_error_count,
    };
    for wire in wires_of(input) {
        let reach = maker.reach(wire, &placed);
        set.wires.push(Wire { wire, reach });
        maker.lay_out(wire, reach == Reach::Widened, &mut placed, &mut set.gaps);
    }
    for entry in placed {
        match entry.band.rung {
            Rung::Button(button) => {
                verdicts[button] = entry.band.verdict.clone();
                set.buttons.push(entry.band);
            }
            Rung::Rest(_) => set.rests.push(entry.band),
        }
    }
    set.verdicts = verdicts;
    set
}

/// A rung that has a place.
struct Placed {
    band: Band,
    slot: Slot,
    /// Whose band it shares.
    shares: Option<Rung>,
    /// A press of its own outside its tolerance interval.
    stray_count: Option<f64>,
}

/// What all rungs have in common.
struct Maker<'a> {
    input: &'a Input<'a>,
    divider: Option<Divider>,
    presses: Vec<Presses>,
    pool: Pool,
    within_count: f64,
    converter_error_count: f64,
    floor: i32,
}

impl<'a> Maker<'a> {
    fn new(input: &'a Input<'a>) -> Self {
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

    fn between(&self) -> BetweenSpread {
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
    fn placed(&self) -> Vec<Placed> {
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
            verdict: Verdict::Unlearned { of: rung },
        };
        let slot = Slot::new(centre, spread.sigma, band.tolerance_low_count, band.tolerance_high_count);
        Placed { band, slot, shares: None, stray_count: None }
    }

    /// Whether gaps may be given out: not while a button of this wire could still lie anywhere.
    fn reach(&self, wire: u8, placed: &[Placed]) -> Reach {
        if !placed.iter().any(|entry| entry.band.rung == Rung::Rest(wire)) {
            return Reach::RestUnknown;
        }
        let unknown = self.input.buttons.iter().enumerate().position(|(index, button)| {
            button.wire.is_none_or(|own| own == wire)
                && !placed.iter().any(|entry| entry.band.rung == Rung::Button(index))
        });
        unknown.map_or(Reach::Widened, Reach::ButtonUnknown)
    }

    /// Shares out one wire's axis, and says how each of its rungs stands.
    fn lay_out(&self, wire: u8, widen: bool, placed: &mut [Placed], gaps: &mut Vec<Gap>) {
        let wear = self.divider.map_or(Wear::Unknown, |divider| divider.wear());
        let row = row_of(wire, placed);
        let slots: Vec<Slot> = row.iter().map(|&index| placed[index].slot).collect();
        let accepted = accept_bands(&slots, Rules { wear, floor: self.floor, widen });
        for (&index, accept) in row.iter().zip(accepted) {
            placed[index].band.accept = accept;
        }
        for pair in row.windows(2) {
            let (lower, upper) = (placed[pair[0]].band.rung, placed[pair[1]].band.rung);
            placed[pair[0]].band.above = Some(upper);
            placed[pair[1]].band.below = Some(lower);
        }
        let filled = row.iter().filter_map(|&index| Some((&placed[index].band, placed[index].band.accept?)));
        for ((lower, below), (upper, above)) in filled.clone().zip(filled.skip(1)) {
            gaps.push(Gap {
                wire,
                lower: lower.rung,
                upper: upper.rung,
                reject_low_count: below.high_count + 1,
                reject_high_count: above.low_count.saturating_sub(1),
            });
        }
        for index in 0..placed.len() {
            if placed[index].band.wire != wire {
                continue;
            }
            self.measure_against(&row, index, placed);
            let verdict = self.verdict(&row, index, placed, gaps);
            placed[index].band.verdict = verdict;
        }
    }

    /// Separation and headroom of one rung against the others in the row.
    fn measure_against(&self, row: &[usize], index: usize, placed: &mut [Placed]) {
        let band = &placed[index].band;
        let (mut separation, mut gap) = (None::<f64>, None::<f64>);
        for other in row.iter().filter(|&&other| other != index).map(|&other| &placed[other].band) {
            let apart = (band.centre_count - other.centre_count).abs();
            let sigmas = apart / band.sigma_count.hypot(other.sigma_count);
            separation = Some(separation.map_or(sigmas, |least| least.min(sigmas)));
            gap = Some(gap.map_or(apart, |least| least.min(apart)));
        }
        let headroom = band.accept.filter(|_| matches!(band.rung, Rung::Button(_))).map(|accept| {
            self.headroom(band.centre_count, accept.low_count.into(), accept.high_count.into())
        });
        let band = &mut placed[index].band;
        band.separation_sigma = separation;
        band.nearest_gap_count = gap;
        band.headroom_count = headroom.map(|(count, _)| count);
        band.headroom_ohm = headroom.and_then(|(_, ohm)| ohm);
    }

    /// Counts and ohms from a centre to the edge that wear moves it towards.
    fn headroom(&self, centre: f64, low: f64, high: f64) -> (f64, Option<f64>) {
        let Some(divider) = self.divider else {
            return ((centre - low).min(high - centre).max(0.0), None);
        };
        let (count, edge, end) = match divider.wear() {
            Wear::Down => (centre - low, low, 0.0),
            Wear::Up | Wear::Unknown => (high - centre, high, TOP_COUNT),
        };
        let ohm = if edge == end { f64::INFINITY } else { divider.ohm(edge) - divider.ohm(centre) };
        // Past the end of the curve both are infinite, and no wear moves the reading.
        (count.max(0.0), Some(if ohm.is_nan() { f64::INFINITY } else { ohm.max(0.0) }))
    }

    fn verdict(&self, row: &[usize], index: usize, placed: &[Placed], gaps: &[Gap]) -> Verdict {
        let entry = &placed[index];
        let band = &entry.band;
        let of = band.rung;
        if let Some(with) = entry.shares {
            return Verdict::Shared { of, with };
        }
        let apart = |other: &Band| (band.centre_count - other.centre_count).abs();
        let others = || row.iter().filter(|&&other| other != index).map(|&other| &placed[other]);
        let touching = others()
            .filter(|other| touches(&entry.slot, &other.slot))
            .min_by(|a, b| apart(&a.band).total_cmp(&apart(&b.band)))
            .map(|other| &other.band);
        let nearest = others().map(|other| &other.band).min_by(|a, b| apart(a).total_cmp(&apart(b)));
        let is_button = matches!(of, Rung::Button(_));
        if is_button && band.measured && band.spread_assumed || band.presses == 1 && is_button {
            return Verdict::MorePresses { of, presses: band.presses };
        }
        if let Some(other) = touching {
            let apart_count = apart(other);
            if !(band.measured && other.measured) {
                return Verdict::PlannedClose { of, other: other.rung, apart_count };
            }
            let noise_count = band.noise_count().max(other.noise_count());
            return Verdict::Indistinct { of, other: other.rung, apart_count, noise_count };
        }
        if !band.measured {
            return Verdict::Planned { of, count: band.centre_count };
        }
        if is_button && band.centre_count >= TOP_COUNT {
            return Verdict::Saturated { of };
        }
        if let Some(press_count) = entry.stray_count {
            return Verdict::Uneven { of, press_count, centre_count: band.centre_count };
        }
        let tightest = gaps
            .iter()
            .filter(|gap| gap.lower == of || gap.upper == of)
            .min_by_key(|gap| gap.reject_count())
            .filter(|gap| i32::from(gap.reject_count()) < self.floor);
        if let Some(gap) = tightest {
            let other = if gap.lower == of { gap.upper } else { gap.lower };
            let apart_count =
                placed.iter().find(|entry| entry.band.rung == other).map_or(0.0, |e| apart(&e.band));
            return Verdict::Close {
                of,
                other,
                apart_count,
                reject_count: gap.reject_count(),
                floor_count: u16::try_from(self.floor).unwrap_or(u16::MAX),
            };
        }
        Verdict::Safe {
            of,
            nearest: nearest.map(|other| (other.rung, apart(other))),
            headroom_ohm: band.headroom_ohm,
            headroom_count: band.headroom_count,
        }
    }

    /// How a button stands that has no place.
    fn verdict_without_place(&self, button: usize) -> Verdict {
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
    fn stretch(&mut self, low: f64, high: f64) {
        self.band.tolerance_low_count = self.band.tolerance_low_count.min(low);
        self.band.tolerance_high_count = self.band.tolerance_high_count.max(high);
        self.slot = Slot::new(
            self.band.centre_count,
            self.band.sigma_count,
            self.band.tolerance_low_count,
            self.band.tolerance_high_count,
        );
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

/// Whether less than a whole count lies free between two intervals.
fn touches(one: &Slot, other: &Slot) -> bool {
    one.room_to(other) < 1 && other.room_to(one) < 1
}

/// The wires that have a button or a rest, in order.
fn wires_of(input: &Input<'_>) -> Vec<u8> {
    let buttons = input.buttons.iter().filter_map(|button| button.wire);
    let mut wires: Vec<u8> = buttons.chain(input.rests.iter().map(|&(wire, _)| wire)).collect();
    wires.sort_unstable();
    wires.dedup();
    wires
}

/// The rungs that share out a wire's axis, by their centres: not those that share a band, nor
/// those planned on top of a measured one, for what was measured is the better known.
fn row_of(wire: u8, placed: &[Placed]) -> Vec<usize> {
    let own = |entry: &Placed| entry.band.wire == wire && entry.shares.is_none();
    let displaced = |entry: &Placed| {
        !entry.band.measured
            && placed
                .iter()
                .any(|other| own(other) && other.band.measured && touches(&entry.slot, &other.slot))
    };
    let mut row: Vec<usize> =
        (0..placed.len()).filter(|&index| own(&placed[index]) && !displaced(&placed[index])).collect();
    row.sort_by(|&a, &b| placed[a].band.centre_count.total_cmp(&placed[b].band.centre_count));
    row
}

/// Gives the buttons that the person took as one with another that other's band, widened to hold
/// both. A mark that the presses contradict, or that leads nowhere, is left aside: the button then
/// has a rung of its own.
fn share_marked(input: &Input<'_>, placed: &mut [Placed]) {
    let find = |placed: &[Placed], button: usize| {
        placed.iter().position(|entry| entry.band.rung == Rung::Button(button) && entry.band.measured)
    };
    for button in 0..input.buttons.len() {
        let Some(root) = root_of(input, button).filter(|&root| root != button) else { continue };
        let (Some(own), Some(other)) = (find(placed, button), find(placed, root)) else { continue };
        let same = placed[own].band.wire == placed[other].band.wire;
        if !same || !touches(&placed[own].slot, &placed[other].slot) {
            continue;
        }
        placed[own].shares = Some(Rung::Button(root));
        let (low, high) = (placed[own].band.tolerance_low_count, placed[own].band.tolerance_high_count);
        placed[other].stretch(low, high);
    }
}

/// Where a chain of marks ends; in a ring of them, its first button.
fn root_of(input: &Input<'_>, button: usize) -> Option<usize> {
    let mut seen = vec![button];
    let mut at = button;
    while let Some(next) = input.buttons.get(at)?.indistinct_from {
        if next >= input.buttons.len() {
            break;
        }
        if let Some(start) = seen.iter().position(|&known| known == next) {
            return seen[start..].iter().copied().min();
        }
        seen.push(next);
        at = next;
    }
    Some(at)
}
