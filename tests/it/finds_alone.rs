//! Lists that name what was found alone tell nobody how often a species was looked for in vain, and
//! so no chance: not on the screen, not in the digest, not for other programs.

use harness::program::{Ran, Workspace};
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

/// Dunlins and stints of twelve Septembers, on other days each year: enough for curves.
fn sandpipers() -> String {
    let mut rows = String::new();
    for year in 2011..2023 {
        let later = year % 6;
        for day in [3, 10, 17, 24].map(|d| d + later) {
            rows += &format!("{year}-09-{day:02},Calidris alpina,{day}\n");
        }
        for day in [7, 11, 15, 19].map(|d| d + later) {
            rows += &format!("{year}-09-{day:02},Calidris minuta,3\n");
        }
    }
    rows
}

fn twelve_years(fully_reported: bool, more: &str) -> Workspace {
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings(fully_reported))
        .with(
            "counts.csv",
            format!("Date,Species,Number\n{}{more}", sandpipers()),
        );
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

#[test]
fn a_nought_among_finds_alone_makes_no_chance() {
    let workspace = twelve_years(
        false,
        "2022-10-09,Calidris minuta,0\n2022-10-09,Calidris alpina,0\n",
    );
    for date in ["2023-09-13", "2023-10-04"] {
        let json = workspace.run(&["week", "--date", date, "--json"]).json();
        for species in ["Calidris minuta", "Calidris alpina"] {
            let told = member(&json, species);
            assert_eq!(told["basis"], "finds-alone", "{date}: {told}");
            assert!(told["chance_visit"].is_null(), "{date}: {told}");
        }
    }
}

/// Full lists, and a second source that names finds alone.
fn two_sources(full: &str, finds: &str) -> Workspace {
    let source = "\n[[source]]\nid = \"finds\"\nkind = \"counts\"\nfile = \"finds.csv\"\n\
         date_order = \"year-month-day\"\nsite = \"long-bank\"\nfully_reported = false\n\
         columns = { date = \"Date\", species = \"Species\", count = \"Number\" }\n";
    let file = |rows: &str| format!("Date,Species,Number\n{rows}");
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings(true) + source)
        .with("counts.csv", file(full))
        .with("finds.csv", file(finds));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// What finds alone add to sixteen full lists of four Septembers, on one of which a stint was found.
fn with_finds(finds: &str) -> Workspace {
    let mut full = "2020-09-12,Calidris minuta,1\n".to_owned();
    for year in 2019..2023 {
        for day in [3, 12, 19, 26] {
            full += &format!("{year}-09-{day:02},Calidris alpina,{day}\n");
        }
    }
    two_sources(&full, finds)
}

#[test]
fn finds_alone_do_not_raise_a_chance_of_full_lists() {
    let stint = |finds: &str, basis: &str| {
        let workspace = with_finds(finds);
        let week = ["week", "--date", "2023-09-13"];
        let json = workspace.run(&[&week[..], &["--json"]].concat()).json();
        assert!(member(&json, "Calidris alpina")["chance_visit"].is_f64());
        let stint = member(&json, "Calidris minuta").clone();
        assert_eq!(stint["basis"], basis, "{stint}");
        let named = json["finds_alone"].to_string().contains("Little Stint");
        assert_eq!(named, basis == "finds-alone", "{json}");
        stint["chance_visit"].as_f64()
    };
    let alone = "2018-09-13,Calidris minuta,1\n2019-09-14,Calidris minuta,2\n\
         2020-09-15,Calidris minuta,1\n2021-09-13,Calidris minuta,1\n";
    assert_eq!(stint(alone, "finds-alone"), None);
    // (found + 1/2) / (visits + 1) of the 12th and the 19th of four Septembers; what was found of
    // another species on a list of finds alone bears on it no more than the list itself
    let told = stint("2018-09-13,Calidris canutus,1\n", "frequency");
    let told = told.expect("a chance");
    assert!((told - 1.5 / 9.0).abs() < 1e-12, "{told}");
}

#[test]
fn a_handout_names_no_best_day_from_finds_alone() {
    let page = |fully_reported: bool| {
        let workspace = twelve_years(fully_reported, "");
        let command = ["handout", "small-sandpipers", "--site", "long-bank"];
        let told = workspace.run(&command).works();
        let path = told.lines().next().expect("a path");
        flat(
            &std::fs::read_to_string(path)
                .expect("a page")
                .replace('\u{a0}', " "),
        )
    };
    let full = page(true);
    assert!(full.contains("Best about"), "{full}");
    let alone = page(false);
    let said = "finds alone are known, which give no chance";
    assert!(alone.contains(said) && !full.contains(said), "{alone}");
    assert!(
        !alone.contains("Best about") && !alone.contains("NaN"),
        "{alone}"
    );
}

#[test]
fn a_curve_that_finds_alone_raise_says_so() {
    let told = |fully_reported: bool| {
        let curve = [
            "curve",
            "--site",
            "long-bank",
            "--species",
            "Calidris minuta",
        ];
        let ran = twelve_years(fully_reported, "").run(&curve);
        assert_eq!(ran.code, 0, "{}", ran.err);
        flat(&ran.err).contains("note: Its counts hold finds alone")
    };
    assert!(told(false) && !told(true));
}

/// Plans the autumn of 2023 as on 20 August.
fn plan(workspace: &Workspace, more: &[&str]) -> Ran {
    let span = ["plan", "--from", "2023-09-01", "--to", "2023-10-31"];
    workspace.run(&[&span[..], &["--date", "2023-08-20"], more].concat())
}

#[test]
fn nothing_is_planned_by_finds_alone() {
    let said = flat(&plan(&twelve_years(false, ""), &["--visits", "3"]).fails());
    let expected = "error: there is nothing to plan by: no chance can be told of Dunlin and Little \
                    Stint, as their counts hold finds alone";
    assert!(said.contains(expected), "{said}");
}

/// Terns on full lists, sandpipers as finds alone: the plan is for the terns, and names the others
/// apart; marks of the set are on the sheets all the same, since its birds are about.
#[test]
fn a_plan_names_targets_without_a_chance_apart() {
    let mut terns = String::new();
    for year in 2011..2023 {
        for day in [5, 12, 19, 26] {
            terns += &format!("{year}-09-{day:02},Sterna hirundo,{}\n", 30 - day);
        }
    }
    let workspace = two_sources(&terns, &sandpipers());
    let sheets = workspace.path("sheets.html");
    let sheets = sheets.to_str().expect("a plain path");
    let shown = plan(&workspace, &["--visits", "2", "--sheets", sheets]).works();
    let shown = flat(&shown);
    let said = "Not planned for: Dunlin and Little Stint, as their counts hold finds alone";
    assert!(shown.contains(said), "{shown}");
    assert!(!shown.contains("Little Stint ("), "{shown}");
    let page = std::fs::read_to_string(sheets).expect("sheets");
    assert!(
        page.contains("Which is which") && page.contains("Little Stint"),
        "{page}"
    );

    let json = plan(&workspace, &["--visits", "2", "--json"]).json();
    let species = |list: &Value| -> Vec<String> {
        let all = list.as_array().expect("a list").iter();
        all.map(|t| t["species"].as_str().expect("a name").to_owned())
            .collect()
    };
    assert_eq!(species(&json["targets"]), ["Sterna hirundo"]);
    assert_eq!(
        species(&json["untold"]),
        ["Calidris alpina", "Calidris minuta"]
    );
    assert_eq!(json["untold"][0]["on"], "all-dates");
    for visit in json["visits"].as_array().expect("visits") {
        assert_eq!(species(&visit["for"]), ["Sterna hirundo"], "{visit}");
    }
}

/// Stints on full lists of September, and as finds alone of 25 October: on dates within 30 days of
/// these no chance is told.
#[test]
fn a_plan_counts_no_target_on_dates_of_finds_alone() {
    let finds: String = (2011..2023)
        .map(|year| format!("{year}-10-25,Calidris minuta,4\n"))
        .collect();
    let workspace = two_sources(&sandpipers(), &finds);
    let one = ["--target", "Calidris minuta", "--visits", "4"];
    let json = plan(&workspace, &[&one[..], &["--json"]].concat()).json();
    assert_eq!(json["untold"][0]["on"], "some-dates", "{json}");
    assert_eq!(json["targets"][0]["species"], "Calidris minuta");
    let visits = json["visits"].as_array().expect("visits");
    for visit in visits.iter().filter(|v| v["for"] != serde_json::json!([])) {
        let date = visit["date"].as_str().expect("a date");
        assert!(date < "2023-09-25", "{visit}");
    }
    assert!(visits[0]["for"][0]["chance"].as_f64().expect("a chance") > 0.1);
    let shown = flat(&plan(&workspace, &one).works());
    assert!(
        shown.contains("as if they were not there on some of these dates"),
        "{shown}"
    );
}
