//! Presses the demo van's wheel as `learn` asks, and keeps each press reading by reading in a project that
//! was learned on it: `cargo run --example record -- projects/demo-van.ron`. Nothing else in it changes.

use std::process::ExitCode;

use spokewire::demo::{HandMove, Person, VirtualWheel, demo_van};
use spokewire::learn::{Phase, PressState, Session, Setup};
use spokewire::project::{ButtonId, Project, read, write};
use spokewire::signal::{Converter, Door, Reading};

fn main() -> ExitCode {
    for path in std::env::args().skip(1) {
        let recorded = std::fs::read_to_string(&path)
            .map_err(|error| error.to_string())
            .and_then(|text| read(&text).map_err(|error| error.to_string()))
            .map(|opened| with_traces(opened.project))
            .and_then(|project| std::fs::write(&path, write(&project)).map_err(|error| error.to_string()));
        if let Err(why) = recorded {
            eprintln!("{path}: {why}");
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

/// Ten minutes of pressing at most.
const MOST_MS: u32 = 600_000;

fn with_traces(mut project: Project) -> Project {
    let names: Vec<String> =
        demo_van().buttons.iter().map(|button| button.name.to_lowercase().replace(' ', "_")).collect();
    let ids: Vec<ButtonId> = names.iter().cloned().map(ButtonId).collect();
    let mut session = Session::new(Setup::for_project(&project, &ids));
    let mut wheel = VirtualWheel::new(demo_van(), 2_008);
    let mut person = Person::new(20_081);
    let mut door = Door::new(Converter::TenBit);
    let (mut events, mut readings): (Vec<_>, Vec<Reading>) = Default::default();
    for _ in 0..MOST_MS {
        let raw = wheel.next();
        readings.clear();
        door.take(&[raw], &mut readings);
        session.take(&readings, &mut events);
        if session.is_over() {
            break;
        }
        let wanted = match session.prompt().phase {
            Phase::Press {
                button, touch, state: PressState::Waiting | PressState::Refused { .. }, ..
            } => names.iter().position(|name| *name == button.0).map(|place| (place, touch)),
            _ => None,
        };
        match person.step(raw.t_ms, wanted) {
            Some(HandMove::Press { button, touch }) => wheel.press(button, touch),
            Some(HandMove::Release) => wheel.release(),
            None => {}
        }
    }
    for result in session.results() {
        project.put_traces(&result.id, result.traces.iter().cloned());
    }
    project
}
