//! Lists that name what was found alone tell nobody how often a species was looked for in vain, and
//! so no chance: not on the screen, not in the digest, not for other programs.

use harness::program::Workspace;
use serde_json::Value;

fn settings(fully_reported: bool) -> String {
    format!(
        "[workspace]\nname = \"Skerrow Ness\"\n\n\
         [[site]]\nid = \"long-bank\"\nname = \"Long Bank\"\nlatitude = 54.63\n\
         longitude = -0.41\ntime_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n\n\
         [[species]]\nscientific = \"Calidris minuta\"\n\n\
         [[species]]\nscientific = \"Calidris alpina\"\n\n\
         [[source]]\nid = \"counts\"\nkind = \"counts\"\nfile = \"counts.csv\"\n\
         date_order = \"year-month-day\"\nsite = \"long-bank\"\nfully_reported = {fully_reported}\n\
         columns = {{ date = \"Date\", species = \"Species\", count = \"Number\" }}\n"
    )
}

/// One Little Stint in five Septembers of Dunlins.
fn workspace(fully_reported: bool) -> Workspace {
    let mut counts = "Date,Species,Number\n2019-09-10,Calidris minuta,2\n".to_owned();
    for year in 2018..2023 {
        for day in [3, 10, 17, 24] {
            counts += &format!("{year}-09-{day:02},Calidris alpina,{day}\n");
        }
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings(fully_reported))
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

fn member<'a>(week: &'a Value, species: &str) -> &'a Value {
    let sets = week["sets"].as_array().expect("sets").iter();
    let of_sets = sets.flat_map(|s| s["members"].as_array().expect("members"));
    let others = week["others"].as_array().expect("others");
    let mut all = of_sets.chain(others);
    all.find(|m| m["species"] == species)
        .unwrap_or_else(|| panic!("{species} in {week}"))
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const SAID: &str = "their counts hold finds alone, and nobody knows on which visits they were looked \
    for in vain";

#[test]
fn finds_alone_have_no_chance_and_the_week_says_what_to_do() {
    let workspace = workspace(false);
    let week = ["week", "--date", "2023-09-13"];
    let text = flat(&workspace.run(&week).works());
    assert!(text.contains(SAID), "{text}");
    assert!(text.contains("set fully_reported = true for that source in wingtide.toml"));
    assert!(
        text.contains("Calidris alpina and Calidris minuta, found about this date")
            || text.contains("Dunlin and Little Stint, found about this date"),
        "{text}"
    );
    assert!(!text.contains("unknown") && !text.contains("NaN"), "{text}");

    let json = workspace.run(&[&week[..], &["--json"]].concat()).json();
    let stint = member(&json, "Calidris minuta");
    assert_eq!(stint["basis"], "finds-alone");
    assert!(stint["chance_visit"].is_null() && stint["chance_week"].is_null());
    assert!(json["sets"][0]["chance_together"].is_null());
    assert_eq!(json["finds_alone"].as_array().map(Vec::len), Some(2));

    let out = workspace.path("digest");
    let out = out.to_str().expect("a plain path");
    workspace
        .run(&["digest", "--out", out, "--date", "2023-09-13"])
        .works();
    for file in ["digest/digest.txt", "digest/digest.html"] {
        let text = std::fs::read_to_string(workspace.path(file)).expect("a digest");
        let text = flat(&text.replace('\u{a0}', " "));
        assert!(text.contains(SAID), "{file}: {text}");
        assert!(
            !text.contains("NaN") && !text.contains("A quiet week"),
            "{file}: {text}"
        );
    }
}

#[test]
fn full_lists_of_the_same_counts_have_chances() {
    let workspace = workspace(true);
    let week = ["week", "--date", "2023-09-13"];
    assert!(!flat(&workspace.run(&week).works()).contains("finds alone"));
    let json = workspace.run(&[&week[..], &["--json"]].concat()).json();
    let stint = member(&json, "Calidris minuta");
    assert_eq!(stint["basis"], "frequency");
    // the README's (found + 1/2) / (visits + 1), of the visits within 7 days of 13 September: the
    // 10th and the 17th of five years, the stint on one of them
    let chance = stint["chance_visit"].as_f64().expect("a chance");
    assert!((chance - 1.5 / 11.0).abs() < 1e-12, "{chance}");
    assert!(json["finds_alone"].is_null());
}
