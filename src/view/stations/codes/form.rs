//! The form of a command that is being typed: every fault is told beside what causes it, and the
//! waveform is drawn while one types.

use egui::{
    Align, FontSelection, Frame, Key, Margin, Modifiers, Rect, Response, Role, TextEdit, Ui, pos2, vec2,
};

use super::{Draft, parts};
use crate::app::codes::{Draft as TypedCommand, DraftError, Fault, Place, Way};
use crate::app::{Action, CodesAction};
use crate::project::{Command, Project};
use crate::remote::{self, Family};
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::segments::segments;
use crate::view::widgets::{focus, text};

/// Room for a part's label, where it stands beside its control.
const LABEL: f32 = 116.0;
/// Below this width labels stand over their controls.
const STACKED: f32 = 400.0;

const WAYS: [(Way, &str); 4] = [
    (Way::Fields, "Address and command"),
    (Way::Number, "Number"),
    (Way::Free, "Free family"),
    (Way::Timings, "Timings"),
];

/// What a form knows while it is drawn.
pub(super) struct Form<'a> {
    /// What is typed, as changed in this frame.
    pub(super) typed: TypedCommand,
    /// What keeps it from being kept.
    faults: Vec<Fault>,
    pub(super) commands: &'a [Command],
    /// Empty fields are told too.
    pub(super) attempted: bool,
    /// Enter was pressed in a field.
    keep: bool,
}

/// Draws the form. True if it is to be kept.
pub(super) fn form_ui(
    ui: &mut Ui,
    project: &Project,
    typed: &TypedCommand,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) -> bool {
    let commands = project.stereo.commands.as_slice();
    let mut form = Form {
        typed: typed.clone(),
        faults: typed.faults(commands),
        commands,
        attempted: draft.attempted,
        keep: false,
    };
    title(ui, project, typed);
    let name = form.name_ui(ui);
    if std::mem::take(&mut draft.focus_name) {
        name.request_focus();
    }
    draft.focus_code |= form.way_ui(ui);
    let first = match form.typed.way {
        Way::Fields => form.fields_ui(ui),
        Way::Number => form.number_ui(ui),
        Way::Free => form.free_ui(ui),
        Way::Timings => form.timings_ui(ui),
    };
    if typed.way == form.typed.way && std::mem::take(&mut draft.focus_code) {
        first.request_focus();
    }
    ui.add_space(space::ROW);
    form.wave_ui(ui);
    let Form { typed: now, keep, .. } = form;
    if now != *typed {
        draft.attempted &= now.way == typed.way;
        actions.push(Action::Codes(CodesAction::Draft(now)));
    }
    keep
}

fn title(ui: &mut Ui, project: &Project, typed: &TypedCommand) {
    let theme = Theme::of(ui.ctx());
    let before = typed.id.as_ref().and_then(|id| project.command(id));
    let words = before.map_or_else(|| "New command".to_owned(), |before| format!("Change {}", before.name));
    let width = ui.available_width();
    let (place, _) = ui.allocate_exact_size(vec2(width, 48.0), egui::Sense::hover());
    let (x, y) = (place.left(), place.top() + 24.0);
    let font = theme::bold(size::STATE);
    text::cap_within(ui.painter(), x, y, Align::Min, width, &words, font, theme.ink);
    focus::tell(ui, place, "form's name", Role::Heading, &words);
}

/// A control beside its label, or under it where there is no room.
pub(super) fn labelled<R>(ui: &mut Ui, label: &str, content: impl FnOnce(&mut Ui) -> R) -> R {
    let theme = Theme::of(ui.ctx());
    let stacked = ui.available_width() < STACKED;
    let draw = |ui: &Ui, rect: Rect| {
        let (p, font) = (ui.painter(), theme::regular(size::BODY));
        text::cap(p, rect.left(), rect.center().y, Align::Min, label, font, theme.ink);
    };
    let answer = if stacked {
        let (rect, _) = ui.allocate_exact_size(vec2(LABEL, 24.0), egui::Sense::hover());
        draw(ui, rect);
        ui.horizontal(content).inner
    } else {
        let row = ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(LABEL, control::USUAL), egui::Sense::hover());
            draw(ui, rect);
            content(ui)
        });
        row.inner
    };
    ui.add_space(2.0);
    answer
}

/// What is wrong with a part, under it: an octagon, and words that say what to do.
pub(super) fn fault_ui(ui: &mut Ui, what: &str) {
    let theme = Theme::of(ui.ctx());
    let indent = if ui.available_width() < STACKED { 0.0 } else { LABEL + space::TIGHT };
    let room = (ui.available_width() - indent - 24.0).clamp(80.0, 640.0);
    let font = theme::regular(size::AXIS);
    let galley = text::prose(ui.painter(), what, font, theme.alarm_ink, room, 6);
    let high = galley.size().y + 4.0;
    let (rect, _) = ui.allocate_exact_size(vec2(indent + room + 24.0, high), egui::Sense::hover());
    let at = pos2(rect.left() + indent, rect.top() + 2.0);
    icon(ui.painter(), Icon::StopSign, at + vec2(8.0, 9.0), 0.8, theme.alarm_ink);
    ui.painter().galley(at + vec2(24.0, 0.0), galley, theme.alarm_ink);
    focus::tell_live(ui, rect, what, Role::Alert, what);
}

impl Form<'_> {
    /// What is wrong with a part, if it is to be told: not while it is empty and nobody tried to
    /// keep it.
    pub(super) fn fault(&self, place: Place, now: &str) -> Option<String> {
        let fault = self.faults.iter().find(|fault| fault.place == place)?;
        (self.attempted || !now.trim().is_empty()).then(|| fault.what.clone())
    }

    /// Takes note of Enter in a field.
    pub(super) fn heed(&mut self, ui: &Ui, response: &Response) {
        if response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter)) {
            self.keep = true;
            // Where something is wrong, one goes on typing.
            response.request_focus();
        }
    }

    fn name_ui(&mut self, ui: &mut Ui) -> Response {
        let fault = self.fault(Place::Name, &self.typed.name);
        let response = labelled(ui, "Name", |ui| {
            let width = ui.available_width().min(320.0);
            let field = Field::new(&mut self.typed.name, "Name").hint("What it does").width(width);
            field.error(fault.as_deref()).limit(60).show(ui)
        });
        self.heed(ui, &response);
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        ui.add_space(6.0);
        response
    }

    /// The ways to type a code. True if another was chosen with the pointer: then one goes on in
    /// its first field, where arrow keys would still be walking the ways.
    fn way_ui(&mut self, ui: &mut Ui) -> bool {
        let names = WAYS.map(|(_, name)| name);
        let selected = WAYS.iter().position(|(way, _)| *way == self.typed.way).unwrap_or(0);
        let chosen = labelled(ui, "Typed as", |ui| segments(ui, "Typed as", &names, selected));
        if let Some((way, _)) = chosen.and_then(|at| WAYS.get(at)) {
            self.typed.way = *way;
        }
        ui.add_space(6.0);
        chosen.is_some()
            && !ui.input(|input| input.key_pressed(Key::ArrowLeft) || input.key_pressed(Key::ArrowRight))
    }

    /// Family, address and command. Gives the field to begin with.
    fn fields_ui(&mut self, ui: &mut Ui) -> Response {
        let theme = Theme::of(ui.ctx());
        let families = remote::families();
        let ids: Vec<&str> = families.iter().map(|family| family.id).collect();
        let names: Vec<String> = families.iter().map(named).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let selected = ids.iter().position(|id| *id == self.typed.family);
        let answer = labelled(ui, "Family", |ui| {
            let width = ui.available_width().min(400.0);
            Drop::new("Family", &names, selected).empty("Choose a family").width(width).show(ui)
        });
        if let Some(id) = answer.chosen.and_then(|at| ids.get(at)) {
            (*id).clone_into(&mut self.typed.family);
        }
        let family = remote::family(&self.typed.family);
        if let Some(fault) = self.fault(Place::Family, "family") {
            fault_ui(ui, &fault);
        } else if let Some(family) = family {
            labelled(ui, "", |ui| {
                parts::prose(ui, &capital(family.about), size::AXIS, theme.ink2);
            });
        }
        ui.add_space(4.0);
        let fault = self.fault(Place::Address, &self.typed.address);
        let most = family.map_or(0xFF, Family::address_max);
        let address = labelled(ui, "Address", |ui| {
            hex_ui(ui, &mut self.typed.address, "Address", most, fault.as_deref())
        });
        self.heed(ui, &address);
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        ui.add_space(6.0);
        let fault = self.fault(Place::Command, &self.typed.command);
        let most = family.map_or(0xFF, Family::command_max);
        let command = labelled(ui, "Command", |ui| {
            hex_ui(ui, &mut self.typed.command, "Command", most, fault.as_deref())
        });
        self.heed(ui, &command);
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        if self.typed.address.is_empty() { address } else { command }
    }

    /// Timings, and the repeat. Gives the field to begin with.
    fn timings_ui(&mut self, ui: &mut Ui) -> Response {
        let fault = self.fault(Place::Timings, &self.typed.timings);
        let timings =
            labelled(ui, "Timings", |ui| timings_field(ui, &mut self.typed.timings, fault.as_deref()));
        // The field wraps, so Enter would never leave it.
        if timings.has_focus() && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Enter)) {
            self.keep = true;
        }
        match fault {
            Some(fault) => fault_ui(ui, &fault),
            None => {
                let theme = Theme::of(ui.ctx());
                labelled(ui, "", |ui| {
                    let words =
                        "Marks and spaces by turns, in microseconds, beginning and ending with a mark.";
                    parts::prose(ui, words, size::AXIS, theme.ink2);
                });
            }
        }
        ui.add_space(6.0);
        let fault = self.fault(Place::Repeat, &self.typed.repeat_ms);
        let response = labelled(ui, "Repeat every", |ui| {
            let field = Field::new(&mut self.typed.repeat_ms, "Repeat every").unit("ms").hint("once");
            let response = field.width(120.0).error(fault.as_deref()).limit(12).show(ui);
            quiet(ui, "from frame to frame; empty sends it once");
            response
        });
        self.heed(ui, &response);
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        timings
    }

    /// The waveform of what is typed so far.
    fn wave_ui(&self, ui: &mut Ui) {
        let drawn = self.typed.drawn(self.commands);
        let frame = drawn.and_then(|code| Some((remote::encode(&code, false).ok()?, code)));
        match frame {
            Some((frame, code)) => parts::wave_block(ui, &frame, &code),
            None => {
                // A number that means several codes is whole; what is missing is the choice.
                let undecided = matches!(self.typed.code(self.commands), Err(DraftError::Undecided));
                let words = if undecided {
                    "The waveform shows here when one is chosen"
                } else {
                    "The waveform shows here when the code is whole"
                };
                parts::no_wave_block(ui, words);
            }
        }
    }
}

/// A family with the numbers it takes.
fn named(family: &Family) -> String {
    let (address, command) = (family.address_max(), family.command_max());
    format!("{}, address to {address:X}, command to {command:X}", family.id)
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten();
    first.chain(letters).chain(['.']).collect()
}

/// Second text behind a control, where there is room.
pub(super) fn quiet(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    let font = theme::regular(size::AXIS);
    let wide = text::width(ui.painter(), words, font.clone());
    if wide + space::TIGHT > ui.available_width() {
        return;
    }
    let (rect, _) = ui.allocate_exact_size(vec2(wide, control::USUAL), egui::Sense::hover());
    text::cap(ui.painter(), rect.left(), rect.center().y, Align::Min, words, font, theme.ink2);
    focus::tell(ui, rect, words, Role::Label, words);
}

fn hex_ui(ui: &mut Ui, typed: &mut String, name: &str, most: u32, fault: Option<&str>) -> Response {
    let response = Field::new(typed, name).code().width(120.0).error(fault).limit(16).show(ui);
    quiet(ui, &format!("hex, 0 to {most:X}, such as {}", example(most)));
    response
}

/// A number that is in the range.
fn example(most: u32) -> &'static str {
    match most {
        0..0x59 => "5",
        0x59..0x1234 => "59",
        0x1234..0x9A78_56B4 => "1234",
        _ => "9A7856B4",
    }
}

/// A well of several lines for timings.
fn timings_field(ui: &mut Ui, typed: &mut String, fault: Option<&str>) -> Response {
    const HIGH: f32 = 84.0;
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, HIGH), egui::Sense::hover());
    ui.painter().rect_filled(rect, control::RADIUS, theme.well);
    let inner = rect.shrink2(vec2(10.0, 8.0));
    let mut child = ui.new_child(egui::UiBuilder::new().max_rect(inner));
    let scroll = egui::ScrollArea::vertical().id_salt("timings").auto_shrink(false);
    let font = theme::mono(size::BODY);
    let response = scroll
        .show(&mut child, |ui| {
            let hint =
                egui::RichText::new("9000 4500 560 560 560 1690 560").font(font.clone()).color(theme.ink3);
            let edit = TextEdit::multiline(typed)
                .id_salt("timings text")
                .frame(Frame::NONE)
                .margin(Margin::ZERO)
                .font(FontSelection::FontId(font))
                .text_color(theme.ink)
                .hint_text(hint)
                .return_key(None)
                .char_limit(4096)
                .desired_rows(3)
                .desired_width(f32::INFINITY);
            ui.add(edit).accessible_name("Timings")
        })
        .inner;
    let (wide, colour) = match fault {
        Some(_) => (stroke::NODE, theme.alarm),
        None if response.has_focus() => (stroke::RULE, theme.ink),
        None => (stroke::RULE, theme.edge),
    };
    let line = egui::Stroke::new(wide, colour);
    ui.painter().rect_stroke(rect, control::RADIUS, line, egui::StrokeKind::Inside);
    focus::ring(ui.painter(), &theme, &response, rect);
    response
}
