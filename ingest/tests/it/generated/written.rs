//! Generated tables as bytes, and what must become of them.

use super::tables::{
    Cell, Encoding, Generated, Line, SITES, SPECIES, Shape, Visit, date_of, written,
};
use crate::formats::Stored;
use forecast::series::Count;
use std::collections::BTreeMap;
use std::ops::Range;

const LONG: [&str; 5] = ["Date", "Place", "Species", "Number", "Remarks"];
const WIDE: [&str; 6] = [
    "Date",
    "Place",
    "Dunlin",
    "Little Stint",
    "Common Tern",
    "Remarks",
];

/// What must be told of a table, and be in the store.
#[derive(Debug, Default, PartialEq)]
pub struct Told {
    pub accepted: u64,
    /// Lines of refused rows, in order.
    pub refused: Vec<u64>,
    /// Lines of those among them that add up others.
    pub totals: Vec<u64>,
    pub blank: u64,
    pub headers: u64,
    pub stored: Vec<Stored>,
}

/// The lines in that range as a file, and what must be told of it.
pub fn file(table: &Generated, range: Range<usize>) -> (Vec<u8>, Told) {
    let mut page = Page::new(&table.shape);
    let mut told = Told::default();
    if table.shape.title {
        page.row(&["Counts of Skerrow Ness".to_owned()]);
    }
    page.header();
    let mut stored = BTreeMap::new();
    for place in range {
        let line = page.line();
        match &table.lines[place] {
            Line::Visit(visit) => visit_rows(&mut page, &mut told, &mut stored, visit, place),
            Line::Again(back) => {
                let earlier = place.saturating_sub(1 + back % 4);
                if let Line::Visit(visit) = &table.lines[earlier] {
                    visit_rows(&mut page, &mut told, &mut stored, visit, earlier);
                }
            }
            Line::Blank => {
                page.row(&vec![String::new(); page.columns()]);
                // a wide table gives rows for filled cells alone
                told.blank += u64::from(!table.shape.wide);
            }
            Line::Header => {
                page.header();
                told.headers += 1;
            }
            Line::Total(cell, word) => {
                page.totals(*cell, word);
                told.refused.push(line);
                told.totals.push(line);
            }
            Line::Cut => {
                page.row(&["2024-05-11".to_owned(), "Long Bank".to_owned()]);
                told.refused.push(line);
            }
            Line::Longer => {
                page.row(&vec!["7".to_owned(); page.columns() + 2]);
                told.refused.push(line);
            }
        }
    }
    told.stored = stored
        .into_iter()
        .map(|((site, species, date), count)| (date, site, species, count))
        .collect();
    (page.bytes(), told)
}

type Sums = BTreeMap<(String, String, chrono::NaiveDate), Count>;

fn visit_rows(page: &mut Page<'_>, told: &mut Told, sums: &mut Sums, visit: &Visit, place: usize) {
    let date = date_of(place);
    let cell = visit
        .bad_date
        .clone()
        .unwrap_or_else(|| written(date, visit.form));
    let sound = visit.bad_date.is_none() && !visit.bad_place;
    let lines = page.visit(&cell, visit);
    for (line, cell) in lines {
        let named = page.shape.wide || !cell.bad_name;
        match cell.read.filter(|_| sound && named) {
            None => told.refused.push(line),
            Some(count) => {
                told.accepted += 1;
                let key = (
                    SITES[visit.site].to_owned(),
                    SPECIES[cell.species].to_owned(),
                    date,
                );
                let sum = sums.remove(&key).map_or(count, |known| sum(known, count));
                sums.insert(key, sum);
            }
        }
    }
}

/// The same row twice: numbers add up, and remain as sure as they were.
fn sum(a: Count, b: Count) -> Count {
    match (a, b) {
        (Count::Exactly(a), Count::Exactly(b)) => Count::Exactly(a + b),
        (Count::About(a), Count::About(b)) => Count::About(a + b),
        (Count::AtLeast(a), Count::AtLeast(b)) => Count::AtLeast(a + b),
        (Count::Present, Count::Present) => Count::Present,
        other => panic!("no row of a visit can differ from itself: {other:?}"),
    }
}

/// A table on its way to bytes.
struct Page<'s> {
    shape: &'s Shape,
    text: String,
}

impl<'s> Page<'s> {
    fn new(shape: &'s Shape) -> Self {
        let text = String::new();
        Page { shape, text }
    }

    fn columns(&self) -> usize {
        if self.shape.wide {
            WIDE.len()
        } else {
            LONG.len()
        }
    }

    /// Number of the line that comes next.
    fn line(&self) -> u64 {
        self.text.matches('\n').count() as u64 + 1
    }

    fn row(&mut self, cells: &[String]) {
        let mut writer = csv::WriterBuilder::new()
            .delimiter(self.shape.separator)
            .terminator(csv::Terminator::Any(b'\n'))
            .from_writer(Vec::new());
        writer.write_record(cells).expect("a record");
        let bytes = writer.into_inner().expect("a record");
        let row = String::from_utf8(bytes).expect("UTF-8");
        let row = row.strip_suffix('\n').expect("a line end");
        self.text.push_str(row);
        self.text.push_str(self.shape.line_end);
    }

    fn arranged(&self, cells: &[String]) -> Vec<String> {
        match self.shape.wide {
            true => cells.to_vec(),
            false => self
                .shape
                .order
                .iter()
                .map(|place| cells[*place].clone())
                .collect(),
        }
    }

    fn header(&mut self) {
        let names: &[&str] = if self.shape.wide { &WIDE } else { &LONG };
        let names: Vec<String> = names.iter().map(|n| (*n).to_owned()).collect();
        self.row(&self.arranged(&names));
    }

    /// A row with a word for its date, place or species, and one number. A wide table has no
    /// column for the species.
    fn totals(&mut self, cell: usize, word: &str) {
        let labels = if self.shape.wide { 2 } else { 3 };
        let cell = cell % labels;
        let mut cells = vec![String::new(); self.columns()];
        for (place, before) in ["2024-05-11", "Long Bank"].iter().take(cell).enumerate() {
            cells[place] = (*before).to_owned();
        }
        cells[cell] = word.to_owned();
        cells[3] = "999".to_owned();
        self.row(&self.arranged(&cells));
    }

    /// Writes a visit; its cells with the lines on which they stand, and without those that a wide
    /// table leaves empty.
    fn visit<'v>(&mut self, date: &str, visit: &'v Visit) -> Vec<(u64, &'v Cell)> {
        if !self.shape.wide {
            let one = |cell: &'v Cell| (self.long(date, visit, cell), cell);
            return visit.cells.iter().map(one).collect();
        }
        let line = self.line();
        let mut cells = vec![String::new(); WIDE.len()];
        cells[0] = date.to_owned();
        cells[1].clone_from(&visit.place);
        cells[5].clone_from(&visit.remark);
        for cell in &visit.cells {
            cells[2 + cell.species].clone_from(&cell.written);
        }
        self.row(&cells);
        let filled = visit.cells.iter().filter(|c| !c.written.is_empty());
        filled.map(|cell| (line, cell)).collect()
    }

    fn long(&mut self, date: &str, visit: &Visit, cell: &Cell) -> u64 {
        let line = self.line();
        let cells = [date, &visit.place, &cell.name, &cell.written, &visit.remark];
        self.row(&self.arranged(&cells.map(str::to_owned)));
        line
    }

    fn bytes(self) -> Vec<u8> {
        let text = self.text;
        match self.shape.encoding {
            Encoding::Utf8 => text.into_bytes(),
            Encoding::Utf8Marked => format!("\u{feff}{text}").into_bytes(),
            Encoding::Utf16 => {
                let marked = format!("\u{feff}{text}");
                marked.encode_utf16().flat_map(u16::to_le_bytes).collect()
            }
            Encoding::Windows => {
                let (bytes, _, unmappable) = encoding_rs::WINDOWS_1252.encode(&text);
                assert!(!unmappable, "every cell can be written in every encoding");
                bytes.into_owned()
            }
        }
    }
}
