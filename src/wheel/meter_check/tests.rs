//! What each set of answers comes to. The steps are common practice, no source; topologies and what
//! goes with them are FACTS B1, ground and pull-ups FACTS 0.4 and E, volts of a 12 V system FACTS F.

use proptest::prelude::*;

use super::report::BusSign;
use super::*;

/// A ladder with its own return and a resistor at its end.
fn ladder() -> (MeterCheck, CheckFacts) {
    let wire = WireCheck {
        chassis: Some(ToChassis::Open),
        car_v: Some(0.0),
        again_ohm: Some(14_900.0),
        ..WireCheck::default()
    };
    let check = MeterCheck {
        ready: true,
        wires: BTreeMap::from([(1, wire)]),
        steady: Some(true),
        differ: Some(Differ::All),
    };
    let facts =
        CheckFacts { wires: vec![1], rest_ohm: BTreeMap::from([(1, 14_900.0)]), back_grounded: Some(false) };
    (check, facts)
}

fn changed(change: impl FnOnce(&mut MeterCheck, &mut CheckFacts)) -> CheckReport {
    let (mut check, mut facts) = ladder();
    change(&mut check, &mut facts);
    check.report(&facts)
}

fn wire(check: &mut MeterCheck) -> &mut WireCheck {
    check.wires.get_mut(&1).unwrap()
}

#[test]
fn a_ladder_answers_every_step_as_one() {
    let report = changed(|_, _| ());
    assert_eq!(report.steps, [StepState::Done; 6]);
    assert_eq!(report.verdict, CheckVerdict::Ladder { car_pulls: vec![], alike: false });
    assert!(report.verdict.is_ladder() && !report.verdict.is_stop());
    assert_eq!((report.done(), report.verdict.head()), (6, "It is a ladder."));
}

/// FACTS B1: a factory module's pull-up; it is open here, with its half of the plug.
#[test]
fn a_pull_up_on_the_cars_side_leaves_it_a_ladder_with_the_plug_left_open() {
    let report = changed(|check, _| wire(check).car_v = Some(4.9));
    assert_eq!(report.step(CheckStep::CarSide), StepState::Look);
    assert_eq!(report.verdict, CheckVerdict::Ladder { car_pulls: vec![(1, 4.9)], alike: false });
    assert_eq!(report.verdict.advice(), "The car pulls wire 1 up too: leave the plug on the car side open.");
}

/// FACTS 0.4: with the return on ground a sense resistor to ground can't work.
#[test]
fn a_return_on_the_chassis_is_a_shared_ground_that_wants_a_pull_up() {
    for report in [
        changed(|_, facts| facts.back_grounded = Some(true)),
        changed(|check, _| wire(check).chassis = Some(ToChassis::Resistance)),
    ] {
        assert_eq!(report.step(CheckStep::Chassis), StepState::Look);
        assert!(report.verdict.is_ladder());
        assert_eq!(report.verdict.head(), "A ladder, on the car's ground.");
        assert!(report.verdict.advice().starts_with("Plan a pull-up, never a pull-down"));
        assert!(report.verdict.meaning().contains("5 A in a metre of thin wire by 0.1 V"));
    }
}

/// FACTS F, ISO 16750-2 table 1: every 12 V code lies above 6 V.
#[test]
fn volts_of_the_supply_are_a_switched_voltage() {
    for volt in [6.0, 9.0, 12.6, 16.0] {
        let report = changed(|check, _| wire(check).car_v = Some(volt));
        assert_eq!(report.verdict, CheckVerdict::SwitchedVoltage { wire: 1, volt });
        assert_eq!(report.step(CheckStep::CarSide), StepState::Stop);
    }
    let said = changed(|check, _| wire(check).car_v = Some(12.1)).verdict;
    assert_eq!(said.meaning(), "12.10 V stand on the car's side of wire 1.");
    assert!(said.advice().starts_with("Join nothing to it: 12 V ends the box's input."));
}

#[test]
fn what_moves_or_jumps_is_a_data_bus() {
    let moves = changed(|check, _| wire(check).car_moves = true);
    assert_eq!(moves.verdict, CheckVerdict::DataBus { sign: BusSign::Moves { wire: 1 } });
    let jumps = changed(|check, _| check.steady = Some(false));
    assert_eq!(jumps.verdict, CheckVerdict::DataBus { sign: BusSign::Unsteady });
    assert_eq!(jumps.step(CheckStep::Presses), StepState::Stop);
    assert_eq!(moves.verdict.head(), "It is no ladder: a data bus.");
    assert!(moves.verdict.advice().contains("other parts of the car talk there"));
}

/// ISO 11898-2 (from memory): both wires rest at 2.5 V, and 60 or 120 Ω lie between them.
#[test]
fn a_buss_volts_on_both_wires_and_its_end_resistor_are_known() {
    let two = |volt: (f64, f64)| {
        changed(|check, facts| {
            let second = WireCheck { car_v: Some(volt.1), ..wire(check).clone() };
            wire(check).car_v = Some(volt.0);
            check.wires.insert(2, second);
            facts.wires = vec![1, 2];
            facts.rest_ohm.insert(2, 14_900.0);
        })
    };
    let sign = BusSign::BothAtHalf { volt: (2.6, 2.4) };
    assert_eq!(two((2.6, 2.4)).verdict, CheckVerdict::DataBus { sign });
    assert!(two((4.9, 4.9)).verdict.is_ladder(), "two pull-ups are none");
    for ohm in [60.0, 120.0] {
        let report = changed(|check, facts| {
            check.differ = Some(Differ::Nothing);
            facts.rest_ohm.insert(1, ohm);
        });
        assert_eq!(report.verdict, CheckVerdict::DataBus { sign: BusSign::Termination { ohm } });
    }
    let changes = changed(|check, facts| {
        facts.rest_ohm.insert(1, 120.0);
        wire(check).again_ohm = Some(120.0);
    });
    assert!(changes.verdict.is_ladder(), "120 Ω that a press changes is a resistor");
}

/// FACTS B1, last row: the module's pull-up shifts readings as it wakes and sleeps.
#[test]
fn a_reading_that_the_key_has_changed_means_a_module_still_on_the_wire() {
    let report = changed(|check, _| wire(check).again_ohm = Some(9_300.0));
    assert_eq!(report.verdict, CheckVerdict::PullUpConnected { wire: 1, ohm: (14_900.0, 9_300.0) });
    assert_eq!(report.step(CheckStep::Again), StepState::Stop);
    assert_eq!(
        report.verdict.meaning(),
        "Wire 1 read 14.9 kΩ and then 9.30 kΩ: something on it wakes and sleeps with the key."
    );
    let gone = changed(|check, _| {
        wire(check).again_ohm = None;
        wire(check).again_open = true;
    });
    let ohm = (14_900.0, f64::INFINITY);
    assert_eq!(gone.verdict, CheckVerdict::PullUpConnected { wire: 1, ohm });
    assert!(
        changed(|check, _| wire(check).again_ohm = Some(14_800.0)).verdict.is_ladder(),
        "a meter's error"
    );
}

#[test]
fn a_wire_that_is_ground_or_open_says_which() {
    let ground = changed(|check, _| wire(check).chassis = Some(ToChassis::Joined));
    assert_eq!(ground.verdict, CheckVerdict::GroundedWire { wire: 1 });
    assert!(ground.verdict.advice().contains("It may be the return"));
    let open = changed(|check, facts| {
        facts.rest_ohm.clear();
        wire(check).open = true;
        check.differ = Some(Differ::Nothing);
    });
    assert_eq!(open.verdict, CheckVerdict::OpenWire { has_path: false });
    assert_eq!(open.step(CheckStep::Rest), StepState::Done);
    assert!(open.verdict.advice().contains("licensed technician, for the airbag runs beside it"));
    let dead = changed(|check, _| check.differ = Some(Differ::Nothing));
    assert_eq!(dead.verdict.meaning(), "There is a path, but no press changes it.");
}

/// FACTS B1: a chain without a resistor at its end rests open.
#[test]
fn a_ladder_may_rest_open() {
    let report = changed(|check, facts| {
        facts.rest_ohm.clear();
        wire(check).open = true;
        wire(check).again_ohm = None;
        wire(check).again_open = true;
    });
    assert!(report.verdict.is_ladder());
}

#[test]
fn buttons_alike_are_told_and_looked_for_on_a_second_wire() {
    let report = changed(|check, _| check.differ = Some(Differ::Some));
    assert_eq!(report.step(CheckStep::Presses), StepState::Look);
    assert!(report.verdict.meaning().ends_with("Some buttons read alike: they may be on a second wire."));
}

#[test]
fn nothing_is_known_until_every_step_of_every_wire_is_answered() {
    let bare = MeterCheck::default().report(&CheckFacts::default());
    assert_eq!(bare.verdict, CheckVerdict::Unfinished { left: CheckStep::ALL.to_vec() });
    assert_eq!((bare.done(), bare.verdict.meaning()), (0, "6 steps are left.".to_owned()));
    assert_eq!(bare.verdict.advice(), "Next: ignition off, plug open.");
    let second = changed(|_, facts| facts.wires = vec![1, 2]);
    let left = vec![CheckStep::Chassis, CheckStep::Rest, CheckStep::CarSide, CheckStep::Again];
    assert_eq!(second.verdict, CheckVerdict::Unfinished { left });
    let unready = changed(|check, _| check.ready = false);
    assert_eq!(unready.verdict.meaning(), "1 step is left.");
}

#[test]
fn the_airbag_is_said_in_full() {
    assert_eq!(AIRBAG.0, "Airbag first.");
    for part in ["Never open, probe or tap", "Battery off", "licensed technician"] {
        assert!(AIRBAG.1.contains(part), "{part}");
    }
}

proptest! {
    /// Whatever the answers: a ladder is said only with the plug open, every step answered, nothing
    /// moving and no supply; and every verdict says what it means and what to do.
    #[test]
    fn it_is_a_ladder_only_with_every_step_answered_so(
        ready in any::<bool>(), steady in prop::option::of(any::<bool>()), differ in 0_usize..4,
        chassis in 0_usize..4, rest in prop::option::of(0.0..1e5_f64), open in any::<bool>(),
        car_v in prop::option::of(0.0..20.0_f64), car_moves in any::<bool>(),
        again_ohm in prop::option::of(0.0..1e5_f64), again_open in any::<bool>(),
        back_grounded in prop::option::of(any::<bool>()),
    ) {
        let chassis =
            [None, Some(ToChassis::Open), Some(ToChassis::Resistance), Some(ToChassis::Joined)][chassis];
        let differ = [None, Some(Differ::All), Some(Differ::Some), Some(Differ::Nothing)][differ];
        let wire = WireCheck { chassis, open, car_v, car_moves, again_ohm, again_open };
        let check = MeterCheck { ready, wires: BTreeMap::from([(1, wire)]), steady, differ };
        let rest_ohm = rest.map(|ohm| (1, ohm)).into_iter().collect();
        let report = check.report(&CheckFacts { wires: vec![1], rest_ohm, back_grounded });
        if report.verdict.is_ladder() {
            prop_assert!(ready && steady == Some(true) && !car_moves && back_grounded.is_some());
            prop_assert!(car_v.is_some_and(|volt| volt <= 5.5) && chassis != Some(ToChassis::Joined));
            prop_assert!(!report.steps.contains(&StepState::Open) && !report.steps.contains(&StepState::Stop));
        }
        prop_assert_eq!(report.verdict.is_stop(), report.steps.contains(&StepState::Stop));
        prop_assert!(report.verdict.meaning().ends_with('.'));
        let silent = matches!(&report.verdict, CheckVerdict::Ladder { car_pulls, .. } if car_pulls.is_empty());
        prop_assert!(report.verdict.advice().ends_with('.') || silent);
    }
}
