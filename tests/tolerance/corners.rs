//! Worst case and root sum square.

use proptest::prelude::*;
use spokewire::circuit::tolerance::{
    BoxDraws, BoxModel, BoxRung, BoxWire, CONDITIONS, Drifts, Limits, root_sum_square, worst_case,
};
use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::wheel::{Ladder, Topology};

/// Nominal value and the sum of slopes times tolerances to either side: what it is not.
fn sum_of_slopes(inputs: &[Limits], reading: impl Fn(&[f64]) -> f64) -> (f64, f64) {
    let nominal: Vec<f64> = inputs.iter().map(|input| input.nominal).collect();
    let middle = reading(&nominal);
    inputs.iter().enumerate().fold((middle, middle), |(low, high), (place, input)| {
        let step = 1e-6 * input.nominal;
        let mut at = nominal.clone();
        at[place] += step;
        let slope = (reading(&at) - middle) / step;
        let moves = [slope * (input.low - input.nominal), slope * (input.high - input.nominal)];
        (low + moves[0].min(moves[1]), high + moves[0].max(moves[1]))
    })
}

/// FACTS C2, divider worst case: 5 V (+0.10/-0.05), R1 10 kΩ ±5 %, R2 30 kΩ ±1 %, R3 10 kΩ exact gives
/// 1.000 V nominal, 0.97441 V least, 1.03659 V most.
#[test]
fn a_divider_is_worst_at_its_corners_and_not_at_the_sum_of_its_slopes() {
    let inputs = [
        Limits { low: 4.95, nominal: 5.0, high: 5.10 },
        Limits::within(10e3, 0.05),
        Limits::within(30e3, 0.01),
        Limits::within(10e3, 0.0),
    ];
    let reading = |at: &[f64]| at[0] * at[3] / (at[1] + at[2] + at[3]);
    let (low, high) = worst_case(&inputs, reading);
    assert!((low - 0.97441).abs() < 5e-6 && (high - 1.03659).abs() < 5e-6, "{low}, {high}");
    // 1 V: -1 % of the feed, -1 % and -0.6 % of the resistors; +2 % and the same again.
    let (straight_low, straight_high) = sum_of_slopes(&inputs, reading);
    assert!((straight_low - 0.974).abs() < 1e-5 && (straight_high - 1.036).abs() < 1e-5);
    assert!(low > straight_low + 3e-4 && high > straight_high + 5e-4, "not the same, on either side");
}

/// FACTS C3, product of three at ±0.1 % (Helfrick and Cooper, example 1-13): +0.3004 %, -0.2996 %.
#[test]
fn a_product_is_not_as_far_off_below_as_above() {
    let inputs = [Limits::within(2.0, 1e-3), Limits::within(5.0, 1e-3), Limits::within(4.0, 1e-3)];
    let reading = |at: &[f64]| at[0] * at[1] / at[2] / 2.5;
    let (low, high) = worst_case(&inputs, reading);
    assert!((100.0 * (high - 1.0) - 0.3004).abs() < 5e-5, "{high}");
    assert!((100.0 * (1.0 - low) - 0.2996).abs() < 5e-5, "{low}");
    let (straight_low, straight_high) = sum_of_slopes(&inputs, reading);
    assert!((straight_low - 0.997).abs() < 1e-8 && (straight_high - 1.003).abs() < 1e-8);
}

/// FACTS C4, tolerance stack-up: 1, 1 and 1.5 % are 3.5 % at worst and 2.06 % by root sum square. There
/// a tolerance stands for its uncertainty, so limits are set √3 times as wide.
#[test]
fn a_stack_of_three_adds_up_at_worst_and_by_squares() {
    let stack =
        |scale: f64| [1.0, 1.0, 1.5].map(|off| Limits { low: -off * scale, nominal: 0.0, high: off * scale });
    let sum = |at: &[f64]| at.iter().sum::<f64>();
    assert_eq!(worst_case(&stack(1.0), sum), (-3.5, 3.5));
    let all = root_sum_square(&stack(3.0_f64.sqrt()), sum);
    assert!((all.uncertainty - 2.06).abs() < 0.005 && all.mean.abs() < 1e-12, "{all:?}");
}

/// FACTS C5, rectangular (chemical measurement uncertainty guide, App. E.1): between 7 and 10, a = 1.5
/// and u = 0.866.
#[test]
fn what_is_only_known_to_lie_between_limits_has_half_their_distance_over_root_three() {
    let between = Limits { low: 7.0, nominal: 8.0, high: 10.0 };
    assert!((between.uncertainty() - 0.866).abs() < 5e-4);
    assert_eq!(between.middle(), 8.5);
}

/// FACTS C6, the law of propagation (NIST TN 1297 §5): for a divider the slopes in closed form.
#[test]
fn uncertainties_propagate_by_the_slopes() {
    let inputs = [Limits::within(1e3, 0.01), Limits::within(2e3, 0.02)];
    let share = |at: &[f64]| at[1] / (at[0] + at[1]);
    let (u0, u1) = (10.0 / 3.0_f64.sqrt(), 40.0 / 3.0_f64.sqrt());
    let whole: f64 = 3e3 * 3e3;
    let expected = ((2e3 / whole * u0).powi(2) + (1e3 / whole * u1).powi(2)).sqrt();
    assert!((root_sum_square(&inputs, share).uncertainty / expected - 1.0).abs() < 1e-4);
}

/// A model to try corners on, and draws for it.
fn some_model() -> impl Strategy<Value = (BoxModel, Vec<f64>)> {
    let circuit =
        (prop::bool::ANY, 200.0..5e3_f64, prop::option::of(2e4..1e6_f64), 0.0..50.0_f64, prop::bool::ANY);
    let ladder =
        (prop::bool::ANY, prop::collection::vec(20.0..3e3_f64, 1..7), prop::option::of(5e3..3e4_f64));
    let drifts = (0.0..0.1_f64, 0.0..0.05_f64, 0.0..5e-4_f64, 0.0..200.0_f64, 0.0..0.05_f64);
    (circuit, ladder, drifts, prop::collection::vec(-1.0..=1.0_f64, 64)).prop_map(
        |(circuit, ladder, drifts, draws)| {
            let (up, sense_ohm, leak_ohm, contact_ohm, ratio) = circuit;
            let (series, ohm, end_ohm) = ladder;
            let (ladder_tolerance, sense_tolerance, per_k, wear_ohm, feed_tolerance) = drifts;
            let circuit = Circuit {
                sense: if up { Sense::PullUp } else { Sense::PullDown },
                sense_ohm,
                feed_v: 5.0,
                reference: if ratio {
                    Reference::Supply
                } else {
                    Reference::External { volt: 4.5, series_ohm: 0.0, pin_v: None }
                },
                contact_ohm,
                leak_ohm,
                feed_monitor: None,
                filter: Default::default(),
                module: None,
            };
            let rung = BoxRung { own: Some(0), error_count: 2.0, low_count: 0, high_count: 1023 };
            let topology = if series { Topology::Series } else { Topology::Parallel };
            let wire = BoxWire {
                rungs: vec![rung; ohm.len()],
                rest: end_ohm.map(|_| BoxRung { own: Some(BoxWire::REST), ..rung }),
                owner: Box::new([BoxWire::NOBODY; 1024]),
                ladder: Ladder { topology, ohm, end_ohm },
            };
            let drifts = Drifts {
                ladder_tolerance,
                ladder_per_k: per_k,
                ladder_tracking_per_k: 0.2 * per_k,
                sense_tolerance,
                sense_per_k: 0.5 * per_k,
                wear_ohm,
                cold_c: -40.0,
                hot_c: 85.0,
                feed_tolerance: if ratio { 0.0 } else { feed_tolerance },
                reference_tolerance: if ratio { 0.0 } else { 0.02 },
                reference_per_k: if ratio { 0.0 } else { 150e-6 },
            };
            let model = BoxModel::new(circuit, drifts, vec![wire]).expect("a model");
            let draws = draws[..model.draws()].to_vec();
            (model, draws)
        },
    )
}

proptest! {
    #[test]
    fn no_box_reads_beyond_the_worst_case((model, draws) in some_model(), corner in prop::bool::ANY) {
        // Any box, and any corner of all boxes.
        let draws = if corner { draws.iter().map(|draw| draw.signum()).collect() } else { draws };
        let draws = BoxDraws(draws);
        for rung in 0..model.rungs().count() {
            let (low, high) = model.worst_case(0, rung);
            for condition in CONDITIONS {
                let count = model.reading(&draws, 0, rung, condition).clamp(0.0, 1023.0);
                prop_assert!((low - 1e-9..=high + 1e-9).contains(&count), "{low} {count} {high}, {condition:?}");
            }
        }
    }

    /// The other rooms' ladder (checked there against the network) and circuit (checked against ngspice),
    /// with the parts as drawn.
    #[test]
    fn a_box_reads_what_ladder_and_circuit_say_of_its_parts((model, draws) in some_model()) {
        let one = BoxDraws(draws);
        let still = BoxDraws(vec![0.0; one.0.len()]);
        let wire = &model.wires()[0];
        let circuit = model.circuit();
        let buttons = wire.rungs.len();
        let new = CONDITIONS[2];
        for rung in 0..buttons {
            let seen_ohm = wire.ladder.single_ohm(rung + 1, circuit.contact_ohm).unwrap();
            let count = model.reading(&still, 0, rung, new);
            prop_assert!((count - circuit.ideal_count(seen_ohm)).abs() < 1e-6);
        }
        if wire.rest.is_some() {
            let count = model.reading(&still, 0, buttons, new);
            prop_assert!((count - circuit.ideal_count(wire.ladder.rest_ohm().unwrap())).abs() < 1e-6);
        }
        // All resistors of the ladder off as one: by the shares that the drifts name.
        let off = model.drifts().ladder_tolerance;
        let mut all_up = still;
        all_up.0[8..8 + buttons + 1].fill(1.0);
        let ladder = Ladder {
            ohm: wire.ladder.ohm.iter().map(|ohm| ohm * (1.0 + off)).collect(),
            end_ohm: wire.ladder.end_ohm.map(|ohm| ohm * (1.0 + off)),
            ..wire.ladder.clone()
        };
        for rung in 0..buttons {
            let seen_ohm = ladder.single_ohm(rung + 1, circuit.contact_ohm).unwrap();
            let count = model.reading(&all_up, 0, rung, new);
            prop_assert!((count - circuit.ideal_count(seen_ohm)).abs() < 1e-6);
        }
    }
}
