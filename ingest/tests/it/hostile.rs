//! Files made to do harm, or damaged: one clear sentence, within bounds of memory and time.

use crate::formats::{counts_in, zipped};
use std::io::Write;
use std::time::{Duration, Instant};

/// The sentence that stops the load, and that the store was not begun.
fn stops(file: &str, bytes: &[u8]) -> String {
    let built = counts_in(file, bytes);
    let begun = Instant::now();
    let said = built.load().unwrap_err().to_string();
    assert!(begun.elapsed() < Duration::from_secs(60), "{said}");
    assert!(!built.store_folder().exists());
    assert!(!said.contains('\n'), "{said}");
    said
}

/// A sheet whose content is that, in the shape of an OpenDocument file.
fn ods(rows: &str) -> Vec<u8> {
    let content = format!(
        "<?xml version=\"1.0\"?><office:document-content \
         xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
         xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" \
         xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\"><office:body>\
         <office:spreadsheet><table:table table:name=\"Counts\">{rows}</table:table>\
         </office:spreadsheet></office:body></office:document-content>"
    );
    zipped(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", content.as_bytes()),
        ("META-INF/manifest.xml", b"<manifest:manifest xmlns:manifest=\"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0\"/>"),
    ])
}

#[test]
fn a_sheet_that_takes_all_memory() {
    // under two kilobytes that ask for 98 million cells
    let row = "<table:table-row table:number-rows-repeated=\"6000\"><table:table-cell \
               table:number-columns-repeated=\"16384\" office:value-type=\"float\" \
               office:value=\"1\"/></table:table-row>";
    assert_eq!(
        stops("counts.ods", &ods(row)),
        "counts.ods cannot be read as an .ods workbook: with its repeats, a sheet has more than \
         6400000 cells, as no table of counts does"
    );
}

#[test]
fn a_sheet_that_is_cut_off_or_damaged() {
    let sheet = "<table:table><table:table-row><table:table-cell>".repeat(1000);
    let content = format!("<office:document-content><office:body>{sheet}");
    let book = |content: &str| {
        zipped(&[
            (
                "mimetype",
                b"application/vnd.oasis.opendocument.spreadsheet",
            ),
            ("content.xml", content.as_bytes()),
        ])
    };
    assert_eq!(
        stops("counts.ods", &book(&content)),
        "counts.ods cannot be read as an .ods workbook: its content.xml is cut off"
    );
    let said = stops(
        "counts.ods",
        &book("<office:document-content></office:body>"),
    );
    let damaged = "counts.ods cannot be read as an .ods workbook: its content.xml is damaged (";
    assert!(said.starts_with(damaged), "{said}");
}

#[test]
fn a_workbook_that_is_damaged() {
    let said = stops(
        "counts.xlsx",
        &zipped(&[
            ("[Content_Types].xml", b"<Types/>"),
            ("xl/workbook.xml", b"<workbook><sheets><sheet name=\"A\" "),
        ]),
    );
    assert!(
        said.starts_with("counts.xlsx cannot be read as an .xlsx workbook: "),
        "{said}"
    );
}

#[test]
fn parquet_that_is_damaged() {
    for middle in [&b""[..], &[0xff; 40], b"\x15\x00\x15\x00\xff\xff\xff\x7f"] {
        let bytes = [b"PAR1", middle, &200_u32.to_le_bytes(), b"PAR1"].concat();
        let said = stops("counts.parquet", &bytes);
        assert!(
            said.starts_with("counts.parquet cannot be read as a Parquet file: "),
            "{said}"
        );
    }
}

/// A file of a gigabyte without a line end. What is behind the first 32 MiB is a hole, which takes no
/// room on the disk; whoever read it all would hold it all in memory.
#[test]
fn one_line_of_a_gigabyte() {
    let built = counts_in("counts.csv", b"Date,Place,Species,Number\n2025-05-13,");
    let file = std::fs::File::options()
        .append(true)
        .open(built.root().join("counts.csv"));
    let mut file = file.unwrap();
    for _ in 0..32 {
        file.write_all(&[b'a'; 1 << 20]).unwrap();
    }
    file.set_len(1 << 30).unwrap();
    assert_eq!(
        built.load().unwrap_err().to_string(),
        "counts.csv, line 2: longer than 16 MiB, as no row of counts is; expected a line for each row"
    );
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::none());
    encoder.write_all(&vec![b'a'; 20 << 20]).unwrap();
    assert_eq!(
        stops("counts.csv.gz", &encoder.finish().unwrap()),
        "counts.csv.gz, line 1: longer than 16 MiB, as no row of counts is; expected a line for each row"
    );
}

#[test]
fn a_gzip_bomb() {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    for _ in 0..64 {
        encoder.write_all(&[b'0'; 1 << 20]).unwrap();
    }
    assert_eq!(
        stops("counts.csv.gz", &encoder.finish().unwrap()),
        "counts.csv.gz unpacks to more than 250 times its size, as no table of counts does, and was \
         not opened; unpack it yourself if it is sound"
    );
}

#[test]
fn a_zip_bomb_with_true_and_untrue_sizes() {
    let mut bytes = zipped(&[("counts.csv", &vec![b'0'; 64 << 20])]);
    let said = stops("counts.zip", &bytes);
    assert!(
        said.starts_with("counts.zip, counts.csv unpacks to more than 250 times"),
        "{said}"
    );
    // the sizes stand 22 bytes into the local header and 24 into the directory's (APPNOTE 4.3)
    let directory = bytes.windows(4).rposition(|w| w == b"PK\x01\x02").unwrap();
    for at in [22, directory + 24] {
        bytes[at..at + 4].copy_from_slice(&100_u32.to_le_bytes());
    }
    let said = stops("counts.zip", &bytes);
    assert!(
        said.starts_with("counts.zip, counts.csv cannot be read as an archive: "),
        "{said}"
    );
}

#[test]
fn a_workbook_bomb_is_seen_in_its_directory() {
    let said = stops(
        "counts.xlsx",
        &zipped(&[
            ("[Content_Types].xml", b"<Types/>"),
            ("xl/worksheets/sheet1.xml", &vec![b' '; 64 << 20]),
        ]),
    );
    assert!(
        said.starts_with("counts.xlsx unpacks to more than 250 times its size"),
        "{said}"
    );
}

#[test]
fn archives_in_archives_and_empty_ones() {
    let inner = zipped(&[("counts.csv", b"Date")]);
    assert_eq!(
        stops("counts.zip", &zipped(&[("inner.csv", &inner)])),
        "counts.zip, inner.csv is an archive inside an archive; unpack the outer one"
    );
    let said = stops("counts.zip", &zipped(&[("readme.md", b"none")]));
    assert!(
        said.starts_with("counts.zip holds no file that can be read: expected "),
        "{said}"
    );
    let said = stops("counts.zip", &inner[..inner.len() - 30]);
    assert!(
        said.starts_with("counts.zip cannot be read as an archive: "),
        "{said}"
    );
}

#[test]
fn garbage_of_every_kind_gives_a_sentence() {
    let mut seed = 20_260_301_u64;
    let mut noise = |length: usize| -> Vec<u8> {
        let mut byte = || {
            // a linear congruential generator (Knuth's MMIX constants)
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 56) as u8
        };
        (0..length).map(|_| byte()).collect()
    };
    for head in [&b"PK\x03\x04"[..], b"\x1f\x8b\x08", b"PAR1"] {
        for length in [0, 10, 1000] {
            stops("counts.bin", &[head, &noise(length)].concat());
        }
    }
}
