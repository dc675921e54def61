//! What is odd about the readings at the jack: each with its values, what it may mean, and what to do.

use super::report::JackStep;
use super::{Jack, JackWants, LOAD_OHM, NOTHING_V};
use crate::circuit::output::low_limit_v;
use crate::circuit::{Device, OutputStage, Pull};
use crate::units::{amp_text, ohm_text, volt_text};

/// Something odd about the readings. Its words are [`JackWarning::what`] and [`JackWarning::advice`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JackWarning {
    /// The sleeve isn't the stereo's ground.
    NotGrounded,
    /// More than the transistor bears.
    AboveRating {
        /// Which one.
        device: Device,
        /// Idle, in volts.
        idle_v: f64,
    },
    /// A supply and not an input: next to nothing stands in its way.
    Supply {
        /// Idle, in volts.
        idle_v: f64,
        /// What it stands behind, in ohms.
        pull_up_ohm: f64,
    },
    /// More than a logic input stands at.
    AboveLogic {
        /// Idle, in volts.
        idle_v: f64,
    },
    /// Nothing there.
    NoIdle {
        /// Idle, in volts.
        idle_v: f64,
    },
    /// Too little for a logic input to take as high.
    BelowHigh {
        /// Idle, in volts.
        idle_v: f64,
    },
    /// The idle volts move by themselves.
    Moves,
    /// The load may take more than a small resistor bears.
    LoadHot {
        /// Idle, in volts.
        idle_v: f64,
        /// What the load takes of a hard supply, in watts.
        load_w: f64,
    },
    /// More volts with the load than without it.
    Contradicted {
        /// Idle, in volts.
        idle_v: f64,
        /// Across the load, in volts.
        loaded_v: f64,
    },
    /// Volts and current of the load don't belong together.
    LoadDiffers {
        /// Measured, in amperes.
        loaded_a: f64,
        /// Measured, in volts.
        loaded_v: f64,
    },
    /// Nothing pulls the contact up.
    Open {
        /// Its pull-up, in ohms; may be infinite.
        pull_up_ohm: f64,
    },
    /// The transistor isn't sure to pull it low.
    TooStrong {
        /// The pull-up, in ohms.
        pull_up_ohm: f64,
        /// What it gives to a line at ground, in amperes.
        sink_a: f64,
        /// Up to where the transistor is sure to saturate, in amperes.
        limit_a: f64,
    },
    /// Pulled low it stays above what an input takes as low.
    LowTooHigh {
        /// Pulled low, at most, in volts.
        low_v: f64,
        /// What an input takes as low, in volts.
        limit_v: f64,
    },
}

/// Above this no logic of 5 V idles, in volts: 5 V and a tenth (common practice, no source).
const LOGIC_V: f64 = 5.5;
/// Where the supply of a 12 V vehicle lies, in volts: ISO 16750-2:2010, table 1, codes C and D (9 or
/// 10.5 V to 16 V).
const VEHICLE_V: std::ops::RangeInclusive<f64> = 9.0..=16.0;
/// An input of TTL levels takes this and more as high, in volts: `VIH`, as in TI data sheet SLLS591C,
/// TTL input electrical characteristics (JEDEC JESD8C gives the same, from memory).
const TTL_HIGH_V: f64 = 2.0;
/// Behind less than this stands a supply, in ohms: no input is fed so (common practice, no source).
const SUPPLY_OHM: f64 = 100.0;
/// Behind more than this stands nothing that would raise a line again, in ohms (common practice, no
/// source).
pub(super) const OPEN_OHM: f64 = 1e6;
/// What a small leaded resistor bears, in watts (common practice, no source). Of a hard supply the load
/// takes `P = V² / R`.
const SMALL_RESISTOR_W: f64 = 0.25;
/// How far the two readings of the load may be apart: a 5 % resistor, and two meter ranges (common
/// practice, no source).
const LOAD_APART: f64 = 0.1;
/// The last digit of a plain meter, in volts.
const LAST_DIGIT_V: f64 = 0.02;

/// Everything odd, the gravest first.
pub(super) fn of(jack: &Jack, stage: &OutputStage, pull: Option<Pull>) -> Vec<JackWarning> {
    let mut all = Vec::new();
    if jack.grounded == Some(false) {
        all.push(JackWarning::NotGrounded);
    }
    let pull_up_ohm = jack.pull_up_ohm();
    let is_supply = is_supply(jack);
    if let Some(idle_v) = jack.idle_v {
        if idle_v > stage.device.row().rated_v {
            all.push(JackWarning::AboveRating { device: stage.device, idle_v });
        } else if let (true, Some(pull_up_ohm)) = (is_supply, pull_up_ohm) {
            all.push(JackWarning::Supply { idle_v, pull_up_ohm });
        } else if idle_v > LOGIC_V {
            all.push(JackWarning::AboveLogic { idle_v });
        } else if idle_v <= NOTHING_V {
            all.push(JackWarning::NoIdle { idle_v });
        } else if idle_v < TTL_HIGH_V && jack.wants != Some(JackWants::Resistances) {
            all.push(JackWarning::BelowHigh { idle_v });
        }
    }
    if jack.idle_moves {
        all.push(JackWarning::Moves);
    }
    // Before it is joined: afterwards it was borne, or not.
    if let (Some(idle_v), None) = (jack.idle_v, jack.load_a()) {
        let load_w = idle_v * idle_v / LOAD_OHM;
        if load_w > SMALL_RESISTOR_W {
            all.push(JackWarning::LoadHot { idle_v, load_w });
        }
    }
    if let (Some(idle_v), Some(load_a), true) = (jack.idle_v, jack.load_a(), jack.is_contradicted()) {
        all.push(JackWarning::Contradicted { idle_v, loaded_v: load_a * LOAD_OHM });
    }
    if let (Some(loaded_a), Some(loaded_v)) = (jack.loaded_a, jack.loaded_v) {
        let by_current_v = loaded_a * LOAD_OHM;
        if (by_current_v - loaded_v).abs() > LOAD_APART * by_current_v.max(loaded_v) + LAST_DIGIT_V {
            all.push(JackWarning::LoadDiffers { loaded_a, loaded_v });
        }
    }
    let Some((pull_up_ohm, pull)) = pull_up_ohm.zip(pull) else { return all };
    if pull_up_ohm > OPEN_OHM {
        all.push(JackWarning::Open { pull_up_ohm });
    }
    if is_supply || jack.wants == Some(JackWants::Resistances) {
        return all;
    }
    let limit_v = low_limit_v(jack.idle_v.unwrap_or_default());
    match pull.low_v {
        None => {
            all.push(JackWarning::TooStrong { pull_up_ohm, sink_a: pull.sink_a, limit_a: pull.limit_a });
        }
        Some(low_v) if low_v > limit_v => all.push(JackWarning::LowTooHigh { low_v, limit_v }),
        Some(_) => {}
    }
    all
}

/// Whether it stands at volts behind next to nothing.
pub(super) fn is_supply(jack: &Jack) -> bool {
    jack.source().is_some_and(|line| line.volt >= TTL_HIGH_V && line.ohm < SUPPLY_OHM)
}

impl JackWarning {
    /// Which step it came up in.
    #[must_use]
    pub const fn step(&self) -> JackStep {
        match self {
            Self::NotGrounded => JackStep::Contact,
            Self::AboveRating { .. }
            | Self::AboveLogic { .. }
            | Self::NoIdle { .. }
            | Self::BelowHigh { .. }
            | Self::Moves => JackStep::Idle,
            Self::Supply { .. }
            | Self::LoadHot { .. }
            | Self::Contradicted { .. }
            | Self::LoadDiffers { .. }
            | Self::Open { .. }
            | Self::TooStrong { .. }
            | Self::LowTooHigh { .. } => JackStep::Load,
        }
    }

    /// What was found and what it may mean, with the values.
    #[must_use]
    pub fn what(&self) -> String {
        match *self {
            Self::NotGrounded => {
                "The sleeve, or the ground wire, isn't the stereo's ground: the box's ground would have no way \
                 back."
                    .to_owned()
            }
            Self::AboveRating { device, idle_v } => format!(
                "{} at idle is more than the output's transistor bears: a {} is made for {} V.",
                volt_text(idle_v),
                device.name(),
                device.row().rated_v
            ),
            Self::Supply { idle_v, pull_up_ohm } => format!(
                "{} behind {} is a supply, not an input: pulled low it would burn the output's transistor.",
                volt_text(idle_v),
                ohm_text(pull_up_ohm)
            ),
            Self::AboveLogic { idle_v } if VEHICLE_V.contains(&idle_v) => format!(
                "{} at idle is the vehicle's supply, where an input stands at 3.3 V or 5 V: this may be a \
                 trigger or illumination wire.",
                volt_text(idle_v)
            ),
            Self::AboveLogic { idle_v } => {
                format!("{} at idle is more than the 3.3 V or 5 V of a usual input.", volt_text(idle_v))
            }
            Self::NoIdle { idle_v } => format!(
                "{} at idle: another contact may be the input, the stereo may be off, or this input has no \
                 pull-up.",
                volt_text(idle_v)
            ),
            Self::BelowHigh { idle_v } => format!(
                "{} at idle is too little for a logic input, which takes {TTL_HIGH_V:.1} V and more as high.",
                volt_text(idle_v)
            ),
            Self::Moves => {
                "The idle volts move by themselves: a loose contact, an output of the stereo, or an input \
                 that nothing holds."
                    .to_owned()
            }
            Self::LoadHot { idle_v, load_w } => format!(
                "1 kΩ from {} to ground may take {load_w:.2} W, and a small resistor bears {SMALL_RESISTOR_W} W.",
                volt_text(idle_v)
            ),
            Self::Contradicted { idle_v, loaded_v } => format!(
                "{} across 1 kΩ and {} without it can't be: a load never raises a line.",
                volt_text(loaded_v),
                volt_text(idle_v)
            ),
            Self::LoadDiffers { loaded_a, loaded_v } => format!(
                "{} through 1 kΩ would be {} across it, and {} was read.",
                amp_text(loaded_a),
                volt_text(loaded_a * LOAD_OHM),
                volt_text(loaded_v)
            ),
            Self::Open { pull_up_ohm } if pull_up_ohm.is_infinite() => {
                "Nothing flows through 1 kΩ: nothing pulls this contact up.".to_owned()
            }
            Self::Open { pull_up_ohm } => format!(
                "A pull-up of {} is as good as none: what the box pulls low, nothing raises in time.",
                ohm_text(pull_up_ohm)
            ),
            Self::TooStrong { pull_up_ohm, sink_a, limit_a } => format!(
                "A pull-up of {} gives {}, and the output's transistor is sure to pull only {} low.",
                ohm_text(pull_up_ohm),
                amp_text(sink_a),
                amp_text(limit_a)
            ),
            Self::LowTooHigh { low_v, limit_v } => format!(
                "Pulled low the line may stay at {}, and such an input takes {} and less as low.",
                volt_text(low_v),
                volt_text(limit_v)
            ),
        }
    }

    /// What to do about it.
    #[must_use]
    pub const fn advice(&self) -> &'static str {
        match self {
            Self::NotGrounded => {
                "Find the input's own ground in the stereo's manual, and take the box's ground there."
            }
            Self::AboveRating { .. } => {
                "Don't join the box to it. Look for the remote input in the stereo's manual."
            }
            Self::Supply { .. } => {
                "Don't join the box to it. Measure another contact, and look for the remote input in the \
                 stereo's manual."
            }
            Self::AboveLogic { .. } => {
                "Check it against the stereo's manual before anything is joined to it."
            }
            Self::NoIdle { .. } => {
                "Switch the stereo on, and measure the other contacts. If the manual names this one, it says \
                 what must pull it up."
            }
            Self::BelowHigh { .. } => "Measure with the stereo fully on, and measure the other contacts too.",
            Self::Moves => {
                "Push the plug home, wait a minute after switching on, and measure again; then the other \
                 contacts."
            }
            Self::LoadHot { .. } => "Leave this step out, or use a resistor made for it.",
            Self::Contradicted { .. } => {
                "Measure both again, with the stereo on for both and the same ground."
            }
            Self::LoadDiffers { .. } => "Check the resistor with the meter, and measure both again.",
            Self::Open { .. } => "Check the resistor's hold, then measure the other contacts.",
            Self::TooStrong { .. } => {
                "Measure the current again. If it stays, check the contact against the stereo's manual."
            }
            Self::LowTooHigh { .. } => "Measure the idle volts again, with the stereo fully on.",
        }
    }
}
