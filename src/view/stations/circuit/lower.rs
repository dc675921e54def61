//! What the lower row's parts share: columns that go under each other where there is no room, a number
//! with its name and field, a drop-down with its name, a figure with what limits it. Knows no circuit.

use std::collections::BTreeMap;

use egui::{Align, Rect, Role, Sense, Ui, UiBuilder, pos2, vec2};

use crate::view::stations::codes::prose;
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{focus, text};

/// Below this a column goes under the one before.
const LEAST: f32 = 228.0;
/// From row to row.
const PITCH: f32 = control::TARGET + 2.0;
/// A figure's row.
const FIGURE: f32 = 24.0;
/// How high a stacked column may grow: as far as it likes.
const STACKED: f32 = 10_000.0;

/// One column's content.
pub(super) type Column<'a> = &'a mut dyn FnMut(&mut Ui);

/// Columns side by side, `shares` of the width, as many as fit, the rest under them; allocates what they
/// took.
pub(super) fn columns(ui: &mut Ui, place: Rect, shares: &[f32], columns: &mut [Column<'_>]) {
    let gap = space::REGION;
    let fits = ((place.width() + gap) / (LEAST + gap)).floor().max(1.0) as usize;
    let abreast = fits.min(columns.len()).max(1);
    // What is stacked is scrolled: there it may grow.
    let high = (abreast < columns.len()).then_some(STACKED);
    let mut top = place.top();
    for (index, row) in columns.chunks_mut(abreast).enumerate() {
        let whole: f32 = shares.iter().skip(index * abreast).take(row.len()).sum();
        let free = place.width() - gap * (row.len() as f32 - 1.0);
        let (mut left, mut bottom) = (place.left(), top);
        for (column, share) in row.iter_mut().zip(shares.iter().skip(index * abreast)) {
            let width = free * share / whole;
            let at = Rect::from_min_size(pos2(left, top), vec2(width, high.unwrap_or(place.bottom() - top)));
            let mut child = ui.new_child(UiBuilder::new().max_rect(at));
            child.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
            child.set_width(width);
            column(&mut child);
            bottom = bottom.max(child.min_rect().bottom());
            left += width + gap;
        }
        top = bottom + gap;
    }
    ui.advance_cursor_after_rect(Rect::from_min_max(place.min, pos2(place.right(), top - gap)));
}

/// What is typed and isn't part of the project, by the field's name.
#[derive(Debug, Default)]
pub(super) struct Draft(BTreeMap<&'static str, Typed>);

/// A field's text, what the project said when it was written, and before it was typed in.
#[derive(Debug, Default)]
struct Typed {
    text: String,
    shown: String,
    before: Option<f64>,
    had_focus: bool,
}

/// A number that can be typed.
#[derive(Clone, Copy)]
pub(super) struct Entry {
    /// What it is called.
    pub(super) name: &'static str,
    /// What screen readers call its field.
    pub(super) full: &'static str,
    /// The unit beside it, and what one of it is in the project's.
    pub(super) unit: (&'static str, f64),
    /// The least and the most, in that unit.
    pub(super) range: (f64, f64),
    /// What an empty field says; empty where it can't be empty.
    pub(super) empty: &'static str,
}

impl Entry {
    /// The number as typed, in the project's unit; `Some(None)` for nothing where that is allowed.
    fn read(&self, typed: &str) -> Option<Option<f64>> {
        let typed: String = typed.chars().filter(|letter| !letter.is_whitespace()).collect();
        let typed = typed.replace(',', ".");
        if typed.is_empty() {
            return (!self.empty.is_empty()).then_some(None);
        }
        let (digits, times) = match typed.strip_suffix(self.unit.0) {
            Some(digits) => (digits, self.unit.1),
            None => prefixed(&typed).unwrap_or((&typed, self.unit.1)),
        };
        let is_plain = digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let number = digits.parse::<f64>().ok().filter(|_| is_plain)?;
        let value = number * times;
        let (least, most) = self.range;
        let slack = 1.0 + 1e-9;
        let holds = value * slack >= least * self.unit.1 && value <= most * self.unit.1 * slack;
        // At an end, the end itself: what 100 · 1e-3 loses is no reason to refuse it.
        holds.then_some(Some(value.clamp(least * self.unit.1, most * self.unit.1)))
    }

    fn written(&self, value: Option<f64>) -> String {
        let Some(value) = value else { return String::new() };
        let text = format!("{:.6}", value / self.unit.1);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    /// What is said of anything else.
    fn wanted(&self) -> String {
        let ((unit, _), (least, most)) = (self.unit, self.range);
        let or_empty = if self.empty.is_empty() { "" } else { ", or leave it empty" };
        format!("Type {} to {} {unit}{or_empty}.", plain(least), plain(most))
    }
}

/// A number with a letter for its power of ten, like `4.7k` or `10n`.
fn prefixed(typed: &str) -> Option<(&str, f64)> {
    let last = typed.chars().next_back()?;
    let times = match last {
        'M' => 1e6,
        'k' | 'K' => 1e3,
        'm' => 1e-3,
        'µ' | 'μ' | 'u' => 1e-6,
        'n' => 1e-9,
        'p' => 1e-12,
        _ => return None,
    };
    Some((&typed[..typed.len() - last.len_utf8()], times))
}

/// A limit as a person says it: `10 M`, `100 k`.
fn plain(value: f64) -> String {
    if value >= 1e6 {
        format!("{} M", value / 1e6)
    } else if value >= 1e4 {
        format!("{} k", value / 1e3)
    } else {
        value.to_string()
    }
}

/// A number with its name at the left and its field at the right; gives the number when it changed to one,
/// or to nothing.
pub(super) fn number_ui(
    ui: &mut Ui,
    draft: &mut Draft,
    entry: &Entry,
    now: Option<f64>,
) -> Option<Option<f64>> {
    let theme = Theme::of(ui.ctx());
    let shown = entry.written(now);
    let typed = draft.0.entry(entry.full).or_default();
    // What can't be used stays typed, and is told, until the project says something else.
    if !typed.had_focus && (entry.read(&typed.text).is_some() || typed.shown != shown) {
        typed.text.clone_from(&shown);
    }
    typed.shown = shown;
    let fault = entry.read(&typed.text).is_none().then(|| entry.wanted());
    let place = named(ui, entry.name);
    let field = Field::new(&mut typed.text, entry.full).unit(entry.unit.0).hint(entry.empty).limit(12);
    let response = field.error(fault.as_deref()).show_at(ui, place);
    see(&response);
    if response.has_focus() && !typed.had_focus {
        typed.before = now;
    }
    typed.had_focus = response.has_focus();
    // What was there before stays when the whole that is typed can't be: not the part of it that could.
    let answer = response.changed().then(|| entry.read(&typed.text).unwrap_or(typed.before));
    if let Some(wanted) = fault {
        prose(ui, &wanted, size::AXIS, theme.alarm_ink);
    }
    answer
}

/// A drop-down with its name at the left; the row chosen just now.
pub(super) fn drop_ui(
    ui: &mut Ui,
    name: &str,
    full: &str,
    items: &[&str],
    selected: Option<usize>,
) -> Option<usize> {
    let place = named(ui, name);
    let answer = Drop::new(full, items, selected).show_at(ui, place);
    see(&answer.response);
    answer.chosen.filter(|row| Some(*row) != selected)
}

/// A row with a name at its left; the place of what is set.
fn named(ui: &mut Ui, name: &str) -> Rect {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), PITCH), Sense::hover());
    let row = Rect::from_min_size(row.min, vec2(row.width(), control::TARGET));
    let set = (row.width() * 0.62).clamp(110.0, 160.0);
    let room = row.width() - set - space::TIGHT;
    let (p, y) = (ui.painter(), row.center().y);
    text::cap_within(p, row.left(), y, Align::Min, room, name, theme::regular(size::BODY), theme.ink2);
    Rect::from_min_max(pos2(row.right() - set, row.top()), row.max)
}

/// A figure: its name, the value in bold, and what limits it.
pub(super) fn figure_ui(ui: &mut Ui, name: &str, value: &str, beside: &str) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), FIGURE), Sense::hover());
    let (p, y) = (ui.painter(), row.center().y);
    let at = row.left() + row.width() * 0.58;
    let value_wide = text::cap(p, at, y, Align::Max, value, theme::bold(size::BODY), theme.ink);
    let room = at - value_wide - space::TIGHT - row.left();
    text::cap_within(p, row.left(), y, Align::Min, room, name, theme::regular(size::BODY), theme.ink2);
    let (x, room) = (at + space::TIGHT, row.right() - at - space::TIGHT);
    text::cap_within(p, x, y, Align::Min, room, beside, theme::regular(size::AXIS), theme.ink2);
    focus::tell(ui, row, name, Role::Row, &format!("{name}: {value}, {beside}"));
}

/// The verdict: that it will do, or all that is odd and what to change. Where that is much, the station
/// scrolls.
pub(super) fn verdict_ui(ui: &mut Ui, good: &str, odd: &[(String, String)]) {
    let theme = Theme::of(ui.ctx());
    ui.add_space(space::TIGHT);
    if odd.is_empty() {
        verdict_line(ui, Icon::Tick, good);
        return;
    }
    for (what, advice) in odd {
        verdict_line(ui, Icon::Caution, what);
        prose(ui, advice, size::AXIS, theme.ink2);
        ui.add_space(space::TIGHT);
    }
}

/// A sentence with an icon before it.
fn verdict_line(ui: &mut Ui, which: Icon, words: &str) {
    let theme = Theme::of(ui.ctx());
    const INSET: f32 = 24.0;
    let wide = ui.available_width() - INSET;
    let galley = text::prose(ui.painter(), words, theme::bold(size::BODY), theme.ink, wide, 6);
    let (row, _) = ui.allocate_exact_size(vec2(INSET + wide, galley.size().y), Sense::hover());
    icon(ui.painter(), which, pos2(row.left() + 9.0, row.top() + 10.0), 0.8, theme.ink);
    ui.painter().galley(row.min + vec2(INSET, 0.0), galley, theme.ink);
    focus::tell(ui, row, words, Role::Label, words);
}

#[cfg(test)]
mod tests {
    use super::*;

    const OHM: Entry = Entry { name: "", full: "", unit: ("Ω", 1.0), range: (1.0, 10e6), empty: "" };
    const NANO: Entry =
        Entry { name: "", full: "", unit: ("nF", 1e-9), range: (0.0, 100e3), empty: "by the cable" };

    #[test]
    fn numbers_are_taken_as_a_person_or_a_parts_list_writes_them() {
        for typed in ["4700", "4700 Ω", "4.7k", "4,7 K", "0.0047M"] {
            let read = OHM.read(typed).unwrap().unwrap();
            assert!((read - 4_700.0).abs() < 1e-9, "{typed}: {read}");
        }
        for typed in ["10", "10 nF", "10n", "10000p", "0.01u", "0,01µ"] {
            let read = NANO.read(typed).unwrap().unwrap();
            assert!((read - 10e-9).abs() < 1e-18, "{typed}: {read}");
        }
        assert_eq!((NANO.read(" "), OHM.read(" ")), (Some(None), None));
    }

    #[test]
    fn what_cant_be_used_says_what_can() {
        for typed in ["", "-5", "NaN", "1e3", "0", "11M", "k", "4.7kk", "five"] {
            assert_eq!(OHM.read(typed), None, "{typed}");
        }
        assert_eq!(OHM.wanted(), "Type 1 to 10 M Ω.");
        assert_eq!(NANO.wanted(), "Type 0 to 100 k nF, or leave it empty.");
        assert_eq!(NANO.written(Some(0.2e-9)), "0.2");
    }
}
