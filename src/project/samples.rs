//! Projects for tests: a filled one by hand, and any valid one at random.

use std::collections::BTreeMap;

use proptest::collection::{btree_map, btree_set, vec};
use proptest::option;
use proptest::prelude::*;

use super::model::{
    Button, ButtonId, Command, CommandId, FORMAT, Gesture, LearnedButton, Pair, Plan, Project, Recheck,
    ReturnWire, Stereo, Sweep, SweepMark, TwoMetered, Vehicle, Wheel, WireInfo,
};
use super::values::EVERY_STEP_MS;
use crate::bands::{DraggedEdges, LearnedOn, Press, PressTrace, RestLevel, Touch, TraceText};
use crate::circuit::{
    Circuit, Device, FeedMonitor, Filter, Gauge, Jack, JackContact, JackWants, Module, OutputParts,
    Parts as BuiltOf, Reference, Regulator, RegulatorParts, ReverseGuard, Sense, SupplyParts, Suppressor,
    Tap,
};
use crate::remote::{
    Code, FREE_PERIOD_MAX_US, FREE_TIMING_MIN_US, FamilyId, FreeFamily, FreeRepeat, Origin, SweepRange,
    families,
};
use crate::signal::{Converter, Level};
use crate::wheel::{Differ, MeterCheck, ToChassis, Topology, WireCheck};

/// Two buttons learned and paired, one of them twice.
pub(crate) fn van() -> Project {
    let mut project = Project::new("Brindle Linnet", "Tarn R40");
    project.wheel.wires.insert(1, WireInfo { colour: "WHGN".into(), ..WireInfo::default() });
    for (id, name, ohm) in [("mute", "Mute", 100.0), ("source", "Source", 390.5)] {
        project.wheel.buttons.push(Button {
            id: ButtonId(id.into()),
            name: name.into(),
            wire: Some(1),
            meter_ohm: Some(ohm),
        });
    }
    project.wheel.back = ReturnWire { colour: "BK".into(), grounded: Some(false) };
    let wire = WireCheck {
        chassis: Some(ToChassis::Open),
        open: true,
        car_v: Some(0.0),
        again_open: true,
        ..WireCheck::default()
    };
    project.wheel.check = MeterCheck {
        ready: true,
        wires: BTreeMap::from([(1, wire)]),
        steady: Some(true),
        differ: Some(Differ::All),
    };
    project.plan.supplies_parted = true;
    project.circuit = Some(Circuit {
        feed_monitor: None,
        filter: Default::default(),
        module: None,
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 2.0,
        leak_ohm: None,
    });
    project.rests.insert(1, RestLevel { median_count: 1_000.0, spread_count: 0.4, readings: 500 });
    for (id, count) in [("mute", 93.5), ("source", 287.0)] {
        let press = |touch| Press {
            median_count: count,
            spread_count: 0.5,
            readings: 300,
            touch,
            tally: vec![(count as u16, 300)],
        };
        let presses = vec![press(Touch::Firm), press(Touch::Slow), press(Touch::Light)];
        project.learned.insert(ButtonId(id.into()), LearnedButton { presses, indistinct_from: None });
    }
    project.stereo.jack = Jack {
        contact: Some(JackContact::Tip),
        grounded: Some(true),
        idle_v: Some(4.97),
        idle_moves: false,
        loaded_a: Some(0.000_45),
        loaded_v: None,
        wants: Some(JackWants::Pulses),
    };
    for (id, name, command) in [("mute", "Mute", 21), ("source", "Source", 22)] {
        project.stereo.commands.push(Command {
            id: CommandId(id.into()),
            name: name.into(),
            code: Code::Family { family: FamilyId("nec".into()), address: 89, command },
            origin: Origin::Typed,
            tried: true,
            heard: Vec::new(),
        });
        project.pairs.push(Pair {
            every_ms: None,
            button: ButtonId(id.into()),
            gesture: Gesture::Tap,
            command: Some(CommandId(id.into())),
            repeats: false,
        });
    }
    project
}

/// Any project that [`Project::check_values`] has nothing against.
pub(crate) fn any_project() -> impl Strategy<Value = Project> {
    let wheel = (
        prop_oneof![Just(Topology::Series), Just(Topology::Parallel)],
        btree_map(1_u8..=2, wire(), 0..=2),
        btree_set("[a-z0-9_]{1,32}", 0..=16),
        (text(), option::of(any::<bool>())).prop_map(|(colour, grounded)| ReturnWire { colour, grounded }),
        meter_check().boxed(),
    );
    let commands = btree_map("[a-z0-9_]{1,32}", (text(), code(), origin(), any::<bool>()), 0..12);
    // Boxed: so many nested strategies would not fit a test's stack.
    let fitted = (output().boxed(), supply().boxed()).boxed();
    let stereo = (text(), jack().boxed(), fitted).boxed();
    let built = (option::of(circuit()), built_of()).boxed();
    let outer = (text(), text(), built, plan(), btree_map(1_u8..=2, rest(), 0..=2), stereo);
    (wheel.boxed(), commands.boxed(), outer.boxed())
        .prop_flat_map(|(wheel, commands, outer)| {
            let ids: Vec<String> = wheel.2.iter().cloned().collect();
            let codes: Vec<String> = commands.keys().cloned().collect();
            let buttons = ids.iter().map(|id| button(id.clone())).collect::<Vec<_>>();
            let learned =
                ids.iter().map(|id| option::of(learned(id.clone(), ids.clone()))).collect::<Vec<_>>();
            let pairs = ids
                .iter()
                .flat_map(|id| {
                    [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap].map(|gesture| (id.clone(), gesture))
                })
                .map(|(id, gesture)| option::of(pair(id, gesture, codes.clone())))
                .collect::<Vec<_>>();
            let sweep = option::of(sweep(codes));
            (Just((wheel, commands, outer)), buttons, learned, pairs, sweep, traces(ids))
                .prop_map(assembled)
                .boxed()
        })
        .boxed()
        .prop_flat_map(with_bands)
        .boxed()
}

/// The same with what is kept about its bands.
fn with_bands(project: Project) -> BoxedStrategy<Project> {
    let edge = || option::of(0..=1_023_u16);
    let edges = (edge(), edge()).prop_map(|(low_count, high_count)| DraggedEdges { low_count, high_count });
    let ids: Vec<ButtonId> = project.wheel.buttons.iter().map(|button| button.id.clone()).collect();
    let edges = vec(option::of(edges), ids.len());
    let presses = vec(option::of(press()), ids.len());
    let feed = || option::of(number(0.1, 60.0));
    let on = option::of(feed().prop_map(|feed_v| LearnedOn { feed_v }));
    let recheck = option::of((feed(), presses)).boxed();
    (edges.boxed(), on.boxed(), recheck)
        .prop_map(move |(edges, learned_on, recheck)| {
            let mut project = project.clone();
            let moved = ids.iter().cloned().zip(edges).filter_map(|(id, edges)| Some((id, edges?)));
            project.edges = moved.collect();
            project.learned_on = learned_on;
            project.rechecked = recheck.map(|(feed_v, presses)| Recheck {
                feed_v,
                presses: ids
                    .iter()
                    .cloned()
                    .zip(presses)
                    .filter_map(|(id, press)| Some((id, press?)))
                    .collect(),
            });
            project
        })
        .boxed()
}

type WheelParts =
    (Topology, BTreeMap<u8, WireInfo>, std::collections::BTreeSet<String>, ReturnWire, MeterCheck);
type CommandParts = BTreeMap<String, (String, Code, Origin, bool)>;
type Built = (Option<Circuit>, BuiltOf);
type OuterParts = (String, String, Built, Plan, BTreeMap<u8, RestLevel>, StereoParts);
type StereoParts = (String, Jack, (OutputParts, SupplyParts));
type Parts = (
    (WheelParts, CommandParts, OuterParts),
    Vec<Button>,
    Vec<Option<LearnedButton>>,
    Vec<Option<Pair>>,
    Option<Sweep>,
    Vec<PressTrace>,
);

fn assembled(
    (((topology, mut wires, ids, back, check), commands, outer), buttons, learned, pairs, sweep, traces): Parts,
) -> Project {
    let (name, note, (circuit, parts), plan, rests, (stereo, jack, (output, supply))) = outer;
    let mut two = ids.iter().cloned().map(ButtonId);
    if let (Some(a), Some(b), Some(wire)) = (two.next(), two.next(), wires.values_mut().next()) {
        wire.together = wire.rest_ohm.map(|ohm| TwoMetered { buttons: (a, b), ohm });
    }
    let learned = ids.into_iter().zip(learned).filter_map(|(id, learned)| Some((ButtonId(id), learned?)));
    let commands = commands.into_iter().map(|(id, (name, code, origin, tried))| Command {
        id: CommandId(id),
        name,
        code,
        origin,
        tried,
        heard: Vec::new(),
    });
    Project {
        format: FORMAT,
        vehicle: Vehicle { name, note },
        wheel: Wheel { topology, wires, buttons, back, check },
        circuit,
        parts,
        plan,
        rests,
        learned: learned.collect(),
        traces,
        stereo: Stereo { name: stereo, commands: commands.collect(), jack, sweep },
        pairs: pairs.into_iter().flatten().collect(),
        output,
        supply,
        ..Project::new("", "")
    }
}

/// Presses of these buttons as they were read.
fn traces(ids: Vec<String>) -> impl Strategy<Value = Vec<PressTrace>> {
    let most = if ids.is_empty() { 0 } else { 3 };
    let button = prop::sample::select(if ids.is_empty() { vec![String::new()] } else { ids });
    let trace = (button, 1_u8..=2, 0_u8..9, touch(), vec(0_u16..=32_768, 2..40), any::<u32>());
    let trace = trace.prop_map(|(button, wire, press, touch, steps, left_out_ms)| {
        let levels: Vec<Level> = steps.into_iter().map(Level::from_steps).collect();
        PressTrace {
            button,
            wire,
            press,
            touch,
            settled_from: levels.len() as u16 / 2,
            settled_to: levels.len() as u16,
            left_out_ms,
            readings: TraceText::of(&levels),
        }
    });
    vec(trace, 0..=most)
}

fn touch() -> impl Strategy<Value = Touch> {
    prop_oneof![Just(Touch::Firm), Just(Touch::Slow), Just(Touch::Light), Just(Touch::Picked)]
}

/// Any characters at all, those that need escaping often among them.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-zA-Z ]{0,20}",
        vec(any::<char>(), 0..20).prop_map(|letters| letters.into_iter().collect()),
        vec(prop::sample::select(vec!['"', '\\', '\n', '\r', '\0', '/', '*', '#', '\u{85}', 'é']), 0..12)
            .prop_map(|letters| letters.into_iter().collect()),
    ]
}

/// Any double from `low` to `high`, round ones and the ends often among them.
fn number(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![Just(low), Just(high), low..=high, (low..=high).prop_map(f64::round)]
        .prop_map(move |value| value.clamp(low, high))
}

fn ohm() -> impl Strategy<Value = f64> {
    prop_oneof![number(0.0, 1e8), number(0.0, 1e4), Just(f64::MIN_POSITIVE), Just(-0.0)]
}

fn wire() -> impl Strategy<Value = WireInfo> {
    (text(), option::of(ohm()), text()).prop_map(|(colour, rest_ohm, tapped_at)| WireInfo {
        colour,
        rest_ohm,
        tapped_at,
        together: None,
    })
}

fn meter_check() -> impl Strategy<Value = MeterCheck> {
    let chassis = prop_oneof![Just(ToChassis::Open), Just(ToChassis::Resistance), Just(ToChassis::Joined)];
    let volt = option::of(number(0.0, 60.0));
    let found = (option::of(chassis), any::<[bool; 3]>(), volt, option::of(ohm())).prop_map(
        |(chassis, [open, car_moves, again_open], car_v, again_ohm)| WireCheck {
            chassis,
            open,
            car_v,
            car_moves,
            again_ohm,
            again_open,
        },
    );
    let differ = prop_oneof![Just(Differ::All), Just(Differ::Some), Just(Differ::Nothing)];
    (any::<bool>(), btree_map(1_u8..=2, found, 0..=2), option::of(any::<bool>()), option::of(differ))
        .prop_map(|(ready, wires, steady, differ)| MeterCheck { ready, wires, steady, differ })
}

fn button(id: String) -> impl Strategy<Value = Button> {
    (text(), option::of(1_u8..=2), option::of(ohm())).prop_map(move |(name, wire, meter_ohm)| Button {
        id: ButtonId(id.clone()),
        name,
        wire,
        meter_ohm,
    })
}

fn circuit() -> impl Strategy<Value = Circuit> {
    let reference = prop_oneof![
        Just(Reference::Supply),
        number(0.1, 60.0).prop_map(|volt| Reference::Internal { volt }),
        (number(0.1, 60.0), ohm(), option::of(number(0.1, 60.0)))
            .prop_map(|(volt, series_ohm, pin_v)| Reference::External { volt, series_ohm, pin_v }),
    ];
    let sense = prop_oneof![Just(Sense::PullDown), Just(Sense::PullUp)];
    let monitor = (number(1.0, 1e8), number(1.0, 1e8))
        .prop_map(|(upper_ohm, lower_ohm)| FeedMonitor { upper_ohm, lower_ohm });
    let leak_ohm = option::of(number(1.0, 1e8));
    let filter = (ohm(), number(0.0, 1e-3)).prop_map(|(series_ohm, farad)| Filter { series_ohm, farad });
    let module = option::of(number(0.1, 60.0).prop_map(|supply_v| Module { supply_v }));
    let others = (option::of(monitor), filter, module).boxed();
    let all = (sense, number(1.0, 1e8), number(0.1, 60.0), reference, ohm(), leak_ohm, others);
    all.prop_map(|(sense, sense_ohm, feed_v, reference, contact_ohm, leak_ohm, others)| Circuit {
        feed_monitor: others.0,
        filter: others.1,
        module: others.2,
        sense,
        sense_ohm,
        feed_v,
        reference,
        contact_ohm,
        leak_ohm,
    })
}

fn built_of() -> impl Strategy<Value = BuiltOf> {
    let shares = || (number(0.0, 0.2), number(0.0, 0.005));
    let climate = (number(0.0, 1e5), number(-60.0, 25.0), number(25.0, 150.0));
    let off = (number(0.0, 0.5), number(0.0, 0.5));
    let series = prop::sample::select(crate::units::Series::ALL.to_vec());
    (series, vec(number(1.0, 1e8), 0..4), shares(), shares(), climate, off).prop_map(
        |(series, drawer_ohm, sense, ladder, (wear_ohm, cold_c, hot_c), off)| BuiltOf {
            series,
            drawer_ohm,
            sense_tolerance: sense.0,
            sense_per_k: sense.1,
            ladder_tolerance: ladder.0,
            ladder_per_k: ladder.1,
            wear_ohm,
            cold_c,
            hot_c,
            feed_tolerance: off.0,
            reference_tolerance: off.1,
        },
    )
}

fn jack() -> impl Strategy<Value = Jack> {
    let contact = option::of(prop::sample::select(JackContact::ALL.to_vec()));
    let wants = option::of(prop_oneof![Just(JackWants::Pulses), Just(JackWants::Resistances)]);
    let volt = || option::of(number(0.0, 60.0));
    let answers = (contact, option::of(any::<bool>()), any::<bool>(), wants);
    (answers, volt(), option::of(number(0.0, 0.1)), volt()).prop_map(
        |(answers, idle_v, loaded_a, loaded_v)| {
            let (contact, grounded, idle_moves, wants) = answers;
            Jack { contact, grounded, idle_v, idle_moves, loaded_a, loaded_v, wants }
        },
    )
}

fn output() -> impl Strategy<Value = OutputParts> {
    let device = prop::sample::select(Device::ALL.to_vec());
    let ohms = (number(1.0, 1e7), option::of(number(1.0, 1e8)), number(0.0, 1e6));
    (device, ohms, number(0.0, 100.0), option::of(number(0.0, 1e-4))).prop_map(
        |(device, (base_ohm, base_pulldown_ohm, series_ohm), cable_m, line_farad)| OutputParts {
            device,
            base_ohm,
            base_pulldown_ohm,
            series_ohm,
            cable_m,
            line_farad,
        },
    )
}

fn supply() -> impl Strategy<Value = SupplyParts> {
    let regulator = || {
        let all = (number(0.0, 10.0), number(0.0, 0.1), number(1.0, 500.0), number(50.0, 200.0));
        (all, number(5.0, 200.0)).prop_map(
            |((dropout_v, quiescent_amp, k_per_w, junction_max_c), input_max_v)| RegulatorParts {
                dropout_v,
                quiescent_amp,
                k_per_w,
                junction_max_c,
                input_max_v,
            },
        )
    };
    let suppressor = (number(5.0, 200.0), number(5.0, 400.0))
        .prop_map(|(standoff_v, clamp_v)| Suppressor { standoff_v, clamp_v });
    let kinds = (
        prop::sample::select(Tap::ALL.to_vec()),
        prop::sample::select(ReverseGuard::ALL.to_vec()),
        prop::sample::select(Regulator::ALL.to_vec()),
        any::<bool>(),
    );
    let wire = (option::of(number(0.1, 30.0)), 10_u8..=30, number(0.0, 50.0));
    let load = (number(0.3, 1.0), number(0.001, 5.0));
    (kinds, wire, option::of(suppressor), regulator(), regulator(), load).prop_map(
        |(kinds, wire, suppressor, linear, buck, (efficiency, load_amp))| {
            let (tap, reverse, regulator, dump_clamped) = kinds;
            let (fuse_amp, gauge, wire_m) = wire;
            SupplyParts {
                tap,
                fuse_amp,
                wire: Gauge(gauge),
                wire_m,
                reverse,
                suppressor,
                dump_clamped,
                regulator,
                linear,
                buck,
                efficiency,
                load_amp,
            }
        },
    )
}

fn plan() -> impl Strategy<Value = Plan> {
    let converter = prop_oneof![Just(Converter::TenBit), Just(Converter::TwelveBit)];
    let share = || number(0.5, 0.999_999);
    let learning = (1_u32..=9, share(), share(), number(0.0, 1024.0), number(0.0, 1024.0), converter);
    let settle = option::of(number(0.5, 100.0));
    let recognising =
        (1_u8..=64, settle, 100_u16..=10_000, 50_u16..=2_000, any::<bool>(), any::<bool>(), any::<bool>());
    (learning, recognising).prop_map(|(learning, recognising)| {
        let (presses, coverage, confidence, converter_error_count, reject_floor_count, converter) = learning;
        let (dwell_ms, settle_count, hold_ms, double_ms, rollover, infrared, supplies_parted) = recognising;
        Plan {
            presses,
            coverage,
            confidence,
            converter_error_count,
            reject_floor_count,
            converter,
            dwell_ms,
            settle_count,
            hold_ms,
            double_ms,
            rollover,
            infrared,
            supplies_parted,
        }
    })
}

fn rest() -> impl Strategy<Value = RestLevel> {
    (number(0.0, 1024.0), number(0.0, 1024.0), 1..=u32::MAX)
        .prop_map(|(median_count, spread_count, readings)| RestLevel { median_count, spread_count, readings })
}

fn press() -> impl Strategy<Value = Press> {
    (rest(), touch()).prop_map(|(rest, touch)| Press {
        median_count: rest.median_count,
        spread_count: rest.spread_count,
        readings: rest.readings,
        touch,
        tally: Vec::new(),
    })
}

fn learned(id: String, ids: Vec<String>) -> impl Strategy<Value = LearnedButton> {
    let press = press();
    let other = option::of(prop::sample::select(ids));
    (vec(press, 0..5), other).prop_map(move |(presses, other)| LearnedButton {
        presses,
        indistinct_from: other.filter(|other| *other != id).map(ButtonId),
    })
}

fn code() -> impl Strategy<Value = Code> {
    let family = ("[a-z0-9]{1,8}", any::<u32>(), any::<u32>())
        .prop_map(|(family, address, command)| Code::Family { family: FamilyId(family), address, command });
    let raw = (vec(number(1.0, 1e6), 1..20), option::of(number(1.0, 1e7))).prop_map(
        |(mut pulses_us, repeat_us)| {
            if pulses_us.len() % 2 == 0 {
                pulses_us.pop();
            }
            Code::Raw { pulses_us, repeat_us }
        },
    );
    let free = any_free().prop_map(|(free, address, command)| Code::Free { free, address, command });
    prop_oneof![family, raw, free]
}

/// Any free family that can be sent, with an address and a command of its bits.
pub(crate) fn any_free() -> impl Strategy<Value = (FreeFamily, u32, u32)> {
    let us = || prop_oneof![number(50.0, 3_000.0), (100_u16..6_000).prop_map(|half| f64::from(half) / 2.0)];
    let both = move || (us(), us());
    let leader = option::of((number(100.0, 32_000.0), number(100.0, 32_000.0)));
    let repeat = prop::sample::select(vec![
        FreeRepeat::WholeFrame,
        FreeRepeat::WithoutLeader,
        FreeRepeat::ShortFrame,
        FreeRepeat::Once,
    ]);
    let bits = (0_u8..=16, 1_u8..=32);
    // Mostly narrow, as families are.
    let bits = prop_oneof![bits, (0_u8..=8, 1_u8..=8)];
    let parts = (leader, both(), both(), repeat, bits);
    (parts, any::<[bool; 4]>(), number(0.0, 1.0), 20_u8..=100, any::<[u32; 2]>()).prop_filter_map(
        "it can be sent",
        |((leader_us, zero_us, one_us, repeat, bits), flags, at, carrier_khz, numbers)| {
            let [stop_mark, high_first, address_inverse, command_inverse] = flags;
            let free = FreeFamily {
                leader_us,
                zero_us,
                one_us,
                stop_mark,
                high_first,
                address_bits: bits.0,
                address_inverse,
                command_bits: bits.1,
                command_inverse,
                repeat,
                period_us: FREE_PERIOD_MAX_US,
                carrier_khz,
            };
            let least_us = free.longest_us() + FREE_TIMING_MIN_US;
            let free = FreeFamily { period_us: least_us + at * (FREE_PERIOD_MAX_US - least_us), ..free };
            free.check().ok()?;
            Some((free, numbers[0] & free.address_max(), numbers[1] & free.command_max()))
        },
    )
}

/// A sweep as far as it has come, its marks named by commands that are there or not at all.
fn sweep(commands: Vec<String>) -> impl Strategy<Value = Sweep> {
    let named = if commands.is_empty() {
        Just(None).boxed()
    } else {
        option::of(prop::sample::select(commands).prop_map(CommandId)).boxed()
    };
    let range = (0..families().len(), 1_u32..=16, 1_u32..=16, any::<u32>(), any::<u32>()).prop_map(
        |(family, addresses, commands, address, command)| {
            let family = &families()[family];
            let run = |from: u32, wide: u32, max: u32| {
                let first = from % (max - wide.min(max) + 1);
                (first, (first + wide - 1).min(max))
            };
            SweepRange {
                family: family.family_id(),
                addresses: run(address, addresses, family.address_max()),
                commands: run(command, commands, family.command_max()),
            }
        },
    );
    (range, 500_u16..=10_000, any::<u16>(), btree_map(any::<u16>(), named, 0..5)).prop_map(
        |(range, pace_ms, next, marks)| {
            let codes = range.len() as u16;
            let marks: BTreeMap<_, _> = marks.into_iter().map(|(at, named)| (at % codes, named)).collect();
            let marks = marks.into_iter().map(|(at, command)| SweepMark { at, command }).collect();
            Sweep { range, pace_ms, next: next % (codes + 1), marks }
        },
    )
}

fn origin() -> impl Strategy<Value = Origin> {
    prop_oneof![Just(Origin::Typed), Just(Origin::Captured), Just(Origin::Swept)]
}

fn pair(id: String, gesture: Gesture, commands: Vec<String>) -> impl Strategy<Value = Pair> {
    let command = if commands.is_empty() {
        Just(None).boxed()
    } else {
        option::of(prop::sample::select(commands)).prop_map(|id| id.map(CommandId)).boxed()
    };
    let every_ms = option::of((1_u16..=15).prop_map(|steps| EVERY_STEP_MS * steps));
    (command, any::<bool>(), every_ms).prop_map(move |(command, repeats, every_ms)| Pair {
        every_ms,
        button: ButtonId(id.clone()),
        gesture,
        command,
        repeats,
    })
}
