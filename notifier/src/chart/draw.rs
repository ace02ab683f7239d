//! The whole chart: title, strips, months, the date, notes.

use super::layout::{LEFT, Layout, RIGHT, SMALL_SIZE, UNITS, WIDTH};
use super::scale::Scale;
use super::sheet::{Lettering, SMALL, Sheet, TITLE, at, hatched, long, on_sheet, refused};
use super::style::{INK, PAPER, RULE};
use super::{ChartError, SetChart, alt, raster, strip, svg};
use crate::words;
use chrono::{Datelike, NaiveDate};
use plotters::prelude::*;
use plotters::style::text_anchor::HPos;

/// Up to this many days month names are written in full.
const MONTHS_IN_FULL: f64 = 200.0;

pub(super) fn svg(chart: &SetChart, id: &str) -> Result<String, ChartError> {
    let chart = &writable(chart);
    let scales: Vec<Scale> = chart.species.iter().map(|s| Scale::of(chart, s)).collect();
    let layout = Layout::new(chart, &notes(chart, &scales))?;
    let (drawn, size) = on_sheet(f64::from(layout.height()), |sheet| {
        heading(sheet, &layout)?;
        unwatched(sheet, chart, &layout)?;
        months(sheet, chart, &layout)?;
        date_line(sheet, chart, &layout)?;
        for (place, scale) in scales.iter().enumerate() {
            strip::draw(sheet, chart, &layout, place, *scale)?;
        }
        date_label(sheet, chart, &layout)?;
        small_print(sheet, &layout)
    })?;
    let title = format!("{}, {}", chart.title, chart.site);
    Ok(svg::finish(
        &drawn,
        id,
        size,
        UNITS as u32,
        (&title, &alt::text(chart)),
    ))
}

/// Scientific names for those that the fonts cannot write.
fn writable(chart: &SetChart) -> SetChart {
    let mut chart = chart.clone();
    for species in &mut chart.species {
        if !raster::can_write(&species.name) {
            species.name = species.scientific.clone();
        }
    }
    chart
}

/// Where a position of the day axis stands, pixels.
pub(super) fn across(chart: &SetChart, position: f64) -> f64 {
    f64::from(LEFT) + position / chart.length() * f64::from(Layout::plot_width())
}

fn notes(chart: &SetChart, scales: &[Scale]) -> Vec<String> {
    let mut notes = vec!["Band: 80 % interval of the long-term curve.".to_string()];
    if scales.iter().any(|s| s.band_cut) {
        notes.push("A band that meets the top of its strip goes on above it.".to_string());
    }
    if chart.days().any(|d| !chart.is_watched(d)) {
        notes.push("Hatched: days of the year on which the site is not watched.".to_string());
    }
    if !chart.without_curve.is_empty() {
        notes.push(words::plain_spaces(&alt::no_curve(chart)));
    }
    notes
}

fn heading(sheet: &Sheet, layout: &Layout) -> Result<(), ChartError> {
    for (i, line) in layout.title.iter().enumerate() {
        TITLE.write(
            sheet,
            line,
            f64::from(RIGHT),
            f64::from(layout.title_line(i)),
        )?;
    }
    for (i, line) in layout.subtitle.iter().enumerate() {
        SMALL.write(
            sheet,
            line,
            f64::from(RIGHT),
            f64::from(layout.subtitle_line(i)),
        )?;
    }
    Ok(())
}

fn small_print(sheet: &Sheet, layout: &Layout) -> Result<(), ChartError> {
    for (i, line) in layout.notes.iter().enumerate() {
        SMALL.write(
            sheet,
            line,
            f64::from(RIGHT),
            f64::from(layout.note_line(i)),
        )?;
    }
    Ok(())
}

/// Stretches of the shown days, watched or not: first and last day.
pub(super) fn runs(chart: &SetChart, watched: bool) -> Vec<(NaiveDate, NaiveDate)> {
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in chart.days().filter(|d| chart.is_watched(*d) == watched) {
        match runs.last_mut() {
            Some((_, last)) if last.succ_opt() == Some(day) => *last = day,
            _ => runs.push((day, day)),
        }
    }
    runs
}

fn unwatched(sheet: &Sheet, chart: &SetChart, layout: &Layout) -> Result<(), ChartError> {
    for (first, last) in runs(chart, false) {
        let left = across(chart, chart.position(first) - 0.5);
        let right = across(chart, chart.position(last) + 0.5);
        for strip in 0..chart.species.len() {
            let (top, bottom) = layout.curve(strip);
            hatched(sheet, (left, right), (f64::from(top), f64::from(bottom)))?;
        }
    }
    Ok(())
}

fn months(sheet: &Sheet, chart: &SetChart, layout: &Layout) -> Result<(), ChartError> {
    let bottom = f64::from(layout.axis());
    let mut start = chart.first;
    while start <= chart.last {
        let last = last_of_month(start).min(chart.last);
        let left = across(chart, chart.position(start) - 0.5);
        let right = across(chart, chart.position(last) + 0.5);
        month_line(sheet, chart, layout, left)?;
        month_label(sheet, chart, start, (left, right), bottom + 14.0)?;
        match last.succ_opt() {
            Some(next) => start = next,
            None => break,
        }
    }
    Ok(())
}

/// Where a month begins, through every strip's curve and a little below the last.
fn month_line(sheet: &Sheet, chart: &SetChart, layout: &Layout, x: f64) -> Result<(), ChartError> {
    for strip in 0..chart.species.len() {
        let (top, bottom) = layout.curve(strip);
        let below = if strip + 1 == chart.species.len() {
            5.0
        } else {
            0.0
        };
        let line = vec![at(x, f64::from(top)), at(x, f64::from(bottom) + below)];
        sheet
            .draw(&PathElement::new(line, RULE.stroke_width(long(0.8))))
            .map_err(refused)?;
    }
    Ok(())
}

/// The month's name, in three letters where a whole year is shown, left out where a part of
/// the month is too narrow for it.
fn month_label(
    sheet: &Sheet,
    chart: &SetChart,
    day: NaiveDate,
    (left, right): (f64, f64),
    y: f64,
) -> Result<(), ChartError> {
    let name = match chart.length() > MONTHS_IN_FULL {
        true => words::month_short(day.month()),
        false => words::month(day.month()),
    };
    if raster::text_width(name, SMALL_SIZE, false)? + 4.0 > right - left {
        return Ok(());
    }
    Lettering {
        size: SMALL_SIZE,
        bold: false,
        colour: INK,
        across: HPos::Center,
    }
    .write(sheet, name, (left + right) / 2.0, y)
}

fn last_of_month(day: NaiveDate) -> NaiveDate {
    let next = day
        .with_day(1)
        .and_then(|d| d.checked_add_months(chrono::Months::new(1)));
    next.and_then(|d| d.pred_opt()).unwrap_or(NaiveDate::MAX)
}

fn date_line(sheet: &Sheet, chart: &SetChart, layout: &Layout) -> Result<(), ChartError> {
    let x = across(chart, chart.position(chart.date));
    let (top, bottom) = (f64::from(layout.strips_top()), f64::from(layout.axis()));
    let line = vec![at(x, top - 4.0), at(x, bottom + 5.0)];
    sheet
        .draw(&PathElement::new(line, INK.stroke_width(long(1.4))))
        .map_err(refused)
}

/// The date on a dark tag above its line, kept on the sheet.
fn date_label(sheet: &Sheet, chart: &SetChart, layout: &Layout) -> Result<(), ChartError> {
    let text = words::plain_spaces(&words::day_month(chart.date));
    let half = raster::text_width(&text, SMALL_SIZE, true)? / 2.0 + 7.0;
    let edges = (f64::from(RIGHT) + half, f64::from(WIDTH - RIGHT) - half);
    let x = across(chart, chart.position(chart.date))
        .max(edges.0)
        .min(edges.1);
    let top = f64::from(layout.date_row());
    let corners = [at(x - half, top), at(x + half, top + 20.0)];
    sheet
        .draw(&Rectangle::new(corners, INK.filled()))
        .map_err(refused)?;
    Lettering {
        size: SMALL_SIZE,
        bold: true,
        colour: PAPER,
        across: HPos::Center,
    }
    .write(sheet, &text, x, top + 10.0)
}
