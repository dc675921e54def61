//! Where everything stands in a RON text: a tree of fields, entries and values with their byte
//! offsets. `ron` gives values without places; this gives places without values, so that a message
//! about a value can name its line, and so that what a save would lose can be seen. Knows no
//! project.

use std::collections::BTreeMap;

use super::place::{Place, Step};
use super::scan;

/// A text's tree, and where its comments begin.
#[derive(Debug)]
pub(super) struct Outline {
    pub(super) root: Node,
    /// Byte offsets of the comments, in order.
    pub(super) comments: Vec<usize>,
}

/// One value and where it begins.
#[derive(Debug)]
pub(super) struct Node {
    /// Byte offset of its first character.
    pub(super) at: usize,
    pub(super) kind: Kind,
}

/// What a value is made of.
#[derive(Debug)]
pub(super) enum Kind {
    /// A number, a text, a name without brackets.
    Scalar { end: usize },
    /// Named fields in round brackets.
    Fields(Vec<(String, Node)>),
    /// Keys and values in curly brackets.
    Entries(Vec<(Node, Node)>),
    /// Values in square or round brackets.
    Items(Vec<Node>),
}

/// What the text has that a save would not write again.
#[derive(Debug, Default)]
pub(super) struct Losses {
    /// Fields this program doesn't know, with their byte offsets.
    pub(super) unknown: Vec<(Place, usize)>,
    /// Keys that stand twice in one map: the second, with its byte offset.
    pub(super) doubled: Vec<(Place, usize)>,
}

impl Losses {
    /// Where nothing is known to be kept.
    pub(super) fn all() -> Self {
        Self { unknown: vec![(Place::default(), 0)], doubled: Vec::new() }
    }
}

impl Outline {
    /// The tree of a text, or the byte offset at which it cannot be followed.
    pub(super) fn of(text: &str) -> Result<Self, usize> {
        scan::tree(text)
    }

    /// Where a place begins; where it isn't written down, where its nearest container does.
    pub(super) fn find(&self, text: &str, place: &Place) -> usize {
        let mut node = &self.root;
        for step in &place.0 {
            let next = match (&node.kind, step) {
                (Kind::Fields(fields), Step::Field(name)) => {
                    fields.iter().find(|(field, _)| field == name).map(|(_, value)| value)
                }
                (Kind::Entries(entries), Step::Key(wanted)) => {
                    entries.iter().find(|(key, _)| key.key_text(text) == *wanted).map(|(_, value)| value)
                }
                (Kind::Items(items), Step::Item(index)) => items.get(*index),
                _ => None,
            };
            match next {
                Some(next) => node = next,
                None => break,
            }
        }
        node.at
    }

    /// The text of a top field's plain value, such as `format`.
    pub(super) fn scalar<'a>(&self, text: &'a str, field: &str) -> Option<&'a str> {
        let Kind::Fields(fields) = &self.root.kind else { return None };
        let (_, node) = fields.iter().find(|(name, _)| name == field)?;
        match node.kind {
            Kind::Scalar { end } => text.get(node.at..end),
            _ => None,
        }
    }

    /// What this text has and `kept`, the text a save would write, has not.
    pub(super) fn losses(&self, text: &str, kept: &Self, kept_text: &str) -> Losses {
        let mut losses = Losses::default();
        let mut place = Place::default();
        lost((&self.root, text), (&kept.root, kept_text), &mut place, &mut losses);
        losses
    }
}

impl Node {
    /// A map key as it is compared: a text without its quotes, a number in its shortest form.
    fn key_text(&self, text: &str) -> String {
        let Kind::Scalar { end } = self.kind else { return String::new() };
        let written = text.get(self.at..end).unwrap_or_default();
        if let Ok(key) = ron::from_str::<String>(written) {
            return key;
        }
        ron::from_str::<u64>(written).map_or_else(|_| written.to_owned(), |number| number.to_string())
    }
}

/// Walks both trees side by side.
fn lost(theirs: (&Node, &str), ours: (&Node, &str), place: &mut Place, losses: &mut Losses) {
    match (&theirs.0.kind, &ours.0.kind) {
        (Kind::Fields(fields), Kind::Fields(known)) => {
            for (name, value) in fields {
                place.0.push(Step::Field(name.clone()));
                match known.iter().find(|(field, _)| field == name) {
                    Some((_, kept)) => lost((value, theirs.1), (kept, ours.1), place, losses),
                    None => losses.unknown.push((place.clone(), value.at)),
                }
                place.0.pop();
            }
        }
        (Kind::Entries(entries), Kind::Entries(known)) => {
            let known: BTreeMap<String, &Node> =
                known.iter().map(|(key, value)| (key.key_text(ours.1), value)).collect();
            let mut seen = std::collections::BTreeSet::new();
            for (key, value) in entries {
                let name = key.key_text(theirs.1);
                place.0.push(Step::Key(name.clone()));
                match known.get(&name) {
                    _ if seen.contains(&name) => losses.doubled.push((place.clone(), key.at)),
                    Some(kept) => lost((value, theirs.1), (kept, ours.1), place, losses),
                    None => losses.unknown.push((place.clone(), key.at)),
                }
                seen.insert(name);
                place.0.pop();
            }
        }
        (Kind::Items(items), Kind::Items(known)) => {
            for (index, value) in items.iter().enumerate() {
                place.0.push(Step::Item(index));
                match known.get(index) {
                    Some(kept) => lost((value, theirs.1), (kept, ours.1), place, losses),
                    None => losses.unknown.push((place.clone(), value.at)),
                }
                place.0.pop();
            }
        }
        (Kind::Scalar { .. }, Kind::Scalar { .. }) => {}
        // Brackets with nothing in them have nothing to lose.
        (Kind::Items(items), _) if items.is_empty() => {}
        _ => losses.unknown.push((place.clone(), theirs.0.at)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn offset(text: &str, steps: &[Step]) -> usize {
        Outline::of(text).unwrap().find(text, &Place(steps.to_vec()))
    }

    fn field(name: &str) -> Step {
        Step::Field(name.to_owned())
    }

    #[test]
    fn a_value_is_found_behind_comments_raw_texts_and_brackets_in_texts() {
        let text = "#![enable(implicit_some)] // (a: [\n(a: r##\"}\"#)\"##, /* /* ) */ ] */ b: Some((c: [1, '\\'', (x: \"\\\")\", y: 7)])))";
        let path = [field("b"), field("c"), Step::Item(2), field("y")];
        assert_eq!(&text[offset(text, &path)..][..1], "7");
        assert_eq!(Outline::of(text).unwrap().comments.len(), 2);
    }

    #[test]
    fn a_place_that_is_not_written_is_found_at_its_container() {
        let text = "(a: {\"k\": (b: 1)})";
        assert_eq!(offset(text, &[field("a"), Step::Key("k".into()), field("z")]), 10);
        assert_eq!(offset(text, &[field("z")]), 0);
    }

    #[test]
    fn a_text_that_cannot_be_followed_says_where() {
        for (text, at) in
            [("", 0), ("(a: 1", 5), ("(a: 1))", 6), ("(a 1)", 3), ("[1 2]", 3), ("/*", 0), ("\"x", 0)]
        {
            assert_eq!(Outline::of(text).unwrap_err(), at, "{text}");
        }
        assert_eq!(Outline::of(&"[".repeat(100_000)).unwrap_err(), scan::MAX_DEPTH);
    }
}
