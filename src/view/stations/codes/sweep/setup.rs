//! The set-up of a sweep: family, addresses, commands and pace, how many codes that is and how long it
//! takes at most. Once a sweep is there, only its pace can still be changed.

use egui::{Align, Key, Rect, Response, Role, Sense, Ui, pos2, vec2};

use super::caution::note_ui;
use super::{act, see};
use crate::app::codes::sweep::{Motion, SweepAction, SweepDraft, SweepFault, SweepPlace, typed};
use crate::app::{Action, Model};
use crate::project::Sweep;
use crate::remote::{self, Family, SweepRange};
use crate::units::time_text;
use crate::view::stations::codes::form::fault_ui;
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::{focus, text};

/// No field is wider.
const WIDEST: f32 = 316.0;
/// Room between the two ends of a range.
const TO: f32 = 36.0;

/// Draws the set-up.
pub(super) fn setup_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let width = ui.available_width().min(WIDEST);
    ui.set_max_width(width);
    match model.project().and_then(|project| project.stereo.sweep.as_ref()) {
        Some(sweep) => there_ui(ui, model, sweep, actions),
        None => new_ui(ui, model, actions),
    }
}

/// What is wrong with a part, if it is to be told: empty fields only once starting was tried.
fn told(faults: &[SweepFault], place: SweepPlace, typed: &str, attempted: bool) -> Option<String> {
    let fault = faults.iter().find(|fault| fault.place == place)?;
    (attempted || !typed.trim().is_empty()).then(|| fault.what.clone())
}

fn new_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let before = typed(model);
    let mut draft = before.clone();
    let faults = draft.faults();
    let attempted = model.codes.sweep.attempted;
    let fault = |place, typed: &str| told(&faults, place, typed, attempted);
    bracket_ui(ui, "What to try", "");
    ui.add_space(space::TIGHT);
    family_ui(ui, &mut draft, fault(SweepPlace::Family, "family"));
    let family = remote::family(&before.family);
    let most = family.map_or(0xFF, Family::address_max);
    let wrong = fault(SweepPlace::Address, &before.address);
    let ends = (&mut draft.address, &mut draft.address_to);
    let mut begins = range_ui(ui, "Address", ["First address", "Last address"], ends, most, wrong.as_deref());
    if before.address.trim().is_empty() && wrong.is_none() {
        note_ui(ui, "Not known? Take a range of addresses, and one command or two.");
        ui.add_space(6.0);
    }
    let most = family.map_or(0xFF, Family::command_max);
    let wrong = fault(SweepPlace::Command, &before.command);
    let ends = (&mut draft.command, &mut draft.command_to);
    begins |= range_ui(ui, "Command", ["First command", "Last command"], ends, most, wrong.as_deref());
    begins |= pace_ui(ui, &mut draft, fault(SweepPlace::Pace, "pace"));
    ui.add_space(space::TIGHT);
    match draft.range() {
        Ok(range) => count_ui(ui, &range, draft.pace_ms().ok()),
        Err(wrong) if wrong.place == SweepPlace::Whole => {
            fault_ui(ui, &wrong.what);
            if let Some(range) = &wrong.instead {
                ui.add_space(6.0);
                let response = ui.add(Button::line("Take the first part"));
                see(&response);
                if response.clicked() {
                    draft = draft.ranging(range);
                }
            }
        }
        Err(_) => {}
    }
    jack_ui(ui, model);
    if draft != before {
        actions.push(act(SweepAction::Draft(draft)));
    } else if begins {
        actions.push(act(SweepAction::Begin));
    }
}

/// A sweep that is there: its facts, its pace, and the way out of it.
fn there_ui(ui: &mut Ui, model: &Model, sweep: &Sweep, actions: &mut Vec<Action>) {
    let before = typed(model);
    let mut draft = before.clone();
    let shown = SweepDraft::of(sweep);
    bracket_ui(ui, "What is tried", "");
    ui.add_space(space::TIGHT);
    fact_ui(ui, "Family", &sweep.range.family.0);
    fact_ui(ui, "Address", &ends(&shown.address, &shown.address_to));
    fact_ui(ui, "Command", &ends(&shown.command, &shown.command_to));
    ui.add_space(space::TIGHT);
    let wrong = draft.pace_ms().err().map(|fault| fault.what);
    pace_ui(ui, &mut draft, wrong);
    ui.add_space(space::TIGHT);
    count_ui(ui, &sweep.range, Some(sweep.pace_ms));
    jack_ui(ui, model);
    ui.add_space(space::BLOCK);
    let waits = model.codes.sweep.motion == Motion::Paused;
    let buttons = [
        (Button::line("Restart").enabled(waits && sweep.next > 0), SweepAction::Restart),
        (Button::line("Forget sweep").enabled(waits), SweepAction::Forget),
    ];
    ui.horizontal(|ui| {
        for (button, action) in buttons {
            let response = ui.add(button);
            see(&response);
            if response.clicked() {
                actions.push(act(action));
            }
        }
    });
    ui.add_space(space::TIGHT);
    note_ui(ui, "Forget it to try another range. Commands you kept stay.");
    if draft != before {
        actions.push(act(SweepAction::Draft(draft)));
    }
}

fn ends(first: &str, last: &str) -> String {
    if last.is_empty() { first.to_owned() } else { format!("{first} to {last}") }
}

fn label_ui(ui: &mut Ui, words: &str, beside: &str) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    let (p, y) = (ui.painter(), rect.center().y);
    text::cap(p, rect.left(), y, Align::Min, words, theme::regular(size::BODY), theme.ink);
    text::cap(p, rect.right(), y, Align::Max, beside, theme::regular(size::AXIS), theme.ink2);
}

fn family_ui(ui: &mut Ui, draft: &mut SweepDraft, wrong: Option<String>) {
    let theme = Theme::of(ui.ctx());
    let ids: Vec<&str> = remote::families().iter().map(|family| family.id).collect();
    let selected = ids.iter().position(|id| *id == draft.family);
    label_ui(ui, "Family", "");
    let width = ui.available_width();
    let answer = Drop::new("Family", &ids, selected).empty("Choose a family").width(width).show(ui);
    see(&answer.response);
    if let Some(id) = answer.chosen.and_then(|at| ids.get(at)) {
        (*id).clone_into(&mut draft.family);
        // Every command that the new family has, as far as one run goes.
        if let Some(family) = remote::family(*id) {
            let last = family.command_max().min(remote::SWEEP_MAX - 1);
            let digits = family.command_digits();
            draft.command = format!("{:0digits$X}", 0);
            draft.command_to = format!("{last:0digits$X}");
        }
    }
    ui.add_space(4.0);
    match (wrong, remote::family(&draft.family)) {
        (Some(wrong), _) => fault_ui(ui, &wrong),
        (None, Some(family)) => {
            prose(ui, family.about, size::AXIS, theme.ink2);
        }
        (None, None) => {}
    }
    ui.add_space(6.0);
}

/// The two ends of a range. True if Enter was pressed in one of them.
fn range_ui(
    ui: &mut Ui,
    label: &str,
    names: [&str; 2],
    (first, last): (&mut String, &mut String),
    most: u32,
    wrong: Option<&str>,
) -> bool {
    let theme = Theme::of(ui.ctx());
    label_ui(ui, label, &format!("hex, 0 to {most:X}"));
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), control::USUAL), Sense::hover());
    let wide = (row.width() - TO) / 2.0;
    let left = Rect::from_min_size(row.min, vec2(wide, row.height()));
    let right = Rect::from_min_max(pos2(row.right() - wide, row.top()), row.max);
    let middle = row.center();
    text::cap(ui.painter(), middle.x, middle.y, Align::Center, "to", theme::regular(size::BODY), theme.ink2);
    let [name, name_to] = names;
    let from = Field::new(first, name).code().error(wrong).limit(16).show_at(ui, left);
    let to = Field::new(last, name_to).code().error(wrong).hint("the same").limit(16).show_at(ui, right);
    let entered = [from, to].into_iter().any(|response| entered(ui, &response));
    ui.add_space(2.0);
    if let Some(wrong) = wrong {
        fault_ui(ui, wrong);
    }
    ui.add_space(6.0);
    entered
}

fn entered(ui: &Ui, response: &Response) -> bool {
    see(response);
    response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter))
}

fn pace_ui(ui: &mut Ui, draft: &mut SweepDraft, wrong: Option<String>) -> bool {
    label_ui(ui, "Pace", "0.5 to 10 s from code to code");
    let field = Field::new(&mut draft.pace_s, "Pace, in seconds").unit("s").width(120.0);
    let response = field.error(wrong.as_deref()).limit(8).show(ui);
    let entered = entered(ui, &response);
    ui.add_space(2.0);
    if let Some(wrong) = wrong {
        fault_ui(ui, &wrong);
    }
    entered
}

/// How many codes there are and how long they take at most.
fn count_ui(ui: &mut Ui, range: &SweepRange, pace_ms: Option<u16>) {
    let theme = Theme::of(ui.ctx());
    let codes = if range.len() == 1 { "1 code".to_owned() } else { format!("{} codes", range.len()) };
    let words = match pace_ms {
        Some(pace_ms) => format!("{codes}, at most {}", time_text(range.at_most_ms(pace_ms) as f64)),
        None => codes,
    };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 28.0), Sense::hover());
    let (p, y, font) = (ui.painter(), rect.center().y, theme::bold(size::RAIL));
    text::cap_within(p, rect.left(), y, Align::Min, rect.width(), &words, font, theme.ink);
    focus::tell(ui, rect, "how many", Role::Status, &words);
}

/// Where nobody has measured what the input wants.
fn jack_ui(ui: &mut Ui, model: &Model) {
    if model.project().is_some_and(|project| project.stereo.jack.wants.is_none()) {
        ui.add_space(space::TIGHT);
        note_ui(ui, "What the input wants isn't known yet: measure it at Jack first.");
    }
}

fn fact_ui(ui: &mut Ui, name: &str, value: &str) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 29.0), Sense::hover());
    let (p, y) = (ui.painter(), rect.center().y);
    let wide = text::cap(p, rect.left(), y, Align::Min, name, theme::regular(size::BODY), theme.ink2);
    let room = rect.width() - wide - space::ROW;
    text::cap_within(p, rect.right(), y, Align::Max, room, value, theme::mono(size::PROSE), theme.ink);
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    focus::tell(ui, rect, name, Role::Label, &format!("{name} {value}"));
}
