//! Rows of a counts file.

use super::columns::{Dates, Taken};
use super::count_column::{CountRead, Counts};
use super::looks::LooksColumns;
use super::meaning::VisitColumns;
use super::names::SpeciesColumn;
use super::site_column::Sites;
use super::sums::Sums;
use super::walk::{Fault, TakeRow, Walk, cell_text};
use super::{CountRows, Reading, Unread};
use crate::cell::tidy;
use crate::error::LoadError;
use crate::mapping::{Finder, SiteBook};
use crate::names::{LeftUnknown, Whose};
use crate::read::rows::Row;
use crate::report::{Note, Repair};
use crate::totals::{TOTALS, TotalsWords};
use chrono::NaiveDate;
use config::settings::CountColumns;
use forecast::series::Count;

/// What is said of a row that says that nothing was found and has birds.
const BIRDS_ALL_THE_SAME: &str =
    "says that no bird was found, but its row counts birds; name the bird, or take out the count";

/// The columns of a counts file and the rows taken so far.
pub(crate) struct Reader {
    dates: Dates,
    sites: Sites,
    visits: VisitColumns,
    species: SpeciesColumn,
    counts: Counts,
    looks: LooksColumns,
    rows: CountRows,
    sums: Sums,
    totals: TotalsWords,
    /// Date and site of the last row that had both.
    last: Option<(NaiveDate, u32)>,
}

impl Reader {
    pub(crate) fn new(
        reading: &Reading<'_>,
        columns: &CountColumns,
        finder: &mut Finder<'_>,
        book: SiteBook,
    ) -> Result<Self, LoadError> {
        Ok(Reader {
            dates: Dates::new(reading, finder, &columns.date)?,
            sites: Sites::new(reading, finder, columns.site.as_ref(), book)?,
            visits: VisitColumns::new(reading, finder, columns.effort.as_ref())?,
            species: SpeciesColumn::new(reading, finder, &columns.species)?,
            counts: Counts::new(reading, columns, finder)?,
            looks: LooksColumns::new(reading, finder)?,
            rows: CountRows::default(),
            sums: Sums::default(),
            totals: TotalsWords::of(reading.source),
            last: None,
        })
    }
}

/// Walks the table and hands back the accepted rows; the report is filled on the way.
pub(crate) fn read(
    mut reader: Reader,
    mut walk: Walk<'_, '_>,
    finder: Finder<'_>,
) -> Result<CountRows, LoadError> {
    walk.rows(finder.header, &finder.used, &mut reader)?;
    reader.dates.check(walk.whose)?;
    walk.report.repairs.extend(reader.repairs(&finder));
    walk.report.notes.extend(reader.notes(&finder));
    let Reader {
        species,
        mut rows,
        sites,
        looks,
        visits,
        ..
    } = reader;
    rows.sites = sites.book.into_ids();
    walk.report.species = species.totals(&rows);
    rows.names = species.into_names();
    rows.all_looks = looks.all;
    rows.observers = visits.observers.kept;
    walk.report.notes.extend(finder.notes);
    Ok(rows)
}

impl Reader {
    fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let mut all = self.dates.repairs(finder);
        all.extend(self.sites.repairs(finder));
        all.extend(self.species.repairs(finder));
        all.extend(self.counts.repairs(finder));
        all.extend(self.visits.repairs(finder));
        all
    }

    fn notes(&self, finder: &Finder<'_>) -> Vec<Note> {
        let mut all = self.dates.notes();
        all.extend(self.visits.notes(finder));
        all.extend(self.species.undecided_notes());
        all.extend(self.rows.unread_notes());
        all
    }

    fn date_and_site(&mut self, row: &Row<'_>) -> Result<Place, Fault> {
        let date = self.dates.read(row)?;
        let site = self.sites.read(row)?;
        Ok(Place {
            local: self.dates.at(date.value, site.value)?,
            date,
            site,
        })
    }

    /// The rest of a row of a known place: its species first, for what follows is of it.
    fn take_at(&mut self, row: &Row<'_>, place: &Place) -> Result<bool, Fault> {
        let name = self.species.read(row, place.local)?;
        let count = self.count_of(name.value, row)?;
        let visit = self.visits.read(row)?;
        self.dates.accept(&place.date, place.local, row.line);
        self.sites.accept(place.site.place, row.line);
        self.species.accept(&name, row.line);
        self.counts.accept(&count, row.line);
        let site = place.site.value;
        let of_visit = self.visits.accept(&visit, row, site, place.local);
        self.rows.line.push(row.line as u32); // a file of 2 GiB at most has fewer lines
        self.rows.date.push(place.local);
        self.rows.site.push(site);
        self.rows.name.push(name.value);
        self.rows.count.push(count.value);
        self.rows.visit.push(of_visit);
        self.rows.looks.push(self.looks.read(row));
        self.sums.add(Some(name.value), count.value);
        let repaired = [
            place.date.repaired,
            place.site.repaired,
            name.repaired,
            count.repaired,
            visit.repaired,
        ];
        Ok(repaired.contains(&true))
    }

    /// The count of a row, by the place of its name: a row that says that nothing was found has none.
    fn count_of(&mut self, name: u32, row: &Row<'_>) -> Result<CountRead, Fault> {
        if !self.species.is_nothing(name) {
            return self.counts.read(row);
        }
        let none = self.counts.read_none(row)?;
        none.ok_or_else(|| Fault::in_column(self.species.column(), BIRDS_ALL_THE_SAME))
    }

    /// Where a row has no date, that of the rows above may be meant, and a bird of their visit;
    /// unless it adds them up.
    fn unplaced(&mut self, row: &Row<'_>, fault: Fault) -> Fault {
        if !row.cells[self.dates.column].trim_ascii().is_empty() {
            return fault;
        }
        let adds_up = self.adds_up(row);
        let unknown = match &adds_up {
            AddsUp::No => Some(None),
            AddsUp::Perhaps(species) => Some(Some(species.clone())),
            AddsUp::Surely => None,
        };
        if let (Some((date, site)), Some(species)) = (self.last, unknown) {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date,
                site,
                species,
                visit: Default::default(),
            });
        }
        match adds_up {
            AddsUp::No => fault,
            _ => Fault::in_column(self.dates.column, TOTALS),
        }
    }

    /// Does a row without a date add up others, by a word in it or by its number?
    fn adds_up(&mut self, row: &Row<'_>) -> AddsUp {
        let site = self.sites.column();
        let text = |column: usize| String::from_utf8_lossy(&row.cells[column]).into_owned();
        let species = self.species.column();
        let mut labels = site.into_iter().chain([species]);
        if labels.any(|column| self.totals.begins(&tidy(&text(column)).0)) {
            return AddsUp::Surely;
        }
        let has_site = site.is_some_and(|c| !row.cells[c].trim_ascii().is_empty());
        match self.counts.plain(row).filter(|_| !has_site) {
            Some(birds) if row.cells[species].trim_ascii().is_empty() => {
                match self.sums.is_of_all(birds) {
                    true => AddsUp::Surely,
                    false => AddsUp::No,
                }
            }
            Some(birds) => self.adds_up_a_species(row, birds),
            None => AddsUp::No,
        }
    }

    fn adds_up_a_species(&mut self, row: &Row<'_>, birds: u32) -> AddsUp {
        let Some((date, _)) = self.last else {
            return AddsUp::No;
        };
        let place = self.species.place(row, date);
        let Some(whose) = self.species.whose(place) else {
            return AddsUp::No;
        };
        let same = |other: u32| self.species.whose(other) == Some(whose);
        let is_wide = row.across.is_some();
        match (self.sums.is_of_name(birds, same, is_wide), whose) {
            (false, _) => AddsUp::No,
            (true, Whose::Species { name, .. }) if !is_wide && !self.is_on_last_visit(whose) => {
                AddsUp::Perhaps(name.clone())
            }
            (true, _) => AddsUp::Surely,
        }
    }

    fn is_on_last_visit(&self, whose: &Whose) -> bool {
        let rows = (0..self.rows.name.len()).rev();
        let visit = |i: &usize| self.last == Some((self.rows.date[*i], self.rows.site[*i]));
        let mut names = rows.take_while(visit).map(|i| self.rows.name[i]);
        names.any(|name| self.species.whose(name) == Some(whose))
    }

    /// A refused row's number is added up below it, too, and a row of totals begins a new sum.
    fn add_refused(&mut self, row: &Row<'_>, fault: &Fault) {
        match self.counts.plain(row) {
            _ if fault.is_totals() => self.sums.begin(),
            Some(birds) => self.sums.add(None, Count::Exactly(birds)),
            None => {}
        }
    }

    /// Notes what a row leaves unknown of its visit.
    fn leave_unknown(&mut self, row: &Row<'_>, place: &Place, unknown: LeftUnknown) {
        let species: Vec<Option<String>> = match unknown {
            LeftUnknown::Nothing => Vec::new(),
            LeftUnknown::Species(names) => names.into_iter().map(Some).collect(),
            LeftUnknown::Any => vec![None],
        };
        let visit = self.visits.of_refused(row);
        for species in species {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date: place.local,
                site: place.site.value,
                species,
                visit,
            });
        }
    }
}

/// Is a row without a date the sum of others?
enum AddsUp {
    No,
    /// By its number alone: it may as well be so many birds of the visit above.
    Perhaps(String),
    Surely,
}

/// Where and when a row is from.
struct Place {
    date: Taken<crate::date::ReadDate>,
    site: Taken<u32>,
    local: NaiveDate,
}

impl TakeRow for Reader {
    fn take(&mut self, row: &Row<'_>) -> Result<bool, Fault> {
        let place = match self.date_and_site(row) {
            Ok(place) => place,
            Err(fault) => {
                let fault = self.unplaced(row, fault);
                self.add_refused(row, &fault);
                return Err(fault);
            }
        };
        self.last = Some((place.local, place.site.value));
        let taken = self.take_at(row, &place);
        if let Err(fault) = &taken {
            self.add_refused(row, fault);
        }
        // a bird that was not found leaves no doubt which one it was
        if taken.is_err() || self.rows.count.last() != Some(&Count::Exactly(0)) {
            let unknown = self.species.left_unknown(row, place.local, taken.is_ok());
            self.leave_unknown(row, &place, unknown);
        }
        taken
    }

    /// Cells may have shifted, so that its species is not to be believed.
    fn unsound(&mut self, row: &Row<'_>) {
        if row.cells.len() < self.dates.columns_needed(&self.sites) {
            return;
        }
        if let Ok(place) = self.date_and_site(row) {
            self.rows.unread.push(Unread {
                line: row.line as u32, // as above
                date: place.local,
                site: place.site.value,
                species: None,
                visit: Default::default(),
            });
        }
    }

    fn private_column(&self) -> Option<usize> {
        self.visits.observers.private_column()
    }

    fn written(&self, row: &Row<'_>, column: usize) -> String {
        self.species
            .written(row, column)
            .unwrap_or_else(|| cell_text(row, column))
    }
}
