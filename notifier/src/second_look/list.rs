//! The records asked about.

use super::limit::Limit;
use super::past::Past;
use super::reason::{because, kind};
use super::scene::Scene;
use crate::words;
use chrono::{Datelike, Days, NaiveDate};
use config::look_alikes::{LookAlikeSet, Trust};
use config::settings::{Site, Workspace};
use forecast::calendar::DayOfYear;
use forecast::second_look::{Judged, Said, Standing, why};
use forecast::series::{Count, CountSeries};
use forecast::share::shares;
use ingest::store::{Answer, RecordKey, SiteHistory, Store, StoreError, ToldOf};
use rayon::prelude::*;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Days before a site's last visit whose records are looked at where nothing else is said.
const USUAL_DAYS: u64 = 365;
/// Marks that are asked for at most: a finder answers three questions, not ten.
const MOST_MARKS: usize = 4;

/// Which records are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Those of the last 365 days up to each site's last visit.
    Usual,
    /// Those from a date on.
    Since(NaiveDate),
    /// Those that a load brought or changed.
    Batch(i64),
}

/// A record asked about.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// What the record goes by in commands.
    pub record: String,
    /// The record.
    #[serde(flatten)]
    pub key: RecordKey,
    /// Name of the site.
    #[serde(skip)]
    pub site_name: String,
    /// The species' shown name.
    #[serde(skip)]
    pub name: String,
    /// In one word.
    pub reason: &'static str,
    /// In a sentence.
    pub because: String,
    /// How surprising.
    pub score: f64,
    /// Birds expected on that visit.
    pub expected: f64,
    /// Probability of so many or more on it.
    pub chance: f64,
    /// Members of its look-alike sets that were ever found at the site, with their share of the
    /// birds of the set on that date, the largest first.
    pub look_alikes: Vec<LookAlike>,
    /// Parts of the bird that a description must mention.
    pub marks: Vec<String>,
    /// What the set says that a claim of the species must tell.
    pub describe: Option<String>,
    /// The last answer.
    pub answer: Option<Answer>,
}

/// A member of the record's look-alike set.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookAlike {
    /// Scientific name.
    pub species: String,
    /// Shown name.
    #[serde(skip)]
    pub name: String,
    /// Part of the set's birds.
    pub share: f64,
}

/// What a second look finds.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SecondLooks {
    /// Where questions begin; None where no site has seasons enough.
    pub limit: Option<Limit>,
    /// Records looked at.
    pub looked_at: usize,
    /// Of them, those of years with too few earlier ones: of these nothing can be said.
    pub too_early_to_say: usize,
    /// Those asked about, the most surprising first, whether answered or not.
    pub records: Vec<Question>,
}

impl SecondLooks {
    /// Those that nobody has answered yet.
    pub fn pending(&self) -> impl Iterator<Item = &Question> {
        self.records.iter().filter(|q| q.answer.is_none())
    }
}

/// The records worth a second look, of one site or all. None where `fit` has yet to work out where
/// questions begin.
///
/// # Errors
///
/// [`StoreError`] where the store is damaged.
pub fn list(
    workspace: &Workspace,
    store: &Store,
    site: Option<&str>,
    which: Which,
) -> Result<Option<SecondLooks>, StoreError> {
    let mut past = Vec::new();
    for site in &workspace.sites {
        if let Some(scores) = store.scores(&site.id)? {
            let read: Result<Past, _> = serde_json::from_value(scores);
            past.push(read.map_err(StoreError::Json)?);
        }
    }
    if past.is_empty() {
        return Ok(None);
    }
    let limit = Limit::of(&past, workspace.second_look.false_questions_a_week);
    let answers = store.last_answers()?;
    let mut found = SecondLooks {
        limit,
        looked_at: 0,
        too_early_to_say: 0,
        records: Vec::new(),
    };
    let new = match which {
        Which::Batch(batch) => Some(store.new_in_batch(batch)?.unwrap_or_default()),
        _ => None,
    };
    let sites = workspace.sites.iter();
    for site in sites.filter(|s| site.is_none_or(|id| id == s.id)) {
        let history = store.history(workspace, &site.id)?;
        of_site(
            workspace,
            site,
            &history,
            (which, new.as_ref()),
            &answers,
            &mut found,
        );
    }
    found.records.sort_by(|a, b| b.score.total_cmp(&a.score));
    Ok(Some(found))
}

type New = BTreeSet<ToldOf>;

fn of_site(
    workspace: &Workspace,
    site: &Site,
    history: &SiteHistory,
    (which, new): (Which, Option<&New>),
    answers: &BTreeMap<String, Answer>,
    found: &mut SecondLooks,
) {
    let scene = Scene::new(workspace, history);
    let usual = history
        .last_visit
        .and_then(|d| d.checked_sub_days(Days::new(USUAL_DAYS)));
    let wanted = |date: NaiveDate, species: &str| match which {
        Which::Usual => usual.is_some_and(|from| date > from),
        Which::Since(from) => date >= from,
        Which::Batch(_) => {
            let row = (site.id.clone(), date, species.to_owned());
            new.is_some_and(|new| new.contains(&row))
        }
    };
    let records = scene.records(wanted);
    let years = scene.years();
    let told = |s: &&Said| years.contains(&s.date.year());
    found.looked_at += records.len();
    found.too_early_to_say += records.iter().filter(|s| !told(s)).count();
    let Some(above) = found.limit.as_ref().map(|l| l.score) else {
        return;
    };
    let judged = years
        .par_iter()
        .flat_map(|year| scene.judge(*year, &records));
    let asked: Vec<(Said, Judged)> = judged.filter(|(_, j)| j.score > above).collect();
    let place = Place {
        workspace,
        site,
        history,
        scene: &scene,
    };
    let questions = asked.iter().map(|(said, judged)| {
        let mut question = place.question(said, judged);
        question.answer = answers.get(&question.record).cloned();
        question
    });
    found.records.extend(questions);
}

/// A site whose records are told of.
pub(super) struct Place<'a> {
    pub(super) workspace: &'a Workspace,
    site: &'a Site,
    history: &'a SiteHistory,
    pub(super) scene: &'a Scene<'a>,
}

impl Place<'_> {
    fn question(&self, said: &Said, judged: &Judged) -> Question {
        let species = self.scene.names[said.species];
        let key = RecordKey::new(&self.site.id, said.date, species, said.count);
        let standing = Standing::of(self.scene.series[said.species], said.date);
        let reason = why(said, judged, &standing);
        let look_alikes = self.look_alikes(said);
        let sets = || {
            self.workspace
                .look_alikes
                .iter()
                .filter(|s| s.member(species).is_some())
        };
        let describe = sets().find_map(|s| s.member(species)?.describe.clone());
        Question {
            record: key.fingerprint(),
            site_name: self.site.name.clone(),
            name: self.workspace.shown_name(species).to_owned(),
            reason: kind(&reason),
            because: words::plain_spaces(&because(
                self,
                said,
                judged,
                &standing,
                &reason,
                &look_alikes,
            )),
            score: judged.score,
            expected: judged.expected,
            chance: judged.at_least,
            marks: sets()
                .flat_map(|s| marks(s, species, self.site, said.date))
                .take(MOST_MARKS)
                .collect(),
            look_alikes,
            describe,
            answer: None,
            key,
        }
    }

    /// Shares of the species' look-alikes on the date, the record itself left out.
    fn look_alikes(&self, said: &Said) -> Vec<LookAlike> {
        let members = &self.scene.relatives[said.species];
        if members.len() < 2 {
            return Vec::new();
        }
        let own = without(self.scene.series[said.species], said.date);
        let series: Vec<&CountSeries> = members
            .iter()
            .map(|m| match *m == said.species {
                true => own.as_ref().unwrap_or(self.scene.series[*m]),
                false => self.scene.series[*m],
            })
            .collect();
        let shared = shares(&series, DayOfYear::of(said.date)).shares;
        let one = |(member, share): (&usize, f64)| {
            let species = self.scene.names[*member];
            LookAlike {
                species: species.to_owned(),
                name: self.workspace.shown_name(species).to_owned(),
                share,
            }
        };
        let mut all: Vec<LookAlike> = members.iter().zip(shared).map(one).collect();
        all.sort_by(|a, b| b.share.total_cmp(&a.share));
        all
    }

    /// The history behind it.
    pub(super) fn name(&self, species: usize) -> &str {
        self.workspace.shown_name(self.scene.names[species])
    }

    /// Visits made in earlier years.
    pub(super) fn earlier_visits(&self, date: NaiveDate) -> usize {
        let earlier = self
            .history
            .visits
            .iter()
            .filter(|v| v.year() < date.year());
        earlier.count()
    }
}

/// The series with nothing known of one date; None where it has no such date.
pub(super) fn without(series: &CountSeries, date: NaiveDate) -> Option<CountSeries> {
    let count = |(visit, count): (&forecast::series::Visit, Count)| match visit.date == date {
        true => Count::Unknown,
        false => count,
    };
    CountSeries::new(series.visits().clone(), series.iter().map(count).collect()).ok()
}

/// Parts of the bird that separate it from another member in that month, the most trusted first.
fn marks(set: &LookAlikeSet, species: &str, site: &Site, date: NaiveDate) -> Vec<String> {
    let month = date.month() as u8;
    let mut marks: Vec<_> = set
        .marks
        .iter()
        .filter(|m| m.trust != Trust::Light && m.holds(&site.region, month))
        .filter(|m| m.shows.len() > 1)
        .filter(|m| {
            m.shows
                .iter()
                .any(|s| s.members.iter().any(|n| n == species))
        })
        .collect();
    marks.sort_by_key(|m| m.trust);
    marks.into_iter().map(|m| m.part.clone()).collect()
}
