//! What is said of one passage.

use super::super::{PassageSeason, Stage, Warmth};
use super::numbers::{days_interval, part_interval};
use super::{days, first, part, times};
use crate::findings::{changes, passage};
use crate::words::{self, TIE, count_of, day_month, list};
use chrono::NaiveDate;
use forecast::season::{Gap, Standing, Untold};

/// "4 days early (80 % interval 2 to 7 early), 0.6 times the usual numbers (0.4 to 0.9), 55 %
/// through (40 % to 70 %)".
fn standing(s: &Standing, p: &PassageSeason) -> String {
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
    match p.tells_share() {
        false => format!("{timing}, {numbers}"),
        true => format!(
            "{timing}, {numbers}, {} through ({}){}",
            part(s.share.middle),
            part_interval(&s.share),
            match last_seen(p) {
                Some(until) => format!(" by {}, the last visit", day_month(until)),
                None => String::new(),
            }
        ),
    }
}

/// How the season runs, in a sentence.
pub fn course(p: &PassageSeason) -> String {
    let who = format!("{}, {}", p.name, passage(p.passage));
    let runs = match &p.course.standing {
        Ok(s) => standing(s, p),
        Err(Untold::NotLooked) => return format!("{who}: {}", not_looked(p)),
        Err(Untold::NoVisit) => "no visit yet that would tell".to_owned(),
        Err(Untold::NoBird) => seen(p, "not a bird"),
        Err(Untold::Vague) => {
            let birds = count_of(p.course.birds as usize, "bird", "birds");
            format!(
                "{}; too few to tell whether it is early or late",
                seen(p, &birds)
            )
        }
    };
    format!("{who}: {runs}.")
}

/// The last visit, where nobody looked for too long since.
fn last_seen(p: &PassageSeason) -> Option<NaiveDate> {
    p.looked.until.filter(|_| p.looked.is_stale())
}

/// "2 birds in 3 visits, where 4.2 are usual", "not a bird in 3 visits up to 3 September, where 4.2 are
/// usual".
fn seen(p: &PassageSeason, birds: &str) -> String {
    format!(
        "{birds} in {}{}, where {} are usual",
        count_of(p.course.visits, "visit", "visits"),
        match last_seen(p) {
            Some(until) => format!(" up to {}", day_month(until)),
            None => String::new(),
        },
        words::birds(p.course.usual_birds)
    )
}

/// A passage that nobody looked at while it may have gone through.
fn not_looked(p: &PassageSeason) -> String {
    let (first, last) = p.about;
    let days = match last <= p.looked.due {
        true => format!("from {} to {}", day_month(first), day_month(last)),
        false => format!("from {} on", day_month(first)),
    };
    let visits = match p.looked.until {
        Some(until) if until < first => format!(
            "the last visit that tells of it was on {}",
            day_month(until)
        ),
        Some(_) => "no visit fell on those days".to_owned(),
        None => "no visit of this season is loaded that tells of it".to_owned(),
    };
    format!("nothing can be told: it may be about {days}, and {visits}.")
}

/// Gaps between visits that hold a part of its days, and what is left to tell from.
pub fn gaps(p: &PassageSeason) -> Option<String> {
    let days = |gap: &Gap| format!("from {} to {}", day_month(gap.first), day_month(gap.last));
    let all: Vec<String> = p.looked.gaps.iter().map(days).collect();
    (!all.is_empty()).then(|| {
        format!(
            "Nobody looked {}: this rests on what was counted outside those days.",
            list(&all)
        )
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
    all.extend(gaps(p));
    all.extend(odd(p));
    // a first date of a species that stays is news; that there is none is not where nobody looked, or
    // before it is due
    let due = p.stage != Stage::ToCome && !p.looked.missed;
    if due || p.first.date.is_some() {
        all.extend(first(&p.first));
    }
    all.extend(p.warmth.as_ref().map(|w| warmth(p, w)));
    let moved = p.change.as_ref().and_then(changes::moved_dates);
    all.extend(moved.map(|m| format!("Over the years: {m}.")));
    all
}
