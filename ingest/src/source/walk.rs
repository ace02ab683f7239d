//! Walks the rows of a table: what is common to every kind of source.

use super::columns::add_example;
use crate::cell::{Stray, stray_ends};
use crate::error::LoadError;
use crate::load::Progress;
use crate::read::header::{Header, Whose};
use crate::read::rows::Row;
use crate::read::table::Table;
use crate::report::{Refusal, Repair, RepairExample, RepairKind, SourceReport, of};
use crate::totals::TOTALS;
use std::collections::HashMap;

/// Rows between two signs of progress.
const ROWS_A_SIGN: u64 = 50_000;

/// Longest value quoted in a refusal, in characters.
const VALUE_SHOWN: usize = 200;

/// What is wrong with a row.
pub(crate) struct Fault {
    /// Column at fault; None for the row as a whole.
    column: Option<usize>,
    reason: String,
    kept_back: bool,
}

impl Fault {
    pub(crate) fn in_column(column: usize, problem: impl std::fmt::Display) -> Self {
        Fault {
            column: Some(column),
            reason: problem.to_string(),
            kept_back: false,
        }
    }

    /// Is the row one of totals, by what is said of it?
    pub(crate) fn is_totals(&self) -> bool {
        self.reason == TOTALS
    }

    pub(crate) fn kept_back(self, kept_back: bool) -> Self {
        Fault { kept_back, ..self }
    }
}

/// Takes one row, or says what is wrong with it; true where a cell of it was repaired.
pub(crate) trait TakeRow {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault>;

    /// Looks at a row that has not the cells of the table, or has the error of a formula for one, and
    /// is refused.
    fn unsound(&mut self, _row: &Row<'_>) {}

    /// A column whose cells a report may not quote.
    fn private_column(&self) -> Option<usize> {
        None
    }

    /// What the file writes where that column is at fault.
    fn written(&self, row: &Row<'_>, column: usize) -> String {
        cell_text(row, column)
    }
}

/// A table to walk and the report to fill.
pub(crate) struct Walk<'a, 't> {
    pub(crate) table: Table<'t>,
    pub(crate) whose: Whose<'a>,
    pub(crate) report: &'a mut SourceReport,
    pub(crate) progress: &'a mut dyn FnMut(Progress<'_>),
}

impl<'a> Walk<'a, '_> {
    /// How far it has come, of so many bytes.
    fn sign(&self, bytes: u64) -> Progress<'a> {
        Progress {
            source: self.whose.source_id,
            rows: self.report.rows,
            bytes_read: self.table.bytes_read(),
            bytes,
        }
    }

    /// Takes every row; columns that are not `used` are looked at for stray white space alone.
    pub(crate) fn rows(
        &mut self,
        header: &Header,
        used: &[bool],
        taker: &mut impl TakeRow,
    ) -> Result<(), LoadError> {
        let mut strays = Strays::default();
        let (bytes, separator) = (self.table.bytes(), self.table.separator);
        loop {
            let sign = self.sign(bytes);
            let Some(row) = self.table.next()? else { break };
            if row.cells.iter().all(|c| c.trim_ascii().is_empty()) {
                self.report.blank_rows += 1;
                continue;
            }
            if sign.rows.is_multiple_of(ROWS_A_SIGN) {
                (self.progress)(sign);
            }
            self.report.rows += 1;
            match taken(&row, header, used, separator, taker) {
                Ok(repaired) => {
                    self.report.accepted += 1;
                    let stray = strays.look(&row, used);
                    self.report.repaired += u64::from(repaired || stray);
                }
                Err(fault) => {
                    let refused = refusal(&row, header, fault, taker);
                    self.report.refused.push(refused);
                }
            }
        }
        self.report.repairs.extend(strays.repairs(header));
        self.report.parts = self.table.parts().to_vec();
        self.report.notes.append(&mut self.table.notes);
        Ok(())
    }
}

/// Takes a row, unless it has not the cells of the table.
fn taken(
    row: &Row<'_>,
    header: &Header,
    used: &[bool],
    separator: Option<u8>,
    taker: &mut impl TakeRow,
) -> Result<bool, Fault> {
    let sound = fits(row, header).and_then(|()| no_fault(row, used));
    let sound = sound.and_then(|()| no_rows_inside(row, separator));
    if sound.is_err() {
        taker.unsound(row);
    }
    sound.and_then(|()| taker.take(row))
}

/// A row has a cell for each column; empty cells beyond them do no harm.
fn fits(row: &Row<'_>, header: &Header) -> Result<(), Fault> {
    let own = row.misfit;
    let (cells, columns) = own.unwrap_or((row.cells.len(), header.names.len()));
    let beyond = row.cells.iter().skip(columns);
    let fits = cells >= columns && beyond.into_iter().all(|c| c.trim_ascii().is_empty());
    if fits && own.is_none() {
        return Ok(());
    }
    let spanned = match row.lines {
        1 => String::new(),
        lines => format!("; a quote runs over {lines} lines"),
    };
    let cells = of(cells as u64, "cell");
    let reason = format!("{cells} where the header has {columns}{spanned}");
    Err(Fault {
        column: None,
        reason,
        kept_back: false,
    })
}

/// What spreadsheets write where a formula has no value (ECMA-376-1 18.17.3).
const FORMULA_ERRORS: [&[u8]; 8] = [
    b"#DIV/0!",
    b"#N/A",
    b"#NAME?",
    b"#NULL!",
    b"#NUM!",
    b"#REF!",
    b"#VALUE!",
    b"#GETTING_DATA",
];

/// No fault was found before, and no cell that is used is a formula's error.
fn no_fault(row: &Row<'_>, used: &[bool]) -> Result<(), Fault> {
    if let Some((column, why)) = row.fault {
        return Err(Fault::in_column(column, why));
    }
    let mut cells = row.cells.iter().zip(used).enumerate();
    let bad = cells.find(|(_, (cell, used))| {
        **used && cell.first() == Some(&b'#') && FORMULA_ERRORS.contains(&cell.trim_ascii())
    });
    match bad {
        None => Ok(()),
        Some((column, _)) => Err(Fault::in_column(
            column,
            "the error of a formula; mend the formula, or write the value",
        )),
    }
}

/// No quote runs over lines that look like rows: they would be lost inside a cell.
fn no_rows_inside(row: &Row<'_>, separator: Option<u8>) -> Result<(), Fault> {
    let Some(separator) = separator.filter(|_| row.lines > 1) else {
        return Ok(());
    };
    let cells = |line: &[u8]| 1 + line.iter().filter(|b| **b == separator).count();
    let looks_like_rows = |cell: &[u8]| {
        let mut further = cell.split(|b| matches!(b, b'\n' | b'\r')).skip(1);
        further.any(|line| cells(line) >= row.cells.len())
    };
    if !row.cells.iter().any(looks_like_rows) {
        return Ok(());
    }
    let lines = row.lines;
    Err(Fault {
        column: None,
        reason: format!(
            "a quote runs over {lines} lines and takes in what look like rows of their own; close \
             it, or take it out"
        ),
        kept_back: false,
    })
}

fn refusal(row: &Row<'_>, header: &Header, fault: Fault, taker: &impl TakeRow) -> Refusal {
    let whole = || {
        let private = taker.private_column();
        let shown = |c| match private == Some(c) {
            true => "...".to_owned(),
            false => cell_text(row, c),
        };
        let cells: Vec<String> = (0..row.cells.len()).map(shown).collect();
        cells.join(" | ")
    };
    let value = fault.column.map_or_else(whole, |c| taker.written(row, c));
    Refusal {
        file: None,
        line: row.line,
        column: fault
            .column
            .map_or_else(String::new, |c| row.name(c, header)),
        value: value.chars().take(VALUE_SHOWN).collect(),
        reason: fault.reason,
        kept_back: fault.kept_back,
    }
}

/// A cell's text; empty beyond the row's end.
pub(crate) fn cell_text(row: &Row<'_>, column: usize) -> String {
    String::from_utf8_lossy(row.cells.get(column).unwrap_or_default()).into_owned()
}

/// Stray white space in columns that are not used, and empty cells beyond the last.
#[derive(Default)]
struct Strays {
    found: HashMap<(usize, Vec<u8>), (u64, u64)>,
    beyond: Option<RepairExample>,
}

impl Strays {
    fn look(&mut self, row: &Row<'_>, used: &[bool]) -> bool {
        let mut any = false;
        for (column, cell) in row.cells.iter().enumerate().take(used.len()) {
            if !used[column] && stray_ends(cell) != Stray::default() {
                let seen = self.found.entry((column, cell.to_vec()));
                seen.or_insert((row.line, 0)).1 += 1;
                any = true;
            }
        }
        if row.cells.len() > used.len() {
            let first = self.beyond.get_or_insert_with(|| beyond(row, used.len()));
            first.rows += 1;
            any = true;
        }
        any
    }

    fn repairs(self, header: &Header) -> Vec<Repair> {
        let mut found: Vec<_> = self.found.into_iter().collect();
        found.sort_by_key(|((column, _), (line, _))| (*line, *column));
        let mut repairs = Vec::new();
        for ((column, cell), (line, rows)) in found {
            let written = String::from_utf8_lossy(&cell).into_owned();
            let read_as = written.trim().to_owned();
            for kind in stray_ends(&cell).repairs() {
                let (written, read_as) = (written.clone(), read_as.clone());
                let example = RepairExample {
                    file: None,
                    line,
                    written,
                    read_as,
                    rows,
                };
                add_example(&mut repairs, kind, &header.name(column), example);
            }
        }
        if let Some(example) = self.beyond {
            add_example(&mut repairs, RepairKind::EmptyCells, "", example);
        }
        repairs
    }
}

fn beyond(row: &Row<'_>, columns: usize) -> RepairExample {
    RepairExample {
        file: None,
        line: row.line,
        written: format!("{} cells", row.cells.len()),
        read_as: format!("{columns} cells"),
        rows: 0,
    }
}
