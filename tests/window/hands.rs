//! Hands and eyes on the real window, headless: everything is done by accessible names and keys, and
//! what the window says is read from its accessibility tree. The model is only looked at. The link,
//! the disk and the dialogs run in their own threads and in real time, so whatever must come is
//! waited for.
#![expect(clippy::expect_used, clippy::panic, reason = "the helpers of a test may fail it")]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::accessibility::is_input;
use egui::accesskit::{Action, Role};
use egui::{
    DroppedFile, Event, Key, Modifiers, PointerButton, Pos2, Rect, ViewportCommand, ViewportEvent,
    ViewportId, vec2,
};
use egui_kittest::kittest::NodeT as _;
use egui_kittest::{Harness, Node};
use spokewire::app::Model;
use spokewire::files::Places;
use spokewire::project::{self, Project};
use spokewire::shell::{Options, Shell};

/// How long a test waits for what must come.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// Between two frames.
const FRAME: Duration = Duration::from_millis(4);

/// With Ctrl.
pub(crate) const CTRL: Modifiers = Modifiers { ctrl: true, command: true, ..Modifiers::NONE };

/// With Ctrl and Shift.
pub(crate) const CTRL_SHIFT: Modifiers = Modifiers { shift: true, ..CTRL };

/// A running window.
pub(crate) struct Bench {
    harness: Harness<'static, Shell>,
    closed: bool,
}

impl Bench {
    /// The window as it starts, its own files under `root`, the demo twenty times faster than life.
    pub(crate) fn open(root: &Path) -> Self {
        Self::start(root, (1280.0, 800.0), Options { demo_speed: 20, ..Options::default() })
    }

    /// The same with other options and another size in points.
    pub(crate) fn start(root: &Path, size: (f32, f32), options: Options) -> Self {
        let options = Options { places: Some(Places::under(root)), typed_paths: true, ..options };
        let harness = Harness::builder()
            .with_size(vec2(size.0, size.1))
            .with_step_dt(1.0 / 60.0)
            .build_eframe(|cc| Shell::new(cc, options));
        Self { harness, closed: false }
    }

    /// What the window shows; to be looked at, never to be changed.
    pub(crate) fn model(&self) -> &Model {
        self.harness.state().model()
    }

    /// The open project.
    pub(crate) fn project(&self) -> &Project {
        self.model().project().expect("a project is open")
    }

    /// Whether the window has closed itself.
    pub(crate) fn is_closed(&self) -> bool {
        self.closed
    }

    /// A frame for each event that waits, or one.
    pub(crate) fn step(&mut self) {
        self.harness.step();
        let output = self.harness.output().viewport_output.get(&ViewportId::ROOT);
        self.closed |= output.is_some_and(|output| output.commands.contains(&ViewportCommand::Close));
    }

    /// Frames until it is so.
    pub(crate) fn wait(&mut self, what: &str, until: impl Fn(&Self) -> bool) {
        let end = Instant::now() + PATIENCE;
        loop {
            self.step();
            if until(self) {
                self.harness.check_accessibility();
                return;
            }
            assert!(
                Instant::now() < end,
                "{what}: not within {PATIENCE:?}. The window says:\n{}",
                self.all_said()
            );
            std::thread::sleep(FRAME);
        }
    }

    /// Frames until the window says this, whole or in part.
    pub(crate) fn wait_to_say(&mut self, words: &str) {
        self.wait(&format!("saying \"{words}\""), |bench| bench.says(words));
    }

    /// Frames for this long.
    pub(crate) fn pass(&mut self, time: Duration) {
        let end = Instant::now() + time;
        while Instant::now() < end {
            self.step();
            std::thread::sleep(FRAME);
        }
    }

    /// Every node of the accessibility tree.
    pub(crate) fn nodes(&self) -> impl Iterator<Item = Node<'_>> {
        self.harness.root().children_recursive()
    }

    /// Whether any node says this, whole or in part.
    pub(crate) fn says(&self, words: &str) -> bool {
        self.nodes().any(|node| said(&node).contains(words))
    }

    /// Everything the window says, for a test that failed.
    pub(crate) fn all_said(&self) -> String {
        let said = self.nodes().map(|node| format!("{:?}: {}", node.accesskit_node().role(), said(&node)));
        said.filter(|line| !line.ends_with(": ")).collect::<Vec<_>>().join("\n")
    }

    /// Whether there is a control of this name, and it can be used.
    pub(crate) fn can(&self, name: &str) -> bool {
        self.control(name).is_some_and(|node| !node.accesskit_node().is_disabled())
    }

    /// Whether there is a control of this name.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.control(name).is_some()
    }

    /// The one control of this name. What a curve says of the place under the pointer isn't part of it: that
    /// goes and comes as one scrolls.
    fn control(&self, name: &str) -> Option<Node<'_>> {
        let own = |said: &str| said.split(" Pointing at ").next().unwrap_or_default().to_owned();
        let name_own = own(name);
        let mut found = self.nodes().filter(|node| is_control(node) && own(&said(node)) == name_own);
        let first = found.next();
        assert!(found.next().is_none(), "two controls are called \"{name}\"");
        first
    }

    /// Where the control of this name is.
    pub(crate) fn place(&self, name: &str) -> Rect {
        self.control(name).unwrap_or_else(|| panic!("no \"{name}\" in:\n{}", self.all_said())).rect()
    }

    /// Where the trace is.
    pub(crate) fn trace(&self) -> Rect {
        let is_trace =
            |node: &Node<'_>| node.accesskit_node().role() == Role::Canvas && said(node).starts_with("Wire ");
        self.nodes().find(is_trace).expect("a trace").rect()
    }

    /// Where the first node that begins with these words is.
    fn place_of(&self, words: &str) -> Rect {
        let node = self.nodes().find(|node| said(node).starts_with(words));
        node.unwrap_or_else(|| panic!("nothing says \"{words}\" in:\n{}", self.all_said())).rect()
    }

    /// Waits until the control can be used, scrolls to it, and clicks it with the pointer.
    pub(crate) fn click(&mut self, name: &str) {
        self.wait(&format!("\"{name}\" to be there to click"), |bench| bench.can(name));
        self.scrolled_to(name);
        self.control(name).expect("it is there").click();
        self.step();
        self.step();
    }

    /// Scrolls to a control, and gives where it is then.
    pub(crate) fn scrolled_to(&mut self, name: &str) -> Rect {
        self.control(name).expect("it is there").scroll_to_me();
        self.rest();
        self.place(name)
    }

    /// What scrolls comes to rest some frames later.
    fn rest(&mut self) {
        for _ in 0..5 {
            self.step();
        }
    }

    /// Clicks the station on the rail.
    pub(crate) fn go(&mut self, station: &str) {
        let names = self.nodes().map(|node| said(&node));
        let name = names.into_iter().find(|name| name.starts_with(&format!("{station}, ")));
        self.click(&name.unwrap_or_else(|| panic!("no station {station}")));
    }

    /// Chooses one of the station's views, which are a drop-down where there is little room.
    pub(crate) fn choose_view(&mut self, view: &str) {
        if !self.has(view) {
            self.click("View");
        }
        self.click(view);
    }

    /// Goes to where the vehicle, its buttons and its wires are named.
    pub(crate) fn names(&mut self) {
        self.key(CTRL, Key::Num1);
        self.choose_view("Names and wires");
    }

    /// Clicks the link in the strip, which is called after what it shows just now.
    pub(crate) fn click_link(&mut self) {
        let at = self.place_of("Link ").center();
        self.pointer(at, true);
        self.pointer(at, false);
        self.step();
    }

    /// Opens a drop-down and clicks one of its rows.
    pub(crate) fn choose(&mut self, drop: &str, row: &str) {
        let is_row =
            |node: &Node<'_>| node.accesskit_node().role() == Role::ListBoxOption && said(node) == row;
        self.click(drop);
        self.wait(&format!("\"{row}\" to choose"), |bench| bench.nodes().any(|node| is_row(&node)));
        self.nodes().find(is_row).expect("it is there").scroll_to_me();
        self.rest();
        self.nodes().find(is_row).expect("it is there").click();
        self.step();
        self.step();
    }

    /// Presses a key.
    pub(crate) fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.step();
        self.step();
    }

    /// Clicks a text field and puts this in the place of what it holds.
    pub(crate) fn type_into(&mut self, field: &str, text: &str) {
        self.click(field);
        self.key(CTRL, Key::A);
        self.key(Modifiers::NONE, Key::Backspace);
        self.write(text);
    }

    /// Types where the keyboard is.
    pub(crate) fn write(&mut self, text: &str) {
        self.harness.event(Event::Text(text.to_owned()));
        self.step();
        self.step();
    }

    /// Types a path where one is asked for, and takes it with the button of this name.
    pub(crate) fn type_path(&mut self, path: &Path, button: &str) {
        self.type_into("File path", path.to_str().expect("a path of text"));
        self.click(button);
    }

    /// Saves with Ctrl S to a path that is asked for.
    pub(crate) fn save_as(&mut self, path: &Path) {
        self.key(CTRL, Key::S);
        self.type_path(path, "Save");
        self.wait("saving", |bench| bench.says("Saved ") && path.exists());
    }

    /// Puts the pointer down on something, or lifts it.
    pub(crate) fn pointer(&mut self, pos: Pos2, pressed: bool) {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        self.harness.event(Event::PointerMoved(pos));
        self.harness.event(Event::PointerButton { pos, button, pressed, modifiers });
        self.step();
    }

    /// Drags from one place to another.
    pub(crate) fn drag(&mut self, from: Pos2, to: Pos2) {
        self.pointer(from, true);
        for share in [0.25, 0.5, 0.75, 1.0] {
            self.harness.event(Event::PointerMoved(from.lerp(to, share)));
            self.step();
        }
        self.pointer(to, false);
        self.step();
    }

    /// Presses a control as a screen reader does.
    pub(crate) fn press_by_name(&mut self, name: &str) {
        self.wait(&format!("\"{name}\" to be there to press"), |bench| bench.can(name));
        self.control(name).expect("it is there").click_accesskit();
        self.step();
    }

    /// Asks the window to close, as a desktop does.
    pub(crate) fn ask_to_close(&mut self) {
        let viewport = self.harness.input_mut().viewports.get_mut(&ViewportId::ROOT);
        viewport.expect("the window").events.push(ViewportEvent::Close);
        self.step();
        self.step();
    }

    /// Drops a file on the window.
    pub(crate) fn drop_file(&mut self, path: &Path) {
        self.harness.input_mut().dropped_files.push(Arc::new(Dropped(path.to_owned())));
        self.step();
    }

    /// Makes the window this big, in points.
    pub(crate) fn resize(&mut self, size: (f32, f32)) {
        self.harness.set_size(vec2(size.0, size.1));
        for _ in 0..3 {
            self.step();
        }
        self.harness.check_accessibility();
    }

    /// On to the next control.
    pub(crate) fn tab(&mut self) {
        self.harness.key_press(Key::Tab);
        self.step();
        self.step();
    }
}

/// A file in the air.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

/// What a node says: its label, or its value where it is a label itself.
pub(crate) fn said(node: &Node<'_>) -> String {
    let node = node.accesskit_node();
    let words = if node.role() == Role::Label { node.value() } else { node.label() };
    words.unwrap_or_default()
}

/// Whether it can be clicked, chosen or typed into.
pub(crate) fn is_control(node: &Node<'_>) -> bool {
    let node = node.accesskit_node();
    is_input(node.role()) || node.role() == Role::ListBoxOption || node.data().supports_action(Action::Click)
}

/// The project in a file, which must be whole.
pub(crate) fn in_file(path: &Path) -> Project {
    let text = std::fs::read_to_string(path).expect("the file is there");
    project::read(&text).expect("the file is whole").project
}

/// A file below the folder, with this text.
pub(crate) fn written(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("a file");
    path
}

/// Copies of unsaved work under `root`.
pub(crate) fn kept_copies(root: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(root.join("state/unsaved")) else { return Vec::new() };
    let paths = entries.map(|entry| entry.expect("a readable folder").path());
    paths.filter(|path| path.extension().is_some_and(|extension| extension == "ron")).collect()
}
