//! The same boxes in numpy: `tests/golden/boxes`.

use spokewire::circuit::tolerance::{BoxRun, BoxTally, CONDITIONS, Limits};

use serde::Deserialize;

use super::case::{self, Case};

/// What numpy made of a case; rungs in the model's order.
#[derive(Debug, Deserialize)]
struct Expected {
    boxes: u64,
    misreading: u64,
    ignoring: u64,
    rungs: Vec<ExpectedRung>,
}

#[derive(Debug, Deserialize)]
struct ExpectedRung {
    ignored: u64,
    misread: u64,
    /// By rung.
    misread_as: Vec<u64>,
    /// Mean and standard deviation of its readings in each condition.
    mean_count: Vec<f64>,
    sigma_count: Vec<f64>,
}

/// A case and what numpy made of it.
fn read(name: &str) -> (Case, Expected) {
    let path = format!("{}/tests/golden/boxes/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let case = case::read(&path).unwrap();
    let expected = serde_json::from_value(case.expected.clone()).unwrap();
    (case, expected)
}

/// Boxes built here; numpy built a million.
const BOXES: u64 = 100_000;

/// Both are samples: so many standard deviations of the difference of two shares they may be apart. One
/// in 1.7 million such comparisons is, by chance.
const SIGMAS: f64 = 5.0;

fn built(case: &Case) -> BoxTally {
    let run = BoxRun::new(&case.model, BOXES, 20);
    let mut sum = run.none();
    (0..run.chunks()).for_each(|chunk| sum.add(&run.tally(chunk)));
    sum
}

/// Whether two numbers of boxes are the same share, as far as samples can say.
fn same(what: &str, ours: u64, theirs: u64, of: u64) {
    let (a, b) = (ours as f64 / BOXES as f64, theirs as f64 / of as f64);
    // The share of both together, with a success and a failure more, so that none is 0 or 1.
    let both = (ours + theirs + 1) as f64 / (BOXES + of + 2) as f64;
    let sigma = (both * (1.0 - both) * (1.0 / BOXES as f64 + 1.0 / of as f64)).sqrt();
    assert!((a - b).abs() <= SIGMAS * sigma, "{what}: {ours} of {BOXES} and {theirs} of {of}");
}

fn agrees(name: &str) {
    let (case, theirs) = read(name);
    let ours = built(&case);
    assert_eq!((ours.boxes, theirs.boxes), (BOXES, 1_000_000));
    same("misreading", ours.misreading, theirs.misreading, theirs.boxes);
    same("ignoring", ours.ignoring, theirs.ignoring, theirs.boxes);
    assert_eq!(ours.rungs.len(), theirs.rungs.len());
    assert!(theirs.rungs.iter().any(|rung| rung.ignored > 0), "there is something to compare");
    for (number, (a, b)) in ours.rungs.iter().zip(&theirs.rungs).enumerate() {
        same(&format!("{name} {number} ignored"), a.ignored, b.ignored, theirs.boxes);
        same(&format!("{name} {number} misread"), a.misread, b.misread, theirs.boxes);
        for (other, (&a, &b)) in a.misread_as.iter().zip(&b.misread_as).enumerate() {
            same(&format!("{name} {number} as {other}"), a, b, theirs.boxes);
        }
        assert_eq!(a.histogram.iter().sum::<u64>(), BOXES * CONDITIONS.len() as u64);
    }
}

#[test]
fn a_chain_of_ten_is_judged_as_in_numpy() {
    agrees("ten");
}

#[test]
fn a_parallel_ladder_on_a_leaking_wire_with_its_own_reference_is_judged_as_in_numpy() {
    agrees("parallel");
}

#[test]
fn two_open_wires_are_judged_as_in_numpy() {
    agrees("two_wires");
}

/// The law of propagation is a straight line through a curve: its mean is off by the curve's bend, and its
/// spread is right to some hundredths.
#[test]
fn root_sum_square_is_near_the_mean_and_spread_that_numpy_finds() {
    for name in ["ten", "parallel", "two_wires"] {
        let (case, theirs) = read(name);
        let places = case.model.wires().iter().enumerate().flat_map(|(wire, it)| {
            (0..it.rungs.len() + usize::from(it.rest.is_some())).map(move |rung| (wire, rung))
        });
        for ((wire, rung), theirs) in places.zip(&theirs.rungs) {
            let ours = case.model.root_sum_square(wire, rung);
            for ((ours, &mean), &sigma) in ours.iter().zip(&theirs.mean_count).zip(&theirs.sigma_count) {
                assert!(
                    (ours.uncertainty / sigma - 1.0).abs() < 0.05,
                    "{name} {wire} {rung}: {ours:?}, {sigma}"
                );
                assert!((ours.mean - mean).abs() < 0.2 * sigma, "{name} {wire} {rung}: {ours:?}, {mean}");
            }
        }
    }
    // And a rectangle's own deviation is what numpy calls one: 1/√3 of its half-width.
    assert!((Limits { low: -1.0, nominal: 0.0, high: 1.0 }.uncertainty() - 0.577_350).abs() < 1e-6);
}
