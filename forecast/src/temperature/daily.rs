//! Daily mean temperatures, with short gaps filled.

use crate::degree_days::{DayTemperature, DegreeDayError, ValidParams, degree_days};
use chrono::{Duration, NaiveDate};

/// Gaps of up to this many days are filled on a straight line between their neighbours. A
/// choice: weather keeps for about as long.
pub const LONGEST_FILL_DAYS: i64 = 3;

/// Temperatures that make no series.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DailyTemperatureError {
    /// A day has one mean.
    #[error("{0} has more than one temperature")]
    Twice(NaiveDate),
    /// Not a number.
    #[error("the temperature of {0} is no number")]
    NotFinite(NaiveDate),
}

/// Mean temperatures by date, degrees Celsius.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyTemperature {
    first: Option<NaiveDate>,
    means: Vec<Option<f64>>,
    filled: Vec<NaiveDate>,
    gaps: Vec<(NaiveDate, NaiveDate)>,
}

impl DailyTemperature {
    /// From dated means in any order.
    pub fn new(days: &[(NaiveDate, f64)]) -> Result<Self, DailyTemperatureError> {
        let mut sorted = days.to_vec();
        sorted.sort_by_key(|d| d.0);
        if let Some(bad) = sorted.iter().find(|d| !d.1.is_finite()) {
            return Err(DailyTemperatureError::NotFinite(bad.0));
        }
        let mut series = DailyTemperature {
            first: sorted.first().map(|d| d.0),
            means: Vec::with_capacity(sorted.len()),
            filled: Vec::new(),
            gaps: Vec::new(),
        };
        for (i, (date, mean)) in sorted.iter().enumerate() {
            if let Some(before) = i.checked_sub(1).map(|b| sorted[b]) {
                series.close(before, (*date, *mean))?;
            }
            series.means.push(Some(*mean));
        }
        Ok(series)
    }

    /// Fills or notes the gap between two neighbours.
    fn close(
        &mut self,
        before: (NaiveDate, f64),
        after: (NaiveDate, f64),
    ) -> Result<(), DailyTemperatureError> {
        let apart = (after.0 - before.0).num_days();
        if apart == 0 {
            return Err(DailyTemperatureError::Twice(after.0));
        }
        let missing = before.0.iter_days().skip(1).take(apart as usize - 1);
        if apart - 1 > LONGEST_FILL_DAYS {
            self.means.extend(missing.map(|_| None));
            self.gaps
                .push((before.0 + Duration::days(1), after.0 - Duration::days(1)));
            return Ok(());
        }
        for (i, date) in missing.enumerate() {
            let part = (i as f64 + 1.0) / apart as f64;
            self.means
                .push(Some(before.1 + part * (after.1 - before.1)));
            self.filled.push(date);
        }
        Ok(())
    }

    /// Days that were missing and were filled.
    pub fn filled(&self) -> &[NaiveDate] {
        &self.filled
    }

    /// First and last days of gaps too long to fill.
    pub fn gaps(&self) -> &[(NaiveDate, NaiveDate)] {
        &self.gaps
    }

    /// As it was known at the beginning of a date: without that day, any later one, and whatever
    /// was filled from them.
    pub fn before(&self, date: NaiveDate) -> Self {
        let known = |first: NaiveDate| usize::try_from((date - first).num_days()).unwrap_or(0);
        let mut means = self.means.clone();
        means.truncate(self.first.map_or(0, known));
        let mut filled = self.filled.clone();
        filled.truncate(filled.partition_point(|day| *day < date));
        // a gap that lies across the date has no neighbour after it yet
        while let (Some(first), Some(end)) = (self.first, means.last()) {
            let day = first + Duration::days(means.len() as i64 - 1);
            if end.is_some() && filled.last() != Some(&day) {
                break;
            }
            means.pop();
            filled.pop_if(|f| *f == day);
        }
        let mut gaps = self.gaps.clone();
        let end = self.first.map(|f| f + Duration::days(means.len() as i64));
        gaps.retain(|(_, last)| end.is_some_and(|end| *last < end));
        DailyTemperature {
            first: self.first.filter(|_| !means.is_empty()),
            means,
            filled,
            gaps,
        }
    }

    /// The last day with a temperature; None for an empty series.
    pub fn last(&self) -> Option<NaiveDate> {
        Some(self.first? + Duration::days(self.means.len() as i64 - 1))
    }

    /// The means of `days` days from `from` on; None where one is missing.
    pub fn stretch(&self, from: NaiveDate, days: usize) -> Option<Vec<f64>> {
        let start = usize::try_from((from - self.first?).num_days()).ok()?;
        self.means
            .get(start..start + days)?
            .iter()
            .copied()
            .collect()
    }

    /// Mean temperature of `days` days from `from` on; None where one is missing or there is no day.
    pub fn mean(&self, from: NaiveDate, days: usize) -> Option<f64> {
        let all = self.stretch(from, days)?;
        (days > 0).then(|| all.iter().sum::<f64>() / days as f64)
    }

    /// Degree days of `days` days from `from` on, each day taken at its mean.
    pub fn degree_days(&self, from: NaiveDate, days: usize, params: &ValidParams) -> Option<f64> {
        let one = |mean: f64| -> Result<f64, DegreeDayError> {
            Ok(degree_days(DayTemperature::from_mean(mean)?, params))
        };
        self.stretch(from, days)?
            .into_iter()
            .map(one)
            .sum::<Result<f64, _>>()
            .ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2004, 2, d).unwrap()
    }

    #[test]
    fn short_gaps_are_filled_and_told_and_long_ones_stay() {
        let days = [(day(1), 1.0), (day(5), 9.0), (day(10), 0.0), (day(11), 2.0)];
        let series = DailyTemperature::new(&days).unwrap();
        assert_eq!(series.filled(), [day(2), day(3), day(4)]);
        assert_eq!(series.gaps(), [(day(6), day(9))]);
        assert_eq!(
            series.stretch(day(1), 5),
            Some(vec![1.0, 3.0, 5.0, 7.0, 9.0])
        );
        assert_eq!(series.mean(day(1), 5), Some(5.0));
        assert_eq!(series.mean(day(4), 3), None);
        assert_eq!(series.mean(day(10), 2), Some(1.0));
        assert_eq!(series.mean(day(10), 3), None);
        assert_eq!(series.mean(day(10), 0), None);
        assert_eq!(series.last(), Some(day(11)));
    }

    #[test]
    fn what_was_known_on_a_date_is_the_series_of_the_days_before_it() {
        let days = [
            (day(1), 1.0),
            (day(2), 4.0),
            (day(5), 9.0),
            (day(12), 0.0),
            (day(14), 2.0),
        ];
        let whole = DailyTemperature::new(&days).unwrap();
        for d in 1..=16 {
            let earlier: Vec<_> = days.into_iter().filter(|x| x.0 < day(d)).collect();
            let known = DailyTemperature::new(&earlier).unwrap();
            assert_eq!(whole.before(day(d)), known, "before the {d}th");
        }
    }

    #[test]
    fn a_day_has_one_temperature() {
        let twice = DailyTemperature::new(&[(day(2), 1.0), (day(1), 0.0), (day(2), 3.0)]);
        assert_eq!(twice, Err(DailyTemperatureError::Twice(day(2))));
        let none = DailyTemperature::new(&[(day(2), f64::NAN)]);
        assert_eq!(none, Err(DailyTemperatureError::NotFinite(day(2))));
        let empty = DailyTemperature::new(&[]).unwrap();
        assert_eq!((empty.last(), empty.mean(day(1), 1)), (None, None));
    }
}
