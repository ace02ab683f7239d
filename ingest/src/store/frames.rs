//! A source's accepted rows as polars' columns, those of a site together.

use super::few_words::Words;
use super::written_columns::{Observers, dates, lines, numbers, of_visit, purposes, texts};
use crate::source::looks::Looks;
use crate::source::{CountRows, TemperatureRows, Unread, VisitRows};
use crate::visit::OfVisit;
use chrono::NaiveDate;
use config::meaning::Purpose;
use forecast::series::Count;
use polars::prelude::*;
use std::collections::HashMap;
use std::ops::Range;

/// Between the species of a bird undecided.
pub(super) const BETWEEN: &str = "|";

/// Rows of a site in a file, which stand together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SiteRows {
    pub(super) site: String,
    /// Place of the first of them.
    pub(super) first: u64,
    pub(super) rows: u64,
}

/// The words that tell what a number of birds is.
const KINDS: [&str; 5] = ["exactly", "at-least", "about", "present", "unknown"];

pub(super) fn kind_of(count: &Count) -> &'static str {
    KINDS[kind_place(count) as usize]
}

fn kind_place(count: &Count) -> u32 {
    match count {
        Count::Exactly(_) => 0,
        Count::AtLeast(_) => 1,
        Count::About(_) => 2,
        Count::Present => 3,
        Count::Unknown => 4,
    }
}

/// The purposes of a visit in words.
pub(super) const PURPOSES: [(&str, Purpose); 2] = [
    ("standard", Purpose::Standard),
    ("targeted", Purpose::Targeted),
];

pub(super) fn purpose_of(name: &str) -> Option<Purpose> {
    let found = PURPOSES.iter().find(|(word, _)| *word == name);
    found.map(|(_, purpose)| *purpose)
}

pub(super) fn purpose_place(purpose: Purpose) -> u32 {
    match purpose {
        Purpose::Standard => 0,
        Purpose::Targeted => 1,
    }
}

/// Accepted rows of counts, site after site and each site's in the order of its file, then what
/// refused ones of the site leave unknown: rows of the kind `unknown`, with their species or,
/// where it may be any, without. `between` holds the species of a bird undecided. A row of another
/// kind with neither tells of a visit on which nothing was found.
pub(super) struct CountFrames<'b> {
    rows: &'b CountRows,
    /// Places of the rows: of the accepted ones, then of what refused ones leave unknown.
    order: Vec<u32>,
    sites: Words<'b>,
    species: Words<'b>,
    kinds: Words<'static>,
    purposes: Words<'static>,
    /// Places among the species, by place of the name, and of what is unknown.
    of_name: Vec<Option<u32>>,
    of_unread: Vec<Option<u32>>,
    /// By place of the name.
    between: Vec<Option<String>>,
    /// By place of the looks.
    plumage: Vec<Option<String>>,
    observers: Observers,
}

impl<'b> CountFrames<'b> {
    pub(super) fn new(rows: &'b CountRows) -> PolarsResult<Self> {
        let mut known = Distinct::default();
        let names = rows.names.iter();
        let of_name = names.map(|n| known.place(n.species.as_deref())).collect();
        let unread = rows.unread.iter();
        let of_unread = unread.map(|u| known.place(u.species.as_deref())).collect();
        let between = |species: &[String]| (!species.is_empty()).then(|| species.join(BETWEEN));
        Ok(CountFrames {
            rows,
            order: order(rows),
            sites: Words::new(rows.sites.iter().map(String::as_str).collect())?,
            species: Words::new(known.words)?,
            kinds: Words::new(KINDS.to_vec())?,
            purposes: purposes()?,
            of_name,
            of_unread,
            between: rows.names.iter().map(|n| between(&n.between)).collect(),
            plumage: rows.all_looks.iter().map(plumage).collect(),
            observers: Observers::new(&rows.observers),
        })
    }

    pub(super) fn len(&self) -> usize {
        self.order.len()
    }

    /// The rows of each site.
    pub(super) fn sites(&self) -> Vec<SiteRows> {
        let (mut sites, mut first) = (Vec::new(), 0);
        for (site, rows) in self.rows.sites.iter().zip(rows_by_site(self.rows)) {
            sites.extend((rows > 0).then(|| SiteRows {
                site: site.clone(),
                first,
                rows: u64::from(rows),
            }));
            first += u64::from(rows);
        }
        sites
    }

    /// The rows at some of the places.
    pub(super) fn frame(&self, part: Range<usize>) -> PolarsResult<DataFrame> {
        let rows = || self.order[part.clone()].iter().map(|place| self.at(*place));
        let (names, looks) = (&self.rows.names, &self.rows.all_looks);
        let kinds = rows().map(|row| Some(kind_place(&self.count(row))));
        let numbers = rows().map(|row| number(self.count(row)));
        let between = rows().map(|row| self.between[self.name(row)?].as_deref());
        let written = rows().map(|row| names[self.name(row)?].written.as_deref());
        let mut columns = vec![
            lines(rows().map(|row| self.line(row))),
            dates(rows().map(|row| self.date(row))),
            self.sites
                .column("site", rows().map(|row| Some(self.site(row))))?,
            self.species
                .column("species", rows().map(|row| self.species(row)))?,
            texts("between", between),
            self.kinds.column("kind", kinds)?,
            UInt32Chunked::from_iter_options("number".into(), numbers).into_column(),
            texts("written", written),
            texts("age", rows().map(|row| said(&looks[self.looks(row)?].age))),
            texts("sex", rows().map(|row| said(&looks[self.looks(row)?].sex))),
            texts(
                "plumage",
                rows().map(|row| self.plumage[self.looks(row)?].as_deref()),
            ),
        ];
        columns.extend(of_visit(&self.purposes, || {
            rows().map(|row| self.visit(row))
        })?);
        columns.extend(self.observers.column(rows().map(|row| {
            let party = self.rows.visit[row.ok()?].party;
            Some((self.site(row), self.date(row), party))
        })));
        DataFrame::new_infer_height(columns)
    }

    fn at(&self, place: u32) -> At<'b> {
        let place = place as usize;
        match place.checked_sub(self.rows.line.len()) {
            None => Ok(place),
            Some(unread) => Err((unread, &self.rows.unread[unread])),
        }
    }

    fn line(&self, row: At<'_>) -> u32 {
        row.map_or_else(|(_, unread)| unread.line, |row| self.rows.line[row])
    }

    fn date(&self, row: At<'_>) -> NaiveDate {
        row.map_or_else(|(_, unread)| unread.date, |row| self.rows.date[row])
    }

    fn site(&self, row: At<'_>) -> u32 {
        row.map_or_else(|(_, unread)| unread.site, |row| self.rows.site[row])
    }

    fn species(&self, row: At<'_>) -> Option<u32> {
        match row {
            Ok(row) => self.of_name[self.rows.name[row] as usize],
            Err((place, _)) => self.of_unread[place],
        }
    }

    fn count(&self, row: At<'_>) -> Count {
        row.map_or(Count::Unknown, |row| self.rows.count[row])
    }

    fn visit(&self, row: At<'b>) -> &'b OfVisit {
        row.map_or_else(|(_, unread)| &unread.visit, |row| &self.rows.visit[row])
    }

    fn name(&self, row: At<'_>) -> Option<usize> {
        Some(self.rows.name[row.ok()?] as usize)
    }

    fn looks(&self, row: At<'_>) -> Option<usize> {
        Some(self.rows.looks[row.ok()?] as usize)
    }
}

/// An accepted row by its place, or what a refused one leaves unknown.
type At<'b> = Result<usize, (usize, &'b Unread)>;

/// Different texts by place.
#[derive(Default)]
struct Distinct<'t> {
    words: Vec<&'t str>,
    places: HashMap<&'t str, u32>,
}

impl<'t> Distinct<'t> {
    fn place(&mut self, text: Option<&'t str>) -> Option<u32> {
        let text = text?;
        let next = self.words.len() as u32;
        let place = *self.places.entry(text).or_insert(next);
        if place == next {
            self.words.push(text);
        }
        Some(place)
    }
}

/// How many rows each site has.
fn rows_by_site(rows: &CountRows) -> Vec<u32> {
    let mut number = vec![0; rows.sites.len()];
    sites_of(rows).for_each(|site| number[site as usize] += 1);
    number
}

fn sites_of(rows: &CountRows) -> impl Iterator<Item = u32> {
    let unread = rows.unread.iter().map(|unread| unread.site);
    rows.site.iter().copied().chain(unread)
}

/// The places of all rows, site after site, and otherwise as they are.
fn order(rows: &CountRows) -> Vec<u32> {
    let mut next = rows_by_site(rows);
    let mut first = 0;
    for number in &mut next {
        first += std::mem::replace(number, first);
    }
    let mut order = vec![0; first as usize];
    for (row, site) in (0..).zip(sites_of(rows)) {
        let next = &mut next[site as usize];
        order[*next as usize] = row;
        *next += 1;
    }
    order
}

fn number(count: Count) -> Option<u32> {
    match count {
        Count::Present | Count::Unknown => None,
        count => Some(count.birds()),
    }
}

/// A plumage of the library, else the words for one.
fn plumage(looks: &Looks) -> Option<String> {
    let term = looks.term().map(|term| term.name().to_owned());
    term.or_else(|| said(&looks.plumage).map(str::to_owned))
}

fn said(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

pub(super) fn visits(rows: &VisitRows, part: Range<usize>) -> PolarsResult<DataFrame> {
    let sites = Words::new(rows.sites.iter().map(String::as_str).collect())?;
    let mut columns = vec![
        lines(rows.line[part.clone()].iter().copied()),
        dates(rows.date[part.clone()].iter().copied()),
        sites.column("site", rows.site[part.clone()].iter().map(|s| Some(*s)))?,
    ];
    columns.extend(of_visit(&purposes()?, || rows.visit[part.clone()].iter())?);
    let parties = part.map(|row| Some((rows.site[row], rows.date[row], rows.visit[row].party)));
    columns.extend(Observers::new(&rows.observers).column(parties));
    DataFrame::new_infer_height(columns)
}

pub(super) fn temperatures(rows: &TemperatureRows, part: Range<usize>) -> PolarsResult<DataFrame> {
    let site = |site: &Option<u32>| site.map(|s| rows.sites[s as usize].as_str());
    let extremes = || rows.extremes_c[part.clone()].iter();
    let filled = rows.filled[part.clone()].iter().copied();
    DataFrame::new_infer_height(vec![
        lines(rows.line[part.clone()].iter().copied()),
        dates(rows.date[part.clone()].iter().copied()),
        texts("site", rows.site[part.clone()].iter().map(site)),
        numbers("mean_c", rows.mean_c[part.clone()].iter().map(|c| Some(*c))),
        numbers("min_c", extremes().map(|e| e.map(|(min, _)| min))),
        numbers("max_c", extremes().map(|e| e.map(|(_, max)| max))),
        BooleanChunked::from_iter_values("filled".into(), filled).into_column(),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of three sites in turns, and refused ones of two of them.
    #[test]
    fn the_rows_of_a_site_stand_together_in_their_order() {
        let unread = |site, line| Unread {
            line,
            date: NaiveDate::default(),
            site,
            species: None,
            visit: OfVisit::default(),
        };
        let rows = CountRows {
            line: (2..8).collect(),
            date: vec![NaiveDate::default(); 6],
            site: vec![2, 0, 2, 0, 0, 2],
            name: vec![0; 6],
            count: vec![Count::Exactly(1); 6],
            visit: vec![OfVisit::default(); 6],
            looks: vec![0; 6],
            unread: vec![unread(0, 8), unread(2, 9)],
            sites: ["a", "b", "c"].map(str::to_owned).to_vec(),
            names: vec![Default::default()],
            all_looks: vec![Looks::default()],
            observers: Vec::new(),
        };
        let frames = CountFrames::new(&rows).unwrap();
        let of = |site: &str, first, rows| SiteRows {
            site: site.to_owned(),
            first,
            rows,
        };
        assert_eq!(frames.sites(), [of("a", 0, 4), of("c", 4, 4)]);
        let frame = frames.frame(2..6).unwrap();
        let lines: Vec<_> = frame
            .column("line")
            .unwrap()
            .u32()
            .unwrap()
            .iter()
            .collect();
        assert_eq!(lines, [6, 8, 2, 4].map(Some));
        let numbers = frame.column("number").unwrap().u32().unwrap().iter();
        assert_eq!(
            numbers.collect::<Vec<_>>(),
            [Some(1), None, Some(1), Some(1)]
        );
    }
}
