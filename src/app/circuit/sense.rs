//! The sense resistor: which value to buy, and what each style of sensing costs.

mod words;

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::circuit::Problem;
use crate::project::{Project, SenseChoice, SenseChoiceError, SenseCosts};

pub use words::CostLines;

/// What this part keeps: nothing that isn't in the project.
#[derive(Clone, Debug, Default)]
pub struct SenseState {}

/// What happens here beside edits of the project: nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum SenseAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SenseDerived {
    /// The curve and the choice, or what is missing; `None` without a project.
    pub choice: Option<Result<SenseChoice, SenseChoiceError>>,
    /// What the circuit as it is costs, where that can be computed.
    pub costs: Option<SenseCosts>,
    /// The costs in words, one text a choice.
    pub lines: CostLines,
    /// What is wrong with the circuit's values.
    pub problems: Vec<Problem>,
}

impl SenseDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        let parts = &project.parts;
        let choice = project.sense_choice(parts.series, &parts.drawer_ohm, bands);
        let costs = project.sense_costs().ok();
        Self {
            lines: CostLines::of(project, choice.as_ref().ok(), costs.as_ref()),
            choice: Some(choice),
            costs,
            problems: project.circuit.as_ref().map_or_else(Vec::new, |circuit| circuit.check()),
        }
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: SenseAction) -> Vec<Effect> {
    match action {}
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Circuit, Module, Reference, Sense};
    use crate::project::samples::van;

    fn lines(change: impl FnOnce(&mut Project)) -> CostLines {
        let mut project = van();
        change(&mut project);
        let bands = crate::project::bands(&project);
        SenseDerived::of(&project, &bands).lines
    }

    fn circuit(project: &mut Project) -> &mut Circuit {
        project.circuit.as_mut().unwrap()
    }

    #[test]
    fn the_recommended_circuit_costs_nothing_of_the_feed() {
        let said = lines(|_| {});
        assert_eq!(said.reference, "A reading is a ratio: laptop and vehicle power read alike.");
        // 100 + 2 and 390.5 + 2 Ω over 1 kΩ to the feed: 94 and 288 of 1024; an open rest is 1023.
        assert_eq!(
            said.style,
            "Uses 94 to 1023 of 1023 counts. Rest is full scale, so a broken wire looks like rest: a \
             resistor across the ladder's end would tell them apart."
        );
        assert_eq!(said.monitor, "Not needed: a reading is a ratio already.");
    }

    /// FACTS section 0, items 1 to 3: readings move by 1 % with 1 % of feed, up to 22 and down to 22 kΩ
    /// of the pin are examples only, and what is up to 0.757 of the sense resistor reads 1023.
    #[test]
    fn a_reference_behind_a_resistor_tells_all_it_costs() {
        let said = lines(|project| {
            let circuit = circuit(project);
            circuit.sense = Sense::PullDown;
            circuit.reference = Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: None };
            project.wheel.buttons[1].meter_ohm = Some(2_198.0);
        });
        assert!(said.style.contains("Everything up to 758 Ω reads 1023: Mute."), "{}", said.style);
        // 562 with 2.2 kΩ (FACTS 0.1), so 5.6 counts a percent.
        assert!(said.reference.contains("1 % more feed moves Source by 5.6 counts."), "{}", said.reference);
        assert!(
            said.reference.contains(
                "typical 32 kΩ and no limits: with 22 kΩ it would stand at 2.68 V, with 42 kΩ at 2.94 V"
            ),
            "{}",
            said.reference
        );
        assert!(said.monitor.starts_with("None fitted: readings move with the feed."), "{}", said.monitor);
        let metered = lines(|project| {
            circuit(project).reference =
                Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: Some(2.8) };
        });
        assert!(!metered.reference.contains("32 kΩ"), "{}", metered.reference);
    }

    #[test]
    fn a_grounded_ladder_under_a_resistor_to_ground_is_said_to_be_impossible() {
        let said = lines(|project| {
            circuit(project).sense = Sense::PullDown;
            project.wheel.back.grounded = Some(true);
        });
        assert!(said.style.starts_with("The vehicle grounds the ladder's return"), "{}", said.style);
    }

    #[test]
    fn a_factory_modules_pull_up_is_no_ratio_and_leaves_nothing_to_choose() {
        let said = lines(|project| circuit(project).module = Some(Module { supply_v: 5.0 }));
        assert!(
            said.reference.starts_with("The module feeds the ladder, so a reading is no ratio:"),
            "{}",
            said.reference
        );
        assert!(said.monitor.starts_with("The module's own feed can't be reached"), "{}", said.monitor);
        assert!(
            said.resistor.starts_with("A factory module pulls the wire up, so there is no sense resistor")
        );
    }

    /// FACTS A: 10 kΩ hold a short to 16 V to 1.05 mA.
    #[test]
    fn a_filter_tells_its_settling_and_what_a_short_does() {
        let said = lines(|_| {});
        assert!(said.filter.contains("of the dwell"), "{}", said.filter);
        assert!(
            said.filter.contains("A short to 16 V drives 1.05 mA through it, and the pin takes 1.00 mA"),
            "{}",
            said.filter
        );
        let none = lines(|project| circuit(project).filter.series_ohm = 0.0);
        assert!(none.filter.contains("A short to 16 V isn't limited at all"), "{}", none.filter);
    }
}
