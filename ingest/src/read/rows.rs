//! Rows of a table, whatever the file that they come from.

use super::header::Header;
use crate::error::LoadError;
use csv::ByteRecord;

/// A row's cells.
pub(crate) struct Row<'a> {
    /// Line on which it begins; a sheet's rows count as lines. Where a source has several parts,
    /// lines run on from part to part.
    pub(crate) line: u64,
    /// Lines that it spans: more than 1 where a quoted cell holds line breaks.
    pub(crate) lines: u64,
    pub(crate) cells: &'a ByteRecord,
    /// The column of a wide table that this row was made from.
    pub(crate) across: Option<Across<'a>>,
    /// Cells of the row and columns of its header, where the row was found not to fit.
    pub(crate) misfit: Option<(usize, usize)>,
    /// A column and what was found wrong with its cell before it is read.
    pub(crate) fault: Option<(usize, &'a str)>,
}

/// A column of a wide table that became a row.
#[derive(Clone, Copy)]
pub(crate) struct Across<'a> {
    /// Its name.
    pub(crate) name: &'a str,
    /// Place of the first cell that it gave; its name and date stand there and behind.
    pub(crate) from: usize,
}

impl<'a> Row<'a> {
    /// A row as it stands in its file.
    pub(crate) fn plain(line: u64, lines: u64, cells: &'a ByteRecord) -> Self {
        Row {
            line,
            lines,
            cells,
            across: None,
            misfit: None,
            fault: None,
        }
    }

    /// The name of a cell's column, for messages.
    pub(crate) fn name(&self, column: usize, header: &Header) -> String {
        match self.across.filter(|across| column >= across.from) {
            Some(across) => across.name.to_owned(),
            None => header.name(column),
        }
    }
}

/// A table's rows below its header, one at a time.
pub(crate) trait Rows {
    /// Goes to the next row; false where there is none.
    fn advance(&mut self) -> Result<bool, LoadError>;

    /// The row come to.
    fn row(&self) -> Row<'_>;

    /// Bytes read so far.
    fn bytes_read(&self) -> u64;

    /// What is to be known about the rows that were passed.
    fn notes(&mut self) -> Vec<String> {
        Vec::new()
    }
}

/// The rows of one file, sheet or member, below its header.
pub(crate) struct Stream<'t> {
    pub(crate) header: Header,
    /// Where the table is delimited text.
    pub(crate) separator: Option<u8>,
    pub(crate) rows: Box<dyn Rows + 't>,
}
