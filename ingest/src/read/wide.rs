//! Wide tables: a column a species, a date, a month or a day. Each filled cell becomes a row.

use super::fault::FormatError;
use super::header::{Header, Whose};
use super::rows::{Across, Row, Rows, Stream};
use crate::cell::tidy;
use crate::date::{self, month};
use crate::error::{LoadError, quoted};
use crate::totals::TotalsWords;
use config::nearest::folded;
use config::settings::{ACROSS_DATE, ACROSS_SPECIES, ACROSS_VALUE, Given, Source, Wide};
use csv::ByteRecord;

/// A column that runs across: its place, its name, and what it tells of the date.
struct Column {
    place: usize,
    name: String,
    date: String,
}

/// Where the rest of a date comes from.
enum Rest {
    Column(usize),
    Fixed(String),
}

/// The rows of a wide table, one for each filled cell.
struct WideRows<'t> {
    inner: Box<dyn Rows + 't>,
    /// Columns of the table.
    columns: usize,
    /// Places of the columns that do not run across.
    kept: Vec<usize>,
    across: Vec<Column>,
    wide: Wide,
    /// Year and day, or year and month, of a table with a column a month or a day.
    rest: Option<(Rest, Rest)>,
    /// The next column of the row at hand.
    at: usize,
    record: ByteRecord,
    misfit: Option<(usize, usize)>,
    /// Rows without a filled cell, and the line of the first.
    empty: Option<(u64, u64)>,
    /// Names of columns that add up the others.
    totals: Vec<String>,
    /// Names of columns that are neither named in the settings nor read across.
    passed: Vec<String>,
}

/// Turns the table's rows into one for each filled cell, with the columns of a long table behind
/// those that do not run across.
pub(super) fn open<'t>(
    stream: Stream<'t>,
    wide: &Wide,
    named: &[usize],
    source: &Source,
    whose: Whose<'_>,
) -> Result<Stream<'t>, LoadError> {
    let Stream {
        header,
        separator,
        rows,
    } = stream;
    let across = across(&header, wide, named, source);
    if across.is_empty() {
        return Err(nothing_across(&header, wide, whose).into());
    }
    let is_kept = |place: &usize| !across.iter().any(|c| c.place == *place);
    let kept: Vec<usize> = (0..header.names.len()).filter(is_kept).collect();
    let names = kept.iter().map(|p| header.names[*p].as_str());
    let names: Vec<String> = names.chain(added(wide)).map(str::to_owned).collect();
    let rows = WideRows {
        inner: rows,
        columns: header.names.len(),
        at: across.len(),
        across,
        wide: wide.clone(),
        rest: rest(wide, &header, whose)?,
        record: ByteRecord::new(),
        misfit: None,
        empty: None,
        totals: totals(&header, wide, named, source),
        passed: passed(&header, wide, &kept, named, source),
        kept,
    };
    Ok(Stream {
        header: Header { names, ..header },
        separator,
        rows: Box::new(rows),
    })
}

/// The columns that a filled cell gives.
fn added(wide: &Wide) -> [&'static str; 2] {
    match wide {
        Wide::Species => [ACROSS_SPECIES, ACROSS_VALUE],
        Wide::Date | Wide::Months { .. } | Wide::Days { .. } => [ACROSS_DATE, ACROSS_VALUE],
    }
}

fn left_out(name: &str, source: &Source) -> bool {
    let all = &source.layout.leave_out;
    all.iter().any(|n| folded(n) == folded(name))
}

/// Columns that have a name and are not read, though nothing says that they are to be left out.
fn passed(
    header: &Header,
    wide: &Wide,
    kept: &[usize],
    named: &[usize],
    source: &Source,
) -> Vec<String> {
    let totals = totals(header, wide, named, source);
    let own = kept.iter().filter(|place| !named.contains(place));
    let names = own.map(|place| tidy(&header.names[*place]).0.into_owned());
    let is_told = |name: &String| left_out(name, source) || totals.contains(name);
    let passed = names.filter(|name| !name.is_empty() && !is_told(name));
    passed.collect()
}

/// Columns that have no word for a species but one for a sum.
fn totals(header: &Header, wide: &Wide, named: &[usize], source: &Source) -> Vec<String> {
    if !matches!(wide, Wide::Species) {
        return Vec::new();
    }
    let words = TotalsWords::of(source);
    let free = header.names.iter().enumerate();
    let names = free.filter(|(place, _)| !named.contains(place));
    let names = names.map(|(_, name)| tidy(name).0.into_owned());
    let totals = names.filter(|name| words.begins(name) && !left_out(name, source));
    totals.collect()
}

fn across(header: &Header, wide: &Wide, named: &[usize], source: &Source) -> Vec<Column> {
    let totals = totals(header, wide, named, source);
    let columns = header.names.iter().enumerate().filter_map(|(place, name)| {
        let name = tidy(name).0.into_owned();
        let is_other = left_out(&name, source) || totals.contains(&name);
        if named.contains(&place) || name.is_empty() || is_other {
            return None;
        }
        let date = match wide {
            Wide::Species => Some(String::new()),
            Wide::Date => (!date::fitting(&name).is_empty()).then(|| name.clone()),
            Wide::Months { .. } => month_of(&name),
            Wide::Days { .. } => day_of(&name),
        };
        date.map(|date| Column { place, name, date })
    });
    columns.collect()
}

/// A month's name or number, in two digits.
fn month_of(text: &str) -> Option<String> {
    let number = month(text).or_else(|| text.parse().ok());
    let number = number.filter(|n| (1..=12).contains(n));
    number.map(|n| format!("{n:02}"))
}

/// A day of the month, in two digits.
fn day_of(text: &str) -> Option<String> {
    let number = text.trim_end_matches('.').parse().ok();
    let number = number.filter(|n: &u32| (1..=31).contains(n));
    number.map(|n| format!("{n:02}"))
}

fn nothing_across(header: &Header, wide: &Wide, whose: Whose<'_>) -> FormatError {
    let (key, what) = match wide {
        Wide::Species => ("species", "is left for a species"),
        Wide::Date => ("date", "has a date for its name"),
        Wide::Months { .. } => ("month", "has a month for its name"),
        Wide::Days { .. } => ("day", "has a day of the month for its name"),
    };
    FormatError::NothingAcross {
        file: whose.file.to_owned(),
        line: header.line,
        key,
        what,
        source_id: whose.source_id.to_owned(),
        have: header.names.clone(),
    }
}

fn rest(wide: &Wide, header: &Header, whose: Whose<'_>) -> Result<Option<(Rest, Rest)>, LoadError> {
    let (year, key, other) = match wide {
        Wide::Species | Wide::Date => return Ok(None),
        Wide::Months { year, day } => (year, "day", day),
        Wide::Days { year, month } => (year, "month", month),
    };
    let given = |key, given: &Given| match given {
        Given::Column(name) => {
            let wanted = super::header::Wanted { key, name };
            let place = header.place(wanted, whose, &mut Vec::new())?;
            Ok(Rest::Column(place))
        }
        Given::Value(value) => Ok(Rest::Fixed(format!("{value:02}"))),
        Given::Name => year_of(whose).map(Rest::Fixed),
    };
    Ok(Some((given("year", year)?, given(key, other)?)))
}

/// The one year in the name of a sheet or file.
fn year_of(whose: Whose<'_>) -> Result<String, LoadError> {
    let name = whose
        .file
        .rsplit([',', '/', '\\'])
        .next()
        .unwrap_or_default();
    let runs = name.split(|c: char| !c.is_ascii_digit());
    let mut years: Vec<&str> = runs
        .filter(|run| run.len() == 4 && ("1700".."2100").contains(run))
        .collect();
    years.dedup();
    match years[..] {
        [year] => Ok(year.to_owned()),
        _ => Err(FormatError::NoYear {
            file: whose.file.to_owned(),
            source_id: whose.source_id.to_owned(),
        }
        .into()),
    }
}

impl WideRows<'_> {
    /// Goes to the next filled cell of the row at hand.
    fn next_cell(&mut self) -> bool {
        let row = self.inner.row();
        let filled = |column: &Column| {
            let cell = row.cells.get(column.place).unwrap_or_default();
            !cell.trim_ascii().is_empty()
        };
        let next = self.across.iter().skip(self.at).position(filled);
        let Some(place) = next.map(|skipped| self.at + skipped) else {
            self.at = self.across.len();
            return false;
        };
        let column = &self.across[place];
        self.record.clear();
        for kept in &self.kept {
            self.record
                .push_field(row.cells.get(*kept).unwrap_or_default());
        }
        match &self.wide {
            Wide::Species => self.record.push_field(column.name.as_bytes()),
            _ => self
                .record
                .push_field(date_of(row.cells, column, &self.wide, &self.rest).as_bytes()),
        }
        self.record
            .push_field(row.cells.get(column.place).unwrap_or_default());
        self.at = place + 1;
        true
    }

    /// A row that does not fit its header is handed on as it is.
    fn take_misfit(&mut self) -> bool {
        let row = self.inner.row();
        let beyond = row.cells.iter().skip(self.columns);
        let fits = row.cells.len() >= self.columns
            && beyond.into_iter().all(|c| c.trim_ascii().is_empty());
        let blank = row.cells.iter().all(|c| c.trim_ascii().is_empty());
        self.misfit = (!fits && !blank).then_some((row.cells.len(), self.columns));
        if self.misfit.is_some() {
            self.record.clone_from(row.cells);
        }
        self.misfit.is_some()
    }

    fn count_empty(&mut self) {
        let row = self.inner.row();
        if row.cells.iter().any(|c| !c.trim_ascii().is_empty()) {
            let empty = self.empty.get_or_insert((0, row.line));
            empty.0 += 1;
        }
    }
}

fn date_of(
    cells: &ByteRecord,
    column: &Column,
    wide: &Wide,
    rest: &Option<(Rest, Rest)>,
) -> String {
    let Some((year, other)) = rest else {
        return column.date.clone();
    };
    let text = |rest: &Rest| match rest {
        Rest::Fixed(text) => text.clone(),
        Rest::Column(place) => {
            let cell = String::from_utf8_lossy(cells.get(*place).unwrap_or_default());
            tidy(&cell).0.into_owned()
        }
    };
    let (year, other) = (text(year), text(other));
    match wide {
        Wide::Days { .. } => {
            format!(
                "{year}-{}-{}",
                month_of(&other).unwrap_or(other),
                column.date
            )
        }
        _ => format!("{year}-{}-{}", column.date, day_of(&other).unwrap_or(other)),
    }
}

impl Rows for WideRows<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        if self.misfit.is_none() && self.at < self.across.len() && self.next_cell() {
            return Ok(true);
        }
        while self.inner.advance()? {
            self.at = 0;
            if self.take_misfit() || self.next_cell() {
                return Ok(true);
            }
            self.count_empty();
        }
        Ok(false)
    }

    fn row(&self) -> Row<'_> {
        let row = self.inner.row();
        let across = self.at.checked_sub(1).map(|place| Across {
            name: &self.across[place].name,
            from: self.kept.len(),
        });
        Row {
            cells: &self.record,
            across: across.filter(|_| self.misfit.is_none()),
            misfit: self.misfit,
            ..row
        }
    }

    fn bytes_read(&self) -> u64 {
        self.inner.bytes_read()
    }

    fn notes(&mut self) -> Vec<String> {
        let told = self.empty.take().map(|(rows, line)| {
            format!(
                "Rows without one filled cell among the columns that were read across: {rows} \
                 (first: line {line}). They make no visits; write 0 in one of the cells where \
                 nothing was found."
            )
        });
        let names = std::mem::take(&mut self.passed);
        let passed = (!names.is_empty()).then(|| {
            format!(
                "Columns that were not read, as their names are no {}: {}. Name them in leave_out \
                 if that is right.",
                match self.wide {
                    Wide::Species => "species",
                    Wide::Date => "dates",
                    Wide::Months { .. } => "months",
                    Wide::Days { .. } => "days of a month",
                },
                quoted(&names)
            )
        });
        let totals = std::mem::take(&mut self.totals);
        let added_up = (!totals.is_empty()).then(|| {
            format!(
                "Columns of totals, which are no species and were not read: {}.",
                quoted(&totals)
            )
        });
        let own = added_up.into_iter().chain(passed).chain(told);
        self.inner.notes().into_iter().chain(own).collect()
    }
}
