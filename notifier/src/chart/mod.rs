//! The curves of a look-alike set as a picture: SVG, and PNG of it.
//!
//! Each species has a strip of its own with its own scale, so that the scarce ones are seen
//! beside the common ones; the strips share the days, and one line through all of them marks
//! the date. Line style, marker and label tell them apart without colour.

mod alt;
mod calibration;
mod draw;
mod error;
mod layout;
mod palette;
mod raster;
mod scale;
mod season;
mod set_year;
mod sheet;
mod strip;
mod style;
mod svg;
#[cfg(test)]
mod tests;
pub(crate) mod year_axis;

pub use calibration::{Calibrated, CalibrationChart, Line};
pub use error::ChartError;
pub(crate) use raster::{BOLD, FAMILY, REGULAR, can_write, text_width, tree, written};
pub use season::{CourseChart, SeasonChart, SeasonRow};
pub(crate) use set_year::{SetYear, YearRow};
pub(crate) use svg::escape;

use chrono::{Datelike, Duration, NaiveDate};
use forecast::calendar::{DAYS, DayOfYear};

/// Width of the PNG in mail, pixels: shown at half that in a column of 640.
pub const MAIL_WIDTH: u32 = 1280;

/// The highest day of a whole curve and the peak of a passage so many days apart at the most are one
/// top: both are read off the same curve, the passage's to a part of a day.
const SAME_TOP_DAYS: f64 = 7.0;

/// The curve of one species at the site.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeciesCurve {
    /// Name shown; the scientific one stands in where the chart's font lacks a letter of it.
    pub name: String,
    /// Scientific name.
    pub scientific: String,
    /// Mean count on a standard visit for each of the 366 days of the year.
    pub mean: Vec<f64>,
    /// 80 % interval of that mean, low and high, for each day.
    pub interval: Vec<(f64, f64)>,
    /// The peaks of its passages, as positions on the circle of the year.
    pub peaks: Vec<f64>,
}

/// A chart as a PNG.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// The file's bytes.
    pub png: Vec<u8>,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// A chart's SVG as a PNG, `width` pixels wide.
///
/// # Errors
/// [`ChartError::Raster`].
pub(crate) fn picture(svg: &str, width: u32) -> Result<Picture, ChartError> {
    raster::png(svg, width)
}

/// A checked chart of one set at one site.
#[derive(Debug, Clone, PartialEq)]
pub struct SetChart {
    title: String,
    site: String,
    date: NaiveDate,
    first: NaiveDate,
    last: NaiveDate,
    watched: Vec<bool>,
    species: Vec<SpeciesCurve>,
    without_curve: Vec<String>,
}

impl SetChart {
    /// The whole calendar year of `date`. `watched` tells for each of the 366 days of the year
    /// whether the site is watched; curves are drawn there only. `without_curve` names members
    /// that have too few records for one.
    ///
    /// # Errors
    /// No species, an array that has not 366 days, or on a watched day a mean or an interval
    /// that is negative, not finite, or the wrong way round.
    pub fn new(
        title: impl Into<String>,
        site: impl Into<String>,
        date: NaiveDate,
        watched: Vec<bool>,
        species: Vec<SpeciesCurve>,
        without_curve: Vec<String>,
    ) -> Result<Self, ChartError> {
        error::check(&watched, &species)?;
        let (first, last) = year_of(date).ok_or(ChartError::Date(date))?;
        Ok(SetChart {
            title: title.into(),
            site: site.into(),
            date,
            first,
            last,
            watched,
            species,
            without_curve,
        })
    }

    /// Only the weeks about the date, so many on either side.
    #[must_use]
    pub fn about_the_date(mut self, weeks: u8) -> Self {
        let reach = Duration::weeks(i64::from(weeks.max(1)));
        self.first = self.date - reach;
        self.last = self.date + reach;
        self
    }

    /// What the chart shows, in a few sentences for those who do not see it.
    pub fn alt_text(&self) -> String {
        alt::text(self)
    }

    /// The chart as SVG with title and description.
    ///
    /// # Errors
    /// [`ChartError::Draw`] where the drawing library refuses.
    pub fn svg(&self) -> Result<String, ChartError> {
        self.svg_as("chart")
    }

    /// The same, the ids within it beginning with `id`, for a page of several charts.
    ///
    /// # Errors
    /// As [`SetChart::svg`].
    pub fn svg_as(&self, id: &str) -> Result<String, ChartError> {
        draw::svg(self, id)
    }

    /// The chart as PNG, `width` pixels wide.
    ///
    /// # Errors
    /// As [`SetChart::svg`], and [`ChartError::Raster`].
    pub fn png(&self, width: u32) -> Result<Picture, ChartError> {
        raster::png(&self.svg()?, width)
    }

    /// Days shown.
    fn days(&self) -> impl Iterator<Item = NaiveDate> + '_ {
        self.first.iter_days().take_while(|d| *d <= self.last)
    }

    /// Place of a species in the order of scientific names, which is the same at every site,
    /// so that it keeps its look.
    fn rank(&self, place: usize) -> usize {
        let own = &self.species[place].scientific;
        let before = |(i, s): &(usize, &SpeciesCurve)| (&s.scientific, *i) < (own, place);
        self.species.iter().enumerate().filter(before).count()
    }

    fn is_watched(&self, date: NaiveDate) -> bool {
        self.watched[DayOfYear::of(date).index()]
    }

    /// Days from the first one shown, at noon.
    fn position(&self, date: NaiveDate) -> f64 {
        (date - self.first).num_days() as f64 + 0.5
    }

    /// Days shown, as the length of the axis.
    fn length(&self) -> f64 {
        (self.last - self.first).num_days() as f64 + 1.0
    }
}

impl SpeciesCurve {
    fn on(&self, date: NaiveDate) -> f64 {
        self.mean[DayOfYear::of(date).index()]
    }

    fn interval_on(&self, date: NaiveDate) -> (f64, f64) {
        self.interval[DayOfYear::of(date).index()]
    }

    /// The watched day of the year with the highest mean, and that mean. Where it is the top of a
    /// passage, the day is the passage's own peak, so that one date is told of it everywhere.
    pub(crate) fn peak(&self, watched: &[bool]) -> Option<(DayOfYear, f64)> {
        let days = (1..=DAYS as u16).filter_map(|d| DayOfYear::try_from(d).ok());
        let (day, birds) = days
            .filter(|d| watched[d.index()])
            .map(|d| (d, self.mean[d.index()]))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some((self.peak_told(day).unwrap_or(day), birds))
    }

    /// The peak of a passage, where one is that near.
    fn peak_told(&self, day: DayOfYear) -> Option<DayOfYear> {
        let apart = |peak: &f64| {
            let days = (peak - f64::from(day.get())).rem_euclid(DAYS as f64);
            days.min(DAYS as f64 - days)
        };
        let near = self.peaks.iter().filter(|p| apart(p) <= SAME_TOP_DAYS);
        let peak = near.min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        let position = year_axis::on_circle(peak.round());
        DayOfYear::try_from(position as u16).ok()
    }

    /// A scale's top: the highest mean of the watched days and a little more, with what lies below
    /// `reach` times that of the interval.
    pub(crate) fn top(&self, watched: &[bool], reach: f64) -> f64 {
        let days = (0..DAYS).filter(|d| watched[*d]);
        let (mean, high) = days.fold((0.0_f64, 0.0_f64), |(m, h), d| {
            (m.max(self.mean[d]), h.max(self.interval[d].1))
        });
        let top = mean.max(high.min(reach * mean));
        if top > 0.0 { 1.05 * top } else { 1.0 }
    }
}

fn year_of(date: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
    let year = date.year();
    let first = NaiveDate::from_ymd_opt(year, 1, 1)?;
    Some((first, NaiveDate::from_ymd_opt(year, 12, 31)?))
}
