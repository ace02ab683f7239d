//! The picture of a species at a site: its long-term curve with an interval, past seasons faint,
//! this season's visits as points, its windows as bars.

use super::plot::{self, Month, across, path, round_up, runs, tenth};
use crate::findings::passage;
use crate::guidance::SiteView;
use crate::words;
use chrono::{Datelike, NaiveDate};
use forecast::calendar::{DAYS, DayOfYear};
use forecast::fit::{Passage, SpeciesFit};
use forecast::series::{Count, Visit};
use forecast::year_curve::YearCurve;
use serde::Serialize;

/// Top and bottom of the plot, and the room for a window below it.
const TOP: f64 = 14.0;
const BOTTOM: f64 = 194.0;
const BAR: f64 = 22.0;
/// Past seasons drawn: those that people remember.
const SEASONS: usize = 12;

/// The picture.
#[derive(Debug, Serialize)]
pub(super) struct SeasonView {
    title: String,
    text: String,
    height: f64,
    bottom: f64,
    months: Vec<Month>,
    /// Height and words of the scale's lines.
    scale: Vec<(f64, String)>,
    /// Left edge and width of what is not watched.
    unwatched: Vec<(f64, f64)>,
    band: Vec<String>,
    past: Vec<String>,
    curve: Vec<String>,
    points: Vec<Point>,
    today: f64,
    windows: Vec<Window>,
    notes: Vec<String>,
}

/// A visit of this season.
#[derive(Debug, Serialize)]
struct Point {
    x: f64,
    y: f64,
    /// "found", "none", or "above" where it goes beyond the scale.
    kind: &'static str,
}

/// A passage's days under the plot.
#[derive(Debug, Serialize)]
struct Window {
    y: f64,
    /// Pieces of the bar, two where it goes over New Year.
    bars: Vec<(f64, f64)>,
    median: Option<f64>,
    name: String,
}

/// What a picture is drawn from.
pub(super) struct Season<'a> {
    pub(super) view: &'a SiteView<'a>,
    pub(super) species: &'a str,
    pub(super) fit: &'a SpeciesFit,
    pub(super) curve: &'a YearCurve,
    pub(super) date: NaiveDate,
}

impl Season<'_> {
    /// Draws it.
    pub(super) fn drawn(&self) -> SeasonView {
        let top = self.top();
        let points: Vec<Point> = self
            .visits()
            .map(|(v, birds)| point(v, birds, top))
            .collect();
        let windows = self.windows();
        let above = points.iter().filter(|p| p.kind == "above").count();
        let name = self.view.shown_name(self.species);
        SeasonView {
            title: format!("{name} at {}", self.view.site.name),
            text: self.words(),
            height: BOTTOM + 26.0 + BAR * windows.len() as f64 + 4.0,
            bottom: BOTTOM,
            months: plot::months(),
            scale: [0.0, 0.5, 1.0]
                .map(|part| (up(part * top, top), scale_words(part * top)))
                .to_vec(),
            unwatched: self.unwatched(),
            band: self.watched_runs(|run| self.band(run, top)),
            past: self.past(top),
            curve: self.watched_runs(|run| self.line(run, top)),
            points,
            today: across(f64::from(DayOfYear::of(self.date).get())),
            windows,
            notes: notes(above, top),
        }
    }

    /// The scale holds the curve's band and most of this season's visits; a flock beyond it would
    /// flatten all else.
    fn top(&self) -> f64 {
        let days = (0..DAYS).filter(|i| self.view.watched.days()[*i]);
        let band = days.map(|i| self.interval(i).1).fold(0.0, f64::max);
        let mean = self
            .curve
            .log_mean
            .iter()
            .copied()
            .fold(f64::MIN, f64::max)
            .exp();
        let mut seen: Vec<f64> = self.visits().map(|(_, birds)| birds).collect();
        seen.sort_by(f64::total_cmp);
        let most = seen.get((seen.len() * 9) / 10).copied().unwrap_or(0.0);
        round_up(
            band.min(4.0 * mean)
                .max(1.2 * mean)
                .max(most.min(4.0 * mean)),
        )
    }

    fn interval(&self, index: usize) -> (f64, f64) {
        self.curve.interval_of_80(index)
    }

    /// "0.4 to 1.2" on a day.
    pub(super) fn interval_words(&self, day: DayOfYear) -> String {
        let (low, high) = self.interval(day.index());
        format!("{} to {}", words::birds(low), words::birds(high))
    }

    fn watched_runs(&self, draw: impl Fn((u16, u16)) -> String) -> Vec<String> {
        let runs = runs(|day| self.view.watched.on(day)).into_iter();
        runs.map(draw).collect()
    }

    fn unwatched(&self) -> Vec<(f64, f64)> {
        let runs = runs(|day| !self.view.watched.on(day)).into_iter();
        runs.map(|run| piece((f64::from(run.0), f64::from(run.1))))
            .collect()
    }

    fn line(&self, (first, last): (u16, u16), top: f64) -> String {
        let at = |day: u16| {
            let mean = self.curve.log_mean[usize::from(day) - 1].exp();
            (across(f64::from(day)), up(mean, top))
        };
        path((first..=last).map(at))
    }

    fn band(&self, (first, last): (u16, u16), top: f64) -> String {
        let edge = |day: u16| self.interval(usize::from(day) - 1);
        let upper = (first..=last).map(|d| (across(f64::from(d)), up(edge(d).1, top)));
        let lower = (first..=last).rev();
        let lower = lower.map(|d| (across(f64::from(d)), up(edge(d).0, top)));
        path(upper.chain(lower)) + "Z"
    }

    /// Each of the last seasons as the fits have it: the curve at that year's level, each passage
    /// as early or late as it then ran.
    fn past(&self, top: f64) -> Vec<String> {
        let before = self.curve.year_effects.iter();
        let before: Vec<_> = before.filter(|(y, _)| *y < self.date.year()).collect();
        let last = before.len().saturating_sub(SEASONS);
        let mut lines = Vec::new();
        for (year, effect) in &before[last..] {
            let at = |day: u16| {
                let late = self.late(*year, day);
                let log_mean = on_circle(&self.curve.log_mean, f64::from(day) - late);
                (
                    across(f64::from(day)),
                    above((log_mean + effect).exp(), top),
                )
            };
            lines.extend(self.watched_runs(|(a, b)| path((a..=b).step_by(2).map(at))));
        }
        lines
    }

    fn late(&self, year: i32, day: u16) -> f64 {
        let now = self.fit.passages.iter().find(|p| holds(p, day));
        let shift = now.and_then(|p| p.shifts.iter().find(|s| s.year() == year));
        shift.map_or(0.0, |s| s.shift_days())
    }

    /// This season's visits that tell something, with birds for a standard effort.
    fn visits(&self) -> impl Iterator<Item = (&Visit, f64)> {
        let (year, date) = (self.date.year(), self.date);
        let known = self.view.series_of(self.species).known();
        known
            .filter(move |(v, _)| v.year() == year && v.date <= date)
            .map(|(v, count)| (v, birds(v, count)))
    }

    fn windows(&self) -> Vec<Window> {
        let passages = crate::windows::in_order(&self.fit.passages).into_iter();
        let dated = passages.filter_map(|p| Some((p, p.arrival?, p.departure?)));
        let window = |(row, (p, from, to)): (usize, (&Passage, _, _))| {
            let (from, to): (forecast::fit::DateEstimate, forecast::fit::DateEstimate) = (from, to);
            Window {
                y: tenth(BOTTOM + 26.0 + BAR * row as f64),
                bars: bars(from.day, to.day),
                median: p.median.map(|m| across(wrapped(m.day))),
                name: words::sentence(passage(p.name)),
            }
        };
        dated.enumerate().map(window).collect()
    }

    fn words(&self) -> String {
        let days = (1..=DAYS as u16).filter_map(|d| DayOfYear::try_from(d).ok());
        let days = days.filter(|d| self.view.watched.on(*d));
        let peak = days.max_by(|a, b| self.curve.mean(*a).total_cmp(&self.curve.mean(*b)));
        let highest = peak.and_then(|day| {
            let date = words::day_month(day.in_year(self.date.year())?);
            let birds = words::birds(self.curve.mean(day));
            Some(format!(" It is highest, {birds}, about {date}."))
        });
        let (visits, found) = self.visits().fold((0, 0), |(all, found), (_, birds)| {
            (all + 1, found + usize::from(birds > 0.0))
        });
        let year = self.date.year();
        let of_finds = match self.view.curve_of_finds(self.species) {
            true => format!(" {}", words::CURVE_OF_FINDS),
            false => String::new(),
        };
        words::plain_spaces(&format!(
            "Birds expected on a standard visit through the year, with an 80 % interval.{of_finds}{} Of {} of \
             {year} so far, {found} found it. The tables below have the same numbers.",
            highest.unwrap_or_default(),
            words::count_of(visits, "visit", "visits"),
        ))
    }
}

/// Birds for a standard effort.
pub(super) fn birds(visit: &Visit, count: Count) -> f64 {
    f64::from(count.birds()) / visit.log_effort_ratio.exp()
}

fn holds(p: &Passage, day: u16) -> bool {
    match p.stretch {
        (first, last) if first <= last => (first..=last).contains(&day),
        (first, last) => day >= first || day <= last,
    }
}

/// Between the values of two days, the year going round.
fn on_circle(values: &[f64], day: f64) -> f64 {
    let place = (day - 1.0).rem_euclid(DAYS as f64);
    let before = place.floor() as usize % DAYS;
    let part = place - place.floor();
    values[before] * (1.0 - part) + values[(before + 1) % DAYS] * part
}

/// Pixel height of a number of birds, what is above the scale at its top.
fn up(birds: f64, top: f64) -> f64 {
    above(birds.min(top), top)
}

/// The same, going on above the scale, where the picture cuts it off.
fn above(birds: f64, top: f64) -> f64 {
    tenth(BOTTOM - birds / top * (BOTTOM - TOP))
}

fn point(visit: &Visit, birds: f64, top: f64) -> Point {
    Point {
        x: across(f64::from(visit.day().get())),
        y: up(birds, top),
        kind: match birds {
            b if b > top => "above",
            b if b > 0.0 => "found",
            _ => "none",
        },
    }
}

/// A day on the circle of the year.
fn wrapped(day: f64) -> f64 {
    (day - 1.0).rem_euclid(DAYS as f64) + 1.0
}

fn bars(from: f64, to: f64) -> Vec<(f64, f64)> {
    let (from, to) = (wrapped(from), wrapped(to));
    match from <= to {
        true => vec![piece((from, to))],
        false => vec![piece((from, DAYS as f64)), piece((1.0, to))],
    }
}

/// Left edge and width of some days.
fn piece((first, last): (f64, f64)) -> (f64, f64) {
    let left = across(first - 0.5);
    (left, tenth(across(last + 0.5) - left))
}

fn scale_words(birds: f64) -> String {
    match birds {
        0.0 => "0".to_owned(),
        _ => words::birds(birds),
    }
}

fn notes(above: usize, top: f64) -> Vec<String> {
    let mut notes = vec![
        "Line: the long-term curve. Band: its 80 % interval. Faint lines: past seasons as they are \
         fitted."
            .to_owned(),
        "Discs: this season's visits that found it, for a standard effort. Rings: those that did \
         not. Bars: from arrival to departure, with a notch at the median."
            .to_owned(),
    ];
    if above > 0 {
        let visits = words::count_of(above, "visit", "visits");
        let top = words::birds(top);
        notes.push(format!("Triangles: {visits} with more than {top} birds."));
    }
    notes
}
