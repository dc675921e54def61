//! The loom: wires from each gesture's drop-down to the command it sends. Wires of one direction
//! never cross; where wires of both directions do, a casing shows which lies on top.

use egui::{Painter, Pos2, Rangef, Shape, Stroke, pos2};

use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::{hatch, text};

/// From lane to lane, in points, where there is room.
const LANE: f32 = 22.0;

/// Lanes closer than this, in points, hold no wires of full width.
const TIGHT: f32 = 7.0;

/// How far apart wires of different buttons arrive at one command.
const ARRIVE: f32 = 7.0;

/// How much wider than a wire its casing is.
const CASING: f32 = 5.0;

/// How much wider a wire's key line is, where the theme has one.
const KEY: f32 = 1.5;

/// One wire, from a gesture to a command.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoomWire {
    /// Which button, from 0: its colour.
    pub button: usize,
    /// Where it begins.
    pub from_y: f32,
    /// Which command, by the order they stand in.
    pub command: usize,
    /// Where the command stands.
    pub to_y: f32,
    /// Whether it is what is pressed now.
    pub live: bool,
}

/// Draws the wires between two columns.
pub fn loom(p: &Painter, theme: &Theme, across: Rangef, wires: &[LoomWire]) {
    let arrivals = arrivals(wires);
    let lanes = lanes(wires, &arrivals);
    let most = lanes.iter().copied().max().unwrap_or(0) + 1;
    let pitch = LANE.min((across.span() - 60.0).max(8.0) / most as f32);
    // Where there are too many for their lanes, thin ones can still be followed.
    let thin = if pitch < TIGHT { stroke::LOOM / 2.0 } else { stroke::LOOM };
    let width = |wire: &LoomWire| if wire.live { stroke::LOOM_LIVE } else { thin };
    let path = |number: usize| {
        let wire = &wires[number];
        let lane = across.min + 44.0 + lanes[number] as f32 * pitch;
        path(across, wire.from_y, arrivals[number], lane)
    };
    // Button by button, so that one casing parts a whole button's wires from those below it.
    let mut order: Vec<usize> = (0..wires.len()).collect();
    order.sort_by_key(|&number| (wires[number].live, wires[number].button));
    let mut at = 0;
    while at < order.len() {
        let key = |number: usize| (wires[number].live, wires[number].button);
        let end = order[at..]
            .iter()
            .position(|&number| key(number) != key(order[at]))
            .map_or(order.len(), |n| at + n);
        for &number in &order[at..end] {
            p.add(Shape::line(path(number), Stroke::new(width(&wires[number]) + CASING, theme.face)));
        }
        if let Some(ink) = theme.key_line() {
            for &number in &order[at..end] {
                p.add(Shape::line(path(number), Stroke::new(width(&wires[number]) + KEY, ink)));
            }
        }
        for &number in &order[at..end] {
            let wire = &wires[number];
            let colour = theme.button(wire.button).plate;
            p.add(Shape::line(path(number), Stroke::new(width(wire), colour)));
            let start = pos2(across.min, wire.from_y);
            if let Some(ink) = theme.key_line() {
                p.circle_filled(start, 4.5 + KEY / 2.0, ink);
            }
            p.circle(start, 3.5, theme.face, Stroke::new(2.0, colour));
        }
        at = end;
    }
}

/// A gesture that leads nowhere: a stub with an end stop. It is said in words where `words` is
/// true and no wire runs through them.
pub fn nowhere(p: &Painter, theme: &Theme, button: usize, from: Pos2, words: bool) {
    let end = from.x + 26.0;
    let stub = [from, pos2(end, from.y)];
    if let Some(ink) = theme.key_line() {
        p.add(Shape::line_segment(stub, Stroke::new(stroke::LOOM + KEY, ink)));
    }
    p.add(Shape::line_segment(stub, Stroke::new(stroke::LOOM, theme.button(button).plate)));
    p.vline(end, Rangef::new(from.y - 9.0, from.y + 9.0), Stroke::new(2.0, theme.alarm));
    let stop = egui::Rect::from_min_max(pos2(end + 1.0, from.y - 9.0), pos2(end + 15.0, from.y + 9.0));
    hatch::hatch(p, stop, hatch::Hatch { step: 6.0, width: 2.0 }, theme.alarm);
    if words {
        let (x, font) = (end + 24.0, theme::regular(size::AXIS));
        text::cap(p, x, from.y, egui::Align::Min, "goes nowhere", font, theme.alarm_ink);
    }
}

/// Whether a wire runs up or down past this height.
#[must_use]
pub fn is_passed(wires: &[LoomWire], y: f32) -> bool {
    wires.iter().any(|wire| {
        let (low, high) = (wire.from_y.min(wire.to_y), wire.from_y.max(wire.to_y));
        y > low - ARRIVE && y < high + ARRIVE
    })
}

/// Where each wire arrives: buttons that share a command arrive side by side, in the buttons' order.
fn arrivals(wires: &[LoomWire]) -> Vec<f32> {
    wires
        .iter()
        .map(|wire| {
            let mut buttons: Vec<_> = wires
                .iter()
                .filter(|other| other.command == wire.command)
                .map(|other| other.button)
                .collect();
            buttons.sort_unstable();
            buttons.dedup();
            let place = buttons.iter().position(|&button| button == wire.button).unwrap_or(0);
            wire.to_y + (place as f32 - (buttons.len() as f32 - 1.0) / 2.0) * ARRIVE
        })
        .collect()
}

/// A lane for each wire. Wires that go up take lanes from the top one on, wires that go down from
/// the bottom one on, each further out than the ones it passes: so two of one direction never cross.
fn lanes(wires: &[LoomWire], arrivals: &[f32]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..wires.len()).collect();
    order.sort_by(|&a, &b| wires[a].from_y.total_cmp(&wires[b].from_y));
    let up: Vec<_> = order.iter().copied().filter(|&n| arrivals[n] < wires[n].from_y - 1.0).collect();
    let down: Vec<_> = order.iter().rev().copied().filter(|&n| arrivals[n] > wires[n].from_y + 1.0).collect();
    let mut lanes = vec![0; wires.len()];
    let mut given: Vec<(Rangef, usize)> = Vec::new();
    for number in up.into_iter().chain(down) {
        let (a, b) = (wires[number].from_y, arrivals[number]);
        let span = Rangef::new(a.min(b) - ARRIVE, a.max(b) + ARRIVE);
        let taken = given.iter().filter(|(other, _)| other.min < span.max && span.min < other.max);
        lanes[number] = taken.map(|(_, lane)| lane + 1).max().unwrap_or(0);
        given.push((span, lanes[number]));
    }
    lanes
}

fn path(across: Rangef, from_y: f32, to_y: f32, lane: f32) -> Vec<Pos2> {
    let (start, end) = (pos2(across.min, from_y), pos2(across.max, to_y));
    let fall = to_y - from_y;
    if fall.abs() <= 2.0 {
        return vec![start, end];
    }
    let cut = stroke::CHAMFER.min(fall.abs() / 2.0);
    let sign = fall.signum();
    vec![
        start,
        pos2(lane - cut, from_y),
        pos2(lane, from_y + sign * cut),
        pos2(lane, to_y - sign * cut),
        pos2(lane + cut, to_y),
        end,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wire(button: usize, from_y: f32, command: usize, to_y: f32) -> LoomWire {
        LoomWire { button, from_y, command, to_y, live: false }
    }

    fn crossings(wires: &[LoomWire], same_direction: bool) -> usize {
        let arrivals = arrivals(wires);
        let lanes = lanes(wires, &arrivals);
        let mut found = 0;
        for a in 0..wires.len() {
            for b in 0..wires.len() {
                let up = |n: usize| arrivals[n] < wires[n].from_y;
                if a == b || (same_direction && up(a) != up(b)) || wires[a].button == wires[b].button {
                    continue;
                }
                // The vertical of a against the horizontals of b.
                let (low, high) = (wires[a].from_y.min(arrivals[a]), wires[a].from_y.max(arrivals[a]));
                let cut = |y: f32| y > low + 0.5 && y < high - 0.5;
                if lanes[a] < lanes[b] && cut(wires[b].from_y) {
                    found += 1;
                }
                if lanes[a] > lanes[b] && cut(arrivals[b]) {
                    found += 1;
                }
            }
        }
        found
    }

    #[test]
    fn wires_of_one_direction_never_cross() {
        let up: Vec<_> =
            (0..6).map(|n| wire(n, 100.0 + 40.0 * n as f32, n, 60.0 + 40.0 * n as f32)).collect();
        let down: Vec<_> =
            (0..6).map(|n| wire(n, 60.0 + 40.0 * n as f32, n, 130.0 + 40.0 * n as f32)).collect();
        assert_eq!(crossings(&up, true), 0);
        assert_eq!(crossings(&down, true), 0);
    }

    #[test]
    fn two_buttons_arrive_side_by_side_at_one_command() {
        let wires = [wire(0, 10.0, 0, 50.0), wire(1, 90.0, 0, 50.0)];
        let arrivals = arrivals(&wires);
        assert_eq!(arrivals[1] - arrivals[0], ARRIVE);
    }

    #[test]
    fn a_level_wire_is_straight() {
        assert_eq!(path(Rangef::new(0.0, 100.0), 50.0, 51.0, 40.0).len(), 2);
    }
}
