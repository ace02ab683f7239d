//! What stops `wingtide plan`, and what it cannot give.

use super::{autumn, reserve, text, visits};

#[test]
fn a_rained_off_date_without_another_says_why() {
    let workspace = reserve("");
    let why = |more: &[&str]| {
        let one = [
            "--site",
            "long-bank",
            "--visits",
            "1",
            "--rain",
            "3",
            "--json",
        ];
        let plan = autumn(&workspace, "2024-07-20", &[&one[..], more].concat()).json();
        assert!(visits(&plan)[0]["rain_date"].is_null(), "{plan}");
        text(&visits(&plan)[0], "no_rain_date").to_owned()
    };
    assert_eq!(
        why(&["--weekdays", "sat"]),
        "nobody goes out on the 3 days after it"
    );
    // Saturday 5 October 2024; on the Wednesday behind the plan's end they would go out
    let before_end = workspace.run(&[
        "plan",
        "--from",
        "2024-10-05",
        "--to",
        "2024-10-06",
        "--date",
        "2024-07-20",
        "--site",
        "long-bank",
        "--weekdays",
        "sat,wed",
        "--rain",
        "4",
        "--visits",
        "1",
    ]);
    let said = before_end.works();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let expected = "If it rains: no other date, as the plan ends on 6 October 2024.";
    assert!(said.contains(expected), "{said}");
    let only = |day: &str| {
        let span = ["plan", "--from", day, "--to", day, "--date", "2024-07-20"];
        let rest = ["--site", "long-bank", "--visits", "1", "--rain", "3"];
        workspace.run(&[&span[..], &rest].concat()).works()
    };
    let said = only("2024-09-04")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let expected = "If it rains: no other date, as the plan ends on 4 September 2024.";
    assert!(said.contains(expected), "{said}");
    let asked = autumn(&workspace, "2024-07-20", &["--visits", "1", "--json"]).json();
    assert!(visits(&asked)[0]["no_rain_date"].is_null(), "{asked}");
}

#[test]
fn what_stops_it_is_said_in_one_sentence() {
    let workspace = reserve("");
    for (name, tide) in [
        (
            "late.csv",
            "date,time,height\n2024-09-04,12:50,4.9\n2024-09-04,06:40,1.2\n",
        ),
        ("word.csv", "date,time,height\n2024-09-04,12:50,high\n"),
        ("head.csv", "day,time,height\n2024-09-04,12:50,4.9\n"),
    ] {
        workspace.write(name, tide);
    }
    let file = |name: &str| {
        workspace
            .path(name)
            .to_str()
            .expect("a plain path")
            .to_owned()
    };
    for (more, said) in [
        (
            vec!["--tides".to_owned(), file("late.csv")],
            "late.csv, line 3: this time is not later",
        ),
        (
            vec!["--tides".to_owned(), file("word.csv")],
            "word.csv, line 2: height is \"high\"; expected a number",
        ),
        (
            vec!["--tides".to_owned(), file("head.csv")],
            "head.csv, line 1: there is no column date",
        ),
        (
            vec!["--tides".to_owned(), file("none.csv")],
            "none.csv: this file cannot be read",
        ),
        (
            vec!["--target".to_owned(), "Litle Stint".to_owned()],
            "did you mean \"Little Stint\"?",
        ),
        (
            vec!["--target".to_owned(), "Litle Stint=2".to_owned()],
            "did you mean \"Little Stint\"?",
        ),
        (
            vec!["--target".to_owned(), "Dunlin=twice".to_owned()],
            "\"Dunlin=twice\" has the weight \"twice\"; expected a number from 0.01 to 100",
        ),
        (
            vec!["--target".to_owned(), "Dunlin=1e-300".to_owned()],
            "\"Dunlin=1e-300\" has the weight \"1e-300\"; expected a number from 0.01 to 100",
        ),
        (
            vec!["--target".to_owned(), "set:small-sandpiper".to_owned()],
            "did you mean \"set:small-sandpipers\"?",
        ),
        (
            vec!["--site".to_owned(), "longbank".to_owned()],
            "did you mean \"long-bank\"?",
        ),
        (
            vec!["--csv".to_owned(), file("nowhere/plan.csv")],
            "cannot be written",
        ),
    ] {
        let more: Vec<&str> = more.iter().map(String::as_str).collect();
        let ran = autumn(&workspace, "2024-07-20", &[&["--json"], &more[..]].concat());
        assert_eq!(ran.code, 1, "{said}");
        assert!(
            ran.err.starts_with("error: ") && ran.err.contains(said),
            "{said}: {}",
            ran.err
        );
    }
    let plan = |from, to| {
        let span = ["plan", "--from", from, "--to", to, "--date", "2024-07-20"];
        workspace.run(&span).fails()
    };
    assert!(plan("2024-09-02", "2024-09-01").contains("before it begins"));
    assert!(plan("2024-09-02", "2025-09-02").contains("a year is the most"));
    assert!(plan("2025-01-02", "2025-02-01").contains("not watched then"));
    assert!(plan("2024-06-01", "2024-07-01").contains("after the last of them"));
}
