//! The check in words: what each step asks and what its outcomes mean; what a verdict means and what to
//! do. Knows no screen.

use super::report::BusSign;
use super::{CheckStep, CheckVerdict};
use crate::units::{ohm_text, volt_text};

/// Said first, always: what it is about, and what to do.
pub const AIRBAG: (&str, &str) = (
    "Airbag first.",
    "Never open, probe or tap its circuit. Battery off, then wait as the maker says. Leave that work to a \
     licensed technician.",
);

impl CheckStep {
    /// Its name.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Ready => "Ignition off, plug open",
            Self::Chassis => "Each wire to chassis",
            Self::Rest => "Across both, at rest",
            Self::Presses => "Each press",
            Self::CarSide => "Key on, car side",
            Self::Again => "Across both again",
        }
    }

    /// What to do.
    #[must_use]
    pub const fn task(self) -> &'static str {
        match self {
            Self::Ready => {
                "Parked, key out. Find the wheel's wires at the stereo's connector by the vehicle's own diagram, \
                 and open that plug. Stay out of anything yellow: it is the airbag's."
            }
            Self::Chassis => "Meter on ohms, wheel's side of the plug: from each wire to bare metal.",
            Self::Rest => "Meter on ohms, from the wire to the return. Hands off the buttons.",
            Self::Presses => {
                "Same two places. Hold each button for two seconds; write what the meter shows into the table."
            }
            Self::CarSide => {
                "Meter on volts DC, the other half of the plug, key to accessory: from the wire's contact to \
                 ground. Then key out."
            }
            Self::Again => "Key out for a minute, meter on ohms: the wheel's side as in step 3.",
        }
    }

    /// What an outcome means: the reading, and its meaning.
    #[must_use]
    pub const fn outcomes(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::Ready => &[],
            Self::Chassis => &[
                ("Open", "above 1 MΩ: the wire is the ladder's own."),
                ("Some ohms", "the ladder returns through the vehicle's ground."),
                ("Joined", "under 5 Ω: the return, or a ground."),
            ],
            Self::Rest => &[
                ("Some ohms", "1 kΩ to 100 kΩ is usual: the resistor at the ladder's end."),
                ("Open", "usual too, but a broken wire will look like rest."),
                ("60 or 120 Ω", "may be a data bus: see whether a press changes it."),
            ],
            Self::Presses => &[
                ("Steady, all differ", "resistors, one way or another: a ladder."),
                ("Some alike", "look for those buttons on a second wire."),
                ("Jumps, or drifts", "electronics, not resistors."),
                ("No change", "not this wire, or it is open."),
            ],
            Self::CarSide => &[
                ("0 V", "nothing feeds the wire."),
                ("Up to 5.5 V", "a module pulls it up: leave its half of the plug open."),
                ("About 12 V", "a supply: no ladder for the box."),
                ("Moves by itself", "a data bus."),
            ],
            Self::Again => &[
                ("As before", "nothing else is on the wires."),
                ("Otherwise", "a module is still on them: it wakes and sleeps."),
            ],
        }
    }
}

impl CheckVerdict {
    /// What it is, in a few words.
    #[must_use]
    pub fn head(&self) -> &'static str {
        match self {
            Self::Unfinished { .. } => "Not known yet.",
            Self::Ladder { .. } => "It is a ladder.",
            Self::SharedGround { .. } => "A ladder, on the car's ground.",
            Self::SwitchedVoltage { .. } => "It switches a voltage.",
            Self::DataBus { .. } => "It is no ladder: a data bus.",
            Self::PullUpConnected { .. } => "A module is still connected.",
            Self::GroundedWire { .. } => "That wire is ground.",
            Self::OpenWire { .. } => "Nothing comes through.",
        }
    }

    /// What that means.
    #[must_use]
    pub fn meaning(&self) -> String {
        match self {
            Self::Unfinished { left } => match left.len() {
                1 => "1 step is left.".to_owned(),
                left => format!("{left} steps are left."),
            },
            Self::Ladder { alike, .. } => and_alike("Resistors between the wire and its own return.", *alike),
            Self::SharedGround { alike, .. } => and_alike(
                "Its return is the vehicle's ground: what else flows there moves the reading, 5 A in a metre \
                 of thin wire by 0.1 V.",
                *alike,
            ),
            Self::SwitchedVoltage { wire, volt } => {
                format!("{} stand on the car's side of wire {wire}.", volt_text(*volt))
            }
            Self::DataBus { sign } => match sign {
                BusSign::Moves { wire } => {
                    format!("The volts on the car's side of wire {wire} move by themselves.")
                }
                BusSign::Unsteady => {
                    "The meter doesn't stand still while a button is held: electronics answer.".to_owned()
                }
                BusSign::BothAtHalf { volt: (a, b) } => {
                    format!("Both wires stand at half a supply, {} and {}.", volt_text(*a), volt_text(*b))
                }
                BusSign::Termination { ohm } => {
                    format!("{} at rest is a bus's end resistor, and no press changes it.", ohm_text(*ohm))
                }
            },
            Self::PullUpConnected { wire, ohm: (before, after) } => format!(
                "Wire {wire} read {} and then {}: something on it wakes and sleeps with the key.",
                ohm_text(*before),
                ohm_text(*after)
            ),
            Self::GroundedWire { wire } => {
                format!("Wire {wire} is joined with the chassis: no ladder hangs on it.")
            }
            Self::OpenWire { has_path: true } => "There is a path, but no press changes it.".to_owned(),
            Self::OpenWire { has_path: false } => {
                "No path at rest, and none with a button pressed.".to_owned()
            }
        }
    }

    /// What to do.
    #[must_use]
    pub fn advice(&self) -> String {
        match self {
            Self::Unfinished { left } => {
                left.first().map_or_else(String::new, |step| format!("Next: {}.", lower_first(step.title())))
            }
            Self::Ladder { car_pulls, .. } if car_pulls.is_empty() => String::new(),
            Self::Ladder { car_pulls, .. } => pulled(car_pulls),
            Self::SharedGround { car_pulls, .. } => {
                let ground =
                    "Plan a pull-up, never a pull-down, and take the ground for the box at the stereo.";
                format!("{ground} {}", pulled(car_pulls)).trim().to_owned()
            }
            Self::SwitchedVoltage { .. } => {
                "Join nothing to it: 12 V ends the box's input. If each button switches it to a wire of its own, \
                 that takes relays or dividers, not this box."
                    .to_owned()
            }
            Self::DataBus { .. } => {
                "Join nothing to it: other parts of the car talk there. An interface made for that bus is needed."
                    .to_owned()
            }
            Self::PullUpConnected { .. } => {
                "Find the plug of that module by the vehicle's diagram, open it too, and begin the check again. \
                 Two pull-ups on one wire never read right."
                    .to_owned()
            }
            Self::GroundedWire { .. } => {
                "It may be the return: take the other one as the wire, and do the step again.".to_owned()
            }
            Self::OpenWire { .. } => {
                "Look for the right wire by the vehicle's diagram. If it is the right one, the path through the \
                 column is broken: that work goes to a licensed technician, for the airbag runs beside it."
                    .to_owned()
            }
        }
    }
}

fn and_alike(meaning: &str, alike: bool) -> String {
    if alike {
        format!("{meaning} Some buttons read alike: they may be on a second wire.")
    } else {
        meaning.to_owned()
    }
}

fn pulled(car_pulls: &[(u8, f64)]) -> String {
    match car_pulls {
        [] => String::new(),
        [(wire, _)] => format!("The car pulls wire {wire} up too: leave the plug on the car side open."),
        _ => "The car pulls both wires up too: leave the plug on the car side open.".to_owned(),
    }
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
