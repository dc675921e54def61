//! The colours that wires are drawn in: as their insulation looks, the same in every look but at night, where
//! nothing is bright. Knows the colours of IEC 60757, whose shades the standard leaves open.

use egui::Color32;

use super::{Theme, ThemeKind};
use crate::wheel::WireColour;

impl Theme {
    /// A wire's insulation.
    #[expect(clippy::disallowed_methods, reason = "the theme is where colours are made")]
    #[must_use]
    pub fn wire(&self, colour: WireColour) -> Color32 {
        let [r, g, b] = match colour {
            WireColour::Black => [24, 24, 26],
            WireColour::Brown => [110, 68, 40],
            WireColour::Red => [198, 40, 46],
            WireColour::Orange => [228, 122, 32],
            WireColour::Yellow => [236, 206, 50],
            WireColour::Green => [28, 132, 78],
            WireColour::Blue => [36, 92, 176],
            WireColour::Violet => [122, 70, 150],
            WireColour::Grey => [134, 140, 142],
            WireColour::White => [244, 245, 242],
            WireColour::Pink => [232, 152, 172],
            WireColour::Gold => [180, 146, 70],
            WireColour::Turquoise => [44, 164, 168],
            WireColour::Silver => [186, 192, 196],
        };
        let part =
            |value: u8| if self.kind == ThemeKind::Night { (f32::from(value) * 0.62) as u8 } else { value };
        Color32::from_rgb(part(r), part(g), part(b))
    }
}
