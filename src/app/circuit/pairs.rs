//! Two buttons at once: what each pair reads, and whose band that is.

use std::collections::BTreeSet;

use super::CircuitView;
use super::schematic::{self, SchematicAction};
use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::{ButtonId, Project, Together, TogetherError, TwoButtons, together};

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct PairsState {
    /// The pair the person chose, by id: buttons may move while it is shown.
    pub chosen: Option<[ButtonId; 2]>,
}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum PairsAction {
    /// Look at these two, by their places in the wheel's order.
    Choose([usize; 2]),
}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairsDerived {
    /// Every pair, or why there is none.
    pub told: Option<Result<Together, TogetherError>>,
    /// What each pair reads and what comes of it, in the pairs' order.
    pub sentences: Vec<String>,
}

impl PairsDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        let told = together(project, bands);
        let pairs = told.as_ref().map_or(&[][..], |told| &told.pairs);
        let sentences = pairs.iter().map(|pair| pair.text(project)).collect();
        Self { told: Some(told), sentences }
    }

    /// The pairs, where there are any.
    #[must_use]
    pub fn pairs(&self) -> Option<&Together> {
        self.told.as_ref()?.as_ref().ok()
    }

    /// A pair's sentence.
    #[must_use]
    pub fn sentence(&self, of: &TwoButtons) -> &str {
        let place = self.pairs().and_then(|told| told.pairs.iter().position(|pair| pair == of));
        place.and_then(|place| self.sentences.get(place)).map_or("", String::as_str)
    }
}

impl Model {
    /// The pair looked at: the chosen one, else the most harmful.
    #[must_use]
    pub fn shown_pair(&self) -> Option<&TwoButtons> {
        let told = self.derived.circuit.pairs.pairs()?;
        let chosen = self.circuit.pairs.chosen.as_ref().and_then(|[a, b]| {
            let place = |id| self.merged().and_then(|project| project.button(id)).map(|(place, _)| place);
            told.pair(place(a)?, place(b)?)
        });
        chosen.or_else(|| told.by_harm().first().copied())
    }
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: PairsAction) -> Vec<Effect> {
    match action {
        PairsAction::Choose(buttons) => {
            let ids = buttons.map(|place| {
                model.merged().and_then(|project| project.wheel.buttons.get(place)).map(|b| b.id.clone())
            });
            let [Some(a), Some(b)] = ids else { return Vec::new() };
            model.circuit.pairs.chosen = Some([a, b]);
            close_in_drawing(model, buttons)
        }
    }
}

/// Closes these two switches in the drawing above, and no others.
fn close_in_drawing(model: &mut Model, buttons: [usize; 2]) -> Vec<Effect> {
    schematic::update(model, SchematicAction::Only(buttons.to_vec()))
}

/// Shows another view: a chosen pair is closed in the drawing while its view is shown, and opened when that
/// is left, unless the person closed others since.
pub(super) fn view(model: &mut Model, to: CircuitView) -> Vec<Effect> {
    let pair = model.circuit.pairs.chosen.is_some().then(|| model.shown_pair().map(|pair| pair.buttons));
    let Some(pair) = pair.flatten() else { return Vec::new() };
    let closed = &model.circuit.schematic.closed;
    match to {
        CircuitView::TwoButtons if closed.is_empty() => close_in_drawing(model, pair),
        CircuitView::TwoButtons => Vec::new(),
        _ if *closed == BTreeSet::from(pair) => schematic::update(model, SchematicAction::Only(Vec::new())),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::{Action, CircuitAction, FileAction};

    fn choose(model: &mut Model, buttons: [usize; 2]) {
        model.update(Action::Circuit(CircuitAction::Pairs(PairsAction::Choose(buttons))));
    }

    #[test]
    fn a_chosen_pair_is_closed_in_the_drawing_as_long_as_its_view_is_shown() {
        let mut model = Model::default();
        model.update(Action::File(FileAction::Demo));
        let view = |model: &mut Model, to| model.update(Action::Circuit(CircuitAction::View(to)));
        let closed = |model: &Model| model.circuit.schematic.closed.iter().copied().collect::<Vec<usize>>();
        view(&mut model, CircuitView::TwoButtons);
        assert_eq!(closed(&model), [0; 0], "none was chosen yet");
        choose(&mut model, [5, 2]);
        assert_eq!(closed(&model), [2, 5]);
        choose(&mut model, [0, 1]);
        assert_eq!(closed(&model), [0, 1]);
        choose(&mut model, [2, 90]);
        assert_eq!(closed(&model), [0, 1], "one of them isn't there");
        view(&mut model, CircuitView::Output);
        assert_eq!(closed(&model), [0; 0]);
        view(&mut model, CircuitView::TwoButtons);
        assert_eq!(closed(&model), [0, 1], "still the chosen ones");
        let own = SchematicAction::Set { button: 4, closed: true };
        model.update(Action::Circuit(CircuitAction::Schematic(own)));
        view(&mut model, CircuitView::Sense);
        assert_eq!(closed(&model), [0, 1, 4], "what the person closed stays");
    }

    #[test]
    fn a_chosen_pair_stays_chosen_and_one_that_is_not_there_changes_nothing() {
        let mut model = Model::default();
        choose(&mut model, [0, 1]);
        assert_eq!((model.shown_pair(), model.derived.circuit.pairs.told.is_none()), (None, true));
        model.update(Action::File(FileAction::Demo));
        let shown = |model: &Model| model.shown_pair().map(|pair| pair.buttons);
        assert_eq!(shown(&model), Some([0, 1]), "before a choice, the most harmful; all alike, the first");
        choose(&mut model, [5, 2]);
        assert_eq!(shown(&model), Some([2, 5]));
        choose(&mut model, [2, 90]);
        assert_eq!(shown(&model), Some([2, 5]));
        let pair = model.shown_pair().unwrap().clone();
        assert!(model.derived.circuit.pairs.sentence(&pair).starts_with("Next and Answer at once read "));
    }
}
