//! Learned on laptop power at 4.70 V, run on vehicle power at 5.05 V: what each way to measure makes of it.

use boxsim::{Bench, Contact, Ladder, Supply, Torn, built, demo_project};
use spokewire::bands::Rung;
use spokewire::circuit::{FeedMonitor, Reference};
use spokewire::findings::feed_shift;
use spokewire::image::Built;
use spokewire::project::{Project, bands};
use spokewire::recognise::{Feed, plain};
use spokewire::signal::Level;
use spokewire::wire::{Ask, DecisionKind, NamedReference, ReferenceKind, Sample};

const LEARNED_V: f64 = 4.70;
const RUN_V: f64 = 5.05;
/// A reference that is above any feed.
const REFERENCE_V: f64 = 5.2;

/// How the box measures.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    AgainstSupply,
    Monitored,
    Unmonitored,
}

impl Way {
    fn supply(self, volt: f64) -> Supply {
        Supply {
            volt,
            reference_v: (self != Self::AgainstSupply).then_some(REFERENCE_V),
            monitor_share: (self == Self::Monitored).then_some(0.5),
            bandgap_v: 1.1,
        }
    }

    fn project(self) -> Project {
        let mut project = demo_project();
        let circuit = project.circuit.as_mut().expect("the demo's circuit is known");
        if self != Self::AgainstSupply {
            circuit.reference = Reference::External { volt: REFERENCE_V, series_ohm: 0.0, pin_v: None };
        }
        if self == Self::Monitored {
            circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 10_000.0 });
        }
        project
    }

    fn named(self) -> NamedReference {
        let kind = if self == Self::AgainstSupply { ReferenceKind::Supply } else { ReferenceKind::External };
        NamedReference { kind, feed_monitor: self == Self::Monitored }
    }
}

/// The middle of what the samples say, in counts; scaled by the feed where it is monitored.
fn median(samples: &[(u32, Sample)], nominal: Option<f64>) -> f64 {
    let mut feed = Feed::default();
    let nominal = nominal.map(|count| Level::from_steps((count * Level::PER_COUNT).round() as u16));
    let mut counts: Vec<f64> = samples
        .iter()
        .map(|(_, sample)| {
            sample.feed.into_iter().for_each(|reading| feed.take(reading));
            let level = nominal.map_or(plain(sample.raw[0]), |nominal| feed.scale(sample.raw[0], nominal));
            f64::from(level.steps()) / Level::PER_COUNT
        })
        .skip(50)
        .collect();
    counts.sort_by(f64::total_cmp);
    counts[counts.len() / 2]
}

/// Presses every button for half a second and gives the readings' medians; rest comes last.
fn readings(bench: &mut Bench, nominal: Option<f64>) -> Vec<f64> {
    bench.ask(&Ask::Stream(true));
    let mut medians = Vec::new();
    for button in 0..=Ladder::DEMO_OHM.len() {
        let now = bench.chip.now();
        if button < Ladder::DEMO_OHM.len() {
            bench.ladder.press(button, Contact::Firm(6.0), now, 500);
        }
        bench.run_ms(20);
        bench.events.clear();
        bench.run_ms(450);
        medians.push(median(&bench.samples(), nominal));
        bench.run_ms(100);
    }
    bench.ask(&Ask::Stream(false));
    medians
}

/// The nominal feed's reading at the monitor.
fn nominal(project: &Project) -> Option<f64> {
    let circuit = project.circuit.as_ref()?;
    circuit.feed_monitor.map(|monitor| 1_024.0 * monitor.pin_v(circuit.feed_v) / circuit.reference_v())
}

/// Learns from the box's own stream at 4.70 V, writes the image, and runs it at 5.05 V.
fn learn_and_move(way: Way) -> (Project, Built, Vec<f64>, Bench) {
    let mut project = way.project();
    let mut bench = Bench::new(way.supply(LEARNED_V));
    bench.ask(&Ask::Reference(way.named()));
    bench.run_ms(50);
    let learned = readings(&mut bench, nominal(&project));
    for (button, count) in project.wheel.buttons.clone().iter().zip(&learned) {
        let presses = &mut project.learned.get_mut(&button.id).expect("the demo has learned it").presses;
        presses.iter_mut().for_each(|press| press.median_count = *count);
    }
    project.rests.get_mut(&1).expect("the demo's rest").median_count = learned[learned.len() - 1];
    let built = built(&project);
    bench.write(&built.image.to_body().expect("it fits")).expect("it is written at 4.70 V");
    let mut bench = bench.power_cycled(way.supply(RUN_V), Torn::Erased);
    bench.run_ms(200);
    assert!(bench.identify().has_image);
    (project, built, learned, bench)
}

/// What each button is taken for at 5.05 V.
fn taken(bench: &mut Bench) -> Vec<Option<u8>> {
    bench.ask(&Ask::Watch(true));
    (0..Ladder::DEMO_OHM.len())
        .map(|button| {
            bench.events.clear();
            let now = bench.chip.now();
            bench.ladder.press(button, Contact::Firm(6.0), now, 150);
            bench.run_ms(400);
            let pressed =
                bench.decisions().into_iter().filter(|decision| decision.kind == DecisionKind::Pressed);
            let buttons: Vec<_> = pressed.map(|decision| decision.button).collect();
            assert!(buttons.len() <= 1, "{buttons:?}");
            buttons.first().copied().flatten()
        })
        .collect()
}

#[test]
fn with_the_supply_as_reference_every_button_is_recognised() {
    let (.., mut bench) = learn_and_move(Way::AgainstSupply);
    assert_eq!(taken(&mut bench), (0..7).map(Some).collect::<Vec<_>>());
    assert!(!bench.chip.was_shorted());
    let mv = bench.identify().supply_mv;
    assert!(mv.is_none_or(|mv| mv.abs_diff(5_050) < 60), "{mv:?}");
}

#[test]
fn with_a_reference_from_outside_and_the_feed_monitor_every_button_is_recognised() {
    let (project, _, learned, mut bench) = learn_and_move(Way::Monitored);
    assert_eq!(taken(&mut bench), (0..7).map(Some).collect::<Vec<_>>());
    let moved = readings(&mut bench, nominal(&project));
    for (from, to) in learned.iter().zip(&moved) {
        assert!((from - to).abs() < 2.5, "{learned:?} learned, {moved:?} at 5.05 V");
    }
    assert!(!bench.chip.was_shorted());
}

#[test]
fn with_a_reference_from_outside_and_no_monitor_the_readings_go_where_it_was_predicted() {
    let (project, _, learned, mut bench) = learn_and_move(Way::Unmonitored);
    let moved = readings(&mut bench, None);
    for (from, to) in learned.iter().zip(&moved) {
        assert!((to - from * RUN_V / LEARNED_V).abs() < 3.0, "{learned:?} learned, {moved:?} at 5.05 V");
    }
    // What `check` says of it, rung by rung.
    let bands = bands(&project);
    let shifts = feed_shift(&project, &bands, LEARNED_V, RUN_V);
    let taken = taken(&mut bench);
    let (mut left, mut stayed) = (0, 0);
    for shift in &shifts {
        let Rung::Button(button) = shift.rung else { continue };
        assert!((shift.to_count - moved[button]).abs() < 3.0, "{shift:?}, seen at {}", moved[button]);
        let due = match (shift.leaves, shift.lands) {
            (false, _) => Some(button as u8),
            (true, Some(Rung::Button(other))) => Some(other as u8),
            (true, _) => None,
        };
        // A reading on the very edge of a band goes either way.
        let edge = |count: f64| (count - moved[button]).abs() < 4.0;
        let on_an_edge = bands.bands().filter_map(|band| band.accept).any(|band| {
            (0..=1_023)
                .map(f64::from)
                .any(|count| edge(count) && band.holds(count) != band.holds(count + 1.0))
        });
        assert!(
            on_an_edge || taken[button] == due,
            "button {button}: taken for {:?}, {shift:?}",
            taken[button]
        );
        if shift.leaves { left += 1 } else { stayed += 1 }
    }
    println!("5.05 V for 4.70 V, unmonitored: {left} of 7 buttons leave their band; taken for {taken:?}");
    assert_eq!(left + stayed, 7, "every button's shift was predicted");
    assert!(left > 0, "the demo's bands would not show it");
}
