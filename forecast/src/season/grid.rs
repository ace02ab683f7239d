//! What a season's counts say of its timing and numbers together, on a grid.
//!
//! log mean on a day d = f(d - shift) + level + log effort, with f the long-term curve. No belief
//! about the shift but that it lies within [`REACH_DAYS`], and about the level one that hardly
//! pulls: for a passage that is Gaussian and counts that are Poisson, shift and level are the
//! natural parameters of an exponential family but for a bend, so that a flat belief gives
//! intervals that hold a fixed truth about as often as they say (Welch & Peers 1963, J. R. Stat.
//! Soc. B 25:318-329). `examples/season_coverage.rs` counts how often they do.

use super::mixture::Mixture;
use crate::passage::curve::{PassageCurve, Sighting};
use crate::series::Count;
use crate::year_curve::likelihood::step_row;

/// Shifts are looked for within this many days: as far as the curve reaches beyond its stretch.
const REACH_DAYS: f64 = crate::passage::curve::BEYOND_DAYS;
/// Days between shifts.
const STEP_DAYS: f64 = 0.5;
/// Belief about the log level: N(0, 3^2), a factor of 20 either way within one standard
/// deviation. A choice; it keeps the level finite where hardly a bird was seen.
const LEVEL_SD: f64 = 3.0;
/// Levels about the best one of each shift: so many standard deviations ...
const LEVEL_REACH: f64 = 4.5;
/// ... in steps of so many.
const LEVEL_STEP: f64 = 0.5;
/// Shifts this much less likely, on the log scale, than the best are passed over.
const NEGLIGIBLE: f64 = 14.0;
/// With this part of the belief next to an end of the reach, the counts do not bound the shift.
const AT_THE_EDGE: f64 = 0.02;
/// How near that is, days.
const EDGE_DAYS: f64 = 3.0;

/// Variance of the shift's belief, which is even over its reach.
pub(super) const SHIFT_VARIANCE: f64 = REACH_DAYS * REACH_DAYS / 3.0;
/// Variance of the level's.
pub(super) const LEVEL_VARIANCE: f64 = LEVEL_SD * LEVEL_SD;

/// A shift and a level with their weight and the variance of the level between grid points.
struct Node {
    shift: f64,
    level: f64,
    weight: f64,
    level_variance: f64,
}

/// The joint distribution.
pub(super) struct Grid {
    nodes: Vec<Node>,
    total: f64,
}

/// Means, variances and covariance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moments {
    pub shift: f64,
    pub level: f64,
    pub shift_variance: f64,
    pub level_variance: f64,
    pub covariance: f64,
}

/// The counts under one shift.
struct AtShift<'a> {
    rows: Vec<(Count, f64)>,
    curve: &'a PassageCurve,
}

impl AtShift<'_> {
    /// Log density of a level, its slope and minus its curvature.
    fn at(&self, level: f64) -> (f64, f64, f64) {
        let belief = 1.0 / LEVEL_VARIANCE;
        let start = (-0.5 * belief * level * level, -belief * level, belief);
        let rows = self.rows.iter();
        let told = rows.filter_map(|(c, mean)| step_row(*c, mean + level, self.curve.dispersion));
        told.fold(start, |sum, row| {
            (sum.0 + row.0, sum.1 + row.1, sum.2 + row.2)
        })
    }

    /// The best level, by Newton's method from a nearby one.
    fn best(&self, start: f64) -> f64 {
        let mut level = start;
        for _ in 0..40 {
            let (_, slope, bend) = self.at(level);
            let step = (slope / bend).clamp(-2.0, 2.0);
            level += step;
            if step.abs() < 1e-6 {
                break;
            }
        }
        level
    }
}

impl Grid {
    pub(super) fn new(curve: &PassageCurve, sightings: &[Sighting]) -> Self {
        let at_shift = |shift: f64| AtShift {
            rows: sightings
                .iter()
                .map(|s| {
                    (
                        s.count,
                        curve.log_mean(s.offset as f64 - shift) + s.log_effort,
                    )
                })
                .collect(),
            curve,
        };
        let mut level = 0.0;
        let steps = (2.0 * REACH_DAYS / STEP_DAYS) as usize;
        let profile: Vec<(AtShift, f64, f64, f64)> = (0..=steps)
            .map(|i| {
                let shift = i as f64 * STEP_DAYS - REACH_DAYS;
                let here = at_shift(shift);
                level = here.best(level);
                let (value, _, bend) = here.at(level);
                (here, shift, level, value - 0.5 * bend.ln())
            })
            .collect();
        let top = profile
            .iter()
            .map(|p| p.3)
            .fold(f64::NEG_INFINITY, f64::max);
        let near = profile.into_iter().filter(|p| p.3 > top - NEGLIGIBLE);
        let nodes: Vec<Node> = near
            .flat_map(|(here, shift, best, _)| levels(&here, shift, best, top))
            .collect();
        Grid {
            total: nodes.iter().map(|n| n.weight).sum(),
            nodes,
        }
    }

    /// Distribution of the shift, widened by a variance from elsewhere.
    pub(super) fn shifts(&self, wider: f64) -> Mixture {
        let between = STEP_DAYS * STEP_DAYS / 12.0 + wider;
        Mixture(self.by_shift().map(|(s, w)| (w, s, between)).collect())
    }

    /// Weights of the shifts, one each, summing to 1.
    pub(super) fn by_shift(&self) -> impl Iterator<Item = (f64, f64)> {
        let groups = self.nodes.chunk_by(|a, b| a.shift == b.shift);
        groups.map(|g| {
            (
                g[0].shift,
                g.iter().map(|n| n.weight).sum::<f64>() / self.total,
            )
        })
    }

    /// Distribution of the level, widened likewise.
    pub(super) fn levels(&self, wider: f64) -> Mixture {
        let part = |n: &Node| (n.weight, n.level, n.level_variance + wider);
        Mixture(self.nodes.iter().map(part).collect())
    }

    /// Does the belief run up against the reach on either side?
    pub(super) fn meets_its_edge(&self) -> bool {
        let beyond = |side: f64| -> f64 {
            let near = self
                .by_shift()
                .filter(|(s, _)| side * s > REACH_DAYS - EDGE_DAYS);
            near.map(|(_, w)| w).sum()
        };
        beyond(1.0) > AT_THE_EDGE || beyond(-1.0) > AT_THE_EDGE
    }

    pub(super) fn moments(&self) -> Moments {
        let mean = |of: &dyn Fn(&Node) -> f64| -> f64 {
            self.nodes.iter().map(|n| n.weight * of(n)).sum::<f64>() / self.total
        };
        let (shift, level) = (mean(&|n| n.shift), mean(&|n| n.level));
        Moments {
            shift,
            level,
            shift_variance: mean(&|n| (n.shift - shift).powi(2)) + STEP_DAYS * STEP_DAYS / 12.0,
            level_variance: mean(&|n| (n.level - level).powi(2) + n.level_variance),
            covariance: mean(&|n| (n.shift - shift) * (n.level - level)),
        }
    }
}

/// Levels about the best one of a shift.
fn levels(here: &AtShift, shift: f64, best: f64, top: f64) -> Vec<Node> {
    let sd = here.at(best).2.powf(-0.5);
    let steps = (2.0 * LEVEL_REACH / LEVEL_STEP) as usize;
    (0..=steps)
        .map(|i| {
            let level = best + sd * (i as f64 * LEVEL_STEP - LEVEL_REACH);
            Node {
                shift,
                level,
                weight: sd * (here.at(level).0 - top).exp(),
                level_variance: (sd * LEVEL_STEP).powi(2) / 12.0,
            }
        })
        .collect()
}
