//! The commands as a person or a script runs them: the program itself, its output, its errors and
//! its exit status.
#![expect(clippy::expect_used, reason = "the helpers of a test may fail it")]

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};
use spokewire::project::{ButtonId, Project, read};

/// `tests/golden/van`: invented for these tests.
const VAN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/van/van.ron");

const HALF_KILOHM: &str = r#"{"feed_v":5,"sense":"pull_up","topology":"parallel","ladder_ohm":[250,1000],"sense_ohm":1000,"pressed":[2]}"#;

/// The output stage as wired, on a usual line.
const WIRED: &str = r#"{"drive_v":5,"base_ohm":4700,"base_pulldown_ohm":47000,"series_ohm":0,"pull_up_ohm":10000,"pull_up_v":5,"line_farad":1e-9,"mark_us":562.5,"device":"2N3904"}"#;

/// The program, with a state folder of its own where a folder is given.
fn spokewire(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_spokewire"));
    command.args(words).env("XDG_STATE_HOME", std::env::temp_dir().join("spokewire-test-state"));
    command
}

fn ran_on(words: &[&str], input: &[u8]) -> Output {
    let mut child = spokewire(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    // Who has seen enough closes its input.
    let _ = child.stdin.take().expect("its input").write_all(input);
    child.wait_with_output().expect("it ends")
}

fn ran(words: &[&str]) -> Output {
    ran_on(words, &[])
}

fn out(output: &Output) -> &str {
    std::str::from_utf8(&output.stdout).expect("text")
}

fn said(output: &Output) -> &str {
    std::str::from_utf8(&output.stderr).expect("text")
}

/// Standard output as one JSON document on one line, of a command that went well and said nothing.
fn document(words: &[&str], input: &[u8]) -> Value {
    let output = ran_on(words, input);
    assert_eq!((output.status.code(), said(&output)), (Some(0), ""), "{words:?}");
    assert!(out(&output).ends_with('\n') && out(&output).lines().count() == 1, "{}", out(&output));
    serde_json::from_str(out(&output)).expect("JSON")
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

/// A failure: nothing on standard output, no panic, this exit status, and these words.
fn fails(output: &Output, status: i32, words: &str) {
    let said = said(output);
    assert_eq!((output.status.code(), out(output)), (Some(status), ""), "{said}");
    assert!(said.contains(words) && !said.contains("panicked"), "wanted \"{words}\": {said}");
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("van.ron");
    (folder, file)
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").file_name());
    let mut names: Vec<_> = entries.map(|name| name.into_string().expect("text")).collect();
    names.sort();
    names
}

fn project(file: &Path) -> Project {
    read(&fs::read_to_string(file).expect("a file")).expect("a project").project
}

fn text(path: &Path) -> &str {
    path.to_str().expect("text")
}

#[test]
fn together_gives_its_keys_and_the_nearer_tap_of_each_pair() {
    let document = document(&["together", VAN, "--json"], &[]);
    assert_eq!(keys(&document), ["pairs"]);
    let pairs = document["pairs"].as_array().expect("a list");
    assert_eq!(keys(&pairs[0]), ["buttons", "count", "falls_on", "ohm", "volt", "wire"]);
    let falls: Vec<_> =
        pairs.iter().map(|pair| (pair["buttons"].clone(), pair["falls_on"].clone())).collect();
    assert_eq!(
        falls,
        [("volume_up", "next", "volume_up"), ("volume_up", "mute", "volume_up"), ("next", "mute", "next")]
            .map(|(a, b, on)| (json!([a, b]), json!(on)))
    );
    // The van was learned: Next is masked into 358, its learned centre, not 357 by the meter.
    assert_eq!(pairs[2]["count"], json!(358));
}

#[test]
fn yield_counts_the_same_boxes_on_any_number_of_threads_and_refuses_none() {
    let on = |threads| {
        document(&["yield", VAN, "--boxes", "20000", "--seed", "3", "--threads", threads, "--json"], &[])
    };
    let one = on("1");
    assert_eq!(keys(&one), ["boxes", "misreading_boxes", "per_button"]);
    assert_eq!(one["boxes"], json!(20_000));
    for button in one["per_button"].as_array().expect("a list") {
        assert_eq!(keys(button), ["as", "id", "ignored", "misread"]);
        let most = button["as"].as_object().expect("an object").values().filter_map(Value::as_u64).max();
        assert!(most.unwrap_or(0) <= button["misread"].as_u64().expect("a number"), "{button}");
    }
    assert_eq!(on("3"), one);
    for boxes in ["0", "1000000000000"] {
        let output = ran(&["yield", VAN, "--boxes", boxes]);
        assert_eq!((output.status.code(), out(&output)), (Some(2), ""));
        assert_eq!(
            said(&output),
            format!(
                "{boxes} boxes can't be built. Ask for 1 to 1000000000; a million tells one in 100 000.\n"
            )
        );
    }
    assert_eq!(ran(&["yield", VAN, "--threads", "0"]).status.code(), Some(2));
}

#[test]
fn predict_gives_its_keys_and_what_ohms_law_says() {
    // floor(1024 · R / (R + 1000)) and 5 V · R / (R + 1000), worked out by hand.
    let document = document(&["predict", VAN, "--json"], &[]);
    assert_eq!(keys(&document), ["buttons", "rests", "smallest_gap_count"]);
    let buttons = document["buttons"].as_array().expect("a list");
    assert_eq!(keys(&buttons[0]), ["count", "id", "ohm", "volt", "wire"]);
    let counts: Vec<_> = buttons.iter().map(|b| (b["id"].clone(), b["count"].clone())).collect();
    assert_eq!(
        counts,
        [("volume_up", 79), ("next", 357), ("mute", 849)].map(|(id, n)| (json!(id), json!(n)))
    );
    assert!((buttons[0]["volt"].as_f64().expect("volts") - 0.387_453_87).abs() < 1e-6);
    assert_eq!(keys(&document["rests"][0]), ["count", "volt", "wire"]);
    assert_eq!((&document["rests"][0]["count"], &document["smallest_gap_count"]), (&json!(959), &json!(110)));
}

#[test]
fn bands_gives_its_keys_and_a_band_around_each_centre() {
    let document = document(&["bands", VAN, "--json"], &[]);
    assert_eq!(keys(&document), ["buttons"]);
    let buttons = document["buttons"].as_array().expect("a list");
    for (button, (id, centre)) in buttons.iter().zip([("volume_up", 82.0), ("next", 358.0), ("mute", 849.0)])
    {
        assert_eq!(
            keys(button),
            [
                "centre_count",
                "headroom_ohm",
                "high_count",
                "id",
                "low_count",
                "separation_sigma",
                "verdict",
                "wire"
            ]
        );
        assert_eq!(
            (&button["id"], &button["centre_count"], &button["wire"]),
            (&json!(id), &json!(centre), &json!(1))
        );
        let number = |key: &str| button[key].as_f64().expect("a number");
        assert!(number("low_count") < centre && centre < number("high_count"), "{button}");
        assert!(number("separation_sigma") > 10.0 && number("headroom_ohm") > 50.0, "{button}");
        assert!(button["verdict"].as_str().expect("words").contains(" counts apart: safe to "), "{button}");
    }
    assert_eq!(buttons.len(), 3);
}

#[test]
fn check_gives_its_keys_and_fails_only_for_errors() {
    // All is done on paper; what is left is the seat.
    let findings = document(&["check", VAN, "--json"], &[]);
    let found = findings["findings"].as_array().expect("a list");
    assert_eq!(found.len(), 1, "{findings}");
    assert_eq!(keys(&found[0]), ["do", "level", "what", "where"]);
    assert_eq!((&found[0]["level"], &found[0]["where"]), (&json!("note"), &json!("seat_check")));
    let (_folder, file) = folder();
    let unpaired =
        fs::read_to_string(VAN).expect("the golden project").replace("Some(\"mute\"), rep", "None, rep");
    fs::write(&file, unpaired.replace("1: (\n", "2: (\n")).expect("written");
    let output = ran(&["check", text(&file), "--json"]);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    let document: Value = serde_json::from_str(out(&output)).expect("JSON");
    assert_eq!(keys(&document), ["findings"]);
    let findings = document["findings"].as_array().expect("a list");
    assert_eq!(keys(&findings[0]), ["do", "level", "what", "where"]);
    assert_eq!((&findings[0]["level"], &findings[0]["where"]), (&json!("error"), &json!("rests.1")));
}

#[test]
fn image_gives_its_keys_the_slots_bytes_and_a_header_that_compiles() {
    let (folder, _) = folder();
    let (bin, header) = (folder.path().join("van.bin"), folder.path().join("van.h"));
    let summary = document(&["image", VAN, "-o", text(&bin), "--header", text(&header), "--json"], &[]);
    assert_eq!(keys(&summary), ["bytes", "check", "fits", "of"]);
    let slot = fs::read(&bin).expect("the image");
    let body = &slot[8..];
    assert_eq!(
        (&summary["bytes"], &summary["of"], &summary["fits"]),
        (&json!(body.len()), &json!(472), &json!(true))
    );
    assert_eq!(slot[..6], [0xB5, 1, 0, 0xFF, body.len() as u8, 0]);
    let check = u16::from_le_bytes([slot[6], slot[7]]);
    assert_eq!((&summary["check"], spokewire::image::check(body)), (&json!(format!("{check:04X}")), check));
    let image = spokewire::image::Image::from_body(body).expect("an image");
    assert_eq!(image.buttons.len(), project(Path::new(VAN)).wheel.buttons.len());
    let program = folder.path().join("main.c");
    fs::write(&program, "#include \"van.h\"\nint main(void) { return spokewire_rests[0].low > 1023u; }\n")
        .expect("written");
    let output = Command::new("cc")
        .current_dir(folder.path())
        .args(["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-o", "main", "main.c"])
        .output()
        .expect("cc");
    assert!(output.status.success(), "{}", said(&output));
    let told = ran(&["image", VAN]);
    assert!(
        out(&told).starts_with(&format!("The image has {} of 472 bytes, check {check:04X}: ", body.len())),
        "{}",
        out(&told)
    );
}

#[test]
fn image_says_what_does_not_fit_and_by_how_much() {
    let (_folder, file) = folder();
    let raw = fs::read_to_string(VAN).expect("the golden project").replacen(
        "code: Family(",
        "code: Raw(pulses_us: [900, 42, 900], repeat_us: None), tried: true), (id: \"spare\", name: \"Spare\", code: Family(",
        1,
    );
    fs::write(&file, raw).expect("written");
    let output = ran(&["image", text(&file), "--json"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(out(&output), "{\"bytes\":null,\"of\":472,\"check\":null,\"fits\":false}\n");
    assert!(
        said(&output).contains("Timing 2 is 42 µs, 8 µs shorter than the 50 µs that can be sent."),
        "{}",
        said(&output)
    );
}

#[test]
fn replay_gives_what_the_box_would_decide() {
    let (folder, _) = folder();
    let csv = folder.path().join("samples.csv");
    let van = project(Path::new(VAN));
    let button = &van.wheel.buttons[0];
    let pressed = van.learned[&button.id].presses[0].median_count.round();
    let rest = van.rests[&1].median_count.round();
    let write = |step_ms: u32| {
        let mut rows = "t_ms,wire1\n".to_owned();
        for t_ms in (0..1_000).step_by(step_ms as usize) {
            let count = if (300..400).contains(&t_ms) { pressed } else { rest };
            rows.push_str(&format!("{t_ms},{count}\n"));
        }
        fs::write(&csv, rows).expect("written");
    };
    for step_ms in [1, 10] {
        write(step_ms);
        let document = document(&["replay", VAN, text(&csv), "--json"], &[]);
        assert_eq!(keys(&document), ["events"]);
        let events = document["events"].as_array().expect("a list");
        assert_eq!(events.len(), 1, "{document}");
        assert_eq!(keys(&events[0]), ["button", "gesture", "t_ms"]);
        assert_eq!((&events[0]["button"], &events[0]["gesture"]), (&json!(button.id), &json!("tap")));
        let t_ms = events[0]["t_ms"].as_f64().expect("a time");
        let dwell_ms = f64::from(van.plan.dwell_ms);
        assert!((300.0 + dwell_ms - 1.0..=300.0 + dwell_ms + 12.0).contains(&t_ms), "{t_ms}");
    }
    let told = ran(&["replay", VAN, text(&csv)]);
    assert!(out(&told).ends_with(", tap\n1 gesture.\n"), "{}", out(&told));
    let none = ran(&["replay", VAN, "/nowhere/samples.csv"]);
    assert_eq!(none.status.code(), Some(1));
    assert!(said(&none).starts_with("\"/nowhere/samples.csv\" can't be opened: "), "{}", said(&none));
}

#[test]
fn node_gives_its_keys_and_what_ohms_law_says() {
    let document = document(&["node", "--json"], HALF_KILOHM.as_bytes());
    assert_eq!(keys(&document), ["feed_amp", "volt"]);
    // 1 kΩ to ground under 1 kΩ to 5 V: half of it, and 2.5 mA.
    assert_eq!(document, json!({"volt": 2.5, "feed_amp": 0.0025}));
    assert_eq!(
        out(&ran_on(&["node"], HALF_KILOHM.as_bytes())),
        "2.50 V at the sense node, 2.500 mA from the feed.\n"
    );
}

#[test]
fn stage_gives_its_keys_and_less_than_the_datasheets_volts() {
    let document = document(&["stage", "--json"], WIRED.as_bytes());
    assert_eq!(keys(&document), ["low_v", "mark_at_line_us", "saturated", "turn_off_us"]);
    // 2N3904 datasheet: VCE(sat) at most 0.2 V at 10 mA; here 0.5 mA flow.
    assert!(document["low_v"].as_f64().expect("volts") < 0.2 && document["saturated"] == true);
    // 10 kΩ and 1 nF to 70 %: 12.04 µs, and the transistor's charge before it.
    let turn_off_us = document["turn_off_us"].as_f64().expect("microseconds");
    assert!((12.0..13.0).contains(&turn_off_us), "{turn_off_us}");
    let mark_us = document["mark_at_line_us"].as_f64().expect("microseconds");
    assert!((mark_us - 562.5 - turn_off_us).abs() < 1.0, "{mark_us}");
    let output = ran_on(&["stage"], WIRED.as_bytes());
    let told = out(&output);
    assert!(told.starts_with("The line goes to 0.03 V") && told.ends_with("It will do.\n"), "{told}");
}

#[test]
fn what_code_encode_prints_code_decode_reads() {
    let words = ["code", "encode", "--family", "nec", "--address", "0x59", "--command", "22", "--json"];
    let pulses = document(&words, &[]);
    assert_eq!(keys(&pulses), ["pulses_us"]);
    // A leader of 9 and 4.5 ms, 32 bits of two pulses, and the mark that ends the last.
    let list = pulses["pulses_us"].as_array().expect("a list");
    assert_eq!((list.len(), &list[0], &list[1]), (67, &json!(9000.0), &json!(4500.0)));
    let decoded = json!({"family": "nec", "address": 89, "command": 22, "toggle": null, "repeat": false});
    for input in [pulses.to_string(), pulses["pulses_us"].to_string()] {
        assert_eq!(document(&["code", "decode", "--json"], input.as_bytes()), decoded);
    }
    assert!(
        out(&ran_on(&["code", "decode"], pulses.to_string().as_bytes()))
            .starts_with("nec address 59 command 16\n1 frame; marks as sent\n")
    );
}

#[test]
fn code_list_gives_its_keys_and_takes_back_what_it_gave() {
    let families = document(&["code", "list", "--json"], b"");
    assert_eq!(keys(&families), ["families"]);
    assert_eq!(
        keys(&families["families"][0]),
        ["about", "address_max", "carrier_hz", "command_max", "id", "repeat", "repeat_period_us", "toggle"]
    );
    let listed = document(&["code", "list", VAN, "--json"], b"");
    assert_eq!(keys(&listed), ["commands"]);
    assert_eq!(
        keys(&listed["commands"][0]),
        ["address", "command", "family", "free", "id", "name", "origin", "pulses_us", "repeat_us", "tried"]
    );
    let (folder, van) = folder();
    let list = folder.path().join("list.csv");
    fs::copy(VAN, &van).expect("a copy");
    assert!(ran(&["code", "list", text(&van), "-o", text(&list)]).status.success());
    let before = project(&van);
    let mut bare = before.clone();
    bare.stereo.commands.clear();
    for pair in &mut bare.pairs {
        pair.command = None;
    }
    fs::write(&van, spokewire::project::write(&bare)).expect("written");
    let taken = document(&["code", "list", text(&van), "--import", text(&list), "--json"], b"");
    assert_eq!(keys(&taken), ["faults", "same", "saved", "taken"]);
    assert_eq!(taken["taken"].as_array().map(Vec::len), Some(before.stereo.commands.len()));
    assert_eq!(project(&van).stereo.commands, before.stereo.commands);
    let bad = folder.path().join("bad.csv");
    fs::write(&bad, "name,family,address,command\nSeek,nec,1,\n").expect("written");
    fails(
        &ran(&["code", "list", text(&van), "--import", text(&bad)]),
        1,
        "Nothing was taken: the list has 1 fault. Mend it.",
    );
    assert_eq!(project(&van).stereo.commands, before.stereo.commands);
}

/// IEC 60063's E24, and for each value what `predict` says of it.
#[test]
fn plan_gives_its_keys_and_the_gaps_that_predict_gives() {
    let plan = document(&["plan", VAN, "--series", "E24", "--json"], &[]);
    assert_eq!(keys(&plan), ["choice_ohm", "curve", "smallest_gap_count"]);
    let curve = plan["curve"].as_array().expect("a curve");
    let choice = curve.iter().find(|value| value[0] == plan["choice_ohm"]).expect("it is on the curve");
    assert_eq!(choice[1], plan["smallest_gap_count"]);
    let (_folder, file) = folder();
    for value in curve.iter().step_by(7).chain([choice]) {
        let mut van = project(Path::new(VAN));
        van.circuit.as_mut().expect("a circuit").sense_ohm = value[0].as_f64().expect("ohms");
        fs::write(&file, spokewire::project::write(&van)).expect("written");
        let predicted = document(&["predict", text(&file), "--json"], &[]);
        assert_eq!(predicted["smallest_gap_count"], value[1], "{value}");
    }
    let ohms = curve.iter().filter_map(|value| value[0].as_f64());
    let decade: Vec<f64> = ohms.filter(|ohm| (100.0..1e3).contains(ohm)).collect();
    let e24 =
        [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];
    assert_eq!(decade, e24.map(|value| 10.0 * f64::from(value)));

    let output = ran(&["plan", VAN, "--drawer", "470,1k,4k7"]);
    for wanted in
        ["Take ", " of E24: smallest gap ", "Next best: ", "Of the drawer: ", "The circuit has 1.0 kΩ"]
    {
        assert!(out(&output).contains(wanted), "{wanted}: {}", out(&output));
    }
}

#[test]
fn a_plan_that_can_not_be_made_says_what_is_missing() {
    fails(&ran(&["plan", VAN, "--series", "E25"]), 2, "take one of E12, E24, E48, E96");
    fails(&ran(&["plan", VAN, "--drawer", "470,x"]), 2, "write it like 470, 4.7k or 4k7");
    let (_folder, file) = folder();
    let mut van = project(Path::new(VAN));
    let write = |van: &Project| fs::write(&file, spokewire::project::write(van)).expect("written");
    van.wheel.buttons[1].meter_ohm = van.wheel.buttons[0].meter_ohm;
    write(&van);
    fails(&ran(&["plan", text(&file), "--json"]), 1, "Over no value can all buttons be told apart");
    van.wheel.buttons[1].meter_ohm = None;
    write(&van);
    fails(&ran(&["plan", text(&file)]), 1, "Meter each while pressed and enter it at the Wheel station.");
    van.circuit = None;
    write(&van);
    fails(&ran(&["plan", text(&file)]), 1, "The project has no sense circuit.");
}

#[test]
fn a_project_that_does_not_fit_the_box_is_refused_in_the_same_words_everywhere() {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = folder.path().join("bare.ron");
    let mut project = project(Path::new(VAN));
    project.rests.clear();
    fs::write(&bare, spokewire::project::write(&project)).expect("written");
    let samples = folder.path().join("samples.csv");
    fs::write(&samples, "t_ms,wire1\n0,959\n1,959\n").expect("written");
    let words = ["image", text(&bare)];
    let image = ran(&words);
    assert_eq!(image.status.code(), Some(1));
    assert!(said(&image).starts_with("The project doesn't fit the box:\n  "), "{}", said(&image));
    for words in [&["write", text(&bare), "--demo"][..], &["replay", text(&bare), text(&samples)]] {
        let output = ran(words);
        assert_eq!((output.status.code(), said(&output)), (Some(1), said(&image)), "{words:?}");
    }
}

#[test]
fn every_command_has_text_for_people_too() {
    for command in ["predict", "plan", "bands", "together", "check"] {
        let output = ran(&[command, VAN]);
        assert_eq!((output.status.code(), said(&output)), (Some(0), ""), "{command}");
        assert!(serde_json::from_str::<Value>(out(&output)).is_err() && out(&output).ends_with('\n'));
        assert!(!out(&output).contains(|c: char| c.is_control() && c != '\n'), "{}", out(&output));
    }
}

#[test]
fn help_and_version_are_results() {
    for (words, wanted) in [
        (&["--help"][..], "Usage: spokewire [FILE]\n"),
        (&["--version"], "spokewire 0."),
        (&["learn", "--help"], "\n  {\"event\":\"done\",\"learned\"}\n"),
        (&["code", "decode", "--help"], "mark first"),
    ] {
        let output = ran(words);
        assert_eq!((output.status.code(), said(&output)), (Some(0), ""), "{words:?}");
        assert!(out(&output).contains(wanted), "{words:?}: {}", out(&output));
    }
}

#[test]
fn bad_use_is_told_apart_from_a_job_that_failed() {
    let (folder, file) = folder();
    let file = text(&file);
    for (words, wanted) in [
        (&["lern"][..], "\"lern\" is no command, and no file of that name is here. `spokewire --help` lists"),
        (&["sheet", VAN], "\"sheet\" is no command"),
        (&[VAN, VAN], "A window opens one project, and 2 were named."),
        (&["--demo", VAN], "cannot be used with"),
        (&["predict"], "<FILE>"),
        (&["together"], "<FILE>"),
        (&["check", VAN, "--color"], "--color"),
        (&["code"], "Usage: "),
        (&["code", "encode", "--family", "nec", "--address", "1"], "--command <NUMBER>"),
        (
            &["code", "encode", "--family", "zz", "--address", "1", "--command", "2"],
            "There is no code family \"zz\".",
        ),
        (&["code", "encode", "--family", "nec", "--address", "-1", "--command", "2"], "-1"),
        (&["code", "encode", "--family", "nec", "--address", "NaN", "--command", "2"], "give a whole number"),
        (&["learn", "--save", file], "--port <PATH>"),
        (&["learn", "--port", "/dev/nowhere", "--save", file], "There are no buttons to learn. Name them"),
        (&["learn", "--demo", "--port", "/dev/nowhere", "--save", file], "cannot be used with"),
        (&["learn", "--demo", "--rate", "9600", "--save", file], "cannot be used with"),
        (&["learn", "--demo", "--presses", "10", "--save", file], "10 is not in 1..=9"),
        (&["learn", "--demo", "--give-up", "0", "--save", file], "give whole seconds from 1 to 86400"),
        (&["learn", "--demo", "--give-up", "nan", "--save", file], "give whole seconds from 1 to 86400"),
        (&["learn", "--demo", "--give-up", "1e30", "--save", file], "give whole seconds from 1 to 86400"),
        (&["learn", "--demo", "--buttons", "mute,Mute", "--save", file], "\"Mute\" is asked for twice."),
        (
            &["learn", "--port", "x", "--buttons", "mute,,next", "--save", file],
            "A name needs at least one letter",
        ),
        (
            &["learn", "--demo", "--buttons", "horn", "--save", file],
            "has no button \"horn\". It has volume_up, volume_down, next, previous, source, answer, mute.",
        ),
    ] {
        fails(&ran(words), 2, wanted);
    }
    for (words, wanted) in [
        (&["predict", "nowhere.ron"][..], "\"nowhere.ron\" is not there"),
        (&["bands", "nowhere.ron", "--json"], "\"nowhere.ron\" is not there"),
        (&["check", text(folder.path())], "is a folder. Choose a file in it."),
        (
            &["predict", concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml")],
            "Cargo.toml\" can't be read: Line 1",
        ),
        (&["learn", "--demo", "--save", text(folder.path())], "is a folder."),
        (&["learn", "--demo", "--save", text(&folder.path().join("gone/van.ron"))], "The folder of "),
        (
            &["learn", "--port", "/dev/nowhere", "--buttons", "mute", "--save", file],
            "There is no port at /dev/nowhere.",
        ),
    ] {
        fails(&ran(words), 1, wanted);
    }
    assert!(names_in(folder.path()).is_empty(), "nothing is left behind");
}

#[test]
fn input_that_is_none_is_refused_with_what_to_do() {
    let huge = vec![b'1'; 5 << 20];
    let not_a_number = HALF_KILOHM.replace("1000,\"p", "NaN,\"p");
    for (words, input, status, wanted) in [
        (&["node"][..], &b""[..], 2, "Nothing came on standard input. Give the circuit there as JSON"),
        (
            &["node", "--json"],
            not_a_number.as_bytes(),
            2,
            "The circuit can't be read: expected value at line 1",
        ),
        (&["node"], b"{\"feed_v\":5}", 2, "missing field `sense`"),
        (
            &["node"],
            &huge,
            1,
            "Standard input is longer than 4 MiB. Pipe in nothing but the circuit as JSON.",
        ),
        (&["node"], b"\xff\xfe", 1, "Standard input could not be read"),
        (&["stage"], b"", 2, "Nothing came on standard input. Give the output stage there as JSON"),
        (&["stage", "--json"], b"{\"drive_v\":5}", 2, "missing field `base_ohm`"),
        (&["stage"], WIRED.replace("2N3904", "TUN").as_bytes(), 2, "Give one of 2N3904, 2N2222A, BSS138."),
        (&["stage"], WIRED.replace("562.5", "-1").as_bytes(), 2, "mark_us is -1. Give the shortest mark"),
        (&["code", "decode"], b"", 1, "Nothing came on standard input. Pipe the timings in"),
        (&["code", "decode"], b"[]", 1, ""),
        (&["code", "decode", "--json"], b"[NaN]", 1, "Give a JSON array in microseconds"),
        (&["code", "decode", "--json"], b"[1e999]", 1, "Give a JSON array in microseconds"),
        (
            &["code", "decode"],
            &huge,
            1,
            "Standard input is longer than 4 MiB. Pipe in nothing but the timings.",
        ),
        (&["code", "decode"], b"[1,2,3]", 1, ""),
    ] {
        let output = ran_on(words, input);
        fails(&output, status, wanted);
        assert!(said(&output).trim_end().ends_with(['.', 'n']), "{}", said(&output));
    }
}

#[test]
fn a_closed_output_is_no_panic() {
    for words in [
        &["predict", VAN][..],
        &["together", VAN],
        &["bands", VAN, "--json"],
        &["check", VAN],
        &["node"],
        &["code", "encode", "--family", "nec", "--address", "1", "--command", "2"],
        &["--help"],
    ] {
        let mut child = spokewire(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        drop(child.stdout.take());
        // Input comes only now: for those who read it, output is closed for sure.
        let _ = child.stdin.take().expect("its input").write_all(HALF_KILOHM.as_bytes());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(said(&output), "", "{words:?}");
        assert!(output.status.code().is_some(), "{words:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_output_is_told() {
    let full = || fs::File::options().write(true).open("/dev/full").expect("Linux has it");
    let output = spokewire(&["bands", VAN]).stdout(full()).output().expect("it ends");
    fails(&output, 1, "Standard output could not be written: No space left on device");
}

#[test]
fn the_demo_is_learned_whole_and_its_lines_are_what_was_promised() {
    let (folder, file) = folder();
    let output = ran(&["learn", "--demo", "--json", "--save", text(&file)]);
    assert_eq!((output.status.code(), said(&output)), (Some(0), ""));
    let events: Vec<Value> =
        out(&output).lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    assert_eq!(out(&output).lines().next(), Some(r#"{"event":"rest"}"#));
    assert_eq!(
        out(&output).lines().nth(1),
        Some(r#"{"event":"prompt","button":"volume_up","press":1,"of":3}"#)
    );
    assert_eq!(out(&output).lines().last(), Some(r#"{"event":"done","learned":7}"#));
    for event in &events {
        let wanted = match event["event"].as_str().expect("an event") {
            "rest" => vec!["event"],
            "prompt" => vec!["button", "event", "of", "press"],
            "pressed" => vec!["button", "event", "median_count", "press"],
            "refused" => vec!["button", "event", "reason"],
            _ => vec!["event", "learned"],
        };
        assert_eq!(keys(event), wanted);
    }
    let project = project(&file);
    assert_eq!((project.learned.len(), project.rests.len(), project.stereo.commands.len()), (7, 1, 10));
    assert!(project.wheel.buttons.iter().all(|button| project.is_learned(&button.id)));
    assert_eq!(names_in(folder.path()), ["van.ron"], "nothing else is left there");
}

#[test]
fn learning_into_a_file_keeps_everything_else_in_it() {
    let (folder, file) = folder();
    fs::copy(VAN, &file).expect("a copy");
    let before = project(&file);
    let output =
        ran(&["learn", "--demo", "--presses", "1", "--buttons", "next,SOURCE", "--save", text(&file)]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert_eq!(said(&output), "\"SOURCE\" is a new button, source. There were volume_up, next, mute.\n");
    assert!(
        out(&output).contains("Press Next, 1 of 1.\n")
            && out(&output).contains("SOURCE is learned: 2 of 2.\n")
    );
    assert!(out(&output).contains(" counts apart"), "the verdicts follow: {}", out(&output));
    assert!(!out(&output).contains(|c: char| c.is_control() && c != '\n'), "{}", out(&output));
    let after = project(&file);
    let (next, source) = (ButtonId("next".to_owned()), ButtonId("source".to_owned()));
    assert_eq!((after.press_count(&next), after.press_count(&source)), (1, 1));
    let mut expected = before.clone();
    expected.learned.insert(next.clone(), after.learned[&next].clone());
    expected.learned.insert(source.clone(), after.learned[&source].clone());
    expected.wheel.buttons.push(after.wheel.buttons[3].clone());
    expected.rests.clone_from(&after.rests);
    let traced: Vec<_> = after.traces.iter().map(|trace| trace.button.as_str()).collect();
    assert_eq!(traced, ["next", "source"], "each press is kept as it was read");
    expected.traces.clone_from(&after.traces);
    assert_eq!(after, expected);
    assert_eq!(project(&folder.path().join("van.ron.bak")), before, "what was there is kept beside it");
}

#[test]
fn a_file_that_a_save_would_take_something_from_is_not_learned_into() {
    let (folder, file) = folder();
    let van = fs::read_to_string(VAN).expect("the golden project");
    for (text_of_it, wanted) in [
        (van.replace("format: 1", "format: 2"), "The file has format 2, this program writes format 1"),
        (van.replace("note: \"\"", "note: \"\", colour: 1"), "`vehicle.colour` in line"),
        (van.replace("format: 1", "format: x"), "can't be read: Line 3"),
    ] {
        fs::write(&file, &text_of_it).expect("written");
        fails(&ran(&["learn", "--demo", "--buttons", "next", "--save", text(&file)]), 1, wanted);
        assert_eq!(fs::read_to_string(&file).expect("still there"), text_of_it);
    }
    assert_eq!(names_in(folder.path()), ["van.ron"]);
}

#[cfg(unix)]
mod unix {
    use std::io::{BufRead as _, BufReader, Read as _};

    use super::*;

    /// Learns the demo until its first press counts, then does this to the process.
    fn stopped(file: &Path, stop: impl FnOnce(&mut std::process::Child)) -> Output {
        let mut child = spokewire(&["learn", "--demo", "--json", "--presses", "1", "--save", text(file)])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        assert!(lines.any(|line| line.expect("text").contains("\"pressed\"")));
        stop(&mut child);
        drop(lines);
        child.wait_with_output().expect("it ends")
    }

    #[test]
    fn when_nobody_reads_what_is_asked_learning_stops_and_keeps_what_it_has() {
        let (_folder, file) = folder();
        let output = stopped(&file, |_| {});
        assert_eq!(output.status.code(), Some(1));
        assert!(
            said(&output)
                .starts_with("Standard output was closed, so learning stopped. Learned and saved in ")
        );
        assert!(said(&output).contains(": Volume up"), "{}", said(&output));
        assert!(!project(&file).learned.is_empty());
    }

    #[test]
    fn an_interrupt_leaves_nothing_half_written() {
        let (folder, file) = folder();
        fs::copy(VAN, &file).expect("a copy");
        let output = stopped(&file, |child| {
            let id = child.id().to_string();
            assert!(Command::new("kill").args(["-INT", &id]).status().expect("kill is there").success());
        });
        assert_eq!(output.status.code(), None, "the interrupt ended it");
        assert_eq!(fs::read_to_string(&file).expect("still there"), fs::read_to_string(VAN).expect("golden"));
        assert_eq!(names_in(folder.path()), ["van.ron"]);
    }

    #[cfg(feature = "serial")]
    #[test]
    fn on_a_terminal_a_live_line_shows_the_reading_and_how_settled_it_is() {
        use serialport::{SerialPort as _, TTYPort};

        let (_folder, file) = folder();
        let (mut terminal, far) = TTYPort::pair().expect("a pseudo-terminal");
        terminal.set_timeout(std::time::Duration::from_secs(20)).expect("a timeout");
        let path = far.name().expect("its path");
        // It is exclusive, so it has to be let go of before it is opened as output.
        drop(far);
        let far = fs::File::options().write(true).open(path).expect("a terminal");
        let words = ["learn", "--demo", "--buttons", "mute", "--save", text(&file)];
        let mut child = spokewire(&words).stdin(Stdio::null()).stdout(far).spawn().expect("it starts");
        let mut seen = Vec::new();
        let mut block = [0; 1024];
        while let Ok(count) = terminal.read(&mut block) {
            seen.extend_from_slice(&block[..count]);
            if String::from_utf8_lossy(&seen).contains("Spread between presses") {
                break;
            }
        }
        assert!(child.wait().expect("it ends").success());
        let seen = String::from_utf8_lossy(&seen);
        for wanted in
            ["\r[", "  Hands off: rest", "  Press Mute", "Settled: let go of Mute", "[============]"]
        {
            assert!(seen.contains(wanted), "no \"{wanted}\" in {seen:?}");
        }
        assert!(!seen.contains('\u{1b}'), "a plain line that any terminal can draw");
    }
}
