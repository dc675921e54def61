//! One button: its bar, its strip with edges, headroom, chances, what the re-check found, and its verdict.

use egui::{Align, Rect, Role, Sense, Ui, pos2, vec2};

use super::bar::{self, BAR};
use super::strip::{FIGURES, STRIP, StripAnswer, strip_ui};
use crate::app::{Action, Edit, Model};
use crate::bands::{Band, Grade, Reach, odds_text};
use crate::circuit::Shift;
use crate::project::banding::{edges_text, rung_name, verdict_text};
use crate::project::{Checked, Project};
use crate::units::{count_text, ohm_text};
use crate::view::stations::live_count;
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, text};

/// From this width on both chances have a column.
const ROOMY: f32 = 940.0;
/// Below this the parts of a row stand under each other.
const STACKED: f32 = 720.0;
/// The verdict's line.
const VERDICT: f32 = 18.0;

/// Where the parts of a row lie, from its left end.
pub(super) struct Columns {
    width: f32,
    stacked: bool,
    roomy: bool,
    name: (f32, f32),
    bar: (f32, f32),
    strip: (f32, f32),
    /// Right ends of headroom and re-check; left ends of the chances.
    headroom: f32,
    chances: [f32; 2],
    checked: Option<f32>,
}

impl Columns {
    pub(super) fn of(width: f32, is_checked: bool) -> Self {
        let (stacked, roomy) = (width < STACKED, width >= ROOMY);
        let name = (38.0, 108.0);
        let check = if is_checked { 84.0 } else { 0.0 };
        let chance = if roomy { 302.0 } else { 178.0 };
        // Bar and strip share what the rest leaves, 2 to 3.
        let left = width - 38.0 - 108.0 - 8.0 - 14.0 - 86.0 - 14.0 - chance - check;
        let bar = (154.0, (left * 0.4).max(60.0));
        let strip = (bar.0 + bar.1 + 14.0, (left * 0.6).max(90.0));
        let headroom = strip.0 + strip.1 + 86.0;
        let first = headroom + 16.0;
        Self {
            width,
            stacked,
            roomy,
            name,
            bar,
            strip,
            headroom,
            chances: [first, first + 158.0],
            checked: is_checked.then_some(width),
        }
    }

    pub(super) fn heads_ui(&self, ui: &mut Ui) {
        if self.stacked {
            ui.add_space(space::TIGHT);
            return;
        }
        let theme = Theme::of(ui.ctx());
        let (rect, _) = ui.allocate_exact_size(vec2(self.width, 18.0), Sense::hover());
        let y = rect.center().y;
        let head = |x: f32, align: Align, words: &str| {
            let font = theme::regular(size::AXIS);
            text::cap(ui.painter(), rect.left() + x, y, align, words, font, theme.ink2);
        };
        head(self.bar.0, Align::Min, "what moves it, counts");
        head(self.strip.0 + self.strip.1 / 2.0, Align::Center, "accepts, counts");
        head(self.headroom, Align::Max, "headroom");
        if self.roomy {
            head(self.chances[0], Align::Min, "ignored, of presses");
            head(self.chances[1], Align::Min, "taken for another");
        } else {
            head(self.chances[0], Align::Min, "of presses");
        }
        if let Some(x) = self.checked {
            head(x, Align::Max, "re-check");
        }
    }
}

/// Draws the row of a button.
pub(super) fn row_ui(
    ui: &mut Ui,
    model: &Model,
    project: &Project,
    columns: &Columns,
    index: usize,
    reach: Shift,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let bands = &model.derived.bands;
    let name = rung_name(project, super::rung(index));
    let band = bands.band(super::rung(index)).filter(|band| band.measured);
    let verdict = bands.verdict(index);
    let words = verdict.map_or_else(String::new, |verdict| verdict_text(project, verdict));
    let grade = verdict.map_or(Grade::Open, crate::bands::Verdict::grade);
    let mut under = vec![(words, grade)];
    if let Some(band) = band {
        under.extend(edges_text(project, bands, band).into_iter().map(|why| (why, Grade::Open)));
    }
    if let Some(why) = narrow_for(model, project, band) {
        under.push((why, Grade::Open));
    }
    let facts = Facts::of(band, model.derived.learn.checked(index));
    let body = if columns.stacked { 30.0 + STRIP + FIGURES + BAR + 12.0 + 20.0 } else { STRIP + FIGURES };
    let galleys: Vec<_> = under
        .iter()
        .map(|(words, grade)| {
            let (font, ink) = match grade {
                Grade::Good => (theme::regular(size::BODY), theme.ink),
                Grade::Open => (theme::regular(size::BODY), theme.ink2),
                Grade::Caution => (theme::bold(size::BODY), theme.ink),
                Grade::Stop => (theme::bold(size::BODY), theme.alarm_ink),
            };
            let room = columns.width - if columns.stacked { 0.0 } else { columns.name.0 };
            (text::prose(ui.painter(), words, font, ink, room, 4), ink)
        })
        .collect();
    let lines: f32 = galleys.iter().map(|(galley, _)| galley.size().y.max(VERDICT)).sum();
    let (rect, _) = ui.allocate_exact_size(vec2(columns.width, body + lines + 6.0), Sense::hover());
    if !ui.is_rect_visible(rect) && !ui.memory(|memory| memory.focused().is_some()) {
        return;
    }
    let p = ui.painter();
    let y = rect.top() + STRIP / 2.0;
    plate(p, &theme, index, pos2(rect.left() + 14.0, y), 12.5, PlateMode::Measured);
    let name_room = if columns.stacked { rect.width() - 160.0 } else { columns.name.1 };
    let name_x = rect.left() + columns.name.0;
    text::cap_within(p, name_x, y, Align::Min, name_room, &name, theme::bold(size::PROSE), theme.ink);
    if let Some(band) = band {
        if columns.stacked {
            stacked(ui, rect, &theme, &facts);
        } else {
            figures(ui, rect, columns, &theme, &facts);
        }
        let bar_rect = if columns.stacked {
            let top = rect.top() + 30.0 + STRIP + FIGURES + 4.0;
            Rect::from_min_size(pos2(rect.left(), top), vec2(rect.width(), BAR))
        } else {
            Rect::from_min_size(pos2(rect.left() + columns.bar.0, y - BAR / 2.0), vec2(columns.bar.1, BAR))
        };
        bar::bar(ui.painter(), &theme, bar_rect, &band.contributions, reach);
        let said = format!("{name} is moved by: {}", bar::words(&band.contributions));
        let told = focus::tell(ui, bar_rect, &said, Role::Figure, &said);
        told.on_hover_text(bar::words(&band.contributions));
        let strip = if columns.stacked {
            Rect::from_min_size(pos2(rect.left(), rect.top() + 30.0), vec2(rect.width(), STRIP + FIGURES))
        } else {
            let at = pos2(rect.left() + columns.strip.0, rect.top());
            Rect::from_min_size(at, vec2(columns.strip.1, STRIP + FIGURES))
        };
        if band.accept.is_none() {
            let font = theme::regular(size::BODY);
            text::cap(
                ui.painter(),
                strip.left(),
                strip.top() + 15.0,
                Align::Min,
                "accepts nothing of its own",
                font,
                theme.ink3,
            );
        }
        let live = live_count(model, usize::from(band.wire.saturating_sub(1)));
        let id = project.wheel.buttons.get(index).map(|button| button.id.clone());
        match (strip_ui(ui, strip, &name, band, bands, live), id) {
            (Some(StripAnswer::Put(edges)), Some(id)) => actions.push(Action::Edit(Edit::Edges(id, edges))),
            (Some(StripAnswer::Settled), _) => actions.push(Action::Edit(Edit::Settle)),
            _ => {}
        }
        let _: egui::Response = focus::tell(
            ui,
            Rect::from_min_size(rect.min, vec2(rect.width(), 1.0)),
            &format!("facts {index}"),
            Role::Label,
            &facts.words(&name),
        );
    }
    let mut at = pos2(if columns.stacked { rect.left() } else { name_x }, rect.top() + body);
    for ((galley, ink), (words, _)) in galleys.into_iter().zip(&under) {
        let height = galley.size().y;
        let place = Rect::from_min_size(at, galley.size());
        ui.painter().galley(at, galley, ink);
        let _: egui::Response = focus::tell(ui, place, &format!("{index} {words}"), Role::Label, words);
        at.y += height.max(VERDICT);
    }
    let line = theme.hairline();
    ui.painter().hline(rect.x_range(), rect.bottom() - 3.0, line);
}

/// Why a band is no wider than its presses.
fn narrow_for(model: &Model, project: &Project, band: Option<&Band>) -> Option<String> {
    let wire = band?.wire;
    let why = match model.derived.bands.wires.iter().find(|there| there.wire == wire)?.reach {
        Reach::Widened => return None,
        Reach::RestUnknown => "its rest is learned".to_owned(),
        Reach::ButtonUnknown(missing) => format!("{} is learned", rung_name(project, super::rung(missing))),
    };
    Some(format!("It reaches no further than its own presses until {why}."))
}

/// A button's figures in words.
struct Facts {
    headroom_ohm: String,
    headroom_feed: String,
    ignored: [String; 2],
    taken: [String; 2],
    checked: Option<[String; 2]>,
    left: bool,
}

impl Facts {
    fn of(band: Option<&Band>, checked: Option<&Checked>) -> Self {
        let none = || "–".to_owned();
        let chance = band.and_then(|band| band.chance);
        let ohm = band.and_then(|band| band.headroom_ohm);
        let feed = band.and_then(|band| band.headroom_feed);
        let count = band.and_then(|band| band.headroom_count);
        let pair = |now: f64, worst: f64| {
            let (now, worst) = (odds_text(now), odds_text(worst));
            let drifted =
                if worst == now { "drifted, the same".to_owned() } else { format!("drifted {worst}") };
            [now, drifted]
        };
        Self {
            headroom_ohm: match (ohm, count) {
                (Some(ohm), _) if ohm.is_infinite() => "any wear".to_owned(),
                (Some(ohm), _) => ohm_text(ohm),
                (None, Some(count)) => format!("{} counts", count_text(count, 0)),
                (None, None) => none(),
            },
            headroom_feed: match feed {
                Some(share) if share.is_infinite() => "any feed".to_owned(),
                Some(share) => format!("feed ± {:.1} %", share * 100.0),
                None => none(),
            },
            ignored: chance.map_or([none(), String::new()], |c| pair(c.ignored, c.drifted_ignored)),
            taken: chance.map_or([none(), String::new()], |c| pair(c.taken, c.drifted_taken)),
            checked: checked.map(|checked| {
                let moved = checked.moved_count();
                let sign = |by: f64, step: f64| match by {
                    by if by.abs() < step => "",
                    by if by < 0.0 => "−",
                    _ => "+",
                };
                let counts = format!("{}{} counts", sign(moved, 0.5), count_text(moved.abs(), 0));
                let ohm = checked.moved_ohm.map(|ohm| format!("{}{}", sign(ohm, 0.05), ohm_text(ohm.abs())));
                let second = match (checked.holds, checked.lands) {
                    (true, _) => ohm.unwrap_or_else(|| "in its band".to_owned()),
                    (false, Some(_)) => "another's band".to_owned(),
                    (false, None) => "left its band".to_owned(),
                };
                [counts, second]
            }),
            left: checked.is_some_and(|checked| !checked.holds),
        }
    }

    fn words(&self, name: &str) -> String {
        let checked = self
            .checked
            .as_ref()
            .map(|[first, second]| format!(", re-check {first}, {second}"))
            .unwrap_or_default();
        format!(
            "{name}: headroom {}, {}; ignored {}, {}; taken for another {}, {}{checked}",
            self.headroom_ohm,
            self.headroom_feed,
            self.ignored[0],
            self.ignored[1],
            self.taken[0],
            self.taken[1]
        )
    }
}

/// The figures of a row whose parts stand side by side.
fn figures(ui: &Ui, rect: Rect, columns: &Columns, theme: &Theme, facts: &Facts) {
    let (first, second) = (rect.top() + 11.0, rect.top() + 31.0);
    let p = ui.painter();
    let put = |x: f32, y: f32, align: Align, words: &str, font, ink| {
        text::cap(p, rect.left() + x, y, align, words, font, ink);
    };
    let (body, small) = (|| theme::bold(size::BODY), || theme::regular(size::AXIS));
    put(columns.headroom, first, Align::Max, &facts.headroom_ohm, body(), theme.ink);
    put(columns.headroom, second, Align::Max, &facts.headroom_feed, small(), theme.ink2);
    if columns.roomy {
        for (x, [now, worst]) in columns.chances.into_iter().zip([&facts.ignored, &facts.taken]) {
            put(x, first, Align::Min, now, theme::regular(size::BODY), theme.ink);
            put(x, second, Align::Min, worst, small(), theme.ink2);
        }
    } else {
        let said = |what: &str, now: &str| format!("{what} {now}");
        put(columns.chances[0], first, Align::Min, &said("ignored", &facts.ignored[0]), small(), theme.ink);
        put(columns.chances[0], second, Align::Min, &said("mistaken", &facts.taken[0]), small(), theme.ink2);
    }
    if let (Some(x), Some([counts, second_line])) = (columns.checked, &facts.checked) {
        let ink = if facts.left { theme.alarm_ink } else { theme.ink };
        put(x, first, Align::Max, counts, body(), ink);
        put(x, second, Align::Max, second_line, small(), if facts.left { ink } else { theme.ink2 });
    }
}

/// The figures of a row whose parts stand under each other.
fn stacked(ui: &Ui, rect: Rect, theme: &Theme, facts: &Facts) {
    let p = ui.painter();
    let y = rect.top() + STRIP / 2.0;
    let head = format!("{}, {}", facts.headroom_ohm, facts.headroom_feed);
    text::cap(p, rect.right(), y, Align::Max, &head, theme::regular(size::BODY), theme.ink);
    let foot = rect.top() + 30.0 + STRIP + FIGURES + BAR + 18.0;
    let mut said = format!("Ignored {}, mistaken {}", facts.ignored[0], facts.taken[0]);
    if let Some([counts, second]) = &facts.checked {
        said = format!("{said}; re-check {counts}, {second}");
    }
    let ink = if facts.left { theme.alarm_ink } else { theme.ink2 };
    text::cap_within(p, rect.left(), foot, Align::Min, rect.width(), &said, theme::regular(size::AXIS), ink);
}
