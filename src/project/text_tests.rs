//! What a person may do to a project file, and what they are told.

use proptest::prelude::*;

use super::model::{FORMAT, Project};
use super::samples::{any_project, van};
use super::text::{MAX_BYTES, ReadError, ReadOnly, Warning, read, write};

/// What a file has besides what these cases are about; without it their lines stay where they are. Each
/// may be missing from a file.
const LATER: [&str; 12] = [
    "back",
    "check",
    "filter",
    "module",
    "parts",
    "learned_on",
    "rechecked",
    "edges",
    "traces",
    "output",
    "supply",
    "seat_check",
];

/// The van's file, without what came later.
fn van_text() -> String {
    let whole = write(&van());
    let mut kept = String::new();
    // Indentation of the field that is being left out, until the line that closes it.
    let mut within: Option<usize> = None;
    for line in whole.lines() {
        let bare = line.trim_start();
        let indent = line.len() - bare.len();
        if let Some(outer) = within {
            within = (indent > outer).then_some(outer);
            continue;
        }
        if LATER.iter().any(|field| bare.starts_with(&format!("{field}: "))) {
            within = bare.ends_with(['(', '{', '[']).then_some(indent);
            continue;
        }
        kept.push_str(&line.replace(LATER_OF_A_WIRE, ""));
        kept.push('\n');
    }
    kept
}

/// The same within the line of a wire.
const LATER_OF_A_WIRE: &str = ", tapped_at: \"\", together: None";

/// The van's file with one text in it replaced, once.
fn edited(from: &str, to: &str) -> String {
    let text = van_text();
    assert!(text.contains(from), "{from} is not in\n{text}");
    text.replacen(from, to, 1)
}

fn refusal(text: &str) -> String {
    read(text).unwrap_err().to_string()
}

#[test]
fn every_slip_names_its_line_what_stands_there_and_what_to_do() {
    let mut wrong = Vec::new();
    for (from, to, told) in [
        (
            "feed_v: 5.0",
            "feed_v: \"five\"",
            "Line 21, column 17: Found `\"five\",`. A number is wanted here.",
        ),
        (
            "feed_v: 5.0",
            "feed_v: NaN",
            "Line 21, column 17: `circuit.feed_v` is NaN. It must be 0.1 to 60 volts.",
        ),
        (
            "feed_v: 5.0",
            "feed_v: 1e400",
            "Line 21, column 17: `circuit.feed_v` is inf. It must be 0.1 to 60 volts.",
        ),
        ("feed_v: 5.0,", "", "Line 26, column 5: The field `feed_v` is missing before `)),`. Add it."),
        (
            "sense_ohm: 1000.0",
            "sense_ohm: 0",
            "Line 20, column 20: `circuit.sense_ohm` is 0.0. It must be 1 to 100000000 ohms.",
        ),
        (
            "contact_ohm: 2.0",
            "contact_ohm: -2",
            "Line 23, column 22: `circuit.contact_ohm` is -2.0. It must be 0 to 100000000 ohms.",
        ),
        (
            "leak_ohm: None",
            "leak_ohm: Some(inf)",
            "Line 24, column 24: `circuit.leak_ohm` is inf. It must be 1 to 100000000 ohms.",
        ),
        (
            "reference: Supply",
            "reference: Internal(volt: 0)",
            "Line 22, column 35: `circuit.reference.volt` is 0.0. It must be 0.1 to 60 volts.",
        ),
        (
            "meter_ohm: Some(390.5)",
            "meter_ohm: Some(1e12)",
            "Line 15, column 75: `wheel.buttons[2].meter_ohm` is 1000000000000.0. It must be 0 to 100000000 ohms.",
        ),
        (
            "rest_ohm: None",
            "rest_ohm: 1",
            "Line 11, column 43: Found `1),`. Write `None`, or the value within `Some( )`.",
        ),
        (
            "1: (colour",
            "3: (colour",
            "Line 11, column 16: `wheel.wires[3]` names wire 3. Wires are numbered 1 to 2.",
        ),
        (
            "wire: Some(1)",
            "wire: Some(0)",
            "Line 14, column 51: `wheel.buttons[1].wire` names wire 0. Wires are numbered 1 to 2.",
        ),
        (
            "wire: Some(1)",
            "wire: Some(300)",
            "Line 14, column 51: Found `300), meter_ohm: Some(10…`, too large or below 0. Write a number in its range.",
        ),
        (
            "id: \"mute\"",
            "id: mute",
            "Line 14, column 18: Found `mute, name: \"Mute\", wire…`. A text in \"quotes\" is wanted here.",
        ),
        (
            "id: \"mute\"",
            "id: \"Mute!\"",
            "Line 14, column 18: Button 1 has the id \"Mute!\". An id is 1 to 32 lower-case letters, digits and `_`. 2 more values are wrong further down.",
        ),
        (
            "id: \"source\"",
            "id: \"mute\"",
            "Line 15, column 18: Buttons 1 and 2 both have the id `mute`. Give one of them another id. 2 more values are wrong further down.",
        ),
        (
            "(id: \"source\", name: \"Source\", code",
            "(id: \"mute\", name: \"Source\", code",
            "Line 63, column 18: Commands 1 and 2 both have the id `mute`. Give one of them another id. One more value is wrong further down.",
        ),
        (
            "\"source\": (",
            "\"mute\": (",
            "Line 54, column 9: `learned[mute]` stands here a second time. Keep one of them.",
        ),
        (
            "\"source\": (",
            "\"horn\": (",
            "Line 54, column 17: `learned[horn]` names the button \"horn\", which the wheel hasn't. Add that button, or name one that is there.",
        ),
        (
            "indistinct_from: None",
            "indistinct_from: Some(\"mute\")",
            "Line 52, column 35: `learned[mute].indistinct_from` names the button itself. Name the other button, or None.",
        ),
        (
            "button: \"source\"",
            "button: \"mute\"",
            "Line 84, column 9: Pairs 1 and 2 are both for a tap of the button `mute`. Keep one of them.",
        ),
        (
            "button: \"source\"",
            "button: \"horn\"",
            "Line 85, column 21: `pairs[2].button` names the button \"horn\", which the wheel hasn't. Add that button, or name one that is there.",
        ),
        (
            "command: Some(\"source\")",
            "command: Some(\"horn\")",
            "Line 87, column 27: `pairs[2].command` names the command \"horn\", which the stereo hasn't. Add that command, name one that is there, or put None.",
        ),
        (
            "gesture: tap",
            "gesture: press",
            "Line 79, column 22: `press` is not known here. Write `tap` or `hold` or `double_tap`.",
        ),
        (
            "family: \"nec\"",
            "family: \"\"",
            "Line 62, column 61: Command 1 is of the family \"\". A family is lower-case letters and digits, such as `nec`.",
        ),
        (
            "Family(family: \"nec\", address: 89, command: 21)",
            "Raw(pulses_us: [560, 560], repeat_us: None)",
            "Line 62, column 61: `stereo.commands[1].code.pulses_us` has 2 marks and spaces. A frame begins and ends with a mark, so their number is odd: leave out the last space.",
        ),
        (
            "Family(family: \"nec\", address: 89, command: 21)",
            "Raw(pulses_us: [560, -1, 560], repeat_us: Some(0))",
            "Line 62, column 67: `stereo.commands[1].code.pulses_us[2]` is -1.0. It must be 1 to 1000000 microseconds. One more value is wrong further down.",
        ),
        (
            "tried: true",
            "tried: yes",
            "Line 62, column 117: Found `yes, heard: []),`. `true` or `false` is wanted here.",
        ),
        ("buttons: [", "buttons: 7", "Line 13, column 18: Found `7`. A list in `[ ]` is wanted here."),
        ("learned: {", "learned: [", "Line 49, column 14: Found `[`. A map in `{ }` is wanted here."),
        ("presses: 3", "presses: 0", "Line 28, column 18: `plan.presses` is 0. It must be 1 to 9."),
        (
            "presses: 3",
            "presses: 2.5",
            "Line 28, column 19: Found `.5,` behind a whole number. A whole number is wanted here.",
        ),
        (
            "presses: 3,",
            "presses: 3",
            "Line 29, column 9: Found `coverage: 0.999,`. A comma is wanted before it.",
        ),
        (
            "coverage: 0.999",
            "coverage: 1",
            "Line 29, column 19: `plan.coverage` is 1.0. It must be 0.5 to 0.999999 as a share of 1.",
        ),
        (
            "dwell_ms: 32",
            "dwell_ms: 65",
            "Line 34, column 19: `plan.dwell_ms` is 65. It must be 1 to 64 milliseconds.",
        ),
        (
            "settle_count: None",
            "settle_count: Some(0.25)",
            "Line 35, column 28: `plan.settle_count` is 0.25. It must be 0.5 to 100 counts.",
        ),
        (
            "hold_ms: 600",
            "hold_ms: 50",
            "Line 36, column 18: `plan.hold_ms` is 50. It must be 100 to 10000 milliseconds.",
        ),
        (
            "double_ms: 300",
            "double_ms: 3000",
            "Line 37, column 20: `plan.double_ms` is 3000. It must be 50 to 2000 milliseconds.",
        ),
        (
            "every_ms: None",
            "every_ms: Some(120)",
            "Line 82, column 28: `pairs[1].every_ms` is 120. It must be 50 to 750 milliseconds in steps of 50, or None.",
        ),
        (
            "idle_v: Some(4.97)",
            "idle_v: Some(-4.97)",
            "Line 68, column 26: `stereo.jack.idle_v` is -4.97. It must be 0 to 60 volts.",
        ),
        (
            "loaded_a: Some(0.00045)",
            "loaded_a: Some(0.45)",
            "Line 70, column 28: `stereo.jack.loaded_a` is 0.45. It must be 0 to 0.1 amperes.",
        ),
        (
            "loaded_v: None",
            "loaded_v: Some(inf)",
            "Line 71, column 28: `stereo.jack.loaded_v` is inf. It must be 0 to 60 volts.",
        ),
        (
            "contact: Some(tip)",
            "contact: Some(sleeve)",
            "Line 66, column 27: `sleeve` is not known here. Write `tip` or `ring` or `second_ring` or `wire`.",
        ),
        (
            "wants: Some(pulses)",
            "wants: Some(light)",
            "Line 72, column 25: `light` is not known here. Write `pulses` or `resistances`.",
        ),
        (
            "feed_monitor: None",
            "feed_monitor: Some((upper_ohm: 0, lower_ohm: 10000))",
            "Line 25, column 40: `circuit.feed_monitor.upper_ohm` is 0.0. It must be 1 to 100000000 ohms.",
        ),
        (
            "readings: 300",
            "readings: 0",
            "Line 51, column 73: `learned[mute].presses[1].readings` is 0. It must be 1 or more.",
        ),
        (
            "median_count: 1000.0",
            "median_count: 4000",
            "Line 44, column 27: `rests[1].median_count` is 4000.0. It must be 0 to 1024 counts.",
        ),
        (
            "name: \"Source\"",
            "name: \"Source\", name: \"x\"",
            "Line 15, column 44: The field `name` stands here a second time. Keep one of them.",
        ),
        ("format: 1", "format: 0", "Line 3, column 13: `format` is 0. This program reads format 1."),
        ("format: 1", "format: one", "Line 3, column 13: Found `one,`. A whole number is wanted here."),
    ] {
        let found = refusal(&edited(from, to));
        if found != format!("{told} The file was left as it was.") {
            wrong.push(format!("{from} -> {to}\n  {told}\n  {found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_sweep_of_an_unknown_family_is_left_out_and_nothing_is_lost() {
    let sweep = "sweep: Some((range: (family: \"morse\", addresses: (0, 900000), commands: (7, 3)), pace_ms: 1, next: 9, marks: [(at: 21, command: Some(\"gone\"))]))";
    let text = edited("sweep: None", sweep);
    let opened = read(&text).unwrap();
    assert_eq!(opened.project, read(&van_text()).unwrap().project, "all but the sweep");
    let line = 1 + text[..text.find("sweep: Some").unwrap()].matches('\n').count();
    assert_eq!(opened.warnings, [Warning::UnknownSweep { line, family: "morse".to_owned() }]);
    assert_eq!(
        opened.warnings[0].to_string(),
        format!(
            "Line {line}: the sweep kept in the file runs through codes of \"morse\", which this program doesn't know. It is left out here; everything else is there."
        )
    );
    // It can't be saved over the file, where the sweep still is.
    let said = opened.read_only.unwrap().to_string();
    assert!(said.contains(&format!("This program doesn't know `stereo.sweep` in line {line}.")), "{said}");
    // What an edit makes is still held to the families there are.
    let mut project = van();
    let good =
        sweep.replace("\"morse\"", "\"nec\"").replace("(0, 900000)", "(89, 89)").replace("(7, 3)", "(3, 7)");
    let good = good
        .replace("pace_ms: 1,", "pace_ms: 1000,")
        .replace("next: 9, marks: [(at: 21, command: Some(\"gone\"))]", "next: 2");
    project.stereo.sweep = read(&edited("sweep: None", &good)).unwrap().project.stereo.sweep;
    project.stereo.sweep.as_mut().unwrap().range.family.0 = "morse".to_owned();
    let faults = project.check_values();
    assert!(faults[0].what.contains("\"morse\" is no family that can be swept"), "{faults:?}");
}

#[test]
fn a_sweep_that_can_not_be_says_what_its_values_may_be() {
    let good = "sweep: Some((range: (family: \"nec\", addresses: (89, 89), commands: (0, 127)), pace_ms: 1000, next: 128, marks: [(at: 21, command: Some(\"mute\")), (at: 127)]))";
    let with = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        edited("sweep: None", &good.replacen(from, to, 1))
    };
    let sweep = read(&with("pace_ms", "pace_ms")).unwrap().project.stereo.sweep.unwrap();
    assert_eq!((sweep.range.len(), sweep.next, sweep.marks.len()), (128, 128, 2));
    let mut wrong = Vec::new();
    for (from, to, told) in [
        (
            "pace_ms: 1000",
            "pace_ms: 499",
            "`stereo.sweep.pace_ms` is 499. It must be 500 to 10000 milliseconds.",
        ),
        (
            "pace_ms: 1000",
            "pace_ms: 10001",
            "`stereo.sweep.pace_ms` is 10001. It must be 500 to 10000 milliseconds.",
        ),
        (
            "(0, 127)",
            "(0, 256)",
            "`stereo.sweep.range`: The last command is 100, and nec ends at FF. End the range there.",
        ),
        (
            "(89, 89)",
            "(90, 89)",
            "`stereo.sweep.range`: The first address is 5A and the last 59. Exchange them.",
        ),
        (
            "(89, 89)",
            "(88, 90)",
            "`stereo.sweep.range`: These are 384 codes, 128 more than the 256 of one run. Begin with addresses 58 to 59, commands 00 to 7F; 2 runs hold them all.",
        ),
        (
            "next: 128",
            "next: 129",
            "`stereo.sweep.next` is 129. The sweep has 128 codes, so it must be 0 to 128.",
        ),
        (
            "at: 127",
            "at: 128",
            "`stereo.sweep.marks[2].at` is 128. The sweep has 128 codes, numbered from 0.",
        ),
        ("at: 127", "at: 21", "Marks 1 and 2 of the sweep both are at 21. Keep one of them."),
        (
            "Some(\"mute\")",
            "Some(\"horn\")",
            "`stereo.sweep.marks[1].command` names the command \"horn\", which the stereo hasn't. Add that command, name one that is there, or put None.",
        ),
    ] {
        let found = refusal(&with(from, to));
        if !found.ends_with(&format!(": {told} The file was left as it was.")) {
            wrong.push(format!("{from} -> {to}\n  {told}\n  {found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let many = with("at: 127)", &format!("at: 127), {}", "(at: 1),".repeat(256)));
    assert!(refusal(&many).contains("`stereo.sweep.marks` has 258 marks. At most 256 can be kept."));
}

#[test]
fn too_many_of_anything_is_refused_at_once() {
    let many = |count: usize, entry: &str| entry.repeat(count);
    let button = "(id: \"a\", name: \"\"),";
    for (from, to, told) in [
        (
            "buttons: [",
            format!("buttons: [{}", many(17, button)),
            "Line 13, column 18: `wheel.buttons` has 19 buttons. At most 16 can be kept.",
        ),
        (
            "presses: [",
            format!(
                "presses: [{}",
                many(100, "(median_count: 1, spread_count: 1, readings: 1, touch: firm),")
            ),
            "Line 51, column 22: `learned[mute].presses` has 103 presses. At most 99 can be kept.",
        ),
        (
            "name: \"Brindle Linnet\"",
            format!("name: {:?}", "é".repeat(121)),
            "Line 5, column 15: `vehicle.name` has 121 characters. At most 120 can be kept.",
        ),
    ] {
        assert_eq!(refusal(&edited(from, &to)), format!("{told} The file was left as it was."));
    }
    let huge = edited("buttons: [", &format!("buttons: [{}", many(150_000, button)));
    assert!(refusal(&huge).contains("has 150002 buttons"));
    assert_eq!(
        refusal(&" ".repeat(MAX_BYTES + 1)),
        "The file has 4194305 bytes and a project at most 4194304. Choose the project's own file; this one was left as it was."
    );
}

#[test]
fn a_file_that_is_no_project_says_so() {
    for (text, told) in [
        ("", "Line 1, column 1: The file is empty. Choose another, or begin a new project."),
        ("  \n", "Line 2, column 1: The file is empty. Choose another, or begin a new project."),
        (
            "hello",
            "Line 1, column 1: Found `hello`. Fields in `( )` are wanted here, with no name before them.",
        ),
        ("{}", "Line 1, column 1: Found `{}`. Fields in `( )` are wanted here."),
        ("(format: 1)", "Line 1, column 11: The field `vehicle` is missing before `)`. Add it."),
        (
            "t_ms,wire1\n0,1023\n",
            "Line 1, column 1: Found `t_ms,wire1`. Fields in `( )` are wanted here, with no name before them.",
        ),
    ] {
        assert_eq!(refusal(text), format!("{told} The file was left as it was."), "{text:?}");
    }
    let deep = format!("(format: 1, vehicle: (name: \"\"), later: {}", "[".repeat(100_000));
    assert!(refusal(&deep).contains("Brackets are nested too deep."), "{}", refusal(&deep));
}

#[test]
fn a_file_cut_anywhere_is_refused_with_its_last_line() {
    let whole = van_text();
    let body = whole.trim_end().len();
    for end in (0..body).filter(|&end| whole.is_char_boundary(end)) {
        let told = refusal(&whole[..end]);
        assert!(told.starts_with("Line "), "{end}: {told}");
    }
    let told = refusal(&whole[..whole.find("coverage").unwrap()]);
    assert_eq!(
        told,
        "Line 29, column 9: The file ends in the middle. It may have been cut off: open the backup beside it, which ends in `.ron.bak`. The file was left as it was."
    );
}

#[test]
fn a_field_of_another_program_opens_read_only_and_is_named_with_its_line() {
    for (from, to, place, line) in [
        ("converter: TenBit", "converter: TenBit, later: {1: [(a: b)]}", "plan.later", 33),
        ("feed_v: 5.0", "feed_v: 5.0, feed_max_v: 5.5", "circuit.feed_max_v", 21),
        ("median_count: 93.5", "median_count: 93.5, skew: 1", "learned[mute].presses[1].skew", 51),
        ("address: 89", "address: 89, toggles: true", "stereo.commands[1].code.toggles", 62),
        ("repeats: false", "repeats: false,\n note: \"x\"", "pairs[1].note", 82),
        ("colour: \"WHGN\"", "colour: \"WHGN\", r#gauge: 0.5", "wheel.wires[1].gauge", 11),
    ] {
        let opened = read(&edited(from, to)).unwrap();
        let told = opened.read_only.clone().map(|reason| reason.to_string());
        assert_eq!(
            told.as_deref(),
            Some(format!("The file is open for reading only, so that nothing in it is lost. This program doesn't know `{place}` in line {line}. Correct the spelling in a text editor, or save a copy under another name.").as_str())
        );
        let mut known = van();
        (known.wheel.back, known.wheel.check) = Default::default();
        assert_eq!(opened.project, known, "what is known is read");
    }
}

#[test]
fn many_unknown_fields_are_counted() {
    let opened = read(&edited("format: 1", "format: 1, a: 1, b: 2, c: 3,\n d: 4, e: 5, f: 6")).unwrap();
    let told = opened.read_only.unwrap().to_string();
    assert!(
        told.contains("`a` in line 3, `b` in line 3, `c` in line 3, `d` in line 4 and 2 more."),
        "{told}"
    );
}

#[test]
fn a_newer_format_opens_read_only_even_where_every_field_is_known() {
    let opened = read(&edited("format: 1", "format: 2")).unwrap();
    assert_eq!(opened.read_only, Some(ReadOnly::Newer { found: 2, unknown: vec![] }));
    assert_eq!(opened.project.format, FORMAT, "a copy of it is written in this program's format");
    let text = edited("format: 1", "format: 7").replacen("TenBit", "TenBit, later: 1", 1);
    assert_eq!(
        read(&text).unwrap().read_only.unwrap().to_string(),
        "The file has format 7, this program writes format 1: it is open for reading only, so that nothing in it is lost. This program doesn't know `plan.later` in line 33. Use a newer version to change it, or save a copy under another name."
    );
}

#[test]
fn a_newer_format_that_cannot_be_followed_says_that_it_is_newer() {
    let text = edited("format: 1", "format: 2").replacen("tap", "squeeze", 1);
    assert_eq!(
        refusal(&text),
        "The file has format 2 and this program reads up to 1; it stops at line 79, column 22: `squeeze` is not known here. Open it with a newer version. The file was left as it was."
    );
    let text = edited("format: 1", "format: 2").replacen("readings: 300", "readings: 0", 1);
    assert!(matches!(read(&text), Err(ReadError::Newer { found: 2, line: 51, .. })));
}

#[test]
fn comments_of_a_person_are_warned_about_and_our_own_is_not() {
    let opened = read(&edited("\n    vehicle", "\n    // the blue one\n    vehicle")).unwrap();
    assert_eq!(opened.warnings, [Warning::Comments { line: 4 }]);
    assert_eq!(
        opened.warnings[0].to_string(),
        "Line 4: comments in the file are not kept when it is saved. Move what matters to the vehicle's note."
    );
    assert_eq!(opened.read_only, None);
    assert_eq!(read(&write(&van())).unwrap().warnings, []);
}

#[test]
fn other_ways_to_write_the_same_are_read_without_loss() {
    let text = write(&van());
    let loose = format!("\u{FEFF}#![enable(implicit_some)]\n{text}")
        .replace("wire: Some(1)", "wire: 1")
        .replace("    1: (", "    0x1: (")
        .replace('\n', "\r\n");
    let opened = read(&loose).unwrap();
    assert_eq!(opened.project, van());
    assert_eq!(opened.read_only, None);
}

#[test]
fn the_least_project_is_read_with_defaults() {
    let opened = read("(format: 1, vehicle: (name: \"Linnet\"), wheel: ())").unwrap();
    assert_eq!(opened.project, Project::new("Linnet", ""));
}

/// What a slip of the hand leaves in a file.
fn slips() -> impl Strategy<Value = Vec<(usize, usize, String)>> {
    let piece = prop_oneof![
        any::<char>().prop_map(String::from),
        prop::sample::select(vec![
            "(",
            ")",
            "[",
            "]",
            "{",
            "}",
            ",",
            ":",
            "\"",
            "//",
            "/*",
            "*/",
            "r#\"",
            "\\",
            "'",
            "Some(",
            "None",
            "NaN",
            "-inf",
            "1e999",
            "9999999999999999999999",
            "-1",
            "_",
            "b'",
            "#",
            "\n"
        ])
        .prop_map(str::to_owned),
        Just(String::new()),
    ];
    prop::collection::vec(
        (any::<prop::sample::Index>().prop_map(|at| at.index(1 << 20)), 0_usize..6, piece),
        1..5,
    )
}

fn slipped(text: &str, slips: &[(usize, usize, String)]) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    for (at, gone, piece) in slips {
        let at = at % (letters.len() + 1);
        let end = (at + gone).min(letters.len());
        letters.splice(at..end, piece.chars());
    }
    letters.into_iter().collect()
}

/// A refusal names its line; what is read can be written and read again.
fn answered(text: &str) -> Result<(), TestCaseError> {
    match read(text) {
        Err(error) => {
            let told = error.to_string();
            prop_assert!(told.contains("ine "), "{told}");
            let line: usize = told
                .split("ine ")
                .nth(1)
                .and_then(|rest| rest.split(',').next())
                .and_then(|line| line.parse().ok())
                .unwrap_or(0);
            prop_assert!((1..=text.split('\n').count()).contains(&line), "{told}");
        }
        Ok(opened) => {
            let again =
                read(&write(&opened.project)).map_err(|error| TestCaseError::fail(error.to_string()))?;
            prop_assert_eq!(again.project, opened.project);
            prop_assert_eq!(again.read_only, None);
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn a_written_project_reads_back_the_same(project in any_project()) {
        prop_assert_eq!(project.check_values(), vec![]);
        let text = write(&project);
        let opened = read(&text).map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
        prop_assert_eq!(&opened.project, &project);
        prop_assert_eq!(opened.warnings, vec![]);
        prop_assert_eq!(opened.read_only, None);
        // Equality takes 0 for -0; the text doesn't.
        prop_assert_eq!(write(&opened.project), text);
    }

    #[test]
    fn any_text_is_answered(text in prop_oneof!["\\PC{0,200}", "[\\[\\](){}:,\"'r#/*\\\\ a-z0-9.\n-]{0,200}"]) {
        answered(&text)?;
    }

    #[test]
    fn a_file_with_slips_is_answered(project in any_project(), slips in slips()) {
        answered(&slipped(&write(&project), &slips))?;
    }

    #[test]
    fn whatever_ron_reads_as_a_project_can_be_followed(slips in slips()) {
        let text = slipped(&write(&van()), &slips);
        if ron::from_str::<Project>(&text).is_ok() {
            prop_assert!(super::outline::Outline::of(&text).is_ok(), "{}", text);
        }
    }

    #[test]
    fn a_field_more_is_seen_wherever_it_stands(project in any_project(), at in any::<prop::sample::Index>()) {
        let text = write(&project);
        let spots = field_spots(&text);
        let spot = *at.get(&spots);
        let line = 1 + text[..spot].matches('\n').count();
        let more = format!("{}zzz: [(x: 1)], {}", &text[..spot], &text[spot..]);
        let opened = read(&more).map_err(|error| TestCaseError::fail(format!("{error}\n{more}")))?;
        let Some(ReadOnly::UnknownFields { unknown }) = opened.read_only else {
            return Err(TestCaseError::fail(format!("{:?}\n{more}", opened.read_only)));
        };
        prop_assert_eq!(unknown.len(), 1);
        prop_assert!(unknown[0].place.to_string().ends_with("zzz"));
        prop_assert_eq!(unknown[0].line, line);
        prop_assert_eq!(opened.project, project);
    }
}

/// Where fields' names begin in a written project. Texts are blanked first: they may hold anything.
fn field_spots(text: &str) -> Vec<usize> {
    let mut bytes = text.as_bytes().to_vec();
    let (mut quoted, mut escaped) = (false, false);
    for byte in bytes.iter_mut().skip(text.find('\n').unwrap()) {
        match *byte {
            _ if escaped => escaped = false,
            b'\\' if quoted => escaped = true,
            b'"' => quoted = !quoted,
            _ => {}
        }
        if quoted {
            *byte = b'.';
        }
    }
    let names = [
        "format",
        "name",
        "topology",
        "sense",
        "volt",
        "presses",
        "coverage",
        "median_count",
        "touch",
        "family",
        "command",
        "pulses_us",
        "origin",
        "gesture",
        "repeats",
        "rest_ohm",
        "wire",
        "series_ohm",
        "leak_ohm",
    ];
    let blanked = String::from_utf8_lossy(&bytes).into_owned();
    names
        .iter()
        .flat_map(|name| {
            let field = format!("{name}: ");
            blanked.match_indices(&field).map(|(spot, _)| spot).collect::<Vec<_>>()
        })
        .filter(|&spot| matches!(bytes[spot - 1], b' ' | b'('))
        .collect()
}

#[test]
fn a_file_from_before_the_meter_check_of_the_jack_opens_with_nothing_noted() {
    let text = write(&van());
    let from = text.find("        jack: (").unwrap();
    let to = from + text[from..].find("        ),\n").unwrap() + "        ),\n".len();
    let opened = read(&format!("{}{}", &text[..from], &text[to..])).unwrap();
    assert!(!opened.project.stereo.jack.is_begun());
    assert_eq!(opened.read_only, None);
}
