//! How much better a slip explains a record than the record itself does.

use super::expected::{Expected, at_least, likelihood, of_any_number};
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
    /// A digit too many at the end of the number, mostly a nought.
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
    /// Birds expected by the best explanation: on the other date, or of the other member of the set;
    /// None of explanations that name neither.
    pub expected_instead: Option<f64>,
}

impl Judged {
    /// The part that slips of a kind have in all that would explain the record, 0..=1.
    pub fn part(&self, of: impl Fn(&Explanation) -> bool) -> f64 {
        let top = self.explanations.first().map_or(0.0, |e| e.1);
        let sum = |of: &dyn Fn(&Explanation) -> bool| -> f64 {
            let kind = self.explanations.iter().filter(|e| of(&e.0));
            kind.map(|e| (e.1 - top).exp()).sum()
        };
        let all = sum(&|_| true);
        if all > 0.0 { sum(&of) / all } else { 0.0 }
    }
}

/// A slip that moves birds in part is rarer than one that moves them all. A choice of ours, not
/// estimated: a swapped date takes the whole entry with it, while of a mixed flock some birds alone
/// may be misnamed; one time in five allows for that without leading.
const PART_MOVED: f64 = 0.2;
/// Of more birds than this a slip is taken to have moved all. A choice of ours: every part is
/// reckoned by itself, which would take ever longer for what is the rarer slip anyway.
const MOST_PARTS: u32 = 60;
/// A first record for a site is a slip of some kind so many times as often as another. A choice of
/// ours: a forecast made of noughts alone can hardly say how unlikely a bird is.
const FIRST_HERE: f64 = 10.0;
/// A digit other than a nought is struck too many so many times as often. A choice of ours: noughts
/// come of habit, of a wrong column and of a key held down, other digits of the last alone.
const OTHER_DIGIT: f64 = 0.1;
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
    let scene = Scene {
        said,
        told,
        expected,
        night,
    };
    let mut explanations: Vec<(Explanation, f64)> =
        scene.swapped_date(weights).into_iter().collect();
    explanations.extend(scene.look_alikes(relatives, weights));
    explanations.extend(scene.tenfold(weights));
    explanations.push(scene.other(weights));
    for (_, ratio) in &mut explanations {
        *ratio = ratio.ln();
    }
    explanations.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(Judged {
        score: sum_of_logs(&explanations),
        at_least: at_least(night, said.count.birds()),
        any: at_least(night, 1),
        expected: night.mean,
        expected_instead: explanations.first().and_then(|best| scene.instead(&best.0)),
        explanations,
    })
}

/// A record and what it is held to.
struct Scene<'a> {
    said: &'a Said,
    told: &'a Told<'a>,
    expected: &'a Expected,
    night: &'a Night,
}

/// Each slip with its weighted ratio.
impl Scene<'_> {
    fn swapped_date(&self, weights: &Weights) -> Option<(Explanation, f64)> {
        let said = self.said;
        let date = swapped(said.date)?;
        let there = self.told.count(said.species, date);
        let other = self.expected.at(said.species, date)?;
        let ratio = moved(said.count, self.night, there, other);
        let ratio = ratio * self.listed(date) / self.listed(said.date);
        Some((Explanation::SwappedDate(date), weights.swapped * ratio))
    }

    /// The weight of a name that was taken for another is shared by the other members.
    fn look_alikes(&self, relatives: &[usize], weights: &Weights) -> Vec<(Explanation, f64)> {
        let said = self.said;
        let others = || relatives.iter().copied().filter(|o| *o != said.species);
        let weight = weights.look_alike / others().count().max(1) as f64;
        let one = |other: usize| {
            let there = self.told.count(other, said.date);
            let other_night = self.expected.at(other, said.date)?;
            let ratio = moved(said.count, self.night, there, other_night);
            Some((Explanation::LookAlike(other), weight * ratio))
        };
        others().filter_map(one).collect()
    }

    fn tenfold(&self, weights: &Weights) -> Option<(Explanation, f64)> {
        let count = self.said.count;
        let ratio = likelihood(self.night, tenth(count)?) / likelihood(self.night, count);
        let weight = match count.birds().is_multiple_of(10) {
            true => weights.tenfold / rounded_to(count),
            false => weights.tenfold * OTHER_DIGIT,
        };
        Some((Explanation::Tenfold, weight * ratio))
    }

    fn other(&self, weights: &Weights) -> (Explanation, f64) {
        let as_told = likelihood(self.night, self.said.count);
        let ratio = of_any_number(self.said.count) / as_told / self.listed(self.said.date);
        let weight = match self.expected.is_new(self.said.species) {
            true => weights.other * FIRST_HERE,
            false => weights.other,
        };
        (Explanation::Other, weight * ratio)
    }

    fn instead(&self, explanation: &Explanation) -> Option<f64> {
        let night = match explanation {
            Explanation::SwappedDate(date) => self.expected.at(self.said.species, *date),
            Explanation::LookAlike(other) => self.expected.at(*other, self.said.date),
            Explanation::Tenfold | Explanation::Other => None,
        };
        night.map(|night| night.mean)
    }

    fn listed(&self, date: NaiveDate) -> f64 {
        match self.told.visited(date) {
            true => 1.0,
            false => OFF_THE_LIST,
        }
    }
}

fn sum_of_logs(explanations: &[(Explanation, f64)]) -> f64 {
    let top = explanations.first().map_or(0.0, |e| e.1);
    let sum: f64 = explanations.iter().map(|e| (e.1 - top).exp()).sum();
    top + sum.ln()
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

/// The count with its last digit gone.
fn tenth(count: Count) -> Option<Count> {
    let of = |n: u32| (n >= 10).then_some(n / 10);
    match count {
        Count::Exactly(n) => of(n).map(Count::Exactly),
        Count::About(n) => of(n).map(Count::About),
        Count::AtLeast(n) => of(n).map(Count::AtLeast),
        Count::Present | Count::Unknown => None,
    }
}

/// So many numbers of birds would be estimated at this one: of about 80 those from 75 to 84.
fn rounded_to(count: Count) -> f64 {
    let Count::About(n) = count else { return 1.0 };
    let mut step = 1;
    while n > 0 && n.is_multiple_of(step * 10) {
        step *= 10;
    }
    f64::from(step)
}
