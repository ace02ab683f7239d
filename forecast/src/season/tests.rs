mod weeks;

use super::*;
use crate::series::{Count, Visit};
use chrono::Duration;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64Mcg;

const STRETCH: Stretch = Stretch {
    first: 59,
    length: 131,
    after_gap: true,
    before_gap: true,
};

fn date(year: i32, day: i64) -> NaiveDate {
    NaiveDate::from_yo_opt(year, 60).unwrap() + Duration::days(day)
}

/// A passage about day 65 of the stretch, visited daily; `birds` a usual season.
struct Site {
    visits: Vec<Visit>,
    counts: Vec<Count>,
    random: Pcg64Mcg,
}

impl Site {
    fn new(seed: u64) -> Self {
        Site {
            visits: Vec::new(),
            counts: Vec::new(),
            random: Pcg64Mcg::seed_from_u64(seed),
        }
    }

    /// A season that runs late by `shift` at `times` the numbers, its weeks up and down together
    /// by `weeks` on the log scale.
    fn season(mut self, year: i32, shift: f64, times: f64, weeks: f64, until: i64) -> Self {
        let mut week = 0.0;
        for day in 0..until {
            if day % 7 == 0 {
                let z: f64 = StandardNormal.sample(&mut self.random);
                week = weeks * z;
            }
            let z = (day as f64 - 65.0 - shift) / 10.0;
            let mean = times * 16.0 * (-0.5 * z * z + week - 0.5 * weeks * weeks).exp();
            let rate = Gamma::new(3.0, mean / 3.0)
                .unwrap()
                .sample(&mut self.random);
            let birds = Poisson::new(rate.max(1e-9))
                .unwrap()
                .sample(&mut self.random);
            self.visits.push(Visit {
                date: date(year, day),
                log_effort_ratio: 0.0,
            });
            self.counts.push(Count::Exactly(birds as u32));
        }
        self
    }

    fn usual(mut self, years: std::ops::Range<i32>, weeks: f64) -> Self {
        for year in years {
            let shift = 2.0 * self.random.sample::<f64, _>(StandardNormal);
            let level = 0.4 * self.random.sample::<f64, _>(StandardNormal);
            self = self.season(year, shift, level.exp(), weeks, 131);
        }
        self
    }

    fn series(&self) -> CountSeries {
        CountSeries::new(self.visits.clone().into(), self.counts.clone()).unwrap()
    }
}

fn learnt(series: &CountSeries, season: i32, against: Against) -> LongTerm {
    LongTerm::learn(series, &STRETCH, season, against).unwrap()
}

#[test]
fn a_season_a_week_late_at_twice_the_numbers_is_told_so() {
    let site = Site::new(1)
        .usual(2000..2015, 0.0)
        .season(2015, 7.0, 2.0, 0.0, 131);
    let series = site.series();
    let long_term = learnt(&series, 2015, Against::Earlier);
    let whole = long_term.course(&series, date(2015, 130)).standing.unwrap();
    assert!((whole.shift.middle - 7.0).abs() < 2.5, "{whole:?}");
    assert!((whole.times.middle - 2.0).abs() < 0.8, "{whole:?}");
    assert!(whole.share.low > 0.99, "{whole:?}");
    assert!(
        whole.oddness.chance < 0.05 && whole.oddness.timing_chance < 0.05,
        "{whole:?}"
    );
    // the part through rises with the days, and this late season is behind the usual one
    let mut before = 0.0;
    for day in [60, 66, 72, 80, 95] {
        let so_far = long_term.course(&series, date(2015, day));
        let share = so_far.standing.unwrap().share;
        assert!(share.low <= share.middle && share.middle <= share.high);
        assert!(
            share.middle > before && share.middle < so_far.usual_share,
            "{day}: {share:?}"
        );
        before = share.middle;
    }
}

#[test]
fn the_grid_agrees_with_a_dense_one() {
    let site = Site::new(2)
        .usual(2000..2010, 0.0)
        .season(2010, -3.0, 0.3, 0.0, 60);
    let series = site.series();
    let long_term = learnt(&series, 2010, Against::Earlier);
    let curve = &long_term.own.curve;
    let sightings = long_term.sightings(&series, date(2010, 130));
    let grid = Grid::new(curve, &sightings);
    let fast = grid.moments();
    let (mut total, mut sums) = (0.0, [0.0; 5]);
    for i in 0..=240 {
        let shift = f64::from(i) * 0.25 - 30.0;
        for j in 0..=500 {
            let level = f64::from(j) * 0.03 - 9.0;
            let mut log = -0.5 * (level / 3.0_f64).powi(2);
            for s in &sightings {
                let mean = (curve.log_mean(s.offset as f64 - shift) + level).exp();
                log += curve.dispersion.ln_pmf(s.count.birds(), mean);
            }
            // far below the best there is nothing; -400 keeps the exponent within reach
            let weight = (log + 40.0).exp();
            total += weight;
            let parts = [shift, level, shift * shift, level * level, shift * level];
            parts
                .iter()
                .zip(&mut sums)
                .for_each(|(p, s)| *s += weight * p);
        }
    }
    let [shift, level, squares, level_squares, both] = sums.map(|s| s / total);
    assert!((fast.shift - shift).abs() < 0.02, "{} {shift}", fast.shift);
    assert!((fast.level - level).abs() < 0.005, "{} {level}", fast.level);
    let close = |a: f64, b: f64| (a / b - 1.0).abs() < 0.02;
    assert!(
        close(fast.shift_variance, squares - shift * shift),
        "{fast:?}"
    );
    assert!(
        close(fast.level_variance, level_squares - level * level),
        "{fast:?}"
    );
    assert!(close(fast.covariance, both - shift * level), "{fast:?}");
}

#[test]
fn what_cannot_be_told_is_not() {
    let past = || Site::new(3).usual(2000..2010, 0.0);
    let standing = |site: Site, day| {
        let series = site.series();
        learnt(&series, 2010, Against::Earlier).course(&series, date(2010, day))
    };
    assert_eq!(standing(past(), 60).standing, Err(Untold::NoVisit));
    let none = standing(past().season(2010, 0.0, 1e-6, 0.0, 131), 50);
    assert_eq!(
        (none.standing, none.birds, none.visits),
        (Err(Untold::NoBird), 0, 51)
    );
    assert!(none.usual_birds > 10.0);
    // two birds fit early and weak as well as late and strong
    let mut few = past().season(2010, 0.0, 1e-6, 0.0, 131);
    let last = few.counts.len();
    few.counts[last - 131 + 55] = Count::Exactly(2);
    assert_eq!(standing(few, 56).standing, Err(Untold::Vague));
    let short = Site::new(3).usual(2000..2004, 0.0).series();
    let told = LongTerm::learn(&short, &STRETCH, 2010, Against::Earlier);
    assert!(
        matches!(told, Err(NoCourse::TooFew { seasons: 4, .. })),
        "{told:?}"
    );
}

#[test]
fn nothing_after_the_day_is_looked_at() {
    let site = |later: f64| {
        let site = Site::new(4)
            .usual(2000..2010, 0.0)
            .season(2010, -4.0, 1.0, 0.0, 70);
        site.season(2011, 20.0, later, 0.0, 131)
    };
    let course = |site: &Site| {
        let series = site.series();
        learnt(&series, 2010, Against::Earlier).course(&series, date(2010, 65))
    };
    let mut changed = site(9.0);
    let told = course(&site(1.0));
    assert_eq!(told, course(&changed));
    // nor are this season's later visits
    let this = changed
        .visits
        .iter()
        .position(|v| v.date == date(2010, 66))
        .unwrap();
    changed.counts[this] = Count::Exactly(500);
    assert_eq!(told, course(&changed));
}

#[test]
fn a_season_looked_back_on_is_left_out_of_its_own_yardstick() {
    let site = |odd: f64| {
        let site = Site::new(5)
            .usual(2000..2006, 0.0)
            .season(2006, odd, 1.0, 0.0, 131);
        // the later years draw the same counts whatever the season was
        Site {
            random: Pcg64Mcg::seed_from_u64(50),
            ..site
        }
        .usual(2007..2012, 0.0)
        .series()
    };
    let (a, b) = (site(0.0), site(15.0));
    let rates = |s: &CountSeries, against| learnt(s, 2006, against).rates(0.0, 1.0);
    assert_eq!(rates(&a, Against::Others), rates(&b, Against::Others));
    let others = learnt(&a, 2006, Against::Others);
    assert_eq!(others.years(), (2000, 2011, 11));
    assert_eq!(learnt(&a, 2006, Against::Earlier).years(), (2000, 2005, 6));
}

#[test]
fn first_dates_are_placed_among_the_years_that_were_watched() {
    // by month and day, as first dates are compared
    let date =
        |year: i32, day: i64| NaiveDate::from_ymd_opt(year, 3, 1).unwrap() + Duration::days(day);
    let visit = |year, day| Visit {
        date: date(year, day),
        log_effort_ratio: 0.0,
    };
    // by year: days visited, and the day from which the species is found
    let years = [
        (2000, vec![0, 7, 14, 21], 14),
        (2001, vec![0, 7, 14, 21], 7),
        (2002, vec![0, 7, 14, 21], 21),
        (2003, vec![0, 7, 14, 21], 7),
        (2004, vec![0, 7, 14, 21], 14),
        // nobody went out before day 60: it could have been as early
        (2005, vec![60, 67], 60),
        (2006, vec![0, 7, 14, 21], 14),
    ];
    let mut visits = Vec::new();
    let mut counts = Vec::new();
    for (year, days, from) in years {
        for day in days {
            visits.push(visit(year, day));
            counts.push(Count::Exactly(u32::from(day >= from)));
        }
    }
    let series = CountSeries::new(visits.into(), counts).unwrap();
    let first = |season, day| {
        first_date(&series, &STRETCH, season, date(season, day), |y| {
            y != season
        })
    };
    let told = first(2006, 130);
    assert_eq!(told.date, Some(date(2006, 14)));
    let among = Placed::Among {
        others: 5,
        earlier: 2,
        same: 2,
    };
    assert_eq!((told.placed, told.on_first_visit), (among, false));
    // on day 10 it was not there yet
    let early = first(2006, 10);
    assert_eq!(
        (early.date, early.placed),
        (
            None,
            Placed::NotYet {
                others: 5,
                found: 2
            }
        )
    );
    assert!(first(2005, 130).on_first_visit);
    let few = first_date(&series, &STRETCH, 2003, date(2003, 130), |y| y < 2003);
    assert_eq!(few.placed, Placed::TooFewYears { others: 3 });
}

/// Found on the last of the dates of each year alone.
fn found_on_the_last(years: std::ops::RangeInclusive<i32>, dates: &[(u32, u32)]) -> CountSeries {
    let mut visits = Vec::new();
    let mut counts = Vec::new();
    for year in years {
        for (i, (month, day)) in dates.iter().enumerate() {
            visits.push(Visit {
                date: NaiveDate::from_ymd_opt(year, *month, *day).unwrap(),
                log_effort_ratio: 0.0,
            });
            counts.push(Count::Exactly(u32::from(i + 1 == dates.len())));
        }
    }
    CountSeries::new(visits.into(), counts).unwrap()
}

#[test]
fn a_first_date_is_no_day_later_in_a_leap_year() {
    let series = found_on_the_last(2019..=2024, &[(4, 3), (4, 10)]);
    let same = Placed::Among {
        others: 5,
        earlier: 0,
        same: 5,
    };
    for season in [2023, 2024] {
        let until = NaiveDate::from_ymd_opt(season, 6, 30).unwrap();
        let told = first_date(&series, &STRETCH, season, until, |y| y != season);
        assert_eq!(told.date, NaiveDate::from_ymd_opt(season, 4, 10));
        assert_eq!(told.placed, same, "{season}");
    }
    // nor on a day by which it was not yet found
    let until = NaiveDate::from_ymd_opt(2024, 4, 9).unwrap();
    let told = first_date(&series, &STRETCH, 2024, until, |y| y != 2024);
    let none = Placed::NotYet {
        others: 5,
        found: 0,
    };
    assert_eq!(told.placed, none);
}

#[test]
fn a_leap_day_after_a_visit_in_vain_is_no_first_visit() {
    let series = found_on_the_last(2024..=2024, &[(2, 28), (2, 29)]);
    let from_winter = Stretch {
        first: 40,
        ..STRETCH
    };
    let until = NaiveDate::from_ymd_opt(2024, 3, 10).unwrap();
    let told = first_date(&series, &from_winter, 2024, until, |_| true);
    assert_eq!(told.date, NaiveDate::from_ymd_opt(2024, 2, 29));
    assert!(!told.on_first_visit);
}
