//! The foot of a sheet: paragraphs in columns of one height, as low as they fit.

use super::pen::{Hand, INK, Pen};
use crate::chart::ChartError;
use crate::handout::{Block, Kind, Letters, spans};

/// A column is so wide, in sizes of its letters: some seventy letters a line.
const COLUMN: f64 = 36.0;
const GAP: f64 = 2.4;
/// From a line to the next.
const LINE: f64 = 1.27;
/// Room above a paragraph, and above a heading.
const ABOVE: f64 = 0.3;
const ABOVE_HEADING: f64 = 0.7;

/// A line in its column: how far down its foot is, and what it says.
type Put = (f64, Piece);

/// A line.
#[derive(Debug, Clone)]
struct Piece {
    spans: String,
    heading: bool,
    /// Room above it unless it begins a column.
    above: f64,
}

/// The foot, laid out; measures in the size of its letters.
#[derive(Debug)]
pub(super) struct Foot {
    columns: Vec<Vec<Put>>,
    column: f64,
    high: f64,
    small: f64,
}

impl Foot {
    pub(super) fn of(
        blocks: &[Block],
        letters: &Letters,
        small: f64,
        width: f64,
    ) -> Result<Self, ChartError> {
        let room = width / small;
        let count = ((room + GAP) / (COLUMN + GAP)).round().max(1.0);
        let column = (room + GAP) / count - GAP;
        let mut pieces = Vec::new();
        for block in blocks {
            pieces.extend(broken(block, letters, column)?);
        }
        let total: f64 = pieces.iter().map(|p| LINE + p.above).sum();
        let mut high = (total / count).max(LINE);
        let mut columns = filled(&pieces, high);
        while columns.len() > count as usize {
            high += LINE / 2.0;
            columns = filled(&pieces, high);
        }
        Ok(Foot {
            columns,
            column,
            high,
            small,
        })
    }

    pub(super) fn height(&self) -> f64 {
        (self.high + 0.4) * self.small
    }

    pub(super) fn draw(&self, pen: &mut Pen, (left, top): (f64, f64)) {
        for (place, column) in self.columns.iter().enumerate() {
            let x = left + place as f64 * (self.column + GAP) * self.small;
            for (down, piece) in column {
                let hand = Hand::plain(self.small, INK);
                let hand = if piece.heading { hand.bold() } else { hand };
                pen.spans((x, top + down * self.small), hand, &piece.spans);
            }
        }
    }
}

fn broken(block: &Block, letters: &Letters, width: f64) -> Result<Vec<Piece>, ChartError> {
    let heading = block.kind == Kind::Heading;
    let lines = letters.lines(block, 1.0, width)?;
    let above = |place: usize| match (place, heading) {
        (0, true) => ABOVE_HEADING,
        (0, false) => ABOVE,
        _ => 0.0,
    };
    let pieces = lines.iter().enumerate().map(|(place, line)| Piece {
        spans: spans(line),
        heading,
        above: above(place),
    });
    Ok(pieces.collect())
}

/// Columns no higher than that; a heading stands above at least a line.
fn filled(pieces: &[Piece], high: f64) -> Vec<Vec<Put>> {
    let mut columns: Vec<Vec<Put>> = vec![Vec::new()];
    let mut down = 0.0;
    for piece in pieces {
        let lead = if piece.heading { LINE + ABOVE } else { 0.0 };
        let first = down == 0.0;
        let above = if first { 0.0 } else { piece.above };
        if !first && down + above + LINE + lead > high + 1e-9 {
            columns.push(Vec::new());
            down = LINE;
        } else {
            down += above + LINE;
        }
        if let Some(column) = columns.last_mut() {
            column.push((down, piece.clone()));
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_lost_and_no_heading_stands_last() {
        let long = "Line: the long-term curve, with its interval. ".repeat(12);
        let blocks: Vec<Block> = (0..5)
            .flat_map(|n| [Block::heading(&format!("Part {n}")), Block::text("", &long)])
            .collect();
        let letters = Letters::default();
        let foot = Foot::of(&blocks, &letters, 2.5, 273.0).unwrap();
        assert_eq!(foot.columns.len(), 3);
        let pieces = |columns: &[Vec<Put>]| columns.iter().map(Vec::len).sum::<usize>();
        let alone: usize = { blocks.iter() }
            .map(|b| broken(b, &letters, foot.column).unwrap().len())
            .sum();
        assert_eq!(pieces(&foot.columns), alone);
        for column in &foot.columns {
            let (down, last) = column.last().unwrap();
            assert!(!last.heading && *down <= foot.high + 1e-9, "{last:?}");
        }
    }
}
