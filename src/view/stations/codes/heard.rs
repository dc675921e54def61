//! The presses of a remote, one row each: what each says, whether they agree, and by how much the
//! receiver stretches them; or why a press was not understood.

use egui::{Align, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, pos2, vec2};

use super::parts;
use crate::app::codes::listen::{Press, Presses};
use crate::remote::{self, Code, Heard};
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::icons::{Icon, icon_stroked, octagon};
use crate::view::widgets::{bracket, focus, hatch, text};

/// Height of a row.
const ROW: f32 = 30.0;
/// Where a press's name stands, and what it says.
const NAME: f32 = 32.0;
const CODE: f32 = 104.0;
/// What a press says that was not understood.
const NOT: &str = "not understood";
/// From here on a row says how many frames there were.
const FRAMES: f32 = 480.0;

/// Draws the presses under their bracket; `asked` more rows wait to be pressed.
pub(super) fn heard_ui(ui: &mut Ui, presses: &Presses, asked: usize) {
    bracket::bracket_ui(ui, "Heard", &agreement(presses));
    for (number, press) in presses.all.iter().enumerate() {
        row_ui(ui, presses, number, press);
    }
    for number in 0..asked {
        waiting_ui(ui, presses.all.len() + number + 1);
    }
}

/// `3 of 3 agree`.
fn agreement(presses: &Presses) -> String {
    match &presses.consensus {
        Some(consensus) if consensus.of > 1 && presses.understood() == 1 => {
            format!("1 of {} understood", consensus.of)
        }
        Some(_) if presses.agreed().is_none() => "no two agree".to_owned(),
        Some(consensus) if consensus.of > 1 => format!("{} of {} agree", consensus.agree, consensus.of),
        _ => String::new(),
    }
}

fn row_ui(ui: &mut Ui, presses: &Presses, number: usize, press: &Press) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let p = ui.painter();
    let agrees = presses.agrees(number);
    let y = row.center().y + 1.0;
    let disc = pos2(row.left() + 12.0, y);
    if agrees {
        check(p, &theme, disc);
    } else {
        stop(p, &theme, disc);
    }
    let name = format!("Press {}", number + 1);
    text::cap(p, row.left() + NAME, y, Align::Min, &name, theme::regular(size::BODY), theme.ink);
    let said = match &press.heard {
        Ok(heard) => understood(p, &theme, row, heard, agrees, presses.all.len() > 1),
        Err(_) => {
            let (x, font) = (row.left() + CODE, theme::regular(size::BODY));
            text::cap(p, x, y, Align::Min, NOT, font, theme.alarm_ink);
            NOT.to_owned()
        }
    };
    focus::tell(ui, row, &name, Role::ListItem, &format!("{name}: {said}"));
    // The same reason is told once.
    let before = number.checked_sub(1).and_then(|before| presses.all.get(before));
    if let Err(why) = &press.heard
        && before.is_none_or(|before| before.heard.as_ref().err() != Some(why))
    {
        below(ui, &why.to_string());
    }
    if press.overflow {
        let kept = press.timings_us.len();
        below(
            ui,
            &format!(
                "Held longer than the box can keep: the first {kept} timings are here. A shorter press is enough."
            ),
        );
    }
}

/// What a press says; gives it in words.
fn understood(p: &Painter, theme: &Theme, row: Rect, heard: &Heard, agrees: bool, several: bool) -> String {
    let y = row.center().y + 1.0;
    let is_raw = matches!(heard.code, Code::Raw { .. });
    let marks = parts::stretch(heard.stretch_us);
    let (long, short) = match (agrees, is_raw) {
        (false, _) => ("differs".to_owned(), "differs".to_owned()),
        (true, true) => (format!("{} timings", heard.clean_us.len()), String::new()),
        (true, false) => (format!("marks {marks}"), marks.clone()),
    };
    let code = parts::bytes(&heard.code);
    let (x, small) = (row.left() + CODE, theme::regular(size::AXIS));
    let fits = |font: f32, words: &str| {
        let wide = text::width(p, &code, theme::mono(font));
        x + wide + 10.0 + text::width(p, words, small.clone()) <= row.right()
    };
    let (font, words) = match () {
        () if fits(size::BODY, &long) => (size::BODY, &long),
        () if fits(size::BODY, &short) => (size::BODY, &short),
        () => (size::AXIS, &short),
    };
    text::cap(p, x, y, Align::Min, &code, theme::mono(font), theme.ink);
    let colour = if agrees { theme.ink2 } else { theme.alarm_ink };
    text::cap(p, row.right(), y, Align::Max, words, small.clone(), colour);
    let frames = frames(heard);
    if row.width() >= FRAMES {
        text::cap(p, row.left() + 244.0, y, Align::Min, &frames, small, theme.ink2);
    }
    let end = match (several, agrees) {
        (false, _) => "",
        (true, true) => ", agrees",
        (true, false) => ", differs",
    };
    let marks = if is_raw { String::new() } else { format!(", marks {marks}") };
    format!("{}{marks}, {frames}{end}", remote::describe(&heard.code))
}

/// `1 frame, 2 repeats`.
fn frames(heard: &Heard) -> String {
    let counted = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    match heard.repeats {
        0 => counted(heard.frames, "frame"),
        repeats => format!("{}, {}", counted(heard.frames, "frame"), counted(repeats, "repeat")),
    }
}

/// A press that is still to come: dashed.
fn waiting_ui(ui: &mut Ui, number: usize) {
    let theme = Theme::of(ui.ctx());
    let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let p = ui.painter();
    let y = row.center().y + 1.0;
    let ring = hatch::circle_points(pos2(row.left() + 12.0, y), 8.5, 40);
    hatch::dashed_ring(p, &ring, Stroke::new(stroke::BAND, theme.edge), 3.0, 2.6);
    let name = format!("Press {number}");
    text::cap(p, row.left() + NAME, y, Align::Min, &name, theme::regular(size::BODY), theme.ink2);
    focus::tell(ui, row, &name, Role::ListItem, &format!("{name}: to come"));
}

/// A line that belongs to the row above it.
fn below(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    let room = (ui.available_width() - NAME).min(640.0);
    let galley = text::prose(ui.painter(), words, theme::regular(size::AXIS), theme.ink2, room, 8);
    let (rect, _) = ui.allocate_exact_size(vec2(NAME + room, galley.size().y + 6.0), Sense::hover());
    ui.painter().galley(pos2(rect.left() + NAME, rect.top()), galley, theme.ink2);
    focus::tell(ui, rect, words, Role::Note, words);
}

fn check(p: &Painter, theme: &Theme, centre: Pos2) {
    p.circle_filled(centre, 9.0, theme.ink);
    icon_stroked(p, Icon::Tick, centre, 0.68, Stroke::new(2.2, theme.face));
}

/// An octagon: this one doesn't count.
pub(super) fn stop(p: &Painter, theme: &Theme, centre: Pos2) {
    let corners = octagon(10.0).map(|(x, y)| centre + vec2(x, y));
    let line = Stroke::new(stroke::NODE, theme.alarm);
    p.add(Shape::convex_polygon(corners.to_vec(), theme.alarm_face, line));
    icon_stroked(p, Icon::Cross, centre, 0.62, Stroke::new(2.0, theme.alarm_ink));
}
