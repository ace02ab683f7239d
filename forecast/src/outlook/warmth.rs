//! Temperature in the forecast: which species' timing follows it in which season, as far as the
//! years before tell, and what it foretells of the season to come.

use super::train::{Learnt, SeasonLearnt};
use super::{Constants, Issued};
use crate::calendar::DayOfYear;
use crate::passage::curve::{PassageCurve, Sighting};
use crate::passage::cut::Stretch;
use crate::passage::timing::{LOOSE_SD_DAYS, shifts};
use crate::season_shift::SeasonShift;
use crate::temperature::daily::DailyTemperature;
use crate::temperature::of_site::{self, PastTiming};
use crate::temperature::{Expected, LEAST_SEASONS, Link};
use crate::updating::NormalBelief;
use crate::window::quantile;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// What was made of the temperature before a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Searched {
    /// Species and seasons with years enough to look for a link.
    pub looked_at: usize,
    /// Those whose timing follows it.
    pub links: usize,
}

/// What temperature says of a species' season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold<'a> {
    /// How its timing follows the temperature.
    pub link: &'a Link,
    /// Its shift against the long-term curve; None until the temperatures that count are known.
    pub expected: Option<Expected>,
}

/// When a species' seasons ran. None where too few had birds to look for a link.
pub(super) fn timing(
    curve: &PassageCurve,
    stretch: &Stretch,
    years: &[i32],
    sightings: &[Sighting],
) -> Option<PastTiming> {
    let found = sightings.iter().filter(|s| s.count.found() == Some(true));
    let with_birds: BTreeSet<usize> = found.map(|s| s.season).collect();
    if with_birds.len() < LEAST_SEASONS {
        return None;
    }
    // a season without birds tells nothing of its timing
    let telling = sightings.iter().filter(|s| with_birds.contains(&s.season));
    let telling: Vec<Sighting> = telling.copied().collect();
    let posteriors = shifts(curve, years.len(), &telling);
    let told = years.iter().zip(posteriors).filter_map(|(year, s)| {
        SeasonShift::from_posterior(*year, s.days, s.sd_days, LOOSE_SD_DAYS)
    });
    let rates: Vec<f64> = (0..stretch.length)
        .map(|day| curve.log_mean(day as f64).exp())
        .collect();
    Some(PastTiming {
        arrival_day: stretch.first as f64 + 1.0 + quantile(&rates, 0.05)?,
        shifts: told.collect(),
    })
}

/// Looks for links in the years before `year`, with the temperatures known before it, and leaves
/// each with its species.
pub(super) fn search(
    learnt: &mut [SeasonLearnt],
    temperature: &DailyTemperature,
    year: i32,
) -> Searched {
    let known = NaiveDate::from_yo_opt(year, 1).map(|d| temperature.before(d));
    let mut places: Vec<&mut Learnt> = learnt
        .iter_mut()
        .flat_map(|(_, _, species)| species.iter_mut().flatten())
        .collect();
    let timings: Vec<Option<PastTiming>> = places.iter_mut().map(|l| l.timing.take()).collect();
    // any seed will do; this one makes a year's forecasts the same on every machine
    let seed = u64::from(year.unsigned_abs());
    let gates = of_site::search(&timings, known.as_ref().unwrap_or(temperature), seed);
    let mut searched = Searched {
        looked_at: gates.iter().flatten().filter(|g| g.looked_at()).count(),
        links: 0,
    };
    for (learnt, gate) in places.into_iter().zip(gates) {
        learnt.link = gate.and_then(|g| g.link().cloned());
        searched.links += usize::from(learnt.link.is_some());
    }
    searched
}

/// What a season's temperature lets believe of a species' own shift. The error for seasons left
/// out holds what all species of a season share, which is not its own; no link is trusted to
/// tell more than three quarters of the usual variance (a choice).
pub(super) fn belief(expected: Expected, constants: &Constants) -> NormalBelief {
    let usual = constants.own_shift_sd.powi(2);
    let own = expected.sd_days.powi(2) - constants.shift_sd.powi(2);
    NormalBelief {
        mean: expected.days,
        sd: own.clamp(0.25 * usual, usual).sqrt(),
    }
}

impl Issued<'_> {
    /// What temperature says of the season that holds the date; None where the species' timing
    /// follows none there.
    pub fn foretold(&self, species: usize, date: NaiveDate) -> Option<Foretold<'_>> {
        let day = DayOfYear::of(date).index();
        let under = self.seasons.iter().find(|u| u.trained.stretch.holds(day))?;
        let link = under
            .trained
            .species
            .get(species)?
            .as_ref()?
            .link
            .as_ref()?;
        Some(Foretold {
            link,
            expected: under.expected.get(species).copied().flatten(),
        })
    }

    /// What was made of the temperature; None where none is known.
    pub fn searched(&self) -> Option<Searched> {
        self.trained.searched
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_belief_is_never_looser_than_the_usual_one_nor_too_sure() {
        let constants = Constants::default();
        let sd = |sd_days| {
            belief(
                Expected {
                    days: -4.0,
                    sd_days,
                },
                &constants,
            )
        };
        assert_eq!(
            sd(9.0),
            NormalBelief {
                mean: -4.0,
                sd: 2.5
            }
        );
        assert_eq!(sd(0.1).sd, 1.25);
        // an error of 2 days is what is shared, of 1, and the species' own
        assert!((sd(2.0).sd - 3.0_f64.sqrt()).abs() < 1e-12);
    }
}
