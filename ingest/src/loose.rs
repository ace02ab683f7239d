//! Records that are part of no series, put together across sources.

use config::meaning::OverlapRule;
use forecast::series::Count;
use std::collections::BTreeMap;

/// Records that are part of no series, as several sources tell them: of those of the same birds on
/// the same visit, by the rule.
#[derive(Debug)]
pub(crate) struct Loose<K> {
    /// Each with its place in the order of sources and files.
    records: BTreeMap<K, Vec<(usize, Count)>>,
    met: usize,
}

impl<K> Default for Loose<K> {
    fn default() -> Self {
        Loose {
            records: BTreeMap::new(),
            met: 0,
        }
    }
}

impl<K: Ord + Clone> Loose<K> {
    pub(crate) fn add(&mut self, of: K, count: Count) {
        self.records.entry(of).or_default().push((self.met, count));
        self.met += 1;
    }

    /// Takes in those of a further source.
    pub(crate) fn merge(&mut self, other: Self, rule: OverlapRule) {
        for (of, mut records) in other.records {
            records.iter_mut().for_each(|(place, _)| *place += self.met);
            let known = self.records.entry(of).or_default();
            match rule {
                OverlapRule::Largest if sum(known) >= sum(&records) && !known.is_empty() => {}
                OverlapRule::Largest => *known = records,
                OverlapRule::First | OverlapRule::Add => known.extend(records),
            }
        }
        self.met += other.met;
    }

    /// All that stand, in the order of sources and files.
    pub(crate) fn all(self) -> Vec<(K, Count)> {
        let records = self.records.into_iter();
        let each = records.flat_map(|(of, records)| {
            let record = move |(place, count)| (place, of.clone(), count);
            records.into_iter().map(record)
        });
        let mut all: Vec<(usize, K, Count)> = each.collect();
        all.sort_by_key(|(place, ..)| *place);
        all.into_iter().map(|(_, of, count)| (of, count)).collect()
    }
}

fn sum(records: &[(usize, Count)]) -> u64 {
    let birds = records.iter().map(|(_, count)| u64::from(count.birds()));
    birds.sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use Count::*;

    #[test]
    fn loose_records_of_two_sources() {
        let of = |records: &[(&'static str, u32)]| {
            let mut loose = Loose::default();
            let mut add = |(bird, birds): &(&'static str, u32)| loose.add(*bird, Exactly(*birds));
            records.iter().for_each(&mut add);
            loose
        };
        let (stint, tern) = (|n| ("stint", Exactly(n)), ("tern", Exactly(1)));
        for (rule, expected) in [
            (OverlapRule::Largest, vec![tern, stint(2), stint(2)]),
            (OverlapRule::Add, vec![tern, stint(3), stint(2), stint(2)]),
        ] {
            let mut all = of(&[("tern", 1), ("stint", 3)]);
            all.merge(of(&[("stint", 2), ("stint", 2)]), rule);
            assert_eq!(all.all(), expected, "{rule:?}");
        }
    }
}
