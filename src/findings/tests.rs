//! What is found in a project that isn't finished, and that nothing is found in one that is.

mod module;

use super::{Level, Station, findings, fuses};
use crate::bands::RestLevel;
use crate::circuit::{FeedMonitor, Jack, JackWants, Reference, Sense};
use crate::image::{build, replay};
use crate::project::samples::{any_project, van};
use crate::project::{ButtonId, CommandId, Gesture, LearnedButton, Pair, Project, bands};
use crate::recognise::EventKind;
use crate::remote::Code;
use crate::signal::{Converter, RawReading};

use proptest::prelude::*;

/// What is found once the van is changed, one line each: level, station, place, words.
fn after(change: impl FnOnce(&mut Project)) -> Vec<String> {
    let mut project = van();
    change(&mut project);
    assert_eq!(project.check_values(), [], "the change leaves a project that can be saved");
    // The seat check has a test of its own.
    findings(&project)
        .into_iter()
        .filter(|finding| finding.where_ != "seat_check")
        .map(|f| format!("{} {:?} {}: {} {}", f.level.word(), f.station, f.where_, f.what, f.do_))
        .collect()
}

fn pair(button: &str, gesture: Gesture, command: Option<&str>) -> Pair {
    Pair {
        every_ms: None,
        button: ButtonId(button.into()),
        gesture,
        command: command.map(|id| CommandId(id.into())),
        repeats: false,
    }
}

#[test]
fn a_finished_project_has_no_findings() {
    assert_eq!(after(|_| {}), [""; 0]);
}

#[test]
fn a_rest_that_looks_like_a_broken_wire_is_told() {
    let open = |sense: Sense, learned: Option<f64>| {
        after(|project| {
            project.circuit.as_mut().unwrap().sense = sense;
            project.learned.clear();
            project.rests.clear();
            if let Some(median_count) = learned {
                project.rests.insert(1, RestLevel { median_count, spread_count: 0.4, readings: 500 });
            }
        })
        .into_iter()
        .filter(|found| found.contains("wheel.wires.1"))
        .collect::<Vec<_>>()
    };
    // The van's ladder is open at rest.
    let [told] = &open(Sense::PullUp, None)[..] else { panic!() };
    assert_eq!(
        told,
        "note Circuit wheel.wires.1: Wire 1 rests at full scale, 1023 counts: a broken wire or an open plug reads just \
         like rest. After any work on the wiring press each button once, or fit a resistor across the wire and \
         its return at the wheel."
    );
    let [told] = &open(Sense::PullDown, None)[..] else { panic!() };
    assert!(told.contains("rests at 0, 0 counts"), "{told}");
    // What was learned says otherwise.
    assert_eq!(open(Sense::PullUp, Some(959.0)), [""; 0]);
    assert_eq!(open(Sense::PullUp, Some(1_022.0)).len(), 1);
}

#[test]
fn a_wheel_that_is_no_ladder_is_an_error_and_one_not_looked_at_a_note() {
    let volt = |project: &mut Project| project.wheel.check.wires.get_mut(&1).unwrap().car_v = Some(12.1);
    assert_eq!(
        after(volt),
        [
            "error Wheel wheel.check: It switches a voltage. 12.10 V stand on the car's side of wire 1. Join nothing to it: 12 V ends the box's input. If each button switches it to a wire of its own, that takes relays or dividers, not this box."
        ]
    );
    assert_eq!(
        after(|project| project.wheel.check.steady = None),
        [
            "note Wheel wheel.check: Whether the wheel is a ladder is not known yet: 1 step is left. Go through the meter check at the Wheel station before anything is connected."
        ]
    );
}

/// FACTS 0.4: with the return on the vehicle's ground only a pull-up reads the ladder.
#[test]
fn a_pull_down_on_a_shared_ground_is_an_error_and_a_pull_up_is_none() {
    let grounded = |project: &mut Project| project.wheel.back.grounded = Some(true);
    assert_eq!(after(grounded), [""; 0]);
    let found = after(|project| {
        grounded(project);
        project.circuit.as_mut().unwrap().sense = Sense::PullDown;
    });
    assert!(
        found
            .iter()
            .any(|found| found.starts_with("error Wheel wheel.check: A ladder, on the car's ground.")
                && found.ends_with("Choose the pull-up style at the Circuit station.")),
        "{found:?}"
    );
}

#[test]
fn readings_that_most_differ_put_the_circuit_in_doubt_and_not_the_meter() {
    let found = after(|project| project.circuit.as_mut().unwrap().sense_ohm = 1_500.0);
    assert_eq!(
        found,
        [
            "note Circuit circuit.sense_ohm: 2 of 2 buttons of wire 1 were learned far from what the meter promises: the circuit isn't as planned. Check the sense resistor and the reference at the Circuit station."
        ]
    );
}

#[test]
fn an_odd_reading_and_unknown_letters_are_told_with_what_to_do() {
    assert_eq!(
        after(|project| {
            project.wheel.buttons[1].meter_ohm = Some(620.0);
        }),
        [
            "caution Wheel wheel.buttons.source: Source read 620 Ω at the meter, but learned 387 Ω. Meter it again, and learn it again if that reads the same."
        ]
    );
    assert_eq!(
        after(|project| project.wheel.back.colour = "black".into()),
        [
            "note Wheel wheel.back: \"black\" is no colour by IEC 60757. Its letters: BK BN RD OG YE GN BU VT GY WH PK GD TQ SR; two colours in one, as WHGN."
        ]
    );
}

#[test]
fn two_supplies_on_one_rail_are_asked_about_until_they_are_parted() {
    let found = after(|project| project.plan.supplies_parted = false);
    let [asked] = found.as_slice() else { panic!("{found:?}") };
    assert!(asked.starts_with("note Box box.power: The box can be fed by the vehicle and by USB at once"));
    assert!(asked.contains("Put a diode"), "{asked}");
}

#[test]
fn a_new_project_says_what_to_begin_with() {
    let found = findings(&Project::new(" ", ""));
    let first = &found[0];
    assert_eq!(
        (first.level, first.station, first.where_.as_str()),
        (Level::Error, Station::Wheel, "wheel.buttons")
    );
    assert_eq!(first.what, "The wheel has no buttons.");
    let rest: Vec<_> = found[1..].iter().map(|finding| (finding.level, finding.where_.as_str())).collect();
    assert_eq!(
        rest,
        [
            (Level::Caution, "stereo.commands"),
            (Level::Note, "vehicle.name"),
            (Level::Note, "wheel.check"),
            (Level::Note, "circuit"),
            (Level::Note, "stereo.jack")
        ]
    );
}

#[test]
fn buttons_of_one_name_are_found() {
    assert_eq!(
        after(|p| p.wheel.buttons[1].name = " mute".into()),
        [
            "caution Wheel wheel.buttons.mute: 2 buttons are called Mute: mute and source. Give each a name of its own: prompts call buttons by their names."
        ]
    );
}

#[test]
fn a_reference_that_is_not_the_supply_is_found() {
    let unlearned = after(|p| {
        p.circuit.as_mut().unwrap().reference = Reference::Internal { volt: 1.1 };
        p.learned.clear();
    });
    assert!(unlearned.contains(&"caution Circuit circuit.reference: The converter measures against the chip's own reference of 1.10 V and there is no feed monitor: readings move with the feed. What was learned on laptop power is off on vehicle power by as much as the two differ. Measure against the supply, or add a feed monitor, or learn on the power it will run on.".to_owned()), "{unlearned:?}");
}

/// On a parallel ladder two buttons read as one of less ohms: FACTS B1's 2.2 kΩ and 4.7 kΩ as 1498.6 Ω.
#[test]
fn two_buttons_at_once_that_read_as_a_third_are_found_with_what_to_do() {
    let parallel = |project: &mut Project| {
        project.wheel.topology = crate::wheel::Topology::Parallel;
        let ohms = [2_200.0, 4_700.0, 1_498.6, 680.0];
        project.learned.clear();
        project.rests.clear();
        project.wheel.wires.clear();
        project.pairs.clear();
        project.wheel.buttons.clear();
        for (name, ohm) in ["Up", "Down", "Mute", "Next"].into_iter().zip(ohms) {
            let id = ButtonId(name.to_lowercase());
            let name = name.to_owned();
            let button = crate::project::Button { id, name, wire: Some(1), meter_ohm: Some(ohm) };
            project.wheel.buttons.push(button);
        }
    };
    let found = after(parallel);
    let told: Vec<_> = found.iter().filter(|line| line.contains("circuit.together")).collect();
    let [mute] = told.as_slice() else { panic!("{found:?}") };
    let start = "caution Circuit circuit.together.mute: Up and Down at once read 614, in Mute's band, ";
    assert!(mute.starts_with(start), "{mute}");
    assert!(mute.contains(" taken for Mute. ") && mute.contains("learn the two pressed together"), "{mute}");
}

#[test]
fn a_feed_that_moves_the_readings_is_told_button_by_button() {
    // 93.5 and 287 times 5.05 / 4.70 are 100.5 and 308.4; 1000 would be 1074.5.
    assert_eq!(
        after(|p| {
            let circuit = p.circuit.as_mut().unwrap();
            circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
        }),
        [
            "caution Box circuit.reference: The converter measures against a reference of 4.10 V and there is no feed monitor: what was learned at 4.70 V on laptop power reads 7.4 % higher at 5.05 V on vehicle power: Mute from 94 to 100, in its band; Source from 287 to 308, in its band; rest from 1000 to 1023, out of its band. Measure against the supply, or fit a feed monitor, or learn again on the power the box will run on."
        ]
    );
    let internal = after(|p| p.circuit.as_mut().unwrap().reference = Reference::Internal { volt: 1.1 });
    let told = |found: &String| found.contains("against the chip's own reference of 1.10 V");
    assert!(internal.iter().any(told), "{internal:?}");
    // At 1.10 V the curve is steep: what was learned is far from safe from wear, and that is told too.
    assert!(
        internal[0]
            .starts_with("caution Learn learned.mute: Mute and Source are 194 counts apart: once worn by "),
        "{internal:?}"
    );
    let lands = after(|p| {
        p.circuit.as_mut().unwrap().reference = Reference::Internal { volt: 1.1 };
        for press in &mut p.learned.get_mut(&ButtonId("source".into())).unwrap().presses {
            press.median_count = 100.5;
        }
    });
    let into = "error Box circuit.reference: The converter";
    assert!(
        lands
            .iter()
            .any(|f| f.starts_with(into) && f.contains("Mute from 94 to 100, into the band of Source")),
        "{lands:?}"
    );
    let watched = after(|p| {
        let circuit = p.circuit.as_mut().unwrap();
        circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
        circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 15_000.0 });
    });
    assert_eq!(watched, [""; 0]);
    let too_high = after(|p| {
        let circuit = p.circuit.as_mut().unwrap();
        circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
        circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 30_000.0 });
    });
    assert_eq!(
        too_high,
        [
            "caution Box circuit.feed_monitor: With a feed of 5.50 V the feed monitor stands at 4.12 V, not below the reference of 4.10 V: a high feed can't be measured. Make its lower resistor smaller."
        ]
    );
}

#[test]
fn what_does_not_fit_the_box_is_an_error() {
    let found = after(|p| {
        p.stereo.commands[0].code = Code::Raw { pulses_us: vec![900.0, 30.0, 900.0], repeat_us: None };
    });
    assert_eq!(
        found,
        [
            "error Box stereo.commands.mute: Mute: Timing 2 is 30 µs, 20 µs shorter than the 50 µs that can be sent. Capture the code again."
        ]
    );
}

#[test]
fn a_settle_limit_below_the_noise_is_found() {
    let with = |limit: f64| {
        after(|p| {
            p.plan.settle_count = Some(limit);
            for press in p.learned.values_mut().flat_map(|learned| &mut learned.presses) {
                press.spread_count = 1.5;
            }
        })
    };
    assert_eq!(
        with(3.0),
        [
            "caution Box plan.settle_count: The settle limit is 3.0 counts, and the noise of the noisiest button 1.5 (standard deviation): a firm press would often not settle. Leave the limit to the noise, which gives 6 counts, or find the noise."
        ]
    );
    assert_eq!(with(4.0), [""; 0]);
}

#[test]
fn a_slow_press_that_could_settle_on_the_way_is_found_with_the_dwell_that_would_do() {
    assert_eq!(after(|p| p.plan.dwell_ms = 12), [""; 0]);
    let found = after(|p| p.plan.settle_count = Some(60.0));
    assert_eq!(found.len(), 1, "{found:?}");
    let said = &found[0];
    assert!(said.starts_with("caution Box plan.dwell_ms: A press of Mute that takes a second could settle on Source on its way: for "), "{said}");
    let number = |before: &str| {
        let rest = &said[said.find(before).unwrap() + before.len()..];
        rest.split(' ').next().unwrap().parse::<u8>().unwrap()
    };
    assert!(
        said.contains("within the settle limit of 60 counts and the noise there, and the dwell is 32 ms."),
        "{said}"
    );
    assert_eq!(number("Set the dwell to "), number("on its way: for ") + 1);
    let dwell_ms = number("Set the dwell to ");
    let would_do = after(|p| {
        p.plan.settle_count = Some(60.0);
        p.plan.dwell_ms = dwell_ms;
    });
    assert_eq!(would_do, [""; 0]);
}

/// The dwell that is advised, asked of the box's own recogniser: a contact that falls from 15 kΩ to 6 Ω in
/// a second, on its way from rest to Mute.
#[test]
fn the_dwell_that_would_do_does_and_one_a_little_shorter_does_not() {
    let mut project = van();
    project.plan.settle_count = Some(60.0);
    let found = findings(&project).into_iter().find(|f| f.where_ == "plan.dwell_ms").unwrap();
    let advised: u8 = found.do_.split(' ').nth(4).unwrap().parse().unwrap();
    let circuit = project.circuit.clone().unwrap();
    let mute_ohm = circuit.ohm_from_count(93.5).unwrap() - 6.0;
    let press = |at: i32| {
        let contact_ohm = 15_000.0 * (6.0_f64 / 15_000.0).powf(f64::from(at) / 1_000.0);
        circuit.count(mute_ohm + contact_ohm).unwrap()
    };
    let rest = |_| 1_000;
    let counts = (0..200).map(rest).chain((0..=1_000).map(press)).chain((0..50).map(rest));
    let readings: Vec<RawReading> = counts
        .enumerate()
        .map(|(t, count)| RawReading {
            t_ms: t as f64,
            raw: [count, RawReading::NONE],
            feed: RawReading::NONE,
        })
        .collect();
    let mut decided = |dwell_ms: u8| {
        project.plan.dwell_ms = dwell_ms;
        let built = build(&project, &bands(&project)).unwrap();
        let events = replay(&built.image, Converter::TenBit, &readings).unwrap();
        let pressed = events.iter().find(|(_, event)| event.kind == EventKind::Pressed);
        pressed.and_then(|(_, event)| event.button).map(|button| built.buttons[usize::from(button)].0.clone())
    };
    assert_ne!(decided(advised).as_deref(), Some("source"));
    // Without noise a little less would do; no more than what the noise is given.
    let wrong = (advised - 4..advised).any(|dwell_ms| decided(dwell_ms).as_deref() == Some("source"));
    assert!(wrong, "{advised} ms is more than it takes");
}

#[test]
fn repeats_that_never_come_are_found() {
    let found = after(|p| {
        p.pairs[0].repeats = true;
        p.pairs.push(Pair { repeats: true, ..pair("mute", Gesture::Hold, Some("mute")) });
    });
    assert_eq!(
        found,
        [
            "caution Box pairs.mute: A tap of Mute should repeat while held, and Mute has a hold too: the tap is sent once the button is let go, and never repeats. Let the hold repeat instead, or take the other gesture away."
        ]
    );
    assert_eq!(
        after(|p| p.pairs[1].every_ms = Some(200)),
        [
            "note Box pairs.source: Source would send anew every 200 ms, and doesn't repeat: that rate does nothing. Let it repeat while held, or take the rate away."
        ]
    );
    assert_eq!(after(|p| p.pairs[1].repeats = true), [""; 0]);
}

#[test]
fn fuses_that_let_a_low_supply_pass_are_found() {
    let said = |extended: u8| fuses(&[0xFF, 0xDE, extended, 0xCF]).map(|finding| finding.what);
    assert_eq!(said(0xFC), None);
    assert_eq!(said(0x04), None);
    for (extended, level) in [(0xFD, "at 2.7 V"), (0x05, "at 2.7 V"), (0xFE, "at 1.8 V"), (0xFF, "off")] {
        assert!(said(extended).unwrap().starts_with(&format!("Brown-out is {level}: ")), "{extended}");
    }
    assert!(said(0xF8).unwrap().contains("reserved"));
    let found = fuses(&[0; 4]).unwrap();
    assert_eq!((found.level, found.station), (Level::Caution, Station::Box));
    assert!(found.do_.contains("the serial bootloader can't set fuses"));
}

#[test]
fn the_box_s_own_words_for_brown_out_and_the_finding_agree_for_every_fuse() {
    for extended in 0..=255 {
        let [(_, level, note), ..] = crate::wire::fuse_words([0xFF, 0xDE, extended, 0xCF]);
        let found = fuses(&[0xFF, 0xDE, extended, 0xCF]);
        assert_eq!(found.is_none(), note.is_empty(), "{extended:02X}");
        let Some(found) = found else { continue };
        assert!(found.what.contains(level) || level == "unknown", "{extended:02X}: {level}, {}", found.what);
    }
}

#[test]
fn a_missing_circuit_is_a_note() {
    assert_eq!(
        after(|p| p.circuit = None),
        [
            "note Circuit circuit: The sense circuit isn't given: spreads stay in counts, and headroom in ohms can't be told. Give the sense resistor, which way it stands, and the feed."
        ]
    );
}

#[test]
fn what_is_not_learned_is_found() {
    assert_eq!(
        after(|p| {
            p.rests.clear();
            p.learned.remove(&ButtonId("mute".into()));
            p.learned.get_mut(&ButtonId("source".into())).unwrap().presses.truncate(2);
        }),
        [
            "error Learn rests.1: The rest of wire 1 isn't learned: nothing says when its buttons are let go. Learn the rest with no button pressed.",
            "error Learn learned.mute: Mute isn't learned: no press of it is kept. Learn it, prompted or from the trace.",
            "caution Learn learned.source: Source has 2 of 3 presses: its spread from press to press is less sure. Learn the presses that are missing.",
            "note Circuit wheel.wires.1: Wire 1 rests at full scale, 1023 counts: a broken wire or an open plug reads just like rest. After any work on the wiring press each button once, or fit a resistor across the wire and its return at the wheel.",
        ]
    );
    let none_kept = after(|p| {
        p.learned.insert(ButtonId("mute".into()), LearnedButton::default());
    });
    assert!(none_kept[0].starts_with("error Learn learned.mute: Mute isn't learned"));
}

#[test]
fn a_rest_at_a_rail_says_which_fault_looks_like_it() {
    for (sense, count, fault) in [
        (Some(Sense::PullUp), 1021.0, "1021, an end of the scale: a broken wire looks like rest."),
        (
            Some(Sense::PullDown),
            1021.0,
            "1021, an end of the scale: a wire shorted to the feed looks like rest.",
        ),
        (Some(Sense::PullDown), 2.0, "2, an end of the scale: a broken wire looks like rest."),
        (Some(Sense::PullUp), 2.0, "2, an end of the scale: a wire shorted to ground looks like rest."),
        (None, 2.0, "2, an end of the scale: a broken wire looks like rest."),
    ] {
        let found = after(|p| {
            match sense {
                Some(sense) => p.circuit.as_mut().unwrap().sense = sense,
                None => p.circuit = None,
            }
            p.rests.insert(1, RestLevel { median_count: count, spread_count: 0.4, readings: 500 });
        });
        let told = format!(
            "note Learn rests.1: Wire 1 rests at {fault} If every button of this wire goes silent at once, look at the wire first."
        );
        assert!(found.contains(&told), "{told}\n{found:?}");
    }
}

#[test]
fn a_press_that_reads_as_rest_or_has_no_wire_is_found() {
    // All its presses, or their spread would put the bands in doubt as well.
    assert_eq!(
        after(|p| {
            for press in &mut p.learned.get_mut(&ButtonId("mute".into())).unwrap().presses {
                press.median_count = 998.5;
            }
        })[..1],
        [
            "error Learn learned.mute: A press of Mute is kept at 998.5, and wire 1 rests at 1000.0: it reads as no press at all. Learn it again; if it stays so, it is on the other wire or not on the ladder."
        ]
    );
    assert_eq!(
        after(|p| p.wheel.buttons[0].wire = None),
        [
            "error Learn wheel.buttons.mute: Mute is learned, and its wire isn't known: its rung could be on either. Say which wire it is on, or learn it again."
        ]
    );
    assert_eq!(
        after(|p| p.wheel.buttons[0].wire = Some(2))[..1],
        [
            "error Learn rests.2: The rest of wire 2 isn't learned: nothing says when its buttons are let go. Learn the rest with no button pressed."
        ]
    );
}

#[test]
fn buttons_taken_as_one_are_an_error_only_where_they_send_differently() {
    let same = |p: &mut Project| {
        p.learned.get_mut(&ButtonId("source".into())).unwrap().indistinct_from =
            Some(ButtonId("mute".into()));
    };
    assert_eq!(
        after(same),
        [
            "error Learn learned.source: Source can't be told apart from Mute, and they are paired differently: one of them sends the other's command. Pair both alike, or leave one of them out."
        ]
    );
    let found = after(|p| {
        same(p);
        p.pairs[1].command = Some(CommandId("mute".into()));
    });
    assert_eq!(
        found[0],
        "caution Learn learned.source: Source can't be told apart from Mute: both do the same. Leave it so, or choose a sense resistor that parts them."
    );
}

#[test]
fn what_pairing_left_open_is_found() {
    assert_eq!(
        after(|p| {
            p.pairs[0].command = None;
            p.pairs[1].gesture = Gesture::Hold;
        }),
        [
            "caution Pair pairs.mute.tap: A tap of Mute goes nowhere: no command is chosen. Choose its command, or remove the gesture.",
            "caution Pair pairs.source: Source is not paired: a tap of it sends nothing. Choose the command that a tap sends.",
            "note Pair stereo.commands.mute: No button sends Mute. Pair it with a gesture, or leave it to the hand-held remote.",
        ]
    );
}

#[test]
fn a_command_sent_twice_is_found() {
    assert_eq!(
        after(|p| p.pairs.push(pair("mute", Gesture::Hold, Some("source")))),
        [
            "caution Pair stereo.commands.source: Source is sent by 2 buttons: Mute and Source. Pair each with a command of its own if that isn't meant."
        ]
    );
    assert_eq!(
        after(|p| p.pairs.push(pair("mute", Gesture::DoubleTap, Some("mute")))),
        [
            "note Pair stereo.commands.mute: 2 gestures of Mute send Mute. Keep one of them if that isn't meant."
        ]
    );
}

#[test]
fn an_input_nobody_looked_at_or_that_is_not_known_yet_is_a_note() {
    assert_eq!(
        after(|p| p.stereo.jack = Jack::default()),
        [
            "note Codes stereo.jack: The stereo's remote input wasn't looked at with a meter: nothing says that it takes pulses. Go through the five steps of the view Jack before a code is tried."
        ]
    );
    assert_eq!(
        after(|p| (p.stereo.jack.idle_v, p.stereo.jack.wants) = (None, None)),
        [
            "note Codes stereo.jack: The check of the stereo's remote input isn't finished: it lacks the idle volts, what 1 kΩ to ground draws and whether it wants pulses or resistances. Go on with it in the view Jack before a code is tried."
        ]
    );
}

#[test]
fn an_input_that_takes_resistances_is_an_error() {
    assert_eq!(
        after(|p| p.stereo.jack.wants = Some(JackWants::Resistances)),
        [
            "error Codes stereo.jack: The stereo's remote input takes resistances, and this box sends pulses: no command would do anything. Use another input of the stereo, or a switched resistor for each button."
        ]
    );
}

#[test]
fn odd_readings_at_the_input_are_cautions_with_their_values() {
    assert_eq!(
        after(|p| (p.stereo.jack.idle_v, p.stereo.jack.loaded_a) = (Some(12.1), Some(0.0011))),
        [
            "caution Codes stereo.jack: 12.10 V at idle is the vehicle's supply, where an input stands at 3.3 V or 5 V: this may be a trigger or illumination wire. Check it against the stereo's manual before anything is joined to it."
        ]
    );
    let strong = after(|p| p.stereo.jack.loaded_a = Some(0.0034));
    assert_eq!(strong.len(), 1, "{strong:?}");
    assert!(
        strong[0].starts_with("caution Codes stereo.jack: A pull-up of 462 Ω gives 10.8 mA"),
        "{strong:?}"
    );
}

#[test]
fn commands_that_are_alike_untried_or_too_many_are_found() {
    assert_eq!(
        after(|p| p.stereo.commands[1].code = p.stereo.commands[0].code.clone()),
        [
            "caution Codes stereo.commands.source: Source has the same code as Mute: the stereo does the same for both. Check both against where they came from."
        ]
    );
    assert_eq!(
        after(|p| p.stereo.commands.iter_mut().for_each(|command| command.tried = false)),
        [
            "note Codes stereo.commands: The stereo wasn't yet seen to obey Mute and Source. Try each on the stereo, parked and with the brake on."
        ]
    );
    let many = |p: &mut Project| {
        for number in 0..31 {
            let mut command = p.stereo.commands[0].clone();
            command.id = CommandId(format!("more_{number}"));
            command.name = format!("More {number}");
            p.stereo.commands.push(command);
        }
    };
    // The box keeps what buttons send: a long list is no fault.
    let found = after(many);
    let unsent = "note Pair stereo.commands: No button sends More 0, More 1, More 2, More 3, More 4, More 5, More 6, \
                  More 7 and 23 more. Pair it with a gesture, or leave it to the hand-held remote.";
    assert!(found.contains(&unsent.to_owned()), "{found:#?}");
    assert!(!found.iter().any(|finding| finding.starts_with("caution Box") || finding.starts_with("error")));
}

proptest! {
    #[test]
    fn any_project_is_looked_over_and_every_finding_says_what_to_do(project in any_project()) {
        let found = findings(&project);
        for finding in &found {
            prop_assert!(finding.what.ends_with('.') && finding.do_.ends_with('.'), "{finding:?}");
            prop_assert!(!finding.where_.is_empty());
        }
        prop_assert!(found.is_sorted_by_key(|finding| (finding.level, finding.station)));
    }
}

#[test]
fn two_buttons_that_cannot_be_told_apart_are_one_error() {
    let found = after(|p| {
        let source = p.learned[&ButtonId("source".into())].presses.clone();
        p.learned.get_mut(&ButtonId("mute".into())).unwrap().presses = source;
    });
    let alike: Vec<_> = found.iter().filter(|finding| finding.contains("can't be told apart")).collect();
    assert_eq!(alike.len(), 1, "{found:?}");
    assert!(alike[0].starts_with("error Learn learned.mute: Mute and Source can't be told apart: 0 counts"));
}

#[test]
fn a_seat_check_that_is_missing_wrong_or_of_another_image_is_told() {
    use crate::project::{SeatCheck, SeatOutcome, SeatPress};
    let opened = crate::project::read(include_str!("../../projects/demo-van.ron")).unwrap();
    let mut project = opened.project;
    let told = |project: &Project| {
        let all = findings(project);
        let own = all.iter().filter(|finding| finding.where_ == "seat_check");
        own.map(|finding| finding.what.clone()).collect::<Vec<_>>()
    };
    project.seat_check = None;
    assert_eq!(
        told(&project),
        ["No seat check was made: nobody knows yet that every button works in this vehicle."]
    );
    let body =
        crate::image::build(&project, &crate::project::bands(&project)).unwrap().image.to_body().unwrap();
    let press = SeatPress {
        asked: project.wheel.buttons[0].id.clone(),
        running: false,
        random: false,
        outcome: SeatOutcome::Right,
        count: Some(80.0),
        edge_count: Some(10.0),
        latency_ms: Some(24),
        gesture: None,
        sent: None,
    };
    let mut check = SeatCheck {
        on: "2008-05-17 21:14".to_owned(),
        firmware: "1.0".to_owned(),
        image_check: crate::image::check(&body),
        planned: 2,
        taken_back: 0,
        presses: vec![press.clone(), press],
    };
    project.seat_check = Some(check.clone());
    assert_eq!(told(&project), [""; 0]);
    check.presses[1].outcome = SeatOutcome::Unnoticed;
    check.image_check ^= 1;
    project.seat_check = Some(check.clone());
    assert_eq!(
        told(&project),
        [
            "The last seat check had 1 of 2 presses wrong.",
            "The project has changed since the last seat check: what was shown then isn't shown for it."
        ]
    );
    check.presses.truncate(1);
    project.seat_check = Some(check);
    assert_eq!(told(&project)[0], "The last seat check stopped after 1 of 2 presses.");
}

#[test]
fn a_line_that_rises_too_slowly_is_found_once_the_input_was_measured() {
    let long = |project: &mut Project| project.output.line_farad = Some(30e-9);
    let found = after(long);
    let [slow] = found.as_slice() else { panic!("{found:?}") };
    assert!(slow.starts_with("caution Circuit output: The line makes "), "{slow}");
    assert!(slow.contains("Use a shorter cable"), "{slow}");
    // An input that is only assumed says nothing of this one.
    let found = after(|project| {
        long(project);
        project.stereo.jack = Jack::default();
    });
    assert!(!found.iter().any(|finding| finding.contains(" output: ")), "{found:?}");
}

#[test]
fn a_stage_too_weak_for_its_line_is_told_once_with_the_parts_it_has() {
    let strong = |project: &mut Project| project.stereo.jack.loaded_a = Some(4.97 / 1_470.0);
    let found = after(strong);
    let [told] = found.as_slice() else { panic!("{found:?}") };
    assert!(told.contains("is sure to pull only 9.00 mA low"), "{told}");
    let found = after(|project| {
        strong(project);
        project.output.base_ohm = 2_200.0;
    });
    assert_eq!(found, [""; 0]);
}

#[test]
fn nothing_that_holds_the_base_is_found_whatever_the_line() {
    let found = after(|project| project.output.base_pulldown_ohm = None);
    let [told] = found.as_slice() else { panic!("{found:?}") };
    assert!(told.starts_with("caution Circuit output: Nothing holds the transistor off"), "{told}");
}

#[test]
fn a_wire_without_a_fuse_and_a_regulator_too_hot_are_found() {
    let found = after(|project| {
        project.supply.fuse_amp = None;
        project.supply.regulator = crate::circuit::Regulator::Linear;
        project.supply.linear.input_max_v = 60.0;
        project.supply.load_amp = 0.1;
    });
    let [fuse, hot] = found.as_slice() else { panic!("{found:?}") };
    assert!(fuse.starts_with("caution Circuit supply: The wire has no fuse"), "{fuse}");
    assert!(hot.contains("85 °C bring it to") && hot.contains("Take a buck converter"), "{hot}");
}

#[test]
fn what_a_recheck_found_out_of_its_band_is_an_error() {
    let press = |median_count| crate::bands::Press {
        median_count,
        spread_count: 0.8,
        readings: 300,
        touch: crate::bands::Touch::Firm,
        tally: Vec::new(),
    };
    let found = after(|p| {
        let presses = [("mute", 287.0), ("source", 286.0)];
        let presses = presses.map(|(id, count)| (ButtonId(id.into()), press(count)));
        p.rechecked = Some(crate::project::Recheck { feed_v: None, presses: presses.into() });
    });
    assert_eq!(
        found,
        [
            "error Learn rechecked.mute: Mute was learned at 94 counts and re-checked at 287: it is taken for Source. Learn it again on the power the box runs on; if it keeps moving, look at its contact and the feed."
        ]
    );
}

#[test]
fn a_wheel_learned_on_another_feed_than_planned_is_a_caution_where_readings_go_with_it() {
    let on = |p: &mut Project| p.learned_on = Some(crate::bands::LearnedOn { feed_v: Some(4.7) });
    assert_eq!(after(on), [""; 0], "against the supply a reading is a ratio");
    let found = after(|p| {
        on(p);
        p.circuit.as_mut().unwrap().reference =
            Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
    });
    assert!(
        found.contains(&"caution Learn learned_on.feed_v: 4.70 V fed it, 5.00 V are planned: what was learned reads 6.0 % low. The bands are provisional. Learn again on the power the box will run on, or re-check there: V at Learn; or measure against the supply.".to_owned()),
        "{found:?}"
    );
}
