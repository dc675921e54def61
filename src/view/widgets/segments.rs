//! One of few: a switch whose chosen part is filled with ink. Where it doesn't fit it becomes a
//! drop-down. Knows the choices as words.

use egui::epaint::StrokeKind;
use egui::{
    Align, EventFilter, Key, Painter, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::drop::Drop;
use super::{focus, text};
use crate::view::theme::{Theme, bold, control, regular, size, stroke};

/// A switch.
#[derive(Debug, Clone)]
#[must_use = "show it in a Ui"]
pub struct Segments<'a> {
    name: &'a str,
    items: &'a [&'a str],
    selected: usize,
    height: f32,
}

impl<'a> Segments<'a> {
    /// A switch called `name` by screen readers.
    pub fn new(name: &'a str, items: &'a [&'a str], selected: usize) -> Self {
        Self { name, items, selected, height: control::USUAL }
    }

    /// Height in points; 36 unless said.
    pub fn height(mut self, height: f32) -> Self {
        self.height = height;
        self
    }

    /// Width it wants, in points.
    #[must_use]
    pub fn wanted_width(&self, p: &Painter) -> f32 {
        self.items.iter().map(|item| part_width(p, item)).sum()
    }

    /// Shows it at the layout's next place; a drop-down where the room is too narrow. Gives the
    /// newly chosen part, if one was chosen.
    pub fn show(self, ui: &mut Ui) -> Option<usize> {
        let wide = self.wanted_width(ui.painter());
        if wide > ui.available_width() {
            let room = ui.available_width().min(180.0);
            return Drop::new(self.name, self.items, Some(self.selected))
                .height(self.height)
                .width(room)
                .show(ui)
                .chosen;
        }
        let (rect, _) = ui.allocate_exact_size(vec2(wide, self.height), Sense::hover());
        self.show_at(ui, rect)
    }

    /// Shows the switch at a place of its own, from its left end.
    pub fn show_at(self, ui: &mut Ui, rect: Rect) -> Option<usize> {
        let t = Theme::of(ui);
        let wide = self.wanted_width(ui.painter()).min(rect.width());
        let rect = Rect::from_min_size(rect.min, vec2(wide, rect.height()));
        let frame = Stroke::new(stroke::RULE, t.edge);
        ui.painter().rect(rect, control::RADIUS, t.raise, frame, StrokeKind::Inside);

        let mut chosen = None;
        let mut focused = None;
        let mut x = rect.left();
        let ids: Vec<_> =
            (0..self.items.len()).map(|i| ui.make_persistent_id(("segment", self.name, i))).collect();
        for (i, item) in self.items.iter().enumerate() {
            let wide = part_width(ui.painter(), item);
            let part = Rect::from_min_size(pos2(x, rect.top()), vec2(wide, rect.height()));
            x += wide;
            let response = ui.interact(part, ids[i], Sense::click());
            response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, i == self.selected, item));
            ui.accesskit_node_builder(response.id, |node| node.set_description(self.name));
            self.paint(ui.painter(), &t, part, i, item, &response);
            if response.clicked() && i != self.selected {
                chosen = Some(i);
            }
            if response.has_focus() {
                focused = Some((i, part));
            }
        }
        if let Some((i, part)) = focused {
            focus::ring_at(ui.painter(), &t, part);
            if let Some(next) = self.arrow(ui, &ids, i) {
                chosen = Some(next);
            }
        }
        chosen
    }

    /// Left and right move the choice and the focus together, as in a radio group.
    fn arrow(&self, ui: &Ui, ids: &[egui::Id], at: usize) -> Option<usize> {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(ids[at], filter));
        let (left, right) = ui.input(|i| (i.key_pressed(Key::ArrowLeft), i.key_pressed(Key::ArrowRight)));
        let next = match (left, right) {
            (true, false) => at.checked_sub(1)?,
            (false, true) => Some(at + 1).filter(|n| *n < ids.len())?,
            _ => return None,
        };
        ui.memory_mut(|m| m.request_focus(ids[next]));
        Some(next)
    }

    fn paint(&self, p: &Painter, t: &Theme, part: Rect, i: usize, item: &str, response: &Response) {
        let chosen = i == self.selected;
        if chosen {
            p.rect_filled(part, control::RADIUS, t.act);
        } else {
            if response.is_pointer_button_down_on() {
                p.rect_filled(part.shrink(1.0), control::RADIUS, t.press);
            }
            if i > 0 && i != self.selected + 1 {
                p.vline(part.left(), part.top() + 6.0..=part.bottom() - 6.0, t.outline());
            }
            if response.hovered() {
                p.hline(part.left() + 14.0..=part.right() - 14.0, part.bottom() - 5.5, t.outline());
            }
        }
        let (font, ink) = if chosen { (bold(size::BODY), t.on_act) } else { (regular(size::BODY), t.ink) };
        text::cap(p, part.center().x, part.center().y, Align::Center, item, font, ink);
    }
}

/// A switch at the layout's next place: [`Segments`] with everything as usual.
pub fn segments(ui: &mut Ui, name: &str, items: &[&str], selected: usize) -> Option<usize> {
    Segments::new(name, items, selected).show(ui)
}

/// Bold in width, so that a part doesn't move when it is chosen.
fn part_width(p: &Painter, item: &str) -> f32 {
    (text::width(p, item, bold(size::BODY)) + 28.0).round()
}
