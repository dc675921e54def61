//! What the table comes to: the proposed dwell, what it stands on, what is missing, and some of its rows.
//! Knows no more of the model than names.

use egui::{Align, Rect, RichText, Role, Sense, Ui, WidgetInfo, vec2};

use crate::app::Model;
use crate::bands::Rung;
use crate::bands::dwell::{DwellRow, DwellTable, Wanting};
use crate::project::{DwellChoice, banding};
use crate::view::theme::{Theme, bold, regular, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::text;

/// The dwells shown as rows, beside those that mean something.
const SHOWN_MS: [u8; 4] = [8, 16, 24, 64];
/// A row's height.
const ROW: f32 = 26.0;

/// Draws it, downwards from `place`.
pub(super) fn side_ui(ui: &mut Ui, model: &Model, choice: &DwellChoice, place: Rect) {
    let table = &choice.table;
    let theme = Theme::of(ui.ctx());
    ui.spacing_mut().item_spacing = vec2(space::TIGHT, 6.0);
    ui.set_max_width(place.width());
    bracket_ui(ui, "Shortest safe dwell", "");
    let (word, line) = verdict(table);
    ui.label(RichText::new(word).font(bold(size::STATE)).color(theme.ink));
    let said = |ui: &mut Ui, line: &str| {
        ui.label(RichText::new(line).font(regular(size::BODY)).color(theme.ink2));
    };
    said(ui, &line);
    said(ui, &bound(table));
    for wanting in &table.wanting {
        said(ui, &wanting_text(model, wanting));
    }
    if model.derived.dwell.is_stale {
        ui.label(
            RichText::new("Presses or bands have changed since.").font(bold(size::BODY)).color(theme.ink),
        );
    }
    ui.add_space(space::TIGHT);
    bracket_ui(ui, "Some dwells", "recorded and made up");
    ui.spacing_mut().item_spacing.y = 0.0;
    rows_ui(ui, &theme, table, place.width());
    ui.add_space(space::TIGHT);
    said(ui, &chance(table));
}

/// The word and what it stands on.
fn verdict(table: &DwellTable) -> (String, String) {
    let made = table.rows.first().map_or(0, |row| row.made.of);
    let stands = format!(
        "{} recorded presses, {} of them slow, and {made} taps, slow presses and spikes made of them and of the bands.",
        table.presses, table.slow
    );
    match (table.safe_ms, table.proposed_ms) {
        (None, _) => (
            "No dwell is safe".to_owned(),
            format!("Lower the settle limit, or learn the buttons that go wrong anew. It stands on {stands}"),
        ),
        (Some(safe), None) => {
            (format!("Safe from {safe} ms"), format!("Too few presses to propose a dwell by: {stands}"))
        }
        (Some(safe), Some(ms)) => (
            format!("{ms} ms"),
            format!(
                "{} nothing goes wrong; {} ms are kept to spare. It stands on {stands}",
                table.good_text().unwrap_or_default(),
                ms - safe
            ),
        ),
    }
}

/// What was not seen, bounded.
fn bound(table: &DwellTable) -> String {
    let ms = table.proposed_ms.or(table.safe_ms).unwrap_or(table.planned_ms);
    let Some(row) = table.row(ms) else { return String::new() };
    format!(
        "{} presses, {} errors. At 95 % confidence at most {:.0} in 100 presses go wrong.",
        row.recorded.of,
        row.recorded.wrong.max(row.recorded.missed),
        (100.0 * row.wrong_upper.max(row.missed_upper)).ceil()
    )
}

fn wanting_text(model: &Model, wanting: &Wanting) -> String {
    match *wanting {
        Wanting::Button(place) => {
            let name = model
                .project()
                .map_or_else(String::new, |project| banding::rung_name(project, Rung::Button(place.into())));
            format!("No press of {name} was recorded: learn it again.")
        }
        Wanting::Slow { more, share } => {
            format!("{more} more slow presses make it 95 % sure below {} for slow ones.", percent_text(share))
        }
        Wanting::Presses { more, share } => {
            format!("{more} more presses make it 95 % sure below {}.", percent_text(share))
        }
    }
}

/// A share in percent.
fn percent_text(share: f64) -> String {
    format!("{} %", 100.0 * share)
}

/// What chance alone would do, and what that leaves out.
fn chance(table: &DwellTable) -> String {
    let (wrong, of) = table.wrong_readings;
    format!(
        "{wrong} of {of} settled readings lay in another band. Were they wrong one by one, a dwell of 4 ms would be fooled once in {}; a slow press is wrong all at once, and the settle limit stands against that.",
        table.row(4).map_or_else(String::new, |row| wait_text(row.run_wait_s))
    )
}

fn wait_text(wait_s: f64) -> String {
    const YEAR_S: f64 = 365.25 * 86_400.0;
    if wait_s >= YEAR_S {
        format!("{:.0} years", wait_s / YEAR_S)
    } else if wait_s >= 86_400.0 {
        format!("{:.0} days", wait_s / 86_400.0)
    } else {
        crate::units::time_text(1e3 * wait_s)
    }
}

fn rows_ui(ui: &mut Ui, theme: &Theme, table: &DwellTable, wide: f32) {
    let (rect, _) = ui.allocate_exact_size(vec2(wide, ROW), Sense::hover());
    let stops = [0.16, 0.45, 0.64, 0.83, 1.0];
    let at = |rect: Rect, stop: f32| rect.left() + stop * rect.width();
    let heads = ["dwell", "tap decided", "wrong", "missed", "of"];
    for (head, stop) in heads.into_iter().zip(stops) {
        text::cap(
            ui.painter(),
            at(rect, stop),
            rect.center().y,
            Align::Max,
            head,
            regular(size::AXIS),
            theme.ink3,
        );
    }
    let marked = [Some(table.planned_ms), table.safe_ms, table.proposed_ms];
    let is_shown = |row: &&DwellRow| SHOWN_MS.contains(&row.dwell_ms) || marked.contains(&Some(row.dwell_ms));
    for row in table.rows.iter().filter(is_shown) {
        let (rect, response) = ui.allocate_exact_size(vec2(wide, ROW), Sense::hover());
        let wrong = row.recorded.wrong + row.made.wrong;
        let missed = row.recorded.missed + row.made.missed;
        let of = row.recorded.of + row.made.of;
        let decided =
            row.latency.map_or_else(|| "-".to_owned(), |latency| format!("{:.0} ms", latency.median_ms));
        let said = format!(
            "Dwell {} ms: taps decided in {decided}, {wrong} wrong and {missed} missed of {of}",
            row.dwell_ms
        );
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &said));
        let p = ui.painter();
        p.hline(rect.x_range(), p.round_to_pixel_center(rect.top()), theme.hairline());
        let is_proposed = table.proposed_ms == Some(row.dwell_ms);
        let fields =
            [format!("{} ms", row.dwell_ms), decided, wrong.to_string(), missed.to_string(), of.to_string()];
        for ((field, stop), errors) in fields.into_iter().zip(stops).zip([0, 0, wrong, missed, 0]) {
            let font = if is_proposed { bold(size::BODY) } else { regular(size::BODY) };
            let colour = if errors > 0 { theme.alarm_ink } else { theme.ink };
            text::cap(p, at(rect, stop), rect.center().y, Align::Max, &field, font, colour);
        }
    }
}
