//! What visits find: for each target and scenario of the season, the chance that a visit of a
//! candidate finds none.

/// Chances of finding none, of every candidate, by target and scenario.
///
/// Within a scenario visits are independent; the scenarios carry what they share, the timing and
/// the level of the season. So the value of a set of visits is the sum over targets of weight x
/// (1 - sum over scenarios of probability x product of the visits' chances of none).
#[derive(Debug, Clone)]
pub struct Reach {
    targets: usize,
    scenarios: usize,
    /// Weight of the target times probability of the scenario, a term each.
    worth: Vec<f64>,
    /// A row of terms for each candidate.
    none: Vec<f64>,
}

/// Numbers that are no chances, or tables that do not fit together.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReachError {
    /// A weight below zero or no number.
    #[error("the weight {0} of a target is no number from 0 on")]
    Weight(f64),
    /// Probabilities that do not add up to 1.
    #[error("the scenarios' probabilities add up to {0}, not to 1")]
    Scenarios(f64),
    /// A chance outside 0..=1.
    #[error("{0} is no chance of finding none")]
    Chance(f64),
    /// A row that is too short or too long.
    #[error("a candidate has {found} chances where {expected} were expected")]
    Length {
        /// chances given
        found: usize,
        /// targets times scenarios
        expected: usize,
    },
}

/// The chance of finding none of each target so far, a term each.
#[derive(Debug, Clone)]
pub struct State(pub(super) Vec<f64>);

impl Reach {
    /// From weights of the targets, probabilities of the scenarios, and for each candidate the
    /// chances of finding none: all scenarios of the first target, then of the second, ...
    pub fn new(
        weights: &[f64],
        scenarios: &[f64],
        none: impl IntoIterator<Item = Vec<f64>>,
    ) -> Result<Self, ReachError> {
        if let Some(w) = weights.iter().find(|w| !w.is_finite() || **w < 0.0) {
            return Err(ReachError::Weight(*w));
        }
        let total: f64 = scenarios.iter().sum();
        let positive = scenarios.iter().all(|p| *p >= 0.0);
        // weights of a quadrature are known to about 1e-12
        if !positive || (total - 1.0).abs() > 1e-9 {
            return Err(ReachError::Scenarios(total));
        }
        let expected = weights.len() * scenarios.len();
        let mut all = Vec::new();
        for row in none {
            if row.len() != expected {
                return Err(ReachError::Length {
                    found: row.len(),
                    expected,
                });
            }
            if let Some(p) = row.iter().find(|p| !(0.0..=1.0).contains(*p)) {
                return Err(ReachError::Chance(*p));
            }
            all.extend(row);
        }
        let worth = weights
            .iter()
            .flat_map(|w| scenarios.iter().map(move |p| w * p));
        Ok(Reach {
            targets: weights.len(),
            scenarios: scenarios.len(),
            worth: worth.collect(),
            none: all,
        })
    }

    /// Targets.
    pub fn targets(&self) -> usize {
        self.targets
    }

    pub(super) fn terms(&self) -> usize {
        self.worth.len()
    }

    pub(super) fn worth(&self) -> &[f64] {
        &self.worth
    }

    /// Chances of none of a candidate, by term.
    pub(super) fn row(&self, candidate: usize) -> &[f64] {
        let terms = self.terms();
        &self.none[candidate * terms..(candidate + 1) * terms]
    }

    /// Before any visit.
    pub fn start(&self) -> State {
        State(vec![1.0; self.terms()])
    }

    /// After visits.
    pub fn after(&self, places: &[usize]) -> State {
        let mut state = self.start();
        places.iter().for_each(|p| self.visit(&mut state, *p));
        state
    }

    /// One more visit.
    pub fn visit(&self, state: &mut State, candidate: usize) {
        let row = self.row(candidate);
        state.0.iter_mut().zip(row).for_each(|(n, z)| *n *= z);
    }

    /// What one more visit would add.
    pub fn gain(&self, state: &State, candidate: usize) -> f64 {
        let row = self.row(candidate);
        let terms = self.worth.iter().zip(&state.0).zip(row);
        terms.map(|((w, n), z)| w * n * (1.0 - z)).sum()
    }

    /// Targets expected to be found on visits, with their weights.
    pub fn value(&self, places: &[usize]) -> f64 {
        self.worth_of(&self.after(places))
    }

    pub(super) fn worth_of(&self, state: &State) -> f64 {
        let terms = self.worth.iter().zip(&state.0);
        terms.map(|(w, n)| w * (1.0 - n)).sum()
    }

    /// The chance of finding each target at least once; None for targets of no weight.
    pub fn chances(&self, places: &[usize]) -> Vec<Option<f64>> {
        self.chances_in(&self.after(places))
    }

    /// The same after visits.
    pub(super) fn chances_in(&self, state: &State) -> Vec<Option<f64>> {
        (0..self.targets)
            .map(|t| {
                let terms = t * self.scenarios..(t + 1) * self.scenarios;
                let weight: f64 = self.worth[terms.clone()].iter().sum();
                let found = terms.map(|i| self.worth[i] * (1.0 - state.0[i]));
                (weight > 0.0).then(|| found.sum::<f64>() / weight)
            })
            .collect()
    }
}
