//! What is withheld stands nowhere, and cannot be told from what is left.

use super::scene::{Answer, Pages, fitted};
use axum::http::StatusCode;
use harness::program::Workspace;
use harness::reserve;
use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::{Path, PathBuf};

const SITES: [(&str, &str); 3] = [
    ("west-hide", "West Hide"),
    ("east-hide", "East Hide"),
    ("secret-hide", "Hidden Pool"),
];

/// Three hides with a third species, and what is said of it and of the third hide.
fn workspace(species: &str, site: &str) -> Workspace {
    let mut settings = reserve::settings(&SITES);
    let _ = write!(
        settings,
        "{site}\n[[species]]\nscientific = \"Calidris alba\"\nnames = {{ en = \"Sanderling\" }}\n{species}\n"
    );
    let mut counts = reserve::counts(&SITES);
    for year in 2014..2024 {
        for day in [20, 25, 30] {
            for (site, _) in SITES {
                let _ = writeln!(counts, "{year}-08-{day},{site},Sanderling,{}", 3 + day % 4);
            }
        }
    }
    fitted(&settings, &counts)
}

/// Birds of the practice that are searched: as many as there are weeks in an autumn, twice.
const DRAWN: u64 = 40;

/// Every address that a page, feed or description links to, from the first page on.
fn all(pages: &Pages) -> Vec<(String, Answer)> {
    let mut paths = vec!["/".to_owned()];
    let mut got: Vec<(String, Answer)> = Vec::new();
    let area = area(pages);
    for site in ["west-hide", "east-hide"]
        .into_iter()
        .chain(area.as_deref())
    {
        for rest in ["week", "windows", "sets", "curves/calidris-minuta"] {
            paths.push(format!("/api/v1/sites/{site}/{rest}"));
        }
    }
    paths.push("/api/v1/sites".to_owned());
    for seed in 1..=DRAWN {
        // a bird as it is drawn, and with all that is told after the answer
        paths.push(format!("/practice?seed={seed}"));
        paths.push(format!("/practice?seed={seed}&chance=100&answer=yes"));
    }
    while let Some(path) = paths.pop() {
        if got.iter().any(|(p, _)| *p == path) || got.len() > 200 + 2 * DRAWN as usize {
            continue;
        }
        let answer = pages.get(&path);
        // sheets to print are searched where they are tested
        if std::str::from_utf8(&answer.body).is_err() {
            continue;
        }
        let links = answer.text().split("href=\"").skip(1);
        let links = links
            .filter_map(|l| l.split('"').next())
            .map(|l| l.replace("&amp;", "&"));
        // weeks and birds go on for ever
        paths.extend(links.filter(|l| l.starts_with('/') && !l.contains('?')));
        got.push((path, answer));
    }
    got
}

/// The id under which a coarsened site is shown, where there is one.
fn area(pages: &Pages) -> Option<String> {
    let home = pages.get("/");
    let (_, rest) = home.text().split_once("href=\"/area-")?;
    Some(format!("area-{}", rest.split('"').next()?))
}

#[test]
fn a_withheld_species_and_a_withheld_site_are_nowhere() {
    let workspace = workspace("sensitive = \"withhold\"", "sensitive = \"withhold\"\n");
    let pages = Pages::of(&workspace);
    let got = all(&pages);
    assert!(got.len() > 20, "{}", got.len());
    for (path, answer) in &got {
        let text = answer.text().to_lowercase();
        for secret in [
            "calidris alba",
            "calidris-alba",
            "sanderling",
            "secret-hide",
            "hidden pool",
        ] {
            assert!(!text.contains(secret), "{secret} in {path}: {text}");
        }
    }
}

#[test]
fn a_set_named_after_a_withheld_species_has_another_title() {
    let set = "sensitive = \"withhold\"\n\n[[look_alikes.set]]\nid = \"beach-runners\"\n\
        title = \"Sanderling and its like\"\n\
        members = [\"Calidris alba\", \"Calidris alpina\", \"Calidris minuta\"]";
    let workspace = workspace(set, "");
    let pages = Pages::of(&workspace);
    for (path, answer) in &all(&pages) {
        let text = answer.text().to_lowercase();
        assert!(!text.contains("sanderling"), "{path}: {text}");
    }
    let sets = pages.get("/api/v1/sites/west-hide/sets");
    let told = sets.text().contains("Dunlin and Little Stint");
    assert!(told, "{}", sets.text());
}

/// Sites that are coarsened are told of under another name, those withheld not at all.
#[test]
fn digests_go_out_without_what_is_kept_back() {
    let secrets = ["calidris alba", "sanderling", "secret-hide", "hidden pool"];
    for (kept, told) in [
        ("sensitive = \"withhold\"", false),
        ("sensitive = \"coarsen\"\ncoarsen_km = 10", true),
    ] {
        let workspace = workspace(kept, &format!("{kept}\n"));
        let out = workspace.path("digest");
        let path = out.to_str().expect("a plain path");
        let digest = ["digest", "--date", "2024-09-04", "--out", path];
        workspace.run(&digest).works();
        for file in ["digest.html", "digest.txt"] {
            let path = workspace.path("digest").join(file);
            let text = std::fs::read_to_string(path)
                .expect("a digest")
                .to_lowercase();
            for secret in secrets {
                assert!(!text.contains(secret), "{secret} in {file}: {text}");
            }
            assert!(text.contains("west hide"), "{text}");
            assert_eq!(text.contains("area "), told, "{file}: {text}");
        }
    }
}

#[test]
fn the_withheld_and_the_unknown_have_the_same_answer() {
    let workspace = workspace("sensitive = \"withhold\"", "sensitive = \"withhold\"\n");
    let pages = Pages::of(&workspace);
    for (withheld, unknown) in [
        ("/secret-hide", "/nobody-hide"),
        (
            "/secret-hide/set/small-sandpipers",
            "/nobody-hide/set/small-sandpipers",
        ),
        ("/secret-hide/atom.xml", "/nobody-hide/atom.xml"),
        ("/secret-hide/windows.ics", "/nobody-hide/windows.ics"),
        (
            "/west-hide/species/calidris-alba",
            "/west-hide/species/calidris-nemo",
        ),
        (
            "/api/v1/sites/secret-hide/week",
            "/api/v1/sites/nobody-hide/week",
        ),
        (
            "/api/v1/sites/west-hide/curves/calidris-alba",
            "/api/v1/sites/west-hide/curves/calidris-nemo",
        ),
    ] {
        let (a, b) = (pages.get(withheld), pages.get(unknown));
        assert_eq!(a.code, StatusCode::NOT_FOUND, "{withheld}");
        assert_eq!(
            (a.code, a.headers, a.body),
            (b.code, b.headers, b.body),
            "{withheld}"
        );
    }
}

/// A withheld species leaves what a workspace without it would show: its counts change nothing.
#[test]
fn shares_are_those_of_a_workspace_that_never_had_the_species() {
    let with = workspace("sensitive = \"withhold\"", "");
    let settings = std::fs::read_to_string(with.path("wingtide.toml")).expect("settings");
    let without = fitted(&settings, &reserve::counts(&SITES));
    let (with, without) = (Pages::of(&with), Pages::of(&without));
    let path = "/api/v1/sites/west-hide/week?week=2024-W35";
    let sets = |pages: &Pages| -> serde_json::Value {
        let week: serde_json::Value = serde_json::from_str(pages.get(path).text()).expect("JSON");
        let members = week["sets"][0]["members"]
            .as_array()
            .expect("members")
            .clone();
        let share = |m: &serde_json::Value| (m["species"].clone(), m["share"].clone());
        members
            .iter()
            .filter(|m| m["recorded"] == true)
            .map(share)
            .map(|(s, v)| serde_json::json!([s, v]))
            .collect()
    };
    assert_eq!(sets(&with), sets(&without));
}

#[test]
fn a_coarsened_site_has_no_name_and_a_coarsened_species_no_page() {
    let workspace = workspace(
        "sensitive = \"coarsen\"",
        "sensitive = \"coarsen\"\ncautions = \"By the old kiln at Hidden Pool.\"\n",
    );
    let pages = Pages::of(&workspace);
    let area = area(&pages).expect("a coarsened site");
    assert_eq!(pages.get(&format!("/{area}")).code, StatusCode::OK);
    for (path, answer) in all(&pages) {
        let text = answer.text().to_lowercase();
        for secret in [
            "sanderling",
            "calidris alba",
            "secret-hide",
            "hidden pool",
            "old kiln",
        ] {
            assert!(!text.contains(secret), "{secret} in {path}");
        }
    }
}

/// Whoever subscribed to a calendar or kept a link finds it again.
#[test]
fn a_coarsened_site_keeps_its_address_when_others_come_before_it() {
    let coarse = "sensitive = \"coarsen\"\n";
    let workspace = workspace("", coarse);
    let before = area(&Pages::of(&workspace)).expect("a coarsened site");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let first = settings.find("[[site]]").expect("a site");
    let (head, rest) = settings.split_at(first);
    let (of_site, _) = rest[8..].split_once("[[").expect("another table");
    let new = of_site
        .replace("west-hide", "new-hide")
        .replace("West Hide", "New Hide");
    let new = format!("{head}[[site]]{new}\nsensitive = \"coarsen\"\n{rest}");
    workspace.write("wingtide.toml", new);
    let pages = Pages::of(&workspace);
    let kept = format!("/{before}");
    let home = pages.get("/");
    assert_eq!(home.text().matches("href=\"/area-").count(), 2);
    assert!(home.text().contains(&format!("href=\"{kept}\"")));
    assert_eq!(pages.get(&kept).code, StatusCode::OK);
    let calendar = pages.get(&format!("{kept}/windows.ics"));
    assert!(
        calendar
            .text()
            .replace("\r\n ", "")
            .contains(&format!("UID:{before}."))
    );
}

#[test]
fn a_set_whose_id_names_a_withheld_species_goes_by_another() {
    let set = "sensitive = \"withhold\"\n\n[[look_alikes.set]]\nid = \"sanderling-and-knot\"\n\
        title = \"Runners\"\n\
        members = [\"Calidris alba\", \"Calidris alpina\", \"Calidris minuta\"]";
    let workspace = workspace(set, "");
    let pages = Pages::of(&workspace);
    let sets = pages.get("/api/v1/sites/west-hide/sets");
    let (_, rest) = sets.text().split_once("\"set-").expect("another id");
    let id = format!("set-{}", rest.split('"').next().expect("its end"));
    for (path, answer) in &all(&pages) {
        let text = answer.text().to_lowercase();
        assert!(!text.contains("sanderling"), "{path}: {text}");
    }
    let path = format!("/west-hide/set/{id}");
    assert_eq!(pages.get(&path).code, StatusCode::OK, "{path}");
    let again = Pages::of(&workspace).get(&path);
    assert_eq!(again.code, StatusCode::OK, "it stays");
}

/// A hyphen, an apostrophe and a name run together hide no name, nor does a code that only its author
/// can read.
#[test]
fn ids_of_sets_tell_no_withheld_species_however_they_are_put() {
    let kept = [
        ("Phylloscopus inornatus", "Yellow-browed Warbler"),
        ("Calidris temminckii", "Temminck's Stint"),
        ("Sterna dougallii", "Roseate Tern"),
    ];
    let sets = [
        (
            "yellow-browed-warbler-and-like",
            "Yellow browed warblers and like",
            0,
        ),
        ("temmincks-stint", "Temminck\u{2019}s Stint", 1),
        ("roseatetern", "A roseate and others", 2),
        ("ybw", "Small birds", 0),
    ];
    let mut settings = reserve::settings(&SITES);
    for (scientific, name) in kept {
        let _ = writeln!(
            settings,
            "\n[[species]]\nscientific = \"{scientific}\"\nnames = {{ en = \"{name}\" }}\nsensitive = \"withhold\""
        );
    }
    for (id, title, place) in sets {
        let (species, _) = kept[place];
        let _ = writeln!(
            settings,
            "\n[[look_alikes.set]]\nid = \"{id}\"\ntitle = \"{title}\"\n\
             members = [\"{species}\", \"Calidris alpina\", \"Calidris minuta\"]"
        );
    }
    let workspace = fitted(&settings, &reserve::counts(&SITES));
    let got = all(&Pages::of(&workspace));
    let told = got
        .iter()
        .filter_map(|(path, _)| path.split("/set/set-").nth(1));
    let told: BTreeSet<&str> = told.filter_map(|rest| rest.split('/').next()).collect();
    assert_eq!(
        told.len(),
        sets.len(),
        "each is shown by another id: {told:?}"
    );
    let letters = |text: &str| -> String {
        let kept = text.chars().filter(|c| c.is_alphabetic());
        kept.flat_map(char::to_lowercase).collect()
    };
    for (path, answer) in &got {
        let text = letters(&format!("{path} {}", answer.text()));
        for secret in ["yellowbrowed", "temminck", "roseate", "setybw"] {
            assert!(!text.contains(secret), "{secret} in {path}");
        }
    }
    let out = workspace.path("site");
    workspace
        .run(&["pages", "--out", out.to_str().expect("a path")])
        .works();
    for file in files_below(&out) {
        let file = file
            .strip_prefix(&out)
            .expect("a file of it")
            .display()
            .to_string();
        let name = letters(&file);
        for secret in ["yellowbrowed", "temminck", "roseate", "ybw"] {
            assert!(!name.contains(secret), "{file}");
        }
    }
}

/// Paths of all files below a folder.
fn files_below(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths
        .flat_map(|path| match path.is_dir() {
            true => files_below(&path),
            false => vec![path],
        })
        .collect()
}

#[test]
fn pages_on_the_disk_lose_what_is_withheld_later() {
    let workspace = workspace("", "");
    let out = workspace.path("site");
    let out = out.to_str().expect("a path");
    workspace.run(&["pages", "--out", out]).works();
    assert!(workspace.path("site/secret-hide/index.html").exists());
    assert!(
        workspace
            .path("site/west-hide/species/calidris-alba.html")
            .exists()
    );
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let settings = settings
        .replace(
            "id = \"secret-hide\"",
            "id = \"secret-hide\"\nsensitive = \"withhold\"",
        )
        .replace(
            "{ en = \"Sanderling\" }",
            "{ en = \"Sanderling\" }\nsensitive = \"withhold\"",
        );
    workspace.write("wingtide.toml", settings);
    workspace.run(&["pages", "--out", out]).works();
    assert!(!workspace.path("site/secret-hide").exists());
    assert!(
        !workspace
            .path("site/west-hide/species/calidris-alba.html")
            .exists()
    );
    assert!(workspace.path("site/west-hide/index.html").exists());
}
