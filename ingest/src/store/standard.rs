//! The effort of a standard visit, and histories measured by that of other years.

use super::SiteHistory;
use super::error::StoreError;
use forecast::series::{CountSeries, Visit};
use std::ops::Range;
use std::sync::Arc;

/// Natural logarithm of the effort in standard visits; 0 where either is not known.
pub(super) fn log_ratio(effort: Option<f64>, standard: Option<f64>) -> f64 {
    effort.zip(standard).map_or(0.0, |(e, s)| (e / s).ln())
}

/// Of an even number of values, the mean of the middle two.
pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    Some((values[middle - 1] + upper) / 2.0)
}

impl SiteHistory {
    /// The same counts, their effort measured by the standard visit of some calendar years alone,
    /// so that a forecast of past years knows nothing of how long later visits were: a visit
    /// without a recorded effort is taken as a standard one, and weighs more or less beside the
    /// others as the standard moves. A standard that the site states stays.
    ///
    /// # Errors
    ///
    /// [`StoreError::Series`] where an effort makes no finite ratio.
    pub fn measured_by(&self, years: Range<i32>) -> Result<Self, StoreError> {
        if self.standard_is_stated {
            return Ok(self.clone());
        }
        let dated = || self.visits.iter().zip(&self.efforts);
        let within = dated().filter(|(v, _)| years.contains(&v.year()));
        let standard = median(within.filter_map(|(_, e)| *e).collect());
        let visit = |(v, effort): (&Visit, &Option<f64>)| Visit {
            log_effort_ratio: log_ratio(*effort, standard),
            ..*v
        };
        let visits: Arc<[Visit]> = dated().map(visit).collect();
        let on_them = |series: &CountSeries| {
            let counts = series.iter().map(|(_, count)| count).collect();
            let made = CountSeries::new(visits.clone(), counts);
            made.map_err(|cause| StoreError::Series {
                site: self.site.clone(),
                cause,
            })
        };
        let species = self.species.iter();
        Ok(SiteHistory {
            species: species
                .map(|(name, s)| Ok((name.clone(), on_them(s)?)))
                .collect::<Result<_, StoreError>>()?,
            unrecorded: on_them(&self.unrecorded)?,
            standard_effort: standard,
            visits,
            ..self.clone()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians() {
        assert_eq!(median(vec![]), None);
        assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(vec![4.0, 1.0, 2.0, 3.0]), Some(2.5));
    }
}
