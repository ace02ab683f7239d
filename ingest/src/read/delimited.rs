//! Delimited text, row by row with true line numbers.

use super::ahead::{self, Ahead, Cut};
use super::below_header::BelowHeader;
use super::header::{Header, SEPARATORS, Wanted, Whose, guess_separator};
use super::rows::{Row, Rows, Stream};
use crate::error::LoadError;
use csv::ByteRecord;
use std::sync::Arc;

/// Lines at the top of a text among which the header is looked for.
const TOP: usize = 50;

/// The rows of delimited text below its header line; the separator is guessed from that where not
/// stated. Those of a long text are cut ahead.
pub(crate) fn open<'t>(
    text: &'t Arc<String>,
    separator: Option<u8>,
    wanted: &[Wanted<'_>],
    whose: Whose<'t>,
) -> Result<Stream<'t>, LoadError> {
    let (stated_inside, skipped) = separator_line(text);
    let stated = separator.or(stated_inside);
    let separators = stated.map_or_else(|| SEPARATORS.to_vec(), |s| vec![s]);
    let found = find_header(text, skipped, &separators, wanted);
    let (separator, skipped) = (found.separator, found.begins);
    let raw = first_line(&text[skipped..]);
    let shape = Shape {
        separator,
        quote: Some(b'"'),
    };
    let mut rows = Delimited::new(text, skipped, shape, whose);
    if !rows.advance()? {
        return Err(LoadError::Empty {
            file: whose.file.to_owned(),
            what: "header line",
        });
    }
    let header = Header::new(&rows.record, rows.line, raw.to_owned());
    let rows: Box<dyn Rows> = match text.len() < ahead::LONG {
        true => Box::new(rows),
        false => Box::new(Ahead::new(Arc::clone(text), skipped, shape, whose)),
    };
    let rows = BelowHeader::new(rows, &header, found.above);
    Ok(Stream {
        header,
        separator: Some(separator),
        rows: Box::new(rows),
    })
}

/// Where the header begins.
struct Found {
    begins: usize,
    separator: u8,
    /// Lines above it that are not blank.
    above: u64,
}

/// The line at the top with most of the wanted columns: titles and remarks may stand above it.
fn find_header(text: &str, skipped: usize, separators: &[u8], wanted: &[Wanted<'_>]) -> Found {
    let (mut best, mut most, mut above) = (None, 0, 0);
    for begins in filled_lines(text, skipped).take(TOP) {
        let (separator, columns) = guess_separator(&text[begins..], separators, wanted);
        if best.is_none() || columns > most {
            most = columns;
            best = Some(Found {
                begins,
                separator,
                above,
            });
        }
        if most == wanted.len() {
            break;
        }
        above += 1;
    }
    best.unwrap_or(Found {
        begins: skipped,
        separator: separators[0],
        above: 0,
    })
}

/// Where each line that holds something begins, from the byte `skipped` on.
pub(crate) fn filled_lines(text: &str, skipped: usize) -> impl Iterator<Item = usize> {
    let mut at = skipped;
    let lines = text[skipped..].split_inclusive(['\r', '\n']);
    lines.filter_map(move |line| {
        let begins = at;
        at += line.len();
        (!line.trim().is_empty()).then_some(begins)
    })
}

/// What stands between the cells and around them.
#[derive(Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) separator: u8,
    /// None where nothing encloses a cell.
    pub(crate) quote: Option<u8>,
}

/// Every record of the text, the header first.
pub(crate) struct Delimited<'t> {
    text: &'t [u8],
    /// Where the reader's bytes begin in the text.
    skipped: usize,
    reader: csv::Reader<&'t [u8]>,
    record: ByteRecord,
    /// Line on which the record begins, and lines that it spans.
    line: u64,
    lines: u64,
    /// Where the line count stands: bytes passed, and the line there.
    passed: (usize, u64),
    line_end: u8,
    quote: Option<u8>,
    whose: Whose<'t>,
}

impl<'t> Delimited<'t> {
    /// The text from the byte `skipped` on.
    pub(crate) fn new(text: &'t str, skipped: usize, shape: Shape, whose: Whose<'t>) -> Self {
        let reader = csv::ReaderBuilder::new()
            .delimiter(shape.separator)
            .quoting(shape.quote.is_some())
            .quote(shape.quote.unwrap_or(b'"'))
            .has_headers(false)
            .flexible(true)
            .from_reader(&text.as_bytes()[skipped..]);
        Delimited {
            text: text.as_bytes(),
            skipped,
            reader,
            record: ByteRecord::new(),
            line: 0,
            lines: 0,
            passed: (0, 1),
            // Some old spreadsheets end lines in carriage returns alone.
            line_end: if text.contains('\n') { b'\n' } else { b'\r' },
            quote: shape.quote,
            whose,
        }
    }

    /// Hands over the row come to, for room in which to read another.
    pub(super) fn swap(&mut self, room: &mut Cut) {
        std::mem::swap(&mut self.record, &mut room.cells);
        (room.line, room.lines) = (self.line, self.lines);
    }

    fn position(&self) -> usize {
        self.skipped + self.reader.position().byte() as usize
    }

    fn line_at(&mut self, byte: usize) -> u64 {
        let (passed, line) = self.passed;
        self.passed = (byte, line + self.breaks(&self.text[passed..byte]));
        self.passed.1
    }

    fn breaks(&self, text: &[u8]) -> u64 {
        text.iter().filter(|b| **b == self.line_end).count() as u64
    }

    fn unreadable(&self, cause: csv::Error) -> LoadError {
        LoadError::Unreadable {
            file: self.whose.file.to_owned(),
            source_id: self.whose.source_id.to_owned(),
            cause: cause.into(),
        }
    }
}

impl Rows for Delimited<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        let before = self.position();
        let read = self.reader.read_byte_record(&mut self.record);
        if !read.map_err(|e| self.unreadable(e))? {
            return Ok(false);
        }
        // The reader passes over empty lines, and stands before a line feed after \r\n.
        let blank = |b: &&u8| matches!(**b, b'\r' | b'\n');
        let start = before + self.text[before..].iter().take_while(blank).count();
        let end = self.position();
        let line = self.line_at(start);
        let inside = self.text[start..end].trim_ascii_end();
        let lines = 1 + self.breaks(inside);
        let open = end == self.text.len()
            && inside.iter().filter(|b| Some(**b) == self.quote).count() % 2 == 1;
        if open && lines > 1 {
            let file = self.whose.file.to_owned();
            return Err(LoadError::OpenQuote { file, line });
        }
        (self.line, self.lines) = (line, lines);
        Ok(true)
    }

    fn row(&self) -> Row<'_> {
        Row::plain(self.line, self.lines, &self.record)
    }

    fn bytes_read(&self) -> u64 {
        self.reader.position().byte()
    }
}

/// Some spreadsheets write their separator in a line of its own, `sep=;`.
fn separator_line(text: &str) -> (Option<u8>, usize) {
    let line = text.split(['\r', '\n']).next().unwrap_or_default();
    match line
        .to_ascii_lowercase()
        .strip_prefix("sep=")
        .map(str::as_bytes)
    {
        Some(&[separator]) if SEPARATORS.contains(&separator) => (Some(separator), line.len()),
        _ => (None, 0),
    }
}

fn first_line(text: &str) -> &str {
    let text = text.trim_start_matches(['\r', '\n']);
    text.split(['\r', '\n']).next().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOSE: Whose<'static> = Whose {
        file: "counts.csv",
        source_id: "counts",
    };
    const DATE: Wanted<'static> = Wanted {
        key: "date",
        name: "Date",
    };

    fn lines(text: &str) -> Result<Vec<(u64, u64, usize)>, LoadError> {
        let text = Arc::new(text.to_owned());
        let mut table = open(&text, None, &[DATE], WHOSE)?;
        let mut lines = Vec::new();
        while table.rows.advance()? {
            let row = table.rows.row();
            lines.push((row.line, row.lines, row.cells.len()));
        }
        Ok(lines)
    }

    #[test]
    fn line_numbers() {
        type Rows<'a> = &'a [(u64, u64, usize)];
        let cases: [(&str, Rows<'_>); 8] = [
            ("Date,Place\na,b\nc,d\n", &[(2, 1, 2), (3, 1, 2)]),
            ("Date,Place\r\na,b\r\nc,d", &[(2, 1, 2), (3, 1, 2)]),
            ("Date,Place\ra,b\rc,d\r", &[(2, 1, 2), (3, 1, 2)]),
            ("\n\nDate,Place\n\na,b\n\n\nc,d\n", &[(5, 1, 2), (8, 1, 2)]),
            ("\r\nDate,Place\r\n\r\na,b\r\n", &[(4, 1, 2)]),
            ("Date,Place\n\"a\nb\",c\nd,e\n", &[(2, 2, 2), (4, 1, 2)]),
            (
                "Date,Place\r\n\"a\r\n\r\nb\",c\r\nd,e\r\n",
                &[(2, 3, 2), (5, 1, 2)],
            ),
            ("sep=;\nDate;Place\na;b,c\n", &[(3, 1, 2)]),
        ];
        for (text, expected) in cases {
            assert_eq!(lines(text).unwrap(), expected, "{text:?}");
        }
    }

    #[test]
    fn separators_are_guessed_by_the_columns_that_they_give() {
        let cases = [
            ("Date,Place", b','),
            ("Date;Place, side;x, y", b';'),
            ("Place\tDate", b'\t'),
            ("Date|Place", b'|'),
            ("\"a,b,c,d\";Date", b';'),
            ("Date", b','),
        ];
        for (text, separator) in cases {
            let text = Arc::new(text.to_owned());
            let table = open(&text, None, &[DATE], WHOSE).unwrap();
            assert_eq!(table.separator, Some(separator), "{text}");
        }
    }

    #[test]
    fn an_open_quote_stops() {
        let error = lines("Date,Place\na,b\n\"c,d\ne,f\n").unwrap_err();
        assert_eq!(
            error.to_string(),
            "counts.csv, line 3: a quote (\") opens a cell here and is never closed"
        );
        // A quote inside a cell opens nothing.
        assert_eq!(lines("Date,Place\na,5\" gun\n").unwrap(), [(2, 1, 2)]);
        assert!(matches!(lines(""), Err(LoadError::Empty { .. })));
    }

    #[test]
    fn columns_are_found_by_name_and_missed_with_the_nearest() {
        let text = |text: &str| Arc::new(text.to_owned());
        let dates = text("DATE ;Place");
        let table = open(&dates, None, &[DATE], WHOSE).unwrap();
        let mut notes = Vec::new();
        assert_eq!(table.header.place(DATE, WHOSE, &mut notes).unwrap(), 0);
        assert!(notes[0].text.contains("\"DATE \" was taken as \"Date\""));
        let missing = |name| {
            let wanted = Wanted { key: "site", name };
            let mut none = Vec::new();
            table
                .header
                .place(wanted, WHOSE, &mut none)
                .unwrap_err()
                .to_string()
        };
        assert_eq!(
            missing("Places"),
            "counts.csv, line 1: no column \"Places\" (columns.site of source \"counts\"); \
             it has \"DATE \", \"Place\"; the nearest is \"Place\""
        );
        let places = text("Date;Place");
        let comma = open(&places, Some(b','), &[DATE], WHOSE).unwrap();
        let error = comma.header.place(DATE, WHOSE, &mut notes).unwrap_err();
        assert!(
            error
                .to_string()
                .ends_with("it is there if semicolons separate the columns")
        );
        let thrice = text("Date,date,dAte");
        let twice = open(&thrice, None, &[], WHOSE).unwrap();
        let wanted = Wanted {
            key: "date",
            name: "DATE",
        };
        let error = twice.header.place(wanted, WHOSE, &mut notes).unwrap_err();
        assert!(matches!(error, LoadError::AmbiguousColumn { .. }));
    }
}
