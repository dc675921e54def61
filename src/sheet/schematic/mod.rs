//! The circuit laid out: netlist in, shapes out. The wheel stands at the left, the box in the middle, the
//! stereo at the right, the supply along the foot; a second wire has its ladder and its sense circuit
//! under the first. More buttons than seven make the wheel wider; a factory module that pulls the wire up
//! stands between wheel and box. Knows no colour and no screen.

mod boxed;
mod pen;
mod power;
mod stereo;
#[cfg(test)]
mod tests;
mod wheel;

use super::shape::{Frame, HeldBy, Shape, at};
use crate::project::Netlist;
use crate::project::netlist::{NetPoint, NodeRole};
use pen::Pen;

/// What a drawing shows beside the parts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shown {
    /// Buttons held closed in the drawing, by their place.
    pub closed: Vec<usize>,
    /// Buttons pressed on the wheel itself.
    pub live: Vec<usize>,
    /// The supply as the box tells it, in volts.
    pub supply_v: Option<f64>,
    /// What is known of the output: two lines each.
    pub output: Vec<(String, String)>,
    /// How long the filter takes to settle; empty where there is none.
    pub settle: String,
    /// Whether switches can be worked in it: then it says how.
    pub works: bool,
}

impl Shown {
    /// Every button that is closed, once each, in order.
    #[must_use]
    pub fn pressed(&self) -> Vec<usize> {
        let mut pressed: Vec<usize> = self.closed.iter().chain(&self.live).copied().collect();
        pressed.sort_unstable();
        pressed.dedup();
        pressed
    }
}

/// A drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Its width, in points.
    pub width: f32,
    /// Its height, in points.
    pub height: f32,
    /// What is drawn, from the bottom up.
    pub shapes: Vec<Shape>,
    /// Where a button's switch can be worked.
    pub switches: Vec<Switch>,
    /// What is where, in words: one for each part and each node.
    pub found: Vec<FoundAt>,
}

/// A switch that can be worked.
#[derive(Clone, Debug, PartialEq)]
pub struct Switch {
    /// Whose, by its place.
    pub button: usize,
    /// Where.
    pub frame: Frame,
    /// In words: what it is and what it reads.
    pub words: String,
}

/// A part or a node, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundAt {
    /// Where.
    pub frame: Frame,
    /// What.
    pub words: String,
}

/// Buttons that fit before the wheel gets wider.
const COLUMNS: usize = 7;
/// From one button to the next.
const PITCH: f32 = 46.0;
/// How much further down the second wire's ladder and sense circuit stand.
const BANK: f32 = 170.0;
/// What a factory module takes between wheel and box.
const MODULE: f32 = 134.0;
/// With up to seven buttons on one wire.
const WIDTH: f32 = 1004.0;
/// With one wire.
const HEIGHT: f32 = 350.0;

/// Where things stand, from how many buttons and wires there are.
#[derive(Clone, Copy, Debug)]
struct Plan {
    /// How much wider the wheel is, for the buttons beyond seven.
    wider: f32,
    /// How much further right the box and the stereo stand: for that, and for a factory module between
    /// wheel and box.
    right: f32,
    /// Whether there is such a module.
    module: bool,
    /// How much further down what stands under the sense circuits is, for the second wire.
    down: f32,
}

impl Plan {
    /// The upper rail of a wire's ladder, which is its sense wire.
    const fn rail(bank: usize) -> f32 {
        if bank == 0 { 100.0 } else { 100.0 + BANK }
    }

    /// The wheel's right edge.
    fn wheel_right(&self) -> f32 {
        416.0 + self.wider
    }

    /// The sense node.
    fn node(&self) -> f32 {
        520.0 + self.right
    }

    /// Where the sense resistor stands: at the node, or in the factory module.
    fn pull(&self) -> f32 {
        if self.module { self.module_left() + 28.0 } else { self.node() }
    }

    /// The module's left edge, clear of the ladder's foot and of a leak.
    fn module_left(&self) -> f32 {
        self.wheel_right() + 44.5
    }

    /// The chip's left side.
    fn chip(&self) -> f32 {
        664.0 + self.right
    }
}

/// Draws a netlist; `point` is what it does with what is pressed, where that is known.
#[must_use]
pub fn schematic(net: &Netlist, point: Option<&NetPoint>, shown: &Shown) -> Drawing {
    let most = net.wires.iter().map(|wire| wire.rungs.len()).max().unwrap_or(0);
    let module = net.node(NodeRole::Module).is_some();
    let wider = most.saturating_sub(COLUMNS) as f32 * PITCH;
    let plan = Plan {
        wider,
        right: wider + if module { MODULE } else { 0.0 },
        module,
        down: net.wires.len().saturating_sub(1) as f32 * BANK,
    };
    let mut pen = Pen::new(net, point);
    enclosures(&mut pen, &plan, net, shown);
    let pressed = shown.pressed();
    for (bank, wire) in net.wires.iter().enumerate() {
        wheel::current(&mut pen, &plan, bank, wire, &pressed);
    }
    for (bank, wire) in net.wires.iter().enumerate() {
        wheel::ladder(&mut pen, &plan, bank, wire, shown);
        boxed::sense(&mut pen, &plan, bank, wire, shown);
    }
    boxed::chip(&mut pen, &plan, shown);
    stereo::output(&mut pen, &plan, shown);
    power::supply(&mut pen, &plan);
    let Pen { shapes, switches, found, .. } = pen;
    Drawing { width: WIDTH + plan.right, height: HEIGHT + plan.down, shapes, switches, found }
}

/// Who holds a switch.
fn held_by(shown: &Shown, button: usize) -> impl Iterator<Item = HeldBy> {
    let drawing = shown.closed.contains(&button).then_some(HeldBy::Drawing);
    let wheel = shown.live.contains(&button).then_some(HeldBy::Wheel);
    [drawing, wheel].into_iter().flatten()
}

/// What is in the wheel, in the box and in the stereo.
fn enclosures(pen: &mut Pen<'_>, plan: &Plan, net: &Netlist, shown: &Shown) {
    let (right, down) = (plan.right, plan.down);
    let wheel = Frame { left: 12.5, top: 18.5, right: plan.wheel_right() + 0.5, bottom: 244.5 + down };
    pen.enclosure(&wheel.corners());
    pen.title(at(24.0, 36.0), super::Anchor::Start, "In the wheel");
    let hint = match net.names.len() {
        _ if !shown.works => String::new(),
        0 => "no buttons yet: name them at Wheel".to_owned(),
        _ => "press a letter to open or close it".to_owned(),
    };
    pen.note(at(plan.wheel_right() - 12.0, 36.0), super::Anchor::End, &hint);
    if plan.module {
        let left = plan.module_left();
        let module = Frame { left, top: 18.5, right: left + 116.0, bottom: 244.5 + down };
        pen.enclosure(&module.corners());
        pen.title(at(module.right - 12.0, module.bottom - 16.0), super::Anchor::End, "In the vehicle");
    }
    let (edge, foot, bottom) = (456.5 + right, 264.5 + down, 340.5 + down);
    let far = 890.5 + right;
    pen.enclosure(&[
        at(edge, 14.5),
        at(far, 14.5),
        at(far, bottom),
        at(196.5, bottom),
        at(196.5, foot),
        at(edge, foot),
    ]);
    pen.title(at(far - 12.0, bottom - 16.0), super::Anchor::End, "In the box");
    let stereo = Frame { left: 900.5 + right, top: 14.5, right: 992.5 + right, bottom: 184.5 };
    pen.enclosure(&stereo.corners());
    let name = if net.stereo.trim().is_empty() { "Stereo" } else { net.stereo.trim() };
    let name = super::cut_to(name, super::TextSize::Body, 72.0);
    pen.title(at(stereo.right - 10.0, stereo.bottom - 16.0), super::Anchor::End, &name);
}
