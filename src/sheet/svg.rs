//! A drawing as an SVG document (W3C Scalable Vector Graphics 1.1), in inks that are handed in. Knows no
//! circuit.

use std::fmt::Write as _;

use super::plate::{PlateOutline, plate_outline};
use super::shape::{Anchor, Fill, Shape, Spot, TextSize, Tone};
use super::{Drawing, Frame, HeldBy};

/// What the roles of a drawing are drawn in, each as CSS writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inks {
    /// The circuit.
    pub ink: &'static str,
    /// Second and third text.
    pub second: &'static str,
    /// Enclosures and flags' outlines.
    pub edge: &'static str,
    /// The ground.
    pub ground: &'static str,
    /// Raised areas.
    pub raised: &'static str,
    /// The current's way.
    pub current: &'static str,
}

impl Inks {
    /// For paper: black and greys by their CSS names, so that it prints everywhere.
    pub const PAPER: Self = Self {
        ink: "black",
        second: "dimgray",
        edge: "gray",
        ground: "white",
        raised: "whitesmoke",
        current: "lightgray",
    };
}

/// The drawing as a document of its own, as large as the drawing, in points of 1/96 inch.
#[must_use]
pub fn svg(drawing: &Drawing, inks: &Inks) -> String {
    let Drawing { width, height, shapes, .. } = drawing;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"B612, sans-serif\">\n\
         <title>Circuit</title>\n"
    );
    for shape in shapes {
        draw(&mut out, shape, inks);
    }
    out.push_str("</svg>\n");
    out
}

/// A text for XML: its five marks as entities, and nothing that XML doesn't allow.
#[must_use]
pub(super) fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for letter in words.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            // XML 1.0, production 2: of the control characters only these.
            '\t' | '\n' | '\r' => out.push(' '),
            letter if letter.is_control() || matches!(letter, '\u{FFFE}' | '\u{FFFF}') => {}
            letter => out.push(letter),
        }
    }
    out
}

fn draw(out: &mut String, shape: &Shape, inks: &Inks) {
    // Writing to a text can't fail.
    let _ = match shape {
        Shape::Current { points, .. } => writeln!(
            out,
            "<polyline class=\"current\" points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"9\" \
             stroke-linejoin=\"round\"/>",
            listed(points),
            inks.current
        ),
        Shape::Line { points, width, tone, dashed } => writeln!(
            out,
            "<polyline class=\"{}\" points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"{}/>",
            if *tone == Tone::Edge { "enclosure" } else { "wire" },
            listed(points),
            tone_of(*tone, inks),
            dashes(*dashed, *tone)
        ),
        Shape::Area { points, fill, dashed } => writeln!(
            out,
            "<polygon class=\"part\" points=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.75\"{}/>",
            listed(points),
            match fill {
                Fill::Ground => inks.ground,
                Fill::Raised => inks.raised,
                Fill::Ink => inks.ink,
            },
            inks.ink,
            dashes(*dashed, Tone::Ink)
        ),
        Shape::Disc { middle, radius, open } => writeln!(
            out,
            "<circle class=\"dot\" cx=\"{}\" cy=\"{}\" r=\"{radius}\" fill=\"{}\"{}/>",
            middle.x,
            middle.y,
            if *open { inks.ground } else { inks.ink },
            if *open { format!(" stroke=\"{}\" stroke-width=\"1.5\"", inks.ink) } else { String::new() }
        ),
        Shape::Plate { middle, radius, button, dashed } => {
            plate(out, *middle, *radius, *button, *dashed, inks)
        }
        Shape::Held { middle, by } => held(out, *middle, *by, inks),
        Shape::Text { place, anchor, size, bold, tone, words } => {
            text(out, "words", *place, *anchor, *size, *bold, tone_of(*tone, inks), words)
        }
        Shape::Flag { frame, large, small, button } => {
            flag(out, *frame, large, small, button.is_some(), inks)
        }
    };
}

const fn tone_of(tone: Tone, inks: &Inks) -> &'static str {
    match tone {
        Tone::Ink => inks.ink,
        Tone::Second | Tone::Third => inks.second,
        Tone::Edge => inks.edge,
    }
}

const fn dashes(dashed: bool, tone: Tone) -> &'static str {
    match (dashed, tone) {
        (false, _) => "",
        (true, Tone::Edge) => " stroke-dasharray=\"6 4\"",
        (true, _) => " stroke-dasharray=\"4 3\"",
    }
}

fn listed(points: &[Spot]) -> String {
    points.iter().map(|spot| format!("{},{}", spot.x, spot.y)).collect::<Vec<_>>().join(" ")
}

fn plate(
    out: &mut String,
    middle: Spot,
    radius: f32,
    button: usize,
    dashed: bool,
    inks: &Inks,
) -> std::fmt::Result {
    let look = format!(
        "class=\"plate\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.25\"{}",
        inks.ground,
        inks.ink,
        dashes(dashed, Tone::Ink)
    );
    let Spot { x, y } = middle;
    match plate_outline(button) {
        PlateOutline::Circle(of) => {
            writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{}\" {look}/>", of * radius)
        }
        PlateOutline::Barrel { reach, end } => {
            let (half, end) = ((reach + end) * radius, end * radius);
            writeln!(
                out,
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{end}\" {look}/>",
                x - half,
                y - end,
                2.0 * half,
                2.0 * end
            )
        }
        PlateOutline::Corners(corners) => {
            let corners: Vec<Spot> =
                corners.iter().map(|(dx, dy)| Spot { x: x + dx * radius, y: y + dy * radius }).collect();
            writeln!(out, "<polygon points=\"{}\" {look}/>", listed(&corners))
        }
    }?;
    // Below 26, so it fits a byte.
    let letter = char::from(b'A' + u8::try_from(button % 26).unwrap_or(0)).to_string();
    text(out, "letter", middle, Anchor::Middle, TextSize::Body, true, inks.ink, &letter)
}

fn held(out: &mut String, middle: Spot, by: HeldBy, inks: &Inks) -> std::fmt::Result {
    let Spot { x, y } = middle;
    match by {
        HeldBy::Drawing => writeln!(
            out,
            "<circle class=\"held\" cx=\"{x}\" cy=\"{y}\" r=\"19\" fill=\"{}\" stroke=\"{}\" stroke-width=\"2\"/>",
            inks.ground, inks.ink
        ),
        HeldBy::Wheel => writeln!(
            out,
            "<rect class=\"held\" x=\"{}\" y=\"{}\" width=\"38\" height=\"38\" fill=\"none\" stroke=\"{}\" \
             stroke-width=\"2\"/>",
            x - 19.0,
            y - 19.0,
            inks.ink
        ),
    }
}

fn flag(
    out: &mut String,
    frame: Frame,
    large: &str,
    small: &str,
    coloured: bool,
    inks: &Inks,
) -> std::fmt::Result {
    let Frame { left, top, right, bottom } = frame;
    writeln!(
        out,
        "<rect class=\"flag\" x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\" rx=\"2\" fill=\"{}\" \
         stroke=\"{}\"/>",
        right - left,
        bottom - top,
        inks.raised,
        inks.edge
    )?;
    if coloured {
        writeln!(
            out,
            "<rect class=\"strip\" x=\"{left}\" y=\"{top}\" width=\"5\" height=\"{}\" fill=\"{}\"/>",
            bottom - top,
            inks.ink
        )?;
    }
    let line = |down: f32| Spot { x: left + 12.0, y: top + down };
    text(out, "flagged", line(12.0), Anchor::Start, TextSize::Body, true, inks.ink, large)?;
    text(out, "flagged", line(27.0), Anchor::Start, TextSize::Small, false, inks.second, small)
}

#[expect(clippy::too_many_arguments, reason = "a text is a place, a look and words")]
fn text(
    out: &mut String,
    class: &str,
    place: Spot,
    anchor: Anchor,
    size: TextSize,
    bold: bool,
    ink: &str,
    words: &str,
) -> std::fmt::Result {
    if words.is_empty() {
        return Ok(());
    }
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    // From the middle of the capitals to the baseline.
    let y = place.y + size.points() * 0.375;
    writeln!(
        out,
        "<text class=\"{class}\" x=\"{}\" y=\"{y}\" font-size=\"{}\" text-anchor=\"{anchor}\"{} fill=\"{ink}\">{}</text>",
        place.x,
        size.points(),
        if bold { " font-weight=\"bold\"" } else { "" },
        escaped(words)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_can_not_break_out_of_the_document() {
        let bad = "</text><script>a & \"b\" 'c'\u{1}\u{0}\n</script>";
        assert_eq!(
            escaped(bad),
            "&lt;/text&gt;&lt;script&gt;a &amp; &quot;b&quot; &apos;c&apos; &lt;/script&gt;"
        );
    }
}
