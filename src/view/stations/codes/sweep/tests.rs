//! The view driven by its accessible names and keys, and by the window's ticks. The box is played by its
//! reports.

use egui::Key;

use crate::app::codes::CodesView;
use crate::app::codes::sweep::{Halt, Motion, SweepAction};
use crate::app::{Action, CodesAction, Edit, FileAction, LinkAction, Model, Now, Station};
use crate::circuit::{Jack, JackWants};
use crate::device::{BoxReport, Failure, Job};
use crate::link::{Report, Target};
use crate::project::{self, Sweep};
use crate::remote::Origin;
use crate::view::stations::driven::Driven;
use crate::wire::Identity;

const READY: &str = "Parked, and its settings are written down";

fn report(report: BoxReport) -> Action {
    Action::Link(LinkAction::Report(Report::Box(report)))
}

fn connected() -> Action {
    let target = Target::Demo { speed: 1 };
    Action::Link(LinkAction::Report(Report::Connected { target, rate: None, wires: 1 }))
}

fn found() -> Action {
    report(BoxReport::Identity(Box::new(Identity { reference_named: true, ..Identity::default() })))
}

/// The demo van at Sweep, with a box.
fn window() -> Driven {
    sized(1280.0, 800.0)
}

fn sized(width: f32, height: f32) -> Driven {
    let mut window = without_box(width, height);
    window.act(connected());
    window.act(found());
    window
}

fn without_box(width: f32, height: f32) -> Driven {
    let mut model = Model::default();
    let now = Now { ms: 0.0, clock: "21:14".to_owned(), date: String::new() };
    for action in [
        Action::Tick(now),
        Action::CautionsRead,
        Action::File(FileAction::Demo),
        Action::Link(LinkAction::Disconnect),
        Action::Go(Station::Codes),
        Action::Codes(CodesAction::View(CodesView::Sweep)),
    ] {
        model.update(action);
    }
    Driven::of(model, width, height)
}

/// Time passes as the window's ticks tell it; the box says that it sent what it was asked.
fn pass(window: &mut Driven, ms: f64) {
    let end = window.model().now.ms + ms;
    while window.model().now.ms < end {
        let now = (window.model().now.ms + 50.0).min(end);
        window.act_unseen(Action::Tick(Now { ms: now, clock: "21:14".to_owned(), date: String::new() }));
        if window.model().codes.sweep.sent.is_some_and(|sent| !sent.whole) {
            window.act_unseen(report(BoxReport::Sent { frames: 1 }));
        }
    }
    window.settle();
}

fn sweep(window: &Driven) -> &Sweep {
    window.project().stereo.sweep.as_ref().unwrap()
}

fn is_paused(window: &Driven) -> bool {
    window.model().codes.sweep.motion == Motion::Paused
}

fn retype(window: &mut Driven, field: &str, text: &str) {
    window.click(field);
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text(text);
}

/// Answers the caution and starts.
fn start(window: &mut Driven) {
    window.click(READY);
    window.click("Start sweep");
    pass(window, 0.0);
}

#[test]
fn the_caution_stands_first_and_is_answered_before_anything_is_sent() {
    let mut window = window();
    for words in
        ["Never while driving.", "even its language; erase its presets.", "Some stereos lock themselves."]
    {
        assert!(window.says(words), "{words}");
    }
    window.key(Key::Enter);
    assert!(window.project().stereo.sweep.is_none());
    window.click(READY);
    assert!(window.is_there("Parked, and its settings are written down."));
    window.click("Take the answer to the caution back");
    assert!(window.says("Never while driving."));
    window.key(Key::R);
    window.click("Start sweep");
    assert_eq!(sweep(&window).next, 1);
}

#[test]
fn the_set_up_proposes_the_address_in_use_and_counts_while_one_types() {
    let mut window = window();
    assert!(window.is_there("256 codes, at most 4 min 16 s"));
    retype(&mut window, "Last command", "7f");
    assert!(window.is_there("128 codes, at most 2 min 08 s"));
    retype(&mut window, "Pace, in seconds", "0.1");
    assert!(window.is_there("Type 0.5 to 10 s from one code to the next."));
    retype(&mut window, "Pace, in seconds", "0.5");
    assert!(window.is_there("128 codes, at most 1 min 04 s"));
    retype(&mut window, "Last address", "5B");
    assert!(window.says("These are 384 codes, 128 more than the 256 of one run."));
    window.click("Take the first part");
    assert!(window.is_there("256 codes, at most 2 min 08 s"));
    retype(&mut window, "First address", "xy");
    assert!(window.says("is not a hex number"));
    start(&mut window);
    assert!(window.project().stereo.sweep.is_none(), "what can't be swept is not begun");
}

#[test]
fn an_empty_set_up_is_told_only_when_starting_is_tried() {
    let mut window = window();
    for command in window.project().stereo.commands.clone() {
        window.act(Action::Edit(Edit::RemoveCommand(command.id)));
    }
    assert!(window.says("Not known? Take a range of addresses"));
    assert!(!window.says("The address: There is no number."));
    window.key(Key::R);
    window.click("Start sweep");
    assert!(window.says("The address: There is no number."));
    window.type_into("First address", "10");
    window.type_into("Last address", "1F");
    retype(&mut window, "Last command", "0");
    assert!(window.is_there("16 codes, at most 16 s"));
    window.key(Key::Enter);
    assert_eq!(sweep(&window).range.addresses, (0x10, 0x1F), "Enter in a field starts");
}

#[test]
fn a_run_is_driven_by_keys_from_start_to_a_command_that_is_kept() {
    let mut window = window();
    retype(&mut window, "First command", "40");
    window.key(Key::Escape);
    window.key(Key::R);
    window.key(Key::Enter);
    pass(&mut window, 0.0);
    pass(&mut window, 3_400.0);
    assert!(window.says("Sent, 4 of 192: nec address 59 command 43, at most 3 min 08 s left"));
    assert!(window.is_there("4 of 192 codes sent, no marks"));
    assert!(window.says("Waveform of nec address 59 command 43"));
    window.key(Key::M);
    assert!(is_paused(&window) && window.is_there("Marked. Name it, or go on."));
    assert!(window.is_there("4 of 192 codes sent, 1 mark"));
    window.key(Key::N);
    assert!(window.has_focus("Name of 59 43"));
    window.type_text("Dimmer more");
    window.key(Key::Enter);
    let kept = window.project().stereo.commands.last().unwrap();
    assert_eq!((kept.name.as_str(), kept.origin, kept.tried), ("Dimmer more", Origin::Swept, true));
    assert!(window.is_there("59 43 is Dimmer more, kept as a command"));
    window.key(Key::Space);
    assert!(!is_paused(&window));
    pass(&mut window, 2_000.0);
    window.key(Key::Space);
    assert!(is_paused(&window));
    let next = sweep(&window).next;
    window.key(Key::ArrowLeft);
    window.key(Key::ArrowLeft);
    assert_eq!(sweep(&window).next, next - 2);
    assert!(window.says("To be sent next, 5 of 192"));
    pass(&mut window, 500.0);
    window.key(Key::ArrowRight);
    assert!(window.says("Being sent, 5 of 192"));
    pass(&mut window, 50.0);
    assert!(window.says("Sent last, 5 of 192"));
    assert_eq!(sweep(&window).next, next - 1);
}

#[test]
fn a_mark_right_after_a_new_code_asks_which_of_two_it_was() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 2_100.0);
    window.click("It did something");
    assert!(window.says("Which one was it?"));
    assert!(window.is_there("3 of 256 codes sent, 2 marks"));
    window.key(Key::Num2);
    assert!(!window.says("Which one was it?"));
    assert_eq!(sweep(&window).marks.iter().map(|mark| mark.at).collect::<Vec<_>>(), [1]);
    window.click("Take away the mark at 59 01");
    assert!(sweep(&window).marks.is_empty());
}

#[test]
fn a_code_that_is_a_command_already_says_so() {
    let mut window = window();
    retype(&mut window, "First command", "5");
    start(&mut window);
    pass(&mut window, 500.0);
    assert!(window.says("nec address 59 command 05, Source"));
    window.key(Key::M);
    assert!(window.is_there("Marked: it is Source. Go on."));
    assert!(window.is_there("59 05 is Source, kept as a command"));
}

#[test]
fn the_box_unplugged_in_the_middle_pauses_it_and_nothing_is_lost() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 2_400.0);
    window.key(Key::M);
    window.key(Key::Space);
    pass(&mut window, 1_000.0);
    let before = sweep(&window).clone();
    let gone = Report::Gone { path: "/dev/ttyX0".to_owned(), reason: String::new() };
    window.act(Action::Link(LinkAction::Report(gone)));
    assert!(is_paused(&window));
    assert!(window.is_there("The port went away. Plug the box in again: it is picked up by itself."));
    pass(&mut window, 5_000.0);
    assert_eq!(sweep(&window), &before);
    window.act(connected());
    window.act(found());
    assert!(window.says("It is there again: answer the caution, and go on."));
    window.key(Key::Space);
    assert!(is_paused(&window), "the caution is answered anew");
    window.click(READY);
    window.click("Go on");
    assert_eq!(sweep(&window).next, before.next + 1);
}

#[test]
fn a_saved_sweep_goes_on_where_it_was_after_opening_the_file() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 2_400.0);
    window.key(Key::M);
    let text = project::write(window.project());
    let mut window = sized(1280.0, 800.0);
    let path = std::path::PathBuf::from("/nowhere/van.ron");
    window.act(Action::File(FileAction::Loaded { path, text: Ok(text), elsewhere: false }));
    window.act(Action::Go(Station::Codes));
    window.act(Action::Codes(CodesAction::View(CodesView::Sweep)));
    assert!(window.says("To be sent next, 4 of 256"));
    assert!(window.is_there("3 of 256 codes sent, 1 mark"));
    window.key(Key::Space);
    assert!(is_paused(&window) && window.says("Never while driving."));
    assert!(!window.is_there("Go on"));
    window.key(Key::R);
    window.key(Key::Space);
    assert!(window.says("Being sent, 4 of 256"));
}

#[test]
fn what_keeps_the_box_from_sending_is_said_with_what_to_do() {
    let mut window = without_box(1280.0, 800.0);
    let tries = |window: &mut Driven| {
        window.key(Key::R);
        window.key(Key::Enter);
        assert!(window.project().stereo.sweep.is_none());
    };
    assert!(window.is_there("No box is connected. Plug it in and choose its port at the top right."));
    tries(&mut window);
    window.act(connected());
    assert!(window.says("has not said that it is a box"));
    tries(&mut window);
    window.act(report(BoxReport::NoProgram { bootloader: true }));
    assert!(window.is_there("The board has no program. Put it in at the Box station."));
    tries(&mut window);
    window.act(found());
    let resistances = Jack { wants: Some(JackWants::Resistances), ..Jack::default() };
    window.act(Action::Edit(Edit::Jack(resistances)));
    assert!(window.says("This stereo's input wants resistances. The box doesn't drive such an input yet"));
    tries(&mut window);
    window.click("Go to Jack");
    assert_eq!(window.model().codes.view, CodesView::Jack);
}

#[test]
fn a_failure_of_the_box_is_told_and_the_code_can_be_sent_again() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 500.0);
    window.act(Action::Tick(Now { ms: 1_000.0, clock: String::new(), date: String::new() }));
    window.act(report(BoxReport::Failed(Failure {
        job: Job::Try,
        what: "Sending a code: no answer within 300 ms, asked 3 times.".to_owned(),
        advice: "Check the cable and the box's supply, then try again.".to_owned(),
        half_flashed: false,
    })));
    assert!(window.says("Sending a code: no answer within 300 ms, asked 3 times. Check the cable"));
    window.key(Key::ArrowLeft);
    assert!(window.says("To be sent next, 2 of 256"));
    window.key(Key::Space);
    assert!(window.says("To be sent next, 2 of 256"), "its pace holds here too");
    window.act(Action::Tick(Now { ms: 2_000.0, clock: String::new(), date: String::new() }));
    assert!(window.says("Being sent, 2 of 256"));
}

#[test]
fn leaving_the_view_pauses_and_coming_back_says_why() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 1_500.0);
    window.act(Action::Go(Station::Pair));
    pass(&mut window, 5_000.0);
    window.act(Action::Go(Station::Codes));
    assert_eq!(sweep(&window).next, 2);
    assert_eq!(window.model().codes.sweep.halt, Some(Halt::Left));
    assert!(window.is_there("It paused because you left this view."));
}

#[test]
fn all_sent_says_what_to_do_next_and_begins_again_only_after_the_caution() {
    let mut window = window();
    retype(&mut window, "Last command", "2");
    start(&mut window);
    pass(&mut window, 4_000.0);
    assert!(window.says("All were sent. Nothing happened? Then the address or the family is another one."));
    assert!(window.says("Sent last, 3 of 3"));
    window.click("Start again");
    assert!(window.says("Never while driving.") && window.says("To be sent next, 1 of 3"));
    window.click("Forget sweep");
    assert!(window.is_there("3 codes, at most 3.00 s"));
    assert!(window.project().stereo.sweep.is_none());
}

#[test]
fn the_pace_is_changed_on_the_way() {
    let mut window = window();
    start(&mut window);
    pass(&mut window, 500.0);
    retype(&mut window, "Pace, in seconds", "2.5");
    assert_eq!(sweep(&window).pace_ms, 2_500);
    assert!(!is_paused(&window));
    assert!(window.has_focus("Pace, in seconds"));
    window.key(Key::Escape);
    assert!(is_paused(&window), "Esc stops it even while one types");
}

#[test]
fn every_window_size_reaches_the_whole_run() {
    for (width, height) in [(1920.0, 1080.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = sized(width, height);
        start(&mut window);
        pass(&mut window, 2_100.0);
        window.key(Key::M);
        window.key(Key::Num1);
        window.focus("Name of 59 02");
        window.type_text("Dimmer");
        window.key(Key::Enter);
        assert!(window.says("59 02 is Dimmer, kept as a command"), "{width} by {height}");
        window.focus("Forget sweep");
        window.key(Key::Enter);
        assert!(window.project().stereo.sweep.is_none(), "{width} by {height}");
    }
}

#[test]
fn the_longest_codes_fit_every_window() {
    for (width, height) in [(1280.0, 800.0), (640.0, 400.0)] {
        let mut window = sized(width, height);
        let draft = crate::app::codes::sweep::SweepDraft {
            family: "aeha".to_owned(),
            address: "2002".to_owned(),
            address_to: String::new(),
            command: "FFFFFF00".to_owned(),
            command_to: "FFFFFFFF".to_owned(),
            pace_s: "1".to_owned(),
        };
        window.act(Action::Codes(CodesAction::Sweep(SweepAction::Draft(draft))));
        start(&mut window);
        pass(&mut window, 400.0);
        window.key(Key::M);
        assert!(window.says("aeha address 2002 command FFFFFF00"), "{width} by {height}");
        assert!(window.is_there("Name of 2002 FFFFFF00"), "{width} by {height}");
    }
}
