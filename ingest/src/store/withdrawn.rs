//! Records that their finders withdrew stay in the store, and out of every series.

use super::counts::{Counted, Visits};
use super::second_looks::RecordKey;
use forecast::series::Count;

/// Makes the withdrawn records unknown; which there were.
pub(super) fn leave_out(
    counted: &mut Counted,
    visits: &Visits,
    withdrawn: &[RecordKey],
) -> Vec<String> {
    let standard = || visits.iter().filter(|(_, v)| v.standard);
    let mut left_out = Vec::new();
    for record in withdrawn {
        let Some(counts) = counted.species.get_mut(&record.species) else {
            continue;
        };
        let place = standard().position(|(date, _)| *date == record.date);
        let Some(count) = place.and_then(|place| counts.get_mut(place)) else {
            continue;
        };
        // a row that says something else by now is another record
        if super::said(*count) == record.said {
            *count = Count::Unknown;
            left_out.push(record.fingerprint());
        }
    }
    left_out
}
