//! Contents: what the box holds against what the project says, row by row; or what keeps the two
//! apart, and what to do about it.

use egui::{Align, Role, Sense, Stroke, Ui, pos2, vec2};

use super::parts::{heads, say_first, see, tick_or_cross};
use super::words;
use crate::app::link::Phase as LinkPhase;
use crate::app::the_box::{BoxAction, Held, Presence};
use crate::app::{Action, Model};
use crate::image::{Misfit, Row};
use crate::link::Target;
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::{focus, text};

/// Height of a row.
const ROW: f32 = 34.0;
/// No wider than a person's eye keeps its line.
const WIDEST: f32 = 760.0;

/// Draws the view.
pub(super) fn contents_ui(ui: &mut Ui, model: &Model, link_open: &mut bool, actions: &mut Vec<Action>) {
    match &model.the_box.presence {
        Presence::None => nothing_ui(ui, model, link_open),
        Presence::Probe => probe_ui(ui, model, link_open, actions),
        Presence::NoProgram { bootloader } => no_program_ui(ui, *bootloader),
        Presence::Found(identity) => {
            if identity.has_damage {
                damage_ui(ui, identity.has_image);
            }
            match &model.the_box.held {
                Held::Unread => say_first(
                    ui,
                    "Not read yet. Read it first.",
                    "Then it stands here against the project, line by line.",
                ),
                Held::Nothing => say_first(
                    ui,
                    "The box holds nothing. Write the project to it.",
                    "Until then it answers the laptop and is silent on the stereo's line.",
                ),
                Held::Unreadable { slot, why } => say_first(
                    ui,
                    "The box holds something this program can't read.",
                    &format!(
                        "Slot {}, {} bytes: {why} Writing the project replaces it.",
                        words::slot_letter(slot.number),
                        slot.body.len()
                    ),
                ),
                Held::Image { .. } => {}
            }
        }
    }
    if let Some(Err(misfits)) = &model.derived.the_box.built {
        misfits_ui(ui, misfits);
    }
    if !model.derived.the_box.rows.is_empty() && matches!(model.the_box.presence, Presence::Found(_)) {
        rows_ui(ui, &model.derived.the_box.rows);
    }
    if matches!(model.derived.the_box.built, Some(Ok(_))) {
        header_ui(ui, actions);
    }
}

fn nothing_ui(ui: &mut Ui, model: &Model, link_open: &mut bool) {
    let long = model.derived.the_box.check.map(|(_, long)| long);
    let ready = match long {
        Some(long) => format!("The project is ready for it: an image of {long} bytes."),
        None => "The project can be finished without it.".to_owned(),
    };
    match &model.link.phase {
        LinkPhase::Open | LinkPhase::Opening(_) => {
            say_first(ui, "Asking who is there.", "A box answers within two seconds of being plugged in.");
        }
        LinkPhase::Gone => say_first(
            ui,
            "The port went away. Plug the box back in.",
            "It is waited for, and read again when it comes back. Nothing in the box is lost.",
        ),
        LinkPhase::Closed => {
            say_first(
                ui,
                "No box yet. Plug it in, then choose its port.",
                &format!("{ready} The laptop runs on its battery while the box hangs in the vehicle."),
            );
            choose_port(ui, link_open);
        }
    }
}

/// The one main action while nothing is connected.
fn choose_port(ui: &mut Ui, link_open: &mut bool) {
    let response = ui.add(Button::act("Choose a port").height(control::ACTING));
    if ui.memory(|memory| memory.focused().is_none()) {
        response.request_focus();
    }
    if response.clicked() {
        *link_open = true;
    }
    ui.add_space(space::BLOCK);
}

fn probe_ui(ui: &mut Ui, model: &Model, link_open: &mut bool, actions: &mut Vec<Action>) {
    match model.link.target {
        Some(Target::Demo { .. }) => say_first(
            ui,
            "This is the demo's wheel. It has no box to fill.",
            "Its readings are good for Learn, and everything up to here can be tried with them.",
        ),
        Some(Target::Replay { .. }) => say_first(
            ui,
            "This is a recording. There is no box to fill.",
            "Its readings are good for Learn. To fill a box, connect one.",
        ),
        _ => {
            say_first(
                ui,
                "This is a probe. There is no box to fill.",
                "It prints readings, and those are good for Learn. A box is an ATmega328P board at 5 V and \
                 16 MHz with Spokewire's program in it; the same board that prints may become one, and its \
                 own program is then replaced.",
            );
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = space::ROW;
                if ui.add(Button::act("Connect a box").height(control::ACTING)).clicked() {
                    *link_open = true;
                }
                let make = Button::line("Make this one a box").height(control::ACTING);
                if ui.add(make).clicked() {
                    actions.push(Action::Box(BoxAction::Flash));
                }
            });
            ui.add_space(space::BLOCK);
            return;
        }
    }
    if ui.add(Button::act("Connect a box").height(control::ACTING)).clicked() {
        *link_open = true;
    }
    ui.add_space(space::BLOCK);
}

fn no_program_ui(ui: &mut Ui, bootloader: bool) {
    if bootloader {
        say_first(
            ui,
            "This board has no program of ours. Put it in.",
            "Its serial bootloader answers, so the same cable will do: no compiler, no programmer. It takes \
             about half a minute and is read back. What the board did before is replaced.",
        );
    } else {
        say_first(
            ui,
            "Nothing answers. Press the board's reset, then put the program in.",
            "Within a second of letting go: no program of ours answers there, and no bootloader waits. If that \
             does not help, is it an ATmega328P board at 5 V and 16 MHz, is no other program on its port, does \
             the cable carry data? A bare chip needs a bootloader first, from a programmer.",
        );
    }
}

fn damage_ui(ui: &mut Ui, has_image: bool) {
    let body = if has_image {
        "The other one is in use. Writing the project repairs it."
    } else {
        "Neither is whole, so the box stays silent. Write the project to it."
    };
    Notice { level: NoticeLevel::Caution, head: "A slot is damaged.", body, action: None }.show(ui, "damage");
    ui.add_space(space::BLOCK);
}

/// What keeps the project out of the box.
fn misfits_ui(ui: &mut Ui, misfits: &[Misfit]) {
    let theme = Theme::of(ui.ctx());
    let right = match misfits.len() {
        1 => "1 thing".to_owned(),
        many => format!("{many} things"),
    };
    bracket_ui(ui, "Does not fit the box", &right);
    ui.add_space(space::TIGHT);
    let width = ui.available_width().min(WIDEST);
    for (number, misfit) in misfits.iter().enumerate() {
        let room = width - 40.0;
        let p = ui.painter().clone();
        let what = text::prose(&p, &misfit.what, theme::bold(size::PROSE), theme.ink, room, 4);
        let advice = text::prose(&p, &misfit.advice, theme::regular(size::BODY), theme.ink, room, 4);
        let place = text::prose(&p, &misfit.place, theme::regular(size::AXIS), theme.ink2, room, 2);
        let high = what.size().y + advice.size().y + place.size().y + 16.0;
        let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
        tick_or_cross(ui, pos2(rect.left() + 12.0, rect.top() + 8.0 + what.size().y / 2.0), false);
        let mut at = pos2(rect.left() + 40.0, rect.top() + 8.0);
        for (galley, ink) in [(what, theme.ink), (advice, theme.ink), (place, theme.ink2)] {
            let high = galley.size().y;
            p.galley(at, galley, ink);
            at.y += high;
        }
        p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
        let said = format!("{} {} {}", misfit.what, misfit.advice, misfit.place);
        focus::tell(ui, rect, &format!("misfit {number}"), Role::Note, &said);
    }
    ui.add_space(space::REGION);
}

/// Box against project, what differs first.
fn rows_ui(ui: &mut Ui, rows: &[Row]) {
    let differing = rows.iter().filter(|row| !row.same).count();
    let right = match differing {
        0 => format!("all {} the same", rows.len()),
        _ => words::differ(differing, rows.len()),
    };
    bracket_ui(ui, "Line by line", &right);
    let width = ui.available_width().min(WIDEST);
    let columns = Columns::of(width);
    heads(
        ui,
        &[
            ("setting", columns.what, Align::Min),
            ("project", columns.project, Align::Min),
            ("box", columns.held, Align::Min),
        ],
    );
    for (number, row) in rows.iter().enumerate().filter(|(_, row)| !row.same) {
        row_ui(ui, &columns, number, row);
    }
    for (number, row) in rows.iter().enumerate().filter(|(_, row)| row.same) {
        row_ui(ui, &columns, number, row);
    }
    ui.add_space(space::REGION);
}

/// Where a row's words begin, from its left end.
struct Columns {
    width: f32,
    what: f32,
    project: f32,
    held: f32,
}

impl Columns {
    fn of(width: f32) -> Self {
        const MARK: f32 = 38.0;
        let room = (width - MARK).max(90.0);
        Self { width, what: MARK, project: MARK + room * 0.34, held: MARK + room * 0.67 }
    }
}

fn row_ui(ui: &mut Ui, columns: &Columns, number: usize, row: &Row) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(columns.width, ROW), Sense::hover());
    let (project, held) = (words::or_nothing(&row.project), words::or_nothing(&row.held));
    let ending = if row.same { "the same" } else { "differs" };
    let said = format!("{}: project {project}, box {held}, {ending}", row.what);
    let told = focus::tell(ui, rect, &format!("row {number}"), Role::Row, &said);
    if !ui.is_rect_visible(rect) {
        return;
    }
    let p = ui.painter();
    if !row.same {
        p.rect_filled(rect.with_max_y(rect.bottom() - 1.0), 0, theme.raise);
        p.rect_filled(rect.with_max_x(rect.left() + 4.0).with_max_y(rect.bottom() - 1.0), 0, theme.ink);
    }
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    let y = rect.center().y - 0.5;
    tick_or_cross(ui, pos2(rect.left() + 20.0, y), row.same);
    let (font, ink) = if row.same {
        (theme::regular(size::BODY), theme.ink2)
    } else {
        (theme::bold(size::BODY), theme.ink)
    };
    let gap = 10.0;
    let mut cut = false;
    for (words, from, to, ink) in [
        (row.what.as_str(), columns.what, columns.project, theme.ink),
        (project, columns.project, columns.held, ink),
        (held, columns.held, columns.width, ink),
    ] {
        let room = to - from - gap;
        cut |= text::width(p, words, font.clone()) > room;
        text::cap_within(p, rect.left() + from, y, Align::Min, room, words, font.clone(), ink);
    }
    if cut {
        told.on_hover_text(said);
    }
}

/// The C header for a firmware of one's own.
fn header_ui(ui: &mut Ui, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    ui.add_space(space::TIGHT);
    bracket_ui(ui, "For a firmware of your own", "");
    ui.add_space(space::TIGHT);
    prose(ui, "Bands, dwell, pairs and pulse tables as a C header.", size::BODY, theme.ink2);
    ui.add_space(space::TIGHT);
    let save = ui.add(Button::line("Save the C header"));
    see(&save);
    if save.clicked() {
        actions.push(Action::Box(BoxAction::AskHeader));
    }
    ui.add_space(space::BLOCK);
}

/// A stroke for what must be seen from the side.
pub(super) fn thick(colour: egui::Color32) -> Stroke {
    Stroke::new(stroke::NODE, colour)
}
