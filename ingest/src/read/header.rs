//! The header line: which column is which.

use crate::cell::{is_invisible, tidy};
use crate::error::{LoadError, MissingColumn};
use crate::report::Note;
use config::nearest::nearest;

/// Candidate separators, the likeliest first.
pub(crate) const SEPARATORS: [u8; 4] = *b",;\t|";

/// A separator in words.
pub(crate) fn separator_name(separator: u8) -> String {
    known_separator(separator)
        .map_or_else(|| format!("\"{}\"", char::from(separator)), str::to_owned)
}

fn known_separator(separator: u8) -> Option<&'static str> {
    match separator {
        b',' => Some("commas"),
        b';' => Some("semicolons"),
        b'\t' => Some("tabs"),
        b'|' => Some("upright bars"),
        _ => None,
    }
}

/// A column that a source names.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wanted<'a> {
    /// Key under `columns`.
    pub(crate) key: &'static str,
    /// The name written there.
    pub(crate) name: &'a str,
}

/// The header of a file.
#[derive(Clone)]
pub(crate) struct Header {
    pub(crate) names: Vec<String>,
    pub(crate) line: u64,
    /// The header line itself, to try other separators on.
    pub(crate) raw: String,
}

/// Whose header is read, for messages.
#[derive(Clone, Copy)]
pub(crate) struct Whose<'a> {
    pub(crate) file: &'a str,
    pub(crate) source_id: &'a str,
}

/// The names in the first row of a text under a separator.
pub(crate) fn split(line: &str, separator: u8) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .from_reader(line.as_bytes());
    let first = reader.records().next().and_then(Result::ok);
    first.map_or_else(Vec::new, |r| r.iter().map(str::to_owned).collect())
}

/// The separator, one of those given, under which most wanted columns are found in the first row of
/// the text, else the one with most columns; with the number of those found.
pub(crate) fn guess_separator(text: &str, separators: &[u8], wanted: &[Wanted<'_>]) -> (u8, usize) {
    let worth = |separator: &u8| {
        let names = split(text, *separator);
        let found = wanted
            .iter()
            .filter(|w| !matching(&names, w.name).is_empty());
        (found.count(), names.len())
    };
    let all = separators.iter().rev().map(|s| (worth(s), *s));
    let best = all.max_by_key(|(worth, _)| *worth);
    best.map_or((b',', 0), |((found, _), separator)| (separator, found))
}

/// Places of the columns of that name: as written, else without regard to case and space.
fn matching(names: &[String], wanted: &str) -> Vec<usize> {
    let places = |same: &dyn Fn(&str) -> bool| -> Vec<usize> {
        let all = names.iter().enumerate();
        all.filter(|(_, n)| same(n)).map(|(i, _)| i).collect()
    };
    let exact = places(&|n| n == wanted);
    if exact.is_empty() {
        let wanted = squeezed(wanted);
        places(&|n| squeezed(n) == wanted)
    } else {
        exact
    }
}

/// Is it the same name but for case and blanks?
pub(crate) fn same_name(a: &str, b: &str) -> bool {
    squeezed(a) == squeezed(b)
}

/// Columns are also told apart without blanks: `Visit date`, `VisitDate`.
fn squeezed(name: &str) -> String {
    let seen = |c: &char| !c.is_whitespace() && !is_invisible(*c);
    let letters = name.chars().filter(seen);
    letters.flat_map(char::to_lowercase).collect()
}

impl Header {
    pub(crate) fn new(cells: &csv::ByteRecord, line: u64, raw: String) -> Self {
        let name = |cell: &[u8]| String::from_utf8_lossy(cell).into_owned();
        let mut names: Vec<String> = cells.iter().map(name).collect();
        // Spreadsheets that once were wider write empty names behind the last column.
        while names.last().is_some_and(|n| n.trim().is_empty()) {
            names.pop();
        }
        Header { names, line, raw }
    }

    /// How many of the wanted columns are there.
    pub(crate) fn found(&self, wanted: &[Wanted<'_>]) -> usize {
        let there = |w: &&Wanted<'_>| !matching(&self.names, w.name).is_empty();
        wanted.iter().filter(there).count()
    }

    /// Place of the one column of that name.
    pub(crate) fn only(&self, name: &str) -> Option<usize> {
        match matching(&self.names, name)[..] {
            [place] => Some(place),
            _ => None,
        }
    }

    /// Place of a wanted column, and a note where its name was repaired.
    pub(crate) fn place(
        &self,
        wanted: Wanted<'_>,
        whose: Whose<'_>,
        notes: &mut Vec<Note>,
    ) -> Result<usize, LoadError> {
        match matching(&self.names, wanted.name)[..] {
            [] => Err(self.missing(wanted, whose)),
            [place] => {
                notes.extend(self.repaired(place, wanted));
                Ok(place)
            }
            _ => Err(LoadError::AmbiguousColumn {
                file: whose.file.to_owned(),
                line: self.line,
                source_id: whose.source_id.to_owned(),
                key: wanted.key,
                wanted: wanted.name.to_owned(),
            }),
        }
    }

    /// The name of a column, for messages.
    pub(crate) fn name(&self, place: usize) -> String {
        match self.names.get(place).map(|n| tidy(n).0) {
            Some(name) if !name.is_empty() => name.into_owned(),
            _ => format!("column {}", place + 1),
        }
    }

    fn repaired(&self, place: usize, wanted: Wanted<'_>) -> Option<Note> {
        let written = &self.names[place];
        (written != wanted.name).then(|| Note {
            file: None,
            line: Some(self.line),
            text: format!(
                "The column \"{written}\" was taken as \"{}\" (columns.{}).",
                wanted.name, wanted.key
            ),
        })
    }

    fn missing(&self, wanted: Wanted<'_>, whose: Whose<'_>) -> LoadError {
        let nearest = nearest(wanted.name, self.names.iter().map(String::as_str));
        let other = SEPARATORS
            .into_iter()
            .find(|s| !matching(&split(&self.raw, *s), wanted.name).is_empty());
        LoadError::MissingColumn(Box::new(MissingColumn {
            file: whose.file.to_owned(),
            line: self.line,
            source_id: whose.source_id.to_owned(),
            key: wanted.key,
            wanted: wanted.name.to_owned(),
            have: self.names.clone(),
            nearest: nearest.map(str::to_owned),
            other_separator: other.and_then(known_separator),
        }))
    }
}
