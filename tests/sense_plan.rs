//! The plan of the sense resistor against tables made outside this program (`tests/golden/plan`), and
//! against a search of every value; preferred values against the package eseries.
#![expect(clippy::expect_used, reason = "the helpers of a test may fail it")]

use proptest::prelude::*;
use serde::Deserialize;
use spokewire::circuit::{
    Circuit, NoChoice, Plan, PlanError, PlanInput, PlanNoise, PlanRung, PlanValue, Problem, Reference, Ruled,
    Sense, plan,
};
use spokewire::units::Series;

const SERIES_CSV: &str = include_str!("golden/plan/series.csv");
const PLANS_JSON: &str = include_str!("golden/plan/plans.json");

/// A ladder and what `make.py` made of it.
#[derive(Deserialize)]
struct Case {
    sense: Sense,
    feed_v: f64,
    reference_v: f64,
    series: String,
    noise: Noise,
    rungs: Vec<Rung>,
    /// Ohms, gap, separation, alike, saturates.
    values: Vec<(f64, u16, f64, bool, bool)>,
    choice: Option<f64>,
}

#[derive(Deserialize)]
struct Noise {
    converter_error_count: f64,
    within_count: f64,
    between_ohm: f64,
    wear_ohm: f64,
    tolerance_factor: f64,
}

#[derive(Deserialize)]
struct Rung {
    wire: u8,
    ohm: Option<f64>,
    is_rest: bool,
}

fn series_named(name: &str) -> Series {
    Series::ALL.into_iter().find(|series| series.name() == name).expect("a series of the standard")
}

impl Case {
    fn planned(&self) -> Result<Plan, PlanError> {
        let Noise { converter_error_count, within_count, between_ohm, wear_ohm, tolerance_factor } =
            self.noise;
        let rungs: Vec<_> = self
            .rungs
            .iter()
            .map(|rung| PlanRung {
                wire: rung.wire,
                ohm: rung.ohm.unwrap_or(f64::INFINITY),
                is_rest: rung.is_rest,
            })
            .collect();
        let reference = if self.reference_v == self.feed_v {
            Reference::Supply
        } else {
            Reference::Internal { volt: self.reference_v }
        };
        let circuit = Circuit { sense: self.sense, feed_v: self.feed_v, reference, ..Circuit::recommended() };
        plan(&PlanInput {
            circuit: &circuit,
            rungs: &rungs,
            noise: PlanNoise { converter_error_count, within_count, between_ohm, wear_ohm, tolerance_factor },
            series: series_named(&self.series),
            drawer_ohm: &[],
        })
    }
}

fn cases() -> Vec<Case> {
    let cases: Vec<Case> = serde_json::from_str(PLANS_JSON).expect("the table");
    assert!(cases.len() > 30);
    cases
}

/// IEC 60063 by the Python package eseries: E24's eight odd values and E192's 9.20 among them.
#[test]
fn every_series_is_the_packages_over_the_whole_decade() {
    for series in Series::ALL {
        let listed: Vec<u32> = SERIES_CSV
            .lines()
            .skip(1)
            .filter_map(|line| line.split_once(','))
            .filter(|(name, _)| *name == series.name())
            .map(|(_, value)| value.parse().expect("a whole number"))
            .collect();
        assert_eq!(series.hundredths().collect::<Vec<_>>(), listed, "{}", series.name());
    }
    // The eight values of E24 that aren't the rounded powers of ten, and the one of E192.
    let odd = |series: Series| -> Vec<u32> {
        let rounded = |step: usize| {
            let power = 10_f64.powf(step as f64 / f64::from(series.per_decade()));
            if series.per_decade() <= 24 {
                10 * (10.0 * power).round() as u32
            } else {
                (100.0 * power).round() as u32
            }
        };
        series
            .hundredths()
            .enumerate()
            .filter(|(step, value)| rounded(*step) != *value)
            .map(|(_, value)| value)
            .collect()
    };
    assert_eq!(odd(Series::E24), [270, 300, 330, 360, 390, 430, 470, 820]);
    assert_eq!(odd(Series::E192), [920]);
    assert!(odd(Series::E96).is_empty());
}

/// Node voltages by `numpy.linalg`, counts by exact fractions, the choice by a search of the table.
#[test]
fn plans_agree_with_those_made_by_numpy_and_exact_fractions() {
    let (mut chosen, mut refused) = (0, 0);
    for (number, case) in cases().iter().enumerate() {
        let plan = case.planned().expect("a plan");
        assert_eq!(plan.values.len(), case.values.len(), "case {number}");
        for (value, &(ohm, gap, sigma, alike, saturates)) in plan.values.iter().zip(&case.values) {
            assert!((value.ohm - ohm).abs() <= 1e-12 * ohm, "case {number}: {} is not {ohm}", value.ohm);
            assert_eq!(value.gap_count, gap, "case {number}, {ohm} Ω");
            // The script's slopes are differences.
            assert!(
                (value.separation_sigma - sigma).abs() <= 2e-3 * sigma + 1e-6,
                "case {number}, {ohm} Ω: {} {sigma}",
                value.separation_sigma
            );
            let ruled = match value.ruled {
                None => (false, false),
                Some(Ruled::Saturates(_)) => (alike, true),
                Some(Ruled::Indistinct(_)) => (true, false),
            };
            assert_eq!(ruled, (alike, saturates), "case {number}, {ohm} Ω");
        }
        let ours = plan.choice.ok().map(|index| plan.values[index].ohm);
        assert_eq!(ours, case.choice, "case {number}");
        if ours.is_some() { chosen += 1 } else { refused += 1 }
    }
    assert!(chosen >= 10 && refused >= 1, "both kinds are among them: {chosen}, {refused}");
}

/// FACTS section 0, items 1 and 3 (computed there): 2.2 kΩ over 1 kΩ to ground, 3.3 V through 5.1 kΩ as
/// reference; below 0.757 of the sense resistor a tap reads 1023.
#[test]
fn the_published_saturation_is_what_rules_values_out() {
    let reference = |volt| Reference::External { volt, series_ohm: 5_100.0, pin_v: None };
    let hookup =
        |feed_v, reference| Circuit { sense: Sense::PullDown, feed_v, reference, ..Circuit::recommended() };
    for (circuit, count) in [
        (hookup(5.00, reference(3.3)), 562),
        (hookup(4.75, reference(3.3)), 534),
        (hookup(4.50, reference(3.3)), 505),
        (hookup(5.10, reference(3.3)), 573),
        (hookup(5.00, reference(3.2)), 579),
        (hookup(5.00, Reference::Supply), 320),
        (hookup(4.50, Reference::Supply), 320),
    ] {
        assert_eq!(circuit.count(2_200.0), Some(count), "{circuit:?}");
    }
    let rungs = rungs_of(&[820.0, 2_200.0, 6_800.0], f64::INFINITY);
    let circuit = hookup(5.0, reference(3.3));
    let plan = planned(&circuit, &rungs, Series::E24).expect("a plan");
    for value in &plan.values {
        let saturates = 820.0 < 0.757 * value.ohm;
        assert_eq!(matches!(value.ruled, Some(Ruled::Saturates(0))), saturates, "{} Ω", value.ohm);
    }
    let chosen = &plan.values[plan.choice.expect("a choice")];
    assert!(chosen.ohm < 820.0 / 0.757, "{}", chosen.ohm);
}

const NOISE: PlanNoise = PlanNoise {
    converter_error_count: 2.0,
    within_count: 1.0,
    between_ohm: 5.0,
    wear_ohm: 30.0,
    tolerance_factor: 4.0,
};

fn rungs_of(buttons: &[f64], rest_ohm: f64) -> Vec<PlanRung> {
    let mut rungs: Vec<_> = buttons.iter().map(|&ohm| PlanRung { wire: 1, ohm, is_rest: false }).collect();
    rungs.push(PlanRung { wire: 1, ohm: rest_ohm, is_rest: true });
    rungs
}

fn planned(circuit: &Circuit, rungs: &[PlanRung], series: Series) -> Result<Plan, PlanError> {
    plan(&PlanInput { circuit, rungs, noise: NOISE, series, drawer_ohm: &[] })
}

fn open(value: &PlanValue) -> bool {
    value.ruled.is_none()
}

proptest! {
    /// Nothing that will do is better than the choice, and what is chosen reads as the circuit says.
    #[test]
    fn no_other_value_beats_the_choice(
        mut ohms in prop::collection::vec(0.0..20_000.0_f64, 1..9), rest in prop_oneof![Just(f64::INFINITY), 5e3..60e3_f64],
        down in any::<bool>(), which in 0_usize..4,
    ) {
        ohms.sort_by(f64::total_cmp);
        let circuit = Circuit { sense: if down { Sense::PullDown } else { Sense::PullUp }, ..Circuit::recommended() };
        let series = [Series::E12, Series::E24, Series::E48, Series::E96][which];
        let rungs = rungs_of(&ohms, rest);
        let plan = planned(&circuit, &rungs, series).unwrap();
        for value in &plan.values {
            let over = Circuit { sense_ohm: value.ohm, ..circuit.clone() };
            let mut counts: Vec<u16> = rungs.iter().filter_map(|rung| over.count(rung.ohm)).collect();
            counts.sort_unstable();
            prop_assert_eq!(counts.windows(2).map(|two| two[1] - two[0]).min(), Some(value.gap_count));
        }
        match plan.choice {
            Ok(index) => {
                let chosen = &plan.values[index];
                prop_assert!(open(chosen));
                for other in plan.values.iter().filter(|value| open(value)) {
                    prop_assert!(chosen.separation_sigma >= 0.95 * other.separation_sigma);
                    // As near the best as the choice, and more counts: there is none.
                    let best = plan.values.iter().filter(|value| open(value)).map(|value| value.separation_sigma).fold(0.0, f64::max);
                    if other.separation_sigma >= 0.95 * best {
                        prop_assert!(other.gap_count <= chosen.gap_count);
                    }
                }
            }
            Err(NoChoice::Indistinct(pair)) => {
                prop_assert!(plan.values.iter().all(|value| !open(value)));
                prop_assert!(pair.lower != pair.upper);
            }
            Err(why) => prop_assert!(false, "{why}"),
        }
    }

    /// Twice the ladder over twice the resistor reads the same.
    #[test]
    fn a_ladder_of_twice_the_ohms_reads_the_same_over_twice_the_resistor(
        ohms in prop::collection::vec(10.0..5_000.0_f64, 2..6), sense_ohm in 100.0..5_000.0_f64,
    ) {
        let of = |times: f64| {
            let scaled: Vec<f64> = ohms.iter().map(|ohm| times * ohm).collect();
            let circuit = Circuit { sense_ohm: times * sense_ohm, ..Circuit::recommended() };
            planned(&circuit, &rungs_of(&scaled, f64::INFINITY), Series::E24).unwrap().now
        };
        let (one, two) = (of(1.0), of(2.0));
        prop_assert_eq!(one.gap_count, two.gap_count);
        prop_assert!((one.feed_amp - 2.0 * two.feed_amp).abs() < 1e-12);
    }
}

#[test]
fn what_cannot_be_planned_is_said_with_what_to_do() {
    let circuit = Circuit::recommended();
    let good = rungs_of(&[100.0, 1_000.0], f64::INFINITY);
    let said = |circuit: &Circuit, rungs: &[PlanRung]| {
        planned(circuit, rungs, Series::E24).map(|_| ()).expect_err("no plan").to_string()
    };
    assert!(said(&circuit, &[]).starts_with("The wheel has no buttons to tell apart."));
    assert!(said(&circuit, &good[2..]).starts_with("The wheel has no buttons to tell apart."));
    assert_eq!(
        said(&circuit, &rungs_of(&[100.0, f64::NAN], f64::INFINITY)),
        "Reading 2 of the ladder is NaN Ω. Give what the meter shows, 0 Ω or more."
    );
    assert!(said(&circuit, &rungs_of(&[-1.0], f64::INFINITY)).contains("is -1 Ω"));
    assert!(
        said(&circuit, &rungs_of(&[f64::INFINITY], f64::INFINITY))
            .contains("Reading 1 of the ladder is inf Ω")
    );
    assert!(said(&circuit, &good[..1]).starts_with("Each wire has one reading only"));
    assert_eq!(
        said(&Circuit { feed_v: f64::NAN, ..circuit }, &good),
        Problem::Feed { volt: f64::NAN }.to_string()
    );
    assert!(said(&circuit, &rungs_of(&[60e6, 90e6], f64::INFINITY)).contains("is it a ladder at all?"));
    let noisy = |noise, drawer_ohm: &[f64]| {
        plan(&PlanInput { circuit: &circuit, rungs: &good, noise, series: Series::E24, drawer_ohm })
            .map(|_| ())
            .expect_err("no plan")
            .to_string()
    };
    assert_eq!(
        noisy(PlanNoise { wear_ohm: -1.0, ..NOISE }, &[]),
        "The contact's wear in ohms is -1. Give 0 or more."
    );
    assert!(
        noisy(PlanNoise { converter_error_count: 0.0, within_count: 0.0, ..NOISE }, &[])
            .starts_with("Neither the converter's error")
    );
    assert_eq!(
        noisy(NOISE, &[0.0]),
        "0 Ω in the drawer is no resistor. Give values above 0 Ω, like 470 or 1k."
    );
    // All of them at the feed itself under a low reference: every value saturates.
    let low =
        Circuit { sense: Sense::PullDown, reference: Reference::Internal { volt: 1.1 }, ..circuit.clone() };
    let plan = planned(&low, &rungs_of(&[0.0, 100.0], f64::INFINITY), Series::E24).expect("a curve");
    assert_eq!(plan.choice, Err(NoChoice::Saturate));
    // Two of one resistance.
    let plan = planned(&circuit, &rungs_of(&[500.0, 500.0], f64::INFINITY), Series::E24).expect("a curve");
    assert!(matches!(plan.choice, Err(NoChoice::Indistinct(_))));
}

#[test]
fn the_drawers_best_is_chosen_by_the_same_rule() {
    let rungs = rungs_of(&[82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0], 14_900.0);
    let circuit = Circuit::recommended();
    let drawer_ohm = [4_700.0, 470.0, 1_000.0, 470.0];
    let input = PlanInput {
        circuit: &circuit,
        rungs: &rungs,
        noise: NOISE,
        series: Series::E24,
        drawer_ohm: &drawer_ohm,
    };
    let plan = plan(&input).expect("a plan");
    assert_eq!(plan.drawer.iter().map(|value| value.ohm).collect::<Vec<_>>(), [470.0, 1_000.0, 4_700.0]);
    assert_eq!(plan.drawer_choice.map(|index| plan.drawer[index].ohm), Some(1_000.0));
    // A drawer value of the series is the series' own.
    let of_series = plan.values.iter().find(|value| value.ohm == 1_000.0);
    assert_eq!(of_series, Some(&plan.drawer[1]));
    assert_eq!(plan.now, plan.drawer[1]);
    // 5 V over 1 kΩ and 82 Ω: 4.62 mA, 21.4 mW in the resistor (Ohm's law by hand).
    assert!((plan.now.feed_amp - 5.0 / 1_082.0).abs() < 1e-12);
    assert!((plan.now.sense_watt - 25.0 / 1_082.0_f64.powi(2) * 1_000.0).abs() < 1e-9);
}
