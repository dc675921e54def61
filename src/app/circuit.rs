//! The Circuit station: which of its views is shown, and what each of them keeps.

pub mod boxes;
pub mod output;
pub mod pairs;
pub mod schematic;
pub mod sense;
pub mod supply;

use crate::bands::BandSet;
use crate::project::Project;

use super::effect::Effect;
use super::model::Model;

/// The Circuit station.
#[derive(Clone, Debug, Default)]
pub struct CircuitState {
    /// What stands under the drawing.
    pub view: CircuitView,
    /// The million boxes.
    pub boxes: boxes::BoxesState,
    /// The output stage.
    pub output: output::OutputState,
    /// Two buttons at once.
    pub pairs: pairs::PairsState,
    /// The drawing.
    pub schematic: schematic::SchematicState,
    /// The choice of the sense resistor.
    pub sense: sense::SenseState,
    /// The supply.
    pub supply: supply::SupplyState,
}

/// What stands under the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CircuitView {
    /// The sense resistor, a million boxes, and the choices.
    #[default]
    Sense,
    /// The output stage on the stereo's line.
    Output,
    /// What the box is fed through.
    Supply,
    /// Two buttons at once.
    TwoButtons,
}

impl CircuitView {
    /// All of them, in the order of the switch.
    pub const ALL: [Self; 4] = [Self::Sense, Self::Output, Self::Supply, Self::TwoButtons];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sense => "Sense",
            Self::Output => "Output",
            Self::Supply => "Supply",
            Self::TwoButtons => "Two buttons",
        }
    }
}

/// What happens at this station.
#[derive(Clone, Debug, PartialEq)]
pub enum CircuitAction {
    /// Show a view.
    View(CircuitView),
    /// The million boxes.
    Boxes(boxes::BoxesAction),
    /// The output stage.
    Output(output::OutputAction),
    /// Two buttons at once.
    Pairs(pairs::PairsAction),
    /// The drawing.
    Schematic(schematic::SchematicAction),
    /// The choice of the sense resistor.
    Sense(sense::SenseAction),
    /// The supply.
    Supply(supply::SupplyAction),
}

/// What follows from the project; computed when it changes, each within a millisecond or so.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CircuitDerived {
    /// The output stage.
    pub output: output::OutputDerived,
    /// Two buttons at once.
    pub pairs: pairs::PairsDerived,
    /// The drawing.
    pub schematic: schematic::SchematicDerived,
    /// The choice of the sense resistor.
    pub sense: sense::SenseDerived,
    /// The supply.
    pub supply: supply::SupplyDerived,
}

impl CircuitDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        Self {
            output: output::OutputDerived::of(project, bands),
            pairs: pairs::PairsDerived::of(project, bands),
            schematic: schematic::SchematicDerived::of(project, bands),
            sense: sense::SenseDerived::of(project, bands),
            supply: supply::SupplyDerived::of(project, bands),
        }
    }
}

/// Another document is there: nothing of the one before stays.
pub(super) fn reset(model: &mut Model) -> Vec<Effect> {
    let effects = boxes::stop(model);
    let view = model.circuit.view;
    model.circuit = CircuitState { view, ..CircuitState::default() };
    effects
}

/// What an action of this station changes.
pub(super) fn update(model: &mut Model, action: CircuitAction) -> Vec<Effect> {
    match action {
        CircuitAction::View(view) => {
            model.circuit.view = view;
            pairs::view(model, view)
        }
        CircuitAction::Boxes(action) => boxes::update(model, action),
        CircuitAction::Output(action) => output::update(model, action),
        CircuitAction::Pairs(action) => pairs::update(model, action),
        CircuitAction::Schematic(action) => schematic::update(model, action),
        CircuitAction::Sense(action) => sense::update(model, action),
        CircuitAction::Supply(action) => supply::update(model, action),
    }
}
