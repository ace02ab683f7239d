//! Input that stops a load: one clear sentence, and a store that is as it was.

use crate::workspace::*;
use config::settings::*;

const GOOD: &str = "Date,Place,Species,Number\n2025-05-13,Long Bank,Dunlin,3\n";

/// Loads a good file, spoils it, and holds the sentence and the store against what they must be.
fn stops(spoil: impl FnOnce(&mut Built), sentence: &str) {
    let mut built = built().counts(GOOD);
    built.load().unwrap();
    let ledger = std::fs::read(built.store().ledger_path()).unwrap();
    let files = built.batch_files();
    spoil(&mut built);
    let error = built.load().unwrap_err().to_string();
    assert_eq!(error, sentence);
    assert_eq!(std::fs::read(built.store().ledger_path()).unwrap(), ledger);
    assert_eq!(built.batch_files(), files);
}

fn spoilt(text: impl AsRef<[u8]>) -> impl FnOnce(&mut Built) {
    move |built| built.write("counts.csv", text)
}

#[test]
fn a_file_that_is_not_there() {
    stops(
        |built| built.workspace.sources[0].path = "/no/such/folder/counts.csv".into(),
        "counts.csv of source \"counts\" cannot be read: there is no such file in /no/such/folder",
    );
}

#[test]
fn a_folder_with_nothing_to_read() {
    stops(
        |built| {
            let path = built.root().join("empty");
            std::fs::create_dir(&path).unwrap();
            built.workspace.sources[0].path = path;
        },
        "empty holds no file that can be read: expected delimited text (.csv, .tsv, .txt), .xlsx, \
         .ods or .parquet, as it is or in .gz or .zip",
    );
}

#[test]
fn half_an_archive() {
    stops(
        spoilt(b"PK\x03\x04\x14\x00"),
        "counts.csv cannot be read as an archive: it is cut off or damaged (invalid Zip archive: \
         Could not find EOCD)",
    );
}

#[test]
fn a_workbook_of_an_old_kind() {
    stops(
        spoilt(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"),
        "counts.csv is not delimited text but a workbook of an old kind or with a password; save it \
         as CSV",
    );
}

#[test]
fn a_sheet_or_member_where_there_is_none() {
    stops(
        |built| built.workspace.sources[0].layout.sheet = Some("2024".into()),
        "source \"counts\" has sheet = \"2024\", but counts.csv is no workbook; leave it out",
    );
    stops(
        |built| built.workspace.sources[0].layout.member = Some("a.csv".into()),
        "source \"counts\" has member = \"a.csv\", but counts.csv is no zip archive; leave it out",
    );
}

#[test]
fn dates_that_do_not_tell_their_order() {
    let dates = |dates: [&str; 2]| {
        let rows = dates
            .map(|date| format!("{date},Long Bank,Dunlin,3\n"))
            .concat();
        move |built: &mut Built| {
            built.workspace.sources[0].date_order = None;
            built.write("counts.csv", format!("Date,Place,Species,Number\n{rows}"));
        }
    };
    stops(
        dates(["05/05/2025", "01/05/2025"]),
        "counts.csv, line 3: \"01/05/2025\" could be two days, and no date of the file tells which \
         order it is written in; write date_order = \"day-month-year\" or \"month-day-year\" for \
         source \"counts\"",
    );
    stops(
        dates(["13/05/2025", "05/14/2025"]),
        "counts.csv, line 3: \"05/14/2025\" is a date only in the order month-day-year, but \
         \"13/05/2025\" (counts.csv, line 2) only in the order day-month-year; write date_order = \
         \"day-month-year\" or \"month-day-year\" for source \"counts\"",
    );
}

#[test]
fn an_empty_file() {
    stops(
        spoilt(""),
        "counts.csv holds no header line; the store keeps what it has",
    );
}

#[test]
fn a_header_alone() {
    stops(
        spoilt("Date,Place,Species,Number\n"),
        "counts.csv holds no rows below its header; the store keeps what it has",
    );
}

#[test]
fn a_missing_column() {
    stops(
        spoilt("Date,Place,Specie,Number\n2025-05-13,Long Bank,Dunlin,3\n"),
        "counts.csv, line 1: no column \"Species\" (columns.species of source \"counts\"); it has \
         \"Date\", \"Place\", \"Specie\", \"Number\"; the nearest is \"Specie\"",
    );
}

#[test]
fn a_wrong_separator() {
    stops(
        |built| built.workspace.sources[0].separator = Some(b';'),
        "counts.csv, line 1: no column \"Date\" (columns.date of source \"counts\"); it has \
         \"Date,Place,Species,Number\"; the nearest is \"Date,Place,Species,Number\"; it is there \
         if commas separate the columns",
    );
}

#[test]
fn two_columns_of_one_name() {
    stops(
        spoilt("Date,Place,Species,Number,Number\n2025-05-13,Long Bank,Dunlin,3,4\n"),
        "counts.csv, line 1: more than one column answers to \"Number\" (columns.count of source \
         \"counts\"); rename one of them",
    );
}

#[test]
fn a_date_order_that_cannot_be() {
    stops(
        |built| {
            built.workspace.sources[0].date_order = Some(DateOrder::MonthDayYear);
            built.write(
                "counts.csv",
                "Date,Place,Species,Number\n01/05/2025,Long Bank,Dunlin,3\n13/05/2025,Long Bank,Dunlin,3\n",
            );
        },
        "counts.csv, line 3: date_order = \"month-day-year\" cannot be, as \"13/05/2025\" is a date \
         only in the order day-month-year (rows like it: 1; rows that only fit as stated: 0); write \
         date_order = \"day-month-year\" for source \"counts\"",
    );
}

#[test]
fn a_quote_that_never_closes() {
    stops(
        spoilt(
            "Date,Place,Species,Number\n2025-05-13,\"Long Bank,Dunlin,3\n2025-05-14,Long Bank,Dunlin,3\n",
        ),
        "counts.csv, line 2: a quote (\") opens a cell here and is never closed",
    );
}

#[test]
fn nothing_that_can_be_used() {
    stops(
        spoilt("Date,Place,Species,Number\n13.05.25,Long Bank,Dunlin,3\n"),
        "counts.csv: not one of its rows (1) could be read; the first, line 2, Date \"13.05.25\": \
         a year of two digits could mean two centuries; write four",
    );
}

#[test]
fn an_encoding_that_is_none() {
    stops(
        |built| built.workspace.sources[0].encoding = Some("utf-9".into()),
        "source \"counts\" states the encoding \"utf-9\", which is none; write \"utf-8\", \
         \"windows-1252\" or leave it out",
    );
}

#[test]
fn bytes_that_the_stated_encoding_does_not_allow() {
    stops(
        |built| {
            built.workspace.sources[0].encoding = Some("utf-8".into());
            built.write(
                "counts.csv",
                b"Date,Place,Species,Number\n2025-05-13,L\xf6ng,Dunlin,3\n",
            );
        },
        "counts.csv, line 2: not UTF-8 as source \"counts\" states; leave `encoding` out",
    );
}

#[test]
fn no_site() {
    stops(
        |built| {
            let SourceKind::Counts(columns) = &mut built.workspace.sources[0].kind else {
                panic!()
            };
            columns.site = None;
        },
        "source \"counts\" has no site: name its column as columns.site, or write site = \"...\" \
         with one of \"long-bank\", \"tern-lagoon\"",
    );
}

#[test]
fn a_site_that_is_none_of_the_workspace() {
    stops(
        |built| {
            built.workspace.sources[0]
                .site_names
                .insert("LB".into(), "long-bonk".into());
        },
        "source \"counts\" names the site \"long-bonk\", but the sites are \"long-bank\", \"tern-lagoon\"",
    );
}

#[test]
fn one_bad_source_keeps_the_others_from_landing() {
    stops(
        |built| {
            built.write("counts.csv", GOOD.replace(",3", ",4"));
            built.write("visits.csv", "Day,Place\n2025-05-13,Long Bank\n");
            built.source("visits", SourceKind::Visits(visit_columns(false)));
        },
        "visits.csv, line 1: no column \"Date\" (columns.date of source \"visits\"); it has \"Day\", \"Place\"",
    );
}

#[test]
fn no_sources() {
    stops(
        |built| built.workspace.sources.clear(),
        "wingtide.toml lists no [[source]]: add one with the file that holds your counts",
    );
}

#[test]
fn a_first_load_that_fails_leaves_no_store() {
    let built = built().counts("");
    built.load().unwrap_err();
    assert!(!built.store_folder().exists());
}
