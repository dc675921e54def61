//! Changes of the project: each one keeps the project valid, or says why it can't be made.

mod planned;

use crate::circuit::{Circuit, Jack, PartsError, WrongPart};
use crate::project::{
    Button, ButtonId, Command, CommandId, Gesture, MAX_COMMANDS, Pair, Project, Range, Sweep,
    can_repeat_every, unique_id,
};
use crate::remote::SweepError;
use crate::wheel::ColourError;

use super::action::Edit;

/// The most buttons a wheel can have: the box guarantees 16.
pub const MOST_BUTTONS: usize = 16;

/// The most commands a stereo can have: a list may hold more than the box takes, and findings say what
/// of it doesn't fit.
pub const MOST_COMMANDS: usize = MAX_COMMANDS;

/// The most pairs: the box guarantees 48.
pub const MOST_PAIRS: usize = 48;

/// The longest name, in characters.
pub const LONGEST_NAME: usize = 40;

/// Why an edit can't be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EditError {
    /// A part of output or supply that no file may hold.
    #[error(transparent)]
    Built(#[from] PartsError),
    /// No room for another button.
    #[error("A wheel has at most {MOST_BUTTONS} buttons. Remove one first.")]
    TooManyButtons,
    /// No room for another command.
    #[error("A stereo has at most {MOST_COMMANDS} commands here. Remove one first.")]
    TooManyCommands,
    /// No room for another pair.
    #[error("The box holds at most {MOST_PAIRS} pairs. Take a gesture away first.")]
    TooManyPairs,
    /// A name with nothing in it.
    #[error("A name needs at least one letter or digit.")]
    NoName,
    /// A name that is too long.
    #[error("A name has at most {LONGEST_NAME} characters, this one has {0}. Shorten it.")]
    LongName(usize),
    /// Two of one name.
    #[error("{0} is there already. Give this one another name.")]
    SameName(String),
    /// Ohms that no meter shows.
    #[error("{0} is no resistance a meter shows. Type ohms from 0 to 10 million, like 1240 or 14.9k.")]
    Ohms(f64),
    /// A sense resistor that no file may hold.
    #[error("{0} Ω is no sense resistor. Type 1 Ω to 100 MΩ, like 1000 or 4.7k.")]
    SenseOhm(f64),
    /// A feed that no file may hold.
    #[error("{0} V is no feed for a ladder. Type 0.1 V to 60 V, like 5 or 3.3.")]
    Feed(f64),
    /// A number of presses that makes no sense.
    #[error("{0} presses can't be asked for. Choose 1 to 9.")]
    Presses(u32),
    /// A dwell the box can't keep.
    #[error("A dwell of {0} ms can't be kept. Choose 1 to 64 ms.")]
    Dwell(u8),
    /// A settle limit that makes no sense.
    #[error("{0} counts is no settle limit. Type 0.5 to 100 counts, or leave it to the noise.")]
    Settle(f64),
    /// A time to a hold that makes no sense.
    #[error("{0} ms is no time for a hold. Choose 100 to 10 000 ms.")]
    Hold(u16),
    /// A time between taps that makes no sense.
    #[error("{0} ms is no time for a double tap. Choose 50 to 2 000 ms.")]
    DoubleTap(u16),
    /// A repeat rate the box can't keep.
    #[error("Every {0} ms can't be kept. Choose 50 to 750 ms in steps of 50.")]
    Every(u16),
    /// A feed monitor that no file may hold.
    #[error("{0} Ω is no resistor of a feed monitor. Type 1 Ω to 100 MΩ, like 10k.")]
    MonitorOhm(f64),
    /// A value that no parts have.
    #[error("{} is nothing for `{}`. {}", .0.value, .0.field, .0.advice())]
    Part(WrongPart),
    /// Another value of the circuit that no file may hold.
    #[error("{0}")]
    CircuitValue(String),
    /// Volts at the stereo's input that no file may hold.
    #[error("{0} V is nothing an input of a stereo stands at. Type 0 V to 60 V, like 4.97.")]
    JackVolt(f64),
    /// A current through 1 kΩ that no file may hold.
    #[error("{0} A is no current through 1 kΩ at a stereo's input. Type 0 mA to 100 mA, like 0.45.")]
    JackAmp(f64),
    /// An edge that is no count.
    #[error("{0} is no edge of a band. Choose a count from 0 to 1023.")]
    EdgeCount(u16),
    /// A feed while learning that no file may hold.
    #[error("{0} V is no feed for a ladder. Type 0.1 V to 60 V by the meter, like 4.70, or leave it empty.")]
    LearnedFeed(f64),
    /// A range that can't be swept.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// A pace that no sweep keeps.
    #[error("A code every {0} ms is no pace for a sweep. Choose 0.5 to 10 s.")]
    Pace(u16),
    /// A place that the sweep hasn't.
    #[error("The sweep has {codes} codes, and no number {at}. Choose one of them.")]
    SweepPlace {
        /// The place, from 0.
        at: u16,
        /// How many codes it has.
        codes: u32,
    },
    /// Volts on the car's side that no file may hold.
    #[error("{0} V is nothing a wire of a vehicle stands at. Type 0 V to 60 V, like 4.9.")]
    CarVolt(f64),
    /// Letters that are no wire's colour.
    #[error(transparent)]
    Colour(#[from] ColourError),
    /// A text that is too long.
    #[error("At most {most} characters can be kept here, this has {length}. Shorten it.")]
    LongText {
        /// How many it has.
        length: usize,
        /// How many it may have.
        most: usize,
    },
    /// A wire that isn't there.
    #[error("Wires are numbered 1 and 2, and {0} is none of them.")]
    NoWire(u8),
    /// A button pressed together with itself.
    #[error("Two buttons pressed at once are two: choose another one beside {0}.")]
    Itself(String),
    /// What is to be changed isn't there any more.
    #[error("{0} isn't there any more.")]
    Gone(String),
}

/// The highest resistance taken from a meter, in ohms.
pub const HIGHEST_OHM: f64 = 10e6;

/// Makes an edit.
///
/// # Errors
/// Says why it can't be made; the project is then as it was.
pub fn apply(project: &mut Project, edit: &Edit) -> Result<(), EditError> {
    match edit {
        Edit::Vehicle(name) => project.vehicle.name = short(name)?,
        Edit::Stereo(name) => project.stereo.name = short(name)?,
        Edit::AddButton(name) => add_button(project, name)?,
        Edit::RenameButton(id, name) => rename_button(project, id, name)?,
        Edit::RemoveButton(id) => remove_button(project, id),
        Edit::MoveButton(id, to) => move_button(project, id, *to)?,
        Edit::Meter(id, ohm) => {
            check_ohm(*ohm)?;
            button(project, id)?.meter_ohm = *ohm;
        }
        Edit::Circuit(circuit) => {
            if let Some(circuit) = circuit {
                check_circuit(circuit)?;
            }
            let before = std::mem::replace(&mut project.circuit, circuit.clone());
            if let Some(fault) = project.circuit_faults().first() {
                let said = fault.to_string();
                project.circuit = before;
                return Err(EditError::CircuitValue(said));
            }
        }
        Edit::Topology(topology) => project.wheel.topology = *topology,
        Edit::RestOhm(wire, ohm) => {
            check_ohm(*ohm)?;
            project.wheel.wires.entry(*wire).or_default().rest_ohm = *ohm;
        }
        Edit::Presses(presses) => {
            if !(1..=9).contains(presses) {
                return Err(EditError::Presses(*presses));
            }
            project.plan.presses = *presses;
        }
        Edit::Converter(converter) => project.plan.converter = *converter,
        Edit::Dwell(_) | Edit::SettleLimit(_) | Edit::Hold(_) | Edit::DoubleTap(_) => {
            recognising(project, edit)?;
        }
        Edit::Rollover(rollover) => project.plan.rollover = *rollover,
        Edit::Infrared(infrared) => project.plan.infrared = *infrared,
        Edit::SuppliesParted(parted) => project.plan.supplies_parted = *parted,
        Edit::Forget(id) => {
            project.learned.remove(id);
            project.forget_traces(id, 0);
            forget_bands(project, id);
        }
        Edit::ForgetLast(id) => forget_last(project, id),
        Edit::AddCommand(command) => add_command(project, command)?,
        Edit::AddCommands(commands) => {
            let before = project.stereo.commands.len();
            for command in commands {
                if let Err(error) = add_command(project, command) {
                    project.stereo.commands.truncate(before);
                    return Err(error);
                }
            }
        }
        Edit::Jack(jack) => {
            check_jack(jack)?;
            project.stereo.jack.clone_from(jack);
        }
        Edit::Sweep(sweep) => {
            if let Some(sweep) = sweep {
                check_sweep(project, sweep)?;
            }
            project.stereo.sweep.clone_from(sweep);
        }
        Edit::ChangeCommand(command) => change_command(project, command)?,
        Edit::RemoveCommand(id) => remove_command(project, id),
        Edit::Pair(button, gesture, command) => pair(project, button, *gesture, command.as_ref())?,
        Edit::Repeats(button, gesture, repeats) => {
            if let Some(pair) = find_pair(project, button, *gesture) {
                pair.repeats = *repeats;
            }
        }
        Edit::Every(button, gesture, every_ms) => {
            if let Some(ms) = every_ms.filter(|&ms| !can_repeat_every(ms)) {
                return Err(EditError::Every(ms));
            }
            if let Some(pair) = find_pair(project, button, *gesture) {
                pair.every_ms = *every_ms;
            }
        }
        Edit::Unpair(button, gesture) => {
            project.pairs.retain(|pair| pair.button != *button || pair.gesture != *gesture);
        }
        Edit::Parts(_)
        | Edit::Output(_)
        | Edit::Supply(_)
        | Edit::MeterCheck(_)
        | Edit::Back(_)
        | Edit::WireColour(..)
        | Edit::LearnedOn(_)
        | Edit::VehicleNote(_)
        | Edit::ButtonWire(..)
        | Edit::TappedAt(..)
        | Edit::TwoMetered(..)
        | Edit::AddWire
        | Edit::RemoveWire
        | Edit::Edges(..) => planned::apply(project, edit)?,
        Edit::Settle => {}
    }
    Ok(())
}

/// Edits with one key that follow each other are one step of undo.
#[must_use]
pub fn key(edit: &Edit) -> Option<String> {
    match edit {
        Edit::Vehicle(_) => Some("vehicle".to_owned()),
        Edit::VehicleNote(_) => Some("note".to_owned()),
        Edit::Stereo(_) => Some("stereo".to_owned()),
        Edit::RenameButton(id, _) => Some(format!("rename {}", id.0)),
        Edit::Meter(id, _) => Some(format!("meter {}", id.0)),
        Edit::Circuit(_) => Some("circuit".to_owned()),
        Edit::RestOhm(wire, _) => Some(format!("rest {wire}")),
        Edit::Dwell(_) => Some("dwell".to_owned()),
        Edit::SettleLimit(_) => Some("settle limit".to_owned()),
        Edit::Hold(_) => Some("hold".to_owned()),
        Edit::DoubleTap(_) => Some("double tap".to_owned()),
        Edit::Jack(_) => Some("jack".to_owned()),
        Edit::Sweep(_) => Some("sweep".to_owned()),
        Edit::Parts(_) => Some("parts".to_owned()),
        Edit::Output(_) => Some("output".to_owned()),
        Edit::Supply(_) => Some("supply".to_owned()),
        Edit::MeterCheck(_) => Some("meter check".to_owned()),
        Edit::Back(_) => Some("return".to_owned()),
        Edit::TappedAt(wire, _) => Some(format!("tapped {wire}")),
        Edit::TwoMetered(wire, _) => Some(format!("together {wire}")),
        Edit::WireColour(wire, _) => Some(format!("colour {wire}")),
        Edit::LearnedOn(_) => Some("learned on".to_owned()),
        Edit::Edges(id, _) => Some(format!("edges {}", id.0)),
        Edit::Every(button, gesture, _) => Some(format!("every {} {gesture:?}", button.0)),
        _ => None,
    }
}

/// Whether a project may hold this sweep.
fn check_sweep(project: &Project, sweep: &Sweep) -> Result<(), EditError> {
    if !Range::PACE_MS.holds(f64::from(sweep.pace_ms)) {
        return Err(EditError::Pace(sweep.pace_ms));
    }
    let codes = sweep.range.check()?;
    if u32::from(sweep.next) > codes {
        return Err(EditError::SweepPlace { at: sweep.next, codes });
    }
    for (index, mark) in sweep.marks.iter().enumerate() {
        let twice = sweep.marks.iter().take(index).any(|before| before.at == mark.at);
        if u32::from(mark.at) >= codes || twice {
            return Err(EditError::SweepPlace { at: mark.at, codes });
        }
        if let Some(id) = mark.command.as_ref().filter(|id| project.command(id).is_none()) {
            return Err(EditError::Gone(format!("Command {}", id.0)));
        }
    }
    Ok(())
}

/// Changes of how the box recognises, each within what it keeps.
fn recognising(project: &mut Project, edit: &Edit) -> Result<(), EditError> {
    let plan = &mut project.plan;
    match *edit {
        Edit::Dwell(ms) if !Range::DWELL_MS.holds(f64::from(ms)) => return Err(EditError::Dwell(ms)),
        Edit::Dwell(ms) => plan.dwell_ms = ms,
        Edit::SettleLimit(Some(count)) if !Range::SETTLE_COUNT.holds(count) => {
            return Err(EditError::Settle(count));
        }
        Edit::SettleLimit(count) => plan.settle_count = count,
        Edit::Hold(ms) if !Range::HOLD_MS.holds(f64::from(ms)) => return Err(EditError::Hold(ms)),
        Edit::Hold(ms) => plan.hold_ms = ms,
        Edit::DoubleTap(ms) if !Range::DOUBLE_MS.holds(f64::from(ms)) => {
            return Err(EditError::DoubleTap(ms));
        }
        Edit::DoubleTap(ms) => plan.double_ms = ms,
        _ => {}
    }
    Ok(())
}

fn short(name: &str) -> Result<String, EditError> {
    let length = name.chars().count();
    if length > LONGEST_NAME { Err(EditError::LongName(length)) } else { Ok(name.to_owned()) }
}

fn check_name(name: &str) -> Result<String, EditError> {
    let name = short(name.trim())?;
    if name.chars().any(char::is_alphanumeric) { Ok(name) } else { Err(EditError::NoName) }
}

fn check_ohm(ohm: Option<f64>) -> Result<(), EditError> {
    match ohm {
        Some(ohm) if !(0.0..=HIGHEST_OHM).contains(&ohm) => Err(EditError::Ohms(ohm)),
        _ => Ok(()),
    }
}

/// What the file would refuse when it is opened again can't be made here.
fn check_circuit(circuit: &Circuit) -> Result<(), EditError> {
    if !Range::SENSE_OHM.holds(circuit.sense_ohm) {
        return Err(EditError::SenseOhm(circuit.sense_ohm));
    }
    if !Range::VOLT.holds(circuit.feed_v) {
        return Err(EditError::Feed(circuit.feed_v));
    }
    let monitor = circuit.feed_monitor.map_or([1.0; 2], |monitor| [monitor.upper_ohm, monitor.lower_ohm]);
    if let Some(&ohm) = monitor.iter().find(|&&ohm| !Range::SENSE_OHM.holds(ohm)) {
        return Err(EditError::MonitorOhm(ohm));
    }
    Ok(())
}

fn check_jack(jack: &Jack) -> Result<(), EditError> {
    if let Some(volt) =
        [jack.idle_v, jack.loaded_v].into_iter().flatten().find(|&volt| !Range::JACK_V.holds(volt))
    {
        return Err(EditError::JackVolt(volt));
    }
    match jack.loaded_a {
        Some(amp) if !Range::JACK_A.holds(amp) => Err(EditError::JackAmp(amp)),
        _ => Ok(()),
    }
}

fn button<'a>(project: &'a mut Project, id: &ButtonId) -> Result<&'a mut Button, EditError> {
    project
        .wheel
        .buttons
        .iter_mut()
        .find(|button| button.id == *id)
        .ok_or_else(|| EditError::Gone(format!("Button {}", id.0)))
}

fn same_button_name(project: &Project, name: &str, but: Option<&ButtonId>) -> bool {
    project
        .wheel
        .buttons
        .iter()
        .any(|button| Some(&button.id) != but && button.name.trim().eq_ignore_ascii_case(name))
}

fn add_button(project: &mut Project, name: &str) -> Result<(), EditError> {
    if project.wheel.buttons.len() >= MOST_BUTTONS {
        return Err(EditError::TooManyButtons);
    }
    let name = check_name(name)?;
    if same_button_name(project, &name, None) {
        return Err(EditError::SameName(name));
    }
    let id = unique_id(&name, |id| project.wheel.buttons.iter().any(|button| button.id.0 == id));
    project.wheel.buttons.push(Button { id: ButtonId(id), name, ..Button::default() });
    Ok(())
}

fn rename_button(project: &mut Project, id: &ButtonId, name: &str) -> Result<(), EditError> {
    let name = check_new_name(project, id, name)?;
    button(project, id)?.name = name;
    Ok(())
}

fn check_new_name(project: &Project, id: &ButtonId, name: &str) -> Result<String, EditError> {
    let name = check_name(name)?;
    if same_button_name(project, &name, Some(id)) { Err(EditError::SameName(name)) } else { Ok(name) }
}

/// Whether a button may be called so: no empty name, none too long, and no other button's.
#[must_use]
pub fn can_be_named(project: &Project, id: &ButtonId, name: &str) -> bool {
    check_new_name(project, id, name).is_ok()
}

fn remove_button(project: &mut Project, id: &ButtonId) {
    project.wheel.buttons.retain(|button| button.id != *id);
    project.pairs.retain(|pair| pair.button != *id);
    project.learned.remove(id);
    project.forget_traces(id, 0);
    // What was shown with it isn't shown without it.
    project.seat_check = None;
    forget_bands(project, id);
    for wire in project.wheel.wires.values_mut() {
        wire.together = wire.together.take().filter(|there| there.buttons.0 != *id && there.buttons.1 != *id);
    }
    for learned in project.learned.values_mut() {
        if learned.indistinct_from.as_ref() == Some(id) {
            learned.indistinct_from = None;
        }
    }
}

fn move_button(project: &mut Project, id: &ButtonId, to: usize) -> Result<(), EditError> {
    let Some((from, _)) = project.button(id) else {
        return Err(EditError::Gone(format!("Button {}", id.0)));
    };
    let moved = project.wheel.buttons.remove(from);
    let to = to.min(project.wheel.buttons.len());
    project.wheel.buttons.insert(to, moved);
    Ok(())
}

/// What stood on a button's presses goes with them: moved edges, and its re-check.
pub(super) fn forget_bands(project: &mut Project, id: &ButtonId) {
    project.edges.remove(id);
    if let Some(recheck) = &mut project.rechecked {
        recheck.presses.remove(id);
        if recheck.presses.is_empty() {
            project.rechecked = None;
        }
    }
}

fn forget_last(project: &mut Project, id: &ButtonId) {
    if let Some(learned) = project.learned.get_mut(id) {
        learned.presses.pop();
        if learned.presses.is_empty() {
            project.learned.remove(id);
        }
    }
    project.forget_traces(id, project.press_count(id));
}

fn same_command_name(project: &Project, name: &str, but: Option<&CommandId>) -> bool {
    project
        .stereo
        .commands
        .iter()
        .any(|command| Some(&command.id) != but && command.name.trim().eq_ignore_ascii_case(name))
}

fn add_command(project: &mut Project, command: &Command) -> Result<(), EditError> {
    if project.stereo.commands.len() >= MOST_COMMANDS {
        return Err(EditError::TooManyCommands);
    }
    let name = check_name(&command.name)?;
    if same_command_name(project, &name, None) {
        return Err(EditError::SameName(name));
    }
    let id = unique_id(&name, |id| project.stereo.commands.iter().any(|command| command.id.0 == id));
    project.stereo.commands.push(Command { id: CommandId(id), name, ..command.clone() });
    Ok(())
}

fn change_command(project: &mut Project, command: &Command) -> Result<(), EditError> {
    let name = check_name(&command.name)?;
    if same_command_name(project, &name, Some(&command.id)) {
        return Err(EditError::SameName(name));
    }
    let Some(place) = project.stereo.commands.iter_mut().find(|there| there.id == command.id) else {
        return Err(EditError::Gone(format!("Command {name}")));
    };
    *place = Command { name, ..command.clone() };
    Ok(())
}

fn remove_command(project: &mut Project, id: &CommandId) {
    project.stereo.commands.retain(|command| command.id != *id);
    for pair in &mut project.pairs {
        if pair.command.as_ref() == Some(id) {
            pair.command = None;
        }
    }
    for mark in project.stereo.sweep.iter_mut().flat_map(|sweep| &mut sweep.marks) {
        if mark.command.as_ref() == Some(id) {
            mark.command = None;
        }
    }
}

fn find_pair<'a>(project: &'a mut Project, button: &ButtonId, gesture: Gesture) -> Option<&'a mut Pair> {
    project.pairs.iter_mut().find(|pair| pair.button == *button && pair.gesture == gesture)
}

fn pair(
    project: &mut Project,
    button: &ButtonId,
    gesture: Gesture,
    command: Option<&CommandId>,
) -> Result<(), EditError> {
    if project.button(button).is_none() {
        return Err(EditError::Gone(format!("Button {}", button.0)));
    }
    if let Some(command) = command
        && project.command(command).is_none()
    {
        return Err(EditError::Gone(format!("Command {}", command.0)));
    }
    if let Some(pair) = find_pair(project, button, gesture) {
        pair.command = command.cloned();
        return Ok(());
    }
    if project.pairs.len() >= MOST_PAIRS {
        return Err(EditError::TooManyPairs);
    }
    project.pairs.push(Pair {
        every_ms: None,
        button: button.clone(),
        gesture,
        command: command.cloned(),
        repeats: false,
    });
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::SweepMark;
    use crate::remote::{Code, FamilyId, Origin, SweepRange};

    fn wheel(names: &[&str]) -> Project {
        let mut project = Project::new("van", "stereo");
        for name in names {
            apply(&mut project, &Edit::AddButton((*name).to_owned())).unwrap();
        }
        project
    }

    fn code(command: u32) -> Code {
        Code::Family { family: FamilyId("nec".to_owned()), address: 1, command }
    }

    fn with_command(project: &mut Project, name: &str) -> Result<(), EditError> {
        let command = Command {
            id: CommandId::default(),
            name: name.to_owned(),
            code: code(1),
            origin: Origin::Typed,
            tried: false,
            heard: Vec::new(),
        };
        apply(project, &Edit::AddCommand(Box::new(command)))
    }

    #[test]
    fn buttons_get_ids_of_their_own() {
        let project = wheel(&["Volume up", "Volume  up"]);
        let ids: Vec<_> = project.wheel.buttons.iter().map(|button| button.id.0.as_str()).collect();
        assert_eq!(ids.len(), 2);
        assert_ne!(ids[0], ids[1]);
    }

    #[test]
    fn two_buttons_of_one_name_are_refused() {
        let mut project = wheel(&["Next"]);
        let refused = apply(&mut project, &Edit::AddButton(" next ".to_owned()));
        assert_eq!(refused, Err(EditError::SameName("next".to_owned())));
        assert_eq!(project.wheel.buttons.len(), 1);
    }

    #[test]
    fn a_seventeenth_button_is_refused() {
        let mut project = Project::new("van", "");
        for number in 0..MOST_BUTTONS {
            apply(&mut project, &Edit::AddButton(format!("B{number}"))).unwrap();
        }
        assert_eq!(
            apply(&mut project, &Edit::AddButton("one more".to_owned())),
            Err(EditError::TooManyButtons)
        );
    }

    #[test]
    fn removing_a_button_takes_its_pairs_and_presses_with_it() {
        let mut project = wheel(&["Next", "Mute"]);
        with_command(&mut project, "Skip").unwrap();
        let id = project.wheel.buttons[0].id.clone();
        let command = project.stereo.commands[0].id.clone();
        apply(&mut project, &Edit::Pair(id.clone(), Gesture::Tap, Some(command))).unwrap();
        apply(&mut project, &Edit::RemoveButton(id)).unwrap();
        assert!(project.pairs.is_empty());
        assert_eq!(project.wheel.buttons.len(), 1);
    }

    #[test]
    fn removing_a_command_leaves_its_pairs_to_be_chosen_again() {
        let mut project = wheel(&["Next"]);
        with_command(&mut project, "Skip").unwrap();
        let id = project.wheel.buttons[0].id.clone();
        let command = project.stereo.commands[0].id.clone();
        apply(&mut project, &Edit::Pair(id, Gesture::Tap, Some(command.clone()))).unwrap();
        apply(&mut project, &Edit::RemoveCommand(command)).unwrap();
        assert_eq!(project.pairs.len(), 1);
        assert_eq!(project.pairs[0].command, None);
    }

    #[test]
    fn removing_a_command_leaves_its_mark_of_the_sweep_without_a_name() {
        let mut project = wheel(&[]);
        with_command(&mut project, "Skip").unwrap();
        let id = project.stereo.commands[0].id.clone();
        let range = SweepRange { family: FamilyId("nec".to_owned()), addresses: (1, 1), commands: (0, 3) };
        let marks = vec![SweepMark { at: 1, command: Some(id.clone()) }];
        let sweep = Sweep { range, pace_ms: 1_000, next: 2, marks };
        apply(&mut project, &Edit::Sweep(Some(sweep.clone()))).unwrap();
        apply(&mut project, &Edit::RemoveCommand(id)).unwrap();
        assert_eq!(project.stereo.sweep.as_ref().map(|sweep| sweep.marks[0].command.clone()), Some(None));
        assert_eq!(project.check_values(), []);
        for (change, said) in [
            (|sweep| sweep.pace_ms = 100, "A code every 100 ms is no pace for a sweep. Choose 0.5 to 10 s."),
            (|sweep| sweep.next = 5, "The sweep has 4 codes, and no number 5. Choose one of them."),
            (|sweep| sweep.marks[0].at = 4, "The sweep has 4 codes, and no number 4. Choose one of them."),
            (
                |sweep| sweep.range.commands = (3, 0),
                "The first command is 03 and the last 00. Exchange them.",
            ),
            (|_| (), "Command skip isn't there any more."),
        ] as [(fn(&mut Sweep), &str); 5]
        {
            let mut sweep = sweep.clone();
            change(&mut sweep);
            let before = project.clone();
            let refused = apply(&mut project, &Edit::Sweep(Some(sweep)));
            assert_eq!(refused.map_err(|error| error.to_string()), Err(said.to_owned()));
            assert_eq!(project, before);
        }
    }

    #[test]
    fn ohms_that_no_meter_shows_are_refused_with_what_to_type() {
        let mut project = wheel(&["Next"]);
        let id = project.wheel.buttons[0].id.clone();
        for ohm in [f64::NAN, -1.0, 1e12, f64::INFINITY] {
            let refused = apply(&mut project, &Edit::Meter(id.clone(), Some(ohm)));
            assert!(refused.is_err_and(|error| error.to_string().contains("Type ohms from 0 to 10 million")));
        }
        assert_eq!(project.wheel.buttons[0].meter_ohm, None);
    }

    #[test]
    fn a_circuit_that_its_own_file_would_refuse_is_not_made() {
        let mut project = wheel(&["Next"]);
        let circuit = |sense_ohm, feed_v| {
            Some(Circuit {
                feed_monitor: None,
                filter: Default::default(),
                module: None,
                sense: crate::circuit::Sense::PullUp,
                sense_ohm,
                feed_v,
                reference: crate::circuit::Reference::Supply,
                contact_ohm: 0.0,
                leak_ohm: None,
            })
        };
        for (ohm, volt) in [(0.5, 5.0), (1e9, 5.0), (f64::INFINITY, 5.0), (1e3, 0.05), (1e3, 61.0)] {
            assert!(apply(&mut project, &Edit::Circuit(circuit(ohm, volt))).is_err(), "{ohm} {volt}");
            assert_eq!(project.circuit, None);
        }
        assert_eq!(apply(&mut project, &Edit::Circuit(circuit(1e3, 5.0))), Ok(()));
        assert_eq!(project.check_values(), []);
    }

    #[test]
    fn readings_of_the_jack_that_its_own_file_would_refuse_are_not_kept() {
        let mut project = Project::new("van", "");
        let mut refused = |jack: Jack| {
            let answer = apply(&mut project, &Edit::Jack(jack)).map_err(|error| error.to_string());
            assert!(project.check_values().is_empty());
            answer.err()
        };
        assert_eq!(
            refused(Jack { idle_v: Some(-4.9), ..Jack::default() }).as_deref(),
            Some("-4.9 V is nothing an input of a stereo stands at. Type 0 V to 60 V, like 4.97.")
        );
        assert_eq!(
            refused(Jack { loaded_a: Some(0.45), ..Jack::default() }).as_deref(),
            Some("0.45 A is no current through 1 kΩ at a stereo's input. Type 0 mA to 100 mA, like 0.45.")
        );
        assert!(refused(Jack { loaded_v: Some(f64::NAN), ..Jack::default() }).is_some());
        assert_eq!(refused(Jack { idle_v: Some(60.0), loaded_a: Some(0.1), ..Jack::default() }), None);
    }

    #[test]
    fn what_the_box_could_not_keep_is_refused_with_what_it_keeps() {
        let mut project = wheel(&["Next"]);
        with_command(&mut project, "Skip").unwrap();
        let id = project.wheel.buttons[0].id.clone();
        let command = project.stereo.commands[0].id.clone();
        apply(&mut project, &Edit::Pair(id.clone(), Gesture::Hold, Some(command))).unwrap();
        let before = project.clone();
        for (edit, said) in [
            (Edit::Dwell(0), "A dwell of 0 ms can't be kept. Choose 1 to 64 ms."),
            (Edit::Dwell(65), "A dwell of 65 ms can't be kept. Choose 1 to 64 ms."),
            (
                Edit::SettleLimit(Some(0.4)),
                "0.4 counts is no settle limit. Type 0.5 to 100 counts, or leave it to the noise.",
            ),
            (
                Edit::SettleLimit(Some(f64::NAN)),
                "NaN counts is no settle limit. Type 0.5 to 100 counts, or leave it to the noise.",
            ),
            (Edit::Hold(99), "99 ms is no time for a hold. Choose 100 to 10 000 ms."),
            (Edit::DoubleTap(2_001), "2001 ms is no time for a double tap. Choose 50 to 2 000 ms."),
            (
                Edit::Every(id.clone(), Gesture::Hold, Some(120)),
                "Every 120 ms can't be kept. Choose 50 to 750 ms in steps of 50.",
            ),
        ] {
            assert_eq!(apply(&mut project, &edit).map_err(|error| error.to_string()), Err(said.to_owned()));
            assert_eq!(project, before);
        }
        for edit in [
            Edit::Dwell(64),
            Edit::SettleLimit(Some(0.5)),
            Edit::Hold(10_000),
            Edit::DoubleTap(50),
            Edit::Rollover(true),
            Edit::Infrared(true),
            Edit::SuppliesParted(true),
            Edit::Every(id, Gesture::Hold, Some(750)),
        ] {
            assert_eq!(apply(&mut project, &edit), Ok(()), "{edit:?}");
        }
        let plan = &project.plan;
        assert_eq!((plan.dwell_ms, plan.settle_count, plan.hold_ms), (64, Some(0.5), 10_000));
        assert_eq!((plan.double_ms, plan.rollover, plan.infrared), (50, true, true));
        assert_eq!(project.pairs[0].every_ms, Some(750));
        assert_eq!(apply(&mut project, &Edit::SettleLimit(None)), Ok(()));
        assert_eq!(project.plan.settle_count, None);
        assert_eq!(project.check_values(), []);
    }

    #[test]
    fn pairing_twice_keeps_one_pair_for_a_gesture() {
        let mut project = wheel(&["Next"]);
        with_command(&mut project, "Skip").unwrap();
        with_command(&mut project, "Back").unwrap();
        let id = project.wheel.buttons[0].id.clone();
        let commands: Vec<_> = project.stereo.commands.iter().map(|command| command.id.clone()).collect();
        for command in &commands {
            apply(&mut project, &Edit::Pair(id.clone(), Gesture::Hold, Some(command.clone()))).unwrap();
        }
        assert_eq!(project.pairs.len(), 1);
        assert_eq!(project.pairs[0].command.as_ref(), commands.last());
    }
}
