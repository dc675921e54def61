//! What the output stage leaves open on the stereo's line. What the meter check of the stereo's input says
//! already, with the same parts, isn't said twice. Knows no device.

use super::{Finding, Level, Station};
use crate::circuit::{JackWarning, StageWarning};
use crate::project::{Project, output_stage};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let on_line = output_stage(project);
    let by_jack = project.stereo.jack.report_with(&on_line.stage).warnings;
    for warning in on_line.stage.report(on_line.line).warnings {
        let by_parts = matches!(warning, StageWarning::NoPullDown | StageWarning::PinAbove { .. });
        let is_said = by_jack.iter().any(|said| is_same(said, &warning));
        // A line that is only assumed says nothing about this stereo.
        if by_parts || (on_line.measured && !is_said) {
            let do_ = warning.advice();
            found.push(Finding::new(Level::Caution, Station::Circuit, "output", warning.what(), &do_));
        }
    }
}

/// Whether the meter check of the stereo's input says this already.
const fn is_same(said: &JackWarning, warning: &StageWarning) -> bool {
    matches!(
        (said, warning),
        (JackWarning::AboveRating { .. }, StageWarning::AboveRating { .. })
            | (JackWarning::TooStrong { .. }, StageWarning::NotSure { .. })
            | (JackWarning::LowTooHigh { .. }, StageWarning::LowTooHigh { .. })
    )
}

#[cfg(test)]
mod tests {
    use super::look;
    use crate::findings::findings;
    use crate::project::samples::van;

    #[test]
    fn what_the_jack_says_of_the_stage_is_said_once_and_the_rest_of_it_all_the_same() {
        let mut project = van();
        project.output.base_ohm = 1e6;
        project.output.series_ohm = 4_700.0;
        let said: Vec<String> = findings(&project).into_iter().map(|finding| finding.what).collect();
        let with = |part: &str| said.iter().filter(|what| what.contains(part)).count();
        assert_eq!(with("sure to pull only"), 1, "{said:#?}");
        // 4.7 kΩ against the stereo's own pull-up leave about a third of its idle volts.
        assert_eq!(with("Pulled low the line may stay at"), 1, "{said:#?}");
        let mut sorted = said.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(sorted.len(), said.len(), "nothing is said twice: {said:#?}");
        project.stereo.jack = crate::circuit::Jack::default();
        let mut found = Vec::new();
        look(&project, &mut found);
        assert!(found.is_empty(), "a line that is only assumed says nothing: {found:?}");
    }
}
