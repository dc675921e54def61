//! The Box station in a state made by hand, to look at: `cargo run --example station -- STATE LOOK`,
//! where LOOK is dark, light or night. Without a state, all of them are listed.

use eframe::egui;
use spokewire::view::theme::{Theme, ThemeKind, install};
use spokewire::view::{Drafts, window_ui};
// What the states are made of, by the names they have in the library.
use spokewire::{app, device, image, learn, link, project, wire};

#[path = "../../src/view/stations/the_box/made_up.rs"]
mod made_up;

struct Shown {
    model: app::Model,
    drafts: Drafts,
}

impl eframe::App for Shown {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        for action in window_ui(ui, &self.model, &mut self.drafts) {
            self.model.update(action);
        }
    }
}

fn main() -> eframe::Result {
    let mut words = std::env::args().skip(1);
    let Some(state) = words.next().map(|word| word.replace('_', " ")) else {
        println!("{}", made_up::STATES.join("\n"));
        return Ok(());
    };
    let kind = match words.next().as_deref() {
        Some("light") => ThemeKind::Light,
        Some("night") => ThemeKind::Night,
        _ => ThemeKind::Dark,
    };
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default().with_inner_size([1280.0, 800.0]).with_title("Spokewire"),
        ..Default::default()
    };
    eframe::run_native(
        "station",
        options,
        Box::new(move |cc| {
            install(&cc.egui_ctx, &Theme::new(kind));
            Ok(Box::new(Shown { model: made_up::made_up(&state), drafts: Drafts::default() }))
        }),
    )
}
