//! One species' strip: scale, band, line, the value on the date, and the label at the line.

use super::draw::{across, runs};
use super::layout::{LABEL_SIZE, LEFT, Layout, RIGHT, SMALL_SIZE, UNITS, WIDTH};
use super::scale::{Scale, tick_label};
use super::sheet::{LABEL, Lettering, SMALL, Sheet, at, disc, long, path, refused};
use super::style::{Dash, INK, LineStyle, Marker, PAPER, PENCIL, RULE};
use super::{ChartError, SetChart, SpeciesCurve, raster};
use crate::words;
use chrono::NaiveDate;
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::HPos;

const LINE_WIDTH: f64 = 2.2;
/// Length of the piece of line in a label, so that the marker sits on a whole dash.
pub(super) const SAMPLE: f64 = 38.0;
const MARKER_RADIUS: f64 = 4.5;

/// A strip with its place on the sheet.
struct Strip<'a> {
    chart: &'a SetChart,
    curve: &'a SpeciesCurve,
    scale: Scale,
    look: LineStyle,
    /// Top and bottom, pixels.
    span: (f64, f64),
}

pub(super) fn draw(
    sheet: &Sheet,
    chart: &SetChart,
    layout: &Layout,
    place: usize,
    scale: Scale,
) -> Result<(), ChartError> {
    let (top, bottom) = layout.curve(place);
    let strip = Strip {
        chart,
        curve: &chart.species[place],
        scale,
        look: LineStyle::of(chart.rank(place)),
        span: (f64::from(top), f64::from(bottom)),
    };
    strip.axis(sheet)?;
    for run in runs(chart, true) {
        strip.band(sheet, run)?;
        strip.line(sheet, run)?;
    }
    strip.value(sheet)?;
    strip.label(sheet, f64::from(layout.label_middle(place)))
}

impl Strip<'_> {
    /// Pixel height of a number of birds; what is above the top is drawn at the top, and the
    /// notes say so.
    fn up(&self, birds: f64) -> f64 {
        let (top, bottom) = self.span;
        bottom - birds.min(self.scale.top) / self.scale.top * (bottom - top)
    }

    fn axis(&self, sheet: &Sheet) -> Result<(), ChartError> {
        let numbers = Lettering {
            across: HPos::Right,
            ..SMALL
        };
        let (left, right) = (f64::from(LEFT), f64::from(WIDTH - RIGHT));
        for (birds, colour, text) in [
            (self.scale.tick, RULE, tick_label(self.scale.tick)),
            (0.0, PENCIL, "0".to_string()),
        ] {
            let y = self.up(birds);
            path(sheet, &[(left, y), (right, y)], colour, 0.8)?;
            numbers.write(sheet, &text, left - 5.0, y)?;
        }
        Ok(())
    }

    /// Points of a run at a height each, at noon; a run of one day from its morning to its
    /// evening.
    fn points(
        &self,
        (first, last): (NaiveDate, NaiveDate),
        height: impl Fn(NaiveDate) -> f64,
    ) -> Vec<(i32, i32)> {
        let point = |day, part| {
            let x = across(self.chart, self.chart.position(day) + part);
            at(x, self.up(height(day)))
        };
        if first == last {
            return vec![point(first, -0.5), point(first, 0.5)];
        }
        let days = first.iter_days().take_while(|d| *d <= last);
        days.map(|day| point(day, 0.0)).collect()
    }

    fn band(&self, sheet: &Sheet, run: (NaiveDate, NaiveDate)) -> Result<(), ChartError> {
        let mut outline = self.points(run, |d| self.curve.interval_on(d).1);
        let mut low = self.points(run, |d| self.curve.interval_on(d).0);
        low.reverse();
        outline.extend(low);
        let fill = self.look.colour.mix(0.17).filled();
        sheet.draw(&Polygon::new(outline, fill)).map_err(refused)
    }

    fn line(&self, sheet: &Sheet, run: (NaiveDate, NaiveDate)) -> Result<(), ChartError> {
        let points = self.points(run, |d| self.curve.on(d));
        stroke(sheet, points, self.look)
    }

    /// The species' marker where its curve meets the date.
    fn value(&self, sheet: &Sheet) -> Result<(), ChartError> {
        let date = self.chart.date;
        if !self.chart.is_watched(date) {
            return Ok(());
        }
        let x = across(self.chart, self.chart.position(date));
        marker(sheet, (x, self.up(self.curve.on(date))), self.look)
    }

    /// A piece of the line with its marker, the name, and the number on the date.
    fn label(&self, sheet: &Sheet, y: f64) -> Result<(), ChartError> {
        let left = f64::from(LEFT);
        let text = left + SAMPLE + 8.0;
        let name_width = raster::text_width(&self.curve.name, LABEL_SIZE, true)?;
        let number = self.number_text(text + name_width)?;
        let number_width = raster::text_width(&number, SMALL_SIZE, false)?;
        // A ground of paper, so that the line of the date does not cross the words.
        let right = text + name_width + 10.0 + number_width;
        let ground = [at(left - 2.0, y - 10.0), at(right + 4.0, y + 10.0)];
        sheet
            .draw(&Rectangle::new(ground, PAPER.filled()))
            .map_err(refused)?;
        stroke(sheet, vec![at(left, y), at(left + SAMPLE, y)], self.look)?;
        marker(sheet, (left + SAMPLE / 2.0, y), self.look)?;
        Lettering {
            colour: self.look.colour,
            ..LABEL
        }
        .write(sheet, &self.curve.name, text, y)?;
        Lettering {
            colour: INK,
            ..SMALL
        }
        .write(sheet, &number, text + name_width + 10.0, y)
    }

    /// The mean on the date, in as many words as fit behind the name.
    fn number_text(&self, name_end: f64) -> Result<String, ChartError> {
        if !self.chart.is_watched(self.chart.date) {
            return Ok(String::new());
        }
        let room = f64::from(WIDTH - RIGHT) - name_end - 10.0;
        let (low, high) = self.curve.interval_on(self.chart.date);
        let mean = words::birds(self.curve.on(self.chart.date));
        let long = match words::birds(high) == mean {
            true => format!("{mean} on the date"),
            false => format!(
                "{mean} on the date ({} to {})",
                words::birds(low),
                words::birds(high)
            ),
        };
        for text in [long, format!("{mean} on the date"), mean] {
            let text = words::plain_spaces(&text);
            if raster::text_width(&text, SMALL_SIZE, false)? <= room {
                return Ok(text);
            }
        }
        Ok(String::new())
    }
}

pub(super) fn stroke(
    sheet: &Sheet,
    points: Vec<(i32, i32)>,
    look: LineStyle,
) -> Result<(), ChartError> {
    let style = look.colour.stroke_width(long(LINE_WIDTH));
    let units = UNITS as u32;
    match look.dash {
        Dash::Solid => sheet.draw(&PathElement::new(points, style)),
        Dash::Broken(dash, gap) => sheet.draw(&DashedPathElement::new(
            points,
            dash * units,
            gap * units,
            style,
        )),
    }
    .map_err(refused)
}

/// A marker with a rim of paper, so that it stands out on any line.
pub(super) fn marker(sheet: &Sheet, (x, y): (f64, f64), look: LineStyle) -> Result<(), ChartError> {
    let r = MARKER_RADIUS;
    let shape = |grow: f64| -> Vec<(i32, i32)> {
        let r = r + grow;
        match look.marker {
            Marker::Square => vec![(-r, -r), (r, -r), (r, r), (-r, r)],
            Marker::Triangle => vec![(0.0, -1.3 * r), (1.2 * r, 0.9 * r), (-1.2 * r, 0.9 * r)],
            Marker::Diamond => vec![
                (0.0, -1.4 * r),
                (1.4 * r, 0.0),
                (0.0, 1.4 * r),
                (-1.4 * r, 0.0),
            ],
            Marker::Disc | Marker::Ring => Vec::new(),
        }
        .into_iter()
        .map(|(dx, dy)| at(x + dx, y + dy))
        .collect()
    };
    match look.marker {
        Marker::Disc | Marker::Ring => {
            disc(sheet, (x, y), r + 1.6, PAPER)?;
            disc(sheet, (x, y), r, look.colour)?;
            let hollow = if look.marker == Marker::Ring {
                r - 1.8
            } else {
                0.0
            };
            disc(sheet, (x, y), hollow, PAPER)
        }
        _ => {
            sheet
                .draw(&Polygon::new(shape(1.6), PAPER.filled()))
                .map_err(refused)?;
            sheet
                .draw(&Polygon::new(shape(0.0), look.colour.filled()))
                .map_err(refused)
        }
    }
}
