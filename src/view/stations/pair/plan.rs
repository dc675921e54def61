//! What the station shows, laid out: a row a button, a slot a gesture, a place a command, and what
//! wants a look. Draws nothing.

use crate::project::{ButtonId, CommandId, Gesture, Project};

/// Every gesture, in the order they are listed.
pub(super) const GESTURES: [Gesture; 3] = [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap];

/// Height of a drop-down.
pub(super) const DROP: f32 = crate::view::theme::control::DROP;
/// From drop-down to drop-down.
const GAP: f32 = 5.0;
/// Air above and under a row's drop-downs, both together.
const AIR: f32 = 10.0;
/// A row of two gestures; rows of one are as high where there is room.
const ROW: f32 = 2.0 * DROP + GAP + AIR;
/// The lowest row.
const ROW_LEAST: f32 = DROP + AIR + 6.0;
/// From command to command, where there is room.
const COMMAND: f32 = 58.0;
/// The same, at least.
const COMMAND_LEAST: f32 = 46.0;

/// A button's row.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Which button.
    pub(super) id: ButtonId,
    /// What it is called.
    pub(super) name: String,
    /// Where it begins, from the top of the table.
    pub(super) top: f32,
    /// How high it is.
    pub(super) height: f32,
    /// Its gestures.
    pub(super) slots: Vec<Slot>,
}

/// A gesture of a button.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Slot {
    /// What is done to it.
    pub(super) gesture: Gesture,
    /// Which command it sends, by the order they were entered.
    pub(super) command: Option<usize>,
    /// Whether it repeats while held.
    pub(super) repeats: bool,
    /// While held, a press anew each so many milliseconds; `None` repeats as the code's family does.
    pub(super) every_ms: Option<u16>,
    /// The middle of its drop-down, from the top of the table.
    pub(super) y: f32,
}

/// A command's place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    /// Which command, by the order they were entered.
    pub(super) command: usize,
    /// Its middle, from the top of the table.
    pub(super) y: f32,
    /// What sends it: buttons with their gestures, in the buttons' order.
    pub(super) senders: Vec<(usize, Vec<Gesture>)>,
}

/// The whole table.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Plan {
    /// The buttons.
    pub(super) rows: Vec<Row>,
    /// The commands, from the top down.
    pub(super) places: Vec<Place>,
    /// How high it is.
    pub(super) height: f32,
}

impl Plan {
    /// Lays a project out in this much height, or more where it needs more.
    pub(super) fn of(project: &Project, height: f32) -> Self {
        let rows = rows(project, height);
        let rows_high = rows.last().map_or(0.0, |row| row.top + row.height);
        let count = project.stereo.commands.len() as f32;
        let high = rows_high.max(count * COMMAND_LEAST);
        let places = places(project, &rows, high.max(height.min(count * COMMAND)));
        let last = places.last().map_or(0.0, |place| place.y + COMMAND_LEAST / 2.0);
        Self { rows, places, height: high.max(last) }
    }

    /// Where a command stands in the order drawn.
    pub(super) fn place_of(&self, command: usize) -> Option<(usize, &Place)> {
        self.places.iter().enumerate().find(|(_, place)| place.command == command)
    }

    /// Gestures that send nothing, by row and slot.
    pub(super) fn nowhere(&self) -> impl Iterator<Item = (usize, &Row, &Slot)> {
        self.rows.iter().enumerate().flat_map(|(index, row)| {
            row.slots.iter().filter(|slot| slot.command.is_none()).map(move |slot| (index, row, slot))
        })
    }

    /// Commands that more than one button sends.
    pub(super) fn doubled(&self) -> impl Iterator<Item = &Place> {
        self.places.iter().filter(|place| place.is_doubled())
    }
}

impl Row {
    /// The gestures it hasn't got.
    pub(super) fn missing(&self) -> Vec<Gesture> {
        let has = |gesture: &Gesture| self.slots.iter().any(|slot| slot.gesture == *gesture);
        GESTURES.into_iter().filter(|gesture| !has(gesture)).collect()
    }
}

impl Slot {
    /// The middle of the drop-down for how it repeats, under its own; where it repeats.
    pub(super) fn rate_y(&self) -> Option<f32> {
        (self.repeats && self.command.is_some()).then_some(self.y + DROP + GAP)
    }

    /// How high its drop-downs stand.
    fn high(&self) -> f32 {
        if self.rate_y().is_some() { 2.0 * DROP + GAP } else { DROP }
    }
}

impl Place {
    /// Whether more than one button sends it.
    pub(super) fn is_doubled(&self) -> bool {
        self.senders.len() > 1
    }
}

fn rows(project: &Project, height: f32) -> Vec<Row> {
    let position = |id: &CommandId| project.stereo.commands.iter().position(|command| command.id == *id);
    let slots = |id: &ButtonId| -> Vec<Slot> {
        GESTURES
            .into_iter()
            .filter_map(|gesture| {
                let pair = project.pairs.iter().find(|pair| pair.button == *id && pair.gesture == gesture);
                // A tap is always there to be paired.
                (pair.is_some() || gesture == Gesture::Tap).then(|| Slot {
                    gesture,
                    command: pair.and_then(|pair| position(pair.command.as_ref()?)),
                    repeats: pair.is_some_and(|pair| pair.repeats),
                    every_ms: pair.and_then(|pair| pair.every_ms),
                    y: 0.0,
                })
            })
            .collect()
    };
    let mut rows: Vec<Row> = project
        .wheel
        .buttons
        .iter()
        .map(|button| Row {
            id: button.id.clone(),
            name: button.name.clone(),
            top: 0.0,
            height: 0.0,
            slots: slots(&button.id),
        })
        .collect();
    let wanted = |row: &Row| stack(&row.slots) + AIR;
    let whole = |least: f32| rows.iter().map(|row| wanted(row).max(least)).sum::<f32>();
    let mut least = ROW;
    while least > ROW_LEAST && whole(least) > height {
        least -= 1.0;
    }
    let mut top = 0.0;
    for row in &mut rows {
        row.top = top;
        row.height = wanted(row).max(least);
        top += row.height;
        let mut y = row.top + (row.height - 2.0 - stack(&row.slots)) / 2.0 + DROP / 2.0;
        for slot in &mut row.slots {
            slot.y = y;
            y += slot.high() + GAP;
        }
    }
    rows
}

/// Height of a row's drop-downs under each other.
fn stack(slots: &[Slot]) -> f32 {
    slots.iter().map(|slot| slot.high() + GAP).sum::<f32>() - GAP
}

/// The commands ordered by the mean row of what leads to them; one that nothing leads to follows
/// the one it was entered after. Each stands as near to its mean as its neighbours let it.
fn places(project: &Project, rows: &[Row], height: f32) -> Vec<Place> {
    let mut keyed: Vec<(f32, Place)> = Vec::new();
    let mut before = 0.0;
    for command in 0..project.stereo.commands.len() {
        let senders = senders(rows, command);
        let leads: Vec<f32> = rows
            .iter()
            .flat_map(|row| &row.slots)
            .filter(|slot| slot.command == Some(command))
            .map(|slot| slot.y)
            .collect();
        let key = if leads.is_empty() { before } else { leads.iter().sum::<f32>() / leads.len() as f32 };
        before = key;
        keyed.push((key, Place { command, y: key, senders }));
    }
    keyed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let pitch = (height / keyed.len().max(1) as f32).clamp(COMMAND_LEAST, COMMAND);
    let wanted: Vec<f32> = keyed.iter().map(|(key, _)| *key).collect();
    let spread = spread(&wanted, pitch, pitch / 2.0, height - pitch / 2.0);
    keyed.into_iter().zip(spread).map(|((_, place), y)| Place { y, ..place }).collect()
}

fn senders(rows: &[Row], command: usize) -> Vec<(usize, Vec<Gesture>)> {
    let gestures = |row: &Row| -> Vec<Gesture> {
        row.slots.iter().filter(|slot| slot.command == Some(command)).map(|slot| slot.gesture).collect()
    };
    rows.iter()
        .enumerate()
        .map(|(index, row)| (index, gestures(row)))
        .filter(|(_, gestures)| !gestures.is_empty())
        .collect()
}

/// Places at least `pitch` apart between two bounds, with the least sum of squares to the wanted
/// ones, which rise: pool-adjacent-violators over what is left when the pitches are taken out.
fn spread(wanted: &[f32], pitch: f32, low: f32, high: f32) -> Vec<f32> {
    let mut blocks: Vec<(f32, usize)> = Vec::new();
    for (number, wanted) in wanted.iter().enumerate() {
        blocks.push((wanted - number as f32 * pitch, 1));
        while let [.., (a, n), (b, m)] = blocks.as_slice()
            && a > b
        {
            let joined = ((a * *n as f32 + b * *m as f32) / (n + m) as f32, n + m);
            blocks.truncate(blocks.len() - 2);
            blocks.push(joined);
        }
    }
    // The bounds cut the rising run at both ends, and it stays a rising run.
    let top = (high - wanted.len().saturating_sub(1) as f32 * pitch).max(low);
    let shifts = blocks.into_iter().flat_map(|(shift, count)| std::iter::repeat_n(shift, count));
    shifts.enumerate().map(|(number, shift)| shift.clamp(low, top) + number as f32 * pitch).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::demo_project;
    use crate::project::{Button, Command, Pair};

    fn paired(pairs: &[(&str, Gesture, Option<&str>)]) -> Project {
        let mut project = demo_project();
        project.pairs = pairs
            .iter()
            .map(|(button, gesture, command)| Pair {
                every_ms: None,
                button: ButtonId((*button).to_owned()),
                gesture: *gesture,
                command: command.map(|id| CommandId(id.to_owned())),
                repeats: false,
            })
            .collect();
        project
    }

    #[test]
    fn every_button_has_a_tap_and_seven_rows_fill_the_table_as_drawn() {
        let plan = Plan::of(&demo_project(), 586.0);
        assert!(plan.rows.iter().all(|row| row.slots.len() == 1 && row.height == ROW));
        assert_eq!((ROW, plan.height), (83.0, 581.0));
        assert_eq!(plan.rows[0].missing(), [Gesture::Hold, Gesture::DoubleTap]);
        assert_eq!(plan.nowhere().count(), 7);
    }

    #[test]
    fn drop_downs_of_a_row_never_overlap_and_stay_in_it() {
        let all: Vec<_> = GESTURES.into_iter().map(|gesture| ("mute", gesture, Some("mute"))).collect();
        for height in [100.0, 400.0, 586.0, 1000.0] {
            let plan = Plan::of(&paired(&all), height);
            for row in &plan.rows {
                for pair in row.slots.windows(2) {
                    assert!(pair[1].y - pair[0].y >= DROP + GAP - 0.01);
                }
                let (first, last) = (row.slots.first().unwrap().y, row.slots.last().unwrap().y);
                assert!(first - DROP / 2.0 >= row.top && last + DROP / 2.0 <= row.top + row.height);
            }
        }
    }

    #[test]
    fn a_gesture_that_repeats_has_room_for_how() {
        let all: Vec<_> = GESTURES.into_iter().map(|gesture| ("mute", gesture, Some("mute"))).collect();
        let mut project = paired(&all);
        project.pairs.iter_mut().for_each(|pair| pair.repeats = pair.gesture == Gesture::Hold);
        let plan = Plan::of(&project, 400.0);
        let row = plan.rows.last().unwrap();
        let [tap, hold, double] = &row.slots[..] else { panic!("three gestures") };
        assert_eq!((tap.rate_y(), double.rate_y()), (None, None));
        let rate = hold.rate_y().unwrap();
        assert!(rate - hold.y >= DROP + GAP - 0.01 && double.y - rate >= DROP + GAP - 0.01);
        assert!(double.y + DROP / 2.0 <= row.top + row.height);
    }

    #[test]
    fn commands_stand_in_the_order_of_what_leads_to_them() {
        let project =
            paired(&[("volume_up", Gesture::Tap, Some("mute")), ("mute", Gesture::Tap, Some("volume_up"))]);
        let plan = Plan::of(&project, 586.0);
        let at = |id: &str| {
            let command = project.stereo.commands.iter().position(|there| there.id.0 == id).unwrap();
            plan.place_of(command).unwrap().0
        };
        assert!(at("mute") < at("volume_up"));
        for pair in plan.places.windows(2) {
            assert!(pair[1].y - pair[0].y >= COMMAND_LEAST - 0.01);
        }
        assert!(plan.places.first().unwrap().y >= COMMAND_LEAST / 2.0);
        assert!(plan.places.last().unwrap().y <= plan.height);
    }

    #[test]
    fn a_single_command_stands_level_with_its_button() {
        let mut project = paired(&[("source", Gesture::Tap, Some("source"))]);
        project.stereo.commands.retain(|command| command.id.0 == "source");
        let plan = Plan::of(&project, 586.0);
        assert!((plan.places[0].y - plan.rows[4].slots[0].y).abs() < 0.01);
    }

    #[test]
    fn a_command_of_two_buttons_is_doubled_and_one_of_two_gestures_is_not() {
        let project = paired(&[
            ("answer", Gesture::Hold, Some("end_call")),
            ("mute", Gesture::Hold, Some("end_call")),
            ("source", Gesture::Tap, Some("source")),
            ("source", Gesture::Hold, Some("source")),
        ]);
        let plan = Plan::of(&project, 586.0);
        let doubled: Vec<_> = plan.doubled().map(|place| place.senders.clone()).collect();
        assert_eq!(doubled, [vec![(5, vec![Gesture::Hold]), (6, vec![Gesture::Hold])]]);
    }

    #[test]
    fn everything_the_box_holds_still_has_room() {
        let mut project = demo_project();
        for number in 0..9 {
            project.wheel.buttons.push(Button { id: ButtonId(format!("b{number}")), ..Default::default() });
        }
        for number in 0..22 {
            let command = project.stereo.commands[0].clone();
            project.stereo.commands.push(Command { id: CommandId(format!("c{number}")), ..command });
        }
        let plan = Plan::of(&project, 300.0);
        assert_eq!((plan.rows.len(), plan.places.len()), (16, 32));
        assert!(plan.places.windows(2).all(|pair| pair[1].y - pair[0].y >= COMMAND_LEAST - 0.1));
        assert!(plan.places.last().unwrap().y + COMMAND_LEAST / 2.0 <= plan.height + 0.01);
    }
}
