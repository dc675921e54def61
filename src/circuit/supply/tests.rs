//! The supply against published examples and by hand.

use super::*;
use crate::circuit::{RegulatorParts, SupplyParts, Suppressor, USUAL_LINEAR};

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs()
}

/// FACTS C27, a regulator maker's questions and answers: 150 °C and 600 mW at 25 °C are 208.33 K/W; 3.6 V to
/// 1.8 V at 100 mA and 40 °C make 0.18 W and 77.5 °C.
#[test]
fn a_small_regulator_keeps_cool_enough() {
    let k_per_w = (150.0 - 25.0) / 0.6;
    assert!((k_per_w - 208.33_f64).abs() < 0.01);
    let heat_w = linear_heat_w(3.6, 1.8, 0.1, 0.0);
    assert!(near(heat_w, 0.18) && near(junction_c(40.0, heat_w, k_per_w), 77.5));
    assert!(near(rated_heat_w(150.0, 25.0, k_per_w), 0.6));
}

/// FACTS C28, a regulator's heat example: 12 V to 5 V at 0.5 A, 50 K/W and 25 °C make 3.5 W and 200 °C: too
/// hot.
#[test]
fn half_an_ampere_from_twelve_volts_is_too_hot_without_a_heat_sink() {
    let heat_w = linear_heat_w(12.0, 5.0, 0.5, 0.0);
    assert!(near(heat_w, 3.5) && near(junction_c(25.0, heat_w, 50.0), 200.0));
    let parts = SupplyParts {
        regulator: Regulator::Linear,
        linear: RegulatorParts { k_per_w: 50.0, quiescent_amp: 0.0, ..USUAL_LINEAR },
        load_amp: 0.5,
        reverse: ReverseGuard::Nothing,
        wire_m: 0.0,
        ..SupplyParts::default()
    };
    let report = parts.report(25.0);
    assert!(near(report.heat[1].linear.junction_c, 200.0), "{:?}", report.heat[1]);
    assert!(report.warnings.iter().any(|warning| matches!(
        warning,
        SupplyWarning::TooHot { regulator: Regulator::Linear, supply_v: 16.0, limit_c: 125.0, .. }
    )));
}

/// FACTS C29, a regulator maker's questions and answers: (125 − 85) / 40 = 1.0 W; at 25 °C 2.5 W.
#[test]
fn what_heat_a_regulator_bears_falls_with_the_air_around_it() {
    assert!(near(rated_heat_w(125.0, 85.0, 40.0), 1.0));
    assert!(near(rated_heat_w(125.0, 25.0, 40.0), 2.5));
    assert_eq!(rated_heat_w(125.0, 130.0, 40.0), 0.0);
}

/// Energy: what goes in and isn't load is heat.
#[test]
fn a_converters_heat_is_what_it_takes_less_what_it_gives() {
    let (load_w, efficiency) = (5.0 * 0.3, 0.8);
    assert!(near(buck_heat_w(12.0, 5.0, 0.3, efficiency, 0.0), load_w / efficiency - load_w));
    // As much from 9 V as from 16 V, where a linear one's grows with each volt.
    let report = SupplyParts::default().report(85.0);
    let [low, .., high] = report.heat;
    assert!(high.buck.heat_w < low.buck.heat_w * 1.2 && high.linear.heat_w > low.linear.heat_w * 2.0);
}

/// FACTS F, AWG table: 22 AWG 52.9 mΩ/m, 18 AWG 20.9 mΩ/m; and 22 AWG is the 0.35 mm² of the trade.
#[test]
fn a_wires_resistance_is_the_tables() {
    for (gauge, milliohm) in [(22, 52.9), (18, 20.9)] {
        let ours = Gauge(gauge).ohm_per_m() * 1e3;
        assert!((ours / milliohm - 1.0_f64).abs() < 0.005, "{gauge} AWG: {ours}");
    }
    assert!((Gauge(22).mm2() - 0.326).abs() < 0.001);
    assert_eq!(Gauge(22).name(), "22 AWG, 0.33 mm²");
}

/// FACTS F, ground offset: 50 mA over 2 m of 22 AWG is 5 mV one way; there and back twice that.
#[test]
fn a_wire_takes_little_of_a_boxs_current() {
    let parts = SupplyParts {
        regulator: Regulator::Linear,
        linear: RegulatorParts { quiescent_amp: 0.0, ..USUAL_LINEAR },
        load_amp: 0.05,
        ..SupplyParts::default()
    };
    assert!((parts.report(25.0).wire_drop_v / 2.0 - 0.0053).abs() < 0.0001);
}

/// FACTS F, quiescent: 60 Ah half used last 25 days at 50 mA, 62 at 20 mA.
#[test]
fn a_parked_battery_lasts_as_the_table_says() {
    assert!(near(days_to_half(0.05), 25.0) && (days_to_half(0.02) - 62.5_f64).abs() < 1e-9);
    let parked = SupplyParts { tap: Tap::Permanent, ..SupplyParts::default() };
    assert!(parked.report(25.0).parked_days.is_some());
    assert_eq!(SupplyParts::default().report(25.0).parked_days, None);
}

/// By hand, ISO 16750-2's profiles (from memory, FACTS F) less 0.4 V of the Schottky diode, and 0.8 V of
/// drop-out: 8 V holds 5 V; 6 V leaves 4.8; 4.5 V leaves 3.3; 3 V leaves 1.8 V.
#[test]
fn the_deeper_starting_profiles_reset_the_box() {
    let parts = SupplyParts { wire_m: 0.0, ..SupplyParts::default() };
    let cranking = parts.report(25.0).cranking;
    let lowest = cranking.map(|crank| (crank.profile.name, crank.lowest_box_v, crank.at_lowest()));
    let expected = [
        ("I", 5.0, BoxDoes::Runs),
        ("II", 3.3, BoxDoes::Resets),
        ("III", 1.8, BoxDoes::Resets),
        ("IV", 4.8, BoxDoes::Runs),
    ];
    for (ours, by_hand) in lowest.into_iter().zip(expected) {
        assert!(ours.0 == by_hand.0 && (ours.1 - by_hand.1).abs() < 1e-9 && ours.2 == by_hand.2, "{ours:?}");
    }
    // 5 V while the engine is turned, profile III, leave 3.8 V.
    assert_eq!(cranking[2].while_turning(), BoxDoes::Resets);
    assert_eq!(parts.report(25.0).worst_crank(), BoxDoes::Resets);
    // ATmega328PB datasheet, BOD table: 4.1 to 4.5 V.
    assert_eq!(
        [4.05, 4.1, 4.3, 4.49, 4.5].map(BoxDoes::at),
        [BoxDoes::Resets, BoxDoes::MayReset, BoxDoes::MayReset, BoxDoes::MayReset, BoxDoes::Runs]
    );
}

#[test]
fn the_chain_as_advised_will_do_even_in_a_hot_cabin() {
    let report = SupplyParts::default().report(85.0);
    assert!(report.is_good(), "{:?}", report.warnings);
}

/// Every warning there is, with its words.
#[test]
fn every_warning_says_its_values_and_what_to_change() {
    let usual = SupplyParts::default;
    let suppressor = |standoff_v, clamp_v| Some(Suppressor { standoff_v, clamp_v });
    let mut for_40_v = usual();
    for_40_v.buck.input_max_v = 40.0;
    let mut for_20_v = usual();
    (for_20_v.buck.input_max_v, for_20_v.suppressor) = (20.0, suppressor(33.0, 20.0));
    let mut far = usual();
    far.buck.dropout_v = 4.0;
    let cases = [
        (
            SupplyParts { fuse_amp: None, ..usual() },
            "The wire has no fuse: a chafed place would set it on fire. Put 0.5 A as near to the source as it \
             goes, before anything else.",
        ),
        (
            SupplyParts { fuse_amp: Some(5.0), ..usual() },
            "A fuse of 5 A protects no wire of 22 AWG, 0.33 mm², which bears 1.95 A. Take a fuse of 1 A or less, or a \
             thicker wire.",
        ),
        (
            SupplyParts { load_amp: 1.0, ..usual() },
            "The box draws 507.6 mA, more than 75 % of a fuse of 0.5 A. Take a fuse of 1 A or more, and a \
             wire that bears it.",
        ),
        (
            SupplyParts { reverse: ReverseGuard::Nothing, ..usual() },
            "Nothing stands against a battery joined the wrong way round: 14 V for a minute would burn the \
             regulator. Put a Schottky diode or a P-channel MOSFET in series.",
        ),
        (
            SupplyParts { suppressor: None, ..usual() },
            "Nothing holds the supply's pulses off: switching coils gives 50 V and 100 V, in both directions. Put \
             a suppressor of 33 V for both directions after the fuse, and a regulator for 60 V.",
        ),
        (
            SupplyParts { suppressor: suppressor(18.0, 29.2), ..usual() },
            "The suppressor stands off 18 V, and a jump start gives 24 V for a minute: it would burn. Take one \
             that stands off 33 V.",
        ),
        (
            SupplyParts { suppressor: suppressor(26.0, 42.1), ..usual() },
            "A suppressor of 26 V conducts below the 35 V of a clamped load dump, which lasts longer than it \
             bears. Take one that stands off 33 V.",
        ),
        (
            for_40_v,
            "The suppressor lets 53.3 V through, and the regulator bears 40 V. Take a regulator whose input bears \
             more, 60 V for a suppressor of 33 V.",
        ),
        (
            for_20_v,
            "The regulator bears 20 V, and a jump start gives 24 V for a minute. Take a regulator for 40 V or \
             more, better 60 V.",
        ),
        (
            SupplyParts { dump_clamped: false, ..usual() },
            "An alternator that doesn't clamp gives up to 101 V for 0.4 s when the battery comes off: no small \
             suppressor survives it. Take a suppressor made for load dumps, of some kilowatts, or an input that \
             bears it.",
        ),
        (
            SupplyParts { tap: Tap::Permanent, ..usual() },
            "Tapped at the battery the box draws 23.3 mA while parked: half a battery of 60 Ah in 54 days. Tap \
             the accessory supply, which is off with the key.",
        ),
        (
            far,
            "At a supply of 9 V the box has only 4.59 V of its 5 V. Take a regulator with less drop-out, or a \
             thicker wire.",
        ),
    ];
    for (parts, said) in cases {
        let report = parts.report(25.0);
        let [warning] = report.warnings.as_slice() else { panic!("{said}\n{:?}", report.warnings) };
        assert_eq!(format!("{} {}", warning.what(), warning.advice()), said);
    }
    let hot = SupplyParts { regulator: Regulator::Linear, load_amp: 0.1, ..usual() };
    let hot = SupplyParts { suppressor: suppressor(33.0, 35.0), ..hot }.report(85.0);
    let [warning] = hot.warnings.as_slice() else { panic!("{:?}", hot.warnings) };
    assert_eq!(
        format!("{} {}", warning.what(), warning.advice()),
        "Linear regulator: 1.18 W at 16 V and 85 °C bring it to 162 °C, and 125 °C is allowed. Take a buck \
         converter, or give the regulator a heat sink."
    );
}

#[test]
fn a_value_that_cant_be_is_refused_with_its_range() {
    let mut parts = SupplyParts::default();
    assert_eq!(parts.check(), Ok(()));
    parts.efficiency = 85.0;
    assert_eq!(
        parts.check().unwrap_err().to_string(),
        "The converter's efficiency is 8500 %. Give 30 to 100 %."
    );
    let parts = SupplyParts { load_amp: f64::NAN, ..SupplyParts::default() };
    assert_eq!(parts.check().unwrap_err().to_string(), "The box's current is NaN mA. Give 1 to 5000 mA.");
    let parts = SupplyParts { wire: Gauge(40), ..SupplyParts::default() };
    assert_eq!(parts.check().unwrap_err().to_string(), "The wire's gauge is 40 AWG. Give 10 to 30 AWG.");
}
