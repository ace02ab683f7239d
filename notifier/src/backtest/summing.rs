//! From tallies to the summary.

use super::summary::{
    Bin, Calibration, Comparison, Counts, Coverage, Gain, Held, LeftOut, Means, Part, SiteSummary,
    SpeciesPart, Summary, Weeks, WeeksAhead,
};
use super::tally::{Kept, LEVELS, PIT_BINS, Sums, Tally, Three};
use super::{BacktestError, Site, ValidParams, species};
use chrono::Datelike;
use forecast::climatology::LAST_YEARS;
use forecast::score::bootstrap::{self, Resampling, YearScore};
use forecast::score::{Issued, ScoreError, reliability};
use std::collections::{BTreeMap, BTreeSet};

/// With 2000 resamples the ends of an 80 % interval are placed to within 0.7 % of probability.
const RESAMPLING: Resampling = Resampling {
    draws: 2000,
    level: 0.8,
    seed: 7,
};

/// Sums up the tallies, by site and year.
pub(super) fn summary(
    sites: &[Site],
    params: &ValidParams,
    tallies: &[Vec<Tally>],
) -> Result<Summary, BacktestError> {
    let setup = &params.0.setup;
    let tested = || {
        sites
            .iter()
            .zip(tallies)
            .filter(|(_, t)| t.iter().any(|t| t.rows > 0))
    };
    let summaries: Vec<SiteSummary> = tested()
        .map(|(site, tallies)| of_site(Some(site), &tallies.iter().collect::<Vec<_>>()))
        .collect::<Result<_, _>>()?;
    if summaries.is_empty() {
        return Err(no_visits(sites, params));
    }
    let together: Vec<&Tally> = tested().flat_map(|(_, tallies)| tallies).collect();
    let all_sites = (summaries.len() > 1)
        .then(|| of_site(None, &together))
        .transpose()?;
    let day = |(m, d): (u32, u32)| format!("{m:02}-{d:02}");
    Ok(Summary {
        from: params.0.from,
        to: params.0.to,
        history: setup.history,
        issued: setup
            .issued
            .iter()
            .map(|(a, b)| [day(*a), day(*b)])
            .collect(),
        weeks: setup.weeks,
        least_birds: setup.least_birds,
        interval_level: RESAMPLING.level,
        climatologies_agree: setup.history == Some(LAST_YEARS),
        sites: summaries,
        all_sites,
        left_out: left_out(sites, params, tallies),
    })
}

/// One site, or all of them; a species' place means nothing across sites.
fn of_site(site: Option<&Site>, tallies: &[&Tally]) -> Result<SiteSummary, ScoreError> {
    let years: BTreeSet<i32> = tallies
        .iter()
        .filter(|t| t.rows > 0)
        .map(|t| t.year)
        .collect();
    let cells = || tallies.iter().flat_map(|t| t.cells.keys());
    let horizons: BTreeSet<u32> = cells().map(|(_, horizon)| *horizon).collect();
    let by_horizon = |weeks_ahead| WeeksAhead {
        weeks_ahead,
        part: part(tallies, |_, h| h == weeks_ahead),
    };
    let by_species = site.map_or_else(Vec::new, |site| {
        let places: BTreeSet<usize> = cells().map(|(species, _)| *species).collect();
        let names = site
            .history
            .species
            .keys()
            .enumerate()
            .filter(|(i, _)| places.contains(i));
        names
            .map(|(i, name)| SpeciesPart {
                species: name.clone(),
                part: part(tallies, |s, _| s == i),
            })
            .collect()
    });
    let overall = part(tallies, |_, _| true);
    let counts = overall.counts.map(|c| c.scored as f64);
    Ok(SiteSummary {
        site: site.map(|s| s.history.site.clone()),
        name: site.map_or("All sites", |s| s.name).to_owned(),
        years: years.into_iter().collect(),
        forecasts: tallies.iter().map(|t| t.rows).sum(),
        unnumbered: tallies.iter().map(|t| t.unnumbered).sum(),
        overall,
        by_horizon: horizons.into_iter().map(by_horizon).collect(),
        by_species,
        reliability: overall.weeks.map(|_| calibration(tallies)).transpose()?,
        pit: counts.map(|n| pit(tallies, n)),
        coverage: counts.map_or_else(Vec::new, |n| coverage(tallies, n)),
    })
}

/// Scores of the wanted species and horizons.
fn part(tallies: &[&Tally], wanted: impl Fn(usize, u32) -> bool) -> Part {
    let mut years: BTreeMap<i32, Sums> = BTreeMap::new();
    let mut all = Sums::default();
    for tally in tallies {
        for (_, sums) in tally.cells.iter().filter(|((s, h), _)| wanted(*s, *h)) {
            *years.entry(tally.year).or_default() += *sums;
            all += *sums;
        }
    }
    let counts = |of: fn(&Sums) -> Three<f64>, way| compare(&years, of, |s| s.counts, way);
    let weeks = |of: fn(&Sums) -> Three<f64>, way| compare(&years, of, |s| s.weeks, way);
    Part {
        counts: (all.counts > 0).then(|| Counts {
            scored: all.counts,
            birds: all.birds,
            crps: counts(|s| s.crps, Way::Part),
            log_score: counts(|s| s.log_score, Way::Less),
        }),
        weeks: (all.weeks > 0).then(|| Weeks {
            scored: all.weeks,
            found: all.found,
            brier: weeks(|s| s.brier, Way::Part),
            log_loss: weeks(|s| s.log_loss, Way::Less),
        }),
    }
}

/// How two forecasts are compared.
#[derive(Clone, Copy)]
enum Way {
    /// By what part of the other's score ours is less.
    Part,
    /// By how much the mean is less.
    Less,
}

fn compare(
    years: &BTreeMap<i32, Sums>,
    of: impl Fn(&Sums) -> Three<f64>,
    scored: impl Fn(&Sums) -> usize,
    way: Way,
) -> Comparison {
    let against = |reference: fn(Three<f64>) -> f64| -> Vec<YearScore> {
        let scores = years.iter().filter(|(_, sums)| scored(sums) > 0);
        scores
            .map(|(year, sums)| YearScore {
                year: *year,
                ours: of(sums).ours,
                reference: reference(of(sums)),
                scored: scored(sums),
            })
            .collect()
    };
    let mut total = Three::default();
    years.values().for_each(|sums| total += of(sums));
    let n: usize = years.values().map(&scored).sum();
    Comparison {
        mean: total.map(|sum| sum / n as f64).into(),
        gain_on_hand: gain(&against(|t| t.hand), way),
        gain_on_last_five: gain(&against(|t| t.recent), way),
    }
}

fn gain(years: &[YearScore], way: Way) -> Gain {
    let sum = |of: fn(&YearScore) -> f64| years.iter().map(of).sum::<f64>();
    let (ours, other) = (sum(|y| y.ours), sum(|y| y.reference));
    let estimate = match way {
        Way::Part => 1.0 - ours / other,
        Way::Less => (other - ours) / sum(|y| y.scored as f64),
    };
    // refused where a single year was scored, or where some resample has nothing to compare with
    let interval = match way {
        Way::Part => bootstrap::skill(years, &RESAMPLING).map(|c| (c.low, c.high)),
        Way::Less => bootstrap::difference(years, &RESAMPLING).map(|c| (-c.high, -c.low)),
    };
    Gain {
        estimate: estimate.is_finite().then_some(estimate),
        interval: interval.ok(),
    }
}

fn calibration(tallies: &[&Tally]) -> Result<Means<Calibration>, ScoreError> {
    let weeks = || tallies.iter().flat_map(|t| &t.weeks);
    let table = |of: fn(&Three<f64>) -> f64| {
        let issued = |w: &super::tally::WeekScored| Issued {
            chance: of(&w.chances),
            happened: w.found,
        };
        let table = reliability::table(&weeks().map(issued).collect::<Vec<_>>())?;
        let bin = |b: &reliability::Bin| Bin {
            from: b.from,
            to: b.to,
            weeks: b.forecasts,
            found: b.happened,
            mean_chance: b.mean_chance,
        };
        Ok(Calibration {
            calibration_error: table.calibration_error,
            bins: table.bins.iter().map(bin).collect(),
        })
    };
    Ok(Means {
        ours: table(|c| c.ours)?,
        hand: table(|c| c.hand)?,
        last_five: table(|c| c.recent)?,
    })
}

fn pit(tallies: &[&Tally], counts: f64) -> Means<[f64; PIT_BINS]> {
    let mut sums = Three::<[f64; PIT_BINS]>::default();
    for tally in tallies {
        sums.update(&tally.pit, |a, b| {
            a.iter_mut().zip(b).for_each(|(a, b)| *a += b)
        });
    }
    sums.map(|masses| masses.map(|m| m / counts)).into()
}

fn coverage(tallies: &[&Tally], counts: f64) -> Vec<Coverage> {
    let of_level = |(i, level): (usize, f64)| {
        let mut kept = Three::<Kept>::default();
        for tally in tallies {
            kept.update(&tally.intervals[i], |a, b| {
                a.said += b.said;
                a.coverage.below += b.coverage.below;
                a.coverage.inside += b.coverage.inside;
                a.coverage.above += b.coverage.above;
            });
        }
        let held = |k: &Kept| Held {
            said: k.said / counts,
            inside: k.coverage.inside as f64 / counts,
            below: k.coverage.below as f64 / counts,
            above: k.coverage.above as f64 / counts,
        };
        Coverage {
            level,
            intervals: kept.map(held).into(),
        }
    };
    LEVELS.into_iter().enumerate().map(of_level).collect()
}

fn no_visits(sites: &[Site], params: &ValidParams) -> BacktestError {
    let first = sites.iter().filter_map(|s| s.history.first_visit).min();
    let last = sites.iter().filter_map(|s| s.history.last_visit).max();
    BacktestError::NoVisits {
        from: params.0.from,
        to: params.0.to,
        visited: first.zip(last).map(|(a, b)| (a.year(), b.year())),
    }
}

/// Years without forecasts, by site and reason.
fn left_out(sites: &[Site], params: &ValidParams, tallies: &[Vec<Tally>]) -> Vec<LeftOut> {
    let least = params.0.setup.least_birds;
    let mut left: Vec<LeftOut> = Vec::new();
    for (site, tallies) in sites.iter().zip(tallies) {
        for tally in tallies.iter().filter(|t| t.rows == 0) {
            let why = if site.history.species.is_empty() {
                "no species has been counted".to_owned()
            } else if species(site, tally.year, least).is_empty() {
                format!("no species had {least} birds before")
            } else {
                "there is no visit in the weeks to be forecast".to_owned()
            };
            match left
                .last_mut()
                .filter(|l| l.site == site.history.site && l.why == why)
            {
                Some(same) => same.years.push(tally.year),
                None => left.push(LeftOut {
                    site: site.history.site.clone(),
                    years: vec![tally.year],
                    why,
                }),
            }
        }
    }
    left
}
