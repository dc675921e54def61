//! The choice of the sense resistor for a project: its meter readings and what was learned handed down
//! to the plan as numbers. Knows no screen, and computes nothing itself.

use crate::bands::{ASSUMED_BETWEEN_OHM, ASSUMED_WITHIN_COUNT, BandSet, Rung, Tolerance};
use crate::circuit::{
    Circuit, Costs, Filter, FilterReport, NoChoice, Plan, PlanError, PlanInput, PlanNoise, PlanPair,
    PlanRung, PlanValue, Ruled, Source, costs, plan,
};
use crate::units::{Series, TOP_COUNT, ohm_text};

use super::banding::rung_name;
use super::{PredictError, Project};

/// A plan with the names of its rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct SenseChoice {
    /// Every value, and the choice.
    pub plan: Plan,
    /// Which rung stands at each place of the plan's lists.
    pub rungs: Vec<Rung>,
    /// From which series.
    pub series: Series,
    /// How much readings were taken to vary.
    pub noise: PlanNoise,
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SenseChoiceError {
    /// What a prediction lacks, a plan lacks, too.
    #[error(transparent)]
    Predict(#[from] PredictError),
    /// What only the plan minds.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

/// What a circuit costs, with the names of its rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct SenseCosts {
    /// What it costs.
    pub costs: Costs,
    /// Which rung stands at each place.
    pub rungs: Vec<Rung>,
    /// The highest source resistance that the filter sees, in ohms.
    pub source_ohm: f64,
    /// What the filter does.
    pub filter: FilterReport,
    /// A filter that needs no clamping diodes, where one settles within the dwell.
    pub proposed_filter: Option<Filter>,
    /// The rung that the sense resistor's tolerance moves most, and by how many counts.
    pub worst_tolerance: Option<(Rung, f64)>,
    /// The button that the wear moves most, and by how many counts.
    pub worst_wear: Option<(Rung, f64)>,
}

impl Project {
    /// Every value of a series as the sense resistor, and the choice among them. `drawer_ohm` are the
    /// values at hand.
    ///
    /// Readings vary by what was learned; by what bands assume where nothing was.
    ///
    /// # Errors
    /// What is missing for a prediction, or what can't be planned.
    pub fn sense_choice(
        &self,
        series: Series,
        drawer_ohm: &[f64],
        bands: &BandSet,
    ) -> Result<SenseChoice, SenseChoiceError> {
        let (circuit, rungs, seen) = self.sense_rungs()?;
        let noise = self.sense_noise(bands);
        let plan = plan(&PlanInput { circuit, rungs: &seen, noise, series, drawer_ohm })?;
        Ok(SenseChoice { plan, rungs, series, noise })
    }

    /// What the circuit as it is costs.
    ///
    /// # Errors
    /// What is missing for a prediction.
    pub fn sense_costs(&self) -> Result<SenseCosts, PredictError> {
        let (circuit, rungs, seen) = self.sense_rungs()?;
        let source_ohm = seen
            .iter()
            .map(|rung| circuit.source(rung.ohm))
            .fold(0.0, |most: f64, source: Source| most.max(source.ohm));
        let held = |count: f64| count.clamp(0.0, TOP_COUNT);
        let moved = |to: &dyn Fn(&PlanRung) -> f64| {
            let by = |rung: &PlanRung| (held(to(rung)) - held(circuit.ideal_count(rung.ohm))).abs();
            let all = rungs.iter().zip(&seen).map(|(rung, at)| (*rung, by(at)));
            all.max_by(|one, other| one.1.total_cmp(&other.1))
        };
        let supply_v = circuit.module.map_or(circuit.feed_v, |module| module.supply_v);
        let dwell_s = f64::from(self.plan.dwell_ms) / 1e3;
        Ok(SenseCosts {
            costs: costs(circuit, &seen),
            proposed_filter: Filter::proposed(source_ohm, supply_v, dwell_s),
            worst_tolerance: moved(&|rung| {
                let off = 1.0 + self.parts.sense_tolerance;
                Circuit { sense_ohm: circuit.sense_ohm * off, ..circuit.clone() }.ideal_count(rung.ohm)
            }),
            worst_wear: moved(&|rung| {
                let worn_ohm = if rung.is_rest { 0.0 } else { self.parts.wear_ohm };
                circuit.ideal_count(rung.ohm + worn_ohm)
            }),
            rungs: rungs.clone(),
            source_ohm,
            filter: circuit.filter.report(source_ohm, supply_v, circuit.reference_v(), dwell_s),
        })
    }

    /// The circuit and what each wire can read.
    fn sense_rungs(&self) -> Result<(&Circuit, Vec<Rung>, Vec<PlanRung>), PredictError> {
        let circuit = self.circuit.as_ref().ok_or(PredictError::NoCircuit)?;
        let prediction = self.predict()?;
        let mut rungs = Vec::with_capacity(prediction.buttons.len() + prediction.rests.len());
        let mut seen = Vec::with_capacity(rungs.capacity());
        for (index, button) in prediction.buttons.iter().enumerate() {
            rungs.push(Rung::Button(index));
            seen.push(PlanRung { wire: button.wire, ohm: button.ohm, is_rest: false });
        }
        for rest in &prediction.rests {
            let ohm =
                self.wheel.wires.get(&rest.wire).and_then(|wire| wire.rest_ohm).unwrap_or(f64::INFINITY);
            rungs.push(Rung::Rest(rest.wire));
            seen.push(PlanRung { wire: rest.wire, ohm, is_rest: true });
        }
        Ok((circuit, rungs, seen))
    }

    /// How much a reading varies: as learned, else as bands assume.
    fn sense_noise(&self, bands: &BandSet) -> PlanNoise {
        let measured = || bands.buttons.iter().filter(|band| band.measured);
        let count = measured().count() as f64;
        let squares: f64 = measured().map(|band| band.within_count.powi(2)).sum();
        let plan = &self.plan;
        let learned_factor = measured().map(|band| band.tolerance_factor).fold(0.0, f64::max);
        PlanNoise {
            converter_error_count: plan.converter_error_count,
            within_count: if count > 0.0 { (squares / count).sqrt() } else { ASSUMED_WITHIN_COUNT },
            between_ohm: bands.between.ohm.filter(|_| count > 0.0).unwrap_or(ASSUMED_BETWEEN_OHM),
            wear_ohm: self.parts.wear_ohm,
            tolerance_factor: if learned_factor > 0.0 {
                learned_factor
            } else {
                Tolerance::new(plan.coverage, plan.confidence, plan.presses).factor_of_known_spread()
            },
        }
    }
}

impl SenseChoice {
    /// The value to take, if there is one.
    #[must_use]
    pub fn chosen(&self) -> Option<&PlanValue> {
        self.plan.choice.ok().and_then(|index| self.plan.values.get(index))
    }

    /// The best of the drawer, if one will do.
    #[must_use]
    pub fn from_drawer(&self) -> Option<&PlanValue> {
        self.plan.drawer_choice.and_then(|index| self.plan.drawer.get(index))
    }

    /// The values that will do besides the choice, the best first.
    #[must_use]
    pub fn runners_up(&self, most: usize) -> Vec<&PlanValue> {
        let chosen = self.chosen().map(|value| value.ohm);
        let mut others: Vec<_> = self
            .plan
            .values
            .iter()
            .filter(|value| value.ruled.is_none() && Some(value.ohm) != chosen)
            .collect();
        others.sort_by(|one, other| {
            other.gap_count.cmp(&one.gap_count).then(other.separation_sigma.total_cmp(&one.separation_sigma))
        });
        others.truncate(most);
        others
    }

    /// The two rungs of a pair, the lower first.
    #[must_use]
    pub fn pair(&self, pair: PlanPair) -> Option<(Rung, Rung)> {
        Some((*self.rungs.get(pair.lower)?, *self.rungs.get(pair.upper)?))
    }

    /// `Previous and Source`.
    #[must_use]
    pub fn pair_text(&self, project: &Project, pair: PlanPair) -> String {
        self.pair(pair).map_or_else(String::new, |(lower, upper)| {
            format!("{} and {}", rung_name(project, lower), rung_name(project, upper))
        })
    }

    /// Why a value can't be taken: `Mute saturates`, `Next and Mute can't be told apart`.
    #[must_use]
    pub fn ruled_text(&self, project: &Project, ruled: Ruled) -> String {
        match ruled {
            Ruled::Saturates(index) => {
                let name = self.rungs.get(index).map_or_else(String::new, |rung| rung_name(project, *rung));
                format!("{name} saturates")
            }
            Ruled::Indistinct(pair) => format!("{} can't be told apart", self.pair_text(project, pair)),
        }
    }

    /// Why there is no choice, with the names.
    #[must_use]
    pub fn no_choice_text(&self, project: &Project, why: NoChoice) -> String {
        match why {
            NoChoice::Indistinct(pair) => format!("{why} The two are {}.", self.pair_text(project, pair)),
            NoChoice::Saturate | NoChoice::Nothing => why.to_string(),
        }
    }

    /// The stretches of the series that are ruled out for one kind of reason, upwards: first and last
    /// value, and the reason at the first of them.
    #[must_use]
    pub fn ruled_out(&self) -> Vec<(f64, f64, Ruled)> {
        let mut stretches: Vec<(f64, f64, Ruled)> = Vec::new();
        let mut before = None;
        for value in &self.plan.values {
            let kind = value.ruled.map(|ruled| matches!(ruled, Ruled::Saturates(_)));
            match (value.ruled, stretches.last_mut()) {
                (Some(_), Some(last)) if before == kind => last.1 = value.ohm,
                (Some(ruled), _) => stretches.push((value.ohm, value.ohm, ruled)),
                (None, _) => {}
            }
            before = kind;
        }
        stretches
    }
}

/// A preferred value as it is printed on the bag: `470 Ω`, `1.0 kΩ`, `1.13 kΩ`, `22 kΩ`.
#[must_use]
pub fn bag_text(ohm: f64) -> String {
    let (scaled, unit) = match ohm {
        ohm if ohm >= 1e6 => (ohm / 1e6, "MΩ"),
        ohm if ohm >= 1e3 => (ohm / 1e3, "kΩ"),
        ohm if ohm >= 10.0 => (ohm, "Ω"),
        ohm => return ohm_text(ohm),
    };
    let plain = format!("{}", (scaled * 1e3).round() / 1e3);
    if unit != "Ω" && !plain.contains('.') && scaled < 10.0 {
        format!("{plain}.0 {unit}")
    } else {
        format!("{plain} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::samples::van;

    #[test]
    fn values_are_written_as_on_their_bag() {
        let written = [10.2, 470.0, 1e3, 1_130.0, 4_700.0, 22e3, 1e6].map(bag_text);
        assert_eq!(written, ["10.2 Ω", "470 Ω", "1.0 kΩ", "1.13 kΩ", "4.7 kΩ", "22 kΩ", "1.0 MΩ"]);
    }

    /// With the value that is planned, the project predicts the same smallest gap.
    #[test]
    fn the_plan_and_the_prediction_agree_on_every_value() {
        let mut project = van();
        let bands = crate::project::bands(&project);
        let choice = project.sense_choice(Series::E48, &[], &bands).unwrap();
        for value in &choice.plan.values {
            project.circuit.as_mut().unwrap().sense_ohm = value.ohm;
            let predicted = project.predict().unwrap();
            assert_eq!(Some(value.gap_count), predicted.smallest_gap_count, "{} Ω", value.ohm);
            let counts: Vec<u16> = value.readings.iter().map(|reading| reading.count).collect();
            let promised =
                predicted.buttons.iter().map(|b| b.count).chain(predicted.rests.iter().map(|r| r.count));
            assert_eq!(counts, promised.collect::<Vec<_>>());
        }
    }

    #[test]
    fn what_is_missing_is_said_as_for_a_prediction() {
        let mut project = van();
        let bands = crate::project::bands(&project);
        project.wheel.buttons[1].meter_ohm = None;
        let said = project.sense_choice(Series::E24, &[], &bands).unwrap_err().to_string();
        assert!(said.starts_with("No resistance is known for source."), "{said}");
        project.circuit = None;
        let said = project.sense_choice(Series::E24, &[], &bands).unwrap_err().to_string();
        assert!(said.starts_with("The project has no sense circuit."), "{said}");
    }

    #[test]
    fn what_limits_and_what_is_ruled_out_is_told_by_name() {
        let mut project = van();
        project.wheel.buttons[1].meter_ohm = Some(130.0);
        let bands = crate::project::bands(&project);
        let choice = project.sense_choice(Series::E24, &[470.0, 4_700.0], &bands).unwrap();
        let chosen = choice.chosen().unwrap();
        assert_eq!(choice.pair_text(&project, chosen.gap_pair), "Mute and Source");
        let (first, last, ruled) = *choice.ruled_out().last().unwrap();
        assert!(first > chosen.ohm && last > first, "{first} {last}");
        assert_eq!(choice.ruled_text(&project, ruled), "Mute and Source can't be told apart");
        assert!(choice.runners_up(3).len() == 3 && choice.from_drawer().unwrap().ohm == 470.0);
    }
}
