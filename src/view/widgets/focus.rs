//! The ring round what has the keyboard, and keys that act from anywhere. Knows no widget.

use egui::epaint::StrokeKind;
use egui::{Key, KeyboardShortcut, Modifiers, Painter, Rect, Response, Role, Sense, Ui, WidgetInfo};

use crate::view::theme::{Theme, stroke};

/// The letters of buttons; a wheel holds sixteen.
pub const LETTERS: [Key; 16] = [
    Key::A,
    Key::B,
    Key::C,
    Key::D,
    Key::E,
    Key::F,
    Key::G,
    Key::H,
    Key::I,
    Key::J,
    Key::K,
    Key::L,
    Key::M,
    Key::N,
    Key::O,
    Key::P,
];

/// Draws the ring, 2 points wide outside a gap of 2, if the widget has the keyboard.
pub fn ring(p: &Painter, theme: &Theme, response: &Response, rect: Rect) {
    if response.has_focus() {
        ring_at(p, theme, rect);
    }
}

/// Draws the ring round a rectangle.
pub fn ring_at(p: &Painter, theme: &Theme, rect: Rect) {
    let line = egui::Stroke::new(stroke::NODE, theme.focus);
    p.rect_stroke(rect.expand(4.0), 4, line, StrokeKind::Inside);
}

/// True once when the key goes down, whatever has the focus; the key is then used up. It stays
/// with a text field that is being typed in (keys with Ctrl, Alt or Command and F-keys excepted),
/// and a bare Space or Enter stays with the control that has the focus, or one key would do two
/// things.
pub fn key_pressed(ui: &Ui, modifiers: Modifiers, key: Key) -> bool {
    if ui.data(|data| data.get_temp::<bool>(held_id())).unwrap_or(false) {
        return false;
    }
    let types = modifiers.is_none() || modifiers == Modifiers::SHIFT;
    let function = key.name().len() >= 2 && key.name().starts_with('F') && key != Key::F;
    if types && !function && key != Key::Escape && ui.text_edit_focused() {
        return false;
    }
    if types && matches!(key, Key::Space | Key::Enter) && ui.memory(|m| m.focused().is_some()) {
        return false;
    }
    ui.input_mut(|i| i.consume_shortcut(&KeyboardShortcut::new(modifiers, key)))
}

/// Holds back every key that [`key_pressed`] would answer, while a decision stands over the window.
pub fn hold_keys(ctx: &egui::Context, hold: bool) {
    ctx.data_mut(|data| data.insert_temp(held_id(), hold));
}

/// Whether a decision stands over the window: nothing under it takes keys or focus.
#[must_use]
pub fn are_keys_held(ctx: &egui::Context) -> bool {
    ctx.data(|data| data.get_temp(held_id())).unwrap_or(false)
}

fn held_id() -> egui::Id {
    egui::Id::unique("keys held back")
}

/// Puts words drawn with a painter into the accessibility tree, where they were drawn.
pub fn tell(ui: &Ui, rect: Rect, salt: &str, role: Role, words: &str) -> Response {
    let response = ui.interact(rect, ui.make_persistent_id(("told", salt)), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(role, true, words));
    response
}

/// As [`tell`], and read out when it changes.
pub fn tell_live(ui: &Ui, rect: Rect, salt: &str, role: Role, words: &str) -> Response {
    let response = tell(ui, rect, salt, role, words);
    ui.accesskit_node_builder(response.id, |node| node.set_live(egui::accesskit::Live::Polite));
    response
}
