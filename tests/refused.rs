//! Bad input to the commands that compute: each says what is wrong and what to do, prints nothing on
//! standard output, and ends with 1 for a job that failed or 2 for bad use. A project beside a factory
//! module goes through them all.
#![expect(clippy::expect_used, reason = "the helpers of a test may fail it")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// `projects/demo-van.ron`: all in it is invented.
const VAN: &str = include_str!("../projects/demo-van.ron");

/// Those that take a project alone.
const OF_A_PROJECT: [&str; 5] = ["plan", "yield", "together", "fit", "dwell"];

fn ran_on(words: &[&str], input: Stdio) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spokewire"))
        .args(words)
        .env("XDG_STATE_HOME", std::env::temp_dir().join("spokewire-test-state"))
        .stdin(input)
        .output()
        .expect("it runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// What a command says that is to fail with this status.
fn refused(words: &[&str], input: Stdio, status: i32) -> String {
    let output = ran_on(words, input);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(status), "{words:?}: {said}");
    assert!(output.stdout.is_empty(), "{words:?} printed {}", text(&output.stdout));
    assert!(!said.contains("panicked"), "{words:?}: {said}");
    said
}

/// A folder of this test's own.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::create_dir_all(&folder).expect("a folder");
    folder
}

fn written(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    fs::write(&path, text).expect("a file");
    path.to_string_lossy().into_owned()
}

#[test]
fn a_file_that_is_no_project_is_refused_by_every_command_with_what_to_do() {
    let folder = folder("refused-files");
    let nan = VAN.replacen("meter_ohm: Some(84.0)", "meter_ohm: Some(NaN)", 1);
    let huge = VAN.replacen("meter_ohm: Some(84.0)", "meter_ohm: Some(1e308)", 1);
    let twice = VAN.replacen("id: \"volume_down\"", "id: \"volume_up\"", 1);
    for (name, text, words) in [
        ("empty.ron", "", "The file is empty. Choose another"),
        ("cut.ron", &VAN[..VAN.len() / 2], "can't be read: Line "),
        ("nan.ron", &nan, "meter_ohm` is NaN. It must be 0 to 100000000 ohms."),
        ("huge.ron", &huge, "meter_ohm` is 1e308. It must be 0 to 100000000 ohms."),
        ("twice.ron", &twice, "both have the id `volume_up`. Give one of them another id."),
    ] {
        let path = written(&folder, name, text);
        for command in OF_A_PROJECT {
            let said = refused(&[command, &path, "--json"], Stdio::null(), 1);
            assert!(said.contains(words), "{command} {name}: {said}");
        }
    }
    for command in OF_A_PROJECT {
        let said = refused(&[command, "not-there.ron", "--json"], Stdio::null(), 1);
        assert!(said.contains("is not there") && said.contains("choose another file"), "{said}");
    }
}

#[test]
fn a_project_without_buttons_or_circuit_says_where_to_enter_them() {
    let folder = folder("refused-bare");
    let mut bare = spokewire::project::Project::new("Brindle Linnet", "Tarn R40");
    let path = written(&folder, "bare.ron", &spokewire::project::write(&bare));
    for command in OF_A_PROJECT {
        let said = refused(&[command, &path, "--json"], Stdio::null(), 1);
        assert!(said.contains("station") || said.contains("Learn"), "{command}: {said}");
    }
    bare.circuit = Some(spokewire::circuit::Circuit::recommended());
    let path = written(&folder, "buttonless.ron", &spokewire::project::write(&bare));
    for command in OF_A_PROJECT {
        let said = refused(&[command, &path, "--json"], Stdio::null(), 1);
        assert!(said.contains("station") || said.contains("Learn"), "{command}: {said}");
    }
}

#[test]
fn recordings_that_hold_none_are_refused_by_replay_and_dwell() {
    let folder = folder("refused-recordings");
    let van = written(&folder, "van.ron", VAN);
    for (name, text, words) in [
        ("empty.csv", "", "The file is empty. A recording begins with the line t_ms,wire1"),
        ("one.csv", "t_ms\n0\n1\n", "without a column wire1"),
        ("nan.csv", "t_ms,wire1\nNaN,5\n1e308,5\n", "None of 2 rows holds a reading."),
    ] {
        let path = written(&folder, name, text);
        for command in ["replay", "dwell"] {
            let said = refused(&[command, &van, &path, "--json"], Stdio::null(), 1);
            assert!(said.contains(words), "{command} {name}: {said}");
        }
    }
    for command in ["replay", "dwell"] {
        let said = refused(&[command, &van, "not-there.csv", "--json"], Stdio::null(), 1);
        assert!(said.contains("Check its name."), "{said}");
    }
}

#[test]
fn arguments_that_cannot_be_are_bad_use_with_what_can_be() {
    let folder = folder("refused-arguments");
    let van = written(&folder, "van.ron", VAN);
    for (words, said) in [
        (vec!["plan", &van, "--series", "E25", "--json"], "E12, E24, E48, E96"),
        (vec!["yield", &van, "--boxes", "0", "--json"], "Ask for 1 to 1000000000"),
        (vec!["yield", &van, "--boxes", "-3", "--json"], "invalid value '-3' for '--boxes <N>'"),
        (vec!["yield", &van, "--boxes", "1000000001", "--json"], "Ask for 1 to 1000000000"),
    ] {
        let told = refused(&words, Stdio::null(), 2);
        assert!(told.contains(said), "{words:?}: {told}");
    }
}

#[test]
fn an_output_stage_that_cannot_be_is_bad_use() {
    let folder = folder("refused-stages");
    let wired = r#"{"drive_v":5,"base_ohm":4700,"base_pulldown_ohm":47000,"series_ohm":0,"pull_up_ohm":10000,"pull_up_v":5,"line_farad":1e-9,"mark_us":562.5,"device":"2N3904"}"#;
    let over = wired.replacen("\"drive_v\":5", "\"drive_v\":1e308", 1);
    let twice = wired.replacen('{', "{\"drive_v\":5,", 1);
    for (name, text, words) in [
        ("empty.json", "", "Nothing came on standard input."),
        ("cut.json", &wired[..40], "can't be read: EOF"),
        ("nan.json", "{\"drive_v\":NaN}", "can't be read: expected value"),
        ("over.json", over.as_str(), "drive_v is 1e308. Give what the pin drives in volts, 1e6 at most."),
        ("twice.json", &twice, "duplicate field `drive_v`"),
    ] {
        let file = fs::File::open(written(&folder, name, text)).expect("a file");
        let said = refused(&["stage", "--json"], file.into(), 2);
        assert!(said.contains(words), "{name}: {said}");
    }
}

#[test]
fn a_project_beside_a_factory_module_goes_through_every_command_or_is_told_what_to_do() {
    let folder = folder("refused-module");
    let with = |monitor: &str| {
        VAN.replacen("module: None", "module: Some((supply_v: 5.0))", 1).replacen(
            "feed_monitor: None",
            monitor,
            1,
        )
    };
    let module = written(&folder, "module.ron", &with("feed_monitor: None"));
    let csv = written(&folder, "rest.csv", "t_ms,wire1\n0,959\n1,959\n2,959\n");
    let image = folder.join("module.bin").to_string_lossy().into_owned();
    for words in [
        vec!["predict", &module],
        vec!["yield", &module, "--boxes", "1000"],
        vec!["bands", &module],
        vec!["check", &module],
        vec!["together", &module],
        vec!["fit", &module],
        vec!["replay", &module, &csv],
        vec!["image", &module, "-o", &image],
    ] {
        let output = ran_on(&words, Stdio::null());
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", text(&output.stderr));
    }
    let said = refused(&["plan", &module, "--json"], Stdio::null(), 1);
    assert!(said.contains("Keep the module's, or disconnect it"), "{said}");

    let fitted = with("feed_monitor: Some((upper_ohm: 10000.0, lower_ohm: 10000.0))");
    let monitored = written(&folder, "monitored.ron", &fitted);
    for command in ["predict", "plan", "yield", "together"] {
        let said = refused(&[command, &monitored, "--json"], Stdio::null(), 1);
        assert!(said.contains("Take the feed monitor out."), "{command}: {said}");
    }
    let said = refused(&["image", &monitored, "-o", &image], Stdio::null(), 1);
    assert!(said.contains("Take the feed monitor out"), "{said}");
    let output = ran_on(&["check", &monitored], Stdio::null());
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stdout).contains("Take the feed monitor out."), "{}", text(&output.stdout));
}
