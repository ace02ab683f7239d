//! How early or late the beginning and the end of each past season ran. A season whose first
//! birds come early need not end early: its time is stretched from the arrival's shift to the
//! departure's, and both are found together, the season's level profiled out.

use crate::passage::best_level::best_level;
use crate::passage::curve::{PassageCurve, Sighting};
use crate::season_shift::SeasonShift;

/// Shifts are looked for within this many days ...
const REACH_DAYS: i32 = 20;
/// ... on a grid of this many ...
const STEP_DAYS: usize = 2;
/// ... under a belief that hardly pulls: standard deviation in days. It is taken out again.
const BELIEF_SD_DAYS: f64 = 8.0;

/// Dates of the long-term curve, in days from the first day of its stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LongTerm {
    arrival: f64,
    median: f64,
    departure: f64,
}

impl LongTerm {
    /// None unless the dates follow one another.
    pub fn new(arrival: f64, median: f64, departure: f64) -> Option<Self> {
        (arrival < median && median < departure).then_some(LongTerm {
            arrival,
            median,
            departure,
        })
    }

    /// 0 until the arrival, 1 from the departure on, and evenly between.
    fn part(self, offset: f64) -> f64 {
        ((offset - self.arrival) / (self.departure - self.arrival)).clamp(0.0, 1.0)
    }
}

/// Shifts of a passage's dates, for the seasons whose counts tell them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Flanks {
    /// Of the arrival.
    pub arrival: Vec<SeasonShift>,
    /// Of the median.
    pub median: Vec<SeasonShift>,
    /// Of the departure.
    pub departure: Vec<SeasonShift>,
}

/// A point of the grid, with its unnormalised log belief and log likelihood.
struct Node {
    early: f64,
    late: f64,
    belief: f64,
    likelihood: f64,
}

/// Shifts of every season against the passage's curve; `years` names the seasons by the index
/// that the sightings hold.
pub fn flanks(
    curve: &PassageCurve,
    dates: LongTerm,
    years: &[i32],
    sightings: &[Sighting],
) -> Flanks {
    let mut flanks = Flanks::default();
    for (season, year) in years.iter().enumerate() {
        let own: Vec<Sighting> = sightings
            .iter()
            .filter(|s| s.season == season)
            .copied()
            .collect();
        let grid = grid(curve, dates, &own);
        let middle = dates.part(dates.median);
        let shift = |late: f64| told(&grid, *year, late);
        flanks.arrival.extend(shift(0.0));
        flanks.median.extend(shift(middle));
        flanks.departure.extend(shift(1.0));
    }
    flanks
}

/// A mixture of both shifts, `late` of it the later one's, with the belief taken out again: that
/// on the grid, which its edges cut. The other shift is integrated over its belief.
fn told(grid: &[Node], year: i32, late: f64) -> Option<SeasonShift> {
    let (usual, loose) = moments(grid, late, |n| n.belief);
    let (mean, sd) = moments(grid, late, |n| n.belief + n.likelihood);
    // between points of the grid nothing can be told apart
    let least = STEP_DAYS as f64 / 12.0_f64.sqrt();
    let told = SeasonShift::from_posterior(year, mean - usual, sd.max(least), loose)?;
    SeasonShift::new(year, told.shift_days() + usual, told.sd_days()).ok()
}

/// Mean and standard deviation of the mixture under a log density.
fn moments(grid: &[Node], late: f64, density: impl Fn(&Node) -> f64) -> (f64, f64) {
    let top = grid.iter().map(&density).fold(f64::NEG_INFINITY, f64::max);
    let (mut total, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for node in grid {
        let weight = (density(node) - top).exp();
        let shift = (1.0 - late) * node.early + late * node.late;
        total += weight;
        sum += weight * shift;
        squares += weight * shift * shift;
    }
    let mean = sum / total;
    (mean, (squares / total - mean * mean).max(0.0).sqrt())
}

fn grid(curve: &PassageCurve, dates: LongTerm, own: &[Sighting]) -> Vec<Node> {
    let steps = || (-REACH_DAYS..=REACH_DAYS).step_by(STEP_DAYS).map(f64::from);
    let length = dates.departure - dates.arrival;
    let mut level = 0.0;
    let mut nodes = Vec::new();
    for early in steps() {
        // a season does not end before it begins: time must not run backwards
        for late in steps().filter(|late| early - late < length) {
            let means: Vec<f64> = own
                .iter()
                .map(|s| {
                    let offset = s.offset as f64;
                    let part = dates.part(offset);
                    curve.log_mean(offset - (1.0 - part) * early - part * late) + s.log_effort
                })
                .collect();
            let (best, likelihood) = best_level(curve, own, &means, level);
            level = best;
            let belief = -0.5 * (early.powi(2) + late.powi(2)) / BELIEF_SD_DAYS.powi(2);
            nodes.push(Node {
                early,
                late,
                belief,
                likelihood,
            });
        }
    }
    nodes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::passage::curve;
    use crate::series::Count;
    use crate::trend::{LongTermChange, Moved};
    use rand::{Rng, SeedableRng};
    use rand_distr::{Distribution, Gamma, Normal, Poisson};
    use rand_pcg::Pcg64Mcg;

    /// Twenty springs of a species that comes earlier by 4 days a decade and leaves later by 3.
    /// Bell of standard deviation 10 days about day 50, time stretched from its 5 % to its 95 %
    /// day, negative binomial of size 1, every third day visited.
    fn springs(seed: u64) -> (Vec<i32>, Vec<Sighting>) {
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let normal = Normal::new(0.0, 1.0).unwrap();
        let dates = truth();
        let years: Vec<i32> = (1992..2012).collect();
        let mut sightings = Vec::new();
        for (season, year) in years.iter().enumerate() {
            let decades = f64::from(year - 2001) / 10.0;
            let own = 2.0 * normal.sample(&mut random);
            let (early, late) = (own - 4.0 * decades, own + 3.0 * decades);
            let level = 0.4 * normal.sample(&mut random);
            for offset in (random.random_range(0..3)..100).step_by(3) {
                let part = dates.part(offset as f64);
                let at = offset as f64 - (1.0 - part) * early - part * late - 50.0;
                let mean = (2.5 + level - 0.5 * (at / 10.0).powi(2)).exp();
                let rate = mean * Gamma::new(1.0, 1.0).unwrap().sample(&mut random);
                let count = if rate > 0.0 {
                    Poisson::new(rate).unwrap().sample(&mut random)
                } else {
                    0.0
                };
                let count = Count::Exactly(count as u32);
                sightings.push(Sighting {
                    offset,
                    season,
                    log_effort: 0.0,
                    count,
                });
            }
        }
        (years, sightings)
    }

    fn truth() -> LongTerm {
        LongTerm::new(50.0 - 16.4, 50.0, 50.0 + 16.4).unwrap()
    }

    #[test]
    fn a_longer_stay_is_told_from_a_shift() {
        let mut held = [0, 0, 0];
        let mut moved = 0;
        let mut slopes = [0.0; 3];
        const SEEDS: u64 = 40;
        for seed in 0..SEEDS {
            let (years, sightings) = springs(seed);
            let curve = curve::fit(100, &vec![0.0; years.len()], &sightings).unwrap();
            let flanks = flanks(&curve, truth(), &years, &sightings);
            let c = LongTermChange::of(&flanks.arrival, &flanks.median, &flanks.departure);
            let all = [c.arrival.unwrap(), c.median.unwrap(), c.departure.unwrap()];
            for (i, (change, truth)) in all.iter().zip([-4.0, -0.5, 3.0]).enumerate() {
                held[i] += i32::from(change.interval.0 <= truth && truth <= change.interval.1);
                slopes[i] += change.days_per_decade / SEEDS as f64;
            }
            moved += i32::from(all[0].moved == Moved::Earlier && all[2].moved != Moved::Earlier);
        }
        // 95 % of 40 is 38; 34 or fewer would come by chance in 5 of 100
        assert!(held.iter().all(|h| *h >= 34), "{held:?}");
        assert!(
            (slopes[0] + 4.0).abs() < 1.0 && (slopes[2] - 3.0).abs() < 1.0,
            "{slopes:?}"
        );
        assert!(moved >= 25, "{moved} {held:?} {slopes:?}");
    }

    #[test]
    fn a_season_without_birds_tells_nothing() {
        let (years, mut sightings) = springs(1);
        let curve = curve::fit(100, &vec![0.0; years.len()], &sightings).unwrap();
        sightings.retain(|s| s.season != 3);
        let flanks = flanks(&curve, truth(), &years, &sightings);
        assert!(flanks.arrival.iter().all(|s| s.year() != years[3]));
        assert!(flanks.arrival.iter().any(|s| s.year() == years[4]));
    }

    #[test]
    fn dates_must_follow_one_another() {
        assert_eq!(LongTerm::new(10.0, 9.0, 20.0), None);
        assert_eq!(LongTerm::new(10.0, f64::NAN, 20.0), None);
    }
}
