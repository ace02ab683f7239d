//! A season under way: what all species of a passage at a site say together about its level,
//! its weeks and its timing.
//!
//! log mean of species i on night d = f_i(d - shift - own shift_i) + level + own level_i +
//! week(d) + night(d) + log effort. Levels, weeks (an AR(1) shared by the species), nights and
//! shifts are normal; their joint posterior is found by Newton's method and taken as normal
//! about its mode (Laplace's approximation). Nothing is drawn.

use super::curve::PassageCurve;
use super::level::Level;
use crate::series::Count;
use crate::updating::NormalBelief;
use crate::year_curve::likelihood::step_row;
use crate::year_curve::newton::FitError;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix2, Matrix4, Vector2, Vector4};

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
const MAX_STEPS: usize = 60;

struct Problem<'a> {
    beliefs: Beliefs,
    weeks: usize,
    nights: &'a [Night],
    members: &'a [Member<'a>],
    /// Precision of the core, before any count.
    prior: DMatrix<f64>,
    centre: DVector<f64>,
}

struct State {
    core: DVector<f64>,
    own: Vec<Vector2<f64>>,
}

struct Factored {
    gradient: DVector<f64>,
    own_gradient: Vec<Vector2<f64>>,
    own: Vec<Own>,
    schur: Cholesky<f64, Dyn>,
}

impl Problem<'_> {
    fn core_len(&self) -> usize {
        FIRST_WEEK + self.weeks + self.nights.len()
    }

    fn own_precision(&self, member: &Member) -> Vector2<f64> {
        let shift_sd = member.own_shift.map_or(self.beliefs.own_shift_sd, |b| b.sd);
        Vector2::new(member.own_level_sd.powi(-2), shift_sd.powi(-2))
    }

    fn objective(&self, s: &State) -> f64 {
        let away = &s.core - &self.centre;
        let mut value = -0.5 * away.dot(&(&self.prior * &away));
        for (member, own) in self.members.iter().zip(&s.own) {
            let away = own - believed(member);
            value -= 0.5 * self.own_precision(member).dot(&away.component_mul(&away));
            let shift = s.core[SHIFT] + own[1];
            for (n, (night, count)) in self.nights.iter().zip(&member.counts).enumerate() {
                let eta = self.fixed(s, own, n, night)
                    + member.curve.log_mean(night.offset as f64 - shift);
                value += step_row(*count, eta, member.curve.dispersion).map_or(0.0, |r| r.0);
            }
        }
        value
    }

    fn fixed(&self, s: &State, own: &Vector2<f64>, n: usize, night: &Night) -> f64 {
        let week = s.core[FIRST_WEEK + night.offset / WEEK];
        s.core[LEVEL] + own[0] + week + s.core[FIRST_WEEK + self.weeks + n] + night.log_effort
    }

    fn factor(&self, s: &State) -> Result<Factored, FitError> {
        let n = self.core_len();
        let mut core = self.prior.clone();
        let mut gradient = -(&self.prior * (&s.core - &self.centre));
        let mut own_gradient = Vec::with_capacity(self.members.len());
        let mut owns = Vec::with_capacity(self.members.len());
        for (member, own) in self.members.iter().zip(&s.own) {
            let precision = self.own_precision(member);
            let mut inner = Matrix2::from_diagonal(&precision);
            let mut slope_own = -precision.component_mul(&(own - believed(member)));
            let mut cross: DMatrix<f64> = DMatrix::zeros(2, n);
            let shift = s.core[SHIFT] + own[1];
            for (k, (night, count)) in self.nights.iter().zip(&member.counts).enumerate() {
                let (mean, steep) = member.curve.log_mean_and_slope(night.offset as f64 - shift);
                let eta = self.fixed(s, own, k, night) + mean;
                let Some((_, slope, weight)) = step_row(*count, eta, member.curve.dispersion)
                else {
                    continue;
                };
                let at = [
                    (LEVEL, 1.0),
                    (SHIFT, -steep),
                    (FIRST_WEEK + night.offset / WEEK, 1.0),
                    (FIRST_WEEK + self.weeks + k, 1.0),
                ];
                for (i, a) in at {
                    gradient[i] += slope * a;
                    cross[(0, i)] += weight * a;
                    cross[(1, i)] -= weight * a * steep;
                    for (j, b) in at {
                        core[(i, j)] += weight * a * b;
                    }
                }
                slope_own += Vector2::new(slope, -slope * steep);
                inner += Matrix2::new(
                    weight,
                    -weight * steep,
                    -weight * steep,
                    weight * steep * steep,
                );
            }
            let inverse = inner.try_inverse().ok_or(FitError::Singular)?;
            let link = DMatrix::from_fn(2, n, |i, j| {
                inverse[(i, 0)] * cross[(0, j)] + inverse[(i, 1)] * cross[(1, j)]
            });
            core.gemm_tr(-1.0, &cross, &link, 1.0);
            own_gradient.push(slope_own);
            owns.push(Own {
                mode: *own,
                link,
                inner: inverse,
            });
        }
        let schur = Cholesky::new(core).ok_or(FitError::Singular)?;
        Ok(Factored {
            gradient,
            own_gradient,
            own: owns,
            schur,
        })
    }

    fn step(&self, f: &Factored) -> (DVector<f64>, Vec<Vector2<f64>>) {
        let mut right = f.gradient.clone();
        for (g, own) in f.own_gradient.iter().zip(&f.own) {
            right -= own.link.tr_mul(g);
        }
        let core = f.schur.solve(&right);
        let own = f.own_gradient.iter().zip(&f.own).map(|(g, o)| {
            let pulled = &o.link * &core;
            o.inner * g - Vector2::new(pulled[0], pulled[1])
        });
        let own = own.collect();
        (core, own)
    }
}

/// A species' own level and shift as believed before any count.
fn believed(member: &Member) -> Vector2<f64> {
    Vector2::new(0.0, member.own_shift.map_or(0.0, |b| b.mean))
}

/// Finds where the season stands after the nights so far; `length` is the stretch in days.
pub fn update(
    beliefs: Beliefs,
    length: usize,
    nights: &[Night],
    members: &[Member],
) -> Result<Season, FitError> {
    let weeks = length.div_ceil(WEEK);
    let prior = prior(&beliefs, weeks, nights.len());
    let mut centre = DVector::zeros(prior.nrows());
    centre[LEVEL] = beliefs.level.mean;
    let problem = Problem {
        beliefs,
        weeks,
        nights,
        members,
        prior,
        centre,
    };
    let mut at = State {
        core: problem.centre.clone(),
        own: members.iter().map(believed).collect(),
    };
    let mut value = problem.objective(&at);
    for _ in 0..MAX_STEPS {
        let factored = problem.factor(&at)?;
        let (core, own) = problem.step(&factored);
        let gain = 0.5 * factored.gradient.dot(&core)
            + 0.5
                * factored
                    .own_gradient
                    .iter()
                    .zip(&own)
                    .map(|(a, b)| a.dot(b))
                    .sum::<f64>();
        if gain < 1e-7 {
            return Ok(Season {
                weeks,
                core: at.core,
                covariance: factored.schur.inverse(),
                own: factored.own,
            });
        }
        let mut scale = 1.0;
        loop {
            let trial = State {
                core: &at.core + &core * scale,
                own: at
                    .own
                    .iter()
                    .zip(&own)
                    .map(|(a, b)| a + b * scale)
                    .collect(),
            };
            let trial_value = problem.objective(&trial);
            if trial_value.is_finite() && trial_value >= value - 1e-9 * (1.0 + value.abs()) {
                (at, value) = (trial, trial_value);
                break;
            }
            scale *= 0.5;
            if scale < 1e-8 {
                return Err(FitError::NotConverged(MAX_STEPS));
            }
        }
    }
    Err(FitError::NotConverged(MAX_STEPS))
}

fn prior(b: &Beliefs, weeks: usize, nights: usize) -> DMatrix<f64> {
    let n = FIRST_WEEK + weeks + nights;
    let mut precision: DMatrix<f64> = DMatrix::zeros(n, n);
    precision[(LEVEL, LEVEL)] = 1.0 / b.level.variance;
    precision[(SHIFT, SHIFT)] = b.shift_sd.powi(-2);
    let tight = b.week_sd.powi(-2);
    for w in 0..weeks {
        let i = FIRST_WEEK + w;
        if w == 0 {
            precision[(i, i)] += tight * (1.0 - b.week_carry * b.week_carry);
        } else {
            precision[(i, i)] += tight;
            precision[(i - 1, i - 1)] += tight * b.week_carry * b.week_carry;
            precision[(i, i - 1)] -= tight * b.week_carry;
            precision[(i - 1, i)] -= tight * b.week_carry;
        }
    }
    for k in 0..nights {
        let i = FIRST_WEEK + weeks + k;
        precision[(i, i)] = b.night_sd.powi(-2);
    }
    precision
}

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
