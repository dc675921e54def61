//! Each button pressed once more, under the power the box runs on, against its band: how far each has
//! moved, and who has left its band. Knows no session and no screen.

use crate::bands::{BandSet, Rung};
use crate::circuit::seen_ohm;

use super::{ButtonId, Project};

/// What a re-check found of one button.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Checked {
    /// Which button, by its place in the wheel.
    pub button: usize,
    /// Where it was learned, in counts.
    pub learned_count: f64,
    /// Where it was read now, in counts.
    pub count: f64,
    /// How many ohms that is more; `None` where no circuit is known or the wire reads open.
    pub moved_ohm: Option<f64>,
    /// Whether its own band still takes it.
    pub holds: bool,
    /// Whose band takes it instead.
    pub lands: Option<Rung>,
}

impl Checked {
    /// How many counts it moved; above 0 towards full scale.
    #[must_use]
    pub fn moved_count(&self) -> f64 {
        self.count - self.learned_count
    }
}

/// Every button that was re-checked and has a band, in the wheel's order.
#[must_use]
pub fn checked(project: &Project, bands: &BandSet) -> Vec<Checked> {
    let Some(recheck) = &project.rechecked else { return Vec::new() };
    let one = |(id, press): (&ButtonId, &crate::bands::Press)| {
        let (button, there) = project.button(id)?;
        let rung = Rung::Button(button);
        let band = bands.band(rung).filter(|band| band.measured)?;
        let count = press.median_count;
        let moved_ohm = project.circuit.as_ref().and_then(|circuit| {
            let moved = seen_ohm(circuit, count) - seen_ohm(circuit, band.centre_count);
            moved.is_finite().then_some(moved)
        });
        let taken = bands.which(there.wire.unwrap_or(band.wire), count);
        // What shares another's band is taken as that one, and stays so.
        let shares =
            matches!(band.verdict, crate::bands::Verdict::Shared { with, .. } if taken == Some(with));
        let holds = taken == Some(rung) || shares;
        let lands = taken.filter(|_| !holds);
        Some(Checked { button, learned_count: band.centre_count, count, moved_ohm, holds, lands })
    };
    let mut found: Vec<Checked> = recheck.presses.iter().filter_map(one).collect();
    found.sort_by_key(|checked| checked.button);
    found
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::bands::{Press, Touch};
    use crate::project::samples::van;
    use crate::project::{Recheck, bands};

    #[test]
    fn a_recheck_says_how_far_each_button_moved_and_who_left_its_band() {
        let mut project = van();
        let set = bands(&project);
        let press = |median_count| Press {
            median_count,
            spread_count: 0.8,
            readings: 300,
            touch: Touch::Firm,
            tally: Vec::new(),
        };
        let (mute, source) = (ButtonId("mute".into()), ButtonId("source".into()));
        let mute_count = set.band(Rung::Button(0)).unwrap().centre_count;
        let source_count = set.band(Rung::Button(1)).unwrap().centre_count;
        project.rechecked = Some(Recheck {
            feed_v: Some(5.05),
            presses: BTreeMap::from([
                (source, press(source_count + 2.0)),
                (mute, press(source_count)),
                (ButtonId("gone".into()), press(500.0)),
            ]),
        });
        let found = checked(&project, &set);
        assert_eq!(found.len(), 2, "what the wheel hasn't is left out");
        assert_eq!((found[0].button, found[0].holds, found[0].lands), (0, false, Some(Rung::Button(1))));
        assert_eq!(found[0].moved_count(), source_count - mute_count);
        assert_eq!((found[1].button, found[1].holds, found[1].lands), (1, true, None));
        // By hand, for a pull-up of 1 kΩ: R = 1000·c / (1024 − c).
        let ohm = |count: f64| 1_000.0 * count / (1_024.0 - count);
        let wanted = ohm(source_count + 2.0) - ohm(source_count);
        assert!((found[1].moved_ohm.unwrap() - wanted).abs() < 1e-6);
        project.rechecked = None;
        assert!(checked(&project, &set).is_empty());
    }
}
