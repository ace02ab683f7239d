//! How two columns of words fit on a side: the largest letters at which all of it does, else the
//! smallest ones and less of it.

use super::HandoutError;
use super::letters::Letters;
use super::said::Block;
use serde::Serialize;

/// A4 and its margins, millimetres.
pub(crate) const PAPER: (f64, f64) = (210.0, 297.0);
pub(crate) const MARGIN: f64 = 12.0;
/// The side within its margins.
pub(crate) const WIDTH: f64 = PAPER.0 - 2.0 * MARGIN;
pub(crate) const HEIGHT: f64 = PAPER.1 - 2.0 * MARGIN;
/// Between the columns.
pub(crate) const GAP: f64 = 7.0;
pub(crate) const COLUMN: f64 = (WIDTH - GAP) / 2.0;

/// A typographic point, millimetres (1/72 inch).
pub(crate) const POINT: f64 = 25.4 / 72.0;
/// From line to line, against the letters' size.
pub(crate) const LINE: f64 = 1.3;
/// Sizes of letters, points, the first that fits being taken. The last is the smallest that a
/// handout should have; common practice, no source.
const SIZES: [f64; 6] = [10.5, 10.0, 9.5, 9.0, 8.5, SMALLEST];
pub(crate) const SMALLEST: f64 = 8.0;
/// Sizes that do not hang on how much there is to say, points.
pub(crate) const TITLE: f64 = 17.0;
pub(crate) const UNDER: f64 = 10.0;
pub(crate) const CAPTION: f64 = 9.0;
pub(crate) const FOOT: f64 = 9.0;
/// Below the head, and above the foot.
pub(crate) const AIR: f64 = 2.0;
/// A browser's lines and gaps come out a little higher than ours.
const SLACK: f64 = 1.02;

/// A side that was made to fit.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct Fitted {
    /// Letters, points.
    pub(crate) size: f64,
    pub(crate) columns: [Vec<Block>; 2],
    pub(crate) foot: Vec<Block>,
    /// Millimetres that columns and foot take.
    #[serde(skip)]
    pub(crate) height: f64,
}

/// The room for columns and foot.
pub(crate) struct Room {
    pub(crate) height: f64,
    pub(crate) foot: Vec<Block>,
}

/// Height of title and subtitle, as both sides have them.
pub(crate) fn head(letters: &Letters, title: &str, under: &str) -> Result<f64, HandoutError> {
    let title = height(letters, &Block::mark(title, ""), TITLE, WIDTH)?;
    let under = height(letters, &Block::text("", under), UNDER, WIDTH)?;
    Ok(title + under + AIR)
}

/// The first of the drafts that fits, in the largest letters that let it, those of `least` points at
/// least; drafts say less and less. None where not even the last fits.
pub(crate) fn side(
    letters: &Letters,
    drafts: impl IntoIterator<Item = Vec<Block>>,
    least: f64,
    room: &Room,
) -> Result<Option<Fitted>, HandoutError> {
    let mut foot = AIR;
    for block in &room.foot {
        foot += height(letters, block, FOOT, WIDTH)?;
    }
    for draft in drafts {
        for size in SIZES.into_iter().filter(|s| *s >= least) {
            let Some((columns, high)) = columns(letters, &draft, size, room.height - foot)? else {
                continue;
            };
            return Ok(Some(Fitted {
                size,
                columns,
                foot: room.foot.clone(),
                height: high + foot,
            }));
        }
    }
    Ok(None)
}

/// Height of a text in letters of so many points.
pub(crate) fn height(
    letters: &Letters,
    block: &Block,
    points: f64,
    width: f64,
) -> Result<f64, HandoutError> {
    let size = points * POINT * block.kind.size();
    let lines = letters.lines(block, size, width - block.kind.inset() * size)?;
    let lines = lines.len() as f64 * LINE;
    Ok(SLACK * size * (block.kind.above() + lines + block.kind.below()))
}

type Columns = ([Vec<Block>; 2], f64);

/// The text in two columns of even height; None where they are higher than the room.
fn columns(
    letters: &Letters,
    blocks: &[Block],
    points: f64,
    room: f64,
) -> Result<Option<Columns>, HandoutError> {
    let mut high = Vec::with_capacity(blocks.len());
    for block in blocks {
        high.push(height(letters, block, points, COLUMN)?);
    }
    let whole: f64 = high.iter().sum();
    let mut best: Option<Columns> = None;
    for at in 1..=blocks.len() {
        if blocks[at - 1].leads_on() {
            continue;
        }
        let left: f64 = high[..at].iter().sum();
        let higher = left.max(whole - left);
        if higher <= room && best.as_ref().is_none_or(|(_, b)| higher < *b) {
            let columns = [blocks[..at].to_vec(), blocks[at..].to_vec()];
            best = Some((columns, higher));
        }
    }
    Ok(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paragraphs(number: usize) -> Vec<Block> {
        let text = "A longer text, so that it takes some lines in a column of the side. ".repeat(4);
        (0..number).map(|_| Block::text("A", &text)).collect()
    }

    fn room(height: f64) -> Room {
        Room {
            height,
            foot: vec![Block::small("", "Below.")],
        }
    }

    #[test]
    fn more_words_get_smaller_letters_and_then_less_is_said() {
        let letters = Letters::default();
        let fit = |drafts: Vec<Vec<Block>>| side(&letters, drafts, SMALLEST, &room(200.0)).unwrap();
        let size = |number| fit(vec![paragraphs(number)]).map(|side| side.size);
        let sizes: Vec<Option<f64>> = (1..=60).map(size).collect();
        assert_eq!((sizes[0], sizes[59]), (Some(SIZES[0]), None));
        assert!(sizes.contains(&Some(SMALLEST)), "{sizes:?}");
        let smaller = sizes.windows(2).all(|pair| pair[1] <= pair[0]);
        assert!(smaller, "None is less than any size: {sizes:?}");
        let less = fit(vec![paragraphs(60), paragraphs(10)]).unwrap();
        let told: usize = less.columns.iter().map(Vec::len).sum();
        assert_eq!(told, 10);
        assert!(less.height <= 200.0);
    }

    #[test]
    fn columns_are_even_and_no_heading_stands_alone_below() {
        let letters = Letters::default();
        let mut blocks = paragraphs(3);
        blocks.push(Block::heading("Marks"));
        blocks.push(Block::mark("Bill", "(structure)"));
        blocks.extend(paragraphs(3));
        let fitted = side(&letters, [blocks], SMALLEST, &room(250.0))
            .unwrap()
            .unwrap();
        let last = fitted.columns[0].last().unwrap();
        assert!(!last.leads_on(), "{last:?}");
        let told: Vec<usize> = fitted.columns.iter().map(Vec::len).collect();
        assert!(told[0] >= 3 && told[1] >= 3, "{told:?}");
    }
}
