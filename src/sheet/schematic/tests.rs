//! The drawing as a reader of its SVG document sees it: read back by an XML parser, every text as wide as
//! the stated bound makes it, and nothing may lie over anything else or leave the page.

use proptest::prelude::*;
use quick_xml::Reader;
use quick_xml::events::Event;

use super::{Drawing, Shown, schematic};
use crate::circuit::{
    Circuit, Device, FeedMonitor, Filter, Gauge, Jack, JackContact, JackWants, Module, OutputParts,
    Reference, Regulator, ReverseGuard, Sense, SupplyParts, Suppressor, Tap,
};
use crate::project::{Button, ButtonId, Netlist, Project, WireInfo};
use crate::sheet::shape::text_frame;
use crate::sheet::{Anchor, Frame, Inks, Spot, TextSize, svg};
use crate::wheel::Topology;

/// One element of the document.
#[derive(Debug)]
struct Drawn {
    class: String,
    points: Vec<Spot>,
    frame: Frame,
    words: String,
}

impl Drawn {
    fn segments(&self) -> impl Iterator<Item = Frame> + '_ {
        self.points.windows(2).map(Frame::holding)
    }
}

/// Reads a document back.
fn read_back(document: &str) -> (Frame, Vec<Drawn>) {
    let mut reader = Reader::from_str(document);
    let mut page = Frame::default();
    let mut drawn: Vec<Drawn> = Vec::new();
    loop {
        match reader.read_event().expect("the document is XML") {
            Event::Eof => return (page, drawn),
            Event::Start(tag) | Event::Empty(tag) => {
                let get = |name: &str| {
                    let attribute = tag.try_get_attribute(name).unwrap()?;
                    Some(String::from_utf8(attribute.value.to_vec()).unwrap())
                };
                let number = |name: &str| get(name).map_or(0.0, |text| text.parse::<f32>().unwrap());
                let points: Vec<Spot> = get("points").map_or_else(Vec::new, |text| {
                    let pair = |pair: &str| {
                        let (x, y) = pair.split_once(',').unwrap();
                        Spot { x: x.parse().unwrap(), y: y.parse().unwrap() }
                    };
                    text.split(' ').map(pair).collect()
                });
                let (x, y) = (number("x"), number("y"));
                let box_ =
                    Frame { left: x, top: y, right: x + number("width"), bottom: y + number("height") };
                let frame = match tag.name().as_ref() {
                    b"svg" => {
                        page = box_;
                        continue;
                    }
                    b"circle" => {
                        let wide = 2.0 * number("r");
                        Frame::round(Spot { x: number("cx"), y: number("cy") }, wide, wide)
                    }
                    b"text" => {
                        // Only its place and look yet; its words come next.
                        let anchor = get("text-anchor").unwrap();
                        drawn.push(Drawn {
                            class: format!("{} {anchor} {}", get("class").unwrap(), number("font-size")),
                            points: vec![Spot { x, y }],
                            frame: Frame::default(),
                            words: String::new(),
                        });
                        continue;
                    }
                    b"title" => continue,
                    b"rect" => box_,
                    _ => Frame::holding(&points),
                };
                drawn.push(Drawn { class: get("class").unwrap(), points, frame, words: String::new() });
            }
            Event::Text(words) => {
                let words = words.decode().unwrap().into_owned();
                let Some(last) = drawn.last_mut().filter(|last| last.class.contains(' ')) else { continue };
                let [class, anchor, size] = last.class.split(' ').collect::<Vec<_>>()[..] else { panic!() };
                let size = if size == "14" { TextSize::Body } else { TextSize::Small };
                let anchor = match anchor {
                    "start" => Anchor::Start,
                    "middle" => Anchor::Middle,
                    _ => Anchor::End,
                };
                let Spot { x, y } = last.points[0];
                last.frame = text_frame(Spot { x, y: y - size.points() * 0.375 }, anchor, size, &words);
                last.class = class.to_owned();
                last.words = words;
            }
            _ => {}
        }
    }
}

/// What lies over something else, or off the page, in words.
fn faults(drawing: &Drawing) -> Vec<String> {
    let (page, drawn) = read_back(&svg(drawing, &Inks::PAPER));
    let mut faults = Vec::new();
    let inside = |inner: Frame, outer: Frame| {
        inner.left >= outer.left
            && inner.right <= outer.right
            && inner.top >= outer.top
            && inner.bottom <= outer.bottom
    };
    for one in &drawn {
        if !inside(one.frame, page) {
            faults.push(format!("off the page: {} {} {:?}", one.class, one.words, one.frame));
        }
    }
    let of = |class: &'static str| drawn.iter().filter(move |one| one.class == class);
    for (place, text) in of("words").enumerate() {
        for other in of("words").skip(place + 1).chain(of("flag")).chain(of("plate")).chain(of("dot")) {
            // The transistor's ring is a dot, too.
            if text.frame.meets(other.frame) {
                faults.push(format!("{:?} over {} {:?}", text.words, other.class, other.words));
            }
        }
        for part in of("part").filter(|part| text.frame.meets(part.frame) && !inside(text.frame, part.frame))
        {
            faults.push(format!("{:?} over a part at {:?}", text.words, part.frame));
        }
        for line in of("wire").chain(of("enclosure")) {
            if line.segments().any(|segment| segment.grown(0.5).meets(text.frame)) {
                faults.push(format!("{:?} over a {} {:?}", text.words, line.class, line.points));
            }
        }
    }
    for (place, flag) in of("flag").enumerate() {
        for other in of("flag").skip(place + 1).chain(of("plate")).chain(of("part")).chain(of("dot")) {
            if flag.frame.meets(other.frame) {
                faults.push(format!("a flag at {:?} over {} at {:?}", flag.frame, other.class, other.frame));
            }
        }
        for line in of("wire").chain(of("enclosure")) {
            if line.segments().any(|segment| segment.grown(0.5).meets(flag.frame)) {
                faults.push(format!("a flag at {:?} over a {} {:?}", flag.frame, line.class, line.points));
            }
        }
    }
    let flags: Vec<_> = of("flag").collect();
    for text in of("flagged") {
        if !flags.iter().any(|flag| inside(text.frame, flag.frame)) {
            faults.push(format!("{:?} doesn't fit its flag", text.words));
        }
    }
    let solid: Vec<_> = of("part").chain(of("plate")).collect();
    for (place, one) in solid.iter().enumerate() {
        for other in solid.iter().skip(place + 1).filter(|other| one.frame.meets(other.frame)) {
            let arrow = |one: &Drawn| one.frame.right - one.frame.left < 7.0;
            if !(arrow(one) || arrow(other)) {
                faults.push(format!("{} {:?} over {} {:?}", one.class, one.frame, other.class, other.frame));
            }
        }
    }
    faults
}

/// Any wheel and circuit that there can be, as far as the drawing goes.
#[derive(Clone, Debug)]
struct Case {
    buttons: Vec<(u8, Option<f64>)>,
    topology: Topology,
    circuit: Option<Circuit>,
    rests: [Option<f64>; 2],
    jack: bool,
    output: OutputParts,
    supply: SupplyParts,
    stereo: String,
    shown: Shown,
}

fn project(case: &Case) -> Project {
    let mut project = Project::new("Brindle Linnet", &case.stereo);
    project.circuit = case.circuit.clone();
    project.wheel.topology = case.topology;
    for (place, &(wire, meter_ohm)) in case.buttons.iter().enumerate() {
        let name = format!("Button {place} & <co>");
        project.wheel.buttons.push(Button {
            id: ButtonId(format!("b{place}")),
            name,
            wire: Some(wire),
            meter_ohm,
        });
    }
    for (wire, rest_ohm) in [1, 2].into_iter().zip(case.rests) {
        if case.buttons.iter().any(|button| button.0 == wire) {
            project
                .wheel
                .wires
                .insert(wire, WireInfo { colour: String::new(), rest_ohm, ..Default::default() });
        }
    }
    (project.output, project.supply) = (case.output.clone(), case.supply.clone());
    if case.jack {
        project.stereo.jack = Jack {
            contact: Some(JackContact::Tip),
            grounded: Some(true),
            idle_v: Some(4.97),
            idle_moves: false,
            loaded_a: Some(0.000_45),
            loaded_v: None,
            wants: Some(JackWants::Pulses),
        };
    }
    project
}

fn drawn(case: &Case) -> Drawing {
    let net = Netlist::of(&project(case));
    let point = net.solve(&case.shown.pressed()).ok();
    schematic(&net, point.as_ref(), &case.shown)
}

fn some_circuit() -> impl Strategy<Value = Circuit> {
    let sense = prop_oneof![Just(Sense::PullDown), Just(Sense::PullUp)];
    let ohm = || (1.0..6.0_f64).prop_map(|power| 10_f64.powf(power));
    let reference = prop_oneof![
        Just(Reference::Supply),
        Just(Reference::Internal { volt: 1.1 }),
        (ohm(), prop::option::of(Just(2.16))).prop_map(|(series_ohm, pin_v)| Reference::External {
            volt: 3.3,
            series_ohm,
            pin_v
        }),
    ];
    let monitor = prop::option::of(
        (ohm(), ohm()).prop_map(|(upper_ohm, lower_ohm)| FeedMonitor { upper_ohm, lower_ohm }),
    );
    let filter = (prop_oneof![Just(0.0), ohm()], prop_oneof![Just(0.0), Just(10e-9), Just(4.7e-6)]);
    let module = prop::option::weighted(0.3, Just(Module { supply_v: 5.0 }));
    (sense, ohm(), reference, monitor, filter, prop::option::of(ohm()), module).prop_map(
        |(sense, sense_ohm, reference, feed_monitor, (series_ohm, farad), leak_ohm, module)| Circuit {
            module,
            sense,
            sense_ohm,
            feed_v: 5.0,
            reference,
            contact_ohm: 6.0,
            leak_ohm,
            feed_monitor,
            filter: Filter { series_ohm, farad },
        },
    )
}

fn some_output() -> impl Strategy<Value = OutputParts> {
    let device = prop::sample::select(Device::ALL.to_vec());
    let ohm = || (1.0..6.0_f64).prop_map(|power| 10_f64.powf(power));
    let series = prop_oneof![Just(0.0), ohm()];
    let farad = prop::option::of(prop_oneof![Just(0.0), Just(203e-12), Just(4.87e-9), Just(100e-6)]);
    (device, ohm(), prop::option::of(ohm()), series, farad).prop_map(
        |(device, base_ohm, base_pulldown_ohm, series_ohm, line_farad)| OutputParts {
            device,
            base_ohm,
            base_pulldown_ohm,
            series_ohm,
            line_farad,
            ..OutputParts::default()
        },
    )
}

fn some_supply() -> impl Strategy<Value = SupplyParts> {
    let guard = prop::sample::select(ReverseGuard::ALL.to_vec());
    let suppressor = prop::option::of(
        (5.0..200.0_f64).prop_map(|standoff_v| Suppressor { standoff_v, ..Suppressor::default() }),
    );
    let kinds = (prop::sample::select(Regulator::ALL.to_vec()), prop::sample::select(Tap::ALL.to_vec()));
    (guard, suppressor, prop::option::of(0.1..30.0_f64), (10_u8..=30, 0.0..50.0_f64), kinds).prop_map(
        |(reverse, suppressor, fuse_amp, (gauge, wire_m), (regulator, tap))| SupplyParts {
            reverse,
            suppressor,
            fuse_amp,
            wire: Gauge(gauge),
            wire_m,
            regulator,
            tap,
            ..SupplyParts::default()
        },
    )
}

fn some_case() -> impl Strategy<Value = Case> {
    let ohm = || prop::option::weighted(0.9, (0.0..5.0_f64).prop_map(|power| 10_f64.powf(power)));
    let buttons = prop::collection::vec((1_u8..=2, ohm()), 0..=16);
    let topology = prop_oneof![Just(Topology::Series), Just(Topology::Parallel)];
    let rests = [prop::option::of(1e4..2e5_f64), prop::option::of(1e4..2e5_f64)];
    let flags = prop::option::of(Just(vec![
        ("low 0.42 V".to_owned(), "0.80 allowed".to_owned()),
        ("rise 12.3 µs".to_owned(), "12 % of mark".to_owned()),
    ]));
    let settle = prop_oneof![Just(String::new()), Just("0.80 ms".to_owned()), Just("123.45 ms".to_owned())];
    let built = (some_output(), some_supply());
    let look = (any::<[bool; 3]>(), "[ -~]{0,40}", prop::option::of(4.5..5.5_f64), flags, settle, built);
    (buttons, topology, prop::option::weighted(0.9, some_circuit()), rests, look).prop_flat_map(
        |(buttons, topology, circuit, rests, look)| {
            let ([jack, one_wire, works], stereo, supply_v, output, settle, built) = look;
            let buttons: Vec<_> =
                buttons.into_iter().map(|(wire, ohm)| (if one_wire { 1 } else { wire }, ohm)).collect();
            let all: Vec<usize> = (0..buttons.len()).collect();
            let some = prop::sample::subsequence(all, 0..=buttons.len().min(3));
            (some.clone(), some).prop_map(move |(closed, live)| {
                let (output, settle) = (output.clone().unwrap_or_default(), settle.clone());
                Case {
                    buttons: buttons.clone(),
                    topology,
                    circuit: circuit.clone(),
                    rests,
                    jack,
                    output: built.0.clone(),
                    supply: built.1.clone(),
                    stereo: stereo.clone(),
                    shown: Shown { closed, live, supply_v, output, settle, works },
                }
            })
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn nothing_overlaps_or_leaves_the_page_whatever_is_drawn(case in some_case()) {
        let faults = faults(&drawn(&case));
        prop_assert!(faults.is_empty(), "{}", faults.join("\n"));
    }

    #[test]
    fn every_button_has_its_plate_and_its_switch_once(case in some_case()) {
        let drawing = drawn(&case);
        let mut switches: Vec<usize> = drawing.switches.iter().map(|switch| switch.button).collect();
        switches.sort_unstable();
        prop_assert_eq!(&switches, &(0..case.buttons.len()).collect::<Vec<_>>());
        let (_, drawn) = read_back(&svg(&drawing, &Inks::PAPER));
        prop_assert_eq!(drawn.iter().filter(|one| one.class == "plate").count(), switches.len());
        for switch in &drawing.switches {
            let Frame { left, top, right, bottom } = switch.frame;
            prop_assert!(right - left >= 34.0 && bottom - top >= 34.0, "large enough to hit: {switch:?}");
        }
    }
}

/// The demo's wheel.
fn demo() -> Case {
    Case {
        buttons: [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0].map(|ohm| (1, Some(ohm))).to_vec(),
        topology: Topology::Series,
        circuit: Some(Circuit {
            module: None,
            sense: Sense::PullUp,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 6.0,
            leak_ohm: None,
            feed_monitor: None,
            filter: Filter::default(),
        }),
        rests: [Some(14_862.0), None],
        jack: true,
        output: OutputParts::default(),
        supply: SupplyParts::default(),
        stereo: "Tarn R40".to_owned(),
        shown: Shown { works: true, ..Shown::default() },
    }
}

fn words(drawing: &Drawing) -> Vec<String> {
    let (_, drawn) = read_back(&svg(drawing, &Inks::PAPER));
    drawn.into_iter().map(|one| one.words).filter(|words| !words.is_empty()).collect()
}

#[test]
fn the_demo_shows_the_values_of_its_parts() {
    let drawing = drawn(&demo());
    assert_eq!((drawing.width, drawing.height), (1004.0, 350.0));
    let words = words(&drawing);
    for value in [
        "fuse 0.5 A",
        "22 AWG, 2 m",
        "Schottky",
        "TVS 33 V",
        "Buck 5 V",
        "200p",
        "82",
        "180",
        "270",
        "390",
        "240",
        "1.0k",
        "2.7k",
        "10k",
        "4.86k",
        "1.0 kΩ",
        "10n",
        "Tarn R40",
    ] {
        assert!(words.iter().any(|word| word == value), "{value} in {words:?}");
    }
    // At rest the whole chain is below the sense resistor: 14862 / 15862 of 5 V.
    assert!(words.contains(&"4.68 V".to_owned()) && words.contains(&"959 counts".to_owned()), "{words:?}");
}

#[test]
fn a_press_flags_volts_and_counts_and_draws_the_way_of_the_current() {
    let mut case = demo();
    case.shown.closed = vec![4];
    let drawing = drawn(&case);
    let words = words(&drawing);
    assert!(words.contains(&"551 counts".to_owned()) && words.contains(&"2.31 mA".to_owned()), "{words:?}");
    let (_, elements) = read_back(&svg(&drawing, &Inks::PAPER));
    let way: Vec<_> = elements.iter().filter(|one| one.class == "current").collect();
    assert_eq!(way.len(), 1);
    // From the feed by the sense node and Source's column to ground.
    let corners: Vec<_> = way[0].points.iter().map(|spot| (spot.x, spot.y)).collect();
    let source = 358.0 - 4.0 * 46.0;
    assert_eq!(
        corners,
        [(520.0, 42.0), (520.0, 100.0), (source, 100.0), (source, 200.0), (436.0, 200.0), (436.0, 208.0)]
    );
}

#[test]
fn a_factory_module_pulls_the_wire_up_in_the_vehicle_and_the_box_adds_no_resistor() {
    let mut case = demo();
    let circuit = case.circuit.as_mut().unwrap();
    (circuit.feed_v, circuit.module) = (4.6, Some(Module { supply_v: 5.0 }));
    case.shown.closed = vec![4];
    let drawing = drawn(&case);
    let words = words(&drawing);
    assert!(words.contains(&"In the vehicle".to_owned()) && words.contains(&"4.60 V".to_owned()));
    // 1168 Ω below 1 kΩ of 4.6 V is 2.478 V; against 5 V that is 1024 · 2.478 / 5 = 507.5.
    assert!(words.contains(&"2.48 V".to_owned()) && words.contains(&"507 counts".to_owned()), "{words:?}");
    let found: Vec<&str> = drawing.found.iter().map(|found| found.words.as_str()).collect();
    assert!(found.contains(&"The factory module's pull-up, 1.00 kΩ, carries 2.12 mA"), "{found:#?}");
    assert!(!found.iter().any(|words| words.starts_with("Sense resistor")), "{found:#?}");
}

#[test]
fn a_mosfet_without_a_pull_down_has_a_gate_and_no_second_resistor() {
    let mut case = demo();
    case.output = OutputParts { device: Device::Bss138, base_pulldown_ohm: None, ..OutputParts::default() };
    case.supply.fuse_amp = None;
    let drawing = drawn(&case);
    let found: Vec<&str> = drawing.found.iter().map(|found| found.words.as_str()).collect();
    assert!(found.contains(&"Output transistor, BSS138") && found.contains(&"Gate resistor, 4.70 kΩ"));
    assert!(!found.iter().any(|words| words.contains("pull-down") || words.starts_with("Fuse")), "{found:?}");
}

#[test]
fn two_pressed_in_parallel_draw_two_ways() {
    let mut case = demo();
    case.topology = Topology::Parallel;
    case.shown.closed = vec![0, 2];
    let (_, elements) = read_back(&svg(&drawn(&case), &Inks::PAPER));
    assert_eq!(elements.iter().filter(|one| one.class == "current").count(), 2);
    // In a chain the nearer tap takes all but 6 Ω beside 270 + 6: 2 % and a little.
    case.topology = Topology::Series;
    case.shown.closed = vec![0, 6];
    let (_, elements) = read_back(&svg(&drawn(&case), &Inks::PAPER));
    assert_eq!(elements.iter().filter(|one| one.class == "current").count(), 1);
}

#[test]
fn what_is_not_known_is_dashed_and_says_so() {
    let mut case = demo();
    case.circuit = None;
    case.jack = false;
    let drawing = drawn(&case);
    let document = svg(&drawing, &Inks::PAPER);
    assert!(document.matches("stroke-dasharray=\"4 3\"").count() >= 4, "sense, filter, end, pull-up");
    let found: Vec<&str> = drawing.found.iter().map(|found| found.words.as_str()).collect();
    assert!(found.contains(&"Sense resistor, not known yet"), "{found:?}");
    assert!(found.contains(&"Sense node, volts not known"), "{found:?}");
}

#[test]
fn a_screen_reader_is_told_every_part_with_value_and_current() {
    let mut case = demo();
    case.shown.closed = vec![4];
    let drawing = drawn(&case);
    let found: Vec<&str> = drawing.found.iter().map(|found| found.words.as_str()).collect();
    for words in [
        "Sense resistor, 1.00 kΩ, carries 2.31 mA",
        "Sense node, 2.69 V, 551 counts",
        "End-of-line resistor, 10.0 kΩ, carries 1.0 µA",
        "Converter pin ADC0, 2.69 V, 551 counts",
        "Remote line, idle, 4.97 V",
        "Output transistor, 2N3904",
        "Fuse, 0.5 A",
        "Wire from the source, 22 AWG, 0.33 mm², 2 m",
        "Guard against a reversed supply, Schottky diode",
        "Surge suppressor, conducts from 33 V",
        "Regulator, Buck converter to 5 V",
        "Capacitance of cable and input, 200pF",
    ] {
        assert!(found.contains(&words), "{words} in {found:#?}");
    }
    assert_eq!(drawing.switches[4].words, "Switch of Button 4 & <co>, 1.16 kΩ, reads 551 counts");
}

#[test]
fn a_press_on_the_wheel_closes_its_switch_with_a_mark_of_its_own() {
    let mut case = demo();
    case.shown.live = vec![4];
    let drawing = drawn(&case);
    let marks: Vec<_> = drawing
        .shapes
        .iter()
        .filter_map(|shape| if let crate::sheet::Shape::Held { by, .. } = shape { Some(*by) } else { None })
        .collect();
    assert_eq!(marks, [crate::sheet::HeldBy::Wheel]);
    assert!(words(&drawing).contains(&"551 counts".to_owned()));
}
