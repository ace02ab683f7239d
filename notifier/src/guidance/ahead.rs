//! The forecast for the week: this season's visits before its Monday on top of earlier years.

use super::SiteView;
use crate::findings::{Followed, Temperature};
use chrono::{Datelike, NaiveDate};
use forecast::calendar::IsoWeek;
use forecast::chance::Chances;
use forecast::outlook::{Constants, Issued, SiteCounts, Trained, train};
use forecast::passage::LEAST_BIRDS;
use forecast::series::{CountSeries, Visit};
use forecast::temperature::daily::DailyTemperature;
use std::collections::BTreeMap;

/// Fewer earlier seasons than this teach nothing of a season's level or timing; the year curve
/// serves instead.
pub const LEAST_EARLIER_SEASONS: usize = 3;

/// What earlier years teach about a site's species.
pub struct Ahead<'a> {
    names: Vec<&'a str>,
    species: Vec<&'a CountSeries>,
    visits: &'a [Visit],
    temperature: Option<&'a DailyTemperature>,
    trained: Trained,
}

/// The forecast of one week.
pub struct AheadOfWeek<'a> {
    names: &'a [&'a str],
    issued: Issued<'a>,
    monday: NaiveDate,
    /// The week's seven days as standard visits.
    days: Vec<(NaiveDate, f64)>,
}

impl<'a> Ahead<'a> {
    /// None where earlier seasons are too few. Species with too few birds before the year are
    /// left to other means.
    pub fn new(
        visits: &'a [Visit],
        series: &'a BTreeMap<String, CountSeries>,
        temperature: Option<&'a DailyTemperature>,
        date: NaiveDate,
    ) -> Option<Self> {
        let year = IsoWeek::of(date).monday().year();
        let mut earlier: Vec<i32> = visits
            .iter()
            .map(Visit::year)
            .filter(|y| *y < year)
            .collect();
        earlier.dedup();
        if earlier.len() < LEAST_EARLIER_SEASONS {
            return None;
        }
        let before = |s: &CountSeries| -> u64 {
            s.known()
                .filter(|(v, _)| v.year() < year)
                .map(|(_, c)| u64::from(c.birds()))
                .sum()
        };
        let known = series.iter().filter(|(_, s)| before(s) >= LEAST_BIRDS);
        let (names, species): (Vec<&str>, Vec<&CountSeries>) =
            known.map(|(n, s)| (n.as_str(), s)).unzip();
        let counts = SiteCounts {
            visits,
            species: &species,
            temperature,
        };
        let trained = train(&counts, year, None, Constants::default());
        Some(Ahead {
            names,
            species,
            visits,
            temperature,
            trained,
        })
    }

    /// The week that holds `date`, as forecast on its Monday.
    pub fn week(&self, date: NaiveDate) -> AheadOfWeek<'_> {
        let week = IsoWeek::of(date);
        let counts = SiteCounts {
            visits: self.visits,
            species: &self.species,
            temperature: self.temperature,
        };
        AheadOfWeek {
            names: &self.names,
            issued: self.trained.issue(&counts, week.monday()),
            monday: week.monday(),
            days: week.days().map(|d| (d, 0.0)).to_vec(),
        }
    }
}

impl AheadOfWeek<'_> {
    /// What temperature says of the week's season; None where none is loaded.
    pub fn temperature(&self, view: &SiteView) -> Option<Temperature> {
        let middle = self.days.get(3)?.0;
        let followed = |(place, species): (usize, &&str)| {
            let foretold = self.issued.foretold(place, middle)?;
            Some(Followed {
                species: (*species).to_owned(),
                name: view.shown_name(species),
                link: foretold.link.clone(),
                expected: foretold.expected,
            })
        };
        Some(Temperature {
            searched: self.issued.searched()?,
            links: self.names.iter().enumerate().filter_map(followed).collect(),
        })
    }

    /// The Monday on which it is issued: visits from then on are not looked at.
    pub fn monday(&self) -> NaiveDate {
        self.monday
    }

    fn place(&self, species: &str) -> Option<usize> {
        let place = self.names.iter().position(|n| *n == species)?;
        let middle = self.days.get(3)?.0;
        self.issued.has_curve(place, middle).then_some(place)
    }

    /// So many standard visits, spread over the week.
    fn spread(&self, visits: u32) -> Vec<(NaiveDate, f64)> {
        let days = self.days.len();
        let day = |i: u32| (f64::from(i) + 0.5) * days as f64 / f64::from(visits);
        (0..visits)
            .map(|i| self.days[day(i) as usize % days])
            .collect()
    }

    /// The species' chances, the week's in so many standard visits; None where its season has no
    /// curve.
    pub fn chances(&self, species: &str, visits: u32) -> Option<Chances> {
        let place = self.place(species)?;
        let nights = self.issued.nights(place, &self.days);
        let found = nights
            .iter()
            .map(|n| 1.0 - n.probabilities.first().copied().unwrap_or(1.0));
        Some(Chances {
            visit: found.sum::<f64>() / nights.len() as f64,
            week: self.issued.week(place, &self.spread(visits)),
        })
    }

    /// Probability that both are found in so many standard visits in the week; None where either
    /// has no curve.
    pub fn both(&self, a: &str, b: &str, visits: u32) -> Option<f64> {
        let places = (self.place(a)?, self.place(b)?);
        Some(self.issued.both(places, &self.spread(visits)))
    }
}
