//! What boxes are built of for a project, and whose bands they carry.

use super::*;
use crate::bands::{Press, Touch};
use crate::circuit::tolerance::{BoxDraws, CONDITIONS};
use crate::circuit::{FeedMonitor, Reference, Sense};
use crate::demo::demo_project;
use crate::project::LearnedButton;

/// Boxes of a project, all of them counted here.
fn built(project: &Project, boxes: u64) -> BuiltBoxes {
    let plan = BoxesPlan::of(project).unwrap();
    let run = plan.run(boxes, 1).unwrap();
    let mut sum = run.none();
    (0..run.chunks()).for_each(|chunk| sum.add(&run.tally(chunk)));
    plan.built(&run, &sum, 1)
}

/// The demo learned: each button pressed three times around what it should read, rest read too.
fn learned() -> Project {
    let mut project = demo_project();
    let circuit = project.circuit.clone().unwrap();
    let count = |ohm: f64| f64::from(circuit.count(ohm).unwrap());
    for button in project.wheel.buttons.clone() {
        let middle = count(button.meter_ohm.unwrap());
        let press = |off: f64| Press {
            median_count: middle + off,
            spread_count: 0.9,
            readings: 1_000,
            touch: Touch::Firm,
            tally: Vec::new(),
        };
        let presses = [-1.0, 0.0, 1.0].map(press).to_vec();
        project.learned.insert(button.id, LearnedButton { presses, indistinct_from: None });
    }
    let rest = RestLevel { median_count: count(14_900.0), spread_count: 0.9, readings: 1_000 };
    project.rests.insert(1, rest);
    project
}

/// What a rung reads when nothing is off, in counts.
fn nominal(plan: &BoxesPlan, wire: usize, rung: usize) -> f64 {
    let still = BoxDraws(vec![0.0; plan.model().draws()]);
    plan.model().reading(&still, wire, rung, CONDITIONS[2])
}

#[test]
fn when_nothing_is_off_each_button_reads_as_predicted() {
    let mut project = demo_project();
    for (topology, sense) in [
        (Topology::Series, Sense::PullUp),
        (Topology::Parallel, Sense::PullUp),
        (Topology::Series, Sense::PullDown),
        (Topology::Parallel, Sense::PullDown),
    ] {
        project.wheel.topology = topology;
        project.circuit.as_mut().unwrap().sense = sense;
        let plan = BoxesPlan::of(&project).unwrap();
        let prediction = project.predict().unwrap();
        assert_eq!(plan.rungs.len(), 8, "seven buttons and a closed rest");
        // The demo's buttons stand in the ladder's order.
        for (rung, promised) in prediction.buttons.iter().enumerate() {
            assert_eq!(
                nominal(&plan, 0, rung).floor() as u16,
                promised.count,
                "{topology:?} {sense:?} {rung}"
            );
        }
        assert_eq!(nominal(&plan, 0, 7).floor() as u16, prediction.rests[0].count);
    }
}

#[test]
fn buttons_keep_their_place_whatever_the_ladders_order() {
    let mut project = demo_project();
    project.wheel.buttons.reverse();
    let built = built(&project, 2_000);
    let rungs: Vec<_> = built.buttons.iter().map(|button| button.rung).collect();
    assert_eq!(rungs, (0..7).map(Rung::Button).collect::<Vec<_>>());
    assert!(built.buttons[0].worst_count.0 > 800.0, "the last of the ladder is the first of the list");
    assert!(built.buttons[6].worst_count.1 < 200.0);
}

#[test]
fn what_is_planned_counts_all_tolerances_and_what_is_learned_holds_them() {
    let planned = built(&demo_project(), 4_000);
    let learned = built(&learned(), 4_000);
    assert_eq!((planned.basis, learned.basis), (Basis::Planned, Basis::Learned));
    for (planned, learned) in planned.buttons.iter().zip(&learned.buttons) {
        let width = |built: &BuiltRung| built.worst_count.1 - built.worst_count.0;
        assert!(width(planned) > width(learned), "{planned:?} {learned:?}");
        assert!(planned.accept.is_some() && learned.accept.is_some());
    }
    // One button to go: the ladder isn't all known yet.
    let mut partly = demo_project();
    partly.learned = super::tests::learned().learned;
    let last = partly.wheel.buttons[6].id.clone();
    partly.learned.remove(&last);
    assert_eq!(BoxesPlan::of(&partly).unwrap().basis, Basis::Planned);
}

#[test]
fn wear_alone_pushes_a_low_button_out_of_its_band_as_often_as_its_headroom_says() {
    let mut project = learned();
    let parts = &mut project.parts;
    (parts.cold_c, parts.hot_c) = (25.0, 25.0);
    (parts.sense_per_k, parts.ladder_per_k) = (0.0, 0.0);
    // More wear than the gap has room for: the band can't take all of it in.
    let wear_ohm = 200.0;
    parts.wear_ohm = wear_ohm;
    project.plan.converter_error_count = 0.0;
    let boxes = 40_000;
    let built = built(&project, boxes);
    let band = built.buttons[0].accept.unwrap();
    // A worn contact is uniform from 0 to that many ohms; what is beyond the ohms at the band's end leaves it.
    let ohm = |count: f64| project.circuit.as_ref().unwrap().ohm_from_count(count).unwrap();
    let plan = BoxesPlan::of(&project).unwrap();
    let to_go = ohm(f64::from(band.high_count) + 1.0) - ohm(nominal(&plan, 0, 0));
    let p = 1.0 - to_go / wear_ohm;
    assert!((0.01..0.9).contains(&p), "{p}");
    // In nobody's band, or already in the next one's.
    let got = (built.buttons[0].ignored + built.buttons[0].misread) as f64 / boxes as f64;
    // The scatter of its presses is in it, too, which is even to both sides.
    assert!((got - p).abs() < 0.02, "{got} and {p}");
}

#[test]
fn what_reads_as_another_button_is_said_with_which() {
    let mut project = learned();
    // Two buttons of a few ohms' difference, and a contact that wears by more.
    project.parts.wear_ohm = 600.0;
    let built = built(&project, 4_000);
    let first = &built.buttons[0];
    assert!(first.misread > 0 && first.misread_as[0].0 == 1, "{first:?}");
    assert!(first.misread_as.iter().all(|&(other, boxes)| other != 0 && boxes <= first.misread));
    assert!(built.misreading_boxes >= built.buttons.iter().map(|button| button.misread).max().unwrap());
    assert!(built.misreading_boxes <= built.boxes);
}

#[test]
fn a_button_taken_as_one_with_another_is_right_in_its_band() {
    let mut project = learned();
    project.parts.wear_ohm = 0.0;
    let (first, second) = (project.wheel.buttons[0].id.clone(), project.wheel.buttons[1].id.clone());
    let as_first = project.learned[&first].presses.clone();
    project.learned.insert(second, LearnedButton { presses: as_first, indistinct_from: Some(first) });
    let built = built(&project, 4_000);
    assert_eq!((built.buttons[0].misread, built.buttons[1].misread), (0, 0));
    assert_eq!((built.buttons[1].ignored, built.buttons[1].accept), (0, None));
}

#[test]
fn a_feed_of_its_own_moves_readings_and_a_ratio_or_a_monitor_holds_them() {
    let width = |reference, feed_monitor| {
        let mut project = demo_project();
        let circuit = project.circuit.as_mut().unwrap();
        (circuit.reference, circuit.feed_monitor) = (reference, feed_monitor);
        let built = built(&project, 8);
        built.buttons[4].worst_count.1 - built.buttons[4].worst_count.0
    };
    let other = Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None };
    let ratio = width(Reference::Supply, None);
    let bare = width(other, None);
    let watched = width(other, Some(FeedMonitor { upper_ohm: 1_000.0, lower_ohm: 5_600.0 }));
    assert!(bare > ratio + 100.0, "9 % and 5 % of 550 counts to either side: {bare} {ratio}");
    assert!(watched > ratio && watched < ratio + 10.0, "{watched} {ratio}");
}

#[test]
fn no_sample_lies_beyond_the_worst_case() {
    for project in [demo_project(), learned()] {
        let built = built(&project, 4_000);
        for rung in built.buttons.iter().chain(&built.rests) {
            let (low, high) = rung.axis_count;
            let bin = (high - low) / rung.histogram.len() as f64;
            let outer = |end: usize| low + end as f64 * bin;
            let first = rung.histogram.iter().position(|&readings| readings > 0).unwrap();
            let last = rung.histogram.iter().rposition(|&readings| readings > 0).unwrap();
            let (lowest, highest) = rung.worst_count;
            assert!(first == 0 || outer(first + 1) >= lowest, "{rung:?}");
            assert!(last + 1 == rung.histogram.len() || outer(last) <= highest, "{rung:?}");
            // Two standard uncertainties lie within the worst case, or near it where few things are off.
            assert!(rung.rss_count.0 > lowest - 8.0 && rung.rss_count.1 < highest + 8.0, "{rung:?}");
        }
    }
}

#[test]
fn what_is_missing_is_said_with_what_to_do() {
    let said = |project: &Project| BoxesPlan::of(project).unwrap_err().to_string();
    let mut bare = demo_project();
    bare.circuit = None;
    assert_eq!(
        said(&bare),
        "The project has no sense circuit. Enter the sense resistor, the feed and the reference at the Circuit \
         station."
    );
    let mut unmetered = demo_project();
    unmetered.wheel.buttons[2].meter_ohm = None;
    unmetered.wheel.buttons[4].meter_ohm = None;
    assert_eq!(
        said(&unmetered),
        "No resistance is known for next, source. Meter each while pressed and enter it at the Wheel station, \
         or learn it."
    );
    let mut odd = demo_project();
    odd.wheel.buttons[6].meter_ohm = Some(20_000.0);
    assert_eq!(
        said(&odd),
        "mute shows 20.0 kΩ, and its wire at rest 14.9 kΩ: pressing can't add resistance. Meter both again at \
         the Wheel station."
    );
    let mut empty = demo_project();
    empty.wheel.buttons.clear();
    assert_eq!(said(&empty), "There are no buttons to judge. Enter them at the Wheel station.");
    let mut top = learned();
    let last = top.wheel.buttons[6].id.clone();
    for press in &mut top.learned.get_mut(&last).unwrap().presses {
        press.median_count = 1_023.0;
    }
    assert!(said(&top).starts_with("mute was learned at the top of the scale"), "{}", said(&top));
    // 4 V of a factory module against 5 V: an open wire reads 1024 · 4 / 5.
    let mut other = learned();
    let circuit = other.circuit.as_mut().unwrap();
    (circuit.feed_v, circuit.module) = (4.0, Some(crate::circuit::Module { supply_v: 5.0 }));
    assert_eq!(
        said(&other),
        "mute was learned at 849 counts, which this circuit gives for no resistance: it reads 819 at most. Check \
         its values at the Circuit station, or learn the button again."
    );
}

#[test]
fn a_number_of_boxes_that_cannot_be_built_is_refused() {
    let plan = BoxesPlan::of(&demo_project()).unwrap();
    for boxes in [0, 1_000_000_000_000] {
        let error = plan.run(boxes, 1).err().unwrap().to_string();
        assert_eq!(
            error,
            format!("{boxes} boxes can't be built. Ask for 1 to 1000000000; a million tells one in 100 000.")
        );
    }
    assert!(plan.run(1, 1).is_ok());
}
