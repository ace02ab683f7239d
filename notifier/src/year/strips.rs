//! What stands above the species: daylight, how many of them a visit finds, the months; and the
//! ground behind all of it.

use super::Year;
use super::pen::{self, Hand, INK, PENCIL, Pen, RULE, RUST, SLATE};
use super::row::{Plot, drawn};
use crate::chart::year_axis::{months, runs};
use crate::words;
use forecast::calendar::DAYS;

/// Hours of daylight by half hours: "17½ h".
fn hours(hours: f64) -> String {
    let halves = (hours * 2.0).round() as u32;
    let half = if halves % 2 == 1 { "½" } else { "" };
    format!("{}{half}{}h", halves / 2, words::TIE)
}

/// Days of the year with a value, the first highest and the first lowest of them.
fn ends(values: &[f64]) -> Option<((f64, f64), (f64, f64))> {
    let days = || values.iter().enumerate().map(|(i, v)| (i as f64 + 1.0, *v));
    let high = days().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let low = days().min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((high, low))
}

/// Daylight as a band that is as wide as the day is long.
pub(super) fn daylight(pen: &mut Pen, light: &[f64], plot: &Plot, (top, bottom): (f64, f64)) {
    let middle = f64::midpoint(top, bottom);
    let half = |hours: f64| hours / 24.0 * (bottom - top) / 2.0;
    let at = |day: usize, side: f64| {
        let x = plot.across(day as f64 + 1.0);
        (x, middle + side * half(light[day]))
    };
    let days = drawn((1.0, DAYS as f64));
    let edge = |side: f64| days.iter().map(move |d| at(*d, side));
    let round = edge(-1.0).chain(days.iter().rev().map(|d| at(*d, 1.0)));
    pen.area(&pen::path(round), RUST, 0.16);
    for side in [-1.0, 1.0] {
        pen.stroke(&pen::path(edge(side)), RUST, 0.08 * plot.small);
    }
    let Some((long, short)) = ends(light) else {
        return;
    };
    for (day, of_day) in [long, short] {
        let (x, side) = beside(plot, day);
        let hand = Hand::plain(plot.small, INK).at(side);
        let y = match half(of_day) >= WITHIN * plot.small {
            true => middle + 0.36 * plot.small,
            // above the band, which is too thin to hold them
            false => middle - half(of_day) - 0.5 * plot.small,
        };
        pen.words((x, y), hand, &hours(of_day));
    }
}

/// Words stand within a band that is wider than this to both sides of its middle, in sizes of their
/// letters: half as high as they are, and some air.
const WITHIN: f64 = 0.75;

/// Where words about a day stand, held between the ends.
fn beside(plot: &Plot, day: f64) -> (f64, pen::Side) {
    let (x, room, gap) = (plot.across(day), 2.0 * plot.small, 0.4 * plot.small);
    match x {
        x if x < plot.left + room => (plot.left + gap, pen::Side::Begin),
        x if x > plot.right - room => (plot.right - gap, pen::Side::End),
        x => (x, pen::Side::Middle),
    }
}

/// How many of the species a standard visit finds.
pub(super) fn found(
    pen: &mut Pen,
    year: &Year,
    found: &[f64],
    plot: &Plot,
    (top, base): (f64, f64),
) {
    let Some(most) = year.most_found() else {
        return;
    };
    ground(pen, year, plot, (top, base));
    let top = top + 1.25 * plot.small;
    let up = |n: f64| base - n / most.1.max(f64::MIN_POSITIVE) * (base - top);
    let at = |day: usize| (plot.across(day as f64 + 1.0), up(found[day]));
    for run in runs(&year.watched, true) {
        let line = || drawn(run).into_iter().map(at);
        let ground = [(run.1, base), (run.0, base)].map(|(day, y)| (plot.across(day), y));
        pen.area(&pen::path(line().chain(ground)), SLATE, 0.2);
        pen.stroke(&pen::path(line()), SLATE, 0.14 * plot.small);
    }
    pen.line(
        (plot.left, base),
        (plot.right, base),
        PENCIL,
        0.06 * plot.small,
    );
    let (x, side) = beside(plot, most.0);
    let hand = Hand::plain(plot.small, INK).at(side);
    pen.words((x, top - 0.4 * plot.small), hand, &words::birds(most.1));
}

/// Names of the months on a line.
pub(super) fn names_of_months(pen: &mut Pen, plot: &Plot, y: f64) {
    let hand = Hand::plain(1.1 * plot.small, INK).bold();
    for (_, middle, name) in months() {
        pen.words((plot.across(middle), y), hand.at(pen::Side::Middle), name);
    }
}

/// What is not watched, and where months begin.
pub(super) fn ground(pen: &mut Pen, year: &Year, plot: &Plot, (top, bottom): (f64, f64)) {
    for (first, last) in runs(&year.watched, false) {
        let (left, right) = (plot.across(first - 0.5), plot.across(last + 0.5));
        pen.hatched((left, top), (right - left, bottom - top), plot.small);
    }
    let begins = months().map(|(begins, ..)| begins);
    for day in begins.chain([DAYS as f64 + 0.5]) {
        let x = plot.across(day);
        pen.line((x, top), (x, bottom), RULE, 0.07 * plot.small);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_told_by_halves() {
        let plain = |h: f64| words::plain_spaces(&hours(h));
        assert_eq!(plain(17.6), "17½ h");
        assert_eq!(plain(6.8), "7 h");
        assert_eq!(plain(0.0), "0 h");
        assert_eq!(plain(24.0), "24 h");
    }

    /// On the day of 7 hours the band is a third as wide as its letters are high.
    #[test]
    fn hours_of_a_short_day_stand_above_its_band() {
        let plot = Plot {
            left: 6.0,
            right: 474.0,
            small: 14.0,
        };
        let day = |d: usize| (d as f64 - 172.0) / DAYS as f64 * std::f64::consts::TAU;
        let light: Vec<f64> = (1..=DAYS).map(|d| 12.0 + 5.0 * day(d).cos()).collect();
        let mut pen = Pen::default();
        daylight(&mut pen, &light, &plot, (0.0, 36.0));
        let label = pen::Label {
            id: "a",
            title: "",
            text: "",
        };
        let svg = pen.svg(("1", "1"), (1.0, 1.0), &label);
        let foot = |hours: &str| -> f64 {
            let (before, _) = svg.split_once(&format!(">{hours}<")).expect("hours");
            let (_, y) = before.rsplit_once(" y=\"").expect("a place");
            y.split('"')
                .next()
                .expect("an end")
                .parse()
                .expect("a number")
        };
        let upper_edge = |hours: f64| 18.0 - hours / 24.0 * 18.0;
        assert!(foot("7\u{a0}h") < upper_edge(7.0), "{svg}");
        let letters = 0.72 * plot.small;
        assert!(foot("17\u{a0}h") - letters > upper_edge(17.0), "{svg}");
    }
}
