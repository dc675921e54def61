//! Start: the first station while nothing is open. Three ways in, and the cautions beside them.

use egui::{Align, Key, Modifiers, Painter, Rangef, Rect, ScrollArea, Stroke, Ui, UiBuilder, pos2, vec2};

use super::{Area, live_count};
use crate::app::{Action, FileAction, LinkAction, Model};
use crate::link::PortInfo;
use crate::units::count_text;
use crate::view::overlays::cautions_panel;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::field::Field;
use crate::view::widgets::focus::{are_keys_held, key_pressed};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::text;

/// What is typed at this station.
#[derive(Debug, Default)]
pub struct Draft {
    /// A port's path.
    pub path: String,
}

/// From the wire to the text.
const INDENT: f32 = 52.0;
/// How wide the cautions stand.
const CAUTIONS: f32 = 372.0;
/// How many ports are listed before the list scrolls.
const PORTS_SEEN: usize = 3;

/// Draws the station.
pub fn start_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    let beside = area.layout.class == WidthClass::Wide;
    let whole = Rect::from_min_max(
        area.content.min,
        pos2(area.layout.acting.right(), area.layout.window.bottom() - 12.0),
    );
    let mut left = whole;
    if beside {
        left.max.x = whole.right() - CAUTIONS - 36.0;
        let right = Rect::from_min_max(pos2(whole.right() - CAUTIONS, whole.top() + 8.0), whole.max);
        let mut child = ui.new_child(UiBuilder::new().max_rect(right));
        cautions_panel(&mut child, right, model, actions);
    }
    keys(ui, model, actions);
    // From the line under the head to where the ways in begin.
    let theme = Theme::of(ui.ctx());
    // A notice stands between the two: the wire goes on below it.
    let noticed = area.content.top() > area.layout.content.top();
    let from = if noticed { area.content.top() } else { area.layout.head.bottom() };
    wire(ui.painter(), &theme, left.left() + 14.0, from, left.top() + 2.0);
    let mut child = ui.new_child(UiBuilder::new().max_rect(left));
    ScrollArea::vertical().id_salt("start").auto_shrink(false).show(&mut child, |ui| {
        ui.set_width(left.width() - 8.0);
        ui.spacing_mut().item_spacing.y = 0.0;
        let wire_top = ui.cursor().top() - 16.0;
        let one = way(ui, "1", |ui| connect_ui(ui, model, draft, actions));
        let two = way(ui, "2", |ui| demo_ui(ui, model.link.is_open(), actions));
        let three = way(ui, "3", |ui| open_ui(ui, model, actions));
        let theme = Theme::of(ui.ctx());
        for (from, to) in [(wire_top, one - 16.0), (one + 16.0, two - 16.0), (two + 16.0, three - 16.0)] {
            wire(ui.painter(), &theme, left.left() + 14.0, from, to);
        }
        if !beside && !model.preferences.cautions_read {
            ui.add_space(space::REGION);
            if ui.add(Button::line("Read the cautions").key("F1").height(control::ACTING)).clicked() {
                actions.push(Action::ShowCautions(true));
            }
        }
    });
}

fn keys(ui: &Ui, model: &Model, actions: &mut Vec<Action>) {
    if model.showing.cautions || model.showing.keys {
        return;
    }
    if key_pressed(ui, Modifiers::NONE, Key::D) {
        actions.push(Action::File(FileAction::Demo));
    }
    if !model.preferences.cautions_read && key_pressed(ui, Modifiers::NONE, Key::R) {
        actions.push(Action::CautionsRead);
    }
}

/// One way in: a number on the wire and what belongs to it. Gives the number's y.
fn way(ui: &mut Ui, number: &str, content: impl FnOnce(&mut Ui)) -> f32 {
    let theme = Theme::of(ui.ctx());
    ui.add_space(space::REGION - 8.0);
    let top = ui.cursor().top();
    let left = ui.cursor().left();
    let y = top + 18.0;
    ui.painter().circle(pos2(left + 14.0, y), 15.0, theme.face, Stroke::new(stroke::WIRE, theme.ink));
    text::cap(ui.painter(), left + 14.0, y, Align::Center, number, theme::bold(size::PROSE), theme.ink);
    let inner = Rect::from_min_max(pos2(left + INDENT, top), pos2(ui.max_rect().right(), f32::INFINITY));
    let shown = ui.scope_builder(UiBuilder::new().max_rect(inner), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::BLOCK, space::ROW);
        content(ui);
    });
    let bottom = shown.response.rect.bottom();
    ui.add_space((bottom - ui.cursor().top()).max(0.0) + space::BLOCK);
    y
}

fn wire(p: &Painter, theme: &Theme, x: f32, from: f32, to: f32) {
    if to > from {
        p.vline(x, Rangef::new(from, to), Stroke::new(stroke::WIRE, theme.ink));
    }
}

fn title(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    ui.label(egui::RichText::new(words).font(theme::bold(size::HEAD)).color(theme.ink));
}

fn prose(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    ui.label(egui::RichText::new(words).font(theme::regular(size::PROSE)).color(theme.ink2));
}

fn connect_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    title(ui, "Plug in the box, or any probe");
    prose(
        ui,
        "A probe is anything that prints numbers: one or two on a line, 0 to 1023 or 0 to 4095, at any usual rate.",
    );
    if model.link.is_open() {
        open_link_ui(ui, model, actions);
    } else {
        ports_ui(ui, model, actions);
        path_ui(ui, model, draft, actions);
    }
    rule(ui);
}

/// The link is open and nothing else is: what it reads, and what comes next.
fn open_link_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 54.0), egui::Sense::hover());
    ui.painter().rect(rect, control::RADIUS, theme.well, theme.hairline(), egui::StrokeKind::Inside);
    icon(ui.painter(), Icon::Plug, pos2(rect.left() + 30.0, rect.center().y), 1.1, theme.ink);
    let counts: Vec<_> = (0..usize::from(model.link.wires.max(1)))
        .filter_map(|wire| live_count(model, wire))
        .map(|count| count_text(count, 0))
        .collect();
    let head = format!("{} reads {} counts", model.link.name(), counts.join(" and "));
    let room = rect.width() - 200.0;
    two_lines(ui, rect, 58.0, &head, "Next: begin a vehicle, or open one, below.", room);
    let place = Rect::from_min_size(pos2(rect.right() - 132.0, rect.top() + 9.0), vec2(120.0, 36.0));
    if ui.put(place, Button::line("Disconnect").width(120.0)).clicked() {
        actions.push(Action::Link(LinkAction::Disconnect));
    }
}

/// The ports there are, each with what is known of it and a button that opens it.
pub fn ports_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let ports = &model.link.ports;
    let rows = ports.len().clamp(1, PORTS_SEEN);
    let (rect, _) =
        ui.allocate_exact_size(vec2(ui.available_width(), 54.0 * rows as f32), egui::Sense::hover());
    ui.painter().rect(rect, control::RADIUS, theme.well, theme.hairline(), egui::StrokeKind::Inside);
    if ports.is_empty() {
        let (head, line) = ("No port found yet", "It shows here within a second of plugging in.");
        icon(ui.painter(), Icon::Unplug, pos2(rect.left() + 30.0, rect.center().y), 1.1, theme.ink2);
        two_lines(ui, rect, 58.0, head, line, rect.width() - 66.0);
        return;
    }
    let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
    let mut rows_ui = |ui: &mut Ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        for port in ports {
            port_ui(ui, model, port, rect.width(), actions);
        }
    };
    if ports.len() <= PORTS_SEEN {
        // A list that scrolls would keep its rows from being scrolled to with the station.
        rows_ui(&mut child);
    } else {
        ScrollArea::vertical().id_salt("ports").auto_shrink(false).show(&mut child, rows_ui);
    }
}

/// One port, and what opens it.
fn port_ui(ui: &mut Ui, model: &Model, port: &PortInfo, width: f32, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(width, 54.0), egui::Sense::hover());
    icon(ui.painter(), Icon::Plug, pos2(row.left() + 30.0, row.center().y), 1.1, theme.ink);
    two_lines(ui, row, 58.0, &port.path, &port.about, row.width() - 190.0);
    let place = Rect::from_min_size(pos2(row.right() - 118.0, row.top() + 9.0), vec2(106.0, 36.0));
    let name = format!("Connect {}", port.path);
    let button = Button::line("Connect").name(&name).width(106.0).enabled(model.preferences.cautions_read);
    if ui.put(place, button).clicked() {
        actions.push(Action::Link(LinkAction::Connect(port.path.clone())));
    }
}

fn two_lines(ui: &mut Ui, row: Rect, indent: f32, head: &str, line: &str, room: f32) {
    let theme = Theme::of(ui.ctx());
    let x = row.left() + indent;
    let p = ui.painter();
    text::cap_within(p, x, row.center().y - 9.0, Align::Min, room, head, theme::bold(size::PROSE), theme.ink);
    text::cap_within(
        p,
        x,
        row.center().y + 11.0,
        Align::Min,
        room,
        line,
        theme::regular(size::AXIS),
        theme.ink2,
    );
    let response = ui.interact(row, ui.scope_id().with(("port", head)), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, format!("{head}. {line}")));
}

/// A path typed by hand: pseudo-terminals and odd devices are on no list.
pub fn path_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        let room = ui.available_width() - 144.0;
        let field = Field::new(&mut draft.path, "Port path")
            .hint("or type a path, like /dev/ttyUSB0")
            .width(room)
            .height(control::ACTING)
            .limit(400)
            .show(ui);
        let can = model.preferences.cautions_read && !draft.path.trim().is_empty();
        let button = Button::line("Connect").width(128.0).height(control::ACTING).enabled(can);
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if ui.add(button).clicked() || (entered && can) {
            actions.push(Action::Link(LinkAction::Connect(draft.path.clone())));
        }
    });
    if !model.preferences.cautions_read {
        let theme = Theme::of(ui.ctx());
        let words = "Connect waits until the cautions are read.";
        ui.label(egui::RichText::new(words).font(theme::regular(size::AXIS)).color(theme.ink2));
    }
}

fn rule(ui: &mut Ui) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 1.0), egui::Sense::hover());
    ui.painter().hline(rect.x_range(), rect.top().round() + 0.5, theme.hairline());
}

fn demo_ui(ui: &mut Ui, is_open: bool, actions: &mut Vec<Action>) {
    title(ui, "Open the demo van");
    prose(ui, "A Brindle Linnet, 7 buttons, already streaming. Nothing to plug in.");
    // One main action at a time: with a probe connected it is to begin a vehicle.
    let demo = if is_open { Button::line("Open demo") } else { Button::act("Open demo") };
    let button = ui.add(demo.key("D").width(188.0).height(control::ACTING));
    if !is_open && !are_keys_held(ui.ctx()) && ui.memory(|memory| memory.focused().is_none()) {
        button.request_focus();
    }
    if button.clicked() {
        actions.push(Action::File(FileAction::Demo));
    }
    rule(ui);
}

fn open_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    title(ui, "Open or begin a vehicle");
    prose(ui, "Drop a file anywhere in this window, or:");
    ui.horizontal(|ui| {
        if ui.add(Button::line("Open").key("Ctrl O").width(188.0).height(control::ACTING)).clicked() {
            actions.push(Action::File(FileAction::AskOpen));
        }
        let new = if model.link.is_open() { Button::act("New vehicle") } else { Button::line("New vehicle") };
        let new = new.key("Ctrl N").width(236.0).height(control::ACTING);
        if ui.add(new).clicked() {
            actions.push(Action::File(FileAction::New));
        }
    });
    if model.recent.is_empty() {
        let theme = Theme::of(ui.ctx());
        let words = "Vehicles you open are listed here next time.";
        ui.label(egui::RichText::new(words).font(theme::regular(size::AXIS)).color(theme.ink3));
    }
    for path in model.recent.iter().take(5) {
        let name = path
            .file_name()
            .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
        let label = format!("Open {name}");
        let row = ui.add(Button::quiet(&name).icon(Icon::File).name(&label).height(control::TARGET));
        if row.on_hover_text(path.display().to_string()).clicked() {
            actions.push(Action::File(FileAction::Open(path.clone())));
        }
    }
}
