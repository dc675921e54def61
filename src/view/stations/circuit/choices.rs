//! Circuit, choices: everything about the circuit that one chooses, each with what it costs under it.

mod parts;
mod sources;

use egui::{Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use super::typed::{Allowed, Typed, Unit, number_ui};
use crate::app::circuit::sense::SenseDerived;
use crate::app::{Action, Edit, Model};
use crate::circuit::{Circuit, Filter, HIGHEST_IDLE_V, Module, Parts, Sense};
use crate::project::{Project, Range};
use crate::units::Series;
use crate::view::stations::codes::prose;
use crate::view::theme::{Theme, control, regular, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::{bracket, text};

/// What is typed or unfolded here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// Text of fields that are being typed in.
    typed: Typed,
    /// Whether the parts' tolerances and the climate are shown.
    more: bool,
}

const SENSE_OHM: Allowed = (Unit::Ohm, |ohm| Range::SENSE_OHM.holds(ohm), "Type 1 Ω to 100 MΩ.");
const ANY_OHM: Allowed = (Unit::Ohm, |ohm| Range::OHM.holds(ohm), "Type 0 Ω to 100 MΩ.");
const VOLT: Allowed = (Unit::Volt, |volt| Range::VOLT.holds(volt), "Type 0.1 V to 60 V.");

/// Draws it. In a wide window what doesn't fit scrolls; elsewhere the station does.
pub(super) fn choices_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let derived = &model.derived.circuit.sense;
    let wide = WidthClass::of(ui.ctx().content_rect().width()) == WidthClass::Wide;
    ui.scope_builder(UiBuilder::new().id_salt("choices").max_rect(place), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, 6.0);
        bracket::bracket_ui(ui, "Choices", "");
        if wide {
            ScrollArea::vertical().id_salt("choices").auto_shrink(false).show(ui, |ui| {
                ui.set_width(ui.available_width() - 2.0);
                items_ui(ui, project, derived, draft, actions);
            });
        } else {
            items_ui(ui, project, derived, draft, actions);
        }
    });
}

/// A choice: its name, its control and what it costs.
fn item(ui: &mut Ui, name: &str, cost: &str, control: impl FnOnce(&mut Ui, f32)) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, 14.0), egui::Sense::hover());
    text::cap(
        ui.painter(),
        rect.left(),
        rect.center().y,
        egui::Align::Min,
        name,
        regular(size::AXIS),
        theme.ink2,
    );
    control(ui, width);
    if !cost.is_empty() {
        prose(ui, cost, size::AXIS, theme.ink2);
    }
    ui.add_space(4.0);
}

/// Where there is room for two columns, what is sensed stands left, and the parts right.
const TWO_COLUMNS: f32 = 520.0;

fn items_ui(
    ui: &mut Ui,
    project: &Project,
    derived: &SenseDerived,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) {
    let whole = ui.available_rect_before_wrap();
    if whole.width() < TWO_COLUMNS {
        sensed_ui(ui, project, derived, draft, actions);
        parts_ui(ui, project, derived, draft, actions);
        return;
    }
    let wide = (whole.width() - space::REGION) / 2.0;
    let column = |left: f32| {
        let rect = Rect::from_min_size(pos2(left, whole.top()), vec2(wide, whole.height()));
        UiBuilder::new().max_rect(rect)
    };
    let mut left = ui.new_child(column(whole.left()).id_salt("sensed"));
    sensed_ui(&mut left, project, derived, draft, actions);
    let mut right = ui.new_child(column(whole.right() - wide).id_salt("parts"));
    parts_ui(&mut right, project, derived, draft, actions);
    ui.allocate_rect(left.min_rect().union(right.min_rect()), egui::Sense::hover());
}

/// How the ladder is sensed, and against what.
fn sensed_ui(
    ui: &mut Ui,
    project: &Project,
    derived: &SenseDerived,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) {
    style_ui(ui, project, derived, actions);
    let Some(circuit) = &project.circuit else { return };
    let mut set = |circuit: Circuit| actions.push(Action::Edit(Edit::Circuit(Some(circuit))));
    if circuit.module.is_some() {
        module_ui(ui, circuit, derived, &mut draft.typed, &mut set);
    }
    sources::reference_ui(ui, circuit, derived, &mut draft.typed, &mut set);
    sources::monitor_ui(ui, circuit, derived, &mut draft.typed, &mut set);
    let theme = Theme::of(ui.ctx());
    for problem in &derived.problems {
        prose(ui, &problem.to_string(), size::BODY, theme.alarm_ink);
    }
}

/// What it is built of, and how far that may be off.
fn parts_ui(
    ui: &mut Ui,
    project: &Project,
    derived: &SenseDerived,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) {
    series_ui(ui, &project.parts, derived, actions);
    if let Some(circuit) = &project.circuit {
        let mut set = |circuit: Circuit| actions.push(Action::Edit(Edit::Circuit(Some(circuit))));
        filter_ui(ui, circuit, derived, &mut draft.typed, &mut set);
        if circuit.module.is_none() {
            item(ui, "Sense resistor", &derived.lines.resistor, |ui, width| {
                let now = Some(circuit.sense_ohm);
                let typed = number_ui(ui, &mut draft.typed, "Sense resistor", now, width, SENSE_OHM);
                if let Some(Some(sense_ohm)) = typed {
                    set(Circuit { sense_ohm, ..circuit.clone() });
                }
            });
            item(ui, "Feed", &derived.lines.feed, |ui, width| {
                let now = Some(circuit.feed_v);
                let typed = number_ui(ui, &mut draft.typed, "Feed volts", now, width, VOLT);
                if let Some(Some(feed_v)) = typed {
                    set(Circuit { feed_v, ..circuit.clone() });
                }
            });
        }
    }
    parts::drawer_ui(ui, &project.parts, derived, &mut draft.typed, actions);
    let (label, name) = if draft.more {
        ("Less", "Less: hide wear, temperatures, tolerances")
    } else {
        ("More", "More: wear, temperatures, tolerances")
    };
    if ui.add(Button::line(label).name(name).height(control::TARGET)).clicked() {
        draft.more = !draft.more;
    }
    if draft.more {
        parts::more_ui(ui, project, derived, &mut draft.typed, actions);
    }
}

/// Which way the ladder is sensed, or that it isn't known.
fn style_ui(ui: &mut Ui, project: &Project, derived: &SenseDerived, actions: &mut Vec<Action>) {
    let known = project.circuit.as_ref();
    let selected = match known.map(|circuit| (circuit.sense, circuit.module)) {
        None => 0,
        Some((_, Some(_))) => 3,
        Some((Sense::PullUp, None)) => 1,
        Some((Sense::PullDown, None)) => 2,
    };
    let cost = if known.is_some() {
        derived.lines.style.as_str()
    } else {
        "Spreads stay in counts, and wear can't be told in ohms."
    };
    let items =
        ["Not known", "Pull-up, ladder to ground", "Pull-down, ladder to feed", "Factory module's pull-up"];
    item(ui, "Sense style", cost, |ui, width| {
        let chosen = Drop::new("Sense style", &items, Some(selected))
            .width(width)
            .height(control::DROP)
            .show(ui)
            .chosen;
        let Some(chosen) = chosen.filter(|chosen| *chosen != selected) else { return };
        let before = known.cloned().unwrap_or_else(Circuit::recommended);
        let circuit = match chosen {
            0 => None,
            3 => Some(module_of(before)),
            way => Some(Circuit {
                sense: if way == 2 { Sense::PullDown } else { Sense::PullUp },
                // What stood here was the module's.
                feed_v: before.module.map_or(before.feed_v, |module| module.supply_v),
                module: None,
                ..before
            }),
        };
        actions.push(Action::Edit(Edit::Circuit(circuit)));
    });
}

/// The circuit with a factory module's pull-up: idle as high as the box's pins take until it is metered.
fn module_of(before: Circuit) -> Circuit {
    let supply_v = before.feed_v;
    Circuit {
        sense: Sense::PullUp,
        feed_v: supply_v.min(HIGHEST_IDLE_V),
        module: Some(Module { supply_v }),
        ..before
    }
}

/// What the meter says of the module.
fn module_ui(
    ui: &mut Ui,
    circuit: &Circuit,
    derived: &SenseDerived,
    typed: &mut Typed,
    set: &mut dyn FnMut(Circuit),
) {
    let wanted = "Volts from the wire to ground with its ladder unplugged.";
    item(ui, "Module's idle voltage", wanted, |ui, width| {
        let now = Some(circuit.feed_v);
        if let Some(Some(feed_v)) = number_ui(ui, typed, "Module's idle voltage", now, width, VOLT) {
            set(Circuit { feed_v, ..circuit.clone() });
        }
    });
    item(ui, "Module's resistance", &derived.lines.resistor, |ui, width| {
        let now = Some(circuit.sense_ohm);
        let typed = number_ui(ui, typed, "Module's resistance", now, width, SENSE_OHM);
        if let Some(Some(sense_ohm)) = typed {
            set(Circuit { sense_ohm, ..circuit.clone() });
        }
    });
    item(ui, "Box's own supply", "", |ui, width| {
        let now = circuit.module.map(|module| module.supply_v);
        if let Some(Some(supply_v)) = number_ui(ui, typed, "Box's own supply", now, width, VOLT) {
            set(Circuit { module: Some(Module { supply_v }), ..circuit.clone() });
        }
    });
}

/// The series of IEC 60063 a sense resistor is chosen from.
const SERIES: [Series; 4] = [Series::E12, Series::E24, Series::E48, Series::E96];
/// Tolerances that resistors are sold with (IEC 60063, IEC 60062; from memory).
const TOLERANCES: [f64; 5] = [0.001, 0.005, 0.01, 0.02, 0.05];

fn series_ui(ui: &mut Ui, parts: &Parts, derived: &SenseDerived, actions: &mut Vec<Action>) {
    item(ui, "Series and tolerance", &derived.lines.series, |ui, width| {
        ui.horizontal(|ui| {
            let half = (width - space::TIGHT) / 2.0;
            let names = SERIES.map(Series::name);
            let selected = SERIES.iter().position(|series| *series == parts.series);
            let drop = Drop::new("Series", &names, selected).empty(parts.series.name());
            if let Some(chosen) = drop.width(half).height(control::DROP).show(ui).chosen
                && let Some(&series) = SERIES.get(chosen)
            {
                actions.push(Action::Edit(Edit::Parts(Parts { series, ..parts.clone() })));
            }
            let texts = TOLERANCES.map(|share| format!("{} %", (share * 1e3).round() / 10.0));
            let items = texts.each_ref().map(String::as_str);
            let selected = TOLERANCES.iter().position(|share| *share == parts.sense_tolerance);
            let other = format!("{} %", (parts.sense_tolerance * 1e4).round() / 1e2);
            let drop = Drop::new("Tolerance", &items, selected).empty(&other);
            if let Some(chosen) = drop.width(half).height(control::DROP).show(ui).chosen
                && let Some(&sense_tolerance) = TOLERANCES.get(chosen)
            {
                actions.push(Action::Edit(Edit::Parts(Parts { sense_tolerance, ..parts.clone() })));
            }
        });
    });
}

const FILTER_FARAD: Allowed =
    (Unit::Farad, |farad| Range::FARAD.holds(farad), "Type 0 to 1000 µ, like 10n or 0.1µ.");

fn filter_ui(
    ui: &mut Ui,
    circuit: &Circuit,
    derived: &SenseDerived,
    typed: &mut Typed,
    set: &mut dyn FnMut(Circuit),
) {
    let proposed = derived.costs.as_ref().and_then(|costs| costs.proposed_filter);
    item(ui, "Filter", &derived.lines.filter, |ui, width| {
        let Filter { series_ohm, farad } = circuit.filter;
        ui.horizontal(|ui| {
            let half = (width - space::TIGHT) / 2.0;
            let ohm = number_ui(ui, typed, "Filter's resistor", Some(series_ohm), half, ANY_OHM);
            if let Some(Some(series_ohm)) = ohm {
                set(Circuit { filter: Filter { series_ohm, farad }, ..circuit.clone() });
            }
            let cap = number_ui(ui, typed, "Filter's capacitor", Some(farad), half, FILTER_FARAD);
            if let Some(Some(farad)) = cap {
                set(Circuit { filter: Filter { series_ohm, farad }, ..circuit.clone() });
            }
        });
    });
    if let Some(filter) = proposed.filter(|filter| *filter != circuit.filter) {
        let label = format!(
            "Use {}, {} nF",
            crate::project::bag_text(filter.series_ohm),
            (filter.farad * 1e10).round() / 10.0
        );
        let name = format!("{label}: needs no clamping diodes for 16 V");
        if ui.add(Button::quiet(&label).name(&name)).clicked() {
            set(Circuit { filter, ..circuit.clone() });
        }
    }
}

#[cfg(test)]
mod tests;
