//! What is passed on, against what others say of it: the schema and the terms of the Darwin Core
//! standard (`tests/reference/darwin-core`), a general-purpose reader of its archives
//! (python-dwca-reader), and the store that the counts came from.

use forecast::series::Count;
use harness::night_migrants;
use harness::places::{reference, skipped};
use harness::program::{Workspace, typed, wingtide};
use ingest::Store;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

/// The demo, loaded once for all tests here.
static DEMO: LazyLock<PathBuf> = LazyLock::new(|| {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("export");
    if dir.exists() {
        std::fs::remove_dir_all(&dir).expect("the last run's demo goes");
    }
    typed(&["demo", dir.to_str().expect("a plain path")]).works();
    dir
});

fn exported(dir: &Path, format: &str) -> tempfile::TempDir {
    let out = tempfile::tempdir().expect("a folder of our own");
    let to = out.path().to_str().expect("a plain path");
    wingtide(dir, &["export", "--format", format, "--out", to]).works();
    out
}

/// The archive's files, in a folder.
fn unzipped(out: &Path) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder of our own");
    let file = std::fs::File::open(out.join("darwin-core.zip")).expect("the archive");
    let mut zip = zip::ZipArchive::new(file).expect("a zip");
    zip.extract(folder.path()).expect("it unpacks");
    folder
}

/// Visits, counts and temperature of every site.
type Content = BTreeMap<
    String,
    (
        Vec<String>,
        BTreeMap<String, Vec<Count>>,
        Vec<(String, f64)>,
    ),
>;

fn content(dir: &Path) -> Content {
    let workspace = config::load(dir).expect("settings");
    let store = Store::open_existing(dir).expect("a store");
    let site = |id: &str| {
        let history = store.history(&workspace, id).expect("a history");
        let visits = history.visits.iter();
        let visits = visits.map(|v| format!("{} {}", v.date, v.log_effort_ratio));
        let counts = history.species.iter();
        let counts = counts.map(|(name, s)| (name.clone(), s.iter().map(|(_, c)| c).collect()));
        let days = store.temperature(id).expect("temperatures").into_iter();
        let days = days.map(|(date, mean)| (date.to_string(), mean));
        (visits.collect(), counts.collect(), days.collect())
    };
    let ids = workspace.sites.iter().map(|s| s.id.clone());
    ids.map(|id| (id.clone(), site(&id))).collect()
}

fn loads_again_the_same(dir: &Path, format: &str) -> usize {
    let out = exported(dir, format);
    wingtide(out.path(), &["load"]).works();
    let (mut before, after) = (content(dir), content(out.path()));
    if format == "darwin-core" {
        // its standard is one of occurrences: temperature does not go with them
        before
            .values_mut()
            .for_each(|(.., temperature)| temperature.clear());
    }
    assert_eq!(
        before.keys().collect::<Vec<_>>(),
        after.keys().collect::<Vec<_>>()
    );
    for (site, before) in &before {
        assert!(*before == after[site], "{site} differs as {format}");
    }
    let birds = before
        .values()
        .flat_map(|(_, species, _)| species.values().flatten());
    birds.map(|count| count.birds() as usize).sum()
}

#[test]
fn the_demo_loads_again_as_an_identical_store() {
    for format in ["csv", "parquet", "darwin-core"] {
        assert!(loads_again_the_same(&DEMO, format) > 100_000, "{format}");
    }
}

#[test]
fn the_real_counts_load_again_as_an_identical_store() {
    let Some(workspace) = night_migrants::workspace() else {
        return skipped("../shared/data is absent");
    };
    workspace.run(&["load"]).works();
    for format in ["csv", "darwin-core"] {
        assert_eq!(
            loads_again_the_same(&workspace.path(""), format),
            20_662,
            "{format}"
        );
    }
}

#[test]
fn the_archive_follows_the_schema_of_the_standard() {
    let folder = unzipped(exported(&DEMO, "darwin-core").path());
    let checked = Command::new("xmllint")
        .args(["--noout", "--nonet", "--schema"])
        .arg(reference("darwin-core/tdwg_dwc_text.xsd"))
        .arg(folder.path().join("meta.xml"))
        .output();
    match checked {
        Err(_) => skipped("xmllint (libxml2-utils) is absent"),
        Ok(said) => assert!(
            said.status.success(),
            "{}",
            String::from_utf8_lossy(&said.stderr)
        ),
    }
}

#[test]
fn every_term_is_one_of_the_standard() {
    let terms = std::fs::read_to_string(reference("darwin-core/terms.txt")).expect("the terms");
    let known: BTreeSet<&str> = terms.lines().collect();
    let folder = unzipped(exported(&DEMO, "darwin-core").path());
    let meta = std::fs::read_to_string(folder.path().join("meta.xml")).expect("meta.xml");
    let of = |attribute: &str| -> Vec<String> {
        let start = format!("{attribute}=\"");
        let parts = meta.split(&start).skip(1);
        parts
            .filter_map(|p| p.split('"').next())
            .map(str::to_owned)
            .collect()
    };
    let used = of(" term");
    assert!(used.len() > 20, "{used:?}");
    for term in &used {
        assert!(known.contains(term.as_str()), "{term} is no term");
    }
    // row types as the standard and the registered Humboldt Extension have them
    let rows = [
        "http://rs.tdwg.org/dwc/terms/Event",
        "http://rs.tdwg.org/dwc/terms/Occurrence",
        "http://rs.tdwg.org/eco/terms/Event",
    ];
    assert_eq!(of("rowType"), rows);
}

#[test]
fn ids_are_unique_and_every_row_has_its_event() {
    let folder = unzipped(exported(&DEMO, "darwin-core").path());
    let column = |file: &str, name: &str| -> Vec<String> {
        let reader = csv::ReaderBuilder::new()
            .delimiter(b'\t')
            .from_path(folder.path().join(file));
        let mut reader = reader.expect("a table");
        let header = reader.headers().expect("a header").clone();
        let place = header.iter().position(|h| h == name).expect("the column");
        let rows = reader
            .records()
            .map(|r| r.expect("a row")[place].to_owned());
        rows.collect()
    };
    let events = column("event.txt", "eventID");
    let unique: BTreeSet<&String> = events.iter().collect();
    assert_eq!((unique.len(), events.len()), (events.len(), 8067));
    let occurrences = column("occurrence.txt", "occurrenceID");
    assert_eq!(
        occurrences.iter().collect::<BTreeSet<_>>().len(),
        occurrences.len()
    );
    for file in ["occurrence.txt", "humboldt.txt"] {
        assert!(
            column(file, "eventID").iter().all(|id| unique.contains(id)),
            "{file}"
        );
    }
    let found = column("occurrence.txt", "occurrenceStatus");
    let number = column("occurrence.txt", "individualCount");
    for (status, number) in found.iter().zip(&number) {
        assert_eq!(status == "absent", number == "0");
    }
}

/// What python-dwca-reader makes of the archive: its core, its extensions and their rows.
const READ: &str = r#"
import sys
from dwca.read import DwCAReader
with DwCAReader(sys.argv[1]) as dwca:
    print(dwca.descriptor.core.type)
    print(*[e.type for e in dwca.descriptor.extensions])
    rows, occurrences, absent, datum = 0, 0, 0, set()
    for row in dwca:
        rows += 1
        datum.add(row.data["http://rs.tdwg.org/dwc/terms/geodeticDatum"])
        for extension in row.extensions:
            if extension.rowtype.endswith("dwc/terms/Occurrence"):
                occurrences += 1
                status = extension.data["http://rs.tdwg.org/dwc/terms/occurrenceStatus"]
                absent += status == "absent"
    print(rows, occurrences, absent, *datum)
"#;

#[test]
fn a_general_purpose_reader_reads_the_archive() {
    let python = std::env::var("WINGTIDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let there = Command::new(&python)
        .args(["-c", "import dwca.read"])
        .output();
    if !there.is_ok_and(|o| o.status.success()) {
        return skipped(
            "python-dwca-reader is absent (WINGTIDE_PYTHON names a Python that has it)",
        );
    }
    let workspace = small();
    let out = exported(&workspace.path(""), "darwin-core");
    let archive = out.path().join("darwin-core.zip");
    let said = Command::new(&python)
        .args(["-c", READ])
        .arg(&archive)
        .output()
        .expect("it runs");
    assert!(
        said.status.success(),
        "{}",
        String::from_utf8_lossy(&said.stderr)
    );
    let text = String::from_utf8_lossy(&said.stdout);
    let lines: Vec<&str> = text.lines().collect();
    let expected = [
        "http://rs.tdwg.org/dwc/terms/Event",
        "http://rs.tdwg.org/dwc/terms/Occurrence http://rs.tdwg.org/eco/terms/Event",
        "3 6 2 EPSG:4326",
    ];
    assert_eq!(lines, expected);
}

/// Three visits on which two species were found twice each, fully reported.
fn small() -> Workspace {
    let settings =
        "[workspace]\nname = \"Skerrow \\\"Ness\\\" & more\"\n[[site]]\nid = \"long-bank\"\n\
        name = \"Long <Bank>\\ttab\"\nlatitude = 54.63\nlongitude = -0.41\n\
        time_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n\
        [[source]]\nid = \"counts\"\nkind = \"counts\"\nfile = \"counts.csv\"\n\
        date_order = \"year-month-day\"\nfully_reported = true\n\
        columns = { date = \"Date\", species = \"Bird\", count = \"Number\" }\n"
            .replace("\\ttab", "");
    let counts = "Date,Bird,Number\n2024-05-01,Calidris alpina,3\n2024-05-02,Calidris alpina,c. 40\n\
        2024-05-02,Calidris minuta,x\n2024-05-03,Calidris minuta,1+\n";
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings)
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace
}
