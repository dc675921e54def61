//! The real program on a real screen: started under Xvfb, looked at, clicked, asked to close. No
//! window manager, no graphics card, no desktop. Needs the Debian packages named in [`PACKAGES`];
//! what is missing fails the test and says its package.
#![cfg(all(target_os = "linux", feature = "window"))]
#![expect(clippy::expect_used, clippy::panic, reason = "the helpers of a test may fail it")]

#[path = "real_window/screen.rs"]
mod screen;

use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use egui::{Pos2, Rect, pos2, vec2};
use spokewire::project;
use spokewire::view::theme::{Theme, ThemeKind};
use spokewire::view::widgets::layout::Layout;

use screen::{SIZE, Screen, Shot};

/// What the program and its screen need on Debian.
const PACKAGES: &str =
    "xvfb xdotool libx11-xcb1 libxcursor1 libxi6 libxkbcommon-x11-0 libgl1 libgl1-mesa-dri";

/// How long what must come may take, on a busy machine without a graphics card.
const PATIENCE: Duration = Duration::from_secs(30);

/// The running program.
struct Program {
    child: Child,
    log: std::path::PathBuf,
}

impl Program {
    /// Starts it with a home of its own.
    fn start(screen: &Screen, home: &Path, args: &[&str]) -> Self {
        let log = home.join("log");
        let file = std::fs::File::create(&log).expect("a log");
        let mut command = Command::new(env!("CARGO_BIN_EXE_spokewire"));
        command.args(args).stdin(Stdio::null()).stdout(Stdio::null()).stderr(file);
        command.env("DISPLAY", screen.name()).env("LIBGL_ALWAYS_SOFTWARE", "1").env("HOME", home);
        // No desktop's dialogs, and nothing of the user's.
        command.env_remove("WAYLAND_DISPLAY").env_remove("DBUS_SESSION_BUS_ADDRESS").env("PATH", "");
        for (name, folder) in [
            ("XDG_CONFIG_HOME", "config"),
            ("XDG_STATE_HOME", "state"),
            ("XDG_DATA_HOME", "data"),
            ("XDG_CACHE_HOME", "cache"),
            ("XDG_RUNTIME_DIR", "run"),
        ] {
            let folder = home.join(folder);
            std::fs::create_dir_all(&folder).expect("a folder");
            command.env(name, folder);
        }
        Self { child: command.spawn().expect("the program"), log }
    }

    fn said(&self) -> String {
        std::fs::read_to_string(&self.log).unwrap_or_default()
    }

    /// Its exit status, if it ends in time.
    fn ended(&mut self, within: Duration) -> Option<ExitStatus> {
        let end = Instant::now() + within;
        loop {
            let status = self.child.try_wait().expect("its status");
            if status.is_some() || Instant::now() > end {
                return status;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        if self.ended(Duration::ZERO).is_none() {
            drop(self.child.kill());
            drop(self.child.wait());
        }
    }
}

/// The program on its screen, its window in the corner and with the keyboard.
struct Seat {
    program: Program,
    screen: Screen,
}

impl Seat {
    fn start(home: &Path, args: &[&str]) -> Self {
        let screen = Screen::start();
        let program = Program::start(&screen, home, args);
        let mut seat = Self { program, screen };
        seat.wait("showing its window", |seat| seat.screen.find("Spokewire").is_some());
        let window = seat.screen.find("Spokewire").expect("its window");
        seat.screen.place(window);
        seat.wait("showing its first frame", |seat| is_dressed(&seat.screen.shot()));
        seat
    }

    fn wait(&mut self, what: &str, until: impl Fn(&Self) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !until(self) {
            if let Some(status) = self.program.ended(Duration::ZERO) {
                panic!(
                    "{what}: it ended with {status}. It needs {PACKAGES}. It said:\n{}",
                    self.program.said()
                );
            }
            assert!(
                Instant::now() < end,
                "{what}: not within {PATIENCE:?}. It said:\n{}",
                self.program.said()
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Waits until the picture in `rect` differs from `before` in more than a tenth of a percent.
    fn wait_for_change(&mut self, what: &str, before: &Shot, rect: Rect) -> Shot {
        self.wait(what, |seat| seat.screen.shot().changed(before, rect) > 0.001);
        // And the frames after it.
        std::thread::sleep(Duration::from_millis(300));
        self.screen.shot()
    }

    /// Asks the window to close, and gives how the program ended.
    fn close(&mut self) -> ExitStatus {
        let window = self.screen.find("Spokewire").expect("its window");
        self.screen.ask_to_close(window);
        let status = self.program.ended(Duration::from_secs(10));
        status.unwrap_or_else(|| panic!("it stays open. It said:\n{}", self.program.said()))
    }
}

fn layout() -> Layout {
    Layout::of(vec2(f32::from(SIZE.0), f32::from(SIZE.1)))
}

/// Where nothing but the window's face is, at every station: its edges beside and under the work.
fn bare() -> [Pos2; 3] {
    let layout = layout();
    let window = layout.window;
    [
        pos2(window.right() - 4.0, window.center().y),
        pos2(layout.head.center().x, window.bottom() - 4.0),
        pos2(window.left() + 5.0, window.center().y),
    ]
}

fn is_dressed(shot: &Shot) -> bool {
    let face = Theme::new(ThemeKind::Dark).face;
    bare().iter().all(|&at| shot.at(at) == face)
}

#[test]
fn the_window_starts_answers_key_and_click_saves_and_closes_in_order() {
    let home = tempfile::tempdir().unwrap();
    let mut seat = Seat::start(home.path(), &[]);
    let work = layout().content;
    let start = seat.screen.shot();
    assert!(start.colours(start.rect()) > 20, "there are words and lines: {}", start.colours(start.rect()));

    seat.screen.key("d");
    let learn = seat.wait_for_change("opening the demo", &start, work);
    assert!(learn.colours(work) > 20 && is_dressed(&learn));
    seat.wait("its trace moving", |seat| seat.screen.shot().changed(&learn, work) > 0.001);

    let codes = layout().node(3);
    let learn = seat.screen.shot();
    seat.screen.click(codes);
    seat.wait("showing Codes, where nothing moves", |seat| {
        let first = seat.screen.shot();
        std::thread::sleep(Duration::from_millis(250));
        first.changed(&learn, work) > 0.01 && seat.screen.shot().changed(&first, work) == 0.0
    });
    let codes = seat.screen.shot();
    assert!(codes.colours(work) > 20 && is_dressed(&codes));

    // No desktop has a dialog here: a path is asked for, and typed.
    let file = home.path().join("van.ron");
    seat.screen.key("ctrl+s");
    let asked = seat.wait_for_change("asking for a path", &codes, work);
    seat.screen.write(file.to_str().unwrap());
    seat.wait_for_change("showing the path", &asked, work);
    seat.screen.key("Return");
    seat.wait("saving", |_| file.exists());
    let saved = project::read(&std::fs::read_to_string(&file).unwrap()).unwrap().project;
    assert_eq!(saved, spokewire::demo::demo_project());

    let status = seat.close();
    assert_eq!(status.code(), Some(0), "{status}. It said:\n{}", seat.program.said());
    assert!(!seat.program.said().contains("panicked"), "{}", seat.program.said());
    assert!(home.path().join("config/spokewire/preferences.ron").exists(), "what it prefers is kept");
    let copies = std::fs::read_dir(home.path().join("state/spokewire/unsaved"));
    assert_eq!(copies.map_or(0, Iterator::count), 0, "no copy of unsaved work is left");
}

#[test]
fn the_demo_starts_already_streaming_and_a_file_opens_from_the_command_line() {
    let home = tempfile::tempdir().unwrap();
    let work = layout().content;
    let mut seat = Seat::start(home.path(), &["--demo"]);
    let first = seat.screen.shot();
    seat.wait("its trace moving", |seat| seat.screen.shot().changed(&first, work) > 0.001);
    assert_eq!(seat.close().code(), Some(0), "{}", seat.program.said());
    drop(seat);

    let file = home.path().join("van.ron");
    std::fs::write(&file, project::write(&spokewire::demo::demo_project())).unwrap();
    let mut seat = Seat::start(home.path(), &[file.to_str().unwrap()]);
    // No sheet, no trace: it is the file and nothing streams. Then the look is changed by a click.
    let dark = seat.screen.shot();
    let look = pos2(layout().strip.right() - 16.0 - 1.5 * 40.0, layout().strip.center().y);
    seat.screen.click(look);
    let face = Theme::new(ThemeKind::Light).face;
    seat.wait("turning light", |seat| bare().iter().all(|&at| seat.screen.shot().at(at) == face));
    assert!(seat.screen.shot().changed(&dark, dark.rect()) > 0.9);
    assert_eq!(seat.close().code(), Some(0), "{}", seat.program.said());
}
