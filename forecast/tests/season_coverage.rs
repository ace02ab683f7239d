//! Intervals of single seasons are tested by how often they hold the truth of odd seasons too. The
//! example runs 1,000 seasons a cell unless told otherwise; these are 60, so cells are taken together.

#[path = "../examples/season_coverage.rs"]
mod season_coverage;

use season_coverage::{Kind, QUANTITIES, TOGETHER, USUAL, cells, rates};

/// Picked before anything was known of it.
const FIRST_SEED: u64 = 400_001;
const SEEDS: u64 = 60;

/// Part held of all cells for which `inside` holds, by quantity. Shares of a passage that is over
/// are not asked.
fn pooled(
    found: &[([f64; 3], usize)],
    quantity: usize,
    inside: impl Fn(usize) -> bool,
) -> (f64, usize) {
    let cells = found.iter().enumerate().filter(|(i, _)| inside(*i));
    let asked = cells.filter(|(_, (held, _))| !held[quantity].is_nan());
    let (sum, n) = asked.fold((0.0, 0), |(sum, n), (_, (held, told))| {
        (sum + held[quantity] * *told as f64, n + told)
    });
    (sum / n as f64, n)
}

fn hold_four_times_in_five(kind: Kind) {
    let found = rates(kind, FIRST_SEED, SEEDS).unwrap();
    let cells = cells();
    for (quantity, name) in QUANTITIES.iter().enumerate() {
        for shift in 0..3 {
            let (held, n) = pooled(&found, quantity, |i| cells[i].0 == shift);
            println!("{name}, shift {shift}: {held:.3} of {n}");
            // 540 seasons at the most, of 60 passages: two standard errors are about 4 points
            assert!(
                (0.72..=0.90).contains(&held),
                "{name}, shift {shift}: {held}"
            );
        }
        let (held, n) = pooled(&found, quantity, |_| true);
        println!("{name}: {held:.3} of {n}");
        assert!((0.74..=0.86).contains(&held), "{name}: {held}");
    }
    let told: usize = found.iter().map(|f| f.1).sum();
    assert!(
        told as u64 > 9 * SEEDS * cells.len() as u64 / 10,
        "only {told} told"
    );
}

#[test]
fn intervals_hold_early_and_late_weak_and_strong_seasons_four_times_in_five() {
    hold_four_times_in_five(USUAL);
}

#[test]
fn so_they_do_where_weeks_go_up_and_down_together() {
    hold_four_times_in_five(TOGETHER);
}

/// The same sites, whose species learn from each other how weeks scatter or each from itself alone.
#[test]
fn strengths_hold_oftener_where_species_learn_from_each_other_how_weeks_scatter() {
    let at_the_end = |side_by_side| {
        let kind = Kind {
            side_by_side,
            ..TOGETHER
        };
        let found = rates(kind, FIRST_SEED, SEEDS).unwrap();
        let cells = cells();
        pooled(&found, 1, |i| cells[i].2 == 2).0
    };
    let (together, alone) = (at_the_end(true), at_the_end(false));
    println!("times, the end: {together:.3} together, {alone:.3} each alone");
    // 540 seasons, the same both times: an interval that only widens loses none that it held
    assert!(together > alone + 0.01, "{together} {alone}");
}
