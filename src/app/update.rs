//! The one place where the model changes: an action in, effects out.

use crate::bands::{BandSet, Rung};
use crate::files::Theme;
use crate::project;
use crate::work::{Kind, News};

use super::action::{Action, Edit, Now};
use super::edit::EditError;
use super::effect::Effect;
use super::model::{Model, VerdictLine};
use super::notice::{Level, Notice, Topic};
use super::the_box::BoxDerived;
use super::{circuit, codes, edit as edits, file, learn, link, rail, the_box, wheel};

/// The other side of the theme.
const fn other(theme: Theme) -> Theme {
    match theme {
        Theme::Dark => Theme::Light,
        _ => Theme::Dark,
    }
}

impl Model {
    /// Changes the model, and says what is to be done outside it.
    pub fn update(&mut self, action: Action) -> Vec<Effect> {
        let mut effects = self.act(action);
        codes::sweep::look_after(self);
        effects.extend(codes::listen::mind(self));
        self.refresh();
        learn::bands::mind_feed(self);
        effects.extend(circuit::boxes::mind(self));
        effects
    }

    fn act(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::Go(station) => {
                self.station = station;
                self.settle();
                Vec::new()
            }
            Action::File(action) => file::update(self, action),
            Action::Edit(change) => {
                edit(self, &change);
                Vec::new()
            }
            Action::Undo | Action::Redo => {
                if let Some(document) = &mut self.document {
                    let _ = if action == Action::Undo { document.undo() } else { document.redo() };
                    self.notices.clear(Topic::Edit);
                }
                link::follow_converter(self);
                Vec::new()
            }
            Action::Link(action) => link::update(self, action),
            Action::Wheel(action) => wheel::update(self, action),
            Action::Circuit(action) => circuit::update(self, action),
            Action::Learn(action) => learn::update(self, action),
            Action::Codes(action) => codes::update(self, action),
            Action::Box(action) => the_box::update(self, action),
            Action::Computed(news) => computed(self, news),
            Action::Answer(topic) => {
                let offered = self.notices.on(topic).and_then(|notice| notice.action.clone());
                self.notices.clear(topic);
                offered.map_or_else(Vec::new, |(_, action)| self.act(action))
            }
            Action::Dismiss(topic) => {
                self.notices.clear(topic);
                Vec::new()
            }
            Action::ShowCautions(show) => {
                self.showing.cautions = show;
                Vec::new()
            }
            Action::CautionsRead => {
                self.showing.cautions = false;
                self.preferences.cautions_read = true;
                vec![Effect::KeepPreferences(Box::new(self.preferences.clone()))]
            }
            Action::ShowKeys(show) => {
                self.showing.keys = show;
                Vec::new()
            }
            Action::Hidden(hidden) => {
                self.showing.hidden = hidden;
                Vec::new()
            }
            Action::SwitchTheme => {
                self.preferences.theme = other(self.preferences.theme);
                vec![Effect::KeepPreferences(Box::new(self.preferences.clone()))]
            }
            Action::Tick(now) => self.tick(now),
            Action::Close(action) => file::close(self, action),
        }
    }

    fn tick(&mut self, now: Now) -> Vec<Effect> {
        self.now = now;
        let mut effects = codes::sweep::tick(self);
        effects.extend(file::autosave(self));
        effects
    }

    fn settle(&mut self) {
        if let Some(document) = &mut self.document {
            document.settle();
        }
    }

    /// Computes what follows from the project, if the project changed.
    fn refresh(&mut self) {
        let serial = self.serial();
        if !self.kept.stale && self.kept.derived_for == serial && !self.derived.rail.is_empty() {
            if std::mem::take(&mut self.kept.box_moved) {
                self.derived.rail = rail::rail(self);
            }
            return;
        }
        self.kept.stale = false;
        self.kept.box_moved = false;
        self.kept.derived_for = serial;
        self.derived.merged = learn::merged(self);
        let Some(document) = &self.document else {
            self.derived = super::model::Derived::default();
            self.derived.rail = rail::rail(self);
            return;
        };
        let project = self.derived.merged.as_ref().unwrap_or_else(|| document.project());
        self.derived.bands = project::bands(project);
        self.derived.verdicts = verdicts(project, &self.derived.bands);
        self.derived.learn = learn::bands::BandsDerived::of(project, &self.derived.bands);
        let choice = self.learn.dwell.found.as_ref().and_then(|found| found.as_ref().ok());
        self.derived.dwell =
            learn::dwell::DwellDerived::of(project, &self.derived.bands, choice.map(|choice| &choice.input));
        self.derived.the_box = BoxDerived::of(project, &self.derived.bands, &self.the_box.held);
        self.derived.wheel = wheel::WheelDerived::of(project, &self.derived.bands);
        self.derived.circuit = circuit::CircuitDerived::of(project, &self.derived.bands);
        self.derived.jack = project.stereo.jack.report_with(&project.output.stage());
        self.derived.unsaved = document.has_unsaved_work();
        self.derived.saved_line = saved_line(document);
        self.derived.rail = rail::rail(self);
    }
}

/// What the bands say, the gravest first and then the tightest.
fn verdicts(project: &project::Project, bands: &BandSet) -> Vec<VerdictLine> {
    let mut lines: Vec<_> = (0..project.wheel.buttons.len())
        .filter_map(|button| {
            let verdict = bands.verdict(button)?;
            let text = project::banding::verdict_text(project, verdict);
            Some(VerdictLine { button, grade: verdict.grade(), text })
        })
        .collect();
    let gap = |line: &VerdictLine| {
        bands.band(Rung::Button(line.button)).and_then(|band| band.nearest_gap_count).unwrap_or(f64::INFINITY)
    };
    lines.sort_by(|a, b| b.grade.cmp(&a.grade).then(gap(a).total_cmp(&gap(b))));
    lines
}

/// Hands what was computed to whom it belongs to. A late answer, to another ticket, is dropped there.
fn computed(model: &mut Model, news: News) -> Vec<Effect> {
    match news.kind() {
        Kind::Boxes => circuit::boxes::computed(model, news),
        Kind::Dwell => learn::dwell::computed(model, news),
    }
}

/// The line under the vehicle's name.
fn saved_line(document: &super::Document) -> String {
    let unsaved = document.is_dirty();
    match (&document.read_only, &document.saved_at, document.was_saved(), unsaved) {
        (Some(_), ..) => "Read-only".to_owned(),
        (None, Some(at), _, false) => format!("Saved {at}"),
        (None, Some(at), _, true) => format!("Saved {at}, edited since"),
        (None, None, true, false) => "Opened, unchanged".to_owned(),
        (None, None, true, true) => "Edited, not saved".to_owned(),
        (None, None, false, _) if document.has_unsaved_work() => "Not saved yet".to_owned(),
        (None, None, false, _) => "Nothing to save".to_owned(),
    }
}

/// Makes an edit of the project; says why where it can't be made. True if it was made.
pub(super) fn edit(model: &mut Model, change: &Edit) -> bool {
    let Some(document) = &mut model.document else { return false };
    if *change == Edit::Settle {
        document.settle();
        return true;
    }
    let mut project = document.project().clone();
    let made = edits::apply(&mut project, change).map(|()| project);
    outcome(model, edits::key(change).as_deref(), made)
}

/// Takes over the project as an edit left it, or says why it can't be made. True if it was made.
pub(super) fn outcome(
    model: &mut Model,
    key: Option<&str>,
    made: Result<project::Project, EditError>,
) -> bool {
    let Some(document) = &mut model.document else { return false };
    match made {
        Ok(project) => {
            document.change(key, |there| *there = project);
            model.notices.clear(Topic::Edit);
            link::follow_converter(model);
            true
        }
        Err(error) => {
            let station = model.station;
            model.notices.show(
                Notice::new(Topic::Edit, Level::Stop, "That can't be done.", error.to_string()).at(station),
            );
            false
        }
    }
}
