//! What the box is fed through, from the vehicle's supply to its 5 V. Knows no stereo.

use serde::{Deserialize, Serialize};

use super::PartsError;
use super::supply::{Gauge, Regulator, ReverseGuard, Tap};

/// What the box is fed through, from the vehicle's supply to its 5 V.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SupplyParts {
    /// Where it is tapped.
    pub tap: Tap,
    /// The fuse at the source, in amperes, 0.1 to 30; `None` where there is none.
    pub fuse_amp: Option<f64>,
    /// The wire from the source to the box.
    pub wire: Gauge,
    /// Its length, one way, in metres, 0 to 50.
    pub wire_m: f64,
    /// What stands against a battery joined the wrong way round.
    pub reverse: ReverseGuard,
    /// What holds pulses off, where there is something.
    pub suppressor: Option<Suppressor>,
    /// Whether the vehicle's alternator clamps its own load dump: newer ones do.
    pub dump_clamped: bool,
    /// Which kind of regulator makes the 5 V.
    pub regulator: Regulator,
    /// The linear one.
    pub linear: RegulatorParts,
    /// The buck converter.
    pub buck: RegulatorParts,
    /// What the buck converter gives of what it takes, as a share, 0.3 to 1.
    pub efficiency: f64,
    /// What the box draws from its 5 V, in amperes, 1 mA to 5 A.
    pub load_amp: f64,
}

/// A suppressor diode.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Suppressor {
    /// Up to here it doesn't conduct, in volts, 5 to 200.
    pub standoff_v: f64,
    /// At its largest pulse current no more than this stands across it, in volts, 5 to 400.
    pub clamp_v: f64,
}

/// What counts of a regulator.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RegulatorParts {
    /// From input to output at least, in volts, 0 to 10.
    pub dropout_v: f64,
    /// What it draws for itself, in amperes, 0 to 0.1.
    pub quiescent_amp: f64,
    /// From its junction to the air, in K/W, 1 to 500.
    pub k_per_w: f64,
    /// The hottest its junction may be, in °C, 50 to 200.
    pub junction_max_c: f64,
    /// The most its input bears, in volts, 5 to 200.
    pub input_max_v: f64,
}

/// A usual linear regulator of 1 A in a TO-220 without a heat sink: 2 V, 8 mA at most, 65 K/W, 125 °C, 35 V
/// (data sheet of the 7805, from memory).
pub const USUAL_LINEAR: RegulatorParts = RegulatorParts {
    dropout_v: 2.0,
    quiescent_amp: 0.008,
    k_per_w: 65.0,
    junction_max_c: 125.0,
    input_max_v: 35.0,
};

/// A usual buck converter for vehicles, 60 V at its input (common practice, no source; FACTS F asks for 40 V,
/// better 60 V).
pub const USUAL_BUCK: RegulatorParts = RegulatorParts {
    dropout_v: 0.8,
    quiescent_amp: 0.000_5,
    k_per_w: 60.0,
    junction_max_c: 125.0,
    input_max_v: 60.0,
};

/// A regulator's values in the file, in the order of [`RegulatorParts`].
type RegulatorPaths = [&'static [&'static str]; 5];

const LINEAR_PATHS: RegulatorPaths = [
    &["linear", "dropout_v"],
    &["linear", "quiescent_amp"],
    &["linear", "k_per_w"],
    &["linear", "junction_max_c"],
    &["linear", "input_max_v"],
];
const BUCK_PATHS: RegulatorPaths = [
    &["buck", "dropout_v"],
    &["buck", "quiescent_amp"],
    &["buck", "k_per_w"],
    &["buck", "junction_max_c"],
    &["buck", "input_max_v"],
];

impl RegulatorParts {
    fn check(
        &self,
        [dropout, quiescent, thermal, junction, input]: RegulatorPaths,
    ) -> Result<(), PartsError> {
        let Self { dropout_v, quiescent_amp, k_per_w, junction_max_c, input_max_v } = *self;
        let check = PartsError::unless_within;
        check(dropout, "The regulator's drop-out", dropout_v, "V", 0.0, 10.0)?;
        check(quiescent, "The regulator's own current", quiescent_amp * 1e3, "mA", 0.0, 100.0)?;
        check(thermal, "The regulator's thermal resistance", k_per_w, "K/W", 1.0, 500.0)?;
        check(junction, "The regulator's hottest junction", junction_max_c, "°C", 50.0, 200.0)?;
        check(input, "The regulator's highest input", input_max_v, "V", 5.0, 200.0)
    }
}

impl Default for RegulatorParts {
    /// The buck converter: for a file that leaves some of it out.
    fn default() -> Self {
        USUAL_BUCK
    }
}

impl Default for Suppressor {
    /// SMBJ33CA (named in TI's document on the LM74910-Q1, FACTS F): 33 V, and 53.3 V at 11.3 A from memory of
    /// its data sheet.
    fn default() -> Self {
        Self { standoff_v: 33.0, clamp_v: 53.3 }
    }
}

impl Default for SupplyParts {
    /// The chain of FACTS F (common practice): accessory supply, half an ampere at the source, 22 AWG,
    /// Schottky diode, suppressor, buck converter; two metres of wire; 45 mA, between the 30 and 60 mA of
    /// such a box.
    fn default() -> Self {
        Self {
            tap: Tap::Accessory,
            fuse_amp: Some(0.5),
            wire: Gauge(22),
            wire_m: 2.0,
            reverse: ReverseGuard::Schottky,
            suppressor: Some(Suppressor::default()),
            dump_clamped: true,
            regulator: Regulator::Buck,
            linear: USUAL_LINEAR,
            buck: USUAL_BUCK,
            efficiency: 0.85,
            load_amp: 0.045,
        }
    }
}

impl SupplyParts {
    /// The regulator that is used.
    #[must_use]
    pub const fn chosen(&self) -> &RegulatorParts {
        match self.regulator {
            Regulator::Linear => &self.linear,
            Regulator::Buck => &self.buck,
        }
    }

    /// The same, to be changed.
    pub const fn chosen_mut(&mut self) -> &mut RegulatorParts {
        match self.regulator {
            Regulator::Linear => &mut self.linear,
            Regulator::Buck => &mut self.buck,
        }
    }

    /// Refuses what can't be.
    ///
    /// # Errors
    /// The first value outside its range.
    pub fn check(&self) -> Result<(), PartsError> {
        let check = PartsError::unless_within;
        if let Some(amp) = self.fuse_amp {
            check(&["fuse_amp"], "The fuse", amp, "A", 0.1, 30.0)?;
        }
        let (thinnest, thickest) = (Gauge::THINNEST.0, Gauge::THICKEST.0);
        check(
            &["wire"],
            "The wire's gauge",
            f64::from(self.wire.0),
            "AWG",
            f64::from(thickest),
            f64::from(thinnest),
        )?;
        check(&["wire_m"], "The wire's length", self.wire_m, "m", 0.0, 50.0)?;
        if let Some(Suppressor { standoff_v, clamp_v }) = self.suppressor {
            check(&["suppressor", "standoff_v"], "The suppressor's stand-off", standoff_v, "V", 5.0, 200.0)?;
            check(&["suppressor", "clamp_v"], "The suppressor's clamping voltage", clamp_v, "V", 5.0, 400.0)?;
        }
        self.linear.check(LINEAR_PATHS)?;
        self.buck.check(BUCK_PATHS)?;
        check(&["efficiency"], "The converter's efficiency", self.efficiency * 100.0, "%", 30.0, 100.0)?;
        check(&["load_amp"], "The box's current", self.load_amp * 1e3, "mA", 1.0, 5e3)
    }
}
