//! A site's counts without the records that are still asked about.

use super::list::SecondLooks;
use super::place::without;
use ingest::store::SiteHistory;

/// Makes every unanswered record of the site unknown; how many there were.
pub fn leave_out_pending(history: &mut SiteHistory, found: &SecondLooks) -> usize {
    let mut left_out = 0;
    for question in found.pending().filter(|q| q.key.site == history.site) {
        let Some(series) = history.species.get_mut(&question.key.species) else {
            continue;
        };
        if let Some(less) = without(series, question.key.date) {
            *series = less;
            left_out += 1;
        }
    }
    left_out
}
