//! How the counted birds looked: kept beside the counts, which add over them.

use super::batches::{self, BirdsSeen};
use super::{Store, StoreError};
use crate::report::Kind;

impl Store {
    /// Records of a species at a site whose age, sex or plumage is written, by source and line.
    ///
    /// # Errors
    ///
    /// [`StoreError`] where the store is damaged.
    pub fn looks(&self, site: &str, species: &str) -> Result<Vec<BirdsSeen>, StoreError> {
        let mut all = Vec::new();
        for batch in self.batches()?.iter().filter(|b| b.kind == Kind::Counts) {
            let place = self.place(batch, site)?;
            all.extend(batches::looks(&self.folder, batch, (site, place), species)?);
        }
        Ok(all)
    }
}
