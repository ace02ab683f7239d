//! Where a species stands on a date.

use crate::calendar::{DAYS, DayOfYear};
use crate::fit::{Passage, PassageName, SpeciesFit, Verdict};
use serde::{Deserialize, Serialize};

/// Below this chance in a week a species is outside its window, whatever the date.
pub const OUTSIDE_BELOW: f64 = 0.02;
/// Before arrival or after departure, beyond the 80 % interval of the date, a species is outside
/// its window only if its chance in a week is below this: the first and last twentieth of a
/// common species are still birds that you will see. A choice of ours.
pub const STRAGGLERS_BELOW: f64 = 0.2;

/// Where a species stands in its passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stands {
    /// Until a quarter has gone through.
    #[serde(rename = "arriving")]
    Arriving,
    /// Between a quarter and three quarters of a passage.
    #[serde(rename = "at peak")]
    AtPeak,
    /// From three quarters on.
    #[serde(rename = "leaving")]
    Leaving,
    /// Between a quarter and three quarters of a stay over winter or summer, or there all year.
    #[serde(rename = "staying")]
    Staying,
    /// Chance in the week below 2 %; or below 20 % and before arrival or after departure by more
    /// than the 80 % interval of that date.
    #[serde(rename = "outside its window")]
    Outside,
}

/// Where the species stands; None where there are too few records to tell.
pub fn stands(fit: &SpeciesFit, day: DayOfYear, chance_week: f64) -> Option<Stands> {
    if chance_week < OUTSIDE_BELOW {
        return Some(Stands::Outside);
    }
    match fit.verdict {
        Verdict::TooFew => None,
        Verdict::AllYear | Verdict::NoSeason => Some(Stands::Staying),
        Verdict::Curve => in_passages(fit, day, chance_week),
    }
}

fn in_passages(fit: &SpeciesFit, day: DayOfYear, chance_week: f64) -> Option<Stands> {
    if let Some(inside) = fit.passages.iter().find_map(|p| within(p, day)) {
        return Some(inside);
    }
    if fit
        .passages
        .iter()
        .any(|p| p.verdict == Verdict::TooFew && holds(p, day))
    {
        return None;
    }
    if chance_week < STRAGGLERS_BELOW {
        return Some(Stands::Outside);
    }
    // birds all the same: the tail of the passage whose window is nearest
    let year = DAYS as f64;
    let ahead = |to: f64| (to - f64::from(day.get())).rem_euclid(year);
    let edges = fit
        .passages
        .iter()
        .filter_map(|p| Some((p.arrival?.day, p.departure?.day)));
    let nearest = edges.flat_map(|(arrival, departure)| {
        [
            (ahead(arrival), Stands::Arriving),
            (year - ahead(departure), Stands::Leaving),
        ]
    });
    nearest.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, s)| s)
}

fn holds(passage: &Passage, day: DayOfYear) -> bool {
    let (first, last) = passage.stretch;
    let year = DAYS as u16;
    (day.get() + year - first) % year <= (last + year - first) % year
}

fn within(passage: &Passage, day: DayOfYear) -> Option<Stands> {
    let (arrival, departure) = (passage.arrival?, passage.departure?);
    // the farthest that the date may lie out: in any one year where that is known
    let earliest = arrival.any_year.unwrap_or(arrival.known).0;
    let latest = departure.any_year.unwrap_or(departure.known).1;
    let (quarter, three_quarters) = (passage.first_quarter?.day, passage.third_quarter?.day);
    let year = DAYS as f64;
    // half a day of grace: dates are printed rounded to days
    let at = [-year, 0.0, year]
        .iter()
        .map(|k| f64::from(day.get()) + k)
        .find(|x| *x >= earliest - 0.5 && *x <= latest + 0.5)?;
    let stay = matches!(passage.name, PassageName::Winter | PassageName::Summer);
    Some(match at {
        x if x < quarter => Stands::Arriving,
        x if x > three_quarters => Stands::Leaving,
        _ if stay => Stands::Staying,
        _ => Stands::AtPeak,
    })
}
