//! Every widget on one sheet, to look at: `cargo run --example parts -- dark`, `light` or `night`;
//! with a second word `frame`, the window's frame round an empty station. Drawn for 1280 × 800.

use eframe::egui;
use egui::{Align, Rangef, Rect, Stroke, Ui, UiBuilder, pos2, vec2};
use spokewire::view::theme::{Theme, ThemeKind, bold, install, mono, regular, size};
use spokewire::view::widgets::bracket::bracket;
use spokewire::view::widgets::button::{Button, row};
use spokewire::view::widgets::check::check;
use spokewire::view::widgets::drop::Drop;
use spokewire::view::widgets::field::Field;
use spokewire::view::widgets::frame::{FrameInfo, frame};
use spokewire::view::widgets::hatch::{self, Hatch};
use spokewire::view::widgets::head::HeadInfo;
use spokewire::view::widgets::icons::{GestureSign, Icon, gesture, icon};
use spokewire::view::widgets::keycap::keycap;
use spokewire::view::widgets::layout::{Layout, WidthClass};
use spokewire::view::widgets::node::{NodeState, node};
use spokewire::view::widgets::notice::{Notice, NoticeLevel, notices};
use spokewire::view::widgets::plate::{PlateMode, plate};
use spokewire::view::widgets::press_marks::{MarkState, PressMark, press_marks};
use spokewire::view::widgets::progress::Progress;
use spokewire::view::widgets::rail::RailStation;
use spokewire::view::widgets::segments::Segments;
use spokewire::view::widgets::state_panel::{self, PanelState, StatePanel};
use spokewire::view::widgets::strip::{LinkInfo, LinkState, StripInfo};
use spokewire::view::widgets::text;

const LEFT: f32 = 28.0;
const RIGHT: f32 = 672.0;
const HALF: f32 = 612.0;
const RIGHT_WIDE: f32 = 580.0;

struct Parts {
    framed: bool,
    focus_redo: bool,
    view: usize,
    series: Option<usize>,
    ohm: String,
    current: usize,
    note: bool,
    kind: ThemeKind,
}

impl eframe::App for Parts {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        if self.framed {
            self.frame_ui(ui);
        } else {
            self.sheet_ui(ui);
        }
    }
}

impl Parts {
    fn frame_ui(&mut self, ui: &mut Ui) {
        let layout = Layout::within(ui.max_rect());
        let truths = [
            ("Wheel", "Ladder, 7 buttons", NodeState::Done),
            ("Circuit", "Smallest gap 59 counts", NodeState::Done),
            ("Learn", "4 of 7 learned", NodeState::Part(0.6)),
            ("Codes", "2 codes", NodeState::Idle),
            ("Pair", "Nothing paired", NodeState::Idle),
            ("Box", "Box differs from project", NodeState::Caution),
            ("Sheet", "Not ready", NodeState::Idle),
        ];
        let keys = ["Ctrl 1", "Ctrl 2", "Ctrl 3", "Ctrl 4", "Ctrl 5", "Ctrl 6", "Ctrl 7"];
        let stations: Vec<_> = truths
            .iter()
            .zip(keys)
            .map(|(&(name, truth, state), key)| RailStation { name, truth, state, key })
            .collect();
        let info = FrameInfo {
            stations: &stations,
            current: Some(self.current),
            strip: StripInfo {
                vehicle: Some("Brindle Linnet 2008"),
                stereo: "Tarn R40",
                saved: "Saved 21:14, edited since",
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
                title: truths[self.current].0,
                sentence: "Hands on the wheel. Follow the name.",
                views: &["Prompted", "Click"],
                view: self.view,
            },
            reduced_motion: false,
        };
        let answer = frame(ui, &layout, &info);
        self.current = answer.station.unwrap_or(self.current);
        self.view = answer.view.unwrap_or(self.view);
        if answer.theme {
            self.kind = self.kind.next();
            install(ui, &Theme::new(self.kind));
        }
        prompt_ui(ui, &layout);
    }

    fn sheet_ui(&mut self, ui: &mut Ui) {
        let t = Theme::of(ui);
        ui.painter().rect_filled(ui.max_rect(), 0, t.face);
        buttons_part(ui, &t);
        stations_part(ui, &t);
        words_part(ui, &t);
        self.controls_part(ui, &t);
        states_part(ui, &t);
        notices_part(ui, &t);
        work_part(ui, &t);
    }

    fn controls_part(&mut self, ui: &mut Ui, t: &Theme) {
        let p = ui.painter().clone();
        let range = Rangef::new(LEFT, LEFT + HALF);
        bracket(&p, t, range, 624.0, "Controls: 28 dense, 36 usual, 46 acting", "");
        let at = |x, y, w, h| Rect::from_min_size(pos2(LEFT + x, y), vec2(w, h));
        Button::act("Pause")
            .key("Space")
            .icon(Icon::Pause)
            .height(46.0)
            .show_at(ui, at(0.0, 644.0, 150.0, 46.0));
        let redo = Button::line("Redo").key("R").height(46.0).show_at(ui, at(166.0, 644.0, 150.0, 46.0));
        if !self.focus_redo {
            redo.request_focus();
            self.focus_redo = true;
        }
        Button::line("Connect").height(46.0).enabled(false).show_at(ui, at(336.0, 644.0, 130.0, 46.0));
        let series = ["E12, 10 %", "E24, 5 %", "E24, 1 %", "E96, 1 %"];
        let drop = Drop::new("Series", &series, self.series).show_at(ui, at(482.0, 650.0, 130.0, 36.0));
        self.series = drop.chosen.or(self.series);
        let views = Segments::new("How to learn", &["Prompted", "Click"], self.view);
        self.view = views.show_at(ui, at(0.0, 706.0, 200.0, 36.0)).unwrap_or(self.view);
        keycap(&p, LEFT + 204.0, 724.0, Align::Min, "Ctrl 3", t.ink2);
        Field::new(&mut self.ohm, "Sense resistor").unit("Ω").show_at(ui, at(280.0, 706.0, 104.0, 36.0));
        let signs =
            [(GestureSign::Tap, "tap"), (GestureSign::Hold, "hold"), (GestureSign::DoubleTap, "double tap")];
        for (x, (sign, name)) in [402.0, 466.0, 530.0].into_iter().zip(signs) {
            gesture(&p, sign, pos2(LEFT + x, 724.0), t.ink);
            text::cap(&p, LEFT + x + 13.0, 724.0, Align::Min, name, regular(size::AXIS), t.ink2);
        }
        let icons = [
            Icon::Undo,
            Icon::Redo,
            Icon::Sound,
            Icon::Mute,
            Icon::Dark,
            Icon::Light,
            Icon::Night,
            Icon::Keys,
            Icon::Plug,
            Icon::Unplug,
            Icon::Listen,
            Icon::Print,
            Icon::File,
            Icon::Again,
            Icon::Skip,
            Icon::Pause,
            Icon::Play,
            Icon::Stop,
            Icon::Caution,
            Icon::StopSign,
            Icon::Note,
            Icon::Tick,
            Icon::Cross,
            Icon::Wheel,
        ];
        let mut x = LEFT + 12.0;
        for which in icons {
            icon(&p, which, pos2(x, 766.0), 0.95, t.ink);
            x += 25.6;
        }
        let note = Rect::from_min_size(pos2(RIGHT + 400.0, 764.0), vec2(180.0, 34.0));
        ui.scope_builder(UiBuilder::new().max_rect(note), |ui| {
            if check(ui, self.note, "Tones").clicked() {
                self.note = !self.note;
            }
        });
    }
}

/// Learn's upper part, to see the sizes of each width class.
fn prompt_ui(ui: &mut Ui, layout: &Layout) {
    let t = Theme::of(ui);
    let c = layout.content;
    let (high, r, name, mark, panel) = match layout.class {
        WidthClass::Wide => (168.0, 56.0, size::NAME, 28.0, state_panel::WIDE),
        WidthClass::Medium => (112.0, 42.0, size::NAME_MEDIUM, 20.0, state_panel::MEDIUM),
        WidthClass::Narrow => (78.0, 30.0, size::NAME_NARROW, 12.0, state_panel::NARROW),
    };
    let p = ui.painter().clone();
    let mid = c.top() + high / 2.0;
    plate(&p, &t, 4, pos2(c.left() + r * 1.04, mid), r, PlateMode::Measured);
    let x = c.left() + r * 2.3 + 10.0;
    text::cap(&p, x, mid, Align::Min, "Source", bold(name), t.ink);
    let marks = [
        PressMark { state: MarkState::Done, label: "firm", reading: "552" },
        PressMark { state: MarkState::Current(0.78), label: "slow", reading: "" },
        PressMark { state: MarkState::ToCome, label: "light", reading: "" },
    ];
    let usual = c.right() - panel.x - 40.0 - 3.0 * (2.0 * mark + 26.0) + mark;
    let first = if layout.class == WidthClass::Narrow { c.left() + 262.0 } else { usual };
    press_marks(ui, pos2(first, mid - mark * 0.4), mark, &marks);
    let place = Rect::from_min_size(pos2(c.right() - panel.x, c.top()), panel);
    StatePanel {
        state: PanelState::Settled,
        button: Some(4),
        word: "Settled",
        figure: "551",
        unit: "counts",
        note: "Let go when you like",
    }
    .show_at(ui, place);
    let below = Rect::from_min_max(pos2(c.left(), c.top() + high + 16.0), layout.work.max);
    ui.scope_builder(UiBuilder::new().max_rect(below), |ui| {
        notices(
            ui,
            &[
                Notice {
                    level: NoticeLevel::Stop,
                    head: "Not taken for Mute.",
                    body: "It settled at 552, on Source's rung, 540 to 614. Press Mute again.",
                    action: Some(("Take for Source", Some("Alt 1"))),
                },
                Notice {
                    level: NoticeLevel::Note,
                    head: "A newer copy was saved at 21:14.",
                    body: "",
                    action: None,
                },
                Notice { level: NoticeLevel::Note, head: "A third.", body: "", action: None },
            ],
        );
    });
    let buttons = [
        Button::act("Pause").key("Space").icon(Icon::Pause).height(layout.acting.height()),
        Button::line("Redo press").key("R").height(layout.acting.height()),
        Button::line("Skip").key("S").height(layout.acting.height()),
        Button::line("Stop").key("Esc").height(layout.acting.height()),
    ];
    let places = row(&p, layout.acting, &buttons, 12.0);
    for (button, place) in buttons.into_iter().zip(places) {
        button.show_at(ui, place);
    }
}

fn small(ui: &Ui, t: &Theme, x: f32, y: f32, words: &str) {
    text::cap(ui.painter(), x, y, Align::Min, words, regular(size::AXIS), t.ink2);
}

fn buttons_part(ui: &Ui, t: &Theme) {
    let p = ui.painter();
    let right = "Okabe and Ito's colours, eight shapes, one letter each";
    bracket(p, t, Rangef::new(LEFT, LEFT + HALF), 30.0, "Buttons", right);
    let mut at = pos2(LEFT + 30.0, 70.0);
    for i in 0..16 {
        plate(p, t, i, at, 18.0, PlateMode::Measured);
        at.x += 76.0;
        if i == 7 {
            at = pos2(LEFT + 30.0, 124.0);
        }
    }
    let words = "Colour repeats after 7, shape after 8: no pair repeats before button 56. Vermillion is kept for refusal.";
    small(ui, t, LEFT, 164.0, words);
    plate(p, t, 4, pos2(LEFT + 30.0, 200.0), 15.0, PlateMode::Measured);
    small(ui, t, LEFT + 54.0, 200.0, "measured");
    plate(p, t, 4, pos2(LEFT + 180.0, 200.0), 15.0, PlateMode::Planned);
    small(ui, t, LEFT + 204.0, 200.0, "planned");
    let well = Rect::from_min_size(pos2(LEFT + 316.0, 186.0), vec2(60.0, 28.0));
    p.rect_filled(well, 0, t.well);
    hatch::reject(p, t, well);
    small(ui, t, LEFT + 386.0, 200.0, "not accepted");
    let stop = Rect::from_min_size(pos2(LEFT + 484.0, 186.0), vec2(40.0, 28.0));
    hatch::alarm(p, t, stop, Hatch::STOP_LARGE);
    small(ui, t, LEFT + 532.0, 200.0, "stop, refused");
}

fn stations_part(ui: &Ui, t: &Theme) {
    let p = ui.painter();
    bracket(p, t, Rangef::new(LEFT, LEFT + HALF), 246.0, "Stations on the wire", "");
    let y = 288.0;
    p.line_segment([pos2(LEFT + 10.0, y), pos2(LEFT + 250.0, y)], Stroke::new(2.5, t.ink));
    let dotted = Stroke::new(2.5, t.edge);
    hatch::dashed_line(p, pos2(LEFT + 250.0, y), pos2(LEFT + 578.0, y), dotted, 3.0, 5.0);
    let states = [
        ("done", NodeState::Done),
        ("in hand", NodeState::Part(0.6)),
        ("not begun", NodeState::Idle),
        ("look here", NodeState::Caution),
        ("broken", NodeState::Stop),
    ];
    let mut x = LEFT + 30.0;
    for (name, state) in states {
        node(p, t, pos2(x, y), state, matches!(state, NodeState::Part(_)));
        text::cap(p, x, y + 32.0, Align::Center, name, regular(size::AXIS), t.ink2);
        x += 108.0;
    }
}

fn words_part(ui: &Ui, t: &Theme) {
    let p = ui.painter();
    bracket(p, t, Rangef::new(LEFT, LEFT + HALF), 356.0, "Three reading distances, B612", "");
    let put =
        |x: f32, y: f32, words: &str, font, ink| text::cap(p, LEFT + x, y, Align::Min, words, font, ink);
    put(0.0, 412.0, "Source", bold(64.0), t.ink);
    small(ui, t, LEFT + 250.0, 412.0, "glance: 64 to 76, bold. What to do now.");
    put(0.0, 470.0, "59 counts", bold(28.0), t.ink);
    put(160.0, 472.0, "Settled at 552", regular(21.0), t.ink);
    small(ui, t, LEFT + 340.0, 472.0, "arm's length: 21 to 28");
    put(0.0, 512.0, "Previous", bold(17.0), t.ink);
    put(92.0, 512.0, "Smallest gap", regular(15.0), t.ink);
    put(200.0, 512.0, "Readings used", regular(14.0), t.ink2);
    put(314.0, 512.0, "headroom 87 Ω", regular(12.5), t.ink2);
    small(ui, t, LEFT + 430.0, 512.0, "leaning in: 12.5 to 17");
    put(0.0, 548.0, "9A 65 68 97", mono(17.0), t.ink);
    small(ui, t, LEFT + 150.0, 548.0, "B612 Mono, for codes only. B612's own digits already line up.");
    put(0.0, 582.0, "Ω µ ± ≥ ≤ → ↑ × ° σ ∥ − ½ ·", regular(21.0), t.ink);
    small(ui, t, LEFT + 340.0, 582.0, "signs in use, all in B612");
}

fn states_part(ui: &mut Ui, t: &Theme) {
    let range = Rangef::new(RIGHT, RIGHT + RIGHT_WIDE);
    bracket(ui.painter(), t, range, 30.0, "What the prompt can say", "tone, colour, shape and word together");
    let states = [
        (PanelState::Waiting, "Press Source", "", "", "waiting for the wire to move"),
        (PanelState::Settling(0.6), "Settling", "556", "counts", "0.18 s of 0.30 s"),
        (PanelState::Settled, "Settled", "551", "counts", "Let go when you like"),
        (PanelState::Counted, "Counted", "2", "of 3", "551, spread 0.9"),
        (PanelState::Refused, "Not taken", "492", "counts", "On Previous's rung"),
        (PanelState::Done, "All learned", "7", "of 7", "Rest came back to 959"),
    ];
    let mut at = pos2(RIGHT, 50.0);
    for (i, (state, word, figure, unit, note)) in states.into_iter().enumerate() {
        let place = Rect::from_min_size(at, vec2(RIGHT_WIDE / 2.0 - 6.0, 114.0));
        ui.push_id(i, |ui| {
            StatePanel { state, button: Some(4), word, figure, unit, note }.show_at(ui, place);
        });
        at = if i % 2 == 0 { pos2(RIGHT + RIGHT_WIDE / 2.0 + 6.0, at.y) } else { pos2(RIGHT, at.y + 126.0) };
    }
}

fn notices_part(ui: &mut Ui, t: &Theme) {
    let range = Rangef::new(RIGHT, RIGHT + RIGHT_WIDE);
    bracket(ui.painter(), t, range, 446.0, "Notices: under the head, never over the work", "");
    let place = Rect::from_min_size(pos2(RIGHT, 462.0), vec2(RIGHT_WIDE, 140.0));
    ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
        ui.spacing_mut().item_spacing.y = 6.0;
        let all = [
            (NoticeLevel::Stop, "The port went away.", "Nothing learned is lost. Plug it back in.", None),
            (
                NoticeLevel::Caution,
                "Learned on laptop power.",
                "No feed monitor is wired.",
                Some(("Re-check", Some("V"))),
            ),
            (NoticeLevel::Note, "A newer copy was saved at 21:14.", "", None),
        ];
        for (i, (level, head, body, action)) in all.into_iter().enumerate() {
            Notice { level, head, body, action }.show(ui, &i.to_string());
        }
    });
}

fn work_part(ui: &mut Ui, t: &Theme) {
    let range = Rangef::new(RIGHT, RIGHT + RIGHT_WIDE);
    bracket(ui.painter(), t, range, 624.0, "Long work", "");
    let place = Rect::from_min_size(pos2(RIGHT, 644.0), vec2(RIGHT_WIDE, 40.0));
    ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
        Progress {
            words: "Writing image 7, slot B",
            count: "612 of 896 bytes",
            share: 0.68,
            stages: &[0.5],
            can_cancel: true,
        }
        .show(ui);
    });
    bracket(ui.painter(), t, range, 712.0, "Link", "");
    let links = [
        (0.0, Icon::Plug, t.ink, "ttyUSB0", "115 200 · 1000/s · 0 lost"),
        (218.0, Icon::Unplug, t.alarm_ink, "Port gone", "waiting for ttyUSB0"),
        (402.0, Icon::Plug, t.ink, "5.05 V", "vehicle power"),
    ];
    for (x, which, ink, first, second) in links {
        icon(ui.painter(), which, pos2(RIGHT + x + 14.0, 742.0), 1.1, ink);
        let at = RIGHT + x + 38.0;
        text::cap(ui.painter(), at, 734.0, Align::Min, first, bold(size::PROSE), ink);
        text::cap(ui.painter(), at, 753.0, Align::Min, second, regular(size::AXIS), t.ink2);
    }
}

fn main() -> eframe::Result {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let kind = match words.first().map(String::as_str) {
        Some("light") => ThemeKind::Light,
        Some("night") => ThemeKind::Night,
        _ => ThemeKind::Dark,
    };
    let framed = words.iter().any(|w| w == "frame");
    let number = |i: usize, usual: f32| words.get(i).and_then(|w| w.parse().ok()).unwrap_or(usual);
    let size = [number(2, 1280.0), number(3, 800.0)];
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default().with_inner_size(size).with_title("Parts"),
        ..Default::default()
    };
    eframe::run_native(
        "parts",
        options,
        Box::new(move |cc| {
            install(&cc.egui_ctx, &Theme::new(kind));
            Ok(Box::new(Parts {
                framed,
                focus_redo: false,
                view: 0,
                series: Some(2),
                ohm: "1240".to_owned(),
                current: 2,
                note: true,
                kind,
            }))
        }),
    )
}
