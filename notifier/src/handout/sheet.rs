//! The two sides as pages of SVG, laid out line by line: what a PDF is made of where no browser is.

use super::fit::{self, COLUMN, FOOT, GAP, LINE, MARGIN, PAPER, POINT, TITLE, UNDER, WIDTH};
use super::letters::{Letters, Line};
use super::said::{Block, Kind};
use super::{Handout, HandoutError};
use crate::chart::{FAMILY, escape};
use std::fmt::Write;

const INK: &str = "#000";

impl Handout {
    /// Both sides, each a page of A4.
    ///
    /// # Errors
    /// [`HandoutError::Chart`] where a text cannot be measured.
    pub fn pages(&self) -> Result<[String; 2], HandoutError> {
        let letters = Letters::default();
        let mut first = Side::new(&letters);
        first.head(&self.title, &self.under)?;
        first.figure(self);
        first.down(&self.caption, fit::CAPTION, MARGIN, WIDTH)?;
        first.fitted(&self.first)?;
        let mut second = Side::new(&letters);
        second.head(&self.title, &self.under)?;
        second.fitted(&self.second)?;
        Ok([first.page(), second.page()])
    }
}

/// A side while it is filled from the top.
struct Side<'a> {
    letters: &'a Letters,
    drawn: String,
    y: f64,
}

impl<'a> Side<'a> {
    fn new(letters: &'a Letters) -> Self {
        Side {
            letters,
            drawn: String::new(),
            y: MARGIN,
        }
    }

    fn put(&mut self, element: std::fmt::Arguments<'_>) {
        // a String takes all that is written to it
        let _ = self.drawn.write_fmt(element);
        self.drawn.push('\n');
    }

    fn head(&mut self, title: &str, under: &str) -> Result<(), HandoutError> {
        self.down(&Block::mark(title, ""), TITLE, MARGIN, WIDTH)?;
        self.down(&Block::text("", under), UNDER, MARGIN, WIDTH)?;
        self.y += fit::AIR;
        Ok(())
    }

    fn figure(&mut self, handout: &Handout) {
        let body = handout.picture.body(handout.picture_height);
        let (x, y) = (MARGIN, self.y);
        self.put(format_args!(
            "<g transform=\"translate({x} {y:.2})\">{body}</g>"
        ));
        self.y += handout.picture_height;
    }

    fn fitted(&mut self, fitted: &fit::Fitted) -> Result<(), HandoutError> {
        let top = self.y;
        let mut lowest = top;
        for (place, column) in fitted.columns.iter().enumerate() {
            self.y = top;
            let x = MARGIN + place as f64 * (COLUMN + GAP);
            for block in column {
                self.down(block, fitted.size, x, COLUMN)?;
            }
            lowest = lowest.max(self.y);
        }
        let mut foot = 0.0;
        for block in &fitted.foot {
            foot += fit::height(self.letters, block, FOOT, WIDTH)?;
        }
        self.y = (PAPER.1 - MARGIN - foot).max(lowest);
        let y = self.y;
        let right = PAPER.0 - MARGIN;
        self.put(format_args!(
            "<path d=\"M{MARGIN} {y:.2}H{right}\" stroke=\"{INK}\" stroke-width=\"0.2\"/>"
        ));
        for block in &fitted.foot {
            self.down(block, FOOT, MARGIN, WIDTH)?;
        }
        Ok(())
    }

    /// Writes a text below what is there.
    fn down(&mut self, block: &Block, points: f64, x: f64, width: f64) -> Result<(), HandoutError> {
        let size = points * POINT * block.kind.size();
        let inset = block.kind.inset() * size;
        self.y += block.kind.above() * size;
        for line in self.letters.lines(block, size, width - inset)? {
            // the letters' foot, where a line is 1.3 times as high as they are
            let foot = self.y + 0.98 * size;
            let words = spans(&line);
            let x = x + inset;
            self.put(format_args!(
                "<text x=\"{x:.2}\" y=\"{foot:.2}\" font-family=\"{FAMILY}\" font-size=\"{size:.3}\" \
                 fill=\"{INK}\">{words}</text>"
            ));
            self.y += LINE * size;
        }
        if block.kind == Kind::Heading {
            let (y, right) = (self.y, x + width);
            self.put(format_args!(
                "<path d=\"M{x:.2} {y:.2}H{right:.2}\" stroke=\"{INK}\" stroke-width=\"0.25\"/>"
            ));
        }
        self.y += block.kind.below() * size;
        Ok(())
    }

    fn page(self) -> String {
        let (wide, high) = PAPER;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" \
             viewBox=\"0 0 {wide} {high}\">\n{}</svg>\n",
            self.drawn
        )
    }
}

/// A line as SVG's pieces of text.
pub(crate) fn spans(line: &Line) -> String {
    let span = |(place, piece): (usize, &super::letters::Piece)| {
        let blank = if place > 0 { " " } else { "" };
        let text = escape(&piece.text);
        match piece.bold {
            true => format!("{blank}<tspan font-weight=\"bold\">{text}</tspan>"),
            false => format!("{blank}{text}"),
        }
    };
    line.iter().enumerate().map(span).collect()
}
