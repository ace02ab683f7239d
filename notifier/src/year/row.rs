//! A species' year: its curve with an interval, its windows with their dates.

use super::lane::{Wish, placed};
use super::pen::{self, Hand, INK, MOSS, PENCIL, Pen, RUST, SEA, SLATE};
use super::{Row, Window};
use crate::chart::year_axis::{on_circle, pieces, runs};
use crate::chart::{ChartError, SpeciesCurve};
use crate::handout::Letters;
use crate::words;
use forecast::calendar::{DAYS, DayOfYear, MonthDay};
use forecast::fit::DateEstimate;

/// Room for the dates of peaks above a curve, in sizes of the smallest letters.
const PEAKS: f64 = 1.35;
/// Room for windows and their dates below it, and for the eye before the peaks of the next row.
const BARS: f64 = 2.5;
/// Height of a curve at the least.
const CURVE: f64 = 2.1;
/// Height of a row at the least.
pub(super) const LEAST: f64 = PEAKS + CURVE + BARS;
/// An interval is cut where it runs higher than this many times the highest mean.
const BAND_REACH: f64 = 1.6;
/// Room between words on a line.
const GAP: f64 = 0.7;

/// Where days stand, and how large the smallest letters are, all in the drawing's own units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) small: f64,
}

/// Curves are drawn through every so many days: they are smooth over weeks.
const EVERY: usize = 3;

/// The days of a run that a curve is drawn through, both ends among them, from 0 on.
pub(super) fn drawn((first, last): (f64, f64)) -> Vec<usize> {
    let (first, last) = (first as usize - 1, last as usize - 1);
    let days = (first..last).step_by(EVERY);
    days.chain([last]).collect()
}

impl Plot {
    /// Where the middle of a day stands.
    pub(super) fn across(&self, day: f64) -> f64 {
        self.left + (day - 0.5) / DAYS as f64 * (self.right - self.left)
    }
}

/// A row's place.
pub(super) struct Place<'a> {
    pub(super) plot: &'a Plot,
    pub(super) letters: &'a Letters,
    pub(super) watched: &'a [bool],
    pub(super) top: f64,
    pub(super) bottom: f64,
}

impl Place<'_> {
    fn base(&self) -> f64 {
        self.bottom - BARS * self.plot.small
    }

    /// The middle of the longest run of watched days.
    fn amid_watch(&self) -> f64 {
        let runs = runs(self.watched, true).into_iter();
        let longest = runs.max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
        longest.map_or(DAYS as f64 / 2.0, |(from, to)| f64::midpoint(from, to))
    }

    fn wish(&self, middle: f64, text: String) -> Result<Wish, ChartError> {
        let width = self.letters.width(&text, false)? * self.plot.small;
        Ok(Wish {
            middle,
            width,
            text,
        })
    }

    /// Words side by side, from left to right.
    fn placed(&self, wishes: Vec<Wish>) -> Vec<Wish> {
        let ends = (self.plot.left, self.plot.right);
        placed(wishes, ends, GAP * self.plot.small)
    }

    fn write(&self, pen: &mut Pen, wish: &Wish, y: f64) {
        let hand = Hand::plain(self.plot.small, INK).at(pen::Side::Middle);
        pen.words((wish.middle, y), hand, &wish.text);
    }
}

impl Row {
    /// By the season of its highest day: helps the eye, and says nothing that the days do not.
    fn colour(&self) -> &'static str {
        let day = self.peak.map(|day| f64::from(day.get()));
        match day.map(|day| MonthDay::of_position(day).month) {
            None => PENCIL,
            Some(3..=5) => MOSS,
            Some(6..=8) => SEA,
            Some(9..=11) => RUST,
            Some(_) => SLATE,
        }
    }

    /// Draws it.
    pub(super) fn draw(&self, pen: &mut Pen, place: &Place) -> Result<(), ChartError> {
        let (plot, base) = (place.plot, place.base());
        let top = place.top + PEAKS * plot.small;
        let scale = self.curve.top(place.watched, BAND_REACH);
        let up = |birds: f64| base - birds.min(scale) / scale * (base - top);
        curve(pen, &self.curve, self.colour(), place, up);
        let hair = 0.06 * plot.small;
        pen.line((plot.left, base), (plot.right, base), PENCIL, hair);
        self.peaks(pen, place, up)?;
        self.bars(pen, place)
    }

    /// Each passage's highest day, with its date above its interval.
    fn peaks(
        &self,
        pen: &mut Pen,
        place: &Place,
        up: impl Fn(f64) -> f64,
    ) -> Result<(), ChartError> {
        let (plot, small) = (place.plot, place.plot.small);
        let mut wishes = Vec::new();
        let mut tops = Vec::new();
        for (position, peak) in self.windows.iter().filter_map(Window::peak) {
            let x = plot.across(on_circle(position).min(DAYS as f64 + 0.5));
            let high = up(self.curve.interval[peak.index()].1) - 0.45 * small;
            let disc = (x, up(self.curve.mean[peak.index()]));
            pen.line((x, high), disc, PENCIL, 0.06 * small);
            pen.disc(disc, 0.3 * small, self.colour());
            let date = words::short_day(MonthDay::of_position(position));
            wishes.push(place.wish(x, date)?);
            tops.push((x, high - 0.12 * small));
        }
        tops.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (wish, (_, y)) in place.placed(wishes).iter().zip(tops) {
            place.write(pen, wish, y);
        }
        Ok(())
    }

    /// Windows below the curve, and what is to be said where there is none.
    fn bars(&self, pen: &mut Pen, place: &Place) -> Result<(), ChartError> {
        let (plot, base, small) = (place.plot, place.base(), place.plot.small);
        let bar = |pen: &mut Pen, (from, to): (f64, f64), thick: f64| {
            for (left, right) in pieces(from, to) {
                let (x, wide) = (plot.across(left), plot.across(right) - plot.across(left));
                let y = base + 0.38 * small - thick / 2.0;
                pen.block((x, y), (wide, thick), INK);
            }
        };
        let mut wishes = Vec::new();
        for window in &self.windows {
            if let Some((arrival, departure)) = window.days {
                bar(pen, window.reach(arrival, departure), 0.1 * small);
                bar(pen, (arrival.day, departure.day), 0.36 * small);
            }
            for (middle, words) in window.below() {
                wishes.push(place.wish(plot.across(middle), words)?);
            }
        }
        if let Some(why) = self.without_window() {
            wishes.push(place.wish(plot.across(place.amid_watch()), why)?);
        }
        for wish in place.placed(wishes) {
            place.write(pen, &wish, base + 1.58 * small);
        }
        Ok(())
    }
}

impl Window {
    /// Its highest day, as a position and as a day.
    fn peak(&self) -> Option<(f64, DayOfYear)> {
        let position = self.peak?;
        let day = on_circle(position.round()) as u16;
        Some((position, DayOfYear::try_from(day.min(DAYS as u16)).ok()?))
    }

    /// From the earliest arrival to the latest departure that the intervals allow; an end that the
    /// watch cuts off has none.
    fn reach(&self, arrival: DateEstimate, departure: DateEstimate) -> (f64, f64) {
        let from = match self.begun_before {
            true => arrival.day,
            false => arrival.known.0,
        };
        let to = match self.ends_after {
            true => departure.day,
            false => departure.known.1,
        };
        (from, to)
    }

    /// What stands below its bar, and about which day; below each piece where New Year cuts it.
    fn below(&self) -> Vec<(f64, String)> {
        let Some((arrival, departure)) = self.days else {
            let about = on_circle(self.about).min(DAYS as f64);
            return vec![(about, self.words())];
        };
        let middle = |(from, to): (f64, f64)| f64::midpoint(from, to);
        match pieces(arrival.day, departure.day)[..] {
            [late, early] => {
                let [from, until] = self.words_apart(arrival, departure);
                vec![(middle(late), from), (middle(early), until)]
            }
            [one] => vec![(middle(one), self.words())],
            _ => vec![(self.about, self.words())],
        }
    }
}

/// The long-term curve over its interval, on watched days.
fn curve(
    pen: &mut Pen,
    curve: &SpeciesCurve,
    colour: &str,
    place: &Place,
    up: impl Fn(f64) -> f64,
) {
    let plot = place.plot;
    let at = |day: usize, birds: f64| (plot.across(day as f64 + 1.0), up(birds));
    for run in runs(place.watched, true) {
        let days = drawn(run);
        let high = days.iter().map(|d| at(*d, curve.interval[*d].1));
        let low = days.iter().rev().map(|d| at(*d, curve.interval[*d].0));
        pen.area(&pen::path(high.chain(low)), colour, 0.24);
        let mean = days.iter().map(|d| at(*d, curve.mean[*d]));
        pen.stroke(&pen::path(mean), colour, 0.18 * plot.small);
    }
}
