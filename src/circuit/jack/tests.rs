//! The jack's arithmetic by hand, its verdicts, and its words.

use proptest::prelude::*;

use super::super::OutputStage;
use super::report::JackMissing as Missing;
use super::{Jack, JackContact, JackStep, JackVerdict, JackWants, JackWarning, LOAD_OHM, Source};

/// A usual input: 5 V logic behind 10 kΩ at the tip.
fn usual() -> Jack {
    Jack {
        contact: Some(JackContact::Tip),
        grounded: Some(true),
        idle_v: Some(4.97),
        loaded_a: Some(452e-6),
        wants: Some(JackWants::Pulses),
        ..Jack::default()
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs()
}

fn with(change: impl FnOnce(&mut Jack)) -> Jack {
    let mut jack = usual();
    change(&mut jack);
    jack
}

fn read(idle_v: f64, loaded_a: f64) -> Jack {
    with(|jack| (jack.idle_v, jack.loaded_a) = (Some(idle_v), Some(loaded_a)))
}

/// Ohm's law by hand: 4.97 V / 0.452 mA = 10 995.575 Ω, of which 1 kΩ is the load.
#[test]
fn the_pull_up_is_idle_volts_over_current_less_the_load() {
    assert!(near(usual().pull_up_ohm().unwrap(), 4.97 / 452e-6 - 1_000.0));
    assert!((usual().pull_up_ohm().unwrap() - 9_995.575).abs() < 0.001);
}

/// Divider by hand: 0.452 V of 4.97 V stand across 1 kΩ, so 4.518 V across the pull-up.
#[test]
fn volts_across_the_load_give_the_same_pull_up_as_the_current() {
    let jack = with(|jack| (jack.loaded_a, jack.loaded_v) = (None, Some(0.452)));
    assert!(near(jack.pull_up_ohm().unwrap(), 1_000.0 * 4.518 / 0.452));
    assert!(near(jack.pull_up_ohm().unwrap(), usual().pull_up_ohm().unwrap()));
}

/// FACTS C8, Thevenin worked example: 24 V, 1 kΩ over 2 kΩ is 16 V behind 666.67 Ω; into 1 kΩ it
/// gives 16 V / 1666.67 Ω = 9.6 mA.
#[test]
fn two_readings_make_thevenins_source() {
    let source = read(16.0, 9.6e-3).source().unwrap();
    assert!(near(source.volt, 16.0));
    assert!((source.ohm - 666.67).abs() < 0.005, "{source:?}");
    let divider = Source::divider(24.0, 1_000.0, 2_000.0);
    assert!(near(divider.load_amp(LOAD_OHM), 9.6e-3));
}

/// By hand: (5 − 0.7) V / 4.7 kΩ − 0.7 V / 47 kΩ = 0.9149 − 0.0149 = 0.9 mA, which saturates 9 mA at a
/// forced beta of 10 (FACTS E, base drive: 0.91 mA without the pull-down).
#[test]
fn the_stage_as_wired_is_sure_to_sink_nine_milliamperes() {
    let stage = OutputStage::default();
    assert!(near(stage.base_a(), 0.9e-3), "{}", stage.base_a());
    let pull = stage.pull(Source { volt: 5.0, ohm: 10_000.0 });
    assert!(near(pull.limit_a, 9e-3) && near(pull.sink_a, 0.5e-3));
    assert_eq!(pull.low_v, Some(0.2));
    // 5 V / 470 Ω = 10.64 mA.
    let strong = stage.pull(Source { volt: 5.0, ohm: 470.0 });
    assert!(near(strong.sink_a, 5.0 / 470.0));
    assert_eq!(strong.low_v, None);
}

/// By hand: (5 − 0.2) V / 10.47 kΩ = 0.458 453 mA; 0.2 V + 0.458 453 mA · 470 Ω = 0.415 473 V.
#[test]
fn a_series_resistor_lifts_the_low_level_by_its_own_volts() {
    let stage = OutputStage { series_ohm: 470.0, ..OutputStage::default() };
    let low_v = stage.pull(Source { volt: 5.0, ohm: 10_000.0 }).low_v.unwrap();
    assert!((low_v - 0.415_473).abs() < 1e-6, "{low_v}");
}

#[test]
fn a_usual_input_takes_pulses_and_nothing_is_odd_about_it() {
    let report = usual().report();
    let JackVerdict::PulseInput { pull_up_ohm, idle_v, low_v } = report.verdict else { panic!("{report:?}") };
    assert!((pull_up_ohm - 9_995.575).abs() < 0.001);
    assert_eq!((idle_v, low_v), (4.97, Some(0.2)));
    assert_eq!(report.warnings, []);
}

#[test]
fn a_resistance_input_is_one_whatever_else_is_known() {
    let jack = Jack { wants: Some(JackWants::Resistances), ..Jack::default() };
    let nothing = JackVerdict::ResistanceInput { idle_v: None, pull_up_ohm: None };
    assert_eq!(jack.report().verdict, nothing);
    // Its own volts and a strong feed are its business: the box doesn't pull it.
    let jack = Jack { wants: Some(JackWants::Resistances), ..read(1.8, 1.8e-3 / 1.3) };
    let report = jack.report();
    let JackVerdict::ResistanceInput { idle_v: Some(1.8), pull_up_ohm: Some(ohm) } = report.verdict else {
        panic!("{report:?}")
    };
    assert!(near(ohm, 300.0));
    assert_eq!(report.warnings, []);
}

#[test]
fn what_is_missing_is_named_step_by_step() {
    let missing = |jack: &Jack| match jack.report().verdict {
        JackVerdict::Unknown { missing } => missing,
        other => panic!("{other:?}"),
    };
    let all = [Missing::Contact, Missing::Ground, Missing::Idle, Missing::Load, Missing::Wants];
    assert_eq!(missing(&Jack::default()), all);
    assert_eq!(missing(&with(|jack| jack.contact = None)), [Missing::Contact]);
    assert_eq!(missing(&with(|jack| jack.grounded = Some(false))), [Missing::Ground]);
    assert_eq!(missing(&with(|jack| jack.idle_v = None)), [Missing::Idle, Missing::Load]);
    assert_eq!(missing(&with(|jack| jack.loaded_a = None)), [Missing::Load]);
    assert_eq!(missing(&with(|jack| jack.wants = None)), [Missing::Wants]);
    // Readings that can't be an input's are no better than none.
    assert_eq!(missing(&read(0.0, 0.0)), [Missing::Idle, Missing::Load]);
    assert_eq!(missing(&read(4.97, 6e-3)), [Missing::Load]);
    assert_eq!(missing(&read(12.1, 12e-3)), [Missing::OtherContact]);
    assert_eq!(missing(&read(4.97, 0.0)), [Missing::OtherContact]);
    assert_eq!(missing(&read(41.0, 1e-3)), [Missing::OtherContact]);
}

#[test]
fn a_step_is_done_once_it_gave_what_it_gives() {
    let done = |jack: &Jack| JackStep::ALL.map(|step| jack.report().is_done(step, jack));
    assert_eq!(done(&Jack::default()), [false; 5]);
    assert_eq!(done(&usual()), [true; 5]);
    assert_eq!(done(&with(|jack| jack.grounded = None)), [true, false, true, true, true]);
    assert_eq!(done(&read(0.02, 0.0)), [true, true, false, false, true]);
    assert_eq!(JackStep::Cautions.before(), None);
    assert_eq!(JackStep::Wants.next(), None);
    assert_eq!(JackStep::Idle.next().and_then(JackStep::before), Some(JackStep::Idle));
}

#[test]
fn what_to_know_before_a_try_is_one_sentence_or_nothing() {
    let said = |jack: &Jack| jack.report().before_try().unwrap_or_default();
    assert_eq!(said(&usual()), "");
    assert_eq!(said(&Jack::default()), "It isn't known yet whether the stereo's input takes pulses.");
    assert_eq!(
        said(&with(|jack| jack.wants = Some(JackWants::Resistances))),
        "The stereo's input takes resistances: no pulse would do anything."
    );
    assert!(said(&read(12.12, 12e-3)).starts_with("12.12 V behind 10 Ω is a supply"));
    assert!(said(&with(|jack| jack.idle_moves = true)).starts_with("The idle volts move by themselves"));
}

/// Every warning there is, at the step it belongs to, with its words.
#[test]
fn every_warning_says_its_values_and_what_to_do() {
    let cases = [
        (
            with(|jack| jack.grounded = Some(false)),
            JackStep::Contact,
            "The sleeve, or the ground wire, isn't the stereo's ground: the box's ground would have no way back. \
             Find the input's own ground in the stereo's manual, and take the box's ground there.",
        ),
        (
            read(41.0, 1e-3),
            JackStep::Idle,
            "41.00 V at idle is more than the output's transistor bears: a 2N3904 is made for 40 V. Don't join \
             the box to it. Look for the remote input in the stereo's manual.",
        ),
        (
            read(12.12, 12e-3),
            JackStep::Load,
            "12.12 V behind 10 Ω is a supply, not an input: pulled low it would burn the output's transistor. \
             Don't join the box to it. Measure another contact, and look for the remote input in the stereo's \
             manual.",
        ),
        (
            read(12.1, 1.1e-3),
            JackStep::Idle,
            "12.10 V at idle is the vehicle's supply, where an input stands at 3.3 V or 5 V: this may be a \
             trigger or illumination wire. Check it against the stereo's manual before anything is joined to it.",
        ),
        (
            read(8.0, 0.8e-3),
            JackStep::Idle,
            "8.00 V at idle is more than the 3.3 V or 5 V of a usual input. Check it against the stereo's \
             manual before anything is joined to it.",
        ),
        (
            with(|jack| (jack.idle_v, jack.loaded_a) = (Some(0.01), None)),
            JackStep::Idle,
            "0.01 V at idle: another contact may be the input, the stereo may be off, or this input has no \
             pull-up. Switch the stereo on, and measure the other contacts. If the manual names this one, it \
             says what must pull it up.",
        ),
        (
            read(1.2, 0.11e-3),
            JackStep::Idle,
            "1.20 V at idle is too little for a logic input, which takes 2.0 V and more as high. Measure with \
             the stereo fully on, and measure the other contacts too.",
        ),
        (
            with(|jack| jack.idle_moves = true),
            JackStep::Idle,
            "The idle volts move by themselves: a loose contact, an output of the stereo, or an input that \
             nothing holds. Push the plug home, wait a minute after switching on, and measure again; then the \
             other contacts.",
        ),
        (
            read(4.97, 6e-3),
            JackStep::Load,
            "6.00 V across 1 kΩ and 4.97 V without it can't be: a load never raises a line. Measure both again, \
             with the stereo on for both and the same ground.",
        ),
        (
            with(|jack| jack.loaded_v = Some(0.9)),
            JackStep::Load,
            "0.45 mA through 1 kΩ would be 0.45 V across it, and 0.90 V was read. Check the resistor with the \
             meter, and measure both again.",
        ),
        (
            read(4.97, 0.0),
            JackStep::Load,
            "Nothing flows through 1 kΩ: nothing pulls this contact up. Check the resistor's hold, then measure \
             the other contacts.",
        ),
        (
            read(4.97, 2e-6),
            JackStep::Load,
            "A pull-up of 2.48 MΩ is as good as none: what the box pulls low, nothing raises in time. Check the \
             resistor's hold, then measure the other contacts.",
        ),
        (
            read(5.0, 5.0 / 1_470.0),
            JackStep::Load,
            "A pull-up of 470 Ω gives 10.6 mA, and the output's transistor is sure to pull only 9.00 mA low. \
             Measure the current again. If it stays, check the contact against the stereo's manual.",
        ),
    ];
    for (jack, step, said) in cases {
        let report = jack.report();
        let [warning] = report.warnings.as_slice() else { panic!("{said}\n{report:?}") };
        assert_eq!(format!("{} {}", warning.what(), warning.advice()), said);
        assert_eq!(report.warnings_at(step).collect::<Vec<_>>(), [warning], "{said}");
    }
}

/// P = V² / R by hand: 24 V · 24 V / 1 kΩ = 0.576 W; at 12 V it is 0.144 W.
#[test]
fn a_load_too_hot_for_a_small_resistor_is_told_before_it_is_joined() {
    let unloaded = |volt| with(|jack| (jack.idle_v, jack.loaded_a) = (Some(volt), None)).report();
    let report = unloaded(24.0);
    let hot: Vec<_> = report.warnings_at(JackStep::Load).collect();
    let [warning] = hot.as_slice() else { panic!("{report:?}") };
    assert_eq!(
        format!("{} {}", warning.what(), warning.advice()),
        "1 kΩ from 24.00 V to ground may take 0.58 W, and a small resistor bears 0.25 W. Leave this step out, \
         or use a resistor made for it."
    );
    assert_eq!(unloaded(12.0).warnings_at(JackStep::Load).count(), 0);
    assert_eq!(read(24.0, 1e-3).report().warnings_at(JackStep::Load).count(), 0);
}

/// Two ways to a low level that no input is sure to take: a line that hardly idles higher, and a stage
/// with a series resistor too large.
#[test]
fn a_low_level_above_what_an_input_takes_as_low_is_told() {
    let low = |jack: &Jack, stage: &OutputStage| {
        jack.report_with(stage)
            .warnings
            .into_iter()
            .find(|warning| matches!(warning, JackWarning::LowTooHigh { .. }))
            .map(|warning| warning.what())
    };
    let stage = OutputStage { series_ohm: 2_200.0, ..OutputStage::default() };
    assert_eq!(low(&usual(), &OutputStage::default()), None);
    // 0.2 V + (4.97 − 0.2) V · 2.2 / 12.196 = 1.06 V, over TTL's 0.8 V.
    assert_eq!(
        low(&usual(), &stage).as_deref(),
        Some("Pulled low the line may stay at 1.06 V, and such an input takes 0.80 V and less as low.")
    );
    // 0.3 · 0.5 V = 0.15 V is less than the transistor leaves.
    assert_eq!(
        low(&read(0.5, 0.05e-3), &OutputStage::default()).as_deref(),
        Some("Pulled low the line may stay at 0.20 V, and such an input takes 0.15 V and less as low.")
    );
}

#[test]
fn a_meters_last_digit_contradicts_nothing() {
    // 5.00 V idle, and 5.03 V across the load of a hard supply.
    let report = read(5.0, 5.03e-3).report();
    assert_eq!(report.warnings, [JackWarning::Supply { idle_v: 5.0, pull_up_ohm: 0.0 }]);
    let close = with(|jack| jack.loaded_v = Some(0.43));
    assert_eq!(close.report().warnings, []);
}

proptest! {
    #[test]
    fn a_pull_up_is_found_again_from_what_it_does(
        volt in 0.2..30.0_f64,
        decade in 0.0..6.0_f64,
        by_volts in any::<bool>(),
    ) {
        let line = Source { volt, ohm: 10.0_f64.powf(decade) };
        let mut jack = Jack { idle_v: Some(volt), ..Jack::default() };
        if by_volts {
            jack.loaded_v = Some(line.loaded_v(LOAD_OHM));
        } else {
            jack.loaded_a = Some(line.load_amp(LOAD_OHM));
        }
        let found = jack.source().unwrap();
        prop_assert!((found.ohm / line.ohm - 1.0).abs() < 1e-9, "{found:?}, {line:?}");
    }

    #[test]
    fn no_low_level_is_above_idle_and_none_is_promised_beyond_saturation(
        volt in 0.0..40.0_f64,
        ohm in 0.0..1e6_f64,
        series_ohm in 0.0..1e4_f64,
    ) {
        let stage = OutputStage { series_ohm, ..OutputStage::default() };
        let pull = stage.pull(Source { volt, ohm });
        prop_assert_eq!(pull.low_v.is_some(), pull.sink_a <= pull.limit_a);
        if let Some(low_v) = pull.low_v {
            prop_assert!((0.0..=volt + 1e-12).contains(&low_v), "{low_v} of {volt}");
        }
    }

    #[test]
    fn any_readings_give_a_report_with_words(
        idle_v in prop::option::of(0.0..=60.0_f64),
        loaded_a in prop::option::of(0.0..=0.1_f64),
        loaded_v in prop::option::of(0.0..=60.0_f64),
        grounded in prop::option::of(any::<bool>()),
        idle_moves in any::<bool>(),
        wants in prop::sample::select(vec![None, Some(JackWants::Pulses), Some(JackWants::Resistances)]),
    ) {
        let contact = Some(JackContact::Ring);
        let jack = Jack { contact, grounded, idle_v, idle_moves, loaded_a, loaded_v, wants };
        let report = jack.report();
        for warning in &report.warnings {
            prop_assert!(!warning.what().contains("NaN") && !warning.advice().is_empty());
        }
        if let JackVerdict::Unknown { missing } = report.verdict {
            prop_assert!(!missing.is_empty());
        }
    }
}
