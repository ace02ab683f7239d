//! A site's records, put together visit by visit.

use super::batches::{self, Record, Whose};
use super::ledger::BatchRow;
use super::{Store, StoreError};
use crate::gaps::VisitFacts;
use crate::report::Kind;
use crate::visit::{combine, larger, with_refused};
use chrono::NaiveDate;
use config::meaning::{ObserverRule, Purpose};
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet, HashMap};

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

/// Records of one species by party, by place of the species and of the visit.
type Parties = HashMap<(usize, usize), Vec<(u32, Count)>>;

struct Gathering<'a> {
    site: &'a str,
    visits: &'a Visits,
    use_targeted: bool,
    /// Places of the standard visits.
    places: BTreeMap<NaiveDate, usize>,
    names: HashMap<String, usize>,
    /// By place of the species. Unknown until a row tells: `combine` takes the other count then.
    counts: Vec<Vec<Count>>,
    /// Species and visits of which a row was refused.
    refused: BTreeSet<(usize, usize)>,
    targeted: Vec<Sighting>,
    undecided: Vec<UndecidedBirds>,
}

impl Store {
    pub(super) fn counted(
        &self,
        site: &str,
        visits: &Visits,
        use_targeted: bool,
    ) -> Result<Counted, StoreError> {
        let standard = visits.iter().filter(|(_, v)| v.standard);
        let mut gathering = Gathering {
            site,
            visits,
            use_targeted,
            places: standard.map(|(date, _)| *date).zip(0..).collect(),
            names: HashMap::new(),
            counts: Vec::new(),
            refused: BTreeSet::new(),
            targeted: Vec::new(),
            undecided: Vec::new(),
        };
        for batch in self.batches()?.iter().filter(|b| b.kind == Kind::Counts) {
            gathering.add(self, batch)?;
        }
        Ok(gathering.done())
    }
}

impl Gathering<'_> {
    fn add(&mut self, store: &Store, batch: &BatchRow) -> Result<(), StoreError> {
        let mut parties = Parties::new();
        let largest = batch.report.observers == ObserverRule::Largest;
        batches::records(&store.folder, batch, self.site, |record| {
            self.take(record, largest.then_some(&mut parties))
        })?;
        for ((species, place), counts) in parties {
            let counts = counts.into_iter().map(|(_, count)| count);
            if let Some(count) = counts.reduce(larger) {
                self.count(species, place, count)?;
            }
        }
        Ok(())
    }

    fn take(
        &mut self,
        record: Record<'_>,
        parties: Option<&mut Parties>,
    ) -> Result<(), StoreError> {
        let Some(facts) = self.visits.get(&record.date) else {
            return Ok(()); // in a gap
        };
        let purpose = record.visit.purpose.unwrap_or(facts.unstated);
        let in_series = self.use_targeted || purpose == Purpose::Standard;
        let species = match record.whose {
            Whose::Any => return Ok(()), // the visit is not fully reported
            Whose::Species(species) => species,
            Whose::Between(between) => {
                self.undecided.push(UndecidedBirds {
                    date: record.date,
                    between: between.into_iter().map(str::to_owned).collect(),
                    count: record.count,
                });
                return Ok(());
            }
        };
        let place = self.places.get(&record.date).copied().filter(|_| in_series);
        let Some(place) = place else {
            self.targeted
                .extend((record.count.found() == Some(true)).then(|| Sighting {
                    date: record.date,
                    species: species.to_owned(),
                    count: record.count,
                }));
            return Ok(());
        };
        let species = self.species(species);
        if record.count == Count::Unknown {
            self.refused.insert((species, place));
            return Ok(());
        }
        match parties {
            None => self.count(species, place, record.count),
            Some(parties) => {
                let known = parties.entry((species, place)).or_default();
                let party = record.visit.party;
                match known.iter_mut().find(|(p, _)| *p == party) {
                    Some((_, count)) => *count = self.sum(species, place, *count, record.count)?,
                    None => known.push((party, record.count)),
                }
                Ok(())
            }
        }
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

    fn count(&mut self, species: usize, place: usize, count: Count) -> Result<(), StoreError> {
        let known = self.counts[species][place];
        self.counts[species][place] = self.sum(species, place, known, count)?;
        Ok(())
    }

    fn sum(&self, species: usize, place: usize, a: Count, b: Count) -> Result<Count, StoreError> {
        combine(a, b).ok_or_else(|| {
            let name = self.names.iter().find(|(_, s)| **s == species);
            let date = self.places.iter().find(|(_, p)| **p == place);
            StoreError::TooManyBirds {
                species: name.map_or_else(String::new, |(name, _)| name.clone()),
                site: self.site.to_owned(),
                date: date.map_or_else(NaiveDate::default, |(date, _)| *date),
            }
        })
    }

    fn done(mut self) -> Counted {
        for (species, place) in self.refused {
            let count = &mut self.counts[species][place];
            *count = with_refused(*count);
        }
        let mut counts: Vec<Option<Vec<Count>>> = self.counts.into_iter().map(Some).collect();
        let named = self.names.into_iter();
        let species = named.filter_map(|(name, place)| Some((name, counts[place].take()?)));
        self.undecided.sort_by_key(|birds| birds.date);
        self.targeted.sort_by_key(|sighting| sighting.date);
        Counted {
            species: species.collect(),
            targeted: self.targeted,
            undecided: self.undecided,
        }
    }
}

/// What each standard visit tells of a species without a row.
pub(super) fn unrecorded(visits: &Visits) -> Vec<Count> {
    let zero = |v: &VisitFacts| match v.fully_reported {
        true => Count::Exactly(0),
        false => Count::Unknown,
    };
    visits.values().filter(|v| v.standard).map(zero).collect()
}
