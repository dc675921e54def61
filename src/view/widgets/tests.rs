//! The widgets driven headless, by their accessible names, as a person without a mouse would.

use egui::accesskit::{Role, Toggled};
use egui::{Key, Modifiers, Ui, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

use super::button::Button;
use super::check::check;
use super::drop::Drop;
use super::field::Field;
use super::focus::key_pressed;
use super::frame::{FrameAnswer, FrameInfo, frame};
use super::head::HeadInfo;
use super::layout::Layout;
use super::node::NodeState;
use super::notice::{Notice, NoticeLevel, notices};
use super::press_marks::{MarkState, PressMark, press_marks};
use super::progress::Progress;
use super::rail::RailStation;
use super::segments::segments;
use super::state_panel::{self, PanelState, StatePanel};
use super::strip::{LinkInfo, LinkState, StripInfo};
use crate::view::theme::{Theme, ThemeKind, install};

fn harness<'a, S: 'a>(
    size: (f32, f32),
    state: S,
    mut show: impl FnMut(&mut Ui, &mut S) + 'a,
) -> Harness<'a, S> {
    Harness::builder()
        .with_size(vec2(size.0, size.1))
        .with_context_setup(|ctx| install(ctx, &Theme::new(ThemeKind::Dark)))
        .build_ui_state(move |ui, state| show(ui, state), state)
}

const STATIONS: [RailStation<'static>; 7] = {
    const fn station(name: &'static str, truth: &'static str, state: NodeState) -> RailStation<'static> {
        RailStation { name, truth, state, key: "" }
    }
    [
        station("Wheel", "Ladder, 7 buttons", NodeState::Done),
        station("Circuit", "Smallest gap 59 counts", NodeState::Done),
        station("Learn", "4 of 7 learned", NodeState::Part(0.6)),
        station("Codes", "2 codes", NodeState::Idle),
        station("Pair", "", NodeState::Idle),
        station("Box", "Box differs from project", NodeState::Caution),
        station("Sheet", "Not ready", NodeState::Stop),
    ]
};

fn info<'a>() -> FrameInfo<'a> {
    FrameInfo {
        stations: &STATIONS,
        current: Some(2),
        strip: StripInfo {
            vehicle: Some("Brindle Linnet 2008"),
            stereo: "Tarn R40",
            saved: "Saved 21:14",
            undo: Some("name of Mute"),
            redo: None,
            link: LinkInfo {
                state: LinkState::Joined,
                port: "ttyUSB0",
                line: "115 200 · 1000/s · 0 lost",
                feed: Some(("4.71 V", "laptop power")),
            },
            sound: Some(true),
        },
        head: HeadInfo {
            title: "Learn",
            sentence: "Hands on the wheel. Follow the name.",
            views: &["Prompted", "Click"],
            view: 0,
        },
        reduced_motion: true,
    }
}

/// Keeps what was clicked, one answer a pass, until it is looked at.
fn framed<'a>(size: (f32, f32)) -> Harness<'a, Vec<FrameAnswer>> {
    harness(size, Vec::new(), |ui, seen: &mut Vec<FrameAnswer>| {
        let layout = Layout::of(ui.ctx().content_rect().size());
        let answer = frame(ui, &layout, &info());
        if answer != FrameAnswer::default() {
            seen.push(answer);
        }
    })
}

#[test]
fn every_station_is_named_with_its_truth_and_answers_a_click_at_every_width() {
    for size in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut h = framed(size);
        for (i, name) in [
            "Wheel, Ladder, 7 buttons",
            "Circuit, Smallest gap 59 counts",
            "Learn, 4 of 7 learned",
            "Codes, 2 codes",
            "Pair, not begun",
            "Box, Box differs from project",
            "Sheet, Not ready",
        ]
        .into_iter()
        .enumerate()
        {
            h.get_by_label(name).click();
            h.run();
            let answer = h.state_mut().pop();
            assert_eq!(
                answer,
                Some(FrameAnswer { station: Some(i), ..FrameAnswer::default() }),
                "{name}, {size:?}"
            );
        }
    }
}

#[test]
fn everything_in_the_strip_answers_to_its_own_name() {
    let mut h = framed((1280.0, 800.0));
    let none = FrameAnswer::default();
    let wanted = [
        ("Undo name of Mute", FrameAnswer { undo: true, ..none }),
        ("Sound on", FrameAnswer { sound: true, ..none }),
        ("Dark look", FrameAnswer { theme: true, ..none }),
        ("Keys", FrameAnswer { keys: true, ..none }),
        ("Cautions", FrameAnswer { cautions: true, ..none }),
        (
            "Vehicle Brindle Linnet 2008, stereo Tarn R40, Saved 21:14",
            FrameAnswer { vehicle_clicked: true, ..none },
        ),
        (
            "Link ttyUSB0, 115 200 · 1000/s · 0 lost, 4.71 V, laptop power",
            FrameAnswer { link_clicked: true, ..none },
        ),
        ("Click", FrameAnswer { view: Some(1), ..none }),
    ];
    for (name, answer) in wanted {
        h.get_by_label(name).click();
        h.run();
        assert_eq!(h.state_mut().pop(), Some(answer), "{name}");
        assert!(h.state().is_empty(), "{name} did two things");
    }
    h.get_by_label("Redo").click();
    h.run();
    assert!(h.state().is_empty(), "redo has nothing to bring back");
}

#[test]
fn the_strip_s_blocks_never_overlap_however_long_the_names_are() {
    for width in [640.0, 899.0, 900.0, 1024.0, 1180.0, 1280.0, 1920.0] {
        let h = harness((width, 640.0), (), |ui, ()| {
            let layout = Layout::of(ui.ctx().content_rect().size());
            let mut info = info();
            info.strip.vehicle =
                Some("A vehicle whose name somebody made far longer than any strip can hold");
            info.strip.stereo = "A stereo of which the same is true, and then some more";
            info.strip.saved = "Saved 21:14 to a folder with a very long name, edited since";
            info.strip.link.port = "/dev/serial/by-id/usb-with-a-name-of-its-own-port0";
            let _ = frame(ui, &layout, &info);
        });
        let mut places: Vec<_> = h
            .get_all_by_role(Role::Button)
            .map(|n| (n.accesskit_node().label().unwrap_or_default(), n.rect()))
            .filter(|(_, r)| r.bottom() <= 52.0)
            .collect();
        assert!(places.len() >= 5, "{width}: {places:?}");
        places.sort_by(|a, b| a.1.left().total_cmp(&b.1.left()));
        for pair in places.windows(2) {
            assert!(pair[0].1.right() <= pair[1].1.left() + 0.5, "{width}: {pair:?}");
        }
        assert!(places.iter().all(|(_, r)| r.right() <= width), "{width}: {places:?}");
    }
}

#[test]
fn a_narrow_window_keeps_undo_in_a_menu_and_views_in_a_drop_down() {
    let mut h = framed((640.0, 400.0));
    assert!(h.query_by_label("Undo name of Mute").is_none());
    h.get_by_label_contains("Vehicle Brindle Linnet 2008").click();
    h.run();
    h.get_by_label("Undo name of Mute").click();
    h.run();
    assert_eq!(h.state_mut().pop(), Some(FrameAnswer { undo: true, ..FrameAnswer::default() }));
    h.get_by_role_and_label(Role::ComboBox, "View").click();
    h.run();
    h.get_by_label("Click").click();
    h.run();
    assert_eq!(h.state_mut().pop(), Some(FrameAnswer { view: Some(1), ..FrameAnswer::default() }));
}

#[test]
fn tab_walks_the_frame_and_enter_does_what_a_click_does() {
    let mut h = framed((1280.0, 800.0));
    let mut steps = 0;
    while !h.get_by_label("Learn, 4 of 7 learned").is_focused() {
        h.key_press(Key::Tab);
        h.run();
        steps += 1;
        assert!(steps < 30, "Tab never reaches the rail");
    }
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(h.state_mut().pop().and_then(|a| a.station), Some(2));
}

#[test]
fn arrows_move_the_switch_and_the_focus_together() {
    let mut h = harness((400.0, 100.0), 0_usize, |ui, at| {
        if let Some(new) = segments(ui, "Circuit view", &["Sense", "Output", "Supply"], *at) {
            *at = new;
        }
    });
    h.get_by_label("Sense").focus();
    h.run();
    for (key, wanted) in [
        (Key::ArrowLeft, 0),
        (Key::ArrowRight, 1),
        (Key::ArrowRight, 2),
        (Key::ArrowRight, 2),
        (Key::ArrowLeft, 1),
    ] {
        h.key_press(key);
        h.run();
        assert_eq!(*h.state(), wanted, "{key:?}");
    }
    let output = h.get_by_label("Output");
    assert!(output.is_focused());
    assert_eq!(output.accesskit_node().toggled(), Some(Toggled::True));
}

#[test]
fn a_switch_without_room_becomes_a_drop_down_that_does_the_same() {
    let mut h = harness((150.0, 300.0), 0_usize, |ui, at| {
        if let Some(new) = segments(ui, "Circuit view", &["Sense", "Output", "Supply"], *at) {
            *at = new;
        }
    });
    h.get_by_role_and_label(Role::ComboBox, "Circuit view").click();
    h.run();
    h.get_by_label("Supply").click();
    h.run();
    assert_eq!(*h.state(), 2);
    assert!(h.query_by_label("Sense").is_none(), "the list is closed again");
}

fn series<'a>() -> Harness<'a, Option<usize>> {
    harness((400.0, 400.0), Some(1), |ui, at: &mut Option<usize>| {
        let items = ["E12", "E24", "E48", "E96"];
        if let Some(new) = Drop::new("Series", &items, *at).show(ui).chosen {
            *at = Some(new);
        }
    })
}

#[test]
fn a_drop_down_is_operated_with_the_keys_alone() {
    let mut h = series();
    assert_eq!(h.get_by_label("Series").value().as_deref(), Some("E24"));
    h.get_by_label("Series").focus();
    h.run();
    h.key_press(Key::ArrowDown); // opens
    h.run();
    assert!(h.query_by_label("E96").is_some(), "an arrow opens the list");
    h.key_press(Key::ArrowDown);
    h.run();
    h.key_press(Key::ArrowDown);
    h.run();
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(*h.state(), Some(3));
    assert!(h.query_by_label("E12").is_none(), "Enter closes the list");
    assert!(h.get_by_label("Series").is_focused());
}

#[test]
fn a_drop_down_opened_by_the_pointer_is_walked_with_the_keys() {
    let mut h = series();
    let at = h.get_by_label("Series").rect().center();
    h.hover_at(at);
    h.run();
    h.drag_at(at);
    h.drop_at(at);
    h.run();
    assert!(h.query_by_label("E96").is_some(), "a click opens the list");
    h.key_press(Key::ArrowDown);
    h.run();
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(*h.state(), Some(2));
    assert!(h.query_by_label("E12").is_none(), "Enter closes the list");
    h.get_by_label("Series").click();
    h.run();
    h.get_by_label("E96").click();
    h.run();
    assert_eq!(*h.state(), Some(3));
    assert!(!h.get_by_label("Series").is_focused(), "Enter is the acting button's again");
}

#[test]
fn escape_leaves_a_drop_down_as_it_was() {
    let mut h = series();
    h.get_by_label("Series").focus();
    h.run();
    h.key_press(Key::Enter); // opens, like a click
    h.run();
    h.key_press(Key::Home);
    h.run();
    h.key_press(Key::Escape);
    h.run();
    assert_eq!(*h.state(), Some(1));
    assert!(h.query_by_label("E12").is_none());
}

#[test]
fn a_drop_down_with_nothing_to_choose_or_a_wrong_choice_stays_quiet() {
    let mut h = harness((300.0, 200.0), (), |ui, ()| {
        let none = Drop::new("Empty", &[], Some(3)).empty("No ports").show(ui);
        assert_eq!(none.chosen, None);
        let gone = Drop::new("Gone", &["a"], Some(7)).show(ui);
        assert_eq!(gone.chosen, None);
    });
    h.get_by_label("Empty").focus();
    h.run();
    h.key_press(Key::ArrowDown);
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(h.get_by_label("Empty").value().as_deref(), Some("No ports"));
    assert_eq!(h.get_by_label("Gone").value().as_deref(), Some("Choose"));
}

#[test]
fn a_field_takes_text_by_its_name_and_says_when_it_is_wrong() {
    let mut h = harness((300.0, 100.0), String::new(), |ui, text| {
        let wrong = text.parse::<f64>().is_err().then_some("Not a number of ohms");
        Field::new(text, "Sense resistor").unit("Ω").error(wrong).show(ui);
    });
    h.get_by_label("Sense resistor").focus();
    h.run();
    h.get_by_label("Sense resistor").type_text("1240");
    h.run();
    assert_eq!(h.state(), "1240");
}

#[test]
fn a_disabled_button_and_a_key_in_a_field_do_nothing() {
    let mut h = harness((400.0, 200.0), (0, 0, String::new()), |ui, (clicks, keys, text)| {
        if ui.add(Button::line("Connect").enabled(false)).clicked() {
            *clicks += 100;
        }
        if ui.add(Button::act("Take").key("T").name("Take for Mute")).clicked() {
            *clicks += 1;
        }
        Field::new(text, "Name").show(ui);
        if key_pressed(ui, Modifiers::NONE, Key::T) {
            *keys += 1;
        }
    });
    h.get_by_label("Connect").click();
    h.run();
    h.get_by_label("Take for Mute").click();
    h.run();
    assert_eq!(h.state().0, 1);
    h.key_press(Key::T);
    h.run();
    assert_eq!(h.state().1, 1, "the key acts from anywhere");
    h.get_by_label("Name").focus();
    h.run();
    h.key_press(Key::T);
    h.run();
    assert_eq!(h.state().1, 1, "but not while a name is typed");
}

#[test]
fn a_notice_grows_for_its_words_and_its_action_answers() {
    let long = "It settled at 552, on Source's rung, 540 to 614, and that is told at such length that no \
                single line of a narrow window could hold it.";
    for (width, least, most) in [(1004.0, 42.0, 62.0), (536.0, 62.0, 82.0)] {
        let mut h = harness((width, 300.0), 0, |ui, acted| {
            let notice = |level, head, body, action| Notice { level, head, body, action };
            let all = [
                notice(NoticeLevel::Stop, "Not taken.", long, Some(("Take for Source", Some("Alt 1")))),
                notice(NoticeLevel::Note, "Second.", "", Some(("Take for Source", None))),
                notice(NoticeLevel::Caution, "Third.", "", None),
            ];
            if let Some(i) = notices(ui, &all) {
                *acted = i + 1;
            }
        });
        let high = h.get_by_label_contains("It settled at 552").rect().height();
        assert!((least..=most).contains(&high), "{width}: {high}");
        assert!(h.query_by_label("Third.").is_none());
        assert!(h.query_by_value("1 more").is_some() || h.query_by_label("1 more").is_some());
        let second = h.get_all_by_label("Take for Source").nth(1).map(|n| n.rect().center());
        h.get_all_by_label("Take for Source").nth(1).expect("two actions").click();
        h.run();
        assert_eq!(*h.state(), 2, "{second:?}");
    }
}

#[test]
fn what_is_drawn_is_also_told() {
    let h = harness((800.0, 500.0), (), |ui, ()| {
        StatePanel {
            state: PanelState::Settling(f32::NAN),
            button: Some(4),
            word: "Settling",
            figure: "556",
            unit: "counts",
            note: "0.18 s of 0.30 s",
        }
        .show(ui, state_panel::MEDIUM);
        let mark = |state, label, reading| PressMark { state, label, reading };
        let marks = [
            mark(MarkState::Done, "firm", "552"),
            mark(MarkState::Current(2.0), "slow", ""),
            mark(MarkState::Refused, "light", ""),
            mark(MarkState::ToCome, "", ""),
        ];
        press_marks(ui, egui::pos2(100.0, 300.0), 28.0, &marks);
        check(ui, true, "Tones");
        Progress {
            words: "Writing image 7",
            count: "612 of 896 bytes",
            share: 0.68,
            stages: &[0.5, f32::NAN],
            can_cancel: true,
        }
        .show(ui);
    });
    for name in [
        "Settling 556 counts, 0.18 s of 0.30 s",
        "Press 1 of 4, firm, taken at 552",
        "Press 2 of 4, slow, now",
        "Press 3 of 4, light, not taken, again",
        "Press 4 of 4, to come",
        "Tones",
        "Writing image 7, 612 of 896 bytes",
        "Cancel",
    ] {
        assert!(h.query_by_label(name).is_some(), "{name}");
    }
}
