//! Tables as they might come, with what must become of each of their cells.

use chrono::{Days, NaiveDate};
use forecast::series::Count;
use proptest::prelude::*;
use proptest::sample::select;

pub const SPECIES: [&str; 3] = ["Calidris alpina", "Calidris minuta", "Sterna hirundo"];
pub const SITES: [&str; 2] = ["long-bank", "tern-lagoon"];

/// Ways of writing the species and sites that are read as them.
const NAMES: [&[&str]; 3] = [
    &[
        "Dunlin",
        "dunlin ",
        "Calidris alpina",
        "calidris ALPINA",
        "Calidris alpina schinzii",
    ],
    &[
        "Little Stint",
        " Little  Stint",
        "Calidris minuta",
        "LITTLE STINT",
    ],
    &["Common Tern", "Sterna hirundo", "common\u{a0}tern"],
];
const PLACES: [&[&str]; 2] = [
    &["Long Bank", "long-bank", "LONG BANK "],
    &["Tern Lagoon", "\ttern  lagoon"],
];

/// Cells that must be refused whatever stands beside them, and leave nothing else unknown.
const BAD_NAMES: &[&str] = &[
    "gull",
    "",
    "Larus sp.",
    "12",
    "Wood Sandpiper",
    "Calidris x minuta",
    "cf. wader",
];
const BAD_PLACES: &[&str] = &["Gull Rock", "-", "Long Bank and Tern Lagoon", "?"];
const BAD_DATES: &[&str] = &[
    "2024-02-31",
    "yesterday",
    "",
    "45423",
    "11.05.24",
    "2924-01-01",
    "1015-05-11",
    "#N/A",
    "2024-05",
];
const BAD_COUNTS: &[&str] = &[
    "many",
    "-3",
    "1,200",
    "3.5",
    "10-20",
    "",
    "99999999999",
    "c. 0",
    "12 (3 juv)",
    "1e9",
    "#DIV/0!",
];
/// What rows that add up others begin with.
const TOTALS: &[&str] = &[
    "Total",
    "TOTAL:",
    "Sum",
    "sub-total ",
    "Gesamt 2021",
    "Summe",
];
const REMARKS: &[&str] = &[
    "",
    "",
    "windy, wet",
    "he said \"gone\"",
    "two\nlines",
    "K\u{fc}stenwind; k\u{fc}hl",
    "a|b\tc",
];

/// A count as written, and as read.
#[derive(Debug, Clone)]
pub struct Cell {
    pub species: usize,
    pub name: String,
    /// The name is to be refused; that of a column is not.
    pub bad_name: bool,
    pub written: String,
    /// None where the count is to be refused.
    pub read: Option<Count>,
}

/// What stands in one place of a table.
#[derive(Debug, Clone)]
pub enum Line {
    /// The rows of one visit, none of whose species stands twice.
    Visit(Visit),
    /// The same visit once more.
    Again(usize),
    /// Nothing but separators.
    Blank,
    /// The header once more, as where exports were pasted below one another.
    Header,
    /// A sum below the rows: the cell, of the first three, that says so, and its word.
    Total(usize, String),
    /// Fewer cells than the header has, or more.
    Cut,
    Longer,
}

#[derive(Debug, Clone)]
pub struct Visit {
    /// How its date is written; each visit has a date of its own.
    pub form: usize,
    /// Stands in place of the date where that is to be refused.
    pub bad_date: Option<String>,
    pub site: usize,
    pub place: String,
    pub bad_place: bool,
    pub remark: String,
    pub cells: Vec<Cell>,
}

#[derive(Debug, Clone, Copy)]
pub enum Encoding {
    Utf8,
    Utf8Marked,
    Utf16,
    Windows,
}

/// How a table is written down.
#[derive(Debug, Clone)]
pub struct Shape {
    pub separator: u8,
    pub encoding: Encoding,
    pub line_end: &'static str,
    pub wide: bool,
    pub title: bool,
    /// Order of the columns of a long table.
    pub order: Vec<usize>,
}

#[derive(Debug, Clone)]
pub struct Generated {
    pub lines: Vec<Line>,
    pub shape: Shape,
}

/// The date of the visit that stands in that place.
pub fn date_of(place: usize) -> NaiveDate {
    let first: NaiveDate = "2021-01-09".parse().expect("a date");
    first
        .checked_add_days(Days::new(place as u64))
        .expect("a date")
}

/// That date as people write it; no way of writing speaks for another order of dates.
pub fn written(date: NaiveDate, form: usize) -> String {
    let forms = [
        "%Y-%m-%d",
        "%Y/%m/%d",
        "%Y-%m-%d 06:30",
        "%-d %B %Y",
        " %Y-%m-%d ",
        "%Y.%-m.%-d",
    ];
    date.format(forms[form % forms.len()]).to_string()
}

fn text(from: &'static [&'static str]) -> impl Strategy<Value = String> {
    select(from).prop_map(str::to_owned)
}

fn count() -> impl Strategy<Value = (String, Option<Count>)> {
    prop_oneof![
        6 => (1..5000_u32).prop_map(|n| (n.to_string(), Some(Count::Exactly(n)))),
        1 => (1..500_u32).prop_map(|n| (format!("c. {n}"), Some(Count::About(n)))),
        1 => (1..500_u32).prop_map(|n| (format!(" {n}+"), Some(Count::AtLeast(n)))),
        1 => Just(("x".to_owned(), Some(Count::Present))),
        1 => Just(("0".to_owned(), Some(Count::Exactly(0)))),
        2 => text(BAD_COUNTS).prop_map(|written| (written, None)),
    ]
}

/// A cell of a species; in a wide table its name is that of its column.
fn cell(species: usize) -> impl Strategy<Value = Cell> {
    let name = prop_oneof![
        7 => text(NAMES[species]).prop_map(|name| (name, false)),
        1 => text(BAD_NAMES).prop_map(|name| (name, true)),
    ];
    (name, count()).prop_map(move |((name, bad_name), (written, read))| Cell {
        species,
        name,
        bad_name,
        written,
        read,
    })
}

fn visit() -> impl Strategy<Value = Visit> {
    let some = |species| proptest::option::weighted(0.6, cell(species));
    let bad = |from| proptest::option::weighted(0.1, text(from));
    let cells = (some(0), some(1), some(2));
    let place = (0..2_usize).prop_flat_map(|site| (Just(site), text(PLACES[site])));
    (
        0..6_usize,
        bad(BAD_DATES),
        place,
        bad(BAD_PLACES),
        text(REMARKS),
        cells,
    )
        .prop_map(
            |(form, bad_date, (site, place), bad_place, remark, (a, b, c))| Visit {
                form,
                bad_date,
                site,
                bad_place: bad_place.is_some(),
                place: bad_place.unwrap_or(place),
                remark,
                cells: [a, b, c].into_iter().flatten().collect(),
            },
        )
}

fn line() -> impl Strategy<Value = Line> {
    prop_oneof![
        10 => visit().prop_map(Line::Visit),
        1 => (0..30_usize).prop_map(Line::Again),
        1 => Just(Line::Blank),
        1 => Just(Line::Header),
        1 => (0..3_usize, text(TOTALS)).prop_map(|(cell, word)| Line::Total(cell, word)),
        1 => Just(Line::Cut),
        1 => Just(Line::Longer),
    ]
}

fn shape() -> impl Strategy<Value = Shape> {
    use Encoding::*;
    let encoding = select(&[Utf8, Utf8Marked, Utf16, Windows][..]);
    let order = Just(vec![0, 1, 2, 3, 4]).prop_shuffle();
    let separator = select(&b",;\t|"[..]);
    let ends = select(&["\n", "\r\n"][..]);
    (
        separator,
        encoding,
        ends,
        any::<bool>(),
        any::<bool>(),
        order,
    )
        .prop_map(
            |(separator, encoding, line_end, wide, title, order)| Shape {
                separator,
                encoding,
                line_end,
                wide,
                title,
                order,
            },
        )
}

pub fn generated() -> impl Strategy<Value = Generated> {
    let lines = proptest::collection::vec(line(), 1..30);
    (lines, shape()).prop_map(|(lines, shape)| Generated { lines, shape })
}
