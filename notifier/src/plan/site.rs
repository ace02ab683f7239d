//! What a site's forecasts say of each date: the chance that a visit finds none of a species, in
//! each scenario of the season.

use crate::guidance::SiteView;
use crate::guidance::ahead::LEAST_EARLIER_SEASONS;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::DayOfYear;
use forecast::chance::from_frequency;
use forecast::outlook::{Constants, Issued, SiteCounts, Trained, train};
use forecast::passage::LEAST_BIRDS;
use forecast::plan::scenarios::SCENARIOS;
use forecast::series::{CountSeries, Visit};

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
        }
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
    /// at the site.
    pub fn none(&self, species: &str, date: NaiveDate) -> Vec<f64> {
        if let Some((issued, place)) = self.issued.as_ref().zip(self.place(species)) {
            return issued.none_by_scenario(place, date, 0.0);
        }
        let view = self.taught.view;
        let chance = match view.found_here(species) {
            true => from_frequency(&self.known(species), DayOfYear::of(date), 1).visit,
            false => 0.0,
        };
        vec![1.0 - chance; SCENARIOS]
    }

    /// The counts before the day of planning.
    fn known(&self, species: &str) -> CountSeries {
        let series = self.taught.view.series_of(species);
        let before = series.iter().filter(|(v, _)| v.date < self.taught.today);
        let (visits, counts): (Vec<Visit>, Vec<_>) = before.map(|(v, c)| (*v, c)).unzip();
        // a part of a series in order is in order
        CountSeries::new(visits.into(), counts).unwrap_or_else(|_| series.clone())
    }
}
