//! What the box's output on the stereo's line is built of, and the cable to the stereo. Knows no stereo.

use serde::{Deserialize, Serialize};

use super::{Device, OutputStage};
use crate::wire::REMOTE_LINE;

/// What the box's output on the stereo's line is built of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct OutputParts {
    /// The transistor.
    pub device: Device,
    /// From the pin to its base or gate, in ohms; 1 Ω to 10 MΩ.
    pub base_ohm: f64,
    /// From base or gate to ground, in ohms, 1 Ω to 100 MΩ; `None` where there is none.
    pub base_pulldown_ohm: Option<f64>,
    /// From the collector or drain to the line, in ohms, 0 to 1 MΩ; 0 where there is none.
    pub series_ohm: f64,
    /// From the box to the stereo, in metres of cable, 0 to 100.
    pub cable_m: f64,
    /// What hangs on the line, in farads, 0 to 100 µF, where it was measured; otherwise the cable tells.
    pub line_farad: Option<f64>,
}

/// What a metre of thin screened cable has between core and screen, in farads (common practice, no source:
/// data sheets of such cables give 60 to 150 pF).
pub const CABLE_FARAD_PER_M: f64 = 100e-12;
/// What a stereo's input adds, in farads (common practice, no source): a pin, its filter left out, and the
/// plug.
pub const INPUT_FARAD: f64 = 50e-12;

impl Default for OutputParts {
    /// As the box is wired, [`REMOTE_LINE`], with a metre and a half of cable.
    fn default() -> Self {
        Self {
            device: Device::named(REMOTE_LINE.device).unwrap_or_default(),
            base_ohm: REMOTE_LINE.base_ohm,
            base_pulldown_ohm: Some(REMOTE_LINE.base_pulldown_ohm),
            series_ohm: REMOTE_LINE.series_ohm,
            cable_m: 1.5,
            line_farad: None,
        }
    }
}

/// A value of these parts that can't be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{} {}", self.what(), self.advice())]
pub struct PartsError {
    /// Its place within the parts, in the names of the file.
    pub path: &'static [&'static str],
    /// Which, in words.
    pub what: &'static str,
    /// As given, in [`PartsError::unit`].
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// The least it may be.
    pub least: f64,
    /// The most it may be.
    pub most: f64,
}

impl PartsError {
    /// Refuses a value outside its range, NaN too.
    pub(super) fn unless_within(
        path: &'static [&'static str],
        what: &'static str,
        value: f64,
        unit: &'static str,
        least: f64,
        most: f64,
    ) -> Result<(), Self> {
        if (least..=most).contains(&value) {
            Ok(())
        } else {
            Err(Self { path, what, value, unit, least, most })
        }
    }

    /// What was found, in one sentence.
    #[must_use]
    pub fn what(&self) -> String {
        format!("{} is {} {}.", self.what, self.value, self.unit)
    }

    /// What to do, in one sentence.
    #[must_use]
    pub fn advice(&self) -> String {
        format!("Give {} to {} {}.", self.least, self.most, self.unit)
    }
}

impl OutputParts {
    /// Refuses what can't be.
    ///
    /// # Errors
    /// The first value outside its range.
    pub fn check(&self) -> Result<(), PartsError> {
        let Self { device: _, base_ohm, base_pulldown_ohm, series_ohm, cable_m, line_farad } = self;
        let check = PartsError::unless_within;
        check(&["base_ohm"], "The base resistor", *base_ohm, "Ω", 1.0, 10e6)?;
        if let Some(ohm) = base_pulldown_ohm {
            check(&["base_pulldown_ohm"], "The resistor from base to ground", *ohm, "Ω", 1.0, 100e6)?;
        }
        check(&["series_ohm"], "The resistor between collector and line", *series_ohm, "Ω", 0.0, 1e6)?;
        check(&["cable_m"], "The cable to the stereo", *cable_m, "m", 0.0, 100.0)?;
        if let Some(farad) = line_farad {
            check(&["line_farad"], "The line's capacitance", *farad * 1e9, "nF", 0.0, 100e3)?;
        }
        Ok(())
    }

    /// What hangs on the line, in farads: as measured, or by the cable's length.
    #[must_use]
    pub fn farad(&self) -> f64 {
        self.line_farad.unwrap_or(self.cable_m * CABLE_FARAD_PER_M + INPUT_FARAD)
    }

    /// The stage they make, driven by the box's pin.
    #[must_use]
    pub fn stage(&self) -> OutputStage {
        OutputStage {
            drive_v: REMOTE_LINE.drive_v,
            base_ohm: self.base_ohm,
            base_pulldown_ohm: self.base_pulldown_ohm.unwrap_or(f64::INFINITY),
            series_ohm: self.series_ohm,
            device: self.device,
        }
    }
}
