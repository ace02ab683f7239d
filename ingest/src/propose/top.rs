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
/// separator that makes most cells of most lines; else the first line that holds something.
pub(super) fn find(text: &str) -> Top {
    let lines: Vec<usize> = filled_lines(text, 0).take(LOOKED_AT).collect();
    let cells = |separator: u8| -> Vec<Vec<String>> {
        lines
            .iter()
            .map(|at| split(&text[*at..], separator))
            .collect()
    };
    let all = SEPARATORS.into_iter().rev().map(|s| (s, cells(s)));
    let best = all.max_by_key(|(_, cells)| usual(cells));
    let (separator, cells) = best.unwrap_or((b',', Vec::new()));
    let usual = usual(&cells);
    let is_header = |cells: &Vec<String>| {
        let named = cells.iter().filter(|cell| !cell.trim().is_empty()).count();
        cells.len() >= usual && named as f64 >= NAMED * cells.len() as f64
    };
    let header = cells.iter().position(is_header).unwrap_or_default();
    let begins = lines.get(header).copied().unwrap_or_default();
    Top {
        begins,
        line: 1 + line_ends(&text[..begins]),
        separator,
    }
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
