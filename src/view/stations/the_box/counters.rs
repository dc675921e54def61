//! Counters: what happened since power came, in words; the supply, and its calibration; the fuses.

use egui::{Align, Key, Role, Sense, Ui, vec2};

use super::Draft;
use super::parts::{Mark, fact, say_first, see};
use super::tally::{self, Counter};
use super::words;
use crate::app::the_box::{BoxAction, Presence};
use crate::app::{Action, Model};
use crate::units::volt_text;
use crate::view::stations::codes::{beside, prose};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::field::Field;
use crate::view::widgets::{focus, text};
use crate::wire::{Identity, fuse_words};

/// Draws the view.
pub(super) fn counters_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    let Presence::Found(identity) = &model.the_box.presence else {
        say_first(ui, "There is no box to ask.", "Contents says what is there, and what to do first.");
        return;
    };
    let left = (ui.available_width() - 264.0 - space::REGION).clamp(240.0, 520.0);
    beside(
        ui,
        left,
        240.0,
        |ui| tally_ui(ui, model),
        |ui| {
            supply_ui(ui, identity, draft, actions);
            ui.add_space(space::REGION);
            fuses_ui(ui, identity);
        },
    );
}

fn tally_ui(ui: &mut Ui, model: &Model) {
    let Some((counters, _)) = &model.the_box.counters else {
        say_first(ui, "Not read yet. Read the counters.", "The box counts from the moment power comes.");
        return;
    };
    for (name, counters) in tally::counters(counters) {
        bracket_ui(ui, name, "");
        ui.add_space(2.0);
        for counter in &counters {
            counter_ui(ui, counter);
        }
        ui.add_space(space::BLOCK);
    }
}

fn counter_ui(ui: &mut Ui, counter: &Counter) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let p = ui.painter().clone();
    let meaning = (!counter.meaning.is_empty())
        .then(|| text::prose(&p, counter.meaning, theme::regular(size::AXIS), theme.ink2, width - 12.0, 5));
    let high = 28.0 + meaning.as_ref().map_or(0.0, |galley| galley.size().y + 6.0);
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let y = rect.top() + 14.0;
    text::cap(&p, rect.left(), y, Align::Min, counter.name, theme::regular(size::BODY), theme.ink2);
    text::cap(&p, rect.right(), y, Align::Max, &counter.figure, theme::bold(size::BODY), theme.ink);
    if let Some(meaning) = meaning {
        p.galley(rect.left_top() + vec2(0.0, 26.0), meaning, theme.ink2);
    }
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    let said = format!("{} {} {}", counter.name, counter.figure, counter.meaning);
    focus::tell(ui, rect, counter.name, Role::Label, said.trim());
}

fn supply_ui(ui: &mut Ui, identity: &Identity, draft: &mut Draft, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let right = if identity.calibrated { "calibrated" } else { "not calibrated" };
    bracket_ui(ui, "Supply", right);
    let Some(mv) = identity.supply_mv else {
        ui.add_space(space::TIGHT);
        let words = "The chip can't measure its supply: its reference isn't the supply, or is not named yet. \
                     Learn names it, and so does the image.";
        prose(ui, words, size::BODY, theme.ink2);
        return;
    };
    let volts = volt_text(f64::from(mv) / 1e3);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 46.0), Sense::hover());
    let p = ui.painter();
    let wide = text::cap(
        p,
        rect.left(),
        rect.center().y + 2.0,
        Align::Min,
        &volts,
        theme::bold(size::STATE),
        theme.ink,
    );
    // The bandgap is 1.0 to 1.2 V: ATmega328P datasheet 8161D, table 28-7.
    let truth = if identity.calibrated { "by the chip" } else { "by the chip, ± 9 %" };
    let (x, y) = (rect.left() + wide + 14.0, rect.center().y + 3.0);
    text::cap_within(p, x, y, Align::Min, rect.right() - x, truth, theme::regular(size::BODY), theme.ink2);
    focus::tell(ui, rect, "supply", Role::Label, &format!("Supply {volts} {truth}"));
    let words = if identity.calibrated {
        "A meter set it right. Forget that if the chip was changed."
    } else {
        "Measure between the box's 5 V and its ground, and type it in. From then on the figure is as good as \
         the meter, and the box refuses an image below 4.5 V by it."
    };
    prose(ui, words, size::AXIS, theme.ink2);
    ui.add_space(space::TIGHT);
    calibrate_ui(ui, identity, draft, actions);
}

fn calibrate_ui(ui: &mut Ui, identity: &Identity, draft: &mut Draft, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let typed = words::volts(&draft.volts);
    let fault = typed.err().filter(|_| draft.volts_tried);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = space::TIGHT;
        let high = control::USUAL;
        let (label, _) = ui.allocate_exact_size(vec2(90.0, high), Sense::hover());
        let (x, y) = (label.left(), label.center().y);
        text::cap(ui.painter(), x, y, Align::Min, "By the meter", theme::regular(size::BODY), theme.ink2);
        let field = Field::new(&mut draft.volts, "By the meter, in volts")
            .unit("V")
            .hint("5.04")
            .width(96.0)
            .limit(8)
            .error(fault)
            .show(ui);
        see(&field);
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if field.changed() {
            draft.volts_tried = false;
        }
        let name = "Calibrate the supply by the meter";
        let set = ui.add(Button::line("Set").name(name));
        see(&set);
        if set.clicked() || entered {
            match words::volts(&draft.volts) {
                Ok(volts) => {
                    actions.push(Action::Box(BoxAction::Calibrate(Some(volts))));
                    draft.volts.clear();
                    draft.volts_tried = false;
                }
                Err(_) => draft.volts_tried = true,
            }
        }
    });
    if let Some(why) = fault {
        ui.add_space(4.0);
        prose(ui, why, size::AXIS, theme.alarm_ink);
    }
    if identity.calibrated {
        ui.add_space(space::TIGHT);
        let forget = ui.add(Button::line("Forget the calibration"));
        see(&forget);
        if forget.clicked() {
            actions.push(Action::Box(BoxAction::Calibrate(None)));
        }
    }
}

fn fuses_ui(ui: &mut Ui, identity: &Identity) {
    let theme = Theme::of(ui.ctx());
    let [low, high, extended, lock] = identity.fuses;
    bracket_ui(ui, "Fuses", &format!("{low:02X} {high:02X} {extended:02X}, lock {lock:02X}"));
    ui.add_space(3.0);
    for (name, value, note) in fuse_words(identity.fuses) {
        fact(ui, name, value, if name == "Brown-out" { brown_out(note) } else { Mark::None });
        if !note.is_empty() {
            prose(ui, note, size::AXIS, theme.ink2);
            ui.add_space(4.0);
        }
    }
}

const fn brown_out(note: &str) -> Mark {
    if note.is_empty() { Mark::Same } else { Mark::Differs }
}
