//! The wheel's side of one wire: rails, resistors, switches, plates, and the way the current takes.
//! With a pull-up the chain runs along the upper rail, with a pull-down along the lower: the upper rail
//! is the sense wire either way.

use super::super::shape::at;
use super::super::{Anchor, Frame, TextSize, values};
use super::pen::{Lies, Pen};
use super::{PITCH, Plan, Shown, Switch, held_by};
use crate::circuit::Sense;
use crate::project::netlist::{NetRung, NetWire, PartId, PartKind};
use crate::units::{count_text, ohm_text};
use crate::wheel::Topology;

/// From the upper rail to the lower.
const RAILS: f32 = 100.0;
/// A branch with less than this of the wire's current isn't drawn as a way of it.
const SHARE: f64 = 0.02;

/// Where a wire's ladder stands.
#[derive(Clone, Copy, Debug)]
struct Bank {
    /// The upper rail.
    upper: f32,
    /// The lower rail.
    lower: f32,
    /// The rail the chain runs along, or the buttons' own resistors hang on.
    chain: f32,
    /// The first button.
    first: f32,
    /// Where the lower rail ends in ground or feed.
    foot: f32,
    is_pull_down: bool,
    is_chain: bool,
}

impl Bank {
    fn of(pen: &Pen<'_>, plan: &Plan, bank: usize) -> Self {
        let upper = Plan::rail(bank);
        let lower = upper + RAILS;
        let is_pull_down = is_pull_down(pen);
        Self {
            upper,
            lower,
            chain: if is_pull_down { lower } else { upper },
            first: plan.wheel_right() - 58.0,
            foot: plan.wheel_right() + 20.0,
            is_pull_down,
            is_chain: pen.net.topology == Topology::Series,
        }
    }

    fn column(&self, place: usize) -> f32 {
        self.first - PITCH * place as f32
    }

    /// Contacts and plate of a switch, under the upper rail.
    fn switch(&self) -> (f32, f32, f32) {
        let (upper, lower, plate) = match (self.is_chain, self.is_pull_down) {
            (true, _) => (14.0, 34.0, 65.0),
            (false, false) => (40.0, 56.0, 76.0),
            (false, true) => (8.0, 24.0, 46.0),
        };
        (self.upper + upper, self.upper + lower, self.upper + plate)
    }

    /// The values under the lower rail.
    fn seen_row(&self) -> f32 {
        self.lower + if self.is_pull_down { 32.0 } else { 24.0 }
    }

    /// The values of the resistors.
    fn value_row(&self) -> f32 {
        if self.is_pull_down { self.lower + 16.0 } else { self.upper - 14.0 }
    }
}

/// Whether the ladder hangs from the feed.
pub(super) fn is_pull_down(pen: &Pen<'_>) -> bool {
    pen.net.circuit.as_ref().is_some_and(|circuit| circuit.sense == Sense::PullDown)
}

/// The pressed button whose branch carries most of a wire's current, with its column. The one
/// nearest the ladder's start where currents aren't known.
pub(super) fn winner(pen: &Pen<'_>, wire: &NetWire, pressed: &[usize]) -> Option<(usize, usize)> {
    let amp =
        |rung: &NetRung| pen.point.and_then(|point| point.amp_through(rung.switch)).map_or(0.0, f64::abs);
    let mut best: Option<(usize, &NetRung)> = None;
    for (column, rung) in wire.rungs.iter().enumerate().filter(|(_, rung)| pressed.contains(&rung.button)) {
        if best.is_none_or(|(_, best)| amp(rung) > amp(best)) {
            best = Some((column, rung));
        }
    }
    best.map(|(column, rung)| (column, rung.button))
}

/// The way the current takes while something is pressed.
pub(super) fn current(pen: &mut Pen<'_>, plan: &Plan, bank: usize, wire: &NetWire, pressed: &[usize]) {
    let Some((main, main_button)) = winner(pen, wire, pressed) else { return };
    let place = Bank::of(pen, plan, bank);
    let Bank { upper, lower, chain, foot, .. } = place;
    let common = upper + lower - chain;
    let amp = |id: PartId| pen.point.and_then(|point| point.amp_through(id)).map_or(0.0, f64::abs);
    let whole = amp(wire.sense_resistor);
    let beside: Vec<(usize, usize)> = wire
        .rungs
        .iter()
        .enumerate()
        .filter(|(column, rung)| *column != main && pressed.contains(&rung.button))
        .filter(|(_, rung)| amp(rung.switch) > SHARE * whole)
        .map(|(column, rung)| (column, rung.button))
        .collect();
    let main_x = place.column(main);
    for (column, button) in beside {
        let x = place.column(column);
        pen.current(&[at(main_x, chain), at(x, chain), at(x, common), at(main_x, common)], button);
    }
    let node = plan.pull();
    let end = if place.is_pull_down { upper + 58.0 } else { upper - 58.0 };
    let points = [
        at(node, end),
        at(node, upper),
        at(main_x, upper),
        at(main_x, lower),
        at(foot, lower),
        at(foot, lower + 8.0),
    ];
    pen.current(&points, main_button);
}

/// A wire's ladder.
pub(super) fn ladder(pen: &mut Pen<'_>, plan: &Plan, bank: usize, wire: &NetWire, shown: &Shown) {
    let place = Bank::of(pen, plan, bank);
    let Bank { upper, lower, chain, foot, .. } = place;
    let last = wire.rungs.len().checked_sub(1).map_or(place.first, |last| place.column(last));
    let far = if wire.end.is_some() { last - 60.0 } else { last };
    let node = plan.node();
    pen.wire(&[at(node, upper), at(far, upper)]);
    pen.wire(&[at(far, lower), at(foot, lower), at(foot, lower + 8.0)]);
    if let Some(end) = wire.end {
        end_of_line(pen, &place, far, end);
    }
    if place.is_pull_down {
        pen.rail(at(foot, lower + 8.0), "feed", false);
    } else {
        pen.ground(at(foot, lower + 8.0));
    }
    if wire.rungs.is_empty() {
        pen.unknown_wire(&[at(place.first, upper), at(place.first, lower)]);
        return;
    }
    for (column, rung) in wire.rungs.iter().enumerate() {
        if place.is_chain {
            let middle = at(place.column(column) + PITCH / 2.0, chain);
            pen.resistor(middle, Lies::Across, rung.resistor, false);
            value(pen, middle.x, place.value_row(), rung.resistor);
        }
        self::column(pen, &place, place.column(column), rung, shown);
    }
    pen.second(at(plan.wheel_right() - 8.0, place.seen_row()), Anchor::End, "Ω");
}

/// A resistor's value.
fn value(pen: &mut Pen<'_>, x: f32, y: f32, id: PartId) {
    if let Some(PartKind::Resistor(ohm)) = pen.net.part(id).map(|part| part.kind) {
        pen.label(at(x, y), Anchor::Middle, &values::ohm(ohm));
    }
}

fn end_of_line(pen: &mut Pen<'_>, place: &Bank, x: f32, id: PartId) {
    let Some(part) = pen.net.part(id) else { return };
    let middle = f32::midpoint(place.upper, place.lower);
    if part.is_known() {
        pen.wire(&[at(x, place.upper), at(x, place.lower)]);
    } else {
        pen.unknown_wire(&[at(x, place.upper), at(x, place.lower)]);
    }
    pen.resistor(at(x, middle), Lies::Down, id, false);
    if let PartKind::Resistor(ohm) = part.kind {
        // Between contacts and plate of the last button, where the body's label has room.
        let row = if !place.is_chain && place.is_pull_down { 20.0 } else { -10.0 };
        pen.label(at(x + 11.0, middle + row), Anchor::Start, &values::ohm(ohm));
    }
}

/// One button between the rails.
fn column(pen: &mut Pen<'_>, place: &Bank, x: f32, rung: &NetRung, shown: &Shown) {
    let (above, below, plate) = place.switch();
    let Bank { upper, lower, .. } = *place;
    let is_closed = shown.closed.contains(&rung.button) || shown.live.contains(&rung.button);
    pen.dot(at(x, upper));
    pen.dot(at(x, lower));
    pen.wire(&[at(x, upper), at(x, above)]);
    pen.wire(&[at(x, below), at(x, lower)]);
    if !place.is_chain {
        let middle = if place.is_pull_down { upper + 80.0 } else { upper + 19.0 };
        pen.resistor(at(x, middle), Lies::Down, rung.resistor, false);
        value(pen, x, place.value_row(), rung.resistor);
    }
    pen.terminal(at(x, above), 2.4);
    pen.terminal(at(x, below), 2.4);
    let lever = if is_closed { at(x, above + 2.0) } else { at(x - 10.0, above + 3.0) };
    pen.wire(&[at(x, below - 2.0), lever]);
    for by in held_by(shown, rung.button) {
        pen.held(at(x, plate), by);
    }
    pen.plate(at(x, plate), rung.button, rung.seen_ohm.is_none());
    let row = at(x, place.seen_row());
    let seen = values::ohm(rung.seen_ohm);
    if is_closed {
        pen.bold(row, Anchor::Middle, TextSize::Small, &seen);
    } else {
        pen.second(row, Anchor::Middle, &seen);
    }
    let half = PITCH / 2.0;
    let frame = Frame { left: x - half, top: above - 5.0, right: x + half, bottom: lower - 4.0 };
    pen.switches.push(Switch { button: rung.button, frame, words: words(pen, rung) });
}

/// What a switch is, and what a press of it alone reads.
fn words(pen: &Pen<'_>, rung: &NetRung) -> String {
    let name = pen.net.names.get(rung.button).map_or("a button", String::as_str);
    let Some(ohm) = rung.seen_ohm else { return format!("Switch of {name}, not metered yet") };
    let count = pen.net.circuit.as_ref().and_then(|circuit| circuit.pressed_count(ohm));
    match count {
        Some(count) => {
            format!("Switch of {name}, {}, reads {} counts", ohm_text(ohm), count_text(f64::from(count), 0))
        }
        None => format!("Switch of {name}, {}", ohm_text(ohm)),
    }
}
