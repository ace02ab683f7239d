//! Which dates to visit: the chance of finding each target at least once, summed over the
//! targets, made as large as the rules allow.
//!
//! The sum is monotone and submodular (a visit adds less the more are planned), so greedy choice
//! with exchanges comes near the best; [`bound`] proves how near, and small cases are solved
//! exactly.

pub mod bound;
pub mod exact;
pub mod greedy;
mod linear;
pub mod reach;
pub mod rules;
pub mod scenarios;
pub mod sure;

pub use reach::{Reach, ReachError};
pub use rules::{Candidate, Rules, RulesError, Travel};

/// Branch and bound gives up after so many nodes: about a tenth of a second for 40 targets.
const MOST_NODES: usize = 4_000;
/// A plan that cannot be bettered by more than this is called the best: rounding of sums.
const ROUNDING: f64 = 1e-9;

/// A choice of dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Places among the candidates, in rising order.
    pub places: Vec<usize>,
    /// Targets expected to be found, each counted with its weight.
    pub value: f64,
    /// No choice within the rules has a larger value than this.
    pub at_most: f64,
}

impl Chosen {
    /// The part of the best possible value that the choice may lack, at most.
    pub fn gap(&self) -> f64 {
        if self.at_most <= 0.0 {
            return 0.0;
        }
        ((self.at_most - self.value) / self.at_most).max(0.0)
    }

    /// Is no better choice possible?
    pub fn is_best(&self) -> bool {
        self.at_most - self.value <= ROUNDING * (1.0 + self.value)
    }
}

/// The dates to visit. `made` are visits that were made or promised: they fill places in weeks
/// and keep their distance, and what they found is the caller's to leave out of `reach`.
pub fn choose(
    reach: &Reach,
    candidates: &[Candidate],
    made: &[Candidate],
    rules: &Rules,
) -> Chosen {
    let field = rules::Field::new(candidates, made, rules);
    let mut places = greedy::greedy(reach, &field);
    greedy::exchange(reach, &field, &mut places);
    let mut value = reach.value(&places);
    let mut at_most = bound::upper(reach, &field, &places);
    if at_most - value > ROUNDING * (1.0 + value)
        && let Some(best) = exact::search(reach, &field, &places, MOST_NODES)
    {
        value = reach.value(&best);
        (places, at_most) = (best, value);
    }
    places.sort_unstable();
    Chosen {
        places,
        value,
        at_most: at_most.max(value),
    }
}

/// Of the candidates that may stand in for one of the chosen, the one that keeps most; with what
/// the plan is then worth. `may` tells which candidates are asked about.
pub fn stand_in(
    reach: &Reach,
    field: &rules::Field,
    chosen: &[usize],
    place: usize,
    may: impl Fn(&Candidate) -> bool,
) -> Option<(usize, f64)> {
    let rest: Vec<usize> = chosen.iter().copied().filter(|p| *p != place).collect();
    let state = reach.after(&rest);
    let free = (0..field.len()).filter(|c| !chosen.contains(c) && may(&field.candidate(*c)));
    let fits = free.filter(|c| field.allows(&rest, *c));
    let best = fits.max_by(|a, b| {
        let gains = (reach.gain(&state, *a), reach.gain(&state, *b));
        gains.0.total_cmp(&gains.1).then(b.cmp(a))
    })?;
    Some((best, reach.value(&rest) + reach.gain(&state, best)))
}

#[cfg(test)]
mod tests;
