//! Gaps and other half-years that need a word, for people.

use super::render::{Page, of};
use super::{Gap, HalfYear, HalfYearNote, HalfYearTold, LoadReport};

/// Half-years of which the same is to be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HalfYearGroup {
    /// What they are.
    pub heading: &'static str,
    /// Each of them.
    pub lines: Vec<String>,
    /// What to do about them.
    pub advice: Option<String>,
}

impl LoadReport {
    /// Everything that is to be said of half-years; `name` is how a site is called.
    pub fn half_year_groups(&self, name: impl Fn(&str) -> String) -> Vec<HalfYearGroup> {
        let told = |why: fn(&HalfYearTold) -> bool| -> Vec<&HalfYearNote> {
            self.half_years.iter().filter(|n| why(&n.told)).collect()
        };
        let as_stated = told(|t| matches!(t, HalfYearTold::GapAsStated));
        let stated = |g: &&Gap| {
            let mut notes = as_stated.iter();
            notes.any(|n| n.site == g.site && n.half == g.half)
        };
        let found: Vec<&Gap> = self.gaps.iter().filter(|g| !stated(g)).collect();
        let gaps = HalfYearGroup {
            heading: "Gaps: visits without one record of any species, taken as not made",
            lines: found.iter().map(|g| gap_words(g, &name)).collect(),
            advice: found.first().map(|g| gap_advice(g.half)),
        };
        let group = |(heading, why, advice): &Told| {
            let notes = told(*why);
            HalfYearGroup {
                heading,
                lines: notes.iter().map(|n| words(n, &name)).collect(),
                advice: notes.first().and_then(|n| advice(n.half)),
            }
        };
        let groups = std::iter::once(gaps).chain(TOLD.iter().map(group));
        groups.filter(|g| !g.lines.is_empty()).collect()
    }
}

/// A heading, the half-years that stand below it, and what to do about them.
type Told = (
    &'static str,
    fn(&HalfYearTold) -> bool,
    fn(HalfYear) -> Option<String>,
);

/// All that is told of half-years but found gaps, in order.
const TOLD: [Told; 5] = [
    (
        "Gaps as wingtide.toml says, whatever was recorded",
        |told| matches!(told, HalfYearTold::GapAsStated),
        |_| None,
    ),
    (
        "Visited as wingtide.toml says, though nothing was recorded",
        |told| matches!(told, HalfYearTold::VisitedAsStated),
        |_| None,
    ),
    (
        "No longer gaps: records of these half-years have come, so their visits count now",
        |told| matches!(told, HalfYearTold::NoLongerGap),
        |_| None,
    ),
    (
        "Without a record now, but visited as was decided when they had some",
        |told| matches!(told, HalfYearTold::StaysVisited { .. }),
        |half| Some(emptied_advice(half)),
    ),
    (
        "Records, but not one visit in the visits table: is a part of it missing?",
        |told| matches!(told, HalfYearTold::CountsWithoutVisits),
        |_| Some(UNLISTED.to_owned()),
    ),
];

const UNLISTED: &str = "Their dates are visits all the same, but tell of the recorded species alone, \
    unless their counts are fully reported. If visits on which nothing was found are missing, the \
    chances there come out too high.";

pub(super) fn page(page: &mut Page, report: &LoadReport) {
    for group in report.half_year_groups(str::to_owned) {
        page.heading(group.heading);
        page.list(2, &group.lines, group.lines.len() as u64, String::clone);
        if let Some(advice) = &group.advice {
            page.line(2, advice);
        }
    }
}

fn gap_words(gap: &Gap, name: impl Fn(&str) -> String) -> String {
    format!(
        "{}: {} ({})",
        name(&gap.site),
        gap.half,
        of(gap.visits, "visit date")
    )
}

fn gap_advice(first: HalfYear) -> String {
    format!(
        "Such a half-year stays a gap until records of it come. If nothing was there to be \
         recorded, write under its [[site]]: {}",
        setting("visited", first)
    )
}

/// Of half-years whose records are gone.
fn emptied_advice(first: HalfYear) -> String {
    format!(
        "So forecasts issued from them can be repeated. If the notes are lost and these are \
         gaps, write under its [[site]]: {}",
        setting("gaps", first)
    )
}

fn words(note: &HalfYearNote, name: impl Fn(&str) -> String) -> String {
    let since = match note.told {
        HalfYearTold::StaysVisited { since } => {
            format!(", decided on {}", since.format("%Y-%m-%d"))
        }
        _ => String::new(),
    };
    format!(
        "{}: {} ({}, {}{since})",
        name(&note.site),
        note.half,
        of(note.visits, "visit date"),
        of(note.records, "record"),
    )
}

/// The line that says otherwise.
fn setting(key: &str, half: HalfYear) -> String {
    format!("{key} = [\"{}-H{}\"]", half.year, half.half)
}
