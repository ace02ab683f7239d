//! The visit dates that a source's rows tell of.

use super::{Batch, CountRows, VisitRows};
use crate::report::Note;
use crate::visit::{Day, Days, OfVisit};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Dates that a source tells of, by site id.
pub(crate) type DaysBySite = BTreeMap<String, Days>;

/// A row as its date sees it.
pub(crate) struct RowOfDay<'a> {
    pub(crate) site: &'a str,
    pub(crate) date: NaiveDate,
    pub(crate) visit: OfVisit,
    /// It was refused, and may have told of any species.
    pub(crate) unread: bool,
}

/// Rows by site and date.
pub(crate) fn gather<'a>(rows: impl Iterator<Item = RowOfDay<'a>>) -> DaysBySite {
    let mut days = DaysBySite::new();
    let mut rows = rows.peekable();
    while let Some(row) = rows.next() {
        if !days.contains_key(row.site) {
            days.insert(row.site.to_owned(), Days::new());
        }
        let Some(of_site) = days.get_mut(row.site) else {
            continue;
        };
        let day = of_site.entry(row.date).or_default();
        row.add_to(day);
        // the rows of a visit mostly stand together
        while let Some(next) = rows.next_if(|n| n.date == row.date && n.site == row.site) {
            next.add_to(day);
        }
    }
    days
}

impl RowOfDay<'_> {
    fn add_to(&self, day: &mut Day) {
        day.add_row(self.visit);
        if self.unread {
            day.add_unread(self.visit);
        }
    }
}

impl Batch {
    /// The dated rows of counts or visits; none of a temperature file.
    pub(crate) fn days(&self) -> DaysBySite {
        match self {
            Batch::Counts(rows) => gather(rows.of_days()),
            Batch::Visits(rows) => gather(rows.of_days()),
            Batch::Temperature(_) => DaysBySite::new(),
        }
    }
}

impl CountRows {
    fn of_days(&self) -> impl Iterator<Item = RowOfDay<'_>> {
        let rows = self.site.iter().zip(&self.date).zip(&self.visit);
        let accepted = rows.map(|((site, date), visit)| RowOfDay {
            site: &self.sites[*site as usize],
            date: *date,
            visit: *visit,
            unread: false,
        });
        accepted.chain(self.unread.iter().map(|row| RowOfDay {
            site: &self.sites[row.site as usize],
            date: row.date,
            visit: row.visit,
            unread: row.species.is_none(),
        }))
    }

    /// Tells what refused and doubtful rows leave unknown.
    pub(crate) fn unread_notes(&self) -> Vec<Note> {
        let species: BTreeSet<_> = self
            .unread
            .iter()
            .filter_map(|u| Some((u.site, u.date, u.species.as_ref()?)))
            .collect();
        let any = self.unread.iter().filter(|u| u.species.is_none());
        let visits: BTreeSet<_> = any.clone().map(|u| (u.site, u.date)).collect();
        let line = |all: &mut dyn Iterator<Item = u32>| all.min().map(u64::from);
        let mut notes = Vec::new();
        if !species.is_empty() {
            let known = self.unread.iter().filter(|u| u.species.is_some());
            notes.push(Note {
                file: None,
                line: line(&mut known.map(|u| u.line)),
                text: format!(
                    "Species left unknown on a visit rather than not found, as a row of theirs is \
                     refused or doubtful: {}.",
                    species.len()
                ),
            });
        }
        if !visits.is_empty() {
            notes.push(Note {
                file: None,
                line: line(&mut any.map(|u| u.line)),
                text: format!(
                    "Visits not fully reported, as a row of theirs may be of any species: {}.",
                    visits.len()
                ),
            });
        }
        notes
    }
}

impl VisitRows {
    fn of_days(&self) -> impl Iterator<Item = RowOfDay<'_>> {
        let rows = self.site.iter().zip(&self.date).zip(&self.visit);
        rows.map(|((site, date), visit)| RowOfDay {
            site: &self.sites[*site as usize],
            date: *date,
            visit: *visit,
            unread: false,
        })
    }
}
