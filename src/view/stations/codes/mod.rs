//! Codes: the stereo's commands at the left, the chosen one or the one being typed at the right.

mod form;
#[cfg(test)]
mod form_tests;
mod free_form;
mod heard;
mod import;
#[cfg(test)]
mod import_tests;
mod jack;
mod list;
mod listen;
#[cfg(test)]
mod listen_tests;
mod number_form;
mod order;
mod parts;
mod shown;
mod sweep;
#[cfg(test)]
mod tests;
mod trying;

use egui::{Key, Modifiers, Popup, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

pub(super) use parts::{beside, prose, short};

use super::Area;
use crate::app::codes::listen::{ListenAction, action as listening};
use crate::app::codes::{CodesView, Draft as TypedCommand};
use crate::app::edit::MOST_COMMANDS;
use crate::app::{Action, CodesAction, Edit, Model, Station};
use crate::project::{Command, CommandId, Project};
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::text;

/// What belongs to a form that is open. What is typed into it is the model's.
#[derive(Debug, Default)]
pub struct Draft {
    /// Whether the form was open in the frame before.
    was_open: bool,
    /// Whether keeping it was tried: empty fields are told from then on.
    attempted: bool,
    /// The form's first field wants the keyboard.
    focus_name: bool,
    /// The command shown in the frame before; another one is scrolled to.
    shown: Option<CommandId>,
    /// The first field of the way just chosen wants the keyboard.
    focus_code: bool,
    /// The view Jack.
    jack: jack::Draft,
}

/// How wide the list stands.
const LIST: f32 = 316.0;
/// The same in a medium window.
const LIST_MEDIUM: f32 = 264.0;

/// Draws the station; sets `link_open` where the link's panel is wanted.
pub fn codes_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    link_open: &mut bool,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    if let Some(decision) = &model.codes.list.decision {
        return import::decide_ui(ui, project, decision, area, actions);
    }
    match model.codes.view {
        CodesView::Jack => return jack::jack_ui(ui, model, &mut draft.jack, area, actions),
        CodesView::Sweep => return sweep::sweep_ui(ui, model, area, actions),
        CodesView::Listen | CodesView::TypeIn => {}
    }
    let typed = model.codes.draft.as_ref().filter(|_| model.codes.view == CodesView::TypeIn);
    let session = model.codes.listen.session.as_ref().filter(|_| model.codes.view == CodesView::Listen);
    let popup_open = Popup::is_any_open(ui.ctx());
    if typed.is_some() != draft.was_open {
        let jack = std::mem::take(&mut draft.jack);
        *draft = Draft { was_open: typed.is_some(), focus_name: typed.is_some(), jack, ..Draft::default() };
    }
    let commands = &project.stereo.commands;
    let chosen = chosen(model, project);
    if commands.is_empty() && typed.is_none() && session.is_none() {
        empty_ui(ui, area, actions);
        return;
    }
    let work = area.work();
    let list = match area.layout.class {
        WidthClass::Wide => LIST,
        WidthClass::Medium => LIST_MEDIUM,
        WidthClass::Narrow => 0.0,
    };
    let narrow = list == 0.0;
    if !narrow {
        let place = Rect::from_min_max(work.min, pos2(work.left() + list, work.bottom()));
        let shown = chosen.and_then(|at| commands.get(at)).map(|command| &command.id);
        let bring = draft.focus_name || draft.shown.as_ref() != shown;
        draft.shown = shown.cloned();
        let making = match (typed, session) {
            (Some(typed), _) => list::Making::Typed(typed),
            (None, Some(session)) if session.target.is_none() => list::Making::Heard(&session.name),
            _ => list::Making::Nothing,
        };
        list::list_ui(ui, project, chosen, making, bring, import::above_foot(place), actions);
        import::foot_ui(ui, place, actions);
    }
    let gap = if narrow { 0.0 } else { space::REGION + 4.0 };
    let side = Rect::from_min_max(pos2(work.left() + list + gap, work.top()), work.max);
    let mut keep = false;
    let mut child = ui.new_child(UiBuilder::new().max_rect(side.expand2(vec2(6.0, 0.0))));
    let scroll = ScrollArea::vertical().id_salt("code").auto_shrink(false);
    scroll.show(&mut child, |ui| {
        // Room for the ring round what has the keyboard.
        let place = Rect::from_min_size(
            ui.cursor().min + vec2(6.0, 6.0),
            vec2(side.width() - if narrow { 8.0 } else { 0.0 }, 0.0),
        );
        ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
            ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
            match (typed, session) {
                (Some(typed), _) => keep = form::form_ui(ui, project, typed, draft, actions),
                (None, Some(session)) => {
                    keep = listen::listen_ui(ui, model, session, link_open, actions);
                }
                (None, None) => {
                    if narrow {
                        list::list_drop(ui, commands, chosen, actions);
                    }
                    if let Some(command) = chosen.and_then(|at| commands.get(at)) {
                        let around = shown::Around { has_list: !narrow, link_open };
                        shown::shown_ui(ui, model, command, around, actions);
                    }
                    if narrow {
                        import::buttons_ui(ui, actions);
                    }
                }
            }
        });
    });
    if let (None, Some(session)) = (typed, session) {
        listen::acting_ui(ui, session, keep, area.layout.acting, actions);
        return;
    }
    let keep = acting_ui(ui, project, chosen, typed, area, actions) || keep;
    if let Some(typed) = typed {
        if keep || key_pressed(ui, Modifiers::NONE, Key::Enter) {
            try_to_keep(draft, typed, commands, actions);
        } else if !popup_open && key_pressed(ui, Modifiers::NONE, Key::Escape) {
            actions.push(Action::Codes(CodesAction::Discard));
        }
    } else {
        keys(ui, project, chosen, actions);
    }
}

/// The place of the command shown: the chosen one, or the first where that is gone.
fn chosen(model: &Model, project: &Project) -> Option<usize> {
    let commands = &project.stereo.commands;
    let at = model.codes.chosen.as_ref().and_then(|id| commands.iter().position(|there| there.id == *id));
    at.or((!commands.is_empty()).then_some(0))
}

/// Keeps what is typed, if nothing is wrong with it; else everything wrong is told from now on.
fn try_to_keep(draft: &mut Draft, typed: &TypedCommand, commands: &[Command], actions: &mut Vec<Action>) {
    if typed.faults(commands).is_empty() {
        actions.push(Action::Codes(CodesAction::Keep));
    } else {
        draft.attempted = true;
    }
}

fn change(command: &Command) -> Action {
    Action::Codes(CodesAction::Draft(TypedCommand::of(command)))
}

/// Removes the command, and goes to its neighbour.
fn remove(commands: &[Command], at: usize, actions: &mut Vec<Action>) {
    let Some(command) = commands.get(at) else { return };
    actions.push(Action::Edit(Edit::RemoveCommand(command.id.clone())));
    if let Some(next) = commands.get(at + 1).or_else(|| commands.get(at.checked_sub(1)?)) {
        actions.push(Action::Codes(CodesAction::Choose(next.id.clone())));
    }
}

fn keys(ui: &Ui, project: &Project, chosen: Option<usize>, actions: &mut Vec<Action>) {
    let commands = &project.stereo.commands;
    if commands.len() < MOST_COMMANDS && key_pressed(ui, Modifiers::NONE, Key::N) {
        actions.push(Action::Codes(CodesAction::New));
    }
    if key_pressed(ui, Modifiers::NONE, Key::L) {
        actions.push(listening(ListenAction::Start));
    }
    let Some(at) = chosen else { return };
    if key_pressed(ui, Modifiers::NONE, Key::E) {
        actions.extend(commands.get(at).map(change));
    }
    if key_pressed(ui, Modifiers::NONE, Key::Delete) {
        remove(commands, at, actions);
    }
}

/// The acting row. True if the draft is to be kept.
fn acting_ui(
    ui: &mut Ui,
    project: &Project,
    chosen: Option<usize>,
    typed: Option<&TypedCommand>,
    area: &Area,
    actions: &mut Vec<Action>,
) -> bool {
    let place = area.layout.acting;
    let high = place.height();
    let commands = &project.stereo.commands;
    if let Some(typed) = typed {
        let keep = typed.id.as_ref().map_or("Keep command", |_| "Keep change");
        let buttons =
            [Button::act(keep).key("Enter").height(high), Button::line("Discard").key("Esc").height(high)];
        let rects = row(ui.painter(), place, &buttons, space::ROW);
        let clicked: Vec<bool> =
            buttons.into_iter().zip(rects).map(|(button, rect)| button.show_at(ui, rect).clicked()).collect();
        if clicked.get(1) == Some(&true) {
            actions.push(Action::Codes(CodesAction::Discard));
        }
        return clicked.first() == Some(&true);
    }
    let narrow = area.layout.class == WidthClass::Narrow;
    let room = commands.len() < MOST_COMMANDS;
    let new = if narrow { "New" } else { "New command" };
    let command = chosen.and_then(|at| commands.get(at));
    let name = command.map_or("", |command| command.name.as_str());
    let names = [format!("Edit {name}"), format!("Remove {name}"), format!("Listen for {name}")];
    let next = if narrow { "Next" } else { "Next: pair them" };
    let buttons = [
        Button::line(new).name("New command").key("N").height(high).enabled(room),
        Button::line("Edit").name(&names[0]).key("E").height(high).enabled(command.is_some()),
        Button::line("Remove").name(&names[1]).key("Del").height(high).enabled(command.is_some()),
        Button::line("Listen").name(&names[2]).key("L").height(high),
        Button::line(next).name("Next: pair them").height(high),
    ];
    let mut rects = row(ui.painter(), place, &buttons, space::ROW);
    // The way on stands at the end of the row, where there is room.
    if let Some(last) = rects.last_mut() {
        *last = last.translate(vec2((place.right() - last.right()).max(0.0), 0.0));
    }
    let mut clicked = [false; 5];
    for ((button, rect), clicked) in buttons.into_iter().zip(rects).zip(&mut clicked) {
        *clicked = button.show_at(ui, rect).clicked();
    }
    let [new, edit, gone, listen, next] = clicked;
    if new {
        actions.push(Action::Codes(CodesAction::New));
    }
    if edit {
        actions.extend(command.map(change));
    }
    if let (true, Some(at)) = (gone, chosen) {
        remove(commands, at, actions);
    }
    if listen {
        actions.push(listening(ListenAction::Start));
    }
    if next {
        actions.push(Action::Go(Station::Pair));
    }
    false
}

/// What to do first, where there are no commands.
fn empty_ui(ui: &mut Ui, area: &Area, actions: &mut Vec<Action>) {
    const HEAD: &str = "No commands yet. Press the remote, or type a number.";
    const BODY: &str = "Listening takes the stereo's hand-held remote and the box's receiver. Without a remote, type \
                        an address and a command, a number as forums give it, or timings in microseconds. With \
                        neither, sweep.";
    let theme = Theme::of(ui.ctx());
    let work = area.work();
    let width = work.width().min(640.0);
    let high = area.layout.acting.height();
    let p = ui.painter().clone();
    let head = text::prose(&p, HEAD, theme::regular(size::HEAD), theme.ink, width, 3);
    let body = text::prose(&p, BODY, theme::regular(size::PROSE), theme.ink2, width, 6);
    let mut at = pos2(work.left(), work.top() + if work.height() > 300.0 { 48.0 } else { 8.0 });
    for (salt, words, galley, colour) in
        [("empty", HEAD, head, theme.ink), ("empty more", BODY, body, theme.ink2)]
    {
        let rect = Rect::from_min_size(at, galley.size());
        p.galley(at, galley, colour);
        focus::tell(ui, rect, salt, egui::Role::Label, words);
        at.y = rect.bottom() + space::BLOCK;
    }
    let buttons = [
        Button::act("Listen").name("Listen to the remote").key("L").height(high),
        Button::line("New command").key("N").height(high),
        Button::line("Import").name("Import a list").height(high),
    ];
    let place = Rect::from_min_size(at + vec2(0.0, space::TIGHT), vec2(work.width(), high));
    let rects = row(&p, place, &buttons, space::ROW);
    let mut clicked = [false; 3];
    for (at, (button, rect)) in buttons.into_iter().zip(rects).enumerate() {
        let response = button.show_at(ui, rect);
        if at == 0 && ui.memory(|memory| memory.focused().is_none()) {
            response.request_focus();
        }
        clicked[at] = response.clicked();
    }
    if clicked[2] {
        actions.push(import::take_in());
    }
    if clicked[0] || key_pressed(ui, Modifiers::NONE, Key::L) {
        actions.push(listening(ListenAction::Start));
    }
    if clicked[1] || key_pressed(ui, Modifiers::NONE, Key::N) {
        actions.push(Action::Codes(CodesAction::New));
    }
}
