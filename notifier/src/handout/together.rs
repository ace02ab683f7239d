//! When to go and look: the days of the year on which two members or more are within their
//! windows.

use crate::guidance::SiteView;
use crate::words;
use config::look_alikes::LookAlikeSet;
use forecast::calendar::{DAYS, DayOfYear};
use forecast::chance::from_curve;
use forecast::fit::{Passage, Verdict};
use forecast::year_curve::YearCurve;

/// A stretch of the year with two members or more.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    /// First and last day; it may go over New Year.
    pub(super) first: DayOfYear,
    pub(super) last: DayOfYear,
    /// Names of the members that are about on any of its days.
    pub(super) about: Vec<String>,
    /// The day on which most pairs of them are expected to be found, of those of which a chance is
    /// told.
    pub(super) best: DayOfYear,
    /// Members about on that day of which a chance is told, with it on a standard visit, the
    /// likeliest first.
    pub(super) chances: Vec<(String, f64)>,
    /// Members of which finds alone are known on some day of it.
    pub(super) untold: Vec<String>,
}

/// A member with its curve and windows.
struct Candidate<'a> {
    view: &'a SiteView<'a>,
    species: &'a str,
    name: String,
    curve: &'a YearCurve,
    passages: &'a [Passage],
}

impl Candidate<'_> {
    /// Is the day within one of its windows? What shows no season, or no trough, is about all year.
    fn about(&self, day: DayOfYear) -> bool {
        self.passages
            .iter()
            .any(|p| match (p.arrival, p.departure) {
                (Some(from), Some(to)) => {
                    // from the day told as its arrival to the one told as its departure
                    let (from, to) = (from.day.round(), to.day.round());
                    (f64::from(day.get()) - from).rem_euclid(DAYS as f64) <= to - from
                }
                _ => matches!(p.verdict, Verdict::AllYear | Verdict::NoSeason),
            })
    }

    fn told(&self, day: DayOfYear) -> bool {
        self.view.tells_of_absence(self.species, day)
    }

    fn chance(&self, day: DayOfYear) -> f64 {
        from_curve(self.curve, &[day], 1).visit
    }
}

/// The stretches of the watched year, in its order.
pub(super) fn stretches(view: &SiteView, set: &LookAlikeSet) -> Vec<Stretch> {
    let members = set.members.iter().filter_map(|m| {
        let fit = view.fits.get(&m.species)?;
        Some(Candidate {
            view,
            species: &m.species,
            name: view.shown_name(&m.species),
            curve: fit.curve.as_ref()?,
            passages: &fit.passages,
        })
    });
    let members: Vec<Candidate> = members.collect();
    let days = (1..=DAYS as u16).filter_map(|d| DayOfYear::try_from(d).ok());
    let together = |day: &DayOfYear| {
        let about = members.iter().filter(|m| m.about(*day)).count();
        about >= 2 && view.watched.on(*day)
    };
    let runs = on_circle(days.filter(together).collect());
    runs.iter().filter_map(|r| stretch(&members, r)).collect()
}

/// Days as runs; one that ends with the year goes on with the one that begins it.
fn on_circle(days: Vec<DayOfYear>) -> Vec<Vec<DayOfYear>> {
    let mut runs: Vec<Vec<DayOfYear>> = Vec::new();
    for day in days {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|l| l.get() + 1 == day.get()) => run.push(day),
            _ => runs.push(vec![day]),
        }
    }
    let begins = runs
        .first()
        .and_then(|r| r.first())
        .is_some_and(|d| d.get() == 1);
    let ends = runs
        .last()
        .and_then(|r| r.last())
        .is_some_and(|d| usize::from(d.get()) == DAYS);
    if runs.len() > 1 && begins && ends {
        let first = runs.remove(0);
        if let Some(last) = runs.last_mut() {
            last.extend(first);
        }
    }
    runs
}

fn stretch(members: &[Candidate], days: &[DayOfYear]) -> Option<Stretch> {
    let about = members.iter().filter(|m| days.iter().any(|d| m.about(*d)));
    let untold = |m: &&Candidate| days.iter().any(|d| m.about(*d) && !m.told(*d));
    let untold = members.iter().filter(untold);
    let (best, chances, _) = days
        .iter()
        .map(|day| {
            let told = members.iter().filter(|m| m.about(*day) && m.told(*day));
            let chances: Vec<(&str, f64)> =
                told.map(|m| (m.name.as_str(), m.chance(*day))).collect();
            let pairs = pairs(&chances);
            (*day, chances, pairs)
        })
        // of equal ones the first
        .reduce(|best, one| if one.2 > best.2 { one } else { best })?;
    let mut chances: Vec<(String, f64)> = chances
        .into_iter()
        .map(|(n, c)| (n.to_owned(), c))
        .collect();
    chances.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(Stretch {
        first: *days.first()?,
        last: *days.last()?,
        about: about.map(|m| m.name.clone()).collect(),
        best,
        chances,
        untold: untold.map(|m| m.name.clone()).collect(),
    })
}

/// Pairs of which both are expected to be found on a visit, as if each came by itself.
fn pairs(chances: &[(&str, f64)]) -> f64 {
    let total: f64 = chances.iter().map(|(_, p)| p).sum();
    let squares: f64 = chances.iter().map(|(_, p)| p * p).sum();
    0.5 * (total * total - squares)
}

impl Stretch {
    /// "4 August to 12 October", or all of the year.
    pub(super) fn days(&self) -> String {
        let whole = usize::from(self.last.get()) == DAYS && self.first.get() == 1;
        if whole {
            return "All year".to_owned();
        }
        let (first, last) = (day(self.first), day(self.last));
        match first == last {
            true => first,
            false => format!("{first} to {last}"),
        }
    }

    /// Who is about, and the best day with the chances on it.
    pub(super) fn told(&self) -> String {
        let mut told = vec![format!("{}.", words::list(&self.about))];
        told.extend(self.best_words());
        if !self.untold.is_empty() {
            let untold = words::list(&self.untold);
            told.push(format!(
                "Of {untold} finds alone are known, which give no chance."
            ));
        }
        told.join(" ")
    }

    /// None where of no two a chance is told.
    fn best_words(&self) -> Option<String> {
        let chances = self.chances.iter();
        let chances: Vec<String> = chances
            .map(|(name, p)| format!("{name} {}", words::chance(*p)))
            .collect();
        let best = || format!("Best about {}: {}.", day(self.best), words::list(&chances));
        (chances.len() >= 2).then(best)
    }
}

/// A day of the year as a date of a common year, as passages have theirs.
fn day(day: DayOfYear) -> String {
    day.in_year(2023).map(words::day_month).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(of: impl IntoIterator<Item = u16>) -> Vec<DayOfYear> {
        of.into_iter()
            .map(|d| DayOfYear::try_from(d).unwrap())
            .collect()
    }

    #[test]
    fn a_run_over_new_year_is_one() {
        let runs = on_circle(days((1..=3).chain(100..=101).chain(365..=366)));
        assert_eq!(runs, [days(100..=101), days([365, 366, 1, 2, 3])]);
        assert_eq!(on_circle(days(1..=366)).len(), 1);
    }

    /// Three birds of chance 1/2: three pairs, each found on one visit in four.
    #[test]
    fn pairs_are_counted_once() {
        let three = [("a", 0.5), ("b", 0.5), ("c", 0.5)];
        assert!((pairs(&three) - 0.75).abs() < 1e-12);
    }
}
