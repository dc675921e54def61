//! A free family being typed: its parameters as text, and what is wrong with each. Knows no screen.

use crate::remote::{FREE_ADDRESS_BITS_MAX, FREE_COMMAND_BITS_MAX, FreeFamily, FreePart, FreeRepeat};

/// A free family being typed: times in microseconds, the period in milliseconds, the carrier in
/// kilohertz.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FreeDraft {
    /// Whether a frame opens with a leader.
    pub leader: bool,
    /// The leader's mark.
    pub leader_mark: String,
    /// The leader's space.
    pub leader_space: String,
    /// The mark of a 0.
    pub zero_mark: String,
    /// The space of a 0.
    pub zero_space: String,
    /// The mark of a 1.
    pub one_mark: String,
    /// The space of a 1.
    pub one_space: String,
    /// Whether a mark closes the last bit.
    pub stop_mark: bool,
    /// Whether the most significant bit of a field is sent first.
    pub high_first: bool,
    /// Bits of the address.
    pub address_bits: String,
    /// Whether the address is followed by its inverse.
    pub address_inverse: bool,
    /// Bits of the command.
    pub command_bits: String,
    /// Whether the command is followed by its inverse.
    pub command_inverse: bool,
    /// What is sent while held.
    pub repeat: FreeRepeat,
    /// From frame to frame while held.
    pub period_ms: String,
    /// The infrared LED's carrier.
    pub carrier_khz: String,
}

/// A parameter that can't be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FreeFault {
    /// Which.
    pub part: FreePart,
    /// What is wrong and what to do.
    pub what: String,
}

impl Default for FreeDraft {
    fn default() -> Self {
        Self::of(&FreeFamily::default())
    }
}

impl FreeDraft {
    /// A family, to be changed.
    #[must_use]
    pub fn of(free: &FreeFamily) -> Self {
        let usual = FreeFamily::default().leader_us.unwrap_or_default();
        // A leader switched on begins with the usual one.
        let leader = free.leader_us.unwrap_or(usual);
        Self {
            leader: free.leader_us.is_some(),
            leader_mark: leader.0.to_string(),
            leader_space: leader.1.to_string(),
            zero_mark: free.zero_us.0.to_string(),
            zero_space: free.zero_us.1.to_string(),
            one_mark: free.one_us.0.to_string(),
            one_space: free.one_us.1.to_string(),
            stop_mark: free.stop_mark,
            high_first: free.high_first,
            address_bits: free.address_bits.to_string(),
            address_inverse: free.address_inverse,
            command_bits: free.command_bits.to_string(),
            command_inverse: free.command_inverse,
            repeat: free.repeat,
            period_ms: (free.period_us / 1e3).to_string(),
            carrier_khz: free.carrier_khz.to_string(),
        }
    }

    /// The family as typed.
    ///
    /// # Errors
    /// Every parameter that can't be read; where all can, the first that can't be sent.
    pub fn family(&self) -> Result<FreeFamily, Vec<FreeFault>> {
        let mut faults = Vec::new();
        let free = self.read(&mut faults);
        if faults.is_empty() {
            faults.extend(
                free.check().err().map(|error| FreeFault { part: error.part(), what: error.to_string() }),
            );
        }
        if faults.is_empty() { Ok(free) } else { Err(faults) }
    }

    /// What can be drawn of it: its frame, sent once, where only what follows the frame is wrong.
    #[must_use]
    pub fn frame_alone(&self) -> Option<FreeFamily> {
        let mut faults = Vec::new();
        let free = self.read(&mut faults);
        let usual = FreeFamily::default();
        let free = FreeFamily { repeat: FreeRepeat::Once, carrier_khz: usual.carrier_khz, ..free };
        let beside = [FreePart::Repeat, FreePart::Period, FreePart::Carrier];
        (faults.iter().all(|fault| beside.contains(&fault.part)) && free.check().is_ok()).then_some(free)
    }

    /// The parameters, as far as they can be read.
    fn read(&self, faults: &mut Vec<FreeFault>) -> FreeFamily {
        let mut us = |part, what: &str, typed: &str| {
            let typed = typed.trim();
            number(typed, &["µs", "us"]).unwrap_or_else(|| {
                let what = match typed {
                    "" => format!("The {what} is missing. Type microseconds, like 562.5."),
                    _ => format!("The {what}, {typed:?}, is no time. Type microseconds, like 562.5."),
                };
                faults.push(FreeFault { part, what });
                f64::NAN
            })
        };
        let mut both =
            |part, of: [&str; 2], mark: &str, space: &str| (us(part, of[0], mark), us(part, of[1], space));
        let leader_us = self.leader.then(|| {
            let of = ["leader's mark", "leader's space"];
            both(FreePart::Leader, of, &self.leader_mark, &self.leader_space)
        });
        let zero_us =
            both(FreePart::Zero, ["mark of a 0", "space of a 0"], &self.zero_mark, &self.zero_space);
        let one_us = both(FreePart::One, ["mark of a 1", "space of a 1"], &self.one_mark, &self.one_space);
        let mut whole = |part, typed: &str, what: &str| {
            typed.trim().parse::<u8>().unwrap_or_else(|_| {
                faults.push(FreeFault { part, what: format!("{:?} is no {what}.", typed.trim()) });
                0
            })
        };
        let address_bits = whole(
            FreePart::AddressBits,
            &self.address_bits,
            &format!("number of address bits. Type 0 to {FREE_ADDRESS_BITS_MAX}; 0 for none"),
        );
        let command_bits = whole(
            FreePart::CommandBits,
            &self.command_bits,
            &format!("number of command bits. Type 1 to {FREE_COMMAND_BITS_MAX}"),
        );
        let carrier_khz = whole(
            FreePart::Carrier,
            &self.carrier_khz,
            "carrier. Type whole kilohertz, 20 to 100; 38 is usual",
        );
        let period_us = if self.repeat == FreeRepeat::Once {
            // Not asked for.
            FreeFamily::default().period_us
        } else {
            let typed = self.period_ms.trim();
            number(typed, &["ms"]).map_or_else(
                || {
                    let what =
                        format!("{typed:?} is no time from frame to frame. Type milliseconds, like 108.");
                    faults.push(FreeFault { part: FreePart::Period, what });
                    f64::NAN
                },
                |ms| ms * 1e3,
            )
        };
        FreeFamily {
            leader_us,
            zero_us,
            one_us,
            stop_mark: self.stop_mark,
            high_first: self.high_first,
            address_bits,
            address_inverse: self.address_inverse,
            command_bits,
            command_inverse: self.command_inverse,
            repeat: self.repeat,
            period_us,
            carrier_khz,
        }
    }
}

/// A number with a point or a comma, and its unit behind it or not.
fn number(typed: &str, units: &[&str]) -> Option<f64> {
    let bare = units.iter().find_map(|unit| typed.strip_suffix(unit)).unwrap_or(typed);
    bare.trim().replace(',', ".").parse::<f64>().ok().filter(|number| number.is_finite())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::project::samples::any_free;

    #[test]
    fn every_parameter_that_cannot_be_read_is_told_at_its_part() {
        let draft = FreeDraft {
            zero_mark: String::new(),
            one_space: "long".to_owned(),
            address_bits: "-1".to_owned(),
            command_bits: "many".to_owned(),
            period_ms: "1e999".to_owned(),
            carrier_khz: "37.9".to_owned(),
            ..FreeDraft::default()
        };
        let faults = draft.family().unwrap_err();
        let parts: Vec<_> = faults.iter().map(|fault| fault.part).collect();
        let wanted = [
            FreePart::Zero,
            FreePart::One,
            FreePart::AddressBits,
            FreePart::CommandBits,
            FreePart::Carrier,
            FreePart::Period,
        ];
        assert_eq!(parts, wanted);
        assert_eq!(faults[0].what, "The mark of a 0 is missing. Type microseconds, like 562.5.");
        assert_eq!(faults[1].what, "The space of a 1, \"long\", is no time. Type microseconds, like 562.5.");
        assert_eq!(faults[2].what, "\"-1\" is no number of address bits. Type 0 to 16; 0 for none.");
        assert_eq!(faults[4].what, "\"37.9\" is no carrier. Type whole kilohertz, 20 to 100; 38 is usual.");
        assert_eq!(draft.frame_alone(), None);
    }

    #[test]
    fn what_can_be_read_and_not_sent_is_told_by_the_family_itself() {
        let draft = FreeDraft { zero_space: "20".to_owned(), ..FreeDraft::default() };
        let faults = draft.family().unwrap_err();
        assert_eq!((faults[0].part, faults.len()), (FreePart::Zero, 1));
        assert!(faults[0].what.starts_with("The space of a 0 is 20 µs"));
        let draft =
            FreeDraft { period_ms: "60".to_owned(), carrier_khz: "5".to_owned(), ..FreeDraft::default() };
        assert_eq!(draft.family().unwrap_err()[0].part, FreePart::Carrier);
        assert_eq!(draft.frame_alone().map(|free| free.repeat), Some(FreeRepeat::Once));
    }

    #[test]
    fn commas_and_units_are_read() {
        let draft = FreeDraft {
            zero_mark: " 562,5 ".to_owned(),
            zero_space: "562.5 µs".to_owned(),
            one_mark: "562.5us".to_owned(),
            period_ms: "108 ms".to_owned(),
            ..FreeDraft::default()
        };
        assert_eq!(draft.family(), Ok(FreeFamily::default()));
    }

    #[test]
    fn a_frame_sent_once_needs_no_period() {
        let draft = FreeDraft { repeat: FreeRepeat::Once, period_ms: "x".to_owned(), ..FreeDraft::default() };
        assert_eq!(draft.family(), Ok(FreeFamily { repeat: FreeRepeat::Once, ..FreeFamily::default() }));
    }

    proptest! {
        #[test]
        fn a_family_as_text_reads_back_as_it_was((free, _, _) in any_free()) {
            let read = FreeDraft::of(&free).family().unwrap();
            let period_us = if free.repeat == FreeRepeat::Once { read.period_us } else { free.period_us };
            prop_assert!((read.period_us - period_us).abs() < 1e-6);
            prop_assert_eq!(FreeFamily { period_us, ..read }, FreeFamily { period_us, ..free });
        }
    }
}
