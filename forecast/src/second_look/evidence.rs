//! How much better a slip explains a record than the record itself does.

use super::expected::{Expected, at_least, likelihood};
use super::said::{Said, Told, swapped};
use crate::outlook::Night;
use crate::series::Count;
use chrono::NaiveDate;

/// What may have put a record where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Explanation {
    /// Day and month changed places: this is the other date.
    SwappedDate(NaiveDate),
    /// The birds were of this member of a look-alike set.
    LookAlike(usize),
    /// A nought too many.
    Tenfold,
    /// Some other slip: a wrong line, a wrong place, a wrong list.
    Other,
}

/// How often each slip is made, against each other; chosen on the years 2003 to 2005 of the
/// night-migrant counts with slips planted in them (`forecast/examples/second_look`).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// Day and month that changed places.
    pub swapped: f64,
    /// Taken for another member of the set.
    pub look_alike: f64,
    /// A nought too many.
    pub tenfold: f64,
    /// Anything else.
    pub other: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Weights {
            swapped: 5.0,
            look_alike: 1.0,
            tenfold: 3.0,
            other: 0.003,
        }
    }
}

/// A record held to what was expected without it.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Natural logarithm of the ratio: the higher, the more surprising.
    pub score: f64,
    /// Explanations with the logarithm of their weighted ratios, the best first.
    pub explanations: Vec<(Explanation, f64)>,
    /// Probability of at least so many birds on that visit.
    pub at_least: f64,
    /// Probability of any bird on that visit.
    pub any: f64,
    /// Birds expected on it.
    pub expected: f64,
}

/// A slip that moves birds in part is rarer than one that moves them all. A choice of ours, not
/// estimated: a swapped date takes the whole entry with it, while of a mixed flock some birds alone
/// may be misnamed; one time in five allows for that without leading.
const PART_MOVED: f64 = 0.2;
/// Of more birds than this a slip is taken to have moved all. A choice of ours: every part is
/// reckoned by itself, which would take ever longer for what is the rarer slip anyway.
const MOST_PARTS: u32 = 60;
/// Part of true records that stand on a date without a visit, the list of visits being at fault.
/// A choice of ours, not counted: lists are seldom at fault, but often enough that a missing visit
/// alone must not settle that a date is wrong.
const OFF_THE_LIST: f64 = 1e-3;

/// Judges a record of a species found. `relatives` are the other members of its look-alike sets.
/// None where nothing was expected on the date, or no bird is told of.
pub fn judge(
    said: &Said,
    told: &Told,
    expected: &Expected,
    relatives: &[usize],
    weights: &Weights,
) -> Option<Judged> {
    if said.count.found() != Some(true) {
        return None;
    }
    let night = expected.at(said.species, said.date)?;
    let mut explanations = Vec::new();
    let mut add = |what, weight: f64, ratio: f64| explanations.push((what, (weight * ratio).ln()));
    if let Some((date, ratio)) = swapped_date(said, told, expected, night) {
        add(Explanation::SwappedDate(date), weights.swapped, ratio);
    }
    let others: Vec<usize> = relatives
        .iter()
        .copied()
        .filter(|o| *o != said.species)
        .collect();
    for other in &others {
        let there = told.count(*other, said.date);
        if let Some(other_night) = expected.at(*other, said.date) {
            let ratio = moved(said.count, night, there, other_night);
            let weight = weights.look_alike / others.len() as f64;
            add(Explanation::LookAlike(*other), weight, ratio);
        }
    }
    if let Some(tenth) = tenth(said.count) {
        let ratio = likelihood(night, tenth) / likelihood(night, said.count);
        add(Explanation::Tenfold, weights.tenfold, ratio);
    }
    let n = f64::from(said.count.birds());
    let listed = if told.visited(said.date) {
        1.0
    } else {
        OFF_THE_LIST
    };
    let other = 1.0 / (n * (n + 1.0)) / likelihood(night, said.count) / listed;
    add(Explanation::Other, weights.other, other);
    explanations.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(Judged {
        score: sum_of_logs(&explanations),
        explanations,
        at_least: at_least(night, said.count.birds()),
        any: at_least(night, 1),
        expected: night.mean,
    })
}

fn sum_of_logs(explanations: &[(Explanation, f64)]) -> f64 {
    let top = explanations.first().map_or(0.0, |e| e.1);
    let sum: f64 = explanations.iter().map(|e| (e.1 - top).exp()).sum();
    top + sum.ln()
}

fn swapped_date(
    said: &Said,
    told: &Told,
    expected: &Expected,
    night: &Night,
) -> Option<(NaiveDate, f64)> {
    let date = swapped(said.date)?;
    let there = told.count(said.species, date);
    let ratio = moved(said.count, night, there, expected.at(said.species, date)?);
    let listed = |d| if told.visited(d) { 1.0 } else { OFF_THE_LIST };
    Some((date, ratio * listed(date) / listed(said.date)))
}

/// How much more likely the two counts are if the birds told of here belong, all or in part, with
/// those there, than as they stand.
fn moved(here: Count, night: &Night, there: Count, other: &Night) -> f64 {
    let n = here.birds();
    let as_told = likelihood(night, here) * likelihood(other, there);
    let with = |moved: u32| {
        let (left, more) = (less(here, moved), plus(there, moved));
        likelihood(night, left) * likelihood(other, more) / as_told
    };
    if n <= 1 || n > MOST_PARTS || !matches!(here, Count::Exactly(_)) {
        return with(n);
    }
    let parts: f64 = (1..n).map(with).sum();
    (1.0 - PART_MOVED) * with(n) + PART_MOVED * parts / f64::from(n - 1)
}

fn less(count: Count, birds: u32) -> Count {
    Count::Exactly(count.birds().saturating_sub(birds))
}

/// A count with birds added. Of a visit that told nothing, only the birds added are known of.
fn plus(count: Count, birds: u32) -> Count {
    match count {
        Count::Exactly(n) => Count::Exactly(n.saturating_add(birds)),
        Count::About(n) => Count::About(n.saturating_add(birds)),
        Count::AtLeast(n) => Count::AtLeast(n.saturating_add(birds)),
        Count::Present => Count::AtLeast(birds.saturating_add(1)),
        Count::Unknown => Count::AtLeast(birds),
    }
}

/// The count with its last nought gone.
fn tenth(count: Count) -> Option<Count> {
    let of = |n: u32| (n >= 10 && n.is_multiple_of(10)).then_some(n / 10);
    match count {
        Count::Exactly(n) => of(n).map(Count::Exactly),
        Count::About(n) => of(n).map(Count::About),
        Count::AtLeast(n) => of(n).map(Count::AtLeast),
        Count::Present | Count::Unknown => None,
    }
}
