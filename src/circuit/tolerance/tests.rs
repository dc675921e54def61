//! Eight abreast against one by one, and what is drawn against what it should be.

use statrs::distribution::{ContinuousCDF, Uniform};

use super::model::BoxDraws;
use super::*;
use crate::circuit::{Circuit, Reference, Sense};
use crate::wheel::{Ladder, Topology};

/// A model with everything in it: two wires, a leak, a reference of its own.
fn model(sense: Sense, topology: Topology, end_ohm: Option<f64>) -> BoxModel {
    let circuit = Circuit {
        sense,
        sense_ohm: 1_200.0,
        feed_v: 5.0,
        reference: Reference::External { volt: 4.8, series_ohm: 0.0, pin_v: None },
        contact_ohm: 12.0,
        leak_ohm: Some(150_000.0),
        feed_monitor: None,
        filter: Default::default(),
        module: None,
    };
    let drifts = Drifts {
        ladder_tolerance: 0.05,
        ladder_per_k: 200e-6,
        ladder_tracking_per_k: 25e-6,
        sense_tolerance: 0.01,
        sense_per_k: 100e-6,
        wear_ohm: 150.0,
        cold_c: -40.0,
        hot_c: 85.0,
        feed_tolerance: 0.03,
        reference_tolerance: 0.02,
        reference_per_k: 150e-6,
    };
    let rung = BoxRung { own: Some(0), error_count: 2.0, low_count: 100, high_count: 200 };
    let wire = |ohm: &[f64]| BoxWire {
        ladder: Ladder { topology, ohm: ohm.to_vec(), end_ohm },
        rungs: vec![rung; ohm.len()],
        rest: end_ohm.map(|_| rung),
        owner: Box::new([BoxWire::NOBODY; 1024]),
    };
    BoxModel::new(circuit, drifts, vec![wire(&[0.0, 180.0, 900.0, 4_000.0]), wire(&[330.0, 470.0])]).unwrap()
}

#[test]
fn eight_abreast_read_what_each_alone_reads() {
    for sense in [Sense::PullUp, Sense::PullDown] {
        for topology in [Topology::Series, Topology::Parallel] {
            for end_ohm in [None, Some(10_000.0)] {
                let model = model(sense, topology, end_ohm);
                let run = BoxRun::new(&model, 8, 11);
                let (draws, counts) = run.first(0);
                for lane in 0..8 {
                    let one = BoxDraws(draws.iter().map(|draw| f64::from(draw[lane])).collect());
                    let mut number = 0;
                    for (wire, it) in model.wires().iter().enumerate() {
                        for rung in 0..it.rungs.len() + usize::from(it.rest.is_some()) {
                            for (place, condition) in CONDITIONS.into_iter().enumerate() {
                                let alone = model.reading(&one, wire, rung, condition);
                                let abreast = f64::from(counts[number][place][lane]);
                                assert!(
                                    (alone - abreast).abs() < 1e-3,
                                    "{rung} {condition:?}: {alone} {abreast}"
                                );
                            }
                            number += 1;
                        }
                    }
                }
            }
        }
    }
}

/// Kolmogorov and Smirnov's distance against the uniform distribution of `statrs`: below 1.95 / √n in 999
/// of 1000 samples (their limiting distribution, from memory of any table of it).
#[test]
fn what_is_drawn_is_uniform() {
    let model = model(Sense::PullUp, Topology::Series, Some(10_000.0));
    let run = BoxRun::new(&model, 1_000_000, 12);
    let uniform = Uniform::new(-1.0, 1.0).unwrap();
    let places = model.used();
    assert!(places.len() > 25);
    let mut by_place = vec![Vec::new(); model.draws()];
    for chunk in 0..500 {
        let (draws, _) = run.first(chunk);
        for &place in &places {
            by_place[place].extend(draws[place].map(f64::from));
        }
    }
    let distance = |sample: &mut Vec<f64>| {
        sample.sort_by(f64::total_cmp);
        let n = sample.len() as f64;
        let off = sample.iter().enumerate().map(|(below, &x)| {
            let cdf = uniform.cdf(x);
            (cdf - below as f64 / n).max((below as f64 + 1.0) / n - cdf)
        });
        off.fold(0.0, f64::max) * n.sqrt()
    };
    let mut all: Vec<f64> = places.iter().flat_map(|&place| by_place[place].clone()).collect();
    assert!(distance(&mut all) < 1.95);
    let beyond = places.iter().filter(|&&place| distance(&mut by_place[place]) >= 1.95).count();
    assert_eq!(beyond, 0, "none of {} places", places.len());
}

#[test]
fn draws_of_two_places_have_nothing_to_do_with_each_other() {
    let model = model(Sense::PullUp, Topology::Series, None);
    let run = BoxRun::new(&model, 1_000_000, 13);
    let places = model.used();
    let samples: Vec<_> = (0..250).map(|chunk| run.first(chunk).0).collect();
    for pair in places.windows(2) {
        let products = samples.iter().flat_map(|draws| {
            let (a, b) = (draws[pair[0]], draws[pair[1]]);
            (0..8).map(move |lane| f64::from(a[lane] * b[lane]))
        });
        let n = 2_000.0_f64;
        // The product of two such has variance 1/9.
        let z = products.sum::<f64>() / n.sqrt() * 3.0;
        assert!(z.abs() < 4.5, "{pair:?}: {z}");
    }
}

#[test]
fn what_cannot_be_a_box_is_said_with_its_value() {
    let good = model(Sense::PullUp, Topology::Series, None);
    let said = |circuit: Circuit, drifts: Drifts, wires: Vec<BoxWire>| {
        BoxModel::new(circuit, drifts, wires).unwrap_err().to_string()
    };
    let BoxModel { circuit, drifts, wires, .. } = good;
    assert_eq!(
        said(circuit.clone(), drifts, vec![]),
        "There are no buttons to judge. Enter them at the Wheel station."
    );
    assert_eq!(
        said(circuit.clone(), Drifts { wear_ohm: f64::NAN, ..drifts }, wires.clone()),
        "The contact wear is NaN, and boxes can't be computed with that. Enter it anew at the Circuit station."
    );
    let mut short = wires.clone();
    short[0].ladder.ohm.pop();
    assert_eq!(
        said(circuit.clone(), drifts, short),
        "A wire has 4 buttons and a ladder of 3 resistors. Give one for each."
    );
    let mut strange = wires.clone();
    strange[0].owner[7] = 77;
    assert!(said(circuit.clone(), drifts, strange).starts_with("The owner of a count is 77, "));
    let many = vec![wires[0].clone(); 5];
    assert_eq!(
        said(circuit.clone(), drifts, many),
        "There are 20 rungs, buttons and rests, and at most 18 can be judged. Remove some buttons."
    );
    let broken = Circuit { sense_ohm: -1.0, ..circuit };
    assert!(said(broken, drifts, wires).starts_with("The sense resistor is -1, "));
}

#[test]
fn at_the_converters_ends_all_that_lies_beyond_is_its_own() {
    let mut model = model(Sense::PullUp, Topology::Series, None);
    model.drifts = Drifts { cold_c: 25.0, hot_c: 25.0, ..Drifts::default() };
    let wire = &mut model.wires[0];
    // 0 Ω with an error of 2 counts reads below 0 as often as above.
    wire.owner[..=20].fill(0);
    wire.rungs[0] = BoxRung { own: Some(0), error_count: 2.0, low_count: 0, high_count: 20 };
    model.circuit.contact_ohm = 0.0;
    let run = BoxRun::new(&model, 4_000, 1);
    let tally = run.tally(0);
    assert_eq!((tally.rungs[0].ignored, tally.rungs[0].misread), (0, 0));
    let (low, high) = run.axis(0).unwrap();
    assert!(low < 0.0 && high > 21.0);
}
