//! `wingtide digest`

use super::args::Digest;
use super::session::{LoadedSite, Session, today};
use super::{Failure, Streams};
use crate::compose;
use crate::digest::{MailStamp, Written, write};
use chrono::{NaiveDate, Utc};
use config::settings::Site;
use ingest::store::IssuedFrom;
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
    let from: Vec<IssuedFrom> = loaded.iter().map(LoadedSite::issued_from).collect();
    drop(views);
    drop(loaded);
    let stamp = MailStamp {
        from: workspace.digest.from.clone(),
        to: workspace.digest.to.clone(),
        sent: Utc::now(),
        key: compose::key(workspace, date),
    };
    let written = write(out, &digest, &stamp)?;
    for (site, from) in digest.sites.iter().zip(&from) {
        session.keep(from, &site.guidance)?;
    }
    Ok(written)
}
