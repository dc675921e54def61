//! Boxes by chance, against probabilities in closed form.

use spokewire::circuit::tolerance::{BoxModel, BoxRun, BoxRung, BoxTally, BoxWire, Drifts};
use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::wheel::{Ladder, Topology};
use statrs::distribution::{ContinuousCDF, Normal};

const SENSE_OHM: f64 = 1_000.0;

fn circuit() -> Circuit {
    Circuit {
        sense: Sense::PullUp,
        sense_ohm: SENSE_OHM,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
        feed_monitor: None,
        filter: Default::default(),
        module: None,
    }
}

/// A chain whose last button is the one asked about: all counts up to `high_count` are its own, the
/// rest nobody's. Only the ladder's resistors are off.
fn chain(ohm: &[f64], tolerance: f64, high_count: u16) -> BoxModel {
    let last = (ohm.len() - 1) as u8;
    let mut owner = Box::new([BoxWire::NOBODY; 1024]);
    owner[..=usize::from(high_count)].fill(last);
    let rung = BoxRung { own: Some(last), error_count: 0.0, low_count: 0, high_count };
    let wire = BoxWire {
        ladder: Ladder { topology: Topology::Series, ohm: ohm.to_vec(), end_ohm: None },
        rungs: vec![rung; ohm.len()],
        rest: None,
        owner,
    };
    let drifts = Drifts { ladder_tolerance: tolerance, cold_c: 25.0, hot_c: 25.0, ..Drifts::default() };
    BoxModel::new(circuit(), drifts, vec![wire]).unwrap()
}

fn built(model: &BoxModel, boxes: u64, seed: u64) -> BoxTally {
    let run = BoxRun::new(model, boxes, seed);
    let mut sum = run.none();
    (0..run.chunks()).for_each(|chunk| sum.add(&run.tally(chunk)));
    sum
}

/// The share of boxes whose last button leaves its band.
fn share(model: &BoxModel, boxes: u64, seed: u64) -> f64 {
    built(model, boxes, seed).rungs.last().unwrap().ignored as f64 / boxes as f64
}

/// What the ladder must show to read one count more than `high_count`: R / (R + Rs) of 1024.
fn threshold_ohm(high_count: u16) -> f64 {
    let count = f64::from(high_count) + 1.0;
    SENSE_OHM * count / (1024.0 - count)
}

/// Five standard deviations of a share.
fn five_sigma(p: f64, boxes: u64) -> f64 {
    5.0 * (p * (1.0 - p) / boxes as f64).sqrt()
}

/// One resistor, uniform: the chance to lie beyond a threshold is the part of its limits beyond it.
#[test]
fn one_resistor_leaves_its_band_as_often_as_a_uniform_one_must() {
    let boxes = 200_000;
    for high_count in [500, 515, 520, 524] {
        let p = ((1_050.0 - threshold_ohm(high_count)) / 100.0).clamp(0.0, 1.0);
        let got = share(&chain(&[1_000.0], 0.05, high_count), boxes, 3);
        assert!((got - p).abs() <= five_sigma(p, boxes), "{high_count}: {got} and {p}");
    }
    assert_eq!(share(&chain(&[1_000.0], 0.05, 525), boxes, 3), 0.0, "1050 Ω read 524.5");
}

/// Two equal resistors in a chain: the sum is triangular, and the chance beyond a threshold that is `t`
/// below the top is t² / 2 of both widths' square.
#[test]
fn two_resistors_leave_it_as_often_as_a_triangle_has_area_beyond() {
    let boxes = 200_000;
    for high_count in [516, 520, 523] {
        let beyond = (1_050.0 - threshold_ohm(high_count)).max(0.0);
        let p = 0.5 * (beyond / 50.0).powi(2);
        let got = share(&chain(&[500.0, 500.0], 0.05, high_count), boxes, 4);
        assert!(p > 0.0 && (got - p).abs() <= five_sigma(p, boxes), "{high_count}: {got} and {p}");
    }
}

/// Twelve equal resistors: their sum is near a normal one (central limit theorem), of the same mean and
/// variance; for twelve uniforms the distribution functions differ by 0.0024 at most (computed by the
/// Irwin-Hall formula).
#[test]
fn a_sum_of_twelve_is_a_normal_one() {
    let boxes = 50_000;
    let sigma = (12.0_f64).sqrt() * (1_200.0 / 12.0 * 0.05) / 3.0_f64.sqrt();
    let normal = Normal::new(1_200.0, sigma).unwrap();
    for high_count in [557, 558, 560, 562] {
        let p = 1.0 - normal.cdf(threshold_ohm(high_count));
        let got = share(&chain(&[100.0; 12], 0.05, high_count), boxes, 5);
        assert!((got - p).abs() <= 0.0024 + five_sigma(p, boxes), "{high_count}: {got} and {p}");
    }
}

/// The error of a share falls with the square root of the boxes: on double-logarithmic paper it is a
/// straight line of slope -1/2.
#[test]
fn the_error_shrinks_with_the_square_root_of_the_boxes() {
    let model = chain(&[1_000.0], 0.05, 515);
    let p = (1_050.0 - threshold_ohm(515)) / 100.0;
    let points: Vec<(f64, f64)> = [(1_000, 40), (10_000, 40), (100_000, 10), (1_000_000, 3)]
        .into_iter()
        .map(|(boxes, seeds)| {
            let squares = (0..seeds).map(|seed| (share(&model, boxes, 100 + seed) - p).powi(2));
            let error = (squares.sum::<f64>() / seeds as f64).sqrt();
            let expected = (p * (1.0 - p) / boxes as f64).sqrt();
            assert!((0.3..2.0).contains(&(error / expected)), "{boxes}: {error} and {expected}");
            ((boxes as f64).log10(), error.log10())
        })
        .collect();
    let n = points.len() as f64;
    let (mean_x, mean_y) =
        (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let slope = points.iter().map(|(x, y)| (x - mean_x) * (y - mean_y)).sum::<f64>()
        / points.iter().map(|(x, _)| (x - mean_x).powi(2)).sum::<f64>();
    assert!((slope + 0.5).abs() < 0.1, "{slope}");
}

#[test]
fn the_same_seed_gives_the_same_boxes_and_another_gives_others() {
    let model = chain(&[500.0, 500.0], 0.05, 516);
    assert_eq!(built(&model, 20_000, 1), built(&model, 20_000, 1));
    assert_ne!(built(&model, 20_000, 1), built(&model, 20_000, 2));
    // A box more changes none of those before it.
    let (few, more) = (built(&model, 4_099, 1), built(&model, 4_100, 1));
    let (few, more) = (few.rungs[1].ignored, more.rungs[1].ignored);
    assert!(more == few || more == few + 1, "{few}, {more}");
}

#[test]
fn chunks_summed_in_any_order_are_the_same() {
    let model = chain(&[500.0, 500.0], 0.05, 516);
    let run = BoxRun::new(&model, 30_000, 9);
    let sum = |order: &mut dyn Iterator<Item = usize>| {
        let mut sum = run.none();
        order.for_each(|chunk| sum.add(&run.tally(chunk)));
        sum
    };
    let forth = sum(&mut (0..run.chunks()));
    assert_eq!(forth, sum(&mut (0..run.chunks()).rev()));
    assert_eq!(forth.boxes, 30_000);
    assert_ne!(run.tally(0), run.tally(1), "each chunk has a stream of its own");
}
