//! The colours of wires by the letters of IEC 60757: what is known, and what each stands for. Knows no
//! screen colour.

/// A colour of a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WireColour {
    /// `BK`.
    Black,
    /// `BN`.
    Brown,
    /// `RD`.
    Red,
    /// `OG`.
    Orange,
    /// `YE`.
    Yellow,
    /// `GN`.
    Green,
    /// `BU`.
    Blue,
    /// `VT`.
    Violet,
    /// `GY`.
    Grey,
    /// `WH`.
    White,
    /// `PK`.
    Pink,
    /// `GD`.
    Gold,
    /// `TQ`.
    Turquoise,
    /// `SR`.
    Silver,
}

/// Why letters are no wire's colour.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ColourError {
    /// Letters that IEC 60757 doesn't know.
    #[error(
        "\"{0}\" is no colour by IEC 60757. Its letters: BK BN RD OG YE GN BU VT GY WH PK GD TQ SR; two \
         colours in one, as WHGN."
    )]
    Unknown(String),
    /// More than a ground and a stripe.
    #[error("\"{0}\" names more than two colours. Give the ground and its stripe, as WHGN.")]
    TooMany(String),
}

impl WireColour {
    /// All of them (IEC 60757:2021, table 1; from memory of it).
    pub const ALL: [Self; 14] = [
        Self::Black,
        Self::Brown,
        Self::Red,
        Self::Orange,
        Self::Yellow,
        Self::Green,
        Self::Blue,
        Self::Violet,
        Self::Grey,
        Self::White,
        Self::Pink,
        Self::Gold,
        Self::Turquoise,
        Self::Silver,
    ];

    /// Its two letters.
    #[must_use]
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Black => "BK",
            Self::Brown => "BN",
            Self::Red => "RD",
            Self::Orange => "OG",
            Self::Yellow => "YE",
            Self::Green => "GN",
            Self::Blue => "BU",
            Self::Violet => "VT",
            Self::Grey => "GY",
            Self::White => "WH",
            Self::Pink => "PK",
            Self::Gold => "GD",
            Self::Turquoise => "TQ",
            Self::Silver => "SR",
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Black => "black",
            Self::Brown => "brown",
            Self::Red => "red",
            Self::Orange => "orange",
            Self::Yellow => "yellow",
            Self::Green => "green",
            Self::Blue => "blue",
            Self::Violet => "violet",
            Self::Grey => "grey",
            Self::White => "white",
            Self::Pink => "pink",
            Self::Gold => "gold",
            Self::Turquoise => "turquoise",
            Self::Silver => "silver",
        }
    }
}

/// A wire's colours from its letters: the ground first, then a stripe. Nothing for no letters. Case,
/// blanks, hyphens and strokes between the colours don't matter.
///
/// # Errors
/// Letters that are no colour, or more than two.
pub fn wire_colours(text: &str) -> Result<Vec<WireColour>, ColourError> {
    let letters: Vec<char> =
        text.chars().filter(|c| !c.is_whitespace() && !matches!(c, '-' | '/' | '+' | ',')).collect();
    let unknown = || ColourError::Unknown(text.trim().to_owned());
    if !letters.len().is_multiple_of(2) {
        return Err(unknown());
    }
    let colours: Option<Vec<WireColour>> = letters
        .chunks(2)
        .map(|pair| {
            let pair: String = pair.iter().map(char::to_ascii_uppercase).collect();
            WireColour::ALL.into_iter().find(|colour| colour.letters() == pair)
        })
        .collect();
    match colours {
        None => Err(unknown()),
        Some(colours) if colours.len() > 2 => Err(ColourError::TooMany(text.trim().to_owned())),
        Some(colours) => Ok(colours),
    }
}

/// A wire's letters as the standard writes them, with their names: `WHGN white, green`.
#[must_use]
pub fn colour_text(colours: &[WireColour]) -> String {
    let letters: String = colours.iter().map(|colour| colour.letters()).collect();
    let names: Vec<_> = colours.iter().map(|colour| colour.name()).collect();
    format!("{letters} {}", names.join(", ")).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60757: `GNYE` is the protective conductor's green-and-yellow.
    #[test]
    fn letters_are_read_however_they_are_parted() {
        use WireColour::{Black, Green, White, Yellow};
        assert_eq!(wire_colours("GNYE"), Ok(vec![Green, Yellow]));
        for typed in ["WHGN", "wh-gn", " WH / GN ", "whGN", "WH, GN", "WH+GN"] {
            assert_eq!(wire_colours(typed), Ok(vec![White, Green]), "{typed}");
        }
        assert_eq!(wire_colours("BK"), Ok(vec![Black]));
        assert_eq!(wire_colours("  "), Ok(vec![]));
    }

    #[test]
    fn free_text_is_refused_with_the_letters_that_are_known() {
        for typed in ["white", "W", "XX", "WHG", "grün"] {
            let said = wire_colours(typed).unwrap_err().to_string();
            assert!(said.starts_with(&format!("\"{typed}\" is no colour by IEC 60757.")), "{said}");
            assert!(WireColour::ALL.iter().all(|colour| said.contains(colour.letters())), "{said}");
        }
        assert_eq!(
            wire_colours("WHGNBK").unwrap_err().to_string(),
            "\"WHGNBK\" names more than two colours. Give the ground and its stripe, as WHGN."
        );
    }

    #[test]
    fn a_colour_is_told_by_letters_and_name() {
        assert_eq!(colour_text(&wire_colours("wh gn").unwrap()), "WHGN white, green");
        assert_eq!(colour_text(&[]), "");
    }
}
