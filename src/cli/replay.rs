//! `spokewire replay`: what the box would decide over recorded readings. Computes nothing of its own.

use std::fs::File;
use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::image::{built, unfit};
use super::{CliError, Io};
use crate::image::replay;
use crate::project::{ButtonId, Gesture, Project, banding};
use crate::recognise::EventKind;
use crate::signal::{Converter, Door, RawReading, read_csv};
use crate::units::time_text;

/// Which project, and which readings.
#[derive(Clone, Debug, clap::Args)]
pub struct ReplayArgs {
    /// The project file
    pub file: PathBuf,
    /// Recorded readings: a CSV file with the columns t_ms,wire1[,wire2[,feed]]
    #[arg(value_name = "SAMPLES.csv")]
    pub samples: PathBuf,
    /// Print one JSON document: {"events":[{"t_ms","button","gesture"}]}; gesture is tap, hold or
    /// double_tap
    #[arg(long)]
    pub json: bool,
}

/// The JSON document.
#[derive(Serialize)]
struct Document {
    events: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    t_ms: f64,
    button: ButtonId,
    gesture: Gesture,
}

/// Replays the readings.
///
/// # Errors
/// A file can't be read, the project doesn't fit the box, or nothing can be printed.
pub fn run(args: &ReplayArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let (built, _) = built(&project).map_err(|misfits| unfit(&misfits))?;
    let path = args.samples.display();
    let file = File::open(&args.samples)
        .map_err(|error| CliError::Failed(format!("\"{path}\" can't be opened: {error}. Check its name.")))?;
    let recording =
        read_csv(file).map_err(|error| CliError::Failed(format!("\"{path}\" can't be replayed: {error}")))?;
    if let Some(first) = recording.bad_rows.first() {
        io.remark(format_args!("{} rows of \"{path}\" were left out. {first}", recording.bad_row_count));
    }
    if recording.cut_short {
        io.remark(format_args!("\"{path}\" is longer than four hours: only its beginning is replayed."));
    }
    if built.image.feed_count.is_some() && !recording.has_feed {
        io.remark(format_args!(
            "The project has a feed monitor and \"{path}\" no column for it: no reading counts. Record it again with the box."
        ));
    }
    let converter = converter(&project, &recording.readings);
    let decided = replay(&built.image, converter, &recording.readings).map_err(CliError::failed)?;
    let events = decided.into_iter().filter_map(|(t_ms, event)| {
        let gesture = match event.kind {
            EventKind::Tap => Gesture::Tap,
            EventKind::Hold => Gesture::Hold,
            EventKind::DoubleTap => Gesture::DoubleTap,
            EventKind::Pressed | EventKind::Released | EventKind::Undecided => return None,
        };
        let button = built.buttons.get(usize::from(event.button?))?.clone();
        Some(Line { t_ms: (t_ms * 1e3).round() / 1e3, button, gesture })
    });
    let events: Vec<Line> = events.collect();
    if args.json {
        io.print_json(&Document { events })?;
    } else {
        print(&project, &events, io)?;
    }
    Ok(ExitCode::SUCCESS)
}

/// What the readings' converter runs to: the project's, or 12 bits where the readings say so.
fn converter(project: &Project, readings: &[RawReading]) -> Converter {
    const BATCH: usize = 4_096;
    let mut door = Door::new(project.plan.converter);
    let mut out = Vec::with_capacity(BATCH);
    for batch in readings.chunks(BATCH) {
        out.clear();
        door.take(batch, &mut out);
    }
    door.converter()
}

fn print(project: &Project, events: &[Line], io: &mut Io<'_>) -> Result<(), CliError> {
    for Line { t_ms, button, gesture } in events {
        let name = project.button(button).map_or_else(
            || button.0.clone(),
            |(index, _)| banding::rung_name(project, crate::bands::Rung::Button(index)),
        );
        let gesture = match gesture {
            Gesture::Tap => "tap",
            Gesture::Hold => "hold",
            Gesture::DoubleTap => "double tap",
        };
        writeln!(io.out, "{:>12}  {name}, {gesture}", time_text(*t_ms))?;
    }
    let told = match events.len() {
        0 => "No gesture: no press settled in a band.".to_owned(),
        1 => "1 gesture.".to_owned(),
        many => format!("{many} gestures."),
    };
    Ok(writeln!(io.out, "{told}")?)
}
