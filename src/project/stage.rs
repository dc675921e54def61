//! The output stage of a project: its parts on the stereo's line, with the shortest mark that is sent.

use super::model::Project;
use crate::circuit::{OutputStage, Source, StageLine};
use crate::remote::{encode, families};

/// A project's output stage and line.
#[derive(Clone, Debug, PartialEq)]
pub struct ProjectStage {
    /// The stage.
    pub stage: OutputStage,
    /// The line.
    pub line: StageLine,
    /// Whether the stereo's input was measured; otherwise it is [`ASSUMED`].
    pub measured: bool,
    /// The command with the shortest mark, as its name; `None` where there is none yet and the shortest of
    /// all families is taken.
    pub mark_of: Option<String>,
}

/// What an input that wasn't measured is taken for: 5 V behind 10 kΩ (common practice, no source).
pub const ASSUMED: Source = Source { volt: 5.0, ohm: 10_000.0 };

/// The output stage of this project, with what its meter check of the stereo's input found.
#[must_use]
pub fn output_stage(project: &Project) -> ProjectStage {
    let measured = project.stereo.jack.source().filter(|source| source.volt > 0.0 && source.ohm.is_finite());
    let shortest = project
        .stereo
        .commands
        .iter()
        .filter_map(|command| {
            let frame = encode(&command.code, false).ok()?;
            let us = frame.pulses_us.into_iter().step_by(2).filter(|us| *us > 0.0).min_by(f64::total_cmp)?;
            let name = if command.name.is_empty() { &command.id.0 } else { &command.name };
            Some((us, name.clone()))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let (mark_us, mark_of) = match shortest {
        Some((us, name)) => (us, Some(name)),
        None => (families().iter().map(|family| family.unit_us).fold(f64::INFINITY, f64::min), None),
    };
    let source = measured.unwrap_or(ASSUMED);
    ProjectStage {
        stage: project.output.stage(),
        line: StageLine { source, farad: project.output.farad(), mark_us },
        measured: measured.is_some(),
        mark_of,
    }
}
