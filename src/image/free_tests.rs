//! The image's one free family: what is kept as it, what the box makes of it, and back.

use proptest::prelude::*;

use super::codes::image_code;
use super::*;
use crate::project::samples::{any_free, van};
use crate::project::{Command, CommandId, Gesture, Project, bands};
use crate::recognise::{BoxCommand, BoxImage, Event, EventKind, Sender, Which};
use crate::remote::{self, Code, Frame, FreeRepeat, RepeatKind, encode};
use crate::signal::Level;

fn free_code(free: remote::FreeFamily, address: u32, command: u32) -> Code {
    Code::Free { free, address, command }
}

/// The van with these codes, each sent by a gesture of its own that repeats.
fn with(codes: &[Code]) -> Project {
    let mut project = van();
    let like = project.stereo.commands[0].clone();
    let pair = project.pairs[0].clone();
    project.stereo.commands.clear();
    project.pairs.clear();
    for (number, code) in codes.iter().enumerate() {
        let id = CommandId(format!("c{number}"));
        let name = format!("Code {number}");
        project.stereo.commands.push(Command { id: id.clone(), name, code: code.clone(), ..like.clone() });
        let button = project.wheel.buttons[number / 3].id.clone();
        let gesture = [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap][number % 3];
        project.pairs.push(crate::project::Pair {
            button,
            gesture,
            command: Some(id),
            repeats: true,
            ..pair.clone()
        });
    }
    project
}

fn made(project: &Project) -> Built {
    build(project, &bands(project)).unwrap()
}

fn boxed(built: &Built) -> BoxImage {
    BoxImage::new(built.image.to_body().unwrap()).unwrap()
}

/// Whether the box plans exactly these frames, first and while held.
fn same_as(planned: &BoxImage, number: u8, frame: &Frame) -> Result<(), TestCaseError> {
    for (which, pulses_us) in [(Which::First, &frame.pulses_us), (Which::Again, &frame.repeat.pulses_us)] {
        let plan = planned.plan_frame(number, false, which).unwrap();
        if frame.repeat.kind == RepeatKind::Once {
            prop_assert_eq!((plan.period_us, plan.least_frames, plan.gap_ticks), (None, 0, 0));
            prop_assert_eq!(&plan.timings_us, &frame.pulses_us);
            continue;
        }
        prop_assert_eq!(&plan.timings_us, pulses_us);
        prop_assert_eq!(plan.period_us, frame.repeat.period_us);
        prop_assert_eq!(plan.least_frames, 1);
        // Half microseconds are the output's own ticks, so nothing is rounded on the wire either.
        let halves = plan.timings_us.iter().all(|us| (us * 2.0).fract() == 0.0);
        if halves {
            let sent: Vec<f64> = plan.walk_ticks.iter().map(|&ticks| f64::from(ticks) / 2.0).collect();
            prop_assert_eq!(&sent, pulses_us);
        }
    }
    Ok(())
}

#[test]
fn a_free_code_is_kept_as_the_free_family_and_comes_back_whole() {
    let code = free_code(remote::FreeFamily::default(), 0x1234, 0x56);
    let built = made(&with(std::slice::from_ref(&code)));
    assert_eq!(built.image.commands[0].code, ImageCode::Free { address: 0x1234, command: 0x56 });
    let body = built.image.to_body().unwrap();
    // 9000, 4500, 562.5, 562.5, 562.5, 1687.5 in 0.5 µs; 108 ms in 16 µs; stop mark and command's inverse.
    let family = [0x50, 0x46, 0x28, 0x23, 0x65, 4, 0x65, 4, 0x65, 4, 0x2F, 0x0D, 0x5E, 0x1A, 0x0A, 38, 16, 8];
    let end = body.len() - 4;
    assert_eq!(body[end - 18..end], family);
    assert_eq!(body[end..], [0x0E, 0x34, 0x12, 0x56]);
    let held = Image::from_body(&body).unwrap();
    assert_eq!(held.commands[0].code.code(held.free.as_ref()), Some(code));
    assert_eq!(held.commands[0].code.code(None), None);
    assert_eq!(boxed(&built).command(0), Some(BoxCommand::Free { address: 0x1234, command: 0x56 }));
}

#[test]
fn of_two_free_families_the_commoner_is_kept_and_the_other_goes_as_timings() {
    let other = remote::FreeFamily { high_first: true, repeat: FreeRepeat::ShortFrame, ..Default::default() };
    let usual = remote::FreeFamily::default();
    let codes = [free_code(other, 1, 2), free_code(usual, 1, 2), free_code(usual, 1, 3)];
    let project = with(&codes);
    let built = made(&project);
    let kinds: Vec<_> = built
        .image
        .commands
        .iter()
        .zip(&built.commands)
        .map(|(command, id)| (id.0.as_str(), matches!(command.code, ImageCode::Free { .. })))
        .collect();
    assert_eq!(kinds, [("c1", true), ("c2", true), ("c0", false)]);
    let told: Vec<_> = free_as_timings(&project)
        .into_iter()
        .map(|(command, differs)| (command.id.0.as_str(), differs))
        .collect();
    assert_eq!(told, [("c0", true)], "its short frame can't be said by timings");
    // As timings the first frame is the same on the wire.
    let image = boxed(&built);
    let planned = image.plan_frame(2, false, Which::First).unwrap();
    let wanted = encode(&codes[0], false).unwrap();
    for (planned_us, us) in planned.timings_us.iter().zip(&wanted.pulses_us) {
        assert!((planned_us - us).abs() <= 1.0, "{planned_us} for {us}");
    }
}

#[test]
fn of_two_as_common_the_one_whose_repeat_needs_it_is_kept_and_else_the_first() {
    let usual = remote::FreeFamily::default();
    let short = remote::FreeFamily { repeat: FreeRepeat::ShortFrame, ..usual };
    let slow = remote::FreeFamily { period_us: 120_000.0, ..usual };
    let told = |codes: &[Code]| {
        let project = with(codes);
        let told = free_as_timings(&project);
        told.into_iter().map(|(command, differs)| (command.id.0.clone(), differs)).collect::<Vec<_>>()
    };
    let coded = |free| free_code(free, 1, 2);
    assert_eq!(told(&[coded(usual), coded(short)]), [("c0".to_owned(), false)]);
    assert_eq!(told(&[coded(usual), coded(slow)]), [("c1".to_owned(), false)]);
    assert_eq!(told(&[coded(slow), coded(usual)]), [("c1".to_owned(), false)]);
    assert!(told(&[coded(usual), coded(usual)]).is_empty());
    // What no pair sends doesn't count.
    let mut project = with(&[coded(slow), coded(usual), coded(usual)]);
    project.pairs.truncate(1);
    assert!(free_as_timings(&project).is_empty());
    assert_eq!(made(&project).image.free.map(|free| free.period), Some(7_500));
}

#[test]
fn a_box_with_another_free_family_is_told_apart_in_words() {
    let usual = remote::FreeFamily::default();
    let project = with(&[free_code(usual, 1, 2)]);
    let built = made(&project);
    let rows = compare(&project, &built, &Image::from_body(&built.image.to_body().unwrap()).unwrap());
    assert!(rows.iter().all(|row| row.same), "{rows:?}");
    let text = |what: &str, rows: &[Row]| {
        let row = rows.iter().find(|row| row.what == what).unwrap();
        (row.project.clone(), row.held.clone(), row.same)
    };
    assert_eq!(text("Free family", &rows), ("one".to_owned(), "one".to_owned(), true));
    assert_eq!(text("Code of Code 0", &rows).0, "free family address 0001 command 02");
    let other = made(&with(&[free_code(remote::FreeFamily { one_us: (562.5, 1_690.0), ..usual }, 1, 2)]));
    let rows = compare(&project, &built, &other.image);
    let (ours, held) = ("a 1 of 562.5 and 1687.5 µs".to_owned(), "a 1 of 562.5 and 1690 µs".to_owned());
    assert_eq!(text("Free family", &rows), (ours, held, false));
    assert_eq!(text("Code of Code 0", &rows).1, "nothing");
    let none = made(&van());
    assert_eq!(text("Free family", &compare(&project, &built, &none.image)).1, "none");
}

#[test]
fn codes_of_a_second_free_family_that_do_not_fit_are_named_with_their_bytes() {
    // Frames of 195 timings and seven durations are 92 bytes each as timings.
    let wide = |number: u32| remote::FreeFamily {
        leader_us: Some((9_000.0, 4_500.0 + 100.0 * f64::from(number))),
        one_us: (600.0, 1_690.0),
        address_bits: 16,
        address_inverse: true,
        command_bits: 32,
        period_us: 400_000.0,
        ..Default::default()
    };
    let codes: Vec<Code> = (0..6).map(|number| free_code(wide(number), 0x55, number)).collect();
    let project = with(&codes);
    let told = build(&project, &bands(&project)).unwrap_err();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].what.contains("bytes too long") && told[0].what.contains("Code 1 8"), "{}", told[0].what);
    assert!(told[0].advice.starts_with("Give the codes of free families one family"), "{}", told[0].advice);
}

#[test]
fn a_held_button_sends_what_follows_in_the_family_s_own_way() {
    for repeat in
        [FreeRepeat::WholeFrame, FreeRepeat::WithoutLeader, FreeRepeat::ShortFrame, FreeRepeat::Once]
    {
        let free =
            remote::FreeFamily { repeat, high_first: true, address_inverse: true, ..Default::default() };
        let free = remote::FreeFamily { period_us: 160_000.0, ..free };
        let code = free_code(free, 0xA5C3, 0x2D);
        let image = boxed(&made(&with(std::slice::from_ref(&code))));
        let frame = encode(&code, false).unwrap();
        same_as(&image, 0, &frame).unwrap();
        let mut sender = Sender::new();
        for kind in [EventKind::Pressed, EventKind::Tap] {
            let event = Event { kind, button: Some(0), wire: 1, level: Level::from_count(100.0), ticks: 20 };
            sender.event(&image, &event);
        }
        let least = image.plan_frame(0, false, Which::First).unwrap().least_frames;
        let starts: Vec<_> =
            (0..3).filter_map(|_| sender.start_next(least).map(|start| start.which)).collect();
        let wanted: &[Which] = if repeat == FreeRepeat::Once {
            &[Which::First]
        } else {
            &[Which::First, Which::Again, Which::Again]
        };
        assert_eq!(starts, wanted, "{repeat:?}");
        // And the first bits are the highest of the address, then of its inverse.
        let bits: Vec<u8> = frame.bits.iter().map(|bit| u8::from(bit.value)).collect();
        assert_eq!(bits[..8], [1, 0, 1, 0, 0, 1, 0, 1]);
        assert_eq!(bits[16..24], [0, 1, 0, 1, 1, 0, 1, 0]);
    }
}

#[test]
fn a_try_of_a_free_code_carries_its_timings() {
    let bytes = record(&free_code(remote::FreeFamily::default(), 1, 2)).unwrap();
    assert_eq!(bytes[0], 0x0F);
    let short = remote::FreeFamily { zero_us: (40.0, 560.0), ..Default::default() };
    assert!(record(&free_code(short, 1, 2)).unwrap_err().what.starts_with("The mark of a 0 is 40 µs"));
}

#[test]
fn the_c_header_has_a_free_code_s_frames() {
    let free = remote::FreeFamily {
        repeat: FreeRepeat::WithoutLeader,
        command_inverse: false,
        ..Default::default()
    };
    let project = with(&[free_code(free, 0, 0)]);
    let text = header(&project, &made(&project));
    assert!(text.contains("/* Code 0: free family address 0000 command 00 */"), "{text}");
    // Leader, 24 bits and the stop mark; while held the same without the leader.
    assert!(text.contains("spokewire_frame_c0[51] = {\n    9000u, 4500u, 563u,"), "{text}");
    assert!(text.contains("spokewire_again_c0[49] = {\n    563u, 562u,"), "{text}");
    assert!(text.contains("51u, 0u, 49u, 108000u }"), "{text}");
    let uses = "    if (spokewire_rests[0].low > 1023u || spokewire_buttons[0].wire != 1u ||\n        \
                spokewire_pairs[0].command != 0u || spokewire_codes[0].again[0] != 563u) {\n        return 1;\n    }\n";
    super::tests::compiles(&text, uses);
}

proptest! {
    #[test]
    fn the_box_sends_a_free_code_exactly_as_it_is_encoded((free, address, command) in any_free()) {
        let code = free_code(free, address, command);
        let built = made(&with(std::slice::from_ref(&code)));
        let kept = built.image.commands[0].code.code(built.image.free.as_ref()).unwrap();
        let frame = encode(&kept, false).unwrap();
        same_as(&boxed(&built), 0, &frame)?;
        // And what is kept is what was asked for, but for half a step; a whole one for the leader's space,
        // which has to be even where a short frame has half of it.
        let asked = encode(&code, false).unwrap();
        prop_assert_eq!(frame.pulses_us.len(), asked.pulses_us.len());
        let is_halved = free.repeat == FreeRepeat::ShortFrame;
        for (at, (is, was)) in frame.pulses_us.iter().zip(&asked.pulses_us).enumerate() {
            let most_us = if is_halved && at == 1 { 0.5 } else { 0.25 };
            prop_assert!((is - was).abs() <= most_us + 1e-9, "{} for {}", is, was);
        }
        prop_assert_eq!(frame.repeat.pulses_us.len(), asked.repeat.pulses_us.len());
        let period = frame.repeat.period_us.zip(asked.repeat.period_us);
        prop_assert_eq!(frame.repeat.period_us.is_some(), asked.repeat.period_us.is_some());
        if let Some((is, was)) = period {
            // 8 µs, and what a frame longer by half a step for each of its timings needs.
            prop_assert!((is - was).abs() <= 16.0 + 0.25 * 195.0, "{} for {}", is, was);
        }
        // Kept again it is the same.
        let again = made(&with(std::slice::from_ref(&kept)));
        prop_assert_eq!(again.image.free, built.image.free);
        prop_assert_eq!(image_code(&kept, "", built.image.free.as_ref()).unwrap(), built.image.commands[0].code.clone());
    }
}
