//! The station driven by its accessible labels, state by state. What a box action changes is not
//! tested here: only that it was asked for.

use egui::Key;

use super::made_up::{STATES, made_up};
use super::{decisions, tally, words};
use crate::app::the_box::{BoxAction, BoxView, Held, Presence, Running};
use crate::app::{Action, Edit, Model, Station};
use crate::circuit::{Jack, JackWants};
use crate::device::{Job, Phase};
use crate::image::{ImageBand, ImageCode};
use crate::project::CommandId;
use crate::view::stations::driven::Driven;
use crate::wire::{BLINKS, Counters, DecisionKind, PINS};

fn window(state: &str) -> Driven {
    Driven::of(made_up(state), 1280.0, 800.0)
}

fn asked(window: &Driven, action: BoxAction) -> bool {
    window.asked(&Action::Box(action))
}

#[test]
fn every_state_is_drawn_in_every_window_and_asks_for_nothing_by_itself() {
    for state in STATES {
        for (width, height) in
            [(1920.0, 1080.0), (1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)]
        {
            let mut window = Driven::of(made_up(state), width, height);
            window.settle();
            assert!(window.says("Box against project"), "{state}, {width} by {height}");
            assert_eq!(window.actions(), 0, "{state}, {width} by {height}");
        }
    }
}

#[test]
fn every_view_is_drawn_in_every_state() {
    for state in STATES {
        for view in BoxView::ALL {
            let mut model = made_up(state);
            model.the_box.view = view;
            let window = Driven::of(model, 1280.0, 800.0);
            assert!(window.says("Box against project"), "{state}, {}", view.name());
        }
    }
}

#[test]
fn the_views_are_switched_in_the_head() {
    let mut window = window("same");
    window.click("Counters");
    assert!(asked(&window, BoxAction::View(BoxView::Counters)));
    assert!(window.is_there("Seat check"));
}

#[test]
fn a_box_that_holds_the_project_says_so_and_leaves_nothing_to_do() {
    let mut window = window("same");
    for words in [
        "Firmware 1.0",
        "Chip ATmega328P",
        "Image 7, in slot B",
        "Written 21:58, read back",
        "Checksum 4C1A",
        "Box against project, the same",
        "Bands 7, the same",
        "Dwell 22 ms, the same",
        "Pairs 7, the same",
        "Codes 7, the same",
        "Reference the supply, the same",
        "Other settings 5, the same",
        "Presses 412",
        "Resets 4, power on",
        "Longest loop 0.41 ms",
        "Line by line, all 28 the same",
    ] {
        assert!(window.is_there(words), "{words}");
    }
    window.key(Key::W);
    window.click("Written, nothing to do");
    assert_eq!(window.actions(), 0);
    window.key(Key::R);
    assert!(asked(&window, BoxAction::Read));
}

#[test]
fn what_differs_is_told_line_by_line_and_written_with_one_press() {
    let mut window = window("differs");
    assert!(window.is_there("Line by line, 3 of 28 differ"));
    assert!(window.is_there("Source, band: project 540 to 614, box 536 to 610, differs"));
    assert!(window.is_there("Mute, tap: project Mute, box nothing, differs"));
    assert!(window.is_there("Next, band: project 296 to 424, box 296 to 424, the same"));
    assert!(window.is_there("Bands 1 of 7 differs, differs"));
    assert!(window.is_there("Dwell 24 ms, not 22 ms, differs"));
    window.click("Write to box");
    assert!(asked(&window, BoxAction::Write));
}

#[test]
fn another_vehicles_box_is_called_so_first() {
    let mut model = made_up("same");
    let row = &mut model.derived.the_box.rows[0];
    (row.held, row.same) = ("another vehicle".to_owned(), false);
    let summary = words::summary(&model.derived.the_box.rows);
    assert_eq!((summary[0].name, summary[0].figure.as_str()), ("Vehicle", "another vehicle"));
    assert!(Driven::of(model, 1280.0, 800.0).is_there("Vehicle another vehicle, differs"));
}

#[test]
fn the_main_action_is_pressed_by_its_key_too() {
    for (state, key, action) in [
        ("differs", Key::W, BoxAction::Write),
        ("nothing", Key::W, BoxAction::Write),
        ("unreadable", Key::W, BoxAction::Write),
        ("unread", Key::R, BoxAction::Read),
        ("no program", Key::P, BoxAction::Flash),
        ("no bootloader", Key::P, BoxAction::Flash),
    ] {
        let mut window = window(state);
        window.key(key);
        assert!(asked(&window, action), "{state}");
        assert_eq!(window.actions(), 1, "{state}");
    }
}

#[test]
fn without_a_box_it_says_what_to_do_first_and_opens_the_ports() {
    let mut window = window("none");
    assert!(window.is_there("No box yet. Plug it in, then choose its port."));
    assert!(window.is_there("The project is ready: 401 bytes, checksum 4C1A."));
    assert!(window.has_focus("Choose a port"));
    window.key(Key::Enter);
    assert!(window.is_there("Replay a recording"), "the link's panel is open");
}

#[test]
fn a_lost_port_and_one_that_is_being_asked_say_what_is_waited_for() {
    assert!(window("gone").is_there("The port went away. Plug the box back in."));
    assert!(window("asking").is_there("Asking who is there."));
}

#[test]
fn a_probe_is_called_one_and_may_become_a_box() {
    let mut window = window("probe");
    assert!(window.is_there("This is a probe. There is no box to fill."));
    assert!(window.says("its own program is then replaced"));
    window.click("Make this one a box");
    assert!(asked(&window, BoxAction::Flash));
}

#[test]
fn a_board_without_our_program_is_explained_with_and_without_a_bootloader() {
    let with = window("no program");
    assert!(with.is_there("This board has no program of ours. Put it in."));
    assert!(with.says("no compiler, no programmer"));
    let without = window("no bootloader");
    assert!(without.is_there("Nothing answers. Press the board's reset, then put the program in."));
    assert!(without.says("A bare chip needs a bootloader first"));
}

#[test]
fn a_job_shows_how_far_it_is_in_words_and_is_given_up_with_escape() {
    for (state, words) in [
        ("writing", "Writing, 128 of 401 bytes"),
        ("reading back", "Reading back, 320 of 401 bytes"),
        ("flashing", "Putting the program in, 3328 of 10496 bytes"),
    ] {
        let mut window = window(state);
        assert!(window.is_there(words), "{words}");
        window.key(Key::W);
        window.key(Key::P);
        window.key(Key::R);
        assert_eq!(window.actions(), 0, "{state}: nothing else is begun meanwhile");
        window.key(Key::Escape);
        assert!(asked(&window, BoxAction::Cancel), "{state}");
    }
}

#[test]
fn a_short_job_takes_nothing_away() {
    let mut model = made_up("differs");
    model.the_box.running = Some(Running { job: Job::Counters, phase: None, done: 0, of: 0 });
    let mut window = Driven::of(model, 1280.0, 800.0);
    window.key(Key::W);
    assert!(asked(&window, BoxAction::Write));
}

#[test]
fn a_failure_says_what_and_what_to_do() {
    let refused = window("not written");
    assert!(refused.is_there("Not written. The supply is 4.31 V, and the box writes from 4.5 V on."));
    assert!(refused.says("What the box held, it still holds."));
    let mut half = window("half flashed");
    assert!(half.says("The program was not put in."));
    assert!(half.says("The board may now be without a program."));
    half.click("Put it in again");
    assert!(asked(&half, BoxAction::Flash));
}

#[test]
fn what_does_not_fit_is_told_with_its_place_and_keeps_the_box_unwritten() {
    let mut window = window("misfits");
    assert!(window.is_there("51 pairs, and the box holds 48. Take 3 gestures away at Pair. pairs"));
    assert!(window.is_there("Does not fit the box, 2 things"));
    window.key(Key::W);
    assert!(!asked(&window, BoxAction::Write));
}

#[test]
fn a_damaged_slot_and_contents_that_cannot_be_read_are_told() {
    assert!(window("damaged").says("A slot is damaged. The other one is in use."));
    assert!(window("unreadable").says("Slot B, 401 bytes: it is of format 2"));
}

#[test]
fn the_watch_tells_what_is_recognised_and_why() {
    let window = window("watch");
    assert!(window.is_there("Recognised now: Source"));
    assert!(window.is_there(
        "Source was recognised; 552 counts, 12 from its edge; 24 ms after it left rest; sends Source 05"
    ));
    assert!(window.is_there("Where each press landed, 29 presses"));
    assert!(window.is_there("Source, 5 presses, nearest 8 counts from an edge, slowest 27 ms"));
    assert!(window.says("No button; The wire moved and came back; without settling; last at 627 counts"));
    assert!(window.says("0:47.7 Mute was recognised"));
}

#[test]
fn what_is_known_of_the_stereos_input_is_said_before_a_code_is_tried() {
    let mut window = window("watch");
    let unknown = "It isn't known yet whether the stereo's input takes pulses.";
    assert!(!window.is_there(unknown));
    window.act(Action::Edit(Edit::Jack(Jack::default())));
    assert!(window.is_there(unknown));
    let wants = Some(JackWants::Resistances);
    window.act(Action::Edit(Edit::Jack(Jack { wants, ..Jack::default() })));
    assert!(window.is_there("The stereo's input takes resistances: no pulse would do anything."));
}

#[test]
fn the_watch_is_started_and_stopped_with_the_space_bar() {
    let mut off = window("watch off");
    assert!(off.is_there("Start the watch, then press any button."));
    off.key(Key::Space);
    assert!(asked(&off, BoxAction::Watch(true)));
    let mut on = window("watch");
    on.key(Key::Space);
    assert!(asked(&on, BoxAction::Watch(false)));
    on.click("Clear the decisions");
    assert!(asked(&on, BoxAction::ClearWatch));
}

#[test]
fn a_code_is_chosen_and_tried() {
    let mut window = window("watch");
    assert!(window.is_there("Sent Mute 0C, 1 frame"));
    window.click("Try Mute");
    assert!(asked(&window, BoxAction::Try { held_ms: 100 }));
    window.click("Hold Mute for 1 s");
    assert!(asked(&window, BoxAction::Try { held_ms: 1_000 }));
    window.click("Stop sending");
    assert!(asked(&window, BoxAction::StopTry));
    window.click("Command to try");
    window.click("Answer call");
    assert!(asked(&window, BoxAction::ChooseTry(CommandId("answer_call".to_owned()))));
}

#[test]
fn nothing_is_tried_before_a_command_is_chosen() {
    let mut window = window("watch off");
    window.key(Key::T);
    window.click("Hold  for 1 s");
    assert_eq!(window.actions(), 0);
}

#[test]
fn decisions_keep_the_boxes_own_numbers_where_the_project_is_another() {
    let mut model = made_up("watch");
    if let Held::Image { image, .. } = &mut model.the_box.held {
        image.commands[4].code = ImageCode::Family { family: 1, address: 0x59, command: 0x77 };
        image.buttons[4].band.low = 500;
    }
    let names = decisions::Names::of(&model).unwrap();
    assert_eq!(names.command(4), "code 77");
    assert_eq!(names.command(7), "Mute 0C");
    assert_eq!(names.command(31), "command 32");
    assert_eq!(names.to_edge(4, 552.0), Some(52.0));
    assert_eq!(names.button(15), "Button 16");
}

#[test]
fn a_press_is_listed_once_with_its_gesture() {
    let model = made_up("watch");
    let listed: Vec<_> = decisions::listed(&model.the_box.decisions).map(|seen| seen.kind).collect();
    assert_eq!(listed.len(), 30);
    assert!(listed.iter().all(|kind| matches!(kind, DecisionKind::Tap | DecisionKind::Undecided)));
    // A button that leads nowhere has no gesture: its press is what there is.
    let mut decisions = model.the_box.decisions;
    decisions.retain(|seen| seen.kind != DecisionKind::Tap);
    assert_eq!(decisions::listed(&decisions).filter(|seen| seen.kind == DecisionKind::Pressed).count(), 29);
}

#[test]
fn counters_say_what_they_mean_only_when_they_are_not_naught() {
    let window = window("counters");
    assert!(window.is_there("Presses 412 presses"));
    assert!(window.is_there("Watchdog 0 times"));
    assert!(window.is_there(
        "Supply too low 1 time Cranking, a loose feed or ground, or a converter with \
                             too little headroom. Measure the supply while it happens."
    ));
    assert!(window.is_there("Supply 5.05 V by the chip, ± 9 %"));
    assert!(window.is_there("Brown-out 2.7 V, differs"));
    assert!(window.says("A 16 MHz part needs 4.3 V."));
    for (_, counters) in tally::counters(&Counters::default()) {
        assert!(counters.iter().all(|counter| counter.meaning.is_empty()));
    }
}

#[test]
fn the_supply_is_calibrated_by_what_the_meter_shows() {
    let mut window = window("counters");
    window.click("Calibrate the supply by the meter");
    assert!(window.says("Type what the meter shows"));
    window.type_into("By the meter, in volts", "50");
    window.click("Calibrate the supply by the meter");
    assert!(window.says("The supply lies between 3 and 6 V."));
    assert_eq!(window.actions(), 0);
    window.focus("By the meter, in volts");
    window.key(Key::Backspace);
    window.key(Key::Backspace);
    window.type_text("5,04");
    window.key(Key::Enter);
    assert!(asked(&window, BoxAction::Calibrate(Some(5.04))));
}

#[test]
fn a_box_that_cannot_measure_its_supply_says_why() {
    let mut model = made_up("counters");
    if let Presence::Found(identity) = &mut model.the_box.presence {
        identity.supply_mv = None;
    }
    let window = Driven::of(model, 1280.0, 800.0);
    assert!(window.says("The chip can't measure its supply"));
    assert!(!window.is_there("By the meter, in volts"));
}

#[test]
fn the_fullest_box_is_watched_whole_in_every_window() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut model = made_up("watch");
        if let Held::Image { image, .. } = &mut model.the_box.held {
            let last = image.buttons[6];
            image.buttons.resize(16, last);
        }
        let window = Driven::of(model, width, height);
        assert!(window.is_there("Button 16, no press yet, accepts 790 to 900"), "{width} by {height}");
        assert!(window.is_there("Try Mute"), "{width} by {height}");
    }
}

#[test]
fn a_reading_that_is_none_and_a_band_that_takes_nothing_are_borne() {
    let mut model = made_up("watch");
    for seen in &mut model.the_box.decisions {
        seen.count = f64::NAN;
    }
    if let Held::Image { image, .. } = &mut model.the_box.held {
        image.buttons[2].band = ImageBand::default();
    }
    let window = Driven::of(model, 1280.0, 800.0);
    assert!(window.says("Source was recognised; no reading; 24 ms after it left rest"));
    assert!(window.is_there("Where each press landed, no press yet"));
    assert!(window.is_there("Mute, no press yet, accepts 790 to 900"));
    assert!(window.is_there("Next accepts nothing"));
}

#[test]
fn volts_are_read_with_either_sign_and_the_unit() {
    assert_eq!(words::volts(" 5.04 V "), Ok(5.04));
    assert_eq!(words::volts("5,04"), Ok(5.04));
    for typed in ["", "NaN", "inf", "five", "-5", "1e9"] {
        assert!(words::volts(typed).is_err(), "{typed}");
    }
}

#[test]
fn every_pin_and_every_blink_is_there_to_be_read() {
    let window = window("wiring");
    for pin in PINS {
        assert!(window.says(&format!("{}, pin", pin.port)), "{}", pin.port);
    }
    for blink in BLINKS {
        assert!(window.says(&format!("{}: {}", blink.name, blink.pattern)), "{}", blink.name);
    }
    assert!(window.says("Two supplies on the 5 V rail fight each other."));
}

#[test]
fn the_c_header_is_asked_for() {
    let mut window = window("none");
    window.click("Save the C header");
    assert!(asked(&window, BoxAction::AskHeader));
}

#[test]
fn a_bar_never_runs_back_from_phase_to_phase() {
    for job in [Job::Write, Job::Flash] {
        let mut last = 0.0;
        for phase in [Phase::Calling, Phase::Writing, Phase::Checking, Phase::Starting] {
            for done in [0, 200, 401] {
                let share = words::share(&Running { job, phase: Some(phase), done, of: 401 });
                assert!((last..=1.0).contains(&share), "{job:?} {phase:?} {done}: {share}");
                last = share;
            }
        }
    }
    let none = Running { job: Job::Read, phase: None, done: 0, of: 0 };
    assert_eq!(words::share(&none), 0.0);
}

#[test]
fn without_a_vehicle_the_station_says_where_to_begin() {
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    model.update(Action::Go(Station::Box));
    assert!(Driven::of(model, 1280.0, 800.0).says("Nothing is open."));
}

#[test]
fn the_seat_check_names_the_button_and_says_what_the_last_press_came_to() {
    let mut window = Driven::of(made_up("seat check"), 1280.0, 800.0);
    assert!(window.is_there("Press once, any way you like: Mute"));
    assert!(window.is_there("Volume up, right. 86 counts, 22 from its edge, after 25 ms, sent Volume up 16"));
    assert!(window.is_there("68 presses, 0 errors. At 95 % confidence at most 4.4 in 100 presses go wrong."));
    assert!(window.is_there("Running, at random: 5 of 21, 0 wrong"));
    window.click("Stereo did nothing");
    let session = window.model().the_box.seat.session.as_ref().unwrap();
    assert_eq!(session.presses().last().map(|press| press.outcome.is_error()), Some(true));
    assert!(window.is_there("68 presses, 1 error. At 95 % confidence at most 6.8 in 100 presses go wrong."));
    window.key(egui::Key::B);
    assert_eq!(window.model().the_box.seat.session.as_ref().unwrap().presses().len(), 67);
}

#[test]
fn a_finished_seat_check_is_shown_again_from_the_project() {
    let mut model = made_up("seat done");
    let session = model.the_box.seat.session.take().unwrap();
    let check = crate::project::SeatCheck {
        on: "2008-05-17 21:14".to_owned(),
        firmware: "1.0".to_owned(),
        image_check: 0x1234,
        planned: 84,
        taken_back: 0,
        presses: session.presses().to_vec(),
    };
    let document = model.document.as_mut().unwrap();
    document.change(None, |project| project.seat_check = Some(check));
    let window = Driven::of(model, 1280.0, 800.0);
    assert!(window.is_there("Done 2008-05-17 21:14, on firmware 1.0 and image 1234."));
    assert!(window.is_there("84 presses, 0 errors. At 95 % confidence at most 3.6 in 100 presses go wrong."));
    assert!(
        window
            .is_there("The project has changed since: what was shown then isn't shown for it. Check again.")
    );
}
