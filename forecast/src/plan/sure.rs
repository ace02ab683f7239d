//! Enough visits to be so sure: for one chance a visit, and for a plan.

use super::reach::{Reach, State};
use super::rules::{Candidate, Field, Rules};

/// Visits that find at least one with probability `sure`, each finding it with probability `p`:
/// ln(1 - sure) / ln(1 - p), in fractions of a visit (McArdle 1990, Oikos 57:276; Kéry 2002,
/// J. Wildl. Manage. 66:330). None unless both lie between 0 and 1.
pub fn visits_needed(p: f64, sure: f64) -> Option<f64> {
    let inside = |x: f64| x > 0.0 && x < 1.0;
    (inside(p) && inside(sure)).then(|| (-sure).ln_1p() / (-p).ln_1p())
}

/// The chance of at least one on visits with these chances each, taken as independent.
pub fn at_least_once(chances: &[f64]) -> f64 {
    1.0 - chances.iter().map(|p| 1.0 - p).product::<f64>()
}

/// Dates chosen so that every target is found with the certainty asked for, as far as they can.
#[derive(Debug, Clone, PartialEq)]
pub struct Enough {
    /// Places among the candidates, in rising order.
    pub places: Vec<usize>,
    /// Targets that these dates do not make so sure. Greedy choice does not prove that others within
    /// the rules would not.
    pub out_of_reach: Vec<usize>,
}

/// Few dates that find every target with probability `sure` each: greedily by what visits add
/// to chances still below it (a submodular cover, Wolsey 1982), then without those that were
/// not needed in the end. `rules` give the most visits.
pub fn enough(
    reach: &Reach,
    candidates: &[Candidate],
    made: &[Candidate],
    rules: &Rules,
    sure: f64,
) -> Enough {
    let field = Field::new(candidates, made, rules);
    let mut chosen = greedy(reach, &field, sure);
    prune(reach, &mut chosen, sure);
    chosen.sort_unstable();
    let chances = reach.chances(&chosen);
    let short = |t: &usize| chances[*t].is_some_and(|p| p < sure);
    Enough {
        out_of_reach: (0..reach.targets()).filter(short).collect(),
        places: chosen,
    }
}

/// Visits in the order in which they add most, until all chances suffice or none adds anything.
fn greedy(reach: &Reach, field: &Field, sure: f64) -> Vec<usize> {
    let mut chosen: Vec<usize> = Vec::new();
    let mut state = reach.start();
    loop {
        let lacking = |state: &State| shortfall(reach, state, sure);
        let before = lacking(&state);
        if before <= 0.0 {
            break;
        }
        let free = (0..field.len()).filter(|c| !chosen.contains(c) && field.allows(&chosen, *c));
        let after = |c: usize| {
            let mut state = state.clone();
            reach.visit(&mut state, c);
            lacking(&state)
        };
        let best = free
            .map(|c| (after(c), c))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match best {
            // less than this is no visit's worth
            Some((after, c)) if after < before - 1e-6 => {
                reach.visit(&mut state, c);
                chosen.push(c);
            }
            _ => break,
        }
    }
    chosen
}

fn shortfall(reach: &Reach, state: &State, sure: f64) -> f64 {
    let chances = reach.chances_in(state).into_iter().flatten();
    chances.map(|p| (sure - p).max(0.0)).sum()
}

/// Takes out visits, the last chosen first, without which nothing falls below.
fn prune(reach: &Reach, chosen: &mut Vec<usize>, sure: f64) {
    let all = shortfall(reach, &reach.after(chosen), sure);
    for i in (0..chosen.len()).rev() {
        let mut fewer = chosen.clone();
        fewer.remove(i);
        if shortfall(reach, &reach.after(&fewer), sure) <= all + 1e-12 {
            *chosen = fewer;
        }
    }
}
