//! Codes in words. Knows no screen.

use std::fmt;

use super::code::Code;
use super::decode::Decoded;
use super::family::{Family, family};

/// A code in one line: `nec address 59 command 16`, numbers in hex; `raw, 67 timings, 67.5 ms`.
#[must_use]
pub fn describe(code: &Code) -> String {
    match code {
        Code::Family { family: id, address, command } => match family(id) {
            Some(family) => numbers(family, *address, *command),
            None => format!("{} address {address:02X} command {command:02X}, family unknown", id.0),
        },
        Code::Free { free, address, command } => {
            let digits = |bits: u8| usize::from(bits).div_ceil(8).max(1) * 2;
            let (wide, deep) = (digits(free.address_bits), digits(free.command_bits));
            match free.address_bits {
                0 => format!("free family command {command:0deep$X}"),
                _ => format!("free family address {address:0wide$X} command {command:0deep$X}"),
            }
        }
        Code::Raw { pulses_us, .. } => {
            let total_ms = pulses_us.iter().sum::<f64>() / 1e3;
            format!("raw, {} timings, {total_ms:.1} ms", pulses_us.len())
        }
    }
}

/// In one line: `nec address 59 command 16`, `rc5 address 05 command 35 toggle 1`, `nec repeat frame`.
impl fmt::Display for Decoded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.address, self.command) {
            (Some(address), Some(command)) => f.write_str(&numbers(self.family, address, command))?,
            _ => f.write_str(self.family.id)?,
        }
        if let Some(toggle) = self.toggle {
            write!(f, " toggle {}", u8::from(toggle))?;
        }
        if self.repeat { f.write_str(" repeat frame") } else { Ok(()) }
    }
}

fn numbers(family: &Family, address: u32, command: u32) -> String {
    let (wide, deep) = (family.address_digits(), family.command_digits());
    format!("{} address {address:0wide$X} command {command:0deep$X}", family.id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remote::FamilyId;

    #[test]
    fn a_code_is_one_line_with_its_numbers_in_whole_bytes_of_hex() {
        let coded = |id: &str, address, command| {
            describe(&Code::Family { family: FamilyId(id.to_owned()), address, command })
        };
        assert_eq!(coded("nec", 0x59, 0x16), "nec address 59 command 16");
        assert_eq!(coded("nec16", 0x59, 0xC), "nec16 address 0059 command 0C");
        assert_eq!(coded("other", 0x59, 0xC), "other address 59 command 0C, family unknown");
        let raw = Code::Raw { pulses_us: vec![9000.0, 2250.0, 562.5], repeat_us: None };
        assert_eq!(describe(&raw), "raw, 3 timings, 11.8 ms");
    }
}
