//! What the bands say: buttons that can't be told apart, or only just. Knows no presses one by one.

use super::{Finding, Level, Station};
use crate::bands::{Grade, Rung, Verdict};
use crate::project::{Project, banding};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let bands = banding::bands(project);
    // Two rungs that meet say the same of each other; once is enough.
    let mut said: Vec<(Rung, Rung)> = Vec::new();
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let Some(verdict) = bands.verdict(index) else { continue };
        let (level, advice) = match verdict.grade() {
            _ if matches!(verdict, Verdict::Meets { .. }) => (
                Level::Caution,
                "Choose a sense resistor that spreads them, or re-check the wheel now and then: V at Learn.",
            ),
            _ if matches!(verdict, Verdict::Trimmed { .. }) => {
                (Level::Caution, "Move the edge back out, or reset it: Learn, Bands.")
            }
            Grade::Good | Grade::Open => continue,
            Grade::Caution => (
                Level::Caution,
                "Learn both again with firm presses; if it stays so, another sense resistor spreads them.",
            ),
            Grade::Stop => (
                Level::Error,
                "Learn both again; if it stays so, choose another sense resistor, or use only one of them.",
            ),
        };
        let what = verdict.text(&|rung| match rung {
            Rung::Rest(_) => "rest".to_owned(),
            rung => banding::rung_name(project, rung),
        });
        if let Verdict::Close { of, other, .. } | Verdict::Indistinct { of, other, .. } = *verdict {
            if said.contains(&(other, of)) {
                continue;
            }
            said.push((of, other));
        }
        found.push(Finding::new(level, Station::Learn, format!("learned.{}", button.id.0), what, advice));
    }
}
