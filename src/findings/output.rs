//! What the output stage leaves open on the stereo's line. What the meter check of the stereo's input says
//! already, with the same parts, isn't said twice. Knows no device.

use super::{Finding, Level, Station};
use crate::circuit::StageWarning;
use crate::project::{Project, output_stage};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let on_line = output_stage(project);
    for warning in on_line.stage.report(on_line.line).warnings {
        let by_parts = matches!(warning, StageWarning::NoPullDown | StageWarning::PinAbove { .. });
        let by_jack = matches!(
            warning,
            StageWarning::AboveRating { .. } | StageWarning::NotSure { .. } | StageWarning::LowTooHigh { .. }
        );
        // A line that is only assumed says nothing about this stereo.
        if by_parts || (on_line.measured && !by_jack) {
            let do_ = warning.advice();
            found.push(Finding::new(Level::Caution, Station::Circuit, "output", warning.what(), &do_));
        }
    }
}
