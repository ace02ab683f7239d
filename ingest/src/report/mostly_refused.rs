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
    let most = most_alike(&refused);
    let example = most.first().map(|r| format!(", such as {r}"));
    let what = match most.first().map(|r| r.column.as_str()) {
        Some(column) if !column.is_empty() => format!("for what stands in the column {column:?}"),
        _ => "for one reason".to_owned(),
    };
    page.line(
        0,
        format!(
            "Most of {} was NOT taken: {number} of its {rows} rows are refused, {} of them {what}{}. \
             Mend wingtide.toml or the file and load again; until then only the other rows count.",
            source.file,
            grouped(most.len() as u64),
            example.unwrap_or_default(),
        ),
    );
}

/// Those refused for what stands in the same column, or of the row as a whole for the same reason.
fn most_alike<'r>(refused: &[&'r Refusal]) -> Vec<&'r Refusal> {
    let mut alike: BTreeMap<(&str, &str), Vec<&Refusal>> = BTreeMap::new();
    for one in refused {
        // reasons within a column differ by the cell, as by the nearest name
        let reason = if one.column.is_empty() {
            one.reason.as_str()
        } else {
            ""
        };
        let key = (one.column.as_str(), reason);
        alike.entry(key).or_default().push(one);
    }
    let most = alike.into_values().max_by_key(Vec::len);
    most.unwrap_or_default()
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
        // as many as there are at most, fewer in another column, and fewer of the row as a whole
        let whole = |line, reason: &str| Refusal {
            column: String::new(),
            reason: reason.to_owned(),
            ..refusal(line)
        };
        let others = |line| match line % 10 {
            0 => Refusal {
                column: "Number".to_owned(),
                ..refusal(line)
            },
            1 => whole(line, "twice"),
            2 => whole(line, "too long"),
            _ => refusal(line),
        };
        source.refused = (2..2 + refused).map(others).collect();
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
            // seven lines of ten from line 2 to line 1,101
            first.contains(
                "refused, 770 of them for what stands in the column \"Bird\", such as line 3, \
                 Bird \"Dunlim\": no species"
            ),
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
