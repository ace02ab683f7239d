//! Field sheets.

use super::{autumn, reserve, text, visits};

#[test]
fn a_sheet_has_all_that_is_needed_outside() {
    let workspace = reserve("");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let own = "name = \"Outer <Ness>\"\ncautions = \"The causeway floods & closes\"";
    workspace.write(
        "wingtide.toml",
        settings.replacen("name = \"Outer Ness\"", own, 1),
    );
    let file = workspace.path("sheets.html");
    let path = file.to_str().expect("a plain path");
    let more = [
        "--site",
        "outer-ness",
        "--visits",
        "3",
        "--rain",
        "4",
        "--sheets",
        path,
        "--json",
    ];
    let plan = autumn(&workspace, "2024-07-20", &more).json();
    let page = std::fs::read_to_string(&file).expect("the page");
    assert_eq!(page.matches("<article class=\"sheet\">").count(), 3);
    for visit in visits(&plan) {
        let day: chrono::NaiveDate = text(visit, "date").parse().expect("a date");
        let shown = day.format("%A %-d\u{a0}%B\u{a0}%Y").to_string();
        assert!(page.contains(&shown), "{shown}");
        assert!(
            page.contains(&format!("Start {}", text(visit, "sunrise"))),
            "{visit}"
        );
    }
    let named = visits(&plan)
        .iter()
        .map(|v| v["for"].as_array().map_or(0, Vec::len));
    assert_eq!(
        page.matches("<span class=\"box\">").count(),
        named.sum::<usize>()
    );
    for part in [
        "Outer &lt;Ness&gt;",
        "The causeway floods &amp; closes.",
        "enter the visit as targeted",
        "Small sandpipers of mud and sand",
        "Not to rely on",
        "Weather and tide",
        "Alone:",
        "Roads:",
        "Access:",
        "nests, roosts",
        "licensed people",
        "A forecast never identifies a bird",
    ] {
        assert!(page.contains(part), "{part}");
    }
    // what may hurt is read first, and the marks are on the back of the leaf
    let front = page.split("class=\"back\"").next().expect("a front");
    assert!(front.contains("Weather and tide") && front.contains("class=\"box\""));
    assert!(!front.contains("Not to rely on"), "{front}");
    assert!(front.find("Before you go") < front.find("class=\"box\""));
}
