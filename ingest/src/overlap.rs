//! Visits that several counts sources tell of: found, compared, and put together by the rule that
//! the workspace states.

use crate::gaps::{Dated, VisitFacts};
use crate::load::{Content, Prepared};
use crate::parties::Parties;
use crate::report::{Overlap, OverlapPlace};
use crate::source::{Batch, CountRows, Name};
use crate::store::{Record, Store, StoreError, Whose};
use crate::visit::larger;
use chrono::NaiveDate;
use config::meaning::{OverlapRule, Purpose, RecordRules};
use forecast::series::Count;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// How all that tells of one visit is put together.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Merging {
    pub(crate) use_targeted: bool,
    pub(crate) overlap: OverlapRule,
}

impl From<&RecordRules> for Merging {
    fn from(rules: &RecordRules) -> Self {
        Merging {
            use_targeted: rules.use_targeted,
            overlap: rules.overlap,
        }
    }
}

impl Merging {
    /// The same for the standard visits alone.
    pub(crate) fn standard(self) -> Self {
        Merging {
            use_targeted: false,
            ..self
        }
    }

    /// Is a search for that purpose one of those that the curves rest on?
    pub(crate) fn in_series(self, purpose: Purpose) -> bool {
        self.use_targeted || purpose == Purpose::Standard
    }

    /// The effort of a visit as one source has it, and as the next one has it.
    pub(crate) fn effort(self, a: Option<f64>, b: Option<f64>) -> Option<f64> {
        let (Some(known), Some(other)) = (a, b) else {
            return a.or(b);
        };
        Some(match self.overlap {
            OverlapRule::Largest => known.max(other),
            OverlapRule::First => known,
            OverlapRule::Add => known + other,
        })
    }
}

/// A visit within a site: its date, and whether the curves rest on it.
type Key = (NaiveDate, bool);

/// What one source says of some visits, by species or by those between which birds are undecided.
type Told = BTreeMap<Key, HashMap<String, Count>>;

/// Visits by date, by site.
pub(crate) type VisitsBySite<'a> = BTreeMap<&'a str, BTreeMap<NaiveDate, VisitFacts>>;

/// A counts source.
struct One<'a> {
    prepared: &'a Prepared,
    dated: &'a Dated,
}

/// Every two counts sources that tell of the same visits, in the order of `wingtide.toml`.
pub(crate) fn find(
    store: &Store,
    sources: &[(&Prepared, Dated)],
    visits: &VisitsBySite<'_>,
    merging: Merging,
) -> Result<Vec<Overlap>, StoreError> {
    let counts = sources.iter().filter(|(_, dated)| dated.is_counts());
    let counts: Vec<One<'_>> = counts
        .map(|(prepared, dated)| One { prepared, dated })
        .collect();
    if counts.len() < 2 {
        return Ok(Vec::new());
    }
    let mut found: BTreeMap<(usize, usize), Overlap> = BTreeMap::new();
    for (site, facts) in visits {
        let shared = shared(&counts, site, facts, merging);
        let mut told: HashMap<usize, Told> = HashMap::new();
        let involved: BTreeSet<usize> = shared.keys().flat_map(|(a, b)| [*a, *b]).collect();
        for place in involved {
            let own = shared
                .iter()
                .filter(|((a, b), _)| [*a, *b].contains(&place));
            let keys = own.flat_map(|(_, keys)| keys).copied().collect();
            let said = counts[place].told(store, site, facts, &keys, merging)?;
            told.insert(place, said);
        }
        for ((a, b), keys) in &shared {
            let overlap = found.entry((*a, *b)).or_insert_with(|| {
                let ids = [*a, *b].map(|place| counts[place].prepared.report.id.clone());
                Overlap::new(ids, merging.overlap)
            });
            for key in keys {
                let alike = alike(said(&told, *a, key), said(&told, *b, key));
                overlap.add(alike, OverlapPlace::new(site, key.0));
            }
        }
    }
    Ok(found.into_values().collect())
}

/// What two sources say of one visit, held together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Alike {
    /// The same counts of the same birds.
    Same,
    /// No count of the one is against one of the other, but one has birds that the other lacks.
    Further,
    /// Another count of the same birds.
    Otherwise,
}

fn said<'t>(
    told: &'t HashMap<usize, Told>,
    source: usize,
    key: &Key,
) -> Option<&'t HashMap<String, Count>> {
    told.get(&source).and_then(|told| told.get(key))
}

fn alike(a: Option<&HashMap<String, Count>>, b: Option<&HashMap<String, Count>>) -> Alike {
    let none = HashMap::new();
    let (a, b) = (a.unwrap_or(&none), b.unwrap_or(&none));
    if a.iter()
        .any(|(bird, count)| b.get(bird).is_some_and(|other| other != count))
    {
        return Alike::Otherwise;
    }
    // a species that was looked for and not found may as well have no row
    let lacks = |a: &HashMap<String, Count>, b: &HashMap<String, Count>| {
        a.iter()
            .any(|(bird, count)| *count != Count::Exactly(0) && !b.contains_key(bird))
    };
    match lacks(a, b) || lacks(b, a) {
        true => Alike::Further,
        false => Alike::Same,
    }
}

/// Visits of a site that two sources tell of, by their places.
fn shared(
    counts: &[One<'_>],
    site: &str,
    facts: &BTreeMap<NaiveDate, VisitFacts>,
    merging: Merging,
) -> BTreeMap<(usize, usize), BTreeSet<Key>> {
    let told: Vec<BTreeSet<Key>> = counts
        .iter()
        .map(|one| one.keys(site, facts, merging))
        .collect();
    let mut shared = BTreeMap::new();
    for (b, later) in told.iter().enumerate() {
        for (a, former) in told[..b].iter().enumerate() {
            let both: BTreeSet<Key> = former.intersection(later).copied().collect();
            if !both.is_empty() {
                shared.insert((a, b), both);
            }
        }
    }
    shared
}

impl One<'_> {
    /// Visits of a site that it tells of.
    fn keys(
        &self,
        site: &str,
        facts: &BTreeMap<NaiveDate, VisitFacts>,
        merging: Merging,
    ) -> BTreeSet<Key> {
        let days = self.dated.days().get(site).into_iter().flatten();
        let mut keys = BTreeSet::new();
        for (date, day) in days {
            let unstated = facts.get(date).map_or(Purpose::Standard, |f| f.unstated);
            for purpose in [Purpose::Standard, Purpose::Targeted] {
                if day.has(purpose, unstated) {
                    keys.insert((*date, merging.in_series(purpose)));
                }
            }
        }
        keys
    }

    /// What it says of some visits.
    fn told(
        &self,
        store: &Store,
        site: &str,
        facts: &BTreeMap<NaiveDate, VisitFacts>,
        wanted: &BTreeSet<Key>,
        merging: Merging,
    ) -> Result<Told, StoreError> {
        let mut parties: Parties<(Key, String)> = Parties::new(self.prepared.report.observers);
        self.each(store, site, |record| {
            let unstated = facts
                .get(&record.date)
                .map_or(Purpose::Standard, |f| f.unstated);
            let purpose = record.visit.purpose.unwrap_or(unstated);
            let key = (record.date, merging.in_series(purpose));
            if wanted.contains(&key) && !matches!(record.whose, Whose::Nothing) {
                let of = (key, bird(&record.whose));
                // too many birds for a number are told where the counts are used
                let _ = parties.add(of, record.visit.party, record.count);
            }
            Ok(())
        })?;
        let mut told = Told::new();
        for ((key, bird), count) in parties.totals() {
            told.entry(key).or_default().insert(bird, count);
        }
        Ok(told)
    }

    /// Hands over its records of a site, wherever they are.
    fn each(
        &self,
        store: &Store,
        site: &str,
        mut take: impl FnMut(Record<'_>) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        match &self.prepared.content {
            Content::Kept(batch) => store.records(batch, site, take),
            Content::New(fresh) => match &fresh.batch {
                Batch::Counts(rows) => records(rows, site).try_for_each(&mut take),
                Batch::Visits(_) | Batch::Temperature(_) => Ok(()),
            },
            Content::Withheld => Ok(()),
        }
    }
}

/// Whose birds a record is of, in one text.
fn bird(whose: &Whose<'_>) -> String {
    match whose {
        Whose::Species(species) => (*species).to_owned(),
        Whose::Between(between) => between.join(" / "),
        Whose::Any | Whose::Nothing => String::new(),
    }
}

fn whose(name: &Name) -> Whose<'_> {
    match &name.species {
        Some(species) => Whose::Species(species),
        None if name.between.is_empty() => Whose::Nothing,
        None => Whose::Between(name.between.iter().map(String::as_str).collect()),
    }
}

/// Records of rows that are not in the store yet, as the store will have them.
fn records<'r>(rows: &'r CountRows, site: &str) -> impl Iterator<Item = Record<'r>> {
    let wanted = rows
        .sites
        .iter()
        .position(|s| s == site)
        .map(|place| place as u32);
    let here = rows
        .site
        .iter()
        .enumerate()
        .filter(move |(_, at)| Some(**at) == wanted);
    let accepted = here.map(|(row, _)| {
        let name = &rows.names[rows.name[row] as usize];
        Record {
            date: rows.date[row],
            whose: whose(name),
            count: rows.count[row],
            visit: rows.visit[row],
        }
    });
    let unread = rows.unread.iter().filter(move |u| Some(u.site) == wanted);
    accepted.chain(unread.map(|u| Record {
        date: u.date,
        whose: u.species.as_deref().map_or(Whose::Any, Whose::Species),
        count: Count::Unknown,
        visit: u.visit,
    }))
}

/// A visit's count by one source beside that of those before it.
pub(crate) fn beside(known: Count, count: Count, rule: OverlapRule) -> Option<Count> {
    match rule {
        OverlapRule::Largest => Some(larger(known, count)),
        OverlapRule::First | OverlapRule::Add => crate::visit::combine(known, count),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Count::*;

    fn told(birds: &[(&str, Count)]) -> HashMap<String, Count> {
        birds
            .iter()
            .map(|(bird, count)| ((*bird).to_owned(), *count))
            .collect()
    }

    #[test]
    fn what_two_sources_say_of_one_visit() {
        let both = told(&[("dunlin", Exactly(3)), ("stint", Present)]);
        for (other, expected) in [
            (
                told(&[("dunlin", Exactly(3)), ("stint", Present)]),
                Alike::Same,
            ),
            (
                told(&[
                    ("dunlin", Exactly(3)),
                    ("stint", Present),
                    ("tern", Exactly(0)),
                ]),
                Alike::Same,
            ),
            (told(&[("dunlin", Exactly(3))]), Alike::Further),
            (told(&[("tern", Exactly(1))]), Alike::Further),
            (
                told(&[("dunlin", About(3)), ("stint", Present)]),
                Alike::Otherwise,
            ),
            (told(&[("dunlin", Exactly(0))]), Alike::Otherwise),
        ] {
            assert_eq!(alike(Some(&both), Some(&other)), expected, "{other:?}");
            assert_eq!(alike(Some(&other), Some(&both)), expected, "{other:?}");
        }
    }

    fn merging(overlap: OverlapRule) -> Merging {
        Merging {
            use_targeted: false,
            overlap,
        }
    }

    #[test]
    fn counts_and_efforts_by_each_rule() {
        for (rule, count, effort) in [
            (OverlapRule::Largest, Exactly(5), 90.0),
            (OverlapRule::Add, Exactly(8), 150.0),
        ] {
            assert_eq!(beside(Exactly(3), Exactly(5), rule), Some(count));
            assert_eq!(merging(rule).effort(Some(60.0), Some(90.0)), Some(effort));
        }
        let first = merging(OverlapRule::First);
        assert_eq!(first.effort(Some(60.0), Some(90.0)), Some(60.0));
        assert_eq!(first.effort(None, Some(90.0)), Some(90.0));
    }
}
