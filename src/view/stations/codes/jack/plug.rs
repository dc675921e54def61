//! The drawing: the stereo's side of the jack at the left, as far as it is known; the plug with the
//! chosen contact lit; and the meter where the open step wants it. Solid is measured, dashed isn't yet.

use egui::{Align, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, pos2, vec2};

use super::words;
use crate::circuit::{Jack, JackContact, JackStep, JackWants};
use crate::units::{amp_text, ohm_text, volt_text};
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::hatch::{dashed_line, dashed_rect};
use crate::view::widgets::{focus, text};

/// How high it stands, and no wider than this.
const HIGH: f32 = 212.0;
const WIDEST: f32 = 480.0;
/// An IEC resistor.
const RESISTOR: (f32, f32) = (30.0, 11.0);
/// Half the plug's thickness, and the meter's radius.
const HALF: f32 = 11.0;
const METER: f32 = 19.0;
/// Between two contacts.
const INSULATOR: f32 = 5.0;

/// Draws it at the layout's next place.
pub(super) fn plug_ui(ui: &mut Ui, jack: &Jack, step: JackStep) {
    let wide = ui.available_width().min(WIDEST);
    let (rect, _) = ui.allocate_exact_size(vec2(wide, HIGH), Sense::hover());
    focus::tell(ui, rect, "plug", Role::Image, &said(jack, step));
    if !ui.is_rect_visible(rect) {
        return;
    }
    let theme = Theme::of(ui.ctx());
    let drawing = Drawing::new(ui.painter(), &theme, rect, jack);
    drawing.ground_ui(rect);
    drawing.stereo();
    drawing.plug();
    match step {
        JackStep::Cautions => drawing.note("nothing joined yet"),
        JackStep::Contact => drawing.ohms(),
        JackStep::Idle => drawing.volts(),
        JackStep::Load => drawing.load(),
        JackStep::Wants => drawing.wants(),
    }
}

/// The drawing in words.
fn said(jack: &Jack, step: JackStep) -> String {
    let contact = jack.contact.map_or("no contact chosen", JackContact::name);
    let ground = words::the_ground(jack);
    let meter = match step {
        JackStep::Cautions => "No meter yet".to_owned(),
        JackStep::Contact => format!("Meter on ohms from {ground} to the stereo's ground"),
        JackStep::Idle => format!("Meter on volts from the contact to {ground}"),
        JackStep::Load if by_volts(jack) => {
            format!("Meter on volts across 1 kΩ from the contact to {ground}")
        }
        JackStep::Load => format!("Meter on milliamperes, with 1 kΩ, from the contact to {ground}"),
        JackStep::Wants => "No meter".to_owned(),
    };
    let inside = match (jack.idle_v, jack.pull_up_ohm()) {
        (Some(volt), Some(ohm)) => format!(" In the stereo {} to {}.", ohm_text(ohm), volt_text(volt)),
        _ => String::new(),
    };
    format!("Plug, {contact}. {meter}.{inside}")
}

/// Whether the load was read by its volts alone.
fn by_volts(jack: &Jack) -> bool {
    jack.loaded_a.is_none() && jack.loaded_v.is_some()
}

struct Drawing<'a> {
    p: &'a Painter,
    theme: &'a Theme,
    jack: &'a Jack,
    /// The stereo's enclosure.
    stereo: Rect,
    /// The plug's axis.
    axis: f32,
    /// Each contact's ends, tip first, the sleeve last.
    contacts: Vec<(f32, f32)>,
    /// Where the handle ends.
    end: f32,
    /// The meter's middle.
    meter: Pos2,
    /// Which contact is lit.
    lit: Option<usize>,
}

impl<'a> Drawing<'a> {
    fn new(p: &'a Painter, theme: &'a Theme, rect: Rect, jack: &'a Jack) -> Self {
        let snap = |v: f32| v.round() + 0.5;
        let axis = snap(rect.top() + 114.0);
        let stereo = Rect::from_min_max(
            pos2(snap(rect.left() + 12.0), snap(rect.top() + 14.0)),
            pos2(snap(rect.left() + rect.width() * 0.35), snap(rect.bottom() - 13.0)),
        );
        let rings = if jack.contact == Some(JackContact::SecondRing) { 2 } else { 1 };
        let (from, end) = (stereo.right() + 22.0, rect.right() - 14.0);
        // A share of the length for each contact; the sleeve is longer, and the handle behind it.
        let shares: Vec<f32> =
            std::iter::once(1.15).chain(std::iter::repeat_n(0.85, rings)).chain([1.3, 1.5]).collect();
        let unit = (end - from) / shares.iter().sum::<f32>();
        let mut x = from;
        let mut contacts = Vec::new();
        for share in &shares[..shares.len() - 1] {
            contacts.push((x, x + share * unit - INSULATOR));
            x += share * unit;
        }
        let lit = jack.contact.map(|contact| match contact {
            JackContact::Tip | JackContact::Wire => 0,
            JackContact::Ring => 1,
            JackContact::SecondRing => 2,
        });
        let middle = |(a, b): (f32, f32)| f32::midpoint(a, b).round() + 0.5;
        let signal = middle(contacts[lit.unwrap_or(0).min(contacts.len() - 1)]);
        let sleeve = middle(contacts[contacts.len() - 1]);
        let meter = pos2(f32::midpoint(signal, sleeve).round() + 0.5, snap(rect.top() + 36.0));
        Self { p, theme, jack, stereo, axis, contacts, end, meter, lit }
    }

    fn line(&self) -> Stroke {
        Stroke::new(stroke::SCHEMATIC, self.theme.ink)
    }

    /// The signal's contact, or the tip while none is chosen.
    fn signal_x(&self) -> f32 {
        self.middle(self.lit.unwrap_or(0))
    }

    fn sleeve_x(&self) -> f32 {
        self.middle(self.contacts.len() - 1)
    }

    fn middle(&self, contact: usize) -> f32 {
        self.contacts.get(contact).map_or(self.end, |(a, b)| f32::midpoint(*a, *b).round() + 0.5)
    }

    /// The well, and the grid of 20 as dots.
    fn ground_ui(&self, rect: Rect) {
        self.p.rect_filled(rect, 0, self.theme.well);
        let mut y = rect.top() + 14.0;
        while y < rect.bottom() - 4.0 {
            let mut x = rect.left() + 12.0;
            while x < rect.right() - 4.0 {
                self.p.circle_filled(pos2(x, y), 0.8, self.theme.grid);
                x += 20.0;
            }
            y += 20.0;
        }
    }

    fn label(&self, at: Pos2, align: Align, words: &str, strong: bool) {
        let (font, ink) = if strong {
            (theme::bold(size::AXIS), self.theme.ink)
        } else {
            (theme::regular(size::AXIS), self.theme.ink2)
        };
        text::cap(self.p, at.x, at.y, align, words, font, ink);
    }

    fn path(&self, points: &[Pos2], measured: bool) {
        if measured {
            self.p.add(Shape::line(points.to_vec(), self.line()));
        } else {
            let line = Stroke::new(stroke::SCHEMATIC, self.theme.edge);
            for pair in points.windows(2) {
                dashed_line(self.p, pair[0], pair[1], line, 4.0, 3.0);
            }
        }
    }

    /// A resistor with its middle at `at`.
    fn resistor(&self, at: Pos2, upright: bool, measured: bool) {
        let (long, thick) = RESISTOR;
        let wanted = if upright { vec2(thick, long) } else { vec2(long, thick) };
        let body = Rect::from_center_size(at, wanted);
        self.p.rect_filled(body, 0, self.theme.well);
        if measured {
            self.p.rect_stroke(body, 0, self.line(), egui::StrokeKind::Middle);
        } else {
            dashed_rect(self.p, body, Stroke::new(stroke::SCHEMATIC, self.theme.edge), 4.0, 3.0);
        }
    }

    /// The stereo's side: the pull-up from its supply to the contact's spring, and the sleeve's to
    /// ground.
    fn stereo(&self) {
        let Self { stereo, axis, theme, .. } = *self;
        dashed_rect(self.p, stereo, Stroke::new(stroke::RULE, theme.edge), 6.0, 4.0);
        self.label(stereo.min + vec2(9.0, 14.0), Align::Min, "stereo", false);
        let x = (stereo.left() + 32.0).round() + 0.5;
        let (top, node, ground) = (stereo.top() + 38.0, axis + 26.0, axis + 50.0);
        let idle = self.jack.idle_v;
        let pull_up = self.jack.pull_up_ohm();
        // From the contact to the node, up through the pull-up to its supply.
        let known = self.jack.contact.is_some();
        self.path(&[pos2(self.signal_x(), axis + HALF), pos2(self.signal_x(), node), pos2(x, node)], known);
        self.path(&[pos2(x, node), pos2(x, top)], pull_up.is_some());
        self.path(&[pos2(x - 9.0, top), pos2(x + 9.0, top)], idle.is_some());
        let middle = pos2(x, f32::midpoint(top, node));
        self.resistor(middle, true, pull_up.is_some());
        self.p.circle_filled(pos2(x, node), 3.0, if known { theme.ink } else { theme.edge });
        let volts = idle.map_or_else(|| "volts?".to_owned(), volt_text);
        self.label(pos2(x + 15.0, top), Align::Min, &volts, idle.is_some());
        let ohms = pull_up.map_or_else(|| "pull-up?".to_owned(), ohm_text);
        self.label(pos2(x + 15.0, middle.y), Align::Min, &ohms, pull_up.is_some());
        // The sleeve to ground.
        let grounded = self.jack.grounded == Some(true);
        let sleeve = self.sleeve_x();
        self.path(&[pos2(sleeve, axis + HALF), pos2(sleeve, ground), pos2(x, ground)], grounded);
        self.path(&[pos2(x, ground), pos2(x, ground + 7.0)], grounded);
        let ink = if grounded { theme.ink } else { theme.edge };
        for (row, half) in [(0.0, 9.0), (4.0, 6.0), (8.0, 3.0)] {
            let y = ground + 7.0 + row;
            self.p.hline(x - half..=x + half, y, Stroke::new(stroke::SCHEMATIC, ink));
        }
    }

    /// The plug, or a harness's connector; the signal's contact filled.
    fn plug(&self) {
        let (axis, p) = (self.axis, self.p);
        let is_wire = self.jack.contact == Some(JackContact::Wire);
        let last = self.contacts.len() - 1;
        if is_wire {
            let body = Rect::from_x_y_ranges(
                self.contacts[0].0 - 6.0..=self.contacts[last].1 + 6.0,
                axis - 15.0..=axis + 15.0,
            );
            p.rect(body, 0, self.theme.raise, self.line(), egui::StrokeKind::Middle);
        }
        for (at, &(from, to)) in self.contacts.iter().enumerate() {
            let fill = if self.lit == Some(at) { self.theme.ink } else { self.theme.raise };
            if at == 0 && !is_wire {
                // The tip's nose.
                let nose = [(0.0, -5.0), (9.0, -HALF)].map(|(x, y)| pos2(from + x, axis + y));
                let back = [pos2(to, axis - HALF), pos2(to, axis + HALF)];
                let under = [(9.0, HALF), (0.0, 5.0)].map(|(x, y)| pos2(from + x, axis + y));
                let outline: Vec<Pos2> = nose.into_iter().chain(back).chain(under).collect();
                p.add(Shape::convex_polygon(outline, fill, self.line()));
            } else {
                let body = Rect::from_x_y_ranges(from..=to, axis - HALF..=axis + HALF);
                p.rect(body, 0, fill, self.line(), egui::StrokeKind::Middle);
            }
        }
        let from = self.contacts[last].1 + INSULATOR;
        if !is_wire {
            // What parts the contacts is a little thinner than they are.
            for &(_, to) in &self.contacts {
                let ring = Rect::from_x_y_ranges(to..=to + INSULATOR, axis - HALF + 3.0..=axis + HALF - 3.0);
                p.rect_filled(ring.shrink2(vec2(0.8, 0.0)), 0, self.theme.edge);
            }
        }
        if is_wire {
            // Its wires leave at the back.
            for y in [axis - 5.0, axis + 5.0] {
                self.path(&[pos2(from + 2.0, y), pos2(self.end, y)], true);
            }
        } else {
            // A handle that narrows to its cable.
            let (back, high, low) = (self.end - 12.0, 18.0, 9.0);
            let outline =
                [(from, -high), (back - 10.0, -high), (back, -low), (back, low), (back - 10.0, high)]
                    .map(|(x, y)| pos2(x, axis + y));
            let outline: Vec<Pos2> = outline.into_iter().chain([pos2(from, axis + high)]).collect();
            p.add(Shape::convex_polygon(outline, self.theme.raise, self.line()));
            let cable = [pos2(back, axis), pos2(self.end + 6.0, axis)];
            p.line_segment(cable, Stroke::new(stroke::LOOM, self.theme.ink));
        }
        // Names under the plug, where no lead of the meter's is.
        let under = axis + 63.0;
        let name = self.jack.contact.map_or("contact?", JackContact::name);
        let ground = if is_wire { "ground" } else { "sleeve" };
        let (signal, sleeve) = (self.signal_x(), self.sleeve_x());
        let (align, x) =
            if sleeve - signal < 64.0 { (Align::Max, signal + 14.0) } else { (Align::Center, signal) };
        self.label(pos2(x, under), align, name, self.lit.is_some());
        self.label(pos2(sleeve, under), Align::Center, ground, false);
    }

    /// The meter's circle with its letters, and its reading beside it.
    fn meter(&self, letters: &str, reading: Option<String>) {
        self.p.circle(self.meter, METER, self.theme.raise, Stroke::new(stroke::NODE, self.theme.ink));
        let font = theme::bold(size::BODY);
        text::cap(self.p, self.meter.x, self.meter.y, Align::Center, letters, font, self.theme.ink);
        if let Some(reading) = reading {
            // Where the leads are close, it stands beside them.
            if self.sleeve_x() - self.signal_x() < 64.0 {
                let at = pos2(self.sleeve_x() + 8.0, self.meter.y - 2.0);
                self.label(at, Align::Min, &reading, true);
            } else {
                let at = pos2(self.meter.x, self.meter.y + METER + 12.0);
                self.label(at, Align::Center, &reading, true);
            }
        }
    }

    /// Which lead is which, as meters have them.
    fn lead_names(&self) {
        let y = self.meter.y + 16.0;
        self.label(pos2(self.signal_x() - 7.0, y), Align::Max, "red", false);
        self.label(pos2(self.sleeve_x() + 7.0, y), Align::Min, "black", false);
    }

    /// From the meter's side over to `x` and down to the plug, with the probe's end on it.
    fn lead(&self, x: f32) {
        let (y, side) = (self.meter.y, if x < self.meter.x { -METER } else { METER });
        let foot = pos2(x, self.axis - HALF);
        self.path(&[pos2(self.meter.x + side, y), pos2(x, y), foot], true);
        self.p.circle_filled(foot, 3.5, self.theme.ink);
    }

    fn ohms(&self) {
        self.lead(self.sleeve_x());
        let y = self.meter.y;
        let case = pos2(self.stereo.right(), y);
        self.path(&[pos2(self.meter.x - METER, y), case], true);
        self.p.circle_filled(case, 3.5, self.theme.ink);
        self.label(case + vec2(8.0, -12.0), Align::Min, "case", false);
        let reading = self.jack.grounded.map(|is| if is { "joined" } else { "open" }.to_owned());
        self.meter("Ω", reading);
    }

    fn volts(&self) {
        self.lead(self.signal_x());
        self.lead(self.sleeve_x());
        self.lead_names();
        self.meter("V", self.jack.idle_v.map(volt_text));
    }

    fn load(&self) {
        self.lead(self.signal_x());
        self.lead(self.sleeve_x());
        self.lead_names();
        let (x, y) = (self.signal_x(), self.axis - 38.0);
        if by_volts(self.jack) {
            let (from, to) = (pos2(x, y + 8.0), pos2(self.sleeve_x(), y + 8.0));
            self.path(&[from, to], true);
            let middle = pos2(self.meter.x, y + 8.0);
            self.resistor(middle, false, true);
            for end in [from, to] {
                self.p.circle_filled(end, 3.0, self.theme.ink);
            }
            self.label(middle + vec2(0.0, -15.0), Align::Center, "1 kΩ", true);
            self.meter("V", None);
            let beside = pos2(self.meter.x + METER + 8.0, self.meter.y - 12.0);
            self.label(beside, Align::Min, &self.jack.loaded_v.map(volt_text).unwrap_or_default(), true);
        } else {
            self.resistor(pos2(x, y), true, true);
            self.label(pos2(x - 11.0, y), Align::Max, "1 kΩ", true);
            self.meter("mA", self.jack.loaded_a.map(amp_text));
        }
    }

    fn wants(&self) {
        let (from, to, y) = (self.contacts[0].0, self.end, self.meter.y);
        match self.jack.wants {
            Some(JackWants::Pulses) => {
                // A leader and a few bits, hanging from the idle line.
                let unit = (to - from) / 26.0;
                let mut points = vec![pos2(from, y - 10.0)];
                let mut x = from + unit;
                for (mark, space) in [(6.0, 3.0), (1.0, 1.0), (1.0, 2.5), (1.0, 1.0), (1.0, 2.5), (1.0, 1.0)]
                {
                    let (low, up) = (x + mark * unit, x + (mark + space) * unit);
                    points.extend([pos2(x, y - 10.0), pos2(x, y + 12.0), pos2(low, y + 12.0)]);
                    points.push(pos2(low, y - 10.0));
                    x = up;
                }
                points.push(pos2(to, y - 10.0));
                self.path(&points, true);
                self.note_at(y + 27.0, "pulled low, let go");
            }
            Some(JackWants::Resistances) => {
                self.lead_bare(self.signal_x(), y);
                self.lead_bare(self.sleeve_x(), y);
                self.path(&[pos2(self.signal_x(), y), pos2(self.sleeve_x(), y)], true);
                self.resistor(pos2(self.meter.x, y), false, true);
                self.label(pos2(self.meter.x, y - 16.0), Align::Center, "one per button", false);
            }
            None => self.note("ask the manual"),
        }
    }

    fn lead_bare(&self, x: f32, y: f32) {
        self.path(&[pos2(x, y), pos2(x, self.axis - HALF)], true);
    }

    fn note(&self, words: &str) {
        self.note_at(self.meter.y + 6.0, words);
    }

    fn note_at(&self, y: f32, words: &str) {
        let middle = f32::midpoint(self.contacts[0].0, self.end);
        self.label(pos2(middle, y), Align::Center, words, false);
    }
}
