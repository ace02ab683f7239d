//! Days per degree: the link in one number, refitted without penalty on one window.

use super::windows::{Column, Measure, Window};
use crate::season_shift::{SeasonShift, weights, weights_about_mean};
use crate::straight_line::{Line, LineError, Point};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// The interval of the slope holds it with this probability.
pub const CONFIDENCE: f64 = 0.95;

/// How timing follows the mean temperature of a window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Slope {
    /// The window that fits best.
    pub window: Window,
    /// Weighted line of the seasons' shifts on its mean temperature: days late per deg C.
    pub line: Line,
    /// 95 % interval of the days per deg C. Windows that fit nearly as well have their say in
    /// it: which one the birds go by isn't known.
    pub interval: (f64, f64),
    /// The same slope beside a straight change over the years: where it is far from the line's,
    /// link and long-term change can't be told apart. None where the years explain all.
    pub beside_trend: Option<f64>,
}

/// A window's line and how much it is believed.
struct Reading {
    window: Window,
    column: usize,
    line: Line,
}

/// `x` has a row a season and a column each of `columns`.
pub(super) fn slope(
    x: &DMatrix<f64>,
    columns: &[Column],
    seasons: &[SeasonShift],
) -> Result<Slope, LineError> {
    // first with what scatters about the mean, then with what scatters about the best line
    let rough = best(readings(x, columns, seasons, &weights_about_mean(seasons)))?.0;
    let refined = weights(seasons, seasons.len() as f64 - 2.0, |w| {
        line(x, rough.column, seasons, w).map_or_else(|_| vec![0.0; w.len()], |l| l.residuals)
    });
    let (chosen, others) = best(readings(x, columns, seasons, &refined))?;
    let interval = interval(&chosen, &others);
    let beside_trend = beside_trend(x, chosen.column, seasons, &refined);
    Ok(Slope {
        window: chosen.window,
        line: chosen.line,
        interval,
        beside_trend,
    })
}

fn points<'a>(
    x: impl Iterator<Item = f64> + 'a,
    y: impl Iterator<Item = f64> + 'a,
    weights: &'a [f64],
) -> Vec<Point> {
    x.zip(y)
        .zip(weights)
        .map(|((x, y), weight)| Point {
            x,
            y,
            weight: *weight,
        })
        .collect()
}

fn line(
    x: &DMatrix<f64>,
    column: usize,
    seasons: &[SeasonShift],
    weights: &[f64],
) -> Result<Line, LineError> {
    let values = x.column(column);
    let shifts = seasons.iter().map(|s| s.shift_days());
    Line::fit(&points(values.iter().copied(), shifts, weights))
}

fn readings(
    x: &DMatrix<f64>,
    columns: &[Column],
    seasons: &[SeasonShift],
    weights: &[f64],
) -> Vec<Result<Reading, LineError>> {
    let means = columns
        .iter()
        .enumerate()
        .filter(|(_, c)| c.measure == Measure::Mean);
    let read = |(column, c): (usize, &Column)| {
        let line = line(x, column, seasons, weights)?;
        Ok(Reading {
            window: c.window,
            column,
            line,
        })
    };
    means.map(read).collect()
}

/// The line that leaves least scatter, and the others; the last error where there is no line.
fn best(readings: Vec<Result<Reading, LineError>>) -> Result<(Reading, Vec<Reading>), LineError> {
    let mut error = LineError::NoSpread;
    let mut lines: Vec<Reading> = readings
        .into_iter()
        .filter_map(|r| r.map_err(|e| error = e).ok())
        .collect();
    lines.sort_by(|a, b| a.line.residual_sd.total_cmp(&b.line.residual_sd));
    let mut lines = lines.into_iter();
    let first = lines.next().ok_or(error)?;
    Ok((first, lines.collect()))
}

/// Central interval of the windows' posteriors of the slope, mixed by how well each window
/// explains the shifts: residual squares to the power -n/2, the marginal likelihood of lines
/// under the same reference prior (model averaging: Hoeting et al. 1999,
/// Stat. Sci. 14:382-401).
fn interval(chosen: &Reading, others: &[Reading]) -> (f64, f64) {
    if others.is_empty() {
        return chosen.line.slope_interval(CONFIDENCE);
    }
    let n = chosen.line.points as f64;
    let lines = || std::iter::once(chosen).chain(others).map(|r| &r.line);
    let weight = |l: &Line| (l.residual_sd / chosen.line.residual_sd).powf(-n);
    let total: f64 = lines().map(weight).sum();
    let below = |slope: f64| -> f64 {
        let one = |l: &Line| {
            let student = StudentsT::new(l.slope, l.slope_se, n - 2.0);
            weight(l) * student.map_or(0.5, |t| t.cdf(slope))
        };
        lines().map(one).sum::<f64>() / total
    };
    let widest = |of: fn((f64, f64)) -> f64, pick: fn(f64, f64) -> f64, from: f64| {
        lines()
            .map(|l| of(l.slope_interval(CONFIDENCE)))
            .fold(from, pick)
    };
    // no mixture reaches beyond the widest of its parts
    let low = widest(|i| i.0, f64::min, f64::INFINITY);
    let high = widest(|i| i.1, f64::max, f64::NEG_INFINITY);
    let at = |p: f64| {
        let (mut low, mut high) = (low, high);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if below(middle) < p {
                low = middle
            } else {
                high = middle
            }
        }
        0.5 * (low + high)
    };
    (at(0.5 - 0.5 * CONFIDENCE), at(0.5 + 0.5 * CONFIDENCE))
}

/// Shifts and temperatures, both freed of their straight change over the years, on each other
/// (Frisch & Waugh 1933, Econometrica 1:387-401).
fn beside_trend(
    x: &DMatrix<f64>,
    column: usize,
    seasons: &[SeasonShift],
    weights: &[f64],
) -> Option<f64> {
    let years = || seasons.iter().map(|s| f64::from(s.year()));
    let rest = |values: &mut dyn Iterator<Item = f64>| {
        Some(Line::fit(&points(years(), values, weights)).ok()?.residuals)
    };
    let shifts = rest(&mut seasons.iter().map(|s| s.shift_days()))?;
    let values = x.column(column);
    let warmth = rest(&mut values.iter().copied())?;
    Some(
        Line::fit(&points(warmth.into_iter(), shifts.into_iter(), weights))
            .ok()?
            .slope,
    )
}
