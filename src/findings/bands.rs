//! What the bands say: buttons that can't be told apart, or only just. Knows no presses one by one.

use super::{Finding, Level, Station};
use crate::bands::{BandSet, Grade, Rung, Verdict};
use crate::project::{Project, banding, checked};
use crate::units::count_text;

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let bands = banding::bands(project);
    // Two rungs that meet say the same of each other; once is enough.
    let mut said: Vec<(Rung, Rung)> = Vec::new();
    // A factory module's resistor isn't ours to choose.
    let has_module = project.circuit.as_ref().is_some_and(|circuit| circuit.module.is_some());
    let choose = |another: &str| {
        let first = if has_module { "disconnect the factory module and " } else { "" };
        format!("{first}choose {another} sense resistor")
    };
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let Some(verdict) = bands.verdict(index) else { continue };
        let (level, advice) = match verdict.grade() {
            _ if matches!(verdict, Verdict::Meets { .. }) => (
                Level::Caution,
                format!("Re-check the wheel now and then: V at Learn; or {} that spreads them.", choose("a")),
            ),
            _ if matches!(verdict, Verdict::Trimmed { .. }) => {
                (Level::Caution, "Move the edge back out, or reset it: Learn, Bands.".to_owned())
            }
            Grade::Good | Grade::Open => continue,
            Grade::Caution => (
                Level::Caution,
                format!(
                    "Learn both again with firm presses; if it stays so, {} that spreads them.",
                    choose("another")
                ),
            ),
            Grade::Stop => (
                Level::Error,
                format!("Learn both again; if it stays so, {}, or use only one of them.", choose("another")),
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
        found.push(Finding::new(level, Station::Learn, format!("learned.{}", button.id.0), what, &advice));
    }
    rechecked(project, &bands, found);
}

/// Buttons that a re-check found out of their bands.
fn rechecked(project: &Project, bands: &BandSet, found: &mut Vec<Finding>) {
    for checked in checked(project, bands).iter().filter(|checked| !checked.holds) {
        let name = |rung| banding::rung_name(project, rung);
        let own = name(Rung::Button(checked.button));
        let id = project.wheel.buttons.get(checked.button).map_or("", |button| &button.id.0);
        let becomes = match checked.lands {
            Some(Rung::Button(other)) => format!("it is taken for {}", name(Rung::Button(other))),
            Some(Rung::Rest(_)) | None => "it is ignored".to_owned(),
        };
        let (was, is) = (count_text(checked.learned_count, 0), count_text(checked.count, 0));
        found.push(Finding::new(
            Level::Error,
            Station::Learn,
            format!("rechecked.{id}"),
            format!("{own} was learned at {was} counts and re-checked at {is}: {becomes}."),
            "Learn it again on the power the box runs on; if it keeps moving, look at its contact and the feed.",
        ));
    }
}
