//! Wide tables, from the settings to the store.

use crate::formats::{Stored, stored_in, with_a_reading_process};
use crate::workspace::{day, now};
use config::settings::Workspace;
use forecast::series::Count::{self, *};
use ingest::{LoadError, LoadReport};
use tempfile::TempDir;

const SETTINGS: &str = r#"
[workspace]
name = "Skerrow Ness"

[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"

[[site]]
id = "tern-lagoon"
name = "Tern Lagoon"
latitude = 54.65
longitude = -0.45
time_zone = "Europe/London"
region = "western-palearctic"

[[species]]
scientific = "Calidris minuta"
names = { en = "Little Stint" }

[[species]]
scientific = "Calidris alpina"
names = { en = "Dunlin" }

[[source]]
id = "counts"
"#;

pub struct Loaded {
    pub folder: TempDir,
    pub workspace: Workspace,
}

impl Loaded {
    pub fn load(&self) -> Result<LoadReport, LoadError> {
        ingest::load(&self.workspace, self.folder.path(), now(), &mut |_| {})
    }

    pub fn stored(&self) -> Vec<Stored> {
        stored_in(&self.workspace, self.folder.path())
    }
}

/// A workspace with that source and those files.
pub fn workspace(source: &str, files: &[(&str, &[u8])]) -> Loaded {
    with_a_reading_process();
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let settings = folder.path().join("wingtide.toml");
    std::fs::write(settings, format!("{SETTINGS}{source}")).unwrap();
    let workspace = config::load(folder.path()).unwrap_or_else(|e| panic!("{e}"));
    Loaded { folder, workspace }
}

/// Why the settings are refused.
fn refused(source: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("wingtide.toml");
    std::fs::write(settings, format!("{SETTINGS}{source}")).unwrap();
    config::load(folder.path()).unwrap_err().to_string()
}

pub fn row(date: &str, site: &str, species: &str, count: Count) -> Stored {
    (day(date), site.to_owned(), species.to_owned(), count)
}

pub fn notes(report: &LoadReport) -> Vec<String> {
    let notes = report.sources.iter().flat_map(|s| &s.notes);
    notes.map(ToString::to_string).collect()
}

pub fn refusals(report: &LoadReport) -> Vec<String> {
    let refused = report.sources.iter().flat_map(|s| &s.refused);
    refused.map(ToString::to_string).collect()
}

#[test]
fn a_column_a_species() {
    let loaded = workspace(
        r#"
        kind = "counts"
        file = "counts.csv"
        wide = "species"
        leave_out = ["Total"]
        fully_reported = true
        columns = { date = "Date", site = "Place", effort = "Minutes" }
        "#,
        &[(
            "counts.csv",
            b"Date,Place,Minutes,Dunlin,Little Stint,Total\n\
              13/05/2025,Long Bank,60,12,,12\n\
              14/05/2025,Long Bank,60,c. 40,x,40\n\
              15/05/2025,Long Bank,60,,,\n\
              16/05/2025,Long Bank,60,lots,2,\n\
              17/05/2025,Long Bank,60,4\n",
        )],
    );
    let report = loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2025-05-13", "long-bank", "Calidris alpina", Exactly(12)),
            row("2025-05-14", "long-bank", "Calidris alpina", About(40)),
            row("2025-05-13", "long-bank", "Calidris minuta", Exactly(0)),
            row("2025-05-14", "long-bank", "Calidris minuta", Present),
            row("2025-05-16", "long-bank", "Calidris minuta", Exactly(2)),
        ]
    );
    let refused = refusals(&report);
    assert!(
        refused[0].starts_with("line 5, Dunlin \"lots\": "),
        "{refused:?}"
    );
    assert_eq!(refused[1], "line 6: 4 cells where the header has 6");
    let told = notes(&report);
    let empty =
        "Rows without one filled cell among the columns that were read across: 1 (first: line 4)";
    assert!(told.iter().any(|n| n.starts_with(empty)), "{told:?}");
}

#[test]
fn a_column_a_date() {
    let loaded = workspace(
        r#"
        kind = "counts"
        file = "2025.csv"
        wide = "date"
        date_order = "day-month-year"
        site = "long-bank"
        columns = { species = "Species" }
        "#,
        &[(
            "2025.csv",
            b"Species;13.05.2025;14.05.2025;Remarks\nDunlin;3;12;many\nLittle Stint;;x;\n",
        )],
    );
    loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2025-05-13", "long-bank", "Calidris alpina", Exactly(3)),
            row("2025-05-14", "long-bank", "Calidris alpina", Exactly(12)),
            row("2025-05-14", "long-bank", "Calidris minuta", Present),
        ]
    );
}

fn months(more: &str) -> String {
    format!("kind = \"counts\"\nfile = \"counts\"\nwide = \"month\"\nsite = \"long-bank\"\n{more}")
}

/// A sheet a year: the day runs down, the months across, and the year is the file's name.
#[test]
fn a_column_a_month_and_a_row_a_day() {
    let grid: &[u8] = b"Day,Bird,Jan,Feb,March\n30,Dunlin,3,,5\n31,Dunlin,,2,\n";
    let loaded = workspace(
        &months("columns = { species = \"Bird\", day = \"Day\" }"),
        &[
            ("counts/2024.csv", grid),
            ("counts/2025.csv", b"Day,Bird,Jan,Feb,March\n1,Dunlin,7,,\n"),
        ],
    );
    let report = loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2024-01-30", "long-bank", "Calidris alpina", Exactly(3)),
            row("2024-03-30", "long-bank", "Calidris alpina", Exactly(5)),
            row("2025-01-01", "long-bank", "Calidris alpina", Exactly(7)),
        ]
    );
    assert_eq!(
        refusals(&report),
        [
            "counts/2024.csv, line 3, Feb \"2024-02-31\": no day of the calendar in the order \
          year-month-day"
        ]
    );
}

/// One count a month: the settings say which day stands for it.
#[test]
fn a_column_a_month_and_a_stated_day() {
    let loaded = workspace(
        &months("day = 15\ncolumns = { species = \"Bird\", year = \"Year\" }"),
        &[(
            "counts/all.csv",
            b"Year,Bird,May,Aug\n2024,Dunlin,3,40\n2025,Dunlin,5,\n",
        )],
    );
    loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2024-05-15", "long-bank", "Calidris alpina", Exactly(3)),
            row("2024-08-15", "long-bank", "Calidris alpina", Exactly(40)),
            row("2025-05-15", "long-bank", "Calidris alpina", Exactly(5)),
        ]
    );
    let no_year = workspace(
        &months("day = 15\ncolumns = { species = \"Bird\" }"),
        &[("counts/all.csv", b"Bird,May,Aug\nDunlin,3,40\n")],
    );
    assert_eq!(
        no_year.load().unwrap_err().to_string(),
        "counts/all.csv has no one year in its name; name its column as columns.year of source \
         \"counts\", or write year = 2024"
    );
    let no_day = refused(&months("columns = { species = \"Bird\" }"));
    assert!(no_day.contains("write day = 15"), "{no_day}");
}

#[test]
fn temperature_with_a_column_a_day() {
    let loaded = workspace(
        r#"
        kind = "temperature"
        file = "temperature.csv"
        wide = "day"
        columns = { year = "Year", month = "Month" }
        "#,
        &[(
            "temperature.csv",
            b"Year,Month,1,2,31\n2024,May,9.5,10,11\n2024,6,12,13.5,\n",
        )],
    );
    let report = loaded.load().unwrap();
    assert_eq!(
        (report.sources[0].accepted, report.sources[0].refused.len()),
        (5, 0),
        "{report}"
    );
    let store = ingest::Store::open_existing(loaded.folder.path()).unwrap();
    let series = store.temperature("long-bank").unwrap();
    assert_eq!(series[0], (day("2024-05-01"), 9.5));
    assert_eq!(series[4], (day("2024-06-02"), 13.5));
}

#[test]
fn settings_that_do_not_go_together() {
    for (source, sentence) in [
        (
            "kind = \"visits\"\nfile = \"v.csv\"\nwide = \"date\"\ncolumns = { date = \"D\", site = \"P\" }",
            "wide in [[source]] does not go with what it holds",
        ),
        (
            "kind = \"counts\"\nfile = \"c.csv\"\nyear = 2024\ncolumns = { date = \"D\", site = \"P\", species = \"S\" }",
            "year in [[source]] belongs to a wide table",
        ),
        (
            "kind = \"counts\"\nfile = \"c.csv\"\nwide = \"species\"\ncolumns = { date = \"D\", site = \"P\", species = \"S\" }",
            "species in columns of [[source]] stands in the header of a wide table",
        ),
        (
            "kind = \"counts\"\nfile = \"c.csv\"\nwide = \"weeks\"\ncolumns = { date = \"D\", site = \"P\" }",
            "unknown wide \"weeks\" in [[source]]; expected species, date, month or day",
        ),
    ] {
        let said = refused(source);
        assert!(said.contains(sentence), "{said}");
    }
}

#[test]
fn nothing_to_read_across() {
    let loaded = workspace(
        "kind = \"counts\"\nfile = \"c.csv\"\nwide = \"date\"\nsite = \"long-bank\"\ncolumns = { species = \"Bird\" }",
        &[("c.csv", b"Bird,May\nDunlin,3\n")],
    );
    assert_eq!(
        loaded.load().unwrap_err().to_string(),
        "c.csv, line 1: no column has a date for its name, as wide = \"date\" of source \"counts\" \
         says; it has \"Bird\", \"May\""
    );
}
