//! The Wheel station: the meter check, what the readings come to, and which of its views is shown.

use crate::bands::BandSet;
use crate::project::{Project, Readings};
use crate::wheel::CheckReport;

use super::effect::Effect;
use super::model::Model;

/// The Wheel station.
#[derive(Clone, Debug, Default)]
pub struct WheelState {
    /// Which view is shown.
    pub view: WheelView,
}

/// The views of the Wheel station.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum WheelView {
    /// The meter check and the readings.
    #[default]
    MeterCheck,
    /// What the buttons and the wires are called, and the vehicle and the stereo.
    Names,
}

impl WheelView {
    /// All of them, in the order of the switch.
    pub const ALL: [Self; 2] = [Self::MeterCheck, Self::Names];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MeterCheck => "Meter check",
            Self::Names => "Names and wires",
        }
    }
}

/// What happens at this station.
#[derive(Clone, Debug, PartialEq)]
pub enum WheelAction {
    /// Show a view.
    View(WheelView),
}

/// What follows from the meter's readings; computed when the project changes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WheelDerived {
    /// What the meter check comes to.
    pub check: CheckReport,
    /// The meter's readings beside what was learned, and the ladder they fit.
    pub readings: Readings,
}

impl WheelDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        Self { check: project.meter_report(), readings: project.readings(bands) }
    }
}

/// What an action of this station changes.
pub(super) fn update(model: &mut Model, action: WheelAction) -> Vec<Effect> {
    match action {
        WheelAction::View(view) => model.wheel.view = view,
    }
    Vec::new()
}
