//! Said before all else: a source of which most rows were refused has not been loaded as its owner
//! believes.

use super::render::{Page, grouped};
use super::{Refusal, SourceReport};
use std::collections::BTreeMap;

/// With fewer refusals all of them stand below anyway.
const LEAST: usize = 10;

/// Says so of a source of which more than half the rows were refused for what stands in them.
pub(super) fn page(page: &mut Page, source: &SourceReport) {
    let refused: Vec<&Refusal> = source.refused.iter().filter(|r| !r.kept_back).collect();
    if refused.len() < LEAST || 2 * refused.len() as u64 <= source.rows {
        return;
    }
    let (number, rows) = (grouped(refused.len() as u64), grouped(source.rows));
    let mut columns: BTreeMap<&str, Vec<&Refusal>> = BTreeMap::new();
    for one in &refused {
        columns.entry(&one.column).or_default().push(one);
    }
    let most = columns.into_values().max_by_key(Vec::len);
    let most = most.unwrap_or_default();
    let example = most.first().map(|r| format!(", such as {r}"));
    page.line(
        0,
        format!(
            "Most of {} was NOT taken: {number} of its {rows} rows are refused, {} of them alike{}. \
             Mend wingtide.toml or the file and load again; until then only the other rows count.",
            source.file,
            grouped(most.len() as u64),
            example.unwrap_or_default(),
        ),
    );
}

#[cfg(test)]
mod tests {
    use crate::report::{Kind, LoadReport, Refusal, SourceReport};

    fn told(refused: u64, rows: u64, kept_back: bool) -> String {
        let mut source = SourceReport::new("notebook", Kind::Counts, "counts.csv");
        source.rows = rows;
        source.accepted = rows - refused;
        let refusal = |line| Refusal {
            file: None,
            line,
            column: "Bird".to_owned(),
            value: "Dunlim".to_owned(),
            reason: "no species".to_owned(),
            kept_back,
        };
        source.refused = (2..2 + refused).map(refusal).collect();
        let report = LoadReport {
            loaded_at: chrono::DateTime::UNIX_EPOCH,
            unchanged: false,
            sources: vec![source],
            removed_sources: Vec::new(),
            names_erased: None,
            sites: Vec::new(),
            gaps: Vec::new(),
            half_years: Vec::new(),
            overlaps: Vec::new(),
            offers: Vec::new(),
        };
        report.to_string().replace("\n  ", " ")
    }

    #[test]
    fn it_is_said_first_that_most_rows_are_refused() {
        let text = told(1100, 2000, false);
        let first = text.lines().nth(1).unwrap_or_default();
        assert!(
            first.starts_with("Most of counts.csv was NOT taken: 1,100 of its 2,000 rows"),
            "{text}"
        );
        assert!(
            first.contains("line 2, Bird \"Dunlim\": no species"),
            "{text}"
        );
        for fine in [
            told(1000, 2000, false),
            told(9, 10, false),
            told(20, 30, true),
        ] {
            assert!(!fine.contains("NOT taken"), "{fine}");
        }
    }
}
