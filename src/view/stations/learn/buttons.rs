//! Buttons: what the vehicle, the stereo and the buttons are called, and what is known of the
//! circuit. The station's own table until the Wheel station holds it.

use egui::{Align, Key, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use crate::app::edit;
use crate::app::{Action, Edit, LearnAction, LearnView, Model};
use crate::circuit::{Circuit, FeedMonitor, Reference, Sense};
use crate::project::{ButtonId, Project, Range};
use crate::signal::Converter;
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::{bracket, plate, text};

/// What is typed here and isn't part of the project yet.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// A new button's name.
    new_name: String,
    /// Text of fields that are being typed in, by the field's name.
    typed: std::collections::BTreeMap<String, String>,
}

/// How a circuit begins when one says it is known.
fn first_circuit() -> Circuit {
    Circuit {
        feed_monitor: None,
        filter: Default::default(),
        module: None,
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    }
}

/// Draws the table.
pub(super) fn buttons_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let work = area.work();
    let wide = area.layout.class == WidthClass::Wide;
    let mut child = ui.new_child(UiBuilder::new().max_rect(work));
    if wide {
        let left = Rect::from_min_max(work.min, pos2(work.left() + 560.0, work.bottom()));
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
        if ui.add(Button::act("Next: learn them").height(row.height()).enabled(some)).clicked() {
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

/// A field over a piece of text of the project: typed text that can't be used stays typed, and is
/// said to be wrong.
fn typed<'a>(draft: &'a mut Draft, name: &str, now: &str, has_focus: bool) -> &'a mut String {
    let text = draft.typed.entry(name.to_owned()).or_insert_with(|| now.to_owned());
    if !has_focus && text != now {
        now.clone_into(text);
    }
    text
}

/// A text field; gives the text when it changed, and what it was before it was typed in.
fn text_ui(
    ui: &mut Ui,
    draft: &mut Draft,
    name: &str,
    now: &str,
    width: f32,
    hint: &str,
) -> Option<(String, Option<String>)> {
    let id = ui.scope_id().with(("focus", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = typed(draft, name, now, had_focus);
    let response = Field::new(text, name).hint(hint).width(width).limit(60).show(ui);
    let has_focus = response.has_focus();
    ui.data_mut(|data| data.insert_temp(id, has_focus));
    let before_id = id.with("before");
    if has_focus && !had_focus {
        ui.data_mut(|data| data.insert_temp(before_id, now.to_owned()));
    }
    response.changed().then(|| (text.clone(), ui.data(|data| data.get_temp(before_id))))
}

/// A unit, the numbers that can be typed in it, and what is said of others.
type Allowed = (&'static str, fn(f64) -> bool, &'static str);

/// What a meter shows.
const METER_OHM: Allowed =
    ("Ω", |ohm| (0.0..=edit::HIGHEST_OHM).contains(&ohm), "No meter shows this. Type 0 Ω to 10 MΩ.");
const SENSE_OHM: Allowed = ("Ω", |ohm| Range::SENSE_OHM.holds(ohm), "Type 1 Ω to 100 MΩ.");
const FEED_V: Allowed = ("V", |volt| Range::VOLT.holds(volt), "Type 0.1 V to 60 V.");

/// A field for ohms or volts; gives the number when it changed to one, or to nothing.
fn number_ui(
    ui: &mut Ui,
    draft: &mut Draft,
    name: &str,
    now: Option<f64>,
    width: f32,
    (unit, allowed, wanted): Allowed,
) -> Option<Option<f64>> {
    let shown = now.map(short_number).unwrap_or_default();
    let id = ui.scope_id().with(("focus", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = typed(draft, name, &shown, had_focus);
    let error = match parse_number(text) {
        None if text.trim().is_empty() => None,
        None => Some("Not a number. Type it like 1240, 14.9k or 4.7k."),
        Some(number) => (!allowed(number)).then_some(wanted),
    };
    let response = Field::new(text, name).unit(unit).width(width).error(error).limit(20).show(ui);
    let has_focus = response.has_focus();
    let before_id = id.with("before");
    ui.data_mut(|data| {
        data.insert_temp(id, has_focus);
        if has_focus && !had_focus {
            data.insert_temp(before_id, now);
        }
    });
    let changed = response.changed();
    if let Some(error) = error.filter(|_| has_focus) {
        response.show_tooltip_text(error);
    }
    if !changed {
        return None;
    }
    if text.trim().is_empty() {
        return Some(None);
    }
    // What was there before stays when the whole that is typed can't be: not the part of it that could.
    let before = || ui.data(|data| data.get_temp::<Option<f64>>(before_id));
    parse_number(text).filter(|&number| allowed(number)).map(Some).or_else(before)
}

/// `1240`, `14.9k`: as short as it can be without losing anything.
fn short_number(value: f64) -> String {
    if value >= 10_000.0 && (value / 100.0).fract() == 0.0 {
        format!("{}k", value / 1e3)
    } else {
        value.to_string()
    }
}

/// A number as typed: a comma for the point, `k` and `M` behind it.
fn parse_number(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let text = text.trim_end_matches(['Ω', 'V', ' ']);
    let (digits, times) = match text.chars().last()? {
        'k' | 'K' => (&text[..text.len() - 1], 1e3),
        'M' => (&text[..text.len() - 1], 1e6),
        _ => (text, 1.0),
    };
    digits.trim().parse::<f64>().ok().map(|value| value * times).filter(|value| value.is_finite())
}

fn table_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, actions: &mut Vec<Action>) {
    let buttons = &project.wheel.buttons;
    let right = format!("{} of {}", buttons.len(), crate::app::edit::MOST_BUTTONS);
    bracket::bracket_ui(ui, "Buttons", &right);
    if !buttons.is_empty() {
        heads_ui(ui);
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
fn heads_ui(ui: &mut Ui) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), egui::Sense::hover());
    let room = name_width(row.width() - 34.0 - space::TIGHT);
    let name_x = row.left() + 34.0 + space::TIGHT;
    let font = theme::regular(size::AXIS);
    text::cap(ui.painter(), name_x, row.center().y, Align::Min, "name", font.clone(), theme.ink2);
    let meter_x = name_x + room + space::TIGHT + METER;
    text::cap(ui.painter(), meter_x, row.center().y, Align::Max, "meter, pressed", font, theme.ink2);
}

/// How wide a name's field is in a row with this much room after the tag.
fn name_width(room: f32) -> f32 {
    (room - 250.0).clamp(90.0, 260.0)
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
    let room = name_width(ui.available_width());
    let name = format!("Name of {}", theme::letter(index));
    if let Some((text, before)) = text_ui(ui, draft, &name, &button.name, room, "") {
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
    if let Some(ohm) = number_ui(ui, draft, &meter, button.meter_ohm, METER, METER_OHM) {
        actions.push(Action::Edit(Edit::Meter(id.clone(), ohm)));
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
            text_ui(ui, draft, "Vehicle name", &project.vehicle.name, width, "What it is called")
        {
            actions.push(Action::Edit(Edit::Vehicle(text)));
        }
    });
    labelled(ui, "Stereo", |ui| {
        if let Some((text, _)) =
            text_ui(ui, draft, "Stereo name", &project.stereo.name, width, "What it is called")
        {
            actions.push(Action::Edit(Edit::Stereo(text)));
        }
    });
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
    ui.add_space(space::BLOCK);
    bracket::bracket_ui(ui, "Sense circuit", "where it is known");
    circuit_ui(ui, project, draft, actions);
}

fn circuit_ui(ui: &mut Ui, project: &Project, draft: &mut Draft, actions: &mut Vec<Action>) {
    let known = project.circuit.clone();
    let selected = match known.as_ref().map(|circuit| circuit.sense) {
        None => 0,
        Some(Sense::PullUp) => 1,
        Some(Sense::PullDown) => 2,
    };
    let items =
        ["Not known: spreads stay in counts", "Pull-up, ladder to ground", "Pull-down, ladder to feed"];
    let width = ui.available_width().min(330.0);
    if let Some(chosen) = Drop::new("Sense circuit", &items, Some(selected)).width(width).show(ui).chosen {
        let circuit = known.unwrap_or_else(first_circuit);
        let circuit = match chosen {
            1 => Some(Circuit { sense: Sense::PullUp, ..circuit }),
            2 => Some(Circuit { sense: Sense::PullDown, ..circuit }),
            _ => None,
        };
        actions.push(Action::Edit(Edit::Circuit(circuit)));
        return;
    }
    let Some(circuit) = known else {
        line(ui, "With the sense resistor known, wear is told in ohms.");
        return;
    };
    labelled(ui, "Sense resistor", |ui| {
        if let Some(Some(sense_ohm)) =
            number_ui(ui, draft, "Sense resistor", Some(circuit.sense_ohm), 120.0, SENSE_OHM)
        {
            actions.push(Action::Edit(Edit::Circuit(Some(Circuit { sense_ohm, ..circuit.clone() }))));
        }
    });
    labelled(ui, "Feed", |ui| {
        if let Some(Some(feed_v)) = number_ui(ui, draft, "Feed volts", Some(circuit.feed_v), 120.0, FEED_V) {
            actions.push(Action::Edit(Edit::Circuit(Some(Circuit { feed_v, ..circuit.clone() }))));
        }
    });
    labelled(ui, "Across at rest", |ui| {
        let now = project.wheel.wires.get(&1).and_then(|wire| wire.rest_ohm);
        if let Some(ohm) = number_ui(ui, draft, "Ohms at rest", now, 120.0, METER_OHM) {
            actions.push(Action::Edit(Edit::RestOhm(1, ohm)));
        }
        line(ui, "empty is open");
    });
    reference_ui(ui, &circuit, draft, actions);
    for problem in circuit.check() {
        let theme = Theme::of(ui.ctx());
        crate::view::stations::codes::prose(ui, &problem.to_string(), size::BODY, theme.alarm_ink);
    }
}

/// What the converter measures against; and the feed monitor, which only another reference than the
/// supply needs.
fn reference_ui(ui: &mut Ui, circuit: &Circuit, draft: &mut Draft, actions: &mut Vec<Action>) {
    let mut set = |circuit| actions.push(Action::Edit(Edit::Circuit(Some(circuit))));
    let with = |reference| Circuit { reference, ..circuit.clone() };
    labelled(ui, "Reference", |ui| {
        let items = ["The supply", "The chip's own", "From outside"];
        let selected = match circuit.reference {
            Reference::Supply => 0,
            Reference::Internal { .. } => 1,
            Reference::External { .. } => 2,
        };
        let chosen = Drop::new("Reference", &items, Some(selected)).width(160.0).show(ui).chosen;
        match chosen.filter(|chosen| *chosen != selected) {
            Some(0) => set(with(Reference::Supply)),
            Some(1) => set(with(Reference::Internal { volt: 1.1 })),
            Some(_) => set(with(Reference::External { volt: circuit.feed_v, series_ohm: 0.0, pin_v: None })),
            None => {}
        }
    });
    let volts_ui = |ui: &mut Ui, draft: &mut Draft, volt| {
        let mut changed = None;
        labelled(ui, "Reference volts", |ui| {
            changed = number_ui(ui, draft, "Reference volts", Some(volt), 120.0, FEED_V).flatten();
        });
        changed
    };
    match circuit.reference {
        Reference::Supply => {}
        Reference::Internal { volt } => {
            if let Some(volt) = volts_ui(ui, draft, volt) {
                set(with(Reference::Internal { volt }));
            }
        }
        Reference::External { volt, series_ohm, pin_v } => {
            if let Some(volt) = volts_ui(ui, draft, volt) {
                set(with(Reference::External { volt, series_ohm, pin_v }));
            }
            labelled(ui, "Through", |ui| {
                let now = Some(series_ohm);
                let typed = number_ui(ui, draft, "Resistor into the reference", now, 120.0, METER_OHM);
                if let Some(Some(series_ohm)) = typed {
                    set(with(Reference::External { volt, series_ohm, pin_v }));
                }
            });
        }
    }
    if circuit.reference == Reference::Supply && circuit.feed_monitor.is_none() {
        return;
    }
    labelled(ui, "Feed monitor", |ui| {
        let items = ["None fitted", "Two resistors"];
        let fitted = usize::from(circuit.feed_monitor.is_some());
        let chosen = Drop::new("Feed monitor", &items, Some(fitted)).width(160.0).show(ui).chosen;
        if let Some(chosen) = chosen.filter(|chosen| *chosen != fitted) {
            let feed_monitor =
                (chosen == 1).then_some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 10_000.0 });
            set(Circuit { feed_monitor, ..circuit.clone() });
        }
    });
    let Some(monitor) = circuit.feed_monitor else { return };
    labelled(ui, "Feed to pin", |ui| {
        let now = Some(monitor.upper_ohm);
        if let Some(Some(upper_ohm)) = number_ui(ui, draft, "Upper resistor", now, 120.0, SENSE_OHM) {
            let feed_monitor = Some(FeedMonitor { upper_ohm, ..monitor });
            set(Circuit { feed_monitor, ..circuit.clone() });
        }
    });
    labelled(ui, "Pin to ground", |ui| {
        let now = Some(monitor.lower_ohm);
        if let Some(Some(lower_ohm)) = number_ui(ui, draft, "Lower resistor", now, 120.0, SENSE_OHM) {
            let feed_monitor = Some(FeedMonitor { lower_ohm, ..monitor });
            set(Circuit { feed_monitor, ..circuit.clone() });
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::Station;
    use crate::view::stations::driven::Driven;

    #[test]
    fn the_reference_and_the_feed_monitor_are_set_and_judged() {
        let mut window = Driven::demo(Station::Learn, 1280.0, 800.0);
        window.act(Action::Learn(LearnAction::View(LearnView::Buttons)));
        window.act(Action::Edit(Edit::Circuit(Some(first_circuit()))));
        assert!(!window.is_there("Feed monitor"), "the supply as reference needs none");
        let reference = Reference::External { volt: 4.1, series_ohm: 0.0, pin_v: None };
        window.act(Action::Edit(Edit::Circuit(Some(Circuit { reference, ..first_circuit() }))));
        window.focus("Feed monitor");
        window.key(Key::ArrowDown);
        window.key(Key::ArrowDown);
        window.key(Key::Enter);
        let monitor = window.project().circuit.as_ref().unwrap().feed_monitor;
        assert_eq!(monitor, Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 10_000.0 }));
        window.focus("Lower resistor");
        window.key_with(egui::Modifiers::COMMAND, Key::A);
        window.type_text("90k");
        let monitor = window.project().circuit.as_ref().unwrap().feed_monitor;
        assert_eq!(monitor, Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 90_000.0 }));
        assert!(window.says("Make its lower resistor smaller"));
    }

    #[test]
    fn numbers_are_read_as_people_type_them() {
        let read: Vec<_> = ["1240", "14.9k", "4,7k", " 82 Ω", "2M", "", "k", "abc", "1e999", "1e308k"]
            .map(parse_number)
            .to_vec();
        assert_eq!(
            read,
            [Some(1240.0), Some(14_900.0), Some(4700.0), Some(82.0), Some(2e6), None, None, None, None, None]
        );
    }

    #[test]
    fn a_number_is_shown_as_short_as_it_can_be_read_back() {
        for value in [82.0, 1240.0, 14_900.0, 9_999.5, 12_345.0] {
            assert_eq!(parse_number(&short_number(value)), Some(value));
        }
    }
}
