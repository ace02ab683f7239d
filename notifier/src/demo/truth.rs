//! What is true of the invented reserve: the numbers that the counts are drawn from.
//!
//! Days are positions in a season-year counted from 1.0 on 1 January; a stay that crosses New
//! Year runs on past 365. "Birds" are the birds that one standard visit on every day of an
//! average season would count, all added up.

use super::species::species;
use chrono::NaiveDate;
use forecast::fit::PassageName;

/// Index of Long Bank in every array by site.
pub const LONG_BANK: usize = 0;
/// Index of Tern Lagoon in every array by site.
pub const TERN_LAGOON: usize = 1;
/// Index of Dune Wood in every array by site.
pub const DUNE_WOOD: usize = 2;
/// Number of sites.
pub const SITES: usize = 3;

/// Mean length of a calendar year, days.
const YEAR_DAYS: f64 = 365.25;

const ORIGIN: NaiveDate = day(2013, 7, 1);
const LOST_FROM: NaiveDate = day(2008, 7, 1);
const LOST_TO: NaiveDate = day(2008, 12, 31);

/// Everything that the counts, visits and temperatures are drawn from.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// The sites, in the order of every array by site.
    pub sites: [TrueSite; SITES],
    /// The species, in the order of `wingtide.toml`.
    pub species: Vec<TrueSpecies>,
    /// Effort of a standard visit, minutes; expected counts are proportional to effort.
    pub standard_effort_min: f64,
    /// The day on which trends in timing, temperature and effort are zero.
    pub origin: NaiveDate,
    /// Sd of a season's log level that all species of a site share, beside each one's own.
    pub shared_level_sd: f64,
    /// Sd, days, of a season's shift that all species share, spring and autumn apart.
    pub shared_shift_sd_days: f64,
    /// Sd, days, of a season's shift of one species' passage.
    pub own_shift_sd_days: f64,
    /// The weather.
    pub weather: TrueWeather,
    /// The half-year, July to December, from which the notebooks are lost.
    pub gap: Gap,
}

/// A watch point and how it is visited.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueSite {
    /// Its id in `wingtide.toml`.
    pub id: &'static str,
    /// What the files call it.
    pub code: &'static str,
    /// Median effort of a visit on the day of origin, minutes.
    pub effort_min: f64,
    /// Growth of the log of the median effort a year.
    pub effort_growth: f64,
}

/// A species at all sites.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueSpecies {
    /// Scientific name.
    pub scientific: &'static str,
    /// English name, as one observer writes it.
    pub english: &'static str,
    /// Negative binomial size of a visit's count.
    pub dispersion: f64,
    /// Sd of a season's log level, the species' own part.
    pub year_effect_sd: f64,
    /// Its passages and stays.
    pub passages: Vec<TruePassage>,
}

/// One seasonal movement or stay.
#[derive(Debug, Clone, PartialEq)]
pub struct TruePassage {
    /// Its season; a stay over winter belongs to the year in which it begins.
    pub season: PassageName,
    /// How it runs through the year.
    pub shape: Shape,
    /// Birds in an average season by site.
    pub birds: [f64; SITES],
    /// Trend in timing, days a decade, beside what warmth brings.
    pub trend_days_per_decade: f64,
    /// What moves it with the temperature, if anything does.
    pub warmth: Option<Warmth>,
}

/// How a passage is spread over the days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A normal curve.
    Passing {
        /// Mean day.
        mean: f64,
        /// Standard deviation, days.
        spread_days: f64,
    },
    /// A plateau with soft edges: the difference of two logistic curves.
    Staying {
        /// Day by which half have come.
        arrives: f64,
        /// Day by which half have gone.
        leaves: f64,
        /// Scale of the logistic edges, days.
        softness_days: f64,
    },
    /// All year with one gentle wave.
    AllYear {
        /// Day of most birds.
        peak: f64,
        /// Height of the wave against the mean, 0 to below 1.
        wave: f64,
    },
}

/// A link from temperature to timing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// Days later for each deg C above normal; negative where warmth brings the birds earlier.
    pub days_per_c: f64,
    /// First day of the season-year that counts.
    pub from: i64,
    /// Last day that counts.
    pub to: i64,
}

/// Daily mean temperature: a yearly wave, a trend and AR(1) weather.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueWeather {
    /// Mean of the year around the day of origin, deg C.
    pub mean_c: f64,
    /// Half the difference between the warmest and the coldest day, deg C.
    pub wave_c: f64,
    /// The warmest day.
    pub warmest_day: f64,
    /// Warming, deg C a decade.
    pub trend_c_per_decade: f64,
    /// Correlation of one day's weather with the next.
    pub persistence: f64,
    /// Sd of what each day adds, deg C.
    pub daily_sd_c: f64,
}

/// Visits were made and listed, but none of their records are left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Index of the site.
    pub site: usize,
    /// First day.
    pub first: NaiveDate,
    /// Last day.
    pub last: NaiveDate,
}

/// The numbers behind the demo, all invented: plausible for a North Sea coast, true of no place.
pub fn truth() -> Truth {
    Truth {
        sites: [
            site("long-bank", "LB", 75.0, 0.026),
            site("tern-lagoon", "TL", 65.0, 0.018),
            site("dune-wood", "DW", 60.0, 0.030),
        ],
        species: species(),
        standard_effort_min: 75.0,
        origin: ORIGIN,
        shared_level_sd: 0.15,
        shared_shift_sd_days: 2.5,
        own_shift_sd_days: 1.5,
        weather: TrueWeather {
            mean_c: 9.6,
            wave_c: 6.2,
            warmest_day: 207.0,
            trend_c_per_decade: 0.35,
            persistence: 0.8,
            daily_sd_c: 1.6,
        },
        gap: Gap {
            site: TERN_LAGOON,
            first: LOST_FROM,
            last: LOST_TO,
        },
    }
}

fn site(id: &'static str, code: &'static str, effort_min: f64, effort_growth: f64) -> TrueSite {
    TrueSite {
        id,
        code,
        effort_min,
        effort_growth,
    }
}

/// A date that the compiler checks: every call stands in a constant.
pub(super) const fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    match NaiveDate::from_ymd_opt(year, month, day) {
        Some(date) => date,
        None => panic!("no such date"),
    }
}

impl Truth {
    /// Decades from the day of origin to the date.
    pub fn decades(&self, date: NaiveDate) -> f64 {
        (date - self.origin).num_days() as f64 / (10.0 * YEAR_DAYS)
    }
}

impl Gap {
    /// Are this visit's records lost?
    pub fn covers(&self, site: usize, date: NaiveDate) -> bool {
        site == self.site && (self.first..=self.last).contains(&date)
    }
}

impl TrueSpecies {
    /// Birds expected on a standard visit to the site on a day of an average year (1.0 on
    /// 1 January), all passages added up.
    pub fn expected(&self, site: usize, day: f64) -> f64 {
        let on = |p: &TruePassage| {
            let density = match p.shape {
                Shape::AllYear { .. } => p.shape.density(day),
                _ => p.shape.density(day) + p.shape.density(day + YEAR_DAYS),
            };
            p.birds[site] * density
        };
        self.passages.iter().map(on).sum()
    }
}

impl TruePassage {
    /// The season as `truth.csv` writes it.
    pub fn season_word(&self) -> &'static str {
        match self.season {
            PassageName::Spring => "spring",
            PassageName::Autumn => "autumn",
            PassageName::Winter => "winter",
            PassageName::Summer => "summer",
            PassageName::AllYear => "all-year",
        }
    }
}

impl Shape {
    /// The part of the passage that falls on a day; over all days the parts add up to 1.
    pub fn density(&self, day: f64) -> f64 {
        match *self {
            Shape::Passing { mean, spread_days } => {
                let z = (day - mean) / spread_days;
                (-0.5 * z * z).exp() / (spread_days * std::f64::consts::TAU.sqrt())
            }
            Shape::Staying {
                arrives,
                leaves,
                softness_days,
            } => {
                let come = logistic((day - arrives) / softness_days);
                let gone = logistic((day - leaves) / softness_days);
                (come - gone) / (leaves - arrives)
            }
            Shape::AllYear { peak, wave } => {
                let turn = std::f64::consts::TAU * (day - peak) / YEAR_DAYS;
                (1.0 + wave * turn.cos()) / YEAR_DAYS
            }
        }
    }

    /// The day by which a part (0 to 1) of the birds have gone through, in fractions of a day
    /// where day `d` has its middle at `d.0`; None for birds that are there all year.
    pub fn day_of_part(&self, part: f64) -> Option<f64> {
        if matches!(self, Shape::AllYear { .. }) {
            return None;
        }
        let mut through = 0.0;
        for day in -200..700 {
            let today = self.density(f64::from(day));
            if through + today >= part {
                return Some(f64::from(day) - 0.5 + (part - through) / today);
            }
            through += today;
        }
        None
    }
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}
