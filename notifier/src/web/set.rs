//! A set at a site through the year: the curves of its members, their shares, and its marks.

use super::address::{Place, slug};
use super::page::{self, Frame, Link};
use super::plot::{self, Month, across, tenth};
use super::render::{Making, Refusal};
use super::snapshot::ShownSite;
use super::through_year::{self, YearWeek};
use crate::chart::SetChart;
use crate::compose;
use crate::guidance::SiteView;
use crate::lesson::Lesson;
use crate::practice::Wanted;
use crate::words;
use chrono::NaiveDate;
use config::look_alikes::{LookAlikeSet, Member};
use forecast::calendar::DayOfYear;
use forecast::series::CountSeries;
use forecast::share::shares;
use serde::Serialize;

/// What a share of a week is.
const SHARE: &str = "The part of the set's birds that were of each species, over all years, within 7 \
    days of the middle of each week (14 where those were few).";

/// Height of a member's strip of shares, and of its label.
const STRIP: f64 = 40.0;
const LABEL: f64 = 20.0;

#[derive(Serialize)]
struct View {
    when: String,
    handout: Link,
    /// None in a folder, where nothing draws.
    practice: Option<Link>,
    members: Vec<(Link, Option<String>, String)>,
    curves: Option<String>,
    /// A chart of the shares; None where nothing was ever counted.
    shares: Option<SharesView>,
    names: Vec<String>,
    weeks: Vec<WeekView>,
    share_words: &'static str,
    lesson: super::lesson::LessonView,
}

#[derive(Serialize)]
struct WeekView {
    name: String,
    days: String,
    /// By member; empty where the site is not watched.
    birds: Vec<String>,
    shares: Vec<String>,
}

/// One strip a member, one bar a week.
#[derive(Serialize)]
struct SharesView {
    title: String,
    text: String,
    height: f64,
    months: Vec<Month>,
    strips: Vec<StripView>,
    axis: f64,
    today: f64,
}

#[derive(Serialize)]
struct StripView {
    name: String,
    label: f64,
    base: f64,
    top: f64,
    /// Left edge, top, width, height.
    bars: Vec<(f64, f64, f64, f64)>,
}

/// A set's week: shares of its members; None where the site is not watched or no bird was counted.
struct Shares(Option<Vec<f64>>);

/// The page.
pub(super) fn page(making: &Making, site: &ShownSite, id: &str) -> Result<String, Refusal> {
    let view = site
        .view(&making.snapshot.workspace)
        .ok_or(Refusal::Absent)?;
    let set = shown(making, &view, id)?;
    let date = site.today(making.now);
    let frame = Frame::of_site(&set.title, making.snapshot, site, making.addresses);
    let weeks = through_year::weeks(date);
    let shares: Vec<Shares> = weeks.iter().map(|w| of_week(&view, set, w)).collect();
    let names: Vec<String> = set
        .members
        .iter()
        .map(|m| view.shown_name(&m.species))
        .collect();
    let view = View {
        when: format!("At {}, through the year.", site.site.name),
        practice: practice(making, site, id),
        handout: Link::new(
            "Print it on two sides",
            making.addresses.to(&Place::Handout(&site.site.id, id)),
        ),
        members: set
            .members
            .iter()
            .map(|m| member(making, &view, &m.species))
            .collect(),
        curves: curves(&view, set, date)?,
        shares: picture(&view, set, &names, &weeks, &shares, date),
        weeks: weeks
            .iter()
            .zip(&shares)
            .map(|(w, s)| week(&view, set, w, s))
            .collect(),
        names,
        share_words: SHARE,
        lesson: super::lesson::of(&Lesson::at(&view, set, None)),
    };
    Ok(page::render("set.html", &frame, &view)?)
}

fn practice(making: &Making, site: &ShownSite, id: &str) -> Option<Link> {
    let wanted = Wanted {
        site: Some(site.site.id.clone()),
        set: Some(id.to_owned()),
    };
    let to = super::practice::address(making, &wanted, 1);
    (!making.addresses.is_folder()).then(|| Link::new("practise on birds drawn by lot", to))
}

/// The set of that id, if it is shown at the site.
pub(super) fn shown<'a>(
    making: &Making<'a>,
    view: &SiteView,
    id: &str,
) -> Result<&'a LookAlikeSet, Refusal> {
    let set = making.snapshot.workspace.look_alikes.iter();
    let set = set.into_iter().find(|s| s.id == id);
    set.filter(|s| is_shown(view, s)).ok_or(Refusal::Absent)
}

/// As in the week's guidance: two of its members were found here.
pub(super) fn is_shown(view: &SiteView, set: &LookAlikeSet) -> bool {
    let found = set.members.iter().filter(|m| view.found_here(&m.species));
    found.count() >= 2
}

fn member(making: &Making, view: &SiteView, species: &str) -> (Link, Option<String>, String) {
    let name = view.shown_name(species);
    let scientific = (name != species).then(|| species.to_owned());
    let slug = slug(species);
    let place = Place::Species(&view.site.id, &slug);
    let link = match view.series.contains_key(species) {
        true => Link::new(name, making.addresses.to(&place)),
        false => Link::here(name),
    };
    let birds = view.series_of(species).birds();
    let counted = match birds {
        0 => "never recorded here".to_owned(),
        _ => format!(
            "{} in {}",
            words::count_of(birds as usize, "bird", "birds"),
            words::count_of(view.series_of(species).years_found(), "year", "years")
        ),
    };
    (link, scientific, counted)
}

/// The curves of the whole year.
fn curves(view: &SiteView, set: &LookAlikeSet, date: NaiveDate) -> Result<Option<String>, Refusal> {
    let members = set.members.iter();
    let members = members.map(|m| (view.shown_name(&m.species), m.species.as_str()));
    let chart: Option<Result<SetChart, _>> =
        compose::chart_of(view, &set.title, &members.collect::<Vec<_>>(), date);
    let svg = chart.map(|chart| chart?.svg_as("curves")).transpose();
    svg.map_err(Refusal::broken)
}

fn of_week(view: &SiteView, set: &LookAlikeSet, week: &YearWeek) -> Shares {
    if !view.watched.on(week.middle) {
        return Shares(None);
    }
    let series: Vec<&CountSeries> = set
        .members
        .iter()
        .map(|m| view.series_of(&m.species))
        .collect();
    let shares = shares(&series, week.middle);
    Shares((shares.effective_birds >= 1.0).then_some(shares.shares))
}

fn week(view: &SiteView, set: &LookAlikeSet, week: &YearWeek, shares: &Shares) -> WeekView {
    let watched = view.watched.on(week.middle);
    let birds = |species: &str| {
        let curve = view.fits.get(species).and_then(|f| f.curve.as_ref());
        match curve {
            Some(curve) if watched => words::birds(curve.mean(week.middle)),
            _ => "–".to_owned(),
        }
    };
    let found = |species: &str| view.found_here(species);
    let members = set.members.iter().map(|m| m.species.as_str());
    let share = |(place, species): (usize, &str)| match &shares.0 {
        Some(all) if found(species) => words::chance(all[place]),
        _ => "–".to_owned(),
    };
    WeekView {
        name: week.name.clone(),
        days: week.days.clone(),
        birds: members.clone().map(birds).collect(),
        shares: members.enumerate().map(share).collect(),
    }
}

fn picture(
    view: &SiteView,
    set: &LookAlikeSet,
    names: &[String],
    weeks: &[YearWeek],
    shares: &[Shares],
    date: NaiveDate,
) -> Option<SharesView> {
    shares.iter().find(|s| s.0.is_some())?;
    let here = |(_, m): &(usize, &Member)| view.found_here(&m.species);
    let members = set.members.iter().enumerate().filter(here);
    let strips = members.enumerate().map(|(row, (place, _))| {
        let name = names[place].clone();
        strip((row, place), name, weeks, shares)
    });
    let strips: Vec<StripView> = strips.collect();
    let axis = strips.len() as f64 * (STRIP + LABEL);
    Some(SharesView {
        title: format!("Shares of {} at {}", set.title, view.site.name),
        text: format!(
            "{} One strip a species, one bar a week, the full height of a strip being all birds of \
             the set. The table below has the same numbers.",
            SHARE
        ),
        height: axis + 24.0,
        months: plot::months(),
        strips,
        axis,
        today: across(f64::from(DayOfYear::of(date).get())),
    })
}

/// The shares of the member at a place, in a row of the picture.
fn strip(
    (row, place): (usize, usize),
    name: String,
    weeks: &[YearWeek],
    shares: &[Shares],
) -> StripView {
    let top = row as f64 * (STRIP + LABEL) + LABEL;
    let base = top + STRIP;
    let bar = |(week, shares): (&YearWeek, &Shares)| {
        let share = shares.0.as_ref()?[place];
        let (left, right) = edges(week.middle);
        let height = tenth(share * STRIP).max(0.6);
        Some((left, tenth(base - height), tenth(right - left), height))
    };
    StripView {
        name,
        label: top - 6.0,
        base,
        top,
        bars: weeks.iter().zip(shares).filter_map(bar).collect(),
    }
}

/// Where a week's bar begins and ends.
fn edges(middle: DayOfYear) -> (f64, f64) {
    let day = f64::from(middle.get());
    (across(day - 3.1), across(day + 3.1))
}
