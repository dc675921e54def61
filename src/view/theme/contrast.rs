//! Contrast of two colours as WCAG 2.2 defines it. Knows nothing of the themes it judges.

use egui::Color32;

/// Relative luminance, 0 black to 1 white (WCAG 2.2, "relative luminance", sRGB).
#[must_use]
pub fn luminance(colour: Color32) -> f64 {
    let linear = |byte: u8| {
        let v = f64::from(byte) / 255.0;
        // WCAG prints 0.03928; sRGB's own knee is 0.04045. No 8-bit value lies between the two.
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
}

/// Contrast ratio, 1 to 21 (WCAG 2.2, "contrast ratio"); the order of the two doesn't matter.
#[must_use]
pub fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}
