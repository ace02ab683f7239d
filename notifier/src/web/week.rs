//! A week at a site: which look-alikes are about together, which marks to trust, which names to
//! doubt.

use super::address::{Place, slug};
use super::marks::{MarkView, marks};
use super::page::{self, Frame, Link};
use super::render::{Making, Refusal};
use super::snapshot::ShownSite;
use crate::chart::ChartError;
use crate::compose;
use crate::digest::{Notice, SiteDigest, choose, view};
use crate::guidance::SiteView;
use crate::guidance::types::{MemberGuidance, SetGuidance};
use crate::words;
use chrono::{Datelike, Duration, NaiveDate};
use forecast::calendar::IsoWeek;
use serde::Serialize;

/// Weeks on either side of the date that a chart shows.
const CHART_WEEKS: u8 = 7;
/// Years from today on either side whose weeks are told.
const YEARS: i32 = 30;

#[derive(Serialize)]
struct View {
    date: String,
    week: String,
    /// The week before, this week, and the next.
    weeks: Vec<Link>,
    explained: Option<String>,
    notices: Vec<NoticeView>,
    /// What is to be known after the chances.
    last: Vec<String>,
    sets: Vec<SetView>,
    brief: Vec<(Link, String)>,
    others: Vec<(Link, String)>,
    when_none_fits: Option<String>,
    cautions: Vec<String>,
    method: Vec<String>,
}

#[derive(Serialize)]
struct NoticeView {
    warning: bool,
    words: String,
}

#[derive(Serialize)]
struct SetView {
    id: String,
    link: Link,
    together: String,
    doubt: Option<String>,
    members: Vec<MemberView>,
    starred: Option<&'static str>,
    marks: Vec<MarkView>,
    not_to_rely_on: Option<String>,
    cannot_tell: Vec<String>,
    review: String,
    unreviewed: bool,
    chart: Option<String>,
}

#[derive(Serialize)]
struct MemberView {
    link: Link,
    scientific: Option<String>,
    visit: String,
    week: String,
    share: String,
    stands: &'static str,
    plumages: Option<String>,
    star: bool,
    about: bool,
}

/// The date that a week's page is about: today in this week, else the week's Monday.
pub(super) fn date_of(today: NaiveDate, monday: Option<NaiveDate>) -> Result<NaiveDate, Refusal> {
    match monday {
        None => Ok(today),
        Some(monday) if IsoWeek::of(today).monday() == monday => Ok(today),
        Some(monday) if (monday.year() - today.year()).abs() <= YEARS => Ok(monday),
        Some(_) => Err(Refusal::Beyond(format!(
            "That week lies too far away: weeks are told of the years from {} to {}",
            today.year() - YEARS,
            today.year() + YEARS
        ))),
    }
}

/// The page.
pub(super) fn page(
    making: &Making,
    site: &ShownSite,
    monday: Option<NaiveDate>,
) -> Result<String, Refusal> {
    let today = site.today(making.now);
    let date = date_of(today, monday)?;
    let mut frame = Frame::of_site(&site.site.name, making.snapshot, site, making.addresses);
    if monday.is_none() {
        frame.trail.truncate(1);
        frame = frame.at(&making.addresses.to(&Place::Site(&site.site.id)));
    }
    let view = match site.view(&making.snapshot.workspace) {
        None => View::empty(date, weeks(making, site, today, date)),
        Some(view) => {
            let mut digest = compose::told(&view, date);
            digest
                .notices
                .extend(site.data.as_ref().and_then(|d| d.old_curves()));
            told(making, &view, &digest)?.with_weeks(weeks(making, site, today, date))
        }
    };
    Ok(page::render("week.html", &frame, &view)?)
}

/// Links to the weeks about one; in a folder those alone that are written.
fn weeks(making: &Making, site: &ShownSite, today: NaiveDate, date: NaiveDate) -> Vec<Link> {
    let id = site.site.id.as_str();
    let this = IsoWeek::of(today);
    let link = |words: &str, week: IsoWeek| {
        let place = match week == this {
            true => Place::Site(id),
            false => Place::Week(id, week),
        };
        Link::new(words, making.addresses.to(&place))
    };
    let beside = |weeks: i64| IsoWeek::of(date + Duration::weeks(weeks));
    let mut links = Vec::new();
    for (words, week) in [
        ("The week before", beside(-1)),
        ("The next week", beside(1)),
    ] {
        if !making.addresses.is_folder() || written_weeks(today).contains(&week) {
            links.push(link(words, week));
        }
    }
    if IsoWeek::of(date) != this {
        links.insert(1.min(links.len()), link("This week", this));
    }
    links
}

/// Weeks of which a folder of pages has a page: this one, some before and some to come.
pub(super) fn written_weeks(today: NaiveDate) -> Vec<IsoWeek> {
    let beside = |weeks| IsoWeek::of(today + Duration::weeks(weeks));
    (-4..=8).map(beside).collect()
}

impl View {
    fn empty(date: NaiveDate, weeks: Vec<Link>) -> Self {
        let words = "No counts are loaded and fitted for this site yet.".to_owned();
        View {
            date: words::weekday_date(date),
            week: words::week(IsoWeek::of(date)),
            weeks,
            explained: None,
            notices: vec![NoticeView {
                warning: false,
                words,
            }],
            last: Vec::new(),
            sets: Vec::new(),
            brief: Vec::new(),
            others: Vec::new(),
            when_none_fits: None,
            cautions: Vec::new(),
            method: Vec::new(),
        }
    }

    fn with_weeks(self, weeks: Vec<Link>) -> Self {
        View { weeks, ..self }
    }
}

fn told(making: &Making, view: &SiteView, digest: &SiteDigest) -> Result<View, Refusal> {
    let week = &digest.guidance;
    let visits = words::count_of(
        week.visits_assumed as usize,
        "standard visit",
        "standard visits",
    );
    let explained = format!("\"This week\" is the chance of finding one or more in {visits}.");
    let sets = digest.full_sets().into_iter();
    let sets = sets.map(|s| set(making, view, s, week.date));
    let brief = digest.brief_sets().into_iter();
    let (first, last) = digest.notices_by_place();
    let mut method = view::footer(digest);
    if !week.sets.is_empty() {
        method.push(words::SHARE.to_owned());
    }
    Ok(View {
        date: words::weekday_date(week.date),
        week: words::week(week.week),
        weeks: Vec::new(),
        explained: week.watched.then_some(explained),
        notices: first.iter().map(notice).collect(),
        last: last.iter().map(Notice::for_readers).collect(),
        sets: sets.collect::<Result<_, _>>()?,
        brief: brief
            .map(|s| (set_link(making, view, s), words::in_brief(s)))
            .collect(),
        others: week
            .others
            .iter()
            .map(|m| (species_link(making, view, m), words::chance(m.chance_week)))
            .collect(),
        when_none_fits: Some(words::stop(&week.when_none_fits)),
        cautions: week.cautions.iter().map(|c| words::stop(c)).collect(),
        method,
    })
}

fn notice(notice: &Notice) -> NoticeView {
    NoticeView {
        warning: notice.is_warning(),
        words: notice.for_readers(),
    }
}

fn set(
    making: &Making,
    view: &SiteView,
    set: &SetGuidance,
    date: NaiveDate,
) -> Result<SetView, Refusal> {
    let light = choose::not_to_rely_on(set);
    let chart = compose::chart(view, set, date);
    let svg = |chart: Result<_, ChartError>| {
        let chart: crate::chart::SetChart = chart?;
        chart.about_the_date(CHART_WEEKS).svg_as(&set.id)
    };
    let starred = set.members.iter().any(MemberGuidance::has_star);
    Ok(SetView {
        id: set.id.clone(),
        link: set_link(making, view, set),
        together: words::together(set),
        doubt: words::doubt(set),
        members: set
            .members
            .iter()
            .map(|m| member(making, view, (m, set.effective_birds)))
            .collect(),
        starred: starred.then_some(words::STARRED),
        marks: marks(set),
        not_to_rely_on: (!light.is_empty()).then(|| words::stop(&words::list(&light))),
        cannot_tell: set.cannot_tell.iter().map(|t| words::stop(t)).collect(),
        review: words::review(set),
        unreviewed: words::unreviewed(set),
        chart: chart.map(svg).transpose().map_err(Refusal::broken)?,
    })
}

fn member(making: &Making, view: &SiteView, (member, birds): (&MemberGuidance, f64)) -> MemberView {
    MemberView {
        link: species_link(making, view, member),
        scientific: (member.name != member.species).then(|| member.species.clone()),
        visit: words::told(member, member.chance_visit),
        week: words::told(member, member.chance_week),
        share: words::share(member, birds),
        stands: words::stands(member),
        plumages: words::plumages(&member.plumages),
        star: member.has_star(),
        about: words::about_now(member),
    }
}

fn set_link(making: &Making, view: &SiteView, set: &SetGuidance) -> Link {
    let place = Place::Set(&view.site.id, &set.id);
    Link::new(&set.title, making.addresses.to(&place))
}

/// A species that was never counted here has no page.
fn species_link(making: &Making, view: &SiteView, member: &MemberGuidance) -> Link {
    let slug = slug(&member.species);
    let place = Place::Species(&view.site.id, &slug);
    match view.series.contains_key(&member.species) {
        true => Link::new(&member.name, making.addresses.to(&place)),
        false => Link::here(&member.name),
    }
}
