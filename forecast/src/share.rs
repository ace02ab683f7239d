//! The share of each member of a look-alike set on a date: a smoothed window ratio.

use crate::calendar::DayOfYear;
use crate::series::CountSeries;

/// Days on either side of the date.
pub const NEAR_DAYS: u16 = 7;
/// Days on either side where the nearer window holds too few birds.
pub const WIDE_DAYS: u16 = 14;
/// Too few birds for the nearer window.
pub const FEW_BIRDS: u64 = 20;
/// Birds spread over the members by their shares of all seasons, so that none reads 0.
pub const FLOOR_BIRDS: f64 = 0.5;

/// Shares of a set's members, in the order given.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Positive, summing to 1.
    pub shares: Vec<f64>,
    /// Birds counted in the window on which they stand.
    pub effective_birds: f64,
    /// Days on either side of the date that were used.
    pub reach_days: u16,
}

/// Shares on a day of the year from the counts of all years, years weighted equally. Empty for
/// an empty set.
pub fn shares(members: &[&CountSeries], day: DayOfYear) -> Shares {
    let near = birds_within(members, day, NEAR_DAYS);
    let few = near.iter().sum::<u64>() < FEW_BIRDS;
    let (birds, reach_days) = if few {
        (birds_within(members, day, WIDE_DAYS), WIDE_DAYS)
    } else {
        (near, NEAR_DAYS)
    };
    let all: Vec<f64> = members
        .iter()
        .map(|s| s.birds() as f64 + FLOOR_BIRDS)
        .collect();
    let all_total: f64 = all.iter().sum();
    let total: f64 = birds.iter().map(|b| *b as f64).sum();
    let share =
        |(b, a): (&u64, &f64)| (*b as f64 + FLOOR_BIRDS * a / all_total) / (total + FLOOR_BIRDS);
    Shares {
        shares: birds.iter().zip(&all).map(share).collect(),
        effective_birds: total,
        reach_days,
    }
}

fn birds_within(members: &[&CountSeries], day: DayOfYear, reach: u16) -> Vec<u64> {
    let near = |series: &&CountSeries| {
        let counted = series
            .known()
            .filter(|(v, _)| v.day().distance(day) <= reach);
        counted.map(|(_, c)| u64::from(c.birds())).sum()
    };
    members.iter().map(near).collect()
}
