//! A site's records, put together visit by visit.

use super::batches::{self, Record, Whose};
use super::ledger::BatchRow;
use super::{Store, StoreError};
use crate::gaps::VisitFacts;
use crate::loose::Loose;
use crate::overlap::{Merging, beside};
use crate::parties::Parties;
use crate::report::Kind;
use crate::visit::with_refused;
use chrono::NaiveDate;
use config::meaning::OverlapRule;
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// A record that is part of no series.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// Local date.
    pub date: NaiveDate,
    /// Scientific name.
    pub species: String,
    /// How many.
    pub count: Count,
}

/// Birds that were left undecided between species.
#[derive(Debug, Clone, PartialEq)]
pub struct UndecidedBirds {
    /// Local date.
    pub date: NaiveDate,
    /// Scientific names in alphabetical order; a single one is doubtful itself.
    pub between: Vec<String>,
    /// How many.
    pub count: Count,
}

/// A site's visits by date, without gaps.
pub(super) type Visits = BTreeMap<NaiveDate, VisitFacts>;

/// Everything counted at a site.
pub(super) struct Counted {
    /// Counts by species, one for each standard visit, in date order.
    pub(super) species: BTreeMap<String, Vec<Count>>,
    pub(super) targeted: Vec<Sighting>,
    pub(super) undecided: Vec<UndecidedBirds>,
}

/// A visit: its date, and whether it is part of the series.
type Key = (NaiveDate, bool);

struct Gathering<'a> {
    site: &'a str,
    visits: &'a Visits,
    merging: Merging,
    /// Places of the standard visits.
    places: BTreeMap<NaiveDate, usize>,
    names: HashMap<String, usize>,
    /// By place of the species. Unknown until a row tells: any other count goes before it.
    counts: Vec<Vec<Count>>,
    /// Species and visits of which a row was refused.
    refused: BTreeSet<(usize, usize)>,
    /// Visits that the sources so far tell of.
    told: HashSet<Key>,
    targeted: Loose<(NaiveDate, String)>,
    undecided: Loose<(Key, Vec<String>)>,
}

/// What one source tells of a site.
struct Source {
    /// By place of the species and of the visit.
    parties: Parties<(usize, usize)>,
    told: HashSet<Key>,
    targeted: Loose<(NaiveDate, String)>,
    undecided: Loose<(Key, Vec<String>)>,
}

impl Store {
    /// What several sources tell of one visit is put together by the workspace's rule.
    pub(super) fn counted(
        &self,
        site: &str,
        visits: &Visits,
        merging: Merging,
    ) -> Result<Counted, StoreError> {
        let standard = visits.iter().filter(|(_, v)| v.standard);
        let mut gathering = Gathering {
            site,
            visits,
            merging,
            places: standard.map(|(date, _)| *date).zip(0..).collect(),
            names: HashMap::new(),
            counts: Vec::new(),
            refused: BTreeSet::new(),
            told: HashSet::new(),
            targeted: Loose::default(),
            undecided: Loose::default(),
        };
        for batch in self.batches()?.iter().filter(|b| b.kind == Kind::Counts) {
            gathering.add(self, batch)?;
        }
        Ok(gathering.done())
    }

    /// Hands over each record of a batch at a site.
    pub(crate) fn records(
        &self,
        batch: &BatchRow,
        site: &str,
        take: impl FnMut(Record<'_>) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        let place = self.place(batch, site)?;
        batches::records(&self.folder, batch, (site, place), take)
    }
}

impl Gathering<'_> {
    fn add(&mut self, store: &Store, batch: &BatchRow) -> Result<(), StoreError> {
        let mut source = Source {
            parties: Parties::new(batch.report.observers),
            told: HashSet::new(),
            targeted: Loose::default(),
            undecided: Loose::default(),
        };
        store.records(batch, self.site, |record| self.take(record, &mut source))?;
        let rule = self.merging.overlap;
        for ((species, place), count) in source.parties.totals() {
            let known = self.counts[species][place];
            let both = beside(known, count, rule);
            self.counts[species][place] = both.ok_or_else(|| self.too_many(species, place))?;
        }
        self.targeted.merge(source.targeted, rule);
        self.undecided.merge(source.undecided, rule);
        self.told.extend(source.told);
        Ok(())
    }

    fn take(&mut self, record: Record<'_>, source: &mut Source) -> Result<(), StoreError> {
        let Some(facts) = self.visits.get(&record.date) else {
            return Ok(()); // in a gap
        };
        let purpose = record.visit.purpose.unwrap_or(facts.unstated);
        let key = (record.date, self.merging.in_series(purpose));
        if self.merging.overlap == OverlapRule::First {
            if self.told.contains(&key) {
                return Ok(());
            }
            source.told.insert(key);
        }
        let species = match record.whose {
            // what they say of the visit is in its facts
            Whose::Any | Whose::Nothing => return Ok(()),
            Whose::Species(species) => species,
            Whose::Between(between) => {
                let between = between.into_iter().map(str::to_owned).collect();
                source.undecided.add((key, between), record.count);
                return Ok(());
            }
        };
        let place = self.places.get(&record.date).copied().filter(|_| key.1);
        let Some(place) = place else {
            if record.count.found() == Some(true) {
                let of = (record.date, species.to_owned());
                source.targeted.add(of, record.count);
            }
            return Ok(());
        };
        let species = self.species(species);
        if record.count == Count::Unknown {
            self.refused.insert((species, place));
            return Ok(());
        }
        let added = source
            .parties
            .add((species, place), record.visit.party, record.count);
        added.ok_or_else(|| self.too_many(species, place))
    }

    /// Place of the species, which is new where it has no record yet.
    fn species(&mut self, name: &str) -> usize {
        if let Some(place) = self.names.get(name) {
            return *place;
        }
        self.names.insert(name.to_owned(), self.counts.len());
        self.counts.push(unrecorded(self.visits));
        self.counts.len() - 1
    }

    fn too_many(&self, species: usize, place: usize) -> StoreError {
        let name = self.names.iter().find(|(_, s)| **s == species);
        let date = self.places.iter().find(|(_, p)| **p == place);
        StoreError::TooManyBirds {
            species: name.map_or_else(String::new, |(name, _)| name.clone()),
            site: self.site.to_owned(),
            date: date.map_or_else(NaiveDate::default, |(date, _)| *date),
        }
    }

    fn done(mut self) -> Counted {
        for (species, place) in self.refused {
            let count = &mut self.counts[species][place];
            *count = with_refused(*count);
        }
        let mut counts: Vec<Option<Vec<Count>>> = self.counts.into_iter().map(Some).collect();
        let named = self.names.into_iter();
        let species = named.filter_map(|(name, place)| Some((name, counts[place].take()?)));
        Counted {
            species: species.collect(),
            targeted: sightings(self.targeted),
            undecided: undecided_birds(self.undecided),
        }
    }
}

/// In the order of dates, and of sources and files within them.
fn sightings(all: Loose<(NaiveDate, String)>) -> Vec<Sighting> {
    let each = all.all().into_iter();
    let each = each.map(|((date, species), count)| Sighting {
        date,
        species,
        count,
    });
    let mut all: Vec<Sighting> = each.collect();
    all.sort_by_key(|sighting| sighting.date);
    all
}

/// In the same order.
fn undecided_birds(all: Loose<(Key, Vec<String>)>) -> Vec<UndecidedBirds> {
    let each = all.all().into_iter();
    let each = each.map(|(((date, _), between), count)| UndecidedBirds {
        date,
        between,
        count,
    });
    let mut all: Vec<UndecidedBirds> = each.collect();
    all.sort_by_key(|birds| birds.date);
    all
}

/// What each standard visit tells of a species without a row.
pub(super) fn unrecorded(visits: &Visits) -> Vec<Count> {
    let zero = |v: &VisitFacts| match v.fully_reported {
        true => Count::Exactly(0),
        false => Count::Unknown,
    };
    visits.values().filter(|v| v.standard).map(zero).collect()
}
