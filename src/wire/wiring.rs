//! How the box is wired, pin by pin: the one table that the Box station, the firmware's README and the
//! build sheet show. Knows no values of a project.

/// One pin of the box, or a few that belong together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pin {
    /// As the firmware names it: `PC0, ADC0`.
    pub port: &'static str,
    /// Its number on the 28-pin package (ATmega328P datasheet 8161D, figure 1-1).
    pub number: &'static str,
    /// What most boards print beside it.
    pub printed: &'static str,
    /// What goes there.
    pub role: &'static str,
    /// The part between pin and wire.
    pub part: &'static str,
    /// Where the wire leads.
    pub wire: &'static str,
    /// Whether a box can do without it.
    pub optional: bool,
}

/// Every pin that is used, inputs first.
pub const PINS: [Pin; 12] = [
    Pin {
        port: "PC0, ADC0",
        number: "23",
        printed: "A0",
        role: "Sense wire 1",
        part: "10 kΩ in series, 10 nF to ground, Schottky diodes to 5 V and ground; the sense resistor \
               stands on the wire's side",
        wire: "The wheel's wire, met at the stereo's connector",
        optional: false,
    },
    Pin {
        port: "PC1, ADC1",
        number: "24",
        printed: "A1",
        role: "Sense wire 2",
        part: "As for wire 1, with a sense resistor of its own",
        wire: "The wheel's second wire",
        optional: true,
    },
    Pin {
        port: "PC2, ADC2",
        number: "25",
        printed: "A2",
        role: "Feed monitor",
        part: "A divider that keeps 5.5 V below the reference",
        wire: "The ladder's feed; only where the reference isn't the supply, or a factory module feeds it",
        optional: true,
    },
    Pin {
        port: "PB0, ICP1",
        number: "14",
        printed: "8",
        role: "Infrared receiver",
        part: "A receiver that gives the envelope, low while it sees light",
        wire: "None: it stands in the box, seen from outside",
        optional: true,
    },
    Pin {
        port: "PB1, OC1A",
        number: "15",
        printed: "9",
        role: "Remote line",
        part: "4.7 kΩ to the base of a 2N3904, 47 kΩ from base to ground, emitter to ground",
        wire: "From the collector to the stereo's wired remote input; the stereo pulls it up",
        optional: false,
    },
    Pin {
        port: "PD3, OC2B",
        number: "5",
        printed: "3",
        role: "Infrared LED",
        part: "A transistor, and the LED with its resistor",
        wire: "None: it shines on the stereo's own window",
        optional: true,
    },
    Pin {
        port: "PB5",
        number: "19",
        printed: "13",
        role: "Status light",
        part: "An LED with 1 kΩ to ground; most boards have one there",
        wire: "None",
        optional: true,
    },
    Pin {
        port: "PD0, PD1",
        number: "2, 3",
        printed: "0, 1",
        role: "Laptop",
        part: "The board's own serial adapter; its DTR through 100 nF to RESET, pin 1",
        wire: "USB, while the box is set up",
        optional: false,
    },
    Pin {
        port: "AREF",
        number: "21",
        printed: "AREF",
        role: "Reference",
        part: "100 nF to ground, and nothing else while the reference is the supply",
        wire: "None, or the outside reference through its resistor",
        optional: false,
    },
    Pin {
        port: "AVCC",
        number: "20",
        printed: "5V",
        role: "Converter's supply",
        part: "10 µH from 5 V, 100 nF to ground",
        wire: "5 V",
        optional: false,
    },
    Pin {
        port: "VCC",
        number: "7",
        printed: "5V",
        role: "Supply",
        part: "Fuse at the source, reverse protection, suppressor, converter to 5 V, then a diode or the \
               board's own regulator input",
        wire: "Accessory supply, at the stereo's connector",
        optional: false,
    },
    Pin {
        port: "GND",
        number: "8, 22",
        printed: "GND",
        role: "Ground",
        part: "One point for everything",
        wire: "The stereo's ground, with the ladder's return",
        optional: false,
    },
];

/// The parts of the remote line, with their values: what [`PINS`] says of it in words.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RemoteLine {
    /// What its pin is called in the table.
    pub role: &'static str,
    /// What the pin drives, in volts: the board's supply.
    pub drive_v: f64,
    /// From the pin to the base, in ohms.
    pub base_ohm: f64,
    /// From base to ground, in ohms.
    pub base_pulldown_ohm: f64,
    /// From the collector to the stereo's input, in ohms: nothing but wire.
    pub series_ohm: f64,
    /// The transistor.
    pub device: &'static str,
}

/// The remote line as the box is wired.
pub const REMOTE_LINE: RemoteLine = RemoteLine {
    role: "Remote line",
    drive_v: 5.0,
    base_ohm: 4_700.0,
    base_pulldown_ohm: 47_000.0,
    series_ohm: 0.0,
    device: "2N3904",
};

/// What must be known where power meets the box.
pub const POWER_CAUTIONS: [&str; 3] = [
    "Two supplies on the 5 V rail fight each other. Put a diode between the converter and the rail, or \
     feed the board's own regulator input, before the laptop is plugged in.",
    "While the box hangs in the vehicle, run the laptop on its battery.",
    "Fuse the wire at its source. Leave the airbag's circuit alone: its wiring is no place for a meter.",
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn no_pin_is_given_away_twice() {
        let numbers: Vec<&str> = PINS.iter().flat_map(|pin| pin.number.split(", ")).collect();
        assert_eq!(numbers.iter().collect::<BTreeSet<_>>().len(), numbers.len());
    }

    /// ATmega328P datasheet 8161D, figure 1-1, 28 PDIP.
    #[test]
    fn each_port_stands_at_its_number_on_the_package() {
        let sheet = [
            ("PC0", "23"),
            ("PC1", "24"),
            ("PC2", "25"),
            ("PB0", "14"),
            ("PB1", "15"),
            ("PD3", "5"),
            ("PB5", "19"),
            ("PD0", "2"),
            ("AREF", "21"),
            ("AVCC", "20"),
            ("VCC", "7"),
            ("GND", "8"),
        ];
        assert_eq!(PINS.len(), sheet.len());
        for (pin, (port, number)) in PINS.iter().zip(sheet) {
            assert_eq!(pin.port.split(", ").next(), Some(port));
            assert_eq!(pin.number.split(", ").next(), Some(number), "{port}");
        }
    }

    #[test]
    fn the_remote_lines_values_are_the_tables() {
        let words: Vec<&str> =
            PINS.iter().filter(|pin| pin.role == REMOTE_LINE.role).map(|pin| pin.part).collect();
        let [part] = words.as_slice() else { panic!("{words:?}") };
        let RemoteLine { role: _, base_ohm, base_pulldown_ohm, series_ohm, device, drive_v } = REMOTE_LINE;
        assert!(part.starts_with(&format!("{} kΩ to the base of a {device}", base_ohm / 1e3)), "{part}");
        assert!(part.contains(&format!("{} kΩ from base to ground", base_pulldown_ohm / 1e3)), "{part}");
        // The table names no part between collector and wire.
        assert!(!part.contains("series") && series_ohm == 0.0 && drive_v == 5.0, "{part}");
    }

    #[test]
    fn every_pin_says_what_goes_there_and_where_the_wire_leads() {
        for pin in PINS {
            assert!([pin.role, pin.part, pin.wire, pin.printed].iter().all(|words| !words.is_empty()));
        }
    }
}
