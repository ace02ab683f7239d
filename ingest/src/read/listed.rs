//! Rows that the confined reader wrote: a sheet of a workbook, or a Parquet file.

use super::below_header::BelowHeader;
use super::header::{Header, Wanted, Whose};
use super::rows::{Row, Rows, Stream};
use crate::error::LoadError;
use csv::ByteRecord;

/// Rows at the top of a sheet among which the header is looked for: titles and remarks stand there.
const TOP: usize = 50;

/// A table's rows with their numbers.
pub(crate) struct Listed<'t> {
    reader: csv::Reader<&'t [u8]>,
    record: ByteRecord,
    number: u64,
    /// Columns of the header, once it is known.
    columns: usize,
    whose: Whose<'t>,
}

/// The header as found at the top of the rows.
struct Found {
    /// Rows above it, and those of them that hold something.
    above: usize,
    filled_above: u64,
    /// Wanted columns in it.
    columns: usize,
    /// Columns that have a name.
    named: usize,
}

/// Wanted columns in the likeliest header row.
pub(crate) fn columns_found(
    rows: &[u8],
    wanted: &[Wanted<'_>],
    whose: Whose<'_>,
) -> Result<usize, LoadError> {
    Ok(find(rows, wanted, whose)?.map_or(0, |found| found.columns))
}

/// The rows below the header: the row at the top with most of the wanted columns.
pub(crate) fn open<'t>(
    rows: &'t [u8],
    wanted: &[Wanted<'_>],
    whose: Whose<'t>,
) -> Result<Stream<'t>, LoadError> {
    let Some(found) = find(rows, wanted, whose)? else {
        return Err(LoadError::Empty {
            file: whose.file.to_owned(),
            what: "header row",
        });
    };
    let mut listed = Listed::new(rows, whose);
    for _ in 0..=found.above {
        listed.advance()?;
    }
    // a sheet has no other separators to try
    let header = Header::new(&listed.record, listed.number, String::new());
    listed.columns = header.names.len();
    let rows = BelowHeader::new(Box::new(listed), &header, found.filled_above);
    Ok(Stream {
        header,
        separator: None,
        rows: Box::new(rows),
    })
}

fn find(rows: &[u8], wanted: &[Wanted<'_>], whose: Whose<'_>) -> Result<Option<Found>, LoadError> {
    let (mut listed, mut best, mut filled_above) = (Listed::new(rows, whose), None, 0);
    for above in 0..TOP {
        if !listed.advance()? {
            break;
        }
        let header = Header::new(&listed.record, listed.number, String::new());
        let named = header.names.iter().filter(|n| !n.trim().is_empty()).count();
        let found = Found {
            above,
            filled_above,
            columns: header.found(wanted),
            named,
        };
        if best
            .as_ref()
            .is_none_or(|b: &Found| found.is_likelier_than(b))
        {
            best = Some(found);
        }
        filled_above += u64::from(named > 0);
    }
    Ok(best)
}

impl Found {
    /// It has more of the wanted columns; or as many, and is the lower row of a header of two whose
    /// cells are joined, so that it has more names.
    fn is_likelier_than(&self, other: &Found) -> bool {
        let below = self.above == other.above + 1 && self.columns == other.columns;
        self.columns > other.columns || (below && self.columns > 0 && self.named > other.named)
    }
}

impl<'t> Listed<'t> {
    fn new(rows: &'t [u8], whose: Whose<'t>) -> Self {
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(rows);
        Listed {
            reader,
            record: ByteRecord::new(),
            number: 0,
            columns: 0,
            whose,
        }
    }

    fn unreadable(&self, cause: impl Into<std::io::Error>) -> LoadError {
        LoadError::Unreadable {
            file: self.whose.file.to_owned(),
            source_id: self.whose.source_id.to_owned(),
            cause: cause.into(),
        }
    }
}

impl Rows for Listed<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        let read = self.reader.read_byte_record(&mut self.record);
        if !read.map_err(|e| self.unreadable(e))? {
            return Ok(false);
        }
        let cells = self.record.len().saturating_sub(1);
        let number = std::str::from_utf8(&self.record[cells]).ok();
        let number = number.and_then(|n| n.parse().ok());
        self.number = number.ok_or_else(|| {
            self.unreadable(std::io::Error::other("a row came back without its number"))
        })?;
        self.record.truncate(cells);
        // a sheet ends each row at its last filled cell
        while self.record.len() < self.columns {
            self.record.push_field(b"");
        }
        Ok(true)
    }

    fn row(&self) -> Row<'_> {
        Row::plain(self.number, 1, &self.record)
    }

    fn bytes_read(&self) -> u64 {
        self.reader.position().byte()
    }
}
