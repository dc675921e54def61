//! What wants a look, at the acting row: gestures that go nowhere, commands on two buttons.

use std::collections::BTreeSet;

use egui::{Align, Id, Key, Modifiers, Rect, Role, Ui, UiBuilder, pos2, vec2};

use super::commands::sent_by;
use super::plan::{Place, Plan, Row, Slot};
use super::{ask_focus, gesture_name};
use crate::app::{Action, CodesAction, FileAction, Model, Station};
use crate::project::{ButtonId, Gesture, Project};
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, letter, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::text;

/// One thing that was found, and what its action does.
#[derive(Debug)]
struct Found {
    level: NoticeLevel,
    head: String,
    body: String,
    action: &'static str,
    does: Does,
}

/// What a finding's action does.
#[derive(Debug)]
enum Does {
    /// Brings the keyboard to a gesture.
    Focus(ButtonId, Gesture),
    /// Isn't told again.
    Keep(String),
    /// Goes to the codes.
    TypeIn,
}

/// From here on two findings stand side by side.
const TWO: f32 = 960.0;
/// The most letters of a name here.
const NAME_MOST: usize = 22;

/// Draws the findings, or what is next where there are none.
pub(super) fn findings_ui(
    ui: &mut Ui,
    model: &Model,
    project: &Project,
    plan: &Plan,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let row = area.layout.acting;
    let kept = kept(ui);
    let found: Vec<Found> = [nothing_to_send(project), nowhere(plan), doubled(project, plan, &kept)]
        .into_iter()
        .flatten()
        .take(if row.width() >= TWO { 2 } else { 1 })
        .collect();
    if found.is_empty() {
        done_ui(ui, model, plan, row, actions);
        return;
    }
    // Notices over the work take the keys first.
    let taken = model.notices.at(Station::Pair).count().min(2);
    let keys = [("Alt 1", Key::Num1), ("Alt 2", Key::Num2)];
    let gap = space::BLOCK;
    let wide = if found.len() == 2 { (row.width() - gap) / 2.0 } else { row.width() };
    let top = row.bottom() - control::NOTICE;
    for (number, found) in found.into_iter().enumerate() {
        let left = row.left() + number as f32 * (wide + gap);
        let place = Rect::from_min_size(pos2(left, top), vec2(wide, control::NOTICE));
        let key = keys.get(number + taken).copied();
        let mut child = ui.new_child(UiBuilder::new().max_rect(place));
        let notice = Notice {
            level: found.level,
            head: &found.head,
            body: &found.body,
            action: Some((found.action, key.map(|(name, _)| name))),
        };
        let clicked = notice.show_in_row(&mut child, &format!("pair {number}"));
        if clicked || key.is_some_and(|(_, key)| key_pressed(ui, Modifiers::ALT, key)) {
            match found.does {
                Does::Focus(button, gesture) => ask_focus(ui, &button, gesture),
                Does::Keep(what) => keep(ui, what),
                Does::TypeIn => {
                    actions.push(Action::Go(Station::Codes));
                    actions.push(Action::Codes(CodesAction::New));
                }
            }
        }
    }
}

/// What is next where nothing was found: the work is to be saved.
fn done_ui(ui: &mut Ui, model: &Model, plan: &Plan, row: Rect, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let mut x = row.left();
    if model.derived.unsaved {
        let save = Button::act("Save").key("Ctrl S").height(row.height());
        let wide = save.wanted_width(ui.painter());
        if save.show_at(ui, Rect::from_min_size(row.min, vec2(wide, row.height()))).clicked() {
            actions.push(Action::File(FileAction::Save));
        }
        x += wide + space::BLOCK;
    }
    let words = match plan.rows.len() {
        1 => "The button sends something.".to_owned(),
        all => format!("All {all} buttons send something."),
    };
    let (y, font) = (row.center().y, theme::regular(size::BODY));
    text::cap_within(ui.painter(), x, y, Align::Min, row.right() - x, &words, font, theme.ink2);
    let place = Rect::from_min_max(pos2(x, row.top()), row.max);
    focus::tell(ui, place, "all paired", Role::Status, &words);
}

fn nothing_to_send(project: &Project) -> Option<Found> {
    project.stereo.commands.is_empty().then(|| Found {
        level: NoticeLevel::Stop,
        head: "There is nothing to send.".to_owned(),
        body: "The stereo has no commands yet.".to_owned(),
        action: "Type one in",
        does: Does::TypeIn,
    })
}

fn nowhere(plan: &Plan) -> Option<Found> {
    let all: Vec<(usize, &Row, &Slot)> = plan.nowhere().collect();
    let (_, row, slot) = *all.first()?;
    let does_nothing = |row: &Row| row.slots.iter().all(|slot| slot.command.is_none());
    let name = short(&row.name);
    let (head, body) = match (all.len(), slot.gesture) {
        (1, Gesture::Tap) if does_nothing(row) => {
            (format!("{name} does nothing."), "Its tap is empty.".to_owned())
        }
        (1, gesture) => {
            let gesture = gesture_name(gesture);
            (format!("{name}: {gesture} goes nowhere."), "Choose a command for it.".to_owned())
        }
        (gestures, _) => {
            let mut letters: Vec<String> = Vec::new();
            for (index, _, _) in &all {
                let letter = letter(*index).to_string();
                if letters.last() != Some(&letter) {
                    letters.push(letter);
                }
            }
            let only_taps = all.iter().all(|(_, row, _)| row.slots.len() == 1);
            let what = if only_taps { "buttons do nothing" } else { "gestures go nowhere" };
            (format!("{} {what}.", capital(&number(gestures))), format!("{}.", listed(&letters)))
        }
    };
    let does = Does::Focus(row.id.clone(), slot.gesture);
    Some(Found { level: NoticeLevel::Stop, head, body, action: "Choose", does })
}

fn doubled(project: &Project, plan: &Plan, kept: &BTreeSet<String>) -> Option<Found> {
    plan.doubled().find_map(|place| {
        let command = project.stereo.commands.get(place.command)?;
        let what = format!("{}/{}/{}", project.vehicle.name, command.id.0, sent_by(place));
        if kept.contains(&what) {
            return None;
        }
        Some(Found {
            level: NoticeLevel::Caution,
            head: format!("{} is on {} buttons.", short(&command.name), number(place.senders.len())),
            body: format!("{}.", together(place)),
            action: "Keep",
            does: Does::Keep(what),
        })
    })
}

/// `F and G, hold` where all do the same, else `F hold and G tap`.
fn together(place: &Place) -> String {
    let first = place.senders.first().map(|(_, gestures)| gestures);
    if place.senders.iter().any(|(_, gestures)| Some(gestures) != first) {
        return sent_by(place);
    }
    let letters: Vec<String> = place.senders.iter().map(|(index, _)| letter(*index).to_string()).collect();
    let gestures: Vec<&str> = first.into_iter().flatten().map(|gesture| gesture_name(*gesture)).collect();
    format!("{}, {}", listed(&letters), gestures.join(" and "))
}

fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn number(number: usize) -> String {
    const WORDS: [&str; 10] = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    WORDS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

fn short(name: &str) -> String {
    if name.chars().count() <= NAME_MOST {
        name.to_owned()
    } else {
        name.chars().take(NAME_MOST - 1).chain(['…']).collect()
    }
}

fn kept_id() -> Id {
    Id::unique("pair keeps")
}

/// What the person said is meant so, since the window opened.
fn kept(ui: &Ui) -> BTreeSet<String> {
    ui.data(|data| data.get_temp(kept_id())).unwrap_or_default()
}

fn keep(ui: &Ui, what: String) {
    let mut kept = kept(ui);
    kept.insert(what);
    ui.data_mut(|data| data.insert_temp(kept_id(), kept));
    ui.request_repaint();
}
