//! The demo's readings beside what it learned, by hand from Ohm's law; FACTS B1 and C5 where named.

use super::*;
use crate::bands::{Press, RestLevel, Touch};
use crate::circuit::{Reference, Sense};
use crate::project::{ButtonId, LearnedButton, TwoMetered, WireInfo, banding};

/// The demo's seven buttons, learned at the counts of the picture.
fn van(meter_ohm: [f64; 7], learned: [f64; 7]) -> Project {
    let mut project = Project::new("Brindle Linnet", "Tarn R40");
    project.circuit = Some(Circuit {
        module: None,
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
        feed_monitor: None,
        filter: Default::default(),
    });
    project.wheel.wires.insert(1, WireInfo { rest_ohm: Some(14_900.0), ..WireInfo::default() });
    for name in ["Volume up", "Volume down", "Next", "Previous", "Source", "Answer", "Mute"] {
        let id = ButtonId(name.to_lowercase().replace(' ', "_"));
        project.wheel.buttons.push(Button { id, name: name.to_owned(), wire: Some(1), meter_ohm: None });
    }
    for ((button, ohm), count) in project.wheel.buttons.iter_mut().zip(meter_ohm).zip(learned) {
        button.meter_ohm = Some(ohm);
        let press = |count: f64| Press {
            median_count: count,
            spread_count: 1.0,
            readings: 1_000,
            touch: Touch::Firm,
            tally: Vec::new(),
        };
        let presses = vec![press(count - 1.0), press(count), press(count + 1.0)];
        project.learned.insert(button.id.clone(), LearnedButton { presses, indistinct_from: None });
    }
    project.rests.insert(1, RestLevel { median_count: 959.0, spread_count: 1.0, readings: 1_500 });
    project
}

const METER: [f64; 7] = [84.0, 265.0, 536.0, 1_240.0, 1_168.0, 2_170.0, 4_880.0];
const LEARNED: [f64; 7] = [83.0, 218.0, 358.0, 492.0, 552.0, 701.0, 849.0];

fn readings(project: &Project) -> Readings {
    project.readings(&banding::bands(project))
}

/// LOOK's picture of this station, whose counts are floor(1024 · R / (R + 1000)): promised 79, 214, 357, 566,
/// 551, 700, 849 and at rest 959.
#[test]
fn what_the_meter_promises_stands_beside_what_was_learned() {
    let project = van(METER, LEARNED);
    let wire = &readings(&project).wires[0];
    let promised: Vec<_> = wire.rows.iter().map(|row| row.promised_count.unwrap()).collect();
    assert_eq!(promised, [79.0, 214.0, 357.0, 566.0, 551.0, 700.0, 849.0]);
    let difference: Vec<_> = wire.rows.iter().map(|row| row.difference_count().unwrap()).collect();
    assert_eq!(difference, [4.0, 4.0, 1.0, -74.0, 1.0, 1.0, 0.0]);
    assert_eq!((wire.rest.promised_count, wire.rest.difference_count()), (Some(959.0), Some(0.0)));
}

/// Learned 492: 1000 · 492 / (1024 − 492) = 924.8 Ω.
#[test]
fn a_meter_reading_that_learning_contradicts_is_odd_and_told_in_a_sentence() {
    let project = van(METER, LEARNED);
    let readings = readings(&project);
    let odd: Vec<_> = readings.odd().collect();
    assert_eq!(odd.len(), 1);
    assert_eq!(odd[0].rung, Rung::Button(3));
    assert!((odd[0].learned_ohm.unwrap() - 924.8).abs() < 0.1);
    let (head, body) = odd_text(&project, odd[0]).unwrap();
    assert_eq!(format!("{head} {body}"), "Previous read 1240 Ω at the meter, but learned 925 Ω.");
    // What was learned stands in for it: the ladder is the whole one, 390 Ω before it and 240 Ω behind.
    let wire = &readings.wires[0];
    let ladder: Vec<_> = wire.rows.iter().map(|row| row.ladder_ohm).collect();
    let ohm = [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0];
    assert_eq!(ladder, ohm.map(Some));
    assert_eq!(wire.rest.ladder_ohm, Some(14_862.0));
}

/// The limit at 1168 Ω by hand: slope 1024 · 1000 / 2168² = 0.2179 counts an ohm; meter 11.68 + 1 Ω, 3/√3 of it:
/// 4.78 counts; sense resistor 1 %: 11.68 Ω the same way: 4.41 counts.
#[test]
fn the_limit_is_made_of_the_meter_the_parts_and_what_was_learned() {
    let project = van(METER, LEARNED);
    let limit = readings(&project).wires[0].rows[4].limit.unwrap();
    assert!((limit.meter_count - 4.785).abs() < 0.01, "{limit:?}");
    assert!((limit.parts_count - 4.408).abs() < 0.01, "{limit:?}");
    assert!(limit.learned_count > 3.0 && limit.count() > limit.learned_count, "{limit:?}");
    assert!(limit.count() < 40.0, "{limit:?}");
}

#[test]
fn within_the_limit_nothing_is_odd_and_a_far_rest_is() {
    let sound = [84.0, 265.0, 536.0, 920.0, 1_168.0, 2_170.0, 4_880.0];
    assert_eq!(readings(&van(sound, LEARNED)).odd().count(), 0);
    let mut project = van(sound, LEARNED);
    project.rests.get_mut(&1).unwrap().median_count = 1_015.0;
    let readings = readings(&project);
    let odd: Vec<_> = readings.odd().collect();
    let said = odd_text(&project, odd[0]).unwrap();
    assert_eq!(odd.len(), 1);
    assert_eq!(said.0, "Rest read 14.9 kΩ at the meter,");
    assert_eq!(said.1, "but learned 112.8 kΩ.");
}

#[test]
fn without_a_circuit_only_the_order_is_compared() {
    let mut project = van(METER, LEARNED);
    project.circuit = None;
    let readings = readings(&project);
    let odd: Vec<_> = readings.odd().map(|row| (row.rung, row.odd)).collect();
    assert_eq!(odd.len(), 1, "{odd:?}");
    // Previous and Source have changed places: either may be the wrong one.
    assert!(matches!(odd[0], (Rung::Button(3 | 4), Some(OddReading::OutOfOrder))));
    assert!(readings.wires[0].rows.iter().all(|row| row.promised_count.is_none()));
    project.learned.clear();
    assert_eq!(project.readings(&banding::bands(&project)).odd().count(), 0);
}

/// FACTS B1: on a chain the nearer tap wins: 536 Ω of Next and Source at once.
#[test]
fn two_buttons_metered_at_once_decide_the_topology() {
    let mut project = van(METER, LEARNED);
    let id = |name: &str| ButtonId(name.to_owned());
    let together = TwoMetered { buttons: (id("source"), id("next")), ohm: 538.0 };
    project.wheel.wires.get_mut(&1).unwrap().together = Some(together);
    let fit = readings(&project).wires[0].fit.clone();
    assert_eq!((fit.topology, fit.sureness), (Topology::Series, crate::wheel::Sureness::Certain));
}

#[test]
fn each_wire_has_its_readings_and_a_wheel_without_any_has_one_wire() {
    let mut project = van(METER, LEARNED);
    project.wheel.buttons[6].wire = Some(2);
    let two = readings(&project);
    assert_eq!(two.wires.iter().map(|wire| wire.rows.len()).collect::<Vec<_>>(), [6, 1]);
    assert_eq!(two.wire(2).unwrap().rows[0].rung, Rung::Button(6));
    let empty = Project::new("", "");
    assert_eq!(empty.wires_in_use(), [1]);
    assert!(readings(&empty).wires[0].rows.is_empty());
}

#[test]
fn every_oddness_has_a_sentence() {
    let project = van(METER, LEARNED);
    let row = readings(&project).wires[0].rows[5].clone();
    let said = |odd| {
        let (head, body) = odd_text(&project, &ReadingRow { odd: Some(odd), ..row.clone() }).unwrap();
        format!("{head} {body}")
    };
    assert_eq!(
        said(OddReading::Meter(OddWhy::AboveRest { rest_ohm: 1_490.0 })),
        "Answer read 2170 Ω pressed, and 1490 Ω at rest: a press never adds."
    );
    assert_eq!(
        said(OddReading::Meter(OddWhy::Alike { other: 4 })),
        "Answer reads as Source does: 2170 Ω. One of them may be noted twice."
    );
    assert_eq!(
        said(OddReading::Meter(OddWhy::OffValue { part_ohm: 5_280.0, nearest_ohm: 5_100.0 })),
        "Answer comes to a part of 5280 Ω: nobody sells that, 5100 Ω is nearest, and the other parts are sold."
    );
    assert_eq!(
        said(OddReading::OutOfOrder),
        "Answer read 2170 Ω at the meter, but learned at another place among the buttons."
    );
    assert_eq!(said(OddReading::Meter(OddWhy::NoReading)), "Answer has no reading. Meter it again.");
}
