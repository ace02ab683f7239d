//! A straight line through weighted points: least squares with everything that is read off it
//! (Draper & Smith 1998, Applied Regression Analysis, 3rd ed.).

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Fewer points leave no scatter to judge a slope by.
pub const LEAST_POINTS: usize = 3;

/// A point; the weight is the inverse of its variance, up to a common factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Regressor.
    pub x: f64,
    /// Response.
    pub y: f64,
    /// Weight, above 0.
    pub weight: f64,
}

/// Points without a line.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LineError {
    /// Too few of them.
    #[error("{got} points where a line with its scatter needs {LEAST_POINTS}")]
    TooFew {
        /// points given
        got: usize,
    },
    /// All at one x.
    #[error("the points do not spread along x")]
    NoSpread,
    /// Not a number, or a weight that is not above 0.
    #[error("a point at {x}, {y} with weight {weight} can't be used")]
    NotUsable {
        /// regressor
        x: f64,
        /// response
        y: f64,
        /// weight
        weight: f64,
    },
}

/// A fitted line. Standard errors and intervals estimate the scatter from the residuals.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Points.
    pub points: usize,
    /// y at x = 0.
    pub intercept: f64,
    /// Change of y for 1 of x.
    pub slope: f64,
    /// Standard error of the intercept.
    pub intercept_se: f64,
    /// Standard error of the slope.
    pub slope_se: f64,
    /// Part of the weighted squares about the mean that the line explains.
    pub r_squared: f64,
    /// Standard deviation about the line of a point of weight 1.
    pub residual_sd: f64,
    total_weight: f64,
    mean_x: f64,
    spread_x: f64,
    /// Residuals in the order of the points.
    pub residuals: Vec<f64>,
    /// What each point's residual is when it is left out of the fit.
    pub left_out: Vec<f64>,
}

impl Line {
    /// Weighted least squares.
    pub fn fit(points: &[Point]) -> Result<Self, LineError> {
        check(points)?;
        let n = points.len();
        let total: f64 = points.iter().map(|p| p.weight).sum();
        let mean =
            |of: fn(&Point) -> f64| points.iter().map(|p| p.weight * of(p)).sum::<f64>() / total;
        let (mean_x, mean_y) = (mean(|p| p.x), mean(|p| p.y));
        let sum = |of: &dyn Fn(&Point) -> f64| points.iter().map(|p| p.weight * of(p)).sum::<f64>();
        let spread_x = sum(&|p| (p.x - mean_x).powi(2));
        let scale = points.iter().map(|p| p.x.abs()).fold(0.0, f64::max);
        if spread_x <= total * (1e-12 * scale).powi(2) {
            return Err(LineError::NoSpread);
        }
        let slope = sum(&|p| (p.x - mean_x) * (p.y - mean_y)) / spread_x;
        let residual = |p: &Point| p.y - mean_y - slope * (p.x - mean_x);
        let squares = sum(&|p| residual(p).powi(2));
        let residual_sd = (squares / (n as f64 - 2.0)).sqrt();
        let leverage = |p: &Point| p.weight * (1.0 / total + (p.x - mean_x).powi(2) / spread_x);
        Ok(Line {
            points: n,
            intercept: mean_y - slope * mean_x,
            slope,
            intercept_se: residual_sd * (1.0 / total + mean_x * mean_x / spread_x).sqrt(),
            slope_se: residual_sd / spread_x.sqrt(),
            r_squared: 1.0 - squares / sum(&|p| (p.y - mean_y).powi(2)),
            residual_sd,
            total_weight: total,
            mean_x,
            spread_x,
            residuals: points.iter().map(residual).collect(),
            // residual / (1 - leverage): no refit is needed
            left_out: points
                .iter()
                .map(|p| residual(p) / (1.0 - leverage(p)))
                .collect(),
        })
    }

    /// Half of the central interval of Student's t that holds `part`.
    fn t(&self, part: f64) -> f64 {
        student_quantile(0.5 + 0.5 * part, self.points as f64 - 2.0)
    }

    /// Slope over its standard error.
    pub fn slope_t(&self) -> f64 {
        self.slope / self.slope_se
    }

    /// Interval that holds the slope with probability `part`.
    pub fn slope_interval(&self, part: f64) -> (f64, f64) {
        let half = self.t(part) * self.slope_se;
        (self.slope - half, self.slope + half)
    }

    /// The line's height.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Interval that holds a further point of weight 1 with probability `part`.
    pub fn prediction_interval(&self, x: f64, part: f64) -> (f64, f64) {
        let own = 1.0 + 1.0 / self.total_weight + (x - self.mean_x).powi(2) / self.spread_x;
        let half = self.t(part) * self.residual_sd * own.sqrt();
        (self.at(x) - half, self.at(x) + half)
    }

    /// Correlation of each residual with the next one, the points being in order.
    pub fn residual_lag_1(&self) -> f64 {
        let (early, late) = match self.residuals.as_slice() {
            [early @ .., _] => (early, &self.residuals[1..]),
            [] => return f64::NAN,
        };
        let mean = |r: &[f64]| r.iter().sum::<f64>() / r.len() as f64;
        let (a, b) = (mean(early), mean(late));
        let sum = |of: &dyn Fn(f64, f64) -> f64| {
            early
                .iter()
                .zip(late)
                .map(|(e, l)| of(e - a, l - b))
                .sum::<f64>()
        };
        sum(&|e, l| e * l) / (sum(&|e, _| e * e) * sum(&|_, l| l * l)).sqrt()
    }
}

fn check(points: &[Point]) -> Result<(), LineError> {
    let fine =
        |p: &&Point| p.x.is_finite() && p.y.is_finite() && p.weight.is_finite() && p.weight > 0.0;
    if let Some(Point { x, y, weight }) = points.iter().find(|p| !fine(p)) {
        return Err(LineError::NotUsable {
            x: *x,
            y: *y,
            weight: *weight,
        });
    }
    if points.len() < LEAST_POINTS {
        return Err(LineError::TooFew { got: points.len() });
    }
    Ok(())
}

/// Quantile of Student's t, sharpened by Newton's method where `statrs` stops early.
pub(crate) fn student_quantile(p: f64, df: f64) -> f64 {
    use statrs::distribution::Continuous;
    let Ok(student) = StudentsT::new(0.0, 1.0, df) else {
        return f64::NAN;
    };
    let step = |t: f64| t - (student.cdf(t) - p) / student.pdf(t);
    (0..3).fold(student.inverse_cdf(p), |t, _| step(t))
}

/// Root mean square, by weights.
pub fn root_mean_square(errors: &[f64], weights: &[f64]) -> f64 {
    let squares: f64 = errors.iter().zip(weights).map(|(e, w)| w * e * e).sum();
    (squares / weights.iter().sum::<f64>()).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points() -> Vec<Point> {
        let y = [3.1, 2.2, 5.9, 4.0, 8.8, 7.1];
        let weight = [1.0, 0.5, 2.0, 1.5, 0.7, 1.0];
        (0..6)
            .map(|i| Point {
                x: i as f64 * 1.5 - 2.0,
                y: y[i],
                weight: weight[i],
            })
            .collect()
    }

    /// An obvious version: leave each point out and fit again.
    #[test]
    fn left_out_residuals_are_those_of_a_refit() {
        let all = points();
        let line = Line::fit(&all).unwrap();
        for i in 0..all.len() {
            let mut others = all.clone();
            let left = others.remove(i);
            let without = Line::fit(&others).unwrap();
            assert!((line.left_out[i] - (left.y - without.at(left.x))).abs() < 1e-12);
        }
    }

    #[test]
    fn a_weight_of_two_is_two_points() {
        let all = points();
        let mut doubled = all.clone();
        doubled[3].weight *= 2.0;
        let mut twice = all.clone();
        twice.push(all[3]);
        let (a, b) = (Line::fit(&doubled).unwrap(), Line::fit(&twice).unwrap());
        assert!((a.slope - b.slope).abs() < 1e-13 && (a.intercept - b.intercept).abs() < 1e-13);
    }

    #[test]
    fn quantiles_of_t_agree_with_printed_values() {
        // R 4.2 qt(0.975, c(1, 5))
        let known = [(1.0, 12.706_204_736_174_7), (5.0, 2.570_581_835_636_31)];
        for (df, t) in known {
            assert!((student_quantile(0.975, df) / t - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn lines_that_cannot_be_are_refused() {
        let same = |x: f64| Point {
            x,
            y: 1.0,
            weight: 1.0,
        };
        assert_eq!(
            Line::fit(&[same(1.0), same(2.0)]),
            Err(LineError::TooFew { got: 2 })
        );
        assert_eq!(Line::fit(&[same(0.1); 5]), Err(LineError::NoSpread));
        let bad = Point {
            x: 0.0,
            y: 0.0,
            weight: 0.0,
        };
        assert!(matches!(
            Line::fit(&[bad; 4]),
            Err(LineError::NotUsable { .. })
        ));
    }
}
