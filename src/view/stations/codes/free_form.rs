//! The form's part for a family that isn't in the table: its times, its fields and what is sent while
//! held, each fault under its own row.

use egui::{Align, Rect, Response, Sense, Ui, UiBuilder, pos2, vec2};

use super::form::{Form, fault_ui, quiet};
use crate::app::codes::Place;
use crate::remote::{Code, FreePart, FreeRepeat};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::check::check;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::field::Field;
use crate::view::widgets::segments::segments;
use crate::view::widgets::text;

/// Room for a row's label.
const LABEL: f32 = 76.0;
/// Width of a time's field.
const TIME: f32 = 106.0;
/// Width of a hex number's field, and of how many bits it has.
const HEX: f32 = 114.0;
const BITS: f32 = 76.0;
/// Width of the last row's two fields.
const LAST: f32 = 80.0;
/// Width of a column: a label and two times.
const COLUMN: f32 = LABEL + 2.0 * (TIME + space::TIGHT);

const REPEATS: [(FreeRepeat, &str); 4] = [
    (FreeRepeat::WholeFrame, "The whole frame again"),
    (FreeRepeat::WithoutLeader, "Without the leader"),
    (FreeRepeat::ShortFrame, "A short frame"),
    (FreeRepeat::Once, "Nothing: sent once"),
];

impl Form<'_> {
    /// The family's parameters with address and command. Gives the field to begin with.
    pub(super) fn free_ui(&mut self, ui: &mut Ui) -> Response {
        let whole = ui.available_rect_before_wrap();
        let gap = whole.width() - 2.0 * COLUMN;
        if gap < space::BLOCK {
            let times = self.times_ui(ui);
            let numbers = self.numbers_ui(ui);
            return self.begin_with(times, numbers);
        }
        let split = whole.left() + COLUMN;
        let left = Rect::from_min_max(whole.min, pos2(split, whole.bottom()));
        let right = Rect::from_min_max(pos2(split + gap.min(space::REGION), whole.top()), whole.max);
        let left = ui.scope_builder(UiBuilder::new().max_rect(left), |ui| self.times_ui(ui));
        let right = ui.scope_builder(UiBuilder::new().max_rect(right), |ui| self.numbers_ui(ui));
        ui.advance_cursor_after_rect(left.response.rect.union(right.response.rect));
        self.begin_with(left.inner, right.inner)
    }

    /// Once a free family is in use one goes on with the numbers.
    fn begin_with(&self, times: Response, numbers: Response) -> Response {
        let used = self.commands.iter().any(|command| matches!(command.code, Code::Free { .. }));
        if used { numbers } else { times }
    }

    /// Leader, bits, and how the line looks. Gives the first time's field.
    fn times_ui(&mut self, ui: &mut Ui) -> Response {
        captions(ui, &[("mark", TIME), ("space", TIME)]);
        let fault =
            self.free_fault(FreePart::Leader, |free| format!("{}{}", free.leader_mark, free.leader_space));
        let leader = row(ui, "", |ui| {
            let switch = ui.scope(|ui| {
                ui.set_width(LABEL);
                check(ui, self.typed.free.leader, "Leader").clicked()
            });
            self.typed.free.leader ^= switch.inner;
            let free = &mut self.typed.free;
            if !free.leader {
                quiet(ui, "bits come at once");
                return None;
            }
            Some(times(
                ui,
                &mut free.leader_mark,
                &mut free.leader_space,
                ["Leader mark", "Leader space"],
                &fault,
            ))
        });
        self.end(ui, leader.iter().flatten(), fault);
        let fault = self.free_fault(FreePart::Zero, |free| format!("{}{}", free.zero_mark, free.zero_space));
        let free = &mut self.typed.free;
        let zero = row(ui, "A 0", |ui| {
            times(ui, &mut free.zero_mark, &mut free.zero_space, ["Mark of a 0", "Space of a 0"], &fault)
        });
        self.end(ui, &zero, fault);
        let fault = self.free_fault(FreePart::One, |free| format!("{}{}", free.one_mark, free.one_space));
        let free = &mut self.typed.free;
        let one = row(ui, "A 1", |ui| {
            times(ui, &mut free.one_mark, &mut free.one_space, ["Mark of a 1", "Space of a 1"], &fault)
        });
        self.end(ui, &one, fault);
        row(ui, "Stop mark", |ui| {
            let clicked = check(ui, self.typed.free.stop_mark, "A mark closes the last bit").clicked();
            self.typed.free.stop_mark ^= clicked;
        });
        self.end(ui, [], None);
        row(ui, "Bit order", |ui| {
            let order = usize::from(self.typed.free.high_first);
            if let Some(chosen) = segments(ui, "Bit order", &["Lowest first", "Highest first"], order) {
                self.typed.free.high_first = chosen == 1;
            }
        });
        self.end(ui, [], None);
        let [zero, _] = zero;
        leader.map_or(zero, |[mark, _]| mark)
    }

    /// Address and command, and what is sent while held. Gives the field of the number to type next.
    fn numbers_ui(&mut self, ui: &mut Ui) -> Response {
        captions(ui, &[("hex", HEX), ("bits", BITS)]);
        let has_address = self.typed.free.address_bits.trim() != "0";
        let bits_fault = self.free_fault(FreePart::AddressBits, |free| free.address_bits.clone());
        let fault = self.fault(Place::Address, &self.typed.address).filter(|_| has_address);
        let [address, bits] = row(ui, "Address", |ui| {
            let typed = [&mut self.typed.address, &mut self.typed.free.address_bits];
            number(ui, typed, ["Address", "Address bits"], [&fault, &bits_fault])
        });
        self.end(ui, [&address, &bits], fault.or(bits_fault));
        let bits_fault = self.free_fault(FreePart::CommandBits, |free| free.command_bits.clone());
        let fault = self.fault(Place::Command, &self.typed.command);
        let [command, bits] = row(ui, "Command", |ui| {
            let typed = [&mut self.typed.command, &mut self.typed.free.command_bits];
            number(ui, typed, ["Command", "Command bits"], [&fault, &bits_fault])
        });
        self.end(ui, [&command, &bits], fault.or(bits_fault));
        row(ui, "Inverse of", |ui| {
            let free = &mut self.typed.free;
            free.address_inverse ^= inverse(ui, free.address_inverse, "address");
            free.command_inverse ^= inverse(ui, free.command_inverse, "command");
        });
        self.end(ui, [], None);
        self.held_ui(ui);
        if has_address && self.typed.address.is_empty() { address } else { command }
    }

    /// What is sent while held, and how often.
    fn held_ui(&mut self, ui: &mut Ui) {
        let fault = self.free_fault(FreePart::Repeat, |_| "repeat".to_owned());
        let names = REPEATS.map(|(_, name)| name);
        let selected = REPEATS.iter().position(|(repeat, _)| *repeat == self.typed.free.repeat);
        let answer = row(ui, "While held", |ui| {
            let width = ui.available_width().min(HEX + BITS + space::TIGHT);
            Drop::new("While held", &names, selected).width(width).show(ui)
        });
        if let Some((repeat, _)) = answer.chosen.and_then(|at| REPEATS.get(at)) {
            self.typed.free.repeat = *repeat;
        }
        self.end(ui, [], fault);
        // What matters to an infrared LED alone stands last.
        let held = self.typed.free.repeat != FreeRepeat::Once;
        let period_fault = self.free_fault(FreePart::Period, |free| free.period_ms.clone()).filter(|_| held);
        let carrier_fault = self.free_fault(FreePart::Carrier, |free| free.carrier_khz.clone());
        let (period, carrier) = row(ui, if held { "Every" } else { "Carrier" }, |ui| {
            let free = &mut self.typed.free;
            let period = held.then(|| {
                let field = Field::new(&mut free.period_ms, "Sent every").unit("ms").width(LAST);
                let response = field.error(period_fault.as_deref()).limit(12).show(ui);
                quiet(ui, "carrier");
                response
            });
            let carrier = Field::new(&mut free.carrier_khz, "Carrier").unit("kHz").width(LAST);
            (period, carrier.error(carrier_fault.as_deref()).limit(8).show(ui))
        });
        self.end(ui, period.iter().chain([&carrier]), period_fault.or(carrier_fault));
    }

    fn free_fault(
        &self,
        part: FreePart,
        now: impl FnOnce(&crate::app::codes::FreeDraft) -> String,
    ) -> Option<String> {
        self.fault(Place::Free(part), &now(&self.typed.free))
    }

    /// Takes note of Enter in a row's fields, and tells what is wrong under it.
    fn end<'r>(
        &mut self,
        ui: &mut Ui,
        fields: impl IntoIterator<Item = &'r Response>,
        fault: Option<String>,
    ) {
        for field in fields {
            self.heed(ui, field);
        }
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        ui.add_space(4.0);
    }
}

/// What stands over the fields of a column.
fn captions(ui: &mut Ui, words: &[(&str, f32)]) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(COLUMN, 20.0), Sense::hover());
    let mut x = rect.left() + LABEL + space::TIGHT;
    for (word, width) in words {
        let font = theme::regular(size::AXIS);
        text::cap(ui.painter(), x + 2.0, rect.center().y, Align::Min, word, font, theme.ink2);
        x += width + space::TIGHT;
    }
}

/// Whether a number's inverse follows it; true if it was switched.
fn inverse(ui: &mut Ui, on: bool, of: &str) -> bool {
    let response = check(ui, on, of);
    ui.accesskit_node_builder(response.id, |node| node.set_label(format!("Inverse of {of}")));
    response.clicked()
}

/// A row: a label, unless its place is taken, and controls.
fn row<R>(ui: &mut Ui, label: &str, content: impl FnOnce(&mut Ui) -> R) -> R {
    let theme = Theme::of(ui.ctx());
    let answer = ui.horizontal(|ui| {
        if !label.is_empty() {
            let (rect, _) = ui.allocate_exact_size(vec2(LABEL, control::USUAL), Sense::hover());
            let font = theme::regular(size::BODY);
            text::cap(ui.painter(), rect.left(), rect.center().y, Align::Min, label, font, theme.ink);
        }
        content(ui)
    });
    answer.inner
}

/// A mark's and a space's field.
fn times(
    ui: &mut Ui,
    mark: &mut String,
    space: &mut String,
    names: [&str; 2],
    fault: &Option<String>,
) -> [Response; 2] {
    let mut one = |typed: &mut String, name: &str| {
        Field::new(typed, name).unit("µs").width(TIME).error(fault.as_deref()).limit(12).show(ui)
    };
    [one(mark, names[0]), one(space, names[1])]
}

/// A number's field, and how many bits it has.
fn number(
    ui: &mut Ui,
    [typed, bits]: [&mut String; 2],
    names: [&str; 2],
    faults: [&Option<String>; 2],
) -> [Response; 2] {
    let none = bits.trim() == "0";
    let field = Field::new(typed, names[0]).code().hint(if none { "none" } else { "" });
    let number = field.width(HEX).error(faults[0].as_deref()).limit(16).show(ui);
    let bits =
        Field::new(bits, names[1]).unit("bit").width(BITS).error(faults[1].as_deref()).limit(4).show(ui);
    [number, bits]
}
