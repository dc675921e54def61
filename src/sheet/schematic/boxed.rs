//! What is in the box: sense resistor and filter of a wire, the chip with its pins, the feed monitor,
//! the reference, and flags with volts and counts.

use super::super::shape::at;
use super::super::{Anchor, Fill, Frame, TextSize, cut_to, values};
use super::pen::{Lies, Pen};
use super::wheel::{is_pull_down, winner};
use super::{Plan, Shown};
use crate::circuit::Reference;
use crate::project::netlist::{NetWire, NodeRole, PartKind, PartRole};
use crate::units::{amp_text, count_text, volt_text};

/// How wide the chip is.
const CHIP: f32 = 96.0;

/// What the filter's settling may say between its resistor and the chip.
const SETTLE_WORDS: f32 = 64.0;

/// A wire's sense circuit, from its node to the chip.
pub(super) fn sense(pen: &mut Pen<'_>, plan: &Plan, bank: usize, wire: &NetWire, shown: &Shown) {
    let pressed = &shown.pressed();
    let y = Plan::rail(bank);
    let (node, pull) = (plan.node(), plan.pull());
    let towards = if is_pull_down(pen) { 1.0 } else { -1.0 };
    // The resistor, to the feed or to ground.
    pen.wire(&[at(pull, y), at(pull, y + towards * 58.0)]);
    if let Some(volt) = pen.net.held_v(NodeRole::Module) {
        pen.rail(at(pull, y - 58.0), &volt_text(volt), true);
        pen.dot(at(pull, y));
    } else if towards < 0.0 {
        pen.rail(at(pull, y - 58.0), "feed", true);
    } else {
        pen.ground(at(pull, y + 58.0));
    }
    pen.resistor(at(pull, y + towards * 30.0), Lies::Down, wire.sense_resistor, true);
    if let Some(PartKind::Resistor(ohm)) = pen.net.part(wire.sense_resistor).map(|part| part.kind) {
        let words = values::ohm_with_unit(ohm);
        pen.bold(at(pull + 14.0, y + towards * 30.0), Anchor::Start, TextSize::Body, &words);
    }
    let point = pen.point;
    let amp = point.and_then(|point| point.amp_through(wire.sense_resistor)).map(f64::abs);
    if let Some(amp) = amp.filter(|_| !pressed.is_empty()) {
        let away = if towards < 0.0 { -48.0 } else { 48.0 };
        pen.label(at(pull + 14.0, y + away), Anchor::Start, &amp_text(amp));
    }
    pen.dot(at(node, y));
    let name = if pen.net.wires.len() > 1 {
        format!("Sense node of wire {}", wire.number)
    } else {
        "Sense node".to_owned()
    };
    pen.tell_node(at(node, y), &name, wire.sense, true);
    leak(pen, plan, y, wire);
    filter(pen, plan, y, wire, &shown.settle);
    let Some(volt) = point.and_then(|point| point.volt_at(wire.sense)) else { return };
    let count = pen
        .net
        .count(volt)
        .map_or_else(String::new, |count| format!("{} counts", count_text(f64::from(count), 0)));
    let button = winner(pen, wire, pressed).map(|(_, button)| button);
    let top = if towards < 0.0 { y + 14.0 } else { y - 60.0 };
    pen.flag(at(node - 40.0, top), false, &volt_text(volt), &count, button);
}

/// A leak stands between wheel and box: it is in the loom.
fn leak(pen: &mut Pen<'_>, plan: &Plan, y: f32, wire: &NetWire) {
    let Some(id) = wire.leak else { return };
    let x = plan.wheel_right() + 20.0;
    pen.dot(at(x, y));
    pen.wire(&[at(x, y), at(x, y + 50.0)]);
    pen.resistor(at(x, y + 28.0), Lies::Down, id, false);
    pen.ground(at(x, y + 50.0));
    if let Some(PartKind::Resistor(ohm)) = pen.net.part(id).map(|part| part.kind) {
        pen.label(at(x, y + 74.0), Anchor::Middle, &values::ohm(ohm));
        pen.second(at(x, y + 88.0), Anchor::Middle, "leak");
    }
}

fn filter(pen: &mut Pen<'_>, plan: &Plan, y: f32, wire: &NetWire, settle: &str) {
    let (node, chip) = (plan.node(), plan.chip());
    let pin = at(node + 90.0, y);
    pen.wire(&[at(node, y), at(chip, y)]);
    if let Some(id) = wire.filter_resistor {
        let middle = at(node + 52.0, y);
        pen.resistor(middle, Lies::Across, id, false);
        if let Some(PartKind::Resistor(ohm)) = pen.net.part(id).map(|part| part.kind) {
            pen.label(at(middle.x, y - 14.0), Anchor::Middle, &values::ohm(ohm));
        }
    }
    if let Some(id) = wire.filter_capacitor {
        pen.dot(pin);
        pen.capacitor(pin, id, 28.0, 46.0);
        if let Some(PartKind::Capacitor(farad)) = pen.net.part(id).map(|part| part.kind) {
            pen.label(at(pin.x + 14.0, y + 28.0), Anchor::Start, &values::farad(farad));
        }
    }
    if !settle.is_empty() && wire.filter_capacitor.is_some() {
        let place = at(node + 108.0, y - 14.0);
        let words = cut_to(settle, TextSize::Small, SETTLE_WORDS);
        pen.second(place, Anchor::Middle, &words);
        let frame = Frame::round(place, SETTLE_WORDS, 14.0);
        pen.tell(frame, format!("Filter, settles to half a count in {settle}"));
    }
    let name = format!("Converter pin ADC{}", wire.number.saturating_sub(1));
    pen.tell_node(at(chip - 8.0, y), &name, wire.pin, true);
}

/// The chip, what feeds it, what it measures against, and its receiver.
pub(super) fn chip(pen: &mut Pen<'_>, plan: &Plan, shown: &Shown) {
    let (chip, down) = (plan.chip(), plan.down);
    let frame = Frame { left: chip, top: 66.0, right: chip + CHIP, bottom: 298.0 + down };
    pen.area(frame, Fill::Raised, false);
    pen.second(at(chip + CHIP / 2.0, 55.0), Anchor::Middle, "ATmega328P");
    for (bank, wire) in pen.net.wires.iter().enumerate() {
        let name = format!("ADC{}", wire.number.saturating_sub(1));
        pen.label(at(chip + 7.0, Plan::rail(bank)), Anchor::Start, &name);
    }
    monitor(pen, plan);
    // Ladder, reference and chip share the rail, so readings are ratios.
    let (feed, pin) = (plan.node() + 90.0, 216.0 + down);
    pen.rail(at(feed, pin - 26.0), "feed", true);
    pen.wire(&[at(feed, pin - 26.0), at(feed, pin), at(chip, pin)]);
    pen.label(at(chip + 7.0, pin), Anchor::Start, "AVCC");
    let nominal = pen.net.held_v(NodeRole::Feed);
    let (volts, by) = match (shown.supply_v, nominal) {
        (Some(volt), _) => (volt_text(volt), "by the chip"),
        (None, Some(volt)) => (volt_text(volt), "as planned"),
        (None, None) => ("5 V".to_owned(), "not measured"),
    };
    pen.flag(at(feed - 62.0, pin + 6.0), false, &volts, by, None);
    pen.tell(Frame::round(at(feed, pin - 26.0), 24.0, 16.0), format!("Feed, {volts} {by}"));
    reference(pen, plan);
    let receiver = at(chip + CHIP, 236.0);
    pen.label(at(receiver.x - 7.0, receiver.y), Anchor::End, "ICP1");
    pen.wire(&[receiver, at(receiver.x + 18.0, receiver.y)]);
    let part = Frame::round(at(receiver.x + 62.0, receiver.y), 88.0, 34.0);
    pen.area(part, Fill::Raised, false);
    pen.label(at(receiver.x + 62.0, receiver.y), Anchor::Middle, "IR receiver");
    pen.tell(part, "Infrared receiver, on pin ICP1".to_owned());
}

fn monitor(pen: &mut Pen<'_>, plan: &Plan) {
    let upper = pen.net.find(PartRole::MonitorUpper).map(|(id, part)| (id, part.kind));
    let lower = pen.net.find(PartRole::MonitorLower).map(|(id, part)| (id, part.kind));
    let (Some((upper, upper_kind)), Some((lower, lower_kind))) = (upper, lower) else { return };
    let (x, top, chip) = (490.0 + plan.right, 186.0 + plan.down, plan.chip());
    let tap = top + 42.0;
    pen.rail(at(x, top), if plan.module { "module" } else { "feed" }, true);
    pen.wire(&[at(x, top), at(x, top + 84.0)]);
    pen.ground(at(x, top + 84.0));
    let pin = top - 20.0;
    pen.wire(&[at(x, tap), at(x + 50.0, tap), at(x + 50.0, pin), at(chip, pin)]);
    pen.dot(at(x, tap));
    for (id, kind, y) in [(upper, upper_kind, top + 20.0), (lower, lower_kind, top + 64.0)] {
        pen.resistor(at(x, y), Lies::Down, id, false);
        if let PartKind::Resistor(ohm) = kind {
            pen.label(at(x + 11.0, y), Anchor::Start, &values::ohm(ohm));
        }
    }
    pen.label(at(chip + 7.0, pin), Anchor::Start, "ADC2");
    if let Some(node) = pen.net.node(NodeRole::Monitor) {
        pen.tell_node(at(x, tap), "Feed monitor pin ADC2", node, true);
    }
}

fn reference(pen: &mut Pen<'_>, plan: &Plan) {
    let (chip, y) = (plan.chip(), 272.0 + plan.down);
    let x = chip - 24.0;
    pen.label(at(chip + 7.0, y), Anchor::Start, "AREF");
    pen.wire(&[at(chip, y), at(x, y)]);
    if let Some((id, part)) = pen.net.find(PartRole::ReferenceCapacitor) {
        let kind = part.kind;
        pen.capacitor(at(x, y), id, 16.0, 32.0);
        if let PartKind::Capacitor(farad) = kind {
            pen.label(at(x + 14.0, y + 38.0), Anchor::Start, &values::farad(farad));
        }
    }
    if let Some(node) = pen.net.node(NodeRole::Reference) {
        pen.tell_node(at(x, y), "Reference", node, false);
    }
    match pen.net.circuit.as_ref().map(|circuit| circuit.reference) {
        None => {}
        Some(Reference::Supply) => pen.second(at(x - 8.0, y), Anchor::End, "supply, inside"),
        Some(Reference::Internal { volt }) => {
            pen.second(at(x - 8.0, y), Anchor::End, &format!("{} inside", volt_text(volt)));
        }
        Some(Reference::External { volt, .. }) => {
            pen.dot(at(x, y));
            let source = at(x - 68.0, y);
            pen.wire(&[at(x, y), at(source.x + 3.0, y)]);
            if let Some((id, _)) = pen.net.find(PartRole::ReferenceResistor) {
                pen.resistor(at(x - 34.0, y), Lies::Across, id, false);
                value_below(pen, x - 34.0, y + 15.0);
            }
            pen.terminal(source, 3.5);
            pen.bold(at(source.x - 9.0, y), Anchor::End, TextSize::Small, &volt_text(volt));
            if let Some(node) = pen.net.node(NodeRole::ReferenceSource) {
                pen.tell_node(source, "Reference from outside", node, false);
            }
        }
    }
}

fn value_below(pen: &mut Pen<'_>, x: f32, y: f32) {
    if let Some((_, part)) = pen.net.find(PartRole::ReferenceResistor)
        && let PartKind::Resistor(ohm) = part.kind
    {
        pen.label(at(x, y), Anchor::Middle, &values::ohm(ohm));
    }
}

/// The chip's right side.
pub(super) fn chip_right(plan: &Plan) -> f32 {
    plan.chip() + CHIP
}
