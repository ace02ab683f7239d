//! What stands beside a curve: the species' names and the top of its scale.

use super::Row;
use super::pen::{Hand, INK, PENCIL, Pen};
use crate::chart::ChartError;
use crate::handout::{Block, Letters};

/// Names are so much larger than the smallest letters.
pub(super) const NAME: f64 = 1.3;
/// From a line of small letters to the next, in their size.
const NEXT: f64 = 1.17;

/// A line of a species' names.
#[derive(Debug, Clone, PartialEq)]
struct NameLine {
    text: String,
    size: f64,
    bold: bool,
}

/// How wide the names of a row want to be.
pub(super) fn wanted(row: &Row, letters: &Letters, small: f64) -> Result<f64, ChartError> {
    let name = letters.width(&row.curve.name, true)? * NAME;
    let scale = letters.width(&row.scale(), false)?;
    let scientific = letters.width(&row.curve.scientific, false)?;
    Ok(name.max(scale).max(scientific) * small)
}

/// The name as large as it fits, on two lines of the smallest letters where it must; then what else
/// there is to say.
fn lines(
    row: &Row,
    letters: &Letters,
    small: f64,
    width: f64,
) -> Result<Vec<NameLine>, ChartError> {
    let name = &row.curve.name;
    let size = (width / letters.width(name, true)?).min(NAME * small);
    let mut lines = Vec::new();
    if size >= small {
        lines.push(NameLine {
            text: name.clone(),
            size,
            bold: true,
        });
    } else {
        for line in letters.lines(&Block::mark(name, ""), small, width)? {
            let text: Vec<&str> = line.iter().map(|piece| piece.text.as_str()).collect();
            lines.push(NameLine {
                text: text.join(" "),
                size: small,
                bold: true,
            });
        }
    }
    let scientific = (row.curve.scientific != *name).then(|| row.curve.scientific.clone());
    lines.extend(
        scientific
            .into_iter()
            .chain([row.scale()])
            .map(|text| NameLine {
                text,
                size: small,
                bold: false,
            }),
    );
    Ok(lines)
}

/// Writes the names from a point on, downwards.
pub(super) fn write(
    pen: &mut Pen,
    row: &Row,
    letters: &Letters,
    (left, top): (f64, f64),
    (small, width): (f64, f64),
) -> Result<(), ChartError> {
    let mut y = top + NEXT * small;
    for line in lines(row, letters, small, width)? {
        let hand = match line.bold {
            true => Hand::plain(line.size, INK).bold(),
            false => Hand::plain(line.size, PENCIL),
        };
        pen.words((left, y), hand, &line.text);
        y += NEXT * small;
    }
    Ok(())
}
