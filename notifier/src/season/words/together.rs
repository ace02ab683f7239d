//! What is said of all passages together.

use super::super::{OUT_OF_THE_ORDINARY, SeasonReport};
use super::name;
use crate::words::{TIE, birds, count_of, day_month, list};
use chrono::NaiveDate;
use forecast::season::Standing;
use std::collections::BTreeMap;

/// How many would be out of the ordinary by chance alone.
pub fn by_chance(report: &SeasonReport) -> Option<String> {
    let told = report.passages.iter().filter(|p| p.standing().is_some());
    let told = told.count();
    if told == 0 {
        return None;
    }
    let odd = report.passages.iter().filter(|p| p.is_odd()).count();
    let by_chance = told as f64 * OUT_OF_THE_ORDINARY;
    Some(format!(
        "Out of the ordinary (as 1 usual season in 20 is at the most): {odd} of {}; by chance \
         alone it would be about {}.",
        count_of(told, "passage", "passages"),
        birds(by_chance),
    ))
}

/// What stands out of all passages together.
pub fn summary(report: &SeasonReport) -> Vec<String> {
    let told: Vec<&Standing> = report
        .passages
        .iter()
        .filter_map(|p| p.standing())
        .collect();
    let number = |is: &dyn Fn(&Standing) -> bool| told.iter().filter(|s| is(s)).count();
    let (early, late) = (
        number(&|s| s.shift.high < 0.0),
        number(&|s| s.shift.low > 0.0),
    );
    let (weak, strong) = (
        number(&|s| s.times.high < 1.0),
        number(&|s| s.times.low > 1.0),
    );
    if told.is_empty() {
        return gaps(report);
    }
    let mut all = vec![format!(
        "Of {} told of, {early} run early, {late} late, {strong} strong and {weak} weak (the \
         whole 80{TIE}% interval on that side).",
        count_of(told.len(), "passage", "passages")
    )];
    // two thirds on one side, of passages enough to speak of: a choice
    let most = |n: usize| told.len() >= 6 && 3 * n >= 2 * told.len();
    if most(strong) || most(weak) {
        let which = if most(strong) { "strong" } else { "weak" };
        all.push(format!(
            "Where so many are {which} at once, effort, observers or weather are a likelier reason \
             than the birds."
        ));
    }
    all.extend(by_chance(report));
    all.extend(gaps(report));
    all
}

/// Gaps told of together, those that most passages fell into: each is told with its passage too.
const GAPS: usize = 3;

/// Gaps between visits into which a part of the passages fell.
fn gaps(report: &SeasonReport) -> Vec<String> {
    let mut by_days: BTreeMap<(NaiveDate, NaiveDate), Vec<String>> = BTreeMap::new();
    for p in &report.passages {
        for gap in &p.looked.gaps {
            let species = by_days.entry((gap.first, gap.last)).or_default();
            species.push(name(report, p));
        }
    }
    let mut all: Vec<_> = by_days.into_iter().collect();
    all.sort_by_key(|(_, species)| std::cmp::Reverse(species.len()));
    all.truncate(GAPS);
    all.sort_by_key(|(days, _)| *days);
    let one = |((first, last), species): &((NaiveDate, NaiveDate), Vec<String>)| {
        format!(
            "Nobody looked from {} to {}, on days of {}: what is told of {} rests on the rest of the \
             season.",
            day_month(*first),
            day_month(*last),
            list(species),
            if species.len() == 1 { "it" } else { "them" }
        )
    };
    all.iter().map(one).collect()
}

/// Species left out.
pub fn left_out(report: &SeasonReport) -> Vec<String> {
    let mut all = Vec::new();
    if !report.too_few.is_empty() {
        all.push(format!(
            "Too few records in other seasons: {}.",
            list(&report.too_few)
        ));
    }
    if !report.failed.is_empty() {
        all.push(format!(
            "No curve could be fitted: {}.",
            list(&report.failed)
        ));
    }
    all
}
