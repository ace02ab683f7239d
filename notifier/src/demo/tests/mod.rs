//! The demo against the truth it is drawn from, and its files against what a reader expects.

mod counted;
mod places;
mod shapes;
mod statistics;
mod written;

use super::random::{Purpose, stream};
use super::*;
use counts::Record;
use visits::DrawnVisit;

/// Everything that is drawn before it is written.
struct Drawn {
    truth: Truth,
    weather: weather::Weather,
    visits: Vec<DrawnVisit>,
    records: Vec<Record>,
}

fn drawn(seed: u64) -> Drawn {
    let truth = truth();
    let span = Span::of_years(FIRST_YEAR, LAST_YEAR).unwrap();
    let weather = weather::Weather::draw(&truth, seed, span);
    let visits = visits::draw(&truth, seed, span).unwrap();
    let seasons = seasons::Seasons::draw(&truth, seed, FIRST_YEAR, LAST_YEAR, &weather).unwrap();
    let records = counts::draw(&truth, seed, &visits, &seasons).unwrap();
    Drawn {
        truth,
        weather,
        visits,
        records,
    }
}

fn demo() -> DemoFiles {
    generate(SEED, FIRST_YEAR, LAST_YEAR).unwrap()
}

/// Fields of every line below the header, which no field of ours needs quoting for.
fn rows(text: &str, separator: char) -> Vec<Vec<&str>> {
    assert!(!text.contains('"'), "a field would need unquoting");
    let lines = text.lines().skip(1);
    lines.map(|l| l.split(separator).collect()).collect()
}

fn date(text: &str) -> NaiveDate {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap()
}

fn index_of(truth: &Truth, scientific: &str) -> usize {
    let named = |s: &TrueSpecies| s.scientific == scientific;
    truth.species.iter().position(named).unwrap()
}

/// Slope of a least-squares line and its standard error.
fn slope(points: &[(f64, f64)]) -> (f64, f64) {
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    let b = sxy / sxx;
    let rest: f64 = points
        .iter()
        .map(|p| (p.1 - mean_y - b * (p.0 - mean_x)).powi(2))
        .sum();
    (b, (rest / (n - 2.0) / sxx).sqrt())
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let once = demo();
    assert_eq!(once, demo());
    let other = generate(SEED + 1, FIRST_YEAR, LAST_YEAR).unwrap();
    for ((name, a), (_, b)) in once.named().into_iter().zip(other.named()) {
        // The workspace and the truth do not depend on chance.
        let fixed = ["wingtide.toml", "truth.csv"].contains(&name);
        assert_eq!(a == b, fixed, "{name}");
    }
}

#[test]
fn later_years_leave_earlier_ones_as_they_were() {
    let (short, long) = (
        generate(7, 2000, 2010).unwrap(),
        generate(7, 2000, 2026).unwrap(),
    );
    assert!(long.temperature.starts_with(&short.temperature));
    assert!(long.counts.starts_with(&short.counts));
    assert!(long.visits.starts_with(&short.visits));
}

#[test]
fn years_that_hold_no_season_are_refused() {
    for (first, last) in [(2010, 2009), (99, 2009), (2000, 10_000)] {
        let refused = generate(1, first, last).unwrap_err();
        assert!(matches!(refused, DemoError::Years { .. }), "{refused}");
        assert!(refused.to_string().contains(&last.to_string()));
    }
}

#[test]
fn the_demo_date_lies_within_the_counts_and_in_autumn() {
    let span = Span::of_years(FIRST_YEAR, LAST_YEAR).unwrap();
    assert!(span.first < DEMO_DATE && DEMO_DATE < span.last);
    let day = counts::day_of_season(DEMO_DATE, LAST_YEAR);
    let under_way = |p: &&TruePassage| {
        let through = [0.05, 0.95].map(|part| p.shape.day_of_part(part));
        matches!(through, [Some(a), Some(b)] if a < day && day < b)
    };
    let truth = truth();
    let passages = truth.species.iter().flat_map(|s| &s.passages);
    assert!(passages.filter(under_way).count() >= 9);
}
