//! A station that isn't built yet: one line on what it will hold.

use egui::{Align2, Ui};

use super::Area;
use crate::app::station::to_come;
use crate::app::{Model, Station};
use crate::view::theme::{self, Theme, size};
use crate::view::widgets::text;

/// What stands where nothing is open yet.
const NOTHING_OPEN: &str = "Nothing is open. Begin a vehicle, or open the demo van, at the first station.";

/// Shows the line.
pub fn to_come_ui(ui: &mut Ui, model: &Model, station: Station, area: &Area) {
    let theme = Theme::of(ui.ctx());
    let words = to_come(station)
        .filter(|_| model.document.is_some() || station != Station::Wheel)
        .unwrap_or(NOTHING_OPEN);
    let work = area.work();
    let width = (work.width() - 48.0).clamp(120.0, 640.0);
    let galley = text::prose(ui.painter(), words, theme::regular(size::ARM), theme.ink2, width, 8);
    let place = Align2::LEFT_TOP.align_size_within_rect(galley.size(), work.shrink2(egui::vec2(0.0, 40.0)));
    ui.painter().galley(place.min, galley, theme.ink2);
    let response = ui.interact(place, ui.scope_id().with("to come"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, words));
}
