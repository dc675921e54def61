//! A window without a screen, for tests: the stations driven by their accessible labels, and the
//! model that came of it.

use egui::{Key, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::app::{Action, FileAction, Model, Station};
use crate::view::theme::{Theme, ThemeKind, install};
use crate::view::{Drafts, window_ui};

/// The window, its model, and everything that was asked for so far.
pub(super) struct Driven {
    harness: Harness<'static, (Model, Drafts, Vec<Action>)>,
}

impl Driven {
    /// The demo van at a station, in a window of this size.
    pub(super) fn demo(station: Station, width: f32, height: f32) -> Self {
        let mut model = Model::default();
        model.update(Action::CautionsRead);
        model.update(Action::File(FileAction::Demo));
        model.update(Action::Go(station));
        Self::of(model, width, height)
    }

    /// A model as it is, in a window of this size.
    pub(super) fn of(model: Model, width: f32, height: f32) -> Self {
        let app = |ui: &mut egui::Ui, (model, drafts, asked): &mut (Model, Drafts, Vec<Action>)| {
            install(ui.ctx(), &Theme::new(ThemeKind::Dark));
            for action in window_ui(ui, model, drafts) {
                asked.push(action.clone());
                model.update(action);
            }
        };
        let state = (model, Drafts::default(), Vec::new());
        let mut harness = Harness::builder().with_size(vec2(width, height)).build_ui_state(app, state);
        harness.run_steps(2);
        Self { harness }
    }

    /// The model.
    pub(super) fn model(&self) -> &Model {
        &self.harness.state().0
    }

    /// Whether this was asked for.
    pub(super) fn asked(&self, action: &Action) -> bool {
        self.harness.state().2.contains(action)
    }

    /// How many things were asked for.
    pub(super) fn actions(&self) -> usize {
        self.harness.state().2.len()
    }

    /// The open project.
    pub(super) fn project(&self) -> &crate::project::Project {
        self.model().project().unwrap()
    }

    /// Something happens that isn't typed or clicked.
    pub(super) fn act(&mut self, action: Action) {
        self.harness.state_mut().0.update(action);
        self.settle();
    }

    /// The same without a frame after it: for what comes often.
    pub(super) fn act_unseen(&mut self, action: Action) {
        self.harness.state_mut().0.update(action);
    }

    /// Lets a few frames pass.
    pub(super) fn settle(&mut self) {
        self.harness.run_steps(4);
    }

    /// Clicks what is called so.
    pub(super) fn click(&mut self, label: &str) {
        self.harness.get_by_label(label).click();
        self.settle();
    }

    /// Types into what has the keyboard.
    pub(super) fn type_text(&mut self, text: &str) {
        for letter in text.chars() {
            self.harness.event(egui::Event::Text(letter.to_string()));
            self.harness.step();
        }
        self.settle();
    }

    /// Clicks the field that is called so, and types into it.
    pub(super) fn type_into(&mut self, label: &str, text: &str) {
        self.click(label);
        self.type_text(text);
    }

    /// Presses a key.
    pub(super) fn key(&mut self, key: Key) {
        self.harness.key_press(key);
        self.settle();
    }

    /// Presses a key with others held.
    pub(super) fn key_with(&mut self, modifiers: egui::Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.settle();
    }

    /// Brings the keyboard to what is called so.
    pub(super) fn focus(&mut self, label: &str) {
        self.harness.get_by_label(label).focus();
        self.settle();
    }

    /// Whether something called so is there.
    pub(super) fn is_there(&self, label: &str) -> bool {
        self.harness.query_all_by_label(label).next().is_some()
    }

    /// Whether something whose name holds this is there.
    pub(super) fn says(&self, part: &str) -> bool {
        self.harness.query_all_by_label_contains(part).next().is_some()
    }

    /// Turns the wheel of the mouse over a place, so many points; below 0 goes down.
    pub(super) fn scroll_at(&mut self, at: egui::Pos2, points: f32) {
        self.harness.event(egui::Event::PointerMoved(at));
        self.harness.event(egui::Event::MouseWheel {
            unit: egui::MouseWheelUnit::Point,
            delta: vec2(0.0, points),
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Unknown,
            modifiers: egui::Modifiers::NONE,
        });
        self.harness.run_steps(20);
    }

    /// Where the first thing stands whose name begins so.
    pub(super) fn place(&self, begins: &str) -> egui::Rect {
        let all = self.harness.query_all_by_label_contains(begins);
        // What is only text has it as its value.
        let begins_so = |node: &egui_kittest::Node<'_>| {
            let node = node.accesskit_node();
            node.label().or_else(|| node.value()).is_some_and(|words| words.starts_with(begins))
        };
        all.into_iter().find(begins_so).unwrap().rect()
    }

    /// Whether what is called so has the keyboard.
    pub(super) fn has_focus(&self, label: &str) -> bool {
        self.harness.get_by_label(label).is_focused()
    }
}
