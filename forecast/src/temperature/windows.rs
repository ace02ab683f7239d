//! Stretches of days before a passage, and what the temperature was in them.

use super::daily::DailyTemperature;
use crate::calendar::DAYS;
use crate::degree_days::{DegreeDayError, Method, Params, ValidParams};
use chrono::{Duration, NaiveDate};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Windows lie within this many days before the passage.
pub const REACH_DAYS: u16 = 90;
/// Lengths of windows that are looked at, days. A choice: two weeks to twelve.
const LENGTHS: [u16; 5] = [14, 28, 42, 56, 84];
/// Days between the starts of windows of one length.
const STEP_DAYS: u16 = 7;

/// Days before a passage's long-term arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    start_days: u16,
    length_days: u16,
}

/// A window that does not lie before the passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "{length_days} days from {start_days} days before the arrival do not lie within the \
     {REACH_DAYS} days before it"
)]
pub struct WindowError {
    start_days: u16,
    length_days: u16,
}

impl Window {
    /// `length_days` days, the first of them `start_days` days before the arrival.
    pub fn new(start_days: u16, length_days: u16) -> Result<Self, WindowError> {
        if (1..=REACH_DAYS).contains(&start_days) && (1..=start_days).contains(&length_days) {
            return Ok(Window {
                start_days,
                length_days,
            });
        }
        Err(WindowError {
            start_days,
            length_days,
        })
    }

    /// The usual ones that end `lead_days` or more before the arrival: 0 where the day before it
    /// may count.
    pub fn usual(lead_days: u16) -> Vec<Window> {
        let of_length = |length: u16| {
            let starts = (length + lead_days..=REACH_DAYS).step_by(usize::from(STEP_DAYS));
            starts.map(move |start_days| Window {
                start_days,
                length_days: length,
            })
        };
        LENGTHS.into_iter().flat_map(of_length).collect()
    }

    /// Days from its first day to the arrival.
    pub fn start_days(self) -> u16 {
        self.start_days
    }

    /// Its days.
    pub fn length_days(self) -> u16 {
        self.length_days
    }

    /// First and last day, before an arrival on the date.
    pub fn dates(self, arrival: NaiveDate) -> (NaiveDate, NaiveDate) {
        let first = arrival - Duration::days(i64::from(self.start_days));
        (
            first,
            first + Duration::days(i64::from(self.length_days) - 1),
        )
    }
}

/// What is taken from a window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Measure {
    /// Mean temperature, deg C.
    Mean,
    /// Degree days above a base, deg C.
    DegreeDays {
        /// base, deg C
        base_c: f64,
    },
}

/// A regressor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Column {
    /// Where.
    pub window: Window,
    /// What.
    pub measure: Measure,
}

/// Mean and degree days of every window.
pub fn columns(windows: &[Window], base_c: f64) -> Vec<Column> {
    let measures = [Measure::Mean, Measure::DegreeDays { base_c }];
    let of = |measure| {
        windows.iter().map(move |window| Column {
            window: *window,
            measure,
        })
    };
    measures.into_iter().flat_map(of).collect()
}

fn degree_day_params(base_c: f64) -> Result<ValidParams, DegreeDayError> {
    // only means are known, on which every method without an upper threshold agrees
    Params {
        method: Method::Average,
        lower: base_c,
        upper: None,
    }
    .check()
}

/// The date of a position on the circle of the year, in days that run on beyond New Year, for the
/// season that began in `year`.
pub fn date_of(position: f64, year: i32) -> Option<NaiveDate> {
    let day = position.round() as i64 - 1;
    let later = i32::try_from(day.div_euclid(DAYS as i64)).ok()?;
    let first = NaiveDate::from_yo_opt(year.checked_add(later)?, 1)?;
    first.checked_add_signed(Duration::days(day.rem_euclid(DAYS as i64)))
}

/// Temperatures before one passage, season by season.
#[derive(Debug, Clone, PartialEq)]
pub struct Predictors {
    arrival_day: f64,
    columns: Vec<Column>,
    rows: BTreeMap<i32, Vec<f64>>,
}

/// Columns and rows that do not fit together.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PredictorsError {
    /// One finite value a column is needed.
    #[error("season {0} does not have one finite value for each column")]
    Row(i32),
    /// A slope is told in days per deg C: the mean of at least one window is needed.
    #[error("no column is the mean temperature of a window")]
    NoMean,
    /// A base that is no number.
    #[error(transparent)]
    Base(#[from] DegreeDayError),
}

impl Predictors {
    /// Values known already: one a column for each season.
    pub fn given(
        arrival_day: f64,
        columns: Vec<Column>,
        rows: BTreeMap<i32, Vec<f64>>,
    ) -> Result<Self, PredictorsError> {
        let fits = |row: &Vec<f64>| row.len() == columns.len() && row.iter().all(|v| v.is_finite());
        if let Some((year, _)) = rows.iter().find(|(_, row)| !fits(row)) {
            return Err(PredictorsError::Row(*year));
        }
        if !columns.iter().any(|c| c.measure == Measure::Mean) {
            return Err(PredictorsError::NoMean);
        }
        Ok(Predictors {
            arrival_day,
            columns,
            rows,
        })
    }

    /// From daily temperatures, for the season-years in which all windows are known.
    /// `arrival_day` is the long-term arrival as a position on the circle of the year.
    pub fn new(
        temperature: &DailyTemperature,
        arrival_day: f64,
        columns: Vec<Column>,
        years: impl Iterator<Item = i32>,
    ) -> Result<Self, PredictorsError> {
        for column in &columns {
            if let Measure::DegreeDays { base_c } = column.measure {
                degree_day_params(base_c)?;
            }
        }
        let row = |year| Some((year, row(temperature, arrival_day, &columns, year)?));
        let rows = years.filter_map(row).collect();
        Predictors::given(arrival_day, columns, rows)
    }

    /// Long-term arrival, as a position on the circle of the year.
    pub fn arrival_day(&self) -> f64 {
        self.arrival_day
    }

    /// What the values of a row are.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// Values of each season, one a column.
    pub fn rows(&self) -> &BTreeMap<i32, Vec<f64>> {
        &self.rows
    }
}

/// The values before one season; None where a day is missing.
fn row(
    temperature: &DailyTemperature,
    arrival_day: f64,
    columns: &[Column],
    year: i32,
) -> Option<Vec<f64>> {
    let value = |column| value(temperature, arrival_day, column, year);
    columns.iter().map(value).collect()
}

/// One value before one season; None where a day is missing.
pub(super) fn value(
    temperature: &DailyTemperature,
    arrival_day: f64,
    column: &Column,
    year: i32,
) -> Option<f64> {
    let (first, _) = column.window.dates(date_of(arrival_day, year)?);
    let days = usize::from(column.window.length_days);
    match column.measure {
        Measure::Mean => temperature.mean(first, days),
        Measure::DegreeDays { base_c } => {
            temperature.degree_days(first, days, &degree_day_params(base_c).ok()?)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn windows_lie_before_the_arrival() {
        let window = Window::new(45, 45).unwrap();
        let dates = window.dates(date("2001-04-01"));
        assert_eq!(dates, (date("2001-02-15"), date("2001-03-31")));
        assert!(Window::new(0, 1).is_err() && Window::new(10, 11).is_err());
        assert!(Window::new(91, 5).is_err() && Window::new(5, 0).is_err());
        let usual = Window::usual(0);
        assert_eq!(usual.len(), 33);
        assert!(
            usual
                .iter()
                .all(|w| Window::new(w.start_days, w.length_days) == Ok(*w))
        );
        assert!(
            Window::usual(7)
                .iter()
                .all(|w| w.start_days - w.length_days >= 7)
        );
    }

    #[test]
    fn positions_beyond_new_year_belong_to_the_season_before_it() {
        assert_eq!(date_of(91.3, 2001), Some(date("2001-04-01")));
        assert_eq!(date_of(366.0 + 5.0, 2001), Some(date("2002-01-05")));
        assert_eq!(date_of(1e18, 2001), None);
    }

    #[test]
    fn a_row_holds_means_and_degree_days() {
        let first = date("2001-03-01");
        let days: Vec<(NaiveDate, f64)> = first.iter_days().zip([2.0, 8.0, 5.0, 9.0]).collect();
        let series = DailyTemperature::new(&days).unwrap();
        let columns = columns(
            &[Window::new(4, 2).unwrap(), Window::new(3, 3).unwrap()],
            5.0,
        );
        let got = Predictors::new(&series, 64.0, columns, 2000..2003).unwrap();
        let row = vec![5.0, 22.0 / 3.0, 3.0, 7.0];
        assert_eq!(got.rows(), &BTreeMap::from([(2001, row)]));
    }
}
