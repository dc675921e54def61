//! A 32-bit number read in both bit orders, side by side: one is chosen.

use egui::{Align, Painter, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use super::shown::note;
use crate::app::codes::Order;
use crate::remote::{self, Code, Likely, NumberOrder, NumberReading, OrderReading};
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::icons::{Icon, icon_stroked};
use crate::view::widgets::{focus, text};

/// Height of one order's panel.
const HIGH: f32 = 102.0;

/// Shows both orders; gives the one that was chosen.
pub(super) fn order_ui(ui: &mut Ui, reading: &NumberReading, meant: Option<NumberOrder>) -> Option<Order> {
    let width = ui.available_width().min(760.0);
    let beside = width >= 420.0;
    let one = if beside { (width - space::ROW) / 2.0 } else { width };
    let mut chosen = None;
    let mut panel = |ui: &mut Ui, order: NumberOrder| {
        let clicked = panel_ui(ui, reading, order, meant == Some(order), one);
        if clicked {
            chosen = Some(match order {
                NumberOrder::FirstBitFirst => Order::FirstBitFirst,
                NumberOrder::LastBitFirst => Order::LastBitFirst,
            });
        }
    };
    let orders = [NumberOrder::FirstBitFirst, NumberOrder::LastBitFirst];
    if beside {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = space::ROW;
            orders.into_iter().for_each(|order| panel(ui, order));
        });
    } else {
        for order in orders {
            panel(ui, order);
            ui.add_space(space::TIGHT);
        }
    }
    ui.add_space(space::TIGHT);
    ui.scope(|ui| {
        ui.set_max_width(width);
        let [head, more] = reason(reading);
        note(ui, &head, &[&more]);
    });
    chosen
}

/// Why one order is likely, or what would tell.
fn reason(reading: &NumberReading) -> [String; 2] {
    let line = str::to_owned;
    match reading.likely {
        Likely::Same => [line("Both orders give the same code."), line("Nothing has to be chosen.")],
        Likely::Inverse(order) => [
            format!("{} is proposed.", capital(order)),
            line("Only in this order does the command match its inverse."),
        ],
        Likely::AddressInUse(order) => [
            format!("{} is proposed: its address is in use already.", capital(order)),
            line(
                "The inverses match the other way too, so no check can tell. Choose the other if you know better.",
            ),
        ],
        Likely::NoCheckCanTell => [
            line("Choose one: the inverses match both ways, so no check can tell."),
            line(
                "The page the number came from may say it, or a command known to work: its address is the same.",
            ),
        ],
        Likely::Neither => [
            line("No code in either order: the command never matches its inverse."),
            line("Check the digits, or type the timings."),
        ],
    }
}

fn capital(order: NumberOrder) -> &'static str {
    match order {
        NumberOrder::FirstBitFirst => "First bit first",
        NumberOrder::LastBitFirst => "Last bit first",
    }
}

fn panel_ui(ui: &mut Ui, reading: &NumberReading, order: NumberOrder, chosen: bool, width: f32) -> bool {
    let theme = Theme::of(ui.ctx());
    let this = reading.reading(order);
    let likely = reading.likely_reading().is_some_and(|likely| likely.order == order);
    let (rect, _) = ui.allocate_exact_size(vec2(width, HIGH), Sense::hover());
    let can = this.code.is_some();
    let sense = if can { Sense::click() } else { Sense::hover() };
    let response = ui.interact(rect, ui.make_persistent_id(("order", order)), sense);
    let words = this.code.as_ref().map_or_else(|| "no code".to_owned(), remote::describe);
    let said = format!("{}, {words}{}", capital(order), if likely { ", likely" } else { "" });
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, can, chosen, &said));
    paint(ui.painter(), &theme, rect, this, &response, Marks { number: reading.number, chosen, likely });
    focus::ring(ui.painter(), &theme, &response, rect.shrink(1.0));
    response.clicked()
}

struct Marks {
    number: u32,
    chosen: bool,
    likely: bool,
}

fn paint(p: &Painter, theme: &Theme, rect: Rect, this: &OrderReading, response: &Response, marks: Marks) {
    let can = this.code.is_some();
    let (fill, line, wide) = match (marks.chosen, can) {
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
    if marks.chosen {
        p.circle_filled(dot, 3.5, theme.ink);
    }
    let ink = if can { theme.ink } else { theme.ink2 };
    text::cap(p, x, y, Align::Min, capital(this.order), theme::bold(size::BODY), ink);
    if marks.likely {
        let font = theme::regular(size::AXIS);
        text::cap(p, rect.right() - 14.0, y, Align::Max, "likely", font, theme.ink2);
    }
    let room = rect.right() - x - 10.0;
    let font = theme::regular(size::BODY);
    match &this.code {
        Some(code @ Code::Family { family, .. }) => {
            let y = rect.top() + 43.0;
            let at = x + text::cap(p, x, y, Align::Min, &family.0, font, theme.ink2) + 10.0;
            let numbers = super::parts::bytes(code);
            text::cap(p, at, y, Align::Min, &numbers, theme::mono(size::RAIL), theme.ink);
        }
        _ => {
            let words = "no nec or nec16 code";
            text::cap_within(p, x, rect.top() + 43.0, Align::Min, room, words, font, theme.ink2);
        }
    }
    let sent = sent_bytes(marks.number, this.order);
    let checks = [("address", 0, this.address_inverse), ("command", 2, this.command_inverse)];
    for (row, (name, first, holds)) in checks.into_iter().enumerate() {
        let y = rect.top() + 68.0 + 20.0 * row as f32;
        // A 16-bit address has no inverse: that isn't wrong.
        let wide_address = first == 0 && !holds && can;
        let font = theme::regular(size::AXIS);
        let mut at = x + text::cap(p, x, y, Align::Min, name, font.clone(), theme.ink2) + 8.0;
        let [a, b] = [sent[first], sent[first + 1]].map(|byte| format!("{byte:02X}"));
        let mono = theme::mono(size::BODY);
        at += text::cap(p, at, y, Align::Min, &a, mono.clone(), theme.ink) + 8.0;
        let joint = if wide_address { "then" } else { "inverse" };
        at += text::cap(p, at, y, Align::Min, joint, font.clone(), theme.ink2) + 8.0;
        at += text::cap(p, at, y, Align::Min, &b, mono, theme.ink) + 14.0;
        let place = pos2(at, y);
        if holds {
            icon_stroked(p, Icon::Tick, place, 0.62, Stroke::new(stroke::NODE, theme.ink));
        } else if wide_address {
            text::cap(p, at - 6.0, y, Align::Min, "16 bits", font, theme.ink2);
        } else {
            icon_stroked(p, Icon::Cross, place, 0.7, Stroke::new(stroke::NODE, theme.alarm_ink));
        }
    }
}

/// The four bytes in the order they are sent, each by its value.
fn sent_bytes(number: u32, order: NumberOrder) -> [u8; 4] {
    match order {
        NumberOrder::FirstBitFirst => number.reverse_bits().to_le_bytes(),
        NumberOrder::LastBitFirst => number.to_le_bytes(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_stand_as_they_are_sent_in_either_order() {
        assert_eq!(sent_bytes(0x9A65_6897, NumberOrder::FirstBitFirst), [0x59, 0xA6, 0x16, 0xE9]);
        assert_eq!(sent_bytes(0x9A65_6897, NumberOrder::LastBitFirst), [0x97, 0x68, 0x65, 0x9A]);
    }
}
