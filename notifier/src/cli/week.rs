//! `wingtide week`

use super::args::Week;
use super::session::{Session, today};
use super::{Failure, Streams, print_json};
use crate::guidance;
use crate::guidance::types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};
use crate::week::render_week;
use serde_json::{Value, json};
use std::path::Path;

/// Shows the week's guidance for a site.
pub fn run(dir: &Path, args: &Week, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let site = session.site(args.site.as_deref())?;
    let loaded = session.fitted_site(site)?;
    let week = guidance::week(&loaded.view(), args.date.unwrap_or_else(|| today(site)));
    if args.json {
        return print_json(&document(&week), streams.out);
    }
    write!(streams.out, "{}", render_week(&week, streams.width, streams.colour))?;
    Ok(())
}

/// The documented JSON.
pub fn document(week: &WeekGuidance) -> Value {
    json!({
        "site": week.site,
        "week": week.week.to_string(),
        "watched": week.watched,
        "visits_assumed": week.visits_assumed,
        "sets": week.sets.iter().map(set).collect::<Vec<_>>(),
        "others": week.others.iter().map(member).collect::<Vec<_>>(),
    })
}

fn set(set: &SetGuidance) -> Value {
    json!({
        "set": set.id,
        "chance_together": set.chance_together,
        "effective_birds": set.effective_birds,
        "members": set.members.iter().map(member).collect::<Vec<_>>(),
    })
}

fn member(m: &MemberGuidance) -> Value {
    json!({
        "species": m.species,
        "chance_visit": m.chance_visit,
        "chance_week": m.chance_week,
        "basis": match m.basis { Basis::Curve => "curve", Basis::Frequency => "frequency" },
        "share": m.share,
        "stands": m.stands,
    })
}
