//! What the readings at the jack come to: the verdict, what is still missing for one, and how far each
//! step is.

use super::warning::{self, JackWarning, OPEN_OHM};
use super::{Jack, JackWants, NOTHING_V};
use crate::circuit::OutputStage;

/// What the check of the jack came to.
#[derive(Clone, Debug, PartialEq)]
pub struct JackReport {
    /// What the input is.
    pub verdict: JackVerdict,
    /// What is odd about it, the gravest first.
    pub warnings: Vec<JackWarning>,
}

/// What the stereo's input is.
#[derive(Clone, Debug, PartialEq)]
pub enum JackVerdict {
    /// It takes pulses: the box can drive it, as far as the warnings let it.
    PulseInput {
        /// Its own pull-up, in ohms.
        pull_up_ohm: f64,
        /// What it stands at by itself, in volts.
        idle_v: f64,
        /// What it stands at while the box pulls it low, at most, in volts; `None` where the box's
        /// transistor isn't sure to pull it low.
        low_v: Option<f64>,
    },
    /// It takes resistances, which this box doesn't drive.
    ResistanceInput {
        /// What it stands at by itself, in volts, where that was measured.
        idle_v: Option<f64>,
        /// What it feeds its resistors through, in ohms, where that was measured.
        pull_up_ohm: Option<f64>,
    },
    /// Not known yet.
    Unknown {
        /// What is missing for it, step by step; never empty.
        missing: Vec<JackMissing>,
    },
}

/// What is missing for a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum JackMissing {
    /// Which contact carries the signal.
    Contact,
    /// That the sleeve is the stereo's ground.
    Ground,
    /// Idle volts that an input could have.
    Idle,
    /// A load that fits the idle volts.
    Load,
    /// Another contact: the one measured is no input.
    OtherContact,
    /// Pulses or resistances.
    Wants,
}

/// The steps of the check, in order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum JackStep {
    /// The cautions.
    #[default]
    Cautions,
    /// Which contact, and the ground.
    Contact,
    /// The volts with nothing on it.
    Idle,
    /// 1 kΩ to ground.
    Load,
    /// Pulses or resistances.
    Wants,
}

impl JackStep {
    /// All of them, in order.
    pub const ALL: [Self; 5] = [Self::Cautions, Self::Contact, Self::Idle, Self::Load, Self::Wants];

    /// The step after this one, if there is one.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        Self::ALL.get(self as usize + 1).copied()
    }

    /// The step before this one, if there is one.
    #[must_use]
    pub fn before(self) -> Option<Self> {
        Self::ALL.get((self as usize).checked_sub(1)?).copied()
    }
}

impl JackMissing {
    /// Which step gives it.
    #[must_use]
    pub const fn step(self) -> JackStep {
        match self {
            Self::Contact | Self::Ground | Self::OtherContact => JackStep::Contact,
            Self::Idle => JackStep::Idle,
            Self::Load => JackStep::Load,
            Self::Wants => JackStep::Wants,
        }
    }

    /// It, for a list in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Contact => "which contact carries the signal",
            Self::Ground => "a ground in common with the stereo",
            Self::Idle => "the idle volts",
            Self::Load => "what 1 kΩ to ground draws",
            Self::OtherContact => "a contact that is an input",
            Self::Wants => "whether it wants pulses or resistances",
        }
    }
}

impl Default for JackReport {
    /// Of an input that nothing is known of.
    fn default() -> Self {
        Jack::default().report()
    }
}

impl JackReport {
    /// Whether a step has all it is to give. The cautions are read, not measured: they count as
    /// done with anything noted after them.
    #[must_use]
    pub fn is_done(&self, step: JackStep, jack: &Jack) -> bool {
        match step {
            JackStep::Cautions => jack.is_begun(),
            JackStep::Wants => jack.wants.is_some(),
            _ => !missing(jack, &OutputStage::default()).iter().any(|missing| missing.step() == step),
        }
    }

    /// What to know before a code is tried on the stereo, in one sentence; `None` where the input takes
    /// pulses and nothing about it is odd.
    #[must_use]
    pub fn before_try(&self) -> Option<String> {
        let odd = self.warnings.first().map(JackWarning::what);
        match self.verdict {
            JackVerdict::ResistanceInput { .. } => {
                Some("The stereo's input takes resistances: no pulse would do anything.".to_owned())
            }
            JackVerdict::Unknown { .. } => {
                odd.or_else(|| Some("It isn't known yet whether the stereo's input takes pulses.".to_owned()))
            }
            JackVerdict::PulseInput { .. } => odd,
        }
    }

    /// What is odd about a step.
    pub fn warnings_at(&self, step: JackStep) -> impl Iterator<Item = &JackWarning> {
        self.warnings.iter().filter(move |warning| warning.step() == step)
    }
}

impl Jack {
    /// What the readings come to, with the box's output stage as it is wired.
    #[must_use]
    pub fn report(&self) -> JackReport {
        self.report_with(&OutputStage::default())
    }

    /// What the readings come to, with any output stage.
    #[must_use]
    pub fn report_with(&self, stage: &OutputStage) -> JackReport {
        let pull = self.source().map(|line| stage.pull(line));
        let verdict = match (self.wants, self.source(), missing(self, stage)) {
            (Some(JackWants::Resistances), ..) => {
                JackVerdict::ResistanceInput { idle_v: self.idle_v, pull_up_ohm: self.pull_up_ohm() }
            }
            (Some(JackWants::Pulses), Some(line), missing) if missing.is_empty() => JackVerdict::PulseInput {
                pull_up_ohm: line.ohm,
                idle_v: line.volt,
                low_v: pull.and_then(|pull| pull.low_v),
            },
            (_, _, missing) => JackVerdict::Unknown { missing },
        };
        JackReport { verdict, warnings: warning::of(self, stage, pull) }
    }
}

/// What is missing for a verdict, step by step.
fn missing(jack: &Jack, stage: &OutputStage) -> Vec<JackMissing> {
    let pull_up_ohm = jack.pull_up_ohm();
    let is_supply = warning::is_supply(jack);
    let is_open = pull_up_ohm.is_some_and(|ohm| ohm > OPEN_OHM);
    let beyond = jack.idle_v.is_some_and(|volt| volt > stage.device.row().rated_v);
    [
        (jack.contact.is_none(), JackMissing::Contact),
        (jack.contact.is_some() && (is_supply || is_open || beyond), JackMissing::OtherContact),
        (jack.grounded != Some(true), JackMissing::Ground),
        (jack.idle_v.is_none_or(|volt| volt <= NOTHING_V), JackMissing::Idle),
        (pull_up_ohm.is_none(), JackMissing::Load),
        (jack.wants.is_none(), JackMissing::Wants),
    ]
    .into_iter()
    .filter_map(|(is, what)| is.then_some(what))
    .collect()
}
