//! Two names for one bird that are of two species: a file may say both, and cannot say which is wrong.

use super::columns::{Columns, MOST, SpeciesAt};
use super::names::{Known, Meant, name_in};
use super::settings::one_line;
use super::sheet::Sheet;
use crate::cell::tidy;
use crate::names::two_names;
use config::nearest::folded;
use std::collections::BTreeMap;

/// Two names that contradict each other.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Doubt {
    pub(super) place: Place,
    pub(super) halves: [Half; 2],
    pub(super) rows: usize,
}

/// Where both stand.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Place {
    /// In a cell, as it is written.
    Cell(String),
    /// In two columns, as their headers say in quotes, the second of which is read.
    Columns([String; 2]),
}

/// One of the names, and the species that it means by itself.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Half {
    pub(super) written: String,
    pub(super) meant: Meant,
}

impl Half {
    fn of(written: &str, known: &Known) -> Option<Self> {
        Some(Half {
            meant: known.surely(written)?,
            written: written.to_owned(),
        })
    }

    /// The name, with the species where it is another word for it.
    fn said(&self) -> String {
        let (written, scientific) = (&self.written, &self.meant.0);
        match folded(written) == folded(scientific) {
            true => format!("\"{written}\""),
            false => format!("\"{written}\" ({scientific})"),
        }
    }
}

impl Doubt {
    /// What the file says at the one place and at the other.
    pub(super) fn said(&self) -> [String; 2] {
        let [a, b] = &self.halves;
        match &self.place {
            Place::Cell(written) => [format!("\"{written}\" says {}", a.said()), b.said()],
            Place::Columns([first, second]) => [
                format!("{first} says {}", a.said()),
                format!("{second} {}", b.said()),
            ],
        }
    }
}

/// Two names in a cell; a slash between them leaves a bird undecided, and is no contradiction.
pub(super) fn in_cell(cell: &str, rows: usize, known: &Known) -> Option<Doubt> {
    let (a, b, by_slash) = two_names(cell)?;
    let halves = [Half::of(a, known)?, Half::of(b, known)?];
    let differ = !by_slash && halves[0].meant.0 != halves[1].meant.0;
    differ.then(|| Doubt {
        place: Place::Cell(cell.to_owned()),
        halves,
        rows,
    })
}

/// Rows in which another column names another species than the one that is read, the most frequent
/// first.
pub(super) fn in_rows(sheet: &Sheet, columns: &Columns, known: &Known) -> Vec<Doubt> {
    let read = match columns.species {
        Some(SpeciesAt::One(column)) => vec![column],
        Some(SpeciesAt::GenusEpithet(genus, epithet)) => vec![genus, epithet],
        None => return Vec::new(),
    };
    let others = (0..sheet.header.len()).filter(|c| !read.contains(c));
    let named = others.filter(|c| sheet.part(*c, |cell| known.surely(cell).is_some()) >= MOST);
    let header = |column: usize| format!("\"{}\"", one_line(&sheet.header[column]));
    let read: Vec<String> = read.iter().map(|c| header(*c)).collect();
    let read = read.join(" and ");
    let mut doubts: Vec<Doubt> = named
        .flat_map(|column| {
            let place = Place::Columns([header(column), read.clone()]);
            beside(sheet, columns, column, known, place)
        })
        .collect();
    doubts.sort_by_key(|doubt| std::cmp::Reverse(doubt.rows));
    doubts
}

/// Names of a column beside those that are read, where they differ.
fn beside(
    sheet: &Sheet,
    columns: &Columns,
    column: usize,
    known: &Known,
    place: Place,
) -> Vec<Doubt> {
    let mut pairs: BTreeMap<[String; 2], usize> = BTreeMap::new();
    for row in &sheet.rows {
        let cell = tidy(row.get(column).unwrap_or_default()).0.into_owned();
        if let Some(name) = name_in(row, columns) {
            *pairs.entry([cell, name]).or_default() += 1;
        }
    }
    let differ = |([other, name], rows): ([String; 2], usize)| {
        let halves = [Half::of(&other, known)?, Half::of(&name, known)?];
        let place = place.clone();
        let differ = halves[0].meant.0 != halves[1].meant.0;
        differ.then_some(Doubt {
            place,
            halves,
            rows,
        })
    };
    pairs.into_iter().filter_map(differ).collect()
}
