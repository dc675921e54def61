//! What the meter check of the stereo's remote input leaves open, or found to be wrong.

use super::super::{Finding, Level, Station, listed};
use crate::circuit::{Jack, JackMissing, JackReport, JackVerdict, OutputStage};

pub(super) fn look(jack: &Jack, stage: &OutputStage, found: &mut Vec<Finding>) {
    let mut say = |level, what: String, do_: &str| {
        found.push(Finding::new(level, Station::Codes, "stereo.jack", what, do_));
    };
    if !jack.is_begun() {
        say(
            Level::Note,
            "The stereo's remote input wasn't looked at with a meter: nothing says that it takes pulses."
                .to_owned(),
            "Go through the five steps of the view Jack before a code is tried.",
        );
        return;
    }
    let JackReport { verdict, warnings } = jack.report_with(stage);
    match verdict {
        JackVerdict::ResistanceInput { .. } => say(
            Level::Error,
            "The stereo's remote input takes resistances, and this box sends pulses: no command would do \
             anything."
                .to_owned(),
            "Use another input of the stereo, or a switched resistor for each button.",
        ),
        JackVerdict::Unknown { missing } => {
            let words: Vec<&str> = missing.into_iter().map(JackMissing::words).collect();
            say(
                Level::Note,
                format!(
                    "The check of the stereo's remote input isn't finished: it lacks {}.",
                    listed(&words)
                ),
                "Go on with it in the view Jack before a code is tried.",
            );
        }
        JackVerdict::PulseInput { .. } => {}
    }
    for warning in warnings {
        say(Level::Caution, warning.what(), warning.advice());
    }
}
