//! Which records are asked about, why, and where that is shown.

use super::{LAST, date, fitted, of, records, reserve, slips, table, true_rows, written};
use serde_json::Value;

#[test]
fn planted_slips_are_found_with_their_reasons_and_little_else() {
    let workspace = fitted(&written());
    let found = workspace.run(&["second-look", "--json"]).json();
    let records = found["records"].as_array().expect("records");
    for (slip, reason, words) in [
        (&slips()[0], "swapped-date", "it would be 9 May 2023, when "),
        (
            &slips()[1],
            "tenfold",
            "With a nought less it would be 15, which is likelier. How was it counted?",
        ),
        (
            &slips()[2],
            "look-alike",
            "Dunlin is far likelier on that date",
        ),
    ] {
        let record = of(records, slip);
        assert_eq!(record["reason"], reason, "{record:#}");
        let because = record["because"]
            .as_str()
            .expect("words")
            .replace('\u{a0}', " ");
        assert!(because.contains(words), "{because}");
        assert!(
            record["chance"].as_f64().expect("a chance") < 0.001,
            "{record:#}"
        );
    }
    // 5 years of 18 weeks or so, a fifth of a question in each
    let limit = &found["limit"];
    let weeks = limit["weeks"].as_u64().expect("weeks") as f64;
    let asked = limit["would_have_asked"].as_u64().expect("a number") as f64;
    assert!(
        asked <= 0.2 * weeks && asked >= 0.2 * weeks - 2.0,
        "{limit:#}"
    );
    // a year has 18 weeks of visits: three slips, and about four true records
    assert!(records.len() <= 3 + 10, "{records:#?}");
    // the shares of the set add up to one, and the marks are those of the set
    let record = of(records, &slips()[2]);
    let shares = record["look_alikes"].as_array().expect("shares");
    let sum: f64 = shares.iter().filter_map(|s| s["share"].as_f64()).sum();
    assert!(shares.len() == 3 && (sum - 1.0).abs() < 1e-9, "{record:#}");
    assert_eq!(shares[0]["species"], "Calidris alpina");
    assert!(!record["marks"].as_array().expect("marks").is_empty());
    let screen = workspace.run(&["second-look"]).works();
    assert!(screen.lines().all(|l| l.chars().count() <= 80), "{screen}");
    assert!(screen.contains("Nothing is taken out"), "{screen}");
}

#[test]
fn without_slips_the_same_dates_raise_no_question() {
    let workspace = fitted(&true_rows());
    let records = records(&workspace);
    for (day, species, ..) in slips() {
        let day = day.to_string();
        let asked = |r: &&Value| r["species"] == species && r["date"] == day.as_str();
        assert!(!records.iter().any(|r| asked(&r)), "{records:#?}");
    }
}

#[test]
fn the_week_can_be_shown_without_what_is_pending() {
    let workspace = fitted(&written());
    let week = |more: &[&str]| {
        let command = ["week", "--date", "2023-09-13", "--json"];
        workspace.run(&[&command[..], more].concat())
    };
    let without = week(&["--without-pending"]);
    assert!(without.err.starts_with("Without "), "{}", without.err);
    let (with, without) = (week(&[]).json(), without.json());
    let share = |week: &Value| {
        let sets = week["sets"].as_array().expect("sets");
        let members = sets.iter().filter_map(|s| s["members"].as_array());
        let curlew = members
            .flatten()
            .find(|m| m["species"] == "Calidris ferruginea");
        curlew.expect("the species")["share"]
            .as_f64()
            .expect("a share")
    };
    // 14 misnamed birds and 150 for 15 are gone; the shares are those of earlier years alone
    assert!(share(&without) < share(&with), "{without:#} {with:#}");
}

#[test]
fn the_page_on_a_load_tells_of_them_apart_from_the_rules() {
    let workspace = fitted(&written());
    workspace.run(&["load"]).works();
    let page = std::fs::read_to_string(workspace.path("report/load.html")).expect("the page");
    let heading = "Records that the forecast did not expect";
    assert!(page.contains(heading), "{page}");
    assert!(page.contains("Curlew Sandpiper, 14, Long Bank"), "{page}");
}

#[test]
fn what_cannot_be_done_is_said() {
    let workspace = reserve(&written());
    let unfitted = workspace.run(&["second-look"]).fails();
    assert!(unfitted.contains("run: wingtide"), "{unfitted}");
    workspace.run(&["fit"]).works();
    let batch = workspace.run(&["second-look", "--batch", "99"]).fails();
    assert!(batch.contains("no batch 99"), "{batch}");
    let letter = workspace
        .run(&["second-look", "--letter", "0000000000"])
        .fails();
    assert!(
        letter.contains("no record \"0000000000\" is asked about"),
        "{letter}"
    );
    let answer = workspace.run(&["second-look", "answer", "0000000000", "--accepted"]);
    assert!(
        answer
            .fails()
            .contains("no record \"0000000000\" is loaded")
    );
    // the first load brought every row; a second one only what it changed
    let all = workspace
        .run(&["second-look", "--batch", "1", "--json"])
        .json();
    assert!(
        all["looked_at"].as_u64() > Some(500),
        "{}",
        all["looked_at"]
    );
    let mut rows = written();
    rows.push((date(LAST, 8, 1), "Calidris minuta", 30, "D. Regular"));
    workspace.write("counts.csv", table(&rows));
    workspace.run(&["load"]).works();
    let one = workspace
        .run(&["second-look", "--batch", "3", "--json"])
        .json();
    assert_eq!(one["looked_at"], 1);
    assert_eq!(one["records"][0]["said"], "30", "{one:#}");
}
