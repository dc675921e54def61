//! A drop-down: the face shows the choice and a second text; the list opens under it. Operated
//! with the pointer or with the arrow keys, Enter and Escape. Knows the choices as words.

use egui::epaint::StrokeKind;
use egui::{
    Align, Color32, EventFilter, Frame, Id, Key, Margin, Painter, Popup, Rect, Response, Role, ScrollArea,
    Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::icons::{Icon, icon_stroked};
use super::{focus, hatch, text};
use crate::view::theme::{Theme, bold, control, mono, regular, size, stroke};

/// What came of showing a drop-down.
#[derive(Debug)]
pub struct DropAnswer {
    /// The face.
    pub response: Response,
    /// The row chosen just now, also when it was chosen already.
    pub chosen: Option<usize>,
}

/// A drop-down.
#[derive(Debug, Clone)]
#[must_use = "show it in a Ui"]
pub struct Drop<'a> {
    name: &'a str,
    items: &'a [&'a str],
    subs: &'a [&'a str],
    selected: Option<usize>,
    empty: &'a str,
    sub: &'a str,
    planned: bool,
    width: f32,
    height: f32,
    enabled: bool,
}

const ROW: f32 = 32.0;
const ROWS_SEEN: f32 = 9.0;

impl<'a> Drop<'a> {
    /// A drop-down called `name` by screen readers; the name must be unique in its `Ui`.
    pub fn new(name: &'a str, items: &'a [&'a str], selected: Option<usize>) -> Self {
        Self {
            name,
            items,
            subs: &[],
            selected: selected.filter(|i| *i < items.len()),
            empty: "Choose",
            sub: "",
            planned: false,
            width: 130.0,
            height: control::USUAL,
            enabled: true,
        }
    }

    /// Second texts of the rows, such as a code's bytes, in the mono font.
    pub fn subs(mut self, subs: &'a [&'a str]) -> Self {
        self.subs = subs;
        self
    }

    /// Second text on the face; the chosen row's own unless said.
    pub fn second(mut self, sub: &'a str) -> Self {
        self.sub = sub;
        self
    }

    /// What the face says while nothing is chosen.
    pub fn empty(mut self, words: &'a str) -> Self {
        self.empty = words;
        self
    }

    /// Dashed: planned, or nothing chosen yet.
    pub fn planned(mut self, planned: bool) -> Self {
        self.planned = planned;
        self
    }

    /// Width in points.
    pub fn width(mut self, width: f32) -> Self {
        self.width = width;
        self
    }

    /// Height in points.
    pub fn height(mut self, height: f32) -> Self {
        self.height = height;
        self
    }

    /// A disabled drop-down keeps its place and does nothing.
    pub fn enabled(mut self, enabled: bool) -> Self {
        self.enabled = enabled;
        self
    }

    /// Shows it at the layout's next place.
    pub fn show(self, ui: &mut Ui) -> DropAnswer {
        let (rect, _) = ui.allocate_exact_size(vec2(self.width, self.height), Sense::hover());
        self.show_at(ui, rect)
    }

    /// Shows it at a place of its own.
    pub fn show_at(self, ui: &mut Ui, rect: Rect) -> DropAnswer {
        let id = ui.make_persistent_id(("drop", self.name));
        let on = self.enabled && ui.is_enabled();
        let response = ui.interact(rect, id, if on { Sense::click() } else { Sense::hover() });
        if response.clicked() {
            // Opened by the pointer, it can be walked with the keys as well.
            response.request_focus();
        }
        let popup_id = Popup::default_response_id(&response);
        let was_open = Popup::is_id_open(ui, popup_id);
        self.describe(ui, &response, was_open, on);
        let t = Theme::of(ui);
        if ui.is_rect_visible(rect.expand(4.0)) {
            self.paint_face(ui.painter(), &t, rect, &response, was_open, on);
            focus::ring(ui.painter(), &t, &response, rect);
        }
        let (mut chosen, key_open) = if on { self.keys(ui, &response, was_open) } else { (None, false) };

        if self.items.is_empty() {
            return DropAnswer { response, chosen: None }; // nothing to open
        }
        let mut popup = Popup::from_toggle_button_response(&response)
            .accessible_name(format!("{}, choices", self.name))
            .gap(2.0)
            .width(rect.width())
            .frame(
                Frame::new()
                    .fill(t.raise)
                    .stroke(Stroke::new(stroke::RULE, t.edge))
                    .corner_radius(control::RADIUS)
                    .inner_margin(Margin::same(2)),
            );
        if key_open {
            popup = popup.open_memory(egui::SetOpenCommand::Bool(true));
        }
        let shown = popup.show(|ui| self.list_ui(ui, &t, id, rect.width(), was_open));
        if let Some(row) = shown.and_then(|shown| shown.inner) {
            // Whoever points goes on pointing: Enter is the acting button's again.
            response.surrender_focus();
            chosen = chosen.or(Some(row));
        }
        DropAnswer { response, chosen }
    }

    fn describe(&self, ui: &Ui, response: &Response, open: bool, on: bool) {
        let value = self.selected.map_or(self.empty, |i| self.items[i]);
        response.widget_info(|| WidgetInfo {
            current_text_value: Some(value.to_owned()),
            ..WidgetInfo::labeled(Role::ComboBox, on, self.name)
        });
        ui.accesskit_node_builder(response.id, |node| node.set_expanded(open));
    }

    /// Arrow keys open the list and walk it; Enter takes the row walked to (the click it also
    /// makes on the face closes the list).
    fn keys(&self, ui: &Ui, response: &Response, open: bool) -> (Option<usize>, bool) {
        if !response.has_focus() {
            return (None, false);
        }
        let filter = EventFilter { vertical_arrows: true, escape: open, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        let walk_id = response.id.with("walked to");
        let Some(last) = self.items.len().checked_sub(1) else { return (None, false) };
        let start = self.selected.unwrap_or(0);
        let at = ui.data(|d| d.get_temp::<usize>(walk_id)).unwrap_or(start).min(last);
        let [down, up, home, end, enter, space] =
            [Key::ArrowDown, Key::ArrowUp, Key::Home, Key::End, Key::Enter, Key::Space]
                .map(|key| ui.input(|i| i.key_pressed(key)));
        if !open {
            ui.data_mut(|d| d.insert_temp(walk_id, start));
            return (None, down || up);
        }
        let next = match () {
            () if down => (at + 1).min(last),
            () if up => at.saturating_sub(1),
            () if home => 0,
            () if end => last,
            () => at,
        };
        ui.data_mut(|d| d.insert_temp(walk_id, next));
        ((enter || space).then_some(at), false)
    }

    fn list_ui(&self, ui: &mut Ui, t: &Theme, id: Id, width: f32, was_open: bool) -> Option<usize> {
        let walk_id = id.with("walked to");
        if !was_open {
            ui.data_mut(|d| d.insert_temp(walk_id, self.selected.unwrap_or(0)));
        }
        let at = ui.data(|d| d.get_temp::<usize>(walk_id)).unwrap_or(0);
        let moved = ui.input(|i| i.pointer.is_moving());
        let keyed = ui.input(|i| i.key_pressed(Key::ArrowDown) || i.key_pressed(Key::ArrowUp));
        let wide = (width - 6.0).max(self.widest(ui.painter()));
        let mut chosen = None;
        ui.spacing_mut().item_spacing.y = 0.0;
        ScrollArea::vertical().max_height(ROW * ROWS_SEEN).show(ui, |ui| {
            ui.set_min_width(wide);
            for (i, item) in self.items.iter().enumerate() {
                let (rect, _) = ui.allocate_exact_size(vec2(wide, ROW), Sense::hover());
                // Not focusable: the keyboard stays with the face, which walks the rows.
                let response = ui.interact(rect, ui.make_persistent_id(("row", i)), Sense::CLICK);
                let chosen_now = self.selected == Some(i);
                response.widget_info(|| WidgetInfo::selected(Role::ListBoxOption, true, chosen_now, item));
                if response.hovered() && moved {
                    ui.data_mut(|d| d.insert_temp(walk_id, i));
                }
                if at == i && (keyed || !was_open) {
                    response.scroll_to_me(None);
                }
                self.paint_row(ui.painter(), t, rect, i, at == i);
                if response.clicked() {
                    chosen = Some(i);
                    ui.close();
                }
            }
        });
        chosen
    }

    fn sub_of(&self, i: usize) -> &'a str {
        self.subs.get(i).copied().unwrap_or("")
    }

    fn widest(&self, p: &Painter) -> f32 {
        let row = |(i, item): (usize, &&str)| {
            let sub = text::width(p, self.sub_of(i), mono(size::AXIS));
            text::width(p, item, bold(size::BODY)) + sub + if sub > 0.0 { 60.0 } else { 40.0 }
        };
        self.items.iter().enumerate().map(row).fold(0.0, f32::max).min(480.0)
    }

    fn paint_row(&self, p: &Painter, t: &Theme, rect: Rect, i: usize, walked_to: bool) {
        if walked_to {
            p.rect_filled(rect, control::RADIUS, t.press);
        }
        let chosen = self.selected == Some(i);
        let y = rect.center().y;
        let sub_wide =
            text::cap(p, rect.right() - 10.0, y, Align::Max, self.sub_of(i), mono(size::AXIS), t.ink2);
        if chosen {
            p.rect_filled(Rect::from_min_size(rect.left_top(), vec2(3.0, rect.height())), 0, t.ink);
        }
        let font = if chosen { bold(size::BODY) } else { regular(size::BODY) };
        let room = rect.width() - 30.0 - sub_wide;
        text::cap_within(p, rect.left() + 12.0, y, Align::Min, room, self.items[i], font, t.ink);
    }

    fn paint_face(&self, p: &Painter, t: &Theme, rect: Rect, response: &Response, open: bool, on: bool) {
        let dashed = self.planned || !on;
        let line = Stroke::new(stroke::RULE, if on && response.hovered() { t.ink } else { t.edge });
        let fill = match () {
            () if dashed => Color32::TRANSPARENT,
            () if open || response.is_pointer_button_down_on() => t.press,
            () => t.raise,
        };
        p.rect_filled(rect, control::RADIUS, fill);
        if dashed {
            hatch::dashed_rect(p, rect, line, 4.0, 3.0);
        } else {
            p.rect_stroke(rect, control::RADIUS, line, StrokeKind::Inside);
        }
        let y = rect.center().y;
        let sub = if self.sub.is_empty() { self.selected.map_or("", |i| self.sub_of(i)) } else { self.sub };
        let sub_wide = text::cap(p, rect.right() - 28.0, y, Align::Max, sub, mono(size::AXIS), t.ink2);
        let (words, ink) = match self.selected {
            Some(i) if on => (self.items[i], t.ink),
            Some(i) => (self.items[i], t.ink3),
            // Third text stands on face and well only; on the raised face it is the second.
            None if dashed => (self.empty, t.ink3),
            None => (self.empty, t.ink2),
        };
        let room = rect.width() - 10.0 - 30.0 - if sub_wide > 0.0 { sub_wide + 8.0 } else { 0.0 };
        text::cap_within(p, rect.left() + 10.0, y, Align::Min, room, words, regular(size::BODY), ink);
        icon_stroked(p, Icon::Down, pos2(rect.right() - 15.0, y), 0.9, Stroke::new(stroke::BAND, t.ink2));
    }
}
