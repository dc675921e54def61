//! Codes of free families against a library made by others: `irp` (MIT) lays out frames from IRP
//! notation, written here from each family's parameters. It shares no code with this project.

use irp::{Irp, Vartable};
use proptest::prelude::*;
use spokewire::remote::{Code, FreeFamily, FreeRepeat, encode};

/// A family in IRP notation, `D` the address, `F` the command; the gap after the frame is left to the
/// repeat.
fn notation(free: &FreeFamily) -> String {
    let us = |(mark, space): (f64, f64)| format!("{mark}u,-{space}u");
    let (a, c) = (free.address_bits, free.command_bits);
    let mut parts: Vec<String> = free.leader_us.map(us).into_iter().collect();
    if a > 0 {
        parts.push(format!("D:{a}"));
        parts.extend(free.address_inverse.then(|| format!("~D:{a}")));
    }
    parts.push(format!("F:{c}"));
    parts.extend(free.command_inverse.then(|| format!("~F:{c}")));
    parts.extend(free.stop_mark.then(|| format!("{}u", free.zero_us.0)));
    format!(
        "{{{}k{}}}<{}|{}>({},-300m)[D:0..{},F:0..{}]",
        free.carrier_khz,
        if free.high_first { ",msb" } else { "" },
        us(free.zero_us),
        us(free.one_us),
        parts.join(","),
        free.address_max(),
        free.command_max()
    )
}

/// Times in whole microseconds, since the library cuts to those.
fn free_family() -> impl Strategy<Value = FreeFamily> {
    let both =
        || (50_u32..3_000, 50_u32..3_000).prop_map(|(mark, space)| (f64::from(mark), f64::from(space)));
    let leader = proptest::option::of((500_u32..16_000, 500_u32..16_000));
    let bits = (0_u8..=16, 1_u8..=32, 20_u8..=100);
    (leader, both(), both(), any::<[bool; 4]>(), bits).prop_filter_map(
        "it can be sent",
        |(leader, zero_us, one_us, flags, (address_bits, command_bits, carrier_khz))| {
            let [stop_mark, high_first, address_inverse, command_inverse] = flags;
            let free = FreeFamily {
                leader_us: leader.map(|(mark, space)| (f64::from(mark), f64::from(space))),
                zero_us,
                one_us,
                stop_mark,
                high_first,
                address_bits,
                address_inverse,
                command_bits,
                command_inverse,
                repeat: FreeRepeat::Once,
                period_us: 0.0,
                carrier_khz,
            };
            free.check().is_ok().then_some(free)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_free_family_laid_out_from_its_notation_is_ours(free in free_family(), numbers in any::<[u32; 2]>()) {
        let (address, command) = (numbers[0] & free.address_max(), numbers[1] & free.command_max());
        let ours = encode(&Code::Free { free, address, command }, false).unwrap().pulses_us;
        let text = notation(&free);
        let irp = Irp::parse(&text).map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
        let mut given = Vartable::new();
        given.set("D".to_owned(), address.into());
        given.set("F".to_owned(), command.into());
        let mut theirs = irp.encode_raw(given, 0).map_err(TestCaseError::fail)?;
        theirs.remove_trailing_gap();
        let theirs: Vec<f64> = theirs.raw.iter().map(|us| f64::from(*us)).collect();
        prop_assert_eq!(ours, theirs, "{}", text);
    }
}

#[test]
fn a_known_family_said_as_a_free_one_is_the_family_s_own_frame() {
    // The NEC transmission protocol note prints address 00, command AD as 00FFB54A.
    let free = FreeFamily {
        address_bits: 8,
        address_inverse: true,
        repeat: FreeRepeat::ShortFrame,
        ..FreeFamily::default()
    };
    let nec = spokewire::remote::family("nec").unwrap().family_id();
    for (address, command) in [(0x00, 0xAD), (0x04, 0x08), (0x59, 0x16)] {
        let ours = encode(&Code::Free { free, address, command }, false).unwrap();
        let known = encode(&Code::Family { family: nec.clone(), address, command }, false).unwrap();
        assert_eq!(ours.pulses_us, known.pulses_us);
        assert_eq!(ours.repeat.pulses_us, known.repeat.pulses_us);
        assert_eq!(ours.repeat.period_us, known.repeat.period_us);
    }
}
