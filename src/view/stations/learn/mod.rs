//! Learn: the live trace, the rungs beside it, and the ways to fill them.

mod bands;
mod click;
mod dwell;
mod plots;
mod prompted;
mod rows;
mod wheel;

use egui::{Key, Modifiers, Ui};

use super::Area;
use crate::app::{Action, LearnAction, LearnView, Model};
use crate::signal::Column;
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::plot::axis::WHOLE;

/// What is typed, dragged or zoomed at this station and isn't part of the model.
#[derive(Debug)]
pub struct Draft {
    /// The counts shown.
    axis: (f64, f64),
    /// A drag that is still going on, in milliseconds of the recording.
    dragging: Option<(f64, f64)>,
    /// The trace's columns, kept to be filled anew each frame.
    columns: Vec<Column>,
    /// The whole recording's columns.
    overview: Vec<Column>,
    /// The view Bands.
    bands: bands::Draft,
    /// The view Dwell.
    dwell: dwell::Draft,
    /// The hand on the demo's wheel.
    hand: wheel::Hand,
}

impl Default for Draft {
    fn default() -> Self {
        Self {
            axis: WHOLE,
            dragging: None,
            columns: Vec::new(),
            overview: Vec::new(),
            bands: bands::Draft::default(),
            dwell: dwell::Draft::default(),
            hand: wheel::Hand::default(),
        }
    }
}

/// Draws the station.
pub fn learn_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    if key_pressed(ui, Modifiers::NONE, Key::End) {
        let span_ms = model.learn.span_ms;
        actions.push(Action::Learn(LearnAction::Look { end_ms: None, span_ms }));
    }
    bands::keys(ui, model, actions);
    match model.learn.view {
        LearnView::Prompted => prompted::prompted_ui(ui, model, draft, area, actions),
        LearnView::Click => click::click_ui(ui, model, draft, area, actions),
        LearnView::Bands => bands::bands_ui(ui, model, &mut draft.bands, area, actions),
        LearnView::Dwell => dwell::dwell_ui(ui, model, &mut draft.dwell, area, actions),
    }
}
