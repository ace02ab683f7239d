//! A species at a site: its curve and this season, its windows, what the years say, and how good
//! the forecasts were.

use super::address::{Place, slug};
use super::page::{self, Frame, Link};
use super::render::{Making, Refusal};
use super::season::{Season, SeasonView, birds};
use super::set::is_shown;
use super::snapshot::ShownSite;
use super::through_year::{self, YearWeek};
use crate::findings::{changes, few, passage, temperature};
use crate::guidance::SiteView;
use crate::record::{Bins, Issued};
use crate::words::{self, TIE};
use chrono::{Datelike, NaiveDate};
use forecast::calendar::{IsoWeek, MonthDay};
use forecast::fit::{DateEstimate, Passage, SpeciesFit, Verdict};
use forecast::temperature::Gate;
use ingest::report::grouped;
use serde::Serialize;

#[derive(Serialize)]
struct View {
    scientific: Option<String>,
    when: String,
    counted: String,
    season: Option<SeasonView>,
    /// Why there is no curve.
    without: Option<String>,
    year: i32,
    weeks: Vec<WeekView>,
    windows: Vec<WindowView>,
    years: Vec<String>,
    records: Vec<RecordView>,
    sets: Vec<Link>,
}

#[derive(Serialize)]
struct WeekView {
    name: String,
    days: String,
    mean: String,
    interval: String,
    season: String,
}

#[derive(Serialize)]
struct WindowView {
    passage: String,
    counted: String,
    dates: Vec<DateView>,
}

/// A date with its two intervals.
#[derive(Serialize)]
struct DateView {
    what: &'static str,
    day: String,
    known: String,
    any_year: String,
}

/// How often chances like these came true.
#[derive(Serialize)]
struct RecordView {
    heading: String,
    /// Chance said, times, times that it was found.
    rows: Vec<(String, String, String)>,
}

/// The page.
pub(super) fn page(making: &Making, site: &ShownSite, wanted: &str) -> Result<String, Refusal> {
    let workspace = &making.snapshot.workspace;
    let view = site.view(workspace).ok_or(Refusal::Absent)?;
    let species = find(&view, wanted).ok_or(Refusal::Absent)?;
    let name = view.shown_name(species);
    let frame = Frame::of_site(&name, making.snapshot, site, making.addresses);
    let page = told(making, &view, species, site.today(making.now));
    Ok(page::render("species.html", &frame, &page)?)
}

/// The counted species of that slug.
pub(super) fn find<'a>(view: &SiteView<'a>, wanted: &str) -> Option<&'a str> {
    let mut counted = view.series.keys().map(String::as_str);
    counted.find(|species| slug(species) == wanted)
}

fn told(making: &Making, view: &SiteView, species: &str, date: NaiveDate) -> View {
    let fit = view.fits.get(species);
    let season = fit.and_then(|fit| {
        let curve = fit.curve.as_ref()?;
        Some(Season {
            view,
            species,
            fit,
            curve,
            date,
        })
    });
    let series = view.series_of(species);
    View {
        scientific: (view.shown_name(species) != species).then(|| species.to_owned()),
        when: format!("At {}.", view.site.name),
        counted: format!(
            "{} in {} of visits.",
            words::count_of(series.birds() as usize, "bird", "birds"),
            words::count_of(series.years_found(), "year", "years")
        ),
        without: match &season {
            Some(_) => None,
            None => Some(without(fit)),
        },
        weeks: match &season {
            Some(season) => through_year::weeks(date)
                .iter()
                .map(|w| week(season, w))
                .collect(),
            None => Vec::new(),
        },
        season: season.as_ref().map(Season::drawn),
        year: date.year(),
        windows: fit.map(windows).unwrap_or_default(),
        years: fit.map(years).unwrap_or_default(),
        records: records(view, species, date),
        sets: sets(making, view, species),
    }
}

fn without(fit: Option<&SpeciesFit>) -> String {
    match fit {
        None => "It was counted after the last fit, so there is no curve of it yet.".to_owned(),
        Some(SpeciesFit {
            failure: Some(why), ..
        }) => format!("No curve: the fit failed ({why})."),
        Some(fit) => format!(
            "Too few records for a curve: {} in {}.",
            words::count_of(fit.birds as usize, "bird", "birds"),
            words::count_of(fit.seasons, "season", "seasons")
        ),
    }
}

fn week(season: &Season, week: &YearWeek) -> WeekView {
    let dash = || "–".to_owned();
    let (mean, interval) = match season.view.watched.on(week.middle) {
        false => (dash(), dash()),
        true => (
            words::birds(season.curve.mean(week.middle)),
            season.interval_words(week.middle),
        ),
    };
    WeekView {
        name: week.name.clone(),
        days: week.days.clone(),
        mean,
        interval,
        season: this_season(season, week).unwrap_or_else(dash),
    }
}

/// "2 visits, found on 1, at most 3 birds".
fn this_season(season: &Season, week: &YearWeek) -> Option<String> {
    let middle = week.middle.in_year(season.date.year())?;
    let days = IsoWeek::of(middle).days();
    let known = season.view.series_of(season.species).known();
    let seen: Vec<f64> = known
        .filter(|(v, _)| (days[0]..=days[6]).contains(&v.date) && v.date <= season.date)
        .map(|(v, count)| birds(v, count))
        .collect();
    let found = seen.iter().filter(|b| **b > 0.0).count();
    let most = seen.iter().copied().fold(0.0, f64::max);
    let visits = words::count_of(seen.len(), "visit", "visits");
    match (seen.len(), found) {
        (0, _) => None,
        (_, 0) => Some(format!("{visits}, not found")),
        _ => Some(format!(
            "{visits}, found on {found}, up to {}",
            words::birds(most)
        )),
    }
}

fn windows(fit: &SpeciesFit) -> Vec<WindowView> {
    let passages = crate::windows::in_order(&fit.passages).into_iter();
    let dated = passages.filter(|p| p.verdict == Verdict::Curve);
    dated.map(window).collect()
}

fn window(p: &Passage) -> WindowView {
    let dates = [
        ("arrival", p.arrival),
        ("median", p.median),
        ("peak", p.peak),
        ("departure", p.departure),
    ];
    let dates = dates
        .into_iter()
        .filter_map(|(what, date)| Some(day(what, date?)));
    WindowView {
        passage: words::sentence(passage(p.name)),
        counted: format!(
            "{} in {}",
            words::count_of(p.birds as usize, "bird", "birds"),
            words::count_of(p.seasons, "season", "seasons")
        ),
        dates: dates.collect(),
    }
}

fn day(what: &'static str, date: DateEstimate) -> DateView {
    let of = |position| temperature::day(MonthDay::of_position(position));
    DateView {
        what,
        day: of(date.day),
        known: span(date.known),
        any_year: date.any_year.map_or_else(|| "not known".to_owned(), span),
    }
}

/// "7 to 9 Sep", "28 Aug to 4 Sep", short enough for a table on a phone.
fn span((first, last): (f64, f64)) -> String {
    let [first, last] = [first, last].map(MonthDay::of_position);
    let month = |day: MonthDay| words::month_short(day.month.into());
    let written = |day: MonthDay| format!("{}{TIE}{}", day.day, month(day));
    match first.month == last.month {
        true => format!("{} to {}", first.day, written(last)),
        false => format!("{} to {}", written(first), written(last)),
    }
}

/// What the years say of temperature, change, and few records.
fn years(fit: &SpeciesFit) -> Vec<String> {
    let mut told = Vec::new();
    for p in &fit.passages {
        let name = words::sentence(passage(p.name));
        let moved = changes::moved(p);
        told.extend(moved.map(|moved| format!("{name}: {moved}.")));
        let looked_at = p
            .change
            .as_ref()
            .is_some_and(|c| changes::dates(c).count() > 0);
        if looked_at && changes::moved(p).is_none() {
            told.push(format!(
                "{name}: no change of its dates over the years was found."
            ));
        }
        if let Some(Gate::Open(link)) = &p.temperature {
            told.push(format!(
                "{name} and temperature: {}",
                temperature::words(link)
            ));
        }
        let few = few::first_and_last(&p.records);
        told.extend(few.map(|dates| format!("{name}: {dates}.")));
    }
    told
}

/// Of its own forecasts that were issued; of all species here, looking back.
fn records(view: &SiteView, species: &str, date: NaiveDate) -> Vec<RecordView> {
    let own: Vec<_> = view
        .issued
        .iter()
        .filter(|i| i.species == species)
        .cloned()
        .collect();
    let own = SiteView {
        issued: &own,
        ..*view
    };
    let issued = Issued::of(&own, IsoWeek::of(date).monday()).map(|issued| RecordView {
        heading: format!(
            "Forecasts of this species issued before their weeks, from {}",
            words::day_month_year(issued.weeks.0)
        ),
        rows: rows(&issued.bins),
    });
    let back = view.look_back.map(|back| RecordView {
        heading: format!(
            "All species at {}, looking back over {} to {} with what was known on each Monday",
            view.site.name, back.years.0, back.years.1
        ),
        rows: rows(&back.bins),
    });
    [issued, back].into_iter().flatten().collect()
}

fn rows(bins: &Bins) -> Vec<(String, String, String)> {
    let number = |n: usize| grouped(n as u64);
    let told = bins.told();
    told.map(|bin| {
        (
            words::about(bin.mean()),
            number(bin.times),
            number(bin.found),
        )
    })
    .collect()
}

fn sets(making: &Making, view: &SiteView, species: &str) -> Vec<Link> {
    let all = view.workspace.look_alikes.iter();
    let own = all.filter(|set| set.member(species).is_some() && is_shown(view, set));
    own.map(|set| {
        let place = Place::Set(&view.site.id, &set.id);
        Link::new(&set.title, making.addresses.to(&place))
    })
    .collect()
}
