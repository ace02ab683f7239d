//! Plain tables that keep to their columns.

use crate::columns::wrap;
use unicode_width::UnicodeWidthStr;

/// Which edge of its column a cell keeps to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Right,
}

const GAP: usize = 2;
/// The first column is not made narrower than this.
const NARROWEST: usize = 12;

/// Rows of cells as lines, the first column wrapped where the others leave it too little room.
pub(super) fn table(rows: &[Vec<String>], aligns: &[Align], width: usize) -> String {
    let wide = |c: usize| {
        rows.iter()
            .filter_map(|r| r.get(c))
            .map(|t| t.width())
            .max()
            .unwrap_or(0)
    };
    let mut widths: Vec<usize> = (0..aligns.len()).map(wide).collect();
    let others: usize = widths.iter().skip(1).map(|w| w + GAP).sum();
    if let Some(first) = widths.first_mut() {
        *first = (*first).min(width.saturating_sub(others + GAP).max(NARROWEST));
    }
    let lines: Vec<String> = rows
        .iter()
        .flat_map(|row| lines(row, aligns, &widths))
        .collect();
    lines.join("\n")
}

fn lines(row: &[String], aligns: &[Align], widths: &[usize]) -> Vec<String> {
    let Some((name, cells)) = row.split_first() else {
        return Vec::new();
    };
    let name = wrap(name, "", " ", widths[0]);
    let parts: Vec<&str> = name.split('\n').collect();
    // numbers stand beside the last line of a long name, where the eye ends up
    let last = parts.len() - 1;
    let mut lines: Vec<String> = parts[..last].iter().map(|p| format!("  {p}")).collect();
    let mut line = format!("  {}", padded(parts[last], widths[0], aligns[0]));
    for (cell, (align, width)) in cells.iter().zip(aligns.iter().zip(widths).skip(1)) {
        line += &" ".repeat(GAP);
        line += &padded(cell, *width, *align);
    }
    lines.push(line.trim_end().to_owned());
    lines
}

fn padded(text: &str, width: usize, align: Align) -> String {
    let room = " ".repeat(width.saturating_sub(text.width()));
    match align {
        Align::Left => text.to_owned() + &room,
        Align::Right => room + text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_name_gives_way_to_the_numbers() {
        let rows = [
            vec!["a name that goes on and on".to_owned(), "12.5".to_owned()],
            vec!["short".to_owned(), "-3".to_owned()],
        ];
        let text = table(&rows, &[Align::Left, Align::Right], 24);
        assert_eq!(
            text,
            "  a name that goes\n   on and on        12.5\n  short               -3"
        );
        assert!(text.lines().all(|l| l.width() <= 24));
    }
}
