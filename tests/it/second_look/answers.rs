//! What came of a question stays, and is heeded.

use super::{LAST, count_on, date, fitted, name, of, records, slips, table, written};
use forecast::series::Count;

#[test]
fn answers_outlive_a_reload_and_a_withdrawn_record_is_used_no_longer() {
    let mut rows = written();
    let workspace = fitted(&rows);
    let records_before = records(&workspace);
    let [swapped, tenfold, taken] = slips().map(|s| name(&of(&records_before, &s)));
    let answer = |record: &str, rest: &[&str]| {
        let command = ["second-look", "answer", record, "--date", "2023-10-02"];
        workspace.run(&[&command[..], rest].concat()).works()
    };
    let note = "Ann Warden says it was May";
    answer(&swapped, &["--withdrawn", "--note", note]);
    answer(&taken, &["--accepted", "--evidence", "two pictures"]);
    answer(&taken, &["--changed"]);
    // the file is written anew in another order, with one row more
    rows.reverse();
    rows.push((date(LAST, 8, 1), "Calidris alpina", 1, "D. Regular"));
    workspace.write("counts.csv", table(&rows));
    workspace.run(&["load"]).works();
    let answers = workspace
        .run(&["second-look", "--answers", "--json"])
        .json();
    let told: Vec<_> = answers["answers"]
        .as_array()
        .expect("answers")
        .iter()
        .map(|a| (name(a), a["verdict"].as_str().expect("a word").to_owned()))
        .collect();
    let expected = [
        (&swapped, "withdrawn"),
        (&taken, "accepted"),
        (&taken, "changed"),
    ];
    assert_eq!(told, expected.map(|(r, v)| (r.clone(), v.to_owned())));
    assert_eq!(answers["answers"][0]["answered_on"], "2023-10-02");
    // out of the series, not out of the store; asked about no more
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Unknown);
    assert_eq!(count_on(&workspace, &slips()[1]), Count::Exactly(150));
    let rows_kept = std::fs::read_to_string(workspace.path("counts.csv")).expect("the file");
    assert!(rows_kept.contains("2023-09-05,Anthus trivialis,6"));
    let after = records(&workspace);
    assert!(after.iter().all(|r| name(r) != swapped), "{after:#?}");
    assert_eq!(of(&after, &slips()[2])["answer"]["verdict"], "changed");
    let stale = workspace.run(&["week", "--date", "2023-09-06"]);
    assert!(
        stale.err.contains("changed since the last fit"),
        "{}",
        stale.err
    );
    // taken back, it is used again
    answer(&swapped, &["--accepted"]);
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Exactly(6));
    // fits that have it are told from counts that came in
    workspace.run(&["fit"]).works();
    answer(&swapped, &["--withdrawn", "--note", note]);
    let stale = workspace.run(&["week", "--date", "2023-09-06"]);
    let said = "was withdrawn or put back since the last fit";
    assert!(stale.err.contains(said), "{}", stale.err);
    answer(&swapped, &["--accepted"]);
    // a name that a reviewer wrote down goes with its observer
    workspace.run(&["erase-observer", "Ann Warden"]).works();
    let trail = workspace.run(&["second-look", "--answers"]).works();
    assert!(trail.contains("Note: ... says it was May"), "{trail}");
    assert!(!trail.contains("Warden"), "{trail}");
    assert!(
        !trail.contains(&tenfold) && trail.contains("two pictures"),
        "{trail}"
    );
}
