//! A screen of its own (Xvfb), what is on it, and the hands before it (xdotool). Knows no program.

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};

use egui::{Color32, Pos2, Rect, vec2};
use x11rb::connection::Connection as _;
use x11rb::protocol::xproto::{
    AtomEnum, ClientMessageEvent, ConfigureWindowAux, ConnectionExt as _, EventMask, ImageFormat, InputFocus,
    MapState, Window,
};
use x11rb::rust_connection::RustConnection;

/// The screen's size in points, which are its pixels: LOOK's first size.
pub(crate) const SIZE: (u16, u16) = (1280, 800);

/// A running screen.
pub(crate) struct Screen {
    server: Child,
    name: String,
    connection: RustConnection,
    root: Window,
}

/// A command of a Debian package.
fn tool(name: &str, package: &str) -> Command {
    let found = Command::new(name).arg("-version").stdout(Stdio::null()).stderr(Stdio::null()).status();
    assert!(found.is_ok(), "`{name}` is missing. Install the Debian package {package}.");
    Command::new(name)
}

impl Screen {
    /// Starts a screen on a display that is free.
    pub(crate) fn start() -> Self {
        let mut server = tool("Xvfb", "xvfb")
            .args(["-displayfd", "1", "-screen", "0", &format!("{}x{}x24", SIZE.0, SIZE.1)])
            // A screen that resets when its last window closes refuses the next one for a while.
            .args(["-nolisten", "tcp", "-noreset"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb");
        let mut number = String::new();
        let mut told = BufReader::new(server.stdout.take().expect("what it says"));
        told.read_line(&mut number).expect("its display");
        let name = format!(":{}", number.trim());
        let (connection, screen) = x11rb::connect(Some(&name)).expect("a connection to Xvfb");
        let root = connection.setup().roots[screen].root;
        Self { server, name, connection, root }
    }

    /// Its name, as DISPLAY holds it.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// The window of this title that is shown.
    pub(crate) fn find(&self, title: &str) -> Option<Window> {
        let tree = self.connection.query_tree(self.root).ok()?.reply().ok()?;
        tree.children.into_iter().find(|&window| self.is_shown(window) && self.title(window) == title)
    }

    fn is_shown(&self, window: Window) -> bool {
        let attributes = self.connection.get_window_attributes(window).ok().and_then(|c| c.reply().ok());
        attributes.is_some_and(|attributes| attributes.map_state == MapState::VIEWABLE)
    }

    fn title(&self, window: Window) -> String {
        let name = AtomEnum::WM_NAME;
        let property = self.connection.get_property(false, window, name, AtomEnum::ANY, 0, 64);
        let property = property.ok().and_then(|cookie| cookie.reply().ok());
        property.map(|property| String::from_utf8_lossy(&property.value).into_owned()).unwrap_or_default()
    }

    /// Gives the window the whole screen and the keyboard, as a window manager would.
    pub(crate) fn place(&self, window: Window) {
        let whole = ConfigureWindowAux::new().x(0).y(0).width(u32::from(SIZE.0)).height(u32::from(SIZE.1));
        self.connection.configure_window(window, &whole).expect("a request");
        self.connection.set_input_focus(InputFocus::PARENT, window, x11rb::CURRENT_TIME).expect("a request");
        self.connection.flush().expect("sent");
    }

    /// Asks the window to close, as a window manager does (ICCCM 2.0, section 4.2.8.1).
    pub(crate) fn ask_to_close(&self, window: Window) {
        let atom = |name: &[u8]| {
            self.connection.intern_atom(false, name).expect("a request").reply().expect("an atom").atom
        };
        let (protocols, delete) = (atom(b"WM_PROTOCOLS"), atom(b"WM_DELETE_WINDOW"));
        let data = [delete, x11rb::CURRENT_TIME, 0, 0, 0];
        let event = ClientMessageEvent::new(32, window, protocols, data);
        self.connection.send_event(false, window, EventMask::NO_EVENT, event).expect("a request");
        self.connection.flush().expect("sent");
    }

    /// What is on the screen.
    pub(crate) fn shot(&self) -> Shot {
        let (width, height) = SIZE;
        let image = self.connection.get_image(ImageFormat::Z_PIXMAP, self.root, 0, 0, width, height, !0);
        let image = image.expect("a request").reply().expect("the screen's picture");
        // 24 bits in 4 bytes: blue, green, red, nothing.
        assert_eq!((image.depth, image.data.len()), (24, usize::from(width) * usize::from(height) * 4));
        Shot { bytes: image.data }
    }

    /// Presses a key by the name X has for it.
    pub(crate) fn key(&self, key: &str) {
        self.hands(&["key", key]);
    }

    /// Types.
    pub(crate) fn write(&self, words: &str) {
        self.hands(&["type", "--delay", "20", words]);
    }

    /// Clicks.
    pub(crate) fn click(&self, at: Pos2) {
        let (x, y) = (at.x.round().to_string(), at.y.round().to_string());
        self.hands(&["mousemove", &x, &y, "sleep", "0.1", "click", "1"]);
    }

    fn hands(&self, args: &[&str]) {
        let done = tool("xdotool", "xdotool").args(args).env("DISPLAY", &self.name).status();
        assert!(done.expect("xdotool").success(), "xdotool {args:?}");
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        drop(self.server.kill());
        drop(self.server.wait());
    }
}

/// A picture of the screen.
pub(crate) struct Shot {
    bytes: Vec<u8>,
}

impl Shot {
    /// All of it.
    pub(crate) fn rect(&self) -> Rect {
        Rect::from_min_size(Pos2::ZERO, vec2(f32::from(SIZE.0), f32::from(SIZE.1)))
    }

    /// The colour at a place.
    pub(crate) fn at(&self, at: Pos2) -> Color32 {
        let pixel = self.pixel(at.x as usize, at.y as usize);
        let [blue, green, red, _] = *pixel else { panic!("four bytes a pixel") };
        Color32::from_rgba_premultiplied(red, green, blue, 255)
    }

    fn pixel(&self, x: usize, y: usize) -> &[u8] {
        let from = (y * usize::from(SIZE.0) + x) * 4;
        &self.bytes[from..from + 4]
    }

    fn pixels(&self, rect: Rect) -> impl Iterator<Item = &[u8]> {
        let (left, right) = (rect.left() as usize, rect.right() as usize);
        let rows = rect.top() as usize..rect.bottom() as usize;
        rows.flat_map(move |y| (left..right).map(move |x| self.pixel(x, y)))
    }

    /// How many colours there are in a part of it.
    pub(crate) fn colours(&self, rect: Rect) -> usize {
        self.pixels(rect).map(|pixel| &pixel[..3]).collect::<std::collections::HashSet<_>>().len()
    }

    /// The share of a part that is not as it was, 0 to 1.
    pub(crate) fn changed(&self, before: &Self, rect: Rect) -> f64 {
        let pairs = self.pixels(rect).zip(before.pixels(rect));
        let (all, changed) = pairs.fold((0_u32, 0_u32), |(all, changed), (now, then)| {
            (all + 1, changed + u32::from(now[..3] != then[..3]))
        });
        f64::from(changed) / f64::from(all.max(1))
    }
}
