//! The view Names and wires: what the vehicle, the stereo and the buttons are called, which wire each button
//! is on, and what is known of the wires.

use egui::{Align, Key, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use super::drawing;
use super::fields::{METER_OHM, Typed, colour_ui, number_ui, text_ui};
use crate::app::edit;
use crate::app::{Action, Edit, LearnAction, LearnView, Model, Station, WheelAction, WheelView};
use crate::project::{ButtonId, Project, ReturnWire, TwoMetered};
use crate::signal::Converter;
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::{bracket, plate, text};
use crate::wheel::{colour_text, wire_colours};

/// What is typed here and isn't part of the project yet.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// A new button's name.
    new_name: String,
    /// What is typed in the other fields.
    typed: Typed,
    /// The two buttons that are to be pressed at once, from 0, where they were chosen.
    pair: Option<(usize, usize)>,
}

/// Draws the view.
pub(super) fn names_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    area: &Area,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let work = Rect::from_min_max(place.min, pos2(place.right(), area.layout.work.bottom().max(place.top())));
    let wide = area.layout.class == WidthClass::Wide;
    let mut child = ui.new_child(UiBuilder::new().max_rect(work));
    if wide {
        let left = Rect::from_min_max(work.min, pos2(work.left() + 528.0, work.bottom()));
        let right = Rect::from_min_max(pos2(left.right() + 32.0, work.top()), work.max);
        let mut list = child.new_child(UiBuilder::new().max_rect(left));
        scroll(&mut list, "buttons", |ui| table_ui(ui, project, draft, actions));
        let mut side = child.new_child(UiBuilder::new().max_rect(right));
        scroll(&mut side, "vehicle", |ui| side_ui(ui, project, draft, actions));
    } else {
        scroll(&mut child, "buttons", |ui| {
            side_ui(ui, project, draft, actions);
            ui.add_space(space::BLOCK);
            table_ui(ui, project, draft, actions);
        });
    }
    let row = area.layout.acting;
    let mut child = ui.new_child(UiBuilder::new().max_rect(row));
    child.horizontal(|ui| {
        let some = !project.wheel.buttons.is_empty();
        if ui.add(Button::act("Next: meter check").height(row.height()).enabled(some)).clicked() {
            actions.push(Action::Wheel(WheelAction::View(WheelView::MeterCheck)));
        }
        ui.add_space(space::TIGHT);
        if ui.add(Button::line("Learn them").height(row.height()).enabled(some)).clicked() {
            actions.push(Action::Go(Station::Learn));
            actions.push(Action::Learn(LearnAction::View(LearnView::Prompted)));
        }
    });
}

fn scroll(ui: &mut Ui, name: &str, content: impl FnOnce(&mut Ui)) {
    ScrollArea::vertical().id_salt(name).auto_shrink(false).show(ui, |ui| {
        ui.set_width(ui.available_width() - 12.0);
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
        content(ui);
    });
}

fn table_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, actions: &mut Vec<Action>) {
    let buttons = &project.wheel.buttons;
    let right = format!("{} of {}", buttons.len(), crate::app::edit::MOST_BUTTONS);
    bracket::bracket_ui(ui, "Buttons", &right);
    if !buttons.is_empty() {
        heads_ui(ui, project.wires_in_use().len() > 1);
    }
    for (index, button) in buttons.iter().enumerate() {
        ui.push_id(&button.id.0, |ui| {
            ui.horizontal(|ui| row_ui(ui, project, draft, index, &button.id, actions));
        });
    }
    ui.horizontal(|ui| {
        let width = (ui.available_width() - 150.0).clamp(120.0, 300.0);
        let field = Field::new(&mut draft.new_name, "New button's name")
            .hint(if buttons.is_empty() { "Volume up" } else { "another button" })
            .width(width)
            .limit(60)
            .show(ui);
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let some = !draft.new_name.trim().is_empty();
        let add = Button::line("Add button").height(control::USUAL).enabled(some);
        if (ui.add(add).clicked() || entered) && some {
            actions.push(Action::Edit(Edit::AddButton(draft.new_name.trim().to_owned())));
            draft.new_name.clear();
            field.request_focus();
        }
    });
}

/// What the columns are.
fn heads_ui(ui: &mut Ui, several: bool) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), egui::Sense::hover());
    let room = name_width(row.width() - 34.0 - space::TIGHT, several);
    let name_x = row.left() + 34.0 + space::TIGHT;
    let font = theme::regular(size::AXIS);
    text::cap(ui.painter(), name_x, row.center().y, Align::Min, "name", font.clone(), theme.ink2);
    let meter_x = name_x + room + space::TIGHT + METER;
    text::cap(ui.painter(), meter_x, row.center().y, Align::Max, "meter, pressed", font.clone(), theme.ink2);
    if several {
        let wire_x = meter_x + space::TIGHT;
        text::cap(ui.painter(), wire_x, row.center().y, Align::Min, "wire", font, theme.ink2);
    }
}

/// How wide a name's field is in a row with this much room after the tag, with a choice of wires or without.
fn name_width(room: f32, several: bool) -> f32 {
    (room - if several { 314.0 } else { 250.0 }).clamp(90.0, 260.0)
}

/// How wide the field of the meter's reading is.
const METER: f32 = 100.0;

fn row_ui(
    ui: &mut Ui,
    project: &Project,
    draft: &mut Draft,
    index: usize,
    id: &ButtonId,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let Some(button) = project.wheel.buttons.get(index) else { return };
    let (tag, _) = ui.allocate_exact_size(vec2(34.0, control::USUAL), egui::Sense::hover());
    let mode = if project.is_learned(id) { plate::PlateMode::Measured } else { plate::PlateMode::Planned };
    plate::plate(ui.painter(), &theme, index, tag.center(), 12.5, mode);
    let several = project.wires_in_use().len() > 1;
    let room = name_width(ui.available_width(), several);
    let name = format!("Name of {}", theme::letter(index));
    if let Some((text, before)) = text_ui(ui, &mut draft.typed, &name, &button.name, room, "") {
        // A name that can't be is told and leaves the whole one that was there, not a part of the
        // typed one.
        if !edit::can_be_named(project, id, &text)
            && let Some(before) = before
        {
            actions.push(Action::Edit(Edit::RenameButton(id.clone(), before)));
        }
        actions.push(Action::Edit(Edit::RenameButton(id.clone(), text)));
    }
    let meter = format!("Meter ohms of {}", button.name);
    if let Some(ohm) = number_ui(ui, &mut draft.typed, &meter, button.meter_ohm, METER, METER_OHM) {
        actions.push(Action::Edit(Edit::Meter(id.clone(), ohm)));
    }
    if several {
        let wire = button.wire.unwrap_or(1);
        let name = format!("Wire of {}", button.name);
        let chosen = Drop::new(&name, &["1", "2"], Some(usize::from(wire - 1))).width(56.0).show(ui).chosen;
        if let Some(chosen) = chosen.filter(|chosen| *chosen + 1 != usize::from(wire)) {
            actions.push(Action::Edit(Edit::ButtonWire(id.clone(), chosen as u8 + 1)));
        }
    }
    let up = format!("Move {} up", button.name);
    if ui.add(Button::quiet("↑").name(&up).width(34.0).enabled(index > 0)).clicked() {
        actions.push(Action::Edit(Edit::MoveButton(id.clone(), index.saturating_sub(1))));
    }
    let remove = format!("Remove {}", button.name);
    if ui.add(Button::quiet("Remove").name(&remove)).clicked() {
        actions.push(Action::Edit(Edit::RemoveButton(id.clone())));
    }
}

fn line(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    ui.label(egui::RichText::new(words).font(theme::regular(size::AXIS)).color(theme.ink2));
}

fn labelled(ui: &mut Ui, label: &str, content: impl FnOnce(&mut Ui)) {
    let theme = Theme::of(ui.ctx());
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(128.0, control::USUAL), egui::Sense::hover());
        let at = pos2(rect.left(), rect.center().y);
        text::cap(ui.painter(), at.x, at.y, Align::Min, label, theme::regular(size::BODY), theme.ink);
        content(ui);
    });
}

fn side_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, actions: &mut Vec<Action>) {
    bracket::bracket_ui(ui, "Vehicle and stereo", "");
    let width = (ui.available_width() - 140.0).clamp(120.0, 260.0);
    labelled(ui, "Vehicle", |ui| {
        if let Some((text, _)) =
            text_ui(ui, &mut draft.typed, "Vehicle name", &project.vehicle.name, width, "What it is called")
        {
            actions.push(Action::Edit(Edit::Vehicle(text)));
        }
    });
    labelled(ui, "Stereo", |ui| {
        if let Some((text, _)) =
            text_ui(ui, &mut draft.typed, "Stereo name", &project.stereo.name, width, "What it is called")
        {
            actions.push(Action::Edit(Edit::Stereo(text)));
        }
    });
    labelled(ui, "Note", |ui| {
        let hint = "Anything worth keeping";
        if let Some((text, _)) =
            text_ui(ui, &mut draft.typed, "Vehicle note", &project.vehicle.note, width, hint)
        {
            actions.push(Action::Edit(Edit::VehicleNote(text)));
        }
    });
    ui.add_space(space::BLOCK);
    wires_ui(ui, project, draft, actions);
    ui.add_space(space::BLOCK);
    bracket::bracket_ui(ui, "Learning", "");
    labelled(ui, "Presses of each", |ui| {
        let items = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
        let selected = (project.plan.presses as usize).checked_sub(1);
        if let Some(chosen) = Drop::new("Presses of each", &items, selected).width(90.0).show(ui).chosen {
            actions.push(Action::Edit(Edit::Presses(chosen as u32 + 1)));
        }
    });
    labelled(ui, "Probe's numbers", |ui| {
        let selected = Some(usize::from(project.plan.converter == Converter::TwelveBit));
        let items = ["0 to 1023", "0 to 4095"];
        if let Some(chosen) = Drop::new("Probe's numbers", &items, selected).width(140.0).show(ui).chosen {
            let converter = if chosen == 1 { Converter::TwelveBit } else { Converter::TenBit };
            actions.push(Action::Edit(Edit::Converter(converter)));
        }
    });
}

/// The wires and the return: colours, where they are tapped, and their readings at rest.
fn wires_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, actions: &mut Vec<Action>) {
    let wires = project.wires_in_use();
    bracket::bracket_ui(ui, "Wires", "colours by IEC 60757");
    for &wire in &wires {
        let info = project.wheel.wires.get(&wire).cloned().unwrap_or_default();
        labelled(ui, &format!("Wire {wire}"), |ui| {
            let name = format!("Colour of wire {wire}");
            if let Some(colour) = colour_ui(ui, &mut draft.typed, &name, &info.colour, 96.0) {
                actions.push(Action::Edit(Edit::WireColour(wire, colour)));
            }
            colours_ui(ui, &info.colour);
        });
        labelled(ui, "Tapped at", |ui| {
            let name = format!("Wire {wire} is tapped at");
            let width = (ui.available_width() - 4.0).clamp(120.0, 260.0);
            let hint = "Connector and pin";
            if let Some((text, _)) = text_ui(ui, &mut draft.typed, &name, &info.tapped_at, width, hint) {
                actions.push(Action::Edit(Edit::TappedAt(wire, text)));
            }
        });
        labelled(ui, "Across, at rest", |ui| {
            let name =
                if wire == 1 { "Ohms at rest".to_owned() } else { format!("Ohms at rest of wire {wire}") };
            if let Some(ohm) = number_ui(ui, &mut draft.typed, &name, info.rest_ohm, 120.0, METER_OHM) {
                actions.push(Action::Edit(Edit::RestOhm(wire, ohm)));
            }
            line(ui, "empty is open");
        });
        together_ui(ui, project, draft, wire, actions);
    }
    labelled(ui, "Return", |ui| {
        let back = &project.wheel.back;
        if let Some(colour) = colour_ui(ui, &mut draft.typed, "Colour of the return", &back.colour, 96.0) {
            actions.push(Action::Edit(Edit::Back(ReturnWire { colour, ..back.clone() })));
        }
        colours_ui(ui, &back.colour);
    });
    labelled(ui, "", |ui| {
        let (label, edit) =
            if wires.len() > 1 { ("Remove wire 2", Edit::RemoveWire) } else { ("Add wire 2", Edit::AddWire) };
        if ui.add(Button::line(label).height(control::USUAL)).clicked() {
            actions.push(Action::Edit(edit));
        }
    });
}

/// A wire as its letters draw it, and what they say; what to type where there are none.
fn colours_ui(ui: &mut Ui, letters: &str) {
    let theme = Theme::of(ui.ctx());
    let colours = wire_colours(letters).unwrap_or_default();
    let (bar, _) = ui.allocate_exact_size(vec2(48.0, control::USUAL), egui::Sense::hover());
    drawing::wire(ui.painter(), &theme, Rect::from_center_size(bar.center(), vec2(48.0, 8.0)), &colours);
    if colours.is_empty() {
        line(ui, "WHGN: white, green");
    } else {
        line(ui, colour_text(&colours).trim_start_matches(letters.trim()).trim_start());
    }
}

/// Two buttons of a wire pressed at once at the meter: what decides between a chain and resistors of their
/// own.
fn together_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, wire: u8, actions: &mut Vec<Action>) {
    let on_wire: Vec<usize> = project
        .wheel
        .buttons
        .iter()
        .enumerate()
        .filter(|(_, button)| button.wire.unwrap_or(1) == wire)
        .map(|(index, _)| index)
        .collect();
    if on_wire.len() < 2 {
        return;
    }
    let known = project.wheel.wires.get(&wire).and_then(|info| info.together.as_ref());
    let place = |id: &ButtonId| project.button(id).map(|(index, _)| index);
    let of_known = known.and_then(|known| Some((place(&known.buttons.0)?, place(&known.buttons.1)?)));
    let chosen = draft.pair.filter(|(a, b)| on_wire.contains(a) && on_wire.contains(b));
    let (mut a, mut b) = of_known.or(chosen).unwrap_or((on_wire[0], on_wire[1]));
    let names: Vec<&str> =
        on_wire.iter().filter_map(|&index| Some(project.wheel.buttons.get(index)?.name.as_str())).collect();
    let before = (a, b);
    labelled(ui, "Press at once", |ui| {
        let width = ((ui.available_width() - 12.0) / 2.0).clamp(90.0, 160.0);
        for (which, index) in [("First", &mut a), ("Second", &mut b)] {
            let name = format!("{which} of two at once on wire {wire}");
            let at = on_wire.iter().position(|there| there == index);
            if let Some(to) = Drop::new(&name, &names, at).width(width).show(ui).chosen {
                *index = on_wire.get(to).copied().unwrap_or(*index);
            }
        }
    });
    let id = |index: usize| project.wheel.buttons.get(index).map(|button| button.id.clone());
    labelled(ui, "They read", |ui| {
        let name = format!("Ohms of two at once on wire {wire}");
        let ohm = known.map(|known| known.ohm);
        let typed = number_ui(ui, &mut draft.typed, &name, ohm, 120.0, METER_OHM);
        let moved = (a, b) != before && known.is_some();
        let ohm = typed.unwrap_or(ohm);
        if typed.is_some() || moved {
            let together = ohm.zip(id(a)).zip(id(b)).map(|((ohm, a), b)| TwoMetered { buttons: (a, b), ohm });
            actions.push(Action::Edit(Edit::TwoMetered(wire, together)));
        }
        line(ui, "decides chain or not");
    });
    draft.pair = Some((a, b));
}
