//! The chosen command: its waveform, sent over heard; the presses it was heard in; and both bit
//! orders. Its head is in `trying`.

use std::sync::Arc;

use egui::{Align, Galley, Rect, Role, Ui, pos2, vec2};

use super::{heard, parts, trying};
use crate::app::codes::listen::KeptPresses;
use crate::app::{Action, Model, Station};
use crate::project::{Command, Gesture, Project};
use crate::remote::{self, BothOrders, Code, Likely, NumberChecks, NumberOrder, Origin, Sure};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{bracket, focus, text};

/// How wide what was heard stands, and the least that both bit orders take beside it.
const HEARD: f32 = 262.0;
const NUMBERS: f32 = 300.0;
/// The most both bit orders take: digits and what is said of them stay together.
const NUMBERS_MOST: f32 = 560.0;

/// What is shown of the window around it.
pub(super) struct Around<'a> {
    /// Whether the list stands beside it.
    pub has_list: bool,
    /// Set where the link's panel is wanted.
    pub link_open: &'a mut bool,
}

/// Draws the command.
pub(super) fn shown_ui(
    ui: &mut Ui,
    model: &Model,
    command: &Command,
    around: Around<'_>,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let kept = model.codes.listen.kept.as_ref().filter(|kept| kept.command == command.id);
    let consensus = kept.and_then(|kept| kept.presses.agreed());
    let toggle = consensus.and_then(|consensus| consensus.heard.toggle).unwrap_or(false);
    let frame = match remote::encode(&command.code, toggle) {
        Ok(frame) => frame,
        Err(why) => {
            trying::head_ui(ui, model, command, None, around.link_open, actions);
            trying::fault(ui, &why.to_string());
            return;
        }
    };
    let code = code_line(ui, command, &parts::timing_words(&frame));
    trying::head_ui(ui, model, command, Some(code), around.link_open, actions);
    parts::heard_block(ui, &frame, &command.code, consensus);
    ui.add_space(space::REGION - 2.0);
    let numbers = |ui: &mut Ui| {
        ui.set_max_width(NUMBERS_MOST.min(ui.available_width()));
        numbers_ui(ui, project, command);
    };
    parts::beside(ui, HEARD, NUMBERS, |ui| was_heard_ui(ui, command, kept), numbers);
    if !around.has_list {
        ui.add_space(space::BLOCK + 2.0);
        senders_ui(ui, project, command, actions);
    }
}

/// The presses it was made of.
fn was_heard_ui(ui: &mut Ui, command: &Command, kept: Option<&KeptPresses>) {
    let theme = Theme::of(ui.ctx());
    let Some(KeptPresses { presses, .. }) = kept else {
        bracket::bracket_ui(ui, "Heard", "");
        ui.add_space(space::TIGHT);
        let words = match command.origin {
            Origin::Captured => "Captured; its presses were not kept. Listen to hear it again.",
            Origin::Typed => "Typed, and not heard from a remote. Listen to compare it with one.",
            Origin::Swept => "Found by the sweep, and not heard from a remote.",
        };
        parts::prose(ui, words, size::AXIS, theme.ink2);
        return;
    };
    heard::heard_ui(ui, presses, 0);
    ui.add_space(6.0);
    let consensus = presses.consensus.as_ref();
    let words = consensus.and_then(|consensus| consensus.warning.clone());
    let sure = consensus.map(|consensus| &consensus.heard.sure);
    let words = match (words, sure, &command.code) {
        (Some(warning), ..) => warning,
        // What is missing or odd is worth more than where the stretch comes from.
        (None, Some(sure @ Sure::Likely { .. }), _) => parts::sentence(&sure.to_string()),
        (None, _, Code::Raw { .. }) => "No family explains it, so it is sent as it was heard.".to_owned(),
        (None, ..) => "The stretch is the receiver's.\nIt is taken out before sending.".to_owned(),
    };
    parts::prose(ui, &words, size::AXIS, theme.ink2);
}

/// Family, numbers and timing on one line, and in words.
fn code_line(ui: &Ui, command: &Command, timing: &str) -> (Arc<Galley>, String) {
    let theme = Theme::of(ui.ctx());
    let (label, value) = (theme::regular(size::PROSE), theme::mono(size::PROSE));
    let bold = theme::bold(size::PROSE);
    let (ink, ink2) = (theme.ink, theme.ink2);
    let said = format!("{}, {timing}", remote::describe(&command.code));
    let width = trying::code_room(ui.available_width());
    let line = |timing: &str| match &command.code {
        Code::Family { family, address, command } => {
            let row = remote::family(family);
            let (wide, deep) = row.map_or((2, 2), |row| (row.address_digits(), row.command_digits()));
            let (address, command) = (format!("{address:0wide$X}"), format!("{command:0deep$X}"));
            let pieces = [
                (family.0.as_str(), bold.clone(), ink),
                ("  address ", label.clone(), ink2),
                (&address, value.clone(), ink),
                ("  command ", label.clone(), ink2),
                (&command, value.clone(), ink),
                (timing, label.clone(), ink2),
            ];
            parts::runs(ui, width, &pieces)
        }
        Code::Free { .. } => {
            let pieces = [
                ("free family", bold.clone(), ink),
                ("  ", label.clone(), ink2),
                (&parts::bytes(&command.code), value.clone(), ink),
                (timing, label.clone(), ink2),
            ];
            parts::runs(ui, width, &pieces)
        }
        Code::Raw { pulses_us, .. } => {
            let timings = format!("  {} timings", pulses_us.len());
            let pieces =
                [("raw", bold.clone(), ink), (&timings, label.clone(), ink2), (timing, label.clone(), ink2)];
            parts::runs(ui, width, &pieces)
        }
    };
    let galley = line(&format!("  {timing}"));
    // Where it takes two lines, the time stands whole on the second.
    let galley = if galley.rows.len() > 1 { line(&format!("\n{timing}")) } else { galley };
    (galley, said)
}

/// The frame as a number in both bit orders, and whether it could be taken for another code.
fn numbers_ui(ui: &mut Ui, project: &Project, command: &Command) {
    let theme = Theme::of(ui.ctx());
    let Some(number) = remote::both_orders(&command.code) else {
        bracket::bracket_ui(ui, "As a number", "");
        ui.add_space(space::TIGHT);
        let why = "Its frame has not 16, 32 or 48 bits, so no such number stands for it.";
        parts::prose(ui, why, size::BODY, theme.ink2);
        return;
    };
    let bits = number.first_bit_first.width().bits();
    bracket::bracket_ui(ui, &format!("As a {bits}-bit number"), "");
    for (name, number) in
        [("First bit first", number.first_bit_first), ("Last bit first", number.last_bit_first)]
    {
        let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), 30.0), egui::Sense::hover());
        let p = ui.painter();
        let y = row.center().y + 2.0;
        text::cap(p, row.left(), y, Align::Min, name, theme::regular(size::BODY), theme.ink2);
        let digits = number.spaced();
        let font = theme::mono(size::RAIL);
        let wide = text::cap(p, row.left() + 112.0, y, Align::Min, &digits, font, theme.ink);
        if row.width() > 112.0 + wide + 90.0 {
            let font = theme::regular(size::AXIS);
            text::cap(p, row.right(), y, Align::Max, "same frame", font, theme.ink2);
        }
        focus::tell(ui, row, name, Role::Label, &format!("{name} {digits}"));
    }
    ui.add_space(space::TIGHT + 2.0);
    let [head, why, decides] = other_way(project, command, number);
    note(ui, &head, &[&why, &decides]);
}

/// What the number would be if it was typed for the other bit order, and what decides.
fn other_way(project: &Project, command: &Command, number: BothOrders) -> [String; 3] {
    let others = project.stereo.commands.iter().filter(|other| other.id != command.id);
    let reading = remote::read_number(number.first_bit_first, others.map(|other| &other.code));
    let other = reading.reading(NumberOrder::LastBitFirst).code.as_ref();
    let line = str::to_owned;
    match (other, reading.likely) {
        (_, Likely::Same) => {
            [line("Typed the other way it is the same code."), line("No order has to be known."), line("")]
        }
        (None, _) => [
            line("Typed the other way it is no code."),
            line("No inverse would match, so it can't be mistaken."),
            line(""),
        ],
        (Some(code), likely) => [
            format!("Typed the other way it would be {}.", parts::bytes(code)),
            line(match reading.checks() {
                NumberChecks::Inverses => "Its inverses match too, so no check can tell.",
                NumberChecks::Nothing => "Nothing in it is sent twice, so no check can tell.",
                NumberChecks::Parity { matching: 0 | 1, .. } => "Its parity matches in one order at most.",
                NumberChecks::Parity { .. } => "Its parity matches too, so no check can tell.",
            }),
            match likely {
                _ if command.origin == Origin::Captured => {
                    format!("What was heard decides: {}.", parts::bytes(&command.code))
                }
                Likely::AddressInUse(NumberOrder::FirstBitFirst) => {
                    format!("Other commands at its address decide: {}.", parts::bytes(&command.code))
                }
                Likely::AddressInUse(_) => {
                    line("Other commands have that address: check where this one came from.")
                }
                _ => line("Only where it came from decides: check it there."),
            },
        ],
    }
}

/// A note in a raised box: a head and lines under it.
pub(super) fn note(ui: &mut Ui, head: &str, lines: &[&str]) -> Rect {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let room = width - 36.0 - 12.0;
    let p = ui.painter().clone();
    let mut rows = vec![(text::prose(&p, head, theme::regular(size::BODY), theme.ink, room, 3), theme.ink)];
    for line in lines.iter().filter(|line| !line.is_empty()) {
        rows.push((text::prose(&p, line, theme::regular(size::AXIS), theme.ink2, room, 6), theme.ink2));
    }
    let high = rows.iter().map(|(row, _)| row.size().y).sum::<f32>() + 18.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), egui::Sense::hover());
    p.rect(rect, control::RADIUS, theme.raise, theme.hairline(), egui::StrokeKind::Inside);
    icon(&p, Icon::Note, pos2(rect.left() + 18.0, rect.top() + 20.0), 0.9, theme.ink2);
    let mut y = rect.top() + 9.0;
    for (row, colour) in rows {
        let at = pos2(rect.left() + 36.0, y);
        y += row.size().y;
        p.galley(at, row, colour);
    }
    let said = format!("{head} {}", lines.join(" "));
    focus::tell(ui, rect, head, Role::Note, said.trim());
    rect
}

/// What a gesture is called.
const fn gesture_name(gesture: Gesture) -> &'static str {
    match gesture {
        Gesture::Tap => "tap",
        Gesture::Hold => "hold",
        Gesture::DoubleTap => "double tap",
    }
}

/// Which buttons send it, with which gestures.
fn senders_ui(ui: &mut Ui, project: &Project, command: &Command, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    bracket::bracket_ui(ui, "Sent by", "");
    let senders = super::list::senders(project, command);
    if senders.is_empty() {
        ui.add_space(space::TIGHT);
        parts::prose(ui, "No button sends this yet.", size::BODY, theme.ink2);
        ui.add_space(space::TIGHT);
        if ui.add(Button::line("Pair it").height(control::USUAL)).clicked() {
            actions.push(Action::Go(Station::Pair));
        }
        return;
    }
    ui.add_space(2.0);
    for index in senders {
        let Some(button) = project.wheel.buttons.get(index) else { continue };
        let mut gestures: Vec<(Gesture, bool)> = project
            .pairs
            .iter()
            .filter(|pair| pair.button == button.id && pair.command.as_ref() == Some(&command.id))
            .map(|pair| (pair.gesture, pair.repeats))
            .collect();
        gestures.sort_unstable();
        let words: Vec<String> = gestures
            .into_iter()
            .map(|(gesture, repeats)| {
                format!("{}{}", gesture_name(gesture), if repeats { " repeats" } else { "" })
            })
            .collect();
        let words = words.join(", ");
        let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), 40.0), egui::Sense::hover());
        let p = ui.painter();
        let mode = if project.is_learned(&button.id) { PlateMode::Measured } else { PlateMode::Planned };
        plate(p, &theme, index, pos2(row.left() + 14.0, row.center().y), 12.5, mode);
        let (x, room) = (row.left() + 38.0, row.width() - 38.0);
        let (y, bold) = (row.center().y, theme::bold(size::BODY));
        text::cap_within(p, x, y - 9.0, Align::Min, room, &button.name, bold, theme.ink);
        let small = theme::regular(size::AXIS);
        text::cap_within(p, x, y + 10.0, Align::Min, room, &words, small, theme.ink2);
        let said = format!("{} sends it: {words}", button.name);
        focus::tell(ui, row, &button.id.0, Role::Label, &said);
    }
}
