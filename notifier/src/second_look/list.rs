//! The records asked about.

use super::asks::HOW_COUNTED;
use super::limit::Limit;
use super::past::Past;
use super::place::Place;
use super::scene::Scene;
use crate::words;
use chrono::{Datelike, Days, NaiveDate};
use config::settings::{Site, Workspace};
use forecast::second_look::{Judged, Said};
use ingest::store::{Answer, RecordKey, SiteHistory, Store, StoreError, ToldOf};
use rayon::prelude::*;
use serde::{Serialize, Serializer};
use std::collections::{BTreeMap, BTreeSet};

/// Days before a site's last visit whose records are looked at where nothing else is said.
const USUAL_DAYS: u64 = 365;

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
    /// In a sentence or two.
    #[serde(serialize_with = "plain")]
    pub because: String,
    /// What is in doubt: the date, the name, the number.
    pub doubts: Vec<&'static str>,
    /// What its finder is asked.
    pub asks: Vec<String>,
    /// How surprising.
    pub score: f64,
    /// Birds expected on that visit.
    pub expected: f64,
    /// Probability of so many or more on it.
    pub chance: f64,
    /// Members of its look-alike sets that were ever found at the site, with their share of the
    /// birds of the set on that date, the largest first.
    pub look_alikes: Vec<LookAlike>,
    /// Parts of the bird that a description must mention; none where the name is in no doubt.
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

fn plain<S: Serializer>(text: &str, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(&words::plain_spaces(text))
}

impl Question {
    /// Is it asked what the bird was?
    pub fn doubts_name(&self) -> bool {
        self.doubts.contains(&"name")
    }

    /// How it was counted is to be asked, in words for whoever asks; None where the number is in no
    /// doubt.
    pub fn how_counted(&self) -> Option<&'static str> {
        self.doubts.contains(&"number").then_some(HOW_COUNTED)
    }
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
    let past = past(workspace, store)?;
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

/// What the last fit made of the seasons before, of each site of which it made something.
fn past(workspace: &Workspace, store: &Store) -> Result<Vec<Past>, StoreError> {
    let mut past = Vec::new();
    for site in &workspace.sites {
        if let Some(scores) = store.scores(&site.id)? {
            let read: Result<Past, _> = serde_json::from_value(scores);
            past.push(read.map_err(StoreError::Json)?);
        }
    }
    Ok(past)
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
    let last = history.last_visit;
    let usual = last.and_then(|d| d.checked_sub_days(Days::new(USUAL_DAYS)));
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
    let years = years.par_iter();
    let judged = years.flat_map(|year| scene.judge(*year, &records));
    let asked: Vec<(Said, Judged)> = judged.filter(|(_, j)| j.score > above).collect();
    let place = Place {
        workspace,
        site,
        history,
        scene: &scene,
    };
    let questions = asked.iter().map(|(said, judged)| {
        let question = place.question(said, judged);
        let answer = answers.get(&question.record).cloned();
        Question { answer, ..question }
    });
    found.records.extend(questions);
}
