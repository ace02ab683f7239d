//! Names that stand for others that nobody may know: of sites whose place is coarsened, and of sets
//! whose own id names a species that is kept back.
//!
//! An alias is the beginning of an HMAC-SHA-256 (RFC 2104) of the id under the store's own key, so that
//! it stays as long as the store does, whatever is written before it, and nobody without the key finds
//! the id behind it by trying.

use crate::deliveries::DeliveryError;
use crate::deliveries::key::{StoreKey, hex};
use config::sensitive::Sensitive;
use config::settings::Workspace;
use std::collections::{BTreeMap, BTreeSet};

/// Digits of an alias: 24 bits tell a reserve's few sites apart, and are short enough to be read out.
const DIGITS: usize = 6;

/// The aliases of a workspace by the ids that they stand for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Aliases {
    sites: BTreeMap<String, String>,
    sets: BTreeMap<String, String>,
}

impl Aliases {
    /// Of every site that is coarsened and, where a species is kept back, of every set. The key is not
    /// touched where none is wanted.
    ///
    /// # Errors
    /// [`DeliveryError`] where the store's key cannot be read, or made.
    pub fn of(workspace: &Workspace) -> Result<Self, DeliveryError> {
        let coarse = |s: &Option<Sensitive>| matches!(s, Some(Sensitive::Coarsen { .. }));
        let sites = workspace.sites.iter().filter(|s| coarse(&s.sensitive));
        let sites: Vec<&str> = sites.map(|s| s.id.as_str()).collect();
        let is_kept_back = workspace.species.iter().any(|s| s.sensitive.is_some());
        let sets = workspace.look_alikes.iter().chain(&workspace.library);
        let sets: BTreeSet<&str> = sets
            .filter(|_| is_kept_back)
            .map(|set| set.id.as_str())
            .collect();
        if sites.is_empty() && sets.is_empty() {
            return Ok(Aliases::default());
        }
        let key = StoreKey::open(&workspace.root)?;
        let of_site = |id: &str| workspace.sites.iter().any(|s| s.id == id);
        let of_set = |id: &str| sets.contains(id);
        Ok(Aliases {
            sites: given(&key, "area", &sites, of_site),
            sets: given(
                &key,
                "set",
                sets.iter().copied().collect::<Vec<_>>().as_slice(),
                of_set,
            ),
        })
    }

    /// The digits under which a coarsened site is known.
    pub(super) fn site(&self, id: &str) -> Option<&str> {
        self.sites.get(id).map(String::as_str)
    }

    /// The digits under which a set is known that cannot go by its id.
    pub(super) fn set(&self, id: &str) -> Option<&str> {
        self.sets.get(id).map(String::as_str)
    }
}

/// As many digits as tell it from those before it and from ids that are taken.
fn given(
    key: &StoreKey,
    kind: &str,
    ids: &[&str],
    is_taken: impl Fn(&str) -> bool,
) -> BTreeMap<String, String> {
    let mut made: BTreeMap<String, String> = BTreeMap::new();
    for id in ids {
        let whole = hex(&key.code(kind, &[id]));
        let free = |digits: &&str| {
            let before = made.values().any(|other| other == digits);
            !before && !is_taken(&format!("{kind}-{digits}"))
        };
        let mut lengths = (DIGITS..=whole.len()).map(|length| &whole[..length]);
        let digits = lengths.find(|d| free(d)).unwrap_or(&whole).to_owned();
        made.insert((*id).to_owned(), digits);
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> (tempfile::TempDir, StoreKey) {
        let root = tempfile::tempdir().expect("a folder");
        let key = StoreKey::open(root.path()).expect("a key");
        (root, key)
    }

    #[test]
    fn an_alias_hangs_on_its_own_id_and_the_key_alone() {
        let (_root, key) = key();
        let alone = given(&key, "area", &["hidden-fen"], |_| false);
        let among = given(&key, "area", &["loch-arne", "hidden-fen"], |_| false);
        assert_eq!(alone["hidden-fen"], among["hidden-fen"]);
        assert_eq!(alone["hidden-fen"].len(), DIGITS);
        assert_ne!(among["loch-arne"], among["hidden-fen"]);
        let (_other, others) = self::key();
        let elsewhere = given(&others, "area", &["hidden-fen"], |_| false);
        assert_ne!(
            alone, elsewhere,
            "one chance in 16 millions that they agree"
        );
        let of_set = given(&key, "set", &["hidden-fen"], |_| false);
        assert_ne!(alone, of_set);
    }

    #[test]
    fn an_alias_that_is_taken_gets_longer() {
        let (_root, key) = key();
        let usual = &given(&key, "area", &["hidden-fen"], |_| false)["hidden-fen"];
        let taken = |id: &str| id == format!("area-{usual}");
        let longer = &given(&key, "area", &["hidden-fen"], taken)["hidden-fen"];
        assert_eq!(longer.len(), DIGITS + 1);
        assert!(longer.starts_with(usual.as_str()));
    }
}
