//! The year for a page: one column, so narrow that a phone shows it in letters that can be read.

use super::names::NAME;
use super::pen::{self, Hand, INK, Label, PENCIL, Pen};
use super::row::{LEAST, Place, Plot};
use super::strips;
use super::{Row, Year};
use crate::chart::ChartError;
use crate::handout::Letters;
use crate::words;

/// Width in pixels, as all charts of pages have.
const WIDTH: f64 = 480.0;
const EDGE: f64 = 6.0;
/// Ten on a phone, which shows the drawing some 340 wide.
const SMALL: f64 = 14.0;
/// Room for a name above its curve, and for the months.
const LINE: f64 = 21.0;
/// Between the months and the first name, which stands right below January.
const BELOW_MONTHS: f64 = 7.0;
/// Species in a part: the months are written above each, and two parts fit on a printed page.
const AT_A_TIME: usize = 4;
/// A curve, its dates and its windows.
const ROW: f64 = LEAST * SMALL * 1.15;

const PLOT: Plot = Plot {
    left: EDGE,
    right: WIDTH - EDGE,
    small: SMALL,
};

impl Year {
    /// The drawing in parts of a few species each, so that paper can be turned between them; ids in
    /// them begin with `id` and their number.
    ///
    /// # Errors
    /// A text that cannot be measured.
    pub fn narrow(&self, id: &str) -> Result<Vec<String>, ChartError> {
        let letters = Letters::default();
        let parts = self.rows.chunks(AT_A_TIME).enumerate();
        let part = |(place, rows)| self.part(&format!("{id}-{place}"), place == 0, rows, &letters);
        parts.map(part).collect()
    }

    fn part(
        &self,
        id: &str,
        is_first: bool,
        rows: &[Row],
        letters: &Letters,
    ) -> Result<String, ChartError> {
        let mut pen = Pen::default();
        let mut y = 0.0;
        if is_first {
            y = self.narrow_strips(&mut pen);
        }
        y += LINE + BELOW_MONTHS;
        strips::names_of_months(&mut pen, &PLOT, y - 5.0 - BELOW_MONTHS);
        for row in rows {
            self.narrow_row(&mut pen, row, letters, y)?;
            y += LINE + ROW;
        }
        let names: Vec<&str> = rows.iter().map(|r| r.curve.name.as_str()).collect();
        let label = Label {
            id,
            title: &format!("{}: {}", self.title(), words::list(&names)),
            text: &self.text(rows),
        };
        let size = (format!("{WIDTH}"), format!("{y:.0}"));
        Ok(pen.svg((&size.0, &size.1), (WIDTH, y), &label))
    }

    fn narrow_strips(&self, pen: &mut Pen) -> f64 {
        let name = Hand::plain(SMALL, INK).bold();
        let mut y = 0.0;
        if let Some(light) = &self.light {
            pen.words((EDGE, y + 14.0), name, "Daylight");
            strips::daylight(pen, light, &PLOT, (y + LINE, y + LINE + 36.0));
            y += LINE + 44.0;
        }
        if let Some(found) = &self.found {
            let of = words::count_of(self.rows.len(), "species", "species");
            let of = format!("Found on one visit, of the {of} drawn");
            pen.words((EDGE, y + 14.0), name, &of);
            strips::found(pen, self, found, &PLOT, (y + LINE, y + LINE + 56.0));
            y += LINE + 60.0;
        }
        y
    }

    fn narrow_row(
        &self,
        pen: &mut Pen,
        row: &Row,
        letters: &Letters,
        y: f64,
    ) -> Result<(), ChartError> {
        let (top, bottom) = (y + LINE, y + LINE + ROW);
        strips::ground(pen, self, &PLOT, (top, bottom));
        let name = Hand::plain(NAME * SMALL, INK).bold();
        pen.words((EDGE, y + 15.0), name, &row.curve.name);
        let scale = Hand::plain(SMALL, PENCIL).at(pen::Side::End);
        pen.words((WIDTH - EDGE, y + 15.0), scale, &row.scale());
        row.draw(
            pen,
            &Place {
                plot: &PLOT,
                letters,
                watched: &self.watched,
                top,
                bottom,
            },
        )
    }
}
