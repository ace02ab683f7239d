//! An invented reserve, and each command that changes its store or reads it at length.

use super::state::State;
use crate::program::{Place, Program, copy};
use harness::places::repository;
use harness::written;
use rusqlite::Connection;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempDir;

/// A command on a workspace as it stands before it.
pub struct Step {
    pub name: &'static str,
    pub command: Vec<String>,
    /// The workspace before.
    pub template: PathBuf,
    pub before: State,
    pub after: State,
    /// Every file and folder that is there when all is done.
    pub names: Vec<String>,
    /// How long it takes.
    pub took: Duration,
    /// Opening the store changes it.
    pub is_older: bool,
}

impl Step {
    pub fn args(&self) -> Vec<&str> {
        self.command.iter().map(String::as_str).collect()
    }

    /// What it says when it was done before; None where doing it again leads elsewhere.
    pub fn again(&self) -> Option<&'static str> {
        match self.command[0].as_str() {
            "undo" => None,
            "erase-observer" => Some("no observer is kept as"),
            _ => Some(""),
        }
    }
}

/// All steps, in a folder that goes with them.
pub struct Scene {
    pub steps: Vec<Step>,
    folder: TempDir,
}

const SOURCE: &str = r#"
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
fully_reported = true
columns = { date = "Date", site = "Place", species = "Species", count = "Number" }
"#;

fn settings() -> String {
    let sites = [
        written::site("long-bank", "Long Bank"),
        written::site("tern-lagoon", "Tern Lagoon"),
    ];
    let birds = [
        written::species("Calidris minuta", "Little Stint"),
        written::species("Calidris alpina", "Dunlin"),
        written::species("Sterna hirundo", "Common Tern"),
    ];
    let workspace = written::workspace("Skerrow Ness");
    [workspace, sites.concat(), birds.concat(), SOURCE.to_owned()].concat()
}

const VISITS: &str = r#"
[[source]]
id = "visits"
kind = "visits"
file = "visits.csv"
date_order = "year-month-day"
columns = { date = "Date", site = "Place", effort = "Minutes" }
"#;

const NOTEBOOK: &str = r#"
[[source]]
id = "notebook"
kind = "counts"
file = "notebook.ods"
sheet = "Counts"
columns = { date = "Date", site = "Place", species = "Species", count = "Number" }
"#;

/// The ledger's tables as versions 1 and 2 made them.
const VERSION_2: [&str; 2] = [
    include_str!("../../../ingest/src/store/ledger.sql"),
    include_str!("../../../ingest/src/store/issued.sql"),
];

const SITES: [&str; 2] = ["Long Bank", "Tern Lagoon"];
const SPECIES: [&str; 3] = ["Little Stint", "Dunlin", "Common Tern"];

/// Dates of visits of the years.
fn dates(years: std::ops::Range<u32>) -> impl Iterator<Item = String> {
    years.flat_map(|year| {
        let days = (1..=12).flat_map(|month| (1..28).step_by(3).map(move |day| (month, day)));
        days.map(move |(month, day)| format!("{year}-{month:02}-{day:02}"))
    })
}

/// Counts of the years, each raised by so many birds.
fn counts(years: std::ops::Range<u32>, more: usize) -> String {
    let mut text = "Date,Place,Species,Number\n".to_owned();
    for (place, date) in dates(years).enumerate() {
        for (s, site) in SITES.iter().enumerate() {
            for (b, bird) in SPECIES.iter().enumerate() {
                let number = (place * (3 + s) * (5 + b)) % 40 + more;
                writeln!(text, "{date},{site},{bird},{number}").expect("text grows");
            }
        }
    }
    text
}

fn visits(years: std::ops::Range<u32>) -> String {
    let mut text = "Date,Place,Minutes\n".to_owned();
    for date in dates(years) {
        for site in SITES {
            writeln!(text, "{date},{site},60").expect("text grows");
        }
    }
    text
}

impl Scene {
    /// Makes every workspace and runs each command on a copy of its own, twice: it must lead to the
    /// same.
    pub fn build(program: &Program) -> Self {
        let mut scene = Scene {
            steps: Vec::new(),
            folder: tempfile::tempdir().expect("a folder of our own"),
        };
        let files = scene.first_files();
        let loaded = scene.step(program, "a first load", &files, &["load"], true);
        let changed = scene.changed("changed", &loaded, "counts.csv", &counts(2011..2026, 1));
        let twice = scene.step(program, "a changed file", &changed, &["load"], true);
        let fewer = scene.changed("fewer", &loaded, "counts.csv", &counts(2010..2021, 0));
        scene.step(program, "rows removed", &fewer, &["load"], true);
        scene.undo(program, &twice);
        let settings = format!("{}\n[store]\nkeep_batches = 0\n", settings());
        let without = scene.changed("without", &twice, "wingtide.toml", &settings);
        let name = "a source taken out and former rows let go";
        scene.step(program, name, &without, &["load"], true);
        scene.workbook(program, &loaded);
        scene.erasing(program);
        let export = ["export", "--format", "csv", "--out", "passed-on"];
        scene.step(program, "an export", &loaded, &export, false);
        scene.older(program, &loaded);
        scene
    }

    fn first_files(&self) -> PathBuf {
        let at = self.folder.path().join("first");
        std::fs::create_dir(&at).expect("a folder of our own");
        write(
            &at,
            "wingtide.toml",
            &[settings().as_str(), VISITS].concat(),
        );
        write(&at, "counts.csv", &counts(2010..2025, 0));
        write(&at, "visits.csv", &visits(2010..2025));
        at
    }

    /// A workspace with another file in it.
    fn changed(&self, called: &str, of: &Path, file: &str, text: &str) -> PathBuf {
        let at = self.folder.path().join(called);
        std::fs::create_dir(&at).expect("a folder of our own");
        copy(of, &at);
        write(&at, file, text);
        at
    }

    fn undo(&mut self, program: &Program, twice: &Path) {
        let place = Place::copy(&self.folder.path().join("undo"), twice);
        let number = State::of(program, &place).in_use("counts").to_string();
        self.step(program, "an undo", twice, &["undo", &number], true);
    }

    /// A reserve whose observers are kept, one of whom is forgotten.
    fn erasing(&mut self, program: &Program) {
        let at = self.folder.path().join("observers");
        std::fs::create_dir(&at).expect("a folder of our own");
        let kept = "[workspace]\nkeep_observers = \"names\"";
        let settings = settings().replacen("[workspace]", kept, 1);
        let column = "count = \"Number\", observer = \"By\" }";
        let settings = settings.replace("count = \"Number\" }", column);
        write(&at, "wingtide.toml", &settings);
        let counts = counts(2010..2025, 0);
        let mut lines = counts.lines();
        let mut text = lines.next().expect("a header").to_owned() + ",By\n";
        for (n, line) in lines.enumerate() {
            let by = ["A. Warden", "J. Tarn", "M. Holm"][n % 3];
            writeln!(text, "{line},{by}").expect("text grows");
        }
        write(&at, "counts.csv", &text);
        let loaded = self.step(program, "a load that keeps observers", &at, &["load"], true);
        let command = ["erase-observer", "J. Tarn"];
        self.step(program, "an observer erased", &loaded, &command, true);
    }

    fn workbook(&mut self, program: &Program, loaded: &Path) {
        let settings = [settings().as_str(), VISITS, NOTEBOOK].concat();
        let at = self.changed("workbook", loaded, "wingtide.toml", &settings);
        let sheet = repository().join("ingest/tests/fixtures/counts.ods");
        std::fs::copy(sheet, at.join("notebook.ods")).expect("the sheet is there");
        self.step(
            program,
            "a workbook, read by a process of its own",
            &at,
            &["load"],
            true,
        );
    }

    fn older(&mut self, program: &Program, loaded: &Path) {
        let settings = [settings().as_str(), VISITS].concat();
        let at = self.changed("older", loaded, "wingtide.toml", &settings);
        to_version_2(&at.join(ingest::STORE_FOLDER));
        self.step(program, "an older store opened", &at, &["batches"], false);
        let at = self.changed("older-2", &at, "counts.csv", &counts(2011..2026, 1));
        self.step(program, "a load into an older store", &at, &["load"], true);
    }

    /// Notes a step; the workspace that it leads to.
    fn step(
        &mut self,
        program: &Program,
        name: &'static str,
        template: &Path,
        command: &[&str],
        changes: bool,
    ) -> PathBuf {
        let number = self.steps.len();
        let root = |which: &str| self.folder.path().join(format!("step-{number}-{which}"));
        let before = State::of(program, &Place::copy(&root("before"), template));
        let [one, two] = ["one", "two"].map(|which| {
            let place = Place::copy(&root(which), template);
            let ran = program.run(&place, command);
            assert!(ran.worked, "{name}: {}", ran.err);
            (State::of(program, &place), place.names(), ran.took, place)
        });
        assert_eq!(one.0, two.0, "{name}, done twice, leads to two states");
        assert_eq!(one.1, two.1, "{name}, done twice, leaves other files");
        assert_eq!(before != one.0, changes, "{name}: what it changes");
        self.steps.push(Step {
            name,
            command: command.iter().map(|&word| word.to_owned()).collect(),
            template: template.to_owned(),
            before,
            after: one.0,
            names: one.1,
            took: one.2.min(two.2),
            is_older: name.contains("older"),
        });
        one.3.workspace()
    }
}

fn write(folder: &Path, file: &str, text: &str) {
    std::fs::write(folder.join(file), text).expect("a file of our own can be written");
}

/// Puts the ledger into the tables of version 2.
fn to_version_2(store: &Path) {
    let (ledger, today) = (store.join("ledger.sqlite"), store.join("../today.sqlite"));
    std::fs::rename(&ledger, &today).expect("the ledger can be moved");
    let sql = |result: rusqlite::Result<()>| result.expect("sound SQL");
    let conn = Connection::open(&ledger).expect("a ledger can be made");
    sql(conn.execute_batch(&VERSION_2.concat()));
    sql(conn.pragma_update(None, "user_version", 2));
    let today_path = today.to_str().expect("a plain path");
    sql(conn.execute("ATTACH ?1 AS today", [today_path]).map(drop));
    for (table, columns) in [
        (
            "batches",
            "id, source, loaded_at, kind, file, file_sha256, mapping_sha256, fully_reported, \
             rows, parquet, bytes, report",
        ),
        ("gaps", "site, year, half, visits"),
        ("last_load", "id, loaded_at, report"),
    ] {
        let copy =
            format!("INSERT INTO main.{table} ({columns}) SELECT {columns} FROM today.{table}");
        sql(conn.execute(&copy, []).map(drop));
    }
    sql(conn.execute_batch("DETACH today"));
    std::fs::remove_file(today).expect("our own copy can be removed");
}
