//! Pair: which press sends which command. Buttons with their gestures at the left, the stereo's
//! commands at the right, and the wires between them.

mod commands;
mod findings;
mod plan;
mod rows;
#[cfg(test)]
mod tests;

use egui::{Align2, Rangef, Rect, Role, ScrollArea, Ui, UiBuilder, pos2, vec2};

use super::Area;
use crate::app::{Action, Model};
use crate::project::{ButtonId, Gesture, Project};
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::plot::loom::{self, LoomWire};
use crate::view::widgets::{bracket, focus, text};
use plan::Plan;

/// From the left: the plate's middle, the name, the plus, a gesture's sign, its name, its drop-down
/// and where that ends.
const PLATE: f32 = 30.0;
const NAME: f32 = 62.0;
const PLUS: f32 = 186.0;
const SIGN: f32 = 212.0;
const GESTURE: f32 = 230.0;
const DROP: Rangef = Rangef { min: 308.0, max: 514.0 };
/// How wide the commands stand.
const COMMANDS: f32 = 242.0;
/// The narrowest loom; below it the drop-downs alone tell what goes where.
const LOOM_LEAST: f32 = 100.0;
/// The widest drop-down.
const DROP_WIDEST: f32 = 320.0;

/// Where the columns lie.
#[derive(Clone, Copy, Debug)]
struct Columns {
    /// The left end.
    left: f32,
    /// The drop-downs.
    drop: Rangef,
    /// The loom and the commands, where there is room.
    loom: Option<(Rangef, Rangef)>,
}

impl Columns {
    fn of(work: Rect) -> Self {
        let left = work.left();
        let commands = Rangef::new(work.right() - COMMANDS, work.right());
        let drop = Rangef::new(left + DROP.min, left + DROP.max);
        let loom = Rangef::new(drop.max, commands.min - 2.0);
        if loom.span() >= LOOM_LEAST {
            return Self { left, drop, loom: Some((loom, commands)) };
        }
        let end = work.right().min(drop.min + DROP_WIDEST).max(drop.min + 120.0);
        Self { left, drop: Rangef::new(drop.min, end), loom: None }
    }
}

/// Draws the station.
pub fn pair_ui(ui: &mut Ui, model: &Model, area: &Area, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    if project.wheel.buttons.is_empty() {
        empty_ui(ui, area, actions);
        return;
    }
    let work = area.work();
    let columns = Columns::of(work);
    brackets(ui, project, work, &columns);
    // Down to just over the findings; the bar that scrolls stands in the margin.
    let table = Rect::from_min_max(
        pos2(work.left(), work.top() + 26.0),
        pos2(work.right() + 10.0, (area.layout.acting.top() - 8.0).max(work.top() + 26.0)),
    );
    let plan = Plan::of(project, table.height());
    let live = super::live_button(model);
    let mut child = ui.new_child(UiBuilder::new().max_rect(table));
    ScrollArea::vertical().id_salt("pairs").auto_shrink(false).show(&mut child, |ui| {
        let width = work.width();
        let (rect, _) = ui.allocate_exact_size(vec2(width, plan.height), egui::Sense::hover());
        // What the rows hold takes no room of its own.
        let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
        let ui = &mut child;
        let table = Table { project, plan: &plan, columns: &columns, top: rect.top(), live };
        rows::rows_ui(ui, model, &table, actions);
        loom_ui(ui, &table);
        commands::commands_ui(ui, &table);
    });
    findings::findings_ui(ui, model, project, &plan, area, actions);
}

/// What every part of the table is drawn from.
#[derive(Clone, Copy)]
struct Table<'a> {
    project: &'a Project,
    plan: &'a Plan,
    columns: &'a Columns,
    /// Where the table begins on the screen.
    top: f32,
    /// The button that is pressed now.
    live: Option<usize>,
}

fn brackets(ui: &Ui, project: &Project, work: Rect, columns: &Columns) {
    let theme = Theme::of(ui.ctx());
    let y = work.top() + 8.0;
    let stereo = if project.stereo.name.trim().is_empty() { "Stereo" } else { &project.stereo.name };
    let count = match project.stereo.commands.len() {
        1 => "1 command".to_owned(),
        commands => format!("{commands} commands"),
    };
    let name = |across: Rangef, name: &str, right: &str| {
        bracket::bracket(ui.painter(), &theme, across, y, name, right);
        let rect = Rect::from_x_y_ranges(across, Rangef::new(y - 10.0, y + 10.0));
        let said = if right.is_empty() { name.to_owned() } else { format!("{name}, {right}") };
        focus::tell(ui, rect, name, Role::Heading, &said);
    };
    name(Rangef::new(columns.left, columns.left + 174.0), "Button", "");
    let right = if columns.loom.is_none() { count.as_str() } else { "" };
    name(Rangef::new(columns.left + 196.0, columns.drop.max), "Gesture and command", right);
    if let Some((_, commands)) = columns.loom {
        name(Rangef::new(commands.min - 8.0, commands.max), stereo, &count);
    }
}

fn loom_ui(ui: &Ui, table: &Table<'_>) {
    let Some((across, _)) = table.columns.loom else { return };
    let theme = Theme::of(ui.ctx());
    let mut wires = Vec::new();
    for (button, row) in table.plan.rows.iter().enumerate() {
        for slot in &row.slots {
            let Some((command, place)) = slot.command.and_then(|at| table.plan.place_of(at)) else {
                continue;
            };
            wires.push(LoomWire {
                button,
                from_y: table.top + slot.y,
                command,
                to_y: table.top + place.y,
                live: table.live == Some(button),
            });
        }
    }
    let p = ui.painter();
    for (button, _, slot) in table.plan.nowhere() {
        let from = pos2(across.min, table.top + slot.y);
        loom::nowhere(p, &theme, button, from, across.span() > 150.0 && !loom::is_passed(&wires, from.y));
    }
    loom::loom(p, &theme, across, &wires);
}

/// What a gesture is called.
pub(super) const fn gesture_name(gesture: Gesture) -> &'static str {
    match gesture {
        Gesture::Tap => "tap",
        Gesture::Hold => "hold",
        Gesture::DoubleTap => "double tap",
    }
}

fn wanted_focus() -> egui::Id {
    egui::Id::unique("pair wants focus")
}

/// Brings the keyboard to a gesture's drop-down, in the next frame.
fn ask_focus(ui: &Ui, button: &ButtonId, gesture: Gesture) {
    ui.data_mut(|data| data.insert_temp(wanted_focus(), (button.0.clone(), gesture)));
    ui.request_repaint();
}

/// Whether this drop-down was asked for; said once.
fn take_focus(ui: &Ui, button: &ButtonId, gesture: Gesture) -> bool {
    let wanted = ui.data(|data| data.get_temp::<(String, Gesture)>(wanted_focus()));
    let is_this = wanted.is_some_and(|wanted| wanted.0 == button.0 && wanted.1 == gesture);
    if is_this {
        ui.data_mut(|data| data.remove::<(String, Gesture)>(wanted_focus()));
    }
    is_this
}

/// What to do first, where there are no buttons.
fn empty_ui(ui: &mut Ui, area: &Area, actions: &mut Vec<Action>) {
    const WORDS: &str = "No buttons yet. Name the wheel's buttons first.";
    let theme = Theme::of(ui.ctx());
    let work = area.work();
    let width = work.width().min(640.0);
    let p = ui.painter().clone();
    let galley = text::prose(&p, WORDS, theme::regular(size::HEAD), theme.ink, width, 4);
    let down = vec2(0.0, if work.height() > 300.0 { 48.0 } else { 8.0 });
    let rect = Align2::LEFT_TOP.align_size_within_rect(galley.size(), work.translate(down));
    p.galley(rect.min, galley, theme.ink);
    focus::tell(ui, rect, "empty", Role::Label, WORDS);
    let high = area.layout.acting.height();
    let button = Button::act("Name the buttons").height(high);
    let at = pos2(work.left(), rect.bottom() + space::REGION);
    let place = Rect::from_min_size(at, vec2(button.wanted_width(&p), high));
    let response = button.show_at(ui, place);
    if ui.memory(|memory| memory.focused().is_none()) {
        response.request_focus();
    }
    if response.clicked() {
        actions.extend(crate::view::stations::wheel::to_names());
    }
}
