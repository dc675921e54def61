//! The symbols a schematic is drawn with (IEC 60617: a resistor is a rectangle, here 30 × 11), and what
//! each part is in words. Knows no place of its own.

use super::super::shape::{FLAG_HIGH, FLAG_ROOM, at};
use super::super::{Anchor, Fill, Frame, HeldBy, Shape, Spot, TextSize, Tone, values, width_at_most};
use super::{FoundAt, Switch};
use crate::circuit::BOX_V;
use crate::project::Netlist;
use crate::project::netlist::{NetPart, NetPoint, NodeId, NodeRole, PartId, PartKind, PartRole};
use crate::units::{amp_text, count_text, ohm_text, volt_text};

/// The strokes of a schematic.
const STROKE: f32 = 1.75;
/// Plates of a capacitor, a rail.
const BAR: f32 = 2.0;
/// Currents under this aren't told, in amperes.
const NO_AMP: f64 = 1e-9;

/// Which way a part lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lies {
    /// Along the line.
    Across,
    /// From above to below.
    Down,
}

/// Draws, and notes what was drawn.
pub(super) struct Pen<'a> {
    pub(super) net: &'a Netlist,
    pub(super) point: Option<&'a NetPoint>,
    pub(super) shapes: Vec<Shape>,
    pub(super) switches: Vec<Switch>,
    pub(super) found: Vec<FoundAt>,
}

impl<'a> Pen<'a> {
    pub(super) const fn new(net: &'a Netlist, point: Option<&'a NetPoint>) -> Self {
        Self { net, point, shapes: Vec::new(), switches: Vec::new(), found: Vec::new() }
    }

    pub(super) fn wire(&mut self, points: &[Spot]) {
        self.stroke(points, STROKE, false);
    }

    /// A wire to what isn't known.
    pub(super) fn unknown_wire(&mut self, points: &[Spot]) {
        self.stroke(points, STROKE, true);
    }

    fn stroke(&mut self, points: &[Spot], width: f32, dashed: bool) {
        self.shapes.push(Shape::Line { points: points.to_vec(), width, tone: Tone::Ink, dashed });
    }

    pub(super) fn enclosure(&mut self, corners: &[Spot]) {
        let mut points = corners.to_vec();
        points.extend(corners.first());
        self.shapes.push(Shape::Line { points, width: 1.0, tone: Tone::Edge, dashed: true });
    }

    pub(super) fn current(&mut self, points: &[Spot], button: usize) {
        self.shapes.push(Shape::Current { points: points.to_vec(), button });
    }

    pub(super) fn dot(&mut self, middle: Spot) {
        self.shapes.push(Shape::Disc { middle, radius: 3.0, open: false });
    }

    pub(super) fn terminal(&mut self, middle: Spot, radius: f32) {
        self.shapes.push(Shape::Disc { middle, radius, open: true });
    }

    pub(super) fn plate(&mut self, middle: Spot, button: usize, dashed: bool) {
        self.shapes.push(Shape::Plate { middle, radius: 13.0, button, dashed });
    }

    pub(super) fn held(&mut self, middle: Spot, by: HeldBy) {
        self.shapes.push(Shape::Held { middle, by });
    }

    fn text(&mut self, place: Spot, anchor: Anchor, size: TextSize, bold: bool, tone: Tone, words: &str) {
        if !words.is_empty() {
            let words = words.to_owned();
            self.shapes.push(Shape::Text { place, anchor, size, bold, tone, words });
        }
    }

    /// What an enclosure is.
    pub(super) fn title(&mut self, place: Spot, anchor: Anchor, words: &str) {
        self.text(place, anchor, TextSize::Body, false, Tone::Second, words);
    }

    /// A remark.
    pub(super) fn note(&mut self, place: Spot, anchor: Anchor, words: &str) {
        self.text(place, anchor, TextSize::Small, false, Tone::Third, words);
    }

    /// A value or a pin's name.
    pub(super) fn label(&mut self, place: Spot, anchor: Anchor, words: &str) {
        self.text(place, anchor, TextSize::Small, false, Tone::Ink, words);
    }

    /// A second line of a value.
    pub(super) fn second(&mut self, place: Spot, anchor: Anchor, words: &str) {
        self.text(place, anchor, TextSize::Small, false, Tone::Second, words);
    }

    /// A value that matters now.
    pub(super) fn bold(&mut self, place: Spot, anchor: Anchor, size: TextSize, words: &str) {
        self.text(place, anchor, size, true, Tone::Ink, words);
    }

    /// Ground, its wire's end at `top`.
    pub(super) fn ground(&mut self, top: Spot) {
        self.wire(&[top, at(top.x, top.y + 5.0)]);
        for (half, down) in [(9.0, 5.0), (5.5, 9.0), (2.0, 13.0)] {
            let y = top.y + down;
            self.stroke(&[at(top.x - half, y), at(top.x + half, y)], BAR, false);
        }
    }

    /// A rail with its name above, or below.
    pub(super) fn rail(&mut self, place: Spot, words: &str, above: bool) {
        self.stroke(&[at(place.x - 9.0, place.y), at(place.x + 9.0, place.y)], BAR, false);
        let y = if above { place.y - 10.0 } else { place.y + 12.0 };
        self.bold(at(place.x, y), Anchor::Middle, TextSize::Small, words);
    }

    /// A resistor's body. A chosen one is filled.
    pub(super) fn resistor(&mut self, middle: Spot, lies: Lies, id: PartId, chosen: bool) {
        let Some(part) = self.net.part(id) else { return };
        let (width, height) = if lies == Lies::Down { (11.0, 30.0) } else { (30.0, 11.0) };
        let frame = Frame::round(middle, width, height);
        let fill = if chosen { Fill::Ink } else { Fill::Ground };
        self.area(frame, if part.is_known() { fill } else { Fill::Ground }, !part.is_known());
        self.tell_part(frame.grown(4.0), id);
    }

    pub(super) fn area(&mut self, frame: Frame, fill: Fill, dashed: bool) {
        self.shapes.push(Shape::Area { points: frame.corners().to_vec(), fill, dashed });
    }

    /// A triangle.
    pub(super) fn triangle(&mut self, points: [Spot; 3], fill: Fill, dashed: bool) {
        self.shapes.push(Shape::Area { points: points.to_vec(), fill, dashed });
    }

    /// A bar, as of a diode.
    pub(super) fn bar(&mut self, points: &[Spot]) {
        self.stroke(points, BAR, false);
    }

    /// A wide bar, as of a transistor's base.
    pub(super) fn wide_bar(&mut self, points: &[Spot]) {
        self.stroke(points, 2.5, false);
    }

    /// A capacitor to ground, from `top` down over 46 points.
    pub(super) fn capacitor(&mut self, top: Spot, id: PartId, plates: f32, foot: f32) {
        let Some(part) = self.net.part(id) else { return };
        let middle = top.y + plates;
        let draw = |pen: &mut Self, points: &[Spot]| pen.stroke(points, STROKE, !part.is_known());
        draw(self, &[top, at(top.x, middle - 3.0)]);
        draw(self, &[at(top.x, middle + 3.0), at(top.x, top.y + foot)]);
        for y in [middle - 3.0, middle + 3.0] {
            self.stroke(&[at(top.x - 9.0, y), at(top.x + 9.0, y)], BAR, !part.is_known());
        }
        self.ground(at(top.x, top.y + foot));
        self.tell_part(Frame::round(at(top.x, middle), 26.0, 16.0), id);
    }

    /// A flag, its upper left or upper right corner at `corner`. Gives where it lies.
    pub(super) fn flag(
        &mut self,
        corner: Spot,
        from_right: bool,
        large: &str,
        small: &str,
        button: Option<usize>,
    ) {
        let wide =
            width_at_most(large, TextSize::Body).max(width_at_most(small, TextSize::Small)) + FLAG_ROOM;
        let wide = wide.ceil();
        let left = if from_right { corner.x - wide } else { corner.x };
        let frame = Frame { left, top: corner.y, right: left + wide, bottom: corner.y + FLAG_HIGH };
        self.shapes.push(Shape::Flag { frame, large: large.to_owned(), small: small.to_owned(), button });
    }

    /// Says what is where.
    pub(super) fn tell(&mut self, frame: Frame, words: String) {
        self.found.push(FoundAt { frame, words });
    }

    /// Says what a part is, what it is worth and what flows through it.
    pub(super) fn tell_part(&mut self, frame: Frame, id: PartId) {
        let Some(part) = self.net.part(id) else { return };
        let mut words = part_words(self.net, part);
        let amp = self.point.and_then(|point| point.amp_through(id)).map(f64::abs);
        if let Some(amp) = amp.filter(|amp| *amp > NO_AMP) {
            words = format!("{words}, carries {}", amp_text(amp));
        }
        self.tell(frame, words);
    }

    /// Says what a node is and what it stands at.
    pub(super) fn tell_node(&mut self, middle: Spot, name: &str, node: NodeId, counted: bool) {
        let volt = self.point.and_then(|point| point.volt_at(node));
        let words = match volt {
            None => format!("{name}, volts not known"),
            Some(volt) => match self.net.count(volt).filter(|_| counted) {
                Some(count) => {
                    format!("{name}, {}, {} counts", volt_text(volt), count_text(f64::from(count), 0))
                }
                None => format!("{name}, {}", volt_text(volt)),
            },
        };
        self.tell(Frame::round(middle, 12.0, 12.0), words);
    }
}

/// What a part is called.
fn part_name(net: &Netlist, role: PartRole) -> String {
    let button = |place: usize| net.names.get(place).map_or("a button", String::as_str);
    let wired = |name: &str, wire: u8| {
        if net.wires.len() > 1 { format!("{name} of wire {wire}") } else { name.to_owned() }
    };
    match role {
        PartRole::Ladder(place) if net.topology == crate::wheel::Topology::Series => {
            format!("Step before {}", button(place))
        }
        PartRole::Ladder(place) => format!("Resistor of {}", button(place)),
        PartRole::Button(place) => format!("Switch of {}", button(place)),
        PartRole::EndOfLine(wire) => wired("End-of-line resistor", wire),
        PartRole::Sense(wire) if net.node(NodeRole::Module).is_some() => {
            wired("The factory module's pull-up", wire)
        }
        PartRole::Sense(wire) => wired("Sense resistor", wire),
        PartRole::Leak(wire) => wired("Leak to ground", wire),
        PartRole::FilterResistor(wire) => wired("Filter resistor", wire),
        PartRole::FilterCapacitor(wire) => wired("Filter capacitor", wire),
        PartRole::MonitorUpper => "Upper resistor of the feed monitor".to_owned(),
        PartRole::MonitorLower => "Lower resistor of the feed monitor".to_owned(),
        PartRole::ReferenceResistor => "Resistor into the reference input".to_owned(),
        PartRole::ReferenceInput => "The reference input's own resistance, typical".to_owned(),
        PartRole::ReferenceCapacitor => "Capacitor at the reference input".to_owned(),
        PartRole::BaseResistor => control(net, "resistor"),
        PartRole::BasePullDown => control(net, "pull-down"),
        PartRole::Output => "Output transistor".to_owned(),
        PartRole::LineResistor => "Resistor in the remote line".to_owned(),
        PartRole::LineCapacitance => "Capacitance of cable and input".to_owned(),
        PartRole::PullUp => "The stereo's pull-up".to_owned(),
        PartRole::Fuse => "Fuse".to_owned(),
        PartRole::SupplyWire => "Wire from the source".to_owned(),
        PartRole::Guard => "Guard against a reversed supply".to_owned(),
        PartRole::Suppressor => "Surge suppressor".to_owned(),
        PartRole::Regulator => "Regulator".to_owned(),
    }
}

/// A part at the output transistor's base or gate.
fn control(net: &Netlist, what: &str) -> String {
    let is_mosfet = net
        .find(PartRole::Output)
        .is_some_and(|(_, part)| matches!(part.kind, PartKind::Transistor(device) if device.is_mosfet()));
    format!("{} {what}", if is_mosfet { "Gate" } else { "Base" })
}

/// What a part is, with its value.
pub(super) fn part_words(net: &Netlist, part: &NetPart) -> String {
    let name = part_name(net, part.role);
    let value = match part.kind {
        PartKind::Resistor(Some(ohm)) => ohm_text(ohm),
        PartKind::Switch(ohm) => format!("contact {}", ohm_text(ohm)),
        PartKind::Capacitor(Some(farad)) => format!("{}F", values::farad(Some(farad))),
        PartKind::Transistor(device) => device.name().to_owned(),
        PartKind::Fuse(amp) => values::short(amp, "A"),
        PartKind::Wire { gauge, metre } => format!("{}, {}", gauge.name(), values::short(metre, "m")),
        PartKind::Guard(guard) => guard.name().to_owned(),
        PartKind::Suppressor(volt) => format!("conducts from {}", values::short(volt, "V")),
        PartKind::Regulator(regulator) => format!("{} to {}", regulator.name(), values::short(BOX_V, "V")),
        PartKind::Resistor(None) | PartKind::Capacitor(None) => "not known yet".to_owned(),
    };
    format!("{name}, {value}")
}
