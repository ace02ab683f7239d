//! The invented survey: 200 sites on the coast of Loch Arne, 300 species, 30 years.

use chrono::{Days, NaiveDate};
use rand::{Rng, SeedableRng, seq::index};
use rand_pcg::Pcg64;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

pub const ROWS: usize = 10_000_000;
const SITES: usize = 200;
const SPECIES: usize = 300;
const YEARS: u64 = 30;
/// Sites visited on one day: with 15 to 16 species on a visit, the file spans the years.
const SITES_A_DAY: usize = 60;
const MORE_ROWS: usize = 5_000;
/// Sites of which the further rows are.
const MORE_SITES: usize = 5;

/// Writes the workspace; the length of its file of counts.
pub fn write(folder: &Path, rows: usize) -> u64 {
    std::fs::write(folder.join("wingtide.toml"), settings(false)).expect("written");
    let path = folder.join("counts.csv");
    let start = NaiveDate::from_ymd_opt(1995, 1, 1).expect("a date");
    counts(&path, start, rows, SITES_A_DAY);
    std::fs::metadata(path).expect("a file").len()
}

/// Five thousand rows of the next year in a file of their own: a few people's, of their few sites.
pub fn write_more(folder: &Path) {
    std::fs::write(folder.join("wingtide.toml"), settings(true)).expect("written");
    let start = NaiveDate::from_ymd_opt(1995 + YEARS as i32, 1, 1).expect("a date");
    counts(&folder.join("more.csv"), start, MORE_ROWS, 0);
}

/// Takes away the store and the page.
pub fn clear(folder: &Path) {
    let _ = std::fs::remove_dir_all(folder.join(ingest::STORE_FOLDER)); // none at first
}

fn species(n: usize) -> String {
    const GENERA: [&str; 12] = [
        "Undula", "Litora", "Arenia", "Palura", "Saxella", "Nubila", "Ventia", "Marisca", "Ripula",
        "Caelia", "Lacunia", "Fretia",
    ];
    const FIRST: [&str; 5] = ["alb", "nigr", "ruf", "glauc", "pall"];
    const LAST: [&str; 5] = ["ipes", "iceps", "icauda", "irostris", "ipennis"];
    let (genus, rest) = (GENERA[n % 12], n / 12);
    format!("{genus} {}{}", FIRST[rest % 5], LAST[rest / 5])
}

fn settings(more: bool) -> String {
    let mut text =
        "[workspace]\nname = \"Loch Arne\"\nlanguage = \"en\"\nvisits_assumed = 3\n".to_owned();
    for n in 0..SITES {
        let latitude = 56.0 + n as f64 / 200.0;
        // writing to a String cannot fail
        let _ = write!(
            text,
            "\n[[site]]\nid = \"site-{n}\"\nname = \"Arne Point {n}\"\nlatitude = {latitude}\n\
             longitude = -5.5\ntime_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n"
        );
    }
    for n in 0..SPECIES {
        let _ = write!(text, "\n[[species]]\nscientific = \"{}\"\n", species(n)); // as above
    }
    for file in ["counts", "more"].iter().take(1 + usize::from(more)) {
        let _ = write!(
            text,
            "\n[[source]]\nid = \"{file}\"\nkind = \"counts\"\nfile = \"{file}.csv\"\n\
             date_order = \"year-month-day\"\nfully_reported = true\ncolumns = {{ date = \"Date\", \
             site = \"Place\", species = \"Species\", count = \"Number\", effort = \"Minutes\" }}\n"
        ); // as above
    }
    text + "\n[look_alikes]\nuse = []\n"
}

/// Day after day, so many of the sites, each with the species that are about; the same few where
/// none are to be chosen.
fn counts(path: &Path, start: NaiveDate, rows: usize, sites_a_day: usize) {
    let mut file = BufWriter::new(File::create(path).expect("a file"));
    let mut rng = Pcg64::seed_from_u64(1);
    let names: Vec<String> = (0..SPECIES).map(species).collect();
    writeln!(file, "Date,Place,Species,Number,Minutes").expect("written");
    let mut written = 0;
    for day in 0.. {
        let date = start + Days::new(day);
        let season = (day % 365) as usize * SPECIES / 365;
        let sites = match sites_a_day {
            0 => (0..MORE_SITES).collect(),
            number => index::sample(&mut rng, SITES, number).into_vec(),
        };
        for site in sites {
            let minutes = 15 * rng.random_range(2..=12);
            let found = rng.random_range(5..30);
            let found: BTreeSet<usize> = (0..found)
                .map(|_| (season + rng.random_range(0..SPECIES / 3)) % SPECIES)
                .collect();
            for n in found {
                let birds = (1.0 / rng.random_range(0.002..1.0_f64)) as u32;
                let dirty = rng.random_range(0..1000_u32) == 0;
                let row = Row {
                    date,
                    site,
                    name: &names[n],
                    birds,
                    minutes,
                };
                let row = if dirty {
                    row.dirty(written)
                } else {
                    row.clean()
                };
                writeln!(file, "{row}").expect("written");
                written += 1;
                if written == rows {
                    return file.flush().expect("written");
                }
            }
        }
    }
}

struct Row<'a> {
    date: NaiveDate,
    site: usize,
    name: &'a str,
    birds: u32,
    minutes: u32,
}

impl Row<'_> {
    fn clean(&self) -> String {
        let Row {
            date,
            site,
            name,
            birds,
            minutes,
        } = self;
        format!("{date},Arne Point {site},{name},{birds},{minutes}")
    }

    /// As people write: to be read, to be repaired, to be refused.
    fn dirty(&self, which: usize) -> String {
        let Row {
            date,
            site,
            name,
            birds,
            minutes,
        } = self;
        let place = format!("Arne Point {site}");
        match which % 10 {
            0 => format!("{date},{place},{name},c. {birds},{minutes}"),
            1 => format!("{date},{place},{name},{birds}+,{minutes}"),
            2 => format!("{date},{place},{name},x,{minutes}"),
            3 => format!("{date},arne point {site},{name},{birds},{minutes}"),
            4 => format!("{date},{place}, {name} ,{birds},{minutes}"),
            5 => format!("{date},{place},{},{birds},{minutes}", name.to_uppercase()),
            6 => format!(
                "{},{place},{name},{birds},{minutes}",
                date.format("%Y-%m-32")
            ),
            7 => format!("{date},Arne Pt {site},{name},{birds},{minutes}"),
            8 => format!("{date},{place},{name},many,{minutes}"),
            _ => format!("{date},{place},{name},,{minutes}"),
        }
    }
}
