//! What a style of sensing and a reference cost: the range they use, what a moving feed does, how far
//! the reference pin's own resistance is known, and what a feed monitor mends. Knows no names.

use super::PlanRung;
use crate::circuit::{Circuit, REFERENCE_INPUT_OHM, Reference, external_reference_v};
use crate::units::TOP_COUNT;

/// What a circuit costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// Where the converter's top cuts readings off, in ohms seen; `None` where it doesn't.
    pub saturates_at_ohm: Option<f64>,
    /// Which buttons it cuts off, by their places in the input.
    pub saturating: Vec<usize>,
    /// The lowest and the highest reading, in counts.
    pub range_count: (f64, f64),
    /// How many counts 1 % more feed moves each rung; 0 where a reading is a ratio.
    pub feed_percent_count: Vec<f64>,
    /// The rung it moves most, and by how many counts; `None` without rungs.
    pub worst_feed: Option<(usize, f64)>,
    /// What the pin's own resistance leaves open, where the reference comes from outside through a
    /// resistor and wasn't measured at the pin.
    pub reference_input: Option<ReferenceInput>,
    /// What a feed monitor does here.
    pub monitor: MonitorMends,
}

/// What the reference pin's own resistance does to a reference behind a resistor. Its datasheet prints a
/// typical 32 kΩ and no limits (ATmega328P datasheet 8161D, table 28-7), so these are two examples, not
/// bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReferenceInput {
    /// With the typical resistance, in volts.
    pub typical_v: f64,
    /// With 22 kΩ and with 42 kΩ, in volts.
    pub example_v: (f64, f64),
    /// The rung that these examples move most, and by how many counts at most; `None` without rungs.
    pub worst: Option<(usize, f64)>,
}

/// Two other resistances that a reference pin might have, in ohms: 10 kΩ less and more than the typical
/// value, for want of printed limits (common practice, no source).
const REFERENCE_INPUT_EXAMPLES_OHM: (f64, f64) = (22e3, 42e3);

/// What a feed monitor does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MonitorMends {
    /// A reading is a ratio already: there is nothing to mend.
    Nothing,
    /// None is fitted, and the readings move with the feed and with the reference.
    Missing,
    /// It takes both the feed and the reference out of every reading, for it is read against the same
    /// reference. It can't give back what saturates.
    FeedAndReference,
    /// A factory module's own feed can't be reached from the wire: a monitor would watch another one.
    ModuleFeed,
}

/// What this circuit costs with these rungs.
#[must_use]
pub fn costs(circuit: &Circuit, rungs: &[PlanRung]) -> Costs {
    let held = |count: f64| count.clamp(0.0, TOP_COUNT);
    let ideal: Vec<f64> = rungs.iter().map(|rung| circuit.ideal_count(rung.ohm)).collect();
    let ratio = circuit.is_ratiometric();
    let feed_percent_count: Vec<f64> =
        ideal.iter().map(|&count| if ratio { 0.0 } else { held(1.01 * count) - held(count) }).collect();
    let saturates_at_ohm = circuit.saturates_at_ohm();
    let cut_off = |index: &usize| !rungs[*index].is_rest && ideal[*index] >= TOP_COUNT;
    let saturating =
        if saturates_at_ohm.is_some() { (0..rungs.len()).filter(cut_off).collect() } else { Vec::new() };
    Costs {
        saturates_at_ohm,
        saturating,
        range_count: (
            ideal.iter().copied().map(held).fold(TOP_COUNT, f64::min),
            ideal.iter().copied().map(held).fold(0.0, f64::max),
        ),
        worst_feed: most(feed_percent_count.iter().copied()),
        feed_percent_count,
        reference_input: reference_input(circuit, &ideal),
        monitor: match (ratio, circuit.module, circuit.feed_monitor) {
            (true, ..) => MonitorMends::Nothing,
            (_, Some(_), _) => MonitorMends::ModuleFeed,
            (_, _, None) => MonitorMends::Missing,
            (_, _, Some(_)) => MonitorMends::FeedAndReference,
        },
    }
}

fn reference_input(circuit: &Circuit, ideal: &[f64]) -> Option<ReferenceInput> {
    let Reference::External { volt, series_ohm, pin_v: None } = circuit.reference else { return None };
    if series_ohm <= 0.0 {
        return None;
    }
    let typical_v = external_reference_v(volt, series_ohm, REFERENCE_INPUT_OHM);
    let (low, high) = REFERENCE_INPUT_EXAMPLES_OHM;
    let example_v =
        (external_reference_v(volt, series_ohm, low), external_reference_v(volt, series_ohm, high));
    let held = |count: f64| count.clamp(0.0, TOP_COUNT);
    let moved = |count: f64| {
        let to = |volt: f64| (held(count * typical_v / volt) - held(count)).abs();
        to(example_v.0).max(to(example_v.1))
    };
    Some(ReferenceInput { typical_v, example_v, worst: most(ideal.iter().map(|&count| moved(count))) })
}

/// The largest and its place.
fn most(values: impl Iterator<Item = f64>) -> Option<(usize, f64)> {
    values.enumerate().max_by(|one, other| one.1.total_cmp(&other.1))
}
