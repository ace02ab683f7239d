//! How far forecasts can be trusted: for each site a reliability diagram of the chances and the
//! histogram of the probability integral transform of the counts, ours against both
//! climatologies. Dash and marker tell the three apart without colour.

mod plots;
#[cfg(test)]
mod tests;

use super::layout::{LINE, RIGHT, SMALL_SIZE, TITLE_SIZE, UNITS, break_lines};
use super::sheet::{EDGE, Lettering, SMALL, Sheet, TITLE, at, on_sheet};
use super::strip::{SAMPLE, marker, stroke};
use super::style::{INK, LineStyle};
use super::{ChartError, Picture, raster, svg};
use crate::words;

/// Bins with fewer weeks are left out: their frequency is mostly chance.
const FEWEST_WEEKS: usize = 10;

/// Both plots are squares of this side.
const SIDE: f64 = 186.0;
/// From the title's last line to the legend, and on to the first site.
const LEGEND: f64 = 26.0;
/// A site's name, and the titles of its plots.
const HEADING: f64 = 52.0;
/// The numbers below a plot, and the room to the next site.
const FOOT: f64 = 38.0;

const NAMES: [&str; 3] = ["ours", "hand climatology", "last five years"];

/// One forecast's line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Mean chance, frequency (both 0..=1), and weeks of every bin of chances that has any.
    pub reliability: Vec<(f64, f64, usize)>,
    /// Mean |chance - frequency|.
    pub calibration_error: f64,
    /// Part of the counts in each bin of the transform, summing to 1.
    pub pit: Vec<f64>,
}

/// One site's plots.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibrated {
    /// Name shown.
    pub site: String,
    /// Ours, the hand climatology, that of the last five years.
    pub lines: [Line; 3],
}

/// A checked chart.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationChart {
    years: String,
    sites: Vec<Calibrated>,
}

impl CalibrationChart {
    /// Of a stretch of years, named as it shall read.
    ///
    /// # Errors
    /// No site, or a number that is no part of 1.
    pub fn new(years: impl Into<String>, sites: Vec<Calibrated>) -> Result<Self, ChartError> {
        if sites.is_empty() {
            return Err(ChartError::NoSite);
        }
        for site in &sites {
            let lines = site.lines.iter();
            let parts = lines.flat_map(|l| {
                l.reliability
                    .iter()
                    .flat_map(|p| [p.0, p.1])
                    .chain(l.pit.iter().copied())
            });
            let mut parts = parts.chain(site.lines.iter().map(|l| l.calibration_error));
            if let Some(value) = parts.find(|v| !(0.0..=1.0 + 1e-9).contains(v)) {
                return Err(ChartError::NoPart {
                    site: site.site.clone(),
                    value,
                });
            }
        }
        Ok(CalibrationChart {
            years: years.into(),
            sites,
        })
    }

    /// What the chart shows, in a few sentences for those who do not see it.
    pub fn alt_text(&self) -> String {
        let opening = format!(
            "{}: for each site, how often a species was found against the chance that was given, and \
             where counts fell in their forecast distribution.",
            self.title()
        );
        let sentences = self.sites.iter().map(in_words);
        words::plain_spaces(
            &[opening]
                .into_iter()
                .chain(sentences)
                .collect::<Vec<_>>()
                .join(" "),
        )
    }

    fn title(&self) -> String {
        format!("How far the forecasts can be trusted, {}", self.years)
    }

    /// The chart as SVG with title and description.
    ///
    /// # Errors
    /// [`ChartError::Draw`] where the drawing library refuses.
    pub fn svg(&self) -> Result<String, ChartError> {
        let title = break_lines(&self.title(), TITLE_SIZE, true)?;
        let notes = break_lines(
            &format!(
                "Left: on the slanting line chances are right; bins of fewer than {FEWEST_WEEKS} weeks are \
                 left out. Right: part of the counts in each tenth of their forecast distribution, low \
                 to high; on the level line, 10 % each, forecasts are right."
            ),
            SMALL_SIZE,
            false,
        )?;
        let line = f64::from(LINE);
        let top = EDGE + line * title.len() as f64 + LEGEND;
        let each = HEADING + SIDE + FOOT;
        let foot = top + each * self.sites.len() as f64;
        let height = foot + line * notes.len() as f64 + EDGE;
        let (drawn, size) = on_sheet(height, |sheet| {
            TITLE.lines(sheet, &title, EDGE + line / 2.0)?;
            legend(sheet, top - LEGEND / 2.0)?;
            for (i, site) in self.sites.iter().enumerate() {
                plots::draw(sheet, site, top + each * i as f64)?;
            }
            SMALL.lines(sheet, &notes, foot + line / 2.0)
        })?;
        Ok(svg::finish(
            &drawn,
            "chart",
            size,
            UNITS as u32,
            (&self.title(), &self.alt_text()),
        ))
    }

    /// The chart as PNG, `width` pixels wide.
    ///
    /// # Errors
    /// As [`CalibrationChart::svg`], and [`ChartError::Raster`].
    pub fn png(&self, width: u32) -> Result<Picture, ChartError> {
        raster::png(&self.svg()?, width)
    }
}

fn in_words(site: &Calibrated) -> String {
    let each = |of: fn(&Line) -> f64| {
        let said = site
            .lines
            .iter()
            .zip(NAMES)
            .map(|(l, name)| format!("{name} {:.1}", 100.0 * of(l)));
        words::list(&said.collect::<Vec<_>>())
    };
    format!(
        "{}: chances lie off the frequencies by so many percentage points on average: {}. Percent of the \
         counts in the highest tenth of their distribution: {}.",
        site.site,
        each(|l| l.calibration_error),
        each(|l| l.pit.last().copied().unwrap_or(0.0)),
    )
}

fn legend(sheet: &Sheet, y: f64) -> Result<(), ChartError> {
    let mut left = f64::from(RIGHT);
    for (i, name) in NAMES.iter().enumerate() {
        stroke(
            sheet,
            vec![at(left, y), at(left + SAMPLE, y)],
            LineStyle::of(i),
        )?;
        marker(sheet, (left + SAMPLE / 2.0, y), LineStyle::of(i))?;
        Lettering {
            colour: INK,
            ..SMALL
        }
        .write(sheet, name, left + SAMPLE + 6.0, y)?;
        left += SAMPLE + 24.0 + raster::text_width(name, SMALL_SIZE, false)?;
    }
    Ok(())
}
