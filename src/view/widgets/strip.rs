//! The top strip: what is being worked on and whether it is saved, undo and redo, the link and its
//! feed, sound, look and keys. Knows them as words.

use egui::{Align, Painter, Popup, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::button::{Button, icon_button};
use super::icons::{Icon, icon_stroked};
use super::layout::{Layout, WidthClass};
use super::rail::wire_line;
use super::{focus, text};
use crate::view::theme::{Theme, ThemeKind, bold, control, regular, size, stroke};

/// How the link stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum LinkState {
    /// Nothing joined; the plug stands open.
    #[default]
    Absent,
    /// Readings come in.
    Joined,
    /// The port went away and is waited for: in alarm ink.
    Gone,
}

/// The link as the strip shows it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LinkInfo<'a> {
    /// How it stands.
    pub state: LinkState,
    /// First line: the port, or Not connected.
    pub port: &'a str,
    /// Second line: rate, readings a second, lost.
    pub line: &'a str,
    /// Feed voltage and where it comes from: 4.71 V, laptop power.
    pub feed: Option<(&'a str, &'a str)>,
}

/// Everything the strip shows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StripInfo<'a> {
    /// The vehicle; none shows "No vehicle yet".
    pub vehicle: Option<&'a str>,
    /// The stereo.
    pub stereo: &'a str,
    /// Saved or not: Saved 21:14, edited since.
    pub saved: &'a str,
    /// What undo would take back; none if nothing.
    pub undo: Option<&'a str>,
    /// What redo would bring back; none if nothing.
    pub redo: Option<&'a str>,
    /// The link.
    pub link: LinkInfo<'a>,
    /// Whether tones sound; `None` where there are no tones to switch.
    pub sound: Option<bool>,
}

/// What was clicked in the strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct StripAnswer {
    /// Undo.
    pub undo: bool,
    /// Redo.
    pub redo: bool,
    /// The vehicle's name.
    pub vehicle: bool,
    /// The link.
    pub link: bool,
    /// Sound.
    pub sound: bool,
    /// The look.
    pub theme: bool,
    /// The sheet of keys.
    pub keys: bool,
}

const ICON: f32 = 36.0;
const ICON_PITCH: f32 = 40.0;
/// Two lines: the upper one's middle above the strip's, the lower one's below.
const UPPER: f32 = -8.0;
const LOWER: f32 = 11.0;

/// Draws the strip.
pub fn strip(ui: &mut Ui, layout: &Layout, info: &StripInfo<'_>) -> StripAnswer {
    let t = Theme::of(ui);
    let p = ui.painter().clone();
    let mid = layout.strip.center().y;
    mark(&p, &t, layout);
    p.hline(layout.strip.x_range(), layout.strip.bottom(), t.hairline());

    // Right to left first, to know what room the names have.
    let shown = if info.sound.is_some() { 3.0 } else { 2.0 };
    let icons = layout.strip.right() - 16.0 - shown * ICON_PITCH;
    let divider = icons - 8.0;
    p.vline(divider, layout.strip.top() + 12.0..=layout.strip.bottom() - 12.0, t.hairline());
    let link_place = link_rect(&p, layout, &info.link, divider - 16.0);

    let mut answer = StripAnswer::default();
    let left = layout.content.left();
    let undo_room = if layout.class == WidthClass::Narrow { 0.0 } else { 28.0 + 2.0 * ICON_PITCH };
    let room = (link_place.left() - 16.0 - undo_room - left).max(0.0);
    let names_end = left + names_width(&p, layout, info, room);
    let names = Rect::from_min_max(
        pos2(left - 6.0, layout.strip.top() + 6.0),
        pos2(names_end + 6.0, layout.strip.bottom() - 6.0),
    );
    let vehicle = block(ui, names, "vehicle", &vehicle_words(info));
    paint_names(&p, &t, layout, info, room);
    if layout.class == WidthClass::Narrow {
        menu(&vehicle, info, &mut answer);
    } else {
        answer.vehicle = vehicle.clicked();
        undo_redo(ui, names_end + 28.0, mid, info, &mut answer);
    }

    let link = block(ui, link_place, "link", &link_words(&info.link));
    paint_link(&p, &t, layout, &info.link, link_place, divider - 16.0);
    answer.link = link.clicked();

    let at =
        |i: u8| Rect::from_center_size(pos2(icons + 22.0 + f32::from(i) * ICON_PITCH, mid), vec2(ICON, ICON));
    let mut place = 0;
    if let Some(sounds) = info.sound {
        let (sound, name) = if sounds { (Icon::Sound, "Sound on") } else { (Icon::Mute, "Sound off") };
        answer.sound = icon_button(ui, at(place), sound, name, "", true).clicked();
        place += 1;
    }
    let (look, next) = match t.kind {
        ThemeKind::Dark => (Icon::Dark, "next is light"),
        ThemeKind::Light => (Icon::Light, "next is dark"),
        ThemeKind::Night => (Icon::Night, "next is dark"),
    };
    let look_name = format!("{} look", t.kind.name());
    answer.theme = icon_button(ui, at(place), look, &look_name, next, true).clicked();
    answer.keys = icon_button(ui, at(place + 1), Icon::Keys, "Keys", "F2", true).clicked();
    answer
}

/// The wheel the wire starts from.
fn mark(p: &Painter, t: &Theme, layout: &Layout) {
    let at = pos2(layout.wire_x, layout.strip.center().y);
    icon_stroked(p, Icon::Wheel, at, 1.25, Stroke::new(stroke::ICON, t.ink));
    wire_line(p, at.x, at.y + 10.5, layout.strip.bottom(), t.ink);
    if layout.rail_has_words() {
        let x = layout.strip.left() + 60.0;
        text::cap(p, x, at.y, Align::Min, "Spokewire", bold(size::RAIL), t.ink);
    }
}

/// A block of two lines that can be clicked.
fn block(ui: &Ui, place: Rect, salt: &str, words: &str) -> Response {
    let response = ui.interact(place, ui.make_persistent_id(("strip", salt)), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, words));
    let t = Theme::of(ui);
    if response.hovered() {
        let fill = if response.is_pointer_button_down_on() { t.press } else { t.raise };
        ui.painter().rect_filled(place, control::RADIUS, fill);
    }
    if response.has_focus() {
        focus::ring_at(ui.painter(), &t, place.shrink(4.0));
    }
    response
}

fn vehicle_words(info: &StripInfo<'_>) -> String {
    match info.vehicle {
        Some(name) if info.stereo.is_empty() => format!("Vehicle {name}, {}", info.saved),
        Some(name) => format!("Vehicle {name}, stereo {}, {}", info.stereo, info.saved),
        None => format!("No vehicle yet, {}", info.saved),
    }
}

fn link_words(link: &LinkInfo<'_>) -> String {
    let feed = link.feed.map_or(String::new(), |(volt, from)| format!(", {volt}, {from}"));
    format!("Link {}, {}{feed}", link.port, link.line)
}

/// Room each name takes: the vehicle's, and the stereo's with the arrow before it.
fn name_widths(p: &Painter, layout: &Layout, info: &StripInfo<'_>, room: f32) -> (f32, f32) {
    let name = bold(size::PROSE);
    let vehicle = text::width(p, info.vehicle.unwrap_or("No vehicle yet"), name.clone());
    let two = layout.class != WidthClass::Narrow && info.vehicle.is_some() && !info.stereo.is_empty();
    if !two {
        return (vehicle.min(room), 0.0);
    }
    let stereo = text::width(p, info.stereo, name) + 40.0;
    if vehicle + stereo <= room {
        return (vehicle, stereo);
    }
    // The longer one gives way first.
    let stereo = stereo.min((room * 0.45).max(room - vehicle));
    if stereo < 80.0 { (vehicle.min(room), 0.0) } else { (vehicle.min(room - stereo), stereo) }
}

fn names_width(p: &Painter, layout: &Layout, info: &StripInfo<'_>, room: f32) -> f32 {
    let (vehicle, stereo) = name_widths(p, layout, info, room);
    (vehicle + stereo).max(text::width(p, info.saved, regular(size::AXIS)).min(room))
}

fn paint_names(p: &Painter, t: &Theme, layout: &Layout, info: &StripInfo<'_>, room: f32) {
    let (x, mid) = (layout.content.left(), layout.strip.center().y);
    let (vehicle, stereo) = name_widths(p, layout, info, room);
    let name = bold(size::PROSE);
    let words = info.vehicle.unwrap_or("No vehicle yet");
    let y = mid + UPPER;
    text::cap_within(p, x, y, Align::Min, vehicle + 0.5, words, name.clone(), t.ink);
    if stereo > 0.0 {
        let arrow = Stroke::new(stroke::BAND, t.ink2);
        icon_stroked(p, Icon::Arrow, pos2(x + vehicle + 20.0, y), 0.8, arrow);
        let at = x + vehicle + 40.0;
        text::cap_within(p, at, y, Align::Min, stereo - 39.5, info.stereo, name, t.ink);
    }
    let saved = regular(size::AXIS);
    text::cap_within(p, x, mid + LOWER, Align::Min, room + 0.5, info.saved, saved, t.ink2);
}

fn undo_redo(ui: &Ui, x: f32, mid: f32, info: &StripInfo<'_>, answer: &mut StripAnswer) {
    let at =
        |i: u8| Rect::from_center_size(pos2(x + 18.0 + f32::from(i) * ICON_PITCH, mid), vec2(ICON, ICON));
    let undo = edit_name("Undo", info.undo);
    answer.undo = icon_button(ui, at(0), Icon::Undo, &undo, "Ctrl Z", info.undo.is_some()).clicked();
    let redo = edit_name("Redo", info.redo);
    answer.redo = icon_button(ui, at(1), Icon::Redo, &redo, "Ctrl Y", info.redo.is_some()).clicked();
}

fn edit_name(verb: &str, what: Option<&str>) -> String {
    match what {
        Some(what) if !what.is_empty() => format!("{verb} {what}"),
        _ => verb.to_owned(),
    }
}

/// In a narrow window undo, redo and the stereo's name are a menu under the vehicle's name.
fn menu(vehicle: &Response, info: &StripInfo<'_>, answer: &mut StripAnswer) {
    Popup::menu(vehicle).accessible_name("Vehicle").width(260.0).show(|ui| {
        let item = |label| Button::quiet(label).height(control::TARGET);
        let name = if info.stereo.is_empty() {
            "Vehicle".to_owned()
        } else {
            format!("Vehicle with {}", info.stereo)
        };
        answer.vehicle = ui.add(item(&name)).clicked();
        let undo = edit_name("Undo", info.undo);
        answer.undo = ui.add(item(&undo).key("Ctrl Z").enabled(info.undo.is_some())).clicked();
        let redo = edit_name("Redo", info.redo);
        answer.redo = ui.add(item(&redo).key("Ctrl Y").enabled(info.redo.is_some())).clicked();
    });
}

/// Whether the port's two lines are shown, or the plug and the feed alone.
fn link_has_lines(layout: &Layout, link: &LinkInfo<'_>) -> bool {
    layout.class != WidthClass::Narrow || link.feed.is_none() || link.state != LinkState::Joined
}

fn feed_width(p: &Painter, link: &LinkInfo<'_>) -> f32 {
    link.feed.map_or(0.0, |(volt, from)| {
        text::width(p, volt, bold(size::PROSE)).max(text::width(p, from, regular(size::AXIS)))
    })
}

fn lines_width(p: &Painter, layout: &Layout, link: &LinkInfo<'_>) -> f32 {
    let wide =
        text::width(p, link.port, bold(size::PROSE)).max(text::width(p, link.line, regular(size::AXIS)));
    wide.min(if layout.class == WidthClass::Narrow { 150.0 } else { 260.0 })
}

fn link_rect(p: &Painter, layout: &Layout, link: &LinkInfo<'_>, right: f32) -> Rect {
    let mut wide = 40.0;
    if link_has_lines(layout, link) {
        wide += lines_width(p, layout, link);
        if link.feed.is_some() {
            wide += 20.0;
        }
    }
    wide += feed_width(p, link);
    Rect::from_min_max(
        pos2(right - wide, layout.strip.top() + 6.0),
        pos2(right + 6.0, layout.strip.bottom() - 6.0),
    )
}

fn paint_link(p: &Painter, t: &Theme, layout: &Layout, link: &LinkInfo<'_>, place: Rect, right: f32) {
    let mid = layout.strip.center().y;
    let (name, line) = (bold(size::PROSE), regular(size::AXIS));
    let (which, icon_ink, ink) = match link.state {
        LinkState::Joined => (Icon::Plug, t.ink, t.ink),
        LinkState::Absent => (Icon::Unplug, t.ink2, t.ink),
        LinkState::Gone => (Icon::Unplug, t.alarm_ink, t.alarm_ink),
    };
    let pen = Stroke::new(stroke::ICON, icon_ink);
    icon_stroked(p, which, pos2(place.left() + 16.0, mid), 1.1, pen);
    if link_has_lines(layout, link) {
        let (x, room) = (place.left() + 40.0, lines_width(p, layout, link) + 0.5);
        text::cap_within(p, x, mid + UPPER, Align::Min, room, link.port, name.clone(), ink);
        text::cap_within(p, x, mid + LOWER, Align::Min, room, link.line, line.clone(), t.ink2);
    }
    if let Some((volt, from)) = link.feed {
        text::cap(p, right, mid + UPPER, Align::Max, volt, name, t.ink);
        text::cap(p, right, mid + LOWER, Align::Max, from, line, t.ink2);
    }
}
