//! All sites.

use super::address::Place;
use super::page::{self, Frame, Link, PLANNED, subscribe};
use super::render::{Making, Refusal};
use super::snapshot::ShownSite;
use crate::guidance::SiteView;
use crate::words;
use forecast::calendar::{DayOfYear, IsoWeek};
use forecast::series::Visit;
use serde::Serialize;
use std::collections::BTreeSet;

#[derive(Serialize)]
struct View {
    week: Option<String>,
    sites: Vec<Row>,
    /// None in a folder, where nothing answers programs.
    api: Option<String>,
    subscribe: Option<Link>,
    /// The same.
    practice: Option<String>,
    /// Planned visits, where there are any.
    plan: Option<Link>,
}

#[derive(Serialize)]
struct Row {
    link: Link,
    lines: Vec<String>,
}

/// The page.
pub(super) fn page(making: &Making) -> Result<String, Refusal> {
    let snapshot = making.snapshot;
    let mut frame = Frame::new(&snapshot.workspace.name, snapshot, making.addresses);
    frame.trail.clear();
    let first = snapshot.sites.first();
    let week = first.map(|s| words::week(IsoWeek::of(s.today(making.now))));
    let sites = snapshot.sites.iter().map(|site| Row {
        link: Link::new(
            &site.site.name,
            making.addresses.to(&Place::Site(&site.site.id)),
        ),
        lines: lines(making, site),
    });
    let view = View {
        week,
        sites: sites.collect(),
        subscribe: subscribe(snapshot, making.addresses),
        practice: (!making.addresses.is_folder()).then(|| making.addresses.to(&Place::Practice)),
        plan: snapshot
            .has_plan(None)
            .then(|| Link::new(PLANNED, making.addresses.to(&Place::Plan(None)))),
        api: (!making.addresses.is_folder()).then(|| making.addresses.to(&Place::Api)),
    };
    Ok(page::render("sites.html", &frame, &view)?)
}

fn lines(making: &Making, site: &ShownSite) -> Vec<String> {
    let Some(view) = site.view(&making.snapshot.workspace) else {
        return vec!["No counts are loaded and fitted for this site yet.".to_owned()];
    };
    let mut lines = vec![counted(&view)];
    if !view.watched.on(DayOfYear::of(site.today(making.now))) {
        lines.push("Nobody watches here at this time of the year.".to_owned());
    }
    lines
}

/// "27 years of visits, 1999 to 2025, and 18 species."
fn counted(view: &SiteView) -> String {
    let years: BTreeSet<i32> = view.visits.iter().map(Visit::year).collect();
    let found = view.series.values().filter(|s| s.birds() > 0).count();
    let species = words::count_of(found, "species", "species");
    match (years.first(), years.last()) {
        (Some(first), Some(last)) => {
            let years = words::count_of(years.len(), "year", "years");
            format!("{years} of visits between {first} and {last}, {species} found.")
        }
        _ => "No visits yet.".to_owned(),
    }
}
