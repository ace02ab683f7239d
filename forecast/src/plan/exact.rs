//! The best choice, by branch and bound, where candidates are few enough.

use super::reach::{Reach, State};
use super::rules::Field;

struct Search<'a> {
    reach: &'a Reach,
    field: &'a Field<'a>,
    best: Vec<usize>,
    value: f64,
    nodes_left: usize,
}

/// The best choice, not worse than `from`; None where it was not proven within so many nodes.
pub fn search(reach: &Reach, field: &Field, from: &[usize], nodes: usize) -> Option<Vec<usize>> {
    let mut search = Search {
        reach,
        field,
        best: from.to_vec(),
        value: reach.value(from),
        nodes_left: nodes,
    };
    let all: Vec<usize> = (0..field.len()).collect();
    let mut chosen = Vec::new();
    search
        .branch(&mut chosen, reach.start(), all)
        .then_some(search.best)
}

impl Search<'_> {
    /// Looks at all choices that hold `chosen` and any of `free`; false when nodes run out.
    fn branch(&mut self, chosen: &mut Vec<usize>, state: State, free: Vec<usize>) -> bool {
        if self.nodes_left == 0 {
            return false;
        }
        self.nodes_left -= 1;
        let value = self.reach.worth_of(&state);
        if value > self.value {
            self.value = value;
            self.best = chosen.clone();
        }
        let mut open: Vec<(f64, usize)> = free
            .into_iter()
            .filter(|c| self.field.allows(chosen, *c))
            .map(|c| (self.reach.gain(&state, c), c))
            .collect();
        open.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let left = self.field.rules().visits - chosen.len();
        while !open.is_empty() {
            // gains only fall (submodular), so the largest ones bound what any choice adds
            let most: f64 = open.iter().take(left).map(|(g, _)| g).sum();
            // rounding in sums of a few thousand terms
            if value + most <= self.value + 1e-12 {
                return true;
            }
            let (_, first) = open.remove(0);
            let mut state = state.clone();
            self.reach.visit(&mut state, first);
            chosen.push(first);
            let free = open.iter().map(|(_, c)| *c).collect();
            let done = self.branch(chosen, state, free);
            chosen.pop();
            if !done {
                return false;
            }
        }
        true
    }
}
