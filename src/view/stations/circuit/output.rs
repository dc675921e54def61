//! Circuit, output: the parts on the stereo's line, what they do to it, and the shortest mark as the line
//! sees it.

use egui::{Align, Rect, Role, Sense, Shape, Stroke, Ui, pos2, vec2};

use super::lower::{self, Entry, columns, drop_ui, figure_ui, number_ui, verdict_ui};
use crate::app::{Action, Edit, Model};
use crate::circuit::{
    Device, FORCED_BETA, MOST_STRETCH, OutputParts, StageReport, StageWarning, THRESHOLD_SHARE, mark_text,
};
use crate::project::ProjectStage;
use crate::units::{amp_text, ohm_text, volt_text};
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, size, space, stroke};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::{focus, hatch, text};

/// What is typed or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft(lower::Draft);

const BASE: Entry = Entry {
    name: "Pin to base",
    full: "Resistor from pin to base, in ohms",
    unit: ("Ω", 1.0),
    range: (1.0, 10e6),
    empty: "",
};
const PULL_DOWN: Entry = Entry {
    name: "Base to ground",
    full: "Resistor from base to ground, in ohms",
    unit: ("Ω", 1.0),
    range: (1.0, 100e6),
    empty: "none",
};
const SERIES: Entry = Entry {
    name: "Collector to line",
    full: "Resistor from collector to line, in ohms",
    unit: ("Ω", 1.0),
    range: (0.0, 1e6),
    empty: "",
};
const CABLE: Entry = Entry {
    name: "Cable",
    full: "Cable to the stereo, in metres",
    unit: ("m", 1.0),
    range: (0.0, 100.0),
    empty: "",
};
const LINE: Entry = Entry {
    name: "Measured",
    full: "Capacitance of the line, in nanofarads",
    unit: ("nF", 1e-9),
    range: (0.0, 100e3),
    empty: "by cable",
};

/// Draws it.
pub(super) fn output_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let (Some(project), Some((on_line, report))) =
        (model.project(), model.derived.circuit.output.stage.as_ref())
    else {
        return;
    };
    let parts = &project.output;
    columns(
        ui,
        place,
        &[1.0, 1.05, 1.0],
        &mut [
            &mut |ui| parts_ui(ui, &mut draft.0, parts, actions),
            &mut |ui| line_ui(ui, on_line, report),
            &mut |ui| mark_ui(ui, on_line, report),
        ],
    );
}

/// The parts, to be changed.
fn parts_ui(ui: &mut Ui, draft: &mut lower::Draft, parts: &OutputParts, actions: &mut Vec<Action>) {
    bracket_ui(ui, "Parts", "in the box, and the cable");
    ui.add_space(space::ROW);
    let mut changed = parts.clone();
    let now = Device::ALL.iter().position(|device| *device == parts.device);
    if let Some(row) = drop_ui(ui, "Transistor", "Transistor", &Device::ALL.map(Device::name), now) {
        changed.device = Device::ALL.get(row).copied().unwrap_or_default();
    }
    if let Some(Some(ohm)) = number_ui(ui, draft, &BASE, Some(parts.base_ohm)) {
        changed.base_ohm = ohm;
    }
    if let Some(ohm) = number_ui(ui, draft, &PULL_DOWN, parts.base_pulldown_ohm) {
        changed.base_pulldown_ohm = ohm;
    }
    if let Some(Some(ohm)) = number_ui(ui, draft, &SERIES, Some(parts.series_ohm)) {
        changed.series_ohm = ohm;
    }
    if let Some(Some(metre)) = number_ui(ui, draft, &CABLE, Some(parts.cable_m)) {
        changed.cable_m = metre;
    }
    if let Some(farad) = number_ui(ui, draft, &LINE, parts.line_farad) {
        changed.line_farad = farad;
    }
    if changed != *parts {
        actions.push(Action::Edit(Edit::Output(changed)));
    }
}

/// What they do to the line at rest.
fn line_ui(ui: &mut Ui, on_line: &ProjectStage, report: &StageReport) {
    let theme = Theme::of(ui.ctx());
    let source = on_line.line.source;
    let whose = if on_line.measured { "as measured at the jack" } else { "assumed until measured" };
    bracket_ui(ui, "Pulled low", whose);
    ui.add_space(space::ROW);
    let StageReport { point, pull, warnings, .. } = report;
    let idle = format!("behind {}", ohm_text(source.ohm));
    figure_ui(ui, "Line at rest", &volt_text(source.volt), &idle);
    let limit = format!("{} allowed", volt_text(report.low_limit_v()));
    figure_ui(ui, "Line pulled low", &volt_text(point.low_v), &limit);
    match pull.low_v {
        Some(low_v) => figure_ui(ui, "At most", &volt_text(low_v), "by the datasheet"),
        None => figure_ui(ui, "At most", "not sure", "beyond the datasheet"),
    }
    let sure = format!("sure to {}", amp_text(pull.limit_a));
    figure_ui(ui, "Collector", &amp_text(point.collector_a), &sure);
    if let Some(beta) = point.forced_beta() {
        figure_ui(ui, "Base", &amp_text(point.base_a), &format!("pin gives {}", amp_text(point.pin_a)));
        let sure = format!("sure to {FORCED_BETA:.0}");
        figure_ui(ui, "Forced beta", &format!("{beta:.1}"), &sure);
    } else {
        figure_ui(ui, "Gate", &volt_text(point.control_v), "takes no current");
    }
    let heat = format!("{:.1} mW", point.heat_w() * 1e3);
    let bears = format!("bears {:.0} mW", on_line.stage.device.row().rated_w * 1e3);
    figure_ui(ui, "Heat in it", &heat, &bears);
    let odd: Vec<_> = warnings.iter().map(|odd| (StageWarning::what(odd), odd.advice())).collect();
    let good = if point.saturated { "On fully, and it will do." } else { "It will do." };
    verdict_ui(ui, good, &odd);
    if !on_line.measured {
        let words = "The stereo's input wasn't measured: Codes, view Jack, does it with a meter.";
        prose(ui, words, size::AXIS, theme.ink2);
    }
}

/// The shortest mark on its way.
fn mark_ui(ui: &mut Ui, on_line: &ProjectStage, report: &StageReport) {
    let whose = on_line.mark_of.as_deref().unwrap_or("of all families");
    bracket_ui(ui, "Shortest mark", whose);
    ui.add_space(space::ROW);
    let rises = report.turn_off_us > 0.0 && report.turn_off_us.is_finite();
    let (well, _) = ui.allocate_exact_size(vec2(ui.available_width(), WELL), Sense::hover());
    let words = format!(
        "The mark at the line: {} as sent, {} as seen, high again {} after the pin",
        mark_text(report.line.mark_us),
        mark_text(report.mark_at_line_us),
        mark_text(report.turn_off_us)
    );
    picture(ui, well, report, rises);
    focus::tell(ui, well, "mark", Role::Image, &words);
    ui.add_space(space::TIGHT);
    let share = format!("{:+.1} %, ± {:.0} %", report.stretch() * 100.0, MOST_STRETCH * 100.0);
    figure_ui(
        ui,
        &format!("Of {}", mark_text(report.line.mark_us)),
        &mark_text(report.mark_at_line_us),
        &share,
    );
    if rises {
        let parts = format!("{} stored", mark_text(report.release_us()));
        figure_ui(ui, "Turn-off", &mark_text(report.turn_off_us), &parts);
        let farad = farad_text(report.line.farad);
        let through = format!("high at {:.0} %", THRESHOLD_SHARE * 100.0);
        figure_ui(ui, "On the line", &farad, &through);
    }
}

/// `200 pF`, `4.70 nF`, `100 nF`.
fn farad_text(farad: f64) -> String {
    match farad * 1e12 {
        picofarad if picofarad < 999.5 => format!("{picofarad:.0} pF"),
        picofarad if picofarad < 9_995.0 => format!("{:.2} nF", picofarad / 1e3),
        picofarad => format!("{:.0} nF", picofarad / 1e3),
    }
}

/// Height of the picture.
const WELL: f32 = 168.0;
/// Of it, the whole mark.
const WHOLE: f32 = 62.0;

/// Above, the whole mark: the pin's dashed, the line's solid. Below, its end drawn out, with the threshold.
fn picture(ui: &Ui, well: Rect, report: &StageReport, rises: bool) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().with_clip_rect(well);
    p.rect_filled(well, 0, theme.well);
    let idle_v = report.line.source.volt.max(f64::MIN_POSITIVE);
    let mark_s = report.line.mark_us * 1e-6;
    let trace = |at: Rect, from_s: f64, to_s: f64| -> Vec<egui::Pos2> {
        let place = |s: f64, volt: f64| {
            let x = at.left() + ((s - from_s) / (to_s - from_s)) as f32 * at.width();
            pos2(x, at.bottom() - (volt / idle_v).clamp(-0.05, 1.05) as f32 * at.height())
        };
        let mut points = vec![place(from_s.min(0.0), idle_v)];
        points.extend(report.edges.trace.iter().map(|[s, volt]| place(*s, *volt)));
        // Where the trace ends the line is high but for a last rest.
        if let Some([last_s, volt]) = report.edges.trace.last().filter(|[last_s, _]| *last_s < to_s) {
            points.push(place(last_s.max(to_s), *volt));
        }
        points
    };
    let lane = Rect::from_min_max(well.min + vec2(12.0, 16.0), pos2(well.right() - 12.0, well.top() + WHOLE));
    let (from_s, to_s) = (-0.15 * mark_s, 1.6 * mark_s);
    let x_of = |s: f64| lane.left() + ((s - from_s) / (to_s - from_s)) as f32 * lane.width();
    let pin = [
        pos2(lane.left(), lane.top()),
        pos2(x_of(0.0), lane.top()),
        pos2(x_of(0.0), lane.bottom()),
        pos2(x_of(mark_s), lane.bottom()),
        pos2(x_of(mark_s), lane.top()),
        lane.right_top(),
    ];
    let line = Stroke::new(stroke::BAND, theme.ink);
    let planned = Stroke::new(stroke::RULE, theme.edge);
    p.extend(Shape::dashed_line(&pin, planned, 4.0, 3.0));
    let clipped = p
        .with_clip_rect(Rect::from_min_max(pos2(lane.left(), well.top()), pos2(lane.right(), well.bottom())));
    clipped.add(Shape::line(trace(lane, from_s, to_s), line));
    let middle = (x_of(0.0) + x_of(mark_s)) / 2.0;
    let font = theme::regular(size::AXIS);
    text::cap(
        &p,
        middle,
        lane.center().y,
        Align::Center,
        &mark_text(report.line.mark_us),
        font.clone(),
        theme.ink2,
    );

    let low = Rect::from_min_max(pos2(well.left() + 44.0, lane.bottom() + 26.0), well.max - vec2(12.0, 22.0));
    p.hline(well.x_range(), lane.bottom() + 12.0, theme.hairline());
    if !rises {
        let words = if report.mark_at_line_us == 0.0 { "The line never goes low" } else { "It never rises" };
        text::cap(&p, low.center().x, low.center().y, Align::Center, words, font, theme.ink);
        return;
    }
    let off_s = report.turn_off_us * 1e-6;
    let (from_s, to_s) = (mark_s - 0.35 * off_s, mark_s + 2.2 * off_s);
    let x_of = |s: f64| low.left() + ((s - from_s) / (to_s - from_s)) as f32 * low.width();
    let threshold_y = low.bottom() - THRESHOLD_SHARE as f32 * low.height();
    for (share, y) in [(0.0, low.bottom()), (THRESHOLD_SHARE, threshold_y), (1.0, low.top())] {
        p.hline(low.x_range(), y, Stroke::new(stroke::RULE, theme.grid));
        let volt = format!("{:.1}", share * idle_v);
        text::cap(&p, low.left() - 8.0, y, Align::Max, &volt, font.clone(), theme.ink2);
    }
    hatch::dashed_line(&p, pos2(low.left(), threshold_y), pos2(low.right(), threshold_y), planned, 4.0, 3.0);
    let (pin_x, high_x) = (x_of(mark_s), x_of(mark_s + off_s));
    hatch::dashed_line(&p, pos2(pin_x, low.top()), pos2(pin_x, low.bottom()), planned, 4.0, 3.0);
    p.vline(high_x, threshold_y..=low.bottom(), Stroke::new(stroke::RULE, theme.edge));
    let clipped = p.with_clip_rect(low.expand(1.0));
    clipped.add(Shape::line(trace(low, from_s, to_s), line));
    p.circle_filled(pos2(high_x, threshold_y), 3.0, theme.ink);
    let y = well.bottom() - 10.0;
    text::cap(&p, pin_x, y, Align::Center, "pin", font, theme.ink2);
    text::cap(
        &p,
        high_x,
        y,
        Align::Center,
        &mark_text(report.turn_off_us),
        theme::bold(size::AXIS),
        theme.ink,
    );
}
