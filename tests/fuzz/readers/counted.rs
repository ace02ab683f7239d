//! What people counted, read from bytes alone under the settings of `wingtide.toml` beside this
//! folder.

use super::written::Reader;
use chrono::{DateTime, Utc};
use config::settings::{Source, Workspace};
use ingest::error::LoadError;
use std::io::{self, Cursor, Write};
use std::path::Path;
use std::sync::LazyLock;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// The readers of this file.
pub const COUNTED: [Reader; 8] = [
    ("text", |bytes| each(&TEXT, bytes)),
    ("cells", cells),
    ("temperature", |bytes| each(&["means", "extremes"], bytes)),
    ("packed", |bytes| each(&["text"], bytes)),
    ("archive", archive),
    ("xlsx", |bytes| each(&BOOKS, &packed(bytes, &XLSX))),
    ("ods", |bytes| each(&BOOKS, &packed(bytes, &ODS))),
    ("parquet", |bytes| each(&BOOKS, bytes)),
];

const TEXT: [&str; 7] = [
    "text",
    "text-with-more",
    "text-visits",
    "wide-species",
    "wide-date",
    "wide-month",
    "wide-day",
];

const BOOKS: [&str; 2] = ["book", "every-sheet"];

static WORKSPACE: LazyLock<Workspace> = LazyLock::new(|| {
    let none = |_: &Path| Err(io::ErrorKind::NotFound.into());
    let text = include_str!("../wingtide.toml");
    config::parse(text, Path::new("/skerrow-ness"), none).expect("sound settings")
});

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_772_366_400, 0).expect("1 March 2026")
}

/// Reads the bytes as the file of each of the sources.
fn each(sources: &[&str], bytes: &[u8]) {
    for id in sources {
        let source = WORKSPACE.sources.iter().find(|s| s.id == *id);
        read(source.expect("a source of the settings"), bytes);
    }
}

/// No row is lost, and a refusal is one sentence.
fn read(source: &Source, bytes: &[u8]) {
    match ingest::rehearse(&WORKSPACE, source, bytes.to_vec(), now()) {
        Ok(report) => assert_eq!(
            report.rows,
            report.accepted + report.refused.len() as u64,
            "every row is accepted or refused"
        ),
        Err(LoadError::Store(error)) => panic!("reading alone touched a store: {error}"),
        Err(error) => assert!(!error.to_string().trim().is_empty()),
    }
}

/// Rows whose cells are given: a line a row, a tab between cells. What separates and quotes is
/// taken care of, so that all there is to get wrong is inside the cells.
fn cells(bytes: &[u8]) {
    let mut text =
        b"Date,Place,Species,Number,Minutes\n2024-05-11,Long Bank,Dunlin,3,60\n".to_vec();
    for line in bytes.split(|b| *b == b'\n') {
        let mut cells: Vec<&[u8]> = line.split(|b| *b == b'\t').take(5).collect();
        cells.resize(5, b"");
        let quoted: Vec<Vec<u8>> = cells.into_iter().map(quoted).collect();
        text.extend(quoted.join(&b','));
        text.push(b'\n');
    }
    each(&["text", "text-visits"], &text);
}

fn quoted(cell: &[u8]) -> Vec<u8> {
    let inside = cell.iter().flat_map(|b| match b {
        b'"' => vec![b'"', b'"'],
        other => vec![*other],
    });
    let quote = || std::iter::once(b'"');
    quote().chain(inside).chain(quote()).collect()
}

fn archive(bytes: &[u8]) {
    each(&["archive", "archive-visits"], &packed(bytes, &ARCHIVE));
}

/// A file that stands in a zip, and what it holds where the input does not say.
type Member = (&'static str, &'static str);

/// Between the members of an input that is not a zip itself.
const BETWEEN: &[u8] = b"\n%%%%\n";

/// The input as a zip: as it is, or with its stretches for members. A fuzzer that had to get sums
/// and lengths of a zip right would hardly ever see what stands inside.
fn packed(bytes: &[u8], members: &[Member]) -> Vec<u8> {
    if bytes.starts_with(b"PK") {
        return bytes.to_vec();
    }
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut stretches = split(bytes);
    for (name, usual) in members {
        let stretch = stretches.next().filter(|s| !s.is_empty());
        zip.start_file(*name, stored).expect("a name of our own");
        let content = stretch.unwrap_or(usual.as_bytes());
        zip.write_all(content).expect("memory can be written");
    }
    zip.finish().expect("memory can be written").into_inner()
}

fn split(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut rest = Some(bytes);
    std::iter::from_fn(move || {
        let all = rest?;
        let at = all.windows(BETWEEN.len()).position(|w| w == BETWEEN);
        rest = at.map(|at| &all[at + BETWEEN.len()..]);
        Some(&all[..at.unwrap_or(all.len())])
    })
}

const XLSX: [Member; 6] = [
    ("xl/worksheets/sheet1.xml", ""),
    ("xl/sharedStrings.xml", "<sst><si><t>Date</t></si></sst>"),
    (
        "xl/styles.xml",
        "<styleSheet><cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>",
    ),
    (
        "xl/workbook.xml",
        "<workbook xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\">\
         <sheets><sheet name=\"Counts 2024\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>",
    ),
    (
        "xl/_rels/workbook.xml.rels",
        "<Relationships><Relationship Id=\"rId1\" Type=\"http://schemas.openxmlformats.org/\
         officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet1.xml\"/>\
         </Relationships>",
    ),
    ("[Content_Types].xml", "<Types/>"),
];

const ODS: [Member; 3] = [
    ("content.xml", ""),
    ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
    (
        "META-INF/manifest.xml",
        "<manifest:manifest xmlns:manifest=\"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0\"/>",
    ),
];

const ARCHIVE: [Member; 4] = [
    ("meta.xml", ""),
    ("event.txt", ""),
    ("occurrence.txt", ""),
    ("humboldt.txt", ""),
];
