//! The forecasts that ours must beat: what a careful person works out by hand from the counts of
//! earlier years on nearby dates.

use crate::calendar::{DAYS, DayOfYear};
use crate::negative_binomial::Dispersion;
use crate::series::{Count, CountSeries};

/// Days on either side of the date whose counts are used ...
pub const NEAR_DAYS: usize = 7;
/// ... and where no visit fell so near.
pub const WIDE_DAYS: usize = 14;
/// Years of the short climatology.
pub const LAST_YEARS: i32 = 5;
/// Size of the negative binomial where counts scatter no more than a Poisson would, and the
/// largest that is used.
pub const LARGEST_SIZE: f64 = 20.0;
/// The smallest size that is used.
pub const SMALLEST_SIZE: f64 = 0.03;

/// What earlier years say of one day of the year: a negative binomial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climate {
    /// Mean count on a visit, (sum + 1/4) / (visits + 1).
    pub mean: f64,
    /// Its scatter.
    pub size: Dispersion,
    /// Visits of earlier years that it rests on; none: the mean is 1/4 a visit and a guess.
    pub visits: u32,
}

impl Climate {
    /// Probability of finding none on a visit.
    pub fn zero(&self) -> f64 {
        self.size.zero(self.mean)
    }
}

/// The hand climatology of one species at one site, for every day of the year.
///
/// Counts enter as the number that was written (at least 3 and about 3 are 3, *present* is 1) and
/// effort is left out, as a hand calculation would. Days are near each other the shorter way
/// round the year; *earlier* means an earlier calendar year.
#[derive(Debug, Clone)]
pub struct Climatology {
    days: Vec<Climate>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    visits: u32,
    birds: f64,
    squares: f64,
}

impl Sums {
    fn add(self, other: Sums) -> Sums {
        Sums {
            visits: self.visits + other.visits,
            birds: self.birds + other.birds,
            squares: self.squares + other.squares,
        }
    }
}

impl Climatology {
    /// From the years before `before_year`: all of them, or only the `last_years` just before it.
    pub fn new(series: &CountSeries, before_year: i32, last_years: Option<i32>) -> Self {
        let from = last_years.map_or(i32::MIN, |n| before_year.saturating_sub(n));
        let mut by_day = [Sums::default(); DAYS];
        let earlier = series
            .known()
            .filter(|(v, _)| (from..before_year).contains(&v.year()));
        for (visit, count) in earlier {
            let day = &mut by_day[visit.day().index()];
            *day = day.add(of_one(count));
        }
        let climate = |day| {
            let near = window(&by_day, day, NEAR_DAYS);
            climate(if near.visits > 0 {
                near
            } else {
                window(&by_day, day, WIDE_DAYS)
            })
        };
        Climatology {
            days: (0..DAYS).map(climate).collect(),
        }
    }

    /// What it says of a day of the year.
    pub fn at(&self, day: DayOfYear) -> Climate {
        self.days[day.index()]
    }

    /// Chance of finding at least one on visits on these days (a day may occur twice), visits
    /// taken as independent.
    pub fn presence(&self, days: &[DayOfYear]) -> f64 {
        1.0 - days.iter().map(|d| self.at(*d).zero()).product::<f64>()
    }
}

fn of_one(count: Count) -> Sums {
    let birds = f64::from(count.birds());
    Sums {
        visits: 1,
        birds,
        squares: birds * birds,
    }
}

fn window(by_day: &[Sums; DAYS], day: usize, reach: usize) -> Sums {
    (0..=2 * reach)
        .map(|i| by_day[(day + DAYS + i - reach) % DAYS])
        .fold(Sums::default(), Sums::add)
}

/// The size by moments, mean^2 / (variance - mean). The variance is the sample's with n - 1, as
/// a spreadsheet's VAR gives; its mean is the plain one.
fn climate(sums: Sums) -> Climate {
    let n = f64::from(sums.visits);
    let mean = (sums.birds + 0.25) / (n + 1.0);
    let variance = if sums.visits < 2 {
        0.0
    } else {
        (sums.squares - sums.birds * sums.birds / n) / (n - 1.0)
    };
    let size = if variance > mean {
        // held to a range by definition: few counts give absurd sizes
        (mean * mean / (variance - mean)).clamp(SMALLEST_SIZE, LARGEST_SIZE)
    } else {
        LARGEST_SIZE
    };
    Climate {
        mean,
        size: Dispersion::Theta(size),
        visits: sums.visits,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::Visit;
    use chrono::{Datelike, Duration, NaiveDate};
    use rand::{Rng, SeedableRng};
    use rand_pcg::Pcg64Mcg;

    fn series(rows: &[(NaiveDate, Count)]) -> CountSeries {
        let visit = |(date, _): &(NaiveDate, Count)| Visit {
            date: *date,
            log_effort_ratio: 0.7,
        };
        let visits = rows.iter().map(visit).collect();
        CountSeries::new(visits, rows.iter().map(|r| r.1).collect()).expect("in order")
    }

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).expect("a date")
    }

    fn day(n: u16) -> DayOfYear {
        DayOfYear::try_from(n).expect("a day of the year")
    }

    fn random_series(seed: u64) -> CountSeries {
        let mut random = Pcg64Mcg::seed_from_u64(seed);
        let mut at = date(2001, 11, 20);
        let mut rows = Vec::new();
        while at.year() < 2012 {
            // gaps of up to five weeks leave days with no visit near
            at += Duration::days(random.random_range(0..35));
            let n = random.random_range(0..40u32);
            rows.push((
                at,
                [
                    Count::Exactly(n / 10 * n),
                    Count::AtLeast(n),
                    Count::About(n),
                    Count::Present,
                    Count::Unknown,
                ][random.random_range(0..5)],
            ));
        }
        series(&rows)
    }

    /// As one would do it with a table and a calculator.
    fn by_hand(series: &CountSeries, years: std::ops::Range<i32>, on: DayOfYear) -> Climate {
        let within = |reach: u16| -> Vec<f64> {
            let near = |v: &Visit| years.contains(&v.year()) && v.day().distance(on) <= reach;
            let known = series.known().filter(|(v, _)| near(v));
            known.map(|(_, c)| f64::from(c.birds())).collect()
        };
        let mut counts = within(7);
        if counts.is_empty() {
            counts = within(14);
        }
        let n = counts.len() as f64;
        let plain = counts.iter().sum::<f64>() / n;
        let mean = (counts.iter().sum::<f64>() + 0.25) / (n + 1.0);
        let squares: f64 = counts.iter().map(|c| (c - plain).powi(2)).sum();
        let variance = squares / (n - 1.0);
        let mut size = 20.0;
        if n >= 2.0 && variance > mean {
            size = (mean * mean / (variance - mean)).clamp(0.03, 20.0);
        }
        Climate {
            mean,
            size: Dispersion::Theta(size),
            visits: counts.len() as u32,
        }
    }

    #[test]
    fn agrees_with_the_hand_calculation_on_every_day() {
        for seed in 0..4 {
            let series = random_series(seed);
            for (last, years) in [(None, 2001..2010), (Some(5), 2005..2010)] {
                let climatology = Climatology::new(&series, 2010, last);
                for d in 1..=366 {
                    let (fast, slow) = (
                        climatology.at(day(d)),
                        by_hand(&series, years.clone(), day(d)),
                    );
                    let (a, b) = (fast.size.theta(), slow.size.theta());
                    let (a, b) = (a.expect("a size"), b.expect("a size"));
                    assert_eq!(fast.visits, slow.visits, "{seed} {d}");
                    assert!((fast.mean - slow.mean).abs() < 1e-12, "{seed} {d}");
                    assert!((a / b - 1.0).abs() < 1e-9, "{seed} {d}: {a} {b}");
                }
            }
        }
    }

    #[test]
    fn a_worked_example() {
        let rows = [
            (date(2007, 5, 3), Count::Exactly(4)),
            (date(2008, 5, 1), Count::Exactly(0)),
            (date(2009, 5, 9), Count::About(8)),
            (date(2010, 5, 2), Count::Exactly(99)),
        ];
        let climatology = Climatology::new(&series(&rows), 2010, None);
        let may2 = climatology.at(day(122));
        // counts 4, 0, 8: mean 12.25/4, variance 16, size 3.0625^2 / 12.9375
        assert_eq!(may2.visits, 3);
        assert_eq!(may2.mean, 3.0625);
        assert_eq!(may2.size, Dispersion::Theta(3.0625 * 3.0625 / 12.9375));
        let zero = may2.zero();
        let twice = climatology.presence(&[day(122), day(122)]);
        assert!((twice - (1.0 - zero * zero)).abs() < 1e-15);
        assert_eq!(climatology.presence(&[]), 0.0);
        // 20 May (140) is within 14 days of the visit of 9 May (129) only
        assert_eq!(climatology.at(day(140)).visits, 1);
        // 1 January is near nothing
        let bare = climatology.at(day(1));
        assert_eq!((bare.mean, bare.visits), (0.25, 0));
        assert_eq!(bare.size, Dispersion::Theta(20.0));
    }

    #[test]
    fn the_year_that_is_forecast_and_later_ones_stay_out() {
        let rows = [
            (date(2004, 6, 1), Count::Exactly(100)),
            (date(2005, 6, 1), Count::Exactly(1)),
            (date(2010, 6, 1), Count::Exactly(100)),
            (date(2011, 6, 1), Count::Exactly(100)),
        ];
        let five = Climatology::new(&series(&rows), 2010, Some(LAST_YEARS));
        assert_eq!(five.at(day(152)).visits, 1);
        assert_eq!(five.at(day(152)).mean, 1.25 / 2.0);
        assert_eq!(
            Climatology::new(&series(&rows), 2010, None)
                .at(day(152))
                .visits,
            2
        );
    }

    #[test]
    fn new_year_is_no_wall() {
        let rows = [(date(2008, 12, 30), Count::Exactly(3))];
        let climatology = Climatology::new(&series(&rows), 2009, None);
        assert_eq!(
            climatology.at(day(6)).visits,
            1,
            "30 December 2008 is day 365"
        );
        assert_eq!(climatology.at(day(14)).visits, 0);
    }
}
