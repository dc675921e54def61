//! What `ron` found, in words for a person who opened the file in a text editor: what stands
//! there, what was expected, what to do. Knows no project.

use ron::error::{Error, SpannedError};

/// One thing that can't be read, and where.
pub(super) struct Misread {
    /// Line, from 1.
    pub(super) line: usize,
    /// Column in characters, from 1.
    pub(super) column: usize,
    /// What was found, in one sentence.
    pub(super) what: String,
    /// What to do, in one sentence.
    pub(super) advice: String,
}

/// An error of `ron` in a person's words.
pub(super) fn of(error: &SpannedError, text: &str) -> Misread {
    // A name or number that was read whole, and then not liked, begins where `ron` started; for
    // everything else `ron` stands before what it couldn't take.
    let at = match error.code {
        Error::IntegerOutOfBounds
        | Error::NoSuchEnumVariant { .. }
        | Error::DuplicateStructField { .. }
        | Error::ExpectedDifferentStructName { .. } => error.span.start,
        _ => error.span.end,
    };
    let (line, column) = (at.line, at.col);
    let found = found_at(text, line, column);
    let (what, advice) = match &error.code {
        _ if ends(text, line, column) && !text.trim().is_empty() => (
            "The file ends in the middle.".to_owned(),
            "It may have been cut off: open the backup beside it, which ends in `.ron.bak`.".to_owned(),
        ),
        _ if text.trim().is_empty() => {
            ("The file is empty.".to_owned(), "Choose another, or begin a new project.".to_owned())
        }
        Error::ExpectedOption => {
            (format!("Found {found}."), "Write `None`, or the value within `Some( )`.".to_owned())
        }
        Error::ExpectedFloat | Error::FloatUnderscore | Error::UnderscoreAtBeginning => {
            (format!("Found {found}."), "A number is wanted here.".to_owned())
        }
        Error::ExpectedInteger | Error::InvalidIntegerDigit { .. } => {
            (format!("Found {found}."), "A whole number is wanted here.".to_owned())
        }
        Error::IntegerOutOfBounds => {
            (format!("Found {found}, too large or below 0."), "Write a number in its range.".to_owned())
        }
        Error::ExpectedDifferentStructName { .. } => (
            format!("Found {found}."),
            "Fields in `( )` are wanted here, with no name before them.".to_owned(),
        ),
        Error::ExpectedBoolean => (format!("Found {found}."), "`true` or `false` is wanted here.".to_owned()),
        Error::ExpectedString => {
            (format!("Found {found}."), "A text in \"quotes\" is wanted here.".to_owned())
        }
        Error::ExpectedStringEnd => {
            ("A text begins here and never ends.".to_owned(), "Close its quotes.".to_owned())
        }
        Error::ExpectedArray => (format!("Found {found}."), "A list in `[ ]` is wanted here.".to_owned()),
        Error::ExpectedMap => (format!("Found {found}."), "A map in `{ }` is wanted here.".to_owned()),
        Error::ExpectedComma if found.starts_with("`.") => {
            (format!("Found {found} behind a whole number."), "A whole number is wanted here.".to_owned())
        }
        Error::ExpectedComma => (format!("Found {found}."), "A comma is wanted before it.".to_owned()),
        Error::ExpectedMapColon => (format!("Found {found}."), "A colon is wanted before it.".to_owned()),
        Error::ExpectedArrayEnd => (format!("Found {found}."), "A `]` is wanted here.".to_owned()),
        Error::ExpectedMapEnd => (format!("Found {found}."), "A `}` is wanted here.".to_owned()),
        Error::ExpectedOptionEnd | Error::ExpectedStructLikeEnd => {
            (format!("Found {found}."), "A `)` is wanted here.".to_owned())
        }
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => {
            (format!("Found {found}."), "Fields in `( )` are wanted here.".to_owned())
        }
        Error::MissingStructField { field, .. } => {
            (format!("The field `{field}` is missing before {found}."), "Add it.".to_owned())
        }
        Error::DuplicateStructField { field, .. } => {
            (format!("The field `{field}` stands here a second time."), "Keep one of them.".to_owned())
        }
        Error::NoSuchEnumVariant { expected, found, .. } => {
            let known: Vec<String> = expected.iter().map(|name| format!("`{name}`")).collect();
            (format!("`{found}` is not known here."), format!("Write {}.", known.join(" or ")))
        }
        Error::ExceededRecursionLimit => {
            ("Brackets are nested too deep.".to_owned(), "Take out what isn't a project's.".to_owned())
        }
        Error::TrailingCharacters => {
            (format!("Found {found} after the project's end."), "Take it out.".to_owned())
        }
        other => (format!("{other}, found {found}."), "Correct it in a text editor.".to_owned()),
    };
    Misread { line, column, what, advice }
}

/// What stands at a place, quoted and cut short.
fn found_at(text: &str, line: usize, column: usize) -> String {
    const SHOWN: usize = 24;
    let line_text = text.split('\n').nth(line.saturating_sub(1)).unwrap_or_default();
    let rest: String = line_text.chars().skip(column.saturating_sub(1)).collect();
    let rest = rest.trim();
    if rest.is_empty() {
        "the end of the line".to_owned()
    } else if rest.chars().count() > SHOWN {
        format!("`{}…`", rest.chars().take(SHOWN).collect::<String>())
    } else {
        format!("`{rest}`")
    }
}

/// Whether nothing but blank follows a place.
fn ends(text: &str, line: usize, column: usize) -> bool {
    let mut lines = text.split('\n').skip(line.saturating_sub(1));
    let first =
        lines.next().unwrap_or_default().chars().skip(column.saturating_sub(1)).all(char::is_whitespace);
    first && lines.all(|line| line.trim().is_empty())
}
