//! What sets one season apart from another: how many birds, and how early.

use super::DemoError;
use super::random::{Purpose, normal, stream};
use super::truth::{SITES, TruePassage, Truth};
use super::weather::Weather;
use chrono::Datelike;
use forecast::fit::PassageName;

/// One season of one passage at one site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Season {
    /// Times the birds of an average season; the mean over seasons is 1.
    pub level: f64,
    /// Days later than an average season.
    pub shift_days: f64,
}

/// Halves of the year whose passages share their fortune.
const SIDES: usize = 2;

/// All seasons of all passages, from the year before the first.
#[derive(Debug, Clone)]
pub(super) struct Seasons {
    first_year: i32,
    /// by species, passage, site and year
    drawn: Vec<Vec<[Vec<Season>; SITES]>>,
}

/// Standard normal numbers, one a year, that every species of a side shares.
struct Shared {
    shift: [Vec<f64>; SIDES],
    level: [[Vec<f64>; SIDES]; SITES],
}

/// What all draws of seasons need.
struct Drawing<'a> {
    truth: &'a Truth,
    seed: u64,
    years: Vec<i32>,
    weather: &'a Weather,
}

impl Seasons {
    /// Draws all seasons; those of the year before the first hold the birds that winter into it.
    pub(super) fn draw(
        truth: &Truth,
        seed: u64,
        first_year: i32,
        last_year: i32,
        weather: &Weather,
    ) -> Result<Self, DemoError> {
        let drawing = Drawing {
            truth,
            seed,
            years: (first_year - 1..=last_year).collect(),
            weather,
        };
        let shared = drawing.shared();
        let of_species = |s: usize| {
            let passages = 0..truth.species[s].passages.len();
            passages.map(|p| drawing.passage(s, p, &shared)).collect()
        };
        Ok(Seasons {
            first_year: first_year - 1,
            drawn: (0..truth.species.len())
                .map(of_species)
                .collect::<Result<_, _>>()?,
        })
    }

    /// The season of that year; None where it was not drawn.
    pub(super) fn of(
        &self,
        species: usize,
        passage: usize,
        site: usize,
        year: i32,
    ) -> Option<Season> {
        let index = usize::try_from(year - self.first_year).ok()?;
        self.drawn[species][passage][site].get(index).copied()
    }
}

impl Drawing<'_> {
    fn yearly(&self, purpose: Purpose) -> Vec<f64> {
        let mut rng = stream(self.seed, purpose);
        self.years.iter().map(|_| normal(&mut rng)).collect()
    }

    fn shared(&self) -> Shared {
        let level = |site, side| self.yearly(Purpose::SharedLevel(site, side));
        Shared {
            shift: std::array::from_fn(|side| self.yearly(Purpose::SharedShift(side))),
            level: std::array::from_fn(|site| std::array::from_fn(|side| level(site, side))),
        }
    }

    /// The seasons of one passage, by site. Sites share the species' own fortune.
    fn passage(
        &self,
        s: usize,
        p: usize,
        shared: &Shared,
    ) -> Result<[Vec<Season>; SITES], DemoError> {
        let species = &self.truth.species[s];
        let passage = &species.passages[p];
        let side = side(passage.season);
        let own_level = self.yearly(Purpose::OwnLevel(s, p));
        let shifts = self.shifts(
            passage,
            &shared.shift[side],
            &self.yearly(Purpose::OwnShift(s, p)),
        )?;
        Ok(std::array::from_fn(|site| {
            let shared_level = &shared.level[site][side];
            levels(self.truth, species.year_effect_sd, shared_level, &own_level)
                .zip(&shifts)
                .map(|(level, &shift_days)| Season { level, shift_days })
                .collect()
        }))
    }

    fn shifts(
        &self,
        passage: &TruePassage,
        shared: &[f64],
        own: &[f64],
    ) -> Result<Vec<f64>, DemoError> {
        let truth = self.truth;
        let chance = shared
            .iter()
            .zip(own)
            .map(|(s, o)| truth.shared_shift_sd_days * s + truth.own_shift_sd_days * o);
        let of_year = |(&year, chance): (&i32, f64)| {
            let warmth = warmth_days(passage, year, self.weather)?;
            Ok(trend_days(truth, passage, year) + warmth + chance)
        };
        self.years.iter().zip(chance).map(of_year).collect()
    }
}

fn side(season: PassageName) -> usize {
    match season {
        PassageName::Spring | PassageName::Summer | PassageName::AllYear => 0,
        PassageName::Autumn | PassageName::Winter => 1,
    }
}

/// Log-normal levels. Half the variance is taken off so that their mean is 1.
fn levels<'a>(
    truth: &Truth,
    own_sd: f64,
    shared: &'a [f64],
    own: &'a [f64],
) -> impl Iterator<Item = f64> + use<'a> {
    let shared_sd = truth.shared_level_sd;
    let half_variance = 0.5 * (shared_sd.powi(2) + own_sd.powi(2));
    let level = move |(s, o): (&f64, &f64)| (shared_sd * s + own_sd * o - half_variance).exp();
    shared.iter().zip(own).map(level)
}

fn trend_days(truth: &Truth, passage: &TruePassage, year: i32) -> f64 {
    passage.trend_days_per_decade * f64::from(year - truth.origin.year()) / 10.0
}

fn warmth_days(passage: &TruePassage, year: i32, weather: &Weather) -> Result<f64, DemoError> {
    let Some(w) = passage.warmth else {
        return Ok(0.0);
    };
    let anomaly = weather.mean_anomaly_c(year, w.from, w.to).ok_or_else(|| {
        DemoError::Draw(format!(
            "days {} to {} of {year} have no weather",
            w.from, w.to
        ))
    })?;
    Ok(w.days_per_c * anomaly)
}
