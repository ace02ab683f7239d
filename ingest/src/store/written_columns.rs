//! Single columns of a batch's file, made of rows.

use super::erasing::OBSERVER;
use super::few_words::Words;
use super::frames::{PURPOSES, purpose_place};
use crate::source::observers::{KeptObserver, PARTS};
use crate::visit::OfVisit;
use chrono::NaiveDate;
use polars::prelude::*;
use std::collections::HashMap;

/// The names kept of the observers of each party of a visit.
pub(super) struct Observers(HashMap<Party, String>);

/// Site, date and number of a party.
type Party = (u32, NaiveDate, u32);

impl Observers {
    pub(super) fn new(kept: &[KeptObserver]) -> Self {
        let mut names: HashMap<Party, String> = HashMap::new();
        for one in kept {
            let of_party = names.entry((one.site, one.date, one.party)).or_default();
            if !of_party.is_empty() {
                of_party.push_str(PARTS);
            }
            of_party.push_str(&one.kept);
        }
        Observers(names)
    }

    /// The names kept of each row's observers, where any is kept. A row without a party has none.
    pub(super) fn column(&self, parties: impl Iterator<Item = Option<Party>>) -> Option<Column> {
        let names = parties.map(|party| self.0.get(&party?).map(String::as_str));
        (!self.0.is_empty()).then(|| texts(OBSERVER, names))
    }
}

pub(super) fn purposes() -> PolarsResult<Words<'static>> {
    Words::new(PURPOSES.iter().map(|(word, _)| *word).collect())
}

/// What rows say of their visits.
pub(super) fn of_visit<'r, I: Iterator<Item = &'r OfVisit>>(
    purposes: &Words<'_>,
    rows: impl Fn() -> I,
) -> PolarsResult<[Column; 4]> {
    let full = rows().map(|v| v.fully_reported);
    let purpose = rows().map(|v| v.purpose.map(purpose_place));
    Ok([
        numbers("effort", rows().map(|v| v.effort)),
        purposes.column("purpose", purpose)?,
        BooleanChunked::from_iter_options("fully_reported".into(), full).into_column(),
        UInt32Chunked::from_iter_values("party".into(), rows().map(|v| v.party)).into_column(),
    ])
}

pub(super) fn lines(lines: impl Iterator<Item = u32>) -> Column {
    UInt32Chunked::from_iter_values("line".into(), lines).into_column()
}

pub(super) fn dates(dates: impl Iterator<Item = NaiveDate>) -> Column {
    let days = dates.map(|d| d.signed_duration_since(NaiveDate::default()).num_days() as i32);
    Int32Chunked::from_iter_values("date".into(), days)
        .into_date()
        .into_column()
}

pub(super) fn texts<'t>(name: &str, texts: impl Iterator<Item = Option<&'t str>>) -> Column {
    StringChunked::from_iter_options(name.into(), texts).into_column()
}

pub(super) fn numbers(name: &str, numbers: impl Iterator<Item = Option<f64>>) -> Column {
    Float64Chunked::from_iter_options(name.into(), numbers).into_column()
}
