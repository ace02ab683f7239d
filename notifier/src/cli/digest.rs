//! `wingtide digest`

use super::args::Digest;
use super::session::{LoadedSite, Session, today};
use super::{Failure, Streams};
use crate::compose;
use crate::digest::{MailStamp, Written, write};
use crate::guidance::types::{MemberGuidance, WeekGuidance};
use chrono::{NaiveDate, Utc};
use config::settings::Site;
use ingest::store::IssuedChance;
use std::io::Write;
use std::path::Path;

/// Writes the digest's files.
pub fn run(dir: &Path, args: &Digest, streams: &mut Streams) -> Result<(), Failure> {
    let mut session = Session::open(dir)?;
    let written = make(&mut session, args.date, &args.out, streams.err)?;
    for path in [written.html, written.text, written.mail] {
        writeln!(streams.out, "{}", path.display())?;
    }
    Ok(())
}

/// Composes and writes the digest over the sites that the settings name.
pub fn make(
    session: &mut Session,
    date: Option<NaiveDate>,
    out: &Path,
    err: &mut dyn Write,
) -> Result<Written, Failure> {
    let workspace = &session.workspace;
    let covered =
        |s: &&Site| workspace.digest.sites.is_empty() || workspace.digest.sites.contains(&s.id);
    let sites: Vec<&Site> = workspace.sites.iter().filter(covered).collect();
    let first = sites
        .first()
        .ok_or_else(|| Failure::new("[digest] sites names no site"))?;
    let date = date.unwrap_or_else(|| today(first));
    let loaded: Vec<LoadedSite> = sites
        .iter()
        .map(|s| session.fitted_site(s))
        .collect::<Result<_, _>>()?;
    for site in &loaded {
        site.warn(err)?;
    }
    let views: Vec<_> = loaded.iter().map(LoadedSite::view).collect();
    let digest = compose::digest(workspace, &views, date)?;
    let inputs: Vec<String> = loaded
        .iter()
        .map(|l| l.history.fingerprint.clone())
        .collect();
    drop(views);
    drop(loaded);
    let stamp = MailStamp {
        from: workspace.digest.from.clone(),
        to: workspace.digest.to.clone(),
        sent: Utc::now(),
        key: compose::key(workspace, date),
    };
    let written = write(out, &digest, &stamp)?;
    for (site, inputs) in digest.sites.iter().zip(&inputs) {
        let chances = issued(&site.guidance);
        session
            .store
            .keep_issued(&site.guidance.site, inputs, stamp.sent, &chances)?;
    }
    Ok(written)
}

/// The chances of a digest, as kept for scoring.
fn issued(week: &WeekGuidance) -> Vec<IssuedChance> {
    let members = week
        .sets
        .iter()
        .flat_map(|s| &s.members)
        .chain(&week.others);
    let chance = |m: &MemberGuidance| IssuedChance {
        species: m.species.clone(),
        monday: week.week.monday(),
        visits_assumed: week.visits_assumed,
        chance_visit: m.chance_visit,
        chance_week: m.chance_week,
    };
    members.map(chance).collect()
}
