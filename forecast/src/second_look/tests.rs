//! Slips in an invented site whose truth is known.

mod weighed;

use super::*;
use crate::outlook::SiteCounts;
use crate::series::{Count, CountSeries, Visit};
use chrono::{Datelike, NaiveDate};
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Poisson};
use rand_pcg::Pcg64Mcg;
use std::sync::Arc;

fn date(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).expect("a date")
}

/// Places of the species: a common one of autumn, its scarce look-alike of autumn, one of spring,
/// and a relative of the first that the site never had.
const AUTUMN: usize = 0;
const SCARCE: usize = 1;
const SPRING: usize = 2;
const NEVER: usize = 3;

struct Place {
    visits: Arc<[Visit]>,
    series: Vec<CountSeries>,
    relatives: Vec<Vec<usize>>,
}

/// Eight years, visited on nine days of ten from 1 March to 30 November.
fn place() -> Place {
    let mut random = Pcg64Mcg::seed_from_u64(3);
    let days = (2010..2018).flat_map(|y| (60..=334).filter(|d| d % 10 != 3).map(move |d| (y, d)));
    let visits: Arc<[Visit]> = days
        .filter_map(|(y, d)| NaiveDate::from_yo_opt(y, d))
        .map(|date| Visit {
            date,
            log_effort_ratio: 0.0,
        })
        .collect();
    let bell = |day: f64, peak: f64| (-0.5 * ((day - peak) / 10.0).powi(2)).exp();
    let mut counted = |highest: f64, peak: f64| {
        let one = |v: &Visit| {
            let mean =
                highest * bell(f64::from(v.day().get()), peak) * random.random_range(0.5..1.5);
            let birds: f64 = Poisson::new(mean + 1e-12)
                .expect("a mean")
                .sample(&mut random);
            Count::Exactly(birds as u32)
        };
        let counts = visits.iter().map(one).collect();
        CountSeries::new(visits.clone(), counts).expect("in order")
    };
    let mut series = vec![
        counted(12.0, 250.0),
        counted(0.6, 255.0),
        counted(8.0, 130.0),
    ];
    let none = vec![Count::Exactly(0); visits.len()];
    series.push(CountSeries::new(visits.clone(), none).expect("in order"));
    let set = vec![AUTUMN, SCARCE, NEVER];
    Place {
        relatives: vec![set.clone(), set.clone(), vec![SPRING], set],
        visits,
        series,
    }
}

impl Place {
    fn with<T>(&self, work: impl FnOnce(&Told, &Expected) -> T) -> T {
        let species: Vec<&CountSeries> = self.series.iter().collect();
        let site = SiteCounts {
            visits: &self.visits,
            species: &species,
            temperature: None,
        };
        let every = date(2017, 1, 1).iter_days();
        let dates: Vec<NaiveDate> = every.take_while(|d| d.year() == 2017).collect();
        let habits = Habits::default();
        let expected = Expected::of(&site, &self.relatives, 2017, &dates, &habits);
        work(&Told::new(site), &expected)
    }

    fn judged(&self, told: &Told, expected: &Expected, said: &Said) -> Judged {
        let relatives = &self.relatives[said.species];
        judge(said, told, expected, relatives, &Weights::default()).expect("judged")
    }

    fn reason(&self, told: &Told, expected: &Expected, said: &Said) -> (f64, Reason) {
        let judged = self.judged(told, expected, said);
        let standing = Standing::of(&self.series[said.species], said.date);
        (judged.score, why(said, &judged, &standing))
    }

    /// The highest score of a true record of the year.
    fn most_surprising(&self, told: &Told, expected: &Expected) -> f64 {
        let mut scores = Vec::new();
        for (species, series) in self.series.iter().enumerate() {
            for (v, count) in series.known().filter(|(v, _)| v.year() == 2017) {
                let said = Said {
                    species,
                    date: v.date,
                    count,
                };
                let relatives = &self.relatives[species];
                scores.extend(judge(&said, told, expected, relatives, &Weights::default()));
            }
        }
        scores.iter().map(|j| j.score).fold(f64::MIN, f64::max)
    }
}

#[test]
fn every_kind_of_slip_stands_above_what_is_true_and_has_its_reason() {
    let place = place();
    place.with(|told, expected| {
        let usual = place.most_surprising(told, expected);
        let found = |species, date, count| Said {
            species,
            date,
            count: Count::Exactly(count),
        };
        // 9 May is day 129, at the spring bird's peak; 5 September is day 248
        let true_day = date(2017, 5, 9);
        assert!(told.visited(true_day) && told.visited(date(2017, 9, 5)));
        let gone = Said {
            count: Count::Exactly(0),
            ..found(SPRING, true_day, 0)
        };
        let swapped = found(SPRING, date(2017, 9, 5), 7);
        let (score, reason) = place.reason(&told.but(vec![gone]), expected, &swapped);
        assert!(score > usual, "swapped: {score} {usual}");
        assert_eq!(reason, Reason::SwappedDate(true_day));
        // 25 July cannot be swapped, and is far from everything
        let late = found(SPRING, date(2017, 7, 25), 2);
        let (score, reason) = place.reason(told, expected, &late);
        assert!(score > usual, "late: {score} {usual}");
        assert!(
            matches!(reason, Reason::OutOfSeason(Outside::Late, 30..)),
            "{reason:?}"
        );
        let tenfold = found(AUTUMN, date(2017, 9, 7), 120);
        let (score, reason) = place.reason(told, expected, &tenfold);
        assert!(score > usual, "tenfold: {score} {usual}");
        assert_eq!(reason, Reason::Tenfold);
        // the whole day's common bird under the scarce one's name
        let day = date(2017, 9, 7);
        let none = Said {
            count: Count::Exactly(0),
            ..found(AUTUMN, day, 0)
        };
        let taken = found(SCARCE, day, 13);
        let (score, reason) = place.reason(&told.but(vec![none]), expected, &taken);
        assert!(score > usual, "look-alike: {score} {usual}");
        assert_eq!(reason, Reason::LookAlike(AUTUMN));
        let never = found(NEVER, day, 13);
        let (score, reason) = place.reason(&told.but(vec![none]), expected, &never);
        assert!(score > usual, "never: {score} {usual}");
        assert_eq!(reason, Reason::UnlikelySite(AUTUMN));
    });
}

#[test]
fn what_is_in_doubt_follows_from_what_would_explain_the_record() {
    let place = place();
    place.with(|told, expected| {
        let day = date(2017, 9, 7);
        let doubt = |told: &Told, species, count| {
            let said = Said {
                species,
                date: day,
                count: Count::Exactly(count),
            };
            let judged = place.judged(told, expected, &said);
            let standing = Standing::of(&place.series[species], day);
            let reason = why(&said, &judged, &standing);
            let parts = [
                judged.part(|e| matches!(e, Explanation::Tenfold)),
                judged.part(|e| matches!(e, Explanation::LookAlike(_))),
            ];
            assert!((judged.part(|_| true) - 1.0).abs() < 1e-12);
            let taken_for = matches!(reason, Reason::LookAlike(_));
            let instead = expected.at(AUTUMN, day).map(|night| night.mean);
            assert_eq!(judged.expected_instead, instead.filter(|_| taken_for));
            (reason, InDoubt::of(&reason, &judged), parts)
        };
        // nobody takes ten times too many of the common bird for another
        let (reason, in_doubt, [tenfold, taken]) = doubt(told, AUTUMN, 120);
        assert_eq!(reason, Reason::Tenfold);
        assert!(tenfold > 0.9 && taken < 0.01, "{tenfold} {taken}");
        let number = InDoubt {
            date: false,
            name: false,
            number: true,
        };
        assert_eq!(in_doubt, number);
        // the scarce one in the numbers of the common one, of which there was none: the name alone
        let none = Said {
            species: AUTUMN,
            date: day,
            count: Count::Exactly(0),
        };
        let (reason, in_doubt, [_, taken]) = doubt(&told.but(vec![none]), SCARCE, 13);
        assert_eq!(reason, Reason::LookAlike(AUTUMN));
        assert!(taken > 0.5, "{taken}");
        let name = InDoubt {
            date: false,
            name: true,
            number: false,
        };
        assert_eq!(in_doubt, name);
        // a nought too many is likelier, but of twenty the name explains more than a fifth, so that
        // both are asked for, and of thirty less, so that the number alone is
        let few = Said {
            count: Count::Exactly(3),
            ..none
        };
        for (birds, name) in [(20, true), (30, false)] {
            let (reason, in_doubt, [_, taken]) = doubt(&told.but(vec![few]), SCARCE, birds);
            assert_eq!(reason, Reason::Tenfold, "{birds}");
            let both = InDoubt { name, ..number };
            assert_eq!(in_doubt, both, "{birds}: {taken}");
            let least = if name { 0.25 } else { 0.13 };
            assert!((least..least + 0.05).contains(&taken), "{birds}: {taken}");
        }
    });
}

#[test]
fn a_number_gets_no_less_surprising_by_being_absurd() {
    let place = place();
    place.with(|told, expected| {
        let usual = place.most_surprising(told, expected);
        let day = date(2017, 9, 7);
        let asked = |birds: u32, count: Count| {
            let said = Said {
                species: AUTUMN,
                date: day,
                count,
            };
            let (score, reason) = place.reason(told, expected, &said);
            assert!(score > usual, "{birds}: {score} {usual}");
            (score, reason)
        };
        // most on a visit are some 20: a nought too many explains 120, and no longer 3,000
        let mut last = f64::MIN;
        for birds in [120, 300, 3_000, 30_000, 3_000_000] {
            let (score, reason) = asked(birds, Count::Exactly(birds));
            // where a nought less would be usual, the slip alone raises the score
            if birds >= 3_000 {
                assert!(score >= last - 0.1, "{birds}: {score} after {last}");
                last = score;
            }
            let number = match birds {
                ..=300 => Reason::Tenfold,
                _ => Reason::TooMany,
            };
            assert_eq!(reason, number, "{birds}");
            asked(birds + 7, Count::Exactly(birds + 7));
            asked(birds, Count::AtLeast(birds));
        }
    });
}

#[test]
fn a_record_without_a_visit_is_more_surprising_than_with_one() {
    let place = place();
    place.with(|told, expected| {
        let said = |d| Said {
            species: SPRING,
            date: date(2017, 9, d),
            count: Count::Exactly(1),
        };
        // 20 September is day 263
        assert!(told.visited(date(2017, 9, 19)) && !told.visited(date(2017, 9, 20)));
        let with = place.judged(told, expected, &said(19));
        let without = place.judged(told, expected, &said(20));
        assert!(without.score > with.score + 5.0);
        assert!(with.at_least < 0.05 && with.at_least <= with.any);
    });
}

#[test]
fn the_record_itself_is_no_part_of_what_was_expected() {
    let place = place();
    let day = date(2017, 9, 7);
    let at = place
        .visits
        .iter()
        .position(|v| v.date == day)
        .expect("visited");
    let before = place.with(|_, expected| expected.at(AUTUMN, day).cloned());
    let mut counts: Vec<Count> = place.series[AUTUMN].iter().map(|(_, c)| c).collect();
    counts[at] = Count::Exactly(500);
    let mut other = place;
    other.series[AUTUMN] = CountSeries::new(other.visits.clone(), counts).expect("in order");
    let after = other.with(|_, expected| expected.at(AUTUMN, day).cloned());
    assert_eq!(before, after);
}

#[test]
fn what_is_not_found_or_told_is_not_judged() {
    let place = place();
    place.with(|told, expected| {
        for count in [Count::Exactly(0), Count::Unknown] {
            let said = Said {
                species: AUTUMN,
                date: date(2017, 9, 7),
                count,
            };
            assert_eq!(judge(&said, told, expected, &[], &Weights::default()), None);
        }
        let present = Said {
            species: AUTUMN,
            date: date(2017, 9, 7),
            count: Count::Present,
        };
        let judged = place.judged(told, expected, &present);
        assert_eq!(judged.at_least, judged.any);
    });
}

#[test]
fn thresholds_ask_no_more_than_they_may() {
    let scores = [5.0, 1.0, 5.0, 3.0, 2.0];
    let asked = |n| threshold::at_most(&scores, n).map(|t| (t.score, t.asked));
    assert_eq!(asked(0), Some((5.0, 0)));
    assert_eq!(
        asked(1),
        Some((5.0, 0)),
        "of two that are alike neither is asked about"
    );
    assert_eq!(asked(2), Some((3.0, 2)));
    assert_eq!(asked(9), Some((1.0, 4)));
    assert_eq!(threshold::at_most(&[], 1), None);
}

#[test]
fn days_and_months_change_places_where_they_can() {
    assert_eq!(swapped(date(2017, 5, 3)), Some(date(2017, 3, 5)));
    assert_eq!(swapped(date(2017, 5, 5)), None);
    assert_eq!(swapped(date(2017, 5, 13)), None);
}

#[test]
fn standing_tells_the_side_on_which_a_record_lies() {
    let visits: Arc<[Visit]> = [date(2015, 9, 1), date(2016, 9, 10), date(2017, 12, 30)]
        .map(|date| Visit {
            date,
            log_effort_ratio: 0.0,
        })
        .into();
    let counts = vec![Count::Exactly(2), Count::Exactly(4), Count::Exactly(1)];
    let series = CountSeries::new(visits, counts).expect("in order");
    let nearest = |d| Standing::of(&series, d).nearest;
    // 1 September 2015 is day 244, 10 September 2016 day 254
    let early = nearest(date(2017, 8, 22));
    assert_eq!(early, Some((date(2015, 9, 1), Outside::Early, 10)));
    let late = nearest(date(2017, 9, 21));
    assert_eq!(late, Some((date(2016, 9, 10), Outside::Late, 10)));
    assert_eq!(Standing::of(&series, date(2017, 9, 8)).most, 4);
    // over New Year
    let over = nearest(date(2018, 1, 5));
    assert_eq!(over, Some((date(2017, 12, 30), Outside::Late, 7)));
    assert_eq!(Standing::of(&series, date(2015, 9, 8)).records, 0);
}
