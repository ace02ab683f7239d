//! Where a table begins: titles, remarks and blank lines may stand above its header.

use crate::read::delimited::filled_lines;
use crate::read::header::{SEPARATORS, split};
use std::collections::BTreeMap;

/// Lines by whose cells the table is told from what stands above it. A choice.
const LOOKED_AT: usize = 50;
/// A header has names for most of its columns; a title that a spreadsheet wrote out has the cells
/// of a whole row with nothing in them. A choice.
const NAMED: f64 = 0.6;

/// The header of a table.
#[derive(Debug, PartialEq)]
pub(super) struct Top {
    /// Its first byte in the text.
    pub(super) begins: usize,
    /// Its line, from 1.
    pub(super) line: u64,
    pub(super) separator: u8,
}

/// The first line that has as many cells as most lines have, with names in most of them, by the
/// separator that makes most cells of most lines; else the first line that holds something. Where
/// that line is a row like the next one, the line above it is the header that has one cell less: programs
/// that write names of rows give them none.
pub(super) fn find(text: &str) -> Top {
    let lines: Vec<usize> = filled_lines(text, 0).take(LOOKED_AT).collect();
    let cells = |separator: u8| -> Vec<Vec<String>> {
        let cells = lines.iter().map(|at| split(&text[*at..], separator));
        without_empty_columns(cells.collect())
    };
    let all = SEPARATORS.into_iter().rev().map(|s| (s, cells(s)));
    let best = all.max_by_key(|(_, cells)| usual(cells));
    let (separator, cells) = best.unwrap_or((b',', Vec::new()));
    let header = header(&cells);
    let begins = lines.get(header).copied().unwrap_or_default();
    Top {
        begins,
        line: 1 + line_ends(&text[..begins]),
        separator,
    }
}

fn header(lines: &[Vec<String>]) -> usize {
    let usual = usual(lines);
    let whole = |cells: &Vec<String>| cells.len() >= usual && is_named(cells);
    let first = lines.iter().position(whole).unwrap_or_default();
    let Some(above) = first.checked_sub(1).filter(|_| is_row(&lines[first..])) else {
        return first;
    };
    let cells = &lines[above];
    let is_text = cells.iter().all(|cell| Kind::of(cell).is_none());
    match cells.len() + 1 >= usual && is_named(cells) && is_text {
        true => above,
        false => first,
    }
}

fn is_named(cells: &[String]) -> bool {
    let named = cells.iter().filter(|cell| !cell.trim().is_empty()).count();
    named as f64 >= NAMED * cells.len() as f64
}

/// What a cell that is no name looks like.
#[derive(PartialEq)]
enum Kind {
    Year,
    Number,
    /// Of several numbers, such as a date or a time.
    Several,
}

impl Kind {
    fn of(cell: &str) -> Option<Self> {
        let cell = cell.trim();
        let year = cell.len() == 4 && (cell.starts_with("19") || cell.starts_with("20"));
        let mut parts = cell.split(|c: char| "-/.:,+T ".contains(c));
        let of_digits = |part: &str| part.chars().all(|c| c.is_ascii_digit());
        let has_digits = cell.contains(|c: char| c.is_ascii_digit());
        match has_digits && parts.clone().all(of_digits) {
            false => None,
            true if parts.nth(1).is_some() => Some(Kind::Several),
            true if year => Some(Kind::Year),
            true => Some(Kind::Number),
        }
    }
}

/// Is the first of these lines a row like the next one? A table that has a column for each year or
/// date has a header of such cells, but below them stand numbers of birds.
fn is_row(lines: &[Vec<String>]) -> bool {
    let [cells, next, ..] = lines else {
        return false;
    };
    let pairs = cells.iter().zip(next);
    let pairs = pairs.filter_map(|(cell, below)| Some((Kind::of(cell)?, Kind::of(below))));
    let alike: Vec<bool> = pairs.map(|(kind, below)| below == Some(kind)).collect();
    let number = alike.iter().filter(|alike| **alike).count();
    number > 0 && 2 * number >= alike.len()
}

/// Without the cells at the ends of lines under which no line has anything: rows may end in a
/// separator that the header has not.
fn without_empty_columns(mut lines: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let filled = |cells: &Vec<String>| cells.iter().rposition(|cell| !cell.trim().is_empty());
    let columns = lines
        .iter()
        .filter_map(filled)
        .max()
        .map_or(0, |last| last + 1);
    for cells in &mut lines {
        cells.truncate(columns);
    }
    lines
}

/// How many cells most lines have; the larger number of two that are as frequent.
fn usual(lines: &[Vec<String>]) -> usize {
    let mut tally: BTreeMap<usize, usize> = BTreeMap::new();
    for cells in lines {
        *tally.entry(cells.len()).or_default() += 1;
    }
    let most = tally.into_iter().max_by_key(|(_, lines)| *lines);
    most.map_or(0, |(cells, _)| cells)
}

/// Ends of lines of all three kinds.
fn line_ends(text: &str) -> u64 {
    let pairs = text.matches("\r\n").count();
    (text.matches(['\r', '\n']).count() - pairs) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_is_found_below_what_stands_above_it() {
        let table =
            "Date;Place;Bird;Number\n1.9.2024;Long Bank;Dunlin;3\n2.9.2024;Long Bank;Dunlin;\n";
        for (above, line) in [
            ("", 1),
            (
                "Counts of the wardens, Skerrow Ness, 2024, by hand, all of them\n",
                2,
            ),
            ("Skerrow Ness;;;\r\n\r\nby A. Warden;;;\r\n", 4),
            ("Wardens;2024\r\r", 3),
        ] {
            let found = find(&format!("{above}{table}"));
            let expected = Top {
                begins: above.len(),
                line,
                separator: b';',
            };
            assert_eq!(found, expected, "{above:?}");
        }
    }

    /// Rows that end in a separator, one or two; with a remark behind in one of them; names of rows
    /// without a name of their own, as `write.table` of R has them unless it is told otherwise
    /// (its help: "the header line has one fewer entries than the number of columns").
    #[test]
    fn a_header_with_fewer_cells_than_its_rows_is_the_header() {
        let rows = "2024-09-01;Long Bank;Dunlin;3;\n2024-09-02;Long Bank;Knot;4;\n";
        let header = "Date;Place;Bird;Number\n";
        for (above, rows) in [
            ("", rows.to_owned()),
            ("", rows.replace(";\n", ";;\n")),
            ("", rows.replace("4;", "4;in fog")),
            ("Counts of 2024\n\n", rows.replace("4;", "4;in fog")),
            ("", rows.replace("2024", "1;2024").replace(";\n", "\n")),
            (
                "Skerrow Ness;;;;\n",
                rows.replace("2024", "1;2024").replace(";\n", "\n"),
            ),
        ] {
            let text = format!("{above}{header}{rows}");
            let found = find(&text);
            assert_eq!(
                (found.begins, found.separator),
                (above.len(), b';'),
                "{text}"
            );
        }
        // a title of two cells above a header of three is none
        let titled = "Wardens;2024\nDate;Bird;Number\n1.9.2024;Dunlin;3\n2.9.2024;Dunlin;3\n";
        assert_eq!(find(titled).line, 2);
        for years in ["2001;2002", "1.9.2024;8.9.2024"] {
            let wide = format!("Counts;all\nSpecies;{years}\nDunlin;3;7\nKnot;;2\n");
            assert_eq!(find(&wide).line, 2, "{wide}");
        }
    }

    #[test]
    fn a_table_that_has_no_title_begins_with_its_first_line() {
        for text in [
            "Bird\nDunlin\nKnot\n",
            "Species,2001,2002,2003\nDunlin,3,,\nKnot,1,2,\n",
            "Date,Bird,Number,Notes,By\n2024-09-01,Dunlin,3\n2024-09-02,Dunlin,3\n",
        ] {
            assert_eq!((find(text).begins, find(text).line), (0, 1), "{text}");
        }
        assert_eq!(find("\n\nBird\nDunlin\n").line, 3);
    }
}
