//! Workbooks of the cases, cell by cell; their bytes are committed beside their expectations.

use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};
use std::io::{Cursor, Write};
use std::path::Path;

/// A workbook of a case.
pub struct Made {
    pub case: &'static str,
    pub file: &'static str,
    pub bytes: Vec<u8>,
}

pub fn all() -> Vec<Made> {
    let made = |case, file, bytes| Made { case, file, bytes };
    vec![
        made("book-hidden-sheets", "counts.xlsx", hidden_sheets()),
        made("book-sheets-of-years", "counts.xlsx", sheets_of_years()),
        made("book-two-tables-on-a-sheet", "counts.xlsx", two_tables()),
        made("book-tables-side-by-side", "counts.xlsx", side_by_side()),
        made("book-merged-header", "counts.xlsx", merged_header()),
        made("book-dates-as-text", "counts.xlsx", dates_as_text()),
        made("book-formula-errors", "counts.xlsx", formula_errors()),
        made("book-numbers-as-text", "counts.xlsx", numbers_as_text()),
        made("book-title-and-footnote", "counts.xlsx", title()),
        made("book-named-csv", "counts.csv", title()),
        made("book-cut-off", "counts.xlsx", cut_off()),
        made("book-effort-as-clock", "counts.xlsx", effort_as_clock()),
        made("book-open-document", "counts.ods", open_document()),
    ]
}

/// Writes those workbooks that are not there.
pub fn write_missing(folder: &Path) {
    for made in all() {
        let path = folder.join(made.case).join(made.file);
        if !path.exists() {
            std::fs::create_dir_all(folder.join(made.case)).expect("a folder for the case");
            std::fs::write(path, made.bytes).expect("the workbook is written");
        }
    }
}

const HEADER: [&str; 4] = ["Date", "Place", "Species", "Number"];

/// A sheet whose cells are filled as typed: dates and numbers as such, all else as text.
struct Sheet(Worksheet);

impl Sheet {
    fn named(name: &str) -> Self {
        let mut sheet = Worksheet::new();
        sheet.set_name(name).expect("a sheet's name");
        Sheet(sheet)
    }

    /// Cells from a column on.
    fn row(&mut self, row: u32, column: u16, cells: &[&str]) -> &mut Self {
        for (place, cell) in (column..).zip(cells) {
            self.cell(row, place, cell);
        }
        self
    }

    fn cell(&mut self, row: u32, column: u16, cell: &str) {
        let dated = Format::new().set_num_format("dd/mm/yyyy");
        let is_date = cell.len() == 10 && cell.as_bytes()[4] == b'-';
        let written = match (is_date, cell.parse::<f64>()) {
            _ if cell.is_empty() => return,
            (true, _) => {
                let date = ExcelDateTime::parse_from_str(cell).expect("a date");
                self.0.write_with_format(row, column, &date, &dated)
            }
            (false, Ok(number)) => self.0.write(row, column, number),
            (false, Err(_)) => self.0.write(row, column, cell),
        };
        written.expect("a cell");
    }

    fn text(&mut self, row: u32, column: u16, text: &str) {
        self.0.write_string(row, column, text).expect("a cell");
    }

    /// A formula and the value that was last shown.
    fn formula(&mut self, row: u32, column: u16, formula: &str, shown: &str) {
        let formula = Formula::new(formula).set_result(shown);
        self.0.write(row, column, formula).expect("a formula");
    }
}

fn saved(sheets: Vec<Sheet>) -> Vec<u8> {
    let mut book = Workbook::new();
    for sheet in sheets {
        book.push_worksheet(sheet.0);
    }
    book.save_to_buffer().expect("a workbook")
}

fn hidden_sheets() -> Vec<u8> {
    let mut notes = Sheet::named("Read me");
    notes.row(0, 0, &["Counts of Skerrow Ness"]);
    let mut counts = Sheet::named("Counts");
    counts.row(0, 0, &HEADER);
    counts.row(1, 0, &["2024-05-11", "Long Bank", "Dunlin", "12"]);
    let mut draft = Sheet::named("Draft");
    draft.row(0, 0, &HEADER);
    draft.row(1, 0, &["2024-05-12", "Long Bank", "Dunlin", "999"]);
    draft.0.set_hidden(true);
    saved(vec![notes, counts, draft])
}

fn sheets_of_years() -> Vec<u8> {
    let mut first = Sheet::named("2023");
    first.row(0, 0, &HEADER);
    first.row(1, 0, &["2023-05-11", "Long Bank", "Dunlin", "12"]);
    first.row(2, 0, &["2023-05-12", "Long Bank", "Dunlin", "lots"]);
    let mut second = Sheet::named("2024");
    second.row(0, 0, &["Species", "Number", "Date", "Place"]);
    second.row(2, 0, &["Dunlin", "7", "2024-05-11", "Long Bank"]);
    second.row(3, 0, &["Dunlin", "-2", "2024-05-12", "Long Bank"]);
    let mut plan = Sheet::named("Rota");
    plan.row(0, 0, &["Week", "Who"])
        .row(1, 0, &["19", "A. Warden"]);
    saved(vec![first, second, plan])
}

fn two_tables() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER);
    sheet.row(1, 0, &["2024-05-11", "Long Bank", "Dunlin", "12"]);
    sheet.row(4, 0, &["Tern Lagoon"]);
    sheet.row(5, 0, &HEADER);
    sheet.row(6, 0, &["2024-05-11", "Tern Lagoon", "Common Tern", "30"]);
    sheet.row(9, 0, &["Species", "Birds"]);
    sheet.row(10, 0, &["Dunlin", "12"]);
    saved(vec![sheet])
}

fn side_by_side() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER).row(0, 5, &HEADER);
    sheet.row(1, 0, &["2024-05-11", "Long Bank", "Dunlin", "12"]);
    sheet.row(1, 5, &["2024-05-11", "Tern Lagoon", "Common Tern", "30"]);
    saved(vec![sheet])
}

fn merged_header() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    let plain = Format::new();
    for (column, name) in [(0, "Date"), (1, "Place")] {
        let merged = sheet.0.merge_range(0, column, 1, column, name, &plain);
        merged.expect("a joined cell");
    }
    let waders = sheet.0.merge_range(0, 2, 0, 4, "Waders", &plain);
    waders.expect("a joined cell");
    sheet.row(1, 2, &["Dunlin", "Little Stint", "Sanderling"]);
    sheet.row(2, 0, &["2024-05-11", "Long Bank", "12", "", "3"]);
    sheet.row(3, 0, &["2024-05-12", "Long Bank", "", "2", "x"]);
    saved(vec![sheet])
}

fn dates_as_text() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER);
    let texts = [
        "13/05/2024",
        "2024-05-14",
        "14.05.24",
        " 15/05/2024 ",
        "16 May 2024",
    ];
    for (row, date) in (1..).zip(texts) {
        sheet.text(row, 0, date);
        sheet.row(row, 1, &["Long Bank", "Dunlin", "1"]);
    }
    sheet.row(6, 0, &["45429", "Long Bank", "Dunlin", "6"]);
    sheet.row(7, 0, &["2024-05-18", "Long Bank", "Dunlin", "7"]);
    saved(vec![sheet])
}

fn formula_errors() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER);
    let shown = ["#N/A", "#DIV/0!", "#REF!", "#VALUE!", "7"];
    for (row, shown) in (1..).zip(shown) {
        sheet.row(row, 0, &["2024-05-11", "Long Bank", "Dunlin"]);
        sheet.formula(row, 3, "=VLOOKUP(C2,F:G,2,0)", shown);
    }
    sheet.row(6, 0, &["2024-05-12", "Long Bank"]);
    sheet.formula(6, 2, "=VLOOKUP(\"DUNLI\",F:G,2,0)", "#N/A");
    sheet.cell(6, 3, "3");
    saved(vec![sheet])
}

fn numbers_as_text() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER);
    for (row, number) in (1..).zip(["12", " 7 ", "c. 20", "1,200", "'5", "12.0"]) {
        sheet.row(row, 0, &["2024-05-11", "Long Bank", "Dunlin"]);
        sheet.text(row, 3, number);
    }
    sheet.row(7, 0, &["2024-05-12", "Long Bank", "Dunlin", "8.0"]);
    sheet.row(8, 0, &["2024-05-13", "Long Bank", "Dunlin", "3.5"]);
    sheet.row(9, 0, &["2024-05-14", "Long Bank", "Dunlin"]);
    sheet.0.write(9, 3, true).expect("a cell");
    saved(vec![sheet])
}

fn title() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    let joined = sheet
        .0
        .merge_range(0, 0, 0, 3, "Waders of Skerrow Ness", &Format::new());
    joined.expect("a joined cell");
    sheet.row(1, 0, &["kept by A. Warden"]);
    sheet.row(3, 0, &HEADER);
    sheet.row(4, 0, &["2024-05-11", "Long Bank", "Dunlin", "12"]);
    sheet.row(5, 0, &["2024-05-12", "Long Bank", "Dunlin", "oops"]);
    sheet.row(7, 0, &["Total", "", "", "12"]);
    sheet.row(8, 0, &["* counted from the bank"]);
    saved(vec![sheet])
}

fn cut_off() -> Vec<u8> {
    let mut bytes = title();
    bytes.truncate(bytes.len() / 2);
    bytes
}

fn effort_as_clock() -> Vec<u8> {
    let mut sheet = Sheet::named("Counts");
    sheet.row(0, 0, &HEADER).row(0, 4, &["Minutes"]);
    sheet.row(1, 0, &["2024-05-11", "Long Bank", "Dunlin", "12", "90"]);
    sheet.row(2, 0, &["2024-05-12", "Long Bank", "Dunlin", "7"]);
    let clock = Format::new().set_num_format("[h]:mm");
    let written = sheet.0.write_with_format(2, 4, 0.0625, &clock);
    written.expect("a cell");
    saved(vec![sheet])
}

/// OpenDocument 1.2: a title, a blank row, dates, an error, a cell joined over two rows.
fn open_document() -> Vec<u8> {
    let text = |t: &str| {
        format!(
            "<table:table-cell office:value-type=\"string\"><text:p>{t}</text:p></table:table-cell>"
        )
    };
    let date = |d: &str, more: &str| {
        format!(
            "<table:table-cell {more} office:value-type=\"date\" office:date-value=\"{d}\"><text:p>{d}</text:p></table:table-cell>"
        )
    };
    let number = |n: &str| {
        format!(
            "<table:table-cell office:value-type=\"float\" office:value=\"{n}\"><text:p>{n}</text:p></table:table-cell>"
        )
    };
    let row = |cells: &[String]| format!("<table:table-row>{}</table:table-row>", cells.concat());
    let joined = "table:number-rows-spanned=\"2\"";
    let covered = "<table:covered-table-cell/>".to_owned();
    let rows = [
        row(&[text("Counts of Skerrow Ness")]),
        row(&["<table:table-cell/>".to_owned()]),
        row(&HEADER.map(text)),
        row(&[
            date("2024-05-11", ""),
            text("Long Bank"),
            text("Dunlin"),
            number("12"),
        ]),
        row(&[
            date("2024-05-12T06:30:00", joined),
            text("Long Bank"),
            text("Dunlin"),
            number("7"),
        ]),
        row(&[
            covered,
            text("Long Bank"),
            text("Little Stint"),
            number("2"),
        ]),
        row(&[
            date("2024-05-13", ""),
            text("Long Bank"),
            text("Dunlin"),
            text("#N/A"),
        ]),
        row(&[
            date("2024-05-14", ""),
            text("Long Bank"),
            text("Dunlin"),
            number("3.5"),
        ]),
    ];
    let content = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><office:document-content \
         xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
         xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" \
         xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\" office:version=\"1.2\">\
         <office:body><office:spreadsheet><table:table table:name=\"Counts\">{}</table:table>\
         </office:spreadsheet></office:body></office:document-content>",
        rows.concat()
    );
    let kind = "application/vnd.oasis.opendocument.spreadsheet";
    let manifest = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><manifest:manifest \
         xmlns:manifest=\"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0\">\
         <manifest:file-entry manifest:full-path=\"/\" manifest:media-type=\"{kind}\"/>\
         <manifest:file-entry manifest:full-path=\"content.xml\" manifest:media-type=\"text/xml\"/>\
         </manifest:manifest>"
    );
    let members = [
        ("mimetype", kind),
        ("content.xml", content.as_str()),
        ("META-INF/manifest.xml", manifest.as_str()),
    ];
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in members {
        let options = zip::write::SimpleFileOptions::default();
        archive.start_file(name, options).expect("a member");
        archive.write_all(text.as_bytes()).expect("a member");
    }
    archive.finish().expect("an archive").into_inner()
}
