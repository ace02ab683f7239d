//! The digest of a week, put together from guidance, charts and what is to be known of the data.

use crate::chart::{ChartError, SetChart, SpeciesCurve};
use crate::digest::{DataBehind, Digest, Figure, Notice, SiteDigest};
use crate::guidance::types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};
use crate::guidance::{self, SiteView};
use crate::record;
use crate::season::so_far;
use chrono::NaiveDate;
use config::settings::Workspace;
use forecast::calendar::IsoWeek;
use forecast::fit::{SpeciesFit, Verdict};
use forecast::passage::LEAST_SEASONS;
use forecast::series::Visit;
use std::collections::BTreeSet;

/// The digest of the week that holds `date`, over the sites given.
///
/// # Errors
/// [`ChartError`] where a chart cannot be drawn.
pub fn digest(
    workspace: &Workspace,
    sites: &[SiteView],
    date: NaiveDate,
) -> Result<Digest, ChartError> {
    Ok(Digest {
        title: workspace.digest.title.clone(),
        workspace: workspace.name.clone(),
        about: workspace.about.clone(),
        keeper: workspace.keeper.clone(),
        date,
        week: IsoWeek::of(date),
        notices: Vec::new(),
        sites: sites
            .iter()
            .map(|view| site(view, date))
            .collect::<Result<_, _>>()?,
        more: page_of_a_set(workspace),
    })
}

/// Where the service shows a set through the year to everybody, as [`Digest::more`] has it.
fn page_of_a_set(workspace: &Workspace) -> Option<String> {
    let base = workspace.service.public_pages()?.as_str();
    let base = base.trim_end_matches('/');
    Some(format!("{base}/{{site}}/set/{{set}}"))
}

fn site(view: &SiteView, date: NaiveDate) -> Result<SiteDigest, ChartError> {
    let told = told(view, date);
    let charts = told.guidance.sets.iter();
    let charts = charts.filter_map(|set| Some((set, chart(view, set, date)?)));
    let figures = charts
        .map(|(set, chart)| Figure::of(&set.id, &chart?))
        .collect::<Result<_, ChartError>>()?;
    Ok(SiteDigest {
        figures,
        season: so_far::lines(view, date),
        ..told
    })
}

/// A site's part of the digest in words alone, without the season so far: that takes a fit of the
/// season, and pages and feeds, which want the rest, have no use for it.
pub(crate) fn told(view: &SiteView, date: NaiveDate) -> SiteDigest {
    let guidance = guidance::week(view, date);
    let data = data_behind(view.visits, date);
    let mut notices = notices(view, date);
    notices.extend(too_few_records(view, &guidance));
    SiteDigest {
        notices,
        guidance,
        figures: Vec::new(),
        data,
        season: Vec::new(),
        record: record::sentence(view, IsoWeek::of(date)),
    }
}

/// The set's chart; None where no member has a curve.
pub(crate) fn chart(
    view: &SiteView,
    set: &SetGuidance,
    date: NaiveDate,
) -> Option<Result<SetChart, ChartError>> {
    let members = set.members.iter();
    let members = members.map(|m| (m.name.clone(), m.species.as_str()));
    chart_of(view, &set.title, &members.collect::<Vec<_>>(), date)
}

/// The chart of members by name and scientific name.
pub(crate) fn chart_of(
    view: &SiteView,
    title: &str,
    members: &[(String, &str)],
    date: NaiveDate,
) -> Option<Result<SetChart, ChartError>> {
    let fit = |species: &str| view.fits.get(species).filter(|f| f.curve.is_some());
    let (with, bare): (Vec<_>, Vec<_>) = members.iter().partition(|(_, s)| fit(s).is_some());
    let drawn: Vec<SpeciesCurve> = with
        .into_iter()
        .filter_map(|(name, species)| species_curve(name, species, fit(species)?))
        .collect();
    if drawn.is_empty() {
        return None;
    }
    let bare = bare.into_iter().map(|(name, _)| name.clone()).collect();
    let watched = view.watched.days().to_vec();
    let site = &view.site.name;
    Some(SetChart::new(title, site, date, watched, drawn, bare))
}

/// What is drawn of a species; None where it has no curve.
pub(crate) fn species_curve(name: &str, species: &str, fit: &SpeciesFit) -> Option<SpeciesCurve> {
    let curve = fit.curve.as_ref()?;
    let peaks = fit.passages.iter().filter_map(|p| p.peak);
    Some(SpeciesCurve {
        name: name.to_owned(),
        scientific: species.to_owned(),
        mean: curve.log_mean.iter().map(|mean| mean.exp()).collect(),
        interval: (0..curve.log_mean.len())
            .map(|day| curve.interval_of_80(day))
            .collect(),
        peaks: peaks.map(|peak| peak.day).collect(),
    })
}

fn data_behind(visits: &[Visit], date: NaiveDate) -> DataBehind {
    let years: BTreeSet<i32> = visits.iter().map(Visit::year).collect();
    DataBehind {
        visits: visits.len(),
        seasons: years.len(),
        years: years.first().copied().zip(years.last().copied()),
        last_visit: visits.iter().map(|v| v.date).filter(|d| *d <= date).max(),
    }
}

/// What is to be known of a site's counts and curves before its chances are read.
pub fn notices(view: &SiteView, date: NaiveDate) -> Vec<Notice> {
    let data = data_behind(view.visits, date);
    let mut notices = Vec::new();
    match data.last_visit {
        None => notices.push(Notice::NoVisits),
        Some(last) => {
            let days = (date - last).num_days();
            if days > i64::from(view.workspace.digest.stale_after_days) {
                notices.push(Notice::Stale { last, days });
            }
        }
    }
    notices.extend(failed_fits(view));
    if data.seasons < LEAST_SEASONS {
        notices.push(Notice::ShortHistory {
            seasons: data.seasons,
            wanted: LEAST_SEASONS,
        });
    }
    notices
}

fn too_few_records(view: &SiteView, guidance: &WeekGuidance) -> Option<Notice> {
    let members = guidance.sets.iter().flat_map(|s| &s.members);
    let scarce = members.filter(|m| {
        let fit = view.fits.get(&m.species);
        m.recorded
            && m.basis == Basis::Frequency
            && fit.is_some_and(|f| f.verdict == Verdict::TooFew && f.failure.is_none())
    });
    let told = |m: &MemberGuidance| match guidance.findings.recorded(&m.species) {
        Some(recorded) => format!("{} ({recorded})", m.name),
        None => m.name.clone(),
    };
    let scarce: Vec<String> = scarce.map(told).collect();
    (!scarce.is_empty()).then_some(Notice::TooFewRecords(scarce))
}

/// One notice a reason.
fn failed_fits(view: &SiteView) -> Vec<Notice> {
    let failures = || {
        view.fits
            .iter()
            .filter_map(|(species, fit)| Some((species, fit.failure.as_ref()?)))
    };
    let reasons: BTreeSet<&String> = failures().map(|(_, why)| why).collect();
    let species = |reason: &String| {
        failures()
            .filter(|(_, why)| *why == reason)
            .map(|(s, _)| view.shown_name(s))
            .collect()
    };
    reasons
        .into_iter()
        .map(|reason| Notice::FailedFit {
            species: species(reason),
            reason: reason.clone(),
            to_do: format!(
                "Look through its counts for slips of the pen, then run `{} fit` again.",
                view.program
            ),
        })
        .collect()
}

/// What tells this digest from every other. It may go out more often than once a week.
pub fn key(workspace: &Workspace, date: NaiveDate) -> String {
    let sites: Vec<&str> = workspace.digest.sites.iter().map(String::as_str).collect();
    format!("{}/{}/{date}", workspace.name, sites.join("+"))
}
