//! Long work: what is being done, how far it is in the work's own unit, a bar, and Cancel. Knows
//! no work.

use egui::epaint::StrokeKind;
use egui::{Align, Painter, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::button::Button;
use super::text;
use crate::view::theme::{Theme, bold, regular, size, stroke};

/// Long work under way.
#[derive(Debug, Clone, Copy)]
#[must_use = "show it in a Ui"]
pub struct Progress<'a> {
    /// What is being done.
    pub words: &'a str,
    /// How far, in the work's unit: 612 of 896 bytes.
    pub count: &'a str,
    /// Share done, 0 to 1.
    pub share: f32,
    /// Where the stages of the work meet, as shares; ticks over the bar.
    pub stages: &'a [f32],
    /// Whether it can be stopped.
    pub can_cancel: bool,
}

const HIGH: f32 = 40.0;
const BAR: f32 = 14.0;
const CANCEL: f32 = 100.0;

impl Progress<'_> {
    /// Shows it as wide as the layout allows, 40 points high. True when Cancel was clicked.
    pub fn show(self, ui: &mut Ui) -> bool {
        let t = Theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HIGH), Sense::hover());
        let tail = if self.can_cancel { CANCEL + 12.0 } else { 0.0 };
        let body = Rect::from_min_max(rect.min, rect.max - vec2(tail, 0.0));
        let share = if self.share.is_finite() { self.share.clamp(0.0, 1.0) } else { 0.0 };
        self.paint(ui.painter(), &t, body, share);
        let said = format!("{}, {}", self.words, self.count);
        response.widget_info(|| WidgetInfo {
            value: Some(f64::from(share) * 100.0),
            ..WidgetInfo::labeled(Role::ProgressIndicator, true, said.as_str())
        });
        if !self.can_cancel {
            return false;
        }
        let place = Rect::from_min_max(pos2(rect.right() - CANCEL, rect.top()), rect.max);
        Button::line("Cancel").key("Esc").text_size(13.0).height(HIGH).show_at(ui, place).clicked()
    }

    fn paint(&self, p: &Painter, t: &Theme, body: Rect, share: f32) {
        let y = body.top() + 10.0;
        let count = text::cap(p, body.right(), y, Align::Max, self.count, regular(size::AXIS), t.ink2);
        let room = body.width() - count - 12.0;
        text::cap_within(p, body.left(), y, Align::Min, room, self.words, bold(size::PROSE), t.ink);
        let bar = Rect::from_min_max(pos2(body.left(), body.bottom() - BAR), body.max);
        p.rect(bar, 0, t.well, Stroke::new(stroke::RULE, t.edge), StrokeKind::Inside);
        let room = bar.shrink(1.0);
        p.rect_filled(Rect::from_min_size(room.min, vec2(room.width() * share, room.height())), 0, t.ink);
        for stage in self.stages.iter().filter(|s| s.is_finite()) {
            let x = bar.left() + bar.width() * stage.clamp(0.0, 1.0);
            p.vline(x, bar.top() - 4.0..=bar.top(), t.outline());
        }
    }
}
