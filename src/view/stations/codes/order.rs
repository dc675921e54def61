//! A number read in both bit orders, side by side: one is chosen.

use egui::{
    Align, Painter, Pos2, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use super::parts::bytes;
use super::shown::note;
use crate::app::codes::Order;
use crate::remote::{self, Code, NumberField, NumberOrder, NumberReading, OrderReading};
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::icons::{Icon, icon_stroked};
use crate::view::widgets::{focus, text};

/// Height of one order's panel.
const HIGH: f32 = 102.0;
/// Height of a panel as wide as both: its lines stand side by side.
const FLAT: f32 = 62.0;

/// Shows both orders; gives the one that was chosen.
pub(super) fn order_ui(ui: &mut Ui, reading: &NumberReading, meant: Option<NumberOrder>) -> Option<Order> {
    let width = ui.available_width().min(760.0);
    let beside = width >= 420.0;
    let one = if beside { (width - space::ROW) / 2.0 } else { width };
    let mut chosen = None;
    let mut panel = |ui: &mut Ui, order: NumberOrder, size: Vec2| {
        let clicked = panel_ui(ui, reading, order, meant == Some(order), size);
        if clicked {
            chosen = Some(match order {
                NumberOrder::FirstBitFirst => Order::FirstBitFirst,
                NumberOrder::LastBitFirst => Order::LastBitFirst,
                NumberOrder::BytesAsSent => Order::BytesAsSent,
            });
        }
    };
    let orders = NumberOrder::BOTH;
    if beside {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = space::ROW;
            orders.into_iter().for_each(|order| panel(ui, order, vec2(one, HIGH)));
        });
        ui.add_space(space::TIGHT);
    } else {
        for order in orders {
            panel(ui, order, vec2(one, HIGH));
            ui.add_space(space::TIGHT);
        }
    }
    if reading.bytes_as_sent.is_some() {
        panel(ui, NumberOrder::BytesAsSent, vec2(width, if beside { FLAT } else { HIGH }));
        ui.add_space(space::TIGHT);
    }
    ui.scope(|ui| {
        ui.set_max_width(width);
        let (head, more) = reading.reason();
        note(ui, &head, &[&more]);
    });
    chosen
}

fn panel_ui(ui: &mut Ui, reading: &NumberReading, order: NumberOrder, chosen: bool, size: Vec2) -> bool {
    let theme = Theme::of(ui.ctx());
    let this = reading.reading(order);
    let likely = reading.likely_reading().is_some_and(|likely| likely.order == order);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let code = reading.code(order);
    let can = code.is_some();
    let sense = if can { Sense::click() } else { Sense::hover() };
    let response = ui.interact(rect, ui.make_persistent_id(("order", order)), sense);
    let words = code.as_ref().map_or_else(|| "no code".to_owned(), remote::describe);
    let said = format!("{}, {words}{}", order.label(), if likely { ", likely" } else { "" });
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, can, chosen, &said));
    paint(ui.painter(), &theme, rect, this, &response, &Shown { code, chosen, likely });
    focus::ring(ui.painter(), &theme, &response, rect.shrink(1.0));
    response.clicked()
}

struct Shown {
    code: Option<Code>,
    chosen: bool,
    likely: bool,
}

fn paint(p: &Painter, theme: &Theme, rect: Rect, this: &OrderReading, response: &Response, shown: &Shown) {
    let can = shown.code.is_some();
    let (fill, line, wide) = match (shown.chosen, can) {
        (true, _) => (theme.press, theme.ink, stroke::NODE),
        (false, true) if response.hovered() => (theme.raise, theme.ink, stroke::RULE),
        (false, true) => (theme.raise, theme.edge, stroke::RULE),
        (false, false) => (theme.face, theme.rule, stroke::RULE),
    };
    p.rect(rect, control::RADIUS, fill, Stroke::new(wide, line), StrokeKind::Inside);
    let x = rect.left() + 40.0;
    let y = rect.top() + 20.0;
    let dot = pos2(rect.left() + 20.0, y);
    p.circle(dot, 7.0, theme.well, Stroke::new(stroke::NODE, if can { theme.ink } else { theme.edge }));
    if shown.chosen {
        p.circle_filled(dot, 3.5, theme.ink);
    }
    let ink = if can { theme.ink } else { theme.ink2 };
    text::cap(p, x, y, Align::Min, this.order.label(), theme::bold(size::BODY), ink);
    if shown.likely {
        let font = theme::regular(size::AXIS);
        text::cap(p, rect.right() - 14.0, y, Align::Max, "likely", font, theme.ink2);
    }
    let flat = rect.height() < HIGH;
    let code_at = if flat { pos2(x + 116.0, y) } else { pos2(x, rect.top() + 43.0) };
    // Where it is likely its word stands at the end of the first line.
    let end = if flat && shown.likely { 56.0 } else { 10.0 };
    code_line(p, theme, code_at, rect.right() - end, this, shown);
    for (row, field) in this.fields.iter().enumerate() {
        let row = row as f32;
        let at = if flat {
            pos2(x + 116.0 + 200.0 * row, rect.top() + 44.0)
        } else {
            pos2(x, rect.top() + 68.0 + 20.0 * row)
        };
        field_line(p, theme, at, field);
    }
}

/// The code a reading makes, and what else the same frame is called where there is room.
fn code_line(p: &Painter, theme: &Theme, at: Pos2, right: f32, this: &OrderReading, shown: &Shown) {
    let font = theme::regular(size::BODY);
    let (family, numbers) = match &shown.code {
        Some(code @ Code::Family { family, .. }) => (family.0.as_str(), bytes(code)),
        Some(code) => ("unchecked", bytes(code)),
        None => {
            text::cap_within(p, at.x, at.y, Align::Min, right - at.x, "no code", font, theme.ink2);
            return;
        }
    };
    let mut x = at.x + text::cap(p, at.x, at.y, Align::Min, family, font, theme.ink2) + 10.0;
    x += text::cap(p, x, at.y, Align::Min, &numbers, theme::mono(size::RAIL), theme.ink) + 14.0;
    let also = this.also.iter().find_map(|code| match code {
        Code::Family { family, .. } => Some(format!("or {} {}", family.0, bytes(code))),
        Code::Free { .. } | Code::Raw { .. } => None,
    });
    if let Some(also) = also {
        let font = theme::regular(size::AXIS);
        if x + text::width(p, &also, font.clone()) < right {
            text::cap(p, x, at.y, Align::Min, &also, font, theme.ink2);
        }
    }
}

/// An address or command with what checks it.
fn field_line(p: &Painter, theme: &Theme, at: Pos2, field: &NumberField) {
    let (font, mono) = (theme::regular(size::AXIS), theme::mono(size::BODY));
    let mut x = at.x + text::cap(p, at.x, at.y, Align::Min, field.label, font.clone(), theme.ink2) + 8.0;
    x += text::cap(p, x, at.y, Align::Min, &field.text(), mono.clone(), theme.ink) + 8.0;
    let (Some(check), Some(value)) = (field.check, field.check_text()) else {
        text::cap(p, x, at.y, Align::Min, "no check", font, theme.ink2);
        return;
    };
    x += text::cap(p, x, at.y, Align::Min, check.label, font, theme.ink2) + 8.0;
    x += text::cap(p, x, at.y, Align::Min, &value, mono, theme.ink) + 14.0;
    let place = pos2(x, at.y);
    if check.holds {
        icon_stroked(p, Icon::Tick, place, 0.62, Stroke::new(stroke::NODE, theme.ink));
    } else {
        icon_stroked(p, Icon::Cross, place, 0.7, Stroke::new(stroke::NODE, theme.alarm_ink));
    }
}
