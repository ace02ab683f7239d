//! The file of predictions, read by nothing of the program's.

use chrono::NaiveDate;

/// A line of the file.
pub struct Prediction {
    pub site: String,
    pub species: String,
    pub issued: NaiveDate,
    pub target: NaiveDate,
    pub horizon_weeks: u32,
    pub says: Says,
}

/// What it says.
pub enum Says {
    /// Chance of finding at least one on the week's visits.
    Week(f64),
    /// Mean and distribution of the count on a visit.
    Day(f64, Vec<f64>),
}

/// All lines, each checked to be well formed.
pub fn read(text: &str) -> Vec<Prediction> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader
        .headers()
        .expect("a head")
        .iter()
        .collect::<Vec<_>>()
        .join(",");
    assert_eq!(
        head,
        "site,species,issued,kind,target,horizon_weeks,chance,mean,cdf"
    );
    reader
        .records()
        .map(|r| prediction(&r.expect("a line")))
        .collect()
}

fn prediction(row: &csv::StringRecord) -> Prediction {
    let number = |i: usize| -> f64 { row[i].parse().expect("a number") };
    let date = |i: usize| -> NaiveDate { row[i].parse().expect("an ISO date") };
    let says = match &row[3] {
        "week" => {
            assert_eq!((&row[7], &row[8]), ("", ""), "{row:?}");
            assert!((0.0..=1.0).contains(&number(6)), "{row:?}");
            Says::Week(number(6))
        }
        "day" => {
            assert_eq!(&row[6], "", "{row:?}");
            assert!(number(7) > 0.0 && number(7).is_finite(), "{row:?}");
            Says::Day(number(7), distribution(&row[8]))
        }
        other => panic!("a row of kind {other}"),
    };
    Prediction {
        site: row[0].to_owned(),
        species: row[1].to_owned(),
        issued: date(2),
        target: date(4),
        horizon_weeks: row[5].parse().expect("a number of weeks"),
        says,
    }
}

/// Rises from 0 or more to 0.999999, which it reaches at its end and not before, or stops at 140.
fn distribution(text: &str) -> Vec<f64> {
    let cdf: Vec<f64> = text
        .split(';')
        .map(|f| f.parse().expect("a probability"))
        .collect();
    assert!(cdf.iter().all(|f| (0.0..=1.0).contains(f)), "{text}");
    assert!(cdf.is_sorted(), "{text}");
    let reached = cdf.iter().filter(|f| **f >= 0.999_999).count();
    assert!(reached == 1 || (reached == 0 && cdf.len() == 141), "{text}");
    cdf
}
