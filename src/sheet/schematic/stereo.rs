//! The box's output and the stereo's line with its own pull-up.

use super::super::shape::at;
use super::super::{Anchor, Fill, Frame, Spot, TextSize, cut_to, values};
use super::boxed::chip_right;
use super::pen::{Lies, Pen};
use super::{Plan, Shown};
use crate::project::netlist::{NodeRole, PartKind, PartRole};
use crate::units::volt_text;

/// What a flag beside the box may say, in points: from its edge to the drawing's.
const FLAG_WORDS: f32 = 87.5;

/// From the chip's pin to the stereo's line.
pub(super) fn output(pen: &mut Pen<'_>, plan: &Plan, shown: &Shown) {
    let (left, y, right) = (chip_right(plan), 100.0, plan.right);
    pen.label(at(left - 7.0, y), Anchor::End, "OC1A");
    pen.wire(&[at(left, y), at(left + 79.0, y)]);
    resistor(pen, PartRole::BaseResistor, (left + 26.0, y), Lies::Across);
    let base = at(left + 52.0, y);
    if pen.net.find(PartRole::BasePullDown).is_some() {
        pen.dot(base);
        pen.wire(&[base, at(base.x, y + 44.0)]);
        resistor(pen, PartRole::BasePullDown, (base.x, y + 26.0), Lies::Down);
        pen.ground(at(base.x, y + 44.0));
    }
    transistor(pen, left + 82.0, y);

    let collector = left + 91.0;
    let (line, end) = (at(924.0 + right, 52.0), 985.0 + right);
    pen.wire(&[at(collector, y - 24.0), at(collector, line.y), at(end - 3.0, line.y)]);
    resistor(pen, PartRole::LineResistor, (collector + 23.0, line.y), Lies::Across);
    pen.dot(line);
    pen.terminal(at(end, line.y), 3.5);
    pen.second(at(end, 36.0), Anchor::End, "remote");
    if let Some(node) = pen.net.node(NodeRole::Line) {
        pen.tell_node(line, "Remote line, idle", node, false);
    }
    pull_up(pen, line.x, line.y);
    line_capacitance(pen, at(972.0 + right, line.y));
    for (place, (large, small)) in shown.output.iter().take(2).enumerate() {
        let corner = at(1_003.0 + right, 196.0 + 46.0 * place as f32);
        let large = cut_to(large, TextSize::Body, FLAG_WORDS);
        pen.flag(corner, true, &large, &cut_to(small, TextSize::Small, FLAG_WORDS), None);
    }
}

/// The stereo's pull-up, drawn downwards so that the line stays straight.
fn pull_up(pen: &mut Pen<'_>, x: f32, y: f32) {
    let known = pen.net.find(PartRole::PullUp).is_some_and(|(_, part)| part.is_known());
    let ends = [at(x, y), at(x, y + 68.0)];
    if known {
        pen.wire(&ends);
    } else {
        pen.unknown_wire(&ends);
    }
    pen.bar(&[at(x - 9.0, y + 68.0), at(x + 9.0, y + 68.0)]);
    if let Some((id, part)) = pen.net.find(PartRole::PullUp) {
        let kind = part.kind;
        pen.resistor(at(x, y + 36.0), Lies::Down, id, false);
        if let PartKind::Resistor(ohm) = kind {
            pen.label(at(x + 10.0, y + 36.0), Anchor::Start, &values::ohm(ohm));
        }
    }
    let volt = pen.net.held_v(NodeRole::StereoSupply);
    let words = volt.map_or_else(|| "?".to_owned(), volt_text);
    pen.bold(at(x - 19.0, y + 80.0), Anchor::Start, TextSize::Small, &words);
}

/// What hangs on the line, under the resistor's words and beside the volts.
fn line_capacitance(pen: &mut Pen<'_>, top: Spot) {
    let Some((id, part)) = pen.net.find(PartRole::LineCapacitance) else { return };
    let kind = part.kind;
    pen.dot(top);
    pen.capacitor(top, id, 78.0, 88.0);
    if let PartKind::Capacitor(farad) = kind {
        pen.label(at(top.x - 12.0, top.y + 97.0), Anchor::End, &values::farad(farad));
    }
}

/// A resistor with its value above it, or at its left.
fn resistor(pen: &mut Pen<'_>, role: PartRole, (x, y): (f32, f32), lies: Lies) {
    let Some((id, part)) = pen.net.find(role) else { return };
    let kind = part.kind;
    pen.resistor(at(x, y), lies, id, false);
    let PartKind::Resistor(ohm) = kind else { return };
    let words = values::ohm(ohm);
    match lies {
        // A little to the left: the box's edge is near.
        Lies::Across => pen.label(at(x - 3.0, y - 14.0), Anchor::Middle, &words),
        Lies::Down => pen.label(at(x - 10.0, y), Anchor::End, &words),
    }
}

fn transistor(pen: &mut Pen<'_>, x: f32, y: f32) {
    let Some((id, part)) = pen.net.find(PartRole::Output) else { return };
    let PartKind::Transistor(device) = part.kind else { return };
    pen.terminal(at(x + 4.0, y), 15.0);
    if device.is_mosfet() {
        // An n-channel MOSFET: the gate beside its channel, the source's arrow into it.
        pen.wire(&[at(x - 22.0, y), at(x - 6.0, y)]);
        pen.bar(&[at(x - 6.0, y - 7.0), at(x - 6.0, y + 7.0)]);
        pen.wide_bar(&[at(x - 2.0, y - 10.0), at(x - 2.0, y + 10.0)]);
        pen.wire(&[at(x - 2.0, y - 7.0), at(x + 9.0, y - 7.0), at(x + 9.0, y - 24.0)]);
        pen.wire(&[at(x - 2.0, y), at(x + 9.0, y), at(x + 9.0, y + 44.0)]);
        pen.wire(&[at(x - 2.0, y + 7.0), at(x + 9.0, y + 7.0)]);
        pen.triangle([at(x - 1.0, y), at(x + 4.5, y - 2.8), at(x + 4.5, y + 2.8)], Fill::Ink, false);
    } else {
        pen.wire(&[at(x - 22.0, y), at(x - 3.0, y)]);
        pen.wide_bar(&[at(x - 3.0, y - 9.0), at(x - 3.0, y + 9.0)]);
        pen.wire(&[at(x - 3.0, y - 4.0), at(x + 9.0, y - 11.0), at(x + 9.0, y - 24.0)]);
        pen.wire(&[at(x - 3.0, y + 4.0), at(x + 9.0, y + 11.0), at(x + 9.0, y + 44.0)]);
        pen.triangle([at(x + 9.0, y + 11.0), at(x + 3.2, y + 10.4), at(x + 6.2, y + 5.4)], Fill::Ink, false);
    }
    pen.ground(at(x + 9.0, y + 44.0));
    pen.second(at(x + 9.0, y + 68.0), Anchor::Middle, device.name());
    pen.tell_part(Frame::round(at(x + 4.0, y), 30.0, 30.0), id);
}
