//! Plans held against brute force, and limits against plans.

use super::rules::Field;
use super::sure::{at_least_once, enough, visits_needed};
use super::*;
use chrono::{Duration, NaiveDate};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

fn day(offset: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 8, 20).expect("a date") + Duration::days(offset)
}

struct World {
    candidates: Vec<Candidate>,
    made: Vec<Candidate>,
    rules: Rules,
    reach: Reach,
}

/// A passage of bell shape, its counts negative binomial.
struct Bell {
    peak: f64,
    width: f64,
    top: f64,
    theta: f64,
}

impl Bell {
    fn any(random: &mut Pcg64Mcg, days: f64) -> Self {
        Bell {
            peak: random.random_range(0.0..days),
            width: random.random_range(3.0..14.0),
            top: f64::exp(random.random_range(-3.0..1.5)),
            theta: random.random_range(0.3..1.0),
        }
    }

    /// The chance of none on a day, at a site of that size.
    fn none(&self, day: f64, size: f64) -> f64 {
        let bell = (-0.5 * ((day - self.peak) / self.width).powi(2)).exp();
        (1.0 + self.top * bell * size / self.theta).powf(-self.theta)
    }
}

/// Targets with bell-shaped passages and scenarios that shift them; rules of all kinds.
fn world(
    random: &mut Pcg64Mcg,
    dates: usize,
    sites: usize,
    targets: usize,
    visits: usize,
) -> World {
    let scenarios = [(-5.0, 0.25), (0.0, 0.5), (6.0, 0.25)];
    let mut candidates: Vec<Candidate> = (0..dates)
        .flat_map(|d| (0..sites).map(move |site| (d as i64, site)))
        .map(|(d, site)| Candidate {
            date: day(d * 3 / 2),
            site,
        })
        .collect();
    candidates.dedup();
    let days = dates as f64 * 1.5;
    let bells: Vec<Bell> = (0..targets).map(|_| Bell::any(random, days)).collect();
    let sized: Vec<f64> = (0..sites).map(|_| random.random_range(0.4..1.0)).collect();
    let row = |c: &Candidate| -> Vec<f64> {
        let at = (c.date - day(0)).num_days() as f64;
        let of = |b: &Bell| scenarios.map(|(shift, _)| b.none(at - shift, sized[c.site]));
        bells.iter().flat_map(of).collect()
    };
    let rows: Vec<Vec<f64>> = candidates.iter().map(row).collect();
    let weights: Vec<f64> = (0..targets).map(|t| 1.0 + (t % 3) as f64).collect();
    let reach = Reach::new(&weights, &scenarios.map(|s| s.1), rows).expect("chances");
    let rules = rules(random, sites, visits);
    let earlier = Candidate {
        date: day(-2),
        site: 0,
    };
    let made = random.random_bool(0.3).then_some(earlier);
    World {
        candidates,
        made: made.into_iter().collect(),
        rules,
        reach,
    }
}

fn rules(random: &mut Pcg64Mcg, sites: usize, visits: usize) -> Rules {
    let mut rules = Rules::new(visits).expect("visits");
    rules = rules.gap(random.random_range(1..9)).expect("a gap");
    rules = rules.teams(random.random_range(1..3)).expect("teams");
    if random.random_bool(0.5) {
        rules = rules.per_week(random.random_range(1..4)).expect("a week");
    }
    if random.random_bool(0.5) {
        let km = (0..sites)
            .map(|a| (0..sites).map(|b| 20.0 * a.abs_diff(b) as f64).collect())
            .collect();
        let farthest_km = 25.0;
        rules = rules.travel(Travel { km, farthest_km }).expect("distances");
    }
    rules
}

/// The best value by looking at every set; a set is looked at in the order of its places.
fn brute_force(world: &World) -> f64 {
    fn deeper(world: &World, field: &Field, chosen: &mut Vec<usize>, from: usize) -> f64 {
        let mut best = world.reach.value(chosen);
        for c in from..field.len() {
            if field.allows(chosen, c) {
                chosen.push(c);
                best = best.max(deeper(world, field, chosen, c + 1));
                chosen.pop();
            }
        }
        best
    }
    let field = Field::new(&world.candidates, &world.made, &world.rules);
    deeper(world, &field, &mut Vec::new(), 0)
}

#[test]
fn small_cases_are_solved_as_by_brute_force() {
    let mut random = Pcg64Mcg::seed_from_u64(7);
    let mut below_greedy = 0;
    for case in 0..200 {
        let (dates, sites) = (random.random_range(4..8), random.random_range(1..3));
        let (targets, visits) = (random.random_range(1..6), random.random_range(1..5));
        let world = world(&mut random, dates, sites, targets, visits);
        let truth = brute_force(&world);
        let found = choose(&world.reach, &world.candidates, &world.made, &world.rules);
        assert!(
            (found.value - truth).abs() < 1e-9,
            "{case}: {found:?}, {truth}"
        );
        assert!(found.is_best() && found.gap() < 1e-9, "{case}: {found:?}");
        let field = Field::new(&world.candidates, &world.made, &world.rules);
        let greedy = greedy::greedy(&world.reach, &field);
        let limit = bound::upper(&world.reach, &field, &greedy);
        assert!(limit >= truth - 1e-9, "{case}: {limit} below {truth}");
        below_greedy += usize::from(world.reach.value(&greedy) < truth - 1e-9);
    }
    // else the cases are too easy to prove anything
    assert!(below_greedy > 20, "{below_greedy}");
}

#[test]
fn large_cases_come_near_the_limit_and_keep_the_rules() {
    let mut random = Pcg64Mcg::seed_from_u64(12);
    for case in 0..6 {
        let world = world(&mut random, 40, 3, 20, 8);
        let found = choose(&world.reach, &world.candidates, &world.made, &world.rules);
        let field = Field::new(&world.candidates, &world.made, &world.rules);
        for (i, c) in found.places.iter().enumerate() {
            let mut rest = found.places.clone();
            rest.remove(i);
            assert!(field.allows(&rest, *c), "{case}: {found:?}");
        }
        assert!(
            found.at_most >= found.value && found.gap() < 0.1,
            "{case}: {found:?}"
        );
        for _ in 0..300 {
            let mut chosen = Vec::new();
            for _ in 0..200 {
                let c = random.random_range(0..field.len());
                if !chosen.contains(&c) && field.allows(&chosen, c) {
                    chosen.push(c);
                }
            }
            let value = world.reach.value(&chosen);
            assert!(value <= found.at_most, "{case}: {value} {found:?}");
            assert!(value <= found.value + 1e-9, "{case}: better by chance");
        }
    }
}

#[test]
fn a_stand_in_is_the_best_of_those_allowed() {
    let mut random = Pcg64Mcg::seed_from_u64(3);
    let world = world(&mut random, 12, 2, 6, 4);
    let found = choose(&world.reach, &world.candidates, &world.made, &world.rules);
    let field = Field::new(&world.candidates, &world.made, &world.rules);
    let out = found.places[0];
    let (other, value) =
        stand_in(&world.reach, &field, &found.places, out, |c| c.site == 0).expect("a stand-in");
    let mut with = found.places.clone();
    with[0] = other;
    assert!((world.reach.value(&with) - value).abs() < 1e-12);
    assert!(value <= found.value + 1e-12 && !found.places.contains(&other));
    assert_eq!(world.candidates[other].site, 0);
}

#[test]
fn teams_and_ways_between_sites_are_kept() {
    let at = |date: i64, site: usize| Candidate {
        date: day(date),
        site,
    };
    let candidates = [at(0, 0), at(0, 1), at(1, 0), at(1, 1), at(1, 2)];
    let km = vec![
        vec![0.0, 10.0, 80.0],
        vec![10.0, 0.0, 70.0],
        vec![80.0, 70.0, 0.0],
    ];
    let travel = Travel {
        km,
        farthest_km: 30.0,
    };
    let one = Rules::new(5)
        .and_then(|r| r.travel(travel.clone()))
        .expect("rules");
    let field = Field::new(&candidates, &[], &one);
    assert!(!field.allows(&[0], 1), "one team is at one site a day");
    assert!(field.allows(&[0], 3) && !field.allows(&[0], 4));
    let two = one.clone().teams(2).expect("teams");
    let field = Field::new(&candidates, &[], &two);
    assert!(field.allows(&[0], 4), "the second team was idle");
    assert!(!field.allows(&[0, 1], 4), "both teams are too far away");
    assert!(field.allows(&[0, 1, 2], 3));
    let made = [at(0, 0), at(0, 1)];
    assert!(!Field::new(&candidates, &made, &two).allows(&[], 4));
}

#[test]
fn visits_enough_are_enough_and_no_fewer_would_do() {
    // McArdle 1990: 59 visits at 5 % a visit for 95 %
    let needed = visits_needed(0.05, 0.95).expect("chances");
    assert_eq!(needed.ceil(), 59.0);
    assert_eq!(visits_needed(0.0, 0.9), None);
    assert!((at_least_once(&[0.1, 0.3, 0.05, 0.6]) - 0.7606).abs() < 1e-12);
    let candidates: Vec<Candidate> = (0..30)
        .map(|d| Candidate {
            date: day(d),
            site: 0,
        })
        .collect();
    // alike on every date: as many visits as the formula says; the second never found
    let rows = candidates.iter().map(|_| vec![0.8, 1.0]);
    let reach = Reach::new(&[1.0, 1.0], &[1.0], rows).expect("chances");
    let rules = Rules::new(30).expect("visits");
    let plan = enough(&reach, &candidates, &[], &rules, 0.9);
    let needed = visits_needed(0.2, 0.9).expect("chances");
    assert_eq!(plan.places.len(), needed.ceil() as usize);
    assert_eq!(plan.out_of_reach, [1]);
}

#[test]
fn nonsense_is_refused() {
    assert_eq!(
        Rules::new(0),
        Err(RulesError::Nothing("the number of visits"))
    );
    let row = |p: f64| Reach::new(&[1.0], &[1.0], [vec![p]]).err();
    assert_eq!(row(1.5), Some(ReachError::Chance(1.5)));
    assert!(Reach::new(&[-1.0], &[1.0], []).is_err());
    assert!(Reach::new(&[1.0], &[0.5], []).is_err());
    let short = ReachError::Length {
        found: 1,
        expected: 2,
    };
    assert_eq!(
        Reach::new(&[1.0, 1.0], &[1.0], [vec![0.5]]).err(),
        Some(short)
    );
}
