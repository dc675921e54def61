//! Half a matrix of plates: a row and a column for each button, its plate where they begin and end, and
//! in each cell what the two read and whose band that is. Knows no sentence's place.

use egui::epaint::StrokeKind;
use egui::{
    Align, EventFilter, Id, Key, Painter, Pos2, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo,
    pos2, vec2,
};

use crate::app::circuit::pairs::PairsAction;
use crate::app::{Action, CircuitAction, Model};
use crate::bands::Rung;
use crate::project::banding::rung_name;
use crate::project::{Falls, Harm, Together, TwoButtons};
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, control, mix, size, stroke};
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::plate::{PlateMode, plate, rest_tag};
use crate::view::widgets::{focus, text};

/// Between two cells.
const GAP: Vec2 = vec2(4.0, 2.0);
/// Right of the last plate, for its name, where there is so much.
const NAME: f32 = 88.0;
/// No cell is wider; one of this width or more has plate and count side by side.
const WIDEST: f32 = 72.0;
const SIDE_BY_SIDE: f32 = 58.0;
/// A cell with the plate over the count is a little higher.
const STACKED: f32 = 38.0;

/// The cells' places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grid {
    buttons: usize,
    cell: Vec2,
}

impl Grid {
    /// For so many buttons in this width, where it is enough; no cell is below what a pointer hits.
    pub(super) fn of(buttons: usize, wide: f32) -> Self {
        let each = (wide - NAME + GAP.x) / buttons.max(1) as f32 - GAP.x;
        let cell = each.clamp(control::TARGET, WIDEST).floor();
        let high = if cell >= SIDE_BY_SIDE { control::TARGET } else { STACKED };
        Self { buttons, cell: vec2(cell, high) }
    }

    /// All of it.
    pub(super) fn size(&self) -> Vec2 {
        ((self.cell + GAP) * self.buttons as f32 - GAP).max(Vec2::ZERO)
    }

    /// The cell of a column and a row, from the matrix's corner.
    fn cell(&self, corner: Pos2, column: usize, row: usize) -> Rect {
        let pitch = self.cell + GAP;
        Rect::from_min_size(corner + vec2(column as f32 * pitch.x, row as f32 * pitch.y), self.cell)
    }
}

/// The matrix.
pub(super) struct Matrix<'a> {
    pub(super) model: &'a Model,
    pub(super) told: &'a Together,
    pub(super) grid: Grid,
    /// How far to the right there is room.
    pub(super) wide: f32,
}

impl Matrix<'_> {
    /// Draws it with its corner here. Gives the pair under the pointer or with the keyboard.
    /// `take` is the pair that takes the keyboard once it is the chosen one, which alone can have it.
    pub(super) fn show(
        &self,
        ui: &Ui,
        corner: Pos2,
        take: &mut Option<[usize; 2]>,
        actions: &mut Vec<Action>,
    ) -> Option<[usize; 2]> {
        let theme = Theme::of(ui.ctx());
        let p = ui.painter().clone();
        let chosen = self.model.shown_pair().map(|pair| pair.buttons);
        let mut pointed = None;
        for row in 0..self.grid.buttons {
            for column in 0..row {
                let rect = self.grid.cell(corner, column, row);
                let Some(pair) = self.told.pair(column, row) else {
                    self.no_pair(ui, &p, &theme, rect, [column, row]);
                    continue;
                };
                let is_chosen = chosen == Some(pair.buttons);
                let id = cell_id(ui, pair.buttons);
                // One stop for the keyboard, the arrows go from cell to cell.
                let sense = if is_chosen { Sense::click() } else { Sense::CLICK };
                let response = ui.interact(rect, id, sense);
                let said = self.model.derived.circuit.pairs.sentence(pair);
                response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, is_chosen, said));
                see(&response);
                paint(&p, &theme, self.model, rect, pair, &response, is_chosen);
                if response.hovered() || response.has_focus() {
                    pointed = Some(pair.buttons);
                }
                if is_chosen && *take == Some(pair.buttons) {
                    response.request_focus();
                    *take = None;
                }
                if response.clicked() {
                    *take = Some(pair.buttons);
                    actions.push(choose(pair.buttons));
                }
                if response.has_focus()
                    && let Some(next) = self.arrow(ui, id, pair.buttons)
                {
                    *take = Some(next);
                    actions.push(choose(next));
                }
            }
            self.own_plate(ui, &theme, self.grid.cell(corner, row, row), row, corner.x + self.wide);
        }
        pointed
    }

    /// A row ends, and a column begins, at its button's own plate; its name stands in the empty half as
    /// far as there is room.
    fn own_plate(&self, ui: &Ui, theme: &Theme, cell: Rect, button: usize, right: f32) {
        let p = ui.painter();
        let stacked = self.grid.cell.x < SIDE_BY_SIDE;
        let at = if stacked { cell.center() } else { cell.left_center() + vec2(18.0, 0.0) };
        plate(p, theme, button, at, 13.0, mode(self.learned(button)));
        let Some(project) = self.model.merged() else { return };
        let name = rung_name(project, Rung::Button(button));
        let left = at.x + 22.0;
        if right - left >= 40.0 {
            let font = theme::regular(size::AXIS);
            text::cap_within(p, left, at.y, Align::Min, right - left, &name, font, theme.ink2);
        }
        let salt = format!("plate {button}");
        focus::tell(ui, cell, &salt, Role::Label, &name).on_hover_text(name);
    }

    fn learned(&self, button: usize) -> bool {
        let bands = &self.model.derived.bands;
        bands.band(Rung::Button(button)).is_some_and(|band| band.measured)
    }

    /// Two wires, or a button of unknown resistance.
    fn no_pair(&self, ui: &Ui, p: &Painter, theme: &Theme, rect: Rect, buttons: [usize; 2]) {
        hatch::dashed_rect(p, rect, Stroke::new(stroke::RULE, theme.rule), 3.0, 4.0);
        let apart = self.told.apart.contains(&buttons);
        let (sign, said) = if apart {
            ("1 · 2", "On two wires: the first wire to leave rest owns the press")
        } else {
            ("?", "No resistance is known")
        };
        let at = rect.center();
        text::cap(p, at.x, at.y, Align::Center, sign, theme::regular(size::AXIS), theme.ink3);
        let letters = buttons.map(|button| theme::letter(button).to_string()).join(" and ");
        let said = format!("{letters}: {said}");
        focus::tell(ui, rect, &format!("none {buttons:?}"), Role::Label, &said).on_hover_text(said);
    }

    /// The nearest pair in an arrow's direction, within the half that is there.
    fn arrow(&self, ui: &Ui, id: Id, [column, row]: [usize; 2]) -> Option<[usize; 2]> {
        let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
        let (right, down): (isize, isize) = ui.input(|input| {
            let step =
                |less, more| isize::from(input.key_pressed(more)) - isize::from(input.key_pressed(less));
            (step(Key::ArrowLeft, Key::ArrowRight), step(Key::ArrowUp, Key::ArrowDown))
        });
        if (right, down) == (0, 0) {
            return None;
        }
        // Pairs that aren't there, on two wires, are stepped over.
        let (mut column, mut row) = (column, row);
        loop {
            column = column.checked_add_signed(right)?;
            row = row.checked_add_signed(down)?;
            if column >= row || row >= self.grid.buttons {
                return None;
            }
            if self.told.pair(column, row).is_some() {
                return Some([column, row]);
            }
        }
    }
}

fn choose(buttons: [usize; 2]) -> Action {
    Action::Circuit(CircuitAction::Pairs(PairsAction::Choose(buttons)))
}

fn cell_id(ui: &Ui, buttons: [usize; 2]) -> Id {
    ui.make_persistent_id(("pair", buttons))
}

/// Solid is measured, dashed is planned.
pub(super) const fn mode(learned: bool) -> PlateMode {
    if learned { PlateMode::Measured } else { PlateMode::Planned }
}

/// A cell: hatched where nobody takes it, tinted where one of the two does, in the colour of refusal
/// with the stop's shape where a third does, with a caution's where a third may.
fn paint(
    p: &Painter,
    theme: &Theme,
    model: &Model,
    rect: Rect,
    pair: &TwoButtons,
    response: &Response,
    chosen: bool,
) {
    let harm = pair.harm();
    let owner = match pair.falls {
        Falls::One(button) | Falls::Third { button, .. } => Some(button),
        Falls::Nobody | Falls::Rest => None,
    };
    let ink = if harm == Harm::Mistaken { theme.alarm_ink } else { theme.ink };
    let rule = Stroke::new(stroke::RULE, theme.edge);
    match (harm, owner) {
        (Harm::Mistaken, _) => {
            let line = Stroke::new(stroke::NODE, theme.alarm);
            p.rect(rect, 0, theme.alarm_face, line, StrokeKind::Inside);
        }
        (_, Some(button)) => {
            let tint = mix(theme.well, theme.button(button).band, 0.6);
            p.rect(rect, 0, tint, Stroke::NONE, StrokeKind::Inside);
        }
        (_, None) => {
            p.rect_filled(rect, 0, theme.well);
            hatch::reject(p, theme, rect);
            p.rect_stroke(rect, 0, rule, StrokeKind::Inside);
        }
    }
    if harm == Harm::MayBeMistaken {
        let foot = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 6.0), rect.max);
        hatch::alarm(p, theme, foot, Hatch::STOP);
        p.rect_stroke(rect, 0, Stroke::new(stroke::BAND, theme.alarm), StrokeKind::Inside);
    }
    if response.hovered() && !chosen {
        p.rect_stroke(rect.shrink(2.0), 0, Stroke::new(stroke::RULE, theme.ink), StrokeKind::Inside);
    }
    if chosen {
        p.rect_stroke(rect.expand(1.0), 0, Stroke::new(stroke::NODE, theme.ink), StrokeKind::Inside);
    }
    contents(p, theme, model, rect, pair, ink);
    focus::ring(p, theme, response, rect);
}

fn contents(p: &Painter, theme: &Theme, model: &Model, rect: Rect, pair: &TwoButtons, ink: egui::Color32) {
    let beside = rect.width() >= SIDE_BY_SIDE;
    let measured =
        |button: usize| model.derived.bands.band(Rung::Button(button)).is_some_and(|band| band.measured);
    let tag = if beside {
        pos2(rect.left() + 13.0, rect.center().y)
    } else {
        pos2(rect.center().x, rect.top() + 12.0)
    };
    let radius = 8.0;
    let harm = pair.harm();
    match pair.falls {
        Falls::One(button) | Falls::Third { button, .. } => {
            plate(p, theme, button, tag, radius, mode(measured(button)));
        }
        Falls::Rest => rest_tag(p, theme, tag, radius * 0.7),
        Falls::Nobody => {}
    }
    let count = pair.count.to_string();
    let font = if harm == Harm::Mistaken { theme::bold(size::AXIS) } else { theme::regular(size::AXIS) };
    let wide = text::width(p, &count, font.clone());
    let (x, y) = if beside {
        (rect.left() + if matches!(pair.falls, Falls::Nobody) { 12.0 } else { 26.0 }, rect.center().y)
    } else {
        (rect.center().x - wide / 2.0, rect.bottom() - 11.0)
    };
    if matches!(pair.falls, Falls::Nobody) {
        // Figures stand on the well, not on the hatching.
        let back = Rect::from_min_size(pos2(x - 3.0, y - 8.0), vec2(wide + 6.0, 16.0));
        p.rect_filled(back, 0, theme.well);
    }
    text::cap(p, x, y, Align::Min, &count, font, ink);
    let sign = match harm {
        Harm::Mistaken => Some((Icon::StopSign, theme.alarm_ink)),
        Harm::MayBeMistaken => Some((Icon::Caution, theme.alarm_ink)),
        Harm::Ignored | Harm::Masked => None,
    };
    if let Some((sign, colour)) = sign {
        let at = pos2(rect.right() - 8.0, rect.top() + 8.0);
        icon(p, sign, at, 0.55, colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_never_fall_below_what_a_pointer_hits_nor_overlap() {
        for buttons in 1..=16 {
            for wide in [200.0, 240.0, 600.0, 1_004.0] {
                let grid = Grid::of(buttons, wide);
                assert!(grid.cell.x >= control::TARGET && grid.cell.y >= control::TARGET);
                let [a, b] = [0, 1].map(|row| grid.cell(Pos2::ZERO, 0, row));
                assert!(a.bottom() < b.top());
                let last = grid.cell(Pos2::ZERO, buttons - 1, buttons - 1);
                assert!((last.max.to_vec2() - grid.size()).length() < 0.01);
            }
        }
        // Seven buttons of the demo fit beside the sentence without scrolling.
        assert!(Grid::of(7, 600.0).size().x <= 600.0 && Grid::of(7, 600.0).size().y <= 264.0);
    }
}
