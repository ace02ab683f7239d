//! The mode of all that is unknown of a season, and the curvature there, by Newton's method.
//! A species' own level and shift hang on the core alone, so each is eliminated by itself.

use super::{Beliefs, FIRST_WEEK, LEVEL, Member, Night, Own, SHIFT, Season, WEEK};
use crate::year_curve::likelihood::step_row;
use crate::year_curve::newton::FitError;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix2, Vector2};

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
