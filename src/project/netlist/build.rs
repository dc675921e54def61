//! From a project to its netlist. Knows values and who gave them, and solves nothing.

use super::{NetPart, NetRung, NetWire, Netlist, NodeId, NodeRole, PartId, PartKind, PartRole, Whose};
use crate::circuit::{Circuit, Module, REFERENCE_INPUT_OHM, Reference, ReverseGuard, Sense};
use crate::project::{Button, Project};
use crate::units::WIRES;
use crate::wheel::Topology;

/// At the reference input, in farads: 100 nF, as the pin table says (`wire::PINS`).
const REFERENCE_FARAD: f64 = 100e-9;

pub(super) fn netlist(project: &Project) -> Netlist {
    let mut maker = Maker {
        net: Netlist {
            nodes: vec![NodeRole::Ground, NodeRole::Feed],
            parts: Vec::new(),
            wires: Vec::new(),
            held: vec![(Netlist::GROUND, 0.0)],
            circuit: project.circuit.clone(),
            topology: project.wheel.topology,
            names: project.wheel.buttons.iter().map(|button| button.name.clone()).collect(),
            stereo: project.stereo.name.clone(),
            tap: project.supply.tap,
        },
    };
    if let Some(circuit) = &project.circuit {
        maker
            .net
            .held
            .push((Netlist::FEED, module_of(circuit).map_or(circuit.feed_v, |module| module.supply_v)));
        if module_of(circuit).is_some() {
            let module = maker.node(NodeRole::Module);
            maker.net.held.push((module, circuit.feed_v));
        }
    }
    for number in 1..=WIRES as u8 {
        let is_used = project.wheel.buttons.iter().any(|button| wire_of(button) == number);
        if number == 1 || is_used || project.wheel.wires.contains_key(&number) {
            let wire = maker.wire(project, number);
            maker.net.wires.push(wire);
        }
    }
    maker.monitor_and_reference(project.circuit.as_ref());
    maker.output(project);
    maker.supply(project);
    maker.net
}

/// The wire a button is on; 1 where the project doesn't say.
fn wire_of(button: &Button) -> u8 {
    button.wire.unwrap_or(1)
}

/// The factory module that pulls the wire up. Beside a resistor to ground there is none: the circuit is
/// refused (`Problem::ModuleSense`).
fn module_of(circuit: &Circuit) -> Option<Module> {
    circuit.module.filter(|_| circuit.sense == Sense::PullUp)
}

struct Maker {
    net: Netlist,
}

impl Maker {
    fn node(&mut self, role: NodeRole) -> NodeId {
        self.net.nodes.push(role);
        NodeId(self.net.nodes.len() - 1)
    }

    fn part(&mut self, role: PartRole, kind: PartKind, whose: Whose, a: NodeId, b: NodeId) -> PartId {
        self.net.parts.push(NetPart { role, kind, whose, a, b, c: None });
        PartId(self.net.parts.len() - 1)
    }

    fn wire(&mut self, project: &Project, number: u8) -> NetWire {
        let circuit = project.circuit.as_ref();
        let is_pull_down = circuit.is_some_and(|circuit| circuit.sense == Sense::PullDown);
        let sense = self.node(NodeRole::Sense(number));
        let (start, back, sense_to) = if is_pull_down {
            (Netlist::FEED, sense, Netlist::GROUND)
        } else {
            (sense, Netlist::GROUND, self.ladder_feed())
        };
        let (rungs, end) = self.ladder(project, number, start, back);
        let sense_ohm = circuit.map(|circuit| circuit.sense_ohm);
        let whose = if self.net.node(NodeRole::Module).is_some() { Whose::Vehicle } else { Whose::Box };
        let sense_resistor =
            self.part(PartRole::Sense(number), PartKind::Resistor(sense_ohm), whose, sense, sense_to);
        let leak = circuit.and_then(|circuit| circuit.leak_ohm).map(|ohm| {
            let kind = PartKind::Resistor(Some(ohm));
            self.part(PartRole::Leak(number), kind, Whose::Vehicle, sense, Netlist::GROUND)
        });
        let filter = circuit.map(|circuit| circuit.filter);
        let series_ohm = filter.map(|filter| filter.series_ohm);
        let (pin, filter_resistor) = if series_ohm == Some(0.0) {
            (sense, None)
        } else {
            let pin = self.node(NodeRole::Pin(number));
            let kind = PartKind::Resistor(series_ohm);
            (pin, Some(self.part(PartRole::FilterResistor(number), kind, Whose::Box, sense, pin)))
        };
        let farad = filter.map(|filter| filter.farad);
        let filter_capacitor = (farad != Some(0.0)).then(|| {
            let kind = PartKind::Capacitor(farad);
            self.part(PartRole::FilterCapacitor(number), kind, Whose::Box, pin, Netlist::GROUND)
        });
        NetWire { number, sense, pin, rungs, end, sense_resistor, filter_resistor, filter_capacitor, leak }
    }

    /// What feeds the ladder: a factory module, or the box's rail.
    fn ladder_feed(&self) -> NodeId {
        self.net.node(NodeRole::Module).unwrap_or(Netlist::FEED)
    }

    /// The wheel's side of one wire.
    fn ladder(
        &mut self,
        project: &Project,
        number: u8,
        start: NodeId,
        back: NodeId,
    ) -> (Vec<NetRung>, Option<PartId>) {
        let contact_ohm = contact_ohm(project);
        let rest_ohm = project.wheel.wires.get(&number).and_then(|wire| wire.rest_ohm);
        let mut seen: Vec<(usize, Option<f64>)> = project
            .wheel
            .buttons
            .iter()
            .enumerate()
            .filter(|(_, button)| wire_of(button) == number)
            .map(|(place, button)| (place, seen_ohm(project, button)))
            .collect();
        // Along the chain the resistance grows; what isn't known stands at the end. Sorting keeps order.
        seen.sort_by(|a, b| a.1.unwrap_or(f64::INFINITY).total_cmp(&b.1.unwrap_or(f64::INFINITY)));
        let is_chain = project.wheel.topology == Topology::Series;
        let mut far = start;
        let mut so_far = Some(0.0);
        let mut rungs = Vec::new();
        for (button, seen_ohm) in seen {
            let ohm = if is_chain {
                let tap_ohm = seen_ohm.and_then(|seen| own_ohm(project, seen, rest_ohm));
                let step = tap_ohm.zip(so_far).map(|(tap, before)| tap - before);
                so_far = tap_ohm;
                step
            } else {
                seen_ohm.and_then(|seen| own_ohm(project, seen, rest_ohm))
            };
            let tap = self.node(NodeRole::Tap(button));
            let from = if is_chain { far } else { start };
            let kind = PartKind::Resistor(ohm);
            let resistor = self.part(PartRole::Ladder(button), kind, Whose::Wheel, from, tap);
            let kind = PartKind::Switch(contact_ohm);
            let switch = self.part(PartRole::Button(button), kind, Whose::Wheel, tap, back);
            rungs.push(NetRung { button, seen_ohm, resistor, switch });
            if is_chain {
                far = tap;
            }
        }
        let end = rest_ohm.map(|rest| {
            // At rest the whole chain is seen; less than its last tap can't be.
            let ohm = if is_chain { so_far.map(|so_far| rest - so_far) } else { Some(rest) };
            let kind = PartKind::Resistor(ohm.filter(|ohm| *ohm >= 0.0));
            self.part(PartRole::EndOfLine(number), kind, Whose::Wheel, far, back)
        });
        (rungs, end)
    }

    fn monitor_and_reference(&mut self, circuit: Option<&Circuit>) {
        if let Some(monitor) = circuit.and_then(|circuit| circuit.feed_monitor) {
            let pin = self.node(NodeRole::Monitor);
            let upper = PartKind::Resistor(Some(monitor.upper_ohm));
            self.part(PartRole::MonitorUpper, upper, Whose::Box, self.ladder_feed(), pin);
            let lower = PartKind::Resistor(Some(monitor.lower_ohm));
            self.part(PartRole::MonitorLower, lower, Whose::Box, pin, Netlist::GROUND);
        }
        let reference = self.node(NodeRole::Reference);
        let capacitor = PartKind::Capacitor(Some(REFERENCE_FARAD));
        self.part(PartRole::ReferenceCapacitor, capacitor, Whose::Box, reference, Netlist::GROUND);
        match circuit.map(|circuit| circuit.reference) {
            // Chosen inside the chip: the pin stands at the chip's own volts.
            Some(Reference::Internal { volt }) => self.net.held.push((reference, volt)),
            Some(Reference::Supply) => {
                let volt = self.net.held_v(NodeRole::Feed);
                self.net.held.extend(volt.map(|volt| (reference, volt)));
            }
            Some(Reference::External { volt, series_ohm, pin_v }) => {
                let source = self.node(NodeRole::ReferenceSource);
                self.net.held.push((source, volt));
                // What the meter said of the pin holds: then nothing of it hangs on the input's typical
                // resistance, and 0 Ω between two sources would be a contradiction.
                self.net.held.extend(pin_v.map(|pin_v| (reference, pin_v)));
                if pin_v.is_none() || series_ohm > 0.0 {
                    let series = PartKind::Resistor(Some(series_ohm));
                    self.part(PartRole::ReferenceResistor, series, Whose::Box, source, reference);
                }
                if pin_v.is_some() {
                    return;
                }
                let input = PartKind::Resistor(Some(REFERENCE_INPUT_OHM));
                self.part(PartRole::ReferenceInput, input, Whose::Box, reference, Netlist::GROUND);
            }
            None => {}
        }
    }

    /// The output on the stereo's line, idle.
    fn output(&mut self, project: &Project) {
        let parts = &project.output;
        let [drive, base] = [NodeRole::Drive, NodeRole::Base].map(|role| self.node(role));
        self.net.held.push((drive, 0.0));
        let resistor = |ohm: f64| PartKind::Resistor(Some(ohm));
        self.part(PartRole::BaseResistor, resistor(parts.base_ohm), Whose::Box, drive, base);
        if let Some(ohm) = parts.base_pulldown_ohm {
            self.part(PartRole::BasePullDown, resistor(ohm), Whose::Box, base, Netlist::GROUND);
        }
        let line = self.node(NodeRole::Line);
        let collector = if parts.series_ohm > 0.0 {
            let collector = self.node(NodeRole::Collector);
            self.part(PartRole::LineResistor, resistor(parts.series_ohm), Whose::Box, collector, line);
            collector
        } else {
            line
        };
        let output = PartKind::Transistor(parts.device);
        self.part(PartRole::Output, output, Whose::Box, base, collector);
        self.third_to_ground();
        if parts.farad() > 0.0 {
            let capacitor = PartKind::Capacitor(Some(parts.farad()));
            self.part(PartRole::LineCapacitance, capacitor, Whose::Stereo, line, Netlist::GROUND);
        }
        let jack = &project.stereo.jack;
        let supply = self.node(NodeRole::StereoSupply);
        if let Some(volt) = jack.idle_v {
            self.net.held.push((supply, volt));
        }
        let pull_up = PartKind::Resistor(jack.pull_up_ohm());
        self.part(PartRole::PullUp, pull_up, Whose::Stereo, supply, line);
    }

    /// From the vehicle to the rail. What isn't fitted leaves no node behind.
    fn supply(&mut self, project: &Project) {
        let parts = &project.supply;
        let accessory = self.node(NodeRole::Accessory);
        let fused = match parts.fuse_amp {
            Some(amp) => {
                let fused = self.node(NodeRole::Fused);
                self.part(PartRole::Fuse, PartKind::Fuse(amp), Whose::Vehicle, accessory, fused);
                fused
            }
            None => accessory,
        };
        let entry = self.node(NodeRole::Entry);
        let wire = PartKind::Wire { gauge: parts.wire, metre: parts.wire_m };
        self.part(PartRole::SupplyWire, wire, Whose::Vehicle, fused, entry);
        let guarded = if parts.reverse == ReverseGuard::Nothing {
            entry
        } else {
            let guarded = self.node(NodeRole::Guarded);
            self.part(PartRole::Guard, PartKind::Guard(parts.reverse), Whose::Box, entry, guarded);
            guarded
        };
        if let Some(suppressor) = parts.suppressor {
            let kind = PartKind::Suppressor(suppressor.standoff_v);
            self.part(PartRole::Suppressor, kind, Whose::Box, guarded, Netlist::GROUND);
        }
        let regulator = PartKind::Regulator(parts.regulator);
        self.part(PartRole::Regulator, regulator, Whose::Box, guarded, Netlist::FEED);
        self.third_to_ground();
    }

    /// The third node of the part made last is ground.
    fn third_to_ground(&mut self) {
        if let Some(part) = self.net.parts.last_mut() {
            part.c = Some(Netlist::GROUND);
        }
    }
}

/// What the meter shows of a button, in ohms, or would show by what was learned of it and the sense
/// circuit.
fn seen_ohm(project: &Project, button: &Button) -> Option<f64> {
    button.meter_ohm.filter(|ohm| *ohm >= 0.0).or_else(|| {
        let circuit = project.circuit.as_ref()?;
        let presses = &project.learned.get(&button.id)?.presses;
        let mean = presses.iter().map(|press| press.median_count).sum::<f64>() / presses.len() as f64;
        // The middle of what the converter reads as this count.
        circuit.ohm_from_count(mean + 0.5).map(|ohm| (ohm - circuit.contact_ohm).max(0.0))
    })
}

/// What contact and slip ring add in use to a pressed button, in ohms.
fn contact_ohm(project: &Project) -> f64 {
    project.circuit.as_ref().map_or(0.0, |circuit| circuit.contact_ohm)
}

/// A button's own tap or resistor, from what the meter shows of it: such that in use, pressed alone, it
/// reads as predicted; `None` where a parallel ladder shows more than at rest.
fn own_ohm(project: &Project, meter_ohm: f64, rest_ohm: Option<f64>) -> Option<f64> {
    let contact_ohm = contact_ohm(project);
    // Nothing to take apart: the meter's own digits stay.
    if contact_ohm == 0.0 && project.wheel.topology == Topology::Series {
        return Some(meter_ohm);
    }
    let seen_ohm = project.circuit.as_ref().map_or(meter_ohm, |circuit| circuit.pressed_ohm(meter_ohm));
    let open_ohm = rest_ohm.unwrap_or(f64::INFINITY);
    let own_ohm = crate::circuit::own_ohm(project.wheel.topology, seen_ohm, open_ohm, contact_ohm);
    own_ohm.is_finite().then_some(own_ohm)
}
