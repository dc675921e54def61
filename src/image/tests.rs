//! The image whole: bytes and back, what fits, what doesn't, and what is said of it.

use std::fs;
use std::process::Command as Process;

use proptest::prelude::*;

use super::samples::any_image;
use super::*;
use crate::bands::BandSet;
use crate::circuit::{FeedMonitor, Reference};
use crate::project::samples::{any_project, van};
use crate::project::{Button, ButtonId, Command, CommandId, Gesture, Pair, Project, bands, settle_count};
use crate::recognise::{Has, Wires};
use crate::remote::{Code, FamilyId, Origin, families};
use crate::signal::Level;

fn made(project: &Project) -> Built {
    build(project, &bands(project)).unwrap()
}

fn misfits(change: impl FnOnce(&mut Project)) -> Vec<String> {
    let mut project = van();
    change(&mut project);
    let found = build(&project, &bands(&project)).unwrap_err();
    found.into_iter().map(|Misfit { place, what, advice }| format!("{place}: {what} {advice}")).collect()
}

fn coded(family: &str, address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId(family.to_owned()), address, command }
}

/// A raw code of 99 timings and 8 durations.
fn raw_code(seed: usize) -> Code {
    let pulse = |at: usize| 500.0 + 200.0 * f64::from(((at * 5 + seed) % 8) as u8);
    Code::Raw { pulses_us: (0..99).map(pulse).collect(), repeat_us: None }
}

fn add(project: &mut Project, id: &str, code: Code) {
    project.stereo.commands.push(Command {
        id: CommandId(id.to_owned()),
        name: id.to_owned(),
        code,
        origin: Origin::Typed,
        tried: false,
        heard: Vec::new(),
    });
}

/// 16 buttons, of each all three gestures paired, with the commands in turn.
fn full(codes: impl IntoIterator<Item = Code>) -> Project {
    let mut project = van();
    project.pairs.clear();
    project.stereo.commands.clear();
    for number in project.wheel.buttons.len()..16 {
        let id = ButtonId(format!("b{number}"));
        project.wheel.buttons.push(Button { id, name: format!("B{number}"), wire: Some(1), meter_ohm: None });
    }
    for (number, code) in codes.into_iter().enumerate() {
        add(&mut project, &format!("c{number}"), code);
    }
    let buttons: Vec<ButtonId> = project.wheel.buttons.iter().map(|button| button.id.clone()).collect();
    for button in buttons {
        for gesture in [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap] {
            let number = project.pairs.len() % project.stereo.commands.len();
            project.pairs.push(Pair {
                button: button.clone(),
                gesture,
                command: Some(project.stereo.commands[number].id.clone()),
                repeats: false,
                every_ms: None,
            });
        }
    }
    project
}

#[test]
fn a_project_becomes_the_bytes_of_the_layout() {
    let project = van();
    let built = made(&project);
    let body = built.image.to_body().unwrap();
    let [mark_low, mark_high] = built.image.mark.to_le_bytes();
    // Supply, one wire; 32 ms; 2 counts in 1/32; 600 ms; 300 ms; no monitor; 2 buttons, pairs, commands.
    let head = [0, 32, 64, 0, 88, 2, 44, 1, 0, 0, 2, 2, 2, mark_low, mark_high, 0];
    assert_eq!(body[..16], head);
    let band = |at: usize| {
        (u16::from_le_bytes([body[at], body[at + 1]]), u16::from_le_bytes([body[at + 2], body[at + 3]]))
    };
    let set = bands(&project);
    let accept = |band: &crate::bands::Band| band.accept.map(|a| (a.low_count, a.high_count)).unwrap();
    assert_eq!(
        (band(16), band(20), band(24)),
        (accept(&set.rests[0]), accept(&set.buttons[0]), accept(&set.buttons[1]))
    );
    // Mute's tap sends command 0, Source's command 1; one group of two nec commands, address 59 hex.
    assert_eq!(body[28..], [0x00, 0x00, 0x81, 0x00, 0x11, 89, 21, 22]);
}

#[test]
fn a_slot_is_its_header_and_the_body() {
    // CRC-16/IBM-3740 of "123456789" is 29B1 (catalogue of CRC algorithms).
    assert_eq!(crate::wire::crc16(b"123456789"), 0x29B1);
    let slot = slot_bytes(&[1, 2, 3], 7);
    assert_eq!(slot[..6], [0xB5, 1, 7, 0xF8, 3, 0]);
    assert_eq!(u16::from_le_bytes([slot[6], slot[7]]), crate::wire::crc16(&[1, 3, 0, 1, 2, 3]));
    assert_eq!(check(&[1, 2, 3]), crate::wire::crc16(&[1, 3, 0, 1, 2, 3]));
    assert_eq!(slot[8..], [1, 2, 3]);
}

#[test]
fn the_mark_is_of_vehicle_and_stereo_and_the_place_between_them() {
    let of = |vehicle: &str, stereo: &str| mark(&Project::new(vehicle, stereo));
    assert_eq!(of("123", "56789"), crate::wire::crc16(b"123\x0056789"));
    assert_ne!(of("ab", "c"), of("a", "bc"));
}

#[test]
fn the_settle_limit_is_four_sigma_of_the_noisiest_button_in_whole_counts() {
    let limit = |sigma: f64| {
        let mut project = van();
        for press in &mut project.learned.get_mut(&ButtonId("mute".into())).unwrap().presses {
            press.spread_count = sigma;
        }
        settle_count(&project, &bands(&project))
    };
    assert_eq!([0.3, 0.9, 1.0, 1.6].map(limit), [2.0, 4.0, 4.0, 7.0]);
    let mut project = van();
    project.learned.clear();
    assert_eq!(settle_count(&project, &bands(&project)), 4.0);
    project.plan.settle_count = Some(6.5);
    assert_eq!(settle_count(&project, &bands(&project)), 6.5);
}

#[test]
fn a_feed_monitor_is_kept_as_what_it_reads_at_the_nominal_feed() {
    let mut project = van();
    let circuit = project.circuit.as_mut().unwrap();
    circuit.feed_v = 5.0;
    circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
    circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 20_000.0 });
    let built = made(&project);
    assert_eq!(built.image.reference, ReferenceUse::External);
    // 1024 · 5 · (20 / 30) / 4.096 = 833.33, in steps of 1/32.
    assert_eq!(built.image.feed_count, Some(26_667.0 / 32.0));
    project.circuit.as_mut().unwrap().feed_monitor =
        Some(FeedMonitor { upper_ohm: 1_000.0, lower_ohm: 20_000.0 });
    let refused = build(&project, &bands(&project)).unwrap_err();
    assert_eq!(
        refused[0].what,
        "The feed monitor stands at 4.76 V at the nominal feed and would read 1190; 1 to 1023 fit."
    );
}

#[test]
fn a_button_that_is_not_learned_takes_nothing_and_one_that_shares_a_band_leaves_it_to_the_other() {
    let mut project = van();
    project.learned.remove(&ButtonId("source".into()));
    assert_eq!(made(&project).image.buttons[1].band, ImageBand::default());
    let mut project = van();
    let mute = ButtonId("mute".into());
    let presses = project.learned[&mute].presses.clone();
    let source = project.learned.get_mut(&ButtonId("source".into())).unwrap();
    source.presses = presses;
    source.indistinct_from = Some(mute);
    let image = made(&project).image;
    assert!(image.buttons[0].band.low <= image.buttons[0].band.high);
    assert_eq!(image.buttons[1].band, ImageBand::default());
}

#[test]
fn a_wire_without_buttons_is_always_at_rest() {
    let mut project = van();
    for button in &mut project.wheel.buttons {
        button.wire = Some(2);
    }
    let rest = project.rests.remove(&1).unwrap();
    project.rests.insert(2, rest);
    let image = made(&project).image;
    assert_eq!(image.rests[0], ImageBand { low: 0, high: 1023 });
    assert_eq!((image.rests.len(), image.buttons[0].wire), (2, 2));
    assert_eq!(Image::from_body(&image.to_body().unwrap()).as_ref(), Ok(&image));
}

#[test]
fn only_what_pairs_send_is_kept_by_family_and_address() {
    let mut project = van();
    project.pairs.clear();
    project.stereo.commands.clear();
    for (id, code) in [
        ("raw", raw_code(0)),
        ("late", coded("pd16", 1, 2)),
        ("b", coded("nec", 9, 1)),
        ("unsent", coded("nec", 9, 9)),
        ("a", coded("nec", 3, 7)),
        ("c", coded("nec", 9, 0)),
    ] {
        add(&mut project, id, code);
        if id != "unsent" {
            let button = ButtonId(if project.pairs.len() < 3 { "mute" } else { "source" }.into());
            let gesture = [Gesture::DoubleTap, Gesture::Hold, Gesture::Tap][project.pairs.len() % 3];
            let command = Some(CommandId(id.into()));
            project.pairs.push(Pair { button, gesture, command, repeats: true, every_ms: Some(150) });
        }
    }
    let built = made(&project);
    let ids: Vec<&str> = built.commands.iter().map(|id| id.0.as_str()).collect();
    assert_eq!(ids, ["a", "b", "c", "late", "raw"]);
    let pairs: Vec<_> = built.image.pairs.iter().map(|p| (p.button, p.gesture, p.command)).collect();
    assert_eq!(
        pairs,
        [
            (0, Gesture::Tap, 1),
            (0, Gesture::Hold, 3),
            (0, Gesture::DoubleTap, 4),
            (1, Gesture::Hold, 2),
            (1, Gesture::DoubleTap, 0)
        ]
    );
    assert!(built.image.pairs.iter().all(|pair| pair.repeats && pair.every_ms == Some(150)));
}

#[test]
fn what_is_promised_together_fits_and_the_sums_are_those_of_the_table() {
    let free = FreeFamily {
        leader: (18_000, 9_000),
        zero: (1_125, 1_125),
        one: (1_125, 3_375),
        period: 6_750,
        stop_mark: true,
        address_bits: 16,
        command_bits: 32,
        ..FreeFamily::default()
    };
    let image = |group: u8, addresses: u16| {
        let command = |number: u16| {
            let (address, command) = (number % addresses, u32::from(number));
            let code = if group == 14 {
                ImageCode::Free { address, command }
            } else {
                ImageCode::Family { family: group, address, command }
            };
            ImageCommand { code }
        };
        let mut commands: Vec<ImageCommand> = (0..30).map(command).collect();
        commands.sort_by_key(|command| command.code.group());
        for seed in 0..2 {
            let Code::Raw { pulses_us, .. } = raw_code(seed) else { unreachable!() };
            let code = ImageCode::Raw(super::raw::record(&pulses_us, None).unwrap());
            commands.push(ImageCommand { code });
        }
        Image {
            dwell_ms: 24,
            settle_count: 4.0,
            rests: vec![ImageBand { low: 0, high: 9 }; 2],
            buttons: vec![ImageButton { wire: 2, band: ImageBand { low: 20, high: 40 } }; 16],
            pairs: (0..48)
                .map(|at| ImagePair {
                    button: at % 16,
                    gesture: [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap][usize::from(at / 16)],
                    command: at % 32,
                    repeats: false,
                    every_ms: None,
                })
                .collect(),
            commands,
            free: Some(free),
            ..Image::default()
        }
    };
    let fixed = 16 + 8 + 64 + 96 + 18 + 117;
    assert_eq!(BODY_MAX - fixed, 153);
    // Bytes of 30 commands with one address, and with 30.
    let table = [
        ("nec", 34, 90),
        ("nec16", 36, 120),
        ("rc5", 34, 90),
        ("rc6", 34, 90),
        ("sirc12", 34, 90),
        ("sirc15", 34, 90),
        ("sirc20", 36, 120),
        ("aeha", 126, 210),
        ("pd16", 34, 90),
        ("free", 126, 210),
    ];
    assert_eq!(families().len() + 1, table.len());
    for (at, (id, one, thirty)) in table.into_iter().enumerate() {
        let group = if id == "free" { 14 } else { at as u8 + 1 };
        if let Some(family) = families().get(at) {
            assert_eq!(family.id, id);
        }
        assert_eq!(image(group, 1).body_length(), fixed + one, "{id}");
        assert_eq!(image(group, 1).to_body().map(|body| body.len()), Ok(fixed + one), "{id}");
        assert_eq!(image(group, 30).body_length(), fixed + thirty, "{id}");
        assert_eq!(image(group, 30).to_body().is_ok(), thirty <= 153, "{id}");
        assert!(image(group, 11).to_body().is_ok(), "{id}");
    }
    assert_eq!(image(8, 12).to_body().unwrap_err().what, "The image would be 3 bytes too long: 475 of 472.");
}

#[test]
fn what_does_not_fit_says_by_how_much_and_what_to_do() {
    let raw = |number: usize| (0..number).map(raw_code);
    let mut project = full(raw(6));
    let told = build(&project, &bands(&project)).unwrap_err();
    assert_eq!(
        (told[0].place.as_str(), told[0].what.as_str()),
        (
            "image",
            "The image would be 57 bytes too long: 529 of 472. Its raw codes take, in bytes: c0 58, c1 58, \
             c2 58, c3 58, c4 58, c5 58."
        )
    );
    assert_eq!(told[0].advice, "Find the family of a raw code, or pair fewer of them.");
    project = full((0..33).map(|command| coded("nec", 1, command)));
    let told = build(&project, &bands(&project)).unwrap_err();
    assert_eq!(told[0].what, "The pairs send 33 commands, 1 more than fit.");
    // The most that a project without raw codes can ask for.
    project = full((0..32).map(|command| coded("aeha", command, command)));
    project.wheel.buttons[15].wire = Some(2);
    project.rests.insert(2, project.rests[&1].clone());
    assert_eq!(made(&project).image.body_length(), 408);
    assert_eq!(
        misfits(|p| {
            p.rests.clear();
            p.stereo.commands[0].code = coded("nec", 0x1234, 1);
            p.stereo.commands[1].code = Code::Raw { pulses_us: vec![20.0], repeat_us: None };
        }),
        [
            "rests.1: The rest of wire 1 isn't known, and the box tells by it when a button is let go. Learn \
             the rest with no button pressed."
                .to_owned(),
            format!(
                "stereo.commands.mute: Mute: Address 1234 is out of range for nec, which takes 00 to FF, in \
                 hex. Check the number, or choose a family that takes it: {}.",
                "nec16, sirc20, aeha"
            ),
            "stereo.commands.source: Source: Timing 1 is 20 µs, 30 µs shorter than the 50 µs that can be \
             sent. Capture the code again."
                .to_owned(),
        ]
    );
}

#[test]
fn a_record_is_a_group_of_one() {
    assert_eq!(record(&coded("nec", 0x59, 0x16)), Ok(vec![0x01, 0x59, 0x16]));
    assert_eq!(record(&coded("aeha", 0x1234, 0x0102_0304)), Ok(vec![0x08, 0x34, 0x12, 4, 3, 2, 1]));
    let raw = Code::Raw { pulses_us: vec![9000.0, 4500.0, 560.0], repeat_us: Some(108_000.0) };
    // 3 timings, 6750 · 16 µs, 3 durations from the shortest up; symbols 2, 1, 0.
    assert_eq!(
        record(&raw),
        Ok(vec![0x0F, 3, 0x5E, 0x1A, 3, 0x18, 0x01, 0xCA, 0x08, 0x94, 0x11, 0b0000_1010, 0])
    );
    assert!(record(&coded("nothing", 0, 0)).unwrap_err().what.contains("There is no code family"));
}

#[test]
fn bytes_that_are_no_image_say_why() {
    let good = made(&van()).image.to_body().unwrap();
    let said = |change: &dyn Fn(&mut Vec<u8>)| {
        let mut body = good.clone();
        change(&mut body);
        Image::from_body(&body).unwrap_err().to_string()
    };
    assert_eq!(
        said(&|body| body.truncate(20)),
        "The image ends at byte 20, in the middle of a band. Read the box again; if it stays so, write the \
         project to it."
    );
    assert_eq!(
        said(&|body| body.push(0)),
        "The image has 1 bytes behind its last command. Write the project to the box again."
    );
    assert_eq!(
        said(&|body| body.resize(500, 0)),
        "The image has 500 bytes, 28 more than a slot holds. Write the project to the box again."
    );
    for (at, value, what) in [
        (0, 0x03, "The reference is number 3, which there is not."),
        (0, 0x40, "A flag that means nothing is set."),
        (0, 0x04, "The feed monitor has a level and no flag, or a flag and no level."),
        (1, 0, "The dwell is 0 ms; 1 to 64 ms fit."),
        (10, 17, "The image ends at byte 36"),
        (15, 1, "A byte that must be 0 is not."),
        (21, 0x80, "A button is on wire 2 of 1."),
        (28, 0x05, "A pair is for button 5 of 2."),
        (28, 0x30, "A pair is for gesture 3, which there is not."),
        (29, 0x02, "A pair sends command 4 of 2."),
        (32, 0x1D, "A group is of family 13, which is not known."),
        (32, 0x1E, "A group is of family 14, which is not known."),
        (32, 0x21, "A group has 3 commands, and 2 are left."),
    ] {
        let told = said(&|body| body[at] = value);
        assert!(told.starts_with(what), "byte {at}: {told}");
    }
}

#[test]
fn the_rules_are_the_recognisers() {
    let mut project = van();
    project.plan.rollover = true;
    project.pairs.push(Pair {
        button: ButtonId("mute".into()),
        gesture: Gesture::DoubleTap,
        command: Some(CommandId("mute".into())),
        repeats: false,
        every_ms: None,
    });
    let image = made(&project).image;
    let rules = image.rules();
    assert_eq!((rules.wires, rules.dwell_ticks, rules.rollover), (Wires::One, 32, true));
    assert_eq!((rules.hold_ticks, rules.double_ticks), (600, 300));
    assert_eq!(rules.settle, Level::from_count(2.0));
    let has = |button: usize| rules.buttons[button].2;
    assert_eq!(has(0), Has { tap: true, hold: false, double_tap: true });
    assert_eq!(has(1), Has { tap: true, hold: false, double_tap: false });
    assert_eq!(rules.buttons[0].1.low, image.buttons[0].band.low);
    assert!(rules.rests[1].low > rules.rests[1].high);
}

#[test]
fn a_box_that_holds_the_project_is_the_same_in_every_row() {
    let project = van();
    let built = made(&project);
    let held = Image::from_body(&built.image.to_body().unwrap()).unwrap();
    let rows = compare(&project, &built, &held);
    assert!(rows.iter().all(|row| row.same && row.project == row.held), "{rows:?}");
    let what: Vec<&str> = rows.iter().map(|row| row.what.as_str()).collect();
    assert_eq!(
        what,
        [
            "Vehicle",
            "Reference",
            "Feed monitor",
            "Dwell",
            "Settle limit",
            "Hold",
            "Double tap",
            "Roll-over",
            "Infrared LED",
            "Rest",
            "Mute, band",
            "Source, band",
            "Mute, tap",
            "Source, tap",
            "Code of Mute",
            "Code of Source"
        ]
    );
}

#[test]
fn what_differs_is_said_in_words() {
    let old = van();
    let held = made(&old).image;
    let mut project = van();
    project.vehicle.name = "Another van".into();
    project.plan.dwell_ms = 36;
    project.plan.settle_count = Some(3.5);
    project.stereo.commands[0].code = coded("nec", 0x59, 0x17);
    project.pairs[1].gesture = Gesture::Hold;
    project.pairs[1].repeats = true;
    project.pairs[1].every_ms = Some(200);
    for press in &mut project.learned.get_mut(&ButtonId("mute".into())).unwrap().presses {
        press.median_count += 40.0;
    }
    let built = made(&project);
    let differ: Vec<_> = compare(&project, &built, &held)
        .into_iter()
        .filter(|row| !row.same && !row.what.ends_with("band") && row.what != "Rest")
        .map(|row| (row.what, row.project, row.held))
        .collect();
    let wanted = [
        ("Vehicle", "Another van, Tarn R40", "another vehicle or stereo, or another name of them"),
        ("Dwell", "36 ms", "32 ms"),
        ("Settle limit", "3.5 counts", "2 counts"),
        ("Mute, tap", "Mute", "nec address 59 command 15"),
        ("Source, tap", "nothing", "Source"),
        ("Source, hold", "Source, repeats every 200 ms", "nothing"),
        ("Code of Mute", "nec address 59 command 17", "nothing"),
        ("Another code", "nothing", "nec address 59 command 15"),
    ];
    let wanted = wanted.map(|(what, ours, held)| (what.to_owned(), ours.to_owned(), held.to_owned()));
    assert_eq!(differ, wanted);
    let band = |image: &Image| format!("{} to {}", image.buttons[0].band.low, image.buttons[0].band.high);
    let rows = compare(&project, &built, &held);
    let row = rows.iter().find(|row| row.what == "Mute, band").unwrap();
    assert_eq!((&row.project, &row.held), (&band(&built.image), &band(&held)));
}

#[test]
fn a_box_with_more_in_it_than_the_project_is_told_of_whole() {
    let project = van();
    let mut held = made(&project).image;
    held.rests.push(ImageBand { low: 5, high: 2 });
    held.buttons.push(ImageButton { wire: 2, band: ImageBand { low: 20, high: 30 } });
    held.commands.push(ImageCommand { code: ImageCode::Family { family: 13, address: 1, command: 2 } });
    held.pairs.push(ImagePair {
        button: 2,
        gesture: Gesture::Tap,
        command: 2,
        repeats: true,
        every_ms: None,
    });
    held.pairs.push(ImagePair {
        button: 0,
        gesture: Gesture::Hold,
        command: 9,
        repeats: false,
        every_ms: None,
    });
    let rows = compare(&project, &made(&project), &held);
    let held = |what: &str| rows.iter().find(|row| row.what == what).unwrap().held.clone();
    assert_eq!(held("Rest of wire 2"), "takes nothing");
    assert_eq!(held("Button 3, band"), "wire 2, 20 to 30");
    assert_eq!(held("Button 3, tap"), "a family this program does not know, repeats");
    assert_eq!(held("Mute, hold"), "nothing");
}

/// Compiles a program that uses everything of a header; both compilers where they are there, `cc` always.
pub(super) fn compiles(header: &str, uses: &str) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("project.h"), header).unwrap();
    let main = format!(
        "#include \"project.h\"\n#include \"project.h\"\nint main(void)\n{{\n{uses}    return 0;\n}}\n"
    );
    fs::write(folder.path().join("main.c"), main).unwrap();
    for (compiler, flags) in [("cc", &["-o", "main"][..]), ("avr-gcc", &["-mmcu=atmega328p", "-c"][..])] {
        let mut process = Process::new(compiler);
        process.current_dir(folder.path()).args(["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic"]);
        match process.args(flags).arg("main.c").output() {
            Ok(output) => {
                let said = String::from_utf8_lossy(&output.stderr);
                assert!(output.status.success(), "{compiler}: {said}\n{header}");
            }
            Err(error) => assert_ne!(compiler, "cc", "cc must be there: {error}"),
        }
    }
}

#[test]
fn the_c_header_compiles_with_every_warning_on() {
    let mut project = van();
    project.vehicle.name = "*/ /* \\\n ??/ \u{202e}van//".into();
    project.stereo.commands[0].name = "/*/".into();
    project.stereo.commands[1].code = coded("rc5", 5, 35);
    project.pairs[0].repeats = true;
    project.pairs[0].every_ms = Some(200);
    let built = made(&project);
    let text = header(&project, &built);
    compiles(
        &text,
        "    if (spokewire_rests[0].low > 1023u || spokewire_buttons[SPOKEWIRE_BUTTON_MUTE].wire != 1u ||\n        \
         spokewire_codes[spokewire_pairs[0].command].frame[0] != 9000u ||\n        \
         spokewire_codes[SPOKEWIRE_COMMAND_SOURCE].toggled_count == 0u ||\n        \
         SPOKEWIRE_DWELL_MS != 32u || SPOKEWIRE_PAIRS != 2) {\n        return 1;\n    }\n",
    );
    assert!(text.contains("{ SPOKEWIRE_BUTTON_MUTE, SPOKEWIRE_TAP, 0u, 1u, 200u }, /* / * / */"), "{text}");
    assert!(text.contains("spokewire_again_mute[3] = {\n    9000u, 2250u, 563u,\n};"), "{text}");
    // A project with nothing in it.
    let empty = Project::new("", "");
    let image =
        Image { dwell_ms: 24, settle_count: 2.0, rests: vec![ImageBand::default()], ..Image::default() };
    let built = Built { image, buttons: Vec::new(), commands: Vec::new() };
    compiles(&header(&empty, &built), "    if (spokewire_rests[0].wire != 1u) {\n        return 1;\n    }\n");
}

proptest! {
    #[test]
    fn an_image_read_back_is_the_image(image in any_image()) {
        match image.to_body() {
            Ok(body) => {
                prop_assert_eq!(body.len(), image.body_length());
                prop_assert_eq!(Image::from_body(&body), Ok(image));
            }
            Err(misfit) => {
                prop_assert!(image.body_length() > BODY_MAX);
                prop_assert!(misfit.what.contains("bytes too long"), "{}", misfit.what);
            }
        }
    }

    #[test]
    fn bytes_at_random_are_refused_or_read_as_they_lie(
        body in proptest::collection::vec(any::<u8>(), 0..600),
        image in any_image(),
        at in any::<proptest::sample::Index>(),
        value in any::<u8>(),
    ) {
        let mut bodies = vec![body];
        if let Ok(mut body) = image.to_body() {
            let at = at.index(body.len());
            body[at] = value;
            bodies.push(body.clone());
            body.truncate(at);
            bodies.push(body);
        }
        for body in bodies {
            if let Ok(image) = Image::from_body(&body) {
                let again = image.to_body().unwrap();
                prop_assert_eq!(Image::from_body(&again), Ok(image));
            }
        }
    }

    #[test]
    fn any_project_is_built_or_refused_with_reasons(project in any_project()) {
        let set = bands(&project);
        match build(&project, &set) {
            Ok(built) => {
                let body = built.image.to_body().unwrap();
                let held = Image::from_body(&body).unwrap();
                prop_assert_eq!(&held, &built.image);
                prop_assert!(compare(&project, &built, &held).iter().all(|row| row.same));
            }
            Err(misfits) => {
                prop_assert!(!misfits.is_empty());
                for misfit in misfits {
                    prop_assert!(!misfit.place.is_empty() && misfit.what.ends_with('.'), "{misfit:?}");
                    prop_assert!(misfit.advice.ends_with('.'), "{misfit:?}");
                }
            }
        }
        prop_assert_eq!(build(&project, &BandSet::default()).is_ok(), false);
    }
}
