//! Long-term change of dates, in words.

use super::passage;
use super::temperature::{days, interval};
use crate::words::{count_of, list};
use forecast::fit::{DateChanges, Passage, SpeciesFit};
use forecast::season::change_called;
use forecast::trend::{Change, Moved};

/// The dates of a passage with their changes, where these can be told.
pub fn dates(change: &DateChanges) -> impl Iterator<Item = (&'static str, &Change)> {
    let all = [
        ("arrival", &change.arrival),
        ("median", &change.median),
        ("departure", &change.departure),
    ];
    all.into_iter()
        .filter_map(|(date, c)| Some((date, c.as_ref()?)))
}

/// The dates that have moved, in words: "arrival 2.1 days earlier a decade (95 % interval 0.8 to
/// 3.4 earlier; 1999 to 2026)"; None where none has.
pub fn moved(p: &Passage) -> Option<String> {
    moved_dates(&change_called(p)?)
}

/// The same of changes.
pub fn moved_dates(change: &DateChanges) -> Option<String> {
    let moved = dates(change).filter(|(_, c)| c.moved != Moved::NotFound);
    let words: Vec<String> = moved
        .map(|(date, c)| format!("{date} {}", words(c)))
        .collect();
    (!words.is_empty()).then(|| list(&words))
}

fn words(c: &Change) -> String {
    let (first, last) = c.years;
    format!(
        "{} a decade (95 % interval {}; {first} to {last})",
        days(c.days_per_decade),
        interval(c.interval)
    )
}

/// What has changed at a site, a paragraph each: the summary, then each passage that moved.
pub fn of_site<'a>(
    fits: impl Iterator<Item = (&'a String, &'a SpeciesFit)>,
    name: impl Fn(&str) -> String,
) -> Vec<String> {
    let passages: Vec<(&String, &Passage)> = fits
        .flat_map(|(species, fit)| fit.passages.iter().map(move |p| (species, p)))
        .collect();
    let told = |p: &Passage| p.change.as_ref().map_or(0, |c| dates(c).count());
    let looked_at: usize = passages.iter().map(|(_, p)| told(p)).sum();
    let found: Vec<String> = passages
        .iter()
        .filter_map(|(species, p)| {
            let words = moved(p)?;
            Some(format!("{}, {}: {words}.", name(species), passage(p.name)))
        })
        .collect();
    let mut all = vec![summary(looked_at, found.is_empty())];
    all.extend(found);
    all
}

fn summary(looked_at: usize, none: bool) -> String {
    let dates = count_of(looked_at, "date", "dates");
    match (looked_at, none) {
        (0, _) => "Long-term change: no date is known well enough, season by season, to tell \
            whether it has moved."
            .to_owned(),
        (_, true) => format!("Long-term change: no change found ({dates} looked at)."),
        _ => format!(
            "Long-term change: of {dates} looked at, these have moved; of 20 that never moved, \
             one would be listed by chance."
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_change_is_a_result() {
        assert!(summary(12, true).contains("no change found (12\u{a0}dates looked at)"));
        assert!(summary(12, false).contains("by chance"));
        assert!(summary(0, true).contains("whether it has moved"));
    }
}
