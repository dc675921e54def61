//! What the check comes to: how each step stands, and the verdict. Knows no words.

use std::collections::BTreeMap;

use super::{CheckStep, Differ, MeterCheck, ToChassis, WireCheck};

/// Volts up to this are none: what a meter picks up on an open contact (common practice, no source).
const NOTHING_V: f64 = 0.3;
/// Volts above this are no pull-up of a logic input: 5 V and a tenth (common practice, no source).
const LOGIC_V: f64 = 5.5;
/// Both wires between these volts are a data bus at rest: CAN rests at 2.5 V on both of its wires
/// (ISO 11898-2, 2.0 to 3.0 V; from memory).
const BUS_V: std::ops::RangeInclusive<f64> = 2.0..=3.0;
/// A resistance that no press changes is a bus's termination between these ohms: 120 Ω at each end,
/// 60 Ω for both (ISO 11898-2; from memory), with a meter's error.
const TERMINATION_OHM: [std::ops::RangeInclusive<f64>; 2] = [54.0..=66.0, 108.0..=132.0];
/// The same wire read twice by one meter agrees to 2 % and 2 Ω (common practice, no source).
const AGAIN: (f64, f64) = (0.02, 2.0);

/// What the check rests on besides its own answers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CheckFacts {
    /// The wires that are checked, by number; none is taken as the first alone.
    pub wires: Vec<u8>,
    /// Across each wire and the return at rest, in ohms, where a path was read.
    pub rest_ohm: BTreeMap<u8, f64>,
    /// Whether the return is joined with the chassis.
    pub back_grounded: Option<bool>,
}

/// How a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StepState {
    /// Something is still to be answered.
    Open,
    /// Answered, as a ladder would.
    Done,
    /// Answered, and worth a look.
    Look,
    /// Answered, and no ladder answers so.
    Stop,
}

/// What the check comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum CheckVerdict {
    /// Steps are still to be done.
    Unfinished {
        /// The steps with something to answer, in order.
        left: Vec<CheckStep>,
    },
    /// A ladder whose return is its own wire.
    Ladder {
        /// The wires that the car's side pulls up, with its volts.
        car_pulls: Vec<(u8, f64)>,
        /// Some of its buttons read alike.
        alike: bool,
    },
    /// A ladder whose return is the vehicle's ground.
    SharedGround {
        /// The wires that the car's side pulls up, with its volts.
        car_pulls: Vec<(u8, f64)>,
        /// Some of its buttons read alike.
        alike: bool,
    },
    /// The car's side carries a supply.
    SwitchedVoltage {
        /// Which wire.
        wire: u8,
        /// In volts.
        volt: f64,
    },
    /// Something talks, or is made of more than resistors.
    DataBus {
        /// What said so.
        sign: BusSign,
    },
    /// A module is still on the wires.
    PullUpConnected {
        /// Which wire.
        wire: u8,
        /// Before and after the key was on, in ohms; infinite for no path.
        ohm: (f64, f64),
    },
    /// The wire itself is ground.
    GroundedWire {
        /// Which wire.
        wire: u8,
    },
    /// No press changes anything.
    OpenWire {
        /// Whether there was a path at rest.
        has_path: bool,
    },
}

/// What made it look like a data bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BusSign {
    /// Volts that move by themselves on a wire.
    Moves {
        /// Which.
        wire: u8,
    },
    /// The meter doesn't stand still while a button is held.
    Unsteady,
    /// Both wires stand at a bus's volts.
    BothAtHalf {
        /// In volts, by wire.
        volt: (f64, f64),
    },
    /// A bus's termination, whatever is pressed.
    Termination {
        /// In ohms.
        ohm: f64,
    },
}

/// The check's steps and its verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckReport {
    /// Each step's state, in their order.
    pub steps: [StepState; 6],
    /// What it is.
    pub verdict: CheckVerdict,
}

impl Default for CheckReport {
    fn default() -> Self {
        MeterCheck::default().report(&CheckFacts::default())
    }
}

impl CheckVerdict {
    /// Whether it is a ladder that the box can read.
    #[must_use]
    pub const fn is_ladder(&self) -> bool {
        matches!(self, Self::Ladder { .. } | Self::SharedGround { .. })
    }

    /// Whether it is known to be none.
    #[must_use]
    pub const fn is_stop(&self) -> bool {
        !self.is_ladder() && !matches!(self, Self::Unfinished { .. })
    }
}

impl CheckReport {
    /// How many steps are done.
    #[must_use]
    pub fn done(&self) -> usize {
        self.steps.iter().filter(|state| **state != StepState::Open).count()
    }

    /// A step's state.
    #[must_use]
    pub const fn step(&self, step: CheckStep) -> StepState {
        self.steps[step as usize]
    }
}

/// The check with what it rests on.
struct Look<'a> {
    check: &'a MeterCheck,
    facts: &'a CheckFacts,
    wires: Vec<(u8, WireCheck)>,
}

impl MeterCheck {
    /// How the steps stand and what they come to. A sign that no ladder gives stops the check at
    /// once; a ladder is one only when every step says so.
    #[must_use]
    pub fn report(&self, facts: &CheckFacts) -> CheckReport {
        let numbers = if facts.wires.is_empty() { &[1][..] } else { &facts.wires };
        let wires = numbers.iter().map(|&wire| (wire, self.wire(wire))).collect();
        let look = Look { check: self, facts, wires };
        let steps = CheckStep::ALL.map(|step| look.state(step));
        CheckReport { steps, verdict: look.verdict(&steps) }
    }
}

impl Look<'_> {
    fn state(&self, step: CheckStep) -> StepState {
        match step {
            CheckStep::Ready => done_if(self.check.ready),
            CheckStep::Chassis => {
                let chassis: Option<Vec<_>> = self.wires.iter().map(|(_, found)| found.chassis).collect();
                let joined = chassis.as_ref().is_some_and(|found| found.contains(&ToChassis::Joined));
                match (chassis, self.facts.back_grounded) {
                    _ if joined => StepState::Stop,
                    (Some(_), Some(true)) => StepState::Look,
                    (Some(found), Some(false)) if found.contains(&ToChassis::Resistance) => StepState::Look,
                    (Some(_), Some(false)) => StepState::Done,
                    _ => StepState::Open,
                }
            }
            CheckStep::Rest => done_if(self.wires.iter().all(|(wire, _)| self.rest(*wire).is_some())),
            CheckStep::Presses => match (self.check.steady, self.check.differ) {
                (Some(false), _) | (_, Some(Differ::Nothing)) => StepState::Stop,
                (Some(true), Some(Differ::All)) => StepState::Done,
                (Some(true), Some(Differ::Some)) => StepState::Look,
                _ => StepState::Open,
            },
            CheckStep::CarSide => {
                let known = self.wires.iter().all(|(_, found)| found.car_v.is_some());
                if self.bus_on_the_car_side().is_some() || self.switched().is_some() {
                    StepState::Stop
                } else if known && !self.car_pulls().is_empty() {
                    StepState::Look
                } else {
                    done_if(known)
                }
            }
            CheckStep::Again => {
                if self.changed().is_some() {
                    StepState::Stop
                } else {
                    done_if(self.wires.iter().all(|(_, found)| again(found).is_some()))
                }
            }
        }
    }

    fn verdict(&self, steps: &[StepState; 6]) -> CheckVerdict {
        if let Some(verdict) = self.stop() {
            return verdict;
        }
        let left: Vec<_> =
            CheckStep::ALL.into_iter().zip(steps).filter(|(_, state)| **state == StepState::Open).collect();
        if !left.is_empty() {
            return CheckVerdict::Unfinished { left: left.into_iter().map(|(step, _)| step).collect() };
        }
        let (car_pulls, alike) = (self.car_pulls(), self.check.differ == Some(Differ::Some));
        let through = self.wires.iter().any(|(_, found)| found.chassis == Some(ToChassis::Resistance));
        if through || self.facts.back_grounded == Some(true) {
            CheckVerdict::SharedGround { car_pulls, alike }
        } else {
            CheckVerdict::Ladder { car_pulls, alike }
        }
    }

    /// The first sign that it is no ladder, those first that can do harm.
    fn stop(&self) -> Option<CheckVerdict> {
        if let Some((wire, volt)) = self.switched() {
            return Some(CheckVerdict::SwitchedVoltage { wire, volt });
        }
        if let Some(sign) = self.bus_on_the_car_side() {
            return Some(CheckVerdict::DataBus { sign });
        }
        if self.check.steady == Some(false) {
            return Some(CheckVerdict::DataBus { sign: BusSign::Unsteady });
        }
        if let Some((wire, _)) = self.wires.iter().find(|(_, found)| found.chassis == Some(ToChassis::Joined))
        {
            return Some(CheckVerdict::GroundedWire { wire: *wire });
        }
        if self.check.differ == Some(Differ::Nothing) {
            let paths: Vec<f64> = self
                .wires
                .iter()
                .filter_map(|(wire, _)| self.rest(*wire))
                .filter(|ohm| ohm.is_finite())
                .collect();
            let ends = |ohm: &&f64| TERMINATION_OHM.iter().any(|range| range.contains(*ohm));
            if let Some(&ohm) = paths.iter().find(ends) {
                return Some(CheckVerdict::DataBus { sign: BusSign::Termination { ohm } });
            }
            return Some(CheckVerdict::OpenWire { has_path: !paths.is_empty() });
        }
        let (wire, ohm) = self.changed()?;
        Some(CheckVerdict::PullUpConnected { wire, ohm })
    }

    /// Across a wire and the return at rest; infinite for no path.
    fn rest(&self, wire: u8) -> Option<f64> {
        let open = self.check.wires.get(&wire).is_some_and(|found| found.open);
        self.facts.rest_ohm.get(&wire).copied().or(open.then_some(f64::INFINITY))
    }

    fn switched(&self) -> Option<(u8, f64)> {
        self.wires.iter().find_map(|(wire, found)| Some((*wire, found.car_v.filter(|v| *v > LOGIC_V)?)))
    }

    fn bus_on_the_car_side(&self) -> Option<BusSign> {
        if let Some((wire, _)) = self.wires.iter().find(|(_, found)| found.car_moves) {
            return Some(BusSign::Moves { wire: *wire });
        }
        let volt: Vec<f64> = self.wires.iter().filter_map(|(_, found)| found.car_v).collect();
        match volt[..] {
            [a, b] if BUS_V.contains(&a) && BUS_V.contains(&b) => Some(BusSign::BothAtHalf { volt: (a, b) }),
            _ => None,
        }
    }

    fn car_pulls(&self) -> Vec<(u8, f64)> {
        self.wires
            .iter()
            .filter_map(|(wire, found)| {
                Some((*wire, found.car_v.filter(|v| (NOTHING_V..=LOGIC_V).contains(v))?))
            })
            .collect()
    }

    /// A wire that reads otherwise after the key was on, and both readings.
    fn changed(&self) -> Option<(u8, (f64, f64))> {
        self.wires.iter().find_map(|(wire, found)| {
            let (before, after) = (self.rest(*wire)?, again(found)?);
            (!agree(before, after)).then_some((*wire, (before, after)))
        })
    }
}

fn again(found: &WireCheck) -> Option<f64> {
    found.again_ohm.or(found.again_open.then_some(f64::INFINITY))
}

fn agree(a: f64, b: f64) -> bool {
    if a.is_infinite() || b.is_infinite() {
        return a == b;
    }
    (a - b).abs() <= AGAIN.0 * a.max(b) + AGAIN.1
}

const fn done_if(done: bool) -> StepState {
    if done { StepState::Done } else { StepState::Open }
}
