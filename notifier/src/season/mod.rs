//! Is a season early, late, strong or weak? A site's passages against the other years, as data;
//! what is said of them stands in `words`.

pub mod document;
pub mod page;
pub mod so_far;
pub mod table;
pub mod words;

use crate::guidance::SiteView;
use chrono::{Duration, NaiveDate};
use forecast::fit::{DateChanges, Passage, PassageName, Verdict};
use forecast::passage::cut::Stretch;
use forecast::season::{
    Against, Course, FirstDate, LongTerm, NoCourse, Standing, about, begun, called, first_date,
    last_day, stretch_of,
};
use forecast::temperature::{Expected, Link};
use rayon::prelude::*;

/// A passage that ended is told of for so many days more.
const TOLD_AFTER: i64 = 14;
/// A season that usual ones look like less often than this is out of the ordinary: one in twenty.
pub const OUT_OF_THE_ORDINARY: f64 = 0.05;

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ask {
    /// The day: visits after it are not looked at.
    pub date: NaiveDate,
    /// A season by its year and name; the passages under way on the day where left out.
    pub season: Option<(i32, PassageName)>,
    /// The season as it was known on the day, though it may be over since.
    pub as_known_then: bool,
}

/// A site's passages in one season.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonReport {
    /// Site id.
    pub site: String,
    /// Site name.
    pub site_name: String,
    /// Visits up to this day are looked at.
    pub date: NaiveDate,
    /// The season, where one was asked for.
    pub season: Option<(i32, PassageName)>,
    /// Which seasons make the long-term curves.
    pub against: Against,
    /// The passages, the oddest first, those of which too little is known last.
    pub passages: Vec<PassageSeason>,
    /// Names of species whose other seasons have too few records.
    pub too_few: Vec<String>,
    /// Species, with the passage, whose curve could not be fitted.
    pub failed: Vec<String>,
}

/// One passage in the season.
#[derive(Debug, Clone, PartialEq)]
pub struct PassageSeason {
    /// Scientific name.
    pub species: String,
    /// Name shown.
    pub name: String,
    /// The passage.
    pub passage: PassageName,
    /// What people call the season by.
    pub year: i32,
    /// Where it stands by its usual dates.
    pub stage: Stage,
    /// Its course so far.
    pub course: Course,
    /// When it was first found.
    pub first: FirstDate,
    /// First and last year of the seasons behind the long-term curve, and how many they are.
    pub years: (i32, i32, usize),
    /// How its dates have moved over the years; None where that cannot be told.
    pub change: Option<DateChanges>,
    /// What the temperature foretold of it; None where its timing follows none.
    pub warmth: Option<Warmth>,
    /// For a chart.
    pub drawn: Drawn,
}

/// Where a season stands on the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Before the birds are usually about.
    ToCome,
    /// Birds may be about.
    UnderWay,
    /// After it.
    Over,
}

/// A link with temperature, and what it made of this season.
#[derive(Debug, Clone, PartialEq)]
pub struct Warmth {
    /// The link.
    pub link: Link,
    /// The season's shift by its temperatures; None where they are not all known.
    pub expected: Option<Expected>,
}

/// What a chart of the passage shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// First day of the season's stretch.
    pub first: NaiveDate,
    /// Birds on a standard visit in a usual season, a day each.
    pub usual: Vec<f64>,
    /// The same in this season as it is reckoned; None where that is not told.
    pub this: Option<Vec<f64>>,
    /// This season's visits: the day, and birds as on a standard visit.
    pub visits: Vec<(NaiveDate, f64)>,
    /// The day up to which visits are looked at, where the season is not over.
    pub today: Option<NaiveDate>,
}

/// Why there is nothing to show.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoSeason {
    /// No passage goes by that name.
    #[error("no species has a {name} passage at {site}; there is {known}")]
    NoPassage {
        /// site id
        site: String,
        /// as asked for
        name: &'static str,
        /// the passages that are known
        known: String,
    },
    /// Nobody went out.
    #[error("no visit of {year}-{name} is loaded for {site}; {known}")]
    NoVisit {
        /// site id
        site: String,
        /// year asked for
        year: i32,
        /// passage asked for
        name: &'static str,
        /// the years that have visits
        known: String,
    },
}

/// One passage to be looked at.
struct Wanted<'a> {
    species: &'a str,
    passage: &'a Passage,
    stretch: Stretch,
    /// The year in which its stretch begins.
    season: i32,
}

/// The site's passages in the season asked for.
///
/// # Errors
/// [`NoSeason`] where a season is asked for that the site does not have.
pub fn of_site(view: &SiteView, ask: &Ask) -> Result<SeasonReport, NoSeason> {
    let wanted = wanted(view, ask);
    if let Some(season) = ask.season {
        known(view, season, &wanted)?;
    }
    let ends = wanted.iter().map(|w| last_day(&w.stretch, w.season)).max();
    let whole = ask.season.is_some() && !ask.as_known_then && ends.is_some_and(|e| e < ask.date);
    let (against, date) = match (whole, ends) {
        (true, Some(end)) => (Against::Others, end),
        _ => (Against::Earlier, ask.date),
    };
    let mut report = SeasonReport {
        site: view.site.id.clone(),
        site_name: view.site.name.clone(),
        date,
        season: ask.season,
        against,
        passages: Vec::new(),
        too_few: Vec::new(),
        failed: Vec::new(),
    };
    let told: Vec<_> = wanted
        .par_iter()
        .map(|w| (w, one(view, w, against, date)))
        .collect();
    for (w, one) in told {
        match one {
            Ok(passage) => report.passages.push(passage),
            Err(NoCourse::TooFew { .. }) => report.too_few.push(view.shown_name(w.species)),
            Err(NoCourse::Failed) => report.failed.push(view.shown_name(w.species)),
        }
    }
    report.too_few.dedup();
    report.passages.sort_by(|a, b| {
        let key = |p: &PassageSeason| p.standing().map_or(2.0, |s| s.oddness.chance);
        key(a).total_cmp(&key(b)).then_with(|| a.name.cmp(&b.name))
    });
    Ok(report)
}

fn wanted<'a>(view: &'a SiteView, ask: &Ask) -> Vec<Wanted<'a>> {
    let passages = view
        .fits
        .iter()
        .flat_map(|(species, fit)| fit.passages.iter().map(move |p| (species, p)));
    let season = |passage: &Passage| -> Option<i32> {
        let stretch = stretch_of(passage);
        match ask.season {
            Some((year, name)) => (passage.name == name).then(|| begun(passage, year)),
            None => {
                let season = stretch.season_year(ask.date);
                let (first, last) = about(passage, season)?;
                let told = first..=last + Duration::days(TOLD_AFTER);
                told.contains(&ask.date).then_some(season)
            }
        }
    };
    let dated = passages.filter(|(_, p)| matches!(p.verdict, Verdict::Curve | Verdict::TooFew));
    dated
        .filter_map(|(species, passage)| {
            Some(Wanted {
                species,
                passage,
                stretch: stretch_of(passage),
                season: season(passage)?,
            })
        })
        .collect()
}

/// A season that is asked for has passages and visits.
fn known(
    view: &SiteView,
    (year, name): (i32, PassageName),
    wanted: &[Wanted],
) -> Result<(), NoSeason> {
    let site = view.site.id.clone();
    let name = crate::findings::passage(name);
    let Some(first) = wanted.first() else {
        let all = view.fits.values().flat_map(|f| &f.passages);
        let dated = all.filter(|p| p.verdict == Verdict::Curve);
        let mut names: Vec<&str> = dated.map(|p| crate::findings::passage(p.name)).collect();
        names.sort_unstable();
        names.dedup();
        let known = match names.is_empty() {
            true => "none with a curve".to_owned(),
            false => crate::words::list(&names),
        };
        return Err(NoSeason::NoPassage { site, name, known });
    };
    let visited = |w: &Wanted, season: i32| {
        let inside = |v: &&forecast::series::Visit| {
            w.stretch.holds(v.day().index()) && w.stretch.season_year(v.date) == season
        };
        view.visits.iter().any(|v| inside(&v))
    };
    if wanted.iter().any(|w| visited(w, w.season)) {
        return Ok(());
    }
    let mut years: Vec<i32> = view
        .visits
        .iter()
        .filter(|v| first.stretch.holds(v.day().index()))
        .map(|v| called(first.passage, first.stretch.season_year(v.date)))
        .collect();
    years.dedup();
    let known = match (years.first(), years.last()) {
        (Some(first), Some(last)) if first != last => {
            format!("visits of {name} are loaded from {first} to {last}")
        }
        (Some(only), _) => format!("visits of {name} are loaded for {only} alone"),
        _ => format!("no visit of {name} is loaded for any year"),
    };
    Err(NoSeason::NoVisit {
        site,
        year,
        name,
        known,
    })
}

fn one(
    view: &SiteView,
    w: &Wanted,
    against: Against,
    date: NaiveDate,
) -> Result<PassageSeason, NoCourse> {
    let series = view.series_of(w.species);
    let long_term = LongTerm::learn(series, &w.stretch, w.season, against)?;
    let course = long_term.course(series, date);
    let year = called(w.passage, w.season);
    let in_curve = |year: i32| match against {
        Against::Earlier => year < w.season,
        Against::Others => year != w.season,
    };
    let stage = match about(w.passage, w.season) {
        Some((first, _)) if date < first => Stage::ToCome,
        Some((_, last)) if date > last => Stage::Over,
        _ => Stage::UnderWay,
    };
    let (first, last, seasons) = long_term.years();
    Ok(PassageSeason {
        species: w.species.to_owned(),
        name: view.shown_name(w.species),
        passage: w.passage.name,
        year,
        stage,
        first: first_date(series, &w.stretch, w.season, date, in_curve),
        years: (called(w.passage, first), called(w.passage, last), seasons),
        change: w.passage.change.clone(),
        warmth: warmth(view, w, date),
        drawn: drawn(view, w, &long_term, &course, date),
        course,
    })
}

fn warmth(view: &SiteView, w: &Wanted, date: NaiveDate) -> Option<Warmth> {
    let link = w.passage.temperature.as_ref()?.link()?.clone();
    let known = view.temperature?.before(date);
    let year = called(w.passage, w.season);
    Some(Warmth {
        expected: link.expected(&known, year),
        link,
    })
}

fn drawn(
    view: &SiteView,
    w: &Wanted,
    long_term: &LongTerm,
    course: &Course,
    date: NaiveDate,
) -> Drawn {
    let this = course.standing.as_ref().ok();
    let seen = view.series_of(w.species).known().filter(|(v, _)| {
        v.date <= date
            && w.stretch.holds(v.day().index())
            && w.stretch.season_year(v.date) == w.season
    });
    Drawn {
        first: forecast::season::first_day(&w.stretch, w.season),
        usual: long_term.rates(0.0, 1.0),
        this: this.map(|s| long_term.rates(s.shift.middle, s.times.middle)),
        visits: seen
            .map(|(v, c)| (v.date, f64::from(c.birds()) / v.log_effort_ratio.exp()))
            .collect(),
        today: (date < last_day(&w.stretch, w.season)).then_some(date),
    }
}

impl PassageSeason {
    /// Timing and numbers, where they are told.
    pub fn standing(&self) -> Option<&Standing> {
        self.course.standing.as_ref().ok()
    }

    /// Is it out of the ordinary?
    pub fn is_odd(&self) -> bool {
        self.standing()
            .is_some_and(|s| s.oddness.chance <= OUT_OF_THE_ORDINARY)
    }
}
