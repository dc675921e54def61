//! The chip in words: its signature and its fuses. Knows no port.

/// Where brown-out resets the chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BrownOut {
    /// It does not.
    Off,
    /// At 1.8 V.
    At1V8,
    /// At 2.7 V.
    At2V7,
    /// At 4.3 V.
    At4V3,
    /// A value that the datasheet reserves.
    Reserved,
}

impl BrownOut {
    /// From the extended fuse byte, BODLEVEL in its lowest bits (ATmega328P datasheet 8161D, table 28-4).
    #[must_use]
    pub const fn of(extended: u8) -> Self {
        match extended & 7 {
            0b111 => Self::Off,
            0b110 => Self::At1V8,
            0b101 => Self::At2V7,
            0b100 => Self::At4V3,
            _ => Self::Reserved,
        }
    }

    /// Whether it protects a part that runs at 16 MHz: below 3.8 V that is out of its range (datasheet
    /// 8161D, section 28.3: from 10 MHz at 2.7 V in a straight line to 20 MHz at 4.5 V).
    #[must_use]
    pub const fn protects(self) -> bool {
        matches!(self, Self::At4V3)
    }

    /// The level: `4.3 V`, `off`.
    #[must_use]
    pub const fn level(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::At1V8 => "1.8 V",
            Self::At2V7 => "2.7 V",
            Self::At4V3 => "4.3 V",
            Self::Reserved => "unknown",
        }
    }
}

/// What the fuses say, low, high, extended and the lock bits: a name, a value, and what there is to
/// know about it, if anything. A fuse bit that is 0 is set (datasheet 8161D, section 27.2).
#[must_use]
pub fn fuse_words([low, high, extended, lock]: [u8; 4]) -> [(&'static str, &'static str, &'static str); 5] {
    let set = |byte: u8, bit: u8| byte & (1 << bit) == 0;
    let brown_out = BrownOut::of(extended);
    let not_enough = "A 16 MHz part needs 4.3 V. It is a fuse: set it with a programmer, the serial bootloader \
                      can't.";
    let clock = match low & 0x0F {
        0b0000 => ("from outside", ""),
        0b0010 => ("the chip's own 8 MHz", "The program counts on 16 MHz: codes would come at half speed."),
        0b0011 => ("the chip's own 128 kHz", "The program counts on 16 MHz: nothing would work."),
        0b0001 => ("unknown", "The datasheet reserves this value."),
        0b0100 | 0b0101 => ("a watch crystal", "The program counts on 16 MHz: nothing would work."),
        _ => ("a crystal or resonator", ""),
    };
    let clock = if set(low, 7) { ("divided by 8", "The program counts on 16 MHz undivided.") } else { clock };
    let memory = match set(high, 3) {
        true => ("kept", ""),
        false => ("lost", "Only a programmer erases the chip; the serial bootloader leaves the image alone."),
    };
    let lock = match lock & 3 {
        3 => ("open", ""),
        _ => ("locked", "A programmer can't read the program back."),
    };
    [
        ("Brown-out", brown_out.level(), if brown_out.protects() { "" } else { not_enough }),
        ("Clock", clock.0, clock.1),
        ("Starts in", if set(high, 0) { "the bootloader" } else { "the program" }, ""),
        ("Image over an erase", memory.0, memory.1),
        ("Lock", lock.0, lock.1),
    ]
}

/// The chip by its signature bytes (datasheet 8161D, table 27-10 for the ATmega328P).
#[must_use]
pub fn chip_name(signature: [u8; 3]) -> String {
    match signature {
        [0x1E, 0x95, 0x0F] => "ATmega328P".to_owned(),
        [0x1E, 0x95, 0x14] => "ATmega328".to_owned(),
        [0x1E, 0x95, 0x16] => "ATmega328PB".to_owned(),
        [a, b, c] => format!("unknown, {a:02X} {b:02X} {c:02X}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// BODLEVEL coding: ATmega328P datasheet 8161D, table 28-4.
    #[test]
    fn the_brown_out_level_is_in_the_lowest_bits_of_the_extended_fuse() {
        for (extended, level, protects) in [
            (0xFC, "4.3 V", true),
            (0xFD, "2.7 V", false),
            (0xFE, "1.8 V", false),
            (0xFF, "off", false),
            (0x04, "4.3 V", true),
            (0xF8, "unknown", false),
        ] {
            assert_eq!(
                (BrownOut::of(extended).level(), BrownOut::of(extended).protects()),
                (level, protects)
            );
        }
    }

    /// The fuses of a new part: low 62, high D9, extended FF (datasheet 8161D, tables 27-6 to 27-8).
    #[test]
    fn a_new_part_runs_divided_without_brown_out_and_says_so() {
        let [brown_out, clock, starts, memory, lock] = fuse_words([0x62, 0xD9, 0xFF, 0xFF]);
        assert_eq!((brown_out.1, clock.1, starts.1, lock.1), ("off", "divided by 8", "the program", "open"));
        assert!(brown_out.2.contains("4.3 V") && !clock.2.is_empty() && !memory.2.is_empty());
    }

    #[test]
    fn a_crystal_a_bootloader_and_brown_out_at_four_volts_leave_nothing_to_say() {
        let words = fuse_words([0xFF, 0xD6, 0xFC, 0xFF]);
        assert_eq!(words[2].1, "the bootloader");
        assert!(words.iter().all(|(_, _, note)| note.is_empty()), "{words:?}");
    }

    #[test]
    fn a_signature_nobody_knows_is_shown_as_it_is() {
        assert_eq!(chip_name([0x1E, 0x95, 0x0F]), "ATmega328P");
        assert_eq!(chip_name([0x1E, 0x93, 0x0B]), "unknown, 1E 93 0B");
    }
}
