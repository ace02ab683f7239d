//! Daily mean temperature.

use super::Span;
use super::random::{Purpose, normal, stream};
use super::truth::{TrueWeather, Truth};
use chrono::{Datelike, Duration, NaiveDate};

/// The drawn temperatures, deg C, one a day.
#[derive(Debug, Clone)]
pub(super) struct Weather {
    first: NaiveDate,
    mean_c: Vec<f64>,
    /// Difference from the same day's normal at the origin: trend and weather of the day.
    anomaly_c: Vec<f64>,
}

impl Weather {
    /// Draws from the year before the first, because the birds of the first winter came in
    /// that year, to the last day.
    pub(super) fn draw(truth: &Truth, seed: u64, span: Span) -> Self {
        let (first, last) = (span.year_before, span.last);
        let w = &truth.weather;
        let mut rng = stream(seed, Purpose::Weather);
        // Start from the stationary distribution of the AR(1).
        let mut today = normal(&mut rng) * w.daily_sd_c / (1.0 - w.persistence.powi(2)).sqrt();
        let (mut mean_c, mut anomaly_c) = (Vec::new(), Vec::new());
        for date in first.iter_days().take_while(|d| *d <= last) {
            let anomaly = today + w.trend_c_per_decade * truth.decades(date);
            anomaly_c.push(anomaly);
            mean_c.push(w.normal_c(date) + anomaly);
            today = w.persistence * today + w.daily_sd_c * normal(&mut rng);
        }
        Weather {
            first,
            mean_c,
            anomaly_c,
        }
    }

    /// Mean temperature by day, deg C.
    pub(super) fn days(&self) -> impl Iterator<Item = (NaiveDate, f64)> {
        self.first.iter_days().zip(self.mean_c.iter().copied())
    }

    /// Mean difference from normal, deg C, over days of a year counted from 1 on 1 January;
    /// None where the weather of a day is not drawn.
    pub(super) fn mean_anomaly_c(&self, year: i32, from: i64, to: i64) -> Option<f64> {
        let new_year = NaiveDate::from_yo_opt(year, 1)?;
        let index = |day: i64| {
            let date = new_year + Duration::days(day - 1);
            usize::try_from((date - self.first).num_days()).ok()
        };
        let days = self.anomaly_c.get(index(from)?..=index(to)?)?;
        Some(days.iter().sum::<f64>() / days.len() as f64)
    }
}

impl TrueWeather {
    /// Normal temperature of a date at the origin, deg C.
    pub(super) fn normal_c(&self, date: NaiveDate) -> f64 {
        let turn = (f64::from(date.ordinal()) - self.warmest_day) / 365.25;
        self.mean_c + self.wave_c * (std::f64::consts::TAU * turn).cos()
    }
}
