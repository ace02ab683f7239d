//! A season under way: what all species of a passage at a site say together about its level,
//! its weeks and its timing.
//!
//! log mean of species i on night d = f_i(d - shift - own shift_i) + level + own level_i +
//! week(d) + night(d) + log effort. Levels, weeks (an AR(1) shared by the species), nights and
//! shifts are normal; their joint posterior is found by Newton's method and taken as normal
//! about its mode (Laplace's approximation). Nothing is drawn.

mod solve;

pub use solve::update;

use super::curve::PassageCurve;
use super::level::Level;
use crate::series::Count;
use crate::updating::NormalBelief;
use nalgebra::{DMatrix, DVector, Matrix2, Matrix4, Vector2, Vector4};

/// Days in a week of the shared factor.
pub const WEEK: usize = 7;

/// What is believed of a season before its first visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beliefs {
    /// Shared level.
    pub level: Level,
    /// Part of a week's factor that carries over to the next.
    pub week_carry: f64,
    /// Standard deviation of what each week adds.
    pub week_sd: f64,
    /// Standard deviation of a night shared by the species; keeps same-night counts from being
    /// taken for independent witnesses.
    pub night_sd: f64,
    /// Standard deviation of the shared shift, days.
    pub shift_sd: f64,
    /// Standard deviation of a species' own shift, days.
    pub own_shift_sd: f64,
}

/// A species of the passage.
#[derive(Debug, Clone)]
pub struct Member<'a> {
    /// Its long-term curve.
    pub curve: &'a PassageCurve,
    /// Standard deviation of its own level.
    pub own_level_sd: f64,
    /// What is believed of its own shift, days; None where it is the usual
    /// [`Beliefs::own_shift_sd`] about 0.
    pub own_shift: Option<NormalBelief>,
    /// One count a night, in the order of the nights.
    pub counts: Vec<Count>,
}

/// A visited night so far.
#[derive(Debug, Clone, Copy)]
pub struct Night {
    /// Days from the first day of the stretch.
    pub offset: usize,
    /// Log of effort / standard effort.
    pub log_effort: f64,
}

/// Where the season stands.
#[derive(Debug, Clone)]
pub struct Season {
    weeks: usize,
    core: DVector<f64>,
    covariance: DMatrix<f64>,
    own: Vec<Own>,
}

/// A species' own level and shift.
#[derive(Debug, Clone)]
struct Own {
    mode: Vector2<f64>,
    /// Minus the regression of the own part on the core: H_ii^-1 H_ic.
    link: DMatrix<f64>,
    inner: Matrix2<f64>,
}

/// Level and shift of a species in a week, jointly normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Log multiplier.
    pub level: f64,
    /// Days late.
    pub shift: f64,
    /// Variance of the level.
    pub level_variance: f64,
    /// Variance of the shift.
    pub shift_variance: f64,
    /// Their covariance.
    pub covariance: f64,
}

/// Level and shift of a member: their modes, and how they hang on the core.
struct Line {
    mean: Vector2<f64>,
    on_core: DMatrix<f64>,
}

const LEVEL: usize = 0;
const SHIFT: usize = 1;
const FIRST_WEEK: usize = 2;

impl Season {
    /// Level and shift of a member in a week of the stretch.
    pub fn standing(&self, member: usize, week: usize) -> Standing {
        let line = self.line(member, week);
        let covariance = self.covariance_of(&line, &line) + self.own[member].inner;
        Standing {
            level: line.mean[0],
            shift: line.mean[1],
            level_variance: covariance[(0, 0)],
            shift_variance: covariance[(1, 1)],
            covariance: covariance[(0, 1)],
        }
    }

    /// Levels and shifts of two different members in a week: means and covariance of (level,
    /// shift) of the one and then of the other.
    pub fn pair(&self, members: (usize, usize), week: usize) -> (Vector4<f64>, Matrix4<f64>) {
        let (a, b) = (self.line(members.0, week), self.line(members.1, week));
        let own = [self.own[members.0].inner, self.own[members.1].inner];
        let mut covariance = Matrix4::zeros();
        covariance
            .fixed_view_mut::<2, 2>(0, 0)
            .copy_from(&(self.covariance_of(&a, &a) + own[0]));
        covariance
            .fixed_view_mut::<2, 2>(2, 2)
            .copy_from(&(self.covariance_of(&b, &b) + own[1]));
        let shared = self.covariance_of(&a, &b);
        covariance.fixed_view_mut::<2, 2>(0, 2).copy_from(&shared);
        covariance
            .fixed_view_mut::<2, 2>(2, 0)
            .copy_from(&shared.transpose());
        (
            Vector4::new(a.mean[0], a.mean[1], b.mean[0], b.mean[1]),
            covariance,
        )
    }

    /// A member's level and shift as combinations of the core, its own part regressed out.
    fn line(&self, member: usize, week: usize) -> Line {
        let own = &self.own[member];
        let week = FIRST_WEEK + week.min(self.weeks - 1);
        let mut on_core = -own.link.clone();
        on_core[(0, LEVEL)] += 1.0;
        on_core[(0, week)] += 1.0;
        on_core[(1, SHIFT)] += 1.0;
        let level = self.core[LEVEL] + self.core[week] + own.mode[0];
        Line {
            mean: Vector2::new(level, self.core[SHIFT] + own.mode[1]),
            on_core,
        }
    }

    fn covariance_of(&self, a: &Line, b: &Line) -> Matrix2<f64> {
        let product = &a.on_core * &self.covariance * b.on_core.transpose();
        Matrix2::new(
            product[(0, 0)],
            product[(0, 1)],
            product[(1, 0)],
            product[(1, 1)],
        )
    }

    /// The shared level and shift with their variances.
    pub fn shared(&self) -> (Level, Level) {
        let one = |i: usize| Level {
            mean: self.core[i],
            variance: self.covariance[(i, i)],
        };
        (one(LEVEL), one(SHIFT))
    }
}
