//! The README's section *Your own counts*, done as a stranger would: its table, its settings and
//! its commands, as they stand there.

use chrono::{Datelike, NaiveDate};
use harness::program::{Ran, typed};
use harness::readme::{blocks, section};
use serde_json::Value;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// What the section tells one to write and type.
struct Told {
    table: String,
    settings: String,
    own_set: String,
    commands: Vec<String>,
}

fn told() -> Told {
    let section = section("Your own counts");
    let toml = blocks(&section, "toml");
    let commands = blocks(&section, "sh").concat();
    Told {
        table: blocks(&section, "csv").concat(),
        settings: toml[0].clone(),
        own_set: toml[1].clone(),
        commands: commands.lines().map(str::to_owned).collect(),
    }
}

/// A stranger's folder, in which the section's `mine` comes to lie.
struct Stranger {
    home: TempDir,
    told: Told,
}

impl Stranger {
    fn new() -> Self {
        let home = tempfile::tempdir().expect("a folder of our own");
        Stranger { home, told: told() }
    }

    fn mine(&self) -> PathBuf {
        self.home.path().join("mine")
    }

    fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        std::fs::write(self.mine().join(name), content).expect("the file can be written");
    }

    /// Types a command of the README, with more behind it.
    fn types(&self, line: &str, more: &[&str]) -> Ran {
        let mine = self.mine();
        let words = line
            .split(' ')
            .map(|w| if w == "mine" { plain(&mine) } else { w });
        let words: Vec<&str> = words.chain(more.iter().copied()).collect();
        assert_eq!(words[0], "wingtide", "{line}");
        typed(&words[1..])
    }

    /// The section from `new` to `week`, with the table and settings as given; the last command's
    /// answer as JSON.
    fn follows(&self, table: impl AsRef<[u8]>, settings: &str) -> Value {
        let [new, load, fit, week] = &self.told.commands[..] else {
            panic!("the section has four commands: {:?}", self.told.commands);
        };
        self.types(new, &[]).works();
        self.write("wingtide.toml", settings);
        self.write("counts.csv", table);
        assert!(self.types(week, &[]).fails().contains(&format!(
            "run `wingtide --dir {} load`",
            plain(&self.mine())
        )));
        self.types(load, &[]).works();
        let said = self.types(week, &[]).fails();
        assert!(
            said.contains("have not been fitted yet")
                && said.contains(&format!("run: wingtide --dir {} fit", plain(&self.mine()))),
            "{said}"
        );
        self.types(fit, &[]).works();
        self.types(week, &["--json"]).json()
    }
}

fn plain(path: &Path) -> &str {
    path.to_str().expect("a plain path")
}

fn species(members: &Value) -> Vec<&str> {
    let members = members.as_array().expect("an array").iter();
    members
        .map(|m| m["species"].as_str().expect("a name"))
        .collect()
}

/// The table as other programs would save it.
fn saved_otherwise(table: &str) -> Vec<(&'static str, Vec<u8>)> {
    let bytes = |separator: &str| table.replace(',', separator).into_bytes();
    let marked = |separator: &str| [b"\xEF\xBB\xBF".to_vec(), bytes(separator)].concat();
    vec![
        ("commas", bytes(",")),
        ("semicolons", bytes(";")),
        ("tabs", bytes("\t")),
        ("commas behind a byte order mark", marked(",")),
        ("semicolons behind a byte order mark", marked(";")),
        ("tabs behind a byte order mark", marked("\t")),
        (
            "lines that end as on other systems",
            table.replace('\n', "\r\n").into_bytes(),
        ),
    ]
}

#[test]
fn the_section_works_however_the_sheet_was_saved() {
    let mut answers = Vec::new();
    for (how, table) in saved_otherwise(&told().table) {
        let stranger = Stranger::new();
        let week = stranger.follows(table, &stranger.told.settings);
        assert_eq!(week["watched"], true, "{how}");
        assert_eq!(week["sets"][0]["set"], "small-sandpipers", "{how}");
        answers.push(week);
    }
    assert!(answers.windows(2).all(|w| w[0] == w[1]));
}

#[test]
fn every_row_is_taken_whichever_name_the_species_goes_by() {
    let stranger = Stranger::new();
    stranger.follows(&stranger.told.table, &stranger.told.settings);
    let report = stranger
        .types(&stranger.told.commands[1], &["--json"])
        .json();
    let source = &report["sources"][0];
    let rows = stranger.told.table.lines().count() - 1;
    assert_eq!(
        (&source["rows"], &source["accepted"]),
        (&rows.into(), &rows.into())
    );
    let names: Vec<&str> = source["species"]
        .as_array()
        .expect("species")
        .iter()
        .map(|s| s["name"].as_str().expect("a name"))
        .collect();
    assert_eq!(
        names,
        ["Calidris alpina", "Calidris minuta", "Oenanthe oenanthe"]
    );
    assert_eq!(report["sites"][0]["zeros"], "known");
}

#[test]
fn with_few_records_chances_are_frequencies_and_the_pair_their_product() {
    let stranger = Stranger::new();
    let week = stranger.follows(&stranger.told.table, &stranger.told.settings);
    let members = week["sets"][0]["members"].as_array().expect("members");
    let of = |name: &str| {
        members
            .iter()
            .find(|m| m["species"] == name)
            .expect("a member")
    };
    let number = |v: &Value| v.as_f64().expect("a number");
    // all six visits lie within 7 days of 2 September, and on four of them a Little Stint was found
    let stint = of("Calidris minuta");
    assert_eq!(stint["basis"], "frequency");
    assert!(
        (number(&stint["chance_visit"]) - 4.5 / 7.0).abs() < 1e-12,
        "{stint}"
    );
    assert!((number(&stint["chance_week"]) - (1.0 - (2.5_f64 / 7.0).powi(3))).abs() < 1e-12);
    let product = number(&stint["chance_week"]) * number(&of("Calidris alpina")["chance_week"]);
    assert!((number(&week["sets"][0]["chance_together"]) - product).abs() < 1e-12);
    let never = of("Calidris temminckii");
    assert!(number(&never["share"]) > 0.0 && number(&never["share"]) < 0.01);
}

#[test]
fn where_no_set_fits_every_species_is_listed_all_the_same() {
    let stranger = Stranger::new();
    let settings = format!("{}\n[look_alikes]\nuse = []\n", stranger.told.settings);
    let week = stranger.follows(&stranger.told.table, &settings);
    assert_eq!(week["sets"], Value::Array(vec![]));
    let mut listed = species(&week["others"]);
    listed.sort_unstable();
    assert_eq!(
        listed,
        ["Calidris alpina", "Calidris minuta", "Oenanthe oenanthe"]
    );
    let page = stranger.types(&stranger.told.commands[3], &[]).works();
    for name in ["Dunlin", "Little Stint", "Northern Wheatear"] {
        assert!(page.contains(name), "{name}: {page}");
    }
}

#[test]
fn the_set_of_ones_own_is_read() {
    let stranger = Stranger::new();
    let settings = [stranger.told.settings.as_str(), &stranger.told.own_set].join("\n");
    let table = stranger.told.table.clone() + "09/09/2025,Plectrophenax nivalis,1,60\n";
    let week = stranger.follows(table, &settings);
    let sets = week["sets"].as_array().expect("sets");
    let own = sets
        .iter()
        .find(|s| s["set"] == "wheatear-bunting")
        .expect("our own set");
    assert_eq!(own["members"].as_array().map(Vec::len), Some(2));
}

/// Ten invented autumns of weekly visits in the README's columns: stints about 6 September, Dunlin
/// all the time.
fn ten_autumns() -> String {
    let mut table = "Date,Bird,Number,Minutes\n".to_owned();
    for year in 2015..2025 {
        let first = NaiveDate::from_ymd_opt(year, 8, 1 + (3 * year % 7) as u32);
        for date in first.expect("a date").iter_weeks().take(12) {
            let days_off = (i64::from(date.ordinal()) - 249) as f64;
            let stints = (6.0 * (-0.5 * (days_off / 9.0).powi(2)).exp()).round();
            let date = date.format("%d/%m/%Y");
            table += &format!("{date},Dunlin,{},60\n", 40 + 10 * (year % 3));
            if stints > 0.0 {
                table += &format!("{date},Little Stint,{stints},60\n");
            }
        }
    }
    table
}

#[test]
fn with_enough_seasons_there_are_curves_and_dates() {
    let stranger = Stranger::new();
    let week = stranger.follows(ten_autumns(), &stranger.told.settings);
    let members = week["sets"][0]["members"].as_array().expect("members");
    let stint = members
        .iter()
        .find(|m| m["species"] == "Calidris minuta")
        .expect("a member");
    assert_eq!(stint["basis"], "curve");
    assert!(stint["chance_week"].as_f64() > Some(0.9), "{stint}");
    let rows = typed(&["--dir", plain(&stranger.mine()), "windows", "--json"]).json();
    let autumn = rows
        .as_array()
        .expect("rows")
        .iter()
        .find(|r| r["species"] == "Calidris minuta");
    let autumn = autumn.expect("a passage");
    assert_eq!(
        (&autumn["passage"], &autumn["verdict"]),
        (&"autumn".into(), &"curve".into())
    );
    let median = autumn["median"]["day"].as_str().expect("a date");
    // day 249 of the year is 6 September
    assert!(("09-04".."09-09").contains(&median), "{median}");
}

#[test]
fn empty_cells_of_effort_are_told() {
    let stranger = Stranger::new();
    let table = stranger.told.table.replace("85,45", "85,");
    stranger.follows(table, &stranger.told.settings);
    let again = stranger.types(&stranger.told.commands[1], &[]).works();
    let report = again.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted = "1 row has nothing in \"Minutes\"; its visit, where no other row tells its \
                  effort, is taken as standard in length.";
    assert!(report.contains(wanted), "{report}");
}
