//! Letters to finders: to whom they go, and what they ask.

use super::{Row, fitted, name, of, records, slips, written};
use harness::program::Workspace;

/// The letter about a slip.
fn letter(workspace: &Workspace, slip: &Row) -> String {
    let record = name(&of(&records(workspace), slip));
    workspace.run(&["second-look", "--letter", &record]).works()
}

#[test]
fn a_letter_goes_only_to_a_finder_who_agreed() {
    let workspace = fitted(&written());
    let letter = |slip: &Row| letter(&workspace, slip);
    let to_ann = letter(&slips()[0]);
    assert!(
        to_ann.starts_with(
            "To: \"Ann Warden\" <ann@skerrow.example>\n\
             Reply-To: A. Warden <warden@skerrow.example>\n\
             Subject: Your record of Tree Pipit on 5 September 2023\n"
        ),
        "{to_ann}"
    );
    assert!(
        to_ann.contains("The date: is it as you noted it?"),
        "{to_ann}"
    );
    let to_nobody = letter(&slips()[1]);
    assert!(
        to_nobody.starts_with("To: nobody (B. Keeper has not agreed to be written to)\n"),
        "{to_nobody}"
    );
    assert!(!to_nobody.contains("keeper@skerrow.example"), "{to_nobody}");
    let unlisted = letter(&slips()[2]);
    assert!(
        unlisted.starts_with("To: nobody (C. Visitor has no [[finder]]"),
        "{unlisted}"
    );
}

#[test]
fn a_letter_asks_for_what_is_in_doubt_alone() {
    let workspace = fitted(&written());
    let [swapped, tenfold, taken] = slips().map(|slip| letter(&workspace, &slip));
    let flowing = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let counting = [
        "The number: is it as you noted it on the day?",
        "How it was counted: by whom, one by one or estimated",
        "the whole flock at one time, or several parties, times or counters added up",
        "birds may have been counted twice",
    ];
    let of_the_bird = ["What you saw and heard", "as you saw them:"];
    for asked in counting {
        assert!(flowing(&tenfold).contains(asked), "{tenfold}");
        assert!(!flowing(&swapped).contains(asked), "{swapped}");
        assert!(!flowing(&taken).contains(asked), "{taken}");
    }
    for asked in of_the_bird {
        assert!(!flowing(&tenfold).contains(asked), "{tenfold}");
        assert!(flowing(&taken).contains(asked), "{taken}");
    }
    // on the screen, and for other programs
    let screen = workspace.run(&["second-look"]).works();
    let screen = flowing(&screen);
    let (_, dunlin) = screen.split_once("Dunlin, 150,").expect("the slip");
    let (dunlin, _) = dunlin.split_once("Record ").expect("its end");
    assert!(
        dunlin.contains("Ask how it was counted: by whom"),
        "{dunlin}"
    );
    assert!(!dunlin.contains("A description must mention"), "{dunlin}");
    let all = records(&workspace);
    let doubts = slips().map(|slip| of(&all, &slip)["doubts"].clone());
    assert_eq!(
        doubts,
        [
            serde_json::json!(["date", "name"]),
            serde_json::json!(["number"]),
            serde_json::json!(["name"])
        ]
    );
    let dunlin = of(&all, &slips()[1]);
    assert!(
        dunlin["marks"].as_array().is_some_and(Vec::is_empty),
        "{dunlin}"
    );
    for ask in dunlin["asks"].as_array().expect("questions") {
        let ask = ask.as_str().expect("words");
        assert!(flowing(&tenfold).contains(ask), "{ask} is not in {tenfold}");
    }
}
