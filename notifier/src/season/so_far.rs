//! The season so far, short, for the digest.

use super::{Ask, PassageSeason, SeasonReport, of_site, words};
use crate::guidance::SiteView;
use crate::words::count_of;
use chrono::NaiveDate;

/// Told at most.
const MOST: usize = 3;

/// The three oddest passages, a paragraph each, or one sentence that nothing is out of the
/// ordinary. Empty where no passage is told of.
pub fn lines(view: &SiteView, date: NaiveDate) -> Vec<String> {
    let ask = Ask {
        date,
        season: None,
        as_known_then: true,
    };
    // only a season that is asked for by name can be missing
    of_site(view, &ask).map_or_else(|_| Vec::new(), |report| of_report(&report))
}

fn of_report(report: &SeasonReport) -> Vec<String> {
    let told = report.passages.iter().filter(|p| p.standing().is_some());
    let told = told.count();
    let stale = report.stale.iter();
    let mut lines: Vec<String> = stale.map(|s| words::in_brief(s, told > 0)).collect();
    if told == 0 {
        return lines;
    }
    let odd: Vec<&PassageSeason> = report.passages.iter().filter(|p| p.is_odd()).collect();
    if odd.is_empty() {
        lines.push(format!(
            "Nothing out of the ordinary: {} run about as seasons usually do.",
            count_of(told, "passage", "passages")
        ));
        return lines;
    }
    let told_of = odd.iter().take(MOST);
    lines.extend(told_of.map(|p| {
        let all = [
            Some(words::course(p)),
            words::gaps(p),
            words::odd(p),
            words::first(&p.first),
        ];
        all.into_iter().flatten().collect::<Vec<_>>().join(" ")
    }));
    lines.extend(words::by_chance(report));
    lines
}
