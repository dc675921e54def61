//! The set-up of a sweep as it is typed: text until it is a range and a pace, and what keeps it from
//! being one. Knows no box and no screen.

use crate::project::{Range, Stereo, Sweep};
use crate::remote::{self, Code, Family, FamilyId, NumberError, Origin, SweepError, SweepPart, SweepRange};

/// What is typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SweepDraft {
    /// The family's id.
    pub family: String,
    /// The first address, in hex.
    pub address: String,
    /// The last address, in hex; empty for the first alone.
    pub address_to: String,
    /// The first command, in hex.
    pub command: String,
    /// The last command, in hex; empty for the first alone.
    pub command_to: String,
    /// From one code to the next, in seconds.
    pub pace_s: String,
}

/// A part of the set-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SweepPlace {
    /// The family.
    Family,
    /// The addresses.
    Address,
    /// The commands.
    Command,
    /// The pace.
    Pace,
    /// All of it together.
    Whole,
}

/// What is wrong with a part of the set-up, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SweepFault {
    /// Where.
    pub place: SweepPlace,
    /// What is wrong and what to do.
    pub what: String,
    /// The range to begin with, where there are too many codes for one run.
    pub instead: Option<SweepRange>,
}

impl SweepFault {
    fn new(place: SweepPlace, what: impl ToString) -> Self {
        Self { place, what: what.to_string(), instead: None }
    }
}

/// The pace proposed: long enough to see what a code did and to press a key (common practice, no source).
const USUAL_PACE_S: &str = "1";

impl SweepDraft {
    /// What is likeliest to be swept: the address of the last code captured, else of the last one known,
    /// and as many commands as one run takes. Without any code the address stays to be typed.
    #[must_use]
    pub fn proposed(stereo: &Stereo) -> Self {
        let of = |captured: bool| {
            stereo.commands.iter().rev().find_map(|command| match &command.code {
                Code::Family { family, address, .. } if (command.origin == Origin::Captured) >= captured => {
                    Some((remote::family(family)?, *address))
                }
                _ => None,
            })
        };
        let known = of(true).or_else(|| of(false));
        let family = known.map(|(family, _)| family).or_else(|| remote::families().first());
        let Some(family) = family else { return Self::default() };
        let command = |number: u32| format!("{number:0digits$X}", digits = family.command_digits());
        Self {
            family: family.id.to_owned(),
            address: known
                .map(|(family, address)| format!("{address:0digits$X}", digits = family.address_digits()))
                .unwrap_or_default(),
            address_to: String::new(),
            command: command(0),
            command_to: command(family.command_max().min(remote::SWEEP_MAX - 1)),
            pace_s: USUAL_PACE_S.to_owned(),
        }
    }

    /// A sweep that is there, as it would be typed.
    #[must_use]
    pub fn of(sweep: &Sweep) -> Self {
        Self { pace_s: (f64::from(sweep.pace_ms) / 1e3).to_string(), ..Self::default() }.ranging(&sweep.range)
    }

    /// The same at this range.
    #[must_use]
    pub fn ranging(&self, range: &SweepRange) -> Self {
        let digits = |of: fn(&Family) -> usize| remote::family(&range.family).map_or(2, of);
        let part = |(first, last): (u32, u32), digits: usize| {
            let last = if first == last { String::new() } else { format!("{last:0digits$X}") };
            (format!("{first:0digits$X}"), last)
        };
        let (address, address_to) = part(range.addresses, digits(Family::address_digits));
        let (command, command_to) = part(range.commands, digits(Family::command_digits));
        let family = range.family.0.clone();
        Self { family, address, address_to, command, command_to, pace_s: self.pace_s.clone() }
    }

    /// The range as typed.
    ///
    /// # Errors
    /// The first thing that is wrong with it.
    pub fn range(&self) -> Result<SweepRange, SweepFault> {
        let range = SweepRange {
            family: FamilyId(self.family.clone()),
            addresses: self.addresses()?,
            commands: self.commands()?,
        };
        match range.check() {
            Ok(_) => Ok(range),
            Err(error) => Err(fault_of(&error)),
        }
    }

    /// The pace as typed, in milliseconds.
    ///
    /// # Errors
    /// Says what can be typed.
    pub fn pace_ms(&self) -> Result<u16, SweepFault> {
        let typed: String = self.pace_s.chars().filter(|letter| !letter.is_whitespace()).collect();
        let typed = typed.strip_suffix('s').unwrap_or(&typed).replace(',', ".");
        let ms = typed.parse::<f64>().map(|s| (s * 1e3).round());
        match ms {
            // The cast is safe: the range ends at 10 000.
            Ok(ms) if Range::PACE_MS.holds(ms) => Ok(ms as u16),
            _ => Err(SweepFault::new(SweepPlace::Pace, "Type 0.5 to 10 s from one code to the next.")),
        }
    }

    /// Everything that keeps it from being swept, each part by itself.
    #[must_use]
    pub fn faults(&self) -> Vec<SweepFault> {
        let family = FamilyId(self.family.clone());
        let nothing = (0, 0);
        let part = |addresses, commands| SweepRange { family: family.clone(), addresses, commands }.check();
        let mut faults = Vec::new();
        let mut alone = |place: SweepPlace, answer: Result<Result<u32, SweepError>, SweepFault>| {
            match answer {
                // How many there are is told once, of both together.
                Ok(Ok(_) | Err(SweepError::TooMany { .. })) => {}
                Ok(Err(error)) => faults.push(fault_of(&error)),
                Err(fault) => faults.push(SweepFault { place, ..fault }),
            }
        };
        alone(SweepPlace::Address, self.addresses().map(|addresses| part(addresses, nothing)));
        alone(SweepPlace::Command, self.commands().map(|commands| part(nothing, commands)));
        if faults.is_empty() {
            faults.extend(self.range().err());
        }
        faults.extend(self.pace_ms().err());
        faults.dedup();
        faults
    }

    fn addresses(&self) -> Result<(u32, u32), SweepFault> {
        both(&self.address, &self.address_to)
            .map_err(|error| SweepFault::new(SweepPlace::Address, format!("The address: {error}")))
    }

    fn commands(&self) -> Result<(u32, u32), SweepFault> {
        both(&self.command, &self.command_to)
            .map_err(|error| SweepFault::new(SweepPlace::Command, format!("The command: {error}")))
    }
}

/// A range's two ends; the last is the first where nothing is typed.
fn both(first: &str, last: &str) -> Result<(u32, u32), NumberError> {
    let first = remote::parse_u32_field(first)?;
    let last = if last.trim().is_empty() { first } else { remote::parse_u32_field(last)? };
    Ok((first, last))
}

fn fault_of(error: &SweepError) -> SweepFault {
    let part = |what: SweepPart| match what {
        SweepPart::Address => SweepPlace::Address,
        SweepPart::Command => SweepPlace::Command,
    };
    let (place, instead) = match error {
        SweepError::Family { .. } => (SweepPlace::Family, None),
        SweepError::Reversed { what, .. } | SweepError::Beyond { what, .. } => (part(*what), None),
        SweepError::TooMany { first, .. } => (SweepPlace::Whole, Some(first.as_ref().clone())),
    };
    SweepFault { instead, ..SweepFault::new(place, error) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Command, CommandId};

    fn command(origin: Origin, code: Code) -> Command {
        Command {
            id: CommandId::default(),
            name: String::new(),
            code,
            origin,
            tried: false,
            heard: Vec::new(),
        }
    }

    fn of(family: &str, address: u32) -> Code {
        Code::Family { family: FamilyId(family.to_owned()), address, command: 1 }
    }

    #[test]
    fn the_address_of_what_was_captured_is_proposed_before_what_was_typed() {
        let mut stereo = Stereo::default();
        let draft = SweepDraft::proposed(&stereo);
        assert_eq!((draft.family.as_str(), draft.address.as_str()), ("nec", ""));
        stereo.commands.push(command(Origin::Captured, of("rc5", 0x14)));
        stereo.commands.push(command(Origin::Typed, of("nec", 0x59)));
        let raw = Code::Raw { pulses_us: vec![560.0], repeat_us: None };
        stereo.commands.push(command(Origin::Captured, raw));
        let draft = SweepDraft::proposed(&stereo);
        assert_eq!((draft.family.as_str(), draft.address.as_str()), ("rc5", "14"));
        assert_eq!(
            draft.range().map(|range| range.to_string()).ok().as_deref(),
            Some("address 14, commands 00 to 7F")
        );
        stereo.commands.remove(0);
        let draft = SweepDraft::proposed(&stereo);
        assert_eq!(
            draft.range().map(|range| range.to_string()).ok().as_deref(),
            Some("address 59, commands 00 to FF")
        );
        assert_eq!(draft.pace_ms(), Ok(1_000));
    }

    #[test]
    fn every_fault_is_told_where_it_lies_and_too_many_codes_once() {
        let said = |draft: &SweepDraft| {
            draft.faults().into_iter().map(|fault| (fault.place, fault.what)).collect::<Vec<_>>()
        };
        let good = SweepDraft {
            family: "nec".to_owned(),
            address: "59".to_owned(),
            address_to: String::new(),
            command: "0".to_owned(),
            command_to: "7f".to_owned(),
            pace_s: "0,5 s".to_owned(),
        };
        assert_eq!(said(&good), []);
        assert_eq!(good.pace_ms(), Ok(500));
        let bad = SweepDraft {
            address: String::new(),
            command_to: "1FF".to_owned(),
            pace_s: "0.4".to_owned(),
            ..good.clone()
        };
        assert_eq!(
            said(&bad),
            [
                (SweepPlace::Address, "The address: There is no number. Type it in hex, like 59.".to_owned()),
                (
                    SweepPlace::Command,
                    "The last command is 1FF, and nec ends at FF. End the range there.".to_owned()
                ),
                (SweepPlace::Pace, "Type 0.5 to 10 s from one code to the next.".to_owned()),
            ]
        );
        let many = SweepDraft { address_to: "5B".to_owned(), ..good.clone() };
        let faults = many.faults();
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].place, SweepPlace::Whole);
        let instead = faults[0].instead.as_ref().map(|range| many.ranging(range)).unwrap();
        assert_eq!((instead.address_to.as_str(), instead.command_to.as_str()), ("5A", "7F"));
        assert_eq!(said(&instead), []);
        let unknown = SweepDraft { family: "morse".to_owned(), ..good };
        assert_eq!(
            unknown.faults().iter().map(|fault| fault.place).collect::<Vec<_>>(),
            [SweepPlace::Family]
        );
        for pace in ["", "nan", "inf", "1e9", "-1", "x"] {
            assert!(SweepDraft { pace_s: pace.to_owned(), ..unknown.clone() }.pace_ms().is_err(), "{pace}");
        }
    }

    #[test]
    fn a_sweep_is_typed_as_it_reads_back() {
        let range = SweepRange { family: FamilyId("nec16".to_owned()), addresses: (7, 9), commands: (3, 3) };
        let sweep = Sweep { range: range.clone(), pace_ms: 1_250, next: 2, marks: Vec::new() };
        let draft = SweepDraft::of(&sweep);
        assert_eq!((draft.address.as_str(), draft.command_to.as_str()), ("0007", ""));
        assert_eq!((draft.range(), draft.pace_ms()), (Ok(range), Ok(1_250)));
    }
}
