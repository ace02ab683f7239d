//! Where a species stands on a date.

use crate::calendar::{DAYS, DayOfYear};
use crate::fit::{Passage, PassageName, SpeciesFit, Verdict};
use serde::{Deserialize, Serialize};

/// Below this chance in a week a species counts as outside its window.
pub const OUTSIDE_BELOW: f64 = 0.02;

/// Where a species stands in its passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Stands {
    /// From arrival (5 %) until a quarter has gone through.
    #[serde(rename = "arriving")]
    Arriving,
    /// Between a quarter and three quarters of a passage.
    #[serde(rename = "at peak")]
    AtPeak,
    /// From three quarters until departure (95 %).
    #[serde(rename = "leaving")]
    Leaving,
    /// Between a quarter and three quarters of a stay over winter or summer, or there all year.
    #[serde(rename = "staying")]
    Staying,
    /// Chance in the week below 2 %, or before arrival or after departure.
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
        Verdict::Curve => {
            let inside = fit.passages.iter().find_map(|p| within(p, day));
            let untold = fit
                .passages
                .iter()
                .any(|p| p.verdict == Verdict::TooFew && holds(p, day));
            inside.or(if untold { None } else { Some(Stands::Outside) })
        }
    }
}

fn holds(passage: &Passage, day: DayOfYear) -> bool {
    let (first, last) = passage.stretch;
    let year = DAYS as u16;
    (day.get() + year - first) % year <= (last + year - first) % year
}

fn within(passage: &Passage, day: DayOfYear) -> Option<Stands> {
    let (arrival, departure) = (passage.arrival?.day, passage.departure?.day);
    let (quarter, three_quarters) = (passage.first_quarter?.day, passage.third_quarter?.day);
    let year = DAYS as f64;
    // half a day of grace: dates are printed rounded to days
    let at = [-year, 0.0, year]
        .iter()
        .map(|k| f64::from(day.get()) + k)
        .find(|x| *x >= arrival - 0.5 && *x <= departure + 0.5)?;
    let stay = matches!(passage.name, PassageName::Winter | PassageName::Summer);
    Some(match at {
        x if x < quarter => Stands::Arriving,
        x if x > three_quarters => Stands::Leaving,
        _ if stay => Stands::Staying,
        _ => Stands::AtPeak,
    })
}
