//! The link as the window sees it, and what its reports change.

use crate::link::{Batch, DemoTouch, PortInfo, Report, Request, Target};
use crate::signal::{Converter, Door, Reading};

use super::action::LinkAction;
use super::effect::{Effect, TapeEffect};
use super::model::Model;
use super::notice::{Level, Notice, Topic};
use super::station::Station;
use super::{Action, codes, learn, the_box};

/// The link as the window sees it.
#[derive(Clone, Debug, Default)]
pub struct LinkState {
    /// How it stands.
    pub phase: Phase,
    /// What was opened last.
    pub target: Option<Target>,
    /// Bits per second, where there is a rate.
    pub rate: Option<u32>,
    /// Numbers on a line, 1 or 2.
    pub wires: u8,
    /// Ports that could be opened.
    pub ports: Vec<PortInfo>,
    /// Readings since it was opened.
    pub readings: u64,
    /// Readings lost since it was opened.
    pub lost: u64,
    /// Broken lines since it was opened.
    pub broken: u64,
    /// The beginning of the last broken line.
    pub broken_sample: Option<String>,
    /// Readings in a second, over the last second or two.
    pub per_second: f64,
    /// The window in which `per_second` is counted: from when, and how many since.
    counting: (f64, u64),
    /// What turns the link's time into the recording's.
    offset_ms: f64,
    /// When the last reading came, by the program's clock.
    last_at_ms: f64,
    scratch: Vec<Reading>,
}

/// How the link stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Phase {
    /// Nothing is open.
    #[default]
    Closed,
    /// It is being opened; at this rate, if one is being tried.
    Opening(Option<u32>),
    /// Readings come.
    Open,
    /// The port went away; it is waited for.
    Gone,
}

impl LinkState {
    /// Whether the demo is what is open.
    #[must_use]
    pub const fn is_demo(&self) -> bool {
        matches!(self.target, Some(Target::Demo { .. })) && matches!(self.phase, Phase::Open)
    }

    /// Whether readings come.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.phase == Phase::Open
    }

    /// What is open, in a word or two.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.target {
            Some(Target::Serial { path, .. }) => short_path(path),
            Some(Target::Demo { .. }) => "Demo van".to_owned(),
            Some(Target::Replay { path, .. }) => path
                .file_name()
                .map_or_else(|| "Replay".to_owned(), |name| name.to_string_lossy().into_owned()),
            None => "Not connected".to_owned(),
        }
    }
}

/// The last part of a port's path.
fn short_path(path: &str) -> String {
    path.rsplit(['/', '\\']).next().filter(|name| !name.is_empty()).unwrap_or(path).to_owned()
}

/// What a link action changes.
pub(super) fn update(model: &mut Model, action: LinkAction) -> Vec<Effect> {
    match action {
        LinkAction::Connect(path) => connect(model, &path),
        LinkAction::Replay(path) => open(model, Target::Replay { path, speed: 1 }),
        LinkAction::Disconnect => {
            model.link.phase = Phase::Closed;
            model.link.target = None;
            the_box::gone(model);
            model.notices.clear(Topic::Link);
            vec![Effect::Link(Request::Close)]
        }
        LinkAction::BrokenSample(sample) => {
            model.link.broken_sample = Some(sample);
            Vec::new()
        }
        LinkAction::Touch(touch) => vec![Effect::Link(Request::Demo(touch))],
        LinkAction::Report(report) => report_came(model, report),
    }
}

/// Opens the demo van's wheel.
pub(super) fn open_demo(model: &mut Model, speed: u32) -> Vec<Effect> {
    open(model, Target::Demo { speed })
}

fn connect(model: &mut Model, path: &str) -> Vec<Effect> {
    let path = path.trim();
    if path.is_empty() {
        model.notices.show(Notice::new(
            Topic::Link,
            Level::Caution,
            "No port chosen.",
            "Choose one of the list, or type its path.",
        ));
        return Vec::new();
    }
    if !model.preferences.cautions_read {
        model.showing.cautions = true;
        return Vec::new();
    }
    let known = model.preferences.port.as_deref() == Some(path);
    let rate = model.preferences.rate.filter(|_| known);
    open(model, Target::Serial { path: path.to_owned(), rate })
}

fn open(model: &mut Model, target: Target) -> Vec<Effect> {
    model.link.phase = Phase::Opening(None);
    model.link.target = Some(target.clone());
    model.link.readings = 0;
    model.link.lost = 0;
    model.link.broken = 0;
    model.link.broken_sample = None;
    model.link.per_second = 0.0;
    model.notices.clear(Topic::Link);
    model.notices.clear(Topic::Readings);
    vec![Effect::Link(Request::Open(target))]
}

fn report_came(model: &mut Model, report: Report) -> Vec<Effect> {
    match report {
        Report::Ports(ports) => {
            model.link.ports = ports;
            Vec::new()
        }
        Report::Trying { rate } => {
            model.link.phase = Phase::Opening(Some(rate));
            Vec::new()
        }
        Report::Connected { target, rate, wires } => connected(model, target, rate, wires),
        Report::Readings(batch) => readings_came(model, batch),
        Report::Gone { path, reason } => {
            model.link.phase = Phase::Gone;
            the_box::gone(model);
            model.recording.mark_loss();
            learn::lost(model);
            let name = short_path(&path);
            model.notices.show(Notice::new(
                Topic::Link,
                Level::Stop,
                "The port went away.",
                format!("Nothing learned is lost. Plug {name} back in: it is picked up by itself. {reason}"),
            ));
            Vec::new()
        }
        Report::Silent { ms, bytes_came } => {
            let seconds = ms / 1000;
            let (head, body) = if bytes_came {
                (
                    "No readings yet.",
                    "Bytes come, but not one or two numbers on a line. Check what the probe prints.",
                )
            } else {
                ("Nothing comes.", "Check that the probe is powered and prints numbers by itself.")
            };
            model.notices.show(Notice::new(
                Topic::Link,
                Level::Caution,
                head,
                format!("{seconds} s of it. {body}"),
            ));
            Vec::new()
        }
        Report::Failed { what, advice } => {
            model.link.phase = Phase::Closed;
            model.link.target = None;
            the_box::gone(model);
            model.notices.show(Notice::new(Topic::Link, Level::Stop, what, advice));
            Vec::new()
        }
        Report::Box(report) => {
            codes::sweep::heard(model, &report);
            the_box::hear(model, report)
        }
        Report::Closed => {
            model.link.phase = Phase::Closed;
            the_box::gone(model);
            model.recording.mark_loss();
            learn::lost(model);
            if let Some(Target::Replay { .. }) = model.link.target.take() {
                model.notices.show(Notice::new(
                    Topic::Link,
                    Level::Note,
                    "The recording has come to its end.",
                    "Drag over a press on the trace, or replay it again.",
                ));
            }
            Vec::new()
        }
    }
}

fn connected(model: &mut Model, target: Target, rate: Option<u32>, wires: u8) -> Vec<Effect> {
    let mut effects = Vec::new();
    model.link.phase = Phase::Open;
    the_box::probe_found(model);
    model.link.rate = rate;
    model.link.wires = wires;
    model.notices.clear(Topic::Link);
    // The recording goes on where it was, later by as long as nothing came.
    let before = model.recording.last_t_ms();
    let away_ms = (model.now.ms - model.link.last_at_ms).max(1.0);
    model.link.offset_ms = before.map_or(0.0, |last| last + away_ms);
    model.recording.mark_loss();
    learn::lost(model);
    let converter = match target {
        Target::Demo { .. } => Converter::TenBit,
        _ => model.project().map_or_else(Converter::default, |project| project.plan.converter),
    };
    model.door = door(model, converter);
    model.kept.learned_since_open.clear();
    model.link.counting = (model.now.ms, 0);
    if let Target::Serial { path, .. } = &target {
        model.preferences.port = Some(path.clone());
        model.preferences.rate = rate;
        effects.push(Effect::KeepPreferences(Box::new(model.preferences.clone())));
    }
    model.link.target = Some(target);
    if model.document.is_some() && model.station == Station::Wheel {
        model.station = Station::Learn;
    }
    effects
}

fn readings_came(model: &mut Model, batch: Batch) -> Vec<Effect> {
    let Batch { readings, broken_lines, lost_readings } = batch;
    let mut effects = Vec::new();
    model.link.readings += readings.len() as u64;
    model.link.broken += broken_lines;
    model.link.last_at_ms = model.now.ms;
    count_rate(model, readings.len() as u64);
    if matches!(model.notices.on(Topic::Link), Some(notice) if notice.level == Level::Caution) {
        model.notices.clear(Topic::Link);
    }
    if lost_readings > 0 {
        model.link.lost += lost_readings;
        model.recording.mark_loss();
        learn::lost(model);
        let lost = model.link.lost;
        model.notices.show(Notice::new(
            Topic::Readings,
            Level::Caution,
            "Readings were lost.",
            format!("{lost} so far: they came faster than they could be taken. A press they fell into is not counted."),
        ));
    }
    if model.link.broken > 20 && model.link.broken * 4 > model.link.readings {
        let (broken, read) = (model.link.broken, model.link.readings);
        model.notices.show(Notice::new(
            Topic::Readings,
            Level::Caution,
            "Many lines are broken.",
            format!(
                "{broken} beside {read} good ones{}. Check the ground wire and the rate of the probe.",
                model
                    .link
                    .broken_sample
                    .as_ref()
                    .map(|sample| format!(", the last \"{sample}\""))
                    .unwrap_or_default()
            ),
        ));
    }
    let mut counts = std::mem::take(&mut model.link.scratch);
    counts.clear();
    let taken = model.door.take(&readings, &mut counts);
    if taken.rescale {
        rescale(model);
    }
    let offset_ms = model.link.offset_ms;
    for reading in &mut counts {
        reading.t_ms += offset_ms;
    }
    let fell_out_before = model.recording.fell_out().readings;
    model.recording.push(&counts);
    say_what_fell_out(model, fell_out_before);
    if let Some(tape) = &mut model.tape {
        tape.readings += readings.len() as u64;
        effects.push(Effect::Tape(TapeEffect::Write(readings)));
    }
    effects.extend(learn::readings(model, &counts));
    effects.extend(the_box::seat::readings(model, &counts));
    model.link.scratch = counts;
    effects
}

/// Counts readings over a second or more at a time.
fn count_rate(model: &mut Model, readings: u64) {
    let (since_ms, count) = model.link.counting;
    let count = count + readings;
    let span_ms = model.now.ms - since_ms;
    if span_ms >= 1000.0 {
        model.link.per_second = count as f64 * 1000.0 / span_ms;
        model.link.counting = (model.now.ms, 0);
    } else {
        model.link.counting = (since_ms, count);
    }
}

/// The converter turned out to be a finer one: what came before was four times too high.
fn rescale(model: &mut Model) {
    model.recording.rescale(Converter::TwelveBit);
    learn::rescale(model);
    let learned = std::mem::take(&mut model.kept.learned_since_open);
    if let Some(document) = &mut model.document {
        document.change(None, |project| {
            project.plan.converter = Converter::TwelveBit;
            // Edges were put and buttons re-checked by the wrong numbers.
            project.edges.retain(|id, _| !learned.contains(id));
            project.rechecked = None;
            for (id, button) in &mut project.learned {
                if learned.contains(id) {
                    for press in &mut button.presses {
                        press.median_count /= Converter::TwelveBit.per_count();
                        press.spread_count /= Converter::TwelveBit.per_count();
                        press.tally.clear();
                    }
                }
            }
        });
    }
    model.notices.show(
        Notice::new(
            Topic::Converter,
            Level::Note,
            "A 12-bit probe.",
            "It gave a number above 1023. Everything is shown in 10-bit counts: its numbers divided by 4.",
        )
        .at(Station::Learn),
    );
}

fn say_what_fell_out(model: &mut Model, before: u64) {
    let fell_out = model.recording.fell_out();
    if fell_out.readings > before {
        let span = crate::units::time_text(fell_out.ms);
        let notice = Notice::new(
            Topic::FellOut,
            Level::Note,
            "The recording is full.",
            format!("The oldest {span} fell out. Record to a file to keep all."),
        )
        .at(Station::Learn);
        let notice = if model.tape.is_some() {
            notice
        } else {
            notice.offering("Record", Action::File(super::action::FileAction::AskTape))
        };
        model.notices.show(notice);
    }
}

/// The project says otherwise what the converter runs to, by an edit or by taking one back: the
/// door and the recording follow.
pub(super) fn follow_converter(model: &mut Model) {
    let Some(converter) = model.project().map(|project| project.plan.converter) else { return };
    // The demo's converter is its own, and a closed link's door is chosen when it opens.
    let is_probe = matches!(model.link.target, Some(Target::Serial { .. } | Target::Replay { .. }));
    if !is_probe || model.link.phase != Phase::Open || model.door.converter() == converter {
        return;
    }
    model.recording.rescale(converter);
    learn::converter_changed(model);
    model.door = door(model, converter);
}

/// A door for this converter, which follows the feed where the project's circuit monitors it.
fn door(model: &Model, converter: Converter) -> Door {
    let circuit = model.project().and_then(|project| project.circuit.as_ref());
    Door::new(converter).monitored(circuit.and_then(crate::circuit::Circuit::monitor_count))
}

/// Presses or lets go of the demo's wheel.
pub(super) const fn demo_touch(touch: DemoTouch) -> Effect {
    Effect::Link(Request::Demo(touch))
}
