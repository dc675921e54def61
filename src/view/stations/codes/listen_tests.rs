//! Listening, the presses, and Try, driven by their accessible labels. The box is played by its
//! reports.

use egui::Key;

use crate::app::codes::CodesView;
use crate::app::codes::listen::{Ear, ListenAction, action};
use crate::app::the_box::Running;
use crate::app::{Action, Edit, LinkAction, Model, Station};
use crate::circuit::{Jack, JackWants};
use crate::device::{BoxReport, Failure, Job};
use crate::link::{Report, Target};
use crate::project::CommandId;
use crate::remote::{Code, FamilyId, Origin, encode};
use crate::view::stations::driven::Driven;
use crate::wire::Identity;

fn link(report: Report) -> Action {
    Action::Link(LinkAction::Report(report))
}

/// A box says this.
fn says(window: &mut Driven, report: BoxReport) {
    window.act(link(Report::Box(report)));
}

fn connect(window: &mut Driven) {
    let target = Target::Serial { path: "/dev/ttyX0".to_owned(), rate: None };
    window.act(link(Report::Connected { target, rate: Some(115_200), wires: 1 }));
    let identity = Identity { reference_named: true, ..Identity::default() };
    says(window, BoxReport::Identity(Box::new(identity)));
}

fn checked(window: &mut Driven, wants: JackWants) {
    window.act(Action::Edit(Edit::Jack(Jack { wants: Some(wants), ..Jack::default() })));
}

/// The demo van at Codes with a box, and an input that wants pulses.
fn window() -> Driven {
    sized(1280.0, 800.0)
}

fn sized(width: f32, height: f32) -> Driven {
    let mut window = Driven::demo(Station::Codes, width, height);
    connect(&mut window);
    checked(&mut window, JackWants::Pulses);
    window
}

/// The same, with nothing connected.
fn without_box() -> Driven {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.act(link(Report::Closed));
    checked(&mut window, JackWants::Pulses);
    window
}

fn nec(address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId("nec".to_owned()), address, command }
}

fn received(code: &Code, stretch_us: f64) -> Vec<f64> {
    let pulses_us = encode(code, false).unwrap().pulses_us;
    let signed = |at: usize| if at.is_multiple_of(2) { stretch_us } else { -stretch_us };
    pulses_us.iter().enumerate().map(|(at, us)| us + signed(at)).collect()
}

fn captured(window: &mut Driven, timings_us: Vec<f64>, overflow: bool) {
    says(window, BoxReport::Captured { timings_us, overflow });
}

fn listen(window: &mut Driven) {
    window.key(Key::L);
    says(window, BoxReport::Done(Job::Listen));
}

fn press(window: &mut Driven, command: u32, stretch_us: f64) {
    captured(window, received(&nec(0x59, command), stretch_us), false);
}

#[test]
fn three_presses_are_shown_as_they_come_and_kept_with_enter() {
    let mut window = window();
    window.key(Key::L);
    assert!(window.says("Asking the box to listen"));
    says(&mut window, BoxReport::Done(Job::Listen));
    assert!(window.is_there("Listening for: Volume up"));
    assert!(window.says("Press 1 of 3. Point the remote at the box's receiver"));
    assert!(window.is_there("Press 3: to come"));
    press(&mut window, 0x16, 71.0);
    assert!(window.says("Press 1: nec address 59 command 16, marks +71 µs"));
    assert!(window.says("Press 2 of 3. Point"));
    press(&mut window, 0x16, 74.0);
    press(&mut window, 0x16, 77.0);
    assert!(window.is_there("3 of 3 agree. Keep it, or listen again."));
    assert!(window.says("Waveform of nec address 59 command 16, 68.1 ms, heard: the mean of 3 presses"));
    assert!(window.says("The same as it was typed."));
    window.key(Key::Enter);
    let kept = &window.project().stereo.commands[0];
    assert_eq!((&kept.code, kept.origin, kept.heard.len()), (&nec(0x59, 0x16), Origin::Captured, 3));
    assert!(window.is_there("Volume up, captured, not tried, 16, no button"));
    assert!(window.is_there("Heard, 3 of 3 agree"));
    assert!(window.says("Press 3: nec address 59 command 16, marks +77 µs"));
    assert!(window.says("68.1 ms, heard: the mean of 3 presses, marks +74 µs"));
    assert!(window.says("What was heard decides: 59 16."));
    // One frame of one press is likely, and not certain.
    window.key(Key::L);
    says(&mut window, BoxReport::Done(Job::Listen));
    says(&mut window, BoxReport::Done(Job::Listen));
    press(&mut window, 0x16, 71.0);
    window.key(Key::Enter);
    assert!(window.says("Likely: "));
}

#[test]
fn a_press_that_differs_is_named_and_pressed_again_with_a_key() {
    let mut window = window();
    listen(&mut window);
    for command in [0x16, 0x17, 0x16] {
        press(&mut window, command, 70.0);
    }
    assert!(window.says("2 of 3 agree. Press 2 was heard as nec address 59 command 17"));
    assert!(window.says("Press 2: nec address 59 command 17, marks +70 µs, 1 frame, differs"));
    assert!(window.is_there("Keep nec address 59 command 16"));
    window.key(Key::R);
    assert_eq!(window.model().codes.listen.session.as_ref().unwrap().presses.all.len(), 2);
    assert!(window.is_there("Press 3: to come"));
}

#[test]
fn three_buttons_of_the_remote_agree_with_none_and_are_not_kept() {
    let mut window = window();
    listen(&mut window);
    for command in [0x16, 0x17, 0x18] {
        press(&mut window, command, 70.0);
    }
    assert!(window.says("No two presses agree. Press one button of the remote three times."));
    assert!(window.is_there("Heard, no two agree"));
    for (number, command) in [(1, "16"), (2, "17"), (3, "18")] {
        let row = format!("Press {number}: nec address 59 command {command}, marks +70 µs, 1 frame, differs");
        assert!(window.is_there(&row), "{row}");
    }
    window.key(Key::Enter);
    assert_eq!(window.project().stereo.commands[0].origin, Origin::Typed);
    window.key(Key::L);
    assert!(window.is_there("Press 1: to come"));
}

#[test]
fn the_wrong_button_of_the_remote_is_noticed() {
    let mut window = window();
    listen(&mut window);
    press(&mut window, 0x17, 70.0);
    assert!(window.says("Volume down has this code already: was it the right button?"));
    assert!(window.says("It was 59 16, typed. Keep puts this in its place."));
}

#[test]
fn what_is_not_understood_says_why_and_is_kept_raw_knowingly() {
    let mut window = window();
    listen(&mut window);
    for _ in 0..3 {
        captured(&mut window, received(&nec(0x59, 0x16), 60.0)[..43].to_vec(), false);
    }
    assert!(window.is_there("Press 1: not understood"));
    assert!(window.says("of 32 bits"), "the reason stands under it");
    window.click("Keep raw timings");
    let kept = &window.project().stereo.commands[0];
    assert!(matches!(&kept.code, Code::Raw { pulses_us, .. } if pulses_us.len() == 43));
    assert!(window.is_there("Volume up, captured, not tried, raw, no button"));
    assert!(window.says("Waveform of raw"));
}

#[test]
fn what_fails_its_check_is_offered_as_a_free_family_beside_its_timings() {
    let mut window = window();
    listen(&mut window);
    for _ in 0..3 {
        let mut timings_us = received(&nec(0x59, 0x16), 60.0);
        timings_us[65] = 562.5 + 1_687.5 - 120.0 - timings_us[65];
        captured(&mut window, timings_us, false);
    }
    assert!(window.is_there("Keep raw timings"));
    let offered = window.model().codes.listen.session.as_ref().unwrap().free().cloned().unwrap();
    window.click(&format!("Keep {}, without the check", crate::remote::describe(&offered)));
    assert_eq!(window.project().stereo.commands[0].code, offered);
    assert!(window.says("free family address A659"));
}

#[test]
fn a_remote_held_too_long_and_flickers_are_said() {
    let mut window = window();
    listen(&mut window);
    captured(&mut window, vec![55.0], false);
    assert!(window.says("A flicker was passed over"));
    captured(&mut window, received(&nec(0x59, 0x16), 60.0), true);
    assert!(window.says("Held longer than the box can keep: the first 67 timings are here."));
    assert!(!window.says("A flicker was passed over"));
}

#[test]
fn without_a_box_listening_says_what_to_do_and_offers_it() {
    let mut window = without_box();
    window.key(Key::L);
    assert!(window.says("No box to listen with. The receiver is on the box."));
    assert!(window.is_there("Open the demo"));
    window.click("Connect");
    assert!(window.says("Where readings come from"));
    window.key(Key::Escape);
    connect(&mut window);
    assert!(window.says("The box is there. Press L to listen."));
    listen(&mut window);
    assert!(window.says("Press 1 of 3"));
    window.act(link(Report::Gone { path: "/dev/ttyX0".to_owned(), reason: "Unplugged.".to_owned() }));
    assert!(window.says("The box went away. Plug it in again"));
}

#[test]
fn a_busy_box_is_waited_for_and_a_failure_is_told() {
    let mut model = Model::default();
    model.update(Action::File(crate::app::FileAction::Demo));
    model.update(Action::Go(Station::Codes));
    let mut window = Driven::of(model, 1280.0, 800.0);
    connect(&mut window);
    let progress = crate::device::Phase::Writing;
    says(&mut window, BoxReport::Progress { job: Job::Write, phase: progress, done: 1, of: 400 });
    assert_eq!(window.model().the_box.running.map(|Running { job, .. }| job), Some(Job::Write));
    assert!(window.says("The box is busy. Try is back once that is done."));
    window.key(Key::L);
    assert!(window.says("The box is busy. It listens once that is done."));
    says(&mut window, BoxReport::Done(Job::Write));
    says(
        &mut window,
        BoxReport::Failed(Failure {
            job: Job::Listen,
            what: "No answer within 400 ms.".to_owned(),
            advice: "Check the cable.".to_owned(),
            half_flashed: false,
        }),
    );
    assert!(window.says("The box does not listen. No answer within 400 ms. Check the cable."));
}

#[test]
fn a_new_command_is_heard_first_and_named_after() {
    let mut window = window();
    listen(&mut window);
    window.key(Key::N);
    assert!(window.is_there("Listening for: A new command"));
    for stretch_us in [70.0, 72.0, 74.0] {
        press(&mut window, 0x31, stretch_us);
    }
    window.key(Key::Enter);
    assert!(window.says("A name needs at least one letter or digit."));
    window.type_into("Name", "Mute");
    assert!(window.says("Mute is there already."));
    window.type_text(" all");
    window.key(Key::Enter);
    let kept = window.project().stereo.commands.last().unwrap();
    assert_eq!((kept.name.as_str(), &kept.code), ("Mute all", &nec(0x59, 0x31)));
    assert!(window.is_there("Mute all, captured, not tried, 31, no button"));
}

#[test]
fn the_first_command_of_all_is_heard_and_named() {
    let mut window = window();
    let ids: Vec<_> = window.project().stereo.commands.iter().map(|command| command.id.clone()).collect();
    for id in ids {
        window.act(Action::Edit(Edit::RemoveCommand(id)));
    }
    assert!(window.is_there("No commands yet. Press the remote, or type a number."));
    window.click("Listen to the remote");
    says(&mut window, BoxReport::Done(Job::Listen));
    window.type_into("Name", "Louder");
    for _ in 0..3 {
        press(&mut window, 0x16, 70.0);
    }
    window.click("Keep nec address 59 command 16");
    assert_eq!(window.project().stereo.commands.len(), 1);
    assert!(window.is_there("Louder, captured, not tried, 16, no button"));
}

#[test]
fn another_command_of_the_list_takes_what_was_heard() {
    let mut window = window();
    listen(&mut window);
    press(&mut window, 0x0C, 70.0);
    window.click("Mute, typed, not tried, 0C, no button");
    assert!(window.is_there("Listening for: Mute"));
    assert!(window.says("Press 1: nec address 59 command 0C"));
    window.key(Key::Escape);
    assert!(window.model().codes.listen.session.is_none());
    assert_eq!(window.project().stereo.commands[7].origin, Origin::Typed);
}

#[test]
fn stopping_and_going_on_take_one_key() {
    let mut window = window();
    listen(&mut window);
    press(&mut window, 0x16, 70.0);
    window.key(Key::L);
    assert!(window.says("Not listening. 1 of 3 heard. Press L to listen on, or keep what was heard."));
    says(&mut window, BoxReport::Done(Job::Listen));
    listen(&mut window);
    assert_eq!(
        window.model().codes.listen.session.as_ref().map(|session| session.ear.clone()),
        Some(Ear::Open)
    );
    assert!(window.says("Press 2 of 3"));
}

#[test]
fn try_sends_with_a_key_and_offers_that_it_worked() {
    let mut window = window();
    assert!(!window.says("isn't checked"));
    window.key(Key::T);
    assert!(window.asked(&action(ListenAction::Try(CommandId("volume_up".to_owned())))));
    assert!(window.is_there("Sending."));
    says(&mut window, BoxReport::Sent { frames: 1 });
    assert!(window.is_there("Sent in 1 frame."));
    window.key(Key::Y);
    assert!(window.project().stereo.commands[0].tried);
    assert!(window.is_there("Sent in 1 frame. It worked."));
    assert!(window.is_there("Volume up, typed, 16, no button"));
    window.key(Key::ArrowDown);
    window.click("Volume down, typed, not tried, 17, no button");
    assert!(!window.says("Sent in 1 frame"));
    window.click("Try on stereo");
    let failure = Failure {
        job: Job::Try,
        what: "No answer within 400 ms.".to_owned(),
        advice: "Check the cable.".to_owned(),
        half_flashed: false,
    };
    says(&mut window, BoxReport::Failed(failure));
    assert!(window.is_there("Not sent. No answer within 400 ms. Check the cable."));
}

#[test]
fn the_jack_stands_before_try() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    connect(&mut window);
    window.act(Action::Edit(Edit::Jack(Jack::default())));
    assert!(window.is_there("The stereo's input isn't checked. Look at Jack first."));
    window.click("Look at Jack");
    assert_eq!(window.model().codes.view, CodesView::Jack);
    window.act(Action::Codes(crate::app::CodesAction::View(CodesView::Listen)));
    checked(&mut window, JackWants::Resistances);
    assert!(window.is_there("The stereo's input wants resistances, and this box sends pulses."));
    window.key(Key::T);
    assert!(window.model().codes.listen.trying.is_none());
}

#[test]
fn try_says_what_is_missing_where_no_box_is_there() {
    let mut window = without_box();
    assert!(window.is_there("Try takes a box, and none is connected."));
    window.key(Key::T);
    assert!(window.model().codes.listen.trying.is_none());
    window.click("Connect");
    assert!(window.says("Where readings come from"));
}

#[test]
fn every_window_size_walks_through_listening() {
    for (width, height) in
        [(1920.0, 1080.0), (1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)]
    {
        let mut window = sized(width, height);
        listen(&mut window);
        for stretch_us in [60.0, 62.0, 64.0] {
            press(&mut window, 0x18, stretch_us);
        }
        window.click("Keep nec address 59 command 18");
        let kept = &window.project().stereo.commands[0];
        assert_eq!((kept.heard.len(), kept.origin), (3, Origin::Captured), "{width} by {height}");
        window.key(Key::T);
        says(&mut window, BoxReport::Sent { frames: 1 });
        window.click("Volume up worked");
        assert!(window.project().stereo.commands[0].tried, "{width} by {height}");
    }
}

#[test]
fn codes_of_every_kind_are_drawn_over_what_was_heard() {
    let free = Code::Free { free: crate::remote::FreeFamily::default(), address: 1, command: 2 };
    let raw = Code::Raw { pulses_us: vec![900.0, 400.0, 500.0, 1_500.0, 500.0], repeat_us: Some(60_000.0) };
    let family =
        |id: &str, address, command| Code::Family { family: FamilyId(id.to_owned()), address, command };
    let codes = [
        family("rc5", 5, 0x35),
        family("rc6", 0x11, 0x22),
        family("sirc12", 1, 0x13),
        family("sirc20", 0x0101, 0x13),
        family("aeha", 0x1234, 0x5678_9AB0),
        family("pd16", 0xA5, 0x3C),
        free,
        raw,
    ];
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        for code in &codes {
            let mut window = sized(width, height);
            let before = window.project().stereo.commands[0].clone();
            let heard = vec![crate::project::HeardPress { timings_us: received(code, 40.0) }];
            let command =
                crate::project::Command { code: code.clone(), heard, origin: Origin::Captured, ..before };
            window.act(Action::Edit(Edit::ChangeCommand(Box::new(command))));
            assert!(window.says("Waveform of"), "{code:?}");
            assert!(window.is_there("Heard"), "{code:?}");
        }
    }
}
