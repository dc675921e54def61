//! Circuit, sense resistor: the smallest gap over every value of the series, with the choice marked.

use egui::{
    Align, EventFilter, Key, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, UiBuilder, WidgetInfo,
    pos2, vec2,
};

use crate::app::{Action, Edit, Model, Station};
use crate::bands::Rung;
use crate::circuit::{Circuit, PlanValue};
use crate::project::{PredictError, Project, SenseChoice, SenseChoiceError, bag_text};
use crate::units::{count_text, number_of};
use crate::view::stations::codes::prose;
use crate::view::theme::{Theme, bold, control, regular, size, space, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::{bracket, focus, hatch, plate, text};

/// What is pointed at here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The value that the arrow keys point at, by its place in the series.
    at: Option<usize>,
}

/// Draws it.
pub(super) fn sense_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    ui.scope_builder(UiBuilder::new().id_salt("sense resistor").max_rect(place), |ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, space::TIGHT);
        bracket::bracket_ui(ui, "Sense resistor", "smallest gap, counts against Ω");
        match &model.derived.circuit.sense.choice {
            Some(Ok(choice)) => curve_ui(ui, project, choice, draft, place, actions),
            Some(Err(why)) => missing_ui(ui, project, why, actions),
            None => {}
        }
    });
}

/// What to do first where there is no curve.
fn missing_ui(ui: &mut Ui, project: &Project, why: &SenseChoiceError, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    ui.add_space(space::TIGHT);
    if project.circuit.is_none() {
        prose(ui, "No circuit yet.", size::ARM, theme.ink);
        prose(
            ui,
            "It begins with 1 kΩ to the supply and the ladder to ground, which reads alike on laptop and vehicle \
             power. Then choose.",
            size::BODY,
            theme.ink2,
        );
        if ui.add(Button::act("Begin a circuit").height(control::ACTING)).clicked() {
            actions.push(Action::Edit(Edit::Circuit(Some(Circuit::recommended()))));
        }
        return;
    }
    let unmetered = matches!(
        why,
        SenseChoiceError::Predict(PredictError::NoMeter(_))
            | SenseChoiceError::Plan(crate::circuit::PlanError::NoButtons)
    );
    if unmetered {
        prose(ui, "The meter's readings are wanted first.", size::RAIL, theme.ink);
    }
    prose(ui, &why.to_string(), size::BODY, theme.ink2);
    if unmetered && ui.add(Button::act("Go to Wheel").height(control::ACTING)).clicked() {
        actions.push(Action::Go(Station::Wheel));
    }
}

/// Left of the plot, for the counts.
const LABELS: f32 = 34.0;
/// Under the plot, for the ohms and the drawer.
const FOOT: f32 = 42.0;

fn curve_ui(
    ui: &mut Ui,
    project: &Project,
    choice: &SenseChoice,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let top = ui.cursor().top();
    // Where the words find no room under the curve they get a row above it.
    let room = place.bottom() - top - FOOT;
    let tall = Rect::from_min_max(
        pos2(place.left() + LABELS, top),
        pos2(place.right(), top + room.clamp(130.0, 420.0)),
    );
    let fits = Scale::new(tall, choice).words_at(choice).is_some();
    let above = if fits || choice.chosen().is_none() { 0.0 } else { ROW_ABOVE };
    let high = (room - above).clamp(130.0, 420.0);
    let (whole, _) = ui.allocate_exact_size(vec2(place.width(), above + high + FOOT), Sense::hover());
    let row = Rect::from_min_size(whole.min, vec2(whole.width(), above));
    let plot =
        Rect::from_min_max(row.left_bottom() + vec2(LABELS, 0.0), pos2(whole.right(), whole.bottom() - FOOT));
    let scale = Scale::new(plot, choice);
    let response = ui.interact(plot, ui.make_persistent_id("sense curve"), Sense::click());
    let pointed = response.hover_pos().and_then(|at| scale.nearest(choice, at));
    let last = choice.plan.values.len().saturating_sub(1);
    draft.at = draft.at.map(|at| at.min(last));
    keys(ui, &response, choice, draft);
    let keyed = draft.at.filter(|_| response.has_focus());
    if response.clicked() {
        let by_pointer = response.interact_pointer_pos().and_then(|at| scale.nearest(choice, at));
        let taken = by_pointer.or(keyed).or(choice.plan.choice.ok());
        if let Some(value) = taken.and_then(|index| choice.plan.values.get(index)) {
            take(project, value.ohm, actions);
        }
    }
    let shown = pointed.or(keyed).and_then(|index| choice.plan.values.get(index));
    let words = spoken(project, choice, shown);
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &words));

    let p = ui.painter().clone();
    p.rect_filled(plot, 0, theme.well);
    scale.grid(&p, &theme);
    scale.shade(&p, &theme, project, choice);
    scale.curve(&p, &theme, choice);
    scale.now(&p, &theme, choice);
    scale.ring(&p, &theme, choice);
    let button_at = if above > 0.0 {
        choice_row(&p, &theme, project, choice, row)
    } else {
        scale.choice(&p, &theme, project, choice)
    };
    scale.drawer(&p, &theme, choice, whole);
    if let Some(value) = shown {
        p.circle_stroke(scale.at(value), 5.0, Stroke::new(stroke::BAND, theme.ink));
    }
    if let Some(value) = shown.filter(|_| pointed.is_some()) {
        let words = value_words(project, choice, value);
        response.clone().on_hover_ui_at_pointer(|ui| {
            ui.label(egui::RichText::new(words).font(regular(size::BODY)));
        });
    } else if let Some(value) = shown {
        let line = value_words(project, choice, value);
        let room = plot.width() - 12.0;
        let chip = Rect::from_min_size(plot.left_top() + vec2(4.0, 4.0), vec2(room + 4.0, 20.0));
        p.rect_filled(chip, 0, theme.raise);
        text::cap_within(
            &p,
            chip.left() + 4.0,
            chip.center().y,
            Align::Min,
            room,
            &line,
            regular(size::AXIS),
            theme.ink,
        );
    }
    focus::ring(&p, &theme, &response, plot);
    match (button_at, choice.chosen()) {
        (Some(corner), Some(value)) if choice.plan.now.ohm != value.ohm => {
            let label = format!("Use {}", bag_text(value.ohm));
            let button = Button::line(&label).height(control::TARGET);
            let size = vec2(button.wanted_width(&p), control::TARGET);
            let rect = if above > 0.0 {
                Rect::from_min_size(corner - vec2(size.x, 0.0), size)
            } else {
                Rect::from_min_size(corner, size)
            };
            p.rect_filled(rect, control::RADIUS, theme.well);
            if button.show_at(ui, rect).clicked() {
                take(project, value.ohm, actions);
            }
        }
        (_, None) => {
            if let Err(why) = choice.plan.choice {
                prose(ui, &choice.no_choice_text(project, why), size::BODY, theme.alarm_ink);
            }
        }
        _ => {}
    }
}

/// The arrow keys walk the series; they stay here while the plot has the keyboard.
fn keys(ui: &Ui, response: &egui::Response, choice: &SenseChoice, draft: &mut Draft) {
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let last = choice.plan.values.len().saturating_sub(1);
    let start = || choice.plan.choice.unwrap_or(last / 2);
    let [left, right, home] =
        [Key::ArrowLeft, Key::ArrowRight, Key::Home].map(|key| ui.input(|input| input.key_pressed(key)));
    if left {
        draft.at = Some(draft.at.unwrap_or_else(start).saturating_sub(1));
    } else if right {
        draft.at = Some((draft.at.unwrap_or_else(start) + 1).min(last));
    } else if home {
        draft.at = None;
    }
}

fn take(project: &Project, sense_ohm: f64, actions: &mut Vec<Action>) {
    if let Some(circuit) = &project.circuit {
        actions.push(Action::Edit(Edit::Circuit(Some(Circuit { sense_ohm, ..circuit.clone() }))));
    }
}

/// `1.1 kΩ: 61 counts, Previous and Source; 4.3 σ.`
fn value_words(project: &Project, choice: &SenseChoice, value: &PlanValue) -> String {
    let gap = number_of(usize::from(value.gap_count), "count");
    let ohm = bag_text(value.ohm);
    match value.ruled {
        Some(ruled) => format!("{ohm}: {}", choice.ruled_text(project, ruled)),
        None => {
            let sigma = count_text(value.separation_sigma, 1);
            format!("{ohm}: {gap}, {}; {sigma} σ", choice.pair_text(project, value.gap_pair))
        }
    }
}

/// The whole curve for those who can't see it.
fn spoken(project: &Project, choice: &SenseChoice, shown: Option<&PlanValue>) -> String {
    let mut said = match choice.chosen() {
        Some(value) => format!("Curve of the sense resistor. Choice {}", value_words(project, choice, value)),
        None => "Curve of the sense resistor. No value will do".to_owned(),
    };
    said.push_str(&format!(". Now {}.", value_words(project, choice, &choice.plan.now)));
    if let Some(value) = shown {
        said.push_str(&format!(" Pointing at {}.", value_words(project, choice, value)));
    }
    said
}

/// Where a value and its gap stand.
struct Scale {
    plot: Rect,
    /// Logarithms of the first and the last resistance shown.
    log: (f64, f64),
    /// Counts at the top.
    top_count: f64,
    /// From one line of the grid to the next, in counts.
    step_count: f64,
}

/// The series is shown this much further than what will do, to either side, as a factor.
const BEYOND: f64 = 1.35;

impl Scale {
    fn new(plot: Rect, choice: &SenseChoice) -> Self {
        let values = &choice.plan.values;
        let open = || values.iter().filter(|value| value.ruled.is_none()).map(|value| value.ohm);
        let all = || values.iter().map(|value| value.ohm);
        let (least, most) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
        let (low, high) = (open().fold(f64::INFINITY, f64::min), open().fold(0.0, f64::max));
        let (low, high) = if high > 0.0 { (low / BEYOND, high * BEYOND) } else { (least, most) };
        let now = choice.plan.now.ohm;
        let low = low.max(least).min(now.max(1.0));
        let high = high.min(most).max(now).max(low * 10.0);
        let best = values.iter().map(|value| f64::from(value.gap_count)).fold(8.0, f64::max);
        let mut step_count = 2.0;
        while 4.0 * step_count < best * 1.03 {
            step_count *= 2.0;
        }
        Self { plot, log: (low.log10() - 0.02, high.log10() + 0.02), top_count: 4.0 * step_count, step_count }
    }

    fn x(&self, ohm: f64) -> f32 {
        let share = (ohm.log10() - self.log.0) / (self.log.1 - self.log.0);
        self.plot.left() + share as f32 * self.plot.width()
    }

    fn y(&self, count: f64) -> f32 {
        self.plot.bottom() - (count / self.top_count) as f32 * self.plot.height()
    }

    fn at(&self, value: &PlanValue) -> Pos2 {
        pos2(self.x(value.ohm), self.y(f64::from(value.gap_count)))
    }

    fn holds(&self, ohm: f64) -> bool {
        (self.log.0..=self.log.1).contains(&ohm.log10())
    }

    /// The value nearest to a place across.
    fn nearest(&self, choice: &SenseChoice, at: Pos2) -> Option<usize> {
        let off = |value: &PlanValue| (self.x(value.ohm) - at.x).abs();
        let all = choice.plan.values.iter().enumerate().filter(|(_, value)| self.holds(value.ohm));
        all.min_by(|one, other| off(one.1).total_cmp(&off(other.1))).map(|(index, _)| index)
    }

    fn grid(&self, p: &Painter, theme: &Theme) {
        let plot = self.plot;
        for line in 0_u8..=4 {
            let count = f64::from(line) * self.step_count;
            let y = self.y(count);
            p.hline(plot.x_range(), p.round_to_pixel_center(y), Stroke::new(stroke::RULE, theme.grid));
            let at = y.clamp(plot.top() + 5.0, plot.bottom() - 4.0);
            let label = count_text(count, 0);
            text::cap(p, plot.left() - 8.0, at, Align::Max, &label, regular(size::AXIS), theme.ink2);
        }
        let decades = (self.log.0.floor() as i32)..=(self.log.1.ceil() as i32);
        for ohm in decades.flat_map(|decade| [1.0, 2.0, 5.0].map(|step: f64| step * 10_f64.powi(decade))) {
            if !self.holds(ohm) {
                continue;
            }
            let x = p.round_to_pixel_center(self.x(ohm));
            p.vline(x, plot.bottom()..=plot.bottom() + 4.0, theme.outline());
            if ohm.log10().fract().abs() > 1e-9 {
                continue;
            }
            let label = if ohm >= 1e6 {
                "1M".to_owned()
            } else if ohm >= 1e3 {
                format!("{}k", ohm / 1e3)
            } else {
                count_text(ohm, 0)
            };
            let half = text::width(p, &label, regular(size::AXIS)) / 2.0;
            let x = x.clamp(plot.left() + half, plot.right() - half);
            text::cap(p, x, plot.bottom() + 13.0, Align::Center, &label, regular(size::AXIS), theme.ink2);
        }
    }

    /// What is ruled out: hatched, with its edge and the reason beside it.
    fn shade(&self, p: &Painter, theme: &Theme, project: &Project, choice: &SenseChoice) {
        let values = &choice.plan.values;
        let plot = self.plot;
        for (first, last, ruled) in choice.ruled_out() {
            // Halfway to the neighbours that will do.
            let below = values.iter().rev().find(|value| value.ohm < first).map(|value| value.ohm);
            let above = values.iter().find(|value| value.ohm > last).map(|value| value.ohm);
            let half = |one: f64, other: f64| (one * other).sqrt();
            let left = below.map_or(plot.left(), |ohm| self.x(half(ohm, first)));
            let right = above.map_or(plot.right(), |ohm| self.x(half(ohm, last)));
            let area = Rect::from_x_y_ranges(left..=right, plot.y_range()).intersect(plot);
            if area.width() <= 0.0 {
                continue;
            }
            hatch::reject(p, theme, area);
            for x in [area.left(), area.right()] {
                if x > plot.left() + 1.0 && x < plot.right() - 1.0 {
                    p.vline(p.round_to_pixel_center(x), plot.y_range(), theme.outline());
                }
            }
            let words = choice.ruled_text(project, ruled);
            let font = regular(size::AXIS);
            let on_left = area.left() <= plot.left() + 1.0;
            let (x, y, align, room) = if on_left {
                // The curve is low here, up to the ring.
                let end = choice.chosen().map_or(plot.right(), |value| self.x(value.ohm) - 40.0);
                (area.right() + 8.0, plot.top() + 13.0, Align::Min, end - area.right() - 8.0)
            } else {
                // The curve has fallen here.
                let end = choice.chosen().map_or(plot.left(), |value| self.x(value.ohm) + 40.0);
                (area.left() - 8.0, plot.top() + 13.0, Align::Max, area.left() - end - 8.0)
            };
            let short = match ruled {
                crate::circuit::Ruled::Indistinct(_) => "too alike",
                crate::circuit::Ruled::Saturates(_) => "saturates",
            };
            let fits = text::width(p, &words, font.clone()) <= room;
            let words = if fits { words.as_str() } else { short };
            if text::width(p, words, font.clone()) <= room {
                text::cap(p, x, y, align, words, font, theme.ink2);
            }
        }
    }

    fn curve(&self, p: &Painter, theme: &Theme, choice: &SenseChoice) {
        let points: Vec<Pos2> = choice
            .plan
            .values
            .iter()
            .filter(|value| self.holds(value.ohm))
            .map(|value| self.at(value))
            .collect();
        // Ninety-six values a decade would be one blot.
        let spacing = self.plot.width() / points.len().max(1) as f32;
        let radius = (0.42 * spacing).clamp(0.8, 2.6);
        p.add(Shape::line(points.clone(), Stroke::new(stroke::TRACE, theme.ink2)));
        for at in points {
            p.circle_filled(at, radius, theme.ink);
        }
    }

    /// A thin line on the resistor that the circuit has.
    fn now(&self, p: &Painter, theme: &Theme, choice: &SenseChoice) {
        let now = choice.plan.now.ohm;
        if !self.holds(now) || choice.chosen().is_some_and(|value| value.ohm == now) {
            return;
        }
        let x = p.round_to_pixel_center(self.x(now));
        p.vline(x, self.plot.y_range(), Stroke::new(stroke::RULE, theme.ink2));
        let words = format!("now {}", bag_text(now));
        let wide = text::width(p, &words, regular(size::AXIS));
        let left = x - 6.0 - wide < self.plot.left();
        let (at, align) = if left { (x + 6.0, Align::Min) } else { (x - 6.0, Align::Max) };
        let y = self.plot.bottom() - 30.0;
        text::cap(p, at, y, align, &words, regular(size::AXIS), theme.ink2);
    }

    /// The choice's ring, and its line down to the axis.
    fn ring(&self, p: &Painter, theme: &Theme, choice: &SenseChoice) {
        let Some(value) = choice.chosen() else { return };
        let at = self.at(value);
        let line = Stroke::new(stroke::BAND, theme.ink);
        p.vline(at.x, at.y + 9.0..=self.plot.bottom(), line);
        p.circle(at, 7.0, theme.well, Stroke::new(stroke::WIRE, theme.ink));
        p.circle_filled(at, 2.6, theme.ink);
    }

    /// Where the words about the choice stand: beside its line and under the curve. `None` where they
    /// don't fit.
    fn words_at(&self, choice: &SenseChoice) -> Option<Pos2> {
        let at = self.at(choice.chosen()?);
        let under = |left: f32| {
            let across = left - 4.0..=left + WORDS.x + 4.0;
            let over =
                choice.plan.values.iter().map(|value| self.at(value)).filter(|at| across.contains(&at.x));
            let y = over.map(|at| at.y).fold(at.y + 22.0, f32::max) + 14.0;
            let within = *across.start() > self.plot.left() && *across.end() < self.plot.right();
            (within && y + WORDS.y < self.plot.bottom()).then_some(pos2(left, y))
        };
        under(at.x + 14.0).or_else(|| under(at.x - 14.0 - WORDS.x))
    }

    /// What the choice is and what limits it, under the curve; gives the corner of the button under that.
    fn choice(&self, p: &Painter, theme: &Theme, project: &Project, choice: &SenseChoice) -> Option<Pos2> {
        let value = choice.chosen()?;
        let Pos2 { x: left, y } = self.words_at(choice)?;
        text::cap(p, left, y, Align::Min, &bag_text(value.ohm), bold(size::RAIL), theme.ink);
        let gap = number_of(usize::from(value.gap_count), "count");
        text::cap(p, left, y + 20.0, Align::Min, &gap, regular(size::AXIS), theme.ink);
        limits(p, theme, project, choice, value, pos2(left, y + 43.0));
        Some(pos2(left, y + 60.0))
    }

    /// What is in the drawer: triangles under the axis, and the best of them in words.
    fn drawer(&self, p: &Painter, theme: &Theme, choice: &SenseChoice, whole: Rect) {
        let best = choice.from_drawer();
        for value in choice.plan.drawer.iter().filter(|value| self.holds(value.ohm)) {
            let x = self.x(value.ohm);
            let up = self.plot.bottom() + 2.0;
            let points = vec![pos2(x, up), pos2(x + 4.5, up + 7.0), pos2(x - 4.5, up + 7.0)];
            let chosen = best.is_some_and(|best| best.ohm == value.ohm);
            let fill = if chosen { theme.ink } else { theme.face };
            p.add(Shape::convex_polygon(points, fill, Stroke::new(stroke::RULE, theme.ink)));
        }
        if choice.plan.drawer.is_empty() {
            return;
        }
        let y = whole.bottom() - 8.0;
        let left = self.plot.left();
        let points = vec![pos2(left + 5.0, y - 4.0), pos2(left + 9.5, y + 3.0), pos2(left + 0.5, y + 3.0)];
        p.add(Shape::convex_polygon(points, theme.ink, Stroke::NONE));
        let words = match best {
            Some(best) => {
                let gap = number_of(usize::from(best.gap_count), "count");
                format!("in the drawer: best {} with {gap}", bag_text(best.ohm))
            }
            None => "in the drawer: nothing will do".to_owned(),
        };
        let room = self.plot.width() - 18.0;
        text::cap_within(p, left + 16.0, y, Align::Min, room, &words, regular(size::AXIS), theme.ink2);
    }
}

/// What the words about the choice take under the curve, the button with them.
const WORDS: egui::Vec2 = vec2(112.0, 96.0);
/// Height of their row above it elsewhere.
const ROW_ABOVE: f32 = 42.0;

/// What the choice is and what limits it, in a row; gives the right end of the button's top.
fn choice_row(
    p: &Painter,
    theme: &Theme,
    project: &Project,
    choice: &SenseChoice,
    row: Rect,
) -> Option<Pos2> {
    let value = choice.chosen()?;
    let y = row.top() + 17.0;
    let wide = text::cap(p, row.left(), y, Align::Min, &bag_text(value.ohm), bold(size::RAIL), theme.ink);
    let gap = number_of(usize::from(value.gap_count), "count");
    let left = row.left() + wide + 10.0;
    let wide = text::cap(p, left, y, Align::Min, &gap, regular(size::AXIS), theme.ink);
    limits(p, theme, project, choice, value, pos2(left + wide + 12.0, y));
    Some(pos2(row.right(), row.top()))
}

/// The two rungs that limit a value.
fn limits(p: &Painter, theme: &Theme, project: &Project, choice: &SenseChoice, value: &PlanValue, at: Pos2) {
    let Some((lower, upper)) = choice.pair(value.gap_pair) else { return };
    let mut x = at.x + 9.0;
    for rung in [lower, upper] {
        tag(p, theme, project, rung, pos2(x, at.y));
        x += 23.0;
    }
    text::cap(p, x - 7.0, at.y, Align::Min, "limit it", regular(size::AXIS), theme.ink2);
}

/// A rung's tag.
fn tag(p: &Painter, theme: &Theme, project: &Project, rung: Rung, at: Pos2) {
    match rung {
        Rung::Button(index) => {
            let known = project.wheel.buttons.get(index).is_some_and(|button| project.is_learned(&button.id));
            let mode = if known { plate::PlateMode::Measured } else { plate::PlateMode::Planned };
            plate::plate(p, theme, index, at, 9.5, mode);
        }
        Rung::Rest(_) => plate::rest_tag(p, theme, at, 7.5),
    }
}
