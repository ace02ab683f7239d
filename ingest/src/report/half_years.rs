//! Gaps and other half-years that need a word, for people.

use super::render::{Page, of};
use super::{Gap, HalfYear, HalfYearNote, HalfYearTold, LoadReport};

pub(super) fn page(page: &mut Page, report: &LoadReport) {
    let told = |why: fn(&HalfYearTold) -> bool| -> Vec<&HalfYearNote> {
        report.half_years.iter().filter(|n| why(&n.told)).collect()
    };
    let as_stated = told(|t| matches!(t, HalfYearTold::GapAsStated));
    let stated = |g: &&Gap| {
        as_stated
            .iter()
            .any(|n| n.site == g.site && n.half == g.half)
    };
    let found: Vec<&Gap> = report.gaps.iter().filter(|g| !stated(g)).collect();
    found_page(page, &found);
    let groups = [
        (
            "Gaps as wingtide.toml says, whatever was recorded",
            as_stated,
        ),
        (
            "Visited as wingtide.toml says, though nothing was recorded",
            told(|t| matches!(t, HalfYearTold::VisitedAsStated)),
        ),
        (
            "No longer gaps: records of these half-years have come, so their visits count now",
            told(|t| matches!(t, HalfYearTold::NoLongerGap)),
        ),
    ];
    for (heading, notes) in groups {
        if !notes.is_empty() {
            page.heading(heading);
            page.list(2, &notes, notes.len() as u64, |n| words(n));
        }
    }
    emptied_page(
        page,
        &told(|t| matches!(t, HalfYearTold::StaysVisited { .. })),
    );
}

fn found_page(page: &mut Page, gaps: &[&Gap]) {
    let Some(first) = gaps.first() else {
        return;
    };
    page.heading("Gaps: visits without one record of any species, taken as not made");
    page.list(2, gaps, gaps.len() as u64, |g| {
        format!("{}: {} ({})", g.site, g.half, of(g.visits, "visit date"))
    });
    page.line(
        2,
        format!(
            "Such a half-year stays a gap until records of it come. If nothing was there to be \
             recorded, write under its [[site]]: {}",
            setting("visited", first.half)
        ),
    );
}

/// Half-years whose records are gone.
fn emptied_page(page: &mut Page, notes: &[&HalfYearNote]) {
    let Some(first) = notes.first() else {
        return;
    };
    page.heading("Without a record now, but visited as was decided when they had some");
    page.list(2, notes, notes.len() as u64, |n| words(n));
    page.line(
        2,
        format!(
            "So forecasts issued from them can be repeated. If the notes are lost and these are \
             gaps, write under its [[site]]: {}",
            setting("gaps", first.half)
        ),
    );
}

fn words(note: &HalfYearNote) -> String {
    let since = match note.told {
        HalfYearTold::StaysVisited { since } => {
            format!(", decided on {}", since.format("%Y-%m-%d"))
        }
        _ => String::new(),
    };
    format!(
        "{}: {} ({}, {}{since})",
        note.site,
        note.half,
        of(note.visits, "visit date"),
        of(note.records, "record"),
    )
}

/// The line that says otherwise.
fn setting(key: &str, half: HalfYear) -> String {
    format!("{key} = [\"{}-H{}\"]", half.year, half.half)
}
