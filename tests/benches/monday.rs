//! `cargo bench --workspace --bench monday [-- READERS]`: the Monday of 10,000 subscribers with 288
//! different choices, in two languages and three ways of writing dates: composed, rendered and queued.
//! Told beside it is the same with nobody on the list.

use chrono::Utc;
use harness::program::wingtide;
use harness::reserve::{counts, settings};
use notifier::dates::DateStyle;
use notifier::service::tables;
use notifier::subscribers::{Choices, Frequency};
use rusqlite::params;
use std::path::Path;
use std::time::{Duration, Instant};

const READERS: usize = 10_000;
const SITES: [(&str, &str); 4] = [
    ("long-bank", "Long Bank"),
    ("loch-arne", "Loch Arne"),
    ("old-pans", "Old Pans"),
    ("west-fen", "West Fen"),
];

fn main() {
    let number = std::env::args().find_map(|a| a.parse().ok());
    let readers = number.unwrap_or(READERS);
    let home = tempfile::tempdir().expect("a folder");
    prepare(home.path());
    let bare = monday(home.path(), "2024-09-04");
    subscribe(home.path(), readers);
    let whole = monday(home.path(), "2024-09-11");
    let conn = tables::open(home.path()).expect("tables");
    let count = |sql: &str| -> i64 { conn.query_row(sql, [], |row| row.get(0)).expect("a number") };
    let queued = count("SELECT count(*) FROM deliveries");
    let forms = count("SELECT count(DISTINCT contents) FROM deliveries");
    println!("nobody: {:.2} s", bare.as_secs_f64());
    println!(
        "{readers} readers: {:.2} s, {queued} queued, {forms} renderings",
        whole.as_secs_f64()
    );
}

fn prepare(root: &Path) {
    // a server at which nobody listens, so that all of it waits
    let more = "\n[mail]\nserver = \"127.0.0.1\"\nport = 9\nsecurity = \"none\"\n\n[service]\n\
        public_url = \"https://birds.skerrow.example\"\nsubscribe = true\n";
    let text = settings(&SITES) + more;
    std::fs::write(root.join("wingtide.toml"), text).expect("written");
    std::fs::write(root.join("counts.csv"), counts(&SITES)).expect("written");
    wingtide(root, &["load"]).works();
    wingtide(root, &["fit"]).works();
}

/// Composes and queues; how long that took.
fn monday(root: &Path, date: &str) -> Duration {
    let began = Instant::now();
    wingtide(root, &["digest", "--send", "--date", date]);
    began.elapsed()
}

/// Confirmed readers, whose choices go through all that there is.
fn subscribe(root: &Path, readers: usize) {
    let mut conn = tables::open(root).expect("tables");
    let now = Utc::now().timestamp();
    let tx = conn.transaction().expect("a transaction");
    for n in 0..readers {
        tx.execute(
            "INSERT INTO readers (mail) VALUES (?1)",
            [format!("reader-{n}@skerrow.example")],
        )
        .expect("a reader");
        let written = serde_json::to_string(&choices(n)).expect("JSON");
        tx.execute(
            "INSERT INTO subscribers (reader, choices, asked_at, confirmed_at)
             VALUES (?1, ?2, ?3, ?3)",
            params![tx.last_insert_rowid(), written, now],
        )
        .expect("a subscriber");
    }
    tx.commit().expect("all of them");
}

/// 15 parts of four sites (or all) by 2 languages, 3 styles and 3 kinds of birds.
fn choices(n: usize) -> Choices {
    let part = n % 16;
    let sites = SITES.iter().enumerate().filter(|(i, _)| part >> i & 1 == 1);
    let species = match n / 96 % 3 {
        0 => Vec::new(),
        1 => vec!["Calidris minuta".to_owned()],
        _ => vec!["Calidris alpina".to_owned()],
    };
    Choices {
        sites: sites.map(|(_, (id, _))| (*id).to_owned()).collect(),
        species: species.into_iter().collect(),
        frequency: Frequency::Weekly,
        language: (n / 16 % 2 == 1).then(|| "la".to_owned()),
        dates: DateStyle::ALL[n / 32 % 3],
        ..Choices::default()
    }
}
