//! The report on a season as a page that prints: tables fit for a club's journal.

use super::{PassageSeason, SeasonReport, table, words};
use crate::chart::{ChartError, CourseChart, Picture, SeasonChart, SeasonRow};
use crate::templates;
use crate::words::{LANGUAGE, TIE, month_short};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{Datelike, NaiveDate};
use forecast::season::{Estimate, Placed};
use minijinja::value::Serde;
use serde::Serialize;

/// Pixels across: twice what the page gives a chart, for fine screens and print.
const CHART_WIDTH: u32 = 1120;

const TEMPLATES: &[(&str, &str)] = &[
    ("style.html", include_str!("../../templates/style.html")),
    ("season.html", include_str!("../../templates/season.html")),
];

/// Why there is no page.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// A chart can't be drawn.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// A template does not fit the page: a fault of the program.
    #[error("the page could not be made: {0}")]
    Template(#[from] minijinja::Error),
}

#[derive(Debug, Serialize)]
struct View {
    language: &'static str,
    title: String,
    ground: String,
    nobody_looked: Option<String>,
    nothing: &'static str,
    summary: Vec<String>,
    overview: Option<FigureView>,
    rows: Vec<RowView>,
    odd: Vec<CourseView>,
    others: Vec<CourseView>,
    left_out: Vec<String>,
    meaning: [&'static str; 4],
}

#[derive(Debug, Serialize)]
struct FigureView {
    address: String,
    alt: String,
    width: u32,
    height: u32,
}

/// A row of the table, in words.
#[derive(Debug, Serialize)]
pub(crate) struct RowView {
    name: String,
    /// Where the name shown is not it already.
    scientific: Option<String>,
    days_late: String,
    times: String,
    share: String,
    birds: String,
    first: String,
    place: String,
    odd: String,
    is_odd: bool,
}

#[derive(Debug, Serialize)]
struct CourseView {
    title: String,
    sentences: Vec<String>,
    figure: Option<FigureView>,
}

/// The chart of all passages; None where nothing is told of any.
///
/// # Errors
/// As [`SeasonChart::new`].
pub fn overview(report: &SeasonReport) -> Result<Option<SeasonChart>, ChartError> {
    let (mut rows, mut untold) = (Vec::new(), Vec::new());
    for p in &report.passages {
        let name = words::name(report, p);
        let Some(s) = p.standing() else {
            untold.push(name);
            continue;
        };
        let three = |e: &Estimate| [e.middle, e.low, e.high];
        rows.push(SeasonRow {
            name,
            days_late: three(&s.shift),
            times: three(&s.times),
            odd: s.oddness.chance,
            is_odd: p.is_odd(),
        });
    }
    if rows.is_empty() {
        return Ok(None);
    }
    let title = crate::words::plain_spaces(&words::heading(report));
    SeasonChart::new(title, rows, untold).map(Some)
}

/// The chart of one passage's course.
pub fn course(p: &PassageSeason) -> CourseChart {
    let title = format!("{}, {}", p.name, words::season((p.year, p.passage)));
    CourseChart {
        title: crate::words::plain_spaces(&title),
        subtitle: match p.standing() {
            Some(s) => format!(
                "{}, {} times the usual numbers",
                words::days(s.shift.middle),
                words::times(s.times.middle)
            ),
            None if p.looked.missed => "nobody looked while it may have been about".to_owned(),
            None => "too little seen to tell".to_owned(),
        },
        first: p.drawn.first,
        usual: p.drawn.usual.clone(),
        this: p.drawn.this.clone(),
        visits: p.drawn.visits.clone(),
        today: p.drawn.today,
        unseen: p.drawn.unseen.clone(),
    }
}

/// The page, which needs no other file.
///
/// # Errors
/// A chart that can't be drawn.
pub fn html(report: &SeasonReport) -> Result<String, PageError> {
    let text = templates::environment(TEMPLATES)?
        .get_template("season.html")?
        .render(Serde(view(report)?))?;
    Ok(text + "\n")
}

fn figure(picture: &Picture, alt: String) -> FigureView {
    FigureView {
        address: format!("data:image/png;base64,{}", STANDARD.encode(&picture.png)),
        alt,
        width: picture.width / 2,
        height: picture.height / 2,
    }
}

fn course_view(report: &SeasonReport, p: &PassageSeason) -> Result<CourseView, PageError> {
    let chart = course(p);
    // a passage of which nothing is known but that nobody went out has no picture
    let drawn = match p.looked.missed {
        true => Err(ChartError::NoSpecies),
        false => chart.png(CHART_WIDTH),
    };
    Ok(CourseView {
        title: words::name(report, p),
        sentences: words::sentences(p),
        figure: match drawn {
            Ok(picture) => Some(figure(&picture, chart.alt_text())),
            Err(ChartError::NoSpecies) => None,
            Err(error) => return Err(error.into()),
        },
    })
}

fn view(report: &SeasonReport) -> Result<View, PageError> {
    let overview = match overview(report)? {
        Some(chart) => Some(figure(&chart.png(CHART_WIDTH)?, chart.alt_text())),
        None => None,
    };
    let course = |p: &PassageSeason| course_view(report, p);
    let (odd, others): (Vec<_>, Vec<_>) = report.passages.iter().partition(|p| p.is_odd());
    Ok(View {
        language: LANGUAGE,
        title: words::heading(report),
        ground: words::ground(report),
        nobody_looked: words::nobody_looked(report),
        nothing: words::nothing(report),
        summary: words::summary(report),
        overview,
        rows: rows(report),
        odd: odd.into_iter().map(course).collect::<Result<_, _>>()?,
        others: others.into_iter().map(course).collect::<Result<_, _>>()?,
        left_out: words::left_out(report),
        meaning: words::MEANING,
    })
}

/// The table, the oddest first.
pub(crate) fn rows(report: &SeasonReport) -> Vec<RowView> {
    report.passages.iter().map(|p| row(report, p)).collect()
}

fn row(report: &SeasonReport, p: &PassageSeason) -> RowView {
    let [_, days_late, times, share, _, odd] = table::cells(report, p);
    let told = p.standing().is_some();
    RowView {
        name: words::name(report, p),
        scientific: (p.name != p.species).then(|| p.species.clone()),
        days_late: days_late.replace("..", " to "),
        times: match told || p.looked.missed {
            true => times.replace("..", " to "),
            false => "-".to_owned(),
        },
        share: share.replace("..", " to "),
        birds: table::birds(p),
        first: match (p.first.date, p.first.until) {
            (Some(date), _) => short(date),
            (None, Some(_)) if !p.looked.missed => "not yet".to_owned(),
            _ => "-".to_owned(),
        },
        place: place(p),
        odd,
        is_odd: p.is_odd(),
    }
}

/// "23 Aug".
fn short(date: NaiveDate) -> String {
    format!("{}{TIE}{}", date.day(), month_short(date.month()))
}

/// "3rd of 12"; where it was not found yet, "in 9 of 11 by 4 Apr".
fn place(p: &PassageSeason) -> String {
    match p.first.placed {
        _ if p.first.on_first_visit => "first visit".to_owned(),
        Placed::Among {
            others, earlier, ..
        } => format!("{} of {}", words::ordinal(earlier + 1), others + 1),
        Placed::NotYet { .. } if p.looked.missed => "-".to_owned(),
        Placed::NotYet { others, found } => match p.first.until {
            Some(until) => format!("in {found} of {others} by {}", short(until)),
            None => "-".to_owned(),
        },
        Placed::NoVisit => "-".to_owned(),
        Placed::TooFewYears { .. } => "too few years".to_owned(),
    }
}
