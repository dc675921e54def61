//! A command being typed: text until it is kept, and everything that keeps it from being kept. Knows no
//! file and no screen.

use super::super::action::Edit;
use super::free_draft::{FreeDraft, FreeFault};
use crate::project::{Command, CommandId, Project};
use crate::remote::{
    self, Code, CodeError, FamilyId, FreeFamily, FreePart, Likely, NumberError, NumberOrder, NumberReading,
    Origin, RawError,
};

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
    /// A frame as one number, in hex.
    pub number: String,
    /// Which reading of the number is meant.
    pub order: Order,
    /// A free family's parameters.
    pub free: Box<FreeDraft>,
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
    /// A frame as one number of 16, 32 or 48 bits.
    Number,
    /// Address and command of a family that isn't in the table, with its parameters.
    Free,
    /// Marks and spaces.
    Timings,
}

/// In which order a number is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// The likelier one.
    #[default]
    Likely,
    /// The number's highest bit goes first.
    FirstBitFirst,
    /// The number's lowest bit goes first.
    LastBitFirst,
    /// As a list of bytes in the order they are sent.
    BytesAsSent,
}

impl Draft {
    /// A new command of the family and address used last.
    #[must_use]
    pub fn new(commands: &[Command]) -> Self {
        let mut draft = Self { family: "nec".to_owned(), ..Self::default() };
        let latest = || commands.iter().rev().map(|command| &command.code);
        let of_table = latest().find_map(|code| match code {
            Code::Family { family, address, .. } => Some((family, *address)),
            Code::Free { .. } | Code::Raw { .. } => None,
        });
        let of_none = latest().find_map(|code| match code {
            Code::Free { free, address, .. } => Some((free, *address)),
            Code::Family { .. } | Code::Raw { .. } => None,
        });
        if let Some((family, address)) = of_table {
            family.0.clone_into(&mut draft.family);
            draft.address = format!("{address:02X}");
        }
        if let Some((free, address)) = of_none {
            *draft.free = FreeDraft::of(free);
            let last = latest().find(|code| !matches!(code, Code::Raw { .. }));
            if matches!(last, Some(Code::Free { .. })) {
                draft.way = Way::Free;
                draft.address = free_address(free, address);
            }
        }
        draft
    }

    /// A kept command, to be changed.
    #[must_use]
    pub fn of(command: &Command) -> Self {
        let mut draft = Self {
            id: Some(command.id.clone()),
            name: command.name.clone(),
            family: "nec".to_owned(),
            ..Self::default()
        };
        match &command.code {
            Code::Family { family, address, command } => {
                family.0.clone_into(&mut draft.family);
                draft.address = format!("{address:02X}");
                draft.command = format!("{command:02X}");
            }
            Code::Free { free, address, command } => {
                draft.way = Way::Free;
                *draft.free = FreeDraft::of(free);
                draft.address = free_address(free, *address);
                draft.command = format!("{command:02X}");
            }
            Code::Raw { pulses_us, repeat_us } => {
                draft.way = Way::Timings;
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
    pub fn code(&self, in_use: &[Command]) -> Result<Code, DraftError> {
        let code = match self.way {
            Way::Fields => Code::Family {
                family: FamilyId(self.family.clone()),
                address: field("address", &self.address)?,
                command: field("command", &self.command)?,
            },
            Way::Number => {
                let reading = self.reading(in_use)?;
                let undecided = match reading.likely {
                    Likely::Neither => DraftError::Neither,
                    _ => DraftError::Undecided,
                };
                let order = self.meant(&reading).ok_or(undecided)?;
                reading.code(order).ok_or(DraftError::NoCode)?
            }
            Way::Free => {
                let free = self.free.family().map_err(|faults| DraftError::free(&faults))?;
                let address = match free.address_bits {
                    0 => 0,
                    _ => field("address", &self.address)?,
                };
                Code::Free { free, address, command: field("command", &self.command)? }
            }
            Way::Timings => self.raw()?,
        };
        remote::encode(&code, false)?;
        Ok(code)
    }

    /// The code to draw while one types: the code, or its first frame where only what follows it is
    /// wrong; for a free family with zeros for numbers that are still missing.
    #[must_use]
    pub fn drawn(&self, in_use: &[Command]) -> Option<Code> {
        if let Ok(code) = self.code(in_use) {
            return Some(code);
        }
        let code = match self.way {
            Way::Timings => Self { repeat_ms: String::new(), ..self.clone() }.code(in_use).ok()?,
            Way::Free => {
                let number = |typed: &str| {
                    if typed.trim().is_empty() { Some(0) } else { remote::parse_u32_field(typed).ok() }
                };
                let free = self.free.frame_alone()?;
                let address = if free.address_bits == 0 { 0 } else { number(&self.address)? };
                Code::Free { free, address, command: number(&self.command)? }
            }
            Way::Fields | Way::Number => return None,
        };
        remote::encode(&code, false).is_ok().then_some(code)
    }

    /// The number as typed, read in both bit orders.
    ///
    /// # Errors
    /// Says what is wrong with it.
    pub fn reading(&self, in_use: &[Command]) -> Result<NumberReading, DraftError> {
        let number = remote::parse_number(&self.number)?;
        // Its own old code is no evidence for what is typed now.
        let others = in_use.iter().filter(|command| self.id.as_ref() != Some(&command.id));
        Ok(remote::read_number(number, others.map(|command| &command.code)))
    }

    /// The order meant, chosen or likely, as far as it can be told.
    #[must_use]
    pub fn meant(&self, reading: &NumberReading) -> Option<NumberOrder> {
        match self.order {
            Order::FirstBitFirst => Some(NumberOrder::FirstBitFirst),
            Order::LastBitFirst => Some(NumberOrder::LastBitFirst),
            Order::BytesAsSent if reading.bytes_as_sent.is_some() => Some(NumberOrder::BytesAsSent),
            // As a list it is nothing of its own: chosen for another number.
            Order::Likely | Order::BytesAsSent => reading.likely_reading().map(|reading| reading.order),
        }
    }

    /// Everything that keeps it from being kept, in the order of the form.
    #[must_use]
    pub fn faults(&self, in_use: &[Command]) -> Vec<Fault> {
        let mut faults: Vec<Fault> = self.name_fault(in_use).into_iter().collect();
        let mut say = |error: Option<DraftError>| {
            faults.extend(error.map(|error| Fault { place: error.place(), what: error.to_string() }));
        };
        match self.way {
            // Each number is judged by itself, so that both are told at once.
            Way::Fields => {
                let family = || FamilyId(self.family.clone());
                let sent = |address, command| {
                    remote::encode(&Code::Family { family: family(), address, command }, false)
                };
                let address = field("address", &self.address);
                let command = field("command", &self.command);
                say(address.and_then(|address| Ok(sent(address, 0)?)).err());
                say(command.and_then(|command| Ok(sent(0, command)?)).err());
            }
            Way::Number | Way::Timings => say(self.code(in_use).err()),
            // And here each parameter by itself.
            Way::Free => {
                let typed = self.free.family();
                for fault in typed.as_ref().err().into_iter().flatten() {
                    say(Some(DraftError::free(std::slice::from_ref(fault))));
                }
                let sent = |address, command| match typed.clone() {
                    Ok(free) => remote::encode(&Code::Free { free, address, command }, false).map(|_| ()),
                    // What is wrong with the family has been said.
                    Err(_) => Ok(()),
                };
                if typed.as_ref().map_or(true, |free| free.address_bits > 0) {
                    let address = field("address", &self.address);
                    say(address.and_then(|address| Ok(sent(address, 0)?)).err());
                }
                let command = field("command", &self.command);
                say(command.and_then(|command| Ok(sent(0, command)?)).err());
            }
        }
        faults.dedup();
        faults
    }

    fn name_fault(&self, in_use: &[Command]) -> Option<Fault> {
        let mut project = Project::new("", "");
        project.stereo.commands = in_use.to_vec();
        let command = Command {
            id: self.id.clone().unwrap_or_default(),
            name: self.name.clone(),
            code: Code::Raw { pulses_us: Vec::new(), repeat_us: None },
            origin: Origin::Typed,
            tried: false,
            heard: Vec::new(),
        };
        let edit = match &self.id {
            Some(_) => Edit::ChangeCommand(Box::new(command)),
            None => Edit::AddCommand(Box::new(command)),
        };
        let error = super::super::edit::apply(&mut project, &edit).err()?;
        Some(Fault { place: Place::Name, what: error.to_string() })
    }

    fn raw(&self) -> Result<Code, DraftError> {
        let code = remote::raw_from_text(&self.timings)?;
        let repeat = self.repeat_ms.trim();
        let Code::Raw { pulses_us, .. } = code else { return Ok(code) };
        if repeat.is_empty() {
            return Ok(Code::Raw { pulses_us, repeat_us: None });
        }
        let frame_ms = pulses_us.iter().sum::<f64>() / 1e3;
        match repeat.replace(',', ".").parse::<f64>() {
            Ok(ms) if ms > frame_ms && ms <= LONGEST_REPEAT_MS => {
                Ok(Code::Raw { pulses_us, repeat_us: Some(ms * 1e3) })
            }
            _ => Err(DraftError::Repeat { typed: repeat.to_owned(), frame_ms }),
        }
    }
}

/// What keeps a draft from being kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The part of the form that causes it.
    pub place: Place,
    /// What is wrong and what to do.
    pub what: String,
}

/// A part of the form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The name.
    Name,
    /// The family.
    Family,
    /// The address.
    Address,
    /// The command.
    Command,
    /// The number.
    Number,
    /// The choice between its two bit orders.
    Order,
    /// A parameter of a free family.
    Free(FreePart),
    /// Marks and spaces.
    Timings,
    /// From frame to frame.
    Repeat,
}

/// The longest time from frame to frame, in milliseconds.
const LONGEST_REPEAT_MS: f64 = 2_000.0;

/// Why a draft is no code yet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DraftError {
    /// The code can't be sent.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// The number can't be read.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// A field can't be read.
    #[error("The {field}: {reason}")]
    Field {
        /// Which field.
        field: &'static str,
        /// Why.
        reason: NumberError,
    },
    /// The timings can't be read.
    #[error(transparent)]
    Timings(#[from] RawError),
    /// The number means a code in both orders.
    #[error("In either order it is a code, and no check can tell. Choose which one is meant.")]
    Undecided,
    /// The number means no code in either order.
    #[error(
        "In neither bit order does the command match its inverse. Check the digits; if they are right, choose an order, and it is sent as it is."
    )]
    Neither,
    /// The number means no code in this order.
    #[error(
        "In this bit order no inverse matches, so it is no nec or nec16 code. Choose the other order, or check the digits."
    )]
    NoCode,
    /// A free family's parameter can't be.
    #[error("{what}")]
    Free {
        /// Which.
        part: FreePart,
        /// What is wrong and what to do.
        what: String,
    },
    /// The time from frame to frame can't be.
    #[error(
        "{typed:?} is no time from frame to frame. Type milliseconds above {frame_ms:.1}, which is one frame, up to 2000; or leave it empty to send once."
    )]
    Repeat {
        /// What was typed.
        typed: String,
        /// How long one frame is.
        frame_ms: f64,
    },
}

impl DraftError {
    /// The first of a free family's faults.
    fn free(faults: &[FreeFault]) -> Self {
        let first = faults.first();
        Self::Free {
            part: first.map_or(FreePart::Leader, |fault| fault.part),
            what: first.map(|fault| fault.what.clone()).unwrap_or_default(),
        }
    }

    /// The part of the form that causes it.
    #[must_use]
    pub fn place(&self) -> Place {
        match self {
            Self::Code(CodeError::UnknownFamily { .. }) => Place::Family,
            Self::Code(CodeError::Free(error)) => Place::Free(error.part()),
            Self::Free { part, .. } => Place::Free(*part),
            Self::Code(CodeError::Address { .. }) => Place::Address,
            Self::Code(CodeError::Command { .. }) => Place::Command,
            Self::Code(CodeError::FreeNumber { what, .. }) => match *what {
                "Address" => Place::Address,
                _ => Place::Command,
            },
            Self::Code(CodeError::RawRepeat { .. }) | Self::Repeat { .. } => Place::Repeat,
            Self::Code(CodeError::Raw(_)) | Self::Timings(_) => Place::Timings,
            Self::Number(_) => Place::Number,
            Self::Field { field, .. } => match *field {
                "address" => Place::Address,
                _ => Place::Command,
            },
            Self::Undecided | Self::Neither | Self::NoCode => Place::Order,
        }
    }
}

/// An address of a free family as it is typed; nothing where it has none.
fn free_address(free: &FreeFamily, address: u32) -> String {
    if free.address_bits == 0 { String::new() } else { format!("{address:02X}") }
}

fn field(field: &'static str, text: &str) -> Result<u32, DraftError> {
    remote::parse_u32_field(text).map_err(|reason| DraftError::Field { field, reason })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(draft: &Draft, in_use: &[Command]) -> Vec<Place> {
        draft.faults(in_use).into_iter().map(|fault| fault.place).collect()
    }

    fn known(name: &str, address: u32, command: u32) -> Command {
        Command {
            id: CommandId(name.to_lowercase()),
            name: name.to_owned(),
            code: Code::Family { family: FamilyId("nec".to_owned()), address, command },
            origin: Origin::Typed,
            tried: false,
            heard: Vec::new(),
        }
    }

    #[test]
    fn every_fault_of_a_form_is_told_where_it_lies() {
        let mut draft = Draft::new(&[]);
        assert_eq!(places(&draft, &[]), [Place::Name, Place::Address, Place::Command]);
        draft.name = "mute ".to_owned();
        draft.address = "159".to_owned();
        draft.command = "xy".to_owned();
        let faults = draft.faults(&[known("Mute", 1, 2)]);
        assert_eq!(faults[0].what, "mute is there already. Give this one another name.");
        assert!(faults[1].what.starts_with("Address 159 "), "{}", faults[1].what);
        assert!(faults[2].what.contains("is not a hex number"), "{}", faults[2].what);
        draft.name = "Louder".to_owned();
        draft.address = "59".to_owned();
        draft.command = "16".to_owned();
        assert!(places(&draft, &[known("Mute", 1, 2)]).is_empty());
    }

    #[test]
    fn a_number_is_read_in_the_order_chosen_and_asks_where_no_check_can_tell() {
        let mut draft = Draft {
            way: Way::Number,
            name: "Louder".to_owned(),
            number: "9A656897".to_owned(),
            ..Draft::default()
        };
        assert_eq!(draft.code(&[]), Err(DraftError::Undecided));
        assert_eq!(draft.code(&[known("Mute", 0x59, 1)]), Ok(known("", 0x59, 0x16).code));
        draft.order = Order::LastBitFirst;
        assert_eq!(draft.code(&[]), Ok(known("", 0x97, 0x65).code));
        draft.order = Order::Likely;
        draft.number = "12345678".to_owned();
        assert_eq!(draft.code(&[]), Err(DraftError::Neither));
        assert_eq!(places(&draft, &[]), [Place::Order]);
    }

    fn free_code(free: FreeFamily, address: u32, command: u32) -> Command {
        Command { code: Code::Free { free, address, command }, ..known("Free", 0, 0) }
    }

    #[test]
    fn a_number_of_any_width_makes_its_family_s_code() {
        let typed = |number: &str, order: Order| {
            let number = number.to_owned();
            Draft { way: Way::Number, number, order, ..Draft::default() }.code(&[])
        };
        let coded = |family: &str, address, command| {
            Ok(Code::Family { family: FamilyId(family.to_owned()), address, command })
        };
        assert_eq!(typed("A5 3C", Order::Likely), Err(DraftError::Undecided));
        assert_eq!(typed("a5 3c", Order::FirstBitFirst), coded("pd16", 0xA5, 0x3C));
        assert_eq!(typed("3CA5", Order::LastBitFirst), coded("pd16", 0xA5, 0x3C));
        // The parity of aeha matches one way only.
        assert_eq!(typed("2C482D6A1E59", Order::Likely), coded("aeha", 0x1234, 0x9A78_56B4));
        assert_eq!(typed("0x9A7856B41234", Order::Likely), coded("aeha", 0x1234, 0x9A78_56B4));
        assert_eq!(typed("34 12 B4 56 78 9A", Order::Likely), coded("aeha", 0x1234, 0x9A78_56B4));
        assert_eq!(typed("59 A6 16 E9", Order::BytesAsSent), coded("nec", 0x59, 0x16));
        // Chosen for another number, and now no reading of its own.
        assert_eq!(typed("A53C", Order::BytesAsSent), Err(DraftError::Undecided));
        // No inverse anywhere: sent as it is, if one says so.
        let Ok(Code::Free { free, address, command }) = typed("12345678", Order::LastBitFirst) else {
            panic!()
        };
        assert_eq!((address, command, free.command_inverse), (0x5678, 0x1234, false));
        // One order is a code: the other isn't taken.
        assert_eq!(typed("A9561234", Order::FirstBitFirst), Err(DraftError::NoCode));
    }

    #[test]
    fn a_new_command_starts_from_the_free_family_used_last() {
        let free = FreeFamily { carrier_khz: 40, ..FreeFamily::default() };
        let draft = Draft::new(&[known("Mute", 0x59, 1), free_code(free, 0x12, 3)]);
        assert_eq!((draft.way, draft.address.as_str()), (Way::Free, "12"));
        assert_eq!(*draft.free, FreeDraft::of(&free));
        // A family of the table used since: its address, and the free family still at hand.
        let draft = Draft::new(&[free_code(free, 0x12, 3), known("Mute", 0x59, 1)]);
        assert_eq!((draft.way, draft.address.as_str()), (Way::Fields, "59"));
        assert_eq!(*draft.free, FreeDraft::of(&free));
        assert_eq!(*Draft::new(&[]).free, FreeDraft::default());
    }

    #[test]
    fn a_free_code_is_changed_and_every_fault_of_it_is_told_where_it_lies() {
        let free = FreeFamily { address_bits: 8, ..FreeFamily::default() };
        let mut draft = Draft::of(&free_code(free, 0xA5, 0x3C));
        draft.id = None;
        draft.name = "Louder".to_owned();
        assert_eq!(draft.code(&[]), Ok(Code::Free { free, address: 0xA5, command: 0x3C }));
        assert!(places(&draft, &[]).is_empty());
        draft.address = "1A5".to_owned();
        draft.command = "x".to_owned();
        assert_eq!(places(&draft, &[]), [Place::Address, Place::Command]);
        draft.free.zero_mark = "short".to_owned();
        draft.free.period_ms = String::new();
        let told = [Place::Free(FreePart::Zero), Place::Free(FreePart::Period), Place::Command];
        assert_eq!(places(&draft, &[]), told, "without a family no address is too high");
        // No address bits, no address.
        let none = FreeFamily { address_bits: 0, ..FreeFamily::default() };
        let draft = Draft::of(&free_code(none, 0, 0x3C));
        assert_eq!(
            (draft.address.as_str(), draft.code(&[])),
            ("", Ok(Code::Free { free: none, address: 0, command: 0x3C }))
        );
    }

    #[test]
    fn a_free_family_is_drawn_before_its_numbers_are_there() {
        let mut draft = Draft { way: Way::Free, ..Draft::default() };
        let drawn = |draft: &Draft| draft.drawn(&[]).map(|code| remote::describe(&code));
        assert_eq!(drawn(&draft).as_deref(), Some("free family address 0000 command 00"));
        draft.command = "16".to_owned();
        draft.free.period_ms = "5".to_owned();
        assert_eq!(drawn(&draft).as_deref(), Some("free family address 0000 command 16"));
        draft.command = "163".to_owned();
        assert_eq!(drawn(&draft), None);
        draft.command.clear();
        draft.free.one_space.clear();
        assert_eq!(drawn(&draft), None);
    }

    #[test]
    fn a_repeat_inside_the_frame_is_told_beside_the_repeat() {
        let mut draft = Draft {
            way: Way::Timings,
            name: "Louder".to_owned(),
            timings: "9000 4500 560".to_owned(),
            repeat_ms: "14".to_owned(),
            ..Draft::default()
        };
        assert_eq!(places(&draft, &[]), [Place::Repeat]);
        draft.repeat_ms = "108,5".to_owned();
        let repeat_us = Some(108_500.0);
        assert_eq!(draft.code(&[]), Ok(Code::Raw { pulses_us: vec![9000.0, 4500.0, 560.0], repeat_us }));
        draft.timings = "9000 many".to_owned();
        assert_eq!(places(&draft, &[]), [Place::Timings]);
    }
}
