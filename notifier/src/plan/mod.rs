//! Which dates to go out on: the settings, the sites' forecasts and what was found so far, made
//! into a plan.

pub mod calendar;
pub mod choosing;
pub mod document;
pub mod error;
mod ground;
pub mod kept;
pub mod listed;
pub mod open;
mod rain;
pub mod sheet;
pub mod site;
pub mod start;
pub mod table;
mod target_table;
pub mod targets;
pub mod text;
pub mod tides;
pub mod told;
pub mod untold;
mod visits;

pub use error::PlanError;
pub use rain::{NoRainDate, Rain};

use chrono::{NaiveDate, Weekday};
use config::settings::NotOn;
use forecast::plan::{Rules, Travel};
use serde::{Deserialize, Serialize};
use start::Start;

/// What is asked for, settings and command line together.
#[derive(Debug, Clone)]
pub struct Request {
    /// First date.
    pub from: NaiveDate,
    /// Last date.
    pub to: NaiveDate,
    /// The day on which it is planned: earlier dates are past.
    pub today: NaiveDate,
    /// How many visits.
    pub enough: Enough,
    /// Days of the week on which people go out; all where empty.
    pub weekdays: Vec<Weekday>,
    /// Days on which nobody goes out.
    pub not: Vec<NotOn>,
    /// Least days from one visit of a site to its next.
    pub gap_days: u32,
    /// Most visits in a week.
    pub most_per_week: Option<u32>,
    /// Teams.
    pub teams: u32,
    /// How far apart a team's sites of consecutive days may lie.
    pub farthest_km: Option<f64>,
    /// Days within which a rained-off visit is made up; 0 for no rain dates.
    pub rain_days: u32,
}

/// How many visits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Enough {
    /// So many, past ones among them.
    Visits(usize),
    /// As many as make it so sure, 0..1, that each target is found.
    Sure(f64),
}

impl Request {
    /// The rules for so many visits; `km` are the distances between the sites.
    fn rules(&self, visits: usize, km: Vec<Vec<f64>>) -> Result<Rules, PlanError> {
        let mut rules = Rules::new(visits)?
            .gap(self.gap_days)?
            .teams(self.teams as usize)?;
        if let Some(most) = self.most_per_week {
            rules = rules.per_week(most as usize)?;
        }
        if let Some(farthest_km) = self.farthest_km {
            rules = rules.travel(Travel { km, farthest_km })?;
        }
        Ok(rules)
    }

    /// May anybody go out on the date?
    fn goes_out(&self, date: NaiveDate) -> bool {
        use chrono::Datelike;
        (self.weekdays.is_empty() || self.weekdays.contains(&date.weekday()))
            && !self.not.iter().any(|n| n.holds(date))
    }
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// First date planned for.
    pub from: NaiveDate,
    /// Last date planned for.
    pub to: NaiveDate,
    /// The day on which it was planned.
    pub today: NaiveDate,
    /// Sites as id and name.
    pub sites: Vec<(String, String)>,
    /// Visits in order of date.
    pub visits: Vec<Planned>,
    /// Targets, likeliest to be found first; those found already come last.
    pub targets: Vec<Target>,
    /// Targets expected to be found on the visits to come, each counted with its weight, those
    /// found already left out.
    pub expected: f64,
    /// The most that any plan within the rules could expect; None where as many visits were
    /// taken as make it sure.
    pub at_most: Option<f64>,
    /// How sure it was to be made.
    pub sure: Option<f64>,
    /// Dates left out because the site is not watched then, over all sites.
    pub unwatched: usize,
    /// Dates that the plan could choose from.
    pub candidates: usize,
    /// Visits to come or sites were taken out of it, so that nothing that was worked out over all of
    /// them holds any more.
    #[serde(default)]
    pub parted: bool,
}

/// A visit of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Planned {
    /// Place of the site in the plan's list.
    pub site: usize,
    /// The date.
    pub date: NaiveDate,
    /// It lies before the day of planning and stays as it is.
    pub past: bool,
    /// When to begin.
    pub start: Start,
    /// Targets that it may find, those that it adds most to first.
    pub purpose: Vec<Purpose>,
    /// Targets fewer that are expected to be found without it, each counted with its weight.
    pub lost: f64,
    /// The date to go instead when it rains, and what is then lost.
    pub rain: Rain,
    /// What a past visit was for beside the targets of this plan.
    #[serde(default)]
    pub former: Vec<Former>,
}

/// A species that a past visit was for when it was planned, and that is no target any more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Former {
    /// Scientific name.
    pub species: String,
    /// What hung on the visit for it, by its weight then.
    pub worth: f64,
}

/// What a visit does for a target.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Purpose {
    /// Place of the target in the plan's list.
    pub target: usize,
    /// Chance of finding it on the visit.
    pub chance: f64,
    /// How much its chance over the whole plan falls without the visit.
    pub lost: f64,
}

/// A species that is looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// Scientific name.
    pub species: String,
    /// Name shown.
    pub name: String,
    /// The settings call it sensitive.
    pub sensitive: bool,
    /// How much finding it counts.
    pub weight: f64,
    /// Found on this date of the season already: it counts no more.
    pub found: Option<NaiveDate>,
    /// Chance of finding it on at least one of the visits to come.
    pub chance: f64,
    /// Visits like the best of the dates that make it 80, 90 and 95 % sure, each by itself; None
    /// where it is hardly ever found.
    pub needed: Option<[u32; 3]>,
    /// Its chances rest on bare frequency at every site, not on a curve.
    pub few_records: bool,
    /// This plan does not make it as sure as asked for. Its visits are chosen greedily, so another
    /// within the rules might.
    pub out_of_reach: bool,
}
