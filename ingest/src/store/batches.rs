//! A source's rows as a Parquet file, written and read by polars.

use super::erasing::OBSERVER;
use super::error::StoreError;
use super::ledger::BatchRow;
use super::sweep::PARTIAL;
use super::temperature::DayTemperature;
use crate::report::Kind;
use crate::source::looks::Looks;
use crate::source::observers::{KeptObserver, PARTS};
use crate::source::{Batch, CountRows, DaysBySite, RowOfDay, TemperatureRows, VisitRows, gather};
use crate::visit::OfVisit;
use chrono::{Days, NaiveDate};
use config::meaning::Purpose;
use forecast::series::Count;
use polars::prelude::*;
use std::collections::HashMap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes the file beside its place, makes sure of it on the disk and moves it there; its length.
pub(super) fn write(path: &Path, batch: &Batch) -> Result<u64, StoreError> {
    let mut frame = frame(batch).map_err(|e| StoreError::Disk {
        path: path.to_owned(),
        doing: "written",
        cause: std::io::Error::other(e),
    })?;
    write_frame(path, &mut frame)
}

/// As [`write`], of rows that are put together already.
pub(super) fn write_frame(path: &Path, frame: &mut DataFrame) -> Result<u64, StoreError> {
    let mut partial = path.as_os_str().to_owned();
    partial.push(PARTIAL);
    let partial = PathBuf::from(partial);
    let disk = |cause| StoreError::Disk {
        path: path.to_owned(),
        doing: "written",
        cause,
    };
    let file = File::create(&partial).map_err(disk)?;
    let mut buffered = BufWriter::new(&file);
    let written = ParquetWriter::new(&mut buffered).finish(frame);
    written.map_err(|e| disk(std::io::Error::other(e)))?;
    buffered.flush().map_err(disk)?;
    drop(buffered);
    file.sync_all().map_err(disk)?;
    let bytes = file.metadata().map_err(disk)?.len();
    std::fs::rename(&partial, path).map_err(disk)?;
    sync_folder(path).map_err(disk)?;
    Ok(bytes)
}

/// Elsewhere than on Unix a folder cannot be opened, and a move is made sure of by the system.
fn sync_folder(path: &Path) -> std::io::Result<()> {
    match path.parent() {
        Some(folder) if cfg!(unix) => File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

/// All that the file of a batch holds.
pub(super) fn whole(folder: &Path, batch: &BatchRow) -> PolarsResult<DataFrame> {
    ParquetReader::new(File::open(folder.join(&batch.parquet))?).finish()
}

pub(super) fn frame(batch: &Batch) -> PolarsResult<DataFrame> {
    DataFrame::new_infer_height(match batch {
        Batch::Counts(rows) => count_columns(rows),
        Batch::Visits(rows) => visit_columns(rows),
        Batch::Temperature(rows) => temperature_columns(rows),
    })
}

/// Accepted rows, then what refused ones leave unknown: rows of the kind `unknown`, with their
/// species or, where it may be any, without. `between` holds the species of a bird undecided.
fn count_columns(rows: &CountRows) -> Vec<Column> {
    let name = |place: &u32| &rows.names[*place as usize];
    let looks = |place: &u32| &rows.all_looks[*place as usize];
    let unread = rows.unread.len();
    let nones = || std::iter::repeat_n(None, unread);
    let number = |count: &Count| match count {
        Count::Present | Count::Unknown => None,
        _ => Some(count.birds()),
    };
    let between = |n: &u32| match &name(n).between[..] {
        [] => None,
        species => Some(species.join(BETWEEN)),
    };
    let written = |text: &'_ str| (!text.is_empty()).then(|| text.to_owned());
    let line = rows.line.iter().copied();
    let date = rows.date.iter().copied();
    let visits = || {
        rows.visit
            .iter()
            .chain(rows.unread.iter().map(|u| &u.visit))
    };
    let site = rows
        .site
        .iter()
        .copied()
        .chain(rows.unread.iter().map(|u| u.site));
    let species = rows.name.iter().map(|n| name(n).species.as_deref());
    let mut columns = vec![
        lines(line.chain(rows.unread.iter().map(|u| u.line))),
        dates(date.chain(rows.unread.iter().map(|u| u.date))),
        texts("site", site.map(|s| Some(rows.sites[s as usize].as_str()))),
        texts(
            "species",
            species.chain(rows.unread.iter().map(|u| u.species.as_deref())),
        ),
        texts("between", rows.name.iter().map(between).chain(nones())),
        texts(
            "kind",
            rows.count
                .iter()
                .map(|c| Some(kind_of(c)))
                .chain(std::iter::repeat_n(Some(kind_of(&Count::Unknown)), unread)),
        ),
        UInt32Chunked::from_iter_options(
            "number".into(),
            rows.count
                .iter()
                .map(number)
                .chain(std::iter::repeat_n(None, unread)),
        )
        .into_column(),
        texts(
            "written",
            rows.name
                .iter()
                .map(|n| name(n).written.clone())
                .chain(nones()),
        ),
        texts(
            "age",
            rows.looks
                .iter()
                .map(|l| written(&looks(l).age))
                .chain(nones()),
        ),
        texts(
            "sex",
            rows.looks
                .iter()
                .map(|l| written(&looks(l).sex))
                .chain(nones()),
        ),
        texts(
            "plumage",
            rows.looks.iter().map(|l| plumage(looks(l))).chain(nones()),
        ),
    ];
    columns.extend(of_visit_columns(visits));
    let rows_of = rows.date.iter().zip(&rows.site).zip(&rows.visit);
    columns.extend(observer_column(&rows.observers, rows_of, unread));
    columns
}

/// The names kept of each row's observers, where any is kept. The `others` that follow have none.
fn observer_column<'r>(
    kept: &[KeptObserver],
    rows: impl Iterator<Item = ((&'r NaiveDate, &'r u32), &'r OfVisit)>,
    others: usize,
) -> Option<Column> {
    let mut names: HashMap<(u32, NaiveDate, u32), String> = HashMap::new();
    for one in kept {
        let of_party = names.entry((one.site, one.date, one.party)).or_default();
        if !of_party.is_empty() {
            of_party.push_str(PARTS);
        }
        of_party.push_str(&one.kept);
    }
    let name = |((date, site), visit): ((&NaiveDate, &u32), &OfVisit)| {
        names.get(&(*site, *date, visit.party)).map(String::as_str)
    };
    let cells = rows.map(name).chain(std::iter::repeat_n(None, others));
    (!kept.is_empty()).then(|| texts(OBSERVER, cells))
}

/// Between the species of a bird undecided.
const BETWEEN: &str = "|";

/// A plumage of the library, else the words for one.
fn plumage(looks: &Looks) -> Option<String> {
    let words = || (!looks.plumage.is_empty()).then(|| looks.plumage.clone());
    looks
        .term()
        .map(|term| term.name().to_owned())
        .or_else(words)
}

fn visit_columns(rows: &VisitRows) -> Vec<Column> {
    let site = |s: &u32| Some(rows.sites[*s as usize].as_str());
    let mut columns = vec![
        lines(rows.line.iter().copied()),
        dates(rows.date.iter().copied()),
        texts("site", rows.site.iter().map(site)),
    ];
    columns.extend(of_visit_columns(|| rows.visit.iter()));
    let rows_of = rows.date.iter().zip(&rows.site).zip(&rows.visit);
    columns.extend(observer_column(&rows.observers, rows_of, 0));
    columns
}

/// What rows say of their visits.
fn of_visit_columns<'r, I: Iterator<Item = &'r OfVisit>>(rows: impl Fn() -> I) -> [Column; 4] {
    let full = rows().map(|v| v.fully_reported);
    [
        numbers("effort", rows().map(|v| v.effort)),
        texts("purpose", rows().map(|v| v.purpose.map(purpose_name))),
        BooleanChunked::from_iter_options("fully_reported".into(), full).into_column(),
        UInt32Chunked::from_iter_values("party".into(), rows().map(|v| v.party)).into_column(),
    ]
}

fn purpose_name(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Standard => "standard",
        Purpose::Targeted => "targeted",
    }
}

fn purpose_of(name: &str) -> Option<Purpose> {
    match name {
        "standard" => Some(Purpose::Standard),
        "targeted" => Some(Purpose::Targeted),
        _ => None,
    }
}

fn temperature_columns(rows: &TemperatureRows) -> Vec<Column> {
    let site = |site: &Option<u32>| site.map(|s| rows.sites[s as usize].as_str());
    let extremes = || rows.extremes_c.iter().copied();
    vec![
        lines(rows.line.iter().copied()),
        dates(rows.date.iter().copied()),
        texts("site", rows.site.iter().map(site)),
        numbers("mean_c", rows.mean_c.iter().copied().map(Some)),
        numbers("min_c", extremes().map(|e| e.map(|(min, _)| min))),
        numbers("max_c", extremes().map(|e| e.map(|(_, max)| max))),
        BooleanChunked::from_iter_values("filled".into(), rows.filled.iter().copied())
            .into_column(),
    ]
}

fn lines(lines: impl Iterator<Item = u32>) -> Column {
    UInt32Chunked::from_iter_values("line".into(), lines).into_column()
}

fn dates(dates: impl Iterator<Item = NaiveDate>) -> Column {
    let days = dates.map(|d| d.signed_duration_since(NaiveDate::default()).num_days() as i32);
    Int32Chunked::from_iter_values("date".into(), days)
        .into_date()
        .into_column()
}

fn texts<T: AsRef<str>>(name: &str, texts: impl Iterator<Item = Option<T>>) -> Column {
    StringChunked::from_iter_options(name.into(), texts).into_column()
}

fn numbers(name: &str, numbers: impl Iterator<Item = Option<f64>>) -> Column {
    Float64Chunked::from_iter_options(name.into(), numbers).into_column()
}

fn kind_of(count: &Count) -> &'static str {
    match count {
        Count::Exactly(_) => "exactly",
        Count::AtLeast(_) => "at-least",
        Count::About(_) => "about",
        Count::Present => "present",
        Count::Unknown => "unknown",
    }
}

pub(super) fn count_of(kind: &str, number: Option<u32>) -> Option<Count> {
    Some(match (kind, number) {
        ("exactly", Some(n)) => Count::Exactly(n),
        ("at-least", Some(n)) => Count::AtLeast(n),
        ("about", Some(n)) => Count::About(n),
        ("present", None) => Count::Present,
        ("unknown", None) => Count::Unknown,
        _ => return None,
    })
}

/// Columns that files of an older version lack: they say nothing there.
const SINCE_ADDED: [(&str, DataType); 11] = [
    (OBSERVER, DataType::String),
    ("between", DataType::String),
    ("age", DataType::String),
    ("sex", DataType::String),
    ("plumage", DataType::String),
    ("purpose", DataType::String),
    ("fully_reported", DataType::Boolean),
    ("party", DataType::UInt32),
    ("min_c", DataType::Float64),
    ("max_c", DataType::Float64),
    ("filled", DataType::Boolean),
];

fn frame_of(file: File, columns: &[&str]) -> PolarsResult<DataFrame> {
    let mut reader = ParquetReader::new(file);
    let schema = reader.schema()?;
    let is_added = |c: &str| SINCE_ADDED.iter().find(|(name, _)| *name == c);
    let (there, lacking): (Vec<&str>, Vec<&str>) = columns
        .iter()
        .partition(|c| schema.contains(c) || is_added(c).is_none());
    let there = there.into_iter().map(str::to_owned).collect();
    let mut frame = reader.with_columns(Some(there)).finish()?;
    let rows = frame.height();
    for (name, kind) in lacking.into_iter().filter_map(is_added) {
        frame.with_column(Column::full_null((*name).into(), rows, kind))?;
    }
    Ok(frame)
}

/// Columns of a batch's file.
pub(super) struct Columns<'a> {
    batch: &'a BatchRow,
    frame: DataFrame,
}

pub(super) fn damaged(batch: &BatchRow, why: impl std::fmt::Display) -> StoreError {
    StoreError::Batch {
        file: batch.parquet.clone(),
        why: why.to_string(),
    }
}

impl<'a> Columns<'a> {
    /// A file of another length than was written is not handed to polars at all.
    pub(super) fn read(
        folder: &Path,
        batch: &'a BatchRow,
        columns: &[&str],
    ) -> Result<Self, StoreError> {
        let file = File::open(folder.join(&batch.parquet)).map_err(|e| damaged(batch, e))?;
        let bytes = file.metadata().map_err(|e| damaged(batch, e))?.len();
        if bytes != batch.bytes {
            return Err(damaged(
                batch,
                format!("{bytes} bytes where {} were written", batch.bytes),
            ));
        }
        let frame = frame_of(file, columns).map_err(|e| damaged(batch, e))?;
        Ok(Columns { batch, frame })
    }

    pub(super) fn column<'c, T>(
        &'c self,
        name: &str,
        of: impl FnOnce(&'c Column) -> PolarsResult<T>,
    ) -> Result<T, StoreError> {
        let column = self.frame.column(name).and_then(of);
        column.map_err(|e| damaged(self.batch, e))
    }

    pub(super) fn dates(&self) -> Result<Vec<NaiveDate>, StoreError> {
        let days = self.column("date", |c| Ok(c.date()?.physical()))?;
        let date = |day: Option<i32>| {
            let epoch = NaiveDate::default();
            let day = day?;
            let span = Days::new(u64::from(day.unsigned_abs()));
            if day < 0 {
                epoch.checked_sub_days(span)
            } else {
                epoch.checked_add_days(span)
            }
        };
        let dates = days.iter().map(date).collect::<Option<_>>();
        dates.ok_or_else(|| damaged(self.batch, "a row without a date"))
    }

    pub(super) fn texts(&self, name: &str) -> Result<&StringChunked, StoreError> {
        self.column(name, Column::str)
    }

    pub(super) fn numbers(&self, name: &str) -> Result<&Float64Chunked, StoreError> {
        self.column(name, Column::f64)
    }
}

/// What the rows of a batch say of their visits.
struct Visits<'c> {
    purpose: &'c StringChunked,
    fully_reported: &'c BooleanChunked,
    party: &'c UInt32Chunked,
    effort: &'c Float64Chunked,
}

const OF_VISIT: [&str; 4] = ["purpose", "fully_reported", "party", "effort"];

impl<'c> Visits<'c> {
    fn of(columns: &'c Columns<'_>) -> Result<Self, StoreError> {
        Ok(Visits {
            purpose: columns.texts("purpose")?,
            fully_reported: columns.column("fully_reported", Column::bool)?,
            party: columns.column("party", Column::u32)?,
            effort: columns.numbers("effort")?,
        })
    }

    fn iter(&self) -> impl Iterator<Item = OfVisit> {
        let purposes = self.purpose.iter().zip(self.fully_reported.iter());
        let parties = self.party.iter().zip(self.effort.iter());
        purposes
            .zip(parties)
            .map(|((purpose, full), (party, effort))| OfVisit {
                effort,
                purpose: purpose.and_then(purpose_of),
                fully_reported: full,
                party: party.unwrap_or_default(),
            })
    }
}

/// The dated rows of counts or visits by site; none of a temperature batch.
pub(super) fn days(folder: &Path, batch: &BatchRow) -> Result<DaysBySite, StoreError> {
    if batch.kind == Kind::Temperature {
        return Ok(DaysBySite::new());
    }
    let of_birds: &[&str] = match batch.kind {
        Kind::Counts => &["species", "between", "kind"],
        _ => &[],
    };
    let names = [&["date", "site"], of_birds, &OF_VISIT].concat();
    let columns = Columns::read(folder, batch, &names)?;
    let visits = Visits::of(&columns)?;
    let sites = columns.texts("site")?;
    let unread = match of_birds {
        [] => vec![false; sites.len()],
        _ => unread(&columns)?,
    };
    let rows = sites.iter().zip(columns.dates()?).zip(visits.iter());
    let mut whole = true;
    let days = gather(
        rows.zip(unread)
            .filter_map(|(((site, date), visit), unread)| {
                whole &= site.is_some();
                Some(RowOfDay {
                    site: site?,
                    date,
                    visit,
                    unread,
                })
            }),
    );
    match whole {
        true => Ok(days),
        false => Err(damaged(batch, "a row without a site")),
    }
}

/// Rows that stand for a refused one of any species.
fn unread(columns: &Columns<'_>) -> Result<Vec<bool>, StoreError> {
    let names = columns.texts("species")?.iter();
    let rows = names
        .zip(columns.texts("between")?.iter())
        .zip(columns.texts("kind")?.iter());
    let unknown = Some(kind_of(&Count::Unknown));
    Ok(rows
        .map(|((name, between), kind)| name.is_none() && between.is_none() && kind == unknown)
        .collect())
}

/// A record as the store has it.
pub(crate) struct Record<'r> {
    pub(crate) date: NaiveDate,
    pub(crate) whose: Whose<'r>,
    /// Unknown where the row was refused or doubtful.
    pub(crate) count: Count,
    pub(crate) visit: OfVisit,
}

/// Whose birds a record is of.
pub(crate) enum Whose<'r> {
    Species(&'r str),
    /// Undecided between these.
    Between(Vec<&'r str>),
    /// A refused row of any species.
    Any,
}

/// Hands over each record of a site.
pub(super) fn records(
    folder: &Path,
    batch: &BatchRow,
    site: &str,
    mut take: impl FnMut(Record<'_>) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let birds = ["date", "site", "species", "between", "kind", "number"];
    let names = [&birds[..], &OF_VISIT].concat();
    let columns = Columns::read(folder, batch, &names)?;
    let visits = Visits::of(&columns)?;
    let numbers = columns.column("number", Column::u32)?;
    let counts = columns.texts("kind")?.iter().zip(numbers.iter());
    let whose = columns
        .texts("species")?
        .iter()
        .zip(columns.texts("between")?.iter());
    let rows = columns.texts("site")?.iter().zip(whose).zip(counts);
    let rows = rows.zip(visits.iter()).zip(columns.dates()?);
    for ((((of, whose), (kind, number)), visit), date) in rows {
        if of != Some(site) {
            continue;
        }
        let count = kind.and_then(|kind| count_of(kind, number));
        let count = count.ok_or_else(|| damaged(batch, "a row without a count"))?;
        let whose = match whose {
            (Some(species), _) => Whose::Species(species),
            (None, Some(between)) => Whose::Between(between.split(BETWEEN).collect()),
            (None, None) => Whose::Any,
        };
        take(Record {
            date,
            whose,
            count,
            visit,
        })?;
    }
    Ok(())
}

/// Birds of a record whose looks are written.
#[derive(Debug, Clone, PartialEq)]
pub struct BirdsSeen {
    /// Local date.
    pub date: NaiveDate,
    /// Age as written.
    pub age: Option<String>,
    /// Sex as written.
    pub sex: Option<String>,
    /// A plumage by its name in look-alike sets, such as `first-winter`, else as written.
    pub plumage: Option<String>,
    /// How many.
    pub count: Count,
}

/// The records of a species at a site with an age, sex or plumage.
pub(super) fn looks(
    folder: &Path,
    batch: &BatchRow,
    site: &str,
    species: &str,
) -> Result<Vec<BirdsSeen>, StoreError> {
    let names = [
        "date", "site", "species", "kind", "number", "age", "sex", "plumage",
    ];
    let columns = Columns::read(folder, batch, &names)?;
    let places = columns
        .texts("site")?
        .iter()
        .zip(columns.texts("species")?.iter());
    let numbers = columns.column("number", Column::u32)?;
    let counts = columns.texts("kind")?.iter().zip(numbers.iter());
    let marks = columns
        .texts("age")?
        .iter()
        .zip(columns.texts("sex")?.iter());
    let marks = marks.zip(columns.texts("plumage")?.iter());
    let rows = places.zip(counts).zip(marks).zip(columns.dates()?);
    let seen = rows.filter_map(
        |((((of, name), (kind, number)), ((age, sex), plumage)), date)| {
            let written = age.or(sex).or(plumage).is_some();
            let own = (of, name) == (Some(site), Some(species));
            let count = kind.and_then(|kind| count_of(kind, number))?;
            (written && own).then(|| BirdsSeen {
                date,
                age: age.map(str::to_owned),
                sex: sex.map(str::to_owned),
                plumage: plumage.map(str::to_owned),
                count,
            })
        },
    );
    Ok(seen.collect())
}

/// A day's temperature that holds for a site.
pub(super) struct DayAtSite {
    pub(super) day: DayTemperature,
    /// Of the site itself rather than of all sites.
    pub(super) own: bool,
}

/// Daily temperatures that hold for a site: its own, and those of all sites.
pub(super) fn temperatures(
    folder: &Path,
    batch: &BatchRow,
    site: &str,
) -> Result<Vec<DayAtSite>, StoreError> {
    let names = ["date", "site", "mean_c", "min_c", "max_c", "filled"];
    let columns = Columns::read(folder, batch, &names)?;
    let extremes = columns
        .numbers("min_c")?
        .iter()
        .zip(columns.numbers("max_c")?.iter());
    let filled = columns.column("filled", Column::bool)?.iter();
    let values = columns.numbers("mean_c")?.iter().zip(extremes).zip(filled);
    let rows = columns
        .dates()?
        .into_iter()
        .zip(columns.texts("site")?.iter())
        .zip(values);
    let here = rows.filter(|((_, of), _)| of.is_none_or(|of| of == site));
    let known = here.map(|((date, of), ((mean_c, (min, max)), filled))| {
        Some(DayAtSite {
            day: DayTemperature {
                date,
                mean_c: mean_c?,
                extremes_c: min.zip(max),
                filled: filled.unwrap_or_default(),
            },
            own: of.is_some(),
        })
    });
    let known = known.collect::<Option<_>>();
    known.ok_or_else(|| damaged(batch, "a row without a temperature"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The columns of version 1: nothing of purposes, parties, looks or extremes.
    #[test]
    fn a_file_of_an_older_version_says_nothing_of_what_it_lacks() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old.parquet");
        let columns = vec![
            lines([2].into_iter()),
            dates([NaiveDate::default()].into_iter()),
            texts("site", [Some("bank")].into_iter()),
            texts("species", [Some("Calidris alpina")].into_iter()),
            texts("kind", [Some("exactly")].into_iter()),
            UInt32Chunked::from_iter_values("number".into(), [3].into_iter()).into_column(),
            numbers("effort", [Some(60.0)].into_iter()),
        ];
        let mut frame = DataFrame::new_infer_height(columns).unwrap();
        let file = File::create(&path).unwrap();
        let bytes = ParquetWriter::new(file).finish(&mut frame).unwrap();
        let batch = BatchRow {
            id: 1,
            source: "counts".into(),
            kind: Kind::Counts,
            file_sha256: String::new(),
            mapping_sha256: String::new(),
            fully_reported: true,
            parquet: "old.parquet".into(),
            bytes: std::fs::metadata(&path).unwrap().len().max(bytes),
            report: crate::report::SourceReport::new("counts", Kind::Counts, "counts.csv"),
        };
        let day = &days(folder.path(), &batch).unwrap()["bank"][&NaiveDate::default()];
        assert_eq!((day.rows(), day.parties_differ()), (1, false));
        let mut seen = Vec::new();
        records(folder.path(), &batch, "bank", |record| {
            seen.push((record.count, record.visit));
            Ok(())
        })
        .unwrap();
        let visit = OfVisit {
            effort: Some(60.0),
            ..OfVisit::default()
        };
        assert_eq!(seen, [(Count::Exactly(3), visit)]);
    }
}
