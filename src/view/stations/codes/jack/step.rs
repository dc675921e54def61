//! One step of the check: its row on the wire with its mark and what it gave, and, where it is open,
//! what to do, its answers, and what the outcomes mean.

use egui::style::ScrollAnimation;
use egui::{
    Align, EventFilter, Key, Rect, Role, Sense, Shape, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

use super::{Check, Draft, answers, words};
use crate::app::Action;
use crate::circuit::{JackStep, JackWants};
use crate::view::stations::codes::prose;
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::node::{CURRENT, NodeState, RADIUS, node};
use crate::view::widgets::{focus, text};

/// Height of a row.
const ROW: f32 = 40.0;
/// From the left end to the wire, and to the words.
const WIRE: f32 = 17.0;
const WORDS: f32 = 46.0;

/// What came of a row.
pub(super) enum RowAnswer {
    /// Nothing.
    Nothing,
    /// It was chosen.
    Chosen,
    /// An arrow key led from it to another.
    Walked(JackStep),
}

/// How a step stands.
fn state(check: &Check<'_>, step: JackStep) -> NodeState {
    let wants_resistances = step == JackStep::Wants && check.jack.wants == Some(JackWants::Resistances);
    if wants_resistances {
        NodeState::Stop
    } else if check.report.warnings_at(step).next().is_some() {
        NodeState::Caution
    } else if check.is_done(step) {
        NodeState::Done
    } else {
        NodeState::Idle
    }
}

/// Draws a step's row; `bring` scrolls it to the top, `take_focus` gives it the keyboard.
pub(super) fn row_ui(
    ui: &mut Ui,
    check: &Check<'_>,
    step: JackStep,
    bring: bool,
    take_focus: bool,
) -> RowAnswer {
    let theme = Theme::of(ui.ctx());
    let is_open = step == check.open;
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let response = ui.interact(rect, ui.make_persistent_id(("step", step)), Sense::click());
    let state = state(check, step);
    let (title, result) = (words::title(step), words::result(step, check.jack));
    let given = if result.is_empty() { String::new() } else { format!(": {result}") };
    let said = format!("Step {} of 5, {title}{given}, {}", step as usize + 1, state.spoken());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, is_open, &said));
    ui.accesskit_node_builder(response.id, |node| node.set_expanded(is_open));
    if bring {
        // At once: what takes the keyboard next would scroll from where this has come to.
        response.scroll_to_me_animation(Some(Align::Min), ScrollAnimation::none());
    }
    if take_focus {
        response.request_focus();
    }
    see(&response);

    let p = ui.painter();
    let words_rect = Rect::from_min_max(pos2(rect.left() + WORDS - 10.0, rect.top() + 3.0), rect.max);
    if response.is_pointer_button_down_on() {
        p.rect_filled(words_rect, control::RADIUS, theme.press);
    } else if response.hovered() && !is_open {
        p.rect_filled(words_rect, control::RADIUS, theme.raise);
    }
    let centre = pos2(rect.left() + WIRE, rect.center().y);
    if let Some(before) = step.before() {
        let solid = is_solid(check, before) && state.carries();
        wire(ui, &theme, centre.x, rect.top(), centre.y - gap(check, step), solid);
    }
    if step.next().is_some() {
        wire(ui, &theme, centre.x, centre.y + gap(check, step), rect.bottom(), is_solid(check, step));
    }
    node(p, &theme, centre, state, is_open);

    let y = rect.center().y;
    let font = if is_open { theme::bold(size::RAIL) } else { theme::regular(size::PROSE) };
    let given_wide = text::width(p, &result, theme::bold(size::BODY));
    let room = rect.right() - 10.0 - given_wide - space::ROW - rect.left() - WORDS;
    text::cap_within(p, rect.left() + WORDS, y, Align::Min, room, title, font, theme.ink);
    let room = rect.width() - WORDS - 10.0;
    let font = theme::bold(size::BODY);
    text::cap_within(p, rect.right() - 10.0, y, Align::Max, room, &result, font, theme.ink);
    focus::ring(p, &theme, &response, words_rect.shrink(2.0));
    if response.clicked() {
        return RowAnswer::Chosen;
    }
    arrows(ui, &response, step)
}

/// Up and down walk the steps.
fn arrows(ui: &Ui, response: &egui::Response, step: JackStep) -> RowAnswer {
    if !response.has_focus() {
        return RowAnswer::Nothing;
    }
    let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    if response.gained_focus() {
        // The key that brought it here is used up.
        return RowAnswer::Nothing;
    }
    let (up, down) = ui.input(|input| (input.key_pressed(Key::ArrowUp), input.key_pressed(Key::ArrowDown)));
    match (up, down) {
        (true, false) => step.before().map_or(RowAnswer::Nothing, RowAnswer::Walked),
        (false, true) => step.next().map_or(RowAnswer::Nothing, RowAnswer::Walked),
        _ => RowAnswer::Nothing,
    }
}

/// From a node's middle to where the wire goes on.
fn gap(check: &Check<'_>, step: JackStep) -> f32 {
    if step == check.open { CURRENT } else { RADIUS }
}

/// Whether the wire below a step is solid: it and what comes next gave something.
fn is_solid(check: &Check<'_>, step: JackStep) -> bool {
    state(check, step).carries() && step.next().is_some_and(|next| state(check, next).carries())
}

fn wire(ui: &Ui, theme: &Theme, x: f32, from: f32, to: f32, solid: bool) {
    if to <= from {
        return;
    }
    let ends = [pos2(x, from), pos2(x, to)];
    if solid {
        ui.painter().line_segment(ends, Stroke::new(stroke::NODE, theme.ink));
    } else {
        let dots = Shape::dashed_line(&ends, Stroke::new(stroke::NODE, theme.edge), 2.0, 4.0);
        ui.painter().extend(dots);
    }
}

/// Draws what the open step asks. True if Enter in a field says to go on.
pub(super) fn open_ui(ui: &mut Ui, check: &Check<'_>, draft: &mut Draft, actions: &mut Vec<Action>) -> bool {
    let theme = Theme::of(ui.ctx());
    let whole = ui.available_rect_before_wrap();
    let top = whole.top();
    let inner = Rect::from_min_max(pos2(whole.left() + WORDS, top), pos2(whole.right() - 10.0, top));
    let scope = ui.scope_builder(UiBuilder::new().max_rect(inner), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
        let task = words::task(check.open, check.jack);
        if !task.is_empty() {
            prose(ui, &task, size::BODY, theme.ink);
            ui.add_space(space::ROW);
        }
        let go_on = answers::answers_ui(ui, check, draft, actions);
        meanings(ui, words::outcomes(check.open), "");
        for warning in check.report.warnings_at(check.open) {
            odd_ui(ui, &warning.what(), "");
        }
        ui.add_space(space::ROW);
        go_on
    });
    let bottom = scope.response.rect.bottom();
    ui.advance_cursor_after_rect(Rect::from_min_max(whole.min, pos2(whole.right(), bottom)));
    if check.open.next().is_some() {
        wire(ui, &theme, whole.left() + WIRE, top, bottom, is_solid(check, check.open));
    }
    scope.inner
}

/// What readings mean, or what to mind: a word in bold and its meaning, a hairline between.
pub(super) fn meanings(ui: &mut Ui, rows: &[(&str, &str)], salt: &str) {
    let theme = Theme::of(ui.ctx());
    let whole = ui.available_width().min(640.0);
    let p = ui.painter().clone();
    let font = theme::bold(size::BODY);
    let widest = rows.iter().map(|(head, _)| text::width(&p, head, font.clone())).fold(0.0, f32::max);
    let stacked = whole < widest + 220.0;
    let column = if stacked { 0.0 } else { widest + space::BLOCK };
    for (head, meaning) in rows {
        let head_galley = text::prose(&p, head, font.clone(), theme.ink, whole, 2);
        let body = text::prose(&p, meaning, theme::regular(size::BODY), theme.ink2, whole - column, 4);
        let drop = if stacked { head_galley.size().y } else { 0.0 };
        let high = (drop + body.size().y).max(head_galley.size().y) + 9.0;
        let (rect, _) = ui.allocate_exact_size(vec2(whole, high), Sense::hover());
        p.hline(rect.x_range(), rect.top() + 0.5, theme.hairline());
        let at = rect.min + vec2(0.0, 5.0);
        p.galley(at, head_galley, theme.ink);
        p.galley(at + vec2(column, drop), body, theme.ink2);
        focus::tell(ui, rect, &format!("{salt}{head}"), Role::Row, &format!("{head}: {meaning}"));
    }
}

/// Something odd: a triangle, what it is, and what to do about it.
pub(super) fn odd_ui(ui: &mut Ui, what: &str, advice: &str) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let whole = ui.available_width().min(640.0);
    let room = whole - 28.0;
    let what_galley = text::prose(&p, what, theme::bold(size::BODY), theme.ink, room, 6);
    let advice_galley = text::prose(&p, advice, theme::regular(size::BODY), theme.ink2, room, 6);
    let below = if advice.is_empty() { 0.0 } else { advice_galley.size().y };
    let high = what_galley.size().y + below + space::TIGHT;
    let (rect, _) = ui.allocate_exact_size(vec2(whole, high), Sense::hover());
    let at = rect.min + vec2(28.0, space::TIGHT);
    icon(&p, Icon::Caution, rect.min + vec2(10.0, space::TIGHT + 9.0), 0.9, theme.ink);
    let drop = what_galley.size().y;
    p.galley(at, what_galley, theme.ink);
    if !advice.is_empty() {
        p.galley(at + vec2(0.0, drop), advice_galley, theme.ink2);
    }
    let said = format!("{what} {advice}");
    focus::tell_live(ui, rect, &format!("odd {what} {}", advice.is_empty()), Role::Alert, said.trim());
}
