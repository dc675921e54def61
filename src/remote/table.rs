//! The family table: one row a family, with where its figures come from. A row alone makes a
//! family encode, decode, describe itself and show on the command line; list it only with its
//! published frames in `tests/codes.rs`.

use super::family::{BitOrder, Family, FieldSpec, Holds, Modulation, PERIOD_SLACK, RepeatKind, SLACK};

const fn field(label: &'static str, width: u8, holds: Holds) -> FieldSpec {
    FieldSpec { label, width, stretch: 1, holds }
}

/// How far the period may be off where it is from memory.
const FROM_MEMORY: f64 = 0.35;

/// The pulse-distance bit that most families share: a mark of one unit, then one or three.
const ONE_OR_THREE: Modulation = Modulation::PulseDistance { mark: 1.0, zero_space: 1.0, one_space: 3.0 };

/// A row's figures for NEC timing: unit, leader, bits, stop mark and repeat frame as in the NEC
/// transmission protocol note and the µPD6121 data sheet (U10114EJ6V0DS00); 38 kHz is 455 kHz / 12.
const NEC: Family = Family {
    id: "nec",
    about: "pulse distance, 8-bit address and command, each sent with its inverse",
    carrier_hz: 38_000,
    unit_us: 562.5,
    leader_units: Some((16.0, 8.0)),
    modulation: ONE_OR_THREE,
    order: BitOrder::LowFirst,
    fields: &[
        field("address", 8, Holds::Address(0)),
        field("its inverse", 8, Holds::AddressInverse(0)),
        field("command", 8, Holds::Command(0)),
        field("its inverse", 8, Holds::CommandInverse(0)),
    ],
    stop_mark: true,
    repeat: RepeatKind::ShortFrame { mark: 16.0, space: 4.0 },
    repeat_period_us: 108_000.0,
    period_slack: PERIOD_SLACK,
    slack: SLACK,
};

/// Pulse-width timing shared by the three lengths, from the SIRC note and the kernel's 600 µs decoder;
/// 45 ms from frame to frame in the same note.
const SIRC12: Family = Family {
    id: "sirc12",
    about: "pulse width, 7-bit command, 5-bit address",
    carrier_hz: 40_000,
    unit_us: 600.0,
    leader_units: Some((4.0, 1.0)),
    modulation: Modulation::PulseWidth { zero_mark: 1.0, one_mark: 2.0, space: 1.0 },
    order: BitOrder::LowFirst,
    fields: &[field("command", 7, Holds::Command(0)), field("address", 5, Holds::Address(0))],
    stop_mark: false,
    repeat: RepeatKind::WholeFrame,
    repeat_period_us: 45_000.0,
    period_slack: PERIOD_SLACK,
    slack: SLACK,
};

/// Families in the order they are tried: where two explain a frame, the one with more checks first.
pub(super) static TABLE: &[Family] = &[
    NEC,
    // The 16-bit address goes low byte first (Linux kernel, rc-protos.rst).
    Family {
        id: "nec16",
        about: "pulse distance, 16-bit address, 8-bit command sent with its inverse",
        fields: &[
            field("address", 16, Holds::Address(0)),
            field("command", 8, Holds::Command(0)),
            field("its inverse", 8, Holds::CommandInverse(0)),
        ],
        ..NEC
    },
    // SAA3010 data sheet (URT-0421): half a bit is 32 cycles of 36 kHz, a frame every 64 bits. The
    // second bit was a start bit first and carries the inverse of command bit 6 since (rc-protos.rst).
    Family {
        id: "rc5",
        about: "bi-phase, 5-bit address, 7-bit command, toggle bit",
        carrier_hz: 36_000,
        unit_us: 889.0,
        leader_units: None,
        modulation: Modulation::BiPhase { one_opens_with_mark: false },
        order: BitOrder::HighFirst,
        fields: &[
            field("start", 1, Holds::Fixed(1)),
            field("field bit", 1, Holds::CommandInverse(6)),
            field("toggle", 1, Holds::Toggle),
            field("address", 5, Holds::Address(0)),
            field("command", 6, Holds::Command(0)),
        ],
        stop_mark: false,
        repeat: RepeatKind::WholeFrame,
        repeat_period_us: 113_778.0,
        period_slack: PERIOD_SLACK,
        slack: SLACK,
    },
    // RC-6 note and the kernel's decoder: the unit is 16 cycles of 36 kHz, the toggle bit is twice as
    // long. The note asks for 100 ms or more from frame to frame; 240 units is from memory.
    Family {
        id: "rc6",
        about: "bi-phase, mode 0, 8-bit address and command, toggle bit",
        carrier_hz: 36_000,
        unit_us: 16e6 / 36e3,
        leader_units: Some((6.0, 2.0)),
        modulation: Modulation::BiPhase { one_opens_with_mark: true },
        order: BitOrder::HighFirst,
        fields: &[
            field("start", 1, Holds::Fixed(1)),
            field("mode", 3, Holds::Fixed(0)),
            FieldSpec { label: "toggle", width: 1, stretch: 2, holds: Holds::Toggle },
            field("address", 8, Holds::Address(0)),
            field("command", 8, Holds::Command(0)),
        ],
        stop_mark: false,
        repeat: RepeatKind::WholeFrame,
        repeat_period_us: 240.0 * 16e6 / 36e3,
        period_slack: FROM_MEMORY,
        slack: SLACK,
    },
    SIRC12,
    Family {
        id: "sirc15",
        about: "pulse width, 7-bit command, 8-bit address",
        fields: &[field("command", 7, Holds::Command(0)), field("address", 8, Holds::Address(0))],
        ..SIRC12
    },
    Family {
        id: "sirc20",
        about: "pulse width, 7-bit command, 5-bit address, extended byte",
        fields: &[
            field("command", 7, Holds::Command(0)),
            field("address", 5, Holds::Address(0)),
            field("extended", 8, Holds::Address(5)),
        ],
        ..SIRC12
    },
    // AEHA format notes: T is 350 to 500 µs, 425 as a rule, so a duration may be a fifth off before
    // any jitter. Parity rule from memory of the AEHA booklet; 130 ms from frame to frame from memory.
    Family {
        id: "aeha",
        about: "pulse distance, 48 bits: 2 bytes of address, 4 of command",
        carrier_hz: 38_000,
        unit_us: 425.0,
        leader_units: Some((8.0, 4.0)),
        modulation: ONE_OR_THREE,
        order: BitOrder::LowFirst,
        fields: &[
            field("address", 16, Holds::Address(0)),
            field("parity", 4, Holds::CommandParity(0)),
            field("command", 28, Holds::Command(4)),
        ],
        stop_mark: true,
        repeat: RepeatKind::WholeFrame,
        repeat_period_us: 130_000.0,
        period_slack: FROM_MEMORY,
        slack: 0.33,
    },
    // The kernel's 16-bit decoder of 525 µs: 16 and 8 units of leader, repeats without it. From
    // memory: every 46 to 60 ms while held; the longer, which leaves a gap after the longest frame.
    Family {
        id: "pd16",
        about: "pulse distance, 8-bit address and command, leader sent only once",
        carrier_hz: 38_000,
        unit_us: 525.0,
        leader_units: Some((16.0, 8.0)),
        modulation: ONE_OR_THREE,
        order: BitOrder::LowFirst,
        fields: &[field("address", 8, Holds::Address(0)), field("command", 8, Holds::Command(0))],
        stop_mark: true,
        repeat: RepeatKind::WithoutLeader,
        repeat_period_us: 60_000.0,
        period_slack: FROM_MEMORY,
        slack: SLACK,
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Which bits of the address and command the fields carry.
    fn carried(family: &Family) -> (u32, u32) {
        (family.address_max(), family.command_max())
    }

    #[test]
    fn every_row_is_whole() {
        for family in TABLE {
            let (address, command) = carried(family);
            assert_eq!(address & address.wrapping_add(1), 0, "{}: a hole in the address", family.id);
            assert_eq!(command & command.wrapping_add(1), 0, "{}: a hole in the command", family.id);
            for field in family.fields {
                assert!((1..=32).contains(&field.width), "{}: {}", family.id, field.label);
                assert!((1..=2).contains(&field.stretch), "{}: {}", family.id, field.label);
            }
            let alike = TABLE.iter().filter(|other| other.id == family.id).count();
            assert_eq!(alike, 1, "{} is listed twice", family.id);
        }
    }

    #[test]
    fn a_bi_phase_frame_opens_with_a_bit_that_is_always_the_same() {
        for family in TABLE {
            if matches!(family.modulation, Modulation::BiPhase { .. }) {
                assert!(matches!(family.fields[0].holds, Holds::Fixed(_)), "{}", family.id);
                assert_eq!(family.fields[0].width, 1, "{}", family.id);
            }
        }
    }
}
