//! A wire's readings: the meter's, in fields, beside the ladder that fits, what each promises and what was
//! learned. Enter goes to the next row.

use egui::{Align, Key, Rect, Role, Sense, Ui, pos2, vec2};

use super::fields::{METER_OHM, Typed, number_at};
use crate::app::{Action, Edit, LearnAction, Station};
use crate::bands::Rung;
use crate::project::{Project, ReadingRow, WireReadings, meter_text, odd_text};
use crate::units::count_text;
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::{bracket, focus, plate, text};

/// What is typed.
#[derive(Debug, Default)]
pub(super) struct Draft {
    typed: Typed,
    /// The row whose field wants the keyboard, once.
    focus: Option<Rung>,
}

/// Height of a row, and of its field.
const ROW: f32 = 39.0;
const FIELD: (f32, f32) = (96.0, 32.0);

/// Where the columns end, from the left, in a table this wide.
struct Columns {
    name: f32,
    field: f32,
    ladder: f32,
    promised: Option<f32>,
    learned: Option<f32>,
    difference: f32,
}

impl Columns {
    /// With this much room for the names, as long as the figures keep theirs.
    fn of(width: f32, names: f32) -> Self {
        let narrow = width < 520.0;
        let name = 48.0;
        let (field, ladder) = if narrow {
            (width - 160.0, width - 74.0)
        } else {
            let room = width - 348.0 - FIELD.0 - name - 6.0;
            let more = (names - room).clamp(0.0, 32.0);
            (width - 348.0 + more, width - 270.0 + 0.8 * more)
        };
        let more = if narrow { 0.0 } else { field - (width - 348.0) };
        Self {
            name,
            field,
            ladder,
            promised: (!narrow).then_some(width - 182.0 + 0.5 * more),
            learned: (!narrow).then_some(width - 102.0 + 0.3 * more),
            difference: width,
        }
    }
}

/// Draws a wire's table, and what is odd in it.
pub(super) fn table_ui(
    ui: &mut Ui,
    project: &Project,
    readings: &WireReadings,
    several: bool,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) {
    let name = if several { format!("Readings of wire {}", readings.wire) } else { "Readings".to_owned() };
    bracket::bracket_ui(ui, &name, &format!("pressed, across wire {} and return", readings.wire));
    let names = readings.rows.iter().filter_map(|row| match row.rung {
        Rung::Button(index) => Some(project.wheel.buttons.get(index)?.name.clone()),
        Rung::Rest(_) => None,
    });
    let longest =
        names.map(|name| text::width(ui.painter(), &name, theme::bold(size::BODY))).fold(0.0, f32::max);
    let columns = Columns::of(ui.available_width(), longest);
    heads_ui(ui, &columns);
    let rows: Vec<&ReadingRow> = readings.rows.iter().chain([&readings.rest]).collect();
    let mut next = None;
    for (place, row) in rows.iter().enumerate() {
        if row_ui(ui, project, row, readings.wire, &columns, draft, actions) {
            next = rows.get(place + 1).map(|row| row.rung);
        }
    }
    if next.is_some() {
        draft.focus = next;
    }
    ui.add_space(space::TIGHT);
    for row in rows.iter().filter(|row| row.odd.is_some()) {
        odd_ui(ui, project, row, draft, actions);
    }
    if let Some((off, of)) = readings.circuit_off {
        let words = format!(
            "{off} of {of} buttons were learned far from what the meter promises: the circuit isn't as planned."
        );
        crate::view::stations::codes::prose(ui, &words, size::BODY, Theme::of(ui.ctx()).ink);
        ui.add_space(space::TIGHT);
    }
}

fn heads_ui(ui: &mut Ui, columns: &Columns) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 22.0), Sense::hover());
    let heads = [
        (Some(columns.field), "meter"),
        (Some(columns.ladder), "ladder"),
        (columns.promised, "promised"),
        (columns.learned, "learned"),
        (Some(columns.difference), "difference"),
    ];
    for (x, head) in heads {
        let Some(x) = x else { continue };
        let at = pos2(rect.left() + x, rect.center().y + 2.0);
        text::cap(ui.painter(), at.x, at.y, Align::Max, head, theme::regular(size::AXIS), theme.ink2);
    }
}

/// A row. True if Enter was pressed in its field.
fn row_ui(
    ui: &mut Ui,
    project: &Project,
    row: &ReadingRow,
    wire: u8,
    columns: &Columns,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) -> bool {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let p = ui.painter().clone();
    let y = rect.center().y;
    let is_odd = row.odd.is_some();
    if is_odd {
        p.rect_filled(rect.shrink2(vec2(0.0, 1.0)), 0, theme.raise);
        p.rect_filled(Rect::from_min_size(rect.min + vec2(0.0, 1.0), vec2(4.0, ROW - 2.0)), 0, theme.ink);
    }
    p.hline(rect.x_range(), rect.bottom(), egui::Stroke::new(1.0, theme.rule));
    let tag = pos2(rect.left() + 24.0, y);
    let name = match row.rung {
        Rung::Button(index) => {
            let button = project.wheel.buttons.get(index);
            let learned = button.is_some_and(|button| project.is_learned(&button.id));
            let mode = if learned { plate::PlateMode::Measured } else { plate::PlateMode::Planned };
            plate::plate(&p, &theme, index, tag, 12.5, mode);
            button.map_or("", |button| button.name.as_str())
        }
        Rung::Rest(_) => {
            plate::rest_tag(&p, &theme, tag, 8.0);
            "Rest"
        }
    };
    let field_left = rect.left() + columns.field - FIELD.0;
    let room = field_left - rect.left() - columns.name - 6.0;
    let font = theme::bold(size::BODY);
    let wide = text::cap_within(&p, rect.left() + columns.name, y, Align::Min, room, name, font, theme.ink);
    if wide > room - 12.0 {
        let place = Rect::from_min_size(pos2(rect.left() + columns.name, rect.top()), vec2(room, ROW));
        ui.interact(place, ui.make_persistent_id(("whole name", row.rung)), Sense::hover())
            .on_hover_text(name);
    }

    let place = Rect::from_min_size(pos2(field_left, y - FIELD.1 / 2.0), vec2(FIELD.0, FIELD.1));
    let label = match row.rung {
        Rung::Button(_) => format!("Meter ohms of {name}"),
        Rung::Rest(wire) => format!("Meter ohms of wire {wire} at rest"),
    };
    let (response, changed) = number_at(ui, place, &mut draft.typed, &label, row.meter_ohm, METER_OHM);
    if draft.focus == Some(row.rung) {
        draft.focus = None;
        response.request_focus();
    }
    if let Some(ohm) = changed {
        let edit = match row.rung {
            Rung::Button(index) => {
                project.wheel.buttons.get(index).map(|button| Edit::Meter(button.id.clone(), ohm))
            }
            Rung::Rest(wire) => Some(Edit::RestOhm(wire, ohm)),
        };
        actions.extend(edit.map(Action::Edit));
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));

    let right = |x: Option<f32>, words: &str, bold: bool, ink| {
        let Some(x) = x else { return 0.0 };
        let font = if bold { theme::bold(size::BODY) } else { theme::regular(size::BODY) };
        text::cap(&p, rect.left() + x, y, Align::Max, words, font, ink)
    };
    let ohm = row.ladder_ohm.map_or_else(|| "not yet".to_owned(), meter_text);
    right(Some(columns.ladder), &ohm, false, theme.ink2);
    let count = |count: Option<f64>| count.map_or_else(|| "–".to_owned(), |count| count_text(count, 0));
    right(columns.promised, &count(row.promised_count), false, theme.ink);
    right(columns.learned, &count(row.learned_count.map(f64::round)), false, theme.ink);
    let difference = difference_text(row);
    let wide = right(Some(columns.difference), &difference, is_odd, theme.ink);
    if is_odd {
        icon(&p, Icon::Caution, pos2(rect.left() + columns.difference - wide - 20.0, y), 0.9, theme.ink);
    }
    told_ui(ui, rect, row, name, wire, &ohm);
    entered
}

fn difference_text(row: &ReadingRow) -> String {
    match row.difference_count() {
        None => "–".to_owned(),
        Some(difference) if difference > 0.0 => format!("+{difference:.0}"),
        Some(difference) => count_text(difference, 0),
    }
}

/// The row in words, and what limits its difference under the pointer.
fn told_ui(ui: &Ui, rect: Rect, row: &ReadingRow, name: &str, wire: u8, ladder: &str) {
    let mut parts = vec![format!("{name}, wire {wire}"), format!("ladder {ladder}")];
    if let Some(count) = row.promised_count {
        parts.push(format!("promised {count:.0}"));
    }
    if let Some(count) = row.learned_count {
        parts.push(format!("learned {count:.0}"));
    }
    if row.difference_count().is_some() {
        parts.push(format!("difference {}", difference_text(row)));
    }
    if row.odd.is_some() {
        parts.push("odd".to_owned());
    }
    let place = Rect::from_min_max(pos2(rect.right() - 80.0, rect.top()), rect.max);
    let told = focus::tell(ui, place, &format!("reading {:?}", row.rung), Role::Row, &parts.join(", "));
    if let Some(limit) = row.limit {
        told.on_hover_text(format!(
            "Up to {} counts may be: meter {}, parts {}, presses {}",
            count_text(limit.count(), 0),
            count_text(limit.meter_count, 1),
            count_text(limit.parts_count, 1),
            count_text(limit.learned_count, 1)
        ));
    }
}

/// What is odd about a row, and what to do about it.
fn odd_ui(ui: &mut Ui, project: &Project, row: &ReadingRow, draft: &mut Draft, actions: &mut Vec<Action>) {
    let Some((head, body)) = odd_text(project, row) else { return };
    let theme = Theme::of(ui.ctx());
    let again = "Read again";
    let name = format!("Read again: {}", head.trim_end_matches([',', ':', '.']));
    let button = Button::line(again).name(&name).salt(&name).height(theme::control::TARGET);
    let wide = button.wanted_width(ui.painter());
    let whole = ui.available_width();
    let p = ui.painter().clone();
    let notice = Notice { level: NoticeLevel::Caution, head: &head, body: &body, action: None };
    let words = notice.words(&p, &theme, whole - wide - 80.0, 4);
    let high = (words.size().y + 18.0).max(42.0);
    let (rect, _) = ui.allocate_exact_size(vec2(whole, high), Sense::hover());
    p.rect(rect, 2, theme.raise, theme.outline(), egui::StrokeKind::Inside);
    p.rect_filled(Rect::from_min_size(rect.min, vec2(4.0, high)), 0, theme.ink);
    icon(&p, Icon::Caution, pos2(rect.left() + 30.0, rect.center().y), 1.0, theme.ink);
    let top = rect.center().y - words.size().y / 2.0;
    p.galley(pos2(rect.left() + 50.0, top), words, theme.ink);
    focus::tell(ui, rect, &format!("odd {:?}", row.rung), Role::Alert, &format!("{head} {body}"));
    let size = vec2(wide, theme::control::TARGET);
    let place = Rect::from_min_size(pos2(rect.right() - wide - 6.0, rect.center().y - size.y / 2.0), size);
    if button.show_at(ui, place).clicked() {
        // The meter's field first; learned anew it is at the next station.
        draft.focus = Some(row.rung);
        if row.meter_ohm.is_none()
            && let Rung::Button(index) = row.rung
            && let Some(button) = project.wheel.buttons.get(index)
        {
            actions.push(Action::Go(Station::Learn));
            actions.push(Action::Learn(LearnAction::Start(Some(button.id.clone()))));
        }
    }
    ui.add_space(space::TIGHT);
}
