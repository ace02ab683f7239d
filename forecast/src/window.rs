//! Dates read off a curve: peak, trough, and the days by which a part of a passage has gone
//! through. Rates are expected counts a day; indices count from 0.

use std::cmp::Ordering;

/// Index of the highest rate, the first of equals.
pub fn peak(rates: &[f64]) -> usize {
    extreme(rates, Ordering::Greater)
}

/// Index of the lowest rate, the first of equals.
pub fn trough(rates: &[f64]) -> usize {
    extreme(rates, Ordering::Less)
}

fn extreme(rates: &[f64], wanted: Ordering) -> usize {
    (1..rates.len()).fold(0, |best, i| {
        if rates[i].total_cmp(&rates[best]) == wanted {
            i
        } else {
            best
        }
    })
}

/// On a circle of days: the first and last day, going round from the trough, on which the rate
/// is at least `part` of the peak. None where the rate never falls below that.
pub fn first_and_last_at_or_above(rates: &[f64], part: f64) -> Option<(usize, usize)> {
    let (n, start) = (rates.len(), trough(rates));
    let bar = part * rates[peak(rates)];
    if rates[start] >= bar {
        return None;
    }
    let above: Vec<usize> = (0..n)
        .map(|i| (start + i) % n)
        .filter(|i| rates[*i] >= bar)
        .collect();
    Some((*above.first()?, *above.last()?))
}

/// On a circle of days: the day by which the part `p` of the year's total has gone through,
/// counted from day `from`.
pub fn quantile_day(rates: &[f64], from: usize, p: f64) -> usize {
    let n = rates.len();
    let turned: Vec<f64> = (0..n).map(|i| rates[(from + i) % n]).collect();
    let at = quantile(&turned, p).map_or(0, |x| (x - 0.5).ceil().max(0.0) as usize);
    (from + at.min(n - 1)) % n
}

/// The position by which the part `p` of the total has gone through, in fractions of a day; day
/// `i` spreads evenly over `i - 0.5 .. i + 0.5`. None where nothing goes through.
pub fn quantile(rates: &[f64], p: f64) -> Option<f64> {
    let total: f64 = rates.iter().sum();
    if !total.is_finite() || total <= 0.0 {
        return None;
    }
    let goal = p * total;
    let mut sum = 0.0;
    for (i, rate) in rates.iter().enumerate().filter(|(_, r)| **r > 0.0) {
        if sum + rate >= goal {
            return Some(i as f64 - 0.5 + ((goal - sum) / rate).clamp(0.0, 1.0));
        }
        sum += rate;
    }
    // rounding in the sum: the last day with any passage
    rates.iter().rposition(|r| *r > 0.0).map(|i| i as f64 + 0.5)
}

/// The highest point of a smooth curve sampled by day: the vertex of the parabola through the
/// logarithms of the highest day and its neighbours.
pub fn smooth_peak(rates: &[f64]) -> f64 {
    let top = peak(rates);
    if top == 0 || top + 1 >= rates.len() {
        return top as f64;
    }
    let [before, at, after] = [rates[top - 1].ln(), rates[top].ln(), rates[top + 1].ln()];
    let bend = before - 2.0 * at + after;
    if !bend.is_finite() || bend >= 0.0 {
        return top as f64;
    }
    top as f64 + (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
}
