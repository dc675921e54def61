//! What a drawing is made of, in points, y downwards. Roles stand in for colours. Knows no circuit.

/// A place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// To the right, in points.
    pub x: f32,
    /// Downwards, in points.
    pub y: f32,
}

/// A place, shorter to write.
pub(super) const fn at(x: f32, y: f32) -> Spot {
    Spot { x, y }
}

/// A rectangle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Frame {
    /// Its left end.
    pub left: f32,
    /// Its upper end.
    pub top: f32,
    /// Its right end.
    pub right: f32,
    /// Its lower end.
    pub bottom: f32,
}

impl Frame {
    /// Round a middle.
    #[must_use]
    pub const fn round(middle: Spot, width: f32, height: f32) -> Self {
        Self {
            left: middle.x - width / 2.0,
            top: middle.y - height / 2.0,
            right: middle.x + width / 2.0,
            bottom: middle.y + height / 2.0,
        }
    }

    /// The smallest that holds these places.
    #[must_use]
    pub fn holding(spots: &[Spot]) -> Self {
        let far = f32::INFINITY;
        spots.iter().fold(Self { left: far, top: far, right: -far, bottom: -far }, |frame, spot| Self {
            left: frame.left.min(spot.x),
            top: frame.top.min(spot.y),
            right: frame.right.max(spot.x),
            bottom: frame.bottom.max(spot.y),
        })
    }

    /// So much larger on every side.
    #[must_use]
    pub const fn grown(self, by: f32) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Its corners, clockwise from the upper left.
    #[must_use]
    pub const fn corners(self) -> [Spot; 4] {
        let Self { left, top, right, bottom } = self;
        [at(left, top), at(right, top), at(right, bottom), at(left, bottom)]
    }

    /// Whether the two share an area.
    #[must_use]
    pub const fn meets(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// What ink something is drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tone {
    /// The circuit itself.
    Ink,
    /// Second text.
    Second,
    /// Third text.
    Third,
    /// Enclosures.
    Edge,
}

/// What an area is filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fill {
    /// The ground of the drawing.
    Ground,
    /// Raised: a chip, a flag.
    Raised,
    /// Ink: a part that was chosen.
    Ink,
}

/// Which end of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// How large a text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TextSize {
    /// Values.
    Small,
    /// Names.
    Body,
}

impl TextSize {
    /// In points.
    #[must_use]
    pub const fn points(self) -> f32 {
        match self {
            Self::Small => 12.5,
            Self::Body => 14.0,
        }
    }
}

/// Who holds a switch closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HeldBy {
    /// A person, in the drawing.
    Drawing,
    /// A finger on the wheel itself.
    Wheel,
}

/// One thing drawn. Later ones lie over earlier ones.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// The way the current takes, under the strokes, in a button's colour.
    Current {
        /// Corner by corner.
        points: Vec<Spot>,
        /// Whose colour.
        button: usize,
    },
    /// Strokes, corner by corner.
    Line {
        /// The corners.
        points: Vec<Spot>,
        /// How wide.
        width: f32,
        /// In what ink.
        tone: Tone,
        /// Planned, or not known.
        dashed: bool,
    },
    /// A closed area with an outline in ink.
    Area {
        /// Its corners; convex.
        points: Vec<Spot>,
        /// What fills it.
        fill: Fill,
        /// Whether its outline is dashed: not known.
        dashed: bool,
    },
    /// A disc in ink, or a ring filled with the ground.
    Disc {
        /// Its middle.
        middle: Spot,
        /// Its radius.
        radius: f32,
        /// A ring: a terminal, a switch's contact.
        open: bool,
    },
    /// A button's plate.
    Plate {
        /// Its middle.
        middle: Spot,
        /// Its radius.
        radius: f32,
        /// Which button.
        button: usize,
        /// Whether it isn't known what it reads.
        dashed: bool,
    },
    /// A mark round the plate of a switch that is held closed.
    Held {
        /// The plate's middle.
        middle: Spot,
        /// By whom.
        by: HeldBy,
    },
    /// Words on one line, by the middle of their capitals.
    Text {
        /// Where.
        place: Spot,
        /// Which end stands there.
        anchor: Anchor,
        /// How large.
        size: TextSize,
        /// Whether bold.
        bold: bool,
        /// In what ink.
        tone: Tone,
        /// The words.
        words: String,
    },
    /// What stands at a node: two lines on a raised ground.
    Flag {
        /// Where.
        frame: Frame,
        /// The first line, bold.
        large: String,
        /// The second.
        small: String,
        /// Whose colour its edge has.
        button: Option<usize>,
    },
}

/// The height of a flag.
pub(super) const FLAG_HIGH: f32 = 38.0;

/// Room beside a flag's words, both sides together.
pub(super) const FLAG_ROOM: f32 = 22.0;

/// Height of a capital as a share of the size: B612's 1500 of 2000 units.
const CAP: f32 = 0.75;

/// The width of a line at most, in points: B612's own advance widths (the same for regular and bold),
/// each rounded up to one of six steps. A letter that isn't in the table counts as a whole square.
#[must_use]
pub fn width_at_most(words: &str, size: TextSize) -> f32 {
    let squares: f32 = words
        .chars()
        .map(|letter| match letter {
            ' ' | '\'' | '|' | ',' | ';' | '·' | '.' | ':' | 'I' | 'i' | 'j' | '°' | '!' | 'l' => 0.35,
            '"' | 'f' | 'r' | 't' | '(' | ')' | '-' | 'J' | '[' | 's' => 0.45,
            '=' | ']' | 'c' | 'z' | 'a' | '$' | '*' | '/' | '?' | 'F' | 'L' | 'S' | '\\' | '_' | '`'
            | 'e' | 'k' | 'v' | 'x' | 'y' | '−' | '–' => 0.55,
            '&' | 'H' | 'U' | 'N' | '^' | 'w' | '~' | '…' | '→' => 0.75,
            '%' | 'm' => 0.9,
            'O' | 'Q' | '#' | 'M' | 'W' | '@' => 1.0,
            letter if letter.is_ascii() || matches!(letter, '±' | 'µ' | '≥' | '≤') => 0.65,
            _ => 1.0,
        })
        .sum();
    squares * size.points()
}

/// As much of a text as fits, ended by an ellipsis where that isn't all.
#[must_use]
pub fn cut_to(words: &str, size: TextSize, width: f32) -> String {
    if width_at_most(words, size) <= width {
        return words.to_owned();
    }
    let mut kept: String = words.to_owned();
    while kept.pop().is_some() {
        let cut = format!("{}…", kept.trim_end());
        if width_at_most(&cut, size) <= width {
            return cut;
        }
    }
    String::new()
}

/// Where a text lies, at most.
#[must_use]
pub(super) fn text_frame(place: Spot, anchor: Anchor, size: TextSize, words: &str) -> Frame {
    let width = width_at_most(words, size);
    let left = match anchor {
        Anchor::Start => place.x,
        Anchor::Middle => place.x - width / 2.0,
        Anchor::End => place.x - width,
    };
    let half = size.points() * CAP / 2.0;
    Frame { left, top: place.y - half, right: left + width, bottom: place.y + half }
}

impl Shape {
    /// Where it lies, strokes and words included.
    #[must_use]
    pub fn frame(&self) -> Frame {
        match self {
            Self::Current { points, .. } => Frame::holding(points).grown(4.5),
            Self::Line { points, width, .. } => Frame::holding(points).grown(width / 2.0),
            Self::Area { points, .. } => Frame::holding(points).grown(0.875),
            Self::Disc { middle, radius, .. } => Frame::round(*middle, 2.0 * radius, 2.0 * radius),
            // The widest shape reaches 1.16 of its radius.
            Self::Plate { middle, radius, .. } => Frame::round(*middle, 2.32 * radius, 2.32 * radius),
            Self::Held { middle, .. } => Frame::round(*middle, 40.0, 40.0),
            Self::Text { place, anchor, size, words, .. } => text_frame(*place, *anchor, *size, words),
            Self::Flag { frame, .. } => *frame,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_ends_in_an_ellipsis() {
        assert_eq!(cut_to("Tarn R40", TextSize::Body, 72.0), "Tarn R40");
        let cut = cut_to("Tarn R40 with the long name", TextSize::Body, 72.0);
        assert!(cut.ends_with('…') && width_at_most(&cut, TextSize::Body) <= 72.0, "{cut}");
        assert_eq!(cut_to("anything", TextSize::Body, 2.0), "");
    }

    #[test]
    fn frames_that_only_touch_do_not_meet() {
        let one = Frame { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };
        assert!(!one.meets(Frame { left: 10.0, right: 20.0, ..one }));
        assert!(one.meets(Frame { left: 9.9, right: 20.0, ..one }));
    }
}
