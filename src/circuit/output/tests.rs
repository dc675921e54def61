//! The output stage against its datasheets, hand calculation and properties. Against ngspice:
//! `tests/ngspice_stage.rs`.

use proptest::prelude::*;

use super::*;

/// The stage as wired, with one transistor, on a usual line.
fn usual(device: Device) -> (OutputStage, StageLine) {
    let source = Source { volt: 5.0, ohm: 10_000.0 };
    (OutputStage { device, ..OutputStage::default() }, StageLine { source, farad: 1e-9, mark_us: 562.5 })
}

/// 2N3904 and 2N2222A datasheets (FACTS E): VCE(sat) at most 0.2 V at 10 mA with 1 mA, 0.3 V at 50 mA with
/// 5 mA, and 0.3 V at 150 mA with 15 mA. A typical one lies below.
#[test]
fn a_typical_transistor_keeps_what_its_datasheet_promises() {
    for (device, collector_a, base_a, most_v) in [
        (Device::Npn3904, 10e-3, 1e-3, 0.2),
        (Device::Npn3904, 50e-3, 5e-3, 0.3),
        (Device::Npn2222A, 150e-3, 15e-3, 0.3),
    ] {
        let base_v = 0.8;
        let stage = OutputStage {
            drive_v: 100.0,
            base_ohm: (100.0 - base_v) / base_a,
            base_pulldown_ohm: f64::INFINITY,
            series_ohm: 0.0,
            device,
        };
        let point = stage.point(Source { volt: 10.0, ohm: 10.0 / collector_a });
        assert!((point.base_a / base_a - 1.0).abs() < 0.01, "{point:?}");
        assert!(point.saturated && point.collector_v < most_v && point.collector_v > 0.02, "{point:?}");
    }
}

/// BSS138 datasheet (FACTS E): at most 6 Ω; by hand the typical 1 Ω at 4.5 V makes 10 mV of 10 mA. The square
/// law falls a little short of the straight line.
#[test]
fn a_mosfet_is_its_resistance() {
    let stage = OutputStage {
        drive_v: 4.5,
        base_ohm: 100.0,
        base_pulldown_ohm: f64::INFINITY,
        series_ohm: 0.0,
        device: Device::Bss138,
    };
    let line = Source { volt: 5.0, ohm: 490.0 };
    let point = stage.point(line);
    assert!((point.low_v / point.collector_a - 1.0).abs() < 0.01, "{point:?}");
    assert!(point.saturated && point.base_a == 0.0 && point.forced_beta().is_none());
    // 5 V · 6 / 496.
    assert!((stage.pull(line).low_v.unwrap() - 5.0 * 6.0 / 496.0).abs() < 1e-12);
}

/// FACTS E, "is storage time an issue": 10 kΩ and 1 nF to 70 % take 12 µs, 2 % of a mark; RC by hand:
/// `10 µs · ln(1 / 0.3) = 12.04 µs`. The transistor adds its charge: `ts` at most 0.2 µs where the base is
/// pulled as hard as it was driven; here it is pulled less.
#[test]
fn the_lines_rise_is_what_takes_time_and_not_the_transistor() {
    let (stage, line) = usual(Device::Npn3904);
    let report = stage.report(line);
    let rise_us = 10.0 * (1.0_f64 / 0.3).ln();
    assert!((rise_us - 12.04).abs() < 0.01);
    assert!((report.turn_off_us - report.release_us() - rise_us).abs() < 0.5, "{}", report.turn_off_us);
    assert!(report.release_us() < 1.0, "{}", report.release_us());
    assert!((report.stretch() - 0.02).abs() < 0.003, "{}", report.stretch());
    assert!(report.is_good(), "{:?}", report.warnings);
}

/// The pin's current by Kirchhoff: what the base and its pull-down take.
#[test]
fn the_pin_gives_what_base_and_pull_down_take() {
    for device in Device::ALL {
        let (stage, line) = usual(device);
        let point = stage.point(line.source);
        let taken_a = point.base_a + point.control_v / stage.base_pulldown_ohm;
        assert!((point.pin_a / taken_a - 1.0).abs() < 1e-6, "{point:?}");
        let given_a = (line.source.volt - point.low_v) / line.source.ohm;
        assert!((point.collector_a / given_a - 1.0).abs() < 1e-6, "{point:?}");
    }
}

#[test]
fn a_line_that_is_never_low_has_no_mark_and_one_that_nothing_pulls_up_no_end() {
    let (stage, line) = usual(Device::Npn3904);
    let undriven = OutputStage { drive_v: 0.0, ..stage }.report(line);
    assert_eq!((undriven.mark_at_line_us, undriven.turn_off_us), (0.0, 0.0));
    assert!((undriven.point.low_v - 5.0).abs() < 1e-6 && !undriven.point.saturated);
    // A mark that is over before the line has moved.
    let short = stage.report(StageLine { farad: 1e-6, mark_us: 0.01, ..line });
    assert_eq!(short.mark_at_line_us, 0.0);
    let open = stage.report(StageLine { source: Source { volt: 5.0, ohm: f64::INFINITY }, ..line });
    assert!(
        open.point.low_v.abs() < 0.1 && open.warnings.iter().all(|warning| !warning.what().contains("NaN"))
    );
}

/// Every warning there is, with its words.
#[test]
fn every_warning_says_its_values_and_what_to_change() {
    let (stage, line) = usual(Device::Npn3904);
    let on = |volt: f64, ohm: f64| StageLine { source: Source { volt, ohm }, ..line };
    let cases = [
        (
            stage,
            on(41.0, 47e3),
            "41.00 V at idle is more than the output's transistor bears: a 2N3904 is made for 40 V. Don't join \
             the box to it. Look for the remote input in the stereo's manual.",
        ),
        (
            stage,
            on(5.0, 470.0),
            "The line's pull-up gives 10.6 mA, and the 2N3904 is sure to pull only 9.00 mA low. Make the base \
             resistor 3.90 kΩ or less.",
        ),
        (
            OutputStage { series_ohm: 2_200.0, ..stage },
            on(5.0, 10e3),
            "Pulled low the line may stay at 1.07 V, and such an input takes 0.80 V and less as low. Make the \
             resistor between collector and line 1.20 kΩ or less, or leave it out.",
        ),
        (
            stage,
            StageLine { farad: 20e-9, ..line },
            "The line makes 802 µs of the shortest mark of 562 µs: 43 % off, and 25 % is allowed. Use a shorter \
             cable or one of less capacitance, or add a pull-up from the line to the stereo's own supply.",
        ),
        (
            OutputStage { base_ohm: 180.0, ..stage },
            line,
            "The box's pin would give 22.3 mA, and its levels hold up to 20.0 mA. Make the base resistor larger, \
             or take a transistor that needs less.",
        ),
        (
            OutputStage { base_pulldown_ohm: f64::INFINITY, ..stage },
            line,
            "Nothing holds the transistor off while the chip starts: the line may go low by itself. Put 47 kΩ \
             from base or gate to ground.",
        ),
        (
            OutputStage { device: Device::Bss138, base_pulldown_ohm: 22e3, ..stage },
            line,
            "The line's pull-up gives 0.50 mA, and the BSS138 is sure to pull only 0.00 mA low. Drive its gate \
             with 4.5 V or more: a smaller gate resistor, or a larger pull-down.",
        ),
    ];
    for (stage, line, said) in cases {
        let report = stage.report(line);
        let [warning] = report.warnings.as_slice() else { panic!("{said}\n{:?}", report.warnings) };
        assert_eq!(format!("{} {}", warning.what(), warning.advice()), said);
    }
}

/// What is odd among other things: a supply instead of an input, a line never low, one that never rises.
#[test]
fn what_destroys_the_transistor_and_what_sends_nothing_is_said() {
    let (stage, line) = usual(Device::Npn3904);
    let on = |volt: f64, ohm: f64| StageLine { source: Source { volt, ohm }, ..line };
    let said = |stage: OutputStage, line: StageLine| {
        let warnings = stage.report(line).warnings;
        warnings.iter().map(|one| format!("{} {}", one.what(), one.advice())).collect::<Vec<_>>()
    };
    let hot = said(stage, on(12.0, 1.0));
    assert!(
        hot[0].starts_with("The output's transistor would carry 1")
            && hot[0].contains("a 2N3904 bears 200.0 mA and 0.625 W"),
        "{hot:?}"
    );
    let undriven = said(OutputStage { drive_v: 0.4, ..stage }, line);
    assert!(
        undriven.iter().any(|one| one.starts_with("The line never goes low for the shortest mark of 562 µs")),
        "{undriven:?}"
    );
    let open = said(stage, on(5.0, f64::INFINITY));
    assert!(
        open.iter().any(|one| one.starts_with("Once pulled low the line doesn't rise again")),
        "{open:?}"
    );
}

/// Each advice, followed, takes its warning away.
#[test]
fn what_is_advised_helps() {
    let (stage, line) = usual(Device::Npn3904);
    let strong = StageLine { source: Source { volt: 5.0, ohm: 220.0 }, ..line };
    let warnings = stage.report(strong).warnings;
    let Some(StageWarning::NotSure { base_ohm: Some(base_ohm), .. }) = warnings.first().copied() else {
        panic!("{warnings:?}")
    };
    assert!(OutputStage { base_ohm, ..stage }.report(strong).is_good());
    let high = OutputStage { series_ohm: 4_700.0, ..stage };
    let warnings = high.report(line).warnings;
    let Some(StageWarning::LowTooHigh { series_ohm: Some(series_ohm), .. }) = warnings.first().copied()
    else {
        panic!("{warnings:?}")
    };
    assert!(OutputStage { series_ohm, ..stage }.report(line).is_good());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// More base current, or a weaker pull-up, never lifts the low level.
    #[test]
    fn a_line_is_pulled_lower_by_more_drive_and_from_a_weaker_pull_up(
        volt in 1.0..30.0_f64,
        pull_up in 2.0..6.0_f64,
        base in 2.0..6.5_f64,
        series_ohm in 0.0..2e3_f64,
        device in prop::sample::select(Device::ALL.to_vec()),
    ) {
        let (pull_up_ohm, base_ohm) = (10.0_f64.powf(pull_up), 10.0_f64.powf(base));
        let stage = OutputStage { base_ohm, series_ohm, device, ..OutputStage::default() };
        let low_v = |stage: OutputStage, ohm: f64| stage.point(Source { volt, ohm }).low_v;
        let at = low_v(stage, pull_up_ohm);
        prop_assert!((0.0..=volt + 1e-9).contains(&at), "{at}");
        let driven_more = OutputStage { base_ohm: base_ohm * 0.8, ..stage };
        prop_assert!(low_v(driven_more, pull_up_ohm) <= at + 2e-3);
        prop_assert!(low_v(stage, pull_up_ohm * 1.2) <= at + 1e-9);
    }

    /// More on the line never makes it rise sooner.
    #[test]
    fn a_line_rises_later_with_more_on_it(
        pico in 0.0..4.0_f64,
        ohm in 1e3..5e4_f64,
        device in prop::sample::select(Device::ALL.to_vec()),
    ) {
        let (stage, line) = usual(device);
        let after = |farad: f64| {
            stage.report(StageLine { farad, source: Source { volt: 5.0, ohm }, ..line }).turn_off_us
        };
        let farad = 10.0_f64.powf(pico) * 1e-12;
        let rc_us = ohm * farad * (1.0_f64 / 0.3).ln() * 1e6;
        prop_assert!(after(farad) >= rc_us * 0.98, "{} against {rc_us}", after(farad));
        prop_assert!(after(farad * 1.5) > after(farad));
    }
}

#[test]
fn a_part_that_cant_be_is_refused_with_its_range() {
    use crate::circuit::OutputParts;
    assert_eq!(OutputParts::default().check(), Ok(()));
    assert_eq!(OutputParts::default().stage(), OutputStage::default());
    let parts = OutputParts { base_ohm: 0.0, ..OutputParts::default() };
    assert_eq!(parts.check().unwrap_err().to_string(), "The base resistor is 0 Ω. Give 1 to 10000000 Ω.");
    let parts = OutputParts { line_farad: Some(f64::NAN), ..OutputParts::default() };
    assert_eq!(
        parts.check().unwrap_err().to_string(),
        "The line's capacitance is NaN nF. Give 0 to 100000 nF."
    );
    // 1.5 m of 100 pF/m and the input's 50 pF.
    assert!((OutputParts::default().farad() - 200e-12).abs() < 1e-18);
}
