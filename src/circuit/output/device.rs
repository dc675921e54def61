//! The transistors that pull a stereo's line low: a table, a row each, with what its datasheet promises
//! and the values its behaviour is solved with. Knows no circuit around them.

use serde::{Deserialize, Serialize};

use super::bipolar::{Bipolar, Junction};
use super::mosfet::Mosfet;
use super::slope::Slope;

/// A transistor of the table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Device {
    /// 2N3904, a small bipolar one.
    #[default]
    Npn3904,
    /// 2N2222A, a bipolar one for more current.
    Npn2222A,
    /// BSS138, a MOSFET that 5 V switch on fully.
    Bss138,
}

/// A row of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeviceRow {
    /// What is printed on it.
    pub name: &'static str,
    /// Collector to emitter, or drain to source, at most, in volts.
    pub rated_v: f64,
    /// The steady current it bears, in amperes.
    pub rated_a: f64,
    /// The heat it bears at 25 °C, in watts.
    pub rated_w: f64,
    /// What its datasheet promises while it is on.
    pub promise: Promise,
    /// The values it is solved with: a typical one.
    pub model: DeviceModel,
}

/// What a datasheet promises of a transistor that is switched on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Promise {
    /// `VCE(sat)` at most: up to a collector current in amperes, so many volts; with a tenth of that
    /// current into the base.
    Saturation([(f64, f64); 2]),
    /// `RDS(on)` at most, in ohms, from so many volts between gate and source.
    Resistance {
        /// In ohms.
        ohm: f64,
        /// Gate to source, in volts.
        gate_v: f64,
    },
}

/// The values a transistor is solved with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DeviceModel {
    /// A bipolar one.
    Bipolar(Bipolar),
    /// A MOSFET.
    Mosfet(Mosfet),
}

/// What flows into a device's control electrode and collector, and what is stored there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow {
    /// In amperes.
    pub(super) control_a: Slope,
    /// In amperes.
    pub(super) collector_a: Slope,
    /// In coulombs.
    pub(super) control_q: Slope,
    /// In coulombs.
    pub(super) collector_q: Slope,
}

/// 2N3904 datasheet (FACTS E): VCEO 40 V, IC 200 mA, VCE(sat) at most 0.2 V at 10 mA with 1 mA and 0.3 V at
/// 50 mA with 5 mA; 0.625 W from memory of it. Model: the public one its maker printed in the datasheet.
const NPN_3904: DeviceRow = DeviceRow {
    name: "2N3904",
    rated_v: 40.0,
    rated_a: 0.2,
    rated_w: 0.625,
    promise: Promise::Saturation([(10e-3, 0.2), (50e-3, 0.3)]),
    model: DeviceModel::Bipolar(Bipolar {
        saturation_a: 6.734e-15,
        forward_beta: 416.4,
        reverse_beta: 0.7371,
        early_v: 74.03,
        knee_a: 66.78e-3,
        leakage_a: 6.734e-15,
        leakage_emission: 1.259,
        base_ohm: 10.0,
        collector_ohm: 1.0,
        emitter_junction: Junction { farad: 4.493e-12, volt: 0.75, grading: 0.2593 },
        collector_junction: Junction { farad: 3.638e-12, volt: 0.75, grading: 0.3085 },
        forward_s: 301.2e-12,
        forward_growth: (2.0, 4.0, 0.4),
        reverse_s: 239.5e-9,
    }),
};

/// 2N2222A datasheet (FACTS E): VCEO 40 V, VCE(sat) at most 0.3 V at 150 mA with 15 mA; IC 600 mA and 0.5 W
/// from memory of it. Model: the public one its maker printed.
const NPN_2222A: DeviceRow = DeviceRow {
    name: "2N2222A",
    rated_v: 40.0,
    rated_a: 0.6,
    rated_w: 0.5,
    promise: Promise::Saturation([(150e-3, 0.3), (150e-3, 0.3)]),
    model: DeviceModel::Bipolar(Bipolar {
        saturation_a: 14.34e-15,
        forward_beta: 255.9,
        reverse_beta: 6.092,
        early_v: 74.03,
        knee_a: 0.2847,
        leakage_a: 14.34e-15,
        leakage_emission: 1.307,
        base_ohm: 10.0,
        collector_ohm: 1.0,
        emitter_junction: Junction { farad: 22.01e-12, volt: 0.75, grading: 0.377 },
        collector_junction: Junction { farad: 7.306e-12, volt: 0.75, grading: 0.3416 },
        forward_s: 411.1e-12,
        forward_growth: (3.0, 1.7, 0.6),
        reverse_s: 46.91e-9,
    }),
};

/// BSS138 datasheet (FACTS E): 50 V, 0.22 A, RDS(on) at most 6 Ω with 4.5 V at the gate, VGS(th) 0.8 to 1.5 V;
/// typical 1.3 V and 1 Ω with 4.5 V, Ciss 27 pF, Coss 13 pF, Crss 6 pF and 0.36 W from memory of it. The
/// factor follows: 1 / (1 Ω · (4.5 − 1.3) V).
const BSS138: DeviceRow = DeviceRow {
    name: "BSS138",
    rated_v: 50.0,
    rated_a: 0.22,
    rated_w: 0.36,
    promise: Promise::Resistance { ohm: 6.0, gate_v: 4.5 },
    model: DeviceModel::Mosfet(Mosfet {
        threshold_v: 1.3,
        factor: 0.3125,
        gate_source_farad: 21e-12,
        gate_drain_farad: 6e-12,
        drain_source_farad: 7e-12,
    }),
};

impl Device {
    /// All of them, in the table's order.
    pub const ALL: [Self; 3] = [Self::Npn3904, Self::Npn2222A, Self::Bss138];

    /// Its row.
    #[must_use]
    pub const fn row(self) -> &'static DeviceRow {
        match self {
            Self::Npn3904 => &NPN_3904,
            Self::Npn2222A => &NPN_2222A,
            Self::Bss138 => &BSS138,
        }
    }

    /// What is printed on it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row().name
    }

    /// The one with this name printed on it.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|device| device.name() == name)
    }

    /// Whether it is a MOSFET, whose control electrode is a gate.
    #[must_use]
    pub const fn is_mosfet(self) -> bool {
        matches!(self.row().model, DeviceModel::Mosfet(_))
    }
}

impl Promise {
    /// What stands across it at most with so many amperes while it is on fully, in volts.
    #[must_use]
    pub fn most_v(self, collector_a: f64) -> f64 {
        match self {
            Self::Saturation([(first_a, first_v), (_, last_v)]) => {
                if collector_a <= first_a {
                    first_v
                } else {
                    last_v
                }
            }
            Self::Resistance { ohm, .. } => ohm * collector_a,
        }
    }
}

impl DeviceModel {
    /// What flows and is stored at these volts to the emitter or source, inside the resistances.
    pub(super) fn flow(&self, control_v: f64, collector_v: f64) -> Flow {
        match self {
            Self::Bipolar(bipolar) => bipolar.flow(control_v, collector_v),
            Self::Mosfet(mosfet) => mosfet.flow(control_v, collector_v),
        }
    }

    /// Inside, before the control electrode and the collector, in ohms.
    pub(super) const fn inner_ohm(&self) -> [f64; 2] {
        match self {
            Self::Bipolar(bipolar) => [bipolar.base_ohm, bipolar.collector_ohm],
            Self::Mosfet(_) => [0.0; 2],
        }
    }

    /// The most its control electrode can stand at, in volts, whatever drives it: a junction gives way.
    pub(super) const fn control_ceiling_v(&self) -> f64 {
        match self {
            Self::Bipolar(_) => 1.5,
            Self::Mosfet(_) => f64::INFINITY,
        }
    }
}
