//! `wingtide plan`

mod keeping;

use super::args::Plan as PlanArgs;
use super::session::{LoadedSite, Session, today};
use super::{Failure, Streams, print_json};
use crate::guidance::SiteView;
use crate::plan::choosing::{PlanSite, plan};
use crate::plan::sheet::Dress;
use crate::plan::targets::Wanted;
use crate::plan::tides::Tides;
use crate::plan::untold::Untold;
use crate::plan::{
    Enough, Plan, PlanError, Request, document, kept, sheet, table, targets, text, untold,
};
use crate::web::shown::plan::hides;
use crate::whole_file;
use chrono::{NaiveDate, Utc};
use config::settings::{PlanSettings, Site};
use ingest::store::Sighting;
use keeping::Made;
use std::collections::BTreeSet;
use std::path::Path;

/// Visits where neither the command nor the settings say how many.
const VISITS: u32 = 8;

/// Plans the visits.
pub fn run(dir: &Path, args: &PlanArgs, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let settings = &session.workspace.plan;
    let sites = sites(&session, args, settings)?;
    let loaded = sites
        .iter()
        .map(|s| session.load_site(s))
        .collect::<Result<Vec<_>, _>>()?;
    for site in &loaded {
        site.warn(streams.err)?;
    }
    let kept = args.keep || args.ics.is_some() || args.sheets.is_some();
    look_back(args, sites[0], kept, streams)?;
    let request = request(args, settings, sites[0]);
    let of_site = |s| plan_site(LoadedSite::view(s), &s.history.targeted);
    let sites: Vec<PlanSite> = loaded.iter().map(of_site).collect();
    let targets = wanted(&session, &sites, args, settings, streams)?;
    let (targets, untold) = untold::parted(&request, &sites, targets)?;
    let tides = args.tides.as_ref().or(settings.tides.as_ref());
    let tides = tides.map(|file| Tides::read(file)).transpose()?;
    let before = kept::read(&session.workspace.root)?;
    let plan = plan(
        &request,
        settings,
        &sites,
        &targets,
        tides.as_ref(),
        &before.entries,
    )?;
    files(args, &plan, &sites)?;
    if kept {
        let made = Made {
            session: &session,
            request: &request,
            sites: &loaded,
            targets: &targets,
            tides: tides.as_ref(),
        };
        made.keep(args, &plan, before, Utc::now())?;
        tell_of_dates(&session, args, streams)?;
    }
    let told = (&plan, untold.as_slice());
    answer(args, told, kept, streams)
}

fn answer(
    args: &PlanArgs,
    (plan, untold): (&Plan, &[Untold]),
    kept: bool,
    streams: &mut Streams,
) -> Result<(), Failure> {
    if args.json {
        let mut document = document::document(plan);
        document["untold"] = untold::document(untold);
        return print_json(&document, streams.out);
    }
    let said = text::text(plan, streams.width) + &untold::text(untold, streams.width);
    write!(streams.out, "{said}")?;
    if !kept {
        let words = "This plan is not kept; --keep, --ics FILE and --sheets FILE keep it.";
        writeln!(streams.err, "{words}")?;
    }
    Ok(())
}

/// The calendar is for those who go, so it has every date: also those that the service hides.
fn tell_of_dates(session: &Session, args: &PlanArgs, streams: &mut Streams) -> Result<(), Failure> {
    let Some(path) = &args.ics else {
        return Ok(());
    };
    if hides(&session.workspace) {
        streams.remark(&format!(
            "note: {} is for those who go: it names nothing that is sensitive, but its dates may \
             tell; to everybody give the service's own /plan.ics, which leaves such dates out",
            path.display()
        ))?;
    }
    Ok(())
}

/// Dates that are over are planned as they would have been, and such a plan is not kept.
fn look_back(
    args: &PlanArgs,
    first: &Site,
    kept: bool,
    streams: &mut Streams,
) -> Result<(), Failure> {
    if args.date.is_some() || today(first) <= args.to {
        return Ok(());
    }
    let from = args.from;
    writeln!(
        streams.err,
        "note: these dates are over; this is what would have been planned on {from}"
    )?;
    if !kept {
        return Ok(());
    }
    let over = "this season is over: a plan that looks back on it is not kept";
    let way = "leave out --keep, --ics and --sheets, or name the day of planning with --date";
    Err(Failure::new(over).hint(way))
}

fn sites<'s>(
    session: &'s Session,
    args: &PlanArgs,
    settings: &PlanSettings,
) -> Result<Vec<&'s Site>, Failure> {
    let named = match args.site.as_slice() {
        [] => settings.sites.as_slice(),
        named => named,
    };
    if named.is_empty() {
        return Ok(session.workspace.sites.iter().collect());
    }
    let mut seen = BTreeSet::new();
    let once = named.iter().filter(|id| seen.insert(id.as_str()));
    once.map(|id| session.site(Some(id))).collect()
}

fn request(args: &PlanArgs, settings: &PlanSettings, first: &Site) -> Request {
    let visits = args.visits.or(settings.visits).unwrap_or(VISITS);
    let mut not = settings.not.clone();
    not.extend(&args.not);
    Request {
        from: args.from,
        to: args.to,
        today: args
            .date
            .unwrap_or_else(|| as_of(today(first), args.from, args.to)),
        enough: match args.sure {
            Some(percent) => Enough::Sure(f64::from(percent) / 100.0),
            None => Enough::Visits(visits as usize),
        },
        weekdays: match args.weekdays.is_empty() {
            true => settings.weekdays.clone(),
            false => args.weekdays.clone(),
        },
        not,
        gap_days: args.gap.unwrap_or(settings.gap_days),
        most_per_week: args.per_week.or(settings.most_per_week),
        teams: args.teams.unwrap_or(settings.teams),
        farthest_km: args.farthest.or(settings.farthest_km),
        rain_days: args.rain.unwrap_or(settings.rain_days),
    }
}

/// A season that is over is planned as on its first day: so one can look back.
fn as_of(today: NaiveDate, from: NaiveDate, to: NaiveDate) -> NaiveDate {
    if today > to { from } else { today }
}

fn plan_site<'a>(view: SiteView<'a>, targeted: &'a [Sighting]) -> PlanSite<'a> {
    let mut visited: Vec<NaiveDate> = view.visits.iter().map(|v| v.date).collect();
    visited.extend(targeted.iter().map(|t| t.date));
    visited.sort_unstable();
    visited.dedup();
    PlanSite {
        view,
        targeted,
        visited,
    }
}

fn wanted(
    session: &Session,
    sites: &[PlanSite],
    args: &PlanArgs,
    settings: &PlanSettings,
    streams: &mut Streams,
) -> Result<Vec<Wanted>, Failure> {
    let names = match args.target.as_slice() {
        [] => &settings.targets,
        named => named,
    };
    let views: Vec<_> = sites.iter().map(|s| &s.view).collect();
    let named = targets::named(&session.workspace, &views, names).map_err(|unknown| {
        let failure = Failure::new(unknown.message);
        match unknown.near {
            Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
            None => failure,
        }
    })?;
    for (slip, near) in &named.slips {
        streams.remark(&format!(
            "note: \"{slip}\" was counted and looks like a slip of \"{near}\": it is no target; list \
             it as a [[species]] if it is meant"
        ))?;
    }
    if args.sure.is_some() && named.wanted.iter().any(|w| w.weight != 1.0) {
        let words = "note: with --sure all targets count alike, whatever their weights";
        writeln!(streams.err, "{words}")?;
    }
    Ok(named.wanted)
}

fn files(args: &PlanArgs, plan: &Plan, sites: &[PlanSite]) -> Result<(), Failure> {
    if let Some(path) = &args.csv {
        write(path, &table::csv(plan)?)?;
    }
    if let Some(path) = &args.sheets {
        let views: Vec<&SiteView> = sites.iter().map(|s| &s.view).collect();
        let page = sheet::page(plan, &views, &Dress::Alone)?;
        write(path, page.as_bytes())?;
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), PlanError> {
    whole_file::write(path, bytes).map_err(|cause| PlanError::Write {
        path: path.to_owned(),
        cause,
    })
}
