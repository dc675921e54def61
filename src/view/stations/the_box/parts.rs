//! Pieces that the station's views share: a name with its value, an empty place that says what to do,
//! a scrolling column.

use egui::{
    Align, Key, Modifiers, Rect, Response, Role, ScrollArea, Sense, Stroke, Ui, UiBuilder, pos2, vec2,
};

use crate::view::theme::{self, Theme, size, space, stroke};
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::icons::{Icon, icon_stroked};
use crate::view::widgets::text;

/// Height of a plain line of facts, and of one with a hairline under it.
pub(super) const LINE: f32 = 26.0;
pub(super) const RULED: f32 = 29.0;

/// No column's content is wider, however large the window.
const WIDEST: f32 = 960.0;

/// A scrolling column whose bar stands in the margin at its right; `paged`, it answers the keyboard's
/// Page Up and Page Down, for most of what it holds can't take the keyboard.
pub(in crate::view::stations) fn column(
    ui: &mut Ui,
    salt: &str,
    rect: Rect,
    paged: bool,
    add: impl FnOnce(&mut Ui),
) {
    // Room for the ring round what has the keyboard.
    let outer = Rect::from_min_max(rect.min - vec2(6.0, 6.0), rect.max + vec2(10.0, 0.0));
    let mut child = ui.new_child(UiBuilder::new().max_rect(outer));
    ScrollArea::vertical().id_salt(salt).auto_shrink(false).show(&mut child, |ui| {
        let place =
            Rect::from_min_size(ui.cursor().min + vec2(6.0, 4.0), vec2(rect.width().min(WIDEST), 0.0));
        ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
            ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
            let page = rect.height() * 0.8;
            for (key, by) in [(Key::PageUp, page), (Key::PageDown, -page)] {
                if paged && key_pressed(ui, Modifiers::NONE, key) {
                    ui.scroll_with_delta(vec2(0.0, by));
                }
            }
            add(ui);
            ui.add_space(space::TIGHT);
        });
    });
}

/// How box and project stand to each other, at the end of a line.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    None,
    Same,
    Differs,
}

/// A name at the left, its value at the right.
pub(super) fn fact(ui: &mut Ui, name: &str, value: &str, mark: Mark) -> Rect {
    fact_in(ui, name, value, mark, theme::bold(size::BODY))
}

/// The same in the font of codes.
pub(super) fn code_fact(ui: &mut Ui, name: &str, value: &str) -> Rect {
    fact_in(ui, name, value, Mark::None, theme::mono(size::BODY))
}

fn fact_in(ui: &mut Ui, name: &str, value: &str, mark: Mark, font: egui::FontId) -> Rect {
    let theme = Theme::of(ui.ctx());
    let high = if mark == Mark::None { LINE } else { RULED };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::hover());
    let p = ui.painter();
    let y = rect.center().y;
    let name_wide = text::cap(p, rect.left(), y, Align::Min, name, theme::regular(size::BODY), theme.ink2);
    let mut right = rect.right();
    if mark != Mark::None {
        tick_or_cross(ui, pos2(right - 9.0, y), mark == Mark::Same);
        p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
        right -= 28.0;
    }
    let room = right - rect.left() - name_wide - 12.0;
    let wide = text::width(p, value, font.clone());
    text::cap_within(p, right, y, Align::Max, room, value, font, theme.ink);
    let ending = match mark {
        Mark::None => "",
        Mark::Same => ", the same",
        Mark::Differs => ", differs",
    };
    let told = focus::tell(ui, rect, name, Role::Label, &format!("{name} {value}{ending}"));
    if wide > room {
        told.on_hover_text(value);
    }
    rect
}

/// A tick in ink, or a cross in alarm ink.
pub(super) fn tick_or_cross(ui: &Ui, at: egui::Pos2, good: bool) {
    let theme = Theme::of(ui.ctx());
    let (which, ink) = if good { (Icon::Tick, theme.ink) } else { (Icon::Cross, theme.alarm_ink) };
    icon_stroked(ui.painter(), which, at, 0.75, Stroke::new(stroke::NODE, ink));
}

/// What to do first, in large letters, with more under it.
pub(super) fn say_first(ui: &mut Ui, head: &str, body: &str) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width().min(640.0);
    ui.add_space(space::BLOCK);
    for (words, font, ink, rows) in [
        (head, theme::regular(size::HEAD), theme.ink, 4),
        (body, theme::regular(size::PROSE), theme.ink2, 12),
    ] {
        let galley = text::prose(ui.painter(), words, font, ink, width, rows);
        let (rect, _) = ui.allocate_exact_size(galley.size(), Sense::hover());
        ui.painter().galley(rect.min, galley, ink);
        focus::tell(ui, rect, words, Role::Label, words);
        ui.add_space(space::BLOCK);
    }
}

/// A heading row of a table: each word at its place.
pub(super) fn heads(ui: &mut Ui, words: &[(&str, f32, Align)]) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    for (word, x, align) in words {
        let (x, y) = (rect.left() + x, rect.center().y);
        text::cap(ui.painter(), x, y, *align, word, theme::regular(size::AXIS), theme.ink2);
    }
}

/// Scrolls to what the keyboard came to.
pub(in crate::view::stations) fn see(response: &Response) {
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
}
