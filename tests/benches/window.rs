//! What the window costs: a frame of Learn (layout and tessellation) with a minute to two hours at
//! 1 kHz on two wires wholly in view, and what the model does whenever readings come.
//! Run with `cargo bench --bench window`.
//!
//! glibc hands the end of the heap back to the system when it is freed. Where a frame's own memory
//! lies there, each frame fetches it anew, up to 0.7 ms that no code of ours spends; whether it does
//! is chance. `MALLOC_TOP_PAD_=67108864 MALLOC_TRIM_THRESHOLD_=1000000000
//! MALLOC_MMAP_THRESHOLD_=1000000000` before the command keeps it out of the figures.

mod van;

use std::hint::black_box;
use std::path::PathBuf;

use criterion::{BatchSize, BenchmarkId, Criterion, criterion_group, criterion_main};
use egui::{Event, Pos2, RawInput, Rect, Vec2, vec2};
use spokewire::app::{Action, Effect, FileAction, LearnAction, LearnView, LinkAction, Model, Now, Station};
use spokewire::bands::{Press, RestLevel, Touch};
use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::demo::VirtualWheel;
use spokewire::link::{Batch, DemoTouch, Report, Request, Target};
use spokewire::project::{Button, ButtonId, LearnedButton, Project};
use spokewire::view::theme::{Theme, ThemeKind, install};
use spokewire::view::{Drafts, window_ui};

use van::van;

/// The window's first size, in points, at one pixel to a point.
const SIZE: Vec2 = vec2(1280.0, 800.0);

/// Readings that have come when the window wakes: a sixtieth of a second at 1 kHz, less one.
const BATCH: usize = 15;

/// A minute of readings.
const MINUTE: usize = 60_000;

/// Readings from press to press while nobody is asked for one.
const PRESS_EVERY: usize = 6_000;

/// A model that readings come to, from a wheel that does what the model asks.
struct Bench {
    model: Model,
    wheel: VirtualWheel,
    readings: usize,
}

impl Bench {
    /// The demo van's project, or this one, joined to the van's wheel.
    fn new(project: Option<String>) -> Self {
        let mut plan = van(2);
        // All of the demo project's buttons are on its first wire; the second one rests.
        plan.buttons.iter_mut().for_each(|button| button.wire = 1);
        let mut bench = Self { model: Model::default(), wheel: VirtualWheel::new(plan, 11), readings: 0 };
        match project {
            None => bench.act(Action::File(FileAction::Demo)),
            Some(text) => bench.act(Action::File(FileAction::Loaded {
                path: PathBuf::from("van.ron"),
                text: Ok(text),
                elsewhere: false,
            })),
        }
        bench.act(Action::Go(Station::Learn));
        let target = Target::Demo { speed: 1 };
        bench.act(Action::Link(LinkAction::Report(Report::Connected { target, rate: None, wires: 2 })));
        bench
    }

    fn act(&mut self, action: Action) {
        for effect in self.model.update(action) {
            match effect {
                Effect::Link(Request::Demo(DemoTouch::Press { button, touch })) => {
                    self.wheel.press(button, touch);
                }
                Effect::Link(Request::Demo(DemoTouch::Release)) => self.wheel.release(),
                _ => {}
            }
        }
    }

    fn next_batch(&mut self) -> Action {
        let readings = (0..BATCH).map(|_| self.wheel.next()).collect();
        self.readings += BATCH;
        let batch = Batch { readings, broken_lines: 0, lost_readings: 0 };
        Action::Link(LinkAction::Report(Report::Readings(batch)))
    }

    /// What happens at every wake before the window draws.
    fn wake(&mut self) {
        let now = Now { ms: self.readings as f64, clock: "21:14".to_owned(), date: String::new() };
        self.act(Action::Tick(now));
        let batch = self.next_batch();
        self.act(batch);
    }

    fn session_is_over(&self) -> bool {
        self.model.learn.session.as_ref().is_none_or(|session| session.is_over())
    }

    /// Starts a session for all buttons, pressed by the demo's hand.
    fn start(&mut self) {
        self.act(Action::Learn(LearnAction::View(LearnView::Prompted)));
        self.act(Action::Learn(LearnAction::Start(None)));
        self.act(Action::Learn(LearnAction::Hand(true)));
    }

    /// Like [`Bench::wake`], with a session that begins again whenever it is over.
    fn wake_learning(&mut self) {
        if self.session_is_over() {
            self.start();
        }
        self.wake();
    }

    /// Like [`Bench::wake`], with a button pressed now and then that nobody asked for.
    fn wake_pressing(&mut self) {
        let at = self.readings % PRESS_EVERY;
        if at < BATCH {
            self.wheel.press(self.readings / PRESS_EVERY % 7, Touch::Firm);
        } else if (1_200..1_200 + BATCH).contains(&at) {
            self.wheel.release();
        }
        self.wake();
    }

    /// Shows all of the recording.
    fn look_at_all(&mut self) {
        let span_ms = self.readings as f64;
        self.act(Action::Learn(LearnAction::Look { end_ms: None, span_ms }));
    }

    /// Readings for so many minutes, with a press every few seconds.
    fn filled(project: &str, minutes: usize) -> Self {
        let mut bench = Self::new(Some(project.to_owned()));
        while bench.readings < minutes * MINUTE {
            bench.wake_pressing();
        }
        bench.wheel.release();
        bench
    }

    /// Click: a stretch is picked from the last press.
    fn clicking(&mut self) {
        self.act(Action::Learn(LearnAction::View(LearnView::Click)));
        self.act(Action::Learn(LearnAction::Drag {
            wire: 0,
            from_ms: self.readings as f64 - PRESS_EVERY as f64,
            to_ms: self.readings as f64,
        }));
        self.look_at_all();
    }

    /// Prompted: the session has counted some presses and is not at its end.
    fn prompted(&mut self) {
        self.start();
        let marks = self.model.learn.marks.len();
        while self.model.learn.marks.len() < marks + 4 {
            self.wake();
        }
        self.look_at_all();
    }
}

/// The demo van as a project file, all of it learned by prompting on its own wheel.
fn learned_van() -> String {
    let mut bench = Bench::new(None);
    bench.start();
    while !bench.session_is_over() {
        bench.wake();
    }
    let project = bench.model.project().cloned().unwrap_or_else(|| Project::new("", ""));
    assert_eq!(project.learned.len(), 7, "all are learned, or this measures something else");
    spokewire::project::write(&project)
}

/// The window without a screen.
struct Screen {
    ctx: egui::Context,
    drafts: Drafts,
    s: f64,
}

impl Screen {
    fn new() -> Self {
        let ctx = egui::Context::default();
        install(&ctx, &Theme::new(ThemeKind::Dark));
        Self { ctx, drafts: Drafts::default(), s: 0.0 }
    }

    /// The first frames lay out all the text, and fill the fonts' atlas.
    fn warm_up(&mut self, model: &Model) {
        for _ in 0..3 {
            let _: usize = self.frame(model);
        }
    }

    /// One frame, with the pointer over the trace. Gives how many corners it was cut into.
    fn frame(&mut self, model: &Model) -> usize {
        self.s += 1.0 / 60.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, SIZE)),
            time: Some(self.s),
            events: vec![Event::PointerMoved(egui::pos2(500.0, 400.0))],
            ..RawInput::default()
        };
        let Self { ctx, drafts, .. } = self;
        let mut output = ctx.run_ui(input, |ui| {
            black_box(window_ui(ui, model, drafts));
        });
        output.textures_delta.clear();
        let primitives = ctx.tessellate(output.shapes, output.pixels_per_point);
        let corners = |primitive: &egui::ClippedPrimitive| match &primitive.primitive {
            egui::epaint::Primitive::Mesh(mesh) => mesh.vertices.len(),
            egui::epaint::Primitive::Callback(_) => 0,
        };
        black_box(&primitives).iter().map(corners).sum()
    }
}

const SPANS: [(&str, usize); 4] = [("1 min", 1), ("10 min", 10), ("1 h", 60), ("2 h", 120)];

fn frames(criterion: &mut Criterion) {
    let project = learned_van();
    let mut group = criterion.benchmark_group("a frame of Learn, 1280 x 800, all in view");
    for (span, minutes) in SPANS {
        let mut bench = Bench::filled(&project, minutes);
        for view in ["Click", "Prompted"] {
            let is_click = view == "Click";
            if is_click {
                bench.clicking();
            } else {
                bench.prompted();
            }
            let mut screen = Screen::new();
            screen.warm_up(&bench.model);
            println!("{view}, {span}: {} corners", screen.frame(&bench.model));
            group.bench_function(BenchmarkId::new(view, span), |bencher| {
                bencher.iter(|| {
                    if is_click {
                        bench.wake();
                    } else {
                        bench.wake_learning();
                    }
                    screen.frame(&bench.model)
                });
            });
        }
    }
    // The most marks the trace keeps.
    let mut bench = Bench::new(Some(project));
    while bench.readings < 60 * MINUTE {
        bench.wake_learning();
    }
    bench.look_at_all();
    let mut screen = Screen::new();
    screen.warm_up(&bench.model);
    println!("{} marks: {} corners", bench.model.learn.marks.len(), screen.frame(&bench.model));
    group.bench_function(BenchmarkId::new("Prompted", "1 h of nothing but learning"), |bencher| {
        bencher.iter(|| {
            bench.wake_learning();
            screen.frame(&bench.model)
        });
    });
    group.finish();
}

fn wakes(criterion: &mut Criterion) {
    let project = learned_van();
    let mut group = criterion.benchmark_group("15 readings come to the model");
    let mut measure = |name: &str, bench: &mut Bench| {
        group.bench_function(name, |bencher| {
            // Its own wheel gives the readings, so that what is timed is the model alone.
            let cell = std::cell::RefCell::new(&mut *bench);
            bencher.iter_batched(
                || cell.borrow_mut().next_batch(),
                |batch| cell.borrow_mut().model.update(batch),
                BatchSize::PerIteration,
            );
        });
    };
    let mut bench = Bench::filled(&project, 1);
    measure("no session", &mut bench);
    bench.start();
    bench.act(Action::Learn(LearnAction::Hand(false)));
    while bench.model.learn.session.as_ref().is_some_and(|session| session.rests().is_empty()) {
        bench.wake();
    }
    measure("a press is waited for", &mut bench);
    bench.wheel.press(3, Touch::Firm);
    (0..100).for_each(|_| bench.wake());
    measure("a press is held", &mut bench);
    group.finish();
}

/// Sixteen buttons, three presses each.
fn sixteen() -> Project {
    let mut project = Project::new("Sixteen", "Stereo");
    project.circuit = Some(Circuit {
        feed_monitor: None,
        filter: Default::default(),
        module: None,
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    });
    project.rests.insert(1, RestLevel { median_count: 1_010.0, spread_count: 0.9, readings: 1_500 });
    for index in 0..16_u32 {
        let id = ButtonId(format!("button_{index}"));
        let centre_count = 60.0 + 58.0 * f64::from(index);
        let presses = [-1.5, 0.0, 2.0].map(|off_count| Press {
            median_count: centre_count + off_count,
            spread_count: 0.9,
            readings: 900,
            touch: Touch::Firm,
            tally: Vec::new(),
        });
        let button = Button { id: id.clone(), name: id.0.clone(), wire: Some(1), meter_ohm: None };
        project.wheel.buttons.push(button);
        project.learned.insert(id, LearnedButton { presses: presses.to_vec(), indistinct_from: None });
    }
    project
}

fn changes(criterion: &mut Criterion) {
    let project = sixteen();
    let mut group = criterion.benchmark_group("after a press, 16 buttons");
    group.bench_function("bands", |bencher| bencher.iter(|| spokewire::project::bands(&project)));
    group.bench_function("findings", |bencher| bencher.iter(|| spokewire::findings::findings(&project)));
    group.finish();
}

criterion_group!(benches, frames, wakes, changes);
criterion_main!(benches);
