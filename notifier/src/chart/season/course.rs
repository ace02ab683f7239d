//! The course of one passage in one season: the long-term curve, the visits, and the curve moved
//! and raised as the season is reckoned to run.

use super::super::layout::{LEFT, LINE, RIGHT, SMALL_SIZE, UNITS, WIDTH, break_lines};
use super::super::scale::{round_below, tick_label};
use super::super::sheet::{
    EDGE, LABEL, Lettering, SMALL, Sheet, at, disc, hatched, on_sheet, path,
};
use super::super::strip::stroke;
use super::super::style::{Dash, INK, LineStyle, PAPER, PENCIL, RULE};
use super::super::{ChartError, Picture, raster, svg};
use crate::words;
use chrono::{Datelike, Duration, NaiveDate};
use plotters::style::RGBColor;
use plotters::style::text_anchor::HPos;

/// Height of the plot.
const PLOT: f64 = 96.0;
/// Months and the legend.
const FOOT: f64 = 50.0;
/// Length of a line in the legend.
const LINE_SAMPLE: f64 = 26.0;
/// Days before and after all that is seen.
const MARGIN_DAYS: i64 = 5;
/// Below this part of its top a curve is as good as nothing.
const NOTHING: f64 = 0.004;
const THIS: RGBColor = RGBColor(0x0f, 0x5f, 0x73);

/// A checked chart.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseChart {
    /// Who and which season.
    pub title: String,
    /// How it runs.
    pub subtitle: String,
    /// First day of the curves.
    pub first: NaiveDate,
    /// Birds on a standard visit in a usual season, a day each.
    pub usual: Vec<f64>,
    /// The same in this season; None where it is not told.
    pub this: Option<Vec<f64>>,
    /// Visits with their birds.
    pub visits: Vec<(NaiveDate, f64)>,
    /// The day up to which visits are looked at.
    pub today: Option<NaiveDate>,
    /// First and last days of those on which nobody looked.
    pub unseen: Vec<(NaiveDate, NaiveDate)>,
}

/// The days and birds that are drawn.
struct Frame {
    first: NaiveDate,
    last: NaiveDate,
    most: f64,
    top: f64,
}

impl Frame {
    fn across(&self, date: NaiveDate) -> f64 {
        let days = |d: NaiveDate| (d - self.first).num_days() as f64;
        let (left, right) = (f64::from(LEFT), f64::from(WIDTH - RIGHT));
        left + (days(date) + 0.5) / (days(self.last) + 1.0) * (right - left)
    }

    fn half_day(&self) -> f64 {
        0.5 * (self.across(self.last) - self.across(self.first))
            / (self.last - self.first).num_days().max(1) as f64
    }

    /// By the square root, so that single birds are seen beside flocks.
    fn up(&self, birds: f64) -> f64 {
        self.top + PLOT - (birds.max(0.0) / self.most).sqrt() * PLOT
    }
}

impl CourseChart {
    /// What the chart shows, for those who do not see it.
    pub fn alt_text(&self) -> String {
        let found = self.visits.iter().filter(|(_, n)| *n > 0.0).count();
        words::plain_spaces(&format!(
            "{}: the long-term curve, {} of this season, found on {found} of them{}{}. {}",
            self.title,
            words::count_of(self.visits.len(), "visit", "visits"),
            match self.this {
                Some(_) => ", and the curve as this season is reckoned to run",
                None => "",
            },
            self.unseen_words(),
            self.subtitle
        ))
    }

    fn unseen_words(&self) -> String {
        let days = |(first, last): &(NaiveDate, NaiveDate)| {
            format!(
                "from {} to {}",
                words::day_month(*first),
                words::day_month(*last)
            )
        };
        let all: Vec<String> = self.unseen.iter().map(days).collect();
        match all.is_empty() {
            true => String::new(),
            false => format!("; nobody looked {}", words::list(&all)),
        }
    }

    fn frame(&self, top: f64) -> Option<Frame> {
        let curves = || std::iter::once(&self.usual).chain(&self.this);
        let highest = curves().flatten().copied().fold(0.0, f64::max);
        let visits = || self.visits.iter().filter(|(_, n)| *n > 0.0);
        let most = visits().map(|(_, n)| *n).fold(highest, f64::max);
        if most <= 0.0 || !most.is_finite() {
            return None;
        }
        let seen =
            |day: &usize| curves().any(|c| c.get(*day).is_some_and(|r| *r > NOTHING * highest));
        let days: Vec<usize> = (0..self.usual.len()).filter(seen).collect();
        let day = |d: &usize| self.first + Duration::days(*d as i64);
        let dates = days.iter().map(day).chain(visits().map(|(d, _)| *d));
        let (first, last) = (dates.clone().min()?, dates.max()?);
        let end = self.first + Duration::days(self.usual.len() as i64 - 1);
        Some(Frame {
            first: (first - Duration::days(MARGIN_DAYS)).max(self.first),
            last: (last + Duration::days(MARGIN_DAYS)).min(end),
            most: 1.05 * most,
            top,
        })
    }

    /// As SVG with title and description.
    ///
    /// # Errors
    /// Nothing to draw, or [`ChartError::Draw`] where the drawing library refuses.
    pub fn svg(&self) -> Result<String, ChartError> {
        self.svg_as("chart")
    }

    /// The same, the ids within it beginning with `id`, for a page of several charts.
    ///
    /// # Errors
    /// As [`CourseChart::svg`].
    pub fn svg_as(&self, id: &str) -> Result<String, ChartError> {
        let title = break_lines(&self.title, LABEL.size, true)?;
        let subtitle = break_lines(&words::plain_spaces(&self.subtitle), SMALL_SIZE, false)?;
        let line = f64::from(LINE);
        let head = EDGE + line * title.len() as f64;
        let top = head + line * subtitle.len() as f64 + 8.0;
        let frame = self.frame(top).ok_or(ChartError::NoSpecies)?;
        let (drawn, size) = on_sheet(top + PLOT + FOOT, |sheet| {
            LABEL.lines(sheet, &title, EDGE + line / 2.0)?;
            SMALL.lines(sheet, &subtitle, head + line / 2.0)?;
            self.not_looked(sheet, &frame)?;
            axes(sheet, &frame)?;
            self.curves(sheet, &frame)?;
            self.counted(sheet, &frame)?;
            self.legend(sheet, top + PLOT + 36.0)
        })?;
        let text = self.alt_text();
        Ok(svg::finish(
            &drawn,
            id,
            size,
            UNITS as u32,
            (&self.title, &text),
        ))
    }

    fn curves(&self, sheet: &Sheet, frame: &Frame) -> Result<(), ChartError> {
        let points = |rates: &[f64]| -> Vec<(i32, i32)> {
            let days = rates.iter().enumerate();
            let dated = days.map(|(i, r)| (self.first + Duration::days(i as i64), r));
            let shown = dated.filter(|(d, _)| (frame.first..=frame.last).contains(d));
            shown
                .map(|(d, r)| at(frame.across(d), frame.up(*r)))
                .collect()
        };
        stroke(sheet, points(&self.usual), look(false))?;
        match &self.this {
            Some(this) => stroke(sheet, points(this), look(true)),
            None => Ok(()),
        }
    }

    /// Days without a visit, hatched as those that are never watched are.
    fn not_looked(&self, sheet: &Sheet, frame: &Frame) -> Result<(), ChartError> {
        let half_day = frame.half_day();
        for (first, last) in &self.unseen {
            let (first, last) = ((*first).max(frame.first), (*last).min(frame.last));
            if first <= last {
                let days = (
                    frame.across(first) - half_day,
                    frame.across(last) + half_day,
                );
                hatched(sheet, days, (frame.top, frame.top + PLOT))?;
            }
        }
        Ok(())
    }

    fn counted(&self, sheet: &Sheet, frame: &Frame) -> Result<(), ChartError> {
        if let Some(today) = self
            .today
            .filter(|d| (frame.first..=frame.last).contains(d))
        {
            let x = frame.across(today);
            path(
                sheet,
                &[(x, frame.top - 2.0), (x, frame.top + PLOT)],
                PENCIL,
                1.2,
            )?;
        }
        let inside = |d: &NaiveDate| (frame.first..=frame.last).contains(d);
        for (date, birds) in self.visits.iter().filter(|(d, _)| inside(d)) {
            let place = (frame.across(*date), frame.up(*birds));
            let found = *birds > 0.0;
            disc(sheet, place, if found { 3.4 } else { 2.6 }, PAPER)?;
            visit(sheet, place, found)?;
        }
        Ok(())
    }

    /// Samples of all that is drawn; words of what is not are left out.
    fn legend(&self, sheet: &Sheet, y: f64) -> Result<(), ChartError> {
        let mut left = f64::from(RIGHT);
        let mut say = |text: &str, sample: f64| -> Result<f64, ChartError> {
            let begin = left;
            SMALL.write(sheet, text, left + sample + 6.0, y)?;
            left += sample + 18.0 + raster::text_width(text, SMALL_SIZE, false)?;
            Ok(begin)
        };
        let line = |x: f64| vec![at(x, y), at(x + LINE_SAMPLE, y)];
        stroke(sheet, line(say("long term", LINE_SAMPLE)?), look(false))?;
        if self.this.is_some() {
            stroke(sheet, line(say("this season", LINE_SAMPLE)?), look(true))?;
        }
        for (text, found) in [("visit", true), ("none found", false)] {
            visit(sheet, (say(text, 6.0)? + 3.0, y), found)?;
        }
        if !self.unseen.is_empty() {
            let x = say("nobody looked", 14.0)?;
            hatched(sheet, (x, x + 14.0), (y - 6.0, y + 6.0))?;
        }
        Ok(())
    }

    /// As PNG, `width` pixels wide.
    ///
    /// # Errors
    /// As [`CourseChart::svg`], and [`ChartError::Raster`].
    pub fn png(&self, width: u32) -> Result<Picture, ChartError> {
        raster::png(&self.svg()?, width)
    }
}

/// A disc, hollow where nothing was found.
fn visit(sheet: &Sheet, place: (f64, f64), found: bool) -> Result<(), ChartError> {
    disc(sheet, place, if found { 2.7 } else { 2.0 }, INK)?;
    match found {
        true => Ok(()),
        false => disc(sheet, place, 1.1, PAPER),
    }
}

/// This season in an unbroken line, the usual one in a broken one.
fn look(this: bool) -> LineStyle {
    LineStyle {
        colour: if this { THIS } else { PENCIL },
        dash: if this {
            Dash::Solid
        } else {
            Dash::Broken(5, 3)
        },
        marker: LineStyle::of(0).marker,
    }
}

fn axes(sheet: &Sheet, frame: &Frame) -> Result<(), ChartError> {
    let number = Lettering {
        across: HPos::Right,
        ..SMALL
    };
    let (left, right) = (f64::from(LEFT), f64::from(WIDTH - RIGHT));
    let tick = round_below(frame.most);
    for (birds, colour) in [(tick, RULE), (0.0, PENCIL)] {
        let y = frame.up(birds);
        path(sheet, &[(left, y), (right, y)], colour, 0.8)?;
        let text = if birds > 0.0 {
            tick_label(birds)
        } else {
            "0".to_owned()
        };
        number.write(sheet, &text, left - 5.0, y)?;
    }
    let middle = Lettering {
        colour: INK,
        across: HPos::Center,
        ..SMALL
    };
    let half_day = frame.half_day();
    let mut day = frame.first;
    while day <= frame.last {
        let month = |d: &NaiveDate| (d.year(), d.month()) == (day.year(), day.month());
        let days = day.iter_days().take_while(|d| *d <= frame.last && month(d));
        let last = days.last().unwrap_or(day);
        let (from, to) = (frame.across(day) - half_day, frame.across(last) + half_day);
        let foot = frame.top + PLOT;
        path(sheet, &[(from, foot), (from, foot + 5.0)], PENCIL, 0.8)?;
        for name in [words::month(day.month()), words::month_short(day.month())] {
            if raster::text_width(name, SMALL_SIZE, false)? + 4.0 <= to - from {
                middle.write(sheet, name, 0.5 * (from + to), foot + 13.0)?;
                break;
            }
        }
        day = last + Duration::days(1);
    }
    Ok(())
}
