//! The demo van's box in every state the station can show, made by hand: for the station's tests, and
//! for looking at it (`cargo run --example station`).

use std::collections::VecDeque;

use crate::app::link::Phase as LinkPhase;
use crate::app::the_box::{BoxView, Held, Presence, Running};
use crate::app::{Action, Edit, FileAction, Model, Station};
use crate::device::{Failure, Job, Phase, SlotBytes};
use crate::image::{Built, Image, ImageBand, ImageButton, ImageCode, ImageCommand, ImagePair, Misfit, Row};
use crate::learn::seat::{Decided, DecidedKind, SeatButton, SeatCommand, SeatPrompt, SeatSession};
use crate::link::Target;
use crate::project::{CommandId, Gesture};
use crate::wire::{Counters, DecisionKind, DecisionSeen, Identity, ResetCause, Slot, Tally};

/// Every state by its name.
pub(crate) const STATES: [&str; 28] = [
    "none",
    "gone",
    "asking",
    "probe",
    "no program",
    "no bootloader",
    "half flashed",
    "unread",
    "nothing",
    "unreadable",
    "damaged",
    "same",
    "differs",
    "misfits",
    "writing",
    "reading back",
    "flashing",
    "not written",
    "watch",
    "watch off",
    "seat begins",
    "seat check",
    "seat wrong",
    "seat engine",
    "seat done",
    "counters",
    "wiring",
    "settings",
];

/// Where each button of the van is accepted, in counts.
const BANDS: [(u16, u16); 7] =
    [(64, 148), (160, 284), (296, 424), (436, 520), (540, 614), (640, 770), (790, 900)];

/// The model in a state of [`STATES`]; an unknown name gives the first.
#[must_use]
pub(crate) fn made_up(state: &str) -> Model {
    let mut model = van();
    let good = identity();
    let found = |identity: &Identity| Presence::Found(Box::new(identity.clone()));
    model.the_box.presence = match state {
        "probe" => Presence::Probe,
        "no program" | "flashing" | "half flashed" => Presence::NoProgram { bootloader: true },
        "no bootloader" => Presence::NoProgram { bootloader: false },
        "none" | "gone" | "asking" => Presence::None,
        "nothing" => found(&Identity { has_image: false, slot: None, ..good }),
        "damaged" => found(&Identity { has_damage: true, ..good }),
        _ => found(&good),
    };
    if matches!(model.the_box.presence, Presence::Found(_)) {
        holds(&mut model, state);
        model.the_box.counters = Some((counters(), 0.0));
    }
    model.link.phase = match state {
        "none" => LinkPhase::Closed,
        "gone" => LinkPhase::Gone,
        "asking" => LinkPhase::Opening(None),
        _ => LinkPhase::Open,
    };
    model.the_box.view = match state {
        "watch" | "watch off" => BoxView::Watch,
        _ if state.starts_with("seat") => BoxView::SeatCheck,
        "counters" => BoxView::Counters,
        "wiring" => BoxView::Wiring,
        "settings" => BoxView::Settings,
        _ => BoxView::Contents,
    };
    let running = |job, phase, done, of| Some(Running { job, phase: Some(phase), done, of });
    model.the_box.running = match state {
        "writing" => running(Job::Write, Phase::Writing, 128, 401),
        "reading back" => running(Job::Write, Phase::Checking, 320, 401),
        "flashing" => running(Job::Flash, Phase::Writing, 3_328, 10_496),
        _ => None,
    };
    model.the_box.failure = failure(state);
    let presses = match state {
        "seat check" => 68,
        "seat wrong" => 9,
        "seat engine" => 42,
        "seat done" => 84,
        _ => 0,
    };
    if presses > 0 {
        seat(&mut model, presses, state == "seat wrong");
    }
    if state == "watch" {
        model.the_box.watching = true;
        model.the_box.decisions = decisions();
        model.the_box.try_command = Some(CommandId("mute".to_owned()));
        model.the_box.sent = Some((CommandId("mute".to_owned()), 1));
    }
    model
}

/// The demo van, all its buttons paired, at the Box station.
fn van() -> Model {
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    model.update(Action::File(FileAction::Demo));
    model.update(Action::Go(Station::Box));
    let commands =
        ["volume_up", "volume_down", "next_track", "previous_track", "source", "answer_call", "mute"];
    let buttons: Vec<_> = model
        .project()
        .map(|project| project.wheel.buttons.iter().map(|button| button.id.clone()).collect())
        .unwrap_or_default();
    for (button, command) in buttons.into_iter().zip(commands) {
        let command = Some(CommandId(command.to_owned()));
        model.update(Action::Edit(Edit::Pair(button, Gesture::Tap, command)));
    }
    let built = built(&model);
    model.derived.the_box.built = Some(Ok(built));
    model.derived.the_box.check = Some((0x4C1A, 401));
    model.link.target = Some(Target::Serial { path: "/dev/ttyUSB0".to_owned(), rate: None });
    model.link.rate = Some(115_200);
    model.link.per_second = 1_000.0;
    model
}

fn built(model: &Model) -> Built {
    let Some(project) = model.project() else {
        return Built { image: Image::default(), buttons: Vec::new(), commands: Vec::new() };
    };
    let code = |command: u32| ImageCode::Family { family: 1, address: 0x59, command };
    let numbers = [0x16, 0x17, 0x1B, 0x1A, 0x05, 0x22, 0x23, 0x0C, 0x20, 0x2D];
    // The tap of button i sends command i, but for Mute's, which skips End call.
    let pair = |button: u8| ImagePair {
        button,
        gesture: Gesture::Tap,
        command: if button == 6 { 7 } else { button },
        repeats: false,
        every_ms: None,
    };
    let image = Image {
        dwell_ms: 22,
        buttons: BANDS
            .iter()
            .map(|(low, high)| ImageButton { wire: 1, band: ImageBand { low: *low, high: *high } })
            .collect(),
        pairs: (0..7).map(pair).collect(),
        commands: numbers.iter().map(|number| ImageCommand { code: code(*number) }).collect(),
        ..Image::default()
    };
    Built {
        image,
        buttons: project.wheel.buttons.iter().map(|button| button.id.clone()).collect(),
        commands: project.stereo.commands.iter().map(|command| command.id.clone()).collect(),
    }
}

/// What the box holds in a state, and the lines that follow from it.
fn holds(model: &mut Model, state: &str) {
    let slot = SlotBytes { number: 1, sequence: 7, check: 0x4C1A, body: vec![0; 401] };
    let Some(Ok(built)) = model.derived.the_box.built.clone() else { return };
    model.the_box.held = match state {
        "unread" => Held::Unread,
        "nothing" => Held::Nothing,
        "unreadable" => {
            Held::Unreadable { slot, why: "it is of format 2, and this program knows 1.".to_owned() }
        }
        _ => Held::Image { slot, image: Box::new(built.image) },
    };
    if matches!(model.the_box.held, Held::Image { .. }) {
        model.derived.the_box.rows = rows(matches!(state, "differs" | "writing" | "not written"));
        if state != "differs" && state != "not written" {
            model.the_box.written_at = Some("21:58".to_owned());
        }
    }
    if state == "misfits" {
        model.derived.the_box.built = Some(Err(misfits()));
        model.derived.the_box.check = None;
        model.derived.the_box.rows.clear();
    }
}

fn identity() -> Identity {
    Identity {
        protocol: 1,
        firmware: (1, 0),
        signature: [0x1E, 0x95, 0x0F],
        has_image: true,
        reference_named: true,
        fuses: [0xFF, 0xDE, 0xFD, 0xFF],
        most: (16, 48, 32),
        body_max: 472,
        payload_max: 96,
        converter_top: 1_023,
        sample_hz: 1_000,
        rates: vec![115_200, 500_000],
        slot: Some(Slot { number: 1, sequence: 7, length: 401, check: 0x4C1A }),
        supply_mv: Some(5_050),
        reset: ResetCause::PowerOn,
        ..Identity::default()
    }
}

fn rows(differ: bool) -> Vec<Row> {
    let row = |what: &str, project: &str, held: &str| Row {
        what: what.to_owned(),
        project: project.to_owned(),
        held: held.to_owned(),
        same: project == held,
    };
    let names = ["Volume up", "Volume down", "Next", "Previous", "Source", "Answer", "Mute"];
    let sends = ["Volume up", "Volume down", "Next track", "Previous track", "Source", "Answer call", "Mute"];
    let numbers = ["16", "17", "1B", "1A", "05", "22", "0C"];
    let van = "Brindle Linnet 2008, Tarn R40";
    let mut rows = vec![
        row("Vehicle", van, van),
        row("Reference", "the supply", "the supply"),
        row("Feed monitor", "none", "none"),
        row("Dwell", "22 ms", if differ { "24 ms" } else { "22 ms" }),
        row("Settle limit", "4 counts", "4 counts"),
        row("Hold", "600 ms", "600 ms"),
        row("Rest", "940 to 980", "940 to 980"),
    ];
    for (name, (low, high)) in names.iter().zip(BANDS) {
        let band = format!("{low} to {high}");
        let held = if differ && *name == "Source" { "536 to 610" } else { &band };
        rows.push(row(&format!("{name}, band"), &band, held));
    }
    for (name, sends) in names.iter().zip(sends) {
        let held = if differ && *name == "Mute" { "nothing" } else { sends };
        rows.push(row(&format!("{name}, tap"), sends, held));
    }
    for (sends, number) in sends.iter().zip(numbers) {
        let code = format!("nec address 59 command {number}");
        rows.push(row(&format!("Code of {sends}"), &code, &code));
    }
    rows
}

fn misfits() -> Vec<Misfit> {
    vec![
        Misfit {
            place: "pairs".to_owned(),
            what: "51 pairs, and the box holds 48.".to_owned(),
            advice: "Take 3 gestures away at Pair.".to_owned(),
        },
        Misfit {
            place: "stereo.commands.odd_one".to_owned(),
            what: "The image is 497 bytes long, 25 more than fit.".to_owned(),
            advice: "Odd one is raw and takes 92: capture it again, or leave it out.".to_owned(),
        },
    ]
}

fn failure(state: &str) -> Option<Failure> {
    let (job, what, advice) = match state {
        "half flashed" => (
            Job::Flash,
            "The bootloader stopped answering at byte 3328 of 10496.",
            "Leave the cable alone and close every other program that uses the port.",
        ),
        "not written" => (
            Job::Write,
            "The supply is 4.31 V, and the box writes from 4.5 V on.",
            "Plug the laptop in directly, without a hub, and write again. What the box held, it still holds.",
        ),
        _ => return None,
    };
    let half_flashed = state == "half flashed";
    Some(Failure { job, what: what.to_owned(), advice: advice.to_owned(), half_flashed })
}

fn counters() -> Counters {
    Counters {
        up_ms: 41 * 60_000,
        resets: Tally { power_on: 1, external: 2, brown_out: 1, watchdog: 0 },
        link_errors: 0,
        frames_lost: 0,
        longest_loop_us: 410,
        presses: 412,
        rejected: 37,
        undecided: 3,
        sent: 398,
        writes: 7,
    }
}

/// A seat check with so many presses made, the last of them wrong or not.
fn seat(model: &mut Model, presses: usize, last_wrong: bool) {
    let buttons: Vec<_> = model
        .project()
        .map(|project| project.wheel.buttons.iter().map(|button| button.id.clone()).collect())
        .unwrap_or_default();
    let buttons = buttons.into_iter().zip(BANDS).map(|(id, (low, high))| SeatButton {
        id,
        low_count: f64::from(low),
        high_count: f64::from(high),
    });
    let counts = [86.0, 216.0, 358.0, 484.0, 551.0, 700.0, 849.0];
    let mut session = SeatSession::new(buttons.collect(), 3, 0x4C1A);
    while session.presses().len() < presses {
        let made = session.presses().len();
        let SeatPrompt::Press(asked) = session.prompt() else {
            session.command(SeatCommand::EngineRuns);
            continue;
        };
        let button = if last_wrong && made + 1 == presses { (asked + 1) % 7 } else { asked };
        let told = |kind, sent: Option<usize>| Decided {
            kind,
            button: Some(button),
            count: Some(counts[button] + (made % 5) as f64 * 3.0 - 6.0),
            latency_ms: 23 + (made % 5) as u16,
            sent: sent.and_then(|sent| Some(model.project()?.stereo.commands.get(sent)?.id.clone())),
        };
        session.decided(&told(DecidedKind::Pressed, None));
        session
            .decided(&told(DecidedKind::Gesture(Gesture::Tap), Some(if button == 6 { 7 } else { button })));
        session.decided(&told(DecidedKind::Released, None));
    }
    model.the_box.watching = true;
    model.the_box.seat.session = Some(session);
}

/// Presses of every button, one of them undecided; Source is still held.
fn decisions() -> VecDeque<DecisionSeen> {
    let counts = [95.0, 222.0, 360.5, 495.0, 552.0, 703.0, 850.0];
    let mut decisions = VecDeque::new();
    let mut tick = 12_400;
    for round in 0..4_u16 {
        for (button, count) in (0_u8..).zip(counts) {
            let latency_ms = 23 + (round * 3 + u16::from(button) * 2) % 5;
            let count = count + f64::from(round) * 4.5 - 6.0 + f64::from(button % 3) * 2.0;
            let seen = |kind, tick, command| DecisionSeen {
                tick,
                kind,
                button: Some(button),
                wire: 1,
                count,
                latency_ms,
                command,
            };
            let command = if button == 6 { 7 } else { button };
            decisions.push_back(seen(DecisionKind::Pressed, tick, None));
            decisions.push_back(seen(DecisionKind::Tap, tick + 1, Some(command)));
            decisions.push_back(seen(DecisionKind::Released, tick + 180, None));
            tick += 1_310;
        }
    }
    decisions.push_back(DecisionSeen {
        tick: tick + 400,
        kind: DecisionKind::Undecided,
        button: None,
        wire: 1,
        count: 627.0,
        latency_ms: 61,
        command: None,
    });
    for (kind, command) in [(DecisionKind::Pressed, None), (DecisionKind::Tap, Some(4))] {
        decisions.push_back(DecisionSeen {
            tick: tick + 1_500,
            kind,
            button: Some(4),
            wire: 1,
            count: 552.0,
            latency_ms: 24,
            command,
        });
    }
    decisions
}
