//! Which codes a sweep tries, one after the other, and how long that takes at most. Sends nothing and
//! knows no clock.

use serde::{Deserialize, Serialize};

use super::code::{Code, FamilyId};
use super::family::{Family, families, family};

/// The most codes of one run.
pub const SWEEP_MAX: u32 = 256;

/// The candidates of a sweep: every command of every address, addresses outermost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SweepRange {
    /// The family of all of them.
    pub family: FamilyId,
    /// The first address and the last, both tried.
    pub addresses: (u32, u32),
    /// The first command and the last, both tried.
    pub commands: (u32, u32),
}

/// Why a range can't be swept.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SweepError {
    /// No family of the table.
    #[error("\"{given}\" is no family that can be swept. Choose one of {}.", ids())]
    Family {
        /// What was given instead.
        given: String,
    },
    /// A range that ends before it begins.
    #[error("The first {what} is {first} and the last {last}. Exchange them.")]
    Reversed {
        /// The address or the command.
        what: Part,
        /// The first, in hex.
        first: String,
        /// The last, in hex.
        last: String,
    },
    /// A number that the family has no room for.
    #[error("The last {what} is {given}, and {family} ends at {most}. End the range there.")]
    Beyond {
        /// The address or the command.
        what: Part,
        /// The last, in hex.
        given: String,
        /// The family's id.
        family: &'static str,
        /// The highest it carries, in hex.
        most: String,
    },
    /// More codes than one run takes.
    #[error(
        "These are {codes} codes, {} more than the {SWEEP_MAX} of one run. Begin with {}; {runs} runs hold them all.",
        codes - u64::from(SWEEP_MAX), words(first)
    )]
    TooMany {
        /// How many.
        codes: u64,
        /// How many runs they take.
        runs: u64,
        /// The first of these runs.
        first: Box<SweepRange>,
    },
}

/// The half of a range that an error is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The addresses.
    Address,
    /// The commands.
    Command,
}

impl std::fmt::Display for Part {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Address => "address",
            Self::Command => "command",
        })
    }
}

impl SweepRange {
    /// How many candidates there are, if they can be swept in one run.
    ///
    /// # Errors
    /// [`SweepError`]: a family that isn't in the table, a range that is reversed or leaves the
    /// family's, or more than [`SWEEP_MAX`] candidates.
    pub fn check(&self) -> Result<u32, SweepError> {
        let family =
            family(&self.family).ok_or_else(|| SweepError::Family { given: self.family.0.clone() })?;
        for (what, (first, last), most, digits) in [
            (Part::Address, self.addresses, family.address_max(), family.address_digits()),
            (Part::Command, self.commands, family.command_max(), family.command_digits()),
        ] {
            let hex = |number: u32| format!("{number:0digits$X}");
            if last > most {
                return Err(SweepError::Beyond {
                    what,
                    given: hex(last),
                    family: family.id,
                    most: hex(most),
                });
            }
            if first > last {
                return Err(SweepError::Reversed { what, first: hex(first), last: hex(last) });
            }
        }
        let codes = self.len();
        match u32::try_from(codes) {
            Ok(codes) if codes <= SWEEP_MAX => Ok(codes),
            _ => {
                let (first, runs) = self.first_run();
                Err(SweepError::TooMany { codes, runs, first: Box::new(first) })
            }
        }
    }

    /// How many candidates there are, however many; none in a range that is reversed.
    #[must_use]
    pub fn len(&self) -> u64 {
        width(self.addresses).saturating_mul(width(self.commands))
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The longest that sending all of them takes, in milliseconds, when one follows the other every
    /// `pace_ms` and nobody pauses.
    #[must_use]
    pub fn at_most_ms(&self, pace_ms: u16) -> u64 {
        self.len().saturating_mul(u64::from(pace_ms))
    }

    /// The candidate with this number, from 0; `None` beyond the last.
    #[must_use]
    pub fn code(&self, at: u32) -> Option<Code> {
        let (at, wide) = (u64::from(at), width(self.commands));
        let address = u64::from(self.addresses.0) + at.checked_div(wide)?;
        let command = u64::from(self.commands.0) + at.checked_rem(wide)?;
        let (address, command) = (u32::try_from(address).ok()?, u32::try_from(command).ok()?);
        (address <= self.addresses.1).then(|| Code::Family { family: self.family.clone(), address, command })
    }

    /// As much of the range, from its beginning, as one run takes, and how many such runs hold all of
    /// it: whole addresses where they fit, else a part of the first address's commands.
    fn first_run(&self) -> (Self, u64) {
        let (addresses, commands) = (width(self.addresses), width(self.commands));
        let most = u64::from(SWEEP_MAX);
        let first = self.addresses.0;
        if commands <= most {
            let together = (most / commands.max(1)).min(addresses);
            // The cast is safe: 256 at most.
            let last = first.saturating_add(together as u32).saturating_sub(1);
            (Self { addresses: (first, last), ..self.clone() }, addresses.div_ceil(together.max(1)))
        } else {
            let commands_there = (self.commands.0, self.commands.0.saturating_add(SWEEP_MAX - 1));
            let one = Self { addresses: (first, first), commands: commands_there, ..self.clone() };
            (one, addresses.saturating_mul(commands.div_ceil(most)))
        }
    }
}

/// How many numbers a range holds.
fn width((first, last): (u32, u32)) -> u64 {
    last.checked_sub(first).map_or(0, |more| u64::from(more) + 1)
}

/// The range in words: `address 59, commands 00 to 7F`.
fn words(range: &SweepRange) -> String {
    let digits = |of: fn(&Family) -> usize| family(&range.family).map_or(2, of);
    let part = |one: &str, many: &str, (first, last): (u32, u32), digits: usize| {
        if first == last {
            format!("{one} {first:0digits$X}")
        } else {
            format!("{many} {first:0digits$X} to {last:0digits$X}")
        }
    };
    let addresses = part("address", "addresses", range.addresses, digits(Family::address_digits));
    let commands = part("command", "commands", range.commands, digits(Family::command_digits));
    format!("{addresses}, {commands}")
}

impl std::fmt::Display for SweepRange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&words(self))
    }
}

fn ids() -> String {
    families().iter().map(|family| family.id).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::remote::encode;

    fn range(family: &str, addresses: (u32, u32), commands: (u32, u32)) -> SweepRange {
        SweepRange { family: FamilyId(family.to_owned()), addresses, commands }
    }

    fn said(range: &SweepRange) -> String {
        range.check().unwrap_err().to_string()
    }

    #[test]
    fn what_can_not_be_swept_says_why_and_what_to_do() {
        assert_eq!(
            said(&range("morse", (0, 0), (0, 0))),
            "\"morse\" is no family that can be swept. Choose one of nec, nec16, rc5, rc6, sirc12, sirc15, sirc20, aeha, pd16."
        );
        assert_eq!(
            said(&range("nec", (0x20, 0x10), (0, 1))),
            "The first address is 20 and the last 10. Exchange them."
        );
        assert_eq!(
            said(&range("nec", (0, 0), (0x80, 0x7F))),
            "The first command is 80 and the last 7F. Exchange them."
        );
        assert_eq!(
            said(&range("rc5", (0, 0x20), (0, 0))),
            "The last address is 20, and rc5 ends at 1F. End the range there."
        );
        assert_eq!(
            said(&range("rc5", (0, 0), (0, 0x80))),
            "The last command is 80, and rc5 ends at 7F. End the range there."
        );
    }

    #[test]
    fn too_many_codes_for_one_run_say_how_to_split_them() {
        assert_eq!(range("nec", (0x59, 0x59), (0, 0xFF)).check(), Ok(256));
        assert_eq!(
            said(&range("nec", (0, 2), (0, 0x7F))),
            "These are 384 codes, 128 more than the 256 of one run. Begin with addresses 00 to 01, commands 00 to 7F; 2 runs hold them all."
        );
        assert_eq!(
            said(&range("nec", (0, 1), (0, 0xFF))),
            "These are 512 codes, 256 more than the 256 of one run. Begin with address 00, commands 00 to FF; 2 runs hold them all."
        );
        assert_eq!(
            said(&range("aeha", (0x2002, 0x2002), (0, 0x3FF))),
            "These are 1024 codes, 768 more than the 256 of one run. Begin with address 2002, commands 00000000 to 000000FF; 4 runs hold them all."
        );
        let all = range("aeha", (0, 0xFFFF), (0, u32::MAX));
        assert_eq!(all.len(), 1 << 48);
        let Err(SweepError::TooMany { codes, runs, first }) = all.check() else { panic!("too many") };
        assert_eq!((codes, runs, first.check()), (1 << 48, 1 << 40, Ok(256)));
        assert_eq!(all.code(0), first.code(0), "as many commands as numbers are no fewer than one");
    }

    #[test]
    fn the_longest_time_is_a_pace_for_each_code() {
        let range = range("nec", (0x59, 0x59), (0, 0x7F));
        assert_eq!(range.check(), Ok(128));
        assert_eq!(range.at_most_ms(1_000), 128_000);
        assert_eq!(range.to_string(), "address 59, commands 00 to 7F");
    }

    /// Any range of any family, good or not, small ones often among them.
    fn any_range() -> impl Strategy<Value = SweepRange> {
        let number = |max: u32| prop_oneof![0..=max, Just(0), Just(max), Just(max.saturating_add(1))];
        (0..families().len()).prop_flat_map(move |at| {
            let family = &families()[at];
            let (address, command) = (family.address_max(), family.command_max());
            let wide = |last: u32| prop_oneof![0..=20_u32, Just(last)];
            (number(address), wide(address), number(command), wide(command)).prop_map(
                move |(from, addresses, first, commands)| {
                    let to = (from, from.saturating_add(addresses));
                    range(family.id, to, (first, first.saturating_add(commands)))
                },
            )
        })
    }

    proptest! {
        #[test]
        fn every_candidate_can_be_sent_comes_once_and_in_order(range in any_range()) {
            let Ok(codes) = range.check() else { return Ok(()) };
            prop_assert!((1..=SWEEP_MAX).contains(&codes));
            let mut before = None;
            for at in 0..codes {
                let Some(code) = range.code(at) else { panic!("{at} of {codes}") };
                prop_assert!(encode(&code, false).is_ok(), "{code:?}");
                let Code::Family { family, address, command } = code else { panic!("no family's") };
                prop_assert_eq!(&family, &range.family);
                prop_assert!((range.addresses.0..=range.addresses.1).contains(&address));
                prop_assert!((range.commands.0..=range.commands.1).contains(&command));
                // Rising strictly, so each comes once; as many as the range holds, so none is left out.
                prop_assert!(before < Some((address, command)));
                before = Some((address, command));
            }
            prop_assert_eq!(before, Some((range.addresses.1, range.commands.1)));
            prop_assert_eq!(range.code(codes), None);
            prop_assert_eq!(u64::from(codes), range.len());
        }

        #[test]
        fn the_first_run_of_too_many_is_one_that_can_be_swept(range in any_range()) {
            let Err(SweepError::TooMany { codes, runs, first }) = range.check() else { return Ok(()) };
            let there = first.check();
            prop_assert!(there.is_ok(), "{first}: {there:?}");
            prop_assert_eq!(first.code(0), range.code(0));
            prop_assert!(codes > u64::from(SWEEP_MAX) && runs >= codes.div_ceil(u64::from(SWEEP_MAX)));
        }

        #[test]
        fn no_range_at_all_makes_it_panic(addresses: (u32, u32), commands: (u32, u32), at: u32, pace: u16) {
            for family in ["nec", "aeha", "pd16", "", "Σ"] {
                let range = range(family, addresses, commands);
                let _: (Result<u32, SweepError>, u64) = (range.check(), range.at_most_ms(pace));
                let _: Option<Code> = range.code(at);
                let _: String = format!("{range} {:?}", range.check().map_err(|error| error.to_string()));
            }
        }
    }
}
