//! What stands over the stations: the cautions, the sheet of keys, the link's panel, a typed path,
//! and the one decision that is modal, about unsaved work.

use std::path::PathBuf;

use egui::{Align, Id, Key, Modal, Modifiers, Order, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use crate::app::codes::list::ListAction;
use crate::app::model::Guarded;
use crate::app::{Action, BoxAction, CloseAction, CodesAction, FileAction, LinkAction, Model, PathPurpose};
use crate::findings::CAUTIONS;

use super::stations::start;
use super::theme::{self, Theme, control, size, space, stroke};
use super::widgets::button::Button;
use super::widgets::field::Field;
use super::widgets::focus::key_pressed;
use super::widgets::hatch::{self, Hatch};
use super::widgets::layout::Layout;
use super::widgets::{keycap, text};
use super::window::Drafts;

/// Whether a decision stands over everything, so that no other key may act.
#[must_use]
pub(super) fn is_modal(model: &Model) -> bool {
    let showing = &model.showing;
    showing.guard.is_some() || showing.path.is_some() || showing.found.is_some()
}

/// Draws whatever is open.
pub(super) fn overlays_ui(
    ui: &mut Ui,
    model: &Model,
    drafts: &mut Drafts,
    layout: &Layout,
    actions: &mut Vec<Action>,
) {
    if model.showing.cautions {
        sheet(ui, "cautions", layout, 420.0, |ui, rect| cautions_panel(ui, rect, model, actions));
    }
    if model.showing.keys {
        keys_ui(ui, layout, actions);
    }
    if drafts.link_open {
        link_ui(ui, model, drafts, layout, actions);
    }
    if let Some(guarded) = &model.showing.guard {
        guard_ui(ui, model, guarded, actions);
    } else if let Some(found) = &model.showing.found {
        found_ui(ui, found.original.as_deref().map(|path| path.display().to_string()), &found.when, actions);
    }
    if let Some(purpose) = model.showing.path {
        path_ui(ui, purpose, &mut drafts.path, actions);
    }
}

/// Keys of what stands over the stations. They come before the stations' own: Esc puts away what is
/// on top, and never stops what runs behind it.
pub(super) fn keys(ui: &Ui, model: &Model, drafts: &mut Drafts, actions: &mut Vec<Action>) {
    let showing = &model.showing;
    if showing.cautions && !model.preferences.cautions_read && key_pressed(ui, Modifiers::NONE, Key::R) {
        actions.push(Action::CautionsRead);
    }
    let any = drafts.link_open || showing.keys || showing.cautions;
    if !any || !key_pressed(ui, Modifiers::NONE, Key::Escape) {
        return;
    }
    match () {
        () if drafts.link_open => drafts.link_open = false,
        () if showing.keys => actions.push(Action::ShowKeys(false)),
        () => actions.push(Action::ShowCautions(false)),
    }
}

/// A panel at the right, over the station, from the head down.
fn sheet(ui: &mut Ui, name: &str, layout: &Layout, width: f32, content: impl FnOnce(&mut Ui, Rect)) {
    let theme = Theme::of(ui.ctx());
    let right = layout.window.right() - 12.0;
    let left = (right - width).max(layout.rail.right() + 12.0);
    let rect = Rect::from_min_max(
        pos2(left, layout.strip.bottom() + 8.0),
        pos2(right, layout.window.bottom() - 12.0),
    );
    egui::Area::new(Id::unique(("sheet", name))).order(Order::Foreground).fixed_pos(rect.min).show(
        ui.ctx(),
        |ui| {
            ui.set_clip_rect(rect.expand(4.0));
            let (_, response) = ui.allocate_exact_size(rect.size(), egui::Sense::click());
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Pane, true, name));
            ui.painter().rect(rect, control::RADIUS, theme.face, theme.outline(), egui::StrokeKind::Inside);
            let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
            content(&mut child, rect);
        },
    );
}

/// The cautions in their panel, with what to press when they are read.
pub(in crate::view) fn cautions_panel(ui: &mut Ui, rect: Rect, model: &Model, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    ui.painter().rect_filled(rect, 0, theme.alarm_face);
    let stripe = Rect::from_min_max(rect.min, pos2(rect.left() + 16.0, rect.bottom()));
    hatch::alarm(ui.painter(), &theme, stripe, Hatch::STOP_LARGE);
    let edge = egui::Stroke::new(stroke::RULE, theme.alarm);
    ui.painter().vline(stripe.right().floor() + 0.5, rect.y_range(), edge);
    let inner = Rect::from_min_max(pos2(rect.left() + 40.0, rect.top() + 20.0), rect.max - vec2(20.0, 92.0));
    let mut child = ui.new_child(UiBuilder::new().max_rect(inner));
    ScrollArea::vertical().id_salt("cautions").auto_shrink(false).show(&mut child, |ui| {
        ui.set_width(inner.width() - 8.0);
        ui.spacing_mut().item_spacing.y = 8.0;
        ui.label(
            egui::RichText::new("Before the first connection").font(theme::bold(size::ARM)).color(theme.ink),
        );
        for (head, body) in CAUTIONS {
            let mut job = egui::text::LayoutJob::default();
            let format = |font, colour| egui::TextFormat {
                line_height: Some(22.0),
                ..egui::TextFormat::simple(font, colour)
            };
            job.append(head, 0.0, format(theme::bold(size::PROSE), theme.alarm_ink));
            job.append(" ", 0.0, format(theme::regular(size::PROSE), theme.ink));
            job.append(body, 0.0, format(theme::regular(size::PROSE), theme.ink));
            job.wrap.max_width = ui.available_width();
            ui.label(job);
        }
    });
    let foot = Rect::from_min_max(
        pos2(inner.left(), rect.bottom() - 70.0),
        pos2(inner.right(), rect.bottom() - 20.0),
    );
    let read = model.preferences.cautions_read;
    let words =
        if read { "Read. F1 shows them again." } else { "Connect waits for this. F1 shows it again." };
    text::cap(
        ui.painter(),
        foot.left(),
        foot.top() - 16.0,
        Align::Min,
        words,
        theme::regular(size::AXIS),
        theme.ink2,
    );
    let button =
        if read { Button::line("Put away").key("Esc") } else { Button::act("I have read this").key("R") };
    if read && !model.showing.cautions {
        return;
    }
    if button.height(foot.height()).show_at(ui, foot).clicked() {
        actions.push(if read { Action::ShowCautions(false) } else { Action::CautionsRead });
    }
}

const KEYS: &[(&str, &str)] = &[
    ("Ctrl 1 to 7", "Go to a station"),
    ("Ctrl S", "Save; with Shift, save as"),
    ("Ctrl O", "Open a vehicle"),
    ("Ctrl N", "Begin a vehicle"),
    ("Ctrl Z", "Undo; with Shift, redo"),
    ("Alt 1, Alt 2", "Answer a notice"),
    ("Enter", "Learn: start, or take the stretch"),
    ("Space", "Learn: pause and go on; Box: watch"),
    ("R", "Learn: redo the last press; Box: read"),
    ("S", "Learn: skip this button"),
    ("I", "Learn: take what is offered"),
    ("Esc", "Learn: stop, or clear the stretch; Box: cancel"),
    ("End", "Learn: follow the live reading"),
    ("V", "Learn: re-check each button on this power"),
    ("A to P", "Learn, click: choose a button"),
    ("Ctrl B", "Circuit: build the boxes"),
    ("N", "Codes: new command; sweep: name it"),
    ("Enter, ↑, ↓", "Codes, jack: next step; walk them"),
    ("L", "Codes: listen to the remote"),
    ("Y", "Codes: what was sent worked"),
    ("Space, Esc", "Codes, sweep: pause; Space: go on"),
    ("M", "Codes, sweep: it did something"),
    ("←, →", "Codes, sweep: back one, send next"),
    ("1, 2, 3", "Codes, sweep: which one it was"),
    ("W", "Box: write the project"),
    ("P", "Box: put the program in"),
    ("T", "Codes: try on stereo; Box, watch: try"),
    ("F1", "Cautions"),
    ("F2", "This sheet"),
];

fn keys_ui(ui: &mut Ui, layout: &Layout, actions: &mut Vec<Action>) {
    /// From a row's left end to what its key does.
    const WORDS: f32 = 120.0;
    sheet(ui, "keys", layout, 400.0, |ui, rect| {
        let theme = Theme::of(ui.ctx());
        let inner = rect.shrink2(vec2(24.0, 20.0));
        let mut child = ui.new_child(UiBuilder::new().max_rect(inner));
        ScrollArea::vertical().id_salt("keys").auto_shrink(false).show(&mut child, |ui| {
            ui.label(egui::RichText::new("Keys").font(theme::bold(size::ARM)).color(theme.ink));
            ui.add_space(space::TIGHT);
            for (key, does) in KEYS {
                // The scroll bar stands at the right.
                let width = inner.width() - 16.0;
                let font = theme::regular(size::BODY);
                let words = text::prose(ui.painter(), does, font, theme.ink, width - WORDS, 3);
                let high = words.size().y.max(26.0);
                let (row, _) = ui.allocate_exact_size(vec2(width, high), egui::Sense::hover());
                keycap::keycap(ui.painter(), row.left(), row.top() + 13.0, Align::Min, key, theme.ink2);
                let top = row.top() + (26.0 - words.size().y).max(0.0) / 2.0;
                ui.painter().galley(pos2(row.left() + WORDS, top), words, theme.ink);
            }
            ui.add_space(space::ROW);
            if ui.add(Button::line("Put away").key("Esc")).clicked() {
                actions.push(Action::ShowKeys(false));
            }
        });
    });
}

/// The link's panel: which port, and what else readings can come from.
fn link_ui(ui: &mut Ui, model: &Model, drafts: &mut Drafts, layout: &Layout, actions: &mut Vec<Action>) {
    let before = actions.len();
    let mut close = false;
    sheet(ui, "link", layout, 440.0, |ui, rect| {
        let theme = Theme::of(ui.ctx());
        let mut child = ui.new_child(UiBuilder::new().max_rect(rect.shrink2(vec2(24.0, 20.0))));
        let ui = &mut child;
        ui.spacing_mut().item_spacing = vec2(space::ROW, space::ROW);
        ui.label(
            egui::RichText::new("Where readings come from").font(theme::bold(size::ARM)).color(theme.ink),
        );
        start::ports_ui(ui, model, actions);
        start::path_ui(ui, model, &mut drafts.start, actions);
        ui.horizontal_wrapped(|ui| {
            if ui.add(Button::line("Replay a recording")).clicked() {
                actions.push(Action::File(FileAction::AskReplay));
            }
            if model.link.target.is_some() && ui.add(Button::line("Disconnect")).clicked() {
                actions.push(Action::Link(LinkAction::Disconnect));
            }
            match &model.tape {
                None => {
                    if ui.add(Button::line("Record to a file")).clicked() {
                        actions.push(Action::File(FileAction::AskTape));
                    }
                }
                Some(_) => {
                    if ui.add(Button::line("Stop recording")).clicked() {
                        actions.push(Action::File(FileAction::TapeStop));
                    }
                }
            }
            close |= ui.add(Button::quiet("Put away").key("Esc")).clicked();
        });
        if let Some(tape) = &model.tape {
            let words = format!("Recording to {}: {} readings.", tape.path.display(), tape.readings);
            ui.label(egui::RichText::new(words).font(theme::regular(size::BODY)).color(theme.ink2));
        }
        if !model.preferences.cautions_read && ui.add(Button::line("Read the cautions").key("F1")).clicked() {
            actions.push(Action::ShowCautions(true));
        }
    });
    if close || actions.len() > before {
        drafts.link_open = false;
    }
}

fn dialog(ui: &Ui, name: &str, title: &str, body: &str, buttons: impl FnOnce(&mut Ui)) -> bool {
    let theme = Theme::of(ui.ctx());
    let frame = egui::Frame::new()
        .fill(theme.face)
        .stroke(egui::Stroke::new(2.0, theme.ink))
        .corner_radius(control::RADIUS)
        .inner_margin(24);
    Modal::new(Id::unique(name))
        .frame(frame)
        .backdrop_color(egui::Color32::TRANSPARENT)
        .show(ui.ctx(), |ui| {
            ui.set_width(480.0_f32.min(ui.ctx().content_rect().width() - 80.0));
            ui.spacing_mut().item_spacing = vec2(space::ROW, space::ROW);
            ui.label(egui::RichText::new(title).font(theme::bold(size::HEAD)).color(theme.ink));
            ui.label(egui::RichText::new(body).font(theme::regular(size::PROSE)).color(theme.ink2));
            buttons(ui);
        })
        .should_close()
}

fn guard_ui(ui: &Ui, model: &Model, guarded: &Guarded, actions: &mut Vec<Action>) {
    let name = model.project().map(|project| project.vehicle.name.clone()).filter(|name| !name.is_empty());
    let name = name.unwrap_or_else(|| "this vehicle".to_owned());
    let title = format!("Save {name} first?");
    let body = match guarded {
        Guarded::Close => "Its changes are in no file yet. Closing without saving loses them.",
        Guarded::File(_) => "Its changes are in no file yet. Opening another vehicle loses them.",
    };
    let away = dialog(ui, "unsaved work", &title, body, |ui| {
        ui.horizontal_wrapped(|ui| {
            for (button, action) in [
                (Button::act("Save first"), CloseAction::SaveFirst),
                (Button::line("Lose changes"), CloseAction::Anyway),
                (Button::line("Stay here").key("Esc"), CloseAction::Stay),
            ] {
                if ui.add(button.height(control::ACTING)).clicked() {
                    actions.push(Action::Close(action));
                }
            }
        });
    });
    if away {
        actions.push(Action::Close(CloseAction::Stay));
    }
}

fn found_ui(ui: &Ui, original: Option<String>, when: &str, actions: &mut Vec<Action>) {
    let of = original.unwrap_or_else(|| "a vehicle that was never saved".to_owned());
    let body = format!("It is a copy of {of}, kept at {when}, before the program ended without saving.");
    // Putting the question away is no answer: it stays until one is given.
    let _: bool = dialog(ui, "kept copy", "Unsaved work was found", &body, |ui| {
        ui.horizontal_wrapped(|ui| {
            if ui.add(Button::act("Open it").height(control::ACTING)).clicked() {
                actions.push(Action::File(FileAction::Recover));
            }
            if ui.add(Button::line("Throw it away").height(control::ACTING)).clicked() {
                actions.push(Action::File(FileAction::ForgetFound));
            }
        });
    });
}

fn path_ui(ui: &Ui, purpose: PathPurpose, path: &mut String, actions: &mut Vec<Action>) {
    let (title, does, hint) = match purpose {
        PathPurpose::Open => ("Which file to open", "Open", "/home/me/van.ron"),
        PathPurpose::Save => ("Where to save", "Save", "/home/me/van.ron"),
        PathPurpose::Tape => ("Where to record", "Record", "/home/me/recording.csv"),
        PathPurpose::Replay => ("Which recording to replay", "Replay", "/home/me/recording.csv"),
        PathPurpose::Header => ("Where to write the C header", "Write", "/home/me/wheel.h"),
        PathPurpose::ImportCodes => ("Which list of commands to take in", "Read", "/home/me/tarn-r40.csv"),
        PathPurpose::ExportCodes => ("Where to write the list", "Write", "/home/me/tarn-r40.csv"),
    };
    let mut done = false;
    let away = dialog(ui, "path", title, "This system shows no file dialog: type the whole path.", |ui| {
        let field = Field::new(path, "File path")
            .hint(hint)
            .width(ui.available_width())
            .height(control::ACTING)
            .show(ui);
        // Asked before the focus is: a field that has it again has not lost it.
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if ui.memory(|memory| memory.focused().is_none()) {
            field.request_focus();
        }
        let some = !path.trim().is_empty();
        ui.horizontal(|ui| {
            done = ui.add(Button::act(does).height(control::ACTING).enabled(some)).clicked()
                || (entered && some);
            if ui.add(Button::line("Cancel").key("Esc").height(control::ACTING)).clicked() {
                actions.push(Action::File(FileAction::AskPathDone));
            }
        });
    });
    if done {
        let chosen = PathBuf::from(path.trim());
        actions.push(Action::File(FileAction::AskPathDone));
        actions.push(match purpose {
            PathPurpose::Open => Action::File(FileAction::Open(chosen)),
            PathPurpose::Save => Action::File(FileAction::SaveTo(chosen)),
            PathPurpose::Tape => Action::File(FileAction::TapeTo(chosen)),
            PathPurpose::Replay => Action::Link(LinkAction::Replay(chosen)),
            PathPurpose::Header => Action::Box(BoxAction::SaveHeader(chosen)),
            PathPurpose::ImportCodes => Action::Codes(CodesAction::List(ListAction::ImportFrom(chosen))),
            PathPurpose::ExportCodes => Action::Codes(CodesAction::List(ListAction::ExportTo(chosen))),
        });
        path.clear();
    } else if away {
        actions.push(Action::File(FileAction::AskPathDone));
    }
}
