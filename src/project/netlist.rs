//! A project's own values as one circuit: parts, and the nodes they join, from the wheel's ladder to
//! the stereo's line and the box's supply. What is drawn, what is solved and what goes onto the sheet is
//! this one list. Knows no place on paper and no screen.
//!
//! What isn't known is in it all the same, without a value: it is drawn dashed, and what hangs on it
//! has no volts.

mod build;
mod solve;
#[cfg(test)]
mod tests;

use super::Project;
use crate::circuit::{Device, Gauge, Regulator, ReverseGuard, Tap};

pub use solve::{NetError, NetPoint};

/// One node, by its place in [`Netlist::nodes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub usize);

/// One part, by its place in [`Netlist::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartId(pub usize);

/// Where a part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Whose {
    /// In the steering wheel.
    Wheel,
    /// In the box.
    Box,
    /// In the stereo.
    Stereo,
    /// In the vehicle, on the way to the box.
    Vehicle,
}

/// What a node is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NodeRole {
    /// Ground, which everything shares.
    Ground,
    /// The box's 5 V rail: it feeds the chip, and the ladder where no factory module does.
    Feed,
    /// What a factory module pulls the wire up to.
    Module,
    /// A wheel's wire where it meets the box, by its number.
    Sense(u8),
    /// The converter's pin behind the filter, by the wire's number.
    Pin(u8),
    /// A button's own end of its switch, by the button's place in the project.
    Tap(usize),
    /// The pin of the feed monitor.
    Monitor,
    /// The converter's reference input.
    Reference,
    /// What a reference from outside stands at before its resistor.
    ReferenceSource,
    /// The pin that drives the output.
    Drive,
    /// The output transistor's base or gate.
    Base,
    /// Its collector or drain.
    Collector,
    /// The stereo's wired remote line.
    Line,
    /// What the stereo pulls its line up to.
    StereoSupply,
    /// The vehicle's switched supply.
    Accessory,
    /// Behind the fuse.
    Fused,
    /// Where the wire from the source meets the box.
    Entry,
    /// Behind the guard against reversed supply, where the suppressor stands.
    Guarded,
}

/// What a part does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PartRole {
    /// A chain's step before a button's tap, or a button's own resistor: by the button's place.
    Ladder(usize),
    /// A button, by its place.
    Button(usize),
    /// The resistor at the ladder's far end, by wire.
    EndOfLine(u8),
    /// The sense resistor, by wire; with a factory module, what that pulls the wire up through.
    Sense(u8),
    /// A path from the sense node to ground that should not be there, by wire.
    Leak(u8),
    /// The filter's resistor, by wire.
    FilterResistor(u8),
    /// The filter's capacitor, by wire.
    FilterCapacitor(u8),
    /// From the feed to the monitor's pin.
    MonitorUpper,
    /// From the monitor's pin to ground.
    MonitorLower,
    /// Between an outside reference and the reference input.
    ReferenceResistor,
    /// The chip's own resistance at its reference input.
    ReferenceInput,
    /// The reference input's capacitor.
    ReferenceCapacitor,
    /// From the pin to the output transistor's base or gate.
    BaseResistor,
    /// From there to ground.
    BasePullDown,
    /// The output transistor.
    Output,
    /// From its collector or drain to the line.
    LineResistor,
    /// What cable and input have between line and ground.
    LineCapacitance,
    /// The stereo's own pull-up.
    PullUp,
    /// The fuse.
    Fuse,
    /// From the source to the box.
    SupplyWire,
    /// Against reversed supply.
    Guard,
    /// Against surges.
    Suppressor,
    /// From the vehicle's volts to 5 V.
    Regulator,
}

/// What a part is, and its value; `None` where that isn't known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PartKind {
    /// A resistor, in ohms.
    Resistor(Option<f64>),
    /// A switch; closed it is its contact, in ohms.
    Switch(f64),
    /// A capacitor, in farads.
    Capacitor(Option<f64>),
    /// A transistor; nodes are base, collector, emitter, or gate, drain, source.
    Transistor(Device),
    /// A fuse, in amperes.
    Fuse(f64),
    /// A length of wire whose resistance counts for little.
    Wire {
        /// Its gauge.
        gauge: Gauge,
        /// Its length, in metres.
        metre: f64,
    },
    /// What a reversed supply is held off by, from the source's side to the box's.
    Guard(ReverseGuard),
    /// A suppressor, its stand-off in volts.
    Suppressor(f64),
    /// A regulator to the box's 5 V.
    Regulator(Regulator),
}

/// One part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NetPart {
    /// What it does.
    pub role: PartRole,
    /// What it is.
    pub kind: PartKind,
    /// Where it is.
    pub whose: Whose,
    /// Its first node; a transistor's base.
    pub a: NodeId,
    /// Its second node; a transistor's collector.
    pub b: NodeId,
    /// A transistor's emitter, a regulator's ground.
    pub c: Option<NodeId>,
}

/// A button on its ladder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NetRung {
    /// Its place in the project, from 0.
    pub button: usize,
    /// Across the wire and its return while pressed alone, without the contact, in ohms.
    pub seen_ohm: Option<f64>,
    /// Its step of the chain, or its own resistor.
    pub resistor: PartId,
    /// Its switch.
    pub switch: PartId,
}

/// One wire with all that hangs on it.
#[derive(Clone, Debug, PartialEq)]
pub struct NetWire {
    /// Its number, 1 or 2.
    pub number: u8,
    /// Where it meets the box.
    pub sense: NodeId,
    /// The converter's pin.
    pub pin: NodeId,
    /// Its buttons, from the ladder's start on; those of unknown resistance last.
    pub rungs: Vec<NetRung>,
    /// The resistor at the ladder's far end, where there is one.
    pub end: Option<PartId>,
    /// The sense resistor.
    pub sense_resistor: PartId,
    /// The filter's resistor, where there is one.
    pub filter_resistor: Option<PartId>,
    /// The filter's capacitor, where there is one.
    pub filter_capacitor: Option<PartId>,
    /// The leak, where one is reckoned with.
    pub leak: Option<PartId>,
}

/// A project as one circuit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Netlist {
    /// The nodes; ground is the first, the feed the second.
    pub nodes: Vec<NodeRole>,
    /// The parts.
    pub parts: Vec<NetPart>,
    /// The wires with their ladders, one or two.
    pub wires: Vec<NetWire>,
    /// Nodes that a source holds, with their volts. The stereo's line idles, and the drive pin is low.
    pub held: Vec<(NodeId, f64)>,
    /// The sense circuit, where it is known.
    pub circuit: Option<crate::circuit::Circuit>,
    /// How the ladders are joined.
    pub topology: crate::wheel::Topology,
    /// The buttons' names, by their place.
    pub names: Vec<String>,
    /// What the stereo is called.
    pub stereo: String,
    /// Where the supply is tapped.
    pub tap: Tap,
}

impl Netlist {
    /// Ground.
    pub const GROUND: NodeId = NodeId(0);
    /// The feed.
    pub const FEED: NodeId = NodeId(1);

    /// Of this project.
    #[must_use]
    pub fn of(project: &Project) -> Self {
        build::netlist(project)
    }

    /// The part that does this, with its number.
    #[must_use]
    pub fn find(&self, role: PartRole) -> Option<(PartId, &NetPart)> {
        self.parts.iter().enumerate().find(|(_, part)| part.role == role).map(|(id, part)| (PartId(id), part))
    }

    /// A part by its number.
    #[must_use]
    pub fn part(&self, id: PartId) -> Option<&NetPart> {
        self.parts.get(id.0)
    }

    /// The node that is this.
    #[must_use]
    pub fn node(&self, role: NodeRole) -> Option<NodeId> {
        self.nodes.iter().position(|node| *node == role).map(NodeId)
    }

    /// What a source holds a node at, in volts.
    #[must_use]
    pub fn held_v(&self, role: NodeRole) -> Option<f64> {
        let node = self.node(role)?;
        self.held.iter().find(|(held, _)| *held == node).map(|(_, volt)| *volt)
    }

    /// The wire a button is on.
    #[must_use]
    pub fn wire_of(&self, button: usize) -> Option<&NetWire> {
        self.wires.iter().find(|wire| wire.rungs.iter().any(|rung| rung.button == button))
    }
}

impl NetPart {
    /// Its resistance with these buttons (by their place) pressed, in ohms: infinite for an open switch
    /// and for what lets no steady current through; `None` where it isn't known, or is no resistor.
    #[must_use]
    pub fn ohm(&self, pressed: &[usize]) -> Option<f64> {
        match (self.kind, self.role) {
            (PartKind::Resistor(ohm), _) => ohm,
            (PartKind::Switch(contact_ohm), PartRole::Button(button)) => {
                Some(if pressed.contains(&button) { contact_ohm } else { f64::INFINITY })
            }
            (PartKind::Capacitor(_), _) => Some(f64::INFINITY),
            _ => None,
        }
    }

    /// Whether its value is known.
    #[must_use]
    pub const fn is_known(&self) -> bool {
        match self.kind {
            PartKind::Resistor(value) | PartKind::Capacitor(value) => value.is_some(),
            _ => true,
        }
    }

    /// Whether it is part of what is solved: resistors and switches are, the output transistor (which
    /// idles) and the supply's parts aren't.
    #[must_use]
    pub const fn is_solved(&self) -> bool {
        matches!(self.kind, PartKind::Resistor(_) | PartKind::Switch(_))
    }
}
