//! The whole window: frame, notices, the station in hand, and what stands over it. Reads the model,
//! pushes actions; keeps nothing but drafts.

use egui::{Key, Modifiers, Rect, Ui, UiBuilder, pos2};

use crate::app::codes::CodesView;
use crate::app::codes::sweep::{Motion, SweepAction};
use crate::app::link::Phase;
use crate::app::the_box::{BoxAction, BoxView};
use crate::app::{
    Action, CircuitAction, CircuitView, CodesAction, FileAction, LearnAction, LearnView, Level, Model,
    Notice as AppNotice, Progress, Station, WheelAction, WheelView,
};
use crate::units::count_text;

use super::overlays;
use super::stations::{self, Area};
use super::theme::{Theme, control, space};
use super::widgets::focus::{hold_keys, key_pressed};
use super::widgets::frame::{FrameAnswer, FrameInfo, frame};
use super::widgets::head::HeadInfo;
use super::widgets::layout::{Layout, WidthClass};
use super::widgets::node::NodeState;
use super::widgets::notice::{Notice, NoticeLevel, notices};
use super::widgets::rail::RailStation;
use super::widgets::strip::{LinkInfo, LinkState, StripInfo};

/// What is typed or scrolled and not yet part of the model, station by station.
#[derive(Debug, Default)]
pub struct Drafts {
    /// The Start station.
    pub start: stations::start::Draft,
    /// The Wheel station.
    pub wheel: stations::wheel::Draft,
    /// The Circuit station.
    pub circuit: stations::circuit::Draft,
    /// The Learn station.
    pub learn: stations::learn::Draft,
    /// The Codes station.
    pub codes: stations::codes::Draft,
    /// The Box station.
    pub the_box: stations::the_box::Draft,
    /// The typed path.
    pub path: String,
    /// Whether the link's panel is open.
    pub link_open: bool,
}

/// Draws everything; gives what the person did, in order.
pub fn window_ui(ui: &mut Ui, model: &Model, drafts: &mut Drafts) -> Vec<Action> {
    let mut actions = Vec::new();
    let layout = Layout::within(ui.max_rect());
    let theme = Theme::of(ui.ctx());
    ui.painter().rect_filled(ui.max_rect(), 0, theme.face);
    hold_keys(ui.ctx(), overlays::is_modal(model));
    keys(ui, model, &mut actions);
    overlays::keys(ui, model, drafts, &mut actions);
    frame_ui(ui, model, drafts, &layout, &mut actions);
    let content = notices_ui(ui, model, &layout, &mut actions);
    let area = Area { layout, content };
    let mut child = ui.new_child(UiBuilder::new().max_rect(area.content));
    station_ui(&mut child, model, drafts, &area, &mut actions);
    overlays::overlays_ui(ui, model, drafts, &layout, &mut actions);
    actions
}

/// Whether nothing is open, so that the first station is the start.
fn is_start(model: &Model) -> bool {
    model.station == Station::Wheel && model.document.is_none()
}

fn station_ui(ui: &mut Ui, model: &Model, drafts: &mut Drafts, area: &Area, actions: &mut Vec<Action>) {
    if is_start(model) {
        stations::start::start_ui(ui, model, &mut drafts.start, area, actions);
        return;
    }
    match model.station {
        Station::Wheel if model.document.is_some() => {
            stations::wheel::wheel_ui(ui, model, &mut drafts.wheel, area, actions);
        }
        Station::Circuit if model.document.is_some() => {
            stations::circuit::circuit_ui(ui, model, &mut drafts.circuit, area, actions);
        }
        Station::Learn if model.document.is_some() => {
            stations::learn::learn_ui(ui, model, &mut drafts.learn, area, actions);
        }
        Station::Codes if model.document.is_some() => {
            let Drafts { codes, link_open, .. } = drafts;
            stations::codes::codes_ui(ui, model, codes, link_open, area, actions);
        }
        Station::Pair if model.document.is_some() => stations::pair::pair_ui(ui, model, area, actions),
        Station::Box if model.document.is_some() => {
            let Drafts { the_box, link_open, .. } = drafts;
            stations::the_box::the_box_ui(ui, model, the_box, link_open, area, actions);
        }
        station => stations::to_come::to_come_ui(ui, model, station, area),
    }
}

fn frame_ui(ui: &mut Ui, model: &Model, drafts: &mut Drafts, layout: &Layout, actions: &mut Vec<Action>) {
    let keys: Vec<String> = (1..=Station::ALL.len()).map(|number| format!("Ctrl {number}")).collect();
    let rail: Vec<_> = model
        .derived
        .rail
        .iter()
        .zip(&keys)
        .map(|(entry, key)| RailStation {
            name: entry.station.name(),
            truth: &entry.truth,
            state: node_state(entry.progress),
            key,
        })
        .collect();
    let project = model.project();
    let link = link_words(model);
    let vehicle = project.map(|project| vehicle_name(&project.vehicle.name));
    let (title, sentence) = head_words(model);
    let (views, view) = views(model);
    let document = model.document.as_ref();
    let supply = stations::the_box::supply_volts(model);
    let feed = supply.as_deref().map(|volts| (volts, "box supply"));
    let info = FrameInfo {
        stations: &rail,
        current: Some(model.station.index()),
        strip: StripInfo {
            vehicle: vehicle.as_deref(),
            stereo: project.map_or("", |project| project.stereo.name.as_str()),
            saved: if project.is_some() { &model.derived.saved_line } else { "Nothing to save" },
            // What a step was isn't known by name.
            undo: document.filter(|document| document.can_undo()).map(|_| ""),
            redo: document.filter(|document| document.can_redo()).map(|_| ""),
            link: LinkInfo { state: link.state, port: &link.port, line: &link.line, feed },
            sound: None,
        },
        head: HeadInfo { title, sentence: &sentence, views, view },
        reduced_motion: false,
    };
    let FrameAnswer {
        station,
        view,
        undo,
        redo,
        theme,
        keys,
        sound: _,
        cautions,
        vehicle_clicked,
        link_clicked,
    } = frame(ui, layout, &info);
    if let Some(station) = station.and_then(|index| Station::ALL.get(index)) {
        actions.push(Action::Go(*station));
    }
    if let Some(view) = view {
        actions.extend(view_action(model, view));
    }
    for (clicked, action) in [
        (undo, Action::Undo),
        (redo, Action::Redo),
        (theme, Action::SwitchTheme),
        (keys, Action::ShowKeys(!model.showing.keys)),
        (cautions, Action::ShowCautions(!model.showing.cautions)),
    ] {
        if clicked {
            actions.push(action);
        }
    }
    if vehicle_clicked && model.document.is_some() {
        actions.extend(stations::wheel::to_names());
    }
    if link_clicked {
        drafts.link_open = !drafts.link_open;
        if model.codes.sweep.motion != Motion::Paused {
            // Under the panel nobody sees what a code did.
            actions.push(Action::Codes(CodesAction::Sweep(SweepAction::Pause)));
        }
    }
}

/// What a vehicle without a name is called.
fn vehicle_name(name: &str) -> String {
    if name.trim().is_empty() { "Unnamed vehicle".to_owned() } else { name.to_owned() }
}

const fn node_state(progress: Progress) -> NodeState {
    match progress {
        Progress::Idle => NodeState::Idle,
        Progress::Part(share) => NodeState::Part(share),
        Progress::Done => NodeState::Done,
        Progress::Look => NodeState::Caution,
        Progress::Broken => NodeState::Stop,
    }
}

struct LinkWords {
    state: LinkState,
    port: String,
    line: String,
}

fn link_words(model: &Model) -> LinkWords {
    let link = &model.link;
    match &link.phase {
        Phase::Open => {
            let rate = link.rate.map(|rate| format!("{} · ", spaced(rate))).unwrap_or_default();
            let broken = if link.broken > 0 { format!(" · {} broken", link.broken) } else { String::new() };
            LinkWords {
                state: LinkState::Joined,
                port: link.name(),
                line: format!("{rate}{:.0}/s · {} lost{broken}", link.per_second, link.lost),
            }
        }
        Phase::Opening(rate) => LinkWords {
            state: LinkState::Absent,
            port: format!("Opening {}", link.name()),
            line: rate
                .map_or_else(|| "Waiting for numbers".to_owned(), |rate| format!("Trying {}", spaced(rate))),
        },
        Phase::Gone => LinkWords {
            state: LinkState::Gone,
            port: "Port gone".to_owned(),
            line: format!("Waiting for {}", link.name()),
        },
        Phase::Closed => LinkWords {
            state: LinkState::Absent,
            port: "Not connected".to_owned(),
            line: match link.ports.len() {
                0 => "Looking for a box or probe".to_owned(),
                1 => "1 port found".to_owned(),
                ports => format!("{ports} ports found"),
            },
        },
    }
}

/// `115 200`.
fn spaced(rate: u32) -> String {
    if rate >= 1000 { format!("{} {:03}", rate / 1000, rate % 1000) } else { rate.to_string() }
}

/// The head's title and sentence.
fn head_words(model: &Model) -> (&'static str, String) {
    if is_start(model) {
        return ("Start", "Nothing on the bench yet. Pick one.".to_owned());
    }
    let sentence = match model.station {
        Station::Wheel => stations::wheel::sentence(model),
        Station::Learn => match model.learn.view {
            LearnView::Prompted => "Hands on the wheel. Follow the name.".to_owned(),
            LearnView::Click => "Press the button, then drag over the press.".to_owned(),
            LearnView::Bands => "What each band is made of. Drag an edge.".to_owned(),
            LearnView::Dwell => "How long a band must hold before it counts.".to_owned(),
        },
        Station::Circuit if model.document.is_some() => stations::circuit::sentence(model),
        Station::Codes => {
            let stereo =
                model.project().map(|project| project.stereo.name.clone()).filter(|name| !name.is_empty());
            format!(
                "What {} listens for.",
                stereo.map_or_else(|| "the stereo".to_owned(), |name| format!("the {name}"))
            )
        }
        Station::Pair => pressed_now(model).unwrap_or_else(|| "Which press sends which command.".to_owned()),
        Station::Box if model.document.is_some() => stations::the_box::sentence(model),
        _ => String::new(),
    };
    (model.station.name(), sentence)
}

/// What is pressed now and what it would send.
fn pressed_now(model: &Model) -> Option<String> {
    let button = stations::live_button(model)?;
    let project = model.project()?;
    let name = &project.wheel.buttons.get(button)?.name;
    let reading = stations::live_count(model, model.learn.wire)?;
    Some(format!("Pressed now: {name}, at {} counts.", count_text(reading, 0)))
}

const LEARN_VIEWS: [&str; 4] = ["Prompted", "Click", "Bands", "Dwell"];
const WHEEL_VIEWS: [&str; 2] = [WheelView::MeterCheck.name(), WheelView::Names.name()];
const CIRCUIT_VIEWS: [&str; 4] = [
    CircuitView::Sense.name(),
    CircuitView::Output.name(),
    CircuitView::Supply.name(),
    CircuitView::TwoButtons.name(),
];
const CODES_VIEWS: [&str; 4] =
    [CodesView::Jack.name(), CodesView::Listen.name(), CodesView::TypeIn.name(), CodesView::Sweep.name()];
const BOX_VIEWS: [&str; 6] = [
    BoxView::Contents.name(),
    BoxView::Watch.name(),
    BoxView::SeatCheck.name(),
    BoxView::Counters.name(),
    BoxView::Wiring.name(),
    BoxView::Settings.name(),
];

fn views(model: &Model) -> (&'static [&'static str], usize) {
    match model.station {
        Station::Wheel if model.document.is_some() => (&WHEEL_VIEWS, model.wheel.view as usize),
        Station::Circuit if model.document.is_some() => (&CIRCUIT_VIEWS, model.circuit.view as usize),
        Station::Learn if model.document.is_some() => (&LEARN_VIEWS, model.learn.view as usize),
        Station::Codes if model.document.is_some() => (&CODES_VIEWS, model.codes.view as usize),
        Station::Box if model.document.is_some() => (&BOX_VIEWS, model.the_box.view as usize),
        _ => (&[], 0),
    }
}

fn view_action(model: &Model, view: usize) -> Option<Action> {
    let learn = |view| Some(Action::Learn(LearnAction::View(view)));
    match (model.station, view) {
        (Station::Learn, 0) => learn(LearnView::Prompted),
        (Station::Learn, 1) => learn(LearnView::Click),
        (Station::Wheel, view) => {
            WheelView::ALL.get(view).map(|view| Action::Wheel(WheelAction::View(*view)))
        }
        (Station::Circuit, view) => {
            CircuitView::ALL.get(view).map(|view| Action::Circuit(CircuitAction::View(*view)))
        }
        (Station::Learn, 2) => learn(LearnView::Bands),
        (Station::Learn, 3) => learn(LearnView::Dwell),
        (Station::Codes, view) => {
            CodesView::ALL.get(view).map(|view| Action::Codes(CodesAction::View(*view)))
        }
        (Station::Box, view) => BoxView::ALL.get(view).map(|view| Action::Box(BoxAction::View(*view))),
        _ => None,
    }
}

/// Shows the station's notices under its head; gives what is left for the station.
fn notices_ui(ui: &mut Ui, model: &Model, layout: &Layout, actions: &mut Vec<Action>) -> Rect {
    let content = layout.content;
    let all: Vec<&AppNotice> = model.notices.at(model.station).collect();
    if all.is_empty() {
        return content;
    }
    let shown: Vec<_> = all
        .iter()
        .enumerate()
        .map(|(number, notice)| Notice {
            level: match notice.level {
                Level::Stop => NoticeLevel::Stop,
                Level::Caution => NoticeLevel::Caution,
                Level::Note => NoticeLevel::Note,
            },
            head: &notice.head,
            body: &notice.body,
            action: Some((
                notice.action.as_ref().map_or("Put away", |(label, _)| label.as_str()),
                ALT_KEYS.get(number).copied(),
            )),
        })
        .collect();
    // The tap's line is above the content: two points of air, as wide as the work.
    let top = content.top() - if layout.class == WidthClass::Wide { 2.0 } else { 4.0 };
    let mut child = ui.new_child(UiBuilder::new().max_rect(Rect::from_min_max(
        pos2(content.left(), top),
        pos2(layout.acting.right(), content.bottom()),
    )));
    child.spacing_mut().item_spacing.y = space::TIGHT;
    let answered = notices(&mut child, &shown).or_else(|| notice_key(ui, all.len()));
    if let Some(notice) = answered.and_then(|number| all.get(number)) {
        let answer = if notice.action.is_some() { Action::Answer } else { Action::Dismiss };
        actions.push(answer(notice.topic));
    }
    let bottom = child.min_rect().bottom() + space::ROW;
    Rect::from_min_max(pos2(content.left(), bottom.min(content.bottom() - control::ACTING)), content.max)
}

const ALT_KEYS: [&str; 2] = ["Alt 1", "Alt 2"];

fn notice_key(ui: &Ui, notices: usize) -> Option<usize> {
    [Key::Num1, Key::Num2].into_iter().take(notices).position(|key| key_pressed(ui, Modifiers::ALT, key))
}

/// Keys that work everywhere.
fn keys(ui: &Ui, model: &Model, actions: &mut Vec<Action>) {
    const STATIONS: [Key; 7] = [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7];
    for (key, station) in STATIONS.into_iter().zip(Station::ALL) {
        if key_pressed(ui, Modifiers::COMMAND, key) {
            actions.push(Action::Go(station));
        }
    }
    let shift = Modifiers::COMMAND | Modifiers::SHIFT;
    let pairs = [
        (shift, Key::Z, Action::Redo),
        (Modifiers::COMMAND, Key::Z, Action::Undo),
        (Modifiers::COMMAND, Key::Y, Action::Redo),
        (shift, Key::S, Action::File(FileAction::AskSave)),
        (Modifiers::COMMAND, Key::S, Action::File(FileAction::Save)),
        (Modifiers::COMMAND, Key::O, Action::File(FileAction::AskOpen)),
        (Modifiers::COMMAND, Key::N, Action::File(FileAction::New)),
        (Modifiers::NONE, Key::F1, Action::ShowCautions(!model.showing.cautions)),
        (Modifiers::NONE, Key::F2, Action::ShowKeys(!model.showing.keys)),
    ];
    for (modifiers, key, action) in pairs {
        if key_pressed(ui, modifiers, key) {
            actions.push(action);
        }
    }
}
