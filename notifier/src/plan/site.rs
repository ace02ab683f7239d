//! What a site's forecasts say of each date: the chance that a visit finds none of a species, in
//! each scenario of the season.

use crate::guidance::SiteView;
use crate::guidance::ahead::LEAST_EARLIER_SEASONS;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::DayOfYear;
use forecast::chance::{from_frequency, tells_of_absence};
use forecast::outlook::{Constants, Issued, SiteCounts, Trained, train};
use forecast::passage::LEAST_BIRDS;
use forecast::plan::scenarios::SCENARIOS;
use forecast::series::{CountSeries, Visit};
use std::collections::BTreeMap;

/// What earlier years teach of a site.
pub struct Taught<'a> {
    view: &'a SiteView<'a>,
    names: Vec<&'a str>,
    species: Vec<&'a CountSeries>,
    trained: Option<Trained>,
    from: NaiveDate,
    today: NaiveDate,
}

/// Its forecasts as of the day of planning.
pub struct Forecasts<'a> {
    taught: &'a Taught<'a>,
    issued: Option<Issued<'a>>,
    known: Known<'a>,
}

/// What is known of a site before the day of planning.
pub struct Known<'a> {
    view: &'a SiteView<'a>,
    counts: BTreeMap<&'a str, CountSeries>,
    /// What the same visits tell of a species never found.
    unrecorded: CountSeries,
}

impl<'a> Taught<'a> {
    /// From the years before the plan's first date. Species with too few birds, and sites with
    /// too few seasons, go by bare frequency.
    pub fn new(view: &'a SiteView<'a>, from: NaiveDate, today: NaiveDate) -> Self {
        let year = from.year();
        let mut earlier: Vec<i32> = view.visits.iter().map(Visit::year).collect();
        earlier.retain(|y| *y < year);
        earlier.dedup();
        let before = |s: &CountSeries| -> u64 {
            let known = s.known().filter(|(v, _)| v.year() < year);
            known.map(|(_, c)| u64::from(c.birds())).sum()
        };
        let known = view.series.iter().filter(|(_, s)| before(s) >= LEAST_BIRDS);
        let (names, species): (Vec<&str>, Vec<&CountSeries>) =
            known.map(|(n, s)| (n.as_str(), s)).unzip();
        let counts = SiteCounts {
            visits: view.visits,
            species: &species,
            temperature: view.temperature,
        };
        let enough = earlier.len() >= LEAST_EARLIER_SEASONS;
        Taught {
            trained: enough.then(|| train(&counts, year, None, Constants::default())),
            view,
            names,
            species,
            from,
            today,
        }
    }

    /// With this season's visits before the day of planning; the season is that of the plan's
    /// dates, if it has not begun yet.
    pub fn forecasts(&self) -> Forecasts<'_> {
        let visits = self.view.visits;
        let known = visits.partition_point(|v| v.date < self.today);
        let counts = SiteCounts {
            visits: &visits[..known],
            species: &self.species,
            temperature: self.view.temperature,
        };
        let issue = |t| Trained::issue(t, &counts, self.today.max(self.from));
        Forecasts {
            taught: self,
            issued: self.trained.as_ref().map(issue),
            known: Known::before(self.view, self.today),
        }
    }
}

impl<'a> Known<'a> {
    /// What was known before the day.
    pub fn before(view: &'a SiteView<'a>, today: NaiveDate) -> Self {
        let part = |series: &CountSeries| {
            let before = series.iter().filter(|(v, _)| v.date < today);
            let (visits, counts): (Vec<Visit>, Vec<_>) = before.map(|(v, c)| (*v, c)).unzip();
            // a part of a series in order is in order
            CountSeries::new(visits.into(), counts).unwrap_or_else(|_| series.clone())
        };
        let counts = view.series.iter();
        Known {
            view,
            counts: counts.map(|(n, s)| (n.as_str(), part(s))).collect(),
            unrecorded: part(view.unrecorded),
        }
    }

    fn counts(&self, species: &str) -> &CountSeries {
        self.counts.get(species).unwrap_or(&self.unrecorded)
    }

    /// Was the species ever found here?
    pub fn found(&self, species: &str) -> bool {
        self.view.found_here(species)
    }

    /// Does a chance on the date follow from it? Finds alone give none; of what was never recorded
    /// at the site it is 0.
    pub fn tells(&self, species: &str, date: NaiveDate) -> bool {
        let day = DayOfYear::of(date);
        !self.found(species) || tells_of_absence(self.counts(species), &self.unrecorded, day)
    }
}

impl Forecasts<'_> {
    /// Has the species a curve here on any such date?
    pub fn has_curve(&self, species: &str, date: NaiveDate) -> bool {
        let issued = self.issued.as_ref().zip(self.place(species));
        issued.is_some_and(|(issued, place)| issued.has_curve(place, date))
    }

    fn place(&self, species: &str) -> Option<usize> {
        self.taught.names.iter().position(|n| *n == species)
    }

    /// The chance that a standard visit finds none, by scenario; 1 for a species never recorded
    /// at the site, and for one of which no chance is told.
    pub fn none(&self, species: &str, date: NaiveDate) -> Vec<f64> {
        let known = &self.known;
        if !known.found(species) || !known.tells(species, date) {
            return vec![1.0; SCENARIOS];
        }
        if let Some((issued, place)) = self.issued.as_ref().zip(self.place(species)) {
            return issued.none_by_scenario(place, date, 0.0);
        }
        let (counts, day) = (known.counts(species), DayOfYear::of(date));
        let chance = from_frequency(counts, &known.unrecorded, day, 1).visit;
        vec![1.0 - chance; SCENARIOS]
    }
}
