//! The large panel that says, by colour, shape and word together, how the press stands. Read at
//! arm's length. Knows no session; words and figures are handed to it.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, FontId, Painter, Rect, Response, Role, Sense, Stroke, Ui, Vec2, pos2, vec2};

use super::hatch::{self, Hatch};
use super::{focus, text};
use crate::view::theme::{Theme, ThemeKind, bold, control, regular, size, stroke};

/// What the panel says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PanelState {
    /// Nothing yet: dashed.
    Waiting,
    /// The wire moved; the bar at the foot fills, 0 to 1, to the dwell.
    Settling(f32),
    /// Held still long enough: filled with the button's colour.
    Settled,
    /// The press is taken: in the act colour.
    Counted,
    /// The press is refused: alarm.
    Refused,
    /// All is done: outlined in ink.
    Done,
}

/// The panel.
#[derive(Debug, Clone, Copy)]
#[must_use = "show it in a Ui"]
pub struct StatePanel<'a> {
    /// What it says.
    pub state: PanelState,
    /// The button asked for, whose colour it takes; none for rest.
    pub button: Option<usize>,
    /// The word: Settled.
    pub word: &'a str,
    /// The figure: 551.
    pub figure: &'a str,
    /// Its unit: counts.
    pub unit: &'a str,
    /// What to do or why, one line.
    pub note: &'a str,
}

/// The panel's size in a wide window.
pub const WIDE: Vec2 = vec2(228.0, 168.0);
/// In a medium window.
pub const MEDIUM: Vec2 = vec2(244.0, 112.0);
/// In a narrow window.
pub const NARROW: Vec2 = vec2(184.0, 78.0);

/// Sizes and heights that follow from the panel's own height.
struct Fit {
    word: f32,
    word_y: f32,
    figure: f32,
    figure_y: f32,
    unit_drop: f32,
    note: f32,
    note_y: f32,
    pad: f32,
}

impl Fit {
    fn of(rect: Rect, settling: bool) -> Self {
        let h = rect.height();
        let low = if settling { 0.84 } else { 0.87 };
        if h >= 140.0 {
            Self {
                word: size::STATE,
                word_y: 0.20,
                figure: size::FIGURE,
                figure_y: 0.55,
                unit_drop: 14.0,
                note: size::PROSE,
                note_y: low,
                pad: 20.0,
            }
        } else if h >= 100.0 {
            Self {
                word: size::STATE * 0.82,
                word_y: 0.20,
                figure: size::FIGURE * 0.82,
                figure_y: 0.55,
                unit_drop: 11.5,
                note: size::BODY,
                note_y: low,
                pad: 20.0,
            }
        } else {
            Self {
                word: size::ARM,
                word_y: 0.23,
                figure: 40.0,
                figure_y: 0.68,
                unit_drop: 9.0,
                note: 0.0,
                note_y: 1.0,
                pad: 14.0,
            }
        }
    }
}

impl StatePanel<'_> {
    /// Shows it at the layout's next place.
    pub fn show(self, ui: &mut Ui, size: Vec2) -> Response {
        let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
        self.show_at(ui, rect)
    }

    /// Shows it at a place of its own.
    pub fn show_at(self, ui: &Ui, rect: Rect) -> Response {
        let t = Theme::of(ui);
        let ink = self.ground(ui.painter(), &t, rect);
        self.words(ui.painter(), rect, ink);
        let mut said = self.word.to_owned();
        for part in [self.figure, self.unit] {
            if !part.is_empty() {
                said.push(' ');
                said.push_str(part);
            }
        }
        if !self.note.is_empty() {
            said.push_str(", ");
            said.push_str(self.note);
        }
        focus::tell_live(ui, rect, "state panel", Role::Status, &said)
    }

    /// Draws ground, outline, hatching and bar; gives the colour for the words.
    fn ground(&self, p: &Painter, t: &Theme, rect: Rect) -> Color32 {
        let night = t.kind == ThemeKind::Night;
        let colour = self.button.map_or(t.ink2, |i| t.button(i).plate);
        let letter = self.button.map_or(t.well, |i| t.button(i).letter);
        let none = Color32::TRANSPARENT;
        let (fill, line, ink) = match self.state {
            PanelState::Waiting => (none, Stroke::NONE, t.ink),
            PanelState::Settling(_) => {
                (t.raise, Stroke::new(stroke::NODE, t.key_line().unwrap_or(colour)), t.ink)
            }
            PanelState::Settled if night => (t.well, Stroke::new(3.0, colour), t.ink),
            PanelState::Settled => {
                (colour, t.key_line().map_or(Stroke::NONE, |c| Stroke::new(stroke::NODE, c)), letter)
            }
            PanelState::Counted if night => (t.press, Stroke::NONE, t.ink),
            PanelState::Counted => (t.act, Stroke::NONE, t.on_act),
            PanelState::Refused => (t.alarm_face, Stroke::new(stroke::NODE, t.alarm), t.alarm_ink),
            PanelState::Done => (t.face, Stroke::new(stroke::NODE, t.ink), t.ink),
        };
        p.rect(rect, control::RADIUS, fill, line, StrokeKind::Inside);
        match self.state {
            PanelState::Waiting => {
                hatch::dashed_rect(p, rect, Stroke::new(stroke::RULE, t.edge), 6.0, 5.0);
            }
            PanelState::Settling(share) => {
                let room = rect.shrink(line.width);
                let wide = room.width() * if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
                let bar = Rect::from_min_size(pos2(room.left(), room.bottom() - 5.0), vec2(wide, 5.0));
                p.rect_filled(bar, 0, colour);
            }
            PanelState::Refused => {
                let bar = Rect::from_min_size(rect.min + vec2(2.0, 2.0), vec2(18.0, rect.height() - 4.0));
                hatch::alarm(p, t, bar, Hatch::STOP_LARGE);
            }
            _ => {}
        }
        ink
    }

    fn words(&self, p: &Painter, rect: Rect, ink: Color32) {
        let fit = Fit::of(rect, matches!(self.state, PanelState::Settling(_)));
        let indent = if self.state == PanelState::Refused { fit.pad + 14.0 } else { fit.pad };
        let x = rect.left() + indent;
        let room = rect.right() - 10.0 - x;
        let y = |share: f32| rect.top() + rect.height() * share;

        let word = shrunk(p, self.word, fit.word, room);
        text::cap_within(p, x, y(fit.word_y), Align::Min, room, self.word, word, ink);
        let unit_font = regular(size::PROSE.min(fit.figure));
        let unit_wide = text::width(p, self.unit, unit_font.clone());
        let unit_room = if unit_wide > 0.0 { unit_wide + 12.0 } else { 0.0 };
        let figure = shrunk(p, self.figure, fit.figure, room - unit_room);
        let wide = text::cap(p, x, y(fit.figure_y), Align::Min, self.figure, figure, ink);
        let unit_y = y(fit.figure_y) + fit.unit_drop;
        text::cap(p, x + wide + 12.0, unit_y, Align::Min, self.unit, unit_font, ink);
        if fit.note > 0.0 {
            text::cap_within(p, x, y(fit.note_y), Align::Min, room, self.note, regular(fit.note), ink);
        }
    }
}

/// Bold at the size wanted, or as much smaller as it must be to fit the room, at most by half.
fn shrunk(p: &Painter, words: &str, size: f32, room: f32) -> FontId {
    let wide = text::width(p, words, bold(size));
    let scale = if wide > room && wide > 0.0 { (room / wide).max(0.5) } else { 1.0 };
    bold((size * scale).floor().max(size * scale.min(1.0) * 0.99))
}
