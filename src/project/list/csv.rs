//! Lists as CSV: a line of names, then one command a row; RFC 4180 with commas or semicolons. Knows no
//! code: what the columns say is in `columns`.

use ::csv::{ByteRecord, QuoteStyle, ReaderBuilder, Terminator, WriterBuilder};

use super::super::model::{Command, CommandId};
use super::columns::{self, COLUMNS, OF_ALL, OF_FREE, OF_RAW, Row};
use super::{Gather, quoted};
use crate::remote::Code;

/// How often reading begins anew behind a quote in the wrong place, before the rest is left.
const RESTARTS: usize = 64;

/// Reads the list; `bytes` has no mark of its encoding in front.
pub(super) fn read(bytes: &[u8], gather: &mut Gather) {
    let lines = Lines::of(bytes);
    let mut at = 0;
    let mut header: Option<Header> = None;
    let delimiter = delimiter(bytes);
    for _ in 0..RESTARTS {
        let rest = bytes.get(at..).unwrap_or_default();
        let mut rows =
            ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(rest);
        let mut record = ByteRecord::new();
        let mut bad = None;
        // Reading from memory can't fail; were it to, the rows so far stand.
        while rows.read_byte_record(&mut record).unwrap_or(false) {
            let begin = record.position().map_or(0, |position| position.byte()) as usize;
            let end = rows.position().byte() as usize;
            let span = at + begin + blank_lines(rest.get(begin..end).unwrap_or_default())..at + end;
            let line = lines.number(span.start);
            let text = bytes.get(span.clone()).unwrap_or_default();
            if let Some((quote, fault)) = bad_quote(text, delimiter) {
                bad = Some((span.start + quote, fault));
                break;
            }
            let lies = Lies {
                line,
                last: lines.number(span.start + text.trim_ascii_end().len().saturating_sub(1)),
                is_ended: text.ends_with(b"\n") || text.ends_with(b"\r"),
            };
            match &header {
                None => match Header::of(&record, line, gather) {
                    Some(found) => header = Some(found),
                    None => return,
                },
                Some(header) => row(header, &record, lies, gather),
            }
        }
        let Some((quote, fault)) = bad else {
            if header.is_none() {
                gather.fault(1, format!("There is no line of names. Begin with {}.", wanted()));
            }
            return;
        };
        gather.fault(lines.number(quote), fault);
        if header.is_none() {
            return;
        }
        // The row was taken for longer than it is: reading goes on in the line after the quote.
        at = lines.after(quote);
    }
    gather.fault(
        lines.number(at),
        "From here on the rest was not read: too many quotes are in the wrong place. Mend the list, or export it again.",
    );
}

/// Writes the list. Columns that no command needs are left out.
pub(super) fn write(commands: &[Command]) -> String {
    let raw = commands.iter().any(|command| matches!(command.code, Code::Raw { .. }));
    let free = commands.iter().any(|command| matches!(command.code, Code::Free { .. }));
    let is_needed = |column: &&&str| {
        OF_ALL.contains(column) || (raw && OF_RAW.contains(column)) || (free && OF_FREE.contains(column))
    };
    let columns: Vec<&str> = COLUMNS.iter().filter(is_needed).copied().collect();
    let mut rows = WriterBuilder::new()
        .terminator(Terminator::Any(b'\n'))
        .quote_style(QuoteStyle::Necessary)
        .from_writer(Vec::new());
    // Writing to memory can't fail, and every field is text.
    let _ = rows.write_record(&columns);
    for Command { id: _, name, code, origin, tried, heard: _ } in commands {
        let fields = columns.iter().map(|column| columns::text(column, name, code, *origin, *tried));
        let _ = rows.write_record(fields.collect::<Vec<_>>());
    }
    rows.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// The line of names.
struct Header {
    /// Which column stands where; `None` for one that no list has.
    columns: Vec<Option<&'static str>>,
}

impl Header {
    /// The columns of the first row. Told and `None` where it is no line of names.
    fn of(record: &ByteRecord, line: usize, gather: &mut Gather) -> Option<Self> {
        let mut names: Vec<String> =
            record.iter().map(|name| String::from_utf8_lossy(name).trim().to_owned()).collect();
        // Spreadsheets add columns with nothing in them.
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        let known = |name: &String| COLUMNS.into_iter().find(|column| name.eq_ignore_ascii_case(column));
        let columns: Vec<Option<&str>> = names.iter().map(known).collect();
        let has = |column: &str| columns.contains(&Some(column));
        let missing = match () {
            () if !has("name") => Some("name"),
            () if !has("family") => Some("family"),
            () if has("pulses_us") => None,
            () if !has("address") => Some("address"),
            () if !has("command") => Some("command"),
            () => None,
        };
        if let Some(missing) = missing {
            let what = format!(
                "The line of names is {}, without a column {missing}. Begin with {}; the columns are parted by \
                 commas or semicolons.",
                quoted(&names.join(",")),
                wanted()
            );
            gather.fault(line, what);
            return None;
        }
        for (at, column) in columns.iter().enumerate() {
            if let Some(column) = column
                && columns.get(..at).is_some_and(|before| before.contains(&Some(*column)))
            {
                gather.fault(line, format!("The column {column} stands here twice. Take one of them out."));
                return None;
            }
        }
        for name in names.iter().filter(|name| known(name).is_none()) {
            let what = format!(
                "The column {} is none of a list, and what stands in it is left out. Columns are {}.",
                quoted(name),
                COLUMNS.join(", ")
            );
            gather.fault(line, what);
        }
        Some(Self { columns })
    }
}

/// A row with its columns' names.
struct Named<'a> {
    header: &'a Header,
    fields: &'a [&'a str],
}

impl Row for Named<'_> {
    fn field(&self, column: &str) -> &str {
        let at = self.header.columns.iter().position(|there| *there == Some(column));
        at.and_then(|at| self.fields.get(at)).map_or("", |text| text.trim())
    }
}

/// Where a row lies.
struct Lies {
    /// Its first line.
    line: usize,
    /// Its last line; another where a field in quotes has line ends in it.
    last: usize,
    /// Whether a line end follows it.
    is_ended: bool,
}

fn row(header: &Header, record: &ByteRecord, lies: Lies, gather: &mut Gather) {
    let Lies { line, last, is_ended } = lies;
    let mut fields = Vec::with_capacity(record.len());
    for field in record {
        match str::from_utf8(field) {
            Ok(field) => fields.push(field),
            Err(error) => {
                let byte = field.get(error.valid_up_to()).copied().unwrap_or_default();
                let what = format!(
                    "Byte 0x{byte:02X} is no UTF-8 here. Save the list as UTF-8: spreadsheets call it CSV UTF-8."
                );
                gather.fault(line, what);
                return;
            }
        }
    }
    if fields.iter().all(|field| field.trim().is_empty()) {
        return;
    }
    let is_cut = !is_ended && fields.last().is_some_and(|last| last.trim().is_empty());
    match command(header, &fields) {
        // As when a list is cut off in front of its last word.
        Ok(_) if is_cut => gather.fault(
            line,
            "The list ends behind this row's last comma: it may have been cut off. If it is whole, end the row with \
             a new line.",
        ),
        Ok(command) => gather.command(line, command),
        // A quote in the wrong place swallows rows, and the row then seems to be about something else.
        Err(what) if last > line => {
            gather.fault(line, format!("{what} The row goes on to line {last}: check its quotes."));
        }
        Err(what) => gather.fault(line, what),
    }
}

fn command(header: &Header, fields: &[&str]) -> Result<Command, String> {
    let (found, named) = (fields.len(), header.columns.len());
    let extra = fields.get(named..).unwrap_or_default().iter().any(|field| !field.trim().is_empty());
    if found < named || extra {
        let why = if found < named { "It may have been cut off" } else { "A name with a comma needs quotes" };
        return Err(format!("The row has {found} fields, and the line of names {named}. {why}."));
    }
    let row = Named { header, fields };
    Ok(Command {
        id: CommandId::default(),
        name: row.field("name").to_owned(),
        code: columns::code(&row)?,
        origin: columns::origin(&row)?,
        tried: columns::tried(&row)?,
        heard: Vec::new(),
    })
}

/// A line of names to begin with.
fn wanted() -> String {
    format!("the line {}", OF_ALL.join(","))
}

/// What parts the columns: whichever of comma and semicolon the first line has more of.
fn delimiter(bytes: &[u8]) -> u8 {
    let begin = blank_lines(bytes);
    let line = bytes.get(begin..).unwrap_or_default().split(|&byte| byte == b'\n' || byte == b'\r').next();
    let count = |wanted| line.unwrap_or_default().iter().filter(|&&byte| byte == wanted).count();
    if count(b';') > count(b',') { b';' } else { b',' }
}

/// How many bytes of line ends stand in front.
fn blank_lines(bytes: &[u8]) -> usize {
    bytes.iter().take_while(|&&byte| byte == b'\n' || byte == b'\r').count()
}

/// A quote in the text of one row that doesn't enclose a field: where it opens, and what is wrong.
fn bad_quote(text: &[u8], delimiter: u8) -> Option<(usize, &'static str)> {
    const MORE: &str =
        "A quote opens here, and more follows where it closes. Write two quotes for one in a name.";
    const NEVER: &str = "A quote opens here and never closes. Close it, or write two for one in a name.";
    let ends =
        |byte: Option<&u8>| byte.is_none_or(|&byte| byte == delimiter || byte == b'\n' || byte == b'\r');
    let mut opened = None;
    let mut begins = true;
    let mut at = 0;
    while let Some(&byte) = text.get(at) {
        match (opened, byte) {
            (Some(_), b'"') if text.get(at + 1) == Some(&b'"') => at += 1,
            (Some(open), b'"') if !ends(text.get(at + 1)) => return Some((open, MORE)),
            (Some(_), b'"') => opened = None,
            (None, b'"') if begins => opened = Some(at),
            _ => {}
        }
        begins = opened.is_none() && byte == delimiter;
        at += 1;
    }
    opened.map(|open| (open, NEVER))
}

/// Where lines end.
struct Lines {
    /// Offsets of the bytes behind each line end.
    begins: Vec<usize>,
    length: usize,
}

impl Lines {
    fn of(bytes: &[u8]) -> Self {
        let ends =
            |at: usize, byte: u8| byte == b'\n' || (byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
        let begins = bytes.iter().enumerate().filter(|&(at, &byte)| ends(at, byte)).map(|(at, _)| at + 1);
        Self { begins: begins.collect(), length: bytes.len() }
    }

    /// The line of a byte, from 1.
    fn number(&self, at: usize) -> usize {
        1 + self.begins.partition_point(|&begin| begin <= at)
    }

    /// Where the next line begins.
    fn after(&self, at: usize) -> usize {
        let next = self.begins.partition_point(|&begin| begin <= at);
        self.begins.get(next).copied().unwrap_or(self.length)
    }
}
