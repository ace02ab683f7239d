//! A season in sentences.

mod first;
mod numbers;
mod passage;
mod together;

pub use first::first;
pub use numbers::{days, ordinal, part, times};
pub use passage::{course, gaps, odd, sentences, warmth};
pub use together::{by_chance, left_out, summary};

use super::{Lead, PassageSeason, SeasonReport, Stale};
use crate::findings;
use crate::words::{TIE, count_of, day_month_year, list};
use chrono::NaiveDate;
use forecast::fit::PassageName;
use forecast::season::Against;

/// "spring 2010", "winter 2010/11".
pub fn season((year, name): (i32, PassageName)) -> String {
    match name {
        PassageName::Winter => format!("winter{TIE}{year}/{:02}", (year + 1).rem_euclid(100)),
        name => format!("{}{TIE}{year}", findings::passage(name)),
    }
}

/// What the whole report is about.
pub fn heading(report: &SeasonReport) -> String {
    match report.season {
        Some(shown) => format!("{}, {}", report.site_name, season(shown)),
        None => format!("{}, this season so far", report.site_name),
    }
}

/// Which visits are looked at, how far they go, and which seasons they are held against.
pub fn ground(report: &SeasonReport) -> String {
    let known = known(report);
    match (&report.lead, &report.stale) {
        (Some(lead), stale) => format!("{} {known}", leads(lead, stale.as_ref())),
        (None, Some(stale)) => format!("{known} {}", nobody_since(stale)),
        (None, None) => known,
    }
}

/// Why the last season with counts is shown in the place of those under way.
fn leads(lead: &Lead, stale: Option<&Stale>) -> String {
    let why = match stale.map(|stale| (stale, stale.until)) {
        Some((stale, Some(until))) => format!("{} ({})", counts_end(stale, until), rule(stale)),
        _ => format!(
            "No passage with a curve is under way on {}",
            day_month_year(lead.on)
        ),
    };
    format!("{why}, so this is the last season with counts.")
}

/// The species that nobody looked for since the last season with counts.
pub fn nobody_looked(report: &SeasonReport) -> Option<String> {
    let lead = report.lead.as_ref()?;
    let since = match report.stale.and_then(|stale| stale.until) {
        Some(until) => format!("since {}", day_month_year(until)),
        None => "since".to_owned(),
    };
    let species = list(&lead.nobody_looked);
    (!species.is_empty()).then(|| format!("Nobody looked {since} for {species}."))
}

/// Why no passage is told of.
pub fn nothing(report: &SeasonReport) -> &'static str {
    let with_few = !report.too_few.is_empty() || !report.failed.is_empty();
    match (report.has_curves, report.season) {
        (false, _) => "No species has records enough for a curve yet.",
        (true, Some(_)) => "No passage of this season has a curve.",
        (true, None) if with_few => "No passage under way has a curve.",
        (true, None) => "No passage is under way.",
    }
}

fn known(report: &SeasonReport) -> String {
    let until = day_month_year(report.date);
    match report.against {
        Against::Earlier => format!(
            "As known on {until}: visits up to that day, held against the seasons before this one."
        ),
        Against::Others => "Looking back: all visits of the season, held against all other \
             seasons, later ones too."
            .to_owned(),
    }
}

/// "Counts go to 3 September 2026; nobody looked in the 71 days since, ..."; or, of a season that is
/// over, "in the 46 days that were left of the season, ..."
fn nobody_since(stale: &Stale) -> String {
    let rule = rule(stale);
    match stale.until {
        Some(until) => format!(
            "{}, and nothing is told of them ({rule}).",
            counts_end(stale, until)
        ),
        None => format!("No visit is loaded up to that day, and nothing is told ({rule})."),
    }
}

fn counts_end(stale: &Stale, until: NaiveDate) -> String {
    let days = count_of(stale.days as usize, "day", "days");
    let which = match stale.ended {
        true => format!("{days} that were left of the season"),
        false => format!("{days} since"),
    };
    format!(
        "Counts go to {}; nobody looked in the {which}",
        day_month_year(until)
    )
}

fn rule(stale: &Stale) -> String {
    format!(
        "in other seasons 9 of 10 pauses between visits are of {} at most",
        count_of(stale.usual_pause as usize, "day", "days")
    )
}

/// The same for the digest, which has little room; whether any passage is told of.
pub fn in_brief(stale: &Stale, told: bool) -> String {
    match stale.until {
        Some(until) => format!(
            "Counts go to {}; nobody looked since, so {}.",
            day_month_year(until),
            match told {
                true => "the season is told up to then alone",
                false => "nothing is told of the season",
            }
        ),
        None => "No visit is loaded, so nothing is told of the season.".to_owned(),
    }
}

/// A passage's name in the report: with its season where the report is of several.
pub fn name(report: &SeasonReport, p: &PassageSeason) -> String {
    let mut seasons = report.passages.iter().map(|p| p.passage);
    let first = seasons.next();
    match seasons.all(|s| Some(s) == first) {
        true => p.name.clone(),
        false => format!("{}, {}", p.name, findings::passage(p.passage)),
    }
}

/// What the numbers mean, in a few lines.
pub const MEANING: [&str; 4] = [
    "Days late (minus: early), times the usual numbers and the part through have 80 % intervals, \
     which come from this season's counts, what is not known of the long-term curve, and how far \
     whole weeks go up and down together, as all passages of the season show.",
    "Odd: of a hundred usual seasons, how many would look at least as far off, in timing and \
     numbers together. The table begins with the oddest.",
    "Numbers are what was counted: foul weather, fewer hours that nobody wrote down and other \
     observers make a season look weak as fewer birds do.",
    "A forecast never identifies a bird, and an odd season is no reason to doubt a record or to \
     believe one.",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::plain_spaces;

    #[test]
    fn a_winter_has_two_years() {
        assert_eq!(
            plain_spaces(&season((1999, PassageName::Winter))),
            "winter 1999/00"
        );
        assert_eq!(
            plain_spaces(&season((2010, PassageName::Spring))),
            "spring 2010"
        );
    }
}
