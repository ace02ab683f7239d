//! What is asked of the records of one site.

use super::found::Found;
use super::{Question, Suspect, once, swapped, twice, usual};
use crate::store::{BatchRow, Store, StoreError};
use chrono::NaiveDate;
use config::settings::Workspace;
use serde::{Deserialize, Serialize};

/// The answers, which hold as long as the site has the same records.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(crate) struct OfSite {
    pub(super) suspects: Vec<Suspect>,
    /// The last find: where it lies in the future, that is asked about too.
    pub(super) latest: Option<NaiveDate>,
}

impl OfSite {
    /// Looks at all records of the site.
    pub(super) fn gather(
        store: &Store,
        batches: &[&BatchRow],
        site: &str,
        workspace: &Workspace,
    ) -> Result<Self, StoreError> {
        Ok(OfSite::of(&Found::at(store, batches, site)?, workspace))
    }

    /// Everything but what lies in the future.
    pub(super) fn of(found: &Found, workspace: &Workspace) -> Self {
        let mut suspects = usual::ten_times(found);
        suspects.extend(swapped::out_of_season(found));
        suspects.extend(once::residents(found));
        // a source that is read otherwise has another batch
        suspects.extend(twice::ask(&found.twice, &found.sources, workspace));
        let finds = found.series().flat_map(|series| &series.finds);
        OfSite {
            suspects,
            latest: finds.map(|find| find.date).max(),
        }
    }
}

/// Finds dated after today at a site.
pub(super) fn future(found: &Found, site: &str, today: NaiveDate) -> Vec<Suspect> {
    let series = found.series().filter(|s| s.site == site);
    let finds = series.flat_map(|s| s.finds.iter().map(move |f| (s, f)));
    let ahead = finds.filter(|(_, find)| find.date > today);
    ahead
        .map(|(series, find)| {
            let why = format!("today is {today} at the site");
            found.suspect(Question::Future, series, find, why)
        })
        .collect()
}
