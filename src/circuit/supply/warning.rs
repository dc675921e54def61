//! What is odd about a supply: each with its values, and what to change.

use super::report::SupplyReport;
use super::{BOX_V, Gauge, Regulator, ReverseGuard, Tap};
use crate::circuit::{SupplyParts, Suppressor};
use crate::units::{amp_text, volt_text};

/// Something odd. Its words are [`SupplyWarning::what`] and [`SupplyWarning::advice`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SupplyWarning {
    /// No fuse at the source.
    NoFuse,
    /// A fuse that lets the wire burn first.
    FuseAboveWire {
        /// The fuse, in amperes.
        fuse_amp: f64,
        /// Which wire.
        wire: Gauge,
    },
    /// A fuse that the box itself blows.
    FuseBelowLoad {
        /// The fuse, in amperes.
        fuse_amp: f64,
        /// What the box draws, in amperes.
        input_amp: f64,
    },
    /// The regulator gets hotter than it may.
    TooHot {
        /// Which kind.
        regulator: Regulator,
        /// At which supply, in volts.
        supply_v: f64,
        /// What becomes heat, in watts.
        heat_w: f64,
        /// Its junction, in °C.
        junction_c: f64,
        /// The hottest it may be, in °C.
        limit_c: f64,
        /// The air around it, in °C.
        ambient_c: f64,
    },
    /// The 5 V aren't held at the lowest supply at which all has to work.
    DropsOut {
        /// At which supply, in volts.
        supply_v: f64,
        /// What the box has then, in volts.
        box_v: f64,
    },
    /// Nothing stands against a reversed battery.
    NoReverseGuard,
    /// Nothing holds pulses off.
    NoSuppressor,
    /// The suppressor conducts on a jump start.
    SuppressorConducts {
        /// Its stand-off, in volts.
        standoff_v: f64,
    },
    /// The suppressor conducts on a load dump that the alternator has clamped already.
    SuppressorTakesDump {
        /// Its stand-off, in volts.
        standoff_v: f64,
    },
    /// The suppressor lets through more than the regulator bears.
    ClampAboveInput {
        /// What it clamps to, in volts.
        clamp_v: f64,
        /// What the regulator bears, in volts.
        input_max_v: f64,
    },
    /// The regulator bears less than a jump start gives.
    InputBelowJump {
        /// What it bears, in volts.
        input_max_v: f64,
    },
    /// A load dump that nothing clamps.
    DumpUnclamped,
    /// The battery is drawn from while parked.
    Drains {
        /// In amperes.
        amp: f64,
        /// Days until half a usual battery is used.
        days: f64,
    },
}

/// A jump start, in volts, for a minute: ISO 16750-2:2012 §4.3, from memory (FACTS F).
const JUMP_V: f64 = 24.0;
/// A load dump that the alternator clamps, in volts: ISO 16750-2 test B, secondary (FACTS F).
const CLAMPED_DUMP_V: f64 = 35.0;
/// One that nothing clamps, at most, in volts: ISO 16750-2 test A, secondary (FACTS F).
const DUMP_V: f64 = 101.0;
/// A suppressor breaks down at this much above its stand-off at least (common practice: data sheets of such
/// diodes give 1.11).
const BREAKDOWN: f64 = 1.11;
/// Which share of its rating a fuse is run at, at most (common practice, no source).
const FUSE_SHARE: f64 = 0.75;
/// Fuses one can buy, in amperes: blade fuses, and the small ones below 2 A (common practice, no source).
const FUSES_A: [f64; 12] = [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0];
/// What an addition may draw from a parked vehicle, in amperes (FACTS F, common practice).
const PARKED_A: f64 = 1e-3;

/// Everything odd, the gravest first.
pub(super) fn of(parts: &SupplyParts, report: &SupplyReport) -> Vec<SupplyWarning> {
    let SupplyParts { tap, fuse_amp, wire, reverse, suppressor, dump_clamped, regulator, .. } = *parts;
    let chosen = parts.chosen();
    let mut all = Vec::new();
    match fuse_amp {
        None => all.push(SupplyWarning::NoFuse),
        Some(fuse_amp) if fuse_amp > wire.most_amp() => {
            all.push(SupplyWarning::FuseAboveWire { fuse_amp, wire });
        }
        Some(fuse_amp) if fuse_amp * FUSE_SHARE < report.input_amp => {
            all.push(SupplyWarning::FuseBelowLoad { fuse_amp, input_amp: report.input_amp });
        }
        Some(_) => {}
    }
    let hottest = report
        .heat
        .iter()
        .map(|at| (at.supply_v, at.of(regulator)))
        .max_by(|a, b| a.1.junction_c.total_cmp(&b.1.junction_c));
    if let Some((supply_v, heat)) = hottest.filter(|(_, heat)| heat.junction_c > chosen.junction_max_c) {
        all.push(SupplyWarning::TooHot {
            regulator,
            supply_v,
            heat_w: heat.heat_w,
            junction_c: heat.junction_c,
            limit_c: chosen.junction_max_c,
            ambient_c: report.ambient_c,
        });
    }
    let supply_v = super::SUPPLY_VOLTS[0];
    let box_v = parts.box_v(supply_v);
    if box_v < BOX_V {
        all.push(SupplyWarning::DropsOut { supply_v, box_v });
    }
    if reverse == ReverseGuard::Nothing {
        all.push(SupplyWarning::NoReverseGuard);
    }
    if chosen.input_max_v < JUMP_V {
        all.push(SupplyWarning::InputBelowJump { input_max_v: chosen.input_max_v });
    }
    match suppressor {
        None => all.push(SupplyWarning::NoSuppressor),
        Some(Suppressor { standoff_v, clamp_v }) => {
            if standoff_v < JUMP_V {
                all.push(SupplyWarning::SuppressorConducts { standoff_v });
            } else if standoff_v * BREAKDOWN <= CLAMPED_DUMP_V {
                all.push(SupplyWarning::SuppressorTakesDump { standoff_v });
            }
            if clamp_v > chosen.input_max_v {
                all.push(SupplyWarning::ClampAboveInput { clamp_v, input_max_v: chosen.input_max_v });
            }
        }
    }
    if !dump_clamped && chosen.input_max_v < DUMP_V {
        all.push(SupplyWarning::DumpUnclamped);
    }
    if let (Tap::Permanent, Some(days)) = (tap, report.parked_days)
        && report.input_amp > PARKED_A
    {
        all.push(SupplyWarning::Drains { amp: report.input_amp, days });
    }
    all
}

impl SupplyWarning {
    /// What was found, with the values.
    #[must_use]
    pub fn what(&self) -> String {
        match *self {
            Self::NoFuse => {
                "The wire has no fuse: a chafed place would set it on fire.".to_owned()
            }
            Self::FuseAboveWire { fuse_amp, wire } => format!(
                "A fuse of {} protects no wire of {}, which bears {}.",
                fuse_text(fuse_amp),
                wire.name(),
                amp_text(wire.most_amp())
            ),
            Self::FuseBelowLoad { fuse_amp, input_amp } => format!(
                "The box draws {}, more than {:.0} % of a fuse of {}.",
                amp_text(input_amp),
                FUSE_SHARE * 100.0,
                fuse_text(fuse_amp)
            ),
            Self::TooHot { regulator, supply_v, heat_w, junction_c, limit_c, ambient_c } => format!(
                "{}: {heat_w:.2} W at {supply_v} V and {ambient_c:.0} °C bring it to {junction_c:.0} °C, and \
                 {limit_c:.0} °C is allowed.",
                regulator.name()
            ),
            Self::DropsOut { supply_v, box_v } => format!(
                "At a supply of {supply_v} V the box has only {} of its 5 V.",
                volt_text(box_v)
            ),
            Self::NoReverseGuard => {
                "Nothing stands against a battery joined the wrong way round: 14 V for a minute would burn the \
                 regulator."
                    .to_owned()
            }
            Self::NoSuppressor => {
                "Nothing holds the supply's pulses off: switching coils gives 50 V and 100 V, in both directions."
                    .to_owned()
            }
            Self::SuppressorConducts { standoff_v } => format!(
                "The suppressor stands off {standoff_v} V, and a jump start gives {JUMP_V} V for a minute: it \
                 would burn."
            ),
            Self::SuppressorTakesDump { standoff_v } => format!(
                "A suppressor of {standoff_v} V conducts below the {CLAMPED_DUMP_V} V of a clamped load dump, \
                 which lasts longer than it bears."
            ),
            Self::ClampAboveInput { clamp_v, input_max_v } => format!(
                "The suppressor lets {clamp_v} V through, and the regulator bears {input_max_v} V."
            ),
            Self::InputBelowJump { input_max_v } => {
                format!("The regulator bears {input_max_v} V, and a jump start gives {JUMP_V} V for a minute.")
            }
            Self::DumpUnclamped => format!(
                "An alternator that doesn't clamp gives up to {DUMP_V} V for 0.4 s when the battery comes off: \
                 no small suppressor survives it."
            ),
            Self::Drains { amp, days } => format!(
                "Tapped at the battery the box draws {} while parked: half a battery of 60 Ah in {days:.0} days.",
                amp_text(amp)
            ),
        }
    }

    /// What to change.
    #[must_use]
    pub fn advice(&self) -> String {
        match *self {
            Self::NoFuse => "Put 0.5 A as near to the source as it goes, before anything else.".to_owned(),
            Self::FuseAboveWire { wire, .. } => {
                match FUSES_A.into_iter().rfind(|amp| *amp <= wire.most_amp()) {
                    Some(amp) => format!("Take a fuse of {} or less, or a thicker wire.", fuse_text(amp)),
                    None => "Take a thicker wire.".to_owned(),
                }
            }
            Self::FuseBelowLoad { input_amp, .. } => {
                match FUSES_A.into_iter().find(|amp| amp * FUSE_SHARE >= input_amp) {
                    Some(amp) => {
                        format!("Take a fuse of {} or more, and a wire that bears it.", fuse_text(amp))
                    }
                    None => "Check what the box draws.".to_owned(),
                }
            }
            Self::TooHot { regulator: Regulator::Linear, .. } => {
                "Take a buck converter, or give the regulator a heat sink.".to_owned()
            }
            Self::TooHot { .. } => "Take one with less thermal resistance or more efficiency.".to_owned(),
            Self::DropsOut { .. } => "Take a regulator with less drop-out, or a thicker wire.".to_owned(),
            Self::NoReverseGuard => "Put a Schottky diode or a P-channel MOSFET in series.".to_owned(),
            Self::NoSuppressor => {
                "Put a suppressor of 33 V for both directions after the fuse, and a regulator for 60 V."
                    .to_owned()
            }
            Self::SuppressorConducts { .. } | Self::SuppressorTakesDump { .. } => {
                "Take one that stands off 33 V.".to_owned()
            }
            Self::ClampAboveInput { .. } => {
                "Take a regulator whose input bears more, 60 V for a suppressor of 33 V.".to_owned()
            }
            Self::InputBelowJump { .. } => "Take a regulator for 40 V or more, better 60 V.".to_owned(),
            Self::DumpUnclamped => {
                "Take a suppressor made for load dumps, of some kilowatts, or an input that bears it."
                    .to_owned()
            }
            Self::Drains { .. } => "Tap the accessory supply, which is off with the key.".to_owned(),
        }
    }
}

/// A fuse, as it is printed on it: `0.5 A`.
fn fuse_text(amp: f64) -> String {
    format!("{amp} A")
}
