//! Buttons: the one main action filled, others in outline, quiet ones bare; each with its key in
//! it. A press of that key is caught where the action is known ([`focus::key_pressed`]). Knows no
//! action.

use std::sync::Arc;

use egui::epaint::StrokeKind;
use egui::{
    Align, Color32, Galley, Painter, Rect, Response, Role, Sense, Stroke, Ui, Vec2, Widget, WidgetInfo, pos2,
    vec2,
};

use super::icons::{Icon, icon};
use super::{focus, keycap, text};
use crate::view::theme::{Theme, bold, control, regular, size, stroke};

/// How loud a button is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Kind {
    Act,
    Line,
    Quiet,
}

/// A button.
#[derive(Debug, Clone)]
#[must_use = "add it to a Ui"]
pub struct Button<'a> {
    label: &'a str,
    kind: Kind,
    key: Option<&'a str>,
    icon: Option<Icon>,
    name: Option<&'a str>,
    salt: &'a str,
    height: f32,
    width: Option<f32>,
    text_size: Option<f32>,
    enabled: bool,
}

const ICON_ROOM: f32 = 26.0;
const KEY_GAP: f32 = 10.0;

impl<'a> Button<'a> {
    fn new(label: &'a str, kind: Kind) -> Self {
        Self {
            label,
            kind,
            key: None,
            icon: None,
            name: None,
            salt: "",
            height: control::USUAL,
            width: None,
            text_size: None,
            enabled: true,
        }
    }

    /// The one main action of a screen, filled.
    pub fn act(label: &'a str) -> Self {
        Self::new(label, Kind::Act)
    }

    /// Any other action, in outline.
    pub fn line(label: &'a str) -> Self {
        Self::new(label, Kind::Line)
    }

    /// A small action in a row, bare.
    pub fn quiet(label: &'a str) -> Self {
        Self::new(label, Kind::Quiet)
    }

    /// The key that does the same, as it is printed on a keyboard.
    pub fn key(mut self, key: &'a str) -> Self {
        self.key = (!key.is_empty()).then_some(key);
        self
    }

    /// An icon before the label.
    pub fn icon(mut self, icon: Icon) -> Self {
        self.icon = Some(icon);
        self
    }

    /// A name for screen readers that says more than the label.
    pub fn name(mut self, name: &'a str) -> Self {
        self.name = Some(name);
        self
    }

    /// Tells it from another of the same label in one `Ui`, for [`Self::show_at`].
    pub fn salt(mut self, salt: &'a str) -> Self {
        self.salt = salt;
        self
    }

    /// Height in points: one of [`control`]'s; 36 unless said.
    pub fn height(mut self, height: f32) -> Self {
        self.height = height;
        self
    }

    /// Width in points; as wide as its content unless said. Too narrow, the key goes first, then
    /// the label ends in an ellipsis.
    pub fn width(mut self, width: f32) -> Self {
        self.width = Some(width);
        self
    }

    /// Text size, where the usual 17 (acting) or 14 doesn't fit.
    pub fn text_size(mut self, size: f32) -> Self {
        self.text_size = Some(size);
        self
    }

    /// A disabled button keeps its place and its name, and does nothing.
    pub fn enabled(mut self, enabled: bool) -> Self {
        self.enabled = enabled;
        self
    }

    /// Width it wants, in points, for laying a row out before drawing it.
    #[must_use]
    pub fn wanted_width(&self, p: &Painter) -> f32 {
        let key = self.key.map_or(0.0, |k| keycap::width(p, k) + KEY_GAP);
        let icon = self.icon.map_or(0.0, |_| ICON_ROOM);
        let pad = if self.height >= control::NOTICE {
            16.0
        } else if self.height >= 30.0 {
            12.0
        } else {
            8.0
        };
        (text::width(p, self.label, self.font()) + key + icon + 2.0 * pad).ceil().max(control::TARGET)
    }

    /// Draws it at a place of its own instead of the layout's next one.
    pub fn show_at(self, ui: &mut Ui, rect: Rect) -> Response {
        let response =
            ui.interact(rect, ui.make_persistent_id(("button", self.label, self.salt)), self.sense(ui));
        self.finish(ui, rect, response)
    }

    fn font(&self) -> egui::FontId {
        let big = self.height >= control::NOTICE;
        let size = self.text_size.unwrap_or(if big { size::RAIL } else { size::BODY });
        if self.kind == Kind::Quiet { regular(size) } else { bold(size) }
    }

    fn sense(&self, ui: &Ui) -> Sense {
        if self.enabled && ui.is_enabled() { Sense::click() } else { Sense::hover() }
    }

    fn finish(self, ui: &Ui, rect: Rect, response: Response) -> Response {
        let on = self.enabled && ui.is_enabled();
        response.widget_info(|| WidgetInfo::labeled(Role::Button, on, self.name.unwrap_or(self.label)));
        if let Some(key) = self.key {
            ui.accesskit_node_builder(response.id, |node| node.set_keyboard_shortcut(key.to_owned()));
        }
        if ui.is_rect_visible(rect.expand(4.0)) {
            let t = Theme::of(ui);
            self.paint(ui.painter(), &t, rect, &response, on);
            focus::ring(ui.painter(), &t, &response, rect);
        }
        response
    }

    fn paint(&self, p: &Painter, t: &Theme, rect: Rect, response: &Response, on: bool) {
        let down = on && response.is_pointer_button_down_on();
        let over = on && response.hovered();
        let (fill, line, ink) = match self.kind {
            Kind::Quiet if !on => (Color32::TRANSPARENT, Color32::TRANSPARENT, t.ink3),
            _ if !on => (Color32::TRANSPARENT, t.rule, t.ink3),
            Kind::Act if down => (t.on_act2, Color32::TRANSPARENT, t.on_act),
            Kind::Act => (t.act, Color32::TRANSPARENT, t.on_act),
            Kind::Line if down => (t.press, t.ink, t.ink),
            Kind::Line => (t.raise, if over { t.ink } else { t.edge }, t.ink),
            Kind::Quiet if down => (t.press, t.edge, t.ink),
            Kind::Quiet => (Color32::TRANSPARENT, if over { t.edge } else { Color32::TRANSPARENT }, t.ink),
        };
        p.rect(rect, control::RADIUS, fill, Stroke::new(stroke::RULE, line), StrokeKind::Inside);
        if over && self.kind == Kind::Act {
            // A filled button answers the pointer with a second line inside.
            let line = Stroke::new(stroke::RULE, t.on_act);
            p.rect_stroke(rect.shrink(3.0), 1, line, StrokeKind::Inside);
        }
        self.paint_content(p, rect, ink);
    }

    fn paint_content(&self, p: &Painter, rect: Rect, ink: Color32) {
        let room = (rect.width() - 12.0).max(0.0);
        let icon_wide = self.icon.map_or(0.0, |_| ICON_ROOM);
        let key_wide = |k: &str| keycap::width(p, k) + KEY_GAP;
        let label_wide = text::width(p, self.label, self.font());
        let key = self.key.filter(|k| icon_wide + label_wide + key_wide(k) <= room);
        let key_room = key.map_or(0.0, key_wide);
        let label: Arc<Galley> =
            text::one_line(p, self.label, self.font(), ink, (room - icon_wide - key_room).max(8.0));
        let total = icon_wide + label.size().x + key_room;
        let mut x = (rect.center().x - total / 2.0).round();
        let y = rect.center().y;
        if let Some(which) = self.icon {
            icon(p, which, pos2(x + 9.0, y), 1.0, ink);
            x += icon_wide;
        }
        let top = y + self.font().size * size::CAP / 2.0 - text::baseline(&label);
        let wide = label.size().x;
        p.galley(pos2(x, top), label, ink);
        if let Some(key) = key {
            keycap::keycap(p, x + wide + KEY_GAP, y, Align::Min, key, ink);
        }
    }
}

impl Widget for Button<'_> {
    fn ui(self, ui: &mut Ui) -> Response {
        let wide = self.width.unwrap_or_else(|| self.wanted_width(ui.painter()));
        let sense = self.sense(ui);
        let (rect, response) = ui.allocate_exact_size(vec2(wide, self.height), sense);
        self.finish(ui, rect, response)
    }
}

/// A bare icon that can be clicked, at a place given to it; its name shows on hover.
pub fn icon_button(ui: &Ui, rect: Rect, which: Icon, name: &str, hint: &str, enabled: bool) -> Response {
    let sense = if enabled { Sense::click() } else { Sense::hover() };
    let response = ui.interact(rect, ui.make_persistent_id(("icon button", which)), sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name));
    let t = Theme::of(ui);
    let p = ui.painter();
    let colour = match (enabled, response.hovered()) {
        (false, _) => t.hatch,
        (true, true) => t.ink,
        (true, false) if matches!(which, Icon::Undo | Icon::Redo) => t.ink,
        (true, false) => t.ink2,
    };
    if enabled && (response.hovered() || response.is_pointer_button_down_on()) {
        let fill = if response.is_pointer_button_down_on() { t.press } else { t.raise };
        p.rect_filled(rect, control::RADIUS, fill);
    }
    icon(p, which, rect.center(), 1.0, colour);
    if response.has_focus() {
        p.rect_stroke(rect, 2, Stroke::new(stroke::NODE, t.focus), StrokeKind::Inside);
    }
    let tip = if hint.is_empty() { name.to_owned() } else { format!("{name}, {hint}") };
    response.on_hover_text(tip)
}

/// Lays buttons in a row, left to right, each as wide as it wants; where they don't fit, all are
/// narrowed alike. Gives the rectangles.
#[must_use]
pub fn row(p: &Painter, place: Rect, buttons: &[Button<'_>], gap: f32) -> Vec<Rect> {
    let wanted: Vec<f32> = buttons.iter().map(|b| b.width.unwrap_or_else(|| b.wanted_width(p))).collect();
    let count = u16::try_from(buttons.len()).unwrap_or(u16::MAX);
    let gaps = gap * f32::from(count.saturating_sub(1));
    let total: f32 = wanted.iter().sum();
    let scale = if total > 0.0 { ((place.width() - gaps) / total).clamp(0.0, 1.0) } else { 1.0 };
    let mut x = place.left();
    wanted
        .iter()
        .map(|w| {
            let wide = (w * scale).floor();
            let rect = Rect::from_min_size(pos2(x, place.top()), Vec2::new(wide, place.height()));
            x += wide + gap;
            rect
        })
        .collect()
}
