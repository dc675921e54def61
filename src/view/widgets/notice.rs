//! Notices: stop, caution, note. They stand under the station's head and push the work down,
//! never over it. Knows no cause.

use std::sync::Arc;

use egui::epaint::StrokeKind;
use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{Align, Galley, Painter, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use super::button::Button;
use super::hatch::{self, Hatch};
use super::icons::{Icon, icon};
use super::{focus, text};
use crate::view::theme::{Theme, bold, control, regular, size, stroke};

/// How serious it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NoticeLevel {
    /// Work stops here.
    Stop,
    /// Look here before going on.
    Caution,
    /// Good to know.
    Note,
}

/// One notice.
#[derive(Debug, Clone, Copy)]
#[must_use = "show it in a Ui"]
pub struct Notice<'a> {
    /// How serious it is.
    pub level: NoticeLevel,
    /// What happened, in a few words with a full stop.
    pub head: &'a str,
    /// What that means and what to do.
    pub body: &'a str,
    /// The one thing that can be done here, and its key.
    pub action: Option<(&'a str, Option<&'a str>)>,
}

/// Left end of the words.
const INSET: f32 = 50.0;
const PAD: f32 = 14.0;
const ROWS_MOST: usize = 3;
const ROW: f32 = 20.0;

impl Notice<'_> {
    /// Shows it as wide as the layout allows: 42 points high, 20 more for each further row of
    /// words. True when its action was clicked. `salt` must differ between notices in one `Ui`.
    pub fn show(self, ui: &mut Ui, salt: &str) -> bool {
        self.show_within(ui, salt, ROWS_MOST)
    }

    /// As [`Notice::show`] in one row of words, for a place that can't grow: what doesn't fit ends in
    /// an ellipsis and is told under the pointer.
    pub fn show_in_row(self, ui: &mut Ui, salt: &str) -> bool {
        self.show_within(ui, salt, 1)
    }

    fn show_within(self, ui: &mut Ui, salt: &str, rows_most: usize) -> bool {
        let t = Theme::of(ui);
        let wide = ui.available_width();
        let button = self.action.map(|(label, key)| {
            let button = Button::line(label).height(control::NOTICE - 10.0);
            if let Some(key) = key { button.key(key) } else { button }
        });
        let act_wide = button.as_ref().map_or(0.0, |b| b.wanted_width(ui.painter()));
        // An action never takes more than half the notice.
        let act_wide = act_wide.min(wide / 2.0);
        let tail = if act_wide > 0.0 { act_wide + 6.0 + 10.0 } else { PAD };
        let galley = self.words(ui.painter(), &t, (wide - INSET - tail).max(40.0), rows_most);
        let rows = u16::try_from(galley.rows.len().max(1)).unwrap_or(1);
        let high = control::NOTICE + ROW * f32::from(rows - 1);

        let (rect, _) = ui.allocate_exact_size(vec2(wide, high), Sense::hover());
        self.paint(ui.painter(), &t, rect, Arc::clone(&galley));
        let said = format!("{} {}", self.head, self.body);
        let role = if self.level == NoticeLevel::Note { Role::Status } else { Role::Alert };
        let told = focus::tell_live(ui, rect, &format!("notice {salt}"), role, said.trim());
        if galley.elided {
            told.on_hover_text(said.trim());
        }
        let Some(button) = button else { return false };
        let place = Rect::from_min_size(
            pos2(rect.right() - act_wide - 6.0, rect.center().y - (control::NOTICE - 10.0) / 2.0),
            vec2(act_wide, control::NOTICE - 10.0),
        );
        button.salt(salt).show_at(ui, place).clicked()
    }

    /// Its words, the head bold, for one that is laid out elsewhere.
    pub(in crate::view) fn words(&self, p: &Painter, t: &Theme, room: f32, rows: usize) -> Arc<Galley> {
        let (head, body) = match self.level {
            NoticeLevel::Stop => (t.alarm_ink, t.ink),
            NoticeLevel::Caution => (t.ink, t.ink),
            NoticeLevel::Note => (t.ink, t.ink2),
        };
        let format = |font, colour| TextFormat { line_height: Some(ROW), ..TextFormat::simple(font, colour) };
        let mut job = LayoutJob::default();
        text::append(&mut job, self.head, 0.0, &format(bold(size::BODY), head));
        if !self.body.is_empty() {
            // A real blank, so that the line can break between the two.
            job.append(" ", 0.0, format(regular(size::BODY), body));
            text::append(&mut job, self.body, 4.0, &format(regular(size::BODY), body));
        }
        job.wrap = TextWrapping {
            max_width: room,
            max_rows: rows,
            break_anywhere: false,
            overflow_character: Some('…'),
        };
        p.layout_job(job)
    }

    fn paint(&self, p: &Painter, t: &Theme, rect: Rect, words: Arc<Galley>) {
        let outline = |colour| Stroke::new(stroke::RULE, colour);
        let (which, ink) = match self.level {
            NoticeLevel::Stop => {
                let line = outline(t.alarm);
                p.rect(rect, control::RADIUS, t.alarm_face, line, StrokeKind::Inside);
                let bar = Rect::from_min_size(rect.min + vec2(1.0, 1.0), vec2(14.0, rect.height() - 2.0));
                hatch::alarm(p, t, bar, Hatch::STOP);
                (Icon::StopSign, t.alarm_ink)
            }
            NoticeLevel::Caution => {
                p.rect(rect, control::RADIUS, t.raise, outline(t.edge), StrokeKind::Inside);
                p.rect_filled(Rect::from_min_size(rect.min, vec2(4.0, rect.height())), 0, t.ink);
                (Icon::Caution, t.ink)
            }
            NoticeLevel::Note => {
                p.rect(rect, control::RADIUS, t.raise, outline(t.rule), StrokeKind::Inside);
                (Icon::Note, t.ink2)
            }
        };
        let first = rect.top() + control::NOTICE / 2.0;
        icon(p, which, pos2(rect.left() + 32.0, first), 1.0, ink);
        let top = first + size::BODY * size::CAP / 2.0 - text::baseline(&words);
        p.galley(pos2(rect.left() + INSET, top), words, t.ink);
    }
}

/// Shows at most two notices and says how many more wait, with the layout's gap between them.
/// Gives the index of the one whose action was clicked.
pub fn notices(ui: &mut Ui, all: &[Notice<'_>]) -> Option<usize> {
    let mut acted = None;
    for (i, notice) in all.iter().take(2).enumerate() {
        if notice.show(ui, &i.to_string()) {
            acted = Some(i);
        }
    }
    if all.len() > 2 {
        let t = Theme::of(ui);
        let words = format!("{} more", all.len() - 2);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
        let (x, y) = (rect.left() + INSET, rect.center().y);
        text::cap(ui.painter(), x, y, Align::Min, &words, regular(size::AXIS), t.ink2);
        let rest: Vec<_> = all.iter().skip(2).map(|n| n.head).collect();
        focus::tell(ui, rect, "more notices", Role::Status, &words).on_hover_text(rest.join("\n"));
    }
    acted
}
