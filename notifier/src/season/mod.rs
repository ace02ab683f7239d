//! Is a season early, late, strong or weak? A site's passages against the other years, as data;
//! what is said of them stands in `words`.

pub mod document;
mod drawn;
mod last;
pub mod named;
pub mod page;
pub mod so_far;
pub mod stale;
pub mod table;
mod wanted;
pub mod words;

pub use drawn::Drawn;
pub use last::{Lead, leading, past};
pub use stale::Stale;
pub use wanted::NoSeason;

use crate::guidance::SiteView;
use chrono::NaiveDate;
use forecast::fit::{DateChanges, PassageName, Verdict};
use forecast::season::{
    Against, Course, FirstDate, LongTerm, Looked, NoCourse, Standing, Untold, called, first_date,
    last_day,
};
use forecast::temperature::{Expected, Link};
use rayon::prelude::*;
use std::collections::BTreeSet;
use wanted::{Wanted, known, wanted};

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
    /// The season, where one was asked for or leads.
    pub season: Option<(i32, PassageName)>,
    /// Why it leads though nobody asked for it.
    pub lead: Option<Lead>,
    /// Seasons that are over and have counts, the last one first, be it the one told of.
    pub past: Vec<(i32, PassageName)>,
    /// Has any species of the site records enough for a curve?
    pub has_curves: bool,
    /// Which seasons make the long-term curves.
    pub against: Against,
    /// How far the counts go, where that is not far enough.
    pub stale: Option<Stale>,
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
    /// First and last day on which its birds may be about.
    pub about: (NaiveDate, NaiveDate),
    /// Up to when the season was looked at.
    pub looked: Looked,
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
        season: ask.season,
        ..SeasonReport::empty(view, against, date)
    };
    let (mut known, mut long_term) = (Vec::new(), Vec::new());
    for (w, learnt) in wanted.iter().zip(learnt(view, ask, &wanted, against)) {
        match learnt {
            Ok(passage) => {
                known.push(w);
                long_term.push(passage);
            }
            Err(NoCourse::TooFew { .. }) => report.too_few.push(view.shown_name(w.species)),
            Err(NoCourse::Failed) => report.failed.push(view.shown_name(w.species)),
        }
    }
    let told = known.par_iter().zip(&long_term);
    let told = told.map(|(w, long_term)| one(view, w, long_term, (against, date)));
    report.passages = told.collect();
    report.too_few.dedup();
    report.stale = Stale::of(view.visits, &report);
    report.passages.sort_by(|a, b| {
        let key = |p: &PassageSeason| p.standing().map_or(2.0, |s| s.oddness.chance);
        key(a).total_cmp(&key(b)).then_with(|| a.name.cmp(&b.name))
    });
    Ok(report)
}

/// The long-term course of each passage wanted. All passages of a season learn from each other how
/// weeks scatter, those that are not under way on the day too, lest the day matter.
fn learnt(
    view: &SiteView,
    ask: &Ask,
    wanted: &[Wanted],
    against: Against,
) -> Vec<Result<LongTerm, NoCourse>> {
    let mut learnt: Vec<_> = wanted.iter().map(|_| Err(NoCourse::Failed)).collect();
    let seasons: BTreeSet<(i32, PassageName)> = wanted.iter().map(Wanted::called).collect();
    for season in seasons {
        let season = Some(season);
        let members = wanted::wanted(view, &Ask { season, ..*ask });
        let learn =
            |w: &Wanted| LongTerm::learn(view.series_of(w.species), &w.stretch, w.season, against);
        let mut all: Vec<_> = members.par_iter().map(learn).collect();
        LongTerm::side_by_side(all.iter_mut().flatten());
        for (member, all) in members.iter().zip(all) {
            if let Some(i) = wanted.iter().position(|w| w.is(member)) {
                learnt[i] = all;
            }
        }
    }
    learnt
}

impl SeasonReport {
    fn empty(view: &SiteView, against: Against, date: NaiveDate) -> Self {
        SeasonReport {
            site: view.site.id.clone(),
            site_name: view.site.name.clone(),
            date,
            season: None,
            lead: None,
            past: Vec::new(),
            has_curves: has_curves(view),
            against,
            stale: None,
            passages: Vec::new(),
            too_few: Vec::new(),
            failed: Vec::new(),
        }
    }
}

fn has_curves(view: &SiteView) -> bool {
    let mut passages = view.fits.values().flat_map(|fit| &fit.passages);
    passages.any(|p| p.verdict == Verdict::Curve)
}

fn one(
    view: &SiteView,
    w: &Wanted,
    long_term: &LongTerm,
    (against, date): (Against, NaiveDate),
) -> PassageSeason {
    let series = view.series_of(w.species);
    let in_curve = |year: i32| match against {
        Against::Earlier => year < w.season,
        Against::Others => year != w.season,
    };
    let passing = w.passing();
    let mut looked = Looked::of(series, &passing, date, in_curve);
    // where finds alone are known, days without a row of it are not days on which nobody looked
    if view.curve_of_finds(w.species) {
        looked.gaps.clear();
    }
    let mut course = long_term.course(series, looked.told_until(date));
    // where nobody looked there is nothing to tell, whatever the other days were like
    if looked.missed {
        course.standing = Err(Untold::NotLooked);
    }
    let (first, last, seasons) = long_term.years();
    PassageSeason {
        species: w.species.to_owned(),
        name: view.shown_name(w.species),
        passage: w.passage.name,
        year: called(w.passage, w.season),
        stage: Stage::on(date, passing.about),
        about: passing.about,
        first: first_date(series, &w.stretch, w.season, date, in_curve),
        years: (called(w.passage, first), called(w.passage, last), seasons),
        change: w.passage.change.clone(),
        warmth: warmth(view, w, date),
        drawn: Drawn::of(series, w, (long_term, &course), (date, &looked)),
        looked,
        course,
    }
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

impl Stage {
    fn on(date: NaiveDate, (first, last): (NaiveDate, NaiveDate)) -> Self {
        match date {
            date if date < first => Stage::ToCome,
            date if date > last => Stage::Over,
            _ => Stage::UnderWay,
        }
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

    /// Is there a part through to tell: is it not over, as far as anybody looked?
    pub fn tells_share(&self) -> bool {
        self.stage != Stage::Over || self.looked.is_stale()
    }
}
