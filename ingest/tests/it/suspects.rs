//! Records that are asked about and records that are not: a bird of every rule on both sides of
//! its numbers. The rules are the program's own; see `ingest/src/suspects`.

use crate::workspace::*;
use chrono::{Datelike, NaiveDate};
use config::settings::{CountColumns, SourceKind};
use ingest::suspects::{Question, Suspect};
use std::fmt::Write;

/// Five Mondays in September of each year, 2010 to 2019, and one more row for each of them.
fn septembers(rows: impl Fn(NaiveDate) -> String) -> String {
    let mut text = "Date,Place,Species,Number\n".to_owned();
    for year in 2010..2020 {
        for week in 0..4 {
            let date = NaiveDate::from_ymd_opt(year, 9, 1 + 7 * week).unwrap();
            writeln!(text, "{date},Long Bank,Calidris alpina,{}", 10 + week).unwrap();
            text += &rows(date);
        }
    }
    text
}

fn asked(built: &Built) -> Vec<Suspect> {
    let report = built.load().unwrap();
    let refused = report.refused();
    let suspects = built
        .store()
        .suspects(&built.workspace, &report, now())
        .unwrap();
    assert_eq!(
        built.load().unwrap().refused(),
        refused,
        "asking changes nothing"
    );
    // what lies in the future is asked about anew each day
    if suspects.iter().all(|s| s.question != Question::Future) {
        assert_eq!(from_the_kept(built, &report), suspects);
    }
    suspects
}

/// Asked again with the batches spoilt where they stand: only who reads them finds out.
fn from_the_kept(built: &Built, report: &ingest::LoadReport) -> Vec<Suspect> {
    let files = built.batch_files();
    let in_store = |name: &str| format!("wingtide-store/{name}");
    for (name, bytes) in &files {
        built.write(&in_store(name), vec![0; bytes.len()]);
    }
    let suspects = built.store().suspects(&built.workspace, report, now());
    for (name, bytes) in &files {
        built.write(&in_store(name), bytes);
    }
    suspects.unwrap()
}

fn questions(suspects: &[Suspect]) -> Vec<(Question, u64)> {
    suspects.iter().map(|s| (s.question, s.line)).collect()
}

fn line_of(text: &str, start: &str) -> u64 {
    text.lines().position(|l| l.starts_with(start)).unwrap() as u64 + 1
}

#[test]
fn ordinary_records_are_not_asked_about() {
    assert_eq!(asked(&built().counts(septembers(|_| String::new()))), []);
}

#[test]
fn a_visit_that_stands_twice() {
    let rows = "2024-05-11,Long Bank,Dunlin,12\n2024-05-11,Long Bank,Little Stint,2\n";
    let text = |below: &str| format!("Date,Place,Species,Number\n{rows}{below}");
    let cases: [(&str, &[(Question, u64)]); 4] = [
        (rows, &[(Question::VisitTwice, 2)]),
        // the same number of one species only: two flocks may be alike
        ("2024-05-11,Long Bank,Dunlin,12\n", &[]),
        (
            "2024-05-11,Tern Lagoon,Dunlin,12\n2024-05-12,Long Bank,Little Stint,2\n",
            &[],
        ),
        (
            "2024-05-11,Long Bank,Dunlin,12\n2024-05-11,Long Bank,Little Stint,3\n",
            &[],
        ),
    ];
    for (below, expected) in cases {
        assert_eq!(
            questions(&asked(&built().counts(text(below)))),
            expected,
            "{below}"
        );
    }
    let mut built = built();
    built.write("counts.csv", text(rows));
    let columns = CountColumns {
        count: None,
        ..count_columns()
    };
    built.source("counts", SourceKind::Counts(columns));
    assert_eq!(asked(&built), [], "each row is one bird");
}

#[test]
fn ten_times_the_usual() {
    // 19 of 20 of the other counts are of 13 or fewer: 130 is ten times that, 131 more
    for (number, expected) in [(130, 0), (131, 1)] {
        let text = septembers(|_| String::new())
            + &format!("2020-09-08,Long Bank,Calidris alpina,{number}\n");
        let suspects = asked(&built().counts(&text));
        assert_eq!(suspects.len(), expected, "{number}: {suspects:?}");
        for suspect in suspects {
            assert_eq!(suspect.question, Question::TenTimesUsual);
            assert_eq!(suspect.line, line_of(&text, "2020-09-08"));
            assert!(suspect.why.starts_with("131 birds") && suspect.why.contains("13 or fewer"));
        }
    }
    // in June, without ten counts near it, nobody knows what is usual
    let text = septembers(|_| String::new()) + "2020-06-30,Long Bank,Calidris alpina,5000\n";
    assert_eq!(asked(&built().counts(text)), []);
    // a day's rows count together
    let rows = "2020-09-08,Long Bank,Calidris alpina,70\n".repeat(2);
    let suspects = asked(&built().counts(septembers(|_| String::new()) + &rows));
    assert_eq!((suspects.len(), suspects[0].rows), (1, 2));
}

#[test]
fn dates_in_the_future_are_told_whether_taken_or_refused() {
    // the tests' clock says noon of 1 March 2026, UTC
    let text = septembers(|_| String::new())
        + "2026-03-01,Long Bank,Calidris alpina,1\n\
           2026-03-02,Long Bank,Calidris alpina,2\n\
           2026-03-03,Long Bank,Calidris alpina,3\n";
    let suspects = asked(&built().counts(&text));
    let lines = ["2026-03-02", "2026-03-03"].map(|d| (Question::Future, line_of(&text, d)));
    assert_eq!(questions(&suspects), lines);
    assert_eq!(suspects[0].why, "today is 2026-03-01 at the site");
    assert_eq!(
        (suspects[1].why.as_str(), suspects[1].date.as_str()),
        ("refused", "2026-03-03")
    );
}

#[test]
fn day_and_month_swapped() {
    // 6 September written as 9 June, of a bird of September alone
    let june = septembers(|_| String::new()) + "2020-06-09,Long Bank,Calidris alpina,11\n";
    let suspects = asked(&built().counts(&june));
    assert_eq!(
        questions(&suspects),
        [(Question::SwappedDate, line_of(&june, "2020-06-09"))]
    );
    assert!(
        suspects[0].why.contains("near 6 September in 10"),
        "{}",
        suspects[0].why
    );
    // 13 September has no other reading, and 9 August lies within 30 days of 1 September
    for date in ["2020-06-13", "2020-08-09"] {
        let text =
            septembers(|_| String::new()) + &format!("{date},Long Bank,Calidris alpina,11\n");
        assert_eq!(asked(&built().counts(text)), [], "{date}");
    }
    // where two other years had it in June, June is a season
    let text = june + "2018-06-20,Long Bank,Calidris alpina,3\n";
    assert_eq!(asked(&built().counts(text)), []);
}

#[test]
fn a_date_out_of_order_that_fits_when_swapped() {
    let text = "Date,Place,Species,Number\n\
        2024-09-01,Long Bank,Calidris alpina,1\n\
        2024-04-09,Long Bank,Calidris alpina,2\n\
        2024-04-09,Tern Lagoon,Sterna hirundo,3\n\
        2024-09-06,Long Bank,Calidris alpina,4\n";
    let suspects = asked(&built().counts(text));
    assert_eq!(questions(&suspects), [(Question::SwappedDate, 3)]);
    assert_eq!(
        (suspects[0].rows, suspects[0].date.as_str()),
        (2, "2024-04-09")
    );
    assert!(suspects[0].why.starts_with("2024-09-04 would fit"));
}

#[test]
fn a_resident_on_one_day_of_a_year() {
    // every fortnight of 2015 to 2019; a tern on every visit but those of 2019 after the first
    let mut visits = "Date,Place\n".to_owned();
    let mut counts = "Date,Place,Species,Number\n".to_owned();
    let days = (0..).map(|n| day("2015-01-05") + chrono::Days::new(14 * n));
    for date in days.take_while(|d| d.year() < 2020) {
        writeln!(visits, "{date},Long Bank").unwrap();
        let lone = date.year() < 2019 || date < day("2019-01-20");
        if lone {
            writeln!(counts, "{date},Long Bank,Sterna hirundo,2").unwrap();
        }
        writeln!(counts, "{date},Long Bank,Calidris alpina,2").unwrap();
    }
    let found_in_2019 = counts
        .lines()
        .filter(|l| l.starts_with("2019") && l.contains("Sterna"));
    assert_eq!(found_in_2019.count(), 1);
    let suspects = asked(&built().counts(&counts).visits(&visits));
    assert_eq!(suspects.len(), 1, "{suspects:?}");
    assert_eq!(suspects[0].question, Question::ResidentOnce);
    assert_eq!(suspects[0].species.as_deref(), Some("Sterna hirundo"));
    assert!(
        suspects[0]
            .why
            .starts_with("the only one of 26 visits in 2019"),
        "{}",
        suspects[0].why
    );
    // found once more that year, it is no lone day
    let twice = counts + "2019-12-02,Long Bank,Sterna hirundo,1\n";
    assert_eq!(asked(&built().counts(twice).visits(visits)), []);
}

#[test]
fn a_name_on_one_day_only() {
    // 40 days are too few to wonder; with ten more the misspelt Dunlin is asked about
    let odd = "2019-12-02,Long Bank,Calidris alpinna,1\n2019-12-02,Long Bank,Sterna hirundo,1\n";
    let few = septembers(|_| String::new()) + odd;
    assert_eq!(asked(&built().counts(&few)), []);
    let mut many = few;
    for n in 3..13 {
        writeln!(many, "2019-12-{n:02},Long Bank,Calidris minuta,1").unwrap();
    }
    let suspects = asked(&built().counts(&many));
    // the tern is on one day too, but its name stands in the settings
    assert_eq!(
        questions(&suspects),
        [(Question::NameOnce, line_of(&many, "2019-12-02"))]
    );
    assert!(
        suspects[0].why.ends_with("; Calidris alpina meant?"),
        "{}",
        suspects[0].why
    );
}
