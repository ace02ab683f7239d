//! Parquet, compressed files and folders: the same rows as from delimited text; and what tests of
//! workbooks share with them.

use crate::workspace::*;
use chrono::NaiveDate;
use config::settings::*;
use forecast::series::Count;
use ingest::confined::{self, Program};
use ingest::{LoadReport, Store};
use polars::prelude::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook as Xlsx, Worksheet};
use std::io::{Cursor, Write};
use std::path::Path;
use std::process::ExitCode;

/// The reading process: this very test binary, started for the one test below.
pub fn with_a_reading_process() {
    let args = ["--exact", "formats::the_reading_process", "--nocapture"];
    confined::register(Program {
        program: std::env::current_exe().unwrap(),
        args: args.iter().map(Into::into).collect(),
    });
}

#[test]
fn the_reading_process() {
    if let Some(folder) = std::env::var_os(confined::FOLDER) {
        assert_eq!(confined::serve(folder.as_ref()), ExitCode::SUCCESS);
    }
}

/// A workspace whose counts are that file.
pub fn counts_in(file: &str, bytes: impl AsRef<[u8]>) -> Built {
    with_a_reading_process();
    let mut built = built();
    if let Some(folder) = built.root().join(file).parent() {
        std::fs::create_dir_all(folder).unwrap();
    }
    built.write(file, bytes);
    let path = built.root().join(file);
    built
        .source("counts", SourceKind::Counts(count_columns()))
        .path = path;
    built
}

impl Built {
    /// With its one source changed.
    pub fn set(mut self, change: impl FnOnce(&mut Source)) -> Self {
        change(&mut self.workspace.sources[0]);
        self
    }
}

/// Date, site, species, count.
pub type Stored = (NaiveDate, String, String, Count);

/// Every known count in the store.
pub fn stored(built: &Built) -> Vec<Stored> {
    stored_in(&built.workspace, &built.root())
}

/// Every known count in the store of that folder.
pub fn stored_in(workspace: &Workspace, root: &Path) -> Vec<Stored> {
    let store = Store::open_existing(root).unwrap();
    let mut all = Vec::new();
    for site in &workspace.sites {
        let Ok(history) = store.history(workspace, &site.id) else {
            continue;
        };
        for (species, series) in &history.species {
            let known = series.iter().filter(|(_, count)| *count != Count::Unknown);
            all.extend(
                known.map(|(visit, count)| (visit.date, site.id.clone(), species.clone(), count)),
            );
        }
    }
    all
}

/// What the store holds of [`ROWS`].
pub fn expected() -> Vec<Stored> {
    let row = |date: &str, site: &str, species: &str, count| {
        (day(date), site.to_owned(), species.to_owned(), count)
    };
    vec![
        row(
            "2025-05-13",
            "long-bank",
            "Calidris alpina",
            Count::Exactly(3),
        ),
        row(
            "2025-05-14",
            "long-bank",
            "Calidris alpina",
            Count::Exactly(12),
        ),
        row(
            "2025-05-15",
            "tern-lagoon",
            "Calidris minuta",
            Count::Present,
        ),
    ]
}

const TEXT: &str = "Date,Place,Species,Number\n\
    2025-05-13,Long Bank,Dunlin,3\n\
    2025-05-14,Long Bank,Dunlin,12\n\
    2025-05-15,Tern Lagoon,Little Stint,x\n";

/// Loads what must come to [`expected`].
pub fn holds(built: &Built) -> LoadReport {
    let report = built.load().unwrap();
    assert_eq!(stored(built), expected(), "{report}");
    report
}

/// Date, place, species and number under their header.
pub fn sheet(rows: &[(&str, &str, &str, &str)]) -> Worksheet {
    let mut sheet = Worksheet::new();
    let dated = Format::new().set_num_format("dd/mm/yyyy");
    for (column, name) in ["Date", "Place", "Species", "Number"].iter().enumerate() {
        sheet.write(0, column as u16, *name).unwrap();
    }
    for (row, (date, place, species, number)) in rows.iter().enumerate() {
        let row = row as u32 + 1;
        let date = ExcelDateTime::parse_from_str(date).unwrap();
        sheet.write_with_format(row, 0, &date, &dated).unwrap();
        sheet.write(row, 1, *place).unwrap();
        sheet.write(row, 2, *species).unwrap();
        match number.parse::<f64>() {
            Ok(number) => sheet.write(row, 3, number).unwrap(),
            Err(_) => sheet.write(row, 3, *number).unwrap(),
        };
    }
    sheet
}

pub const ROWS: [(&str, &str, &str, &str); 3] = [
    ("2025-05-13", "Long Bank", "Dunlin", "3"),
    ("2025-05-14T06:30:00", "Long Bank", "Dunlin", "12"),
    ("2025-05-15", "Tern Lagoon", "Little Stint", "x"),
];

/// The sheets as a workbook.
pub fn saved(sheets: Vec<Worksheet>) -> Vec<u8> {
    let mut book = Xlsx::new();
    for sheet in sheets {
        book.push_worksheet(sheet);
    }
    book.save_to_buffer().unwrap()
}

fn gzipped(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

pub fn zipped(members: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = ::zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in members {
        let options = ::zip::write::SimpleFileOptions::default();
        archive.start_file(*name, options).unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

fn parquet() -> Vec<u8> {
    let days = |dates: &[&str]| -> Vec<i32> {
        let epoch = day("1970-01-01");
        dates
            .iter()
            .map(|d| (day(d) - epoch).num_days() as i32)
            .collect()
    };
    let dates = Series::new(
        "Date".into(),
        days(&["2025-05-13", "2025-05-14", "2025-05-15"]),
    );
    let mut frame = DataFrame::new_infer_height(vec![
        dates.cast(&DataType::Date).unwrap().into_column(),
        Column::new("Place".into(), ["Long Bank", "Long Bank", "Tern Lagoon"]),
        Column::new("Species".into(), ["Dunlin", "Dunlin", "Little Stint"]),
        Column::new("Number".into(), [Some(3.0), Some(12.0), None]),
    ])
    .unwrap();
    let mut bytes = Vec::new();
    ParquetWriter::new(&mut bytes).finish(&mut frame).unwrap();
    bytes
}

#[test]
fn parquet_with_dates_and_numbers() {
    let built = counts_in("counts.parquet", parquet()).set(|source| {
        let SourceKind::Counts(columns) = &mut source.kind else {
            panic!()
        };
        columns.tokens.present.push(String::new());
    });
    assert_eq!(holds(&built).sources[0].encoding, "Parquet");
}

#[test]
fn compressed_files() {
    holds(&counts_in("counts.csv.gz", gzipped(TEXT.as_bytes())));
    holds(&counts_in(
        "counts.xlsx.gz",
        gzipped(&saved(vec![sheet(&ROWS)])),
    ));
    holds(&counts_in(
        "counts.zip",
        zipped(&[("counts.csv", TEXT.as_bytes())]),
    ));
    let years: [(&str, &[u8]); 3] = [
        ("2024/counts.csv", b"Date;Place;Species;Number\n2025-05-13;Long Bank;Dunlin;3\n"),
        ("2025/counts.csv", b"Number\tDate\tPlace\tSpecies\n12\t2025-05-14\tLong Bank\tDunlin\nx\t2025-05-15\tTern Lagoon\tLittle Stint\n"),
        ("readme.md", b"# Not a table"),
    ];
    holds(&counts_in("counts.zip", zipped(&years)));
    let one = counts_in("counts.zip", zipped(&years))
        .set(|s| s.layout.member = Some("2024/counts.csv".into()));
    assert_eq!(one.load().unwrap().sources[0].accepted, 1);
    let none =
        counts_in("counts.zip", zipped(&years)).set(|s| s.layout.member = Some("2023".into()));
    let said = none.load().unwrap_err().to_string();
    assert!(
        said.starts_with("counts.zip has no member \"2023\"; it has \"2024/counts.csv\""),
        "{said}"
    );
}

#[test]
fn a_folder_is_one_source_and_each_refused_row_names_its_file() {
    let built = counts_in("counts/2024.csv", "Date,Place,Species,Number\n2025-05-13,Long Bank,Dunlin,3\n2025-05-13,Long Bank,Little Stint,??\n")
        .set(|s| {
            s.path = s.path.parent().unwrap().to_owned();
        });
    built.write("counts/2025.csv", "Number,Date,Place,Species,Seen by\n\n12,2025-05-14,Long Bank,Dunlin,B\nx,2025-05-15,Tern Lagoon,Little Stint\n");
    built.write("counts/2026.xlsx", saved(vec![sheet(&ROWS[2..])]));
    built.write("counts/.hidden.csv", "nothing");
    built.write("counts/plan.doc", "nothing");
    let report = holds(&built);
    let refused: Vec<String> = report.sources[0]
        .refused
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(
        refused[0].starts_with("counts/2024.csv, line 3, Number \"??\": "),
        "{refused:?}"
    );
    assert_eq!(
        refused[1],
        "counts/2025.csv, line 4: 4 cells where the header has 5"
    );
    assert!(built.load().unwrap().unchanged);
    built.write(
        "counts/2027.csv",
        "Date,Place,Bird,Number\n2025-05-13,Long Bank,Dunlin,3\n",
    );
    assert_eq!(
        built.load().unwrap_err().to_string(),
        "counts/2027.csv, line 1: no column \"Species\" (columns.species of source \"counts\"); it has \
         \"Date\", \"Place\", \"Bird\", \"Number\""
    );
}

#[test]
fn the_order_of_dates_is_settled_by_the_dates() {
    let counts = |dates: [&str; 3]| {
        let text = TEXT.replace("2025-05-13", dates[0]);
        let text = text
            .replace("2025-05-14", dates[1])
            .replace("2025-05-15", dates[2]);
        counts_in("counts.csv", text).set(|s| s.date_order = None)
    };
    let notes = |built: &Built| -> Vec<(Option<u64>, String)> {
        let report = holds(built);
        let notes = report.sources[0].notes.iter();
        notes.map(|n| (n.line, n.text.clone())).collect()
    };
    for (dates, line, note) in [
        (
            ["13/05/2025", "14/05/2025", "15/05/2025"],
            2,
            "day-month-year, as \"13/05/2025\"",
        ),
        (
            ["May 13, 2025", "14 May 2025", "5/15/2025"],
            4,
            "month-day-year, as \"5/15/2025\"",
        ),
        (
            ["2025-05-13", "2025-05-14", "2025-05-15"],
            2,
            "year-month-day, as \"2025-05-13\"",
        ),
    ] {
        let text = format!("Dates were read in the order {note} shows.");
        assert_eq!(
            notes(&counts(dates.map(quoted).each_ref().map(String::as_str))),
            [(Some(line), text)]
        );
    }
    let named = ["13-May-2025", "14 May 2025", "15th May 2025"];
    assert_eq!(notes(&counts(named)), []);
}

fn quoted(cell: &str) -> String {
    format!("\"{cell}\"")
}
