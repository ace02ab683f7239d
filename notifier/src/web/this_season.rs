//! A season at a site: the one under way, the last one with counts, or a past one. Early or late, strong
//! or weak?

use super::address::Place;
use super::page::{self, Frame, Link};
use super::render::{Making, Refusal};
use super::snapshot::{ShownSite, Snapshot};
use crate::season::{self, Ask, PassageSeason, SeasonReport, leading, past, words};
use crate::words::sentence;
use chrono::{DateTime, Utc};
use forecast::fit::PassageName;
use serde::Serialize;

#[derive(Serialize, Default)]
struct View {
    ground: Option<String>,
    nobody_looked: Option<String>,
    summary: Vec<String>,
    overview: Option<String>,
    rows: Vec<season::page::RowView>,
    courses: Vec<CourseView>,
    left_out: Vec<String>,
    meaning: Vec<&'static str>,
    /// Seasons that are over, the last one first, and those further back.
    past: Vec<Link>,
    earlier: Vec<Link>,
}

#[derive(Serialize)]
struct CourseView {
    title: String,
    sentences: String,
    chart: Option<String>,
}

/// Passages drawn one by one: the oddest. All are in the table.
const DRAWN: usize = 12;
/// Past seasons that are linked first, and all that a folder of files has: about two years. A choice.
const NEAREST: usize = 4;

/// The page of a season; of the one under way where none is named.
pub(super) fn page(
    making: &Making,
    site: &ShownSite,
    called: Option<Called>,
) -> Result<String, Refusal> {
    let (snapshot, id) = (making.snapshot, site.site.id.as_str());
    let report = match (site.view(&snapshot.workspace), called) {
        (None, None) => None,
        (None, Some(_)) => return Err(Refusal::Absent),
        (Some(view), season) => {
            let ask = ask(site, making.now, season);
            // a season that the site does not have
            Some(leading(&view, &ask).map_err(|_| Refusal::Absent)?)
        }
    };
    let view = match &report {
        None => View::of_nothing("No counts are loaded and fitted for this site yet."),
        Some(report) => {
            let (past, earlier) = links(making, id, report);
            View {
                past,
                earlier,
                ..View::of(report)?
            }
        }
    };
    let title = match report.and_then(|report| report.season) {
        Some(shown) => format!("{} at {}", sentence(&words::season(shown)), site.site.name),
        None => format!("This season at {}", site.site.name),
    };
    let own = making.addresses.to(&Place::Season(id, called));
    let frame = Frame::of_site(title, snapshot, site, making.addresses).at(&own);
    Ok(page::render("this_season.html", &frame, &view)?)
}

type Called = (i32, PassageName);

fn ask(site: &ShownSite, now: DateTime<Utc>, season: Option<Called>) -> Ask {
    Ask {
        date: site.today(now),
        season,
        as_known_then: false,
    }
}

/// Past seasons that a folder of files has a page of.
pub(super) fn filed(snapshot: &Snapshot, site: &ShownSite, now: DateTime<Utc>) -> Vec<Called> {
    let view = site.view(&snapshot.workspace);
    let mut past = view.map_or_else(Vec::new, |view| past(&view, site.today(now)));
    past.truncate(NEAREST);
    past
}

/// Past seasons but the one shown: those linked first, and those further back.
fn links(making: &Making, site: &str, report: &SeasonReport) -> (Vec<Link>, Vec<Link>) {
    let of = |seasons: &[Called]| -> Vec<Link> {
        let others = seasons.iter().filter(|s| Some(**s) != report.season);
        let link = |season: &Called| {
            let to = making.addresses.to(&Place::Season(site, Some(*season)));
            Link::new(sentence(&words::season(*season)), to)
        };
        others.map(link).collect()
    };
    let (near, far) = report.past.split_at(report.past.len().min(NEAREST));
    match making.addresses.is_folder() {
        true => (of(near), Vec::new()),
        false => (of(near), of(far)),
    }
}

impl View {
    fn of_nothing(why: &str) -> Self {
        View {
            summary: vec![why.to_owned()],
            ..View::default()
        }
    }

    fn of(report: &SeasonReport) -> Result<Self, Refusal> {
        if report.passages.is_empty() {
            return Ok(View {
                left_out: words::left_out(report),
                ..View::of_nothing(words::nothing(report))
            });
        }
        let overview = season::page::overview(report).map_err(Refusal::broken)?;
        let svg = overview.map(|chart| chart.svg_as("season"));
        let courses = report.passages.iter().take(DRAWN).enumerate();
        let course = |(place, p): (usize, &PassageSeason)| CourseView {
            title: words::name(report, p),
            sentences: words::sentences(p).join(" "),
            // a passage without a bird or a curve on its days has no picture, nor has one that nobody
            // looked at
            chart: match p.looked.missed {
                true => None,
                false => season::page::course(p)
                    .svg_as(&format!("course-{place}"))
                    .ok(),
            },
        };
        Ok(View {
            ground: Some(words::ground(report)),
            nobody_looked: words::nobody_looked(report),
            summary: words::summary(report),
            overview: svg.transpose().map_err(Refusal::broken)?,
            rows: season::page::rows(report),
            courses: courses.map(course).collect(),
            left_out: words::left_out(report),
            meaning: words::MEANING.to_vec(),
            ..View::default()
        })
    }
}
