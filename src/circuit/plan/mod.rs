//! Which sense resistor to buy: every value of a series, what each rung would read over it, and the
//! value that keeps the rungs furthest apart. Knows no names, no presses and no bands; how much a
//! reading varies is handed in as numbers.

mod choose;
mod costs;
mod error;
mod value;

pub use choose::{NEAR_BEST, NoChoice, Ruled};
pub use costs::{Costs, MonitorMends, ReferenceInput, costs};
pub use error::PlanError;
pub use value::{PlanPair, PlanReading, PlanValue};

use super::{Circuit, Problem};
use crate::units::Series;

/// One thing that a wire can read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanRung {
    /// Its wire.
    pub wire: u8,
    /// Seen across the wire and its return, contact included, in ohms; infinite for an open rest.
    pub ohm: f64,
    /// Whether it is a wire at rest: no contact is closed, and none wears.
    pub is_rest: bool,
}

/// How much readings vary.
///
/// A rung's noise is the root sum square (law of propagation, NIST TN 1297 section 5) of: the
/// converter's error, taken as limits of a rectangle, `a/√3` (the same, section 4.6); the noise within a
/// press; the contact's spread and the wear of `0` to `wear_ohm`, a rectangle's `wear_ohm/√12`, both
/// moved to counts by the curve's slope at the rung. Rest has no contact, so neither of the last two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanNoise {
    /// The converter's stated error, in counts; 0 or more.
    pub converter_error_count: f64,
    /// Noise within a press, in counts; 0 or more.
    pub within_count: f64,
    /// The contact's spread from press to press, in ohms; 0 or more.
    pub between_ohm: f64,
    /// How many ohms a contact gains as it wears, at most; 0 or more.
    pub wear_ohm: f64,
    /// Standard deviations (of noise within and contact spread) either side of a rung that its band has
    /// to hold: the tolerance factor that bands use; 0 or more.
    pub tolerance_factor: f64,
}

/// What is planned.
#[derive(Clone, Copy, Debug)]
pub struct PlanInput<'a> {
    /// The circuit; its sense resistor is what is tried in turn.
    pub circuit: &'a Circuit,
    /// Every button, and the rest of every wire that has one.
    pub rungs: &'a [PlanRung],
    /// How much readings vary.
    pub noise: PlanNoise,
    /// Which values are sold.
    pub series: Series,
    /// Which ones are in the drawer, in ohms.
    pub drawer_ohm: &'a [f64],
}

/// Every value and the choice among them.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The values of the series, upwards.
    pub values: Vec<PlanValue>,
    /// Which of them to take, or why none.
    pub choice: Result<usize, NoChoice>,
    /// The values of the drawer, upwards.
    pub drawer: Vec<PlanValue>,
    /// Which of those to take; `None` where none will do.
    pub drawer_choice: Option<usize>,
    /// The resistor that the circuit has now.
    pub now: PlanValue,
}

/// The values tried reach from this share of the smallest resistance of the ladder …
const BELOW_SMALLEST: f64 = 1.0 / 30.0;
/// … to this many times the largest.
const ABOVE_LARGEST: f64 = 30.0;
/// No sense resistor below: 5 V would drive half an ampere through it.
const LEAST_OHM: f64 = 10.0;
/// Nor above: a pin's leakage of 1 µA (ATmega328P datasheet 8271H) would move its node by a volt.
const MOST_OHM: f64 = 1e6;

/// Tries every value and chooses one.
///
/// Of the values over which no button saturates and no two rungs are indistinct (see [`Ruled`]), those
/// are as good as the best whose smallest separation in noise units is at least [`NEAR_BEST`] of the
/// best one's, for no noise is known better than that. Of these it is the one with the largest smallest
/// gap in whole counts; of several, the one with the larger separation in noise units; and of such, the
/// largest resistance, which draws the least current.
///
/// # Errors
/// What is missing, or the first number that can't be.
pub fn plan(input: &PlanInput<'_>) -> Result<Plan, PlanError> {
    check(input)?;
    let (low_ohm, high_ohm) = bounds(input.rungs);
    let sold = input.series.within(low_ohm, high_ohm);
    if sold.is_empty() {
        return Err(PlanError::OutOfReach { least_ohm: LEAST_OHM, most_ohm: MOST_OHM, low_ohm });
    }
    let over = |ohm: f64| PlanValue::of(input, ohm);
    let values: Vec<_> = sold.into_iter().map(over).collect();
    let mut in_drawer = input.drawer_ohm.to_vec();
    in_drawer.sort_by(f64::total_cmp);
    in_drawer.dedup();
    let drawer: Vec<_> = in_drawer.into_iter().map(over).collect();
    Ok(Plan {
        choice: choose::choice(&values),
        values,
        drawer_choice: choose::choice(&drawer).ok(),
        drawer,
        now: over(input.circuit.sense_ohm),
    })
}

/// Between which values a series is tried, in ohms.
fn bounds(rungs: &[PlanRung]) -> (f64, f64) {
    let seen = || rungs.iter().map(|rung| rung.ohm).filter(|&ohm| ohm > 0.0 && ohm.is_finite());
    let smallest = seen().fold(f64::INFINITY, f64::min);
    let largest = seen().fold(0.0, f64::max);
    if largest == 0.0 {
        // Shorts and open wires alone: any value does.
        return (LEAST_OHM, MOST_OHM);
    }
    ((smallest * BELOW_SMALLEST).max(LEAST_OHM), (largest * ABOVE_LARGEST).min(MOST_OHM))
}

fn check(input: &PlanInput<'_>) -> Result<(), PlanError> {
    if input.circuit.module.is_some() {
        return Err(PlanError::Module);
    }
    let wrong = input.circuit.check().into_iter().find(Problem::is_error);
    if let Some(problem) = wrong {
        return Err(problem.into());
    }
    if input.rungs.iter().all(|rung| rung.is_rest) {
        return Err(PlanError::NoButtons);
    }
    for (rung, PlanRung { ohm, is_rest, .. }) in input.rungs.iter().enumerate() {
        let open = *is_rest && *ohm == f64::INFINITY;
        if !(*ohm >= 0.0 && (ohm.is_finite() || open)) {
            return Err(PlanError::Resistance { rung, ohm: *ohm });
        }
    }
    let PlanNoise { converter_error_count, within_count, between_ohm, wear_ohm, tolerance_factor } =
        input.noise;
    for (what, value) in [
        ("The converter's error in counts", converter_error_count),
        ("The noise within a press in counts", within_count),
        ("The contact's spread in ohms", between_ohm),
        ("The contact's wear in ohms", wear_ohm),
        ("The tolerance factor", tolerance_factor),
    ] {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(PlanError::Noise { what, value });
        }
    }
    if converter_error_count + within_count <= 0.0 {
        return Err(PlanError::NoNoise);
    }
    if let Some(&ohm) = input.drawer_ohm.iter().find(|ohm| !(**ohm > 0.0 && ohm.is_finite())) {
        return Err(PlanError::Drawer { ohm });
    }
    let apart = |one: &PlanRung, other: &PlanRung| one.wire == other.wire;
    let compared = input.rungs.iter().enumerate();
    if !compared.clone().any(|(at, rung)| input.rungs[at + 1..].iter().any(|other| apart(rung, other))) {
        return Err(PlanError::NothingToCompare);
    }
    Ok(())
}
