//! Daily temperatures of a site.

use super::{Store, StoreError, batches};
use crate::report::Kind;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Temperature of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayTemperature {
    /// Local date.
    pub date: NaiveDate,
    /// Daily mean, deg C; half the sum of the extremes where the file gives those alone.
    pub mean_c: f64,
    /// Minimum and maximum, deg C, where the file gives them.
    pub extremes_c: Option<(f64, f64)>,
    /// The day lay in a gap of a few days and was filled on a straight line.
    pub filled: bool,
}

impl Store {
    /// Daily mean temperatures that hold for a site, deg C, in date order, as
    /// [`Store::daily_temperature`].
    pub fn temperature(&self, site: &str) -> Result<Vec<(NaiveDate, f64)>, StoreError> {
        let days = self.daily_temperature(site)?;
        Ok(days.into_iter().map(|day| (day.date, day.mean_c)).collect())
    }

    /// Daily temperatures that hold for a site, in date order. Measured days go before filled
    /// ones, then those of the site itself before those of all sites, and earlier sources before
    /// later ones.
    pub fn daily_temperature(&self, site: &str) -> Result<Vec<DayTemperature>, StoreError> {
        let mut best: BTreeMap<NaiveDate, batches::DayAtSite> = BTreeMap::new();
        let rank = |day: &batches::DayAtSite| (!day.day.filled, day.own);
        for batch in self
            .batches()?
            .iter()
            .filter(|b| b.kind == Kind::Temperature)
        {
            for day in batches::temperatures(&self.folder, batch, site)? {
                match best.get(&day.day.date) {
                    Some(known) if rank(known) >= rank(&day) => {}
                    _ => {
                        best.insert(day.day.date, day);
                    }
                }
            }
        }
        Ok(best.into_values().map(|day| day.day).collect())
    }
}
