//! The buttons' rows: plate, name and counts, and a drop-down for each gesture.

use egui::epaint::StrokeKind;
use egui::{
    Align, Frame, Margin, Popup, Rangef, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use super::plan::{self, Row, Slot};
use super::{GESTURE, NAME, PLATE, PLUS, SIGN, Table, ask_focus, gesture_name, take_focus};
use crate::app::{Action, Edit, Model};
use crate::bands::Rung;
use crate::project::{EVERY_STEP_MS, Gesture, can_repeat_every};
use crate::units::count_text;
use crate::view::stations::codes::short;
use crate::view::theme::{self, Theme, control, size, stroke};
use crate::view::widgets::button::{Button, icon_button};
use crate::view::widgets::drop::Drop;
use crate::view::widgets::icons::{GestureSign, Icon, gesture, icon, icon_stroked};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, hatch, text};

/// Draws the rows.
pub(super) fn rows_ui(ui: &mut Ui, model: &Model, table: &Table<'_>, actions: &mut Vec<Action>) {
    let clip = ui.clip_rect();
    for (index, row) in table.plan.rows.iter().enumerate() {
        let rect = Rect::from_x_y_ranges(
            Rangef::new(table.columns.left, table.columns.drop.max),
            Rangef::new(table.top + row.top, table.top + row.top + row.height),
        );
        // Out of sight, but the keyboard and screen readers still reach it.
        let seen = clip.intersects(rect);
        ui.push_id(&row.id.0, |ui| {
            if seen {
                paint_row(ui, model, table, index, row, rect);
            }
            add_ui(ui, row, rect, actions);
            for slot in &row.slots {
                slot_ui(ui, table, index, row, slot, actions);
            }
        });
    }
}

fn paint_row(ui: &Ui, model: &Model, table: &Table<'_>, index: usize, row: &Row, rect: Rect) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let live = table.live == Some(index);
    if live {
        p.rect_filled(rect.with_max_y(rect.bottom() - 2.0), control::RADIUS, theme.raise);
    }
    p.hline(rect.x_range(), rect.bottom() - 1.5, theme.hairline());
    let y = rect.center().y - 1.0;
    let learned = table.project.is_learned(&row.id);
    let mode = if learned { PlateMode::Measured } else { PlateMode::Planned };
    let radius = if row.height < 60.0 { 16.0 } else { 21.0 };
    plate(p, &theme, index, pos2(rect.left() + PLATE, y), radius, mode);
    let x = rect.left() + NAME;
    let room = PLUS - NAME - 16.0;
    text::cap_within(p, x, y - 9.0, Align::Min, room, &row.name, theme::bold(size::PROSE), theme.ink);
    let band = model.derived.bands.band(Rung::Button(index));
    let detail = band.map_or_else(
        || "not learned".to_owned(),
        |band| {
            let count = count_text(band.centre_count, 0);
            if band.measured { format!("{count} counts") } else { format!("{count} by the meter") }
        },
    );
    text::cap_within(p, x, y + 11.0, Align::Min, room, &detail, theme::regular(size::AXIS), theme.ink2);
    let place = Rect::from_min_max(rect.left_top(), pos2(rect.left() + NAME + room, rect.bottom()));
    let said = format!("{} {}, {detail}", theme::letter(index), row.name);
    let told = focus::tell(ui, place, "button", Role::Label, &said);
    if text::width(p, &row.name, theme::bold(size::PROSE)) > room {
        told.on_hover_text(&row.name);
    }
}

/// The plus that adds a gesture.
fn add_ui(ui: &mut Ui, row: &Row, rect: Rect, actions: &mut Vec<Action>) {
    let missing = row.missing();
    if missing.is_empty() {
        return;
    }
    let centre = pos2(rect.left() + PLUS, rect.center().y - 1.0);
    let place = Rect::from_center_size(centre, vec2(control::TARGET, control::TARGET));
    let name = format!("{}, add a gesture", row.name);
    let response = icon_button(ui, place, Icon::Plus, &name, "", true);
    see(&response);
    let theme = Theme::of(ui.ctx());
    let frame = Frame::new()
        .fill(theme.raise)
        .stroke(theme.outline())
        .corner_radius(control::RADIUS)
        .inner_margin(Margin::same(4));
    Popup::menu(&response).gap(2.0).frame(frame).show(|ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        for gesture in missing {
            let label = format!("Add {}", gesture_name(gesture));
            let name = format!("{}, add {}", row.name, gesture_name(gesture));
            if ui.add(Button::quiet(&label).name(&name).width(140.0)).clicked() {
                actions.push(Action::Edit(Edit::Pair(row.id.clone(), gesture, None)));
                ask_focus(ui, &row.id, gesture);
                ui.close();
            }
        }
    });
}

/// Scrolls to what the keyboard came to.
fn see(response: &Response) {
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
}

/// What a row of the drop-down does.
enum Choice {
    Command(usize),
    Remove,
    Clear,
}

fn slot_ui(ui: &mut Ui, table: &Table<'_>, index: usize, row: &Row, slot: &Slot, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let columns = table.columns;
    let y = table.top + slot.y;
    let sign = match slot.gesture {
        Gesture::Tap => GestureSign::Tap,
        Gesture::Hold => GestureSign::Hold,
        Gesture::DoubleTap => GestureSign::DoubleTap,
    };
    let p = ui.painter();
    gesture(p, sign, pos2(columns.left + SIGN, y), theme.ink);
    let font = theme::regular(size::BODY);
    text::cap(p, columns.left + GESTURE, y, Align::Min, gesture_name(slot.gesture), font, theme.ink);

    if slot.gesture == Gesture::Hold && slot.command.is_some() {
        repeats_ui(ui, columns.drop.min, y, row, slot, actions);
    }
    if let Some(y) = slot.rate_y() {
        rate_ui(ui, table, table.top + y, row, slot, actions);
    }
    let commands = &table.project.stereo.commands;
    let mut items: Vec<String> = commands.iter().map(|command| command.name.clone()).collect();
    let mut codes: Vec<String> = commands.iter().map(|command| short(&command.code)).collect();
    let mut choices: Vec<Choice> = (0..commands.len()).map(Choice::Command).collect();
    let mut extra = |words: String, choice: Choice| {
        items.push(words);
        codes.push(String::new());
        choices.push(choice);
    };
    if slot.gesture == Gesture::Tap {
        if slot.command.is_some() {
            extra("Send nothing".to_owned(), Choice::Clear);
        }
    } else {
        extra(format!("Remove {}", gesture_name(slot.gesture)), Choice::Remove);
    }
    let items: Vec<&str> = items.iter().map(String::as_str).collect();
    let codes: Vec<&str> = codes.iter().map(String::as_str).collect();
    let repeats = if slot.repeats && slot.gesture == Gesture::Hold { " repeats" } else { "" };
    let name = format!("{}, {}{repeats}", row.name, gesture_name(slot.gesture));
    let rect = Rect::from_x_y_ranges(
        Rangef::new(columns.drop.min, columns.drop.max),
        Rangef::new(y - plan::DROP / 2.0, y + plan::DROP / 2.0),
    );
    let drop = Drop::new(&name, &items, slot.command)
        .subs(&codes)
        .empty("Choose a command")
        .enabled(!items.is_empty());
    let answer = drop.show_at(ui, rect);
    paint_face(ui, table, index, slot, rect, &answer.response);
    see(&answer.response);
    if take_focus(ui, &row.id, slot.gesture) {
        answer.response.request_focus();
        answer.response.scroll_to_me(None);
    }
    let Some(choice) = answer.chosen.and_then(|at| choices.get(at)) else { return };
    let (id, gesture) = (row.id.clone(), slot.gesture);
    let edit = match choice {
        Choice::Command(at) if slot.command == Some(*at) => return,
        Choice::Command(at) => {
            let Some(command) = commands.get(*at) else { return };
            Edit::Pair(id, gesture, Some(command.id.clone()))
        }
        Choice::Remove => Edit::Unpair(id, gesture),
        Choice::Clear => Edit::Pair(id, gesture, None),
    };
    actions.push(Action::Edit(edit));
}

/// Switches whether a hold repeats: just before its drop-down, which says so too.
fn repeats_ui(ui: &Ui, right: f32, y: f32, row: &Row, slot: &Slot, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let size = vec2(control::TARGET, control::TARGET);
    let rect = Rect::from_center_size(pos2(right - 4.0 - size.x / 2.0, y), size);
    let response = ui.interact(rect, ui.make_persistent_id("repeats"), Sense::click());
    let name = format!("{}, repeat while held", row.name);
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, slot.repeats, &name));
    let p = ui.painter();
    let face = rect.shrink(4.0);
    if slot.repeats || response.hovered() {
        let fill = if response.is_pointer_button_down_on() { theme.press } else { theme.raise };
        p.rect(face, control::RADIUS, fill, theme.outline(), StrokeKind::Inside);
    }
    let ink = if slot.repeats || response.hovered() { theme.ink } else { theme.ink3 };
    icon(p, Icon::Again, face.center(), 0.75, ink);
    focus::ring(p, &theme, &response, face);
    see(&response);
    if response.clicked() {
        actions.push(Action::Edit(Edit::Repeats(row.id.clone(), slot.gesture, !slot.repeats)));
    }
    let words = if slot.repeats { "Repeats while held" } else { "Sends once" };
    response.on_hover_text(words);
}

/// How it repeats while held: in its family's way, or as a press anew each so many milliseconds.
fn rate_ui(ui: &mut Ui, table: &Table<'_>, y: f32, row: &Row, slot: &Slot, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let (left, drop) = (table.columns.left, table.columns.drop);
    text::cap(ui.painter(), left + GESTURE, y, Align::Min, "repeats", theme::regular(size::AXIS), theme.ink2);
    let choices: Vec<Option<u16>> = std::iter::once(None).chain(rates().map(Some)).collect();
    let items: Vec<String> = choices.iter().map(|every_ms| rate_words(*every_ms)).collect();
    let items: Vec<&str> = items.iter().map(String::as_str).collect();
    let selected = choices.iter().position(|every_ms| *every_ms == slot.every_ms);
    let name = format!("{}, {}, how it repeats", row.name, gesture_name(slot.gesture));
    let rect = Rect::from_x_y_ranges(drop, Rangef::new(y - plan::DROP / 2.0, y + plan::DROP / 2.0));
    let answer = Drop::new(&name, &items, selected).show_at(ui, rect);
    see(&answer.response);
    if let Some(every_ms) = answer.chosen.and_then(|at| choices.get(at)).filter(|at| **at != slot.every_ms) {
        actions.push(Action::Edit(Edit::Every(row.id.clone(), slot.gesture, *every_ms)));
    }
}

/// Every rate the box can keep, in milliseconds.
fn rates() -> impl Iterator<Item = u16> {
    (1..).map(|steps| steps * EVERY_STEP_MS).take_while(|&ms| can_repeat_every(ms))
}

fn rate_words(every_ms: Option<u16>) -> String {
    every_ms.map_or_else(|| "As its family does".to_owned(), |ms| format!("Anew every {ms} ms"))
}

/// The face of a drop-down in its state: unpaired, pressed now, or as usual.
fn paint_face(ui: &Ui, table: &Table<'_>, index: usize, slot: &Slot, rect: Rect, response: &Response) {
    if !ui.is_rect_visible(rect) {
        return;
    }
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let open = Popup::is_id_open(ui, Popup::default_response_id(response));
    let y = rect.center().y;
    let command = slot.command.and_then(|at| table.project.stereo.commands.get(at));
    let arrow = pos2(rect.right() - 15.0, y);
    let Some(command) = command else {
        p.rect_filled(rect, control::RADIUS, theme.alarm_face);
        let line = Stroke::new(stroke::RULE, theme.alarm_ink);
        hatch::dashed_rect(p, rect, line, 4.0, 3.0);
        let none = table.project.stereo.commands.is_empty();
        let words = if none { "No commands yet" } else { "Choose a command" };
        let font = theme::bold(size::BODY);
        text::cap_within(
            p,
            rect.left() + 10.0,
            y,
            Align::Min,
            rect.width() - 40.0,
            words,
            font,
            theme.alarm_ink,
        );
        icon_stroked(p, Icon::Down, arrow, 0.9, Stroke::new(stroke::BAND, theme.alarm_ink));
        return;
    };
    let live = table.live == Some(index);
    let line = if live || response.hovered() { theme.ink } else { theme.edge };
    p.rect(
        rect,
        control::RADIUS,
        if live || open { theme.press } else { theme.raise },
        Stroke::new(stroke::RULE, line),
        StrokeKind::Inside,
    );
    icon_stroked(p, Icon::Down, arrow, 0.9, Stroke::new(stroke::BAND, theme.ink2));
    // The command's name comes first: what else there is to say has the room it leaves.
    let name_font = if live { theme::bold(size::BODY) } else { theme::regular(size::BODY) };
    let x = rect.left() + 10.0;
    let name_end = x + text::width(p, &command.name, name_font.clone()) + 12.0;
    let mut end = rect.right() - 30.0;
    let font = theme::regular(size::AXIS);
    let also = also(table, index, slot);
    if let Some(also) = &also {
        if end - text::width(p, also, font.clone()) - 26.0 >= name_end {
            end -= text::cap(p, end, y, Align::Max, also, font, theme.ink) + 12.0;
        } else {
            end -= 8.0;
        }
        icon(p, Icon::Caution, pos2(end, y), 0.7, theme.ink);
        end -= 14.0;
    }
    text::cap_within(p, x, y, Align::Min, end - x, &command.name, name_font, theme.ink);
}

/// Which other buttons send the same, where no loom shows it.
fn also(table: &Table<'_>, index: usize, slot: &Slot) -> Option<String> {
    if table.columns.loom.is_some() {
        return None;
    }
    let (_, place) = table.plan.place_of(slot.command?)?;
    let others: Vec<String> = place
        .senders
        .iter()
        .filter(|(other, _)| *other != index)
        .map(|(other, _)| theme::letter(*other).to_string())
        .collect();
    (!others.is_empty()).then(|| format!("also {}", others.join(", ")))
}
