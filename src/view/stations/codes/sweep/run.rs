//! The run: the code in hand in large type, what was before and what comes, the ruler, and why it waits.

use egui::{Align, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::caution::{note_ui, trouble_ui};
use super::ruler::Ruler;
use super::{act, see};
use crate::app::codes::sweep::{Halt, Meant, Motion, Question, SweepAction, hindrance};
use crate::app::{Action, Model};
use crate::project::Sweep;
use crate::remote::{self, Code};
use crate::units::time_text;
use crate::view::stations::codes::{parts, prose};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::text;

/// Room for the codes before and after, at the right of the one in hand.
const BESIDE: f32 = 196.0;
/// From this width on they stand there, and the code is as large as it gets.
const ROOMY: f32 = 560.0;

/// How a sweep goes, while there is none.
const HOW: [(&str, &str); 4] = [
    ("Set up.", "Choose the family and the address; a code you already have tells both."),
    ("Watch the stereo.", "The box sends one code after the other, each as one press of a remote."),
    ("Mark.", "When it does something, press M. The sweep waits, and you say what it was."),
    ("Stop when you like.", "It is saved with the vehicle, and goes on from there another day."),
];

/// Draws how a sweep goes.
pub(super) fn how_ui(ui: &mut Ui) {
    let theme = Theme::of(ui.ctx());
    bracket_ui(ui, "How it goes", "for a stereo without a remote");
    ui.add_space(space::TIGHT);
    let width = ui.available_width().min(640.0);
    for (head, body) in HOW {
        let pieces = [
            (head, theme::bold(size::PROSE), theme.ink),
            (" ", theme::regular(size::PROSE), theme.ink2),
            (body, theme::regular(size::PROSE), theme.ink2),
        ];
        let galley = parts::runs(ui, width, &pieces);
        parts::show(ui, galley, head, Role::Label, &format!("{head} {body}"));
        ui.add_space(6.0);
    }
}

/// Draws the run.
pub(super) fn run_ui(ui: &mut Ui, model: &Model, sweep: &Sweep, actions: &mut Vec<Action>) {
    let codes = sweep.range.len();
    hand_ui(ui, model, sweep);
    // Where the ruler would push it out of sight, what is asked stands over it.
    let narrow = ui.available_width() < ROOMY;
    if narrow {
        why_ui(ui, model, sweep, actions);
    }
    ui.add_space(space::ROW);
    let code = |at: u16| sweep.range.code(u32::from(at)).map(|code| parts::bytes(&code)).unwrap_or_default();
    let marks: Vec<u16> = sweep.marks.iter().map(|mark| mark.at).collect();
    let last = code(u16::try_from(codes.saturating_sub(1)).unwrap_or(u16::MAX));
    let ruler = Ruler {
        codes: usize::try_from(codes).unwrap_or(0),
        next: usize::from(sweep.next),
        marks: &marks,
        first: &code(0),
        last: &last,
    };
    ruler.show(ui);
    ui.add_space(space::TIGHT);
    if !narrow {
        why_ui(ui, model, sweep, actions);
    }
    ui.add_space(space::BLOCK);
}

/// Why it waits, and what is asked.
fn why_ui(ui: &mut Ui, model: &Model, sweep: &Sweep, actions: &mut Vec<Action>) {
    let state = &model.codes.sweep;
    let code = |at: u16| sweep.range.code(u32::from(at)).map(|code| parts::bytes(&code)).unwrap_or_default();
    if let Some(question) = state.question {
        question_ui(ui, question, &code, actions);
    } else if let Some(halt) = state.halt.as_ref().filter(|_| state.motion == Motion::Paused) {
        halt_ui(ui, model, sweep, halt);
    } else if u64::from(sweep.next) >= sweep.range.len() && state.motion == Motion::Paused {
        note_ui(ui, &Halt::Finished.words().unwrap_or_default());
    }
}

/// Why it waits, where the person doesn't know it already.
fn halt_ui(ui: &mut Ui, model: &Model, sweep: &Sweep, halt: &Halt) {
    let Some(words) = halt.words() else { return };
    let theme = Theme::of(ui.ctx());
    match halt {
        Halt::Marked => {
            let last = sweep.marks.last().and_then(|mark| mark.command.as_ref());
            let known = last.and_then(|id| model.project()?.command(id));
            let words = known.map_or(words, |command| format!("Marked: it is {}. Go on.", command.name));
            prose(ui, &words, size::PROSE, theme.ink);
        }
        // What is still so stands over the run.
        Halt::Hindered(_) if hindrance(model).is_some() => {}
        Halt::Hindered(_) => {
            trouble_ui(
                ui,
                "It paused because the box was gone or busy. It is there again: answer the caution, and go on.",
            );
        }
        halt if halt.is_trouble() => trouble_ui(ui, &words),
        _ => {
            prose(ui, &words, size::PROSE, theme.ink);
        }
    }
}

/// The candidate in hand, and how it stands: the one sent last, or, where one went back, the one to be
/// sent next.
fn in_hand(model: &Model, sweep: &Sweep) -> (&'static str, u16) {
    let state = &model.codes.sweep;
    let waits = state.motion == Motion::Paused;
    match state.sent.filter(|sent| sent.at + 1 == sweep.next) {
        Some(sent) if sent.whole => (if waits { "Sent last" } else { "Sent" }, sent.at),
        Some(sent) => ("Being sent", sent.at),
        None if u64::from(sweep.next) < sweep.range.len() => ("To be sent next", sweep.next),
        None => ("The last one", sweep.next.saturating_sub(1)),
    }
}

/// The code in hand as it goes over the wire.
pub(super) fn wire_ui(ui: &mut Ui, model: &Model, sweep: &Sweep) {
    let code = sweep.range.code(u32::from(in_hand(model, sweep).1));
    let frame = code.and_then(|code| Some((remote::encode(&code, false).ok()?, code)));
    if let Some((frame, code)) = frame {
        ui.add_space(space::REGION);
        parts::wave_block(ui, &frame, &code);
    }
}

/// What the code's numbers are, and its name where it is a command already.
fn what(model: &Model, code: &Code) -> String {
    let known = model
        .project()
        .and_then(|project| project.stereo.commands.iter().find(|command| command.code == *code));
    let described = remote::describe(code);
    known.map_or_else(|| described.clone(), |command| format!("{described}, {}", command.name))
}

/// The code in hand in large type, with what is before and behind it.
fn hand_ui(ui: &mut Ui, model: &Model, sweep: &Sweep) {
    let theme = Theme::of(ui.ctx());
    let codes = sweep.range.len();
    let (word, at) = in_hand(model, sweep);
    let Some(code) = sweep.range.code(u32::from(at)) else { return };
    let (words, what) = (parts::bytes(&code), what(model, &code));
    let width = ui.available_width();
    let left_ms = codes.saturating_sub(u64::from(sweep.next)) as f64 * f64::from(sweep.pace_ms);
    let left = if left_ms > 0.0 { format!("at most {} left", time_text(left_ms)) } else { String::new() };
    let beside = if width >= ROOMY { BESIDE } else { 0.0 };
    let room = width - beside;
    let p = ui.painter().clone();
    let all = [size::NAME, size::NAME_SHARED, size::NAME_MEDIUM, size::NAME_NARROW, size::HEAD];
    let fits = |points: &f32| text::width(&p, &words, theme::mono(*points)) <= room;
    let wanted = |points: &f32| width >= ROOMY || *points <= size::NAME_MEDIUM;
    let points = all.into_iter().filter(wanted).find(fits).unwrap_or(size::RAIL);
    let (place, _) = ui.allocate_exact_size(vec2(width, 60.0 + points), Sense::hover());
    let (x, y) = (place.left(), place.top() + 14.0);
    let of = format!("{word}, {} of {codes}", u32::from(at) + 1);
    let shown = text::cap_within(&p, x, y, Align::Min, room, &of, theme::regular(size::ARM), theme.ink2);
    let middle = place.top() + 32.0 + points / 2.0;
    text::cap(&p, x - 2.0, middle, Align::Min, &words, theme::mono(points), theme.ink);
    let foot = place.bottom() - 12.0;
    text::cap_within(&p, x, foot, Align::Min, width, &what, theme::regular(size::PROSE), theme.ink2);
    if beside > 0.0 {
        let other = |at: Option<u16>| {
            at.and_then(|at| sweep.range.code(u32::from(at))).map(|code| parts::bytes(&code))
        };
        let others = [("before", other(at.checked_sub(1))), ("after", other(at.checked_add(1)))];
        beside_ui(&p, &theme, place, middle, &left, others);
    } else {
        let x = x + shown + space::ROW;
        let room = place.right() - x;
        text::cap_within(&p, x, y, Align::Min, room, &left, theme::regular(size::AXIS), theme.ink2);
    }
    let said = if left.is_empty() { format!("{of}: {what}") } else { format!("{of}: {what}, {left}") };
    focus::tell_live(ui, place, "code in hand", Role::Status, &said);
}

/// The codes before and after, and the time that is left, at the right.
fn beside_ui(
    p: &egui::Painter,
    theme: &Theme,
    place: Rect,
    middle: f32,
    left: &str,
    codes: [(&str, Option<String>); 2],
) {
    let right = place.right();
    text::cap(p, right, place.top() + 14.0, Align::Max, left, theme::regular(size::AXIS), theme.ink2);
    for ((name, code), y) in codes.into_iter().zip([middle - 16.0, middle + 16.0]) {
        let Some(code) = code.filter(|code| !code.is_empty()) else { continue };
        let wide = text::cap(p, right, y, Align::Max, &code, theme::mono(size::RAIL), theme.ink2);
        let x = right - wide - space::ROW;
        text::cap(p, x, y, Align::Max, name, theme::regular(size::AXIS), theme.ink2);
    }
}

/// Which of two codes a mark was meant for.
fn question_ui(ui: &mut Ui, question: Question, code: &dyn Fn(u16) -> String, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let words = "Which one was it? The mark came right after a new code, so both are marked.";
    prose(ui, words, size::PROSE, theme.ink);
    ui.add_space(space::TIGHT);
    let labels = [
        format!("{}, sent last", code(question.last)),
        format!("{}, before it", code(question.before)),
        "Both".to_owned(),
    ];
    let keys = ["1", "2", "3"];
    let buttons: Vec<Button<'_>> = labels
        .iter()
        .zip(keys)
        .map(|(label, key)| Button::line(label).key(key).height(control::NOTICE).text_size(size::BODY))
        .collect();
    let width = ui.available_width().min(640.0);
    let (place, _) = ui.allocate_exact_size(vec2(width, control::NOTICE), Sense::hover());
    let rects = row(ui.painter(), place, &buttons, space::ROW);
    let meant = [(Key::Num1, Meant::Last), (Key::Num2, Meant::Before), (Key::Num3, Meant::Both)];
    for ((button, rect), (key, meant)) in buttons.into_iter().zip(rects).zip(meant) {
        let response = button.show_at(ui, Rect::from_min_max(rect.min, pos2(rect.right(), rect.bottom())));
        see(&response);
        if response.clicked() || key_pressed(ui, Modifiers::NONE, key) {
            actions.push(act(SweepAction::Answer(meant)));
        }
    }
}
