//! Every colour, size and stroke of the window: three themes, the button colours and shapes, the
//! tints mixed once. The only place that makes a colour. It knows no widget, station or model.
//!
//! One way to reach it: [`install`] keeps the theme in egui's context, and [`Theme::of`] hands it
//! out (`&Ui` derefs to `&Context`). Widgets fetch it so; plain drawing helpers, which take a
//! `Painter`, take `&Theme` as an argument.

mod contrast;
mod install;
mod wires;

use std::sync::Arc;

use egui::{Color32, FontFamily, FontId, Stroke};

pub use contrast::{contrast, luminance};
pub use install::install;

/// Text sizes in points, named by their use.
pub mod size {
    /// Axes and second lines.
    pub const AXIS: f32 = 12.5;
    /// Body text and controls.
    pub const BODY: f32 = 14.0;
    /// Prose and row names.
    pub const PROSE: f32 = 15.0;
    /// Rail names, code values, acting buttons.
    pub const RAIL: f32 = 17.0;
    /// Arm's length: capitals of 3.5 mm at 0.225 mm a point.
    pub const ARM: f32 = 21.0;
    /// A station's head, and what to do first.
    pub const HEAD: f32 = 24.0;
    /// The word of a state panel.
    pub const STATE: f32 = 28.0;
    /// The figure of a state panel.
    pub const FIGURE: f32 = 62.0;
    /// What to do now, narrow window.
    pub const NAME_NARROW: f32 = 38.0;
    /// What to do now, medium window.
    pub const NAME_MEDIUM: f32 = 54.0;
    /// What to do now, on a station that shares the width.
    pub const NAME_SHARED: f32 = 64.0;
    /// What to do now, wide window.
    pub const NAME: f32 = 76.0;
    /// Line height of prose, as a multiple of its size.
    pub const LINE: f32 = 1.42;
    /// Height of a capital in B612, as a fraction of the size (`OS/2.sCapHeight` 1500 of 2000 units).
    pub const CAP: f32 = 0.75;
}

/// Gaps and margins in points, on a grid of 4.
pub mod space {
    /// Between parts of one thing.
    pub const TIGHT: f32 = 8.0;
    /// Between controls in a row.
    pub const ROW: f32 = 12.0;
    /// From a bracket to its content.
    pub const BLOCK: f32 = 16.0;
    /// From region to region.
    pub const REGION: f32 = 24.0;
    /// Outer margin, wide window.
    pub const MARGIN: f32 = 24.0;
    /// Outer margin, medium and narrow window.
    pub const MARGIN_COMPACT: f32 = 20.0;
}

/// Heights of controls in points.
pub mod control {
    /// Dense rows.
    pub const DENSE: f32 = 28.0;
    /// Usual controls and segments.
    pub const USUAL: f32 = 36.0;
    /// Notices and narrow acting rows.
    pub const NOTICE: f32 = 42.0;
    /// Acting buttons.
    pub const ACTING: f32 = 46.0;
    /// Trying a code on the stereo.
    pub const TRY: f32 = 52.0;
    /// Drop-downs in a table.
    pub const DROP: f32 = 34.0;
    /// Keycaps.
    pub const KEYCAP: f32 = 20.0;
    /// Smallest pointer target.
    pub const TARGET: f32 = 34.0;
    /// Corner radius of controls, notices and flags; wells, plots and pages have none.
    pub const RADIUS: u8 = 2;
}

/// Widths of strokes in points.
pub mod stroke {
    /// Rules, outlines, brackets.
    pub const RULE: f32 = 1.0;
    /// The trace.
    pub const TRACE: f32 = 1.25;
    /// Edges of an accept band.
    pub const BAND: f32 = 1.5;
    /// Icons.
    pub const ICON: f32 = 1.6;
    /// Schematics.
    pub const SCHEMATIC: f32 = 1.75;
    /// Nodes and the focus ring.
    pub const NODE: f32 = 2.0;
    /// The wire.
    pub const WIRE: f32 = 2.5;
    /// The loom's wires.
    pub const LOOM: f32 = 3.0;
    /// The loom's live wire.
    pub const LOOM_LIVE: f32 = 6.0;
    /// The current's path through a schematic.
    pub const CURRENT: f32 = 9.0;
    /// Wires bend by 45° over this many points.
    pub const CHAMFER: f32 = 8.0;
}

/// Which of the three looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum ThemeKind {
    /// For a garage or a dull day.
    #[default]
    Dark,
    /// For daylight on the screen.
    Light,
    /// For a dark car: warm, dim, nothing large is bright.
    Night,
}

impl ThemeKind {
    /// Every look, in the order the switch in the strip steps through them.
    pub const ALL: [Self; 3] = [Self::Dark, Self::Light, Self::Night];

    /// The look after this one.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Dark => Self::Light,
            Self::Light => Self::Night,
            Self::Night => Self::Dark,
        }
    }

    /// Its name on the screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Dark => "Dark",
            Self::Light => "Light",
            Self::Night => "Night",
        }
    }
}

/// The outline of a button's plate; button i takes shape i mod 8.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PlateShape {
    /// Round.
    Circle,
    /// Four equal sides.
    Square,
    /// A square on its corner.
    Diamond,
    /// A square with a roof.
    House,
    /// Six sides, points left and right.
    Hexagon,
    /// A square with a point to the right.
    Flag,
    /// A bar with round ends.
    Barrel,
    /// A square with a point below.
    Shield,
}

impl PlateShape {
    /// In the order buttons take them.
    pub const ALL: [Self; 8] = [
        Self::Circle,
        Self::Square,
        Self::Diamond,
        Self::House,
        Self::Hexagon,
        Self::Flag,
        Self::Barrel,
        Self::Shield,
    ];
}

/// One button's colour with everything mixed from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ButtonColour {
    /// Plates, bars, densities, band edges.
    pub plate: Color32,
    /// The letter on the plate.
    pub letter: Color32,
    /// Fill of an accept band.
    pub band: Color32,
    /// Band behind the trace.
    pub trace: Color32,
}

/// Every token of one look.
#[derive(Debug, Clone, PartialEq)]
pub struct Theme {
    /// Which look this is.
    pub kind: ThemeKind,
    /// The window.
    pub face: Color32,
    /// Plots, fields, schematic.
    pub well: Color32,
    /// Controls, notices, the live row.
    pub raise: Color32,
    /// Pressed; the chosen row of a drop-down.
    pub press: Color32,
    /// Hairlines.
    pub rule: Color32,
    /// Grid lines in a well: rule at 55 %.
    pub grid: Color32,
    /// Reject hatching, always with an edge line.
    pub hatch: Color32,
    /// Control outlines, ticks, leaders.
    pub edge: Color32,
    /// Text, wire, trace, focus.
    pub ink: Color32,
    /// Second text.
    pub ink2: Color32,
    /// Third text, disabled; on face and well only.
    pub ink3: Color32,
    /// The one main action, the chosen segment.
    pub act: Color32,
    /// Text on it.
    pub on_act: Color32,
    /// Second text on it.
    pub on_act2: Color32,
    /// Stop edge and hatching, never text.
    pub alarm: Color32,
    /// Stop text.
    pub alarm_ink: Color32,
    /// Its ground.
    pub alarm_face: Color32,
    /// Ring round what has the keyboard.
    pub focus: Color32,
    /// A stretch being dragged over the trace: ink at 10 % into well.
    pub pick: Color32,
    /// Selected text in a field: ink at 25 % into well.
    pub selected_text: Color32,
    /// The page of the build sheet.
    pub paper: Color32,
    /// Rest's rung: grey, so that no button is meant.
    pub rest: ButtonColour,
    buttons: [ButtonColour; 7],
}

impl Theme {
    /// The tokens of one look, tints mixed.
    #[must_use]
    pub fn new(kind: ThemeKind) -> Self {
        let p = palette(kind);
        let [orange, sky, green, yellow, blue, purple] = match kind {
            ThemeKind::Dark | ThemeKind::Light => OKABE_ITO,
            ThemeKind::Night => OKABE_ITO_NIGHT,
        };
        let (band, trace) = match kind {
            ThemeKind::Dark | ThemeKind::Night => (0.22, 0.10),
            ThemeKind::Light => (0.34, 0.16),
        };
        // Grey bands stay pale enough for text on them.
        let grey = 0.6;
        let colour = |plate: Color32, share: f32| ButtonColour {
            plate,
            letter: letter_on(plate, kind, p.well),
            band: mix(p.well, plate, band * share),
            trace: mix(p.well, plate, trace * share),
        };
        Self {
            kind,
            face: p.face,
            well: p.well,
            raise: p.raise,
            press: p.press,
            rule: p.rule,
            grid: mix(p.well, p.rule, 0.55),
            hatch: p.hatch,
            edge: p.edge,
            ink: p.ink,
            ink2: p.ink2,
            ink3: p.ink3,
            act: p.act,
            on_act: p.on_act,
            on_act2: mix(p.on_act, p.act, if kind == ThemeKind::Night { 0.0 } else { 0.25 }),
            alarm: p.alarm,
            alarm_ink: p.alarm_ink,
            alarm_face: p.alarm_face,
            focus: p.focus,
            pick: mix(p.well, p.ink, 0.10),
            selected_text: mix(p.well, p.ink, 0.25),
            paper: p.paper,
            rest: colour(p.ink2, grey),
            buttons: [
                colour(orange, 1.0),
                colour(sky, 1.0),
                colour(green, 1.0),
                colour(yellow, 1.0),
                colour(blue, 1.0),
                colour(purple, 1.0),
                colour(p.ink, grey),
            ],
        }
    }

    /// The theme installed in this context; the dark one where none was.
    #[must_use]
    pub fn of(ctx: &egui::Context) -> Arc<Self> {
        ctx.data_mut(|d| {
            Arc::clone(d.get_temp_mut_or_insert_with(theme_id(), || Arc::new(Self::new(ThemeKind::Dark))))
        })
    }

    /// Colour of button `index` (0 is A): i mod 7.
    #[must_use]
    pub fn button(&self, index: usize) -> ButtonColour {
        self.buttons[index % self.buttons.len()]
    }

    /// Outline of button `index`'s plate: i mod 8.
    #[must_use]
    pub fn shape(&self, index: usize) -> PlateShape {
        PlateShape::ALL[index % PlateShape::ALL.len()]
    }

    /// Line round filled button colours: ink on the light theme, where most of the set is under 3:1
    /// on white; none elsewhere.
    #[must_use]
    pub fn key_line(&self) -> Option<Color32> {
        (self.kind == ThemeKind::Light).then_some(self.ink)
    }

    /// Edge colour of button `index`'s band: its own colour, ink on the light theme.
    #[must_use]
    pub fn band_edge(&self, index: usize) -> Color32 {
        self.key_line().unwrap_or_else(|| self.button(index).plate)
    }

    /// A hairline.
    #[must_use]
    pub fn hairline(&self) -> Stroke {
        Stroke::new(stroke::RULE, self.rule)
    }

    /// A control's outline.
    #[must_use]
    pub fn outline(&self) -> Stroke {
        Stroke::new(stroke::RULE, self.edge)
    }
}

/// The letter of button `index`: A to Z, then A again (the project holds 16 buttons).
#[must_use]
pub fn letter(index: usize) -> char {
    // Below 26, so it fits a byte.
    char::from(b'A' + u8::try_from(index % 26).unwrap_or(0))
}

/// B612 regular.
#[must_use]
pub fn regular(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// B612 bold: same widths as regular, so a row never shifts when it turns bold.
#[must_use]
pub fn bold(size: f32) -> FontId {
    FontId::new(size, install::bold_family())
}

/// B612 Mono, for codes only.
#[must_use]
pub fn mono(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}

/// `share` (0 to 1) of `over` mixed into `ground`, in sRGB, opaque.
#[must_use]
pub fn mix(ground: Color32, over: Color32, share: f32) -> Color32 {
    ground.lerp_to_gamma(over, share)
}

fn theme_id() -> egui::Id {
    egui::Id::unique("spokewire theme")
}

/// Black or white, whichever reads better on a plate.
fn letter_on(plate: Color32, kind: ThemeKind, well: Color32) -> Color32 {
    let (dark, light) = match kind {
        ThemeKind::Dark | ThemeKind::Light => (hex(0x0A_0F11), Color32::WHITE),
        ThemeKind::Night => (well, Color32::BLACK),
    };
    if contrast(plate, dark) >= contrast(plate, light) { dark } else { light }
}

struct Palette {
    face: Color32,
    well: Color32,
    raise: Color32,
    press: Color32,
    rule: Color32,
    hatch: Color32,
    edge: Color32,
    ink: Color32,
    ink2: Color32,
    ink3: Color32,
    act: Color32,
    on_act: Color32,
    alarm: Color32,
    alarm_ink: Color32,
    alarm_face: Color32,
    focus: Color32,
    paper: Color32,
}

/// Okabe and Ito, "Color Universal Design" (2008), less black, and less vermillion, which is the
/// alarm's: orange, sky, green, yellow, blue, purple.
const OKABE_ITO: [Color32; 6] =
    [hex(0xE6_9F00), hex(0x56_B4E9), hex(0x00_9E73), hex(0xF0_E442), hex(0x00_72B2), hex(0xCC_79A7)];

/// The same, scaled in linear light to a luminance of 0.18 to 0.30; hue kept.
const OKABE_ITO_NIGHT: [Color32; 6] =
    [hex(0x9F_6D00), hex(0x3A_7DA3), hex(0x00_8762), hex(0x9F_9729), hex(0x00_7CC1), hex(0xA5_6186)];

const fn palette(kind: ThemeKind) -> Palette {
    match kind {
        ThemeKind::Dark => Palette {
            face: hex(0x12_191B),
            well: hex(0x0A_0F11),
            raise: hex(0x1C_2629),
            press: hex(0x2A_373B),
            rule: hex(0x2F_3B3F),
            hatch: hex(0x46_555A),
            edge: hex(0x72_827F),
            ink: hex(0xEE_EBE1),
            ink2: hex(0xAE_B8B4),
            ink3: hex(0x8F_9B95),
            act: hex(0xEE_EBE1),
            on_act: hex(0x0E_1415),
            alarm: hex(0xD5_5E00),
            alarm_ink: hex(0xFF_9B5E),
            alarm_face: hex(0x2A_1608),
            focus: hex(0xEE_EBE1),
            paper: hex(0xF8_FAF7),
        },
        ThemeKind::Light => Palette {
            face: hex(0xDF_E4E1),
            well: hex(0xF7_F9F6),
            raise: hex(0xED_F0ED),
            press: hex(0xCD_D5D1),
            rule: hex(0xB9_C3BE),
            hatch: hex(0xA9_B5B0),
            edge: hex(0x64_726D),
            ink: hex(0x12_1B1C),
            ink2: hex(0x3C_4A47),
            ink3: hex(0x4F_5D59),
            act: hex(0x12_1B1C),
            on_act: hex(0xF7_F9F6),
            alarm: hex(0xD5_5E00),
            alarm_ink: hex(0x9A_3D00),
            alarm_face: hex(0xF6_E3D3),
            focus: hex(0x12_1B1C),
            paper: hex(0xFF_FFFF),
        },
        ThemeKind::Night => Palette {
            face: hex(0x09_0705),
            well: hex(0x04_0302),
            raise: hex(0x15_0F0A),
            press: hex(0x21_170F),
            rule: hex(0x2B_2017),
            hatch: hex(0x3B_2C20),
            edge: hex(0x76_5D44),
            ink: hex(0xC9_9C6E),
            ink2: hex(0xA9_835C),
            ink3: hex(0x96_744F),
            act: hex(0x9C_7850),
            on_act: hex(0x05_0403),
            alarm: hex(0x9C_4300),
            alarm_ink: hex(0xD0_6A22),
            alarm_face: hex(0x1C_0D04),
            focus: hex(0xC2_966A),
            paper: hex(0x0D_0A07),
        },
    }
}

/// 0xRRGGBB to an opaque colour.
#[expect(clippy::disallowed_methods, reason = "this file is where colours come from")]
const fn hex(rgb: u32) -> Color32 {
    let [_, r, g, b] = rgb.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

#[cfg(test)]
mod tests;
