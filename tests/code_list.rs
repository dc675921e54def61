//! `spokewire code list` as a person or a script runs it, on files of its own.
#![expect(clippy::unwrap_used, reason = "the helpers of a test may fail it")]

use std::process::{Command, Output};

use spokewire::demo::demo_project;
use spokewire::project::{self, read_list};
use spokewire::remote::families;

fn output(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spokewire")).args(["code", "list"]).args(words).output().unwrap()
}

/// Exit status, standard output and standard error.
fn ran(words: &[&str]) -> (Option<i32>, String, String) {
    let Output { status, stdout, stderr } = output(words);
    (status.code(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
}

/// A folder with the demo's van in it, and paths of files there.
struct Bench(tempfile::TempDir);

impl Bench {
    fn new() -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        bench.put("van.ron", &project::write(&demo_project()));
        bench
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_str().unwrap().to_owned()
    }

    fn put(&self, name: &str, text: &str) -> String {
        std::fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    fn commands(&self) -> Vec<project::Command> {
        project::read(&std::fs::read_to_string(self.path("van.ron")).unwrap())
            .unwrap()
            .project
            .stereo
            .commands
    }
}

#[test]
fn without_a_file_the_families_are_listed() {
    let (ended, out, _) = ran(&[]);
    assert_eq!(ended, Some(0));
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), families().len() + 1);
    assert!(
        lines[0].starts_with(
            "nec     address 0 to FF    command 0 to FF        38 kHz  short frame every 108.0 ms"
        ),
        "{out}"
    );
    let (_, out, _) = ran(&["--json"]);
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(document["families"][6]["id"], "sirc20");
    assert_eq!(document["families"][6]["address_max"], 8191);
    assert_eq!(document["families"][2]["toggle"], true);
}

#[test]
fn a_projects_commands_are_listed_in_every_form() {
    let bench = Bench::new();
    let van = bench.path("van.ron");
    let (_, text, _) = ran(&[&van]);
    assert!(text.starts_with("Volume up       nec address 59 command 16  typed"), "{text}");
    let (_, out, _) = ran(&[&van, "--json"]);
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let first = &document["commands"][0];
    assert_eq!((first["id"].as_str(), first["name"].as_str()), (Some("volume_up"), Some("Volume up")));
    assert_eq!(
        (&first["family"], &first["address"], &first["command"]),
        (&"nec".into(), &89.into(), &22.into())
    );
    assert!(first["pulses_us"].is_null());
    for (flag, out) in [("--csv", "tarn.csv"), ("--ron", "tarn.ron")] {
        let (_, printed, _) = ran(&[&van, flag]);
        let (_, said, _) = ran(&[&van, "-o", &bench.path(out)]);
        assert_eq!(said, format!("Saved in \"{}\".\n", bench.path(out)));
        assert_eq!(std::fs::read_to_string(bench.path(out)).unwrap(), printed);
        let read = read_list(printed.as_bytes());
        assert_eq!((read.commands.len(), read.faults.len()), (bench.commands().len(), 0));
    }
}

#[test]
fn a_list_is_taken_into_the_project_and_saved() {
    let bench = Bench::new();
    let van = bench.path("van.ron");
    let list = bench.put("more.csv", "name,family,address,command\nMute,nec,0x59,0x0C\nSeek up,rc5,5,53\n");
    let (ended, out, aside) = ran(&[&van, "--import", &list]);
    assert_eq!(ended, Some(0));
    assert_eq!(out, format!("1 command taken into \"{van}\". Mute was there already, with the same code.\n"));
    assert_eq!(aside, "");
    let commands = bench.commands();
    assert_eq!((commands.len(), commands[10].id.0.as_str()), (11, "seek_up"));
    let (_, out, _) = ran(&[&van, "--import", &list, "--json"]);
    assert_eq!(out, "{\"taken\":[],\"same\":[\"Mute\",\"Seek up\"],\"faults\":[],\"saved\":false}\n");
}

#[test]
fn a_list_with_faults_is_taken_only_where_that_is_said() {
    let bench = Bench::new();
    let van = bench.path("van.ron");
    let list =
        bench.put("bad.csv", "name;family;address;command\nSeek up;rc5;5;53\nMute;nec;1;1\nHalf;nec\n");
    let (ended, out, aside) = ran(&[&van, "--import", &list]);
    assert_eq!(ended, Some(1));
    assert!(
        aside.ends_with(
            "\nNothing was taken: the list has 2 faults. Mend it, or take the one that is good with --keep-good.\n"
        ),
        "{aside}"
    );
    assert_eq!(out, "");
    assert!(aside.starts_with("Line 3: \"Mute\" is there already with another code"), "{aside}");
    assert!(aside.contains("\nLine 4: The row has 2 fields"), "{aside}");
    assert_eq!(bench.commands().len(), 10);
    let (ended, out, _) = ran(&[&van, "--import", &list, "--keep-good", "--json"]);
    assert_eq!(ended, Some(0));
    assert!(
        out.starts_with("{\"taken\":[\"seek_up\"],\"same\":[],\"faults\":[{\"line\":3,\"what\":"),
        "{out}"
    );
    assert_eq!(bench.commands().len(), 11);
}

#[test]
fn a_vehicle_is_never_written_over_and_bad_use_is_told() {
    let bench = Bench::new();
    let van = bench.path("van.ron");
    let before = std::fs::read_to_string(&van).unwrap();
    let failed = |words: &[&str]| {
        let (status, out, said) = ran(words);
        assert!(out.is_empty() && !said.contains("panicked"), "{out}{said}");
        (status.unwrap(), said)
    };
    let (status, said) = failed(&[&van, "-o", &van]);
    assert_eq!(status, 1);
    assert!(said.contains("is a vehicle's own file"), "{said}");
    assert_eq!(std::fs::read_to_string(&van).unwrap(), before);
    let (status, said) = failed(&[&van, "-o", "list"]);
    assert!(status == 2 && said.contains("ends in none of .csv, .ron, .json and .txt"), "{said}");
    let (status, said) = failed(&["-o", "families.csv"]);
    assert!(status == 2 && said.contains("A list of commands is a project's"), "{said}");
    let (status, said) = failed(&[&van, "--import", &bench.path("gone.csv")]);
    assert!(status == 1 && said.contains("is not there"), "{said}");
    for words in [&["--csv"][..], &["x", "--csv", "--json"], &["x", "--keep-good"], &["--import", "x"]] {
        assert_eq!(ran(words).0, Some(2), "{words:?}");
    }
    let newer = bench.put("newer.ron", &before.replacen("format: 1", "format: 99", 1));
    let list = bench.put("one.csv", "name,family,address,command\nSeek up,rc5,5,53\n");
    let (status, said) = failed(&[&newer, "--import", &list]);
    assert!(status == 1 && said.trim_end().ends_with("was left as it was: it is read-only."), "{said}");
}
