//! Where nothing can be told of the passages under way, the last season with counts in it leads; and
//! which seasons have counts at all.

use super::{Ask, NoSeason, PassageSeason, SeasonReport, of_site};
use crate::guidance::SiteView;
use chrono::NaiveDate;
use forecast::fit::{Passage, PassageName, Verdict};
use forecast::season::{about, called, stretch_of};
use std::collections::BTreeMap;

/// Seasons tried, the last one first, until one of them has a passage that was looked at. A choice:
/// what lies further back than a year or two is not what people look for.
const TRIED: usize = 6;

/// Why a season leads that nobody asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lead {
    /// The day that was asked about.
    pub on: NaiveDate,
    /// Species that may have been about since and that nobody looked for, by their shown names.
    pub nobody_looked: Vec<String>,
}

/// A season that has counts.
struct Counted {
    /// Its last visit on a day when birds of one of its passages may have been about.
    last: NaiveDate,
    /// Its passages that have such a visit.
    passages: usize,
    /// The last day when birds of one may be about.
    ends: NaiveDate,
}

type Season = (i32, PassageName);

/// As [`of_site`]; where no season is asked for and nothing can be told of those under way, the last
/// one with counts.
///
/// # Errors
/// [`NoSeason`] where a season is asked for that the site does not have.
pub fn leading(view: &SiteView, ask: &Ask) -> Result<SeasonReport, NoSeason> {
    let now = of_site(view, ask)?;
    let report = match ask.season {
        None if !now.tells() => instead(view, ask, now)?,
        _ => now,
    };
    Ok(SeasonReport {
        past: past(view, ask.date),
        ..report
    })
}

fn instead(view: &SiteView, ask: &Ask, now: SeasonReport) -> Result<SeasonReport, NoSeason> {
    for season in last_first(&counted(view, ask.date)).into_iter().take(TRIED) {
        let season = Some(season);
        let report = of_site(view, &Ask { season, ..*ask })?.led_by(&now, ask.date);
        if !report.passages.is_empty() {
            return Ok(report);
        }
    }
    Ok(now)
}

impl SeasonReport {
    /// Is there more to tell than that nobody looked, or that nothing is under way?
    fn tells(&self) -> bool {
        let is_current = self.stale.is_none() && !self.passages.is_empty();
        is_current || self.passages.iter().any(|p| !p.looked.missed)
    }

    /// This season in the place of those under way, without the passages for which nobody came any more.
    fn led_by(mut self, now: &SeasonReport, on: NaiveDate) -> Self {
        let missed = |p: &PassageSeason| p.looked.missed && p.looked.is_stale();
        let all = self.passages.iter().filter(|p| missed(p));
        let mut nobody_looked: Vec<String> = all.map(|p| p.name.clone()).collect();
        self.passages.retain(|p| !missed(p));
        let same = |a: &PassageSeason, b: &PassageSeason| {
            (&a.species, a.passage, a.year) == (&b.species, b.passage, b.year)
        };
        let told = |p: &&PassageSeason| !self.passages.iter().any(|own| same(own, p));
        let since = now.passages.iter().filter(|p| p.looked.is_stale());
        nobody_looked.extend(since.filter(told).map(|p| p.name.clone()));
        nobody_looked.sort();
        nobody_looked.dedup();
        self.lead = Some(Lead { on, nobody_looked });
        self.stale = now.stale.or(self.stale);
        self
    }
}

/// Seasons that were over by the day and have counts, the last one first.
pub fn past(view: &SiteView, date: NaiveDate) -> Vec<(i32, PassageName)> {
    let mut counted = counted(view, date);
    counted.retain(|_, of| of.ends < date);
    last_first(&counted)
}

fn last_first(counted: &BTreeMap<Season, Counted>) -> Vec<Season> {
    let mut seasons: Vec<_> = counted.iter().collect();
    seasons.sort_by_key(|(season, of)| std::cmp::Reverse((of.last, of.passages, **season)));
    seasons.into_iter().map(|(season, _)| *season).collect()
}

/// Seasons with a visit, up to the day, while birds of a passage with a curve may have been about.
fn counted(view: &SiteView, date: NaiveDate) -> BTreeMap<Season, Counted> {
    let mut counted = BTreeMap::new();
    let passages = view.fits.values().flat_map(|fit| &fit.passages);
    for passage in passages.filter(|p| p.verdict == Verdict::Curve) {
        for (year, (last, ends)) in visited(view, passage, date) {
            let of = counted.entry((called(passage, year), passage.name));
            let of = of.or_insert(Counted {
                last,
                passages: 0,
                ends,
            });
            of.last = of.last.max(last);
            of.ends = of.ends.max(ends);
            of.passages += 1;
        }
    }
    counted
}

/// By the year in which a season of the passage begins: the last visit while its birds may have been
/// about, and the end of these days.
fn visited(
    view: &SiteView,
    passage: &Passage,
    date: NaiveDate,
) -> BTreeMap<i32, (NaiveDate, NaiveDate)> {
    let stretch = stretch_of(passage);
    let mut seasons = BTreeMap::new();
    let visits = view.visits.iter().filter(|v| v.date <= date);
    for visit in visits.filter(|v| stretch.holds(v.day().index())) {
        let season = stretch.season_year(visit.date);
        let Some((first, last)) = about(passage, season) else {
            continue;
        };
        if (first..=last).contains(&visit.date) {
            seasons.insert(season, (visit.date, last));
        }
    }
    seasons
}
