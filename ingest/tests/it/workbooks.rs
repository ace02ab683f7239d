//! Workbooks: true dates, a choice of sheets, errors of formulas, joined cells.

use crate::formats::*;
use crate::workspace::*;
use config::settings::DateOrder;
use rust_xlsxwriter::{ExcelDateTime, Format, Worksheet};
use std::io::Cursor;

#[test]
fn a_workbook_gives_true_dates_and_whole_numbers() {
    // the order that the settings state is that of written dates; true ones need none
    let built = counts_in("counts.xlsx", saved(vec![sheet(&ROWS)]))
        .set(|source| source.date_order = Some(DateOrder::DayMonthYear));
    let report = holds(&built);
    assert_eq!(report.sources[0].encoding, "workbook");
    assert_eq!(
        report.sources[0].rows_repaired(ingest::report::RepairKind::TimeOfDay),
        1
    );
    assert!(built.load().unwrap().unchanged);
}

#[test]
fn an_open_document_sheet_with_a_title_and_blank_rows() {
    // made with odfpy 1.4.1
    let bytes = include_bytes!("../fixtures/counts.ods");
    let built = counts_in("counts.ods", bytes).set(|source| source.date_order = None);
    let report = holds(&built);
    let notes: Vec<&str> = report.sources[0]
        .notes
        .iter()
        .map(|n| n.text.as_str())
        .collect();
    assert_eq!(
        notes,
        [
            "The sheet \"Counts\" of counts.ods was read, the only one with the columns.",
            "The header stands in line 3; what stands above it was not read (1 row)."
        ]
    );
}

#[test]
fn a_sheet_is_chosen_and_the_choice_told() {
    let mut other = Worksheet::new();
    other
        .set_name("Notes")
        .unwrap()
        .write(0, 0, "Weather")
        .unwrap();
    let mut first = sheet(&ROWS[..2]);
    first.set_name("2024").unwrap();
    let mut second = sheet(&ROWS[2..]);
    second.set_name("2025").unwrap();
    let bytes = saved(vec![other, first, second]);
    let two = counts_in("counts.xlsx", &bytes).load().unwrap();
    assert_eq!(two.sources[0].accepted, 2);
    assert_eq!(
        two.sources[0].notes[0].text,
        "Sheets \"2024\", \"2025\" of counts.xlsx have the columns; only \"2024\" was read: write \
         sheet = \"*\" for all of them, or name one."
    );
    holds(&counts_in("counts.xlsx", &bytes).set(|s| s.layout.sheet = Some("*".into())));
    let one = counts_in("counts.xlsx", &bytes).set(|s| s.layout.sheet = Some("2025".into()));
    assert_eq!(one.load().unwrap().sources[0].accepted, 1);
    let none = counts_in("counts.xlsx", &bytes).set(|s| s.layout.sheet = Some("20245".into()));
    assert_eq!(
        none.load().unwrap_err().to_string(),
        "counts.xlsx has no sheet \"20245\"; it has \"Notes\", \"2024\", \"2025\"; the nearest is \"2024\""
    );
}

#[test]
fn formula_errors_and_joined_cells() {
    let mut sheet = sheet(&ROWS[..1]);
    let dated = Format::new().set_num_format("yyyy-mm-dd");
    let date = ExcelDateTime::parse_from_str("2025-05-14").unwrap();
    sheet.merge_range(2, 0, 3, 0, "", &dated).unwrap();
    sheet.write_with_format(2, 0, &date, &dated).unwrap();
    for row in [2, 3] {
        sheet.write(row, 1, "Long Bank").unwrap();
        sheet
            .write(row, 2, ["Dunlin", "Little Stint"][row as usize - 2])
            .unwrap();
    }
    sheet.write(2, 3, 12).unwrap();
    sheet
        .write_formula(
            3,
            3,
            rust_xlsxwriter::Formula::new("=1/0").set_result("#DIV/0!"),
        )
        .unwrap();
    let built = counts_in("counts.xlsx", saved(vec![sheet]));
    let report = built.load().unwrap();
    assert_eq!(report.sources[0].accepted, 2);
    assert_eq!(
        report.sources[0].refused[0].to_string(),
        "line 4, Number \"#DIV/0!\": the error of a formula; mend the formula, or write the value"
    );
    assert_eq!(stored(&built), expected()[..2]);
}

#[test]
fn sheets_of_the_1904_date_system() {
    // day 0 is 1904-01-01 (ECMA-376-1 18.17.4.1): 44,327 days later is 2025-05-12 + 1
    let plain = saved(vec![sheet(&ROWS[..1])]);
    let bytes = rewritten(&plain, "xl/workbook.xml", |text| {
        text.replace("<workbookPr ", "<workbookPr date1904=\"1\" ")
    });
    let bytes = rewritten(&bytes, "xl/worksheets/sheet1.xml", |text| {
        let serial = (day("2025-05-13") - day("1899-12-30"))
            .num_days()
            .to_string();
        let since_1904 = (day("2025-05-13") - day("1904-01-01"))
            .num_days()
            .to_string();
        assert!(text.contains(&serial));
        text.replace(&serial, &since_1904)
    });
    let built = counts_in("counts.xlsx", bytes);
    built.load().unwrap();
    assert_eq!(stored(&built), expected()[..1]);
}

/// The archive with one member changed.
fn rewritten(bytes: &[u8], name: &str, change: impl Fn(&str) -> String) -> Vec<u8> {
    let mut archive = ::zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut members = Vec::new();
    for place in 0..archive.len() {
        let mut member = archive.by_index(place).unwrap();
        let mut content = Vec::new();
        std::io::Read::read_to_end(&mut member, &mut content).unwrap();
        let own = member.name().unwrap().into_owned();
        if own == name {
            content = change(std::str::from_utf8(&content).unwrap()).into_bytes();
        }
        members.push((own, content));
    }
    let members: Vec<(&str, &[u8])> = members.iter().map(|(n, c)| (n.as_str(), &c[..])).collect();
    zipped(&members)
}
