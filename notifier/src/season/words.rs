//! A season in sentences.

use super::{PassageSeason, SeasonReport, Stage, Warmth};
use crate::findings::{changes, passage};
use crate::words::{TIE, birds, count_of, day_month, day_month_year, list};
use forecast::fit::PassageName;
use forecast::season::{Against, Estimate, FirstDate, Placed, Standing, Untold};

/// "spring 2010", "winter 2010/11".
pub fn season((year, name): (i32, PassageName)) -> String {
    match name {
        PassageName::Winter => format!("winter{TIE}{year}/{:02}", (year + 1).rem_euclid(100)),
        name => format!("{}{TIE}{year}", passage(name)),
    }
}

/// What the whole report is about.
pub fn heading(report: &SeasonReport) -> String {
    match report.season {
        Some(asked) => format!("{}, {}", report.site_name, season(asked)),
        None => format!("{}, this season so far", report.site_name),
    }
}

/// Which visits are looked at, and which seasons they are held against.
pub fn ground(report: &SeasonReport) -> String {
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

/// Days in whole numbers; of days late.
fn whole(days: f64) -> i64 {
    days.round() as i64
}

/// "4 days early", "about on time", "1 day late".
pub fn days(late: f64) -> String {
    let n = whole(late);
    let counted = count_of(n.unsigned_abs() as usize, "day", "days");
    match n {
        0 => "about on time".to_owned(),
        n if n < 0 => format!("{counted} early"),
        _ => format!("{counted} late"),
    }
}

/// "2 to 7 early", "2 early to 3 late", "0 to 3 late".
fn days_interval(e: &Estimate) -> String {
    let (low, high) = (whole(e.low), whole(e.high));
    if high <= 0 && low < 0 {
        format!("{} to {} early", -high, -low)
    } else if low >= 0 {
        format!("{low} to {high} late")
    } else {
        format!("{} early to {high} late", -low)
    }
}

/// A multiple: "0.04", "0.6", "1.4", "12".
pub fn times(times: f64) -> String {
    match times {
        t if t < 0.095 => format!("{t:.2}"),
        t if t < 9.95 => format!("{t:.1}"),
        t => format!("{t:.0}"),
    }
}

/// A part of a passage: "under 1 %", "55 %", "over 99 %".
pub fn part(share: f64) -> String {
    match share {
        s if s < 0.005 => format!("under{TIE}1{TIE}%"),
        s if s >= 0.995 => format!("over{TIE}99{TIE}%"),
        s => format!("{:.0}{TIE}%", 100.0 * s),
    }
}

fn part_interval(e: &Estimate) -> String {
    format!("{} to {}", part(e.low), part(e.high))
}

/// "4 days early (80 % interval 2 to 7 early), 0.6 times the usual numbers (0.4 to 0.9), 55 %
/// through (40 % to 70 %)".
fn standing(s: &Standing, stage: Stage) -> String {
    let timing = format!(
        "{} (80{TIE}% interval {})",
        days(s.shift.middle),
        days_interval(&s.shift)
    );
    let numbers = format!(
        "{} times the usual numbers ({} to {})",
        times(s.times.middle),
        times(s.times.low),
        times(s.times.high)
    );
    match stage {
        Stage::Over => format!("{timing}, {numbers}"),
        _ => format!(
            "{timing}, {numbers}, {} through ({})",
            part(s.share.middle),
            part_interval(&s.share)
        ),
    }
}

/// A passage's name in the report: with its season where the report is of several.
pub fn name(report: &SeasonReport, p: &PassageSeason) -> String {
    let mut seasons = report.passages.iter().map(|p| p.passage);
    let first = seasons.next();
    match seasons.all(|s| Some(s) == first) {
        true => p.name.clone(),
        false => format!("{}, {}", p.name, passage(p.passage)),
    }
}

fn who(p: &PassageSeason) -> String {
    format!("{}, {}", p.name, passage(p.passage))
}

/// How the season runs, in a sentence.
pub fn course(p: &PassageSeason) -> String {
    let who = who(p);
    let seen = count_of(p.course.birds as usize, "bird", "birds");
    let usual = birds(p.course.usual_birds);
    match &p.course.standing {
        Ok(s) => format!("{who}: {}.", standing(s, p.stage)),
        Err(Untold::NoVisit) => format!("{who}: no visit yet that would tell."),
        Err(Untold::NoBird) => format!(
            "{who}: not a bird in {}, where {usual} are usual.",
            count_of(p.course.visits, "visit", "visits")
        ),
        Err(Untold::Vague) => format!(
            "{who}: {seen} in {}, where {usual} are usual; that fits early and late alike.",
            count_of(p.course.visits, "visit", "visits")
        ),
    }
}

/// "1st", "2nd", "3rd", "11th".
pub fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// The first date among those of the years.
pub fn first(f: &FirstDate) -> Option<String> {
    let Some(date) = f.date else {
        let Placed::NotYet { others, found } = f.placed else {
            return None;
        };
        return Some(format!(
            "Not found yet; by this day it had been found in {found} of {others} other years \
             that were watched."
        ));
    };
    let found = format!("First found on {}", day_month(date));
    if f.on_first_visit {
        return Some(format!(
            "{found}, on the season's first visit, so it may have come before."
        ));
    }
    Some(match f.placed {
        Placed::Among {
            others,
            earlier,
            same,
        } => {
            let place = match earlier {
                0 => "the earliest".to_owned(),
                n => format!("the {} earliest", ordinal(n + 1)),
            };
            let shared = match same {
                0 => String::new(),
                n => format!(", a day shared with {}", count_of(n, "other", "others")),
            };
            format!(
                "{found}, {place} of the {} years that were watched then{shared}.",
                others + 1
            )
        }
        Placed::TooFewYears { others } => format!(
            "{found}; {} watched then, too few to give it a place.",
            match others {
                0 => "no other year was".to_owned(),
                1 => "1 other year was".to_owned(),
                n => format!("{n} other years were"),
            }
        ),
        Placed::NotYet { .. } => format!("{found}."),
    })
}

/// How often a usual season looks so far off.
pub fn odd(p: &PassageSeason) -> Option<String> {
    let chance = p.standing()?.oddness.chance;
    Some(if chance > 0.2 {
        "Nothing out of the ordinary.".to_owned()
    } else if chance < 0.01 {
        "Of a hundred usual seasons not one would look so far off.".to_owned()
    } else {
        format!(
            "Of a hundred usual seasons {:.0} would look so far off.",
            100.0 * chance
        )
    })
}

/// Whether the warmth before it explains the season's timing.
pub fn warmth(p: &PassageSeason, w: &Warmth) -> String {
    let Some(expected) = w.expected else {
        return "Its timing follows the temperature; that of this season is not all known yet."
            .to_owned();
    };
    let foretold = format!(
        "By the temperatures before it, it was to run {}",
        days(expected.days)
    );
    let Some(s) = p.standing() else {
        return format!("{foretold}.");
    };
    let same_way = expected.days * s.shift.middle > 0.0;
    let large = expected.days.abs() >= 0.5 * s.shift.middle.abs();
    let inside = (s.shift.low..=s.shift.high).contains(&expected.days);
    // a shift that may be none needs no explanation
    if s.shift.low <= 0.0 && s.shift.high >= 0.0 {
        format!("{foretold}; it may well run on time.")
    } else if same_way && large && inside {
        format!("{foretold}, which explains its timing.")
    } else if same_way && large {
        format!("{foretold}, which explains the way but not how far.")
    } else {
        format!("{foretold}, which does not explain its timing.")
    }
}

/// All that is said of a passage, a sentence each.
pub fn sentences(p: &PassageSeason) -> Vec<String> {
    let mut all = vec![course(p)];
    all.extend(odd(p));
    // a first date of a species that stays is news; of one not to come yet it is none
    if p.stage != Stage::ToCome || p.first.date.is_some() {
        all.extend(first(&p.first));
    }
    all.extend(p.warmth.as_ref().map(|w| warmth(p, w)));
    let moved = p.change.as_ref().and_then(changes::moved_dates);
    all.extend(moved.map(|m| format!("Over the years: {m}.")));
    all
}

/// How many would be out of the ordinary by chance alone.
pub fn by_chance(report: &SeasonReport) -> Option<String> {
    let told = report.passages.iter().filter(|p| p.standing().is_some());
    let told = told.count();
    if told == 0 {
        return None;
    }
    let odd = report.passages.iter().filter(|p| p.is_odd()).count();
    let by_chance = told as f64 * super::OUT_OF_THE_ORDINARY;
    Some(format!(
        "Out of the ordinary (as 1 usual season in 20 is at the most): {odd} of {}; by chance \
         alone it would be about {}.",
        count_of(told, "passage", "passages"),
        birds(by_chance),
    ))
}

/// What stands out of all passages together.
pub fn summary(report: &SeasonReport) -> Vec<String> {
    let told: Vec<&Standing> = report
        .passages
        .iter()
        .filter_map(|p| p.standing())
        .collect();
    let number = |is: &dyn Fn(&Standing) -> bool| told.iter().filter(|s| is(s)).count();
    let (early, late) = (
        number(&|s| s.shift.high < 0.0),
        number(&|s| s.shift.low > 0.0),
    );
    let (weak, strong) = (
        number(&|s| s.times.high < 1.0),
        number(&|s| s.times.low > 1.0),
    );
    if told.is_empty() {
        return Vec::new();
    }
    let mut all = vec![format!(
        "Of {} told of, {early} run early, {late} late, {strong} strong and {weak} weak (the \
         whole 80{TIE}% interval on that side).",
        count_of(told.len(), "passage", "passages")
    )];
    // two thirds on one side, of passages enough to speak of: a choice
    let most = |n: usize| told.len() >= 6 && 3 * n >= 2 * told.len();
    if most(strong) || most(weak) {
        let which = if most(strong) { "strong" } else { "weak" };
        all.push(format!(
            "Where so many are {which} at once, effort, observers or weather are a likelier reason \
             than the birds."
        ));
    }
    all.extend(by_chance(report));
    all
}

/// Species left out.
pub fn left_out(report: &SeasonReport) -> Vec<String> {
    let mut all = Vec::new();
    if !report.too_few.is_empty() {
        all.push(format!(
            "Too few records in other seasons: {}.",
            list(&report.too_few)
        ));
    }
    if !report.failed.is_empty() {
        all.push(format!(
            "No curve could be fitted: {}.",
            list(&report.failed)
        ));
    }
    all
}

/// What the numbers mean, in a few lines.
pub const MEANING: [&str; 4] = [
    "Days late (minus: early), times the usual numbers and the part through have 80 % intervals, \
     which come from this season's counts and what is not known of the long-term curve.",
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
    use chrono::NaiveDate;

    #[test]
    fn days_say_which_way() {
        let said = |late| plain_spaces(&days(late));
        assert_eq!(said(-4.4), "4 days early");
        assert_eq!(said(0.6), "1 day late");
        assert_eq!(said(-0.4), "about on time");
        let between = |low, high| {
            days_interval(&Estimate {
                middle: 0.5 * (low + high),
                low,
                high,
            })
        };
        assert_eq!(between(-7.1, -2.2), "2 to 7 early");
        assert_eq!(between(-2.0, 3.0), "2 early to 3 late");
        assert_eq!(between(0.3, 3.0), "0 to 3 late");
        assert_eq!(between(-3.0, -0.2), "0 to 3 early");
        assert_eq!(between(-0.3, 0.2), "0 to 0 late");
    }

    #[test]
    fn a_first_date_has_its_place() {
        let found = |placed| {
            let first = FirstDate {
                date: NaiveDate::from_ymd_opt(2010, 3, 28),
                on_first_visit: false,
                placed,
            };
            plain_spaces(&super::first(&first).unwrap())
        };
        let among = |earlier, same| Placed::Among {
            others: 11,
            earlier,
            same,
        };
        assert_eq!(
            found(among(2, 0)),
            "First found on 28 March, the 3rd earliest of the 12 years that were watched then."
        );
        assert!(found(among(0, 1)).contains("the earliest of the 12 years"));
        assert!(found(among(0, 1)).ends_with("a day shared with 1 other."));
        assert!(found(among(10, 0)).contains("11th"));
        assert!(found(Placed::TooFewYears { others: 2 }).contains("too few"));
    }

    #[test]
    fn parts_and_multiples_are_never_nothing() {
        assert_eq!(plain_spaces(&part(0.001)), "under 1 %");
        assert_eq!(plain_spaces(&part(0.999)), "over 99 %");
        assert_eq!(plain_spaces(&part(0.55)), "55 %");
        assert_eq!(
            (times(0.04), times(0.6), times(11.6)),
            ("0.04".into(), "0.6".into(), "12".into())
        );
    }

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
