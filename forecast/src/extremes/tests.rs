use super::*;
use crate::series::{Count, Visit};

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn series(found: &[(&str, Count)]) -> CountSeries {
    let visit = |(day, _): &(&str, Count)| Visit {
        date: date(day),
        log_effort_ratio: 0.0,
    };
    let counts = found.iter().map(|f| f.1).collect();
    CountSeries::new(found.iter().map(visit).collect(), counts).unwrap()
}

fn stretch(first: usize, length: usize) -> Stretch {
    Stretch {
        first,
        length,
        after_gap: false,
        before_gap: false,
    }
}

#[test]
fn a_winter_belongs_to_the_year_in_which_it_began() {
    let counts = series(&[
        ("2001-01-12", Count::Exactly(2)),
        ("2001-06-02", Count::Exactly(9)),
        ("2001-11-20", Count::Present),
        ("2001-12-03", Count::Exactly(0)),
        ("2001-12-24", Count::AtLeast(3)),
        ("2002-02-01", Count::About(1)),
        ("2002-02-01", Count::Exactly(4)),
        ("2002-03-01", Count::Unknown),
    ]);
    // from 1 October (day 274 of a common year) to the end of March
    let got = by_season(&counts, &stretch(273, 182));
    let season = |year, first, last, days_found| SeasonExtremes {
        year,
        first: date(first),
        last: date(last),
        days_found,
    };
    let expected = [
        season(2000, "2001-01-12", "2001-01-12", 1),
        season(2001, "2001-11-20", "2002-02-01", 3),
    ];
    assert_eq!(got, expected);
    let (first, last) = first_and_last(&got, &stretch(273, 182)).unwrap();
    assert_eq!(
        (first.record, last.record),
        (date("2001-11-20"), date("2002-02-01"))
    );
    assert_eq!(first.beyond, Err(NothingBeyond::TooFewSeasons));
    assert_eq!(first.to_string(), "earliest record 20 November 2001");
    assert_eq!(first_and_last(&[], &stretch(273, 182)), None);
}

fn springs(days: &[u32]) -> Vec<SeasonExtremes> {
    let season = |(i, day): (usize, &u32)| {
        let year = 2001 + i as i32;
        let first = NaiveDate::from_yo_opt(year, *day).unwrap();
        SeasonExtremes {
            year,
            first,
            last: first + chrono::Duration::days(30),
            days_found: 2,
        }
    };
    days.iter().enumerate().map(season).collect()
}

#[test]
fn the_end_is_that_of_the_extremes_as_moments() {
    let days = [104, 98, 110, 101, 96, 107];
    let (first, _) = first_and_last(&springs(&days), &stretch(59, 120)).unwrap();
    let moments: Vec<f64> = days.iter().map(|d| f64::from(*d)).collect();
    let direct = optimal_linear(&moments, End::First, 6, 0.2).unwrap();
    let beyond = first.beyond.unwrap();
    assert!(
        (beyond.day - direct.estimate).abs() < 1e-9,
        "{beyond:?} {direct:?}"
    );
    assert!(beyond.day < 96.0 && beyond.seasons == 6);
    // day 96 of 2005 is 6 April
    assert_eq!(first.record, date("2005-04-06"));
    let told = first.to_string();
    assert!(told.starts_with("first about ") && told.ends_with("(earliest record 6 April 2005)"));
}

#[test]
fn a_shared_first_day_is_spread_and_a_single_day_tells_no_end() {
    let (shared, last) =
        first_and_last(&springs(&[98, 104, 98, 110, 107]), &stretch(59, 120)).unwrap();
    assert!(shared.beyond.is_ok(), "{shared:?}");
    assert!(last.beyond.unwrap().day > 140.0);
    assert!(last.to_string().starts_with("last about "));
    // nothing within a stretch that the records fill to its edge
    let (edge, _) = first_and_last(&springs(&[61, 104, 98, 110]), &stretch(59, 120)).unwrap();
    assert!(
        edge.beyond.is_err_and(|e| e == NothingBeyond::NoEnd),
        "{edge:?}"
    );
}

/// Roberts & Solow's method is meant to reach beyond the records: over seeded species found once
/// in each of ten springs it comes nearer to the true beginning than the earliest record does.
#[test]
fn the_estimate_lies_nearer_the_true_beginning_than_the_record() {
    use rand::{Rng, SeedableRng};
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(8);
    let (mut by_estimate, mut by_record, mut told) = (0.0, 0.0, 0);
    for _ in 0..400 {
        // Weibull of shape 2 from day 90 on
        let mut day = || {
            let u: f64 = random.random_range(f64::EPSILON..1.0);
            (90.0 + 30.0 * (-u.ln()).sqrt()).round() as u32
        };
        let days: Vec<u32> = (0..10).map(|_| day()).collect();
        let (first, _) = first_and_last(&springs(&days), &stretch(31, 180)).unwrap();
        let Ok(beyond) = first.beyond else { continue };
        told += 1;
        by_estimate += (beyond.day - 90.0).powi(2);
        by_record += (f64::from(*days.iter().min().unwrap()) - 90.0).powi(2);
    }
    assert!(told > 360, "{told}");
    assert!(by_estimate < by_record, "{by_estimate} {by_record}");
}

#[test]
fn few_records_fall_into_the_seasons_of_the_year() {
    let counts = series(&[
        ("2001-05-12", Count::Exactly(1)),
        ("2001-12-20", Count::Exactly(2)),
        ("2002-01-08", Count::Present),
        ("2003-05-20", Count::Exactly(1)),
        ("2003-07-01", Count::Exactly(0)),
        ("2004-09-03", Count::Exactly(1)),
    ]);
    let told = |within: &Stretch| -> Vec<(String, String, usize)> {
        let seasons = few_records(&counts, within);
        let dates = |s: &FewRecords| (s.first.record.to_string(), s.last.record.to_string());
        let one = |s: &FewRecords| (dates(s).0, dates(s).1, s.seasons);
        seasons.iter().map(one).collect()
    };
    let season = |first: &str, last: &str, n| (first.to_owned(), last.to_owned(), n);
    assert_eq!(
        told(&stretch(0, 366)),
        [
            season("2001-05-12", "2003-05-20", 2),
            season("2004-09-03", "2004-09-03", 1),
            season("2001-12-20", "2002-01-08", 1),
        ]
    );
    assert_eq!(
        told(&stretch(100, 60)),
        [season("2001-05-12", "2003-05-20", 2)]
    );
    assert_eq!(told(&stretch(160, 30)), []);
}

#[test]
fn extremes_are_compared_by_month_and_day_across_leap_years() {
    // by the number of the day 9 September 2024 is as late as 10 September 2025, and 30 August 2024
    // as late as 31 August 2023
    let counts = series(&[
        ("2023-08-31", Count::Exactly(2)),
        ("2024-08-30", Count::Exactly(1)),
        ("2024-09-09", Count::Exactly(1)),
        ("2025-09-10", Count::Exactly(3)),
    ]);
    let autumn = stretch(200, 120);
    let (first, last) = first_and_last(&by_season(&counts, &autumn), &autumn).unwrap();
    let told = (first.record, last.record);
    assert_eq!(told, (date("2024-08-30"), date("2025-09-10")));
}
