//! No forecast knows what was found after it was issued.

use super::{ABSENT, backtest, loaded, tested};
use harness::places;
use harness::program::Workspace;

/// Keeps or changes lines of the table of records, its head aside.
fn with_records(workspace: &Workspace, change: impl Fn(Vec<&str>) -> Vec<String>) {
    let path = workspace.path("records.csv");
    let text = std::fs::read_to_string(path).expect("the records");
    let (head, rows) = text.split_once('\n').expect("a head");
    let rows = change(rows.lines().collect());
    workspace.write("records.csv", format!("{head}\n{}\n", rows.join("\n")));
    workspace.run(&["load"]).works();
}

/// Lines issued in some days, both included, by their third column.
fn issued<'a>(predictions: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    let within = |line: &&str| {
        let date = line.split(',').nth(2).expect("an issue date");
        from <= date && date <= to
    };
    predictions.lines().skip(1).filter(within).collect()
}

/// The records after a date go and the visit dates stay, all through `load`. At MP no bird was
/// found before 4 September 2011 on 18 visits of that autumn, so that without its records the
/// half-year would be a gap, and those visits would be missing from forecasts already made.
#[test]
fn later_records_change_no_earlier_forecast() {
    let Some(whole) = tested() else {
        return places::skipped(ABSENT);
    };
    for (last, year) in [
        ("2008-10-06", "2008"),
        ("2010-05-09", "2010"),
        ("2011-09-02", "2011"),
    ] {
        let workspace = loaded().expect("the tables are there");
        with_records(&workspace, |rows| {
            let early = rows.into_iter().filter(|r| &r[..10] <= last);
            early.map(str::to_owned).collect()
        });
        let cut = backtest(&workspace, &["--from", "2007", "--to", year]);
        let then = |text| issued(text, "2007-01-01", last);
        let (before, after) = (then(&whole.predictions), then(&cut.predictions));
        assert!(before.len() > 20_000, "{last}: {} lines", before.len());
        assert!(
            before == after,
            "{last}: {:?}",
            first_difference(&before, &after)
        );
        // the records that went would have changed the forecasts after them
        let end = format!("{year}-12-31");
        let later = |text| issued(text, last, &end);
        assert!(
            later(&whole.predictions) != later(&cut.predictions),
            "{last}"
        );
    }
}

/// The first pair of lines that differ.
pub(super) fn first_difference<'a>(a: &[&'a str], b: &[&'a str]) -> Option<(&'a str, &'a str)> {
    a.iter().zip(b).find(|(a, b)| a != b).map(|(a, b)| (*a, *b))
}

/// The birds of 2000 are put on other visits of that year, so that as many species have 20
/// birds: a history of five years before 2006 must not notice, one of all years must.
#[test]
fn a_short_history_knows_nothing_older() {
    let Some(workspace) = loaded() else {
        return places::skipped(ABSENT);
    };
    let year = ["--from", "2006", "--to", "2006"];
    let short = [&year[..], &["--history", "5"]].concat();
    let (five, all) = (backtest(&workspace, &short), backtest(&workspace, &year));
    with_records(&workspace, |rows| {
        let dates: Vec<&str> = rows
            .iter()
            .map(|r| &r[..10])
            .filter(|d| *d < "2001")
            .collect();
        let mut moved = dates.into_iter().rev();
        rows.iter()
            .map(|r| match &r[..10] < "2001" {
                true => moved.next().expect("a date for each").to_owned() + &r[10..],
                false => (*r).to_owned(),
            })
            .collect()
    });
    let (five_moved, all_moved) = (backtest(&workspace, &short), backtest(&workspace, &year));
    assert!(
        five.predictions == five_moved.predictions,
        "the last five years are the same"
    );
    assert!(
        all.predictions != all_moved.predictions,
        "the birds of 2000 count for something"
    );
    assert_eq!(five.summary["history"], 5);
}
