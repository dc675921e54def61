//! Listening three times in the demo, keeping it, trying it, and saving it.

use egui::{Key, Modifiers};
use spokewire::project::CommandId;
use spokewire::remote::{Code, Origin};

use crate::hands::{Bench, CTRL, in_file};

fn command(bench: &Bench, at: usize) -> (Code, Origin, bool, usize) {
    let command = &bench.project().stereo.commands[at];
    (command.code.clone(), command.origin, command.tried, command.heard.len())
}

fn number(code: &Code) -> Option<(u32, u32)> {
    match code {
        Code::Family { address, command, .. } => Some((*address, *command)),
        _ => None,
    }
}

#[test]
fn the_demos_remote_is_listened_to_three_times_and_its_code_is_kept_tried_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.click("Open demo");
    bench.wait("the box", |bench| bench.model().the_box.identity().is_some());
    bench.go("Codes");
    bench.click("Mute, typed, not tried, 0C, no button");
    bench.key(Modifiers::NONE, Key::L);
    bench.wait_to_say("Listening for: Mute");
    bench.wait_to_say("3 of 3 agree. Keep it, or listen again.");
    assert!(bench.says("Press 3: nec address 59 command 0C, marks +"), "{}", bench.all_said());
    bench.key(Modifiers::NONE, Key::Enter);
    bench.wait_to_say("Mute, captured, not tried, 0C, no button");
    assert!(bench.says("heard: the mean of 3 presses"));

    // Nothing more is heard: the box listens no longer.
    bench.pass(std::time::Duration::from_millis(400));
    let (code, origin, tried, heard) = command(&bench, 7);
    assert_eq!((number(&code), origin, tried, heard), (Some((0x59, 0x0C)), Origin::Captured, false, 3));

    bench.key(Modifiers::NONE, Key::T);
    bench.wait_to_say("Sent in 1 frame.");
    bench.key(Modifiers::NONE, Key::Y);
    bench.wait_to_say("Mute, captured, 0C, no button");
    assert!(bench.says("Codes, 10 codes, 9 not tried"));

    // A new command, named after it was heard.
    bench.key(Modifiers::NONE, Key::L);
    bench.key(Modifiers::NONE, Key::N);
    bench.wait("all to be heard", |bench| bench.has("Listen again"));
    // The remote may have pressed Mute before it was told of another button. The name has the
    // keyboard by now, so L would be typed.
    bench.click("Listen again");
    bench.wait("it to listen again", |bench| bench.has("Stop listening"));
    bench.wait_to_say("3 of 3 agree. Keep it, or listen again.");
    bench.write("Preset down");
    bench.key(Modifiers::NONE, Key::Enter);
    bench.wait_to_say("Preset down, captured, not tried, 2E, no button");
    assert_eq!(bench.model().codes.chosen, Some(CommandId("preset_down".to_owned())));

    let file = folder.path().join("heard.ron");
    bench.save_as(&file);
    assert_eq!(in_file(&file), *bench.project());
    bench.key(CTRL, Key::Z);
    bench.wait("the undo", |bench| bench.project().stereo.commands.len() == 10);
}

#[test]
fn leaving_while_it_listens_keeps_the_presses_and_coming_back_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.click("Open demo");
    bench.wait("the box", |bench| bench.model().the_box.identity().is_some());
    bench.go("Codes");
    bench.key(Modifiers::NONE, Key::L);
    bench.wait_to_say("Press 1: nec address 59 command 16");
    bench.go("Pair");
    bench.pass(std::time::Duration::from_millis(400));
    bench.go("Codes");
    bench.wait_to_say("Not listening.");
    assert!(bench.says("Press L to listen on"));
    bench.key(Modifiers::NONE, Key::L);
    bench.wait_to_say("3 of 3 agree.");
    bench.key(Modifiers::NONE, Key::Escape);
    bench.wait_to_say("Volume up, typed, not tried, 16, no button");
    assert!(bench.says("Codes, 10 codes, 10 not tried"));
}
