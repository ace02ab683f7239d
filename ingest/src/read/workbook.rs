//! The sheets of a workbook as rows of text; called in the confined reader alone.

use super::claims;
use super::confined::{Sink, Tables, What};
use calamine::{Data, DataRef, Ods, Reader, SheetType, SheetVisible, Xlsx, open_workbook};
use std::path::Path;

/// Why the workbook is refused, as a phrase.
type Refused = Box<dyn std::error::Error>;

/// Most columns of a sheet, as both kinds of workbook have it.
const COLUMNS: usize = 16_384;

/// Writes each sheet's rows into the folder: the one named, or all that are not hidden.
pub(super) fn tables(
    what: What,
    input: &Path,
    sheet: Option<String>,
    folder: &Path,
) -> Result<Tables, Refused> {
    match what {
        What::Ods => ods(input, sheet, folder),
        _ => xlsx(input, sheet, folder),
    }
}

/// All sheets, and those to read.
fn sheets(all: &[calamine::Sheet], wanted: Option<String>) -> (Vec<String>, Vec<String>) {
    let tables = all.iter().filter(|s| s.typ == SheetType::WorkSheet);
    let names = tables.clone().map(|s| s.name.clone()).collect();
    let read = tables.filter(|s| match &wanted {
        Some(wanted) => s.name == *wanted,
        None => s.visible == SheetVisible::Visible,
    });
    (names, read.map(|s| s.name.clone()).collect())
}

fn xlsx(input: &Path, wanted: Option<String>, folder: &Path) -> Result<Tables, Refused> {
    let mut book: Xlsx<_> = open_workbook(input)?;
    let (sheets, read) = sheets(book.sheets_metadata(), wanted);
    let mut tables = Tables {
        sheets,
        ..Tables::default()
    };
    for name in read {
        let mut merged = Merged::new(book.merge_cells_by_sheet_name(&name)?);
        let mut sink = Sink::new(folder, tables.names.len())?;
        let mut reader = book.worksheet_cells_reader(&name)?;
        let mut row = SheetRow::default();
        while let Some(cell) = reader.next_cell()? {
            let (line, column) = cell.get_position();
            if line < row.line || column as usize >= COLUMNS {
                return Err("its cells do not stand in their order".into());
            }
            if line > row.line {
                row.write(&mut merged, &mut sink)?;
                row.line = line;
            }
            row.put(column as usize, text_ref(cell.get_value()));
        }
        row.write(&mut merged, &mut sink)?;
        tables.keep(sink, name)?;
    }
    Ok(tables)
}

/// A row on its way out.
#[derive(Default)]
struct SheetRow {
    /// Counted from 0.
    line: u32,
    cells: Vec<String>,
}

impl SheetRow {
    fn put(&mut self, column: usize, text: String) {
        if text.is_empty() {
            return;
        }
        if self.cells.len() <= column {
            self.cells.resize(column + 1, String::new());
        }
        self.cells[column] = text;
    }

    fn write(&mut self, merged: &mut Merged, sink: &mut Sink) -> Result<(), Refused> {
        merged.fill(self);
        sink.row(&self.cells, u64::from(self.line) + 1)?;
        self.cells.clear();
        Ok(())
    }
}

/// Cells joined into one over several rows: the value of the first holds for all of them.
struct Merged {
    areas: Vec<(calamine::Dimensions, Option<String>)>,
}

impl Merged {
    fn new(areas: Vec<calamine::Dimensions>) -> Self {
        // what is joined across alone is a title
        let tall = areas.into_iter().filter(|a| a.end.0 > a.start.0);
        Merged {
            areas: tall.map(|a| (a, None)).collect(),
        }
    }

    /// Fills in a row that has cells of its own; a row without any stays blank.
    fn fill(&mut self, row: &mut SheetRow) {
        for (area, value) in &mut self.areas {
            let column = area.start.1 as usize;
            if row.line == area.start.0 {
                *value = row.cells.get(column).cloned();
            } else if (area.start.0..=area.end.0).contains(&row.line) && !row.cells.is_empty() {
                let value = value.clone().unwrap_or_default();
                row.put(column, value);
            }
        }
        self.areas.retain(|(area, _)| area.end.0 > row.line);
    }
}

fn ods(input: &Path, wanted: Option<String>, folder: &Path) -> Result<Tables, Refused> {
    claims::check(input)?;
    let mut book: Ods<_> = open_workbook(input)?;
    let (sheets, read) = sheets(book.sheets_metadata(), wanted);
    let mut tables = Tables {
        sheets,
        ..Tables::default()
    };
    for name in read {
        let range = book.worksheet_range(&name)?;
        let mut sink = Sink::new(folder, tables.names.len())?;
        let (first, before) = range.start().unwrap_or_default();
        for (place, cells) in range.rows().enumerate() {
            let blank = std::iter::repeat_n(String::new(), before as usize);
            let cells: Vec<String> = blank.chain(cells.iter().map(text)).collect();
            sink.row(&cells, u64::from(first) + place as u64 + 1)?;
        }
        tables.keep(sink, name)?;
    }
    Ok(tables)
}

fn text_ref(cell: &DataRef<'_>) -> String {
    match cell {
        DataRef::SharedString(text) => (*text).to_owned(),
        other => text(&Data::from(other.clone())),
    }
}

/// A cell as people would write it: dates in ISO 8601, whole numbers without a fraction.
fn text(cell: &Data) -> String {
    match cell {
        Data::Empty => String::new(),
        Data::String(text) => text.clone(),
        Data::Int(number) => number.to_string(),
        Data::Float(number) => super::confined::number(*number),
        Data::Bool(flag) => flag.to_string(),
        Data::DateTime(moment) => self::moment(moment),
        Data::DateTimeIso(text) => text.strip_suffix("T00:00:00").unwrap_or(text).to_owned(),
        Data::DurationIso(text) => clock(text).unwrap_or_else(|| text.clone()),
        Data::Error(error) => error.to_string(),
    }
}

/// A number that the sheet shows as a date, a time of day or a time that passed.
fn moment(moment: &calamine::ExcelDateTime) -> String {
    let days = moment.as_f64();
    if moment.is_duration() {
        let seconds = (days * 86_400.0).round() as i64;
        return format!(
            "{}:{:02}:{:02}",
            seconds / 3600,
            seconds / 60 % 60,
            seconds % 60
        );
    }
    match moment.as_datetime() {
        None => days.to_string(),
        Some(at) if (0.0..1.0).contains(&days) => at.format("%H:%M:%S").to_string(),
        Some(at) if days.fract() == 0.0 => at.format("%Y-%m-%d").to_string(),
        Some(at) => at.format("%Y-%m-%d %H:%M:%S").to_string(),
    }
}

/// PT06H30M00S, as OpenDocument keeps times, as 6:30:00.
fn clock(text: &str) -> Option<String> {
    let (hours, rest) = text.strip_prefix("PT")?.split_once('H')?;
    let (minutes, rest) = rest.split_once('M')?;
    let seconds = rest.strip_suffix('S')?;
    let whole = |n: &str| n.parse::<f64>().ok().map(|n| n as u64);
    Some(format!(
        "{}:{:02}:{:02}",
        whole(hours)?,
        whole(minutes)?,
        whole(seconds)?
    ))
}
