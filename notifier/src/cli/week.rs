//! `wingtide week`

use super::args::Week;
use super::session::{LoadedSite, Session, today};
use super::{Failure, Streams, print_json};
use crate::compose;
use crate::guidance::types::WeekGuidance;
use crate::guidance::{self, SiteView, document};
use crate::record;
use crate::second_look::{self, Which};
use crate::week::{Detail, render_week};
use crate::words;
use config::look_alikes::LookAlikeSet;
use config::nearest::nearest;
use std::path::Path;

/// Shows the week's guidance for a site.
pub fn run(dir: &Path, args: &Week, streams: &mut Streams) -> Result<(), Failure> {
    let mut session = Session::open(dir)?;
    let site = session.site(args.site.as_deref())?;
    let mut loaded = session.fitted_site(site)?;
    if args.without_pending {
        leave_out_pending(&session, &mut loaded, streams)?;
    }
    loaded.warn(streams.err)?;
    let whole = guidance::week(&loaded.view(), args.date.unwrap_or_else(|| today(site)));
    let mut week = whole.clone();
    if let Some(id) = &args.set {
        only(&mut week, id, &session.workspace.look_alikes)?;
    }
    if args.json {
        print_json(&document::week(&week), streams.out)?;
    } else {
        show(&week, &loaded.view(), args, streams)?;
    }
    if args.without_pending {
        return Ok(()); // a trial, not the forecast that is kept for the record
    }
    let from = loaded.issued_from();
    drop(loaded);
    // what was said stands, even where the store cannot be written
    if let Err(error) = session.keep(&from, &whole) {
        streams.remark(&format!(
            "warning: this forecast is not kept for the record: {error}"
        ))?;
    }
    Ok(())
}

/// Leaves out what a second look asks about and nobody answered, and says so.
fn leave_out_pending(
    session: &Session,
    loaded: &mut LoadedSite,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let (workspace, store) = (&session.workspace, &session.store);
    let found = second_look::list(workspace, store, Some(&loaded.site.id), Which::Usual)?;
    let found = found.unwrap_or_default();
    let left_out = loaded.leave_out_pending(&found);
    let records = words::count_of(left_out, "record", "records");
    streams.remark(&format!(
        "Without {records} that a second look asks about; the long-term curves, which one record \
         moves little, still rest on all."
    ))
}

fn show(
    week: &WeekGuidance,
    view: &SiteView,
    args: &Week,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let detail = if args.all { Detail::All } else { Detail::Few };
    write!(
        streams.out,
        "{}",
        render_week(
            week,
            &compose::notices(view, week.date),
            detail,
            streams.width,
            streams.colour
        )
    )?;
    if args.record {
        write!(streams.out, "\n{}", record::text(view, week, streams.width))?;
    }
    Ok(())
}

/// Leaves one set; the other species are its answer only where it does not show.
fn only(week: &mut WeekGuidance, id: &str, known: &[LookAlikeSet]) -> Result<(), Failure> {
    let ids = || known.iter().map(|s| s.id.as_str());
    let is_known = ids().any(|k| k == id);
    if week.sets.iter().any(|s| s.id == id) || (is_known && !week.watched) {
        week.sets.retain(|s| s.id == id);
        week.others.clear();
        return Ok(());
    }
    if is_known {
        return Err(Failure::new(format!(
            "fewer than two species of the set \"{id}\" were ever found at {}",
            week.site
        )));
    }
    let failure = Failure::new(format!(
        "there is no set \"{id}\"; the workspace has {}",
        ids().collect::<Vec<_>>().join(", ")
    ));
    Err(match nearest(id, ids()) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure,
    })
}
