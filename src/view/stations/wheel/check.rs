//! The six steps of the meter check on a small wire: one is open at a time, with what to do, its answers, and
//! what they mean.

use egui::{Align, Rect, Role, Sense, Shape, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2};

use super::fields::{CAR_V, METER_OHM, Typed, number_ui};
use crate::app::{Action, Edit, Model};
use crate::project::{Project, ReturnWire, meter_text};
use crate::units::volt_text;
use crate::view::stations::codes::prose;
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::check::check as check_box;
use crate::view::widgets::icons::{Icon, icon_stroked};
use crate::view::widgets::segments::Segments;
use crate::view::widgets::{bracket, focus, text};
use crate::wheel::{CheckStep, Differ, MeterCheck, StepState, ToChassis, WireCheck};

/// What belongs to the screen.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The open step; all are shut once all are done.
    open: Option<CheckStep>,
    /// Whether the first look has chosen one.
    begun: bool,
    typed: Typed,
}

/// Height of a row.
const ROW: f32 = 27.0;
/// From the left end to the wire, and to the words.
const WIRE: f32 = 11.0;
const WORDS: f32 = 32.0;
/// Radius of a step's node.
const NODE: f32 = 8.0;
/// No part of a switch is chosen.
const NONE: usize = 99;

/// Draws the steps.
pub(super) fn steps_ui(
    ui: &mut Ui,
    model: &Model,
    project: &Project,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) {
    let report = &model.derived.wheel.check;
    if !std::mem::replace(&mut draft.begun, true) {
        draft.open = CheckStep::ALL.into_iter().find(|step| report.step(*step) == StepState::Open);
    }
    bracket::bracket_ui(ui, "Is it a ladder?", &format!("{} of 6 steps", report.done()));
    ui.add_space(4.0);
    let mut to = None;
    for step in CheckStep::ALL {
        let is_open = draft.open == Some(step);
        if row_ui(ui, project, step, &report.steps, is_open) {
            to = Some(if is_open { None } else { Some(step) });
        }
        let next = step.next();
        let answered = |step| report.step(step) != StepState::Open;
        let solid = answered(step) && next.is_some_and(answered);
        if is_open && open_ui(ui, project, step, solid, &mut draft.typed, actions) {
            let left = |step: &CheckStep| report.step(*step) == StepState::Open;
            let after = CheckStep::ALL.into_iter().filter(|other| *other > step).find(left);
            to = Some(after.or(step.next()));
        }
    }
    if let Some(to) = to {
        actions.push(Action::Edit(Edit::Settle));
        draft.open = to;
    }
    ui.add_space(space::ROW);
}

/// A step's row. True if it was clicked.
fn row_ui(ui: &mut Ui, project: &Project, step: CheckStep, states: &[StepState; 6], is_open: bool) -> bool {
    let theme = Theme::of(ui.ctx());
    let state = states[step as usize];
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let response = ui.interact(rect, ui.make_persistent_id(("check step", step)), Sense::click());
    let result = result(project, step);
    let given = if result.is_empty() { String::new() } else { format!(": {result}") };
    let said = format!("Step {} of 6, {}{given}, {}", step as usize + 1, step.title(), spoken(state));
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, is_open, &said));
    ui.accesskit_node_builder(response.id, |node| node.set_expanded(is_open));
    see(&response);
    let p = ui.painter();
    let words = Rect::from_min_max(pos2(rect.left() + WORDS - 8.0, rect.top()), rect.max);
    if response.is_pointer_button_down_on() || is_open {
        p.rect_filled(words, control::RADIUS, if is_open { theme.raise } else { theme.press });
    } else if response.hovered() {
        p.rect_filled(words, control::RADIUS, theme.raise);
    }
    let centre = pos2(rect.left() + WIRE, rect.center().y);
    if step.before().is_some() {
        wire(ui, &theme, centre.x, rect.top(), centre.y - NODE, state != StepState::Open);
    }
    if let Some(next) = step.next() {
        let solid = state != StepState::Open && states[next as usize] != StepState::Open;
        wire(ui, &theme, centre.x, centre.y + NODE, rect.bottom(), solid);
    }
    node(ui, &theme, centre, state);
    let y = rect.center().y;
    let font = if is_open { theme::bold(size::BODY) } else { theme::regular(size::BODY) };
    let wide = text::cap(p, rect.left() + WORDS, y, Align::Min, step.title(), font, theme.ink);
    let room = rect.width() - WORDS - wide - 16.0;
    let ink = if state == StepState::Stop { theme.alarm_ink } else { theme.ink };
    let font = theme::bold(size::BODY);
    text::cap_within(p, rect.right() - 2.0, y, Align::Max, room, &result, font, ink);
    focus::ring(p, &theme, &response, words.shrink(2.0));
    response.clicked()
}

const fn spoken(state: StepState) -> &'static str {
    match state {
        StepState::Open => "not done",
        StepState::Done => "done",
        StepState::Look => "look here",
        StepState::Stop => "no ladder does so",
    }
}

fn node(ui: &Ui, theme: &Theme, centre: egui::Pos2, state: StepState) {
    let p = ui.painter();
    match state {
        StepState::Open => {
            p.circle(centre, NODE - 1.0, theme.face, Stroke::new(stroke::SCHEMATIC, theme.edge));
        }
        StepState::Done => {
            p.circle_filled(centre, NODE, theme.ink);
            icon_stroked(p, Icon::Tick, centre, 0.6, Stroke::new(2.0, theme.face));
        }
        StepState::Look => {
            let corners = [(0.0, -9.0), (10.0, 8.0), (-10.0, 8.0)].map(|(x, y)| centre + vec2(x, y));
            p.add(Shape::convex_polygon(corners.to_vec(), theme.well, Stroke::new(stroke::BAND, theme.ink)));
            text::cap(p, centre.x, centre.y + 2.0, Align::Center, "!", theme::bold(11.0), theme.ink);
        }
        StepState::Stop => {
            p.circle(centre, NODE, theme.alarm_face, Stroke::new(stroke::NODE, theme.alarm));
            icon_stroked(p, Icon::Cross, centre, 0.6, Stroke::new(2.0, theme.alarm_ink));
        }
    }
}

fn wire(ui: &Ui, theme: &Theme, x: f32, from: f32, to: f32, solid: bool) {
    let ends = [pos2(x, from), pos2(x, to)];
    if solid {
        ui.painter().line_segment(ends, Stroke::new(stroke::NODE, theme.ink));
    } else {
        let dots = Shape::dashed_line(&ends, Stroke::new(stroke::NODE, theme.edge), 2.0, 4.0);
        ui.painter().extend(dots);
    }
}

/// What a step gave, short; empty where it gave nothing yet.
fn result(project: &Project, step: CheckStep) -> String {
    let check = &project.wheel.check;
    let wires = project.wires_in_use();
    // Where there are several wires, one that gave nothing yet keeps its place.
    let each = |of: &dyn Fn(u8, &WireCheck) -> Option<String>| -> String {
        let given: Vec<_> = wires.iter().map(|&wire| of(wire, &check.wire(wire))).collect();
        if given.iter().all(Option::is_none) {
            return String::new();
        }
        given.into_iter().map(|given| given.unwrap_or_else(|| "–".to_owned())).collect::<Vec<_>>().join(", ")
    };
    match step {
        CheckStep::Ready => if check.ready { "done" } else { "" }.to_owned(),
        CheckStep::Chassis => {
            let found = each(&|_, found| Some(chassis_word(found.chassis?).to_owned()));
            let back = project.wheel.back.grounded.map(|is| if is { "joined" } else { "open" }.to_owned());
            [Some(found).filter(|found| !found.is_empty()), back]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(", ")
        }
        CheckStep::Rest => each(&|wire, found| {
            let ohm = project.wheel.wires.get(&wire).and_then(|info| info.rest_ohm);
            ohm.map(meter_text).or_else(|| found.open.then(|| "open".to_owned()))
        }),
        CheckStep::Presses => {
            let steady = check.steady.map(|is| if is { "steady" } else { "unsteady" });
            let differ = check.differ.map(|differ| match differ {
                Differ::All => "all differ",
                Differ::Some => "some alike",
                Differ::Nothing => "no change",
            });
            steady.into_iter().chain(differ).collect::<Vec<_>>().join(", ")
        }
        CheckStep::CarSide => each(&|_, found| {
            let moves = if found.car_moves { " moves" } else { "" };
            let volt = found.car_v?;
            let pulls = if (0.3..=5.5).contains(&volt) && !found.car_moves { " pull-up" } else { moves };
            Some(format!("{}{pulls}", volt_text(volt)))
        }),
        CheckStep::Again => each(&|_, found| {
            found.again_ohm.map(meter_text).or_else(|| found.again_open.then(|| "open".to_owned()))
        }),
    }
}

const fn chassis_word(found: ToChassis) -> &'static str {
    match found {
        ToChassis::Open => "open",
        ToChassis::Resistance => "some ohms",
        ToChassis::Joined => "joined",
    }
}

/// What the open step asks. True if one goes on to the next.
fn open_ui(
    ui: &mut Ui,
    project: &Project,
    step: CheckStep,
    solid: bool,
    typed: &mut Typed,
    actions: &mut Vec<Action>,
) -> bool {
    let theme = Theme::of(ui.ctx());
    let whole = ui.available_rect_before_wrap();
    let inner = Rect::from_min_max(
        pos2(whole.left() + WORDS, whole.top() + 4.0),
        pos2(whole.right(), whole.top() + 4.0),
    );
    let scope = ui.scope_builder(UiBuilder::new().max_rect(inner), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, 4.0);
        prose(ui, step.task(), size::BODY, theme.ink);
        ui.add_space(4.0);
        let mut check = project.wheel.check.clone();
        answers_ui(ui, project, step, &mut check, typed, actions);
        if check != project.wheel.check {
            actions.push(Action::Edit(Edit::MeterCheck(Box::new(check))));
        }
        for (head, meaning) in step.outcomes() {
            prose(ui, &format!("{head}: {meaning}"), size::AXIS, theme.ink2);
        }
        ui.add_space(4.0);
        let label = if step.next().is_some() { "Next step" } else { "Close step" };
        let next = ui.add(Button::line(label).height(control::TARGET)).clicked();
        ui.add_space(space::TIGHT);
        next
    });
    let bottom = scope.response.rect.bottom();
    ui.advance_cursor_after_rect(Rect::from_min_max(whole.min, pos2(whole.right(), bottom)));
    if step.next().is_some() {
        wire(ui, &theme, whole.left() + WIRE, whole.top(), bottom, solid);
    }
    scope.inner
}

/// A switch of a step; gives the part that was chosen.
fn switch_ui(ui: &mut Ui, name: &str, items: &[&str], at: Option<usize>) -> Option<usize> {
    let theme = Theme::of(ui.ctx());
    let mut chosen = None;
    ui.label(egui::RichText::new(name).font(theme::regular(size::AXIS)).color(theme.ink2));
    ui.scope(|ui| {
        chosen = Segments::new(name, items, at.unwrap_or(NONE)).height(control::TARGET).show(ui);
    });
    chosen
}

fn answers_ui(
    ui: &mut Ui,
    project: &Project,
    step: CheckStep,
    check: &mut MeterCheck,
    typed: &mut Typed,
    actions: &mut Vec<Action>,
) {
    let wires = project.wires_in_use();
    match step {
        CheckStep::Ready => {
            if check_box(ui, check.ready, "Ignition is off, the plug is open").clicked() {
                check.ready = !check.ready;
            }
        }
        CheckStep::Chassis => {
            const ALL: [ToChassis; 3] = [ToChassis::Open, ToChassis::Resistance, ToChassis::Joined];
            for &wire in &wires {
                let at = check.wire(wire).chassis.and_then(|found| ALL.iter().position(|all| *all == found));
                let name = format!("Wire {wire} to chassis");
                if let Some(chosen) = switch_ui(ui, &name, &["Open", "Some ohms", "Joined"], at) {
                    check.wires.entry(wire).or_default().chassis = ALL.get(chosen).copied();
                }
            }
            let back = &project.wheel.back;
            let at = back.grounded.map(usize::from);
            if let Some(chosen) = switch_ui(ui, "Return to chassis", &["Open", "Joined"], at) {
                let back = ReturnWire { grounded: Some(chosen == 1), ..back.clone() };
                actions.push(Action::Edit(Edit::Back(back)));
            }
        }
        CheckStep::Rest => {
            for &wire in &wires {
                let now = project.wheel.wires.get(&wire).and_then(|info| info.rest_ohm);
                let found = check.wire(wire);
                ui.horizontal(|ui| {
                    let name = format!("Across wire {wire} at rest");
                    if let Some(ohm) = number_ui(ui, typed, &name, now, 128.0, METER_OHM) {
                        actions.push(Action::Edit(Edit::RestOhm(wire, ohm)));
                    }
                    let open = found.open && now.is_none();
                    if check_box(ui, open, &format!("Wire {wire} is open")).clicked() {
                        check.wires.entry(wire).or_default().open = !open;
                        if now.is_some() {
                            actions.push(Action::Edit(Edit::RestOhm(wire, None)));
                        }
                    }
                });
            }
        }
        CheckStep::Presses => {
            let at = check.steady.map(|steady| usize::from(!steady));
            if let Some(chosen) = switch_ui(ui, "While a button is held", &["Stands still", "Jumps"], at) {
                check.steady = Some(chosen == 0);
            }
            const ALL: [Differ; 3] = [Differ::All, Differ::Some, Differ::Nothing];
            let at = check.differ.and_then(|differ| ALL.iter().position(|all| *all == differ));
            let items = ["All differ", "Some alike", "No change"];
            if let Some(chosen) = switch_ui(ui, "The buttons", &items, at) {
                check.differ = ALL.get(chosen).copied();
            }
        }
        CheckStep::CarSide => {
            for &wire in &wires {
                let found = check.wire(wire);
                ui.horizontal(|ui| {
                    let name = format!("Volts on the car side of wire {wire}");
                    if let Some(volt) = number_ui(ui, typed, &name, found.car_v, 108.0, CAR_V) {
                        check.wires.entry(wire).or_default().car_v = volt;
                    }
                    if check_box(ui, found.car_moves, &format!("Wire {wire} moves")).clicked() {
                        check.wires.entry(wire).or_default().car_moves = !found.car_moves;
                    }
                });
            }
        }
        CheckStep::Again => {
            for &wire in &wires {
                let found = check.wire(wire);
                ui.horizontal(|ui| {
                    let name = format!("Across wire {wire} again");
                    if let Some(ohm) = number_ui(ui, typed, &name, found.again_ohm, 128.0, METER_OHM) {
                        check.wires.entry(wire).or_default().again_ohm = ohm;
                    }
                    let open = found.again_open && found.again_ohm.is_none();
                    if check_box(ui, open, &format!("Wire {wire} is open again")).clicked() {
                        let found = check.wires.entry(wire).or_default();
                        (found.again_open, found.again_ohm) = (!open, None);
                    }
                });
            }
        }
    }
}
