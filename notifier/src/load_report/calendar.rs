//! A site's visits as a calendar: a row a year, a column a week, a bar as high and as dark as the
//! week's visit days are many.

use super::LoadPage;
use crate::words;
use chrono::{Datelike, NaiveDate};
use config::settings::Site;
use ingest::report::{Gap, grouped};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Lengths in the picture's own units; at 360 pixels of screen one unit is about a pixel.
const LEFT: f64 = 33.0;
const COLUMN: f64 = 5.0;
const BAR: f64 = 4.0;
const TOP: f64 = 16.0;
const ROW: f64 = 14.0;
const HIGHEST: f64 = 11.0;
const WIDTH: f64 = 330.0;
const WEEKS: usize = 53;
/// Visit days a week up to which each shade goes, the lightest first.
const SHADES: [usize; 4] = [1, 2, 4, 7];

#[derive(Debug, Serialize)]
pub(super) struct CalendarView {
    id: String,
    name: String,
    /// What it shows, for those who do not see it.
    told: String,
    width: f64,
    height: f64,
    months: Vec<Label>,
    years: Vec<YearView>,
    /// Bars of each shade, as one path.
    shades: Vec<String>,
    hatched: Vec<Place>,
    /// x of the rows' ends.
    left: f64,
    right: f64,
}

#[derive(Debug, Serialize)]
struct Label {
    x: f64,
    text: &'static str,
}

#[derive(Debug, Serialize)]
struct YearView {
    year: i32,
    days: String,
    told: String,
    top: f64,
    /// The bars' feet, and the height of a row.
    foot: f64,
    row: f64,
}

#[derive(Debug, Serialize)]
struct Place {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
}

/// Visit days of a year's weeks; week 0 begins on 1 January.
type Weeks = [usize; WEEKS];

pub(super) fn view(page: &LoadPage<'_>, site: &Site) -> CalendarView {
    let none = BTreeSet::new();
    let dates = page.visits.get(&site.id).unwrap_or(&none);
    let years = by_year(dates);
    let gaps: Vec<&Gap> = page
        .report
        .gaps
        .iter()
        .filter(|g| g.site == site.id)
        .collect();
    let first = years.keys().next().copied().unwrap_or_default();
    let top = |year: i32| TOP + f64::from(year - first) * ROW;
    CalendarView {
        id: site.id.clone(),
        name: site.name.clone(),
        told: told(&site.name, dates, gaps.len()),
        width: WIDTH,
        height: TOP + years.len() as f64 * ROW + 2.0,
        months: (1..=12).map(month).collect(),
        years: years
            .keys()
            .map(|&year| year_view(year, dates, top(year)))
            .collect(),
        shades: (0..SHADES.len())
            .map(|shade| bars(&years, shade, top))
            .collect(),
        hatched: gaps.iter().map(|gap| hatched(gap, top)).collect(),
        left: LEFT,
        right: LEFT + WEEKS as f64 * COLUMN,
    }
}

/// Every year from the first visit to the last, those without any among them.
fn by_year(dates: &BTreeSet<NaiveDate>) -> BTreeMap<i32, Weeks> {
    let (Some(first), Some(last)) = (dates.first(), dates.last()) else {
        return BTreeMap::new();
    };
    let all = first.year()..=last.year();
    let mut years: BTreeMap<i32, Weeks> = all.map(|year| (year, [0; WEEKS])).collect();
    for date in dates {
        if let Some(weeks) = years.get_mut(&date.year()) {
            weeks[date.ordinal0() as usize / 7] += 1;
        }
    }
    years
}

fn x(day_of_year0: u32) -> f64 {
    LEFT + f64::from(day_of_year0) / 7.0 * COLUMN
}

/// A month's letter over its first day.
fn month(number: u32) -> Label {
    let first = NaiveDate::from_ymd_opt(2023, number, 1).unwrap_or_default();
    Label {
        x: tidy(x(first.ordinal0())),
        text: &words::month(number)[..1],
    }
}

fn tidy(length: f64) -> f64 {
    (length * 100.0).round() / 100.0
}

fn year_view(year: i32, dates: &BTreeSet<NaiveDate>, top: f64) -> YearView {
    let end = |month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default();
    let own: Vec<&NaiveDate> = dates.range(end(1, 1)..=end(12, 31)).collect();
    let told = match (own.first(), own.last()) {
        (Some(first), Some(last)) => format!(
            "{year}: {}, {}",
            words::count_of(own.len(), "visit day", "visit days"),
            words::span(**first, **last)
        ),
        _ => format!("{year}: no visit"),
    };
    YearView {
        year,
        days: grouped(own.len() as u64),
        told,
        top,
        foot: top + HIGHEST,
        row: ROW,
    }
}

/// The bars of the weeks with that shade.
fn bars(years: &BTreeMap<i32, Weeks>, shade: usize, top: impl Fn(i32) -> f64) -> String {
    let least = if shade == 0 { 1 } else { SHADES[shade - 1] + 1 };
    let height = HIGHEST * (shade + 1) as f64 / SHADES.len() as f64;
    let bar = format!("v-{height}h{BAR}v{height}z");
    let mut path = String::new();
    for (year, weeks) in years {
        let foot = (top(*year) + HIGHEST).to_string();
        for (week, days) in weeks.iter().enumerate() {
            if (least..=SHADES[shade]).contains(days) {
                let left = LEFT + week as f64 * COLUMN;
                let _ = write!(path, "M{left} {foot}{bar}"); // writing to a string cannot fail
            }
        }
    }
    path
}

fn hatched(gap: &Gap, top: impl Fn(i32) -> f64) -> Place {
    let first_of = |month| NaiveDate::from_ymd_opt(gap.half.year, month, 1).unwrap_or_default();
    let middle = x(first_of(7).ordinal0());
    let (from, to) = match gap.half.half {
        1 => (LEFT, middle),
        _ => (middle, LEFT + WEEKS as f64 * COLUMN),
    };
    Place {
        x: tidy(from),
        y: top(gap.half.year),
        width: tidy(to - from),
        height: HIGHEST,
    }
}

fn told(name: &str, dates: &BTreeSet<NaiveDate>, gaps: usize) -> String {
    let (Some(first), Some(last)) = (dates.first(), dates.last()) else {
        return format!("{name}: no visits.");
    };
    let gaps = match gaps {
        0 => String::new(),
        n => format!(
            " {} without one record, hatched.",
            words::count_of(n, "half-year", "half-years")
        ),
    };
    format!(
        "{name}: {} from {} to {}, a row a year and a column a week.{gaps}",
        words::count_of(dates.len(), "visit day", "visit days"),
        words::day_month_year(*first),
        words::day_month_year(*last),
    )
}
