//! Codes of free families that the box keeps as timings, because it has room for one such family. Knows
//! no bytes: whether they fit is for the room `image` to say.

use super::{Finding, Level, Station, called, listed};
use crate::image::free_as_timings;
use crate::project::{Command, Project};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let (differ, alike): (Vec<_>, Vec<_>) =
        free_as_timings(project).into_iter().partition(|(_, repeats_differ)| *repeats_differ);
    let names = |commands: &[(&Command, bool)]| {
        let names: Vec<&str> =
            commands.iter().map(|(command, _)| called(&command.name, &command.id.0)).collect();
        (listed(&names), if names.len() == 1 { "is" } else { "are" })
    };
    if !alike.is_empty() {
        let (names, are) = names(&alike);
        found.push(Finding::new(
            Level::Note,
            Station::Codes,
            "stereo.commands",
            format!(
                "{names} {are} of another free family than the one the box keeps: kept as timings, they take more of its memory."
            ),
            "Nothing has to be done. If the families are meant to be the same, give them the same parameters.",
        ));
    }
    if !differ.is_empty() {
        let (names, are) = names(&differ);
        found.push(Finding::new(
            Level::Caution,
            Station::Codes,
            "stereo.commands",
            format!(
                "{names} {are} of another free family than the one the box keeps, and kept as timings: while held the whole frame is sent again, not what the family repeats."
            ),
            "Give the codes of free families the same parameters, or let no button repeat these.",
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::findings;
    use super::*;
    use crate::project::samples::van;
    use crate::remote::{Code, FreeFamily, FreeRepeat};

    #[test]
    fn codes_of_a_second_free_family_are_told_with_what_becomes_of_them() {
        let usual = FreeFamily::default();
        let said = |families: [FreeFamily; 2]| {
            let mut project = van();
            for (command, free) in project.stereo.commands.iter_mut().zip(families) {
                command.code = Code::Free { free, address: 1, command: 2 };
            }
            let found = findings(&project).into_iter();
            let found: Vec<_> = found.filter(|finding| finding.what.contains("free family")).collect();
            found.into_iter().map(|finding| (finding.level, finding.what)).collect::<Vec<_>>()
        };
        assert!(said([usual, usual]).is_empty());
        let slow = FreeFamily { period_us: 120_000.0, ..usual };
        let note = said([usual, slow]);
        assert_eq!(note.len(), 1);
        assert_eq!(note[0].0, Level::Note);
        assert!(note[0].1.starts_with("Source is of another free family than the one the box keeps"));
        let short = |period_us| FreeFamily { repeat: FreeRepeat::ShortFrame, period_us, ..usual };
        let caution = said([short(108_000.0), short(110_000.0)]);
        assert_eq!(caution[0].0, Level::Caution);
        assert!(caution[0].1.contains("while held the whole frame is sent again"), "{}", caution[0].1);
    }
}
