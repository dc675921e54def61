//! On which feed a wheel was learned, against the one that is planned: bands learned on another are
//! provisional. Knows no box.

use crate::circuit::{Circuit, is_ratio};
use crate::units::volt_text;

use super::Project;

/// A feed this share off the plan is noticed: of 1000 counts it moves 20, more than twice the least reject
/// gap of 8. A laptop's port and a vehicle's regulator differ by three times that (common practice, no
/// source).
pub const FEED_NOTICED_SHARE: f64 = 0.02;

/// A wheel learned on another feed than is planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeedOff {
    /// What the feed was while learning, in volts.
    pub learned_v: f64,
    /// What is planned, in volts.
    pub planned_v: f64,
    /// Whether that feed is the converter's reference beside a factory module: readings then go the other
    /// way.
    pub is_reference: bool,
}

impl FeedOff {
    /// By what share readings are off; below 0 where they are low.
    #[must_use]
    pub fn share(&self) -> f64 {
        let feed = self.learned_v / self.planned_v;
        if self.is_reference { feed.recip() - 1.0 } else { feed - 1.0 }
    }

    /// `4.70 V fed it, 5.00 V are planned: what was learned reads 6.0 % low.`
    #[must_use]
    pub fn text(&self) -> String {
        let fed = if self.is_reference { "fed the box" } else { "fed it" };
        format!(
            "{} {fed}, {} are planned: what was learned reads {}.",
            volt_text(self.learned_v),
            volt_text(self.planned_v),
            self.share_text()
        )
    }

    /// What [`FeedOff::share_text`] is of, within a sentence.
    #[must_use]
    pub fn what(&self) -> &'static str {
        if self.is_reference { "for the box's supply readings were" } else { "the feed was" }
    }

    /// `6.0 % low`, `2.4 % high`.
    #[must_use]
    pub fn share_text(&self) -> String {
        let way = if self.share() < 0.0 { "low" } else { "high" };
        format!("{:.1} % {way}", self.share().abs() * 100.0)
    }
}

/// What the box's feed is planned to be, in volts, where readings go with it; `None` with the supply as
/// reference, with a feed monitor, and where a factory module feeds the ladder, unless the box's supply is
/// what the converter measures against.
#[must_use]
pub fn planned_feed_v(circuit: &Circuit) -> Option<f64> {
    match circuit.module {
        Some(module) => circuit.has_two_supplies().then_some(module.supply_v),
        None => (!is_ratio(circuit)).then_some(circuit.feed_v),
    }
}

/// Whether a feed of so many volts differs from the plan by more than [`FEED_NOTICED_SHARE`] where
/// readings go with it, as [`planned_feed_v`] says.
#[must_use]
pub fn feed_off_at(project: &Project, feed_v: f64) -> Option<FeedOff> {
    let circuit = project.circuit.as_ref()?;
    let is_reference = circuit.has_two_supplies();
    let off = FeedOff { learned_v: feed_v, planned_v: planned_feed_v(circuit)?, is_reference };
    (off.share().abs() > FEED_NOTICED_SHARE).then_some(off)
}

/// The same for the feed that the wheel was learned on, where that was measured.
#[must_use]
pub fn feed_off(project: &Project) -> Option<FeedOff> {
    if project.learned.is_empty() {
        return None;
    }
    feed_off_at(project, project.learned_on?.feed_v?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::LearnedOn;
    use crate::circuit::{FeedMonitor, Module, Reference};
    use crate::project::samples::van;

    #[test]
    fn a_feed_off_its_plan_is_noticed_only_where_readings_go_with_it() {
        let mut project = van();
        project.learned_on = Some(LearnedOn { feed_v: Some(4.70) });
        assert_eq!(feed_off(&project), None, "with the supply as reference a reading is a ratio");
        let circuit = project.circuit.as_mut().unwrap();
        circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
        let off = feed_off(&project).unwrap();
        assert!((off.share() + 0.06).abs() < 1e-12);
        assert_eq!(off.share_text(), "6.0 % low");
        for near_v in [4.91, 5.0, 5.09] {
            project.learned_on = Some(LearnedOn { feed_v: Some(near_v) });
            assert_eq!(feed_off(&project), None, "{near_v}");
        }
        assert!(feed_off_at(&project, 5.11).is_some() && feed_off_at(&project, 4.89).is_some());
        let circuit = project.circuit.as_mut().unwrap();
        circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10e3, lower_ohm: 15e3 });
        assert_eq!(feed_off_at(&project, 4.0), None, "a monitor takes the feed out");
    }

    /// `1024 · V / V_ref` (ATmega328P datasheet, ADC Conversion Result): the box's supply is V_ref here.
    #[test]
    fn beside_a_factory_module_the_boxs_supply_moves_readings_the_other_way() {
        let mut project = van();
        let circuit = project.circuit.as_mut().unwrap();
        circuit.feed_v = 3.3;
        circuit.module = Some(Module { supply_v: 5.0 });
        project.learned_on = Some(LearnedOn { feed_v: Some(4.70) });
        let off = feed_off(&project).unwrap();
        let planned_count = project.circuit.as_ref().unwrap().ideal_count(1_000.0);
        project.circuit.as_mut().unwrap().module = Some(Module { supply_v: 4.70 });
        let learned_count = project.circuit.as_ref().unwrap().ideal_count(1_000.0);
        assert!((learned_count / planned_count - 1.0 - off.share()).abs() < 1e-12);
        assert_eq!(off.text(), "4.70 V fed the box, 5.00 V are planned: what was learned reads 6.4 % high.");
        let circuit = project.circuit.as_mut().unwrap();
        circuit.reference = Reference::Internal { volt: 1.1 };
        assert_eq!(feed_off(&project), None, "the box's supply is in no reading");
    }
}
