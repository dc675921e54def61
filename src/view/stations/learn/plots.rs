//! The plots that share the count axis: trace, spine, rungs, and the nearest gap beside them.

use egui::{Rangef, Rect, Ui, pos2};

use super::{Draft, rows, wheel};
use crate::app::link::Phase;
use crate::app::{Action, LearnAction, Model};
use crate::bands::Touch;
use crate::units::time_text;
use crate::view::stations::live_count;
use crate::view::theme::Theme;
use crate::view::widgets::bracket;
use crate::view::widgets::button::Button;
use crate::view::widgets::layout::{Layout, WidthClass};
use crate::view::widgets::plot::axis::{Axis, spine_ui};
use crate::view::widgets::plot::rungs::{Labels, rungs_ui};
use crate::view::widgets::plot::trace::{Trace, TraceAnswer, empty_ui, trace_ui};
use crate::view::widgets::plot::{RungRow, gap};

/// Room for the bracket over a plot.
const BRACKET: f32 = 20.0;
/// Room for the times under the trace.
const TIMES: f32 = 24.0;

/// How the plots share their width.
struct Columns {
    trace: Rangef,
    spine: Rangef,
    rungs: Rangef,
    lane: f32,
    gap: Option<Rangef>,
    labels: Labels,
}

/// What the plots are for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plots {
    /// The button asked for or chosen, from 0.
    pub(super) current: Option<usize>,
    /// Whether a drag takes a stretch.
    pub(super) selects: bool,
    /// Room left free under the nearest gap, for the demo's wheel.
    pub(super) gap_foot: f32,
}

/// Draws the plots into `rect`, brackets and times included. Gives where the column of the nearest
/// gap is.
pub(super) fn plots_ui(
    ui: &mut Ui,
    rect: Rect,
    model: &Model,
    draft: &mut Draft,
    layout: &Layout,
    plots: Plots,
    actions: &mut Vec<Action>,
) -> Option<Rect> {
    let theme = Theme::of(ui.ctx());
    let narrow = layout.class == WidthClass::Narrow;
    let top = if narrow { rect.top() } else { rect.top() + BRACKET + 2.0 };
    let y = Rangef::new(top, (rect.bottom() - TIMES).max(top + 60.0));
    let columns = columns(rect, layout);
    let wire = model.learn.wire;
    let rows = rows::rungs(model, wire);
    let nearest = rows::nearest(&rows, plots.current);
    let trace_rect = Rect::from_x_y_ranges(columns.trace, y);
    let axis = Axis::over(trace_rect, draft.axis);
    let (from_ms, to_ms, follows) = shown(model);
    if !narrow {
        let p = ui.painter();
        let at = rect.top() + 4.0;
        let span = if follows {
            format!("last {}", plain_time(model.learn.span_ms))
        } else {
            span_words(from_ms, to_ms)
        };
        bracket::bracket(p, &theme, columns.trace, at, &format!("Wire {}", wire + 1), &span);
        bracket::bracket(p, &theme, columns.rungs, at, "Rungs", &rows::measured_words(&rows));
    }
    trace(ui, trace_rect, model, draft, &axis, &rows, plots.selects, actions);
    wire_ui(ui, trace_rect, model, actions);
    let spine = Rect::from_x_y_ranges(columns.spine, y);
    if let (_, Some(range)) = spine_ui(ui, spine, &axis, live_count(model, wire)) {
        draft.axis = range;
    }
    let rungs = Rect::from_x_y_ranges(columns.rungs, y);
    rungs_ui(ui, rungs, columns.lane, &axis, &rows, plots.current, columns.labels);
    let gap_x = columns.gap?;
    let whole = Rect::from_x_y_ranges(gap_x, Rangef::new(rect.top(), y.max));
    if plots.gap_foot >= whole.height() {
        return Some(whole);
    }
    let gap_y = Rangef::new(y.min, (y.max - plots.gap_foot).max(y.min + 60.0));
    let gap_rect = Rect::from_x_y_ranges(gap_x, gap_y);
    let times =
        nearest.map(|(lower, upper)| format!("×{:.0}", gap::enlargement(gap_rect, lower, upper, &axis)));
    bracket::bracket(
        ui.painter(),
        &theme,
        gap_x,
        rect.top() + 4.0,
        "Nearest gap",
        times.as_deref().unwrap_or_default(),
    );
    match nearest {
        Some((lower, upper)) => gap::gap_ui(ui, gap_rect, lower, upper),
        None => {
            ui.push_id("no gap", |ui| empty_ui(ui, gap_rect, "Shows once two rungs are known."));
        }
    }
    Some(whole)
}

fn columns(rect: Rect, layout: &Layout) -> Columns {
    let (spine, lane, labels, label_room, gap) = match layout.class {
        WidthClass::Wide if layout.is_large() => (48.0, 160.0, Labels::Two, 236.0, Some(280.0)),
        WidthClass::Wide => (48.0, 116.0, Labels::Two, 216.0, Some(196.0)),
        WidthClass::Medium => (44.0, 96.0, Labels::One, 184.0, Some(176.0)),
        WidthClass::Narrow => (44.0, 80.0, Labels::Name, 138.0, None),
    };
    let rungs = lane + label_room;
    let gap_from = gap.map_or(rect.right(), |wide| rect.right() - wide);
    let rungs_to = if gap.is_some() { gap_from - 24.0 } else { rect.right() };
    let rungs_from = rungs_to - rungs;
    let spine_from = rungs_from - spine;
    Columns {
        trace: Rangef::new(rect.left(), spine_from.max(rect.left() + 60.0)),
        spine: Rangef::new(spine_from, rungs_from),
        rungs: Rangef::new(rungs_from, rungs_to),
        lane,
        gap: gap.map(|_| Rangef::new(gap_from, rect.right())),
        labels,
    }
}

/// The part of the recording that is shown, and whether its end is the live reading.
pub(super) fn shown(model: &Model) -> (f64, f64, bool) {
    let last = model.recording.last_t_ms().unwrap_or(0.0);
    let end = model.learn.end_ms.unwrap_or(last);
    (end - model.learn.span_ms, end, model.learn.end_ms.is_none())
}

/// With two wires, a switch between them in the trace's corner.
fn wire_ui(ui: &mut Ui, trace: Rect, model: &Model, actions: &mut Vec<Action>) {
    if model.recording.wires() < 2 && model.link.wires < 2 {
        return;
    }
    let other = 1 - model.learn.wire.min(1);
    let label = format!("Show wire {}", other + 1);
    let corner = Rect::from_min_max(
        pos2(trace.left() + 6.0, trace.bottom() - 34.0),
        pos2(trace.left() + 126.0, trace.bottom() - 6.0),
    );
    if Button::line(&label).height(corner.height()).show_at(ui, corner).clicked() {
        actions.push(Action::Learn(LearnAction::Wire(other)));
    }
}

#[expect(clippy::too_many_arguments, reason = "the trace stands between the model, the axis and the person")]
fn trace(
    ui: &mut Ui,
    rect: Rect,
    model: &Model,
    draft: &mut Draft,
    axis: &Axis,
    rows: &[RungRow],
    selects: bool,
    actions: &mut Vec<Action>,
) {
    let wire = model.learn.wire;
    let (from_ms, to_ms, follows) = shown(model);
    if model.recording.is_empty() {
        let words = match model.link.phase {
            Phase::Closed => {
                "Nothing is connected. Click the link at the top right to choose where readings come from."
            }
            Phase::Gone => "The port went away. It is picked up again by itself.",
            Phase::Opening(_) => "Waiting for the first reading.",
            Phase::Open => "Connected. The first reading shows here.",
        };
        empty_ui(ui, rect, words);
        return;
    }
    let columns = (rect.width().round() as usize).max(1);
    model.recording.envelope(wire, from_ms, to_ms, columns, &mut draft.columns);
    let losses = model.recording.losses_between(from_ms, to_ms);
    let bands = rows::bands(rows);
    let marks = rows::marks(model, wire, from_ms, to_ms);
    let drag = match draft.dragging {
        Some((from_ms, to_ms)) => {
            Some(crate::view::widgets::plot::trace::TraceDrag { from_ms, to_ms, settled: None })
        }
        None => rows::drag(model, wire),
    };
    let name = format!("Wire {}", wire + 1);
    let trace = Trace {
        name: &name,
        columns: &draft.columns,
        from_ms,
        to_ms,
        follows,
        stopped_ms: (!model.link.is_open() && follows).then_some(to_ms),
        losses_ms: &losses,
        bands: &bands,
        marks: &marks,
        drag,
        selects,
    };
    let (_, answer) = trace_ui(ui, rect, axis, &trace);
    let span_ms = model.learn.span_ms;
    let to_ms_shown = to_ms;
    let look = |end_ms: f64, span_ms: f64| Action::Learn(LearnAction::Look { end_ms: Some(end_ms), span_ms });
    match answer {
        Some(TraceAnswer::Drag { from_ms, to_ms, done }) => {
            // Where the drag began stays where it was, and the view with it, while readings come in.
            let from_ms = draft.dragging.map_or(from_ms, |(from_ms, _)| from_ms);
            if draft.dragging.is_none() && follows {
                actions.push(look(to_ms_shown - 1.0, span_ms));
            }
            draft.dragging = (!done).then_some((from_ms, to_ms));
            if done {
                actions.push(Action::Learn(LearnAction::Drag { wire, from_ms, to_ms }));
            }
        }
        Some(TraceAnswer::Click(at_ms)) => actions.push(Action::Learn(LearnAction::Pick { wire, at_ms })),
        Some(TraceAnswer::Move(by_ms)) => actions.push(look(to_ms + by_ms, span_ms)),
        Some(TraceAnswer::Zoom(about_ms, factor)) => {
            let span = span_ms / factor;
            let share = (to_ms - about_ms) / span_ms;
            if follows {
                actions.push(Action::Learn(LearnAction::Look { end_ms: None, span_ms: span }));
            } else {
                actions.push(look(about_ms + share * span, span));
            }
        }
        None => {}
    }
}

/// The least height at which the nearest gap says more than it costs, in points.
const GAP_LEAST: f32 = 150.0;

/// How much of the last column the demo's wheel takes: its foot, or all of it where both would be
/// too small to read.
pub(super) fn wheel_foot(model: &Model, plots: Rect) -> f32 {
    let column = plots.height() - TIMES;
    match (model.link.is_demo(), column - wheel::HEIGHT - BRACKET >= GAP_LEAST) {
        (false, _) => 0.0,
        (true, true) => wheel::HEIGHT,
        (true, false) => column.max(1.0),
    }
}

/// The demo's wheel at the foot of the last column.
pub(super) fn wheel_at_foot(
    ui: &mut Ui,
    column: Option<Rect>,
    foot: f32,
    model: &Model,
    draft: &mut Draft,
    touch: Touch,
    actions: &mut Vec<Action>,
) {
    let Some(column) = column.filter(|_| foot > 0.0) else { return };
    let top = if foot >= column.height() { column.top() } else { column.bottom() - foot + 10.0 };
    let rect = Rect::from_min_max(pos2(column.left(), top), column.max);
    wheel::wheel_ui(ui, rect, model, &mut draft.hand, touch, actions);
}

/// `14 s`, `2 min 20 s`: no more figures than a bracket needs.
fn plain_time(ms: f64) -> String {
    if (1e3..59.5e3).contains(&ms) { format!("{:.0} s", ms / 1e3) } else { time_text(ms) }
}

fn span_words(from_ms: f64, to_ms: f64) -> String {
    format!("{} to {}", clock(from_ms), clock(to_ms))
}

/// `1:02.5` from the recording's beginning.
fn clock(ms: f64) -> String {
    let s = (ms / 1e3).max(0.0);
    let minutes = (s / 60.0).floor();
    format!("{minutes:.0}:{:04.1}", s - minutes * 60.0)
}

/// Where the acting row of a station begins, for what stands at its right end.
pub(super) fn right_end(layout: &Layout) -> egui::Pos2 {
    pos2(layout.acting.right(), layout.acting.center().y)
}
