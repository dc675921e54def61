//! On which feed a wheel was learned, against the one that is planned: bands learned on another are
//! provisional. Knows no box.

use crate::circuit::is_ratio;
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
}

impl FeedOff {
    /// By what share the feed is off; below 0 where it is low.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.learned_v / self.planned_v - 1.0
    }

    /// `4.70 V fed it, 5.00 V are planned: what was learned reads 6.0 % low.`
    #[must_use]
    pub fn text(&self) -> String {
        format!(
            "{} fed it, {} are planned: what was learned reads {}.",
            volt_text(self.learned_v),
            volt_text(self.planned_v),
            self.share_text()
        )
    }

    /// `6.0 % low`, `2.4 % high`.
    #[must_use]
    pub fn share_text(&self) -> String {
        let way = if self.share() < 0.0 { "low" } else { "high" };
        format!("{:.1} % {way}", self.share().abs() * 100.0)
    }
}

/// Whether a feed of so many volts differs from the plan by more than [`FEED_NOTICED_SHARE`] where
/// readings go with it. `None` with the supply as reference, with a feed monitor, and without a circuit.
#[must_use]
pub fn feed_off_at(project: &Project, feed_v: f64) -> Option<FeedOff> {
    let circuit = project.circuit.as_ref().filter(|circuit| !is_ratio(circuit))?;
    let off = FeedOff { learned_v: feed_v, planned_v: circuit.feed_v };
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
    use crate::circuit::{FeedMonitor, Reference};
    use crate::project::samples::van;

    #[test]
    fn a_feed_off_its_plan_is_noticed_only_where_readings_go_with_it() {
        let mut project = van();
        project.learned_on = Some(LearnedOn { feed_v: Some(4.70) });
        assert_eq!(feed_off(&project), None, "with the supply as reference a reading is a ratio");
        let circuit = project.circuit.as_mut().unwrap();
        circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0 };
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
}
