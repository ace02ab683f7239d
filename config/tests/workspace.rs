//! What a right `wingtide.toml` comes to.

use config::look_alikes::{Plumage, Region, Trust};
use config::settings::{CountTokens, SourceKind, SpeciesColumns, Workspace};
use std::io;
use std::path::{Path, PathBuf};

const SITE: &str = r#"
[workspace]
name = "Skerrow Ness"
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
"#;

fn with(rest: &str) -> Workspace {
    config::parse(
        &format!("{SITE}{rest}"),
        Path::new("/reserve"),
        read_set_file,
    )
    .unwrap_or_else(|e| panic!("{e}"))
}

fn read_set_file(path: &Path) -> io::Result<String> {
    assert_eq!(path, Path::new("/reserve/my-set.toml"));
    Ok(r#"
id = "pale-terns"
title = "Our terns"
source = "ours"
review = "ours"
[[member]]
species = "Sterna hirundo"
names = { en = "Common Tern" }
plumages = [{ region = "nearctic", plumage = "all-alike", months = [5] }]
[[member]]
species = "Sterna dougallii"
plumages = [{ region = "nearctic", plumage = "all-alike", months = [5] }]
"#
    .to_owned())
}

fn set_ids(workspace: &Workspace) -> Vec<&str> {
    workspace
        .look_alikes
        .iter()
        .map(|set| set.id.as_str())
        .collect()
}

#[test]
fn what_is_left_out_has_its_default() {
    let workspace = with("");
    assert_eq!(
        (workspace.language.as_str(), workspace.visits_assumed),
        ("en", 3)
    );
    assert_eq!(workspace.digest.title, "This week at Skerrow Ness");
    assert_eq!(workspace.digest.from, "Wingtide <wingtide@example.org>");
    assert_eq!(workspace.digest.to, "Subscribers <subscribers@example.org>");
    assert_eq!(workspace.digest.stale_after_days, 21);
    assert!(workspace.digest.sites.is_empty() && workspace.keeper.is_none());
    let mondays = workspace.backtest.mondays.iter().map(ToString::to_string);
    assert!(mondays.eq(["03-01..06-05", "08-15..11-30"]));
    let all = config::look_alikes::shipped().unwrap();
    let all: Vec<&str> = all.iter().map(|set| set.id.as_str()).collect();
    assert_eq!(set_ids(&workspace), all);
    assert_eq!(workspace.site("long-bank").map(|s| s.latitude), Some(54.0));
    assert_eq!(workspace.site("short-bank"), None);
}

#[test]
fn a_source_without_a_site_is_of_the_only_one_and_temperature_of_all() {
    let workspace = with(
        r#"
[[source]]
id = "walks"
kind = "visits"
file = "data/walks.csv"
separator = "tab"
date_order = "day-month-year"
columns = { date = "Date" }
[[source]]
id = "air"
kind = "temperature"
file = "air.csv"
date_order = "year-month-day"
columns = { date = "d", mean_c = "t" }
[[source]]
id = "birds"
kind = "counts"
file = "birds.csv"
date_order = "month-day-year"
columns = { date = "d", genus = "g", epithet = "e" }
[source.tokens]
absent = ["", "x"]
"#,
    );
    let [walks, air, birds] = &workspace.sources[..] else {
        panic!("three sources");
    };
    assert_eq!(walks.site.as_deref(), Some("long-bank"));
    assert_eq!(
        (walks.separator, &walks.path),
        (Some(b'\t'), &PathBuf::from("/reserve/data/walks.csv"))
    );
    assert_eq!(air.site, None);
    let SourceKind::Counts(columns) = &birds.kind else {
        panic!("counts");
    };
    assert_eq!(
        columns.species,
        SpeciesColumns::GenusEpithet("g".to_owned(), "e".to_owned())
    );
    assert!(columns.count.is_none() && !columns.fully_reported);
    // "x" was given another meaning, so the default list loses it.
    assert_eq!(columns.tokens.absent, ["", "x"]);
    assert_eq!(columns.tokens.present, ["present", "p", "yes"]);
    assert_eq!(columns.tokens.about, CountTokens::default().about);
}

#[test]
fn sets_follow_the_species_by_any_of_their_names() {
    let species = r#"
[[species]]
scientific = "Erolia minuta"
names = { en = "Little Stint" }
also = ["Calidris  MINUTA"]
[[species]]
scientific = "Calidris alpina"
names = { de = "Alpenstrandläufer" }
[[species]]
scientific = "Sterna hirundo"
"#;
    let workspace = with(species);
    assert_eq!(set_ids(&workspace), ["small-sandpipers"]);
    let set = &workspace.look_alikes[0];
    assert!(set.member("Erolia minuta").is_some() && set.member("Calidris minuta").is_none());
    let marks_speak_of_it = set
        .marks
        .iter()
        .flat_map(|m| &m.shows)
        .any(|s| s.members.contains(&"Erolia minuta".to_owned()));
    assert!(marks_speak_of_it);

    for name in ["erolia minuta", "little  STINT", "Calidris minuta"] {
        assert_eq!(
            workspace
                .resolve_species(name)
                .map(|s| s.scientific.as_str()),
            Some("Erolia minuta"),
            "{name}"
        );
    }
    assert_eq!(workspace.resolve_species("Dunlin"), None);
    assert_eq!(
        workspace
            .resolve_species("ALPENSTRANDLÄUFER")
            .map(|s| s.scientific.as_str()),
        Some("Calidris alpina")
    );
    assert_eq!(workspace.shown_name("Erolia minuta"), "Little Stint");
    assert_eq!(workspace.shown_name("Calidris alpina"), "Dunlin");
    assert_eq!(workspace.shown_name("Sterna hirundo"), "Sterna hirundo");
    assert_eq!(workspace.species[1].display_name("de"), "Alpenstrandläufer");
    assert_eq!(workspace.species[1].display_name("en"), "Calidris alpina");
}

#[test]
fn own_sets_join_the_shipped_or_stand_in_their_place() {
    let own = r#"
[look_alikes]
use = ["pale-terns", "leaf-warblers"]
[[look_alikes.set]]
id = "dunes"
title = "Pale-rumped birds of the dunes"
members = ["Oenanthe oenanthe", "Plectrophenax nivalis"]
[[look_alikes.set]]
file = "my-set.toml"
"#;
    let workspace = with(own);
    assert_eq!(
        set_ids(&workspace),
        ["pale-terns", "leaf-warblers", "dunes"]
    );
    assert_eq!(workspace.look_alikes[0].title, "Our terns");
    let nearctic = Region("nearctic".to_owned());
    assert_eq!(
        workspace.look_alikes[0].members[1].plumages_in(&nearctic, 5),
        [Plumage::AllAlike]
    );
    assert!(workspace.look_alikes[2].marks.is_empty());
    assert!(with("[look_alikes]\nuse = []\n").look_alikes.is_empty());
}

#[test]
fn cuts_stand_in_the_order_of_the_year() {
    let cuts = "cuts = { \"Calidris alpina\" = [\"06-20\", \"01-20\"], \"Sterna hirundo\" = [] }\n";
    let workspace = with(cuts);
    assert_eq!(
        workspace.sites[0].cuts["Calidris alpina"],
        [(1, 20), (6, 20)]
    );
    assert!(workspace.sites[0].cuts["Sterna hirundo"].is_empty());
}

#[test]
fn half_years_of_a_site_are_stated_as_gaps_or_visited() {
    let stated = with("gaps = [\"2011-H2\"]\nvisited = [\"2010-H2\", \"2010-H1\"]\n");
    let half_years = &stated.sites[0].half_years;
    assert_eq!(half_years.gaps, [(2011, 2)].into());
    assert_eq!(half_years.visited, [(2010, 1), (2010, 2)].into());
    assert!(with("").sites[0].half_years.gaps.is_empty());
}

#[test]
fn how_much_is_kept() {
    let stated = with("[store]\nkeep_batches = 2\nmax_mib = 40\n").store;
    assert_eq!((stated.keep_batches, stated.max_mib), (2, Some(40)));
    let left_out = with("").store;
    assert_eq!((left_out.keep_batches, left_out.max_mib), (5, None));
}

#[test]
fn other_editors_leave_marks_and_line_ends() {
    let text = format!("\u{feff}{}", SITE.replace('\n', "\r\n"));
    let read = |text: &str| config::parse(text, Path::new("/reserve"), read_set_file);
    assert_eq!(read(&text).map(|w| w.name), Ok("Skerrow Ness".to_owned()));
    let wrong = read(&text.replace("latitude = 54", "latitude = 154")).map(|w| w.name);
    let said = wrong.map_err(|e| e.to_string());
    assert_eq!(
        said,
        Err("wingtide.toml line 7: latitude in [[site]] is 154; expected degrees north from -90 to 90, such as 54.63".to_owned())
    );
}

#[test]
fn problems_of_several_sections_and_files_are_told_together() {
    let text = format!(
        "{}[[look_alikes.set]]\nfile = \"my-set.toml\"\n",
        SITE.replace("54\n", "540\n").replace("Europe/", "")
    );
    let broken = |_: &Path| Ok("id = \"a b\"\n".to_owned());
    let Err(e) = config::parse(&text, Path::new("/reserve"), broken) else {
        panic!("it is wrong");
    };
    let places: Vec<(&str, Option<usize>)> = e
        .problems
        .iter()
        .map(|p| (p.file.as_str(), p.line))
        .collect();
    assert_eq!(
        places[..2],
        [("wingtide.toml", Some(7)), ("wingtide.toml", Some(9))]
    );
    assert!(
        places[2..].len() >= 4 && places[2..].iter().all(|(file, _)| *file == "my-set.toml"),
        "{e}"
    );
}

#[test]
fn a_folder_without_the_file_is_told_with_the_way_out() {
    let dir = tempfile::tempdir().unwrap();
    let Err(e) = config::load(dir.path()) else {
        panic!("there is nothing to load");
    };
    let expected = format!(
        "wingtide.toml: there is no such file in {}; start a workspace with \"wingtide new\", or name the folder that holds one",
        dir.path().display()
    );
    assert_eq!(e.to_string(), expected);
    std::fs::write(
        dir.path().join(config::FILE_NAME),
        b"[workspace]\nname = \"Bl\xe4nk\"\n",
    )
    .unwrap();
    let said = config::load(dir.path())
        .map(|w| w.name)
        .map_err(|e| e.to_string());
    assert_eq!(
        said,
        Err("wingtide.toml: this file is not UTF-8 text; save it as UTF-8".to_owned())
    );
}

/// The oracle of the sets' coverage test: a light mark separates nothing, and a mark speaks only
/// of the plumages it names.
#[test]
fn marks_separate_only_where_they_hold() {
    let workspace = with("");
    let found = workspace
        .look_alikes
        .iter()
        .find(|s| s.id == "small-sandpipers");
    let set = found.unwrap();
    let here = Region("western-palearctic".to_owned());
    let (stint, dunlin) = ("Calidris minuta", "Calidris alpina");
    let between = |plumage| set.separating(&here, 8, (stint, plumage), (dunlin, plumage));
    assert!(
        between(Plumage::Juvenile)
            .iter()
            .any(|m| m.part == "breast and mantle of juveniles")
    );
    assert!(
        between(Plumage::AdultBreeding)
            .iter()
            .all(|m| m.part != "breast and mantle of juveniles")
    );
    assert!(
        between(Plumage::Juvenile)
            .iter()
            .all(|m| m.trust != Trust::Light)
    );
    let light = set
        .marks
        .iter()
        .find(|m| m.part == "size of a bird alone")
        .unwrap();
    assert!(!light.separates((stint, Plumage::Juvenile), (dunlin, Plumage::Juvenile)));
    // One group says the same of both.
    let legs = set.marks.iter().find(|m| m.part == "clean legs").unwrap();
    assert!(!legs.separates((stint, Plumage::Juvenile), (dunlin, Plumage::Juvenile)));
}
