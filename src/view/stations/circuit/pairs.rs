//! Circuit, two buttons at once: half a matrix of what each pair reads and whose band that is, and the
//! sentence of the pair looked at.

mod matrix;
mod sentence;
#[cfg(test)]
mod tests;

use egui::{Rect, Role, ScrollArea, Ui, UiBuilder, pos2, vec2};

use crate::app::{Action, Model, Station};
use crate::units::number_of;
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::{bracket, focus, text};

/// What is typed or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The pair under the pointer: told while it is there.
    pointed: Option<[usize; 2]>,
    /// The pair that takes the keyboard next.
    take: Option<[usize; 2]>,
    /// How high the sentence was drawn last.
    sentence_high: f32,
}

/// From here on the sentence stands beside the matrix.
const BESIDE: f32 = 700.0;
/// The sentence's column.
const SENTENCE: f32 = 400.0;
/// A bracket's height, and the gap under it.
const HEAD: f32 = 20.0 + 12.0;

/// Draws it, and allocates what it drew.
pub(super) fn pairs_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let derived = &model.derived.circuit.pairs;
    let (Some(project), Some(told)) = (model.merged(), &derived.told) else { return };
    let told = match told {
        Ok(told) => told,
        Err(missing) => return empty_ui(ui, place, &missing.to_string(), missing.station(), actions),
    };
    let theme = Theme::of(ui.ctx());
    let beside = place.width() >= BESIDE;
    let wide = if beside { place.width() - SENTENCE - space::REGION } else { place.width() };
    let buttons = project.wheel.buttons.len();
    let grid = matrix::Grid::of(buttons, wide);
    let wanted = grid.size();
    // Beside each other in a place of a given height, a large matrix scrolls within it; stacked, the
    // station scrolls and all of it is drawn.
    let room = place.height() - HEAD;
    let high = if beside && room >= 120.0 { wanted.y.min(room) } else { wanted.y };
    let head = Rect::from_min_size(place.min, vec2(wide, 20.0));
    heading(ui, &theme, head, "Two buttons at once", &right_words(told.pairs.len(), told.mistaken()));
    let view = Rect::from_min_size(place.min + vec2(0.0, HEAD), vec2(wide, high));
    let matrix = matrix::Matrix { model, told, grid, wide };
    let mut pointed = None;
    if wanted.x > wide || wanted.y > high {
        // Room for the ring round what has the keyboard.
        let mut child = ui.new_child(UiBuilder::new().max_rect(view.expand(6.0)));
        ScrollArea::both().id_salt("pairs").auto_shrink(false).show(&mut child, |ui| {
            let at = ui.cursor().min + vec2(6.0, 6.0);
            ui.allocate_rect(
                Rect::from_min_size(at - vec2(6.0, 6.0), wanted + vec2(12.0, 12.0)),
                egui::Sense::hover(),
            );
            pointed = matrix.show(ui, at, &mut draft.take, actions);
        });
    } else {
        pointed = matrix.show(ui, view.min, &mut draft.take, actions);
    }
    draft.pointed = pointed;
    let shown = draft.pointed.and_then(|[a, b]| told.pair(a, b)).or_else(|| model.shown_pair());
    let at = if beside {
        Rect::from_min_max(pos2(place.right() - SENTENCE, place.top()), place.max)
    } else {
        Rect::from_min_size(pos2(place.left(), view.bottom() + space::REGION), vec2(place.width(), 0.0))
    };
    let told_rect = if beside && draft.sentence_high > at.height() {
        // It never stands over what is under the station's work.
        let mut child = ui.new_child(UiBuilder::new().max_rect(at));
        ScrollArea::vertical().id_salt("pair's sentence").auto_shrink(false).show(&mut child, |ui| {
            let room = Rect::from_min_size(ui.cursor().min, vec2(at.width() - space::ROW, at.height()));
            let took = sentence::sentence_ui(ui, model, told, shown, room);
            ui.allocate_rect(took, egui::Sense::hover());
            draft.sentence_high = took.height();
        });
        at
    } else {
        let took = sentence::sentence_ui(ui, model, told, shown, at);
        draft.sentence_high = took.height();
        took
    };
    ui.allocate_rect(head.union(view).union(told_rect), egui::Sense::hover());
}

/// `21 pairs, 2 taken for a third button`.
fn right_words(pairs: usize, [sure, may]: [usize; 2]) -> String {
    let pairs = number_of(pairs, "pair");
    match (sure, may) {
        (0, 0) => format!("{pairs}, none taken for a third button"),
        (0, may) => format!("{pairs}, {may} may be taken for a third button"),
        (sure, _) => format!("{pairs}, {sure} taken for a third button"),
    }
}

fn heading(ui: &Ui, theme: &Theme, rect: Rect, name: &str, right: &str) {
    bracket::bracket(ui.painter(), theme, rect.x_range(), rect.center().y, name, right);
    let said = if right.is_empty() { name.to_owned() } else { format!("{name}, {right}") };
    focus::tell(ui, rect, name, Role::Heading, &said);
}

/// What to do first, and where.
fn empty_ui(ui: &mut Ui, place: Rect, words: &str, station: Station, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let head = Rect::from_min_size(place.min, vec2(place.width(), 20.0));
    heading(ui, &theme, head, "Two buttons at once", "");
    let p = ui.painter().clone();
    let wide = place.width().min(640.0);
    let galley = text::prose(&p, words, theme::regular(size::ARM), theme.ink, wide, 8);
    let rect = Rect::from_min_size(place.min + vec2(0.0, HEAD), galley.size());
    p.galley(rect.min, galley, theme.ink);
    focus::tell(ui, rect, "no pairs", Role::Label, words);
    let mut whole = head.union(rect);
    // The circuit is given here: only what is elsewhere is led to.
    if station != Station::Circuit {
        let button = Button::act(match station {
            Station::Learn => "Learn the buttons",
            _ => "Enter meter readings",
        });
        let size = vec2(button.wanted_width(&p), theme::control::ACTING);
        let at = Rect::from_min_size(pos2(place.left(), rect.bottom() + space::REGION), size);
        if button.show_at(ui, at).clicked() {
            actions.push(Action::Go(station));
        }
        whole = whole.union(at);
    }
    ui.allocate_rect(whole, egui::Sense::hover());
}

/// Where what is missing is given.
trait Missing {
    fn station(&self) -> Station;
}

impl Missing for crate::project::TogetherError {
    fn station(&self) -> Station {
        match self {
            Self::NoCircuit | Self::Circuit(_) => Station::Circuit,
            Self::TooFew { .. } | Self::Wire { .. } => Station::Wheel,
        }
    }
}
