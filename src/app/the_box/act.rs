//! What a person asks of the box. Knows no bytes but those it hands on.

use crate::device::{self, BoxRequest, Failure, Job};
use crate::image;
use crate::link::Request;
use crate::wire::{CALIBRATE_RANGE_MV, NamedReference};

use super::super::action::PathPurpose;
use super::super::effect::Effect;
use super::super::model::Model;
use super::{BoxAction, Running};

/// What the bandgap is taken for until it is calibrated, in millivolts (ATmega328P datasheet 8161D,
/// table 28-7: 1.1 V typical).
const NOMINAL_BANDGAP_MV: f64 = 1_100.0;

/// What the bandgap truly is, when the supply reads `shown_mv` by its nominal value and `volt` by a
/// meter. The two are proportional. Held within what a bandgap can be.
pub(super) fn bandgap_mv(volt: f64, shown_mv: u16) -> Option<u16> {
    let mv = NOMINAL_BANDGAP_MV * volt * 1e3 / f64::from(shown_mv);
    let (least, most) = CALIBRATE_RANGE_MV;
    // The cast is safe: the value is held within the range.
    mv.is_finite().then(|| mv.round().clamp(f64::from(least), f64::from(most)) as u16)
}

/// What a person does.
pub(in crate::app) fn update(model: &mut Model, action: BoxAction) -> Vec<Effect> {
    match action {
        BoxAction::View(view) => {
            model.the_box.view = view;
            Vec::new()
        }
        BoxAction::Write => write(model),
        BoxAction::Read => begin(model, Job::Read, BoxRequest::Read),
        BoxAction::Flash => match device::firmware() {
            Ok(bytes) => begin(model, Job::Flash, BoxRequest::Flash(bytes)),
            Err(error) => fail(model, Job::Flash, error.to_string(), "Install Spokewire again."),
        },
        BoxAction::Watch(on) => {
            model.the_box.watching = on;
            ask(BoxRequest::Watch(on))
        }
        BoxAction::ClearWatch => {
            model.the_box.decisions.clear();
            Vec::new()
        }
        BoxAction::Seat(action) => super::seat::update(model, action),
        BoxAction::Counters => ask(BoxRequest::Counters),
        BoxAction::ChooseTry(command) => {
            model.the_box.try_command = Some(command);
            Vec::new()
        }
        BoxAction::Try { held_ms } => try_code(model, held_ms),
        BoxAction::StopTry => ask(BoxRequest::StopTry),
        BoxAction::Restart => begin(model, Job::Restart, BoxRequest::Restart),
        BoxAction::Calibrate(volt) => calibrate(model, volt),
        BoxAction::Cancel => {
            model.the_box.running = None;
            model.kept.box_moved = true;
            ask(BoxRequest::Cancel)
        }
        BoxAction::Name(kind) => ask(BoxRequest::Reference(NamedReference { kind, feed_monitor: false })),
        BoxAction::AskHeader => {
            vec![Effect::AskPath { purpose: PathPurpose::Header, suggest: "wheel.h".to_owned() }]
        }
        BoxAction::SaveHeader(path) => {
            let Some(project) = model.project() else { return Vec::new() };
            match &model.derived.the_box.built {
                Some(Ok(built)) => vec![Effect::WriteText { path, text: image::header(project, built) }],
                _ => Vec::new(),
            }
        }
    }
}

fn ask(request: BoxRequest) -> Vec<Effect> {
    vec![Effect::Link(Request::Box(request))]
}

/// Begins a job that takes a while: one at a time.
fn begin(model: &mut Model, job: Job, request: BoxRequest) -> Vec<Effect> {
    if model.the_box.running.is_some() {
        return Vec::new();
    }
    model.the_box.failure = None;
    model.the_box.running = Some(Running { job, phase: None, done: 0, of: 0 });
    model.kept.box_moved = true;
    ask(request)
}

fn fail(model: &mut Model, job: Job, what: String, advice: &str) -> Vec<Effect> {
    model.kept.box_moved = true;
    model.the_box.failure = Some(Failure { job, what, advice: advice.to_owned(), half_flashed: false });
    Vec::new()
}

fn write(model: &mut Model) -> Vec<Effect> {
    let body = match &model.derived.the_box.built {
        Some(Ok(built)) => built.image.to_body(),
        Some(Err(misfits)) => {
            let what = misfits.first().map_or_else(String::new, |misfit| misfit.what.clone());
            let advice = misfits.first().map_or_else(String::new, |misfit| misfit.advice.clone());
            return fail(model, Job::Write, what, &advice);
        }
        None => return Vec::new(),
    };
    match body {
        Ok(body) => begin(model, Job::Write, BoxRequest::Write(body)),
        Err(misfit) => fail(model, Job::Write, misfit.what, &misfit.advice),
    }
}

fn try_code(model: &mut Model, held_ms: u16) -> Vec<Effect> {
    let Some(project) = model.project() else { return Vec::new() };
    let chosen = model.the_box.try_command.clone();
    let first = || project.stereo.commands.first().map(|command| command.id.clone());
    let Some(command) = chosen.or_else(first).and_then(|id| project.command(&id)) else {
        return Vec::new();
    };
    let (id, record) = (command.id.clone(), image::record(&command.code));
    match record {
        Ok(record) => {
            model.the_box.toggle = !model.the_box.toggle;
            model.the_box.failure = None;
            model.the_box.try_command = Some(id.clone());
            model.the_box.sending = Some(id);
            ask(BoxRequest::Try { record, held_ms, toggle: model.the_box.toggle })
        }
        Err(misfit) => fail(model, Job::Try, misfit.what, &misfit.advice),
    }
}

fn calibrate(model: &mut Model, volt: Option<f64>) -> Vec<Effect> {
    let Some(identity) = model.the_box.identity() else { return Vec::new() };
    let calibrated = identity.calibrated;
    match (volt, identity.supply_mv) {
        (None, _) => [ask(BoxRequest::Calibrate(None)), ask(BoxRequest::Identify)].concat(),
        (Some(volt), _) if !(3.0..=6.0).contains(&volt) => fail(
            model,
            Job::Calibrate,
            format!("{volt} V is no supply of a 5 V box."),
            "Measure between its 5 V pin and ground, and enter volts, like 5.05.",
        ),
        (Some(_), None) => fail(
            model,
            Job::Calibrate,
            "The box can't measure its supply: its reference isn't the supply.".to_owned(),
            "Nothing is lost: readings follow the feed monitor, where one is fitted.",
        ),
        (Some(volt), Some(mv)) if !calibrated => {
            [ask(BoxRequest::Calibrate(bandgap_mv(volt, mv))), ask(BoxRequest::Identify)].concat()
        }
        // What it shows now has the old calibration in it: that is forgotten first.
        (Some(volt), Some(_)) => {
            model.the_box.pending_v = Some(volt);
            [ask(BoxRequest::Calibrate(None)), ask(BoxRequest::Identify)].concat()
        }
    }
}
