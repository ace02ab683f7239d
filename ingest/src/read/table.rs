//! The rows of all parts of a source, one after the other, under the header of the first.

use super::header::{Header, Wanted, Whose};
use super::opened::Part;
use super::rows::{Row, Stream};
use crate::error::LoadError;
use crate::mapping::wanted;
use crate::report::{Note, PartLines};
use config::settings::Source;
use csv::ByteRecord;

/// The tables of a source as one.
pub(crate) struct Table<'t> {
    /// Header of the first part.
    pub(crate) header: Header,
    pub(crate) separator: Option<u8>,
    source: &'t Source,
    parts: &'t [Part],
    /// The part being read.
    at: usize,
    stream: Stream<'t>,
    /// Where that part's columns stand otherwise than in the first.
    other: Option<Other>,
    /// The last line read, running on over all parts.
    line: u64,
    lines: Vec<PartLines>,
    bytes_before: u64,
    /// What the parts read so far have to tell.
    pub(crate) notes: Vec<Note>,
}

/// A part whose header is not that of the first.
struct Other {
    /// For each column of the first header, its place in this one.
    places: Vec<Option<usize>>,
    columns: usize,
    record: ByteRecord,
    misfit: Option<(usize, usize)>,
}

impl<'t> Table<'t> {
    /// Opens the first part.
    pub(crate) fn new(parts: &'t [Part], source: &'t Source) -> Result<Self, LoadError> {
        let stream = parts[0].open(source)?;
        Ok(Table {
            header: stream.header.clone(),
            separator: stream.separator,
            source,
            parts,
            at: 0,
            lines: vec![PartLines {
                name: parts[0].name.clone(),
                lines_before: 0,
            }],
            stream,
            other: None,
            line: 0,
            bytes_before: 0,
            notes: Vec::new(),
        })
    }

    pub(crate) fn next(&mut self) -> Result<Option<Row<'_>>, LoadError> {
        while !self.stream.rows.advance()? {
            self.tell();
            if self.at + 1 == self.parts.len() {
                return Ok(None);
            }
            self.turn()?;
        }
        let (before, mut row) = (self.lines_before(), self.stream.rows.row());
        self.line = before + row.line + row.lines - 1;
        row.line += before;
        Ok(Some(match &mut self.other {
            None => row,
            Some(other) => other.arranged(row),
        }))
    }

    fn lines_before(&self) -> u64 {
        self.lines.last().map_or(0, |part| part.lines_before)
    }

    /// Keeps what the part that ends here has to tell.
    fn tell(&mut self) {
        let name = &self.parts[self.at].name;
        let several = self.parts.len() > 1;
        let told = self.stream.rows.notes().into_iter().map(|text| Note {
            file: several.then(|| name.clone()),
            line: None,
            text,
        });
        self.notes.extend(told);
    }

    /// Goes on to the next part.
    fn turn(&mut self) -> Result<(), LoadError> {
        self.bytes_before += self.parts[self.at].bytes();
        self.at += 1;
        let part = &self.parts[self.at];
        let wanted = wanted(self.source);
        self.stream = part.open(self.source)?;
        self.lines.push(PartLines {
            name: part.name.clone(),
            lines_before: self.line,
        });
        let whose = Whose {
            file: &part.name,
            source_id: &self.source.id,
        };
        self.other = Other::new(&self.header, &self.stream.header, &wanted, whose)?;
        Ok(())
    }

    /// The parts read so far and the lines before each.
    pub(crate) fn parts(&self) -> &[PartLines] {
        &self.lines
    }

    /// Bytes of all parts.
    pub(crate) fn bytes(&self) -> u64 {
        self.parts.iter().map(Part::bytes).sum()
    }

    /// Bytes that are read.
    pub(crate) fn bytes_read(&self) -> u64 {
        self.bytes_before + self.stream.rows.bytes_read()
    }
}

impl Other {
    /// None where the headers are the same.
    fn new(
        first: &Header,
        header: &Header,
        wanted: &[Wanted<'_>],
        whose: Whose<'_>,
    ) -> Result<Option<Self>, LoadError> {
        if header.names == first.names {
            return Ok(None);
        }
        let mut places: Vec<Option<usize>> = first.names.iter().map(|n| header.only(n)).collect();
        for &column in wanted {
            let mut told_before = Vec::new();
            let in_first = first.place(column, whose, &mut told_before)?;
            places[in_first] = Some(header.place(column, whose, &mut told_before)?);
        }
        Ok(Some(Other {
            places,
            columns: header.names.len(),
            record: ByteRecord::new(),
            misfit: None,
        }))
    }

    /// The row with its cells where the first header has them.
    fn arranged<'a>(&'a mut self, row: Row<'a>) -> Row<'a> {
        self.record.clear();
        for place in &self.places {
            let cell = place.and_then(|p| row.cells.get(p));
            self.record.push_field(cell.unwrap_or_default());
        }
        let beyond = row.cells.iter().skip(self.columns);
        let fits = row.cells.len() >= self.columns
            && beyond.into_iter().all(|c| c.trim_ascii().is_empty());
        self.misfit = (!fits).then_some((row.cells.len(), self.columns));
        Row {
            misfit: self.misfit,
            cells: &self.record,
            ..row
        }
    }
}
