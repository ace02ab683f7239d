//! One folder of dirty files.

use super::folder;
use harness::program::{Ran, Workspace};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// What the program says and makes of a case: texts by the name of their file.
pub type Outcome = BTreeMap<String, String>;

const EXPECTED: &str = "expected";
const SOURCE: &str = "source.toml";
const TABLES: [&str; 3] = ["counts.csv", "visits.csv", "temperature.csv"];

pub struct Case {
    pub name: String,
    path: PathBuf,
}

impl Case {
    pub fn new(path: PathBuf) -> Self {
        let name = path.file_name().expect("a folder with a name");
        Case {
            name: name.to_string_lossy().into_owned(),
            path,
        }
    }

    pub fn run(&self) -> Outcome {
        self.outcome(&self.workspace())
    }

    /// As if a file held those bytes.
    pub fn run_with(&self, file: &str, bytes: &[u8]) -> Outcome {
        self.outcome(&self.workspace().with(file, bytes))
    }

    fn outcome(&self, workspace: &Workspace) -> Outcome {
        let ran = workspace.run(&["load"]);
        let loaded = ran.code == 0;
        let mut outcome = Outcome::from([("load.txt".to_owned(), told(&ran, workspace))]);
        if loaded {
            self.again(workspace);
            outcome.extend(tables(workspace));
        } else {
            assert!(
                workspace.store().is_empty(),
                "{}: a load that failed left a store",
                self.name
            );
        }
        outcome
    }

    /// Loading again changes nothing, and every row was taken or refused.
    fn again(&self, workspace: &Workspace) {
        let before = workspace.store();
        let report = workspace.run(&["load", "--json"]).json();
        assert_eq!(report["unchanged"], true, "{}", self.name);
        assert!(before == workspace.store(), "{}: the store", self.name);
        for source in report["sources"].as_array().expect("sources") {
            let number = |key: &str| source[key].as_u64().expect("a number");
            let refused = source["refused"].as_array().map_or(0, Vec::len) as u64;
            let sum = number("accepted") + refused;
            assert_eq!(number("rows"), sum, "{}: rows", self.name);
        }
    }

    fn workspace(&self) -> Workspace {
        let workspace = Workspace::empty();
        copy(&self.path, &workspace.path(""));
        let own = self.path.join(SOURCE);
        let source = if own.exists() {
            own
        } else {
            folder().join(SOURCE)
        };
        let read = |path: PathBuf| fs::read_to_string(path).expect("settings");
        let settings = read(folder().join("skerrow-ness.toml")) + &read(source);
        workspace.with("wingtide.toml", settings)
    }

    pub fn expected(&self) -> Outcome {
        let Ok(entries) = fs::read_dir(self.path.join(EXPECTED)) else {
            return Outcome::new();
        };
        let read = |path: PathBuf| {
            let name = path.file_name().expect("a name").to_string_lossy();
            let text = fs::read_to_string(&path).expect("an expectation in UTF-8");
            (name.into_owned(), text)
        };
        entries.map(|e| read(e.expect("an entry").path())).collect()
    }

    /// Writes the expectation.
    pub fn expect(&self, outcome: &Outcome) {
        let folder = self.path.join(EXPECTED);
        if folder.exists() {
            fs::remove_dir_all(&folder).expect("the old expectation goes");
        }
        fs::create_dir(&folder).expect("a folder for the expectation");
        for (file, text) in outcome {
            fs::write(folder.join(file), text).expect("the expectation is written");
        }
    }
}

/// Every file of a case but what is said about it.
fn copy(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).expect("a folder of the case") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name").to_owned();
        if name == EXPECTED || name == SOURCE {
            continue;
        }
        let to = to.join(name);
        if path.is_dir() {
            fs::create_dir(&to).expect("a folder of our own");
            copy(&path, &to);
        } else {
            fs::copy(&path, &to).expect("a file of the case");
        }
    }
}

/// What was said, without what is another each time: folder and moment.
fn told(ran: &Ran, workspace: &Workspace) -> String {
    let folder = workspace.path("");
    let folder = folder.to_str().expect("a plain path").trim_end_matches('/');
    let said = format!("{}{}", ran.out, ran.err).replace(folder, "SKERROW-NESS");
    let lines = said.lines().map(|line| match line.split_once(" on 20") {
        Some((begin, _)) if line.ends_with(" UTC.") => format!("{begin} on DATE."),
        _ => line.to_owned(),
    });
    let lines: Vec<String> = lines.collect();
    format!("ended with {}\n{}\n", ran.code, lines.join("\n"))
}

/// The tables that the store gives back; none where nothing in it can be passed on.
fn tables(workspace: &Workspace) -> Outcome {
    let out = workspace.path("passed-on");
    let out_name = out.to_str().expect("a plain path");
    workspace
        .run(&["export", "--format", "csv", "--out", out_name])
        .works();
    let read = |name: &str| Some((name.to_owned(), fs::read_to_string(out.join(name)).ok()?));
    TABLES.into_iter().filter_map(read).collect()
}
