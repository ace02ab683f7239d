//! The sheet that a teacher prints.

use super::workspace;
use notifier::practice::{Wanted, draw, told};
use notifier::web::Snapshot;

#[test]
fn birds_stand_before_their_key_which_can_be_left_out() {
    let workspace = workspace(|s| s);
    let run = |more: &[&str]| {
        let told = workspace.run(&[&["practice", "--seed", "5", "--birds", "3"], more].concat());
        let path = told.works();
        assert!(
            path.trim_end().ends_with("handouts/practice-5.html"),
            "{path}"
        );
        let page = std::fs::read_to_string(path.trim_end()).expect("a page");
        page.replace('\u{a0}', " ")
    };
    let page = run(&[]);
    let (birds, key) = page.split_once("For the teacher: the key").expect("a key");
    let snapshot = Snapshot::read(&workspace.path("")).expect("a workspace");
    for (number, seed) in (5..8).enumerate() {
        let exercise = draw(&snapshot, &Wanted::default(), seed).expect("a bird");
        let told = told(&exercise);
        let heading = format!(
            "Bird {}: {}, {}",
            number + 1,
            told.key.name,
            told.key.plumage
        );
        assert!(key.contains(&heading), "{heading}: {key}");
        let when = told.when.replace('\u{a0}', " ");
        assert!(
            birds.contains(&format!("Bird {}: {when}", number + 1)),
            "{when}"
        );
        assert!(birds.contains(&format!("Drawn by seed {seed}.")));
    }
    assert!(
        !birds.contains("Trap:"),
        "the key is told too early: {birds}"
    );
    assert!(page.contains("a forecast never identifies a bird") && !page.contains("<script"));
    assert!(!run(&["--without-key"]).contains("For the teacher"));
}

#[test]
fn what_there_is_not_is_refused() {
    let site = "id = \"west-hide\"";
    let workspace = workspace(|s| s.replace(site, &format!("{site}\nsensitive = \"withhold\"")));
    for (more, said) in [
        (
            ["--set", "small-sandpiper"],
            "did you mean \"small-sandpipers\"?",
        ),
        (["--site", "est-hide"], "did you mean \"east-hide\"?"),
        (["--site", "west-hide"], "is withheld"),
    ] {
        let told = workspace.run(&[&["practice"][..], &more].concat()).fails();
        assert!(told.contains(said), "{told}");
    }
    let ran = workspace.run(&["practice", "--seed", "0"]);
    assert_eq!(ran.code, 2, "{}", ran.err);
}
