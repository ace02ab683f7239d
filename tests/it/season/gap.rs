//! A gap in mid-season that holds a part of the passages, in the real counts: its days are told, and
//! that what is told rests on the rest.

use super::{Told, all, paragraph, told};
use harness::night_migrants;
use serde_json::{Value, json};

/// Days taken out of the autumn of 2010, in which MP was visited daily.
const GAP: [&str; 2] = ["2010-09-20", "2010-10-03"];

/// The autumn without the days; None where the tables are absent.
fn with_a_gap() -> Option<Told> {
    let workspace = night_migrants::workspace()?;
    for table in ["records.csv", "visits.csv"] {
        let whole = std::fs::read_to_string(workspace.path(table)).expect("the table");
        // both begin their rows with the date
        let within = |line: &&str| (GAP[0]..=GAP[1]).contains(&line.get(..10).unwrap_or_default());
        let kept: Vec<&str> = whole.lines().filter(|line| !within(line)).collect();
        workspace.write(table, kept.join("\n") + "\n");
    }
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Some(told(&workspace, &["MP", "--season", "2010-autumn"]))
}

fn passages(told: &Told) -> &Vec<Value> {
    told.json["passages"].as_array().expect("passages")
}

#[test]
fn a_gap_in_a_part_of_a_passage_is_told_with_its_days() {
    let (Some(all), Some(gap)) = (all(), with_a_gap()) else {
        return;
    };
    let same = |t: &&Told| t.asked == gap.asked;
    let (gap, whole) = (&gap, all.iter().find(same).expect("told of whole"));
    assert!(
        passages(whole).iter().all(|p| p["gaps"] == json!([])),
        "{}",
        whole.json
    );
    let with_gap = |p: &&Value| p["gaps"] == json!([GAP]);
    let told: Vec<&Value> = passages(gap).iter().filter(with_gap).collect();
    assert!(told.len() >= 5, "{}", gap.json);
    // outside their days, or all of them in the gap
    for p in passages(gap).iter().filter(|p| !with_gap(p)) {
        assert_eq!(p["gaps"], json!([]), "{p}");
    }
    let fewer = |p: &&&Value| {
        let same = |q: &&Value| q["species"] == p["species"];
        let before = passages(whole).iter().find(same);
        before.is_some_and(|q| q["visits"].as_u64() > p["visits"].as_u64())
    };
    assert_eq!(told.iter().filter(fewer).count(), told.len());
    let text = gap.text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Nobody looked from 20 September to 3 October, on days of "),
        "{text}"
    );
    assert!(paragraph::sentences_of(gap) > 0);
    let drawn = "; nobody looked from 20 September to 3 October";
    assert_eq!(gap.page.matches(drawn).count(), told.len(), "the charts");
}
