//! Dwell against how long a tap takes, and under it against errors. The planned dwell dashed, the shortest
//! safe one ringed, the proposed one solid. Knows no model.

use egui::{Align, Painter, Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::bands::dwell::{DwellRow, DwellTable};
use crate::view::theme::{Theme, bold, regular, size, stroke};
use crate::view::widgets::{hatch, text};

/// Common practice: eight equal readings, 10 ms apart.
const COMMON_MS: f64 = 80.0;
/// Room for the labels of the vertical axis, and under the horizontal one.
const LEFT: f32 = 44.0;
const FOOT: f32 = 22.0;
/// Room over the plot for the names of the marked dwells.
const TOP: f32 = 24.0;
/// The errors' share of the height.
const ERRORS: f32 = 0.34;

/// What the chart stands on, for its bracket.
pub(super) fn under(table: &DwellTable) -> String {
    format!("{} presses, {} slow, settle limit {:.0} counts", table.presses, table.slow, table.settle_count)
}

/// Where the numbers lie.
struct Chart {
    plot: Rect,
    errors: Rect,
    top_ms: f64,
}

impl Chart {
    fn x(&self, dwell_ms: f64) -> f32 {
        self.plot.left() + self.plot.width() * (dwell_ms / 65.0) as f32
    }

    fn y(&self, latency_ms: f64) -> f32 {
        self.plot.bottom() - self.plot.height() * (latency_ms / self.top_ms).min(1.0) as f32
    }

    /// From one error to all: a decade a fixed height, so that a single one is seen.
    fn bar(&self, errors: u32, of: u32) -> f32 {
        if errors == 0 {
            return 0.0;
        }
        let full = f64::from(of.max(2)).ln_1p();
        self.errors.height() * (f64::from(errors).ln_1p() / full).clamp(0.08, 1.0) as f32
    }
}

/// Draws it.
pub(super) fn chart_ui(ui: &mut Ui, table: &DwellTable, size: Vec2) {
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let said = spoken(table);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &said));
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let body = Rect::from_min_max(rect.min + vec2(LEFT, TOP), rect.max - vec2(0.0, FOOT));
    let cut = body.bottom() - ERRORS * body.height();
    let longest =
        table.rows.iter().filter_map(|row| row.latency).fold(COMMON_MS, |most, l| most.max(l.p95_ms));
    let chart = Chart {
        plot: Rect::from_min_max(body.min, pos2(body.right(), cut - 6.0)),
        errors: Rect::from_min_max(pos2(body.left(), cut + 6.0), body.max),
        top_ms: (longest / 20.0).ceil() * 20.0 + 30.0,
    };
    p.rect_filled(chart.plot, 0, theme.well);
    p.rect_filled(chart.errors, 0, theme.well);
    axes(p, &theme, &chart);
    error_scale(p, &theme, &chart, table);
    marks(p, &theme, &chart, table);
    latency(p, &theme, &chart, table);
    for row in &table.rows {
        errors(p, &theme, &chart, row);
    }
}

fn axes(p: &Painter, theme: &Theme, chart: &Chart) {
    let grid = Stroke::new(stroke::RULE, theme.grid);
    let mut ms = 0.0;
    while ms <= chart.top_ms {
        let y = p.round_to_pixel_center(chart.y(ms));
        p.hline(chart.plot.x_range(), y, grid);
        text::cap(
            p,
            chart.plot.left() - 8.0,
            y,
            Align::Max,
            &format!("{ms}"),
            regular(size::AXIS),
            theme.ink3,
        );
        ms += 20.0;
    }
    for dwell in (0..=64).step_by(8) {
        let x = p.round_to_pixel_center(chart.x(f64::from(dwell)));
        p.vline(x, chart.plot.y_range(), grid);
        p.vline(x, chart.errors.y_range(), grid);
        let name = if dwell == 64 { "64 ms".to_owned() } else { dwell.to_string() };
        let y = chart.errors.bottom() + 12.0;
        text::cap(p, x, y, Align::Center, &name, regular(size::AXIS), theme.ink3);
    }
    let inside = chart.plot.left() + 8.0;
    text::cap(
        p,
        inside,
        chart.plot.top() + 12.0,
        Align::Min,
        "ms until a tap is decided",
        regular(size::AXIS),
        theme.ink2,
    );
    let right = chart.errors.right() - 8.0;
    text::cap(
        p,
        right,
        chart.errors.top() + 12.0,
        Align::Max,
        "errors: wrong hatched, missed outlined",
        regular(size::AXIS),
        theme.ink2,
    );
    let y = chart.y(COMMON_MS);
    hatch::dashed_line(p, pos2(chart.plot.left(), y), pos2(chart.plot.right(), y), theme.outline(), 6.0, 4.0);
    text::cap(
        p,
        chart.plot.right() - 8.0,
        y - 10.0,
        Align::Max,
        "eight readings 10 ms apart: 80 ms",
        regular(size::AXIS),
        theme.ink2,
    );
}

/// How many errors a bar's height is.
fn error_scale(p: &Painter, theme: &Theme, chart: &Chart, table: &DwellTable) {
    let Some(of) = table.rows.first().map(|row| row.recorded.of + row.made.of) else { return };
    for errors in [1, 10, 100].into_iter().filter(|&errors| errors < of) {
        let y = p.round_to_pixel_center(chart.errors.bottom() - chart.bar(errors, of));
        p.hline(chart.errors.x_range(), y, Stroke::new(stroke::RULE, theme.grid));
        let x = chart.errors.left() - 8.0;
        text::cap(p, x, y, Align::Max, &errors.to_string(), regular(size::AXIS), theme.ink3);
    }
}

/// The dwells that mean something.
fn marks(p: &Painter, theme: &Theme, chart: &Chart, table: &DwellTable) {
    let tall = chart.plot.top()..=chart.errors.bottom();
    let planned = chart.x(f64::from(table.planned_ms));
    hatch::dashed_line(
        p,
        pos2(planned, *tall.start()),
        pos2(planned, *tall.end()),
        Stroke::new(stroke::BAND, theme.ink2),
        4.0,
        3.0,
    );
    let y = chart.plot.top() - 12.0;
    let Some(ms) = table.proposed_ms else {
        text::cap(
            p,
            planned,
            y,
            Align::Center,
            &format!("planned {} ms", table.planned_ms),
            regular(size::BODY),
            theme.ink2,
        );
        return;
    };
    let proposed = chart.x(f64::from(ms));
    p.vline(proposed, tall.start() - 4.0..=*tall.end(), Stroke::new(stroke::BAND, theme.ink));
    if ms == table.planned_ms {
        text::cap(
            p,
            proposed,
            y,
            Align::Center,
            &format!("{ms} ms proposed and planned"),
            bold(size::BODY),
            theme.ink,
        );
        return;
    }
    // Away from each other, whichever is longer.
    let (near, far) = if proposed < planned { (Align::Max, Align::Min) } else { (Align::Min, Align::Max) };
    let aside = |align: Align| if align == Align::Max { 2.0 } else { -2.0 };
    text::cap(p, proposed + aside(near), y, near, &format!("proposed {ms} ms"), bold(size::BODY), theme.ink);
    text::cap(
        p,
        planned + aside(far),
        y,
        far,
        &format!("planned {} ms", table.planned_ms),
        regular(size::BODY),
        theme.ink2,
    );
}

/// The median solid, the slowest twentieth thin, the safe dwell ringed.
fn latency(p: &Painter, theme: &Theme, chart: &Chart, table: &DwellTable) {
    let line = |of: fn(&crate::bands::dwell::Latency) -> f64| {
        let point =
            |row: &DwellRow| Some(pos2(chart.x(f64::from(row.dwell_ms)), chart.y(of(row.latency.as_ref()?))));
        table.rows.iter().filter_map(point).collect::<Vec<_>>()
    };
    p.add(Shape::line(line(|latency| latency.p95_ms), Stroke::new(stroke::RULE, theme.ink3)));
    p.add(Shape::line(line(|latency| latency.median_ms), Stroke::new(stroke::NODE, theme.ink)));
    let safe = table.safe_ms.and_then(|ms| table.row(ms)).and_then(|row| Some((row.dwell_ms, row.latency?)));
    if let Some((ms, latency)) = safe {
        let at = pos2(chart.x(f64::from(ms)), chart.y(latency.median_ms));
        p.circle(at, 6.0, theme.well, Stroke::new(stroke::NODE, theme.ink));
        let said = format!("{ms} ms safe");
        text::cap(p, at.x - 6.0, at.y - 14.0, Align::Max, &said, regular(size::BODY), theme.ink);
    }
}

/// A dwell's errors: wrong ones in the colour of refusal, missed ones outlined over them.
fn errors(p: &Painter, theme: &Theme, chart: &Chart, row: &DwellRow) {
    let of = row.recorded.of + row.made.of;
    let (wrong, missed) = (row.recorded.wrong + row.made.wrong, row.recorded.missed + row.made.missed);
    let x = chart.x(f64::from(row.dwell_ms));
    let half = (0.4 * chart.plot.width() / 65.0).max(1.5);
    let bar = |errors: u32| {
        let high = chart.bar(errors, of);
        Rect::from_min_max(
            pos2(x - half, chart.errors.bottom() - high),
            pos2(x + half, chart.errors.bottom()),
        )
    };
    if wrong > 0 {
        let place = bar(wrong);
        hatch::alarm(p, theme, place, hatch::Hatch::REFUSED);
        p.rect_stroke(place, 0, Stroke::new(stroke::RULE, theme.alarm), egui::StrokeKind::Inside);
    }
    if missed > 0 {
        p.rect_stroke(bar(missed), 0, theme.outline(), egui::StrokeKind::Inside);
    }
}

/// The chart for those who don't see it.
fn spoken(table: &DwellTable) -> String {
    let at = |ms: u8| {
        table
            .row(ms)
            .and_then(|row| row.latency)
            .map_or_else(String::new, |l| format!(", taps in {:.0} ms", l.median_ms))
    };
    let safe = table
        .safe_ms
        .map_or_else(|| "no dwell is safe".to_owned(), |ms| format!("safe from {ms} ms{}", at(ms)));
    let proposed = table
        .proposed_ms
        .map_or_else(|| "none proposed".to_owned(), |ms| format!("proposed {ms} ms{}", at(ms)));
    format!(
        "Dwell from 1 to 64 ms: {safe}; {proposed}; planned {} ms{}",
        table.planned_ms,
        at(table.planned_ms)
    )
}
