//! How good any plan could be: an upper limit of the value of all choices within the rules.
//!
//! Each term of the value, 1 - product of the visits' chances of none, lies below several concave
//! functions that equal or exceed it at every whole choice: 1 - exp(-sum of a x) with a = -ln of
//! the chance of none, the sum of the single chances, and the tangent at a known choice S,
//! f(S) + sum of what each further visit would add to S (Nemhauser & Wolsey 1978 for submodular
//! functions). A tangent of any of them at any point is linear and lies above the term, and so
//! does every average of such tangents; the most that a linear function reaches under the rules
//! is found at once ([`super::linear`]). The points are those of Frank and Wolfe's method (1956),
//! which walks towards the least upper limit.

use super::linear::most;
use super::reach::Reach;
use super::rules::Field;

/// Steps of the walk. The limit falls quickly at first; later steps gain less than 0.1 %.
const STEPS: usize = 150;
/// -ln of a chance of none that counts as 0.
const CERTAIN: f64 = 60.0;

/// A linear function of the visits that lies above the value of every choice.
#[derive(Clone)]
struct Above {
    constant: f64,
    worth: Vec<f64>,
}

impl Above {
    /// Moves it towards another: an average of the two.
    fn towards(&mut self, other: &Above, part: f64) {
        let mix = |a: &mut f64, b: &f64| *a += part * (b - *a);
        mix(&mut self.constant, &other.constant);
        let both = self.worth.iter_mut().zip(&other.worth);
        both.for_each(|(a, b)| mix(a, b));
    }
}

struct Walk<'a> {
    reach: &'a Reach,
    /// -ln of the chances of none, a row of terms for each candidate.
    logs: Vec<f64>,
    /// Chances of none of the known choice, by term.
    known: Vec<f64>,
    in_known: Vec<bool>,
}

/// An upper limit of the value of any choice; `known` is a good one.
pub fn upper(reach: &Reach, field: &Field, known: &[usize]) -> f64 {
    if field.is_empty() || reach.terms() == 0 {
        return 0.0;
    }
    let log = |z: &f64| (-z.ln()).clamp(0.0, CERTAIN);
    let walk = Walk {
        reach,
        logs: (0..field.len())
            .flat_map(|c| reach.row(c).iter().map(log))
            .collect(),
        known: reach.after(known).0,
        in_known: (0..field.len()).map(|c| known.contains(&c)).collect(),
    };
    let mut x = vec![0.0; field.len()];
    known.iter().for_each(|c| x[*c] = 1.0);
    let mut average = walk.above(&x);
    let mut least = f64::INFINITY;
    for step in 0..STEPS {
        let above = walk.above(&x);
        let (top, visits) = most(field, &above.worth);
        least = least.min(above.constant + top);
        let part = 2.0 / (step as f64 + 3.0);
        average.towards(&above, part);
        least = least.min(average.constant + most(field, &average.worth).0);
        x.iter_mut().for_each(|x| *x *= 1.0 - part);
        visits.iter().for_each(|c| x[*c] += part);
    }
    // rounding in sums of a few thousand terms must not prove too much
    least * (1.0 + 1e-12)
}

/// Which of the functions above a term is the lowest at a point.
#[derive(Clone, Copy)]
enum Lowest {
    Exponential(f64),
    Single,
    Known,
}

/// Sums at a point over the visits, by term.
struct Sums {
    /// Of x times -ln of the chance of none.
    logs: Vec<f64>,
    /// Of x times the single chance.
    singles: Vec<f64>,
    /// The same over visits that the known choice has not.
    further: Vec<f64>,
}

impl Walk<'_> {
    /// The tangents at `x` of the lowest function above each term, summed.
    fn above(&self, x: &[f64]) -> Above {
        let sums = self.sums(x);
        let lowest: Vec<Lowest> = (0..self.reach.terms())
            .map(|t| self.lowest(&sums, t))
            .collect();
        let worth = self.reach.worth().iter();
        let constant = worth.zip(&lowest).enumerate().map(|(t, (w, l))| {
            w * match l {
                Lowest::Exponential(none) => 1.0 - none - none * sums.logs[t],
                Lowest::Single => 0.0,
                Lowest::Known => 1.0 - self.known[t],
            }
        });
        Above {
            constant: constant.sum(),
            worth: (0..x.len()).map(|c| self.slope(&lowest, c)).collect(),
        }
    }

    fn sums(&self, x: &[f64]) -> Sums {
        let none = || vec![0.0; self.reach.terms()];
        let (mut logs, mut singles, mut further) = (none(), none(), none());
        for (c, x) in x.iter().enumerate().filter(|(_, x)| **x > 0.0) {
            let (row, own) = (self.reach.row(c), self.logs_of(c));
            for t in 0..self.reach.terms() {
                let found = 1.0 - row[t];
                logs[t] += x * own[t];
                singles[t] += x * found;
                further[t] += if self.in_known[c] { 0.0 } else { x * found };
            }
        }
        Sums {
            logs,
            singles,
            further,
        }
    }

    /// Which function is the lowest above a term.
    fn lowest(&self, sums: &Sums, t: usize) -> Lowest {
        let none = f64::exp(-sums.logs[t]);
        let single = sums.singles[t];
        let at_known = 1.0 - self.known[t] + self.known[t] * sums.further[t];
        if 1.0 - none <= single && 1.0 - none <= at_known {
            Lowest::Exponential(none)
        } else if single <= at_known {
            Lowest::Single
        } else {
            Lowest::Known
        }
    }

    /// How the tangents rise with a candidate, summed over the terms.
    fn slope(&self, lowest: &[Lowest], c: usize) -> f64 {
        let (row, logs) = (self.reach.row(c), self.logs_of(c));
        let rise = |(t, worth): (usize, &f64)| match lowest[t] {
            Lowest::Exponential(none) => worth * none * logs[t],
            Lowest::Single => worth * (1.0 - row[t]),
            Lowest::Known if self.in_known[c] => 0.0,
            Lowest::Known => worth * self.known[t] * (1.0 - row[t]),
        };
        self.reach.worth().iter().enumerate().map(rise).sum()
    }

    fn logs_of(&self, candidate: usize) -> &[f64] {
        let terms = self.reach.terms();
        &self.logs[candidate * terms..(candidate + 1) * terms]
    }
}
