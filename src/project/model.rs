//! What a project holds. Every field is plain data; what follows from it is computed elsewhere.
//! `values` holds each field to its range.
//!
//! Fields that this program doesn't know are no error here: `read` finds whatever a save would
//! lose, at any depth and in the types of other rooms too, and opens such a file read-only.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::bands::{DraggedEdges, LearnedOn, Press, PressTrace, RestLevel};
use crate::circuit::{Circuit, Jack, OutputParts, Parts, SupplyParts};
use crate::remote::{Code, Origin, SweepRange};
use crate::signal::Converter;
use crate::wheel::{MeterCheck, Topology};

/// The format this program writes. A file with a higher number opens read-only.
pub const FORMAT: u32 = 1;

/// Names a button in the file, on the command line and in JSON: lower-case letters, digits and
/// `_`, unique in the project.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ButtonId(pub String);

/// Names a command of the stereo; the same alphabet as [`ButtonId`].
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct CommandId(pub String);

/// One vehicle, whole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Project {
    /// The file's format number.
    pub format: u32,
    /// Which vehicle.
    pub vehicle: Vehicle,
    /// Its wheel.
    pub wheel: Wheel,
    /// The sense circuit, where it is known; without it spreads stay in counts.
    #[serde(default)]
    pub circuit: Option<Circuit>,
    /// Which parts one has and buys, and how far off they may be.
    #[serde(default)]
    pub parts: Parts,
    /// How learning and bands are done.
    #[serde(default)]
    pub plan: Plan,
    /// What each wire read at rest when it was learned; by wire number, 1 or 2.
    #[serde(default)]
    pub rests: BTreeMap<u8, RestLevel>,
    /// What each button read when it was learned.
    #[serde(default)]
    pub learned: BTreeMap<ButtonId, LearnedButton>,
    /// On which power the wheel was learned, where that is known.
    #[serde(default)]
    pub learned_on: Option<LearnedOn>,
    /// What each button read when it was pressed once more under the power the box runs on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rechecked: Option<Recheck>,
    /// The edges of accept bands that a person moved.
    #[serde(default)]
    pub edges: BTreeMap<ButtonId, DraggedEdges>,
    /// Presses as they were read, from rest to rest, for the choice of the dwell.
    #[serde(default)]
    pub traces: Vec<PressTrace>,
    /// The stereo and its commands.
    #[serde(default)]
    pub stereo: Stereo,
    /// Which gesture sends which command; at most one entry per button and gesture.
    #[serde(default)]
    pub pairs: Vec<Pair>,
    /// What the box's output is built of.
    #[serde(default)]
    pub output: OutputParts,
    /// What the box is fed through.
    #[serde(default)]
    pub supply: SupplyParts,
    /// The last seat check.
    #[serde(default)]
    pub seat_check: Option<super::SeatCheck>,
}

/// The vehicle.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Vehicle {
    /// What it is called, as the person typed it.
    pub name: String,
    /// Anything worth keeping.
    #[serde(default)]
    pub note: String,
}

/// The wheel: its buttons in order (the order gives each its letter, colour and shape).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Wheel {
    /// How the ladder is joined.
    #[serde(default)]
    pub topology: Topology,
    /// What is known of each wire, by wire number, 1 or 2.
    #[serde(default)]
    pub wires: BTreeMap<u8, WireInfo>,
    /// The buttons, in the order they were entered; 1 to 16.
    #[serde(default)]
    pub buttons: Vec<Button>,
    /// The ladder's return.
    #[serde(default)]
    pub back: ReturnWire,
    /// What the meter found before anything was connected.
    #[serde(default)]
    pub check: MeterCheck,
}

/// Each button pressed once more, to be held against its band.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Recheck {
    /// The feed as the box measured it meanwhile, in volts; `None` where nothing measured it.
    pub feed_v: Option<f64>,
    /// One press of each.
    pub presses: BTreeMap<ButtonId, Press>,
}

/// The ladder's return: the wire that its wires share.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ReturnWire {
    /// Its colour, in the letters of IEC 60757 (`BK` black).
    pub colour: String,
    /// Whether the vehicle grounds it; `None` until it was metered.
    pub grounded: Option<bool>,
}

/// One sense wire, as the meter saw it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WireInfo {
    /// Its colour, in the letters of IEC 60757 (`WHGN` white with green).
    #[serde(default)]
    pub colour: String,
    /// Resistance across the wire and its return with no button pressed, in ohms, 0 to 100 MΩ; `None` is
    /// open.
    #[serde(default)]
    pub rest_ohm: Option<f64>,
    /// Where it is tapped: a connector and its pin, say.
    #[serde(default)]
    pub tapped_at: String,
    /// What two of its buttons read pressed at once: it tells a chain from resistors of their own.
    #[serde(default)]
    pub together: Option<TwoMetered>,
}

/// Two buttons of one wire, metered while both are pressed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TwoMetered {
    /// Which.
    pub buttons: (ButtonId, ButtonId),
    /// Across the wire and the return, in ohms, 0 to 100 MΩ.
    pub ohm: f64,
}

/// One button.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Button {
    /// Its id in the file.
    pub id: ButtonId,
    /// What it is called on the wheel.
    pub name: String,
    /// Its wire, 1 or 2; `None` until a press or the person says so.
    #[serde(default)]
    pub wire: Option<u8>,
    /// Resistance across its wire and the return while pressed, in ohms, 0 to 100 MΩ, by the
    /// meter.
    #[serde(default)]
    pub meter_ohm: Option<f64>,
}

/// What was learned of one button.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LearnedButton {
    /// Its presses, in the order they were made.
    pub presses: Vec<Press>,
    /// The button it cannot be told apart from, where the person took it as such.
    #[serde(default)]
    pub indistinct_from: Option<ButtonId>,
}

/// How learning and bands are done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Plan {
    /// How many presses of each button are asked for; 1 to 9.
    pub presses: u32,
    /// The share of future readings that an accept band must hold; 0.5 to 0.999 999.
    pub coverage: f64,
    /// How sure of that one wants to be; 0.5 to 0.999 999.
    pub confidence: f64,
    /// The converter's own error, in counts, 0 to 1024: no band is narrower. 2 counts typical, ATmega328P
    /// datasheet 8161D, table 28-7, absolute accuracy at a 200 kHz converter clock.
    pub converter_error_count: f64,
    /// The least reject gap between two accept bands, in counts, 0 to 1024.
    pub reject_floor_count: f64,
    /// What the probe's converter runs to.
    pub converter: Converter,
    /// How long a button's band must hold before the box takes it as pressed, in milliseconds, 1 to 64.
    /// By default 32: where a slow press of 1 s passes another button's band of the demo's ladder most
    /// slowly, it moves 0.30 counts a millisecond, and what it moves in a dwell has to exceed the settle
    /// limit of 6 counts and the noise. At 24 and up to 28 ms slow presses were taken as another button
    /// (figures in DEVELOPERS.md, Decisions).
    pub dwell_ms: u8,
    /// How far the readings of that dwell may spread, in counts, 0.5 to 100; `None` takes it from the
    /// noise of what was learned.
    pub settle_count: Option<f64>,
    /// From the moment a button is recognised to a hold, in milliseconds, 100 to 10 000.
    pub hold_ms: u16,
    /// The longest time between the two taps of a double tap, in milliseconds, 50 to 2 000.
    pub double_ms: u16,
    /// Whether a press may roll over to the next button without rest in between.
    pub rollover: bool,
    /// Whether the box drives an infrared LED beside the wired line.
    pub infrared: bool,
    /// Whether something parts the vehicle's supply from USB: a diode, or the board's own regulator
    /// input. Without it both may drive the 5 V rail at once.
    pub supplies_parted: bool,
}

impl Default for Plan {
    fn default() -> Self {
        Self {
            presses: 3,
            coverage: 0.999,
            confidence: 0.95,
            converter_error_count: 2.0,
            reject_floor_count: 8.0,
            converter: Converter::TenBit,
            dwell_ms: 32,
            settle_count: None,
            hold_ms: 600,
            double_ms: 300,
            rollover: false,
            infrared: false,
            supplies_parted: false,
        }
    }
}

/// The stereo.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stereo {
    /// What it is called.
    pub name: String,
    /// What it obeys, in the order they were entered.
    #[serde(default)]
    pub commands: Vec<Command>,
    /// What a meter found at its wired remote input, as far as it was looked at.
    #[serde(default)]
    pub jack: Jack,
    /// The sweep begun last, so that it can go on.
    #[serde(default)]
    pub sweep: Option<Sweep>,
}

/// One command of the stereo.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Command {
    /// Its id in the file.
    pub id: CommandId,
    /// What it does.
    pub name: String,
    /// Its code.
    pub code: Code,
    /// Where the code came from.
    #[serde(default)]
    pub origin: Origin,
    /// Whether the stereo was seen to obey it.
    #[serde(default)]
    pub tried: bool,
    /// What the remote sent, press by press, where it was captured.
    #[serde(default)]
    pub heard: Vec<HeardPress>,
}

/// One press of a remote, as its receiver gave it: the stretch of the marks is still in it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HeardPress {
    /// Mark, space, mark, … in microseconds: the frame and what followed while held.
    pub timings_us: Vec<f64>,
}

/// A run through candidate codes, as far as it has come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    /// Which codes are tried.
    pub range: SweepRange,
    /// From one code to the next, in milliseconds, 500 to 10 000.
    pub pace_ms: u16,
    /// The candidate to be sent next, from 0; as many as there are when all were sent.
    pub next: u16,
    /// The candidates at which the stereo did something, in the order they were marked.
    #[serde(default)]
    pub marks: Vec<SweepMark>,
}

/// A candidate at which the stereo did something.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SweepMark {
    /// Which candidate, from 0.
    pub at: u16,
    /// The command it was named as, once it was.
    #[serde(default)]
    pub command: Option<CommandId>,
}

/// What one does to a button.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gesture {
    /// Pressed and let go.
    #[default]
    Tap,
    /// Pressed and held.
    Hold,
    /// Tapped twice.
    DoubleTap,
}

/// One path from a gesture to a command.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pair {
    /// Which button.
    pub button: ButtonId,
    /// What is done to it.
    pub gesture: Gesture,
    /// What is sent; `None` while it is still to be chosen.
    pub command: Option<CommandId>,
    /// Whether the code repeats while the button is held.
    #[serde(default)]
    pub repeats: bool,
    /// While held, a press anew each so many milliseconds, 50 to 750 in steps of 50; `None` lets the
    /// code repeat as its family does.
    #[serde(default)]
    pub every_ms: Option<u16>,
}

impl Project {
    /// A vehicle with nothing known but its name and the stereo's.
    #[must_use]
    pub fn new(vehicle: &str, stereo: &str) -> Self {
        Self {
            format: FORMAT,
            vehicle: Vehicle { name: vehicle.to_owned(), note: String::new() },
            wheel: Wheel::default(),
            circuit: None,
            parts: Parts::default(),
            plan: Plan::default(),
            rests: BTreeMap::new(),
            learned: BTreeMap::new(),
            learned_on: None,
            rechecked: None,
            edges: BTreeMap::new(),
            traces: Vec::new(),
            stereo: Stereo { name: stereo.to_owned(), ..Stereo::default() },
            pairs: Vec::new(),
            output: OutputParts::default(),
            supply: SupplyParts::default(),
            seat_check: None,
        }
    }

    /// The button with this id, and its place in the order.
    #[must_use]
    pub fn button(&self, id: &ButtonId) -> Option<(usize, &Button)> {
        self.wheel.buttons.iter().enumerate().find(|(_, button)| button.id == *id)
    }

    /// The command with this id.
    #[must_use]
    pub fn command(&self, id: &CommandId) -> Option<&Command> {
        self.stereo.commands.iter().find(|command| command.id == *id)
    }

    /// How many presses of this button are kept.
    #[must_use]
    pub fn press_count(&self, id: &ButtonId) -> usize {
        self.learned.get(id).map_or(0, |learned| learned.presses.len())
    }

    /// Whether this button has all the presses the plan asks for.
    #[must_use]
    pub fn is_learned(&self, id: &ButtonId) -> bool {
        self.press_count(id) >= self.plan.presses as usize
    }
}
