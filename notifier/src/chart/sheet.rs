//! The paper that charts are drawn on, and what several of them draw on it: lines of text, lines,
//! discs, and what is hatched since nobody looked.

use super::ChartError;
use super::layout::{LABEL_SIZE, LINE, RIGHT, SMALL_SIZE, TITLE_SIZE, UNITS, WIDTH};
use super::style::{HATCH, INK, PAPER, PENCIL, UNWATCHED};
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::fmt::Display;

/// The sheet that everything is drawn on.
pub(super) type Sheet<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Empty paper above and below, pixels.
pub(super) const EDGE: f64 = 12.0;

pub(super) const TITLE: Lettering = Lettering {
    size: TITLE_SIZE,
    bold: true,
    colour: INK,
    across: HPos::Left,
};
pub(super) const LABEL: Lettering = Lettering {
    size: LABEL_SIZE,
    bold: true,
    colour: INK,
    across: HPos::Left,
};
pub(super) const SMALL: Lettering = Lettering {
    size: SMALL_SIZE,
    bold: false,
    colour: PENCIL,
    across: HPos::Left,
};

/// The drawing library's error as ours.
pub(super) fn refused(error: impl Display) -> ChartError {
    ChartError::Draw(error.to_string())
}

/// Pixels to the drawing's whole units.
pub(super) fn at(x: f64, y: f64) -> (i32, i32) {
    let units = f64::from(UNITS);
    ((x * units).round() as i32, (y * units).round() as i32)
}

/// A length in pixels, in units.
pub(super) fn long(length: f64) -> u32 {
    (length * f64::from(UNITS)).round() as u32
}

/// Words of one size and place.
pub(super) struct Lettering {
    pub size: f64,
    pub bold: bool,
    pub colour: RGBColor,
    pub across: HPos,
}

impl Lettering {
    /// Writes with the text's middle height at `y`.
    pub fn write(&self, sheet: &Sheet, text: &str, x: f64, y: f64) -> Result<(), ChartError> {
        // The SVG backend divides sizes by 1.24.
        let size = self.size * f64::from(UNITS) * 1.24;
        let weight = if self.bold {
            FontStyle::Bold
        } else {
            FontStyle::Normal
        };
        let style = TextStyle::from((super::FAMILY, size, weight))
            .color(&self.colour)
            .pos(Pos::new(self.across, VPos::Center));
        sheet
            .draw(&Text::new(text.to_string(), at(x, y), style))
            .map_err(refused)
    }

    /// Lines of text below each other, the first about a height.
    pub fn lines(&self, sheet: &Sheet, text: &[String], middle: f64) -> Result<(), ChartError> {
        for (i, line) in text.iter().enumerate() {
            let y = middle + f64::from(LINE) * i as f64;
            self.write(sheet, line, f64::from(RIGHT), y)?;
        }
        Ok(())
    }
}

/// Draws on paper of that height, in pixels; gives the drawing and its size.
pub(super) fn on_sheet(
    height: f64,
    draw: impl FnOnce(&Sheet) -> Result<(), ChartError>,
) -> Result<(String, (u32, u32)), ChartError> {
    let size = (WIDTH as u32, height.ceil() as u32);
    let mut drawn = String::new();
    {
        let units = UNITS as u32;
        let backend = SVGBackend::with_string(&mut drawn, (size.0 * units, size.1 * units));
        let sheet = backend.into_drawing_area();
        sheet.fill(&PAPER).map_err(refused)?;
        draw(&sheet)?;
        sheet.present().map_err(refused)?;
    }
    Ok((drawn, size))
}

/// A line through points given in pixels.
pub(super) fn path(
    sheet: &Sheet,
    points: &[(f64, f64)],
    colour: RGBColor,
    width: f64,
) -> Result<(), ChartError> {
    let points: Vec<(i32, i32)> = points.iter().map(|(x, y)| at(*x, *y)).collect();
    sheet
        .draw(&PathElement::new(points, colour.stroke_width(long(width))))
        .map_err(refused)
}

/// A disc in pixels.
pub(super) fn disc(
    sheet: &Sheet,
    (x, y): (f64, f64),
    radius: f64,
    colour: RGBColor,
) -> Result<(), ChartError> {
    sheet
        .draw(&Circle::new(at(x, y), long(radius), colour.filled()))
        .map_err(refused)
}

/// A shaded rectangle with slanting lines 9 pixels apart.
pub(super) fn hatched(
    sheet: &Sheet,
    (left, right): (f64, f64),
    (top, bottom): (f64, f64),
) -> Result<(), ChartError> {
    let ground = Rectangle::new([at(left, top), at(right, bottom)], UNWATCHED.filled());
    sheet.draw(&ground).map_err(refused)?;
    let mut foot = left - (bottom - top) + 9.0;
    while foot < right {
        // The line runs up to the right at 45 degrees from (foot, bottom).
        let start = foot.max(left);
        let end = (foot + bottom - top).min(right);
        if end > start {
            let ends = [
                (start, bottom - (start - foot)),
                (end, bottom - (end - foot)),
            ];
            path(sheet, &ends, HATCH, 0.8)?;
        }
        foot += 9.0;
    }
    Ok(())
}
