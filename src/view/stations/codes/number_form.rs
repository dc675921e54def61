//! The form's part for a frame as one number of 16, 32 or 48 bits, with its two bit orders.

use egui::{Response, Ui};

use super::form::{Form, fault_ui, labelled, quiet};
use super::order;
use crate::app::codes::Place;
use crate::remote;
use crate::view::theme::space;
use crate::view::widgets::field::Field;

impl Form<'_> {
    /// The number, and its two bit orders. Gives the field to begin with.
    pub(super) fn number_ui(&mut self, ui: &mut Ui) -> Response {
        let fault = self.fault(Place::Number, &self.typed.number);
        let width = remote::parse_number(&self.typed.number).ok().map(remote::CodeNumber::width);
        let words = width.map_or_else(
            || "4, 8 or 12 hex digits, such as 20 DF 10 EF".to_owned(),
            |width| format!("{} bits, as of {}", width.bits(), width.families_text()),
        );
        let response = labelled(ui, "Number", |ui| {
            let width = ui.available_width().min(220.0);
            let field = Field::new(&mut self.typed.number, "Code number").code().hint("20 DF 10 EF");
            let response = field.width(width).error(fault.as_deref()).limit(64).show(ui);
            quiet(ui, &words);
            response
        });
        self.heed(ui, &response);
        if let Some(fault) = fault {
            fault_ui(ui, &fault);
        }
        if let Ok(reading) = self.typed.reading(self.commands) {
            ui.add_space(space::TIGHT);
            let meant = self.typed.meant(&reading);
            if let Some(order) = order::order_ui(ui, &reading, meant) {
                self.typed.order = order;
            }
            // The note under the orders has said it already, until keeping it is tried.
            if let Some(fault) = self.fault(Place::Order, "order").filter(|_| self.attempted) {
                ui.add_space(4.0);
                fault_ui(ui, &fault);
            }
        }
        response
    }
}
