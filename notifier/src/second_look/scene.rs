//! A site's records and who is easily taken for whom there.

use chrono::{Datelike, NaiveDate};
use config::settings::Workspace;
use forecast::outlook::SiteCounts;
use forecast::second_look::{Expected, Habits, Judged, Said, Told, Weights, judge, swapped};
use forecast::series::{CountSeries, Visit};
use ingest::store::SiteHistory;
use std::collections::BTreeSet;

/// Years before a record's own without which nothing is expected.
const LEAST_EARLIER: usize = 3;

/// What a site's records are judged from.
pub(super) struct Scene<'a> {
    pub(super) names: Vec<&'a str>,
    pub(super) series: Vec<&'a CountSeries>,
    visits: &'a [Visit],
    /// For each species, those of its look-alike sets, itself among them.
    pub(super) relatives: Vec<Vec<usize>>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(workspace: &Workspace, history: &'a SiteHistory) -> Self {
        let names: Vec<&str> = history.species.keys().map(String::as_str).collect();
        let together = |a: &str, b: &str| {
            let sets = workspace.look_alikes.iter();
            a == b
                || sets
                    .clone()
                    .any(|s| s.member(a).is_some() && s.member(b).is_some())
        };
        let of = |name: &&str| {
            let all = names.iter().enumerate();
            let related = all.filter(|(_, other)| together(name, other));
            related.map(|(place, _)| place).collect()
        };
        Scene {
            relatives: names.iter().map(of).collect(),
            series: history.species.values().collect(),
            visits: &history.visits,
            names,
        }
    }

    /// Years with enough earlier ones to be judged by, in order.
    pub(super) fn years(&self) -> Vec<i32> {
        let mut years: Vec<i32> = self.visits.iter().map(Visit::year).collect();
        years.dedup();
        years.into_iter().skip(LEAST_EARLIER).collect()
    }

    /// Mondays of the weeks with a visit, from one year to another.
    pub(super) fn weeks(&self, years: (i32, i32)) -> BTreeSet<NaiveDate> {
        let within = self
            .visits
            .iter()
            .filter(|v| (years.0..=years.1).contains(&v.year()));
        within
            .map(|v| forecast::calendar::IsoWeek::of(v.date).monday())
            .collect()
    }

    /// Every record of a species found that is wanted.
    pub(super) fn records(&self, wanted: impl Fn(NaiveDate, &str) -> bool) -> Vec<Said> {
        let all = self
            .series
            .iter()
            .enumerate()
            .flat_map(|(species, series)| {
                let found = series.known().filter(|(_, c)| c.found() == Some(true));
                found.map(move |(visit, count)| Said {
                    species,
                    date: visit.date,
                    count,
                })
            });
        all.filter(|s| wanted(s.date, self.names[s.species]))
            .collect()
    }

    /// Judges records of one year.
    pub(super) fn judge(&self, year: i32, records: &[Said]) -> Vec<(Said, Judged)> {
        let here = || records.iter().filter(|s| s.date.year() == year);
        let dates = here().flat_map(|s| [Some(s.date), swapped(s.date)]);
        let dates: BTreeSet<NaiveDate> = dates.flatten().collect();
        let dates: Vec<NaiveDate> = dates.into_iter().collect();
        if dates.is_empty() {
            return Vec::new();
        }
        let site = SiteCounts {
            visits: self.visits,
            species: &self.series,
            temperature: None,
        };
        let expected = Expected::of(&site, &self.relatives, year, &dates, &Habits::default());
        let (told, weights) = (Told::new(site), Weights::default());
        let one = |s: &Said| {
            let relatives = &self.relatives[s.species];
            Some((*s, judge(s, &told, &expected, relatives, &weights)?))
        };
        here().filter_map(one).collect()
    }
}
