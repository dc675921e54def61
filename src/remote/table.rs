//! The family table: one row a family, with where its figures come from. A row alone makes a
//! family encode, decode, describe itself and show on the command line; list it only with its
//! published frames in `tests/codes.rs`.

use super::family::{BitOrder, Family, FieldSpec, Holds, Modulation, RepeatKind, SLACK};

const fn field(label: &'static str, width: u8, holds: Holds) -> FieldSpec {
    FieldSpec { label, width, stretch: 1, holds }
}

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
