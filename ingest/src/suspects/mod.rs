//! Records that a careful compiler would look up again. They are questions, never refusals: the
//! rows stay as they are, and a rare bird or a great flock may well be right.

mod found;
mod of_batch;
mod of_site;
mod once;
mod swapped;
mod twice;
mod usual;

use crate::date::DateProblem;
use crate::report::{Kind, LoadReport};
use crate::store::{BatchRow, Store, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use config::settings::Workspace;
use found::Found;
pub(crate) use of_batch::OfBatch;
pub(crate) use of_site::OfSite;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Raised whenever other questions are asked, or the same ones otherwise.
const ASKING: &str = "1";

/// Why a record is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// More than ten times the usual count of that species, site and time of the year.
    TenTimesUsual,
    /// A date after today; rows dated later than tomorrow are refused.
    Future,
    /// Day and month look as if they had changed places.
    SwappedDate,
    /// A bird of most visits in other years, found on one day of this year.
    ResidentOnce,
    /// A name that stands on one single day in all the files and not in the settings.
    NameOnce,
    /// A visit each of whose rows stands more than once in its source.
    VisitTwice,
}

impl Question {
    /// Every question, in the order in which they are asked.
    pub const ALL: [Question; 6] = [
        Question::TenTimesUsual,
        Question::Future,
        Question::SwappedDate,
        Question::ResidentOnce,
        Question::NameOnce,
        Question::VisitTwice,
    ];
}

/// A record asked about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Suspect {
    /// The question.
    pub question: Question,
    /// Id of the source.
    pub source: String,
    /// First line it is about.
    pub line: u64,
    /// Rows it is about.
    pub rows: u64,
    /// Site id; None where rows of several sites are meant or the row was refused.
    pub site: Option<String>,
    /// Scientific name; None where the rows' date alone is in question.
    pub species: Option<String>,
    /// The date as read, or as written where the row was refused.
    pub date: String,
    /// What gave rise to the question, as a phrase.
    pub why: String,
}

impl Store {
    /// Every record that is asked about, by question, source and line. What was asked before is
    /// kept: time goes into the records of sites, and the batches, that are new.
    ///
    /// `report` is the one on the last load, which knows the refused rows; `now` decides what
    /// lies in the future.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn suspects(
        &self,
        workspace: &Workspace,
        report: &LoadReport,
        now: DateTime<Utc>,
    ) -> Result<Vec<Suspect>, StoreError> {
        let batches = self.batches()?;
        let mut suspects = match self.batches_by_site(&batches)? {
            Some(sites) => by_site(self, &sites, workspace, now)?,
            None => at_once(&Found::gather(self)?, workspace, now),
        };
        suspects.extend(over_all_sites(self, &batches, workspace)?);
        suspects.extend(refused_as_future(report));
        suspects.sort();
        suspects.dedup_by(same_rows);
        Ok(suspects)
    }
}

/// A date that is out of season and out of order is asked about once.
fn same_rows(later: &mut Suspect, earlier: &mut Suspect) -> bool {
    let place = |s: &Suspect| (s.question, s.source.clone(), s.line);
    place(later) == place(earlier)
}

/// What is asked of each site's records: what is known where they are the same as when it was
/// asked, else anew.
fn by_site(
    store: &Store,
    sites: &BTreeMap<String, Vec<&BatchRow>>,
    workspace: &Workspace,
    now: DateTime<Utc>,
) -> Result<Vec<Suspect>, StoreError> {
    let (mut suspects, mut new) = (Vec::new(), Vec::new());
    for (site, batches) in sites {
        let ids: Vec<i64> = batches.iter().map(|b| b.id).collect();
        let inputs = format!("{ASKING} {ids:?}");
        let asked = match store.asked_of_site(site, &inputs)? {
            Some(asked) => asked,
            None => {
                let asked = OfSite::gather(store, batches, site, workspace)?;
                new.push((site.as_str(), inputs, asked.clone()));
                asked
            }
        };
        if let Some(today) = today(workspace, site, now)
            && asked.latest > Some(today)
        {
            let found = Found::at(store, batches, site)?;
            suspects.extend(of_site::future(&found, site, today));
        }
        suspects.extend(asked.suspects);
    }
    store.keep_asked_of_sites(&new)?;
    Ok(suspects)
}

/// As [`by_site`], of batches that do not stand site by site.
fn at_once(found: &Found, workspace: &Workspace, now: DateTime<Utc>) -> Vec<Suspect> {
    let mut suspects = OfSite::of(found, workspace).suspects;
    for site in &workspace.sites {
        let today = now.with_timezone(&site.time_zone).date_naive();
        suspects.extend(of_site::future(found, &site.id, today));
    }
    suspects
}

/// Today in the site's own time zone.
fn today(workspace: &Workspace, site: &str, now: DateTime<Utc>) -> Option<NaiveDate> {
    let site = workspace.site(site)?;
    Some(now.with_timezone(&site.time_zone).date_naive())
}

/// What is asked of dates and names whatever their sites.
fn over_all_sites(
    store: &Store,
    batches: &[BatchRow],
    workspace: &Workspace,
) -> Result<Vec<Suspect>, StoreError> {
    let mut found = Vec::new();
    for batch in batches.iter().filter(|b| is_counts(b.kind)) {
        let of_batch = match store.asked_of_batch(batch.id, ASKING)? {
            Some(known) => known,
            None => {
                let gathered = OfBatch::gather(store, batch)?;
                store.keep_asked_of_batch(batch.id, ASKING, &gathered)?;
                gathered
            }
        };
        found.push((batch.source.as_str(), of_batch));
    }
    let odd = found
        .iter()
        .flat_map(|(source, f)| swapped::out_of_order(source, &f.odd));
    let mut suspects: Vec<Suspect> = odd.collect();
    suspects.extend(once::names(&found, workspace));
    Ok(suspects)
}

fn refused_as_future(report: &LoadReport) -> Vec<Suspect> {
    let future = DateProblem::Future.to_string();
    let refused = report
        .sources
        .iter()
        .flat_map(|s| s.refused.iter().map(move |r| (s, r)));
    refused
        .filter(|(_, row)| row.reason == future)
        .map(|(source, row)| Suspect {
            question: Question::Future,
            source: source.id.clone(),
            line: row.line,
            rows: 1,
            site: None,
            species: None,
            date: row.value.clone(),
            why: "refused".to_owned(),
        })
        .collect()
}

/// Is the batch one of counts?
fn is_counts(kind: Kind) -> bool {
    kind == Kind::Counts
}

/// Day and month in each other's place, where that is another day of the calendar.
fn swapped_date(date: NaiveDate) -> Option<NaiveDate> {
    use chrono::Datelike;
    let swapped = NaiveDate::from_ymd_opt(date.year(), date.day(), date.month())?;
    (swapped != date).then_some(swapped)
}

/// Places in the year (1 to 366) within so many days of a date's, round New Year. The 366th is
/// empty in most years and does no harm.
fn days_near(date: NaiveDate, within: u16) -> impl Iterator<Item = usize> {
    use chrono::Datelike;
    let place = date.ordinal0() as i32;
    let span = -i32::from(within)..=i32::from(within);
    span.map(move |d| (place + d).rem_euclid(366) as usize + 1)
}
