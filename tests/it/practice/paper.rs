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
        let name = match more {
            [] => "handouts/practice-birds-5-to-7.html",
            _ => "handouts/practice-birds-5-to-7-without-key.html",
        };
        assert!(path.trim_end().ends_with(name), "{path}");
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

#[test]
fn no_sheet_takes_the_place_of_another() {
    let workspace = workspace(|s| s);
    let sheets: [&[&str]; 6] = [
        &[],
        &["--without-key"],
        &["--birds", "1"],
        &["--site", "east-hide"],
        &["--set", "small-sandpipers"],
        &["--site", "east-hide", "--set", "small-sandpipers"],
    ];
    for more in sheets {
        let command = [&["practice", "--seed", "5"], more].concat();
        workspace.run(&command).works();
    }
    let written = std::fs::read_dir(workspace.path("handouts")).expect("a folder");
    assert_eq!(written.count(), sheets.len());
}

/// Paper sends nobody to a page that is not served.
#[test]
fn a_page_is_named_only_where_there_is_one() {
    let public = "\n[service]\npublic_url = \"https://birds.skerrow.example\"\n";
    for (service, is_named) in [
        (public.to_owned(), true),
        (format!("{public}pages = false\n"), false),
        (String::new(), false),
    ] {
        let workspace = workspace(|s| s + &service);
        let told = workspace.run(&["practice", "--seed", "5", "--birds", "1"]);
        let page = std::fs::read_to_string(told.works().trim_end()).expect("a page");
        let address = "As a page: https://birds.skerrow.example/practice?seed=5";
        assert_eq!(page.contains(address), is_named, "{service}: {page}");
        assert_eq!(page.contains("As a page"), is_named, "{service}: {page}");
    }
}
