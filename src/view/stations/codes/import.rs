//! Lists of commands: the two buttons under the stereo's commands, and what a list that can't be taken
//! as it is asks of the person: which lines, why, and what is left of it.

use egui::{Align, Key, Modifiers, Rect, Role, ScrollArea, Sense, Ui, UiBuilder, pos2, vec2};

use super::list::{Making, list_ui};
use super::{LIST, parts, prose};
use crate::app::codes::list::{Decision, ListAction};
use crate::app::{Action, CodesAction};
use crate::project::{Command, LineFault, Project};
use crate::units::number_of;
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::{bracket, text};

/// So many faults are drawn; the rest is counted.
const SHOWN: usize = 200;

/// Left end of a fault's words.
const INSET: f32 = 34.0;
/// Where what is wrong begins, behind the line's number.
const WHAT: f32 = 122.0;
/// Below this width what is wrong stands under the line's number.
const BESIDE: f32 = 460.0;

fn list(action: ListAction) -> Action {
    Action::Codes(CodesAction::List(action))
}

/// What the buttons at the foot of the commands' place leave of it.
pub(super) fn above_foot(place: Rect) -> Rect {
    place.with_max_y(place.bottom() - control::USUAL - space::ROW)
}

/// The buttons that take a list in and write one, at the foot of the commands' place.
pub(super) fn foot_ui(ui: &mut Ui, place: Rect, actions: &mut Vec<Action>) {
    pair_ui(ui, place.with_min_y(place.bottom() - control::USUAL), actions);
}

/// The same at the layout's next place.
pub(super) fn buttons_ui(ui: &mut Ui, actions: &mut Vec<Action>) {
    ui.add_space(space::BLOCK);
    let wide = ui.available_width().min(LIST);
    let (place, _) = ui.allocate_exact_size(vec2(wide, control::USUAL), Sense::hover());
    pair_ui(ui, place, actions);
    ui.add_space(space::ROW);
}

/// What takes a list in, for a station that has nothing to write yet.
pub(super) fn take_in() -> Action {
    list(ListAction::AskImport)
}

fn pair_ui(ui: &mut Ui, place: Rect, actions: &mut Vec<Action>) {
    let half = ((place.width() - space::ROW) / 2.0).floor();
    let left = Rect::from_min_size(place.min, vec2(half, control::USUAL));
    let right = left.translate(vec2(half + space::ROW, 0.0));
    let import = Button::line("Import").name("Import a list").show_at(ui, left);
    let export = Button::line("Export").name("Export a list").show_at(ui, right);
    for (response, action) in [(import, ListAction::AskImport), (export, ListAction::AskExport)] {
        if response.gained_focus() {
            // The keyboard may have come from above, in a window too small for both.
            response.scroll_to_me(None);
        }
        if response.clicked() {
            actions.push(list(action));
        }
    }
}

/// A list being taken in that the person has to decide about, beside the commands that are there.
pub(super) fn decide_ui(
    ui: &mut Ui,
    project: &Project,
    decision: &Decision,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let mut side = area.work();
    if area.layout.class == WidthClass::Wide && !project.stereo.commands.is_empty() {
        let rect = side.with_max_x(side.left() + LIST);
        list_ui(ui, project, None, Making::Nothing, false, rect, actions);
        side.min.x += LIST + space::REGION + 4.0;
    }
    panel_ui(ui, decision, side, area, actions);
}

/// What is wrong with the list, and the decision about it, in `side`, with the acting row.
fn panel_ui(ui: &mut Ui, decision: &Decision, side: Rect, area: &Area, actions: &mut Vec<Action>) {
    let mut child = ui.new_child(UiBuilder::new().max_rect(side));
    ScrollArea::vertical().id_salt("list taken in").auto_shrink(false).show(&mut child, |ui| {
        ui.set_width(side.width() - 12.0);
        // Two rows of the page before stay in sight.
        let page = (side.height() - 80.0).max(40.0);
        for (key, by) in [(Key::PageDown, -page), (Key::PageUp, page)] {
            if key_pressed(ui, Modifiers::NONE, key) {
                ui.scroll_with_delta(vec2(0.0, by));
            }
        }
        ui.spacing_mut().item_spacing.y = 0.0;
        head_ui(ui, decision);
        ui.add_space(space::BLOCK);
        let count = decision.merge.fault_count();
        bracket::bracket_ui(ui, "Can't be taken", &number_of(count, "fault"));
        ui.add_space(space::TIGHT);
        for (at, fault) in decision.merge.faults.iter().take(SHOWN).enumerate() {
            ui.push_id(at, |ui| fault_ui(ui, fault));
        }
        let more = count - decision.merge.faults.len().min(SHOWN);
        if more > 0 {
            let theme = Theme::of(ui.ctx());
            ui.add_space(space::ROW);
            prose(ui, &format!("And {more} more."), size::PROSE, theme.ink2);
        }
        let fresh = &decision.merge.fresh;
        if !fresh.is_empty() {
            ui.add_space(space::BLOCK);
            bracket::bracket_ui(ui, "Can be taken", &number_of(fresh.len(), "command"));
            ui.add_space(space::TIGHT);
            for (at, command) in fresh.iter().enumerate() {
                ui.push_id(at, |ui| good_ui(ui, command));
            }
        }
    });
    acting_ui(ui, decision, area.layout.acting, actions);
}

/// The file, and how much of it can be taken.
fn head_ui(ui: &mut Ui, decision: &Decision) {
    let theme = Theme::of(ui.ctx());
    let Decision { path, read, merge } = decision;
    let name = path
        .file_name()
        .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
    let galley = text::one_line(ui.painter(), &name, theme::bold(size::ARM), theme.ink, ui.available_width());
    parts::show(ui, galley, "list", Role::Heading, &name);
    ui.add_space(space::TIGHT);
    let of = read.stereo.as_deref().map(str::trim).filter(|stereo| !stereo.is_empty());
    let of = of.map(|stereo| format!(" It is a list of {stereo}.")).unwrap_or_default();
    let same = match merge.same.len() {
        0 => String::new(),
        1 => " 1 is there already, with the same code.".to_owned(),
        count => format!(" {count} are there already, with the same codes."),
    };
    let words = match merge.fresh.len() {
        0 => format!("Nothing of it can be taken.{same}{of} Mend it and import it again."),
        count => format!("{} can be taken, the rest can't.{same}{of}", number_of(count, "command")),
    };
    prose(ui, &words, size::PROSE, theme.ink2);
}

/// A fault: its line, and what is wrong.
fn fault_ui(ui: &mut Ui, fault: &LineFault) {
    let theme = Theme::of(ui.ctx());
    let wide = ui.available_width();
    let beside = wide >= BESIDE;
    let (left, top) = if beside { (WHAT, 10.0) } else { (INSET, 32.0) };
    let room = wide - left - 8.0;
    let p = ui.painter().clone();
    let galley = text::prose(&p, &fault.what, theme::regular(size::BODY), theme.ink, room, 12);
    let (rect, _) = ui.allocate_exact_size(vec2(wide, galley.size().y + top + 10.0), Sense::hover());
    focus::tell(ui, rect, "fault", Role::Label, &fault.to_string());
    if !ui.is_rect_visible(rect) {
        return;
    }
    let y = rect.top() + 20.0;
    icon(&p, Icon::StopSign, pos2(rect.left() + 14.0, y), 0.9, theme.alarm_ink);
    let line = format!("Line {}", fault.line);
    text::cap(&p, rect.left() + INSET, y, Align::Min, &line, theme::bold(size::BODY), theme.ink);
    p.galley(pos2(rect.left() + left, rect.top() + top), galley, theme.ink);
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
}

/// A command that can be taken: its name and its code.
fn good_ui(ui: &mut Ui, command: &Command) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 32.0), Sense::hover());
    let code = crate::remote::describe(&command.code);
    focus::tell(ui, rect, "good", Role::Label, &format!("{}, {code}", command.name));
    if !ui.is_rect_visible(rect) {
        return;
    }
    let p = ui.painter();
    let y = rect.center().y;
    let half = rect.width() / 2.0;
    let name = theme::bold(size::BODY);
    text::cap_within(
        p,
        rect.left() + INSET,
        y,
        Align::Min,
        half - INSET - 8.0,
        &command.name,
        name,
        theme.ink,
    );
    let font = theme::regular(size::BODY);
    text::cap_within(p, rect.left() + half, y, Align::Min, half - 8.0, &code, font, theme.ink2);
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
}

fn acting_ui(ui: &mut Ui, decision: &Decision, place: Rect, actions: &mut Vec<Action>) {
    let high = place.height();
    let count = decision.merge.fresh.len();
    let keep = match count {
        1 => "Keep the good one".to_owned(),
        _ => format!("Keep the {count} good ones"),
    };
    let mut buttons = Vec::new();
    if count > 0 {
        buttons.push((Button::act(&keep).key("Enter").height(high), ListAction::KeepGood));
        buttons.push((Button::line("Take nothing").key("Esc").height(high), ListAction::Drop));
    } else {
        buttons.push((Button::act("Put away").key("Esc").height(high), ListAction::Drop));
    }
    let drawn: Vec<Button<'_>> = buttons.iter().map(|(button, _)| button.clone()).collect();
    let rects = row(ui.painter(), place, &drawn, space::ROW);
    for (at, ((button, action), rect)) in buttons.into_iter().zip(rects).enumerate() {
        let response = button.show_at(ui, rect);
        if at == 0 && ui.memory(|memory| memory.focused().is_none()) {
            response.request_focus();
        }
        if response.clicked() {
            actions.push(list(action));
        }
    }
    if count > 0 && key_pressed(ui, Modifiers::NONE, Key::Enter) {
        actions.push(list(ListAction::KeepGood));
    } else if key_pressed(ui, Modifiers::NONE, Key::Escape) {
        actions.push(list(ListAction::Drop));
    }
}
