//! How wide words are, and where lines break.

use super::said::Block;
use crate::chart::{ChartError, can_write, text_width};
use std::cell::RefCell;
use std::collections::HashMap;

/// Words are measured at this size, and scaled.
const MEASURED_AT: f64 = 100.0;
/// A blank of the embedded fonts, against the letters' size.
const BLANK: f64 = 0.26;
/// A letter that the embedded fonts lack, drawn by whatever font has it.
const FOREIGN: f64 = 1.0;
/// Lines are filled up to this part of their room, since browsers place letters a little differently.
const FILLED: f64 = 0.985;

/// A stretch of a line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Piece {
    pub(crate) text: String,
    pub(crate) bold: bool,
}

/// A line, as pieces one behind the other.
pub(crate) type Line = Vec<Piece>;

/// Widths of words that were measured before.
#[derive(Default)]
pub(crate) struct Letters(RefCell<HashMap<(String, bool), f64>>);

impl Letters {
    /// Width of a word against its letters' size.
    pub(crate) fn width(&self, word: &str, bold: bool) -> Result<f64, ChartError> {
        let key = (word.to_owned(), bold);
        if let Some(width) = self.0.borrow().get(&key) {
            return Ok(*width);
        }
        let width = match can_write(word) {
            true => text_width(word, MEASURED_AT, bold)? / MEASURED_AT,
            false => word.chars().count() as f64 * FOREIGN,
        };
        self.0.borrow_mut().insert(key, width);
        Ok(width)
    }

    /// A text broken into lines that fit; a single word that does not fit stands alone.
    pub(crate) fn lines(
        &self,
        block: &Block,
        size: f64,
        width: f64,
    ) -> Result<Vec<Line>, ChartError> {
        let room = width * FILLED / size;
        let lead = block.lead.split(' ').map(|w| (w, true));
        let words = lead.chain(block.text.split(' ').map(|w| (w, false)));
        let mut lines: Vec<Line> = vec![Vec::new()];
        let mut filled = 0.0;
        for (word, bold) in words.filter(|(w, _)| !w.is_empty()) {
            let wide = self.width(word, bold)?;
            if filled > 0.0 && filled + BLANK + wide > room {
                lines.push(Vec::new());
                filled = 0.0;
            }
            filled += wide + if filled > 0.0 { BLANK } else { 0.0 };
            match lines.last_mut() {
                Some(line) => put(line, word, bold),
                None => lines.push(vec![piece(word, bold)]),
            }
        }
        Ok(lines)
    }
}

fn piece(word: &str, bold: bool) -> Piece {
    Piece {
        text: word.to_owned(),
        bold,
    }
}

/// Puts a word behind a line.
fn put(line: &mut Line, word: &str, bold: bool) {
    match line.last_mut() {
        Some(last) if last.bold == bold => {
            last.text.push(' ');
            last.text.push_str(word);
        }
        _ => line.push(piece(word, bold)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_hold_what_fits_and_lose_no_word() {
        let letters = Letters::default();
        let block = Block::text("Little Stint:", "short and straight, with a fine tip");
        let one = letters.lines(&block, 3.0, 500.0).unwrap();
        assert_eq!(one.len(), 1);
        assert_eq!(one[0].len(), 2, "bold, then not: {one:?}");
        let narrow = letters.lines(&block, 3.0, 16.0).unwrap();
        assert!(narrow.len() > 4, "{narrow:?}");
        let words = |lines: &[Line]| {
            let texts = lines.iter().flatten().map(|p| p.text.as_str());
            texts.collect::<Vec<_>>().join(" ")
        };
        assert_eq!(words(&one), words(&narrow));
        for line in &narrow {
            let text: Vec<&str> = line.iter().map(|p| p.text.as_str()).collect();
            let wide = text_width(&text.join(" "), 3.0, false).unwrap();
            assert!(wide < 16.0 || !text.join(" ").contains(' '), "{text:?}");
        }
    }
}
