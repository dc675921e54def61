//! The sense circuit: what divides the ladder's resistance into volts, and what the converter
//! makes of them; and the stereo's remote input, with what the box's output does to it. Knows no
//! buttons by name and no readings.

mod drift;
mod filter;
mod hookup;
mod jack;
mod output;
mod output_parts;
mod parts;
mod plan;
mod problem;
mod settling;
mod source;
mod supply;
mod supply_parts;
mod together;
pub mod tolerance;

use serde::{Deserialize, Serialize};

use crate::units::{SCALE_COUNT, TOP_COUNT};
use crate::wheel::beside;

pub use drift::{
    Drift, LEARNED_AT_C, REFERENCE_PER_K, Shift, Stress, TRACKING_PER_K, drift, is_ratio, reference_per_k,
    seen_ohm, stressed_count,
};
pub use filter::{Filter, FilterReport, HOLD_S, PIN_AMP, SETTLE_SHARE, SHORT_V};
pub use hookup::{EndReturn, Hookup, HookupError, NodePoint};
pub use jack::{
    Jack, JackContact, JackMissing, JackReport, JackStep, JackVerdict, JackWants, JackWarning, LOAD_OHM,
};
pub use output::{
    Bipolar, Device, DeviceModel, DeviceRow, Edges, FORCED_BETA, Junction, MOST_STRETCH, Mosfet, OutputStage,
    Promise, Pull, StageLine, StagePoint, StageReport, StageWarning, THRESHOLD_SHARE, mark_text,
};
pub use output_parts::{CABLE_FARAD_PER_M, INPUT_FARAD, OutputParts, PartsError};
pub use parts::{MOST_IN_DRAWER, Parts, WrongPart};
pub use plan::{
    Costs, MonitorMends, NEAR_BEST, NoChoice, Plan, PlanError, PlanInput, PlanNoise, PlanPair, PlanReading,
    PlanRung, PlanValue, ReferenceInput, Ruled, costs, plan,
};
pub use problem::{HIGHEST_FEED_V, HIGHEST_IDLE_V, LEAST_REFERENCE_V, Problem};
pub use settling::{settle_s, settle_time_constants};
pub use source::Source;
pub use supply::{
    BOX_V, BROWN_OUT_V, BoxDoes, CRANKING, Crank, CrankProfile, Gauge, Heat, HeatAt, Regulator, ReverseGuard,
    SUPPLY_VOLTS, SupplyReport, SupplyWarning, Tap, buck_heat_w, days_to_half, junction_c, linear_heat_w,
    rated_heat_w,
};
pub use supply_parts::{RegulatorParts, SupplyParts, Suppressor, USUAL_BUCK, USUAL_LINEAR};
pub use together::{PairDoubt, PairReach, TwoPressed, own_ohm};

/// Which way the ladder and the sense resistor stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// The ladder hangs from the feed; the sense resistor goes to ground.
    PullDown,
    /// The sense resistor goes to the feed; the ladder goes to ground.
    #[default]
    PullUp,
}

/// What the converter measures against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Reference {
    /// The supply that also feeds the ladder: a reading is a ratio, whatever the supply.
    #[default]
    Supply,
    /// The chip's own reference, in volts (1.0 to 1.2 for an ATmega328P).
    Internal {
        /// Volts.
        volt: f64,
    },
    /// A reference from outside through a resistor into the chip's reference input.
    External {
        /// Volts before the resistor.
        volt: f64,
        /// The resistor, in ohms; 0 where there is none.
        series_ohm: f64,
        /// Volts at the pin itself, where a meter said so: what is measured wins over what is computed,
        /// because the pin's own resistance has a typical value only.
        #[serde(default)]
        pin_v: Option<f64>,
    },
}

/// The sense circuit of one wheel; the same for each of its wires.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Circuit {
    /// Which way round.
    pub sense: Sense,
    /// The sense resistor, in ohms; above 0.
    pub sense_ohm: f64,
    /// What feeds the ladder, in volts; above 0.
    pub feed_v: f64,
    /// What the converter measures against.
    pub reference: Reference,
    /// What contact and slip ring add in use to what the meter showed of a pressed button, in ohms; 0 or
    /// more. It stands in series with each button, and not with a wire at rest.
    ///
    /// A meter across the wire and its return, button pressed, has that press's contact and slip ring in
    /// its reading already: then this is 0. It is given where the readings hold none of it, because they
    /// are a drawing's or were taken at the switch itself. [`Circuit::pressed_ohm`] is where the two meet;
    /// what was learned holds it, as any reading in use does.
    pub contact_ohm: f64,
    /// A path from the sense node to ground that should not be there, in ohms.
    pub leak_ohm: Option<f64>,
    /// The divider through which the box watches the feed, where one is fitted.
    #[serde(default)]
    pub feed_monitor: Option<FeedMonitor>,
    /// What stands between the sense node and the converter.
    #[serde(default)]
    pub filter: Filter,
    /// A factory module that keeps its own pull-up on the wire; the box then adds none.
    #[serde(default)]
    pub module: Option<Module>,
}

/// A factory module that stays on the wire and pulls it up itself. Seen from the wire it is a voltage
/// behind a resistance (Thevenin): with one, [`Circuit::feed_v`] is its idle voltage without the
/// ladder, [`Circuit::sense_ohm`] its resistance, and the box's own supply stands here.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Module {
    /// The box's supply, in volts: what [`Reference::Supply`] measures against.
    pub supply_v: f64,
}

/// The divider through which the box watches the feed. Only where the reference isn't the supply; a
/// factory module's feed can't be reached from the wire ([`Problem::ModuleMonitor`]).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedMonitor {
    /// From the feed to the box's pin, in ohms; above 0.
    pub upper_ohm: f64,
    /// From the pin to ground, in ohms; above 0.
    pub lower_ohm: f64,
}

impl FeedMonitor {
    /// What the pin stands at for a feed, in volts.
    #[must_use]
    pub fn pin_v(&self, feed_v: f64) -> f64 {
        feed_v * self.lower_ohm / (self.upper_ohm + self.lower_ohm)
    }
}

/// Which way contact wear moves a reading: more resistance in series with the button.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WearMoves {
    /// Towards 0: the ladder is the upper leg.
    Lower,
    /// Towards full scale: the ladder is the lower leg.
    Higher,
}

impl Circuit {
    /// How a circuit begins: 1 kΩ to the supply, which is the reference, too, so that laptop and vehicle
    /// power read alike; the ladder to ground works whether the vehicle grounds its return or not.
    #[must_use]
    pub fn recommended() -> Self {
        Self {
            sense: Sense::PullUp,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 0.0,
            leak_ohm: None,
            feed_monitor: None,
            filter: Filter::default(),
            module: None,
        }
    }

    /// What the converter's full scale stands for, in volts.
    ///
    /// The external reference sees the chip's own reference input resistance; see
    /// [`external_reference_v`].
    #[must_use]
    pub fn reference_v(&self) -> f64 {
        match self.reference {
            Reference::Supply => self.module.map_or(self.feed_v, |module| module.supply_v),
            Reference::Internal { volt } => volt,
            Reference::External { volt, series_ohm, pin_v } => {
                pin_v.unwrap_or_else(|| external_reference_v(volt, series_ohm, REFERENCE_INPUT_OHM))
            }
        }
    }

    /// Whether a reading is a ratio, whatever the feed: the supply is the reference and feeds the
    /// ladder, too.
    #[must_use]
    pub fn is_ratiometric(&self) -> bool {
        self.reference == Reference::Supply && self.module.is_none()
    }

    /// What a wire shows in use while a button is pressed alone, in ohms, from what the meter showed of
    /// it: [`Circuit::contact_ohm`] on top. Everything that goes from the meter to a reading goes through
    /// here; what can't be (below 0, or no number) is handed on as it is.
    #[must_use]
    pub fn pressed_ohm(&self, meter_ohm: f64) -> f64 {
        meter_ohm + self.contact_ohm
    }

    /// The count as the converter gives it for a button that the meter showed so many ohms of; `None`
    /// where that is no resistance, or the circuit is no number.
    #[must_use]
    pub fn pressed_count(&self, meter_ohm: f64) -> Option<u16> {
        let ohm = self.pressed_ohm(meter_ohm);
        let is_sound = meter_ohm >= 0.0 && ohm.is_finite();
        self.count(ohm).filter(|_| is_sound)
    }

    /// Whether a reading goes with two supplies that nothing ties together: a factory module feeds the
    /// ladder, and the box measures against its own.
    #[must_use]
    pub fn has_two_supplies(&self) -> bool {
        self.reference == Reference::Supply && self.module.is_some()
    }

    /// The sense node's share of the feed, 0 to 1, for a resistance seen across the wire and its
    /// return (contact included): infinite for an open wire, below 0 taken as 0.
    #[must_use]
    pub fn node_share(&self, ohm: f64) -> f64 {
        let ohm = if ohm < 0.0 { 0.0 } else { ohm };
        let leak_ohm = self.leak_ohm.unwrap_or(f64::INFINITY);
        // Written in resistances, not conductances, so that a ratio of whole ohms stays exact and
        // a reading on a whole count does not fall to the one below.
        match self.sense {
            Sense::PullDown => {
                let lower_ohm = beside(self.sense_ohm, leak_ohm);
                lower_ohm / (lower_ohm + ohm)
            }
            Sense::PullUp => {
                let lower_ohm = beside(ohm, leak_ohm);
                if lower_ohm == f64::INFINITY { 1.0 } else { lower_ohm / (lower_ohm + self.sense_ohm) }
            }
        }
    }

    /// The sense node's voltage for a resistance seen across the wire and its return (contact
    /// included), infinite for an open wire.
    #[must_use]
    pub fn node_v(&self, ohm: f64) -> f64 {
        self.feed_v * self.node_share(ohm)
    }

    /// What the feed monitor reads at the nominal feed, in counts, 0 to 1023; `None` where none is
    /// fitted.
    #[must_use]
    pub fn monitor_count(&self) -> Option<f64> {
        let monitor = self.feed_monitor?;
        let count = SCALE_COUNT * monitor.pin_v(self.feed_v) / self.reference_v();
        count.is_finite().then(|| count.clamp(0.0, TOP_COUNT))
    }

    /// The exact count for a resistance seen, before the converter cuts it off at its top and
    /// drops the fraction: `1024 · V / V_ref`. With the supply as reference it does not depend on
    /// the feed.
    #[must_use]
    pub fn ideal_count(&self, ohm: f64) -> f64 {
        self.full_count() * self.node_share(ohm)
    }

    /// The count as the converter gives it for a resistance seen, 0 to 1023; `None` where the
    /// resistance or the circuit is no number.
    #[must_use]
    pub fn count(&self, ohm: f64) -> Option<u16> {
        converter_count(self.ideal_count(ohm))
    }

    /// The resistance seen, in ohms, at a count: the inverse of [`Circuit::ideal_count`]. `None`
    /// at or beyond the ends, where a reading is no longer one resistance: a count of 0 or less,
    /// of 1023 or more (everything above reads the same), or what only a short or an open wire
    /// could give.
    #[must_use]
    pub fn ohm_from_count(&self, count: f64) -> Option<f64> {
        if !(count > 0.0 && count < TOP_COUNT) {
            return None;
        }
        let share = count / self.full_count();
        let leak_ohm = self.leak_ohm.unwrap_or(f64::INFINITY);
        let ohm = match self.sense {
            Sense::PullDown => beside(self.sense_ohm, leak_ohm) * (1.0 - share) / share,
            Sense::PullUp => {
                let lower_ohm = self.sense_ohm * share / (1.0 - share);
                if lower_ohm < leak_ohm { lower_ohm / (1.0 - lower_ohm / leak_ohm) } else { return None }
            }
        };
        (share < 1.0 && ohm > 0.0 && ohm.is_finite()).then_some(ohm)
    }

    /// How far the ideal count moves per ohm more, at a resistance seen: below 0 with a
    /// pull-down, above 0 with a pull-up. An open wire has slope 0.
    #[must_use]
    pub fn slope_count_per_ohm(&self, ohm: f64) -> f64 {
        let ohm = if ohm < 0.0 { 0.0 } else { ohm };
        let leak_ohm = self.leak_ohm.unwrap_or(f64::INFINITY);
        match self.sense {
            Sense::PullDown => {
                let lower_ohm = beside(self.sense_ohm, leak_ohm);
                -self.full_count() * (lower_ohm / (lower_ohm + ohm)) / (lower_ohm + ohm)
            }
            Sense::PullUp => {
                // d(R ∥ k)/dR = (k / (R + k))², and the share's slope is Rs / (lower + Rs)².
                let shunt = if leak_ohm == f64::INFINITY { 1.0 } else { 1.0 / (1.0 + ohm / leak_ohm) };
                let whole_ohm = beside(ohm, leak_ohm) + self.sense_ohm;
                self.full_count() * shunt * shunt * (self.sense_ohm / whole_ohm) / whole_ohm
            }
        }
    }

    /// Which way a worn contact moves the reading.
    #[must_use]
    pub fn wear_moves(&self) -> WearMoves {
        match self.sense {
            Sense::PullDown => WearMoves::Lower,
            Sense::PullUp => WearMoves::Higher,
        }
    }

    /// Where the ideal count reaches the converter's top of 1023, in ohms seen: with a pull-down
    /// every resistance at or below it reads 1023, with a pull-up every one at or above it. `None`
    /// where no resistance does. With the supply as reference only the last 1/1024 of the scale
    /// does, which is not told apart from the rail itself.
    #[must_use]
    pub fn saturates_at_ohm(&self) -> Option<f64> {
        let share = TOP_COUNT / self.full_count();
        let leak_ohm = self.leak_ohm.unwrap_or(f64::INFINITY);
        if share.is_nan() || share >= TOP_COUNT / SCALE_COUNT {
            return None;
        }
        match self.sense {
            Sense::PullDown => Some(beside(self.sense_ohm, leak_ohm) * (1.0 - share) / share),
            Sense::PullUp => {
                let lower_ohm = self.sense_ohm * share / (1.0 - share);
                (lower_ohm < leak_ohm).then(|| lower_ohm / (1.0 - lower_ohm / leak_ohm))
            }
        }
    }

    /// The sense node at this resistance seen, as a source: its open voltage and the resistance
    /// the converter sees behind it. It bounds the settling time ([`settle_s`]).
    #[must_use]
    pub fn source(&self, ohm: f64) -> Source {
        let leak_ohm = self.leak_ohm.unwrap_or(f64::INFINITY);
        let ladder_ohm = if ohm < 0.0 { 0.0 } else { ohm };
        Source { volt: self.node_v(ohm), ohm: beside(beside(self.sense_ohm, leak_ohm), ladder_ohm) }
    }

    /// Count that the feed itself would have, converter's top or not.
    pub(in crate::circuit) fn full_count(&self) -> f64 {
        SCALE_COUNT * (self.feed_v / self.reference_v())
    }
}

/// The count as a 10-bit converter gives it: the fraction dropped, held to 0 to 1023; `None` for
/// what is no number (ATmega328P datasheet, ADC Conversion Result: 0x3FF is the reference less
/// one step).
#[must_use]
pub fn converter_count(ideal_count: f64) -> Option<u16> {
    if ideal_count.is_nan() {
        return None;
    }
    // The cast is safe: the value is whole and within 0 to 1023.
    Some((ideal_count + ROUNDING_COUNT).floor().clamp(0.0, TOP_COUNT) as u16)
}

/// A reference from outside through a resistor, into a reference input of `input_ohm` to ground,
/// in volts: a plain divider (public note on the ATmega328P's AREF pin: 2.5 V through 5 kΩ is
/// 2.16 V).
#[must_use]
pub fn external_reference_v(volt: f64, series_ohm: f64, input_ohm: f64) -> f64 {
    volt * input_ohm / (input_ohm + series_ohm)
}

/// Resistance of an ATmega328P's reference input, typical: datasheet 8161D, table 28-7. No limits
/// are printed, so a reference computed from it is a starting point, and the pin is measured.
pub const REFERENCE_INPUT_OHM: f64 = 32_000.0;

/// What the arithmetic of a count may lose: a count this close below a whole one is that one.
const ROUNDING_COUNT: f64 = 1e-9;

#[cfg(test)]
mod tests;
