//! Whole captures: what is sent is heard, through jitter and stretch, for every family and for free
//! ones; what is cut, random or fails a check is refused; and what the formats themselves can't tell
//! apart stands in one table, [`CANT_TELL`].

use infrared::protocol::nec::NecCommand;
use infrared::protocol::{Nec, Rc5, Rc6};
use infrared::receiver::BufferInputReceiver;
use irp::{Irp, Vartable};
use proptest::prelude::*;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use spokewire::remote::{
    Code, Family, Frame, FreeFamily, FreeRepeat, HearError, Heard, RepeatKind, Sure, consensus, encode,
    family, hear, hear_with, heard_as,
};

use super::properties::{JITTER, any_code, received};
use super::{code, frame};

/// Frames that are heard as another family's because the formats are the same: sent, heard, and when.
/// The heard code is among `also` of the first wherever a frame is whole.
const CANT_TELL: &[(&str, &str, &str)] = &[
    ("nec16", "nec", "the two bytes of the address are inverses of each other"),
    ("sirc15", "sirc12", "a single frame, cut behind the twelfth bit"),
    ("sirc20", "sirc12", "a single frame, cut behind the twelfth bit"),
    ("sirc20", "sirc15", "a single frame, cut behind the fifteenth bit"),
];

/// A press as it is sent: the frame, then what follows while held.
fn press(frame: &Frame, repeats: usize) -> Vec<f64> {
    let mut timings_us = frame.pulses_us.clone();
    let mut last_us = frame.total_us();
    for _ in 0..repeats {
        let Some(period_us) = frame.repeat.period_us else { break };
        timings_us.push(period_us - last_us);
        timings_us.extend(&frame.repeat.pulses_us);
        last_us = frame.repeat.pulses_us.iter().sum();
    }
    timings_us
}

/// How many whole frames and how many repeat frames such a press has.
fn counts(kind: RepeatKind, repeats: usize) -> (usize, usize) {
    match kind {
        RepeatKind::WholeFrame => (1 + repeats, 0),
        RepeatKind::Once => (1, 0),
        RepeatKind::ShortFrame { .. } | RepeatKind::WithoutLeader => (1, repeats),
    }
}

/// A free family that can be sent, read and told apart: its 0 and 1 are half as long again in one
/// place or the other, so that jitter leaves a difference.
fn any_free() -> impl Strategy<Value = FreeFamily> {
    let bits = (0..=16_u8, any::<bool>(), 1..=32_u8, any::<bool>());
    let timing = (100.0..1_500.0_f64, prop::option::of((3.0..20.0, 1.5..12.0)), 0..3_u8, 0.7..1.5, 2.3..4.0);
    let rest = (any::<bool>(), any::<bool>(), 0..4_usize, 4.0..60.0);
    (bits, timing, rest).prop_map(|(bits, (unit_us, leader, kind, space, longer), rest)| {
        let short_us = unit_us * space;
        let (zero_us, one_us) = match kind {
            // Pulse distance, pulse width, and both at once: a 0 and a 1 that last alike.
            0 => ((unit_us, short_us), (unit_us, short_us * longer)),
            1 => ((unit_us, short_us), (unit_us * longer, short_us)),
            _ => ((unit_us, unit_us * longer), (unit_us * longer, unit_us)),
        };
        let kinds =
            [FreeRepeat::WholeFrame, FreeRepeat::WithoutLeader, FreeRepeat::ShortFrame, FreeRepeat::Once];
        let free = FreeFamily {
            leader_us: leader.map(|(mark, space)| (unit_us * mark, unit_us * space)),
            zero_us,
            one_us,
            // Without it nothing tells the last bit of a pulse-distance frame: its space runs into the gap.
            stop_mark: zero_us.0 == one_us.0 || rest.0,
            high_first: rest.1,
            address_bits: bits.0,
            address_inverse: bits.1,
            command_bits: bits.2,
            command_inverse: bits.3,
            repeat: if leader.is_some() { kinds[rest.2] } else { kinds[3 * (rest.2 % 2)] },
            period_us: 0.0,
            carrier_khz: 38,
        };
        FreeFamily { period_us: free.longest_us() + rest.3 * unit_us, ..free }
    })
}

/// A code of a free family.
fn any_free_code() -> impl Strategy<Value = (FreeFamily, Code)> {
    let sendable = any_free().prop_filter("it can be sent, and stretch and clock show", |free| {
        free.check().is_ok() && free.bit_count() >= 6
    });
    sendable.prop_flat_map(|free| {
        let numbers = (0..=free.address_max(), 0..=free.command_max());
        numbers.prop_map(move |(address, command)| (free, Code::Free { free, address, command }))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_press_is_heard_as_it_was_sent_through_jitter_and_stretch(
        (family, code, toggle) in any_code(),
        repeats in 0..5_usize,
        stretch_us in -100.0..100.0,
        off in prop::collection::vec(-JITTER..JITTER, 601),
    ) {
        let sent = encode(&code, toggle).unwrap();
        let heard = hear(&received(&press(&sent, repeats), stretch_us, &off));
        prop_assert!(heard.is_ok(), "{code:?}: {heard:?}");
        let heard = heard.unwrap();
        prop_assert_eq!(&heard.code, &heard_as(&code).unwrap_or(code));
        prop_assert_eq!(heard.toggle, family.has_toggle().then_some(toggle));
        prop_assert_eq!((heard.frames, heard.repeats), counts(family.repeat, repeats));
        // An estimate over 20 to 100 timings that are off by up to 130 µs each.
        prop_assert!((heard.stretch_us - stretch_us).abs() < 90.0, "{}", heard.stretch_us);
        prop_assert_eq!(heard.clean_us.len(), sent.pulses_us.len());
        prop_assert_eq!(heard.off_us.len(), sent.pulses_us.len());
    }

    #[test]
    fn a_free_familys_press_is_heard_as_it_was_sent_through_jitter_and_stretch(
        (free, code) in any_free_code(),
        repeats in 0..4_usize,
        share in -0.3..0.35_f64,
        off in prop::collection::vec(-JITTER..JITTER, 401),
    ) {
        let sent = encode(&code, false).unwrap();
        // A receiver can't take more of a space than there is.
        let least_us = free.zero_us.1.min(free.one_us.1).min(free.zero_us.0).min(free.one_us.0);
        let stretch_us = (share * least_us).clamp(-100.0, 100.0);
        let heard = hear_with(&received(&press(&sent, repeats), stretch_us, &off), &[free]);
        prop_assert!(heard.is_ok(), "{code:?}: {heard:?}");
        let heard = heard.unwrap();
        // One with the timing of a family of the table is that family's.
        if heard.family.is_none() {
            prop_assert_eq!(&heard.code, &code);
            let due = counts(encode(&code, false).unwrap().repeat.kind, repeats);
            prop_assert_eq!((heard.frames, heard.repeats), due);
        }
    }

    #[test]
    fn a_clean_press_is_no_other_familys_but_for_the_table(
        (family, code, toggle) in any_code(), repeats in 0..3_usize,
    ) {
        let heard = hear(&press(&encode(&code, toggle).unwrap(), repeats)).unwrap();
        let by = heard.family.unwrap().id;
        let told = CANT_TELL.iter().any(|(sent, heard, _)| (*sent, *heard) == (family.id, by));
        prop_assert!(by == family.id || (told && heard.also.contains(&code)), "{code:?} as {by}");
    }

    #[test]
    fn a_frame_cut_at_its_end_is_refused_and_offered_raw(
        (family, code, toggle) in any_code(),
        cut in any::<prop::sample::Index>(),
        off in prop::collection::vec(-0.05..0.05, 120),
    ) {
        let whole_us = encode(&code, toggle).unwrap().pulses_us;
        let cut_us = received(&whole_us[..1 + cut.index(whole_us.len() - 1)], 50.0, &off);
        match hear(&cut_us) {
            Ok(heard) => {
                let by = heard.family.unwrap().id;
                prop_assert!(CANT_TELL.iter().any(|(sent, heard, _)| (*sent, *heard) == (family.id, by)));
                prop_assert!(heard.sure.to_string().contains("a longer frame of the same bits"));
            }
            Err(error) => prop_assert!(error.raw().is_some(), "{error}"),
        }
    }

    #[test]
    fn the_receivers_memory_may_end_in_the_middle_of_a_repeat(
        (family, code, toggle) in any_code(), cut in any::<prop::sample::Index>(),
    ) {
        let sent = encode(&code, toggle).unwrap();
        let press = press(&sent, 3);
        let least = sent.pulses_us.len() + 1;
        let heard = hear(&press[..least + cut.index(press.len() - least)]).unwrap();
        prop_assert_eq!(&heard.code, &heard_as(&code).unwrap_or(code), "{}", family.id);
    }

    #[test]
    fn two_codes_in_one_capture_are_refused((family, code, toggle) in any_code(), other in any::<u32>()) {
        let Code::Family { family: id, address, command } = &code else { unreachable!() };
        let other = other & family.command_max();
        prop_assume!(other != *command);
        let then = Code::Family { family: id.clone(), address: *address, command: other };
        let mut timings_us = encode(&code, toggle).unwrap().pulses_us;
        timings_us.push(40_000.0);
        timings_us.extend(encode(&then, toggle).unwrap().pulses_us);
        let refused = matches!(hear(&timings_us), Err(HearError::Differ { .. }));
        prop_assert!(refused, "{code:?} then {then:?}");
    }

    #[test]
    fn one_bit_wrong_where_an_inverse_is_sent_is_refused(
        address in 0..=0xFF_u32, command in 0..=0xFF_u32, wrong in 16..32_usize,
    ) {
        let mut pulses_us = frame("nec", address, command, false).pulses_us;
        let space_us = &mut pulses_us[2 + 2 * wrong + 1];
        *space_us = if *space_us > 1000.0 { 562.5 } else { 1687.5 };
        let error = hear(&pulses_us).unwrap_err();
        prop_assert!(error.to_string().contains("the command is sent as"), "{error}");
        // A remote that sends no inverses may be meant: both ways to keep it are offered.
        prop_assert!(error.raw().is_some() && error.free().is_some());
    }

    #[test]
    fn presses_agree_whatever_the_toggle_and_the_receiver(
        (_family, code, toggle) in any_code(),
        stretches_us in prop::collection::vec(-80.0..100.0, 3),
        off in prop::collection::vec(-0.08..0.08, 211),
    ) {
        let each = stretches_us.iter().enumerate().map(|(at, &stretch_us)| {
            let sent = encode(&code, toggle ^ (at == 1)).unwrap();
            hear(&received(&press(&sent, at), stretch_us, &off))
        });
        let presses: Vec<_> = each.collect();
        let together = consensus(&presses).unwrap();
        prop_assert_eq!((together.agree, together.of, &together.warning), (3, 3, &None));
        prop_assert_eq!(together.heard.code, heard_as(&code).unwrap_or(code));
        prop_assert_eq!(together.mean_us.len(), together.heard.clean_us.len());
    }

    #[test]
    fn whatever_comes_in_is_answered_in_words(timings_us in prop::collection::vec(any::<f64>(), 0..300)) {
        if let Err(error) = hear(&timings_us) {
            prop_assert!((20..500).contains(&error.to_string().len()), "{error}");
        }
    }
}

/// Every code of a family whose codes are few.
fn all(family: &'static Family) -> impl Iterator<Item = Code> {
    (0..=family.address_max()).flat_map(move |address| {
        (0..=family.command_max()).map(move |command| code(family.id, address, command))
    })
}

#[test]
fn every_clean_frame_of_the_small_families_is_its_own() {
    for id in ["rc5", "sirc12"] {
        let family = family(id).expect("it is in the table");
        for code in all(family) {
            let heard = hear(&encode(&code, false).expect("in range").pulses_us).expect("it is clean");
            assert_eq!(heard.code, code);
        }
    }
}

#[test]
fn a_hundred_thousand_captures_of_noise_are_refused() {
    let mut rng = ChaCha8Rng::seed_from_u64(0x5EED);
    for round in 0..100_000 {
        let count = rng.random_range(1..120);
        // Even, even by octaves, in a code's range, narrow, and marks of a code with any spaces.
        let mut noise = |at: usize| match round % 5 {
            0 => rng.random_range(50.0..12_000.0),
            1 => 50.0 * 240.0_f64.powf(rng.random()),
            2 => rng.random_range(200.0..2_400.0),
            3 => rng.random_range(400.0..700.0),
            _ if at.is_multiple_of(2) => rng.random_range(300.0..900.0),
            _ => 50.0 * 2_400.0_f64.powf(rng.random()),
        };
        let leader = if round % 3 == 0 { vec![9_000.0, 4_500.0] } else { Vec::new() };
        let timings_us: Vec<f64> = leader.into_iter().chain((0..count).map(&mut noise)).collect();
        if let Ok(heard) = hear(&timings_us) {
            panic!("round {round}: {:?} from {timings_us:?}", heard.code);
        }
    }
}

/// Whole presses in IRP notation, written from the documents named in `libraries.rs`: `^` says from
/// start to start, `+` at least once, `*` as often as held.
const HELD: &[(&str, &str)] = &[
    ("nec", "{38k,562.5}<1,-1|1,-3>(16,-8,D:8,~D:8,F:8,~F:8,1,^108m,(16,-4,1,^108m)*)[D:0..255,F:0..255]"),
    ("nec16", "{38k,562.5}<1,-1|1,-3>(16,-8,D:16,F:8,~F:8,1,^108m,(16,-4,1,^108m)*)[D:0..65535,F:0..255]"),
    ("rc5", "{36k,889,msb}<1,-1|-1,1>(1:1,~F:1:6,T:1,D:5,F:6,^113778u)*[D:0..31,F:0..127,T:0..1]"),
    (
        "rc6",
        "{36k,16p,msb}<-1,1|1,-1>(6,-2,1:1,0:3,<-2,2|2,-2>(T:1),D:8,F:8,^107m)*[D:0..255,F:0..255,T:0..1]",
    ),
    ("sirc12", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,^45m)*[D:0..31,F:0..127]"),
    ("sirc15", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:8,^45m)*[D:0..255,F:0..127]"),
    ("sirc20", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,D:8:5,^45m)*[D:0..8191,F:0..127]"),
    ("aeha", "{38k,425}<1,-1|1,-3>(8,-4,D:16,F:32,1,^130m)*[D:0..65535,F:0..4294967295]"),
    ("pd16", "{38k,525}<1,-1|1,-3>(16,-8,D:8,F:8,1,^60m,(D:8,F:8,1,^60m)*)[D:0..255,F:0..255]"),
];

#[test]
fn presses_laid_out_from_irp_notation_are_heard_with_their_repeats() {
    let mut rng = ChaCha8Rng::seed_from_u64(0x1AF);
    for (id, notation) in HELD {
        let family = family(id).expect("it is in the table");
        let irp = Irp::parse(notation).expect("the notation parses");
        for _ in 0..200 {
            let (address, command) =
                (rng.random_range(0..=family.address_max()), rng.random_range(0..=family.command_max()));
            let mut given = Vartable::new();
            given.set("D".to_owned(), address.into());
            given.set("F".to_owned(), command.into());
            let toggle: bool = rng.random();
            if family.has_toggle() {
                given.set("T".to_owned(), toggle.into());
            }
            let theirs = irp.encode_raw(given, 3).expect("the numbers are in range");
            let timings_us: Vec<f64> = theirs.raw.iter().map(|us| f64::from(*us)).collect();
            let heard = hear(&timings_us).expect("it is clean");
            let sent = code(id, address, command);
            assert_eq!(heard.code, heard_as(&sent).unwrap_or(sent), "{id}");
            assert_eq!(heard.toggle, family.has_toggle().then_some(toggle), "{id}");
            let whole = matches!(family.repeat, RepeatKind::WholeFrame);
            assert_eq!((heard.frames, heard.repeats), if whole { (3, 0) } else { (1, 3) }, "{id}");
            let period_us = heard.period_us.expect("there is more than one frame");
            assert!((period_us - family.repeat_period_us).abs() < 0.01 * family.repeat_period_us, "{id}");
            assert!(heard.stretch_us.abs() < 2.0, "{id}: {}", heard.stretch_us);
            assert!(matches!(heard.sure, Sure::Certain { .. }) || *id == "aeha", "{id}: {}", heard.sure);
        }
    }
}

/// Edges for `infrared`, of a press with marks stretched by 60 µs.
fn edges(id: &str, address: u32, command: u32, toggle: bool, repeats: usize) -> (Vec<f64>, Vec<u32>) {
    let timings_us = received(&press(&frame(id, address, command, toggle), repeats), 60.0, &[0.0]);
    let edges = std::iter::once(0).chain(timings_us.iter().map(|us| us.round() as u32)).collect();
    (timings_us, edges)
}

/// Address and command of a family's code.
fn numbers(heard: &Heard) -> Option<(u32, u32)> {
    match heard.code {
        Code::Family { address, command, .. } => Some((address, command)),
        _ => None,
    }
}

#[test]
fn infrared_hears_the_same_in_stretched_presses() {
    // It checks no inverses; that they are checked here is tested above.
    let mut nec = BufferInputReceiver::<Nec<NecCommand>>::with_frequenzy(1_000_000);
    let mut rc5 = BufferInputReceiver::<Rc5>::with_frequenzy(1_000_000);
    let mut rc6 = BufferInputReceiver::<Rc6>::with_frequenzy(1_000_000);
    for (address, command) in (0..32).flat_map(|address| (0..64).map(move |command| (address, command))) {
        let (timings_us, edges_us) = edges("nec", address, command, false, 0);
        let theirs = nec.iter(&edges_us).next().expect("a command");
        let ours = hear(&timings_us).expect("it is whole");
        assert_eq!(numbers(&ours), Some((u32::from(theirs.addr), u32::from(theirs.cmd))));

        let (timings_us, edges_us) = edges("rc5", address, command, true, 1);
        let theirs = rc5.iter(&edges_us).next().expect("a command");
        let ours = hear(&timings_us).expect("it is whole");
        assert_eq!(numbers(&ours), Some((u32::from(theirs.addr), u32::from(theirs.cmd))));
        assert_eq!(ours.toggle, Some(theirs.toggle));

        let (timings_us, edges_us) = edges("rc6", address, command, false, 1);
        if let Some(theirs) = rc6.iter(&edges_us).next() {
            let ours = hear(&timings_us).expect("it is whole");
            assert_eq!(numbers(&ours), Some((u32::from(theirs.addr), u32::from(theirs.cmd))));
        }
    }
}

#[test]
fn the_public_capture_is_certain_with_its_stretch() {
    // As in `a_real_capture_with_stretched_marks_decodes`: marks of about 600 µs for 562.5.
    let mut capture_us = vec![9_152.0, 4_498.0];
    for place in (0..32).rev() {
        capture_us.extend([600.0, if 0x00FF_C03F_u32 >> place & 1 == 1 { 1_648.0 } else { 540.0 }]);
    }
    capture_us.extend([600.0, 39_966.0, 9_152.0, 2_224.0, 600.0]);
    let heard = hear(&capture_us).expect("it is a nec press");
    assert_eq!(heard.code, code("nec", 0x00, 0x03));
    assert_eq!(heard.sure.to_string(), "certain: the inverses match, a repeat frame follows");
    assert!((20.0..45.0).contains(&heard.stretch_us), "{}", heard.stretch_us);
    let period_ms = heard.period_us.expect("there is a repeat") / 1e3;
    assert!((107.0..109.5).contains(&period_ms), "{period_ms}");
}
