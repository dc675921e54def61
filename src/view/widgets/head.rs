//! A station's head: its name, one sentence, and its views as a switch at the right. Knows no
//! station.

use egui::{Align, Rect, Role, Ui, pos2, vec2};

use super::drop::Drop;
use super::layout::{Layout, WidthClass};
use super::segments::Segments;
use super::{focus, text};
use crate::view::theme::{Theme, bold, regular, size};

/// What a head shows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeadInfo<'a> {
    /// The station's name.
    pub title: &'a str,
    /// One sentence, or what is true now.
    pub sentence: &'a str,
    /// The station's views; none or one shows no switch.
    pub views: &'a [&'a str],
    /// The view shown.
    pub view: usize,
}

/// Draws the head. Gives the newly chosen view.
pub fn head(ui: &mut Ui, layout: &Layout, info: &HeadInfo<'_>) -> Option<usize> {
    let t = Theme::of(ui);
    let narrow = layout.class == WidthClass::Narrow;
    let right = layout.content.right();
    let line = layout.head.bottom();
    let views = Segments::new("View", info.views, info.view);
    let has_views = info.views.len() > 1;
    let wide = match (has_views, narrow) {
        (false, _) => 0.0,
        (true, true) => {
            let longest = info.views.iter().map(|view| text::width(ui.painter(), view, regular(size::BODY)));
            (longest.fold(0.0, f32::max) + 44.0).clamp(140.0, 170.0)
        }
        (true, false) => views.wanted_width(ui.painter()),
    };

    let left = layout.content.left();
    let words_end = right - wide - if has_views { 16.0 } else { 0.0 };
    let (title_font, sentence_font) = if narrow {
        (bold(size::ARM), regular(size::BODY))
    } else {
        (bold(size::HEAD), regular(size::PROSE))
    };
    let y = layout.head.center().y + 1.0;
    let p = ui.painter();
    let title = text::cap_within(p, left, y, Align::Min, words_end - left, info.title, title_font, t.ink);
    let x = left + title + 18.0;
    let room = words_end - x;
    let shown = if room < 60.0 {
        0.0
    } else {
        let y = y + if narrow { 1.0 } else { 2.0 };
        text::cap_within(p, x, y, Align::Min, room, info.sentence, sentence_font, t.ink2)
    };
    let title_place = Rect::from_min_max(pos2(left, layout.head.top()), pos2(left + title, line));
    focus::tell(ui, title_place, "head title", Role::Heading, info.title);
    if shown > 0.0 {
        let place = Rect::from_min_max(pos2(x, layout.head.top()), pos2(x + shown, line));
        focus::tell_live(ui, place, "head sentence", Role::Label, info.sentence);
    }

    if !has_views {
        return None;
    }
    let (high, up) = match layout.class {
        WidthClass::Wide => (36.0, 46.0),
        WidthClass::Medium => (36.0, 42.0),
        WidthClass::Narrow => (30.0, 38.0),
    };
    let place = Rect::from_min_size(pos2(right - wide, line - up), vec2(wide, high));
    if narrow {
        Drop::new("View", info.views, Some(info.view)).show_at(ui, place).chosen.filter(|v| *v != info.view)
    } else {
        views.show_at(ui, place)
    }
}
