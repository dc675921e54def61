//! The live trace: one wire's readings over time, on the shared count axis. The line is egui_plot's;
//! what stands under and over it (bands, settled bars, marks, the dragged stretch) is ours.

use egui::{Align, CursorIcon, Painter, PointerButton, Pos2, Rangef, Rect, Response, Stroke, Ui, Vec2, pos2};
use egui_plot::{Line, Plot, PlotBounds, PlotPoint, PlotPoints};

use super::axis::Axis;
use crate::signal::Column;
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{hatch, plate, text};

/// A measured band behind the trace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TraceBand {
    /// Which button, from 0.
    pub index: usize,
    /// Its lower edge, in counts.
    pub low: f64,
    /// Its upper edge.
    pub high: f64,
}

/// A press taken or refused.
#[derive(Clone, Debug, PartialEq)]
pub struct TraceMark {
    /// Where its settled part begins, in milliseconds.
    pub from_ms: f64,
    /// Where it ends.
    pub to_ms: f64,
    /// Where it settled, in counts.
    pub count: f64,
    /// Which button, from 0.
    pub index: usize,
    /// Whether it was refused.
    pub refused: bool,
}

/// A stretch dragged by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TraceDrag {
    /// Where it begins, in milliseconds.
    pub from_ms: f64,
    /// Where it ends.
    pub to_ms: f64,
    /// Its settled part: from, to, and the count.
    pub settled: Option<(f64, f64, f64)>,
}

/// What the trace shows.
#[derive(Clone, Copy, Debug)]
pub struct Trace<'a> {
    /// The wire's name, for the screen reader.
    pub name: &'a str,
    /// The envelope, one column a point.
    pub columns: &'a [Column],
    /// From when, in milliseconds.
    pub from_ms: f64,
    /// To when.
    pub to_ms: f64,
    /// Whether the right edge is now.
    pub follows: bool,
    /// Where readings stopped, if they did.
    pub stopped_ms: Option<f64>,
    /// Where readings are missing.
    pub losses_ms: &'a [f64],
    /// Measured bands.
    pub bands: &'a [TraceBand],
    /// Presses.
    pub marks: &'a [TraceMark],
    /// The stretch dragged by hand.
    pub drag: Option<TraceDrag>,
    /// Whether dragging takes a stretch; otherwise it moves the view.
    pub selects: bool,
}

/// What the person did to the trace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TraceAnswer {
    /// Dragged from here to there; still dragging while not `done`.
    Drag {
        /// Where the drag began, in milliseconds.
        from_ms: f64,
        /// Where it is.
        to_ms: f64,
        /// Whether the button was let go.
        done: bool,
    },
    /// Clicked here.
    Click(f64),
    /// Moved by so many milliseconds.
    Move(f64),
    /// Zoomed about a time by a factor; above 1 shows less.
    Zoom(f64, f64),
}

/// The widest spread of a column that still counts as settled, in counts.
const SETTLED_COLUMN: f64 = 24.0;

/// A settled bar is at least this long, in columns.
const SETTLED_COLUMNS: usize = 3;

/// Half the height of a settled bar, in points.
const BAR_HALF: f32 = 5.0;

/// Draws the trace into `rect`, with the times under it.
pub fn trace_ui(ui: &mut Ui, rect: Rect, axis: &Axis, trace: &Trace<'_>) -> (Response, Option<TraceAnswer>) {
    let theme = Theme::of(ui.ctx());
    let pitch = if trace.follows { PITCH.0 } else { PITCH.1 };
    let time = Time { rect, pitch, from_ms: trace.from_ms, to_ms: trace.to_ms };
    let p = ui.painter_at(rect);
    p.rect_filled(rect, 0, theme.well);
    grid(&p, &theme, rect, axis, &time);
    if let Some(drag) = trace.drag {
        let range = Rangef::new(time.x(drag.from_ms), time.x(drag.to_ms));
        p.rect_filled(Rect::from_x_y_ranges(range, rect.y_range()).intersect(rect), 0, theme.pick);
    }
    for band in trace.bands {
        let range = Rangef::new(axis.y_within(band.high), axis.y_within(band.low));
        p.rect_filled(Rect::from_x_y_ranges(rect.x_range(), range), 0, theme.button(band.index).trace);
    }
    settled_bars(&p, &theme, rect, axis, trace);
    let response = line_ui(ui, rect, axis, trace, &theme);
    let p = ui.painter_at(rect);
    for &ms in trace.losses_ms {
        let x = time.x(ms);
        hatch::dashed_line(
            &p,
            pos2(x, rect.top()),
            pos2(x, rect.bottom()),
            Stroke::new(1.0, theme.edge),
            2.0,
            4.0,
        );
    }
    for mark in trace.marks {
        draw_mark(&p, &theme, axis, &time, mark);
    }
    if let Some(drag) = trace.drag {
        draw_drag(&p, &theme, rect, axis, &time, drag);
    }
    if let Some(stopped) = trace.stopped_ms {
        let x = time.x(stopped).min(rect.right() - 1.0);
        hatch::dashed_line(
            &p,
            pos2(x, rect.top()),
            pos2(x, rect.bottom()),
            Stroke::new(1.5, theme.alarm_ink),
            4.0,
            3.0,
        );
    } else if trace.follows {
        p.vline(rect.right() - 0.5, rect.y_range(), Stroke::new(1.0, theme.ink));
    }
    time_labels(ui.painter(), &theme, rect, &time, trace.follows);
    let answer = answer(ui, &response, &time, trace.selects);
    (response, answer)
}

/// Least distance of two times' labels, in points: while following, and with whole times.
const PITCH: (f32, f32) = (52.0, 72.0);

/// Maps times to x.
struct Time {
    rect: Rect,
    /// Least distance of two labels.
    pitch: f32,
    from_ms: f64,
    to_ms: f64,
}

impl Time {
    fn x(&self, ms: f64) -> f32 {
        let share = (ms - self.from_ms) / (self.to_ms - self.from_ms).max(1e-6);
        self.rect.left() + (share as f32).clamp(-2.0, 3.0) * self.rect.width()
    }

    fn at(&self, x: f32) -> f64 {
        let share = f64::from((x - self.rect.left()) / self.rect.width().max(1.0));
        self.from_ms + share * (self.to_ms - self.from_ms)
    }

    /// From line to line of the grid, in milliseconds, so that labels have room.
    fn step_ms(&self) -> f64 {
        let span = self.to_ms - self.from_ms;
        let most = f64::from(self.rect.width() / self.pitch).max(1.0);
        STEPS_MS.iter().copied().find(|step| span / step <= most).unwrap_or(span)
    }
}

/// Steps a person counts in, in milliseconds.
const STEPS_MS: [f64; 20] = [
    10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 10e3, 20e3, 30e3, 60e3, 120e3, 300e3, 600e3, 900e3,
    1800e3, 3600e3, 7200e3,
];

fn grid(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, time: &Time) {
    let line = Stroke::new(stroke::RULE, theme.grid);
    let mut count = 0.0;
    while count <= 1024.0 {
        let y = axis.y(count).round() + 0.5;
        if rect.y_range().contains(y) {
            p.hline(rect.x_range(), y, line);
        }
        count += 128.0;
    }
    for (x, _) in ticks(time) {
        p.vline(x.round() + 0.5, rect.y_range(), line);
    }
}

/// Where grid lines stand, with how long before the end that is.
fn ticks(time: &Time) -> Vec<(f32, f64)> {
    let step = time.step_ms();
    let mut ticks = Vec::new();
    let mut ago = 0.0;
    while time.to_ms - ago >= time.from_ms && ticks.len() < 200 {
        ticks.push((time.x(time.to_ms - ago), ago));
        ago += step;
    }
    ticks
}

fn time_labels(p: &Painter, theme: &Theme, rect: Rect, time: &Time, follows: bool) {
    let font = theme::regular(size::AXIS);
    let y = rect.bottom() + 12.0;
    for (x, ago) in ticks(time) {
        if x - rect.left() < 18.0 {
            continue;
        }
        let words = match (follows, ago == 0.0) {
            (true, true) => "now".to_owned(),
            (true, false) => format!("−{}", ago_text(ago)),
            (false, _) => at_text(time.to_ms - ago),
        };
        let align = if ago == 0.0 { Align::Max } else { Align::Center };
        text::cap(p, x.min(rect.right() - 2.0), y, align, &words, font.clone(), theme.ink2);
    }
}

/// `2 s`, `0.2 s`, `5 min`.
fn ago_text(ms: f64) -> String {
    if ms >= 60e3 { format!("{:.0} min", ms / 60e3) } else { format!("{} s", ms / 1e3) }
}

/// `1:02.5` from the recording's beginning.
fn at_text(ms: f64) -> String {
    let ms = ms.max(0.0);
    let minutes = (ms / 60e3).floor();
    let seconds = ms / 1e3 - minutes * 60.0;
    if minutes == 0.0 { format!("{seconds:.1} s") } else { format!("{minutes:.0}:{seconds:04.1}") }
}

/// The readings as two points a column, the nearer end first, so that columns join the short way.
fn points(columns: &[Column], from_ms: f64, to_ms: f64) -> Vec<PlotPoint> {
    let step = (to_ms - from_ms) / columns.len().max(1) as f64;
    let mut points: Vec<PlotPoint> = Vec::with_capacity(columns.len() * 2);
    for (number, column) in columns.iter().enumerate() {
        let (Some(low), Some(high)) = (column.low.count(), column.high.count()) else { continue };
        let x = (from_ms + (number as f64 + 0.5) * step) / 1e3;
        let before = points.last().map_or(low, |point| point.y);
        let up = (before - low).abs() <= (before - high).abs();
        let (first, second) = if up { (low, high) } else { (high, low) };
        points.push(PlotPoint::new(x, first));
        if second != first {
            points.push(PlotPoint::new(x, second));
        }
    }
    points
}

fn line_ui(ui: &mut Ui, rect: Rect, axis: &Axis, trace: &Trace<'_>, theme: &Theme) -> Response {
    let points = points(trace.columns, trace.from_ms, trace.to_ms);
    let bounds = PlotBounds::from_min_max(
        [trace.from_ms / 1e3, axis.low],
        [trace.to_ms.max(trace.from_ms + 1.0) / 1e3, axis.high],
    );
    let ink = theme.ink;
    let mut child = ui.new_child(egui::UiBuilder::new().max_rect(rect));
    let shown = Plot::new("trace")
        .id(ui.scope_id().with("trace"))
        .width(rect.width())
        .height(rect.height())
        .show_axes(false)
        .show_grid(false)
        .show_background(false)
        .show_x(false)
        .show_y(false)
        .show_crosshair(false)
        .set_margin_fraction(Vec2::ZERO)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .allow_axis_zoom_drag(false)
        .show(&mut child, |plot| {
            plot.set_plot_bounds(bounds);
            plot.line(
                Line::new("readings", PlotPoints::Owned(points))
                    .width(stroke::TRACE)
                    .color(ink)
                    .allow_hover(false),
            );
        });
    let name = format!("{}, live trace", trace.name);
    shown.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, &name));
    let cursor = if trace.selects { CursorIcon::Crosshair } else { CursorIcon::Grab };
    shown.response.on_hover_cursor(cursor)
}

/// Bars of the button's colour under the line where it rests in that button's band.
fn settled_bars(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, trace: &Trace<'_>) {
    let wide = rect.width() / trace.columns.len().max(1) as f32;
    let which = |column: &Column| {
        let (low, high) = (column.low.count()?, column.high.count()?);
        let middle = f64::midpoint(low, high);
        let band = trace.bands.iter().find(|band| middle >= band.low && middle <= band.high)?;
        (high - low <= SETTLED_COLUMN).then_some((band.index, middle))
    };
    let mut middles = Vec::new();
    let mut number = 0;
    while number < trace.columns.len() {
        let Some((index, _)) = which(&trace.columns[number]) else {
            number += 1;
            continue;
        };
        let first = number;
        middles.clear();
        while let Some((_, middle)) =
            trace.columns.get(number).and_then(which).filter(|(here, _)| *here == index)
        {
            middles.push(middle);
            number += 1;
        }
        if number - first < SETTLED_COLUMNS {
            continue;
        }
        // The median: on its way in, the wire crosses the band from edge to edge.
        let half = middles.len() / 2;
        let (_, middle, _) = middles.select_nth_unstable_by(half, f64::total_cmp);
        let y = axis.y(*middle);
        let bar = Rect::from_min_max(
            pos2(rect.left() + first as f32 * wide, y - BAR_HALF),
            pos2(rect.left() + number as f32 * wide, y + BAR_HALF),
        );
        p.rect_filled(bar, 0, theme.button(index).plate);
        if let Some(line) = theme.key_line() {
            p.rect_stroke(bar, 0, Stroke::new(1.0, line), egui::StrokeKind::Inside);
        }
    }
}

fn draw_mark(p: &Painter, theme: &Theme, axis: &Axis, time: &Time, mark: &TraceMark) {
    let (from, to) = (time.x(mark.from_ms), time.x(mark.to_ms));
    if to < time.rect.left() || from > time.rect.right() {
        return;
    }
    let middle = f32::midpoint(from, to);
    if mark.refused {
        let y = axis.y(mark.count);
        let over = Rect::from_min_max(pos2(from, y - 22.0), pos2(to.max(from + 4.0), y + 22.0));
        hatch::alarm(p, theme, over.intersect(time.rect), hatch::Hatch::REFUSED);
        icon(p, Icon::StopSign, pos2(middle, (y - 38.0).max(time.rect.top() + 10.0)), 1.1, theme.alarm_ink);
        return;
    }
    let top = time.rect.top();
    let line = Stroke::new(2.0, theme.ink);
    p.hline(Rangef::new(from, to), top + 30.0, line);
    p.vline(from, Rangef::new(top + 26.0, top + 34.0), line);
    p.vline(to, Rangef::new(top + 26.0, top + 34.0), line);
    plate::plate(p, theme, mark.index, pos2(middle, top + 14.0), 9.5, plate::PlateMode::Measured);
}

fn draw_drag(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, time: &Time, drag: TraceDrag) {
    let line = Stroke::new(1.5, theme.ink);
    for ms in [drag.from_ms, drag.to_ms] {
        let x = time.x(ms);
        hatch::dashed_line(p, pos2(x, rect.top()), pos2(x, rect.bottom()), line, 4.0, 3.0);
    }
    let Some((from_ms, to_ms, count)) = drag.settled else { return };
    let (from, to, y) = (time.x(from_ms), time.x(to_ms), axis.y(count));
    let over = Rect::from_min_max(pos2(from, y - 9.0), pos2(to, y + 9.0));
    p.rect_stroke(over, 0, Stroke::new(2.0, theme.ink), egui::StrokeKind::Middle);
    // The words stand where there is room: under the stretch, or over it.
    let down = if y + 90.0 < rect.bottom() { 1.0 } else { -1.0 };
    let thin = Stroke::new(1.0, theme.ink);
    let legs = Rangef::new((y + down * 10.0).min(y + down * 40.0), (y + down * 10.0).max(y + down * 40.0));
    p.vline(from, legs, thin);
    p.vline(to, legs, thin);
    let middle = f32::midpoint(from, to).clamp(rect.left() + 30.0, rect.right() - 30.0);
    let seconds = format!("{:.2} s", (to_ms - from_ms) / 1e3);
    backed(p, theme, pos2(middle, y + down * 54.0), "settled", true);
    backed(p, theme, pos2(middle, y + down * 72.0), &seconds, false);
}

/// Words over the trace, on a ground of their own.
fn backed(p: &Painter, theme: &Theme, at: Pos2, words: &str, strong: bool) {
    let font = if strong { theme::bold(size::BODY) } else { theme::regular(size::AXIS) };
    let half = text::width(p, words, font.clone()) / 2.0 + 3.0;
    p.rect_filled(Rect::from_center_size(at, Vec2::new(half * 2.0, 18.0)), 0, theme.pick);
    text::cap(p, at.x, at.y, Align::Center, words, font, if strong { theme.ink } else { theme.ink2 });
}

fn answer(ui: &Ui, response: &Response, time: &Time, selects: bool) -> Option<TraceAnswer> {
    let pointer = response.interact_pointer_pos().or_else(|| response.hover_pos())?;
    let here = time.at(pointer.x);
    let per_point = (time.to_ms - time.from_ms) / f64::from(time.rect.width().max(1.0));
    let moving = response.dragged_by(PointerButton::Middle)
        || response.dragged_by(PointerButton::Secondary)
        || (!selects && response.dragged_by(PointerButton::Primary));
    if moving {
        return Some(TraceAnswer::Move(-f64::from(response.drag_delta().x) * per_point));
    }
    if selects {
        let done = response.drag_stopped_by(PointerButton::Primary);
        if done || response.dragged_by(PointerButton::Primary) {
            let from =
                ui.input(|input| input.pointer.press_origin()).map_or(here, |origin| time.at(origin.x));
            return Some(TraceAnswer::Drag { from_ms: from, to_ms: here, done });
        }
        if response.clicked() {
            return Some(TraceAnswer::Click(here));
        }
    }
    if !response.hovered() {
        return None;
    }
    let wheel = ui.input(|input| input.smooth_scroll_delta());
    if wheel.y != 0.0 {
        return Some(TraceAnswer::Zoom(here, f64::from(wheel.y / 120.0).exp2()));
    }
    (wheel.x != 0.0).then(|| TraceAnswer::Move(-f64::from(wheel.x) * per_point))
}

/// A shape that says "no reading yet" where the trace will be.
pub fn empty_ui(ui: &mut Ui, rect: Rect, words: &str) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter_at(rect);
    p.rect_filled(rect, 0, theme.well);
    let galley =
        text::prose(&p, words, theme::regular(size::PROSE), theme.ink2, (rect.width() - 32.0).max(40.0), 4);
    let at = rect.center() - galley.size() / 2.0;
    p.galley(at, galley, theme.ink2);
    let response = ui.interact(rect, ui.scope_id().with("no trace"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, words));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::Level;

    fn column(low: f64, high: f64) -> Column {
        Column { low: Level::from_count(low), high: Level::from_count(high) }
    }

    #[test]
    fn a_column_is_two_points_at_most_and_the_nearer_end_comes_first() {
        let points = points(&[column(10.0, 12.0), column(11.0, 500.0), column(490.0, 505.0)], 0.0, 3.0);
        let counts: Vec<_> = points.iter().map(|point| point.y).collect();
        assert_eq!(counts, [10.0, 12.0, 11.0, 500.0, 505.0, 490.0]);
    }

    #[test]
    fn columns_without_readings_are_joined_over() {
        let none = Column { low: Level::NONE, high: Level::NONE };
        assert_eq!(points(&[column(10.0, 10.0), none, column(20.0, 20.0)], 0.0, 3.0).len(), 2);
    }

    #[test]
    fn time_steps_leave_room_for_their_labels() {
        for span in [200.0, 14_000.0, 3.6e6, 7.3e6] {
            let rect = Rect::from_min_max(pos2(0.0, 0.0), pos2(404.0, 300.0));
            let time = Time { rect, pitch: PITCH.0, from_ms: 0.0, to_ms: span };
            let ticks = ticks(&time);
            assert!(ticks.len() >= 2 && ticks.windows(2).all(|pair| pair[0].0 - pair[1].0 >= 48.0), "{span}");
        }
    }
}
