//! What one source counted, whose rows of several observers are put together by its own rule.

use crate::visit::{combine, larger};
use config::meaning::ObserverRule;
use forecast::series::Count;
use std::collections::HashMap;
use std::hash::Hash;

/// Counts of one source by what they are of and by party.
pub(crate) struct Parties<K> {
    rule: ObserverRule,
    counts: HashMap<(K, u32), Count>,
}

impl<K: Eq + Hash> Parties<K> {
    pub(crate) fn new(rule: ObserverRule) -> Self {
        Parties {
            rule,
            counts: HashMap::new(),
        }
    }

    /// Takes in a row; None where its party comes to more birds than a number holds.
    pub(crate) fn add(&mut self, of: K, party: u32, count: Count) -> Option<()> {
        let party = match self.rule {
            ObserverRule::Add => 0,
            ObserverRule::Largest => party,
        };
        let known = self.counts.entry((of, party)).or_insert(Count::Unknown);
        *known = combine(*known, count)?;
        Some(())
    }

    /// What the source says.
    pub(crate) fn totals(self) -> HashMap<K, Count> {
        let mut totals = HashMap::new();
        for ((of, _), count) in self.counts {
            let known = totals.entry(of).or_insert(Count::Unknown);
            *known = larger(*known, count);
        }
        totals
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Count::Exactly;

    #[test]
    fn rows_of_a_party_add_up_and_parties_by_the_rule() {
        for (rule, expected) in [
            (ObserverRule::Add, Exactly(9)),
            (ObserverRule::Largest, Exactly(5)),
        ] {
            let mut parties = Parties::new(rule);
            for (party, birds) in [(1, 2), (2, 4), (1, 3)] {
                parties.add("dunlin", party, Exactly(birds)).unwrap();
            }
            assert_eq!(parties.totals()["dunlin"], expected, "{rule:?}");
        }
    }
}
