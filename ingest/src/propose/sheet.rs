//! A file's rows as text.

use super::{ProposeError, top};
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use std::collections::HashMap;
use std::path::Path;

/// Header and rows of a file.
pub(super) struct Sheet {
    pub(super) header: Vec<String>,
    /// Its line in the file, from 1.
    pub(super) header_line: u64,
    pub(super) rows: Vec<csv::StringRecord>,
    pub(super) separator: u8,
    /// Where it is not UTF-8.
    pub(super) encoding: Option<&'static str>,
}

impl Sheet {
    pub(super) fn read(file: &Path) -> Result<Self, ProposeError> {
        let bytes = std::fs::read(file).map_err(|cause| ProposeError::Unreadable {
            file: file.to_owned(),
            cause,
        })?;
        let (text, encoding) = decode(&bytes).ok_or(ProposeError::NotText(file.to_owned()))?;
        let text = text.trim_start_matches('\u{feff}');
        let top = top::find(text);
        let separator = top.separator;
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .flexible(true)
            .has_headers(false)
            .trim(csv::Trim::All)
            .from_reader(&text.as_bytes()[top.begins..]);
        // A text is UTF-8 already, and rows may have any number of cells: nothing can fail.
        let mut rows = reader.records().filter_map(Result::ok);
        let header: Vec<String> = rows
            .next()
            .iter()
            .flat_map(|h| h.iter().map(str::to_owned))
            .collect();
        let rows: Vec<_> = rows
            .filter(|row| row.iter().any(|c| !c.is_empty()))
            .collect();
        if rows.is_empty() {
            return Err(ProposeError::Empty(file.to_owned()));
        }
        Ok(Sheet {
            header,
            header_line: top.line,
            rows,
            separator,
            encoding,
        })
    }

    /// Do most rows hold something beyond the last name of the header?
    pub(super) fn has_short_header(&self) -> bool {
        let beyond = |row: &&csv::StringRecord| {
            let mut cells = row.iter().skip(self.header.len());
            cells.any(|cell| !cell.is_empty())
        };
        2 * self.rows.iter().filter(beyond).count() > self.rows.len()
    }

    /// Cells of a column that hold something.
    pub(super) fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        let cells = self.rows.iter().filter_map(move |row| row.get(column));
        cells.filter(|cell| !cell.is_empty())
    }

    /// The different cells of a column with their rows, the most frequent first.
    pub(super) fn tally(&self, column: usize) -> Vec<(&str, usize)> {
        let mut tally: HashMap<&str, usize> = HashMap::new();
        self.cells(column)
            .for_each(|cell| *tally.entry(cell).or_default() += 1);
        let mut tally: Vec<_> = tally.into_iter().collect();
        tally.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
        tally
    }

    /// The part of a column's cells that pass a test; 0 where none holds anything.
    pub(super) fn part(&self, column: usize, test: impl Fn(&str) -> bool) -> f64 {
        let (mut passed, mut all) = (0_usize, 0_usize);
        for (cell, rows) in self.tally(column) {
            all += rows;
            passed += if test(cell) { rows } else { 0 };
        }
        passed as f64 / all.max(1) as f64
    }
}

/// By its byte order mark, else UTF-8, else windows-1252, as the loader does; None for no text.
fn decode(bytes: &[u8]) -> Option<(String, Option<&'static str>)> {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        let text = encoding.decode_without_bom_handling(&bytes[mark..]).0;
        let named = (encoding != UTF_8).then(|| encoding.name());
        return Some((text.into_owned(), named));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.contains(&0) {
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Some((text.to_owned(), None)),
        Err(_) => {
            let text = WINDOWS_1252.decode_without_bom_handling(bytes).0;
            Some((text.into_owned(), Some(WINDOWS_1252.name())))
        }
    }
}
