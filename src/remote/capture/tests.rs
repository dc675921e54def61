//! Captures of every family as a receiver gives them, and what must not be taken for one.

use super::*;
use crate::remote::{FamilyId, encode, families};

fn code(id: &str, address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId(id.to_owned()), address, command }
}

/// A press: the frame, then its repeats, with marks stretched and spaces shortened.
fn press(code: &Code, toggle: bool, repeats: usize, stretch_us: f64) -> Vec<f64> {
    let frame = encode(code, toggle).unwrap();
    let mut timings_us = frame.pulses_us.clone();
    let mut last_us = frame.total_us();
    for _ in 0..repeats {
        timings_us.push(frame.repeat.period_us.unwrap() - last_us);
        timings_us.extend(&frame.repeat.pulses_us);
        last_us = frame.repeat.pulses_us.iter().sum();
    }
    let signed = |at: usize| if at.is_multiple_of(2) { stretch_us } else { -stretch_us };
    timings_us.iter().enumerate().map(|(at, us)| us + signed(at)).collect()
}

#[test]
fn a_held_button_of_every_family_is_one_certain_code_with_its_stretch() {
    for family in families() {
        for stretch_us in [-40.0, 0.0, 38.0, 71.0, 100.0] {
            let sent = code(family.id, family.address_max() / 3, family.command_max() / 5);
            let heard = hear(&press(&sent, true, 2, stretch_us)).unwrap();
            assert_eq!(heard.code, sent, "{}", family.id);
            assert_eq!(heard.toggle, family.has_toggle().then_some(true));
            assert_eq!(heard.frames + heard.repeats, 3, "{}", family.id);
            assert!((heard.stretch_us - stretch_us).abs() < 0.5, "{}: {}", family.id, heard.stretch_us);
            let due_us = encode(&sent, true).unwrap().pulses_us;
            assert!(heard.clean_us.iter().zip(&due_us).all(|(us, due)| (us - due).abs() < 1.0));
            assert!(heard.off_us.iter().step_by(2).all(|off| (off - stretch_us).abs() < 1.0));
            assert!((heard.period_us.unwrap() - family.repeat_period_us).abs() < 1.0);
            let parity = family.id == "aeha";
            assert_eq!(heard.sure.word(), if parity { "likely" } else { "certain" }, "{}", heard.sure);
        }
    }
}

#[test]
fn presses_that_agree_are_one_and_the_other_is_named() {
    let once = |command| hear(&press(&code("nec", 0x59, command), false, 0, 60.0));
    let three = consensus(&[once(0x16), once(0x16), once(0x16)]).unwrap();
    assert_eq!((three.agree, three.of, three.warning), (3, 3, None));
    assert_eq!(three.heard.sure.to_string(), "certain: the inverses match, 3 presses agree");
    let one_off = consensus(&[once(0x16), once(0x17), once(0x16)]).unwrap();
    assert_eq!((one_off.agree, one_off.differ), (2, vec![1]));
    assert_eq!(
        one_off.warning.unwrap(),
        "Press 2 was heard as nec address 59 command 17; 2 presses say nec address 59 command 16. \
         Keep that, or listen again."
    );
    assert_eq!(consensus(&[]), None);
    assert_eq!(consensus(&[hear(&[500.0])]), None);
}

#[test]
fn a_cut_frame_and_a_failed_check_are_refused_and_may_be_kept_raw() {
    let whole = press(&code("nec", 0x59, 0x16), false, 0, 60.0);
    let cut = hear(&whole[..41]).unwrap_err();
    assert!(cut.to_string().starts_with("It begins like nec and ends after"), "{cut}");
    assert!(matches!(cut.raw(), Some(Code::Raw { pulses_us, .. }) if pulses_us.len() == 41));
    let mut wrong = whole;
    wrong[35] += 1_125.0;
    let failed = hear(&wrong).unwrap_err();
    assert!(failed.to_string().starts_with("It looks like nec, but the command is sent as"), "{failed}");
    assert!(failed.raw().is_some());
}

/// Pulse distance of no family of the table: 700 µs, a leader of 11 and 6 ms, 20 bits.
fn unknown(bits: u32) -> Vec<f64> {
    let mut pulses_us = vec![11_000.0, 6_000.0];
    for place in 0..20 {
        pulses_us.extend([700.0, if bits >> place & 1 == 1 { 2_000.0 } else { 700.0 }]);
    }
    pulses_us.push(700.0);
    pulses_us
}

/// A frame so many times, as a receiver's steps and its carrier leave it.
fn heard_again(frame_us: &[f64], times: usize, gap_us: f64) -> Vec<f64> {
    let mut timings_us = Vec::new();
    for _ in 0..times {
        timings_us.extend_from_slice(frame_us);
        timings_us.push(gap_us);
    }
    let rough = |(at, us): (usize, &f64)| {
        us + if at.is_multiple_of(2) { 45.0 } else { -45.0 } + (at * 37 % 27) as f64
    };
    timings_us.iter().enumerate().map(rough).collect()
}

#[test]
fn what_no_family_explains_is_kept_raw_with_few_durations_and_its_period() {
    let heard = hear(&heard_again(&unknown(0x593A1), 3, 30_000.0)).unwrap();
    let Code::Raw { pulses_us, repeat_us } = &heard.code else { panic!("{heard:?}") };
    assert_eq!((pulses_us.len(), heard.frames, heard.family), (43, 3, None));
    let distinct: std::collections::BTreeSet<_> = pulses_us.iter().map(|us| *us as u32).collect();
    assert!(distinct.len() <= 8, "{distinct:?}");
    let due_us: f64 = unknown(0x593A1).iter().sum::<f64>() + 30_000.0;
    assert!((repeat_us.unwrap() - due_us).abs() < 1_000.0);
    assert_eq!(heard.sure.to_string(), "raw: no family explains it, 3 frames are alike");
    let [Code::Free { free, command, .. }] = &heard.also[..] else { panic!("{:?}", heard.also) };
    assert_eq!((free.bit_count(), *command), (20, 0x593A1));
    // Half the distance between mark and space is the stretch, if both were meant to be alike.
    assert!((free.zero_us.0 - 700.0).abs() < 20.0 && (free.zero_us.1 - 700.0).abs() < 20.0, "{free:?}");
}

#[test]
fn a_free_family_in_use_is_heard_as_one() {
    let free = FreeFamily {
        leader_us: Some((11_000.0, 6_000.0)),
        zero_us: (700.0, 700.0),
        one_us: (700.0, 2_000.0),
        address_bits: 8,
        command_bits: 12,
        command_inverse: false,
        ..FreeFamily::default()
    };
    let capture = heard_again(&unknown(0x593A1), 2, 30_000.0);
    let heard = hear_with(&capture, &[FreeFamily::default(), free]).unwrap();
    assert_eq!(heard.code, Code::Free { free, address: 0xA1, command: 0x593 });
    assert!((heard.stretch_us - 45.0).abs() < 15.0, "{}", heard.stretch_us);
    // Its frames come sooner than the parameters say.
    assert!(
        heard.sure.to_string().starts_with("likely: 2 frames agree, frames come every "),
        "{}",
        heard.sure
    );
}

#[test]
fn raw_presses_are_averaged_and_told_apart() {
    let press = |bits| hear(&heard_again(&unknown(bits), 2, 30_000.0));
    let together = consensus(&[press(0x593A1), press(0x593A1), press(0x593A1)]).unwrap();
    assert_eq!((together.agree, together.warning), (3, None));
    assert_eq!(together.heard.sure, Sure::Raw { frames: 6 });
    assert!(encode(&together.heard.code, false).is_ok());
    let apart = consensus(&[press(0x593A1), press(0x593A3), press(0x593A1)]).unwrap();
    assert_eq!((apart.agree, apart.differ), (2, vec![1]));
}

#[test]
fn a_press_that_was_not_understood_is_named_in_the_warning() {
    let good = || hear(&press(&code("sirc12", 1, 19), false, 2, 60.0));
    let together = consensus(&[good(), hear(&[500.0; 9]), good()]).unwrap();
    assert_eq!(
        together.warning.unwrap(),
        "Press 2 was not understood; 2 presses say sirc12 address 01 command 13. Keep that, or listen again."
    );
    let alone = consensus(&[hear(&[500.0; 9]), good(), hear(&[500.0; 9])]).unwrap();
    assert_eq!(
        alone.warning.unwrap(),
        "Presses 1, 3 differ: press 1 was not understood; one press alone says sirc12 address 01 command 13. \
         Listen again before you keep it."
    );
}

#[test]
fn what_is_missing_or_odd_is_said() {
    let said = |timings_us: &[f64]| hear(timings_us).unwrap().sure.to_string();
    let nec = |repeats| press(&code("nec", 0x59, 0x16), false, repeats, 60.0);
    assert_eq!(said(&nec(0)), "likely: the inverses match, heard in one frame only");
    assert_eq!(said(&nec(1)), "certain: the inverses match, a repeat frame follows");
    assert_eq!(
        said(&press(&code("sirc12", 1, 19), false, 0, 0.0)),
        "likely: heard in one frame only, a longer frame of the same bits, cut here, would look the same"
    );
    let mut slow = press(&code("sirc12", 1, 19), false, 1, 0.0);
    slow[25] += 35_000.0;
    assert_eq!(
        said(&slow),
        "likely: 2 frames agree, frames come every 80 ms, not every 45 ms as the family's do"
    );
    let mut twice = press(&code("rc5", 5, 53), false, 0, 0.0);
    twice.push(89_000.0);
    twice.extend(press(&code("rc5", 5, 53), true, 0, 0.0));
    assert_eq!(said(&twice), "likely: 2 frames agree, the toggle bit changed, as if pressed twice");
    let aeha = press(&code("aeha", 0x1234, 0x9A78_56B5), false, 1, 60.0);
    assert_eq!(said(&aeha), "likely: 2 frames agree, its parity does not hold");
    let pd16 = press(&code("pd16", 0xA5, 0x3C), false, 2, 60.0);
    assert_eq!(
        said(&pd16[36..]),
        "likely: 2 repeat frames follow, only repeats were heard, not the first frame"
    );
}

#[test]
fn every_refusal_says_what_to_do() {
    let said = |timings_us: &[f64]| hear(timings_us).unwrap_err().to_string();
    assert_eq!(
        said(&[9000.0, 2250.0, 562.5, 96_000.0, 9000.0, 2250.0, 562.5]),
        "Only repeat frames of nec were heard, 2 of them, not the frame that begins a press. \
         Let go of the remote, listen again, then press."
    );
    assert_eq!(
        said(&[500.0]),
        "A single timing was heard, and no family has so few: chance may have made them. \
         Hold the remote near the receiver and press a little longer."
    );
    let noise: Vec<f64> = (0..40).map(|at| 300.0 + f64::from(at * at * 97 % 1_900)).collect();
    assert!(
        said(&noise).starts_with("No family explains it, and its 40 timings repeat too little"),
        "{}",
        said(&noise)
    );
    let mut two = press(&code("sirc12", 1, 19), false, 0, 60.0);
    two.push(25_000.0);
    two.extend(press(&code("sirc12", 1, 20), false, 0, 60.0));
    assert_eq!(
        said(&two),
        "Two different codes are in one capture: sirc12 address 01 command 13, then sirc12 address 01 command 14. \
         Listen again and press one button of the remote, once."
    );
    assert!(hear(&[]).unwrap_err().raw().is_none());
}

#[test]
fn listening_may_begin_in_the_middle_of_a_frame() {
    for family in families() {
        let sent = code(family.id, 1, 2);
        let whole = press(&sent, false, 3, 60.0);
        let from = 2 * (encode(&sent, false).unwrap().pulses_us.len() / 4);
        match family.id {
            // What follows carries no numbers.
            "nec" | "nec16" => assert!(hear(&whole[from..]).is_err(), "{}", family.id),
            _ => assert_eq!(hear(&whole[from..]).unwrap().code, sent, "{}", family.id),
        }
    }
}

#[test]
fn bare_repeats_of_a_slow_remote_are_repeats() {
    // 8 % slow: without the frame before them the pace would speak against them.
    let sent = code("pd16", 0xA5, 0x3C);
    let slow: Vec<f64> = press(&sent, false, 5, 60.0).iter().map(|us| us * 1.08).collect();
    let heard = hear(&slow).unwrap();
    assert_eq!((heard.code, heard.frames, heard.repeats), (sent, 1, 5));
}

#[test]
fn short_repeat_frames_of_a_family_with_whole_ones_are_repeats_too() {
    // AEHA booklet, from memory: 8 units of mark, 8 of space, one of mark.
    let sent = code("aeha", 0x1234, 0x9A78_56B4);
    let mut held = press(&sent, false, 0, 60.0);
    for _ in 0..3 {
        held.extend([65_000.0, 3_460.0, 3_340.0, 485.0]);
    }
    let heard = hear(&held).unwrap();
    assert_eq!((heard.code, heard.frames, heard.repeats), (sent, 1, 3));
}
