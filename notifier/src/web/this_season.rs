//! The season so far at a site: early or late, strong or weak.

use super::address::Place;
use super::page::{self, Frame};
use super::render::{Making, Refusal};
use super::snapshot::ShownSite;
use crate::season::{self, Ask, SeasonReport, words};
use serde::Serialize;

#[derive(Serialize)]
struct View {
    ground: Option<String>,
    summary: Vec<String>,
    overview: Option<String>,
    rows: Vec<season::page::RowView>,
    courses: Vec<CourseView>,
    left_out: Vec<String>,
    meaning: Vec<&'static str>,
}

#[derive(Serialize)]
struct CourseView {
    title: String,
    sentences: String,
    chart: Option<String>,
}

/// Passages drawn one by one: the oddest. All are in the table.
const DRAWN: usize = 12;

/// The page.
pub(super) fn page(making: &Making, site: &ShownSite) -> Result<String, Refusal> {
    let title = format!("This season at {}", site.site.name);
    let own = making.addresses.to(&Place::Season(&site.site.id));
    let frame = Frame::of_site(title, making.snapshot, site, making.addresses).at(&own);
    let view = match site.view(&making.snapshot.workspace) {
        None => View::empty("No counts are loaded and fitted for this site yet."),
        Some(view) => {
            let ask = Ask {
                date: site.today(making.now),
                season: None,
                as_known_then: true,
            };
            let report = season::of_site(&view, &ask).map_err(Refusal::broken)?;
            View::of(&report)?
        }
    };
    Ok(page::render("this_season.html", &frame, &view)?)
}

impl View {
    fn empty(why: &str) -> Self {
        View {
            ground: None,
            summary: vec![why.to_owned()],
            overview: None,
            rows: Vec::new(),
            courses: Vec::new(),
            left_out: Vec::new(),
            meaning: Vec::new(),
        }
    }

    fn of(report: &SeasonReport) -> Result<Self, Refusal> {
        if report.passages.is_empty() {
            return Ok(View {
                left_out: words::left_out(report),
                ..View::empty("No passage with a curve is under way.")
            });
        }
        let overview = season::page::overview(report).map_err(Refusal::broken)?;
        let svg = overview.map(|chart| chart.svg_as("season"));
        let courses = report.passages.iter().take(DRAWN).enumerate();
        let course = |(place, p)| CourseView {
            title: words::name(report, p),
            sentences: words::sentences(p).join(" "),
            // a passage without a bird or a curve on its days has no picture
            chart: season::page::course(p)
                .svg_as(&format!("course-{place}"))
                .ok(),
        };
        Ok(View {
            ground: Some(words::ground(report)),
            summary: words::summary(report),
            overview: svg.transpose().map_err(Refusal::broken)?,
            rows: season::page::rows(report),
            courses: courses.map(course).collect(),
            left_out: words::left_out(report),
            meaning: words::MEANING.to_vec(),
        })
    }
}
