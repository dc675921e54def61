//! The window itself: drains what came in, draws, and carries out what the model asks for. The
//! only room that knows eframe, dialogs and clocks.

mod dialogs;
mod disk;
mod icon;
mod tape;

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::{Duration, Instant};

use crate::app::codes::list::ListAction;
use crate::app::{
    Action, BoxAction, CloseAction, CodesAction, Effect, FileAction, Level, LinkAction, Model, Notice, Now,
    PathPurpose, Station, TapeEffect, Topic,
};
use crate::files::{Places, Preferences, Theme as Side};
use crate::link::Link;
use crate::view::theme::{Theme, ThemeKind, install};
use crate::view::{Drafts, window_ui};
use crate::work::Desk;

use disk::{Disk, Job};
use tape::Tape;

/// Answers that wait to be taken: a person's files and dialogs, never readings.
const WAITING: usize = 256;

/// How often the window looks at the clock while nothing happens.
const TICK: Duration = Duration::from_millis(500);

/// How long one frame takes in what the link has to say, before it draws.
const DRAIN: Duration = Duration::from_millis(6);

/// The window's first size, in points.
const FIRST_SIZE: [f32; 2] = [1280.0, 800.0];

/// The least it can be made.
const LEAST_SIZE: [f32; 2] = [640.0, 400.0];

/// How the window begins.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// A file to open.
    pub file: Option<PathBuf>,
    /// Whether to open the demo van, already streaming.
    pub demo: bool,
    /// Where the program's own files live; the user's folders unless said.
    pub places: Option<Places>,
    /// How many times faster than life the demo runs.
    pub demo_speed: u32,
    /// Whether paths are typed and never asked for by the system's own dialogs, which no test can
    /// answer.
    pub typed_paths: bool,
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// Says why there is no window, and what to do.
pub fn run(options: Options) -> anyhow::Result<()> {
    let places = options.places.clone().or_else(Places::of_user);
    let (preferences, _) = places.as_ref().map(Preferences::read).unwrap_or_default();
    let size = preferences.window.map_or(FIRST_SIZE, |(width, height)| [width, height]);
    let native = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Spokewire")
            .with_app_id("spokewire")
            .with_icon(icon::icon())
            .with_inner_size(size)
            .with_min_inner_size(LEAST_SIZE),
        ..Default::default()
    };
    eframe::run_native("spokewire", native, Box::new(move |cc| Ok(Box::new(Shell::new(cc, options))))).map_err(|error| {
        let reason = error.to_string();
        let why = why_no_window(&reason);
        anyhow::anyhow!(
            "The window could not be opened: {why}. Check that a display is there (DISPLAY or WAYLAND_DISPLAY) and \
             that OpenGL 2 or later works; `spokewire --help` lists what works without a window."
        )
    })
}

/// What a person can use of the windowing library's reason: it begins with where in its own sources
/// it was, and may end in a full stop.
fn why_no_window(reason: &str) -> &str {
    let said = match reason.rsplit_once(".rs:") {
        Some((_, place_and_reason)) => place_and_reason.split_once(": ").map_or(reason, |(_, said)| said),
        None => reason,
    };
    said.trim_end_matches('.')
}

/// The running window.
pub struct Shell {
    model: Model,
    drafts: Drafts,
    link: Link,
    disk: Disk,
    tape: Option<Tape>,
    work: Desk,
    typed_paths: bool,
    inbox: Receiver<Action>,
    answers: SyncSender<Action>,
    begun: Instant,
    /// The theme that is installed.
    side: Option<Side>,
    /// The last size, to be remembered.
    size: Option<(f32, f32)>,
    closing: bool,
}

impl Shell {
    /// Begins with what is remembered, and what was asked for on the command line.
    #[must_use]
    pub fn new(cc: &eframe::CreationContext<'_>, options: Options) -> Self {
        let ctx = cc.egui_ctx.clone();
        // A slip on Ctrl Q would close a window with work in it.
        ctx.options_mut(|options| options.quit_shortcuts.clear());
        let (answers, inbox) = sync_channel(WAITING);
        let wake = {
            let ctx = ctx.clone();
            move || ctx.request_repaint()
        };
        let places = options.places.clone().or_else(Places::of_user);
        let disk = Disk::start(places, answers.clone(), wake.clone());
        let work = Desk::new(wake.clone());
        let link = Link::start(wake);
        let mut model = Model::default();
        model.demo_speed = options.demo_speed;
        let mut shell = Self {
            model,
            drafts: Drafts::default(),
            link,
            disk,
            tape: None,
            work,
            typed_paths: options.typed_paths,
            inbox,
            answers,
            begun: Instant::now(),
            side: None,
            size: None,
            closing: false,
        };
        shell.tick(&ctx);
        for action in shell.disk.remembered() {
            shell.act(&ctx, action);
        }
        shell.dress(&ctx);
        if options.demo {
            shell.act(&ctx, Action::File(FileAction::Demo));
        } else if let Some(file) = options.file {
            shell.act(&ctx, Action::File(FileAction::Open(file)));
        }
        shell
    }

    /// What the window shows.
    #[must_use]
    pub const fn model(&self) -> &Model {
        &self.model
    }

    /// Lets an action happen, and carries out what it asks for.
    pub fn act(&mut self, ctx: &egui::Context, action: Action) {
        for effect in self.model.update(action) {
            self.carry_out(ctx, effect);
        }
    }

    fn tick(&mut self, ctx: &egui::Context) {
        let ms = self.begun.elapsed().as_secs_f64() * 1e3;
        let now = jiff::ZonedDateTime::now();
        let (clock, date) = (now.strftime("%H:%M").to_string(), now.strftime("%Y-%m-%d").to_string());
        self.act(ctx, Action::Tick(Now { ms, clock, date }));
    }

    fn carry_out(&mut self, ctx: &egui::Context, effect: Effect) {
        match effect {
            Effect::Link(request) => {
                if let Err(error) = self.link.send(request) {
                    self.model.notices.show(Notice::new(
                        Topic::Link,
                        Level::Stop,
                        "The link is stuck.",
                        error.to_string(),
                    ));
                }
            }
            Effect::AskPath { purpose, .. } if self.typed_paths => {
                self.act(ctx, Action::File(FileAction::AskPath(purpose)));
            }
            Effect::AskPath { purpose, suggest } => {
                dialogs::ask(purpose, suggest, self.answers.clone(), ctx.clone());
            }
            Effect::Load(path) => self.disk.ask(Job::Load(path)),
            Effect::Save { path, project } => self.disk.ask(Job::Save { path, project }),
            Effect::WriteText { path, text } => self.disk.ask(Job::WriteText { path, text }),
            Effect::ReadList(path) => self.disk.ask(Job::ReadList(path)),
            Effect::WriteList { path, text } => self.disk.ask(Job::WriteList { path, text }),
            Effect::Autosave { original, project } => self.disk.ask(Job::Autosave { original, project }),
            Effect::DropAutosave => self.disk.ask(Job::DropAutosave),
            Effect::DropFound => self.disk.ask(Job::DropFound),
            Effect::Claim(path) => self.disk.ask(Job::Claim(path)),
            Effect::Remember(path) => self.disk.ask(Job::Remember(path)),
            Effect::KeepPreferences(preferences) => self.disk.ask(Job::KeepPreferences(preferences)),
            Effect::Tape(TapeEffect::Start { path, wires }) => {
                self.tape = Some(Tape::start(path, wires, self.answers.clone()));
            }
            Effect::Tape(TapeEffect::Write(readings)) => {
                if let Some(tape) = &self.tape {
                    tape.write(readings);
                }
            }
            Effect::Tape(TapeEffect::Stop) => self.tape = None,
            Effect::Compute { ticket, task } => self.work.start(ticket, task),
            Effect::StopComputing(kind) => self.work.stop(kind),
            Effect::Close => {
                self.closing = true;
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    /// Installs the theme that is preferred, if it isn't yet.
    fn dress(&mut self, ctx: &egui::Context) {
        let side = self.model.preferences.theme;
        if self.side != Some(side) {
            let kind = match side {
                Side::Dark => ThemeKind::Dark,
                Side::Light => ThemeKind::Light,
            };
            install(ctx, &Theme::new(kind));
            self.side = Some(side);
        }
    }

    /// Takes in what the link, the disk, the dialogs and long computations have to say.
    fn drain(&mut self, ctx: &egui::Context) {
        while let Ok(action) = self.inbox.try_recv() {
            self.act(ctx, action);
        }
        for news in self.work.news() {
            self.act(ctx, Action::Computed(news));
        }
        let broken = self.model.link.broken;
        let began = Instant::now();
        while let Some(report) = self.link.try_recv() {
            self.act(ctx, Action::Link(LinkAction::Report(report)));
            if began.elapsed() > DRAIN {
                // The rest waits for the next frame: the window answers first.
                ctx.request_repaint();
                break;
            }
        }
        if self.model.link.broken > broken
            && let Some(sample) = self.link.broken_sample()
        {
            self.act(ctx, Action::Link(LinkAction::BrokenSample(sample)));
        }
    }

    fn take_dropped_files(&mut self, ctx: &egui::Context) {
        let dropped: Vec<_> = ctx.input(|input| {
            input
                .raw
                .dropped_files
                .iter()
                .filter_map(|file| Some(file.path().to_owned()).filter(|path| !path.as_os_str().is_empty()))
                .collect()
        });
        if let Some(path) = dropped.into_iter().next() {
            let is_table = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"));
            let action = if is_table && self.model.station == Station::Codes {
                list_action(ListAction::ImportFrom(path))
            } else if is_table {
                Action::Link(LinkAction::Replay(path))
            } else {
                Action::File(FileAction::Open(path))
            };
            self.act(ctx, action);
        }
    }

    fn remember_size(&mut self, ctx: &egui::Context) {
        let size = ctx.content_rect().size();
        self.size = Some((size.x, size.y));
    }
}

impl eframe::App for Shell {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.tick(ctx);
        self.drain(ctx);
        self.take_dropped_files(ctx);
        if ctx.input(|input| input.viewport().close_requested()) && !self.closing {
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            self.act(ctx, Action::Close(CloseAction::Ask));
        }
        self.dress(ctx);
        let wanted = self.model.next_tick_ms().map(|ms| Duration::from_secs_f64(ms / 1e3));
        ctx.request_repaint_after(wanted.map_or(TICK, |wanted| wanted.min(TICK)));
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        self.remember_size(&ctx);
        for action in window_ui(ui, &self.model, &mut self.drafts) {
            self.act(&ctx, action);
            ctx.request_repaint();
        }
        self.dress(&ctx);
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        let mut preferences = self.model.preferences.clone();
        preferences.window = self.size.or(preferences.window);
        self.disk.ask(Job::KeepPreferences(Box::new(preferences)));
    }
}

/// The action that answers a dialog for this purpose.
fn path_action(purpose: PathPurpose, path: PathBuf) -> Action {
    match purpose {
        PathPurpose::Open => Action::File(FileAction::Open(path)),
        PathPurpose::Save => Action::File(FileAction::SaveTo(path)),
        PathPurpose::Tape => Action::File(FileAction::TapeTo(path)),
        PathPurpose::Replay => Action::Link(LinkAction::Replay(path)),
        PathPurpose::Header => Action::Box(BoxAction::SaveHeader(path)),
        PathPurpose::ImportCodes => list_action(ListAction::ImportFrom(path)),
        PathPurpose::ExportCodes => list_action(ListAction::ExportTo(path)),
    }
}

fn list_action(action: ListAction) -> Action {
    Action::Codes(CodesAction::List(action))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_that_cannot_open_says_why_without_a_place_in_somebodys_sources() {
        let said =
            "EventLoopError: os error at /crates/lib-0.1/src/linux/mod.rs:765: neither A nor B is set.";
        assert_eq!(why_no_window(said), "neither A nor B is set");
        assert_eq!(why_no_window("no OpenGL."), "no OpenGL");
    }
}
