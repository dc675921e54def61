//! Circuit, supply: the chain from the vehicle's supply to the box's 5 V, its heat, and what is left of it
//! while the starter runs.

use std::cell::RefCell;

use egui::{Align, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use super::lower::{self, Entry, columns, drop_ui, figure_ui, number_ui, verdict_ui};
use crate::app::{Action, Edit, Model};
use crate::circuit::{
    BoxDoes, Gauge, Heat, Regulator, ReverseGuard, SupplyParts, SupplyReport, SupplyWarning, Suppressor, Tap,
};
use crate::units::{amp_text, volt_text};
use crate::view::stations::codes::prose;
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, size, space, stroke};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::check::check;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::{focus, text};

/// What is typed or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft(lower::Draft);

const FUSE: Entry = Entry {
    name: "Fuse",
    full: "Fuse at the source, in amperes",
    unit: ("A", 1.0),
    range: (0.1, 30.0),
    empty: "none",
};
const LENGTH: Entry = Entry {
    name: "One way",
    full: "Length of the wire, one way, in metres",
    unit: ("m", 1.0),
    range: (0.0, 50.0),
    empty: "",
};
const STANDOFF: Entry = Entry {
    name: "Suppressor",
    full: "Stand-off of the suppressor, in volts",
    unit: ("V", 1.0),
    range: (5.0, 200.0),
    empty: "none",
};
const CLAMP: Entry = Entry {
    name: "Clamps to",
    full: "Clamping voltage of the suppressor, in volts",
    unit: ("V", 1.0),
    range: (5.0, 400.0),
    empty: "",
};
const LOAD: Entry = Entry {
    name: "Box draws",
    full: "Current of the box, in milliamperes",
    unit: ("mA", 1e-3),
    range: (1.0, 5e3),
    empty: "",
};
const THERMAL: Entry = Entry {
    name: "Thermal",
    full: "Thermal resistance of the regulator, in kelvins per watt",
    unit: ("K/W", 1.0),
    range: (1.0, 500.0),
    empty: "",
};
const DROPOUT: Entry = Entry {
    name: "Drop-out",
    full: "Drop-out of the regulator, in volts",
    unit: ("V", 1.0),
    range: (0.0, 10.0),
    empty: "",
};
const INPUT: Entry = Entry {
    name: "Input bears",
    full: "Highest input of the regulator, in volts",
    unit: ("V", 1.0),
    range: (5.0, 200.0),
    empty: "",
};
const OWN: Entry = Entry {
    name: "Draws itself",
    full: "Current the regulator draws for itself, in milliamperes",
    unit: ("mA", 1e-3),
    range: (0.0, 100.0),
    empty: "",
};
const EFFICIENCY: Entry = Entry {
    name: "Efficiency",
    full: "Efficiency of the converter, in percent",
    unit: ("%", 0.01),
    range: (30.0, 100.0),
    empty: "",
};

/// Draws it.
pub(super) fn supply_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let (Some(project), Some(report)) = (model.project(), model.derived.circuit.supply.report.as_ref())
    else {
        return;
    };
    let parts = &project.supply;
    // Columns are drawn one after the other, and two of them change the same parts.
    let (typed, changed) = (RefCell::new(&mut draft.0), RefCell::new(parts.clone()));
    columns(
        ui,
        place,
        &[1.0, 1.0, 1.0, 1.1],
        &mut [
            &mut |ui| wire_ui(ui, &mut typed.borrow_mut(), parts, &mut changed.borrow_mut()),
            &mut |ui| regulator_ui(ui, &mut typed.borrow_mut(), parts, &mut changed.borrow_mut()),
            &mut |ui| heat_ui(ui, parts, report),
            &mut |ui| crank_ui(ui, parts, report),
        ],
    );
    let changed = changed.into_inner();
    if changed != *parts {
        actions.push(Action::Edit(Edit::Supply(changed)));
    }
}

/// From the source to the box.
fn wire_ui(ui: &mut Ui, typed: &mut lower::Draft, parts: &SupplyParts, changed: &mut SupplyParts) {
    bracket_ui(ui, "From the source", "");
    ui.add_space(space::ROW);
    let now = Tap::ALL.iter().position(|tap| *tap == parts.tap);
    if let Some(row) = drop_ui(ui, "Tapped at", "Tapped at", &Tap::ALL.map(Tap::name), now) {
        changed.tap = Tap::ALL.get(row).copied().unwrap_or_default();
    }
    if let Some(amp) = number_ui(ui, typed, &FUSE, parts.fuse_amp) {
        changed.fuse_amp = amp;
    }
    let names = Gauge::USUAL.map(|gauge| format!("{} AWG", gauge.0));
    let now = Gauge::USUAL.iter().position(|gauge| *gauge == parts.wire);
    if let Some(row) = drop_ui(ui, "Wire", "Wire", &names.each_ref().map(String::as_str), now) {
        changed.wire = Gauge::USUAL.get(row).copied().unwrap_or(parts.wire);
    }
    if let Some(Some(metre)) = number_ui(ui, typed, &LENGTH, Some(parts.wire_m)) {
        changed.wire_m = metre;
    }
    let now = ReverseGuard::ALL.iter().position(|guard| *guard == parts.reverse);
    let names = ReverseGuard::ALL.map(ReverseGuard::name);
    if let Some(row) = drop_ui(ui, "Reversed", "Against a reversed battery", &names, now) {
        changed.reverse = ReverseGuard::ALL.get(row).copied().unwrap_or_default();
    }
    if let Some(standoff) = number_ui(ui, typed, &STANDOFF, parts.suppressor.map(|one| one.standoff_v)) {
        changed.suppressor =
            standoff.map(|standoff_v| Suppressor { standoff_v, ..parts.suppressor.unwrap_or_default() });
    }
    if let Some(suppressor) = parts.suppressor
        && let Some(Some(clamp_v)) = number_ui(ui, typed, &CLAMP, Some(suppressor.clamp_v))
    {
        changed.suppressor = Some(Suppressor { clamp_v, ..suppressor });
    }
}

/// The regulator, and what it has to give.
fn regulator_ui(ui: &mut Ui, typed: &mut lower::Draft, parts: &SupplyParts, changed: &mut SupplyParts) {
    bracket_ui(ui, "To 5 V", "");
    ui.add_space(space::ROW);
    let now = Regulator::ALL.iter().position(|kind| *kind == parts.regulator);
    // The row says already that it is a regulator.
    let kinds = Regulator::ALL.map(|kind| kind.name().trim_end_matches(" regulator"));
    if let Some(row) = drop_ui(ui, "Regulator", "Regulator", &kinds, now) {
        changed.regulator = Regulator::ALL.get(row).copied().unwrap_or_default();
    }
    if let Some(Some(amp)) = number_ui(ui, typed, &LOAD, Some(parts.load_amp)) {
        changed.load_amp = amp;
    }
    let chosen = *parts.chosen();
    if let Some(Some(k_per_w)) = number_ui(ui, typed, &THERMAL, Some(chosen.k_per_w)) {
        changed.chosen_mut().k_per_w = k_per_w;
    }
    if let Some(Some(dropout_v)) = number_ui(ui, typed, &DROPOUT, Some(chosen.dropout_v)) {
        changed.chosen_mut().dropout_v = dropout_v;
    }
    match parts.regulator {
        Regulator::Linear => {
            if let Some(Some(amp)) = number_ui(ui, typed, &OWN, Some(chosen.quiescent_amp)) {
                changed.chosen_mut().quiescent_amp = amp;
            }
        }
        Regulator::Buck => {
            if let Some(Some(share)) = number_ui(ui, typed, &EFFICIENCY, Some(parts.efficiency)) {
                changed.efficiency = share;
            }
        }
    }
    if let Some(Some(volt)) = number_ui(ui, typed, &INPUT, Some(chosen.input_max_v)) {
        changed.chosen_mut().input_max_v = volt;
    }
    let response = check(ui, parts.dump_clamped, "Alternator clamps its dump");
    see(&response);
    if response.clicked() {
        changed.dump_clamped = !parts.dump_clamped;
    }
}

/// A bar's height, and from one supply's pair of bars to the next.
const BAR: f32 = 14.0;
const PAIR: f32 = 38.0;
/// Left of the bars, and right of them.
const LABEL: f32 = 46.0;
const VALUE: f32 = 92.0;

/// Junctions as bars, from the air's temperature up; the limit as a line.
fn heat_ui(ui: &mut Ui, parts: &SupplyParts, report: &SupplyReport) {
    let theme = Theme::of(ui.ctx());
    bracket_ui(ui, "Junction", &format!("in air of {:.0} °C", report.ambient_c));
    ui.add_space(space::ROW);
    let limit_c = parts.chosen().junction_max_c;
    let all = report.heat.iter().flat_map(|at| [at.linear.junction_c, at.buck.junction_c]);
    let hottest_c = all.fold(limit_c, f64::max);
    let (low_c, high_c) = (report.ambient_c, hottest_c + 0.08 * (hottest_c - report.ambient_c).max(1.0));
    let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), 4.0 * PAIR + 22.0), Sense::hover());
    let bars = Rect::from_min_max(
        place.min + vec2(LABEL, 0.0),
        pos2(place.right() - VALUE, place.top() + 4.0 * PAIR),
    );
    let (p, right) = (ui.painter().clone(), place.right());
    p.rect_filled(bars, 0, theme.well);
    let x_of = |c: f64| {
        let share = ((c - low_c) / (high_c - low_c)).clamp(0.0, 1.0) as f32;
        bars.left() + share * bars.width()
    };
    let font = theme::regular(size::AXIS);
    for (row, at) in report.heat.iter().enumerate() {
        let top = bars.top() + PAIR * row as f32 + 5.0;
        let volt = format!("{} V", at.supply_v);
        text::cap(&p, bars.left() - 8.0, top + BAR, Align::Max, &volt, theme::bold(size::AXIS), theme.ink);
        for (second, kind) in Regulator::ALL.into_iter().enumerate() {
            let heat = at.of(kind);
            let y = top + second as f32 * (BAR + 2.0);
            let chosen = kind == parts.regulator;
            bar(
                &p,
                &theme,
                Rect::from_min_max(pos2(bars.left(), y), pos2(x_of(heat.junction_c), y + BAR)),
                chosen,
            );
            if chosen && heat.junction_c > limit_c {
                let beyond = Rect::from_min_max(pos2(x_of(limit_c), y), pos2(x_of(heat.junction_c), y + BAR));
                p.rect_filled(beyond, 0, theme.alarm_face);
                hatch::alarm(&p, &theme, beyond, Hatch::REFUSED);
            }
            let (font, ink) =
                if chosen { (theme::bold(size::AXIS), theme.ink) } else { (font.clone(), theme.ink2) };
            text::cap(&p, right, y + BAR / 2.0, Align::Max, &heat_text(heat), font, ink);
        }
        let said = format!(
            "{volt}: linear {}, buck {}, {limit_c:.0} °C allowed",
            heat_text(at.linear),
            heat_text(at.buck)
        );
        let line = Rect::from_min_size(pos2(place.left(), top), vec2(place.width(), PAIR - 6.0));
        focus::tell(ui, line, &volt, Role::Row, &said);
    }
    let x = x_of(limit_c);
    p.vline(x, bars.y_range(), Stroke::new(stroke::BAND, theme.alarm));
    let y = bars.bottom() + 11.0;
    text::cap(&p, x, y, Align::Center, &format!("{limit_c:.0} °C"), font.clone(), theme.ink2);
    text::cap(&p, place.left(), y, Align::Min, "linear over buck", font, theme.ink2);
    prose(ui, CAUTION, size::AXIS, theme.ink2);
}

/// What is used is filled, what isn't is an outline.
fn bar(p: &egui::Painter, theme: &Theme, rect: Rect, chosen: bool) {
    if chosen {
        p.rect_filled(rect, 0, theme.ink2);
    } else {
        p.rect_stroke(rect, 0, theme.outline(), egui::epaint::StrokeKind::Inside);
    }
}

/// Heat and junction: `0.55 W 121 °C`.
fn heat_text(heat: Heat) -> String {
    format!("{:.2} W {:.0} °C", heat.heat_w, heat.junction_c)
}

/// What is left while cranking, the wire, and the verdict.
fn crank_ui(ui: &mut Ui, parts: &SupplyParts, report: &SupplyReport) {
    let theme = Theme::of(ui.ctx());
    bracket_ui(ui, "While cranking", "the box's 5 V");
    ui.add_space(space::ROW);
    for crank in &report.cranking {
        let profile = crank.profile;
        let name = format!("{}: {}, {} V", profile.name, profile.lowest_v, profile.turning_v);
        figure_ui(ui, &name, &volt_text(crank.lowest_box_v), crank.at_lowest().words());
    }
    let wire = format!("bears {}", amp_text(parts.wire.most_amp()));
    let millivolt = format!("{:.0} mV", report.wire_drop_v * 1e3);
    figure_ui(ui, "Wire takes", &millivolt, &wire);
    match report.parked_days {
        Some(days) => figure_ui(ui, "Parked", &format!("{days:.0} days"), "to half of 60 Ah"),
        None => figure_ui(ui, "From 12 V", &amp_text(report.input_amp), "off with the key"),
    }
    let odd: Vec<_> = report.warnings.iter().map(|odd| (SupplyWarning::what(odd), odd.advice())).collect();
    verdict_ui(ui, "It will do.", &odd);
    if report.worst_crank() != BoxDoes::Runs && odd.is_empty() {
        ui.add_space(space::TIGHT);
        prose(ui, RESETS, size::AXIS, theme.ink2);
    }
}

/// What must be known where power meets the box.
const CAUTION: &str = "Fuse at the source, before anything else. Battery off while you join the wire. One \
                       ground, at the stereo's. Laptop on its battery.";
/// What a reset means for the stereo.
const RESETS: &str = "A box that resets lets the line go and starts without a code. The profiles are from memory of \
                      ISO 16750-2.";
