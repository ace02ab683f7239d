//! The year on paper: as few sheets as hold all species in letters that can be read.

use super::foot::Foot;
use super::names;
use super::pen::{self, Hand, INK, Label, PAPER, PENCIL, Pen};
use super::row::{LEAST, Place, Plot};
use super::strips;
use super::told::OWN_USE;
use super::{Row, Year, YearError};
use crate::chart::ChartError;
use crate::handout::{Block, Letters, spans};
use crate::printed::{Paper, Side};
use crate::words;

/// No letter on a sheet is smaller, in points of its paper: newsprint is set in about as much.
pub const SMALLEST_POINTS: f64 = 7.0;
/// ISO 32000-1, 8.3.2.3.
const MM_PER_POINT: f64 = 25.4 / 72.0;
/// Times the smallest letters that are tried, the largest first.
const SCALES: [f64; 5] = [2.0, 1.7, 1.4, 1.2, 1.0];
/// The largest on paper as wide as A3; on wider paper in proportion.
const LARGEST_ON_A3: f64 = 1.4;
/// With letters larger than the smallest, rows must be so many times as high as they need be.
const AIRY: f64 = 1.3;
/// Higher rows, in sizes of the letters, would only stretch the curves.
const HIGHEST: f64 = 26.0;
/// Millimetres that printers leave blank, and a little more.
const MARGIN: f64 = 12.0;
/// The column of names takes so much of the width at the most, and so many letters at the least.
const NAMES: (f64, f64) = (0.27, 13.5);

/// A side laid out, millimetres.
struct Layout<'a> {
    year: &'a Year,
    letters: &'a Letters,
    paper: Paper,
    plot: Plot,
    /// Where the rows begin.
    top: f64,
    /// Feet of all sheets but the last, and of the last.
    feet: [Foot; 2],
    sheets: usize,
    /// Rows on all sheets but the last.
    each: usize,
    row: f64,
}

impl Year {
    /// The sheets.
    ///
    /// # Errors
    /// [`YearError::NoRoom`] where not even one row fits on a sheet; a text that cannot be measured.
    pub fn sides(&self, paper: Paper) -> Result<Vec<Side>, YearError> {
        let letters = Letters::default();
        let layout = self.laid_out(&letters, paper)?;
        let sides = (0..layout.sheets).map(|n| layout.side(n));
        Ok(sides.collect::<Result<_, _>>()?)
    }

    /// One sheet, from 0 on; None beyond the last.
    ///
    /// # Errors
    /// As [`Year::sides`].
    pub fn side(&self, paper: Paper, sheet: usize) -> Result<Option<Side>, YearError> {
        let letters = Letters::default();
        let layout = self.laid_out(&letters, paper)?;
        let side = (sheet < layout.sheets).then(|| layout.side(sheet));
        Ok(side.transpose()?)
    }

    /// How many sheets there are; nothing is drawn for it.
    ///
    /// # Errors
    /// As [`Year::sides`].
    pub fn sheets(&self, paper: Paper) -> Result<usize, YearError> {
        let letters = Letters::default();
        Ok(self.laid_out(&letters, paper)?.sheets)
    }

    /// In the largest letters that need no more sheets than the smallest.
    fn laid_out<'a>(&'a self, letters: &'a Letters, paper: Paper) -> Result<Layout<'a>, YearError> {
        let largest = LARGEST_ON_A3 * paper.width_mm / Paper::A3.width_mm;
        let mut best: Option<Layout> = None;
        for scale in SCALES.into_iter().filter(|s| *s <= largest + 1e-9) {
            let layout = Layout::new(self, letters, paper, scale)?;
            let better = |l: &Layout| best.as_ref().is_none_or(|b| l.sheets < b.sheets);
            best = layout.filter(better).or(best);
        }
        best.ok_or_else(|| YearError::NoRoom(self.site.clone()))
    }
}

/// How many sheets hold the rows where each holds so many and the last fewer; how many on each but
/// the last, as alike as can be.
fn dealt(rows: usize, each: usize, last: usize) -> Option<(usize, usize)> {
    if rows <= last {
        return Some((1, rows));
    }
    if each == 0 {
        return None;
    }
    let before = (rows - last).div_ceil(each);
    let sheets = before + 1;
    let alike = rows.div_ceil(sheets);
    Some((sheets, alike.max((rows - last).div_ceil(before)).min(each)))
}

impl<'a> Layout<'a> {
    /// None where such letters leave no room for a row.
    fn new(
        year: &'a Year,
        letters: &'a Letters,
        paper: Paper,
        scale: f64,
    ) -> Result<Option<Self>, ChartError> {
        let small = SMALLEST_POINTS * MM_PER_POINT * scale;
        let inner = paper.width_mm - 2.0 * MARGIN;
        let foot = |last| Foot::of(&year.foot(last), letters, small, inner);
        let mut layout = Layout {
            year,
            letters,
            paper,
            plot: Plot {
                left: MARGIN + names_width(year, letters, small, inner)? + 1.2 * small,
                right: paper.width_mm - MARGIN,
                small,
            },
            top: 0.0,
            feet: [foot(false)?, foot(true)?],
            sheets: 1,
            each: year.rows.len(),
            row: 0.0,
        };
        // the head of one sheet of many is no lower than that of one alone
        layout.sheets = 2;
        layout.top = layout.head(&mut Pen::default(), 0)?;
        let airy = if scale > 1.0 { AIRY } else { 1.0 };
        Ok(layout.with_rows(LEAST * airy * small))
    }

    /// Deals the rows out to sheets.
    fn with_rows(mut self, least: f64) -> Option<Self> {
        let rooms = [0, 1].map(|which| self.room(&self.feet[which]));
        if rooms.iter().any(|room| *room < 0.0) {
            return None;
        }
        let [each, last] = rooms.map(|room| (room / least).floor() as usize);
        let rows = self.year.rows.len();
        (self.sheets, self.each) = dealt(rows, each, last)?;
        let on_last = rows - self.each * (self.sheets - 1);
        let high = |room: f64, rows: usize| room / rows.max(1) as f64;
        let all_but_last = match self.sheets {
            1 => f64::INFINITY,
            _ => high(rooms[0], self.each),
        };
        let highest = HIGHEST * self.plot.small;
        self.row = all_but_last.min(high(rooms[1], on_last)).min(highest);
        Some(self)
    }

    /// What is left for rows, above the months and the foot.
    fn room(&self, foot: &Foot) -> f64 {
        self.paper.height_mm - MARGIN - foot.height() - 3.2 * self.plot.small - self.top
    }

    /// Title, strips and months; gives where the rows begin.
    fn head(&self, pen: &mut Pen, sheet: usize) -> Result<f64, ChartError> {
        let (year, plot, small) = (self.year, &self.plot, self.plot.small);
        let mut y = MARGIN + 2.9 * small;
        let title = Hand::plain(3.6 * small, INK).bold();
        pen.words((MARGIN, y), title, &year.title());
        if self.sheets > 1 {
            let of = format!("Sheet {} of {}", sheet + 1, self.sheets);
            let hand = Hand::plain(1.4 * small, INK).at(pen::Side::End);
            pen.words((plot.right, y), hand, &of);
        }
        y += 0.5 * small;
        if year.own_use {
            y = self.lines(pen, &Block::mark(OWN_USE, ""), 1.6, y)?;
        }
        y = self.lines(pen, &Block::text("", &year.under()), 1.4, y)? + 1.1 * small;
        y = self.strips(pen, y);
        y += 1.5 * small;
        strips::names_of_months(pen, plot, y);
        Ok(y + 0.5 * small)
    }

    /// A text over the whole width in letters so large; gives the foot of its last line.
    fn lines(&self, pen: &mut Pen, block: &Block, size: f64, y: f64) -> Result<f64, ChartError> {
        let size = size * self.plot.small;
        let width = self.plot.right - MARGIN;
        let mut y = y;
        for line in self.letters.lines(block, size, width)? {
            y += 1.3 * size;
            pen.spans((MARGIN, y), Hand::plain(size, INK), &spans(&line));
        }
        Ok(y)
    }

    fn strips(&self, pen: &mut Pen, top: f64) -> f64 {
        let (year, plot, small) = (self.year, &self.plot, self.plot.small);
        let mut y = top;
        if let Some(light) = &year.light {
            let bottom = y + 3.4 * small;
            strips::daylight(pen, light, plot, (y, bottom));
            self.named(
                pen,
                y + 1.4 * small,
                "Daylight",
                "hours from sunrise to sunset",
            );
            y = bottom + 0.6 * small;
        }
        if let Some(found) = &year.found {
            let bottom = y + 5.0 * small;
            strips::found(pen, year, found, plot, (y, bottom));
            let of = words::count_of(year.rows.len(), "species", "species");
            let of = format!("of the {of} drawn");
            self.named(pen, y + 2.6 * small, "Found on one visit", &of);
            y = bottom;
        }
        y
    }

    /// What a strip shows, in the column of names.
    fn named(&self, pen: &mut Pen, y: f64, name: &str, detail: &str) {
        let small = self.plot.small;
        pen.words((MARGIN, y), Hand::plain(1.1 * small, INK).bold(), name);
        let y = y + 1.25 * small;
        pen.words((MARGIN, y), Hand::plain(small, PENCIL), detail);
    }

    fn side(&self, sheet: usize) -> Result<Side, ChartError> {
        let (year, plot) = (self.year, &self.plot);
        let first = sheet * self.each;
        let is_last = sheet + 1 == self.sheets;
        let end = if is_last {
            year.rows.len()
        } else {
            first + self.each
        };
        let rows = &year.rows[first..end];
        let (wide, high) = (self.paper.width_mm, self.paper.height_mm);
        let mut pen = Pen::default();
        pen.block((0.0, 0.0), (wide, high), PAPER);
        self.head(&mut pen, sheet)?;
        let bottom = self.top + self.row * rows.len() as f64;
        strips::ground(&mut pen, year, plot, (self.top, bottom));
        for (place, row) in rows.iter().enumerate() {
            self.row(&mut pen, row, self.top + self.row * place as f64)?;
        }
        strips::names_of_months(&mut pen, plot, bottom + 1.5 * plot.small);
        let foot = &self.feet[usize::from(is_last)];
        foot.draw(&mut pen, (MARGIN, high - MARGIN - foot.height()));
        let text = year.text(rows);
        let label = Label {
            id: "year",
            title: &year.title(),
            text: &text,
        };
        let written = (format!("{wide}mm"), format!("{high}mm"));
        Ok(Side {
            svg: pen.svg((&written.0, &written.1), (wide, high), &label),
            paper: self.paper,
            text,
        })
    }

    fn row(&self, pen: &mut Pen, row: &Row, top: f64) -> Result<(), ChartError> {
        let small = self.plot.small;
        let width = self.plot.left - 1.2 * small - MARGIN;
        // beside the middle of the curve
        let down = top + (self.row - LEAST * small) / 2.0;
        names::write(pen, row, self.letters, (MARGIN, down), (small, width))?;
        row.draw(
            pen,
            &Place {
                plot: &self.plot,
                letters: self.letters,
                watched: &self.year.watched,
                top,
                bottom: top + self.row,
            },
        )
    }
}

fn names_width(year: &Year, letters: &Letters, small: f64, inner: f64) -> Result<f64, ChartError> {
    let mut width = NAMES.1 * small;
    for row in &year.rows {
        width = width.max(names::wanted(row, letters, small)?);
    }
    Ok(width.min(NAMES.0 * inner))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_dealt_out_alike_and_none_is_lost() {
        assert_eq!(dealt(18, 24, 20), Some((1, 18)));
        assert_eq!(dealt(21, 24, 20), Some((2, 11)));
        assert_eq!(dealt(44, 24, 20), Some((2, 24)));
        assert_eq!(dealt(45, 24, 20), Some((3, 15)));
        assert_eq!(dealt(24, 24, 0), Some((2, 24)));
        assert_eq!(dealt(3, 0, 0), None);
        for rows in 1..200 {
            let (sheets, each) = dealt(rows, 24, 20).unwrap();
            let before = each * (sheets - 1);
            assert!(
                each <= 24 && before <= rows && rows - before <= 20,
                "{rows}"
            );
        }
    }
}
