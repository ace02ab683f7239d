//! What the Parquet file of a batch says of visits, records and temperatures.

use super::columns::{Columns, damaged};
use super::error::StoreError;
use super::few_words::Texts;
use super::frames::{BETWEEN, kind_of, purpose_of};
use super::ledger::BatchRow;
use super::summed::Where;
use super::temperature::DayTemperature;
use crate::report::Kind;
use crate::source::{DaysBySite, RowOfDay, gather};
use crate::visit::OfVisit;
use chrono::NaiveDate;
use forecast::series::Count;
use polars::prelude::*;
use std::path::Path;

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

/// What the rows of a batch say of their visits.
struct Visits<'c> {
    purpose: Texts<'c>,
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
        [] => vec![false; columns.rows()],
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
    /// Nobody's: the row says that nothing was found.
    Nothing,
}

/// Hands over each record of a site.
pub(super) fn records(
    folder: &Path,
    batch: &BatchRow,
    (site, place): (&str, Where),
    mut take: impl FnMut(Record<'_>) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let birds = ["date", "site", "species", "between", "kind", "number"];
    let names = [&birds[..], &OF_VISIT].concat();
    let Some(columns) = Columns::at(folder, batch, &names, place)? else {
        return Ok(());
    };
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
            (None, None) if count == Count::Unknown => Whose::Any,
            (None, None) => Whose::Nothing,
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
    (site, place): (&str, Where),
    species: &str,
) -> Result<Vec<BirdsSeen>, StoreError> {
    let names = [
        "date", "site", "species", "kind", "number", "age", "sex", "plumage",
    ];
    let Some(columns) = Columns::at(folder, batch, &names, place)? else {
        return Ok(Vec::new());
    };
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
    use std::fs::File;

    /// The columns of version 1: nothing of purposes, parties, looks or extremes.
    #[test]
    fn a_file_of_an_older_version_says_nothing_of_what_it_lacks() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old.parquet");
        let date = Int32Chunked::from_iter_values("date".into(), [0].into_iter());
        let texts = [
            ("site", "bank"),
            ("species", "Calidris alpina"),
            ("kind", "exactly"),
        ];
        let texts = texts.map(|(name, text)| Column::new(name.into(), [text]));
        let mut columns = vec![
            Column::new("line".into(), [2_u32]),
            date.into_date().into_column(),
            Column::new("number".into(), [3_u32]),
            Column::new("effort".into(), [60.0]),
        ];
        columns.extend(texts);
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
        let bank = ("bank", Where::Anywhere);
        records(folder.path(), &batch, bank, |record| {
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
