//! Rolling-origin backtest over sites and years: what would have been forecast, against what was
//! found, beside the two climatologies that a careful person could work out by hand.

mod chart;
mod error;
mod predictions;
mod render;
mod summary;
mod summing;
mod table;
mod tally;

pub use chart::ChartFile;
pub use error::BacktestError;
pub use render::text;
pub use summary::{
    Bin, Calibration, Comparison, Counts, Coverage, Gain, Held, LeftOut, Means, Part, SiteSummary,
    SpeciesPart, Summary, Weeks, WeeksAhead,
};

use forecast::backtest::{self, Row, Setup, forecast_species, mondays};
use forecast::outlook::SiteCounts;
use forecast::series::CountSeries;
use forecast::temperature::daily::DailyTemperature;
use ingest::store::SiteHistory;
use predictions::Predictions;
use rayon::prelude::*;
use std::path::Path;
use tally::Tally;

/// What to test, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Params {
    /// First year.
    pub from: i32,
    /// Last year.
    pub to: i32,
    /// How to forecast.
    pub setup: Setup,
}

/// Checked [`Params`].
#[derive(Debug, Clone, PartialEq)]
pub struct ValidParams(Params);

impl Params {
    /// Years in order, a history of a year at least, and a Monday to forecast on.
    ///
    /// # Errors
    /// What is wrong, in a sentence.
    pub fn check(self) -> Result<ValidParams, BacktestError> {
        if self.from > self.to {
            return Err(BacktestError::Years {
                from: self.from,
                to: self.to,
            });
        }
        if let Some(history) = self.setup.history.filter(|h| *h < 1) {
            return Err(BacktestError::History(history));
        }
        if (self.from..=self.to).all(|y| mondays(y, &self.setup.issued).is_empty()) {
            return Err(BacktestError::NoMonday);
        }
        Ok(ValidParams(self))
    }
}

impl ValidParams {
    fn years(&self) -> impl Iterator<Item = i32> + use<> {
        self.0.from..=self.0.to
    }

    /// Mondays gone through at one site, for progress.
    pub fn mondays(&self) -> usize {
        self.years()
            .map(|y| mondays(y, &self.0.setup.issued).len())
            .sum()
    }
}

/// A site to test.
#[derive(Debug, Clone, Copy)]
pub struct Site<'a> {
    /// Its full name.
    pub name: &'a str,
    /// Its counts.
    pub history: &'a SiteHistory,
    /// Its daily temperatures, where any are loaded.
    pub temperature: Option<&'a DailyTemperature>,
}

/// One year of one site.
struct Job<'a> {
    place: usize,
    site: Site<'a>,
    year: i32,
}

/// What came of it.
struct Done {
    tally: Tally,
    rows: Vec<u8>,
}

/// Forecasts every year at every site, in parallel, and sums up how good it was. `predictions`
/// receives every forecast as CSV; it is written whole or not at all. `gone` tells of each Monday
/// of each site and year. The same counts give the same summary and file, whatever the number of
/// threads.
///
/// # Errors
/// Nothing that could be tested, or a file that can't be written.
pub fn run(
    sites: &[Site],
    params: &ValidParams,
    predictions: Option<&Path>,
    gone: &(dyn Fn() + Sync),
) -> Result<Summary, BacktestError> {
    possible(sites, params)?;
    let mut file = predictions.map(Predictions::begin).transpose()?;
    let places = sites.iter().enumerate();
    let jobs = places.flat_map(|(place, site)| {
        let site = *site;
        params.years().map(move |year| Job { place, site, year })
    });
    let jobs: Vec<Job> = jobs.collect();
    let setup = &params.0.setup;
    let mut tallies: Vec<Vec<Tally>> = sites.iter().map(|_| Vec::new()).collect();
    // a few at a time, in order, so that the rows of many years never stand in memory together
    for jobs in jobs.chunks(2 * rayon::current_num_threads()) {
        let wanted = file.is_some();
        let done: Vec<Done> = jobs
            .par_iter()
            .map(|j| one(j, setup, wanted, gone))
            .collect::<Result<_, _>>()?;
        for (job, done) in jobs.iter().zip(done) {
            if let Some(file) = &mut file {
                file.add(&done.rows)?;
            }
            tallies[job.place].push(done.tally);
        }
    }
    let summary = summing::summary(sites, params, &tallies)?;
    if let Some(file) = file {
        file.finish()?;
    }
    Ok(summary)
}

fn one(
    job: &Job,
    setup: &Setup,
    wanted: bool,
    gone: &(dyn Fn() + Sync),
) -> Result<Done, BacktestError> {
    let earliest = setup
        .history
        .map_or(i32::MIN, |n| job.year.saturating_sub(n));
    let history = job.site.history.measured_by(earliest..job.year)?;
    let names: Vec<&str> = history.species.keys().map(String::as_str).collect();
    let series: Vec<&CountSeries> = history.species.values().collect();
    let counts = SiteCounts {
        visits: &history.visits,
        species: &series,
        temperature: job.site.temperature,
    };
    let mut tally = Tally::new(job.year);
    let mut rows = predictions::Rows::new(&history.site);
    let mut outcome = Ok(());
    let mut take = |row: Row| {
        if outcome.is_err() {
            return;
        }
        outcome = tally
            .add(&row)
            .map_err(BacktestError::from)
            .and_then(|()| match wanted {
                true => rows.add(&names, &row),
                false => Ok(()),
            });
    };
    backtest::year(&counts, job.year, setup, &mut take, &mut || gone());
    outcome?;
    Ok(Done {
        tally,
        rows: rows.into_bytes()?,
    })
}

/// Says at once what would come to nothing.
fn possible(sites: &[Site], params: &ValidParams) -> Result<(), BacktestError> {
    let least = params.0.setup.least_birds;
    if sites.iter().all(|s| s.history.species.is_empty()) {
        return Err(BacktestError::NoSpecies { sites: ids(sites) });
    }
    let testable = |year: i32| sites.iter().any(|s| !species(s, year, least).is_empty());
    if params.years().any(testable) {
        return Ok(());
    }
    // the number of earlier birds only grows, so the first year that will do lies after the last
    // that was asked for
    let last = sites.iter().filter_map(|s| s.history.last_visit).max();
    let visited = params.0.to + 1..=last.map_or(params.0.to, |d| chrono::Datelike::year(&d));
    Err(BacktestError::NothingBefore {
        year: params.0.to,
        least_birds: least,
        first: visited.into_iter().find(|y| testable(*y)),
    })
}

fn ids(sites: &[Site]) -> String {
    let ids: Vec<&str> = sites.iter().map(|s| s.history.site.as_str()).collect();
    crate::words::list(&ids)
}

/// Species of the site that are forecast in the year.
fn species(site: &Site, year: i32, least_birds: u64) -> Vec<usize> {
    let series: Vec<&CountSeries> = site.history.species.values().collect();
    let counts = SiteCounts {
        visits: &site.history.visits,
        species: &series,
        temperature: site.temperature,
    };
    forecast_species(&counts, year, least_birds)
}
