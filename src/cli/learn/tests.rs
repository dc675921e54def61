//! The lesson on simulated readings: no link and no clock.

use std::time::{Duration, Instant};

use super::super::CliError;
use super::super::io::{Ran, on};
use super::lesson::{Fault, Lesson, Standing, Step};
use super::teller::{Manner, Teller};
use crate::demo::{HandMove, Person, PlanButton, VirtualWheel, WheelPlan, demo_van};
use crate::device::BoxReport;
use crate::learn::{Ask, Phase, Setup};
use crate::link::{Batch, Report, Target};
use crate::project::ButtonId;
use crate::signal::{Converter, RawReading};
use crate::wire::{Identity, NamedReference, ReferenceKind};

const GIVE_UP: Duration = Duration::from_secs(120);

fn setup(names: &[&str], presses: u32) -> Setup {
    let ask = |name: &&str| Ask { id: ButtonId(name.to_lowercase()), name: (*name).to_owned(), wire: None };
    Setup::new(names.iter().map(ask).collect(), presses)
}

fn target() -> Target {
    Target::Serial { path: "/dev/probe".to_owned(), rate: None }
}

fn connected() -> Report {
    Report::Connected { target: target(), rate: Some(9_600), wires: 1 }
}

/// What a lesson prints and says while `play` plays it.
fn told(
    manner: Manner,
    lesson: &mut Lesson,
    play: impl FnOnce(&mut Lesson, &mut Teller<'_, '_>) -> Result<(), Fault>,
) -> Ran {
    on(&[], |io| {
        let mut teller = Teller::new(io, manner, Vec::new(), 2);
        lesson.open(&target(), Instant::now());
        play(lesson, &mut teller).map_err(CliError::failed)?;
        Ok(std::process::ExitCode::SUCCESS)
    })
}

fn lesson(setup: Setup) -> Lesson {
    Lesson::new(setup, Converter::TenBit, None, GIVE_UP)
}

/// Plays a wheel with a person who presses, of the wheel's buttons, the one with the place of the
/// button asked for; until it is over, or for two minutes.
fn play(
    lesson: &mut Lesson,
    teller: &mut Teller<'_, '_>,
    plan: WheelPlan,
    ids: &[&str],
) -> Result<(), Fault> {
    let (mut wheel, mut person) = (VirtualWheel::new(plan, 5), Person::new(5));
    lesson.hear(connected(), Instant::now(), teller)?;
    while !lesson.is_over() && wheel.now_ms() < 120_000.0 {
        let readings = (0..20).map(|_| wheel.next()).collect();
        let step =
            lesson.hear(Report::Readings(Batch { readings, ..Batch::default() }), Instant::now(), teller)?;
        assert_eq!(step, Step::Wait, "no hand of its own");
        let wanted = match lesson.prompt().phase {
            Phase::Press { button, touch, .. } => {
                ids.iter().position(|id| *id == button.0).map(|place| (place, touch))
            }
            _ => None,
        };
        match person.step(wheel.now_ms(), wanted) {
            Some(HandMove::Press { button, touch }) => wheel.press(button, touch),
            Some(HandMove::Release) => wheel.release(),
            None => {}
        }
    }
    Ok(())
}

fn wheel(buttons: &[(&str, u8, f64)]) -> WheelPlan {
    let buttons =
        buttons.iter().map(|&(name, wire, ohm)| PlanButton { name: name.to_owned(), wire, ohm }).collect();
    WheelPlan { buttons, spike_per_s: 0.0, ..demo_van() }
}

#[test]
fn a_button_on_anothers_rung_is_taken_as_indistinct_and_that_is_said() {
    let mut lesson = lesson(setup(&["Mute", "Phone"], 1));
    let plan = wheel(&[("Mute", 1, 1_000.0), ("Phone", 1, 1_000.0)]);
    let (ended, out, aside) =
        told(Manner::Json, &mut lesson, |lesson, teller| play(lesson, teller, plan, &["mute", "phone"]));
    assert!(ended.is_ok() && lesson.is_over(), "{out}{aside}");
    let kinds: Vec<&str> = out.lines().filter_map(|line| line.split('"').nth(3)).collect();
    assert_eq!(kinds, ["rest", "prompt", "pressed", "prompt", "refused", "refused", "pressed", "rest"]);
    assert!(out.contains("\"reason\":\"Not taken for Phone. It settled at 51"), "{out}");
    assert!(aside.contains("Phone settled at 51"), "{aside}");
    assert!(aside.contains(" again, on Mute's rung: taken as indistinct from Mute.\n"), "{aside}");
    assert_eq!(lesson.results()[1].indistinct_from, Some(ButtonId("mute".to_owned())));
}

#[test]
fn two_wires_that_rest_together_are_one_line_and_a_press_tells_which_wire() {
    let mut lesson = lesson(setup(&["Left", "Right"], 1));
    let plan = WheelPlan {
        wires: 2,
        rest_ohm: [14_862.0, f64::INFINITY],
        ..wheel(&[("Left", 1, 262.0), ("Right", 2, 922.0)])
    };
    let (ended, out, _) =
        told(Manner::Json, &mut lesson, |lesson, teller| play(lesson, teller, plan, &["left", "right"]));
    assert!(ended.is_ok());
    assert_eq!(out.lines().filter(|line| *line == r#"{"event":"rest"}"#).count(), 2, "{out}");
    assert_eq!(lesson.results().iter().map(|result| result.wire).collect::<Vec<_>>(), [Some(1), Some(2)]);
}

#[test]
fn plain_lines_say_what_to_do_with_the_readings() {
    let mut lesson = lesson(setup(&["Mute", "Next"], 3));
    let plan = wheel(&[("Mute", 1, 4_862.0), ("Next", 1, 532.0)]);
    let (_, out, aside) =
        told(Manner::Plain, &mut lesson, |lesson, teller| play(lesson, teller, plan, &["mute", "next"]));
    assert!(out.starts_with(
        "Connected to /dev/probe at 9600 bits per second, one wire. Hands off: rest is learned first.\nRest of wire 1: 959.0 ± "
    ), "{out}");
    assert!(out.contains("Press mute, 2 of 3, this one slowly.\n  Counted: 8"), "{out}");
    assert!(out.contains("mute is learned: 1 of 2.\n"), "{out}");
    assert_eq!(aside, "");
}

#[test]
fn a_port_that_comes_back_in_time_goes_on_and_one_that_does_not_ends_it() {
    let mut lesson = lesson(setup(&["Mute"], 1));
    let (ended, _, aside) = told(Manner::Plain, &mut lesson, |lesson, teller| {
        let now = Instant::now();
        let gone = || Report::Gone { path: "/dev/probe".to_owned(), reason: "It is gone.".to_owned() };
        lesson.hear(connected(), now, teller)?;
        lesson.hear(gone(), now, teller)?;
        lesson.look_at_clock(now + Duration::from_secs(9))?;
        lesson.hear(connected(), now + Duration::from_secs(9), teller)?;
        assert_eq!(lesson.standing(), &Standing::Open);
        lesson.look_at_clock(now + Duration::from_secs(30))?;
        lesson.hear(gone(), now + Duration::from_secs(30), teller)?;
        lesson.hear(gone(), now + Duration::from_secs(35), teller)?;
        lesson.look_at_clock(now + Duration::from_secs(41))
    });
    assert_eq!(
        ended.unwrap_err().to_string(),
        "/dev/probe went away and was not back within 10 s (It is gone). Plug it in again and go on."
    );
    assert!(aside.starts_with(
        "/dev/probe went away: It is gone. Plug it in again within 10 s and learning goes on.\n"
    ));
}

#[test]
fn where_nothing_goes_on_it_gives_up_with_what_was_wanted() {
    let after = |play: &dyn Fn(&mut Lesson, &mut Teller<'_, '_>) -> Result<(), Fault>| {
        let mut lesson = lesson(setup(&["Mute"], 3));
        let (ended, ..) = told(Manner::Plain, &mut lesson, |lesson, teller| {
            play(lesson, teller)?;
            lesson.look_at_clock(Instant::now() + GIVE_UP - Duration::from_secs(5))?;
            lesson.look_at_clock(Instant::now() + GIVE_UP)
        });
        ended.unwrap_err().to_string()
    };
    assert_eq!(
        after(&|_, _| Ok(())),
        "No readings came from /dev/probe for 120 s. Check that the probe is powered and prints one or two numbers on each line by itself."
    );
    let readings = |lesson: &mut Lesson, teller: &mut Teller<'_, '_>, number: fn(u32) -> u16, to_ms: u32| {
        lesson.hear(connected(), Instant::now(), teller)?;
        let raw = |t: u32| RawReading {
            feed: RawReading::NONE,
            t_ms: f64::from(t),
            raw: [number(t), RawReading::NONE],
        };
        let readings = (0..to_ms).map(raw).collect();
        lesson.hear(Report::Readings(Batch { readings, ..Batch::default() }), Instant::now(), teller)
    };
    assert_eq!(
        after(&|lesson, teller| readings(lesson, teller, |t| (500 + t % 2) as u16, 2_000).map(|_| ())),
        "Nothing was pressed for Mute, press 1 of 3, for 120 s. Check that the probe is on the wheel's wire."
    );
    let unsteady =
        after(&|lesson, teller| readings(lesson, teller, |t| (t * 7_919 % 1_000) as u16, 6_000).map(|_| ()));
    assert!(
        unsteady.starts_with("Rest did not hold still for 120 s. Wire 1 does not rest: ± "),
        "{unsteady}"
    );
}

#[test]
fn silence_is_told_once_and_broken_lines_with_one_of_them() {
    let mut lesson = lesson(setup(&["Mute"], 1));
    let (_, _, aside) = told(Manner::Json, &mut lesson, |lesson, teller| {
        let now = Instant::now();
        for ms in (1_000..9_000).step_by(1_000) {
            lesson.hear(Report::Silent { ms, bytes_came: false }, now, teller)?;
        }
        lesson.hear(connected(), now, teller)?;
        let broken = Batch { broken_lines: 30, ..Batch::default() };
        let step = lesson.hear(Report::Readings(broken), now, teller)?;
        assert_eq!(step, Step::ShowBroken);
        teller.broken_lines(lesson.broken(), Some("volt\\xff"));
        Ok(())
    });
    assert_eq!(
        aside,
        "No readings come from /dev/probe. Check that the probe is powered and prints one or two numbers on each line by itself.\n\
         30 lines were not one or two numbers, the last one \"volt\\xff\". Check the ground wire and what the probe prints.\n"
    );
}

#[test]
fn a_flood_tells_what_it_lost_once_in_a_while_and_then_all_of_it() {
    let mut lesson = lesson(setup(&["Mute"], 1));
    let (_, _, aside) = told(Manner::Plain, &mut lesson, |lesson, teller| {
        let began = Instant::now();
        for ms in [0, 100, 200, 10_300] {
            let lost = Batch { lost_readings: 7, ..Batch::default() };
            lesson.hear(Report::Readings(lost), began + std::time::Duration::from_millis(ms), teller)?;
        }
        Ok(())
    });
    let told: Vec<_> = aside.lines().filter_map(|line| line.split_once(" readings were lost")).collect();
    assert_eq!(told.iter().map(|(count, _)| *count).collect::<Vec<_>>(), ["7", "21"], "{aside}");
}

#[test]
fn lost_readings_are_counted_and_a_name_cannot_move_the_cursor() {
    let mut lesson = lesson(setup(&["Mu\u{1b}[2Jte"], 1));
    let (_, out, aside) = told(Manner::Plain, &mut lesson, |lesson, teller| {
        lesson.hear(
            Report::Readings(Batch { lost_readings: 7, ..Batch::default() }),
            Instant::now(),
            teller,
        )?;
        teller.line("Mu\u{1b}[2Jte")?;
        Ok(())
    });
    assert!(aside.starts_with("7 readings were lost: they came faster than they could be taken."), "{aside}");
    assert_eq!(out, "Mu\u{FFFD}[2Jte\n");
}

#[test]
fn a_box_that_knows_no_reference_is_told_it_and_one_that_does_is_left_alone() {
    let wanted = NamedReference { kind: ReferenceKind::External, feed_monitor: true };
    let mut lesson = lesson(setup(&["Mute"], 1)).with_reference(wanted);
    let (ended, out, aside) = told(Manner::Plain, &mut lesson, |lesson, teller| {
        let identity = |reference_named| {
            let identity = Identity { reference_named, ..Identity::default() };
            Report::Box(BoxReport::Identity(Box::new(identity)))
        };
        let now = Instant::now();
        assert_eq!(lesson.hear(identity(false), now, teller)?, Step::Name(wanted));
        assert_eq!(lesson.hear(identity(true), now, teller)?, Step::Wait);
        let none = Report::Box(BoxReport::NoProgram { bootloader: true });
        assert_eq!(lesson.hear(none, now, teller)?, Step::Wait);
        Ok(())
    });
    assert!(ended.is_ok());
    assert_eq!(out, "A box. It measures against the voltage on its reference pin, with the feed monitor.\n");
    assert_eq!(
        aside,
        "The board at /dev/probe has no program; its bootloader answers. Make it a box: spokewire flash --port /dev/probe\n"
    );
}
