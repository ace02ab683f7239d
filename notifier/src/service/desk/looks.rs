//! What the keeper is shown beside the runs: rows that were refused, how the forecasts did, and how many
//! readers there are.

use super::super::{Service, held};
use crate::cli::session::Session;
use crate::record;
use crate::subscribers::posting::blocking;
use crate::subscribers::{SubscribersError, rows};
use chrono::{DateTime, Utc};
use config::settings::Site;
use forecast::calendar::IsoWeek;
use ingest::report::{SourceReport, grouped};
use ingest::{LoadReport, Store};
use serde::Serialize;
use std::path::Path;
use std::sync::Mutex;

/// Rows shown of a source.
const ROWS: usize = 50;

#[derive(Debug, Serialize)]
pub(super) struct Looked {
    sources: Vec<Refused>,
    record: Vec<(String, String)>,
    subscribers: Vec<(&'static str, String)>,
}

/// The rows of a source that were not taken.
#[derive(Debug, Serialize)]
struct Refused {
    source: String,
    accepted: String,
    number: String,
    lines: Vec<String>,
    more: Option<String>,
}

/// What is told of each site, and the load that it is of.
pub(super) struct Record {
    loaded_at: Option<DateTime<Utc>>,
    week: IsoWeek,
    sites: Vec<(String, String)>,
}

pub(super) async fn look(
    service: &Service,
    known: &Mutex<Option<Record>>,
) -> Result<Looked, SubscribersError> {
    let (root, dir) = (service.root.clone(), service.dir.clone());
    let report = blocking(move || Ok(last_report(&root))).await?;
    let loaded_at = report.as_ref().map(|r| r.loaded_at);
    let now = service.now();
    let week = IsoWeek::of(service.local_date(now));
    let record = {
        let known = held(known);
        let same = |r: &&Record| r.loaded_at == loaded_at && r.week == week;
        known.as_ref().filter(same).map(|r| r.sites.clone())
    };
    let record = match record {
        Some(record) => record,
        None => {
            let sites = blocking(move || Ok(of_sites(&dir, now))).await?;
            *held(known) = Some(Record {
                loaded_at,
                week,
                sites: sites.clone(),
            });
            sites
        }
    };
    let tables = service.root.clone();
    let standings = blocking(move || rows::by_standing(&super::super::tables::open(&tables)?));
    Ok(Looked {
        sources: report
            .iter()
            .flat_map(|r| &r.sources)
            .map(refused)
            .collect(),
        record,
        subscribers: standings.await?.iter().map(in_words).collect(),
    })
}

fn last_report(root: &Path) -> Option<LoadReport> {
    // the page says that nothing is loaded; the log of the loads says why
    Store::open_existing(root).ok()?.last_report().ok()?
}

fn refused(source: &SourceReport) -> Refused {
    let total = source.refused.len();
    let lines = source.refused.iter().take(ROWS);
    Refused {
        source: source.id.clone(),
        accepted: grouped(source.accepted),
        number: grouped(total as u64),
        lines: lines.map(ToString::to_string).collect(),
        more: (total > ROWS).then(|| grouped((total - ROWS) as u64)),
    }
}

/// What is said of how the forecasts came true, site by site.
fn of_sites(dir: &Path, now: DateTime<Utc>) -> Vec<(String, String)> {
    let Ok(session) = Session::open(dir) else {
        return Vec::new();
    };
    let told = |site: &Site| {
        let loaded = session.load_site(site).ok()?;
        let today = now.with_timezone(&site.time_zone).date_naive();
        record::sentence(&loaded.view(), IsoWeek::of(today))
    };
    let sites = session.workspace.sites.iter();
    let none = "nothing to tell yet";
    sites
        .map(|site| {
            (
                site.name.clone(),
                told(site).unwrap_or_else(|| none.to_owned()),
            )
        })
        .collect()
}

fn in_words((standing, number): &(String, usize)) -> (&'static str, String) {
    let words = match standing.as_str() {
        "waits" => "wait for their confirmation",
        "reads" => "read",
        "paused" => "paused",
        _ => "left",
    };
    (words, grouped(*number as u64))
}
