//! `wingtide week`

use super::args::Week;
use super::session::{Session, today};
use super::{Failure, Streams, print_json};
use crate::guidance;
use crate::guidance::types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};
use crate::record::Record;
use crate::week::{Detail, render_week};
use crate::words;
use config::look_alikes::LookAlikeSet;
use config::nearest::nearest;
use serde_json::{Value, json};
use std::path::Path;

/// Shows the week's guidance for a site.
pub fn run(dir: &Path, args: &Week, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let site = session.site(args.site.as_deref())?;
    let loaded = session.fitted_site(site)?;
    loaded.warn(streams.err)?;
    let mut week = guidance::week(&loaded.view(), args.date.unwrap_or_else(|| today(site)));
    if let Some(id) = &args.set {
        only(&mut week, id, &session.workspace.look_alikes)?;
    }
    if args.json {
        return print_json(&document(&week), streams.out);
    }
    let detail = if args.all { Detail::All } else { Detail::Few };
    write!(
        streams.out,
        "{}",
        render_week(&week, detail, streams.width, streams.colour)
    )?;
    if args.record {
        show_record(&week, loaded.record.as_ref(), streams)?;
    }
    Ok(())
}

/// For each chance shown, how often such chances came true in past seasons.
fn show_record(
    week: &WeekGuidance,
    record: Option<&Record>,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let Some(record) = record else {
        writeln!(
            streams.out,
            "\nNo record yet: too few seasons to look back over."
        )?;
        return Ok(());
    };
    let (first, last) = record.years;
    writeln!(
        streams.out,
        "\nHow often such chances came true here, {first} to {last}:"
    )?;
    let members = week
        .sets
        .iter()
        .flat_map(|s| &s.members)
        .chain(&week.others);
    for m in members.filter(|m| m.chance_week >= words::HARDLY) {
        let chance = words::plain_spaces(&words::chance(m.chance_week));
        let told = match record.like(m.chance_week) {
            Some(bin) => format!(
                "found in {} of {} weeks when we said about as much",
                bin.found, bin.times
            ),
            None => "too seldom said to tell".to_owned(),
        };
        writeln!(streams.out, "  {} ({chance}): {told}", m.name)?;
    }
    Ok(())
}

/// Leaves one set; the other species are its answer only where it does not show.
fn only(week: &mut WeekGuidance, id: &str, known: &[LookAlikeSet]) -> Result<(), Failure> {
    if week.sets.iter().any(|s| s.id == id) || !week.watched {
        week.sets.retain(|s| s.id == id);
        week.others.clear();
        return Ok(());
    }
    let ids = || known.iter().map(|s| s.id.as_str());
    if ids().any(|k| k == id) {
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
