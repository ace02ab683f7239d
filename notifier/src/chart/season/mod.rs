//! A season against the other years: all passages of a site at a glance, and the course of one.

mod course;
mod overview;
#[cfg(test)]
mod tests;

pub use course::CourseChart;
pub use overview::{SeasonChart, SeasonRow};

use super::ChartError;
use super::draw::{Lettering, Sheet, at, long, refused};
use super::layout::{LABEL_SIZE, LINE, RIGHT, SMALL_SIZE, TITLE_SIZE, UNITS, WIDTH};
use super::style::{INK, PAPER, PENCIL};
use plotters::prelude::*;
use plotters::style::text_anchor::HPos;

const EDGE: f64 = 12.0;

const TITLE: Lettering = Lettering {
    size: TITLE_SIZE,
    bold: true,
    colour: INK,
    across: HPos::Left,
};
const LABEL: Lettering = Lettering {
    size: LABEL_SIZE,
    bold: true,
    colour: INK,
    across: HPos::Left,
};
const SMALL: Lettering = Lettering {
    size: SMALL_SIZE,
    bold: false,
    colour: PENCIL,
    across: HPos::Left,
};

/// Draws on a sheet of paper of that height, in pixels.
fn on_sheet(
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

/// Lines of text below each other, the first about a height.
fn lines(sheet: &Sheet, text: &[String], middle: f64, look: &Lettering) -> Result<(), ChartError> {
    for (i, line) in text.iter().enumerate() {
        let y = middle + f64::from(LINE) * i as f64;
        look.write(sheet, line, f64::from(RIGHT), y)?;
    }
    Ok(())
}

/// A line through points given in pixels.
fn path(
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
fn disc(
    sheet: &Sheet,
    (x, y): (f64, f64),
    radius: f64,
    colour: RGBColor,
) -> Result<(), ChartError> {
    sheet
        .draw(&Circle::new(at(x, y), long(radius), colour.filled()))
        .map_err(refused)
}
