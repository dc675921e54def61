//! A text field: a well with an outline, its unit inside, and an alarm edge when what was typed
//! can't be used. Knows nothing of what is typed.

use egui::epaint::StrokeKind;
use egui::{
    Align, FontId, Frame, Margin, Rect, Response, RichText, Sense, Stroke, TextEdit, Ui, UiBuilder, vec2,
};

use super::{focus, text};
use crate::view::theme::{Theme, control, mono, regular, size, stroke};

/// A field.
#[derive(Debug)]
#[must_use = "show it in a Ui"]
pub struct Field<'a> {
    text: &'a mut String,
    name: &'a str,
    unit: &'a str,
    hint: &'a str,
    error: Option<&'a str>,
    width: f32,
    height: f32,
    font: FontId,
    align: Align,
    limit: usize,
}

impl<'a> Field<'a> {
    /// A field called `name` by screen readers; the name must be unique in its `Ui`.
    pub fn new(text: &'a mut String, name: &'a str) -> Self {
        Self {
            text,
            name,
            unit: "",
            hint: "",
            error: None,
            width: 160.0,
            height: control::USUAL,
            font: regular(size::PROSE),
            align: Align::Min,
            limit: 4096,
        }
    }

    /// A number with its unit: set to the right, in 17.
    pub fn unit(mut self, unit: &'a str) -> Self {
        self.unit = unit;
        self.align = Align::Max;
        self.font = regular(size::RAIL);
        self
    }

    /// What stands there while it's empty.
    pub fn hint(mut self, hint: &'a str) -> Self {
        self.hint = hint;
        self
    }

    /// Why what was typed can't be used: alarm edge, and the reason on hover and to screen readers.
    pub fn error(mut self, error: Option<&'a str>) -> Self {
        self.error = error;
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

    /// For codes: B612 Mono in 17.
    pub fn code(mut self) -> Self {
        self.font = mono(size::RAIL);
        self
    }

    /// Most characters it takes; 4096 unless said.
    pub fn limit(mut self, characters: usize) -> Self {
        self.limit = characters;
        self
    }

    /// Shows it at the layout's next place; the answer is the text field's own (`changed`,
    /// `lost_focus`).
    pub fn show(self, ui: &mut Ui) -> Response {
        let (rect, _) = ui.allocate_exact_size(vec2(self.width, self.height), Sense::hover());
        self.show_at(ui, rect)
    }

    /// Shows it at a place of its own.
    pub fn show_at(self, ui: &mut Ui, rect: Rect) -> Response {
        let t = Theme::of(ui);
        ui.painter().rect_filled(rect, control::RADIUS, t.well);
        let unit_wide = text::cap(
            ui.painter(),
            rect.right() - 12.0,
            rect.center().y,
            Align::Max,
            self.unit,
            regular(size::BODY),
            t.ink2,
        );
        let tail = if unit_wide > 0.0 { unit_wide + 17.0 } else { 10.0 };
        let inner = Rect::from_min_max(rect.min + vec2(10.0, 0.0), rect.max - vec2(tail, 0.0));
        let id = ui.make_persistent_id(("field", self.name));
        let edit = TextEdit::singleline(self.text)
            .id(id)
            .frame(Frame::NONE)
            .margin(Margin::ZERO)
            .font(self.font.clone())
            .text_color(t.ink)
            .hint_text(RichText::new(self.hint).font(self.font).color(t.ink3))
            .char_limit(self.limit)
            .align(egui::Align2([self.align, Align::Center]))
            .desired_width(inner.width())
            .min_size(inner.size());
        let mut child = ui.new_child(UiBuilder::new().max_rect(inner));
        let response = child.add(edit).accessible_name(self.name);
        let colour = match () {
            () if self.error.is_some() => t.alarm,
            () if response.hovered() || response.has_focus() => t.ink,
            () => t.edge,
        };
        let wide = if self.error.is_some() { stroke::NODE } else { stroke::RULE };
        ui.painter().rect_stroke(rect, control::RADIUS, Stroke::new(wide, colour), StrokeKind::Inside);
        focus::ring(ui.painter(), &t, &response, rect);
        match self.error {
            Some(why) => {
                ui.accesskit_node_builder(response.id, |node| {
                    node.set_invalid(egui::accesskit::Invalid::True);
                });
                response.on_hover_text(why)
            }
            None => response,
        }
    }
}
