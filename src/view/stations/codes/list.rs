//! The stereo's commands, one row each: name, origin, command, and the buttons that send it.

use egui::{Align, EventFilter, Key, Rect, Role, ScrollArea, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2};

use super::parts;
use crate::app::codes::Draft as TypedCommand;
use crate::app::edit::MOST_COMMANDS;
use crate::app::{Action, CodesAction};
use crate::project::{Command, Project};
use crate::remote::{Code, Origin};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::drop::Drop;
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{bracket, focus, hatch, text};

/// Height of a row.
const ROW: f32 = 52.0;
/// Digits of a code beyond which it stands under the name.
const LONG: usize = 4;
/// From plate to plate.
const PLATES: f32 = 30.0;
/// How many plates a row shows before it counts the rest.
const PLATES_SEEN: usize = 3;

/// What is being made beside the list.
#[derive(Clone, Copy)]
pub(super) enum Making<'a> {
    /// Nothing.
    Nothing,
    /// A command is typed.
    Typed(&'a TypedCommand),
    /// A new command is listened for; its name so far.
    Heard(&'a str),
}

impl Making<'_> {
    /// The name so far and what is done, of a command that isn't there yet.
    fn fresh(&self) -> Option<(&str, &'static str)> {
        match self {
            Self::Typed(typed) if typed.id.is_none() => Some((&typed.name, "being typed")),
            Self::Heard(name) => Some((name, "being heard")),
            Self::Typed(_) | Self::Nothing => None,
        }
    }

    /// Whether another command may be chosen: what is typed is kept or discarded first.
    const fn is_open(&self) -> bool {
        !matches!(self, Self::Typed(_))
    }

    /// Whether this command is shown, if it is chosen.
    fn shows(&self, command: &Command) -> bool {
        match self {
            Self::Nothing => true,
            Self::Typed(typed) => typed.id.as_ref() == Some(&command.id),
            Self::Heard(_) => false,
        }
    }
}

/// Draws the list; `bring` scrolls to what is shown beside it.
pub(super) fn list_ui(
    ui: &mut Ui,
    project: &Project,
    chosen: Option<usize>,
    making: Making<'_>,
    bring: bool,
    rect: Rect,
    actions: &mut Vec<Action>,
) {
    let commands = &project.stereo.commands;
    let head = Rect::from_min_max(pos2(rect.left(), rect.top() - 2.0), rect.max);
    let mut child = ui.new_child(UiBuilder::new().max_rect(head));
    child.spacing_mut().item_spacing.y = 6.0;
    bracket::bracket_ui(&mut child, "Commands", &common(commands));
    // Rows reach to the ends; their rings need a little more.
    let place = Rect::from_min_max(
        pos2(rect.left() - 6.0, child.cursor().top()),
        pos2(rect.right() + 10.0, rect.bottom()),
    );
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    ScrollArea::vertical().id_salt("commands").auto_shrink(false).show(&mut child, |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        let fresh = making.fresh();
        let is_new = fresh.is_some();
        for (at, command) in commands.iter().enumerate() {
            let look = Look {
                chosen: chosen == Some(at) && making.shows(command),
                open: making.is_open(),
                last: at + 1 == commands.len() && !is_new,
                bring: bring && chosen == Some(at) && !is_new,
            };
            let answer = ui.push_id(&command.id.0, |ui| row_ui(ui, project, command, look, rect.width()));
            let to = match answer.inner {
                RowAnswer::Nothing => None,
                RowAnswer::Chosen => Some(at),
                RowAnswer::Up => at.checked_sub(1),
                RowAnswer::Down => Some(at + 1),
            };
            if let Some(next) = to.and_then(|to| commands.get(to)) {
                actions.push(Action::Codes(CodesAction::Choose(next.id.clone())));
                if to != Some(at) {
                    ui.data_mut(|data| data.insert_temp(walk_id(), next.id.0.clone()));
                }
            }
        }
        if let Some((name, doing)) = fresh {
            new_row(ui, name, doing, bring, rect.width());
        }
    });
}

/// The list as a drop-down, for narrow windows.
pub(super) fn list_drop(ui: &mut Ui, commands: &[Command], chosen: Option<usize>, actions: &mut Vec<Action>) {
    let names: Vec<&str> = commands.iter().map(|command| command.name.as_str()).collect();
    let codes: Vec<String> = commands.iter().map(|command| parts::short(&command.code)).collect();
    let codes: Vec<&str> = codes.iter().map(String::as_str).collect();
    let width = ui.available_width();
    let drop = Drop::new("Command shown", &names, chosen).subs(&codes).width(width).height(control::USUAL);
    if let Some(command) = drop.show(ui).chosen.and_then(|at| commands.get(at)) {
        actions.push(Action::Codes(CodesAction::Choose(command.id.clone())));
    }
    ui.add_space(space::TIGHT);
}

/// What all commands share, or how many there are.
fn common(commands: &[Command]) -> String {
    let mut shared: Option<(&str, u32)> = None;
    for command in commands {
        let Code::Family { family, address, .. } = &command.code else { return count(commands) };
        match shared {
            Some(there) if there != (family.0.as_str(), *address) => return count(commands),
            _ => shared = Some((&family.0, *address)),
        }
    }
    match shared {
        Some((family, address)) => {
            let digits = crate::remote::family(family).map_or(2, crate::remote::Family::address_digits);
            format!("{family}, address {address:0digits$X}")
        }
        None => count(commands),
    }
}

fn count(commands: &[Command]) -> String {
    format!("{} of {MOST_COMMANDS}", commands.len())
}

fn origin(origin: Origin) -> &'static str {
    match origin {
        Origin::Typed => "typed",
        Origin::Captured => "captured",
        Origin::Swept => "swept",
    }
}

/// Where a code came from, and whether the stereo was seen to obey it.
fn source(command: &Command) -> String {
    let origin = origin(command.origin);
    if command.tried { origin.to_owned() } else { format!("{origin}, not tried") }
}

fn walk_id() -> egui::Id {
    egui::Id::unique("codes walked to")
}

#[derive(Clone, Copy)]
struct Look {
    chosen: bool,
    open: bool,
    last: bool,
    bring: bool,
}

enum RowAnswer {
    Nothing,
    Chosen,
    Up,
    Down,
}

/// The buttons that send a command, from 0, each once.
pub(super) fn senders(project: &Project, command: &Command) -> Vec<usize> {
    let sends = |id: &crate::project::ButtonId| {
        project.pairs.iter().any(|pair| pair.button == *id && pair.command.as_ref() == Some(&command.id))
    };
    let buttons = project.wheel.buttons.iter().enumerate();
    buttons.filter(|(_, button)| sends(&button.id)).map(|(index, _)| index).collect()
}

fn row_ui(ui: &mut Ui, project: &Project, command: &Command, look: Look, width: f32) -> RowAnswer {
    let theme = Theme::of(ui.ctx());
    let (space, _) = ui.allocate_exact_size(vec2(width + 6.0, ROW), Sense::hover());
    let rect = Rect::from_min_max(pos2(space.left() + 6.0, space.top()), space.max);
    let sense = if look.open { Sense::click() } else { Sense::hover() };
    let response = ui.interact(rect, ui.make_persistent_id("row"), sense);
    if look.bring {
        response.scroll_to_me(None);
    }
    let senders = senders(project, command);
    let short = parts::short(&command.code);
    let by = match senders.as_slice() {
        [] => "no button".to_owned(),
        all => all.iter().map(|at| theme::letter(*at).to_string()).collect::<Vec<_>>().join(" and "),
    };
    let source = source(command);
    let said = format!("{}, {source}, {short}, {by}", command.name);
    response.widget_info(|| WidgetInfo::selected(Role::ListBoxOption, look.open, look.chosen, &said));
    let p = ui.painter();
    if look.chosen {
        p.rect_filled(rect, control::RADIUS, theme.act);
    } else {
        if look.open && response.is_pointer_button_down_on() {
            p.rect_filled(rect, control::RADIUS, theme.press);
        } else if look.open && response.hovered() {
            p.rect_filled(rect, control::RADIUS, theme.raise);
        }
        if !look.last {
            p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
        }
    }
    let (ink, ink2) = if look.chosen { (theme.on_act, theme.on_act2) } else { (theme.ink, theme.ink2) };
    let (left, code_right) = (rect.left() + 14.0, rect.right() - 102.0);
    let small = theme::regular(size::AXIS);
    let (name, bold) = (command.name.as_str(), theme::bold(size::PROSE));
    let (name_y, under_y) = (rect.top() + 17.0, rect.top() + 37.0);
    if short.len() <= LONG {
        let font = theme::mono(size::ARM);
        let code = text::cap(p, code_right, rect.center().y, Align::Max, &short, font, ink);
        text::cap_within(p, left, name_y, Align::Min, code_right - code - 10.0 - left, name, bold, ink);
        text::cap(p, left, under_y, Align::Min, &source, small.clone(), ink2);
    } else {
        // A long code stands under the name, where that has no room beside it.
        let font = theme::mono(size::BODY);
        let code = text::cap(p, code_right, under_y, Align::Max, &short, font, ink);
        let room = code_right - code - 10.0 - left;
        let fits = text::width(p, &source, small.clone()) <= room;
        let words = if fits { source.as_str() } else { origin(command.origin) };
        text::cap_within(p, left, name_y, Align::Min, code_right - left, name, bold, ink);
        text::cap_within(p, left, under_y, Align::Min, room, words, small.clone(), ink2);
    }
    if senders.is_empty() {
        text::cap(p, rect.right() - 14.0, rect.center().y, Align::Max, "no button", small, ink2);
    } else {
        plates(ui, &theme, project, &senders, rect, look.chosen);
    }
    focus::ring(ui.painter(), &theme, &response, rect.shrink(1.0));
    let clicked = response.clicked();
    if clicked {
        // From here on the arrow keys walk the list.
        response.request_focus();
    }
    let keyed = arrows(ui, &response, &command.id.0);
    if !look.open {
        response.on_hover_text("Keep or discard what you type first");
    }
    if clicked { RowAnswer::Chosen } else { keyed }
}

/// Up and down walk the list; the row walked to takes the keyboard.
fn arrows(ui: &Ui, response: &egui::Response, id: &str) -> RowAnswer {
    if ui.data(|data| data.get_temp::<String>(walk_id())).as_deref() == Some(id) {
        ui.data_mut(|data| data.remove::<String>(walk_id()));
        response.request_focus();
        response.scroll_to_me(None);
        // The key that brought it here is used up.
        return RowAnswer::Nothing;
    }
    if !response.has_focus() {
        return RowAnswer::Nothing;
    }
    let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    match ui.input(|input| (input.key_pressed(Key::ArrowUp), input.key_pressed(Key::ArrowDown))) {
        (true, false) => RowAnswer::Up,
        (false, true) => RowAnswer::Down,
        _ => RowAnswer::Nothing,
    }
}

fn plates(ui: &Ui, theme: &Theme, project: &Project, senders: &[usize], rect: Rect, chosen: bool) {
    let p = ui.painter();
    let y = rect.center().y;
    let mut x = rect.right() - 28.0;
    let seen = if senders.len() > PLATES_SEEN { PLATES_SEEN - 1 } else { senders.len() };
    if senders.len() > seen {
        let more = format!("+{}", senders.len() - seen);
        let ink = if chosen { theme.on_act2 } else { theme.ink2 };
        text::cap(p, x + 14.0, y, Align::Max, &more, theme::regular(size::AXIS), ink);
        x -= PLATES;
    }
    for &index in senders.iter().take(seen).rev() {
        let learned = project.wheel.buttons.get(index).is_some_and(|button| project.is_learned(&button.id));
        if chosen {
            p.circle_filled(pos2(x, y), 16.5, theme.on_act);
        }
        let mode = if learned { PlateMode::Measured } else { PlateMode::Planned };
        plate(p, theme, index, pos2(x, y), 11.5, mode);
        x -= PLATES;
    }
}

/// The row of a command that is being made: dashed, for it isn't there yet.
fn new_row(ui: &mut Ui, name: &str, doing: &str, bring: bool, width: f32) {
    let theme = Theme::of(ui.ctx());
    let (space, response) = ui.allocate_exact_size(vec2(width + 6.0, ROW), Sense::hover());
    let rect = Rect::from_min_max(pos2(space.left() + 6.0, space.top()), space.max);
    let p = ui.painter();
    hatch::dashed_rect(p, rect.shrink2(vec2(0.0, 1.0)), theme.outline(), 4.0, 3.0);
    let name = Some(name.trim()).filter(|name| !name.is_empty()).unwrap_or("New command");
    let room = rect.width() - 28.0;
    let (x, font) = (rect.left() + 14.0, theme::bold(size::PROSE));
    text::cap_within(p, x, rect.top() + 17.0, Align::Min, room, name, font, theme.ink);
    let font = theme::regular(size::AXIS);
    text::cap(p, x, rect.top() + 37.0, Align::Min, doing, font, theme.ink2);
    if bring {
        response.scroll_to_me(None);
    }
}
