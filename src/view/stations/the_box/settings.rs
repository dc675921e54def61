//! Settings: what the box goes by, each with its unit and its range, and how long after a press each
//! gesture is sent.

use std::collections::BTreeMap;

use egui::{Align, Rect, Role, Sense, Ui, pos2, vec2};

use super::parts::{heads, see};
use crate::app::{Action, Edit, Model};
use crate::image::Delays;
use crate::project::Plan;
use crate::units::count_text;
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::check::check;
use crate::view::widgets::field::Field;
use crate::view::widgets::{focus, text};

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

/// A number that can be set.
struct Setting {
    /// What it is called.
    name: &'static str,
    /// What screen readers call its field.
    full: &'static str,
    unit: &'static str,
    /// What can be typed.
    range: &'static str,
    holds: fn(f64) -> bool,
    /// What is said of anything else.
    wanted: &'static str,
    meaning: &'static str,
}

const DWELL: Setting = Setting {
    name: "Dwell",
    full: "Dwell, in milliseconds",
    unit: "ms",
    range: "1 to 64 ms",
    holds: |ms| is_whole(ms) && crate::project::Range::DWELL_MS.holds(ms),
    wanted: "Type a whole number from 1 to 64 ms.",
    meaning: "How long the reading must stay in one button's band before the box takes it as pressed: longer \
              bears slower presses and more noise, and every code leaves later.",
};
const SETTLE: Setting = Setting {
    name: "Settle limit",
    full: "Settle limit, in counts",
    unit: "counts",
    range: "0.5 to 100 counts",
    holds: |count| crate::project::Range::SETTLE_COUNT.holds(count),
    wanted: "Type 0.5 to 100 counts, or leave it empty.",
    meaning: "How far the readings of a dwell may spread: a slow press that slides through another button's band \
              spreads further, and isn't taken for it.",
};
const HOLD: Setting = Setting {
    name: "Hold",
    full: "Hold, in milliseconds",
    unit: "ms",
    range: "100 to 10 000 ms",
    holds: |ms| is_whole(ms) && crate::project::Range::HOLD_MS.holds(ms),
    wanted: "Type a whole number from 100 to 10 000 ms.",
    meaning: "From the moment a button is recognised until it counts as held.",
};
const DOUBLE: Setting = Setting {
    name: "Double tap",
    full: "Double tap, in milliseconds",
    unit: "ms",
    range: "50 to 2 000 ms",
    holds: |ms| is_whole(ms) && crate::project::Range::DOUBLE_MS.holds(ms),
    wanted: "Type a whole number from 50 to 2 000 ms.",
    meaning: "The longest time from letting go to the second tap.",
};

fn is_whole(value: f64) -> bool {
    value.fract() == 0.0
}

/// No wider than a person's eye keeps its line.
const WIDEST: f32 = 640.0;
/// How wide the names stand, and the fields.
const NAME: f32 = 112.0;
const FIELD: f32 = 128.0;

/// Draws the view.
pub(super) fn settings_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    let plan = &project.plan;
    let mut edit = |edit: Edit| actions.push(Action::Edit(edit));
    ui.set_max_width(ui.available_width().min(WIDEST));
    bracket_ui(ui, "Recognising a press", "written with the image");
    ui.add_space(space::TIGHT);
    if let Some(Some(ms)) = number_ui(ui, draft, &DWELL, Some(f64::from(plan.dwell_ms)), None) {
        edit(Edit::Dwell(ms as u8));
    }
    let auto = count_text(model.derived.the_box.auto_settle_count, 0);
    let auto = format!("From the noise: {auto} counts. Or type {}.", SETTLE.range);
    if let Some(count) = number_ui(ui, draft, &SETTLE, plan.settle_count, Some(&auto)) {
        edit(Edit::SettleLimit(count));
    }
    if let Some(Some(ms)) = number_ui(ui, draft, &HOLD, Some(f64::from(plan.hold_ms)), None) {
        edit(Edit::Hold(ms as u16));
    }
    if let Some(Some(ms)) = number_ui(ui, draft, &DOUBLE, Some(f64::from(plan.double_ms)), None) {
        edit(Edit::DoubleTap(ms as u16));
    }
    if switch_ui(
        ui,
        plan.rollover,
        "Roll-over: the next button counts without rest in between",
        "For wheels where a thumb slides from button to button. Without it, only rest arms the next press.",
    ) {
        edit(Edit::Rollover(!plan.rollover));
    }
    ui.add_space(space::BLOCK);
    delays_ui(ui, plan);
    ui.add_space(space::REGION);
    bracket_ui(ui, "What is fitted", "");
    ui.add_space(space::TIGHT);
    if switch_ui(
        ui,
        plan.infrared,
        "Infrared LED",
        "Each code is sent by light, too, on the carrier of its family.",
    ) {
        edit(Edit::Infrared(!plan.infrared));
    }
    if switch_ui(
        ui,
        plan.supplies_parted,
        "A diode or the board's own regulator input parts the vehicle's supply from USB",
        "Without it the two supplies fight each other on the 5 V rail: one plug at a time.",
    ) {
        edit(Edit::SuppliesParted(!plan.supplies_parted));
    }
}

/// A number with its name, its field and what stands beside it; gives the number when it changed to
/// one, or to nothing. With `auto` it may be left empty, and that says what then holds.
fn number_ui(
    ui: &mut Ui,
    draft: &mut Draft,
    setting: &Setting,
    now: Option<f64>,
    auto: Option<&str>,
) -> Option<Option<f64>> {
    let theme = Theme::of(ui.ctx());
    let shown = now.map(|number| number.to_string()).unwrap_or_default();
    let typed = draft.0.entry(setting.name).or_default();
    let is_right = read(setting, &typed.text, auto.is_some()).is_some();
    // What can't be used stays typed, and is told, until the project says something else.
    if !typed.had_focus && (is_right || typed.shown != shown) {
        typed.text.clone_from(&shown);
    }
    typed.shown = shown;
    let fault = read(setting, &typed.text, auto.is_some()).is_none().then_some(setting.wanted);

    let mut answer = None;
    let whole = ui.available_width();
    let (row, _) = ui.allocate_exact_size(vec2(whole, control::USUAL), Sense::hover());
    let y = row.center().y;
    let p = ui.painter().clone();
    text::cap(&p, row.left(), y, Align::Min, setting.name, theme::bold(size::BODY), theme.ink);
    let place = Rect::from_min_size(pos2(row.left() + NAME, row.top()), vec2(FIELD, row.height()));
    let field = Field::new(&mut typed.text, setting.full).unit(setting.unit).limit(8).error(fault);
    let response = field.show_at(ui, place);
    see(&response);
    if response.has_focus() && !typed.had_focus {
        typed.before = now;
    }
    typed.had_focus = response.has_focus();
    if response.changed() {
        // What was there before stays when the whole that is typed can't be: not the part of it that
        // could.
        answer = Some(read(setting, &typed.text, auto.is_some()).unwrap_or(typed.before));
    }
    let x = place.right() + space::ROW;
    let (beside, ink) = match (fault, auto) {
        (Some(wanted), _) => (wanted, theme.alarm_ink),
        (None, Some(auto)) if now.is_none() => (auto, theme.ink),
        (None, _) => (setting.range, theme.ink2),
    };
    let back = auto.filter(|_| now.is_some() && fault.is_none());
    let button = Button::line("From the noise").name("Settle limit from the noise");
    let mut end = row.right();
    if back.is_some() {
        let wide = button.wanted_width(&p);
        let range_wide = text::width(&p, beside, theme::regular(size::BODY));
        let left = (x + range_wide + space::ROW).min(row.right() - wide);
        let at = Rect::from_min_size(pos2(left, row.top()), vec2(wide, row.height()));
        let response = button.show_at(ui, at);
        see(&response);
        if response.clicked() {
            answer = Some(None);
        }
        end = left - space::TIGHT;
    }
    let fits = text::width(&p, beside, theme::regular(size::BODY)) <= end - x;
    if fits {
        text::cap(&p, x, y, Align::Min, beside, theme::regular(size::BODY), ink);
        let place = Rect::from_min_max(pos2(x, row.top()), pos2(end, row.bottom()));
        focus::tell(ui, place, setting.name, Role::Label, &format!("{}: {beside}", setting.name));
    }
    ui.add_space(4.0);
    if !fits {
        prose(ui, beside, size::BODY, ink);
        ui.add_space(2.0);
    }
    prose(ui, setting.meaning, size::AXIS, theme.ink2);
    ui.add_space(space::ROW);
    answer
}

/// The number as typed; `Some(None)` for nothing where that is allowed, `None` for what can't be used.
fn read(setting: &Setting, typed: &str, may_be_empty: bool) -> Option<Option<f64>> {
    let typed: String = typed.chars().filter(|letter| !letter.is_whitespace()).collect();
    if typed.is_empty() {
        return may_be_empty.then_some(None);
    }
    let typed = typed.strip_suffix(setting.unit).unwrap_or(&typed);
    let number = typed.replace(',', ".").parse::<f64>().ok()?;
    (setting.holds)(number).then_some(Some(number))
}

/// A switch, and what it means under it; whether it was switched.
fn switch_ui(ui: &mut Ui, on: bool, label: &str, meaning: &str) -> bool {
    let theme = Theme::of(ui.ctx());
    let response = check(ui, on, label);
    see(&response);
    // A narrow window cuts the label: then it stands whole under it.
    let fits = text::width(ui.painter(), label, theme::regular(size::BODY)) <= response.rect.width() - 28.0;
    if !fits {
        prose(ui, &format!("{label}."), size::AXIS, theme.ink);
    }
    prose(ui, meaning, size::AXIS, theme.ink2);
    ui.add_space(space::ROW);
    response.clicked()
}

/// How long after a press each gesture is sent.
fn delays_ui(ui: &mut Ui, plan: &Plan) {
    let theme = Theme::of(ui.ctx());
    let delays = Delays::of(plan);
    bracket_ui(ui, "How soon a code is sent", "with these settings");
    let width = ui.available_width();
    let figure = width - 200.0;
    heads(
        ui,
        &[
            ("gesture", 0.0, Align::Min),
            ("sent within", figure, Align::Max),
            ("from", figure + 16.0, Align::Min),
        ],
    );
    let rows = [
        ("Tap, and nothing else on the button", delays.tap_ms, "the press"),
        ("Tap, beside a hold", delays.tap_beside_hold_ms, "letting go"),
        ("Tap, beside a double tap", delays.tap_beside_double_ms, "letting go"),
        ("Hold", delays.hold_ms, "the press"),
        ("Double tap", delays.double_ms, "the second press"),
    ];
    for (name, ms, from) in rows {
        let (rect, _) = ui.allocate_exact_size(vec2(width, control::DENSE), Sense::hover());
        let (p, y) = (ui.painter(), rect.center().y);
        let at = rect.left() + figure;
        let value = format!("{ms} ms");
        let wide = text::width(p, &value, theme::bold(size::BODY));
        let room = figure - wide - space::ROW;
        text::cap_within(p, rect.left(), y, Align::Min, room, name, theme::regular(size::BODY), theme.ink);
        text::cap(p, at, y, Align::Max, &value, theme::bold(size::BODY), theme.ink);
        text::cap(p, at + 16.0, y, Align::Min, from, theme::regular(size::BODY), theme.ink2);
        p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
        focus::tell(ui, rect, name, Role::Row, &format!("{name}: {value} after {from}"));
    }
}
