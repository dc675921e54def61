//! What the box is fed through: from the vehicle's switched supply by fuse, diode and suppressor to the
//! regulator and the feed.

use super::super::shape::at;
use super::super::{Anchor, Fill, Frame, TextSize};
use super::Plan;
use super::pen::Pen;
use crate::project::netlist::{PartId, PartKind, PartRole};
use crate::units::amp_text;

/// Along the foot of the drawing.
pub(super) fn supply(pen: &mut Pen<'_>, plan: &Plan) {
    let y = 302.0 + plan.down;
    pen.bold(at(14.0, y - 14.0), Anchor::Start, TextSize::Body, "Accessory 12 V");
    pen.wire(&[at(14.0, y), at(372.0, y)]);
    pen.wire(&[at(446.0, y), at(464.0, y)]);
    if let Some((id, kind)) = part(pen, PartRole::Fuse) {
        fuse(pen, y, id, kind);
    }
    if let Some((id, kind)) = part(pen, PartRole::Diode) {
        let known = kind == PartKind::Diode { known: true };
        let x = 232.0;
        pen.triangle([at(x - 7.0, y - 7.0), at(x + 6.0, y), at(x - 7.0, y + 7.0)], Fill::Ground, !known);
        pen.bar(&[at(x + 7.0, y - 7.0), at(x + 7.0, y + 7.0)]);
        pen.label(at(x, y + 19.0), Anchor::Middle, if known { "diode" } else { "diode ?" });
        pen.tell_part(Frame::round(at(x, y), 22.0, 22.0), id);
    }
    if let Some((id, kind)) = part(pen, PartRole::Suppressor) {
        suppressor(pen, y, id, kind);
    }
    if let Some((id, kind)) = part(pen, PartRole::Regulator) {
        let frame = Frame::round(at(409.0, y), 74.0, 34.0);
        let known = matches!(kind, PartKind::Regulator(Some(_)));
        pen.area(frame, Fill::Raised, !known);
        pen.label(at(409.0, y), Anchor::Middle, if known { "to 5 V" } else { "to 5 V ?" });
        pen.tell_part(frame, id);
    }
    pen.bar(&[at(464.0, y - 9.0), at(464.0, y + 9.0)]);
    pen.bold(at(472.0, y), Anchor::Start, TextSize::Small, "feed");
}

fn part(pen: &Pen<'_>, role: PartRole) -> Option<(PartId, PartKind)> {
    pen.net.find(role).map(|(id, part)| (id, part.kind))
}

fn fuse(pen: &mut Pen<'_>, y: f32, id: PartId, kind: PartKind) {
    let frame = Frame::round(at(117.0, y), 34.0, 12.0);
    let known = matches!(kind, PartKind::Fuse(Some(_)));
    pen.area(frame, Fill::Ground, !known);
    pen.wire(&[at(100.0, y), at(134.0, y)]);
    let words = match kind {
        PartKind::Fuse(Some(amp)) => format!("fuse {}", amp_text(amp)),
        _ => "fuse ?".to_owned(),
    };
    pen.label(at(117.0, y + 18.0), Anchor::Middle, &words);
    pen.tell_part(frame.grown(4.0), id);
}

fn suppressor(pen: &mut Pen<'_>, y: f32, id: PartId, kind: PartKind) {
    let x = 288.0;
    let known = matches!(kind, PartKind::Suppressor(Some(_)));
    pen.dot(at(x, y));
    pen.wire(&[at(x, y), at(x, y + 26.0)]);
    pen.triangle([at(x - 7.0, y + 19.0), at(x, y + 7.0), at(x + 7.0, y + 19.0)], Fill::Ground, !known);
    pen.wire(&[at(x - 10.0, y + 10.0), at(x - 7.0, y + 7.0), at(x + 7.0, y + 7.0), at(x + 10.0, y + 4.0)]);
    pen.bar(&[at(x - 9.0, y + 26.0), at(x + 9.0, y + 26.0)]);
    let words = match kind {
        PartKind::Suppressor(Some(volt)) => format!("{volt:.0} V"),
        _ => "surge ?".to_owned(),
    };
    pen.label(at(x + 14.0, y + 19.0), Anchor::Start, &words);
    pen.tell_part(Frame::round(at(x, y + 15.0), 22.0, 26.0), id);
}
