//! From a RON text to its outline: follows brackets, texts and comments as RON's grammar has them,
//! and keeps byte offsets. Knows no project.

use super::outline::{Kind, Node, Outline};

/// Nesting deeper than this is refused; `ron` refuses at the same depth.
pub(super) const MAX_DEPTH: usize = 128;

/// The tree of a text, or the byte offset at which it cannot be followed.
pub(super) fn tree(text: &str) -> Result<Outline, usize> {
    let mut scan = Scan { text, at: 0, comments: Vec::new() };
    scan.skip_blank()?;
    while scan.rest().starts_with('#') {
        scan.at += scan.rest().find(']').ok_or(scan.at)? + 1;
        scan.skip_blank()?;
    }
    let root = scan.value(MAX_DEPTH)?;
    scan.skip_blank()?;
    if scan.rest().is_empty() { Ok(Outline { root, comments: scan.comments }) } else { Err(scan.at) }
}

/// The reader's place in the text. Every function leaves `at` on a character boundary.
struct Scan<'a> {
    text: &'a str,
    at: usize,
    comments: Vec<usize>,
}

impl<'a> Scan<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn take(&mut self, wanted: char) -> bool {
        let found = self.rest().starts_with(wanted);
        if found {
            self.at += wanted.len_utf8();
        }
        found
    }

    /// White space and comments, as RON's grammar has them.
    fn skip_blank(&mut self) -> Result<(), usize> {
        loop {
            let rest = self.rest();
            self.at += rest.len() - rest.trim_start_matches(is_blank).len();
            if self.rest().starts_with("//") {
                self.comments.push(self.at);
                self.at += self.rest().find('\n').unwrap_or(self.rest().len());
            } else if self.rest().starts_with("/*") {
                self.comments.push(self.at);
                self.skip_block_comment()?;
            } else {
                return Ok(());
            }
        }
    }

    /// Block comments nest.
    fn skip_block_comment(&mut self) -> Result<(), usize> {
        let begin = self.at;
        let mut open = 0_usize;
        loop {
            let step = self.rest().find("/*");
            let end = self.rest().find("*/");
            match (step, end) {
                (Some(step), Some(end)) if step < end => {
                    open += 1;
                    self.at += step + 2;
                }
                (_, Some(end)) => {
                    open -= 1;
                    self.at += end + 2;
                }
                _ => return Err(begin),
            }
            if open == 0 {
                return Ok(());
            }
        }
    }

    fn value(&mut self, depth: usize) -> Result<Node, usize> {
        let at = self.at;
        let depth = depth.checked_sub(1).ok_or(at)?;
        let rest = self.rest();
        if rest.starts_with('[') {
            self.at += 1;
            return Ok(Node { at, kind: Kind::Items(self.items(']', depth)?) });
        }
        if rest.starts_with('{') {
            self.at += 1;
            return Ok(Node { at, kind: Kind::Entries(self.entries(depth)?) });
        }
        if rest.starts_with('(') {
            self.at += 1;
            return Ok(Node { at, kind: self.bracket(depth)? });
        }
        if self.skip_quoted()? {
            return Ok(Node { at, kind: Kind::Scalar { end: self.at } });
        }
        let name = self.word()?;
        let end = self.at;
        self.skip_blank()?;
        if !self.take('(') {
            // What follows a name without brackets isn't its own.
            self.at = end;
            return Ok(Node { at, kind: Kind::Scalar { end } });
        }
        match self.bracket(depth)? {
            // An option is written with and without `Some`; its content is what counts.
            Kind::Items(mut items) if name == "Some" && items.len() == 1 => items.pop().ok_or(at),
            kind => Ok(Node { at, kind }),
        }
    }

    /// What stands between round brackets: named fields, or values.
    fn bracket(&mut self, depth: usize) -> Result<Kind, usize> {
        self.skip_blank()?;
        let (begin, comments) = (self.at, self.comments.len());
        let named = self.field_name().is_ok();
        self.at = begin;
        self.comments.truncate(comments);
        if !named {
            return Ok(Kind::Items(self.items(')', depth)?));
        }
        let mut fields = Vec::new();
        loop {
            let name = self.field_name()?;
            self.skip_blank()?;
            fields.push((name, self.value(depth)?));
            if self.ends(')')? {
                return Ok(Kind::Fields(fields));
            }
        }
    }

    /// A field's name and the colon behind it.
    fn field_name(&mut self) -> Result<String, usize> {
        let name = self.word()?;
        self.skip_blank()?;
        if self.take(':') { Ok(name.trim_start_matches("r#").to_owned()) } else { Err(self.at) }
    }

    fn items(&mut self, close: char, depth: usize) -> Result<Vec<Node>, usize> {
        let mut items = Vec::new();
        self.skip_blank()?;
        if self.take(close) {
            return Ok(items);
        }
        loop {
            items.push(self.value(depth)?);
            if self.ends(close)? {
                return Ok(items);
            }
        }
    }

    fn entries(&mut self, depth: usize) -> Result<Vec<(Node, Node)>, usize> {
        let mut entries = Vec::new();
        self.skip_blank()?;
        if self.take('}') {
            return Ok(entries);
        }
        loop {
            let key = self.value(depth)?;
            self.skip_blank()?;
            if !self.take(':') {
                return Err(self.at);
            }
            self.skip_blank()?;
            entries.push((key, self.value(depth)?));
            if self.ends('}')? {
                return Ok(entries);
            }
        }
    }

    /// After a value: whether the bracket closes; a comma otherwise, the last one being optional.
    fn ends(&mut self, close: char) -> Result<bool, usize> {
        self.skip_blank()?;
        let comma = self.take(',');
        self.skip_blank()?;
        if self.take(close) {
            Ok(true)
        } else if comma {
            Ok(false)
        } else {
            Err(self.at)
        }
    }

    /// A name or a number: everything up to what separates.
    fn word(&mut self) -> Result<&'a str, usize> {
        let rest = self.rest();
        let raw = if rest.starts_with("r#") { 2 } else { 0 };
        let ends = |c: char| is_blank(c) || "()[]{},:\"'/#".contains(c);
        let tail = rest.get(raw..).unwrap_or_default();
        let length = raw + tail.find(ends).unwrap_or(tail.len());
        if length == raw {
            return Err(self.at);
        }
        self.at += length;
        Ok(rest.get(..length).unwrap_or_default())
    }

    /// Skips a text, a raw text or a character, with a `b` before it or not; `false` where there is
    /// none.
    fn skip_quoted(&mut self) -> Result<bool, usize> {
        let begin = self.at;
        let rest = self.rest();
        let body = rest.strip_prefix('b').unwrap_or(rest);
        let before = rest.len() - body.len();
        if let Some(raw) = body.strip_prefix('r') {
            let hashes = raw.len() - raw.trim_start_matches('#').len();
            if raw.get(hashes..).is_some_and(|quoted| quoted.starts_with('"')) {
                let open = before + 1 + hashes + 1;
                let close = format!("\"{}", "#".repeat(hashes));
                let length = rest.get(open..).and_then(|inner| inner.find(&close)).ok_or(begin)?;
                self.at += open + length + close.len();
                return Ok(true);
            }
        }
        let quote = match body.chars().next() {
            Some(quote @ ('"' | '\'')) => quote,
            _ => return Ok(false),
        };
        let mut escaped = false;
        for (offset, c) in body.char_indices().skip(1) {
            if escaped {
                escaped = false;
            } else if c == '\\' {
                escaped = true;
            } else if c == quote {
                self.at += before + offset + c.len_utf8();
                return Ok(true);
            }
        }
        Err(begin)
    }
}

/// White space of RON's grammar.
fn is_blank(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t'
            | '\n'
            | '\r'
            | '\x0B'
            | '\x0C'
            | '\u{85}'
            | '\u{200E}'
            | '\u{200F}'
            | '\u{2028}'
            | '\u{2029}'
    )
}
