//! Look-alike sets on the command line.

use harness::program::{Workspace, answered, typed};
use std::path::Path;

/// A right set of two members; the second mark is needed.
const PAIR: &str = r#"id = "pair"
title = "A pair"
source = "ours"
review = "ours"
[[member]]
species = "Calidris minuta"
plumages = [{ region = "western-palearctic", plumage = "juvenile", months = [8, 9] }]
[[member]]
species = "Calidris alpina"
plumages = [{ region = "western-palearctic", plumage = "juvenile", months = [7, 8, 9] }]
[[mark]]
part = "bill"
trust = "structure"
[[mark.shows]]
members = ["Calidris minuta"]
text = "Short."
[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
[[mark]]
part = "call"
trust = "voice"
[[mark.shows]]
members = ["Calidris minuta"]
text = "Thin."
[[mark.shows]]
members = ["Calidris alpina"]
text = "Harsh."
"#;

fn checked(text: &str) -> (u8, String, String) {
    let workspace = Workspace::empty().with("pair.toml", text);
    let file = workspace.path("pair.toml");
    let file = file.to_str().expect("a plain path");
    let ran = typed(&["set", "--check", file]);
    let plain = |said: String| said.replace(file, "pair.toml");
    (ran.code, plain(ran.out), plain(ran.err))
}

#[test]
fn a_set_that_separates_its_members_holds() {
    let (code, out, err) = checked(PAIR);
    assert_eq!(code, 0, "{err}");
    assert_eq!(
        out,
        "pair.toml holds: 2 members, 2 marks, and every two members that meet are separated\n"
    );
    assert!(err.contains("pair.toml: the mark \"bill\" names no trap\n"));
}

#[test]
fn a_pair_that_is_not_separated_stops_it() {
    let (code, out, err) = checked(&PAIR.replace("voice", "light"));
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(
        err.contains(
            "error: pair.toml: Calidris minuta (juvenile) and Calidris alpina (juvenile) meet in \
             western-palearctic in August and September, and only the mark \"bill\" separates them;"
        ),
        "{err}"
    );
}

#[test]
fn a_set_that_does_not_read_is_told_by_line() {
    let (code, _, err) = checked(&PAIR.replace("voice", "voyce"));
    assert_eq!(code, 1);
    let told = "pair.toml line 22: unknown trust \"voyce\" in [[mark]]; expected structure, pattern, \
        voice, behaviour or light; did you mean \"voice\"?";
    assert!(err.contains(told), "{err}");
    let missing = typed(&["set", "--check", "nowhere.toml"]).fails();
    assert!(
        missing.contains("nowhere.toml: this file is not there"),
        "{missing}"
    );
}

#[test]
fn every_set_is_listed_with_or_without_a_workspace() {
    let shipped = config::look_alikes::shipped().expect("the library holds");
    let empty = Workspace::empty();
    let listed = empty.run(&["set"]).works();
    for set in shipped {
        assert!(
            listed
                .lines()
                .any(|l| l.starts_with(&set.id) && l.contains(&set.title))
        );
    }
}

const ICTERIDS: [&str; 2] = ["set", "dark-icterids"];

fn in_october(more: &[&str], answers: &str) -> String {
    let empty = Workspace::empty();
    let dir = empty.path("");
    let dir = ["--dir", dir.to_str().expect("a plain path")];
    let october = ["--date", "2026-10-10", "--region", "nearctic"];
    let args = [&dir[..], &ICTERIDS, &october, more].concat();
    answered(&args, answers).works()
}

#[test]
fn a_set_is_shown_as_it_holds_on_the_date() {
    let october = in_october(&[], "");
    assert!(october.lines().all(|l| l.chars().count() <= 80));
    let order = [
        "Dark blackbirds of autumn flocks (dark-icterids)",
        "North America with northern Mexico and Greenland, October.",
        "Rusty Blackbird (Euphagus carolinus)",
        "Marks to trust, the most trusted first",
        "- Bill (structure)",
        "- Tertial edges (plumage pattern;",
        "- Call (voice)",
        "Not to rely on: these change with light",
        "- Gloss (changes with light; male)",
        "Cannot be told apart",
        "To claim one, write down",
        "Nobody but their author has reviewed these marks.",
    ];
    let place = |words: &&str| {
        october
            .find(words)
            .unwrap_or_else(|| panic!("{words} in {october}"))
    };
    assert!(order.iter().map(place).is_sorted());
    // of other seasons nothing is said
    for out_of_season in ["juvenile", "breeding plumage: March", "Red at the bend"] {
        let told = october.replace("non-breeding plumage", "");
        assert!(!told.contains(out_of_season), "{out_of_season}");
    }
    let whole = typed(&ICTERIDS).works();
    assert!(whole.contains("- juvenile: May to September") && whole.contains("Red at the bend"));
}

#[test]
fn what_is_asked_amiss_about_a_set_is_said() {
    let said = |args: &[&str]| typed(&[&["set"], args].concat()).fails();
    assert!(said(&["dark-icterid"]).contains("did you mean \"dark-icterids\"?"));
    let region = said(&["dark-icterids", "--region", "nearctik"]);
    assert!(
        region.contains("there is no region \"nearctik\"")
            && region.contains("did you mean \"nearctic\"?")
    );
    let elsewhere = said(&["dark-icterids", "--region", "australasia"]);
    assert!(
        elsewhere.contains("no plumage of the set \"dark-icterids\"")
            && elsewhere.contains("nearctic")
    );
    assert_eq!(typed(&["set", "--key"]).code, 2);
}

/// Slim bill, soft chuck, wet leaves under trees: what a Rusty Blackbird answers.
#[test]
fn the_key_narrows_and_ends_in_shares() {
    let told = in_october(&["--key"], "1\n1\nx\n1\n1\n");
    // the line end after a prompt is the person's
    let lines = told.lines().map(|l| l.trim_start_matches("> "));
    assert!(lines.into_iter().all(|l| l.chars().count() <= 80));
    for said in [
        "It starts from equal shares: no site's counts are at hand.",
        "Bill (structure)\n  An answer is taken to be right 9 times in 10,",
        "Where and how it feeds (behaviour)\n  An answer is taken to be right 6 times in 10,",
        "\"x\" is no answer here; expected a number from 0 to 7, or q",
        "What remains\n  - Rusty Blackbird: 90 %\n  - ",
        "To claim one, write down\n  - Rusty Blackbird: Bill width",
        "A key never identifies a bird.",
    ] {
        assert!(told.contains(said), "{said} in {told}");
    }
    assert!(!told.contains("100 %") && !told.contains("over 98 %"));
    let order = ["Where and how it feeds", "What remains", "A key never"];
    assert!(order.map(|w| told.find(w)).is_sorted());
}

#[test]
fn the_key_ends_when_asked_and_remembers_what_fitted_nothing() {
    let at_once = in_october(&["--key"], "q\n");
    assert!(
        at_once.contains("- Rusty Blackbird: 15 %")
            && at_once.contains("- European Starling: 15 %")
    );
    assert_eq!(
        at_once,
        in_october(&["--key"], "").replace("> \n\nWhat", "> \nWhat")
    );
    let unfitting = in_october(&["--key"], "7\nq\n");
    assert!(unfitting.contains("1 answer fitted none of the wordings: think of a species"));
}

/// At the invented reserve the key starts from its counts.
#[test]
fn the_key_starts_from_the_sites_shares() {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("key");
    if dir.exists() {
        std::fs::remove_dir_all(&dir).expect("the last run's demo goes");
    }
    let dir = dir.to_str().expect("a plain path");
    typed(&["demo", dir]).works();
    let key = [
        "--dir",
        dir,
        "set",
        "small-sandpipers",
        "--key",
        "--date",
        "2026-09-09",
    ];
    let told = answered(&[&key[..], &["--site", "long-bank"]].concat(), "q\n").works();
    let week = typed(&[
        "--dir",
        dir,
        "week",
        "--site",
        "long-bank",
        "--date",
        "2026-09-09",
        "--json",
    ]);
    let week = week.json();
    let sets = week["sets"].as_array().expect("sets");
    let set = sets
        .iter()
        .find(|s| s["set"] == "small-sandpipers")
        .expect("the set");
    let dunlin = set["members"].as_array().expect("members").iter();
    let share = dunlin
        .filter(|m| m["species"] == "Calidris alpina")
        .find_map(|m| m["share"].as_f64())
        .expect("a share");
    let percent = (share * 20.0).round() * 5.0;
    assert!(
        told.contains("It starts from the shares of Long Bank about the date."),
        "{told}"
    );
    assert!(
        told.contains(&format!("So far: Dunlin {percent} %,")),
        "{percent} in {told}"
    );
}

#[test]
fn drawings_are_written_into_a_folder() {
    let workspace = Workspace::empty();
    let folder = workspace.path("drawings");
    let to = folder.to_str().expect("a plain path");
    let written = typed(&["set", "dark-icterids", "--drawings", to]).works();
    let files: Vec<&Path> = written.lines().map(Path::new).collect();
    assert_eq!(files.len(), 3, "{written}");
    for file in files {
        let svg = std::fs::read_to_string(file).expect("the file that was named");
        assert!(svg.contains("<title") && svg.contains("<desc") && svg.contains("Rusty Blackbird"));
    }
    // in December the Chiffchaff alone is about
    let december = ["--date", "2026-12-15", "--region", "western-palearctic"];
    let asked = ["set", "leaf-warblers", "--drawings", to];
    let none = typed(&[&asked[..], &december].concat());
    let nothing = "error: there is nothing to draw in the set \"leaf-warblers\"";
    assert!(none.fails().starts_with(nothing));
}

/// A file of one's own takes the place of ours, on the screen too.
#[test]
fn a_folder_of_ones_own_overrides_the_library() {
    let settings = r#"[workspace]
name = "My patch"
[[site]]
id = "old-pans"
name = "Old Pans"
latitude = 54.9
longitude = -1.2
time_zone = "Europe/London"
region = "western-palearctic"
[look_alikes]
folder = "sets"
"#;
    let workspace = Workspace::empty().with("wingtide.toml", settings);
    std::fs::create_dir(workspace.path("sets")).expect("a folder of our own");
    let terns = PAIR.replace("\"pair\"", "\"pale-terns\"");
    workspace.write("sets/terns.toml", terns.replace("A pair", "Our terns"));
    workspace.write("sets/pair.toml", PAIR);
    let listed = workspace.run(&["set"]).works();
    let titled = |id: &str, title: &str| {
        listed
            .lines()
            .any(|l| l.starts_with(id) && l.contains(title))
    };
    assert!(
        titled("pale-terns", "Our terns") && titled("pair", "A pair"),
        "{listed}"
    );
    assert!(titled("dark-icterids", "Dark blackbirds"));
    let shown = workspace
        .run(&["set", "pale-terns", "--date", "2026-08-10"])
        .works();
    assert!(
        shown.contains("Our terns (pale-terns)\nEurope, North Africa and the Middle East, August.")
    );
}
