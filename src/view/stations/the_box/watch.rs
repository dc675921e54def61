//! Watch: the button recognised now, what was decided last and why, and the decisions before it.

use egui::epaint::StrokeKind;
use egui::{Align, Rect, Role, Sense, Ui, pos2, vec2};

use super::decisions::{self, Names, Told};
use super::parts::{heads, say_first};
use super::{strips, try_code};
use crate::app::the_box::Presence;
use crate::app::{Action, Model};
use crate::units::count_text;
use crate::view::stations::codes::{beside, prose};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::icons::{GestureSign, Icon, gesture, icon_stroked};
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, hatch, text};
use crate::wire::{DecisionKind, DecisionSeen};

/// Decisions listed, the newest first.
const LISTED: usize = 40;
/// The last decision's panel.
const PANEL: f32 = 252.0;
/// From line to line in it.
const LINE: f32 = 22.0;
/// How wide a code is tried, and the narrowest list beside that.
const TRY: f32 = 250.0;
const LIST_LEAST: f32 = 400.0;

/// Draws the view.
pub(super) fn watch_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let Some(names) = Names::of(model) else { return };
    if !matches!(model.the_box.presence, Presence::Found(_)) {
        say_first(ui, "There is no box to watch.", "Contents says what is there, and what to do first.");
        return;
    }
    let rows = &model.derived.the_box.rows;
    if !rows.is_empty() && !model.derived.the_box.is_same() {
        let notice = Notice {
            level: NoticeLevel::Caution,
            head: "The box differs from the project.",
            body: "What is shown is the box's; names may be another's.",
            action: None,
        };
        notice.show(ui, "differs");
        ui.add_space(space::ROW);
    }
    now_ui(ui, model, &names);
    ui.add_space(space::ROW);
    strips::strips_ui(ui, model, &names);
    ui.add_space(space::ROW);
    let width = ui.available_width();
    let list = (width - TRY - space::REGION).min(520.0);
    if list >= LIST_LEAST {
        beside(ui, list, TRY, |ui| list_ui(ui, model, &names), |ui| try_code::try_ui(ui, model, actions));
    } else {
        // One under the other, what grows last.
        try_code::try_ui(ui, model, actions);
        ui.add_space(space::BLOCK);
        list_ui(ui, model, &names);
    }
}

/// The button recognised now, large, and the last decision beside it.
fn now_ui(ui: &mut Ui, model: &Model, names: &Names<'_>) {
    let theme = Theme::of(ui.ctx());
    let decisions = &model.the_box.decisions;
    let last =
        decisions.iter().rev().find(|seen| seen.kind != DecisionKind::Released).or_else(|| decisions.back());
    let told = last.map(|seen| decisions::told(names, seen));
    let width = ui.available_width();
    let wide = width >= 560.0;
    let high = if wide { 112.0_f32.max(panel_height(told.as_ref())) } else { 92.0 };
    let (rect, _) = ui.allocate_exact_size(vec2(width, high + 4.0), Sense::hover());
    let panel = (wide && told.is_some())
        .then(|| Rect::from_min_size(pos2(rect.right() - PANEL, rect.top()), vec2(PANEL, high)));
    let room_right = panel.map_or(rect.right(), |panel| panel.left() - space::BLOCK);

    let pressed = decisions::pressed_now(decisions).filter(|_| model.the_box.watching);
    let (small, name) = match (pressed.and_then(|seen| seen.button), model.the_box.watching) {
        (Some(number), _) => ("Recognised now".to_owned(), names.button(number)),
        (None, true) => ("Press a button, any way you like".to_owned(), "Nothing".to_owned()),
        (None, false) => (String::new(), String::new()),
    };
    if name.is_empty() {
        let words = "Start the watch, then press any button.";
        let galley = text::prose(
            ui.painter(),
            words,
            theme::regular(size::HEAD),
            theme.ink,
            room_right - rect.left(),
            3,
        );
        let at = pos2(rect.left(), rect.center().y - galley.size().y / 2.0);
        focus::tell(ui, Rect::from_min_size(at, galley.size()), "now", Role::Label, words);
        ui.painter().galley(at, galley, theme.ink);
    } else {
        let radius = if wide { 44.0 } else { 32.0 };
        let p = ui.painter();
        let centre = pos2(rect.left() + radius * 1.14, rect.top() + high / 2.0);
        match pressed.and_then(|seen| names.index(seen.button?)) {
            Some(index) => plate(p, &theme, index, centre, radius, PlateMode::Measured),
            None => {
                let ring = hatch::circle_points(centre, radius * 0.98, 48);
                hatch::dashed_ring(p, &ring, theme.outline(), 6.0, 5.0);
            }
        }
        let x = rect.left() + radius * 2.28 + space::BLOCK;
        let room = (room_right - x).max(40.0);
        let y = rect.top() + high / 2.0;
        let above = if wide { 40.0 } else { 24.0 };
        text::cap_within(p, x, y - above, Align::Min, room, &small, theme::regular(size::RAIL), theme.ink2);
        let sizes = [size::NAME_SHARED, size::NAME_MEDIUM, size::NAME_NARROW, size::STATE];
        let sizes = if wide { &sizes[..] } else { &sizes[2..] };
        let fits = |points: &&f32| text::width(p, &name, theme::bold(**points)) <= room;
        let points = sizes.iter().find(fits).copied().unwrap_or(size::STATE);
        let ink = if pressed.is_some() { theme.ink } else { theme.ink3 };
        text::cap_within(p, x, y + 12.0, Align::Min, room, &name, theme::bold(points), ink);
        let place = Rect::from_min_max(rect.left_top(), pos2(room_right, rect.top() + high));
        focus::tell_live(ui, place, "now", Role::Status, &format!("{small}: {name}"));
    }
    if let (Some(panel), Some(told)) = (panel, &told) {
        panel_ui(ui, panel, told);
    } else if let Some(told) = &told {
        let (place, _) = ui.allocate_exact_size(vec2(width, panel_height(Some(told))), Sense::hover());
        panel_ui(ui, place, told);
    }
}

fn panel_height(told: Option<&Told>) -> f32 {
    told.map_or(0.0, |told| {
        let lines = told.lines.len() + usize::from(!told.what.is_empty());
        54.0 + LINE * lines as f32
    })
}

fn panel_ui(ui: &Ui, rect: Rect, told: &Told) {
    let good = !told.what.is_empty();
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    p.rect(rect, control::RADIUS, theme.well, theme.hairline(), StrokeKind::Inside);
    let which = if good { Icon::Tick } else { Icon::Cross };
    let ink = if good { theme.ink } else { theme.alarm_ink };
    icon_stroked(p, which, pos2(rect.left() + 26.0, rect.top() + 28.0), 1.1, super::contents::thick(ink));
    let (x, room) = (rect.left() + 48.0, rect.width() - 48.0 - 12.0);
    text::cap_within(
        p,
        x,
        rect.top() + 28.0,
        Align::Min,
        room,
        &told.name,
        theme::bold(size::RAIL),
        theme.ink,
    );
    let mut y = rect.top() + 56.0;
    let what = (!told.what.is_empty()).then_some(told.what);
    for line in what.into_iter().chain(told.lines.iter().map(String::as_str)) {
        let (x, room) = (rect.left() + 18.0, rect.width() - 30.0);
        text::cap_within(p, x, y, Align::Min, room, line, theme::regular(size::BODY), theme.ink2);
        y += LINE;
    }
    focus::tell_live(ui, rect, "last decision", Role::Status, &told.said());
}

/// The last decisions, the newest first.
fn list_ui(ui: &mut Ui, model: &Model, names: &Names<'_>) {
    let theme = Theme::of(ui.ctx());
    bracket_ui(ui, "Last decisions", "since it started");
    let decisions = &model.the_box.decisions;
    if decisions.is_empty() {
        ui.add_space(space::TIGHT);
        prose(ui, "None yet.", size::BODY, theme.ink2);
        return;
    }
    let width = ui.available_width();
    // time, plate, gesture, count, to the edge, latency; the command takes the rest.
    let x = [0.0, 62.0, 78.0, 202.0, 244.0, 302.0, 316.0];
    heads(
        ui,
        &[
            ("time", x[0], Align::Min),
            ("gesture", x[2], Align::Min),
            ("count", x[3], Align::Max),
            ("edge", x[4], Align::Max),
            ("latency", x[5], Align::Max),
            ("sends", x[6], Align::Min),
        ],
    );
    for (row, seen) in decisions::listed(decisions).take(LISTED).enumerate() {
        let (rect, _) = ui.allocate_exact_size(vec2(width, control::DENSE), Sense::hover());
        let time = decisions::clock(seen.tick);
        let said = format!("{time} {}", decisions::told(names, seen).said());
        focus::tell(ui, rect, &format!("decision {row}"), Role::Row, &said);
        if ui.is_rect_visible(rect) {
            decision_ui(ui, names, seen, &time, rect, &x);
        }
    }
}

fn decision_ui(ui: &Ui, names: &Names<'_>, seen: &DecisionSeen, time: &str, rect: Rect, x: &[f32; 7]) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let y = rect.center().y;
    let font = theme::regular(size::BODY);
    let at = |i: usize| rect.left() + x[i];
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    text::cap(p, at(0), y, Align::Min, time, theme::regular(size::AXIS), theme.ink2);
    if let Some(index) = seen.button.and_then(|number| names.index(number)) {
        plate(p, &theme, index, pos2(at(1), y), 9.5, PlateMode::Measured);
    }
    let word = decisions::gesture(seen.kind);
    let sign = match seen.kind {
        DecisionKind::Tap => Some(GestureSign::Tap),
        DecisionKind::Hold => Some(GestureSign::Hold),
        DecisionKind::DoubleTap => Some(GestureSign::DoubleTap),
        _ => None,
    };
    if let Some(sign) = sign {
        gesture(p, sign, pos2(at(2) + 6.0, y), theme.ink);
    }
    let ink = if seen.button.is_some() { theme.ink } else { theme.alarm_ink };
    text::cap(p, at(2) + if sign.is_some() { 18.0 } else { 0.0 }, y, Align::Min, word, font.clone(), ink);
    let count = if seen.count.is_finite() { count_text(seen.count, 0) } else { "none".to_owned() };
    text::cap(p, at(3), y, Align::Max, &count, font.clone(), theme.ink);
    if let Some(edge) = seen.button.and_then(|number| names.to_edge(number, seen.count)) {
        text::cap(p, at(4), y, Align::Max, &count_text(edge, 0), font.clone(), theme.ink);
        let latency = format!("{} ms", seen.latency_ms);
        text::cap(p, at(5), y, Align::Max, &latency, font, theme.ink);
    }
    if let Some(command) = seen.command {
        let room = rect.right() - at(6);
        text::cap_within(
            p,
            at(6),
            y,
            Align::Min,
            room,
            &names.command(command),
            theme::bold(size::BODY),
            theme.ink,
        );
    }
}
