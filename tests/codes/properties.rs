//! What holds over the whole range of every family of the table.

use proptest::prelude::*;
use spokewire::remote::{Code, Family, RepeatKind, decode, encode, families, heard_as};

use super::{code, heard};

/// How far each timing is off, as a share of it: what has to decode.
pub(super) const JITTER: f64 = 0.15;

/// A code of any family, with its toggle bit.
pub(super) fn any_code() -> impl Strategy<Value = (&'static Family, Code, bool)> {
    let family = prop::sample::select(families().iter().collect::<Vec<_>>());
    family.prop_flat_map(|family| {
        let numbers = (0..=family.address_max(), 0..=family.command_max(), any::<bool>());
        numbers
            .prop_map(move |(address, command, toggle)| (family, code(family.id, address, command), toggle))
    })
}

/// A frame as a receiver gives it: marks longer and spaces shorter, all of them a little off.
pub(super) fn received(pulses_us: &[f64], stretch_us: f64, off: &[f64]) -> Vec<f64> {
    let each = pulses_us.iter().zip(off.iter().cycle()).enumerate();
    each.map(|(i, (us, off))| us * (1.0 + off) + if i.is_multiple_of(2) { stretch_us } else { -stretch_us })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_sent_is_heard_through_jitter_and_stretch(
        (family, code, toggle) in any_code(),
        stretch_us in -100.0..100.0,
        off in prop::collection::vec(-JITTER..JITTER, 120),
        gap in any::<bool>(),
    ) {
        let frame = encode(&code, toggle).unwrap();
        let mut pulses_us = received(&frame.pulses_us, stretch_us, &off);
        if gap {
            pulses_us.extend([20_000.0, 500.0]);
        }
        let decoded = decode(&pulses_us);
        prop_assert!(decoded.is_ok(), "{code:?}: {}", heard(&pulses_us));
        let decoded = decoded.unwrap();
        prop_assert_eq!(decoded.code(), Some(heard_as(&code).unwrap_or(code)));
        prop_assert_eq!(decoded.toggle, family.has_toggle().then_some(toggle));
        prop_assert!(!decoded.repeat);
    }

    #[test]
    fn a_clean_frame_is_heard_as_what_it_is_but_for_the_listed_ambiguity((family, code, toggle) in any_code()) {
        let Code::Family { address, .. } = code else { unreachable!() };
        let decoded = decode(&encode(&code, toggle).unwrap().pulses_us).unwrap();
        let [low, high, ..] = address.to_le_bytes();
        if family.id == "nec16" && high == !low {
            prop_assert_eq!(decoded.family.id, "nec");
        } else {
            prop_assert_eq!(decoded.code(), Some(code));
        }
    }

    #[test]
    fn a_clean_repeat_is_heard_as_one((family, code, toggle) in any_code()) {
        let repeat = encode(&code, toggle).unwrap().repeat;
        let decoded = decode(&repeat.pulses_us).unwrap();
        let full = decode(&encode(&code, toggle).unwrap().pulses_us).unwrap();
        match family.repeat {
            RepeatKind::WholeFrame => prop_assert_eq!(decoded, full),
            RepeatKind::ShortFrame { .. } => {
                prop_assert!(decoded.repeat && decoded.code().is_none() && decoded.family.id == "nec");
            }
            RepeatKind::WithoutLeader => {
                prop_assert!(decoded.repeat && decoded.code() == full.code());
            }
            RepeatKind::Once => prop_assert!(repeat.pulses_us.is_empty()),
        }
    }

    #[test]
    fn a_repeat_without_leader_is_heard_through_jitter_and_stretch(
        address in 0..=0xFF_u32, command in 0..=0xFF_u32,
        stretch_us in -100.0..100.0,
        off in prop::collection::vec(-0.08..0.08, 33),
    ) {
        // Less jitter than with a leader: nothing but the pace vouches for it.
        let code = code("pd16", address, command);
        let repeat = encode(&code, false).unwrap().repeat;
        let decoded = decode(&received(&repeat.pulses_us, stretch_us, &off)).unwrap();
        prop_assert!(decoded.repeat);
        prop_assert_eq!(decoded.code(), Some(code));
    }

    #[test]
    fn a_frame_cut_at_its_end_is_no_code(
        (family, code, toggle) in any_code(),
        cut in any::<prop::sample::Index>(),
        off in prop::collection::vec(-0.03..0.03, 120),
    ) {
        let whole_us = encode(&code, toggle).unwrap().pulses_us;
        let cut_us = received(&whole_us[..cut.index(whole_us.len())], 50.0, &off);
        match decode(&cut_us) {
            // A frame of 15 or 20 bits cut after 12 is a frame of 12: nothing of it is missing.
            Ok(decoded) => prop_assert!(
                family.id.starts_with("sirc") && decoded.family.id < family.id,
                "{code:?}: {decoded} from {} timings", cut_us.len()
            ),
            Err(error) => prop_assert!(error.to_string().len() > 40),
        }
    }

    #[test]
    fn a_frame_heard_from_the_middle_on_is_no_code(
        (family, code, toggle) in any_code(),
        cut in any::<prop::sample::Index>(),
        off in prop::collection::vec(-0.03..0.03, 120),
    ) {
        let whole_us = encode(&code, toggle).unwrap().pulses_us;
        let from = 2 * (1 + cut.index(whole_us.len() / 2));
        let decoded = decode(&received(&whole_us[from..], 50.0, &off)).ok();
        // Without its leader it is that family's repeat.
        let repeat = family.repeat == RepeatKind::WithoutLeader && from == 2;
        prop_assert_eq!(decoded.and_then(|decoded| decoded.code()), repeat.then_some(code));
    }

    #[test]
    fn one_bit_wrong_in_a_frame_with_inverses_is_never_another_code(
        address in 0..=0xFF_u32, command in 0..=0xFF_u32, wrong in 0..32_usize,
    ) {
        let mut pulses_us = encode(&code("nec", address, command), false).unwrap().pulses_us;
        let space_us = &mut pulses_us[2 + 2 * wrong + 1];
        *space_us = if *space_us > 1000.0 { 562.5 } else { 1687.5 };
        // In the address half it may still be a nec16 frame, which has no inverse there.
        match decode(&pulses_us) {
            Ok(decoded) => prop_assert!(wrong < 16 && decoded.family.id == "nec16"),
            Err(_) => prop_assert!(wrong >= 16),
        }
    }

    #[test]
    fn noise_is_no_code(pulses_us in prop::collection::vec(50.0..12_000.0, 0..120)) {
        // Three pulses in a row may look like a short repeat frame, which says nothing of its own.
        let code = decode(&pulses_us).ok().and_then(|decoded| decoded.code());
        prop_assert_eq!(code, None);
    }

    #[test]
    fn noise_behind_a_true_leader_is_no_code(noise in prop::collection::vec(200.0..2_400.0, 0..120)) {
        let pulses_us: Vec<f64> = [9000.0, 4500.0].into_iter().chain(noise).collect();
        prop_assert!(decode(&pulses_us).is_err(), "{}", heard(&pulses_us));
    }

    #[test]
    fn whatever_comes_in_is_answered(pulses_us in prop::collection::vec(any::<f64>(), 0..300)) {
        let words = heard(&pulses_us);
        prop_assert!(words.len() < 400, "{words}");
    }
}
