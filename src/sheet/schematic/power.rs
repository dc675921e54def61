//! What the box is fed through: from the vehicle's supply by fuse, wire, guard and suppressor to the
//! regulator and the feed.

use super::super::shape::at;
use super::super::{Anchor, Fill, Frame, TextSize, cut_to, values};
use super::Plan;
use super::pen::Pen;
use crate::circuit::{BOX_V, Regulator, ReverseGuard};
use crate::project::netlist::{PartId, PartKind, PartRole};

/// From the drawing's edge to the fuse.
const FUSE: f32 = 46.0;
/// Where the wire's words end, before the box.
const WIRE: f32 = 190.0;
/// How wide they may be.
const WIRE_WORDS: f32 = 94.0;

/// Along the foot of the drawing.
pub(super) fn supply(pen: &mut Pen<'_>, plan: &Plan) {
    let y = 302.0 + plan.down;
    let tapped = format!("{} 12 V", pen.net.tap.name());
    pen.bold(at(14.0, y - 18.0), Anchor::Start, TextSize::Body, &tapped);
    pen.wire(&[at(14.0, y), at(372.0, y)]);
    pen.wire(&[at(446.0, y), at(464.0, y)]);
    if let Some((id, PartKind::Fuse(amp))) = part(pen, PartRole::Fuse) {
        let frame = Frame::round(at(FUSE, y), 34.0, 12.0);
        pen.area(frame, Fill::Ground, false);
        pen.wire(&[at(FUSE - 17.0, y), at(FUSE + 17.0, y)]);
        pen.label(at(14.0, y + 18.0), Anchor::Start, &format!("fuse {}", values::short(amp, "A")));
        pen.tell_part(frame.grown(4.0), id);
    }
    if let Some((id, PartKind::Wire { gauge, metre })) = part(pen, PartRole::SupplyWire) {
        let words = format!("{} AWG, {}", gauge.0, values::short(metre, "m"));
        let words = cut_to(&words, TextSize::Small, WIRE_WORDS);
        pen.second(at(WIRE, y + 18.0), Anchor::End, &words);
        pen.tell_part(Frame::round(at(WIRE - WIRE_WORDS / 2.0, y), WIRE_WORDS, 14.0), id);
    }
    if let Some((id, PartKind::Guard(guard))) = part(pen, PartRole::Guard) {
        reverse_guard(pen, y, id, guard);
    }
    if let Some((id, PartKind::Suppressor(volt))) = part(pen, PartRole::Suppressor) {
        suppressor(pen, y, id, volt);
    }
    if let Some((id, PartKind::Regulator(regulator))) = part(pen, PartRole::Regulator) {
        let frame = Frame::round(at(409.0, y), 74.0, 34.0);
        pen.area(frame, Fill::Raised, false);
        let kind = match regulator {
            Regulator::Buck => "Buck",
            Regulator::Linear => "Linear",
        };
        pen.label(at(409.0, y), Anchor::Middle, &format!("{kind} {}", values::short(BOX_V, "V")));
        pen.tell_part(frame, id);
    }
    pen.bar(&[at(464.0, y - 9.0), at(464.0, y + 9.0)]);
    pen.bold(at(472.0, y), Anchor::Start, TextSize::Small, "feed");
}

fn part(pen: &Pen<'_>, role: PartRole) -> Option<(PartId, PartKind)> {
    pen.net.find(role).map(|(id, part)| (id, part.kind))
}

/// A diode; a P-MOSFET is the channel over its own diode.
fn reverse_guard(pen: &mut Pen<'_>, y: f32, id: PartId, guard: ReverseGuard) {
    let x = 232.0;
    pen.triangle([at(x - 7.0, y - 7.0), at(x + 6.0, y), at(x - 7.0, y + 7.0)], Fill::Ground, false);
    pen.bar(&[at(x + 7.0, y - 7.0), at(x + 7.0, y + 7.0)]);
    let words = match guard {
        ReverseGuard::Nothing => return,
        ReverseGuard::Diode => "diode",
        ReverseGuard::Schottky => "Schottky",
        ReverseGuard::PFet => {
            pen.wire(&[at(x - 15.0, y), at(x - 15.0, y - 13.0)]);
            pen.wire(&[at(x + 15.0, y), at(x + 15.0, y - 13.0)]);
            pen.bar(&[at(x - 17.0, y - 13.0), at(x + 17.0, y - 13.0)]);
            pen.bar(&[at(x - 10.0, y - 18.0), at(x + 10.0, y - 18.0)]);
            guard.name()
        }
    };
    pen.label(at(x, y + 19.0), Anchor::Middle, words);
    pen.tell_part(Frame::round(at(x, y), 22.0, 22.0), id);
}

fn suppressor(pen: &mut Pen<'_>, y: f32, id: PartId, volt: f64) {
    let x = 288.0;
    pen.dot(at(x, y));
    pen.wire(&[at(x, y), at(x, y + 26.0)]);
    pen.triangle([at(x - 7.0, y + 19.0), at(x, y + 7.0), at(x + 7.0, y + 19.0)], Fill::Ground, false);
    pen.wire(&[at(x - 10.0, y + 10.0), at(x - 7.0, y + 7.0), at(x + 7.0, y + 7.0), at(x + 10.0, y + 4.0)]);
    pen.bar(&[at(x - 9.0, y + 26.0), at(x + 9.0, y + 26.0)]);
    pen.label(at(x + 14.0, y + 19.0), Anchor::Start, &format!("TVS {}", values::short(volt, "V")));
    pen.tell_part(Frame::round(at(x, y + 15.0), 22.0, 26.0), id);
}
