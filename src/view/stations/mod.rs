//! The stations, one screen a file: each reads the model and pushes actions.

pub mod circuit;
pub mod codes;
#[cfg(test)]
mod driven;
pub mod learn;
pub mod pair;
pub mod start;
pub mod the_box;
pub mod to_come;
pub mod wheel;

use egui::Rect;

use crate::app::Model;
use crate::bands::Rung;

use super::widgets::layout::Layout;

/// Where a station may draw.
#[derive(Clone, Copy, Debug)]
pub struct Area {
    /// The window's layout.
    pub layout: Layout,
    /// From under the notices to the window's foot.
    pub content: Rect,
}

impl Area {
    /// From under the notices to above the acting row.
    #[must_use]
    pub fn work(&self) -> Rect {
        let bottom = self.layout.work.bottom().max(self.content.top());
        Rect::from_min_max(self.content.min, egui::pos2(self.layout.acting.right(), bottom))
    }
}

/// The last reading of a wire (from 0), while readings come.
#[must_use]
pub fn live_count(model: &Model, wire: usize) -> Option<f64> {
    if !model.link.is_open() {
        return None;
    }
    model.recording.last()?.wire.get(wire)?.count()
}

/// The button whose band the live reading lies in, from 0.
#[must_use]
pub fn live_button(model: &Model) -> Option<usize> {
    (0..crate::units::WIRES).find_map(|wire| {
        match model.derived.bands.which(wire as u8 + 1, live_count(model, wire)?) {
            Some(Rung::Button(index)) => Some(index),
            _ => None,
        }
    })
}
