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
