//! A good choice quickly: the visit that adds most, again and again, then exchanges.

use super::reach::{Reach, State};
use super::rules::Field;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A candidate with what it added when last looked at.
#[derive(Debug, PartialEq)]
struct Promise {
    gain: f64,
    place: usize,
    /// Visits chosen when it was looked at.
    at: usize,
}

impl Eq for Promise {}

impl Ord for Promise {
    /// Equal gains go to the earlier candidate, so that a plan does not hang on chance.
    fn cmp(&self, other: &Self) -> Ordering {
        let gains = self.gain.total_cmp(&other.gain);
        gains.then(other.place.cmp(&self.place))
    }
}

impl PartialOrd for Promise {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Lazy greedy (Minoux 1978): what a visit adds only falls as visits are chosen, so a candidate
/// whose fresh gain still leads need not be held against the others' stale ones.
pub fn greedy(reach: &Reach, field: &Field) -> Vec<usize> {
    from(reach, field, Vec::new())
}

/// Goes on from a choice.
pub(super) fn from(reach: &Reach, field: &Field, mut chosen: Vec<usize>) -> Vec<usize> {
    let mut state = reach.after(&chosen);
    let promise = |state: &State, place: usize, at: usize| Promise {
        gain: reach.gain(state, place),
        place,
        at,
    };
    let free = (0..field.len()).filter(|c| !chosen.contains(c));
    let mut heap: BinaryHeap<Promise> = free.map(|c| promise(&state, c, chosen.len())).collect();
    while let Some(next) = heap.pop() {
        // rules only forbid: what does not fit now never will
        if !field.allows(&chosen, next.place) {
            continue;
        }
        if next.at < chosen.len() {
            heap.push(promise(&state, next.place, chosen.len()));
            continue;
        }
        reach.visit(&mut state, next.place);
        chosen.push(next.place);
    }
    chosen
}

/// Passes over the plan end at the latest here; it has always ended by itself long before.
const MOST_PASSES: usize = 50;

/// Exchanges one visit for another as long as that gains, and fills places that come free.
pub fn exchange(reach: &Reach, field: &Field, chosen: &mut Vec<usize>) {
    for _ in 0..MOST_PASSES {
        let before = reach.value(chosen);
        for i in 0..chosen.len() {
            let out = chosen[i];
            let rest: Vec<usize> = chosen.iter().copied().filter(|c| *c != out).collect();
            let state = reach.after(&rest);
            let mut best = (reach.gain(&state, out) * (1.0 + 1e-12), out);
            for c in (0..field.len()).filter(|c| !chosen.contains(c)) {
                let gain = reach.gain(&state, c);
                if gain > best.0 && field.allows(&rest, c) {
                    best = (gain, c);
                }
            }
            chosen[i] = best.1;
        }
        *chosen = from(reach, field, std::mem::take(chosen));
        if reach.value(chosen) <= before * (1.0 + 1e-12) {
            return;
        }
    }
}
