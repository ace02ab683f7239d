//! `wingtide digest`

use super::args;
use super::deliveries::{self, tell_sent};
use super::session::{LoadedSite, Session, today};
use super::{Failure, Streams};
use crate::compose;
use crate::deliveries::{Outgoing, Queued, queue};
use crate::digest::{Digest, MailStamp, Written, write};
use crate::loaded::SiteData;
use crate::service::tables;
use crate::subscribers::editions::Editions;
use crate::web::aliases::Aliases;
use crate::web::shown;
use chrono::{NaiveDate, Utc};
use config::settings::{Site, Workspace};
use ingest::store::IssuedFrom;
use std::io::Write;
use std::path::Path;

/// Writes the digest's files, sends it, or both.
pub fn run(dir: &Path, args: &args::Digest, streams: &mut Streams) -> Result<(), Failure> {
    let mut session = Session::open(dir)?;
    if args.send {
        can_be_sent(&session.workspace)?;
    }
    let composed = compose(&session, args.date, streams.err)?;
    if let Some(out) = &args.out {
        let written = write_files(&session.workspace, &composed.digest, out)?;
        for path in [written.html, written.text, written.mail] {
            writeln!(streams.out, "{}", path.display())?;
        }
    }
    composed.keep(&mut session)?;
    if args.send {
        send(dir, &session.workspace, &composed.digest, streams)?;
    }
    Ok(())
}

/// Composes the digest over the sites that the settings name, and writes its files.
pub fn make(
    session: &mut Session,
    date: Option<NaiveDate>,
    out: &Path,
    err: &mut dyn Write,
) -> Result<Written, Failure> {
    let composed = compose(session, date, err)?;
    let written = write_files(&session.workspace, &composed.digest, out)?;
    composed.keep(session)?;
    Ok(written)
}

/// A digest and what its forecasts were issued from, site by site.
pub struct Composed {
    /// The digest.
    pub digest: Digest,
    issued_from: Vec<IssuedFrom>,
}

impl Composed {
    /// Keeps what was forecast, to be held to what comes.
    pub fn keep(&self, session: &mut Session) -> Result<(), Failure> {
        for (site, from) in self.digest.sites.iter().zip(&self.issued_from) {
            session.keep(from, &site.guidance)?;
        }
        Ok(())
    }
}

/// Composes the digest of a date, today's where None, over the sites that the settings name. It goes
/// out of the keeper's hands, so what is sensitive is left out of it as of the pages.
pub fn compose(
    session: &Session,
    date: Option<NaiveDate>,
    err: &mut dyn Write,
) -> Result<Composed, Failure> {
    let workspace = &session.workspace;
    let aliases = Aliases::of(workspace)?;
    let sites = covered(workspace, &aliases);
    let (_, first) = sites
        .first()
        .ok_or_else(|| Failure::new("[digest] sites names no site that readers may know of"))?;
    let date = date.unwrap_or_else(|| today(first));
    let loaded: Vec<LoadedSite> = sites
        .iter()
        .map(|(own, _)| session.fitted_site(session.site(Some(own))?))
        .collect::<Result<_, Failure>>()?;
    for site in &loaded {
        site.warn(err)?;
    }
    let data: Vec<SiteData> = loaded
        .iter()
        .map(|site| shown::data(SiteData::clone(site), workspace))
        .collect();
    let settings = shown::workspace(workspace, &aliases);
    let views: Vec<_> = (data.iter().zip(&sites).zip(&loaded))
        .map(|((data, (_, site)), loaded)| data.view(&settings, site, loaded.program()))
        .collect();
    let mut digest = compose::digest(&settings, &views, date)?;
    for (site, loaded) in digest.sites.iter_mut().zip(&loaded) {
        site.notices.extend(loaded.old_curves());
    }
    Ok(Composed {
        digest,
        issued_from: loaded.iter().map(LoadedSite::issued_from).collect(),
    })
}

/// The sites that the digest is about, by their own id and as shown.
fn covered<'w>(workspace: &'w Workspace, aliases: &Aliases) -> Vec<(&'w str, Site)> {
    let named = &workspace.digest.sites;
    let covered = |id: &str| named.is_empty() || named.iter().any(|site| site == id);
    let sites = shown::sites(workspace, aliases).into_iter();
    sites.filter(|(own, _)| covered(own)).collect()
}

/// Writes the digest's files into a folder.
pub fn write_files(workspace: &Workspace, digest: &Digest, out: &Path) -> Result<Written, Failure> {
    let stamp = MailStamp {
        from: workspace.digest.from.clone(),
        to: workspace.digest.to.clone(),
        sent: Utc::now(),
        key: compose::key(workspace, digest.date),
    };
    Ok(write(out, digest, &stamp)?)
}

/// What sending needs of the settings.
fn can_be_sent(workspace: &Workspace) -> Result<(), Failure> {
    let subscribe = workspace.service.subscribe;
    if workspace.recipients.is_empty() && workspace.webhooks.is_empty() && !subscribe {
        let none = "wingtide.toml names nobody to send the digest to";
        return Err(Failure::new(none).hint("write a [[recipient]] or a [[webhook]]"));
    }
    if workspace.recipients.is_empty() && !subscribe {
        return Ok(());
    }
    if workspace.mail.is_none() {
        let none = "wingtide.toml has recipients, but no [mail] that says which server takes it";
        return Err(Failure::new(none));
    }
    if !workspace.digest.has_own_from() {
        let none = "[digest] has no from: mail needs an address that it comes from";
        return Err(Failure::new(none).hint("write, say, from = \"Wingtide <counts@example.org>\""));
    }
    Ok(())
}

/// Queues the digest and sends all that is due.
fn send(
    dir: &Path,
    workspace: &Workspace,
    digest: &Digest,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let key = compose::key(workspace, digest.date);
    let mut conn = tables::open(&workspace.root)?;
    let editions = Editions::compose(dir, workspace, (digest.date, &digest.notices))?;
    let outgoing = Outgoing {
        digest,
        editions: &editions,
        key: &key,
    };
    let queued = queue(&mut conn, workspace, outgoing, Utc::now())?;
    tell_queued(queued, streams)?;
    let report = deliveries::send(workspace)?;
    tell_sent(&conn, &report, (Some(&key), dir), streams)
}

fn tell_queued(queued: Queued, streams: &mut Streams) -> Result<(), Failure> {
    let Queued { new, before } = queued;
    let line = match (new, before) {
        (new, 0) => format!("{} queued.", deliveries::number(new)),
        (0, before) => format!(
            "This digest was queued before: its {} stand as they are, and nothing goes out twice.",
            deliveries::number(before)
        ),
        (new, before) => format!(
            "This digest was queued before: its {} stand as they are; {} queued.",
            deliveries::number(before),
            match new {
                1 => "1 new one is".to_owned(),
                new => format!("{new} new ones are"),
            }
        ),
    };
    streams.remark(&line)
}
