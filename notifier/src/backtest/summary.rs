//! What a backtest found: the documented JSON of `wingtide backtest --json`.
//!
//! Everywhere `ours` is the program's forecast, `hand` the hand climatology (the counts of all
//! earlier years, or of the stated history, on visits within 7 days of the date) and `last_five`
//! the same over the five years before. Scores are better when lower. Keys are only ever added.

use super::tally::{PIT_BINS, Three};
use serde::Serialize;

/// The whole backtest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// First year tested.
    pub from: i32,
    /// Last year tested.
    pub to: i32,
    /// Preceding years learnt from; null: all.
    pub history: Option<i32>,
    /// Stretches of the year, MM-DD to MM-DD, on whose Mondays forecasts were issued.
    pub issued: Vec<[String; 2]>,
    /// Weeks ahead.
    pub weeks: u32,
    /// A species is tested in a year before which the site had so many birds of it.
    pub least_birds: u64,
    /// Probability inside the intervals of gains, which come from resampling whole years.
    pub interval_level: f64,
    /// True where the hand climatology and that of the last five years are the same.
    pub climatologies_agree: bool,
    /// Every site that could be tested, in the workspace's order.
    pub sites: Vec<SiteSummary>,
    /// All sites together, `site` null; null where there is one site only.
    pub all_sites: Option<SiteSummary>,
    /// What could not be tested, and why.
    pub left_out: Vec<LeftOut>,
}

impl Summary {
    /// "2006 to 2011".
    pub fn years(&self) -> String {
        match self.from == self.to {
            true => self.from.to_string(),
            false => format!("{} to {}", self.from, self.to),
        }
    }
}

/// Years of a site without forecasts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Site id.
    pub site: String,
    /// The years.
    pub years: Vec<i32>,
    /// Why, as part of a sentence.
    pub why: String,
}

/// One site.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SiteSummary {
    /// Site id; null for all sites together.
    pub site: Option<String>,
    /// Its full name.
    pub name: String,
    /// Years with forecasts.
    pub years: Vec<i32>,
    /// Forecasts made, of counts and of weeks.
    pub forecasts: usize,
    /// Forecasts of counts that had no number to be scored against.
    pub unnumbered: usize,
    /// All forecasts.
    pub overall: Part,
    /// By weeks ahead.
    pub by_horizon: Vec<WeeksAhead>,
    /// By species, in the order of their names; empty for all sites together.
    pub by_species: Vec<SpeciesPart>,
    /// Chances of being found in a week against what was found, in ten equal bins.
    /// Null where no week could be scored.
    pub reliability: Option<Means<Calibration>>,
    /// Histogram of the probability integral transform of counts, ten equal bins, summing to 1;
    /// 0.1 each where forecasts are right (nonrandomised, Czado, Gneiting & Held 2009). Null where
    /// no count could be scored.
    pub pit: Option<Means<[f64; PIT_BINS]>>,
    /// Central intervals of counts; empty where no count could be scored.
    pub coverage: Vec<Coverage>,
}

/// One value for each forecast.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Means<T> {
    /// The program's.
    pub ours: T,
    /// The hand climatology's.
    pub hand: T,
    /// The climatology's of the last five years.
    pub last_five: T,
}

impl<T> From<Three<T>> for Means<T> {
    fn from(Three { ours, hand, recent }: Three<T>) -> Self {
        Means {
            ours,
            hand,
            last_five: recent,
        }
    }
}

/// Forecasts of one horizon.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WeeksAhead {
    /// 1 is the week that begins with the issue Monday.
    pub weeks_ahead: u32,
    /// Scores.
    #[serde(flatten)]
    pub part: Part,
}

/// Forecasts of one species.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpeciesPart {
    /// Scientific name.
    pub species: String,
    /// Scores.
    #[serde(flatten)]
    pub part: Part,
}

/// Scores of a part of the forecasts. A forecast of a visit is made up to four times, once for
/// every horizon, and counts as often.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Part {
    /// Forecasts of the count on a visit; null where none was scored.
    pub counts: Option<Counts>,
    /// Forecasts of finding at least one in a week; null where none was scored.
    pub weeks: Option<Weeks>,
}

/// Scores of counts. Counts above 140 are scored as "more than 140" throughout.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Counts {
    /// Forecasts scored.
    pub scored: usize,
    /// Birds in the counts.
    pub birds: u64,
    /// Continuous ranked probability score, birds; gains are parts of the other's score.
    pub crps: Comparison,
    /// Log score, nats; gains are differences in nats. No probability is taken for less than
    /// 1e-12.
    pub log_score: Comparison,
}

/// Scores of chances.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Weeks {
    /// Forecasts scored.
    pub scored: usize,
    /// Weeks in which the species was found.
    pub found: usize,
    /// Brier score; gains are parts of the other's score.
    pub brier: Comparison,
    /// Log loss, nats; gains are differences in nats. No probability is taken for less than
    /// 1e-12.
    pub log_loss: Comparison,
}

/// A mean score and how much better ours is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Comparison {
    /// Means over forecasts.
    pub mean: Means<f64>,
    /// Against the hand climatology.
    pub gain_on_hand: Gain,
    /// Against that of the last five years.
    pub gain_on_last_five: Gain,
}

/// Above 0 ours is better.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gain {
    /// Over all years; null where the other forecast was never wrong.
    pub estimate: Option<f64>,
    /// Ends of its interval; null where fewer than two years were scored, or the other forecast
    /// was never wrong in one of them.
    pub interval: Option<(f64, f64)>,
}

/// How chances and frequencies agree.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calibration {
    /// Mean over forecasts of |mean chance - frequency| of their bin.
    pub calibration_error: f64,
    /// Ten bins in order, empty ones too.
    pub bins: Vec<Bin>,
}

/// Chances of one bin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bin {
    /// Lower edge.
    pub from: f64,
    /// Upper edge, which belongs to the next bin.
    pub to: f64,
    /// Weeks forecast so.
    pub weeks: usize,
    /// Weeks of those in which the species was found.
    pub found: usize,
    /// Mean of the chances; null for an empty bin.
    pub mean_chance: Option<f64>,
}

/// A central interval of counts: from the first count that the distribution reaches
/// (1 - level) / 2 with to the first that it reaches (1 + level) / 2 with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Coverage {
    /// Its level.
    pub level: f64,
    /// What each forecast said and what came.
    pub intervals: Means<Held>,
}

/// Parts of the counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Held {
    /// Mean probability that the forecasts gave their intervals: more than the level, since
    /// counts are whole.
    pub said: f64,
    /// Counts that lay inside.
    pub inside: f64,
    /// Counts below.
    pub below: f64,
    /// Counts above.
    pub above: f64,
}
