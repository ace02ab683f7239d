//! Which column holds what: by its header, and by whether its cells read as that.

use super::names::{Known, is_name};
use super::sheet::Sheet;
use crate::count::CountReader;
use crate::date;
use config::settings::{CountTokens, DateOrder};

/// What headers are called in languages of Europe; common practice, no source.
const DATE: &[&str] = &[
    "date",
    "datum",
    "fecha",
    "data",
    "dato",
    "day",
    "tag",
    "jour",
    "eventdate",
];
const SITE: &[&str] = &[
    "site",
    "place",
    "location",
    "locality",
    "station",
    "ort",
    "gebiet",
    "stelle",
    "lieu",
    "lugar",
    "sitio",
    "plats",
    "plaats",
    "locatie",
    "lokal",
    "lokalitet",
    "patch",
    "area",
    "locationid",
];
const SPECIES: &[&str] = &[
    "species",
    "scientificname",
    "bird",
    "taxon",
    "art",
    "vogelart",
    "vogel",
    "espece",
    "espèce",
    "oiseau",
    "especie",
    "ave",
    "soort",
    "name",
];
const GENUS: &[&str] = &[
    "genus", "gattung", "genre", "género", "genero", "geslacht", "släkte",
];
const EPITHET: &[&str] = &[
    "epithet",
    "specificepithet",
    "species",
    "art",
    "espece",
    "espèce",
];
const COUNT: &[&str] = &[
    "individualcount",
    "count",
    "number",
    "no",
    "n",
    "nr",
    "num",
    "total",
    "quantity",
    "qty",
    "anzahl",
    "zahl",
    "nombre",
    "effectif",
    "número",
    "numero",
    "cantidad",
    "aantal",
    "antal",
    "individuals",
    "birds",
    "many",
];
const EFFORT: &[&str] = &[
    "minutes", "mins", "min", "effort", "duration", "dauer", "minuten", "durée", "duree", "duur",
    "minuter", "hours", "stunden", "heures",
];
const LATITUDE: &[&str] = &["decimallatitude", "latitude", "lat", "breite"];
const LONGITUDE: &[&str] = &[
    "decimallongitude",
    "longitude",
    "lon",
    "long",
    "lng",
    "länge",
];

/// The part of a column's cells that must read as what it is said to hold.
pub(super) const MOST: f64 = 0.7;

/// Columns by their places.
#[derive(Debug, Clone, Default)]
pub(super) struct Columns {
    pub(super) date: Option<usize>,
    /// Orders in which as many dates read as in any.
    pub(super) orders: Vec<DateOrder>,
    pub(super) site: Option<usize>,
    pub(super) species: Option<SpeciesAt>,
    pub(super) count: Count,
    pub(super) effort: Option<usize>,
    pub(super) coordinates: Option<(usize, usize)>,
}

/// Where the name is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum SpeciesAt {
    One(usize),
    GenusEpithet(usize, usize),
}

/// Where the number of birds is.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) enum Count {
    /// Nowhere: each row is a bird.
    #[default]
    EachRow,
    Column(usize),
    /// In one of these.
    Either(Vec<usize>),
}

impl Columns {
    pub(super) fn choose(sheet: &Sheet, known: &Known) -> Self {
        let mut taken = Vec::new();
        let (date, orders) = date_column(sheet);
        taken.extend(date);
        let coordinates = coordinates(sheet);
        taken.extend(coordinates.into_iter().flat_map(|(a, b)| [a, b]));
        let species = species(sheet, known, &taken);
        taken.extend(species.iter().flat_map(|s| match s {
            SpeciesAt::One(a) => vec![*a],
            SpeciesAt::GenusEpithet(a, b) => vec![*a, *b],
        }));
        let number = |c| sheet.part(c, |cell| cell.parse::<f64>().is_ok()) >= MOST;
        let effort = best(sheet, EFFORT, &taken, number);
        taken.extend(effort);
        let site = best(sheet, SITE, &taken, |_| true);
        taken.extend(site);
        Columns {
            date,
            orders,
            site,
            species,
            count: count(sheet, &taken),
            effort,
            coordinates,
        }
    }
}

/// Letters and digits alone, in small letters.
fn squeezed(header: &str) -> String {
    let letters = header.chars().filter(|c| c.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

/// How well a header fits: 0 not at all; higher for a whole header than for a word in it, and for
/// the words that come first in the list.
fn fit(header: &str, words: &[&str]) -> usize {
    let whole = words.iter().position(|w| *w == squeezed(header));
    let inside = || {
        let own: Vec<String> = header
            .split(|c: char| !c.is_alphanumeric())
            .map(squeezed)
            .collect();
        words.iter().position(|w| own.iter().any(|o| o == w))
    };
    let rank = |place: usize| words.len() - place;
    match whole {
        Some(place) => words.len() + rank(place),
        None => inside().map_or(0, rank),
    }
}

/// The free column with the best header whose cells fit.
fn best(
    sheet: &Sheet,
    words: &[&str],
    taken: &[usize],
    cells_fit: impl Fn(usize) -> bool,
) -> Option<usize> {
    let free = (0..sheet.header.len()).filter(|c| !taken.contains(c));
    let named = free
        .map(|c| (fit(&sheet.header[c], words), c))
        .filter(|(fit, _)| *fit > 0);
    let fitting = named.filter(|(_, c)| sheet.cells(*c).next().is_some() && cells_fit(*c));
    fitting.rev().max_by_key(|(fit, _)| *fit).map(|(_, c)| c)
}

/// The column most of whose cells are dates, and the orders that fit the most of them.
fn date_column(sheet: &Sheet) -> (Option<usize>, Vec<DateOrder>) {
    let dates = |c: usize| sheet.part(c, |cell| !date::fitting(cell).is_empty());
    let all = (0..sheet.header.len()).map(|c| (c, dates(c)));
    let dated = all.filter(|(_, part)| *part >= MOST);
    // the header decides between two, as "date" and "entered on"
    let found = dated
        .rev()
        .max_by_key(|(c, _)| fit(&sheet.header[*c], DATE));
    let Some((column, _)) = found else {
        return (None, Vec::new());
    };
    let mut rows = [0_usize; 3];
    for (cell, number) in sheet.tally(column) {
        date::fitting(cell)
            .into_iter()
            .for_each(|order| rows[order as usize] += number);
    }
    let most = rows.iter().max().copied().unwrap_or_default();
    let orders = [
        DateOrder::YearMonthDay,
        DateOrder::DayMonthYear,
        DateOrder::MonthDayYear,
    ];
    let orders = orders.into_iter().filter(|o| rows[*o as usize] == most);
    (Some(column), orders.collect())
}

fn coordinates(sheet: &Sheet) -> Option<(usize, usize)> {
    let degrees = |most: f64| {
        move |c: usize| {
            let inside = |cell: &str| cell.parse::<f64>().is_ok_and(|d| d.abs() <= most);
            sheet.part(c, inside) >= MOST
        }
    };
    let latitude = best(sheet, LATITUDE, &[], degrees(90.0))?;
    Some((
        latitude,
        best(sheet, LONGITUDE, &[latitude], degrees(180.0))?,
    ))
}

/// Genus and epithet where headers and cells say so, else the column with the most names.
fn species(sheet: &Sheet, known: &Known, taken: &[usize]) -> Option<SpeciesAt> {
    let word = |c: usize| sheet.part(c, |cell| cell.chars().all(char::is_alphabetic)) >= MOST;
    if let Some(genus) = best(sheet, GENUS, taken, word) {
        let taken = [taken, &[genus]].concat();
        if let Some(epithet) = best(sheet, EPITHET, &taken, word) {
            return Some(SpeciesAt::GenusEpithet(genus, epithet));
        }
    }
    let worth = |c: usize| {
        let names = sheet.part(c, |cell| is_name(cell, known));
        let named = fit(&sheet.header[c], SPECIES) as f64 / (2 * SPECIES.len()) as f64;
        (c, names + named)
    };
    let free = (0..sheet.header.len())
        .filter(|c| !taken.contains(c))
        .map(worth);
    let found = free.rev().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (found.1 >= 0.5).then_some(SpeciesAt::One(found.0))
}

/// By its header; else the only free column of whole numbers, unless it numbers the rows.
fn count(sheet: &Sheet, taken: &[usize]) -> Count {
    let reader = CountReader::new(&CountTokens::default());
    let counts = |c: usize| sheet.part(c, |cell| reader.read(cell).is_ok()) >= MOST;
    if let Some(column) = best(sheet, COUNT, taken, counts) {
        return Count::Column(column);
    }
    let free = (0..sheet.header.len()).filter(|c| !taken.contains(c));
    let numbers = |c: &usize| sheet.part(*c, |cell| cell.parse::<u32>().is_ok()) >= MOST;
    let found: Vec<usize> = free
        .filter(|c| numbers(c) && !numbers_the_rows(sheet, *c))
        .collect();
    match found[..] {
        [] => Count::EachRow,
        [only] => Count::Column(only),
        _ => Count::Either(found),
    }
}

/// Every cell another, in rising order.
fn numbers_the_rows(sheet: &Sheet, column: usize) -> bool {
    let numbers: Vec<u64> = sheet.cells(column).filter_map(|c| c.parse().ok()).collect();
    numbers.len() > 2 && numbers.windows(2).all(|pair| pair[0] < pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers() {
        assert!(fit("Date", DATE) > fit("Date entered", DATE));
        assert!(fit("No.", COUNT) > 0 && fit("Notes", COUNT) == 0);
        assert_eq!(fit("Observer", SITE), 0);
        assert!(fit("Number seen", COUNT) > 0);
    }
}
