//! The Codes station: the chosen command, and a draft of one that is being typed.

use crate::project::{Command, CommandId};
use crate::remote::{self, Code, CodeError, FamilyId, NumberReading, Origin};

use super::action::CodesAction;
use super::action::Edit;
use super::effect::Effect;
use super::model::Model;
use super::notice::{Level, Notice, Topic};
use super::station::Station;

/// The Codes station.
#[derive(Clone, Debug, Default)]
pub struct CodesState {
    /// The command shown.
    pub chosen: Option<CommandId>,
    /// A command being typed.
    pub draft: Option<Draft>,
}

/// A command being typed: text until it is kept.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// The command it changes; `None` makes a new one.
    pub id: Option<CommandId>,
    /// What it does.
    pub name: String,
    /// How the code is typed.
    pub way: Way,
    /// The family's id.
    pub family: String,
    /// The address, in hex.
    pub address: String,
    /// The command, in hex.
    pub command: String,
    /// A 32-bit number, in hex.
    pub number: String,
    /// Which reading of the number is meant.
    pub order: Order,
    /// Marks and spaces.
    pub timings: String,
    /// From frame to frame while held, in milliseconds; empty sends once.
    pub repeat_ms: String,
}

/// How a code is typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Way {
    /// A family's address and command.
    #[default]
    Fields,
    /// A 32-bit number.
    Number,
    /// Marks and spaces.
    Timings,
}

/// Which bit of a number is sent first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// The likelier one.
    #[default]
    Likely,
    /// The number's highest bit.
    FirstBitFirst,
    /// The number's lowest bit.
    LastBitFirst,
}

impl Draft {
    /// A new command of the family and address used last.
    #[must_use]
    pub fn new(commands: &[Command]) -> Self {
        let last = commands.iter().rev().find_map(|command| match &command.code {
            Code::Family { family, address, .. } => Some((family.0.clone(), format!("{address:02X}"))),
            Code::Raw { .. } => None,
        });
        let (family, address) = last.unwrap_or_else(|| ("nec".to_owned(), String::new()));
        Self { family, address, ..Self::default() }
    }

    /// A kept command, to be changed.
    #[must_use]
    pub fn of(command: &Command) -> Self {
        let mut draft = Self { id: Some(command.id.clone()), name: command.name.clone(), ..Self::default() };
        match &command.code {
            Code::Family { family, address, command } => {
                family.0.clone_into(&mut draft.family);
                draft.address = format!("{address:02X}");
                draft.command = format!("{command:02X}");
            }
            Code::Raw { pulses_us, repeat_us } => {
                draft.way = Way::Timings;
                "nec".clone_into(&mut draft.family);
                draft.timings = pulses_us.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
                draft.repeat_ms = repeat_us.map(|us| (us / 1e3).to_string()).unwrap_or_default();
            }
        }
        draft
    }

    /// The code as typed.
    ///
    /// # Errors
    /// Says what is missing or wrong, and what to type.
    pub fn code(&self, addresses_in_use: &[u32]) -> Result<Code, CodeError> {
        let code = match self.way {
            Way::Fields => Code::Family {
                family: FamilyId(self.family.clone()),
                address: remote::parse_field("address", &self.address)?,
                command: remote::parse_field("command", &self.command)?,
            },
            Way::Number => {
                let reading = self.reading(addresses_in_use)?;
                match self.order {
                    Order::Likely => reading.likely_code(),
                    Order::FirstBitFirst => reading.first_bit_first.code,
                    Order::LastBitFirst => reading.last_bit_first.code,
                }
            }
            Way::Timings => remote::raw_from_text(&self.timings, &self.repeat_ms)?,
        };
        remote::encode(&code, false)?;
        Ok(code)
    }

    /// The number as typed, read in both bit orders.
    ///
    /// # Errors
    /// Says what is wrong with it.
    pub fn reading(&self, addresses_in_use: &[u32]) -> Result<NumberReading, CodeError> {
        Ok(remote::read_number(remote::parse_number(&self.number)?, addresses_in_use))
    }
}

/// The addresses that the stereo's commands use already.
#[must_use]
pub fn addresses(commands: &[Command]) -> Vec<u32> {
    let mut addresses: Vec<_> = commands
        .iter()
        .filter_map(|command| match command.code {
            Code::Family { address, .. } => Some(address),
            Code::Raw { .. } => None,
        })
        .collect();
    addresses.sort_unstable();
    addresses.dedup();
    addresses
}

/// What an action of this station changes.
pub(super) fn update(model: &mut Model, action: CodesAction) -> Vec<Effect> {
    match action {
        CodesAction::Choose(id) => {
            model.codes.chosen = Some(id);
            model.codes.draft = None;
        }
        CodesAction::New => {
            let commands = model.project().map(|project| project.stereo.commands.as_slice()).unwrap_or_default();
            model.codes.draft = Some(Draft::new(commands));
        }
        CodesAction::Draft(draft) => model.codes.draft = Some(draft),
        CodesAction::Keep => keep(model),
        CodesAction::Discard => {
            model.codes.draft = None;
            model.notices.clear(Topic::Edit);
        }
    }
    Vec::new()
}

fn keep(model: &mut Model) {
    let Some(draft) = model.codes.draft.clone() else { return };
    let Some(project) = model.project() else { return };
    let in_use = addresses(&project.stereo.commands);
    let code = match draft.code(&in_use) {
        Ok(code) => code,
        Err(error) => {
            say(model, &error.to_string());
            return;
        }
    };
    let before = draft.id.as_ref().and_then(|id| project.command(id)).cloned();
    let same_code = before.as_ref().is_some_and(|before| before.code == code);
    let command = Command {
        id: draft.id.clone().unwrap_or_default(),
        name: draft.name.clone(),
        origin: before.as_ref().filter(|_| same_code).map_or(Origin::Typed, |before| before.origin),
        tried: same_code && before.as_ref().is_some_and(|before| before.tried),
        code,
    };
    let edit = match &draft.id {
        Some(_) => Edit::ChangeCommand(Box::new(command)),
        None => Edit::AddCommand(Box::new(command)),
    };
    if super::update::edit(model, &edit) {
        let commands = model.project().map(|project| project.stereo.commands.as_slice()).unwrap_or_default();
        model.codes.chosen = draft.id.or_else(|| commands.last().map(|command| command.id.clone()));
        model.codes.draft = None;
        model.notices.clear(Topic::Edit);
    }
}

fn say(model: &mut Model, body: &str) {
    model.notices.show(Notice::new(Topic::Edit, Level::Stop, "Not kept.", body).at(Station::Codes));
}
