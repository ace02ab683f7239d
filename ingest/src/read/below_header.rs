//! The rows below a header, without those that repeat it, and what is to be told of both.

use super::header::{Header, same_name};
use super::rows::{Row, Rows};
use crate::error::LoadError;
use crate::report::of;
use csv::ByteRecord;

/// Rows below a header. Where exports were pasted below one another it stands among them again.
pub(super) struct BelowHeader<'t> {
    inner: Box<dyn Rows + 't>,
    names: Vec<String>,
    /// The first column that has a name, and the byte with which that begins.
    first: (usize, u8),
    /// Filled rows above the header, and the line of the header.
    above: u64,
    header_line: u64,
    /// Rows that repeat it, and the line of the first.
    repeated: (u64, u64),
}

impl<'t> BelowHeader<'t> {
    /// `above` is the number of rows that stand above the header and hold something.
    pub(super) fn new(inner: Box<dyn Rows + 't>, header: &Header, above: u64) -> Self {
        let mut named = header.names.iter().map(|n| n.trim()).enumerate();
        let first = named.find_map(|(place, name)| Some((place, *name.as_bytes().first()?)));
        BelowHeader {
            inner,
            names: header.names.clone(),
            first: first.unwrap_or_default(),
            above,
            header_line: header.line,
            repeated: (0, 0),
        }
    }

    fn repeats(&self, cells: &ByteRecord) -> bool {
        let (place, byte) = self.first;
        let cell = cells.get(place).unwrap_or_default().trim_ascii_start();
        // a glance is enough for nearly every row
        if !cell.first().is_some_and(|b| b.eq_ignore_ascii_case(&byte)) {
            return false;
        }
        let same = |place: usize| {
            let name = self.names.get(place).map_or("", String::as_str);
            let cell = std::str::from_utf8(cells.get(place).unwrap_or_default());
            cell.is_ok_and(|cell| same_name(cell, name))
        };
        (0..self.names.len().max(cells.len())).all(same)
    }
}

impl Rows for BelowHeader<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        while self.inner.advance()? {
            let row = self.inner.row();
            if !self.repeats(row.cells) {
                return Ok(true);
            }
            let line = row.line;
            if self.repeated.0 == 0 {
                self.repeated.1 = line;
            }
            self.repeated.0 += 1;
        }
        Ok(false)
    }

    fn row(&self) -> Row<'_> {
        self.inner.row()
    }

    fn bytes_read(&self) -> u64 {
        self.inner.bytes_read()
    }

    fn notes(&mut self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.above > 0 {
            notes.push(format!(
                "The header stands in line {}; what stands above it was not read ({}).",
                self.header_line,
                of(self.above, "row")
            ));
        }
        let (rows, line) = self.repeated;
        if rows > 0 {
            notes.push(format!(
                "Rows that repeat the header, passed over: {rows} (first: line {line})."
            ));
        }
        notes.extend(self.inner.notes());
        notes
    }
}
