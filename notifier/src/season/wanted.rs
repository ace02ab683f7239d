//! Which passages are looked at, and why none is where a season is asked for that is not there.

use super::{Ask, TOLD_AFTER};
use crate::findings::passage;
use crate::guidance::SiteView;
use crate::words::list;
use chrono::Duration;
use forecast::fit::{Passage, PassageName, Verdict};
use forecast::passage::cut::Stretch;
use forecast::season::{Passing, about, begun, called, first_day, last_day, stretch_of};
use forecast::series::Visit;

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
pub(super) struct Wanted<'a> {
    pub(super) species: &'a str,
    pub(super) passage: &'a Passage,
    pub(super) stretch: Stretch,
    /// The year in which its stretch begins.
    pub(super) season: i32,
}

impl Wanted<'_> {
    /// What people call its season by.
    pub(super) fn called(&self) -> (i32, PassageName) {
        (called(self.passage, self.season), self.passage.name)
    }

    pub(super) fn is(&self, other: &Wanted) -> bool {
        self.species == other.species && self.called() == other.called()
    }

    /// Does the season that begins in the year hold the visit?
    pub(super) fn holds(&self, visit: &Visit, season: i32) -> bool {
        self.stretch.holds(visit.day().index()) && self.stretch.season_year(visit.date) == season
    }

    /// Its season, with the days on which birds may be about; all of the stretch where the passage has
    /// no dates.
    pub(super) fn passing(&self) -> Passing<'_> {
        let (stretch, season) = (&self.stretch, self.season);
        let whole = || (first_day(stretch, season), last_day(stretch, season));
        Passing {
            stretch,
            season,
            about: about(self.passage, season).unwrap_or_else(whole),
        }
    }
}

/// The passages under way, or those of the season asked for.
pub(super) fn wanted<'a>(view: &'a SiteView, ask: &Ask) -> Vec<Wanted<'a>> {
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
pub(super) fn known(
    view: &SiteView,
    asked: (i32, PassageName),
    wanted: &[Wanted],
) -> Result<(), NoSeason> {
    let Some(first) = wanted.first() else {
        return Err(no_passage(view, asked.1));
    };
    let visited = |w: &Wanted| view.visits.iter().any(|v| w.holds(v, w.season));
    match wanted.iter().any(visited) {
        true => Ok(()),
        false => Err(no_visit(view, asked, first)),
    }
}

fn no_passage(view: &SiteView, name: PassageName) -> NoSeason {
    let all = view.fits.values().flat_map(|f| &f.passages);
    let dated = all.filter(|p| p.verdict == Verdict::Curve);
    let mut names: Vec<&str> = dated.map(|p| passage(p.name)).collect();
    names.sort_unstable();
    names.dedup();
    NoSeason::NoPassage {
        site: view.site.id.clone(),
        name: passage(name),
        known: match names.is_empty() {
            true => "none with a curve".to_owned(),
            false => list(&names),
        },
    }
}

fn no_visit(view: &SiteView, (year, name): (i32, PassageName), first: &Wanted) -> NoSeason {
    let name = passage(name);
    let visits = view.visits.iter();
    let mut years: Vec<i32> = visits
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
    NoSeason::NoVisit {
        site: view.site.id.clone(),
        year,
        name,
        known,
    }
}
