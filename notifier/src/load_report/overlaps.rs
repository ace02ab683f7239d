//! Visits that two counts sources tell of.

use ingest::report::{Overlap, grouped, rule_words};
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(super) struct OverlapsView {
    /// What was done.
    rule: &'static str,
    pairs: Vec<PairView>,
}

#[derive(Debug, Serialize)]
struct PairView {
    sources: String,
    visits: String,
    alike: String,
    further: String,
    otherwise: String,
    /// Where to look.
    examples: String,
}

/// None where no two sources tell of one visit.
pub(super) fn view(overlaps: &[Overlap]) -> Option<OverlapsView> {
    let first = overlaps.first()?;
    Some(OverlapsView {
        rule: rule_words(first.rule),
        pairs: overlaps.iter().map(pair).collect(),
    })
}

fn pair(overlap: &Overlap) -> PairView {
    let [a, b] = &overlap.sources;
    let first = overlap.first.iter().map(|p| format!("first: {p}"));
    let other = overlap.first_otherwise.iter();
    let other = other.map(|p| format!("first with other counts: {p}"));
    PairView {
        sources: format!("{a} and {b}"),
        visits: grouped(overlap.visits),
        alike: grouped(overlap.alike),
        further: grouped(overlap.further),
        otherwise: grouped(overlap.otherwise),
        examples: first.chain(other).collect::<Vec<_>>().join("; "),
    }
}
