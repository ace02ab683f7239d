//! What is said of all passages together.

use super::super::{OUT_OF_THE_ORDINARY, SeasonReport};
use crate::words::{TIE, birds, count_of, list};
use forecast::season::Standing;

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
        return Vec::new();
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
    all
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
