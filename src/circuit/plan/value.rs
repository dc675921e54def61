//! One value of the sense resistor: what every rung reads over it, how far the rungs stand apart, and
//! what it draws. Knows no other value.

use super::{PlanInput, PlanRung, Ruled};
use crate::circuit::{Circuit, Sense, converter_count};
use crate::units::TOP_COUNT;
use crate::wheel::beside;

/// What one rung reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanReading {
    /// The exact reading, held to the converter's 0 to 1023, in counts.
    pub ideal_count: f64,
    /// As the converter gives it.
    pub count: u16,
    /// One standard deviation of all that moves it, in counts; above 0.
    pub sigma_count: f64,
    /// Half of what its band has to hold at least, in counts: the tolerance factor over the noise within
    /// a press and the contact's spread, or the converter's error where that is more.
    pub reach_count: f64,
    /// Whether the converter's top cuts it off: it then reads as whatever lies above it.
    pub saturates: bool,
}

/// Two rungs of one wire, by their places in the input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanPair {
    /// The one that reads less.
    pub lower: usize,
    /// The one that reads more.
    pub upper: usize,
}

/// One value of the sense resistor.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanValue {
    /// The value, in ohms.
    pub ohm: f64,
    /// What every rung reads, in the input's order.
    pub readings: Vec<PlanReading>,
    /// The smallest distance of two readings on one wire, rest included, in whole counts.
    pub gap_count: u16,
    /// Which two.
    pub gap_pair: PlanPair,
    /// The smallest such distance in noise units: over both rungs' standard deviations together.
    pub separation_sigma: f64,
    /// Which two.
    pub sigma_pair: PlanPair,
    /// Why it can't be taken, where it can't.
    pub ruled: Option<Ruled>,
    /// The lowest and the highest reading, in counts: the part of the converter's range that is used.
    pub range_count: (u16, u16),
    /// The most that the node draws from the feed, in amperes.
    pub feed_amp: f64,
    /// The most that the sense resistor turns into heat, in watts.
    pub sense_watt: f64,
}

impl PlanValue {
    pub(super) fn of(input: &PlanInput<'_>, ohm: f64) -> Self {
        let circuit = Circuit { sense_ohm: ohm, ..input.circuit.clone() };
        let readings: Vec<_> = input.rungs.iter().map(|rung| reading(&circuit, input, rung)).collect();
        let mut gap = (f64::INFINITY, PlanPair { lower: 0, upper: 0 });
        // Squared, and the root taken once at the end.
        let mut separation = gap;
        let mut indistinct = None;
        for (first, one) in readings.iter().enumerate() {
            for (second, other) in readings.iter().enumerate().skip(first + 1) {
                if input.rungs[first].wire != input.rungs[second].wire {
                    continue;
                }
                let turned = other.ideal_count < one.ideal_count;
                let pair = if turned {
                    PlanPair { lower: second, upper: first }
                } else {
                    PlanPair { lower: first, upper: second }
                };
                let apart = f64::from(one.count.abs_diff(other.count));
                if apart < gap.0 {
                    gap = (apart, pair);
                }
                let ideal = one.ideal_count - other.ideal_count;
                let sigmas = ideal * ideal
                    / (one.sigma_count * one.sigma_count + other.sigma_count * other.sigma_count);
                if sigmas < separation.0 {
                    separation = (sigmas, pair);
                }
                if indistinct.is_none() && touches(&readings[pair.lower], &readings[pair.upper]) {
                    indistinct = Some(pair);
                }
            }
        }
        let saturating =
            readings.iter().zip(input.rungs).position(|(reading, rung)| reading.saturates && !rung.is_rest);
        let ruled = saturating.map(Ruled::Saturates).or(indistinct.map(Ruled::Indistinct));
        let counts = || readings.iter().map(|reading| reading.count);
        let range_count = (counts().min().unwrap_or(0), counts().max().unwrap_or(0));
        let (feed_amp, sense_watt) = drawn(&circuit, input.rungs);
        Self {
            ohm,
            gap_count: gap.0.clamp(0.0, TOP_COUNT) as u16,
            gap_pair: gap.1,
            separation_sigma: separation.0.sqrt(),
            sigma_pair: separation.1,
            ruled,
            range_count,
            feed_amp,
            sense_watt,
            readings,
        }
    }
}

fn reading(circuit: &Circuit, input: &PlanInput<'_>, rung: &PlanRung) -> PlanReading {
    let noise = input.noise;
    let ideal = circuit.ideal_count(rung.ohm);
    let held = ideal.clamp(0.0, TOP_COUNT);
    let slope = if rung.is_rest { 0.0 } else { circuit.slope_count_per_ohm(rung.ohm).abs() };
    let contact = slope * noise.between_ohm;
    let wear = slope * noise.wear_ohm / 12_f64.sqrt();
    let error = noise.converter_error_count / 3_f64.sqrt();
    let squares = [error, noise.within_count, contact, wear].map(|part| part * part);
    let spread = noise.within_count.hypot(contact);
    PlanReading {
        ideal_count: held,
        // No number has passed the plan's check that would have no count.
        count: converter_count(ideal).unwrap_or(0),
        sigma_count: squares.iter().sum::<f64>().sqrt(),
        reach_count: (noise.tolerance_factor * spread).max(noise.converter_error_count),
        // With the supply as reference only the last step of the scale is cut off, which is the rail's own.
        saturates: ideal >= TOP_COUNT && circuit.saturates_at_ohm().is_some(),
    }
}

/// Whether less than a whole count lies free between what the bands of two rungs have to hold: then
/// bands can't tell them apart.
fn touches(lower: &PlanReading, upper: &PlanReading) -> bool {
    let high = (f64::from(lower.count) + lower.reach_count).ceil().min(TOP_COUNT);
    let low = (f64::from(upper.count) - upper.reach_count).floor().max(0.0);
    low - high - 1.0 < 1.0
}

/// The most that the node draws, in amperes, and that the sense resistor turns into heat, in watts.
fn drawn(circuit: &Circuit, rungs: &[PlanRung]) -> (f64, f64) {
    let mut most = (0.0_f64, 0.0_f64);
    for rung in rungs {
        let node_v = circuit.node_v(rung.ohm);
        let (amp, across_v) = match circuit.sense {
            Sense::PullUp => ((circuit.feed_v - node_v) / circuit.sense_ohm, circuit.feed_v - node_v),
            Sense::PullDown => {
                let lower_ohm = beside(circuit.sense_ohm, circuit.leak_ohm.unwrap_or(f64::INFINITY));
                (node_v / lower_ohm, node_v)
            }
        };
        most = (most.0.max(amp), most.1.max(across_v * across_v / circuit.sense_ohm));
    }
    most
}
