//! Listening to the remote: what to do now, the presses heard so far, and the code they come to.

use egui::{Align, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::{heard, parts, shown};
use crate::app::codes::listen::{Ear, ListenAction, PRESSES, Session, Shut, action};
use crate::app::link::Phase;
use crate::app::the_box::Presence;
use crate::app::{Action, FileAction, Model, Station};
use crate::project::Command;
use crate::remote::{self, Origin};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::field::Field;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::press_marks::{MarkState, PressMark, press_marks};
use crate::view::widgets::text;

/// Radius of a press's mark: small enough to stand without words.
const MARK: f32 = 15.0;
/// From here on the marks stand beside the words.
const BESIDE: f32 = 480.0;

/// What is to be done now.
struct State {
    word: String,
    more: String,
    /// Something is wrong: an octagon stands before it.
    is_stop: bool,
    offer: Option<Offer>,
}

/// What is offered where the box can't listen.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Offer {
    Connect,
    Box,
}

/// Draws the panel. True if what was heard is to be kept: Enter in the name.
pub(super) fn listen_ui(
    ui: &mut Ui,
    model: &Model,
    session: &Session,
    link_open: &mut bool,
    actions: &mut Vec<Action>,
) -> bool {
    let Some(project) = model.project() else { return false };
    let target = session.target.as_ref().and_then(|id| project.command(id));
    title_ui(ui, model, target, actions);
    let keep = if target.is_none() { name_ui(ui, session, actions) } else { false };
    let state = state(model, session, target);
    state_ui(ui, session, &state);
    if let Some(offer) = state.offer {
        offer_ui(ui, model, offer, link_open, actions);
    }
    ui.add_space(space::ROW);
    let commands = &project.stereo.commands;
    if let Some((head, lines)) = understood(session, target, commands) {
        let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        shown::note(ui, &head, &lines);
        ui.add_space(space::BLOCK);
    }
    let asked = if session.ear.is_on() { PRESSES.saturating_sub(session.presses.understood()) } else { 0 };
    if asked > 0 || !session.presses.all.is_empty() {
        heard::heard_ui(ui, &session.presses, asked);
    }
    for words in passed_over(session) {
        ui.add_space(4.0);
        parts::prose(ui, &words, size::AXIS, Theme::of(ui.ctx()).ink2);
    }
    if let Some(consensus) = &session.presses.consensus
        && let Ok(frame) = remote::encode(&consensus.heard.code, consensus.heard.toggle.unwrap_or(false))
    {
        ui.add_space(space::BLOCK + 2.0);
        parts::heard_block(ui, &frame, &consensus.heard.code, Some(consensus));
    }
    ui.add_space(space::TIGHT);
    keep
}

/// For which command, and the way to another.
fn title_ui(ui: &mut Ui, model: &Model, target: Option<&Command>, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let shown = crate::app::codes::listen::shown(model).map(|command| command.name.as_str());
    let (label, name) = match (target, shown) {
        (Some(_), _) => ("For a new command".to_owned(), "Listen for a new command".to_owned()),
        (None, Some(shown)) => (format!("For {shown}"), format!("Listen for {shown}")),
        (None, None) => (String::new(), String::new()),
    };
    let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), 48.0), Sense::hover());
    let mut room = place.width();
    if !label.is_empty() {
        let button = Button::line(&label).name(&name).key("N");
        let wide = button.wanted_width(ui.painter()).min(place.width() / 2.0);
        let rect =
            Rect::from_min_size(pos2(place.right() - wide, place.top() + 6.0), vec2(wide, control::USUAL));
        if button.show_at(ui, rect).clicked() || key_pressed(ui, Modifiers::NONE, Key::N) {
            actions.push(action(ListenAction::ForNew(target.is_some())));
        }
        room = rect.left() - space::ROW - place.left();
    }
    let words = target.map_or("A new command", |target| target.name.as_str());
    let (x, y, font) = (place.left(), place.top() + 24.0, theme::bold(size::STATE));
    text::cap_within(ui.painter(), x, y, Align::Min, room, words, font, theme.ink);
    let told = Rect::from_min_size(place.min, vec2(room, place.height()));
    focus::tell(ui, told, "listened for", Role::Heading, &format!("Listening for: {words}"));
}

/// The new command's name. True if Enter was pressed in it.
fn name_ui(ui: &mut Ui, session: &Session, actions: &mut Vec<Action>) -> bool {
    let fault = session.name_fault.as_deref();
    let fault = fault.filter(|_| session.attempted || !session.name.trim().is_empty());
    let mut name = session.name.clone();
    let width = ui.available_width().min(320.0);
    let response = Field::new(&mut name, "Name")
        .hint("Its name, like Seek up")
        .width(width)
        .error(fault)
        .limit(60)
        .show(ui);
    if is_new(ui, "name", can_keep(session)) && session.name.trim().is_empty() {
        response.request_focus();
    }
    if let Some(fault) = fault {
        super::form::fault_ui(ui, fault);
    }
    ui.add_space(space::ROW);
    if name != session.name {
        actions.push(action(ListenAction::Name(name)));
    }
    response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter))
}

/// What to do now, at arm's length.
fn state_ui(ui: &mut Ui, session: &Session, state: &State) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let is_beside = width >= BESIDE;
    let marks_wide = PRESSES as f32 * (2.0 * MARK + 8.0) + space::ROW;
    let indent = if is_beside { marks_wide } else { 0.0 };
    let stop = if state.is_stop { 32.0 } else { 0.0 };
    let ink = if state.is_stop { theme.alarm_ink } else { theme.ink };
    let p = ui.painter().clone();
    let room = (width - indent).min(640.0);
    let word = text::prose(&p, &state.word, theme::bold(size::HEAD), ink, room - stop, 2);
    let more = text::prose(&p, &state.more, theme::regular(size::PROSE), theme.ink2, room, 6);
    let top = if is_beside { 0.0 } else { 2.0 * MARK + 10.0 };
    let high = top + word.size().y + more.size().y + 4.0;
    let (place, _) = ui.allocate_exact_size(vec2(width, high.max(2.0 * MARK + 6.0)), Sense::hover());
    marks_ui(ui, session, pos2(place.left() + MARK, place.top() + MARK + 2.0));
    let at = pos2(place.left() + indent, place.top() + top);
    if state.is_stop {
        heard::stop(&p, &theme, at + vec2(11.0, 17.0));
    }
    let under = at.y + word.size().y;
    p.galley(at + vec2(stop, 0.0), word, ink);
    p.galley(pos2(at.x, under), more, theme.ink2);
    let said = format!("{}. {}", state.word, state.more);
    let role = if state.is_stop { Role::Alert } else { Role::Status };
    let told = Rect::from_min_max(at, place.max);
    focus::tell_live(ui, told, "what to do", role, said.trim());
}

fn marks_ui(ui: &Ui, session: &Session, first: egui::Pos2) {
    let presses = &session.presses;
    let mut understood = presses
        .all
        .iter()
        .enumerate()
        .filter(|(_, press)| press.heard.is_ok())
        .map(|(number, _)| if presses.agrees(number) { MarkState::Done } else { MarkState::Refused });
    let mut next = session.ear == Ear::Open;
    let marks: Vec<_> = (0..PRESSES)
        .map(|_| {
            let state = understood.next().unwrap_or_else(|| {
                if std::mem::take(&mut next) { MarkState::Current(0.0) } else { MarkState::ToCome }
            });
            PressMark { state, label: "", reading: "" }
        })
        .collect();
    press_marks(ui, first, MARK, &marks);
}

fn state(model: &Model, session: &Session, target: Option<&Command>) -> State {
    let say = |word: &str, more: &str| State {
        word: word.to_owned(),
        more: more.to_owned(),
        is_stop: false,
        offer: None,
    };
    let button = target.map_or("the button", |target| target.name.as_str());
    let heard = session.presses.understood();
    match &session.ear {
        Ear::Asked if model.the_box.running.is_some() => {
            say("The box is busy", "It listens once that is done.")
        }
        Ear::Asked => say("Asking the box to listen", ""),
        Ear::Open => {
            let last = session.presses.all.last();
            let again = if last.is_some_and(|press| press.heard.is_err()) { ", again" } else { "" };
            let word = format!("Press {} of {PRESSES}{again}", heard + 1);
            if model.link.is_demo() {
                return say(&word, &format!("The demo's remote presses {button} by itself."));
            }
            let more = format!(
                "Point the remote at the box's receiver, a hand's width away. Press {button} for a moment, and let go."
            );
            say(&word, &more)
        }
        Ear::Shut(why) => shut(model, session, why, &say),
    }
}

fn shut(model: &Model, session: &Session, why: &Shut, say: &dyn Fn(&str, &str) -> State) -> State {
    let stop = |word: &str, more: &str| State { is_stop: true, ..say(word, more) };
    let heard = session.presses.understood();
    if session.is_full() {
        return full(session, say);
    }
    let stays = if heard > 0 { "What was heard stays. " } else { "" };
    match why {
        Shut::NoBox => {
            let (more, offer) = match (&model.the_box.presence, &model.link.phase) {
                (Presence::Found(_), _) => return say("The box is there", "Press L to listen."),
                (Presence::NoProgram { .. }, _) => {
                    ("The box has no program yet. Put it in, then listen.", Some(Offer::Box))
                }
                (Presence::Probe, _) => {
                    ("A probe prints numbers and has no receiver. Connect a box.", Some(Offer::Connect))
                }
                (Presence::None, Phase::Closed) => (
                    "The receiver is on the box. Connect it, or open the demo: its remote presses by itself.",
                    Some(Offer::Connect),
                ),
                (Presence::None, _) => {
                    ("What is at the other end is being asked. Press L once it is there.", None)
                }
            };
            State { offer, ..stop("No box to listen with", more) }
        }
        Shut::Gone if model.the_box.identity().is_some() => {
            say("The box is back", &format!("{stays}Press L to listen on."))
        }
        Shut::Gone => {
            stop("The box went away", &format!("{stays}Plug it in again, then press L to listen on."))
        }
        Shut::Failed { what, advice } => stop("The box does not listen", &format!("{what} {advice}")),
        Shut::Enough | Shut::Left | Shut::Stopped => {
            let more = match heard {
                0 => "Press L to listen.".to_owned(),
                heard => format!("{heard} of {PRESSES} heard. Press L to listen on, or keep what was heard."),
            };
            say("Not listening", &more)
        }
    }
}

/// All was heard that is asked for.
fn full(session: &Session, say: &dyn Fn(&str, &str) -> State) -> State {
    let stop = |word: &str, more: &str| State { is_stop: true, ..say(word, more) };
    let Some(consensus) = &session.presses.consensus else {
        return stop(
            "Not understood",
            if session.free().is_some() {
                "Every press fails the same check; why stands beside each. Listen again nearer to the receiver. If this remote sends no check, keep it as a free family, or keep the timings as they are."
            } else {
                "No press was understood; why stands beside each. Listen again nearer to the receiver, or keep the timings as they are."
            },
        );
    };
    let warning = consensus.warning.as_deref().unwrap_or_default();
    match session.presses.agreed() {
        Some(_) if warning.is_empty() => {
            say(&format!("{} of {} agree", consensus.agree, consensus.of), "Keep it, or listen again.")
        }
        Some(_) => stop(&format!("{} of {} agree", consensus.agree, consensus.of), warning),
        None => stop("No two presses agree", "Press one button of the remote three times. Listen again."),
    }
}

fn offer_ui(ui: &mut Ui, model: &Model, offer: Offer, link_open: &mut bool, actions: &mut Vec<Action>) {
    ui.add_space(space::TIGHT);
    ui.horizontal(|ui| match offer {
        Offer::Connect => {
            if ui.add(Button::line("Connect").height(control::USUAL)).clicked() {
                *link_open = true;
            }
            if !model.link.is_demo() && ui.add(Button::line("Open the demo").height(control::USUAL)).clicked()
            {
                actions.push(Action::File(FileAction::Demo));
            }
        }
        Offer::Box => {
            if ui.add(Button::line("Go to Box").height(control::USUAL)).clicked() {
                actions.push(Action::Go(Station::Box));
            }
        }
    });
}

/// What the presses come to, how sure it is, and what keeping it changes.
fn understood(
    session: &Session,
    target: Option<&Command>,
    commands: &[Command],
) -> Option<(String, Vec<String>)> {
    let consensus = session.presses.agreed()?;
    let code = &consensus.heard.code;
    let mut lines = vec![parts::sentence(&consensus.heard.sure.to_string())];
    if !consensus.heard.also.is_empty() {
        let also: Vec<_> = consensus.heard.also.iter().take(3).map(remote::describe).collect();
        lines.push(format!("It could also be {}.", also.join(", or ")));
    }
    let same = commands
        .iter()
        .find(|other| other.code == *code && target.is_none_or(|target| target.id != other.id));
    if let Some(other) = same {
        lines.push(format!("{} has this code already: was it the right button?", other.name));
    }
    match target {
        Some(target) if target.code == *code => {
            lines.push(format!("The same as it was {}.", origin_words(target.origin)));
        }
        Some(target) => lines.push(format!(
            "It was {}, {}. Keep puts this in its place.",
            parts::bytes(&target.code),
            origin_words(target.origin)
        )),
        None => {}
    }
    Some((remote::describe(code), lines))
}

const fn origin_words(origin: Origin) -> &'static str {
    match origin {
        Origin::Captured => "captured",
        Origin::Typed => "typed",
        Origin::Swept => "swept",
    }
}

/// Captures that are no press.
fn passed_over(session: &Session) -> Vec<String> {
    let flickers = match session.flickers {
        0 => None,
        1 => Some("A flicker was passed over: a mark or two is no remote.".to_owned()),
        many => Some(format!("{many} flickers were passed over: a mark or two is no remote.")),
    };
    flickers.into_iter().chain(session.torn.clone()).collect()
}

/// The acting row while listening; `keep` is set where Enter was pressed in the name.
pub(super) fn acting_ui(ui: &mut Ui, session: &Session, keep: bool, place: Rect, actions: &mut Vec<Action>) {
    let high = place.height();
    let keepable = session.keepable().is_some();
    let raw = session.raw().filter(|_| !session.ear.is_on() || session.presses.all.len() >= PRESSES);
    let (keep_label, can_keep) = match (keepable, raw) {
        (false, Some(_)) => ("Keep raw timings", true),
        (can, _) => ("Keep", can),
    };
    let keep_name = session
        .keepable()
        .map_or_else(|| keep_label.to_owned(), |code| format!("Keep {}", remote::describe(code)));
    let listens = session.ear.is_on();
    let heard = !session.presses.all.is_empty();
    let listen = match (listens, heard, session.is_full()) {
        (true, ..) => "Stop",
        (false, true, true) => "Listen again",
        (false, true, false) => "Listen on",
        (false, false, _) => "Listen",
    };
    let listen_name = if listens { "Stop listening" } else { listen };
    let odd = session.presses.consensus.as_ref().is_some_and(|consensus| !consensus.differ.is_empty());
    let can_redo = odd && !listens && keepable;
    let main = can_keep && !listens;
    let make = |act: bool, label| if act { Button::act(label) } else { Button::line(label) };
    let mut buttons = vec![
        make(main, keep_label).name(&keep_name).key("Enter").height(high).enabled(can_keep),
        make(!main && !listens, listen).name(listen_name).key("L").height(high),
    ];
    // Without a consensus there is none that is odd: the two never stand beside each other.
    let free = raw.and(session.free()).filter(|_| !keepable);
    let free_name = free.map(|code| format!("Keep {}, without the check", remote::describe(code)));
    if can_redo {
        buttons.push(Button::line("Press the odd one again").key("R").height(high));
    } else if let Some(name) = &free_name {
        buttons.push(Button::line("Keep as a free family").name(name).key("F").height(high));
    }
    let third = buttons.len() > 2;
    buttons.push(Button::line("Put away").key("Esc").height(high));
    let rects = row(ui.painter(), place, &buttons, space::ROW);
    let mut clicked = Vec::new();
    for (at, (button, rect)) in buttons.into_iter().zip(rects).enumerate() {
        let response = button.show_at(ui, rect);
        // Once all is heard the keyboard goes to Keep: else Enter would stay with the list's row.
        if at == 0 && is_new(ui, "keep", main) && !ui.text_edit_focused() {
            response.request_focus();
        }
        clicked.push(response.clicked());
    }
    let clicked = |at: usize| clicked.get(at) == Some(&true);
    let enter = keep || key_pressed(ui, Modifiers::NONE, Key::Enter);
    if can_keep && (clicked(0) || enter) {
        actions.push(action(if keepable { ListenAction::Keep } else { ListenAction::KeepRaw }));
    }
    if clicked(1) || key_pressed(ui, Modifiers::NONE, Key::L) {
        actions.push(action(if listens { ListenAction::Stop } else { ListenAction::Start }));
    }
    if can_redo && (clicked(2) || key_pressed(ui, Modifiers::NONE, Key::R)) {
        actions.push(action(ListenAction::Redo));
    }
    if free.is_some() && (clicked(2) || key_pressed(ui, Modifiers::NONE, Key::F)) {
        actions.push(action(ListenAction::KeepFree));
    }
    if clicked(if third { 3 } else { 2 }) || key_pressed(ui, Modifiers::NONE, Key::Escape) {
        actions.push(action(ListenAction::PutAway));
    }
}

/// Whether what was heard may be kept, and nothing more is waited for.
fn can_keep(session: &Session) -> bool {
    session.keepable().is_some() && !session.ear.is_on()
}

/// Whether this is true now and was not in the frame before.
fn is_new(ui: &Ui, what: &str, now: bool) -> bool {
    let id = egui::Id::unique(("codes: what was heard may be kept", what));
    let before = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    ui.data_mut(|data| data.insert_temp(id, now));
    now && !before
}
