//! The most that a linear worth of visits can come to under the rules: the part of the bound
//! that can be solved at once.

use super::rules::Field;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// An upper limit of the sum of `worth` over any choice within the rules, and the visits that
/// reach it, which need not keep all rules: it is the better of two relaxations, one that keeps
/// the limits of days and weeks and one that keeps the gaps at each site.
pub(super) fn most(field: &Field, worth: &[f64]) -> (f64, Vec<usize>) {
    let crowded = by_crowding(field, worth);
    if field.rules().least_gap_days <= 1 {
        return crowded;
    }
    let spaced = by_spacing(field, worth);
    if spaced.0 < crowded.0 {
        spaced
    } else {
        crowded
    }
}

fn total(worth: &[f64], chosen: &[usize]) -> f64 {
    chosen.iter().map(|c| worth[*c]).sum()
}

/// Days within weeks within the whole are nested limits (a laminar matroid), for which taking
/// the largest that still fits is best (Edmonds 1971).
fn by_crowding(field: &Field, worth: &[f64]) -> (f64, Vec<usize>) {
    let rules = field.rules();
    let mut order: Vec<usize> = (0..field.len()).filter(|c| worth[*c] > 0.0).collect();
    order.sort_by(|a, b| worth[*b].total_cmp(&worth[*a]).then(a.cmp(b)));
    let mut days: BTreeMap<NaiveDate, usize> = BTreeMap::new();
    let mut weeks: BTreeMap<NaiveDate, usize> = BTreeMap::new();
    for made in field.made() {
        *days.entry(made.date).or_default() += 1;
        let week = crate::calendar::IsoWeek::of(made.date).monday();
        *weeks.entry(week).or_default() += 1;
    }
    let mut chosen = Vec::new();
    for c in order {
        let day = days.entry(field.candidate(c).date).or_default();
        let week = weeks.entry(field.week(c)).or_default();
        let fits = *day < rules.teams && rules.most_per_week.is_none_or(|m| *week < m);
        if fits && chosen.len() < rules.visits {
            (*day, *week) = (*day + 1, *week + 1);
            chosen.push(c);
        }
    }
    (total(worth, &chosen), chosen)
}

/// The best `n` visits of one site that keep its gaps, n = 0, 1, ...: by dynamic programming over
/// its dates; then the best way to share the visits among the sites.
fn by_spacing(field: &Field, worth: &[f64]) -> (f64, Vec<usize>) {
    let mut sites: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for c in (0..field.len()).filter(|c| worth[*c] > 0.0 && field.allows(&[], *c)) {
        sites.entry(field.candidate(c).site).or_default().push(c);
    }
    let visits = field.rules().visits;
    let mut best: Vec<(f64, Vec<usize>)> = vec![(0.0, Vec::new()); visits + 1];
    for (_, mut dates) in sites {
        dates.sort_by_key(|c| field.candidate(*c).date);
        let alone = one_site(field, worth, &dates);
        let shared = (0..=visits).map(|n| {
            let split = (0..=n).map(|k| (best[n - k].0 + alone[k].0, k));
            let (value, k) = split.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, 0));
            let both = best[n - k].1.iter().chain(&alone[k].1);
            (value, both.copied().collect())
        });
        best = shared.collect();
    }
    best.pop().unwrap_or_default()
}

fn one_site(field: &Field, worth: &[f64], dates: &[usize]) -> Vec<(f64, Vec<usize>)> {
    let rules = field.rules();
    let visits = rules.visits;
    // table[i][n]: the most from the first i dates with n visits at most
    let mut table = vec![vec![0.0; visits + 1]];
    let before: Vec<usize> = dates
        .iter()
        .map(|c| {
            let date = field.candidate(*c).date;
            let clear =
                |d: &usize| (date - field.candidate(*d).date).num_days() >= rules.least_gap_days;
            dates.partition_point(clear)
        })
        .collect();
    for (i, c) in dates.iter().enumerate() {
        let row = (0..=visits).map(|n| match n {
            0 => 0.0,
            n => f64::max(table[i][n], worth[*c] + table[before[i]][n - 1]),
        });
        table.push(row.collect());
    }
    (0..=visits)
        .map(|visits| {
            let (mut i, mut n, mut chosen) = (dates.len(), visits, Vec::new());
            while i > 0 && n > 0 {
                if table[i][n] > table[i - 1][n] {
                    chosen.push(dates[i - 1]);
                    (i, n) = (before[i - 1], n - 1);
                } else {
                    i -= 1;
                }
            }
            (table[dates.len()][visits], chosen)
        })
        .collect()
}
